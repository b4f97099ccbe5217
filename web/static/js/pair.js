// A card's secret stands behind the # of its address, so that it is sent to
// nobody by opening the page. It is taken out of the address and shown to the
// gym's computer, which says whose card it is; coming in takes a tap.
const form = document.getElementById("card");
const secret = location.hash.slice(1);

if (secret) {
  history.replaceState(null, "", location.pathname);
  form.elements.secret.value = secret;
  form.requestSubmit();
} else {
  document.getElementById("no-card").hidden = false;
}

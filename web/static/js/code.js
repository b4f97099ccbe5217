// A code that stands behind # in the address goes into the form and out of the
// address. The browser sends what stands there to nobody.
const field = document.querySelector("[data-code]");
const code = decodeURIComponent(location.hash.slice(1));
if (field && code) {
  field.value = code;
  history.replaceState(null, "", location.pathname);
}

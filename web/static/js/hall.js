// The roll at check-in: how many are here, while names are tapped.
const count = document.querySelector("[data-roll-count]");
const boxes = [...document.querySelectorAll("[data-away]")];

function say() {
  const away = boxes.filter((box) => box.checked).length;
  count.textContent = count.dataset.rollWords.replace("{0}", boxes.length - away).replace("{1}", away);
}

if (count) {
  document.addEventListener("change", (event) => { if (event.target.matches("[data-away]")) say(); });
  say(); // a browser may have kept ticks from before
}

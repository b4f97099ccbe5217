// Behaviour every page may have. Pages work without it; it listens once, on
// the document, and acts on data- attributes.

// A page or fragment with problems takes the focus to what says so.
function focusMarked(root) {
  const marked = root.querySelector?.("[data-focus]");
  marked?.focus();
}

// A form marked data-autosubmit is sent as soon as a choice in it changes.
document.addEventListener("change", (event) => {
  event.target.closest("form[data-autosubmit]")?.requestSubmit();
});

// data-print is a button that prints the page.
document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});

// A time zone that nobody has typed yet is this device's own.
for (const box of document.querySelectorAll("input[data-own-zone]")) box.value ||= Intl.DateTimeFormat().resolvedOptions().timeZone;

// A password can be looked at while it is typed.
for (const box of document.querySelectorAll("input[data-show]")) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  const turn = (shown) => {
    box.type = shown ? "text" : "password";
    button.textContent = shown ? box.dataset.hide : box.dataset.show;
    button.setAttribute("aria-label", `${button.textContent}: ${box.labels[0].textContent.trim()}`);
  };
  button.addEventListener("click", () => turn(box.type === "password"));
  box.form.addEventListener("submit", () => turn(false));
  turn(false);
  box.after(button);
}

document.addEventListener("htmx:afterSwap", (event) => focusMarked(event.target));
focusMarked(document);

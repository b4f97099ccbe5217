// Reads numbers that people type, and says beside a field what is wrong with
// it, in the words that the page brings along.

// whole reads a whole number and decimal any other; null stands for an empty
// field, NaN for what is no number.
export const whole = (text) => (text.trim() === "" ? null : /^\d+$/.test(text.trim()) ? Number(text) : NaN);
export const decimal = (text) => (text.trim() === "" ? null : Number(text.trim().replace(",", ".")));

// check looks at the fields that say what would be wrong (data-wrong), tells it
// beside each, and takes the focus to the first. It reports whether all are fine.
export function check(form) {
  const wrong = [...form.querySelectorAll("[data-wrong]")].filter((field) => !field.closest("[hidden]") && !fine(field));
  form.querySelectorAll("[data-wrong]").forEach(forgive);
  wrong.forEach(complain);
  wrong[0]?.focus();
  return wrong.length === 0;
}

function fine(field) {
  if (field.value.trim() === "") return field.getAttribute("aria-required") !== "true";
  if (field.tagName === "SELECT") return true;
  const value = field.inputMode === "decimal" ? decimal(field.value) : whole(field.value);
  return value >= 0 && value <= Number(field.dataset.most ?? Infinity);
}

function complain(field) {
  const message = document.getElementById("field-error").content.firstElementChild.cloneNode(true);
  message.id = field.id + "-wrong";
  message.querySelector("[data-text]").textContent = field.dataset.wrong;
  const place = field.closest(".field");
  place.classList.add("has-error");
  (place.querySelector(".box") ?? field).before(message);
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-errormessage", message.id);
  field.addEventListener("input", () => forgive(field), { once: true });
}

function forgive(field) {
  const message = document.getElementById(field.id + "-wrong");
  if (!message) return;
  message.remove();
  field.closest(".field").classList.remove("has-error");
  field.removeAttribute("aria-invalid");
  field.removeAttribute("aria-errormessage");
}

// A row of the sheet of a class's counts: its boxes, and the cell that says how
// it stands.

// box is where what name says is typed: "rotations", "catches", "lost", "restart".
export const box = (row, name = "rotations") => row.querySelector(`[data-box="${name}"]`);
export const boxes = (row) => [...row.querySelectorAll("[data-box]")];
export const cell = (row) => row.querySelector(".row-state");

// state is how a row stands: "empty", "typed", "missed", "saved", "clash",
// "error" or "away".
export const state = (row) => cell(row).dataset.state;

// hidden holds what goes along with a row: its next "id", and the result that
// was "seen" when it was typed.
export const hidden = (row, name) => row.querySelector(`[name="${name}-${row.dataset.athlete}"]`);

// values are what is typed in a row, by box.
export function values(row) {
  return Object.fromEntries(boxes(row).map((input) => [input.dataset.box, input.value.trim()]));
}

// An offer to take back lasts ten seconds; the history page stays.
export function ageUndo(row) {
  const button = cell(row).querySelector("[data-undo]");
  if (button) setTimeout(() => button.remove(), 10000);
}

// The sheet of a class's counts. Each row is kept when it is left; what is
// typed survives a reload; what others type appears by itself. A pad of keys
// stands in for the tablet's keyboard, which hides half of the list.
import { countdown } from "/static/js/hall-countdown.js";
import { ageUndo, box, boxes, cell, hidden, state, values } from "/static/js/hall-row.js";

const form = document.querySelector("form[data-sheet]");
const rows = [...document.querySelectorAll("tr[data-athlete]")];
const words = JSON.parse(form.dataset.words);
const say = (text) => { document.getElementById("say").textContent = text; };

// What is typed and not kept yet stays with this tab, by athlete.
const draftKey = "sheet " + location.pathname + " " + (form?.elements.day.value ?? "");
const drafts = JSON.parse(sessionStorage.getItem(draftKey) ?? "{}");
const keepDrafts = () => sessionStorage.setItem(draftKey, JSON.stringify(drafts));

let current = null; // the row that the pad types into
let last = null; // the last thing to undo: { row, result } or { row }
const sending = new Set();
const waiting = new Set(); // rows that no answer came for

function setUp() {
  for (const row of rows) {
    const draft = drafts[row.dataset.athlete];
    if (draft?.missed && state(row) === "empty") show(row, "missed");
    else if (draft && box(row)) {
      for (const input of boxes(row)) if (draft[input.dataset.box] !== undefined) input.value = draft[input.dataset.box];
      show(row, "typed");
      waiting.add(row);
    }
    ageUndo(row);
  }
  showPad();
  go(nextEmpty(rows[rows.length - 1]), false);
  tally();
}

// The pad comes with touch; then the system's keyboard stays away.
function showPad() {
  const pad = document.querySelector("[data-pad]");
  const wide = matchMedia("(min-width: 48em)"), touch = matchMedia("(any-pointer: coarse)");
  const decide = () => {
    const on = wide.matches && touch.matches;
    pad.hidden = !on;
    for (const row of rows) for (const input of boxes(row)) input.inputMode = on ? "none" : input.dataset.box === "lost" || input.dataset.box === "restart" ? "decimal" : "numeric";
  };
  wide.addEventListener("change", decide);
  touch.addEventListener("change", decide);
  decide();
}

function nextEmpty(after) {
  const from = rows.indexOf(after) + 1;
  return [...rows.slice(from), ...rows.slice(0, from)].find((row) => state(row) === "empty" && box(row)) ?? null;
}

function go(row, scroll = true) {
  for (const other of rows) other.classList.toggle("next", other === row);
  current = row;
  if (!row) {
    document.activeElement?.blur();
    return;
  }
  box(row).focus({ preventScroll: true });
  if (scroll) row.scrollIntoView({ block: "center" });
}

function dirty(row) {
  const kept = cell(row).dataset, typed = values(row);
  if (drafts[row.dataset.athlete] && !drafts[row.dataset.athlete].missed) return true;
  return typed.rotations !== (kept.rotations ?? "") && typed.rotations !== "";
}

// show says what only this tab knows of a row: "typed", "missed" or "away".
function show(row, what) {
  const td = cell(row);
  td.dataset.state = what;
  td.textContent = words[what];
}

// save keeps a row. The same id goes along until an answer comes, so that a
// row that is sent twice is kept once.
async function save(row, more = {}) {
  const typed = values(row);
  if (Object.values(typed).every((value) => value === "") || sending.has(row)) return;
  sending.add(row);
  const body = new URLSearchParams({ ...setup(), athlete: row.dataset.athlete, id: hidden(row, "id").value, seen: hidden(row, "seen").value, ...typed, ...more });
  const answer = await send(form.dataset.sheet + "/rows", body);
  sending.delete(row);
  if (!answer) {
    waiting.add(row);
    cell(row).textContent = words.kept;
    return;
  }
  waiting.delete(row);
  if (JSON.stringify(values(row)) === JSON.stringify(typed)) {
    delete drafts[row.dataset.athlete];
    keepDrafts();
  }
  put(row, answer);
  if (state(row) === "saved" && cell(row).querySelector("[data-undo]")) last = { row, result: cell(row).dataset.stands };
}

// send posts and returns the answer's text, or nothing where none came.
async function send(url, body) {
  try {
    const response = await fetch(url, { method: "POST", body, headers: { "HX-Request": "true" }, signal: AbortSignal.timeout(8000) });
    if ([200, 409, 422].includes(response.status)) return await response.text();
    if (response.status === 401) say(words.signed_out);
  } catch { /* no signal: the row waits */ }
  return null;
}

function setup() {
  const names = ["test", "step", "rope", "surface", "counted_by", "one_foot", "day", "known"];
  const says = (field) => field && (field.type !== "checkbox" || field.checked);
  return Object.fromEntries(names.filter((name) => says(form.elements[name])).map((name) => [name, form.elements[name].value]));
}

// put shows the state that an answer holds.
function put(row, html) {
  const holder = document.createElement("template");
  holder.innerHTML = `<table><tr>${html}</tr></table>`;
  const td = holder.content.querySelector(".row-state");
  if (!td) return;
  take(row, td);
}

function take(row, td) {
  const focused = cell(row).contains(document.activeElement);
  cell(row).replaceWith(td);
  if (hidden(row, "seen")) {
    hidden(row, "seen").value = td.dataset.stands;
    hidden(row, "id").value = td.dataset.next;
  }
  if (td.dataset.round && form.elements.round.value !== td.dataset.round) {
    form.dataset.sheet = form.dataset.sheet.replace(form.elements.round.value, td.dataset.round);
    form.elements.round.value = td.dataset.round;
  }
  if (td.dataset.stands) lockSetup();
  if (td.dataset.state !== "clash" && td.dataset.state !== "error" && box(row) && !drafts[row.dataset.athlete]) {
    if (td.dataset.rotations) box(row).value = td.dataset.rotations;
    if (td.dataset.catches && box(row, "catches")) box(row, "catches").value = td.dataset.catches;
  }
  box(row)?.toggleAttribute("aria-invalid", td.dataset.state === "error");
  if (td.dataset.state === "error") say(td.textContent.trim());
  if (td.dataset.state === "clash") {
    say(td.textContent.trim());
    if (focused || current === row) td.querySelector("button")?.focus();
  }
  ageUndo(row);
  tally();
}

// Once a count is kept, the set-up is fixed.
function lockSetup() {
  const setup = form.querySelector("[data-setup]");
  if (!setup?.open) return;
  setup.open = false;
  for (const field of setup.querySelectorAll("select, input")) field.disabled = true;
}

function tally() {
  const there = rows.filter((row) => state(row) !== "away");
  const done = there.filter((row) => ["saved", "clash"].includes(state(row)));
  const shown = document.querySelector("[data-progress]");
  shown.querySelector("p").textContent = words.so_far.replace("{in}", done.length).replace("{all}", there.length);
  const all = shown.querySelector(".progress-all");
  let line = shown.querySelector(".progress-done");
  if (!line) {
    line = all.cloneNode();
    line.setAttribute("class", "progress-done");
    line.setAttribute("y1", "4");
    line.setAttribute("y2", "4");
    all.after(line);
  }
  line.setAttribute("x2", there.length ? `${(100 * done.length) / there.length}%` : "0");
}

// next leaves a row: what is typed is kept, the next empty row takes over.
function next(row) {
  if (dirty(row)) {
    if (state(row) === "empty") show(row, "typed");
    save(row);
  }
  go(nextEmpty(row));
}

function press(key) {
  const row = current ?? nextEmpty(rows[rows.length - 1]);
  if (key === "undo") return undo();
  if (!row) return;
  const active = document.activeElement;
  const input = boxes(row).includes(active) ? active : box(row);
  switch (key) {
    case "next":
      next(row);
      break;
    case "missed":
      input.value = "";
      drafts[row.dataset.athlete] = { missed: true };
      keepDrafts();
      show(row, "missed");
      last = { row };
      go(nextEmpty(row));
      break;
    case "back":
      input.value = input.value.slice(0, -1);
      typed(row);
      break;
    default:
      if (input.value.length < 4) input.value += key;
      typed(row);
      input.focus({ preventScroll: true });
      row.scrollIntoView({ block: "nearest" });
  }
}

function typed(row) {
  drafts[row.dataset.athlete] = values(row);
  keepDrafts();
}

async function undo() {
  if (!last) return;
  const { row, result } = last;
  last = null;
  if (result) await takeBack(row, result);
  else {
    delete drafts[row.dataset.athlete];
    keepDrafts();
    cell(row).dataset.state = "empty";
    cell(row).textContent = "";
  }
  go(row);
}

async function takeBack(row, result) {
  const answer = await send(form.dataset.sheet + "/undo", new URLSearchParams({ ...setup(), athlete: row.dataset.athlete, result }));
  if (!answer) return say(words.stands);
  for (const input of boxes(row)) input.value = "";
  put(row, answer);
}

async function markAway(row) {
  const body = new URLSearchParams({ athlete: row.dataset.athlete, here: "no" });
  if (!(await sent(form.dataset.here, body))) return say(words.again);
  row.classList.add("is-away");
  for (const td of row.querySelectorAll("td:not(.row-state)")) td.replaceChildren();
  show(row, "away");
  tally();
  if (current === row) go(nextEmpty(row));
}

async function sent(url, body) {
  try {
    return (await fetch(url, { method: "POST", body, signal: AbortSignal.timeout(8000) })).ok;
  } catch {
    return false;
  }
}

// refresh shows what others kept, but touches no row that is being typed in.
async function refresh() {
  let text;
  try {
    const response = await fetch(`${form.dataset.sheet}/rows?day=${form.elements.day.value}`);
    if (!response.ok) return;
    text = await response.text();
  } catch {
    return;
  }
  const holder = document.createElement("template");
  holder.innerHTML = text;
  for (const row of rows) {
    const td = holder.content.getElementById("state-" + row.dataset.athlete);
    const busy = sending.has(row) || drafts[row.dataset.athlete] || row.contains(document.activeElement) && values(row).rotations !== "";
    if (!td || busy || td.dataset.stands === cell(row).dataset.stands && td.dataset.state === cell(row).dataset.state) continue;
    take(row, td);
    if (current === row && state(row) === "saved") go(nextEmpty(row), false);
  }
}

function listen() {
  if (!form.dataset.live) return;
  let source;
  const open = () => {
    source?.close();
    source = new EventSource(form.dataset.live);
    source.addEventListener("changed", refresh);
  };
  open();
  document.addEventListener("visibilitychange", () => { if (!document.hidden) open(); });
  addEventListener("online", open);
}

function resend() {
  for (const row of waiting) save(row);
}

if (form && rows.length) {
  form.addEventListener("input", (event) => {
    const row = event.target.closest("tr[data-athlete]");
    if (row) typed(row);
  });
  form.addEventListener("focusin", (event) => {
    const row = event.target.closest("tr[data-athlete]");
    if (!row || !event.target.matches("[data-box]")) return;
    current = row;
    for (const other of rows) other.classList.toggle("next", other === row);
  });
  form.addEventListener("focusout", (event) => {
    const row = event.target.closest("tr[data-athlete]");
    if (row && event.target.matches("[data-box]") && !row.contains(event.relatedTarget) && !event.relatedTarget?.closest("[data-pad]") && dirty(row)) {
      if (state(row) === "empty") show(row, "typed");
      save(row);
    }
  });
  form.addEventListener("keydown", (event) => {
    const row = event.target.closest("tr[data-athlete]");
    if (event.key !== "Enter" || !row || !event.target.matches("[data-box]")) return;
    event.preventDefault();
    next(row);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    for (const row of rows) if (box(row) && dirty(row)) save(row);
  });
  form.addEventListener("mousedown", (event) => { if (event.target.closest("[data-pad]")) event.preventDefault(); });
  form.addEventListener("click", async (event) => {
    const button = event.target.closest("button");
    const row = event.target.closest("tr[data-athlete]");
    if (!button) return;
    const { key, undo: result, keep, use, settle, number } = button.dataset;
    if (key) {
      event.preventDefault();
      press(key);
    } else if (result) await takeBack(row, result);
    else if (keep) {
      event.preventDefault();
      box(row).value = number;
      delete drafts[row.dataset.athlete];
      keepDrafts();
      hidden(row, "seen").value = keep;
      await refreshRow(row);
      go(nextEmpty(row));
    } else if (use) {
      event.preventDefault();
      hidden(row, "seen").value = use;
      await save(row, { seen: use });
      go(nextEmpty(row));
    } else if (settle) {
      event.preventDefault();
      const answer = await send(form.dataset.sheet + "/settle", new URLSearchParams({ ...setup(), athlete: row.dataset.athlete, result: settle }));
      if (answer) put(row, answer);
    } else if ("markAway" in button.dataset) await markAway(row);
  });
  addEventListener("online", resend);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) resend(); });
  setInterval(resend, 5000);
  document.addEventListener("submit", (event) => {
    const wave = event.target.closest("form[data-wave]");
    if (!wave) return;
    event.preventDefault();
    countdown(wave.closest("[data-countdown]"), wave.dataset.wave, words, say);
    sent(wave.action, new URLSearchParams(new FormData(wave)));
  });
  setUp();
  listen();
  resend();
}

async function refreshRow(row) {
  cell(row).dataset.stands = "";
  await refresh();
}

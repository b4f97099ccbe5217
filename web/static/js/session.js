// A session by ear. What is on is worked out from the clock each time, so that
// a page that slept, was frozen or was loaded anew shows the right set; sound is
// scheduled a whole set ahead. Nothing here needs a signal.
import * as outbox from "/static/js/outbox.js";
import { doneUpTo, dropLastSet, endRest, endSet, logOf, loud, resumeAt, retime, settle, stretches, totals } from "/static/js/cue.js";

const $ = (id) => document.getElementById(id);
const words = JSON.parse($("session").dataset.words);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
const whole = (n) => String(Math.round(n));

let ready; // what this phone keeps of the plan
let plan; // { blocks, lead_in, … }
let session; // { plan, start, paused, list, seen, log, ended }: kept, to carry on from
let base; // performance.now() at the plan's beginning
let player; // null without sound
let shown = -1; // stretch that is on the screen
let lock; // that keeps the screen on

const list = () => session.list;
const length = () => { const last = list().at(-1); return last.at + last.seconds; };

// position returns seconds from the plan's beginning.
export function position() {
  return ((session.paused ? session.paused - session.start : performance.now() - base)) / 1000;
}

function current() {
  const at = position();
  const i = list().findIndex((s) => at < s.at + s.seconds);
  return i < 0 ? list().length : i;
}

// ---- screens ------------------------------------------------------------------

function show(screen) {
  for (const id of ["none", "check", "carry", "run", "hurts", "stopped", "done"]) $(id).hidden = id !== screen;
  document.body.classList.toggle("now", screen === "run");
}

async function open() {
  ready = await outbox.kept("ready");
  plan = ready?.plan;
  if (!plan || ready.held || plan.blocks.length === 0) {
    $("none-why").textContent = ready?.held ? words.held : words.none;
    return show("none");
  }
  $("picture").innerHTML = plan.picture; // made by the gym's computer
  $("live").innerHTML = plan.live;
  $("ready-time").textContent = new Date(ready.at).toTimeString().slice(0, 5);
  session = await outbox.kept("session");
  const goesOn = session && session.plan === plan.id && !session.ended && Date.now() - session.start < 3 * 3600e3;
  if (!goesOn) {
    $("again").hidden = !(session?.ended && session.plan === plan.id);
    session = { plan: plan.id, start: 0, paused: null, list: stretches(plan), seen: 0, log: {}, ended: false };
    return show("check");
  }
  sync();
  if (!session.paused && position() > length()) return finish();
  show("carry");
}

// ---- sound -----------------------------------------------------------------------

// sound turns sound on and reports whether it is heard. It has to be called by a tap.
async function sound() {
  player?.context.close().catch(() => {});
  player = null;
  player = await loud($("mix").checked);
  const { context } = player;
  context.addEventListener("statechange", () => { $("silent").hidden = context.state === "running"; });
  const before = context.currentTime;
  await new Promise((done) => setTimeout(done, 200));
  const runs = context.state === "running" && context.currentTime > before;
  $("silent").hidden = runs;
  return runs;
}

function schedule() {
  if (!player || session.paused || session.ended) return;
  player.follow(list(), Math.min(current(), list().length - 1), position(), plan.lead_in);
}

// again throws away what is scheduled: the plan has changed.
function again() {
  player?.silence();
  draw();
  schedule();
}

// ---- time --------------------------------------------------------------------------

function sync() { base = performance.now() - (Date.now() - session.start); }

function tick() {
  if (!session || $("run").hidden || session.paused) return;
  if (Math.abs(performance.now() - base - (Date.now() - session.start)) > 250) sync(); // the phone slept
  if (current() >= list().length) return finish();
  draw();
  schedule();
}

setInterval(tick, 100);
document.addEventListener("visibilitychange", () => {
  if (document.hidden) return;
  stayOn();
  player?.context.resume().catch(() => {});
  tick();
});

async function stayOn() {
  if ($("run").hidden) return;
  try {
    lock = await navigator.wakeLock.request("screen");
    $("screen").hidden = true;
  } catch {
    $("screen").hidden = false; // this phone cannot, or will not now
  }
}

const save = () => outbox.keep("session", session);

// ---- what is on the screen -------------------------------------------------------------

// reps are those left of a stretch of work.
function reps(s, at) { return s.beats - Math.min(s.beats - 1, Math.floor((at - s.at) / s.every)); }

function rateWords(s) {
  const jumps = whole(60 / s.every);
  return s.kind === "double" ? fill(words.doubles, { jumps, rpm: whole(120 / s.every) }) : fill(words.rpm, { rpm: jumps });
}

function nextWords(i) {
  const next = list()[i + 1];
  if (!next) return words.last;
  if (next.kind === "rest") return fill(words.then_rest, { seconds: whole(next.seconds) });
  return fill(words["then_" + next.kind], { reps: next.beats, rate: rateWords(next) });
}

function draw() {
  const i = current();
  if (i >= list().length) return;
  const at = position(), s = list()[i];
  const text = (id, value) => { if ($(id).textContent !== String(value)) $(id).textContent = value; };
  text("figure", s.beats ? reps(s, at) : Math.ceil(s.at + s.seconds - at));
  text("left", clock(length() - at));
  const begins = list()[1].at, share = Math.min(1, Math.max(0, (at - begins) / (length() - begins)));
  moveLine(share);
  if (i === shown) return;
  if (shown >= 0 && i > shown) navigator.vibrate?.(s.beats ? 200 : [60, 60, 60]);
  leave(i);
  shown = i;
  const set = s.beats ? s.set : (list()[i + 1]?.set ?? s.set);
  text("word", s.set === 0 ? words.lead : words[s.kind]);
  text("rate", s.beats ? rateWords(s) : "");
  text("unit", s.beats ? words.left : words.seconds);
  text("next", nextWords(i));
  text("sets", fill(words.sets, { set, sets: list().at(-1).set }));
  $("run").dataset.kind = s.kind;
  $("shorter").hidden = s.beats === 0;
  $("resting").hidden = s.kind !== "rest";
  $("now").hidden = ready.minor || s.set === 0;
  $("fewer").hidden = s.set === 0;
  $("longer").hidden = s.set === 0;
  ask(s.kind === "rest" && s.set > 0 ? s.set : 0);
}

function clock(seconds) {
  const s = Math.max(0, Math.ceil(seconds));
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}

function moveLine(share) {
  const line = $("live").querySelector(".step-whole");
  if (!line) return;
  const done = line.querySelector(".step-done > svg"), now = line.querySelector(".step-now");
  done.setAttribute("width", share * 100 + "%");
  done.setAttribute("viewBox", `0 0 ${share * 1000} ${done.getAttribute("height")}`);
  now.setAttribute("x1", share * 100 + "%");
  now.setAttribute("x2", share * 100 + "%");
}

// ---- sets as they were done -----------------------------------------------------------------

// leave notes what was done up to stretch to, and keeps a set that was told
// about once its rest is over.
function leave(to) {
  for (const set of doneUpTo(session, to)) tellSet(set);
  save();
}

// tellSet puts a set into the outbox, if anybody said how it went and it is not
// there yet.
async function tellSet(set) {
  const log = session.log[set];
  if (!log || log.told || log.steady === null && log.burst === null && !log.shortened) return;
  log.told = true;
  const burst = Math.min(log.burst ?? 0, 99);
  await outbox.add("set", {
    plan: plan.id, number: set, bursts: log.bursts, clean_bursts: Math.max(0, log.bursts - burst), catches_steady: log.steady ?? 0, catches_burst: burst,
    shortened: log.shortened,
  }, fill(words.set_entry, { set })).catch(() => { log.told = false; });
  if (log.told && log.spot) await outbox.add("catch_note", { spot: log.spot }, words.spot_entry).catch(() => {});
  save();
}

// openQuestion is the first question about a set without an answer: "steady",
// "burst" or "spot"; "told" where there is none.
function openQuestion(log) {
  if (log.steady === null) return "steady";
  if (plan.bursty && log.burst === null) return "burst";
  return (log.steady ?? 0) + (log.burst ?? 0) > 0 && !log.spot ? "spot" : "told";
}

// ask shows the first question about a set that is open, or what was answered.
function ask(set) {
  $("ask").hidden = set === 0;
  if (set === 0) return;
  $("ask").dataset.set = set;
  $("ask-set").textContent = fill(words.ask, { set });
  const log = logOf(session, set);
  const open = openQuestion(log);
  for (const id of ["steady", "burst", "spot", "told"]) $("ask-" + id).hidden = id !== open;
  const spot = log.spot ? " · " + $("ask").querySelector(`[data-spot="${log.spot}"]`).textContent : "";
  $("ask-words").textContent = fill(plan.bursty ? words.told_burst : words.told, { n: log.steady + log.burst, burst: log.burst ?? 0 }) + spot;
}

$("ask").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const set = Number($("ask").dataset.set), log = logOf(session, set);
  if (button.dataset.spot) log.spot = button.dataset.spot;
  else if (button.dataset.catches) log[button.dataset.where] = Number(button.dataset.catches);
  else Object.assign(log, { steady: null, burst: null, spot: undefined });
  save();
  ask(set);
});

// ---- what a person does --------------------------------------------------------------------------

function tap(id, act) { $(id).addEventListener("click", act); }

tap("test-sound", async () => {
  await sound();
  const at = player.context.currentTime + 0.1;
  for (let n = 0; n < 4; n++) player.play(n ? "steady" : "accent", at + n * 0.5);
  $("heard").hidden = false;
});

tap("start", async () => {
  session.start = Date.now();
  await sound(); // takes a moment; the plan's clock starts after it
  session.start = Date.now();
  sync();
  save();
  goOn();
});

async function goOn() {
  shown = -1;
  show("run");
  scrollTo(0, 0);
  paint();
  stayOn();
  again();
}

tap("carry-on", async () => { await sound(); goOn(); });
tap("silent", async () => { await sound(); again(); });
tap("carry-stop", () => finish(current()));

function paint() {
  $("pause").textContent = session.paused ? words.carry_on : words.pause;
  $("run").classList.toggle("paused", Boolean(session.paused));
  if (session.paused) $("word").textContent = words.paused;
}

tap("pause", () => {
  if (session.paused) resume();
  else pause();
});

function pause() {
  if (session.paused) return;
  session.paused = session.start + position() * 1000;
  player?.silence();
  paint();
  save();
}

function resume() {
  const at = resumeAt(list(), current(), position(), plan.lead_in);
  session.paused = null;
  session.start = Date.now() - at * 1000;
  sync();
  paint();
  save();
  shown = -1;
  again();
}

function change(act) {
  act(current(), position());
  retime(list());
  save();
  again();
}

tap("shorter", () => change((i, at) => {
  logOf(session, list()[i].set).shortened = true;
  endSet(list(), i, at);
}));
tap("longer", () => change((i) => { list()[i].seconds += 15; }));
tap("now", () => change((i, at) => endRest(list(), i, at, plan.lead_in)));
tap("fewer", () => change((i, at) => {
  dropLastSet(list(), i, at);
  shown = -1;
}));

// ---- it hurts ---------------------------------------------------------------------------------------

tap("stop", () => {
  player?.silence(); // first of all
  pause();
  show("hurts");
  $("hurts").querySelector("h1").focus();
});
tap("not-hurt", () => { show("run"); });

let told; // id of the entry that holds the plan

$("places").addEventListener("click", async (event) => {
  const place = event.target.closest("button[data-place]")?.dataset.place;
  if (!place) return;
  session.hurt = place;
  session.ended = true;
  save();
  await outbox.keep("ready", { ...ready, held: true });
  // Whoever stops in the middle because it hurts feels it clearly: 3 of 10.
  told = await outbox.add("debrief", hurtBody(3, []), words.pain_entry, { holds: true });
  release();
  show("stopped");
  $("stopped").querySelector("h1").focus();
});

function hurtBody(pain, signs, corrects) {
  return { ...soFar(), plan: plan.id, pain, pain_place: session.hurt, pain_signs: signs, corrects };
}

$("worse").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = new FormData(event.target);
  const pain = Number(form.get("pain")), signs = form.getAll("pain_signs");
  if (pain > 3 || signs.length) await outbox.add("debrief", hurtBody(pain, signs, told), words.pain_entry, { holds: true });
  location.assign("/me");
});

// ---- the end ---------------------------------------------------------------------------------------------

const soFar = () => totals(session, plan.bursty, position() - settle);

function finish(to = list().length) {
  leave(to);
  const last = list().at(-1).set;
  session.ended = true;
  session.totals = soFar();
  save();
  show("done");
  ask(0);
  if (session.log[last]?.done) {
    $("done-ask").append($("ask"));
    ask(last);
  }
  setTimeout(release, 2000); // let the last notes sound
}

tap("to-debrief", async () => {
  await Promise.all(Object.keys(session.log).map((set) => tellSet(Number(set))));
  session.totals = soFar();
  await save();
  location.assign("/me/debrief");
});

function release() {
  lock?.release().catch(() => {});
  player?.context.close().catch(() => {});
  player = null;
}

tap("once-more", () => show("check"));

outbox.start();
await open();

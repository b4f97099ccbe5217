// A timed test on a phone: a countdown by sound, a window that this phone
// keeps, and a pad for whoever counts. Taps are timed by the touch itself, not
// by when the page comes round to it.
import * as outbox from "/static/js/outbox.js";
import { countdown, loud, playTest } from "/static/js/cue.js";
import { figure, onTap, rateOfCount, rateOfTaps } from "/static/js/taps.js";
import { check, whole } from "/static/js/phone.js";

const $ = (id) => document.getElementById(id);
const words = JSON.parse($("timed").dataset.words);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

const wet = 80; // ms: a second touch this soon is water
const after = 1200; // ms: a hand that taps to the end goes on, and must not hit what comes next

let setup; // as the form says
let player;
let began; // performance.now() at the start of the window; undefined: not counting
let taps = []; // ms since then
let catches = [];
let tapped; // what the taps came to
let ticker;

function show(screen) {
  for (const id of ["setup", "count", "result", "saved"]) $(id).hidden = id !== screen;
  document.body.classList.toggle("now", screen === "count");
  scrollTo(0, 0);
}

// ---- set-up -----------------------------------------------------------------------

let ready;

async function open() {
  ready = await outbox.kept("ready");
  const form = $("setup-form");
  const partner = await outbox.kept("partner");
  if (partner && form.elements.mate.options.length === 1) {
    form.elements.mate.add(new Option(fill(words.chosen, { time: new Date(partner.at).toTimeString().slice(0, 5) }), partner.id));
  }
  form.addEventListener("change", suit);
  suit();
  $("timed").removeAttribute("aria-busy");
}

// suit shows what belongs to the choices made.
function suit() {
  const form = $("setup-form");
  const who = form.elements.who.value;
  $("mate-field").hidden = who !== "mate";
  if (who === "mate" && form.elements.mate.value) outbox.keep("partner", { id: form.elements.mate.value, at: new Date().toISOString() });
  if (who === "mate") $("adult-field").hidden = false;
  $("taps-field").hidden = who === "alone";
  if (who === "alone") form.elements.taps.value = "typed";
  else if (form.elements.taps.value === "typed" && suit.before === "alone") form.elements.taps.value = "2";
  suit.before = who;
}

$("setup-form").addEventListener("submit", (event) => {
  event.preventDefault();
  if (!check(event.target)) return;
  const form = new FormData(event.target);
  const [protocol, seconds] = form.get("test").split(" ");
  const adult = form.get("adult") !== null;
  if ((ready?.minor || form.get("who") === "mate") && !adult && ready?.tests.find((t) => t.value === form.get("test"))?.adult) {
    $("adult-field").hidden = false;
    $("setup-say").textContent = words.adult;
    return event.target.elements.adult.focus();
  }
  $("setup-say").textContent = "";
  setup = {
    adult,
    protocol, seconds: Number(seconds), step: form.get("step"), rope: form.get("rope"), surface: form.get("surface"), who: form.get("who"),
    mate: form.get("who") === "mate" ? form.get("mate") : undefined, perTap: form.get("taps") === "typed" ? 0 : Number(form.get("taps")),
  };
  begin();
});

// ---- counting --------------------------------------------------------------------------

async function begin() {
  taps = [];
  catches = [];
  tapped = null;
  show("count");
  $("pad").hidden = $("undo").hidden = setup.perTap === 0;
  $("caught").hidden = setup.perTap === 0 || setup.seconds === 0;
  $("ended").hidden = setup.seconds !== 0;
  $("pad-word").textContent = words["pad" + setup.perTap] ?? "";
  $("catch-count").textContent = "";
  $("tap-count").textContent = setup.perTap ? 0 : "";
  $("time").textContent = countdown;
  $("time-word").textContent = words.ready;
  player?.context.close().catch(() => {});
  player = await loud();
  navigator.wakeLock?.request("screen").catch(() => {});
  began = playTest(player, setup.seconds);
  $("pad").focus({ preventScroll: true });
  clearInterval(ticker);
  ticker = setInterval(tick, 50);
}

function tick() {
  const at = (performance.now() - began) / 1000;
  if (at < 0) {
    $("time").textContent = Math.ceil(-at);
    return;
  }
  $("time-word").textContent = setup.seconds ? words.left : words.going;
  $("time").textContent = setup.seconds ? Math.max(0, Math.ceil(setup.seconds - at)) : Math.floor(at);
  if (setup.seconds && at >= setup.seconds + 0.15) { // a touch just before the end may still be on its way
    clearInterval(ticker);
    $("time-word").textContent = words.over;
    ticker = setTimeout(end, setup.perTap ? after : 0);
  }
}

// inside returns ms since the start for a touch within the window, else null.
function inside(stamp) {
  const at = stamp - began;
  return at >= 0 && (!setup.seconds || at <= setup.seconds * 1000) ? at : null;
}

function tap(stamp) {
  const at = inside(stamp);
  if (at === null || taps.length && at - taps.at(-1) < wet) return;
  taps.push(at);
  $("tap-count").textContent = taps.length * setup.perTap;
}

onTap($("pad"), tap);
$("caught").addEventListener("pointerdown", (event) => {
  const at = inside(event.timeStamp);
  if (event.isPrimary && at !== null) caught(at);
});
$("caught").addEventListener("click", (event) => { // by keyboard
  const at = inside(event.timeStamp);
  if (event.detail === 0 && at !== null) caught(at);
});
function caught(at) {
  catches.push(at);
  $("catch-count").textContent = fill(words.catches, { n: catches.length });
}
$("undo").addEventListener("click", () => {
  taps.pop();
  $("tap-count").textContent = taps.length * setup.perTap;
});
$("ended").addEventListener("click", end);
$("cancel").addEventListener("click", () => {
  stop();
  show("setup");
});

function stop() {
  clearInterval(ticker);
  player?.silence();
  player?.context.close().catch(() => {});
  player = null;
}

// ---- the result -----------------------------------------------------------------------------

// coarse stamps, as some browsers give on purpose, make a count but no rate.
const coarse = (stamps) => stamps.length > 3 && stamps.every((t) => Math.abs((t + began) % 100) < 1e-6);

function end() {
  if (began === undefined) return;
  clearInterval(ticker);
  setTimeout(stop, 1000); // let the last notes sound
  const seconds = taps.map((t) => t / 1000);
  tapped = setup.perTap && !coarse(taps) ? rateOfTaps(seconds, setup.perTap, catches.map((t) => t / 1000)) : null;
  const rotations = setup.seconds && tapped ? Math.round(tapped.rotations) : setup.perTap * taps.length;
  began = undefined;
  const form = $("result-form");
  form.elements.rotations.value = setup.perTap ? rotations : "";
  form.elements.catches.value = catches.length;
  form.elements.catches.closest(".field").hidden = setup.seconds === 0;
  form.dataset.rotations = setup.perTap ? rotations : "";
  show("result");
  rates();
  if (!setup.perTap) form.elements.rotations.focus();
}

function rates() {
  const typed = $("result-form").elements.rotations.value;
  const rotations = whole(typed);
  const good = rotations >= 0 && rotations !== null && setup.seconds > 0;
  $("rates").hidden = !good;
  if (!good) return;
  write("whole", rateOfCount(rotations, setup.seconds));
  const turning = tapped && typed === $("result-form").dataset.rotations ? tapped : null;
  write("turning", turning);
  $("turning-why").textContent = turning ? (turning.filled ? fill(words.filled, { n: turning.filled }) : "") : words.no_taps;
}

// write puts a rate into its place, what is uncertain about it smaller.
function write(id, rate) {
  const [main, uncertain] = rate ? figure(rate).split(" ± ") : ["–"];
  const small = document.createElement("small");
  small.textContent = uncertain ? "± " + uncertain : "";
  $(id).replaceChildren(main, " ", small);
}

$("result-form").addEventListener("input", rates);
$("result-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  if (!check(form)) return;
  const rotations = whole(form.elements.rotations.value);
  const asTapped = tapped && form.elements.rotations.value === form.dataset.rotations;
  const round = (list) => list.map((t) => Math.round(t * 10) / 1e4);
  const body = {
    for: setup.mate, protocol: setup.protocol, seconds: setup.seconds || null, rotations: asTapped && setup.seconds ? null : rotations,
    catches: setup.seconds ? whole(form.elements.catches.value) : 0, step: setup.step, rope: setup.rope, surface: setup.surface,
    counted_by: setup.who === "alone" ? "self" : "partner", timing: "app", adult: setup.adult,
    ...(asTapped ? { taps: round(taps), catch_at: round(catches), per_tap: setup.perTap } : {}),
  };
  const what = setup.seconds ? fill(words.entry, { n: rotations, seconds: setup.seconds }) : fill(words.run_entry, { n: rotations });
  try {
    await outbox.add("result", body, what);
  } catch (fault) {
    $("full").hidden = false;
    if (fault.name !== "QuotaExceededError") $("full").querySelector("p").textContent = words.not_kept;
    $("full").scrollIntoView({ block: "center" });
    return;
  }
  $("saved-what").textContent = what;
  show("saved");
  $("saved").querySelector("h1").focus();
});

$("discard").addEventListener("click", () => show("setup"));
$("same").addEventListener("click", () => begin());
$("other").addEventListener("click", () => show("setup"));

await open();

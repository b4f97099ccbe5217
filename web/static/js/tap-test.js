// A coach counts one athlete's test by taps on this screen: three beeps, a window
// that this screen keeps, a pad. What comes of it is filled into the form below,
// and kept when that is saved. Taps are timed by the touch itself.
import { countdown, loud, playTest } from "/static/js/cue.js";
import { figure, onTap, rateOfTaps } from "/static/js/taps.js";

const $ = (id) => document.getElementById("tap-" + id);
const form = document.querySelector("form[data-record]");
const words = JSON.parse($("count").dataset.words);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);

const perTap = 2; // a hand follows every second rotation of a quick rope
const wet = 80; // ms: a second touch this soon is water
const after = 1200; // ms: a hand that taps to the end goes on, and must not hit what comes next

let seconds, began, taps, catches, ticker, player;

function show(counting) {
  $("count").hidden = !counting;
  form.hidden = counting;
  $("begin").hidden = counting;
  document.body.classList.toggle("now", counting);
  scrollTo(0, 0);
}

async function begin() {
  seconds = Number(form.elements.test.value.split(" ")[1]);
  taps = [];
  catches = [];
  $("number").textContent = 0;
  $("catches").textContent = "";
  $("time").textContent = countdown;
  $("word").textContent = words.ready;
  show(true);
  player = await loud();
  navigator.wakeLock?.request("screen").catch(() => {});
  began = playTest(player, seconds);
  $("pad").focus({ preventScroll: true });
  ticker = setInterval(tick, 50);
}

function tick() {
  const at = (performance.now() - began) / 1000;
  if (at < 0) {
    $("time").textContent = Math.ceil(-at);
    return;
  }
  $("word").textContent = words.left;
  $("time").textContent = Math.max(0, Math.ceil(seconds - at));
  if (at >= seconds + 0.15) { // a touch just before the end may still be on its way
    clearInterval(ticker);
    $("word").textContent = words.over;
    ticker = setTimeout(end, after);
  }
}

// inside returns ms since the start for a touch within the window, else null.
function inside(stamp) {
  const at = stamp - began;
  return began !== undefined && at >= 0 && at <= seconds * 1000 ? at : null;
}

function tap(stamp) {
  const at = inside(stamp);
  if (at === null || taps.length && at - taps.at(-1) < wet) return;
  taps.push(at);
  $("number").textContent = taps.length * perTap;
}

function caught(stamp) {
  const at = inside(stamp);
  if (at === null) return;
  catches.push(at);
  $("catches").textContent = fill(words.catches, { n: catches.length });
}

function stop() {
  clearInterval(ticker);
  began = undefined;
  const ending = player;
  setTimeout(() => ending?.context.close().catch(() => {}), 1000); // let the last notes sound
  show(false);
}

function end() {
  const round = (list) => list.map((t) => Math.round(t * 10) / 1e4);
  const tapped = rateOfTaps(round(taps), perTap, round(catches));
  stop();
  form.elements.rotations.value = tapped ? Math.round(tapped.rotations) : taps.length * perTap;
  form.elements.catches.value = catches.length;
  form.elements.taps.value = JSON.stringify(round(taps));
  form.elements.catch_at.value = JSON.stringify(round(catches));
  form.elements.per_tap.value = perTap;
  $("said").textContent = tapped ? fill(words.turning, { rate: figure(tapped) }) : words.few;
  form.querySelector(".actions button").focus({ preventScroll: true }); // what the taps show stays in sight
}

$("start").addEventListener("click", begin);
onTap($("pad"), tap);
$("caught").addEventListener("pointerdown", (event) => { if (event.isPrimary) caught(event.timeStamp); });
$("caught").addEventListener("click", (event) => { if (event.detail === 0) caught(event.timeStamp); }); // by keyboard
$("undo").addEventListener("click", () => {
  taps.pop();
  $("number").textContent = taps.length * perTap;
});
$("cancel").addEventListener("click", () => { player?.silence(); stop(); });

// Another count than the taps show stands alone.
form.elements.rotations.addEventListener("input", () => {
  for (const name of ["taps", "catch_at", "per_tap"]) form.elements[name].value = "";
  $("said").textContent = "";
});

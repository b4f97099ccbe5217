// Keeps a class hour live: the board, an athlete's own turn, the hall's screen.
// The server sends the page's changing part; the clock in it runs on here, by
// the server's time, also while there is no signal. One tablet gives the cue.
import { loud, sounds, testSounds } from "/static/js/cue.js";

const live = document.querySelector("[data-live]");
const body = live.querySelector("[data-live-body]");
const word = live.querySelector("[data-live-word]");
const words = JSON.parse(live.dataset.words);
const say = (text) => { document.getElementById("say").textContent = text; };

let offset = 0; // of the server's clock to this one's, in ms
let heard = Date.now(); // the last word from the server
let course = null; // { turns, cues, lead } of the clock that is shown

// The server's time: of five answers the one that came fastest.
async function measure() {
  let best = Infinity;
  for (let i = 0; i < 5; i++) {
    try {
      const asked = performance.now();
      const server = Number(await (await fetch("/time", { cache: "no-store" })).text());
      const trip = performance.now() - asked;
      if (trip < best) {
        best = trip;
        offset = server + trip / 2 - Date.now();
      }
    } catch {
      return; // the last known offset serves
    }
  }
}

const clock = () => body.querySelector("[data-clock]");

function elapsed(c = clock()) {
  if (c.dataset.running !== "true") return Number(c.dataset.elapsed);
  return Math.max(0, (Date.now() + offset - Number(c.dataset.zero)) / 1000);
}

// moment tells where the clock stands: in a turn, or before the next.
function moment(at) {
  for (let i = 0; i < course.turns.length; i++) {
    const t = course.turns[i];
    if (at < t.start) return { i, working: false, left: t.start - at };
    if (at < t.end) return { i, working: true, left: t.end - at };
  }
  return { i: course.turns.length, over: true, left: 0 };
}

function taken() {
  const c = clock();
  course = c?.dataset.clock ? JSON.parse(c.dataset.clock) : null;
  player?.silence();
  played = -1;
  shown = "";
  keepAwake(c?.dataset.running === "true");
  tick();
}

let shown = ""; // what the clock's word was made for
let timer = 0;

function tick() {
  clearTimeout(timer);
  const c = clock();
  const digits = c?.querySelector("[data-clock-digits]");
  if (!c || !course || !digits) return;
  const at = elapsed(c), now = moment(at);
  const left = Math.ceil(now.left - 0.001);
  digits.textContent = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
  c.classList.toggle("clock-working", Boolean(now.working) && c.dataset.running === "true");
  if (c.dataset.running !== "true") return;
  play(c, at, now);
  const key = now.i + (now.working ? "w" : "r");
  if (shown && shown !== key && !alive()) tell(c, now); // else the server says it in a moment
  shown = key;
  if (!now.over) timer = setTimeout(tick, 100);
  else if (!alive()) tell(c, now);
}

// tell says what the server would say, while it cannot.
function tell(c, now) {
  const line = c.querySelector("[data-clock-word]");
  if (!line) return;
  if (now.over) line.textContent = words.over;
  else line.textContent = course.turns[now.i].label + (now.working ? "" : words.ready);
}

// Sound: the cue of each turn, as long as the turn lasts, on the audio clock.
let player = null;
let played = -1; // index of the turn whose sounds are scheduled

function play(c, at, now) {
  if (!player || now.over || now.i === played || now.left > 30 && !now.working) return;
  played = now.i;
  const turn = course.turns[now.i], cue = course.cues[turn.group];
  const zero = player.context.currentTime - at; // the audio clock when the course stood at 0
  const list = cue.count ? testSounds(turn.start, turn.end) : cueSounds(turn, cue, now.i === course.turns.length - 1);
  for (const { at: when, sound } of list) if (when > at - 0.005) player.play(sound, zero + when);
}

function cueSounds(turn, cue, last) {
  const list = [{ set: 0, kind: "rest", at: turn.start - course.lead, seconds: course.lead, beats: 0, every: 0 }];
  let at = turn.start;
  const add = (kind, beats, every) => {
    if (beats) list.push({ set: 1, kind, at, seconds: beats * every, beats, every });
    at += beats * every;
  };
  for (let i = 0; i < cue.cycles; i++) {
    add("steady", cue.steady, cue.steady_every);
    add(cue.double ? "double" : "burst", cue.burst, cue.burst_every);
  }
  if (!last) list.push({ set: 1, kind: "rest", at, seconds: 1, beats: 0, every: 0 });
  return list.slice(0, last ? undefined : -1).flatMap((_, i) => sounds(list, i, cue.lead_in));
}

const soundButton = live.querySelector("[data-sound]");

async function soundOn() {
  player ??= await loud();
  played = -1;
  soundButton.setAttribute("aria-pressed", "true");
  tick();
}

function soundOff() {
  player?.silence();
  player?.context.close();
  player = null;
  soundButton.setAttribute("aria-pressed", "false");
}

// The screen stays on while the clock runs, where the device lets it.
let lock = null;

async function keepAwake(on) {
  if (!on) {
    lock?.release();
    lock = null;
  } else if (!lock && !document.hidden && navigator.wakeLock) {
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { /* the device wants to save power */ }
  }
}

// The stream. Every connect begins with the whole.
let source = null;
let told = 0;
const alive = () => Date.now() - heard < 25000;

function open() {
  source?.close();
  source = new EventSource(live.dataset.live);
  source.addEventListener("beat", () => {
    heard = Date.now();
    showAlive();
  });
  source.addEventListener("board", (event) => {
    heard = Date.now();
    const focus = document.activeElement?.id, opened = [...body.querySelectorAll("details[open][id]")].map((d) => d.id);
    body.innerHTML = event.data;
    for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
    if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
    taken();
    announce();
  });
}

// At most every ten seconds a screen reader hears how it stands.
function announce() {
  const lists = body.querySelector("[data-needs]");
  if (!lists || Date.now() - told < 10000) return;
  const text = words.stand.replace("{done}", lists.dataset.done).replace("{needs}", lists.dataset.needs);
  if (text === announce.last) return;
  announce.last = text;
  told = Date.now();
  say(text);
}

const local = (ms) => new Date(ms).toTimeString().slice(0, 8);

function showAlive() {
  live.classList.toggle("not-live", !alive());
  word.textContent = alive() ? `${word.dataset.liveYes} · ${local(Date.now() + offset)}` : `${word.dataset.liveNo} ${local(heard + offset).slice(0, 5)}`;
}

// A press goes to the server; the board shows what came of it.
document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-press]");
  if (!form) return;
  event.preventDefault();
  const data = new URLSearchParams(new FormData(form, event.submitter));
  if (live.hasAttribute("data-loud") && ["start", "go_on"].includes(data.get("do")) && !player) await soundOn().catch(() => {});
  try {
    const response = await fetch(form.action, { method: "POST", body: data, headers: { "HX-Request": "true" }, signal: AbortSignal.timeout(8000) });
    if (!response.ok) {
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      warn(page.querySelector("main .lead")?.textContent ?? words.again);
    } else if (data.get("do") === "start") {
      document.querySelector("[data-preview]")?.remove();
      live.scrollIntoView({ block: "start" });
    }
  } catch {
    warn(words.no_signal);
  }
});

function warn(text) {
  document.getElementById("alert").textContent = text;
  setTimeout(() => { document.getElementById("alert").textContent = ""; }, 8000);
}

soundButton?.addEventListener("click", () => (player ? soundOff() : soundOn()));
document.addEventListener("visibilitychange", async () => {
  if (document.hidden) return;
  open(); // after sleep: the whole anew, and the time
  keepAwake(clock()?.dataset.running === "true");
  await measure();
  taken();
});
addEventListener("online", () => { open(); measure(); });
setInterval(showAlive, 1000);

taken();
open();
measure().then(taken);

// The outbox keeps what is written down on this phone until the gym's computer
// has answered for it. Nothing is called saved before the phone's own storage
// has it for good, and nothing is removed before an explicit answer.
import { openDB } from "/static/vendor/idb@8.0.4/index.js";

// How patient sending is, in milliseconds.
export const pace = { timeout: 4000, first: 2000, longest: 60000, every: 20000 };

const most = 50; // entries sent at once
const address = "/me/outbox";

// ---- storage ---------------------------------------------------------------

// Version 1 had no place for what a phone knows besides its entries.
const upgrades = [
  (db) => db.createObjectStore("entries", { keyPath: "id" }).createIndex("by athlete", "athlete"),
  (db) => db.createObjectStore("kept"),
];

let opened;

function storage() {
  opened ??= openDB("ropewalk", upgrades.length, {
    upgrade: (db, from) => upgrades.slice(from).forEach((step) => step(db)),
    blocking: (_, __, event) => { event.target.close(); opened = undefined; },
    terminated: () => { opened = undefined; },
  });
  opened.catch(() => { opened = undefined; });
  return opened;
}

// kept returns what the phone keeps under a name, keep replaces it, and forget
// removes it.
export async function kept(name) { return (await storage()).get("kept", name); }
export async function keep(name, value) { return (await storage()).put("kept", value, name); }
export async function forget(name) { return (await storage()).delete("kept", name); }

async function write(change) {
  const tx = (await storage()).transaction(["entries", "kept"], "readwrite", { durability: "strict" });
  await Promise.all([change(tx.objectStore("entries"), tx.objectStore("kept")), tx.done]);
}

// ---- time ------------------------------------------------------------------

// What is added to this phone's clock for the gym's, as last compared, and how
// far the two clocks of this phone were apart then: when that changes, somebody
// set the clock or the phone slept.
let compared;

export function compareClocks(theirs, before, after) {
  const now = Date.now();
  compared = { offset: Math.round(new Date(theirs).getTime() - now + (after - before) / 2), apart: now - performance.now() };
}

function knownOffset() {
  const moved = compared && Math.abs(Date.now() - performance.now() - compared.apart);
  return compared && moved < 1000 ? compared.offset : null;
}

// ---- entries ---------------------------------------------------------------

// newID makes a UUID of version 7: in the order of time, and nobody else's.
export function newID() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let ms = Date.now();
  for (let i = 5; i >= 0; i--) { bytes[i] = ms % 256; ms = Math.floor(ms / 256); }
  bytes[6] = (bytes[6] & 15) | 112;
  bytes[8] = (bytes[8] & 63) | 128;
  return [...bytes].map((b, i) => ([4, 6, 8, 10].includes(i) ? "-" : "") + b.toString(16).padStart(2, "0")).join("");
}

// add keeps an entry on this phone and returns its id. words say what it is
// about, without names; holds, that no jumping comes after it. It throws what
// the storage throws.
export async function add(kind, body, words, { id = newID(), holds = false } = {}) {
  const athlete = await kept("me");
  if (!athlete) throw new Error("nobody is signed in");
  // The body is kept as text, so that it is the same to the last byte however
  // often it is sent. Entries keep their order when the clock is set back.
  const entry = { id, kind, athlete, words, holds, body: JSON.stringify(body), at: new Date().toISOString(), offset: knownOffset(), state: "waiting", tries: 0 };
  await write(async (entries, notes) => {
    entry.number = ((await notes.get("number")) ?? 0) + 1;
    return Promise.all([notes.put(entry.number, "number"), entries.add(entry)]);
  });
  navigator.storage?.persist?.().catch(() => {});
  tell({ saved: id });
  sendNow();
  return id;
}

// all lists the entries of whoever is signed in here, oldest first, and how
// many others wait for somebody else.
export async function all() {
  const me = await kept("me");
  const entries = (await (await storage()).getAll("entries")).sort(inOrder);
  return { mine: entries.filter((e) => e.athlete === me), others: entries.filter((e) => e.athlete !== me).length };
}

function inOrder(a, b) { return (a.number ?? 0) - (b.number ?? 0); }

// remove throws an entry away, for whoever decides so.
export async function remove(id) {
  await write((entries) => entries.delete(id));
  tell({});
}

// ---- news ------------------------------------------------------------------

const channel = "BroadcastChannel" in self ? new BroadcastChannel("ropewalk") : null;
const listeners = new Set();

// onChange calls back with {saved}, {sent}, {refused}, {signedOut} or {} when
// something happened to the entries, on any page of this phone.
export function onChange(call) { listeners.add(call); }

function tell(news) {
  channel?.postMessage(news);
  listeners.forEach((call) => call(news));
}
channel?.addEventListener("message", ({ data }) => listeners.forEach((call) => call(data)));

// ---- sending ---------------------------------------------------------------

let wait = 0; // before the next try by itself
let timer;
let asked; // since the last look at what waits
let running; // this page waits for its turn, or sends

// sendNow sends what waits, at once: something happened that may have brought
// the signal back.
export function sendNow() {
  wait = 0;
  return send();
}

function send() {
  asked = true;
  return running ??= run();
}

async function run() {
  clearTimeout(timer);
  let how;
  while (asked) {
    asked = false;
    how = await turn(deliver).catch(() => "later");
  }
  if (how === "later") {
    wait = Math.min(pace.longest, Math.max(pace.first, wait * 2));
    timer = setTimeout(send, wait * (0.75 + Math.random() / 2));
  }
  running = undefined; // at once: who asks from here on is heard
  return how;
}

// turn lets one page of this phone send at a time.
function turn(task) { return navigator.locks ? navigator.locks.request("ropewalk outbox", task) : task(); }

// deliver sends batch after batch until nothing waits: "done". "later" asks for
// another try, "stay" for somebody who signs in.
async function deliver() {
  for (let size = most; ;) {
    const me = await kept("me");
    const waiting = (await all()).mine.filter((e) => e.state === "waiting").slice(0, size);
    if (!me || waiting.length === 0) return "done";
    const { status, answer } = await post(me, waiting);
    if (status === 200) {
      await settle(waiting, answer.answers);
      wait = 0;
    } else if (status === 401 || status === 403) {
      tell({ signedOut: true });
      return "stay";
    } else if (status >= 400 && status < 500 && status !== 408 && status !== 429) {
      if (waiting.length > 1) { size = 1; continue; } // one of them is at fault: which?
      await settle(waiting, [{ id: waiting[0].id, answer: "refused", said: answer.error ?? "It was not taken. Type it anew." }]);
    } else {
      await write((entries) => Promise.all(waiting.map((e) => entries.put({ ...e, tries: e.tries + 1 }))));
      return "later";
    }
  }
}

async function post(me, waiting) {
  const entries = waiting.map((e) =>
    `{"id":"${e.id}","kind":"${e.kind}","at":"${e.at}","offset_ms":${e.offset},"body":${e.body}}`);
  const before = performance.now();
  try {
    const response = await fetch(address, {
      method: "POST", headers: { "Content-Type": "application/json" }, cache: "no-store", redirect: "error",
      body: `{"athlete":"${me}","sent_at":"${new Date().toISOString()}","entries":[${entries.join()}]}`,
      signal: AbortSignal.timeout(pace.timeout),
    });
    const answer = await response.json();
    if (answer.now) compareClocks(answer.now, before, performance.now());
    return { status: response.status, answer };
  } catch {
    return { status: 0 }; // no signal, half a signal, or no answer of ours
  }
}

// settle acts on the answers; what has none stays.
async function settle(waiting, answers) {
  const byID = new Map(answers.map((a) => [a.id, a]));
  const sent = [], refused = [];
  await write((entries) => Promise.all(waiting.map((e) => {
    const a = byID.get(e.id);
    if (!a) return;
    if (a.answer === "refused") {
      refused.push(e.id);
      return entries.put({ ...e, state: "refused", why: a.said });
    }
    sent.push({ id: e.id, said: a.said, twice: a.answer === "duplicate" });
    return entries.delete(e.id);
  })));
  if (sent.length) tell({ sent });
  if (refused.length) tell({ refused });
}

// start sends on every occasion that may have brought the signal back.
export function start() {
  addEventListener("online", sendNow);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendNow(); });
  navigator.serviceWorker?.addEventListener("message", ({ data }) => { if (data === "send") sendNow(); });
  setInterval(() => { if (!document.hidden) send(); }, pace.every);
  sendNow();
}

// What every page of an athlete does on a phone: it gets ready for a hall
// without a signal, shows where this phone's entries stand, and keeps forms on
// the phone before they are sent. Without it all pages work as plain pages.
import * as outbox from "/static/js/outbox.js";

const $ = (id) => document.getElementById(id);
const say = (text) => { $("say").textContent = text; };

// ---- who is here ------------------------------------------------------------

// A page from the gym's computer says whose it is. One from this phone's own
// store does not: it belongs to whoever was here last.
const here = document.querySelector("[data-me]")?.dataset.me;
const offline = document.querySelector("[data-offline]") !== null;

async function settleIn() {
  if (here && (await outbox.kept("me")) !== here) {
    await outbox.forget("ready");
    await outbox.forget("session");
    await outbox.forget("partner");
    await outbox.keep("me", here);
  }
  if (!here && !offline) return;
  outbox.onChange(showStates);
  await showStates({});
  outbox.start();
  await getReady();
}

// ---- ready without a signal ----------------------------------------------------

// getReady fetches what is planned, as numbers and pictures without names, and
// keeps it. It returns the newest there is.
async function getReady() {
  let ready = await outbox.kept("ready");
  const before = performance.now();
  try {
    const response = await fetch("/me/ready", { cache: "no-store", redirect: "error", signal: AbortSignal.timeout(outbox.pace.timeout) });
    if (response.ok) {
      const fresh = await response.json();
      outbox.compareClocks(fresh.now, before, performance.now());
      if (fresh.athlete === (await outbox.kept("me"))) {
        // Pain that is not sent yet holds the plan all the same.
        fresh.held ||= (await outbox.all()).mine.some((e) => e.holds);
        ready = { ...fresh, at: new Date().toISOString() };
        await outbox.keep("ready", ready);
      }
    }
  } catch {
    // No signal: what is here stays.
  }
  await showReady(ready);
  return ready;
}

async function showReady(ready) {
  if (!ready) return;
  if (offline) fill(ready);
  else if (ready.held && $("held")) $("held").hidden = false; // known here, and there not yet
  const line = $("ready");
  if (!line || !(await navigator.serviceWorker?.getRegistration())?.active) return;
  line.querySelector("[data-time]").textContent = new Date(ready.at).toTimeString().slice(0, 5);
  line.querySelector("[data-not]").hidden = true;
  line.querySelector("[data-yes]").hidden = false;
}

// fill puts what this phone keeps into a page of its own store.
function fill(ready) {
  const form = $("setup-form") ?? document.querySelector('form[data-keep="result"]');
  if (form && form.elements.test.options.length === 0) {
    form.elements.test.replaceChildren(...ready.tests.map((t) => new Option(t.text, t.value)));
    for (const [name, value] of Object.entries(ready.setup)) if (form.elements[name]) form.elements[name].value = value;
  }
  for (const place of document.querySelectorAll("[data-fill]")) {
    const value = place.dataset.fill.split(".").reduce((from, name) => from?.[name], ready);
    if (value) place.innerHTML = value; // made by the gym's computer, kept by us
  }
  for (const place of document.querySelectorAll("[data-if]")) place.hidden = !ready[place.dataset.if];
  for (const place of document.querySelectorAll("[data-unless]")) place.hidden = place.dataset.unless.split(" ").some((name) => ready[name]);
}

// ---- where the entries stand ---------------------------------------------------

function stateOf({ mine }) {
  const refused = mine.filter((e) => e.state === "refused").length;
  if (refused) return ["look", refused];
  return mine.length ? ["waiting", mine.length] : null;
}

// An entry may be sent while the page changes; the next page says so, too.
const justNow = 10_000; // ms
function markSent() {
  try { sessionStorage.setItem("sent", Date.now()); } catch { /* then only this page says so */ }
}
function sentJustNow() {
  try { return Date.now() - sessionStorage.getItem("sent") < justNow; } catch { return false; }
}

async function showStates(news) {
  const place = $("outbox");
  if (!place) return;
  const now = stateOf(await outbox.all());
  if (news.sent) markSent();
  let [state, count] = now ?? (sentJustNow() ? ["sent"] : []);
  if (news.saved && state === "waiting" && count === 1) state = "saved";
  place.hidden = !state;
  place.querySelector("[data-signed-out]").hidden = !news.signedOut;
  place.querySelector("[data-waiting]").hidden = state !== "waiting";
  if (!state) return;
  const words = $("state-" + state).content.cloneNode(true);
  const number = words.querySelector("[data-count]");
  if (number) number.textContent = count;
  place.querySelector("[data-state]").replaceChildren(words);
  const said = news.sent?.find((s) => s.said)?.said;
  if (said) place.querySelector("[data-said]").textContent = said;
  if (news.saved || news.sent || news.refused) say(place.querySelector("[data-state]").textContent + (said ? ". " + said : ""));
}

// ---- what is typed -------------------------------------------------------------------

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
  const said = field.getAttribute("aria-describedby");
  field.setAttribute("aria-describedby", said ? `${said} ${message.id}` : message.id);
  field.addEventListener("input", () => forgive(field), { once: true });
}

function forgive(field) {
  const message = document.getElementById(field.id + "-wrong");
  if (!message) return;
  message.remove();
  field.closest(".field").classList.remove("has-error");
  field.removeAttribute("aria-invalid");
  const said = field.getAttribute("aria-describedby").replace(message.id, "").trim();
  if (said) field.setAttribute("aria-describedby", said);
  else field.removeAttribute("aria-describedby");
}

// ---- forms ------------------------------------------------------------------------

// How the fields of a form become an entry.
const readers = {
  correction(form, button) {
    const body = { corrects: form.get("corrects"), rotations: whole(form.get("rotations")), catches: whole(form.get("catches")), void: button?.value === "void" };
    return [body, String(body.rotations)];
  },
  result(form) {
    const [protocol, seconds] = form.get("test").split(" ");
    const body = {
      protocol, seconds: seconds === "0" ? null : Number(seconds), rotations: whole(form.get("rotations")), catches: whole(form.get("catches") ?? "") ?? 0,
      lost_seconds: decimal(form.get("lost") ?? ""), step: form.get("step"), rope: form.get("rope"), surface: form.get("surface"),
      counted_by: form.get("counted_by"), timing: "hand", adult: form.get("adult") !== null,
    };
    return [body, `${body.rotations} · ${seconds === "0" ? "" : seconds + " s"}`];
  },
  debrief(form) {
    const body = {
      plan: form.get("plan") || undefined, sets: whole(form.get("sets")), bursts: whole(form.get("bursts") ?? ""),
      clean_bursts: whole(form.get("clean_bursts") ?? ""), catches: whole(form.get("catches")), minutes: decimal(form.get("minutes")),
      effort: whole(form.get("effort") ?? ""), pain: whole(form.get("pain") ?? "0") ?? 0, pain_place: form.get("pain_place"),
      pain_signs: form.getAll("pain_signs"), note: form.get("note"), corrects: form.get("corrects") || undefined,
    };
    return [body, ""];
  },
};

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.dataset.keep && !form.dataset.plain) {
    event.preventDefault();
    if (event.submitter?.value === "void" || check(form)) keepForm(form, event.submitter);
  } else if (form.getAttribute("action") === "/sign-out" && !form.dataset.plain) {
    event.preventDefault();
    leave(form);
  }
});

// keepForm keeps what a form holds on this phone. Where the phone cannot keep
// anything, the form is sent as on any page; where it is full, what was typed
// stays in sight.
async function keepForm(form, button) {
  const data = new FormData(form);
  const [body, words] = readers[form.dataset.keep](data, button);
  const holds = form.dataset.keep === "debrief" && (body.pain >= 3 || body.pain_signs.length > 0);
  try {
    await outbox.add(form.dataset.keep, body, words || form.dataset.words, { id: data.get("id") || undefined, holds });
    const fixed = new URLSearchParams(location.search).get("fix");
    if (fixed) await outbox.remove(fixed);
  } catch (fault) {
    if (fault.name === "QuotaExceededError") {
      $("full").hidden = false;
      $("full").scrollIntoView({ block: "center" });
      say($("full").textContent);
      return;
    }
    sendPlainly(form, button);
    return;
  }
  if (holds) await hold();
  location.assign(form.dataset.next);
}

// hold lets nobody start until the gym's computer says otherwise.
async function hold() {
  const ready = await outbox.kept("ready");
  if (ready) await outbox.keep("ready", { ...ready, held: true });
}

function sendPlainly(form, button) {
  form.dataset.plain = "yes";
  form.requestSubmit(button ?? undefined);
}

// suitPain asks where and how only if something hurts.
function suitPain() {
  const form = document.querySelector('form[data-keep="debrief"]');
  if (!form) return;
  const place = form.querySelector("[data-hurts]");
  const show = () => {
    const hurts = form.elements.pain.value !== "0";
    place.hidden = !hurts && !place.querySelector("input:checked");
    form.elements.pain_place.setAttribute("aria-required", !place.hidden);
  };
  form.onchange = show;
  show();
}

// tellSession writes into the form what this phone counted of the session.
async function tellSession() {
  const form = document.querySelector('form[data-keep="debrief"]');
  const session = form && (await outbox.kept("session"));
  if (!session?.totals || form.elements.plan.value && form.elements.plan.value !== session.plan) return;
  form.elements.plan.value = session.plan;
  for (const [name, value] of Object.entries(session.totals)) {
    const field = form.elements[name];
    if (field && value !== null && field.value === "") field.value = value;
  }
}

// fix fills a form with an entry that was refused.
async function fix() {
  const id = new URLSearchParams(location.search).get("fix");
  const form = document.querySelector("form[data-keep]");
  const entry = id && form && (await outbox.all()).mine.find((e) => e.id === id);
  if (!entry) return;
  const body = JSON.parse(entry.body);
  const values = { ...body, lost: body.lost_seconds, test: `${body.protocol} ${body.seconds ?? 0}`, id: "" };
  for (const field of form.elements) {
    const value = values[field.name];
    if (value === undefined || value === null) continue;
    if (field.type === "checkbox") field.checked = value.includes(field.value);
    else if (field.type === "radio") field.checked = String(value) === field.value;
    else field.value = value;
  }
}

// A look is taken as soon as it is chosen, and a page with problems takes the
// focus to what says so.
document.addEventListener("change", (event) => { event.target.closest("form[data-autosubmit]")?.requestSubmit(); });
document.querySelector("[data-focus]")?.focus();

// ---- leaving --------------------------------------------------------------------------

// leave signs out. What waits here stays, for whoever made it.
async function leave(form) {
  const { mine, others } = await outbox.all().catch(() => ({ mine: [], others: 0 }));
  if (mine.length > 0) {
    const dialog = $("leave");
    dialog.querySelector("[data-count]").textContent = mine.length;
    dialog.showModal();
    if ((await choice(dialog)) !== "leave") return;
  }
  for (const name of ["ready", "session", "partner", "me"]) await outbox.forget(name).catch(() => {});
  if (mine.length + others === 0) form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "clear", value: "yes" }));
  sendPlainly(form);
}

function choice(dialog) {
  return new Promise((resolve) => dialog.addEventListener("close", () => resolve(dialog.returnValue), { once: true }));
}

// ---- the program itself on this phone -----------------------------------------------------

async function install() {
  if (!("serviceWorker" in navigator)) return;
  const registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
  navigator.serviceWorker.ready.then(() => outbox.kept("ready")).then(showReady).catch(() => {});
  const offer = () => {
    if (registration.waiting && navigator.serviceWorker.controller && $("update")) $("update").hidden = false;
  };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", offer));
  offer();
  $("update")?.querySelector("button").addEventListener("click", () => {
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    registration.waiting?.postMessage("take over");
  });
}

addEventListener("beforeinstallprompt", (event) => {
  const place = $("install");
  if (!place) return;
  event.preventDefault();
  place.hidden = false;
  place.querySelector("button").addEventListener("click", () => event.prompt(), { once: true });
});

// A page from this phone's own store has the look of the day it was stored.
const root = document.documentElement;
try {
  if (offline) root.dataset.theme = localStorage.getItem("look") ?? root.dataset.theme;
  else localStorage.setItem("look", root.dataset.theme);
} catch {
  // Without storage every page comes from the gym's computer.
}

// Whoever imports this file does not wait for the gym's computer.
async function begin() {
  suitPain();
  install().catch(() => {});
  await settleIn();
  await tellSession();
  await fix();
  suitPain();
}

begin().catch(() => {}); // a phone that keeps nothing shows plain pages

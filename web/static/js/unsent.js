// The entries that wait on this phone: what each is, where it stands, and what
// to do about it.
import * as outbox from "/static/js/outbox.js";

const $ = (id) => document.getElementById(id);
const words = JSON.parse($("unsent").dataset.words);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
const forms = { result: "/me/result", debrief: "/me/debrief" };

function row(entry) {
  const line = $("unsent-row").content.cloneNode(true);
  const refused = entry.state === "refused";
  line.querySelector("[data-what]").textContent = [words[entry.kind] ?? entry.kind, entry.words].filter(Boolean).join(": ");
  line.querySelector("[data-when]").textContent = new Date(entry.at).toLocaleString(document.documentElement.lang, { weekday: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
  line.querySelector("[data-state]").replaceChildren($(refused ? "state-look" : "state-waiting").content.cloneNode(true));
  line.querySelectorAll("[data-brackets]").forEach((number) => number.remove()); // one entry has none
  line.querySelector("[data-why]").textContent = refused ? entry.why : "";
  const fix = line.querySelector("[data-fix]");
  fix.hidden = !refused || !forms[entry.kind];
  fix.href = `${forms[entry.kind]}?fix=${entry.id}`;
  const drop = line.querySelector("[data-drop]");
  drop.hidden = !refused;
  drop.addEventListener("click", () => {
    if (drop.dataset.sure) return outbox.remove(entry.id);
    drop.dataset.sure = "yes";
    drop.textContent = words.sure;
  });
  return line;
}

async function draw() {
  const { mine, others } = await outbox.all();
  $("unsent").replaceChildren(...mine.map(row));
  $("nothing").hidden = mine.length > 0;
  $("send-now").hidden = !mine.some((e) => e.state === "waiting");
  $("others").hidden = others === 0;
  $("others").textContent = fill(others === 1 ? words.other : words.others, { n: others });
  const oldest = mine.find((e) => e.state === "waiting");
  $("old").hidden = !oldest || Date.now() - new Date(oldest.at) < 3 * 24 * 3600e3;
  $("copy").hidden = mine.length === 0;
  $("copy-text").value = mine.map((e) => `${e.at}  ${e.kind}  ${e.words ?? ""}  ${e.body}`).join("\n");
}

outbox.onChange(draw);
$("send-now").addEventListener("click", async () => {
  $("send-now").setAttribute("aria-disabled", "true");
  const how = await outbox.sendNow();
  $("send-now").removeAttribute("aria-disabled");
  document.getElementById("say").textContent = how === "later" ? words.no_signal : "";
  $("no-signal").hidden = how !== "later";
});
await draw();

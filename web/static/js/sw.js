// Lets an athlete's pages open without a signal. It keeps the program and empty
// pages only: names and numbers are kept by the pages, in their own store. It
// never touches what is sent, what streams, or anybody else's pages.
const version = "@version"; // of the program and the empty pages together
const name = "ropewalk " + version;
const patience = 2500; // milliseconds until a slow page counts as none

const files = [
  "/static/css/app.css",
  "/static/js/phone.js",
  "/static/js/outbox.js",
  "/static/js/test.js",
  "/static/js/taps.js",
  "/static/js/session.js",
  "/static/js/cue.js",
  "/static/js/unsent.js",
  "/static/vendor/idb@8.0.4/index.js",
  "/static/vendor/atkinson-hyperlegible-next@5.3.0/atkinson-hyperlegible-next-latin-wght-normal.woff2",
  "/static/vendor/sometype-mono@5.3.0/sometype-mono-latin-wght-normal.woff2",
  "/static/icons/favicon.svg",
];

// pages leads from an address to the empty page that stands in for it.
const pages = {
  "/me": "/offline/today",
  "/me/session": "/offline/session",
  "/me/test": "/offline/test",
  "/me/result": "/offline/result",
  "/me/results": "/offline/results",
  "/me/debrief": "/offline/debrief",
  "/me/rates": "/offline/rates",
  "/me/unsent": "/offline/unsent",
};

addEventListener("install", (event) => event.waitUntil(store()));

async function store() {
  const cache = await caches.open(name);
  await cache.addAll(files);
  await cache.addAll(Object.values(pages).map((page) => new Request(page, { cache: "no-store" })));
}

addEventListener("activate", (event) => event.waitUntil(clean()));

async function clean() {
  for (const other of await caches.keys()) if (other !== name) await caches.delete(other);
  await clients.claim();
}

// A new version waits until a page says that nobody is in the middle of a set.
addEventListener("message", ({ data }) => { if (data === "take over") skipWaiting(); });

// Where the browser tells of a signal, the open pages send.
addEventListener("sync", (event) => event.waitUntil(
  clients.matchAll().then((open) => open.forEach((client) => client.postMessage("send")))));

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(fromStore(request));
  else if (request.mode === "navigate" && (url.pathname === "/me" || url.pathname.startsWith("/me/"))) event.respondWith(page(request, url));
});

async function fromStore(request) {
  return (await (await caches.open(name)).match(request)) ?? fetch(request);
}

// page asks the gym's computer, and opens the empty page where no good answer
// comes in time. A session needs nothing but what this phone has.
async function page(request, url) {
  const stored = await (await caches.open(name)).match(pages[url.pathname] ?? pages["/me"]);
  if (stored && url.pathname === "/me/session") return stored;
  try {
    const answer = await Promise.race([fetch(request), late(stored)]);
    return answer.status >= 500 && stored ? stored : answer;
  } catch {
    return stored ?? Response.error();
  }
}

function late(stored) {
  return new Promise((_, reject) => { if (stored) setTimeout(reject, patience); });
}

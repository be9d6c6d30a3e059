// Keeps the site's own files for times without a network; a new version of the site replaces them all at once.

const KEPT = "gearkit-VERSION";
const FILES = LISTED;
// Notebooks in the browser are kept apart, and only for whoever opens them: they are larger than all lessons together.
const CELLS = "gearkit-cells-CELLS_VERSION";
const CELLS_FILES = CELLS_LISTED;
const ALIVE = "/api/service-worker-heartbeat";

self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting())));

self.addEventListener("activate", (event) => event.waitUntil(caches.keys()
  .then((names) => Promise.all(names.filter((name) => name.startsWith("gearkit-") && name !== KEPT && name !== CELLS).map((name) => caches.delete(name))))
  .then(() => self.clients.claim())));

self.addEventListener("message", (event) => { if (event.data.keep === "own_code") event.waitUntil(keepCells()); });

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !request.url.startsWith(self.registration.scope) || request.url.endsWith(ALIVE)) return;
  // What notebooks ask their worker for is answered by JupyterLite's own, which stands below; everything else here.
  event.stopImmediatePropagation();
  event.respondWith(caches.match(request, { ignoreSearch: true }).then((kept) => kept || fetched(request)));
});

// A page that is in no list, such as somebody's own sheet, is kept when it was seen.
async function fetched(request) {
  const answer = await fetch(request);
  const cells = request.url.startsWith(`${self.registration.scope}own_code/`);
  if (answer.ok) (await caches.open(cells ? CELLS : KEPT)).put(request, answer.clone());
  return answer;
}

async function keepCells() {
  const kept = await caches.open(CELLS);
  const there = new Set((await kept.keys()).map(({ url }) => url.split("?")[0]));
  const missing = CELLS_FILES.filter((name) => !there.has(new URL(name, self.registration.scope).href));
  // A few at a time, so that what the page itself asks for does not wait behind them.
  while (missing.length) await kept.addAll(missing.splice(0, 8));
}

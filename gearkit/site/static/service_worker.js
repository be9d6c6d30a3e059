// Keeps the site's own files for times without a network; a new version of the site replaces them all at once.

const KEPT = "gearkit-VERSION";
const FILES = LISTED;

self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting())));

self.addEventListener("activate", (event) => event.waitUntil(caches.keys()
  .then((names) => Promise.all(names.filter((name) => name.startsWith("gearkit-") && name !== KEPT).map((name) => caches.delete(name))))
  .then(() => self.clients.claim())));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !request.url.startsWith(self.registration.scope)) return;
  event.respondWith(caches.match(request, { ignoreSearch: true }).then((kept) => kept || fetched(request)));
});

// A page that is in no list, such as somebody's own sheet, is kept when it was seen.
async function fetched(request) {
  const answer = await fetch(request);
  if (answer.ok) (await caches.open(KEPT)).put(request, answer.clone());
  return answer;
}

/* The floor page's worker: it keeps the page's own files, and nothing else, in a cache that carries their version. The view in front of
   this puts in FILES, VERSION and, where the browser takes modules here, wake(). */
/* global FILES, VERSION, wake */

const MINE = "selvedge-floor-";
const CACHE = MINE + VERSION;

self.addEventListener("install", (event) => {
  const fresh = FILES.map((path) => new Request(path, { cache: "reload", credentials: "omit" }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = caches.keys().then((names) => Promise.all(names.filter((n) => n.startsWith(MINE) && n !== CACHE).map((n) => caches.delete(n))));
  event.waitUntil(old.then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || !FILES.includes(url.pathname)) return;
  event.respondWith(caches.open(CACHE).then((cache) => cache.match(url.pathname)).then((kept) => kept ?? fetch(request)));
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "floor-send") return;
  event.waitUntil(
    self.clients.matchAll({ type: "window" }).then((pages) => {
      if (pages.length) for (const page of pages) page.postMessage("send");
      else return wake();
    }),
  );
});

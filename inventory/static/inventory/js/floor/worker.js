/* The floor page's worker: it keeps the page's own files, and nothing else, in a cache that carries their version. The view in front of
   this puts in FILES, VERSION, LATE (what reads codes: a megabyte, kept when the page stands) and, where the browser takes modules
   here, wake(). */
/* global FILES, LATE, VERSION, wake */

const MINE = "selvedge-floor-";
const CACHE = MINE + VERSION;

self.addEventListener("install", (event) => {
  const fresh = FILES.map((path) => new Request(path, { cache: "reload", credentials: "omit" }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh).then(() => handOn(cache))).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = caches.keys().then((names) => Promise.all(names.filter((n) => n.startsWith(MINE) && n !== CACHE).map((n) => caches.delete(n))));
  event.waitUntil(old.then(() => self.clients.claim()));
  keepLate(); // nothing waits for it
});

/** What an older version has kept and this one wants, under its name, which carries its content: a new page fetches no megabyte again. */
async function handOn(cache) {
  for (const path of LATE) {
    const kept = await caches.match(path);
    if (kept) await cache.put(path, kept);
  }
}

let keeping = null;

/** What is not kept yet, one round at a time; whatever fails is tried again when the page is next opened. */
function keepLate() {
  const work = async (cache) => {
    for (const path of LATE) if (!(await cache.match(path))) await cache.add(path);
  };
  keeping ??= caches.open(CACHE).then(work).catch(() => {}).finally(() => (keeping = null));
  return keeping;
}

self.addEventListener("message", (event) => event.data === "keep" && event.waitUntil(keepLate()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || ![...FILES, ...LATE].includes(url.pathname)) return;
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

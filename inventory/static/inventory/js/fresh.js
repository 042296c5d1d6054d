/* A page that keeps itself fresh, for a screen that nobody touches: it asks for itself again and takes over what is new. When no answer
   comes it says so, since old times that look new are worse than none. Without script the page is loaded again as a whole. */

const SLOWEST_MS = 60_000;
const PATIENCE_MS = 15_000; // an answer that takes longer is none

/** How long to wait before asking again: longer after each failure, but never so long that a mended line goes unnoticed. */
export function pause(everyMs, failures) {
  return Math.max(everyMs, Math.min(everyMs * 2 ** failures, SLOWEST_MS));
}

/** Whether what stands there is too old to pass for the present: two rounds were missed. */
export function isOld(heardMs, nowMs, everyMs) {
  return nowMs - heardMs >= 3 * everyMs;
}

/** Whether the answer is this page once more, so that its middle can be taken; anything else (a sign-in, a new version with other
    styles) is for the browser to load as a whole. `sheets`: the addresses of a page's styles. */
export function takes(answer, here, found, mine) {
  return !answer.redirected && answer.url === here && found.main && found.sheets.join() === mine.join();
}

const sheetsOf = (doc) => [...doc.querySelectorAll('link[rel="stylesheet"]')].map((link) => link.getAttribute("href"));

function take(doc, other) {
  const [old, fresh] = [doc.querySelector("main"), other.querySelector("main")];
  const focused = old.contains(doc.activeElement) ? doc.activeElement.getAttribute("href") : null;
  old.replaceChildren(...fresh.childNodes);
  doc.documentElement.dataset.nowUs = other.documentElement.dataset.nowUs;
  if (focused) old.querySelector(`a[href="${CSS.escape(focused)}"]`)?.focus();
}

/** One question. True: answered, and taken. */
async function ask(doc, win) {
  const here = win.location.href.split("#")[0];
  const answer = await win.fetch(here, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
  if (!answer.ok) return false;
  const other = new DOMParser().parseFromString(await answer.text(), "text/html");
  const found = { main: Boolean(other.querySelector("main[data-fresh-s]")), sheets: sheetsOf(other) };
  if (takes(answer, here, found, sheetsOf(doc))) take(doc, other);
  else win.location.reload();
  return true;
}

function start(doc, win) {
  const everyMs = Number(doc.querySelector("main[data-fresh-s]")?.dataset.freshS) * 1000;
  if (!(everyMs > 0)) return;
  let [heard, failures, timer, asking] = [Date.now(), 0, 0, false];
  const round = async () => {
    if (asking) return;
    asking = true;
    clearTimeout(timer);
    const well = await ask(doc, win).catch(() => false);
    asking = false;
    failures = well ? 0 : failures + 1;
    if (well) heard = Date.now();
    care();
    timer = setTimeout(round, pause(everyMs, failures));
  };
  const care = () => {
    const spot = doc.querySelector("[data-fresh-care]");
    const text = isOld(heard, Date.now(), everyMs) ? spot.dataset.old : "";
    if (spot.textContent !== text) spot.textContent = text;
  };
  timer = setTimeout(round, everyMs);
  setInterval(care, 1000);
  doc.addEventListener("visibilitychange", () => doc.visibilityState === "visible" && round());
  win.addEventListener("online", round);
}

if (typeof document !== "undefined") start(document, window);

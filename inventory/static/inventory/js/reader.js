/* The service's own reader of codes, in a worker of this browser: also without a network, once it is kept here. */
import { frameDots, photoDots } from "./picture.js";

const ADDRESS = "/floor/reader.js"; // under the floor page, whose worker keeps it
const START_MS = 15_000; // a megabyte, the first time
const PATIENCE_MS = 5_000;
let kept = null;

/** Send dots to a worker that is ready, get texts. Rejects when it ends, fails, or says nothing in time. */
export function talk(worker, patience = PATIENCE_MS) {
  const waiting = new Map();
  let count = 0;
  worker.addEventListener("message", ({ data }) => {
    waiting.get(data.id)?.(data.texts);
    waiting.delete(data.id);
  });
  return (dots) =>
    new Promise((resolve, reject) => {
      const id = (count += 1);
      const late = setTimeout(() => waiting.delete(id) && reject(new Error("late")), patience);
      waiting.set(id, (texts) => {
        clearTimeout(late);
        if (texts) resolve({ found: texts.map((rawValue) => ({ rawValue })) });
        else reject(new Error("failed"));
      });
      worker.postMessage({ id, dots });
    });
}

/** A worker that says it is ready, else null: the set-up could not bring the reader, or this browser cannot run it. */
export function ready(worker, patience = START_MS) {
  return new Promise((resolve) => {
    const end = (well) => {
      clearTimeout(late);
      if (!well) worker.terminate();
      resolve(well ? worker : null);
    };
    const late = setTimeout(end, patience, false);
    worker.addEventListener("message", ({ data }) => "ready" in data && end(data.ready));
    worker.addEventListener("error", () => end(false));
  });
}

/** The reader, one a page, or null. */
export function brought(doc, win) {
  kept ??= start(doc, win).catch(() => null).then((reader) => reader ?? (kept = null));
  return kept;
}

async function start(doc, win) {
  const worker = await ready(new win.Worker(ADDRESS));
  if (!worker) return null;
  const ask = talk(worker);
  return { frame: async (video) => ask(frameDots(doc, video)), photo: async (file) => ask(await photoDots(doc, win, file)) };
}

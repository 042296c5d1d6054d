/* The way to the service and back: who is signed in, the list by difference, the queue in order. Used by the page, and by the worker
   when the browser wakes it. Whoever sends holds a lock, so that two tabs do not send at once; if they did, each scan would count once
   all the same, by its key. */
import { inWords } from "../say.js";
import * as queue from "./queue.js";
import { merge } from "./shelf.js";
import * as store from "./store.js";

const LEASE_MS = 30_000;
const PATIENCE_MS = 20_000;
const PAGES = 60;

export class Away extends Error {} // no network, or no answer
export class SignedOut extends Error {}

async function ask(path, options = {}) {
  let response;
  try {
    response = await fetch(path, { credentials: "same-origin", cache: "no-store", redirect: "manual", signal: AbortSignal.timeout(PATIENCE_MS), ...options });
  } catch {
    throw new Away("no network");
  }
  if (response.type === "opaqueredirect" || response.status === 401) throw new SignedOut("nobody is signed in");
  if (response.status >= 500 || response.status === 429) throw new Away(`the service answers ${response.status}`);
  return response;
}

async function json(response) {
  try {
    return await response.json();
  } catch {
    throw new Away("the answer was cut off");
  }
}

/** {person, signed_in, site, csrf, word, now_ms}; with a badge's code: who it is from now on. null: the badge is not known. */
export async function who(device, code = null, csrf = "") {
  const path = `/floor/who/?tablet=${encodeURIComponent(device)}`;
  const post = { method: "POST", headers: { "Content-Type": "application/x-www-form-urlencoded", "X-CSRFToken": csrf }, body: new URLSearchParams({ code }) };
  const response = await ask(path, code === null ? {} : post);
  if (response.status === 422) return null;
  if (!response.ok) throw new SignedOut(`the service answers ${response.status}`);
  return json(response);
}

/** Bring the list up to date. Calls `told(change)` for every page once it is on the disk. Resolves with the service's clock less ours. */
export async function sync(db, told) {
  let skew = 0;
  for (let n = 0; n < PAGES; n += 1) {
    const meta = await store.get(db, "meta", "list");
    const began = Date.now();
    const headers = meta?.etag ? { "If-None-Match": meta.etag } : {};
    const response = await ask(`/api/shelf/?since=${encodeURIComponent(meta?.cursor ?? "")}`, { headers });
    const ended = Date.now();
    const server = Number(response.headers.get("Selvedge-Now"));
    if (server) skew = Math.round(server - (began + ended) / 2);
    const nothing = { cursor: meta?.cursor, more: false, begin: false, things: [], parts: [], gone: [] };
    if (response.status === 400 && meta?.cursor) {
      await store.put(db, "meta", { ...meta, cursor: "", etag: "" }, "list");
      continue;
    }
    if (response.status !== 304 && !response.ok) throw new Away(`the service answers ${response.status}`);
    const page = response.status === 304 ? nothing : await json(response);
    const change = merge(meta, page, server || ended, response.headers.get("ETag") ?? "");
    await store.keep(db, change, began);
    told?.(change);
    if (!page.more) break;
  }
  await store.put(db, "meta", skew, "skew");
  return skew;
}

/** Send what waits, batch after batch. Resolves with {sent}; throws Away or SignedOut, with nothing lost. */
export async function drain(db, me, told) {
  let sent = 0;
  const stuck = new Set();
  for (;;) {
    const words = Object.fromEntries((await store.all(db, "people")).map((p) => [p.id, p.word]));
    const { batch, more } = await store.takeOut(db, (entries) => queue.nextBatch(entries.filter((e) => !stuck.has(e.seq)), me.site));
    if (!batch.length) return { sent };
    const results = await post(batch, more, me, words);
    for (const e of batch) if (!results.some((r) => r.key === e.key)) stuck.add(e.seq);
    const heard = Date.now();
    const settled = queue.settle(batch, results).map((change) => ({ ...change, heard }));
    await store.change(db, settled, (now) => now.state === queue.WAITING);
    sent += settled.length;
    told?.(settled);
  }
}

async function post(batch, more, me, words) {
  const said = queue.body(batch, more, me.device, Date.now(), words, me.person.id);
  const headers = { "Content-Type": "application/json", "X-CSRFToken": me.csrf };
  const response = await ask("/api/replay/", { method: "POST", headers, body: JSON.stringify(said) });
  if (response.ok) return (await json(response)).results;
  if (response.status === 403) throw new SignedOut("the sign-in has changed");
  if (batch.length > 1) {
    // something in it is not understood: one by one, so that it holds up nothing else
    const results = [];
    for (const [n, entry] of batch.entries()) results.push(...(await post([entry], more || n < batch.length - 1, me, words)));
    return results;
  }
  const problem = await json(response);
  const text = problem.title ?? inWords("The service answers {status}.", { status: response.status });
  const why = { code: problem.code ?? "not_understood", text, numbers: {} };
  return [{ key: batch[0].key, result: "parked", moved: false, text, reasons: [why], acts: [], happened_at: null, recorded_at: null }];
}

/** Take back something that was sent, by its record. Resolves with "" or the reason why not. */
export async function undo(me, entry, key) {
  const headers = { "Content-Type": "application/json", "X-CSRFToken": me.csrf, "Idempotency-Key": key };
  const response = await ask("/api/verbs/undo/", { method: "POST", headers, body: JSON.stringify({ record: entry.result.acts[0] }) });
  if (response.ok) return "";
  return (await json(response)).title ?? inWords("It cannot be taken back here: ask quality to void it.");
}

/** Run `work` unless another tab is at it. Without the browser's locks: a lease in the store, which ends by itself. */
export async function alone(db, work, locks = globalThis.navigator?.locks) {
  if (locks) return locks.request("selvedge-floor-send", { ifAvailable: true }, (lock) => (lock ? work() : null));
  const now = Date.now();
  const mine = await store.within(db, ["meta"], "readwrite", async ({ meta }) => {
    const lease = await store.promised(meta.get("lease"));
    if (lease && lease > now && lease < now + 2 * LEASE_MS) return false;
    meta.put(now + LEASE_MS, "lease");
    return true;
  });
  if (!mine) return null;
  try {
    return await work();
  } finally {
    await store.put(db, "meta", 0, "lease");
  }
}

export function signOut(csrf) {
  return ask("/sign-out/", { method: "POST", headers: { "X-CSRFToken": csrf } });
}

/** What the worker does when the browser wakes it and no page is open. */
export async function woken() {
  const db = await store.open();
  const device = await store.get(db, "meta", "device");
  if (!device || (await store.get(db, "meta", "leaving"))) return null;
  return alone(db, async () => {
    const me = await who(device);
    await drain(db, { ...me, device });
    await sync(db);
  });
}

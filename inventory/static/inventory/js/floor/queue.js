/* What was noted here and how it goes out: in order, each once, nothing dropped. Pure: storing and sending stand elsewhere. */

export const UNDO_MS = 60_000;
export const BATCH = 100;
export const KEPT_MS = 7 * 24 * 3_600_000;

export const WAITING = "waiting";
export const STRUCK = "struck";
export const ACCEPTED = "accepted";
export const QUALITY = "quality";
export const REFUSED = "refused";

/** The device's instant for an entry: later than that of the one before, also if the clock was put back a little since. One that was
    put back by more than a minute is told as it reads. */
export function stamp(at, last) {
  const next = (last ?? 0) + 1;
  return at < next && next - at <= 60_000 ? next : at;
}

/** An entry to be stored. `effect` is what it does to the list, with its instant by the service's clock. */
export function made({ key, site, person, verb, params, words, effect, against, at, last }) {
  return { key, site, person, verb, params, words, effect, against, at: stamp(at, last), state: WAITING, result: null, folded: false };
}

/** Those that are to be sent now for a site, in order of their numbers, at most a batch; and whether more follow. */
export function nextBatch(entries, site, size = BATCH) {
  const all = entries.filter((e) => e.state === WAITING && e.site === site).sort((a, b) => a.seq - b.seq);
  return { batch: all.slice(0, size), more: all.length > size };
}

/** The body of a sending. `passes`: the word of the service for each person, by id; the caller needs none. */
export function body(batch, more, device, sentAt, passes, caller) {
  const records = batch.map((e) => ({
    key: e.key,
    verb: e.verb,
    happened_at: new Date(e.at).toISOString(),
    seq: e.seq,
    params: e.params,
    ...(e.person.id !== caller ? { by: passes[e.person.id] || "no word" } : {}), // never empty: that would mean the caller
  }));
  return { device, sent_at: new Date(sentAt).toISOString(), records, more };
}

/** What an answer makes of an entry: {seq, state, result}. */
export function answered(entry, result) {
  const state = result.result === "parked" ? REFUSED : result.reasons.length ? QUALITY : ACCEPTED;
  const { text, reasons, acts, moved } = result;
  return { seq: entry.seq, state, result: { text, reasons, acts, moved, happened: result.happened_at, recorded: result.recorded_at } };
}

/** Match answers to entries by key; entries without an answer stay as they are. */
export function settle(batch, results) {
  const byKey = new Map(results.map((r) => [r.key, r]));
  return batch.filter((e) => byKey.has(e.key)).map((e) => answered(e, byKey.get(e.key)));
}

/** How an entry can be taken back now: "strike" (never sent), "later" (it may have arrived: as soon as its answer is here), "void" (by
    the service), "ask" (quality), or "". */
export function undoWay(entry, now) {
  if (entry.state === STRUCK || entry.state === REFUSED || entry.undone || entry.takeBack) return "";
  if (now - entry.at > UNDO_MS) return "ask";
  if (entry.state !== WAITING) return "void";
  return entry.tried ? "later" : "strike";
}

/** Those whose answer has come and that were to be taken back. */
export function toTakeBack(entries) {
  return entries.filter((e) => e.takeBack && !e.undone && !e.given && (e.state === ACCEPTED || e.state === QUALITY));
}

/** Those that were refused only since nobody could vouch for this person: once they show a badge or sign in, they are sent again. */
export function unproved(entries, person) {
  return entries.filter((e) => e.state === REFUSED && e.person.id === person && e.result?.reasons?.some((r) => r.code === "pass.unknown"));
}

/** What the list does not know yet: of entries that wait, and of those that were taken since it was fetched. */
export function effects(entries) {
  return entries
    .filter((e) => !e.undone && !e.takeBack)
    .filter((e) => e.state === WAITING || ((e.state === ACCEPTED || e.state === QUALITY) && !e.folded))
    .sort((a, b) => a.seq - b.seq)
    .map((e) => e.effect);
}

/** Entries that may go from the tablet: done with, and a week old. What waits or was refused stays until somebody clears it. */
export function stale(entries, now) {
  return entries.filter((e) => [ACCEPTED, QUALITY, STRUCK].includes(e.state) && now - e.at > KEPT_MS);
}

/** The wait before the next try: 2 s, doubled up to 2 min, with up to a quarter more by chance. */
export function backoff(failures, chance = 0) {
  return Math.min(2_000 * 2 ** Math.max(0, failures - 1), 120_000) * (1 + chance / 4);
}

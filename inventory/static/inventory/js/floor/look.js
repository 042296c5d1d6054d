/* The answer to a scan, from the tablet's own list: judged in one go, with every reason, and what a scan can be noted as: the verb and its
   words, what it does to the list, and a sentence for the tablet. Pure. */
import { inWords } from "../say.js";
import { after, filledAfter } from "./predict.js";
import { againstPlace, wouldTake } from "./putaway.js";
import { effects } from "./queue.js";
import { nameOf } from "./shelf.js";
import { againstLaying, againstUse, chosen, linesFor, proposed, thaw, toKnow } from "./verdict.js";
import { amount, exact, when } from "./words.js";

/** What is judged: the row as it is after what was noted, the part, which lines, how much. */
export function judged(state, row, typedQty = null) {
  const { list, entries } = state;
  const now = state.now();
  const done = effects(entries);
  const thing = after(row, done, list.meta.shared);
  const part = state.part ? list.parts.get(state.part) : null;
  if (!part) return { thing, part: null, wanted: [], qty: null, reasons: againstUse(thing, null, list, now), know: toKnow(thing, list, now) };
  const filled = filledAfter(part, done);
  const wanted = chosen(thing, linesFor(thing, part, filled, list.meta.shared));
  const qty = typedQty ?? proposed(thing, wanted);
  return { thing, part, wanted, qty, reasons: againstLaying(thing, part, list, now, filled, wanted, qty), know: toKnow(thing, list, now) };
}

/** "0.85 m of T-2 into ply 8 of RUD-073", or "T-2" without a part. */
export function titleOf({ thing, part, wanted, qty }) {
  if (!part) return nameOf(thing);
  const much = qty !== null && thing.unit ? inWords("{amount} of ", { amount: amount(qty, thing.unit) }) : "";
  return inWords("{much}{thing} into {into}{number}", { much, thing: nameOf(thing), into: into(wanted, thing), number: part.number });
}

/** What the thing will be like after it: "T-2: 22.90 m left (stock as of 08:32)". */
export function leftOf({ thing, qty }, state) {
  const left = amount(Math.max(thing.qty - (qty ?? 0), 0), thing.unit);
  return inWords("{thing}: {left} left (stock as of {when})", { thing: nameOf(thing), left, when: when(state.list.meta.asOf, state.now(), state.list.meta.site.zone) });
}

/** A thing that nobody has recorded yet, with one of our own labels. */
export function unseen(code) {
  return { code, kind: "unseen", qty: 0, unit: "", lives: [], against: [] };
}

export function deedOf(found, dry) {
  return laying(found.thing, found.part, found.wanted, found.qty, dry);
}

/** Must somebody look at the bag first? Only once its thaw is over: before that the answer could still change. */
export function bagAsked({ thing }, state) {
  return Boolean(thing.bag) && thaw(thing, state.now(), state.list.meta.shared).ready;
}

/** Putting it somewhere: {thing, reasons, deed, better}. `deed` null: there is nothing to note; `better`: places that would take it. */
export function moveOf(state, row, place) {
  const { list } = state;
  const done = effects(state.entries);
  const thing = after(row, done, list.meta.shared);
  const none = againstMoving(thing, place, list.meta.shared);
  if (none.length) return { thing, reasons: none, deed: null, better: [] };
  const reasons = againstPlace(thing, place, list, done);
  return { thing, reasons, deed: moving(thing, place, list.meta.shared), better: reasons.length ? wouldTake(thing, list, done) : [] };
}

/** The code of a place as the list spells it. */
export function placeOf(state, text) {
  return Object.keys(state.list.meta.shared.places).find((code) => code.toLowerCase() === text.toLowerCase()) ?? text;
}

export function laying(row, part, wanted, qty, dry) {
  const seqs = wanted.map((line) => line.seq);
  const params = { item: row.code, part: part.number };
  if (seqs.length && row.kind !== "mix") params.plies = seqs;
  if (qty !== null && row.unit === "um" && row.kind !== "kit") params.qty = exact(qty);
  if (dry) params.dry = true;
  return {
    verb: "lay",
    params,
    words: titleOf({ thing: row, part, wanted, qty }),
    effect: { item: row.code, qty: qty ?? 0, part: part.code, lines: seqs, dry: Boolean(dry) },
  };
}

export function into(wanted, row) {
  if (!wanted.length || row.kind === "mix") return "";
  const plies = wanted.filter((line) => line.name.startsWith("ply ")).map((line) => line.seq);
  if (plies.length !== wanted.length) return inWords("{names} of ", { names: wanted.map((line) => line.name).join(", ") });
  if (plies.length === 1) return inWords("ply {ply} of ", { ply: plies[0] });
  return inWords("plies {first}–{last} of ", { first: plies[0], last: plies.at(-1) });
}

export function moving(row, place, shared) {
  const name = shared.places[place]?.[0] ?? place;
  return { verb: "move", params: { item: row.code, place }, words: inWords("{thing} to {name}", { thing: nameOf(row), name }), effect: { item: row.code, place } };
}

/** Why it cannot be noted as put there. */
export function againstMoving(row, place, shared) {
  if (!shared.places[place]) return [{ code: "place.unknown", text: inWords("{place} is not on this tablet's list of places: scan the place's own label.", { place }) }];
  if (row.place === place) return [{ code: "already", text: inWords("{thing} is in {place} already.", { thing: nameOf(row), place: shared.places[place][0] }) }];
  return [];
}

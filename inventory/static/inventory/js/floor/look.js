/* The answer to a scan, from the tablet's own list: judged in one go, with every reason and what can be noted. Pure but for `acts`. */
import { inWords } from "../say.js";
import { againstMoving, into, laying, moving } from "./deeds.js";
import { after, filledAfter } from "./predict.js";
import { againstPlace, wouldTake } from "./putaway.js";
import { effects } from "./queue.js";
import { nameOf } from "./shelf.js";
import { againstLaying, againstUse, chosen, linesFor, proposed, thaw, toKnow } from "./verdict.js";
import { amount, when } from "./words.js";

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
  return inWords("{qty}{thing} into {into}{number}", { qty: qty !== null ? inWords("{amount} of ", { amount: amount(qty, thing.unit) }) : "", thing: nameOf(thing), into: into(wanted, thing), number: part.number });
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

/* What a scan can be noted as: the verb and its words, what it does to the list, and a sentence for the tablet. */
import { inWords } from "../say.js";
import { nameOf } from "./shelf.js";
import { amount, exact } from "./words.js";

export function laying(row, part, wanted, qty, dry) {
  const seqs = wanted.map((line) => line.seq);
  const params = { item: row.code, part: part.number };
  if (seqs.length && row.kind !== "mix") params.plies = seqs;
  if (qty !== null && row.unit === "um" && row.kind !== "kit") params.qty = exact(qty);
  if (dry) params.dry = true;
  const much = qty !== null && row.unit ? inWords("{amount} of ", { amount: amount(qty, row.unit) }) : "";
  return {
    verb: "lay",
    params,
    words: inWords("{much}{thing} into {into}{number}", { much, thing: nameOf(row), into: into(wanted, row), number: part.number }),
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

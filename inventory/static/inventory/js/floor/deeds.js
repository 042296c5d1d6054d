/* What a scan can be noted as: the verb and its words, what it does to the list, and a sentence for the tablet. */
import { nameOf } from "./shelf.js";
import { amount, exact } from "./words.js";

export function laying(row, part, wanted, qty, dry) {
  const seqs = wanted.map((line) => line.seq);
  const params = { item: row.code, part: part.number };
  if (seqs.length && row.kind !== "mix") params.plies = seqs;
  if (qty !== null && row.unit === "um" && row.kind !== "kit") params.qty = exact(qty);
  if (dry) params.dry = true;
  const much = qty !== null && row.unit ? `${amount(qty, row.unit)} of ` : "";
  return {
    verb: "lay",
    params,
    words: `${much}${nameOf(row)} into ${into(wanted, row)}${part.number}`,
    effect: { item: row.code, qty: qty ?? 0, part: part.code, lines: seqs, dry: Boolean(dry) },
  };
}

export function into(wanted, row) {
  if (!wanted.length || row.kind === "mix") return "";
  const plies = wanted.filter((line) => line.name.startsWith("ply ")).map((line) => line.seq);
  if (plies.length !== wanted.length) return `${wanted.map((line) => line.name).join(", ")} of `;
  if (plies.length === 1) return `ply ${plies[0]} of `;
  return `plies ${plies[0]}–${plies.at(-1)} of `;
}

export function moving(row, place, shared) {
  const name = shared.places[place]?.[0] ?? place;
  return { verb: "move", params: { item: row.code, place }, words: `${nameOf(row)} to ${name}`, effect: { item: row.code, place } };
}

/** Why it cannot be noted as put there. */
export function againstMoving(row, place, shared) {
  if (!shared.places[place]) return [{ code: "place.unknown", text: `${place} is not on this tablet's list of places: scan the place's own label.` }];
  if (row.place === place) return [{ code: "already", text: `${nameOf(row)} is in ${shared.places[place][0]} already.` }];
  return [];
}

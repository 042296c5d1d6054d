/* The list that the tablet takes along, and how answers of the service change it. A list is {meta, things, parts, gone}: maps by
   code; `meta` is {cursor, etag, asOf, site, shared, round}. */
import { folded } from "./codes.js";

export function empty() {
  return { meta: null, things: new Map(), parts: new Map(), gone: new Map() };
}

/**
 * What an answer changes, to be written in one transaction with its cursor: {meta, put, drop, sweep}. Rows carry the round of the list
 * that they belong to. A new list (`begin`) is a new round; the rows of the old one stay until the last page of the new one is
 * there (`sweep`), so that a tablet that loses its network between two pages still has a whole list.
 */
export function merge(meta, page, at, etag = "") {
  const round = page.begin ? (meta?.round ?? 0) + 1 : (meta?.round ?? 1);
  const whole = !page.more;
  const rest = page.begin ? { shared: page.shared, site: page.site } : { shared: meta?.shared, site: meta?.site };
  const put = [];
  for (const row of page.things) put.push({ ...row, is: "thing", round });
  for (const row of page.parts) put.push({ ...row, is: "part", round });
  for (const [code, mark, word] of page.gone) put.push({ code, mark, word, is: "gone", round, at });
  const asOf = whole ? at : (meta?.asOf ?? null);
  return { meta: { ...rest, cursor: page.cursor, etag: whole ? etag : "", asOf, round, whole }, put, sweep: whole ? round : null };
}

/** Bring rows into the list in memory. */
export function apply(list, change) {
  list.meta = change.meta;
  for (const row of change.put) {
    for (const map of [list.things, list.parts, list.gone]) map.delete(row.code);
    ({ thing: list.things, part: list.parts, gone: list.gone })[row.is].set(row.code, row);
  }
  if (change.sweep !== null) {
    for (const map of [list.things, list.parts, list.gone]) for (const [code, row] of map) if (row.round !== change.sweep) map.delete(code);
  }
  list.names = null;
  return list;
}

function names(list) {
  if (list.names) return list.names;
  const found = new Map();
  for (const [is, map] of [["gone", list.gone], ["part", list.parts], ["thing", list.things]]) {
    for (const row of map.values()) {
      for (const name of [row.code, row.mark, row.number, ...(row.also ?? [])]) if (name) found.set(folded(name), { is, row });
    }
  }
  for (const code of Object.keys(list.meta?.shared?.places ?? {})) if (!found.has(folded(code))) found.set(folded(code), { is: "place", row: { code } });
  list.names = found;
  return found;
}

/** What a scan leads to: {is: thing, part, gone, place, person, unseen or nothing, row, text}. */
export function find(list, scan) {
  if (scan.on === "person") return { is: "person", row: null, text: scan.text };
  const hit = names(list).get(folded(scan.code ?? scan.text)) ?? names(list).get(folded(scan.text));
  if (hit) return { ...hit, text: scan.text };
  return { is: scan.on === "thing" ? "unseen" : "nothing", row: null, text: scan.text };
}

export function nameOf(row) {
  return row.mark || row.number || row.code;
}

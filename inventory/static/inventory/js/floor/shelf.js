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
  const anew = page.begin || meta?.whole === false; // only a list that was begun leaves rows of an older one behind
  const rest = page.begin ? { shared: page.shared, site: page.site } : { shared: meta?.shared, site: meta?.site };
  const put = [];
  for (const row of page.things) put.push({ ...row, is: "thing", round });
  for (const row of page.parts) put.push({ ...row, is: "part", round });
  for (const [code, mark, word] of page.gone) put.push({ code, mark, word, is: "gone", round, at });
  const asOf = whole ? at : (meta?.asOf ?? null);
  return { meta: { ...rest, cursor: page.cursor, etag: whole ? etag : "", asOf, round, whole }, put, sweep: whole && anew ? round : null };
}

const MAPS = { gone: "gone", part: "parts", thing: "things" }; // the later ones go before
const RANK = Object.keys(MAPS);
const PATCHED = 200; // changed rows, up to which the names are kept right row by row instead of being gathered anew

/** Bring rows into the list in memory. */
export function apply(list, change) {
  if (change.put.length > PATCHED || change.sweep !== null || !change.meta?.whole) list.names = null;
  list.meta = change.meta;
  for (const row of change.put) {
    for (const map of RANK.map((is) => list[MAPS[is]])) {
      if (list.names && map.has(row.code)) unname(list.names, map.get(row.code));
      map.delete(row.code);
    }
    list[MAPS[row.is]].set(row.code, row);
    if (list.names) name(list.names, { is: row.is, row });
  }
  if (change.sweep !== null) {
    for (const map of [list.things, list.parts, list.gone]) for (const [code, row] of map) if (row.round !== change.sweep) map.delete(code);
  }
  return list;
}

function spelled(row) {
  return [row.code, row.mark, row.number, ...(row.also ?? [])].filter(Boolean).map(folded);
}

function name(names, hit) {
  for (const text of spelled(hit.row)) names.set(text, [...(names.get(text) ?? []), hit]);
}

function unname(names, row) {
  for (const text of spelled(row)) names.set(text, (names.get(text) ?? []).filter((hit) => hit.row !== row));
}

function gathered(list) {
  const names = new Map();
  for (const code of Object.keys(list.meta?.shared?.places ?? {})) names.set(folded(code), [{ is: "place", row: { code } }]);
  for (const is of RANK) for (const row of list[MAPS[is]].values()) name(names, { is, row });
  return names;
}

/** Gather the names when a list has come, so that no scan waits for it. */
export function prepare(list) {
  list.names ??= gathered(list);
}

/** Of several with one name the newest of the highest rank. */
function named(list, text) {
  const hits = list.names.get(folded(text)) ?? [];
  return hits.reduce((best, hit) => (!best || RANK.indexOf(hit.is) >= RANK.indexOf(best.is) ? hit : best), null);
}

/** What a scan leads to: {is: thing, part, gone, place, person, unseen or nothing, row, text}. */
export function find(list, scan) {
  if (scan.on === "person") return { is: "person", row: null, text: scan.text };
  prepare(list);
  const hit = named(list, scan.code ?? scan.text) ?? named(list, scan.text);
  if (hit) return { ...hit, text: scan.text };
  return { is: scan.on === "thing" ? "unseen" : "nothing", row: null, text: scan.text };
}

export function nameOf(row) {
  return row.mark || row.number || row.code;
}

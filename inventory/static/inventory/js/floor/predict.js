/* What a thing is like after what was noted on this tablet and is not in the list yet. */

const FROZEN_MC = 0; // a band that ends at or below this keeps things frozen; leaving it starts a thaw

/** The upper end of a place's band; a place of unknown temperature counts as the hottest. */
export function ceiling(shared, place) {
  const row = shared.places[place];
  return row ? (row[2] ?? Infinity) : Infinity;
}

/** Move a row to a place at an instant: what runs stands still in the cold, and what stood still runs on in the warm. */
export function moved(row, place, at, shared) {
  const high = ceiling(shared, place);
  const cold = high <= FROZEN_MC;
  const lives = (row.lives ?? []).map(([number, ends = null, left = null, why = ""]) => {
    const [, clock, , threshold] = shared.limits[number] ?? [];
    if (clock !== "above" || why) return [number, ends, left, why];
    const over = ends !== null && ends <= at;
    if (over) return [number, ends, left, why];
    const rest = ends !== null ? ends - at : left;
    return high > threshold ? [number, at + rest, null, why] : [number, null, rest, why];
  });
  const thawing = row.frozen && !cold;
  return { ...row, place, lives, frozen: cold, warm_ms: cold ? null : thawing ? at : row.warm_ms, bag: cold ? false : thawing || row.bag };
}

/** The rows of a thing, and the lines of a part, after some effects in their order. */
export function after(row, effects, shared) {
  let now = row;
  for (const e of effects) {
    if (e.item !== row.code) continue;
    if (e.place) now = moved(now, e.place, e.at, shared);
    if (e.qty) now = { ...now, qty: now.qty - e.qty };
    if (e.dry) now = { ...now, bag: false };
  }
  return now;
}

export function filledAfter(part, effects) {
  const more = effects.filter((e) => e.part === part.code).flatMap((e) => e.lines ?? []);
  return new Set([...(part.filled ?? []), ...more]);
}

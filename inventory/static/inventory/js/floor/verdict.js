/* May it be used, by what this tablet knows? Every reason is told. The service judges again when it hears of it. */
import { inWords } from "../say.js";
import { ceiling } from "./predict.js";
import { nameOf } from "./shelf.js";
import { amount, clock, day, dayClock, duration, sameDay, span, when } from "./words.js";

const LAY = new Set(["laid", "bagged", "cure", "used"]);
const DATED = new Set(["printed", "calendar", "received", "opened"]);

function reason(code, text) {
  return { code, text };
}

/** [{name, clock, checkpoint, threshold, allowed, ends, left, why}] */
export function livesOf(row, shared) {
  return (row.lives ?? []).map(([number, ends = null, left = null, why = ""]) => {
    const [name, kind, checkpoint, threshold, allowed] = shared.limits[number] ?? ["life", "unstated", "used", null, null];
    return { name, clock: kind, checkpoint, threshold, allowed, ends, left, why };
  });
}

function over(life, now, zone) {
  if (life.why) return reason("life.unknown", inWords("{name} cannot be judged or is over: {why}.", { name: life.name, why: life.why }));
  if (life.left !== null && life.left <= 0) return reason("life.over", inWords("{name} is over: {time} are used up.", { name: life.name, time: span(life.allowed) }));
  if (life.ends === null || life.ends > now) return null;
  const used = life.clock === "above" && life.allowed !== null ? inWords(": {time} are used up", { time: span(life.allowed) }) : "";
  return reason("life.over", inWords("{name} is over since {when}{used}.", { name: life.name, when: dayClock(life.ends, zone), used }));
}

/** When a limit ends if the thing lies in the part's place from now on. */
function endsThere(life, part, now, shared) {
  if (life.clock !== "above") return life.ends;
  const rest = life.ends !== null ? life.ends - now : life.left;
  return rest !== null && ceiling(shared, part.place) > life.threshold ? now + rest : null;
}

function tooShort(life, part, now, list) {
  const { shared, site } = list.meta;
  if (!part?.cure_ms || life.checkpoint !== "cure") return null;
  const ends = endsThere(life, part, now, shared);
  if (ends === null || ends > part.cure_ms) return null;
  const planned = when(part.cure_ms, now, site.zone);
  return reason("life.too_short", inWords("{name} would end {when}, before the cure planned for {planned}.", { name: life.name, when: when(ends, now, site.zone), planned }));
}

function lifeReasons(row, part, now, list) {
  const found = [];
  for (const life of livesOf(row, list.meta.shared)) {
    if (row.kind !== "mix" && !LAY.has(life.checkpoint)) continue;
    const said = over(life, now, list.meta.site.zone) ?? tooShort(life, part, now, list);
    if (said) found.push(said);
  }
  return found;
}

/** {ready, at, need}: `at` is when it may be opened; for a frozen thing, if it were taken out now; null when nobody knows. */
export function thaw(row, now, shared) {
  const whole = shared.whole.includes(row.kind);
  const need = shared.materials[row.material]?.[whole ? 1 : 2] ?? 0;
  if (!need || (!whole && !row.frozen && !row.warm_ms)) return { ready: true, at: now, need: 0 };
  if (row.frozen) return { ready: false, at: now + need, need };
  if (!row.warm_ms) return { ready: false, at: null, need };
  return { ready: now >= row.warm_ms + need, at: row.warm_ms + need, need };
}

function thawReasons(row, now, list) {
  const { ready, at, need } = thaw(row, now, list.meta.shared);
  const { zone } = list.meta.site;
  if (ready) return [];
  if (at === null) return [reason("thaw.unknown", inWords("No take-out is known here, and it needs {time} to thaw.", { time: span(need) }))];
  if (row.frozen) return [reason("thaw.frozen", inWords("Frozen: {time} thaw, {when} if taken out now.", { time: span(need), when: when(at, now, zone) }))];
  return [reason("thaw.short", inWords("Still thawing: {time} of {time2}, from {when}.", { time: duration(now - row.warm_ms), time2: span(need), when: when(at, now, zone) }))];
}

function partReasons(row, part) {
  const found = [];
  if (part.curing) found.push(reason("part.curing", inWords("{number} is curing: end its cure first.", { number: part.number })));
  if (row.owner && row.owner !== part.customer) found.push(reason("owner.other", inWords("{thing} belongs to {owner}: only for its jobs.", { thing: nameOf(row), owner: row.owner })));
  const jobs = (row.job ?? "").toLowerCase().split(/[\s,]+/).filter(Boolean);
  const right = [part.number, part.design].some((name) => jobs.includes(name.toLowerCase()));
  const whose = part.customer && part.customer.toLowerCase() === (row.job ?? "").trim().toLowerCase();
  if (jobs.length && !right && !whose) found.push(reason("reserved.other", inWords("{thing} is kept for {job}, not for {number}.", { thing: nameOf(row), job: row.job, number: part.number })));
  return found;
}

/** The lines of the part's schedule: [{seq, name, wants, fits, qty, unit, open}] */
export function linesFor(row, part, filled, shared) {
  return (shared.designs[part.design] ?? []).map(([seq, name, wants, materials, qty, unit]) => ({
    seq, name, wants, qty, unit, fits: materials.includes(row.material), open: !filled.has(seq),
  }));
}

/** Which lines it fills when nobody says which: those that a kit was cut for, else the next open one; where none is open, the last. */
export function chosen(row, lines) {
  const right = lines.filter((line) => line.fits);
  const cutFor = right.filter((line) => row.plies?.includes(line.seq));
  if (cutFor.length) return cutFor;
  const open = right.filter((line) => line.open);
  if (row.kind === "kit" && open.length) return open;
  return open.length ? open.slice(0, 1) : right.slice(-1);
}

function capital(text) {
  return text[0].toUpperCase() + text.slice(1);
}

function lineReasons(row, part, lines, wanted) {
  if (row.kind === "mix" || !lines.length) return [];
  const material = row.material ?? inWords("nobody knows what it is");
  if (!wanted.length) {
    const next = lines.find((line) => line.open);
    const needs = next ? inWords("{name} of {number} needs {wants}", { name: next.name, number: part.number, wants: next.wants }) : inWords("nothing is open in {number}", { number: part.number });
    return [reason("ply.wrong_material", inWords("{thing} is {material}; {needs}.", { thing: nameOf(row), material, needs }))];
  }
  return wanted.filter((line) => !line.open).map((line) => reason("ply.filled", inWords("{name} of {number} is filled already.", { name: capital(line.name), number: part.number })));
}

/** How much goes in by the schedule, in the thing's unit; null when somebody has to say it. */
export function proposed(row, wanted) {
  if (row.kind === "kit" || row.kind === "mix") return row.qty;
  if (!wanted.length || wanted.some((line) => line.qty === null || line.unit !== row.unit)) return row.kind === "sheet" || row.kind === "remnant" ? row.qty : null;
  return wanted.reduce((sum, line) => sum + line.qty, 0);
}

/** Everything against laying this into the part now. `qty`: how much, when known. */
export function againstLaying(row, part, list, now, filled, wanted, qty) {
  const lines = linesFor(row, part, filled, list.meta.shared);
  const found = againstUse(row, part, list, now);
  found.push(...partReasons(row, part), ...lineReasons(row, part, lines, wanted));
  if (qty && qty > row.qty) found.push(reason("stock.not_enough", inWords("Not enough on {thing}: {amount} wanted, {amount2} left.", { thing: nameOf(row), amount: amount(qty, row.unit), amount2: amount(Math.max(row.qty, 0), row.unit) })));
  return found;
}

/** The same without a part. */
export function againstUse(row, part, list, now) {
  const found = (row.against ?? []).map(([why, text]) => reason(`block.${why}`, text));
  if (row.stub) found.push(reason("item.unrecorded", inWords("{thing} was scanned before it was recorded: nobody knows yet what it is.", { thing: nameOf(row) })));
  if (row.qty <= 0) found.push(reason("stock.empty", inWords("Nothing is left of {thing}.", { thing: nameOf(row) })));
  found.push(...lifeReasons(row, part, now, list), ...thawReasons(row, now, list));
  if (row.kind === "mix" && row.stop_ms && row.stop_ms <= now) found.push(reason("pot.over", inWords("Its stop time {clock} has passed.", { clock: clock(row.stop_ms, list.meta.site.zone) })));
  return found;
}

/** What to know before using it: the end that comes first, a last day, whose it is, notes of quality. */
export function toKnow(row, list, now) {
  const { zone } = list.meta.site;
  const said = [];
  const running = livesOf(row, list.meta.shared).filter((life) => life.ends !== null && life.ends > now);
  running.sort((a, b) => a.ends - b.ends);
  for (const life of running.slice(0, 2)) {
    if (DATED.has(life.clock) && sameDay(life.ends - 1, now, zone)) said.push(inWords("{name}: last day today.", { name: life.name }));
    else if (DATED.has(life.clock)) said.push(inWords("{name} lasts through {when}.", { name: life.name, when: day(life.ends - 1, now, zone) }));
    else said.push(inWords("{name}: {time} left, until {when}.", { name: life.name, time: duration(life.ends - now), when: when(life.ends, now, zone) }));
  }
  if (row.kind === "mix" && row.stop_ms && row.stop_ms > now) said.unshift(inWords("Use it up by {clock}.", { clock: clock(row.stop_ms, zone) }));
  if (row.owner) said.push(inWords("It belongs to {owner}.", { owner: row.owner }));
  if (row.job) said.push(inWords("Kept for {job}.", { job: row.job }));
  return [...said, ...(row.notes ?? [])];
}

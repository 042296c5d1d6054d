/* Times, durations and amounts as people say them. Instants are ms since 1970, by the server's clock unless it says otherwise. */
import { inWords } from "../say.js";

export const MIN = 60_000;
export const HOUR = 60 * MIN;
export const DAY = 24 * HOUR;

const LANG = globalThis.document?.documentElement.lang || "en";
const NAMES = LANG === "en" ? "en-GB" : LANG;
const KEPT = new Map();

function partsOf(ms, zone) {
  let format = KEPT.get(zone);
  if (!format) {
    const wanted = { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
    format = new Intl.DateTimeFormat(NAMES, { timeZone: zone, ...wanted });
    KEPT.set(zone, format);
  }
  return Object.fromEntries(format.formatToParts(ms).map(({ type, value }) => [type, value]));
}

/** "08:32" */
export function clock(ms, zone) {
  const p = partsOf(ms, zone);
  return `${p.hour}:${p.minute}`;
}

/** "Mon 30 Mar 08:32" */
export function dayClock(ms, zone) {
  const p = partsOf(ms, zone);
  return `${p.weekday} ${p.day} ${p.month.slice(0, 3)} ${p.hour}:${p.minute}`;
}

/** "Mon 30 Mar", with its year when that is not the present one: "Sun 18 Apr 2027". As the pages write a day. */
export function day(ms, now, zone) {
  const [p, year] = [partsOf(ms, zone), yearOf(ms, zone)];
  return `${p.weekday} ${p.day} ${p.month.slice(0, 3)}${year === yearOf(now, zone) ? "" : ` ${year}`}`;
}

function yearOf(ms, zone) {
  return new Intl.DateTimeFormat("en-GB", { timeZone: zone, year: "numeric" }).format(ms);
}

/** The clock alone when it is the same day as `now`. */
export function when(ms, now, zone) {
  return sameDay(ms, now, zone) ? clock(ms, zone) : dayClock(ms, zone);
}

export function sameDay(a, b, zone) {
  const [x, y] = [partsOf(a, zone), partsOf(b, zone)];
  return Math.abs(a - b) < 2 * DAY && x.day === y.day && x.month === y.month;
}

/** "58 h 49", "55 min" */
export function duration(ms) {
  const minutes = Math.max(0, Math.floor(ms / MIN));
  if (minutes < 60) return inWords("{minutes} min", { minutes });
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")}`;
}

/** "72 h", "60 min": a limit, without empty minutes. */
export function span(ms) {
  if (ms <= HOUR) return inWords("{minutes} min", { minutes: Math.floor(ms / MIN) });
  return ms % HOUR === 0 ? `${ms / HOUR} h` : duration(ms);
}

/** "just now", "12 min ago", "26 h 10 ago" */
export function ago(ms) {
  return ms < MIN ? inWords("just now") : inWords("{time} ago", { time: duration(ms) });
}

/** What to say of a clock that reads `skew` ms more than the server's; empty when nobody needs to know. */
export function skewWords(skew) {
  if (Math.abs(skew) < 2 * MIN) return "";
  return inWords("This tablet's clock is {time} {skew}: times are corrected when they are sent.", { time: duration(Math.abs(skew)), skew: skew > 0 ? inWords("fast") : inWords("slow") });
}

// of each kind of amount: [base units in one, its name, decimals], the larger unit first
const PCS = [[1, inWords("pcs"), 0]];
const METRIC = { um: [[1e6, "m", 2]], cmm2: [[1e8, "m²", 2]], ug: [[1e9, "kg", 2], [1e6, "g", 1]], pc: PCS };
const US = { um: [[914_400, "yd", 2], [25_400, "in", 2]], cmm2: [[9_290_304, "ft²", 2], [64_516, "in²", 2]], ug: [[453_592_370, "lb", 2], [28_349_523.125, "oz", 2]], pc: PCS };
let units = METRIC;

/** Whoever works here reads in these units. What is kept and sent stays metric. */
export function readIn(system) {
  units = system === "us" ? US : METRIC;
}

/** The unit of a bare length, and how many µm it has. */
export function lengthUnit() {
  const [[by, word]] = units.um;
  return { by, word };
}

/** 22 900 000 µm → "22.90 m", or "25.04 yd" */
export function amount(value, unit) {
  const sizes = units[unit] ?? [[1, unit, 0]];
  const [by, word, digits] = sizes.find((size) => Math.abs(value) >= size[0] || value === 0) ?? sizes.at(-1);
  return `${(value / by).toFixed(digits)} ${word}`;
}

/** −18 000 m°C → "−18 °C" */
export function celsius(mc) {
  const [degrees, word] = units === US ? [Math.round(mc / 100 * 1.8 + 320) / 10, "°F"] : [mc / 1000, "°C"];
  return `${String(degrees).replace("-", "−")} ${word}`;
}

/** The same without losing a µm: what is sent. Lengths only. */
export function exact(um) {
  return `${Math.floor(um / 1e6)}.${String(um % 1e6).padStart(6, "0")} m`;
}

/** A length as typed, in µm: "0.85", "0,85 m", "33 in". null when it is none. */
export function typed(text) {
  const found = /^\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*(m|cm|mm|yd|ft|in)?\s*$/i.exec(text);
  if (!found) return null;
  const by = { m: 1e6, cm: 1e4, mm: 1e3, yd: 914_400, ft: 304_800, in: 25_400 }[(found[2] ?? lengthUnit().word).toLowerCase()];
  const um = Math.round(Number(found[1].replace(",", ".")) * by);
  return um > 0 ? um : null;
}

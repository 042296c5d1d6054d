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

const UNITS = { um: [1e6, "m", 2], cmm2: [1e8, "m²", 2], ug: [1e6, "g", 1], pc: [1, inWords("pcs"), 0] };

/** 22 900 000 µm → "22.90 m" */
export function amount(value, unit) {
  const [by, word, digits] = UNITS[unit] ?? [1, unit, 0];
  if (unit === "ug" && Math.abs(value) >= 1e9) return `${(value / 1e9).toFixed(2)} kg`;
  return `${(value / by).toFixed(digits)} ${word}`;
}

/** The same without losing a µm: what is sent. Lengths only. */
export function exact(um) {
  return `${Math.floor(um / 1e6)}.${String(um % 1e6).padStart(6, "0")} m`;
}

/** A length as typed, in µm: "0.85", "0,85 m", "850 mm". null when it is none. */
export function typed(text) {
  const found = /^\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*(m|cm|mm)?\s*$/i.exec(text);
  if (!found) return null;
  const by = { m: 1e6, cm: 1e4, mm: 1e3 }[(found[2] ?? "m").toLowerCase()];
  const um = Math.round(Number(found[1].replace(",", ".")) * by);
  return um > 0 ? um : null;
}

// The pot's countdown, ages, and the server's clock on a device whose own clock is wrong.
import assert from "node:assert/strict";
import test from "node:test";
import { offsetMs, serverClock } from "../../../inventory/static/inventory/js/clock.js";
import { announcement, clockFace, reading } from "../../../inventory/static/inventory/js/countdown.js";
import { ageWords } from "../../../inventory/static/inventory/js/tick.js";

const STOP_US = 1_774_859_580_000_000; // 30 March 2026, 10:33 in Copenhagen
const STOP_MS = STOP_US / 1000;

test("a pot that must stop at 10:33 has 13 minutes left at 10:20", () => {
  assert.deepEqual(reading(STOP_US, STOP_MS - 13 * 60_000, "stop"), { face: "13:00", phase: "running" });
});

test("what is left is rounded down", () => {
  assert.equal(clockFace(59_999), "0:59");
  assert.equal(clockFace(3_909_000), "1:05:09");
  assert.equal(clockFace(-1), "0:00");
});

test("at exactly the stop time the stop word stands there", () => {
  assert.deepEqual(reading(STOP_US, STOP_MS, "stop: pot life over"), { face: "stop: pot life over", phase: "over" });
  assert.equal(reading(STOP_US, STOP_MS - 1, "stop").phase, "ending");
});

test("the last five minutes look different from what was before", () => {
  assert.equal(reading(STOP_US, STOP_MS - 300_001, "stop").phase, "running");
  assert.equal(reading(STOP_US, STOP_MS - 300_000, "stop").phase, "ending");
});

test("five minutes, one minute and the end are each said once", () => {
  assert.equal(announcement(300_400, 299_900, "stop"), "5 min");
  assert.equal(announcement(299_900, 299_400, "stop"), "");
  assert.equal(announcement(60_100, 59_600, "stop"), "1 min");
  assert.equal(announcement(200, -300, "stop"), "stop");
  assert.equal(announcement(-300, -800, "stop"), "");
});

test("a tablet that slept through the stop says only the end", () => {
  assert.equal(announcement(600_000, -5_000, "stop"), "stop");
});

test("a device that is ten minutes slow counts by the server's clock", () => {
  const device = STOP_MS - 600_000;
  const clock = serverClock({ dataset: { nowUs: String(STOP_US) } }, () => device);
  assert.equal(clock(), STOP_MS);
});

test("without a server time the device's own clock is used", () => {
  for (const nothing of [undefined, null, "", "soon"]) assert.equal(offsetMs(nothing, 5), 0);
});

test("ages are said in the trade's hours, and not at all for the future or for old things", () => {
  assert.equal(ageWords(STOP_US, STOP_MS + 59_000), "just now");
  assert.equal(ageWords(STOP_US, STOP_MS + 3 * 60_000), "3 min ago");
  assert.equal(ageWords(STOP_US, STOP_MS + 62 * 3_600_000 + 5 * 60_000), "62 h 05 ago");
  assert.equal(ageWords(STOP_US, STOP_MS - 60_000), "");
  assert.equal(ageWords(STOP_US, STOP_MS + 96 * 3_600_000), "");
});

// Pure logic of the scan box, the countdown, the keys and the ages. Run with: node --test tests/browser/js/
// The speed of a scanner's keys: common practice, no source.
import assert from "node:assert/strict";
import test from "node:test";
import { charOf, DOUBLE_MS, FAST_MS, feed, IDLE, isDouble, isNoFigure, ONE_HAND_MS, settle } from "../../../inventory/static/inventory/js/scan.js";

function type(text, step, start = 1000) {
  let state = IDLE;
  let at = start;
  const scans = [];
  for (const char of text) {
    const out = feed(state, char, at);
    state = out.state;
    if (out.scan !== null) scans.push(out.scan);
    at += step;
  }
  return scans;
}

test("a fast burst that ends with Enter is a scan", () => {
  assert.deepEqual(type("U-3\n", 8), ["U-3"]);
});

test("keys exactly at the limit still belong together and one millisecond more does not", () => {
  assert.deepEqual(type("T-24\n", FAST_MS), ["T-24"]);
  assert.deepEqual(type("T-24\n", FAST_MS + 1), []);
});

test("a person who types slowly and presses Enter makes no scan", () => {
  assert.deepEqual(type("U-3\n", 180), []);
});

test("Enter alone is no scan, so a button keeps its Enter", () => {
  const out = feed(IDLE, "\n", 5000);
  assert.equal(out.scan, null);
  assert.equal(out.fast, false);
});

test("a place's code of two characters is a scan and a single key is not", () => {
  assert.deepEqual(type("F1\n", 8), ["F1"]);
  assert.deepEqual(type("F\n", 8), []);
});

test("a slow key before a burst does not become part of it", () => {
  let out = feed(IDLE, "x", 0);
  out = feed(out.state, "U", 400);
  out = feed(out.state, "-", 408);
  out = feed(out.state, "3", 416);
  out = feed(out.state, "\n", 424);
  assert.equal(out.scan, "U-3");
});

test("the separators of a two-dimensional code arrive as Ctrl and a key", () => {
  assert.equal(charOf({ key: "]", ctrlKey: true }), "\u001d");
  assert.equal(charOf({ key: "^", ctrlKey: true }), "\u001e");
  assert.equal(charOf({ key: "]" }), "]");
});

test("shift, arrows and shortcuts are no characters", () => {
  for (const key of ["Shift", "ArrowLeft", "F5", "Tab", "Dead"]) assert.equal(charOf({ key }), "");
  assert.equal(charOf({ key: "c", ctrlKey: true }), "");
  assert.equal(charOf({ key: "c", metaKey: true }), "");
  assert.equal(charOf({ key: "c", altKey: true }), "");
});

test("a shift key inside a burst does not break it", () => {
  let out = feed(IDLE, "u", 0);
  out = feed(out.state, "", 5);
  out = feed(out.state, "-", 10);
  out = feed(out.state, "3", 20);
  assert.equal(feed(out.state, "\n", 30).scan, "u-3");
});

test("a character outside the basic plane counts as one", () => {
  assert.equal(charOf({ key: "𝌆" }), "𝌆");
});

test("what stood half typed in the box gives way to the scan", () => {
  assert.equal(settle("C-1U-3", "U-3"), "U-3");
  assert.equal(settle("C-12", null), "C-12");
});

test("a scan whose first keys came before the focus is taken whole", () => {
  assert.equal(settle("6-4", "G6-4"), "G6-4");
  assert.equal(settle("", "G6-4"), "G6-4", "only its end reached the box");
  assert.equal(settle("64", "G6-4"), "64", "what is no part of it was typed");
});

test("fast fingers at the end of a typed code do not cut off its beginning", () => {
  const typed = (text, apart) => {
    let state = IDLE;
    let out = null;
    let at = 1000;
    [...text, "\n"].forEach((char, n) => {
      at += apart[n] ?? 8;
      out = feed(state, char, at);
      state = out.state;
    });
    return [out.scan, out.alone];
  };
  assert.deepEqual(typed("C-13", [0, 150, ONE_HAND_MS - 1]), ["13", false], "a hand");
  assert.deepEqual(typed("C-1U-3", [0, 150, 150, ONE_HAND_MS]), ["U-3", true], "a scanner after something half typed");
  assert.deepEqual(typed("U-3", []), ["U-3", true]);
});

test("the same code within two seconds is one read and at two seconds it is a new one", () => {
  const last = { code: "U-3", at: 10_000 };
  assert.equal(isDouble(last, "U-3", 10_000 + DOUBLE_MS - 1), true);
  assert.equal(isDouble(last, "U-3", 10_000 + DOUBLE_MS), false);
  assert.equal(isDouble(last, "U-4", 10_001), false);
  assert.equal(isDouble(null, "U-3", 10_001), false);
});

test("a clock that was set back does not swallow a scan", () => {
  assert.equal(isDouble({ code: "U-3", at: 10_000 }, "U-3", 9_000), false);
});

test("a name that is read into a field for a figure is for the box, a figure and a name in a field for words are not", () => {
  assert.equal(isNoFigure("decimal", "C-12"), true);
  assert.equal(isNoFigure("decimal", "18.06 m"), false);
  assert.equal(isNoFigure("text", "C-12"), false);
});

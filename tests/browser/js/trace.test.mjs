// The keys of a trace's picture: along the lines, within a layer, and home.
import assert from "node:assert/strict";
import test from "node:test";
import { nextBox } from "../../../layups/static/layups/js/trace.js";

const BOXES = [
  { n: 1, x: 16, y: 100, into: [2, 3], here: false }, // a lot
  { n: 2, x: 246, y: 20, into: [5], here: false }, // two pots of it
  { n: 3, x: 246, y: 90, into: [4, 5], here: true },
  { n: 4, x: 476, y: 10, into: [], here: false }, // two parts
  { n: 5, x: 476, y: 80, into: [], here: false },
];

test("right and left go along the lines, to the nearest of several", () => {
  assert.equal(nextBox(BOXES, 1, "ArrowRight"), 3);
  assert.equal(nextBox(BOXES, 3, "ArrowRight"), 5);
  assert.equal(nextBox(BOXES, 2, "ArrowRight"), 5, "never to a box that no line leads to, however near");
  assert.equal(nextBox(BOXES, 5, "ArrowLeft"), 3);
  assert.equal(nextBox(BOXES, 4, "ArrowLeft"), 3);
});

test("up and down stay within a layer", () => {
  assert.equal(nextBox(BOXES, 3, "ArrowUp"), 2);
  assert.equal(nextBox(BOXES, 2, "ArrowDown"), 3);
  assert.equal(nextBox(BOXES, 1, "ArrowUp"), null);
});

test("at the end of a line nothing moves, and Home leads to what was asked about", () => {
  assert.equal(nextBox(BOXES, 5, "ArrowRight"), null);
  assert.equal(nextBox(BOXES, 4, "Home"), 3);
  assert.equal(nextBox(BOXES, 4, "Enter"), null, "other keys are the browser's");
  assert.equal(nextBox(BOXES, 99, "ArrowUp"), null);
});

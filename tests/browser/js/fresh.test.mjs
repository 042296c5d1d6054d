// A page that keeps itself fresh: when it asks again, when it says that it is old, and what it takes over.
import assert from "node:assert/strict";
import test from "node:test";
import { isOld, pause, takes } from "../../../inventory/static/inventory/js/fresh.js";

test("after each failure it waits longer, and never longer than a minute", () => {
  assert.deepEqual([0, 1, 2, 9].map((failures) => pause(20_000, failures)), [20_000, 40_000, 60_000, 60_000]);
  assert.equal(pause(90_000, 3), 90_000);
});

test("it is old once two rounds were missed", () => {
  assert.equal(isOld(0, 59_999, 20_000), false);
  assert.equal(isOld(0, 60_000, 20_000), true);
});

test("only this page once more is taken; a sign-in and a version with other styles are loaded as a whole", () => {
  const [here, sheets] = ["http://shop/wall/", ["a.css", "b.css"]];
  const [answer, found] = [{ redirected: false, url: here }, { main: true, sheets }];
  assert.equal(takes(answer, here, found, sheets), true);
  assert.equal(takes({ redirected: true, url: here }, here, found, sheets), false);
  assert.equal(takes({ redirected: false, url: "http://shop/sign-in/" }, here, found, sheets), false);
  assert.equal(takes(answer, here, { main: false, sheets }, sheets), false);
  assert.equal(takes(answer, here, { main: true, sheets: ["a.css", "c.css"] }, sheets), false);
});

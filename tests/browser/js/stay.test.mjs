// What a page that stays does with scans that wait. Run with: node --test tests/browser/js/
import assert from "node:assert/strict";
import test from "node:test";
import { after, notTaken } from "../../../inventory/static/inventory/js/stay.js";

test("after an answer the rest goes off, after a refusal it is told as not taken", () => {
  assert.deepEqual(after(["a", "b"], true), { send: ["a", "b"], lost: [] });
  assert.deepEqual(after(["a", "b"], false), { send: [], lost: ["a", "b"] });
});

test("what was not taken is named, a long list is cut off with how many more there are", () => {
  assert.equal(notTaken([]), "");
  assert.equal(notTaken(["C-12", "", "18 m"]), "Not taken: C-12, 18 m. Scan again.");
  assert.equal(notTaken(["1", "2", "3", "4", "5", "6", "7"]), "Not taken: 1, 2, 3, 4, 5 and 2 more. Scan again.");
});

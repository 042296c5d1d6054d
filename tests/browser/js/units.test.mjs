// The floor page in the units of whoever holds the tablet; what it sends stays metric. Run: node --test tests/browser/js/
// Factors, all exact: yard 0.9144 m, inch 25.4 mm, foot 304.8 mm, avoirdupois pound 453.59237 g (NIST SP 811, appendix B).
import assert from "node:assert/strict";
import test from "node:test";
import { laying, leftOf } from "../../../inventory/static/inventory/js/floor/look.js";
import { remembered } from "../../../inventory/static/inventory/js/floor/people.js";
import { againstPlace } from "../../../inventory/static/inventory/js/floor/putaway.js";
import { amount, celsius, exact, lengthUnit, readIn, typed } from "../../../inventory/static/inventory/js/floor/words.js";

const LB = 453_592_370;
const SHARED = {
  materials: { MEKP: ["Peroxide", 0, 0, "item", "peroxide", 5000, 25000] },
  places: { F1: ["Chest freezer", "freezer", -18000, -25000, "peroxide", "", LB] },
};
const CAN = { code: "X4", mark: "X6-1", kind: "can", material: "MEKP", unit: "ug", qty: 2 * LB, place: "PX" };
const ROLL = { code: "ST", mark: "T-2", kind: "roll", material: "PP-T", unit: "um", qty: 91_440_000, lives: [] };

function us(name, work) {
  test(name, () => {
    readIn("us");
    try {
      return work();
    } finally {
      readIn("metric");
    }
  });
}

us("amounts are said in yards, feet and pounds, small ones in inches and ounces", () => {
  assert.deepEqual([amount(91_440_000, "um"), amount(914_399, "um"), amount(0, "um")], ["100.00 yd", "36.00 in", "0.00 yd"]);
  assert.deepEqual([amount(144 * 64_516, "cmm2"), amount(64_516, "cmm2")], ["1.00 ft²", "1.00 in²"]);
  assert.deepEqual([amount(LB, "ug"), amount(LB / 2, "ug"), amount(3, "pc")], ["1.00 lb", "8.00 oz", "3 pcs"]);
});

us("temperatures are said in degrees Fahrenheit", () => {
  assert.deepEqual([-40_000, -18_000, 0, 22_500, 100_000].map(celsius), ["−40 °F", "−0.4 °F", "32 °F", "72.5 °F", "212 °F"]);
});

us("a bare length is yards, and any unit may be typed", () => {
  assert.deepEqual([typed("1"), typed("0,5 yd"), typed("3 ft"), typed("33 in"), typed("0.85 m")], [914_400, 457_200, 914_400, 838_200, 850_000]);
  assert.deepEqual(lengthUnit(), { word: "yd", by: 914_400 });
});

us("what a field offers comes back as the very length", () => {
  const { by } = lengthUnit();
  for (let um = 1; um < 90_000_000; um = um * 3 + 7) assert.equal(typed(String(+(um / by).toFixed(6))), um);
});

us("a deed is said in yards and sent in metres", () => {
  const deed = laying(ROLL, { code: "P", number: "RUD-073" }, [], 914_400, false);
  assert.equal(deed.words, "1.00 yd of T-2 into RUD-073");
  assert.equal(deed.params.qty, "0.914400 m");
  assert.equal(exact(914_400), "0.914400 m");
  const state = { list: { meta: { asOf: 0, site: { zone: "UTC" } } }, now: () => 0 };
  assert.match(leftOf({ thing: ROLL, qty: 914_400 }, state), /^T-2: 99\.00 yd left/);
});

us("refusals by a place say degrees and pounds", () => {
  const said = againstPlace(CAN, "F1", { meta: { shared: SHARED }, things: new Map() }, []).map((reason) => reason.text).join(" ");
  assert.match(said, /down to −13 °F; MEKP is damaged by cold: below its minimum 41 °F/);
  assert.match(said, /would hold 2\.00 lb of 1\.00 lb \(0\.00 lb there, 2\.00 lb more\)/);
});

test("whoever reads metric, or has said nothing, gets metres and degrees Celsius", () => {
  for (const units of ["metric", undefined]) {
    readIn("us");
    readIn(units);
    assert.deepEqual([amount(91_440_000, "um"), celsius(-18_000), typed("1")], ["91.44 m", "−18 °C", 1_000_000]);
  }
});

test("a tablet remembers the units with the person", async () => {
  assert.equal((await remembered({ id: 7, name: "Tove", units: "us" }, "word", null)).units, "us");
});

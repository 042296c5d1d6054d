// The floor page's rules of places, with the yard's own figures. Run: node --test tests/browser/js/
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { againstPlace, refusedWords, wouldTake } from "../../../inventory/static/inventory/js/floor/putaway.js";

const KG = 1_000_000_000;
const SHARED = {
  limits: {},
  materials: {
    MEKP: ["Peroxide", 0, 0, "item", "peroxide", 5000, 25000],
    "CO-6": ["Cobalt", 0, 0, "item", "promoter", 5000, 25000],
    "PP-T": ["Prepreg", 43_200_000, 3_600_000, "item", "", null, -18000],
    "CT-204": ["Twill", 0, 0, "item", "", null, null],
  },
  places: {
    AC: ["Accelerators and amines", "store", 25000, 15000, "promoter amine", "peroxide acid", null],
    PX: ["Peroxide cabinet", "store", 25000, 15000, "peroxide", "", 25 * KG],
    BK: ["Outdoor bunker", "store", 25000, 5000, "peroxide", "", 60 * KG],
    F1: ["Chest freezer", "freezer", -18000, -25000, "", "", null],
    RACK: ["Rack", "rack", 25000, 15000, "", "", null],
    BAY1: ["Bay", "bay", 30000, 15000, "", "", null],
    ACID: ["Acid shelf", "store", 25000, 15000, "acid", "", null],
  },
};
const can = (code, place, kg) => ({ code, mark: code, kind: "can", material: "MEKP", unit: "ug", qty: kg * KG, place });
const ROLL = { code: "T", mark: "T-8", kind: "roll", material: "PP-T", unit: "um", qty: 50_000_000, place: "F1", frozen: true };
const COBALT = { ...can("CB", "AC", 1), material: "CO-6" };
const [A, B, C, D] = ["X6-1", "X6-2", "X6-3", "X6-4"].map((code) => can(code, undefined, 5));
const rows = [can("X4", "PX", 1.5), can("X5", "PX", 5), A, B, C, D, ROLL, COBALT];
const LIST = { meta: { shared: SHARED }, things: new Map(rows.map((row) => [row.code, row])) };
const codes = (row, place, effects = []) => againstPlace(row, place, LIST, effects).map((r) => r.code).sort();
const went = (...rows) => rows.map((row) => ({ item: row.code, place: "PX", at: 0 }));

test("an organic peroxide goes only where it is named, and never where a promoter stands or may stand", () => {
  assert.deepEqual(codes(A, "AC"), ["place.never_together", "place.peroxide_only_in_its_own"]);
  assert.deepEqual(codes(A, "RACK"), ["place.peroxide_only_in_its_own"]);
  assert.deepEqual(codes(A, "F1"), ["place.peroxide_only_in_its_own", "place.too_cold"]);
  assert.match(againstPlace(A, "F1", LIST, [])[1].text, /below its minimum 5 °C/);
  assert.deepEqual(codes(COBALT, "PX"), ["place.never_together", "place.takes_only"]);
  assert.deepEqual(codes(COBALT, "ACID"), ["place.takes_only"]);
  assert.deepEqual(codes(A, "PX"), []);
});

test("a place is full by what was noted here as well, and what would take the rest is named", () => {
  assert.deepEqual(codes(D, "PX", went(A, B)), []);
  const [full] = againstPlace(D, "PX", LIST, went(A, B, C));
  assert.equal(full.text, "Peroxide cabinet would hold 26.50 kg of 25.00 kg (21.50 kg there, 5.00 kg more).");
  assert.deepEqual(wouldTake(D, LIST, went(A, B, C)), ["BK Outdoor bunker"]);
  assert.deepEqual(codes(A, "PX", went(A, B, C)), [], "what stands there is not counted twice");
  assert.equal(refusedWords(D, "PX", SHARED), "X6-4 does not go into Peroxide cabinet");
});

test("too warm refuses frozen goods on a shelf, and not where they are taken out to", () => {
  assert.deepEqual(codes(ROLL, "RACK"), ["place.too_warm"]);
  assert.deepEqual([codes(ROLL, "BAY1"), codes(ROLL, "F1")], [[], []]);
  assert.deepEqual(codes({ ...ROLL, material: "" }, "RACK"), [], "of what nobody knows the service judges");
  assert.deepEqual(codes({ ...ROLL, material: "CT-204" }, "PX"), ["place.takes_only"]);
});

// The table is what the service's own rule says (tests/core/putaway_cases.py).
const TABLE = JSON.parse(readFileSync(new URL("putaway.cases.json", import.meta.url)));
const KEPT = {
  limits: {},
  materials: Object.fromEntries(Object.entries(TABLE.materials).map(([code, [hazard, min, max]]) => [code, [code, 0, 0, "item", hazard, min, max]])),
  places: Object.fromEntries(Object.entries(TABLE.places).map(([code, rest]) => [code, [code, ...rest]])),
};

/** Things that stand in a place: one of each hazard, and so much of something without any. */
function beside(hazards, held, place) {
  const of = Object.fromEntries(Object.entries(TABLE.materials).map(([code, [hazard]]) => [hazard, code]));
  const rows = hazards.map((hazard) => ({ code: hazard, material: of[hazard], unit: "um", qty: 1, place }));
  return [...rows, { code: "held", material: "CT", unit: "ug", qty: held, place }];
}

test("in every case of the table the tablet says what the service says", () => {
  for (const [material, place, unit, qty, held, hazards, wanted] of TABLE.cases) {
    const things = new Map(beside(hazards, held, place).map((row) => [row.code, row]));
    const found = againstPlace({ code: "it", material, unit, qty }, place, { meta: { shared: KEPT }, things }, []);
    assert.deepEqual(found.map((r) => r.code.slice(6)), wanted, JSON.stringify([material, place, unit, qty, held, hazards]));
  }
  assert.ok(TABLE.cases.length > 400, "the table is whole");
});

test("what is offered instead are the stores that the table takes it into", () => {
  const list = { meta: { shared: KEPT }, things: new Map() };
  for (const material of Object.keys(TABLE.materials)) {
    const into = TABLE.cases.filter(([of, , unit, , held, hazards, wanted]) => of === material && unit === "ug" && !held && !hazards.length && !wanted.length);
    const stores = into.map(([, place]) => place).filter((place) => TABLE.stores.includes(TABLE.places[place][0]));
    assert.deepEqual(wouldTake({ code: "it", material, unit: "ug", qty: 5 * KG }, list, []), stores.sort().map((code) => `${code} ${code}`), material);
  }
});

// The floor page's pure parts: what a scan is, the list by difference, verdicts from it, the queue. Run: node --test tests/browser/js/
import assert from "node:assert/strict";
import test from "node:test";
import { isCode, read } from "../../../inventory/static/inventory/js/floor/codes.js";
import { againstMoving, bagAsked, judged, laying, leftOf, moving, titleOf } from "../../../inventory/static/inventory/js/floor/look.js";
import { after, moved } from "../../../inventory/static/inventory/js/floor/predict.js";
import * as queue from "../../../inventory/static/inventory/js/floor/queue.js";
import { apply, empty, find, merge } from "../../../inventory/static/inventory/js/floor/shelf.js";
import { thaw } from "../../../inventory/static/inventory/js/floor/verdict.js";
import { ago, amount, day, dayClock, duration, exact, skewWords, span, typed, when } from "../../../inventory/static/inventory/js/floor/words.js";

const H = 3_600_000;
const at = (clock, day = 30) => Date.parse(`2026-03-${day}T${clock}:00+02:00`);
const SHARED = {
  limits: { 1: ["Storage life", "printed", "used", null, null], 2: ["Out life", "above", "cure", -12000, 120 * H], 3: ["Tack life", "above", "laid", -12000, 72 * H] },
  materials: { "PP-T": ["Prepreg twill", 12 * H, H, "item"], "PP-U": ["Prepreg UD", 8 * H, H, "item"], "FA-B": ["Film", 4 * H, H, "item"], "CT-204": ["Dry twill", 0, 0, "item"] },
  places: { F1: ["Freezer 1", "freezer", -18000], CLEAN: ["Clean room", "bay", 23000], YARD: ["Yard", "rack", null] },
  designs: { RUD: [[1, "ply 1", "PP-U", ["PP-U"], 1_100_000, "um"], [7, "ply 7", "PP-T", ["PP-T"], 850_000, "um"], [8, "ply 8", "PP-T", ["PP-T"], 850_000, "um"], [9, "bond line (9)", "FA-B", ["FA-B"], 400_000, "um"]] },
  whole: ["box", "can", "drum", "roll", "spool"],
};
const SITE = { id: 1, name: "Yard", zone: "Europe/Copenhagen" };
// The days' figures: T-2 out 44 h 32 of 504 h at 08:32; U-3 left out, tack 72 h over since Saturday 12:30, put back into the freezer.
const T2 = { code: "STTTTTTTT2", mark: "T-2", kind: "roll", material: "PP-T", qty: 23_750_000, unit: "um", place: "CLEAN", lives: [[2, at("08:32") + 75 * H]], warm_ms: at("19:00", 29) };
const U3 = {
  code: "SUUUUUUUU3", mark: "U-3", kind: "roll", material: "PP-U", qty: 41_500_000, unit: "um", place: "F1", frozen: true,
  lives: [[2, null, 5 * H + 50 * 60_000], [3, Date.parse("2026-03-28T12:30:00+01:00")]], against: [["quality", "U-3 was put on hold by Ines: tack life passed while it was out."]],
};
const FK = { code: "SFFFFFFF12", mark: "FK-12", kind: "sheet", material: "FA-B", qty: 40_000_000, unit: "cmm2", place: "CLEAN", warm_ms: at("07:15"), bag: true, lives: [[1, at("00:00", 31)]] };
const RUD = { code: "SPPPPPPP73", number: "RUD-073", design: "RUD", place: "CLEAN", cure_ms: at("17:00"), filled: [1, 7] };

function page(more = {}) {
  return { cursor: "c1", more: false, begin: true, things: [T2, U3, FK], parts: [RUD], gone: [], shared: SHARED, site: SITE, ...more };
}

function stateAt(clock, entries = []) {
  return { list: apply(empty(), merge(null, page(), at("08:32"))), entries, part: RUD.code, now: () => at(clock) };
}

const codesOf = (found) => found.reasons.map((r) => r.code).sort();

test("our own codes are known by their check character, in any spelling, and from a link", () => {
  // made by inventory.core.codes.make from the bytes 0 … 15, 7 … 22 and 9 … 24
  const ours = { SV8XSMY3NN: "thing", P4972HPDT2: "place", B6KZX56XQY: "person" };
  for (const [code, on] of Object.entries(ours)) {
    assert.equal(isCode(code), true);
    for (const text of [code, code.toLowerCase(), `${code.slice(0, 5)}-${code.slice(5)}`, `http://shop.test/i/${code}/`]) {
      assert.deepEqual([read(text).code, read(text).on], [code, on], text);
    }
    assert.equal(isCode(code.slice(0, 9) + (code[9] === "2" ? "3" : "2")), false, "a wrong check character");
  }
  assert.deepEqual(read("  U-3 "), { text: "U-3", code: null, on: null });
  assert.equal(read("]Q3U-3").text, "U-3");
});

test("a roll for the next open ply gets its amount from the schedule and what is left is told with the age of the list", () => {
  const state = stateAt("08:34");
  const found = judged(state, T2);
  assert.deepEqual(found.reasons, []);
  assert.equal(titleOf(found), "0.85 m of T-2 into ply 8 of RUD-073");
  assert.equal(leftOf(found, state), "T-2: 22.90 m left (stock as of 08:32)");
});

test("a roll that was left out is refused with every reason that the list knows", () => {
  const found = judged(stateAt("08:34"), U3);
  assert.deepEqual(codesOf(found), ["block.quality", "life.over", "life.too_short", "ply.filled", "thaw.frozen"]);
  const said = found.reasons.map((r) => r.text).join(" ");
  assert.match(said, /Tack life is over since Sat 28 Mar 12:30/);
  assert.match(said, /Frozen: 8 h thaw, 16:34 if taken out now/);
  assert.match(said, /Out life would end 14:24, before the cure planned for 17:00/);
});

test("a life that ends is over without any word of the service, to the instant", () => {
  const ends = at("09:00");
  const state = stateAt("08:34");
  const row = { ...T2, lives: [[3, ends]] };
  state.now = () => ends - 1;
  assert.deepEqual(codesOf(judged(state, row)), []);
  state.now = () => ends;
  assert.deepEqual(codesOf(judged(state, row)), ["life.over"]);
});

test("film on its last day goes in and says so, once its bag was looked at", () => {
  const state = stateAt("08:40");
  const found = judged(state, FK);
  assert.deepEqual(found.reasons, []);
  assert.ok(found.know.includes("Storage life: last day today."));
  assert.equal(bagAsked(found, state), true);
  assert.equal(bagAsked(judged(stateAt("07:40"), FK), stateAt("07:40")), false, "it is not thawed yet");
  assert.deepEqual(laying(found.thing, found.part, found.wanted, found.qty, true).params, { item: FK.code, part: "RUD-073", plies: [9], dry: true });
});

test("dry twill where the design wants prepreg is told what the ply needs", () => {
  const found = judged(stateAt("08:30"), { ...T2, mark: "C-12", material: "CT-204", lives: [], warm_ms: undefined });
  assert.deepEqual(codesOf(found), ["ply.wrong_material"]);
  assert.match(found.reasons[0].text, /C-12 is CT-204; ply 8 of RUD-073 needs PP-T/);
});

test("what belongs to a customer, is kept for a job, or is not enough is refused", () => {
  const row = { ...T2, owner: "Ferrel Rowing Club", job: "CAN-063", qty: 800_000 };
  assert.deepEqual(codesOf(judged(stateAt("08:34"), row)), ["owner.other", "reserved.other", "stock.not_enough"]);
  assert.deepEqual(codesOf(judged(stateAt("08:34"), { ...T2, job: "RUD-073" })), []);
});

test("a limit that cannot be judged, an unrecorded label and a pot after its stop are not fit", () => {
  assert.deepEqual(codesOf(judged(stateAt("08:34"), { ...T2, lives: [[2, null, null, "its earlier out time is unknown"]] })), ["life.unknown"]);
  assert.ok(codesOf(judged(stateAt("08:34"), { ...T2, stub: true })).includes("item.unrecorded"));
  const pot = { ...T2, kind: "mix", unit: "ug", qty: 5e8, material: undefined, lives: [], warm_ms: undefined, stop_ms: at("08:34") };
  assert.deepEqual(codesOf(judged(stateAt("08:34"), pot)), ["pot.over"]);
  assert.deepEqual(codesOf(judged(stateAt("08:33"), pot)), []);
});

test("taken out offline, a frozen roll begins to thaw and its clock to run; put back, it stands still", () => {
  const frozen = { ...T2, frozen: true, place: "F1", warm_ms: null, lives: [[1, at("12:00", 31)], [2, null, 10 * H]] };
  const out = moved(frozen, "CLEAN", at("08:00"), SHARED);
  assert.deepEqual(out.lives, [[1, at("12:00", 31), null, ""], [2, at("18:00"), null, ""]]);
  assert.deepEqual(thaw(out, at("09:00"), SHARED), { ready: false, at: at("20:00"), need: 12 * H });
  const back = moved(out, "F1", at("10:00"), SHARED);
  assert.deepEqual(back.lives[1], [2, null, 8 * H, ""]);
  assert.equal(back.frozen, true);
  assert.equal(moved(frozen, "YARD", at("08:00"), SHARED).lives[1][1], at("18:00"), "a place of unknown temperature counts as warm");
});

test("what was noted counts at once, and no longer once the list has it", () => {
  const effect = { item: T2.code, qty: 850_000, part: RUD.code, lines: [8], at: at("08:34") };
  const entry = { seq: 1, state: queue.WAITING, effect };
  assert.equal(after(T2, queue.effects([entry]), SHARED).qty, 22_900_000);
  assert.deepEqual(codesOf(judged(stateAt("08:35", [entry]), T2)), ["ply.filled"], "plies 7 and 8 are filled");
  assert.deepEqual(queue.effects([{ ...entry, state: queue.ACCEPTED, folded: true }, { ...entry, state: queue.STRUCK }, { ...entry, state: queue.REFUSED }]), []);
  assert.equal(queue.effects([{ ...entry, state: queue.QUALITY, folded: false }]).length, 1);
});

test("a difference changes what it names, tells what went, and leaves the rest", () => {
  const list = apply(empty(), merge(null, page(), 1000, "e1"));
  const change = merge(list.meta, { cursor: "c2", more: false, begin: false, things: [{ ...T2, qty: 1 }], parts: [], gone: [[U3.code, "U-3", "scrapped"]] }, 2000, "e2");
  apply(list, change);
  assert.equal(list.things.get(T2.code).qty, 1);
  assert.equal(find(list, read("u-3")).is, "gone");
  assert.equal(find(list, read("u-3")).row.word, "scrapped");
  assert.deepEqual([list.things.size, list.parts.size, list.meta.asOf, list.meta.cursor, list.meta.etag], [2, 1, 2000, "c2", "e2"]);
  assert.equal(list.meta.shared, SHARED);
});

test("names that are kept right row by row find what names that are gathered anew find", () => {
  let seed = 7;
  const draw = (n) => (seed = (seed * 48_271) % 2_147_483_647) % n;
  const kept = apply(empty(), merge(null, page(), 0));
  for (let n = 0; n < 400; n += 1) {
    const code = `S${draw(6)}`;
    const row = { code, mark: `T-${draw(5)}`, number: draw(3) ? undefined : "CLEAN" };
    const gone = draw(4) === 0;
    apply(kept, merge(kept.meta, page({ begin: false, things: gone ? [] : [row], parts: [], gone: gone ? [[code, row.mark, "used up"]] : [] }), n));
    const anew = { ...kept, names: null };
    for (const text of [code, row.mark, `T-${draw(5)}`, "clean", "U-3", "rud-073", "nothing"]) {
      const [a, b] = [find(kept, read(text)), find(anew, read(text))];
      assert.deepEqual([a.is, a.row], [b.is, b.row], text);
    }
  }
  assert.ok(kept.names, "they were kept");
});

test("a new list leaves the old one whole until its last page is there", () => {
  const list = apply(empty(), merge(null, page(), 1000));
  apply(list, merge(list.meta, page({ things: [T2], parts: [], more: true, cursor: "n1" }), 2000));
  assert.equal(list.things.size, 3, "U-3 and FK-12 are still known");
  assert.deepEqual([list.meta.asOf, list.meta.etag], [1000, ""], "it is as old as it was");
  apply(list, merge(list.meta, page({ begin: false, things: [FK], parts: [], cursor: "n2" }), 3000));
  assert.deepEqual([...list.things.keys()].sort(), [FK.code, T2.code].sort());
  assert.deepEqual([list.parts.size, list.meta.asOf], [0, 3000]);
});

test("a thing is found by code, mark, further code and place, and an own label that nobody knows is told from nonsense", () => {
  const list = apply(empty(), merge(null, page({ things: [{ ...T2, also: ["SXXXXXXXX9"] }] }), 1000));
  for (const text of [T2.code, "t-2", "T–2", "SXXXXXXXX9"]) assert.equal(find(list, read(text)).row?.code, T2.code, text);
  assert.equal(find(list, read("clean")).is, "place");
  assert.equal(find(list, read("RUD-073")).is, "part");
  assert.equal(find(list, read("zzz")).is, "nothing");
  assert.equal(find(list, { text: "S", code: "SNEWLABEL2", on: "thing" }).is, "unseen");
});

const PERSON = { id: 5, name: "Bram" };

function entry(seq, more = {}) {
  const made = queue.made({ key: `k${seq}`, site: 1, person: PERSON, verb: "move", params: { item: "x", place: "F1" }, words: "", effect: {}, against: [], at: 1000 * seq, last: 0 });
  return { ...made, seq, ...more };
}

test("entries go out in the order of their numbers, a batch at a time, those of the site only", () => {
  const entries = [entry(3), entry(1), entry(2), entry(4, { state: queue.ACCEPTED }), entry(5, { site: 2 }), entry(6, { state: queue.REFUSED })];
  const { batch, more } = queue.nextBatch(entries, 1, 2);
  assert.deepEqual([batch.map((e) => e.seq), more], [[1, 2], true]);
  const all = queue.nextBatch(entries, 1);
  assert.deepEqual([all.batch.map((e) => e.seq), all.more], [[1, 2, 3], false], "nothing of another site, nothing that was answered");
  const said = queue.body(batch, more, "tablet 1", 9000, { 5: "word" }, 7);
  assert.deepEqual(said.records.map((r) => [r.key, r.seq, r.happened_at, r.by]), [["k1", 1, "1970-01-01T00:00:01.000Z", "word"], ["k2", 2, "1970-01-01T00:00:02.000Z", "word"]]);
  assert.deepEqual([said.sent_at, said.more], ["1970-01-01T00:00:09.000Z", true]);
  assert.ok(queue.body(batch, more, "t", 0, {}, 7).records[0].by, "without a word it is still not the caller's");
  assert.equal("by" in queue.body(batch, more, "t", 0, {}, 5).records[0], false, "the caller needs no word");
});

test("an instant is never before the one of the entry before, unless the clock was put back for good", () => {
  assert.equal(queue.stamp(5000, 4000), 5000);
  assert.equal(queue.stamp(5000, 5000), 5001);
  assert.equal(queue.stamp(5000, 7000), 7001);
  assert.equal(queue.stamp(5000, 500_000), 5000, "an empty battery: the device says 1970");
});

test("each answer settles its own entry: accepted, for quality, or refused and kept; no answer leaves it waiting", () => {
  const results = [
    { key: "k2", result: "repeated", text: "b", reasons: [], acts: [2], moved: false, happened_at: null, recorded_at: null },
    { key: "k1", result: "accepted", text: "a", reasons: [{ code: "thaw.short" }], acts: [1], moved: false, happened_at: null, recorded_at: null },
    { key: "k3", result: "parked", text: "c", reasons: [{ code: "place.unknown" }], acts: [], moved: false, happened_at: null, recorded_at: null },
  ];
  const done = queue.settle([entry(1), entry(2), entry(3), entry(4)], results);
  assert.deepEqual(done.map((e) => [e.seq, e.state]), [[1, queue.QUALITY], [2, queue.ACCEPTED], [3, queue.REFUSED]]);
  assert.deepEqual(queue.stale([entry(1), entry(2, { state: queue.REFUSED }), entry(3, { state: queue.ACCEPTED })], 1e12).map((e) => e.seq), [3], "what waits or was refused stays");
});

test("within a minute what was never sent is struck, what may have arrived is taken back later, and after it quality is asked", () => {
  assert.equal(queue.undoWay(entry(1), 1000 + 59_999), "strike");
  assert.equal(queue.undoWay(entry(1, { tried: true }), 2000), "later");
  assert.equal(queue.undoWay(entry(1, { state: queue.ACCEPTED }), 2000), "void");
  assert.equal(queue.undoWay(entry(1, { state: queue.ACCEPTED }), 1000 + 60_001), "ask");
  assert.equal(queue.undoWay(entry(1, { state: queue.REFUSED }), 2000), "");
  const wanted = [entry(1, { takeBack: true }), entry(2, { takeBack: true, state: queue.ACCEPTED }), entry(3, { takeBack: true, state: queue.ACCEPTED, undone: true })];
  assert.deepEqual(queue.toTakeBack(wanted).map((e) => e.seq), [2]);
});

test("tries come later and later, at most every two minutes", () => {
  assert.deepEqual([1, 2, 3, 20].map((n) => queue.backoff(n)), [2000, 4000, 8000, 120_000]);
  assert.equal(queue.backoff(1, 1), 2500);
});

test("a move says where to, and not where it is already or to nowhere", () => {
  assert.deepEqual(moving(T2, "F1", SHARED), { verb: "move", params: { item: T2.code, place: "F1" }, words: "T-2 to Freezer 1", effect: { item: T2.code, place: "F1" } });
  assert.deepEqual(againstMoving(T2, "CLEAN", SHARED).map((r) => r.code), ["already"]);
  assert.deepEqual(againstMoving(T2, "X9", SHARED).map((r) => r.code), ["place.unknown"]);
});

test("times, ages, amounts and a clock that goes wrong are said as people say them", () => {
  assert.equal(dayClock(at("08:05"), SITE.zone), "Mon 30 Mar 08:05");
  assert.deepEqual([day(at("08:05"), at("09:00"), SITE.zone), day(at("08:05") + 365 * 24 * H, at("09:00"), SITE.zone)], ["Mon 30 Mar", "Tue 30 Mar 2027"]);
  assert.equal(when(at("08:05"), at("09:00"), SITE.zone), "08:05");
  assert.equal(when(at("08:05", 29), at("09:00"), SITE.zone), "Sun 29 Mar 08:05");
  assert.deepEqual([ago(59_000), ago(12 * 60_000), ago(26 * H + 600_000)], ["just now", "12 min ago", "26 h 10 ago"]);
  assert.deepEqual([duration(55 * 60_000), duration(58 * H + 49 * 60_000), span(72 * H), span(H)], ["55 min", "58 h 49", "72 h", "60 min"]);
  assert.deepEqual([amount(22_900_000, "um"), amount(500_200_000, "ug"), amount(1.98e8, "cmm2"), amount(3, "pc")], ["22.90 m", "500.2 g", "1.98 m²", "3 pcs"]);
  assert.deepEqual([typed("0.85"), typed("0,85 m"), typed("850 mm"), typed("x"), typed("0"), typed("")], [850_000, 850_000, 850_000, null, null, null]);
  assert.equal(exact(850_000), "0.850000 m");
  assert.equal(skewWords(60_000), "");
  assert.match(skewWords(10 * 60_000), /10 min fast/);
  assert.match(skewWords(-3 * H), /3 h 00 slow/);
});

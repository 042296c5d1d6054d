// Pure logic of labels at the scan box, of signals and of the camera. Run with: node --test tests/browser/js/
import assert from "node:assert/strict";
import test from "node:test";
import { chosen } from "../../../inventory/static/inventory/js/camera.js";
import { unhurried } from "../../../inventory/static/inventory/js/confirm.js";
import { charOf, feed, IDLE, isLabel, settle, visible } from "../../../inventory/static/inventory/js/scan.js";
import { answerOf, FRESH_MS, isFresh, isMuted, signal } from "../../../inventory/static/inventory/js/signal.js";

const GS = "\u001d";

test("a supplier's label is known by its shape", () => {
  for (const text of ["]d20109520000000004", `10AB${GS}21X`, "[)>\u001e06", "0109520000000004", "(01)09520000000004(10)A", "00095200000000000011", "https://a.example/01/09520000000004/10/A"]) {
    assert.equal(isLabel(text), true, text);
  }
});

test("marks, places, our own codes and links, figures and words are no labels", () => {
  for (const text of ["U-3", "F1", "S7KFM-3XDQR", "https://yard.example/i/S7KFM3XDQR", "400.0", "01", "2026-03-02", "]", "T27-031", "100 m"]) {
    assert.equal(isLabel(text), false, text);
  }
});

test("a line feed and a carriage return that are sent as Ctrl and a key end a scan and part nothing", () => {
  for (const key of ["j", "J", "m", "M"]) assert.equal(charOf({ key, ctrlKey: true }), "\n");
  let out = feed(IDLE, "U", 0);
  out = feed(out.state, "3", 8);
  assert.equal(feed(out.state, charOf({ key: "m", ctrlKey: true }), 16).scan, "U3");
});

test("a person's Ctrl+J stays the browser's", () => {
  const out = feed(IDLE, charOf({ key: "j", ctrlKey: true }), 5000);
  assert.deepEqual([out.scan, out.fast], [null, false]);
});

test("both ways of sending a record separator and the end of transmission are understood", () => {
  assert.equal(charOf({ key: "^", ctrlKey: true }), "\u001e");
  assert.equal(charOf({ key: "6", ctrlKey: true }), "\u001e");
  assert.equal(charOf({ key: "d", ctrlKey: true }), "\u0004");
  assert.equal(charOf({ key: "6" }), "6");
});

test("control characters are shown and never hidden", () => {
  assert.equal(visible(`10A${GS}21B\u0000`), "10A␝21B␀");
});

test("a page's own word comes before its verdict and a verdict before its banners", () => {
  assert.equal(answerOf({ answer: "ask", verdictNo: true }), "ask");
  assert.equal(answerOf({ verdictNo: true, success: true }), "no");
  assert.equal(answerOf({ notUnderstood: true, success: true }), "no");
  assert.equal(answerOf({ warning: true, success: true }), "ask");
  assert.equal(answerOf({ success: true }), "yes");
  assert.equal(answerOf({}), "");
  assert.equal(answerOf({ answer: "constructor-like", success: false }), "");
});

test("an answer that comes too late or before its scan makes no sound", () => {
  assert.equal(isFresh(1000, 1000 + FRESH_MS - 1), true);
  assert.equal(isFresh(1000, 1000 + FRESH_MS), false);
  assert.equal(isFresh(1000, 999), false);
  assert.equal(isFresh(NaN, 1000), false);
});

test("what is switched off neither sounds nor shakes", () => {
  const buzzed = [];
  const device = { userActivation: { hasBeenActive: true }, vibrate: (pattern) => buzzed.push(pattern) };
  signal("no", { getItem: () => "off" }, device);
  assert.deepEqual(buzzed, []);
  signal("no", { getItem: () => null }, device);
  assert.deepEqual(buzzed, [[250]]);
  assert.equal(isMuted({ getItem: () => "off" }), true);
});

test("the camera takes the one code in sight and of two none", () => {
  assert.deepEqual(chosen([{ rawValue: "A" }, { rawValue: "A" }]), { code: "A", several: false });
  assert.deepEqual(chosen([{ rawValue: "A" }, { rawValue: "B" }]), { code: "", several: true });
  assert.deepEqual(chosen([]), { code: "", several: false });
});

test("a pause in the air does not cut a label in two", () => {
  let out = { state: IDLE };
  let at = 0;
  for (const char of "]d201") out = feed(out.state, char, (at += 8));
  for (const char of "10AB") out = feed(out.state, char, (at += 250));
  assert.equal(feed(out.state, "\n", at + 250).scan, "]d20110AB");
  assert.equal(settle("]d20110AB", "10AB"), "]d20110AB");
  assert.equal(settle("C-1]d20110AB", "]d20110AB"), "]d20110AB");
});

test("a key after a press by key takes the press back and a press of the hand counts at once", () => {
  const [heard, waits, button] = [{}, [], { addEventListener: (name, act) => (heard[name] = act) }];
  let done = 0;
  unhurried(button, () => done++, (go) => waits.push(go));
  heard.click({ detail: 0 });
  heard.keydown({});
  waits.pop()();
  assert.equal(done, 0);
  heard.click({ detail: 0 });
  waits.pop()();
  assert.equal(done, 1);
  heard.click({ detail: 1 });
  assert.equal(done, 2);
});

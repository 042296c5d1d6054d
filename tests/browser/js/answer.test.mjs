// Pure logic of the answer in place, of pictures for the server and of printing. Run with: node --test tests/browser/js/
import assert from "node:assert/strict";
import test from "node:test";
import { ask, isOwn, kindOf, question, usable } from "../../../inventory/static/inventory/js/answer.js";
import { chosen, hasCamera, remote } from "../../../inventory/static/inventory/js/camera.js";
import { fitted, greyed, pause } from "../../../inventory/static/inventory/js/picture.js";
import { fileOf } from "../../../inventory/static/inventory/js/print.js";
import { sent, sentBefore } from "../../../inventory/static/inventory/js/signal.js";

const GOOD = { tone: "yes", word: "Found", text: "Roll U-3.", next: "open", url: "/i/S2/" };

test("what the page still has to say yes or no to is only read", () => {
  assert.equal(kindOf({ tone: "yes", next: "submit" }), "read");
  assert.equal(kindOf({ tone: "yes", next: "open" }), "yes");
  assert.equal(kindOf({ tone: "no", next: "submit" }), "no");
  assert.equal(kindOf({ tone: "ask", next: "submit" }), "ask");
});

test("a scan leads only to pages of our own", () => {
  for (const url of ["/i/S2/", "/receive/delivery/?number=D-118"]) assert.equal(isOwn(url), true, url);
  for (const url of ["//elsewhere/", "/\\elsewhere", "/a\\b", "https://elsewhere/", "javascript:alert(1)", "", null, undefined, 7]) assert.equal(isOwn(url), false, String(url));
});

test("an answer that is not whole is none", () => {
  assert.equal(usable(GOOD), GOOD);
  assert.equal(usable({ ...GOOD, next: "stay", url: null }).next, "stay");
  for (const bad of [null, {}, { ...GOOD, tone: "maybe" }, { ...GOOD, next: "run" }, { ...GOOD, url: "//x" }, { ...GOOD, text: 7 }, { ...GOOD, word: undefined }]) assert.equal(usable(bad), null);
});

test("the question says what the page is for and what it is about", () => {
  assert.deepEqual(question({ intent: "open" }, false, "U-3"), { raw: "U-3", intent: "open", late: false });
  const said = question({ intent: "receive", delivery: "D-118", material: "GB-600" }, true, "x");
  assert.deepEqual(said, { raw: "x", intent: "receive", late: true, delivery: "D-118", material: "GB-600" });
});

function page(fields = {}) {
  return { documentElement: { dataset: { ask: "/api/scan/" } }, querySelector: (name) => fields[name] ?? null };
}

test("no network, a server in trouble and a sign-in that ended are no answer, and the form goes its own way", async () => {
  const form = { dataset: { intent: "open" }, querySelector: () => null };
  const away = async () => {
    throw new TypeError("network");
  };
  assert.equal(await ask(page(), form, "U-3", away), null);
  assert.equal(await ask(page(), form, "U-3", async () => ({ ok: false, json: async () => GOOD })), null);
  assert.equal(await ask(page(), form, "U-3", async () => ({ ok: true, json: async () => JSON.parse("<html>") })), null);
  assert.equal(await ask(page(), form, "U-3", async () => ({ ok: true, json: async () => GOOD })), GOOD);
});

test("the question carries the token and whether it already happened", async () => {
  let told;
  const form = { dataset: { intent: "part" }, querySelector: (name) => (name === '[name="already"]' ? { checked: true } : null) };
  await ask(page({ 'input[name="csrfmiddlewaretoken"]': { value: "t0" } }), form, "C-12", async (url, how) => ((told = { url, ...how }), { ok: false }));
  assert.equal(told.url, "/api/scan/");
  assert.equal(told.headers["X-CSRFToken"], "t0");
  assert.deepEqual(JSON.parse(told.body), { raw: "C-12", intent: "part", late: true });
});

test("what was signalled in place is not signalled again by the page that it led to", () => {
  const kept = {};
  sent("no", { setItem: (name, value) => (kept.value = value) }, 5, { userActivation: { hasBeenActive: true } });
  assert.deepEqual(sentBefore(kept.value), { at: 5, touched: true, told: "no" });
  sent("", { setItem: (name, value) => (kept.value = value) }, 6, {});
  assert.deepEqual(sentBefore(kept.value), { at: 6, touched: false, told: "" });
  assert.equal(Number.isNaN(sentBefore(null).at), true);
});

test("a picture for the server has at most so many dots a side and keeps its shape", () => {
  assert.deepEqual(fitted(4000, 3000, 1600), [1600, 1200]);
  assert.deepEqual(fitted(640, 480, 1024), [640, 480]);
  assert.deepEqual(fitted(9000, 2, 1600), [1600, 1]);
});

test("grey keeps white and black and takes the colours out", () => {
  assert.deepEqual([...greyed(Uint8ClampedArray.of(255, 255, 255, 255, 0, 0, 0, 255, 200, 30, 30, 255))], [255, 255, 255, 255, 0, 0, 0, 255, 81, 81, 81, 255]);
});

test("after too often the camera waits as long as it is told, within reason", () => {
  assert.deepEqual(["2", "1", "9999", null, "x", "-3"].map(pause), [2000, 1000, 10000, 1000, 1000, 1000]);
});

test("the server's reader tells a code, too often, signed out and away apart", async () => {
  const answers = (status, body = {}, after = null) => remote(page(), async () => ({ status, ok: status === 200, headers: { get: () => after }, json: async () => body }))("jpeg");
  assert.deepEqual(chosen((await answers(200, { codes: [{ text: "U-3", symbology: "QRCode" }] })).found), { code: "U-3", several: false });
  assert.deepEqual(await answers(429, {}, "3"), { found: [], wait: 3000 });
  assert.deepEqual(await answers(403), { found: [], end: "out" });
  assert.deepEqual(await answers(400), { found: [] });
  const away = remote(page(), async () => {
    throw new TypeError("network");
  });
  assert.deepEqual(await away("jpeg"), { found: [], end: "away" });
});

test("a camera is to be had only on a secure page of a browser that knows cameras", () => {
  const whole = { isSecureContext: true, navigator: { mediaDevices: { getUserMedia() {} } } };
  assert.equal(hasCamera(whole), true);
  assert.equal(hasCamera({ ...whole, isSecureContext: false }), false);
  assert.equal(hasCamera({ ...whole, navigator: {} }), false);
});

test("only a file of labels counts as printed", () => {
  assert.equal(fileOf(true, "application/pdf"), "pdf");
  assert.equal(fileOf(true, "text/plain; charset=us-ascii"), "zpl");
  assert.equal(fileOf(true, "text/html; charset=utf-8"), "");
  assert.equal(fileOf(false, "application/pdf"), "");
});

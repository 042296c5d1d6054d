// One press, one record: the key of a form, and the question before what cannot be taken back.
import assert from "node:assert/strict";
import test from "node:test";
import { mustAsk } from "../../../inventory/static/inventory/js/confirm.js";
import { freshKey } from "../../../inventory/static/inventory/js/key.js";
import { contentOf, keyFor } from "../../../inventory/static/inventory/js/once.js";

const V4 = /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

test("a key is a random UUID, also on a plain HTTP page where randomUUID is missing", () => {
  assert.match(freshKey(), V4);
  const plain = { getRandomValues: (array) => globalThis.crypto.getRandomValues(array) };
  assert.match(freshKey(plain), V4);
  assert.notEqual(freshKey(plain), freshKey(plain));
});

test("the bits that name the version are set whatever the random bytes are", () => {
  assert.equal(freshKey({ getRandomValues: (array) => array.fill(0xff) }), "ffffffff-ffff-4fff-bfff-ffffffffffff");
  assert.equal(freshKey({ getRandomValues: (array) => array.fill(0) }), "00000000-0000-4000-8000-000000000000");
});

test("the server's key is kept for the first sending", () => {
  assert.equal(keyFor("from-server", null, "[]", () => "new"), "from-server");
});

test("a form sent again unchanged keeps its key, so that it counts once", () => {
  assert.equal(keyFor("k", "same", "same", () => "new"), "k");
});

test("a form changed after it was sent gets a new key", () => {
  assert.equal(keyFor("k", "0.85", "0.90", () => "new"), "new");
});

test("a form without a key gets one", () => {
  assert.equal(keyFor("", null, "x", () => "new"), "new");
});

test("key and token are no content, files count by name and size", () => {
  const file = { name: "logger.csv", size: 12 };
  const text = contentOf([["key", "k"], ["csrfmiddlewaretoken", "t"], ["length", "0.85"], ["papers", file]]);
  assert.equal(text, '[["length","0.85"],["papers","logger.csv:12"]]');
});

test("a danger button asks once, then acts", () => {
  assert.equal(mustAsk({ confirm: "Scrap it?" }), true);
  assert.equal(mustAsk({ confirm: "Scrap it?", confirmed: "yes" }), false);
  assert.equal(mustAsk({}), false);
});

// The reader in the browser: what the page and its worker say to one another, and what the floor page's worker keeps. Run: node --test tests/browser/js/
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import vm from "node:vm";
import { NEEDED, own } from "../../../inventory/static/inventory/js/camera.js";
import { brought, ready, talk } from "../../../inventory/static/inventory/js/reader.js";

const file = (name) => readFileSync(new URL(`../../../inventory/static/inventory/js/${name}`, import.meta.url), "utf8");
const settled = () => new Promise((resolve) => setTimeout(resolve, 20));

/** A worker that says what it is told to say. */
class Said extends EventTarget {
  sent = [];
  ended = false;
  postMessage(message) {
    this.sent.push(message);
  }
  terminate() {
    this.ended = true;
  }
  say(data) {
    this.dispatchEvent(Object.assign(new Event("message"), { data }));
  }
}

test("each picture gets its own answer, in whatever order they come", async () => {
  const worker = new Said();
  const ask = talk(worker);
  const [a, b] = [ask("dots a"), ask("dots b")];
  assert.deepEqual(worker.sent, [{ id: 1, dots: "dots a" }, { id: 2, dots: "dots b" }]);
  worker.say({ id: 2, texts: ["U-3", "F1"] });
  worker.say({ id: 1, texts: [] });
  assert.deepEqual(await a, { found: [] });
  assert.deepEqual(await b, { found: [{ rawValue: "U-3" }, { rawValue: "F1" }] });
});

test("a picture that could not be read, and one that nobody answers, are told, so that somebody else is asked", async () => {
  const worker = new Said();
  const ask = talk(worker, 10);
  const failed = ask("dots");
  worker.say({ id: 1, texts: null });
  await assert.rejects(failed, /failed/);
  await assert.rejects(ask("dots"), /late/);
  worker.say({ id: 2, texts: ["too late"] });
});

test("a worker without a reader, one that breaks and one that hangs are none, and end", async () => {
  for (const [how, well] of [[(w) => w.say({ ready: true }), true], [(w) => w.say({ ready: false }), false], [(w) => w.dispatchEvent(new Event("error")), false], [() => {}, false]]) {
    const worker = new Said();
    const asked = ready(worker, 15);
    how(worker);
    assert.equal(await asked, well ? worker : null);
    assert.equal(worker.ended, !well);
  }
});

test("a browser that cannot start it is asked again the next time; one that could keeps its worker", async () => {
  const made = [];
  const win = {
    Worker: class extends Said {
      constructor(address) {
        super();
        made.push(address);
        setTimeout(() => this.say({ ready: made.length > 1 }));
      }
    },
  };
  assert.equal(await brought({}, win), null);
  const reader = await brought({}, win);
  assert.deepEqual(Object.keys(reader), ["frame", "photo"]);
  assert.equal(await brought({}, win), reader);
  assert.deepEqual(made, ["/floor/reader.js", "/floor/reader.js"]);
});

test("a browser that lacks a kind of symbol that our labels carry is no reader of them", async () => {
  const win = (formats) => ({ BarcodeDetector: class { static getSupportedFormats = async () => formats; detect = async () => [{ rawValue: "U-3" }]; } });
  assert.deepEqual(NEEDED, ["qr_code", "data_matrix", "code_128"]);
  assert.equal(await own({}), null);
  assert.equal(await own(win([])), null);
  assert.equal(await own(win(["qr_code", "code_128", "ean_13"])), null);
  assert.deepEqual(await (await own(win([...NEEDED, "pdf417"]))).frame({}), { found: [{ rawValue: "U-3" }] });
});

async function working(reader, load = () => {}) {
  const said = [];
  const self = { postMessage: (message) => said.push(structuredClone(message)), addEventListener: (_, heard) => (self.heard = heard) };
  vm.runInNewContext(file("readwork.js"), { self, importScripts: load, ZXingWASM: reader, GS1: ["]C1", "]d2"], READER: "/reader.js", WASM: "/reader.wasm" });
  await settled();
  return { said, ask: (data) => self.heard({ data }) };
}

test("the worker says what the server says: an identifier before GS1 data alone, nothing that is broken or empty", async () => {
  const seen = [
    { isValid: true, text: "0109", symbologyIdentifier: "]d2" },
    { isValid: true, text: "U-3", symbologyIdentifier: "]Q1" },
    { isValid: false, text: "half", symbologyIdentifier: "]C0" },
    { isValid: true, text: "", symbologyIdentifier: "]C0" },
  ];
  let located;
  const reader = { prepareZXingModule: async (how) => (located = how.overrides.locateFile("x.wasm", "https://elsewhere/")), readBarcodes: async (dots, how) => (how.textMode === "Plain" ? seen : []) };
  const { said, ask } = await working(reader);
  await ask({ id: 7, dots: "dots" });
  assert.equal(located, "/reader.wasm", "from here, and from nowhere else");
  assert.deepEqual(said, [{ ready: true }, { id: 7, texts: ["]d20109", "U-3"] }]);
});

test("a worker that cannot load or compile says so, and a picture that breaks the reader is told", async () => {
  const broken = await working({}, () => {
    throw new Error("network");
  });
  assert.deepEqual(broken.said, [{ ready: false }]);
  const refused = await working({ prepareZXingModule: async () => Promise.reject(new Error("the policy forbids it")) });
  assert.deepEqual(refused.said, [{ ready: false }]);
  const { said, ask } = await working({ prepareZXingModule: async () => {}, readBarcodes: async () => Promise.reject(new Error("memory")) });
  await ask({ id: 1, dots: "dots" });
  assert.deepEqual(said.at(-1), { id: 1, texts: null });
});

/** The floor page's worker with caches of its own; `net(path)` answers or throws. */
function floorWorker(version, store, late, net) {
  const heard = {};
  const opened = (name) => {
    const kept = store.get(name) ?? new Map();
    store.set(name, kept);
    const add = async (path) => kept.set(path.url ?? path, await net(path.url ?? path));
    return { match: async (path) => kept.get(path), put: async (path, what) => kept.set(path, what), add, addAll: (all) => Promise.all(all.map(add)) };
  };
  const caches = { open: async (name) => opened(name), keys: async () => [...store.keys()], delete: async (name) => store.delete(name), match: async (path) => [...store.values()].find((kept) => kept.has(path))?.get(path) };
  const self = { addEventListener: (name, what) => (heard[name] = what), skipWaiting: () => {}, clients: { claim: () => {} }, location: { origin: "https://shop.example" } };
  const Request = class { constructor(url) { this.url = url; } };
  vm.runInNewContext(file("floor/worker.js"), { self, caches, Request, URL, VERSION: version, FILES: ["/floor/"], LATE: late, wake: () => {} });
  return async (name, event = {}) => {
    const waits = [];
    heard[name]({ ...event, waitUntil: (wait) => waits.push(wait) });
    await Promise.all(waits);
    return waits.length;
  };
}

test("the floor page is kept without the reader, the reader once the page stands, and what failed is fetched the next time", async () => {
  const store = new Map();
  const asked = [];
  let whole = false;
  const net = async (path) => {
    asked.push(path);
    if (path.endsWith(".wasm") && !whole) throw new Error("network");
    return `content of ${path}`;
  };
  const late = ["/static/reader.1.js", "/static/reader.1.wasm"];
  const tell = floorWorker("v1", store, late, net);
  await tell("install");
  assert.deepEqual(asked, ["/floor/"], "what the page needs is not kept waiting by a megabyte");
  await tell("activate");
  await settled();
  const kept = () => [...store.get("selvedge-floor-v1").keys()];
  assert.deepEqual(kept(), ["/floor/", "/static/reader.1.js"]);
  whole = true;
  assert.equal(await tell("message", { data: "other" }), 0);
  await tell("message", { data: "keep" });
  assert.deepEqual(kept(), ["/floor/", ...late]);
  assert.equal(asked.filter((path) => path === late[0]).length, 1, "what is there is not fetched again");
  await tell("message", { data: "keep" });
  assert.equal(asked.length, 4);
});

test("a newer page takes the reader over from the older one, unless it is another reader", async () => {
  const store = new Map([["selvedge-floor-v1", new Map([["/static/reader.1.js", "one"], ["/static/reader.1.wasm", "big"]])], ["other", new Map()]]);
  const asked = [];
  const net = async (path) => asked.push(path) && path;
  const tell = floorWorker("v2", store, ["/static/reader.1.wasm", "/static/reader.2.js"], net);
  await tell("install");
  await tell("activate");
  await settled();
  assert.deepEqual([...store.keys()].sort(), ["other", "selvedge-floor-v2"]);
  assert.equal(store.get("selvedge-floor-v2").get("/static/reader.1.wasm"), "big");
  assert.deepEqual(asked, ["/floor/", "/static/reader.2.js"]);
});

/* A worker that reads the codes in a picture, for browsers that read none themselves. The view in front of this puts in READER and WASM,
   the addresses of what reads, and GS1, the symbols whose identifier goes before their text, as the server has them. */
/* global GS1, READER, WASM, ZXingWASM */

/** What was read, as the server would send it. */
function textsOf(seen) {
  return seen.filter((one) => one.isValid && one.text).map((one) => (GS1.includes(one.symbologyIdentifier) ? one.symbologyIdentifier + one.text : one.text));
}

async function prepared() {
  try {
    importScripts(READER);
    await ZXingWASM.prepareZXingModule({ overrides: { locateFile: () => WASM }, fireImmediately: true });
    return true;
  } catch {
    return false;
  }
}

prepared().then((ready) => self.postMessage({ ready }));

self.addEventListener("message", async ({ data: { id, dots } }) => {
  try {
    self.postMessage({ id, texts: textsOf(await ZXingWASM.readBarcodes(dots, { textMode: "Plain" })) });
  } catch {
    self.postMessage({ id, texts: null });
  }
});

/* The device's camera as a scanner. Where the browser reads codes itself, it does; elsewhere the service's own reader does, in the browser:
   both without a network. Where that is not to be had either, a grey frame goes to the server twice a second, which reads it; and where
   the camera itself is not to be had, a photo is taken or chosen. Loaded when somebody presses the button. */
import { tokenOf } from "./answer.js";
import { frame, PATIENCE_MS, pause, photo } from "./picture.js";
import { brought } from "./reader.js";
import { inWords } from "./say.js";

export const FORMATS = ["qr_code", "data_matrix", "code_128", "code_39", "ean_13", "itf"];
export const NEEDED = FORMATS.slice(0, 3); // what labels of ours and of suppliers carry: a browser that lacks one of them is no reader
const EVERY_MS = 150;
const SENT_EVERY_MS = 500;
const ADDRESS = "/api/scan/picture/";
const WORDS = {
  start: () => inWords("The camera is made ready …"),
  one: () => inWords("Hold one label in the picture."),
  several: () => inWords("Several labels are in the picture: hold one alone."),
  none: () => inWords("No code was found in the photo: take it closer, straight from the front."),
  wait: () => inWords("Reading the photo …"),
  away: () => inWords("The server does not answer, and this browser reads no codes itself: use a scanner, or type the code."),
  out: () => inWords("You are no longer signed in: sign in again, then scan."),
  shut: () => inWords("The camera cannot be used here: take a photo of the label, or type the code."),
};

/** Whether a page may use a camera here: it is a secure one, and the browser knows cameras. */
export function hasCamera(win) {
  return win.isSecureContext && Boolean(win.navigator.mediaDevices?.getUserMedia);
}

/** The code to take from one picture: the only one, or none. Two labels in sight are nobody's choice but the person's. */
export function chosen(found) {
  const codes = [...new Set(found.map((code) => code.rawValue).filter(Boolean))];
  return codes.length === 1 ? { code: codes[0], several: false } : { code: "", several: codes.length > 1 };
}

/** A reader of this browser's own, for formats that it knows; null where it has none that is of use. */
export async function own(win) {
  if (!("BarcodeDetector" in win)) return null;
  const known = await win.BarcodeDetector.getSupportedFormats();
  const formats = FORMATS.filter((format) => known.includes(format));
  if (!NEEDED.every((format) => formats.includes(format))) return null;
  const detector = new win.BarcodeDetector({ formats });
  const found = async (source) => ({ found: await detector.detect(source) });
  return { every: EVERY_MS, frame: found, photo: async (file) => found(await win.createImageBitmap(file)) };
}

/** The server as a reader. `wait`: ask again after so many ms; `end`: the name of the words that say why there is no more reading. */
export function remote(doc, get = globalThis.fetch) {
  const headers = { "Content-Type": "image/jpeg", Accept: "application/json", "X-CSRFToken": tokenOf(doc) };
  return async (body) => {
    try {
      const response = await get(ADDRESS, { method: "POST", headers, body, signal: AbortSignal.timeout(PATIENCE_MS), redirect: "error" });
      if (response.status === 401 || response.status === 403) return { found: [], end: "out" };
      if (response.status === 429) return { found: [], wait: pause(response.headers.get("Retry-After")) };
      if (!response.ok) return { found: [] };
      return { found: (await response.json()).codes.map((code) => ({ rawValue: code.text })) };
    } catch {
      return { found: [], end: "away" };
    }
  };
}

function served(doc, win) {
  const ask = remote(doc, win.fetch.bind(win));
  return { every: SENT_EVERY_MS, frame: async (video) => ask(await frame(doc, video)), photo: async (file) => ask(await photo(doc, win, file)) };
}

/** The first there is of: the browser's, ours in the browser, the server. What ours cannot read, for whatever reason, the server is asked. */
async function best(doc, win) {
  const itself = await own(win).catch(() => null);
  if (itself) return itself;
  const server = served(doc, win);
  const ours = await brought(doc, win);
  const orServer = (way) => (source) => ours[way](source).catch(() => server[way](source));
  return ours ? { every: EVERY_MS, frame: orServer("frame"), photo: orServer("photo") } : { ...server, away: true };
}

function opened(doc) {
  const dialog = doc.createElement("dialog");
  dialog.className = "question camera";
  dialog.setAttribute("aria-label", inWords("Scan with the camera"));
  const picture = Object.assign(doc.createElement("video"), { muted: true, playsInline: true, hidden: true });
  const words = doc.createElement("p");
  words.setAttribute("role", "status");
  const file = Object.assign(doc.createElement("input"), { type: "file", accept: "image/*" });
  file.setAttribute("capture", "environment");
  const label = Object.assign(doc.createElement("label"), { className: "label", hidden: true });
  label.append(inWords("Take or choose a photo of the label"), file);
  const leave = Object.assign(doc.createElement("button"), { type: "button", className: "button", textContent: inWords("Leave it"), autofocus: true });
  leave.addEventListener("click", () => dialog.close());
  dialog.append(picture, words, label, leave);
  doc.body.append(dialog);
  dialog.addEventListener("close", () => dialog.remove());
  dialog.showModal();
  return { dialog, picture, words, label, file };
}

/** Frames until one code is read. False: there is no camera to be had. */
async function watch(win, parts, reader, take) {
  const { dialog, picture, words } = parts;
  let stream;
  dialog.addEventListener("close", () => stream?.getTracks().forEach((track) => track.stop()));
  try {
    stream = await win.navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1280 } } });
    if (!dialog.open) {
      stream.getTracks().forEach((track) => track.stop());
      return true;
    }
    picture.hidden = false;
    picture.srcObject = stream;
    await picture.play();
  } catch {
    return false;
  }
  words.textContent = WORDS.one();
  while (dialog.open) {
    const { found, wait, end } = await reader.frame(picture);
    if (!dialog.open) return true;
    const { code, several } = chosen(found);
    if (code) return take(code);
    words.textContent = end ? WORDS[end]() : several ? WORDS.several() : WORDS.one();
    if (end === "out") return true;
    await new Promise((resolve) => setTimeout(resolve, wait ?? reader.every));
  }
  return true;
}

/** A photo at a time. The reader may still be on its way. */
function photos(parts, reader, take) {
  const { dialog, words, label, file } = parts;
  label.hidden = false;
  file.addEventListener("change", async () => {
    if (!file.files[0]) return;
    words.textContent = WORDS.wait();
    const { found, end } = await (await reader).photo(file.files[0]).catch(() => ({ found: [] }));
    if (!dialog.open) return;
    const { code, several } = chosen(found);
    if (code) return take(code);
    words.textContent = WORDS[end ?? (several ? "several" : "none")]();
    file.value = "";
  });
}

/** Open the camera and hand over the first code that is read. */
export async function read(doc, win, onCode) {
  const parts = opened(doc);
  const take = (code) => {
    parts.dialog.close();
    onCode(code);
    return true;
  };
  const coming = best(doc, win);
  if (!hasCamera(win)) photos(parts, coming, take);
  else if (await filmed(win, parts, coming, take)) return;
  parts.words.textContent = WORDS.shut();
}

/** The camera, and beside it photos where the server reads. False: there is no camera to be had, only photos. */
async function filmed(win, parts, coming, take) {
  parts.words.textContent = WORDS.start();
  const reader = await coming;
  if (!parts.dialog.open) return true;
  parts.words.textContent = "";
  if (reader.away) photos(parts, reader, take);
  if ((await watch(win, parts, reader, take)) || !parts.dialog.open) return true;
  if (!reader.away) photos(parts, reader, take);
  return false;
}

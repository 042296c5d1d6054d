/* The device's camera as a scanner, where the browser reads codes itself. Loaded only there, and when somebody presses the button. */
import { inWords } from "./say.js";

export const FORMATS = ["qr_code", "data_matrix", "code_128", "code_39", "ean_13", "itf"];
const EVERY_MS = 150;

/** Whether this browser can read codes with its camera: it has a reader, a camera, and the page is a secure one. */
export function canRead(win) {
  return "BarcodeDetector" in win && win.isSecureContext && Boolean(win.navigator.mediaDevices?.getUserMedia);
}

/** The code to take from one picture: the only one, or none. Two labels in sight are nobody's choice but the person's. */
export function chosen(found) {
  const codes = [...new Set(found.map((code) => code.rawValue).filter(Boolean))];
  return codes.length === 1 ? { code: codes[0], several: false } : { code: "", several: codes.length > 1 };
}

/** Open the camera and hand over the first code that it reads. */
export async function read(doc, win, onCode) {
  const dialog = doc.createElement("dialog");
  dialog.className = "question camera";
  dialog.setAttribute("aria-label", inWords("Scan with the camera"));
  const picture = Object.assign(doc.createElement("video"), { muted: true, playsInline: true });
  const words = Object.assign(doc.createElement("p"), { textContent: inWords("Hold one label in the picture.") });
  words.setAttribute("role", "status");
  const leave = Object.assign(doc.createElement("button"), { type: "button", className: "button", textContent: inWords("Leave it"), autofocus: true });
  dialog.append(picture, words, leave);
  doc.body.append(dialog);
  let stream;
  dialog.addEventListener("close", () => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    dialog.remove();
  });
  leave.addEventListener("click", () => dialog.close());
  dialog.showModal();
  try {
    const known = await win.BarcodeDetector.getSupportedFormats();
    const detector = new win.BarcodeDetector({ formats: FORMATS.filter((format) => known.includes(format)) });
    const opened = await win.navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    if (!dialog.isConnected) return opened.getTracks().forEach((track) => track.stop());
    stream = opened;
    picture.srcObject = stream;
    await picture.play();
    while (dialog.open) {
      const { code, several } = chosen(await detector.detect(picture));
      if (several) words.textContent = inWords("Several labels are in the picture: hold one alone.");
      if (code) {
        dialog.close();
        return onCode(code);
      }
      await new Promise((resolve) => setTimeout(resolve, EVERY_MS));
    }
  } catch {
    words.textContent = inWords("The camera cannot be used here: allow it for this page, or type the code.");
  }
}

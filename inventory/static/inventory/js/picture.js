/* Pictures for what reads codes: small, and for the server grey. */

export const LONGEST = { frame: 1_024, photo: 1_600 };
export const PATIENCE_MS = 5_000;
const QUALITY = 0.8;

/** A size with the longer side at most `most`, and its proportions. */
export function fitted(width, height, most) {
  const share = Math.min(1, most / Math.max(width, height, 1));
  return [Math.max(1, Math.round(width * share)), Math.max(1, Math.round(height * share))];
}

/** Make the dots grey, in place: by the weights of Rec. 601 for luma, as JPEG takes them. */
export function greyed(dots) {
  for (let n = 0; n < dots.length; n += 4) {
    dots[n] = dots[n + 1] = dots[n + 2] = (dots[n] * 77 + dots[n + 1] * 150 + dots[n + 2] * 29) >> 8;
  }
  return dots;
}

/** How long to wait after "too often", in ms: what the server says, within reason. */
export function pause(said) {
  const seconds = Number.parseInt(said, 10);
  return Number.isFinite(seconds) && seconds > 0 ? Math.min(seconds, 10) * 1_000 : 1_000;
}

/** A source drawn at most so large, and its dots. */
function drawn(doc, source, width, height, most) {
  const canvas = doc.createElement("canvas");
  [canvas.width, canvas.height] = fitted(width, height, most);
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(source, 0, 0, canvas.width, canvas.height);
  return { canvas, pen, dots: pen.getImageData(0, 0, canvas.width, canvas.height) };
}

function jpeg({ canvas, pen, dots }) {
  greyed(dots.data);
  pen.putImageData(dots, 0, 0);
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
}

const drawnFrame = (doc, video) => drawn(doc, video, video.videoWidth, video.videoHeight, LONGEST.frame);

async function drawnPhoto(doc, win, file) {
  const image = await win.createImageBitmap(file);
  return drawn(doc, image, image.width, image.height, LONGEST.photo);
}

/** The dots of a frame of the camera. */
export const frameDots = (doc, video) => drawnFrame(doc, video).dots;

/** The dots of a photo, however large. */
export const photoDots = async (doc, win, file) => (await drawnPhoto(doc, win, file)).dots;

/** A frame of the camera as a small grey JPEG. */
export const frame = (doc, video) => jpeg(drawnFrame(doc, video));

/** A photo, however large, as a grey JPEG that the server takes. */
export const photo = async (doc, win, file) => jpeg(await drawnPhoto(doc, win, file));

/* What a scan's answer sounds and feels like: a short tone and, where the device can, a vibration. Never the only sign: the page says
   it in word, shape and colour. The switch stands in the frame and is kept in this browser. */

const MUTE = "scan sounds";
const AFTER = "scan sent";
export const FRESH_MS = 15_000; // an answer that arrives later is no answer to this scan

/** Tones as [hertz, from ms, for ms], and a vibration pattern in ms. Low and long for no, so that it is known without looking. */
export const SIGNALS = {
  heard: { tones: [[1320, 0, 35]], buzz: [15] },
  yes: { tones: [[880, 0, 70], [1320, 80, 90]], buzz: [40] },
  ask: { tones: [[660, 0, 90], [660, 150, 90]], buzz: [40, 70, 40] },
  no: { tones: [[220, 0, 350]], buzz: [250] },
};

/** What a page answers: its own word first, then a verdict, then its banners; "" where it answers nothing. */
export function answerOf(found) {
  if (found.answer in SIGNALS) return found.answer;
  if (found.verdictNo || found.notUnderstood) return "no";
  if (found.verdictAsk || found.warning) return "ask";
  return found.verdictYes || found.success ? "yes" : "";
}

/** Whether an answer belongs to the scan that was sent last. */
export function isFresh(sentAt, now) {
  return Number.isFinite(sentAt) && now >= sentAt && now - sentAt < FRESH_MS;
}

export function isMuted(store) {
  return store.getItem(MUTE) === "off";
}

let audio;

/** What makes tones, or nothing. To open it takes a browser up to a quarter of a second. */
function opened() {
  if (!audio && globalThis.AudioContext) audio = new AudioContext();
  return audio;
}

function play(tones) {
  if (!opened()) return;
  if (audio.state === "suspended") audio.resume().catch(() => undefined);
  for (const [hertz, from, length] of tones) {
    const [tone, level, at] = [audio.createOscillator(), audio.createGain(), audio.currentTime + from / 1000];
    tone.frequency.value = hertz;
    level.gain.setValueAtTime(0.12, at);
    level.gain.exponentialRampToValueAtTime(0.001, at + length / 1000);
    tone.connect(level).connect(audio.destination);
    tone.start(at);
    tone.stop(at + length / 1000);
  }
}

/** Give a signal, unless it is switched off. Browsers let a page sound only after somebody has touched it, or (`touched`) the one before. */
export function signal(kind, store = globalThis.localStorage, device = globalThis.navigator, touched = false) {
  if (!(kind in SIGNALS) || isMuted(store)) return;
  const active = Boolean(device.userActivation?.hasBeenActive);
  try {
    if (active || touched) play(SIGNALS[kind].tones);
    if (active) device.vibrate?.(SIGNALS[kind].buzz);
  } catch {
    // no sound is no fault: the page says it as well
  }
}

/** A scan goes off to the server: the page that answers gives the signal, unless it says what was signalled already (`told`). */
export function sent(told = "", store = globalThis.sessionStorage, now = Date.now(), device = globalThis.navigator) {
  store.setItem(AFTER, `${now} ${device.userActivation?.hasBeenActive ? "touched" : "-"} ${told}`);
}

/** What was kept of the scan that led here. */
export function sentBefore(kept) {
  const [at, touched, told] = (kept ?? "NaN").split(" ");
  return { at: Number(at), touched: touched === "touched", told: told ?? "" };
}

function start(doc, win) {
  const { at, touched, told } = sentBefore(win.sessionStorage.getItem(AFTER));
  win.sessionStorage.removeItem(AFTER);
  if (isFresh(at, Date.now())) {
    const there = (selector) => Boolean(doc.querySelector(selector));
    const answer = answerOf({
      answer: doc.querySelector("main [data-answer]")?.dataset.answer,
      verdictNo: there("main .verdict-no"),
      verdictAsk: there("main .verdict-ask"),
      verdictYes: there("main .verdict-yes"),
      notUnderstood: there("main [data-not-understood]"),
      warning: there("main .banner[role=alert]"),
      success: there("main .banner") || there("main h1"),
    });
    if (answer !== told) signal(answer, win.localStorage, win.navigator, touched && doc.referrer.startsWith(win.location.origin));
  }
  // opened with the first key or touch, so that the first answer does not wait for it
  const ahead = () => setTimeout(() => isMuted(win.localStorage) || opened());
  for (const kind of ["keydown", "pointerup"]) doc.addEventListener(kind, ahead, { once: true, capture: true });
  const button = doc.querySelector("[data-sounds]");
  if (!button) return;
  const show = () => {
    button.setAttribute("aria-pressed", String(!isMuted(win.localStorage)));
    button.hidden = false;
  };
  button.addEventListener("click", () => {
    win.localStorage.setItem(MUTE, isMuted(win.localStorage) ? "on" : "off");
    show();
    signal("yes");
  });
  show();
}

if (typeof document !== "undefined") start(document, window);

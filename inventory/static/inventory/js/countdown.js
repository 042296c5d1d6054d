/* The pot's remaining time. Computed from the two instants at every beat, so a tablet that slept shows the truth when it wakes. */
import { inWords } from "./say.js";
import { serverClock } from "./clock.js";

const ENDING_MS = 5 * 60_000;

/** "1:05:09", "24:10", "0:07": what is left, rounded down, so that it never promises a second that is not there. */
export function clockFace(leftMs) {
  const all = Math.max(0, Math.floor(leftMs / 1000));
  const [h, m, s] = [Math.floor(all / 3600), Math.floor(all / 60) % 60, all % 60];
  const two = (n) => String(n).padStart(2, "0");
  return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** What to show: {face, phase: "running" | "ending" | "over"}. Over is at exactly the stop time. */
export function reading(stopUs, nowMs, stopWord) {
  const left = stopUs / 1000 - nowMs;
  if (left <= 0) return { face: stopWord, phase: "over" };
  return { face: clockFace(left), phase: left <= ENDING_MS ? "ending" : "running" };
}

/** What to say aloud at this beat, or "": once at five minutes, once at one minute, once at the end. */
export function announcement(lastLeftMs, leftMs, stopWord) {
  if (lastLeftMs > 0 && leftMs <= 0) return stopWord;
  for (const minutes of [1, 5]) {
    if (lastLeftMs > minutes * 60_000 && leftMs <= minutes * 60_000 && leftMs > 0) return inWords("{minutes} min", { minutes });
  }
  return "";
}

/** The boxes are looked for at every beat, and so is the server's time: a page that keeps itself fresh brings new ones. */
function start(doc) {
  if (!doc.querySelector("[data-stop-us], [data-fresh-s]")) return;
  const root = doc.documentElement;
  let [made, now, last] = [root.dataset.nowUs, serverClock(root), new Map()];
  const beat = () => {
    if (made !== root.dataset.nowUs) [made, now] = [root.dataset.nowUs, serverClock(root)];
    const lefts = new Map();
    for (const [n, box] of doc.querySelectorAll("[data-stop-us]").entries()) {
      const stopUs = Number(box.dataset.stopUs);
      const nowMs = now();
      const { face, phase } = reading(stopUs, nowMs, box.dataset.stopWord);
      const left = box.querySelector(".countdown-left");
      if (left.textContent !== face) left.textContent = face;
      box.classList.toggle("ending", phase === "ending");
      box.classList.toggle("over", phase === "over");
      const [key, leftMs] = [`${n} ${stopUs}`, stopUs / 1000 - nowMs];
      const say = announcement(last.get(key) ?? leftMs, leftMs, box.dataset.stopWord);
      if (say) box.querySelector("[data-countdown-say]").textContent = say;
      lefts.set(key, leftMs);
    }
    last = lefts;
  };
  beat();
  setInterval(beat, 500);
  doc.addEventListener("visibilitychange", beat);
}

if (typeof document !== "undefined") start(document);

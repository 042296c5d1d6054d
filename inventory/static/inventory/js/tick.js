/* Ages beside instants ("3 min ago"), kept fresh. The instant itself stands in the page; this only helps. */
import { inWords } from "./say.js";
import { serverClock } from "./clock.js";

/** How long ago, in the trade's hours; "" for the future and for what is older than four days (the date says it better). */
export function ageWords(atUs, nowMs) {
  const minutes = Math.floor((nowMs - atUs / 1000) / 60_000);
  if (minutes < 0) return "";
  if (minutes === 0) return inWords("just now");
  if (minutes < 60) return inWords("{minutes} min ago", { minutes });
  const hours = Math.floor(minutes / 60);
  if (hours >= 96) return "";
  return inWords("{hours} h {minutes} ago", { hours, minutes: String(minutes % 60).padStart(2, "0") });
}

function start(doc) {
  const spots = [...doc.querySelectorAll("[data-age-us]")];
  if (!spots.length) return;
  const now = serverClock(doc.documentElement);
  const beat = () => {
    for (const spot of spots) spot.textContent = ageWords(Number(spot.dataset.ageUs), now());
  };
  beat();
  setInterval(beat, 20_000);
  doc.addEventListener("visibilitychange", beat);
}

if (typeof document !== "undefined") start(document);

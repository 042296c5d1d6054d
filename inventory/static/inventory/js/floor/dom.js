/* Elements, and what a hand in a glove hears and feels. */

/** el("p", {class: "x"}, "text", child): text is never markup. */
export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

export function fill(id, ...children) {
  document.getElementById(id).replaceChildren(...children.flat().filter(Boolean));
}

let audio = null;

/** One high tone for yes, two low ones for no; a short or a long shake. */
export function signal(good) {
  try {
    navigator.vibrate?.(good ? 60 : [160, 80, 160]);
    audio ??= new AudioContext();
    for (const [start, pitch] of good ? [[0, 1320]] : [[0, 330], [0.22, 330]]) {
      const tone = audio.createOscillator();
      const level = audio.createGain();
      level.gain.value = 0.15;
      tone.frequency.value = pitch;
      tone.connect(level).connect(audio.destination);
      tone.start(audio.currentTime + start);
      tone.stop(audio.currentTime + start + 0.14);
    }
  } catch {
    /* no sound here; the words and the shape say it too */
  }
}

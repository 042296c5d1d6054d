/* What scripts say, in the language of the page: its words stand there as data, by their English. English is what stands in the code. */
let table = {};

/** From here on these words stand for the English ones. */
export function learn(words) {
  table = words ?? {};
}

/** A template with its figures, in the language of the page: inWords("{n} to send", { n: 3 }). */
export function inWords(template, figures = {}) {
  return (table[template] || template).replace(/\{(\w+)\}/g, (hole, name) => (name in figures ? String(figures[name]) : hole));
}

if (typeof document !== "undefined") learn(JSON.parse(document.querySelector('meta[name="words"]')?.content || "{}"));

/* The answer to a scan, in its place below the box: colour, shape, word and sentence, as soon as the server has said what it is. Only
   then the page goes on. Where no answer comes in time, the form is sent as it is without script, and the page that comes answers. */

export const ASK_MS = 3_000;
const TONES = new Set(["yes", "ask", "no"]);
const NEXT = new Set(["open", "submit", "stay"]);
/** The shape and the tone of colour for each kind of answer. */
export const LOOK = { yes: ["tick", "fit"], ask: ["diamond", "soon"], no: ["octagon", "stop"], read: ["dot", "cold"] };

/** What kind of answer it is. Where the page still has to say yes or no, the scan is only read. */
export function kindOf({ tone, next }) {
  return tone === "yes" && next === "submit" ? "read" : tone;
}

/** Whether an address is one of our own pages. */
export function isOwn(url) {
  return typeof url === "string" && /^\/(?![/\\])/.test(url) && !url.includes("\\");
}

/** The question for the server: what was scanned, and what the form is for. */
export function question(data, late, raw) {
  const asked = { raw, intent: data.intent, late };
  for (const name of ["delivery", "material"]) if (data[name]) asked[name] = data[name];
  return asked;
}

/** An answer that can be used, or null. */
export function usable(said) {
  if (!said || !TONES.has(said.tone) || !NEXT.has(said.next) || typeof said.text !== "string" || typeof said.word !== "string") return null;
  return said.next === "open" && !isOwn(said.url) ? null : said;
}

/** The token against forged requests, which every page with a person on it carries. */
export function tokenOf(doc) {
  return doc.querySelector('input[name="csrfmiddlewaretoken"]')?.value ?? doc.documentElement.dataset.csrf ?? "";
}

/** Ask what this scan is. Null: no answer came, or none that can be used. */
export async function ask(doc, form, raw, get = globalThis.fetch) {
  const late = Boolean(form.querySelector('[name="already"]')?.checked);
  try {
    const response = await get(doc.documentElement.dataset.ask, {
      method: "POST",
      headers: { "Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": tokenOf(doc) },
      body: JSON.stringify(question(form.dataset, late, raw)),
      signal: AbortSignal.timeout(ASK_MS),
      redirect: "error",
    });
    return response.ok ? usable(await response.json()) : null;
  } catch {
    return null;
  }
}

/** The place of the answer. It is there from the beginning, so that a screen reader hears what comes into it. */
export function prepare(doc, form) {
  const spot = form.querySelector("[data-scan-say]");
  if (!spot || form.querySelector("[data-scan-answer]")) return;
  const box = doc.createElement("div");
  box.dataset.scanAnswer = "";
  box.setAttribute("aria-live", "assertive");
  spot.after(box);
}

function shape(doc, name) {
  const drawn = doc.getElementById("scan-shapes")?.content.querySelector(`[data-shape="${name}"] svg`);
  return drawn ? doc.importNode(drawn, true) : "";
}

function told(doc, reasons) {
  const list = doc.createElement("ul");
  list.className = "reasons";
  for (const reason of reasons) list.append(Object.assign(doc.createElement("li"), { textContent: reason.text }));
  return list;
}

/** Show it. Everything is set as text: what stands on a label is never markup. */
export function show(doc, form, answer) {
  const box = form.querySelector("[data-scan-answer]");
  if (!box) return;
  const [drawing, tone] = LOOK[kindOf(answer)];
  const word = doc.createElement("p");
  word.className = "banner-word";
  word.append(shape(doc, drawing), Object.assign(doc.createElement("span"), { textContent: answer.word }));
  const parts = [word, Object.assign(doc.createElement("p"), { textContent: answer.text })];
  if (answer.told?.length) parts.push(told(doc, answer.told));
  if (answer.next === "stay" && answer.read && !answer.text.includes(answer.read)) {
    parts.push(Object.assign(doc.createElement("p"), { className: "code read", textContent: answer.read.slice(0, 200) }));
  }
  box.className = `scan-answer tone-${tone}`;
  box.replaceChildren(...parts);
}

export function hide(form) {
  const box = form.querySelector("[data-scan-answer]");
  if (!box) return;
  box.className = "";
  box.replaceChildren();
}

/* The scan box. A scanner is a keyboard: fast keys, then Enter. This module hands such a burst to the page's scan box wherever the
   focus is, unless a person is in another text field (then the field gets it, as with any keyboard). The focus is never pulled
   away: someone who moves by keyboard keeps their place. A scan never presses a button and never answers a question. */

export const FAST_MS = 80; // between two keys of one scan; people type slower (common practice, no source)
export const LEAST = 2; // places have codes as short as F1
export const DOUBLE_MS = 2_000; // the same code again within this time is one read

const CONTROLS = { "]": "\u001d", "^": "\u001e", "\\": "\u001c" }; // group, record and file separator, sent as Ctrl + key

/** The character that a key event stands for in a burst, "\n" for its end, "" for keys that do not count. */
export function charOf({ key, ctrlKey = false, altKey = false, metaKey = false }) {
  if (key === "Enter") return "\n";
  if (ctrlKey && !altKey && !metaKey) return CONTROLS[key] ?? "";
  if (altKey || metaKey || key === undefined) return "";
  return [...key].length === 1 ? key : "";
}

export const IDLE = Object.freeze({ text: "", at: -Infinity });

/**
 * Feed one character. Returns {state, scan, fast}: `scan` is the whole code when the burst has just ended with Enter, else null;
 * `fast` says that this key belongs to a burst, so that it must not also act where the focus is.
 */
export function feed(state, char, atMs) {
  const follows = atMs - state.at <= FAST_MS;
  if (char === "") return { state, scan: null, fast: follows && state.text.length > 0 };
  if (char === "\n") {
    const scan = follows && state.text.length >= LEAST ? state.text : null;
    return { state: IDLE, scan, fast: scan !== null };
  }
  return { state: { text: (follows ? state.text : "") + char, at: atMs }, scan: null, fast: follows };
}

/** What the box holds after a scan into it: the code alone, without what stood there half typed before. */
export function settle(value, scan) {
  return scan !== null && value.endsWith(scan) ? scan : value;
}

/** Whether this is the same code read twice at once. `last` is {code, at} or null. */
export function isDouble(last, code, atMs) {
  return Boolean(last) && last.code === code && atMs >= last.at && atMs - last.at < DOUBLE_MS;
}

function isTextField(element) {
  if (!element) return false;
  if (element.isContentEditable || element.tagName === "TEXTAREA") return true;
  return element.tagName === "INPUT" && !/^(checkbox|radio|button|submit|reset|file|range|color|image)$/.test(element.type);
}

function scanForm(doc) {
  return doc.querySelector("main form[data-scan]") ?? doc.querySelector("form[data-scan]");
}

function boxOf(form) {
  return form.querySelector('input:not([type="hidden"])');
}

function say(form, words) {
  const spot = form?.querySelector("[data-scan-say]");
  if (spot) spot.textContent = words;
}

function readLast(store, form) {
  try {
    return JSON.parse(store.getItem(`scan ${form.getAttribute("action")}`));
  } catch {
    return null;
  }
}

function onKey(doc, keep, event) {
  if (event.isComposing) return;
  const target = event.target;
  const own = target.closest?.("form[data-scan]");
  const char = charOf(event);
  const { state, scan, fast } = feed(keep.state, char, event.timeStamp);
  keep.state = state;
  const inBox = own && target === boxOf(own);
  if (inBox) {
    if (char in { "\u001d": 1, "\u001e": 1, "\u001c": 1 }) {
      event.preventDefault();
      target.setRangeText(char, target.selectionStart, target.selectionEnd, "end");
    } else if (char === "\n") target.value = settle(target.value, scan);
    return;
  }
  if (isTextField(target)) return;
  if (state.text.length === 1) keep.choice = target.tagName === "SELECT" ? [target, target.value] : null;
  if (fast) event.preventDefault(); // a burst does not scroll, tick, choose or press
  if (scan === null) return;
  if (keep.choice) keep.choice[0].value = keep.choice[1];
  deliver(doc, scan);
}

function deliver(doc, scan) {
  const form = scanForm(doc);
  if (doc.querySelector("dialog[open]")) {
    say(form, "Scan left out: answer the question first.");
    return;
  }
  if (!form) return;
  boxOf(form).value = scan;
  form.requestSubmit();
}

function onSubmit(store, event) {
  const form = event.target;
  if (!form.matches?.("form[data-scan]")) return;
  if (form.dataset.sending === "yes") {
    event.preventDefault();
    event.stopImmediatePropagation();
    say(form, "Not taken: the last scan is still on its way. Scan again.");
    return;
  }
  if (!("once" in form.dataset)) return;
  const code = boxOf(form).value.trim();
  const at = Date.now();
  if (isDouble(readLast(store, form), code, at)) {
    event.preventDefault();
    event.stopImmediatePropagation();
    boxOf(form).value = "";
    say(form, `${code.slice(0, 40)} was read twice; counted once.`);
    return;
  }
  store.setItem(`scan ${form.getAttribute("action")}`, JSON.stringify({ code, at }));
}

function start(doc, store) {
  const keep = { state: IDLE, choice: null };
  doc.addEventListener("keydown", (event) => onKey(doc, keep, event), true);
  // a space that belongs to a burst would press a focused button when the key comes up again
  doc.addEventListener("keyup", (event) => {
    if (event.key === " " && keep.state.text.length > 1 && !isTextField(event.target)) event.preventDefault();
  }, true);
  doc.addEventListener("submit", (event) => onSubmit(store, event), true);
}

if (typeof document !== "undefined") start(document, window.sessionStorage);

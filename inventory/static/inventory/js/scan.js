/* The scan box. A scanner is a keyboard: fast keys, then Enter. This module hands such a burst to the page's scan box wherever the
   focus is, unless a person is in another text field: then the field gets it, as with any keyboard. What no such field wants goes to the
   box all the same: a supplier's label, a name where a figure is asked for, and one of our own codes in the fields beside the box. The
   focus is never pulled away: someone who moves by keyboard keeps their place; F2 goes to the box. A scan never presses a button and never
   answers a question. */
import { inWords } from "./say.js";
import { read as spelled } from "./floor/codes.js";
import { sent, signal } from "./signal.js";

export const FAST_MS = 80; // between two keys of one scan; people type slower (common practice, no source)
export const LABEL_MS = 300; // once it begins as a label, which nobody types: a pause in the air must not cut it in two
export const ONE_HAND_MS = 1_000; // a burst that follows a key sooner than this ends what the same hand types: fingers are fast too, by twos and threes
export const LEAST = 2; // places have codes as short as F1
export const DOUBLE_MS = 2_000; // the same code again within this time is one read

// group, record and file separator and end of transmission, sent as Ctrl + key; line feed and carriage return end a scan as Enter does
const CONTROLS = { "]": "\u001d", "^": "\u001e", "6": "\u001e", "\\": "\u001c", d: "\u0004", j: "\n", m: "\n" };

/** The character that a key event stands for in a burst, "\n" for its end, "" for keys that do not count. */
export function charOf({ key, ctrlKey = false, altKey = false, metaKey = false }) {
  if (key === "Enter") return "\n";
  if (ctrlKey && !altKey && !metaKey) return CONTROLS[key] ?? CONTROLS[key?.toLowerCase()] ?? "";
  if (altKey || metaKey || key === undefined) return "";
  return [...key].length === 1 ? key : "";
}

export const IDLE = Object.freeze({ text: "", at: -Infinity, after: Infinity });

/**
 * Feed one character. Returns {state, scan, fast, alone}: `scan` is the whole code when the burst has just ended with Enter, else null;
 * `fast` says that this key belongs to a burst, so that it must not also act where the focus is; `alone` that nothing was typed just
 * before the burst, so that what stands in the box is older.
 */
export function feed(state, char, atMs) {
  const follows = atMs - state.at <= (beginsLabel(state.text) ? LABEL_MS : FAST_MS);
  if (char === "") return { state, scan: null, fast: follows && state.text.length > 0 };
  if (char === "\n") {
    const scan = follows && state.text.length >= LEAST ? state.text : null;
    return { state: IDLE, scan, fast: scan !== null, alone: state.after >= ONE_HAND_MS };
  }
  const after = follows ? state.after : atMs - state.at;
  return { state: { text: (follows ? state.text : "") + char, at: atMs, after }, scan: null, fast: follows };
}

/** Whether a text begins as a supplier's label does: a symbology identifier, an envelope, an article number, a link with one. */
export function beginsLabel(text) {
  return (
    /^\][A-Za-z][0-9A-Za-z]/.test(text) ||
    text.startsWith("[)>") ||
    /^\(?(?:01|02)\)?\d{14}/.test(text) ||
    /^\(?00\)?\d{18}/.test(text) ||
    /^https?:\/\/\S+\/(?:01|8006)\/\d{8}/i.test(text)
  );
}

/** Whether a text is a supplier's label by its shape: it begins as one, or has a separator in it. */
export function isLabel(text) {
  return beginsLabel(text) || /[\u001d\u001e]/.test(text);
}

/** Whether a whole scan cannot be meant for the field that has the focus: it is for a figure, and what was read begins with a letter. */
export function isNoFigure(inputMode, scan) {
  return inputMode === "decimal" && /^[A-Za-z]/.test(scan);
}

/** Control characters made visible, for words on the page. */
export function visible(text) {
  return text.replace(/[\u0000-\u001f]/g, (ch) => String.fromCharCode(0x2400 + ch.charCodeAt(0)));
}

/** What the box holds after a scan into it: the code alone, without what stood there half typed before; but a label that the
    scanner sent with a pause in it stays whole. A scan that began before the page had put the focus into the box is whole as well. */
export function settle(value, scan) {
  if (scan !== null && scan.endsWith(value)) return scan;
  if (scan === null || !value.endsWith(scan)) return value;
  return beginsLabel(value) && !beginsLabel(scan) ? value : scan;
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
  return form.querySelector("[data-scan-box]") ?? form.querySelector('input:not([type="hidden"])');
}

function say(form, words) {
  const spot = form?.querySelector("[data-scan-say]");
  if (spot) spot.textContent = words;
}

const LAST = "scan last";
let answers = null; // answer.js, on pages whose boxes are answered in place

function canAsk(doc, form) {
  return Boolean(answers && doc.documentElement.dataset.ask && form.dataset.intent);
}

/** The last scan of this tab, on whichever page: a double read may arrive where the first has led. */
function readLast(store) {
  try {
    return JSON.parse(store.getItem(LAST));
  } catch {
    return null;
  }
}

function onKey(doc, keep, event) {
  if (event.isComposing) return;
  const target = event.target;
  const own = target.closest?.("form[data-scan]");
  const char = charOf(event);
  const { state, scan, fast, alone } = feed(keep.state, char, event.timeStamp);
  keep.state = state;
  const control = char !== "" && char < " " && char !== "\n";
  if (own && target === boxOf(own)) {
    if (control && (fast || event.key === "]")) {
      event.preventDefault();
      target.setRangeText(char, target.selectionStart, target.selectionEnd, "end");
    } else if (char === "\n") {
      target.value = settle(target.value, alone ? scan : null);
      if (event.key !== "Enter" && scan !== null) {
        event.preventDefault(); // Ctrl+J and Ctrl+M are the browser's own; at the end of a scan they are its Enter
        send(own);
      } else if (own.querySelector("[data-scan-go]") && target.value) {
        event.preventDefault(); // else the form's first button would be pressed
        send(own);
      }
    }
    return;
  }
  if (isTextField(target)) {
    if (state.text.length === 1) keep.field = [target, target.value];
    if (scan !== null && own) sent(); // the page that answers gives the signal, whichever field took the scan
    if (scan !== null && "scanWhole" in target.dataset) target.value = settle(target.value, scan);
    if (fast && (control || (char === "\n" && event.key !== "Enter"))) event.preventDefault();
    const astray = scan !== null && isNoFigure(target.inputMode, scan) && doc.querySelector("main form[data-scan]");
    const strange = scan !== null && (isLabel(scan) || (own && spelled(scan).code !== null)); // no word for this field
    if (!(strange || astray) || !scanForm(doc) || keep.field?.[0] !== target) return;
    event.preventDefault();
    target.value = keep.field[1];
    deliver(doc, scan);
    return;
  }
  if (state.text.length === 1) keep.choice = target.tagName === "SELECT" ? [target, target.value] : null;
  if (fast) event.preventDefault(); // a burst does not scroll, tick, choose or press
  if (scan === null) return;
  if (keep.choice) keep.choice[0].value = keep.choice[1];
  deliver(doc, scan);
}

function deliver(doc, scan) {
  const form = scanForm(doc);
  if (doc.querySelector("dialog[open]")) {
    say(form, inWords("Scan left out: answer the question first."));
    signal("no");
    return;
  }
  if (!form) return;
  deliverTo(form, scan);
}

/** Off with it: by the button that reads, where the form has one of its own for that. */
function send(form) {
  const go = form.querySelector("[data-scan-go]");
  if (go) form.requestSubmit(go);
  else form.requestSubmit();
}

/** The scan was heard: told at once, before the server has answered. A page that answers by itself, without going anywhere, has done
    so when the event is over. */
function heard(form, code, event) {
  say(form, inWords("Read: {code} …", { code: visible(code).slice(0, 60) }));
  form.classList.add("heard");
  signal("heard");
  setTimeout(() => {
    if (!event.defaultPrevented) return;
    say(form, "");
    form.classList.remove("heard");
  });
  sent();
}

function stop(event, form, words) {
  event.preventDefault();
  event.stopImmediatePropagation();
  if (words) say(form, words);
}

function onSubmit(doc, win, event) {
  const form = event.target;
  if (!form.matches?.("form[data-scan]") || form.dataset.answered === "yes") return;
  const code = boxOf(form).value.trim();
  const asks = canAsk(doc, form);
  const at = Date.now();
  if (code && (asks || "once" in form.dataset) && isDouble(readLast(win.sessionStorage), code, at)) {
    boxOf(form).value = form.dataset.asking ?? "";
    stop(event, form, inWords("{code} was read twice; counted once.", { code: visible(code).slice(0, 40) }));
    return;
  }
  if (form.dataset.sending === "yes" || form.dataset.asking) {
    stop(event, form, inWords("Not taken: the last scan is still on its way. Scan again."));
    signal("no");
    return;
  }
  if (!code) return;
  if (asks || "once" in form.dataset) win.sessionStorage.setItem(LAST, JSON.stringify({ code, at }));
  if (asks) {
    stop(event, form, "");
    answerTo(doc, win, form, code, event.submitter);
  } else heard(form, code, event);
}

/** Ask what it is, say it in its place, and only then go on: to its page, or to the server with the form, by the button that was pressed. */
async function answerTo(doc, win, form, code, submitter) {
  form.dataset.asking = code;
  answers.hide(form);
  say(form, inWords("Read: {code} …", { code: visible(code).slice(0, 60) }));
  form.classList.add("heard");
  signal("heard");
  const answer = await answers.ask(doc, form, code);
  delete form.dataset.asking;
  form.classList.remove("heard");
  say(form, "");
  if (answer) answers.show(doc, form, answer);
  const kind = answer ? answers.kindOf(answer) : "read";
  if (kind !== "read") signal(kind);
  if (doc.querySelector("dialog[open]")) {
    say(form, inWords("Scan left out: answer the question first."));
    return;
  }
  boxOf(form).value = code;
  if (answer?.next === "stay") {
    boxOf(form).select();
    return;
  }
  sent(kind === "read" ? "" : kind);
  if (answer?.next === "open") win.location.assign(answer.url);
  else goOn(form, submitter);
}

function goOn(form, submitter) {
  form.dataset.answered = "yes";
  form.requestSubmit(submitter);
  delete form.dataset.answered;
}

/** F2 goes to the box, with what stands in it chosen, so that the next scan takes its place. */
function toBox(doc, event) {
  const form = event.key === "F2" && !event.altKey && !event.ctrlKey && !event.metaKey ? scanForm(doc) : null;
  if (!form || doc.querySelector("dialog[open]")) return;
  event.preventDefault();
  boxOf(form).focus();
  boxOf(form).select();
}

/** A button for the camera beside each large box. What it needs is loaded when it is pressed. */
function cameras(doc, win) {
  for (const form of doc.querySelectorAll("main form[data-scan]")) {
    if (!boxOf(form)) continue;
    const button = Object.assign(doc.createElement("button"), { type: "button", className: "button", textContent: inWords("Camera") });
    button.addEventListener("click", async () => {
      const { read } = await import("./camera.js");
      read(doc, win, (code) => deliverTo(form, code));
    });
    boxOf(form).after(button);
  }
}

function deliverTo(form, code) {
  boxOf(form).value = code;
  send(form);
}

/** Where a page's boxes are answered in place: what that needs, and an answer that goes when it is over. */
async function answered(doc, win) {
  answers = await import("./answer.js");
  const asking = [...doc.querySelectorAll("form[data-scan]")].filter((form) => canAsk(doc, form));
  for (const form of asking) {
    answers.prepare(doc, form);
    form.addEventListener("input", () => answers.hide(form));
  }
  doc.addEventListener("keydown", (event) => event.key === "Escape" && asking.forEach(answers.hide));
  win.addEventListener("pageshow", (event) => event.persisted && asking.forEach(answers.hide)); // from the browser's page cache
}

function start(doc, win) {
  const keep = { state: IDLE, choice: null, field: null };
  cameras(doc, win);
  if (doc.documentElement.dataset.ask) answered(doc, win);
  doc.addEventListener("keydown", (event) => toBox(doc, event));
  doc.addEventListener("keydown", (event) => onKey(doc, keep, event), true);
  // a space that belongs to a burst would press a focused button when the key comes up again
  doc.addEventListener("keyup", (event) => {
    if (event.key === " " && keep.state.text.length > 1 && !isTextField(event.target)) event.preventDefault();
  }, true);
  doc.addEventListener("submit", (event) => onSubmit(doc, win, event), true);
  // who does something else in between reads on purpose
  const anew = () => win.sessionStorage.removeItem(LAST);
  doc.addEventListener("submit", (event) => event.target.matches?.("form[data-scan]") || anew(), true);
  doc.addEventListener("click", (event) => event.target.closest?.("a[href]") && anew(), true);
}

if (typeof document !== "undefined") start(document, window);

/* A page that stays while it is scanned into. What a form marked data-stay sends goes off in the background, one after another, and only
   the parts of the page that say something new (data-part) are put in. So the next scan need not wait for the last answer, and none is
   lost between two pages. After a refusal what was scanned behind it is not sent, since a figure would belong to something else.
   Without script the form goes to the server as any other. */
import { inWords } from "./say.js";
import { freshKey } from "./key.js";
import { answerOf, signal } from "./signal.js";

/** What still goes off after an answer, and what is told as not taken. */
export function after(waiting, ok) {
  return ok ? { send: waiting, lost: [] } : { send: [], lost: waiting };
}

/** The sentence about what was scanned behind a refusal. */
export function notTaken(codes) {
  const named = codes.filter(Boolean);
  if (!named.length) return "";
  return inWords("Not taken: {named}{length}. Scan again.", { named: named.slice(0, 5).join(", "), length: named.length > 5 ? inWords(" and {length} more", { length: named.length - 5 }) : "" });
}

function boxOf(doc) {
  return doc.querySelector("main form[data-scan] input.code");
}

function say(doc, words) {
  const spot = doc.querySelector("main form[data-scan] [data-scan-say]");
  if (spot) spot.textContent = words;
}

/** Put what is new into the page; the box keeps what stands in it, and the focus stays where it was. */
function put(doc, win, response, found) {
  for (const part of doc.querySelectorAll("[data-part]")) {
    const news = found.querySelector(`[data-part="${part.dataset.part}"]`);
    const held = part.contains(doc.activeElement);
    part.replaceChildren(...(news?.childNodes ?? []));
    if (held) boxOf(doc)?.focus();
  }
  for (const old of doc.querySelectorAll("main > .banners")) old.remove(); // they answered what was done before
  const banners = found.querySelector("main .banners");
  if (banners) doc.querySelector('[data-part="answer"]')?.prepend(banners);
  const action = found.querySelector("main form[data-scan]")?.getAttribute("action");
  if (action) doc.querySelector("main form[data-scan]").setAttribute("action", action);
  doc.title = found.title;
  if (response.ok) win.history.replaceState(null, "", response.url);
}

function sound(doc) {
  const there = (selector) => Boolean(doc.querySelector(selector));
  signal(
    answerOf({
      answer: doc.querySelector("main [data-answer]")?.dataset.answer,
      verdictNo: there("main .verdict-no"),
      warning: there("main .banner[role=alert]"),
      success: there("main h1"),
    }),
  );
}

function start(doc, win) {
  let waiting = [];
  let busy = false;

  async function one({ form, data }) {
    data.set("key", freshKey());
    const response = await fetch(form.getAttribute("action"), { method: "POST", body: data });
    const found = new DOMParser().parseFromString(await response.text(), "text/html");
    const same = new URL(response.url).pathname === win.location.pathname;
    if (!same || !found.querySelector("main form[data-scan]")) {
      win.location.assign(response.url); // another sheet, one that is over by now, or the sign-in
      return null;
    }
    put(doc, win, response, found);
    sound(doc);
    return response.ok;
  }

  async function pump() {
    if (busy) return;
    busy = true;
    while (waiting.length) {
      const next = waiting.shift();
      let ok;
      try {
        ok = await one(next);
      } catch {
        waiting.unshift(next);
        ok = false;
        signal("no");
      }
      if (ok === null) return;
      const { send, lost } = after(waiting, ok);
      waiting = send;
      say(doc, notTaken(lost.map((sent) => sent.code)));
    }
    busy = false;
  }

  doc.addEventListener(
    "submit",
    (event) => {
      const form = event.target;
      if (!form.matches?.("form[data-stay]") || event.defaultPrevented) return;
      event.preventDefault();
      const data = new FormData(form, event.submitter);
      const box = form.matches("[data-scan]") ? boxOf(doc) : null;
      waiting.push({ form, data, code: box?.value.trim() ?? "" });
      if (box) box.value = "";
      pump();
    },
    true,
  );
}

if (typeof document !== "undefined") start(document, window);

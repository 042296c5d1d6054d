/* One press, one record. Each form marked data-key carries an idempotency key: the server puts one in, this module adds it
   where it is missing and renews it when a form that was already sent is changed and sent again (the same key with other
   content would be refused). The buttons rest after a press, and wake again if the network does not answer. */
import { freshKey } from "./key.js";

const WAKE_MS = 10_000;

/** The key for this sending. Sent before with the same content: the same key, so that it counts once. Other content: a new one. */
export function keyFor(present, sentContent, content, make = freshKey) {
  if (!present) return make();
  return sentContent !== null && sentContent !== content ? make() : present;
}

/** A form's content as text, without the key and the token. Files count by name and size. */
export function contentOf(entries) {
  const kept = [...entries].filter(([name]) => name !== "key" && name !== "csrfmiddlewaretoken");
  return JSON.stringify(kept.map(([name, v]) => [name, typeof v === "string" ? v : `${v.name}:${v.size}`]));
}

function rest(form, on) {
  form.dataset.sending = on ? "yes" : "";
  for (const button of form.querySelectorAll("button:not([type=button])")) {
    if (on) button.setAttribute("aria-disabled", "true");
    else button.removeAttribute("aria-disabled");
  }
}

function start(doc, win) {
  const sent = new WeakMap();
  doc.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches?.("form[data-key]") || event.defaultPrevented) return;
    if (form.dataset.sending === "yes") {
      event.preventDefault();
      return;
    }
    let field = form.querySelector('input[name="key"]');
    if (!field) {
      field = Object.assign(doc.createElement("input"), { type: "hidden", name: "key", autocomplete: "off" });
      form.append(field);
    }
    const data = new FormData(form, event.submitter);
    const content = contentOf(data.entries());
    field.value = keyFor(field.value, sent.get(form) ?? null, content);
    sent.set(form, content);
    rest(form, true);
    setTimeout(() => rest(form, false), WAKE_MS);
  });
  // back from the browser's page cache: the form may be used again
  win.addEventListener("pageshow", (event) => {
    if (event.persisted) for (const form of doc.querySelectorAll("form[data-key]")) rest(form, false);
  });
}

if (typeof document !== "undefined") start(document, window);

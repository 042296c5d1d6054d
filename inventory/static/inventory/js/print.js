/* New labels, printed with one press (F8), or at once where this browser was told so: the file is fetched, which records the print, and
   laid into a frame of the page that opens the browser's own dialog. No window is opened, so nothing has to be allowed. Without script the
   form opens the file in a tab. */

import { inWords } from "./say.js";

const WORDS = {
  asking: () => inWords("The labels are being made …"),
  printing: () => inWords("The print is recorded. Look into the browser’s print dialog."),
  shown: () => inWords("The print is recorded. Print the labels from the frame below."),
  saved: () => inWords("The print is recorded. The file for the label printer is among the downloads."),
  failed: () => inWords("The labels were not printed: try again, or choose their size first."),
};

/** What came back: "pdf", "zpl", or "" for anything that is no file of labels. */
export function fileOf(ok, type) {
  if (!ok) return "";
  if (/^application\/pdf\b/.test(type ?? "")) return "pdf";
  return /^text\/plain\b/.test(type ?? "") ? "zpl" : "";
}

async function fetched(form, get) {
  try {
    const response = await get(form.action, { method: "POST", body: new FormData(form), redirect: "error" });
    return { kind: fileOf(response.ok, response.headers.get("Content-Type")), data: await response.blob() };
  } catch {
    return { kind: "", data: null };
  }
}

/** Into a frame, and from there to the printer. False: this browser prints no frame by itself, so it is shown. */
function framed(doc, form, url) {
  const frame = Object.assign(doc.createElement("iframe"), { className: "print-frame", title: inWords("Labels"), src: url });
  form.after(frame);
  return new Promise((resolve) => {
    frame.addEventListener("load", () => {
      try {
        frame.contentWindow.focus();
        frame.contentWindow.print();
        resolve(true);
      } catch {
        frame.classList.add("shown");
        resolve(false);
      }
    });
  });
}

function saved(doc, url) {
  const link = Object.assign(doc.createElement("a"), { href: url, download: "labels.zpl", hidden: true });
  doc.body.append(link);
  link.click();
  link.remove();
}

export async function print(doc, win, form) {
  if (form.dataset.printing) return;
  const tell = (words) => (form.querySelector("[data-print-say]").textContent = WORDS[words]());
  form.dataset.printing = "yes";
  tell("asking");
  const { kind, data } = await fetched(form, win.fetch.bind(win));
  delete form.dataset.printing;
  if (!kind) return tell("failed");
  form.dataset.printed = kind;
  const url = win.URL.createObjectURL(data);
  if (kind === "zpl") {
    saved(doc, url);
    return tell("saved");
  }
  return tell((await framed(doc, form, url)) ? "printing" : "shown");
}

function start(doc, win) {
  const form = doc.querySelector("form[data-print]");
  if (!form) return;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    print(doc, win, form);
  });
  doc.addEventListener("keydown", (event) => {
    if (event.key !== "F8" || event.altKey || event.ctrlKey || event.metaKey || doc.querySelector("dialog[open]")) return;
    event.preventDefault();
    form.requestSubmit();
  });
  if ("printNow" in form.dataset) form.requestSubmit();
}

if (typeof document !== "undefined") start(document, window);

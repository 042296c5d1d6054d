/* A question before what cannot be taken back. Only a person's own press answers it: a scanner's Enter never does (scan.js), and
   the focus starts on "leave it". Without script the form goes straight to the server, which keeps its own rules. */
import { inWords } from "./say.js";

/** Whether a click on this button must first be asked about. */
export function mustAsk(dataset) {
  return Boolean(dataset.confirm) && dataset.confirmed !== "yes";
}

const WAIT_MS = 150;

/** A press by key counts when no other key follows at once: a scan that begins with a blank would press the button, and goes on. */
export function unhurried(button, act, wait = (go) => setTimeout(go, WAIT_MS)) {
  let waiting = 0;
  button.addEventListener("click", (event) => {
    if (event.detail !== 0) return act();
    const mine = ++waiting;
    wait(() => mine === waiting && act());
  });
  button.addEventListener("keydown", () => waiting++);
}

function ask(doc, button, onYes) {
  const dialog = doc.createElement("dialog");
  dialog.className = "question";
  const heading = doc.createElement("h2");
  heading.id = "question-heading";
  heading.textContent = button.dataset.confirm;
  dialog.setAttribute("aria-labelledby", heading.id);
  const actions = doc.createElement("div");
  actions.className = "actions";
  const no = Object.assign(doc.createElement("button"), { type: "button", className: "button", textContent: button.dataset.confirmNo || inWords("Leave it") });
  const yes = Object.assign(doc.createElement("button"), { type: "button", className: "button danger", textContent: button.dataset.confirmYes || button.textContent.trim() });
  no.autofocus = true;
  unhurried(no, () => dialog.close());
  unhurried(yes, () => {
    dialog.close();
    onYes();
  });
  dialog.addEventListener("close", () => {
    dialog.remove();
    button.focus();
  });
  actions.append(no, yes);
  dialog.append(heading, ...(button.dataset.confirmMore ? [Object.assign(doc.createElement("p"), { textContent: button.dataset.confirmMore })] : []), actions);
  doc.body.append(dialog);
  dialog.showModal();
}

function start(doc) {
  doc.addEventListener("click", (event) => {
    const button = event.target.closest?.("button[data-confirm]");
    if (!button || !mustAsk(button.dataset)) return;
    event.preventDefault();
    ask(doc, button, () => {
      button.dataset.confirmed = "yes";
      button.form ? button.form.requestSubmit(button) : button.click();
      delete button.dataset.confirmed;
    });
  });
}

if (typeof document !== "undefined") start(document);

/* What the page shows. Every state has a word and a shape beside its colour. */
import { inWords } from "../say.js";
import * as queue from "./queue.js";
import { nameOf } from "./shelf.js";
import { ago, amount, clock, skewWords, when } from "./words.js";

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

export function shape(kind) {
  return el("span", { class: "shape", "aria-hidden": "true" }, { yes: "●", no: "■", wait: "◆", off: "▲", struck: "○", look: "◐" }[kind]);
}

/** The strip on top: network, how old the list is, who works, what waits. */
export function strip(state) {
  const { meta } = state.list;
  const zone = meta?.site?.zone;
  const waiting = state.entries.filter((e) => e.state === queue.WAITING).length;
  const net = { on: ["tone-fit", "yes", inWords("Network")], off: ["tone-soon", "off", inWords("No network")], out: ["tone-stop", "no", inWords("Not signed in")], trying: ["tone-quiet", "wait", inWords("Looking for the network")] }[state.net];
  fill("net", el("span", { class: `tag ${net[0]}` }, shape(net[1]), net[2]));
  fill("as-of", meta?.asOf ? inWords("List as of {when}, {ago}", { when: when(meta.asOf, state.now(), zone), ago: ago(state.now() - meta.asOf) }) : inWords("No list on this tablet yet"));
  fill("who", state.me ? state.me.name : inWords("Nobody: show a badge"));
  fill("waiting", waiting ? inWords("{waiting} to send", { waiting }) : inWords("All sent"));
  const said = [skewWords(-state.skew)];
  if (state.net === "out") said.push(waiting ? inWords("Sign in to send what waits. It stays on this tablet until then.") : inWords("Sign in to bring the list here."));
  if (document.documentElement.dataset.kept !== "yes") {
    said.push(navigator.serviceWorker ? inWords("The page itself is being put on this tablet: keep the network a moment longer.") : inWords("Here the page opens only with a network: it can be kept on a tablet where the service is reached by https."));
  }
  fill("care", ...said.filter(Boolean).map((text) => el("p", {}, text)));
  document.getElementById("sign-in").hidden = state.net !== "out";
  document.getElementById("leave").hidden = !state.me;
}

/** The answer to a scan: {good, title, facts, reasons, know, actions}. */
export function answer({ good, title, facts = [], reasons = [], know = [], actions = [] }) {
  const tone = good === null ? "tone-quiet" : good ? "tone-fit" : "tone-stop";
  const word = good === null ? null : el("span", { class: "word" }, good ? inWords("Yes") : inWords("No"));
  fill(
    "answer",
    el("div", { class: `answer ${tone}` },
      el("h2", { tabindex: "-1" }, good === null ? shape("wait") : shape(good ? "yes" : "no"), word, el("span", {}, title)),
      facts.length ? el("p", { class: "facts" }, facts.join(" · ")) : null,
      reasons.length ? el("ul", { class: "reasons" }, reasons.map((r) => el("li", { "data-code": r.code }, r.text))) : null,
      know.length ? el("ul", { class: "know" }, know.map((text) => el("li", {}, text))) : null,
      actions.length ? el("div", { class: "actions" }, actions) : null),
  );
}

/** A second tap is none: what the first one does is shown anew, with buttons of its own. */
export function button(text, act, kind = "") {
  let pressed = false;
  const onclick = () => {
    if (pressed) return null;
    pressed = true;
    return act();
  };
  return el("button", { type: "button", class: `button ${kind}`, onclick }, text);
}

export function factsOf(row, state) {
  const { shared } = state.list.meta;
  const material = shared.materials[row.material]?.[0];
  const place = shared.places[row.place]?.[0] ?? row.place;
  return [material ? `${material} (${row.material})` : "", row.unit ? amount(Math.max(row.qty, 0), row.unit) : "", place, row.lot ? inWords("lot {lot}", { lot: row.lot }) : ""].filter(Boolean);
}

const SAID = {
  [queue.WAITING]: ["wait", "tone-quiet", inWords("waits")],
  [queue.ACCEPTED]: ["yes", "tone-fit", inWords("accepted")],
  [queue.QUALITY]: ["look", "tone-soon", inWords("stored; quality looks at it")],
  [queue.REFUSED]: ["no", "tone-stop", inWords("not taken: it stays here until somebody clears it")],
  [queue.STRUCK]: ["struck", "tone-quiet", inWords("struck, never sent")],
};

function timesOf(entry, state) {
  const zone = state.list.meta?.site?.zone ?? "UTC";
  const now = state.now();
  const said = [inWords("scanned {when}", { when: when(entry.at, now, zone) })];
  if (entry.result?.recorded) said.push(inWords("arrived {when}", { when: when(Date.parse(entry.result.recorded), now, zone) }));
  if (entry.result?.happened && Math.abs(Date.parse(entry.result.happened) - entry.at) > 60_000) said.push(inWords("counted from {clock} by the service's clock", { clock: clock(Date.parse(entry.result.happened), zone) }));
  return said.join(", ");
}

function undoOf(entry, state, acts) {
  const way = queue.undoWay(entry, Date.now());
  if (entry.undone) return el("p", { class: "hint" }, inWords("Taken back."));
  if (entry.takeBack) return el("p", { class: "hint" }, entry.why ?? inWords("It is taken back as soon as the network is there."));
  if (way === "ask") return Date.now() - entry.at < 86_400_000 ? el("p", { class: "hint" }, inWords("To take it back, ask quality to void it.")) : null;
  return way ? button(inWords("Undo"), () => acts.undo(entry)) : null;
}

/** One line of what was noted here. */
function noted(entry, state, acts) {
  const [kind, tone, word] = entry.undone ? ["struck", "tone-quiet", inWords("taken back")] : SAID[entry.state];
  const reasons = entry.result?.reasons?.length ? entry.result.reasons : entry.against;
  return el("li", { class: `noted ${tone}`, "data-state": entry.undone ? "undone" : entry.state, "data-key": entry.key },
    el("p", { class: "what" }, shape(kind), el("strong", {}, entry.words)),
    el("p", { class: "hint" }, `${word} · ${entry.person.name} · ${timesOf(entry, state)}`),
    reasons.length ? el("ul", { class: "reasons" }, reasons.map((r) => el("li", { "data-code": r.code }, r.text))) : null,
    el("div", { class: "actions" },
      undoOf(entry, state, acts),
      entry.state === queue.REFUSED ? [button(inWords("Send it again"), () => acts.again(entry)), button(inWords("Clear it"), () => acts.clear(entry), "quiet")] : null));
}

export function notes(state, acts) {
  const rows = [...state.entries].sort((a, b) => b.seq - a.seq).slice(0, 60);
  fill("notes", rows.map((entry) => noted(entry, state, acts)));
  document.getElementById("none").hidden = rows.length > 0;
}

/** The choice of part: those that are being made. */
export function parts(state) {
  const rows = [...state.list.parts.values()].sort((a, b) => nameOf(a).localeCompare(nameOf(b)));
  const options = rows.map((row) => el("option", { value: row.code, selected: row.code === state.part }, `${row.number} (${row.design})`));
  fill("part", el("option", { value: "" }, inWords("no part: only look, or move")), ...options);
}

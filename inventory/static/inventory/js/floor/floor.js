/* The floor page: scan, see the answer from the tablet's own list, note it, and let it go out when there is a network. */
import { inWords } from "../say.js";
import { freshKey } from "../key.js";
import { signal } from "../signal.js";
import { read } from "./codes.js";
import { connect } from "./link.js";
import * as look from "./look.js";
import { refusedWords } from "./putaway.js";
import * as queue from "./queue.js";
import { apply, empty, find, nameOf, prepare } from "./shelf.js";
import * as store from "./store.js";
import { lengthUnit, readIn, typed } from "./words.js";
import * as view from "./view.js";
import { el, fill } from "./view.js";

const state = { list: empty(), entries: [], part: null, card: null, me: null, net: "trying", skew: 0, device: "", db: null, now: () => Date.now() + state.skew };

function drawn() {
  readIn(state.me?.units);
  view.strip(state);
  view.notes(state, acts);
}

function shown(answer) {
  view.answer(answer);
  // first the eye: a browser takes a quarter of a second to open its first tone
  if (answer.good !== null) requestAnimationFrame(() => setTimeout(() => signal(answer.good ? "yes" : "no")));
}

function say(good, title, reasons = [], know = []) {
  shown({ good, title, reasons: reasons.map((r) => (typeof r === "string" ? { code: "", text: r } : r)), know });
}

/** What is on the disk: another tab may have noted, fetched, or changed hands meanwhile. */
async function reload() {
  const [entries, me, meta] = await Promise.all([store.all(state.db, "queue"), store.get(state.db, "meta", "who"), store.get(state.db, "meta", "list")]);
  Object.assign(state, { entries, me: me ?? null });
  if (meta && meta.cursor !== state.list.meta?.cursor) {
    state.list = apply(empty(), { meta, put: await store.all(state.db, "rows"), sweep: null });
    prepare(state.list);
    view.parts(state);
  }
  drawn();
}

/** Write an entry to the disk; only then it counts as noted, and is answered. Nothing is waited for before: between the Enter of a scan and
    its being written lies this one transaction, which also reads who works here by now (another tab may have changed hands). */
async function note(deed, against = []) {
  const site = state.list.meta.site.id;
  const made = { ...deed, key: freshKey(), site, against, at: Date.now(), effect: { ...deed.effect, at: state.now() } };
  let entry = null;
  try {
    await store.within(state.db, ["queue", "meta"], "readwrite", async ({ queue: entries, meta }) => {
      const [me, last] = await Promise.all([store.promised(meta.get("who")), store.promised(meta.get("last"))]);
      state.me = me ?? null;
      if (!me) return;
      const written = queue.made({ ...made, person: { id: me.id, name: me.name }, last });
      meta.put(written.at, "last");
      entry = { ...written, seq: await store.promised(entries.add(written)) };
    });
  } catch {
    return say(false, inWords("Not noted"), [inWords("This tablet could not write it down: is its memory full? Write it on paper and tell quality.")]);
  }
  if (!entry) return say(false, inWords("Nobody is known to work here"), [inWords("Show your badge, or sign in once with a network: a record needs a name.")]);
  state.card = null;
  state.entries = [...state.entries, entry];
  drawn();
  const word = against.length ? inWords("Noted for quality") : inWords("Noted");
  shown({ good: true, title: `${word}: ${deed.words}`, reasons: against, know: [state.net === "on" ? inWords("It is being sent.") : inWords("It goes out when the network is there, with the time of now.")] });
  link.send();
}

/** The page's answer to a thing: yes or no, and what can be noted. */
function card(row, qty = null, wet = false) {
  const found = look.judged(state, row, qty);
  const reasons = wet ? [...found.reasons, { code: "thaw.bag_wet", text: inWords("The bag is wet: leave it closed until it is dry, then look again.") }] : found.reasons;
  const good = reasons.length === 0;
  state.card = row;
  const actions = found.part ? laid(row, found, good, reasons, wet) : [];
  const know = good && found.part && found.qty !== null ? [look.leftOf(found, state), ...found.know] : found.know;
  shown({ good, title: look.titleOf(found), facts: view.factsOf(found.thing, state), reasons, know, actions: [...actions, ...put(row)] });
}

function laid(row, found, good, reasons, wet) {
  const more = [];
  if (found.thing.unit === "um" && found.thing.kind !== "kit") more.push(howMuch(row, found));
  if (found.qty === null) return more;
  if (!good) return [...more, view.button(inWords("It is in already: note it for quality"), () => note(look.deedOf(found, false), reasons), "quiet")];
  if (!wet && look.bagAsked(found, state)) {
    return [...more, view.button(inWords("Bag dry: note it"), () => note(look.deedOf(found, true)), "primary"), view.button(inWords("Bag wet"), () => card(row, found.qty, true))];
  }
  return [...more, view.button(inWords("Note it"), () => note(look.deedOf(found, false)), "primary")];
}

function howMuch(row, found) {
  const { word, by } = lengthUnit();
  const box = el("input", { id: "much", inputmode: "decimal", value: found.qty === null ? "" : String(+(found.qty / by).toFixed(6)), autocomplete: "off" });
  const change = () => {
    const um = typed(box.value);
    if (um === null) return say(false, inWords("“{text}” is no length", { text: box.value.slice(0, 20) }), [inWords("Type it in {unit}, such as 0.85.", { unit: word })]);
    return card(row, um);
  };
  box.addEventListener("change", change);
  return el("label", { class: "much" }, inWords("How much, in {unit}", { unit: word }), box);
}

/** Where it can be put, for places whose label is not at hand. Choosing notes nothing yet: with keys every place on the way is chosen. */
function put(row) {
  const { places } = state.list.meta.shared;
  const choice = el("select", { id: "to", "aria-label": inWords("Put it in") }, el("option", { value: "" }, inWords("put it in …")), Object.entries(places).map(([code, [name]]) => el("option", { value: code }, name)));
  return [choice, view.button(inWords("Put it there"), () => choice.value && carried(row, choice.value))];
}

function carried(row, place) {
  const { thing, reasons, deed, better } = look.moveOf(state, row, place);
  if (!deed) return say(false, nameOf(thing), reasons);
  if (!reasons.length) return note(deed);
  const know = better.length ? [inWords("It may go to: {better}.", { better: better.join(", ") })] : [];
  const actions = [view.button(inWords("It stands there already: note it for quality"), () => note(deed, reasons), "quiet"), ...put(row)];
  return shown({ good: false, title: refusedWords(thing, place, state.list.meta.shared), reasons, know, actions });
}

async function scanned(raw) {
  const scan = read(raw);
  if (!scan.text) return null;
  if (scan.on === "person") return link.badge(scan.code);
  if (!state.list.meta?.shared) return say(false, scan.text, [inWords("There is no list on this tablet yet: open this page once where there is a network.")]);
  const hit = find(state.list, scan);
  if (hit.is === "thing") return card(hit.row);
  if (hit.is === "place") return state.card ? carried(state.card, look.placeOf(state, hit.row.code)) : say(null, inWords("{code}: scan a thing first, then where you put it.", { code: hit.row.code }));
  if (hit.is === "part") return choose(hit.row.code);
  if (hit.is === "gone") return say(false, nameOf(hit.row), [inWords("{thing} is {word}, by this tablet's list.", { thing: nameOf(hit.row), word: hit.row.word })]);
  if (hit.is === "unseen") return strange(scan.code);
  return say(false, scan.text.slice(0, 60), [inWords("Nothing on this tablet's list has this code or mark. If it is new, wait for the network; if its label is damaged, type what stands on it.")]);
}

/** One of our own labels that the list does not know: told as seen, since it may have been cut a minute ago. */
function strange(code) {
  state.card = look.unseen(code);
  const why = [{ code: "item.unseen", text: inWords("{code} is not on this tablet's list: nobody can say here what it is, or whether it is good.", { code }) }];
  const part = state.part ? state.list.parts.get(state.part) : null;
  const deed = part && { ...look.deedOf({ thing: state.card, part, wanted: [], qty: null }, false) };
  const actions = deed ? [view.button(inWords("It is in already: note it as seen"), () => note(deed, why), "quiet")] : [];
  shown({ good: false, title: code, reasons: why, actions: [...actions, ...put(state.card)] });
}

function choose(code) {
  state.part = code || null;
  store.put(state.db, "meta", state.part, "part");
  view.parts(state);
  if (state.card && state.list.things.has(state.card.code)) return card(state.list.things.get(state.card.code));
  const part = state.part && state.list.parts.get(state.part);
  return part ? say(null, inWords("{number}: scan what goes in.", { number: part.number })) : fill("answer");
}

function named() {
  try {
    return decodeURIComponent(location.hash.slice(1));
  } catch {
    return ""; // no text
  }
}

/** A link from elsewhere names the part that is worked on, /floor/#RUD-073. It is chosen once the list knows it. */
function asked() {
  if (!named() || !state.list.meta?.shared) return;
  const hit = find(state.list, read(named()));
  if (hit.is !== "part") return;
  history.replaceState(null, "", location.pathname);
  choose(hit.row.code);
}

const acts = {
  async undo(entry) {
    const way = queue.undoWay(entry, Date.now());
    if (way === "strike") await store.change(state.db, [{ seq: entry.seq, state: queue.STRUCK }], (now) => now.state === queue.WAITING && !now.tried);
    else if (way) await store.change(state.db, [{ seq: entry.seq, takeBack: true, undoKey: freshKey() }]);
    await reload();
    link.send();
  },
  async again(entry) {
    await store.change(state.db, [{ seq: entry.seq, state: queue.WAITING, result: null }], (now) => now.state === queue.REFUSED);
    await reload();
    link.send();
  },
  async clear(entry) {
    await store.within(state.db, ["queue"], "readwrite", ({ queue: entries }) => entries.delete(entry.seq));
    await reload();
  },
};

const link = connect(state, {
  drawn,
  reload,
  say,
  list(change) {
    apply(state.list, change);
    if (change.meta.whole) prepare(state.list);
    view.parts(state);
    drawn();
    asked();
  },
  cleared() {
    state.list = empty();
    state.card = state.part = null;
    fill("answer");
    view.parts(state);
    drawn();
  },
});

async function start() {
  state.db = await store.open();
  const [skew, part] = await Promise.all(["skew", "part"].map((key) => store.get(state.db, "meta", key)));
  Object.assign(state, { skew: skew ?? 0, part: part ?? null });
  await reload();
  view.parts(state);
  asked();
  addEventListener("hashchange", asked);
  document.querySelector("main form[data-scan]").addEventListener("submit", (event) => {
    event.preventDefault();
    const box = event.target.querySelector("input");
    const text = box.value;
    box.value = "";
    scanned(text);
  });
  document.getElementById("part").addEventListener("change", (event) => choose(event.target.value));
  document.getElementById("leave").addEventListener("click", () => link.leave());
  document.documentElement.dataset.ready = "yes";
  setInterval(drawn, 5_000);
  await link.start();
}

start().catch(() => say(false, inWords("This page cannot start"), [inWords("The browser gives it no memory of its own: leave private browsing, or use another browser.")]));

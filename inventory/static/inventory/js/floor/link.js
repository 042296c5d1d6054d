/* When to send and to fetch, and what that means for the page: on opening, when the network or the page comes back, after each note,
   every minute, and after a failure later and later. navigator.onLine is not believed: only an answer of the service is. */
import { inWords } from "../say.js";
import { freshKey } from "../key.js";
import { remembered, whose } from "./people.js";
import * as queue from "./queue.js";
import * as send from "./send.js";
import * as store from "./store.js";

const EVERY_MS = 60_000;

async function deviceOf(db) {
  const known = await store.get(db, "meta", "device");
  if (known) return known;
  const name = `tablet ${freshKey().slice(0, 8)}`;
  await store.put(db, "meta", name, "device");
  return name;
}

export function connect(state, page) {
  let timer = 0;
  let failures = 0;
  let busy = null;
  let again = false;
  const others = new BroadcastChannel("selvedge-floor"); // further tabs of this page
  others.onmessage = () => page.reload();

  /** Onto what is known of them: a round that runs beside a badge must not take its seal away. What waited for their word goes out. */
  async function keepPerson(me, badge) {
    const fresh = await remembered(me.person, me.word, badge);
    await store.within(state.db, ["people"], "readwrite", async ({ people }) => {
      people.put({ ...(await store.promised(people.get(fresh.id))), ...fresh });
    });
    const again = queue.unproved(await store.all(state.db, "queue"), fresh.id).map(({ seq }) => ({ seq, state: queue.WAITING, result: null }));
    if (again.length) await store.change(state.db, again, (now) => now.state === queue.REFUSED);
  }

  async function become(person) {
    state.me = { id: person.id, name: person.name, units: person.units };
    await store.put(state.db, "meta", state.me, "who");
    page.drawn();
  }

  /** The service says who is signed in. They take over here when they are somebody else than it said last time. */
  async function met(me) {
    state.server = me;
    state.net = "on";
    document.documentElement.dataset.csrf = me.csrf; // for what the camera sends
    await keepPerson(me);
    const said = await store.get(state.db, "meta", "server");
    const { id, units } = state.me ?? {};
    if (said !== me.person.id || !id || (id === me.person.id && units !== me.person.units)) await become(me.person);
    await store.put(state.db, "meta", me.person.id, "server");
  }

  async function takeBack() {
    for (const entry of queue.toTakeBack(await store.all(state.db, "queue"))) {
      const why = await send.undo(state.server, entry, entry.undoKey);
      await store.change(state.db, [why ? { seq: entry.seq, why, takeBack: true, undone: false, given: true } : { seq: entry.seq, undone: true }]);
    }
    await page.reload();
  }

  async function tidy() {
    const old = queue.stale(await store.all(state.db, "queue"), Date.now());
    if (old.length) await store.within(state.db, ["queue"], "readwrite", (s) => old.forEach((e) => s.queue.delete(e.seq)));
  }

  async function round() {
    await left();
    await page.reload();
    const kept = await store.get(state.db, "meta", "list");
    const me = await send.who(state.device);
    if (kept?.site && kept.site.id !== me.site) {
      await store.forget(state.db);
      page.cleared();
    }
    await met(me);
    await send.drain(state.db, { ...me, device: state.device }, page.reload);
    await takeBack();
    state.skew = await send.sync(state.db, page.list);
    await page.reload();
    await tidy();
  }

  async function attempt() {
    try {
      const done = await send.alone(state.db, async () => {
        await round();
        return true;
      });
      if (done) others.postMessage("changed");
      else await page.reload(); // another tab is at it, and says when it has done
      failures = 0;
    } catch (error) {
      failures += 1;
      if (error instanceof send.SignedOut) {
        if (state.net !== "out") await gone();
      } else state.net = "off";
      if (!(error instanceof send.Away || error instanceof send.SignedOut)) console.error(error);
    }
    page.drawn();
    clearTimeout(timer);
    timer = setTimeout(start, failures ? queue.backoff(failures, Math.random()) : EVERY_MS);
  }

  /** Nobody is signed in any more: the list goes, what was not sent stays. */
  async function gone() {
    await store.forget(state.db);
    state.me = null;
    state.net = "out";
    page.cleared();
  }

  /** One round at a time; a wish during a round is a round after it. */
  function start() {
    if (busy) {
      again = true;
      return busy;
    }
    busy = attempt().finally(() => {
      busy = null;
      if (again) {
        again = false;
        start();
      }
    });
    return busy;
  }

  function later() {
    others.postMessage("changed");
    navigator.serviceWorker?.ready.then((worker) => worker.sync?.register("floor-send")).catch(() => {});
    return start();
  }

  async function badge(code) {
    page.say(null, inWords("Looking whose badge this is …"));
    try {
      const me = await send.who(state.device, code, state.server?.csrf ?? (await send.who(state.device)).csrf);
      if (!me) return page.say(false, inWords("This badge is not known"), [inWords("Scan it again, or ask the owner to enter it.")]);
      state.server = me;
      await keepPerson(me, code);
      await store.put(state.db, "meta", me.person.id, "server");
      await become(me.person);
      page.say(true, inWords("{name}: the next records carry this name.", { name: me.person.name }));
      return start();
    } catch (error) {
      if (error instanceof send.SignedOut) return page.say(false, inWords("Nobody is signed in"), [inWords("Sign in first, then show the badge.")]);
      const known = await whose(await store.all(state.db, "people"), code);
      if (!known) return page.say(false, inWords("This badge is not known on this tablet"), [inWords("Without a network only those can take over who showed their badge here before.")]);
      state.net = "off";
      await become(known);
      return page.say(true, inWords("{name}: the next records carry this name.", { name: known.name }));
    }
  }

  /** Sign out of this tablet: its list and its people go; what waits stays, under the names of those who did it. Without a network the
      sign-in itself ends as the first thing once there is one. */
  async function leave() {
    await store.put(state.db, "meta", true, "leaving");
    await gone();
    page.say(null, inWords("Signed out of this tablet"));
    return start();
  }

  async function left() {
    if (!(await store.get(state.db, "meta", "leaving"))) return;
    try {
      await send.signOut((await send.who(state.device)).csrf);
    } catch (error) {
      if (!(error instanceof send.SignedOut)) throw error;
    }
    await store.within(state.db, ["meta"], "readwrite", ({ meta }) => meta.delete("leaving"));
    throw new send.SignedOut("just now");
  }

  /** The page itself on the tablet. Browsers that take no modules in a worker get one that cannot send by itself. */
  async function keepPage(workers) {
    if (!workers) return;
    const way = { scope: "/floor/" };
    try {
      await workers.register("/floor/worker.js?module", { ...way, type: "module" });
    } catch {
      await workers.register("/floor/worker.js", way).catch(() => {});
    }
    (await workers.ready).active.postMessage("keep");
    document.documentElement.dataset.kept = "yes";
    page.drawn();
  }

  return {
    send: later,
    badge,
    leave,
    async start() {
      state.device = await deviceOf(state.db);
      navigator.storage?.persist?.().catch(() => {});
      for (const name of ["online", "focus", "pageshow"]) window.addEventListener(name, start);
      window.addEventListener("offline", () => {
        state.net = "off";
        page.drawn();
      });
      document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && start());
      const workers = navigator.serviceWorker;
      workers?.addEventListener("message", (event) => event.data === "send" && start());
      keepPage(workers);
      await start();
    },
  };
}

/* What the tablet keeps: the list, the queue, who works here. A write of the queue is on the disk before it counts as noted. */

const NAME = "selvedge-floor";
const STORES = { rows: { keyPath: "code" }, meta: {}, queue: { keyPath: "seq", autoIncrement: true }, people: { keyPath: "id" } };

export function promised(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export function open(factory = indexedDB) {
  const request = factory.open(NAME, 1);
  request.onupgradeneeded = () => {
    for (const [name, options] of Object.entries(STORES)) request.result.createObjectStore(name, options);
  };
  return promised(request);
}

/** Run `work(stores)` in one transaction; resolves with what it returned once everything is written. */
export function within(db, names, mode, work) {
  return new Promise((resolve, reject) => {
    const tx = db.transaction(names, mode, mode === "readwrite" ? { durability: "strict" } : {});
    const stores = Object.fromEntries(names.map((name) => [name, tx.objectStore(name)]));
    let result;
    tx.oncomplete = () => resolve(result);
    tx.onerror = tx.onabort = () => reject(tx.error ?? new Error("not written"));
    Promise.resolve(work(stores)).then((value) => (result = value), (error) => {
      reject(error);
      try { tx.abort(); } catch { /* it has ended already */ }
    });
  });
}

export function all(db, name) {
  return within(db, [name], "readonly", (s) => promised(s[name].getAll()));
}

export function get(db, name, key) {
  return within(db, [name], "readonly", (s) => promised(s[name].get(key)));
}

export function put(db, name, value, key) {
  return within(db, [name], "readwrite", (s) => promised(key === undefined ? s[name].put(value) : s[name].put(value, key)));
}

/** Write what an answer changed, with its cursor, all or nothing. `arrived`: when it was asked for, by this device: what had been
    taken by then is in it. */
export function keep(db, change, arrived) {
  return within(db, ["rows", "meta", "queue"], "readwrite", async ({ rows, meta, queue }) => {
    for (const row of change.put) rows.put(row);
    meta.put(change.meta, "list");
    if (!change.meta.whole) return;
    if (change.sweep !== null) for (const row of await promised(rows.getAll())) if (row.round !== change.sweep) rows.delete(row.code);
    for (const entry of await promised(queue.getAll())) {
      if (entry.result && !entry.folded && entry.heard < arrived) queue.put({ ...entry, folded: true });
    }
  });
}

/** Bring changes ({seq, …}) into entries, onto what they are by now: another tab may have been faster. */
export function change(db, changes, still = () => true) {
  return within(db, ["queue"], "readwrite", async ({ queue }) => {
    for (const one of changes) {
      const now = await promised(queue.get(one.seq));
      if (now && still(now)) queue.put({ ...now, ...one });
    }
  });
}

/** Choose the entries that go out next, and mark them as tried in the same breath: what may be on its way is not struck any more. */
export function takeOut(db, choose) {
  return within(db, ["queue"], "readwrite", async ({ queue }) => {
    const chosen = choose(await promised(queue.getAll()));
    for (const entry of chosen.batch) queue.put({ ...entry, tried: true });
    return chosen;
  });
}

/** Sign-out: the list and the people go. What was not sent stays, under the names of those who did it. */
export function forget(db) {
  return within(db, ["rows", "meta", "people"], "readwrite", ({ rows, meta, people }) => {
    rows.clear();
    people.clear();
    for (const key of ["list", "who", "people"]) meta.delete(key);
  });
}

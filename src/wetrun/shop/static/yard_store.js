// What a device in the yard keeps: entries until the shop has them, and what stands half-typed in a box.
"use strict";

globalThis.Yard = (() => {
  const FORMAT_VERSION = 1;
  const bar = document.getElementById("yard");
  const person = Number(bar?.dataset.person) || null;
  const run = Number(bar?.dataset.run) || null;
  // On the disk before it counts: a battery may die at once.
  const STRICT = { durability: "strict" };

  const opened = idb.openDB("wetrun-yard", 1, {
    upgrade(db) {
      db.createObjectStore("entries", { keyPath: "entry" });
      db.createObjectStore("drafts", { keyPath: "key" });
      db.createObjectStore("facts", { keyPath: "key" });
    },
  });

  // Not every browser makes keys itself where the page did not come over TLS.
  function newEntry() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 0x0f) | 0x40;
    b[8] = (b[8] & 0x3f) | 0x80;
    const hex = [...b].map((n) => n.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  }

  const draftKey = (box) => `${person}|${location.pathname}|${box}`;

  // The entry is there and its draft is gone, or neither: no moment at which what was typed is nowhere.
  async function add(message, boxes = []) {
    const entry = { format_version: FORMAT_VERSION, entry: newEntry(), at: new Date().toISOString(), ...message };
    Object.assign(entry, { person, wet_run: run, send: bar.dataset.send, state: "waiting", words: [] });
    const change = (await opened).transaction(["entries", "drafts"], "readwrite", STRICT);
    const order = (await change.objectStore("entries").count()) + Date.now() * 1000;
    change.objectStore("entries").put({ ...entry, order });
    for (const box of boxes) change.objectStore("drafts").delete(draftKey(box));
    await change.done;
    return entry;
  }

  async function entriesOf(whose) {
    const all = await (await opened).getAll("entries");
    return all.filter((one) => one.person === whose).sort((a, b) => a.order - b.order);
  }

  async function countOfOthers(whose) {
    return (await (await opened).getAll("entries")).filter((one) => one.person !== whose).length;
  }

  // Everything that came of one sending at once: what the shop has goes, what it refused stays with the reason.
  async function settle(changes) {
    const change = (await opened).transaction("entries", "readwrite", STRICT);
    for (const { entry, state, words } of changes) {
      const kept = await change.store.get(entry);
      if (!kept) continue;
      if (state === "kept" || state === "second") change.store.delete(entry);
      else change.store.put({ ...kept, state, words });
    }
    await change.done;
  }

  async function drop(entries) {
    const change = (await opened).transaction("entries", "readwrite", STRICT);
    for (const entry of entries) change.store.delete(entry);
    await change.done;
  }

  async function draft(box, typed) {
    const change = (await opened).transaction("drafts", "readwrite", STRICT);
    change.store.put({ key: draftKey(box), box, typed });
    await change.done;
  }

  async function undraft(boxes) {
    const change = (await opened).transaction("drafts", "readwrite", STRICT);
    for (const box of boxes) change.store.delete(draftKey(box));
    await change.done;
  }

  async function drafts() {
    const from = draftKey("");
    return (await opened).getAll("drafts", IDBKeyRange.bound(from, `${from}\uffff`));
  }

  const fact = async (key) => (await (await opened).get("facts", `${person}|${key}`))?.value;

  async function keepFact(key, value) {
    await (await opened).put("facts", { key: `${person}|${key}`, value });
  }

  const api = { bar, person, run, add, entriesOf, countOfOthers, settle, drop, draft, undraft, drafts, fact, keepFact };
  return Object.assign(api, { FORMAT_VERSION });
})();

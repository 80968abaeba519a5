// Sends what waits on the device, to whom it belongs: each entry until the shop says that it has it.
"use strict";

globalThis.YardSend = (() => {
  const { bar, person } = Yard;
  const AT_ONCE = 20;
  const AGAIN_MS = 3000;
  let busy = null;
  let timer = null;

  async function who() {
    const answer = await fetch(bar.dataset.who, { cache: "no-store", headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error("the shop does not answer");
    return answer.json();
  }

  function batches(entries) {
    const found = [];
    for (const one of entries) {
      const last = found.at(-1);
      if (last && last[0].send === one.send && last.length < AT_ONCE) last.push(one);
      else found.push([one]);
    }
    return found;
  }

  const asSent = ({ person: _p, wet_run: _w, send: _s, state: _t, words: _o, order: _n, ...message }) => message;

  async function post(batch, here) {
    const body = { format_version: Yard.FORMAT_VERSION, person: here.person, messages: batch.map(asSent) };
    const headers = { "Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": here.mark };
    const answer = await fetch(batch[0].send, { method: "POST", headers, body: JSON.stringify(body), redirect: "manual" });
    if (answer.type === "opaqueredirect") return { signedOut: true };
    if (answer.status >= 500 || answer.status === 429) throw new Error("the shop does not answer");
    if (answer.ok) return answer.json();
    const said = answer.headers.get("content-type")?.includes("json") ? (await answer.json()).words : null;
    return { refused: said ?? [bar.dataset[answer.status === 404 ? "wordsGone" : "wordsMayNot"]], status: answer.status };
  }

  // Refused as a whole: a role taken back, a run of another branch. Kept with the reason, tried again on the next page.
  const held = (batch, words) => batch.map(({ entry }) => ({ entry, state: "held", words }));

  async function sendBatch(batch) {
    let came = await post(batch, await who());
    // The mark may have changed between asking and sending, as it does when somebody signs in: once more with the new one.
    if (came.status === 403) came = await post(batch, await who());
    if (came.signedOut) return "signed-out";
    const answers = came.answers ?? held(batch, came.refused);
    await Yard.settle(answers);
    const known = new Map(batch.map((one) => [one.entry, one]));
    document.dispatchEvent(new CustomEvent("yard:answered", { detail: { answers, known } }));
    return "sent";
  }

  async function sendAll(tryHeld) {
    const here = await who();
    if (here.person === null) return "signed-out";
    const mine = (await Yard.entriesOf(here.person)).filter(
      (one) => one.state === "waiting" || (tryHeld && one.state === "held"),
    );
    for (const batch of batches(mine)) if ((await sendBatch(batch)) === "signed-out") return "signed-out";
    return here.person === person ? "sent" : "somebody-else";
  }

  async function send({ tryHeld = false } = {}) {
    clearTimeout(timer);
    busy ??= sendAll(tryHeld)
      .catch(() => "no-signal")
      .finally(() => (busy = null));
    const how = await busy;
    const left = (await Yard.entriesOf(person)).filter((one) => one.state === "waiting").length;
    await tell(how);
    if (left) timer = setTimeout(send, AGAIN_MS);
    return how;
  }

  // One sending may have begun before the last entry was typed: go on until nothing waits or nothing gets through.
  async function sendToEnd() {
    for (let round = 0; round < 5; round += 1) {
      const how = await send();
      const waits = (await Yard.entriesOf(person)).some((one) => one.state === "waiting");
      if (how !== "sent" || !waits) return how;
    }
    return "no-signal";
  }

  function line(words, link) {
    const p = document.createElement("p");
    p.textContent = words;
    if (link) p.append(" ", Object.assign(document.createElement("a"), { href: link[0], textContent: link[1] }));
    return p;
  }

  async function tell(how) {
    const mine = await Yard.entriesOf(person);
    const waiting = mine.filter((one) => one.state === "waiting").length;
    const stuck = mine.filter((one) => one.state !== "waiting");
    const others = await Yard.countOfOthers(person);
    const words = (key, n) => bar.dataset[key].replace("{n}", n);
    const lines = [];
    const signIn = [`${bar.dataset.signIn}?next=${encodeURIComponent(location.pathname)}`, bar.dataset.wordsSignIn];
    if (how === "no-signal") lines.push(line(words("wordsNoSignal", waiting)));
    if (how === "signed-out") lines.push(line(words("wordsSignedOut", waiting), signIn));
    if (how === "somebody-else") lines.push(line(words("wordsSomebodyElse", waiting), signIn));
    if (how === "sent" && waiting) lines.push(line(words("wordsWaiting", waiting)));
    const list = [bar.dataset.waiting, bar.dataset.wordsSee];
    if (stuck.length) lines.push(line(`${words("wordsStuck", stuck.length)} ${stuck[0].words.join(" ")}`, list));
    if (others) lines.push(line(words("wordsOthers", others)));
    bar.replaceChildren(...lines);
    bar.hidden = !lines.length;
    bar.dataset.how = how;
  }

  if (person) {
    window.addEventListener("online", () => send());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
    navigator.serviceWorker?.register(bar.dataset.worker).then(async () => {
      const ready = await navigator.serviceWorker.ready;
      const pages = [...document.querySelectorAll(`a[href^="/wet-runs/${Yard.run}/"]`)].map((a) => a.pathname);
      if (Yard.run && bar.dataset.take) ready.active.postMessage({ take: [...new Set([location.pathname, ...pages])] });
    });
    // The browser may clear what it keeps when the device is full; asked for, it does not.
    navigator.storage?.persist?.();
    send({ tryHeld: true });
  }

  return { send, sendToEnd };
})();

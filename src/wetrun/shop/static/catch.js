// The catch of a boom, typed tip by tip with wet gloves: what is typed is on the device at once and sent by itself.
// Without this file the sheet is sent as a whole.
"use strict";

(() => {
  const form = document.querySelector(".tips-sheet");
  if (!form) return;
  const boxes = [...form.querySelectorAll(".tips input:not([type=checkbox])")];
  const dry = form.querySelector("#dry");
  const pad = document.getElementById("pad");
  const figures = document.getElementById("figures");
  const picture = document.querySelector("#filling svg");
  const limits = JSON.parse(document.getElementById("odd-limits").textContent);
  const kept = globalThis.Yard?.person ? Yard : null;
  // After a jump that came by itself, an Enter out of habit does not skip a tip.
  const HABIT_MS = 600;
  let jumpedAt = -Infinity;

  for (const box of boxes) box.stood = box.value;

  function rest(box) {
    return boxes[boxes.indexOf(box) + 1] ?? dry;
  }

  function onTo(box) {
    box.focus();
    box.select();
    box.scrollIntoView({ block: "center" });
  }

  function tellBox(box, words, isWrong) {
    let told = document.getElementById(`${box.id}-here`);
    if (!told) {
      told = Object.assign(document.createElement("p"), { id: `${box.id}-here`, className: "tip-says" });
      box.after(told);
      box.setAttribute("aria-describedby", `${box.getAttribute("aria-describedby") ?? ""} ${told.id}`.trim());
    }
    told.textContent = words;
    box.closest(".tip").classList.toggle("wrong", isWrong);
  }

  // What was typed becomes an entry once its box is left: never half of it, never the same twice.
  async function commit(box) {
    const typed = box.value.trim();
    if (!kept || box === dry || typed === box.stood) return;
    const after = box.dataset.entry || null;
    const old = box.refusedEntry;
    box.stood = typed;
    const message = { kind: "tip", place: box.name, typed, unit: form.elements.unit.value, after };
    const adding = kept.add(message, [box.name]);
    box.adding = adding;
    const entry = await adding;
    box.dataset.entry = entry.entry;
    if (old) await kept.drop([old]);
    box.refusedEntry = null;
    tellBox(box, "", false);
    box.closest(".tip").classList.add("waits");
    YardSend.send();
  }

  // Entries of one tip follow each other: the next one names the one before.
  async function commitInTurn(box) {
    box.turn = (box.turn ?? Promise.resolve()).then(() => commit(box));
    await box.turn;
  }

  function leave(box) {
    commitInTurn(box);
    look();
  }

  function isWhole(text) {
    const after = Number(figures?.value ?? 1);
    return after > 0 && new RegExp(`^\\d+[.,]\\d{${after}}$`).test(text);
  }

  // Typed on at the end, and all the figures are there: on to the next tip, without a key for it.
  function typed(box, isAdded) {
    kept?.draft(box.name, box.value);
    look();
    if (isAdded && box !== dry && box.selectionStart === box.value.length && isWhole(box.value)) {
      leave(box);
      jumpedAt = performance.now();
      onTo(rest(box));
    }
  }

  form.addEventListener("input", (event) => {
    if (event.target === dry) kept?.draft("dry", dry.value);
    else if (boxes.includes(event.target)) typed(event.target, /^insert(Text|CompositionText)$/.test(event.inputType));
  });
  form.addEventListener("change", (event) => boxes.includes(event.target) && leave(event.target));

  function enter(box) {
    if (box.value === "" && performance.now() - jumpedAt < HABIT_MS) {
      jumpedAt = -Infinity;
      return;
    }
    leave(box);
    onTo(rest(box));
  }

  form.addEventListener("keydown", (event) => {
    const box = event.target;
    if (!boxes.includes(box)) return;
    if (event.key === "Enter") {
      event.preventDefault();
      enter(box);
    } else if (event.key === "Backspace" && box.value === "" && boxes.indexOf(box) > 0) {
      event.preventDefault();
      onTo(boxes[boxes.indexOf(box) - 1]);
    }
  });

  // Own keys, as large as a glove. The box keeps the focus, and no keyboard slides over the boom.
  let last = boxes[0];
  form.addEventListener("focusin", (event) => {
    if (boxes.includes(event.target)) last = event.target;
  });

  function press(key) {
    const box = last;
    if (key === "next") return enter(box);
    if (key === "dry") {
      box.value = "no flow";
      leave(box);
      return onTo(rest(box));
    }
    if (key === "back" && box.value === "") return onTo(boxes[Math.max(boxes.indexOf(box) - 1, 0)]);
    const chosen = box.selectionStart === 0 && box.selectionEnd === box.value.length;
    if (key === "back") box.value = chosen ? "" : box.value.slice(0, -1);
    else box.value = (chosen ? "" : box.value) + key;
    box.setSelectionRange(box.value.length, box.value.length);
    typed(box, key !== "back");
  }

  function ownKeys(on) {
    pad.hidden = !on;
    for (const box of boxes) box.inputMode = on ? "none" : "decimal";
    const toggle = document.getElementById("own-keys");
    toggle.setAttribute("aria-pressed", String(on));
    kept?.keepFact("own-keys", on);
  }

  pad?.addEventListener("pointerdown", (event) => event.preventDefault());
  pad?.addEventListener("click", (event) => {
    const key = event.target.closest("button")?.dataset.key;
    if (!key) return;
    if (!boxes.includes(document.activeElement)) last.focus();
    press(key);
  });
  document.getElementById("own-keys")?.addEventListener("click", () => ownKeys(pad.hidden));
  figures?.addEventListener("change", () => kept?.keepFact("figures", figures.value));

  // The picture, and what is unlike the rest: tips that carry another tip on purpose are left out.
  function valueOf(box) {
    const text = box.value.trim();
    if (text.toLowerCase() === "no flow") return 0;
    return /^\d+([.,]\d+)?$/.test(text) ? Number(text.replace(",", ".")) : NaN;
  }

  function look() {
    const tips = boxes.map((box) => ({ value: valueOf(box), other: "carries" in box.dataset, odd: false, box }));
    const plain = tips.filter((tip) => tip.value > 0 && !tip.other && tip.box !== document.activeElement);
    const odd = BoomMarks.oddTips(plain.map((tip) => tip.value), limits.by_count, limits.reading);
    plain.forEach((tip, at) => (tip.odd = odd[at]));
    for (const tip of tips) {
      tip.odd ||= tip.value === 0;
      const item = tip.box.closest(".tip");
      item.classList.toggle("unlike", tip.odd);
      const mark = item.querySelector(".unlike-words");
      if (mark) mark.hidden = !tip.odd;
    }
    if (picture) {
      BoomMarks.draw(picture, tips);
      const said = document.getElementById("filling-words");
      const names = tips.filter((tip) => tip.odd).map((tip) => tip.box.id.slice(4));
      const count = tips.filter((tip) => tip.value >= 0).length;
      const words = names.length ? said.dataset.odd : said.dataset.plain;
      said.textContent = words.replace("{n}", count).replace("{all}", tips.length).replace("{tips}", names.join(", "));
    }
  }

  document.addEventListener("yard:answered", ({ detail }) => {
    for (const { entry, state, words } of detail.answers) {
      const box = boxes.find((one) => one.name === detail.known.get(entry)?.place);
      if (!box) continue;
      if (state === "refused") box.refusedEntry = entry;
      if (box.dataset.entry !== entry) continue;
      box.closest(".tip").classList.toggle("waits", state !== "kept");
      tellBox(box, words.join(" "), state !== "kept");
    }
  });

  function commitDry() {
    for (const tip of dry.value.match(/[1-9]\d{0,2}/g) ?? []) {
      const box = document.getElementById(`tip-${tip}`);
      if (box && !box.value) box.value = "no flow";
    }
    dry.value = "";
    kept.undraft(["dry"]);
  }

  form.addEventListener("submit", async (event) => {
    if (!kept || form.querySelector("[name=theirs]")) return;
    event.preventDefault();
    commitDry();
    await Promise.all(boxes.map(commitInTurn));
    look();
    if ((await YardSend.sendToEnd()) !== "sent") return;
    const stuck = (await kept.entriesOf(kept.person)).filter((one) => one.wet_run === kept.run);
    if (!stuck.length) location.reload();
  });

  // Back from a reload, a killed tab, a dead battery: what was entered, then what stood half-typed.
  async function restore() {
    const entries = (await kept.entriesOf(kept.person)).filter((one) => one.wet_run === kept.run);
    for (const one of entries) {
      const box = boxes.find((each) => each.name === one.place);
      if (!box) continue;
      box.value = box.stood = one.typed;
      box.dataset.entry = one.entry;
      box.closest(".tip").classList.add("waits");
      if (one.state === "refused") box.refusedEntry = one.entry;
      if (one.words.length) tellBox(box, one.words.join(" "), true);
    }
    for (const { box: name, typed: text } of await kept.drafts()) {
      const box = name === "dry" ? dry : boxes.find((each) => each.name === name);
      if (box) box.value = text;
    }
    const own = (await kept.fact("own-keys")) ?? matchMedia("(pointer: coarse)").matches;
    if (pad) ownKeys(own);
    const after = await kept.fact("figures");
    if (figures && after) figures.value = after;
    look();
    document.documentElement.dataset.yard = "ready";
  }

  for (const one of document.querySelectorAll("[data-with-scripts]")) one.hidden = false;
  if (kept) restore();
  look();
})();

// Rows and sheets of a wet run: half-typed boxes are kept on the device, and without a signal a sheet waits there too.
"use strict";

(() => {
  if (!globalThis.Yard?.person) return;
  const forms = [...document.querySelectorAll("form.sheet[method=post]")].filter(
    (form) => !form.matches(".tips-sheet") && form.querySelector("[name=seen], [name=read]"),
  );
  const nth = (form) => forms.indexOf(form);
  const minds = (box) => box.name && !["hidden", "submit", "file", "password"].includes(box.type);
  const key = (box) => `form ${nth(box.form)} ${box.name} ${box.type === "radio" ? box.value : ""}`;

  function boxesOf(form) {
    return [...form.elements].filter(minds);
  }

  function note(event) {
    const box = event.target;
    if (!forms.includes(box.form) || !minds(box)) return;
    if (box.type === "radio") for (const one of box.form.elements[box.name]) Yard.draft(key(one), String(one.checked));
    else Yard.draft(key(box), box.type === "checkbox" ? String(box.checked) : box.value);
  }

  async function restore() {
    const drafts = new Map((await Yard.drafts()).map((one) => [one.box, one.typed]));
    for (const box of forms.flatMap(boxesOf)) {
      const text = drafts.get(key(box));
      if (text === undefined) continue;
      if (box.type === "checkbox" || box.type === "radio") box.checked = text === "true";
      else box.value = text;
      box.closest("details")?.setAttribute("open", "");
    }
    document.documentElement.dataset.forms = "ready";
  }

  function sent(form, button) {
    const boxes = {};
    for (const [name, value] of new FormData(form, button)) {
      if (name !== "csrfmiddlewaretoken" && typeof value === "string") (boxes[name] ??= []).push(value);
    }
    return boxes;
  }

  async function keep(event) {
    const form = event.target;
    if (!forms.includes(form) || event.defaultPrevented) return;
    event.preventDefault();
    // Nothing is changed while it is written down: what is typed now belongs to the next one.
    const names = boxesOf(form).map(key);
    const boxes = sent(form, event.submitter);
    const test = location.pathname.split("/").at(-2);
    const entry = await Yard.add({ kind: "boxes", test, boxes }, names);
    const came = await answerTo(entry.entry);
    // On to where the plain form leads: a whole sheet back to the tests, a row and a catch to their own page.
    const isSheet = form.querySelector("[name=read]") && !["catch", "low-duty"].includes(test);
    if (came === "kept") return isSheet ? location.assign(`/wet-runs/${Yard.run}/`) : location.reload();
    if (came) return say(form, came);
    if (form.querySelector("[name=seen]")) clear(form);
    say(form, [Yard.bar.dataset.wordsKeptHere]);
  }

  async function answerTo(entry) {
    let found = null;
    const hear = ({ detail }) => (found ??= detail.answers.find((one) => one.entry === entry));
    document.addEventListener("yard:answered", hear);
    await YardSend.sendToEnd();
    document.removeEventListener("yard:answered", hear);
    if (!found) return null;
    if (found.state === "kept") return "kept";
    if (found.state === "refused") await giveBack(entry);
    return found.words;
  }

  // Refused because of what was typed: it stands in its boxes again, as a draft, until it is mended and kept.
  async function giveBack(entry) {
    await Promise.all(forms.flatMap(boxesOf).filter((box) => box.value && !box.type.match(/radio|checkbox/)).map((box) => Yard.draft(key(box), box.value)));
    await Yard.drop([entry]);
  }

  function say(form, words) {
    let told = form.querySelector(".yard-says");
    if (!told) {
      told = Object.assign(document.createElement("div"), { className: "problems yard-says" });
      told.setAttribute("role", "status");
      form.prepend(told);
    }
    told.replaceChildren(...words.map((text) => Object.assign(document.createElement("p"), { textContent: text })));
  }

  function clear(form) {
    const way = form.elements.way;
    for (const box of boxesOf(form)) if (!box.defaultValue && box.type !== "select-one") box.value = "";
    if (way) way.value = way.value === "out" ? "back" : "out";
    const first = boxesOf(form).find((box) => box !== way);
    first?.focus();
  }

  document.addEventListener("input", note);
  document.addEventListener("change", note);
  document.addEventListener("submit", keep);
  restore();
})();

// A stopwatch for the course and a timer for the catch. It goes on through a reload: what counts is when it began.
"use strict";

(() => {
  const watch = document.getElementById("watch");
  if (!watch) return;
  const shown = watch.querySelector("output");
  const press = watch.querySelector("[data-press]");
  const list = watch.querySelector("ol");
  const counts = Number(watch.dataset.seconds) || 0;
  const kept = globalThis.Yard?.person ? Yard : null;
  const place = `watch ${location.pathname}`;
  let state = { began: null, splits: [] };
  let rung = false;

  const seconds = (ms) => (ms / 1000).toFixed(counts ? 1 : 2);

  function show() {
    if (state.began === null) return;
    const passed = Date.now() - state.began;
    shown.textContent = `${seconds(passed)} s`;
    if (counts && !rung && passed >= counts * 1000) {
      rung = true;
      watch.classList.add("rung");
      navigator.vibrate?.([300, 150, 300]);
    }
    requestAnimationFrame(show);
  }

  function drawSplits() {
    list?.replaceChildren(
      ...state.splits.map(({ way, time }, at) => {
        const item = document.createElement("li");
        const put = Object.assign(document.createElement("button"), { type: "button", textContent: watch.dataset.put });
        put.addEventListener("click", () => take(at));
        item.append(`${watch.dataset[way]} ${time} s `, put);
        return item;
      }),
    );
    press.textContent = state.began === null ? watch.dataset.start : watch.dataset.stop;
  }

  function fill(name, value) {
    const box = document.querySelector(`form [name="${name}"]`);
    if (!box) return false;
    box.value = value;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    return true;
  }

  function take(at) {
    const [{ way, time }] = state.splits.splice(at, 1);
    fill("time", time);
    fill("way", way);
    remember();
  }

  async function remember() {
    drawSplits();
    await kept?.keepFact(place, state);
  }

  // One press at each mark: out begins, out ends, back begins, back ends. A time that finds its box full waits below.
  function pressed() {
    if (state.began === null) {
      state.began = Date.now();
      rung = false;
      watch.classList.remove("rung");
      show();
    } else {
      const time = seconds(Date.now() - state.began);
      state.began = null;
      shown.textContent = `${time} s`;
      if (!counts) split(time);
    }
    remember();
  }

  function split(time) {
    const last = state.splits.at(-1)?.way ?? (boxEmpty() ? null : document.querySelector('form [name="way"]')?.value);
    const way = last ? (last === "out" ? "back" : "out") : (document.querySelector('form [name="way"]')?.value ?? "out");
    if (!state.splits.length && boxEmpty()) {
      fill("time", time);
      fill("way", way);
    } else state.splits.push({ way, time });
  }

  const boxEmpty = () => document.querySelector('form [name="time"]')?.value === "";

  press.addEventListener("click", pressed);
  watch.hidden = false;
  drawSplits();
  kept?.fact(place).then((found) => {
    if (found) state = found;
    drawSplits();
    show();
  });
})();

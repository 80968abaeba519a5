// The page of what waits on this device: shown, sent again, or taken along as a file. Nothing here is ever thrown away.
"use strict";

(async () => {
  const list = document.getElementById("waiting-list");
  if (!list || !globalThis.Yard?.person) return;
  const download = document.getElementById("download");

  function row(one) {
    const item = document.createElement("tr");
    const typed = one.kind === "tip" ? `${one.typed} ${one.unit}` : Object.values(one.boxes).flat().filter(Boolean).join(", ");
    const where = one.kind === "tip" ? one.place : one.test;
    for (const text of [new Date(one.at).toLocaleString(), where, typed, one.words.join(" ") || list.dataset.waits]) {
      item.append(Object.assign(document.createElement("td"), { textContent: text }));
    }
    return item;
  }

  async function show() {
    const mine = await Yard.entriesOf(Yard.person);
    list.replaceChildren(...mine.map(row));
    document.getElementById("nothing-waits").hidden = mine.length > 0;
    document.getElementById("something-waits").hidden = !mine.length;
    const file = new Blob([JSON.stringify({ format_version: Yard.FORMAT_VERSION, entries: mine }, null, 2)], { type: "application/json" });
    URL.revokeObjectURL(download.href);
    download.href = URL.createObjectURL(file);
  }

  document.getElementById("send-again").addEventListener("click", async () => {
    await YardSend.send({ tryHeld: true });
    await show();
  });
  document.addEventListener("yard:answered", show);
  await show();
})();

// Which tips are unlike their boom, as they are typed, and the picture of the boom as it fills up.
//
// The one place of the rule outside the shop: the last step of the shop's own, wetrun.proving.catch_odd (Rosner's
// many-outlier test on logarithms, ordered about the median), with the limits the shop worked out and put on the page.
// Steps of sections and falls to the ends are taken out by the shop alone, so a mark here is a hint, its verdict rules.
"use strict";

globalThis.BoomMarks = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const HIGH = 60;

  function median(sorted) {
    const half = sorted.length >> 1;
    return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
  }

  // How far the first k of the values, in order, scatter about their mean; never less than one reading's own doubt.
  function running(ordered, floor) {
    const start = ordered[0];
    let sum = 0;
    let square = 0;
    return ordered.map((value, at) => {
      const n = at + 1;
      sum += value - start;
      square += (value - start) ** 2;
      const mean = sum / n;
      return [start + mean, Math.max(Math.sqrt(Math.max(square - n * mean * mean, 0) / Math.max(n - 1, 1)), floor)];
    });
  }

  // True for each value that is unlike the rest; limits by how many values there are, none for too few.
  function oddTips(values, limits, floor) {
    const odd = values.map(() => false);
    const own = limits[values.length];
    if (!own) return odd;
    const logs = values.map(Math.log);
    const middle = median([...logs].sort((a, b) => a - b));
    const order = logs.map((_, at) => at).sort((a, b) => Math.abs(logs[a] - middle) - Math.abs(logs[b] - middle));
    const about = running(order.map((at) => logs[at]), floor);
    let count = 0;
    own.forEach((limit, at) => {
      const [mean, scatter] = about[logs.length - 1 - at];
      if (Math.abs(logs[order[logs.length - 1 - at]] - mean) > limit * scatter) count = at + 1;
    });
    for (const at of order.slice(logs.length - count)) odd[at] = true;
    return odd;
  }

  function part(name, attributes) {
    const made = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  }

  // A bar for each tip that was typed, the middle of the boom at half the height; an odd one is wider and has a foot.
  function draw(svg, tips) {
    const typed = tips.filter((tip) => tip.value > 0).map((tip) => tip.value);
    const middle = typed.length ? median(typed.sort((a, b) => a - b)) : 1;
    svg.setAttribute("viewBox", `0 0 ${tips.length * 4} ${HIGH + 6}`);
    const bars = tips.map((tip, at) => {
      const high = tip.value > 0 ? Math.min(Math.max(HIGH / 2 + (tip.value / middle - 1) * 3 * HIGH / 2, 2), HIGH) : 1;
      const kind = tip.odd ? "bar-odd" : tip.value >= 0 ? "bar" : "bar-blank";
      return part("rect", { x: at * 4 + 0.5, y: HIGH - high, width: tip.odd ? 3.8 : 3, height: high, class: kind });
    });
    const feet = tips.flatMap((tip, at) =>
      tip.odd ? [part("path", { d: `M${at * 4} ${HIGH + 5}l2-4 2 4z`, class: "bar-odd" })] : [],
    );
    const line = part("path", { d: `M0 ${HIGH / 2}H${tips.length * 4}`, class: "bar-middle" });
    svg.replaceChildren(...bars, ...feet, line);
  }

  return { oddTips, draw };
})();

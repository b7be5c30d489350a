/* The time line: a rule with a hairline. */

const EVERY = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400];  // s between figures

/* Runs of one cutter, each from the halt at which it is put in. */
function runsOf(setup) {
  const { operations } = setup.raw, found = [];
  operations.forEach((operation, k) => {
    if (k && operation.cutter === operations[k - 1].cutter) return;
    found.push({ cutter: operation.cutter, t: k ? haltBefore(setup, k)?.t ?? operation.start : 0 });
  });
  return found.map((one, k) => ({ ...one, end: k + 1 < found.length ? found[k + 1].t : setup.seconds }));
}

function drawRule() {
  const { setup } = player, svg = $("scale"), wide = $("rule").clientWidth, total = setup.seconds;
  $("rule").setAttribute("aria-valuemax", total.toFixed(1));
  svg.setAttribute("viewBox", `0 0 ${wide} 56`);
  if (!total) return svg.replaceChildren();
  const at = (t) => t / total * wide, marks = [];
  runsOf(setup).forEach((one, k) => {
    const width = Math.max(0, at(one.end) - at(one.t));
    const band = draw("rect", { class: k % 2 ? "band odd" : "band", x: at(one.t), y: 0, width, height: 20 });
    band.append(draw("title", {}, `from ${clock(one.t)}: T${one.cutter}`));
    marks.push(band);
    if (k) marks.push(draw("path", { class: "change", d: `M${at(one.t)} 0v30` }));
    if (width > 34) marks.push(draw("text", { x: at(one.t) + 4, y: 14 }, `T${one.cutter}`));
  });
  marks.push(...ticks(total, wide, at));
  for (const item of setup.raw.loose) {
    const x = Math.max(6, Math.min(wide - 6, at(item.t)));
    const diamond = draw("path", { class: "slug", d: `M${x} 21l6 6l-6 6l-6-6z` });
    diamond.append(draw("title", {}, `${clock(item.t)}: ${item.text}`));
    marks.push(diamond);
  }
  return svg.replaceChildren(...marks);
}

function ticks(total, wide, at) {
  const every = EVERY.find((value) => wide * value / total >= 60) ?? total;
  const found = [];
  for (let k = 0; k * every / 5 <= total && k < 2000; k++) {
    const t = k * every / 5, long = k % 5 === 0;
    found.push(draw("path", { class: "tick", d: `M${at(t)} 36v${long ? 8 : 4}` }));
    if (!long) continue;
    const last = at(t) > wide - 20, anchor = last ? "end" : k ? "middle" : "start";
    found.push(draw("text", { x: last ? wide - 2 : k ? at(t) : 2, y: 54, "text-anchor": anchor }, clock(t)));
  }
  return found;
}

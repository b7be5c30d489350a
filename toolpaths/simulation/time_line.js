/* The time line: a rule with a hairline. */

function runsOf(setup) {
  const { operations, halts } = setup.raw, found = [];
  operations.forEach((operation, k) => {
    if (k && operation.cutter === operations[k - 1].cutter) return;
    const left = k ? setup.end[operations[k - 1].last] : 0;
    const halt = halts.find((one) => one.seconds > 0 && one.t >= left - 1e-6 && one.t <= operation.start);
    found.push({ cutter: operation.cutter, t: k ? (halt ? halt.t : operation.start) : 0 });
  });
  return found.map((one, k) => ({ ...one, end: k + 1 < found.length ? found[k + 1].t : setup.seconds }));
}

function drawRule() {
  const { setup } = player, svg = $("scale"), wide = $("rule").clientWidth, total = setup.seconds;
  svg.setAttribute("viewBox", `0 0 ${wide} 56`);
  if (!total) return svg.replaceChildren();
  const at = (t) => t / total * wide, marks = [];
  runsOf(setup).forEach((one, k) => {
    const band = draw("rect", { class: k % 2 ? "band odd" : "band", x: at(one.t), y: 0, width: Math.max(0, at(one.end) - at(one.t)), height: 20 });
    band.append(draw("title", {}, `from ${clock(one.t)}: T${one.cutter}`));
    marks.push(band);
    if (k) marks.push(draw("path", { class: "change", d: `M${at(one.t)} 0v30` }));
    if (at(one.end) - at(one.t) > 34) marks.push(draw("text", { x: at(one.t) + 4, y: 14 }, `T${one.cutter}`));
  });
  marks.push(...ticks(total, wide, at));
  for (const item of setup.raw.loose) {
    const diamond = draw("path", { class: "slug", d: `M${Math.max(6, Math.min(wide - 6, at(item.t)))} 21l6 6l-6 6l-6-6z` });
    diamond.append(draw("title", {}, `${clock(item.t)}: ${item.text}`));
    marks.push(diamond);
  }
  return svg.replaceChildren(...marks);
}

function ticks(total, wide, at) {
  const every = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400].find((value) => wide * value / total >= 60) ?? total;
  const found = [];
  for (let k = 0; k * every / 5 <= total && k < 2000; k++) {
    const t = k * every / 5, long = k % 5 === 0;
    found.push(draw("path", { class: "tick", d: `M${at(t)} 36v${long ? 8 : 4}` }));
    if (long) found.push(draw("text", { class: "hour", x: Math.min(wide - 2, Math.max(2, at(t))), y: 54, "text-anchor": k ? at(t) > wide - 20 ? "end" : "middle" : "start" }, clock(t)));
  }
  return found;
}

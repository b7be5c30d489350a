/* On paper: every setup finished, with its list. */

/* Every setup on its own page: the sheet as it is when all is cut, and the list. */
function toPaper() {
  $("paper").replaceChildren(...data.setups.map((raw, k) => {
    const sheet = make("section"), block = make("header", "block"), setup = setups[k] ??= read(raw);
    fillBlock(block, raw);
    sheet.append(block, finished(setup), ...listOnPaper(setup));
    if (raw.findings.length) {
      const list = make("ul");
      list.append(...findingRows(raw));
      sheet.append(make("h2", "", "Findings"), list);
    }
    return sheet;
  }));
}

function finished(setup) {
  // What is cut goes to paper as a picture, lines and lettering as lines.
  const canvas = make("canvas"), [x0, y0, x1, y1] = setup.raw.stock;
  canvas.width = 1800;
  canvas.height = Math.round(Math.max(500, Math.min(1500, 1800 * (y1 - y0) / (x1 - x0) + 120)));
  const view = viewOf(setup.raw, canvas.width, canvas.height, 2.4);
  const context = canvas.getContext("2d"), cuts = blank(canvas);
  new Painter(cuts.getContext("2d"), setup, view).paint(0, setup.count);
  context.fillStyle = INK.sheet;
  context.fillRect(...boxed(view, setup.raw.stock));
  context.drawImage(cuts, 0, 0);
  drawLines(context, setup.raw, view);
  drawLoose(context, setup, view, Infinity);
  return canvas;
}

function listOnPaper(setup) {
  const head = make("tr"), units = data.program_units;
  const columns = ["", "at", "T", "speed, min⁻¹", `feed, ${units}/min`, `Z, ${units}`, "s"];
  head.append(...columns.map((text) => make("th", "figure", text)));
  head.append(make("th", "", "work"));
  const lines = setup.raw.operations.map((operation) => {
    const row = make("tr"), feed = feedRate(operation.feed).split(" ")[0], label = labels(setup, operation);
    const { number, start, cutter, rpm, depth, seconds } = operation;
    const figures = [number, clock(start), cutter, trimmed(rpm, 0), feed, axis(depth), trimmed(seconds, 1)];
    row.append(...figures.map((text) => make("td", "figure", String(text))));
    row.append(make("td", "", [does(operation), label].filter(Boolean).join(": ")));
    return row;
  });
  const events = [
    ...haltsOf(setup.raw).map((halt) => [halt.t, `halt, ${clock(halt.seconds)}: ${halt.text}`]),
    ...setup.raw.loose.map((item) => [item.t, item.text]),
  ].sort((a, b) => a[0] - b[0]).map(([t, text]) => [clock(t), text]);
  return [tabled(lines, head), ...titled("Halts and slugs", events), ...titled("Reasons", reasonsOf(setup))];
}

function tabled(rows, head) {
  const table = make("table"), body = make("tbody"), top = make("thead");
  if (head) top.append(head);
  body.append(...rows);
  table.append(top, body);
  return table;
}

/* A heading over pairs; nothing where there are none. */
function titled(heading, pairs) {
  if (!pairs.length) return [];
  return [make("h2", "", heading), tabled(pairs.map(([name, ...texts]) => {
    const row = make("tr"), cell = make("td");
    cell.append(...texts.map((text) => make("p", "", text)));
    row.append(make("td", "name", name), cell);
    return row;
  }))];
}

/* Each set of reasons once, with the numbers of its operations: [numbers, reason, ...]. */
function reasonsOf(setup) {
  const of = new Map();
  for (const { number, reasons } of setup.raw.operations) {
    const key = reasons.join("\n");
    if (!of.has(key)) of.set(key, { numbers: [], reasons });
    of.get(key).numbers.push(number);
  }
  const told = [...of.values()].filter(({ reasons }) => reasons.length);
  return told.map(({ numbers, reasons }) => [spans(numbers), ...reasons]);
}

/* 1, 2, 3, 7 as "1 to 3, 7". */
function spans(numbers) {
  const runs = [];
  for (const number of numbers) {
    const last = runs.at(-1);
    if (last && number === last[1] + 1) last[1] = number; else runs.push([number, number]);
  }
  return runs.map(([first, last]) => first === last ? first : `${first}${last > first + 1 ? " to" : ","} ${last}`).join(", ");
}

/* The sheet as drawn: all that does not move. */

function extent(raw) {
  const boxes = [raw.stock, ...raw.obstacles.map((one) => one.area)];
  const [x0, y0] = [0, 1].map((k) => Math.min(...boxes.map((box) => box[k])));
  const [x1, y1] = [2, 3].map((k) => Math.max(...boxes.map((box) => box[k])));
  return { x0, y0, x1, y1 };
}

/* How program coordinates become pixels: the sheet with its clamps, as large as it goes. */
function viewOf(raw, width, height, ratio) {
  const { x0, y0, x1, y1 } = extent(raw);
  const edge = 14 * ratio, foot = 26 * ratio;
  const scale = Math.max(1e-6, Math.min((width - 2 * edge) / (x1 - x0), (height - edge - foot) / (y1 - y0)));
  const left = (width - scale * (x1 - x0)) / 2 - scale * x0;
  const top = edge + (height - edge - foot - scale * (y1 - y0)) / 2 + scale * y1;
  return { scale, ratio, left, top, width, height, x: (mm) => left + scale * mm, y: (mm) => top - scale * mm };
}

function trace(context, view, points) {
  points.forEach(([x, y], k) => k ? context.lineTo(view.x(x), view.y(y)) : context.moveTo(view.x(x), view.y(y)));
  context.closePath();
}

function boxed(view, [x0, y0, x1, y1]) {
  return [view.x(x0), view.y(y1), view.scale * (x1 - x0), view.scale * (y1 - y0)];
}

function lettered(context, view, text, x, y, ink = INK.line, size = 11) {
  context.font = `${size * view.ratio}px "Liberation Sans", Arial, sans-serif`;
  context.lineWidth = 3 * view.ratio;
  context.lineJoin = "round";
  context.strokeStyle = INK.paper;
  context.fillStyle = ink;
  context.strokeText(text, x, y);
  context.fillText(text, x, y);
}

/* All lines that do not move: over what is cut, so that a cut never hides the design. */
function drawLines(context, raw, view) {
  const fine = view.ratio;
  context.strokeStyle = INK.thin;
  context.lineWidth = fine;
  context.strokeRect(...boxed(view, raw.stock));
  context.strokeStyle = INK.line;
  context.lineWidth = 2 * fine;
  context.beginPath();
  trace(context, view, raw.outline);
  context.stroke();
  context.lineWidth = 1.2 * fine;
  for (const { machined, shape } of raw.openings) {  // one path each: a path of thousands is slow
    context.setLineDash(machined ? [] : [5 * fine, 3 * fine]);
    context.beginPath();
    trace(context, view, shape);
    context.stroke();
  }
  context.setLineDash([]);
  drawLegends(context, raw, view);
  if (raw.reach) drawDivision(context, raw, view);
  drawClamps(context, raw, view);
  drawZero(context, raw, view);
  drawTags(context, raw, view);
  drawFindings(context, raw, view);
  drawScale(context, view);
}

/* Lettering and scales: thin, so that what is engraved shows under them. */
function drawLegends(context, raw, view) {
  context.lineWidth = 0.6 * view.ratio;
  context.beginPath();
  for (const points of raw.legends.flatMap((legend) => legend.strokes)) {
    points.forEach(([x, y], k) => k ? context.lineTo(view.x(x), view.y(y)) : context.moveTo(view.x(x), view.y(y)));
  }
  context.stroke();
}

/* Of a divided panel: what other setups make, what the machine reaches here, and the pins that hold the sheet. */
function drawDivision(context, raw, view) {
  const fine = view.ratio;
  context.strokeStyle = INK.thin;
  context.lineWidth = fine;
  context.setLineDash([1.5 * fine, 3 * fine]);
  for (const shape of raw.elsewhere) {
    context.beginPath();
    trace(context, view, shape);
    context.stroke();
  }
  context.setLineDash([12 * fine, 3 * fine, 2 * fine, 3 * fine]);
  context.strokeRect(...boxed(view, raw.reach));
  context.setLineDash([]);
  context.fillStyle = INK.line;
  for (const { at, diameter } of raw.pins) {
    context.beginPath();
    context.arc(view.x(at[0]), view.y(at[1]), Math.max(2 * fine, view.scale * diameter / 2), 0, 2 * Math.PI);
    context.fill();
  }
}

function drawClamps(context, raw, view) {
  const fine = view.ratio;
  for (const { name, area } of raw.obstacles) {
    const [x, y, w, h] = boxed(view, area);
    context.save();
    context.beginPath();
    context.rect(x, y, w, h);
    context.fillStyle = INK.clamp;
    context.fill();
    context.clip();
    context.strokeStyle = INK.thin;
    context.lineWidth = 0.8 * fine;
    context.beginPath();
    for (let k = -h; k < w; k += 6 * fine) { context.moveTo(x + k, y + h); context.lineTo(x + k + h, y); }
    context.stroke();
    context.restore();
    context.strokeStyle = INK.line;
    context.lineWidth = 1.2 * fine;
    context.strokeRect(x, y, w, h);
    context.textAlign = "center";
    context.textBaseline = "middle";
    context.font = `${11 * fine}px "Liberation Sans", Arial, sans-serif`;
    const wide = context.measureText(name).width;
    if (wide < w + 8 * fine) lettered(context, view, name, x + w / 2, y + h / 2);
    else if (h > wide && w > 10 * fine) {
      context.save();
      context.translate(x + w / 2, y + h / 2);
      context.rotate(-Math.PI / 2);
      lettered(context, view, name, 0, 0);
      context.restore();
    }
  }
}

function drawZero(context, raw, view) {
  const fine = view.ratio, [x, y] = [view.x(raw.zero[0]), view.y(raw.zero[1])];
  context.strokeStyle = INK.zero;
  context.fillStyle = INK.paper;
  context.lineWidth = 1.6 * fine;
  context.beginPath();
  context.moveTo(x + 22 * fine, y);
  context.lineTo(x, y);
  context.lineTo(x, y - 22 * fine);
  context.stroke();
  context.beginPath();
  context.arc(x, y, 4 * fine, 0, 2 * Math.PI);
  if (raw.touch_off) diamond(context, view.x(raw.touch_off[0]), view.y(raw.touch_off[1]), 5 * fine);
  context.fill();
  context.stroke();
}

function diamond(context, x, y, size) {
  context.moveTo(x, y - size);
  for (const [dx, dy] of [[1, 0], [0, 1], [-1, 0]]) context.lineTo(x + dx * size, y + dy * size);
  context.closePath();
}

/* Tags in their openings or beside them; where there is no room, none: the list and the pointer tell. */
function drawTags(context, raw, view) {
  const fine = view.ratio, cell = 8 * fine, taken = new Set(), written = new Set();
  const cells = (x, y, w, h) => {
    const found = [];
    for (let i = Math.floor(x / cell); i <= (x + w) / cell; i++) {
      for (let j = Math.floor(y / cell); j <= (y + h) / cell; j++) found.push(i * 65536 + j);
    }
    return found;
  };
  for (const { area } of raw.obstacles) for (const one of cells(...boxed(view, area))) taken.add(one);
  const boxes = raw.openings.map((opening) => {
    const points = opening.shape.length ? opening.shape : [opening.at];
    const px = points.map((point) => view.x(point[0])), py = points.map((point) => view.y(point[1]));
    const [x, y] = [Math.min(...px), Math.min(...py)], box = [x, y, Math.max(...px) - x, Math.max(...py) - y];
    if (box[2] < 60 * fine) for (const one of cells(...box)) taken.add(one);
    return box;
  });
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.font = `${11 * fine}px "Liberation Sans", Arial, sans-serif`;
  raw.openings.forEach((opening, k) => {
    const [x, y, w, h] = boxes[k], wide = context.measureText(opening.tag).width + 4 * fine, high = 12 * fine;
    const [mx, my] = [x + w / 2, y + h / 2];
    const [dx, dy] = [w / 2 + 3 * fine + wide / 2, h / 2 + 3 * fine + high / 2];
    const beside = [[mx + dx, my], [mx, my - dy], [mx - dx, my], [mx, my + dy]];
    const inside = w > wide + 6 * fine && h > high + 6 * fine;
    for (const [cx, cy] of inside && w >= 60 * fine ? [[mx, my]] : inside ? [...beside, [mx, my]] : beside) {
      const wanted = cells(cx - wide / 2, cy - high / 2, wide, high);
      const within = cx === mx && cy === my, full = within ? written : taken;
      if (wanted.some((one) => full.has(one)) || cx - wide / 2 < 0 || cx + wide / 2 > view.width) continue;
      for (const one of wanted) { taken.add(one); written.add(one); }
      if (within) {
        context.fillStyle = INK.paper;
        context.fillRect(cx - wide / 2, cy - high / 2, wide, high);
      }
      lettered(context, view, opening.tag, cx, cy);
      return;
    }
  });
}

/* Each finding's number stands at its place: a square for an error, a triangle for a warning, a circle for a note; of
   several at one place each goes further round it. */
function drawFindings(context, raw, view) {
  const size = 8 * view.ratio;
  context.textAlign = "center";
  context.textBaseline = "middle";
  const there = new Map();
  raw.findings.forEach((finding, k) => {
    if (!finding.at) return;
    const before = there.get(String(finding.at)) ?? 0;
    there.set(String(finding.at), before + 1);
    const turn = -Math.PI / 4 + before * Math.PI / 3, far = 2.8 * size * (1 + Math.floor(before / 6) * 0.9);
    const [px, py] = [view.x(finding.at[0]), view.y(finding.at[1])];
    const x = px + far * Math.cos(turn), y = py + far * Math.sin(turn);
    context.lineWidth = view.ratio;
    context.strokeStyle = INK.line;
    context.beginPath();
    context.moveTo(px, py);
    context.lineTo(x, y);
    context.stroke();
    context.beginPath();
    if (finding.severity === "error") context.rect(x - size, y - size, 2 * size, 2 * size);
    else if (finding.severity === "note") context.arc(x, y, size, 0, 2 * Math.PI);
    else for (const [dx, dy] of [[0, -1.4], [1.3, 0.9], [-1.3, 0.9]]) context.lineTo(x + dx * size, y + dy * size);
    context.closePath();
    context.fillStyle = finding.severity === "error" ? INK.line : INK.paper;
    context.fill();
    context.lineWidth = 1.6 * view.ratio;
    context.stroke();
    context.font = `bold ${10 * view.ratio}px "Liberation Sans", Arial, sans-serif`;
    context.fillStyle = finding.severity === "error" ? INK.paper : INK.line;
    context.fillText(String(k + 1), x, y + (finding.severity === "warning" ? size * 0.15 : 0));
  });
}

/* A bar of a round length, near a quarter of the width. */
function drawScale(context, view) {
  const unit = data.units === "in" ? INCH : 1, fine = view.ratio;
  const most = view.width / 4 / view.scale / unit, power = 10 ** Math.floor(Math.log10(most));
  const length = [5, 2, 1].map((k) => k * power).find((value) => value <= most) ?? power;
  const wide = length * unit * view.scale, x = view.width - 14 * fine - wide, y = view.height - 9 * fine;
  context.strokeStyle = context.fillStyle = INK.line;
  context.lineWidth = fine;
  context.strokeRect(x, y - 3 * fine, wide, 5 * fine);
  context.fillRect(x, y - 3 * fine, wide / 2, 5 * fine);
  context.textAlign = "right";
  context.textBaseline = "alphabetic";
  lettered(context, view, `${trimmed(length, 3)} ${data.units}`, x - 6 * fine, y + 3 * fine);
}

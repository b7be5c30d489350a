/* Plays verified programs. Its data are in the element "data": mm, seconds, X right, Y up, Z0 = top of the sheet.

   Nothing here looks at all strokes for one frame. A moment is found by halving; what is cut is painted onto a canvas as
   it goes, and copies of that canvas (checkpoints) are kept, so that a jump paints only from the nearest one before it.
   A place in a program is a number: 12.25 is a quarter along stroke 12.

   For tests, `window.replay` offers: time (seconds), playing, setTime(seconds), play(), pause(), setup(index),
   view (pixels per mm, and the pixel where X0 Y0 lies, of canvas "removed"), and stats: strokes, painted (place that the
   canvas shows), behind (strokes still to paint), checkpoints, ready (all checkpoints made), frames (ms between frames). */
(() => {
"use strict";

const data = JSON.parse(document.getElementById("data").textContent);
const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";

const SPEEDS = [1, 2, 5, 10, 20, 50, 100];
const REST = 2;            // s of the viewer's time that a halt takes at most
const TOUCH = 0.002;       // mm: nearer than this to a face counts as that face; programs in inches round to 0.00127
const TRAIL = 6;           // rapids that leave a trail
const BATCH = 60;          // strokes in one path: longer paths cost more than they save
const PER_FRAME = 4000;    // strokes painted in one frame at most; the rest follows in the next
const CHECKPOINTS = 64;
const CHUNK = 50;          // rows of the list that are laid out together, when they come into sight
const MEMORY = 160e6;      // bytes that checkpoints may take

/* From light to dark in every channel, so that "darken" leaves the deepest whatever the order of cuts. The steps differ in
   lightness, which every kind of colour vision sees. */
const INK = { paper: "#fbfaf5", line: "#17232e", thin: "#566472", sheet: "#e6eaeb", clamp: "#c8ced3", cutter: "#b8410b", zero: "#0a558c" };
const DEPTHS = ["#dcb973", "#c9a35c", "#b28a4b", "#9a7040", "#22303b"];

// words and elements ---------------------------------------------------------------------------------------------------

function make(tag, className, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text !== undefined) element.textContent = text;
  return element;
}

function draw(tag, attributes, text) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

function say(element, text) { if (element.textContent !== text) element.textContent = text; }

const INCH = 25.4;
const signed = (text) => text.replace(/^-(?=.*[1-9])/, "−").replace(/^-/, "");
const rounded = (value, decimals) => signed(value.toFixed(decimals));
const trimmed = (value, decimals) => signed(String(Number(value.toFixed(decimals))));
/* What the machine shows stands in the units of the program, what is measured in those of the job. */
const axis = (mm) => data.program_units === "in" ? rounded(mm / INCH, 3) : rounded(mm, 2);
const feedRate = (mm) => data.program_units === "in" ? `${trimmed(mm / INCH, 1)} in/min` : `${trimmed(mm, 0)} mm/min`;
const measured = (mm) => data.units === "in" ? `${trimmed(mm / INCH, 4)} in` : `${trimmed(mm, 3)} mm`;

function clock(seconds, tenths) {
  const whole = tenths ? Math.floor(seconds * 10 + 1e-6) / 10 : Math.round(seconds);
  const h = Math.floor(whole / 3600), m = Math.floor(whole / 60) % 60, s = whole % 60;
  const two = (value) => String(value).padStart(2, "0");
  const last = tenths ? s.toFixed(1).padStart(4, "0") : two(s);
  return h ? `${h}:${two(m)}:${last}` : `${m}:${last}`;
}

const named = (setup) => `${setup.panel}: setup ${setup.number}`;
const does = (operation) => [operation.kind, operation.tags.join(" ")].filter(Boolean).join(" ");

function labels(setup, operation) {
  return [...new Set(operation.tags.map((tag) => setup.places.get(tag)?.label).filter(Boolean))].join(", ");
}

// a setup as it is played ------------------------------------------------------------------------------------------------

/* The first index whose value in an ascending list is greater. */
function firstAfter(list, value) {
  let low = 0, high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle] > value) high = middle; else low = middle + 1;
  }
  return low;
}

function read(raw) {
  const known = (list) => Float64Array.from(list, (value) => value === null ? NaN : value);
  const s = raw.strokes, count = s.t.length;
  const [x, y, z, cx, cy, end] = [s.x, s.y, s.z, s.cx, s.cy, s.t].map(known);
  const begin = new Float64Array(count), turn = new Float64Array(count);
  for (let i = 1; i < count; i++) begin[i] = end[i - 1];
  for (const halt of raw.halts) {
    const i = firstAfter(end, halt.t + halt.seconds / 2);
    if (i < count) begin[i] = Math.min(end[i], Math.max(begin[i], halt.t + halt.seconds));
  }
  const setup = {
    raw, count, x, y, z, cx, cy, begin, end, turn, cut: s.cut,
    start: known(raw.start),
    starts: Float64Array.from(raw.operations, (operation) => operation.start),
    places: new Map(raw.openings.map((opening) => [opening.tag, opening])),
    seconds: Math.max(raw.seconds, count ? end[count - 1] : 0),
    floors: [0, 0.25, 0.5, 0.75].map((share) => -share * raw.thickness - TOUCH).concat(TOUCH - raw.thickness),
  };
  for (let i = 0; i < count; i++) if (s.ccw[i] !== null) turn[i] = sweep(setup, i, s.ccw[i]);
  setup.operation = operationOf(setup);
  return setup;
}

const before = (setup, i, name, k) => i ? setup[name][i - 1] : setup.start[k];

/* Signed turn of an arc in radians: one full turn where it ends where it began. */
function sweep(setup, i, ccw) {
  const ax = before(setup, i, "x", 0) - setup.cx[i], ay = before(setup, i, "y", 1) - setup.cy[i];
  const bx = setup.x[i] - setup.cx[i], by = setup.y[i] - setup.cy[i];
  if (Math.hypot(bx - ax, by - ay) < 1e-6) return ccw ? 2 * Math.PI : -2 * Math.PI;
  const angle = Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
  if (ccw) return angle > 0 ? angle : angle + 2 * Math.PI;
  return angle < 0 ? angle : angle - 2 * Math.PI;
}

/* The operation that each stroke belongs to. Between two of them the way back up is the first one's until the halt. */
function operationOf(setup) {
  const of = new Int32Array(setup.count), { operations, halts } = setup.raw;
  let i = 0;
  operations.forEach((operation, k) => {
    const halt = halts.find((one) => one.seconds > 0 && k > 0 && one.t > setup.end[operations[k - 1].last] - 1e-6 && one.t <= operation.start);
    for (; i < operation.first; i++) of[i] = halt && setup.end[i] <= halt.t + 1e-6 ? k - 1 : k;
    for (; i <= operation.last; i++) of[i] = k;
  });
  return of.fill(operations.length - 1, i);
}

function placeAt(setup, t) {
  const i = firstAfter(setup.end, t);
  if (i === setup.count) return i;
  return t <= setup.begin[i] ? i : i + Math.min(1 - 1e-9, (t - setup.begin[i]) / (setup.end[i] - setup.begin[i]));
}

function pointOn(setup, i, share) {
  const x0 = before(setup, i, "x", 0), y0 = before(setup, i, "y", 1), z0 = before(setup, i, "z", 2);
  const z = share >= 1 ? setup.z[i] : share <= 0 ? z0 : z0 + (setup.z[i] - z0) * share;
  if (setup.turn[i]) {
    const cx = setup.cx[i], cy = setup.cy[i], angle = Math.atan2(y0 - cy, x0 - cx) + setup.turn[i] * share;
    const radius = Math.hypot(x0 - cx, y0 - cy);
    return [cx + radius * Math.cos(angle), cy + radius * Math.sin(angle), z];
  }
  if (share >= 1) return [setup.x[i], setup.y[i], z];
  if (share <= 0) return [x0, y0, z];
  return [x0 + (setup.x[i] - x0) * share, y0 + (setup.y[i] - y0) * share, z];
}

function pointAt(setup, place) {
  if (!setup.count) return setup.start;
  const i = Math.min(Math.floor(place), setup.count - 1);
  return pointOn(setup, i, place - i);
}

function cutterOf(setup, operation) {
  return operation ? setup.raw.cutters[String(operation.cutter)] : undefined;
}

// what is cut ------------------------------------------------------------------------------------------------------------

/* Paints what strokes sweep, by depth, onto one canvas. */
class Painter {
  constructor(context, setup, view) {
    Object.assign(this, { context, setup, view, line: null, discs: null });
    context.globalCompositeOperation = "darken";
    context.lineCap = context.lineJoin = "round";
  }

  /* Everything cut between two places. */
  paint(from, to) {
    for (let i = Math.floor(from); i < to; i++) {
      if (this.setup.cut[i]) this.stroke(i, Math.max(0, from - i), Math.min(1, to - i));
    }
    this.flush();
  }

  stroke(i, from, to) {
    const { setup } = this, operation = setup.raw.operations[setup.operation[i]], cutter = cutterOf(setup, operation);
    const z0 = before(setup, i, "z", 2), z1 = setup.z[i];
    if (!cutter || Number.isNaN(z0 + z1 + before(setup, i, "x", 0) + before(setup, i, "y", 1))) return;
    if (!this.moves(i)) this.piece(i, from, to, Math.min(z0 + (z1 - z0) * from, z0 + (z1 - z0) * to), cutter);
    else if (z0 === z1) this.piece(i, from, to, z0, cutter);
    else this.ramp(i, from, to, z0, z1, cutter);
  }

  moves(i) {
    const { setup } = this;
    return setup.turn[i] !== 0 || setup.x[i] !== before(setup, i, "x", 0) || setup.y[i] !== before(setup, i, "y", 1);
  }

  /* A sloping stroke changes its look exactly where it passes a floor; a cone also changes its width all the way. */
  ramp(i, from, to, z0, z1, cutter) {
    const shares = this.setup.floors.map((floor) => (floor - z0) / (z1 - z0));
    if (cutter.point_angle_deg < 180) for (let k = 1; k < 16; k++) shares.push(from + (to - from) * k / 16);
    const stops = [from, ...shares.filter((share) => share > from && share < to).sort((a, b) => a - b), to];
    for (let k = 1; k < stops.length; k++) {
      this.piece(i, stops[k - 1], stops[k], z0 + (z1 - z0) * (stops[k - 1] + stops[k]) / 2, cutter);
    }
  }

  /* A piece at one depth. A flat cutter removes all down to its deepest floor; a point is narrower the deeper it is. */
  piece(i, from, to, z, cutter) {
    const { floors } = this.setup, full = cutter.diameter / 2;
    let deepest = floors.length - 1;
    while (deepest >= 0 && z > floors[deepest]) deepest--;
    if (deepest < 0) return;
    if (cutter.point_angle_deg >= 180) return this.shape(i, from, to, full, deepest);
    const slope = Math.tan(cutter.point_angle_deg * Math.PI / 360);
    for (let k = 0; k <= deepest; k++) this.shape(i, from, to, Math.min(full, (floors[k] - z) * slope), k);
  }

  shape(i, from, to, radius, depth) {
    const { setup, view } = this, scale = view.scale;
    const [x, y] = pointOn(setup, i, from), px = view.x(x), py = view.y(y);
    if (!this.moves(i)) {
      const path = this.batch("discs", radius, depth);
      path.moveTo(px + radius * scale, py);
      path.arc(px, py, radius * scale, 0, 2 * Math.PI);
      return;
    }
    const path = this.batch("line", radius, depth), open = this.line;
    if (open.x !== px || open.y !== py) path.moveTo(px, py);
    const [x1, y1] = pointOn(setup, i, to);
    [open.x, open.y] = [view.x(x1), view.y(y1)];
    if (!setup.turn[i]) { path.lineTo(open.x, open.y); return; }
    const cx = view.x(setup.cx[i]), cy = view.y(setup.cy[i]), angle = Math.atan2(py - cy, px - cx);
    path.arc(cx, cy, Math.hypot(px - cx, py - cy), angle, angle - setup.turn[i] * (to - from), setup.turn[i] > 0);
  }

  /* The open path of one look; another look closes it. */
  batch(kind, radius, depth) {
    let open = this[kind];
    if (open && (open.depth !== depth || (kind === "line" && open.radius !== radius) || open.size >= BATCH)) this.close(kind);
    open = this[kind] ??= { path: new Path2D(), radius, depth, size: 0, x: NaN, y: NaN };
    open.size++;
    return open.path;
  }

  close(kind) {
    const open = this[kind], { context } = this;
    this[kind] = null;
    if (!open) return;
    context.strokeStyle = context.fillStyle = DEPTHS[open.depth];
    context.lineWidth = 2 * open.radius * this.view.scale;
    if (kind === "line") context.stroke(open.path); else context.fill(open.path);
  }

  flush() { this.close("line"); this.close("discs"); }
}

/* The canvas of what is cut, followed to a moment by as few strokes as may be. */
class Removed {
  constructor(canvas, setup, view) {
    Object.assign(this, { canvas, setup, view, place: 0 });
    const bytes = Math.max(1, canvas.width * canvas.height * 4);
    const kept = Math.max(1, Math.min(CHECKPOINTS, Math.floor(MEMORY / bytes), Math.ceil(setup.count / 200)));
    this.spacing = Math.max(1, Math.ceil(setup.count / kept));
    this.checkpoints = [];
    this.painter = new Painter(fresh(canvas), setup, view);
    this.ahead = blank(this.canvas);
    this.ahead.painter = new Painter(this.ahead.getContext("2d"), setup, view);
    this.made = 0;
  }

  get ready() { return this.made >= this.setup.count; }

  /* Towards a place; true when there. */
  follow(place) {
    const reached = Math.min(this.checkpoints.length, Math.floor(place / this.spacing));
    if (place < this.place || reached * this.spacing > this.place) this.restore(reached);
    const next = Math.min(place, this.place + PER_FRAME);
    this.painter.paint(this.place, next);
    this.place = next;
    return next === place;
  }

  restore(number) {
    const { context } = this.painter;
    context.globalCompositeOperation = "copy";
    if (number) context.drawImage(this.checkpoints[number - 1], 0, 0);
    else context.clearRect(0, 0, this.canvas.width, this.canvas.height);
    context.globalCompositeOperation = "darken";
    this.place = number * this.spacing;
  }

  /* Makes checkpoints ahead of need, a few strokes at a time. */
  prepare(strokes) {
    const next = Math.min(this.setup.count, this.made + strokes, (this.checkpoints.length + 1) * this.spacing);
    this.ahead.painter.paint(this.made, next);
    this.made = next;
    if (next === (this.checkpoints.length + 1) * this.spacing && next < this.setup.count) {
      const copy = blank(this.canvas);
      copy.getContext("2d").drawImage(this.ahead, 0, 0);
      this.checkpoints.push(copy);
    }
    if (this.ready) this.ahead = { width: 0, height: 0 };
  }
}

function blank(canvas) { return Object.assign(make("canvas"), { width: canvas.width, height: canvas.height }); }

function fresh(canvas) {
  const context = canvas.getContext("2d");
  context.setTransform(1, 0, 0, 1, 0, 0);
  context.globalCompositeOperation = "source-over";
  context.clearRect(0, 0, canvas.width, canvas.height);
  return context;
}

// the sheet as drawn -----------------------------------------------------------------------------------------------------

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
  drawClamps(context, raw, view);
  drawZero(context, raw, view);
  drawTags(context, raw, view);
  drawFindings(context, raw, view);
  drawScale(context, view);
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

/* Tags at their openings: in the opening, or beside it; where there is no room, none (the list and the pointer tell). */
function drawTags(context, raw, view) {
  const fine = view.ratio, cell = 8 * fine, taken = new Set(), written = new Set();
  const cells = (x, y, w, h) => {
    const found = [];
    for (let i = Math.floor(x / cell); i <= (x + w) / cell; i++) for (let j = Math.floor(y / cell); j <= (y + h) / cell; j++) found.push(i * 65536 + j);
    return found;
  };
  for (const { area } of raw.obstacles) for (const one of cells(...boxed(view, area))) taken.add(one);
  const boxes = raw.openings.map((opening) => {
    const px = opening.shape.map((point) => view.x(point[0])), py = opening.shape.map((point) => view.y(point[1]));
    const x = px.reduce((a, b) => Math.min(a, b), view.x(opening.at[0])), y = py.reduce((a, b) => Math.min(a, b), view.y(opening.at[1]));
    const box = [x, y, px.reduce((a, b) => Math.max(a, b), x) - x, py.reduce((a, b) => Math.max(a, b), y) - y];
    if (box[2] < 60 * fine) for (const one of cells(...box)) taken.add(one);
    return box;
  });
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.font = `${11 * fine}px "Liberation Sans", Arial, sans-serif`;
  raw.openings.forEach((opening, k) => {
    const [x, y, w, h] = boxes[k], wide = context.measureText(opening.tag).width + 4 * fine, high = 12 * fine;
    const [mx, my] = [x + w / 2, y + h / 2];
    const gap = 3 * fine, beside = [[x + w + gap + wide / 2, my], [mx, y - gap - high / 2], [x - gap - wide / 2, my], [mx, y + h + gap + high / 2]];
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

/* Each finding's number stands at its place: a square for an error, a triangle for a warning, a circle for a note. */
function drawFindings(context, raw, view) {
  const size = 8 * view.ratio;
  context.textAlign = "center";
  context.textBaseline = "middle";
  raw.findings.forEach((finding, k) => {
    if (!finding.at) return;
    const [px, py] = [view.x(finding.at[0]), view.y(finding.at[1])], x = px + 2 * size, y = py - 2 * size;
    context.lineWidth = view.ratio;
    context.strokeStyle = INK.line;
    context.beginPath();
    context.moveTo(px, py);
    context.lineTo(x, y);
    context.stroke();
    context.beginPath();
    if (finding.severity === "error") context.rect(x - size, y - size, 2 * size, 2 * size);
    else if (finding.severity === "warning") for (const [dx, dy] of [[0, -1.4], [1.3, 0.9], [-1.3, 0.9]]) context.lineTo(x + dx * size, y + dy * size);
    else context.arc(x, y, size, 0, 2 * Math.PI);
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

// what moves -------------------------------------------------------------------------------------------------------------

function drawMoving(context, setup, view, place, now) {
  context.clearRect(0, 0, view.width, view.height);
  drawLoose(context, setup, view, now);
  drawTrail(context, setup, view, place);
  drawCutter(context, setup, view, place);
}

/* The last few rapids, thin and dashed; the older the fainter. */
function drawTrail(context, setup, view, place) {
  context.strokeStyle = INK.zero;
  context.lineWidth = 1.2 * view.ratio;
  context.setLineDash([5 * view.ratio, 4 * view.ratio]);
  const last = Math.min(Math.floor(place), setup.count - 1);
  for (let i = last, left = TRAIL; i >= 0 && left > 0 && last - i < 400; i--) {
    if (setup.cut[i] || (setup.x[i] === before(setup, i, "x", 0) && setup.y[i] === before(setup, i, "y", 1))) continue;
    const [x0, y0] = pointOn(setup, i, 0), [x1, y1] = pointOn(setup, i, Math.min(1, place - i));
    if (Number.isNaN(x0 + y0 + x1 + y1)) continue;
    context.globalAlpha = left / TRAIL;
    context.beginPath();
    context.moveTo(view.x(x0), view.y(y0));
    context.lineTo(view.x(x1), view.y(y1));
    context.stroke();
    left--;
  }
  context.globalAlpha = 1;
  context.setLineDash([]);
}

function drawCutter(context, setup, view, place) {
  const [x, y] = pointAt(setup, place), index = Math.min(Math.floor(place), setup.count - 1);
  const operation = setup.raw.operations[setup.operation[index]], cutter = cutterOf(setup, operation);
  if (!cutter || Number.isNaN(x + y)) return;
  const px = view.x(x), py = view.y(y), radius = cutter.diameter / 2 * view.scale, fine = view.ratio;
  const cuts = place < setup.count && setup.cut[index];
  for (const [ink, width] of [[INK.paper, 4.5], [INK.cutter, 2]]) {
    context.strokeStyle = ink;
    context.lineWidth = width * fine;
    context.beginPath();
    context.arc(px, py, radius, 0, 2 * Math.PI);
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      context.moveTo(px + dx * (radius + 3 * fine), py + dy * (radius + 3 * fine));
      context.lineTo(px + dx * (radius + 9 * fine), py + dy * (radius + 9 * fine));
    }
    context.stroke();
  }
  if (cuts) {
    context.fillStyle = INK.cutter;
    context.globalAlpha = 0.45;
    context.beginPath();
    context.arc(px, py, radius, 0, 2 * Math.PI);
    context.fill();
    context.globalAlpha = 1;
  }
  const right = px < view.width - 70 * fine;
  context.textAlign = right ? "left" : "right";
  context.textBaseline = "middle";
  lettered(context, view, `T${operation.cutter}`, px + (right ? 1 : -1) * (radius + 6 * fine), py + (py > 26 * fine + radius ? -1 : 1) * (radius + 9 * fine), INK.cutter, 13);
}

function drawLoose(context, setup, view, now) {
  for (const item of setup.raw.loose) {
    const opening = setup.places.get(item.tag);
    if (item.t <= now && opening) lozenge(context, view, view.x(opening.at[0]), view.y(opening.at[1]) + 15 * view.ratio);
  }
}

function lozenge(context, view, x, y) {
  context.beginPath();
  diamond(context, x, y, 6 * view.ratio);
  context.fillStyle = INK.cutter;
  context.fill();
  context.strokeStyle = INK.paper;
  context.lineWidth = 1.2 * view.ratio;
  context.stroke();
}

/* Seen from the side: the sheet in section, the board below it, and the cutter's end at its height. */
function drawGauge(context, setup, ratio, width, height, place) {
  const { thickness } = setup.raw, [, , z] = pointAt(setup, place), fine = ratio;
  const top = Math.max(2, thickness * 0.9), low = thickness + Math.max(1.2, thickness * 0.35), scale = height / (top + low);
  const level = (mm) => (top - mm) * scale;
  const index = Math.min(Math.floor(place), setup.count - 1);
  const cutter = cutterOf(setup, setup.raw.operations[setup.operation[index]]);
  const half = cutter && !Number.isNaN(z) ? Math.min(width * 0.3, Math.max(4 * fine, cutter.diameter / 2 * scale)) : 0;
  context.clearRect(0, 0, width, height);
  context.fillStyle = INK.sheet;
  context.fillRect(0, level(0), width, thickness * scale);
  context.save();
  context.beginPath();
  context.rect(0, level(0), width, thickness * scale);
  context.clip();
  context.strokeStyle = INK.thin;
  context.lineWidth = 0.8 * fine;
  context.beginPath();
  for (let k = -height; k < width; k += 7 * fine) { context.moveTo(k, height); context.lineTo(k + height, 0); }
  context.stroke();
  context.restore();
  if (half && z < 0) {
    context.fillStyle = DEPTHS[z <= setup.floors[4] ? 4 : 1];
    context.fillRect(width / 2 - half, level(0), 2 * half, Math.min(-z, thickness) * scale);
  }
  context.strokeStyle = INK.line;
  context.lineWidth = 1.5 * fine;
  context.beginPath();
  for (const mm of [0, -thickness]) { context.moveTo(0, level(mm)); context.lineTo(width, level(mm)); }
  context.stroke();
  if (half) drawEnd(context, cutter, fine, width / 2, half, Math.max(12 * fine, Math.min(height, level(z))), z > top);
  context.textAlign = "left";
  context.textBaseline = "bottom";
  const letters = { ratio: fine };
  lettered(context, letters, "Z0", 3 * fine, level(0) - 2 * fine, INK.line, 10);
  context.textBaseline = "top";
  lettered(context, letters, axis(-thickness), 3 * fine, level(-thickness) + 2 * fine, INK.line, 10);
}

function drawEnd(context, cutter, fine, middle, half, tip, above) {
  const point = cutter.point_angle_deg >= 180 ? 0 : Math.min(half / Math.tan(cutter.point_angle_deg * Math.PI / 360), tip);
  context.beginPath();
  for (const [x, y] of [[-half, 0], [half, 0], [half, tip - point], [0, tip], [-half, tip - point]]) context.lineTo(middle + x, y);
  if (!point) context.rect(middle - half, 0, 2 * half, tip);
  context.closePath();
  context.fillStyle = INK.paper;
  context.fill();
  context.strokeStyle = INK.cutter;
  context.lineWidth = 2 * fine;
  context.setLineDash(above ? [4 * fine, 3 * fine] : []);
  context.stroke();
  context.setLineDash([]);
}

// the player -------------------------------------------------------------------------------------------------------------

const setups = data.setups.map(() => null);
const player = { setup: null, index: -1, time: 0, playing: false, speed: 10, last: 0, due: false, dirty: true, shown: undefined };
const layers = { removed: $("removed"), lines: $("lines"), moving: $("moving"), gauge: $("gauge") };
const stats = { frames: [] };
let removed = null, view = null, figures = {}, rows = [], scrolled = 0;

function choose(index) {
  const raw = data.setups[index];
  if (!raw) return;
  Object.assign(player, { setup: setups[index] ??= read(raw), index, time: 0, playing: false, shown: undefined });
  $("setup").value = String(index);
  fillBlock($("block"), raw);
  fillFigures();
  fillList();
  fillFindings();
  fillKey();
  const { x0, y0, x1, y1 } = extent(raw);
  $("stage").style.setProperty("--tall", (y1 - y0) / (x1 - x0));
  layOut();
  say($("run"), "Start");
  setTime(0);
}

/* Everything that depends on the size of the window. */
function layOut() {
  if (!player.setup) return;
  const ratio = window.devicePixelRatio || 1;
  const sized = (canvas, box) => {
    [canvas.width, canvas.height] = [Math.max(1, Math.round(box.clientWidth * ratio)), Math.max(1, Math.round(box.clientHeight * ratio))];
  };
  for (const canvas of [layers.removed, layers.lines, layers.moving]) sized(canvas, $("stage"));
  sized(layers.gauge, layers.gauge);
  view = viewOf(player.setup.raw, layers.removed.width, layers.removed.height, ratio);
  removed = new Removed(layers.removed, player.setup, view);
  const [x, y, w, h] = boxed(view, player.setup.raw.stock);
  Object.assign($("stage").style, {
    background: `linear-gradient(${INK.sheet}, ${INK.sheet}) ${x / ratio}px ${y / ratio}px / ${w / ratio}px ${h / ratio}px no-repeat`,
  });
  drawLines(fresh(layers.lines), player.setup.raw, view);
  drawRule();
  mark();
}

function mark() {
  player.dirty = true;
  if (!player.due) { player.due = true; requestAnimationFrame(frame); }
}

function frame(stamp) {
  player.due = false;
  const passed = stamp - player.last;
  player.last = stamp;
  if (!player.setup) return;
  if (player.playing) {
    if (passed < 1000) stats.frames.push(passed);
    if (stats.frames.length > 2000) stats.frames.shift();
    run(Math.min(passed, 250) / 1000);
  }
  const place = placeAt(player.setup, player.time);
  let more = !removed.follow(place);
  if (player.dirty || player.playing) show(place);
  player.dirty = false;
  if (!removed.ready) {
    if (!more) removed.prepare(player.playing ? 200 : 1000);
    more = true;
  }
  if (more || player.playing) { player.due = true; requestAnimationFrame(frame); }
}

/* Time goes on; a halt takes no longer than REST of the viewer's. */
function run(seconds) {
  const halt = haltAt(player.time);
  const rate = halt ? Math.max(player.speed, halt.seconds / REST) : player.speed;
  const end = halt ? halt.t + halt.seconds : Infinity;
  player.time = Math.min(player.time + seconds * rate, Math.max(end, player.time + seconds * player.speed), player.setup.seconds);
  if (player.time >= player.setup.seconds) pause();
}

function haltAt(t) {
  return player.setup.raw.halts.find((halt) => halt.seconds > 0 && t >= halt.t && t < halt.t + halt.seconds);
}

function setTime(seconds) {
  if (!player.setup) return;
  player.time = Math.max(0, Math.min(player.setup.seconds, Number(seconds) || 0));
  mark();
}

function play() {
  if (!player.setup || !player.setup.seconds) return;
  if (player.time >= player.setup.seconds) setTime(0);
  player.playing = true;
  player.last = performance.now();
  say($("run"), "Hold");
  mark();
}

function pause() {
  player.playing = false;
  say($("run"), "Start");
  mark();
}

function current() { return firstAfter(player.setup.starts, player.time + 1e-6) - 1; }

/* To the start of the next operation, or of this one, or of the one before where this has only begun. */
function step(forward) {
  if (!player.setup) return;
  const { starts, seconds } = player.setup, now = current();
  if (forward) return setTime(now + 1 < starts.length ? starts[now + 1] : seconds);
  const begun = now < 0 ? 0 : player.time - starts[now], slack = player.playing ? 0.7 * player.speed : 0.05;
  setTime(begun > slack ? starts[now] : now > 0 ? starts[now - 1] : 0);
}

function setSpeed(speed) {
  player.speed = speed;
  $("speed").value = String(speed);
}

function faster(by) {
  setSpeed(SPEEDS[Math.max(0, Math.min(SPEEDS.length - 1, SPEEDS.indexOf(player.speed) + by))]);
}

// what is told -----------------------------------------------------------------------------------------------------------

function show(place) {
  const { setup, time } = player;
  drawMoving(layers.moving.getContext("2d"), setup, view, place, time);
  drawGauge(layers.gauge.getContext("2d"), setup, view.ratio, layers.gauge.width, layers.gauge.height, place);
  const share = setup.seconds ? time / setup.seconds : 0;
  $("hairline").style.transform = `translateX(${share * $("rule").clientWidth}px)`;
  $("past").style.transform = `scaleX(${share})`;
  $("rule").setAttribute("aria-valuenow", time.toFixed(1));
  $("rule").setAttribute("aria-valuetext", `${clock(time)} of ${clock(setup.seconds)}`);
  say($("clock"), `${clock(time, true)} of ${clock(setup.seconds)}`);
  const [x, y, z] = pointAt(setup, place);
  const told = (mm) => Number.isNaN(mm) ? "not known yet" : axis(mm);
  say(figures.x, told(x));
  say(figures.y, told(y));
  say(figures.z, told(z));
  tellOperation();
  say($("notice"), notice());
  $("notice").classList.toggle("halted", Boolean(haltAt(time)));
}

function notice() {
  const { setup, time } = player, halt = haltAt(time);
  if (!setup.count) return "This setup has no motions.";
  if (halt) return `Halt, ${clock(halt.seconds)}: ${halt.text}`;
  const loose = setup.raw.loose.findLast((item) => item.t <= time), told = [];
  if (loose && time - loose.t <= Math.max(1, 2 * player.speed)) told.push(`${clock(loose.t)}: ${loose.text}`);
  if (time >= setup.seconds) told.push("Finished.");
  return told.join(". ");
}

function tellOperation() {
  const { setup } = player, now = current(), { operations } = setup.raw;
  if (player.shown === now) return;
  rows[player.shown]?.removeAttribute("aria-current");
  player.shown = now;
  const operation = operations[now], cutter = cutterOf(setup, operation);
  say(figures.operation, operation ? `${now + 1} of ${operations.length}: ${does(operation)}` : operations.length ? "before the first" : "none");
  say(figures.cutter, operation ? `T${operation.cutter} ${cutter ? cutter.name : ""}` : "–");
  say(figures.feed, operation ? `${trimmed(operation.rpm, 0)} min⁻¹, ${feedRate(operation.feed)}` : "–");
  if (!operation) return;
  rows[now].setAttribute("aria-current", "step");
  keepInSight(rows[now]);
}

/* Scrolls the list alone, never the page, and not with every frame. */
function keepInSight(row) {
  const list = $("list"), now = performance.now();
  if (player.playing && now - scrolled < 300) return;
  scrolled = now;
  if (list.scrollHeight > list.clientHeight + 1) row.scrollIntoView({ block: "nearest" });
}

function fillBlock(block, raw) {
  const sheet = `${raw.material}, ${measured(raw.thickness)}`;
  const lengths = data.units === data.program_units ? `${data.units}, feeds ${data.units}/min` : `${data.units}; at the machine ${data.program_units}`;
  const seen = raw.seen_from === "inside" ? "the inside: turned over left to right" : "the outside";
  const cells = [["Size", data.size ?? "base"], ["Machine", data.machine], ["Setup", named(raw)], ["Sheet", sheet], ["Seen from", seen],
    ["Program", raw.programs.join(", ")], ["Lengths", lengths], ["Time", `about ${clock(raw.seconds)}`]];
  const title = make("div", "title");
  title.append(make("small", "", "Playback"), make("h1", "", data.title));
  block.replaceChildren(title, ...cells.map(([name, text]) => {
    const cell = make("div");
    cell.append(make("small", "", name), make("span", "", text));
    return cell;
  }));
}

function fillFigures() {
  const names = { operation: "Operation", cutter: "Cutter", feed: "Speed, feed", x: "X", y: "Y", z: "Z" };
  figures = {};
  $("figures").replaceChildren(...Object.entries(names).flatMap(([key, name]) => [make("dt", key, name), figures[key] = make("dd", key, "–")]));
}

/* Operations, halts and slugs in the order of time. Reasons stand where they are first told. */
function fillList() {
  const { setup } = player, { operations, halts, loose } = setup.raw, told = new Map();
  rows = operations.map((operation) => {
    const reasons = operation.reasons.join("\n"), as = told.get(reasons);
    const row = listed("work", operation.start, does(operation), howOf(operation) + (as ? ` · reasons as ${as}` : ""));
    row.firstChild.prepend(make("b", "number", String(operation.number)));
    const label = labels(setup, operation);
    if (label) row.querySelector(".what").append(make("i", "", ` ${label}`));
    if (reasons && !as) {
      told.set(reasons, operation.number);
      row.append(...operation.reasons.map((reason) => make("p", "", reason)));
    }
    return row;
  });
  const all = [
    ...operations.map((operation, k) => [operation.start, rows[k]]),
    ...halts.filter((halt) => halt.seconds > 0).map((halt) => [halt.t, listed("halt", halt.t, halt.text, `halt, ${clock(halt.seconds)}`)]),
    ...loose.map((item) => [item.t, listed("slug", item.t, item.text)]),
  ];
  all.sort((a, b) => a[0] - b[0]);
  const chunks = [];
  for (let k = 0; k < all.length; k += CHUNK) {
    const chunk = make("ol");
    chunk.append(...all.slice(k, k + CHUNK).map((pair) => pair[1]));
    chunks.push(chunk);
  }
  $("list").replaceChildren(...chunks);
  $("list").scrollTop = 0;
}

/* A row of the list that leads to a moment. */
function listed(kind, t, what, how) {
  const row = make("li", kind), button = make("button");
  button.type = "button";
  button.append(make("span", "what", what), make("span", "at", clock(t)));
  if (how) button.append(make("span", "how", how));
  button.addEventListener("click", () => setTime(t));
  row.append(button);
  return row;
}

function howOf(operation) {
  return `T${operation.cutter} · ${trimmed(operation.rpm, 0)} min⁻¹ · ${feedRate(operation.feed)} · Z ${axis(operation.depth)} · ${trimmed(operation.seconds, 1)} s`;
}

function fillFindings() {
  const { raw } = player.setup, list = make("ul");
  list.append(...findingRows(raw));
  $("more").replaceChildren(...raw.findings.length ? [make("h2", "", "Findings"), list] : []);
}

function findingRows(raw) {
  return raw.findings.map((finding, k) => {
    const row = make("li", `finding ${finding.severity}`);
    row.append(make("b", "", `${k + 1} ${finding.severity}`), make("span", "", ` ${[finding.feature, finding.message].filter(Boolean).join(": ")}`));
    return row;
  });
}

/* What the looks mean. */
function fillKey() {
  const { raw } = player.setup;
  const looks = [["swatch sheet", "sheet"], ["swatch part", "part of the depth"], ["swatch through", "through"], ["swatch rapid", "rapid"]];
  if (raw.obstacles.length) looks.push(["swatch clamp", "keep clear"]);
  if (raw.loose.length) looks.push(["swatch slug", "slug"]);
  if (raw.openings.some((opening) => !opening.machined)) looks.push(["swatch hand", "by hand"]);
  $("key").replaceChildren(...looks.map(([look, text]) => {
    const item = make("span", "look");
    item.append(make("i", look), make("span", "", text));
    return item;
  }));
}

// the time line: a rule with a hairline ----------------------------------------------------------------------------------

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

function dragRule() {
  const rule = $("rule");
  let held = false, resumes = false;
  const moved = (event) => {
    const box = rule.getBoundingClientRect();
    setTime((event.clientX - box.left - rule.clientLeft) / rule.clientWidth * player.setup.seconds);
  };
  rule.addEventListener("pointerdown", (event) => {
    if (!player.setup || event.button !== 0) return;
    held = true;
    resumes = player.playing;
    player.playing = false;
    rule.focus({ preventScroll: true });
    event.preventDefault();
    moved(event);
  });
  window.addEventListener("pointermove", (event) => { if (held) moved(event); });
  for (const name of ["pointerup", "pointercancel"]) {
    window.addEventListener(name, () => {
      if (held && resumes) play();
      held = false;
    });
  }
}

// the sheet under the pointer --------------------------------------------------------------------------------------------

function openingAt(event) {
  const box = $("stage").getBoundingClientRect();
  const x = ((event.clientX - box.left) * view.ratio - view.left) / view.scale, y = (view.top - (event.clientY - box.top) * view.ratio) / view.scale;
  let best = null, least = 14 * view.ratio / view.scale;
  for (const opening of player.setup.raw.openings) {
    const away = Math.hypot(opening.at[0] - x, opening.at[1] - y);
    if (away < least) [best, least] = [opening, away];
  }
  return best;
}

function pointOut() {
  $("stage").addEventListener("pointermove", (event) => {
    const opening = player.setup && openingAt(event);
    $("stage").title = opening ? [opening.tag, opening.label, opening.size, opening.machined ? "" : "by hand"].filter(Boolean).join(" · ") : "";
    $("stage").classList.toggle("found", Boolean(opening));
  });
  $("stage").addEventListener("click", (event) => {
    const opening = player.setup && openingAt(event);
    const operation = opening && player.setup.raw.operations.find((one) => one.tags.includes(opening.tag));
    if (operation) setTime(operation.start);
  });
}

// keys -------------------------------------------------------------------------------------------------------------------

function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest?.("select, input, textarea")) return;
  const keys = {
    " ": () => player.playing ? pause() : play(),
    ArrowRight: () => event.shiftKey ? setTime(player.time + 1) : step(true),
    ArrowLeft: () => event.shiftKey ? setTime(player.time - 1) : step(false),
    Home: () => setTime(0),
    End: () => player.setup && setTime(player.setup.seconds),
    "+": () => faster(1), "=": () => faster(1), "-": () => faster(-1), "−": () => faster(-1),
  };
  if (!keys[event.key] || (event.key === " " && event.target.closest?.("button"))) return;
  event.preventDefault();
  keys[event.key]();
}

// on paper ---------------------------------------------------------------------------------------------------------------

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
  head.append(...["", "at", "T", "speed, min⁻¹", `feed, ${units}/min`, `Z, ${units}`, "s"].map((text) => make("th", "figure", text)));
  head.append(make("th", "", "work"));
  const lines = setup.raw.operations.map((operation) => {
    const row = make("tr"), feed = feedRate(operation.feed).split(" ")[0], label = labels(setup, operation);
    const figures = [operation.number, clock(operation.start), operation.cutter, trimmed(operation.rpm, 0), feed, axis(operation.depth), trimmed(operation.seconds, 1)];
    row.append(...figures.map((text) => make("td", "figure", String(text))), make("td", "", does(operation) + (label ? `: ${label}` : "")));
    return row;
  });
  const events = [
    ...setup.raw.halts.filter((halt) => halt.seconds > 0).map((halt) => [halt.t, `halt, ${clock(halt.seconds)}: ${halt.text}`]),
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
  return [...of.values()].filter(({ reasons }) => reasons.length).map(({ numbers, reasons }) => [spans(numbers), ...reasons]);
}

/* 1, 2, 3, 7 as "1 to 3, 7". */
function spans(numbers) {
  const runs = [];
  for (const number of numbers) {
    const last = runs.at(-1);
    if (last && number === last[1] + 1) last[1] = number; else runs.push([number, number]);
  }
  return runs.map(([first, last]) => first === last ? `${first}` : last === first + 1 ? `${first}, ${last}` : `${first} to ${last}`).join(", ");
}

// start ------------------------------------------------------------------------------------------------------------------

function fillChoices() {
  $("speed").append(...SPEEDS.map((speed) => new Option(`${speed}×`, String(speed))));
  $("setup").append(...data.setups.map((raw, k) => new Option(`${named(raw)}, from the ${raw.seen_from}`, String(k))));
  $("choice").hidden = data.setups.length < 2;
  setSpeed(player.speed);
  $("speed").addEventListener("change", () => setSpeed(Number($("speed").value)));
  $("setup").addEventListener("change", () => choose(Number($("setup").value)));
  $("run").addEventListener("click", () => player.playing ? pause() : play());
  $("back").addEventListener("click", () => step(false));
  $("on").addEventListener("click", () => step(true));
}

window.replay = {
  get time() { return player.time; },
  get playing() { return player.playing; },
  get view() { return { scale: view.scale, left: view.left, top: view.top }; },
  get stats() {
    const place = player.setup ? placeAt(player.setup, player.time) : 0;
    return {
      strokes: player.setup?.count ?? 0, painted: removed?.place ?? 0, behind: Math.abs(place - (removed?.place ?? 0)),
      checkpoints: removed?.checkpoints.length ?? 0, ready: removed?.ready ?? true, frames: stats.frames,
    };
  },
  setTime, play, pause, setup: choose,
};

fillChoices();
dragRule();
pointOut();
document.addEventListener("keydown", onKey);
window.addEventListener("beforeprint", toPaper);
window.addEventListener("afterprint", () => $("paper").replaceChildren());
if (data.setups.length) choose(0); else say($("notice"), "There is nothing to machine.");
let size = "";
new ResizeObserver(() => {
  const now = `${$("stage").clientWidth} ${$("stage").clientHeight} ${$("rule").clientWidth}`;
  if (size && size !== now) layOut();
  size = now;
}).observe($("board"));
})();

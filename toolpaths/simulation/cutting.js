/* What is cut: painted as it goes, by depth, with copies kept so that a jump paints little. */

const BATCH = 60;        // strokes in one path: longer paths cost more than they save
const PER_FRAME = 4000;  // strokes painted in one frame at most; the rest follows in the next
const CHECKPOINTS = 64;
const MEMORY = 160e6;    // bytes that checkpoints may take

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
    for (let k = 0; k <= deepest; k++) {
      this.shape(i, from, to, Math.min(full, cutter.tip / 2 + (floors[k] - z) * slope), k);
    }
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
    const other = open && (open.depth !== depth || (kind === "line" && open.radius !== radius));
    if (other || open?.size >= BATCH) this.close(kind);
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

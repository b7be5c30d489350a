/* A setup as it is played: its strokes in flat lists, and what is found in them by halving. */

const TOUCH = 0.002;  // mm: nearer than this to a face counts as that face; programs in inches round to 0.00127

/* The first index whose value in an ascending list is greater. */
function firstAfter(list, value) {
  let low = 0, high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle] > value) high = middle; else low = middle + 1;
  }
  return low;
}

/* Equal shapes, as seen from their openings' places, and equal reasons come once: here each has its own. */
function spelledOut(raw) {
  const openings = raw.openings.map((opening) => {
    const [x, y] = opening.at;
    return { ...opening, shape: raw.shapes[opening.shape].map(([dx, dy]) => [x + dx, y + dy]) };
  });
  const operations = raw.operations.map((operation) => ({ ...operation, reasons: raw.reasons[operation.reasons] }));
  return { ...raw, openings, operations };
}

function read(told) {
  const raw = spelledOut(told);
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
    named: new Map([...raw.openings, ...raw.legends].map((one) => [one.tag, one.label])),
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
  const of = new Int32Array(setup.count), { operations } = setup.raw;
  let i = 0;
  operations.forEach((operation, k) => {
    const halt = haltBefore(setup, k);
    for (; i < operation.first; i++) of[i] = halt && setup.end[i] <= halt.t + 1e-6 ? k - 1 : k;
    for (; i <= operation.last; i++) of[i] = k;
  });
  return of.fill(operations.length - 1, i);
}

const haltsOf = (raw) => raw.halts.filter((halt) => halt.seconds > 0);

/* The halt between an operation and the one before it. */
function haltBefore(setup, k) {
  if (!k) return undefined;
  const { operations } = setup.raw, from = setup.end[operations[k - 1].last] - 1e-6;
  return haltsOf(setup.raw).find((halt) => halt.t >= from && halt.t <= operations[k].start);
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

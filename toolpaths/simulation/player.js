/* The player: what is shown, at which moment, how fast. */

const SPEEDS = [1, 2, 5, 10, 20, 50, 100];
const REST = 2;  // s of the viewer's time that a halt takes at most

const setups = data.setups.map(() => null);
const player = { setup: null, time: 0, playing: false, speed: 10, last: 0, due: false, dirty: true, shown: undefined };
const layers = { removed: $("removed"), lines: $("lines"), moving: $("moving"), gauge: $("gauge") };
const stats = { frames: [] };
let removed = null, view = null, figures = {}, rows = [], scrolled = 0;

function choose(index) {
  const raw = data.setups[index];
  if (!raw) return;
  Object.assign(player, { setup: setups[index] ??= read(raw), time: 0, playing: false, shown: undefined });
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
    const sides = [box.clientWidth, box.clientHeight];
    [canvas.width, canvas.height] = sides.map((side) => Math.max(1, Math.round(side * ratio)));
  };
  for (const canvas of [layers.removed, layers.lines, layers.moving]) sized(canvas, $("stage"));
  sized(layers.gauge, layers.gauge);
  view = viewOf(player.setup.raw, layers.removed.width, layers.removed.height, ratio);
  removed = new Removed(layers.removed, player.setup, view);
  const [x, y, w, h] = boxed(view, player.setup.raw.stock).map((value) => `${value / ratio}px`);
  $("stage").style.background = `linear-gradient(${INK.sheet}, ${INK.sheet}) ${x} ${y} / ${w} ${h} no-repeat`;
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
    stats.frames.push(passed);
    if (stats.frames.length > 2000) stats.frames.shift();
    run(Math.min(passed, 1000) / 1000);
  }
  const place = placeAt(player.setup, player.time);
  let more = !removed.follow(place);
  if (player.dirty || player.playing) show(place);
  player.dirty = false;
  if (!removed.ready) {
    if (!more) removed.prepare(player.playing ? 200 : 3000);
    more = true;
  }
  if (more || player.playing) { player.due = true; requestAnimationFrame(frame); }
}

/* Time goes on; a halt takes no longer than REST of the viewer's. */
function run(seconds) {
  const halt = haltAt(player.time);
  const rate = halt ? Math.max(player.speed, halt.seconds / REST) : player.speed;
  const end = halt ? halt.t + halt.seconds : Infinity;
  const next = Math.min(player.time + seconds * rate, Math.max(end, player.time + seconds * player.speed));
  player.time = Math.min(next, player.setup.seconds);
  if (player.time >= player.setup.seconds) pause();
}

function haltAt(t) {
  return haltsOf(player.setup.raw).find((halt) => t >= halt.t && t < halt.t + halt.seconds);
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

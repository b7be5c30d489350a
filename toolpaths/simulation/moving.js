/* What moves: cutter, rapids, slugs, and the gauge of depth. */

const TRAIL = 6;  // rapids that leave a trail

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
  const right = px < view.width - 70 * fine, above = py > 26 * fine + radius;
  context.textAlign = right ? "left" : "right";
  context.textBaseline = "middle";
  const [x1, y1] = [px + (right ? 1 : -1) * (radius + 6 * fine), py + (above ? -1 : 1) * (radius + 9 * fine)];
  lettered(context, view, `T${operation.cutter}`, x1, y1, INK.cutter, 13);
}

function drawLoose(context, setup, view, now) {
  for (const item of setup.raw.loose) {
    const opening = setup.places.get(item.tag);
    if (item.t > now || !opening) continue;
    lozenge(context, view, view.x(opening.at[0]), view.y(opening.at[1]) + 15 * view.ratio);
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
  const top = Math.max(2, thickness * 0.9), low = thickness + Math.max(1.2, thickness * 0.35);
  const scale = height / (top + low);
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
  const slope = Math.tan(cutter.point_angle_deg * Math.PI / 360), point = slope > 1e6 ? 0 : Math.min(half / slope, tip);
  const corners = [[-half, 0], [half, 0], [half, tip - point], [0, tip], [-half, tip - point]];
  context.beginPath();
  for (const [x, y] of corners) context.lineTo(middle + x, y);
  context.closePath();
  context.fillStyle = INK.paper;
  context.fill();
  context.strokeStyle = INK.cutter;
  context.lineWidth = 2 * fine;
  context.setLineDash(above ? [4 * fine, 3 * fine] : []);
  context.stroke();
  context.setLineDash([]);
}

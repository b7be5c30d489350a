/* What is told in words: the moment, the title block, the list, the findings, the looks. */

const CHUNK = 50;  // rows of the list that are laid out together, when they come into sight

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
  for (const again of $("list").querySelectorAll(".again")) again.remove();
  player.shown = now;
  const operation = operations[now], cutter = cutterOf(setup, operation);
  const none = operations.length ? "before the first" : "none";
  say(figures.operation, operation ? `${now + 1} of ${operations.length}: ${does(operation)}` : none);
  say(figures.cutter, operation ? `T${operation.cutter} ${cutter ? cutter.name : ""}` : "–");
  say(figures.feed, operation ? `${trimmed(operation.rpm, 0)} min⁻¹, ${feedRate(operation.feed)}` : "–");
  if (!operation) return;
  rows[now].setAttribute("aria-current", "step");
  bringUp(rows[now], operation);
}

/* The row at hand with its reasons, in sight: the list alone is scrolled, never the page, and not with every frame. */
function bringUp(row, operation) {
  const list = $("list"), now = performance.now();
  if (player.playing && now - scrolled < 300) return;
  scrolled = now;
  if (!row.querySelector("p")) row.append(...operation.reasons.map((reason) => make("p", "again", reason)));
  if (list.scrollHeight > list.clientHeight + 1) row.scrollIntoView({ block: "nearest" });
}

function fillBlock(block, raw) {
  const sheet = `${raw.material}, ${measured(raw.thickness)}`;
  const { units, program_units: machine } = data;
  const lengths = units === machine ? `${units}, feeds ${units}/min` : `${units}; at the machine ${machine}`;
  const seen = raw.seen_from === "inside" ? "the inside: turned over left to right" : "the outside";
  const cells = [
    ["Size", data.size ?? "base"], ["Machine", data.machine], ["Setup", named(raw)], ["Sheet", sheet], ["Seen from", seen],
    ["Program", raw.programs.join(", ")], ["Lengths", lengths], ["Time", `about ${clock(raw.seconds)}`],
  ];
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
  figures = Object.fromEntries(Object.keys(names).map((key) => [key, make("dd", key, "–")]));
  $("figures").replaceChildren(...Object.keys(names).flatMap((key) => [make("dt", key, names[key]), figures[key]]));
}

/* Operations, halts and slugs in the order of time. Reasons stand where they are first told. */
function fillList() {
  const { setup } = player, { operations, loose } = setup.raw, told = new Map();
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
    ...haltsOf(setup.raw).map(({ t, seconds, text }) => [t, listed("halt", t, text, `halt, ${clock(seconds)}`)]),
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
  const { cutter, rpm, feed, depth, seconds } = operation;
  return `T${cutter} · ${trimmed(rpm, 0)} min⁻¹ · ${feedRate(feed)} · Z ${axis(depth)} · ${trimmed(seconds, 1)} s`;
}

function fillFindings() {
  const { raw } = player.setup, list = make("ul");
  list.append(...findingRows(raw));
  $("more").replaceChildren(...raw.findings.length ? [make("h2", "", "Findings"), list] : []);
}

function findingRows(raw) {
  return raw.findings.map((finding, k) => {
    const row = make("li", `finding ${finding.severity}`);
    const text = [finding.feature, finding.message].filter(Boolean).join(": ");
    row.append(make("b", "", `${k + 1} ${finding.severity}`), make("span", "", ` ${text}`));
    return row;
  });
}

/* What the looks mean. */
function fillKey() {
  const { raw } = player.setup;
  const looks = [["sheet", "sheet"], ["part", "part of the depth"], ["through", "through"], ["rapid", "rapid"]];
  if (raw.obstacles.length) looks.push(["clamp", "keep clear"]);
  if (raw.loose.length) looks.push(["slug", "slug"]);
  if (raw.reach) looks.push(["elsewhere", "other setups"]);
  if (raw.pins?.length) looks.push(["pin", "pin"]);
  if (raw.openings.some((opening) => !opening.machined)) looks.push(["hand", "by hand"]);
  $("key").replaceChildren(...looks.map(([look, text]) => {
    const item = make("span", "look");
    item.append(make("i", `swatch ${look}`), make("span", "", text));
    return item;
  }));
}

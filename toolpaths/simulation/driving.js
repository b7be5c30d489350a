/* The viewer's hand: rule, sheet, buttons and keys. */

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

function openingAt(event) {
  const box = $("stage").getBoundingClientRect();
  const x = ((event.clientX - box.left) * view.ratio - view.left) / view.scale;
  const y = (view.top - (event.clientY - box.top) * view.ratio) / view.scale;
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
    const { tag, label, size, machined } = opening || { machined: true };
    $("stage").title = [tag, label, size, machined ? "" : "by hand"].filter(Boolean).join(" · ");
    $("stage").classList.toggle("found", Boolean(opening));
  });
  $("stage").addEventListener("click", (event) => {
    const opening = player.setup && openingAt(event);
    const operation = opening && player.setup.raw.operations.find((one) => one.tags.includes(opening.tag));
    if (operation) setTime(operation.start);
  });
}

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

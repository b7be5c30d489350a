/* Plays verified programs: the start, after all that it needs. The data are in the element "data": mm, seconds,
   X right, Y up, Z0 = top of the sheet.

   Nothing looks at all strokes for one frame. A moment is found by halving; what is cut is painted onto a canvas as it
   goes, and copies of that canvas (checkpoints) are kept, so that a jump paints only from the nearest one before it.
   A place in a program is a number: 12.25 is a quarter along stroke 12.

   For tests, `window.replay` offers: time (seconds), playing, setTime(seconds), play(), pause(), setup(index),
   view (pixels per mm, and the pixel where X0 Y0 lies, of canvas "removed"), and stats: strokes, painted (place that
   the canvas shows), behind (strokes still to paint), checkpoints, ready (all checkpoints made), frames (ms each). */

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

"""How smoothly the playback page plays 100,000 motions, and how long a jump to anywhere takes.

Run it by hand: ``python tests/benchmarks/bench_page.py``. It needs chromium and its driver, opens a page of 1280 by 800
pixels, and exits with 1 where the median frame of 10 s of play takes over 33 ms or a jump over 250 ms. It is no test of
the suite, since a busy machine would make it lie.

Frames are timed by the benchmark's own loop of animation frames, not by the page. A jump is timed from the call until a
frame has begun after which the canvas is read back, so that what was painted has really been painted.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.simulation.conftest import Player, missing, start
from tests.simulation.sample import many, replay
from toolpaths.simulation.page import page

MOTIONS = 100_000
JUMPS = 60
FRAME_LIMIT, JUMP_LIMIT = 33.0, 250.0
"""ms."""

PLAY = """
const [speed, from, done] = arguments, frames = [];
document.getElementById("speed").value = String(speed);
document.getElementById("speed").dispatchEvent(new Event("change"));
replay.setTime(from);
replay.play();
const begun = performance.now();
let last = begun;
requestAnimationFrame(function frame() {
  const now = performance.now();
  frames.push(now - last);
  last = now;
  if (now - begun < 10000) requestAnimationFrame(frame);
  else { replay.pause(); done([frames, replay.time - from]); }
});
"""

JUMP = """
const [to, done] = arguments, canvas = document.getElementById("removed");
const probe = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
const begun = performance.now();
replay.setTime(to);
requestAnimationFrame(function look() {
  if (replay.stats.behind > 0) return requestAnimationFrame(look);
  probe.drawImage(canvas, 0, 0);
  probe.getImageData(0, 0, 1, 1);
  done(performance.now() - begun);
});
"""


def main() -> int:
    """Prints the figures; 1 where a limit is passed."""
    if gone := missing():
        sys.exit(gone)
    raw = many(MOTIONS)
    within = True
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "simulation.html"
        file.write_text(page(replay(raw)), encoding="utf-8")
        print(f"{MOTIONS:,} motions, {len(raw['operations']):,} operations, {raw['seconds'] / 60:.0f} min; "
              f"{file.stat().st_size / 1e6:.1f} MB")  # fmt: skip
        driver = start(Path(folder) / "profile")
        try:
            driver.set_script_timeout(120)
            player = Player(driver)
            begun = time.perf_counter()
            driver.get(file.as_uri())
            player.until("window.replay && replay.stats.strokes > 0")
            print(f"page there after {time.perf_counter() - begun:.1f} s")
            first = driver.execute_async_script(JUMP, raw["seconds"])
            print(f"jump to the end straight away, before any checkpoint: {first:.0f} ms")
            player.until("replay.stats.ready", 120)
            count, passed = player.run("return replay.stats.checkpoints"), time.perf_counter() - begun
            print(f"all {count} checkpoints after {passed:.1f} s")
            for speed in (1, 10, 100):
                within &= played(driver, speed, raw["seconds"] / 3)
            within &= jumped(driver, raw["seconds"])
            print(f"console: {player.errors() or 'silent'}")
        finally:
            driver.quit()
    return 0 if within else 1


def played(driver: Any, speed: int, start_at: float) -> bool:
    """Ten seconds of play at one speed."""
    frames, passed = driver.execute_async_script(PLAY, speed, start_at)
    frames.sort()
    median, most, worst = statistics.median(frames), frames[int(0.95 * len(frames))], frames[-1]
    print(f"play at {speed}×: {len(frames)} frames, median {median:.1f} ms, 95 % under {most:.1f} ms, "
          f"worst {worst:.0f} ms; {passed:.0f} s played")  # fmt: skip
    return bool(median <= FRAME_LIMIT)


def jumped(driver: Any, seconds: float) -> bool:
    """Jumps to places by chance, the same in each run."""
    draw = random.Random(1)
    times = sorted(driver.execute_async_script(JUMP, draw.uniform(0, seconds)) for _ in range(JUMPS))
    print(f"{JUMPS} jumps: median {statistics.median(times):.0f} ms, worst {times[-1]:.0f} ms")
    return bool(times[-1] <= JUMP_LIMIT)


if __name__ == "__main__":
    sys.exit(main())

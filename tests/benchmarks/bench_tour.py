"""How short tours are, and how long they take: beside a proven optimum, another solver, and a stored long run of it.

Run it by hand: ``python tests/benchmarks/bench_tour.py``. It exits with 1 where a tour is longer than it may be. Times
are of one core; they are no test of the suite, since a busy machine would make them lie. The stored length of 10,000
holes was made by ``python tests/benchmarks/bench_tour.py --store``, which takes some minutes and 0.5 GB.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import fast_tsp
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from toolpaths.geometry.segment import XY
from toolpaths.plan.tour import Way, nearest_first, round_trip, tour, travel

PCB442 = Path(__file__).resolve().parents[1] / "plan" / "pcb442.txt"
OPTIMUM = 50778
"""Of pcb442, proven, every leg rounded to a whole number."""

MANY = 10_000
STORED = 71860.876
"""Length of the closed tour through ``scattered(MANY)`` that fast-tsp 0.2.2 found in 120 s of one core."""

STORE_SECONDS = 120
OTHER_SECONDS = 5
SCALE = 45
"""fast-tsp takes distances that are whole numbers up to 65535; the longest here is 1414."""


def scattered(count: int) -> list[XY]:
    """Places strewn evenly over a square of 1000 mm."""
    draw = random.Random(count)
    return [(draw.random() * 1000, draw.random() * 1000) for _ in range(count)]


def length(places: Sequence[XY], order: Sequence[int], rounded: bool = False) -> float:
    """The closed tour's length; ``rounded``: the sum of whole numbers, as TSPLIB counts (EUC_2D)."""
    legs = (math.dist(places[a], places[b]) for a, b in zip(order, [*order[1:], order[0]], strict=True))
    return sum(math.floor(leg + 0.5) if rounded else leg for leg in legs)


def other_solver(places: Sequence[XY], seconds: float) -> float:
    """What fast-tsp finds in so many seconds."""
    spots = np.array(places)
    whole = np.empty((len(spots), len(spots)), np.uint16)
    for row, spot in enumerate(spots):
        whole[row] = np.rint(SCALE * np.hypot(*(spots - spot).T))
    return length(places, fast_tsp.find_tour(whole, duration_seconds=seconds))


def timed(work: Callable[[], list[int]]) -> tuple[list[int], float]:
    begin = time.process_time()
    found = work()
    return found, time.process_time() - begin


def told(name: str, ratio: float, seconds: float, most: float, asked: float) -> bool:
    """One line; whether the tour is short enough."""
    print(f"{name:28} {ratio:8.4f} (at most {most:.2f})  {seconds:6.2f} s (asked: about {asked:g} s)", flush=True)
    return ratio <= most


def main() -> int:
    if sys.argv[1:] == ["--store"]:
        print(other_solver(scattered(MANY), STORE_SECONDS))
        return 0
    lines = PCB442.read_text(encoding="ascii").splitlines()
    board = [(float(x), float(y)) for x, y in (line.split() for line in lines if not line.startswith("#"))]
    found, seconds = timed(lambda: round_trip(board))
    good = told("pcb442 : proven optimum", length(board, found, rounded=True) / OPTIMUM, seconds, 1.01, 1)
    for count in (200, 1000):
        places = scattered(count)
        found, seconds = timed(lambda places=places: round_trip(places))
        ratio = length(places, found) / other_solver(places, OTHER_SECONDS)
        good &= told(f"{count} places : fast-tsp {OTHER_SECONDS} s", ratio, seconds, 1.02, 2)
    places = scattered(MANY)
    found, seconds = timed(lambda: round_trip(places))
    good &= told(f"{MANY} places : stored", length(places, found) / STORED, seconds, 1.04, 3)
    print("\nfrom a fixed start, the end free, beside always on to the nearest:")
    for count in (12, 13, 50, 200, 1000, MANY):
        stops = [[Way(place, place)] for place in scattered(count)]
        begin = time.process_time()
        taken = tour(stops, (0.0, 0.0))
        seconds = time.process_time() - begin
        nearest = travel(stops, nearest_first(stops, (0.0, 0.0)), (0.0, 0.0))
        print(f"{count:6} holes {travel(stops, taken, (0.0, 0.0)) / nearest:8.4f}  {seconds:7.3f} s")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

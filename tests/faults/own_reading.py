"""A plain reading of our own programs' text, made for these tests alone: no reader of the project is used.

It knows only what the posts write (absolute millimetres, arcs by I and J, one command a line) and takes every word at
its value, so that it can also say what an edited text would do. Millimetres; angles in radians.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import shapely

WORD = re.compile(r"([A-Z])(-?[\d.]+)")
BROKEN_ARC = 0.002
"""Start and end radius may differ by this (RS274/NGC 3.5.3.2)."""

Path = tuple[object, ...]
"""What decides where the tip goes: start, end, centre, direction."""


@dataclass(frozen=True, slots=True)
class Move:
    """One motion line: ``index`` counts lines from 0; ``g`` is 0 to 3; ``speed`` 0 while the spindle stands."""

    index: int
    g: int
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    centre: tuple[float, float] | None
    feed: float
    speed: float
    cutter: int

    @property
    def path(self) -> Path:
        return self.g, self.start, self.end, self.centre, self.cutter

    @property
    def low(self) -> float:
        """The lowest known Z of the tip."""
        return min((z for z in (self.start[2], self.end[2]) if not math.isnan(z)), default=math.inf)

    @property
    def upright(self) -> bool:
        return self.centre is None and self.start[:2] == self.end[:2]

    @property
    def placed(self) -> bool:
        return not any(math.isnan(value) for value in (*self.start, *self.end))

    @property
    def broken(self) -> bool:
        """An arc whose two ends lie on different circles."""
        if self.centre is None:
            return False
        return abs(math.dist(self.start[:2], self.centre) - math.dist(self.end[:2], self.centre)) > BROKEN_ARC

    @property
    def sweep(self) -> float:
        """Turn of an arc, above 0 and at most a full circle."""
        assert self.centre is not None
        (cx, cy), (sx, sy), (ex, ey) = self.centre, self.start[:2], self.end[:2]
        turn = math.atan2(ey - cy, ex - cx) - math.atan2(sy - cy, sx - cx)
        turn = (turn if self.g == 3 else -turn) % (2 * math.pi)
        return turn if math.dist((sx, sy), (ex, ey)) > 1e-6 else 2 * math.pi

    def chain(self, first: float = 0.0, last: float = 1.0) -> list[tuple[float, float]]:
        """Its way in XY from share ``first`` to share ``last``, arcs as chords of at most 3 degrees."""
        (sx, sy), (ex, ey) = self.start[:2], self.end[:2]
        if self.centre is None:
            return [(sx + (ex - sx) * share, sy + (ey - sy) * share) for share in (first, last)]
        (cx, cy), radius, sweep = self.centre, math.dist(self.start[:2], self.centre), self.sweep
        steps = max(2, math.ceil(sweep * (last - first) / math.radians(3)))
        begin, sign = math.atan2(sy - cy, sx - cx), 1 if self.g == 3 else -1
        angles = [begin + sign * sweep * (first + (last - first) * k / steps) for k in range(steps + 1)]
        return [(cx + radius * math.cos(angle), cy + radius * math.sin(angle)) for angle in angles]


@lru_cache(maxsize=40_000)
def bounds(move: Move) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 of its way."""
    xs, ys = zip(*move.chain(), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def words(line: str) -> dict[str, float]:
    """Letter -> value of one line, comments left out; of several G or M words the last counts."""
    return {letter: float(value) for letter, value in WORD.findall(line.split("(")[0])}


def moves(lines: list[str]) -> list[Move]:
    """Every motion in order."""
    return list(_moves(lines))


def _moves(lines: list[str]) -> Iterator[Move]:
    place = (math.nan, math.nan, math.nan)
    g, feed, speed, stated, cutter = 0, 0.0, 0.0, 0.0, 0
    for index, line in enumerate(lines):
        found = words(line)
        feed, stated = found.get("F", feed), found.get("S", stated)
        if "T" in found and int(found["T"]) != cutter:
            cutter, place = int(found["T"]), (place[0], place[1], math.nan)
        if found.get("M") == 3:
            speed = stated
        elif found.get("M") == 5:
            speed = 0.0
        elif speed:
            speed = stated
        if found.get("G") in (0, 1, 2, 3):
            g = int(found["G"])
        if not set("XYZ") & set(found):
            continue
        end = tuple(found.get(letter, old) for letter, old in zip("XYZ", place, strict=True))
        centre = (place[0] + found.get("I", 0.0), place[1] + found.get("J", 0.0)) if g >= 2 else None
        yield Move(index, g, place, end, centre, feed, speed, cutter)
        place = end


# --- what is gone -------------------------------------------------------------------------------------------------


def radius_at(cutter, tip: float, level: float) -> float:
    """Half the width that a cutter with its tip at ``tip`` clears at ``level``: a cone, then level."""
    if level < tip:
        return 0.0
    if cutter.point_angle > 3.14:
        return cutter.diameter / 2
    return min(cutter.diameter / 2, (level - tip) * math.tan(cutter.point_angle / 2))


def below(move: Move, level: float) -> tuple[float, float] | None:
    """The share of a move whose tip is at or below ``level``."""
    first, last = move.start[2], move.end[2]
    if max(first, last) <= level:
        return 0.0, 1.0
    if min(first, last) > level:
        return None
    share = (level - first) / (last - first)
    return (share, 1.0) if last < first else (0.0, share)


@lru_cache(maxsize=40_000)
def _swept(chain: tuple[tuple[float, float], ...], radius: float) -> shapely.Geometry:
    if len(set(chain)) == 1:
        return shapely.Point(chain[0]).buffer(radius, quad_segs=32)
    return shapely.LineString(chain).buffer(radius, quad_segs=32)


def cleared(move: Move, cutter, level: float) -> shapely.Geometry | None:
    """What one move clears at height ``level``."""
    part = below(move, level)
    if part is None or not move.placed:
        return None
    if move.upright or cutter.point_angle > 3.14:
        radius = radius_at(cutter, move.low, level)
        return _swept(tuple(move.chain(*part)), radius) if radius > 1e-6 else None
    return _swept(tuple(move.chain(*part)), radius_at(cutter, max(move.start[2], move.end[2]), level) or 1e-6)


def gone(some: list[Move], cutters, level: float) -> shapely.Geometry:
    """What a row of moves has cleared at height ``level``, rapids included: they too plough what they meet."""
    areas = [cleared(move, cutters[move.cutter], level) for move in some if move.cutter in cutters]
    return shapely.union_all([area for area in areas if area is not None])

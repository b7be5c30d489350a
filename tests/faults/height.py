"""How low the sheet has been cut at single points: a height map that is only ever sampled, never drawn.

For every point and every move the stretch of the way on which the cutter covers the point is found in closed form; Z
runs evenly along it, so its lowest value stands at one of its ends. Cutters are flat or cones with a straight side,
which begin at a point or, an engraver's, at a flat tip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.faults.own_reading import Move

FLAT = math.pi - 1e-3
CONE_STEP = 0.2
"""mm; a cone that moves sideways is looked at in places so far apart."""
LINE_STEP = 0.01
"""mm; the same for an engraver, whose line is a fifth of a millimetre wide."""


class Heights:
    """Moves below the top of the sheet, ready to be asked about points; ``cutters`` by number."""

    def __init__(self, moves: Sequence[Move], cutters: dict[int, Any]) -> None:
        stands: list[tuple[float, ...]] = []
        lines: list[tuple[float, ...]] = []
        arcs: list[tuple[float, ...]] = []
        for order, move in enumerate(moves):
            cutter = cutters.get(move.cutter)
            if cutter is None or not move.placed or move.low >= 0:
                continue
            slope = 0.0 if cutter.point_angle > FLAT else 1 / math.tan(cutter.point_angle / 2)
            (x, y, z0), (ex, ey, z1) = move.start, move.end
            if move.upright:
                stands.append((order, x, y, cutter.diameter / 2, min(z0, z1), slope, cutter.tip / 2))
            elif slope:
                step = LINE_STEP if cutter.kind == "engraver" else CONE_STEP
                stands += [
                    (order, px, py, cutter.diameter / 2, pz, slope, cutter.tip / 2)
                    for px, py, pz in move.stations(step) if pz < 0
                ]
            elif move.centre is None:
                lines.append((order, x, y, ex, ey, cutter.diameter / 2, z0, z1))
            else:
                cx, cy = move.centre
                begin = math.atan2(y - cy, x - cx)
                turn = 1.0 if move.g == 3 else -1.0
                arcs.append((
                    order, cx, cy, math.dist((x, y), (cx, cy)), begin, turn, move.sweep, cutter.diameter / 2, z0, z1,
                ))  # fmt: skip
        self._stands = np.array(stands).reshape(-1, 7)
        self._lines = np.array(lines).reshape(-1, 8)
        self._arcs = np.array(arcs).reshape(-1, 10)

    def at(self, points: Any, before: float = math.inf) -> Any:
        """The lowest Z that moves of an order under ``before`` reach at each of ``points``; 0 where none does."""
        points = np.asarray(points, float).reshape(-1, 2)
        lowest = np.zeros(len(points))
        for first in range(0, len(points), 256):
            part = points[first : first + 256]
            box = (*part.min(axis=0), *part.max(axis=0))
            for rows, rule, reach in (
                (self._stands, _standing, lambda r: (r[:, 1], r[:, 2], r[:, 1], r[:, 2], r[:, 3])),
                (self._lines, _along, lambda r: (
                    np.minimum(r[:, 1], r[:, 3]), np.minimum(r[:, 2], r[:, 4]),
                    np.maximum(r[:, 1], r[:, 3]), np.maximum(r[:, 2], r[:, 4]), r[:, 5],
                )),
                (self._arcs, _round, lambda r: (r[:, 1], r[:, 2], r[:, 1], r[:, 2], r[:, 3] + r[:, 7])),
            ):  # fmt: skip
                x0, y0, x1, y1, grow = reach(rows)
                near = (
                    (rows[:, 0] < before) & (x0 - grow <= box[2]) & (x1 + grow >= box[0])
                    & (y0 - grow <= box[3]) & (y1 + grow >= box[1])
                )  # fmt: skip
                chosen = rows[near]
                if len(chosen):
                    found = rule(part, chosen).min(axis=1)
                    lowest[first : first + 256] = np.minimum(lowest[first : first + 256], found)
        return lowest


def _standing(points: Any, rows: Any) -> Any:
    away = np.hypot(points[:, None, 0] - rows[:, 1], points[:, None, 1] - rows[:, 2])
    return np.where(away <= rows[:, 3], rows[:, 4] + np.maximum(away - rows[:, 6], 0.0) * rows[:, 5], 0.0)


def _along(points: Any, rows: Any) -> Any:
    dx, dy = rows[:, 3] - rows[:, 1], rows[:, 4] - rows[:, 2]
    length = np.hypot(dx, dy)
    px, py = points[:, None, 0] - rows[:, 1], points[:, None, 1] - rows[:, 2]
    along, aside = (px * dx + py * dy) / length, (px * dy - py * dx) / length
    half = np.sqrt(np.maximum(rows[:, 5] ** 2 - aside**2, 0.0))
    first, last = np.clip((along - half) / length, 0, 1), np.clip((along + half) / length, 0, 1)
    covered = (np.abs(aside) <= rows[:, 5]) & (along + half >= 0) & (along - half <= length)
    return _lower_end(covered, first, last, rows[:, 6], rows[:, 7])


def _lower_end(covered: Any, first: Any, last: Any, z0: Any, z1: Any) -> Any:
    fall = z1 - z0
    return np.where(covered, np.minimum(z0 + fall * first, z0 + fall * last), 0.0)


def _round(points: Any, rows: Any) -> Any:
    radius, sweep, reach = rows[:, 3], rows[:, 6], rows[:, 7]
    px, py = points[:, None, 0] - rows[:, 1], points[:, None, 1] - rows[:, 2]
    away = np.hypot(px, py)
    cosine = (away**2 + radius**2 - reach**2) / np.maximum(2 * away * radius, 1e-12)
    half = np.arccos(np.clip(cosine, -1.0, 1.0))
    middle = (rows[:, 5] * (np.arctan2(py, px) - rows[:, 4])) % (2 * math.pi)
    lowest = np.zeros(np.broadcast_shapes(px.shape))
    for lap in (-2 * math.pi, 0.0, 2 * math.pi):
        first, last = middle - half + lap, middle + half + lap
        covered = (cosine <= 1.0) & (last >= 0) & (first <= sweep)
        part = _lower_end(
            covered, np.clip(first / sweep, 0, 1), np.clip(last / sweep, 0, 1), rows[:, 8], rows[:, 9]
        )  # fmt: skip
        lowest = np.minimum(lowest, part)
    return lowest


def around(move: Move, radius: float, insets: Sequence[float], apart: float, most: int) -> Any:
    """Points under a move's cutter: its middle line, and the rim at each of ``insets`` inside its edge."""
    points: list[tuple[float, float]] = []
    stations = [move.start] if move.upright else move.stations(apart, most)
    angles = [k * math.pi / 4 for k in range(8)]
    for number, (x, y, _) in enumerate(stations):
        points.append((x, y))
        ax, ay, _ = stations[min(number + 1, len(stations) - 1)]
        bx, by, _ = stations[max(number - 1, 0)]
        heading = math.atan2(ay - by, ax - bx)
        ends = number in (0, len(stations) - 1)
        directions = [heading + angle for angle in angles] if ends else [heading + math.pi / 2, heading - math.pi / 2]
        for inset in insets:
            if radius > inset:
                reach = radius - inset
                points += [(x + reach * math.cos(a), y + reach * math.sin(a)) for a in directions]
    return np.array(points)

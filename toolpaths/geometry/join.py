"""Loose runs of lines and arcs, drawn in any order and either way round, joined end to end; and what cannot be.

Ends that are one within SAME_END are one meeting point. What hangs loose then is joined to the nearest other loose end
within a stated gap, the nearest pair first. Nothing is ever invented between two ends: both move to their middle.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from toolpaths.geometry.crossing import distance_to
from toolpaths.geometry.segment import XY, Arc, Bounds, Line, Segment
from toolpaths.geometry.stitch import meeting_points, merged
from toolpaths.tolerance import SAME_END, SAME_POINT

STEADY: float = 0.1
"""Radians; an arc that turns by more keeps its middle where an end moves, a flatter one keeps its turn."""

Run = tuple[Segment, ...]
"""Segments that follow each other."""


@dataclass(frozen=True, slots=True)
class Joined:
    """A closed chain and the runs, by their place among those given, that it was made of, in its order."""

    segments: Run
    runs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Loose:
    """Runs that are joined to each other and do not close, and their two loose ends."""

    runs: tuple[int, ...]
    ends: tuple[XY, XY]


@dataclass(frozen=True, slots=True)
class Branch:
    """A point where more than two ends meet, and their runs."""

    at: XY
    runs: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """What became of all runs."""

    closed: tuple[Joined, ...]
    loose: tuple[Loose, ...]
    branches: tuple[Branch, ...]

    def from_end_to_end(self, one: Loose) -> float:
        """How far the first loose end of a chain is from the nearest other one, mm."""
        others = [end for other in self.loose if other is not one for end in other.ends]
        return min(math.dist(one.ends[0], end) for end in (one.ends[1], *others))


def joined(runs: Sequence[Run], gap: float) -> Result:
    """Joins open runs to closed chains; ``gap`` is the furthest that two loose ends may be apart, mm."""
    points = [point for run in runs for point in (run[0].start, run[-1].end)]
    node = meeting_points(points, SAME_END)
    at: dict[int, list[int]] = defaultdict(list)
    for end, index in enumerate(node):
        at[index].append(end)
    branches = [
        Branch(points[index], tuple(dict.fromkeys(end // 2 for end in ends)))
        for index, ends in at.items()
        if len(ends) > 2
    ]
    partner: dict[int, int] = {}
    for ends in at.values():
        if len(ends) == 2:
            partner[ends[0]], partner[ends[1]] = ends[1], ends[0]
    hanging = [ends[0] for ends in at.values() if len(ends) == 1]
    for one, two in _pairs(points, hanging, gap):
        if one not in partner and two not in partner and not _is_tiny(runs[one // 2], one // 2 == two // 2, gap):
            partner[one], partner[two] = two, one
    forked = {run for branch in branches for run in branch.runs}
    closed, loose = _walked(runs, partner, points, [end for end in hanging if end not in partner], forked)
    return Result(tuple(closed), tuple(loose), tuple(branches))


def _is_tiny(run: Run, own: bool, gap: float) -> bool:
    """Whether two ends are those of one run that is no longer than the gap between them might be."""
    return own and sum(segment.length for segment in run) <= 2 * gap


def _pairs(points: Sequence[XY], ends: Sequence[int], gap: float) -> Iterator[tuple[int, int]]:
    """Pairs of loose ends within ``gap``, the nearest first."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    found = []
    for end in ends:
        x, y = points[end]
        column, row = math.floor(x / gap), math.floor(y / gap)
        for cell in ((column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
            for other in cells.get(cell, ()):
                away = math.dist(points[other], points[end])
                if away <= gap:
                    found.append((away, other, end))
        cells[column, row].append(end)
    return ((one, two) for _, one, two in sorted(found))


def _walked(
    runs: Sequence[Run], partner: dict[int, int], points: Sequence[XY], free: Sequence[int], forked: set[int]
) -> tuple[list[Joined], list[Loose]]:
    """Chains from loose end to loose end, then round the closed ones; those that touch a branch are left to it."""
    seen: set[int] = set()
    loose, closed = [], []

    def way(start: int) -> list[int]:
        """The ends at which the chain from ``start`` enters its runs."""
        entered, end = [], start
        while end // 2 not in seen:
            seen.add(end // 2)
            entered.append(end)
            onward = partner.get(end ^ 1)
            if onward is None:
                break
            end = onward
        return entered

    for end in free:
        if end // 2 not in seen:
            entered = way(end)
            if not forked.intersection(one // 2 for one in entered):
                ends = points[end], points[entered[-1] ^ 1]
                loose.append(Loose(tuple(one // 2 for one in entered), ends))
    for run in range(len(runs)):
        if run not in seen and run not in forked:
            entered = way(2 * run)
            if not forked.intersection(one // 2 for one in entered) and partner.get(entered[-1] ^ 1) == 2 * run:
                pieces = [_towards(runs[one // 2], one % 2 == 1) for one in entered]
                closed.append(Joined(closed_run(pieces), tuple(one // 2 for one in entered)))
    return closed, loose


def _towards(run: Run, backwards: bool) -> Run:
    return tuple(segment.reversed() for segment in reversed(run)) if backwards else run


def closed_run(pieces: Sequence[Run]) -> Run:
    """One closed chain of runs that follow each other: where they nearly meet, both ends move to their middle.

    Segments without length are left out; neighbours on one line or circle become one.
    """
    chain = [segment for piece in pieces for segment in piece]
    chain = [segment for segment in chain if not _is_point(segment)] or chain[:1]
    meets = [_middle(before.end, after.start) for before, after in zip((chain[-1], *chain[:-1]), chain, strict=True)]
    if len(chain) == 1 and isinstance(chain[0], Arc) and chain[0].is_circle:
        return tuple(chain)
    moved = [
        ending_at(segment, start, end)
        for segment, start, end in zip(chain, meets, (*meets[1:], meets[0]), strict=True)
        if start != end or len(chain) == 1
    ]
    return tuple(merged(moved))


def _is_point(segment: Segment) -> bool:
    return segment.length <= SAME_POINT


def _middle(a: XY, b: XY) -> XY:
    return a if math.dist(a, b) <= SAME_POINT / 4 else ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)


def ending_at(segment: Segment, start: XY, end: XY) -> Segment:
    """The segment with its ends moved by a little: an arc keeps its middle, a flat one the angle that it turns by."""
    if isinstance(segment, Line):
        return Line(start, end)
    if (segment.start, segment.end) == (start, end):
        return segment
    if start == end:
        return Arc(start, start, segment.centre, segment.ccw)
    if segment.sweep > STEADY:
        middle = segment.point_at(segment.length / 2)
        return Arc(start, end, _centre_through(start, middle, end), segment.ccw)
    half = math.tan(segment.sweep / 2)
    (sx, sy), (ex, ey) = start, end
    off = (1 if segment.ccw else -1) / (2 * half)
    return Arc(start, end, ((sx + ex) / 2 - (ey - sy) * off, (sy + ey) / 2 + (ex - sx) * off), segment.ccw)


def _centre_through(a: XY, b: XY, c: XY) -> XY:
    """The centre of the circle through three points that lie on no line (plane geometry)."""
    bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    twice = 2 * (bx * cy - by * cx)
    bb, cc = bx * bx + by * by, cx * cx + cy * cy
    return a[0] + (cy * bb - by * cc) / twice, a[1] + (bx * cc - cx * bb) / twice


def doubles(runs: Sequence[Run], within: float) -> list[tuple[int, int]]:
    """Pairs of a run and a later one that lies on it from end to end, to ``within`` mm, drawn either way round."""
    cell = 8 * within
    cells: dict[tuple[int, ...], list[int]] = defaultdict(list)
    boxes = [bounds_of(run) for run in runs]
    lengths = [sum(segment.length for segment in run) for run in runs]
    found = []
    for index, box in enumerate(boxes):
        # by all four sides of the box: thousands of lines may begin in one point
        beside = [{math.floor((side + off) / cell) for off in (-within, within)} for side in box]
        near = (cells.get(place, ()) for place in product(*map(sorted, beside)))
        first = next(
            (
                other
                for group in near
                for other in group
                if abs(lengths[other] - lengths[index]) <= 8 * within
                and max(abs(p - q) for p, q in zip(boxes[other], box, strict=True)) <= within
                and _lies_on(runs[index], runs[other], within)
                and _lies_on(runs[other], runs[index], within)
            ),
            None,
        )
        if first is None:
            cells[tuple(math.floor(side / cell) for side in box)].append(index)
        else:
            found.append((first, index))
    return found


def _lies_on(run: Run, other: Run, within: float) -> bool:
    points = [segment.point_at(segment.length * share / 4) for segment in run for share in range(5)]
    return all(min(distance_to(segment, point) for segment in other) <= within for point in points)


def bounds_of(run: Run) -> Bounds:
    """The box round a run."""
    x0, y0, x1, y1 = zip(*(segment.bounds for segment in run), strict=True)
    return min(x0), min(y0), max(x1), max(y1)

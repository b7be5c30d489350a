"""Exact chains of lines and arcs turned into motions at a depth or down a ramp, and the small questions about them.

Program coordinates, mm; Z is the tip's. A *run* is a list of (chain part, Z at its start, Z at its end).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.motion import Arc as ArcMotion
from toolpaths.motion import Drill, Motion, Rapid
from toolpaths.motion import Line as LineMotion
from toolpaths.plan import practice
from toolpaths.tolerance import ROUNDING_MM, SAME_POINT

UNPRINTED = 2 * ROUNDING_MM
"""mm; a move up to this long may be no move at all in X and Y once its ends are printed."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Motions that begin over ``entry`` and end over ``exit``, both at the retract height."""

    entry: XY
    exit: XY
    motions: tuple[Motion, ...]

    def moved(self, dx: float, dy: float) -> Cut:
        """The same cut so much further along X and Y, mm."""
        return Cut(
            (self.entry[0] + dx, self.entry[1] + dy),
            (self.exit[0] + dx, self.exit[1] + dy),
            tuple(_moved(motion, dx, dy) for motion in self.motions),
        )


def _moved(motion: Motion, dx: float, dy: float) -> Motion:
    if isinstance(motion, ArcMotion):
        (x, y, z), (cx, cy) = motion.to, motion.centre
        return ArcMotion((x + dx, y + dy, z), (cx + dx, cy + dy), motion.ccw, motion.feed)
    if isinstance(motion, LineMotion):
        x, y, z = motion.to
        return LineMotion((x + dx, y + dy, z), motion.feed)
    if isinstance(motion, Rapid):
        x, y, z = motion.to
        return Rapid((x + dx, y + dy, z))
    if isinstance(motion, Drill):
        return replace(motion, at=(motion.at[0] + dx, motion.at[1] + dy))
    return motion


def from_rapids(motions: list[Motion]) -> Cut:
    """A cut from motions that begin and end with a rapid at the retract height; the first only says where."""
    first, last = motions[0], motions[-1]
    if not (isinstance(first, Rapid) and isinstance(last, Rapid)):
        raise TypeError("a cut begins and ends with a rapid")
    return Cut(first.to[:2], last.to[:2], tuple(motions[1:]))


def at(point: XY, z: float) -> tuple[float, float, float]:
    """A plane point at a depth."""
    return point[0], point[1], z


def levels(depth: float, stepdown: float, first: float | None = None) -> list[float]:
    """Z of each pass down to ``depth`` (positive), in equal steps of at most ``stepdown``; ``first`` limits the first.

    >>> levels(1.5, 0.6), levels(3, 2, first=1)
    ([-0.5, -1.0, -1.5], [-1, -3.0])
    """
    if first is not None and depth > first and stepdown > first:
        return [-first, *(-first + z for z in levels(depth - first, stepdown))]
    count = max(1, math.ceil(depth / stepdown - 1e-9))
    return [-depth * (k + 1) / count for k in range(count)]


def follow(segments: tuple[Segment, ...], z0: float, z1: float, feed: float, radius: float, ccw: bool) -> list[Motion]:
    """Motions along ``segments`` with Z falling evenly from ``z0`` to ``z1``.

    A piece too short to print falls nothing: printed it would be a step straight down.

    On an arc that follows a hollow wall the edge runs faster than the centre, so the feed is F times path radius over
    wall radius (plane geometry); ``radius`` is the cutter's and ``ccw`` the way round an opening.
    """
    total = sum(segment.length for segment in segments if segment.length > UNPRINTED)
    done = 0.0
    motions: list[Motion] = []
    for segment in segments:
        done += segment.length if segment.length > UNPRINTED else 0.0
        z = z0 + (z1 - z0) * (done / total if total else 1.0)
        if isinstance(segment, Arc):
            hollow = segment.ccw == ccw
            path = segment.radius
            slow = feed * path / (path + radius) if hollow else feed
            motions.append(ArcMotion(at(segment.end, z), segment.centre, segment.ccw, slow))
        else:
            motions.append(LineMotion(at(segment.end, z), feed))
    return motions


def traversed(contour: Contour, ccw: bool) -> Contour:
    """The contour in the wanted way round."""
    return contour if (contour.area > 0) == ccw else contour.reversed()


def nearest_distance(contour: Contour, point: XY) -> float:
    """How far along the contour its point nearest to ``point`` lies."""
    best, best_gap, done = 0.0, math.inf, 0.0
    for segment in contour.segments:
        along = _nearest_on(segment, point)
        gap = math.dist(segment.point_at(along), point)
        if gap < best_gap - SAME_POINT:
            best, best_gap = done + along, gap
        done += segment.length
    return best


def _nearest_on(segment: Segment, point: XY) -> float:
    (sx, sy), (ex, ey), (px, py) = segment.start, segment.end, point
    if not isinstance(segment, Arc):
        length = segment.length
        return min(max(((px - sx) * (ex - sx) + (py - sy) * (ey - sy)) / length, 0.0), length)
    cx, cy = segment.centre
    turn = math.atan2(py - cy, px - cx) - math.atan2(sy - cy, sx - cx)
    turn = (turn if segment.ccw else -turn) % (2 * math.pi)
    if turn <= segment.sweep:
        return turn * segment.radius
    return 0.0 if math.dist(segment.start, point) <= math.dist(segment.end, point) else segment.length


def is_convex(contour: Contour) -> bool:
    """Whether a counter-clockwise contour bulges everywhere, so that any straight way inside it stays inside."""
    arcs_bulge = all(segment.ccw for segment in contour.segments if isinstance(segment, Arc))
    return arcs_bulge and all(turn > 0 for _, turn in contour.corners())


def turn_of(start: XY, arc: ArcMotion) -> float:
    """How far an arc motion turns from ``start``: radians, above 0; a full turn where it ends where it starts.

    >>> turn_of((1.0, 0.0), ArcMotion((0.0, 1.0, 0.0), (0.0, 0.0), False, 100.0)) / math.pi
    1.5
    """
    (cx, cy), (x, y) = arc.centre, start
    if math.dist(start, arc.to[:2]) < SAME_POINT:
        return 2 * math.pi
    turn = math.atan2(arc.to[1] - cy, arc.to[0] - cx) - math.atan2(y - cy, x - cx)
    return (turn if arc.ccw else -turn) % (2 * math.pi)


@dataclass(frozen=True, slots=True)
class Lift:
    """Where a path goes over a tab: from ``start`` to ``end`` along it, no deeper than ``top`` (Z)."""

    start: float
    end: float
    top: float


def lifted(
    contour: Contour, begin: float, ramp_length: float, z0: float, z1: float, lifts: tuple[Lift, ...]
) -> Iterator[tuple[tuple[Segment, ...], float, float]]:
    """One pass round ``contour``: from ``begin`` down a ramp of ``ramp_length`` to ``z1``, then once round at ``z1``.

    Yields the run in order, cut where a tab begins or ends; within a tab Z stays at or above its top. Consecutive
    parts may differ in Z where they meet: there the cutter goes straight up or down.
    """
    total = contour.perimeter
    end = begin + ramp_length + total
    stops = {begin, begin + ramp_length, end}
    turns = range(-1, math.ceil((end + total) / total) + 1)
    spans = [(lift.start + k * total, lift.end + k * total, lift.top) for lift in lifts for k in turns if z1 < lift.top]
    for start, stop, _ in spans:
        stops.update(s for s in (start, stop) if begin < s < end)
    ordered = sorted(stops)
    for a, b in pairwise(ordered):
        if b - a < SAME_POINT:
            continue
        za, zb = (_ramp_z(s, begin, ramp_length, z0, z1) for s in (a, b))
        middle = (a + b) / 2
        for start, stop, top in spans:
            if start < middle < stop:
                za, zb = max(za, top), max(zb, top)
        yield _part(contour, a, b), za, zb


def _part(contour: Contour, a: float, b: float) -> tuple[Segment, ...]:
    total = contour.perimeter
    if b - a >= total - SAME_POINT:
        return contour.starting_at(a % total).segments
    shift = math.floor(a / total) * total
    return contour.cut(a - shift, b - shift)


def _ramp_z(s: float, begin: float, length: float, z0: float, z1: float) -> float:
    return z1 if s >= begin + length else z0 + (z1 - z0) * (s - begin) / length


def run_motions(
    run: Iterator[tuple[tuple[Segment, ...], float, float]],
    z: float,
    feed: float,
    plunge: float,
    rise: float,
    radius: float,
    ccw: bool,
) -> list[Motion]:
    """A run as motions from height ``z``, with a straight plunge or lift where two parts meet at different Z.

    Plunges at ``plunge``; rises through air at ``rise``.
    """
    motions: list[Motion] = []
    for segments, za, zb in run:
        if abs(za - z) > SAME_POINT:
            motions.append(LineMotion(at(segments[0].start, za), plunge if za < z else rise))
        motions.extend(follow(segments, za, zb, feed, radius, ccw))
        z = zb
    return motions


def ramp_run(
    contour: Contour, begin: float, length: float, z0: float, z1: float
) -> list[tuple[tuple[Segment, ...], float, float]]:
    """A ramp along ``contour`` that may go round several times, then once round at ``z1``."""
    total = contour.perimeter
    run: list[tuple[tuple[Segment, ...], float, float]] = []
    done = 0.0
    while done < length - SAME_POINT:
        part = min(total, length - done)
        za, zb = (z0 + (z1 - z0) * s / length for s in (done, done + part))
        run.append((_part(contour, begin + done, begin + done + part), za, zb))
        done += part
    run.append((_part(contour, begin + done, begin + done + total), z1, z1))
    return run


def first_pass(family: str) -> float | None:
    """The limit of the first pass in a material family, or None."""
    return practice.BOARD_FIRST_PASS if family == "board" else None

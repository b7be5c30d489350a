"""Program -> the strokes that a text of it must make, in order: who keeps the present point and spells out drilling."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import assert_never

from toolpaths.motion import Arc, Drill, Line, Motion, Operation, Pause, Point, Program, Rapid
from toolpaths.stroke import Stroke
from toolpaths.tables.rows import Dialect, Machine
from toolpaths.tolerance import SAME_POINT


@dataclass(frozen=True, slots=True)
class Planned:
    """One planned stroke and the feature it makes; its ``line`` is 0, its ``speed`` and ``feed`` are unrounded.

    ``operation`` is the place of its operation in the setup, from 0; the retract after one is still its own.
    ``drilled_to`` is set on the feed that goes back into a pecked hole: from its start down to that Z the way is
    through air, so that the text may come down there by a rapid as far as it likes.
    """

    stroke: Stroke
    feature: str
    drilled_to: float | None = None
    operation: int = 0


def walk(program: Program, machine: Machine) -> tuple[Planned, ...]:
    """Every stroke from the first retract (Z alone, to the clear height; X and Y still unknown) to the last one.

    Strokes that go nowhere are left out. The cutter of a stroke is its T number: the slot, where the machine has slots.
    """
    return tuple(strokes(program, machine))


def strokes(program: Program, machine: Machine) -> Iterator[Planned]:
    """The strokes of ``walk`` one after the other: of a long program they need never be there all at once."""
    return _strokes(program, machine, _Walker)


def _strokes(program: Program, machine: Machine, kind: type[_Walker]) -> Iterator[Planned]:
    clear = program.setup.clear_height
    walker = kind((math.nan, math.nan, clear), machine.program)
    slots = {cutter: slot for slot, cutter in machine.program.slots}
    before: Operation | None = None
    for place, operation in enumerate(program.setup.operations):
        if before is not None and _stops_between(before, operation, machine):
            walker.retract(clear)
        walker.take_up(place, operation, slots.get(operation.cutter, operation.cutter))
        for motion in operation.motions:
            walker.move(motion)
            yield from walker.planned
            walker.planned.clear()
        before = operation
    walker.retract(clear)
    yield from walker.planned


def rapids(program: Program, machine: Machine) -> tuple[Planned, ...]:
    """The rapids among the strokes of ``walk``, in order."""
    return tuple(one for one in _strokes(program, machine, _RapidWalker) if one.stroke.kind == "rapid")


def _stops_between(before: Operation, after: Operation, machine: Machine) -> bool:
    """A change of cutter, or of a speed that the operator sets by hand, needs a stop and so a retract."""
    return before.cutter != after.cutter or (before.rpm != after.rpm and not machine.speed_control)


class _Walker:
    """The present point, cutter and speed, and the strokes that nobody has taken yet."""

    def __init__(self, start: Point, dialect: Dialect) -> None:
        self.at = start
        self.dialect = dialect
        self.feature = ""
        self.operation = 0
        self.cutter = 0
        self.speed = 0.0
        self.planned: list[Planned] = []

    def take_up(self, place: int, operation: Operation, cutter: int) -> None:
        """From here strokes belong to ``operation``, which is at ``place`` in the setup."""
        self.operation, self.feature = place, operation.feature
        self.cutter, self.speed = cutter, operation.rpm

    def retract(self, clear: float) -> None:
        """Z alone, up to the clear height."""
        self.rapid((self.at[0], self.at[1], clear))

    def move(self, motion: Motion) -> None:
        """One motion of the plan."""
        match motion:
            case Rapid(to):
                self.rapid(to)
            case Line(to, feed):
                self.cut(to, feed)
            case Arc():
                self.arc(motion)
            case Drill():
                self.drill(motion)
            case Pause():
                pass
            case _:
                assert_never(motion)

    def rapid(self, to: Point) -> None:
        """A traverse to ``to``."""
        start, self.at = self.at, to
        if not same_point(start, to):
            stroke = Stroke(0, "rapid", start, to, 0.0, self.speed, self.cutter, True)
            self.planned.append(Planned(stroke, self.feature, None, self.operation))

    def cut(self, to: Point, feed: float, drilled_to: float | None = None) -> None:
        """A straight cut to ``to``."""
        start, self.at = self.at, to
        if not same_point(start, to):
            stroke = Stroke(0, "cut", start, to, feed, self.speed, self.cutter, True)
            self.planned.append(Planned(stroke, self.feature, drilled_to, self.operation))

    def arc(self, arc: Arc) -> None:
        """An arc; one that ends over its start is closed exactly, so that it counts as a full turn."""
        start = self.at
        to = self.at = _closed(start, arc.to)
        stroke = Stroke(0, "cut", start, to, arc.feed, self.speed, self.cutter, True, arc.centre, arc.ccw)
        self.planned.append(Planned(stroke, self.feature, None, self.operation))

    def drill(self, hole: Drill) -> None:
        """The rapids and feeds that ``Drill`` describes."""
        x, y = hole.at
        if self.at[2] < hole.retract:
            self.retract(hole.retract)
        self.rapid((x, y, self.at[2]))
        self.rapid((x, y, hole.retract))
        reached: float | None = None
        for bottom in peck_bottoms(as_stated(hole, self.dialect)):
            for z, feed in feed_stages(hole, bottom):
                self.cut((x, y, z), feed, reached)
            reached = bottom
            self.rapid((x, y, hole.retract))


class _RapidWalker(_Walker):
    """Who only goes where the cuts end, and notes the rapids."""

    def cut(self, to: Point, feed: float, drilled_to: float | None = None) -> None:
        """A straight cut, of which only the end matters."""
        self.at = to

    def arc(self, arc: Arc) -> None:
        """An arc, of which only the end matters."""
        self.at = _closed(self.at, arc.to)


def _closed(start: Point, to: Point) -> Point:
    """Where an arc ends: over its start exactly, where it ends so near that it is a full turn."""
    return (start[0], start[1], to[2]) if math.dist(start[:2], to[:2]) <= SAME_POINT else to


def same_point(a: Point, b: Point) -> bool:
    """Whether two points are one; a coordinate that is unknown in both is the same.

    >>> same_point((math.nan, 0.0, 1.0), (math.nan, 0.0, 1.0)), same_point((math.nan, 0.0, 1.0), (2.0, 0.0, 1.0))
    (True, False)
    """
    return near(a, b, SAME_POINT)


def near(a: Point, b: Point, slack: float) -> bool:
    """Whether two points differ by no more than ``slack`` in each coordinate, or are both unknown in it.

    >>> near((0.0, math.nan, 1.0), (0.001, math.nan, 1.0), 0.001), near((0.0, 0.0, 1.0), (0.0, 0.0, 1.1), 0.001)
    (True, False)
    """
    (ax, ay, az), (bx, by, bz) = a, b  # spelled out: it is asked for every stroke of every program
    return (
        (abs(ax - bx) <= slack or (math.isnan(ax) and math.isnan(bx)))
        and (abs(ay - by) <= slack or (math.isnan(ay) and math.isnan(by)))
        and (abs(az - bz) <= slack or (math.isnan(az) and math.isnan(bz)))
    )


def as_stated(hole: Drill, dialect: Dialect) -> Drill:
    """A pecked hole as a cycle's words state it: R, Q and Z to the last digit, so that Q's rounding adds up as it will.

    Where the machine has no cycles each peck has its own Z, and the hole is as planned.
    """
    if not dialect.canned_cycles or hole.peck is None or hole.slow_from is not None:
        return hole
    step = dialect.step
    bottom, retract, peck = (round(value / step) * step for value in (hole.bottom, hole.retract, hole.peck))
    return replace(hole, bottom=bottom, retract=retract, peck=peck)


def peck_bottoms(hole: Drill) -> Iterator[float]:
    """Z at the bottom of each peck, counted from the retract height as in RS274/NGC 3.5.16 (G83).

    >>> list(peck_bottoms(Drill((0, 0), -5.0, 1.0, 100, peck=2.5)))
    [-1.5, -4.0, -5.0]
    >>> list(peck_bottoms(Drill((0, 0), -5.0, 1.0, 100)))
    [-5.0]
    """
    if hole.peck is not None:
        pecks = math.ceil((hole.retract - hole.bottom) / hole.peck - SAME_POINT)
        yield from (hole.retract - n * hole.peck for n in range(1, pecks))
    yield hole.bottom


def feed_stages(hole: Drill, bottom: float) -> Iterator[tuple[float, float]]:
    """(Z, feed) of the way down to ``bottom``: slower from where the point breaks through.

    >>> list(feed_stages(Drill((0, 0), -3.0, 1.0, 100, slow_from=-1.0, slow_feed=50), -3.0))
    [(-1.0, 100), (-3.0, 50)]
    """
    if hole.slow_from is None or hole.slow_feed is None or bottom >= hole.slow_from:
        yield bottom, hole.feed
        return
    if hole.slow_from < hole.retract:
        yield hole.slow_from, hole.feed
    yield bottom, hole.slow_feed

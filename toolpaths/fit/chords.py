"""Arcs and helices as chords, for a controller that has none.

Every vertex lies on the arc and the chords are of equal turn, so a chord leaves the arc to its inner side alone, and by
no more than the stated tolerance (r (1 - cos(turn/2)), plane geometry). Inside a hole that leaves at most so much on
the wall; round a part that sticks out it takes at most so much off.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from toolpaths.motion import Arc, Drill, Line, Motion, Pause, Point, Program
from toolpaths.tables.rows import Dialect
from toolpaths.tolerance import SAME_POINT

WIDEST_TURN = math.pi / 4
"""A chord turns at most this far, however small its arc is: eight make a circle."""


def fitted(program: Program, dialect: Dialect) -> Program:
    """The program without the arcs that the controller lacks; the same program where it has them all.

    ``arcs`` False: no arc is left. ``helical_arcs`` False: those that change in Z go, level ones stay.
    """
    if dialect.arcs and dialect.helical_arcs:
        return program
    place: Point | None = None
    operations = []
    for operation in program.setup.operations:
        motions: list[Motion] = []
        for motion in operation.motions:
            motions += _fitted(place, motion, dialect)
            match motion:
                case Drill(at=at, retract=retract):
                    place = (*at, retract)
                case Pause():
                    pass
                case _:
                    place = motion.to
        operations.append(replace(operation, motions=tuple(motions)))
    return replace(program, setup=replace(program.setup, operations=tuple(operations)))


def _fitted(start: Point | None, motion: Motion, dialect: Dialect) -> Iterator[Motion]:
    lacking = isinstance(motion, Arc) and start is not None and (not dialect.arcs or start[2] != motion.to[2])
    if lacking and isinstance(motion, Arc) and start is not None:
        yield from chords(start, motion, dialect.chord_tolerance)
    else:
        yield motion


def chords(start: Point, arc: Arc, tolerance: float) -> Iterator[Line]:
    """Straight cuts from ``start`` along ``arc``, nowhere further than ``tolerance`` mm from it; Z changes evenly.

    >>> [line.to[:2] for line in chords((1.0, 0.0, 0.0), Arc((-1.0, 0.0, -1.0), (0.0, 0.0), True, 100.0), 0.3)][-1]
    (-1.0, 0.0)
    """
    cx, cy = arc.centre
    radius = math.dist(start[:2], arc.centre)
    first = math.atan2(start[1] - cy, start[0] - cx)
    turn = _turn(start, arc, first)
    widest = 2 * math.acos(max(1 - tolerance / radius, 0.0)) if radius > SAME_POINT else WIDEST_TURN
    count = max(1, math.ceil(turn / min(widest, WIDEST_TURN) - 1e-9))
    sign = 1 if arc.ccw else -1
    for k in range(1, count):
        angle = first + sign * turn * k / count
        z = start[2] + (arc.to[2] - start[2]) * k / count
        yield Line((cx + radius * math.cos(angle), cy + radius * math.sin(angle), z), arc.feed)
    yield Line(arc.to, arc.feed)


def _turn(start: Point, arc: Arc, first: float) -> float:
    """Radians above 0; a full turn where the arc ends over its start."""
    if math.dist(start[:2], arc.to[:2]) <= SAME_POINT:
        return 2 * math.pi
    turn = math.atan2(arc.to[1] - arc.centre[1], arc.to[0] - arc.centre[0]) - first
    return (turn if arc.ccw else -turn) % (2 * math.pi)

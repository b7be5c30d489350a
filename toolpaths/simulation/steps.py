"""Which strokes of a program's text make which operation of its plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.motion import Operation, Program
from toolpaths.stroke import Point, Reading, Stroke
from toolpaths.tables.rows import Machine
from toolpaths.verify.walk import rapids

SAME_END: Final = 0.05
"""mm; the ends of a planned rapid and of the one that was read are one place: far more than any rounding, far less than
the way between two places."""


@dataclass(frozen=True, slots=True)
class Step:
    """An operation with its first and last stroke among all strokes of the setup; ``program`` counts from 0."""

    operation: Operation
    program: int
    first: int
    last: int


def steps(readings: Sequence[Reading], programs: Sequence[Program], machine: Machine) -> tuple[Step, ...]:
    """The operations in the order of work, each with its strokes; what has no stroke is left out.

    Rapids are what plan and text have in common on every machine, whether arcs become chords and drilling becomes
    cycles or not: a stroke belongs to the operation whose rapid was read last. The retract to where Z is known again
    after a change belongs to what comes after the change.
    """
    found: list[Step] = []
    start = 0
    for number, (reading, program) in enumerate(zip(readings, programs, strict=True)):
        strokes = reading.strokes
        entered = list(_entered(strokes, program, machine))
        firsts = [0, *(first for first, _ in entered[1:])]  # what comes before the first rapid is of its operation
        lasts = [*(first - 1 for first in firsts[1:]), len(strokes) - 1]
        for (_, place), first, last in zip(entered, firsts, lasts, strict=False):
            found.append(Step(program.setup.operations[place], number, start + first, start + last))
        start += len(strokes)
    return tuple(found)


def _entered(strokes: Sequence[Stroke], program: Program, machine: Machine) -> Iterator[tuple[int, int]]:
    """The first stroke of each stretch that belongs to one operation, and the place of that operation."""
    planned = rapids(program, machine)
    passed, place = 0, -1
    for index, stroke in enumerate(strokes):
        if stroke.kind != "rapid" or passed == len(planned):
            continue
        here = planned[passed].operation
        if _same(planned[passed].stroke.end, stroke.end):
            passed += 1
        elif not math.isnan(stroke.start[2]):
            continue
        if here != place:
            yield index, here
        place = here


def _same(one: Point, other: Point) -> bool:
    (ax, ay, az), (bx, by, bz) = one, other  # spelled out: a difference from what is not known is nan, and not above
    return not (abs(ax - bx) > SAME_END or abs(ay - by) > SAME_END or abs(az - bz) > SAME_END)

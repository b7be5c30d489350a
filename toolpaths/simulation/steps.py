"""Which strokes of a program's text make which operation of its plan."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.motion import Operation, Program
from toolpaths.stroke import Reading
from toolpaths.tables.rows import Machine
from toolpaths.verify.walk import walk

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
        first = start
        place: int | None = None
        for index, here in enumerate(_places(reading, program, machine), start):
            if here != place and place is not None:
                found.append(Step(program.setup.operations[place], number, first, index - 1))
                first = index
            place = here
        start += len(reading.strokes)
        if place is not None:
            found.append(Step(program.setup.operations[place], number, first, start - 1))
    return tuple(found)


def _places(reading: Reading, program: Program, machine: Machine) -> Iterator[int]:
    """For each stroke that was read the place of its operation."""
    planned = [one for one in walk(program, machine) if one.stroke.kind == "rapid"]
    passed, place = 0, 0
    for stroke in reading.strokes:
        if stroke.kind == "rapid" and passed < len(planned):
            if _same(planned[passed].stroke.end, stroke.end):
                place = planned[passed].operation
                passed += 1
            elif math.isnan(stroke.start[2]):
                place = planned[passed].operation
        yield place


def _same(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    return all(math.isnan(a) or math.isnan(b) or abs(a - b) <= SAME_END for a, b in zip(one, other, strict=True))

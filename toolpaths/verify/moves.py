"""What is judged: every move of the programs with its cutter, and the small arithmetic of one move.

Millimetres; program coordinates (X right, Y up, Z0 the top of the sheet, Z up).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from toolpaths.finding import Finding, Severity
from toolpaths.layout.panel import Panel
from toolpaths.stroke import Change, Reading, SpindleOff, SpindleOn, Stroke
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import ROUNDING_MM
from toolpaths.verify.table import SKIN, Table
from toolpaths.verify.telling import Telling

Span = tuple[float, float]
"""A part of a move: shares 0 to 1 of its length."""

TOLD = 2
"""So many findings of one kind at one feature are written out; the rest are counted."""


@dataclass(frozen=True, slots=True)
class Move:
    """One stroke in its place among all; ``cutter`` is None where the table does not hold it.

    ``low`` and ``high`` are the lowest and highest known Z of the tip; ``placed`` is False while X or Y is not known.
    ``turning`` is True with the spindle running clockwise.
    """

    order: int
    program: int
    stroke: Stroke
    cutter: Cutter | None
    low: float
    high: float
    placed: bool
    turning: bool

    @property
    def in_sheet(self) -> bool:
        """Whether the tip goes below the top of the sheet."""
        return self.low < -SKIN

    @property
    def upright(self) -> bool:
        """Whether it moves in Z alone."""
        stroke = self.stroke
        return stroke.centre is None and math.dist(stroke.start[:2], stroke.end[:2]) < ROUNDING_MM / 10


@dataclass(slots=True)
class Notes:
    """Collects findings about one panel; the same kind at one feature is told a few times, then only counted."""

    panel: str
    several: bool
    count: int = 0
    """How often something was said."""
    _told: dict[tuple[str, str], list[Finding]] = field(default_factory=dict)
    _more: dict[tuple[str, str], int] = field(default_factory=dict)

    def add(
        self, code: str, message: str, *, move: Move | None = None, line: int = 0, program: int = 0,
        feature: str = "", severity: Severity = "error", tell: int = TOLD,
    ) -> None:
        """One finding; with a ``move`` (or a ``line``) the message begins with its line."""
        self.count += 1
        if move is not None:
            line, program = move.stroke.line, move.program
        if line:
            place = f"program {program + 1}, line {line}" if self.several else f"line {line}"
            message = f"{place}: {message}"
        elif feature:
            message = f"{feature}: {message}"
        told = self._told.setdefault((code, feature), [])
        if len(told) < tell:
            told.append(Finding(severity, code, self.panel, feature, message, line))
        else:
            self._more[code, feature] = self._more.get((code, feature), 0) + 1

    def findings(self) -> tuple[Finding, ...]:
        """All of them, in the order in which each kind was first met."""
        result: list[Finding] = []
        for kind, told in self._told.items():
            more = self._more.get(kind, 0)
            if more:
                last = told[-1]
                text = f"{last.message} (and {more} more)"
                told = [*told[:-1], Finding(last.severity, last.code, last.panel, last.feature, text, last.line)]
            result += told
        return tuple(result)


@dataclass(frozen=True, slots=True)
class Work:
    """Everything that the judge looks at, and where its findings go."""

    readings: tuple[Reading, ...]
    panel: Panel
    machine: Machine
    cutters: dict[int, Cutter]
    material: Material
    moves: tuple[Move, ...]
    cuts: tuple[Move, ...]
    """The moves that take material: fed, in the sheet, at a known place, with a known cutter."""
    notes: Notes
    tell: Telling
    """Says figures in the units of the programs' text."""
    table: Table
    """The moves as columns of numbers."""

    def cutter(self, number: int) -> Cutter | None:
        """The cutter that T ``number`` calls: through the machine's slots where it has any."""
        slots = dict(self.machine.program.slots)
        return self.cutters.get(slots.get(number, -1) if slots else number)


def work(
    readings: Sequence[Reading], panel: Panel, machine: Machine, cutters: dict[int, Cutter], material: Material
) -> Work:
    """The programs in order as one row of moves."""
    notes = Notes(panel.name, several=len(readings) > 1)
    tell = Telling(readings[0].units if readings else "mm")
    strokes: list[Stroke] = []
    programs: list[int] = []
    turns: list[bool] = []
    for program, reading in enumerate(readings):
        turning = False
        for event in reading.events:
            match event:
                case Stroke():
                    strokes.append(event)
                    programs.append(program)
                    turns.append(turning and event.speed > 0)
                case SpindleOn(clockwise=clockwise, speed=speed):
                    turning = clockwise and speed > 0
                case SpindleOff() | Change():
                    turning = False
    table = Table.of(strokes)
    bare = Work(tuple(readings), panel, machine, cutters, material, (), (), notes, tell, table)
    called = {number: bare.cutter(number) for number in {stroke.cutter for stroke in strokes}}
    moves = tuple(
        Move(order, program, stroke, called[stroke.cutter], low, high, placed, turning)
        for order, (program, stroke, low, high, placed, turning) in enumerate(
            zip(programs, strokes, table.low.tolist(), table.high.tolist(), table.placed.tolist(), turns, strict=True)
        )
    )
    taking = np.flatnonzero(table.cuts & table.in_sheet & table.placed).tolist()
    cuts = tuple(moves[order] for order in taking if moves[order].cutter is not None)
    return dataclasses.replace(bare, moves=moves, cuts=cuts)


def span_below(stroke: Stroke, level: float) -> Span | None:
    """The part of a stroke whose tip is at or below Z ``level``; None where it never is.

    Z changes evenly along a line and along a helix, so it is one span. An unknown start counts as the end's height.

    >>> down = Stroke(1, "cut", (0, 0, 1), (10, 0, -1), 100, 1000, 1, True)
    >>> span_below(down, 0), span_below(down, -1), span_below(down, -2)
    ((0.5, 1.0), (1.0, 1.0), None)
    """
    first, last = stroke.start[2], stroke.end[2]
    if math.isnan(first):
        first = last
    if first <= level and last <= level:
        return 0.0, 1.0
    if first > level and last > level:
        return None
    share = (level - first) / (last - first)
    return (share, 1.0) if last < first else (0.0, share)


def radius_at(cutter: Cutter, tip: float, level: float) -> float:
    """Radius that a cutter with its tip at Z ``tip`` cuts at Z ``level``: 0 below the tip, growing along a cone.

    The cone of a drill of point angle p is (level - tip) tan(p/2) wide on either side; an engraver's begins with half
    the width of its flat tip.
    """
    if level < tip - 1e-9:
        return 0.0
    if cutter.point_angle >= math.pi - 1e-9:
        return cutter.radius
    return min(cutter.radius, cutter.tip / 2 + max(0.0, level - tip) * math.tan(cutter.point_angle / 2))

"""drill_schedule.csv: every opening with its place and how it is made, for whoever works by hand.

RFC 4180 with LF line ends and UTF-8. Positions are panel coordinates, in millimetres, as seen from the panel's outside
also where the program and the drawing are mirrored: the last columns say so. A job in inches has its inches beside.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Layout, Opening, Panel
from toolpaths.layout.sizes import turn_words
from toolpaths.motion import Operation, Setup
from toolpaths.shop.bench import Bench, HandWork, speed_words, step_words
from toolpaths.shop.words import by_hand, how_made, measured_from
from toolpaths.tables.load import drill_name
from toolpaths.tables.rows import Cutter
from toolpaths.tables.screws import clearance_holes
from toolpaths.tolerance import SAME_POINT
from toolpaths.units import Units, inch_decimal, inch_fraction, inches_beside, plain

HEADINGS = ("tag", "label", "panel", "x", "y", "final size", "pilot", "how it is made", "why", "units",
            "measured from", "corners")  # fmt: skip
BY_HAND = ("trade name", "x edge", "from x edge", "y edge", "from y edge", "by hand", "punch at", "pilot by hand",
           "drill press rev/min", "backing", "left to file", "remark", "bench steps", "test fit", "fitted")  # fmt: skip
"""How the same opening is made at the bench, whatever the machine does of it; the last column is for a pencil."""
INCHES = ("x in", "y in", "pilot in", "corners in", "from x edge in", "from y edge in", "pilot by hand in")
"""More columns of a job in inches: the same in decimal inches."""


def write(
    layout: Layout,
    setups: Sequence[Setup],
    cutters: Mapping[int, Cutter] | None = None,
    hand: HandWork | None = None,
) -> str:
    """The whole table, panels and openings in the job's order; with ``hand`` how each is made at the bench.

    ``pilot`` is the diameter in mm that a pilot hole gets: the job's own, or, with ``cutters``, that of the drill which
    leads the way for a larger one. ``corners`` are those of a polygon, x y after x y, before any rounding. Angles count
    counter-clockwise from +X. ``left to file`` is the most at the wall, ``bench steps`` are the numbers of the bits and
    tools in the order of work at the bench.
    """
    stream = io.StringIO(newline="")
    rows = csv.writer(stream, lineterminator="\n")
    inches = layout.units == "in"
    rows.writerow([*HEADINGS, *(BY_HAND if hand else ()), *(INCHES[: None if hand else 4] if inches else ())])
    once = _Once(hand, layout.units)
    for panel in layout.panels:
        zero = f"{inches_beside(measured_from(panel.outline.bounds), layout.units)}, seen from the outside"
        work = _work_by_tag(setup for setup in setups if setup.panel == panel.name)
        for opening in panel.openings:
            operations = work.get(opening.tag, [])
            rest = once.told(by_hand(opening))
            steps = how_made([operation.kind for operation in operations])
            pilot = _pilot(opening, operations, cutters or {})
            row = [
                *map(once.harmless, (opening.tag, opening.label, panel.name)),
                _place(opening.centre[0]),
                _place(opening.centre[1]),
                once.harmless(f"{opening.size_text}{turn_words(opening)}"),
                "" if pilot is None else plain(pilot),
                f"{steps}; {rest}" if rest else steps,
                once.harmless(once.told("; ".join(_reasons(operations)))),
                "mm",
                zero,
                "; ".join(f"{_place(x)} {_place(y)}" for x, y in opening.corners),
            ]
            bench = hand.of(panel.name, opening.tag) if hand else None
            sides = edges(panel, opening.centre)
            if hand and bench:
                row += _at_the_bench(once, panel, opening, bench, sides)
            if inches:
                row += [inch_decimal(value) for value in opening.centre]
                row.append("" if pilot is None else inch_decimal(pilot))
                row.append("; ".join(f"{inch_decimal(x)} {inch_decimal(y)}" for x, y in opening.corners))
                if bench:
                    row += [inch_decimal(far) for _, far in sides]
                    row.append(inch_decimal(bench.pilot) if bench.pilot else "")
            rows.writerow(row)
    return stream.getvalue()


class _Once:
    """Words that many openings share, found once for each of their kinds: of a vent's holes most are the same."""

    def __init__(self, hand: HandWork | None, units: Units) -> None:
        self.hand, self.units = hand, units
        self.harmless = cache(harmless)
        self.told = cache(lambda text: inches_beside(text, units))
        self.names: dict[tuple[object, ...], str] = {}
        self.benches: dict[tuple[object, ...], tuple[list[str], list[str]]] = {}

    def trade_name(self, opening: Opening) -> str:
        kind = opening.diameter, opening.thread
        if kind not in self.names:
            self.names[kind] = trade_name(opening, self.units)
        return self.names[kind]

    def bench(self, panel: Panel, bench: Bench) -> tuple[list[str], list[str]]:
        """The cells about the steps: the one before the places to punch, and those after."""
        hand, units = self.hand, self.units
        assert hand is not None
        by_press = (panel.name, bench.tag) not in hand.far
        kind = panel.name, by_press, bench.steps, bench.pilot, bench.backing, bench.left, bench.why
        cells = self.benches.get(kind)
        if cells is None:
            speeds = dict.fromkeys(speed_words(step) for step in bench.steps if step.rpm and by_press)
            cells = self.benches[kind] = (
                [harmless("; ".join(step_words(step, units) for step in bench.steps))],
                [
                    plain(bench.pilot) if bench.pilot else "",
                    "; ".join(speeds),
                    bench.backing,
                    plain(bench.left, 2) if bench.steps and bench.steps[0].doing != "none" else "",
                    harmless(inches_beside(hand.remark(panel.name, bench), units)),
                    ", ".join(map(str, hand.numbers(panel.name, bench))),
                ],
            )
        return cells


def _at_the_bench(
    once: _Once, panel: Panel, opening: Opening, bench: Bench, sides: Sequence[tuple[str, float]]
) -> list[str]:
    off_centre = [at for at in bench.punched if math.dist(at, opening.centre) > SAME_POINT]
    steps, rest = once.bench(panel, bench)
    return [
        once.trade_name(opening),
        *(text for side, far in sides for text in (side, _place(far))),
        *steps,
        "; ".join(f"{_place(x)} {_place(y)}" for x, y in bench.punched) if off_centre else "",
        *rest,
        once.harmless(to_try(panel, opening)),
        "",
    ]


def edges(panel: Panel, at: XY) -> tuple[tuple[str, float], tuple[str, float]]:
    """The nearest upright and the nearest level edge of the finished panel, each with its distance, mm."""
    x0, y0, x1, y1 = panel.outline.bounds
    across = min(("left", at[0] - x0), ("right", x1 - at[0]), key=lambda one: one[1] + SAME_POINT * (one[0] == "right"))
    up = min(("lower", at[1] - y0), ("upper", y1 - at[1]), key=lambda one: one[1] + SAME_POINT * (one[0] == "upper"))
    return across, up


def trade_name(opening: Opening, units: Units) -> str:
    """What the trade calls a round hole's size: its drill, its fraction of an inch, or the screw that it clears.

    A shop in mm is told metric screws, one in inches the others.
    """
    if opening.thread is not None:
        return f"tapping {opening.thread.name}"
    if opening.diameter is None:
        return ""
    drill = drill_name(opening.diameter) or inch_fraction(opening.diameter)
    screws = [
        f"{hole.screw} clearance, {hole.fit}"
        for hole in clearance_holes()
        if abs(hole.diameter - opening.diameter) < 1e-6 and hole.screw.startswith("M") == (units == "mm")
    ]
    return "; ".join([*([drill] if drill else []), *screws[:1]])


def to_try(panel: Panel, opening: Opening) -> str:
    """What is tried in an opening before anything is wired: its component, its screw, or what its label says."""
    if opening.component is not None:
        return panel.placements[opening.component].name
    if opening.thread is not None:
        return f"{opening.thread.name} screw"
    return opening.label


def harmless(text: str) -> str:
    """Text of the job that a spreadsheet will not take for a formula: an apostrophe goes before the sign.

    A plain number stays as it is; control characters become spaces, so that a row stays a line.

    >>> harmless("=1+1"), harmless("-12.5"), harmless("-x"), harmless("a\\nb")
    ("'=1+1", '-12.5', "'-x", 'a b')
    """
    flat = text if text.isprintable() else "".join(char if char.isprintable() else " " for char in text)
    # Some spreadsheets drop blanks, and full-width signs are signs to some: both count.
    signed = flat.lstrip()[:1] in tuple("=+-@＝＋－＠")
    return f"'{flat}" if signed and not re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", flat) else flat


def _place(value: float) -> str:
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text


def _work_by_tag(setups: Iterable[Setup]) -> dict[str, list[Operation]]:
    found: dict[str, list[Operation]] = {}
    for setup in setups:
        for operation in setup.operations:
            for tag in operation.tags:
                found.setdefault(tag, []).append(operation)
    return found


def _pilot(opening: Opening, operations: Sequence[Operation], cutters: Mapping[int, Cutter]) -> float | None:
    """The diameter of the pilot hole, mm; None where there is none."""
    if opening.finish == "pilot" and opening.cut_diameter is not None:
        return opening.cut_diameter
    leading = [cutters[step.cutter] for step in operations if step.kind == "pilot" and step.cutter in cutters]
    return leading[0].diameter if leading else None


def _reasons(operations: Sequence[Operation]) -> list[str]:
    """The first reason of each step, which is the choice of method: speeds and passes are on the setup sheet."""
    return list(dict.fromkeys(operation.reasons[0] for operation in operations if operation.reasons))

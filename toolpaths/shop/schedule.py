"""drill_schedule.csv: every opening with its place and how it is made, for whoever works by hand.

RFC 4180 with LF line ends and UTF-8. Positions are panel coordinates, in millimetres, as seen from the panel's outside
also where the program and the drawing are mirrored: the last columns say so. A job in inches has its inches beside.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence

from toolpaths.layout.panel import Layout, Opening
from toolpaths.layout.sizes import turn_words
from toolpaths.motion import Operation, Setup
from toolpaths.shop.words import by_hand, how_made, measured_from
from toolpaths.tables.rows import Cutter
from toolpaths.units import inch_decimal, inches_beside, plain

HEADINGS = ("tag", "label", "panel", "x", "y", "final size", "pilot", "how it is made", "why", "units",
            "measured from", "corners")  # fmt: skip
INCHES = ("x in", "y in", "pilot in", "corners in")
"""Four more columns of a job in inches: the same in decimal inches."""


def write(layout: Layout, setups: Sequence[Setup], cutters: Mapping[int, Cutter] | None = None) -> str:
    """The whole table, panels and openings in the job's order.

    ``pilot`` is the diameter in mm that a pilot hole gets: the job's own, or, with ``cutters``, that of the drill which
    leads the way for a larger one. ``corners`` are those of a polygon, x y after x y, before any rounding. Angles count
    counter-clockwise from +X.
    """
    stream = io.StringIO(newline="")
    rows = csv.writer(stream, lineterminator="\n")
    inches = layout.units == "in"
    rows.writerow([*HEADINGS, *INCHES] if inches else HEADINGS)
    for panel in layout.panels:
        zero = f"{inches_beside(measured_from(panel.outline.bounds), layout.units)}, seen from the outside"
        work = _work_by_tag(setup for setup in setups if setup.panel == panel.name)
        for opening in panel.openings:
            operations = work.get(opening.tag, [])
            hand = inches_beside(by_hand(opening), layout.units)
            steps = how_made([operation.kind for operation in operations])
            pilot = _pilot(opening, operations, cutters or {})
            row = [
                *(harmless(text) for text in (opening.tag, opening.label, panel.name)),
                _place(opening.centre[0]),
                _place(opening.centre[1]),
                harmless(f"{opening.size_text}{turn_words(opening)}"),
                "" if pilot is None else plain(pilot),
                f"{steps}; {hand}" if hand else steps,
                harmless(inches_beside("; ".join(_reasons(operations)), layout.units)),
                "mm",
                zero,
                "; ".join(f"{_place(x)} {_place(y)}" for x, y in opening.corners),
            ]
            if inches:
                row += [inch_decimal(value) for value in opening.centre]
                row.append("" if pilot is None else inch_decimal(pilot))
                row.append("; ".join(f"{inch_decimal(x)} {inch_decimal(y)}" for x, y in opening.corners))
            rows.writerow(row)
    return stream.getvalue()


def harmless(text: str) -> str:
    """Text of the job that a spreadsheet will not take for a formula: an apostrophe goes before the sign.

    A plain number stays as it is; control characters become spaces, so that a row stays a line.

    >>> harmless("=1+1"), harmless("-12.5"), harmless("-x"), harmless("a\\nb")
    ("'=1+1", '-12.5', "'-x", 'a b')
    """
    flat = "".join(" " if not char.isprintable() else char for char in text)
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

"""What accuracy to expect of which machine, and what in a job asks for more than its machine gives.

The figures are `common practice`: what such machines leave in sheet, not what their makers promise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from toolpaths.geometry.segment import Line
from toolpaths.layout.panel import Opening, Panel
from toolpaths.motion import Setup
from toolpaths.shop.words import Figures, tag_list
from toolpaths.tables.rows import Machine


@dataclass(frozen=True, slots=True)
class Class:
    """A class of machines: what it leaves beside the true size and place, from ``low`` to ``high`` mm, and why."""

    name: str
    low: float
    high: float
    why: str


ROUTER: Final = Class(
    "small router", 0.1, 0.2, "its frame and spindle give under the cut; belts or plain screws have play"
)
MILL: Final = Class("tight bench mill", 0.05, 0.05, "gibs and screws set up without play; with worn ones expect more")
BY_HAND: Final = Class(
    "by hand, from the template", 0.3, 0.5, "marked, punched, drilled in a drill press (from memory)"
)
CLASSES: Final = (ROUTER, MILL, BY_HAND)

THREAD_DEPTH: Final = 1.299
"""A full thread of 60 degrees takes this many pitches off the diameter: twice 0.6495 (from memory)."""


@dataclass(frozen=True, slots=True)
class AccuracyRow:
    """A line of the table of what to expect."""

    name: str
    expect: str
    why: str
    this: bool


@dataclass(frozen=True, slots=True)
class Demand:
    """What in the job asks for more than the machine gives: which openings of which panel, and what to do."""

    panel: str
    tags: str
    what: str


def class_of(machine: Machine) -> Class:
    """The class that a machine of this stiffness belongs to: a bench mill has 1."""
    return MILL if machine.stiffness >= 1 else ROUTER


def accuracy_table(machine: Machine, figures: Figures) -> tuple[AccuracyRow, ...]:
    """What to expect of which machine, the job's own marked."""
    own = class_of(machine)
    return tuple(AccuracyRow(row.name, figures.told(_range(row)), row.why, row is own) for row in CLASSES)


def _range(row: Class) -> str:
    return f"{row.low:g} mm" if row.low == row.high else f"{row.low:g} to {row.high:g} mm"


def demands(panel: Panel, setup: Setup, machine: Machine, figures: Figures) -> tuple[Demand, ...]:
    """What a panel asks for beyond its machine, by what it is: flats, keys, tolerances, threads, cones, lettering."""
    found: dict[str, list[str]] = {}
    bored = {tag for step in setup.operations if step.kind in ("bore", "clear") for tag in step.tags}
    error = class_of(machine).high
    for opening in panel.openings:
        if opening.finish == "machine":
            for what in _asked(opening, error, opening.tag in bored):
                found.setdefault(figures.told(what), []).append(opening.tag)
    for legend in panel.engraved:
        what = (
            f"engraved {legend.depth:g} mm deep, no more than many a sheet is out of flat: level board and sheet as "
            "the list before the start says"
        )
        found.setdefault(figures.told(what), []).append(legend.feature)
    return tuple(Demand(panel.name, tag_list(tags), what) for what, tags in found.items())


def _asked(opening: Opening, error: float, bored: bool) -> Iterator[str]:
    if opening.kind in ("d_hole", "double_d_hole"):
        yield _flat(opening, error)
    if opening.kind == "keyed_hole":
        yield "its key holds the part against turning: try the part before the sheet leaves its clamps, and file to fit"
    if 0 < opening.tolerance < error:
        yield (
            f"may come out {opening.tolerance:g} mm larger at most, and the machine may be {error:g} mm out: "
            "measure it in its clamps"
        )
    if opening.thread is not None and bored:
        share = error / (THREAD_DEPTH * opening.thread.pitch)
        yield (
            f"its tapping hole is milled: {error:g} mm too wide takes {share:.0%} of a full thread's depth from "
            f"{opening.thread.name}; measure it before you tap"
        )
    if opening.countersink is not None:
        wider = 2 * math.tan(opening.countersink.angle / 2) * 0.1
        yield f"a countersink comes out {wider:.2f} mm wider for every 0.1 mm that Z0 is too low: touch off with care"


def _flat(opening: Opening, error: float) -> str:
    """How far a part turns in its hole: the end of the flat, half its length from the middle, gives by the error.

    With two flats the error is shared between them.
    """
    flats = [piece.length for piece in opening.shape.segments if isinstance(piece, Line)]
    half = min(flats, default=0.0) / 2
    if not half:
        return "its flat holds the part against turning: try the part before the sheet leaves its clamps"
    play = error if len(flats) == 1 else error / 2
    turn = math.degrees(math.atan(play / half))
    return (
        f"its flat holds the part against turning: {error:g} mm too wide lets it turn about {turn:.1f}°; try the part "
        "before the sheet leaves its clamps"
    )


def expected(size: float, machine: Machine, figures: Figures) -> str:
    """Between which sizes a piece from this machine may lie, in the job's units."""
    error = class_of(machine).high
    return f"{figures.size(round(size - error, 3))} to {figures.size(round(size + error, 3))}"

"""How a folded box is set up on the machine: what it stands on, how it is squared, and the figures to type for X and Y.

The sheet's edge is no place to touch: beside a bend it is round. X and Y are touched on the flat of the walls beyond
the bend, with an edge finder of the diameter that the job states.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.layout.folded import CLEARANCE, TALLER
from toolpaths.layout.panel import Flange, Folded, Panel, Rectangle
from toolpaths.motion import Operation
from toolpaths.shop.words import Figures

SQUARE_WITHIN: Final = 0.1
"""mm between two points on the long side of a box that stands square (common practice)."""

FROM_CORNER: Final = 15.0
"""mm from the corners of the box to those points: seams and corners of a folded box bulge (common practice)."""

BELOW_BEND: Final = 1.0
"""mm; the finder touches at least this far beyond the bend."""

_SIDES: Final = (("left", 0, "X"), ("right", 2, "X"), ("lower", 1, "Y"), ("upper", 3, "Y"))
"""Sides as the box lies on the machine, which of a rectangle's figures is theirs, and their axis."""


@dataclass(frozen=True, slots=True)
class TouchRow:
    """One place to touch: what, how deep the finder's end is, and what to type there."""

    side: str
    what: str
    end: str
    figure: str


@dataclass(frozen=True, slots=True)
class BoxSheet:
    """What the setup sheet says of a folded box: steps in order, and the figures for touching its sides."""

    finder: str
    steps: tuple[str, ...]
    touches: tuple[TouchRow, ...]


def box_sheet(panel: Panel, operations: Sequence[Operation], figures: Figures) -> BoxSheet | None:
    """The sheet's part about the folded box; None for a panel that is machined flat."""
    box = panel.folded
    if box is None:
        return None
    deepest = max((-step.depth - panel.thickness for step in operations), default=0.0)
    first = _standing(box, figures) if box.standing else _on_block(box, deepest, figures)
    steps = (first, _square(panel, box, figures))
    return BoxSheet(figures.size(box.finder), steps, tuple(_touches(panel, box, figures)))


def bed_words(panel: Panel, figures: Figures) -> str:
    """What lies under the sheet, in place of a spoilboard."""
    box = panel.folded
    if box is None or box.block is None:
        return ""
    return f"It stands on its backing block of {figures.size(box.block.height)}, without a spoilboard."


def _on_block(box: Folded, deepest: float, figures: Figures) -> str:
    assert box.block is not None
    block = box.block
    size = f"{figures.size(block.width)} × {figures.size(block.length)}, {figures.size(block.height)} high"
    less = f"Make a backing block of {size}: the inside of the box less {figures.size(CLEARANCE)}"
    cut = f" The deepest cut goes {figures.size(round(deepest, 2))} into it." if deepest > 0 else ""
    if block.under:
        return (
            f"{less}, and as tall as the inside. Lay the box on its {box.lid}, push the block in and pack it with "
            f"paper until it bears under the whole {box.face} without bulging it.{cut} The {box.lid} lies flat on the "
            "table; clamp the box where the block carries it."
        )
    longest = max(flange.height for flange in box.flanges)
    return (
        f"{less}, and {figures.size(TALLER)} taller than the longest wall that hangs down ({figures.size(longest)}). "
        f"Fasten it on the table, flat and square to X, and put the box over it, the {box.face} up: it must lie flat "
        f"on the block, and no wall may reach the table.{cut} Clamp it where the block carries it."
    )


def _standing(box: Folded, figures: Figures) -> str:
    longest = max(flange.height for flange in box.flanges)
    return (
        f"Lay the box on its {box.face}, open side up, on the spoilboard: its walls stand {figures.size(longest)} high "
        "round the cutter, and between them the spindle needs room. Z0 is the inside surface of the sheet. "
        "Move by hand only at the clear height."
    )


def _square(panel: Panel, box: Folded, figures: Figures) -> str:
    x0, y0, x1, y1 = panel.area_to_program(panel.outline.bounds)
    walls = {_side_as_it_lies(panel, flange): flange for flange in box.flanges}
    along_x = x1 - x0 >= y1 - y0
    sides = ("lower", "upper") if along_x else ("left", "right")
    side = next((name for name in sides if name in walls), sides[0])
    what = _wall(walls.get(side))
    ends = (x0 + FROM_CORNER, x1 - FROM_CORNER) if along_x else (y0 + FROM_CORNER, y1 - FROM_CORNER)
    travels, reads = ("X", "Y") if along_x else ("Y", "X")
    first, last = (f"{travels}{figures.axis(end, 1)}" for end in ends)
    return (
        f"Square the box: touch {what}, its long {side} side, at {first} and at {last}{_unit(figures)} "
        f"(counted from where X0 Y0 will be). Turn the box until {reads} differs by no more than "
        f"{figures.size(SQUARE_WITHIN)} between the two; clamp it, and touch both again."
    )


def _touches(panel: Panel, box: Folded, figures: Figures) -> Iterator[TouchRow]:
    """Each side alone, then both of an axis halved, where the finder's diameter and the box's own error drop out."""
    outline = panel.area_to_program(panel.outline.bounds)
    walls = {_side_as_it_lies(panel, flange): flange for flange in box.flanges}
    edges: dict[str, float] = {}
    for side, index, axis in _SIDES:
        flange = walls.get(side)
        area: Rectangle = outline if flange is None else panel.area_to_program(flange.area)
        edges[side] = area[index]
        out = -1 if index < 2 else 1
        figure = f"{axis}{figures.axis(edges[side] + out * box.finder / 2)}{_unit(figures)}"
        yield TouchRow(side, _wall(flange), _end(panel, box, flange, figures), figure)
    for axis, first, second in (("X", "left", "right"), ("Y", "lower", "upper")):
        middle = f"{axis}{figures.axis((edges[first] + edges[second]) / 2)}{_unit(figures)}"
        yield TouchRow(f"{first} and {second}", "touch both, go half the way between them", "as above", middle)


def _side_as_it_lies(panel: Panel, flange: Flange) -> str:
    """The side of the box as it lies on the machine: turned over, left is right."""
    if not panel.mirrored:
        return flange.side
    turned = {"left": "right", "right": "left", "lower": "lower", "upper": "upper"}
    return turned[flange.side]


def _wall(flange: Flange | None) -> str:
    if flange is None:
        return "the edge of the sheet"
    return f"the flat of the {flange.wall} wall" if flange.bent else f"the {flange.wall} wall, beyond the seam"


def _unit(figures: Figures) -> str:
    """The machine's unit behind a figure, where the sheet has others too."""
    return f" {figures.program}" if figures.mixed else ""


def _end(panel: Panel, box: Folded, flange: Flange | None, figures: Figures) -> str:
    """Between which heights the finder's end may be, so that it touches what is flat."""
    sheet = panel.thickness
    if flange is None:
        low, high = -sheet, -sheet / 2
    else:
        bend = flange.radius + BELOW_BEND if flange.bent else BELOW_BEND
        # the outside of the bend ends where its inside does, seen from the inside surface
        standing = bend, flange.height - BELOW_BEND
        low, high = standing if box.standing else (-sheet - standing[1], -sheet - bend)
    return f"Z{figures.axis(low)} to Z{figures.axis(high)}{_unit(figures)}"

"""Where to touch the sides of a sheet or a folded box to set X and Y, and the figures to type there.

Beside a bend the sheet's edge is round and no place to touch: there it is the flat of the wall beyond the bend.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from toolpaths.layout.panel import Flange, Panel, Rectangle
from toolpaths.shop.words import Figures

BELOW_BEND: Final = 1.0
"""mm; the finder touches at least this far beyond the bend."""

FINDERS: Final = {"mm": 10.0, "in": 12.7}
"""Diameter of the finder that figures are worked out for where the job states none, by the programs' units: edge
finders of 10 mm and of 1/2 in are the usual ones (common practice)."""

_SIDES: Final = (("left", 0, "X"), ("right", 2, "X"), ("lower", 1, "Y"), ("upper", 3, "Y"))
"""Sides as they lie on the machine, which of a rectangle's figures is theirs, and their axis."""


@dataclass(frozen=True, slots=True)
class TouchRow:
    """One place to touch: what, how deep the finder's end is, what to type there, and where the side itself is."""

    side: str
    what: str
    end: str
    figure: str
    edge: str


def finder_for(panel: Panel, figures: Figures) -> float:
    """The diameter in mm of the finder that the sheet's figures are for."""
    return panel.folded.finder if panel.folded else FINDERS[figures.program]


def touches(panel: Panel, finder: float, figures: Figures) -> tuple[TouchRow, ...]:
    """Each side alone, then both of an axis halved, where the finder's diameter and the piece's own error drop out."""
    return tuple(_touches(panel, finder, figures))


def _touches(panel: Panel, finder: float, figures: Figures) -> Iterator[TouchRow]:
    edges = panel.area_to_program(panel.outline.bounds if panel.folded else panel.stock)
    walls = walls_as_they_lie(panel)
    sides: dict[str, float] = {}
    if panel.stage is not None and panel.stage.number > 1:
        return  # pins hold it, and X and Y keep the zero of the first setup
    for side, index, axis in _SIDES:
        flange = walls.get(side)
        area: Rectangle = edges if flange is None else panel.area_to_program(flange.area)
        out = -1 if index < 2 else 1
        if not _in_reach(panel, index, area[index]):
            continue
        sides[side] = area[index]
        typed = f"{axis}{figures.axis(sides[side] + out * finder / 2)}{figures.at_machine}"
        edge = f"{axis}{figures.axis(sides[side])}{figures.at_machine}"
        yield TouchRow(side, wall_words(flange), _end(panel, flange, figures), typed, edge)
    for axis, first, second in (("X", "left", "right"), ("Y", "lower", "upper")):
        if not {first, second} <= sides.keys():
            continue
        middle = f"{axis}{figures.axis((sides[first] + sides[second]) / 2)}{figures.at_machine}"
        yield TouchRow(f"{first} and {second}", "touch both, go half the way between them", "as above", middle, middle)


def _in_reach(panel: Panel, index: int, place: float) -> bool:
    """Whether the machine comes there: to the far ends of a panel that is longer than its travel it does not."""
    if panel.stage is None:
        return True
    return panel.stage.reach[index % 2] <= place <= panel.stage.reach[index % 2 + 2]


def walls_as_they_lie(panel: Panel) -> dict[str, Flange]:
    """The walls of the folded box by the side on which they lie on the machine: turned over, left is right."""
    turned = {"left": "right", "right": "left"} if panel.mirrored else {}
    return {turned.get(flange.side, flange.side): flange for flange in panel.flanges}


def wall_words(flange: Flange | None) -> str:
    """What is touched on a side."""
    if flange is None:
        return "the edge of the sheet"
    return f"the flat of the {flange.wall} wall" if flange.bent else f"the {flange.wall} wall, beyond the seam"


def _end(panel: Panel, flange: Flange | None, figures: Figures) -> str:
    """Between which heights the finder's end may be, so that it touches what is flat."""
    sheet = panel.thickness
    if flange is None:
        low, high = -sheet, -sheet / 2
    else:
        bend = flange.radius + BELOW_BEND if flange.bent else BELOW_BEND
        # the outside of the bend ends where its inside does, seen from the inside surface
        standing = bend, flange.height - BELOW_BEND
        upright = panel.folded is not None and panel.folded.standing
        low, high = standing if upright else (-sheet - standing[1], -sheet - bend)
    return f"Z{figures.axis(low)} to Z{figures.axis(high)}{figures.at_machine}"

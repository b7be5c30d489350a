"""How a folded box is set up on the machine: what it stands on, and how it is squared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.layout.folded import CLEARANCE, TALLER
from toolpaths.layout.panel import Folded, Panel
from toolpaths.motion import Operation
from toolpaths.shop.touching import TouchRow, touches, wall_words, walls_as_they_lie
from toolpaths.shop.words import Figures

SQUARE_WITHIN: Final = 0.1
"""mm between two points on the long side of a box that stands square (common practice)."""

FROM_CORNER: Final = 15.0
"""mm from the corners of the box to those points: seams and corners of a folded box bulge (common practice)."""

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
    if panel.stage is not None and panel.stage.number > 1:
        return None  # it was squared in the first setup, and pins hold it since
    first = _standing(box, figures) if box.standing else _on_block(box, deepest, figures)
    if panel.stage is not None and box.block is not None:
        first += _shorter(panel, box, panel.stage.slides, figures)
    steps = (first, _square(panel, box, figures))
    return BoxSheet(figures.size(box.finder), steps, touches(panel, box.finder, figures))


def _shorter(panel: Panel, box: Folded, slides: float, figures: Figures) -> str:
    """Where the block stands that a box is moved over: it stays, so it is shorter than the box by all of the move."""
    x0, y0, x1, y1 = panel.area_to_program(panel.outline.bounds)
    middle = (y0 + y1) / 2 if x1 - x0 >= y1 - y0 else (x0 + x1) / 2
    assert box.block is not None
    along_x = x1 - x0 >= y1 - y0
    long = box.block.width if along_x else box.block.length
    inside = (x1 - x0 if along_x else y1 - y0) - slides - long
    begin = (x0 if along_x else y0) + inside / 2
    name, other = ("X", "Y") if along_x else ("Y", "X")
    return (
        f" The block stays where it is in all setups, and the box is moved {figures.size(slides)} over it: so much "
        f"shorter is the block than the box. It stands from {name}{figures.axis(begin, 1)} to "
        f"{name}{figures.axis(begin + long, 1)}, its middle at {other}{figures.axis(middle, 1)}{figures.at_machine}."
    )


def bed_words(panel: Panel, figures: Figures) -> str:
    """What lies under the sheet, in place of a spoilboard."""
    box = panel.folded
    if box is None or box.block is None:
        return ""
    return f"It stands on its backing block of {figures.set_off(box.block.height)}, without a spoilboard."


def _on_block(box: Folded, deepest: float, figures: Figures) -> str:
    assert box.block is not None
    block = box.block
    size = f"{figures.set_off(block.width)} × {figures.set_off(block.length)}, {figures.set_off(block.height)} high"
    less = f"Make a backing block of {size}: the inside of the box less {figures.set_off(CLEARANCE)}"
    cut = f" The deepest cut goes {figures.size(round(deepest, 2))} into it." if deepest > 0 else ""
    if block.under:
        return (
            f"{less}, and as tall as the inside. Lay the box on its {box.lid}, push the block in and pack it with "
            f"paper until it bears under the whole {box.face} without bulging it.{cut} The {box.lid} lies flat on the "
            "table; clamp the box where the block carries it."
        )
    longest = max(flange.height for flange in box.flanges)
    return (
        f"{less}, and {figures.set_off(TALLER)} taller than the longest wall that hangs down "
        f"({figures.set_off(longest)}). "
        f"Fasten it on the table, flat and square to X, and put the box over it, the {box.face} up: it must lie flat "
        f"on the block, and no wall may reach the table.{cut} Clamp it where the block carries it."
    )


def _standing(box: Folded, figures: Figures) -> str:
    longest = max(flange.height for flange in box.flanges)
    return (
        f"Lay the box on its {box.face}, open side up, on the spoilboard: its walls stand {figures.set_off(longest)} "
        "high round the cutter, and between them the spindle needs room. Z0 is the inside surface of the sheet. "
        "Move by hand only at the clear height."
    )


def _square(panel: Panel, box: Folded, figures: Figures) -> str:
    x0, y0, x1, y1 = panel.area_to_program(panel.outline.bounds)
    walls = walls_as_they_lie(panel)
    along_x = x1 - x0 >= y1 - y0
    sides = ("lower", "upper") if along_x else ("left", "right")
    side = next((name for name in sides if name in walls), sides[0])
    what = wall_words(walls.get(side))
    ends = (x0 + FROM_CORNER, x1 - FROM_CORNER) if along_x else (y0 + FROM_CORNER, y1 - FROM_CORNER)
    if panel.stage is not None:
        low, high = (panel.stage.reach[axis] for axis in ((0, 2) if along_x else (1, 3)))
        ends = max(ends[0], low), min(ends[1], high)
    travels, reads = ("X", "Y") if along_x else ("Y", "X")
    first, last = (f"{travels}{figures.axis(end, 1)}" for end in ends)
    return (
        f"Square the box: touch {what}, its long {side} side, at {first} and at {last}{figures.at_machine} "
        f"(counted from where X0 Y0 will be). Turn the box until {reads} differs by no more than "
        f"{figures.dial(SQUARE_WITHIN)} between the two; clamp it, and touch both again."
    )

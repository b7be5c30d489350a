"""The board below a divided panel as a piece of work: the holes in which its pins stand, bored with the sheet off.

All setups share one zero, so one short program bores the holes of all of them, after the first setup and before the
sheet is laid for the second. Z0 is then the top of the board.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from toolpaths.division.divide import LEAST_HOLD, Divided
from toolpaths.division.index import in_sheet
from toolpaths.division.windows import SLACK
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.layout.panel import Opening, Panel, Pin, Rectangle
from toolpaths.layout.tags import round_size
from toolpaths.layout.touch_off import touch_off
from toolpaths.tables.rows import Machine

MATERIAL: Final = "mdf"
"""What a spoilboard is taken to be (common practice)."""

TO_GRIP: Final = 10.0
"""mm; a pin that is drawn stands so far out of the sheet."""


def board_panels(divided: Divided, machine: Machine, step: float) -> Iterator[tuple[Divided, Panel]]:
    """The board as a panel, its coordinates those of all the setups' programs; with holes as deep as may be, then less
    deep, for cutters that do not reach so far. With each the division whose pins stand as deep."""
    hold = divided.hold
    while hold >= LEAST_HOLD:
        held = replace(divided, hold=hold)
        yield held, board_panel(held, machine, step)
        hold -= 1.0


def board_panel(divided: Divided, machine: Machine, step: float) -> Panel:
    """The board as a panel with holes of one depth."""
    first = divided.setups[0]
    thickness = first.bed(machine.spoilboard)
    places = pins_by_place(divided)
    openings = tuple(_hole(number, at, pins[0][1], divided.hold) for number, (at, pins) in enumerate(places, 1))
    area = _area(divided)
    outline = rounded_rectangle(
        ((area[0] + area[2]) / 2, (area[1] + area[3]) / 2), area[2] - area[0], area[3] - area[1]
    )
    stage = first.stage
    return replace(
        first, material=MATERIAL, thickness=thickness, thickness_text=f"{first.bed_name}", outline=outline, stock=area,
        zero=(0.0, 0.0), mirrored=False, cut_outline=False, clamps=(), openings=openings, edge=None, placements=(),
        touch_off=touch_off(area, 0.0, openings, (), (area[0], area[1]), machine.nut_diameter / 2, False, step),
        folded=None, blank=(), legends=(), engraver=None,
        stage=None if stage is None else replace(stage, number=0, pins=(), elsewhere=()),
        on_table=True,
    )  # fmt: skip


def pins_by_place(divided: Divided) -> list[tuple[tuple[float, float], list[tuple[int, Pin]]]]:
    """The places of pin holes in the board, in program coordinates: with the setups, by number, whose pins stand there.
    """
    found: dict[tuple[float, float], list[tuple[int, Pin]]] = {}
    for panel in divided.setups:
        assert panel.stage is not None
        for pin in panel.stage.pins:
            x, y = panel.to_program(pin.at)
            found.setdefault((round(x, 4) + 0.0, round(y, 4) + 0.0), []).append((panel.stage.number, pin))
    return list(found.items())


def pin_length(divided: Divided, drawn: bool) -> float:
    """How long a pin is to be, mm, to a tenth: it ends below the top of the sheet; one that is ``drawn`` before
    anything is cut stands out of it."""
    if drawn:
        return math.ceil(divided.hold + divided.whole.thickness + TO_GRIP)
    return round(divided.hold + in_sheet(divided.whole.thickness), 3)


def _hole(number: int, at: tuple[float, float], pin: Pin, depth: float) -> Opening:
    shape = circle(at, pin.diameter)
    return Opening(
        tag=f"P{number}", feature=f"pin[{number}]", label="pin", centre=at, shape=shape, diameter=pin.diameter,
        size_text=round_size(pin.diameter), finish="machine", cut=shape, cut_diameter=pin.diameter, marks=(),
        corner_limit=0.0, tolerance=0.0, tabs=None, cleared=True, depth=depth, kind="pin_hole",
    )  # fmt: skip


def _area(divided: Divided) -> Rectangle:
    """The part of the board that the machine reaches; a backing block is not larger than it is."""
    first = divided.setups[0]
    stage = first.stage
    assert stage is not None
    x0, y0, x1, y1 = (
        stage.reach[0] + SLACK, stage.reach[1] + SLACK, stage.reach[2] - SLACK, stage.reach[3] - SLACK,
    )  # fmt: skip
    if (block := block_area(first)) is None:
        return x0, y0, x1, y1
    return max(x0, block[0]), max(y0, block[1]), min(x1, block[2]), min(y1, block[3])


def block_area(first: Panel) -> Rectangle | None:
    """Where the backing block of a folded box stands, in program coordinates: at the near end of the box as it lies in
    the ``first`` setup; None where there is none."""
    block = first.folded.block if first.folded else None
    if block is None or first.stage is None:
        return None
    x0, y0, x1, y1 = first.area_to_program(first.outline.bounds)
    along_x = x1 - x0 >= y1 - y0
    across, up = x1 - x0 - block.width, y1 - y0 - block.length
    aside = (across - first.stage.slides if along_x else across) / 2
    below = (up if along_x else up - first.stage.slides) / 2
    return x0 + aside, y0 + below, x0 + aside + block.width, y0 + below + block.length

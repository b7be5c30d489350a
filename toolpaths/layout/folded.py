"""A face of a box that is folded already, as it lies on the machine: its walls hang down round it, or stand up.

Machined from the outside the face is on top and its walls hang down::

        cutter                                The sheet stands on a backing block of the inside less CLEARANCE,
          |            Z0                     TALLER than the longest wall, so that the walls hang free::
     .----+-------------------------.
     |.----------------------------.|  sheet
     ||  ........................  ||         Where the opposite face is bent on too, the block stands on that face
     ||  .   backing block      .  ||  walls  and is as tall as the inside.
     ||  .                      .  ||
      '  .......................:   '
    =================================  table

Machined from the inside the sheet lies on the spoilboard and its walls stand up round the cutter; where the opposite
face is bent on, the cutter cannot get in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from toolpaths.finding import Finding
from toolpaths.job.chassis import OPPOSITE, Chassis
from toolpaths.job.schema import Face
from toolpaths.layout.box import SIDES, Side, extent, inside_of, neighbours
from toolpaths.layout.panel import Block, Clamp, Flange, Folded, Panel, Rectangle

CLEARANCE: Final = 1.0
"""mm; a backing block is this much smaller than the inside of the box (common practice)."""

TALLER: Final = 3.0
"""mm; and this much taller than the longest wall that hangs down beside it (common practice)."""


def folded(name: str, bounds: Rectangle, mirrored: bool, chassis: Chassis | None) -> Folded | None:
    """The box about one panel, or None where the panel is machined flat.

    That is: it is no face of the chassis, no wall is bent to it, or its holes are made before bending.
    """
    face = chassis.face_of(name) if chassis else None
    if chassis is None or face is None or chassis.holes == "before bending":
        return None
    body = chassis.of_one_piece(face)
    if len(body) == 1:
        return None
    flanges = tuple(_flanges(face, bounds, body, chassis))
    across, up, away = inside_of(face, chassis)
    lid: Face | None = OPPOSITE[face] if OPPOSITE[face] in body else None
    block = None
    if not mirrored:
        tall = away if lid else max(flange.height for flange in flanges) + TALLER
        block = Block(across - CLEARANCE, up - CLEARANCE, tall, chassis.thickness if lid else 0.0)
    return Folded(face, flanges, mirrored, block, lid or "", chassis.bend_radius, chassis.finder)


def _flanges(face: Face, bounds: Rectangle, body: frozenset[Face], chassis: Chassis) -> Iterator[Flange]:
    """The walls at the sides of a face: those bent to it, and those that meet it at a seam."""
    across, up, away = inside_of(face, chassis)
    sheet = chassis.thickness
    left, low, right, high = extent(face, chassis)
    shift = (bounds[0] + bounds[2]) / 2 - (left + right) / 2, (bounds[1] + bounds[3]) / 2 - (low + high) / 2
    for side, wall in neighbours(face).items():
        if wall not in body:
            continue
        strip: dict[Side, Rectangle] = {
            "left": (-sheet, low, 0.0, high),
            "right": (across, low, across + sheet, high),
            "lower": (left, -sheet, right, 0.0),
            "upper": (left, up, right, up + sheet),
        }
        x0, y0, x1, y1 = strip[side]
        area = x0 + shift[0], y0 + shift[1], x1 + shift[0], y1 + shift[1]
        bent = frozenset({face, wall}) in chassis.folds
        far = sheet if frozenset({OPPOSITE[face], wall}) in chassis.folds else 0.0
        yield Flange(side, wall, area, away + far, chassis.bend_radius if bent else 0.0, bent)


def bend_areas(box: Folded | None, first: int) -> tuple[Clamp, ...]:
    """The strips that are no place for touching off Z, walls and bends, as if they were clamps."""
    if box is None:
        return ()
    return tuple(
        Clamp(first + index, beside(flange), flange.height if box.standing else 0.0)
        for index, flange in enumerate(box.flanges)
    )


def beside(flange: Flange) -> Rectangle:
    """A wall with the bend beside it, up to where the sheet is flat."""
    x0, y0, x1, y1 = flange.area
    grow = {side: flange.radius if side == flange.side else 0.0 for side in SIDES}
    return x0 - grow["right"], y0 - grow["upper"], x1 + grow["left"], y1 + grow["lower"]


def folded_findings(panels: Sequence[Panel]) -> Iterator[Finding]:
    """Faces into which no cutter gets, since the opposite face lies over them."""
    for panel in panels:
        box = panel.folded
        if box is not None and box.standing and box.lid and panel.work:
            yield Finding(
                "error", "closed-in", panel.name, "",
                f"machined from the inside, the {box.face} lies under the {box.lid} of the folded box, and no cutter "
                'gets in: set machine_from = "outside"',
            )  # fmt: skip

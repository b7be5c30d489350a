"""What is marked on masking tape stuck to the metal: centres, corners of the sheet, saw lines; in one pen, unbroken.

The marks lie in program coordinates, mirrored like the panel, so that they come where the machine would cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from toolpaths.clipping import outside
from toolpaths.drafting import MARGIN
from toolpaths.drafting import bounds_of as box_of
from toolpaths.drawing import TRUE, WIDE, Chain, Drawing, Mark, Pen, Polyline, Scale
from toolpaths.finding import Finding
from toolpaths.geometry.segment import XY, Arc, Bounds
from toolpaths.labelling import CENTRE_OVERHANG
from toolpaths.layout.panel import Opening, Panel
from toolpaths.template import SAME_PLACE, Common, hand_route

ARM: Final = 8.0
"""Length of the two lines in each corner of the sheet, mm."""


def draw_marks(
    panel: Panel,
    job: Common,
    standing: Sequence[Bounds] = (),
    scale: Scale = TRUE,
    punched: Mapping[str, Sequence[XY]] | None = None,
) -> tuple[Drawing, list[Finding]]:
    """The marks of a panel, and a finding for each thing whose marks a pen cannot draw.

    ``standing`` are the boxes, in program coordinates, that the middle of the pen keeps off: a cross that meets one is
    left out as a whole, of a saw line what lies in it. ``punched``: where each opening is punched by hand, by its tag,
    in panel coordinates; an opening that is not named there is marked at its centre.
    """
    marks: list[Mark] = []
    left_out: dict[str, None] = {}
    for feature, together in _marks(panel, job, punched or {}):
        kept = [_clear(mark, standing) for mark in together]
        if kept == [[mark] for mark in together]:
            marks += together
            continue
        left_out[feature] = None
        if any(isinstance(mark, Chain) for mark in together):  # a saw line may end early, a cross may not
            marks += [part for parts in kept for part in parts]
    found = [
        Finding(
            "warning", "mark-under-clamp", panel.name, feature,
            "a clamp or a wall of the box is in the way of the pen: marks there are left out; move the clamp, or mark "
            "them by hand",
        )
        for feature in left_out
    ]  # fmt: skip
    x0, y0, x1, y1 = box_of([*marks, *_corners(panel)])
    paper = (math.floor(x0 - MARGIN), math.floor(y0 - MARGIN), math.ceil(x1 + MARGIN), math.ceil(y1 + MARGIN))
    pens = (Pen("marks", WIDE, (), tuple(marks)),) if marks else ()
    return Drawing(job.title, panel.name, paper, pens, scale=scale), found


def _clear(mark: Mark, standing: Sequence[Bounds]) -> list[Mark]:
    """What of a mark lies outside all boxes."""
    parts = [mark]
    for box in standing:
        parts = [piece for part in parts for piece in outside(part, box)]
    return parts


def _marks(
    panel: Panel, job: Common, punched: Mapping[str, Sequence[XY]]
) -> Iterator[tuple[str, list[Mark]]]:
    """What is drawn together, or not at all, with the feature that it belongs to."""
    for corner in _corners(panel):
        yield "outline", [corner]
    for opening in panel.openings:
        for together in _of_opening(panel, opening, job, punched.get(opening.tag)):
            yield opening.feature, together


def _corners(panel: Panel) -> list[Mark]:
    """Two lines along the edges in each corner of the box round the outline."""
    x0, y0, x1, y1 = panel.contour_to_program(panel.outline).bounds
    arm = min(ARM, (x1 - x0) / 4, (y1 - y0) / 4)
    return [
        Polyline(((x + to_x * arm, y), (x, y), (x, y + to_y * arm)))
        for x, to_x in ((x0, 1), (x1, -1)) for y, to_y in ((y0, 1), (y1, -1))
    ]  # fmt: skip


def _of_opening(
    panel: Panel, opening: Opening, job: Common, places: Sequence[XY] | None
) -> Iterator[list[Mark]]:
    """A cross over its centre that reaches beyond it, small ones at further places to punch, and its saw lines.

    A hole with one flat and a slot that are not punched at their centre have no cross there: it would be punched.
    """
    x0, y0, x1, y1 = panel.contour_to_program(opening.shape).bounds
    x, y = panel.to_program(opening.centre)
    over = CENTRE_OVERHANG
    punched = [panel.to_program(point) for point in (*opening.marks, *(places or ()))]
    elsewhere = bool(places) and all(math.dist(place, opening.centre) > SAME_PLACE for place in places or ())
    if not (elsewhere and opening.kind in ("d_hole", "slot")):
        yield [Polyline(((x0 - over, y), (x1 + over, y))), Polyline(((x, y0 - over), (x, y1 + over)))]
    for pen, mark in hand_route(panel, opening, job):
        if pen == "hand route":
            yield [mark]
        elif places is None and isinstance(mark, Chain) and isinstance(mark.segments[0], Arc):
            punched.append(mark.segments[0].centre)
    for px, py in dict.fromkeys(_rounded(point) for point in punched):
        if math.dist((px, py), (x, y)) > SAME_PLACE:
            yield [Polyline(((px - over, py), (px + over, py))), Polyline(((px, py - over), (px, py + over)))]


def _rounded(point: XY) -> XY:
    """A place without the dust of floats, so that one place is marked once."""
    return round(point[0], 6) + 0.0, round(point[1], 6) + 0.0

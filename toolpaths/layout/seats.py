"""What of a component sits on the sheet or goes through it: seats that do not lie flat, bodies too large for a hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from toolpaths.finding import Finding
from toolpaths.geometry.judge import inside, overlaps
from toolpaths.geometry.segment import Bounds
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.panel import Opening, Panel
from toolpaths.layout.telling import Telling
from toolpaths.tolerance import SAME_POINT

SEATS = ("nut", "flange")
"""What must lie flat on the sheet."""


def seats(placement: Placement, thickness: float) -> Iterator[Body]:
    """The nuts and flanges of a component that lie on the sheet, on either side."""
    for body in placement.bodies:
        if body.role in SEATS and (abs(body.low) < SAME_POINT or abs(body.high + thickness) < SAME_POINT):
            yield body


def seat_findings(panels: Sequence[Panel], telling: Telling) -> Iterator[Finding]:
    """Seats over the panel's edge or over a foreign opening, and bodies that do not go through their own hole."""
    for panel in panels:
        for place, placement in enumerate(panel.placements):
            own = [opening for opening in panel.openings if opening.component == place]
            yield from _over_edge(panel, placement, telling)
            yield from _over_openings(panel, place, placement)
            yield from _not_through(panel, placement, own)


def _over_edge(panel: Panel, placement: Placement, telling: Telling) -> Iterator[Finding]:
    if panel.on_blank or panel.flanges:
        return  # the sheet goes on, and has rules of its own beside a bend
    worst = 0.0
    role = ""
    for body in seats(placement, panel.thickness):
        by = _beyond(body.footprint.bounds, panel.outline.bounds)
        if by > max(worst, SAME_POINT):
            worst, role = by, body.role
    if role:
        yield Finding(
            "warning", "seat-over-edge", panel.name, placement.feature,
            f"the {role} of {placement.name} reaches {telling.say(worst)} beyond the edge of the panel: move it "
            f"{telling.cure(worst)} inwards",
        )  # fmt: skip


def _beyond(box: Bounds, outline: Bounds) -> float:
    return max(outline[0] - box[0], outline[1] - box[1], box[2] - outline[2], box[3] - outline[3])


def _over_openings(panel: Panel, place: int, placement: Placement) -> Iterator[Finding]:
    for body in seats(placement, panel.thickness):
        for opening in panel.openings:
            if opening.component == place or not _boxes_meet(body.footprint.bounds, opening.shape.bounds):
                continue
            if overlaps(body.footprint, opening.shape):
                name = f"{opening.tag} ({opening.label})" if opening.label else opening.tag
                yield Finding(
                    "warning", "seat-over-opening", panel.name, placement.feature,
                    f"the {body.role} of {placement.name} lies over {name} ({opening.feature}), so that it does not "
                    "sit flat: move one of the two",
                )  # fmt: skip
                return


def _boxes_meet(one: Bounds, two: Bounds) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def _not_through(panel: Panel, placement: Placement, own: Sequence[Opening]) -> Iterator[Finding]:
    """Bodies on the far side of the sheet that go in through the component's hole, and are larger than it."""
    if not placement.passes:
        return
    for body in placement.bodies:
        far = body.high < 0 if placement.fitted_from == "outside" else body.low >= 0
        if far and body.role in ("body", "terminal") and not any(inside(body.footprint, one.shape) for one in own):
            yield Finding(
                "error", "does-not-pass", panel.name, placement.feature,
                f"the {body.role} of {placement.name} does not go through its hole, and it is fitted from the "
                f"{placement.fitted_from}: make the hole larger, or say passes = false in its row",
            )  # fmt: skip
            return

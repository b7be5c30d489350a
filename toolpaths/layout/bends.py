"""The sheet beside a bend: what is cut into it before bending is torn, what sits on it after bending does not lie flat.

Distances are taken from the outer edge of the face, which is the outside of the wall that is bent to it. The sheet is
flat from its thickness and the inside radius on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.segment import Bounds
from toolpaths.job.chassis import Chassis
from toolpaths.job.schema import Face
from toolpaths.layout.box import Side, folded_sides
from toolpaths.layout.panel import Panel
from toolpaths.layout.seats import seats
from toolpaths.layout.telling import AWAY_FROM, Telling, it

BEND_SHEETS: Final = 3.0
"""Before bending a hole keeps this many thicknesses and the inside radius from the inside of the flange (sheet metal
design guide pages: 3t + R; other pages say less)."""

SLACK: Final = 0.005
"""mm; less is rounding."""


def bend_findings(panels: Sequence[Panel], chassis: Chassis, telling: Telling) -> Iterator[Finding]:
    """Openings, nuts and washers that come too near to a bend; of one feature only the worst at each bend."""
    for panel in panels:
        face = chassis.face_of(panel.name)
        if face is None:
            continue
        for side, wall in folded_sides(face, chassis).items():
            yield from _at_bend(panel, side, wall, chassis, telling)


def room_at(side: Side, box: Bounds, outline: Bounds) -> float:
    """How far a box keeps from one side of the outline, mm."""
    x0, y0, x1, y1 = box
    left, low, right, high = outline
    return {"left": x0 - left, "right": right - x1, "lower": y0 - low, "upper": high - y1}[side]


def _at_bend(panel: Panel, side: Side, wall: Face, chassis: Chassis, telling: Telling) -> Iterator[Finding]:
    outline = panel.outline.bounds
    before = chassis.holes == "before bending"
    flat = chassis.flat_from
    wanted = chassis.thickness + BEND_SHEETS * chassis.thickness + chassis.bend_radius if before else flat
    worst: dict[str, tuple[float, str, float]] = {}
    into_wall: dict[str, str] = {}

    def note(feature: str, what: str, box: Bounds, least: float) -> None:
        room = room_at(side, box, outline)
        if room < least - SLACK and room - least < worst.get(feature, (0.0, "", 0.0))[0]:
            worst[feature] = room - least, what, least

    for opening in panel.openings:
        name = f"{opening.tag} ({opening.label})" if opening.label else opening.tag
        note(opening.feature, name, opening.shape.bounds, wanted)
        if not before and opening.cut and room_at(side, opening.cut.bounds, outline) < chassis.thickness - SLACK:
            into_wall.setdefault(opening.feature, name)
    for placement in panel.placements:
        for body in seats(placement, panel.thickness):
            note(placement.feature, f"the {body.role} of {placement.name}", body.footprint.bounds, flat)
    movers = {placement.feature: it(placement) for placement in panel.placements}
    for feature, (short, what, least) in worst.items():
        mover = movers.get(feature, "it")
        why = (
            f"holes made before bending keep 3 thicknesses and the radius from the inside of the flange, here "
            f"{telling.say(least)} from the outer edge"
            if before and least > flat
            else f"the sheet is flat only from {telling.say(least)} on (thickness and bend radius)"
        )
        cuts = ""
        if feature in into_wall:
            cutter = "so that the cutter" if into_wall[feature] == what else f"and the cutter of {into_wall[feature]}"
            cuts = f", {cutter} would run into the {wall}"
        yield Finding(
            "error" if cuts else "warning", "bend-zone", panel.name, feature,
            f"{what} comes within {telling.say(max(0.0, least + short))} of the outer edge at the {wall}{cuts}; {why}: "
            f"move {mover} {telling.cure(-short)} {AWAY_FROM[side]}",
        )  # fmt: skip

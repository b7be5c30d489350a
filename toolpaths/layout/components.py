"""Components in their places: the holes that they bring, and the room that they take over the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, turned
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.job import Cutout, DHole, DoubleDHole, Feature, KeyedHole, Part, Polygon, Ring, Row, Slot
from toolpaths.job import Panel as JobPanel
from toolpaths.job.component import Room
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.panel import Panel
from toolpaths.layout.spacing import spaced
from toolpaths.layout.telling import Telling
from toolpaths.tolerance import SAME_POINT

Turning = Cutout | DHole | DoubleDHole | KeyedHole | Polygon | Slot
"""Features that have an angle."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A component at its place: ``feature`` is what placed it (``part[2]``), ``number`` counts in its row from 1."""

    part: Part
    feature: str
    number: int = 0


def standing_on(panel: JobPanel) -> Iterator[Standing]:
    """Every component of a panel at its place."""
    for feature in panel.features:
        if isinstance(feature, Part):
            yield Standing(feature, f"part[{feature.number}]")
        elif isinstance(feature, Row):
            yield from _in_row(feature)


def _in_row(row: Row) -> Iterator[Standing]:
    parts = [part for group in row.groups for part in group]
    for number, (part, centre) in enumerate(zip(parts, spaced(row).centres, strict=True), start=1):
        yield Standing(replace(part, at=centre, label=part.label or row.label), f"row[{row.number}]", number)


def holes_of(part: Part) -> Iterator[Feature]:
    """The openings of a component in panel coordinates, each named after it and what it is for."""
    for feature in part.features:
        label = f"{part.label or part.name} {feature.label}".strip()
        at = turned(part.at, feature.at, part.angle)
        if isinstance(feature, Turning):
            yield replace(feature, at=at, label=label, angle=feature.angle + part.angle)
        elif isinstance(feature, Ring):
            yield replace(feature, at=at, label=label, start_angle=feature.start_angle + part.angle)
        else:
            yield replace(feature, at=at, label=label)


def placement_of(one: Standing, thickness: float) -> Placement:
    """A component with its bodies over a sheet of ``thickness`` mm."""
    part = one.part
    winding = None if part.winding is None else part.winding + part.angle
    return Placement(
        part.name, one.feature, part.label, part.at, part.angle,
        tuple(_body(room, part, thickness) for room in part.rooms),
        part.traits,
        None if winding is None else (math.cos(winding), math.sin(winding)),
        part.clearance, one.number, part.fitted_from, part.passes,
    )  # fmt: skip


def _body(room: Room, part: Part, thickness: float) -> Body:
    footprint = _in_place(room.footprint, part)
    if room.side == "outside":
        return Body(room.role, footprint, room.off, room.reach)
    return Body(room.role, footprint, -thickness - room.reach, -thickness - room.off)


def _in_place(shape: Contour, part: Part) -> Contour:
    def move(point: XY) -> XY:
        return turned(part.at, point, part.angle)

    return shape.mapped(move)


@dataclass(frozen=True, slots=True)
class Centre:
    """Where a component stands: from the panel's origin, and from its left and lower edge as seen from outside, mm."""

    panel: str
    feature: str
    part: str
    label: str
    x: float
    y: float
    from_left: float
    from_lower: float
    angle: float


def centres_on(panel: Panel) -> Iterator[Centre]:
    """The centres of a panel's components, in the order of the job."""
    left, lower, _, _ = panel.outline.bounds
    for one in panel.placements:
        x, y = one.centre
        yield Centre(panel.name, one.feature, one.part, one.label, x, y, x - left, y - lower, one.angle)


def round_components(panel: Panel, margin: float) -> Contour:
    """A rectangle round all that a panel's components cut and take up, with a margin, mm."""
    boxes = [opening.shape.bounds for opening in panel.openings]
    boxes += [body.footprint.bounds for placement in panel.placements for body in placement.bodies]
    lefts, lowers, rights, uppers = zip(*boxes, strict=True)
    x0, y0, x1, y1 = min(lefts) - margin, min(lowers) - margin, max(rights) + margin, max(uppers) + margin
    return rounded_rectangle(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, y1 - y0, 0.0)


def row_findings(panel: JobPanel, telling: Telling) -> Iterator[Finding]:
    """Rows whose components find no room on their line."""
    for row in panel.features:
        if not isinstance(row, Row):
            continue
        found = spaced(row)
        feature = f"row[{row.number}]"
        if found.beyond > SAME_POINT:
            line = math.dist(row.at, row.to)
            yield Finding(
                "error", "crowded-row", panel.name, feature,
                f"its components need {telling.say(line + found.beyond)} from the first centre to the last, and the "
                f"line is {telling.say(line)} long: make it {telling.cure(found.beyond)} longer, or space them closer",
            )  # fmt: skip

"""The second half of a mirrored row, and how far a component reaches along a row.

A turned part is never the mirror image of a part that is symmetrical about neither of its axes. So each part of the
second half is turned in the first of these ways, angles counted from the row's direction, that shows the mirror image
of its holes and rooms across the row's normal: not at all, to minus its angle (which mirrors what is symmetrical about
its own Y), to 180 degrees less its angle (about its own X). Where none does, the first of these, or half a turn, with
which at least its reach along the row is the mirrored one: half a turn always has that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from toolpaths.geometry.segment import XY, Arc, turned
from toolpaths.job import Cutout, DHole, DoubleDHole, Feature, KeyedHole, Part, Polygon, Ring, Slot
from toolpaths.tolerance import PIECE

Mark = tuple[tuple[object, ...], XY]
"""A point of a component that says where something of it is, with what that is."""

_NOWHERE: Final[XY] = (0.0, 0.0)


def mirrored(groups: Sequence[tuple[Part, ...]], way: XY) -> tuple[tuple[Part, ...], ...]:
    """A row with its mirror image behind it, ``way`` being its direction; the two groups in the middle are one."""
    back = tuple(tuple(mirror_image(part, way) for part in reversed(group)) for group in reversed(groups))
    return (*groups[:-1], groups[-1] + back[0], *back[1:])


def mirror_image(part: Part, way: XY) -> Part:
    """A part turned so that it is its mirror image across the normal of a row, or comes nearest to it."""
    along = math.atan2(way[1], way[0])
    own = part.angle - along
    wanted = [(what, (-x, y)) for what, (x, y) in _marks(part, own)]
    first, last = reach(part, way)
    # numbers such as -0.0 or a full turn would be shown on paper
    turns = [replace(part, angle=math.fmod(along + angle, math.tau) + 0.0) for angle in (-own, math.pi - own)]
    tried = [part, *turns]
    for one in tried:
        if _same(wanted, list(_marks(one, one.angle - along))):
            return one
    half_turn = replace(part, angle=math.fmod(part.angle + math.pi, math.tau))
    return next((one for one in tried if math.dist(reach(one, way), (-last, -first)) < PIECE), half_turn)


def reach(part: Part, way: XY) -> XY:
    """How far a component's room reaches along a row from its centre: back, not above 0, and forth, not below 0.

    The room of a spanner is left out: it is needed only while the nut is turned.
    """
    back = part.angle - math.atan2(way[1], way[0])
    spans = [
        room.footprint.mapped(lambda point: turned(_NOWHERE, point, back)).bounds
        for room in part.rooms
        if room.role != "spanner"
    ]
    return min((box[0] for box in spans), default=0.0), max((box[2] for box in spans), default=0.0)


def _same(some: Sequence[Mark], others: Sequence[Mark]) -> bool:
    return all(
        any(what == other and math.dist(point, place) < PIECE for other, place in those)
        for these, those in ((some, others), (others, some))
        for what, point in these
    )


def _marks(part: Part, angle: float) -> Iterator[Mark]:
    """Where all that a component brings is when it is turned by ``angle``."""
    marks = [mark for feature in part.features for mark in _marks_of(feature)]
    for room in part.rooms:
        kind = room.role, room.side, room.off, room.reach
        for segment in room.footprint.segments:
            if isinstance(segment, Arc):
                marks.append(((*kind, round(segment.radius, 3)), segment.centre))
            if not (isinstance(segment, Arc) and segment.is_circle):
                marks += [(kind, segment.start), (kind, segment.end)]
    if part.winding is not None:
        marks += [(("winding",), _polar(_NOWHERE, 1.0, part.winding + turn)) for turn in (0.0, math.pi)]
    return ((what, turned(_NOWHERE, point, angle)) for what, point in marks)


def _marks_of(feature: Feature) -> Iterator[Mark]:
    kind = type(feature).__name__, getattr(feature, "diameter", 0.0)
    quarter = math.pi / 2
    match feature:
        case Ring():
            step = math.tau / feature.count
            for index in range(feature.count):
                yield kind, _polar(feature.at, feature.circle_diameter / 2, feature.start_angle + index * step)
        case Polygon():
            for point in feature.points:
                yield kind, turned(feature.at, point, feature.angle)
        case DHole() | KeyedHole():
            yield kind, _polar(feature.at, 1.0, feature.angle)
        case DoubleDHole() | Slot():
            for turn in (0.0, math.pi):
                yield kind, _polar(feature.at, 1.0, feature.angle + turn)
        case Cutout():
            for index, half in enumerate((feature.width / 2, feature.height / 2) * 2):
                yield kind, _polar(feature.at, half, feature.angle + index * quarter)
        case _:
            yield kind, feature.at


def _polar(centre: XY, radius: float, angle: float) -> XY:
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)

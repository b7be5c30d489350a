"""What of a component sits on the sheet or goes through it: seats that do not lie flat, bodies too large for a hole."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.judge import inside, overlaps, vertices
from toolpaths.geometry.segment import XY, Arc, Bounds
from toolpaths.job.chassis import Chassis
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.box import folded_sides
from toolpaths.layout.panel import Opening, Panel
from toolpaths.layout.telling import Telling, it
from toolpaths.tolerance import FACET_SAGITTA, SAME_POINT

SLACK: Final = 10 * FACET_SAGITTA
"""mm; rounded seats are looked at as facets and differ by less, and by less nobody moves a part."""

_MOST_STEPS: Final = 50
"""A seat over two edges is brought in by a few steps; one that is larger than the panel never."""

SEATS: Final = ("nut", "flange")
"""What must lie flat on the sheet."""


Boxed = tuple[Opening, Bounds]
"""An opening with the box round it, worked out once."""


def seats(placement: Placement, thickness: float) -> Iterator[Body]:
    """The nuts and flanges of a component that lie on the sheet, on either side."""
    for body in placement.bodies:
        if body.role in SEATS and (abs(body.low) < SAME_POINT or abs(body.high + thickness) < SAME_POINT):
            yield body


def seat_findings(panels: Sequence[Panel], chassis: Chassis | None, telling: Telling) -> Iterator[Finding]:
    """Seats over the panel's edge or over a foreign opening, and bodies that do not go through their own hole."""
    for panel in panels:
        edge = _edge(panel, chassis)
        boxed = [(opening, opening.shape.bounds) for opening in panel.openings]
        own: dict[int | None, list[Boxed]] = defaultdict(list)
        for opening, box in boxed:
            own[opening.component].append((opening, box))
        for place, placement in enumerate(panel.placements):
            yield from _over_edge(panel, edge, placement, telling)
            yield from _over_openings(panel, place, placement, boxed)
            yield from _not_through(panel, placement, own[place])


@dataclass(frozen=True, slots=True)
class _Edge:
    """The outline of a panel: a rectangle ``core`` with all that is within ``radius`` of it. Where a wall is bent to
    the panel the core has no end: the sheet goes on there, and has rules of its own beside a bend."""

    core: Bounds
    radius: float

    def beyond(self, point: XY) -> tuple[float, XY]:
        """How far a point lies outside, mm (0 or less: it does not), and the unit direction back."""
        x0, y0, x1, y1 = self.core
        dx, dy = min(max(point[0], x0), x1) - point[0], min(max(point[1], y0), y1) - point[1]
        far = math.hypot(dx, dy)
        return far - self.radius, ((dx / far, dy / far) if far > 0 else (0.0, 0.0))


def _edge(panel: Panel, chassis: Chassis | None) -> _Edge:
    face = chassis.face_of(panel.name) if chassis else None
    bent = folded_sides(face, chassis) if chassis and face else {}
    radius = max((one.radius for one in panel.outline.segments if isinstance(one, Arc)), default=0.0)
    x0, y0, x1, y1 = panel.outline.bounds
    core = (
        -math.inf if "left" in bent else x0 + radius, -math.inf if "lower" in bent else y0 + radius,
        math.inf if "right" in bent else x1 - radius, math.inf if "upper" in bent else y1 - radius,
    )  # fmt: skip
    return _Edge(core, radius)


def _over_edge(panel: Panel, edge: _Edge, placement: Placement, telling: Telling) -> Iterator[Finding]:
    on_sheet = [
        (body.role, vertices(body.footprint))
        for body in seats(placement, panel.thickness)
        if any(edge.beyond(corner)[0] > SLACK for corner in _corners(body.footprint.bounds))
    ]
    worst, role = max(
        ((edge.beyond(point)[0], role) for role, points in on_sheet for point in points), default=(0.0, "nut")
    )
    if worst <= SLACK:
        return
    way = _way_in([point for _, points in on_sheet for point in points], edge)
    cure = f"move {it(placement)} {telling.moves(*way)}" if way else "it needs a larger panel, or a smaller part"
    yield Finding(
        "warning", "seat-over-edge", panel.name, placement.feature,
        f"the {role} of {placement.name} reaches {telling.say(worst)} beyond the edge of the panel: {cure}",
    )  # fmt: skip


def _corners(box: Bounds) -> tuple[XY, ...]:
    x0, y0, x1, y1 = box
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def _way_in(points: Sequence[XY], edge: _Edge) -> XY | None:
    """The move after which no point lies outside, mm; None where there is none."""
    x = y = 0.0
    for _ in range(_MOST_STEPS):
        by, way = max(edge.beyond((px + x, py + y)) for px, py in points)
        if by <= SLACK:
            return x, y
        x, y = x + by * way[0], y + by * way[1]
    return None


def _over_openings(
    panel: Panel, place: int, placement: Placement, boxed: Sequence[Boxed]
) -> Iterator[Finding]:
    for body in seats(placement, panel.thickness):
        seat = body.footprint.bounds
        for opening, box in boxed:
            if opening.component == place or not _boxes_meet(seat, box):
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


def _goes_through(body: Body, own: Sequence[Boxed]) -> bool:
    x0, y0, x1, y1 = body.footprint.bounds
    return any(
        box[0] - SLACK <= x0 and box[1] - SLACK <= y0 and x1 <= box[2] + SLACK and y1 <= box[3] + SLACK
        and inside(body.footprint, opening.shape)
        for opening, box in own
    )  # fmt: skip


def _not_through(panel: Panel, placement: Placement, own: Sequence[Boxed]) -> Iterator[Finding]:
    """Bodies on the far side of the sheet that go in through the component's hole, and are larger than it."""
    if not placement.passes:
        return
    for body in placement.bodies:
        far = body.high < 0 if placement.fitted_from == "outside" else body.low >= 0
        if far and body.role in ("body", "terminal") and not _goes_through(body, own):
            yield Finding(
                "error", "does-not-pass", panel.name, placement.feature,
                f"the {body.role} of {placement.name} does not go through its hole, and it is fitted from the "
                f"{placement.fitted_from}: make the hole larger, or say passes = false in its row",
            )  # fmt: skip
            return

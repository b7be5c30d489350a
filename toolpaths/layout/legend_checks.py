"""Findings about lettering and scales: what they run into, what covers them, and where no line can be engraved.

Lettering is looked at as the box round it, a scale as its ticks and the boxes round its numbers: nothing stands between
two letters of a word either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from toolpaths.finding import Finding, Severity
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import gap, inside, wall
from toolpaths.geometry.segment import Bounds
from toolpaths.job.chassis import Chassis
from toolpaths.layout.bends import room_at
from toolpaths.layout.box import SIDES, folded_sides
from toolpaths.layout.nesting import mouth
from toolpaths.layout.panel import Legend, Panel
from toolpaths.layout.telling import AWAY_FROM, Telling
from toolpaths.tolerance import FACET_SAGITTA

AIR: Final = 0.5
"""mm; lettering keeps this from holes, knobs, edges and other lettering, or it does not read as lettering (common
practice)."""

SLACK: Final = 4 * FACET_SAGITTA
"""mm; less is facets."""

TOLD: Final = 3
"""So many things that one legend runs into are named."""


@dataclass(frozen=True, slots=True)
class _Shape:
    """A shape beside a legend with what it is called and its box."""

    name: str
    shape: Contour
    box: Bounds


def legend_findings(panels: Sequence[Panel], chassis: Chassis | None, telling: Telling) -> Iterator[Finding]:
    """Everything wrong with the lettering and scales of these panels, panel by panel."""
    for panel in panels:
        if not panel.legends:
            continue
        openings = [
            _Shape(f"{one.tag} ({one.label})" if one.label else one.tag, mouth(one), mouth(one).bounds)
            for one in panel.openings
        ]
        outside = [
            _Shape(f"the {body.role} of {placement.name}", body.footprint, body.footprint.bounds)
            for placement in panel.placements
            for body in placement.bodies
            if body.low >= 0 and body.role != "spanner"
        ]
        for legend in panel.legends:
            yield from _inside_out(panel, legend)
            yield from _too_near(panel, legend, openings, "legend-over-opening", "runs into", telling)
            yield from _too_near(panel, legend, outside, "legend-covered", "is covered by", telling)
            yield from _at_edge(panel, legend, telling)
            yield from _at_bend(panel, legend, chassis, telling)
            yield from _own_numbers(panel, legend)
        yield from _one_another(panel, telling)


def _inside_out(panel: Panel, legend: Legend) -> Iterator[Finding]:
    if panel.mirrored and legend.depth is not None:
        yield _finding(
            "error", "legend-inside", panel, legend, "the panel is machined from the inside, where it would come out "
            'mirrored: set machine_from = "outside", or leave depth out and it is plotted alone'
        )  # fmt: skip


def _too_near(
    panel: Panel, legend: Legend, others: Sequence[_Shape], code: str, verb: str, telling: Telling
) -> Iterator[Finding]:
    """What a legend runs into, or keeps too little air from; of each thing the worst place counts."""
    airs: dict[str, float] = {}
    for other in others:
        near = [area for area in legend.areas if _boxes_near(area.bounds, other.box, AIR)]
        air = min((gap(area, other.shape) for area in near), default=math.inf)
        if air < AIR - SLACK:
            airs[other.name] = min(air, airs.get(other.name, math.inf))
    for name, air in list(airs.items())[:TOLD]:
        cure = f"keep {telling.say(AIR)} between them"
        if air > SLACK:
            yield _finding("warning", code, panel, legend, f"is {telling.say(air)} from {name}: {cure}")
            continue
        spoils = code == "legend-over-opening" and legend.depth is not None
        yield _finding("error" if spoils else "warning", code, panel, legend, f"{verb} {name}: {cure}")


def _boxes_near(one: Bounds, two: Bounds, air: float) -> bool:
    return one[0] - air < two[2] and two[0] - air < one[2] and one[1] - air < two[3] and two[1] - air < one[3]


def _at_edge(panel: Panel, legend: Legend, telling: Telling) -> Iterator[Finding]:
    outline = panel.outline
    if not all(inside(area, outline) for area in legend.areas):
        beyond = {side: -room_at(side, legend.bounds, outline.bounds) for side in SIDES}
        moves = [f"{telling.cure(by + AIR)} {AWAY_FROM[side]}" for side, by in beyond.items() if by > 0]
        where = " and ".join(moves) or "towards the middle of the panel"
        yield _finding("error", "outside-panel", panel, legend, f"reaches beyond the panel's edge: move it {where}")
        return
    air = min(wall(area, outline) for area in legend.areas)
    if air < AIR - SLACK:
        yield _finding(
            "warning", "legend-near-edge", panel, legend,
            f"is {telling.say(air)} from the panel's edge: keep {telling.say(AIR)} between them",
        )  # fmt: skip


def _at_bend(panel: Panel, legend: Legend, chassis: Chassis | None, telling: Telling) -> Iterator[Finding]:
    """Sheet beside a bend is not flat: no line is even there."""
    face = chassis.face_of(panel.name) if chassis else None
    if chassis is None or face is None:
        return
    for side, neighbour in folded_sides(face, chassis).items():
        room = room_at(side, legend.bounds, panel.outline.bounds)
        if room < chassis.flat_from - SLACK:
            yield _finding(
                "warning", "legend-near-edge", panel, legend,
                f"comes within {telling.say(max(0.0, room))} of the outer edge at the {neighbour}; the sheet is flat "
                f"only from {telling.say(chassis.flat_from)} on (thickness and bend radius): move it "
                f"{telling.cure(chassis.flat_from - room)} {AWAY_FROM[side]}",
            )  # fmt: skip


def _own_numbers(panel: Panel, legend: Legend) -> Iterator[Finding]:
    """Numbers or ticks of one scale that run into each other."""
    boxes = [(area, area.bounds) for area in legend.areas]
    for one, two in combinations(boxes, 2):
        if _boxes_near(one[1], two[1], 0.0) and gap(one[0], two[0]) <= SLACK and not _belong(one[0], two[0]):
            said = "has ticks or numbers that run into each other: fewer divisions, a larger radius or lower numbers"
            yield _finding("warning", "legends-meet", panel, legend, said)
            return


def _belong(one: Contour, two: Contour) -> bool:
    """Whether two areas of a scale are to meet: an arc, whose ground has arcs, and the ticks that stand on it."""
    return any(any(hasattr(segment, "centre") for segment in area.segments) for area in (one, two))


def _one_another(panel: Panel, telling: Telling) -> Iterator[Finding]:
    for one, two in combinations(panel.legends, 2):
        if not _boxes_near(one.bounds, two.bounds, AIR):
            continue
        airs = [
            gap(first, second)
            for first in one.areas
            for second in two.areas
            if _boxes_near(first.bounds, second.bounds, AIR)
        ]
        air = min(airs, default=math.inf)
        if air >= AIR - SLACK:
            continue
        name = f"{one.name} ({one.feature})" if one.words else one.feature
        said = f"is {telling.say(air)} from {name}" if air > SLACK else f"runs into {name}"
        spoils = air <= SLACK and one.depth is not None and two.depth is not None
        severity: Severity = "error" if spoils else "warning"
        yield _finding(severity, "legends-meet", panel, two, f"{said}: keep {telling.say(AIR)} between them")


def _finding(severity: Severity, code: str, panel: Panel, legend: Legend, said: str) -> Finding:
    return Finding(severity, code, panel.name, legend.feature, f"{legend.name} {said}")

"""Whether a refusal is right: for each code of an error an independent rule, by plane geometry and plain arithmetic.

A rule gets the job as resolved, its openings as ``own_shapes`` draws them, and the finding; it says why the finding is
wrong, or nothing. Rules are necessary conditions: that what is said is so. Where nothing simpler shows it, the alleged
cause is taken away (clamps, travel, margin) and the same job checked again: the finding must be gone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, box

from tests.random_jobs.own_shapes import Drawn, components_on, drawn_on, nested, outline_of
from toolpaths import job as rows
from toolpaths import pipeline
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.tables.rows import Cutter, Material

SLACK = 0.03
"""mm; nearer than this two descriptions of one shape may differ."""
LONGEST_LETTER = 1.5
"""Heights; no letter with its air is wider."""


@dataclass(frozen=True)
class Case:
    """A refused job with all that its rules ask."""

    job: Job
    files: Mapping[str, bytes]
    findings: Sequence[Finding]
    fit_strip: bool = False

    def panel(self, name: str) -> rows.Panel:
        return next(panel for panel in self.job.panels if panel.name == name)

    @cached_property
    def _drawn(self) -> dict[str, list[Drawn]]:
        return {panel.name: drawn_on(panel, self.files) for panel in self.job.panels}

    def on(self, panel: str) -> list[Drawn]:
        return self._drawn[panel]

    def of(self, finding: Finding) -> list[Drawn]:
        return [one for one in self.on(finding.panel) if one.feature == finding.feature]

    def material(self, finding: Finding) -> Material:
        return self.job.materials[self.panel(finding.panel).material]

    def legend(self, finding: Finding) -> rows.Legend | None:
        for feature in self.panel(finding.panel).features:
            kind = "text" if isinstance(feature, rows.Text) else "scale"
            if isinstance(feature, rows.Legend) and finding.feature == f"{kind}[{feature.number}]":
                return feature
        return None

    def gone_with(self, job: Job, finding: Finding) -> str:
        """Whether the same finding is gone from a changed job."""
        left = pipeline.check(job, fit_strip=self.fit_strip)
        same = [one for one in left if (one.code, one.panel, one.feature) == (finding.code, finding.panel,
                                                                              finding.feature)
                and one.severity == "error"]  # fmt: skip
        return f"still said where its cause is gone: {same[0].message}" if same else ""


Rule = Callable[[Case, Finding], str]


def _reach_of(legend: rows.Legend) -> float:
    """How far lettering reaches from its place at most, mm."""
    if isinstance(legend, rows.Text):
        return max(1, len(legend.text)) * LONGEST_LETTER * legend.height
    assert isinstance(legend, rows.Scale)
    words = max(map(len, legend.texts), default=0) * LONGEST_LETTER * legend.height
    return legend.radius + max(legend.major_tick, legend.minor_tick) + legend.gap + words + legend.height


def outside_panel(case: Case, finding: Finding) -> str:
    sheet = outline_of(case.panel(finding.panel))
    legend = case.legend(finding)
    if legend is not None:
        near = sheet.exterior.distance(Point(legend.at)) <= _reach_of(legend) or not sheet.covers(Point(legend.at))
        return "" if near else "the lettering lies far within the panel"
    beyond = [one for one in case.of(finding) if not sheet.buffer(-SLACK).covers(one.mouth)]
    return "" if beyond else "all of it lies within the outline"


def overlap(case: Case, finding: Finding) -> str:
    mine = case.of(finding)
    for one in mine:
        for other in case.on(finding.panel):
            if other is one or nested(one, other) or nested(other, one):
                continue
            if one.mouth.distance(other.mouth) <= SLACK:
                return ""
    return "no other opening is nearer than a hair"


# cutters -------------------------------------------------------------------------------------------------------------


def _speed_serves(cutter: Cutter, case: Case, material: Material, wide: float) -> bool:
    """Whether the spindle's slowest is slow enough for the table's surface speed."""
    table, machine = material.speed(cutter.kind, cutter.material), case.job.machine
    return table is not None and math.pi * wide * machine.min_rpm / 1000 <= table


def _held(case: Case) -> list[Cutter]:
    slots = {number for _, number in case.job.machine.program.slots}
    return [cutter for cutter in case.job.cutters.values() if not slots or cutter.number in slots]


def _goes_down(cutter: Cutter, case: Case, finding: Finding, deep: float) -> bool:
    """Flutes and daylight, with 2 mm to spare."""
    machine, panel = case.job.machine, case.panel(finding.panel)
    thick = panel.measured.thickness
    clear = 5 + max((clamp.height for clamp in panel.clamps), default=0.0)
    room = machine.daylight - machine.spoilboard - thick - clear - cutter.stick_out
    return cutter.flute_length >= deep + 1 and room > 2


def no_cutter(case: Case, finding: Finding) -> str:
    """Some end mill that is slow, long and thin enough, and leaves no more than is allowed: then it could be made."""
    legend, material, thick = case.legend(finding), case.material(finding), case.panel(finding.panel).measured.thickness
    if legend is not None and case.job.chassis is None:
        serving = [one for one in _held(case) if one.kind == "engraver" and material.family in one.serves
                   and material.speed(one.kind, one.material) is not None
                   and _goes_down(one, case, finding, legend.depth or 0.0)]  # fmt: skip
        return f"T{serving[0].number} engraves" if serving else ""
    if finding.feature == "outline" or not case.of(finding):
        return ""
    if case.job.chassis is not None:
        return ""  # walls and blocks do so too
    largest = case.of(finding)
    for cutter in _held(case):
        if cutter.kind != "end mill" or material.family not in cutter.serves:
            continue
        if not _speed_serves(cutter, case, material, cutter.diameter):
            continue
        if all(_opens(cutter, one, case, finding, thick) for one in largest):
            return f"T{cutter.number} of {cutter.diameter} mm would open it"
    return ""


def _opens(cutter: Cutter, one: Drawn, case: Case, finding: Finding, thick: float) -> bool:
    if one.finish != "machine" or one.kind == "KeyedHole":
        return False  # marks and pilots have rules of their own; a key is no corner, however small
    if one.diameter is not None and cutter.diameter * 1.3 > one.diameter:
        return False  # a bore needs room for its chips
    deep = thick if one.depth is None else one.depth
    reached = one.shape.buffer(-cutter.radius - 0.05, 32)
    if reached.is_empty or len(shapely.get_parts(reached)) > 1:
        return False
    left = shapely.get_parts(one.shape.difference(reached.buffer(cutter.radius + 0.05, 32)))
    limit = one.limit if one.limit else 0.0
    # what a disc leaves in a right corner is 0.215 of its radius squared; more is no corner
    corners = [part for part in left if part.area > 1e-3]
    if corners and (cutter.radius > limit - 0.05 or max(part.area for part in corners) > 0.22 * cutter.radius**2):
        return False
    return _goes_down(cutter, case, finding, deep)


def no_countersink(case: Case, finding: Finding) -> str:
    """No countersink of the cone's angle is wide enough, slow enough and short enough."""
    panel, material = case.panel(finding.panel), case.material(finding)
    for one in case.of(finding):
        if one.cone is None or one.finish != "machine":
            continue
        deep = one.cone.diameter / 2 / math.tan(one.cone.angle / 2)
        top = max([0.0, *(two.depth for two in case.on(finding.panel) if two.depth is not None and nested(one, two))])
        if top + deep - panel.measured.thickness > 2.0 - 1e-6 or case.job.chassis is not None:
            return ""
        fitting = [cutter for cutter in _held(case) if cutter.kind == "countersink"
                   and abs(cutter.point_angle - one.cone.angle) < 1e-3 and cutter.diameter >= one.cone.diameter
                   and _speed_serves(cutter, case, material, one.cone.diameter)
                   and _goes_down(cutter, case, finding, deep)]  # fmt: skip
        if not fitting:
            return ""
        return f"T{fitting[0].number} would make its cone"
    return "it has no countersink"


def deep_countersink(case: Case, finding: Finding) -> str:
    thick = case.panel(finding.panel).measured.thickness
    for one in case.of(finding):
        if one.cone is None or one.diameter is None:
            continue
        slope = 2 * math.tan(one.cone.angle / 2)
        top = max([0.0, *(two.depth for two in case.on(finding.panel) if two.depth is not None and nested(one, two))])
        below = one.cone.diameter - slope * (thick - top)
        if (one.depth is None and below > one.diameter - 1e-3) or (
            one.depth is not None and one.cone.diameter / slope > one.depth - top - 1e-3
        ):
            return ""
    return "the cone ends within the hole"


def thin_floor(case: Case, finding: Finding) -> str:
    thick = case.panel(finding.panel).measured.thickness
    floors = [thick - one.depth for one in case.of(finding) if one.depth is not None and one.finish == "machine"]
    return "" if floors and min(floors) < 0.3 + 1e-3 else f"the thinnest floor is {min(floors, default=math.nan)}"


# the machine ---------------------------------------------------------------------------------------------------------


def beyond_travel(case: Case, finding: Finding) -> str:
    """Gone on a machine without ends; and in X and Y the panel is longer than the travel, but for the kerf."""
    machine = case.job.machine
    endless = replace(machine, travel=(9e3, 9e3, 900.0), daylight=1e3)
    said = case.gone_with(replace(case.job, machine=endless), finding)
    if said or "daylight" in finding.message or " in Z" in finding.message or not machine.cuts:
        return said
    panel = case.panel(finding.panel)
    margin = 0.0
    if panel.cut_outline or "the pen" in finding.message:
        margin = 90.0  # the kerf and the clamps' way beside it; the labels and the table beside a drawing
    long = [panel.measured.width + margin > machine.travel[0], panel.measured.height + margin > machine.travel[1]]
    return "" if any(long) else "the panel is shorter than the travel"


def divided_wrong(case: Case, finding: Finding) -> str:
    """A panel that cannot be divided: with travel enough it needs not be."""
    endless = replace(case.job.machine, travel=(9e3, 9e3, case.job.machine.travel[2]))
    panel, machine = case.panel(finding.panel), case.job.machine
    if panel.measured.width + 60 < machine.travel[0] and panel.measured.height + 60 < machine.travel[1]:
        return "the panel is shorter than the travel"
    return case.gone_with(replace(case.job, machine=endless), finding)


def under_clamp(case: Case, finding: Finding) -> str:
    """A clamp is nearer to the opening than nut and cutter are wide; without clamps nothing is said."""
    panel, nut = case.panel(finding.panel), case.job.machine.nut_diameter / 2
    if finding.feature == "outline":
        shapes = [outline_of(panel).exterior]
    else:
        shapes = [one.mouth for one in case.of(finding)]
        legend = case.legend(finding)
        if legend is not None:
            shapes.append(Point(legend.at).buffer(_reach_of(legend)))
    boxes = [box(clamp.x, clamp.y, clamp.x + clamp.width, clamp.y + clamp.length) for clamp in panel.clamps]
    near = min((shape.distance(one) for shape in shapes for one in boxes), default=math.inf)
    # where our own index holes come to lie only the division knows
    if near > nut + 16 and not finding.feature.startswith("index"):
        return f"the nearest clamp is {near:.1f} mm away"
    bare = tuple(replace(one, clamps=()) if one.name == panel.name else one for one in case.job.panels)
    return case.gone_with(replace(case.job, panels=bare), finding)


def no_touch_off(case: Case, finding: Finding) -> str:
    """No point of the sheet on a grid of 1 mm keeps 6 mm from every opening, clamp and edge."""
    panel = case.panel(finding.panel)
    if case.job.chassis is not None or panel.cut_outline or (panel.divide and _is_long(case, panel)):
        return ""
    sheet = outline_of(panel)
    x0, y0, x1, y1 = sheet.bounds
    xs, ys = np.meshgrid(np.arange(x0, x1, 1.0), np.arange(y0, y1, 1.0))
    taken = [one.mouth for one in case.on(panel.name)]
    taken += [box(c.x, c.y, c.x + c.width, c.y + c.length) for c in panel.clamps]
    for feature in panel.features:
        if isinstance(feature, rows.Legend):
            taken.append(Point(feature.at).buffer(_reach_of(feature)))
    nut = case.job.machine.nut_diameter / 2
    free = sheet.buffer(-nut - 6).difference(shapely.union_all(taken).buffer(nut + 6))
    here = shapely.contains_xy(free, xs.ravel(), ys.ravel())
    return f"{int(here.sum())} places are free" if here.any() else ""


def _is_long(case: Case, panel: rows.Panel) -> bool:
    machine = case.job.machine
    return panel.measured.width > machine.travel[0] - 20 or panel.measured.height > machine.travel[1] - 20


def narrow_margin(case: Case, finding: Finding) -> str:
    """Gone with a margin of 40 mm more; and there is one that somebody stated or clamps need."""
    panel = case.panel(finding.panel)
    if not panel.cut_outline:
        return "the outline is not machined"
    wider = replace(panel, stock_margin=(panel.stock_margin or 15.0) + 40, clamps=())
    panels = tuple(wider if one.name == panel.name else one for one in case.job.panels)
    return case.gone_with(replace(case.job, panels=panels), finding)


def no_tabs(case: Case, finding: Finding) -> str:
    """Gone where no tabs are asked for; and the wall has no four straight sides of 60 mm, where they find room."""
    panel = case.panel(finding.panel)
    if finding.feature != "outline":
        features = tuple(_without_tabs(one) for one in panel.features)
        panels = tuple(replace(one, features=features) if one.name == panel.name else one for one in case.job.panels)
        if said := case.gone_with(replace(case.job, panels=panels), finding):
            return said
    sheet = outline_of(panel).exterior if finding.feature == "outline" else None
    for shape in [sheet] if sheet is not None else [one.shape.exterior for one in case.of(finding)]:
        points = np.array(shape.simplify(0.001).coords)
        sides = np.hypot(*np.diff(points, axis=0).T)
        if (sides > 60).sum() >= 4:
            return f"{(sides > 60).sum()} straight sides are longer than 60 mm"
    return ""


def _without_tabs(feature: rows.Feature) -> rows.Feature:
    if isinstance(feature, rows.Part):
        feature = replace(feature, features=tuple(map(_without_tabs, feature.features)))
    elif isinstance(feature, rows.Row):
        groups = tuple(tuple(part for part in map(_without_tabs, group)) for group in feature.groups)
        feature = replace(feature, groups=groups)
    return replace(feature, tabs=None)


# lettering, rows, the box --------------------------------------------------------------------------------------------


def legend_inside(case: Case, finding: Finding) -> str:
    legend = case.legend(finding)
    right = legend is not None and legend.depth is not None and case.panel(finding.panel).mirrored
    return "" if right else "it is not engraved from the inside"


def legend_depth(case: Case, finding: Finding) -> str:
    legend, thick = case.legend(finding), case.panel(finding.panel).measured.thickness
    right = legend is not None and legend.depth is not None and legend.depth > 0.4 * thick - 1e-6
    return "" if right else "it is within 40 % of the sheet"


def legend_line(case: Case, finding: Finding) -> str:
    """Wider than a tenth of its height with each engraver of the table that serves."""
    legend = case.legend(finding)
    if legend is None or legend.depth is None:
        return "it is not engraved"
    widths = [one.tip + 2 * legend.depth * math.tan(one.point_angle / 2) for one in case.job.cutters.values()
              if one.kind == "engraver"]  # fmt: skip
    return "" if max(widths) > 0.1 * legend.height else "no engraver makes it wider than a tenth of its height"


def legend_near_opening(case: Case, finding: Finding) -> str:
    legend = case.legend(finding)
    if legend is None:
        return "no such lettering"
    near = min((one.mouth.distance(Point(legend.at)) for one in case.on(finding.panel)), default=math.inf)
    return "" if near <= _reach_of(legend) else f"the nearest opening is {near:.1f} mm from its place"


def legends_meet(case: Case, finding: Finding) -> str:
    legend = case.legend(finding)
    others = [one for one in case.panel(finding.panel).features if isinstance(one, rows.Legend) and one is not legend]
    if legend is None:
        return "no such lettering"
    near = min((math.dist(legend.at, one.at) - _reach_of(one) for one in others), default=math.inf)
    return "" if near <= _reach_of(legend) else "no other lettering is near"


def crowded_row(case: Case, finding: Finding) -> str:
    """Its components' rooms are together longer than the line with half of a room beyond each end, or nearly."""
    for feature in case.panel(finding.panel).features:
        if isinstance(feature, rows.Row) and f"row[{feature.number}]" == finding.feature:
            parts = [part for group in feature.groups for part in group]
            widths = []
            for part in parts:
                spans = [room.footprint.bounds for room in part.rooms if room.role != "spanner"]
                # however it is turned
                widths.append(2 * max((math.hypot(max(-x0, x1), max(-y0, y1)) for x0, y0, x1, y1 in spans), default=1))
            return "" if sum(widths) > math.dist(feature.at, feature.to) else "its rooms are shorter than its line"
    return "no such row"


def bodies_meet(case: Case, finding: Finding) -> str:
    """On one flat panel: the rooms of two components overlap in plan."""
    if case.job.chassis is not None:
        return ""  # in space: held by tests of the box against a solver of linear programs
    grounds = []
    for name, part, at in components_on(case.panel(finding.panel)):
        shapes = []
        for room in part.rooms:
            ring = [room.footprint.point_at(room.footprint.perimeter * k / 200) for k in range(200)]
            shape = affinity.rotate(shapely.Polygon(ring), part.angle, (0, 0), use_radians=True)
            shapes.append(affinity.translate(shape, *at).buffer(part.clearance))
        grounds.append((name, shapely.union_all(shapes)))
    mine = [(k, ground) for k, (name, ground) in enumerate(grounds) if name == finding.feature]
    for k, ground in mine:
        if any(other is not ground and ground.distance(other) <= SLACK for _, other in grounds[:k] + grounds[k + 1 :]):
            return ""
    return "no other component's room is there"


def bend_zone(case: Case, finding: Finding) -> str:
    """The opening, or its component's room, comes within thicknesses and radius of an edge of the panel."""
    chassis, panel = case.job.chassis, case.panel(finding.panel)
    if chassis is None:
        return "there is no box"
    edge = outline_of(panel).exterior
    near = min((edge.distance(one.mouth) for one in case.of(finding)), default=0.0)
    return "" if near <= 4 * chassis.thickness + chassis.bend_radius + SLACK else f"it is {near:.2f} mm from the edge"


def cabinet_play(case: Case, finding: Finding) -> str:
    """Error where it does not go in: wider or higher than the opening, with what stands out of it."""
    cabinet, chassis = case.job.cabinet, case.job.chassis
    if cabinet is None or chassis is None:
        return "there is no cabinet"
    return case.gone_with(replace(case.job, cabinet=None), finding)


RULES: dict[str, Rule] = {
    "outside-panel": outside_panel,
    "overlap": overlap,
    "no-cutter": no_cutter,
    "no-countersink": no_countersink,
    "deep-countersink": deep_countersink,
    "thin-floor": thin_floor,
    "beyond-travel": beyond_travel,
    "not-divisible": divided_wrong,
    "no-index": divided_wrong,
    "under-clamp": under_clamp,
    "no-touch-off": no_touch_off,
    "narrow-margin": narrow_margin,
    "no-tabs": no_tabs,
    "legend-inside": legend_inside,
    "legend-depth": legend_depth,
    "legend-line": legend_line,
    "legend-over-opening": legend_near_opening,
    "legends-meet": legends_meet,
    "crowded-row": crowded_row,
    "bodies-meet": bodies_meet,
    "bend-zone": bend_zone,
    "cabinet-play": cabinet_play,
}
"""Code of an error -> its rule."""

TRUSTED = frozenset({"under-flange", "closed-in", "meets-wall", "meets-obstacle", "does-not-pass"})
"""Codes of errors that a random job may bring about and that have no rule here: they are about walls and bodies in
space, and ``tests/layout`` holds them against closed forms and a solver of linear programs."""


def wrong_refusals(case: Case) -> list[str]:
    """The errors that are not so; a code that random jobs are not expected to bring about is one too."""
    found = []
    own = {panel.name for panel in case.job.panels} | {""}
    for finding in case.findings:
        if finding.severity != "error" or finding.panel not in own:
            continue  # a fit strip's own errors are rules for strips
        rule = RULES.get(finding.code)
        if rule is None:
            if finding.code not in TRUSTED:
                found.append(f"{finding.code} is not expected: {finding.message}")
        elif why := rule(case, finding):
            found.append(f"{finding.code} {finding.feature}: {why} | {finding.message}")
    return found

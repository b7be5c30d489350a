"""A large contour that is cut in parts: what one setup cuts of it, from line to line, and a little beyond each.

The wall is cut as an open run: roughed pass by pass, each from the same end, behind a ramp to and fro; then finished in
one pass that comes onto the wall from the kerf and leaves it again on the side of the waste. Each part has its own
share of the tabs, away from the lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from toolpaths.geometry.clip import Span, spans_within
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Segment
from toolpaths.layout.panel import Part, Rectangle
from toolpaths.layout.tabs import TabSize, spans_for_tabs, tabs_in_part
from toolpaths.motion import Line, Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.clearing import roughing_allowance
from toolpaths.plan.contouring import LEAD_ALONG, Wall, is_free, wall_at
from toolpaths.plan.path import Cut, Lift, at, first_pass, from_rapids, levels, nearest_distance, run_motions
from toolpaths.plan.speeds import CuttingData
from toolpaths.plan.tab_places import places
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import PARTS_OVERLAP, SAME_POINT
from toolpaths.units import metric

ROOM_TO_LEAD = 2 * LEAD_ALONG
"""mm; roughing goes so much further than finishing at each end: the ways onto the wall and off it lie in its kerf."""


def part_cut(
    shape: Contour,
    part: Part,
    thickness: float,
    depth: float,
    clear_height: float,
    tabs: TabSize | None,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    allowance: float,
    outside: bool = False,
) -> tuple[Cut, Cut] | str:
    """Roughing and finishing of one part of a large contour ``shape`` (counter-clockwise); or why it cannot be.

    ``part`` is in the same coordinates. Between runs the cutter goes at ``clear_height``.
    """
    if not outside:
        allowance = roughing_allowance(shape, cutter, allowance)
    middles: list[float] = []
    own = 0 if tabs is None else tabs_in_part(tabs.count, shape, part)
    if tabs is not None and own:
        aside = 0.0 if outside else cutter.radius + allowance
        found = places(shape, own, tabs.width, aside, spans_for_tabs(shape, part.cell))
        if found is None:
            return (
                f"no room for {own} of {tabs.count} tabs of {metric(tabs.width)} mm on the straight runs of one of its "
                "parts, away from where they meet"
            )
        middles = found
    ccw = machine.climbs != outside
    side = -1.0 if outside else 1.0
    rough = wall_at(shape, side * (cutter.radius + allowance), middles, tabs, thickness, ccw)
    final = wall_at(shape, side * cutter.radius, middles, tabs, thickness, ccw)
    if rough is None or final is None:
        return f"T{cutter.number} does not fit all the way round"
    rough_spans = spans_within(rough.path, grown(part.cell, PARTS_OVERLAP + ROOM_TO_LEAD))
    final_spans = spans_within(final.path, grown(part.cell, PARTS_OVERLAP))
    if not final_spans or len(rough_spans) != len(final_spans):
        return f"T{cutter.number}: its way does not run plainly across where the parts meet"
    rough_depth = depth if tabs is not None else max(thickness - min(practice.ONION_SKIN, data.stepdown), 0.0)
    down = [_roughing(rough, span, rough_depth, clear_height, cutter, data, material, machine) for span in rough_spans]
    last: list[list[Motion]] = []
    for span in final_spans:
        run = _finishing(shape, rough, final, span, rough_depth, depth, cutter, data, machine)
        if isinstance(run, str):
            return run
        last.append(run)
    return _strung(down, clear_height), _strung(last, clear_height)


def grown(box: Rectangle, by: float) -> Rectangle:
    """A rectangle larger by so much on every side."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _strung(runs: list[list[Motion]], clear_height: float) -> Cut:
    """Several runs as one cut; from one to the next at the clear height, since nobody has looked at the way between."""
    motions = runs[0]
    for run in runs[1:]:
        end, first = _place(motions[-1]), _place(run[0])
        motions = [*motions, Rapid(at(end, clear_height)), Rapid(at(first, clear_height)), *run]
    return from_rapids(motions)


def _place(motion: Motion) -> XY:
    if not isinstance(motion, Rapid):
        raise TypeError("a run begins and ends with a rapid")
    return motion.to[:2]


def _roughing(
    wall: Wall, span: Span, depth: float, clear_height: float, cutter: Cutter, data: CuttingData, material: Material,
    machine: Machine,
) -> list[Motion]:  # fmt: skip
    """Down at the run's first end by a ramp to and fro, then along all of it; for each pass anew."""
    first, last = span
    start, end = wall.path.point_at(first), wall.path.point_at(last)
    back = _backwards(wall)
    total = wall.path.perimeter
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = [Rapid(at(start, practice.RETRACT)), Line(at(start, 0.0), air)]
    above = 0.0
    for z in levels(depth, data.stepdown, first_pass(material.family)):
        if above < 0.0:
            motions += [Rapid(at(end, clear_height)), Rapid(at(start, clear_height))]
            motions += [Rapid(at(start, practice.RETRACT)), Line(at(start, max(above, _ground(wall, first))), air)]
        ramp = (above - z) / math.tan(material.ramp)
        legs = 2 * math.ceil(ramp / 2 / (last - first))
        reach, height = ramp / legs, above
        for leg in range(legs):
            lower = above + (z - above) * (leg + 1) / legs
            forward = leg % 2 == 0
            way = wall if forward else back
            begin = first if forward else total - first - reach
            run = _stretch(way, begin, begin + reach, height, lower)
            motions += run_motions(run, max(height, _ground(way, begin)), data.feed, data.plunge, air, cutter.radius,
                                   machine.climbs if forward else not machine.climbs)
            height = lower
        run = _stretch(wall, first, last, z, z)
        motions += run_motions(run, max(z, _ground(wall, first)), data.feed, data.plunge, air, cutter.radius,
                               machine.climbs)
        above = z
    return [*motions, Rapid(at(end, practice.RETRACT))]


def _finishing(
    shape: Contour, rough: Wall, final: Wall, span: Span, rough_depth: float, depth: float, cutter: Cutter,
    data: CuttingData, machine: Machine,
) -> list[Motion] | str:  # fmt: skip
    """Down in the roughed kerf before the run, slanting onto the wall, along it, and slanting off it again."""
    first, last = span
    z, air = -depth, min(data.feed, machine.max_z)
    touch, leave = final.path.point_at(first), final.path.point_at(last)
    away, off = (
        rough.path.point_at(nearest_distance(rough.path, final.path.point_at(s)))
        for s in (first - LEAD_ALONG, last + LEAD_ALONG)
    )
    if not (is_free(shape, away, touch, cutter.radius) and is_free(shape, leave, off, cutter.radius)):
        return f"T{cutter.number}: its way onto the wall where the parts meet would cut into it"
    motions: list[Motion] = [Rapid(at(away, practice.RETRACT)), Line(at(away, -rough_depth), air)]
    if rough_depth < depth:
        motions.append(Line(at(away, z), data.plunge))
    motions.append(Line(at(touch, z), data.feed))
    motions += run_motions(_stretch(final, first, last, z, z), z, data.feed, data.plunge, air, cutter.radius,
                           machine.climbs)
    return [*motions, Line(at(off, z), data.feed), Rapid(at(off, practice.RETRACT))]


def _backwards(wall: Wall) -> Wall:
    total = wall.path.perimeter
    return Wall(
        wall.path.reversed(), tuple(Lift(total - lift.end, total - lift.start, lift.top) for lift in wall.lifts)
    )


def _ground(wall: Wall, s: float) -> float:
    """The top of the tab at a place of the path, or so deep that nothing is in the way."""
    total = wall.path.perimeter
    return max(
        (lift.top for lift in wall.lifts for k in (-1, 0, 1, 2) if lift.start < s + k * total < lift.end),
        default=-math.inf,
    )


def _stretch(
    wall: Wall, a: float, b: float, za: float, zb: float
) -> Iterator[tuple[tuple[Segment, ...], float, float]]:
    """The path from ``a`` to ``b`` with Z going evenly from ``za`` to ``zb``, but over every tab at its top."""
    total = wall.path.perimeter
    low = math.floor((a - total) / total)
    spans = [
        (lift.start + k * total, lift.end + k * total, lift.top)
        for lift in wall.lifts for k in range(low - 1, low + 5) if min(za, zb) < lift.top
    ]  # fmt: skip
    stops = sorted({a, b, *(s for start, stop, _ in spans for s in (start, stop) if a < s < b)})
    for first, last in pairwise(stops):
        if last - first < SAME_POINT:
            continue
        z0, z1 = (za + (zb - za) * (s - a) / (b - a) for s in (first, last))
        middle = (first + last) / 2
        for start, stop, top in spans:
            if start < middle < stop:
                z0, z1 = max(z0, top), max(z1, top)
        shift = math.floor(first / total) * total
        yield wall.path.cut(first - shift, last - shift), z0, z1

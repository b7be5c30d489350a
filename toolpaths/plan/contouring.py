"""Large openings cut along their wall: a ramp into each pass, over the holding tabs, then a finishing pass."""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import offset
from toolpaths.geometry.segment import XY
from toolpaths.layout.tabs import TabSize
from toolpaths.motion import Line, Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.path import (
    Cut,
    Lift,
    at,
    first_pass,
    from_rapids,
    levels,
    lifted,
    nearest_distance,
    run_motions,
    traversed,
)
from toolpaths.plan.speeds import CuttingData
from toolpaths.plan.tab_places import places
from toolpaths.tables.rows import Cutter, Machine, Material

LEAD_ALONG = 2.0
"""The finishing pass slants from the roughing path to the wall over this length."""


@dataclass(frozen=True, slots=True)
class Wall:
    """One way round an opening at ``path`` (the cutter's centre), with the lifts over its tabs."""

    path: Contour
    lifts: tuple[Lift, ...]


def contour_cut(
    shape: Contour,
    thickness: float,
    depth: float,
    tabs: TabSize | None,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    allowance: float,
) -> tuple[Cut, Cut] | str:
    """Roughing and finishing of a large opening of ``shape`` (counter-clockwise), as two cuts; or why it cannot be.

    Without tabs the roughing leaves a skin at the bottom, so that the slug is freed by the finishing pass and by
    nothing before it.
    """
    middles: list[float] = []
    if tabs is not None:
        found = places(shape, tabs.count, tabs.width, cutter.radius + allowance)
        if found is None:
            return f"no room for {tabs.count} tabs of {tabs.width:.1f} mm on its straight runs"
        middles = found
    ccw = machine.climbs
    rough = _wall(shape, cutter.radius + allowance, middles, tabs, thickness, ccw)
    final = _wall(shape, cutter.radius, middles, tabs, thickness, ccw)
    if rough is None or final is None:
        return f"T{cutter.number} does not fit all the way round"
    rough_depth = depth if tabs is not None else max(thickness - min(practice.ONION_SKIN, data.stepdown), 0.0)
    begin = _after_a_lift(rough)
    roughing = _roughing(rough, begin, rough_depth, cutter, data, material, machine)
    finishing = _finishing(rough, final, begin, rough_depth, depth, cutter, data, machine)
    return roughing, finishing


def _wall(
    shape: Contour, distance: float, middles: list[float], tabs: TabSize | None, thickness: float, ccw: bool
) -> Wall | None:
    paths = offset(shape, -distance)
    if len(paths) != 1:
        return None
    path = traversed(paths[0], ccw)
    if tabs is None:
        return Wall(path, ())
    top = -(thickness - tabs.height)
    return Wall(path, tuple(_lift(shape, path, middle, tabs.width, distance, top, ccw) for middle in middles))


def _lift(shape: Contour, path: Contour, middle: float, width: float, distance: float, top: float, ccw: bool) -> Lift:
    """The stretch of path on which the cutter would touch the wall within the tab."""
    total = shape.perimeter
    ends = [(middle - width / 2) % total, (middle + width / 2) % total]
    along = [nearest_distance(path, _inwards(shape, s, distance)) for s in (ends if ccw else ends[::-1])]
    start, end = along
    return Lift(start, end if end > start else end + path.perimeter, top)


def _inwards(shape: Contour, s: float, distance: float) -> XY:
    (x, y), (tx, ty) = shape.point_at(s), shape.tangent_at(s)
    return x - ty * distance, y + tx * distance


def _after_a_lift(wall: Wall) -> float:
    """Where passes begin: just behind a tab, so that the ramp runs in the longest free stretch."""
    if not wall.lifts:
        return 0.0
    total = wall.path.perimeter
    starts = sorted(lift.start % total for lift in wall.lifts)

    def free(lift: Lift) -> float:
        end = lift.end % total
        ahead = [s - end if s > end else s - end + total for s in starts]
        return min(ahead)

    return max(wall.lifts, key=free).end % wall.path.perimeter + 0.5


def _roughing(
    wall: Wall, begin: float, depth: float, cutter: Cutter, data: CuttingData, material: Material, machine: Machine
) -> Cut:
    ccw = machine.climbs
    start = wall.path.point_at(begin % wall.path.perimeter)
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = [Rapid(at(start, practice.RETRACT)), Line(at(start, 0.0), air)]
    above = 0.0
    for z in levels(depth, data.stepdown, first_pass(material.family)):
        ramp = min((above - z) / math.tan(material.ramp), wall.path.perimeter)
        run = lifted(wall.path, begin, ramp, above, z, wall.lifts)
        motions += run_motions(run, above, data.feed, data.plunge, air, cutter.radius, ccw)
        begin += ramp
        above = z
    end = motions[-1]
    if isinstance(end, Rapid) or not hasattr(end, "to"):
        raise TypeError("a roughing pass ends with a cut")
    return from_rapids([*motions, Rapid((end.to[0], end.to[1], practice.RETRACT))])


def _finishing(
    rough: Wall,
    final: Wall,
    begin: float,
    rough_depth: float,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    machine: Machine,
) -> Cut:
    """Down in the roughed kerf, slanting to the wall, once round, and slanting off it again."""
    ccw = machine.climbs
    total = rough.path.perimeter
    away = rough.path.point_at(begin % total)
    on = nearest_distance(final.path, rough.path.point_at((begin + LEAD_ALONG) % total))
    touch = final.path.point_at(on)
    air = min(data.feed, machine.max_z)
    z = -depth
    off = rough.path.point_at((begin + 2 * LEAD_ALONG) % total)
    motions: list[Motion] = [Rapid(at(away, practice.RETRACT)), Line(at(away, -rough_depth), air)]
    if rough_depth < depth:
        motions.append(Line(at(away, z), data.plunge))
    motions.append(Line(at(touch, z), data.feed))
    run = lifted(final.path, on, 0.0, z, z, final.lifts)
    motions += run_motions(run, z, data.feed, data.plunge, air, cutter.radius, ccw)
    motions += [Line(at(off, z), data.feed), Rapid(at(off, practice.RETRACT))]
    return from_rapids(motions)

"""Large openings cut along their wall: a ramp into each pass, over the holding tabs, then a finishing pass."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import accumulate, pairwise

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import distance, offset
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.geometry.segment import Line as Straight
from toolpaths.layout.tabs import TabSize
from toolpaths.motion import Arc as ArcMotion
from toolpaths.motion import Line, Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.clearing import roughing_allowance
from toolpaths.plan.path import (
    Cut,
    Lift,
    at,
    first_pass,
    from_rapids,
    is_convex,
    levels,
    lifted,
    nearest_distance,
    run_motions,
    traversed,
)
from toolpaths.plan.speeds import CuttingData
from toolpaths.plan.tab_places import places
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import ROUNDING_MM, SAME_POINT
from toolpaths.units import metric

BEHIND_A_TAB = 0.5
"""mm; a pass begins so far behind a tab."""

LEAD_ALONG = 2.0
"""The finishing pass comes from the roughing path to the wall over this length."""

LEAD_SHARE = 0.4
"""Of the free stretch that it has, where that is short."""

WAY_STEPS = 16
"""So many parts of a slant are looked at: an eighth of a mm each."""


@dataclass(frozen=True, slots=True)
class Wall:
    """One way round an opening at ``path`` (the cutter's centre), with the lifts over its tabs."""

    path: Contour
    lifts: tuple[Lift, ...]


MOST_ENTRIES = 4
"""Places to begin at that are offered to the order of work: one on each side of a rectangle."""

EQUALLY_FREE = 0.5
"""mm; free stretches that differ by less are as good for a ramp."""


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
    outside: bool = False,
    most: int = 1,
) -> tuple[tuple[Cut, Cut], ...] | str:
    """Roughing and finishing of a large opening of ``shape`` (counter-clockwise), as two cuts; or why it cannot be.

    The same is offered begun at up to ``most`` places that are as good for ramps, tabs and slants to the wall.
    Without tabs the roughing leaves a skin at the bottom, so that the slug is freed by the finishing pass and by
    nothing before it. ``outside``: the shape is what stays, and the cutter goes round it.
    """
    if not outside:
        allowance = roughing_allowance(shape, cutter, allowance)
    middles: list[float] = []
    if tabs is not None:
        # Only inside a corner does the cutter's centre turn before it; round an outer one it goes in an arc.
        found = places(shape, tabs.count, tabs.width, 0.0 if outside else cutter.radius + allowance)
        if found is None:
            return f"no room for {tabs.count} tabs of {metric(tabs.width)} mm on its straight runs"
        middles = found
    ccw = machine.climbs != outside
    side = -1.0 if outside else 1.0
    rough = wall_at(shape, side * (cutter.radius + allowance), middles, tabs, thickness, ccw)
    final = wall_at(shape, side * cutter.radius, middles, tabs, thickness, ccw)
    if rough is None or final is None:
        return f"T{cutter.number} does not fit all the way round"
    rough_depth = depth if tabs is not None else max(thickness - min(practice.ONION_SKIN, data.stepdown), 0.0)
    begins = _begins(shape, rough, final, cutter.radius, most)
    if not begins:
        return f"T{cutter.number} finds no straight run on which to begin"
    roughing = [_roughing(rough, begin, rough_depth, cutter, data, material, machine) for begin in begins]
    if outside:
        finishing = [_finishing_outside(rough, final, depth, cutter, data, machine)] * len(begins)
    else:
        finishing = [_finishing(rough, final, begin, rough_depth, depth, cutter, data, machine) for begin in begins]
    return tuple(zip(roughing, finishing, strict=True))


def wall_at(
    shape: Contour, distance: float, middles: list[float], tabs: TabSize | None, thickness: float, ccw: bool
) -> Wall | None:
    """The way round at ``distance`` inside ``shape`` (below 0: outside), or None where it is not one way."""
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


def _starts(wall: Wall) -> list[float]:
    """Where passes may begin: just behind a tab, so that the ramp runs in the longest free stretch; best first.

    Without tabs at the path's start, or at that of another segment like its first.
    """
    total = wall.path.perimeter
    if not wall.lifts:
        first, *later = wall.path.segments
        if not later:
            return [share * total / MOST_ENTRIES for share in range(MOST_ENTRIES)]
        starts_of_later = accumulate(segment.length for segment in wall.path.segments)
        alike = ((type(other) is type(first) and other.length > first.length - SAME_POINT) for other in later)
        return [0.0, *(start for start, like in zip(starts_of_later, alike, strict=False) if like)]
    starts = sorted(lift.start % total for lift in wall.lifts)

    def free(lift: Lift) -> float:
        end = lift.end % total
        ahead = [s - end if s > end else s - end + total for s in starts]
        return min(ahead)

    best = max(wall.lifts, key=free)
    others = [lift for lift in wall.lifts if lift is not best and free(lift) > free(best) - EQUALLY_FREE]
    return [lift.end % total + BEHIND_A_TAB for lift in (best, *others)]


def _begins(shape: Contour, rough: Wall, final: Wall, radius: float, most: int) -> list[float]:
    """Up to ``most`` places where passes begin: behind a tab, and where no slant to the wall cuts into a corner."""
    starts = _starts(rough)
    found = [_open_stretch(shape, rough, final, radius, start) for start in (starts if most > 1 else starts[:1])]
    return list(dict.fromkeys(round(begin, 9) for begin in found if begin is not None))[:most]


def _open_stretch(shape: Contour, rough: Wall, final: Wall, radius: float, first: float) -> float | None:
    """The first place from ``first`` on where the slants between roughing path and wall cut into no corner."""
    if is_convex(shape):
        return first
    total = rough.path.perimeter
    for step in range(math.ceil(total / LEAD_ALONG)):
        begin = first + step * LEAD_ALONG
        if any(_within(begin, LEAD_ALONG * 2, lift, total) for lift in rough.lifts):
            continue
        away, on, off = (rough.path.point_at((begin + k * LEAD_ALONG) % total) for k in range(3))
        touch = final.path.point_at(nearest_distance(final.path, on))
        if all(is_free(shape, a, b, radius) for a, b in ((away, touch), (touch, off))):
            return begin
    return None


def _within(begin: float, length: float, lift: Lift, total: float) -> bool:
    """Whether a stretch of a closed path shares something with a lift."""
    return (lift.start - begin) % total < length or (begin - lift.start) % total < lift.end - lift.start


def is_free(shape: Contour, start: XY, end: XY, radius: float) -> bool:
    """Whether a cutter on the straight way between two points stays off the walls, but for a touch."""
    way = Straight(start, end)
    stops = (way.point_at(k / WAY_STEPS * way.length) for k in range(WAY_STEPS + 1))
    return all(distance(shape, stop) >= radius - ROUNDING_MM / 10 for stop in stops)


def _roughing(
    wall: Wall, begin: float, depth: float, cutter: Cutter, data: CuttingData, material: Material, machine: Machine
) -> Cut:
    hollow_ccw = machine.climbs
    start = wall.path.point_at(begin % wall.path.perimeter)
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = [Rapid(at(start, practice.RETRACT)), Line(at(start, 0.0), air)]
    above = 0.0
    for z in levels(depth, data.stepdown, first_pass(material.family)):
        ramp = min((above - z) / math.tan(material.ramp), wall.path.perimeter)
        run = lifted(wall.path, begin, ramp, above, z, wall.lifts)
        motions += run_motions(run, above, data.feed, data.plunge, air, cutter.radius, hollow_ccw)
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


# an outline, from outside --------------------------------------------------------------------------------------------


def _finishing_outside(
    rough: Wall, final: Wall, depth: float, cutter: Cutter, data: CuttingData, machine: Machine
) -> Cut:
    """Down in the roughed kerf, onto the wall in an arc tangent to it, once round, and off in another such arc.

    Both arcs meet the wall at one place, in the middle of the longest stretch that is free of tabs and corners.
    """
    z, air = -depth, min(data.feed, machine.max_z)
    on, room = _longest_free(final)
    touch = final.path.point_at(on)
    away, off = (_beside(rough, final, on, way * min(LEAD_ALONG, LEAD_SHARE * room)) for way in (-1.0, 1.0))
    motions: list[Motion] = [Rapid(at(away, practice.RETRACT)), Line(at(away, z), air)]
    motions.append(_tangent_arc(away, touch, touch, final.path.tangent_at(on), z, data.feed, cutter.radius))
    run = lifted(final.path, on, 0.0, z, z, final.lifts)
    motions += run_motions(run, z, data.feed, data.plunge, air, cutter.radius, machine.climbs)
    motions.append(_tangent_arc(touch, off, touch, final.path.tangent_at(on), z, data.feed, cutter.radius))
    return from_rapids([*motions, Rapid(at(off, practice.RETRACT))])


def _longest_free(wall: Wall) -> tuple[float, float]:
    """The longest stretch of one segment that no lift touches: the distance of its middle along the path; its length.
    """
    total = wall.path.perimeter
    stops = {0.0}
    done = 0.0
    for segment in wall.path.segments:
        done += segment.length
        stops.add(done)
    lifts = [(lift.start + k * total, lift.end + k * total) for lift in wall.lifts for k in (-1, 0, 1)]
    stops |= {end for lift in lifts for end in lift if 0 < end < total}
    best = (0.0, 0.0)
    for a, b in pairwise(sorted(stops)):
        middle = (a + b) / 2
        if b - a > best[0] + SAME_POINT and not any(start < middle < end for start, end in lifts):
            best = (b - a, middle)
    return best[1], best[0]


def _beside(rough: Wall, final: Wall, on: float, along: float) -> XY:
    """A place in the roughed kerf ``along`` behind the place ``on`` of the finished wall (below 0: before it).

    Round a bend of radius R the kerf leaves the tangent by s²/2R, which must stay under the allowance a.
    """
    (x, y), (tx, ty) = final.path.point_at(on), final.path.tangent_at(on)
    opposite = nearest_distance(rough.path, (x, y))
    allowance = math.dist((x, y), rough.path.point_at(opposite))
    bend = _segment_at(final.path, on)
    if isinstance(bend, Arc):
        along = math.copysign(min(abs(along), math.sqrt(allowance * bend.radius)), along)
    return rough.path.point_at(nearest_distance(rough.path, (x + tx * along, y + ty * along)))


def _segment_at(path: Contour, distance: float) -> Segment:
    done = 0.0
    for segment in path.segments:
        done += segment.length
        if distance < done:
            return segment
    return path.segments[-1]


def _tangent_arc(
    start: XY, end: XY, touch: XY, tangent: XY, z: float, feed: float, cutter_radius: float
) -> Motion:
    """The arc between a point beside the wall and ``touch`` on it, tangent to the wall there.

    With the far point p, from ``touch``, and the normal n towards it, the radius is p² / (2 n p) (plane geometry). It
    bends away from the panel, so the edge at the metal is the outer one, and the feed is that of the edge.
    """
    far = end if start == touch else start
    (px, py), (tx, ty) = (far[0] - touch[0], far[1] - touch[1]), tangent
    side = 1.0 if px * -ty + py * tx > 0 else -1.0  # whether the far point lies to the left of the way
    nx, ny = -side * ty, side * tx
    beside = px * nx + py * ny
    if beside < SAME_POINT:
        return Line(at(end, z), feed)  # nothing was left for the finishing pass, so roughing went along the wall
    radius = (px * px + py * py) / (2 * beside)
    slow = feed * radius / (radius + cutter_radius)
    return ArcMotion(at(end, z), (touch[0] + radius * nx, touch[1] + radius * ny), side > 0, slow)

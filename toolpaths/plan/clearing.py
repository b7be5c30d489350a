"""Small openings cleared to chips: nested copies of the shape, from the middle out, level by level, then the wall."""

from __future__ import annotations

import math

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import offset
from toolpaths.geometry.segment import XY
from toolpaths.motion import Arc, Line, Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.path import (
    Cut,
    at,
    first_pass,
    follow,
    from_rapids,
    is_convex,
    levels,
    nearest_distance,
    ramp_run,
    run_motions,
    traversed,
)
from toolpaths.plan.speeds import CuttingData
from toolpaths.tables.rows import Cutter, Machine, Material


def clear(
    shape: Contour,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    allowance: float,
) -> Cut | None:
    """Clears ``shape`` (counter-clockwise) to ``depth`` (positive); None where the cutter does not fit everywhere."""
    walls = offset(shape, -cutter.radius)
    if len(walls) != 1:
        return None
    wall = walls[0]
    rings = _nested(shape, cutter, allowance)
    motions = _levels(rings, depth, cutter, data, material, machine, is_convex(shape))
    motions += finish(wall, depth, cutter, data, machine)
    return from_rapids(motions)


def _nested(shape: Contour, cutter: Cutter, allowance: float) -> list[Contour]:
    """Roughing contours from the innermost outwards; each lies within a stepover of the next, so no core stays."""
    outermost: list[Contour] = []
    for left in (allowance, allowance / 2, 0.0):
        outermost = offset(shape, -(cutter.radius + left))
        if outermost:
            break
    rings = list(outermost)
    wave = outermost
    while wave:
        wave = [inner for ring in wave for inner in offset(ring, -practice.STEPOVER * cutter.diameter)]
        rings += wave
    return rings[::-1]


def _levels(
    rings: list[Contour],
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    convex: bool,
) -> list[Motion]:
    ccw = machine.climbs
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = []
    above = 0.0
    for z in levels(depth, data.stepdown, first_pass(material.family)):
        place: XY | None = None
        for contour in rings:
            ring = traversed(contour, ccw)
            if place is not None and convex:
                ring = ring.starting_at(nearest_distance(ring, place))
                motions.append(Line(at(ring.segments[0].start, z), data.feed))
                motions += follow(ring.segments, z, z, data.feed, cutter.radius, ccw)
            else:
                # The first ring of a level, and any ring that cannot be reached straight: in from above, down a ramp.
                start = ring.segments[0].start
                motions += [Rapid(at(start, practice.RETRACT)), Line(at(start, above), air)]
                ramp = (above - z) / math.tan(material.ramp)
                motions += run_motions(
                    iter(ramp_run(ring, 0.0, ramp, above, z)), above, data.feed, air, air, cutter.radius, ccw
                )
            last = motions[-1]
            assert isinstance(last, Line | Arc)
            place = last.to[:2]
            if not convex:
                motions.append(Rapid(at(place, practice.RETRACT)))
        if convex and place is not None:
            motions.append(Rapid(at(place, practice.RETRACT)))
        above = z
    return motions


def finish(wall: Contour, depth: float, cutter: Cutter, data: CuttingData, machine: Machine) -> list[Motion]:
    """Once round the wall path at full depth, entered and left on quarter circles within the cleared middle."""
    ccw = machine.climbs
    path = traversed(wall, ccw).starting_at(_middle_of_longest(traversed(wall, ccw)))
    touch = path.segments[0].start
    tx, ty = path.tangent_at(0.0)
    nx, ny = (-ty, tx) if ccw else (ty, -tx)
    lead = _lead_radius(wall, cutter)
    centre = (touch[0] + nx * lead, touch[1] + ny * lead)
    come = (centre[0] - tx * lead, centre[1] - ty * lead)
    leave = (centre[0] + tx * lead, centre[1] + ty * lead)
    feed = data.feed
    slow = feed * lead / (lead + cutter.radius) if lead else feed
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = [Rapid(at(come, practice.RETRACT)), Line(at(come, -depth), air)]
    if lead:
        motions.append(Arc(at(touch, -depth), centre, ccw, slow))
    motions += follow(path.segments, -depth, -depth, feed, cutter.radius, ccw)
    if lead:
        motions.append(Arc(at(leave, -depth), centre, ccw, slow))
    return [*motions, Rapid(at(leave, practice.RETRACT))]


def _lead_radius(wall: Contour, cutter: Cutter) -> float:
    for share in (0.4, 0.2, 0.1, 0.05):
        if offset(wall, -share * cutter.diameter * 1.2):
            return share * cutter.diameter
    return 0.0


def _middle_of_longest(contour: Contour) -> float:
    done, best, where = 0.0, 0.0, 0.0
    for segment in contour.segments:
        if segment.length > best + 1e-9:
            best, where = segment.length, done + segment.length / 2
        done += segment.length
    return where

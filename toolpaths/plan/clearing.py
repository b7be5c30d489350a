"""Small openings and blind floors cleared: nested copies of the shape, from the middle out, then the wall."""

from __future__ import annotations

import math
from collections.abc import Sequence

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.geometry.offset import distance, offset
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
from toolpaths.plan.reach import farthest
from toolpaths.plan.speeds import CuttingData
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import ROUNDING_MM


def clear(
    shape: Contour,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    allowance: float,
    top: float = 0.0,
    spare: Sequence[Contour] = (),
) -> Cut | None:
    """Clears ``shape`` (counter-clockwise) to ``depth`` (positive); None where the cutter does not fit.

    A shape with a waist may fall into several parts for the cutter, which are cleared one after the other. It begins
    ``top`` below the sheet's top. ``spare`` are openings within the shape that are cut along their wall afterwards:
    what lies in them is left to fall out with their slugs.
    """
    walls = offset(shape, -cutter.radius)
    if not walls:
        return None
    motions: list[Motion] = []
    inner: Contour | None = None
    for contour, width in _nested(shape, cutter, allowance, spare):
        from_inside = inner if is_convex(shape) else None
        ring = traversed(contour, machine.climbs)
        motions += _ring(ring, width, from_inside, top, depth, cutter, data, material, machine)
        inner = contour
    left = roughing_allowance(shape, cutter, allowance)
    for wall in walls:
        motions += finish(wall, depth, cutter, data, machine, left)
    return from_rapids(motions)


def _nested(
    shape: Contour, cutter: Cutter, allowance: float, spare: Sequence[Contour]
) -> list[tuple[Contour, float]]:
    """Roughing contours from the innermost outwards with the width that each takes.

    Each lies within a stepover of the next, so no core stays; the innermost ones cut a full slot. Those whose kerf
    lies wholly in a ``spare`` opening are left out, but never the outer two: the finishing pass begins in their kerf.
    """
    step = practice.STEPOVER * cutter.diameter
    slot = practice.FULL_SLOT_BEYOND * cutter.diameter
    rings: list[tuple[Contour, float]] = []
    wave = offset(shape, -(cutter.radius + roughing_allowance(shape, cutter, allowance)))
    outer = 1
    while wave:
        inwards = [
            [inner for inner in offset(ring, -step) if outer or not _needless(inner, cutter, spare)] for ring in wave
        ]
        outer = 0
        rings += [
            (ring, step if farthest([ring], inner) <= slot else cutter.diameter)
            for ring, inner in zip(wave, inwards, strict=True)
        ]
        wave = [ring for inner in inwards for ring in inner]
    return rings[::-1]


def roughing_allowance(shape: Contour, cutter: Cutter, allowance: float) -> float:
    """What roughing may leave on the wall: less where it would not go into every part that the finishing pass does."""
    wall = offset(shape, -cutter.radius)
    for left in (allowance, allowance / 2):
        rough = offset(shape, -(cutter.radius + left))
        if rough and (is_convex(shape) or farthest(wall, rough) <= practice.LEFT_IN_CORNERS * left):
            return left
    return 0.0


COARSE = 0.05
"""mm; the facets by which a ring is held against spare openings: a ring too many is no harm, so this errs that way."""


def _needless(ring: Contour, cutter: Cutter, spare: Sequence[Contour]) -> bool:
    """Whether all that a ring would clear falls out with a slug."""
    if not spare:
        return False
    kerfs = [faceted(kerf, COARSE) for kerf in offset(ring, cutter.radius + 2 * COARSE)]
    return any(opening.covers(kerf) for opening in (faceted(each, COARSE) for each in spare) for kerf in kerfs)


def _ring(
    ring: Contour,
    width: float,
    inner: Contour | None,
    top: float,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
) -> list[Motion]:
    """One ring down to the full depth, level by level.

    A ring round cleared ground takes only part of the cutter's width, so it may go deeper for the same load, and its
    levels are entered from the ``inner`` contour; without one each level is entered down a ramp.
    """
    ccw = machine.climbs
    air = min(data.feed, machine.max_z)
    start = ring.segments[0].start
    stepdown = min(data.stepdown * cutter.diameter / width, cutter.flute_length)
    if inner is not None:
        aside = inner.point_at(nearest_distance(inner, start))
        motions: list[Motion] = [Rapid(at(aside, practice.RETRACT))]
    else:
        motions = [Rapid(at(start, practice.RETRACT)), Line(at(start, -top), air)]
    above, begin = -top, 0.0
    for z in (z - top for z in levels(depth - top, stepdown, first_pass(material.family))):
        if inner is not None:
            motions += [Line(at(aside, z), air), Line(at(start, z), data.feed)]
            motions += follow(ring.segments, z, z, data.feed, cutter.radius, ccw)
            motions.append(Line(at(aside, z), data.feed))
        else:
            ramp = (above - z) / math.tan(material.ramp)
            run = ramp_run(ring, begin, ramp, above, z)
            motions += run_motions(iter(run), above, data.feed, air, air, cutter.radius, ccw)
            begin = (begin + ramp) % ring.perimeter
        above = z
    last = motions[-1]
    if not isinstance(last, Line | Arc):
        raise TypeError("a ring ends with a cut")
    return [*motions, Rapid((last.to[0], last.to[1], practice.RETRACT))]


def finish(
    wall: Contour, depth: float, cutter: Cutter, data: CuttingData, machine: Machine, left: float
) -> list[Motion]:
    """Once round the wall path at full depth, entered and left on quarter circles within the cleared middle.

    Roughing has ``left`` so much on the wall, mm.
    """
    ccw = machine.climbs
    path = traversed(wall, ccw).starting_at(_middle_of_longest(traversed(wall, ccw)))
    touch = path.segments[0].start
    tx, ty = path.tangent_at(0.0)
    nx, ny = (-ty, tx) if ccw else (ty, -tx)
    lead = _lead_radius(wall, cutter, touch, (nx, ny))
    centre = (touch[0] + nx * lead, touch[1] + ny * lead)
    come = (centre[0] - tx * lead, centre[1] - ty * lead)
    leave = (centre[0] + tx * lead, centre[1] + ty * lead)
    feed = data.feed
    slow = feed * lead / (lead + cutter.radius) if lead else feed
    air = min(data.feed, machine.max_z)
    # only ground that roughing has cleared is air all the way down
    down = air if lead and distance(wall, come) >= left - ROUNDING_MM else data.plunge
    motions: list[Motion] = [Rapid(at(come, practice.RETRACT)), Line(at(come, -depth), down)]
    if lead:
        motions.append(Arc(at(touch, -depth), centre, ccw, slow))
    motions += follow(path.segments, -depth, -depth, feed, cutter.radius, ccw)
    if lead:
        motions.append(Arc(at(leave, -depth), centre, ccw, slow))
    return [*motions, Rapid(at(leave, practice.RETRACT))]


def _lead_radius(wall: Contour, cutter: Cutter, touch: XY, inwards: XY) -> float:
    """The largest of a few radii whose whole circle, touching the wall path at ``touch``, lies within it."""
    for share in (0.4, 0.2, 0.1, 0.05):
        lead = share * cutter.diameter
        centre = (touch[0] + lead * inwards[0], touch[1] + lead * inwards[1])
        if offset(wall, -1.2 * lead) and distance(wall, centre) >= lead - ROUNDING_MM / 10:
            return lead
    return 0.0


def _middle_of_longest(contour: Contour) -> float:
    done, best, where = 0.0, 0.0, 0.0
    for segment in contour.segments:
        if segment.length > best + 1e-9:
            best, where = segment.length, done + segment.length / 2
        done += segment.length
    return where

"""Round holes opened by an end mill: down a helix about the centre, outwards ring by ring, then once round the wall."""

from __future__ import annotations

import math

from toolpaths.geometry.segment import XY
from toolpaths.motion import Arc, Line, Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.path import Cut, at, from_rapids
from toolpaths.plan.speeds import CuttingData
from toolpaths.tables.rows import Cutter, Machine, Material


def bore(
    centre: XY,
    diameter: float,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    machine: Machine,
    allowance: float,
    top: float = 0.0,
) -> Cut:
    """Bores ``diameter`` to ``depth`` (positive) below the sheet's top, in the direction that the machine wants.

    It begins ``top`` below the sheet's top, in the floor of a rebate.
    """
    wall = (diameter - cutter.diameter) / 2
    left = min(allowance, 0.3 * wall)
    left = left if left >= practice.LEAST_SHIFT else 0.0
    ccw = machine.climbs
    air = min(data.feed, machine.max_z)
    motions: list[Motion] = []
    for path, step in _rings(wall - left, cutter.diameter):
        motions += _ring(centre, path, step, top, depth, cutter, data, material, air, ccw)
    if left:
        motions += _finish(centre, wall, depth, cutter, data, air, ccw)
    return from_rapids(motions)


def _rings(outermost: float, cutter_diameter: float) -> list[tuple[float, float]]:
    """Path radius and width of cut of each ring; the innermost is under half a cutter, so no core stays."""
    count = max(1, math.ceil(outermost / (practice.STEPOVER * cutter_diameter) - 1e-9))
    step = outermost / count
    return [(step * (k + 1), cutter_diameter if k == 0 else step) for k in range(count)]


def _ring(
    centre: XY,
    path: float,
    width: float,
    top: float,
    depth: float,
    cutter: Cutter,
    data: CuttingData,
    material: Material,
    air: float,
    ccw: bool,
) -> list[Motion]:
    start = (centre[0] + path, centre[1])
    feed = data.feed * path / (path + cutter.radius)
    # A ring takes only part of the cutter's width, so it may go deeper for the same load.
    stepdown = min(data.stepdown * cutter.diameter / width, cutter.flute_length)
    pitch = min(stepdown, 2 * math.pi * path * math.tan(material.ramp))
    turns = max(1, math.ceil((depth - top) / pitch - 1e-9))
    step = (depth - top) / turns
    motions: list[Motion] = [Rapid(at(start, practice.RETRACT)), Line(at(start, -top), air)]
    motions += [Arc(at(start, -top - step * (k + 1)), centre, ccw, feed) for k in range(turns)]
    return [*motions, Arc(at(start, -depth), centre, ccw, feed), Rapid(at(start, practice.RETRACT))]


def _finish(
    centre: XY, wall: float, depth: float, cutter: Cutter, data: CuttingData, air: float, ccw: bool
) -> list[Motion]:
    """Once round the wall at full depth, entered and left on half circles so that no mark stays.

    The half circles are tighter than the wall, so that the edge runs faster on them: they are fed slower still.
    """
    touch = (centre[0] + wall, centre[1])
    half = (centre[0] + wall / 2, centre[1])
    feed = data.feed * wall / (wall + cutter.radius)
    slow = data.feed * (wall / 2) / (wall / 2 + cutter.radius)
    return [
        Rapid(at(centre, practice.RETRACT)),
        Line(at(centre, -depth), air),
        Arc(at(touch, -depth), half, ccw, slow),
        Arc(at(touch, -depth), centre, ccw, feed),
        Arc(at(centre, -depth), half, ccw, slow),
        Rapid(at(centre, practice.RETRACT)),
    ]

"""How far a setup reaches on its machine, and how far out of the collet each cutter must stand, taken from the motions.

Program coordinates in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.geometry import segment
from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Panel, Rectangle
from toolpaths.motion import Arc, Drill, Line, Operation, Pause, Rapid
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.tolerance import CLAMP_CLEARANCE

STEP: Final = 1.0
"""mm between the points of a path that are held against a clamp: between two of them a way lies nearer by little."""

AIR_UNDER_NUT: Final = 1.0
"""mm between collet nut and sheet: room for chips (common practice)."""


@dataclass(frozen=True, slots=True)
class StickOut:
    """The least stick-out that a cutter's work needs, mm, and what asks for it: a clamp or wall by name, or nothing
    but its own depth (empty), with the tags of the work beside it."""

    least: float
    beside: str
    tags: tuple[str, ...]


def extent(operations: Iterable[Operation]) -> tuple[Rectangle, float]:
    """The box round everywhere that the cutter's middle goes, and the lowest Z of its tip; zero for none."""
    boxes = [box for step in operations for box in _boxes(step)] or [((0.0, 0.0, 0.0, 0.0), 0.0)]
    x0, y0, x1, y1 = zip(*(box for box, _ in boxes), strict=True)
    return (min(x0), min(y0), max(x1), max(y1)), min(low for _, low in boxes)


def _boxes(step: Operation) -> Iterator[tuple[Rectangle, float]]:
    for path, low in _paths(step):
        yield path.bounds, low


def _paths(step: Operation) -> Iterator[tuple[segment.Line | segment.Arc, float]]:
    """Each motion of an operation in the plan view, with the Z at which it is lowest; the way to the first is left
    out, since it is up at the clear height."""
    here: tuple[float, float, float] | None = None
    for motion in step.motions:
        match motion:
            case Pause():
                continue
            case Drill():
                yield segment.Line(motion.at, motion.at), motion.bottom
                here = (*motion.at, motion.retract)
                continue
            case Arc() if here is not None:
                path: segment.Line | segment.Arc = segment.Arc(here[:2], motion.to[:2], motion.centre, motion.ccw)
            case Rapid() | Line() | Arc():
                path = segment.Line(motion.to[:2] if here is None else here[:2], motion.to[:2])
        yield path, motion.to[2] if here is None else min(here[2], motion.to[2])
        here = motion.to


def stick_out(panel: Panel, work: Sequence[Operation], cutter: Cutter, machine: Machine) -> StickOut:
    """What the ``work`` of one cutter asks of its stick-out: its depth with air under the nut, or a clamp or a standing
    wall that the nut passes over.

    The proof has looked at every stroke with the stick-out of the table; this says how much of it is needed.
    """
    deepest = max((-step.depth for step in work), default=0.0)
    least = StickOut(min(deepest + AIR_UNDER_NUT, cutter.stick_out), "", ())
    cuts = [(step, [path for path, low in _paths(step) if low < 0]) for step in work]
    boxed = [(step, [(path, path.bounds) for path in paths]) for step, paths in cuts]
    for name, area, height in _obstacles(panel):
        reach = machine.nut_diameter / 2 + CLAMP_CLEARANCE
        near = [step for step, paths in boxed if any(_comes_near(*path, area, reach) for path in paths)]
        needed = max((height - step.depth for step in near), default=0.0)
        # more than the cutter has was not needed: the nut passes where it is higher
        if least.least < needed <= cutter.stick_out:
            least = StickOut(needed, name, tuple(tag for step in near for tag in step.tags))
    return least


def _obstacles(panel: Panel) -> Iterator[tuple[str, Rectangle, float]]:
    for clamp in panel.clamps:
        yield f"clamp {clamp.number}", panel.area_to_program(clamp.area), clamp.height
    if panel.folded and panel.folded.standing:
        for flange in panel.flanges:
            yield f"the {flange.wall} wall", panel.area_to_program(flange.area), flange.height


def _comes_near(path: segment.Line | segment.Arc, box: Rectangle, area: Rectangle, reach: float) -> bool:
    """Whether a path, with the ``box`` round it, comes within ``reach`` of a rectangle."""
    x0, y0, x1, y1 = box
    if _gap(area, (min(max(area[0], x0), x1), min(max(area[1], y0), y1))) >= reach:
        return False
    return any(_gap(area, point) < reach for point in _points(path))


def _points(path: segment.Line | segment.Arc) -> Iterator[XY]:
    steps = max(1, math.ceil(path.length / STEP))
    return (path.point_at(path.length * step / steps) for step in range(steps + 1))


def _gap(area: Rectangle, point: XY) -> float:
    x0, y0, x1, y1 = area
    return math.hypot(max(x0 - point[0], 0.0, point[0] - x1), max(y0 - point[1], 0.0, point[1] - y1))

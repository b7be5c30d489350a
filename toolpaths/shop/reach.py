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
    whole: Rectangle | None = None
    deepest = 0.0
    for step in operations:
        room, low = _room(step)
        deepest = low if whole is None else min(deepest, low)
        if whole is not None and _round_both(whole, room) == whole:
            continue  # however its arcs run, nothing of it lies outside
        for path, _ in _paths(step):
            whole = path.bounds if whole is None else _round_both(whole, path.bounds)
    return ((0.0, 0.0, 0.0, 0.0), 0.0) if whole is None else (whole, deepest)


def _room(step: Operation) -> tuple[Rectangle, float]:
    """A box that holds an operation, every arc of it as its whole circle, and its lowest Z: far quicker than its paths.

    Of an operation without motion a box that any other holds.
    """
    xs: list[float] = []
    ys: list[float] = []
    zs: list[float] = []
    here: XY | None = None
    for motion in step.motions:
        if isinstance(motion, Pause):
            continue
        x, y, z = (*motion.at, motion.bottom) if isinstance(motion, Drill) else motion.to
        if isinstance(motion, Arc) and here is not None:
            (cx, cy), radius = motion.centre, math.dist(here, motion.centre)
            xs += cx - radius, cx + radius
            ys += cy - radius, cy + radius
        xs.append(x)
        ys.append(y)
        zs.append(z)
        here = x, y
    if not zs:
        return (math.inf, math.inf, -math.inf, -math.inf), math.inf
    return (min(xs), min(ys), max(xs), max(ys)), min(zs)


def _round_both(one: Rectangle, other: Rectangle) -> Rectangle:
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


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
    rooms = [(step, _room(step)[0]) for step in work]
    for name, area, height in _obstacles(panel):
        reach = machine.nut_diameter / 2 + CLAMP_CLEARANCE
        near = [
            step
            for step, room in rooms
            if _apart(area, room) < reach
            and any(_comes_near(path, area, reach) for path, low in _paths(step) if low < 0)
        ]
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


def _comes_near(path: segment.Line | segment.Arc, area: Rectangle, reach: float) -> bool:
    """Whether a path comes within ``reach`` of a rectangle."""
    return _apart(area, path.bounds) < reach and any(_gap(area, point) < reach for point in _points(path))


def _apart(area: Rectangle, box: Rectangle) -> float:
    """The gap between two rectangles, mm."""
    x0, y0, x1, y1 = box
    return _gap(area, (min(max(area[0], x0), x1), min(max(area[1], y0), y1)))


def _points(path: segment.Line | segment.Arc) -> Iterator[XY]:
    steps = max(1, math.ceil(path.length / STEP))
    return (path.point_at(path.length * step / steps) for step in range(steps + 1))


def _gap(area: Rectangle, point: XY) -> float:
    x0, y0, x1, y1 = area
    return math.hypot(max(x0 - point[0], 0.0, point[0] - x1), max(y0 - point[1], 0.0, point[1] - y1))

"""Where the holding tabs of a setup stand, taken from its motions: drawing and plan never see the planner."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Panel
from toolpaths.motion import Arc, Line, Operation, Setup
from toolpaths.tolerance import SAME_POINT

STEPS = 720
"""Points of a wall among which the nearest to a cutter's path is looked for, before it is closed in on."""

TabMark = tuple[XY, XY, XY, XY]
"""The two sides of a tab, each from the wall across the kerf; program coordinates."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A cut above the full depth, from one lift to the next fall: the cutter's centre."""

    start: XY
    end: XY


def tab_marks(panel: Panel, setup: Setup) -> tuple[TabMark, ...]:
    """Every tab that the finishing passes of a setup leave, in the order of work."""
    walls = {opening.tag: opening.shape for opening in panel.work if opening.tabs is not None}
    marks: list[TabMark] = []
    for operation in setup.operations:
        if operation.kind != "finish" or operation.tags[0] not in walls:
            continue
        wall = _Wall(panel.contour_to_program(walls[operation.tags[0]]))
        marks += (_sides(stretch, wall) for stretch in _stretches(operation))
    return tuple(marks)


def _stretches(operation: Operation) -> Iterator[_Stretch]:
    """Runs of level cuts that lie between two cuts at the full depth."""
    bottom = operation.depth + SAME_POINT
    place: tuple[float, float, float] | None = None
    start: XY | None = None
    been_down = False
    for motion in operation.motions:
        if not isinstance(motion, Line | Arc):
            place, start = None, None
            continue
        level = place is not None and abs(motion.to[2] - place[2]) <= SAME_POINT
        raised = motion.to[2] > bottom
        if place is not None and level and raised and been_down and start is None:
            start = place[:2]
        if place is not None and start is not None and not raised:
            yield _Stretch(start, place[:2])
            start = None
        been_down = been_down or not raised
        place = motion.to


class _Wall:
    """A wall whose point nearest to another is asked for again and again."""

    def __init__(self, shape: Contour) -> None:
        self.shape = shape
        self.step = shape.perimeter / STEPS
        self.points = [shape.point_at(index * self.step) for index in range(STEPS)]

    def nearest(self, point: XY) -> XY:
        """The point of the wall that lies nearest to another, to a hundredth of a mm on walls of up to 1 m."""

        def apart(place: XY) -> float:
            return (place[0] - point[0]) ** 2 + (place[1] - point[1]) ** 2

        def distance(s: float) -> float:
            return apart(self.shape.point_at(s))

        gaps = [apart(place) for place in self.points]
        best = gaps.index(min(gaps)) * self.step
        low, high = best - self.step, best + self.step
        while high - low > 1e-3:
            third = (high - low) / 3
            if distance(low + third) < distance(high - third):
                high -= third
            else:
                low += third
        return self.shape.point_at((low + high) / 2)


def _sides(stretch: _Stretch, wall: _Wall) -> TabMark:
    (ax, ay), (bx, by) = wall.nearest(stretch.start), wall.nearest(stretch.end)
    (cx, cy), (dx, dy) = stretch.start, stretch.end
    # as far beyond the cutter's path as the wall lies on this side of it: the whole kerf
    return (ax, ay), (2 * cx - ax, 2 * cy - ay), (bx, by), (2 * dx - bx, 2 * dy - by)

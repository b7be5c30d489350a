"""From the end of one cut to the start of the next: low where nothing stands in the way, else at the clear height."""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.geometry.segment import XY
from toolpaths.layout.folded import beside
from toolpaths.layout.panel import Panel, Rectangle
from toolpaths.motion import Motion, Rapid
from toolpaths.plan import practice
from toolpaths.plan.path import Cut, at
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.tolerance import CLAMP_CLEARANCE, SAME_POINT


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A clamp, or a wall of the folded box that stands up, in program coordinates; ``number`` is 0 for a wall."""

    number: int
    area: Rectangle
    height: float
    name: str


def obstacles(panel: Panel) -> tuple[Obstacle, ...]:
    """The panel's clamps and standing walls where the machine meets them; a bend counts as a square step."""
    found = [
        Obstacle(clamp.number, panel.area_to_program(clamp.area), clamp.height, f"clamp {clamp.number}")
        for clamp in panel.clamps
    ]
    if panel.folded and panel.folded.standing:
        for flange in panel.flanges:
            name = f"the flange at the {flange.wall}"
            found.append(Obstacle(0, panel.area_to_program(flange.area), flange.height, name))
            if flange.radius:
                found.append(Obstacle(0, panel.area_to_program(beside(flange)), flange.radius, f"the bend of {name}"))
    return tuple(found)


def width_near(cutter: Cutter, machine: Machine, tip: float, height: float) -> float:
    """Radius of the widest part of cutter, shank and nut that is below ``height`` when the tip is at Z ``tip``."""
    if tip >= height:
        return 0.0
    radius = cutter.radius
    if tip + cutter.flute_length < height:
        radius = max(radius, cutter.shank / 2)
    if tip + cutter.stick_out < height:
        radius = max(radius, machine.nut_diameter / 2)
    return radius


def gap_to(area: Rectangle, a: XY, b: XY) -> float:
    """Least distance between the segment a-b and a rectangle, mm (0: they meet)."""
    x0, y0, x1, y1 = area
    if _crosses(area, a, b):
        return 0.0
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    ends = min(_point_gap(area, a), _point_gap(area, b))
    return min(ends, *(_segment_gap(corner, a, b) for corner in corners))


def _point_gap(area: Rectangle, point: XY) -> float:
    x0, y0, x1, y1 = area
    return math.hypot(max(x0 - point[0], 0.0, point[0] - x1), max(y0 - point[1], 0.0, point[1] - y1))


def _segment_gap(point: XY, a: XY, b: XY) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    share = 0.0 if long == 0 else min(max(((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / long, 0.0), 1.0)
    return math.hypot(point[0] - a[0] - share * dx, point[1] - a[1] - share * dy)


def _crosses(area: Rectangle, a: XY, b: XY) -> bool:
    """Whether the segment enters the rectangle: both slabs overlap along it (Liang and Barsky's clipping)."""
    enter, leave = 0.0, 1.0
    for low, high, start, delta in (
        (area[0], area[2], a[0], b[0] - a[0]),
        (area[1], area[3], a[1], b[1] - a[1]),
    ):
        if abs(delta) < SAME_POINT:
            if not low <= start <= high:
                return False
            continue
        first, last = sorted(((low - start) / delta, (high - start) / delta))
        enter, leave = max(enter, first), min(leave, last)
    return enter <= leave


def free(a: XY, b: XY, tip: float, cutter: Cutter, machine: Machine, around: tuple[Obstacle, ...]) -> bool:
    """Whether the cutter may go straight from a to b with its tip at Z ``tip``."""
    reach = max(cutter.radius, cutter.shank / 2, machine.nut_diameter / 2) + CLAMP_CLEARANCE
    for obstacle in around:
        if _far(obstacle.area, a, b, reach):
            continue
        radius = width_near(cutter, machine, tip, obstacle.height)
        if radius and gap_to(obstacle.area, a, b) < radius + CLAMP_CLEARANCE:
            return False
    return True


def _far(area: Rectangle, a: XY, b: XY, reach: float) -> bool:
    """Whether the box round the segment a-b stays ``reach`` away from the rectangle: most do, and need no more."""
    return (
        max(a[0], b[0]) + reach <= area[0]
        or min(a[0], b[0]) - reach >= area[2]
        or max(a[1], b[1]) + reach <= area[1]
        or min(a[1], b[1]) - reach >= area[3]
    )


@dataclass(slots=True)
class Traveller:
    """Strings cuts together with rapids; ``place`` is where the cutter is (None: over nothing yet, at clear height)."""

    panel: Panel
    cutter: Cutter
    machine: Machine
    around: tuple[Obstacle, ...]
    place: XY | None = None

    def lead_to(self, point: XY) -> list[Motion]:
        """Rapids that bring the cutter over ``point`` at the retract height."""
        clear = self.panel.clear_height
        rapids: list[Motion] = []
        if self.place is not None and free(self.place, point, practice.RETRACT, self.cutter, self.machine, self.around):
            rapids.append(Rapid(at(point, practice.RETRACT)))
        else:
            if self.place is not None:
                rapids.append(Rapid(at(self.place, clear)))
            rapids += [Rapid(at(point, clear)), Rapid(at(point, practice.RETRACT))]
        self.place = point
        return rapids

    def take(self, cut: Cut, one_side: bool) -> tuple[Motion, ...]:
        """The cut with the rapids that lead to it; ``one_side``: by way of a point left and below, for the backlash."""
        motions: list[Motion] = []
        if one_side:
            aside = (cut.entry[0] - practice.ONE_SIDE_APPROACH, cut.entry[1] - practice.ONE_SIDE_APPROACH)
            motions += self.lead_to(aside)
        motions += self.lead_to(cut.entry)
        self.place = cut.exit
        return (*motions, *cut.motions)

    def lift(self) -> tuple[Motion, ...]:
        """Up to the clear height where the cutter is."""
        if self.place is None:
            return ()
        end = Rapid(at(self.place, self.panel.clear_height))
        self.place = None
        return (end,)

"""Choices turned into tasks: one piece of work with one cutter on one opening, with the stage at which it is done."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Opening
from toolpaths.motion import Drill, Motion, OperationKind, Rapid
from toolpaths.plan import practice
from toolpaths.plan.choice import Chosen
from toolpaths.plan.methods import Shop, Stock, Way, mark_width, pilot_floor, spot_width, stock_of
from toolpaths.plan.path import Cut
from toolpaths.plan.speeds import CuttingData
from toolpaths.tables.rows import Cutter
from toolpaths.units import metric

STAGES: dict[OperationKind, int] = {
    "engrave": -1,
    "mark": 0,
    "spot": 0,
    "pilot": 1,
    "drill": 2,
    "bore": 3,
    "clear": 3,
    "countersink": 3,
    "contour": 4,
    "finish": 4,
}
"""Engraving first, in whole and flat sheet; spot before pilot before drill; holes and small openings before the large
ones that weaken the sheet."""

OUTLINE_STAGE = 5
"""Last of all: from then on nothing but tabs holds the panel."""

BREAKS_EARLY = 0.2
"""The slow feed begins this far before the point comes through: the last skin bulges and tears first."""


@dataclass(frozen=True, slots=True)
class Task:
    """``cut`` begins and ends at the retract height; ``follow_up`` is done right behind it.

    ``elsewhere`` is the same work begun at other places that are as good.
    """

    kind: OperationKind
    opening: Opening
    cutter: Cutter
    data: CuttingData
    depth: float
    cut: Cut
    reasons: tuple[str, ...]
    follow_up: Task | None = None
    elsewhere: tuple[Task, ...] = ()

    @property
    def stage(self) -> int:
        """When it is done; the outline comes after everything inside it."""
        return OUTLINE_STAGE if self.opening.outside else STAGES[self.kind]


def tasks(chosen: Iterable[Chosen], shop: Shop) -> list[Task]:
    """All tasks of a panel; spots share one speed per cutter, so that the spindle is not reset at every hole."""
    found = [task for choice in chosen for task in _tasks_of(choice, shop)]
    return _one_speed_per_spotter(found)


def _tasks_of(choice: Chosen, shop: Shop) -> list[Task]:
    if choice.way.kind == "mark":
        return _marks(choice, shop)
    made = _drilled(choice, shop) if choice.way.kind == "drill" else [_milled(choice, shop)]
    return made if choice.sink is None else [*made, _countersunk(choice.opening, choice.sink, shop)]


def _countersunk(opening: Opening, way: Way, shop: Shop) -> Task:
    depth = opening.top + (opening.countersink.depth if opening.countersink else 0.0)
    motion = _shallow(opening.centre, depth, way.data, shop)
    return _drill_task("countersink", opening, way.cutter, way.data, motion, depth, way.reasons)


def _marks(choice: Chosen, shop: Shop) -> list[Task]:
    way, opening = choice.way, choice.opening
    depth = opening.top + way.cutter.length_of_point(mark_width(way.cutter, shop.panel.thickness - opening.top))
    points = opening.marks or (opening.centre,)
    return [
        _drill_task("mark", opening, way.cutter, way.data, _shallow(point, depth, way.data, shop), depth, way.reasons)
        for point in points
    ]


def _drilled(choice: Chosen, shop: Shop) -> list[Task]:
    way, opening, stock = choice.way, choice.opening, stock_of(choice.opening, shop.panel)
    found: list[Task] = []
    if way.spot is not None:
        spot, data = way.spot
        depth = stock.top + spot.length_of_point(spot_width(way.cutter, spot, stock.spotted))
        why = (f"spot for the {way.cutter.name}", *data.reasons)
        found.append(_drill_task("spot", opening, spot, data, _shallow(opening.centre, depth, data, shop), depth, why))
    if way.pilot is not None:
        pilot, data = way.pilot
        why = (f"pilot for the {way.cutter.name}, whose web does not cut", *data.reasons)
        shallow = stock
        if stock.floor is not None:
            shallow = replace(stock, floor=pilot_floor(pilot, way.cutter, stock.floor))
        found.append(_drill("pilot", opening, pilot, data, shop, shallow, why))
    found.append(_drill("drill", opening, way.cutter, way.data, shop, stock, way.reasons))
    return found


def _shallow(point: XY, depth: float, data: CuttingData, shop: Shop) -> Drill:
    return Drill(shop.panel.to_program(point), -depth, practice.RETRACT, data.feed)


def _drill(
    kind: OperationKind,
    opening: Opening,
    drill: Cutter,
    data: CuttingData,
    shop: Shop,
    stock: Stock,
    why: tuple[str, ...],
) -> Task:
    depth = stock.tip(drill)
    deep = stock.length > practice.PECK_BEYOND * drill.diameter
    sheet = shop.material.family == "metal" and stock.thickness < practice.THIN_METAL
    peck = practice.PECK_STEP * drill.diameter if deep and not sheet else None
    if peck:
        why = (*why, f"pecked every {metric(peck)} mm: deeper than {practice.PECK_BEYOND:g} diameters")
    retract = practice.PECK_RETRACT if peck else practice.RETRACT
    motion = Drill(shop.panel.to_program(opening.centre), -depth, retract, data.feed, peck)
    if stock.floor is not None:
        return _drill_task(kind, opening, drill, data, motion, depth, why)
    slow = max(math.floor(practice.BREAKTHROUGH_FEED * data.feed), 1)
    slowed = replace(motion, slow_from=-max(stock.thickness - BREAKS_EARLY, 0.0), slow_feed=slow)
    if not shop.machine.program.canned_cycles:
        return _drill_task(kind, opening, drill, data, slowed, depth, why)
    if slow >= shop.material.chip_floor * drill.flutes * data.rpm:
        one = f"one feed all the way, that of breaking through ({slow} mm/min): a drilling cycle has no second"
        whole = replace(data, feed=slow, plunge=slow, chip=slow / data.rpm)
        return _drill_task(kind, opening, drill, whole, replace(motion, feed=slow), depth, (*why, one))
    least = shop.material.chip_floor
    rubs = f"not as a drilling cycle: at the one feed of breaking through a lip takes under {least:g} mm and rubs"
    return _drill_task(kind, opening, drill, data, slowed, depth, (*why, rubs))


def _drill_task(
    kind: OperationKind,
    opening: Opening,
    cutter: Cutter,
    data: CuttingData,
    motion: Drill,
    depth: float,
    why: tuple[str, ...],
) -> Task:
    motions: tuple[Motion, ...] = (motion,)
    if motion.retract < practice.RETRACT:
        motions = (motion, Rapid((*motion.at, practice.RETRACT)))
    return Task(kind, opening, cutter, data, depth, Cut(motion.at, motion.at, motions), why)


def _milled(choice: Chosen, shop: Shop) -> Task:
    way, opening, depth = choice.way, choice.opening, shop.depth_of(choice.opening)
    direction = "climb" if shop.machine.climbs else "conventional"
    why = (*way.reasons, f"{direction} milling: the backlash is {shop.machine.backlash:g} mm")
    kind: OperationKind = "contour" if way.kind == "contour" else "clear" if way.kind == "clear" else "bore"
    left = f"{shop.allowance:g} mm were left for this pass at full depth: it takes the flex out of the wall"

    def task(cuts: tuple[Cut, ...]) -> Task:
        rough = Task(kind, opening, way.cutter, way.data, depth, cuts[0], why)
        if len(cuts) == 1:
            return rough
        final = Task("finish", opening, way.cutter, way.data, depth, cuts[1], (left, why[-1]))
        return replace(rough, follow_up=final)

    return replace(task(choice.cuts), elsewhere=tuple(task(cuts) for cuts in choice.elsewhere))


def _one_speed_per_spotter(found: list[Task]) -> list[Task]:
    slowest: dict[int, float] = {}
    for task in found:
        if STAGES[task.kind] == 0:
            slowest[task.cutter.number] = min(task.data.rpm, slowest.get(task.cutter.number, math.inf))
    return [_at_speed(task, slowest[task.cutter.number]) if STAGES[task.kind] == 0 else task for task in found]


def _at_speed(task: Task, rpm: float) -> Task:
    """The same spot at a lower speed and the same feed per turn."""
    feed = max(math.floor(task.data.chip * rpm), 1)
    data = replace(task.data, rpm=rpm, feed=feed, plunge=feed)
    (motion,) = task.cut.motions
    if not isinstance(motion, Drill):
        raise TypeError("a spot is drilled")
    return replace(task, data=data, cut=replace(task.cut, motions=(replace(motion, feed=feed),)))

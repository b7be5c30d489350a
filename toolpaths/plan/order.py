"""The order of work: stages first, one change per cutter, and a short way between neighbours."""

from __future__ import annotations

import math

from toolpaths.geometry.segment import XY
from toolpaths.layout.nesting import in_floor
from toolpaths.layout.panel import Opening
from toolpaths.plan.tasks import STAGES, Task

FAMILIES = {"spot drill": 0, "drill": 1, "countersink": 2}
"""The order of cutters within a wave; mills come after these."""


def ordered(found: list[Task]) -> list[Task]:
    """Tasks in the order of work; a finishing pass stands right behind its roughing."""
    result: list[Task] = []
    place: XY = (0.0, 0.0)
    for group in (group for wave in waves(found) for group in _groups(wave)):
        for stage in sorted({task.stage for task in group}):
            here = [task for task in group if task.stage == stage]
            near = _small_first(here) if stage == STAGES["contour"] else _nearest_first(here, place)
            for task in near:
                result.append(task)
                if task.follow_up is not None:
                    result.append(task.follow_up)
            place = result[-1].cut.exit
    return result


def waves(found: list[Task]) -> list[list[Task]]:
    """Tasks parted by what must wait for what, whichever cutter it takes.

    First the rebates, outer before inner; then all the rest. Where a mill makes holes that are countersunk, the
    countersinks stand between what a mill makes of holes and the large openings that weaken the sheet.
    """
    holders = _holders([task.opening for task in found])
    milled = {task.opening.tag for task in found if task.cutter.kind == "end mill"}
    late_cones = any(task.kind == "countersink" and task.opening.tag in milled for task in found)

    def wave(task: Task) -> tuple[int, int]:
        level = holders.get(task.opening.tag)
        if level is not None:
            return 0, level
        if late_cones and task.kind == "countersink":
            return 2, 0
        return (3 if late_cones and task.stage >= STAGES["contour"] else 1), 0

    parted: dict[tuple[int, int], list[Task]] = {}
    for task in found:
        parted.setdefault(wave(task), []).append(task)
    return [parted[key] for key in sorted(parted)]


def _holders(openings: list[Opening]) -> dict[str, int]:
    """The rebates that hold other openings, by tag, with how many rebates they lie in themselves."""
    nested = [opening for opening in openings if opening.top > 0]
    blind = [opening for opening in openings if opening.blind] if nested else []
    holders = [outer for outer in blind if any(in_floor(inner, outer) for inner in nested)]
    return {inner.tag: sum(in_floor(inner, outer) for outer in holders) for inner in holders}


def _groups(found: list[Task]) -> list[list[Task]]:
    """One group per cutter: spotting first, drills from small to large, countersinks, then mills, and of these the one
    that cuts large openings last.

    A cutter that serves two stages is taken up at the later one only where nothing in between needs its work; for
    drills that cannot happen (a pilot drill that also drills holes comes before the larger drill in any case).
    """
    numbers = sorted({task.cutter.number for task in found})
    groups = [[task for task in found if task.cutter.number == number] for number in numbers]
    return sorted(groups, key=_rank)


def _rank(group: list[Task]) -> tuple[int, int, float, int]:
    first, last = min(task.stage for task in group), max(task.stage for task in group)
    cutter = group[0].cutter
    family = FAMILIES.get(cutter.kind, 3)
    return family, last if family == 3 else 0, cutter.diameter, cutter.number if first <= last else 0


def _small_first(waiting: list[Task]) -> list[Task]:
    """Large openings by their size: the sheet keeps its stiffness as long as it can."""
    return sorted(waiting, key=lambda task: (round(abs(task.opening.shape.area), 6), task.opening.tag))


def _nearest_first(waiting: list[Task], place: XY) -> list[Task]:
    """Always on to the nearest cut that is left (nearest neighbour)."""
    waiting = list(waiting)
    result: list[Task] = []
    while waiting:
        here = place
        index = min(range(len(waiting)), key=lambda k: (round(math.dist(here, waiting[k].cut.entry), 6), k))
        task = waiting.pop(index)
        result.append(task)
        place = task.cut.exit
    return result

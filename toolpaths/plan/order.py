"""The order of work: stages first, one change per cutter, and a short way between neighbours."""

from __future__ import annotations

import math

from toolpaths.geometry.segment import XY
from toolpaths.plan.tasks import STAGES, Task


def ordered(found: list[Task]) -> list[Task]:
    """Tasks in the order of work; a finishing pass stands right behind its roughing."""
    result: list[Task] = []
    place: XY = (0.0, 0.0)
    for group in _groups(found):
        for stage in sorted({task.stage for task in group}):
            here = [task for task in group if task.stage == stage]
            near = _small_first(here) if stage == STAGES["contour"] else _nearest_first(here, place)
            for task in near:
                result.append(task)
                if task.follow_up is not None:
                    result.append(task.follow_up)
            place = result[-1].cut.exit
    return result


def _groups(found: list[Task]) -> list[list[Task]]:
    """One group per cutter: spotting first, drills from small to large, the mill that cuts large openings last.

    A cutter that serves two stages is taken up at the later one only where nothing in between needs its work; for
    drills that cannot happen (a pilot drill that also drills holes comes before the larger drill in any case).
    """
    numbers = sorted({task.cutter.number for task in found})
    groups = [[task for task in found if task.cutter.number == number] for number in numbers]
    return sorted(groups, key=_rank)


def _rank(group: list[Task]) -> tuple[int, int, float, int]:
    first, last = min(task.stage for task in group), max(task.stage for task in group)
    cutter = group[0].cutter
    family = 0 if cutter.kind == "spot drill" else 1 if cutter.kind == "drill" else 2
    return family, last if family == 2 else 0, cutter.diameter, cutter.number if first <= last else 0


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

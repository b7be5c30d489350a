"""The order of work: stages first, one change per cutter, and a short way between neighbours."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby

from toolpaths.geometry.segment import XY
from toolpaths.layout.nesting import in_floor
from toolpaths.layout.panel import Opening
from toolpaths.plan.tasks import STAGES, Task
from toolpaths.plan.tour import Stop, Taken, Way, nearest_first, tour

ORIGIN: XY = (0.0, 0.0)
"""Work begins at the program's zero, where the builder has left the cutter."""

FAMILIES = {"engraver": -1, "spot drill": 0, "drill": 1, "countersink": 2}
"""The order of cutters within a wave; mills come after these."""


def ordered(found: list[Task]) -> list[Task]:
    """Tasks in the order of work, each begun at the best of its places; a finishing pass stands behind its roughing.

    Each run of tasks is a tour from where the one before it ended to where, by a quick first look, the next begins. In
    rare cases always going on to the nearest task is shorter over all the runs: then it is that.
    """
    work = list(runs(found))
    anywhere = [None] * len(work)
    first_look = _strung(work, _quick_tour, anywhere) if len(work) > 1 else work
    ends = [*(run[0].cut.entry for run in first_look[1:]), *anywhere[-1:]]
    best = _joined(_strung(work, tour, ends))
    if len(work) == 1 and not any(task.elsewhere for task in found):
        return best  # a single tour is never longer than nearest first
    return min(best, _joined(_strung(work, _nearest_first, anywhere)), key=lambda order: round(travelled(order), 6))


def travelled(order: Sequence[Task]) -> float:
    """The way between the cuts of tasks, in the plane, from X0 Y0 on, mm."""
    places = [ORIGIN, *(place for task in order for place in (task.cut.entry, task.cut.exit))]
    return sum(math.dist(a, b) for a, b in zip(places[::2], places[1::2], strict=False))


Rule = Callable[[Sequence[Stop], XY, XY | None], list[Taken]]
"""How the stops of a run are put in order, from a place to another or to any."""


def _strung(work: Sequence[list[Task]], rule: Rule, ends: Sequence[XY | None]) -> list[list[Task]]:
    """Every run in the order that the rule gives it, from where the one before it ended."""
    result: list[list[Task]] = []
    place = ORIGIN
    for run, end in zip(work, ends, strict=True):
        choices = [(task, *task.elsewhere) for task in run]
        taken = rule([[_way(task) for task in ways] for ways in choices], place, end)
        result.append(_joined([_with_follow_up(choices[stop][way]) for stop, way in taken]))
        place = result[-1][-1].cut.exit
    return result


def _joined(parts: Sequence[list[Task]]) -> list[Task]:
    return [task for part in parts for task in part]


def _quick_tour(stops: Sequence[Stop], start: XY, end: XY | None) -> list[Taken]:
    return tour(stops, start, end, moves=0)


def _nearest_first(stops: Sequence[Stop], start: XY, end: XY | None) -> list[Taken]:
    return nearest_first([stop[:1] for stop in stops], start)


def _way(task: Task) -> Way:
    first, last = task.cut, _with_follow_up(task)[-1].cut
    return Way(first.entry, last.exit, within=0.0 if last is first else math.dist(first.exit, last.entry))


def _with_follow_up(task: Task) -> list[Task]:
    return [task] if task.follow_up is None else [task, task.follow_up]


def runs(found: list[Task]) -> Iterator[list[Task]]:
    """What may be done in any order: tasks of one cutter and stage, large openings of one size.

    Large openings go by their size: the sheet keeps its stiffness as long as it can.
    """
    for group in (group for wave in waves(found) for group in _groups(wave)):
        for stage in sorted({task.stage for task in group}):
            run = [task for task in group if task.stage == stage]
            if stage == STAGES["contour"]:
                run.sort(key=lambda task: (_size(task), task.opening.tag))
                yield from (list(same) for _, same in groupby(run, key=_size))
            else:
                yield run


def _size(task: Task) -> float:
    return round(abs(task.opening.shape.area), 6)


def waves(found: list[Task]) -> list[list[Task]]:
    """Tasks parted by what must wait for what, whichever cutter it takes.

    First what is engraved, then the rebates, outer before inner; then all the rest. Where a mill makes holes that are
    countersunk, the countersinks stand between what a mill makes of holes and the large openings that weaken the sheet.
    """
    holders = _holders([task.opening for task in found])
    milled = {task.opening.tag for task in found if task.cutter.kind == "end mill"}
    late_cones = any(task.kind == "countersink" and task.opening.tag in milled for task in found)

    def wave(task: Task) -> tuple[int, int]:
        if task.kind == "engrave":
            return -1, 0
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

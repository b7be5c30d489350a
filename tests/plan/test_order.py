"""The order of work on whole panels: what must come first does, and the way is short."""

from __future__ import annotations

import itertools
import math
import random
from collections import Counter

import pytest

from toolpaths import pipeline
from toolpaths.geometry.segment import XY
from toolpaths.plan.choice import choose
from toolpaths.plan.methods import Shop
from toolpaths.plan.order import ordered, runs, travelled
from toolpaths.plan.slots import at_hand
from toolpaths.plan.tasks import Task, tasks

PANELS = 200

HEAD = """
format = 1
title = "panel"
units = "mm"
[[panel]]
name = "panel"
material = "{material}"
thickness = {thickness}
width = {width}
height = {height}
cut_outline = {outline}
"""


def panel_text(seed: int) -> str:
    """A panel with holes of a few sizes, some marks, slots and large openings, wherever they fall."""
    draw = random.Random(seed)
    width, height = draw.randint(120, 290), draw.randint(80, 170)
    material, thickness = draw.choice([("aluminium", 2), ("mild steel", 1.2), ("plywood", 9)])
    text = HEAD.format(
        material=material, thickness=thickness, width=width, height=height, outline=draw.choice(["true", "false"])
    )
    sizes = [draw.choice([2.5, 3.2, 4.3, 6, 10, 22]) for _ in range(3)]

    def place() -> list[float]:
        return [round(draw.uniform(15, width - 15), 1), round(draw.uniform(15, height - 15), 1)]

    for _ in range(draw.choice([3, 10, 10, 25])):
        mark = draw.choice(["", "", "", 'finish = "mark"\n'])
        text += f"[[panel.hole]]\nat = {place()}\ndiameter = {draw.choice(sizes)}\n{mark}"
    for _ in range(draw.choice([0, 1, 3])):
        text += f"[[panel.slot]]\nat = {place()}\nlength = 14\nwidth = 5\n"
    for _ in range(draw.choice([0, 1, 3])):
        wide = draw.choice([40, 40, 55])
        text += f"[[panel.cutout]]\nat = {place()}\nwidth = {wide}\nheight = 30\ncorner_radius = 4\n"
    return text


def work_of(job_of, seed: int) -> list[Task]:
    job = job_of(panel_text(seed), machine=random.Random(seed).choice(["small router", "bench mill"]))
    (panel,) = pipeline.lay_out(job).panels
    shop = Shop(panel, job.machine, at_hand(job.cutters, job.machine), job.materials[panel.material])
    return tasks(choose(shop)[0], shop)


def nearest_by_hand(found: list[Task]) -> list[Task]:
    """Nearest neighbour, run for run, as anyone would write it, each task begun at its first place."""
    place: XY = (0.0, 0.0)
    result: list[Task] = []
    for run in runs(found):
        waiting = list(run)
        while waiting:
            task = min(waiting, key=lambda one: round(math.dist(one.cut.entry, place), 6))
            waiting = [one for one in waiting if one is not task]
            result += [task] if task.follow_up is None else [task, task.follow_up]
            place = result[-1].cut.exit
    return result


def identity(task: Task) -> tuple[object, ...]:
    return task.kind, task.opening.tag, task.cutter.number, task.depth


def test_travel_is_never_longer_than_nearest_neighbours(job_of) -> None:
    """On 200 random panels: the same work, the same changes of cutter, the same stages, and no longer a way."""
    saved = []
    for seed in range(PANELS):
        found = work_of(job_of, seed)
        order, nearest = ordered(found), nearest_by_hand(found)
        assert Counter(map(identity, order)) == Counter(map(identity, nearest))
        assert [(task.cutter.number, task.stage) for task in order] == [
            (task.cutter.number, task.stage) for task in nearest
        ]
        assert travelled(order) <= travelled(nearest) + 1e-5, f"panel {seed}"
        saved.append(1 - travelled(order) / travelled(nearest))
    assert sum(saved) / PANELS > 0.06


@pytest.mark.parametrize("seed", range(20))
def test_what_must_come_first_does(job_of, seed: int) -> None:
    """Of one opening spots come before drills and a finishing pass right behind its roughing; large openings go by
    size; the outline is last."""
    order = ordered(work_of(job_of, seed))
    for before, after in itertools.combinations(order, 2):
        if before.opening.tag == after.opening.tag:
            assert before.stage <= after.stage
        if before.kind == after.kind == "contour" and before.cutter.number == after.cutter.number:
            assert before.opening.outside <= after.opening.outside
            if not after.opening.outside:
                assert abs(before.opening.shape.area) <= abs(after.opening.shape.area) + 1e-6
    for before, after in itertools.pairwise(order):
        if after.kind == "finish":
            assert before.kind == "contour" and before.opening is after.opening


LARGE = """
[[panel.cutout]]
at = {at}
width = 60
height = 40
corner_radius = 4
tabs = {tabs}
"""


@pytest.mark.parametrize("tabs", ["true", "false"])
@pytest.mark.parametrize("at", [[50, 40], [240, 40], [50, 130], [240, 130]])
def test_a_large_opening_is_entered_where_the_cutter_comes_from(job_of, at: list[int], tabs: str) -> None:
    """With places that are as good to begin at, its roughing starts at the one that makes the way shortest."""
    head = HEAD.format(material="aluminium", thickness=2, width=290, height=170, outline="false")
    job = job_of(head + LARGE.format(at=at, tabs=tabs), machine="bench mill")
    (panel,) = pipeline.lay_out(job).panels
    shop = Shop(panel, job.machine, at_hand(job.cutters, job.machine), job.materials[panel.material])
    (task,) = tasks(choose(shop)[0], shop)
    assert len(task.elsewhere) >= 1
    whole = [travelled([one, one.follow_up]) for one in (task, *task.elsewhere)]
    assert travelled(ordered([task])) == pytest.approx(min(whole))
    lengths = [sum(1 for _ in one.cut.motions) for one in (task, *task.elsewhere)]
    assert max(lengths) - min(lengths) <= 4

"""Legends as work: one engraver for all of a panel, and the way along their strokes.

They come first of all: the sheet is still whole, flat and held, no burr stands on it and no chip lies under it, and a
line 0.15 mm deep bears the least error in Z.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from toolpaths.finding import Finding
from toolpaths.geometry.segment import XY, Segment
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.layout.panel import Legend, Opening
from toolpaths.motion import Line, Motion, Rapid
from toolpaths.plan import practice, speeds
from toolpaths.plan.methods import Shop, cutter_reaches
from toolpaths.plan.path import Cut, at, follow, levels
from toolpaths.plan.speeds import CuttingData, Refusal
from toolpaths.plan.tasks import Task
from toolpaths.plan.tour import Way, tour
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import SAME_LINE, SAME_POINT, WIDEST_LINE
from toolpaths.units import metric

Stroke = tuple[Segment, ...]


def engraving(shop: Shop) -> tuple[list[Task], list[Finding]]:
    """A task for each legend that is to be engraved, and what there is to say about them."""
    legends = shop.panel.engraved
    if not legends:
        return [], []
    served = _engraver(legends, shop)
    if isinstance(served, str):
        return [], [_finding("error", "no-cutter", legends[0], shop, f"no engraver serves: {served}")]
    cutter, data = served
    found = [finding for legend in legends for finding in _about_line(legend, cutter, shop)]
    return [_task(legend, cutter, data, shop) for legend in legends], found


# the cutter ----------------------------------------------------------------------------------------------------------


def _engraver(legends: Sequence[Legend], shop: Shop) -> tuple[Cutter, CuttingData] | str:
    """The engraver that was chosen with the shapes, at one speed for all, that for the widest line; or why not."""
    cutter = next((cutter for cutter in shop.cutters if cutter.number == shop.panel.engraver), None)
    if cutter is None:
        if shop.machine.program.slots:
            return f"none for {shop.material.name} is in a slot: give one a slot, or leave depth out"
        return f"the table holds none for {shop.material.name}: add one, or leave depth out"
    deepest = max(legend.depth or 0.0 for legend in legends)
    data = speeds.engraving(cutter, cutter.width_at(deepest), shop.material, shop.machine)
    if isinstance(data, Refusal):
        return data.reason
    return cutter_reaches(cutter, deepest, shop) or (cutter, data)


def _about_line(legend: Legend, cutter: Cutter, shop: Shop) -> list[Finding]:
    """Lines that are too wide for their lettering, and lines that are too deep for the sheet."""
    depth, thickness = legend.depth or 0.0, shop.panel.thickness
    most = practice.ENGRAVED_SHARE * thickness
    if depth > most + SAME_POINT:
        said = f"{metric(depth)} mm deep in {metric(thickness)} mm of sheet; at most {metric(most)} mm"
        return [_finding("error", "legend-depth", legend, shop, said)]
    width = cutter.width_at(depth)
    if width <= SAME_LINE * legend.line:
        return []
    fits = (SAME_LINE * legend.line - cutter.tip) / 2 / math.tan(cutter.point_angle / 2)
    tenth = math.floor(100 * fits) / 100
    shallower = f"{metric(tenth)} mm deep it would fit" if tenth > 0 else "no depth would fit"
    higher = math.ceil(10 * width / (SAME_LINE * legend.line) * legend.height) / 10
    said = (
        f"its line comes out {metric(width)} mm wide with the {cutter.name} (T{cutter.number}), {metric(depth)} mm "
        f"deep; to lettering {metric(legend.height)} mm high goes one of {metric(legend.line)} mm: {shallower}, or "
        f"make it {metric(higher)} mm high"
    )
    too_wide = width > WIDEST_LINE * legend.height
    return [_finding("error" if too_wide else "warning", "legend-line", legend, shop, said)]


def _finding(severity: str, code: str, legend: Legend, shop: Shop, said: str) -> Finding:
    message = f"{legend.name}: {said}"
    return Finding("error" if severity == "error" else "warning", code, shop.panel.name, legend.feature, message)


# the way -------------------------------------------------------------------------------------------------------------


def _task(legend: Legend, cutter: Cutter, data: CuttingData, shop: Shop) -> Task:
    depth = legend.depth or 0.0
    passes = levels(depth, data.stepdown)
    width, several = cutter.width_at(depth), len(passes) > 1
    why = (
        f"engraved first, while the sheet is whole and flat, with a {cutter.name}: its line is {metric(width)} mm wide",
        f"in {len(passes)} passes of {metric(depth / len(passes))} mm: its tip bears no more in {shop.material.name}"
        if several else f"in one pass {metric(depth)} mm deep",
        *data.reasons,
    )  # fmt: skip
    cut = _cut(legend, passes, data, shop)
    data = replace(data, stepdown=depth / len(passes) if several else 0.0)
    return Task("engrave", _as_opening(legend), cutter, data, depth, cut, why)


def _as_opening(legend: Legend) -> Opening:
    """A legend as a piece of work, as the outline is one: with the box round it as its shape."""
    x0, y0, x1, y1 = legend.bounds
    shape = rounded_rectangle(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, y1 - y0)
    return Opening(
        tag=legend.feature, feature=legend.feature, label=legend.words, centre=legend.at, shape=shape, diameter=None,
        size_text="", finish="machine", cut=None, cut_diameter=None, marks=(), corner_limit=0.0, tolerance=0.0,
        tabs=None, cleared=True, depth=legend.depth, kind="text",
    )  # fmt: skip


def _cut(legend: Legend, passes: Sequence[float], data: CuttingData, shop: Shop) -> Cut:
    """All strokes of a legend, in a short order and each from its better end."""
    strokes = shop.panel.strokes_to_program(legend)
    choices = [(stroke, _turned(stroke)) for stroke in strokes]
    ways = [[Way(one[0].start, _end(one, passes)) for one in choice] for choice in choices]
    first = min((way.entry for stop in ways for way in stop), key=lambda place: (round(place[0], 6), place[1]))
    motions: list[Motion] = []
    taken = [choices[stop][way] for stop, way in tour(ways, first)]
    for number, stroke in enumerate(taken):
        if number:
            motions.append(Rapid(at(stroke[0].start, practice.RETRACT)))
        motions += _along(stroke, passes, data, shop)
    return Cut(taken[0][0].start, _end(taken[-1], passes), tuple(motions))


def _turned(stroke: Stroke) -> Stroke:
    return tuple(segment.reversed() for segment in reversed(stroke))


def _end(stroke: Stroke, passes: Sequence[float]) -> XY:
    """Where a stroke is left: it is followed there and back, pass by pass."""
    return stroke[-1].end if len(passes) % 2 else stroke[0].start


def _along(stroke: Stroke, passes: Sequence[float], data: CuttingData, shop: Shop) -> list[Motion]:
    """Down at the stroke's start, along it, deeper where it ends, and back, to the full depth; then up."""
    start = stroke[0].start
    motions: list[Motion] = [Line(at(start, practice.ENGRAVER_ABOVE), shop.machine.max_z)]
    for number, z in enumerate(passes):
        way = _turned(stroke) if number % 2 else stroke
        motions.append(Line(at(way[0].start, z), data.plunge))
        # the tip is a point to the path: no wall is hollow to it
        motions += follow(way, z, z, data.feed, 0.0, ccw=True)
    motions.append(Rapid(at(_end(stroke, passes), practice.RETRACT)))
    return motions

"""The air pass: the way of a program above everything, slowly and with the spindle still, before anything is cut.

It shows whether zero, clamps and travel are what the setup sheet says: round the outline and over every centre at the
clear height, with a stop over the place where Z0 was touched and one over the hole that is furthest from zero.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from toolpaths.geometry.segment import XY
from toolpaths.geometry.segment import Arc as ArcSegment
from toolpaths.layout.panel import Panel
from toolpaths.motion import Arc, Line, Motion, Operation, Pause, Program, Rapid
from toolpaths.plan.tour import Way, tour
from toolpaths.tables.rows import Machine

AIR_FEED: Final = 800.0
"""mm/min, or what the machine does at most: slow enough to stop it by hand (common practice)."""


def air_pass(program: Program, panel: Panel, machine: Machine) -> Program:
    """The air pass of a setup, as a program of its own with the cutter that comes first; nothing of it is below the
    clear height, 5 mm above the tallest clamp or wall."""
    first = program.setup.operations[0]
    feed = min(AIR_FEED, machine.max_xy)
    work = Operation(
        "air pass", first.cutter, "", tuple(opening.tag for opening in panel.openings), 0.0, feed, feed, 0.0,
        panel.clear_height, (), tuple(_motions(panel, machine, feed)),
    )  # fmt: skip
    return replace(program, setup=replace(program.setup, operations=(work,)), part=1, parts=1, dry=True)


def _motions(panel: Panel, machine: Machine, feed: float) -> Iterator[Motion]:
    z = panel.clear_height
    assert panel.touch_off is not None
    touch = panel.to_program(panel.touch_off)
    yield Rapid((*touch, z))
    yield Pause("the cutter stands over the place where Z0 was touched: see that it does, then start")
    place = touch
    if _within_travel(panel, machine):
        outline = panel.contour_to_program(panel.outline)
        yield Line((*outline.segments[0].start, z), feed)
        for segment in outline.segments:
            place = segment.end
            if isinstance(segment, ArcSegment):
                yield Arc((*segment.end, z), segment.centre, segment.ccw, feed)
            else:
                yield Line((*segment.end, z), feed)
    centres = over(panel)
    order = [centres[stop] for stop, _ in tour([[Way(at, at)] for at in centres], place)]
    furthest = max(order, key=lambda at: (round(math.hypot(*at), 6), at), default=None)
    for at in order:
        if math.dist(at, place) > 0:
            yield Line((*at, z), feed)
        place = at
        if at == furthest:
            yield Pause("the cutter stands over the hole furthest from zero: measure that it does, then start")
            furthest = None


def over(panel: Panel) -> list[XY]:
    """The places that an air pass goes over, in program coordinates, each once: what is made, marked or engraved."""
    places = [place for opening in panel.openings for place in (opening.marks or (panel.place_of(opening),))]
    places += [legend.at for legend in panel.engraved]
    return list(dict.fromkeys(panel.to_program(place) for place in places))


def _within_travel(panel: Panel, machine: Machine) -> bool:
    """Whether the machine reaches round the whole outline; where it does not, the air pass keeps to the centres."""
    x0, y0, x1, y1 = panel.outline.bounds
    if panel.stage is not None:
        low, high = panel.stage.reach[:2], panel.stage.reach[2:]
        left, under, right, top = panel.area_to_program(panel.outline.bounds)
        return low[0] <= left and low[1] <= under and right <= high[0] and top <= high[1]
    return x1 - x0 <= machine.travel[0] and y1 - y0 <= machine.travel[1]

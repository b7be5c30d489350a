"""The order in which a pen draws: short, and without a change to what is drawn."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Hashable

import pytest

from toolpaths.drafting import draw_panel
from toolpaths.drawing import Chain, Drawing, Mark, Pen, Polyline
from toolpaths.geometry.segment import Arc, Line, Segment
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.pen_order import lifted_way, short_way

DASHES = (6.0, 2.0)


def traced(mark: Mark, directed: bool) -> Hashable:
    """What a mark leaves on the paper: where it begins matters where ``directed``, else neither that nor the way."""
    if directed:
        return mark
    if isinstance(mark, Polyline):
        return "line", min(mark.points, mark.points[::-1])
    return "chain", mark.closed, frozenset(map(undirected, mark.segments))


def undirected(segment: Segment) -> Hashable:
    ends = frozenset((segment.start, segment.end))
    if isinstance(segment, Line):
        return ends
    arc: Arc = segment
    return ends, arc.centre, arc.ccw if arc.start <= arc.end else not arc.ccw


def inked(pen: Pen) -> Counter[Hashable]:
    return Counter(traced(mark, bool(pen.dash)) for mark in pen.marks)


def joined(mark: Mark) -> bool:
    """Whether each piece of a chain begins where the one before it ends, round to the first if it is closed."""
    if isinstance(mark, Polyline):
        return True
    ends = [segment.end for segment in mark.segments]
    starts = [segment.start for segment in mark.segments]
    return all(abs(a[0] - b[0]) + abs(a[1] - b[1]) < 1e-6 for a, b in zip(ends, starts[1:], strict=False)) and (
        not mark.closed or abs(ends[-1][0] - starts[0][0]) + abs(ends[-1][1] - starts[0][1]) < 1e-6
    )


def way_of(drawing: Drawing) -> float:
    marks = [mark for pen in drawing.pens for mark in pen.marks]
    return lifted_way(marks, (drawing.bounds[0], drawing.bounds[3]))


def scribble(seed: int, count: int, dash: tuple[float, ...]) -> Pen:
    """A pen with marks of every kind, strewn over a sheet of 200 by 200 mm."""
    draw = random.Random(seed)
    marks: list[Mark] = []
    for number in range(count):
        x, y = draw.uniform(20, 180), draw.uniform(20, 180)
        points = tuple((x + draw.uniform(-20, 20), y + draw.uniform(-20, 20)) for _ in range(3))
        shape = circle((x, y), 5) if number % 5 == 1 else rounded_rectangle((x, y), 30, 20, 4)
        segments = shape.segments if number % 5 else shape.segments[:3]
        marks.append(Polyline(points) if number % 2 else Chain(segments, len(segments) != 3))
    return Pen(f"pen {seed}", 0.35, dash, tuple(marks))


@pytest.mark.parametrize("count", [1, 5, 12, 13, 80])
def test_every_mark_is_drawn_as_it_was(count: int) -> None:
    """Each pen keeps its marks, of broken lines their direction too, so that dashes lie where they lay."""
    pens = (scribble(1, count, ()), scribble(2, count, DASHES), Pen("idle", 0.18, (), ()))
    drawing = Drawing("t", "p", (0.0, 0.0, 200.0, 200.0), pens)
    made = short_way(drawing)
    assert [pen.name for pen in made.pens] == [pen.name for pen in pens]
    for before, after in zip(pens, made.pens, strict=True):
        assert inked(after) == inked(before)
        assert all(map(joined, after.marks))
    assert way_of(made) <= way_of(drawing) + 1e-6
    assert short_way(drawing) == made


def test_strokes_are_drawn_from_the_end_that_is_near() -> None:
    """Two parallel strokes that were drawn the same way are drawn to and fro."""
    strokes = (Polyline(((0.0, 90.0), (90.0, 90.0))), Polyline(((0.0, 80.0), (90.0, 80.0))))
    (pen,) = short_way(Drawing("t", "p", (0.0, 0.0, 100.0, 100.0), (Pen("a", 0.35, (), strokes),))).pens
    assert pen.marks == (strokes[0], Polyline(strokes[1].points[::-1]))


def test_the_pen_of_a_sample_travels_a_third_less(request: pytest.FixtureRequest) -> None:
    """A drawing with a thousand strokes of lettering: the way above the paper is at least a third shorter."""
    job = read_job(request.config.rootpath / "sample_jobs" / "headphone_amplifier.toml")
    drawing = draw_panel(lay_out(job).panels[0], job.title, job.units)
    made = short_way(drawing)
    assert [inked(pen) for pen in made.pens] == [inked(pen) for pen in drawing.pens]
    assert way_of(made) < 2 / 3 * way_of(drawing)

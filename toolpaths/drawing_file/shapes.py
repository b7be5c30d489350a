"""Runs to closed contours, and what cannot be one: open, forked, doubled, crossing itself, one within another."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from toolpaths.drawing_file.contents import Faults, Place, Run, Shape
from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.join import closed_run, doubles, joined
from toolpaths.geometry.segment import TURN, XY, Arc, Segment
from toolpaths.geometry.within import encloses, meets_itself, near_pairs
from toolpaths.tolerance import DRAWN_CURVE, JOIN_GAP, SAME_END, SAME_POINT
from toolpaths.units import plain


def closed_shapes(runs: Sequence[Run], gap: float, scale: float, faults: Faults) -> list[Shape]:
    """Every closed contour, in the order of the drawing; what is wrong goes to ``faults``.

    Runs are joined within their layer. ``scale`` is mm in a unit of the drawing, which places are told in.
    """
    twice = min(gap, JOIN_GAP)
    whole = _once(runs, twice, faults)
    made: list[tuple[int, Shape]] = []
    open_runs: dict[str, list[int]] = defaultdict(list)
    for index, run in enumerate(whole):
        if math.dist(run.segments[0].start, run.segments[-1].end) <= SAME_END and _has_room(run.segments):
            made += _shape(index, closed_run([run.segments]), run.place, scale, faults)
        else:
            open_runs[run.place.layer.lower()].append(index)
    for indices in open_runs.values():
        made += _joined([(index, whole[index]) for index in indices], gap, scale, faults)
    shapes = [shape for _, shape in sorted(made, key=lambda pair: pair[0])]
    again = {late: first for first, late in doubles([shape.contour.segments for shape in shapes], twice)}
    for late, first in again.items():
        faults.mend(shapes[late].place, f"is drawn twice: it lies on {shapes[first].place}", "the second is left out")
    return [shape for index, shape in enumerate(shapes) if index not in again]


def islands(shapes: Sequence[Shape], faults: Faults) -> None:
    """Contours that lie within another: nothing would hold what stands between them."""
    for i, j in near_pairs([shape.contour.bounds for shape in shapes]):
        for inner, outer in ((shapes[i], shapes[j]), (shapes[j], shapes[i])):
            if abs(inner.contour.area) < abs(outer.contour.area) and _within(inner.contour, outer.contour):
                faults.add(
                    inner.place,
                    f"lies within another contour ({outer.place}), and nothing would hold what is cut free round it",
                    "name the layers that are to be read with layer = [...], or draw bridges",
                )


def outermost(shapes: Sequence[Shape]) -> Shape | None:
    """The contour that all others lie within; None where there is none."""
    largest = max(shapes, key=lambda shape: abs(shape.contour.area), default=None)
    others = [shape for shape in shapes if shape is not largest]
    if largest is None or not others:
        return None
    return largest if all(_within(shape.contour, largest.contour) for shape in others) else None


def _within(inner: Contour, outer: Contour) -> bool:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = inner.bounds, outer.bounds
    if ax0 < bx0 or ay0 < by0 or ax1 > bx1 or ay1 > by1:
        return False
    # of contours that cross one another one is not within the other: those are told as overlaps
    return all(encloses(outer, segment.point_at(segment.length * share)) for segment in inner.segments
               for share in (0.0, 0.5))  # fmt: skip


def _once(runs: Sequence[Run], within: float, faults: Faults) -> list[Run]:
    """The runs without those that lie on another."""
    again = {late: first for first, late in doubles([run.segments for run in runs], within)}
    for late, first in again.items():
        faults.mend(runs[late].place, f"is drawn twice: it lies on {runs[first].place}", "the second is left out")
    return [run for index, run in enumerate(runs) if index not in again]


def _has_room(segments: Sequence[Segment]) -> bool:
    return len(segments) > 1 or (isinstance(segments[0], Arc) and segments[0].is_circle)


def _joined(
    runs: Sequence[tuple[int, Run]], gap: float, scale: float, faults: Faults
) -> list[tuple[int, Shape]]:
    result = joined([run.segments for _, run in runs], gap)
    made: list[tuple[int, Shape]] = []
    for chain in result.closed:
        index, first = runs[min(chain.runs)]
        made += _shape(index, chain.segments, first.place, scale, faults)
    for branch in result.branches:
        names = ", ".join(f"{runs[run][1].place.kind} #{runs[run][1].place.handle}" for run in branch.runs[:4])
        said = f"{len(branch.runs)} lines or arcs meet in one point ({names}): no contour goes on from there"
        faults.add(_moved(runs[branch.runs[0]][1].place, branch.at, scale), said, "correct it in the drawing")
    for loose in result.loose:
        if faults.enough:  # counted; where the nearest end is, is not asked for thousands of them
            faults.add(None, "is open")
            continue
        away = result.from_end_to_end(loose)
        (ax, ay), (bx, by) = (_own(end, scale) for end in loose.ends)
        ends = f"({plain(ax)}, {plain(ay)}) and ({plain(bx)}, {plain(by)})"
        faults.add(
            _moved(runs[loose.runs[0]][1].place, loose.ends[0], scale),
            f"is open: its ends are at {ends}, and the nearest loose end is {plain(away)} mm away",
            f"close it in the drawing, or say gap = {plain(math.ceil(away * 1000) / 1000)}" if away <= 10 * gap
            else "close it in the drawing, or name the layers that are to be read with layer = [...]",
        )  # fmt: skip
    return made


def _shape(
    index: int, segments: Sequence[Segment], place: Place, scale: float, faults: Faults
) -> list[tuple[int, Shape]]:
    """The contour of a closed chain, counter-clockwise, in a list; empty where it is none."""
    try:
        contour = Contour(tuple(segments))
    except GeometryError as error:
        faults.add(place, str(error), "correct it in the drawing")
        return []
    crossing = meets_itself(contour)
    if crossing is not None:
        x, y = _own(crossing, scale)
        said = f"crosses or touches itself at ({plain(x)}, {plain(y)})"
        faults.add(place, said, "correct it in the drawing")
        return []
    if abs(contour.area) <= SAME_POINT * contour.perimeter + 1e-6:
        faults.add(place, "encloses no area", "correct it in the drawing")
        return []
    right = contour if contour.area > 0 else contour.reversed()
    return [(index, Shape(right, place, as_circle(right)))]


def as_circle(contour: Contour) -> tuple[XY, float] | None:
    """Centre and diameter of a contour that is round to DRAWN_CURVE, however many arcs it has; else None."""
    arcs = [segment for segment in contour.segments if isinstance(segment, Arc)]
    if len(arcs) != len(contour.segments) or any(arc.ccw != arcs[0].ccw for arc in arcs):
        return None
    if len(arcs) == 1:
        return arcs[0].centre, 2 * arcs[0].radius
    if abs(sum(arc.sweep for arc in arcs) - TURN) > 1e-3:
        return None
    whole = contour.perimeter
    x = sum(arc.centre[0] * arc.length for arc in arcs) / whole
    y = sum(arc.centre[1] * arc.length for arc in arcs) / whole
    radius = sum(arc.radius * arc.length for arc in arcs) / whole
    off = max(math.dist(arc.centre, (x, y)) + abs(arc.radius - radius) for arc in arcs)
    return ((x, y), 2 * radius) if off <= DRAWN_CURVE else None


def _own(point: XY, scale: float) -> XY:
    return point[0] / scale, point[1] / scale


def _moved(place: Place, point: XY, scale: float) -> Place:
    return Place(place.layer, place.kind, place.handle, place.block, _own(point, scale))



"""Engraved legends: the tip of an engraver runs along every designed stroke, at the designed depth, and nowhere else.

A groove is its tip's way swept with its cone. So it is enough to hold way against stroke, both ways: what was cut lies
on a stroke, and every stroke was cut, within PIECE of the groove's edge; what the tip goes too deep widens the groove
by so much times the tangent of half its angle, and counts in that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from toolpaths.geometry.judge import faceted
from toolpaths.geometry.segment import Arc, Segment
from toolpaths.layout.panel import Legend
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import FACET_SAGITTA, PIECE, ROUNDING_MM, WIDEST_LINE
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work, radius_at, span_below
from toolpaths.verify.swept import Sweeps, facet_angle

if TYPE_CHECKING:
    from toolpaths.verify.piece import Place

LOST = 1e-4
"""mm; so little of a stroke that lies further than PIECE from every cut is arithmetic."""


@dataclass(slots=True)
class Groove:
    """A legend in program coordinates, ``lines`` its strokes, and the cuts along them."""

    legend: Legend
    depth: float
    lines: Any
    near: Any
    """All within PIECE of a stroke."""
    cuts: list[Move] = field(default_factory=list)

    @property
    def feature(self) -> str:
        """Its place in the job."""
        return self.legend.feature


@dataclass(slots=True)
class Grooves:
    """All that is to be engraved on the panel, found by place."""

    all: tuple[Groove, ...]
    tree: Any

    def along(self, path: Any, move: Move) -> Groove | None:
        """The legend along whose strokes an engraver's cut runs with all its way, or None."""
        if not self.all or move.cutter is None or move.cutter.kind != "engraver":
            return None
        near = (self.all[index] for index in sorted(self.tree.query(path, predicate="intersects")))
        return next((groove for groove in near if shapely.covers(groove.near, path)), None)


def grooves(work: Work) -> Grooves:
    """The engraved legends of the panel."""
    found = tuple(_groove(work, legend) for legend in work.panel.engraved)
    return Grooves(found, shapely.STRtree([groove.near for groove in found]))


def _groove(work: Work, legend: Legend) -> Groove:
    strokes = [_faceted(stroke) for stroke in work.panel.strokes_to_program(legend)]
    lines = shapely.multilinestrings(strokes)
    near = shapely.buffer(lines, PIECE, quad_segs=16)
    shapely.prepare(near)
    return Groove(legend, legend.depth or 0.0, lines, near)


def _faceted(stroke: tuple[Segment, ...]) -> Any:
    """A stroke as a line with corners on it."""
    points = [stroke[0].start]
    for segment in stroke:
        if isinstance(segment, Arc):
            count = max(1, math.ceil(segment.sweep / facet_angle(segment.radius, FACET_SAGITTA)))
            points += [segment.point_at(segment.length * step / count) for step in range(1, count)]
        points.append(segment.end)
    return shapely.LineString(points)


def judge_grooves(work: Work, found: Grooves, places: tuple[Place, ...], sweeps: Sweeps) -> None:
    """Everything wrong with what is engraved: too deep, beside a stroke, too wide, a stroke missing, a wall broken."""
    for groove in found.all:
        if not groove.cuts:
            work.notes.add("not-made", f"{groove.legend.name} is not engraved", feature=groove.feature)
            continue
        for move in groove.cuts:
            _judge_depth(work, groove, move, sweeps)
        _judge_width(work, groove)
        _judge_strokes(work, groove, sweeps)
        _judge_walls(work, groove, places)


def _slope(cutter: Cutter) -> float:
    return math.tan(cutter.point_angle / 2)


def _judge_depth(work: Work, groove: Groove, move: Move, sweeps: Sweeps) -> None:
    tell, cutter = work.tell, move.cutter
    assert cutter is not None
    over = -move.low - groove.depth
    name = groove.legend.name
    if over > PIECE:
        too_deep, most = tell.beyond(over, PIECE)
        work.notes.add(
            "overcut",
            f"{name} is engraved {tell.length(-move.low)} deep at {tell.place(*move.stroke.end[:2])}, "
            f"{too_deep} too deep; at most {most} is allowed",
            move=move, feature=groove.feature,
        )
        return
    widened = max(0.0, over) * _slope(cutter)
    path = sweeps.path(move.stroke)[1]
    aside = _furthest(path, groove.lines) if widened > ROUNDING_MM else 0.0
    if aside + widened > PIECE + ROUNDING_MM / 10:
        beyond, most = tell.beyond(aside + widened, PIECE)
        work.notes.add(
            "overcut",
            f"the groove of {name} is {beyond} beyond its edge at "
            f"{tell.place(*move.stroke.end[:2], move.low)}; at most {most} is allowed",
            move=move, feature=groove.feature,
        )


def _judge_width(work: Work, groove: Groove) -> None:
    """Another engraver leaves another line: it is compared where the groove is narrowest and where it is widest.

    Where no engraver was found for the design, its line is at least no wider than lettering bears.
    """
    tell, legend = work.tell, groove.legend
    firsts = {move.stroke.cutter: move for move in reversed(groove.cuts)}
    for number, move in sorted(firsts.items()):
        assert move.cutter is not None
        floor, top = move.cutter.width_at(0.0), move.cutter.width_at(groove.depth)
        most = WIDEST_LINE * legend.height
        designed = legend.groove or (floor, min(top, most))
        for where, width, right in (("floor", floor, designed[0]), ("mouth", top, designed[1])):
            if abs(width - right) > 2 * PIECE:
                work.notes.add(
                    "overcut" if width > right else "undercut",
                    f"the line of {legend.name} is {tell.length(width)} wide at its {where} with T{number}, not "
                    f"{tell.length(right)}",
                    move=move, feature=groove.feature,
                )


def _furthest(path: Any, lines: Any) -> float:
    """How far a path strays from the strokes, mm."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(path, 0.05) if path.length else path))
    return float(np.max(shapely.distance(points, lines)))


def _judge_strokes(work: Work, groove: Groove, sweeps: Sweeps) -> None:
    """Every stroke cut to its depth along its whole length."""
    tell = work.tell
    paths, reach = [], []
    for move in groove.cuts:
        assert move.cutter is not None
        span = span_below(move.stroke, -(groove.depth - PIECE))
        if span is None:
            continue
        is_even = move.upright or move.high - move.low <= ROUNDING_MM
        narrowed = (max(0.0, groove.depth + move.low) if is_even else PIECE) * _slope(move.cutter)
        if narrowed < PIECE:
            paths.append(sweeps.path(move.stroke, (0.0, 1.0) if move.upright else span)[1])
            reach.append(PIECE - narrowed)
    covered = overlay.union_all(list(shapely.buffer(paths, reach, quad_segs=16))) if paths else shapely.Polygon()
    left = shapely.difference(groove.lines, covered)
    if left.length <= LOST:
        return
    x, y = shapely.get_coordinates(left)[0]
    deepest = min(groove.cuts, key=lambda move: move.low)
    shallow = -deepest.low < groove.depth - PIECE
    said = f"is only {tell.length(-deepest.low)} deep, not {tell.length(groove.depth)}" if shallow else (
        f"lacks {tell.length(float(left.length))} of its strokes, first at {tell.place(x, y)}: not cut "
        f"{tell.length(groove.depth)} deep, or beside its place"
    )
    work.notes.add("undercut", f"{groove.legend.name} {said}", move=deepest, feature=groove.feature)


def _judge_walls(work: Work, groove: Groove, places: tuple[Place, ...]) -> None:
    """No groove breaks into an opening or over the panel's edge."""
    tell = work.tell
    widest = max(groove.cuts, key=_half_width)
    half = _half_width(widest)
    x0, y0, x1, y1 = groove.lines.bounds
    around = x0 - half, y0 - half, x1 + half, y1 + half
    for spot in places:
        if spot.is_mark or spot.opening.outside or not spot.box_meets(around):
            continue
        if not shapely.dwithin(spot.area, groove.lines, half - PIECE):
            continue
        x, y = shapely.get_coordinates(shapely.shortest_line(spot.area, groove.lines))[0]
        work.notes.add(
            "overcut",
            f"the groove of {groove.legend.name} breaks into {spot.opening.tag or spot.opening.feature} at "
            f"{tell.place(x, y)}",
            move=widest, feature=groove.feature,
        )
    panel = faceted(work.panel.contour_to_program(work.panel.outline))
    if not shapely.covers(panel, groove.lines) or shapely.dwithin(panel.exterior, groove.lines, half - PIECE):
        x, y = shapely.get_coordinates(shapely.shortest_line(panel.exterior, groove.lines))[0]
        work.notes.add(
            "overcut", f"the groove of {groove.legend.name} breaks over the panel's edge at {tell.place(x, y)}",
            move=widest, feature=groove.feature,
        )


def _half_width(move: Move) -> float:
    return radius_at(move.cutter, move.low, 0.0) if move.cutter else 0.0

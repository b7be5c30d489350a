"""The piece in hand: what the cuts leave, held against the design within PIECE.

Flat cutters clear at every height above their tip, so what is gone at the bottom of the sheet is gone above it:
nothing too much is judged at the top of the sheet (where cones are widest), nothing too little at its bottom.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import shapely

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.geometry.segment import Arc
from toolpaths.layout.panel import Opening
from toolpaths.tolerance import LEAST_FRAME, PIECE
from toolpaths.verify.corners import sharp_corner_remains
from toolpaths.verify.moves import SKIN, Move, Work, num, place, radius_at, span_below
from toolpaths.verify.outline import beside_panel, bites_panel, frame_left
from toolpaths.verify.swept import Sweeps, disc, pieces
from toolpaths.verify.wall import judge_wall

MARK_DEEPEST = 0.5
"""A centre mark is at most this deep, mm, and at most MARK_SHARE of the sheet."""

MARK_SHARE = 0.4
MARK_WIDEST = 2.0
"""A centre mark is at most this wide, mm."""

SPECK = 1e-6
"""mm²; an area below this is arithmetic."""


@dataclass(slots=True)
class Place:
    """One opening in program coordinates and the cuts that go through it.

    ``area`` is what is to be open, ``limit`` the most that may be; both None for a mark.
    """

    opening: Opening
    contour: Contour | None
    area: Any
    limit: Any
    marks: tuple[tuple[float, float], ...]
    cuts: list[Move] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Scene:
    """All places, and which of them each cut works in (by its place in the order of moves)."""

    places: tuple[Place, ...]
    place: dict[int, Place]
    sweeps: Sweeps

    def feature(self, move: Move) -> str:
        """The feature that a cut works on; empty for a rapid, a stray cut, or a cut above the sheet."""
        spot = self.place.get(move.order)
        return spot.opening.feature if spot else ""


def judge_piece(work: Work) -> Scene:
    """Overcut, stray cuts, undercut, tabs, missing openings and marks; gives back who works where."""
    sweeps = Sweeps()
    places = tuple(_place(work, opening) for opening in work.panel.work)
    place_of = _judge_too_much(work, places, sweeps)
    for spot in places:
        if spot.area is None:
            _judge_marks(work, spot)
        else:
            _judge_made(work, spot, sweeps)
    return Scene(places, place_of, sweeps)


def _place(work: Work, opening: Opening) -> Place:
    panel = work.panel
    marks = tuple(panel.to_program(mark) for mark in opening.marks)
    if opening.cut is None:
        return Place(opening, None, None, None, marks or (panel.to_program(opening.centre),))
    contour = panel.contour_to_program(opening.cut)
    if opening.outside:
        area, limit = beside_panel(work, contour)
        return Place(opening, contour, area, limit, marks)
    area = _area(contour)
    limit = area
    if opening.tolerance > 0 and opening.cut_diameter is not None and opening.finish == "machine":
        limit = disc(panel.to_program(opening.centre), (opening.cut_diameter + opening.tolerance) / 2)
    shapely.prepare([area, limit])
    return Place(opening, contour, area, limit, marks)


def _area(contour: Contour) -> Any:
    first = contour.segments[0]
    if len(contour.segments) == 1 and isinstance(first, Arc):
        return disc(first.centre, first.radius)
    return faceted(contour)


def mark_depth(thickness: float) -> float:
    """The deepest that a centre mark may go into a sheet of ``thickness``, mm."""
    return min(MARK_DEEPEST, MARK_SHARE * thickness)


# --- too much ------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Kerf:
    """Cuts that share one path and one radius at the top of the sheet."""

    path: Any
    radius: float
    moves: list[Move]


def _judge_too_much(work: Work, places: tuple[Place, ...], sweeps: Sweeps) -> dict[int, Place]:
    kerfs = _kerfs(work, sweeps)
    place_of: dict[int, Place] = {}
    if not kerfs:
        return place_of
    paths = [kerf.path for kerf in kerfs]
    shapely.prepare(paths)
    met: list[list[Place]] = [[] for _ in kerfs]
    cut_places = [spot for spot in places if spot.area is not None]
    if cut_places:
        tree = shapely.STRtree([spot.limit for spot in cut_places])
        for index, other in zip(*tree.query(paths, predicate="intersects"), strict=True):
            met[index].append(cut_places[other])
    marked = [spot for spot in places if spot.area is None]
    for kerf, spots in zip(kerfs, met, strict=True):
        mark = None if spots else _mark_of(kerf, marked)
        own = spots or ([mark] if mark else [])
        for spot in own:
            spot.cuts += kerf.moves
        if own:
            place_of.update((move.order, own[0]) for move in kerf.moves)
        if spots:
            if not any(_inside(kerf, spot) for spot in spots):
                if spots[0].opening.outside and not bites_panel(work, kerf.path, kerf.radius):
                    _tell_frame(work, kerf)
                    continue
                _tell_overcut(work, kerf, spots[0])
        elif mark:
            _judge_mark_size(work, kerf, mark)
        else:
            _tell_stray(work, kerf)
    for spot in places:
        spot.cuts.sort(key=lambda move: move.order)
    return place_of


def _kerfs(work: Work, sweeps: Sweeps) -> list[_Kerf]:
    found: dict[Any, _Kerf] = {}
    for move in work.cuts:
        if move.cutter is None:
            continue
        span = span_below(move.stroke, -SKIN)
        if span is None:
            continue
        key, path = sweeps.path(move.stroke, (0.0, 1.0) if move.upright else span)
        radius = radius_at(move.cutter, move.low, 0.0)
        kerf = found.get((key, radius))
        if kerf is None:
            found[key, radius] = _Kerf(path, radius, [move])
        else:
            kerf.moves.append(move)
    return list(found.values())


def _inside(kerf: _Kerf, spot: Place) -> bool:
    """Whether all that it clears lies in the opening, grown by PIECE."""
    if not shapely.covers(spot.limit, kerf.path):
        return False
    keep = kerf.radius - PIECE
    if keep <= 0:
        return True
    wall = spot.limit.boundary if spot.opening.outside else spot.limit.exterior
    return not shapely.dwithin(kerf.path, wall, keep - 1e-9)


def _tell_frame(work: Work, kerf: _Kerf) -> None:
    move = kerf.moves[0]
    left = frame_left(work, kerf.path, kerf.radius)
    x, y = shapely.get_coordinates(kerf.path)[-1]
    work.notes.add(
        "stray-cut",
        f"the cutter leaves {num(max(left, 0.0))} mm of the frame that carries the panel, at {place(x, y, move.low)}; "
        f"at least {num(LEAST_FRAME)} mm must stay",
        move=move, feature="outline",
    )


def _tell_overcut(work: Work, kerf: _Kerf, spot: Place) -> None:
    wall = spot.limit.boundary if spot.opening.outside else spot.limit.exterior
    if shapely.covers(spot.limit, kerf.path):
        amount = kerf.radius - shapely.distance(wall, kerf.path)
        line = shapely.shortest_line(wall, kerf.path)
        x, y = shapely.get_coordinates(line)[0]
    else:
        ends = shapely.points(shapely.get_coordinates(kerf.path))
        gaps = [
            float(shapely.distance(wall, end)) * (-1 if shapely.covers(spot.limit, end) else 1) for end in ends
        ]
        farthest = max(range(len(gaps)), key=lambda index: gaps[index])
        amount = gaps[farthest] + kerf.radius
        x, y = shapely.get_coordinates(ends[farthest])[0]
    opening = spot.opening
    move = kerf.moves[0]
    work.notes.add(
        "overcut",
        f"the cutter (T{move.stroke.cutter}, {num(2 * kerf.radius)} mm wide at the sheet's top) cuts {num(amount)} mm "
        f"beyond the wall of {opening.tag or opening.feature} at {place(x, y, move.low)}; "
        f"at most {num(PIECE)} mm is allowed{_beside_tolerance(opening)}",
        move=move, feature=opening.feature,
    )


def _beside_tolerance(opening: Opening) -> str:
    return f" beyond its tolerance of {num(opening.tolerance)} mm" if opening.tolerance else ""


def _tell_stray(work: Work, kerf: _Kerf) -> None:
    move = kerf.moves[0]
    x, y = shapely.get_coordinates(kerf.path)[-1]
    work.notes.add(
        "stray-cut", f"the cutter cuts the sheet where nothing is to be cut, at {place(x, y, move.low)}",
        move=move, tell=3,
    )


# --- marks ---------------------------------------------------------------------------------------------------


def _mark_of(kerf: _Kerf, marked: list[Place]) -> Place | None:
    """The mark whose permitted disc the cut at least touches."""
    for spot in marked:
        for mark in spot.marks:
            if shapely.distance(kerf.path, shapely.Point(mark)) <= MARK_WIDEST / 2:
                return spot
    return None


def _judge_mark_size(work: Work, kerf: _Kerf, spot: Place) -> None:
    deepest = mark_depth(work.panel.thickness)
    lowest = min(kerf.moves, key=lambda move: move.low)
    feature = spot.opening.feature
    if -lowest.low > deepest + PIECE:
        work.notes.add(
            "overcut", f"the centre mark is {num(-lowest.low)} mm deep; in this sheet at most {num(deepest)} mm",
            move=lowest, feature=feature,
        )
    reach = min(shapely.hausdorff_distance(kerf.path, shapely.Point(mark)) for mark in spot.marks) + kerf.radius
    if reach > MARK_WIDEST / 2 + PIECE:
        work.notes.add(
            "overcut",
            f"the centre mark is {num(2 * reach)} mm wide at the top; at most {num(MARK_WIDEST)} mm is allowed",
            move=lowest, feature=feature,
        )


def _judge_marks(work: Work, spot: Place) -> None:
    for x, y in spot.marks:
        gaps = [(math.dist(move.stroke.end[:2], (x, y)), move) for move in spot.cuts if move.upright]
        near = min(gaps, key=lambda pair: pair[0], default=None)
        if near is not None and near[0] <= PIECE:
            continue
        feature = spot.opening.feature
        if near is not None and near[0] <= MARK_WIDEST / 2:
            work.notes.add(
                "overcut", f"the centre mark stands {num(near[0])} mm from its place {place(x, y)}",
                move=near[1], feature=feature,
            )
        else:
            work.notes.add("not-made", f"the centre mark at {place(x, y)} is missing", feature=feature)


# --- too little ----------------------------------------------------------------------------------------------


def _judge_made(work: Work, spot: Place, sweeps: Sweeps) -> None:
    opening, thickness = spot.opening, work.panel.thickness
    name = f"the {_words(opening)} at {place(*work.panel.to_program(opening.centre))}"
    if opening.outside:
        name = "the outline"
    if not spot.cuts:
        work.notes.add("not-made", f"{name} is missing: no cut goes into it", feature=opening.feature)
        return
    keys = sweeps.cleared(spot.cuts, -thickness)
    deepest = min(spot.cuts, key=lambda move: move.low)
    if not keys:
        if opening.finish == "pilot" and _is_mark(work, spot):
            work.notes.add(
                "pilot-method", f"{name} is a centre mark instead of a pilot hole: drill it by hand",
                feature=opening.feature, severity="note",
            )
            return
        work.notes.add(
            "undercut",
            f"{name} is not cut through: the deepest cut stops at Z{num(deepest.low)} in a sheet "
            f"{num(thickness)} mm thick",
            move=deepest, feature=opening.feature,
        )
        return
    gone = shapely.union_all(sweeps.areas(keys))
    inner = shapely.buffer(spot.area, -PIECE, quad_segs=16)
    allowed = sharp_corner_remains(spot.contour, spot.area, opening.corner_limit)
    if opening.cleared:
        _judge_cleared(work, spot, inner, allowed, gone, deepest, name)
    else:
        judge_wall(work, opening, spot.contour, spot.cuts, inner, allowed, gone, sweeps, name)


def _words(opening: Opening) -> str:
    what = opening.feature.partition("[")[0].replace("_", " ") or "opening"
    return f"{what} {opening.tag}".strip()


def _is_mark(work: Work, spot: Place) -> bool:
    """Whether all that was done is a centre mark at the pilot's place."""
    centre = work.panel.to_program(spot.opening.centre)
    return all(
        move.cutter is not None
        and move.upright
        and math.dist(move.stroke.end[:2], centre) <= PIECE
        and -move.low <= mark_depth(work.panel.thickness) + PIECE
        and radius_at(move.cutter, move.low, 0.0) <= MARK_WIDEST / 2 + PIECE
        for move in spot.cuts
    )


def _judge_cleared(
    work: Work, spot: Place, inner: Any, allowed: list[Any], gone: Any, deepest: Move, name: str
) -> None:
    left = shapely.difference(inner, gone)
    if allowed and not shapely.is_empty(left):
        left = shapely.difference(left, shapely.union_all(allowed))
    parts = [part for part in pieces(left) if part.area > SPECK]
    if not parts:
        return
    corners = shapely.points(shapely.get_coordinates(parts))
    gaps = shapely.distance(gone, corners)
    worst = int(gaps.argmax())
    x, y = shapely.get_coordinates(corners[worst])[0]
    area = sum(part.area for part in parts)
    work.notes.add(
        "undercut",
        f"{name} keeps material that should be gone: {num(float(gaps[worst]) + PIECE)} mm at {place(x, y)} "
        f"on its underside, {num(area)} mm² in all",
        move=deepest, feature=spot.opening.feature,
    )

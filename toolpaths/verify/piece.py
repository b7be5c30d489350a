"""The piece in hand: what the cuts leave, held against the design within PIECE.

Flat cutters clear at every height above their tip, so what is gone at the bottom of an opening is gone above it:
nothing too much is judged where the opening begins (where cones are widest), nothing too little at its bottom: that of
the sheet, or the floor of a blind opening. An opening that lies in the floor of a blind one begins there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np
import shapely

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.geometry.segment import Arc
from toolpaths.layout.panel import Opening
from toolpaths.tolerance import LEAST_FRAME, PIECE
from toolpaths.verify import overlay
from toolpaths.verify.alike import Lone, settled
from toolpaths.verify.corners import sharp_corner_remains
from toolpaths.verify.countersunk import judge_countersink
from toolpaths.verify.engraved import Groove, Grooves, grooves, judge_grooves
from toolpaths.verify.floor import bare, floor_region, judge_floor_depth, reaches
from toolpaths.verify.moves import Move, Notes, Work, radius_at, span_below
from toolpaths.verify.outline import beside_panel, bites_panel, frame_left
from toolpaths.verify.swept import Sweeps, disc, pieces
from toolpaths.verify.table import SKIN
from toolpaths.verify.wall import judge_wall

MARK_DEEPEST = 0.5
"""A centre mark is at most this deep, mm, and at most MARK_SHARE of the sheet."""

MARK_SHARE = 0.4
MARK_WIDEST = 2.0
"""A centre mark is at most this wide, mm."""

SPECK = 1e-6
"""mm²; an area below this is arithmetic."""


@dataclass(slots=True, eq=False)
class Place:
    """One opening in program coordinates and the cuts that go through it.

    ``floor`` is the depth of a blind one, ``top`` that of the floor which it begins at; ``around`` the blind opening of
    that floor, ``within`` what lies in its own. ``deep`` are cuts that go below the floor, ``cones`` those of
    countersinks, which are not among ``cuts``. ``settled``: one that is cut alike was judged, and nothing was said;
    then no cuts stand here.
    """

    opening: Opening
    work: Work
    marks: tuple[tuple[float, float], ...]
    box: tuple[float, float, float, float]
    """Round all that may be open, or round a mark, and PIECE more: x0, y0, x1, y1."""
    floor: float | None = None
    top: float = 0.0
    around: Place | None = None
    within: list[Place] = field(default_factory=list)
    cuts: list[Move] = field(default_factory=list)
    deep: list[Move] = field(default_factory=list)
    cones: list[Move] = field(default_factory=list)
    settled: bool = False
    _shape: tuple[Contour, Any, Any] | None = None

    @property
    def is_mark(self) -> bool:
        """Whether it is marked, and nothing is opened."""
        return self.opening.cut is None

    @property
    def contour(self) -> Contour:
        """What is to be open; of no mark."""
        return self._made()[0]

    @property
    def area(self) -> Any:
        """The area that is to be open; of no mark."""
        return self._made()[1]

    @property
    def limit(self) -> Any:
        """The most that may be open; of no mark."""
        return self._made()[2]

    def _made(self) -> tuple[Contour, Any, Any]:
        """Shapes are made when they are first asked for: of ten thousand holes that are cut alike, for one."""
        if self._shape is None:
            self._shape = _shape(self.work, self.opening)
        return self._shape

    def box_meets(self, box: tuple[float, float, float, float]) -> bool:
        """Whether its box meets another."""
        (x0, y0, x1, y1), (left, low, right, high) = self.box, box
        return x0 <= right and left <= x1 and y0 <= high and low <= y1

    def box_holds(self, x: float, y: float) -> bool:
        """Whether a point lies in its box."""
        return self.box_meets((x, y, x, y))

    def own_cuts(self) -> list[Move]:
        """The cuts that go below where it begins: a rebate's own cuts make nothing of what lies in its floor."""
        return [move for move in self.cuts if move.low < -self.top - SKIN]


@dataclass(frozen=True, slots=True)
class Scene:
    """All places, and which of them each cut works in (by its place in the order of moves)."""

    places: tuple[Place, ...]
    place: dict[int, Place]
    sweeps: Sweeps
    groove: dict[int, Groove] = field(default_factory=dict)
    """Which legend each cut engraves; such a cut works in no place."""
    like: dict[int, int] = field(default_factory=dict)
    """Of the cuts in settled places: the same number for the same cut of all places that are cut alike."""

    def feature(self, move: Move) -> str:
        """The feature that a cut works on; empty for a rapid, a stray cut, or a cut above the sheet."""
        spot = self.place.get(move.order)
        if spot:
            return spot.opening.feature
        groove = self.groove.get(move.order)
        return groove.feature if groove else ""


LocalJudge = Callable[[Work, Scene], None]
"""Judges what single openings say of themselves, from ``work.moves`` and the places of the scene."""


def judge_piece(work: Work, also: Sequence[LocalJudge] = ()) -> Scene:
    """Overcut, stray cuts, undercut, tabs, missing openings and marks; gives back who works where.

    A place is settled only where those ``also`` have nothing to say of its kind: they judge the scene after this.
    """
    places = tuple(_place(work, opening) for opening in work.panel.work)
    return _judge_places(work, places, grooves(work), settled(work, places, partial(_is_silent, work, also)))


def _is_silent(work: Work, also: Sequence[LocalJudge], lone: Lone) -> bool:
    """Whether nothing is to be said of one opening and its cuts, as if there were nothing else."""
    notes = Notes(work.panel.name, several=False)
    alone = replace(work, moves=tuple(lone.cuts), cuts=tuple(lone.cuts), notes=notes)
    scene = _judge_places(alone, (_place(alone, lone.spot.opening),), Grooves((), None), [])
    for judge in also:
        judge(alone, scene)
    return notes.count == 0


def _judge_places(work: Work, places: tuple[Place, ...], engraved: Grooves, done: Sequence[Sequence[Lone]]) -> Scene:
    sweeps = Sweeps()
    like: dict[int, int] = {}
    place_of: dict[int, Place] = {}
    for kind in done:
        first = len(like)
        for lone in kind:
            lone.spot.settled = True
            orders = [move.order for move in lone.cuts]
            like.update(zip(orders, range(first, first + len(orders)), strict=True))
            place_of.update(dict.fromkeys(orders, lone.spot))
    left = tuple(spot for spot in places if not spot.settled)
    _nest(left)
    place_of |= _judge_too_much(work, [move for move in work.cuts if move.order not in like], places, engraved, sweeps)
    for spot in left:
        if spot.is_mark:
            _judge_marks(work, spot)
        else:
            _judge_made(work, spot, sweeps)
            judge_countersink(work, spot, sweeps)
    judge_grooves(work, engraved, places, sweeps)
    groove_of = {move.order: groove for groove in engraved.all for move in groove.cuts}
    return Scene(places, place_of, sweeps, groove_of, like)


def _place(work: Work, opening: Opening) -> Place:
    panel = work.panel
    marks = tuple(panel.to_program(mark) for mark in opening.marks)
    if opening.cut is None:
        marks = marks or (panel.to_program(opening.centre),)
        return Place(opening, work, marks, _grown(_round(marks), MARK_WIDEST / 2 + PIECE))
    box = panel.area_to_program(panel.stock if opening.outside else opening.cut.bounds)
    floor = opening.depth if opening.blind else None
    return Place(opening, work, marks, _grown(box, opening.tolerance / 2 + PIECE), floor)


def _round(points: Sequence[tuple[float, float]]) -> tuple[float, float, float, float]:
    x, y = zip(*points, strict=True)
    return min(x), min(y), max(x), max(y)


def _grown(box: tuple[float, float, float, float], by: float) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = box
    return x0 - by, y0 - by, x1 + by, y1 + by


def _shape(work: Work, opening: Opening) -> tuple[Contour, Any, Any]:
    """What is to be open, as a contour and as an area, and the most that may be."""
    assert opening.cut is not None
    panel = work.panel
    contour = panel.contour_to_program(opening.cut)
    if opening.outside:
        return contour, *beside_panel(work, contour)
    area = _area(contour)
    limit = area
    if opening.tolerance > 0 and opening.cut_diameter is not None and opening.finish == "machine":
        limit = disc(panel.to_program(opening.centre), (opening.cut_diameter + opening.tolerance) / 2)
    shapely.prepare([area, limit])
    return contour, area, limit


def _nest(places: tuple[Place, ...]) -> None:
    """Finds what lies in the floor of a blind opening: wholly within it, and deeper."""
    blind = [spot for spot in places if spot.floor is not None]
    if not blind:
        return
    index, other = _boxes(blind).query(shapely.box(*np.array([spot.box for spot in places]).T))
    pairs = zip(index.tolist(), other.tolist(), strict=True)
    inner = [places[one] for one in sorted({one for one, two in pairs if places[one] is not blind[two]})]
    if not inner:
        return
    tree = shapely.STRtree([spot.area for spot in blind])
    shapes = [shapely.buffer(_footprint(spot), -2 * PIECE, quad_segs=16) for spot in inner]
    for index, other in zip(*tree.query(shapes, predicate="covered_by"), strict=True):
        spot, outer = inner[index], blind[other]
        floor = outer.floor or 0.0
        deeper = spot is not outer and (spot.floor is None or spot.floor > floor + PIECE)
        if deeper and floor > spot.top and (spot.is_mark or spot.area.area < outer.area.area):
            spot.top, spot.around = floor, outer
    for spot in inner:
        if spot.around is not None:
            spot.around.within.append(spot)


def _footprint(spot: Place) -> Any:
    return overlay.union_all([disc(at, MARK_WIDEST / 2) for at in spot.marks]) if spot.is_mark else spot.area


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
    inside: dict[tuple[int, float], bool] = field(default_factory=dict)


def _judge_too_much(
    work: Work, cuts: Sequence[Move], places: tuple[Place, ...], engraved: Grooves, sweeps: Sweeps
) -> dict[int, Place]:
    kerfs = _kerfs(cuts, sweeps)
    place_of: dict[int, Place] = {}
    if not kerfs:
        return place_of
    paths = [kerf.path for kerf in kerfs]
    shapely.prepare(paths)
    met, marks = _met(paths, places)
    for kerf, spots, marked in zip(kerfs, met, marks, strict=True):
        if not _engraves(kerf, engraved):
            _judge_kerf(work, kerf, spots, marked, place_of)
    for spot in places:
        spot.cuts.sort(key=lambda move: move.order)
    return place_of


def _met(paths: list[Any], places: tuple[Place, ...]) -> tuple[list[list[Place]], list[list[Place]]]:
    """For each path the openings that it goes through, and the marks near it, these in their order.

    The settled are looked up too, though no path comes near one: which opening is named first among several that one
    cut spoils does not depend on what is settled.
    """
    met: list[list[Place]] = [[] for _ in paths]
    near: list[list[Place]] = [[] for _ in paths]
    lines = np.array(paths)
    openings, marks = [spot for spot in places if not spot.is_mark], [spot for spot in places if spot.is_mark]
    if openings:
        path, place = _boxes(openings).query(lines)
        limits = np.array([openings[index].limit for index in place], dtype=object)
        kept = shapely.intersects(lines[path], limits)
        for index, other in zip(path[kept].tolist(), place[kept].tolist(), strict=True):
            met[index].append(openings[other])
    if marks:
        for index, other in sorted(zip(*_boxes(marks).query(lines).tolist(), strict=True)):
            near[index].append(marks[other])
    return met, near


def _boxes(places: Sequence[Place]) -> Any:
    """The boxes of some places, to look them up by."""
    return shapely.STRtree(shapely.box(*np.array([spot.box for spot in places]).T))


def _engraves(kerf: _Kerf, engraved: Grooves) -> bool:
    """Whether a kerf's cuts run along the strokes of a legend: then they are that legend's."""
    groove = engraved.along(kerf.path, kerf.moves[0])
    if groove is None:
        return False
    groove.cuts += kerf.moves
    return True


def _judge_kerf(
    work: Work, kerf: _Kerf, spots: list[Place], marked: list[Place], place_of: dict[int, Place]
) -> None:
    """Gives the cuts of one kerf to the openings that they go through, and says which belong nowhere."""
    told = False
    for move in kerf.moves:
        sunk = next((spot for spot in spots if _countersinks(spot, move)), None)
        if sunk is not None:
            sunk.cones.append(move)
            place_of[move.order] = sunk
            continue
        for spot in spots:
            spot.cuts.append(move)
        sideways = [spot for spot in spots if _fits(kerf, move, spot)]
        fitting = [spot for spot in sideways if reaches(spot.floor, move)]
        marks = [] if fitting else _marks_of(kerf, move, marked)
        if fitting:
            # the shallowest: in the air of a rebate a cut is the rebate's; and the smallest: an index hole in waste
            place_of[move.order] = min(fitting, key=lambda spot: (_floor_of(spot), spot.area.area))
        elif marks and (not spots or marks[0].top > 0):
            for mark in marks:
                mark.cuts.append(move)
            place_of[move.order] = marks[0]
            _judge_mark_size(work, kerf, move, marks[0])
        elif sideways:
            deepest = max(sideways, key=_floor_of)
            deepest.deep.append(move)
            place_of[move.order] = deepest
        elif spots:
            spot = max(spots, key=lambda spot: (reaches(spot.floor, move), -_floor_of(spot)))
            place_of[move.order] = spot
            if not told and spots[0].opening.outside and not bites_panel(work, kerf.path, kerf.radius):
                _tell_frame(work, kerf)
            elif not told:
                _tell_overcut(work, kerf, move, spot)
            told = True
        else:
            if not told:
                _tell_stray(work, kerf, move)
            told = True


def _floor_of(spot: Place) -> float:
    return math.inf if spot.floor is None else spot.floor


def _countersinks(spot: Place, move: Move) -> bool:
    """Whether it is the cut of a countersink in a hole that is to have one."""
    cutter, opening = move.cutter, spot.opening
    return (
        cutter is not None and cutter.kind == "countersink"
        and opening.countersink is not None and opening.finish == "machine"
    )


def _fits(kerf: _Kerf, move: Move, spot: Place) -> bool:
    """Whether all that a cut clears lies in the opening where that begins, and in the rebates above it."""
    if move.cutter is None:
        return False
    inside = _inside(kerf, radius_at(move.cutter, move.low, -spot.top), spot)
    return inside and (spot.around is None or _fits(kerf, move, spot.around))


def _kerfs(cuts: Sequence[Move], sweeps: Sweeps) -> list[_Kerf]:
    found: dict[Any, _Kerf] = {}
    for move in cuts:
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


def _inside(kerf: _Kerf, radius: float, spot: Place) -> bool:
    """Whether a cut of ``radius`` along the kerf lies in the opening, grown by PIECE."""
    known = kerf.inside.get((id(spot), radius))
    if known is None:
        known = shapely.covers(spot.limit, kerf.path) and (
            radius <= PIECE or not shapely.dwithin(kerf.path, _wall(spot), radius - PIECE - 1e-9)
        )
        kerf.inside[id(spot), radius] = known
    return bool(known)


def _wall(spot: Place) -> Any:
    return spot.limit.boundary if spot.opening.outside else spot.limit.exterior


def _tell_frame(work: Work, kerf: _Kerf) -> None:
    tell = work.tell
    move = kerf.moves[0]
    left = frame_left(work, kerf.path, kerf.radius)
    x, y = shapely.get_coordinates(kerf.path)[-1]
    stays, least = tell.beyond(max(float(left), 0.0), LEAST_FRAME)
    work.notes.add(
        "stray-cut",
        f"the cutter leaves {stays} of the frame that carries the panel, at "
        f"{tell.place(x, y, move.low)}; at least {least} must stay",
        move=move, feature="outline",
    )


def _tell_overcut(work: Work, kerf: _Kerf, move: Move, spot: Place) -> None:
    tell = work.tell
    wall = _wall(spot)
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
    beyond, most = tell.beyond(float(amount), PIECE)
    work.notes.add(
        "overcut",
        f"the cutter (T{move.stroke.cutter}, {tell.length(2 * kerf.radius)} wide at the sheet's top) cuts "
        f"{beyond} beyond the wall of {opening.tag or opening.feature} at {tell.place(x, y, move.low)}; "
        f"at most {most} is allowed{_beside_tolerance(work, opening)}",
        move=move, feature=opening.feature,
    )


def _beside_tolerance(work: Work, opening: Opening) -> str:
    return f" beyond its tolerance of {work.tell.length(opening.tolerance)}" if opening.tolerance else ""


def _tell_stray(work: Work, kerf: _Kerf, move: Move) -> None:
    x, y = shapely.get_coordinates(kerf.path)[-1]
    work.notes.add(
        "stray-cut", f"the cutter cuts the sheet where nothing is to be cut, at {work.tell.place(x, y, move.low)}",
        move=move, tell=3,
    )


# --- marks ---------------------------------------------------------------------------------------------------


def _marks_of(kerf: _Kerf, move: Move, marked: list[Place]) -> list[Place]:
    """The marks whose permitted disc the cut at least touches, below where the mark begins; the nearest first.

    There may be several: a hole and the rebate round it have their marks at one place.
    """
    x0, y0, x1, y1 = shapely.bounds(kerf.path)
    reach = MARK_WIDEST / 2
    found: list[tuple[float, int, Place]] = []
    for number, spot in enumerate(marked):
        if move.low >= -spot.top - SKIN:
            continue
        near = [(x, y) for x, y in spot.marks if x0 - reach <= x <= x1 + reach and y0 - reach <= y <= y1 + reach]
        away = min((float(shapely.distance(kerf.path, shapely.Point(mark))) for mark in near), default=math.inf)
        if away <= reach:
            found.append((away, number, spot))
    return [spot for _, _, spot in sorted(found, key=lambda one: one[:2])]


def _judge_mark_size(work: Work, kerf: _Kerf, move: Move, spot: Place) -> None:
    tell = work.tell
    deepest = mark_depth(work.panel.thickness - spot.top)
    deep = -move.low - spot.top
    feature = spot.opening.feature
    if deep > deepest + PIECE:
        work.notes.add(
            "overcut", f"the centre mark is {tell.length(deep)} deep; in this sheet at most {tell.length(deepest)}",
            move=move, feature=feature,
        )
    radius = radius_at(move.cutter, move.low, -spot.top) if move.cutter else 0.0
    reach = min(shapely.hausdorff_distance(kerf.path, shapely.Point(mark)) for mark in spot.marks) + radius
    if reach > MARK_WIDEST / 2 + PIECE:
        work.notes.add(
            "overcut",
            f"the centre mark is {tell.length(2 * reach)} wide at the top; at most {tell.length(MARK_WIDEST)} is "
            "allowed",
            move=move, feature=feature,
        )


def _judge_marks(work: Work, spot: Place) -> None:
    tell = work.tell
    for x, y in spot.marks:
        gaps = [(math.dist(move.stroke.end[:2], (x, y)), move) for move in spot.own_cuts() if move.upright]
        near = min(gaps, key=lambda pair: pair[0], default=None)
        if near is not None and near[0] <= PIECE:
            continue
        feature = spot.opening.feature
        if near is not None and near[0] <= MARK_WIDEST / 2:
            work.notes.add(
                "overcut", f"the centre mark stands {tell.length(near[0])} from its place {tell.place(x, y)}",
                move=near[1], feature=feature,
            )
        else:
            work.notes.add("not-made", f"the centre mark at {tell.place(x, y)} is missing", feature=feature)


# --- too little ----------------------------------------------------------------------------------------------


def _judge_made(work: Work, spot: Place, sweeps: Sweeps) -> None:
    tell = work.tell
    opening = spot.opening
    name = f"the {_words(opening)} at {tell.place(*work.panel.to_program(opening.centre))}"
    if opening.outside:
        name = "the outline"
    cuts = spot.own_cuts()
    if not cuts:
        work.notes.add("not-made", f"{name} is missing: no cut goes into it", feature=opening.feature)
        return
    deepest = min(cuts, key=lambda move: move.low)
    inner = shapely.buffer(spot.area, -PIECE, quad_segs=16)
    allowed = sharp_corner_remains(spot.contour, spot.area, opening.corner_limit)
    if spot.floor is not None:
        judge_floor_depth(work, spot, spot.floor)
        inner = floor_region(inner, [other.area for other in spot.within if not other.is_mark])
        gone = bare(spot, sweeps, spot.floor)
        if gone:
            _judge_cleared(work, spot, inner, allowed, overlay.union_all(gone), deepest, name)
        else:
            said = f"{name} is too shallow: the deepest cut stops at {tell.z(deepest.low)} of {tell.length(spot.floor)}"
            work.notes.add("undercut", said, move=deepest, feature=opening.feature)
        return
    keys = sweeps.cleared(cuts, -work.panel.thickness)
    if keys:
        gone = overlay.union_all(sweeps.areas(keys))
        if opening.cleared:
            _judge_cleared(work, spot, inner, allowed, gone, deepest, name)
        else:
            judge_wall(work, opening, spot.contour, spot.cuts, spot.area, inner, allowed, gone, sweeps, name)
    elif opening.finish == "pilot" and _is_mark(work, spot):
        work.notes.add(
            "pilot-method", f"{name} is a centre mark instead of a pilot hole: drill it by hand",
            feature=opening.feature, severity="note",
        )
    else:
        work.notes.add(
            "undercut",
            f"{name} is not cut through: the deepest cut stops at {tell.z(deepest.low)} in a sheet "
            f"{tell.length(work.panel.thickness)} thick",
            move=deepest, feature=opening.feature,
        )


def _words(opening: Opening) -> str:
    return " ".join(dict.fromkeys((opening.kind.replace("_", " "), opening.tag)))


def _is_mark(work: Work, spot: Place) -> bool:
    """Whether all that was done is a centre mark at the pilot's place."""
    centre = work.panel.to_program(spot.opening.centre)
    return all(
        move.cutter is not None
        and move.upright
        and math.dist(move.stroke.end[:2], centre) <= PIECE
        and -move.low - spot.top <= mark_depth(work.panel.thickness - spot.top) + PIECE
        and radius_at(move.cutter, move.low, -spot.top) <= MARK_WIDEST / 2 + PIECE
        for move in spot.own_cuts()
    )


def _judge_cleared(
    work: Work, spot: Place, inner: Any, allowed: list[Any], gone: Any, deepest: Move, name: str
) -> None:
    tell = work.tell
    left = overlay.difference(inner, gone)
    if allowed and not shapely.is_empty(left):
        left = overlay.difference(left, overlay.union_all(allowed))
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
        f"{name} keeps material that should be gone: {tell.length(float(gaps[worst]) + PIECE)} at {tell.place(x, y)} "
        f"on its {'underside' if spot.floor is None else 'floor'}, {tell.area(area)} in all",
        move=deepest, feature=spot.opening.feature,
    )

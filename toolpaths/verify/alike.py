"""Openings that are cut alike: one of a kind is judged for all, and where nothing is said of it, all are settled.

An opening stands alone where no other comes near it and no cut near it comes near another. What is judged of it by
itself then depends on its design and on these cuts alone, seen from its centre. Two such openings are alike where both
are the same: the design but for name and place, and stroke by stroke in order of time X and Y of the ends and of the
centre to within ALIKE, and Z, the way round, the feed, the speed and the cutter exactly. Where anything is to be said
of one, all of its kind are judged one by one, so nothing that is said depends on this.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.layout.panel import Opening
from toolpaths.tolerance import ALIKE, PIECE, SAME_POINT
from toolpaths.verify.moves import Move, Work

if TYPE_CHECKING:
    from toolpaths.verify.piece import Place

AT_ONCE = 50_000
"""So many cuts are looked up at a time: a box for each of a million would take more room than all else."""

BY_PLACE = frozenset({"tag", "feature", "label", "centre", "shape", "cut", "marks", "drawn", "component", "corners"})
"""What of a design is name or place: its shape and its marks are compared as seen from its centre."""

DESIGN = tuple(field.name for field in dataclasses.fields(Opening) if field.name not in BY_PLACE)


@dataclass(frozen=True, slots=True)
class Lone:
    """An opening that stands alone, with the cuts near it in order of time."""

    spot: Place
    cuts: list[Move]


def settled(work: Work, places: Sequence[Place], is_silent: Callable[[Lone], bool]) -> list[list[Lone]]:
    """The openings, by kinds, that are settled by the first of their kind, of which ``is_silent`` finds nothing to say.

    All of a kind have the same cuts in the same order.
    """
    return [kind for kind in _kinds(work, places) if len(kind) > 1 and is_silent(kind[0])]


def _kinds(work: Work, places: Sequence[Place]) -> list[list[Lone]]:
    """The openings that stand alone and are cut at all, by kinds, each in the order of the places."""
    if not work.cuts or not places:
        return []
    home = _homes(work, places)
    order = np.argsort(home, kind="stable")
    order = order[np.searchsorted(home[order], 0) :]
    centres = np.array([work.panel.to_program(spot.opening.centre) for spot in places])
    rows = _rows(work, order, centres[home[order]])
    ends = np.flatnonzero(np.diff(home[order], append=-1)) + 1
    kinds: dict[Hashable, list[Lone]] = {}
    begin = 0
    for end in ends.tolist():
        spot = places[home[order[begin]]]
        key = _design(spot.opening), rows[begin:end].tobytes()
        kinds.setdefault(key, []).append(Lone(spot, [work.cuts[index] for index in order[begin:end]]))
        begin = end
    return list(kinds.values())


def _homes(work: Work, places: Sequence[Place]) -> Any:
    """For each cut the place of the opening that stands alone and that it comes near, or -1."""
    outer = np.array([spot.opening.outside for spot in places])
    alone = ~outer & np.array([spot.opening.part is None for spot in places])
    tree = shapely.STRtree(shapely.box(*np.array([spot.box for spot in places]).T))
    one, other = tree.query(tree.geometries)
    alone[one[(one != other) & ~outer[one] & ~outer[other]]] = False
    boxes = work.table.box[[move.order for move in work.cuts]]
    engraves = np.array([move.cutter is not None and move.cutter.kind == "engraver" for move in work.cuts])
    home, grown = np.full(len(boxes), -1), np.array([-PIECE, -PIECE, PIECE, PIECE])
    for begin in range(0, len(boxes), AT_ONCE):
        near = shapely.box(*(boxes[begin : begin + AT_ONCE] + grown).T)
        cut, place = tree.query(near)
        # All that a box can say of the ground beside a panel is that it lies on the sheet.
        beside = np.flatnonzero(outer[place])
        limits = np.array([places[index].limit for index in place[beside]], dtype=object)
        apart = beside[~shapely.intersects(limits, near[cut[beside]])]
        cut, place = np.delete(cut, apart), np.delete(place, apart)
        shared = np.bincount(cut, minlength=len(near))[cut] > 1
        alone[place[shared | engraves[begin + cut]]] = False
        home[begin + cut[~shared]] = place[~shared]
    return np.where((home >= 0) & alone[home], home, -1)


def _rows(work: Work, order: Any, centres: Any) -> Any:
    """A row of whole numbers for each cut in ``order``, the same for strokes that are the same from their centres."""
    table = work.table
    moves = np.array([move.order for move in work.cuts])[order]
    sideways = np.hstack((table.start[moves, :2], table.end[moves, :2], table.centre[moves])) - np.tile(centres, 3)
    steps = np.rint(np.nan_to_num(sideways / ALIKE, nan=-1e15)).astype(np.int64)
    cuts = [work.cuts[index] for index in order]
    z = table.start[moves, 2], table.end[moves, 2]
    feeds, speeds = [cut.stroke.feed for cut in cuts], [cut.stroke.speed for cut in cuts]
    exact = np.column_stack((*z, feeds, speeds)).astype(float).view(np.int64)
    named = np.array([(cut.stroke.cutter, cut.turning, cut.stroke.ccw) for cut in cuts], dtype=np.int64)
    return np.hstack((steps, exact, named.reshape(-1, 3)))


def _design(opening: Opening) -> Hashable:
    """All of an opening's design that is neither name nor place."""
    cut = None if opening.cut is None else tuple(_from(opening.centre, one) for one in opening.cut.segments)
    marks = tuple(_steps(opening.centre, mark) for mark in opening.marks)
    return *(getattr(opening, name) for name in DESIGN), cut, marks


def _from(centre: XY, segment: Segment) -> tuple[int | bool, ...]:
    ends = *_steps(centre, segment.start), *_steps(centre, segment.end)
    return (*ends, *_steps(centre, segment.centre), segment.ccw) if isinstance(segment, Arc) else ends


def _steps(centre: XY, point: XY) -> tuple[int, int]:
    return round((point[0] - centre[0]) / SAME_POINT), round((point[1] - centre[1]) / SAME_POINT)

"""Blind openings: a flat floor at exactly the depth, or the point of the drill that made the hole to size."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import shapely

from toolpaths.tolerance import PIECE
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work
from toolpaths.verify.swept import Sweeps
from toolpaths.verify.table import SKIN

if TYPE_CHECKING:
    from toolpaths.verify.piece import Place


def reaches(floor: float | None, move: Move) -> bool:
    """Whether a move stays above a floor ``floor`` mm below the sheet's top (None: there is none), within PIECE."""
    return floor is None or -move.low <= floor + PIECE


def judge_floor_depth(work: Work, spot: Place, floor: float) -> None:
    """Nothing goes below the floor but the point of a drill that makes the hole to size, and what lies in its cone.

    ``spot.deep`` are the moves below the floor.
    """
    tell = work.tell
    sizing = _sizing_drill(work, spot, floor)
    for move in spot.deep:
        if sizing is not None and _within_point(work, spot, move, sizing):
            if -move.low >= work.panel.thickness - PIECE:
                work.notes.add(
                    "overcut", f"the drill's point comes through under a blind hole {tell.length(floor)} deep: "
                    f"{tell.z(move.low)} in a sheet {tell.length(work.panel.thickness)} thick",
                    move=move, feature=spot.opening.feature,
                )
            continue
        too_deep, most = tell.beyond(-move.low - floor, PIECE)
        work.notes.add(
            "overcut",
            f"T{move.stroke.cutter} goes to {tell.z(move.low)} at {tell.place(*move.stroke.end[:2])}, "
            f"{too_deep} below the floor of {spot.opening.tag or spot.opening.feature}, "
            f"which is {tell.length(floor)} deep; at most {most} is allowed",
            move=move, feature=spot.opening.feature,
        )


def _sizing_drill(work: Work, spot: Place, floor: float) -> Move | None:
    """The move of a drill that is as wide as the hole and reaches the floor at its full width, no deeper."""
    diameter = spot.opening.cut_diameter
    if diameter is None:
        return None
    for move in spot.deep:
        cutter = move.cutter
        if cutter is None or cutter.kind != "drill" or not move.upright:
            continue
        full = -move.low - cutter.point_length
        if cutter.diameter >= diameter - 2 * PIECE and abs(full - floor) <= PIECE:
            return move
    return None


def _within_point(work: Work, spot: Place, move: Move, sizing: Move) -> bool:
    """Whether all that a drill takes below the floor lies within the cone of the drill that sizes the hole."""
    cutter, last = move.cutter, sizing.cutter
    if cutter is None or last is None or cutter.kind not in ("drill", "spot drill") or not move.upright:
        return False
    if math.dist(move.stroke.end[:2], work.panel.to_program(spot.opening.centre)) > PIECE:
        return False
    if cutter.radius > last.radius + PIECE:
        return False
    # both are cones on one axis: it is enough to look at the tip and where the smaller one is widest
    shoulder = move.low + cutter.point_length
    return move.low >= sizing.low - PIECE and shoulder >= sizing.low + last.length_of_point(cutter.diameter) - PIECE


def floor_region(inner: Any, deeper: list[Any]) -> Any:
    """Where the floor itself must be bare: ``inner`` less the openings that go on below it, which are judged alone."""
    if not deeper:
        return inner
    return overlay.difference(inner, shapely.buffer(overlay.union_all(deeper), PIECE, quad_segs=16))


def bare(spot: Place, sweeps: Sweeps, floor: float) -> list[Any]:
    """The areas that are cleared down to the floor, but for PIECE."""
    return sweeps.areas(sweeps.cleared(spot.cuts, -(floor - PIECE) - SKIN))

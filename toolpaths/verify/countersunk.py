"""Countersinks: a cone of the designed angle, as wide at its mouth as designed, in a hole that is there already."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import shapely

from toolpaths.tolerance import PIECE
from toolpaths.units import plain
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work
from toolpaths.verify.swept import Sweeps

if TYPE_CHECKING:
    from toolpaths.verify.piece import Place

SAME_ANGLE = math.radians(0.1)
"""A cone of 20 mm at this angle's error is 0.01 mm off at half its depth."""


def judge_countersink(work: Work, spot: Place, sweeps: Sweeps) -> None:
    """Angle, width and place of the cone, and that it is there; ``spot.cones`` are the cuts of countersinks."""
    tell = work.tell
    cone, feature = spot.opening.countersink, spot.opening.feature
    if cone is None or spot.opening.finish != "machine":
        return
    centre = work.panel.to_program(spot.opening.centre)
    what = f"the countersink of {spot.opening.tag or feature} at {tell.place(*centre)}"
    widest: Move | None = None
    for move in spot.cones:
        if not _is_cone(work, spot, move, cone.angle, centre, what):
            continue
        _judge_hole_is_there(work, spot, move, sweeps, what)
        if widest is None or move.low < widest.low:
            widest = move
    if not spot.cones:
        work.notes.add("not-made", f"{what} is missing", feature=feature)
    elif widest is not None and widest.cutter is not None:
        # as if the cone went on for ever: one that is cut too deep is too wide even where the cutter ends
        wide = 2 * (-widest.low - spot.top) * math.tan(cone.angle / 2)
        if abs(wide - cone.diameter) > 2 * PIECE:
            code = "overcut" if wide > cone.diameter else "undercut"
            work.notes.add(
                code, f"{what} is {tell.length(wide)} wide at its mouth, not {tell.length(cone.diameter)}",
                move=widest, feature=feature,
            )
        elif widest.cutter.diameter < cone.diameter - 2 * PIECE:
            work.notes.add(
                "undercut", f"{what}: T{widest.stroke.cutter} is {tell.length(widest.cutter.diameter)} wide, "
                f"not {tell.length(cone.diameter)}", move=widest, feature=feature,
            )


def _is_cone(
    work: Work, spot: Place, move: Move, angle: float, centre: tuple[float, float], what: str
) -> bool:
    """Whether one cut makes such a cone: upright, on the hole's axis, of the right angle; says what is wrong."""
    cutter = move.cutter
    if cutter is None:
        return False
    off = math.dist(move.stroke.end[:2], centre)
    if not move.upright or off > PIECE:
        wrong = f"is cut {work.tell.length(off)} off the hole's axis" if move.upright else "is moved sideways in "
        "the sheet"
    elif abs(cutter.point_angle - angle) > SAME_ANGLE:
        wrong = f"has {plain(math.degrees(cutter.point_angle))}°, not {plain(math.degrees(angle))}°"
    else:
        return True
    work.notes.add("overcut", f"{what} {wrong}", move=move, feature=spot.opening.feature)
    return False


def _judge_hole_is_there(work: Work, spot: Place, move: Move, sweeps: Sweeps, what: str) -> None:
    """A countersink has no edge at its tip: it only opens a hole that earlier cuts have made."""
    diameter = spot.opening.cut_diameter
    earlier = [cut for cut in spot.cuts if cut.order < move.order]
    areas = sweeps.areas(sweeps.cleared(earlier, max(move.low, -work.panel.thickness)))
    if diameter is not None and _bare_about(work.panel.to_program(spot.opening.centre), areas) < diameter / 2 - PIECE:
        work.notes.add(
            "too-hard", f"{what} is cut before its hole is there: the cutter has no edge at its tip",
            move=move, feature=spot.opening.feature,
        )


def _bare_about(centre: tuple[float, float], areas: list[Any]) -> float:
    """How far round ``centre`` all is gone, mm."""
    gone, point = overlay.union_all(areas), shapely.Point(centre)
    return float(shapely.distance(gone.boundary, point)) if shapely.covers(gone, point) else 0.0

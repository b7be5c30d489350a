"""What would break cutter, clamp or machine: rapids in the sheet, collisions, travel, depth, flutes, spindle off."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from toolpaths.layout.panel import Clamp
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import PIECE, ROUNDING_MM, SPOILBOARD_DEPTH, SPOILBOARD_FLOOR
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work, span_below
from toolpaths.verify.outline import sheet
from toolpaths.verify.piece import Scene
from toolpaths.verify.swept import Sweeps
from toolpaths.verify.table import SKIN

ENOUGH = 10
"""So many rapids through the sheet are looked at closely; a program with more is wrong anyway."""


def judge_safety(work: Work, scene: Scene) -> None:
    """Everything that can be seen from single moves and the material that earlier ones have left."""
    harmless: set[tuple[object, ...]] = set()
    for move in work.moves:
        # These judges look at nothing else: where they found nothing to say, they will not of its like either.
        stroke = move.stroke
        state = stroke.cutter, stroke.kind, stroke.start[2], stroke.end[2], stroke.z_known, move.turning
        if state in harmless:
            continue
        said, feature = work.notes.count, scene.feature(move)
        _judge_cutter_known(work, move)
        _judge_spindle(work, move, feature)
        _judge_z_known(work, move)
        _judge_depth(work, move, feature)
        _judge_length(work, move, feature)
        if work.notes.count == said:
            harmless.add(state)
    _judge_rapids(work, scene)
    _judge_clamps(work, scene)
    judge_travel(work, scene.sweeps)


def _judge_cutter_known(work: Work, move: Move) -> None:
    if move.cutter is None and (move.in_sheet or move.stroke.cutter != 0):
        called = f"T{move.stroke.cutter}" if move.stroke.cutter else "no cutter"
        work.notes.add(
            "unknown-cutter",
            f"{called} is in the spindle, which the cutter table does not hold: nothing that it cuts can be judged",
            move=move, tell=1,
        )


def _judge_spindle(work: Work, move: Move, feature: str) -> None:
    if move.stroke.kind == "cut" and move.in_sheet and not move.turning:
        how = "stopped" if move.stroke.speed <= 0 else "turning backwards"
        work.notes.add(
            "spindle-off",
            f"the cutter is fed into the sheet, to {work.tell.z(move.low)}, with the spindle {how}; it breaks. M3 is "
            "missing",
            move=move, feature=feature,
        )


def _judge_z_known(work: Work, move: Move) -> None:
    (_, _, first), (_, _, last) = move.stroke.start, move.stroke.end
    moves_in_z = not abs(last - first) <= ROUNDING_MM / 10
    if not move.stroke.z_known and moves_in_z and not math.isnan(last):
        work.notes.add(
            "z-unknown",
            f"Z moves, to {work.tell.z(last)}, after the change to T{move.stroke.cutter} and before its length is "
            "known: "
            "apply its length offset, or stop to touch off",
            move=move,
        )


def _judge_depth(work: Work, move: Move, feature: str) -> None:
    tell = work.tell
    cutter = move.cutter
    thickness = work.panel.thickness
    under = work.panel.bed_name
    floor = -(thickness + work.panel.bed(work.machine.spoilboard) - SPOILBOARD_FLOOR)
    point = cutter.point_length if cutter is not None and cutter.kind == "drill" else 0.0
    deepest = -(thickness + SPOILBOARD_DEPTH + point)
    if move.low < floor - ROUNDING_MM:
        work.notes.add(
            "too-deep",
            f"the tip goes to {tell.z(move.low)}, less than {tell.length(SPOILBOARD_FLOOR)} above the underside of the "
            f"{under}; at most {tell.z(floor)}",
            move=move, feature=feature,
        )
    elif move.low < deepest - ROUNDING_MM:
        work.notes.add(
            "too-deep",
            f"the tip goes to {tell.z(move.low)}, {tell.length(-thickness - point - move.low)} into the {under}; at "
            f"most {tell.z(deepest)}",
            move=move, feature=feature,
        )


def _judge_length(work: Work, move: Move, feature: str) -> None:
    """Flutes, shank and nut against the top of the sheet."""
    tell = work.tell
    cutter = move.cutter
    if cutter is None or not move.in_sheet:
        return
    top = _x_y(work, move)
    if move.low + cutter.stick_out < -ROUNDING_MM:
        work.notes.add(
            "hits-stock",
            f"the collet nut meets the sheet{top}: the tip is at {tell.z(move.low)} and T{cutter.number} stands out "
            f"{tell.length(cutter.stick_out)}",
            move=move, feature=feature,
        )
    if move.low + cutter.flute_length >= -ROUNDING_MM:
        return
    if cutter.shank > cutter.diameter:
        work.notes.add(
            "hits-stock",
            f"the shank, {tell.length(cutter.shank)} thick, rubs on the sheet{top}: the tip is at {tell.z(move.low)} "
            f"and the flutes of T{cutter.number} are {tell.length(cutter.flute_length)} long",
            move=move, feature=feature,
        )
    if move.stroke.kind == "cut":
        work.notes.add(
            "below-flutes",
            f"the cut to {tell.z(move.low)} is deeper than the flutes of T{cutter.number} are long, "
            f"{tell.length(cutter.flute_length)}: chips pack{top}",
            move=move, feature=feature,
        )


def _x_y(work: Work, move: Move) -> str:
    return f" at {work.tell.place(*move.stroke.end[:2])}" if move.placed else ""


# --- rapids --------------------------------------------------------------------------------------------------


def _judge_rapids(work: Work, scene: Scene) -> None:
    """A rapid below the top of the sheet is fine only up the way just cut, or through what is already gone."""
    reached: dict[tuple[float, float, int], float] = {}
    looked: dict[tuple[Any, float, float], bool] = {}
    found = 0
    table = work.table
    falls = ~(table.upright & (table.end[:, 2] >= table.start[:, 2]))
    if not (~table.cuts & table.in_sheet & table.placed & falls).any():
        return
    for index in np.flatnonzero(table.in_sheet & table.placed):
        move = work.moves[index]
        if move.cutter is None:
            continue
        stroke = move.stroke
        spot = (round(stroke.end[0], 4), round(stroke.end[1], 4), stroke.cutter)
        if stroke.kind == "cut":
            if move.in_sheet:
                reached[spot] = min(reached.get(spot, 0.0), stroke.end[2])
            continue
        if not move.in_sheet or (move.upright and stroke.end[2] >= stroke.start[2]):
            continue
        if move.upright and move.low >= reached.get(spot, 0.0) - ROUNDING_MM:
            continue
        found += 1
        key = (scene.sweeps.path(stroke)[0], stroke.start[2], stroke.end[2])
        if key not in looked:
            looked[key] = found <= ENOUGH * 10 and _already_gone(work, move, scene.sweeps)
        if not looked[key]:
            _tell_rapid(work, move, scene)


def _already_gone(work: Work, rapid: Move, sweeps: Sweeps) -> bool:
    """Whether earlier cuts have cleared everything that a rapid sweeps below the top of the sheet."""
    cutter = rapid.cutter
    span = span_below(rapid.stroke, -SKIN)
    if cutter is None or span is None:
        return True
    path = sweeps.path(rapid.stroke, (0.0, 1.0) if rapid.upright else span)
    swept = sweeps.areas([(path[0], cutter.radius)])[0]
    earlier = [cut for cut in work.cuts if cut.order < rapid.order and _near(cut, swept.bounds)]
    # One slice judges the whole way down: what was cleared at the lowest tip is clear above it.
    gone = overlay.union_all(sweeps.areas(sweeps.cleared(earlier, rapid.low)))
    left = overlay.difference(shapely.buffer(swept, -PIECE, quad_segs=16), gone)
    if rapid.low >= -work.panel.thickness:
        left = overlay.intersection(left, sheet(work))
    return bool(left.area < PIECE**2)


def _near(cut: Move, bounds: tuple[float, float, float, float]) -> bool:
    x0, y0, x1, y1 = _bounds(cut)
    grow = cut.cutter.radius if cut.cutter else 0.0
    return x0 - grow <= bounds[2] and x1 + grow >= bounds[0] and y0 - grow <= bounds[3] and y1 + grow >= bounds[1]


def _tell_rapid(work: Work, move: Move, scene: Scene) -> None:
    tell = work.tell
    start, end = move.stroke.start, move.stroke.end
    feature = _feature_under(move, scene)
    work.notes.add(
        "rapid-in-stock",
        f"a rapid from {tell.place(*start)} to {tell.place(*end)} ploughs through the sheet at {tell.z(move.low)}; "
        "the cutter breaks. Retract first, or feed",
        move=move, feature=feature,
    )


def _feature_under(move: Move, scene: Scene) -> str:
    x, y, _ = move.stroke.end
    for spot in scene.places:
        if not spot.is_mark and spot.box_holds(x, y) and shapely.covers(spot.area, shapely.Point(x, y)):
            return spot.opening.feature
    return ""


# --- clamps --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Part:
    """One part of what turns in the spindle: it begins ``above`` the tip and is ``radius`` wide."""

    name: str
    above: float
    radius: float


def _parts(cutter: Cutter, nut_diameter: float) -> tuple[_Part, ...]:
    return (
        _Part("cutter", 0.0, cutter.radius),
        _Part("shank", min(cutter.flute_length, cutter.stick_out), cutter.shank / 2),
        _Part("collet nut", cutter.stick_out, nut_diameter / 2),
    )


def _bounds(move: Move) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 of a box that holds the path of the centre."""
    (sx, sy, _), (ex, ey, _) = move.stroke.start, move.stroke.end
    if math.isnan(sx):
        sx = ex
    if math.isnan(sy):
        sy = ey
    if move.stroke.centre is not None:
        (cx, cy), radius = move.stroke.centre, move.stroke.radius
        return cx - radius, cy - radius, cx + radius, cy + radius
    return min(sx, ex), min(sy, ey), max(sx, ex), max(sy, ey)


def _judge_clamps(work: Work, scene: Scene) -> None:
    if not work.moves or not work.panel.clamps:
        return
    parts = {cutter.number: _parts(cutter, work.machine.nut_diameter) for cutter in work.cutters.values()}
    widest = {number: max(part.radius for part in turning) for number, turning in parts.items()}
    widths = np.array([widest[move.cutter.number] if move.cutter is not None else 0.0 for move in work.moves])
    for clamp in work.panel.clamps:
        area = work.panel.area_to_program(clamp.area)
        box = shapely.box(*area)
        for index in np.flatnonzero(work.table.comes_near(area, clamp.height, widths)):
            move = work.moves[index]
            if move.cutter is not None:
                _judge_clamp(work, move, parts[move.cutter.number], clamp, box, scene)


def _judge_clamp(work: Work, move: Move, parts: tuple[_Part, ...], clamp: Clamp, box: Any, scene: Scene) -> None:
    tell = work.tell
    for part in parts:
        span = span_below(move.stroke, clamp.height - part.above - ROUNDING_MM)
        if span is None:
            continue
        _, path = scene.sweeps.path(move.stroke, span)
        if shapely.distance(path, box) >= part.radius - ROUNDING_MM:
            continue
        line = shapely.shortest_line(path, box)
        x, y = shapely.get_coordinates(line)[0]
        moving = "rapid" if move.stroke.kind == "rapid" else "cut"
        work.notes.add(
            "hits-clamp",
            f"the {part.name} crosses clamp {clamp.number} at {tell.z(move.low)} in a {moving}, near "
            f"{tell.place(x, y)}; the clamp is {tell.length(clamp.height)} high. Move the clamp, or lift the way there",
            move=move, feature=scene.feature(move),
        )
        return


# --- travel --------------------------------------------------------------------------------------------------


def judge_travel(work: Work, sweeps: Sweeps) -> None:
    """Moves beyond the travel of an axis, or with the collet nut higher than the machine's daylight."""
    tell = work.tell
    placed = [move for move in work.moves if move.placed]
    if placed and _may_leave(work):
        extents = shapely.bounds([sweeps.path(move.stroke)[1] for move in placed])
        for axis, name in enumerate("XY"):
            _judge_axis(work, placed, extents[:, axis], extents[:, axis + 2], axis, name)
            _judge_reach(work, placed, extents[:, axis], extents[:, axis + 2], axis, name)
    tall = [move for move in work.moves if math.isfinite(move.low)]
    if not tall:
        return
    lows, highs = np.array([move.low for move in tall]), np.array([move.high for move in tall])
    _judge_axis(work, tall, lows, highs, 2, "Z")
    bed = work.panel.bed(work.machine.spoilboard) + work.panel.thickness
    for move in tall:
        if move.cutter is None:
            continue
        needed = bed + move.high + move.cutter.stick_out
        if needed > work.machine.daylight + ROUNDING_MM:
            work.notes.add(
                "out-of-travel",
                f"at {tell.z(move.high)} the collet nut with T{move.cutter.number} would stand {tell.length(needed)} "
                f"above the table; the machine has {tell.length(work.machine.daylight)} of daylight",
                move=move, tell=1,
            )


def _may_leave(work: Work) -> bool:
    """Whether the boxes round all paths, which hold their faceted copies, reach as far as the travel allows."""
    boxes = work.table.box[work.table.placed]
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    beyond = bool(np.any(high - low > work.machine.travel[:2]))
    stage = work.panel.stage
    return beyond or (stage is not None and bool(np.any(low < stage.reach[:2]) or np.any(high > stage.reach[2:])))


def _judge_reach(work: Work, moves: list[Move], lows: Any, highs: Any, axis: int, name: str) -> None:
    """Of a divided panel: the zero stays through all its setups, so each of them has the same ends of the travel."""
    stage = work.panel.stage
    if stage is None:
        return
    low, high = stage.reach[axis], stage.reach[axis + 2]
    beyond = np.maximum(low - lows, highs - high)
    worst = int(beyond.argmax())
    if beyond[worst] > ROUNDING_MM:
        tell = work.tell
        place = float(lows[worst] if low - lows[worst] > 0 else highs[worst])
        work.notes.add(
            "out-of-travel",
            f"{name} comes to {tell.length(place)}; with the zero that all setups of this panel share the machine goes "
            f"from {tell.length(low)} to {tell.length(high)}",
            move=moves[worst],
        )


def _judge_axis(work: Work, moves: list[Move], lows: Any, highs: Any, axis: int, name: str) -> None:
    tell = work.tell
    least, most = float(lows.min()), float(highs.max())
    travel = work.machine.travel[axis]
    if most - least > travel + ROUNDING_MM:
        # The move that lies farther from the sheet's own place is the one to look at.
        worst = int(highs.argmax()) if abs(most) >= abs(least) else int(lows.argmin())
        work.notes.add(
            "out-of-travel",
            f"{name} runs from {tell.length(least)} to {tell.length(most)}, {tell.length(most - least)} in all; "
            f"the machine travels {tell.length(travel)}",
            move=moves[worst],
        )

"""What table, cutter, spindle and machine allow: speed, feed, feed per tooth and power.

n rev/min, F mm/min, diameters mm. v = pi d n / 1000 (m/min); feed per tooth F / (n z); P = kc Q / 1000 with kc in N/mm²
and Q in mm³/s (plane definitions).
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import shapely

from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import CHIP_FLOOR_MARGIN, CHIP_MARGIN, PIECE, ROUNDING_MM, SPEED_MARGIN
from toolpaths.units import plain
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work, radius_at, span_below
from toolpaths.verify.outline import near_panel
from toolpaths.verify.piece import Place, Scene
from toolpaths.verify.swept import WHOLE, SweepKey

FEED_ROUNDING = 1.0
"""mm/min; a printed feed's own rounding."""

AIR = 0.05
"""An arc that newly clears less than this share of the cutter's diameter runs in air."""

TRACE = 1e-3
"""mm²; less newly cleared area than this is arithmetic."""

BREAKTHROUGH_SHARE = 0.5
"""Of its feed, that a drill may fall to while its point breaks through (common practice)."""

TURNING_KINDS = ("drill", "spot drill", "countersink")
"""Cutters whose feed is judged per turn, by the drills' table."""


def judge_limits(work: Work, scene: Scene) -> None:
    """Every cut against the spindle's range, the material's table, the machine's feeds and the spindle's power."""
    depths = _Depths()
    seen: set[Any] = set()
    slow = min(work.machine.max_z, work.machine.max_xy)
    settled: set[int] = set()
    for move in work.moves:
        stroke = move.stroke
        if stroke.kind != "cut":
            continue
        like = scene.like.get(move.order)
        if like in settled:
            continue
        feature = scene.feature(move)
        if stroke.feed > slow:
            _judge_feed(work, move, feature)
        if not (move.in_sheet and move.turning and move.cutter is not None):
            continue
        effective = 2 * radius_at(move.cutter, move.low, -_top(scene, move))
        state = (stroke.cutter, stroke.speed, stroke.feed, round(stroke.radius, 4), round(effective, 4))
        if like is not None:
            settled.add(like)
            seen.add(state)
            continue
        if state not in seen:
            # What depends on these five alone is judged once; only an arc in air may be an exception.
            if not _judge_speed(work, move, move.cutter, effective, feature):
                seen.add(state)
            _judge_chip(work, scene, move, move.cutter, scene.place.get(move.order), feature)
        _judge_plunge(work, scene, move, move.cutter, scene.place.get(move.order), feature)
        _judge_rubbing(work, scene, move, move.cutter, effective, scene.place.get(move.order), feature)
        if move.placed:
            _judge_power(work, scene, move, move.cutter, scene.place.get(move.order), depths, feature)


def _top(scene: Scene, move: Move) -> float:
    """How far below the sheet's top the material begins that a move cuts, mm: a cone is as wide as it is there."""
    spot = scene.place.get(move.order)
    return spot.top if spot else 0.0


def _judge_feed(work: Work, move: Move, feature: str) -> None:
    tell = work.tell
    stroke, machine = move.stroke, work.machine
    if stroke.length <= 0 or math.isnan(stroke.length):
        return
    upright = abs(stroke.end[2] - stroke.start[2]) / stroke.length
    level = math.sqrt(max(0.0, 1 - upright**2))
    for part, most, axis in ((upright, machine.max_z, "Z"), (level, machine.max_xy, "X and Y")):
        if stroke.feed * part > most + FEED_ROUNDING:
            work.notes.add(
                "too-hard",
                f"feed of {tell.feed(stroke.feed * part)} in {axis}; the machine feeds at most {tell.feed(most)} there",
                move=move, feature=feature,
            )


def _judge_speed(work: Work, move: Move, cutter: Cutter, effective: float, feature: str) -> bool:
    """Whether something was wrong with the spindle's speed."""
    machine, speed = work.machine, move.stroke.speed
    if not machine.min_rpm - 0.5 <= speed <= machine.max_rpm + 0.5:
        work.notes.add(
            "too-fast",
            f"the spindle cannot turn at {plain(speed)} rev/min: it does "
            f"{plain(machine.min_rpm)} to {plain(machine.max_rpm)}",
            move=move, feature=feature,
        )
        return True
    table = work.material.speed(cutter.kind, cutter.material)
    if table is None:
        work.notes.add(
            "too-fast", f"the table has no cutting speed for a {cutter.material} {cutter.kind} in {work.material.name}",
            move=move, feature=feature,
        )
        return True
    surface = math.pi * effective * speed / 1000
    if surface > SPEED_MARGIN * table:
        slower = math.floor(1000 * table / (math.pi * effective))
        work.notes.add(
            "too-fast",
            f"T{move.stroke.cutter} cuts {work.material.name} at {surface:.1f} m/min, {work.tell.length(effective)} "
            "wide at "
            f"{plain(speed)} rev/min; the table says {plain(table)} m/min, which is {slower} rev/min",
            move=move, feature=feature,
        )
        return True
    return False


# --- feed per tooth --------------------------------------------------------------------------------------------


def _judge_chip(work: Work, scene: Scene, move: Move, cutter: Cutter, spot: Place | None, feature: str) -> None:
    tell = work.tell
    stroke = move.stroke
    if cutter.kind in TURNING_KINDS:
        chip = stroke.feed / stroke.speed
        most = CHIP_MARGIN * work.material.drill_feed(cutter.diameter)[1]
        unit = "per turn"
    else:
        chip = stroke.feed / (stroke.speed * max(cutter.flutes, 1))
        most = CHIP_MARGIN * work.material.chip_load(_chip_width(move, cutter))[1]
        unit = "per tooth"
        share = _edge_share(work, move, cutter, spot)
        if chip <= most and chip * share > most and _bites(scene, move, cutter, spot):
            chip *= share
            unit = "per tooth at the edge of the arc"
    if chip > most + 1e-9:
        work.notes.add(
            "too-hard",
            f"T{stroke.cutter} takes {tell.chip(chip)} {unit} at {tell.feed(stroke.feed)} and {plain(stroke.speed)} "
            f"rev/min; at most {tell.chip(most)} in {work.material.name}, which is "
            f"{tell.feed(math.floor(stroke.feed * most / chip))}",
            move=move, feature=feature,
        )


def _chip_width(move: Move, cutter: Cutter) -> float:
    """The width that a mill's chip goes by: its own, an engraver's that of its line at the sheet's top."""
    return cutter.width_at(-move.low) if cutter.kind == "engraver" else cutter.diameter


def _judge_plunge(
    work: Work, scene: Scene, move: Move, cutter: Cutter, spot: Place | None, feature: str
) -> None:
    """An end mill fed straight down into solid material takes only the table's share of its feed."""
    tell = work.tell
    stroke = move.stroke
    engraves = move.order in scene.groove
    if cutter.kind in TURNING_KINDS or not move.upright or stroke.end[2] >= stroke.start[2]:
        return
    if spot is None and not engraves:
        return
    high = work.material.chip_load(_chip_width(move, cutter))[1]
    most = CHIP_MARGIN * work.material.plunge * high * max(cutter.flutes, 1) * stroke.speed
    if stroke.feed <= most + FEED_ROUNDING:
        return
    if spot is None or _new_area(scene, move, cutter, spot, move.low) > AIR * math.pi * cutter.radius**2:
        work.notes.add(
            "too-hard",
            f"T{stroke.cutter} is fed straight down into the sheet at {tell.feed(stroke.feed)}; "
            f"at most {tell.feed(math.floor(most))} in {work.material.name}, since an end mill hardly cuts in its "
            "middle",
            move=move, feature=feature,
        )


def _judge_rubbing(
    work: Work, scene: Scene, move: Move, cutter: Cutter, effective: float, spot: Place | None, feature: str
) -> None:
    """A cut that takes material, and so slowly that its chip is under the material's floor: it rubs and heats."""
    tell = work.tell
    stroke = move.stroke
    if spot is None and move.order not in scene.groove:
        return
    if move.upright and stroke.end[2] >= stroke.start[2]:
        return
    least = _least_feed(work, move, cutter, effective)
    if stroke.feed >= CHIP_FLOOR_MARGIN * least - FEED_ROUNDING:
        return
    if spot is None or _new_area(scene, move, cutter, spot, move.low) > TRACE:
        work.notes.add(
            "rubbing-feed",
            f"T{stroke.cutter} rubs at {tell.feed(stroke.feed)} and {plain(stroke.speed)} rev/min: its teeth take less "
            f"than {work.material.name} needs to be cut; feed at least {tell.feed(math.ceil(least))} here, or turn "
            f"it at {plain(math.floor(stroke.speed * stroke.feed / least))} rev/min",
            move=move, feature=feature,
        )


def _least_feed(work: Work, move: Move, cutter: Cutter, effective: float) -> float:
    """The slowest feed that cuts, mm/min: the chip floor at every tooth, at the cutter's outermost edge.

    A drill may break through at a share of it or of its table's low feed, whichever is less; an end mill goes down at
    the table's share for plunges. A straight move no longer than the cutter is wide may be a chord of an arc, or the
    step from one ring to the next, at that one's feed: no arc is tighter than half its chord. Nothing need be fed
    faster than the machine can.
    """
    stroke, material = move.stroke, work.material
    least = material.chip_floor * max(cutter.flutes, 1)
    if cutter.kind in TURNING_KINDS:
        low = min(least, material.drill_feed(effective)[0])
        return BREAKTHROUGH_SHARE * min(low * stroke.speed, work.machine.max_z)
    share = material.plunge if stroke.end[2] < stroke.start[2] else 1.0
    if move.upright:
        return min(share * least * stroke.speed, work.machine.max_z)
    if cutter.kind == "engraver":
        return share * least * stroke.speed  # its path is the line itself, and no edge runs round it more slowly
    chord = math.dist(stroke.start[:2], stroke.end[:2])
    radius = stroke.radius if stroke.centre is not None else chord / 2 if chord <= cutter.diameter else math.inf
    edge = radius / (radius + cutter.radius) if math.isfinite(radius) else 1.0
    return share * edge * least * stroke.speed


def _edge_share(work: Work, move: Move, cutter: Cutter, spot: Place | None) -> float:
    """How much faster than its centre the edge runs on an arc inside an opening: wall radius over path radius."""
    stroke = move.stroke
    if stroke.centre is None or spot is None or spot.is_mark or stroke.radius <= 0:
        return 1.0
    centre = shapely.Point(stroke.centre)
    beside = not shapely.covers(spot.area, centre) or _sticks_out(spot, stroke.centre)
    if beside or (spot.opening.outside and near_panel(work, centre)):
        return 1.0  # round a corner that sticks out: the edge at the metal is the slower one
    return (stroke.radius + cutter.radius) / stroke.radius


def _sticks_out(spot: Place, centre: tuple[float, float]) -> bool:
    """Whether a point is one of the opening's sharp corners that point into it."""
    outward = (spot.contour.point_at(at) for at, turn in spot.contour.corners() if turn < 0)
    return any(math.dist(point, centre) <= PIECE for point in outward)


def _bites(scene: Scene, move: Move, cutter: Cutter, spot: Place | None) -> bool:
    """Whether an arc takes more than a trace of material: a lead-in runs in cleared ground and may look fast."""
    if spot is None or move.stroke.length <= 0:
        return True
    width = _new_area(scene, move, cutter, spot, move.low) / (move.stroke.radius * move.stroke.sweep)
    return width > AIR * cutter.diameter


# --- power -----------------------------------------------------------------------------------------------------


class _Depths:
    """The lowest Z at which each path has been cut so far, by the cutter's radius."""

    def __init__(self) -> None:
        self._lowest: dict[SweepKey, float] = {}

    def step(self, key: SweepKey, low: float, floor: float) -> float:
        """How far below its earlier passes (or the sheet's top) a path is now cut; at most to ``floor``."""
        before = self._lowest.get(key, 0.0)
        self._lowest[key] = min(before, low)
        return max(0.0, max(before, floor) - max(low, floor))


def _judge_power(
    work: Work, scene: Scene, move: Move, cutter: Cutter, spot: Place | None, depths: _Depths, feature: str
) -> None:
    """Bounds the rate of removal from above, ever more closely: the whole kerf, then only what is newly cleared."""
    stroke = move.stroke
    step = depths.step((scene.sweeps.path(stroke)[0], cutter.radius), move.low, -work.panel.thickness)
    allowed = work.machine.power * 1000 / work.material.cutting_force * 60  # mm³/min
    if move.upright:
        area = math.pi * radius_at(cutter, move.low, -_top(scene, move)) ** 2
        fed_down = stroke.end[2] < stroke.start[2]
        if fed_down and area * stroke.feed > allowed:
            fresh = area if spot is None else _new_area(scene, move, cutter, spot, move.low)
            if fresh > AIR * area:
                _tell_power(work, move, area * stroke.feed, allowed, feature)
        return
    plane = stroke.radius * stroke.sweep if stroke.centre else math.dist(stroke.start[:2], stroke.end[:2])
    if plane < ROUNDING_MM:
        return
    widest = _chip_width(move, cutter)
    if stroke.centre is not None and stroke.radius < cutter.radius and cutter.kind != "engraver":
        widest = (stroke.radius + cutter.radius) ** 2 / (2 * stroke.radius)
    volume = widest * step * plane
    if volume / plane * stroke.feed <= allowed:
        return
    if spot is not None:
        volume = min(volume, _new_volume(work, scene, move, cutter, spot))
    if volume / plane * stroke.feed > allowed:
        _tell_power(work, move, volume / plane * stroke.feed, allowed, feature)


def _tell_power(work: Work, move: Move, rate: float, allowed: float, feature: str) -> None:
    watts = rate / 60 * work.material.cutting_force / 1000
    work.notes.add(
        "too-hard",
        f"the cut asks {plain(round(watts))} W of the spindle, which has {plain(work.machine.power)} W: feed at most "
        f"{work.tell.feed(math.floor(move.stroke.feed * allowed / rate))}, or cut less deep",
        move=move, feature=feature,
    )


def _new_area(scene: Scene, move: Move, cutter: Cutter, spot: Place, level: float) -> float:
    """Area that a move clears at Z ``level`` and that no earlier cut has cleared there, mm²."""
    span = span_below(move.stroke, level + ROUNDING_MM)
    if span is None:
        return 0.0
    key, _ = scene.sweeps.path(move.stroke, WHOLE if move.upright else span)
    swept = scene.sweeps.areas([(key, cutter.radius)])[0]
    earlier = [cut for cut in spot.cuts if cut.order < move.order]
    areas = scene.sweeps.areas(scene.sweeps.cleared(earlier, level))
    shapely.prepare(swept)
    areas = [area for area, near in zip(areas, shapely.intersects(swept, areas), strict=True) if near]
    if areas and shapely.covers(areas, swept).any():
        return 0.0  # most often one cut alone has made room
    left = swept
    for area in reversed(areas):  # the latest lie nearest; a union of all of them would take many times as long
        left = overlay.difference(left, area)
        if shapely.is_empty(left):
            break
    return float(left.area)


def _new_volume(work: Work, scene: Scene, move: Move, cutter: Cutter, spot: Place) -> float:
    """Volume that a move newly clears, mm³: slice by slice upwards between the levels of earlier cuts.

    Above the first slice in which it finds nothing, all is gone.
    """
    low = max(move.low, -work.panel.thickness)
    high = min(0.0, move.high) if move.high > low else 0.0
    levels = {0.0, high} | {cut.low for cut in spot.cuts if cut.order < move.order}
    ordered = [low, *sorted(level for level in levels if low + ROUNDING_MM < level <= 0.0)]
    volume = 0.0
    for below, above in pairwise(ordered):
        fresh = _new_area(scene, move, cutter, spot, (below + above) / 2)
        volume += fresh * (above - below)
        if fresh < TRACE:
            break
    return volume

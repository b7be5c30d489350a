"""What comes before what: starts, stops and ends, the spindle's run-up, and pieces that come loose too early."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import shapely

from toolpaths.stroke import Change, Dwell, End, LengthOffset, Reading, SpindleOff, SpindleOn, Stop, Stroke
from toolpaths.tolerance import PIECE, ROUNDING_MM
from toolpaths.units import plain
from toolpaths.verify import overlay
from toolpaths.verify.moves import Move, Work
from toolpaths.verify.piece import Place, Scene
from toolpaths.verify.swept import pieces
from toolpaths.verify.table import SKIN

MOMENT = 0.01
"""Seconds; a dwell's own rounding."""

GRAZE = 0.5
"""mm; a cut that bites less than this into a piece already loose is the finishing of the kerf beside it."""

COARSE = 0.02
"""mm; a cleared area is followed through time on outlines this coarse, a small part of GRAZE."""


def judge_sequence(work: Work, scene: Scene) -> None:
    """The order of events in each program, and what comes loose before the work in it is done."""
    for program, reading in enumerate(work.readings):
        _judge_start(work, program, reading)
        _judge_events(work, program, reading)
    judge_loose(work, scene)
    for spot in scene.places:
        if spot.opening.outside:
            _judge_outline_last(work, spot, scene)


def _judge_start(work: Work, program: int, reading: Reading) -> None:
    tell = work.tell
    clear = work.panel.clear_height
    strokes = reading.strokes
    if not strokes:
        return
    first = strokes[0]
    if first.kind != "rapid" or not _upright(first) or not first.end[2] >= clear - ROUNDING_MM:
        work.notes.add(
            "bad-start",
            f"the first motion must be a rapid of Z alone to the clear height, {tell.z(clear)} or higher",
            line=first.line, program=program,
        )
    for stroke in strokes[1:]:
        if math.isfinite(sum(stroke.start)):
            continue  # it begins at a known place
        if _blind(stroke, clear):
            work.notes.add(
                "bad-start",
                f"a move below the clear height, {tell.z(clear)}, or at an unknown Z, before X and Y are known",
                line=stroke.line, program=program,
            )
        elif _sideways_at_unknown_z(stroke) and work.machine.program.length == "touch off":
            work.notes.add(
                "z-unknown",
                "X and Y move before Z does after the touch-off, the cutter still standing on the sheet: "
                f"rapid to {tell.z(clear)} first",
                line=stroke.line, program=program,
            )


def _blind(stroke: Stroke, clear: float) -> bool:
    """Whether a move from an unknown place may meet anything."""
    if not any(math.isnan(value) for value in stroke.start[:2]):
        return False
    least = clear - ROUNDING_MM
    if _upright(stroke):
        return not stroke.end[2] >= least
    return not (stroke.start[2] >= least and stroke.end[2] >= least)


def _sideways_at_unknown_z(stroke: Stroke) -> bool:
    return stroke.z_known and math.isnan(stroke.start[2]) and not _upright(stroke)


def _upright(stroke: Stroke) -> bool:
    return all(_same(stroke.start[axis], stroke.end[axis]) for axis in (0, 1))


def _same(first: float, last: float) -> bool:
    return math.isnan(last) or (not math.isnan(first) and abs(first - last) < ROUNDING_MM / 10)


@dataclass(slots=True)
class _State:
    """What is known between two events of one program."""

    z: float = math.nan
    speed: float = 0.0
    moved: bool = False
    rested: float = 0.0
    cutter: int = 0
    told_spin: bool = False


def _judge_events(work: Work, program: int, reading: Reading) -> None:
    state, enough = _State(), work.machine.spin_up - MOMENT
    for event in reading.events:
        match event:
            case Stroke(end=(_, _, z)):
                if state.rested < enough:
                    _judge_spin_up(work, program, event, state)
                if not math.isnan(z):
                    state.z = z
                state.moved = True
                state.cutter = event.cutter
            case SpindleOn(speed=speed):
                if state.speed <= 0:
                    state.rested, state.told_spin = 0.0, False
                state.speed = speed
            case SpindleOff():
                state.speed = 0.0
            case Dwell(seconds=seconds):
                if state.speed > 0:
                    # The reader gives P as it stands; what it counts is the controller's affair.
                    state.rested += seconds / (1000 if work.machine.program.dwell == "milliseconds" else 1)
            case Change(line=line, cutter=cutter, by_hand=by_hand):
                if by_hand and work.machine.program.change == "automatic":
                    work.notes.add(
                        "no-change",
                        f"T{cutter} is named but not changed: the changer puts a cutter in at M6, and there is none",
                        line=line, program=program,
                    )
                _judge_stop(work, program, line, state, "the change of cutter")
                state.cutter, state.speed = cutter, 0.0
            case Stop(line=line):
                _judge_stop(work, program, line, state, "the stop")
            case End(line=line):
                _judge_stop(work, program, line, state, "the end")
            case LengthOffset(line=line, number=offset):
                _judge_offset(work, program, line, offset, state)


def _judge_spin_up(work: Work, program: int, stroke: Stroke, state: _State) -> None:
    """While the spindle has not rested long enough after its start."""
    heights = [z for z in (stroke.start[2], stroke.end[2]) if not math.isnan(z)]
    in_sheet = stroke.kind == "cut" and heights and min(heights) < -SKIN
    if not in_sheet or state.speed <= 0 or state.told_spin:
        return
    state.told_spin = True
    work.notes.add(
        "no-spin-up",
        f"the cutter enters the sheet {plain(state.rested)} s after the spindle starts; it needs "
        f"{plain(work.machine.spin_up)} s to run up: dwell after M3",
        line=stroke.line, program=program,
    )


def _judge_stop(work: Work, program: int, line: int, state: _State, what: str) -> None:
    tell = work.tell
    clear = work.panel.clear_height
    if state.moved and not state.z >= clear - ROUNDING_MM:
        where = "an unknown Z" if math.isnan(state.z) else tell.z(state.z)
        work.notes.add(
            "bad-stop", f"{what} comes with the cutter at {where}: retract to {tell.z(clear)} first",
            line=line, program=program,
        )
    if state.speed > 0:
        work.notes.add(
            "bad-stop", f"{what} comes with the spindle turning: M5 first", line=line, program=program,
        )


def _judge_offset(work: Work, program: int, line: int, offset: int, state: _State) -> None:
    if offset and state.cutter and offset != state.cutter:
        work.notes.add(
            "z-unknown",
            f"the length offset is that of H{offset} while T{state.cutter} is in the spindle: "
            "Z is wrong by the difference of the two",
            line=line, program=program,
        )


# --- pieces that come loose ------------------------------------------------------------------------------------


def judge_loose(work: Work, scene: Scene) -> None:
    """No cut bites into a piece that is loose already."""
    for spot in scene.places:
        if not spot.settled:
            _judge_loose(work, spot, scene)


def _judge_loose(work: Work, spot: Place, scene: Scene) -> None:
    """Follows the bottom of the sheet through time: no cut may bite into a piece that nothing holds any more."""
    if spot.is_mark or spot.floor is not None or len(spot.cuts) < 2:
        return
    gone: Any = None
    seen: set[Any] = set()
    loose: list[Any] = []
    for move in spot.cuts:
        if loose and (bitten := _bitten(move, loose, scene)) is not None:
            x, y = shapely.get_coordinates(shapely.point_on_surface(bitten))[0]
            work.notes.add(
                "loose-early",
                f"the cutter bites at {work.tell.place(x, y)} into a piece of "
                f"{spot.opening.tag or spot.opening.feature} that is "
                "already cut loose; it is thrown. Cut what lies inside first, or leave tabs",
                move=move, feature=spot.opening.feature,
            )
            return
        for key in scene.sweeps.cleared([move], -work.panel.thickness):
            if key in seen:
                continue
            seen.add(key)
            # Coarse copies are fine enough for pieces, and many times quicker to join.
            area = scene.sweeps.coarse_area(key, COARSE)
            gone = area if gone is None else overlay.union(gone, area)
            loose = _islands(gone)


def _judge_outline_last(work: Work, outline: Place, scene: Scene) -> None:
    """Nothing is cut in a panel that hangs in its tabs alone."""
    own = (move for move in outline.cuts if scene.place.get(move.order) is outline)  # not index holes in the margin
    through = next((move for move in own if scene.sweeps.cleared([move], -work.panel.thickness)), None)
    if through is None:
        return
    for move in work.cuts:
        works = move.order in scene.groove or scene.place.get(move.order) not in (outline, None)
        if move.order > through.order and works:
            work.notes.add(
                "loose-early",
                f"the outline was cut through before, from line {through.stroke.line} on: only tabs hold the panel in "
                "which this cuts. Cut the outline last",
                move=move, feature=scene.feature(move), tell=1,
            )


def _islands(gone: Any) -> list[Any]:
    """Pieces with cleared ground all round them, less a graze's width."""
    found = []
    for part in pieces(gone):
        for inner in part.interiors:
            core = shapely.buffer(shapely.Polygon(inner), -GRAZE, quad_segs=8)
            if not shapely.is_empty(core):
                found.append(core)
    return found


def _bitten(move: Move, loose: list[Any], scene: Scene) -> Any:
    """The part of a loose piece that a move takes, or None."""
    cutter = move.cutter
    if cutter is None:
        return None
    key, path = scene.sweeps.path(move.stroke)
    for core in loose:
        if shapely.distance(path, core) < cutter.radius - PIECE:
            return overlay.intersection(scene.sweeps.areas([(key, cutter.radius)])[0], core)
    return None

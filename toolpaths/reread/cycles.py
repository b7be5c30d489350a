"""Canned cycles G81, G82 and G83 in the XY plane, expanded to the moves of RS274/NGC section 3.5.16."""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.errors import RereadError
from toolpaths.reread.command import Command, g_name, whole
from toolpaths.reread.state import State
from toolpaths.stroke import Dwell, Point

BACK_OFF = 0.254
"""How far above the last bottom G83 ends its rapid, mm. The report says "backed off a bit" only; 0.254 mm (0.010 in)
is from memory of the code that NIST published with it."""

MOST_STROKES = 100_000
"""One line that stands for more holes or pecks than this is a slip."""

OWN_WORDS = {810: "RL", 820: "RLP", 830: "RLQ"}
"""Letters that a cycle takes besides its axes."""


@dataclass(frozen=True, slots=True)
class _Hole:
    """What one repeat does once it stands over the hole; mm and seconds."""

    bottom: float
    retract: float
    clear: float
    dwell: float
    peck: float | None


def run_cycle(state: State, command: Command, cycle: int) -> None:
    """Carries out the cycle ``cycle`` (G word in tenths) that ``command`` orders or repeats."""
    line, name = command.line, g_name(cycle)
    if not command.has_axes:
        raise RereadError(line, f"{name} without X, Y or Z (3.5.16)")
    if state.returns_to_start is None:
        raise RereadError(line, f"{name} before G98 or G99: the return mode is not stated")
    if any(math.isnan(coordinate) for coordinate in _over(state, command, state.position)):
        raise RereadError(line, f"{name} from a position that is not known")
    _keep_words(state, command, name)
    hole = _hole(state, line, name, cycle)
    repeats = _repeats(command)
    pecks = math.ceil((hole.retract - hole.bottom) / hole.peck) if hole.peck else 1
    if repeats * pecks > MOST_STROKES:
        raise RereadError(line, f"{name} stands for {repeats * pecks} strokes, beyond any drilling")
    if state.position[2] < hole.retract:
        state.rapid(line, (state.position[0], state.position[1], hole.retract))
    for _ in range(repeats):
        over = _over(state, command, state.position)
        state.rapid(line, over)
        state.rapid(line, (over[0], over[1], hole.retract))
        _drill(state, line, hole)


def _keep_words(state: State, command: Command, name: str) -> None:
    """R and Z stay in force while the cycle does (3.5.16). P and Q too, as in NIST's own code: the text is silent."""
    scale = state.scale(command.line)
    for letter in "ZRQP":
        if letter in command.letters:
            state.kept[letter] = command.letters[letter] * (1.0 if letter == "P" else scale)
    for letter in "ZR":
        if letter not in state.kept:
            raise RereadError(command.line, f"{name} without {letter}, and none is in force (3.5.16)")


def _hole(state: State, line: int, name: str, cycle: int) -> _Hole:
    kept = state.kept
    start = state.position[2]
    # In incremental mode R counts from the present Z, and Z from R (3.5.16).
    retract = kept["R"] if state.absolute else start + kept["R"]
    bottom = kept["Z"] if state.absolute else retract + kept["Z"]
    if retract < bottom:
        raise RereadError(line, f"{name} with R below Z (3.5.16)")
    if cycle == 820 and "P" not in kept:
        raise RereadError(line, "G82 without P (3.5.16)")
    if kept.get("P", 0.0) < 0:
        raise RereadError(line, f"{name} with a negative P (3.5.16)")
    if cycle == 830 and "Q" not in kept:
        raise RereadError(line, "G83 without Q (3.5.16)")
    if cycle == 830 and kept["Q"] <= 0:
        raise RereadError(line, "G83 with Q not above 0 (3.5.16)")
    clear = max(start, retract) if state.returns_to_start else retract
    return _Hole(bottom, retract, clear, kept["P"] if cycle == 820 else 0.0, kept["Q"] if cycle == 830 else None)


def _repeats(command: Command) -> int:
    repeats = whole(command.line, "L", command.letters.get("L", 1.0))
    if repeats == 0:
        raise RereadError(command.line, "L0: a cycle is repeated at least once (3.5.16)")
    return repeats


def _over(state: State, command: Command, present: Point) -> Point:
    """The place over the next hole, at the present Z; an omitted X or Y is the present one."""
    scale = state.scale(command.line)

    def along(axis: int, letter: str) -> float:
        if letter not in command.letters:
            return present[axis]
        value = command.letters[letter] * scale
        return value if state.absolute else present[axis] + value

    return along(0, "X"), along(1, "Y"), present[2]


def _drill(state: State, line: int, hole: _Hole) -> None:
    x, y, _ = state.position
    peck = hole.peck if hole.peck is not None else math.inf
    reached = hole.retract
    while reached - peck > hole.bottom + 1e-9:
        reached -= peck
        state.cut(line, (x, y, reached))
        state.rapid(line, (x, y, hole.clear))
        state.rapid(line, (x, y, min(reached + BACK_OFF, hole.clear)))
    state.cut(line, (x, y, hole.bottom))
    if hole.dwell:
        state.events.append(Dwell(line, hole.dwell))
    state.rapid(line, (x, y, hole.clear))

"""Commands -> events: one line at a time, in the order of execution that RS274/NGC lays down (section 3.8, Table 8)."""

from __future__ import annotations

import math
from typing import Literal

from toolpaths.errors import RereadError
from toolpaths.reread.arcs import centre_from_offsets, centre_from_radius
from toolpaths.reread.command import ARCS, CYCLES, Command, command_of, g_name, whole
from toolpaths.reread.cycles import OWN_WORDS, run_cycle
from toolpaths.reread.ordinary import ORDINARY, run_ordinary
from toolpaths.reread.state import NEEDED, UNKNOWN, State
from toolpaths.reread.tokens import block_of, blocks_of, lines_of
from toolpaths.stroke import Change, Dwell, End, LengthOffset, Point, SpindleOff, SpindleOn, Stop


def interpret(text: str, start: Point = UNKNOWN, modes: str = "", *, flat: bool = False) -> State:
    """Runs a piece of a program and returns the state afterwards, with all its events.

    ``modes`` is text that is run first and leaves no events; then the position is ``start`` (mm). ``flat``: for a
    machine without an axis Z. Raises RereadError.
    """
    state = State(flat=flat)
    run(state, modes)
    state.events.clear()
    state.position = start
    run(state, text)
    return state


def run(state: State, text: str) -> None:
    """Carries out ``text`` on ``state``, line by line. An error of language, wherever in the text, comes before any of
    what its lines do."""
    try:
        state.changes_by_t = not _has_change(text)
        for line, content in lines_of(text):
            words = ORDINARY.fullmatch(content)
            if words is None or state.ended or not run_ordinary(state, line, words):
                _run_any(state, line, content)
    except RereadError:
        _refuse_other_language(text)
        raise


def _has_change(text: str) -> bool:
    lines = ((line, content) for line, content in lines_of(text) if "M" in content or "m" in content)
    return any("change" in command_of(block_of(line, content)).m for line, content in lines)


def _run_any(state: State, line: int, content: str) -> None:
    block = block_of(line, content)
    if not block.words:
        return
    if state.ended:
        raise RereadError(line, "words after the end of the program (M2 or M30)")
    execute(state, command_of(block))


def _refuse_other_language(text: str) -> None:
    """Raises the first error of how words are written; if there is none, the first of which words stand together.

    In an ordinary line there is neither.
    """
    others = [(line, content) for line, content in lines_of(text) if not ORDINARY.fullmatch(content)]
    for block in list(blocks_of(others)):
        command_of(block)


def execute(state: State, command: Command) -> None:
    """One line, in the order of Table 8; numbers in the comments are the table's rows."""
    _refuse_idle_words(state, command)
    _feed_speed_select(state, command)  # 2 to 5
    _change(state, command)  # 6
    _spindle(state, command)  # 7; 8, coolant, moves nothing
    _dwell(state, command)  # 10
    _modes(state, command)  # 11 to 18
    _motion(state, command)  # 20
    _stop(state, command)  # 21


def _motion_in_force(state: State, command: Command) -> int | None:
    """The motion that this line carries out: its own G word, or the one in force where axis words are given."""
    if "motion" in command.g:
        return command.g["motion"]
    return state.motion if command.has_axes else None


def _refuse_idle_words(state: State, command: Command) -> None:
    """A word that nothing on its line uses is an error: it would be read and not obeyed."""
    motion = _motion_in_force(state, command)
    used = set("FSTXY") if state.flat else set("FSTXYZ")
    if "dwell" in command.g:
        used |= {"P"}
        if motion in CYCLES:
            raise RereadError(command.line, "G4 and a canned cycle on one line: both could claim P")
    if command.g.get("length offset") == 430:
        used |= {"H"}
    if motion in ARCS:
        used |= set("IJR")
    if motion in CYCLES:
        used |= set(OWN_WORDS[motion])
    idle = [letter for letter in command.letters if letter not in used]
    if idle:
        raise RereadError(command.line, f"{', '.join(idle)}: nothing on the line uses it")


def _feed_speed_select(state: State, command: Command) -> None:
    line, letters = command.line, command.letters
    if "feed mode" in command.g:
        state.unstated.discard("feed mode")
    if "F" in letters:
        if letters["F"] < 0:
            raise RereadError(line, "F must not be negative")
        # F is read before a unit word on the same line acts (rows 3 and 12).
        state.feed = letters["F"] * state.scale(line)
    if "S" in letters:
        if letters["S"] < 0:
            raise RereadError(line, "S must not be negative (3.7.2)")
        state.speed = letters["S"]
    if "T" in letters:
        number = whole(line, "T", letters["T"])
        if state.changes_by_t and number != state.selected:
            _put_in(state, line, number, by_hand=True)
        state.selected = number


def _put_in(state: State, line: int, number: int, *, by_hand: bool) -> None:
    """A cutter of another length: Z means nothing until a length offset or a stop sets it."""
    state.cutter = number
    state.z_known = False
    state.lose_z()
    state.events.append(Change(line, number, by_hand))


def _change(state: State, command: Command) -> None:
    if "change" not in command.m:
        return
    if state.selected is None:
        raise RereadError(command.line, "M6 before any T: nothing is selected (3.6.3)")
    _put_in(state, command.line, state.selected, by_hand=False)
    if state.turning:
        # M6 stops the spindle itself (3.6.3); told after the change, so that a change ordered beside a turning
        # spindle stays visible as one.
        state.turning = False
        state.events.append(SpindleOff(command.line))


def _spindle(state: State, command: Command) -> None:
    word = command.m.get("spindle")
    if word is None:
        return
    if word == 5:
        state.turning = False
        state.events.append(SpindleOff(command.line))
        return
    if state.speed is None:
        raise RereadError(command.line, f"M{word} before any S: the speed is not stated")
    state.turning = True
    state.events.append(SpindleOn(command.line, state.speed, clockwise=word == 3))


def _dwell(state: State, command: Command) -> None:
    if "dwell" not in command.g:
        return
    seconds = command.letters.get("P")
    if seconds is None:
        raise RereadError(command.line, "G4 without P (3.5.4)")
    if seconds < 0:
        raise RereadError(command.line, "G4 with a negative P (3.5.4)")
    state.events.append(Dwell(command.line, seconds))


def _modes(state: State, command: Command) -> None:
    g = command.g
    state.unstated.difference_update(g)
    if "units" in g:
        units: Literal["mm", "in"] = "in" if g["units"] == 200 else "mm"
        if state.units not in (None, units):
            raise RereadError(command.line, f"units change from {state.units} to {units} within the program")
        state.units = units
    if "length offset" in g:
        _length_offset(state, command)
    if "distance" in g:
        state.absolute = g["distance"] == 900
    if "return mode" in g:
        state.returns_to_start = g["return mode"] == 980


def _length_offset(state: State, command: Command) -> None:
    number = 0
    if command.g["length offset"] == 430:
        if "H" not in command.letters:
            raise RereadError(command.line, "G43 without H (3.5.11)")
        number = whole(command.line, "H", command.letters["H"])
    if number != state.length_number or not state.z_known:
        # The reading moves by a length that stands in the machine's table, not in the text (3.5.11, Table 10).
        state.lose_z()
    state.length_number = number
    if number:
        state.z_known = True
    state.events.append(LengthOffset(command.line, number))


def _motion(state: State, command: Command) -> None:
    line = command.line
    word = command.g.get("motion")
    if word == 800:
        if command.has_axes:
            raise RereadError(line, "axis words with G80 (3.5.16.1)")
        state.motion = 800
        state.kept.clear()
        state.unstated.discard("cycle cancel")
        return
    motion = _motion_in_force(state, command)
    if motion is None:
        if command.has_axes:
            raise RereadError(line, "axis words before any motion word: the motion mode is not stated")
        return
    if motion == 800:
        raise RereadError(line, "axis words while G80 is in force (3.5.16.1)")
    _refuse_unstated(state, line)
    if motion != state.motion:
        state.kept.clear()
        state.motion = motion
    if motion in CYCLES:
        run_cycle(state, command, motion)
    elif motion in ARCS:
        _arc(state, command, ccw=motion == 30)
    else:
        _straight(state, command, motion)


def _refuse_unstated(state: State, line: int) -> None:
    if state.unstated:
        unstated = [f"{what} ({words})" for what, words in NEEDED.items() if what in state.unstated]
        raise RereadError(line, f"a motion before the text has stated: {', '.join(unstated)}")


def _end_point(state: State, command: Command) -> Point:
    scale = state.scale(command.line)
    end = list(state.position)
    for axis, letter in enumerate("XYZ"):
        if letter not in command.letters:
            continue
        value = command.letters[letter] * scale
        if state.absolute:
            end[axis] = value
        elif math.isnan(end[axis]):
            raise RereadError(command.line, f"an incremental {letter} from a position that is not known")
        else:
            end[axis] += value
    return end[0], end[1], end[2]


def _straight(state: State, command: Command, motion: int) -> None:
    if not command.has_axes:
        raise RereadError(command.line, f"{g_name(motion)} without X, Y or Z (3.5.1, 3.5.2)")
    end = _end_point(state, command)
    if motion == 0:
        state.rapid(command.line, end)
    else:
        state.cut(command.line, end)


def _arc(state: State, command: Command, ccw: bool) -> None:
    line, letters, scale = command.line, command.letters, state.scale(command.line)
    if "X" not in letters and "Y" not in letters:
        raise RereadError(line, "an arc without X or Y (3.5.3): a full circle repeats at least one of them")
    if any(math.isnan(coordinate) for coordinate in state.position[: 2 if state.flat else 3]):
        raise RereadError(line, "an arc from a position that is not known")
    end = _end_point(state, command)
    if "R" in letters:
        if "I" in letters or "J" in letters:
            raise RereadError(line, "an arc with R and with I or J")
        centre = centre_from_radius(state, line, end, letters["R"] * scale, ccw)
    elif "I" in letters or "J" in letters:
        i, j = (letters.get(letter, 0.0) * scale for letter in "IJ")
        centre = centre_from_offsets(state, line, end, i, j)
    else:
        raise RereadError(line, "an arc without I, J or R (3.5.3)")
    state.cut(line, end, centre, ccw)


def _stop(state: State, command: Command) -> None:
    word = command.m.get("stop")
    if word is None:
        return
    if word in (2, 30):
        state.ended = True
        state.events.append(End(command.line))
        return
    if word == 0 and not state.turning:
        # The operator sets Z0 anew; nobody does so beside a turning cutter, or at a stop that may not come.
        state.z_known = True
    state.events.append(Stop(command.line, optional=word == 1))

"""Ordinary lines in one piece: a straight move or an arc to an absolute place, in the words and order that all write.

This is a short way, not another meaning. A line that has any other form is not ordinary, and where the controller's
state leaves any question, an ordinary line is left to ``execute``, which gives every line its meaning and finds its
faults. Such lines are nearly all of a long program; a test holds both ways against each other.
"""

from __future__ import annotations

import math
import re

from toolpaths.reread.arcs import centre_from_offsets
from toolpaths.reread.command import ARCS
from toolpaths.reread.state import State

_NUMBER = r"(?:\d{1,6}(?:\.\d{0,9})?|\.\d{1,9})"
"""So few digits that neither the number nor its line can be beyond what is allowed."""

_PLACE = "".join(rf"(?: ?{letter}([+-]?{_NUMBER}))?" for letter in "XYZIJ")

ORDINARY = re.compile(rf"(?:N\d{{1,5}} ?)?(?:G0?([0-3]))?{_PLACE}(?: ?F({_NUMBER}))?", re.ASCII)
"""A whole ordinary line: perhaps a line number, then G0 to G3, X, Y, Z, I, J and F (without sign), each at most once.
Nothing can be wrong with such a line by itself."""

_MOTIONS = {"0": 0, "1": 10, "2": 20, "3": 30}


def run_ordinary(state: State, line: int, words: re.Match[str]) -> bool:
    """Carries out an ordinary line if it is a move that leaves no question; else leaves all as it was, and says False.

    Raises RereadError in the words of ``execute``.
    """
    g, x, y, z, i, j, f = words.groups()
    motion = state.motion if g is None else _MOTIONS[g]
    if state.unstated or state.flat or not state.absolute or motion not in (0, 10, 20, 30):
        return False
    start, arc = state.position, motion in ARCS
    has_end = x is not None or y is not None or (z is not None and not arc)
    has_centre = i is not None or j is not None
    if not has_end or has_centre != arc or (arc and math.isnan(sum(start))):
        return False
    scale = state.scale(line)
    if f is not None:
        state.feed = float(f) * scale
    end = (
        start[0] if x is None else float(x) * scale,
        start[1] if y is None else float(y) * scale,
        start[2] if z is None else float(z) * scale,
    )
    if motion != state.motion:
        state.kept.clear()
        state.motion = motion
    if motion == 0:
        state.rapid(line, end)
    elif arc:
        centre = centre_from_offsets(state, line, end, float(i or 0) * scale, float(j or 0) * scale)
        state.cut(line, end, centre, motion == 30)
    else:
        state.cut(line, end)
    return True

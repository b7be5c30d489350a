"""Along one axis: the positions in which a sheet is laid so that the machine reaches everything on it.

Lengths are mm along the axis, as the sheet lies in its first position (program coordinates of the undivided panel).
The machine's X and Y zero stays where it is: only the sheet moves, so that each position sees another stretch of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

SLACK: Final = 1.0
"""mm of travel left unused at each end of a divided axis: a sheet is not laid to a tenth (common practice)."""

LEAST_SHARED: Final = 25.0
"""mm that two neighbouring positions must both reach: pins, and the parts of contours that meet, lie there."""

MOST_ALONG: Final = 4
"""Positions along one axis: each move adds the play of its pins (common practice)."""


@dataclass(frozen=True, slots=True)
class Window:
    """What the machine reaches in one position, from ``low`` to ``high``."""

    low: float
    high: float

    def holds(self, low: float, high: float) -> bool:
        """Whether it reaches all of a stretch."""
        return self.low - 1e-9 <= low and high <= self.high + 1e-9

    def shared(self, other: Window) -> Window:
        """What both reach; empty (its low above its high) where they have nothing in common."""
        return Window(max(self.low, other.low), min(self.high, other.high))


@dataclass(frozen=True, slots=True)
class TooLong:
    """That no few positions would do: how many it would take (0: none ever), and the least travel for MOST_ALONG."""

    needed: int
    travel: float


def windows(low: float, high: float, travel: float, step: float, first: float, more: int = 0) -> list[Window] | TooLong:
    """The fewest positions that reach from ``low`` to ``high``, and ``more`` beyond these, each moved on by the same
    whole number of ``step``: more of them have more in common.

    ``first`` is a place that the first position is to reach as well, if that takes no more of them: the zero.
    """
    usable = travel - 2 * SLACK
    room = usable - LEAST_SHARED
    count = _count(low, high, usable) + more if room > 0 else 0
    if not 0 < count <= MOST_ALONG:
        # high - low = usable + (MOST_ALONG - 1) * (usable - LEAST_SHARED)
        least = (high - low + (MOST_ALONG - 1) * (LEAST_SHARED + step)) / MOST_ALONG + 2 * SLACK
        return TooLong(count, least)
    if first < low and _count(first, high, usable) <= count:
        low = first
    if count == 1:
        return [Window(low, low + usable)]
    move = _move(low, high, usable, count, step)
    return [Window(low + k * move, low + k * move + usable) for k in range(count)]


def only_window(low: float, high: float, travel: float, middle: float) -> Window:
    """Along an axis that is not divided: what the machine reaches round all from ``low`` to ``high``, as evenly about
    the sheet's ``middle`` as it can."""
    usable = travel - 2 * SLACK
    if high - low > usable:
        return Window(low, high)
    begin = min(max(middle - usable / 2, high - usable), low)
    return Window(begin, begin + usable)


def _count(low: float, high: float, usable: float) -> int:
    """How many positions reach from low to high, neighbours sharing LEAST_SHARED."""
    if high - low <= usable:
        return 1
    return 1 + math.ceil((high - low - usable) / (usable - LEAST_SHARED) - 1e-9)


def _move(low: float, high: float, usable: float, count: int, step: float) -> float:
    return math.ceil((high - low - usable) / (count - 1) / step - 1e-9) * step

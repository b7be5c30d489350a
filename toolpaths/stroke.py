"""What a strict reader finds in a program's text: physical moves and what happens between them, in text order.

Millimetres, mm/min, revolutions per minute; X right, Y up, Z up; absolute program coordinates. Every item carries the
line of the text (from 1). A drilling cycle arrives as the rapids and cuts that it stands for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """One physical move: a rapid or a cut, straight, or an arc (helix) about ``centre`` in the XY plane.

    An arc whose end equals its start in X and Y is one full turn. ``feed`` is 0 for a rapid; ``speed`` is the spindle's
    (0: not turning); ``cutter`` is the T number in the spindle (0: none stated yet); ``z_known`` is False between a
    change of cutter and the stop or length offset that sets Z anew. A coordinate that no word has given yet is nan.
    """

    line: int
    kind: Literal["rapid", "cut"]
    start: Point
    end: Point
    feed: float
    speed: float
    cutter: int
    z_known: bool
    centre: tuple[float, float] | None = None
    ccw: bool = True

    @property
    def radius(self) -> float:
        """Path radius in XY, mm (0 for a straight stroke)."""
        return 0.0 if self.centre is None else math.dist(self.start[:2], self.centre)

    @property
    def sweep(self) -> float:
        """Turn in radians, always positive; 2 pi for a full circle, 0 for a straight stroke."""
        if self.centre is None:
            return 0.0
        (cx, cy), (sx, sy, _), (ex, ey, _) = self.centre, self.start, self.end
        if math.hypot(ex - sx, ey - sy) < 1e-9:
            return 2 * math.pi
        turn = math.atan2(ey - cy, ex - cx) - math.atan2(sy - cy, sx - cx)
        return (turn if self.ccw else -turn) % (2 * math.pi)

    @property
    def length(self) -> float:
        """Path length in space, mm."""
        dz = self.end[2] - self.start[2]
        if self.centre is None:
            return math.dist(self.start, self.end)
        return math.hypot(self.radius * self.sweep, dz)


@dataclass(frozen=True, slots=True)
class Change:
    """From here ``cutter`` is in the spindle and Z is unknown until it is set.

    ``by_hand``: T alone names it, in a text that has no M6 at all; the operator puts it in.
    """

    line: int
    cutter: int
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Stop:
    """M0 (or M1, ``optional``): the operator acts, then presses start."""

    line: int
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Dwell:
    """G4: stands still for ``seconds``."""

    line: int
    seconds: float


@dataclass(frozen=True, slots=True)
class SpindleOn:
    """M3 (``clockwise``) or M4 at ``speed`` rev/min."""

    line: int
    speed: float
    clockwise: bool = True


@dataclass(frozen=True, slots=True)
class SpindleOff:
    """M5, or a word that implies it (M6, the end)."""

    line: int


@dataclass(frozen=True, slots=True)
class LengthOffset:
    """G43 with H ``number``, or G49 (``number`` 0)."""

    line: int
    number: int


@dataclass(frozen=True, slots=True)
class End:
    """M2 or M30."""

    line: int


Event = Stroke | Change | Stop | Dwell | SpindleOn | SpindleOff | LengthOffset | End


@dataclass(frozen=True, slots=True)
class Reading:
    """A whole program as read: its events in order, and the units that the text states."""

    events: tuple[Event, ...]
    units: Literal["mm", "in"]

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """The moves alone, in order."""
        return tuple(event for event in self.events if isinstance(event, Stroke))

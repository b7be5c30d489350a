"""What a controller knows at one moment of a program; nothing is known that the text has not stated."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from toolpaths.errors import RereadError
from toolpaths.stroke import Event, Point, Stroke

MM_PER = {"mm": 1.0, "in": 25.4}
NEEDED = {
    "units": "G20 or G21",
    "distance": "G90 or G91",
    "plane": "G17",
    "feed mode": "G94",
    "cycle cancel": "G80",
    "cutter radius": "G40",
    "length offset": "G49 or G43",
    "coordinate system": "G54",
}
"""What the text must have stated before anything moves. No start-up default is relied on: the report lists none."""

UNKNOWN: Point = (math.nan, math.nan, math.nan)


@dataclass(slots=True)
class State:
    """Modes (None: not stated yet), position in mm (nan: not given yet), spindle, cutter and the events so far.

    ``changes_by_t``: the program holds no M6 at all, so T itself puts the cutter in (a machine without changer, where
    the operator does it at the stop that follows). ``flat``: of a machine without an axis Z, so that Z is never named
    and never known. ``unstated``: which of ``NEEDED`` the text has not stated yet. ``kept`` holds the words of the
    canned cycle that stay in force; ``centre`` is that of the last arc.
    """

    changes_by_t: bool = False
    flat: bool = False
    units: Literal["mm", "in"] | None = None
    absolute: bool | None = None
    motion: int | None = None
    returns_to_start: bool | None = None
    unstated: set[str] = field(default_factory=lambda: set(NEEDED))
    position: Point = UNKNOWN
    feed: float | None = None
    speed: float | None = None
    turning: bool = False
    selected: int | None = None
    cutter: int = 0
    length_number: int = 0
    z_known: bool = True
    ended: bool = False
    kept: dict[str, float] = field(default_factory=dict)
    centre: tuple[float, float] | None = None
    events: list[Event] = field(default_factory=list)

    def scale(self, line: int) -> float:
        """Millimetres per program unit; refuses a length before the text has stated its unit."""
        if self.units is None:
            raise RereadError(line, "a length before G20 or G21: the units are not stated")
        return MM_PER[self.units]

    def lose_z(self) -> None:
        """From here the Z reading means nothing until a Z word gives it anew."""
        self.position = (self.position[0], self.position[1], math.nan)

    def rapid(self, line: int, end: Point) -> None:
        """A straight traverse to ``end``."""
        self._go(line, "rapid", end, 0.0, None, True)

    def cut(self, line: int, end: Point, centre: tuple[float, float] | None = None, ccw: bool = True) -> None:
        """A cut to ``end`` at the feed in force, straight or about ``centre``."""
        if not self.feed:
            raise RereadError(line, "a feed motion without a feed: no F before it, or F0")
        self._go(line, "cut", end, self.feed, centre, ccw)

    def _go(
        self,
        line: int,
        kind: Literal["rapid", "cut"],
        end: Point,
        feed: float,
        centre: tuple[float, float] | None,
        ccw: bool,
    ) -> None:
        start, self.position = self.position, end
        # A coordinate that is not known yet stays the very same nan, which a tuple takes for equal.
        if centre is None and start == end:
            return  # nothing moves; an arc that ends where it began is a full turn
        speed = self.speed if self.turning and self.speed is not None else 0.0
        self.events.append(Stroke(line, kind, start, end, feed, speed, self.cutter, self.z_known, centre, ccw))

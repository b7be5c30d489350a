"""What is asked of a drawing and what was found in it: plain values, without a trace of the file's own structure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from toolpaths.errors import BadInput, Problem
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Segment
from toolpaths.tolerance import JOIN_GAP
from toolpaths.units import Units, plain

MOST_TOLD: Final = 20
"""So many faults of one drawing are told one by one."""


LONGEST_NAME: Final = 64
"""So much of a name of a drawing's is shown."""


def brief(name: str) -> str:
    """A name as it is told: a drawing may have one of a million letters.

    >>> brief("HOLES"), len(brief("H" * 1000))
    ('HOLES', 67)
    """
    return name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}..."


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for. No ``layers``: all that are shown; ``units`` None: those that the file states.

    ``points``: points are wanted too, and not merely counted. ``counted``: layers whose entities are, unless named.
    """

    layers: tuple[str, ...] = ()
    units: Units | None = None
    gap: float = JOIN_GAP
    recover: bool = False
    points: bool = False
    counted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands in a drawing: its layer, its type and handle, the block that it is in, and a point of it.

    ``at`` is in the drawing's own units, as whoever drew it sees it; None where it has no place.
    """

    layer: str
    kind: str
    handle: str
    block: str = ""
    at: XY | None = None

    def __str__(self) -> str:
        inside = f" in block '{brief(self.block)}'" if self.block else ""
        where = "" if self.at is None else f" at ({plain(self.at[0])}, {plain(self.at[1])})"
        return f"layer '{brief(self.layer)}', {brief(self.kind)} #{brief(self.handle)}{inside}{where}"


@dataclass(frozen=True, slots=True)
class Run:
    """Segments that follow each other, mm, as one entity has them."""

    segments: tuple[Segment, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Point:
    """A point, mm."""

    at: XY
    place: Place


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed contour, counter-clockwise, mm; ``circle`` is its centre and diameter where it is round."""

    contour: Contour
    place: Place
    circle: tuple[XY, float] | None = None


NoteCode = Literal["drawing-left-out", "drawing-curves", "drawing-units", "drawing-repaired"]


@dataclass(frozen=True, slots=True)
class Note:
    """Something to be told of a drawing that is no fault of it, under the code of its finding."""

    code: NoteCode
    text: str


@dataclass(frozen=True, slots=True)
class Contents:
    """All that was read; ``units`` are those that its owner thinks in.

    ``notes`` say what was left out or followed by arcs, and what had to be mended.
    """

    shapes: tuple[Shape, ...]
    points: tuple[Point, ...]
    notes: tuple[Note, ...]
    units: Units


class Faults:
    """What is wrong with one drawing, or was mended, as it is found."""

    def __init__(self, name: str, recover: bool) -> None:
        self.name = name
        self.recover = recover
        self.found: list[Problem] = []
        self.count = 0
        self.repairs: list[str] = []

    @property
    def enough(self) -> bool:
        """Whether more faults are only counted."""
        return self.count >= MOST_TOLD

    def add(self, place: Place | None, message: str, remedy: str = "") -> None:
        """One fault that nobody but the owner of the drawing can mend."""
        self.count += 1
        if self.count <= MOST_TOLD:
            self.found.append(Problem(self.name, 0, "" if place is None else str(place), message, remedy))

    def mend(self, place: Place, message: str, cure: str) -> None:
        """A fault that goes away with ``cure``: done and listed where that was asked for, an error otherwise."""
        if self.recover:
            self.repairs.append(f"{place}: {message}: {cure}")
        else:
            self.add(place, message, f"correct it in the drawing, or read it with --recover: {cure}")

    def raise_all(self) -> None:
        """BadInput with all of them, where there are any."""
        if self.count > MOST_TOLD:
            self.found.append(Problem(self.name, 0, "", f"and {self.count - MOST_TOLD} faults more like these"))
            self.count = 0
        if self.found:
            raise BadInput(self.found)

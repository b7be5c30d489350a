"""Clearance holes and tapping sizes of screws, as the standards and shop charts have them, each row with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Annotated, Final, Literal

from pydantic import Field

from toolpaths.errors import UnknownName
from toolpaths.tables import load
from toolpaths.tables.files import Source, Table, Text
from toolpaths.tables.lengths import Length
from toolpaths.tables.toml_file import shipped_toml
from toolpaths.units import parse_length

Fit = Literal["fine", "medium", "coarse", "close", "normal", "loose", "free"]
Stuff = Literal["soft", "hard"]

ALIKE: Final = (frozenset({"fine", "close"}), frozenset({"medium", "normal"}), frozenset({"coarse", "loose", "free"}))
"""What ISO 273 and ASME B18.2.8 call the same three fits."""


@dataclass(frozen=True, slots=True)
class ClearanceHole:
    """A hole that a screw passes: ``diameter`` mm; ``drill`` names the drill of an inch size, else empty."""

    screw: str
    fit: str
    standard: str
    diameter: float
    drill: str
    source: str


@dataclass(frozen=True, slots=True)
class TapDrill:
    """The hole before the tap: ``diameter`` and ``pitch`` mm.

    ``stuff`` is what is tapped: ``soft`` (aluminium, brass, plastic), ``hard`` (steel, stainless, iron) or both.
    ``thread_depth`` is the share of the full thread's depth that this drill leaves, as its source states it.
    """

    thread: str
    stuff: tuple[Stuff, ...]
    pitch: float
    diameter: float
    drill: str
    thread_depth: str
    source: str


class _Hole(Table):
    screw: Text
    fit: Fit
    hole: Length
    drill: str = ""
    source: Source | None = None


class _Standard(Table):
    name: Text
    source: Source
    holes: list[_Hole]


class _ClearanceFile(Table):
    format: Literal[1]
    standard: list[_Standard]


class _Thread(Table):
    thread: Text
    pitch: Length
    stuff: Annotated[list[Stuff], Field(alias="for", min_length=1)]
    drill: Text
    depth: Text
    source: Source | None = None


class _TapFile(Table):
    format: Literal[1]
    source: Source
    threads: list[_Thread]


@cache
def clearance_holes() -> tuple[ClearanceHole, ...]:
    """Every clearance hole, in the order of the table: the standard that is meant without a name comes first."""
    table = _ClearanceFile.model_validate(shipped_toml("clearance_holes.toml")[0])
    return tuple(
        ClearanceHole(row.screw, row.fit, part.name, row.hole, row.drill, row.source or part.source)
        for part in table.standard
        for row in part.holes
    )


@cache
def tap_drills() -> tuple[TapDrill, ...]:
    """Every tapping size, in the order of the table."""
    table = _TapFile.model_validate(shipped_toml("tap_drills.toml")[0])
    return tuple(
        TapDrill(
            row.thread, tuple(row.stuff), row.pitch, _size(row.drill), row.drill, row.depth, row.source or table.source
        )
        for row in table.threads
    )


def _size(drill: str) -> float:
    named = drill.startswith(("#", "letter "))
    return load.drill_size(drill) if named else parse_length(drill)


def clearance_hole(screw: str, fit: str = "medium", standard: str | None = None) -> ClearanceHole:
    """The hole that a screw passes: ISO 273 for ``M4``, ASME B18.2.8 for ``#6`` and ``1/4``, unless told otherwise.

    The fits of the two say the same in other words, and either's serve: fine or close, medium or normal, coarse or
    loose.

    Raises:
        UnknownName: no such screw, fit or standard; the message names those that there are.

    >>> clearance_hole("M4").diameter, round(clearance_hole("#6", "close").diameter, 4)
    (4.5, 3.9116)
    """
    rows = clearance_holes()
    if standard is not None:
        load.named("standard", standard, {row.standard: row for row in rows})
        rows = tuple(row for row in rows if row.standard == standard)
    screw = screw.strip().removesuffix(" in")
    load.named("screw", screw, {row.screw: row for row in rows})
    meant = next((same for same in ALIKE if fit in same), frozenset({fit}))
    of_screw = [row for row in rows if row.screw == screw]
    for row in of_screw:
        if row.fit in meant:
            return row
    known = ", ".join(dict.fromkeys(row.fit for row in of_screw))
    raise UnknownName(f"no fit '{fit}' for a screw {screw}; there are {known}")


def tap_drill(thread: str, stuff: Stuff = "soft") -> TapDrill:
    """The drill before the tap of a thread (``M4``, ``4-40``, ``1/4-20``), in soft or in hard material.

    Raises:
        UnknownName: no such thread; the message names those that there are.

    >>> tap_drill("M3").diameter, tap_drill("1/4-20").drill, tap_drill("1/4-20", "hard").drill
    (2.5, '#7', '7/32 in')
    """
    rows = tap_drills()
    load.named("thread", thread, {row.thread: row for row in rows})
    return next(row for row in rows if row.thread == thread and stuff in row.stuff)


def stuff_of(family: str, name: str) -> Stuff:
    """How a material is tapped: steels are hard, what else there is soft (as the source of the inch sizes groups them).

    >>> stuff_of("metal", "mild steel"), stuff_of("metal", "aluminium"), stuff_of("board", "plywood")
    ('hard', 'soft', 'soft')
    """
    return "hard" if family == "metal" and "alumin" not in name and "brass" not in name else "soft"

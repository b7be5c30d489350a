"""The hand tools of a bench: drills, step drills, punches, saws, files, and the drill press that turns them.

Ours are a usual outfit for a shop in millimetres and one for a shop in inches. A user's file is laid over ours row by
row; with ``only_these = true`` it holds all that he has.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationError, model_validator

from toolpaths.errors import BadInput, ExpressionError, Problem, UnknownName
from toolpaths.tables.files import Source, Table, Text
from toolpaths.tables.lengths import Length, LengthOrZero, with_unit
from toolpaths.tables.load import drill_size
from toolpaths.tables.toml_file import dotted, line_of, problems_from, read_toml, shipped_toml
from toolpaths.units import Units, parse_length

HandToolKind = Literal[
    "twist drill", "step drill", "punch", "hole saw", "flat bit", "reamer", "countersink", "saw", "router",
    "round file", "flat file", "square file",
]  # fmt: skip

RANGES: Final = ("reamer", "router")
"""Kinds that make every size from the first to the last of their two."""


@dataclass(frozen=True, slots=True)
class HandTool:
    """One row. ``sizes`` are the diameters that it makes, mm, smallest first: of a step drill its steps, of a reamer
    or a router the smallest and the largest, of a saw the start hole of its blade, of a file its width.

    ``thickest`` is the thickest sheet it goes through, mm; 0: no limit. ``pilot`` is the hole that it needs first, mm;
    0: none. ``serves`` names the material families.
    """

    name: str
    kind: HandToolKind
    sizes: tuple[float, ...]
    thickest: float
    pilot: float
    serves: tuple[str, ...]
    source: str

    def works(self, family: str, thickness: float) -> bool:
        """Whether it goes through a sheet of a material's family."""
        return family in self.serves and (not self.thickest or thickness <= self.thickest)


@dataclass(frozen=True, slots=True)
class DrillPress:
    """``speeds`` min⁻¹, slowest first. ``reach``: spindle to column, mm. ``chuck``: the largest shank, mm."""

    speeds: tuple[float, ...]
    reach: float
    chuck: float
    source: str


@dataclass(frozen=True, slots=True)
class HandTools:
    """A bench: its tools in the order of the file, and its drill press."""

    tools: tuple[HandTool, ...]
    press: DrillPress

    def of(self, *kinds: HandToolKind) -> tuple[HandTool, ...]:
        """The tools of these kinds, kind by kind."""
        return tuple(tool for kind in kinds for tool in self.tools if tool.kind == kind)


def _sizes(value: Any) -> Any:
    """Lengths, and drills by number or letter."""
    if not isinstance(value, list) or not value:
        raise ValueError("write a list of sizes, such as [4, 6, 8] or ['#7', '3/8 in']")
    if len(value) > 500:
        raise ValueError(f"has {len(value)} sizes; at most 500 are read")
    return [_one_size(size) for size in value]


def _one_size(size: Any) -> Any:
    if not isinstance(size, str):
        return size
    try:
        return drill_size(size) if size.startswith(("#", "letter ")) else parse_length(size)
    except (UnknownName, ExpressionError) as error:
        raise ValueError(str(error)) from None


class DrillPressTable(Table):
    """``[drill_press]``: its speeds in rev/min, the reach from spindle to column, and the largest shank."""

    speeds: list[Annotated[float, Field(gt=0, le=100000)]] = Field(min_length=1, max_length=50)
    reach: Length
    chuck: Length
    source: Source


class HandToolRow(Table):
    """One ``[[tool]]``."""

    name: Text
    kind: HandToolKind
    sizes: Annotated[
        list[Annotated[float, Field(gt=0, le=10000)]],
        BeforeValidator(_sizes, json_schema_input_type=list[float | str]),
    ]
    thickest: LengthOrZero = 0.0
    pilot: LengthOrZero = 0.0
    serves: list[Literal["metal", "board"]] = Field(default=["metal", "board"], min_length=1)
    source: Source

    @model_validator(mode="after")
    def _possible(self) -> HandToolRow:
        if self.kind in RANGES and len(self.sizes) != 2:
            raise ValueError(f"a {self.kind} has two sizes, the smallest and the largest that it makes")
        if any(one == other for one, other in pairwise(sorted(self.sizes))):
            raise ValueError("has a size twice")
        return self


class HandToolsFile(Table):
    """A file of hand tools, as its schema states it. ``only_these``: none of ours beside them."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    only_these: bool = False
    drill_press: DrillPressTable | None = None
    tool: list[HandToolRow] = Field(default=[], max_length=500)


class _Head(Table):
    """The file before ours are laid under its rows."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    only_these: bool = False
    drill_press: dict[str, Any] | None = None
    tool: list[dict[str, Any]] = Field(default=[], max_length=500)


_LENGTHS: Final = frozenset({"thickest", "pilot", "reach", "chuck"})


def hand_tools(units: Units, file: Path | None = None) -> HandTools:
    """The bench of a shop in these units; ``file`` is laid over it row by row, by the tools' names.

    Raises:
        BadInput: every problem of ``file``.
    """
    ours, press = _shipped(units)
    if file is None:
        return _bench(list(ours.values()), press)
    data, text = read_toml(file)
    try:
        head = _Head.model_validate(data)
    except ValidationError as error:
        raise BadInput(problems_from(error, file.name, text, _Head)) from None
    below = {} if head.only_these else dict(ours)
    problems: list[Problem] = []
    named: set[str] = set()
    for index, row in enumerate(data.get("tool", [])):
        name, place = row.get("name"), ("tool", index)
        if isinstance(name, str) and name in named:
            line = line_of(text, place)
            problems.append(Problem(file.name, line, dotted(place), f"name {name!r} stands here twice", "one row each"))
            continue
        merged = _over(ours.get(name) if isinstance(name, str) else None, _stated(row, head.units), file.name)
        try:
            HandToolRow.model_validate(merged)
        except ValidationError as error:
            problems += problems_from(error, file.name, text, HandToolRow, place)
            continue
        named.add(str(name))
        below[str(name)] = merged
    if head.drill_press is not None:
        press = _over(press, _stated(head.drill_press, head.units), file.name)
        try:
            DrillPressTable.model_validate(press)
        except ValidationError as error:
            problems += problems_from(error, file.name, text, DrillPressTable, ("drill_press",))
    if problems:
        raise BadInput(sorted(problems, key=lambda problem: problem.line))
    return _bench(list(below.values()), press)


def _over(ours: dict[str, Any] | None, own: dict[str, Any], file: str) -> dict[str, Any]:
    """A row of the user's over ours of the same name; where it gives no source, the source says whose it is."""
    if "source" in own:
        return (ours or {}) | own
    changed = ", ".join(key for key in own if key != "name") or "nothing"
    source = f"{ours['source']}; {changed} by own file {file}" if ours else f"own file {file}"
    return (ours or {}) | own | {"source": source}


def _stated(row: dict[str, Any], units: str) -> dict[str, Any]:
    """A raw row whose bare numbers say that they are inches, where the file's units are inches."""
    stated = with_unit(row, _LENGTHS, units)
    sizes = stated.get("sizes")
    if units == "in" and isinstance(sizes, list):
        bare = [with_unit({"size": size}, frozenset({"size"}), units)["size"] for size in sizes]
        stated = stated | {"sizes": bare}
    return stated


@cache
def _shipped(units: Units) -> tuple[dict[str, dict[str, Any]], dict[str, Any]]:
    data, _ = shipped_toml(f"hand_tools_{units}.toml")
    rows = [_stated(row, data["units"]) for row in data["tool"]]
    return {row["name"]: row for row in rows}, _stated(data["drill_press"], data["units"])


def _bench(rows: list[dict[str, Any]], press: dict[str, Any]) -> HandTools:
    found = DrillPressTable.model_validate(press)
    return HandTools(
        tuple(_tool(HandToolRow.model_validate(row)) for row in rows),
        DrillPress(tuple(sorted(found.speeds)), found.reach, found.chuck, found.source),
    )


def _tool(row: HandToolRow) -> HandTool:
    return HandTool(
        row.name, row.kind, tuple(sorted(row.sizes)), row.thickest, row.pilot, tuple(row.serves), row.source
    )

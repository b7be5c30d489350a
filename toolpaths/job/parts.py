"""The table of components: ours, with a user's file laid over it row by row.

A row is read only when a job asks for it. What a row of the user's gives replaces what ours has of the same name: its
holes all together, its rooms all together, and every other key by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationError

from toolpaths.errors import ExpressionError
from toolpaths.job import schema
from toolpaths.job.component import Role, Side, Trait
from toolpaths.job.problems import Problems
from toolpaths.job.schema import Expression, Point, Table, list_of_texts
from toolpaths.tables.toml_file import Place, nearest, problems_from, read_toml, shipped_toml, shown
from toolpaths.units import parse_length

NEVER_IN_PARTS: Final = (schema.GridTable, schema.HoleListTable, schema.DrawingTable)

HOLES: Final[dict[str, type[schema.FeatureTable]]] = {
    model.kind: model
    for model in schema.FEATURES.values()
    if issubclass(model, schema.FeatureTable) and model not in NEVER_IN_PARTS
}
"""The kinds of feature that a component may bring, in the order of the job format: all that can be turned with it."""

SHIPPED: Final = "parts.toml"

UPRIGHT: Final = "upright"
"""A winding along the panel's normal."""


def _size(value: Any) -> Any:
    if isinstance(value, (list, tuple)) and len(value) == 2:
        return tuple(value)
    raise ValueError(f"is {shown(value)}; write [width along x, height along y]")


def _winding(value: Any) -> Any:
    """Degrees, or that it stands upright on the panel."""
    if isinstance(value, str) and value != UPRIGHT and any(sign.isalpha() for sign in value):
        raise ValueError(f"is {shown(value)}; write degrees from +x, or '{UPRIGHT}'")
    return value


def _nominal(value: Any) -> Any:
    """A size in mm; text with its unit, since it is what a part is called by whatever the file's units are."""
    if value is None or isinstance(value, float):
        return value
    if not isinstance(value, str):
        raise ValueError(f"is {shown(value)}; write it with its unit, as '10 in'")
    try:
        return parse_length(value)
    except ExpressionError as error:
        raise ValueError(str(error)) from None


class RoomTable(Table):
    """``[[part.room]]``: a piece of the room that a component takes: a circle or a rounded rectangle, upright on the
    sheet. ``off`` and ``reach`` are where it begins and ends, away from the surface of its ``side``."""

    role: Role
    side: Side
    at: Point = (0.0, 0.0)
    diameter: Expression | None = None
    size: Annotated[tuple[Expression, Expression], BeforeValidator(_size)] | None = None
    corner_radius: Expression = 0.0
    off: Expression = 0.0
    reach: Expression


class PartRow(Table):
    """``[[part]]``: one component, as seen from the panel's outside and unturned; its centre is at 0, 0.

    It may be one size of a ``series``: a job then finds it by the series and its ``nominal`` size as well.
    ``fitted_from`` is the side from which it is put in; where it ``passes``, what is on the other side goes through its
    hole. ``winding`` is the direction of a transformer's winding: degrees from +x in the plane of the panel, or
    ``"upright"``.
    """

    name: Annotated[str, Field(min_length=1, max_length=80)]
    group: Annotated[str, Field(min_length=1, max_length=80)] = "own parts"
    summary: Annotated[str, Field(max_length=200)] = ""
    series: Annotated[str, Field(max_length=80)] = ""
    nominal: Annotated[float | str | None, BeforeValidator(_nominal)] = None
    fitted_from: Side
    passes: bool = False
    traits: Annotated[tuple[Trait, ...], BeforeValidator(list_of_texts)] = ()
    winding: Annotated[Expression | None, BeforeValidator(_winding)] = None
    source: Annotated[str, Field(min_length=4, max_length=1000)]
    hole: tuple[schema.HoleTable, ...] = ()
    d_hole: tuple[schema.DHoleTable, ...] = ()
    cutout: tuple[schema.CutoutTable, ...] = ()
    ring: tuple[schema.RingTable, ...] = ()
    slot: tuple[schema.SlotTable, ...] = ()
    double_d_hole: tuple[schema.DoubleDHoleTable, ...] = ()
    keyed_hole: tuple[schema.KeyedHoleTable, ...] = ()
    polygon: tuple[schema.PolygonTable, ...] = ()
    room: tuple[RoomTable, ...] = ()

    @property
    def holes(self) -> Iterator[schema.FeatureTable]:
        """Its openings, kind by kind."""
        for kind in HOLES:
            yield from getattr(self, kind)


class PartsFile(Table):
    """A file of components."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    part: tuple[PartRow, ...] = ()


@dataclass(frozen=True, slots=True)
class Described:
    """A component's row and, since a user's may take what it leaves out from ours, where its holes and rooms stand."""

    row: PartRow
    file: PartsText
    holes: tuple[PartRow, PartsText]
    rooms: tuple[PartRow, PartsText]


class PartsText:
    """One file of components: its raw rows by name, read one by one."""

    def __init__(self, problems: Problems, data: Mapping[str, Any]) -> None:
        self.problems = problems
        self.units: Literal["mm", "in"] = "mm"
        self.rows: dict[str, tuple[int, dict[str, Any]]] = {}
        head = {key: value for key, value in data.items() if key != "part"}
        try:
            self.units = PartsFile.model_validate(head).units
        except ValidationError as error:
            self._note(error, PartsFile, ())
        raw = data.get("part", [])
        if not isinstance(raw, list) or not all(isinstance(row, dict) for row in raw):
            problems.add(("part",), f"is {shown(raw)}", "write [[part]] with double brackets")
            return
        for index, row in enumerate(raw):
            name = row.get("name")
            if not isinstance(name, str):
                problems.add(("part", index, "name"), "is missing" if name is None else f"is {shown(name)}", "add it")
            elif name in self.rows:
                problems.add(("part", index, "name"), f"'{name}' stands here twice", "one row each")
            else:
                self.rows[name] = index, row

    def row(self, name: str, under: Mapping[str, Any] | None = None) -> PartRow | None:
        """The row of a name with what ``under`` has besides it; None where it is wrong: the problem is then noted."""
        index, own = self.rows[name]
        place: Place = ("part", index)
        if "grid" in own:
            remedy = "write its holes one by one, or put the grid on the panel"
            self.problems.add((*place, "grid", 0), "a grid does not turn with a component", remedy)
            own = {key: value for key, value in own.items() if key != "grid"}
        read: dict[str, Any] = {**(under or {}), **own}
        for kind in (*HOLES, "room"):
            if kind in own:
                read[kind] = self._tables(own[kind], (*place, kind), RoomTable if kind == "room" else HOLES[kind])
        try:
            found = PartRow.model_validate(read)
        except ValidationError as error:
            self._note(error, PartRow, place)
            return None
        found.standing_at(place)
        self._check_pairs(found, own, place)
        return found

    def _check_pairs(self, row: PartRow, own: Mapping[str, Any], place: Place) -> None:
        """Keys that this file gives without the one that they go with."""
        if "winding" in own and "transformer" not in row.traits:
            remedy = "add 'transformer' to traits, or leave winding out"
            self.problems.add((*place, "winding"), "is for a transformer", remedy)
        if "nominal" in own and not row.series:
            self.problems.add((*place, "nominal"), "is a size of no series", "add series, or leave nominal out")
        if "series" in own and row.series and row.nominal is None:
            self.problems.add((*place, "series"), "has no size by which to find this part", "add nominal")

    def _tables(self, raw: Any, place: Place, model: type[Table]) -> Any:
        """The holes or rooms of one row, each with its place; as written where they are no tables."""
        if not isinstance(raw, list):
            return raw
        tables = []
        for index, table in enumerate(raw):
            at = {"at": [0.0, 0.0]} if model is not RoomTable else {}
            try:
                found = model.model_validate({**at, **table} if isinstance(table, dict) else table)
            except ValidationError as error:
                self._note(error, model, (*place, index))
                continue
            found.standing_at((*place, index))
            tables.append(found)
        return tuple(tables)

    def _note(self, error: ValidationError, model: type[Table], place: Place) -> None:
        self.problems.extend(problems_from(error, self.problems.file, self.problems.text, model, place))


class PartsTable:
    """The components by name; what is wrong with a row is noted among ``problems`` when it is asked for."""

    def __init__(self, problems: Problems, file: Path | None = None, lost: bool = False) -> None:
        """``lost``: the user's file cannot be read, so that a name that ours lack may stand in it."""
        self.lost = lost
        data, text = shipped_toml(SHIPPED)
        self.ours = PartsText(problems.beside(SHIPPED, text), data)
        self.own: PartsText | None = None
        if file is not None:
            data, text = read_toml(file)
            self.own = PartsText(problems.beside(file.name, text), data)
        self._found: dict[str, Described | None] = {}

    @property
    def names(self) -> tuple[str, ...]:
        """Every component: ours in the order of the table, then those that only the user's file has."""
        own = self.own.rows if self.own else {}
        return (*self.ours.rows, *(name for name in own if name not in self.ours.rows))

    def find(self, name: str) -> Described | None:
        """A component of the table, or None where its row is wrong.

        Raises KeyError where there is none of that name; ``remark`` says what there is.
        """
        if name not in self._found:
            self._found[name] = self._described(name)
        return self._found[name]

    def of_series(self, series: str) -> dict[float, str]:
        """The components of a series by their nominal size, mm; empty where there is no such series.

        A row that is wrong is left out, with its problem noted.
        """
        found: dict[float, str] = {}
        for text in (self.ours, self.own):
            for name, (_, raw) in text.rows.items() if text else ():
                described = self.find(name) if raw.get("series") == series else None
                if described is not None and isinstance(described.row.nominal, float):
                    found[described.row.nominal] = name
        return dict(sorted(found.items()))

    def remark(self, name: str) -> str:
        """What to write instead of an unknown name."""
        if sizes := self.of_series(name):
            return f"it is a series, whose sizes are {', '.join(sizes.values())}"
        found = nearest(name, self.names)
        return found if found.startswith("did you mean") else "see them all with: holewright parts"

    def _described(self, name: str) -> Described | None:
        ours = self.ours.row(name) if name in self.ours.rows else None
        if self.own is None or name not in self.own.rows:
            if name not in self.ours.rows:
                raise KeyError(name)
            return None if ours is None else Described(ours, self.ours, (ours, self.ours), (ours, self.ours))
        _, raw = self.own.rows[name]
        under = {} if ours is None else {key: value for key, value in _scalars(ours).items() if key not in raw}
        if ours is not None and "source" not in raw:
            changed = ", ".join(key for key in raw if key != "name") or "nothing"
            under["source"] = f"{ours.source}; {changed} by own file {self.own.problems.file}"
        row = self.own.row(name, under)
        if row is None:
            return None
        mine = row, self.own
        theirs = mine if ours is None else (ours, self.ours)
        found = Described(
            row, self.own, mine if any(kind in raw for kind in HOLES) else theirs, mine if "room" in raw else theirs
        )
        if not any(found.holes[0].holes) and not found.rooms[0].room:
            self.own.problems.add(row.place, "has neither a hole nor a room", "say what it takes of the panel")
        return found


def _scalars(row: PartRow) -> dict[str, Any]:
    """All of a row but its holes and its rooms; what it leaves to the defaults is left out."""
    return {key: getattr(row, key) for key in row.model_fields_set if key not in HOLES and key != "room"}

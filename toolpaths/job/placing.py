"""Components and rows of them as a job places them, to features with the holes and the room of each component."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any, Final, cast

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job import DHole, DoubleDHole, Feature, HoldingTabs, KeyedHole, Part, Round, Row, schema
from toolpaths.job.component import Room
from toolpaths.job.features import FeatureResolver, Sheet, check_corner, holding_tabs
from toolpaths.job.mirroring import mirrored
from toolpaths.job.parts import UPRIGHT, Described, PartRow, PartsTable, PartsText, RoomTable
from toolpaths.job.scope import Scope
from toolpaths.tables.toml_file import Place
from toolpaths.units import inch_fraction

SAME_NOMINAL: Final = 0.01
"""mm; a size worked out from inches is the one that is meant."""


class PlacingResolver:
    """The tables ``part`` and ``row`` of one panel."""

    def __init__(self, scope: Scope, sheet: Sheet, parts: PartsTable) -> None:
        self.scope = scope
        self.sheet = sheet
        self.parts = parts
        self.problems = scope.problems
        self._made: dict[str, tuple[tuple[Feature, ...], tuple[Room, ...], float | None]] = {}

    def part(self, table: schema.PartTable) -> Part:
        """One component at its place."""
        at = self.scope.point(table.at, (*table.place, "at"))
        return self._placed(table, table, at, table.place, 0.0)

    def row(self, table: schema.RowTable) -> Row:
        """Components along a line; the layout spaces them."""
        turn = self.scope.angle(table.angle, (*table.place, "angle"))
        groups = tuple(
            tuple(self._placed(one, table, (0.0, 0.0), one.place, turn) for one in group)
            for group in table.parts
        )
        start = self.scope.point(table.start, (*table.place, "from"))
        to = self.scope.point(table.to, (*table.place, "to"))
        if table.mirrored and groups:
            groups = mirrored(groups, (to[0] - start[0], to[1] - start[1]))
        if math.dist(start, to) < 1e-9 and sum(map(len, groups)) > 1:
            self.problems.add((*table.place, "to"), "is where the row begins", "write where it ends")
        return Row(
            **self._common(table, start, table.label), to=to, groups=groups, spacing=table.spacing,
            step=self._step(table), align=table.align or "centred", group_space=self._group_space(table),
        )  # fmt: skip

    def _group_space(self, table: schema.RowTable) -> float:
        """What is more between groups; without groups it has no meaning."""
        if table.group_space is None:
            return 0.0
        place = (*table.place, "group_space")
        if len(table.parts) == 1:
            self.problems.add(place, "has no meaning without groups", "write parts as lists of parts, or leave it out")
        return self.scope.length(table.group_space, place, "not negative")

    def _step(self, table: schema.RowTable) -> float | None:
        """The pitch or gap that is given; the other one has no meaning in this row."""
        own, other = ("pitch", "gap") if table.spacing == "equal pitch" else ("gap", "pitch")
        if getattr(table, other) is not None:
            remedy = f"write spacing = 'equal {other}', or leave {other} out"
            self.problems.add((*table.place, other), f"has no meaning with spacing = '{table.spacing}'", remedy)
        raw = getattr(table, own)
        if raw is None:
            if table.align is not None:
                remedy = f"write {own}, or leave align out"
                self.problems.add((*table.place, "align"), f"has no meaning without a stated {own}", remedy)
            return None
        return self.scope.length(raw, (*table.place, own), "positive" if own == "pitch" else "not negative")

    def _common(self, table: schema.OpenedTable, at: tuple[float, float], label: str) -> dict[str, Any]:
        tabs = holding_tabs(self.scope, table.tabs, (*table.place, "tabs"))
        number = cast(int, table.place[-1]) + 1
        return {"number": number, "at": at, "label": label, "finish": self._finish(table), "tabs": tabs}

    def _finish(self, table: schema.OpenedTable) -> schema.Finish:
        return table.finish or self.sheet.finish

    def _placed(
        self, keys: schema.PartTable | schema.RowPartTable, table: schema.OpenedTable, at: tuple[float, float],
        place: Place, turn: float,
    ) -> Part:
        """One component; ``place`` is where the job speaks of it, ``turn`` the angle of its row."""
        common = self._common(table, at, keys.label)
        described = self._described(keys, place)
        features, rooms, winding = ((), (), None) if described is None else self._component(described)
        finish, tabs = common["finish"], common["tabs"]
        traits = keys.traits if keys.traits is not None else described.row.traits if described else ()
        return Part(
            **common, name=described.row.name if described else keys.part,
            angle=turn + self.scope.angle(keys.angle, (*place, "angle")),
            clearance=self.scope.length(keys.clearance, (*place, "clearance"), "not negative"),
            features=tuple(self._finished(feature, finish, tabs) for feature in features),
            rooms=rooms, traits=frozenset(traits), winding=winding,
            fitted_from=described.row.fitted_from if described else "outside",
            passes=described.row.passes if described else False,
        )  # fmt: skip

    def _described(self, keys: schema.ComponentKeys, place: Place) -> Described | None:
        """The component's row; None, with the problem noted, where there is none or it is wrong."""
        name: str | None = keys.part
        if keys.nominal is not None:
            name = self._of_series(keys.part, keys.nominal, place)
        try:
            return None if name is None else self.parts.find(name)
        except KeyError:
            if self.parts.lost:
                return None
            sizes = self.parts.of_series(keys.part)
            series = f"it is a series: add nominal, one of {self._in_words(sizes)}"
            remark = series if sizes else self.parts.remark(keys.part)
            self.problems.add((*place, "part"), f"unknown part '{keys.part}'", remark)
            return None

    def _of_series(self, series: str, nominal: float | str, place: Place) -> str | None:
        sizes = self.parts.of_series(series)
        if not sizes and self.parts.lost:
            return None
        if not sizes:
            self.problems.add((*place, "nominal"), f"'{series}' is no series of parts", "leave nominal out")
            return None
        wanted = self.scope.length(nominal, (*place, "nominal"), "positive")
        found = next((name for size, name in sizes.items() if abs(size - wanted) <= SAME_NOMINAL), None)
        if found is None and not math.isnan(wanted):
            said = self.scope.said(wanted)
            self.problems.add((*place, "nominal"), f"no {series} of {said}", f"there are {self._in_words(sizes)}")
        return found

    def _in_words(self, sizes: Iterable[float]) -> str:
        return ", ".join(inch_fraction(size) or self.scope.said(size) for size in sizes)

    def _finished(self, feature: Feature, finish: schema.Finish, tabs: HoldingTabs | None) -> Feature:
        """A hole of a component with the finish of its place: where no pilot may be, its centre is marked."""
        if finish == "pilot" and self.sheet.pilot_diameter > pilot_room(feature) + 1e-9:
            finish = "mark"
        return replace(feature, finish=finish, tabs=tabs)

    def _component(self, described: Described) -> tuple[tuple[Feature, ...], tuple[Room, ...], float | None]:
        """Holes, rooms and winding of a component in this sheet, about its own centre; worked out once."""
        name = described.row.name
        if name not in self._made:
            row, file = described.holes
            resolver = FeatureResolver(self._scope_of(file), replace(self.sheet, finish="machine"))
            holes = tuple(resolver.feature(table) for table in row.holes)
            self._made[name] = holes, tuple(self._rooms(*described.rooms)), self._winding(described.row, described.file)
        return self._made[name]

    def _scope_of(self, file: PartsText) -> Scope:
        """Where the expressions of a component's row are worked out: it knows the sheet's thickness."""
        return Scope(file.problems, {}, file.units).knowing("thickness", self.sheet.thickness)

    def _winding(self, row: PartRow, file: PartsText) -> float | None:
        if row.winding is None or row.winding == UPRIGHT:
            return None
        return self._scope_of(file).angle(row.winding, (*row.place, "winding"))

    def _rooms(self, row: PartRow, file: PartsText) -> Iterator[Room]:
        scope = self._scope_of(file)
        for table in row.room:
            off = scope.length(table.off, (*table.place, "off"), "not negative")
            reach = scope.length(table.reach, (*table.place, "reach"), "positive")
            if reach <= off:
                remedy = f"from the sheet to its far end: more than off, {scope.said(off)}"
                scope.problems.add((*table.place, "reach"), f"is {scope.said(reach)}", remedy)
            footprint = _footprint(table, scope)
            if footprint is not None:
                yield Room(table.role, table.side, footprint, off, reach)


def _footprint(table: RoomTable, scope: Scope) -> Contour | None:
    """A circle or a rounded rectangle; None where it is neither: the problem is then noted."""
    place = table.place
    at = scope.point(table.at, (*place, "at"))
    if (table.diameter is None) == (table.size is None):
        both = "is both round and a rectangle" if table.size is not None else "is neither round nor a rectangle"
        scope.problems.add(place, both, "write diameter, or size = [width, height]")
        return None
    if table.size is None:
        assert table.diameter is not None
        wide = high = scope.length(table.diameter, (*place, "diameter"), "positive")
        radius = wide / 2
    else:
        wide, high = (
            scope.length(raw, (*place, "size", index), "positive") for index, raw in enumerate(table.size)
        )
        radius = scope.length(table.corner_radius, (*place, "corner_radius"), "not negative")
        check_corner(scope, radius, min(wide, high), (*place, "corner_radius"))
    if any(map(math.isnan, (*at, wide, high, radius))) or radius > min(wide, high) / 2 + 1e-9:
        return None
    return circle(at, wide) if table.size is None else rounded_rectangle(at, wide, high, radius)


def pilot_room(feature: Feature) -> float:
    """How large a pilot may be at most that lies within the hole which is to follow it, mm; 0: none may be."""
    if feature.depth is not None:
        return 0.0
    match feature:
        case Round():
            return feature.diameter
        case DHole():
            return 2 * feature.across_flat - feature.diameter
        case DoubleDHole():
            return feature.across_flats
        case KeyedHole():
            return feature.diameter
    return 0.0

"""One panel's tables to a resolved ``Panel``: what each feature needs, and what cannot be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final, cast

from toolpaths.errors import BadInput, GeometryError, Problem, UnknownName
from toolpaths.geometry.polygon import polygon
from toolpaths.job import (
    Clamp,
    Countersink,
    Cutout,
    DHole,
    DoubleDHole,
    Feature,
    Grid,
    HoldingTabs,
    Hole,
    HoleList,
    KeyedHole,
    ListedHole,
    Measured,
    Panel,
    Polygon,
    Ring,
    Slot,
    Thread,
    schema,
)
from toolpaths.job.beside import checked_file
from toolpaths.job.expression import GAUGE
from toolpaths.job.hole_list import Row, read_rows
from toolpaths.job.scope import LEAST_SIZE, Scope
from toolpaths.tables import load as tables
from toolpaths.tables import screws
from toolpaths.tables.rows import Material
from toolpaths.tables.toml_file import Place, nearest

MOST_HOLES: Final = 200_000
"""In one job, counted before a ring is expanded."""

LEAST_OUTLINE_TABS: Final = 3
"""Two tabs are a hinge (common practice)."""

THICK_STOCK: Final = 6.0
SHARP_CORNER: Final = 1.6
SHARP_CORNER_THICK: Final = 3.2
"""mm; the radius that may stay in a sharp inside corner, in stock up to and over ``THICK_STOCK`` (common practice)."""

SAME_DRILL: Final = 0.01
"""mm; a diameter given beside a thread agrees with its tap drill to within this: the last digit of a chart."""

FINE: Final = frozenset({"10-32"})
"""Threads of the table that are of the fine series, UNF; the other inch threads are of the coarse one, UNC."""


def plain_thread(name: str) -> str:
    """A thread as the table names it: without the series, where that is the right one.

    >>> plain_thread("6-32 UNC"), plain_thread("10-32 UNF"), plain_thread("M4"), plain_thread("10-24 UNF")
    ('6-32', '10-32', 'M4', '10-24 UNF')
    """
    thread, _, series = " ".join(name.split()).partition(" ")
    inch = not thread.startswith("M")
    return thread if inch and series == ("UNF" if thread in FINE else "UNC") else name.strip()


MOST_POINTS: Final = 500
"""Of one polygon; a shape with more was drawn, not typed."""

SharpTable = (
    schema.DHoleTable | schema.DoubleDHoleTable | schema.CutoutTable | schema.KeyedHoleTable | schema.PolygonTable
)
"""Features that may have sharp inside corners."""


class PanelResolver:
    """One panel's table to a ``Panel``."""

    def __init__(
        self, scope: Scope, table: schema.PanelTable, materials: Mapping[str, Material], pilot_diameter: float,
        folder: Path,
    ) -> None:
        self.scope = scope
        self.table = table
        self.materials = materials
        self.pilot_diameter = pilot_diameter
        self.folder = folder
        self.problems = scope.problems
        self.sheet = math.nan
        """How thick the real piece is: what depths are held against."""

    def place(self, *keys: str | int) -> Place:
        return (*self.table.place, *keys)

    def panel(self) -> Panel:
        table = self.table
        material = self.material()
        thickness, thickness_text = self.thickness(material)
        self.scope = self.scope.knowing("thickness", thickness)
        width = self.scope.length(table.width, self.place("width"), "positive")
        self.scope = self.scope.knowing("width", width)
        height = self.scope.length(table.height, self.place("height"), "positive")
        self.scope = self.scope.knowing("height", height)
        corner_radius = self.scope.length(table.corner_radius, self.place("corner_radius"), "not negative")
        measured = self.measured(width, height, thickness)
        least = min(width, height, measured.width, measured.height)
        self.check_corner(corner_radius, least, self.place("corner_radius"))
        self.sheet = measured.thickness
        features = tuple(self.features(self.corner_limit(measured.thickness)))
        return Panel(
            table.name, table.material, thickness, thickness_text, width, height, corner_radius, table.origin,
            table.machine_from == "inside", table.cut_outline, tuple(map(self.clamp, table.clamps)), measured, features,
            *self.machined_outline(),
        )  # fmt: skip

    def machined_outline(self) -> tuple[float | None, HoldingTabs | None]:
        """The margin of the stock and the tabs of a machined outline; what has no meaning with it, or without it."""
        table = self.table
        if not table.cut_outline:
            for key in ("stock_margin", "tabs"):
                if getattr(table, key) is not None:
                    self.problems.add(self.place(key), "belongs to a machined outline", "set cut_outline = true")
            return None, None
        for key in ("width", "height"):
            if table.measured is not None and getattr(table.measured, key) is not None:
                message = "is cut by the machine, so there is nothing to measure"
                self.problems.add(self.place("measured", key), message, "leave it out, or set cut_outline = false")
        margin = self.place("stock_margin")
        return (
            None if table.stock_margin is None else self.scope.length(table.stock_margin, margin, "positive"),
            self.outline_tabs(),
        )

    def outline_tabs(self) -> HoldingTabs:
        """The tabs that hold the panel in its frame: it is never cut loose."""
        raw, place = self.table.tabs, self.place("tabs")
        if raw is False:
            message = "is false; without tabs the panel itself comes loose under the cutter"
            self.problems.add(place, message, "write true or { count, width, height }")
        tabs = self.holding_tabs(True if raw is None else raw, place)
        if tabs is None or tabs.count is None:
            return HoldingTabs()
        if tabs.count < LEAST_OUTLINE_TABS:
            remedy = f"at least {LEAST_OUTLINE_TABS} hold a panel in its frame"
            self.problems.add((*place, "count"), f"is {tabs.count}", remedy)
        return tabs

    def material(self) -> Material | None:
        found = self.materials.get(self.table.material)
        if found is None and self.materials:
            remark = nearest(self.table.material, self.materials)
            self.problems.add(self.place("material"), f"unknown material '{self.table.material}'", remark)
        return found

    def thickness(self, material: Material | None) -> tuple[float, str]:
        raw, place = self.table.thickness, self.place("thickness")
        gauge = GAUGE.fullmatch(raw.strip()) if isinstance(raw, str) else None
        if gauge is None:
            value = self.scope.length(raw, place, "positive")
            return value, self.scope.said(value)
        if material is None:
            return math.nan, ""
        try:
            value = tables.gauge(int(gauge[1]), material)
        except (UnknownName, BadInput) as error:
            return self.scope.refused(place, str(error), ""), ""
        return value, f"{int(gauge[1])} ga ({self.scope.said(value)})"

    def measured(self, width: float, height: float, thickness: float) -> Measured:
        table = self.table.measured
        if table is None:
            return Measured(width, height, thickness)

        def one(key: str, raw: float | str | None, design: float) -> float:
            return design if raw is None else self.scope.length(raw, self.place("measured", key), "positive")

        return Measured(
            one("width", table.width, width), one("height", table.height, height),
            one("thickness", table.thickness, thickness),
        )  # fmt: skip

    def corner_limit(self, thickness: float) -> float:
        raw = self.table.max_corner_radius
        if raw is not None:
            return self.scope.length(raw, self.place("max_corner_radius"), "positive")
        return SHARP_CORNER_THICK if thickness > THICK_STOCK else SHARP_CORNER

    def check_corner(self, radius: float, least_side: float, place: Place) -> None:
        if radius > least_side / 2 + 1e-9:
            half = self.scope.said(least_side / 2)
            self.problems.add(place, f"is {self.scope.said(radius)}", f"at most half the shorter side, {half}")

    def clamp(self, table: schema.ClampTable) -> Clamp:
        length, place = self.scope.length, table.place
        return Clamp(
            length(table.x, (*place, "x")),
            length(table.y, (*place, "y")),
            length(table.width, (*place, "width"), "positive"),
            length(table.width if table.length is None else table.length, (*place, "length"), "positive"),
            length(table.height, (*place, "height"), "not negative"),
        )

    def features(self, corner_limit: float) -> Iterable[Feature]:
        for kind in schema.FEATURES:
            for table in getattr(self.table, kind):
                yield self.feature(table, corner_limit)

    def feature(self, table: schema.FeatureTable, corner_limit: float) -> Feature:
        common = self.common(table)
        match table:
            case schema.HoleTable():
                return self.hole(table, common)
            case schema.DHoleTable():
                return self.d_hole(table, common, corner_limit)
            case schema.CutoutTable():
                return self.cutout(table, common, corner_limit)
            case schema.RingTable():
                return self.ring(table, common)
            case schema.SlotTable():
                return self.slot(table, common)
            case schema.DoubleDHoleTable():
                return self.double_d_hole(table, common, corner_limit)
            case schema.GridTable():
                return self.grid(table, common)
            case schema.KeyedHoleTable():
                return self.keyed_hole(table, common, corner_limit)
            case schema.PolygonTable():
                return self.polygon(table, common, corner_limit)
            case schema.HoleListTable():
                return self.hole_list(table, common)
        raise AssertionError(table.kind)

    def common(self, table: schema.FeatureTable) -> dict[str, Any]:
        """What every feature has, resolved."""
        number = cast(int, table.place[-1]) + 1
        at = self.scope.point(table.at, (*table.place, "at"))
        finish = table.finish or self.table.finish
        if finish == "pilot" and table.kind in ("cutout", "slot", "polygon"):
            message = f"finish 'pilot' does not suit a {table.kind}"
            self.problems.add((*table.place, "finish"), message, "write finish = 'machine' or 'mark'")
        depth = None if table.depth is None else self.depth(table, finish)
        tabs = self.tabs(table)
        return {"number": number, "at": at, "label": table.label, "finish": finish, "tabs": tabs, "depth": depth}

    def depth(self, table: schema.FeatureTable, finish: str) -> float:
        """How deep a blind feature is; it must leave a floor, and a pilot would go through it."""
        place = (*table.place, "depth")
        depth = self.size(table, "depth")
        if depth >= self.sheet - LEAST_SIZE:
            remedy = f"leave depth out for a through {table.kind.replace('_', ' ')}"
            self.problems.add(place, f"is {self.scope.said(depth)} in {self.scope.said(self.sheet)} of sheet", remedy)
        if finish == "pilot":
            remedy = "write finish = 'machine' or 'mark', or leave depth out"
            self.problems.add(place, "finish 'pilot' goes through the sheet, a blind feature does not", remedy)
        return depth

    def tabs(self, table: schema.FeatureTable) -> HoldingTabs | None:
        return self.holding_tabs(table.tabs, (*table.place, "tabs"))

    def holding_tabs(self, tabs: bool | schema.TabsTable, place: Place) -> HoldingTabs | None:
        if isinstance(tabs, bool):
            return HoldingTabs() if tabs else None
        return HoldingTabs(
            None if tabs.count is None else self.scope.count(tabs.count, (*place, "count")),
            None if tabs.width is None else self.scope.length(tabs.width, (*place, "width"), "positive"),
            None if tabs.height is None else self.scope.length(tabs.height, (*place, "height"), "positive"),
        )

    def size(self, table: schema.FeatureTable, key: str) -> float:
        """A positive length of a feature."""
        return self.scope.length(getattr(table, key), (*table.place, key), "positive")

    def tolerance(self, table: schema.RoundTable | schema.HoleListTable) -> float:
        return self.scope.length(table.tolerance, (*table.place, "tolerance"), "not negative")

    def sharp(self, table: SharpTable, corner_limit: float) -> float:
        raw = table.max_corner_radius
        return corner_limit if raw is None else self.size(table, "max_corner_radius")

    def check_pilot(self, table: schema.FeatureTable, finish: str, room: float) -> None:
        """A pilot must lie within the hole that is to follow it."""
        if finish == "pilot" and self.pilot_diameter > room + 1e-9:
            pilot = self.scope.said(self.pilot_diameter)
            remedy = f"set pilot_diameter to at most {self.scope.said(room)}, or another finish"
            self.problems.add((*table.place, "finish"), f"the pilot of {pilot} is larger than this opening", remedy)

    def round(self, table: schema.RoundTable, common: dict[str, Any]) -> dict[str, Any]:
        """What round holes have, resolved, beside what every feature has."""
        thread = None if table.thread is None else self.thread(table, table.thread)
        diameter = self.diameter(table, thread)
        self.check_pilot(table, common["finish"], diameter)
        countersink = None if table.countersink is None else self.countersink(table, table.countersink, diameter)
        return common | {
            "diameter": diameter, "tolerance": self.tolerance(table), "countersink": countersink,
            "thread": None if thread is None else Thread(thread.thread, thread.pitch, thread.source),
        }  # fmt: skip

    def diameter(self, table: schema.RoundTable, thread: screws.TapDrill | None) -> float:
        """As given, or that of the tap drill; where both are, they must agree to ``SAME_DRILL``."""
        place = (*table.place, "diameter")
        if table.diameter is None:
            if thread is None and table.thread is None:
                self.problems.add(place, "is missing", "add it")
            return math.nan if thread is None else thread.diameter
        diameter = self.size(table, "diameter")
        if thread is not None and abs(diameter - thread.diameter) > SAME_DRILL:
            tap = self.scope.said(thread.diameter)
            message = f"is {self.scope.said(diameter)}, and the tap drill of {thread.thread} is {tap}"
            self.problems.add(place, message, "leave diameter out")
        return diameter

    def thread(self, table: schema.RoundTable, name: str) -> screws.TapDrill | None:
        material = self.materials.get(self.table.material)
        stuff = screws.stuff_of(material.family, material.name) if material else "soft"
        try:
            return screws.tap_drill(plain_thread(name), stuff)
        except UnknownName as error:
            self.problems.add((*table.place, "thread"), str(error))
            return None

    def countersink(
        self, table: schema.RoundTable, cone: schema.CountersinkTable, diameter: float
    ) -> Countersink:
        place = (*table.place, "countersink")
        wide = self.scope.length(cone.diameter, (*place, "diameter"), "positive")
        angle = self.scope.angle(cone.angle, (*place, "angle"))
        if not math.radians(30) <= angle <= math.radians(150):
            self.problems.add((*place, "angle"), "is no countersink's angle", "write it in degrees, such as 82 or 90")
        if wide <= diameter + LEAST_SIZE:
            remedy = f"wider than the hole, {self.scope.said(diameter)}"
            self.problems.add((*place, "diameter"), f"is {self.scope.said(wide)}", remedy)
        return Countersink(wide, angle)

    def hole(self, table: schema.HoleTable, common: dict[str, Any]) -> Hole:
        return Hole(**self.round(table, common))

    def d_hole(self, table: schema.DHoleTable, common: dict[str, Any], corner_limit: float) -> DHole:
        diameter, across = self.size(table, "diameter"), self.size(table, "across_flat")
        if across > diameter - LEAST_SIZE:
            remedy = f"from the flat to the far side of the circle: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "across_flat"), f"is {self.scope.said(across)}", remedy)
        self.check_pilot(table, common["finish"], 2 * across - diameter)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table, corner_limit)
        return DHole(**common, diameter=diameter, across_flat=across, angle=angle, max_corner_radius=limit)

    def double_d_hole(
        self, table: schema.DoubleDHoleTable, common: dict[str, Any], corner_limit: float
    ) -> DoubleDHole:
        diameter, across = self.size(table, "diameter"), self.size(table, "across_flats")
        if across > diameter - LEAST_SIZE:
            remedy = f"from flat to flat: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "across_flats"), f"is {self.scope.said(across)}", remedy)
        self.check_pilot(table, common["finish"], across)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table, corner_limit)
        return DoubleDHole(**common, diameter=diameter, across_flats=across, angle=angle, max_corner_radius=limit)

    def cutout(self, table: schema.CutoutTable, common: dict[str, Any], corner_limit: float) -> Cutout:
        width, height = self.size(table, "width"), self.size(table, "height")
        place = (*table.place, "corner_radius")
        radius = self.scope.length(table.corner_radius, place, "not negative")
        self.check_corner(radius, min(width, height), place)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table, corner_limit)
        return Cutout(
            **common, width=width, height=height, corner_radius=radius, angle=angle, max_corner_radius=limit
        )  # fmt: skip

    def ring(self, table: schema.RingTable, common: dict[str, Any]) -> Ring:
        place = (*table.place, "count")
        count = self.scope.count(table.count, place)
        if count > MOST_HOLES:
            self.problems.add(place, f"is {count}", f"at most {MOST_HOLES} holes in one job")
        circle = self.size(table, "circle_diameter")
        start = self.scope.angle(table.start_angle, (*table.place, "start_angle"))
        return Ring(
            **self.round(table, common), circle_diameter=circle, count=min(count, MOST_HOLES), start_angle=start
        )

    def grid(self, table: schema.GridTable, common: dict[str, Any]) -> Grid:
        columns = self.scope.count(table.columns, (*table.place, "columns"))
        rows = self.scope.count(table.rows, (*table.place, "rows"))
        if columns * rows > MOST_HOLES:
            self.problems.add(table.place, f"has {columns * rows} holes", f"at most {MOST_HOLES} in one job")
            columns = rows = 1
        place = (*table.place, "pitch")
        if isinstance(table.pitch, tuple):
            across, up = (self.scope.length(raw, place, "positive") for raw in table.pitch)
        else:
            across = up = self.scope.length(table.pitch, place, "positive")
            # the rows of a staggered grid of one pitch stand so that all neighbours are that pitch apart
            up *= math.sqrt(3) / 2 if table.staggered else 1.0
        return Grid(
            **self.round(table, common), columns=columns, rows=rows, across=across, up=up, staggered=table.staggered
        )

    def keyed_hole(self, table: schema.KeyedHoleTable, common: dict[str, Any], corner_limit: float) -> KeyedHole:
        diameter, width = self.size(table, "diameter"), self.size(table, "key_width")
        depth = self.size(table, "key_depth")
        if width > diameter - LEAST_SIZE:
            remedy = f"the notch is narrower than the hole: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "key_width"), f"is {self.scope.said(width)}", remedy)
        self.check_pilot(table, common["finish"], diameter)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table, corner_limit)
        return KeyedHole(
            **common, diameter=diameter, key_width=width, key_depth=depth, angle=angle, max_corner_radius=limit
        )  # fmt: skip

    def polygon(self, table: schema.PolygonTable, common: dict[str, Any], corner_limit: float) -> Polygon:
        place = (*table.place, "points")
        radius = self.scope.length(table.corner_radius, (*table.place, "corner_radius"), "not negative")
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table, corner_limit)
        if len(table.points) > MOST_POINTS:
            self.problems.add(place, f"has {len(table.points)} points", f"at most {MOST_POINTS} in one polygon")
            return Polygon(**common, points=(), corner_radius=radius, angle=angle, max_corner_radius=limit)
        points = tuple(self.scope.point(point, (*place, index)) for index, point in enumerate(table.points))
        if not any(math.isnan(value) for value in (radius, *(x for point in points for x in point))):
            try:
                polygon(points, radius, self.scope.said)
            except GeometryError as error:
                self.problems.add(place, str(error))
        return Polygon(**common, points=points, corner_radius=radius, angle=angle, max_corner_radius=limit)

    def hole_list(self, table: schema.HoleListTable, common: dict[str, Any]) -> HoleList:
        path = checked_file(self.problems, (*table.place, "file"), self.folder, table.file)
        rows = () if path is None else read_rows(path, table.file, self.scope.units, self.problems)
        if common["finish"] == "pilot":
            self.check_listed_pilots(table.file, rows)
        holes = tuple(ListedHole((row.x, row.y), row.diameter, row.label) for row in rows)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        return HoleList(**common, holes=holes, angle=angle, tolerance=self.tolerance(table))

    def check_listed_pilots(self, file: str, rows: Iterable[Row]) -> None:
        """The pilot lies within every hole of a list."""
        said = self.scope.said
        for row in rows:
            if self.pilot_diameter > row.diameter + 1e-9:
                message = f"the pilot of {said(self.pilot_diameter)} is larger than this hole of {said(row.diameter)}"
                remedy = f"set pilot_diameter to at most {said(row.diameter)}, or another finish"
                self.problems.extend([Problem(file, row.line, "diameter", message, remedy)])

    def slot(self, table: schema.SlotTable, common: dict[str, Any]) -> Slot:
        length, width = self.size(table, "length"), self.size(table, "width")
        if length < width:
            remedy = f"over all, round ends and all: at least the width, {self.scope.said(width)}"
            self.problems.add((*table.place, "length"), f"is {self.scope.said(length)}", remedy)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        return Slot(**common, length=length, width=width, angle=angle)

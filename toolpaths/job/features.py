"""One feature's table to a resolved ``Feature``: what each kind needs, and what cannot be."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, cast

from toolpaths.drawing_file.contents import Contents, Shape, Wanted
from toolpaths.errors import BadInput, GeometryError, Problem, UnknownName
from toolpaths.geometry.polygon import polygon
from toolpaths.job import (
    Countersink,
    Cutout,
    DHole,
    DoubleDHole,
    DrawnShapes,
    Feature,
    Grid,
    HoldingTabs,
    Hole,
    HoleList,
    KeyedHole,
    ListedHole,
    Polygon,
    Ring,
    Slot,
    Thread,
    schema,
)
from toolpaths.job.beside import checked_file
from toolpaths.job.hole_list import Row, read_rows
from toolpaths.job.scope import LEAST_SIZE, Scope
from toolpaths.tables import screws
from toolpaths.tables.rows import Material
from toolpaths.tables.toml_file import MISSING, Place
from toolpaths.tolerance import JOIN_GAP

MOST_HOLES: Final = 200_000
"""In one job, counted before a ring is expanded."""

LEAST_TABS: Final = 2
"""One tab lets a slug swing into the cutter (common practice)."""

FACING: Final = "two that face each other are the least that holds a slug, three are better; or write tabs = false"

MOST_POINTS: Final = 500
"""Of one polygon; a shape with more was drawn, not typed."""

MOST_GAP: Final = 2.0
"""mm; between loose ends of a drawing: a wider gap is an opening that somebody meant."""

SAME_DRILL: Final = 0.01
"""mm; a diameter given beside a thread agrees with its tap drill to within this: the last digit of a chart."""

FINE: Final = frozenset({"10-32"})
"""Threads of the table that are of the fine series, UNF; the other inch threads are of the coarse one, UNC."""

SharpTable = (
    schema.DHoleTable | schema.DoubleDHoleTable | schema.CutoutTable | schema.KeyedHoleTable | schema.PolygonTable
    | schema.DrawingTable
)
"""Features that may have sharp inside corners."""

NO_PILOT: Final = frozenset({"cutout", "slot", "polygon"})
"""Kinds that are not opened from one hole in the middle."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a feature needs to know of its panel: ``thickness`` of the real piece, ``finish`` unless it has its own.

    ``corner_limit`` is the largest radius that may stay in a sharp inside corner; ``folder`` is the job's.
    ``recover``: drawings that are broken are mended, and every repair is listed.
    """

    thickness: float
    material: Material | None
    finish: schema.Finish
    corner_limit: float
    pilot_diameter: float
    folder: Path
    recover: bool = False


def plain_thread(name: str) -> str:
    """A thread as the table names it: without the series, where that is the right one.

    >>> plain_thread("6-32 UNC"), plain_thread("10-32 UNF"), plain_thread("M4"), plain_thread("10-24 UNF")
    ('6-32', '10-32', 'M4', '10-24 UNF')
    """
    thread, _, series = " ".join(name.split()).partition(" ")
    inch = not thread.startswith("M")
    return thread if inch and series == ("UNF" if thread in FINE else "UNC") else name.strip()


def holding_tabs(
    scope: Scope, tabs: bool | schema.TabsTable, place: Place, least: int = LEAST_TABS, why: str = FACING
) -> HoldingTabs | None:
    """The job's own figures of tabs, ``least`` of them or more; None where it wants none."""
    if isinstance(tabs, bool):
        return HoldingTabs() if tabs else None
    return HoldingTabs(
        None if tabs.count is None else scope.count(tabs.count, (*place, "count"), least, why),
        None if tabs.width is None else scope.length(tabs.width, (*place, "width"), "positive"),
        None if tabs.height is None else scope.length(tabs.height, (*place, "height"), "positive"),
    )


def check_corner(scope: Scope, radius: float, least_side: float, place: Place) -> None:
    """A rounded corner takes at most half the shorter side."""
    if radius > least_side / 2 + 1e-9:
        wrong, half = scope.said_apart(radius, least_side / 2)
        scope.problems.add(place, f"is {wrong}", f"at most half the shorter side, {half}")


class FeatureResolver:
    """The tables of features on one sheet to features."""

    def __init__(self, scope: Scope, sheet: Sheet) -> None:
        self.scope = scope
        self.sheet = sheet
        self.problems = scope.problems

    def feature(self, table: schema.FeatureTable) -> Feature:
        common = self.common(table)
        match table:
            case schema.HoleTable():
                return self.hole(table, common)
            case schema.DHoleTable():
                return self.d_hole(table, common)
            case schema.CutoutTable():
                return self.cutout(table, common)
            case schema.RingTable():
                return self.ring(table, common)
            case schema.SlotTable():
                return self.slot(table, common)
            case schema.DoubleDHoleTable():
                return self.double_d_hole(table, common)
            case schema.GridTable():
                return self.grid(table, common)
            case schema.KeyedHoleTable():
                return self.keyed_hole(table, common)
            case schema.PolygonTable():
                return self.polygon(table, common)
            case schema.HoleListTable():
                return self.hole_list(table, common)
            case schema.DrawingTable():
                return self.drawing(table, common)
        raise AssertionError(table.kind)

    def common(self, table: schema.FeatureTable) -> dict[str, Any]:
        """What every feature has, resolved."""
        number = cast(int, table.place[-1]) + 1
        at = self.scope.point(table.at, (*table.place, "at"))
        finish = table.finish or self.sheet.finish
        if finish == "pilot" and table.kind in NO_PILOT:
            message = f"finish 'pilot' does not suit a {table.kind}"
            self.problems.add((*table.place, "finish"), message, "write finish = 'machine' or 'mark'")
        depth = None if table.depth is None else self.depth(table, finish)
        tabs = self.tabs(table)
        return {"number": number, "at": at, "label": table.label, "finish": finish, "tabs": tabs, "depth": depth}

    def depth(self, table: schema.FeatureTable, finish: str) -> float:
        """How deep a blind feature is; it must leave a floor, and a pilot would go through it."""
        place = (*table.place, "depth")
        depth = self.size(table, "depth")
        if depth >= self.sheet.thickness - LEAST_SIZE:
            remedy = f"leave depth out for a through {table.kind.replace('_', ' ')}"
            sheet = self.scope.said(self.sheet.thickness)
            self.problems.add(place, f"is {self.scope.said(depth)} in {sheet} of sheet", remedy)
        if finish == "pilot":
            remedy = "write finish = 'machine' or 'mark', or leave depth out"
            self.problems.add(place, "finish 'pilot' goes through the sheet, a blind feature does not", remedy)
        return depth

    def tabs(self, table: schema.FeatureTable) -> HoldingTabs | None:
        return holding_tabs(self.scope, table.tabs, (*table.place, "tabs"))

    def size(self, table: schema.FeatureTable, key: str) -> float:
        """A positive length of a feature."""
        return self.scope.length(getattr(table, key), (*table.place, key), "positive")

    def tolerance(self, table: schema.RoundTable | schema.HoleListTable | schema.DrawingTable) -> float:
        return self.scope.length(table.tolerance, (*table.place, "tolerance"), "not negative")

    def sharp(self, table: SharpTable) -> float:
        raw = table.max_corner_radius
        return self.sheet.corner_limit if raw is None else self.size(table, "max_corner_radius")

    def check_pilot(self, table: schema.FeatureTable, finish: str, room: float) -> None:
        """A pilot must lie within the hole that is to follow it."""
        if finish == "pilot" and self.sheet.pilot_diameter > room + 1e-9:
            pilot, most = self.scope.said_apart(self.sheet.pilot_diameter, room)
            remedy = f"set pilot_diameter to at most {most}, or another finish"
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
                self.problems.add(place, MISSING, "add it")
            return math.nan if thread is None else thread.diameter
        diameter = self.size(table, "diameter")
        if thread is not None and abs(diameter - thread.diameter) > SAME_DRILL:
            tap = self.scope.said(thread.diameter)
            message = f"is {self.scope.said(diameter)}, and the tap drill of {thread.thread} is {tap}"
            self.problems.add(place, message, "leave diameter out")
        return diameter

    def thread(self, table: schema.RoundTable, name: str) -> screws.TapDrill | None:
        material = self.sheet.material
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

    def d_hole(self, table: schema.DHoleTable, common: dict[str, Any]) -> DHole:
        diameter, across = self.size(table, "diameter"), self.size(table, "across_flat")
        if across > diameter - LEAST_SIZE:
            remedy = f"from the flat to the far side of the circle: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "across_flat"), f"is {self.scope.said(across)}", remedy)
        self.check_pilot(table, common["finish"], 2 * across - diameter)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table)
        return DHole(**common, diameter=diameter, across_flat=across, angle=angle, max_corner_radius=limit)

    def double_d_hole(self, table: schema.DoubleDHoleTable, common: dict[str, Any]) -> DoubleDHole:
        diameter, across = self.size(table, "diameter"), self.size(table, "across_flats")
        if across > diameter - LEAST_SIZE:
            remedy = f"from flat to flat: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "across_flats"), f"is {self.scope.said(across)}", remedy)
        self.check_pilot(table, common["finish"], across)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table)
        return DoubleDHole(**common, diameter=diameter, across_flats=across, angle=angle, max_corner_radius=limit)

    def cutout(self, table: schema.CutoutTable, common: dict[str, Any]) -> Cutout:
        width, height = self.size(table, "width"), self.size(table, "height")
        place = (*table.place, "corner_radius")
        radius = self.scope.length(table.corner_radius, place, "not negative")
        check_corner(self.scope, radius, min(width, height), place)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table)
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

    def keyed_hole(self, table: schema.KeyedHoleTable, common: dict[str, Any]) -> KeyedHole:
        diameter, width = self.size(table, "diameter"), self.size(table, "key_width")
        depth = self.size(table, "key_depth")
        if width > diameter - LEAST_SIZE:
            remedy = f"the notch is narrower than the hole: less than the diameter, {self.scope.said(diameter)}"
            self.problems.add((*table.place, "key_width"), f"is {self.scope.said(width)}", remedy)
        self.check_pilot(table, common["finish"], diameter)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table)
        return KeyedHole(
            **common, diameter=diameter, key_width=width, key_depth=depth, angle=angle, max_corner_radius=limit
        )  # fmt: skip

    def polygon(self, table: schema.PolygonTable, common: dict[str, Any]) -> Polygon:
        place = (*table.place, "points")
        radius = self.scope.length(table.corner_radius, (*table.place, "corner_radius"), "not negative")
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        limit = self.sharp(table)
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
        path = checked_file(self.problems, (*table.place, "file"), self.sheet.folder, table.file)
        rows = () if path is None else read_rows(path, table.file, self.scope.units, self.problems)
        if common["finish"] == "pilot":
            self.check_listed_pilots(table.file, rows)
        holes = tuple(ListedHole((row.x, row.y), row.diameter, row.label) for row in rows)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        return HoleList(**common, holes=holes, angle=angle, tolerance=self.tolerance(table))

    def drawing(self, table: schema.DrawingTable, common: dict[str, Any]) -> DrawnShapes:
        contents = self.drawn(table)
        shapes = () if contents is None else contents.shapes
        if common["finish"] == "pilot":
            self.check_drawn_pilots(table.file, shapes)
        return DrawnShapes(
            **common, file=table.file, shapes=shapes, angle=self.scope.angle(table.angle, (*table.place, "angle")),
            tolerance=self.tolerance(table), max_corner_radius=self.sharp(table),
            notes=contents.notes if contents else (),
        )  # fmt: skip

    def drawn(self, table: schema.DrawingTable) -> Contents | None:
        """What the file holds; None with the problems noted."""
        gap = JOIN_GAP if table.gap is None else self.size(table, "gap")
        if gap > MOST_GAP:
            wrong, most = self.scope.said_apart(gap, MOST_GAP)
            remedy = f"at most {most}: close wider ones in the drawing"
            self.problems.add((*table.place, "gap"), f"is {wrong}", remedy)
        path = checked_file(self.problems, (*table.place, "file"), self.sheet.folder, table.file)
        if path is None or not gap <= MOST_GAP:
            return None
        try:
            from toolpaths.drawing_file.read import closed_contours  # most jobs read no drawing

            return closed_contours(path, table.file, Wanted(table.layer, table.units, gap, self.sheet.recover))
        except BadInput as error:
            self.problems.extend(error.problems)
            return None

    def check_drawn_pilots(self, file: str, shapes: Iterable[Shape]) -> None:
        """Only round openings are opened from one hole in their middle, and it lies within them."""
        pilot = self.sheet.pilot_diameter
        for shape in shapes:
            if shape.circle is None:
                message = "finish 'pilot' does not suit a contour that is not round"
                remedy = "name layers of round holes, or another finish"
            elif pilot > shape.circle[1] + 1e-9:
                wide, most = self.scope.said_apart(pilot, shape.circle[1])
                message = f"the pilot of {wide} is larger than this hole of {most}"
                remedy = f"set pilot_diameter to at most {most}, or another finish"
            else:
                continue
            self.problems.extend([Problem(file, 0, str(shape.place), message, remedy)])

    def check_listed_pilots(self, file: str, rows: Iterable[Row]) -> None:
        """The pilot lies within every hole of a list."""
        pilot = self.sheet.pilot_diameter
        for row in rows:
            if pilot > row.diameter + 1e-9:
                wide, most = self.scope.said_apart(pilot, row.diameter)
                message = f"the pilot of {wide} is larger than this hole of {most}"
                remedy = f"set pilot_diameter to at most {most}, or another finish"
                self.problems.extend([Problem(file, row.line, "diameter", message, remedy)])

    def slot(self, table: schema.SlotTable, common: dict[str, Any]) -> Slot:
        length, width = self.size(table, "length"), self.size(table, "width")
        if length < width:
            remedy = f"over all, round ends and all: at least the width, {self.scope.said(width)}"
            self.problems.add((*table.place, "length"), f"is {self.scope.said(length)}", remedy)
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        return Slot(**common, length=length, width=width, angle=angle)

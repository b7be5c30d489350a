"""One panel's tables to a resolved ``Panel``: what each feature needs, and what cannot be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from toolpaths.errors import BadInput, UnknownName
from toolpaths.job import Clamp, Feature, HoldingTabs, Measured, Panel, schema
from toolpaths.job.expression import GAUGE
from toolpaths.job.features import FeatureResolver, Sheet, check_corner, holding_tabs
from toolpaths.job.legends import LegendResolver
from toolpaths.job.parts import PartsTable
from toolpaths.job.placing import PlacingResolver
from toolpaths.job.scope import Scope
from toolpaths.tables import load as tables
from toolpaths.tables.rows import Material
from toolpaths.tables.toml_file import Place, nearest

LEAST_OUTLINE_TABS: Final = 3
"""Two tabs are a hinge: a slug may have one, a panel not (common practice)."""

THICK_STOCK: Final = 6.0
SHARP_CORNER: Final = 1.6
SHARP_CORNER_THICK: Final = 3.2
"""mm; the radius that may stay in a sharp inside corner, in stock up to and over ``THICK_STOCK`` (common practice)."""


class PanelResolver:
    """One panel's table to a ``Panel``."""

    def __init__(
        self, scope: Scope, table: schema.PanelTable, materials: Mapping[str, Material], parts: PartsTable,
        pilot_diameter: float, folder: Path, recover: bool = False,
    ) -> None:
        self.scope = scope
        self.table = table
        self.materials = materials
        self.parts = parts
        self.pilot_diameter = pilot_diameter
        self.folder = folder
        self.recover = recover
        self.problems = scope.problems

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
        check_corner(self.scope, corner_radius, least, self.place("corner_radius"))
        sheet = Sheet(
            measured.thickness, material, table.finish, self.corner_limit(measured.thickness), self.pilot_diameter,
            self.folder, self.recover,
        )  # fmt: skip
        features = tuple(self.features(sheet))
        return Panel(
            table.name, table.material, thickness, thickness_text, width, height, corner_radius, table.origin,
            table.machine_from == "inside", table.cut_outline, tuple(map(self.clamp, table.clamps)), measured, features,
            *self.machined_outline(), table.divide,
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
        why = "two are a hinge, and no frame for a panel"
        return holding_tabs(self.scope, True if raw is None else raw, place, LEAST_OUTLINE_TABS, why) or HoldingTabs()

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
            sold_as = "" if material is None or math.isnan(value) else tables.gauge_beside(value, material)
            return value, f"{self.scope.said(value)} ({sold_as})" if sold_as else self.scope.said(value)
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

    def clamp(self, table: schema.ClampTable) -> Clamp:
        length, place = self.scope.length, table.place
        return Clamp(
            length(table.x, (*place, "x")),
            length(table.y, (*place, "y")),
            length(table.width, (*place, "width"), "positive"),
            length(table.width if table.length is None else table.length, (*place, "length"), "positive"),
            length(table.height, (*place, "height"), "not negative"),
            table.setup or 0,
        )

    def features(self, sheet: Sheet) -> Iterator[Feature]:
        """Every feature, kind by kind in the order of the job format."""
        resolver = FeatureResolver(self.scope, sheet)
        placing = PlacingResolver(self.scope, sheet, self.parts)
        legends = LegendResolver(self.scope, sheet)
        for kind in schema.FEATURES:
            for table in getattr(self.table, kind):
                match table:
                    case schema.PartTable():
                        yield placing.part(table)
                    case schema.RowTable():
                        yield placing.row(table)
                    case schema.LegendTable():
                        yield legends.legend(table)
                    case _:
                        yield resolver.feature(table)

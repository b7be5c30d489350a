"""The tables about the box to their resolved forms: what names what, and what cannot be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from toolpaths.job import schema
from toolpaths.job.chassis import OPPOSITE, Cabinet, Chassis, Fold, KeepApart, Obstacle
from toolpaths.job.schema import FACES, Face
from toolpaths.job.scope import Scope
from toolpaths.tables.toml_file import Place, nearest

if TYPE_CHECKING:
    from toolpaths.job import Panel

TRAY: Final[frozenset[Fold]] = frozenset(frozenset({"top", side}) for side in ("front", "rear", "left", "right"))
"""The top bent down on all four sides."""

Everything = tuple[Chassis | None, tuple[Obstacle, ...], Cabinet | None, KeepApart]


class BoxResolver:
    """The box's tables, once the panels are known."""

    def __init__(self, scope: Scope, table: schema.JobTable, panels: Sequence[Panel]) -> None:
        self.scope = scope
        self.problems = scope.problems
        self.table = table
        self.panels = {panel.name: panel for panel in panels}

    def everything(self) -> Everything:
        """Chassis, obstacles, cabinet, and what is to be kept apart."""
        obstacles = tuple(self.obstacle(obstacle) for obstacle in self.table.obstacle)
        return self.chassis(), obstacles, self.cabinet(), self.keep_apart()

    def chassis(self) -> Chassis | None:
        table = self.table.chassis
        if table is None:
            return None
        length, depth, height = (
            self.scope.length(getattr(table.inside, key), ("chassis", "inside", key), "positive")
            for key in ("length", "depth", "height")
        )
        faces, folds = self.faces(table), self.folds(table)
        if table.holes == "before bending" and table.folds == ():
            place: Place = ("chassis", "holes")
            self.problems.add(place, "has no meaning: nothing is bent, folds is empty", "leave it out")
        return Chassis(
            length, depth, height, self.thickness(table, faces, folds),
            self.scope.length(table.bend_radius, ("chassis", "bend_radius"), "not negative"),
            faces, folds, table.holes,
            self.scope.length(table.finder, ("chassis", "finder"), "positive"),
        )  # fmt: skip

    def faces(self, table: schema.ChassisTable) -> tuple[tuple[Face, str], ...]:
        """Faces and panels in the order of ``FACES``; each panel is one face at most."""
        seen: dict[str, Face] = {}
        for face, name in table.faces.items():
            place: Place = ("chassis", "faces", face)
            self.panel_named(name, place)
            if name in seen:
                self.problems.add(place, f"panel '{name}' is the {seen[name]} already", "one panel is one face")
            seen.setdefault(name, face)
            self.check_not_cut_out(face, name, table)
        if not table.faces and not any(problem.key.startswith("chassis.faces") for problem in self.problems.found):
            self.problems.add(("chassis", "faces"), "names no panel", 'write { top = "NAME OF A PANEL" }')
        return tuple((face, table.faces[face]) for face in FACES if face in table.faces)

    def check_not_cut_out(self, face: Face, name: str, table: schema.ChassisTable) -> None:
        """The outline of a face that is bent, or will be, is no edge to cut."""
        for panel in self.table.panel:
            bent = table.folds is None or any(face in edge.split() for edge in table.folds)
            if panel.name == name and panel.cut_outline and bent:
                message = f"is the {face} of a folded chassis, whose outline is bent"
                self.problems.add((*panel.place, "cut_outline"), message, "write false")

    def panel_named(self, name: str, place: Place) -> None:
        if name not in self.panels:
            self.problems.add(place, f"no panel is called '{name}'", nearest(name, self.panels))

    def thickness(
        self, table: schema.ChassisTable, faces: Sequence[tuple[Face, str]], folds: frozenset[Fold]
    ) -> float:
        """As stated, or that of the first face that is bent, or, where none is, of the first."""
        if table.thickness is not None:
            return self.scope.length(table.thickness, ("chassis", "thickness"), "positive")
        bent_first = sorted(faces, key=lambda pair: not any(pair[0] in fold for fold in folds))
        known = [self.panels[name].measured.thickness for _, name in bent_first if name in self.panels]
        return known[0] if known else math.nan

    def folds(self, table: schema.ChassisTable) -> frozenset[Fold]:
        if table.folds is None:
            return TRAY
        found: set[Fold] = set()
        for index, text in enumerate(table.folds):
            place: Place = ("chassis", "folds", index)
            first, _, second = text.partition(" ")
            pair = [face for face in FACES if face in (first, second.strip())]
            if len(pair) != 2 or OPPOSITE[pair[0]] == pair[1]:
                remedy = f"write two faces that meet, as 'top front'; faces are {', '.join(FACES)}"
                self.problems.add(place, f"'{text}' is no edge of a box", remedy)
            else:
                found.add(frozenset(pair))
        return frozenset(found)

    def obstacle(self, table: schema.ObstacleTable) -> Obstacle:
        place = table.place
        if table.on is not None:
            self.panel_named(table.on, (*place, "on"))
        elif self.table.chassis is None:
            self.problems.add(place, "needs a [chassis] to stand in", "or name a panel: on = 'NAME'")
        self.check_obstacle(table)
        size = None
        if table.size is not None:
            across, deep, up = (
                self.scope.length(raw, (*place, "size", index), "positive") for index, raw in enumerate(table.size)
            )
            size = across, deep, up
        return Obstacle(
            int(place[-1]) + 1,
            table.label,
            tuple(self.scope.length(raw, (*place, "at", index)) for index, raw in enumerate(table.at)),
            table.on,
            table.side,
            self.scope.length(table.gap, (*place, "gap"), "not negative"),
            size,
            0.0 if table.diameter is None else self.scope.length(table.diameter, (*place, "diameter"), "positive"),
            0.0 if table.length is None else self.scope.length(table.length, (*place, "length"), "positive"),
            table.axis or "height",
            self.scope.length(table.air, (*place, "air"), "not negative"),
        )

    def check_obstacle(self, table: schema.ObstacleTable) -> None:
        """A box or a cylinder, and as many coordinates as its place asks for."""
        place = table.place
        wanted = 2 if table.on is not None else 3
        if len(table.at) != wanted:
            write = "[x, y] on the panel" if wanted == 2 else "[x, y, z] in the chassis"
            self.problems.add((*place, "at"), f"has {len(table.at)} coordinates", f"write {write}")
        if (table.size is None) == (table.diameter is None and table.length is None):
            both = "is both a box and a cylinder" if table.size is not None else "is neither a box nor a cylinder"
            self.problems.add(place, both, "write size, or diameter and length")
        elif table.size is None and (table.diameter is None or table.length is None):
            self.problems.add(place, "is half a cylinder", "write both diameter and length")
        elif table.size is None and table.on is None and table.axis is None:
            write = "write axis = 'length', 'depth' or 'height'"
            self.problems.add(place, "does not say which way the cylinder lies", write)
        if table.axis is not None and (table.on is not None or table.size is not None):
            self.problems.add((*place, "axis"), "is for a cylinder in the chassis", "leave it out")
        if table.on is None and (table.side != "outside" or table.gap != 0.0):
            key = "gap" if table.side == "outside" else "side"
            self.problems.add((*place, key), "is for an obstacle on a panel", "leave it out, or name the panel: on")

    def cabinet(self) -> Cabinet | None:
        table = self.table.cabinet
        if table is None:
            return None
        if table.baffle is not None:
            self.panel_named(table.baffle, ("cabinet", "baffle"))
        if (table.baffle is None) != (table.baffle_opening is None):
            self.problems.add(("cabinet",), "has half a baffle", "write both baffle and baffle_opening")
        if self.table.chassis is None and table.baffle is None:
            message = "has no [chassis] to hold against its width and height"
            self.problems.add(("cabinet",), message, "add [chassis], or a baffle and its opening")
        opening = table.baffle_opening
        return Cabinet(
            self.scope.length(table.width, ("cabinet", "width"), "positive"),
            self.scope.length(table.height, ("cabinet", "height"), "positive"),
            self.scope.length(table.covering, ("cabinet", "covering"), "not negative"),
            self.scope.length(table.play, ("cabinet", "play"), "not negative"),
            table.baffle,
            None if opening is None else self.scope.point(opening, ("cabinet", "baffle_opening")),
            self.scope.length(table.cloth, ("cabinet", "cloth"), "not negative"),
            self.scope.length(table.cloth_turned, ("cabinet", "cloth_turned"), "not negative"),
        )

    def keep_apart(self) -> KeepApart:
        table = self.table.keep_apart
        if table is None:
            return KeepApart()
        return KeepApart(
            **{
                key: self.scope.length(getattr(table, key), ("keep_apart", key), "not negative")
                for key in schema.KeepApartTable.model_fields
            }
        )

"""The schema's tables to a ``Job`` in one size: parameters and sizes, machine and files, limits of the whole."""

from __future__ import annotations

import math
from collections import ChainMap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, TypeVar, cast

from toolpaths.errors import BadInput, ExpressionError, Problem, UnknownName
from toolpaths.job import Job, Panel, hole_count, schema
from toolpaths.job.beside import checked_file
from toolpaths.job.box import BoxResolver
from toolpaths.job.expression import RESERVED, Quantity, Unresolved, names_in
from toolpaths.job.features import MOST_HOLES
from toolpaths.job.panel import PanelResolver
from toolpaths.job.parts import PartsTable
from toolpaths.job.problems import Problems
from toolpaths.job.scope import Names, Scope, quantity_of
from toolpaths.tables import load as tables
from toolpaths.tables.hand_tools import hand_tools
from toolpaths.tables.rows import Printer
from toolpaths.tables.toml_file import Place, dotted, line_of, nearest
from toolpaths.units import plain, said

DEFAULT_MACHINE: Final = "small router"
T = TypeVar("T")


class Resolver:
    """The schema's tables to a ``Job``."""

    def __init__(self, problems: Problems, table: schema.JobTable, path: Path, recover: bool = False) -> None:
        self.problems = problems
        self.table = table
        self.path = path
        self.recover = recover

    def job(
        self,
        size: str | None,
        settings: Sequence[tuple[str, str]],
        machine: str | None,
        cutters: Path | None,
        printer: str | None = None,
    ) -> Job:
        table = self.table
        self.check_sizes(size)
        names = self.parameters(size, settings)
        scope = Scope(self.problems, names, table.units)
        the_machine = self.machine(machine)
        the_cutters = self.looked_up(("cutters",), lambda: tables.cutters(cutters or self.file("cutters")))
        self.check_slots(the_machine, the_cutters)
        materials = self.looked_up(("materials",), lambda: tables.materials(self.file("materials"))) or {}
        pilot = "1/8 in" if table.units == "in" else "3 mm"
        raw_pilot = pilot if table.pilot_diameter is None else table.pilot_diameter
        pilot_diameter = scope.length(raw_pilot, ("pilot_diameter",), "positive")
        folder = self.path.parent
        parts = self.parts()
        panels = tuple(
            PanelResolver(scope, panel, materials, parts, pilot_diameter, folder, self.recover).panel()
            for panel in table.panel
        )
        self.check_panels(panels)
        # a table in error has left a problem, so that nobody ever sees the missing value
        return Job(
            self.path.stem, table.title or self.path.stem, size, tuple(table.sizes), self.in_words(names), table.units,
            pilot_diameter, panels, cast(Any, the_machine), the_cutters or {}, materials,
            *BoxResolver(scope, table, panels).everything(),
            hand_tools=self.looked_up(("hand_tools",), lambda: hand_tools(table.units, self.file("hand_tools")))
            or hand_tools(table.units),
            printer=self.printer(printer),
        )  # fmt: skip

    def in_words(self, names: Names) -> tuple[tuple[str, str], ...]:
        """Every parameter's value as the job's reader measures it, in file order."""
        values = ((name, names.get(name)) for name in self.table.parameters)
        return tuple(
            (name, said(value.value, self.table.units) if value.is_length else plain(value.value))
            for name, value in values
            if value is not None
        )

    def check_sizes(self, size: str | None) -> None:
        """Sizes set only parameters that exist; the one asked for is among them."""
        for name, values in self.table.sizes.items():
            for parameter in values:
                if parameter not in self.table.parameters:
                    self.unknown_parameter(("sizes", name, parameter), parameter)
        self.check_alike([(name, ("sizes", name)) for name in self.table.sizes])
        if size is not None and size not in self.table.sizes:
            known = nearest(size, self.table.sizes) if self.table.sizes else "the job has no [sizes]"
            self.problems.extend([Problem(self.problems.file, 0, "sizes", f"unknown size '{size}'", known)])

    def check_alike(self, names: list[tuple[str, Place]]) -> None:
        seen: dict[str, Place] = {}
        for name, place in names:
            first = seen.setdefault(name.lower(), place)
            if first != place:
                message = f"'{name}' is the name of {dotted(first)} too"
                self.problems.add(place, message, "no two may be alike but for case")

    def unknown_parameter(self, place: Place, name: str) -> None:
        self.problems.add(place, "unknown parameter", self.parameter_remark(name))

    def parameter_remark(self, name: str) -> str:
        return nearest(name, self.table.parameters) if self.table.parameters else "the job has no [parameters]"

    def parameters(self, size: str | None, settings: Sequence[tuple[str, str]]) -> Names:
        """Every parameter's value: the job's, the size's over it, the settings' over both."""
        chosen: dict[str, tuple[float | str, Problem]] = {}
        for name, raw in self.table.parameters.items():
            place = ("parameters", name)
            self.check_parameter_name(name, place)
            chosen[name] = raw, self.at(place)
        for name, raw in self.table.sizes.get(size or "", {}).items():
            if name in chosen:
                chosen[name] = raw, self.at(("sizes", size or "", name))
        for name, text in settings:
            if name not in chosen:
                remark = self.parameter_remark(name)
                self.problems.extend([Problem("--set", 0, name, "unknown parameter", remark)])
            else:
                chosen[name] = text, Problem("--set", 0, name, "")
        return self.in_order(chosen)

    def at(self, place: Place) -> Problem:
        """A problem-to-be at a place; its line is looked up only where it is needed."""
        return Problem(self.problems.file, -1, dotted(place), "")

    def check_parameter_name(self, name: str, place: Place) -> None:
        if name in RESERVED:
            self.problems.add(place, "is a reserved name", "choose another")
        elif not (name.isascii() and name.isidentifier() and len(name) <= schema.LONGEST_NAME):
            self.problems.add(place, "is no name for a parameter", "use ASCII letters, digits and '_', at most 64")

    def in_order(self, chosen: Mapping[str, tuple[float | str, Problem]]) -> Names:
        """Values of parameters, each after those that it uses; by a loop, for a chain may be thousands long."""
        values: dict[str, Quantity | None] = {}
        known = ChainMap(values, dict.fromkeys(chosen))
        for start in chosen:
            way = {} if start in values else {start: None}
            while way:
                name = next(reversed(way))
                raw, place = chosen[name]
                waiting = [other for other in _uses(raw) if other in chosen and other not in values]
                if waiting and waiting[0] not in way:
                    way[waiting[0]] = None
                    continue
                if waiting:
                    self.note_cycle(way, waiting[0], place)
                values[name] = None if waiting else self.value(raw, known, place)
                del way[name]
        return values

    def note_cycle(self, way: Mapping[str, None], back_to: str, place: Problem) -> None:
        names = list(way)
        circle = [*names[names.index(back_to) :], back_to]
        self.note(place, f"a cycle: {' → '.join(circle[:8])}{' …' if len(circle) > 8 else ''}")

    def value(self, raw: float | str, known: Names, place: Problem) -> Quantity | None:
        if isinstance(raw, float):
            return None if math.isnan(raw) else Quantity(raw, False)
        try:
            return quantity_of(raw, known, self.table.units)
        except Unresolved:
            pass
        except (ExpressionError, UnknownName) as error:
            self.note(place, str(error))
        return None

    def note(self, place: Problem, message: str) -> None:
        line = place.line if place.line >= 0 else line_of(self.problems.text, tuple(place.key.split(".")))
        self.problems.extend([replace(place, line=line, message=message)])

    def looked_up(self, place: Place, load: Callable[[], T]) -> T | None:
        """What ``load`` gives, or None with the problem noted."""
        try:
            return load()
        except BadInput as error:
            self.problems.extend(error.problems)
        except UnknownName as error:
            self.problems.add(place, str(error))
        return None

    def machine(self, option: str | None) -> Any:
        if option is not None:
            return self.looked_up_option(option)
        name = self.table.machine or DEFAULT_MACHINE
        if name in tables.machines():
            return tables.machines()[name]
        place: Place = ("machine",)
        if not name.lower().endswith(".toml"):
            self.problems.add(place, f"unknown machine '{name}'", nearest(name, tables.machines()))
            return None
        if checked_file(self.problems, place, self.path.parent, name) is None:
            return None
        return self.looked_up(place, lambda: tables.machine(name, self.path.parent))

    def printer(self, option: str | None) -> Printer | None:
        """What prints: the option's file, which is looked for in the current folder, else the job's, beside it."""
        if option is not None:
            return tables.printer(option, Path())
        name = self.table.printer
        if name is None:
            return None
        if name not in tables.machines() and checked_file(self.problems, ("printer",), self.path.parent, name) is None:
            return None
        return self.looked_up(("printer",), lambda: tables.printer(name, self.path.parent))

    def check_slots(self, machine: Any, cutters: Any) -> None:
        """A slot that holds no cutter of the table would be found by whoever stands at the machine."""
        if machine is None or cutters is None:
            return
        for slot, number in machine.program.slots:
            if number not in cutters:
                said = f"slot {slot} of machine '{machine.name}' holds cutter {number}, which the cutter table does not"
                self.problems.add(("machine",), said, "correct the machine's slots, or add the cutter with its row")

    def looked_up_option(self, option: str) -> Any:
        """A machine of the command line: its file is looked for in the current folder, like every file named there."""
        return tables.machine(option, Path())

    def file(self, key: str) -> Path | None:
        """The file of the user's that the job names under ``key``; None for the built-in table alone."""
        name = getattr(self.table, key)
        return None if name is None else checked_file(self.problems, (key,), self.path.parent, name)

    def parts(self) -> PartsTable:
        """The components; where the user's file cannot be read, ours alone, with the problem noted."""
        file = self.file("parts")
        found = self.looked_up(("parts",), lambda: PartsTable(self.problems, file))
        if found is None or (file is None and self.table.parts is not None):
            return PartsTable(self.problems, lost=True)
        return found

    def check_panels(self, panels: Sequence[Panel]) -> None:
        self.check_alike([(table.name, table.place) for table in self.table.panel])
        holes = sum(hole_count(feature) for panel in panels for feature in panel.features)
        if holes > MOST_HOLES:
            self.problems.add(("panel",), f"{holes} holes in all", f"at most {MOST_HOLES} in one job")


def _uses(raw: float | str) -> tuple[str, ...]:
    return names_in(raw) if isinstance(raw, str) else ()

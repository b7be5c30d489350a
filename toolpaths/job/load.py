"""From a job file to a resolved ``Job``; every problem found on the way is told, with its line and key.

Tables are checked from the inside out (a hole, then its panel, then the file), so that one wrong hole hides nothing
else.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import ValidationError

from toolpaths.job import Job, schema
from toolpaths.job.problems import Problems
from toolpaths.job.resolve import Resolver
from toolpaths.tables.toml_file import Place, problems_from, read_toml, shown

M = TypeVar("M", bound=schema.Table)

_BOX: Final[dict[str, type[schema.Table]]] = {
    "chassis": schema.ChassisTable,
    "cabinet": schema.CabinetTable,
    "keep_apart": schema.KeepApartTable,
}


def read_job(
    path: Path,
    *,
    size: str | None = None,
    settings: Sequence[tuple[str, str]] = (),
    machine: str | None = None,
    cutters: Path | None = None,
    recover: bool = False,
    printer: str | None = None,
) -> Job:
    """Reads a job file in one size.

    Args:
        path: the job file.
        size: one of its ``[sizes]``; None for the base.
        settings: parameter and text, each stronger than the size's.
        machine: a machine's name or file, stronger than the job's.
        cutters: a cutter table, stronger than the job's.
        recover: broken drawings are mended, and every repair is listed.
        printer: the name or file of what prints, stronger than the job's.

    Raises:
        BadInput: every problem that was found, in file order.
        UnknownName: ``machine`` or ``printer`` names none.
    """
    data, text = read_toml(path)
    problems = Problems(path.name, text)
    table = Tables(problems).job(data)
    if table is None:
        raise problems.as_error()
    job = Resolver(problems, table, path, recover).job(size, settings, machine, cutters, printer)
    if problems.found:
        raise problems.as_error()
    return job


def size_names(path: Path) -> tuple[str, ...]:
    """Names of a job's sizes in file order, whatever else is wrong with it; BadInput where the file cannot be read."""
    sizes = read_toml(path)[0].get("sizes")
    return tuple(sizes) if isinstance(sizes, dict) else ()


class Tables:
    """Raw TOML to the schema's tables, from the inside out."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems

    def job(self, data: dict[str, Any]) -> schema.JobTable | None:
        raw = self.without_strays(data)
        if isinstance(raw.get("parameters"), dict):
            raw["parameters"] = self.values(raw["parameters"], ("parameters",))
        if isinstance(raw.get("sizes"), dict):
            raw["sizes"] = {name: self.size(name, values) for name, values in raw["sizes"].items()}
        if "panel" in raw:
            raw["panel"] = self.each(raw["panel"], ("panel",), self.panel)
            if data["panel"] == []:
                self.problems.add(("panel",), "is empty", "describe at least one [[panel]]")
        self.box(raw)
        return self.checked(schema.JobTable, raw, (), {"format": 1, "units": "mm", "panel": ()})

    def box(self, raw: dict[str, Any]) -> None:
        """The tables that are about the box; one that cannot be read is left out, and its problem noted."""
        for key, model in _BOX.items():
            if isinstance(raw.get(key), list) and len(raw[key]) == 1:
                self.problems.add((key, 0), "is written with double brackets", f"write [{key}] with single brackets")
                raw[key] = raw[key][0]
            if isinstance(raw.get(key), dict):
                raw[key] = self.checked(model, raw[key], (key,))
        if "obstacle" in raw:
            raw["obstacle"] = self.each(
                raw["obstacle"], ("obstacle",), lambda data, place: self.checked(schema.ObstacleTable, data, place)
            )

    def panel(self, data: dict[str, Any], place: Place) -> schema.PanelTable | None:
        raw = dict(data)
        for kind, model in schema.FEATURES.items():
            if kind in raw:
                raw[kind] = self.each(raw[kind], (*place, kind), self.feature_reader(model))
        if "clamps" in raw:
            raw["clamps"] = self.each(raw["clamps"], (*place, "clamps"), self.clamp)
        # names that are right, whatever else may be wrong
        instead = {"name": f"unnamed panel {place[-1]}", "material": "mild steel"}
        return self.checked(schema.PanelTable, raw, place, instead)

    def feature_reader(
        self, model: type[schema.PlacedTable]
    ) -> Callable[[dict[str, Any], Place], schema.PlacedTable | None]:
        def read(data: dict[str, Any], place: Place) -> schema.PlacedTable | None:
            raw = dict(data)
            if model is schema.RowTable and isinstance(raw.get("parts"), list):
                raw["parts"] = self.row_parts(raw["parts"], (*place, "parts"))
            return self.checked(model, raw, place)

        return read

    def row_parts(self, raw: list[Any], place: Place) -> Any:
        """The parts of a row, or its groups, each part with its place.

        What cannot be read is left out, and its problem noted; () where nothing stays.
        """
        found: list[Any] = []
        for index, item in enumerate(raw):
            if isinstance(item, list) and item:
                found.append(self.row_parts(item, (*place, index)))
            elif isinstance(item, (str, dict)):
                part = self.row_part({"part": item} if isinstance(item, str) else item, (*place, index))
                found += [] if part is None else [part]
            else:
                said = "is an empty group" if item == [] else f"is {shown(item)}"
                self.problems.add((*place, index), said, "write a part's name, or { part = 'NAME' }")
        return found if found or not raw else ()

    def row_part(self, data: dict[str, Any], place: Place) -> schema.RowPartTable | None:
        if "at" in data:
            self.problems.add((*place, "at"), "has no meaning: the row places its parts", "leave it out")
        return self.checked(schema.RowPartTable, {key: value for key, value in data.items() if key != "at"}, place)

    def clamp(self, data: dict[str, Any], place: Place) -> schema.ClampTable | None:
        return self.checked(schema.ClampTable, data, place)

    def each(self, value: Any, place: Place, read: Callable[[dict[str, Any], Place], M | None]) -> tuple[M, ...]:
        """Every table of an array that can be read; ``place`` is the array's."""
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            header = ".".join(part for part in place if isinstance(part, str))
            written = "[{ x, y, width }]" if place[-1] == "clamps" else f"[[{header}]] with double brackets"
            self.problems.add(place, f"is {shown(value)}", f"write {written}")
            return ()
        tables = (read(item, (*place, index)) for index, item in enumerate(value))
        return tuple(table for table in tables if table is not None)

    def without_strays(self, data: dict[str, Any]) -> dict[str, Any]:
        """The job's keys without features that stand beside the panels instead of in one."""
        for kind in schema.FEATURES.keys() & data.keys():
            belongs = f"belongs to a panel: write [[panel.{kind}]], below the [[panel]] that it is in"
            self.problems.add((kind, 0) if isinstance(data[kind], list) else (kind,), belongs)
        return {key: value for key, value in data.items() if key not in schema.FEATURES}

    def size(self, name: str, values: Any) -> Any:
        place: Place = ("sizes", name)
        try:
            schema.proper_name(name)
        except ValueError as error:
            self.problems.add(place, str(error))
        return self.values(values, place) if isinstance(values, dict) else values

    def values(self, raw: dict[str, Any], place: Place) -> dict[str, Any]:
        """Parameters as numbers and texts, each judged by itself: one wrong value hides no other."""
        values: dict[str, Any] = {}
        for name, value in raw.items():
            try:
                values[name] = schema.number_or_text(value)
            except ValueError as error:
                self.problems.add((*place, name), str(error))
                values[name] = schema.IN_ERROR
        return values

    def checked(
        self, model: type[M], raw: dict[str, Any], place: Place, instead: dict[str, Any] | None = None
    ) -> M | None:
        """The table; where keys are wrong, the table with stand-ins for them, so that reading can go on."""
        try:
            table = model.model_validate(raw)
        except ValidationError as error:
            self.problems.extend(problems_from(error, self.problems.file, self.problems.text, model, place))
            wrong = {detail["loc"][0] for detail in error.errors(include_url=False)}
            right = {key: value for key, value in raw.items() if key not in wrong}
            try:
                table = model.model_validate({**model.stand_ins(wrong), **(instead or {}), **right})
            except ValidationError:
                return None
        table.standing_at(place)
        return table

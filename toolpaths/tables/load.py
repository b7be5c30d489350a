"""The tables as rows: ours, with a user's file laid over them row by row.

Every function that reads a user's file raises ``BadInput`` with all its problems.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from toolpaths.errors import BadInput, Problem, UnknownName
from toolpaths.tables import files, toml_file
from toolpaths.tables.lengths import with_unit
from toolpaths.tables.rows import Cutter, Dialect, Machine, Material, PenHolder, Printer, Rate, TabRule
from toolpaths.tolerance import SAME_GAUGE
from toolpaths.units import INCH

_Model = TypeVar("_Model", bound=BaseModel)
_Row = TypeVar("_Row")

_SHIPPED_MACHINES: Final = ("small_router", "sheet_router", "bench_mill", "tool_changer_mill", "pen_plotter")
_Raw = dict[str, Any]
_CUTTING_FIGURES: Final = (
    *("daylight", "min_rpm", "max_rpm", "power", "spin_up", "max_xy", "max_z", "rapid_xy", "rapid_z", "acceleration"),
    *("stiffness", "backlash", "nut_diameter", "nut_length", "spoilboard", "change_seconds"),
)
"""What a machine without spindle does not have."""


@dataclass(frozen=True, slots=True)
class _Source:
    """One read file: its parsed table, its text, and what messages call it."""

    data: _Raw
    text: str
    name: str

    def check(self, model: type[_Model], raw: Any, at: toml_file.Place = ()) -> _Model:
        """The raw table as a model, or ``BadInput`` with every problem."""
        try:
            return model.model_validate(raw)
        except ValidationError as error:
            raise BadInput(toml_file.problems_from(error, self.name, self.text, model, at)) from None


def _read(path: Path) -> _Source:
    data, text = toml_file.read_toml(path)
    return _Source(data, text, path.name)


@cache
def _shipped(name: str) -> _Source:
    return _Source(*toml_file.shipped_toml(f"{name}.toml"), f"{name}.toml")


# ------------------------------------------------------------------------------------------------ rows laid over rows


def _rows(file: Path | None, shipped: str, kind: str, key: str, over: Callable[..., _Raw]) -> list[_Raw]:
    """Raw rows by ``key``: ours, then those of ``file`` laid over them, each judged where it stands."""
    model: type[BaseModel] = files.CutterRow if kind == "cutter" else files.MaterialRow
    rows: dict[Any, _Raw] = {row[key]: row for row in _stated(_shipped(shipped), kind)}
    if file is None:
        return list(rows.values())
    source, problems, seen = _read(file), [], set()
    head = source.check(files.RowsFile, source.data)
    for other in {"cutter", "material"} - {kind}:
        if getattr(head, other):
            line = toml_file.line_of(source.text, (other, 0))
            problems.append(Problem(source.name, line, other, f"does not belong here: this is a {kind} file"))
    for index, own in enumerate(_stated(source, kind)):
        at = (kind, index)
        line, where = toml_file.line_of(source.text, at), toml_file.dotted(at)
        name = own.get(key)
        if isinstance(name, str | int) and name in seen:
            problems.append(Problem(source.name, line, where, f"{key} {name!r} stands here twice", "one row each"))
            continue
        row = own
        if isinstance(name, str | int):
            seen.add(name)
            row = over(rows.get(name), own, source.name)
        try:
            source.check(model, row, at)
            rows[name] = row
        except BadInput as error:
            problems.extend(error.problems)
        if len(problems) > toml_file.MOST_DETAILS:
            break
    if problems:
        raise BadInput(sorted(problems, key=lambda problem: problem.line))
    return list(rows.values())


def _stated(source: _Source, kind: str) -> list[_Raw]:
    """The rows of a file, with bare numbers made to say inches where the file is in inches."""
    units = source.data.get("units", "mm")
    rows: list[_Raw] = []
    for row in source.data.get(kind, []):
        if kind == "cutter":
            row = with_unit(row, files.CUTTER_LENGTHS, units)
            if "diameter" in row and "trade_name" not in row:
                size = row["diameter"]
                row = row | {"trade_name": size if isinstance(size, str) else f"{toml_file.shown(size)} mm"}
        rows.append(row)
    return rows


def _source_text(ours: _Raw | None, own: _Raw, file: str, ignored: set[str]) -> Any:
    """The source that a row of the user's file gives, else one that names the file and what it changes."""
    if "source" in own:
        return own["source"]
    if ours is None:
        return f"own file {file}"
    columns = [column for column in own if column not in ignored]
    return f"{ours['source']}; {', '.join(columns) or 'nothing'} by own file {file}"


def _cutter_over(ours: _Raw | None, own: _Raw, file: str) -> _Raw:
    text = _source_text(ours, own, file, {"number", "trade_name"})
    return (ours or {}) | own | {"source": text}


def _material_over(ours: _Raw | None, own: _Raw, file: str) -> _Raw:
    """Columns replace columns; a speed replaces only the speed of the same cutter kind and material."""
    row = (ours or {}) | own | {"source": _source_text(ours, own, file, {"name"})}
    if ours and isinstance(own.get("speeds"), list) and all(isinstance(speed, dict) for speed in own["speeds"]):
        named = {(speed.get("cutter"), speed.get("cutter_material")) for speed in own["speeds"]}
        kept = [speed for speed in ours["speeds"] if (speed["cutter"], speed["cutter_material"]) not in named]
        # The user's speeds come first, so that an index in a message is the index in his file.
        row["speeds"] = own["speeds"] + kept
    return row


# ----------------------------------------------------------------------------------------------------------- cutters


def cutters(file: Path | None = None) -> dict[int, Cutter]:
    """All cutters by T number, in the order of the numbers; ``file`` overrides ours row by row.

    Raises:
        BadInput: every problem of ``file``.
    """
    rows = [files.CutterRow.model_validate(row) for row in _rows(file, "cutters", "cutter", "number", _cutter_over)]
    return {row.number: _cutter(row) for row in sorted(rows, key=lambda row: row.number)}


def _cutter(row: files.CutterRow) -> Cutter:
    return Cutter(
        number=row.number,
        kind=row.kind,
        diameter=row.diameter,
        material=row.material,
        flutes=row.flutes,
        flute_length=row.flute_length,
        stick_out=row.stick_out,
        shank=row.shank,
        point_angle=math.radians(row.point_angle),
        serves=tuple(row.serves),
        trade_name=row.trade_name,
        source=row.source,
        twist=row.twist,
        tip=row.tip,
    )


# --------------------------------------------------------------------------------------------------------- materials


def materials(file: Path | None = None) -> dict[str, Material]:
    """All materials by name, in the order of the file; ``file`` overrides ours row by row.

    Raises:
        BadInput: every problem of ``file``.
    """
    raw = _rows(file, "materials", "material", "name", _material_over)
    rows = [files.MaterialRow.model_validate(row) for row in raw]
    return {row.name: _material(row) for row in rows}


_FIGURES: Final = tuple(
    name for name, field in files.MaterialRow.model_fields.items() if field.annotation is files.Figure
)


def _material(row: files.MaterialRow) -> Material:
    figures = {name: getattr(row, name).value for name in _FIGURES}
    figures["ramp"] = math.radians(figures["ramp"])
    return Material(
        name=row.name,
        family=row.family,
        gauge=row.gauge,
        speeds={(speed.cutter, speed.cutter_material): (speed.metres_per_minute, speed.source) for speed in row.speeds},
        chip_loads=_rates(row.chip_loads),
        drill_feeds=_rates(row.drill_feeds),
        tabs=TabRule(**row.tabs.model_dump()),
        source=row.source,
        sources={name: getattr(row, name).source for name in _FIGURES} | {"tabs": row.tabs.source},
        **figures,
    )


def _rates(rows: list[files.RateRow]) -> tuple[Rate, ...]:
    return tuple(Rate(row.diameter, row.low * row.factor, row.high * row.factor, row.source) for row in rows)


# ---------------------------------------------------------------------------------------------------------- machines


def machines() -> dict[str, Machine]:
    """The built-in machines by name."""
    found = [_any_machine(_shipped(name), _shipped(name).data) for name in _SHIPPED_MACHINES]
    return {row.name: row for row in found}


def machine(name_or_file: str, folder: Path) -> Machine:
    """A built-in machine by its name, else the machine of a TOML file (relative to ``folder``).

    A file that bears a built-in machine's name needs only the columns that differ.

    Raises:
        UnknownName: neither a built-in name nor a file.
        BadInput: every problem of the file.
    """
    ours = machines()
    if name_or_file in ours:
        return ours[name_or_file]
    path = folder / name_or_file
    if not name_or_file.lower().endswith(".toml") and not _is_there(path):
        named("machine", name_or_file, ours)
    source = _read(path)
    raw = _in_its_units(source.data)
    shipped = (_shipped(name).data for name in _SHIPPED_MACHINES)
    below = next((data for data in shipped if data["name"] == raw.get("name")), None)
    text = _source_text(below, source.data, source.name, {"format", "name", "units"})
    merged = _deep(_laid_under(below or {}, raw), raw) | {"source": text}
    return _any_machine(source, merged)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # a name that no file can have
        return False


def _any_machine(source: _Source, data: _Raw) -> Machine:
    """A machine that cuts; or a plotter, whose file has neither spindle nor feeds."""
    if "spindle" in data or "feed" in data:
        return _machine(source.check(files.MachineFile, data))
    row = source.check(files.PlotterFile, data)
    nothing = dict.fromkeys(_CUTTING_FIGURES, 0.0)
    return Machine(
        name=row.name,
        travel=(row.travel.x, row.travel.y, row.travel.z or 0.0),
        speed_control=False,
        program=_dialect(row.program),
        source=row.source,
        pen=None if row.pen is None else _pen(row.pen, 0.0),
        scale=(row.scale.x, row.scale.y),
        **nothing,
    )


def _in_its_units(data: _Raw) -> _Raw:
    """A machine's tables with bare lengths made to say inches where the file is in inches; true scale has no unit."""
    raw = with_unit(data, files.MACHINE_LENGTHS, data.get("units", "mm"))
    if isinstance(pen := raw.get("pen"), dict):
        raw = raw | {"pen": with_unit(pen, frozenset({"feed"}), data.get("units", "mm"))}
    return raw | {"scale": data["scale"]} if "scale" in data else raw


UP: Final = 3.0
PRESS: Final = 0.5
"""How high a pen's tip is between strokes, and how far its spring gives, where a file says neither, mm (common
practice)."""


def _pen(row: files.PenTable, nut_diameter: float) -> PenHolder:
    up, press = (UP if row.up is None else row.up), (PRESS if row.press is None else row.press)
    if row.lower is not None:
        up = press = 0.0
    return PenHolder(
        row.feed, row.dwell, up, press, row.lower or "", row.lift or "", row.diameter or nut_diameter
    )


def printer(name_or_file: str, folder: Path) -> Printer:
    """What prints and plots: a built-in machine by its name, else the true scale of a TOML file (of ``folder``).

    The file is a printer's, which holds ``[scale]`` alone, or that of a machine.

    Raises:
        UnknownName: neither a built-in name nor a file.
        BadInput: every problem of the file.
    """
    path = folder / name_or_file
    if name_or_file not in machines() and _is_there(path):
        source = _read(path)
        if not {"travel", "spindle", "feed"} & source.data.keys() and source.data.get("name") not in machines():
            row = source.check(files.PrinterFile, source.data)
            return Printer(row.name, (row.scale.x, row.scale.y), row.source)
    found = machine(name_or_file, folder)
    return Printer(found.name, found.scale, found.source)


def _dialect(row: files.ProgramTable) -> Dialect:
    program = row.model_dump()
    program["slots"] = tuple(sorted((int(slot), number) for slot, number in row.slots.items()))
    return Dialect(**program)


def _laid_under(ours: _Raw, own: _Raw) -> _Raw:
    """What of a built-in machine a user's file builds on: its decimals not where the program's units are others, its
    pen not where that is moved in another way."""
    below = {key: value for key, value in ours.items() if key != "format"}
    theirs, mine = below.get("program", {}), own.get("program")
    if isinstance(mine, dict) and mine.get("units", theirs.get("units")) != theirs.get("units"):
        below["program"] = {key: value for key, value in theirs.items() if key != "decimals"}
    if isinstance(own.get("pen"), dict) and own["pen"].keys() & {"up", "press", "lower", "lift"}:
        below.pop("pen", None)
    return below


def _deep(ours: _Raw, own: _Raw) -> _Raw:
    """Tables within tables merged key by key; slots are one value, or a removed slot would come back."""
    return ours | {
        key: _deep(ours[key], value)
        if isinstance(value, dict) and isinstance(ours.get(key), dict) and key != "slots"
        else value
        for key, value in own.items()
    }


def _machine(row: files.MachineFile) -> Machine:
    pen = _pen(row.pen, row.collet_nut.diameter)
    return Machine(
        name=row.name,
        travel=(row.travel.x, row.travel.y, row.travel.z),
        daylight=row.daylight,
        min_rpm=row.spindle.min_rpm,
        max_rpm=row.spindle.max_rpm,
        power=row.spindle.power_w,
        spin_up=row.spindle.spin_up_s,
        speed_control=row.spindle.speed_control,
        max_xy=row.feed.max_xy,
        max_z=row.feed.max_z,
        rapid_xy=row.feed.rapid_xy,
        rapid_z=row.feed.rapid_z,
        acceleration=row.feed.acceleration,
        stiffness=row.stiffness,
        backlash=row.backlash,
        nut_diameter=row.collet_nut.diameter,
        nut_length=row.collet_nut.length,
        spoilboard=row.spoilboard,
        change_seconds=row.change_seconds,
        program=_dialect(row.program),
        source=row.source,
        pen=dataclasses.replace(pen, feed=min(pen.feed, row.feed.max_xy)),
        scale=(row.scale.x, row.scale.y),
    )


# ------------------------------------------------------------------------------------------------- names of the trade


def named(kind: str, name: str, rows: Mapping[str, _Row]) -> _Row:
    """The row of a name.

    Raises:
        UnknownName: with the nearest name and all that there are.

    >>> named("material", "mild steal", {"mild steel": 1, "plywood": 2})
    Traceback (most recent call last):
    toolpaths.errors.UnknownName: no material 'mild steal'; did you mean 'mild steel'? Known are mild steel, plywood
    """
    if name in rows:
        return rows[name]
    near = toml_file.nearest(name, rows)
    known = ", ".join(rows)
    guess = f"{near} Known are {known}" if near.startswith("did you mean") else f"known are {known}"
    raise UnknownName(f"no {kind} '{name}'; {guess}")


@cache
def _drill_sizes() -> dict[str, float]:
    data = _shipped("drill_sizes").data
    return {name: inch * INCH for group in data["drill_size"] for name, inch in group["inch"].items()}


def drill_size(name: str) -> float:
    """Diameter in mm of a number or letter drill: ``#7``, ``letter F``.

    Raises:
        UnknownName: no such size.

    >>> round(drill_size("#7"), 4), round(drill_size("letter F"), 4)
    (5.1054, 6.5278)
    """
    sizes = _drill_sizes()
    if name not in sizes:
        raise UnknownName(f"no drill size '{name}'; there are #80 to #1 and letter A to letter Z")
    return sizes[name]


def drill_name(diameter: float) -> str:
    """The number or letter drill whose size a diameter in mm is exactly; empty where none is.

    >>> drill_name(5.1054), drill_name(6.5278), drill_name(5.1)
    ('#7', 'letter F', '')
    """
    return next((name for name, size in _drill_sizes().items() if abs(size - diameter) < 1e-6), "")


@dataclass(frozen=True, slots=True)
class Gauges:
    """One system of sheet gauges: thickness in mm by gauge number."""

    system: str
    thicknesses: dict[int, float]
    source: str


@cache
def _gauges() -> dict[str, Gauges]:
    return {
        system["name"]: Gauges(
            system["system"],
            {int(number): inch * INCH for number, inch in system["inch"].items()},
            system["source"],
        )
        for system in _shipped("gauges").data["gauge"]
    }


def gauges(material: Material) -> Gauges | None:
    """The gauges that this material is sold by, or None."""
    return _gauges().get(material.gauge)


def gauge(number: int, material: Material) -> float:
    """Thickness in mm of a gauge number of this material's own gauge system.

    Raises:
        UnknownName: the material is not sold by gauge, or has no such gauge.
    """
    sold_by = gauges(material)
    if sold_by is None:
        raise UnknownName(f"{material.name} is not sold by gauge; write its thickness as a length, such as '12 mm'")
    known = sold_by.thicknesses
    if number not in known:
        raise UnknownName(f"no gauge {number} of {material.name}; there are {min(known)} to {max(known)}")
    return known[number]


def nearest_gauge(thickness: float, material: Material) -> tuple[int, float] | None:
    """The gauge of this material that a sheet of ``thickness`` mm is nearest to, and that gauge's own mm.

    None where the material is not sold by gauge, or the sheet lies beyond its table by more than half a step.
    """
    sold_by = gauges(material)
    if sold_by is None:
        return None
    by_size = sorted((own, number) for number, own in sold_by.thicknesses.items())
    own, number = min(by_size, key=lambda row: abs(row[0] - thickness))
    place = by_size.index((own, number))
    beside = [by_size[other][0] for other in (place - 1, place + 1) if 0 <= other < len(by_size)]
    step = max(abs(other - own) for other in beside)
    return (number, own) if abs(own - thickness) <= step / 2 else None


def gauge_beside(thickness: float, material: Material) -> str:
    """The gauge that stands beside a thickness in mm: ``18 ga`` where it is that to SAME_GAUGE, else ``near 18 ga``.

    Empty where there is none.

    >>> steel, board = materials()["mild steel"], materials()["plywood"]
    >>> gauge_beside(1.2141, steel), gauge_beside(1.2, steel), gauge_beside(6, steel), gauge_beside(12, board)
    ('18 ga', 'near 18 ga', '', '')
    """
    found = nearest_gauge(thickness, material)
    if found is None:
        return ""
    number, own = found
    return f"{number} ga" if abs(own - thickness) <= SAME_GAUGE else f"near {number} ga"

"""What ``cutters``, ``materials``, ``machines`` and ``posts`` print: the rows of the tables, each with its source."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from toolpaths.errors import BrokenPost, UnknownName
from toolpaths.job.parts import Described, PartsTable
from toolpaths.job.problems import Problems
from toolpaths.job.schema import Table
from toolpaths.layout.components import Centre
from toolpaths.simulation.replay import Timed
from toolpaths.simulation.replay import rows as replay_rows
from toolpaths.tables import load
from toolpaths.tables import screws as tables
from toolpaths.tables.hand_tools import HandTool
from toolpaths.tables.hand_tools import hand_tools as load_hand_tools
from toolpaths.tables.load import drill_name
from toolpaths.tables.rows import Cutter, Machine, Material, Rate
from toolpaths.units import INCH, Units, duration, inch_fraction, plain

if TYPE_CHECKING:
    from postprocessors.base import Post

Row = dict[str, Any]
"""One row as the ``--json`` object holds it."""


def cutters(name: str | None, file: Path | None) -> list[Row]:
    """The cutter table by number, or the one row whose T number is ``name``."""
    rows = load.cutters(file)
    if name is not None:
        rows = {number: row for number, row in rows.items() if str(number) == name.upper().removeprefix("T")}
        if not rows:
            raise UnknownName(f"no cutter has the number {name!r}; see them all with: holewright cutters")
    return [_cutter(rows[number]) for number in sorted(rows)]


def materials(name: str | None) -> list[Row]:
    """The materials of the table, or one."""
    rows = load.materials()
    return [_material(rows[key]) for key in _chosen(name, list(rows), "material")]


def hand_tools(name: str | None, units: Units, file: Path | None) -> list[Row]:
    """The hand tools of a shop in ``units``, its drill press first, or the one called ``name``.

    Raises BadInput with every problem of the user's ``file``.
    """
    bench = load_hand_tools(units, file)
    press: Row = {"name": "drill press", "kind": "drill press", "sizes": [], "source": bench.press.source}
    press |= {"speeds_rpm": list(bench.press.speeds), "reach_mm": _figure(bench.press.reach)}
    press |= {"chuck_mm": _figure(bench.press.chuck)}
    rows = [press, *(_hand_tool(tool, units) for tool in bench.tools)]
    chosen = _chosen(name, [row["name"] for row in rows], "hand tool")
    return [row for row in rows if row["name"] in chosen]


def _hand_tool(tool: HandTool, units: Units) -> Row:
    return {
        "name": tool.name,
        "kind": tool.kind,
        "sizes": [inch_fraction(size) or drill_name(size) or plain(size) if units == "in" else plain(size)
                  for size in tool.sizes],
        "thickest_mm": _figure(tool.thickest),
        "pilot_mm": _figure(tool.pilot),
        "serves": list(tool.serves),
        "source": tool.source,
    }  # fmt: skip


def parts(name: str | None, file: Path | None) -> list[Row]:
    """The components of the table with all their holes and rooms as the table has them: all, one, or those of a series.

    Raises BadInput with every problem of the user's ``file``.
    """
    problems = Problems(file.name if file else "", "")
    table = PartsTable(problems, file)
    names = table.names if name is None else (name,)
    if name is not None and name not in table.names:
        names = tuple(table.of_series(name).values())
        if not names and not problems.found:
            raise UnknownName(f"no part is called {name!r}; {table.remark(name)}")
    found = [table.find(key) for key in names]
    if problems.found:
        raise problems.as_error()
    return [_part(one) for one in found if one is not None]


def _part(found: Described) -> Row:
    row = found.row
    facts: Row = {
        "name": row.name,
        "group": row.group,
        "summary": row.summary,
        "fitted_from": row.fitted_from,
        "passes_through_its_hole": row.passes,
        "traits": list(row.traits),
    }
    if row.series and isinstance(row.nominal, float):
        facts |= {"series": row.series, "nominal": inch_fraction(row.nominal) or f"{plain(row.nominal, 3)} mm"}
    if row.winding is not None:
        facts["winding"] = row.winding if isinstance(row.winding, str) else f"{row.winding:g} degrees from +x"
    (holes, from_file), (rooms, _) = found.holes, found.rooms
    facts["figures_in"] = from_file.units
    facts["holes"] = [{"shape": table.kind.replace("_", " "), **_as_written(table)} for table in holes.holes]
    facts["room"] = [_as_written(table) for table in rooms.room]
    return facts | {"source": row.source}


def _as_written(table: Table) -> Row:
    """The keys of a table as its file has them, its place first."""
    given = [key for key in type(table).model_fields if key in table.model_fields_set]
    keys = sorted(given, key=lambda key: (key != "role", key != "side", key != "at"))
    return {key: _figures(getattr(table, key)) for key in keys}


def _figures(value: Any) -> Any:
    return [_figures(part) for part in value] if isinstance(value, tuple) else value


def screws(name: str | None) -> list[Row]:
    """Clearance holes and tapping sizes, or those of one screw (``M4``, ``#6``) or thread (``6-32``)."""
    rows: list[Row] = [
        {"screw": hole.screw, "hole": f"clearance, {hole.fit}", **_hole(hole.diameter, hole.drill)}
        | {"by": hole.standard, "source": hole.source}
        for hole in tables.clearance_holes()
    ]
    rows += [
        {"screw": tap.thread, "hole": f"tapping, {' or '.join(tap.stuff)}", **_hole(tap.diameter, tap.drill)}
        | {"by": f"{tap.thread_depth} of the thread's depth", "source": tap.source}
        for tap in tables.tap_drills()
    ]
    wanted = _chosen(name and name.removesuffix(" in"), list(dict.fromkeys(row["screw"] for row in rows)), "screw")
    return [row for row in rows if row["screw"] in wanted]


def _hole(diameter: float, drill: str) -> Row:
    return {"diameter_mm": _figure(diameter), "drill": drill}


def machines(name: str | None, folder: Path) -> list[Row]:
    """The built-in machines, or one; ``name`` may be a machine file relative to ``folder``."""
    if name is not None:
        return [_machine(load.machine(name, folder))]
    return [_machine(row) for row in load.machines().values()]


def posts(name: str | None) -> list[Row]:
    """The post-processors that can be found, ours and those of plug-ins, or one.

    A broken one stands in the list with its fault. Raises BrokenPost where it is the one that was asked for.
    """
    import postprocessors

    if name is not None:
        return [_post(postprocessors.find(name))]
    rows = []
    for key in postprocessors.names():
        try:
            rows.append(_post(postprocessors.find(key)))
        except BrokenPost as error:
            nothing = dict.fromkeys(("takes", "suffix", "kind"), "")
            rows.append({"name": key, **nothing, "summary": f"cannot be used: {error}", "fault": str(error)})
    return rows


def _post(post: Post) -> Row:
    facts = {"name": post.name, "takes": post.takes, "suffix": post.suffix, "kind": post.kind, "summary": post.summary}
    return {**facts, "api_version": post.api_version}


def centres(standing: Sequence[Centre], units: Units) -> list[str]:
    """Where components stand, panel by panel, in the job's units: to be measured with a ruler."""
    named = any(one.label for one in standing)
    rows = [
        {
            "panel": one.panel, "feature": one.feature, "part": one.part, "label": one.label,
            f"x {units}": _ruled(one.x, units), f"y {units}": _ruled(one.y, units),
            "from left": _ruled(one.from_left, units), "from lower edge": _ruled(one.from_lower, units),
            "turned": f"{plain(math.degrees(one.angle), 2)}°" if one.angle else "",
        }
        for one in standing
    ]  # fmt: skip
    return table(rows, [key for key in rows[0] if key != "label" or named])


def _ruled(length: float, units: Units) -> str:
    """A length to a hundredth of a mm; in inches to a thousandth, with the fraction where one is exact."""
    if units == "mm":
        return f"{length + 0.0:.2f}".replace("-0.00", "0.00")
    fraction = inch_fraction(abs(length))
    return f"{length / INCH + 0.0:.3f}" + (f" ({'-' if length < 0 else ''}{fraction})" if fraction else "")


def centre_facts(one: Centre) -> Row:
    """A component's place as the ``--json`` object holds it."""
    return {
        "panel": one.panel, "feature": one.feature, "part": one.part, "label": one.label, "x_mm": _figure(one.x),
        "y_mm": _figure(one.y), "from_left_mm": _figure(one.from_left), "from_lower_mm": _figure(one.from_lower),
        "angle_deg": _figure(math.degrees(one.angle)),
    }  # fmt: skip


def order(one: Timed, machine: Machine) -> list[str]:
    """A setup's order of work with the time of each piece, and what stands still in between, under its heading."""
    files = ", then ".join(one.files)
    waits = sum(halt.seconds for halt in one.line.halts)
    of_it = f", of which {duration(waits)} for changes, stops and run-up" if waits else ""
    lines = [f"{one.panel.name}: {files}, about {duration(one.line.seconds)}{of_it}"]
    unit = machine.program.units
    shown: list[Row] = []
    for row, step in zip(replay_rows(one, machine), one.steps, strict=True):
        for halt in one.halts_before(step):
            begin = _clock(halt.end - halt.seconds)
            shown.append({"": "", "at": begin, "takes": _clock(halt.seconds), "T": "", "work": halt.why})
        feed = row.feed / (INCH if unit == "in" else 1.0)
        shown.append(
            {
                "": row.number, "at": _clock(row.start), "takes": _clock(row.seconds), "T": row.t, "work": row.work,
                "makes": row.tags, "feature": row.feature if row.feature != row.tags else "",
                "rev/min": f"{row.rpm:.0f}", f"{unit}/min": plain(feed, 2 if unit == "in" else 1),
            }
        )  # fmt: skip
    columns = list(shown[-1]) if shown else []
    return [*lines, *(table([{**dict.fromkeys(columns, ""), **row} for row in shown], columns) if shown else [])]


def order_facts(one: Timed, machine: Machine) -> Row:
    """A setup's order of work as the ``--json`` object holds it."""
    return {
        "panel": one.panel.name,
        "setup": one.programs[0].setup.number,
        "programs": list(one.files),
        "seconds": round(one.line.seconds, 1),
        "operations": [
            {
                "number": row.number, "start": round(row.start, 1), "seconds": round(row.seconds, 1), "cutter": row.t,
                "work": row.work, "tags": row.tags, "feature": row.feature, "rpm": _figure(row.rpm),
                "feed_mm_min": _figure(row.feed),
            }
            for row in replay_rows(one, machine)
        ],
        "halts": [
            {"end": round(halt.end, 1), "seconds": round(halt.seconds, 1), "why": halt.why, "line": halt.line}
            for halt in one.line.halts
        ],
    }  # fmt: skip


def _clock(seconds: float) -> str:
    """Minutes and seconds since the start.

    >>> _clock(0), _clock(59.6), _clock(3725)
    ('0:00', '1:00', '62:05')
    """
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes}:{rest:02d}"


def table(rows: Sequence[Row], columns: Sequence[str]) -> list[str]:
    """Rows under their headings, columns as wide as they need to be.

    >>> table([{"a": 1, "b": "x"}, {"a": 200, "b": "y"}], ["a", "b"])
    ['a    b', '1    x', '200  y']
    """
    cells = [[column.replace("_", " ") for column in columns]]
    cells += [[_text(row[column]) for column in columns] for row in rows]
    widths = [max(len(line[index]) for line in cells) for index in range(len(columns))]
    return ["  ".join(text.ljust(width) for text, width in zip(line, widths, strict=True)).rstrip() for line in cells]


def block(row: Row) -> list[str]:
    """One row in full, a line each figure, lists indented below their name."""
    lines = []
    for key, value in row.items():
        name = key.replace("_", " ")
        if isinstance(value, list) and value and isinstance(value[0], dict):
            lines.append(f"{name}:")
            lines.extend(f"  {_pairs(part)}" for part in value)
        elif isinstance(value, dict):
            lines.append(f"{name}:")
            lines.extend(f"  {part}: {_text(figure)}" for part, figure in value.items())
        else:
            lines.append(f"{name}: {_text(value)}")
    return lines


def _chosen(name: str | None, known: list[str], what: str) -> list[str]:
    if name is None:
        return known
    if name not in known:
        raise UnknownName(f"no {what} is called {name!r}; known are {', '.join(known)}")
    return [name]


def _cutter(row: Cutter) -> Row:
    return {
        "number": row.number,
        "kind": row.kind,
        "size": row.trade_name,
        "diameter_mm": _figure(row.diameter),
        "material": row.material,
        "flutes": row.flutes,
        "twist": row.twist,
        "flute_length_mm": _figure(row.flute_length),
        "stick_out_mm": _figure(row.stick_out),
        "shank_mm": _figure(row.shank),
        "point_angle_deg": _figure(math.degrees(row.point_angle)),
        "tip_mm": _figure(row.tip),
        "serves": list(row.serves),
        "source": row.source,
    }


def _material(row: Material) -> Row:
    return {
        "name": row.name,
        "family": row.family,
        "gauge": row.gauge,
        "source": row.source,
        **_gauges(row),
        "speeds": [
            {"kind": kind, "cutter_material": material, "m_per_min": _figure(speed), "source": source}
            for (kind, material), (speed, source) in row.speeds.items()
        ],
        "chip_loads": list(_rates(row.chip_loads, "mm_per_tooth")),
        "chip_floor_mm": _figure(row.chip_floor),
        "drill_feeds": list(_rates(row.drill_feeds, "mm_per_rev")),
        "cutting_force_n_per_mm2": _figure(row.cutting_force),
        "stepdown_diameters": _figure(row.stepdown),
        "ramp_deg": _figure(math.degrees(row.ramp)),
        "plunge_share": _figure(row.plunge),
        "finish_router_mm": _figure(row.finish_router),
        "finish_mill_mm": _figure(row.finish_mill),
        "web_thicknesses": _figure(row.web),
        "web_least_mm": _figure(row.web_least),
        "tabs": dataclasses.asdict(row.tabs),
        "sources": dict(row.sources),
    }


def _gauges(row: Material) -> Row:
    sold_by = load.gauges(row)
    if sold_by is None:
        return {}
    sizes = {f"{number} ga": _figure(size) for number, size in sold_by.thicknesses.items()}
    return {"gauges_mm": sizes | {"system": sold_by.system, "source": sold_by.source}}


def _rates(rates: Iterable[Rate], unit: str) -> Iterable[Row]:
    for rate in rates:
        yield {
            "diameter_mm": _figure(rate.diameter),
            f"low_{unit}": _figure(rate.low),
            f"high_{unit}": _figure(rate.high),
            "source": rate.source,
        }


def _true_scale(row: Machine) -> Row:
    """The factors of what it draws, and how to find them."""
    x, y = row.scale
    return {
        "x": x,
        "y": y,
        "across": f"on an upright sheet measure the bar of 100 mm across: x = {plain(x, 4)} * 100 / what it measures",
        "upright": f"and the upright bar: y = {plain(y, 4)} * the length that stands beside it / what it measures",
        "example": f"a bar of 100 mm that measures 99.6 mm: {plain(x, 4)} * 100 / 99.6 = {x * 100 / 99.6:.4f}",
        "lying": "on a page of the template that lies on its side the bar across tells y, the upright one x",
        "write": "[scale] in the machine's file; plots, programs for a pen and templates follow, what cuts never",
    }


def _machine(row: Machine) -> Row:
    facts = dataclasses.asdict(row)
    facts["scale"] = _true_scale(row)
    if row.pen is None:
        del facts["pen"]
    facts["travel"] = list(row.travel)
    facts["program"]["slots"] = [{"slot": slot, "cutter": number} for slot, number in row.program.slots]
    return facts


def _figure(value: float) -> float:
    """Without the dust of a conversion from degrees or inches."""
    return round(value, 6)


def _text(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_text(part) for part in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _pairs(row: Row) -> str:
    return ", ".join(f"{key.replace('_', ' ')} {_text(value)}" for key, value in row.items())

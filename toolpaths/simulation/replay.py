"""A setup as it will be seen: its sheet, its cutters, its operations and every stroke with its time, as plain values.

This is what the page plays and what the table of ``simulate`` sums up. Lengths are mm in program coordinates (as the
panel lies on the machine), times are seconds from the first start.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar

import numpy as np

from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import vertex_rows
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.layout.panel import Legend, Opening, Panel
from toolpaths.motion import Program
from toolpaths.shop.words import WORK, describe, t_number, tag_list
from toolpaths.simulation.steps import Step, steps
from toolpaths.simulation.timing import Halt, Numbers, Timeline, rows_of, timeline
from toolpaths.stroke import Reading, Stroke
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.tolerance import SAME_POINT

SAGITTA = 0.02
"""mm; shapes are drawn with corners that leave the arc by so much: a tenth of a pixel at ten pixels a millimetre."""


CHORD = math.radians(15)
"""One chord of a legend's arc."""


Thing = TypeVar("Thing")

NOWHERE: Final = (math.nan, math.nan)
"""The centre of what is straight."""


@dataclass(frozen=True, slots=True)
class Timed:
    """One setup with its programs as they were read: when every stroke ends, and which operation it belongs to."""

    panel: Panel
    programs: tuple[Program, ...]
    files: tuple[str, ...]
    line: Timeline
    steps: tuple[Step, ...]

    def span(self, step: Step) -> tuple[float, float]:
        """When a step begins and when it ends. What stands still before its first cut, a change of cutter and the
        spindle's run-up, is none of it and comes first."""
        begin = self.line.ends[step.first - 1] if step.first else 0.0
        waited = sum(halt.seconds for halt in self.halts_before(step))
        return begin + waited, self.line.ends[step.last]

    @property
    def of_each(self) -> tuple[float, ...]:
        """How long each operation of the plan takes, in their order, seconds."""
        return tuple(end - start for start, end in map(self.span, self.steps))

    def halts_before(self, step: Step) -> list[Halt]:
        """What stands still between the end of the step before and this one's first cut."""
        strokes = self.line.strokes
        own = range(step.first, step.last + 1)
        first_cut = next((index for index in own if strokes[index].kind == "cut"), step.first)
        return [halt for halt in self.line.halts if step.first <= halt.before <= first_cut]

    def seconds_of(self, program: int) -> float:
        """How long one of its programs takes."""
        before = self.line.programs[program - 1] if program else 0.0
        return self.line.programs[program] - before


def timed(
    panel: Panel, programs: Sequence[Program], files: Sequence[str], readings: Sequence[Reading], machine: Machine
) -> Timed:
    """A setup with the times of its programs, in the order in which they are run."""
    return Timed(
        panel, tuple(programs), tuple(files), timeline(readings, machine), steps(readings, programs, machine)
    )


@dataclass(frozen=True, slots=True)
class Row:
    """One operation in the order of work, for the table: times in seconds."""

    number: int
    t: int
    work: str
    tags: str
    feature: str
    rpm: float
    feed: float
    start: float
    seconds: float


def rows(one: Timed, machine: Machine) -> Iterator[Row]:
    """The operations of a setup in order."""
    for number, step in enumerate(one.steps, 1):
        start, end = one.span(step)
        work = step.operation
        yield Row(
            number, t_number(machine, work.cutter), WORK[work.kind], tag_list(work.tags), work.feature, work.rpm,
            work.feed, start, end - start,
        )  # fmt: skip


# the page's data -----------------------------------------------------------------------------------------------------


def replay(
    title: str, size: str | None, units: str, setups: Sequence[Timed], machine: Machine,
    cutters: Mapping[int, Cutter], findings: Sequence[Finding],
) -> dict[str, Any]:
    """Everything that the page shows; plain values, ready for JSON.

    Of openings and operations that are alike, shape and reasons are told once: theirs are places in the setup's
    ``shapes``, corners as seen from ``at``, and ``reasons``.
    """
    return {
        "format": 1,
        "title": title,
        "size": size,
        "machine": machine.name,
        "units": units,
        "program_units": machine.program.units,
        "setups": [_setup(one, machine, cutters, findings) for one in setups],
    }


def _setup(
    one: Timed, machine: Machine, cutters: Mapping[int, Cutter], findings: Sequence[Finding]
) -> dict[str, Any]:
    panel, setup = one.panel, one.programs[0].setup
    shapes, kinds = told_once(panel.openings, _seen_from_centre)
    reasons, groups = told_once(one.steps, lambda step: step.operation.reasons)
    return {
        "panel": panel.name,
        "number": setup.number,
        "programs": list(one.files),
        "seen_from": "inside" if panel.mirrored else "outside",
        "material": panel.material,
        "thickness": _mm(panel.thickness),
        "stock": _all_mm(panel.area_to_program(panel.stock)),
        "outline": _corners(panel, panel.outline),
        "zero": [0.0, 0.0],
        "touch_off": _all_mm(panel.to_program(setup.touch_off)),
        "obstacles": list(_obstacles(panel)),
        "shapes": [_corners(panel, opening.shape, opening.centre) for opening in shapes],
        "openings": [_opening(panel, opening, kind) for opening, kind in zip(panel.openings, kinds, strict=True)],
        "legends": [] if panel.mirrored else [_legend(panel, legend) for legend in panel.legends],
        "cutters": {str(t_number(machine, number)): _cutter(cutters[number]) for number in _numbers(one)},
        "reasons": [list(step.operation.reasons) for step in reasons],
        "operations": list(_operations(one, machine, groups)),
        "start": _start(one.line.strokes),
        "strokes": _strokes(one.line),
        "halts": [_halt(halt) for halt in one.line.halts],
        "loose": sorted(_loose(one), key=lambda one_of: one_of["t"]),
        "findings": [_finding(panel, finding) for finding in findings if finding.panel == panel.name],
        "seconds": _seconds(one.line.seconds),
    } | _stage(panel)


def _stage(panel: Panel) -> dict[str, Any]:
    """Of a divided panel: of how many setups this is one, what the machine reaches, the pins, and what others make."""
    stage = panel.stage
    if stage is None:
        return {}
    return {
        "count": stage.count,
        "reach": _all_mm(stage.reach),
        "pins": [{"at": _all_mm(panel.to_program(pin.at)), "diameter": _mm(pin.diameter)} for pin in stage.pins],
        "elsewhere": [_corners(panel, opening.shape) for opening in stage.elsewhere],
    }


def _numbers(one: Timed) -> list[int]:
    return list(dict.fromkeys(step.operation.cutter for step in one.steps))


def _obstacles(panel: Panel) -> Iterator[dict[str, Any]]:
    for clamp in panel.clamps:
        area = _all_mm(panel.area_to_program(clamp.area))
        yield {"name": f"clamp {clamp.number}", "area": area, "height": _mm(clamp.height)}
    if panel.folded and panel.folded.standing:
        for flange in panel.flanges:
            area = _all_mm(panel.area_to_program(flange.area))
            yield {"name": f"{flange.wall} wall", "area": area, "height": _mm(flange.height)}


def told_once(things: Iterable[Thing], kind: Callable[[Thing], Hashable]) -> tuple[list[Thing], list[int]]:
    """The first thing of each kind, and for every thing the place of its kind among them.

    >>> told_once(["hole", "slot", "half"], lambda word: word[0])
    (['hole', 'slot'], [0, 1, 0])
    """
    firsts: list[Thing] = []
    places: dict[Hashable, int] = {}
    numbers = []
    for thing in things:
        place = places.setdefault(kind(thing), len(firsts))
        if place == len(firsts):
            firsts.append(thing)
        numbers.append(place)
    return firsts, numbers


def _seen_from_centre(opening: Opening) -> Hashable:
    """The same for openings of one shape, wherever they lie."""
    return tuple(_seen_from(opening.centre, piece) for piece in opening.shape.segments)


def _seen_from(centre: XY, piece: Segment) -> Hashable:
    points = (piece.start, piece.end, piece.centre) if isinstance(piece, Arc) else (piece.start, piece.end)
    away = tuple((round((x - centre[0]) / SAME_POINT), round((y - centre[1]) / SAME_POINT)) for x, y in points)
    return away, isinstance(piece, Arc) and piece.ccw


def _opening(panel: Panel, opening: Opening, kind: int) -> dict[str, Any]:
    return {
        "tag": opening.tag,
        "label": opening.label,
        "feature": opening.feature,
        "size": opening.size_text,
        "shape": kind,
        "at": _all_mm(panel.to_program(opening.centre)),
        "machined": opening.finish == "machine",
    }


def _legend(panel: Panel, legend: Legend) -> dict[str, Any]:
    strokes = [list(map(_all_mm, points)) for points in _points(panel, legend)]
    return {"tag": legend.feature, "label": legend.words, "strokes": strokes}


def _points(panel: Panel, legend: Legend) -> Iterator[list[XY]]:
    """The strokes of a legend as points."""
    for stroke in panel.strokes_to_program(legend):
        points = [stroke[0].start]
        for piece in stroke:
            parts = max(1, math.ceil(piece.sweep / CHORD)) if isinstance(piece, Arc) else 1
            points += [piece.point_at(piece.length * part / parts) for part in range(1, parts + 1)]
        yield points


def _cutter(cutter: Cutter) -> dict[str, Any]:
    return {
        "name": describe(cutter),
        "diameter": _mm(cutter.diameter),
        "point_angle_deg": round(math.degrees(cutter.point_angle), 3),
        "tip": _mm(cutter.tip),
        "shank": _mm(cutter.shank),
        "flute_length": _mm(cutter.flute_length),
        "stick_out": _mm(cutter.stick_out),
    }


def _operations(one: Timed, machine: Machine, groups: Sequence[int]) -> Iterator[dict[str, Any]]:
    for number, (step, group) in enumerate(zip(one.steps, groups, strict=True), 1):
        work = step.operation
        start, end = one.span(step)
        yield {
            "number": number,
            "kind": WORK[work.kind],
            "cutter": t_number(machine, work.cutter),
            "tags": list(work.tags),
            "rpm": _mm(work.rpm),
            "feed": _mm(work.feed),
            "depth": _mm(work.depth),
            "start": _seconds(start),
            "seconds": _seconds(end - start),
            "first": step.first,
            "last": step.last,
            "reasons": group,
            "program": one.files[step.program],
        }


def _start(strokes: Sequence[Stroke]) -> list[float | None]:
    if not strokes:
        return [None, None, None]
    return [None if math.isnan(value) else _mm(value) for value in strokes[0].start]


def _strokes(line: Timeline) -> dict[str, list[Any]]:
    """Column by column, which is a third of the size of row by row; what is not known yet stays where it was."""
    strokes = line.strokes
    ends = rows_of((stroke.end for stroke in strokes), 3)
    centres = rows_of((stroke.centre or NOWHERE for stroke in strokes), 2)
    columns: dict[str, list[Any]] = dict(zip("xyz", map(_known_mm, ends.T), strict=True))
    columns["cut"] = [int(stroke.kind == "cut") for stroke in strokes]
    columns["t"] = (np.round(line.ends, 3) + 0.0).tolist()
    columns |= zip(("cx", "cy"), map(_known_mm, centres.T), strict=True)
    columns["ccw"] = [None if stroke.centre is None else int(stroke.ccw) for stroke in strokes]
    return columns


def _halt(halt: Halt) -> dict[str, Any]:
    return {"t": _seconds(halt.end - halt.seconds), "seconds": _seconds(halt.seconds), "text": halt.why}


def _loose(one: Timed) -> Iterator[dict[str, Any]]:
    """When each large opening is cut round, and what holds its slug from then on."""
    last: dict[str, Step] = {tag: step for step in one.steps for tag in step.operation.tags}
    for opening in one.panel.work:
        step = last.get(opening.tag)
        if step is None or opening.cleared or (opening.part is not None and not opening.part.last):
            continue
        cuts = [index for index in range(step.first, step.last + 1) if one.line.strokes[index].kind == "cut"]
        what = "the panel" if opening.outside else f"the slug of {opening.tag}"
        held = f"{what} hangs on its tabs" if opening.tabs is not None else f"{what} comes loose"
        yield {"t": _seconds(one.line.ends[cuts[-1] if cuts else step.last]), "tag": opening.tag, "text": held}


def _place_of(panel: Panel, finding: Finding) -> XY | None:
    """Where a finding is: at the component or the opening that its message names, else at its feature's first."""
    named = [
        (one.name, one.centre) for one in panel.placements if one.feature == finding.feature
    ]
    openings = [opening for opening in panel.openings if opening.feature == finding.feature]
    named += [(opening.tag, opening.centre) for opening in openings]
    said = [
        (found.start(), -len(name), centre)
        for name, centre in named
        if (found := re.search(rf"(?<![\w.]){re.escape(name)}(?![\w.]\w)", finding.message))
    ]
    if said:
        return min(said)[2]
    places = [opening.centre for opening in openings]
    places += [legend.at for legend in panel.legends if legend.feature == finding.feature]
    return places[0] if places else None


def _finding(panel: Panel, finding: Finding) -> dict[str, Any]:
    at = _place_of(panel, finding)
    return {
        "severity": finding.severity,
        "code": finding.code,
        "message": finding.message,
        "feature": finding.feature,
        "at": None if at is None else _all_mm(panel.to_program(at)),
    }


def _corners(panel: Panel, shape: Contour, seen_from: XY | None = None) -> list[list[float]]:
    """In program coordinates, counted from zero or from a point of the panel."""
    origin = (0.0, 0.0) if seen_from is None else panel.to_program(seen_from)
    corners: list[list[float]] = _rounded(vertex_rows(panel.contour_to_program(shape), SAGITTA) - origin).tolist()
    return corners


def _mm(value: float) -> float:
    """To a tenth of a micrometre: finer than any pixel, and the text stays the same on every computer."""
    return round(value, 4) + 0.0


def _rounded(values: Numbers) -> Numbers:
    """As ``_mm`` has it, all at once."""
    return np.round(values, 4) + 0.0


def _known_mm(values: Numbers) -> list[float | None]:
    """What is not a number is not known: None."""
    known: list[float] = _rounded(values).tolist()
    return [None if math.isnan(value) else value for value in known]


def _all_mm(values: Sequence[float]) -> list[float]:
    return [_mm(value) for value in values]


def _seconds(value: float) -> float:
    return round(value, 3) + 0.0

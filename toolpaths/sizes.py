"""Every size of a job: read together, and side by side with what is wrong and which programs serve more than one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import postprocessors
from postprocessors.base import ProgramPost
from toolpaths import pipeline
from toolpaths.errors import BadInput, Problem
from toolpaths.finding import Finding, has_errors
from toolpaths.fit.parts import parts
from toolpaths.job import Job
from toolpaths.layout.blank import Sheet, cut_length, sheets
from toolpaths.layout.panel import Panel
from toolpaths.motion import Program
from toolpaths.reread import read
from toolpaths.simulation.timing import timeline
from toolpaths.units import duration, plain, said

BASE = "(base)"
"""What the job without a size is called in a heading: no size can be called so. Its name in facts is null."""

PROGRAM_POST = "gcode"
"""Programs are told apart by the text that this post-processor writes."""

ReadSize = Callable[[str | None], Job]
"""Reads the job in one size (None: the base)."""


@dataclass(frozen=True, slots=True)
class PanelSize:
    """A panel in one size. ``same_as`` names the first size whose program for it is the same; None: this is the first.

    ``width``, ``height`` and ``thickness`` are in words, in the job's units; ``text`` is the program, None where there
    is none; ``round_holes`` are those of the ``openings`` that are round. ``cut`` is the length of all contours
    that are cut, mm, ``seconds`` how long the program takes, as an estimate.
    """

    name: str
    width: str
    height: str
    thickness: str
    openings: int
    round_holes: int
    text: str | None
    cut: float
    same_as: str | None = None
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A piece of sheet to begin with: what is made of it, its material with its thickness, and its size in words.

    ``area`` is in mm². ``larger``: it is more than the one panel that is made of it.
    """

    name: str
    material: str
    size: str
    area: float
    larger: bool


@dataclass(frozen=True, slots=True)
class Size:
    """One size of the job; ``name`` is None for the base. With ``problems`` it could not be read, and holds no more."""

    name: str | None
    parameters: tuple[tuple[str, str], ...] = ()
    panels: tuple[PanelSize, ...] = ()
    findings: tuple[Finding, ...] = ()
    problems: tuple[Problem, ...] = ()
    sheets: tuple[SheetSize, ...] = ()

    @property
    def cannot(self) -> tuple[str, ...]:
        """Why it cannot be built: its bad input, or its errors, each with its panel and feature."""
        errors = (finding for finding in self.findings if finding.severity == "error")
        told = (": ".join(part for part in (one.panel, one.feature, one.message) if part) for one in errors)
        return (*(str(problem) for problem in self.problems), *told)

    @property
    def heading(self) -> str:
        """Its name as a column's heading."""
        return self.name or BASE

    @property
    def verdict(self) -> str:
        """How its check ended, in a word or two."""
        if self.problems:
            return "bad input"
        return "errors" if has_errors(list(self.findings)) else "passes"


def read_all(read: ReadSize, names: Sequence[str]) -> list[Job]:
    """The job in the base and in every size; BadInput with the problems of all, each told once."""
    jobs, problems = _read(read, names)
    if any(problems.values()):
        raise BadInput(_told_once(problems))
    return [job for job in jobs.values() if job is not None]


def side_by_side(read: ReadSize, names: Sequence[str]) -> list[Size]:
    """The base and every size, in the job's order; BadInput only where none of them can be read."""
    jobs, problems = _read(read, names)
    if all(problems.values()):
        raise BadInput(_told_once(problems))
    found: list[Size] = []
    for name, job in jobs.items():
        found.append(Size(name, problems=problems[name]) if job is None else _size(job, found))
    return found


def problems_of(sizes: Sequence[Size]) -> tuple[Problem, ...]:
    """The problems of all sizes, each once."""
    return _told_once({size.name: size.problems for size in sizes})


def _read(
    read: ReadSize, names: Sequence[str]
) -> tuple[dict[str | None, Job | None], dict[str | None, tuple[Problem, ...]]]:
    jobs: dict[str | None, Job | None] = {}
    problems: dict[str | None, tuple[Problem, ...]] = {}
    for name in (None, *names):
        try:
            jobs[name], problems[name] = read(name), ()
        except BadInput as error:
            jobs[name], problems[name] = None, error.problems
    return jobs, problems


def _told_once(problems: dict[str | None, tuple[Problem, ...]]) -> tuple[Problem, ...]:
    """What is wrong with every size is wrong with the job; what only some have is told with their name."""
    told: dict[Problem, None] = {}
    for name, found in problems.items():
        for problem in found:
            everywhere = all(problem in others for others in problems.values())
            if not everywhere and not problem.key.startswith(f"sizes.{name}."):
                where = f"size {name}" if name else "the base"
                problem = replace(problem, message=f"{problem.message} (in {where})")
            told[problem] = None
    return tuple(told)


def _size(job: Job, earlier: Sequence[Size]) -> Size:
    planned, findings = pipeline.plan(job)
    design = {panel.name: panel for panel in job.panels}
    panels = []
    by_name: dict[str, list[pipeline.Planned]] = {}
    for one in planned:
        by_name.setdefault(one.panel.name, []).append(one)
    for name, setups in by_name.items():
        panel, whole = design[name], setups[0].whole
        width, height, thickness = (said(value, job.units) for value in (panel.width, panel.height, panel.thickness))
        openings = whole.openings
        holes = sum(opening.diameter is not None for opening in openings)
        texts = [text for one in setups if one.program is not None for text in _texts(job, one.program)]
        text = "".join(texts) or None
        same = _first_alike(panel.name, text, earlier)
        cut = cut_length(whole)
        seconds = timeline([read(part) for part in texts], job.machine).seconds if texts else None
        panels.append(
            PanelSize(panel.name, width, height, thickness, len(openings), holes, text, cut, same, seconds)
        )
    laid_out = [setups[0].whole for setups in by_name.values()]
    pieces = tuple(_sheet(job, sheet, laid_out) for sheet in sheets(laid_out, job.chassis))
    return Size(job.size, job.parameters, tuple(panels), findings, sheets=pieces)


def _sheet(job: Job, sheet: Sheet, panels: Sequence[Panel]) -> SheetSize:
    width, height, thickness = (
        said(round(value, 2), job.units) for value in (sheet.width, sheet.height, sheet.thickness)
    )
    larger = not any(panel.name == sheet.name and not panel.cut_outline for panel in panels)
    material = f"{sheet.material}, {thickness}"
    return SheetSize(sheet.name, material, f"{width} x {height}", sheet.width * sheet.height, larger)


def _texts(job: Job, program: Program) -> list[str]:
    post = postprocessors.find(PROGRAM_POST)
    assert isinstance(post, ProgramPost)
    return [pipeline.written(post, part, job) for part in parts(program, job.machine.program)]


def _first_alike(panel: str, text: str | None, earlier: Sequence[Size]) -> str | None:
    """The first of the earlier sizes that has the same program for the panel, byte for byte."""
    for size in earlier:
        if text is not None and any(one.name == panel and one.text == text for one in size.panels):
            return size.heading
    return None


def rows(sizes: Sequence[Size]) -> list[dict[str, object]]:
    """The comparison as rows of a table: what is compared, then a column for each size; one of them can be read."""
    table: list[dict[str, object]] = []

    readable = [size for size in sizes if not size.problems]

    def row(what: str, values: Sequence[str]) -> None:
        given = {size.heading: value for size, value in zip(readable, values, strict=True)}
        table.append({"": what, **{size.heading: given.get(size.heading, "-") for size in sizes}})

    for index, (name, _) in enumerate(readable[0].parameters):
        row(name, [size.parameters[index][1] for size in readable])
    for index, panel in enumerate(readable[0].panels):
        here = [size.panels[index] for size in readable]
        row(panel.name, [f"{one.width} x {one.height} x {one.thickness}" for one in here])
        row("  openings", [f"{one.openings}, {one.round_holes} round" for one in here])
        row("  cut length", [_metres(one.cut) for one in here])
        row("  program", [_program_words(one) for one in here])
        row("  time (estimate)", ["-" if one.seconds is None else duration(one.seconds) for one in here])
    row("time in all (estimate)", [duration(sum(one.seconds or 0.0 for one in size.panels)) for size in readable])
    for index, sheet in enumerate(readable[0].sheets):
        if sheet.larger:
            row(f"sheet for {sheet.name}", [size.sheets[index].size for size in readable])
    for material in dict.fromkeys(sheet.material for sheet in readable[0].sheets):
        row(f"{material}", [_area_of(size, readable[0], material) for size in readable])
    for severity, many in (("error", "errors"), ("warning", "warnings"), ("note", "notes")):
        row(many, [_codes(size, severity) for size in readable])
    table.append({"": "check", **{size.heading: size.verdict for size in sizes}})
    return table


def facts(size: Size) -> dict[str, object]:
    """A size as the ``--json`` object holds it, but for its findings; ``name`` is None for the base."""
    return {
        "name": size.name,
        "check": size.verdict,
        "parameters": dict(size.parameters),
        "panels": [
            {
                "name": panel.name,
                "width": panel.width,
                "height": panel.height,
                "thickness": panel.thickness,
                "openings": panel.openings,
                "round_holes": panel.round_holes,
                "cut_mm": round(panel.cut, 3),
                "same_program_as": panel.same_as,
                "seconds": None if panel.seconds is None else round(panel.seconds, 1),
            }
            for panel in size.panels
        ],
        "sheets": [
            {"name": sheet.name, "material": sheet.material, "size": sheet.size, "area_mm2": round(sheet.area, 1)}
            for sheet in size.sheets
        ],
        "cannot_be_built": list(size.cannot),
    }


def refusals(sizes: Sequence[Size]) -> list[str]:
    """Why sizes cannot be built, line by line: a reason once, with all the sizes that it holds for.

    Bad input is left out: it is told as such.
    """
    of: dict[str, list[str]] = {}
    for size in sizes:
        for reason in size.cannot[len(size.problems) :]:
            of.setdefault(reason, []).append(size.heading)
    if not of:
        return []
    return ["", "cannot be built:", *(f"  {', '.join(headings)}: {reason}" for reason, headings in of.items())]


def _area_of(size: Size, first: Size, material: str) -> str:
    """How much sheet a size takes of what the first size has of this material; its thickness may differ."""
    pairs = zip(size.sheets, first.sheets, strict=True)
    return f"{plain(sum(one.area for one, own in pairs if own.material == material) / 1e4, 2)} dm²"


def _metres(length: float) -> str:
    return f"{plain(length / 1000, 2)} m"


def _program_words(panel: PanelSize) -> str:
    if panel.text is None:
        return "none"
    return f"as {panel.same_as}" if panel.same_as else "its own"


def _codes(size: Size, severity: str) -> str:
    """How many findings of a severity, and their codes."""
    codes = [finding.code for finding in size.findings if finding.severity == severity]
    return f"{len(codes)} {', '.join(dict.fromkeys(codes))}".strip()

"""Every size of a job side by side: parameters, panels, what is wrong with it, and which programs serve twice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from toolpaths import pipeline
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.job.scope import said
from toolpaths.motion import Program

BASE = "(base)"
"""What the job without a size is called in a heading: no size can be called so. Its name in facts is null."""

ReadSize = Callable[[str | None], Job]
"""Reads the job in one size (None: the base)."""


@dataclass(frozen=True, slots=True)
class PanelSize:
    """A panel in one size. ``same_as`` names the first size whose program for it is the same; None: this is the first.

    ``width``, ``height`` and ``thickness`` are in words, in the job's units; ``program`` is None where there is none.
    """

    name: str
    width: str
    height: str
    thickness: str
    openings: int
    program: Program | None
    same_as: str | None = None


@dataclass(frozen=True, slots=True)
class Size:
    """One size of the job; ``name`` is None for the base."""

    name: str | None
    parameters: tuple[tuple[str, str], ...]
    panels: tuple[PanelSize, ...]
    findings: tuple[Finding, ...]

    @property
    def heading(self) -> str:
        """Its name as a column's heading."""
        return self.name or BASE


def side_by_side(read: ReadSize) -> list[Size]:
    """The base and every size, in the job's order; BadInput where one of them cannot be read."""
    base = read(None)
    found: list[Size] = []
    for name in (None, *base.sizes):
        found.append(_size(base if name is None else read(name), found))
    return found


def _size(job: Job, earlier: Sequence[Size]) -> Size:
    planned, findings = pipeline.plan(job)
    design = {panel.name: panel for panel in job.panels}
    panels = []
    for one in planned:
        panel = design[one.panel.name]
        width, height, thickness = (said(value, job.units) for value in (panel.width, panel.height, panel.thickness))
        same = _first_alike(one.panel.name, one.program, earlier)
        panels.append(PanelSize(panel.name, width, height, thickness, len(one.panel.openings), one.program, same))
    return Size(job.size, job.parameters, tuple(panels), findings)


def _first_alike(panel: str, program: Program | None, earlier: Sequence[Size]) -> str | None:
    """The first of the earlier sizes that has the same program for the panel: equal motions give equal text."""
    for size in earlier:
        if program is not None and any(one.name == panel and one.program == program for one in size.panels):
            return size.heading
    return None


def rows(sizes: Sequence[Size]) -> list[dict[str, object]]:
    """The comparison as rows of a table: what is compared, then a column for each size."""
    table: list[dict[str, object]] = []

    def row(what: str, values: Sequence[str]) -> None:
        table.append({"": what, **{size.heading: value for size, value in zip(sizes, values, strict=True)}})

    for index, (name, _) in enumerate(sizes[0].parameters):
        row(name, [size.parameters[index][1] for size in sizes])
    for index, panel in enumerate(sizes[0].panels):
        here = [size.panels[index] for size in sizes]
        row(panel.name, [f"{one.width} x {one.height}" for one in here])
        row("  openings", [str(one.openings) for one in here])
        row("  program", [_program_words(one) for one in here])
    for severity, many in (("error", "errors"), ("warning", "warnings"), ("note", "notes")):
        row(many, [_codes(size, severity) for size in sizes])
    return table


def _program_words(panel: PanelSize) -> str:
    if panel.program is None:
        return "none"
    return f"as {panel.same_as}" if panel.same_as else "its own"


def _codes(size: Size, severity: str) -> str:
    """How many findings of a severity, and their codes."""
    codes = [finding.code for finding in size.findings if finding.severity == severity]
    return f"{len(codes)} {', '.join(dict.fromkeys(codes))}".strip()

"""One component of the table as a job of its own: to draw it, and to try a table before it is used."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from toolpaths.errors import UnknownName
from toolpaths.job import Job, Measured, Panel, schema
from toolpaths.job.features import Sheet
from toolpaths.job.panel import SHARP_CORNER
from toolpaths.job.parts import PartsTable
from toolpaths.job.placing import PlacingResolver
from toolpaths.job.problems import Problems
from toolpaths.job.resolve import DEFAULT_MACHINE
from toolpaths.job.scope import Scope
from toolpaths.tables import load as tables

SHEET: Final = 1.5
MATERIAL: Final = "mild steel"
SIDE: Final = 1000.0
"""mm; the sheet of the job: thick as a chassis, and larger than any component."""


def part_alone(name: str, file: Path | None = None) -> Job:
    """A job of one panel with the component ``name`` in its middle, which is the panel's origin.

    Raises UnknownName, and BadInput with every problem of the component's row or of the user's table ``file``.
    """
    problems = Problems(file.name if file else "", "")
    parts = PartsTable(problems, file)
    if name not in parts.names:
        raise UnknownName(f"no part is called {name!r}; {parts.remark(name)}")
    materials = tables.materials()
    sheet = Sheet(SHEET, materials[MATERIAL], "machine", SHARP_CORNER, 3.0, Path())
    table = schema.PartTable(part=name, at=(0.0, 0.0))
    table.standing_at(("part", 0))
    part = PlacingResolver(Scope(problems, {}, "mm"), sheet, parts).part(table)
    if problems.found:
        raise problems.as_error()
    panel = Panel(
        name, MATERIAL, SHEET, "", SIDE, SIDE, 0.0, "centre", False, False, (), Measured(SIDE, SIDE, SHEET), (part,)
    )
    return Job(
        name, name, None, (), (), "mm", 3.0, (panel,), tables.machines()[DEFAULT_MACHINE], tables.cutters(), materials
    )

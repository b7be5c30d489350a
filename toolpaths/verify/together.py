"""All setups of a divided panel together: one piece, as if one long program had made it on a machine that reaches it.

Each setup is judged by itself before, for what can be seen there: rapids, clamps, travel, speeds. Here its moves are
laid where the sheet was, and the piece in hand must equal the design; nothing may come loose too early; and since the
zero of the machine stays, all setups together have no more travel than one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from toolpaths.finding import Finding
from toolpaths.layout.panel import Panel
from toolpaths.stroke import Point, Reading, Stroke
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.verify.moves import work
from toolpaths.verify.piece import judge_piece
from toolpaths.verify.safety import judge_travel
from toolpaths.verify.sequence import judge_loose
from toolpaths.verify.swept import Sweeps

Setup = tuple[Panel, Sequence[Reading]]
"""A setup as a panel of its own, and its programs as read, in the order in which they are run."""


def judge_together(
    setups: Sequence[Setup], whole: Panel, machine: Machine, cutters: dict[int, Cutter], material: Material
) -> tuple[Finding, ...]:
    """Everything wrong with the piece that all setups of ``whole`` leave, one after the other."""
    readings = [_laid(reading, panel, whole) for panel, texts in setups for reading in texts]
    judged = work(readings, whole, machine, cutters, material)
    scene = judge_piece(judged, also=(judge_loose,))
    judge_loose(judged, scene)
    travelled = work([one for _, texts in setups for one in texts], whole, machine, cutters, material)
    judge_travel(travelled, Sweeps())
    return (*judged.notes.findings(), *travelled.notes.findings())


def _laid(reading: Reading, panel: Panel, whole: Panel) -> Reading:
    """A program of one setup in the program coordinates of the whole panel."""
    dx, dy = whole.to_program(panel.zero)

    def moved(point: Point) -> Point:
        return point[0] + dx, point[1] + dy, point[2]

    def at(event: Stroke) -> Stroke:
        centre = None if event.centre is None else (event.centre[0] + dx, event.centre[1] + dy)
        return replace(event, start=moved(event.start), end=moved(event.end), centre=centre)

    return Reading(tuple(at(one) if isinstance(one, Stroke) else one for one in reading.events), reading.units)

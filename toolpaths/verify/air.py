"""The proof of an air pass: the spindle never turns, nothing comes near the sheet, and every centre is gone over."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from toolpaths.finding import Finding
from toolpaths.layout.panel import Panel
from toolpaths.stroke import End, Reading, SpindleOn
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import PIECE, ROUNDING_MM
from toolpaths.verify.moves import work
from toolpaths.verify.safety import judge_travel
from toolpaths.verify.swept import Sweeps


def judge_air_pass(
    readings: Sequence[Reading], panel: Panel, machine: Machine, cutters: dict[int, Cutter], material: Material
) -> tuple[Finding, ...]:
    """Everything wrong with an air pass: a spindle that turns, moves too low or too far, centres left out."""
    judged = work(readings, panel, machine, cutters, material)
    notes = judged.notes
    low = panel.clear_height - ROUNDING_MM
    for program, reading in enumerate(readings):
        for event in reading.events:
            if isinstance(event, SpindleOn):
                notes.add("air-pass", "the spindle is started in an air pass", line=event.line, program=program)
    for move in judged.moves:
        if not move.stroke.end[2] >= low:
            notes.add(
                "air-low", f"a move goes below the clear height, {judged.tell.z(panel.clear_height)}, in an air pass",
                line=move.stroke.line, program=move.program,
            )  # fmt: skip
    for program, reading in enumerate(readings):
        if not any(isinstance(event, End) for event in reading.events):
            notes.add("bad-stop", "the air pass does not end", line=1, program=program)
    judge_travel(judged, Sweeps())
    ends = judged.table.end[:, :2]
    ends = ends[~np.isnan(ends).any(axis=1)]
    places = [(one.tag, one.feature, place) for one in panel.openings for place in one.marks or (panel.place_of(one),)]
    places += [(legend.name, legend.feature, legend.at) for legend in panel.engraved]
    wanted = [panel.to_program(place) for _, _, place in places]
    points = shapely.points(np.array(wanted).reshape(-1, 2))
    met, _ = shapely.STRtree(shapely.points(ends)).query(points, predicate="dwithin", distance=PIECE)
    gone_over = set(met.tolist())
    for index, (name, feature, _) in enumerate(places):
        if index not in gone_over:
            notes.add(
                "air-pass",
                f"the air pass does not go over {name}, {judged.tell.place(*wanted[index])}",
                feature=feature,
            )  # fmt: skip
    return notes.findings()

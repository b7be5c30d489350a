"""Judges programs by what they leave and what they risk: the piece in hand, safety, limits, order. It needs no plan."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.finding import Finding
from toolpaths.layout.panel import Panel
from toolpaths.stroke import Reading
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.verify.flanges import judge_flanges
from toolpaths.verify.limits import judge_limits
from toolpaths.verify.moves import work
from toolpaths.verify.piece import judge_piece
from toolpaths.verify.safety import judge_safety
from toolpaths.verify.sequence import judge_loose, judge_sequence


def judge(
    readings: Sequence[Reading], panel: Panel, machine: Machine, cutters: dict[int, Cutter], material: Material
) -> tuple[Finding, ...]:
    """Everything wrong with the programs of one setup of ``panel``, judged together in the order given.

    Args:
        readings: the programs as read, each beginning at an unknown position.
        panel: what is to be made, in panel coordinates; the strokes are in program coordinates, mm.
        machine: travel, spindle, feeds and slots of the machine that runs them.
        cutters: the cutter table by number; T is that number, or the slot where the machine has slots.
        material: the panel's material.

    Returns:
        Findings by kind; none where the piece in hand equals the design within PIECE (beside tolerance, sharp corners
        and tabs) and nothing harmful happens on the way. An empty program leaves every opening ``not-made``.
    """
    judged = work(readings, panel, machine, cutters, material)
    scene = judge_piece(judged, also=(judge_limits, judge_loose))
    judge_safety(judged, scene)
    judge_flanges(judged, scene)
    judge_limits(judged, scene)
    judge_sequence(judged, scene)
    found = judged.notes.findings()
    return (*found, *_incomplete(found, panel))


def _incomplete(found: Sequence[Finding], panel: Panel) -> list[Finding]:
    """That the programs do less than the whole setup, where openings are missing."""
    missing = {finding.feature for finding in found if finding.code == "not-made"}
    if not missing:
        return []
    features = {opening.feature for opening in panel.work} | {legend.feature for legend in panel.engraved}
    said = (
        f"{len(missing)} of {len(features)} features are not made, or not wholly: the programs given do less than "
        "the whole setup"
    )
    return [Finding("error", "incomplete", panel.name, "", said)]

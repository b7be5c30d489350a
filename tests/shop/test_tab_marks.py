"""The holding tabs that drawing and plan show, against what the job asked for."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job.load import read_job
from toolpaths.shop.tab_marks import tab_marks

JOB = """
format = 1
title = "tabs"
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 200
height = 120
machine_from = "{side}"
[[panel.cutout]]
at = [60, 60]
width = 70
height = 60
corner_radius = 6
tabs = {{ count = 4, width = 7, height = 0.8 }}
[[panel.hole]]
at = [150, 60]
diameter = 60
tabs = {{ count = 3, width = 8 }}
[[panel.hole]]
at = [20, 20]
diameter = 6
"""


@pytest.mark.parametrize("side", ["outside", "inside"])
@pytest.mark.parametrize("machine", ["small router", "bench mill"])
def test_every_tab_is_shown_where_it_stands(tmp_path: Path, side: str, machine: str) -> None:
    """As many tabs as declared, each as wide at the wall as declared, beginning on the wall and reaching inwards."""
    file = tmp_path / "job.toml"
    file.write_text(JOB.format(side=side), encoding="utf-8")
    planned, _ = pipeline.plan(read_job(file, machine=machine))
    (one,) = planned
    assert one.program
    marks = tab_marks(one.panel, one.program.setup)
    round_one = one.panel.to_program((150, 60))
    on_circle = [mark for mark in marks if abs(math.dist(mark[0], round_one) - 30) < 0.02]
    assert len(marks) == 7 and len(on_circle) == 3
    for mark in on_circle:
        assert 2 * 30 * math.asin(math.dist(mark[0], mark[2]) / 60) == pytest.approx(8, abs=0.05)
        assert math.dist(mark[1], round_one) < 30
    for mark in set(marks) - set(on_circle):
        assert math.dist(mark[0], mark[2]) == pytest.approx(7, abs=0.05)

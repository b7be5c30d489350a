"""Index holes: where the pins go that carry a sheet's position."""

from __future__ import annotations

from pathlib import Path

from toolpaths import pipeline
from toolpaths.job.load import read_job

PLATE = """\
format = 1
title = "t"
units = "mm"
machine = "bench mill"
[[panel]]
name = "plate"
material = "stainless steel"
thickness = 0.8
width = 220
height = 178
origin = "left centre"
cut_outline = true
corner_radius = 12.5
clamps = [{ x = -8, y = 77, width = 20, height = 20 }, { x = 208, y = 77, width = 20, height = 20 }]
  [[panel.d_hole]]
  at = [61.5, -27.5]
  diameter = 6
  across_flat = 4.5
  angle = 90
  [[panel.hole]]
  at = [116.5, 27.5]
  diameter = 6
"""


def test_an_index_hole_keeps_the_machines_collet_nut_from_clamps(tmp_path: Path) -> None:
    """Where the division chooses a place for a pin, boring it there never asks the builder to move a clamp."""
    file = tmp_path / "plate.toml"
    file.write_text(PLATE, encoding="utf-8")
    found = pipeline.check(read_job(file))
    assert any(finding.code == "divided" and "pins in IX1 and IX2" in finding.message for finding in found)
    assert not [finding for finding in found if finding.feature.startswith("index")]

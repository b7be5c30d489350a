"""Every component of the table on a sheet of its own: checked, drawn, planned and proved."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.job.parts import PartsTable
from toolpaths.job.problems import Problems

NAMES = PartsTable(Problems("", "")).names
ON_BOARD = ("T-nut", "loudspeaker")
EARTHED = '[[panel.part]]\npart = "earth stud"\nat = [30, 30]\n[[panel.part]]\npart = "fuse holder"\nat = [370, 370]\n'


def job_text(name: str, angle: float) -> str:
    board = name.endswith(ON_BOARD)
    sheet = 'material = "plywood"\nthickness = 18' if board else 'material = "aluminium"\nthickness = 1.5'
    return (
        f'format = 1\nunits = "mm"\nmachine = "sheet router"\n[[panel]]\nname = "sheet"\n{sheet}\nwidth = 430\n'
        f'height = 430\n[[panel.part]]\npart = "{name}"\nat = [215, 215]\nangle = {angle}\n'
        + ("" if board else EARTHED)
    )


@pytest.mark.parametrize("name", NAMES)
def test_a_component_is_sound_by_itself(name: str, job_of: Callable[..., Job]) -> None:
    """On a large sheet, turned by 30 degrees, it gives no warning, but for what is true of it alone: a cable through
    metal; its holes are planned and their program is proved."""
    made = pipeline.make(job_of(job_text(name, 30.0)))
    told = {finding.code for finding in made.findings if finding.severity != "note"}
    assert told <= ({"bare-cable"} if name == "mains cable" else set()), made.findings
    assert [file.path for file in made.files if file.facts.get("kind") == "program"] == ["sheet.nc"]
    assert "<path" in pipeline.part_drawing(name, None)

"""The sample baffle: flush rebates round the openings of two drivers, cut out of a larger board."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.finding import has_errors
from toolpaths.job.load import read_job
from toolpaths.output import panel_of
from toolpaths.reread import read

SAMPLE = Path(__file__).parent.parent / "sample_jobs" / "two_driver_baffle.toml"


@pytest.mark.parametrize("size", [None, "short"])
def test_it_builds_in_both_sizes(size: str | None) -> None:
    """Either size builds for the sheet router without a warning: rebates, openings, blind pilots and the outline."""
    made = pipeline.make(read_job(SAMPLE, size=size), posts=["gcode"])
    assert made.files and not [finding for finding in made.findings if finding.severity != "note"]
    text = made.files[0].content.decode("ascii")
    work = [line.split(" ")[0].strip("(") for line in text.splitlines() if line.startswith("(") and ", to Z" in line]
    assert work[:2] == ["clear", "clear"] and work[-1] in ("contour", "finish")
    floors = {round(stroke.end[2], 3) for stroke in read(text).strokes if stroke.kind == "cut" and stroke.end[2] < 0}
    assert -5.0 in floors and min(floors) > -20


def test_it_is_refused_where_it_does_not_fit() -> None:
    """The small router, 300 by 180 mm, would take too many setups: it refuses it with the travel that is wanted."""
    made = pipeline.make(read_job(SAMPLE, machine="small router"), posts=["gcode"])
    assert not made.files and has_errors(made.findings)
    (refused,) = [finding for finding in made.findings if finding.severity == "error"]
    assert refused.code == "not-divisible" and "a machine that travels 315 mm by 180 mm or more" in refused.message


def test_a_cutter_that_comes_twice_has_two_programs(tmp_path: Path) -> None:
    """One program per cutter: the mill of the rebates cuts the openings after the drills, in a program of its own."""
    text = 'format = 1\nname = "sheet router"\n[program]\nchange = "one program per cutter"\nunits = "in"\n'
    (tmp_path / "machine.toml").write_text(text, encoding="utf-8")
    (tmp_path / "job.toml").write_text(SAMPLE.read_text(encoding="utf-8"), encoding="utf-8")
    job = read_job(tmp_path / "job.toml", machine=str(tmp_path / "machine.toml"))
    made = pipeline.make(job, posts=["gcode"])
    names = [file.path for file in made.files if file.facts.get("kind") == "program"]
    first, *_, last = names
    assert len(set(names)) == len(names) and last == first.replace(".nc", "-2.nc")
    assert {panel_of(name, ["baffle"]) for name in names} == {"baffle"}
    programs = [(file.path, file.content.decode("ascii")) for file in made.files if file.path in names]
    assert pipeline.verify_texts(job, "baffle", programs) == ()

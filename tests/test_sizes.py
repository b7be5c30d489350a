from __future__ import annotations

import json
from pathlib import Path

import pytest

from toolpaths import pipeline, sizes
from toolpaths.cli import main
from toolpaths.errors import BadInput
from toolpaths.job.load import read_job

JOB = """
format = 1
title = "cabinet"
units = "mm"
machine = "bench mill"
[parameters]
cabinet = 160
pitch = "20 mm"
[sizes.small]
cabinet = 140
[sizes.same]
[sizes.tight]
pitch = 3
[[panel]]
name = "front"
material = "aluminium"
thickness = 2
width = "cabinet"
height = 60
[[panel.hole]]
at = ["width/2", 30]
diameter = 4.3
[[panel]]
name = "inner"
material = "aluminium"
thickness = 2
width = 90
height = 60
[[panel.hole]]
at = [30, 30]
diameter = 4.3
[[panel.hole]]
at = ["30 + pitch", 30]
diameter = 4.3
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "cabinet.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def test_sizes_stand_side_by_side_with_what_differs(path: Path) -> None:
    """Parameters in words, panel dimensions and findings of the base and of every size, in the job's order."""
    found = sizes.side_by_side(lambda name: read_job(path, size=name))
    assert [size.name for size in found] == [None, "small", "same", "tight"]
    table = {row[""]: list(row.values())[1:] for row in sizes.rows(found)}
    assert table["cabinet"] == ["160", "140", "160", "160"]
    assert table["pitch"] == ["20 mm", "20 mm", "20 mm", "3"]
    assert table["front"] == ["160 mm x 60 mm", "140 mm x 60 mm", "160 mm x 60 mm", "160 mm x 60 mm"]
    assert table["errors"] == ["0", "0", "0", "1 overlap"]


def test_programs_are_called_the_same_exactly_where_their_bytes_are(path: Path) -> None:
    """``same_as`` names the first size whose program for that panel has the same bytes, and none where no other has."""
    read = {name: read_job(path, size=name) for name in (None, "small", "same")}
    texts = {name: {f.path: f.content for f in pipeline.make(job, posts=["gcode"]).files} for name, job in read.items()}
    for size in sizes.side_by_side(lambda name: read_job(path, size=name)):
        if size.name == "tight":
            assert [panel.same_as for panel in size.panels if panel.name == "front"] == [sizes.BASE]
            continue
        order = [None, "small", "same"]
        earlier = order[: order.index(size.name)]
        for panel in size.panels:
            program = f"{panel.name}.nc"
            alike = [name or sizes.BASE for name in earlier if texts[name][program] == texts[size.name][program]]
            assert panel.same_as == (alike[0] if alike else None)


def test_the_command_shows_them_and_says_with_its_status_whether_one_cannot_be_built(path: Path, capsys) -> None:
    """Status 1 where a size has findings of severity error, 0 where none has; the JSON holds every size."""

    def run(*arguments: str) -> tuple[int, str]:
        with pytest.raises(SystemExit) as end:
            main(["sizes", str(path), *arguments])
        return end.value.code, capsys.readouterr().out

    status, text = run()
    assert status == 1 and "1 overlap" in text and "as (base)" in text
    status, text = run("--json")
    held = json.loads(text)
    assert (status, held["exit"], held["command"]) == (1, 1, "sizes")
    assert [size["name"] for size in held["sizes"]] == [None, "small", "same", "tight"]
    assert held["sizes"][1]["panels"][1]["same_program_as"] == "(base)"
    path.write_text(JOB.replace("[sizes.tight]\npitch = 3\n", ""), encoding="utf-8")
    assert run()[0] == 0


def test_a_size_that_cannot_be_read_is_bad_input(path: Path) -> None:
    """A size whose value makes no length is told with its place, and nothing is compared."""
    path.write_text(JOB.replace("cabinet = 140", 'cabinet = "140 furlong"'), encoding="utf-8")
    with pytest.raises(BadInput, match=r"sizes\.small\.cabinet"):
        sizes.side_by_side(lambda name: read_job(path, size=name))

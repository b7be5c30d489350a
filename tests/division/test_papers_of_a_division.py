"""What whoever stands at the machine is told of a divided panel: pins to draw, the pin program, places and checks."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.reread import read

PANEL = """
format = 1
title = "long face"
units = "mm"
machine = "small router"
[[panel]]
name = "face"
material = "aluminium"
thickness = 2
width = 420
height = 180
"""


def holes(*places: tuple[float, float, float]) -> str:
    return "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = {size}\n" for x, y, size in places)


DRAWN = PANEL + holes((150, 30, 12.2), (250, 150, 12.2), (20, 90, 9.2), (400, 90, 9.2))
"""No pin in stock fits a hole of 12.2 mm: index holes stand in the middle of two that are opened afterwards."""

STAYING = PANEL + holes((150, 20, 6), (270, 160, 6), (20, 90, 9), (400, 90, 9))
"""Pins of 6 mm stand in two holes that exist anyway."""


def job_of(folder: Path, text: str) -> Job:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return read_job(folder / "job.toml")


def with_program(job: Job, **keys: object) -> Job:
    """The job on its machine with another controller."""
    return replace(job, machine=replace(job.machine, program=replace(job.machine.program, **keys)))  # type: ignore[arg-type]


def sheet_of(made: pipeline.Made) -> str:
    return next(html.unescape(file.content.decode()) for file in made.files if file.path == "setup_sheet.html")


@pytest.mark.parametrize(
    "keys",
    [
        {}, {"change": "one program per cutter"}, {"length": "length table"},
        {"change": "automatic", "length": "length table"},
    ],
)  # fmt: skip
def test_pins_in_the_cutters_way_are_drawn_before_anything_moves(tmp_path: Path, keys: dict[str, object]) -> None:
    """The first program of the setup and its air pass stop with the word to draw them before any motion, and only they;
    the sheet has a step of its own for it between clamping and the air pass, and a box to tick."""
    made = pipeline.make(with_program(job_of(tmp_path, DRAWN), **keys), posts=["gcode"])
    assert {one.severity for one in made.findings} == {"note"}
    word = "draw the pins from IX1 and IX2"
    telling = {file.path for file in made.files if file.path.endswith(".nc") and word in file.content.decode()}
    first = "face.setup2.nc" if keys.get("change") != "one program per cutter" else None
    assert "face.setup2.dry.nc" in telling and len(telling) == 2 and (first is None or first in telling)
    for file in made.files:
        if file.path in telling:
            before, after = file.content.decode().split(word)
            assert not re.search(r"^(?:N\d+ )?(?:G[0123]|M[03])\b", before, re.MULTILINE)
            assert "\nM0\n" in re.split(r"\nG0 ", after)[0] + "\n"
            assert read(file.content.decode()).strokes
    second = sheet_of(made).split("setup 2 of 2")[-1]
    steps = re.findall(r"<li><b>(.*?)\.</b>", second)
    assert steps.index("Hold it") < steps.index("Draw the pins from IX1 and IX2") < steps.index("Z0")
    assert steps.index("Z0") < steps.index("Air pass") < steps.index("Start")
    assert "The pins are drawn from IX1 and IX2, and the sheet has not moved since." in second
    assert "sits on its pins without play; X0" not in second


def test_pins_that_stay_are_not_drawn(tmp_path: Path) -> None:
    """Where pins stand in holes that no cutter comes to, nothing says to draw them."""
    made = pipeline.make(job_of(tmp_path, STAYING), posts=["gcode"])
    assert not any("draw the pin" in file.content.decode() for file in made.files if file.path.endswith(".nc"))
    second = sheet_of(made).split("setup 2 of 2")[-1]
    assert "Draw the pin" not in second and "The sheet sits on its pins without play" in second


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_pin_program_stands_on_the_sheet_with_its_places(tmp_path: Path, units: str) -> None:
    """It has its line in the overview, its cutter, and its holes in the order and at the places of the program itself,
    in the program's units; where the zero is lost P1 stands at the first of them."""
    job = with_program(job_of(tmp_path, STAYING), units=units, decimals=4 if units == "in" else 3)
    made = pipeline.make(job, posts=["gcode"])
    sheet = sheet_of(made)
    overview = re.search(r"<h3>The whole job</h3>.*?</table>", sheet, re.DOTALL)[0]  # type: ignore[index]
    assert re.findall(r"<td>(face[^<]*\.nc)</td>", overview) == ["face.setup1.nc", "face.pins.nc", "face.setup2.nc"]
    part = sheet.split(">face.pins.nc</span></h3>")[1].split("<svg")[0]
    rows = re.findall(r'>(P\d)</td><td class="figure">([-\d.]+)</td><td class="figure">([-\d.]+)</td>', part)
    board = read(next(file.content.decode() for file in made.files if file.path == "face.pins.nc"))
    bored = list(dict.fromkeys(stroke.centre for stroke in board.strokes if stroke.centre and stroke.sweep > 6.28))
    unit = 25.4 if units == "in" else 1.0
    assert len(rows) == 2 and "end mill" in part and "on the bare board" in part
    for (_, x, y), centre in zip(rows, bored[:2], strict=True):
        assert (float(x) * unit, float(y) * unit) == pytest.approx(centre, abs=0.003)
    said = {name: f"X{x} Y{y}{' in' if units == 'in' else ''}" for name, x, y in rows}
    assert f"afterwards on P1, whose middle is {said['P1']}." in sheet
    assert all(f"over the pin at {place}" in sheet for place in said.values())


def test_lengths_for_the_pin_holes_are_those_on_the_bare_board(tmp_path: Path) -> None:
    """With a table of lengths the sheet says that a length measured on the sheet will not do; the files are named."""
    keys = {"change": "one program per cutter", "length": "length table"}
    made = pipeline.make(with_program(job_of(tmp_path, STAYING), **keys), posts=["gcode"])
    sheet = sheet_of(made)
    assert "a length that was measured on the sheet is wrong by its thickness" in sheet
    names = [file.path for file in made.files if file.facts["kind"] == "pin holes"]
    assert names and f">{', then '.join(names)}</span></h3>" in sheet


def test_the_measure_across_shows_a_shifted_sheet(tmp_path: Path) -> None:
    """After the first hole of setup 2: its distance from a hole of setup 1, by hand from the job's places."""
    sheet = sheet_of(pipeline.make(job_of(tmp_path, STAYING), posts=["gcode"]))
    second = sheet.split("setup 2 of 2")[-1]
    assert "Measure across" not in sheet.split("setup 2 of 2")[0]
    apart = ((400 - 270) ** 2 + (90 - 160) ** 2) ** 0.5
    assert f"centre to centre {apart:.2f}".rstrip("0") in second
    assert f"near edge {apart - 4.5 - 3:.2f}".rstrip("0") in second and "with a caliper" in second

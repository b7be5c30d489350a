"""The judge on programs beside walls: good ones pass without a word, and each planted fault hits the wall it should."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from toolpaths import pipeline
from toolpaths.finding import Finding
from toolpaths.job import Job

JOB = """
format = 1
units = "mm"
machine = "bench mill"
[[panel]]
name = "top"
material = "aluminium"
thickness = 1.5
width = 243
height = 163
machine_from = "{side}"
  [[panel.hole]]
  at = [60, 60]
  diameter = 8
  [[panel.cutout]]
  at = [160, 90]
  width = 40
  height = 30
  corner_radius = 4
[chassis]
inside = {{ length = 240, depth = 160, height = 40 }}
bend_radius = 3
faces = {{ top = "top" }}
"""

READ = Callable[..., Job]


def program(job: Job) -> str:
    """The text of the one program."""
    made = pipeline.make(job)
    (text,) = (file.content.decode() for file in made.files if file.facts.get("kind") == "program")
    return text


def told(job: Job, text: str) -> list[Finding]:
    return list(pipeline.verify_texts(job, "top", [("top.nc", text)]))


def planted(text: str, moves: str) -> str:
    """The program with moves of its last cutter planted before the end, and back to the clear height after them."""
    (clear,) = set(re.findall(r"G0 Z(\d+)\nM5", text))
    head, end = text.rsplit(f"G0 Z{clear}\nM5", 1)
    return f"{head}G0 Z{clear}\n{moves}\nG0 Z{clear}\nM5{end}"


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_a_good_program_is_clean(job_of: READ, side: str) -> None:
    """What we plan round standing and over hanging walls is proved without a finding."""
    job = job_of(JOB.format(side=side))
    text = program(job)
    assert not told(job, text)
    first = next(line for line in text.splitlines() if line.startswith("G0"))
    assert first == ("G0 Z5" if side == "outside" else "G0 Z45")


STANDING = (
    ("the collet nut", "G0 X20 Y80\nG0 Z2\nG0 X240"),   # across the right wall, low
    ("the cutter", "G0 X120 Y80\nG0 Z10\nG0 Y170"),     # across the upper wall
    ("the cutter", "G0 X-30 Y80\nG0 Z38\nG0 X20"),      # in over the left wall, 2 mm too low
)  # fmt: skip


@pytest.mark.parametrize(("part", "moves"), STANDING)
def test_a_rapid_through_a_standing_wall(job_of: READ, part: str, moves: str) -> None:
    """A rapid that crosses a wall below its top is found; above it the same way is fine."""
    job = job_of(JOB.format(side="inside"))
    text = program(job)
    found = told(job, planted(text, moves))
    assert {one.code for one in found} == {"hits-flange"}
    assert "of the folded box" in found[0].message
    high = re.sub(r"G0 Z\d+\nG0 ([XY])", r"G0 Z40.1\nG0 \1", moves)
    assert not told(job, planted(text, high))


def test_the_nut_beside_a_wall(job_of: READ) -> None:
    """With the tip low the nut is below the wall's top: nearer than its radius it hits, clear of it not."""
    job = job_of(JOB.format(side="inside"))
    text = program(job)
    number = int(re.findall(r"T(\d+)", text)[-1])
    cutter, nut = job.cutters[number], job.machine.nut_diameter / 2
    assert cutter.stick_out + 2 < 40 and cutter.shank / 2 < nut
    for x, clean in ((1.5 + nut + 0.01, True), (1.5 + nut - 0.01, False)):
        found = told(job, planted(text, f"G0 X{x:.3f} Y80\nG0 Z2"))
        assert (not found) is clean
        assert clean or (found[0].code == "hits-flange" and "the collet nut crosses the" in found[0].message)


def test_the_round_of_a_bend(job_of: READ) -> None:
    """Beside the wall the inside of a bend rises from the flat: a cutter low there runs into it, higher up not."""
    job = job_of(JOB.format(side="inside").replace("height = 40", "height = 6"))
    text = program(job)
    cutter = job.cutters[int(re.findall(r"T(\d+)", text)[-1])]
    # the tip's edge 0.6 mm from the wall, where the round of 3 mm is 3 - sqrt(3² - 2.4²) = 1.2 mm high
    x = 1.5 + 0.6 + cutter.radius
    assert "hits-flange" in {one.code for one in told(job, planted(text, f"G0 X{x:.3f} Y80\nG0 Z0.2"))}
    assert not told(job, planted(text, f"G0 X{x:.3f} Y80\nG0 Z1.3"))


def test_a_cut_into_a_hanging_wall(job_of: READ) -> None:
    """A cut through the sheet over a wall goes into it; one that stops in the sheet is another fault."""
    job = job_of(JOB.format(side="outside"))
    text = program(job)
    through = told(job, planted(text, "G0 X120 Y1.5\nG0 Z1\nG1 Z-1.8 F50\nG0 Z5"))
    assert "hits-flange" in {one.code for one in through}
    assert any("it hangs down there" in one.message or "hangs down" in one.message for one in through)
    shallow = told(job, planted(text, "G0 X120 Y1.5\nG0 Z1\nG1 Z-1 F50\nG0 Z5"))
    assert "hits-flange" not in {one.code for one in shallow} and shallow


def test_a_flat_sheet_has_no_walls(job_of: READ) -> None:
    """Before bending the same moves cross nothing."""
    job = job_of(JOB.format(side="inside").replace("bend_radius", 'holes = "before bending"\nbend_radius'))
    assert not told(job, planted(program(job), "G0 X20 Y80\nG0 Z2\nG0 X240"))

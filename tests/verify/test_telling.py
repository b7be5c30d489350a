"""Findings about a program in inches are told in inches first, as its text and the display of the machine have them."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.job import Job
from toolpaths.units import Units, said, told, told_apart
from toolpaths.verify.telling import Telling

PLATE = """
format = 1
title = "plate"
units = "mm"
machine = "mill with tool changer"
[[panel]]
name = "plate"
material = "aluminium"
thickness = "2 mm"
width = "120 mm"
height = "80 mm"
[[panel.hole]]
at = ["1 in", "1 in"]
diameter = "3/8 in"
[[panel.cutout]]
at = ["3 in", "38 mm"]
width = "44 mm"
height = "30 mm"
corner_radius = "4 mm"
"""


def program_of(job: Job) -> str:
    """The text of the one program of a job."""
    (file,) = [file for file in pipeline.make(job, posts=["gcode"]).files if file.facts.get("kind") == "program"]
    return file.content.decode()


EDITS = {
    "overcut": lambda text: re.sub(r"X([0-9.]+)", lambda found: f"X{float(found[1]) + 0.01:.4f}", text),
    "undercut": lambda text: re.sub(r"Z-0\.09\d*", "Z-0.05", text),
    "too-hard": lambda text: re.sub(r"F\d+(\.\d+)?", "F170", text),
    "rubbing-feed": lambda text: re.sub(r"F\d+(\.\d+)?", "F0.5", text),
    "rapid-in-stock": lambda text: re.sub(r"G1 (?=X)", "G0 ", text),
    "too-deep": lambda text: re.sub(r"Z-0\.09\d*", "Z-0.3", text),
    "bad-start": lambda text: text.replace("G0 Z0.1969", "G0 Z0.1", 1),
}


@pytest.mark.parametrize("code", EDITS)
def test_inches_come_first_and_mm_stand_in_brackets(job_of, code) -> None:
    """Whatever is wrong with an inch program, no figure is told in mm alone, and places are those of its text."""
    job = job_of(PLATE)
    text = program_of(job)
    assert "G20" in text
    found = pipeline.verify_texts(job, "plate", [("plate.nc", EDITS[code](text))])
    assert code in {one.code for one in found}
    for one in found:
        # in brackets behind inches: (6.35 mm), (25.4, 0, -1.27 mm), (508 mm/min), (3 mm²)
        rest = re.sub(r"(?<=[0-9nN²]) \(-?[0-9.]+(?:, -?[0-9.]+)* mm(?:/min|²)?\)", "", one.message)
        assert " mm" not in rest, one.message
        for axis in re.findall(r"[XYZ]-?[0-9.]+", rest):
            assert abs(float(axis[1:])) < 5, one.message  # the plate is 4.7 in long


def test_a_wrong_word_for_the_units_is_one_finding(job_of) -> None:
    """G21 over figures in inches is told as that one word, where with the other all is right; else all is told."""
    job = job_of(PLATE)
    text = program_of(job)
    (only,) = pipeline.verify_texts(job, "plate", [("plate.nc", text.replace("G20 ", "G21 "))])
    assert (only.severity, only.code) == ("error", "other-units") and "with G20 it makes the piece" in only.message
    both = EDITS["overcut"](text.replace("G20 ", "G21 "))
    codes = {one.code for one in pipeline.verify_texts(job, "plate", [("plate.nc", both)])}
    assert "other-units" not in codes and len(codes) > 2


def test_mm_programs_are_told_in_mm(job_of) -> None:
    """A program in mm is told in mm alone, whatever the job's units."""
    job = job_of(PLATE.replace('units = "mm"', 'units = "in"'), machine="bench mill")
    text = program_of(job)
    found = pipeline.verify_texts(job, "plate", [("plate.nc", text.replace("S", "S9"))])
    assert found
    assert not any(re.search(r"\bin\b \(", one.message) for one in found)


@given(limit=st.floats(0.02, 300.0), beyond=st.floats(2e-7, 5.0), units=st.sampled_from(["mm", "in"]))
def test_what_is_beyond_a_limit_is_never_said_as_the_limit(limit: float, beyond: float, units: Units) -> None:
    """A length and the limit that it is beyond differ in the words of a job's and of a program's findings."""
    for say in (Telling(units).length, lambda length: said(length, units), lambda length: told(length, units)):
        one, other = (words.split(" (")[0] for words in told_apart(limit + beyond, limit, say, units))
        figures = [sum(map(Fraction, words.removesuffix(f" {units}").split())) for words in (one, other)]
        assert figures[0] > figures[1]


def test_a_corner_a_little_too_round_is_told_with_digits_that_show_it(job_of) -> None:
    """In inches too a radius and the most that it may be are two figures."""
    cutout = "[[panel.cutout]]\nat = [20, 20]\nwidth = 1.5\nheight = 1.5\ncorner_radius = 0.7500005\n"
    with pytest.raises(BadInput, match=r"is 0.750001 in; at most half the shorter side, 0.750000 in"):
        job_of(PLATE.replace('units = "mm"', 'units = "in"') + cutout)

"""What the setup sheet says of accuracy and of measuring, against plane geometry worked out here."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable

import pytest

from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.shop.accuracy import accuracy_table, demands
from toolpaths.shop.checklist import after, before, first_hole, pair_to_measure
from toolpaths.shop.words import Figures
from toolpaths.tables.load import machines

READ = Callable[..., Job]
MM = Figures("mm", "mm")

JOB = """
format = 1
title = "Front"
units = "mm"
machine = "MACHINE"
[[panel]]
name = "front"
material = "aluminium"
thickness = 3
width = 200
height = 80
[[panel.hole]]
at = [20, 20]
diameter = 10
[[panel.hole]]
at = [180, 60]
diameter = 6
[[panel.hole]]
at = [100, 20]
thread = "M3"
[[panel.d_hole]]
at = [60, 50]
diameter = 12.7
across_flat = 11.7
[[panel.double_d_hole]]
at = [90, 50]
diameter = 12.7
across_flats = 10.7
[[panel.hole]]
at = [130, 60]
diameter = 8.3
tolerance = 0.05
[[panel.hole]]
at = [150, 20]
diameter = 5
finish = "mark"
"""


def planned(job: Job):
    (one,) = pipeline.plan(job)[0]
    assert one.program
    return one.panel, one.program.setup


def turn_of(distance: float, half: float, play: float) -> float:
    """The largest turn, in degrees, of a flat ``half`` to each side of its middle and ``distance`` from the centre, in
    an opening whose flat is ``play`` further out: its end then touches. Found by halving."""
    low, high = 0.0, math.pi / 4
    for _ in range(60):
        middle = (low + high) / 2
        # the end of the flat, seen along the opening's own flat
        low, high = (
            (middle, high) if half * math.sin(middle) + distance * math.cos(middle) < distance + play else (low, middle)
        )
    return math.degrees(low)


@pytest.mark.parametrize(("machine", "error"), [("small router", 0.2), ("bench mill", 0.05)])
def test_how_far_a_part_turns_in_its_flats(job_of: READ, machine: str, error: float) -> None:
    """The turn that is printed is that of the flat's end against the wider flat, to a tenth of itself; with two flats
    each gives by half."""
    job = job_of(JOB.replace("MACHINE", machine))
    told = {row.tags: row.what for row in demands(*planned(job), job.machine, MM)}
    flats = [(row, re.search(r"about (\S+)°", row)) for row in told.values() if "flat" in row]
    found = sorted(float(match[1]) for _, match in flats if match)
    one = turn_of(5.35, math.sqrt(6.35**2 - 5.35**2), error)
    two = turn_of(5.35, math.sqrt(6.35**2 - 5.35**2), error / 2)
    assert found == pytest.approx(sorted([one, two]), rel=0.1, abs=0.06)
    assert all(f"{error:g} mm too wide" in row for row, _ in flats)


def test_the_machine_of_the_job_is_marked_and_what_asks_for_more_is_named(job_of: READ) -> None:
    """On a router 0.1 to 0.2 mm is marked, on a mill 0.05 mm; a tolerance is named where it is less than that."""
    rows = {name: [row.name for row in accuracy_table(machines()[name], MM) if row.this] for name in machines()}
    assert rows["small router"] == rows["sheet router"] == ["small router"]
    assert rows["bench mill"] == rows["mill with tool changer"] == ["tight bench mill"]
    expect = {row.name: row.expect for row in accuracy_table(machines()["bench mill"], MM)}
    assert expect["small router"] == "0.1 to 0.2 mm" and expect["tight bench mill"] == "0.05 mm"
    job = job_of(JOB.replace("MACHINE", "small router"))
    assert any("may come out 0.05 mm larger at most" in row.what for row in demands(*planned(job), job.machine, MM))
    mill = job_of(JOB.replace("MACHINE", "bench mill"))
    assert not any("larger at most" in row.what for row in demands(*planned(mill), mill.machine, MM))


def test_a_milled_tapping_hole_asks_for_more_and_a_drilled_one_does_not(job_of: READ) -> None:
    """0.2 mm of M3's pitch of 0.5 mm: 0.2 / (1.299 x 0.5) is 31 % of a full thread's depth (handbook rule, from
    memory: a full thread takes 1.299 pitches off the diameter)."""
    routed = job_of(JOB.replace("MACHINE", "small router"))
    panel, setup = planned(routed)
    kinds = {step.kind for step in setup.operations for tag in step.tags if tag == tag_of(panel, "M3")}
    said = [row.what for row in demands(panel, setup, routed.machine, MM) if "tapping" in row.what]
    assert bool(said) == bool(kinds & {"bore", "clear"})
    for what in said:
        assert "31%" in what
    # on the mill the hole is drilled
    milled = job_of(JOB.replace("MACHINE", "bench mill"))
    assert not [row for row in demands(*planned(milled), milled.machine, MM) if "tapping" in row.what]


def tag_of(panel, thread: str) -> str:
    return next(one.tag for one in panel.openings if one.thread is not None and one.thread.name == thread)


def test_the_first_hole_is_the_first_that_is_done_and_the_pair_is_the_furthest(job_of: READ) -> None:
    """The hole to measure is round and no other is finished before it; the pair's near edges are their centres'
    distance less both radii: from 20, 20 to 180, 60 that is 164.924 mm, less 5 and 3."""
    job = job_of(JOB.replace("MACHINE", "bench mill"))
    panel, setup = planned(job)
    hole = first_hole(panel, setup)
    assert hole is not None and hole.diameter
    done = {tag: place for place, step in enumerate(setup.operations) for tag in step.tags if step.kind != "spot"}
    others = [done[one.tag] for one in panel.openings if one.diameter and one.finish == "machine"]
    assert done[hole.tag] == min(others)
    pair = pair_to_measure(panel)
    assert pair is not None
    assert {pair[0].diameter, pair[1].diameter} == {10, 6} and pair[2] == pytest.approx(164.924 - 8, abs=1e-3)
    lines = " ".join(after(panel, setup, job.machine, MM))
    assert "156.9 mm with a rule" in lines and "Tap M3" in lines and "Left to the hand:" in lines


def test_boxes_to_tick_follow_the_job(job_of: READ) -> None:
    """A board asks for mask and extraction, a spindle with a dial for its setting, inches for inches."""
    job = job_of(JOB.replace("MACHINE", "bench mill"))
    panel, setup = planned(job)
    told = {
        name: " ".join(
            before(panel, setup, machines()[name], job.cutters, job.materials["aluminium"],
                   Figures("mm", machines()[name].program.units), ("front.nc",), "front.dry.nc")
        )
        for name in ("bench mill", "mill with tool changer")
    }  # fmt: skip
    assert "mask" not in told["bench mill"] and "shows millimetres" in told["bench mill"]
    assert "shows inches" in told["mill with tool changer"] and "in the slot" in told["mill with tool changer"]
    board = before(panel, setup, job.machine, job.cutters, job.materials["plywood"], MM, ("front.nc",), "front.dry.nc")
    assert "mask on, extraction running" in " ".join(board)


def test_every_cutter_says_why_it_runs_so(job_of: READ) -> None:
    """Each cutter's row is followed by how far it must stand out and by the reasons for speed, feed and pass; those
    do not stand again with the reasons for the method."""
    made = pipeline.make(job_of(JOB.replace("MACHINE", "small router")))
    (page,) = (file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    cutters = page.split("Cutters, in the order of use")[1].split("Order of work")[0]
    rows = re.findall(r'class="feature">(Stick-out: .*?)</td>', cutters)
    assert rows and len(rows) == cutters.count('<tbody class="pair">')
    for row in rows:
        text = html.unescape(row)
        assert "Why so: " in text and re.search(r"m/min (by table|would be)", text)
        assert re.search(r"mm per (tooth|turn)", text)
    why = page.split("Why it is made this way")[1]
    assert "by table" not in why and "per tooth" not in why

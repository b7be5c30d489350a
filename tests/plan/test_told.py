"""What is said of many holes at once, and of machines that are too small."""

from __future__ import annotations

from pathlib import Path

from toolpaths import pipeline
from toolpaths.finding import Finding
from toolpaths.job.load import read_job
from toolpaths.plan.told import told_once

JOB = """
format = 1
title = "t"
units = "mm"
machine = "{machine}"
[[panel]]
name = "p"
material = "aluminium"
thickness = 3
width = {width}
height = {height}
divide = false
clamps = [{{ x = 0, y = 0, width = 10, height = {clamp} }}]
[[panel.{feature}]]
"""


def findings(folder: Path, keys: str, **changes: object) -> tuple[Finding, ...]:
    """The errors of a small job."""
    facts = {"machine": "small router", "width": 200, "height": 140, "clamp": 20, "feature": "hole"} | changes
    file = folder / "job.toml"
    file.write_text(JOB.format(**facts) + keys, encoding="utf-8")
    return tuple(one for one in pipeline.check(read_job(file)) if one.severity == "error")


def test_a_ring_that_no_cutter_makes_is_told_once(tmp_path: Path) -> None:
    """One paragraph says what is wrong with all twelve holes, and names few of the cutters that fail alike."""
    ring = "at = [100, 70]\ncircle_diameter = 80\ncount = 12\ndiameter = 0.7\n"
    (one,) = findings(tmp_path, ring, feature="ring")
    assert one.message.startswith("A1 and 11 more like it (\u00d80.7): ")
    assert one.message.count("T1") <= 3 and "more: a bore needs room" in one.message


def test_different_findings_stay_apart() -> None:
    """Only what differs in nothing but a tag is drawn together, in the order in which it was first met."""
    told = told_once(Finding("note", "x", "p", feature, text) for feature, text in (
        ("ring[1]", "A1: so"), ("ring[1]", "A2: otherwise"), ("ring[1]", "A3: so"), ("hole[1]", "B1: so"), ("", "so")))
    assert [one.message for one in told] == ["A1 and 1 more like it: so", "A2: otherwise", "B1: so", "so"]


def test_tall_clamps_are_named_where_they_leave_no_daylight(tmp_path: Path) -> None:
    """Where the clear height over a clamp leaves no room for any cutter, that is the cause that is told."""
    (one,) = findings(tmp_path, "at = [100, 70]\ndiameter = 20\n", clamp=45)
    assert one.code == "beyond-travel" and "clamp 1" in one.message and "lower clamps would do" in one.message
    assert findings(tmp_path, "at = [100, 70]\ndiameter = 20\n", clamp=20) == ()


def test_a_panel_that_fits_turned_is_told_so(tmp_path: Path) -> None:
    """Cuts beyond the travel come with what helps: turning the panel where that does, else another machine."""
    two = "at = [20, 20]\ndiameter = 20\n[[panel.hole]]\nat = [100, 240]\ndiameter = 20\n"
    (one,) = findings(tmp_path, two, width=150, height=260)
    assert one.code == "beyond-travel" and "turned by a quarter" in one.message
    assert "leave out divide = false" in one.message
    far = "at = [20, 20]\ndiameter = 20\n[[panel.hole]]\nat = [240, 340]\ndiameter = 20\n"
    assert {one.message.rpartition(": ")[2].partition(";")[0] for one in findings(tmp_path, far, width=260, height=360)
            } == {"name a machine that travels further with --machine"}

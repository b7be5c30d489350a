"""The judge on an outline typed by hand: right ones pass, each fault is called by its name, waste may be cut."""

from __future__ import annotations

import dataclasses

import pytest

from tests.verify.test_judge import CHANGE, DRILLED, FOOT, HEAD, codes, edited, hole, judged
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.layout.outline import edge_of
from toolpaths.layout.panel import Panel, Tabs

SHAPE = rounded_rectangle((50, 30), 100, 60, 0)


def sheet(*, mirrored: bool = False) -> Panel:
    """A face of 100 by 60 mm with sharp corners and one hole, to be cut from 130 by 90 mm of steel, 1.2 mm thick."""
    at = (60.0, 30.0) if mirrored else (40.0, 30.0)
    return Panel(
        "face", "mild steel", 1.2, "1.2 mm", SHAPE, (-15.0, -15.0, 115.0, 75.0), (100.0 if mirrored else 0.0, 0.0),
        mirrored, True, (), (hole("hole[1]", at, 3.0),), (80.0, 30.0), edge_of(SHAPE, Tabs()),
    )


def lap(z: float, off: float = 1.5, lower: tuple[float, ...] = (50,), upper: tuple[float, ...] = (75, 25)) -> str:
    """Once round at ``off`` outside, counter-clockwise from the lower left, over tabs of 5.5 mm under Z-0.7.

    320 mm of outline get three tabs (one per 130 mm), 3 mm of cutter and a neck of 2.5 mm wide, 0.5 mm high.
    """

    def run(tabs: tuple[float, ...], way: int) -> str:
        over = "X{0} F180\nZ-0.7\nX{1}\nZ{2} F50\n"
        return "".join(over.format(x - way * 2.75, x + way * 2.75, z) for x in tabs) if z < -0.7 else ""

    return (
        f"G1 Z{z} F50\n{run(lower, 1)}X100 F180\nG3 X{100 + off} Y0 I0 J{off}\nG1 Y60\nG3 X100 Y{60 + off} I-{off} J0\n"
        f"G1 {run(upper, -1)}X0 F180\nG3 X-{off} Y60 I0 J-{off}\nG1 Y0\nG3 X0 Y-{off} I{off} J0\n"
    )


def round_it(off: float = 1.5, **tabs: tuple[float, ...]) -> str:
    """The outline in three levels, ending above the sheet."""
    return f"G0 X0 Y-{off}\nG0 Z2\nG1 Z0 F180\n" + "".join(lap(z, off, **tabs) for z in (-0.5, -1.0, -1.5)) + "G0 Z2\n"


def program(*cuts: str) -> str:
    """The hole drilled, then each of the cuts with the 3 mm end mill."""
    return HEAD + CHANGE.format(1, 2000) + DRILLED + "G0 Z25\nM5\n" + CHANGE.format(2, 6000) + "".join(cuts) + FOOT


ROUND = round_it()
RIGHT = program(ROUND)


def test_a_right_outline_passes() -> None:
    """An outline cut from outside, last, over its tabs, raises no finding; nor does its mirror image."""
    assert judged(RIGHT, sheet()) == ()
    assert judged(RIGHT, sheet(mirrored=True)) == ()


FAULTS = {
    "missing": (ROUND, "", "not-made"),
    "0.05 mm too near": (ROUND, round_it(1.45), "overcut"),
    "0.05 mm too far": (ROUND, round_it(1.55), "undercut"),
    "a tab missing": (ROUND, round_it(upper=(75,)), "tabs-wrong"),
    "a tab too many": (ROUND, round_it(lower=(25, 75)), "tabs-wrong"),
    "tabs on a corner": (ROUND, round_it(lower=(98.5,)), "tabs-wrong"),
    "a tab too wide": (lap(-1.5), lap(-1.5).replace("X47.25", "X47"), "tabs-wrong"),
    "no tab at all": (ROUND, round_it(lower=(), upper=()), "tabs-wrong"),
    "not through": (lap(-1.5), "", "undercut"),
    "a side not cut": (lap(-1.5), lap(-1.5).replace("\nG1 Y60\n", "\nG1 Z-1\nG1 Y60\nG1 Z-1.5\n"), "tabs-wrong"),
    "a corner cut off": ("G3 X101.5 Y0 I0 J1.5", "G1 X101.5 Y0", "overcut"),
    "a corner not rolled round": ("G3 X101.5 Y0 I0 J1.5\n", "G1 X101.5\nG1 Y0\n", ""),
    "a cut across the panel": ("G0 Z2\nG0 Z25\nM5\nM30", "G1 Y30 F100\nG0 Z2\nG0 Z25\nM5\nM30", "overcut"),
    "the frame cut away": (ROUND, ROUND + "G0 X-9\nG1 Z-1.5 F50\nG1 Y60 F180\nG0 Z2\n", "stray-cut"),
    "beside the sheet": (ROUND, ROUND + "G0 X-30\nG1 Z-1.5 F50\nG0 Z2\n", "stray-cut"),
    "the frame cut into elsewhere": (ROUND, ROUND + "G0 X-8\nG1 Z-1.5 F50\nG1 Y60 F180\nG0 Z2\n", ""),
}


@pytest.mark.parametrize("fault", list(FAULTS))
def test_a_fault_is_called_by_its_name(fault: str) -> None:
    """Each fault of an outline is found under its code; what only takes waste is none."""
    old, new, code = FAULTS[fault]
    found = codes(judged(edited(RIGHT, old, new), sheet()))
    assert code in found if code else not found


def test_the_wrong_side() -> None:
    """A cutter that goes round inside the outline takes the panel to pieces."""
    x0, x1, y0, y1 = 1.5, 98.5, 1.5, 58.5
    inner = f"G0 X{x0} Y{y0}\nG1 Z-1.5 F50\nG1 X{x1} F180\nG1 Y{y1}\nG1 X{x0}\nG1 Y{y0}\nG0 Z2\n"
    found = judged(program(inner), sheet())
    assert "not-made" in codes(found) and "stray-cut" in codes(found)
    assert "stray-cut" in codes(judged(program(ROUND, inner), sheet()))


def test_the_outline_before_an_opening() -> None:
    """What is cut in a panel that hangs in its tabs alone comes too late, and its line is named."""
    first = HEAD + CHANGE.format(2, 6000) + ROUND + "G0 Z25\nM5\n" + CHANGE.format(1, 2000) + DRILLED + FOOT
    (found,) = judged(first, sheet())
    assert found.code == "loose-early" and found.feature == "hole[1]" and found.line > 0
    upper_levels = "G0 X0 Y-1.5\nG0 Z2\nG1 Z0 F180\n" + lap(-0.5) + lap(-1.0) + "G0 Z2\nG0 Z25\nM5\n"
    rest = "G0 X0 Y-1.5\nG0 Z2\nG1 Z-1 F180\n" + lap(-1.5) + "G0 Z2\n"
    halves = (
        HEAD + CHANGE.format(2, 6000) + upper_levels + CHANGE.format(1, 2000) + DRILLED + "G0 Z25\nM5\n"
        + CHANGE.format(2, 6000) + rest + FOOT
    )  # fmt: skip
    assert judged(halves, sheet()) == ()


def test_half_a_program_is_incomplete() -> None:
    """A program without the outline says so of the outline, and that the setup is not done."""
    found = judged(program(), sheet())
    assert [(finding.code, finding.feature) for finding in found] == [("not-made", "outline"), ("incomplete", "")]


def test_declared_tabs_decide() -> None:
    """Five declared tabs want five; a height of their own is judged too."""
    five = dataclasses.replace(sheet(), edge=edge_of(SHAPE, Tabs(count=5)))
    assert codes(judged(RIGHT, five)) == {"tabs-wrong"}
    assert judged(program(round_it(lower=(25, 75), upper=(80, 50, 20))), five) == ()
    low = dataclasses.replace(sheet(), edge=edge_of(SHAPE, Tabs(height=0.4)))
    assert codes(judged(RIGHT, low)) == {"tabs-wrong"}

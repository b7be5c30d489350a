"""What the drawing alone shows to be wrong, each with the number that cures it."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.finding import Finding
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.layout.checks import findings
from toolpaths.layout.panel import Clamp, Layout, Opening, Panel, Tabs
from toolpaths.tables.load import cutters, machines, materials

MATERIALS = materials()
MACHINE = machines()["small router"]
CUTTERS = cutters()


def hole(number: int, x: float, y: float, diameter: float, **changes: object) -> Opening:
    shape = circle((x, y), diameter)
    opening = Opening(
        tag=f"A{number}", feature=f"hole[{number}]", label="", centre=(x, y), shape=shape, diameter=diameter,
        size_text=f"{diameter:g}", finish="machine", cut=shape, cut_diameter=diameter, marks=(), corner_limit=1.6,
        tolerance=0.0, tabs=None, cleared=diameter <= 25,
    )  # fmt: skip
    return replace(opening, **changes)  # type: ignore[arg-type]


def cutout(number: int, x: float, y: float, width: float, height: float, **changes: object) -> Opening:
    shape = rounded_rectangle((x, y), width, height, 3)
    opening = Opening(
        tag=f"B{number}", feature=f"cutout[{number}]", label="", centre=(x, y), shape=shape, diameter=None,
        size_text="", finish="machine", cut=shape, cut_diameter=None, marks=(), corner_limit=1.6,
        tolerance=0.0, tabs=Tabs(), cleared=False,
    )  # fmt: skip
    return replace(opening, **changes)  # type: ignore[arg-type]


def panel(*openings: Opening, thickness: float = 1.5, corner: float = 0.0, **changes: object) -> Panel:
    """200 by 100 mm of mild steel."""
    made = Panel(
        name="rear", material="mild steel", thickness=thickness, thickness_text=f"{thickness:g} mm",
        outline=rounded_rectangle((100, 50), 200, 100, corner), stock=(0, 0, 200, 100), zero=(0, 0), mirrored=False,
        cut_outline=False, clamps=(), openings=openings, touch_off=(5, 5),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def found(made: Panel) -> list[Finding]:
    return findings(Layout("job", "title", None, "mm", (made,)), MACHINE, CUTTERS, MATERIALS)


def codes(made: Panel) -> list[tuple[str, str, str]]:
    return [(finding.severity, finding.code, finding.feature) for finding in found(made)]


def number_before(words: str, message: str) -> float:
    match = re.search(rf"([0-9.]+) mm {words}", message)
    assert match, message
    return float(match[1])


def rule(thickness: float = 1.5) -> float:
    steel = MATERIALS["mild steel"]
    return max(steel.web * thickness, steel.web_least)


def test_a_sound_panel_has_no_findings() -> None:
    """A panel that a builder would cut says nothing."""
    assert found(panel(hole(1, 30, 30, 10), hole(2, 60, 30, 10), cutout(1, 120, 50, 50, 40))) == []


def test_outside_names_the_amount_and_the_way() -> None:
    """A hole over the left edge says by how much, and where to move it."""
    (one,) = found(panel(hole(1, 3, 50, 10)))
    assert (one.severity, one.code, one.feature) == ("error", "outside-panel", "hole[1]")
    assert "2 mm beyond the left edge" in one.message
    assert number_before("to the right", one.message) == pytest.approx(2 + rule(), abs=0.1)


def test_what_stands_in_a_row_is_moved_with_it() -> None:
    """An opening that a row brings is told with the row's move."""
    (one,) = found(panel(replace(hole(1, 3, 50, 10), feature="row[1]")))
    assert "move its row" in one.message


def test_outside_altogether_is_moved_back_both_ways() -> None:
    """A hole off a corner of the panel is told both moves, and the moves cure it."""
    (one,) = found(panel(hole(1, 220, 130, 10)))
    dx, dy = number_before("to the left", one.message), number_before("downwards", one.message)
    assert found(panel(hole(1, 220 - dx, 130 - dy, 10))) == []


def test_a_feature_larger_than_the_panel_says_what_fits() -> None:
    """No move cures a cutout that is higher than the panel: the largest that fits is named."""
    (one,) = found(panel(cutout(1, 100, 50, 60, 99)))
    assert one.code == "thin-edge"
    assert f"leaves room for {100 - 2 * rule():g} mm" in one.message


def test_a_rounded_corner_counts_as_outline() -> None:
    """A hole that lies within the panel's box but over its rounded corner is outside, and the number cures it."""
    assert found(panel(hole(1, 10, 10, 8))) == []
    (one,) = found(panel(hole(1, 10, 10, 8), corner=30))
    assert one.code == "outside-panel"
    move = number_before("towards the middle", one.message)
    length = (90**2 + 40**2) ** 0.5
    assert found(panel(hole(1, 10 + 90 * move / length, 10 + 40 * move / length, 8), corner=30)) == []


@given(
    st.floats(2, 20), st.floats(2, 20), st.floats(-0.5, 1.5), st.sampled_from([0.8, 1.5, 3.0]),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_the_web_between_holes_is_judged_and_cured(one: float, two: float, air: float, thickness: float) -> None:
    """Two holes are found exactly when the web is under the rule, and moving them as told cures them."""
    x = 60 + (one + two) / 2 + air
    made = found(panel(hole(1, 60, 50, one), hole(2, x, 50, two), thickness=thickness))
    if abs(air - rule(thickness)) < 0.005 or abs(air) < 0.005:
        return
    if air > rule(thickness):
        assert made == []
        return
    (finding,) = made
    expected = ("error", "overlap") if air < 0 else ("warning", "thin-web")
    assert (finding.severity, finding.code) == expected
    assert finding.feature == "hole[2]" and "hole[1]" in finding.message
    move = number_before("further apart", finding.message)
    assert move == pytest.approx(rule(thickness) - air, abs=0.12)
    assert found(panel(hole(1, 60, 50, one), hole(2, x + move, 50, two), thickness=thickness)) == []


def test_shapes_that_are_not_round_are_judged_too() -> None:
    """A hole beside, over and inside a cutout: thin web, overlap, overlap; the later feature carries it."""
    big = cutout(1, 100, 50, 60, 40)
    assert codes(panel(hole(1, 64, 50, 10), big)) == [("warning", "thin-web", "cutout[1]")]
    assert codes(panel(hole(1, 66, 50, 10), big)) == [("error", "overlap", "cutout[1]")]
    assert codes(panel(hole(1, 100, 50, 10), big)) == [("error", "overlap", "cutout[1]")]
    (inside,) = found(panel(big, hole(1, 101, 50, 10)))
    move = number_before("further apart", inside.message)
    assert codes(panel(big, hole(1, 101 + move, 50, 10))) == []
    assert codes(panel(big, hole(1, 101 + move - 0.3, 50, 10))) == [("warning", "thin-web", "hole[1]")]


def test_many_alike_are_one_finding() -> None:
    """Holes of one ring that stand too near are one finding, which names the worst pair and counts the rest."""
    places = (30, 40, 50.2, 60, 70)
    ring = (replace(hole(n, x, 50, 9.5), feature="ring[1]") for n, x in enumerate(places, 1))
    (one,) = found(panel(*ring))
    assert one.code == "thin-web" and "(and 3 more like this)" in one.message
    assert "between A4 and ring[1] (A3)" in one.message


def test_the_web_is_that_of_the_finished_piece() -> None:
    """A pilot and a mark are judged by the opening that they stand for."""
    pilot = hole(1, 60, 50, 16, finish="pilot", cut=circle((60, 50), 3.2), cut_diameter=3.2)
    mark = hole(2, 77, 50, 16, finish="mark", cut=None, cut_diameter=None, marks=((77, 50),))
    assert codes(panel(pilot, mark)) == [("warning", "thin-web", "hole[2]")]


def test_a_pilot_thinner_than_the_web_of_its_drill() -> None:
    """A 3 mm pilot for a 19 mm drill (web about 3.4 mm) is found, with a drill of the table that would do."""
    pilot = hole(1, 60, 50, 19, finish="pilot", cut=circle((60, 50), 3), cut_diameter=3)
    (one,) = found(panel(pilot))
    assert (one.severity, one.code) == ("warning", "thin-drill-web")
    assert "3.42 mm" in one.message and "step drill" in one.message
    wanted = min((c for c in CUTTERS.values() if c.kind == "drill" and c.diameter >= 3.42), key=lambda c: c.diameter)
    assert f"set pilot_diameter to {wanted.trade_name}" in one.message


def test_a_pilot_wide_enough_says_nothing() -> None:
    """A 3.5 mm pilot for a 19 mm drill is wide enough."""
    assert found(panel(hole(1, 60, 50, 19, finish="pilot", cut=circle((60, 50), 3.5), cut_diameter=3.5))) == []


def test_a_clamp_over_an_opening() -> None:
    """A clamp that lies over a cut or a mark is an error, and moving it as told clears cut and collet nut."""
    over = Clamp(1, (20, 20, 50, 40), 20)
    (one,) = found(panel(hole(1, 52, 30, 10), clamps=(over,)))
    assert (one.severity, one.code, one.feature) == ("error", "under-clamp", "hole[1]")
    move = number_before("to the left", one.message)
    assert 50 - move <= 47 - MACHINE.nut_diameter / 2
    mark = hole(1, 45, 30, 10, finish="mark", cut=None, cut_diameter=None, marks=((45, 30),))
    assert codes(panel(mark, clamps=(over,))) == [("error", "under-clamp", "hole[1]")]
    assert codes(panel(replace(mark, marks=((55, 30),)), clamps=(over,))) == []


def test_a_clamp_beside_the_sheet() -> None:
    """A clamp that holds nothing is told how far to come onto the sheet."""
    (one,) = found(panel(clamps=(Clamp(2, (-30, 20, -10, 40), 20),)))
    assert (one.severity, one.code, one.feature) == ("warning", "clamp-off-stock", "clamp[2]")
    assert number_before("to the right", one.message) == 15
    assert found(panel(clamps=(Clamp(1, (-10, 20, 5, 40), 20),))) == []


def test_a_sheet_without_a_place_for_touching_off() -> None:
    """Where Z can be set nowhere, no program can be made: an error that says how much room is wanted."""
    (one,) = found(panel(touch_off=None))
    assert (one.severity, one.code) == ("error", "no-touch-off") and "10 mm" in one.message


def test_a_slug_that_nothing_holds() -> None:
    """A large opening without tabs is a warning; one that is cleared to chips, tabbed or only marked is none."""
    loose = cutout(1, 100, 50, 60, 40, tabs=None)
    assert codes(panel(loose)) == [("warning", "loose-slug", "cutout[1]")]
    assert found(panel(replace(loose, cleared=True))) == []
    assert found(panel(replace(loose, finish="mark", cut=None, marks=((75, 35),)))) == []


def test_an_inch_job_reads_inches_too() -> None:
    """In an inch job every number is also said in inches."""
    layout = Layout("job", "title", None, "in", (panel(hole(1, 3, 50, 10)),))
    (one,) = findings(layout, MACHINE, CUTTERS, MATERIALS)
    assert "0.079 in (2 mm) beyond the left edge" in one.message


def test_two_thousand_holes_take_under_a_second() -> None:
    """A perforated panel is checked while one waits."""
    holes = [hole(n + 1, 10 + n % 50 * 8, 10 + n // 50 * 8, 5) for n in range(2000)]
    made = panel(*holes, outline=rounded_rectangle((210, 170), 420, 340, 5), stock=(0, 0, 420, 340))
    started = time.process_time()
    assert found(made) == []
    assert time.process_time() - started < 1.0

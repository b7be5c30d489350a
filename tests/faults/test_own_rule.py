"""The tests' own rule is held against text typed by hand and against closed forms, so that it may be trusted."""

from __future__ import annotations

import math

import pytest

from tests.faults.height import Heights
from tests.faults.own_reading import Move, said
from toolpaths.tables.load import cutters

HEAD = "G20 G17 G90 G94 G40 G49 G80 G98 G54"
FLAT, DRILL = 116, 232
"""T116 is a 4 mm end mill, T232 a 3.2 mm drill."""


def texts(*lines: str) -> list[list[str]]:
    return [[HEAD, "T2 M6", "G43 H2", "G0 Z1", "S1000 M3", "G4 P4", *lines, "G0 Z1", "M5", "M2"]]


def test_a_pecking_cycle_in_inches_goes_down_in_steps_and_back_to_where_it_began() -> None:
    """G83 with Q under G98: cut, out to the start, down to just above the last bottom, cut; all in millimetres."""
    read = said(texts("G0 X1 Y2", "G83 X1 Y2 Z-0.3 R0.1 Q0.2 F10"), by_t=False, slots={2: DRILL})
    assert not read.refused
    way = [(move.g, round(move.end[2], 4)) for move in read.moves if move.end[0] == 25.4 and move.start[0] == 25.4]
    in_mm = [(g, round(z, 4)) for g, z in way]
    assert in_mm == [
        (0, 2.54), (1, -2.54), (0, 25.4), (0, pytest.approx(-2.54 + 0.254)), (1, -7.62), (0, 25.4),
    ]  # fmt: skip
    assert {move.cutter for move in read.moves[1:]} == {DRILL}
    assert max(move.feed for move in read.moves) == pytest.approx(254)


def test_under_g99_a_cycle_comes_up_to_r_only() -> None:
    """G81 under G99 ends at R; the next hole needs only its place."""
    read = said(texts("G99", "G81 X1 Y2 Z-0.3 R0.1 F10", "X2"), by_t=False, slots={})
    ends = [move.end for move in read.moves if move.g == 0 and move.start[2] < 0]
    assert [round(end[2], 4) for end in ends] == [2.54, 2.54]
    assert [round(end[0], 4) for end in ends] == [25.4, 50.8]


@pytest.mark.parametrize("line", ["G2 X1 Y1", "G1 X", "X1 X2", "G1 G0 X1", "(G0 X1", "G1 X1 )", "G55", "G83 X1 Z-1 R1"])
def test_what_a_controller_would_not_run_is_refused(line: str) -> None:
    """Words missing, given twice, of one group, comments open, another zero, a cycle without its words."""
    assert said(texts("G0 X0 Y0", "F10", line), by_t=False, slots={}).refused


def _move(g: int, start: tuple[float, float, float], end: tuple[float, float, float], **more: object) -> Move:
    centre = more.get("centre")
    return Move(0, 0, g, start, end, centre, 100, 1000, int(str(more.get("cutter", FLAT))), True)  # type: ignore[arg-type]


def test_the_height_below_a_ramp_is_the_lower_end_of_what_covers_the_point() -> None:
    """A 4 mm end mill ramps from Z0 to Z-2 over 20 mm: a point is covered while the middle is within 2 mm of it."""
    map_ = Heights([_move(1, (0, 0, 0), (20, 0, -2))], cutters())
    assert map_.at([(10, 0), (10, 1.999), (10, 2.001), (21.9, 0), (22.1, 0)]) == pytest.approx(
        [-1.2, -1.0, 0, -2, 0], abs=0.01
    )  # fmt: skip


def test_the_height_below_a_helix_is_that_of_its_last_turn() -> None:
    """Two turns about (0, 0) at radius 3, 1 mm down each: under the middle line, in the core and outside."""
    turns = [_move(3, (3, 0, z), (3, 0, z - 1), centre=(0, 0)) for z in (0, -1)]
    map_ = Heights(turns, cutters())
    half = 2 * math.asin(2 / 2 / 3) / (2 * math.pi)
    assert map_.at([(-3, 0), (0, 0.9), (0, 5.01)]) == pytest.approx([-1.5 - half, 0, 0], abs=1e-6)
    assert map_.at([(-3, 0)], before=1) == pytest.approx([-0.5 - half], abs=1e-6)


def test_a_drill_leaves_a_cone() -> None:
    """A drill of point angle p stands (distance / tan(p/2)) above its tip, up to its own radius."""
    drill = cutters()[DRILL]
    map_ = Heights([_move(1, (0, 0, 2), (0, 0, -3), cutter=DRILL)], cutters())
    rise = 1 / math.tan(drill.point_angle / 2)
    assert map_.at([(0, 0), (1, 0), (1.59, 0), (1.61, 0)]) == pytest.approx([-3, -3 + rise, -3 + 1.59 * rise, 0])

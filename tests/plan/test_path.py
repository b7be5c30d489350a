from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.motion import Arc, Line
from toolpaths.plan.path import Lift, follow, is_convex, levels, lifted, nearest_distance, run_motions
from toolpaths.plan.tab_places import places


@given(depth=st.floats(0.1, 40), stepdown=st.floats(0.05, 10))
def test_levels_reach_the_depth_in_equal_steps(depth: float, stepdown: float) -> None:
    """The last pass is at the depth and no pass takes more than the depth per pass."""
    found = [0.0, *levels(depth, stepdown)]
    assert found[-1] == pytest.approx(-depth)
    assert max(a - b for a, b in itertools.pairwise(found)) <= stepdown * (1 + 1e-6)


def test_feed_on_a_hollow_arc_is_that_of_the_edge() -> None:
    """On an inside arc F is times path radius over wall radius (plane geometry): path 2, cutter 1.5: 2/3.5."""
    (arc,) = follow(circle((0, 0), 4).segments, 0, 0, 350, 1.5, True)
    assert isinstance(arc, Arc)
    assert arc.feed == pytest.approx(350 * 2 / 3.5)


@given(width=st.floats(40, 90), height=st.floats(40, 90), begin=st.floats(0, 300), z=st.floats(-1.9, -0.2))
def test_a_pass_goes_once_round_and_never_below_a_tabs_top(width, height, begin, z) -> None:
    """A pass ends where its ramp ended, one perimeter on, and within a tab its depth is the tab's top."""
    path = rounded_rectangle((0, 0), width, height, 3)
    total = path.perimeter
    lifts = (Lift(20, 26, -1.0), Lift(total - 2, total + 4, -1.0))
    run = list(lifted(path, begin, 5.0, 0.0, z, lifts))
    assert sum(s.length for part, _, _ in run for s in part) == pytest.approx(total + 5.0)
    motions = run_motions(iter(run), 0.0, 100, 25, 80, 1.5, True)
    assert all(isinstance(motion, Line | Arc) for motion in motions)
    for part, za, zb in run:
        assert math.isfinite(za)
        middle = part[0].point_at(part[0].length / 2)
        s = nearest_distance(path, middle)
        in_tab = any(lift.start + 1e-6 < q < lift.end - 1e-6 for lift in lifts for q in (s, s + total))
        assert min(za, zb) >= (-1.0 if in_tab else z) - 1e-9


@given(width=st.floats(30, 200), height=st.floats(30, 200), count=st.integers(3, 6))
def test_tabs_lie_on_straight_runs_apart_and_not_all_on_one_side(width, height, count) -> None:
    """Every tab keeps off the corners, keeps its width from its neighbour, and not all lie on one side."""
    shape = rounded_rectangle((0, 0), width, height, 4)
    tab = 4.0
    found = places(shape, count, tab, 1.5)
    if found is None:
        assert min(width, height) < 60
        return
    points = [shape.point_at(s) for s in found]
    sides = set()
    for x, y in points:
        on_vertical = abs(abs(x) - width / 2) < 1e-6
        assert on_vertical or abs(abs(y) - height / 2) < 1e-6
        along = abs(y) if on_vertical else abs(x)
        assert along <= (height if on_vertical else width) / 2 - 4 - tab / 2 - 1 + 1e-6
        sides.add((on_vertical, x > 0 if on_vertical else y > 0))
    assert len(sides) >= 2
    gaps = [b - a for a, b in itertools.pairwise(found)] + [found[0] + shape.perimeter - found[-1]]
    assert min(gaps) >= 2 * tab - 1e-6


def test_convex_shapes_are_told_from_others() -> None:
    """A rounded rectangle bulges everywhere; the same turned inside out does not."""
    assert is_convex(rounded_rectangle((0, 0), 20, 10, 2))
    assert not is_convex(rounded_rectangle((0, 0), 20, 10, 2).reversed())


def test_a_tab_keeps_clear_of_a_sharp_corner_by_the_cutter() -> None:
    """Beside a sharp corner the tab ends a cutter's radius and a millimetre before it, or there is no room."""
    shape = rounded_rectangle((0, 0), 60, 30, 0)
    found = places(shape, 4, 12, 2.3)
    assert found is not None
    for x, y in (shape.point_at(s) for s in found):
        assert min(30 - abs(x), 15 - abs(y)) == pytest.approx(0, abs=1e-9)
        assert max(30 - abs(x), 15 - abs(y)) >= 6 + 1 + 2.3 - 1e-9
    assert places(shape, 4, 24, 2.3) is None

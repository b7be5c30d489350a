"""Positions of the sheet, lines through contours, and pins: each by itself."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.division.index import Candidate, Pair, best_pair
from toolpaths.division.lines import line_through
from toolpaths.division.windows import LEAST_SHARED, MOST_ALONG, SLACK, TooLong, Window, windows
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.tables.dowel_pins import dowel_pins
from toolpaths.tolerance import PARTS_MEET_WITHIN

SIX = next(pin for pin in dowel_pins() if pin.name == "6 mm")


@given(st.floats(-500, 500), st.floats(10, 2000), st.floats(80, 600))
def test_positions_reach_everything_and_share_enough(low: float, long: float, travel: float) -> None:
    """All from low to high is reached, neighbours share room for pins, each lies within the travel; or too many."""
    found = windows(low, low + long, travel, 1.0, low)
    if isinstance(found, TooLong):
        # the least travel that is told does
        assert not isinstance(windows(low, low + long, found.travel + 0.01, 1.0, low), TooLong)
        return
    assert len(found) <= MOST_ALONG
    assert found[0].low <= low + 1e-6 and found[-1].high >= low + long - 1e-6
    for one, other in pairwise(found):
        shared = one.shared(other)
        assert shared.high - shared.low >= LEAST_SHARED - 1 - 1e-6
        assert (other.low - one.low) == pytest.approx(round(other.low - one.low))
    assert all(one.high - one.low <= travel - 2 * SLACK + 1e-6 for one in found)


def test_a_line_stands_where_the_wall_runs_across() -> None:
    """Through the plain sides of a rectangle, in the middle of the room; never beside a corner, nor along a side."""
    shape = rounded_rectangle((0, 0), 200, 80, 5)
    assert line_through(shape, 0, Window(-40, 60)) == 10
    assert line_through(shape, 0, Window(80, 120)) is None
    assert line_through(shape, 1, Window(-30, 30)) == 0
    round_one = circle((0, 0), 200)
    place = line_through(round_one, 0, Window(20, 95))
    assert place is not None and place + PARTS_MEET_WITHIN <= 100 * math.sin(math.radians(45))


def candidate(x: float, y: float, clearance: float) -> Candidate:
    return Candidate((x, y), SIX, 6.0, clearance, "opening", f"A{x:g}")


def test_the_turn_is_clearance_over_distance() -> None:
    """The worked example of the requirement: 0.02 mm over 150 mm is 0.13 mrad, and 0.06 mm at 420 mm."""
    pair = Pair(candidate(0, 0, 0.02), candidate(150, 0, 0.02), far=420)
    assert round(1000 * pair.turn, 2) == 0.13
    assert round(pair.error, 2) == 0.06


def test_the_pair_that_carries_best_is_taken() -> None:
    """Of equal holes the two that lie farthest apart; a place already bored in the board is passed over."""
    places = [candidate(x, y, 0.02) for x, y in ((0, 0), (30, 0), (60, 5), (90, 80))]
    pair = best_pair(places, [(0, 0, 300, 100)], [])
    assert pair is not None and {pair.first.at, pair.second.at} == {(0, 0), (90, 80)}
    other = best_pair(places, [(0, 0, 300, 100)], [(90, 80)])
    assert other is not None and (90, 80) not in {other.first.at, other.second.at}


def test_every_pin_has_its_source() -> None:
    """Sizes are those of ISO 2338 and of inch rod, thinnest first; a pin is never thicker than its name."""
    pins = dowel_pins()
    assert [pin.diameter for pin in pins] == sorted(pin.diameter for pin in pins)
    assert all(0 < pin.under < 0.03 and pin.source for pin in pins)
    # ISO 286-2: h8 is 14 um up to 3 mm, 18 um up to 6 mm, 22 um up to 10 mm (from memory)
    assert {pin.name: pin.under for pin in pins if pin.is_metric} == {
        "3 mm": 0.014, "4 mm": 0.018, "5 mm": 0.018, "6 mm": 0.018, "8 mm": 0.022, "10 mm": 0.022,
    }  # fmt: skip

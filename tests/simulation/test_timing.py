"""Times of strokes against closed forms of mechanics, and what holds for every program."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest

from toolpaths.simulation.timing import CORNER, corner_speed, durations, timeline, top_speed
from toolpaths.stroke import Change, Dwell, Reading, SpindleOn, Stop, Stroke
from toolpaths.tables.load import machines

MACHINE = replace(
    machines()["small router"], rapid_xy=6000.0, rapid_z=1200.0, max_xy=3000.0, max_z=600.0, acceleration=100.0,
    change_seconds=50.0,
)
"""100 mm/s across and 20 mm/s up by rapid; 50 and 10 mm/s at most when cutting; 100 mm/s²."""


def cut(*points: tuple[float, float, float], feed: float = 600.0) -> list[Stroke]:
    return [
        Stroke(1, "cut", start, end, feed, 5000, 1, True) for start, end in itertools.pairwise(points)
    ]


def rapid(start: tuple[float, float, float], end: tuple[float, float, float]) -> Stroke:
    return Stroke(1, "rapid", start, end, 0.0, 5000, 1, True)


def total(*strokes: Stroke) -> float:
    return sum(durations(strokes, MACHINE))


CLOSED_FORMS = {
    # a trapezoid: s/v + v/a
    "a cut that reaches its feed": (cut((0, 0, 0), (50, 0, 0)), 50 / 10 + 10 / 100),
    # a triangle: 2 sqrt(s/a)
    "a cut too short for its feed": (cut((0, 0, 0), (0.36, 0, 0)), 2 * math.sqrt(0.36 / 100)),
    "just reaching it: s = v^2 / a": (cut((0, 0, 0), (1, 0, 0)), 2 * 10 / 100),
    "a rapid across": ([rapid((0, 0, 5), (300, 0, 5))], 300 / 100 + 100 / 100),
    "a rapid up": ([rapid((0, 0, 0), (0, 0, 40))], 40 / 20 + 20 / 100),
    # up 30 of a way of 50: the limit of Z is 20 / 0.6 along the way, that of X and Y 100 / 0.8
    "a slanted rapid": ([rapid((0, 0, 0), (40, 0, 30))], 50 / (20 / 0.6) + (20 / 0.6) / 100),
    "a feed beyond the axis": (cut((0, 0, 0), (500, 0, 0), feed=9000), 500 / 50 + 50 / 100),
    "a plunge beyond the axis": (cut((0, 0, 0), (0, 0, -5), feed=9000), 5 / 10 + 10 / 100),
    # there and back: the machine comes to rest between
    "there and back": (cut((0, 0, 0), (50, 0, 0), (0, 0, 0)), 2 * (50 / 10 + 10 / 100)),
    # the second is entered at the first's feed: ramps of 0.5 mm up to 10 mm/s, 1.5 mm on to 20 and 2 mm down again
    "a faster cut straight on": (
        [*cut((0, 0, 0), (50, 0, 0)), *cut((50, 0, 0), (100, 0, 0), feed=1200)],
        (50 - 0.5) / 10 + 0.1 + 0.1 + (50 - 1.5 - 2) / 20 + 0.2,
    ),
    # a circle of 4 mm radius at 600 mm/min: v^2 / r = 25 mm/s² is within the acceleration
    "a circle at its feed": (
        [Stroke(1, "cut", (4, 0, 0), (4, 0, 0), 600.0, 5000, 1, True, (0, 0))], 8 * math.pi / 10 + 10 / 100,
    ),
    # of 0.25 mm radius no faster than sqrt(a r) = 5 mm/s; 0.5 pi mm are enough to reach it
    "a circle too small for its feed": (
        [Stroke(1, "cut", (0.25, 0, 0), (0.25, 0, 0), 600.0, 5000, 1, True, (0, 0))], 0.5 * math.pi / 5 + 5 / 100,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CLOSED_FORMS)
def test_times_are_those_of_the_closed_form(case: str) -> None:
    """The formula stands beside each case: uniformly accelerated motion, motion on a circle (textbook mechanics)."""
    strokes, seconds = CLOSED_FORMS[case]
    assert total(*strokes) == pytest.approx(seconds, rel=1e-9)


def test_a_square_corner_is_taken_on_its_circle() -> None:
    """At 90 degrees the circle that leaves the corner by d has r = d cos(45) / (1 - cos(45)), and v^2 = a r."""
    half = math.cos(math.pi / 4)
    speed = math.sqrt(100 * CORNER * half / (1 - half))
    assert corner_speed((1, 0, 0), (0, 1, 0), 100) == pytest.approx(speed)
    # two legs of 50 mm at 10 mm/s, each with one ramp to or from rest and one to or from the corner's speed
    leg = (10 - 0) / 100 + (10 - speed) / 100 + (50 - 10**2 / 200 - (10**2 - speed**2) / 200) / 10
    assert total(*cut((0, 0, 0), (50, 0, 0), (50, 50, 0))) == pytest.approx(2 * leg)


def test_cutting_a_line_into_pieces_changes_nothing() -> None:
    """A straight way takes as long in one stroke as in any number of strokes, however short."""
    chance = random.Random(3)
    for _ in range(20):
        way = [chance.uniform(-1, 1) for _ in range(3)]
        parts = sorted(chance.uniform(0, 40) for _ in range(chance.randrange(60)))
        points = [tuple(part * one for one in way) for part in (0.0, *parts, 40.0)]
        whole = total(*cut(points[0], points[-1]))  # type: ignore[arg-type]
        assert total(*cut(*points)) == pytest.approx(whole, rel=1e-6)  # type: ignore[arg-type]


def test_no_stroke_is_faster_than_its_speed_and_acceleration_allow() -> None:
    """Over random ways every stroke takes at least its length at its top speed, and a slower machine takes longer."""
    chance = random.Random(4)
    for _ in range(50):
        points = [tuple(chance.uniform(-30, 30) for _ in range(3)) for _ in range(12)]
        strokes = cut(*points, feed=chance.uniform(50, 5000))  # type: ignore[arg-type]
        took = durations(strokes, MACHINE)
        assert all(
            seconds >= stroke.length / top_speed(stroke, MACHINE) - 1e-9
            for stroke, seconds in zip(strokes, took, strict=True)
        )
        slower = replace(MACHINE, acceleration=MACHINE.acceleration / 2)
        assert sum(durations(strokes, slower)) > sum(took)


def test_chords_take_about_as_long_as_their_arc() -> None:
    """A circle of 10 mm radius in 60 chords takes within 2 % of the time of the arc."""
    corners = [(10 * math.cos(t), 10 * math.sin(t), 0.0) for t in (2 * math.pi * k / 60 for k in range(61))]
    arc = Stroke(1, "cut", corners[0], corners[0], 600.0, 5000, 1, True, (0, 0))
    assert total(*cut(*corners)) == pytest.approx(total(arc), rel=0.02)


def test_halts_are_added_where_they_stand() -> None:
    """A change counts once, with the stop in which the cutter is fitted; a stop by itself and a dwell count too."""
    one, other = cut((0, 0, 0), (50, 0, 0)), cut((50, 0, 0), (0, 0, 0))
    events = (
        Change(1, 7), Stop(2), SpindleOn(3, 5000), Dwell(4, 4.0), *one, Stop(9), *other, Stop(10, optional=True),
    )  # fmt: skip
    found = timeline([Reading(events, "mm"), Reading((*one,), "mm")], MACHINE)
    assert found.ends == pytest.approx((50 + 4 + 5.1, 50 + 4 + 5.1 + 50 + 5.1, 50 + 4 + 5.1 + 50 + 5.1 + 5.1))
    assert [(halt.end, halt.seconds, halt.why) for halt in found.halts] == [
        (50, 50, "change to T7"), (54, 4, "the spindle runs up"), (pytest.approx(109.1), 50, "stop for the operator"),
    ]  # fmt: skip
    assert found.programs == pytest.approx((114.2, 119.3)) and found.seconds == pytest.approx(119.3)
    milliseconds = replace(MACHINE, program=replace(MACHINE.program, dwell="milliseconds"))
    assert timeline([Reading((Dwell(1, 4000.0),), "mm")], milliseconds).seconds == 4


def test_what_is_not_known_yet_takes_no_time() -> None:
    """The first rapid, from an unknown place, is not counted where its coordinates are unknown."""
    unknown = (math.nan, math.nan, math.nan)
    first = Stroke(1, "rapid", unknown, (math.nan, math.nan, 25.0), 0, 0, 1, True)
    second = Stroke(2, "rapid", (math.nan, math.nan, 25.0), (10.0, 20.0, 25.0), 0, 0, 1, True)
    assert durations([first, second], MACHINE) == [0.0, 0.0]

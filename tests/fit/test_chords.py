from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.fit.chords import chords, fitted
from toolpaths.fit.parts import parts
from toolpaths.motion import Arc, Drill, Line, Operation, Program, Rapid, Setup
from toolpaths.tables.rows import Dialect

TOLERANCE = 0.004


def program(*motions, cutters=(1,)) -> Program:
    operations = tuple(
        Operation("bore", cutter, f"hole[{n}]", ("A1",), 8000, 240, 80, 0.2, -1.5, (), motions)
        for n, cutter in enumerate(cutters, 1)
    )
    return Program("t", Setup("rear", 1, (0, 0), False, (5, 5), 25, 1.2, (0, 0, 200, 100), operations))


@settings(max_examples=200, deadline=None)
@given(
    st.floats(0.01, 400), st.floats(0, 6.28), st.floats(0.01, 6.28), st.booleans(), st.floats(-3, 0), st.booleans()
)
def test_chords_keep_to_their_arc(radius, begin, turn, ccw, fall, full) -> None:
    """Vertices lie on the arc, chords leave it by the tolerance at most, Z falls evenly, the end is exact.

    How far a chord leaves its arc is measured here from its middle to the centre: r - sqrt(r² - (c/2)²).
    """
    centre = (12.5, -40.25)
    angle = begin + (turn if ccw else -turn)
    start = (centre[0] + radius * math.cos(begin), centre[1] + radius * math.sin(begin), 0.5)
    end = start[:2] if full else (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
    swept = 2 * math.pi if full or math.dist(start[:2], end) < 1e-7 else turn
    lines = list(chords(start, Arc((*end, 0.5 + fall), centre, ccw, 240), TOLERANCE))
    assert lines[-1].to == (*end, 0.5 + fall)
    assert {line.feed for line in lines} == {240}
    here, turned = start, 0.0
    for number, line in enumerate(lines, 1):
        middle = ((here[0] + line.to[0]) / 2, (here[1] + line.to[1]) / 2)
        assert math.dist(line.to[:2], centre) == pytest.approx(radius, abs=1e-7)
        assert radius - math.dist(middle, centre) <= TOLERANCE + 1e-7
        assert line.to[2] == pytest.approx(0.5 + fall * number / len(lines))
        cross = (here[0] - centre[0]) * (line.to[1] - centre[1]) - (here[1] - centre[1]) * (line.to[0] - centre[0])
        dot = (here[0] - centre[0]) * (line.to[0] - centre[0]) + (here[1] - centre[1]) * (line.to[1] - centre[1])
        turned += math.atan2(cross, dot)
        here = line.to
    assert turned == pytest.approx(swept if ccw else -swept, abs=1e-5)
    fewest = swept / (2 * math.acos(max(1 - TOLERANCE / radius, 0)))
    assert len(lines) <= max(fewest + 1, 9)


def test_only_what_the_controller_lacks_is_taken_away() -> None:
    """Without helices level arcs stay and the falling turn goes; without arcs both go; with both nothing changes."""
    down, level = Arc((10, 0, -1), (5, 0), True, 200), Arc((10, 0, -1), (5, 0), True, 200)
    whole = program(Rapid((10, 0, 2)), Line((10, 0, 0), 80), down, level, Drill((30, 0), -2, 2, 90))
    assert fitted(whole, Dialect()) is whole
    (operation,) = fitted(whole, Dialect(helical_arcs=False)).setup.operations
    assert [motion for motion in operation.motions if isinstance(motion, Arc)] == [level]
    assert sum(isinstance(motion, Line) for motion in operation.motions) > 50
    (operation,) = fitted(whole, Dialect(arcs=False)).setup.operations
    assert not any(isinstance(motion, Arc) for motion in operation.motions)
    assert isinstance(operation.motions[-1], Drill)
    (coarse,) = fitted(whole, Dialect(arcs=False, chord_tolerance=0.006)).setup.operations
    assert len(coarse.motions) < len(operation.motions)


def test_each_cutter_has_its_program() -> None:
    """One program per cutter: in the order of work, each with its number; on other machines the program stays whole."""
    whole = program(Rapid((0, 0, 25)), cutters=(7, 7, 3, 5))
    assert parts(whole, Dialect()) == (whole,)
    made = parts(whole, Dialect(change="one program per cutter"))
    assert [[operation.cutter for operation in part.setup.operations] for part in made] == [[7, 7], [3], [5]]
    assert [(part.part, part.parts) for part in made] == [(1, 3), (2, 3), (3, 3)]
    again = tuple(operation for part in made for operation in part.setup.operations)
    assert replace(whole, setup=replace(whole.setup, operations=again)) == whole

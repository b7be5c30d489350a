"""Rows of components: centres worked out by hand, and what holds for every row."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import pairwise

import pytest

from toolpaths.finding import Finding
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job import Measured, Panel, Part, Row
from toolpaths.job.component import Room
from toolpaths.layout.components import placement_of, row_findings, standing_on
from toolpaths.layout.spacing import spaced
from toolpaths.layout.telling import Telling

NOWHERE = (0.0, 0.0)


def part(*rooms: Room, angle: float = 0.0) -> Part:
    return Part(
        number=1, at=NOWHERE, label="", finish="machine", tabs=None, name="part", angle=angle, clearance=0.0,
        features=(), rooms=rooms, traits=frozenset(), winding=None,
        fitted_from="outside", passes=False,
    )  # fmt: skip


def knob(diameter: float, angle: float = 0.0) -> Part:
    """A round knob outside; the spanner's room round it is wider."""
    spanner = Room("spanner", "outside", circle(NOWHERE, 60), 0, 40)
    return part(Room("knob", "outside", circle(NOWHERE, diameter), 2, 18), spanner, angle=angle)


def block(left: float, right: float, angle: float = 0.0) -> Part:
    """A body inside that reaches ``left`` and ``right`` of its centre, 8 mm high."""
    shape = rounded_rectangle(((right - left) / 2, 0), left + right, 8, 0)
    return part(Room("body", "inside", shape, 0, 20), angle=angle)


def row(*groups: tuple[Part, ...], start: tuple[float, float] = NOWHERE, **more: object) -> Row:
    base = Row(
        number=1, at=start, label="", finish="machine", tabs=None, to=(200.0, 0.0), groups=groups,
        spacing="equal pitch", step=None, group_space=0.0, align="centred",
    )  # fmt: skip
    return replace(base, **more)  # type: ignore[arg-type]


def along(found: Row) -> list[float]:
    return [x for x, _ in spaced(found).centres]


FIVE = (knob(20), knob(20), knob(30), knob(20), knob(20))

BY_HAND = {
    "equal pitch: 200 mm in four steps": (row(FIVE), [0, 50, 100, 150, 200]),
    # the space between groups first: 200 - 2 x 25 = 150 in four steps
    "equal pitch in groups": (row(FIVE[:2], FIVE[2:4], FIVE[4:], group_space=25.0), [0, 37.5, 100, 137.5, 200]),
    # between centres the rooms take 20 + 25 + 25 + 20 = 90; the air left is (200 - 90) / 4 = 27.5
    "equal gap": (row(FIVE, spacing="equal gap"), [0, 47.5, 100, 152.5, 200]),
    # (200 - 90 - 30) / 4 = 20
    "equal gap in groups": (row(FIVE[:3], FIVE[3:], spacing="equal gap", group_space=30.0), [0, 40, 85, 160, 200]),
    "a stated pitch is centred": (row(FIVE, step=40.0), [20, 60, 100, 140, 180]),
    "or begins at from": (row(FIVE, step=40.0, align="from"), [0, 40, 80, 120, 160]),
    "or ends at to": (row(FIVE, step=40.0, align="to"), [40, 80, 120, 160, 200]),
    # 20 + 10, 25 + 10, 25 + 10, 20 + 10: 130 in all, from 35
    "a stated gap": (row(FIVE, spacing="equal gap", step=10.0), [35, 65, 100, 135, 165]),
    # a body that stands off its centre: 30 to the right of one, 10 to the left of the next, so (200 - 30 - 10 - 20) / 2
    "off their centres": (
        row((block(10, 30), block(10, 10), block(10, 10)), spacing="equal gap", to=(200.0, 0.0)),
        [0, 30 + 70 + 10, 200],
    ),
    # turned half round it reaches 30 the other way: 10 + 10 + 20 = 40 of room, 80 of air each
    "turned": (
        row((block(10, 30, math.pi), block(10, 10), block(10, 10)), spacing="equal gap"),
        [0, 100, 200],
    ),
    "one alone stands in the middle": (row((knob(20),)), [100]),
}


@pytest.mark.parametrize("case", BY_HAND)
def test_centres_are_those_worked_out_by_hand(case: str) -> None:
    """The formula beside each case, worked out with pencil and paper."""
    found, expected = BY_HAND[case]
    assert along(found) == pytest.approx(expected, abs=1e-9)
    assert spaced(found).beyond == 0


def test_the_air_that_is_promised_is_the_air_between_the_bodies() -> None:
    """Rows of random parts at random slants: with equal gap the placed bodies of neighbours are equally far apart along
    the row, more by the group's space between groups, and the first and last centre are at its ends."""
    chance = random.Random(5)
    for _ in range(50):
        slant = chance.uniform(0, 2 * math.pi)
        parts = [block(chance.uniform(1, 12), chance.uniform(1, 12), chance.uniform(-3, 3)) for _ in range(6)]
        start = chance.uniform(-50, 50), chance.uniform(-50, 50)
        to = start[0] + 300 * math.cos(slant), start[1] + 300 * math.sin(slant)
        made = row(tuple(parts[:4]), tuple(parts[4:]), start=start, to=to, spacing="equal gap", group_space=17.0)
        panel = Panel(
            "face", "mild steel", 1.0, "", 900, 900, 0, "centre", False, False, (), Measured(900, 900, 1.0), (made,)
        )
        placed = [placement_of(one, 1.0) for one in standing_on(panel)]
        assert [one.feature for one in placed] == ["row[1]"] * 6
        assert placed[0].centre == pytest.approx(start) and placed[-1].centre == pytest.approx(to)
        spans = []
        for one in placed:
            corners = [segment.start for body in one.bodies for segment in body.footprint.segments]
            reaches = [
                (x - start[0]) * math.cos(slant) + (y - start[1]) * math.sin(slant) for x, y in corners
            ]
            spans.append((min(reaches), max(reaches)))
        air = [after[0] - before[1] for before, after in pairwise(spans)]
        assert air == pytest.approx([air[0]] * 3 + [air[0] + 17.0] + [air[0]], abs=1e-9)


def findings(made: Row) -> list[Finding]:
    panel = Panel("face", "mild steel", 1.0, "", 300, 90, 0, "centre", False, False, (), Measured(300, 90, 1), (made,))
    return list(row_findings(panel, Telling("mm")))


def test_a_row_without_room_is_an_error() -> None:
    """Parts that need 90 mm on a line of 89.9 find no room, on 90 they just do; the cure told cures."""
    assert not findings(row(FIVE, spacing="equal gap", to=(90.0, 0.0)))
    (crowded,) = findings(row(FIVE, spacing="equal gap", to=(89.9, 0.0)))
    assert (crowded.severity, crowded.code, crowded.feature) == ("error", "crowded-row", "row[1]")
    assert "make it 0.1 mm longer" in crowded.message
    assert not findings(row(FIVE, step=50.0)) and findings(row(FIVE, step=50.1))

"""The air between openings, of any number of them."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.layout.test_checks import cutout, hole
from toolpaths.geometry import judge
from toolpaths.geometry.judge import gap
from toolpaths.layout import webs
from toolpaths.layout.nesting import in_floor
from toolpaths.layout.panel import Opening
from toolpaths.layout.webs import MOST_DRAWN, SLACK, thin_webs

LEAST = 3.0


def heap(numbers: list[tuple[int, int, int, int, int]]) -> list[Opening]:
    """Openings on a coarse raster, round and square, in few features, of components and drawings, blind and through."""
    made: list[Opening] = []
    for number, (x, y, kind, feature, trait) in enumerate(numbers):
        one = hole(number, 2.0 * x, 2.0 * y, 1.0 + kind) if kind % 3 else cutout(number, 2.0 * x, 2.0 * y, 8, 9 + kind)
        changes: list[dict[str, object]] = [
            {}, {"component": 1}, {"drawn": f"layer 0 at {x}"}, {"depth": 1.0}, {"depth": 0.5},
        ]  # fmt: skip
        made.append(Opening(**{**fields(one), "feature": f"hole[{feature}]", **changes[trait]}))
    return made


def fields(opening: Opening) -> dict[str, object]:
    return {name: getattr(opening, name) for name in Opening.__dataclass_fields__}


def one_by_one(openings: list[Opening]) -> list[tuple[float, int]]:
    """The worst air and the count of what is told, found by looking at every pair in turn."""
    worst: dict[tuple[str, ...], tuple[float, int]] = {}
    for first, second in combinations(openings, 2):
        if first.diameter and second.diameter:
            air = math.dist(first.centre, second.centre) - (first.diameter + second.diameter) / 2
        else:
            air = gap(first.shape, second.shape)
        limit = SLACK if first.component is not None and first.component == second.component else LEAST - SLACK
        if air >= limit or in_floor(second, first) or in_floor(first, second):
            continue
        key: tuple[str, ...] = first.feature, second.feature
        if air <= SLACK and len(worst) < MOST_DRAWN:
            key = *key, first.drawn, second.drawn
        least, count = worst.get(key, (math.inf, 0))
        worst[key] = min(air, least), count + 1
    return list(worst.values())


raster, few = st.integers(0, 9), st.integers(0, 4)
heaps = st.lists(st.tuples(raster, raster, raster, few, few), max_size=40)


@pytest.mark.parametrize("held", [1, 100_000])
@given(numbers=heaps)
def test_every_thin_web_is_found(numbers: list[tuple[int, int, int, int, int]], held: int) -> None:
    """The worst air and the count for every two features are those of looking at all pairs, however many are held."""
    openings, before = heap(numbers), judge.MOST_PAIRS
    judge.MOST_PAIRS = held
    try:
        found = thin_webs(openings, LEAST)
    finally:
        judge.MOST_PAIRS = before
    told = [(web.air, web.count) for web in found.told]
    wanted = one_by_one(openings)
    assert [count for _, count in told] == [count for _, count in wanted]
    assert [air for air, _ in told] == pytest.approx([air for air, _ in wanted], abs=1e-6)
    assert not (found.more_overlap or found.more_thin or any(web.at_least for web in found.told))


def test_of_very_many_features_the_rest_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond a limit of pairs of features no overlap is forgotten: what is not told is counted."""
    monkeypatch.setattr(webs, "MOST_TOLD", 25)
    found = thin_webs([hole(number, 20.0, 20.0, 5.0) for number in range(60)], LEAST)
    assert len(found.told) == 25
    assert sum(web.count for web in found.told) + found.more_overlap == 60 * 59 / 2


def test_what_is_known_to_overlap_is_not_measured_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of many overlapping cutouts of one feature not all are measured, and that is told; other features' all are."""
    monkeypatch.setattr(webs, "MOST_MEASURED", 10)
    monkeypatch.setattr(judge, "MOST_PAIRS", 30)
    many = [cutout(1, 50.0, 50.0, 8, 9, tag=f"B{number}") for number in range(80)]
    found = thin_webs([*many, cutout(2, 60.0, 50.0, 8, 9), hole(3, 80.0, 50.0, 5.0), hole(4, 81.0, 50.0, 5.0)], LEAST)
    same, beside, holes = found.told
    assert same.at_least and 10 <= same.count < 80 * 79 / 2 and same.air == 0
    assert (beside.count, beside.air, beside.at_least) == (80, pytest.approx(2.0), False)
    assert (holes.count, holes.at_least) == (1, False) and holes.air == pytest.approx(-4.0)

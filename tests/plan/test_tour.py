from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from pathlib import Path

import fast_tsp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.geometry.segment import XY
from toolpaths.plan.near import Waiting, near_places
from toolpaths.plan.tour import (
    EXACT_UP_TO,
    Stop,
    Taken,
    Way,
    best_ways,
    nearest_first,
    round_trip,
    tour,
    travel,
)

PCB442 = Path(__file__).with_name("pcb442.txt")
OPTIMUM = 50778
"""Proven; of the closed tour, every leg rounded to a whole number (TSPLIB's EUC_2D)."""

coordinates = st.integers(0, 60).map(float)
spots = st.tuples(coordinates, coordinates)


def test_places_that_coincide_are_taken_one_by_one() -> None:
    """Many places at one point, among others, are found and taken away as any others are."""
    places = [(70.0, 30.0)] * 60 + [(20.0 + x, 20.0) for x in range(30)]
    assert sorted(stop for stop, _ in nearest_first([hole(place) for place in places], (0.0, 0.0))) == list(range(90))
    assert near_places(places, 2)[0] == [(1, 0.0), (2, 0.0)]
    assert near_places(places, 2)[75] == [(74, 1.0), (76, 1.0)]


def hole(place: XY) -> list[Way]:
    return [Way(place, place)]


def stroke(a: XY, b: XY) -> list[Way]:
    return [Way(a, b), Way(b, a)]


stops = st.one_of(
    spots.map(hole),
    st.tuples(spots, spots).map(lambda ends: stroke(*ends)),
    st.lists(spots, min_size=2, max_size=3).map(lambda places: [Way(place, place) for place in places]),
    st.lists(st.builds(Way, spots, spots, st.integers(0, 40).map(float)), min_size=1, max_size=3),
)


def scattered(count: int, seed: int) -> list[XY]:
    draw = random.Random(seed)
    return [(draw.uniform(0, 1000), draw.uniform(0, 1000)) for _ in range(count)]


def closed_length(places: Sequence[XY], order: Sequence[int]) -> float:
    return sum(math.dist(places[a], places[b]) for a, b in zip(order, [*order[1:], order[0]], strict=True))


def least(work: Sequence[Stop], start: XY, end: XY | None) -> float:
    """The shortest travel of all orders and all ways, each tried."""
    return min(
        travel(work, list(zip(order, ways, strict=True)), start, end)
        for order in itertools.permutations(range(len(work)))
        for ways in itertools.product(*(range(len(work[stop])) for stop in order))
    )


def complete(work: Sequence[Stop], taken: Sequence[Taken]) -> bool:
    return sorted(stop for stop, _ in taken) == list(range(len(work))) and all(way < len(work[k]) for k, way in taken)


@given(work=st.lists(stops, max_size=5), start=spots, end=st.none() | spots)
@settings(max_examples=150, deadline=None)
def test_few_stops_are_solved_exactly(work: list[Stop], start: XY, end: XY | None) -> None:
    """No order and no ways are shorter: holes, strokes, closed contours, ways that end where they do not begin."""
    taken = tour(work, start, end)
    assert complete(work, taken)
    if work:
        assert travel(work, taken, start, end) == pytest.approx(least(work, start, end), abs=1e-4)


@given(work=st.lists(stops, min_size=1, max_size=7), start=spots, end=st.none() | spots, data=st.data())
@settings(max_examples=60, deadline=None)
def test_the_best_ways_of_an_order_are_found(work: list[Stop], start: XY, end: XY | None, data: st.DataObject) -> None:
    """For stops in a fixed order no other choice of ways is shorter."""
    order = data.draw(st.permutations(range(len(work))))
    every = itertools.product(*(range(len(work[stop])) for stop in order))
    best = min(travel(work, list(zip(order, ways, strict=True)), start, end) for ways in every)
    found = best_ways(work, order, start, end)
    assert [stop for stop, _ in found] == list(order)
    assert travel(work, found, start, end) == pytest.approx(best, abs=1e-4)


@given(work=st.lists(stops, min_size=EXACT_UP_TO + 1, max_size=60), start=spots, end=st.none() | spots)
@settings(max_examples=60, deadline=None)
def test_a_searched_tour_is_never_longer_than_nearest_first(work: list[Stop], start: XY, end: XY | None) -> None:
    """Whatever the stops, coincident ones too: every stop once, no longer than always on to the nearest, every time
    the same."""
    taken = tour(work, start, end)
    assert complete(work, taken)
    assert travel(work, taken, start, end) <= travel(work, nearest_first(work, start), start, end) + 1e-6
    assert tour(work, start, end) == taken


@pytest.mark.parametrize("seed", range(4))
def test_the_search_finds_what_is_exact_where_both_can(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twelve holes and strokes: the search comes within 2 % of the exact tour."""
    draw = scattered(3 * EXACT_UP_TO, seed)
    work = [stroke(a, b) if k % 2 else hole(a) for k, (a, b) in enumerate(zip(draw[::3], draw[1::3], strict=True))]
    exact = travel(work, tour(work, (0.0, 0.0)), (0.0, 0.0))
    monkeypatch.setattr("toolpaths.plan.tour.EXACT_UP_TO", 0)
    assert travel(work, tour(work, (0.0, 0.0)), (0.0, 0.0)) <= 1.02 * exact


@given(places=st.lists(spots, min_size=1, max_size=80), here=spots)
@settings(max_examples=100, deadline=None)
def test_the_grid_finds_what_looking_at_all_finds(places: list[XY], here: XY) -> None:
    """Near neighbours, and the nearest that waits, are those of comparing with every place."""
    for index, around in enumerate(near_places(places, 5)):
        gaps = sorted(math.dist(places[index], other) for k, other in enumerate(places) if k != index)
        assert [gap for _, gap in around] == pytest.approx(gaps[:5])
    waiting, left = Waiting(places), set(range(len(places)))
    while left:
        index = waiting.nearest(here)
        assert index == min(left, key=lambda k: (round(math.dist(places[k], here), 6), k))
        waiting.remove(index)
        left.discard(index)


def test_pcb442_comes_within_one_percent_of_its_proven_optimum() -> None:
    """TSPLIB's drilling problem, as the closed tour that it asks for, measured as TSPLIB measures."""
    lines = PCB442.read_text(encoding="ascii").splitlines()
    places = [(float(x), float(y)) for x, y in (line.split() for line in lines if not line.startswith("#"))]
    order = round_trip(places)
    assert sorted(order) == list(range(442)) and order[0] == 0
    legs = zip(order, [*order[1:], order[0]], strict=True)
    length = sum(math.floor(math.dist(places[a], places[b]) + 0.5) for a, b in legs)
    assert OPTIMUM <= length <= 1.01 * OPTIMUM


@pytest.mark.parametrize("count", [200, 1000])
def test_scattered_places_come_within_two_percent_of_another_solver(count: int) -> None:
    """Random places: the closed tour is at most 2 % longer than what fast-tsp finds in four seconds."""
    places = scattered(count, count)
    spots = np.array(places)
    gaps = spots[:, None, :] - spots[None, :, :]
    whole = np.rint(40 * np.hypot(gaps[..., 0], gaps[..., 1])).astype(np.uint16)  # it takes whole numbers to 65535
    other = fast_tsp.find_tour(whole, duration_seconds=4)
    assert closed_length(places, round_trip(places)) <= 1.02 * closed_length(places, other)

from __future__ import annotations

import math
from collections.abc import Sequence

from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.geometry.segment import XY
from toolpaths.plan.shorten import ALONE, shortened

spots = st.tuples(st.integers(0, 80).map(float), st.integers(0, 80).map(float))


def length(places: Sequence[XY], order: Sequence[int], nowhere: int | None) -> float:
    legs = zip(order, [*order[1:], order[0]], strict=True)
    return sum(math.dist(places[a], places[b]) for a, b in legs if nowhere not in (a, b))


@given(
    places=st.lists(spots, min_size=2, max_size=70),
    pairs=st.integers(0, 35),
    free=st.booleans(),
    moves=st.sampled_from([0, 50, 2000]),
)
@settings(max_examples=150, deadline=None)
def test_a_round_trip_only_gets_shorter_and_partners_stay_together(
    places: list[XY], pairs: int, free: bool, moves: int
) -> None:
    """Of any places, coincident ones too, with any of them in pairs and with an end that is free."""
    count = len(places)
    partner = [ALONE] * count
    for first in range(0, 2 * min(pairs, count // 2), 2):
        partner[first], partner[first + 1] = first + 1, first
    nowhere = 0 if free else None
    found = shortened(places, range(count), partner, moves, nowhere)
    assert sorted(found) == list(range(count))
    assert length(places, found, nowhere) <= length(places, range(count), nowhere) + 1e-6 * (moves + 1)
    at = {place: position for position, place in enumerate(found)}
    for place, other in enumerate(partner):
        if other != ALONE:
            assert (at[place] - at[other]) % count in (1, count - 1)
    assert shortened(places, range(count), partner, moves, nowhere) == found

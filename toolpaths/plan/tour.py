"""A short way through all stops, each made in one of a few ways; exact for few of them, searched for many.

It begins at a fixed place and ends at one, or anywhere. A hole is entered and left at one place; a closed contour may
be entered at several; a pen stroke is drawn from either end. The same input gives the same tour: the search counts its
moves and never looks at the clock.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from toolpaths.geometry.judge import gaps_to_nearest
from toolpaths.geometry.segment import XY
from toolpaths.plan.near import Waiting
from toolpaths.plan.shorten import ALONE, GAIN, shortened

EXACT_UP_TO = 12
"""So many stops are solved exactly, in some milliseconds; each stop more takes twice the time."""

MOVES_EACH = 150
MOST_MOVES = 120_000
"""Moves that the search tries for each stop, and at most: some ten microseconds of one core each."""

ROUNDS = 2
"""Order and ways are looked for in turn so often; the second time shortens the drawings of the samples by 0.5 %."""


IN_A_ROW = 4
"""Rows are worth a look where they hold so many places on average: a vent panel's do, scattered holes' do not."""

SHORT_ENOUGH = 1.005
"""A tour that is longer than the least possible by no more than this is not searched further."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make a stop: where the tool begins and where it ends; ``within`` is what it travels between, mm."""

    entry: XY
    exit: XY
    within: float = 0.0


Stop = Sequence[Way]
Taken = tuple[int, int]
"""A stop and the way in which it is made, by their numbers."""


def tour(stops: Sequence[Stop], start: XY, end: XY | None = None, moves: int | None = None) -> list[Taken]:
    """Every stop once, in an order and in ways that make the travel from ``start`` (to ``end``) short.

    ``moves`` is how many the search tries beyond ``EXACT_UP_TO`` stops when all that plainly save are made; by default
    what suits their number. It is never longer than always on to the nearest (``nearest_first``).

    >>> stops = [[Way((9, 0), (9, 0))], [Way((1, 0), (5, 0)), Way((5, 0), (1, 0))]]
    >>> tour(stops, (0, 0)), tour(stops, (0, 0), end=(0, 0))
    ([(1, 0), (0, 0)], [(1, 0), (0, 0)])
    """
    if not stops:
        return []
    if len(stops) <= EXACT_UP_TO:
        return _exact(stops, start, end)
    return _searched(stops, start, end, _moves(len(stops)) if moves is None else moves)


def travel(stops: Sequence[Stop], taken: Sequence[Taken], start: XY, end: XY | None = None) -> float:
    """The way between the stops and within them, from ``start`` (and to ``end``), mm."""
    total, place = 0.0, start
    for stop, way in taken:
        made = stops[stop][way]
        total += math.dist(place, made.entry) + made.within
        place = made.exit
    return total if end is None else total + math.dist(place, end)


def round_trip(places: Sequence[XY], moves: int | None = None) -> list[int]:
    """All places in the order of a short closed tour that begins with the first."""
    if len(places) < 4:
        return list(range(len(places)))
    stops = [(Way(place, place),) for place in places]
    first = [stop for stop, _ in nearest_first(stops, places[0])]
    found = shortened(places, first, [ALONE] * len(places), _moves(len(places)) if moves is None else moves)
    begin = found.index(0)
    return [*found[begin:], *found[:begin]]


def nearest_first(stops: Sequence[Stop], start: XY) -> list[Taken]:
    """Always on to the nearest entry of the stops that are left."""
    ways = _flat(stops)
    first = [0, *accumulate(len(stop) for stop in stops)]
    waiting = Waiting([stops[stop][way].entry for stop, way in ways])
    taken: list[Taken] = []
    place = start
    for _ in stops:
        stop, way = ways[waiting.nearest(place)]
        for index in range(first[stop], first[stop + 1]):
            waiting.remove(index)
        taken.append((stop, way))
        place = stops[stop][way].exit
    return taken


def best_ways(stops: Sequence[Stop], order: Sequence[int], start: XY, end: XY | None = None) -> list[Taken]:
    """The best ways for stops in a fixed order: for each way the shortest travel that ends with it, stop by stop."""
    if all(len(stop) == 1 for stop in stops):
        return [(stop, 0) for stop in order]
    exits: list[tuple[float, XY]] = [(0.0, start)]
    came: list[list[int]] = []
    for stop in order:
        steps = [_cheapest(exits, way) for way in stops[stop]]
        came.append([before for _, before in steps])
        exits = [(cost, way.exit) for (cost, _), way in zip(steps, stops[stop], strict=True)]
    last = [cost if end is None else cost + math.dist(out, end) for cost, out in exits]
    way = min(range(len(last)), key=lambda k: (_rounded(last[k]), k))
    taken: list[Taken] = []
    for stop, previous in zip(reversed(order), reversed(came), strict=True):
        taken.append((stop, way))
        way = previous[way]
    return taken[::-1]


def _cheapest(exits: Sequence[tuple[float, XY]], way: Way) -> tuple[float, int]:
    """The least travel that ends with ``way``, and behind which of the ways before it: of equal ones the first."""
    entry, within = way.entry, way.within
    costs = [cost + math.dist(out, entry) + within for cost, out in exits]
    least = round(min(costs), 6)
    return least, next(k for k, cost in enumerate(costs) if round(cost, 6) == least)


def _rounded(length: float) -> float:
    return round(length, 6)


def _flat(stops: Sequence[Stop]) -> list[Taken]:
    return [(stop, way) for stop, ways in enumerate(stops) for way in range(len(ways))]


def _moves(count: int) -> int:
    return min(MOVES_EACH * count, MOST_MOVES)


# few stops -----------------------------------------------------------------------------------------------------------


def _exact(stops: Sequence[Stop], start: XY, end: XY | None) -> list[Taken]:
    """The shortest of all, by dynamic programming over the sets of stops that are done (Held and Karp 1962).

    ``cost[done, way]`` is the least travel through the stops of the bit set ``done`` that ends with ``way``. Lengths
    are whole numbers of ``GAIN``, so that equal ones are equal on every computer.
    """
    ways = _flat(stops)
    entries = np.array([stops[stop][way].entry for stop, way in ways], dtype=float)
    exits = np.array([stops[stop][way].exit for stop, way in ways], dtype=float)
    within = np.rint(np.array([stops[stop][way].within for stop, way in ways]) / GAIN)
    legs = _lengths(exits[:, None, :] - entries[None, :, :]) + within
    cost = np.full((1 << len(stops), len(ways)), np.inf)
    came = np.zeros(cost.shape, dtype=np.intp)
    for index, (stop, _) in enumerate(ways):
        cost[1 << stop, index] = _lengths(entries[index] - np.array(start, dtype=float)) + within[index]
    sets = np.arange(1 << len(stops))
    sizes = np.array([int(done).bit_count() for done in sets])
    for size in range(1, len(stops)):
        layer = sets[sizes == size]
        for index, (stop, _) in enumerate(ways):
            before = layer[layer >> stop & 1 == 0]
            through = cost[before] + legs[:, index]
            came[before | 1 << stop, index] = best = through.argmin(axis=1)
            cost[before | 1 << stop, index] = through[np.arange(len(before)), best]
    last = cost[-1] if end is None else cost[-1] + _lengths(exits - np.array(end, dtype=float))
    return _traced(ways, came, int(last.argmin()))


def _lengths(gaps: NDArray[np.float64]) -> NDArray[np.float64]:
    lengths: NDArray[np.float64] = np.rint(np.sqrt((gaps * gaps).sum(axis=-1)) / GAIN)
    return lengths


def _traced(ways: Sequence[Taken], came: NDArray[np.intp], index: int) -> list[Taken]:
    """From the last way back to the first."""
    done = len(came) - 1
    taken: list[Taken] = []
    while done:
        taken.append(ways[index])
        before = done & ~(1 << ways[index][0])
        index, done = int(came[done, index]), before
    return taken[::-1]


# many stops ----------------------------------------------------------------------------------------------------------


def _searched(stops: Sequence[Stop], start: XY, end: XY | None, moves: int) -> list[Taken]:
    """Nearest first or row by row, then the order made shorter for the ways taken, then the best ways for the order,
    and again.

    The search moves places; what that is worth is asked of the ways themselves, and a longer tour is not taken. Where
    no tour can be much shorter, as row by row over a vent panel, there is no search.
    """
    least = _least(stops, start, end)
    rows = [best_ways(stops, order, start, end) for order in _row_by_row(stops)]
    best = min(rows, key=lambda taken: _rounded(travel(stops, taken, start, end)), default=None)
    if best is None or not _is_shortest(stops, best, start, end, least):
        firsts = [nearest_first(stops, start), *([best] if best else [])]
        best = min(firsts, key=lambda taken: _rounded(travel(stops, taken, start, end)))
    if _in_the_middle(stops, best, start, end) <= SHORT_ENOUGH * least:
        return best
    length = travel(stops, best, start, end)
    rounds = ROUNDS if moves and any(len(stop) > 1 for stop in stops) else 1
    for _ in range(rounds):
        taken = best_ways(stops, _shorter_order(stops, best, start, end, moves), start, end)
        now = travel(stops, taken, start, end)
        if now >= length - GAIN:
            break
        best, length = taken, now
    return best


def _shorter_order(stops: Sequence[Stop], taken: Sequence[Taken], start: XY, end: XY | None, moves: int) -> list[int]:
    """The stops in the order of a shorter tour, each made as it is now or, where that may be, the other way round.

    A stroke that may be drawn from either end is two places that stay together. A way that may not be turned round
    counts as the place in the middle of its ends.
    """
    # A round trip whose end and start are partners; nothing else makes it a way from one to the other.
    places: list[XY] = [start if end is None else end, start]
    partner = [1, 0]
    owner = [ALONE, ALONE]
    for stop, way in taken:
        ends = _ends(stops[stop], stops[stop][way])
        if len(ends) == 2:
            partner += [len(places) + 1, len(places)]
        else:
            partner.append(ALONE)
        places += ends
        owner += [stop] * len(ends)
    found = shortened(places, range(len(places)), partner, moves, nowhere=0 if end is None else None)
    begin = found.index(1)
    found = [*found[begin:], *found[:begin]]
    if found[1] == 0:
        found = found[:1] + found[:0:-1]
    return list(dict.fromkeys(owner[place] for place in found if owner[place] != ALONE))


def _row_by_row(stops: Sequence[Stop]) -> Iterator[list[int]]:
    """The stops in rows, to and fro, along X and along Y, from every corner; nothing where they stand in no rows."""
    places = [stop[0].entry for stop in stops]
    for along, across in ((0, 1), (1, 0)):
        rows: dict[float, list[int]] = {}
        for index in sorted(range(len(places)), key=lambda k: (places[k][along], k)):
            rows.setdefault(_rounded(places[index][across]), []).append(index)
        if len(places) < IN_A_ROW * len(rows):
            continue
        upward = [rows[key] for key in sorted(rows)]
        for in_turn in (upward, upward[::-1]):
            for first in (1, -1):
                yield [stop for k, row in enumerate(in_turn) for stop in row[:: first if k % 2 == 0 else -first]]


def _is_shortest(stops: Sequence[Stop], taken: Sequence[Taken], start: XY, end: XY | None, least: float) -> bool:
    """Whether a tour is as short as any can be; not known where a stop is left elsewhere than it is entered."""
    at_points = all(way.entry == way.exit for stop in stops for way in stop)
    return at_points and _in_the_middle(stops, taken, start, end) <= least + GAIN


def _least(stops: Sequence[Stop], start: XY, end: XY | None) -> float:
    """What no tour is shorter than, as the search sees it; 0 where a stop may be made in several ways."""
    if any(len(stop) != 1 for stop in stops):
        return 0.0
    return least_travel([_ends(stop, stop[0])[0] for stop in stops], start, end)


def _in_the_middle(stops: Sequence[Stop], taken: Sequence[Taken], start: XY, end: XY | None) -> float:
    """How long a tour is as the search sees it: by the places in the middle of ways that may not be turned round."""
    places = [_ends(stops[stop], stops[stop][way])[0] for stop, way in taken]
    order = [start, *places, *([] if end is None else [end])]
    return math.fsum(map(math.dist, order, order[1:]))


def least_travel(places: Sequence[XY], start: XY, end: XY | None = None) -> float:
    """What no tour through the places is shorter than, mm: into each from the nearest other, and on to ``end``.

    >>> least_travel([(2.0, 0.0), (1.0, 0.0), (3.0, 0.0)], (0.0, 0.0))
    3.0
    """
    near = sorted(gaps_to_nearest(places))
    # The first is come to from the start; its own leg from a neighbour may be any, so the longest is left out.
    least = min(math.dist(start, place) for place in places) + math.fsum(near[:-1])
    return least if end is None else least + min(math.dist(place, end) for place in places)


def _ends(stop: Stop, way: Way) -> list[XY]:
    if math.dist(way.entry, way.exit) < GAIN:
        return [way.entry]
    if any(other.entry == way.exit and other.exit == way.entry for other in stop):
        return [way.entry, way.exit]
    return [((way.entry[0] + way.exit[0]) / 2, (way.entry[1] + way.exit[1]) / 2)]

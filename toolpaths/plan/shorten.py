"""A round trip made shorter: 2-opt and Or-opt over near neighbours, then kicks that stay only where they help.

2-opt takes two legs away and joins the ends the other way (Croes 1958); Or-opt moves up to three places that follow
each other, either way round (Or 1976). A kick exchanges two stretches that follow each other (the double bridge of
Martin, Otto and Felten 1991, kept local), and what the moves make of it is taken back unless it is as short. Sources:
from memory.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

from toolpaths.geometry.segment import XY
from toolpaths.plan.near import near_places

NEIGHBOURS = 7
"""So many near places are looked at for each place; more find little and cost time."""

LONGEST = 3
"""Or-opt moves so many places together at most."""

STRETCH = 30
"""A kick exchanges stretches of so many places at most: what it disturbs is mended nearby."""

GAIN = 1e-6
"""mm; what a move must save. Far above rounding, so that the same tour comes out on every computer."""

ALONE = -1
"""The partner of a place that has none."""

SEED = 442
"""Of the kicks: the same input gives the same tour."""


def shortened(
    places: Sequence[XY], order: Sequence[int], partner: Sequence[int], moves: int, nowhere: int | None = None
) -> list[int]:
    """``order``, a round trip through all ``places``, made shorter; kicked until so many ``moves`` were tried.

    Places that are each other's ``partner`` stay next to each other: the ends of a stroke, or the two ends of a way
    that is no round trip. ``nowhere`` is a place at no distance from any other: a free end.
    """
    trip = _Trip(places, order, partner, nowhere)
    trip.settle(range(len(order)))
    trip.kick(moves)
    return trip.order


class _Trip:
    """The round trip as an array, with the position of every place, and a journal of what was turned round."""

    def __init__(
        self, places: Sequence[XY], order: Sequence[int], partner: Sequence[int], nowhere: int | None
    ) -> None:
        self.order = list(order)
        self.at = [0] * len(self.order)
        for position, place in enumerate(self.order):
            self.at[place] = position
        self.partner = list(partner)
        self.spots = _spots(places, nowhere)
        self.near = _neighbours(places, nowhere)
        self.journal: list[tuple[int, int]] = []
        self.moves = 0

    def kick(self, moves: int) -> None:
        """Kicks, each mended, and taken back where the trip is longer for it, until ``moves`` were tried."""
        count = len(self.order)
        stretch = min(STRETCH, count // 4)  # two of them are the shorter part of the round trip: see ``_turn``
        if stretch < 1:
            return
        draw = random.Random(SEED).random
        last = self.moves + moves
        while self.moves < last:
            first, second = 1 + int(draw() * stretch), 1 + int(draw() * stretch)
            start = int(draw() * (count - first - second))
            self.journal.clear()
            self.moves += 1
            cost, ends = self._exchange(start, first, second)
            if ends and cost - self.settle(ends) > GAIN:
                for i, j in self.journal[::-1]:
                    self._turn(i, j)

    def _exchange(self, start: int, first: int, second: int) -> tuple[float, list[int]]:
        """Two neighbouring stretches of so many places after position ``start`` exchanged: the cost, and the ends.

        They begin and end a place later where partners would be parted; nothing is done where that leaves too little.
        """
        order, spots = self.order, self.spots
        p, q, r = (self._cut(k) for k in (start, start + first, start + first + second))
        if not p < q < r < len(order) or 2 * (r - p) > len(order):
            return 0.0, []
        a, b, c, d, e, f = order[p], order[p + 1], order[q], order[q + 1], order[r], order[(r + 1) % len(order)]
        self._turn(p + 1, r)
        self._turn(p + 1, p + r - q)
        self._turn(p + r - q + 1, r)
        new = abs(spots[a] - spots[d]) + abs(spots[e] - spots[b]) + abs(spots[c] - spots[f])
        old = abs(spots[a] - spots[b]) + abs(spots[c] - spots[d]) + abs(spots[e] - spots[f])
        return new - old, [a, b, c, d, e, f]

    def _cut(self, position: int) -> int:
        """The position after which the round trip may be cut: this, or the next one within a pair of partners."""
        following = self.order[(position + 1) % len(self.order)]
        return position + 1 if self.partner[self.order[position]] == following else position

    def settle(self, places: Sequence[int]) -> float:
        """Moves that save, begun at ``places``, until there is none left; what they save in all."""
        waiting = list(places)[::-1]
        queued = set(waiting)
        saved = 0.0
        while waiting:
            place = waiting.pop()
            queued.discard(place)
            while True:
                self.moves += 1
                gain, touched = self._improve(place)
                if not touched:
                    break
                saved += gain
                for other in touched:
                    if other not in queued:
                        queued.add(other)
                        waiting.append(other)
        return saved

    def _improve(self, a: int) -> tuple[float, tuple[int, ...]]:
        """The first move found that replaces a leg at ``a`` by a shorter one and saves."""
        order, at, partner, spots = self.order, self.at, self.partner, self.spots
        count = len(order)
        for step, ahead in ((1, 1 - count), (-1, -1)):
            b = order[at[a] + ahead]
            if partner[a] == b:
                continue
            leg = abs(spots[a] - spots[b])
            for c, new in self.near[a]:
                room = leg - new
                if room <= GAIN:
                    break
                d = order[at[c] + ahead]
                if partner[c] != d:
                    gain = room + abs(spots[c] - spots[d]) - abs(spots[b] - spots[d])
                    if gain > GAIN:
                        self._rejoin(a, b, c, d)
                        return gain, (a, b, c, d)
                if c != b:
                    move = self._bring(a, b, c, step, room) or self._carry(a, b, c, step, room)
                    if move is not None:
                        return move
        return 0.0, ()

    def _bring(self, a: int, b: int, c: int, step: int, room: float) -> tuple[float, tuple[int, ...]] | None:
        """A stretch that ends with ``c`` brought between ``a`` and ``b``, with ``c`` next to ``a``."""
        order, partner, spots = self.order, self.partner, self.spots
        count, here = len(order), self.at[c]
        for way in (1, -1):
            f = order[(here - way) % count]
            if partner[f] == c:
                continue
            base = room + abs(spots[f] - spots[c])
            e = c
            for k in range(1, LONGEST + 1):
                if e in (a, b):
                    break
                g = order[(here + k * way) % count]
                if partner[e] != g and f != g:
                    gain = base + abs(spots[e] - spots[g]) - abs(spots[e] - spots[b]) - abs(spots[f] - spots[g])
                    if gain > GAIN and not (f == a and g == b) and not (f == b and g == a):
                        self._insert(f, c, e, g, a, b, way == step)
                        return gain, (a, b, c, e, f, g)
                e = g
        return None

    def _carry(self, a: int, b: int, c: int, step: int, room: float) -> tuple[float, tuple[int, ...]] | None:
        """A stretch that begins with ``a``, away from ``b``, brought next to ``c``, with ``a`` beside ``c``."""
        order, partner, spots = self.order, self.partner, self.spots
        count, here = len(order), self.at[a]
        e, there = a, self.at[c]
        for k in range(1, LONGEST + 1):
            if e == c:
                break
            g = order[(here - k * step) % count]
            if partner[e] != g and g != b:
                base = room + abs(spots[e] - spots[g]) - abs(spots[b] - spots[g])
                for way in (1, -1):
                    d = order[(there + way) % count]
                    if partner[c] == d or d == e or (c == b and d == a) or (c == g and d == e):
                        continue
                    gain = base + abs(spots[c] - spots[d]) - abs(spots[e] - spots[d])
                    if gain > GAIN:
                        self._insert(b, a, e, g, c, d, way == -step)
                        return gain, (a, b, c, d, e, g)
            e = g
        return None

    def _insert(self, f: int, c: int, e: int, g: int, a: int, b: int, along: bool) -> None:
        """The stretch c..e out from between f and g, in between a and b with c next to a.

        ``along``: a comes before b, seen along f, c..e, g.
        """
        if along:
            self._rejoin(f, c, a, b)
            self._rejoin(f, a, g, e)
            self._rejoin(a, e, c, b)
        else:
            self._rejoin(f, c, b, a)
            self._rejoin(f, b, g, e)

    def _rejoin(self, a: int, b: int, c: int, d: int) -> None:
        """Legs a-b and c-d replaced by a-c and b-d; b follows a as d follows c, or both the other way."""
        at = self.at
        if self.order[at[a] + 1 - len(self.order)] == b:
            self._turn(at[b], at[c])
        else:
            self._turn(at[a], at[d])

    def _turn(self, i: int, j: int) -> None:
        """Turns round what lies from position i to j, or all the rest of the round trip, whichever is shorter."""
        order, at = self.order, self.at
        count = len(order)
        self.journal.append((i, j))
        inside = (j - i) % count + 1
        if 2 * inside > count:
            i, j, inside = (j + 1) % count, (i - 1) % count, count - inside
        if i <= j:
            stretch = order[i : j + 1]
            stretch.reverse()
            order[i : j + 1] = stretch
            for position, place in enumerate(stretch, i):
                at[place] = position
            return
        for _ in range(inside // 2):
            order[i], order[j] = order[j], order[i]
            at[order[i]], at[order[j]] = i, j
            i, j = (i + 1) % count, (j - 1) % count


def _spots(places: Sequence[XY], nowhere: int | None) -> list[Any]:
    return [_Nowhere() if index == nowhere else complex(*place) for index, place in enumerate(places)]


class _Nowhere:
    """A place that is at no distance from any other."""

    def __sub__(self, other: object) -> float:
        return 0.0

    __rsub__ = __sub__


def _neighbours(places: Sequence[XY], nowhere: int | None) -> list[list[tuple[int, float]]]:
    """Near places of each; none is near to ``nowhere``, which is as near to all."""
    if nowhere is None:
        return near_places(places, NEIGHBOURS)
    rest = [index for index in range(len(places)) if index != nowhere]
    found = near_places([places[index] for index in rest], NEIGHBOURS)
    near: list[list[tuple[int, float]]] = [[] for _ in places]
    for index, around in zip(rest, found, strict=True):
        near[index] = [(rest[other], gap) for other, gap in around]
    return near

"""The air between openings: of the pairs of two features the worst, and how many there are.

Tens of thousands of openings in one heap make a hundred million pairs, so pairs are columns of numbers here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from toolpaths.geometry.judge import Facets, boxes_near
from toolpaths.layout.nesting import SAME_SHAPE, in_floor, mouth, mouth_width
from toolpaths.layout.panel import Opening
from toolpaths.tolerance import FACET_SAGITTA, SAME_POINT

SLACK: Final = 4 * FACET_SAGITTA
"""Faceted shapes stand apart by at most this more or less than the exact ones: not worth a finding."""

MOST_DRAWN: Final = 20
"""So many openings of drawings are told one by one where they lie beyond the edge or overlap."""

MOST_TOLD: Final = 1000
"""So many pairs of features are told one by one; of the rest it is told how many pairs of openings they are."""

MOST_MEASURED: Final = 100_000
"""So many pairs that are not of two round holes are all measured; then none of features that are known to overlap."""


@dataclass(slots=True)
class Web:
    """The worst of the pairs of two features that are too near: ``air`` mm between ``first`` and ``second`` (to within
    SLACK; 0 or less where they overlap), and the ``count`` of such pairs: ``at_least`` so many, where not all were
    measured."""

    first: Opening
    second: Opening
    air: float
    count: int
    at_least: bool = False


@dataclass(slots=True)
class Webs:
    """What is told one by one, in the order of the first pair of openings; and how many pairs of openings overlap, or
    are too near, beyond those."""

    told: list[Web]
    more_overlap: int
    more_thin: int


def thin_webs(openings: Sequence[Opening], least: float) -> Webs:
    """Every pair of openings that overlaps, or leaves less than ``least`` mm, gathered for each pair of features.

    What lies in the floor of a rebate is meant to overlap it, and a thin web within one component is its maker's. Of
    pairs that are equally bad the first is named. Overlaps of what a drawing brings are at first told for each place.
    """
    search = _Search(openings, least)
    for one, two in boxes_near([mouth(opening).bounds for opening in openings], least):
        search.look(_Pairs(one, two))
    for (features, _), web in search.told.items():
        web.at_least = features in search.unmeasured and web.air <= SLACK
    return Webs(list(search.told.values()), search.more_overlap, search.more_thin)


@dataclass(slots=True)
class _Pairs:
    """Columns of pairs: the numbers of both openings, and once it is known the air between them, mm."""

    one: NDArray[Any]
    two: NDArray[Any]
    air: NDArray[Any] = field(default_factory=lambda: np.zeros(0))

    def where(self, keep: Any) -> _Pairs:
        return _Pairs(self.one[keep], self.two[keep], self.air[keep])


@dataclass(slots=True)
class _Search:
    """The openings as columns, and what has been found so far.

    A key of ``told`` is the number of two features, and 0, or the number of two places in a drawing.
    """

    openings: Sequence[Opening]
    least: float
    told: dict[tuple[int, int], Web] = field(default_factory=dict)
    more_overlap: int = 0
    more_thin: int = 0
    measured: int = 0
    overlapping: set[int] = field(default_factory=set)
    unmeasured: set[int] = field(default_factory=set)
    columns: _Columns = field(init=False)

    def __post_init__(self) -> None:
        self.columns = _Columns(self.openings)

    def look(self, pairs: _Pairs) -> None:
        """Some pairs, in order."""
        of = self.columns
        one, two = pairs.one, pairs.two
        across, up = of.x[one] - of.x[two], of.y[one] - of.y[two]
        air = np.sqrt(across * across + up * up) - (of.radius[one] + of.radius[two])
        measured = np.flatnonzero(np.isnan(air))
        measured = measured[self._to_measure(of.features(one[measured], two[measured]))]
        air[measured] = of.facets.gaps(one[measured], two[measured])
        self.measured += len(measured)
        found = _Pairs(one, two, air).where(air < self.least - SLACK)  # none where it is not measured
        of_one = of.component[found.one] == of.component[found.two]  # nan is nobody's
        found = found.where(~(of_one & (found.air >= SLACK)))
        self._gather(found.where(~self._meant(found)))

    def _to_measure(self, features: NDArray[Any]) -> NDArray[Any]:
        """Which pairs of such features are measured: all, but after many none that overlap already."""
        if self.measured < MOST_MEASURED:
            return np.ones(len(features), dtype=bool)
        known = np.isin(features, np.array(sorted(self.overlapping), dtype=np.int64))
        self.unmeasured.update(np.unique(features[known]).tolist())
        if len(self.told) >= MOST_TOLD and self.more_overlap:
            known |= ~np.isin(features, self._told_features())
        return ~known

    def _told_features(self) -> NDArray[Any]:
        return np.array(sorted(features for features, _ in self.told), dtype=np.int64)

    def _meant(self, pairs: _Pairs) -> NDArray[Any]:
        """Which pairs are an opening in the floor of a rebate, and that rebate."""
        of = self.columns
        meant = np.zeros(len(pairs.one), dtype=bool)
        if np.isnan(of.depth).all():
            return meant
        for inner, outer in ((pairs.two, pairs.one), (pairs.one, pairs.two)):
            deeper = ~np.isnan(of.depth[outer]) & ~(of.depth[inner] <= of.depth[outer])
            smaller = of.mouth_area[inner] <= (1 - SAME_SHAPE) * of.area[outer]
            for place in np.flatnonzero(deeper & smaller).tolist():
                meant[place] |= in_floor(self.openings[inner[place]], self.openings[outer[place]])
        return meant

    def _gather(self, pairs: _Pairs) -> None:
        """Some pairs that are too near, in order, to what is told of them."""
        while len(pairs.one):
            if len(self.told) >= MOST_TOLD:
                pairs = self._counted(pairs)
            by_place = len(self.told) < MOST_DRAWN
            features, places = self._keys(pairs, by_place)
            groups = list(_groups(features, places, pairs.air))
            new = [first for first, _, _ in groups if (int(features[first]), int(places[first])) not in self.told]
            room = (MOST_DRAWN if by_place else MOST_TOLD) - len(self.told)
            end = new[room - 1] + 1 if len(new) >= room > 0 else len(pairs.one)
            if end < len(pairs.one):
                groups = list(_groups(features[:end], places[:end], pairs.air[:end]))
            for first, worst, count in groups:
                self._note((int(features[first]), int(places[first])), pairs, worst, count)
            pairs = pairs.where(slice(end, None))

    def _counted(self, pairs: _Pairs) -> _Pairs:
        """The pairs of features that are told; the others are only counted."""
        told = np.isin(self.columns.features(pairs.one, pairs.two), self._told_features())
        overlap = int(np.count_nonzero(pairs.air[~told] <= SLACK))
        self.more_overlap += overlap
        self.more_thin += int(np.count_nonzero(~told)) - overlap
        return pairs.where(told)

    def _keys(self, pairs: _Pairs, by_place: bool) -> tuple[NDArray[Any], NDArray[Any]]:
        features = self.columns.features(pairs.one, pairs.two)
        if not by_place:
            return features, np.zeros(len(features), dtype=np.int64)
        return features, np.where(pairs.air <= SLACK, 1 + self.columns.places(pairs.one, pairs.two), 0)

    def _note(self, key: tuple[int, int], pairs: _Pairs, worst: int, count: int) -> None:
        air = float(pairs.air[worst])
        web = self.told.get(key)
        if web is None or air < web.air - SAME_POINT:
            first, second = self.openings[pairs.one[worst]], self.openings[pairs.two[worst]]
            self.told[key] = Web(first, second, air, count + (web.count if web else 0))
        else:
            web.count += count
        if air <= SLACK:
            self.overlapping.add(key[0])


class _Columns:
    """Of each opening what its pairs are judged by."""

    def __init__(self, openings: Sequence[Opening]) -> None:
        mouths = [mouth(opening) for opening in openings]
        self.facets = Facets(mouths)
        self.feature, self.drawn = _numbered([one.feature for one in openings]), _numbered([o.drawn for o in openings])
        self.component = np.array([one.component for one in openings], dtype=float)  # nan where it is of none
        self.radius = np.array([mouth_width(one) / 2 if one.diameter is not None else math.nan for one in openings])
        self.x, self.y = np.array([one.centre for one in openings], dtype=float).reshape(-1, 2).T
        self.depth = np.array([one.depth for one in openings], dtype=float)  # nan where it goes through
        self.area = np.array([one.shape.area for one in openings], dtype=float)
        self.mouth_area = np.array([one.area for one in mouths], dtype=float)

    def features(self, one: NDArray[Any], two: NDArray[Any]) -> NDArray[Any]:
        """A number for the features of each pair."""
        return _paired(self.feature, one, two)

    def places(self, one: NDArray[Any], two: NDArray[Any]) -> NDArray[Any]:
        """A number for the places of each pair in a drawing."""
        return _paired(self.drawn, one, two)


def _numbered(names: Sequence[str]) -> NDArray[Any]:
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
    return np.array([numbers[name] for name in names], dtype=np.int64)


def _paired(numbers: NDArray[Any], one: NDArray[Any], two: NDArray[Any]) -> NDArray[Any]:
    paired: NDArray[Any] = numbers[one] * (int(numbers.max(initial=0)) + 1) + numbers[two]
    return paired


def _groups(features: NDArray[Any], places: NDArray[Any], air: NDArray[Any]) -> Iterator[tuple[int, int, int]]:
    """Of each pair of features and places: where it comes first, where its air is least, and how often it comes."""
    if not len(air):
        return
    least, most = int(places.min()), int(places.max())
    if most - least < 2:
        keys = 2 * features + (places - least)
    else:
        different, which = np.unique(places, return_inverse=True)
        keys = features * len(different) + which
    keys = keys - keys.min()
    if keys.max() < 1 << 16:
        keys = keys.astype(np.uint16)  # which is sorted in a tenth of the time
    order = np.argsort(keys, kind="stable")
    keys = keys[order]
    starts = np.flatnonzero(np.concatenate(([True], keys[1:] != keys[:-1])))
    counts = np.diff(starts, append=len(order))
    sorted_air = air[order]
    worst = np.flatnonzero(sorted_air <= np.repeat(np.minimum.reduceat(sorted_air, starts), counts) + SAME_POINT)
    worst = worst[np.searchsorted(worst, starts)]
    firsts = order[starts]
    for group in np.argsort(firsts).tolist():
        yield int(firsts[group]), int(order[worst[group]]), int(counts[group])

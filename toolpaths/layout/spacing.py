"""Where the components of a row stand: at equal pitch or with equal air, groups further apart, at an end or centred."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from toolpaths.geometry.segment import XY
from toolpaths.job import Part, Row
from toolpaths.job.mirroring import reach


@dataclass(frozen=True, slots=True)
class Spaced:
    """A row worked out: the ``centres`` of its components in file order, and by how much they need more than the line
    has, mm; 0 where they find room."""

    centres: tuple[XY, ...]
    beyond: float


def spaced(row: Row) -> Spaced:
    """The centres of a row's components, mm.

    With ``equal pitch`` centres are one pitch apart, with ``equal gap`` the rooms of neighbours are one gap apart
    along the row; where two groups meet it is ``group_space`` more. Unless the step is given, the first centre lies at
    the row's beginning and the last at its end.
    """
    parts = [part for group in row.groups for part in group]
    length = math.dist(row.at, row.to)
    way = _way(row.at, row.to)
    reaches = [reach(part, way) for part in parts]
    extra = [row.group_space if first else 0.0 for first in _first_of_group(row.groups)]
    # how far apart two neighbours' centres are with no air between their rooms, or none between their centres
    close = [
        forth - back if row.spacing == "equal gap" else 0.0
        for (_, forth), (back, _) in pairwise(reaches)
    ]
    step = row.step
    if step is None:
        step = (length - sum(close) - sum(extra)) / len(close) if close else 0.0
    along = [0.0]
    for least, more in zip(close, extra, strict=True):
        along.append(along[-1] + least + more + step)
    spare = length - along[-1]
    begin = {"centred": spare / 2, "from": 0.0, "to": spare}[row.align]
    centres = tuple((row.at[0] + way[0] * (begin + by), row.at[1] + way[1] * (begin + by)) for by in along)
    return Spaced(centres, max(-step * len(close), along[-1] - length, 0.0))


def _way(start: XY, to: XY) -> XY:
    """The direction of a row; to the right where it has no length."""
    length = math.dist(start, to)
    return ((to[0] - start[0]) / length, (to[1] - start[1]) / length) if length > 0 else (1.0, 0.0)


def _first_of_group(groups: Sequence[Sequence[Part]]) -> list[bool]:
    """For each component but the row's first, whether a group begins with it."""
    return [index == 0 for group in groups for index in range(len(group))][1:]

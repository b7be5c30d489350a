"""Labels that find their own room on a drawing: beside what they name, clear of everything else.

Lengths are those of a sheet whose lettering is ``HEIGHT`` high; a drawing with larger letters divides what it has by
their ratio first.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain, groupby
from typing import Final

from toolpaths.crowd import CROWD
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc
from toolpaths.layout.panel import Opening

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1, mm."""

HEIGHT: Final = 2.5
"""Of the lettering beside holes and in the table, mm: the smallest that ISO 3098 has for A and B sheets."""

CENTRE_OVERHANG: Final = 2.0
"""A centre line runs this far beyond its hole."""

AIR: Final = 0.8
"""Least room between lettering and any other line, mm."""

WORD_SPACE: Final = 2.0
"""Between two labels in one line, mm beside ``AIR``: nearer they read as one."""

LABEL_GAPS: Final = (1.6, 3.2, 5.5, 9.0, 14.0, 20.0)
"""How far from its hole a label is tried, nearest first, mm."""

FAR_GAPS: Final = (4.0, 7.0, 11.0, 16.0, 22.0, 29.0, 37.0, 46.0, 56.0)
DIRECTIONS: Final = 32
"""How far off, and in how many directions, one is tried that found nothing."""

LEADER_FROM: Final = 4.0
"""A label further than this from its hole gets a leader line, mm."""

LETTERED: Final = 400
SOLID: Final = 100
FINE: Final = 20
FAINT: Final = 4
"""What it costs a label to stand on lettering; on an opening, a clamp or a bit of a leader; on a centre line; on a bit
of a component's outline: over many thin lines rather than over one word."""

CROSSED: Final = {LETTERED: 400, SOLID: 25, FINE: 8, FAINT: 1}
"""What it costs a leader to cross these: a leader over a thin line is better than a label on it."""

LEADER_MM: Final = 4.0
"""So many millimetres of leader cost as much as one bit of a component's outline crossed: labels stay near."""

LEAST_GROUP: Final = {"ring": 4, "grid": 4, "hole_list": 40}
"""So many equal holes of one feature, by its kind, are labelled once, with their count; so is a crowd of any kind."""


def grown(box: Box, by: float) -> Box:
    """The box with so much more on every side."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


class Taken:
    """Boxes that lettering must keep off, found through a grid so that thousands of holes stay quick."""

    CELL: Final = 10.0

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], list[tuple[Box, int, int]]] = defaultdict(list)

    def add(self, box: Box, owner: int = -1, cost: int = SOLID) -> None:
        for cell in self._cells(box):
            self.cells[cell].append((box, owner, cost))

    def conflicts(self, box: Box, ignored_owner: int = -2, least: int = 0) -> int:
        """What it costs to stand on all that overlaps ``box``; what belongs to one owner, or costs less, left out."""
        x0, y0, x1, y1 = box
        found = {
            (other, cost) for cell in self._cells(box) for other, owner, cost in self.cells.get(cell, ())
            if other[0] < x1 and x0 < other[2] and other[1] < y1 and y0 < other[3]
            and owner != ignored_owner and cost >= least
        }
        return sum(cost for _, cost in found)

    def crossed(self, start: XY, end: XY, ignored_owner: int) -> int:
        """What it costs a leader to cross all that lies on its way; an opening counts once, however large."""
        boxes: dict[object, int] = {}
        for bit in along_line(start, end):
            x0, y0, x1, y1 = bit
            for cell in self._cells(bit):
                for other, owner, cost in self.cells.get(cell, ()):
                    if owner != ignored_owner and other[0] < x1 and x0 < other[2] and other[1] < y1 and y0 < other[3]:
                        boxes[owner if cost == SOLID else other] = CROSSED[cost]
        return sum(boxes.values())

    def _cells(self, box: Box) -> Iterable[tuple[int, int]]:
        x0, y0, x1, y1 = box
        cell, floor = self.CELL, math.floor
        left, low, right, high = floor(x0 / cell), floor(y0 / cell), floor(x1 / cell), floor(y1 / cell)
        if left == right and low == high:  # nearly all of a panel of small holes
            return ((left, low),)
        return [(x, y) for x in range(left, right + 1) for y in range(low, high + 1)]


@dataclass(frozen=True, slots=True)
class Named:
    """What gets one label: an opening, or equal holes of a ring or grid together.

    ``box`` is what the label stands beside: the opening, all holes together, or of a ring the first hole, since the
    corner of a box round the ring is far from it. ``owner`` is the place of its first opening among all.
    """

    openings: tuple[Opening, ...]
    box: Box
    owner: int

    @property
    def first(self) -> Opening:
        return self.openings[0]

    @property
    def ring(self) -> bool:
        """Whether it is a ring of holes, whose first hole bears the label of all."""
        return len(self.openings) > 1 and self.first.kind == "ring"

    @property
    def rounded(self) -> bool:
        """Whether the label stands beside one round hole."""
        return (len(self.openings) == 1 or self.ring) and self.first.diameter is not None

    @property
    def crowd(self) -> bool:
        """Whether there are more than anybody marks one by one."""
        return len(self.openings) > CROWD

    @property
    def tags(self) -> str:
        return self.first.tag if len(self.openings) == 1 else f"{self.first.tag} to {self.openings[-1].tag}"


def together(openings: Sequence[Opening]) -> list[tuple[int, ...]]:
    """The places of openings that are told of together, in the order of their first; any other is alone.

    These are equal ones of a ring, a grid or a long list; and crowds of equal ones that lie the same way and bear no
    label, whatever features they are of.
    """
    runs = [tuple(run) for _, run in groupby(range(len(openings)), key=lambda place: _alike(openings[place]))]
    is_one = [len(run) >= LEAST_GROUP.get(openings[run[0]].kind, math.inf) for run in runs]
    loose = [place for run, one in zip(runs, is_one, strict=True) if not one for place in run]
    many = {kind for kind, count in Counter(_loose_kind(openings[place]) for place in loose).items() if count > CROWD}
    found: list[list[int]] = []
    crowds: dict[object, list[int]] = {}
    for run, one in zip(runs, is_one, strict=True):
        if one:
            found.append(list(run))
            continue
        for place in run:
            kind = _loose_kind(openings[place])
            if kind is None or kind not in many:
                found.append([place])
            elif kind in crowds:
                crowds[kind].append(place)
            else:
                crowds[kind] = [place]
                found.append(crowds[kind])
    return [tuple(places) for places in found]


def _alike(opening: Opening) -> tuple[object, ...]:
    """What neighbours that are drawn together have in common."""
    return opening.feature, opening.component, opening.kind, opening.size_text


def _loose_kind(opening: Opening) -> tuple[object, ...] | None:
    """What the openings of a crowd have in common; None for one that is told of by itself."""
    if opening.component is not None or opening.label:
        return None
    return opening.size_text, opening.finish, opening.turned


def named_together(openings: Sequence[Opening], boxes: Sequence[Box]) -> list[Named]:
    """Openings in their order; equal ones of a ring, a grid or a long list, and crowds, drawn together."""
    found: list[Named] = []
    for places in together(openings):
        if len(places) == 1:
            found.append(Named((openings[places[0]],), boxes[places[0]], places[0]))
            continue
        x0, y0, x1, y1 = zip(*(boxes[place] for place in places), strict=True)
        alike = tuple(openings[place] for place in places)
        named = Named(alike, (min(x0), min(y0), max(x1), max(y1)), places[0])
        found.append(replace(named, box=boxes[places[0]]) if named.ring else named)
    return found


def leader_of(text: Box, shape: Box, rounded: bool = False) -> tuple[XY, XY] | None:
    """From a label that stands far from its shape to the shape's edge; None where it stands near or within.

    ``rounded``: the shape is the circle in its box, else the box. A leader keeps off the shape's centre lines.
    """
    ax, bx = _between(text[0] - AIR / 2, text[2] + AIR / 2, shape[0], shape[2])
    ay, by = _between(text[1] - AIR / 2, text[3] + AIR / 2, shape[1], shape[3])
    if (ax, ay) == (bx, by):
        return None
    if rounded:
        cx, cy, radius = (shape[0] + shape[2]) / 2, (shape[1] + shape[3]) / 2, (shape[2] - shape[0]) / 2
        if ax == bx:
            by = cy + math.copysign(math.sqrt(max(0.0, radius**2 - (bx - cx) ** 2)), ay - cy)
        elif ay == by:
            bx = cx + math.copysign(math.sqrt(max(0.0, radius**2 - (by - cy) ** 2)), ax - cx)
        else:
            share = radius / math.dist((ax, ay), (cx, cy))
            bx, by = cx + share * (ax - cx), cy + share * (ay - cy)
    return None if math.hypot(bx - ax, by - ay) <= LEADER_FROM else ((ax, ay), (bx, by))


def _between(a0: float, a1: float, b0: float, b1: float) -> tuple[float, float]:
    """The places on a label's and a shape's span of one axis that lie nearest to each other.

    Where they overlap it is the middle of what they share, or, where the shape's centre line is, beside that.
    """
    if a1 < b0:
        return a1, b0
    if b1 < a0:
        return a0, b1
    low, high = max(a0, b0), min(a1, b1)
    middle, centre, aside = (low + high) / 2, (b0 + b1) / 2, (b1 - b0) / 4
    if abs(middle - centre) < aside:
        middle = min(high, centre + aside) if high - centre >= centre - low else max(low, centre - aside)
    return middle, middle


def place_for(
    shape: Box,
    length: float,
    sheet: Box,
    taken: Taken,
    owner: int,
    corner: float,
    within: bool,
    rounded: bool = False,
) -> tuple[XY, int]:
    """Where a label of ``length`` begins, and what that costs: the first place that costs nothing, else the cheapest.

    ``within``: it may stand inside a large opening. ``rounded``: the shape is the circle in its box.
    ``corner`` is how far the label stands off the corner of the shape's box: negative beside a circle's shoulder.
    """
    inset = grown(sheet, -AIR)
    best, fewest = (shape[2], shape[3]), math.inf
    near = [*_places(shape, length, corner, within)]
    for number, (at, inside) in enumerate(chain(near, _places_round(shape, length))):
        if number >= len(near) and fewest < FINE:
            break
        box = grown(text_box(at, length), AIR)
        conflicts = taken.conflicts(box, owner if inside else -2)
        if not (inset[0] <= box[0] and inset[1] <= box[1] and box[2] <= inset[2] and box[3] <= inset[3]):
            conflicts += 3 * SOLID  # on or beyond the panel's edge: only rather than over several other things
        far = 0.0
        if conflicts < fewest and (leader := leader_of(text_box(at, length), shape, rounded)):
            conflicts += taken.crossed(*leader, owner)
            far = math.dist(*leader) / LEADER_MM
        if conflicts + far < fewest:
            best, fewest = at, conflicts + far
        if not conflicts:
            break
    return best, math.floor(fewest)


def _places(shape: Box, length: float, corner: float, within: bool) -> Iterable[tuple[XY, bool]]:
    """Places for a label, best first: inside a large opening beside its centre lines, then round the shape."""
    x0, y0, x1, y1 = shape
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    if within and (x1 - x0) / 2 > length + 3 * LABEL_GAPS[0] and y1 - y0 > 6 * HEIGHT:
        yield (cx + 2 * AIR, cy + 2 * AIR + 0.3 * HEIGHT), True
    for gap in LABEL_GAPS:
        slant = 0.7 * gap + corner
        for x, y in (
            (x1 + slant, y1 + slant), (x1 + slant, y0 - slant - HEIGHT),
            (x0 - slant - length, y1 + slant), (x0 - slant - length, y0 - slant - HEIGHT),
            (x1 + gap, cy + AIR + 0.2), (x1 + gap, cy - AIR - 0.2 - HEIGHT),
            (x0 - gap - length, cy + AIR + 0.2), (x0 - gap - length, cy - AIR - 0.2 - HEIGHT),
            (cx + AIR + 0.2, y1 + gap), (cx + AIR + 0.2, y0 - gap - HEIGHT),
            (cx - length / 2, y1 + CENTRE_OVERHANG + gap), (cx - length / 2, y0 - CENTRE_OVERHANG - gap - HEIGHT),
        ):
            yield (x, y), False


def _places_round(shape: Box, length: float) -> Iterable[tuple[XY, bool]]:
    """More places for a label, nearest first, in many directions: for one that would stand on something otherwise."""
    x0, y0, x1, y1 = shape
    for gap in FAR_GAPS:
        for step in range(DIRECTIONS):
            angle = math.tau * step / DIRECTIONS
            reach_x, reach_y = (x1 - x0 + length) / 2 + gap, (y1 - y0 + HEIGHT) / 2 + gap
            middle = (x0 + x1) / 2 + reach_x * math.cos(angle), (y0 + y1) / 2 + reach_y * math.sin(angle)
            yield (middle[0] - length / 2, middle[1] - HEIGHT / 2), False


def text_box(at: XY, length: float) -> Box:
    """What one line of ``HEIGHT`` covers, descenders included."""
    return at[0], at[1] - 0.3 * HEIGHT, at[0] + length, at[1] + HEIGHT


def with_space(text: Box) -> Box:
    """What a label keeps free of other labels: itself, and a space before and behind it."""
    return text[0] - WORD_SPACE, text[1], text[2] + WORD_SPACE, text[3]


def along(shape: Contour) -> Iterable[Box]:
    """Small boxes along a shape's line, which lettering keeps off."""
    steps = max(8, math.ceil(shape.perimeter / 1.5))
    points = [shape.point_at(step * shape.perimeter / steps) for step in range(steps)]
    return (grown((x, y, x, y), 0.75) for x, y in points)


def along_line(start: XY, end: XY) -> Iterable[Box]:
    """Small boxes along a straight line."""
    steps = max(1, math.ceil(math.dist(start, end) / 1.5))
    for step in range(steps + 1):
        x, y = (a + (b - a) * step / steps for a, b in zip(start, end, strict=True))
        yield grown((x, y, x, y), 0.5)


class Strips:
    """The ``strips`` of many shapes: those of equal circles are found once, and moved."""

    def __init__(self) -> None:
        self.known: dict[tuple[float, ...], list[Box]] = {}

    def of(self, shape: Contour) -> list[Box]:
        """As ``strips`` has them, to within a billionth of a millimetre."""
        only = shape.segments[0]
        if len(shape.segments) > 1 or not isinstance(only, Arc):
            return strips(shape)
        (x, y), (sx, sy) = only.centre, only.start
        kind = round(sx - x, 9), round(sy - y, 9), float(only.ccw)
        if kind not in self.known:
            self.known[kind] = [(x0 - x, y0 - y, x1 - x, y1 - y) for x0, y0, x1, y1 in strips(shape)]
        return [(x + x0, y + y0, x + x1, y + y1) for x0, y0, x1, y1 in self.known[kind]]


def strips(shape: Contour) -> list[Box]:
    """A shape as boxes between its left and right side, one per strip of height: finer than its bounding box."""
    _, y0, _, y1 = shape.bounds
    count = max(1, min(200, math.ceil((y1 - y0) / 1.0)))
    high = (y1 - y0) / count
    sides = [(math.inf, -math.inf)] * count
    steps = max(16, math.ceil(shape.perimeter / (high / 2)))
    for step in range(steps):
        x, y = shape.point_at(step * shape.perimeter / steps)
        for index in {math.floor((y - y0) / high - 0.01), math.floor((y - y0) / high + 0.01)}:
            if 0 <= index < count:
                left, right = sides[index]
                sides[index] = (min(left, x), max(right, x))
    return [(left, y0 + index * high, right, y0 + (index + 1) * high)
            for index, (left, right) in enumerate(sides) if left <= right]

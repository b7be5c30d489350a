"""Index holes: where dowel pins carry the position of a sheet from one setup to the next.

Holes that exist anyway serve where a pin in stock fits them and they turn the panel little; else holes are made in the
waste of a large opening or in the margin round a machined outline; else in the middle of a round hole that is opened to
its size in the setup which the pins are for, when they have done their work. Places are panel coordinates, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from toolpaths.division.windows import Window
from toolpaths.geometry.clip import crossings_of_line
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import distance, offset
from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Clamp, Opening, Panel, Rectangle
from toolpaths.tables.dowel_pins import DowelPin, dowel_pins
from toolpaths.tolerance import CLAMP_CLEARANCE, PIN_BELOW_TOP, SAME_POINT

LOOSEST: Final = 0.06
"""mm; a pin that plays more than this in its hole carries no position."""

WEB: Final = 3.0
"""mm of sheet left between an index hole and whatever is cut beside it (common practice)."""

KERF: Final = 7.0
"""mm; the widest kerf with its allowance that is thought of beside a wall, before the cutter is chosen."""

PLAIN: Final = 0.1
"""mm; holes that exist anyway are taken where they turn the farthest feature by no more than this, ..."""

TWICE: Final = 3.0
"""... and by no more than so many times what the best places would."""

WORST: Final = 0.25
"""mm; pins that may turn the farthest feature by more carry no position: the builder is told what to add."""

LEAST_ROUND: Final = 1.0
"""mm that are left all round an index hole which a later cut takes away with it."""

LEAST_APART: Final = 15.0
"""mm; the least distance between two pins."""

BESIDE_CLAMP: Final = 14.0
"""mm; an index hole that is made keeps at least this from clamps, and more where the collet nut is larger."""

APPROACH: Final = 1.0
"""mm; a hole is come to from this far beside it, for the backlash."""

STEP: Final = 4.0
"""mm between the places in waste and margin that are thought of."""

DIRECTIONS: Final = 16
"""Of many candidates those that lie farthest in so many directions are thought of."""

Source = Literal["opening", "waste", "margin", "middle"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A place for a pin: an opening of the panel by ``tag``, or a hole to be made in waste (of the opening ``tag``), in
    the margin, or in the middle of a round opening. ``waits`` are the tags of what is then made after the move."""

    at: XY
    pin: DowelPin
    hole: float
    clearance: float
    source: Source
    tag: str
    waits: frozenset[str] = frozenset()

    def goes_with(self, other: Candidate) -> bool:
        """Whether both can serve together: neither waits for the move before which the other must be made."""
        keeps = (one.source != "opening" or one.tag not in two.waits for one, two in ((self, other), (other, self)))
        return all(keeps) and math.dist(self.at, other.at) >= LEAST_APART


@dataclass(frozen=True, slots=True)
class Pair:
    """Two places for pins, and how well they carry: the turn that their play allows, rad, and what it makes at the
    farthest place, mm."""

    first: Candidate
    second: Candidate
    far: float

    @property
    def apart(self) -> float:
        """Between the pins, mm."""
        return math.dist(self.first.at, self.second.at)

    @property
    def clearance(self) -> float:
        """The play of a pin, mm: the mean of both, which is how far the panel can turn between them."""
        return (self.first.clearance + self.second.clearance) / 2

    @property
    def turn(self) -> float:
        """Clearance over distance, rad (small angles)."""
        return self.clearance / self.apart

    @property
    def error(self) -> float:
        """What the turn makes at the farthest place, mm."""
        return self.turn * self.far


# candidates ----------------------------------------------------------------------------------------------------------


def existing(openings: Iterable[Opening], room: tuple[Window, Window]) -> Iterator[Candidate]:
    """Round holes through the sheet that a pin in stock fits, within what both positions reach."""
    for opening in openings:
        diameter = opening.cut_diameter
        plain = opening.finish == "machine" and opening.depth is None and opening.top == 0 and opening.thread is None
        if diameter is None or opening.outside or not plain:
            continue
        for pin in dowel_pins():
            clearance = diameter + opening.tolerance - (pin.diameter - pin.under)
            if not _within(opening.centre, _for_pin(room, pin)):
                continue
            if diameter >= pin.diameter - SAME_POINT and clearance <= LOOSEST + SAME_POINT:
                yield Candidate(opening.centre, pin, diameter, clearance, "opening", opening.tag)


def in_middle(
    opening: Opening, room: tuple[Window, Window], pins: Sequence[DowelPin], waits: frozenset[str]
) -> Iterator[Candidate]:
    """The middle of a round hole that is made after the move: for the thickest pin that is cut away with its hole."""
    diameter = opening.cut_diameter
    plain = opening.finish == "machine" and opening.depth is None and opening.top == 0
    if diameter is None or not plain:
        return
    for pin in reversed(pins):
        if pin.diameter + 2 * LEAST_ROUND <= diameter and _within(opening.centre, _for_pin(room, pin)):
            yield Candidate(opening.centre, pin, pin.diameter, pin.under, "middle", opening.tag, waits)
            return


def in_waste(
    opening: Opening, room: tuple[Window, Window], pins: Sequence[DowelPin], waits: frozenset[str],
    clamps: Sequence[Clamp], nut: float,
) -> Iterator[Candidate]:  # fmt: skip
    """Places in the slug of a large opening that no kerf and no clamp comes near, with a collet nut so wide; for the
    thickest pin that finds room.
    """
    if opening.cut is None or opening.outside:
        return
    for pin in reversed(pins):
        inner = offset(opening.cut, -(KERF + WEB + pin.diameter / 2))
        own = _for_pin(room, pin)
        found = [at for contour in inner for at in _along(contour) if _within(at, own)]
        found += [at for contour in inner for at in _inside(contour, own)]
        found = [at for at in found if not near_clamp(at, clamps, nut, pin.diameter)]
        if found:
            yield from (Candidate(at, pin, pin.diameter, pin.under, "waste", opening.tag, waits) for at in found)
            return


def in_margin(
    panel: Panel, room: tuple[Window, Window], pins: Sequence[DowelPin], nut: float
) -> Iterator[Candidate]:
    """Places in the frame round a machined outline, clear of clamps with a collet nut so wide."""
    if panel.edge is None:
        return
    x0, y0, x1, y1 = panel.stock
    for pin in reversed(pins):
        aside = pin.diameter / 2 + WEB
        if 2 * aside + 3.5 > panel.margin:  # and the kerf of a cutter of 3 mm with its allowance
            continue
        left, low, right, high = x0 + aside, y0 + aside, x1 - aside, y1 - aside
        across, up = _steps(left, right), _steps(low, high)
        ring = [(x, y) for x in across for y in (low, high)] + [(x, y) for y in up for x in (left, right)]
        own = _for_pin(room, pin)
        found = [at for at in dict.fromkeys(ring) if _within(at, own)]
        found = [at for at in found if not near_clamp(at, panel.clamps, nut, pin.diameter)]
        if found:
            yield from (Candidate(at, pin, pin.diameter, pin.under, "margin", "") for at in found)
            return


def in_sheet(thickness: float) -> float:
    """How far a pin that ends below the top of a sheet stands in it, mm: it is cut to a tenth, rather too short."""
    return math.floor(10 * (thickness - PIN_BELOW_TOP) + 1e-9) / 10


def frame_for(pin: DowelPin) -> float:
    """The frame that a hole for a pin in the margin needs, mm."""
    return pin.diameter + 2 * WEB


def _for_pin(room: tuple[Window, Window], pin: DowelPin) -> tuple[Window, Window]:
    """Where the middle of a hole for a pin may lie, so that it and the hole in the board are bored within reach."""
    aside = pin.diameter / 2 + APPROACH
    across, up = (Window(window.low + aside, window.high - aside) for window in room)
    return across, up


def _within(at: XY, room: tuple[Window, Window]) -> bool:
    return all(window.low <= value <= window.high for window, value in zip(room, at, strict=True))


def near_clamp(at: XY, clamps: Sequence[Clamp], nut: float, hole: float) -> bool:
    """Whether a place is so near to a clamp that a collet nut, or a pin that stands out, has no room there.

    ``nut`` and ``hole`` are diameters, mm: a cutter that bores the hole goes round in it, and its nut with it.
    """
    aside = max(BESIDE_CLAMP, nut / 2 + hole / 2 + CLAMP_CLEARANCE)
    return any(
        all(clamp.area[axis] - aside < at[axis] < clamp.area[axis + 2] + aside for axis in (0, 1)) for clamp in clamps
    )


def _steps(low: float, high: float) -> list[float]:
    count = max(1, math.ceil((high - low) / STEP))
    return [round(low + (high - low) * k / count, 1) for k in range(count + 1)]


def _along(contour: Contour) -> Iterator[XY]:
    count = max(4, math.ceil(contour.perimeter / STEP))
    for k in range(count):
        x, y = contour.point_at(contour.perimeter * k / count)
        yield round(x, 1), round(y, 1)


def _inside(contour: Contour, room: tuple[Window, Window]) -> Iterator[XY]:
    """Places along the limits of the room within the contour: the farthest ones where it reaches beyond the room."""
    x0, y0, x1, y1 = contour.bounds
    for axis, window in enumerate(room):
        for limit in (window.low, window.high):
            low, high = (x0, x1) if axis == 0 else (y0, y1)
            if not low < limit < high:
                continue
            place = math.ceil(limit * 10) / 10 if limit == window.low else math.floor(limit * 10) / 10
            for other in _steps(y0, y1) if axis == 0 else _steps(x0, x1):
                at = (place, other) if axis == 0 else (other, place)
                if _winding(contour, at) and distance(contour, at) > 0 and _within(at, room):
                    yield at


def _winding(contour: Contour, at: XY) -> bool:
    """Whether a point lies within the contour: an odd number of its crossings lie to the right."""
    y = at[1] + 1e-7  # off the ends of level sides
    return sum(contour.point_at(s)[0] > at[0] for s in crossings_of_line(contour, 1, y)) % 2 == 1


# the choice ----------------------------------------------------------------------------------------------------------


def best_pair(candidates: Iterable[Candidate], farthest: Sequence[Rectangle], taken: Sequence[XY]) -> Pair | None:
    """The two places that turn the farthest place least; holes that exist anyway where these turn it by little.

    ``farthest`` are the boxes of what the pins are to place. ``taken`` are places that pins may not come near to.
    """
    free = [one for one in candidates if all(math.dist(one.at, other) > one.pin.diameter + 8 for other in taken)]
    best = _best(free, farthest)
    for sources in (("opening",), ("opening", "waste", "margin")):
        pair = _best([one for one in free if one.source in sources], farthest)
        if best is not None and pair is not None and pair.error <= min(PLAIN, TWICE * best.error):
            return pair
    return best


def _best(candidates: list[Candidate], farthest: Sequence[Rectangle]) -> Pair | None:
    outer = _outermost(candidates)
    pairs = [
        Pair(one, other, far_from(farthest, one.at, other.at))
        for index, one in enumerate(outer)
        for other in outer[index + 1 :]
        if one.goes_with(other)
    ]
    return min(pairs, key=lambda pair: (round(pair.error, 6), pair.first.at, pair.second.at), default=None)


def far_from(boxes: Sequence[Rectangle], *pins: XY) -> float:
    """How far the farthest corner of the boxes is from the pin that is farther from it, mm."""
    corners = [(x, y) for x0, y0, x1, y1 in boxes for x in (x0, x1) for y in (y0, y1)]
    return max((math.dist(corner, pin) for corner in corners for pin in pins), default=0.0)


def _outermost(candidates: list[Candidate]) -> list[Candidate]:
    """Those that lie farthest in some direction, of each kind of pin."""
    kept: dict[Candidate, None] = {}
    for key in dict.fromkeys((one.source, one.pin.name) for one in candidates):
        same = [one for one in candidates if (one.source, one.pin.name) == key]
        for k in range(DIRECTIONS):
            angle = 2 * math.pi * k / DIRECTIONS
            way = math.cos(angle), math.sin(angle)
            kept[max(same, key=lambda one: (round(one.at[0] * way[0] + one.at[1] * way[1], 6), one.at))] = None
    return list(kept)

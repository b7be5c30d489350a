"""Where a contour that no position of the sheet reaches as a whole may be parted.

A line may stand where every stretch of the wall beside it runs straight across: there the parts meet on a plain piece
of wall, and the cutter comes onto it and leaves it on the side of the waste.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from toolpaths.division.windows import Window
from toolpaths.geometry.clip import crossings_of_line, spans_within
from toolpaths.geometry.contour import Contour
from toolpaths.tolerance import PARTS_MEET_WITHIN

SQUARE_WITHIN: Final = math.radians(35)
"""From side to side the wall keeps within this of square to the line: the parts then overlap along it by nearly as much
as across."""

STEP: Final = 1.0
"""mm between the places that are tried for a line."""


def line_through(contour: Contour, axis: int, room: Window) -> float | None:
    """The place for a line across ``axis`` (0: at an X) that parts the contour within ``room``, nearest its middle.

    None where there is none. Coordinates are those of the contour.
    """
    low, high = room.low + PARTS_MEET_WITHIN, room.high - PARTS_MEET_WITHIN
    if low > high:
        return None
    return next((place for place in _from_the_middle(low, high) if _crosses_plainly(contour, axis, place)), None)


def _from_the_middle(low: float, high: float) -> Iterator[float]:
    middle = round((low + high) / 2)
    for step in range(math.ceil((high - low) / 2 / STEP) + 1):
        for place in dict.fromkeys((middle - step * STEP, middle + step * STEP)):
            if low <= place <= high:
                yield place


def _crosses_plainly(contour: Contour, axis: int, place: float) -> bool:
    """Whether all of the wall near the line crosses it from side to side, nowhere far from square to it."""
    strip = [-math.inf, -math.inf, math.inf, math.inf]
    strip[axis], strip[axis + 2] = place - PARTS_MEET_WITHIN, place + PARTS_MEET_WITHIN
    spans = spans_within(contour, (strip[0], strip[1], strip[2], strip[3]))
    if not spans:
        return False
    longest = 2 * PARTS_MEET_WITHIN / math.cos(SQUARE_WITHIN)
    for start, end in spans:
        a, b = (contour.point_at(s)[axis] - place for s in (start, end))
        if a * b >= 0 or abs(abs(a - b) - 2 * PARTS_MEET_WITHIN) > 1e-3 or end - start > longest:
            return False
        if any(abs(turn) > 1e-4 and start < corner + k * contour.perimeter < end
               for corner, turn in contour.corners() for k in (0, 1)):
            return False
    return len(crossings_of_line(contour, axis, place)) == len(spans)

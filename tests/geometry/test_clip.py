"""Which stretches of a contour lie in a rectangle, held against a general-purpose library's clipping."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.geometry.clip import crossings_of_line, spans_within
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.geometry.shapes import circle, d_hole, keyed_hole, rounded_rectangle, slot

SHAPES = {
    "rectangle": rounded_rectangle((3, -2), 60, 40),
    "rounded": rounded_rectangle((0, 0), 60, 40, 8, 0.3),
    "circle": circle((5, 5), 50),
    "slot": slot((0, 0), 70, 20, 1.1),
    "d": d_hole((0, 0), 60, 50, 0.7),
    "key": keyed_hole((0, 0), 40, 10, 6, 2.0),
}
PLACES = st.floats(-40, 40)


@given(st.sampled_from(sorted(SHAPES)), PLACES, PLACES, PLACES, PLACES)
def test_spans_are_what_lies_in_the_box(name: str, x0: float, y0: float, wide: float, high: float) -> None:
    """Their length is that of the part of the outline in the box, and every one of their points lies in it."""
    contour = SHAPES[name]
    box = (x0, y0, x0 + abs(wide) + 1, y0 + abs(high) + 1)
    spans = spans_within(contour, box)
    library = faceted(contour).exterior.intersection(shapely.box(*box)).length
    assert sum(b - a for a, b in spans) == pytest.approx(library, abs=0.5)
    for a, b in spans:
        for k in range(11):
            x, y = contour.point_at(a + (b - a) * k / 10)
            assert box[0] - 1e-6 <= x <= box[2] + 1e-6 and box[1] - 1e-6 <= y <= box[3] + 1e-6


def test_a_box_without_end_holds_all() -> None:
    """A contour that nothing cuts off is one span, all round."""
    contour: Contour = SHAPES["rounded"]
    everywhere = (-math.inf, -math.inf, math.inf, math.inf)
    assert spans_within(contour, everywhere) == [(0.0, contour.perimeter)]


def test_a_line_meets_a_circle_where_it_does() -> None:
    """X = 5 + 15 meets the circle of radius 25 about (5, 5) at 20 above and below its middle (3-4-5 triangle)."""
    contour = SHAPES["circle"]
    met = sorted(contour.point_at(s)[1] for s in crossings_of_line(contour, 0, 20.0))
    assert met == [pytest.approx(-15), pytest.approx(25)]
    assert crossings_of_line(contour, 0, 31.0) == []

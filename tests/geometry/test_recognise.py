"""Contours taken for shapes of panel work."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.geometry import shapes
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.join import doubles
from toolpaths.geometry.recognise import _BUILD, recognised
from toolpaths.geometry.segment import Arc, Line

MADE = {
    "cutout": lambda at, size, angle: shapes.rounded_rectangle(at, 2 * size, 1.3 * size, size / 8, angle),
    "sharp": lambda at, size, angle: shapes.rounded_rectangle(at, 2 * size, 1.3 * size, 0.0, angle),
    "slot": lambda at, size, angle: shapes.slot(at, 2 * size, size / 2, angle),
    "d_hole": lambda at, size, angle: shapes.d_hole(at, size, 0.8 * size, angle),
    "double_d_hole": lambda at, size, angle: shapes.double_d_hole(at, size, 0.8 * size, angle),
    "keyed_hole": lambda at, size, angle: shapes.keyed_hole(at, size, size / 4, size / 6, angle),
}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(list(MADE)), st.floats(4, 90), st.floats(-3.2, 3.2), st.floats(0, 1))
def test_a_shape_is_known_wherever_it_begins(kind, size, angle, share) -> None:
    """Each shape is known by its kind whatever its size, angle and first segment, and built again it is the same."""
    contour = MADE[kind]((12.0, -7.0), size, angle)
    begun = int(share * (len(contour.segments) - 1))
    turned_round = Contour((*contour.segments[begun:], *contour.segments[:begun]))
    found = recognised(turned_round)
    assert found is not None and found.kind == kind.replace("sharp", "cutout")
    assert doubles([contour.segments, _BUILD[found.kind](found).segments], 1e-4)
    assert found.at == pytest.approx((12.0, -7.0), abs=1e-6)


def corners(*radii: float) -> Contour:
    """A rectangle of 40 by 30 whose corners have these radii, from the lower left on counter-clockwise."""
    segments: list[Line | Arc] = []
    places = [(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)]
    ways = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    for index, ((x, y), (ux, uy), radius) in enumerate(zip(places, ways, radii, strict=True)):
        px, py = ways[index - 1]
        into, out = (x - radius * px, y - radius * py), (x + radius * ux, y + radius * uy)
        segments.append(Arc(into, out, (out[0] - radius * uy, out[1] + radius * ux), True))
        (nx, ny), after = places[(index + 1) % 4], radii[(index + 1) % 4]
        segments.append(Line(out, (nx - after * ux, ny - after * uy)))
    return Contour(tuple(segments))


def test_other_contours_are_not_forced_into_one() -> None:
    """A trapezium, a rectangle with one corner unlike the others and a circle are no shapes of these kinds."""
    assert recognised(shapes.polygon((0.0, 0.0), [(0, 0), (20, 0), (15, 10), (5, 10)])) is None
    assert recognised(corners(2, 2, 2, 2)) is not None
    assert recognised(corners(2, 2, 3, 2)) is None
    assert recognised(shapes.circle((0.0, 0.0), 5.0)) is None

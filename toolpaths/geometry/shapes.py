"""The shapes of panel work as exact counter-clockwise contours. Millimetres; angles in radians from +x."""

from __future__ import annotations

import math
from collections.abc import Sequence

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.polygon import polygon as polygon_about_origin
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.tolerance import SAME_POINT


def circle(centre: XY, diameter: float, start: float = 0.0) -> Contour:
    """A circle as one arc that begins in the direction ``start`` of its centre.

    Raises GeometryError unless ``diameter`` is above 0.

    >>> round(circle((0.0, 0.0), 2.0).area, 6)
    3.141593
    """
    _positive(diameter=diameter)
    radius = diameter / 2
    first = (centre[0] + radius * math.cos(start), centre[1] + radius * math.sin(start))
    return Contour((Arc(first, first, centre, ccw=True),))


def rounded_rectangle(
    centre: XY, width: float, height: float, corner_radius: float = 0.0, angle: float = 0.0
) -> Contour:
    """A rectangle, ``width`` along ``angle``, with corners of ``corner_radius``; begins on its lower side, at the left.

    Radius 0 gives four lines; a radius of half the shorter side gives a slot, of half of both sides a circle.
    Raises GeometryError unless both sides are above 0 and the radius lies between 0 and half the shorter side.

    >>> len(rounded_rectangle((0.0, 0.0), 27.0, 20.0, 2.5).segments)
    8
    """
    _positive(width=width, height=height)
    shorter = min(width, height)
    if not 0 <= corner_radius <= shorter / 2 + SAME_POINT:
        raise GeometryError(
            f"corner radius {corner_radius:g} mm: must lie between 0 and half the shorter side ({shorter / 2:g} mm)"
        )
    if shorter - 2 * corner_radius <= 2 * SAME_POINT:
        if width >= height:
            return slot(centre, width, height, angle)
        return slot(centre, height, width, angle + math.pi / 2)
    x, y, r = width / 2, height / 2, corner_radius if corner_radius > SAME_POINT else 0.0
    sides: list[Segment] = []
    for corner, (ux, uy), (vx, vy) in (
        ((x, -y), (1, 0), (0, 1)),
        ((x, y), (0, 1), (-1, 0)),
        ((-x, y), (-1, 0), (0, -1)),
        ((-x, -y), (0, -1), (1, 0)),
    ):
        side = (width if ux else height) - r
        begin = (corner[0] - side * ux, corner[1] - side * uy)
        end = (corner[0] - r * ux, corner[1] - r * uy)
        sides.append(Line(begin, end))
        if r:
            after = (corner[0] + r * vx, corner[1] + r * vy)
            sides.append(Arc(end, after, (end[0] + r * vx, end[1] + r * vy), ccw=True))
    return _placed(sides, centre, angle)


def slot(centre: XY, length: float, width: float, angle: float = 0.0) -> Contour:
    """A slot ``length`` over all with round ends of ``width``, long axis along ``angle``; a circle where both agree.

    Raises GeometryError unless ``width`` is above 0 and ``length`` at least ``width``.

    >>> [type(segment).__name__ for segment in slot((0.0, 0.0), 10.0, 4.0).segments]
    ['Line', 'Arc', 'Line', 'Arc']
    """
    _positive(length=length, width=width)
    if length < width - SAME_POINT:
        raise GeometryError(f"slot length {length:g} mm: over all, it must be at least the width ({width:g} mm)")
    if length - width <= 2 * SAME_POINT:
        return circle(centre, width, start=angle)
    r = width / 2
    x = length / 2 - r
    chain: list[Segment] = [
        Line((-x, -r), (x, -r)),
        Arc((x, -r), (x, r), (x, 0.0), ccw=True),
        Line((x, r), (-x, r)),
        Arc((-x, r), (-x, -r), (-x, 0.0), ccw=True),
    ]
    return _placed(chain, centre, angle)


def d_hole(centre: XY, diameter: float, across_flat: float, angle: float = 0.0) -> Contour:
    """A circle with one flat on the side to which ``angle`` points, at across_flat - diameter/2 from ``centre``.

    ``across_flat`` is measured from the flat to the far side of the circle. The contour begins with the flat.
    Raises GeometryError unless ``diameter`` is above 0 and ``across_flat`` lies between 0 and ``diameter``.

    >>> flat = d_hole((0.0, 0.0), 12.7, 11.7).segments[0]
    >>> round(flat.length, 4)
    6.8411
    """
    _positive(diameter=diameter, across_flat=across_flat)
    if across_flat >= diameter - 2 * SAME_POINT:
        raise GeometryError(
            f"across_flat {across_flat:g} mm: must be less than the diameter ({diameter:g} mm), else no flat is left"
        )
    x = across_flat - diameter / 2
    y = math.sqrt((diameter - across_flat) * across_flat)
    chain: list[Segment] = [Line((x, -y), (x, y)), Arc((x, y), (x, -y), (0.0, 0.0), ccw=True)]
    return _placed(chain, centre, angle)


def double_d_hole(centre: XY, diameter: float, across_flats: float, angle: float = 0.0) -> Contour:
    """A circle with two flats ``across_flats`` apart: one on the side to which ``angle`` points, one opposite.

    The contour begins with the first flat. Raises GeometryError unless ``diameter`` is above 0 and ``across_flats``
    lies between 0 and ``diameter``.

    >>> [type(segment).__name__ for segment in double_d_hole((0.0, 0.0), 12.0, 10.0).segments]
    ['Line', 'Arc', 'Line', 'Arc']
    """
    _positive(diameter=diameter, across_flats=across_flats)
    if across_flats >= diameter - 2 * SAME_POINT:
        raise GeometryError(
            f"across_flats {across_flats:g} mm: must be less than the diameter ({diameter:g} mm), else no flat is left"
        )
    x = across_flats / 2
    y = math.sqrt((diameter / 2 - x) * (diameter / 2 + x))
    chain: list[Segment] = [
        Line((x, -y), (x, y)),
        Arc((x, y), (-x, y), (0.0, 0.0), ccw=True),
        Line((-x, y), (-x, -y)),
        Arc((-x, -y), (x, -y), (0.0, 0.0), ccw=True),
    ]
    return _placed(chain, centre, angle)


def keyed_hole(centre: XY, diameter: float, key_width: float, key_depth: float, angle: float = 0.0) -> Contour:
    """A circle with a rectangular notch, ``key_width`` wide, that reaches ``key_depth`` beyond it towards ``angle``.

    The notch's far wall is flat and square to its axis, ``diameter / 2 + key_depth`` from ``centre``. The contour
    begins with the notch's first side. Raises GeometryError unless all sizes are above 0 and the key is narrower than
    the circle.

    >>> [type(segment).__name__ for segment in keyed_hole((0.0, 0.0), 12.0, 3.0, 1.5).segments]
    ['Line', 'Line', 'Line', 'Arc']
    """
    _positive(diameter=diameter, key_width=key_width, key_depth=key_depth)
    if key_width >= diameter - 2 * SAME_POINT:
        raise GeometryError(f"key_width {key_width:g} mm: must be less than the diameter ({diameter:g} mm)")
    y, far = key_width / 2, diameter / 2 + key_depth
    x = math.sqrt((diameter / 2 - y) * (diameter / 2 + y))
    chain: list[Segment] = [
        Line((x, -y), (far, -y)),
        Line((far, -y), (far, y)),
        Line((far, y), (x, y)),
        Arc((x, y), (x, -y), (0.0, 0.0), ccw=True),
    ]
    return _placed(chain, centre, angle)


def polygon(centre: XY, points: Sequence[XY], corner_radius: float = 0.0, angle: float = 0.0) -> Contour:
    """Straight sides between ``points``, which are measured from ``centre`` and turned about it by ``angle``.

    Every corner has ``corner_radius``; GeometryError as ``toolpaths.geometry.polygon.polygon``.
    """
    return _placed(list(polygon_about_origin(points, corner_radius).segments), centre, angle)


def _positive(**sizes: float) -> None:
    for name, size in sizes.items():
        if not SAME_POINT < size < math.inf:
            raise GeometryError(f"{name} {size:g} mm: must be above 0")


def _placed(chain: list[Segment], centre: XY, angle: float) -> Contour:
    """The chain, drawn about the origin, turned by ``angle`` and moved to ``centre``."""
    cosine, sine = _quarter_exact(angle)

    def place(point: XY) -> XY:
        x, y = point
        return centre[0] + cosine * x - sine * y, centre[1] + sine * x + cosine * y

    return Contour(tuple(segment.mapped(place) for segment in chain))


def _quarter_exact(angle: float) -> XY:
    """Cosine and sine, exact for quarter turns, so that an upright shape keeps upright sides."""
    quarters = angle / (math.pi / 2)
    if abs(quarters - round(quarters)) < 1e-12:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    return math.cos(angle), math.sin(angle)

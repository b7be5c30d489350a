"""Contours that are shapes of panel work: which one, with its figures, where it is that shape to 0.0001 mm.

A guess is made from the segments, the shape is built from it, and the guess holds only where both lie on each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from toolpaths.errors import GeometryError
from toolpaths.geometry import shapes
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.join import doubles
from toolpaths.geometry.segment import XY, Arc, Line, Segment

SAME: Final = 1e-4
"""mm; a contour and the shape that it is taken for lie on each other to this."""

ShapeKind = Literal["cutout", "slot", "d_hole", "double_d_hole", "keyed_hole"]


@dataclass(frozen=True, slots=True)
class Recognised:
    """A shape of panel work: its kind and figures (mm) by the names of the job format, its ``angle`` in rad."""

    kind: ShapeKind
    at: XY
    figures: tuple[tuple[str, float], ...]
    angle: float

    def figure(self, name: str) -> float:
        """One of its figures; 0 where it has none of that name."""
        return dict(self.figures).get(name, 0.0)


def recognised(contour: Contour) -> Recognised | None:
    """What a counter-clockwise contour is, where it is a shape of panel work; a round one is none of these.

    >>> found = recognised(shapes.rounded_rectangle((10.0, 5.0), 20.0, 8.0, 2.0))
    >>> found and (found.kind, found.at, found.figures, round(found.angle, 9) + 0.0)
    ('cutout', (10.0, 5.0), (('width', 20.0), ('height', 8.0), ('corner_radius', 2.0)), 0.0)
    """
    for guess in _guesses(contour.segments):
        try:
            shape = _BUILD[guess.kind](guess)
        except GeometryError:
            continue
        if doubles([shape.segments, contour.segments], SAME):
            return guess
    return None


def _guesses(segments: tuple[Segment, ...]) -> Iterator[Recognised]:
    lines = [segment for segment in segments if isinstance(segment, Line)]
    arcs = [segment for segment in segments if isinstance(segment, Arc)]
    form = len(lines), len(arcs)
    if form in ((4, 0), (4, 4)):
        yield _cutout(lines, arcs)
    elif form == (2, 2):
        yield _slot(lines, arcs)
        yield _double_d(lines, arcs)
    elif form == (1, 1):
        yield _flat(lines[0], arcs[0])
    elif form == (3, 1):
        yield _keyed(segments, arcs[0])


def _cutout(lines: list[Line], arcs: list[Arc]) -> Recognised:
    """The side that lies flattest, or failing that the first, is its width."""
    radius = arcs[0].radius if arcs else 0.0
    first = min(range(2), key=lambda index: (round(abs(lines[index].tangent_at(0.0)[1]), 9), index))
    tx, ty = lines[first].tangent_at(0.0)
    wide, high = lines[first].length + 2 * radius, lines[1 - first].length + 2 * radius
    points = [point for line in lines for point in (line.start, line.end)]
    at = sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
    figures = (("width", wide), ("height", high), ("corner_radius", radius))
    return Recognised("cutout", at, figures[: 3 if radius else 2], _half_turn(math.atan2(ty, tx)))


def _slot(lines: list[Line], arcs: list[Arc]) -> Recognised:
    tx, ty = lines[0].tangent_at(0.0)
    width = 2 * arcs[0].radius
    at = _between(arcs[0].centre, arcs[1].centre)
    figures = (("length", lines[0].length + width), ("width", width))
    return Recognised("slot", at, figures, _half_turn(math.atan2(ty, tx)))


def _double_d(lines: list[Line], arcs: list[Arc]) -> Recognised:
    at = _between(arcs[0].centre, arcs[1].centre)
    angle, off = _normal(lines[0], at)
    return Recognised("double_d_hole", at, (("diameter", 2 * arcs[0].radius), ("across_flats", 2 * off)), angle)


def _flat(line: Line, arc: Arc) -> Recognised:
    angle, off = _normal(line, arc.centre)
    across = arc.radius + off
    return Recognised("d_hole", arc.centre, (("diameter", 2 * arc.radius), ("across_flat", across)), angle)


def _keyed(segments: tuple[Segment, ...], arc: Arc) -> Recognised:
    place = segments.index(arc)
    far = segments[(place + 2) % 4]
    assert isinstance(far, Line)  # three lines and one arc: the one across from it is a line
    angle, off = _normal(far, arc.centre)
    figures = (("diameter", 2 * arc.radius), ("key_width", far.length), ("key_depth", off - arc.radius))
    return Recognised("keyed_hole", arc.centre, figures, angle)


def _normal(line: Line, centre: XY) -> tuple[float, float]:
    """The direction in which a line lies from ``centre``, as seen square to it, and how far; an opening's own sides
    have the outside on their right."""
    tx, ty = line.tangent_at(0.0)
    off = (line.start[0] - centre[0]) * ty - (line.start[1] - centre[1]) * tx
    return math.atan2(-tx, ty), off


def _between(a: XY, b: XY) -> XY:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _half_turn(angle: float) -> float:
    """An angle of a shape that comes to itself at a half turn: from 0 up to but without a half turn."""
    turned = angle % math.pi
    return 0.0 if math.pi - turned < 1e-9 else turned


_BUILD: Final[dict[ShapeKind, Callable[[Recognised], Contour]]] = {
    "cutout": lambda one: shapes.rounded_rectangle(
        one.at, one.figure("width"), one.figure("height"), one.figure("corner_radius"), one.angle
    ),
    "slot": lambda one: shapes.slot(one.at, one.figure("length"), one.figure("width"), one.angle),
    "d_hole": lambda one: shapes.d_hole(one.at, one.figure("diameter"), one.figure("across_flat"), one.angle),
    "double_d_hole": lambda one: shapes.double_d_hole(
        one.at, one.figure("diameter"), one.figure("across_flats"), one.angle
    ),
    "keyed_hole": lambda one: shapes.keyed_hole(
        one.at, one.figure("diameter"), one.figure("key_width"), one.figure("key_depth"), one.angle
    ),
}

"""Lettering and scales as exact strokes in panel coordinates, with the ground that they take.

Lines are a tenth of the height wide (ISO 3098, lettering B, from memory), ticks as wide as the lines of their numbers.
Numbers stand upright, each as far outside its tick as the next: the line from the shaft through their middle is that
of the tick.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from toolpaths import lettering
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Line, Segment, turned
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.job import Feature, Scale, Text
from toolpaths.layout.panel import Legend

TURN = 2 * math.pi
WHOLE = 1e-9
"""Radians; a sweep this near to a whole turn is one."""


def legend_of(feature: Feature) -> Legend | None:
    """A text or scale of the job; None for any other feature."""
    match feature:
        case Text():
            return _text(feature)
        case Scale():
            return _scale(feature)
    return None


def _line(height: float) -> float:
    return height * lettering.LINE / lettering.CAPITAL


def _text(text: Text) -> Legend:
    baseline = turned(text.at, (0.0, -text.height / 2), text.angle)
    strokes = lettering.strokes(text.text, baseline, text.height, text.align, text.angle)
    long = lettering.width(text.text, text.height)
    middle = {"left": long / 2, "centre": 0.0, "right": -long / 2}[text.align]
    area = _box(turned(text.at, (middle, 0.0), text.angle), text.text, text.height, text.angle)
    return Legend(
        f"text[{text.number}]", text.label or text.text, text.text, text.at, text.height, _line(text.height),
        text.depth, strokes, (area,),
    )  # fmt: skip


def _box(middle: XY, text: str, height: float, angle: float = 0.0) -> Contour:
    """The ground of one line of lettering about the middle of its capitals, with the width of its lines."""
    line = _line(height)
    low, high = -height / 2, height / 2
    ys = [y for stroke in lettering.strokes(text, (0.0, low), height) for piece in stroke for y in piece.bounds[1::2]]
    low, high = min([low, *ys]), max([high, *ys])
    place = turned(middle, (0.0, (low + high) / 2), angle)
    return rounded_rectangle(place, lettering.width(text, height) + line, high - low + line, 0.0, angle)


# scales --------------------------------------------------------------------------------------------------------------


def _scale(scale: Scale) -> Legend:
    line = _line(scale.height)
    strokes: list[tuple[Segment, ...]] = []
    areas: list[Contour] = []
    for angle, length in _ticks(scale):
        ends = (_polar(scale, scale.radius, angle), _polar(scale, scale.radius + length, angle))
        strokes.append((Line(*ends),))
        middle = _polar(scale, scale.radius + length / 2, angle)
        areas.append(rounded_rectangle(middle, length + line, line, 0.0, angle))
    if scale.arc:
        arc = _joining(scale)
        strokes.append((arc,))
        areas.append(_along(arc, line))
    for tick, text in enumerate(scale.texts):
        if text:
            angle = scale.start_angle - scale.sweep * tick / scale.divisions
            middle = _number_at(scale, text, angle)
            baseline = middle[0], middle[1] - scale.height / 2
            strokes += lettering.strokes(text, baseline, scale.height, "centre")
            areas.append(_box(middle, text, scale.height))
    return Legend(
        f"scale[{scale.number}]", scale.label, " ".join(scale.texts), scale.at, scale.height, line, scale.depth,
        tuple(strokes), tuple(areas),
    )  # fmt: skip


def _ticks(scale: Scale) -> Iterator[tuple[float, float]]:
    """The angle (rad) and length of each tick, clockwise; of a whole turn the last would be the first."""
    count = scale.divisions * scale.subdivisions
    for tick in range(count if _is_round(scale) else count + 1):
        is_major = tick % scale.subdivisions == 0
        angle = scale.start_angle - scale.sweep * tick / count
        yield angle, scale.major_tick if is_major else scale.minor_tick


def _is_round(scale: Scale) -> bool:
    return scale.sweep > TURN - WHOLE


def _joining(scale: Scale) -> Arc:
    """The line that joins the ticks where they begin."""
    start = _polar(scale, scale.radius, scale.start_angle)
    end = start if _is_round(scale) else _polar(scale, scale.radius, scale.start_angle - scale.sweep)
    return Arc(start, end, scale.at, ccw=False)


def _along(arc: Arc, line: float) -> Contour:
    """The ground of an arc as wide as its line; of a whole circle the ring, open by a hair."""
    inner, outer = max(arc.radius - line / 2, arc.radius / 100), arc.radius + line / 2
    (cx, cy), sweep = arc.centre, min(arc.sweep, TURN - 1e-4)
    begin = math.atan2(arc.start[1] - cy, arc.start[0] - cx)

    def at(radius: float, angle: float) -> XY:
        return cx + radius * math.cos(angle), cy + radius * math.sin(angle)

    a, b, c, d = at(outer, begin - sweep), at(outer, begin), at(inner, begin), at(inner, begin - sweep)
    return Contour((Arc(a, b, arc.centre, True), Line(b, c), Arc(c, d, arc.centre, False), Line(d, a)))


def _number_at(scale: Scale, text: str, angle: float) -> XY:
    """The middle of a number: its box, seen along the tick, begins ``gap`` beyond the tick."""
    cos, sin = abs(math.cos(angle)), abs(math.sin(angle))
    reach = cos * lettering.width(text, scale.height) / 2 + sin * scale.height / 2
    return _polar(scale, scale.radius + scale.major_tick + scale.gap + reach, angle)


def _polar(scale: Scale, radius: float, angle: float) -> XY:
    return scale.at[0] + radius * math.cos(angle), scale.at[1] + radius * math.sin(angle)

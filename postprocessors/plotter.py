"""Full-size drawings for a pen plotter: SVG with strokes only, one group per pen, one user unit a millimetre.

A drawing's Y points up, SVG's points down: the flip is done here, in ``_Sheet.point``, and nowhere else; with it a
counter-clockwise arc keeps its look and so has sweep flag 0.
"""

from __future__ import annotations

import math
import re
from typing import Any

import svgwrite

from postprocessors.base import DrawingPost, number
from toolpaths.drawing import TRUE, Chain, Drawing, Mark, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import XY, Arc, Line

DECIMALS = 4
"""A tenth of a micrometre: finer than any pen, coarse enough that the text stays the same on every computer."""


class Plotter(DrawingPost):
    """An SVG sheet at 1:1; every pen is one group, so that a plotter can ask for one pen after the other."""

    name = "plotter"
    suffix = ".svg"
    sheets = True
    scales = True
    summary = "full-size SVG for a pen plotter: strokes only, one group per pen, no fonts"

    def write(self, drawing: Drawing) -> str:
        """The whole SVG text; the same drawing gives the same bytes."""
        sheet = _Sheet(drawing)
        for pen in drawing.pens:
            sheet.draw(pen)
        return sheet.text()


class _Sheet:
    """One SVG document; its user unit is a millimetre of paper."""

    def __init__(self, drawing: Drawing) -> None:
        self.left, bottom, right, self.top = drawing.bounds
        self.scale = drawing.scale
        wide, high = self.scale.of((right - self.left, self.top - bottom))
        self.svg = svgwrite.Drawing(
            size=(f"{_mm(wide)}mm", f"{_mm(high)}mm"), viewBox=f"0 0 {_mm(wide)} {_mm(high)}", debug=False
        )
        scaled = "" if self.scale == TRUE else f". {self.scale.said}"
        self.svg.set_desc(title=_printable(f"{drawing.title}: {drawing.panel}{scaled}"))
        self.ids: set[str] = set()

    def text(self) -> str:
        return str(self.svg.tostring()) + "\n"

    def draw(self, pen: Pen) -> None:
        look: dict[str, Any] = {
            "id": self.new_id(pen.name), "fill": "none", "stroke": "black", "stroke_width": _mm(pen.width),
            "stroke_linecap": "round", "stroke_linejoin": "round",
        }
        if pen.dash:
            longer = math.sqrt(self.scale.x * self.scale.y)
            look["stroke_dasharray"] = " ".join(_mm(length * longer) for length in pen.dash)
            look["stroke_linecap"] = "butt"  # round caps would lengthen the dashes and close their gaps
        group = self.svg.g(**look)
        for mark in pen.marks:
            group.add(self.element(mark))
        self.svg.add(group)

    def element(self, mark: Mark) -> Any:
        if isinstance(mark, Polyline):
            return self.svg.path(d=self.way(mark.points))
        circle = _full_circle(mark)
        if circle:
            centre = self.point(circle.centre).split(",")
            rx, ry = self.radii(circle)
            return self.svg.circle(centre, rx) if rx == ry else self.svg.ellipse(centre, (rx, ry))
        return self.svg.path(d=self.chain(mark))

    def radii(self, arc: Arc) -> tuple[str, str]:
        """Its radius across and up: true scale makes an ellipse of it where the two directions are out differently."""
        across, up = self.scale.of((arc.radius, arc.radius))
        return _mm(across), _mm(up)

    def way(self, points: tuple[XY, ...]) -> str:
        first, *rest = points
        return " ".join([f"M{self.point(first)}", *(f"L{self.point(point)}" for point in rest or [first])])

    def chain(self, chain: Chain) -> str:
        parts = [f"M{self.point(chain.segments[0].start)}"]
        for segment in chain.segments:
            parts += [f"L{self.point(segment.end)}"] if isinstance(segment, Line) else self.arc(segment)
        return " ".join([*parts, "Z"] if chain.closed else parts)

    def arc(self, arc: Arc) -> list[str]:
        """One A command; two for a full circle within a chain, since SVG draws none that ends where it begins."""
        if arc.is_circle:
            halves = arc.cut(0.0, arc.length / 2), arc.cut(arc.length / 2, arc.length)
            return [*self.arc(halves[0]), *self.arc(halves[1])]
        (rx, ry), large, sweep = self.radii(arc), int(arc.sweep > math.pi), int(not arc.ccw)
        return [f"A{rx},{ry} 0 {large} {sweep} {self.point(arc.end)}"]

    def point(self, point: XY) -> str:
        """A place on the sheet; here Y turns from up to down."""
        x, y = self.scale.of((point[0] - self.left, self.top - point[1]))
        return f"{_mm(x)},{_mm(y)}"

    def new_id(self, name: str) -> str:
        """The pen's name as an id; one that is taken gets a number."""
        slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "pen"
        slug = slug if slug[0].isalpha() else f"pen-{slug}"
        unique, count = slug, 1
        while unique in self.ids:
            count += 1
            unique = f"{slug}-{count}"
        self.ids.add(unique)
        return unique


def _full_circle(chain: Chain) -> Arc | None:
    """The one circle that a chain consists of, if it does."""
    only = chain.segments[0]
    return only if len(chain.segments) == 1 and isinstance(only, Arc) and only.is_circle else None


def _mm(value: float) -> str:
    if not math.isfinite(value):
        raise PostError(f"plotter: a coordinate of the drawing is {value}")
    return number(value, DECIMALS)


def _printable(text: str) -> str:
    """Text without the control characters that XML cannot hold, on one line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)

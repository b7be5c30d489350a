"""Flat geometry for a cutting service: DXF with true circles and arcs, closed contours, one layer for each purpose.

The version is that of the year 2000 (AC1015): the oldest that states its units and has closed polylines of lines and
arcs in one piece, so the one that most cutting software reads without asking. Coordinates are millimetres.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from postprocessors.base import DrawingPost
from toolpaths.drawing import Drawing, Mark, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import Arc, Segment

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

VERSION: Final = "R2000"
MILLIMETRES: Final = 4
"""$INSUNITS, the units of a drawing (DXF reference, HEADER section)."""

PLUS: Final = 2
"""$PDMODE: points are shown as a plus sign (DXF reference), so that a mark can be seen."""

NOTES: Final = "NOTES"
"""The layer of everything that is written."""

SIGNS: Final = {"Ø": "%%c", "°": "%%d", "±": "%%p"}
"""Control codes of lettering (DXF reference, TEXT)."""

COLOURS: Final = (7, 5, 3, 6, 4, 30, 8)
"""Of the layers in turn, numbers of DXF's own table: told apart on a dark ground and on a light one."""


class Dxf(DrawingPost):
    """One DXF file a panel: a circle is CIRCLE, every other closed contour one LWPOLYLINE whose arcs are bulges."""

    name = "dxf"
    suffix = ".dxf"
    kind = "dxf"
    summary = "flat geometry in mm for a cutting service: DXF of the year 2000, true arcs, a layer for each purpose"
    flat = True

    def write(self, drawing: Drawing) -> str:
        """The whole text, in ASCII; the same drawing gives the same bytes."""
        import ezdxf  # here, since it takes a quarter of a second and most commands need none of it

        with _same_each_time():
            document = ezdxf.new(VERSION, setup=False)
            _head(document, drawing)
            space = document.modelspace()
            for number, pen in enumerate(drawing.pens):
                if pen.name not in document.layers:  # 0 is there from the first, and names differ by more than case
                    document.layers.add(pen.name, color=COLOURS[number % len(COLOURS)])
                for mark in pen.marks:
                    _add(space, mark, {"layer": pen.name})
            if drawing.texts:
                document.layers.add(NOTES, color=9)
            for text in drawing.texts:
                entity = space.add_text(_ascii(text.words), height=text.height, dxfattribs={"layer": NOTES})
                entity.set_placement(text.at)
            stream = io.StringIO()
            document.write(stream)
        return stream.getvalue()


def _head(document: Document, drawing: Drawing) -> None:
    """Units, extents, and a view of all of it, so that it opens on the whole panel."""
    header = document.header
    header["$INSUNITS"], header["$MEASUREMENT"], header["$LUNITS"] = MILLIMETRES, 1, 2
    header["$PDMODE"], header["$PDSIZE"] = PLUS, 2.0
    x0, y0, x1, y1 = drawing.bounds
    document.modelspace().reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    document.modelspace().reset_limits((x0, y0), (x1, y1))
    document.set_modelspace_vport(max(x1 - x0, y1 - y0), ((x0 + x1) / 2, (y0 + y1) / 2))


def _add(space: Any, mark: Mark, on: dict[str, Any]) -> None:
    """One mark as one entity."""
    if isinstance(mark, Polyline):
        _finite(*(value for point in mark.points for value in point))
        if len(mark.points) == 1:
            space.add_point(mark.points[0], dxfattribs=on)
        elif len(mark.points) == 2:
            space.add_line(*mark.points, dxfattribs=on)
        else:
            closed = mark.points[0] == mark.points[-1]
            space.add_lwpolyline(mark.points[: -1 if closed else None], close=closed, dxfattribs=on)
        return
    only = mark.segments[0]
    if len(mark.segments) == 1 and isinstance(only, Arc) and only.is_circle:
        _finite(*only.centre, only.radius)
        space.add_circle(only.centre, only.radius, dxfattribs=on)
        return
    points = [(*segment.start, _bulge(segment)) for whole in mark.segments for segment in _in_halves(whole)]
    if not mark.closed:
        points.append((*mark.segments[-1].end, 0.0))
    _finite(*(value for point in points for value in point))
    space.add_lwpolyline(points, format="xyb", close=mark.closed, dxfattribs=on)


def _in_halves(segment: Segment) -> tuple[Segment, ...]:
    """A full circle within a chain as two arcs: a bulge cannot say one whose ends are the same."""
    if isinstance(segment, Arc) and segment.is_circle:
        half = segment.length / 2
        return segment.cut(0.0, half), segment.cut(half, segment.length)
    return (segment,)


def _bulge(segment: Segment) -> float:
    """The tangent of a quarter of the arc's turn, positive counter-clockwise (DXF reference); 0 for a line."""
    if not isinstance(segment, Arc):
        return 0.0
    bulge = math.tan(segment.sweep / 4)
    return bulge if segment.ccw else -bulge


def _finite(*values: float) -> None:
    if not all(map(math.isfinite, values)):
        raise PostError("dxf: a coordinate of the drawing is no finite number")


def _ascii(words: str) -> str:
    r"""Words on one line; the signs of the trade as DXF's control codes, others beyond ASCII in its own notation.

    >>> _ascii("Ø6 x 90°, 100 %%, é")
    '%%c6 x 90%%d, 100 % %, \\U+00E9'
    """
    shown = "".join(sign if sign.isprintable() else " " for sign in words).replace("%%", "% %").replace("^", "^ ")
    return "".join(SIGNS.get(sign, sign if sign.isascii() else f"\\U+{ord(sign):04X}") for sign in shown)


@contextmanager
def _same_each_time() -> Iterator[None]:
    """No clock and no chance in what the library writes; its setting is put back."""
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before

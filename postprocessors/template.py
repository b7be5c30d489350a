"""Full-size pages to print: every drawing of a job in one PDF, each laid over as many sheets of paper as it takes.

A page shows its part of a drawing at 1:1, clipped to the sheet's window, and round it what one needs to trust it and
to join it to its neighbours: two check bars, crosses that neighbours share, a small plan, and which way is up.
Lettering is strokes, as in the drawing; the same words stand under it invisibly, so that a reader can search them.
"""

from __future__ import annotations

import io
import math
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from itertools import pairwise
from typing import Final

from reportlab import rl_config
from reportlab.lib.units import mm as MM
from reportlab.pdfgen.canvas import Canvas

from postprocessors.base import SheetsPost
from toolpaths.clipping import bounds_of
from toolpaths.drawing import LETTERING, NARROW, TRUE, Chain, Drawing, Mark, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.framing import Numbered, Words, framed
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds
from toolpaths.lettering import width
from toolpaths.sheets import Paper, Tile, Tiling, true_size
from toolpaths.tiles import tiling_of
from toolpaths.tolerance import CURVE

DATE = "SOURCE_DATE_EPOCH"

Curve = tuple[XY, XY, XY, XY]
"""A cubic Bezier curve: its start, its two handles, its end."""

Inked = tuple[Pen, Sequence[tuple[Mark, Bounds]]]
"""A pen with its marks, and the box that each covers."""

DECIMALS: Final = 4
"""Of a place on the page, in points of 1/72 in: 0.02 µm."""


class Template(SheetsPost):
    """One PDF of vectors at 1:1, for paper of a printer; the same drawings give the same bytes."""

    name = "template"
    suffix = ".pdf"
    kind = "template"
    scales = True
    summary = "full-size pages to print in one PDF, tiled where a panel is larger than the paper"

    def write(self, drawings: Sequence[Drawing], paper: Paper) -> bytes:
        """The whole PDF. PostError where a coordinate is no number."""
        scale = drawings[0].scale if drawings else TRUE
        true = true_size(paper, scale.x, scale.y)
        laid = [(drawing, tiling_of(drawing, true)) for drawing in drawings]
        stream = io.BytesIO()
        with _undated():
            pdf = Canvas(stream, pagesize=(paper.width * MM, paper.height * MM), invariant=1, pageCompression=1)
        pdf.setTitle(_printable(drawings[0].title) if drawings else self.name)
        pdf.setCreator("holewright")
        pdf.setAuthor("")
        pdf.setSubject("full-size template: print at 100 %")
        pdf.setViewerPreference("PrintScaling", "None")  # readers that know it then offer no fitting to the page
        count, number = sum(len(tiling.tiles) for _, tiling in laid), 0
        for drawing, tiling in laid:
            first = number + 1
            inked = [(pen, [(mark, _grown(bounds_of(mark), pen.width)) for mark in pen.marks]) for pen in drawing.pens]
            for tile in tiling.tiles:
                number += 1
                _Page(pdf, drawing, inked, tiling, tile, first).draw(number, count)
        with _compact():
            pdf.save()
        return stream.getvalue()


@contextmanager
def _undated() -> Iterator[None]:
    """Meanwhile the environment sets no date: even a file that is to be always the same would take it."""
    date = os.environ.pop(DATE, None)
    try:
        yield
    finally:
        if date is not None:
            os.environ[DATE] = date


@contextmanager
def _compact() -> Iterator[None]:
    """Streams as bytes, not as letters for bytes: a fifth smaller and written in half the time."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def arc_curves(arc: Arc) -> list[Curve]:
    """An arc as cubic Bezier curves that leave it by ``CURVE`` at most, as few as that takes.

    Each piece of sweep a has its ends on the arc and handles along the tangents, 4/3 tan(a/4) radii long, so that its
    middle lies on the arc too. It then runs outside the arc by at most 2/27 sin(a/4)^6 / cos(a/4)^2 radii: with
    u = sin(a/4), x^2 + y^2 - 1 of the unit arc is 16 u^6/cos^2(a/4) t^2 (1 - t)^2 (1 - 2 t)^2, greatest at
    t (1 - t) = 1/6 (own derivation; for a quarter circle it is the known 2.73e-4 radii).
    """
    count = 1
    while curve_error(arc.radius, arc.sweep / count) > CURVE:
        count += 1
    piece = arc.sweep / count
    handle = 4 / 3 * math.tan(piece / 4) * (1 if arc.ccw else -1)
    cx, cy = arc.centre
    points = [arc.start, *(arc.point_at(arc.length * step / count) for step in range(1, count)), arc.end]
    curves = []
    for (sx, sy), (ex, ey) in pairwise(points):
        first = sx - handle * (sy - cy), sy + handle * (sx - cx)
        second = ex + handle * (ey - cy), ey - handle * (ex - cx)
        curves.append(((sx, sy), first, second, (ex, ey)))
    return curves


def curve_error(radius: float, sweep: float) -> float:
    """The most that one curve of ``arc_curves`` leaves an arc of that radius and sweep (rad), mm."""
    if sweep >= TURN:  # its handles would have no end
        return math.inf
    return 2 / 27 * radius * math.sin(sweep / 4) ** 6 / math.cos(sweep / 4) ** 2


class _Page:
    """One page: a tile of a drawing with what stands round it."""

    def __init__(
        self, pdf: Canvas, drawing: Drawing, inked: Sequence[Inked], tiling: Tiling, tile: Tile, first: int
    ) -> None:
        lying = tiling.width > tiling.height
        self.scale = drawing.scale.turned if lying else drawing.scale
        """What the sheet needs as it is seen; true scale is told of upright paper."""
        self.drawing = replace(drawing, scale=self.scale)
        self.pdf, self.inked, self.tiling, self.tile = pdf, inked, tiling, tile
        self.first = first
        """The number of the drawing's first page."""
        self.window = tiling.window

    def draw(self, number: int, count: int) -> None:
        wide, high = self.scale.of((self.tiling.width * MM, self.tiling.height * MM))
        self.pdf.setPageSize((wide, high))
        if self.scale != TRUE:
            self.pdf.scale(self.scale.x, self.scale.y)
        self.part()
        self.frame(Numbered(number, count, self.first, "page"))
        self.pdf.showPage()

    # ---- the drawing

    def part(self) -> None:
        """What the window shows of the drawing."""
        self.pdf.saveState()
        x0, y0, x1, y1 = self.window
        window = self.pdf.beginPath()
        window.rect(x0 * MM, y0 * MM, (x1 - x0) * MM, (y1 - y0) * MM)
        self.pdf.clipPath(window, stroke=0, fill=0)
        by = self.tiling.to_sheet(self.tile, (0.0, 0.0))
        for pen, marks in self.inked:
            self.pen(pen.width, pen.dash)
            for mark, box in marks:
                if _meet(box, self.tile.area):
                    self.stroke(mark, by)
        self.pdf.restoreState()

    def frame(self, place: Numbered) -> None:
        """What stands round the window."""
        frame = framed(self.drawing, self.tiling, self.tile, place)
        for line, marks in ((NARROW, frame.lines), (LETTERING, frame.outline)):
            self.pen(line)
            for mark in marks:
                self.stroke(mark)
        for words in frame.words:
            self.text(words)

    # ---- strokes

    def pen(self, line: float, dash: Sequence[float] = ()) -> None:
        self.pdf.setLineWidth(line * MM)
        self.pdf.setLineJoin(1)
        self.pdf.setLineCap(0 if dash else 1)  # round caps would lengthen the dashes and close their gaps
        self.pdf.setDash([length * MM for length in dash], 0)

    def text(self, words: Words) -> None:
        """One line of lettering, and its words invisibly in its place."""
        self.pen(LETTERING)
        for stroke in words.strokes():
            self.stroke(stroke)
        back = width(words.text, words.height) * {"left": 0.0, "centre": 0.5, "right": 1.0}[words.align]
        hidden = self.pdf.beginText()
        hidden.setTextRenderMode(3)
        hidden.setFont("Helvetica", words.height * MM)
        cos, sin = math.cos(words.angle), math.sin(words.angle)
        x, y = words.at[0] - back * cos, words.at[1] - back * sin
        hidden.setTextTransform(cos, sin, -sin, cos, x * MM, y * MM)
        hidden.textOut(_printable(words.text).encode("cp1252", "replace").decode("cp1252"))
        self.pdf.drawText(hidden)

    def stroke(self, mark: Mark, by: XY = (0.0, 0.0)) -> None:
        """One mark, moved by so much."""
        self.pdf.drawPath(_Path(mark, by))


class _Path:
    """A mark, moved, as reportlab asks a path for its text: in one piece, far quicker than number by number."""

    def __init__(self, mark: Mark, by: XY) -> None:
        self.mark, self.by = mark, by

    def getCode(self) -> str:  # reportlab's name
        """The operators and their numbers, in points of 1/72 in. PostError where a coordinate is no number."""
        mark = self.mark
        points, form, last = _way(mark) if isinstance(mark, Polyline) else _chain(mark)
        dx, dy = self.by
        figures = [value for x, y in points for value in ((x + dx) * MM, (y + dy) * MM)]
        if not all(map(math.isfinite, figures)):
            raise PostError(f"template: a coordinate of the drawing is not finite: {points}")
        return f"n {form % tuple(figures)}{last}"


PLACE: Final = f"%.{DECIMALS}f %.{DECIMALS}f"
BEGIN, LINE, CURVED = f"{PLACE} m", f" {PLACE} l", f" {PLACE} {PLACE} {PLACE} c"


def _way(mark: Polyline) -> tuple[Sequence[XY], str, str]:
    """Points, and the text into which their figures go; a dot is a line of no length."""
    points = mark.points if len(mark.points) > 1 else mark.points * 2
    return points, BEGIN + LINE * (len(points) - 1), ""


def _chain(mark: Chain) -> tuple[Sequence[XY], str, str]:
    points, forms = [mark.segments[0].start], [BEGIN]
    for segment in mark.segments:
        if isinstance(segment, Arc):
            curves = arc_curves(segment)
            points += [point for _, *handles in curves for point in handles]
            forms.append(CURVED * len(curves))
        else:
            points.append(segment.end)
            forms.append(LINE)
    return points, "".join(forms), " h" if mark.closed else ""


def _grown(box: Bounds, by: float) -> Bounds:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _meet(one: Bounds, other: Bounds) -> bool:
    # said so that a coordinate that is no number meets everything, and is refused where it is drawn
    return not (one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1])


def _printable(text: str) -> str:
    """Text without control characters and lone halves of characters, on one line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)

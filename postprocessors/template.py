"""Full-size pages to print: every drawing of a job in one PDF, each laid over as many sheets of paper as it takes.

A page shows its part of a drawing at 1:1, clipped to the sheet's window, and round it what one needs to trust it and
to join it to its neighbours: two check bars, crosses that neighbours share, a small plan, and which way is up.
Lettering is strokes, as in the drawing; the same words stand under it invisibly, so that a reader can search them.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

from reportlab.lib.units import mm as MM
from reportlab.pdfgen.canvas import Canvas

from postprocessors.base import SheetsPost
from toolpaths.drawing import Chain, Drawing, Mark, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds
from toolpaths.lettering import Align, cut_short, letter, width, wrapped
from toolpaths.sheets import HEAD, MARGIN, OVERLAP, SIDE, Paper, Tile, Tiling, tiled
from toolpaths.tolerance import CURVE

NARROW: Final = 0.18
LETTERING: Final = 0.25
"""Widths of lines and of lettering round the window, mm: pens of the series of ISO 9175 (from memory)."""

TITLE_HEIGHT: Final = 4.0
HEIGHT: Final = 2.5
LINE_FEED: Final = 1.7
"""From baseline to baseline in lettering heights."""

ARM: Final = OVERLAP / 2 - 1.0
"""How far a cross reaches from its middle, mm: within the overlap."""

PLAN: Final = (34.0, HEAD - 2.0)
"""The room of the small plan, mm."""

MOST_NOTES: Final = 3
"""Lines of notes that the heading has room for."""

HERE: Final = 0.8
WHITE: Final = 1.0
"""Tones of grey: of this sheet on the plan, and of paper."""

AIR: Final = 3.0
"""Between two things beside each other, mm."""

INCH: Final = 25.4

BEFORE: Final = (
    "Print at 100 %, never fitted to the page. Before you punch, measure both bars on every sheet, then a pair of "
    "holes."
)

Curve = tuple[XY, XY, XY, XY]
"""A cubic Bezier curve: its start, its two handles, its end."""

Inked = tuple[Pen, Sequence[tuple[Mark, Bounds]]]
"""A pen with its marks, and the box that each covers."""

Place = Callable[[XY], XY]
"""Where a point of a drawing lies on the sheet."""


class Template(SheetsPost):
    """One PDF of vectors at 1:1, for paper of a printer; the same drawings give the same bytes."""

    name = "template"
    suffix = ".pdf"
    kind = "template"
    summary = "full-size pages to print in one PDF, tiled where a panel is larger than the paper"

    def write(self, drawings: Sequence[Drawing], paper: Paper) -> bytes:
        """The whole PDF. PostError where a coordinate is no number."""
        laid = [(drawing, tiled(drawing.bounds, paper, shapes_of(drawing))) for drawing in drawings]
        stream = io.BytesIO()
        pdf = Canvas(stream, pagesize=(paper.width * MM, paper.height * MM), invariant=1, pageCompression=1)
        pdf.setTitle(_printable(drawings[0].title) if drawings else self.name)
        pdf.setCreator("holewright")
        pdf.setAuthor("")
        pdf.setSubject("full-size template: print at 100 %")
        pdf.setViewerPreference("PrintScaling", "None")  # readers that know it then offer no fitting to the page
        count, number = sum(len(tiling.tiles) for _, tiling in laid), 0
        for drawing, tiling in laid:
            first = number + 1
            inked = [(pen, [(mark, _grown(_bounds(mark), pen.width)) for mark in pen.marks]) for pen in drawing.pens]
            for tile in tiling.tiles:
                number += 1
                _Page(pdf, drawing, inked, tiling, tile, first).draw(number, count)
        pdf.save()
        return stream.getvalue()


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
        self.pdf, self.drawing, self.inked, self.tiling, self.tile = pdf, drawing, inked, tiling, tile
        self.first = first
        """The number of the drawing's first page."""
        self.window = tiling.window

    def draw(self, number: int, count: int) -> None:
        self.pdf.setPageSize((self.tiling.width * MM, self.tiling.height * MM))
        self.part()
        self.pen(NARROW)
        self.crosses()
        self.bars()
        self.heading(number, count)
        self.pdf.showPage()

    # ---- the drawing

    def part(self) -> None:
        """What the window shows of the drawing."""
        self.pdf.saveState()
        x0, y0, x1, y1 = self.window
        window = self.pdf.beginPath()
        window.rect(x0 * MM, y0 * MM, (x1 - x0) * MM, (y1 - y0) * MM)
        self.pdf.clipPath(window, stroke=0, fill=0)
        for pen, marks in self.inked:
            self.pen(pen.width, pen.dash)
            for mark, box in marks:
                if _meet(box, self.tile.area):
                    self.stroke(mark, self.on_sheet)
        self.pdf.restoreState()

    def on_sheet(self, point: XY) -> XY:
        return self.tiling.to_sheet(self.tile, point)

    def crosses(self) -> None:
        """Where this sheet and a neighbour are laid on each other."""
        for point in self.tiling.crosses(self.tile):
            x, y = self.on_sheet(point)
            self.line((x - ARM, y), (x + ARM, y))
            self.line((x, y - ARM), (x, y + ARM))

    # ---- round the window

    def bars(self) -> None:
        """100 mm below the window and 4 in upright beside it: a printer's two directions may be out differently."""
        x0, y0, x1, _ = self.window
        across = (x0, MARGIN + 8.0), (x0 + 100.0, MARGIN + 8.0)
        up = (MARGIN + 5.0, y0), (MARGIN + 5.0, y0 + 4 * INCH)
        self.line(*across)
        self.line(*up)
        for x, y in across:
            self.line((x, y - 2.0), (x, y + 2.0))
        for x, y in up:
            self.line((x - 2.0, y), (x + 2.0, y))
        self.text("100 mm", (x0 + 50.0, MARGIN + 9.5), HEIGHT, "centre")
        self.text("4 in = 101.6 mm", (MARGIN + 3.5, y0 + 2 * INCH), HEIGHT, "centre", TURN / 4)
        left = x0 + 100.0 + 2 * AIR
        y = MARGIN + 10.5
        for line in wrapped(BEFORE, HEIGHT, x1 - left):
            self.text(line, (left, y), HEIGHT)
            y -= HEIGHT * LINE_FEED

    def heading(self, number: int, count: int) -> None:
        """Title, page, which way is up, the drawing's notes; and where the page lies among its neighbours."""
        left, right = MARGIN + SIDE, self.tiling.width - MARGIN
        top = self.tiling.height - MARGIN
        y = top - TITLE_HEIGHT
        page = f"page {number} of {count}"
        if len(self.tiling.tiles) > 1:
            x0 = right - PLAN[0]
            self.plan((x0, top - PLAN[1], right, top), number)
            right = x0 - AIR
        self.text(page, (right, y), HEIGHT, "right")
        room = right - left
        beside = room - width(page, HEIGHT) - AIR
        title = cut_short(self.drawing.title, HEIGHT, beside)
        self.text(title, (left, y), min(TITLE_HEIGHT, HEIGHT * beside / max(1.0, width(title, HEIGHT))))
        for note in [line for text in self.drawing.notes for line in wrapped(text, HEIGHT, room)][:MOST_NOTES]:
            y -= HEIGHT * LINE_FEED
            self.text(cut_short(note, HEIGHT, room), (left, y), HEIGHT)
        x, foot = MARGIN + 4.0, top - HEAD + 5.0
        self.line((x, foot), (x, top - 1.0))
        self.shape(Polyline(((x - 1.2, top - 4.0), (x, top - 1.0), (x + 1.2, top - 4.0))))
        self.text("up", (x, foot - HEIGHT - 1.5), HEIGHT, "centre")

    def plan(self, box: Bounds, number: int) -> None:
        """The sheets of the drawing with its last pen's lines, its outline; this one filled, each with its number."""
        scale, origin = _fitted(_around([tile.area for tile in self.tiling.tiles]), box)

        def small(point: XY) -> XY:
            return origin[0] + scale * point[0], origin[1] + scale * point[1]

        cells = [(*small(tile.area[:2]), *small(tile.area[2:])) for tile in self.tiling.tiles]
        self.filled(cells[number - self.first], HERE)
        for x0, y0, x1, y1 in cells:
            self.shape(Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))))
        self.pen(LETTERING)
        for mark in self.drawing.pens[-1].marks:
            self.stroke(mark, small)
        for page, (x0, y0, x1, y1) in enumerate(cells, start=self.first):
            high = min(HEIGHT, (y1 - y0) * 0.5, (x1 - x0) * 0.3)
            x, y, half = (x0 + x1) / 2, (y0 + y1) / 2, width(str(page), high) / 2
            ground = _grown((x - half, y - high / 2, x + half, y + high / 2), high / 5)
            self.filled(ground, HERE if page == number else WHITE)  # the outline does not run through a number
            self.text(str(page), (x, y - high / 2), high, "centre")

    def filled(self, box: Bounds, tone: float) -> None:
        x0, y0, x1, y1 = box
        self.pdf.setFillGray(tone)
        self.pdf.rect(x0 * MM, y0 * MM, (x1 - x0) * MM, (y1 - y0) * MM, stroke=0, fill=1)

    # ---- strokes

    def pen(self, line: float, dash: Sequence[float] = ()) -> None:
        self.pdf.setLineWidth(line * MM)
        self.pdf.setLineJoin(1)
        self.pdf.setLineCap(0 if dash else 1)  # round caps would lengthen the dashes and close their gaps
        self.pdf.setDash([length * MM for length in dash], 0)

    def text(self, words: str, at: XY, height: float, align: Align = "left", angle: float = 0.0) -> None:
        """One line of lettering, and its words invisibly in its place."""
        self.pen(LETTERING if height >= HEIGHT else height / 10)
        for stroke in letter(words, at, height, align, angle):
            self.shape(stroke)
        self.pen(NARROW)
        back = width(words, height) * {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
        hidden = self.pdf.beginText()
        hidden.setTextRenderMode(3)
        hidden.setFont("Helvetica", height * MM)
        cos, sin = math.cos(angle), math.sin(angle)
        hidden.setTextTransform(cos, sin, -sin, cos, (at[0] - back * cos) * MM, (at[1] - back * sin) * MM)
        hidden.textOut(_printable(words).encode("cp1252", "replace").decode("cp1252"))
        self.pdf.drawText(hidden)

    def line(self, start: XY, end: XY) -> None:
        self.shape(Polyline((start, end)))

    def shape(self, mark: Mark) -> None:
        self.stroke(mark, lambda point: point)

    def stroke(self, mark: Mark, place: Place) -> None:
        """One mark, each of its points moved by ``place``."""
        path = self.pdf.beginPath()
        if isinstance(mark, Polyline):
            first, *rest = mark.points
            path.moveTo(*_pt(place(first)))
            for point in rest or [first]:
                path.lineTo(*_pt(place(point)))
        else:
            path.moveTo(*_pt(place(mark.segments[0].start)))
            for segment in mark.segments:
                if isinstance(segment, Arc):
                    for _, one, other, end in arc_curves(segment):
                        path.curveTo(*_pt(place(one)), *_pt(place(other)), *_pt(place(end)))
                else:
                    path.lineTo(*_pt(place(segment.end)))
            if mark.closed:
                path.close()
        self.pdf.drawPath(path, stroke=1, fill=0)


def _fitted(box: Bounds, into: Bounds) -> tuple[float, XY]:
    """Scale, and where zero then lies, so that ``box`` fills ``into`` from its upper right corner."""
    x0, y0, x1, y1 = box
    left, low, right, high = into
    scale = min((right - left) / (x1 - x0), (high - low) / (y1 - y0))
    return scale, (right - scale * x1, high - scale * y1)


def shapes_of(drawing: Drawing) -> list[Bounds]:
    """The boxes of all shapes, which are better not cut apart; strokes of lettering are small enough for an overlap."""
    return [
        _grown(_bounds(mark), pen.width / 2) for pen in drawing.pens for mark in pen.marks if isinstance(mark, Chain)
    ]


def _bounds(mark: Mark) -> Bounds:
    if isinstance(mark, Polyline):
        return _around([(x, y, x, y) for x, y in mark.points])
    return _around([segment.bounds for segment in mark.segments])


def _around(boxes: Sequence[Bounds]) -> Bounds:
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _grown(box: Bounds, by: float) -> Bounds:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _meet(one: Bounds, other: Bounds) -> bool:
    # said so that a coordinate that is no number meets everything, and is refused where it is drawn
    return not (one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1])


def _pt(point: XY) -> XY:
    """A place on the sheet in points of 1/72 in."""
    if not (math.isfinite(point[0]) and math.isfinite(point[1])):
        raise PostError(f"template: a coordinate of the drawing is {point}")
    return point[0] * MM, point[1] * MM


def _printable(text: str) -> str:
    """Text without control characters and lone halves of characters, on one line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)

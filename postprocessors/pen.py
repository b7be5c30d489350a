"""Drawings as programs: for a pen held in a machine's spindle, or for a plotter that reads RS-274 words.

The pen is moved by Z, lifted above the sheet and sent a little below its surface, where its spring gives; or by the
words of the machine's file, and then Z is never named. The spindle stands still. What a plotter's drawing has as broken
lines comes as its dashes, which begin anew with each mark, and on a circle at its right, clockwise: as those of SVG do.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import cycle, pairwise

from postprocessors.base import PenPost, number
from postprocessors.rs274 import MODES, UNITS, Words
from toolpaths import motion
from toolpaths.drawing import TRUE, Drawing, Mark, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.tables.rows import Machine, PenHolder
from toolpaths.tolerance import PEN_CHORD, SAME_POINT


class PenProgram(PenPost):
    """One program for one width of pen."""

    name = "pen"
    suffix = ".nc"
    summary = "drawings as programs for a pen: held in the spindle, or of a plotter that reads RS-274 words"

    def write(self, drawing: Drawing, machine: Machine) -> str:
        """The whole text. PostError where the machine does not say how its pen is moved."""
        if machine.pen is None:
            raise PostError(f"pen: machine {machine.name!r} does not say how its pen is lowered")
        writer = _Writer(drawing, machine, machine.pen)
        writer.heading()
        for pen in drawing.pens:
            writer.comment(pen.name)
            for mark in pen.marks:
                for run in runs(mark, pen.dash):
                    writer.stroke(run)
        writer.end()
        return writer.text()


class _Writer(Words):
    """One program for a pen."""

    def __init__(self, drawing: Drawing, machine: Machine, pen: PenHolder) -> None:
        super().__init__("pen", drawing.panel, machine)
        self.drawing = drawing
        self.scale = drawing.scale
        self.pen = pen
        self.up, self.down = max(pen.up, drawing.clear_height), -pen.press
        if pen.by_command:
            self.up = self.down = 0.0
            self.exact[2] = 0.0  # so that Z is never news

    def heading(self) -> None:
        drawing, pen = self.drawing, self.pen
        widths = " and ".join(dict.fromkeys(number(one.width, 2) for one in drawing.pens))
        self.comment(f"title: {drawing.title}")
        self.comment(f"panel: {drawing.panel}, drawn with a pen {widths} mm wide")
        x0, y0, x1, y1 = drawing.bounds
        (left, low), (right, top) = self.scale.of((x0, y0)), self.scale.of((x1, y1))
        self.comment(f"sheet: X{self.mm(left)} to X{self.mm(right)}, Y{self.mm(low)} to Y{self.mm(top)}")
        own = drawing.bounds[:2] == (0, 0)
        self.comment("X0 Y0: " + ("the lower left corner of this sheet" if own else "as in the panel's programs"))
        if self.scale != TRUE:
            self.comment(self.scale.said)
        if pen.by_command:
            self.comment(f"the pen is lowered by {pen.lower} and lifted by {pen.lift}")
        else:
            self.comment("Z0: the tip of the pen touches what is drawn on")
            self.comment("a pen on a spring: the spindle stands still")
            self.comment(f"drawn at Z{self.mm(self.down)}, with the pen lifted to Z{self.mm(self.up)} in between")
            if not drawing.clear_height:
                self.comment("no clamp may stand in the way of the pen")
        self.code(f"{UNITS[self.dialect.units]} {MODES}")
        if pen.by_command:
            self.order(pen.lift)
        else:
            self.code("M5")
            self.code(f"G0 Z{self.mm(self.up)}")
            self.exact[2] = self.up

    def stroke(self, run: Sequence[Segment]) -> None:
        """Pen over the start, down, along the run, up."""
        x, y = self.scale.of(run[0].start)
        self.straight("G0", (x, y, self.up), "")
        self.lower((x, y))
        for segment in run:
            self.draw(segment)
        self.lift()

    def draw(self, segment: Segment) -> None:
        feed = self.feed_word(self.pen.feed)
        if isinstance(segment, Line):
            self.straight("G1", (*self.scale.of(segment.end), self.down), feed)
        elif self.dialect.arcs and self.scale.x == self.scale.y:
            end, centre = self.scale.of(segment.end), self.scale.of(segment.centre)
            self.arc(motion.Arc((*end, self.down), centre, segment.ccw, self.pen.feed))
        else:
            for point in chords(segment, max(self.scale.x, self.scale.y)):
                self.straight("G1", (*self.scale.of(point), self.down), feed)

    def lower(self, at: XY) -> None:
        if self.pen.by_command:
            self.order(self.pen.lower)
            return
        feed = min(self.pen.feed, self.machine.max_z) if self.machine.cuts else self.pen.feed
        self.straight("G1", (*at, self.down), self.feed_word(feed))
        self.wait()

    def lift(self) -> None:
        if self.pen.by_command:
            self.order(self.pen.lift)
            return
        x, y, _ = self.exact
        assert x is not None and y is not None
        self.straight("G0", (x, y, self.up), "")

    def order(self, words: str) -> None:
        """The words that move the pen, and the time it takes."""
        self.code(words)
        self.wait()

    def wait(self) -> None:
        if self.pen.dwell > 0:
            seconds = self.dialect.dwell == "seconds"
            self.code(f"G4 P{number(self.pen.dwell, 3) if seconds else math.ceil(self.pen.dwell * 1000)}")

    def end(self) -> None:
        if not self.pen.by_command:
            self.code("M5")
        self.code("M2")


def runs(mark: Mark, dash: Sequence[float]) -> Iterator[list[Segment]]:
    """What the pen draws of a mark without being lifted: all of it, or each of its dashes."""
    segments = _segments(mark)
    if not dash:
        yield segments
        return
    only = segments[0]
    if len(segments) == 1 and isinstance(only, Arc) and only.is_circle:
        right = (only.centre[0] + only.radius, only.centre[1])
        segments = [Arc(right, right, only.centre, ccw=False)]
    total = sum(segment.length for segment in segments)
    here = 0.0
    for place, length in enumerate(cycle(dash)):
        if here >= total - SAME_POINT:
            return
        if place % 2 == 0:
            yield list(_between(segments, here, min(here + length, total)))
        here += length


def chords(arc: Arc, scale: float) -> Iterator[XY]:
    """The ends of chords that leave an arc, drawn ``scale`` times as large, by ``PEN_CHORD`` at most."""
    radius = arc.radius * scale
    step = 2 * math.acos(1 - min(PEN_CHORD / radius, 1.0))
    count = max(1, math.ceil(arc.sweep / min(step, 1.0)))
    yield from (arc.point_at(arc.length * place / count) for place in range(1, count))
    yield arc.end


def _segments(mark: Mark) -> list[Segment]:
    if not isinstance(mark, Polyline):
        return list(mark.segments)
    first, *rest = mark.points
    return [Line(start, end) for start, end in pairwise([first, *(rest or [first])])]


def _between(segments: Sequence[Segment], begin: float, end: float) -> Iterator[Segment]:
    """The part of a way from ``begin`` to ``end``, mm along it."""
    here = 0.0
    for segment in segments:
        length = segment.length
        first, last = max(begin - here, 0.0), min(end - here, length)
        if last - first > SAME_POINT:
            yield segment if last - first >= length else segment.cut(first, last)
        here += length

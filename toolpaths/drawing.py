"""The neutral Drawing: what a pen is to draw, before any dialect. Millimetres, X right, Y up.

A drawing names its pens and, per pen, its strokes; lettering is strokes like the rest, so that no font is needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from toolpaths.geometry.segment import XY, Segment

WIDE: Final = 0.35
NARROW: Final = 0.18
LETTERING: Final = 0.25
"""Widths of wide and narrow lines and of lettering, mm: steps of ISO 128-20, pens of ISO 9175 (from memory)."""


@dataclass(frozen=True, slots=True)
class Polyline:
    """An open run of straight pen strokes through ``points``."""

    points: tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class Chain:
    """A connected run of exact lines and arcs; ``closed`` when its end meets its start."""

    segments: tuple[Segment, ...]
    closed: bool


Mark = Polyline | Chain


@dataclass(frozen=True, slots=True)
class Pen:
    """One pen: what it draws (``name``), its line ``width`` in mm, its ``dash`` on/off lengths (empty: unbroken)."""

    name: str
    width: float
    dash: tuple[float, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words for a dialect that has lettering of its own: ``at`` is the left end of its base line.

    ``height`` is that of capitals, mm. Only flat geometry has such lines: pens draw letters as strokes.
    """

    at: XY
    height: float
    words: str


@dataclass(frozen=True, slots=True)
class Scale:
    """True scale: whoever writes for ``device`` multiplies with ``x`` and ``y``, so that what it then draws is true."""

    x: float
    y: float
    device: str

    def of(self, point: XY) -> XY:
        """Where the device is sent, so that it draws at ``point``."""
        return self.x * point[0], self.y * point[1]

    @property
    def turned(self) -> Scale:
        """The same for a sheet that lies on its side."""
        return Scale(self.y, self.x, self.device)

    @property
    def said(self) -> str:
        """What is written on the sheet."""
        return f"Scaled by {self.x:.4f} across and {self.y:.4f} up for {self.device}."


TRUE: Final = Scale(1.0, 1.0, "")
"""A device that draws what it is told."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A full-size sheet: ``bounds`` is x0, y0, x1, y1 of the paper; pens stand in the order of drawing.

    ``notes`` are the lines that every page says of it beside title and panel, where it is laid over several. All its
    lengths are true; ``scale`` is what its device needs. ``clear_height`` is the height above the sheet over which a
    pen travels past clamps, mm; 0: nothing stands on it. Of flat geometry each pen is a layer, a ``Polyline`` of one
    point a point, and ``texts`` are what is written beside it.
    """

    title: str
    panel: str
    bounds: tuple[float, float, float, float]
    pens: tuple[Pen, ...]
    notes: tuple[str, ...] = ()
    texts: tuple[Text, ...] = ()
    scale: Scale = TRUE
    clear_height: float = 0.0

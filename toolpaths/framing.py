"""What stands round the window of a sheet, the same on paper from a printer and from a pen.

Two check bars with what to measure before trusting the sheet, crosses that neighbours share, a small plan, title,
number and notes, and which way is up. In millimetres from the sheet's lower left corner, X right, Y up.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from toolpaths.clipping import outside
from toolpaths.drawing import TRUE, Chain, Drawing, Mark, Polyline
from toolpaths.geometry.segment import TURN, XY, Bounds
from toolpaths.lettering import Align, cut_short, letter, width, wrapped
from toolpaths.sheets import HEAD, MARGIN, OVERLAP, SIDE, Tile, Tiling
from toolpaths.units import INCH

TITLE_HEIGHT: Final = 4.0
HEIGHT: Final = 2.5
LINE_FEED: Final = 1.7
"""From baseline to baseline in lettering heights."""

ARM: Final = OVERLAP / 2 - 1.0
"""How far a cross reaches from its middle, mm: within the overlap."""

PLAN: Final = (34.0, HEAD - 2.0)
"""The room of the small plan, mm."""

HATCH: Final = 1.5
"""Between the lines that mark a sheet on its plan, mm upright: a pen fills no areas."""

MOST_NOTES: Final = 3
"""Lines of notes that the heading has room for."""

AIR: Final = 3.0
"""Between two things beside each other, mm."""

BEFORE: Final = (
    "Print or plot at 100 %, never fitted to the page. Before you punch, measure both bars on every sheet, then a pair "
    "of holes."
)


@dataclass(frozen=True, slots=True)
class Words:
    """One line of lettering: its baseline goes through ``at`` at ``angle`` rad."""

    text: str
    at: XY
    height: float = HEIGHT
    align: Align = "left"
    angle: float = 0.0

    def strokes(self) -> tuple[Polyline, ...]:
        return letter(self.text, self.at, self.height, self.align, self.angle)


@dataclass(frozen=True, slots=True)
class Numbered:
    """A sheet's ``number`` of ``count``, as one says it: ``called`` a page or a sheet; ``first`` is the drawing's."""

    number: int
    count: int
    first: int
    called: str


@dataclass(slots=True)
class Frame:
    """What is drawn round a window: narrow ``lines``, the ``outline`` on the plan in the width of lettering, words."""

    lines: list[Mark] = field(default_factory=list)
    outline: list[Mark] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


def framed(drawing: Drawing, tiling: Tiling, tile: Tile, place: Numbered) -> Frame:
    """All that stands round the window of ``tile``."""
    frame = Frame()
    _crosses(frame, tiling, tile)
    _bars(frame, drawing, tiling)
    _heading(frame, drawing, tiling, place)
    return frame


def _crosses(frame: Frame, tiling: Tiling, tile: Tile) -> None:
    """Where this sheet and a neighbour are laid on each other."""
    for point in tiling.crosses(tile):
        x, y = tiling.to_sheet(tile, point)
        frame.lines += [Polyline(((x - ARM, y), (x + ARM, y))), Polyline(((x, y - ARM), (x, y + ARM)))]


def _bars(frame: Frame, drawing: Drawing, tiling: Tiling) -> None:
    """100 mm below the window and 4 in upright beside it: the two directions may be out differently."""
    x0, y0, x1, _ = tiling.window
    across = (x0, MARGIN + 8.0), (x0 + 100.0, MARGIN + 8.0)
    up = (MARGIN + 5.0, y0), (MARGIN + 5.0, y0 + 4 * INCH)
    frame.lines += [Polyline(across), Polyline(up)]
    frame.lines += [Polyline(((x, y - 2.0), (x, y + 2.0))) for x, y in across]
    frame.lines += [Polyline(((x - 2.0, y), (x + 2.0, y))) for x, y in up]
    frame.words.append(Words("100 mm", (x0 + 50.0, MARGIN + 9.5), align="centre"))
    frame.words.append(Words("4 in = 101.6 mm", (MARGIN + 3.5, y0 + 2 * INCH), align="centre", angle=TURN / 4))
    if drawing.scale != TRUE:
        frame.words.append(Words(cut_short(drawing.scale.said, HEIGHT, x1 - x0), (x0, MARGIN + 1.0)))
    left = x0 + 100.0 + 2 * AIR
    for row, line in enumerate(wrapped(BEFORE, HEIGHT, x1 - left)):
        frame.words.append(Words(line, (left, MARGIN + 10.5 - row * HEIGHT * LINE_FEED)))


def _heading(frame: Frame, drawing: Drawing, tiling: Tiling, place: Numbered) -> None:
    """Title, number, which way is up, the drawing's notes; and where the sheet lies among its neighbours."""
    left, right = MARGIN + SIDE, tiling.width - MARGIN
    top = tiling.height - MARGIN
    y = top - TITLE_HEIGHT
    if len(tiling.tiles) > 1:
        x0 = right - PLAN[0]
        _plan(frame, drawing, tiling, place, (x0, top - PLAN[1], right, top))
        right = x0 - AIR
    number = f"{place.called} {place.number} of {place.count}"
    frame.words.append(Words(number, (right, y), align="right"))
    room = right - left
    beside = room - width(number, HEIGHT) - AIR
    title = cut_short(drawing.title, HEIGHT, beside)
    high = min(TITLE_HEIGHT, HEIGHT * beside / max(1.0, width(title, HEIGHT)))
    frame.words.append(Words(title, (left, y), high))
    for note in [line for text in drawing.notes for line in wrapped(text, HEIGHT, room)][:MOST_NOTES]:
        y -= HEIGHT * LINE_FEED
        frame.words.append(Words(cut_short(note, HEIGHT, room), (left, y)))
    x, foot = MARGIN + 4.0, top - HEAD + 5.0
    frame.lines.append(Polyline(((x, foot), (x, top - 1.0))))
    frame.lines.append(Polyline(((x - 1.2, top - 4.0), (x, top - 1.0), (x + 1.2, top - 4.0))))
    frame.words.append(Words("up", (x, foot - HEIGHT - 1.5), align="centre"))


def _plan(frame: Frame, drawing: Drawing, tiling: Tiling, place: Numbered, box: Bounds) -> None:
    """The drawing's sheets with its last pen's lines, its outline; this one hatched; each numbered where it has room.

    A number stands free: neither the outline nor the hatching runs through it.
    """
    areas = [tile.area for tile in tiling.tiles]
    x0, y0, x1, y1 = zip(*areas, strict=True)
    scale, origin = _fitted((min(x0), min(y0), max(x1), max(y1)), box)

    def small(point: XY) -> XY:
        return origin[0] + scale * point[0], origin[1] + scale * point[1]

    cells = [(*small(area[:2]), *small(area[2:])) for area in areas]
    numbers = [Words(str(page), _middle(cell), align="centre") for page, cell in enumerate(cells, start=place.first)]
    grounds = [_ground(number) for number in numbers]
    if not all(_holds(cell, ground) for cell, ground in zip(cells, grounds, strict=True)):
        numbers, grounds = [], []
    frame.lines += [_rectangle(cell) for cell in cells]
    here = cells[place.number - place.first]
    outlines = [_scaled(mark, small) for mark in drawing.pens[-1].marks]
    frame.lines += _kept_off(_hatching(here), grounds)
    frame.outline += _kept_off(outlines, grounds)
    frame.words += numbers


def _kept_off(marks: Sequence[Mark], grounds: Sequence[Bounds]) -> list[Mark]:
    """What of the marks lies outside all of these boxes."""
    for ground in grounds:
        marks = [part for mark in marks for part in outside(mark, ground)]
    return list(marks)


def _middle(cell: Bounds) -> XY:
    return (cell[0] + cell[2]) / 2, (cell[1] + cell[3] - HEIGHT) / 2


def _ground(number: Words) -> Bounds:
    """The bare paper of a number on the plan."""
    (x, y), half, bare = number.at, width(number.text, HEIGHT) / 2, HEIGHT / 5
    return x - half - bare, y - bare, x + half + bare, y + HEIGHT + bare


def _holds(cell: Bounds, box: Bounds) -> bool:
    return cell[0] <= box[0] and cell[1] <= box[1] and box[2] <= cell[2] and box[3] <= cell[3]


def _rectangle(box: Bounds) -> Polyline:
    x0, y0, x1, y1 = box
    return Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)))


def _hatching(box: Bounds) -> list[Mark]:
    """Lines at 45 degrees across a box."""
    x0, y0, x1, y1 = box
    wide, high = x1 - x0, y1 - y0
    lines: list[Mark] = []
    step = HATCH
    while step < wide + high:
        start = (x0, y0 + step) if step <= high else (x0 + step - high, y1)
        end = (x0 + step, y0) if step <= wide else (x1, y0 + step - wide)
        lines.append(Polyline((start, end)))
        step += HATCH
    return lines


def _scaled(mark: Mark, small: Callable[[XY], XY]) -> Mark:
    """A mark as it lies on the plan."""
    if isinstance(mark, Polyline):
        return Polyline(tuple(map(small, mark.points)))
    return Chain(tuple(segment.mapped(small) for segment in mark.segments), mark.closed)


def _fitted(box: Bounds, into: Bounds) -> tuple[float, XY]:
    """Scale, and where zero then lies, so that ``box`` fills ``into`` from its upper right corner."""
    x0, y0, x1, y1 = box
    left, low, right, high = into
    scale = min((right - left) / (x1 - x0), (high - low) / (y1 - y0))
    return scale, (right - scale * x1, high - scale * y1)

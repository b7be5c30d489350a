"""A small plan of one setup for the sheet: stock, outline, openings, clamps, zero and touch-off, as they lie.

Program coordinates in millimetres; an SVG picture has Y down, so Y changes sign here and only here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.layout.panel import Panel, Rectangle
from toolpaths.shop.tab_marks import TabMark
from toolpaths.shop.words import tag_list
from toolpaths.units import plain

MOST_OPENINGS = 2000
"""Above this many openings the plan shows their centres only: a perforated sheet would swell the page."""


GLYPH = 0.6
"""Mean width of a letter of the page's typeface, in heights."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """A tag beside its opening; x, y in picture coordinates."""

    x: str
    y: str
    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """What the template draws: path data and rectangles in picture coordinates (mm, Y down)."""

    view_box: str
    stroke: str
    letter: str
    stock: str
    outline: str
    openings: str
    by_hand: str
    centres: str
    clamps: tuple[tuple[str, Lettering], ...]
    tabs: str
    walls: str
    tags: tuple[Lettering, ...]
    axes: str
    axis_names: tuple[Lettering, Lettering]
    zero: XY
    zero_radius: str
    touch_off: str
    touch_off_name: Lettering


def draw(panel: Panel, touch_off: XY, tabs: Sequence[TabMark] = ()) -> Picture:
    """The plan of ``panel`` as it lies on the machine; ``touch_off`` in panel coordinates, ``tabs`` as they lie."""
    x0, y0, x1, y1 = panel.area_to_program(panel.stock)
    clamps = [(clamp.number, panel.area_to_program(clamp.area)) for clamp in panel.clamps]
    size = max(x1 - x0, y1 - y0)
    letter = size / 45
    reach = size / 9
    boxes = [(x0, y0, x1, y1), (-reach / 2, -reach / 2, reach * 1.2, reach * 1.2), *(box for _, box in clamps)]
    left, low = min(box[0] for box in boxes) - letter, min(box[1] for box in boxes) - letter
    right, high = max(box[2] for box in boxes) + letter, max(box[3] for box in boxes) + letter
    crowded = len(panel.openings) > MOST_OPENINGS
    touch = panel.to_program(touch_off)
    return Picture(
        view_box=f"{plain(left)} {plain(-high)} {plain(right - left)} {plain(high - low)}",
        stroke=plain(size / 600, 4),
        letter=plain(letter),
        stock=_box((x0, y0, x1, y1)),
        outline=_contour(panel.contour_to_program(panel.outline)),
        openings="" if crowded else _shapes(panel, machined=True),
        by_hand="" if crowded else _shapes(panel, machined=False),
        centres=" ".join(_cross(panel.to_program(opening.centre), letter / 2.5) for opening in panel.openings),
        clamps=tuple((_box(box), _clamp_name(number, box, letter)) for number, box in clamps),
        walls=" ".join(_box(panel.area_to_program(flange.area)) for flange in panel.flanges),
        tabs=" ".join(f"M{_point(start)} L{_point(end)}" for tab in tabs for start, end in (tab[:2], tab[2:])),
        tags=tuple(_tags(panel, letter)),
        axes=_arrow((0, 0), (reach, 0)) + " " + _arrow((0, 0), (0, reach)),
        axis_names=(
            _letters(reach - letter * 0.2, letter * 0.7, "X"),
            _letters(letter * 0.6, reach - letter * 0.6, "Y"),
        ),
        zero=(0.0, 0.0),
        zero_radius=plain(letter / 2.2),
        touch_off=_diamond(touch, letter / 1.8),
        touch_off_name=_letters(touch[0] + letter * 0.8, touch[1] - letter * 0.35, "Z0"),
    )


def _shapes(panel: Panel, machined: bool) -> str:
    wanted = (opening.shape for opening in panel.openings if (opening.finish == "machine") == machined)
    return " ".join(_contour(panel.contour_to_program(shape)) for shape in wanted)


def _tags(panel: Panel, letter: float) -> Iterator[Lettering]:
    """The tag above each opening; those of several openings of one feature once, in their middle."""
    for _, run in groupby(panel.openings, key=lambda opening: (opening.feature, opening.size_text)):
        alike = list(run)
        boxes = [panel.contour_to_program(opening.shape).bounds for opening in alike]
        middle = (min(box[0] for box in boxes) + max(box[2] for box in boxes)) / 2
        low, top = min(box[1] for box in boxes), max(box[3] for box in boxes)
        text = tag_list(opening.tag for opening in alike)
        y = top + letter * 0.3 if len(alike) == 1 else (low + top) / 2 - letter * 0.35
        yield _letters(middle - letter * GLYPH * len(text) / 2, y, text)


def _clamp_name(number: int, box: Rectangle, letter: float) -> Lettering:
    """The clamp's name, or its number where the clamp is too narrow for that."""
    name = f"clamp {number}"
    if letter * GLYPH * len(name) > box[2] - box[0]:
        name = str(number)
    return _letters((box[0] + box[2]) / 2 - letter * GLYPH * len(name) / 2, (box[1] + box[3]) / 2 - letter * 0.35, name)


def _letters(x: float, y: float, text: str) -> Lettering:
    return Lettering(plain(x), plain(-y), text)


def _point(point: XY) -> str:
    return f"{plain(point[0])} {plain(-point[1])}"


def _contour(contour: Contour) -> str:
    first = contour.segments[0].start
    return " ".join([f"M{_point(first)}", *(_segment(part) for part in contour.segments), "Z"])


def _segment(part: Segment) -> str:
    if not isinstance(part, Arc):
        return f"L{_point(part.end)}"
    # SVG draws nothing for an arc that ends where it began, so a long one goes in two halves.
    if part.sweep > math.pi:
        return f"{_arc(part.cut(0.0, part.length / 2))} {_arc(part.cut(part.length / 2, part.length))}"
    return _arc(part)


def _arc(part: Arc) -> str:
    radius = plain(part.radius)
    return f"A{radius} {radius} 0 0 {0 if part.ccw else 1} {_point(part.end)}"


def _box(box: Rectangle) -> str:
    x0, y0, x1, y1 = box
    return f"M{_point((x0, y0))} L{_point((x1, y0))} L{_point((x1, y1))} L{_point((x0, y1))} Z"


def _cross(centre: XY, half: float) -> str:
    x, y = centre
    return f"M{_point((x - half, y))} L{_point((x + half, y))} M{_point((x, y - half))} L{_point((x, y + half))}"


def _diamond(centre: XY, half: float) -> str:
    x, y = centre
    return f"M{_point((x - half, y))} L{_point((x, y - half))} L{_point((x + half, y))} L{_point((x, y + half))} Z"


def _arrow(start: XY, end: XY) -> str:
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    back, side = length * 0.16, length * 0.05
    left = (end[0] - back * ux - side * uy, end[1] - back * uy + side * ux)
    right = (end[0] - back * ux + side * uy, end[1] - back * uy - side * ux)
    return f"M{_point(start)} L{_point(end)} M{_point(left)} L{_point(end)} L{_point(right)}"

"""Two small plans of one setup for the sheet, as it lies: what is where, and in which order it is made.

Program coordinates in millimetres; an SVG picture has Y down, so Y changes sign here and only here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.labelling import (
    FINE,
    HEIGHT,
    LETTERED,
    Named,
    Taken,
    along_line,
    leader_of,
    named_together,
    place_for,
    strips,
    text_box,
    with_space,
)
from toolpaths.layout.panel import Panel, Rectangle
from toolpaths.shop.tab_marks import TabMark
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
    blank: tuple[tuple[str, Lettering], ...]
    tags: tuple[Lettering, ...]
    leaders: str
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
    crowded = _crowded(panel)
    touch = panel.to_program(touch_off)
    kept = [
        (-letter / 2.2, -letter / 2.2, reach, letter * 1.5),
        (-letter / 2.2, -letter / 2.2, letter * 1.5, reach),
        (touch[0] - letter / 1.8, touch[1] - letter / 1.8, touch[0] + letter * 2.2, touch[1] + letter),
    ]
    tags, leaders = _labels(panel, letter, tabs, kept)
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
        blank=tuple(
            (_box(area), _named_area(one.face, area, letter))
            for one in panel.blank
            for area in [panel.area_to_program(one.area)]
        ),
        tabs=" ".join(f"M{_point(start)} L{_point(end)}" for tab in tabs for start, end in (tab[:2], tab[2:])),
        tags=tags,
        leaders=leaders,
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


@dataclass(frozen=True, slots=True)
class OrderPicture:
    """The way of the cutters over the sheet, in picture coordinates: ``ways`` is one path for each cutter in turn, and
    ``numbers`` stand where the lines of the order of work are done."""

    view_box: str
    stroke: str
    letter: str
    stock: str
    outline: str
    openings: str
    clamps: str
    ways: tuple[str, ...]
    starts: str
    numbers: tuple[Lettering, ...]
    leaders: str


def draw_order(panel: Panel, steps: Mapping[str, Sequence[int]], ways: Sequence[Sequence[XY]]) -> OrderPicture:
    """The numbered order of work: for each opening, by its tag, the ``steps`` that make it, and the ``ways`` of the
    cutters from place to place, in program coordinates."""
    x0, y0, x1, y1 = _round_all(panel.area_to_program(panel.stock), ways)
    size = max(x1 - x0, y1 - y0)
    letter = size / 45
    shown = [way for way in ways if way]
    numbers, leaders = _labels(panel, letter, (), (), lambda named: _numbers(named, steps))
    if panel.edge is not None and panel.edge.tag in steps:
        left, low, _, _ = panel.contour_to_program(panel.outline).bounds
        said = f"{panel.edge.tag}: {', '.join(map(str, steps[panel.edge.tag]))}"
        numbers = (*numbers, _letters(left + letter, low + letter / 2, said))
    return OrderPicture(
        view_box=f"{plain(x0 - letter)} {plain(-y1 - letter)} {plain(x1 - x0 + 2 * letter)} "
        f"{plain(y1 - y0 + 2 * letter)}",
        stroke=plain(size / 600, 4),
        letter=plain(letter),
        stock=_box(panel.area_to_program(panel.stock)),
        outline=_contour(panel.contour_to_program(panel.outline)),
        clamps=" ".join(_box(panel.area_to_program(clamp.area)) for clamp in panel.clamps),
        openings="" if _crowded(panel) else _shapes(panel, machined=True) + " " + _shapes(panel, machined=False),
        ways=tuple("M" + " L".join(_point(point) for point in way) for way in shown),
        starts=" ".join(_diamond(way[0], letter / 3.2) for way in shown),
        numbers=numbers,
        leaders=leaders,
    )


def _round_all(box: Rectangle, ways: Sequence[Sequence[XY]]) -> Rectangle:
    """The box round the sheet and everywhere that cutters go."""
    xs, ys = zip(*((box[0], box[1]), (box[2], box[3]), *(point for way in ways for point in way)), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _numbers(named: Named, steps: Mapping[str, Sequence[int]]) -> str:
    """Which opening it is, and the lines of the order of work that make it: ``J1: 7, 8``."""
    found = sorted({number for opening in named.openings for number in steps.get(opening.tag, ())})
    return f"{named.tags}: {', '.join(map(str, found))}" if found else ""


def _shapes(panel: Panel, machined: bool) -> str:
    wanted = (opening.shape for opening in panel.openings if (opening.finish == "machine") == machined)
    return " ".join(_contour(panel.contour_to_program(shape)) for shape in wanted)


def _labels(
    panel: Panel, letter: float, tabs: Sequence[TabMark], kept: Iterable[Rectangle],
    words: Callable[[Named], str] = lambda named: named.tags,
) -> tuple[tuple[Lettering, ...], str]:
    """The ``words`` for openings (their tags) and the lines to those that stand far off, clear of what the plan shows.

    ``kept``: what stands there beside openings, tabs, clamps and walls. Lettering here is ``letter`` high, so that room
    is looked for in a plan that much smaller.
    """
    scale = letter / HEIGHT
    taken = Taken()
    for owner, opening in enumerate(panel.openings):
        x, y = panel.to_program(opening.centre)
        taken.add(_smaller((x - letter / 2.5, y - letter / 2.5, x + letter / 2.5, y + letter / 2.5), scale))
        for strip in () if _crowded(panel) else strips(panel.contour_to_program(opening.shape)):
            taken.add(_smaller(strip, scale), owner)
    areas = [clamp.area for clamp in panel.clamps] + [flange.area for flange in panel.flanges]
    ends = [(min(xs), min(ys), max(xs), max(ys)) for xs, ys in (zip(*tab, strict=True) for tab in tabs)]
    for box in (*map(panel.area_to_program, areas), *ends, *kept):
        taken.add(_smaller(box, scale))
    sheet = _smaller(panel.contour_to_program(panel.outline).bounds, scale)
    boxes = [_smaller(panel.contour_to_program(opening.shape).bounds, scale) for opening in panel.openings]
    tags: list[Lettering] = []
    lines: list[str] = []
    for named in named_together(panel.openings, boxes):
        text = words(named)
        if not text:
            continue
        length = HEIGHT * GLYPH * len(text)
        at, _ = place_for(named.box, length, sheet, taken, named.owner, 0.0, len(named.openings) == 1)
        taken.add(with_space(text_box(at, length)), cost=LETTERED)
        tags.append(_letters(at[0] * scale, at[1] * scale, text))
        if leader := leader_of(text_box(at, length), named.box):
            for bit in along_line(*leader):
                taken.add(bit, cost=FINE)
            lines.append(" L".join(_point((x * scale, y * scale)) for x, y in leader))
    return tuple(tags), " ".join(f"M{line}" for line in lines)


def _smaller(box: Rectangle, scale: float) -> Rectangle:
    return box[0] / scale, box[1] / scale, box[2] / scale, box[3] / scale


def _crowded(panel: Panel) -> bool:
    return len(panel.openings) > MOST_OPENINGS


def _clamp_name(number: int, box: Rectangle, letter: float) -> Lettering:
    """The clamp's name, or its number where the clamp is too narrow for that."""
    name = f"clamp {number}"
    if letter * GLYPH * len(name) > box[2] - box[0]:
        name = str(number)
    return _letters((box[0] + box[2]) / 2 - letter * GLYPH * len(name) / 2, (box[1] + box[3]) / 2 - letter * 0.35, name)


def _named_area(name: str, box: Rectangle, letter: float) -> Lettering:
    middle = (box[0] + box[2]) / 2 - letter * GLYPH * len(name) / 2, (box[1] + box[3]) / 2 - letter * 0.35
    return _letters(*middle, name)


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

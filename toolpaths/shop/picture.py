"""Two small plans of one setup for the sheet, as it lies: what is where, and in which order it is made.

Program coordinates in millimetres; an SVG picture has Y down, so Y changes sign here and only here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.geometry.shapes import circle
from toolpaths.labelling import (
    AIR,
    HEIGHT,
    LETTERED,
    Named,
    Strips,
    Taken,
    along,
    along_line,
    grown,
    leader_of,
    named_together,
    place_for,
    text_box,
    with_space,
)
from toolpaths.layout.panel import Panel, Rectangle
from toolpaths.shop.tab_marks import TabMark
from toolpaths.units import plain

MOST_OPENINGS = 2000
"""Above this many openings the plan shows their centres only: a perforated sheet would swell the page."""


ROOM = (182.0, 98.0)
ROOM_UPRIGHT = (182.0, 128.0)
"""mm across and down that a plan has on the page, less what stands round the sheet; one that is higher than wide."""

ON_PAPER = 3.5
"""mm, the height of the lettering on the page: legible in a small picture of it too."""

FINE_LINE = 0.075
"""Width of a thin line in heights of the lettering: a quarter of a mm on the page, which a laser printer keeps."""

GLYPH = 0.6
BOLD = 0.66
"""Mean width of a letter of the page's typeface, plain and bold, in heights."""


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
    upright: bool
    stroke: str
    letter: str
    stock: str
    outline: str
    openings: str
    by_hand: str
    centres: str
    clamps: tuple[tuple[str, Lettering], ...]
    tabs: str
    legends: str
    walls: str
    blank: tuple[tuple[str, Lettering], ...]
    tags: tuple[Lettering, ...]
    leaders: str
    axes: str
    heads: str
    axis_names: tuple[Lettering, Lettering]
    zero_radius: str
    zero_quarters: str
    zero_name: Lettering
    touch_off: str
    touch_off_name: Lettering
    measures: str
    measure_names: tuple[Lettering, Lettering]
    reach: str = ""
    """Of a divided panel: what the machine reaches, what other setups make, where parts meet, and the pins."""
    elsewhere: str = ""
    lines: str = ""
    pins: str = ""


def _in_mm(length: float) -> str:
    return f"{plain(length)} mm"


def draw(
    panel: Panel, touch_off: XY, tabs: Sequence[TabMark] = (), say: Callable[[float], str] = _in_mm
) -> Picture:
    """The plan of ``panel`` as it lies on the machine; ``touch_off`` in panel coordinates, ``tabs`` as they lie.

    ``say`` tells a length that is measured with a rule.
    """
    x0, y0, x1, y1 = panel.area_to_program(panel.stock)
    clamps = [(clamp.number, panel.area_to_program(clamp.area)) for clamp in panel.clamps]
    letter = _letter(x1 - x0, y1 - y0)
    reach = letter * 5.5
    boxes = [(x0, y0, x1, y1), (-reach / 2, -reach / 2, reach * 1.2, reach * 1.2), *(box for _, box in clamps)]
    if panel.stage is not None:
        boxes.append(panel.stage.reach)
    crowded = _crowded(panel)
    touch = panel.to_program(touch_off)
    ring = letter * 0.6
    # where both are one place the diamond stands round the ring
    half = letter * (0.75 if math.hypot(*touch) > letter else 1.1)
    kept = [
        (-ring, -ring, reach, letter * 1.5),
        (-ring, -ring, letter * 1.5, reach),
        (touch[0] - half, touch[1] - half, touch[0] + half, touch[1] + half),
    ]
    marks = [Marked("X0 Y0", (-ring, -ring, ring, ring)), Marked("Z0", (*_less(touch, half), *_less(touch, -half)))]
    taken = _taken(panel, letter, tabs, kept)
    names, to_names = _named_marks(panel, letter, marks, tabs, kept, taken)
    tags, leaders = _labels(panel, letter, taken)
    boxes += [_covered(one, letter) for one in (*tags, *names)]
    left, low = min(box[0] for box in boxes) - letter * 2.4, min(box[1] for box in boxes) - letter * 2.4
    right, high = max(box[2] for box in boxes) + letter, max(box[3] for box in boxes) + letter
    below, beside = low + letter * 1.4, left + letter * 1.4
    across, up = say(x1 - x0), say(y1 - y0)
    return Picture(
        view_box=f"{plain(left)} {plain(-high)} {plain(right - left)} {plain(high - low)}",
        upright=y1 - y0 > x1 - x0,
        stroke=plain(letter * FINE_LINE, 4),
        letter=plain(letter),
        stock=_box((x0, y0, x1, y1)) if panel.cut_outline or panel.on_blank else "",
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
        legends=" ".join(
            _stroke(stroke) for legend in panel.legends if not panel.mirrored
            for stroke in panel.strokes_to_program(legend)
        ),
        tabs=" ".join(f"M{_point(start)} L{_point(end)}" for tab in tabs for start, end in (tab[:2], tab[2:])),
        tags=tags,
        leaders=f"{leaders} {to_names}".strip(),
        axes=f"M{_point((0, 0))} L{_point((reach, 0))} M{_point((0, 0))} L{_point((0, reach))}",
        heads=_head((reach, 0), (1, 0), letter) + " " + _head((0, reach), (0, 1), letter),
        axis_names=(
            _letters(reach - letter * 0.2, letter * 0.6, "X"),
            _letters(letter * 0.6, reach - letter * 0.4, "Y"),
        ),
        zero_radius=plain(ring),
        zero_quarters=_quarters(ring),
        zero_name=names[0],
        touch_off=f"{_diamond(touch, half)} {_cross(touch, half)}",
        touch_off_name=names[1],
        measures=f"{_measure((x0, below), (x1, below), letter)} {_measure((beside, y0), (beside, y1), letter)}",
        measure_names=(
            _letters((x0 + x1 - letter * GLYPH * len(across)) / 2, below - letter * 1.05, across),
            # turned by a quarter about its own place, so that it reads upwards
            _letters(beside - letter * 0.3, (y0 + y1 - letter * GLYPH * len(up)) / 2, up),
        ),
        reach=_box(panel.stage.reach) if panel.stage else "",
        elsewhere=_elsewhere(panel),
        lines=_lines(panel),
        pins=_pins(panel),
    )


def _elsewhere(panel: Panel) -> str:
    openings = panel.stage.elsewhere if panel.stage else ()
    return " ".join(_contour(panel.contour_to_program(one.shape)) for one in openings[:MOST_OPENINGS])


def _pins(panel: Panel) -> str:
    pins = panel.stage.pins if panel.stage else ()
    return " ".join(_contour(circle(panel.to_program(pin.at), pin.diameter)) for pin in pins)


def _lines(panel: Panel) -> str:
    """The lines at which parts of contours meet, each across what it parts."""
    found: dict[str, None] = {}
    for opening in panel.work:
        x0, y0, x1, y1 = panel.contour_to_program(opening.shape).bounds
        for axis, place in map(panel.line_to_program, opening.part.lines if opening.part else ()):
            ends = ((place, y0), (place, y1)) if axis == 0 else ((x0, place), (x1, place))
            found[f"M{_point(ends[0])} L{_point(ends[1])}"] = None
    return " ".join(found)


def _less(point: XY, amount: float) -> XY:
    return point[0] - amount, point[1] - amount


@dataclass(frozen=True, slots=True)
class OrderPicture:
    """The way of the cutters over the sheet, in picture coordinates: ``ways`` is one path for each cutter in turn, and
    ``numbers`` stand where the lines of the order of work are done."""

    view_box: str
    upright: bool
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


@dataclass(frozen=True, slots=True)
class Marked:
    """A mark on the plan that bears a name, and what it covers."""

    name: str
    box: Rectangle


def draw_order(panel: Panel, steps: Mapping[str, Sequence[int]], ways: Sequence[Sequence[XY]]) -> OrderPicture:
    """The numbered order of work: for each opening, by its tag, the ``steps`` that make it, and the ``ways`` of the
    cutters from place to place, in program coordinates."""
    x0, y0, x1, y1 = _round_all(panel.area_to_program(panel.stock), ways)
    letter = _letter(x1 - x0, y1 - y0)
    shown = [way for way in ways if way]
    legends = _legend_numbers(panel, steps, letter)
    taken = _taken(panel, letter, (), [box for _, _, box in legends])
    numbers, leaders = _labels(panel, letter, taken, lambda named: _numbers(named, steps))
    if panel.edge is not None and panel.edge.tag in steps:
        left, low, _, _ = panel.contour_to_program(panel.outline).bounds
        said = f"{panel.edge.tag}: {', '.join(map(str, steps[panel.edge.tag]))}"
        numbers = (*numbers, _letters(left + letter, low + letter / 2, said))
    numbers = (*numbers, *(_letters(*at, text) for text, at, _ in legends))
    boxes = [(x0, y0, x1, y1), *(_covered(one, letter) for one in numbers)]
    boxes += [panel.area_to_program(clamp.area) for clamp in panel.clamps]
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return OrderPicture(
        view_box=f"{plain(x0 - letter)} {plain(-y1 - letter)} {plain(x1 - x0 + 2 * letter)} "
        f"{plain(y1 - y0 + 2 * letter)}",
        upright=y1 - y0 > x1 - x0,
        stroke=plain(letter * FINE_LINE, 4),
        letter=plain(letter),
        stock=_box(panel.area_to_program(panel.stock)) if panel.cut_outline or panel.on_blank else "",
        outline=_contour(panel.contour_to_program(panel.outline)),
        clamps=" ".join(_box(panel.area_to_program(clamp.area)) for clamp in panel.clamps),
        openings="" if _crowded(panel) else _shapes(panel, machined=True) + " " + _shapes(panel, machined=False),
        ways=tuple("M" + " L".join(_point(point) for point in way) for way in shown),
        starts=" ".join(_diamond(way[0], letter / 3.2) for way in shown),
        numbers=numbers,
        leaders=leaders,
    )


def _legend_numbers(
    panel: Panel, steps: Mapping[str, Sequence[int]], letter: float
) -> list[tuple[str, XY, Rectangle]]:
    """What makes each engraved legend: the words, where they stand (the upper middle of it), and the box round them."""
    found = []
    for legend in panel.engraved:
        if legend.feature in steps:
            text = ", ".join(map(str, steps[legend.feature]))
            left, _, right, high = panel.area_to_program(legend.bounds)
            wide = letter * GLYPH * len(text)
            x, y = (left + right - wide) / 2, high - letter
            found.append((text, (x, y), (x, y, x + wide, y + letter)))
    return found


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


def _taken(panel: Panel, letter: float, tabs: Sequence[TabMark], kept: Iterable[Rectangle]) -> Taken:
    """What the plan shows already, and lettering keeps off: openings, tabs, clamps, walls and what is ``kept`` beside.

    Lettering here is ``letter`` high, so that room is looked for in a plan that much smaller.
    """
    scale = letter / HEIGHT
    taken, strips = Taken(), Strips()
    crowded = _crowded(panel)
    for owner, opening in enumerate(panel.openings):
        x, y = panel.to_program(opening.centre)
        taken.add(_smaller((x - letter / 2.5, y - letter / 2.5, x + letter / 2.5, y + letter / 2.5), scale))
        for strip in () if crowded else strips.of(panel.contour_to_program(opening.shape)):
            taken.add(_smaller(strip, scale), owner)
    for box in _areas(panel, tabs, kept):
        taken.add(_smaller(box, scale), cost=LETTERED)  # clamps and axes bear names
    return taken


def _areas(panel: Panel, tabs: Sequence[TabMark], kept: Iterable[Rectangle]) -> Iterable[Rectangle]:
    areas = [] if panel.mirrored else [area.bounds for legend in panel.legends for area in legend.areas]
    areas += [clamp.area for clamp in panel.clamps] + [flange.area for flange in panel.flanges]
    ends = [(min(xs), min(ys), max(xs), max(ys)) for xs, ys in (zip(*tab, strict=True) for tab in tabs)]
    return (*map(panel.area_to_program, areas), *ends, *kept)


def _named_marks(
    panel: Panel, letter: float, marks: Sequence[Marked], tabs: Sequence[TabMark], kept: Iterable[Rectangle],
    taken: Taken,
) -> tuple[tuple[Lettering, ...], str]:
    """The names of marks beside them, which are then ``taken`` too, and the lines to those that stand far off.

    They may stand within a large opening, whose line alone is in their way, and beside the sheet.
    """
    scale = letter / HEIGHT
    lined = Taken()
    for box in _areas(panel, tabs, kept):
        lined.add(_smaller(box, scale))
    for opening in () if _crowded(panel) else panel.openings:
        shape = panel.contour_to_program(opening.shape).mapped(lambda point: (point[0] / scale, point[1] / scale))
        for bit in along(shape):
            lined.add(bit)
    sheet = grown(_smaller(panel.contour_to_program(panel.outline).bounds, scale), 6 * HEIGHT)
    names: list[Lettering] = []
    lines: list[str] = []
    for mark in marks:
        length = HEIGHT * BOLD * len(mark.name)
        box = _smaller(mark.box, scale)
        at, _ = place_for(box, length, sheet, lined, -2, 0.0, False)
        lined.add(with_space(text_box(at, length)))
        taken.add(with_space(text_box(at, length)), cost=LETTERED)
        names.append(_letters(at[0] * scale, at[1] * scale, mark.name))
        lines += _led(leader_of(text_box(at, length), box), taken, scale)
    return tuple(names), " ".join(lines)


def _labels(
    panel: Panel, letter: float, taken: Taken, words: Callable[[Named], str] = lambda named: named.tags
) -> tuple[tuple[Lettering, ...], str]:
    """The ``words`` for openings (their tags) and the lines to those that stand far off, clear of what is ``taken``."""
    scale = letter / HEIGHT
    sheet = _smaller(panel.contour_to_program(panel.outline).bounds, scale)
    boxes = [_smaller(panel.contour_to_program(opening.shape).bounds, scale) for opening in panel.openings]
    tags: list[Lettering] = []
    lines: list[str] = []
    for named in named_together(panel.openings, boxes):
        text = words(named)
        if not text:
            continue
        length = HEIGHT * GLYPH * len(text)
        at, conflicts = place_for(
            named.box, length, sheet, taken, named.owner, 0.0, len(named.openings) == 1, named.rounded
        )
        if conflicts and named.crowd:  # a vent may leave no room on the sheet, and there is some beyond its edge
            at = (named.box[0] + named.box[2] - length) / 2, sheet[3] + AIR
        taken.add(with_space(text_box(at, length)), cost=LETTERED)
        tags.append(_letters(at[0] * scale, at[1] * scale, text))
        lines += _led(leader_of(text_box(at, length), named.box, named.rounded), taken, scale)
    return tuple(tags), " ".join(lines)


def _letter(across: float, up: float) -> float:
    """How high the lettering is in the plan of a sheet, so that it comes out ON_PAPER."""
    room = ROOM_UPRIGHT if up > across else ROOM
    return ON_PAPER * max(across / room[0], up / room[1])


def _covered(one: Lettering, letter: float) -> Rectangle:
    """What a text covers, in program coordinates."""
    x, y = float(one.x), -float(one.y)
    return x, y - letter * 0.3, x + letter * GLYPH * len(one.text), y + letter


def _led(leader: tuple[XY, XY] | None, taken: Taken, scale: float) -> list[str]:
    """The line that leads to a label that stands far off, and that it is in the way of others; none for one nearby."""
    if leader is None:
        return []
    for bit in along_line(*leader):
        taken.add(bit)
    return ["M" + " L".join(_point((x * scale, y * scale)) for x, y in leader)]


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


@lru_cache(maxsize=4096)
def _figure(value: float) -> str:
    """The figures of a grid come again in every row and column."""
    return plain(value)


def _point(point: XY) -> str:
    return f"{_figure(point[0])} {_figure(-point[1])}"


def _contour(contour: Contour) -> str:
    first = contour.segments[0].start
    return " ".join([f"M{_point(first)}", *(_segment(part) for part in contour.segments), "Z"])


def _stroke(stroke: Sequence[Segment]) -> str:
    return " ".join([f"M{_point(stroke[0].start)}", *(_segment(part) for part in stroke)])


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


def _head(tip: XY, along: XY, letter: float) -> str:
    """The filled head of an arrow."""
    back, side = letter * 0.9, letter * 0.32
    base = tip[0] - along[0] * back, tip[1] - along[1] * back
    left = base[0] - along[1] * side, base[1] + along[0] * side
    right = base[0] + along[1] * side, base[1] - along[0] * side
    return f"M{_point(tip)} L{_point(left)} L{_point(right)} Z"


def _quarters(radius: float) -> str:
    """Two opposite quarters of the zero's circle: filled they are what drawings mark a datum with."""
    size = plain(radius)
    first = f"M0 0 L{_point((radius, 0))} A{size} {size} 0 0 0 {_point((0, radius))} Z"
    return f"{first} M0 0 L{_point((-radius, 0))} A{size} {size} 0 0 0 {_point((0, -radius))} Z"


def _measure(start: XY, end: XY, letter: float) -> str:
    """A dimension line with a short stroke across each end; its figure stands on it."""
    length = math.dist(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    tick = letter * 0.4
    ends = (
        f"M{_point((x + uy * tick, y - ux * tick))} L{_point((x - uy * tick, y + ux * tick))}" for x, y in (start, end)
    )
    return " ".join([f"M{_point(start)} L{_point(end)}", *ends])

"""The full-size drawing of one panel: what is laid on the sheet to mark it, or beside it to check it.

The drawing lies like the panel on the machine, mirrored where that is machined from the inside, with X0 Y0 of the
program as its zero. Line types are those of ISO 128-20 (dash lengths in line widths, from memory), widths 0.35 and
0.18 mm for wide and narrow lines and 0.25 mm for lettering, pens of the series of ISO 9175 (from memory).
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final, Literal

from toolpaths.crowd import CROWD, lattice, rows_of_crosses
from toolpaths.drawing import LETTERING, NARROW, TRUE, WIDE, Chain, Drawing, Mark, Pen, Polyline, Scale
from toolpaths.finding import Finding, Severity
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import holds
from toolpaths.geometry.segment import XY
from toolpaths.geometry.shapes import circle
from toolpaths.labelling import (
    AIR,
    CENTRE_OVERHANG,
    FAINT,
    FINE,
    HEIGHT,
    LETTERED,
    Box,
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
    together,
    with_space,
)
from toolpaths.layout.nesting import mouth, mouth_width
from toolpaths.layout.panel import Layout, Legend, Opening, Panel
from toolpaths.layout.sizes import turn_words
from toolpaths.lettering import Align, boxed, lacking, letter, width, wrapped, written
from toolpaths.units import INCH, shortened

Units = Literal["mm", "in"]
LEGEND_PENS: Final = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
"""Widths of pens (ISO 9175-1, from memory): a legend is drawn with the one nearest to its own line."""

UNBROKEN: Final[tuple[float, ...]] = ()
DASHED: Final = (12 * NARROW, 3 * NARROW)
HAND: Final = (12 * WIDE, 3 * WIDE)
CHAIN: Final = (24 * NARROW, 3 * NARROW, 0.5 * NARROW, 3 * NARROW)
DOUBLE_CHAIN: Final = (24 * NARROW, 3 * NARROW, 0.5 * NARROW, 3 * NARROW, 0.5 * NARROW, 3 * NARROW)

TITLE_HEIGHT: Final = 5.0
NOTE_HEIGHT: Final = 3.5
LINE_FEED: Final = 1.7
"""From baseline to baseline in lettering heights."""

MARGIN: Final = 10.0
"""Bare paper all round: most plotters cannot reach the edge."""

EDGE: Final = 0.5
"""Bare paper round what is drawn where it is laid over sheets, mm: the margin lies round their windows."""

TICK: Final = 1.2
"""Ground of a legend that is narrower is a tick, which a leader may cross, mm; no lettering is."""

MOST_CORNERS: Final = 24
"""A polygon with more has its corners in the drilling schedule alone."""

ROW: Final = 4.5
"""Height of one row of the hole table."""

Row = tuple[str, str, str, str, str]
"""Of the hole table: tag, size, x, y, label."""


def draw_panel(
    panel: Panel,
    title: str,
    units: Units,
    size: str = "",
    tabs: Sequence[tuple[XY, XY, XY, XY]] = (),
    beside: Mapping[str, str] | None = None,
    scale: Scale = TRUE,
) -> Drawing:
    """The sheet for ``panel``; ``units`` are those of the hole table. Marks keep a margin inside ``bounds``.

    ``size`` is the size of the job that it is drawn in, for the heading. ``tabs`` are the holding tabs of its large
    openings as the program leaves them, each as two sides from the wall across the kerf: four points in program
    coordinates. ``beside`` is what stands behind the size in an opening's label, by its tag (``pilot 3``). A ``scale``
    is said in the heading.
    """
    inked = ink(panel, tabs, beside=beside)
    area = bounds_of(mark for marks in inked.values() for mark in marks)
    inked["check bars"] += _check_bars(area)
    inked["datum"] += _axes(area)
    heading = f"{title}, size {size}" if size else title
    inked["lettering"] += [*_bar_texts(area), *_heading(panel, heading, area, bool(tabs), scale)]
    inked["lettering"] += _hole_table(panel, units, area)
    x0, y0, x1, y1 = bounds_of(mark for marks in inked.values() for mark in marks)
    paper = (math.floor(x0 - MARGIN), math.floor(y0 - MARGIN), math.ceil(x1 + MARGIN), math.ceil(y1 + MARGIN))
    return Drawing(title, panel.name, paper, pens_of(inked), scale=scale)


def draw_alone(
    panel: Panel,
    title: str,
    notes: Iterable[str],
    tabs: Sequence[tuple[XY, XY, XY, XY]] = (),
    beside: Mapping[str, str] | None = None,
) -> Drawing:
    """The panel by itself, to be laid over sheets that have their own heading, bars and hole table."""
    inked = ink(panel, tabs, beside=beside)
    area = grown(bounds_of(mark for marks in inked.values() for mark in marks), EDGE)
    return Drawing(title, panel.name, area, pens_of(inked), tuple(notes))


def ink(
    panel: Panel,
    tabs: Sequence[tuple[XY, XY, XY, XY]] = (),
    also: Mapping[str, Sequence[Mark]] | None = None,
    beside: Mapping[str, str] | None = None,
) -> defaultdict[str, list[Mark]]:
    """What is drawn of the panel itself, by the names of ``PENS``, in program coordinates.

    ``also`` are further marks by pen: labels keep off them. ``beside``: as ``draw_panel`` has it.
    """
    outline = panel.contour_to_program(panel.outline)
    shapes = [panel.contour_to_program(opening.shape) for opening in panel.openings]
    mouths = [
        panel.contour_to_program(mouth(opening)) if opening.countersink else shape
        for opening, shape in zip(panel.openings, shapes, strict=True)
    ]
    crosses = _crosses(panel, mouths)
    inked: defaultdict[str, list[Mark]] = defaultdict(list)
    inked["outline"].append(chain(outline))
    for opening, shape, widest in zip(panel.openings, shapes, mouths, strict=True):
        inked["openings" if opening.finish == "machine" else "by hand"].append(chain(shape))
        if opening.finish == "pilot" and opening.cut is not None:
            inked["pilot holes"].append(chain(panel.contour_to_program(opening.cut)))
        if opening.countersink is not None:
            inked["countersinks" if opening.finish == "machine" else "by hand"].append(chain(widest))
    for pen, lines in crosses:
        inked[pen] += lines
    for pen, shapes_of_parts in _parts(panel).items():
        inked[pen] += [chain(shape) for shape in shapes_of_parts]
    for legend in panel.legends:
        strokes = panel.strokes_to_program(legend)
        inked[_legend_pen(panel, legend)] += [Chain(stroke, closed=False) for stroke in strokes]
    inked["tabs"] += [Polyline(side) for tab in tabs for side in (tab[:2], tab[2:])]
    inked["clamps"] += [_rectangle(panel.area_to_program(clamp.area)) for clamp in panel.clamps]
    if not _same(panel.area_to_program(panel.stock), outline.bounds):
        inked["stock"].append(_rectangle(panel.area_to_program(panel.stock)))
    inked["datum"] += _datum()
    more = also or {}
    names, inked["leaders"] = _labels(panel, outline, mouths, crosses, tabs, more, beside or {})
    inked["lettering"] += [*names, *_clamp_names(panel, [outline, *mouths])]
    for pen, marks in more.items():
        inked[pen] += marks
    return inked


def pens_of(inked: Mapping[str, Sequence[Mark]]) -> tuple[Pen, ...]:
    """The pens that have something to draw, in their order."""
    return tuple(Pen(name, line, dash, tuple(inked[name])) for name, line, dash in PENS if inked.get(name))


def unlettered(layout: Layout) -> list[Finding]:
    """What the stroke alphabet cannot write as it stands: title, size and labels, each said once."""
    found: list[Finding] = []
    for panel in layout.panels:
        texts = {"": layout.title} | {opening.feature: opening.label for opening in panel.openings if opening.label}
        for feature, text in texts.items():
            if lacking(text):
                drawn = shortened(written(text))
                message = f"the plotter's letters lack some of '{shortened(text)}': it is drawn as '{drawn}'"
                beyond = ", with crossed boxes" if boxed(text) else ""
                found.append(
                    Finding("note", "lettering", panel.name if feature else "", feature, f"{message}{beyond}")
                )
        found += [finding for legend in panel.legends for finding in _unlettered_legend(panel, legend)]
    return list(dict.fromkeys(found))


LEGEND: Final = "legend"
"""What the names of the pens for legends begin with: ``legend 0.35``."""

LEGEND_BEHIND: Final = "legend behind"

def _unlettered_legend(panel: Panel, legend: Legend) -> list[Finding]:
    """A legend that comes out otherwise than it is written: with crossed boxes it is an error, for it stays there."""
    if not lacking(legend.text):
        return []
    drawn = shortened(written(legend.text))
    message = f"the stroke letters lack some of '{shortened(legend.text)}': it comes out as '{drawn}'"
    if boxed(legend.text):
        message += f", with crossed boxes for {boxed(legend.text)}: write it in other letters"
    severity: Severity = "error" if boxed(legend.text) else "warning"
    return [Finding(severity, "lettering", panel.name, legend.feature, message)]


PENS: Final[tuple[tuple[str, float, tuple[float, ...]], ...]] = (
    ("centre lines", NARROW, CHAIN),
    ("centre marks", NARROW, CHAIN),
    ("rows of centres", NARROW, UNBROKEN),
    ("parts behind", NARROW, DASHED),
    ("parts", NARROW, UNBROKEN),
    ("pilot holes", NARROW, UNBROKEN),
    ("countersinks", NARROW, UNBROKEN),
    ("tabs", NARROW, UNBROKEN),
    ("bend lines", NARROW, UNBROKEN),
    ("distances", NARROW, UNBROKEN),
    ("hand route", NARROW, DASHED),
    ("hand holes", NARROW, UNBROKEN),
    ("leaders", NARROW, UNBROKEN),
    ("clamps", NARROW, DASHED),
    ("stock", NARROW, DOUBLE_CHAIN),
    ("datum", NARROW, UNBROKEN),
    ("check bars", NARROW, UNBROKEN),
    ("lettering", LETTERING, UNBROKEN),
    (LEGEND_BEHIND, NARROW, DASHED),
    *((f"{LEGEND} {line:g}", line, UNBROKEN) for line in LEGEND_PENS),
    ("by hand", WIDE, HAND),
    ("openings", WIDE, UNBROKEN),
    ("outline", WIDE, UNBROKEN),
)
"""Name, width in mm and dash, in the order of drawing: the finest pen first, the outline last."""


# ---- the panel itself


def chain(contour: Contour) -> Chain:
    """A contour as a mark."""
    return Chain(contour.segments, closed=True)


def _parts(panel: Panel) -> dict[str, tuple[Contour, ...]]:
    """The outlines of what components have on the side that is seen, and behind the sheet; each shape once.

    Room for a spanner is left out, and terminals, which lie within their body.
    """
    found: dict[str, dict[Contour, None]] = {"parts": {}, "parts behind": {}}
    for placement in panel.placements:
        for body in placement.bodies:
            if body.role not in ("spanner", "terminal"):
                seen = (body.low >= 0) != panel.mirrored
                found["parts" if seen else "parts behind"].setdefault(panel.contour_to_program(body.footprint))
    return {pen: tuple(shapes) for pen, shapes in found.items()}


def _legend_pen(panel: Panel, legend: Legend) -> str:
    """The pen of a legend; where the sheet is seen from the inside it lies behind, and is seen through it."""
    if panel.mirrored:
        return LEGEND_BEHIND
    return f"{LEGEND} {min(LEGEND_PENS, key=lambda line: abs(math.log(line / legend.line))):g}"


def _rectangle(box: Box) -> Polyline:
    x0, y0, x1, y1 = box
    return Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)))


def _crosses(panel: Panel, mouths: Sequence[Contour]) -> list[tuple[str, list[Polyline]]]:
    """The centres of all openings with their pens: a cross each; through a crowd lines along its rows."""
    marks = [_centre_marks(panel, opening, shape) for opening, shape in zip(panel.openings, mouths, strict=True)]
    crowds = [places for places in together(panel.openings) if len(places) > CROWD]
    joined = {place for places in crowds for place in places}
    found = [("centre marks", arms[4:] if place in joined else arms) for place, arms in enumerate(marks)]
    for places in crowds:
        reaches = [(arms[0].points[0], bounds_of(arms[:4])) for arms in (marks[place] for place in places)]
        found.append(("rows of centres", rows_of_crosses(reaches)))
    return found


def _centre_marks(panel: Panel, opening: Opening, shape: Contour) -> list[Polyline]:
    """A cross at the centre that reaches beyond the shape, and a small one at each further point to mark."""
    centre = panel.to_program(opening.centre)
    x0, y0, x1, y1 = shape.bounds
    marks = _cross(centre, (x0 - CENTRE_OVERHANG, y0 - CENTRE_OVERHANG, x1 + CENTRE_OVERHANG, y1 + CENTRE_OVERHANG))
    for point in map(panel.to_program, opening.marks):
        if math.dist(point, centre) > AIR:
            x, y = point
            reach = CENTRE_OVERHANG
            marks += _cross(point, (x - reach, y - reach, x + reach, y + reach))
    return marks


def _cross(centre: XY, reach: Box) -> list[Polyline]:
    """Four arms drawn outward, so that the lines cross where each begins with a long dash and never in a gap."""
    (x, y), (x0, y0, x1, y1) = centre, reach
    return [Polyline((centre, end)) for end in ((x1, y), (x0, y), (x, y1), (x, y0))]


def _clamp_names(panel: Panel, outlines: Sequence[Contour]) -> list[Polyline]:
    """Each clamp's name in it, clear of the panel's edge and of openings, as near to its middle as may be.

    Where it finds no room there it is the clamp's number alone.
    """
    marks: list[Polyline] = []
    for clamp in panel.clamps:
        area = panel.area_to_program(clamp.area)
        taken = Taken()
        for box in (box for outline in outlines if _meet(outline.bounds, area) for box in along(outline)):
            taken.add(box)
        name, number = f"clamp {clamp.number}", str(clamp.number)
        texts = [name, number] if width(name, HEIGHT) + 2 * AIR <= area[2] - area[0] else [number]
        places = [(text, at) for text in texts for at in _places_in(area, width(text, HEIGHT))]
        text, at = min(places, key=lambda place: taken.conflicts(text_box(place[1], width(place[0], HEIGHT))))
        marks += letter(text, at, HEIGHT)
    return marks


def _places_in(area: Box, length: float) -> list[XY]:
    """Where a text may begin within an area, from the middle outwards; the middle alone where it has no room."""
    x0, y0, x1, y1 = area
    middle = (x0 + x1 - length) / 2, (y0 + y1 - HEIGHT) / 2
    aside, up = max(0.0, (x1 - x0 - length) / 2 - AIR), max(0.0, (y1 - y0 - 1.3 * HEIGHT) / 2 - AIR)
    steps = [step / 4 for step in range(-4, 5)]
    places = [(middle[0] + share * aside, middle[1] + rise * up) for share in steps for rise in steps]
    return sorted(places, key=lambda place: math.dist(place, middle))


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _datum() -> list[Mark]:
    """The symbol at X0 Y0: a circle of 3 mm with a cross."""
    return [chain(circle((0.0, 0.0), 3.0)), *_cross((0.0, 0.0), (-3.0, -3.0, 3.0, 3.0))]


# ---- labels that find their own room


_IN_MM: Final = re.compile(r" \([^()]* mm\)")
"""The mm beside the inches of a size: the table has them, a label beside a hole has no room."""


def hole_name(named: Named) -> str:
    """The size of openings that are named together, with their number where there are several."""
    count = len(named.openings)
    return _how_opened(named.first) if count == 1 else f"{count} x {_how_opened(named.first)}"


def _how_opened(opening: Opening) -> str:
    """The size, and what the machine does of it where that is not all."""
    return size_of(opening) if opening.finish == "machine" else f"{size_of(opening)} {opening.finish}"


def _labels(
    panel: Panel,
    outline: Contour,
    shapes: Sequence[Contour],
    crosses: Sequence[tuple[str, Sequence[Polyline]]],
    tabs: Sequence[tuple[XY, XY, XY, XY]],
    others: Mapping[str, Sequence[Mark]],
    beside: Mapping[str, str],
) -> tuple[list[Polyline], list[Mark]]:
    """Tag and size at each opening, and what is said beside them, by its tag.

    They stand where there is room clear of openings, clamps, centre marks and other labels.

    A label that stands far off gets a leader: these come second. The first hole of a ring or grid, which is labelled
    as one, has its tag too where there is room.
    """
    taken, strips = Taken(), Strips()
    boxes = [shape.bounds for shape in shapes]
    around_zero = [
        _meet(grown(box, AIR), (0.0, 0.0, 0.0, 0.0)) and holds(shape, (0.0, 0.0))
        for shape, box in zip(shapes, boxes, strict=True)
    ]
    for owner, (opening, shape) in enumerate(zip(panel.openings, shapes, strict=True)):
        for box in along(shape) if around_zero[owner] or opening.depth is not None else strips.of(shape):
            taken.add(box, owner)
    for _, lines_of_centres in crosses:
        for line in lines_of_centres:
            taken.add(grown(bounds_of([line]), 0.1), cost=FINE)
    for tab in tabs:
        taken.add(bounds_of([Polyline(tab)]))
    taken.add((-3.0, -3.0, 3.0, 3.0))
    for shape in (shape for shapes_of_parts in _parts(panel).values() for shape in shapes_of_parts):
        for box in along(shape):
            taken.add(box, cost=FAINT)
    for clamp in panel.clamps:
        taken.add(panel.area_to_program(clamp.area), cost=LETTERED)  # its name stands somewhere in it
    for legend in panel.legends:
        taken.add(panel.area_to_program(legend.bounds), cost=FINE)
        for ground in map(panel.contour_to_program, legend.areas):
            if ground.area < ground.perimeter * TICK / 2:
                taken.add(ground.bounds)
            else:
                taken.add(with_space(ground.bounds), cost=LETTERED)
    for pen, marks in others.items():
        for box in (box for mark in marks for box in _along_mark(mark)):
            taken.add(box, cost=LETTERED if pen == "lettering" else FINE)
    lines: list[Polyline] = []
    leaders: list[Mark] = []

    def put(
        text: str, box: Box, owner: int, corner: float, inside: bool, rounded: bool, optional: bool = False
    ) -> None:
        length = width(text, HEIGHT)
        at, conflicts = place_for(box, length, outline.bounds, taken, owner, corner, inside, rounded)
        if conflicts and optional:
            return
        lines.extend(letter(text, at, HEIGHT))
        taken.add(with_space(text_box(at, length)), cost=LETTERED)
        if leader := leader_of(text_box(at, length), box, rounded):
            leaders.append(Polyline(leader))
            for bit in along_line(*leader):
                taken.add(bit)

    put("X0 Y0", (-2.0, -2.0, 2.0, 2.0), -2, 0.0, False, True)
    for owner, opening in enumerate(panel.openings):
        if around_zero[owner] and opening.depth is None:
            for box in strips.of(shapes[owner]):  # until now it was open to the name of the zero within it
                taken.add(box, owner)
    for named in named_together(panel.openings, boxes):
        single = len(named.openings) == 1
        shoulder = (1 - math.sqrt(0.5)) / 2 * mouth_width(named.first) if single else 0.0
        text = f"{named.tags}{' ' if single else ': '}{_IN_MM.sub('', hole_name(named))}"
        if said := beside.get(named.first.tag):
            text = f"{text}, {said}"
        put(text, named.box, named.owner, -shoulder, single, named.rounded)
        if not single and not named.ring:
            first = named.first
            put(first.tag, boxes[named.owner], named.owner, 0.0, False, first.diameter is not None, True)
    return lines, leaders


def _along_mark(mark: Mark) -> Iterable[Box]:
    """Small boxes along a mark, which lettering keeps off."""
    if isinstance(mark, Polyline):
        return (box for start, end in pairwise(mark.points) for box in along_line(start, end))
    points = [
        segment.point_at(share * segment.length / 8) for segment in mark.segments for share in range(9)
    ]  # fmt: skip
    return (box for start, end in pairwise(points) for box in along_line(start, end))


def size_of(opening: Opening) -> str:
    """The size as the job gives it, a round one with the sign for diameter."""
    if opening.diameter is None or opening.size_text.startswith("Ø"):
        return opening.size_text
    return f"Ø{opening.size_text}"


# ---- round the panel


def _heading(panel: Panel, title: str, area: Box, tabs: bool, scale: Scale) -> list[Polyline]:
    """Title, what the sheet shows and what its less usual lines mean, above the panel."""
    side = "inside (mirrored)" if panel.mirrored else "outside"
    facts = f"{panel.name}: {panel.thickness_text} {panel.material}, seen from the {side}, full size 1:1"
    room = max(area[2] - area[0], 130.0)
    lines = [(text, TITLE_HEIGHT) for text in wrapped(title, TITLE_HEIGHT, room)]
    lines += [(text, NOTE_HEIGHT) for text in wrapped(facts, NOTE_HEIGHT, room)]
    lines += [(text, HEIGHT) for text in wrapped(" ".join(meanings(panel, tabs)), HEIGHT, room)]
    lines += [(text, HEIGHT) for text in (wrapped(scale.said, HEIGHT, room) if scale != TRUE else [])]
    y = max(area[3], area[1] + 100.0) + 6.0
    marks: list[Polyline] = []
    for text, height in reversed(lines):
        marks += letter(text, (area[0], y), height)
        y += height * LINE_FEED
    return marks


def meanings(panel: Panel, tabs: bool) -> Iterator[str]:
    """What the less usual lines of a drawing mean; ``tabs``: it shows holding tabs."""
    if any(opening.finish != "machine" for opening in panel.openings):
        yield "Dashed openings are left to the hand."
    if panel.placements:
        yield "Thin outlines: what stands there, dashed behind the sheet."
    if panel.legends and panel.mirrored:
        yield "Dashed lettering: the legend, on the far side."
    elif panel.legends:
        yield "Lettering and ticks on the face itself: the legend."
    if tabs:
        yield "Two short lines on a wall: a holding tab."
    if panel.mirrored and panel.openings:
        yield "The drilling schedule's x runs the other way: it is seen from the outside."


BARS: Final = ((100.0, "100 mm"), (4 * INCH, "4 in"))
"""Lengths that a ruler checks on the finished sheet: a plotter or a printer that scales shows here."""


def _bar_starts(area: Box) -> list[XY]:
    return [(area[0] + 22.0, area[1] - 10.0 - 9.0 * index) for index in range(len(BARS))]


def _check_bars(area: Box) -> list[Mark]:
    """Both lengths below the panel, and 100 mm once more upright: the two directions may be out differently."""
    bars: list[Mark] = []
    for (x, y), (length, _) in zip(_bar_starts(area), BARS, strict=True):
        ends = (x, y), (x + length, y)
        bars += [Polyline(ends), *(_tick(end, upright=True) for end in ends)]
    x, y = area[0] - 8.0, area[1]
    ends = (x, y), (x, y + 100.0)
    return [*bars, Polyline(ends), *(_tick(end, upright=False) for end in ends)]


def _tick(at: XY, upright: bool) -> Polyline:
    (x, y), half = at, 1.5
    return Polyline(((x, y - half), (x, y + half)) if upright else ((x - half, y), (x + half, y)))


def _bar_texts(area: Box) -> list[Polyline]:
    marks: list[Polyline] = []
    for (x, y), (length, text) in zip(_bar_starts(area), BARS, strict=True):
        marks += letter(text, (x + length / 2, y + 1.2), HEIGHT, "centre")
    return [*marks, *letter("100 mm", (area[0] - 9.2, area[1] + 50.0), HEIGHT, "centre", math.pi / 2)]


def _axes(area: Box) -> list[Mark]:
    """Two arrows that say which way X and Y grow, with their letters."""
    x, y, reach = area[0], area[1] - 20.0, 11.0
    head = 2.5
    marks: list[Mark] = [
        Polyline(((x, y), (x + reach, y))),
        Polyline(((x + reach - head, y + head / 4), (x + reach, y), (x + reach - head, y - head / 4))),
        Polyline(((x, y), (x, y + reach))),
        Polyline(((x - head / 4, y + reach - head), (x, y + reach), (x + head / 4, y + reach - head))),
    ]
    return [*marks, *letter("X", (x + reach + 1.5, y - HEIGHT / 2), HEIGHT),
            *letter("Y", (x + 2.2, y + reach - HEIGHT), HEIGHT)]


def _hole_table(panel: Panel, units: Units, area: Box) -> list[Polyline]:
    """Every opening by its tag, in as many columns as the width takes; x and y from X0 Y0 as the sheet is drawn.

    Of a ring or grid the first hole has its place here; the others are drawn, and stand in the drilling schedule.
    Angles count counter-clockwise from the drawn X.
    """
    rows = hole_rows(panel, units)
    if not rows:
        return []
    wide = column_widths(rows, units)
    blocks = max(1, math.floor((area[2] - area[0]) / (sum(wide) + 4.0)))
    high = math.ceil(len(rows) / blocks)
    marks: list[Polyline] = []
    for block, first in enumerate(range(0, len(rows), high)):
        at = area[0] + block * (sum(wide) + 4.0), area[1] - 30.0
        marks += letter_rows(rows[first:first + high], units, at, wide)
    return marks


def column_widths(rows: Sequence[Row], units: Units) -> list[float]:
    """The widths of the hole table's columns, each with the space behind it, mm."""
    return [max(width(row[column], HEIGHT) for row in [_head(units), *rows]) + 4.0 for column in range(5)]


def letter_rows(rows: Sequence[Row], units: Units, at: XY, wide: Sequence[float]) -> list[Polyline]:
    """One block of the hole table: its head, with the baseline of that at ``at``, a line and the rows below."""
    aligns: tuple[Align, ...] = ("left", "left", "right", "right", "left")
    marks: list[Polyline] = []
    x, y = at
    for place, row in enumerate((_head(units), *rows)):
        left = x
        for text, column_width, align in zip(row, wide, aligns, strict=True):
            marks += letter(text, (left + (column_width - 4.0 if align == "right" else 0.0), y), HEIGHT, align)
            left += column_width
        if place == 0:
            marks.append(Polyline(((x, y - 1.5), (x + sum(wide) - 4.0, y - 1.5))))
            y -= 1.0
        y -= ROW
    return marks


def _head(units: Units) -> Row:
    return "tag", "size", f"x {units}", f"y {units}", "label"


def hole_rows(panel: Panel, units: Units) -> list[Row]:
    """The rows of the hole table below its head, in the openings' order."""
    boxes = [opening.shape.bounds for opening in panel.openings]
    return [row for named in named_together(panel.openings, boxes) for row in _rows(panel, named, units)]


def _rows(panel: Panel, named: Named, units: Units) -> list[Row]:
    """An opening's row: its size with the way it lies, its place and label; of a polygon the corners below it.

    Of a crowd the last hole stands below the first, with how they stand between.
    """
    first = named.first
    label = first.label
    if len(named.openings) > 1:
        label = f"{label}; x, y of {first.tag}" if label else f"x, y of {first.tag}"
    size = f"{hole_name(named)}{turn_words(first, panel.mirrored)}"
    rows = [(named.tags, size, *_x_y(panel.to_program(first.centre), units), label)]
    if named.crowd:
        last, stand = named.openings[-1], lattice([opening.centre for opening in named.openings])
        words = stand.words(units) if stand else ""
        return [*rows, ("", words, *_x_y(panel.to_program(last.centre), units), f"x, y of {last.tag}")]
    if len(first.corners) > MOST_CORNERS:
        return rows
    return rows + [
        ("", f"corner {number}", *_x_y(panel.to_program(corner), units), "")
        for number, corner in enumerate(first.corners, start=1)
    ]


def _x_y(point: XY, units: Units) -> tuple[str, str]:
    scale, places = (INCH, 3) if units == "in" else (1.0, 2)
    x, y = (f"{round(value / scale, places) + 0.0:.{places}f}" for value in point)
    return x, y


# ---- boxes


def bounds_of(marks: Iterable[Mark]) -> Box:
    """The box round all marks, mm."""
    corners: list[XY] = []
    for mark in marks:
        if isinstance(mark, Polyline):
            corners += mark.points
        else:
            for x0, y0, x1, y1 in (segment.bounds for segment in mark.segments):
                corners += ((x0, y0), (x1, y1))
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _same(a: Box, b: Box) -> bool:
    return max(abs(p - q) for p, q in zip(a, b, strict=True)) < 1e-6

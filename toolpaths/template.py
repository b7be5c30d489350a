"""What is printed of a panel to work from by hand: the panel at full size, and its hole table on pages of its own.

Beside what every drawing has of the panel, a template has its centre lines with distances, the bends beside which
sheet is not flat, and in large openings the way they are opened by hand. It lies like the panel on the machine.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

from toolpaths.drafting import EDGE, ROW, bounds_of, chain, column_widths, hole_rows, ink, letter_rows, pens_of
from toolpaths.drawing import LETTERING, Chain, Drawing, Mark, Pen, Polyline
from toolpaths.geometry.segment import XY, Arc, Bounds
from toolpaths.geometry.shapes import circle
from toolpaths.hand_route import ROUTED_FROM, SAW_OFF, START_HOLE, is_routed, route
from toolpaths.job.chassis import Chassis
from toolpaths.labelling import CENTRE_OVERHANG, HEIGHT, grown, text_box
from toolpaths.layout.box import folded_sides
from toolpaths.layout.panel import Opening, Panel
from toolpaths.lettering import cut_short, letter, width, wrapped
from toolpaths.units import INCH, Units, plain, ruled, said, said_both

SAME_PLACE: Final = 0.05
"""Places nearer to each other are one to whoever punches, mm."""

PUNCH_ARM: Final = 1.2
"""Half the length of the cross where a hole beside a centre is punched, mm."""

STEP: Final = {"mm": 10.0, "in": INCH / 2}
SETUP_ROW: Final = 7.0
"""From line to line of what the machine reaches, mm."""

FIGURED: Final = {"mm": 5, "in": 4}
"""From tick to tick of a centre line, mm; and at each how many of them there is a figure."""


@dataclass(frozen=True, slots=True)
class Common:
    """What is the same for all templates of a job: its title, units and size (empty: it has none), and its box.

    ``pilot`` is the diameter of the hole for a router's pin, ``start_hole`` that through which a saw blade goes in, mm.
    ``boards`` names the materials that a router on a pin cuts.
    """

    title: str
    units: Units
    pilot: float
    size: str = ""
    chassis: Chassis | None = None
    start_hole: float = START_HOLE
    boards: frozenset[str] = frozenset()


def draw_template(
    panel: Panel, job: Common, beside: Mapping[str, str] | None = None, first_holes: Sequence[tuple[XY, float]] = (),
    setups: Sequence[Panel] = (), punched: Mapping[str, Sequence[XY]] | None = None,
) -> Drawing:
    """The panel alone, without clamps and components.

    ``beside`` is what stands behind the size in an opening's label, by its tag: ``{"A1": "pilot 3"}``. Openings that
    are labelled together take that of the first. ``first_holes`` are round holes that are drilled beside an opening's
    centre and filed to its shape, as centre (panel coordinates) and diameter. ``punched``: where each is punched
    by hand, by its tag, in panel coordinates. ``setups`` are those of a panel that is
    divided for the machine.
    """
    bare = replace(panel, clamps=(), placements=(), stock=panel.outline.bounds)
    also: dict[str, list[Mark]] = defaultdict(list)
    for opening in bare.openings:
        for pen, mark in hand_route(bare, opening, job):
            also[pen].append(mark)
    for centre, diameter in first_holes:
        at = panel.to_program(centre)
        also["hand holes"] += [chain(circle(at, diameter)), *_small_cross(at)]
    drawn = _Places(
        mark.segments[0].centre for mark in also["hand holes"]
        if isinstance(mark, Chain) and isinstance(mark.segments[0], Arc)
    )  # fmt: skip
    for opening in bare.openings:
        for at in map(panel.to_program, (punched or {}).get(opening.tag, ())):
            if math.dist(at, panel.to_program(opening.centre)) > SAME_PLACE and not drawn.holds(at):
                also["hand holes"] += _small_cross(at)
    also["bend lines"] += bend_lines(panel, job.chassis)
    for pen, mark in (*_centre_lines(bare, job.units), *_setup_marks(bare, setups)):
        also[pen].append(mark)
    inked = ink(bare, also=also, beside=beside)
    around = grown(bounds_of(mark for marks in inked.values() for mark in marks), EDGE)
    return Drawing(job.title, panel.name, around, pens_of(inked), tuple(notes(panel, job)))


class _Places:
    """Places found again through a grid, so that thousands stay quick."""

    def __init__(self, places: Iterable[XY]) -> None:
        self.cells: defaultdict[tuple[int, int], list[XY]] = defaultdict(list)
        for place in places:
            self.cells[self._cell(place)].append(place)

    def holds(self, at: XY) -> bool:
        """Whether one of them is the same place to whoever punches."""
        x, y = self._cell(at)
        near = [cell for across in (-1, 0, 1) for up in (-1, 0, 1) if (cell := (x + across, y + up)) in self.cells]
        return any(math.dist(at, other) <= SAME_PLACE for cell in near for other in self.cells[cell])

    @staticmethod
    def _cell(at: XY) -> tuple[int, int]:
        return math.floor(at[0] / SAME_PLACE), math.floor(at[1] / SAME_PLACE)


def _small_cross(at: XY) -> list[Mark]:
    """Where to punch, shorter than the cross at an opening's own centre, so that the two are told apart."""
    (x, y), arm = at, PUNCH_ARM
    return [Polyline(((x - arm, y), (x + arm, y))), Polyline(((x, y - arm), (x, y + arm)))]


def draw_tables(panel: Panel, job: Common, room: XY, below: Sequence[str]) -> list[Drawing]:
    """The hole table of a panel on as many pages of ``room`` (width, height) as it takes; under it the lines ``below``.

    These say what the drawing's lines mean, and warn.
    """
    wide, high = room
    units = job.units
    rows = hole_rows(panel, units)
    columns = column_widths(rows, units)
    label_room = max(20.0, wide - sum(columns[:-1]))
    rows = [(*row[:-1], cut_short(row[-1], HEIGHT, label_room)) for row in rows]
    columns = column_widths(rows, units)
    blocks = max(1, math.floor((wide + 8.0) / (sum(columns) + 4.0)))
    most = math.floor((high - HEIGHT - 4.0) / ROW) - 1
    marks: list[list[Mark]] = []
    last = 0.0
    for first in range(0, len(rows), most * blocks):
        of_page = rows[first : first + most * blocks]
        rows_high = math.ceil(len(of_page) / blocks)
        page: list[Mark] = []
        for block, top in enumerate(range(0, len(of_page), rows_high)):
            at = block * (sum(columns) + 4.0), high - HEIGHT - 1.0
            page += letter_rows(of_page[top : top + rows_high], units, at, columns)
        last = high - HEIGHT - 1.0 - (rows_high + 2) * ROW
        marks.append(page)
    lines = [line for text in below for line in wrapped(text, HEIGHT, wide) or [""]]
    for place, line in enumerate(lines):
        if not marks or last < 0 or (place == 0 and last - len(lines) * ROW < 0 and len(lines) < most):
            marks.append([])  # what fits on one page together is not torn
            last = high - HEIGHT - 1.0
        marks[-1] += letter(line, (0.0, last), HEIGHT)
        last -= ROW
    side = "inside (mirrored)" if panel.mirrored else "outside"
    told = (
        f"{_named(panel, job)}: hole table, x and y from X0 Y0 as the drawing lies, seen from the {side}.",
        "All holes of a ring or grid stand in the drilling schedule.",
    )
    pens = [Pen("lettering", LETTERING, (), tuple(page)) for page in marks]
    return [Drawing(job.title, panel.name, (0.0, 0.0, wide, high), (pen,), told) for pen in pens]


# ---- by hand


def hand_route(panel: Panel, opening: Opening, job: Common) -> Iterator[tuple[str, Mark]]:
    """How a large opening through the sheet is made by hand, as marks with their pens, in program coordinates.

    A round one that a router cuts has the hole for the pin on which it turns; others have what ``hand_route.route``
    says: the holes to drill, and the saw lines between them.
    """
    if _routed(panel, opening, job):
        yield "hand holes", chain(circle(panel.to_program(opening.centre), job.pilot))
        return
    if opening.cleared or opening.depth is not None or (opening.diameter or math.inf) <= ROUTED_FROM:
        return
    way = route(panel.contour_to_program(opening.shape), job.start_hole)
    for piece in way.saw:
        yield "hand route", Chain((piece,), closed=False)
    for centre, radius in (*way.corners, *((at, job.start_hole / 2) for at in way.starts)):
        yield "hand holes", chain(circle(centre, 2 * radius))


def _routed(panel: Panel, opening: Opening, job: Common) -> bool:
    return is_routed(opening.diameter, opening.depth, "board" if panel.material in job.boards else "metal")


def bend_lines(panel: Panel, chassis: Chassis | None) -> list[Polyline]:
    """Where beside each bend of a folded box's face the sheet is flat from, bent already or not.

    In program coordinates. ISO 128 draws bends as narrow unbroken lines (from memory).
    """
    face = chassis.face_of(panel.name) if chassis else None
    if chassis is None or face is None:
        return []
    x0, y0, x1, y1 = panel.outline.bounds
    off = chassis.flat_from
    ends = {
        "left": ((x0 + off, y0), (x0 + off, y1)),
        "right": ((x1 - off, y0), (x1 - off, y1)),
        "lower": ((x0, y0 + off), (x1, y0 + off)),
        "upper": ((x0, y1 - off), (x1, y1 - off)),
    }
    return [Polyline(tuple(map(panel.to_program, ends[side]))) for side in folded_sides(face, chassis)]


# ---- the middle


def _centre_lines(panel: Panel, units: Units) -> Iterator[tuple[str, Mark]]:
    """Both centre lines of the panel; the longer one with ticks and figures that count from the middle, both ways."""
    x0, y0, x1, y1 = panel.area_to_program(panel.outline.bounds)
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    for end in ((x0 - CENTRE_OVERHANG, cy), (x1 + CENTRE_OVERHANG, cy), (cx, y0 - CENTRE_OVERHANG),
                (cx, y1 + CENTRE_OVERHANG)):  # fmt: skip
        yield "centre lines", Polyline(((cx, cy), end))
    across = x1 - x0 >= y1 - y0
    taken = [grown(panel.contour_to_program(opening.shape).bounds, CENTRE_OVERHANG) for opening in panel.openings]
    taken += [grown(panel.contour_to_program(area).bounds, 0.5) for one in panel.legends for area in one.areas]
    step = STEP[units]
    band = grown((x0, cy, x1, cy) if across else (cx, y0, cx, y1), 8 * HEIGHT)  # the longest figure lies in it
    taken = [box for box in taken if not _clear(box, [band])]
    for index in range(1, math.floor(((x1 - x0) if across else (y1 - y0)) / 2 / step - 1e-9) + 1):
        for sign in (1, -1):
            along = sign * index * step
            at = (cx + along, cy) if across else (cx, cy + along)
            figured = index % FIGURED[units] == 0
            half = 1.5 if figured else 0.8
            if _clear((*at, *at), taken):
                yield "distances", Polyline(
                    ((at[0], at[1] - half), (at[0], at[1] + half)) if across
                    else ((at[0] - half, at[1]), (at[0] + half, at[1]))
                )  # fmt: skip
            if figured:
                text = plain(index * step / (INCH if units == "in" else 1.0))
                long = width(text, HEIGHT)
                left = (at[0] - long / 2, at[1] + 2.2) if across else (at[0] + 2.2, at[1] - HEIGHT / 2)
                if _clear(grown(text_box(left, long), 0.5), taken):
                    for stroke in letter(text, left, HEIGHT):
                        yield "lettering", stroke


def _clear(box: Bounds, taken: Iterable[Bounds]) -> bool:
    return not any(box[0] < x1 and x0 < box[2] and box[1] < y1 and y0 < box[3] for x0, y0, x1, y1 in taken)


# ---- setups


def _setup_marks(panel: Panel, setups: Sequence[Panel]) -> Iterator[tuple[str, Mark]]:
    """Beside a panel that is divided: how much of it the machine reaches in each setup; and where parts meet."""
    x0, y0, x1, y1 = panel.area_to_program(panel.outline.bounds)
    ends = {0: (x0, x1), 1: (y0, y1)}
    spans: dict[tuple[int, float, float], list[int]] = {}
    for one in setups:
        assert one.stage is not None
        shift = panel.to_program(one.zero)
        for axis in (0, 1):
            low, high = (one.stage.reach[axis + k] + shift[axis] for k in (0, 2))
            span = max(low, ends[axis][0]), min(high, ends[axis][1])
            if span != ends[axis]:
                spans.setdefault((axis, *span), []).append(one.stage.number)
    for place, ((axis, low, high), numbers) in enumerate(spans.items(), 1):
        text = f"setup{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"
        off = (y0 if axis == 0 else x0) - CENTRE_OVERHANG - place * SETUP_ROW
        yield "distances", _across(axis, off, low, high)
        for end in (low, high):
            yield "distances", _across(1 - axis, end, off - 1.5, off + 1.5)
        middle = (low + high) / 2 - width(text, HEIGHT) / 2
        for stroke in letter(text, (middle, off + 1.0) if axis == 0 else (off + 1.0, (low + high) / 2), HEIGHT):
            yield "lettering", stroke
    for opening in (opening for one in setups for opening in one.work if opening.part is not None):
        left, below, right, above = panel.contour_to_program(opening.shape).bounds
        for axis, at in map(panel.line_to_program, opening.part.lines if opening.part else ()):
            yield "centre lines", _across(1 - axis, at, *((below, above) if axis == 0 else (left, right)))


def _across(axis: int, off: float, low: float, high: float) -> Polyline:
    """A line along an axis from ``low`` to ``high``, at ``off`` on the other."""
    return Polyline(((low, off), (high, off)) if axis == 0 else ((off, low), (off, high)))


def setups_meant(setups: Sequence[Panel]) -> Iterator[str]:
    """What the lines about the setups of a divided panel mean, and what each setup makes."""
    if not setups:
        return
    yield "Beside the panel: what the machine reaches in each setup."
    for one in setups:
        assert one.stage is not None
        parts = [f"a part of {opening.tag}" for opening in one.work if opening.part is not None]
        whole = [opening.tag for opening in one.openings if opening.part is None]
        yield f"Setup {one.stage.number} makes {', '.join([*whole, *parts])}."
    if any(opening.part is not None for one in setups for opening in one.work):
        yield "Chain lines across an opening: where its parts meet, each cut a little beyond the other."


# ---- words


def _named(panel: Panel, job: Common) -> str:
    return f"{panel.name}, size {job.size}" if job.size else panel.name


def notes(panel: Panel, job: Common) -> Iterator[str]:
    """What every page or sheet says: what is seen, and two holes to measure."""
    side = "inside (mirrored)" if panel.mirrored else "outside"
    yield f"{_named(panel, job)}: {panel.thickness_text} {panel.material}, seen from the {side}, full size."
    if len(panel.openings) > 1:
        one, other = _farthest(panel.openings)
        distance = math.dist(one.centre, other.centre)
        told = f"{distance:.2f} mm"
        if job.units == "in":
            told = f"{distance / INCH:.3f} in (on a rule {ruled(distance, 'in')})"
        yield f"To measure: {told} from the centre of {one.tag} to that of {other.tag}."


def meanings(panel: Panel, job: Common) -> Iterator[str]:
    """What the less usual lines of a template mean, and how large openings are made by hand."""
    yield f"Ticks on the longer centre line count {'inches' if job.units == 'in' else 'mm'} from the panel's middle."
    if any(opening.finish != "machine" for opening in panel.openings):
        yield "Wide dashed openings are left to the hand."
    pilots = {opening.cut_diameter for opening in panel.openings if opening.finish == "pilot" and opening.cut_diameter}
    if pilots:
        yield f"The pilot of an opening so marked: Ø{' or Ø'.join(said(size, job.units) for size in sorted(pilots))}."
    by_hand = {pen for opening in panel.openings for pen, _ in hand_route(panel, opening, job)}
    if "hand route" in by_hand:
        yield (
            "A large opening by hand: drill the thin circles in its corners, saw along the dashes "
            f"{said_both(SAW_OFF, job.units)} inside the line, file to the line."
        )
    if any(opening.kind == "d_hole" for opening in panel.openings):
        yield "A D-hole by hand: punch the small cross beside its centre, drill the thin circle, file the flat."
    if any(_routed(panel, opening, job) for opening in panel.openings):
        yield "A large round opening by hand: drill the small circle in its middle for a pin to turn a router on."
    if bend_lines(panel, job.chassis):
        yield "Thin lines along the edges: the sheet is flat between them, with a bend beyond."
    if panel.mirrored:
        yield "Mirrored, to lie on the inside: x of the drilling schedule runs the other way."


def _farthest(openings: Sequence[Opening]) -> tuple[Opening, Opening]:
    """The two openings whose centres lie farthest apart, of those that lie farthest out in eight directions."""
    outer = set()
    for eighth in range(4):
        along = math.cos(eighth * math.pi / 4), math.sin(eighth * math.pi / 4)
        reaches = [along[0] * opening.centre[0] + along[1] * opening.centre[1] for opening in openings]
        outer |= {reaches.index(max(reaches)), reaches.index(min(reaches))}
    pairs = combinations([openings[index] for index in sorted(outer)], 2)
    return max(pairs, key=lambda pair: math.dist(pair[0].centre, pair[1].centre), default=(openings[0], openings[-1]))

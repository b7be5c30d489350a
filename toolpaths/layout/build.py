"""A job laid out: every panel with its outline, its zero and the exact shape of each opening.

The order of openings is that of the kinds in the job format, and file order within a kind; a ring gives one opening
for each of its holes, all under the ring's own name.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from toolpaths.drawing_file.contents import Shape
from toolpaths.geometry import shapes
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import across
from toolpaths.geometry.offset import offset
from toolpaths.geometry.polygon import corner_centres
from toolpaths.geometry.segment import XY, Arc, turned
from toolpaths.job import Clamp as JobClamp
from toolpaths.job import (
    Cutout,
    DHole,
    DoubleDHole,
    DrawnShapes,
    Feature,
    Grid,
    HoldingTabs,
    Hole,
    HoleList,
    Job,
    KeyedHole,
    Polygon,
    Ring,
    Round,
    Slot,
    Text,
)
from toolpaths.job import Panel as JobPanel
from toolpaths.layout.blank import blank_round, faces_round
from toolpaths.layout.components import holes_of, placement_of, standing_on
from toolpaths.layout.engraver import engraver_for, with_groove
from toolpaths.layout.folded import bend_areas, folded
from toolpaths.layout.keys import key_is_milled
from toolpaths.layout.legends import legend_of
from toolpaths.layout.nesting import with_tops
from toolpaths.layout.outline import edge_of, stock_round
from toolpaths.layout.panel import Clamp, Countersink, Layout, Opening, Panel, Rectangle, Tabs, Thread, Turned
from toolpaths.layout.sizes import size_words
from toolpaths.layout.tags import letters_of, round_size, tags
from toolpaths.layout.touch_off import touch_off
from toolpaths.tolerance import CHIPS_ONLY_UP_TO, LEAST_CORNER, NO_SLUG_UNDER, SAME_POINT
from toolpaths.units import Units, plain, said

_ACROSS: Final = {"left": 0.0, "centre": 0.5, "right": 1.0}
_UP: Final = {"lower": 0.0, "centre": 0.5, "upper": 1.0}

KINDS: Final[dict[type[Feature], str]] = {
    Hole: "hole", DHole: "d_hole", Cutout: "cutout", Ring: "ring", Slot: "slot", DoubleDHole: "double_d_hole",
    Grid: "grid", KeyedHole: "keyed_hole", Polygon: "polygon", HoleList: "hole_list", DrawnShapes: "drawing",
}  # fmt: skip
"""What the job calls each kind that is an opening itself."""

DIALLED: Final[dict[Units, float]] = {"mm": 1.0, "in": 1.27}
"""The step in which an operator likes to dial in a place by hand, mm: 1 mm, 0.05 in."""


def lay_out(job: Job) -> Layout:
    """Every panel of a job as exact shapes in panel coordinates, mm.

    A panel that was measured has the real piece's outline, with ``origin`` on that piece and depths by its thickness;
    positions stay as the job computes them.
    """
    taken = taken_letters(job)
    panels = tuple(lay_out_panel(panel, job, taken) for panel in job.panels)
    return Layout(job.name, job.title, job.size, job.units, panels)


def taken_letters(job: Job) -> set[str]:
    """The letters with which no tag begins, because labels of the job do."""
    return letters_of(_labels(job))


def _labels(job: Job) -> Iterator[str]:
    """What the job itself calls its features and components, on all panels."""
    for panel in job.panels:
        yield from (feature.label for feature in panel.features)
        yield from (feature.text for feature in panel.features if isinstance(feature, Text))
        yield from (hole.label for one in panel.features if isinstance(one, HoleList) for hole in one.holes)
        yield from (one.part.label for one in standing_on(panel))


def lay_out_panel(panel: JobPanel, job: Job, taken: set[str]) -> Panel:
    """One panel as exact shapes; no tag on it begins with a letter that is ``taken``."""
    bounds = bounds_about_origin(panel.origin, panel.measured.width, panel.measured.height)
    outline = shapes.rounded_rectangle(
        ((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2),
        panel.measured.width,
        panel.measured.height,
        panel.corner_radius,
    )
    zero = zero_of(bounds, panel.mirrored)
    stock = blank_round(panel.name, bounds, job.chassis) or bounds
    if panel.cut_outline:
        stock = stock_round(bounds, panel.clamps, panel.stock_margin)
    openings = with_tops(_tagged(openings_on(panel, job), taken))
    legends = tuple(legend for legend in map(legend_of, panel.features) if legend is not None)
    engraver = engraver_for(legends, job.materials[panel.material], job.machine, job.cutters)
    clamps = tuple(_clamp(number, clamp) for number, clamp in enumerate(panel.clamps, start=1))
    nut = job.machine.nut_diameter / 2
    dialled = DIALLED[job.machine.program.units]
    box = folded(panel.name, bounds, panel.mirrored, job.chassis)
    no_place = (*clamps, *bend_areas(box, len(clamps) + 1))
    return Panel(
        name=panel.name,
        material=panel.material,
        thickness=panel.measured.thickness,
        thickness_text=_thickness_words(panel, job.units),
        outline=outline,
        stock=stock,
        zero=zero,
        mirrored=panel.mirrored,
        cut_outline=panel.cut_outline,
        clamps=clamps,
        openings=openings,
        # on the panel itself, which stays in its frame to the end; never where the outline's kerf comes
        touch_off=touch_off(
            bounds, panel.corner_radius, openings, no_place, zero, nut, panel.cut_outline, dialled,
            [legend.bounds for legend in legends if legend.depth is not None],
        ),
        edge=edge_of(outline, _tabs(panel.outline_tabs)) if panel.cut_outline else None,
        placements=tuple(placement_of(one, panel.measured.thickness) for one in standing_on(panel)),
        folded=box,
        blank=faces_round(panel.name, bounds, stock, job.chassis),
        legends=tuple(with_groove(legend, engraver) for legend in legends),
        engraver=engraver.number if engraver else None,
    )


def openings_on(panel: JobPanel, job: Job) -> list[Opening]:
    """The openings of a panel in their order, still without tags and each as if it began at the sheet's top."""
    return [
        replace(opening, size_text=size_words(feature, opening, job.units) + _beside_size(feature, job.units))
        for name, feature, component in features_on(panel)
        for opening in _openings(name, _as_machined(feature, panel, job), job.pilot_diameter, component)
    ]


def features_on(panel: JobPanel) -> Iterator[tuple[str, Feature, int | None]]:
    """Every feature that makes openings, with the name of what the job has there, and the component that brings it."""
    for feature in panel.features:
        if type(feature) in KINDS:
            yield f"{KINDS[type(feature)]}[{feature.number}]", feature, None
    for place, one in enumerate(standing_on(panel)):
        yield from ((one.feature, hole, place) for hole in holes_of(one.part))


def _thickness_words(panel: JobPanel, units: Units) -> str:
    """The measured thickness with the nominal one beside it, or that alone where the sheet was not measured."""
    if abs(panel.measured.thickness - panel.thickness) <= SAME_POINT:
        return panel.thickness_text
    return f"{said(panel.measured.thickness, units)} measured, nominal {panel.thickness_text}"


def _as_machined(feature: Feature, panel: JobPanel, job: Job) -> Feature | FiledKey:
    """The feature itself, or, where no cutter may make its key, the keyed hole whose key is left for the file.

    No file goes into a blind key: there it is milled, or the planner says why it cannot be.
    """
    if not isinstance(feature, KeyedHole) or feature.finish != "machine" or feature.depth is not None:
        return feature
    material = job.materials[panel.material]
    if key_is_milled(feature, panel.measured.thickness, material, job.machine, job.cutters):
        return feature
    return FiledKey(feature)


def bounds_about_origin(origin: str, width: float, height: float) -> Rectangle:
    """The box of a panel whose ``origin`` lies at 0, 0.

    >>> bounds_about_origin("lower left", 100.0, 40.0), bounds_about_origin("right centre", 100.0, 40.0)
    ((0.0, 0.0, 100.0, 40.0), (-100.0, -20.0, 0.0, 20.0))
    """
    words = origin.split()
    right = next((_ACROSS[word] for word in words if word in ("left", "right")), 0.5)
    up = next((_UP[word] for word in words if word in ("lower", "upper")), 0.5)
    # 0.0 - 0.0 and not -0.0
    return (0.0 - right * width, 0.0 - up * height, (1 - right) * width, (1 - up) * height)


def zero_of(bounds: Rectangle, mirrored: bool) -> XY:
    """The panel point that is X0 Y0: what ``origin`` names as the panel lies on the machine.

    Turned over left to right, the corner that lies lower left is the panel's own lower right.

    >>> zero_of((0.0, 0.0, 100.0, 40.0), mirrored=False), zero_of((0.0, 0.0, 100.0, 40.0), mirrored=True)
    ((0.0, 0.0), (100.0, 0.0))
    """
    return (bounds[0] + bounds[2] if mirrored else 0.0), 0.0


def _clamp(number: int, clamp: JobClamp) -> Clamp:
    return Clamp(number, (clamp.x, clamp.y, clamp.x + clamp.width, clamp.y + clamp.length), clamp.height, clamp.setup)


def _tagged(openings: list[Opening], taken: set[str]) -> tuple[Opening, ...]:
    sizes = [(opening.diameter or across(opening.shape), opening.size_text) for opening in openings]
    return tuple(replace(opening, tag=tag) for opening, tag in zip(openings, tags(sizes, taken), strict=True))


@dataclass(frozen=True, slots=True)
class FiledKey:
    """A keyed hole of which the machine opens the round part alone."""

    hole: KeyedHole


@dataclass(frozen=True, slots=True)
class _Form:
    """What the kinds of feature differ in. ``marks`` are the points that a mark finish marks."""

    centre: XY
    shape: Contour
    size_text: str
    marks: tuple[XY, ...]
    diameter: float | None = None
    corner_limit: float = 0.0
    tolerance: float = 0.0
    turned: Turned | None = None
    corners: tuple[XY, ...] = ()


def _openings(
    name: str, feature: Feature | FiledKey, pilot_diameter: float, component: int | None
) -> Iterator[Opening]:
    """The openings of one feature, under the name of what the job has there."""
    made = _openings_of(name, feature, pilot_diameter)
    return made if component is None else (replace(opening, component=component) for opening in made)


def _openings_of(name: str, feature: Feature | FiledKey, pilot_diameter: float) -> Iterator[Opening]:
    match feature:
        case FiledKey(keyed):
            yield _without_key(keyed, _opening(name, keyed, _keyed_hole(keyed), pilot_diameter))
        case HoleList():
            for hole in feature.holes:
                form = _round(turned(feature.at, hole.at, feature.angle), hole.diameter, feature.tolerance)
                labelled = replace(feature, label=hole.label or feature.label)
                yield _opening(name, labelled, form, pilot_diameter)
        case DrawnShapes():
            for shape in feature.shapes:
                made = _opening(name, feature, _drawn(feature, shape), pilot_diameter)
                yield replace(made, drawn=str(shape.place))
        case _:
            for form in _forms(feature):
                yield _opening(name, feature, form, pilot_diameter)


def _forms(feature: Feature) -> Iterator[_Form]:
    """What each opening of a feature is; those of a list have labels of their own and are not among them."""
    match feature:
        case Hole():
            yield _round(feature.at, feature.diameter, feature.tolerance)
        case DHole():
            yield _d_hole(feature)
        case Cutout():
            yield _cutout(feature)
        case Ring():
            for centre in ring_centres(feature):
                yield _round(centre, feature.diameter, feature.tolerance)
        case Slot():
            yield _slot(feature)
        case DoubleDHole():
            yield _double_d_hole(feature)
        case Grid():
            for centre in grid_centres(feature):
                yield _round(centre, feature.diameter, feature.tolerance)
        case KeyedHole():
            yield _keyed_hole(feature)
        case Polygon():
            yield _polygon(feature)


def grid_centres(grid: Grid) -> Iterator[XY]:
    """The centres of a grid's holes, row by row from below; the middle of the box round all of them is at ``at``."""
    shift = grid.across / 2 if grid.staggered and grid.rows > 1 else 0.0
    left = grid.at[0] - ((grid.columns - 1) * grid.across + shift) / 2
    low = grid.at[1] - (grid.rows - 1) * grid.up / 2
    for row in range(grid.rows):
        for column in range(grid.columns):
            yield left + column * grid.across + (shift if row % 2 else 0.0), low + row * grid.up


def singles(feature: Feature) -> Iterator[Feature]:
    """The features of one opening each that a feature comes to, in the order of its openings."""

    def hole(at: XY, diameter: float, label: str, tolerance: float, round_: Round | None = None) -> Hole:
        return Hole(
            number=feature.number, at=at, label=label, finish=feature.finish, tabs=feature.tabs, depth=feature.depth,
            diameter=diameter, tolerance=tolerance, countersink=round_.countersink if round_ else None,
            thread=round_.thread if round_ else None,
        )  # fmt: skip

    match feature:
        case Ring() | Grid():
            for centre in ring_centres(feature) if isinstance(feature, Ring) else grid_centres(feature):
                yield hole(centre, feature.diameter, feature.label, feature.tolerance, feature)
        case HoleList():
            for one in feature.holes:
                at = turned(feature.at, one.at, feature.angle)
                yield hole(at, one.diameter, one.label or feature.label, feature.tolerance)
        case DrawnShapes():
            for shape in feature.shapes:
                if shape.circle is None:
                    yield replace(feature, shapes=(shape,), notes=())
                else:
                    at = turned(feature.at, shape.circle[0], feature.angle)
                    yield hole(at, shape.circle[1], feature.label, feature.tolerance)
        case _:
            yield feature


def ring_centres(ring: Ring) -> Iterator[XY]:
    """The centres of a ring's holes: the first at ``start_angle``, then counter-clockwise."""
    for index in range(ring.count):
        yield _polar(ring.at, ring.circle_diameter / 2, ring.start_angle + 2 * math.pi * index / ring.count)


def _opening(name: str, feature: Feature, form: _Form, pilot_diameter: float) -> Opening:
    """One opening, still without its tag."""
    cut, cut_diameter = form.shape, form.diameter
    if feature.finish == "pilot":
        cut, cut_diameter = shapes.circle(form.centre, pilot_diameter), pilot_diameter
    is_mark = feature.finish == "mark"
    small = (cut_diameter or across(cut)) <= CHIPS_ONLY_UP_TO + SAME_POINT
    blind = feature.depth is not None
    cleared = is_mark or blind or small or not offset(cut, -NO_SLUG_UNDER / 2)
    return Opening(
        tag="",
        feature=name,
        label=feature.label,
        centre=form.centre,
        shape=form.shape,
        diameter=form.diameter,
        size_text=form.size_text,
        finish=feature.finish,
        cut=None if is_mark else cut,
        cut_diameter=None if is_mark else cut_diameter,
        marks=form.marks if is_mark else (),
        corner_limit=form.corner_limit,
        tolerance=form.tolerance if feature.finish == "machine" else 0.0,
        tabs=None if cleared else _tabs(feature.tabs),
        cleared=cleared,
        depth=feature.depth,
        countersink=_countersink(feature),
        thread=_thread(feature),
        kind=KINDS[type(feature)],
        turned=form.turned,
        corners=form.corners,
    )


def _beside_size(feature: Feature, units: Units) -> str:
    """What stands behind the size on drawing and schedule: depth, countersink, thread."""
    text = "" if feature.depth is None else f", {_figure(feature.depth, units)} deep"
    cone, thread = _countersink(feature), _thread(feature)
    if cone is not None:
        text += f", csk Ø{_figure(cone.diameter, units)} x {plain(math.degrees(cone.angle))}°"
    return text if thread is None else f"{text}, tap {thread.name}"


def _figure(length: float, units: Units) -> str:
    return said(length, units) if units == "in" else plain(length)


def _countersink(feature: Feature) -> Countersink | None:
    cone = feature.countersink if isinstance(feature, Round) else None
    return None if cone is None else Countersink(cone.diameter, cone.angle)


def _thread(feature: Feature) -> Thread | None:
    thread = feature.thread if isinstance(feature, Round) else None
    return None if thread is None else Thread(thread.name, thread.pitch, thread.source)


def _tabs(tabs: HoldingTabs | None) -> Tabs | None:
    return None if tabs is None else Tabs(tabs.count, tabs.width, tabs.height)


def _round(centre: XY, diameter: float, tolerance: float) -> _Form:
    shape = shapes.circle(centre, diameter)
    return _Form(centre, shape, round_size(diameter), (centre,), diameter, tolerance=tolerance)


def _d_hole(hole: DHole) -> _Form:
    shape = shapes.d_hole(hole.at, hole.diameter, hole.across_flat, hole.angle)
    text = f"D {plain(hole.diameter)}/{plain(hole.across_flat)}"
    turned = Turned("flat", hole.angle)
    return _Form(hole.at, shape, text, (hole.at,), corner_limit=hole.max_corner_radius, turned=turned)


def _double_d_hole(hole: DoubleDHole) -> _Form:
    shape = shapes.double_d_hole(hole.at, hole.diameter, hole.across_flats, hole.angle)
    text = f"DD {plain(hole.diameter)}/{plain(hole.across_flats)}"
    turned = Turned("flats", hole.angle)
    return _Form(hole.at, shape, text, (hole.at,), corner_limit=hole.max_corner_radius, turned=turned)


def _cutout(cutout: Cutout) -> _Form:
    shape = shapes.rounded_rectangle(cutout.at, cutout.width, cutout.height, cutout.corner_radius, cutout.angle)
    text = f"{plain(cutout.width)} x {plain(cutout.height)}"
    if cutout.corner_radius:
        text += f" R{plain(cutout.corner_radius)}"
    x, y = cutout.width / 2 - cutout.corner_radius, cutout.height / 2 - cutout.corner_radius
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    marks = tuple(dict.fromkeys(turned(cutout.at, corner, cutout.angle) for corner in corners))
    # a stated radius is honoured exactly; only a sharp corner may keep the cutter's
    limit = 0.0 if cutout.corner_radius else cutout.max_corner_radius
    return _Form(cutout.at, shape, text, marks, corner_limit=limit, turned=Turned("", cutout.angle))


def _slot(slot: Slot) -> _Form:
    shape = shapes.slot(slot.at, slot.length, slot.width, slot.angle)
    text = f"slot {plain(slot.length)} x {plain(slot.width)}"
    half = (slot.length - slot.width) / 2
    marks = tuple(dict.fromkeys(turned(slot.at, (x, 0.0), slot.angle) for x in (-half, half)))
    return _Form(slot.at, shape, text, marks, turned=Turned("", slot.angle))


def _keyed_hole(hole: KeyedHole) -> _Form:
    shape = shapes.keyed_hole(hole.at, hole.diameter, hole.key_width, hole.key_depth, hole.angle)
    text = f"key {plain(hole.diameter)}/{plain(hole.key_width)} x {plain(hole.key_depth)}"
    turned = Turned("key", hole.angle)
    return _Form(hole.at, shape, text, (hole.at,), corner_limit=hole.max_corner_radius, turned=turned)


def _without_key(hole: KeyedHole, opening: Opening) -> Opening:
    """The opening as the machine leaves it: round, with the key still to be filed."""
    circle = shapes.circle(hole.at, hole.diameter)
    cleared = hole.diameter <= CHIPS_ONLY_UP_TO + SAME_POINT
    return replace(
        opening,
        cut=circle,
        cut_diameter=hole.diameter,
        corner_limit=0.0,
        tabs=None if cleared else _tabs(hole.tabs),
        cleared=cleared,
        filed=f"the key, {plain(hole.key_width)} mm wide and {plain(hole.key_depth)} mm deep",
    )


def _drawn(drawing: DrawnShapes, shape: Shape) -> _Form:
    """A contour of a drawing; one that is round is a round hole. Its corners and the middles of its arcs are marked."""
    if shape.circle is not None:
        centre, diameter = shape.circle
        return _round(turned(drawing.at, centre, drawing.angle), diameter, drawing.tolerance)
    contour = shape.contour.mapped(lambda point: turned(drawing.at, point, drawing.angle))
    left, low, right, high = contour.bounds
    text = f"contour {plain(right - left)} x {plain(high - low)}"
    middle = ((left + right) / 2, (low + high) / 2)
    sharp = [contour.point_at(distance) for distance, turn in contour.corners() if turn > 0]
    arcs = (segment for segment in contour.segments if isinstance(segment, Arc))
    round_ones = [arc.centre for arc in arcs if arc.ccw and arc.sweep >= LEAST_CORNER]
    marks = tuple(dict.fromkeys([*sharp, *round_ones])) or (middle,)
    return _Form(middle, contour, text, marks, corner_limit=drawing.max_corner_radius)


def _polygon(polygon: Polygon) -> _Form:
    """Its size and centre are those of the box round it as it is cut, turned and rounded: ``at`` may lie anywhere."""
    shape = shapes.polygon(polygon.at, polygon.points, polygon.corner_radius, polygon.angle)
    left, low, right, high = shape.bounds
    text = f"polygon {plain(right - left)} x {plain(high - low)}"
    if polygon.corner_radius:
        text += f" R{plain(polygon.corner_radius)}"
    corners = tuple(turned(polygon.at, point, polygon.angle) for point in polygon.points)
    centres = corner_centres(polygon.points, polygon.corner_radius)
    marks = tuple(turned(polygon.at, centre, polygon.angle) for centre in centres)
    limit = 0.0 if polygon.corner_radius else polygon.max_corner_radius
    middle = ((left + right) / 2, (low + high) / 2)
    return _Form(middle, shape, text, marks, corner_limit=limit, corners=corners)


def _polar(centre: XY, radius: float, angle: float) -> XY:
    return centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle)

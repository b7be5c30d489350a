"""A job begun from a drawing: its outline as a panel, round holes as holes, shapes of panel work by their names.

What is no such shape stays a contour, in a drawing of ours that the job reads. On layers of our own names each opening
is what the name says (``toolpaths.layers``); on any other everything is cut through.
"""

from __future__ import annotations

import json
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from toolpaths.drawing import Chain, Drawing, Pen
from toolpaths.drawing_file.contents import Contents, Faults, Shape
from toolpaths.drawing_file.shapes import islands, outermost
from toolpaths.errors import BadInput, Problem
from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import distance
from toolpaths.geometry.recognise import Recognised, recognised
from toolpaths.geometry.segment import XY
from toolpaths.geometry.within import encloses
from toolpaths.layers import BENDS, BLANK, MARKS, OUTLINE, PILOTS, cone_angle_of, depth_of, is_by_hand
from toolpaths.units import INCH, Units

Finish = Literal["machine", "pilot", "mark"]

NOT_CUT: Final = (BENDS, BLANK)
"""Layers of our own that say something of the panel and are no part of it."""

MANY: Final = 200
"""So many plain round holes are easier to read as a list in a file of their own."""

SAME_CENTRE: Final = 1e-3
"""mm; a pilot or a countersink belongs to the hole whose centre this is."""

AROUND: Final = 10.0
"""mm of sheet round everything, where a drawing has no outline."""

LONE_MARK: Final = 3.0
"""mm; the hole that a mark without one is taken to stand for."""

MACHINES: Final = (("small router", 300.0, 180.0), ("sheet router", 1300.0, 900.0))
"""The built-in routers with their travel, mm: the first that the outline fits on is named."""


@dataclass(frozen=True, slots=True)
class Begun:
    """The texts of the files to write beside each other: the job, and where there are any its ``holes`` as a list.

    ``contours`` is to be written as DXF under the name that the job reads; None where there are none.
    """

    job: str
    holes: str
    contours: Drawing | None
    counts: dict[str, int]
    notes: tuple[Finding, ...]


@dataclass(slots=True)
class _Opening:
    """One opening on its way into the job, in panel coordinates."""

    shape: Shape
    finish: Finish
    depth: float | None
    what: Recognised | None = None
    cone: tuple[float, float] | None = None


@dataclass(slots=True)
class _Panel:
    """The panel as its outline says: lower left corner in the drawing, sides, radius of its corners."""

    corner: XY
    width: float
    height: float
    radius: float
    notes: list[str] = field(default_factory=list)


def begun(contents: Contents, name: str, file: str, units: Units) -> Begun:
    """The job ``name`` that the drawing ``file`` makes, in ``units``.

    Raises BadInput where contours lie within each other, or nothing but an outline is there.
    """
    layers: defaultdict[str, list[Shape]] = defaultdict(list)
    for shape in contents.shapes:
        layers[shape.place.layer.upper()].append(shape)
    pilots, cones = layers.pop(PILOTS, []), [
        (shape, angle) for layer in list(layers) if (angle := cone_angle_of(layer)) is not None
        for shape in layers.pop(layer)
    ]  # fmt: skip
    panel, rest = _outline(layers)
    through = [shape for shape in rest if depth_of(shape.place.layer) is None]
    faults = Faults(file, False)
    islands(through, faults)
    faults.raise_all()
    openings = [_Opening(shape, "mark" if is_by_hand(shape.place.layer) else "machine", depth_of(shape.place.layer))
                for shape in rest]  # fmt: skip
    pilot = _with_pilots(openings, pilots, panel.notes)
    openings += [_Opening(shape, "machine", None) for shape in pilots if not _is_taken(shape, openings)]
    _with_cones(openings, cones, panel.notes)
    marks = _lone_marks(contents, openings, panel.notes)
    if not openings and not marks:
        message = "has an outline and nothing in it" if contents.shapes else "holds nothing that could be cut"
        raise BadInput([Problem(file, 0, "", message, "name the layers that are to be read")])
    shift = panel.corner
    for one in openings:
        one.shape = _moved(one.shape, shift)
        one.what = None if one.shape.circle else recognised(one.shape.contour)
    text = _Text(name, units, panel, pilot)
    job = text.of(openings, [(x - shift[0], y - shift[1]) for x, y in marks], file)
    loose = [one for one in openings if one.shape.circle is None and one.what is None]
    counts = {"holes": sum(one.shape.circle is not None for one in openings), "contours": len(loose),
              "shapes": sum(one.what is not None for one in openings), "marks": len(marks)}  # fmt: skip
    notes = [
        Finding("warning" if note.code == "drawing-repaired" else "note", note.code, "", "", f"{file}: {note.text}")
        for note in contents.notes
    ]
    notes += [Finding("note", "drawing-begun", "", "", f"{file}: {note}") for note in panel.notes]
    return Begun(job, text.holes, _contours(loose, name), counts, tuple(notes))


def _outline(layers: dict[str, list[Shape]]) -> tuple[_Panel, list[Shape]]:
    """The panel, and all shapes but its outline: what lies on the layer of that name, else what all others lie in."""
    shapes = [shape for group in layers.values() for shape in group]
    named = layers.get(OUTLINE, [])
    edge = named[0] if len(named) == 1 else outermost(shapes)
    if edge is None:
        boxes = [shape.contour.bounds for shape in shapes] or [(0.0, 0.0, AROUND, AROUND)]
        left, low, right, high = zip(*boxes, strict=True)
        x0, y0, x1, y1 = min(left), min(low), max(right), max(high)
        corner = x0 - AROUND, y0 - AROUND
        note = f"no contour lies round all others: the panel is {AROUND:g} mm larger than what is drawn; set its size"
        return _Panel(corner, x1 - x0 + 2 * AROUND, y1 - y0 + 2 * AROUND, 0.0, [note]), shapes
    others = [shape for shape in shapes if shape is not edge]
    x0, y0, x1, y1 = edge.contour.bounds
    panel = _Panel((x0, y0), x1 - x0, y1 - y0, 0.0)
    found = recognised(edge.contour)
    upright = found is not None and found.kind in ("cutout", "slot") and abs(math.sin(2 * found.angle)) < 1e-9
    if found is not None and upright:
        panel.radius = found.figure("corner_radius") if found.kind == "cutout" else found.figure("width") / 2
    else:
        panel.notes.append(f"{edge.place}: the outline is no upright rectangle, and the panel is the box round it")
    return panel, others


def _with_pilots(openings: Sequence[_Opening], pilots: Sequence[Shape], notes: list[str]) -> float | None:
    """Openings by hand with a pilot at their centre are opened from it; the diameter of the pilots, mm."""
    sizes = Counter(round(shape.circle[1], 6) for shape in pilots if shape.circle)
    if not sizes:
        return None
    pilot = max(sizes, key=lambda size: (sizes[size], -size))
    for one in openings:
        if one.finish == "mark" and one.depth is None and _is_at(_centre(one.shape), pilots):
            one.finish = "pilot"
    if len(sizes) > 1:
        notes.append(f"pilots of {len(sizes)} sizes are drawn, and a job has one: {pilot:g} mm")
    return pilot


def _centre(shape: Shape) -> XY:
    """Of the circle, or of the round part of a shape of panel work; of anything else of the box round it."""
    if shape.circle is not None:
        return shape.circle[0]
    found = recognised(shape.contour)
    if found is not None:
        return found.at
    x0, y0, x1, y1 = shape.contour.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def _is_at(centre: XY, shapes: Iterable[Shape]) -> bool:
    return any(shape.circle is not None and math.dist(shape.circle[0], centre) <= SAME_CENTRE for shape in shapes)


def _is_taken(pilot: Shape, openings: Iterable[_Opening]) -> bool:
    return any(one.finish == "pilot" and _is_at(_centre(one.shape), [pilot]) for one in openings)


def _with_cones(openings: Sequence[_Opening], cones: Sequence[tuple[Shape, float]], notes: list[str]) -> None:
    """Mouths of countersinks go to the holes that they are about."""
    for shape, angle in cones:
        owner = next((one for one in openings if one.shape.circle and _is_at(one.shape.circle[0], [shape])), None)
        if owner is None or shape.circle is None:
            notes.append(f"{shape.place}: no hole for this countersink, which is left out")
        else:
            owner.cone = shape.circle[1], angle


def _lone_marks(contents: Contents, openings: Sequence[_Opening], notes: list[str]) -> list[XY]:
    """Points of the layer of marks that no opening by hand is about; all other points are told."""
    hand = [one.shape.contour for one in openings if one.finish == "mark"]
    lone = [
        point.at for point in contents.points
        if point.place.layer.upper() == MARKS and not any(_is_of(point.at, contour) for contour in hand)
    ]  # fmt: skip
    if lone:
        notes.append(f"{len(lone)} marks stand alone, and are taken for holes of {LONE_MARK:g} mm to be marked")
    others = Counter(point.place.layer for point in contents.points if point.place.layer.upper() != MARKS)
    notes += [f"{count} POINT on layer '{layer}' left out" for layer, count in sorted(others.items())]
    return lone


def _is_of(mark: XY, contour: Contour) -> bool:
    """Whether a mark lies in an opening, or on a corner of it."""
    return encloses(contour, mark) or distance(contour, mark) <= SAME_CENTRE


def _moved(shape: Shape, by: XY) -> Shape:
    def moved(point: XY) -> XY:
        return point[0] - by[0], point[1] - by[1]

    circle = None if shape.circle is None else (moved(shape.circle[0]), shape.circle[1])
    return Shape(shape.contour.mapped(moved), shape.place, circle)


def _contours(loose: Sequence[_Opening], name: str) -> Drawing | None:
    """What stays a contour, as a drawing of ours: layer by layer as it was drawn."""
    layers: dict[str, list[Contour]] = defaultdict(list)
    for one in loose:
        layers[_layer(one)].append(one.shape.contour)
    if not layers:
        return None
    boxes = [contour.bounds for group in layers.values() for contour in group]
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    pens = tuple(
        Pen(layer, 0.18, (), tuple(Chain(one.segments, closed=True) for one in group))
        for layer, group in sorted(layers.items())
    )
    return Drawing(name, name, (min(x0), min(y0), max(x1), max(y1)), pens)


def _layer(one: _Opening) -> str:
    """The layer in capitals: names of layers do not differ by case alone."""
    return one.shape.place.layer.upper()


class _Text:
    """The words of the job file."""

    def __init__(self, name: str, units: Units, panel: _Panel, pilot: float | None) -> None:
        self.name = name
        self.units = units
        self.panel = panel
        self.pilot = pilot
        self.holes = ""

    def of(self, openings: Sequence[_Opening], marks: Sequence[XY], file: str) -> str:
        deepest = max((one.depth for one in openings if one.depth is not None), default=0.0)
        thickness = max(INCH / 8 if self.units == "in" else 2.0, float(math.ceil(deepest + 1)) if deepest else 0.0)
        panel = self.panel
        machine = next((name for name, x, y in MACHINES if panel.width <= x - 20 and panel.height <= y - 20), "")
        lines = [
            "#:schema ./job.schema.json",
            f"# Begun from {_comment(file)}. Material and thickness are guesses: set them before you build.",
            "",
            "format  = 1",
            f"title   = {_quoted(self.name)}",
            f"units   = {_quoted(self.units)}",
            *([f"machine = {_quoted(machine)}"] if machine else [f"machine = {_quoted(MACHINES[-1][0])}"]),
            *([f"pilot_diameter = {self.figure(self.pilot)}"] if self.pilot else []),
            "",
            "[[panel]]",
            f"name          = {_quoted(self.name)}",
            'material      = "aluminium"        # a guess; see: holewright materials',
            f"thickness     = {self.figure(thickness)}                  # a guess",
            f"width         = {self.figure(panel.width)}",
            f"height        = {self.figure(panel.height)}",
            *([f"corner_radius = {self.figure(panel.radius)}"] if panel.radius else []),
            'origin        = "lower left"',
            *(f"# {_comment(note)}" for note in panel.notes),
        ]
        plain = [
            one for one in openings
            if one.shape.circle and one.finish == "machine" and one.depth is None and one.cone is None
        ]  # fmt: skip
        if len(plain) > MANY:
            lines += self.listed(plain)
            listed = set(map(id, plain))
            openings = [one for one in openings if id(one) not in listed]
        layer = ""
        for one in (one for one in openings if one.shape.circle or one.what):
            if _layer(one) != layer:
                layer = _layer(one)
                lines += ["", f"  # layer {_comment(layer)}"]
            lines += [*self.round(one), *self.rest(one)] if one.shape.circle else [*self.shape(one), *self.rest(one)]
        for at in marks:
            lines += ["  [[panel.hole]]", f"  at       = {self.pair(at)}", f"  diameter = {self.figure(LONE_MARK)}",
                      '  finish   = "mark"']  # fmt: skip
        lines += self.contours([one for one in openings if not one.shape.circle and not one.what])
        return "\n".join([*lines, ""])

    def listed(self, plain: Sequence[_Opening]) -> list[str]:
        """Round holes as a list in a file of its own, and the feature that reads it."""
        rows = ["x,y,diameter"]
        for one in plain:
            assert one.shape.circle is not None
            (x, y), diameter = one.shape.circle
            rows.append(f"{self.figure(x)},{self.figure(y)},{self.figure(diameter)}")
        self.holes = "\n".join([*rows, ""])
        return ["", "  [[panel.hole_list]]", f"  file = {_quoted(f'{self.name}_holes.csv')}"]

    def round(self, one: _Opening) -> list[str]:
        assert one.shape.circle is not None
        at, diameter = one.shape.circle
        lines = ["  [[panel.hole]]", f"  at       = {self.pair(at)}", f"  diameter = {self.figure(diameter)}"]
        if one.cone is not None:
            wide, angle = one.cone
            cone = f"{{ diameter = {self.figure(wide)}, angle = {_number(math.degrees(angle))} }}"
            lines.append(f"  countersink = {cone}")
        return lines

    def shape(self, one: _Opening) -> list[str]:
        assert one.what is not None
        lines = [f"  [[panel.{one.what.kind}]]", f"  at = {self.pair(one.what.at)}"]
        lines += [f"  {name} = {self.figure(value)}" for name, value in one.what.figures]
        angle = _number(math.degrees(one.what.angle))
        return lines if angle == "0" else [*lines, f"  angle = {angle}"]

    def rest(self, one: _Opening) -> list[str]:
        """What any feature may have: depth and finish."""
        finish = one.finish
        if finish == "pilot" and one.what is not None and one.what.kind in ("cutout", "slot"):
            finish = "mark"
        lines = [] if one.depth is None else [f"  depth = {self.figure(one.depth)}"]
        return lines if finish == "machine" else [*lines, f"  finish = {_quoted(finish)}"]

    def contours(self, loose: Sequence[_Opening]) -> list[str]:
        """The features that read the contours that are no shape of panel work, one for each layer."""
        lines: list[str] = []
        for layer in sorted({_layer(one) for one in loose}):
            first = next(one for one in loose if _layer(one) == layer)
            lines += ["", "  [[panel.drawing]]", f"  file  = {_quoted(f'{self.name}_contours.dxf')}",
                      f"  layer = {_quoted(layer)}"]  # fmt: skip
            lines += self.rest(replace(first, finish="mark" if first.finish != "machine" else "machine"))
        return lines

    def pair(self, at: XY) -> str:
        return f"[{self.figure(at[0])}, {self.figure(at[1])}]"

    def figure(self, length: float) -> str:
        """A length in mm as a figure of the job's units: a millionth of one at most is lost."""
        return _number(length / INCH if self.units == "in" else length)


def _number(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _quoted(text: str) -> str:
    """A basic string of TOML, which JSON's strings are."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _comment(text: str) -> str:
    return "".join(sign if sign.isprintable() else " " for sign in text)


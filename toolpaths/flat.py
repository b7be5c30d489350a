"""The flat geometry of one panel for a cutting service: exact contours by what is to become of them, and a few notes.

It lies as the job describes the panel, seen from the outside and never mirrored, with the job's origin as its zero:
whoever cuts it turns the sheet, not the drawing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from toolpaths.drafting import chain, hole_name
from toolpaths.drawing import Drawing, Mark, Pen, Polyline, Text
from toolpaths.geometry.shapes import circle
from toolpaths.job.chassis import Chassis
from toolpaths.labelling import named_together
from toolpaths.layers import (
    BENDS,
    BLANK,
    MARKS,
    MEANINGS,
    OPENINGS,
    OUTLINE,
    PILOTS,
    blind_layer,
    by_hand_layer,
    cone_layer,
    meaning,
)
from toolpaths.layout.nesting import mouth
from toolpaths.layout.panel import Opening, Panel, Rectangle
from toolpaths.template import bend_lines
from toolpaths.units import Units, said

HEADING: Final = 3.5
SMALL: Final = 2.0
"""Heights of lettering, mm: the notes below the panel, and what stands beside an opening."""

LINE: Final = 1.7
"""From line to line of the notes, in heights of lettering."""

HAIR: Final = 0.18
"""Width of every line, mm: a cutting service follows its middle."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What the notes say of the job: its title, units and size (empty: it has none), and its box."""

    title: str
    units: Units
    size: str = ""
    chassis: Chassis | None = None


def draw_flat(panel: Panel, job: Heading) -> Drawing:
    """The panel's geometry by layer, inner before outer, and its notes below it."""
    seen = replace(panel, mirrored=False, zero=(0.0, 0.0))  # so that panel coordinates are what is drawn
    layers: defaultdict[str, list[Mark]] = defaultdict(list)
    for opening in seen.openings:
        for layer, mark in _marks(opening):
            layers[layer].append(mark)
    layers[BENDS] += bend_lines(seen, job.chassis)
    # the edge of a face on its flat blank is no edge yet; drawn all the same, for it says where the face lies
    layers[OUTLINE].append(chain(seen.outline))
    if seen.on_blank:
        layers[BLANK].append(_rectangle(seen.stock))
    pens = tuple(Pen(name, HAIR, (), tuple(layers[name])) for name in _in_order(layers))
    x0, y0, x1, y1 = seen.stock if seen.on_blank else seen.outline.bounds
    lines = list(_notes(seen, job, [pen.name for pen in pens]))
    below = [y0 - (2 + LINE * number) * HEADING for number in range(len(lines))]
    texts = [Text((x0, y), HEADING, line) for y, line in zip(below, lines, strict=True)]
    right = max(x1, *(x0 + HEADING * len(line) for line in lines))
    bounds = (x0 - HEADING, below[-1] - HEADING, right, y1 + HEADING)
    return Drawing(job.title, panel.name, bounds, pens, texts=(*texts, *_tags(seen)))


def _in_order(layers: Mapping[str, Sequence[Mark]]) -> list[str]:
    """Layers with something on them, inner before outer: the outline is cut last."""
    fixed = list(MEANINGS)
    named = [*fixed[:-3], *sorted(name for name in layers if name not in MEANINGS), *fixed[-3:]]
    return [name for name in named if layers.get(name)]


def _marks(opening: Opening) -> Iterator[tuple[str, Mark]]:
    """What is drawn of one opening, with its layers."""
    shape, depth = chain(opening.shape), opening.depth
    if opening.finish != "machine":
        yield by_hand_layer(depth), shape
    else:
        yield OPENINGS if depth is None else blind_layer(depth), shape
    if opening.finish == "pilot" and opening.cut is not None:
        yield PILOTS, chain(opening.cut)
    for point in opening.marks:
        yield MARKS, Polyline((point,))
    if opening.countersink is not None:
        yield cone_layer(opening.countersink.angle), chain(circle(opening.centre, opening.countersink.diameter))


def _rectangle(box: Rectangle) -> Polyline:
    x0, y0, x1, y1 = box
    return Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)))


def _notes(panel: Panel, job: Heading, layers: Sequence[str]) -> Iterator[str]:
    """What whoever cuts it must know, line by line."""
    yield f"{job.title}, size {job.size}" if job.size else job.title
    yield f"{panel.name}: {panel.thickness_text} {panel.material}"
    x0, y0, x1, y1 = panel.outline.bounds
    yield f"{said(x1 - x0, job.units)} x {said(y1 - y0, job.units)}; drawn 1:1 in mm, seen from the outside"
    if panel.folded is not None and not panel.on_blank:
        yield "A face of a folded box as it is once bent: this is not the flat blank."
    for layer in layers:
        if layer == OUTLINE and panel.on_blank:
            yield f"{layer}: do not cut, the edge of this face once it is bent"
        else:
            yield f"{layer}: {meaning(layer)}"


def _tags(panel: Panel) -> Iterator[Text]:
    """Beside every opening that is more than cut through: its tag, what it is, and its label."""
    told = [opening for opening in panel.openings if _is_special(opening)]
    for named in named_together(told, [mouth(opening).bounds for opening in told]):
        x1, y1 = mouth(named.first).bounds[2:]
        label = f" ({named.first.label})" if named.first.label else ""
        yield Text((x1 + SMALL / 2, y1 - SMALL / 2), SMALL, f"{named.tags} {hole_name(named)}{label}")


def _is_special(opening: Opening) -> bool:
    plain = opening.finish == "machine" and opening.depth is None
    return not plain or opening.countersink is not None or opening.thread is not None

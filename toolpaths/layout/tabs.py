"""How many holding tabs, how wide and how high: the job's own figures first, then the material's rule."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise, product

from toolpaths.geometry.clip import Span, spans_within
from toolpaths.geometry.contour import Contour
from toolpaths.layout.panel import Part, Rectangle, Tabs
from toolpaths.tables.rows import Material
from toolpaths.tolerance import PARTS_MEET_WITHIN


@dataclass(frozen=True, slots=True)
class TabSize:
    """Resolved tabs: ``count``, ``width`` at the edge of what stays, ``height`` from the bottom; mm."""

    count: int
    width: float
    height: float


def resolve(tabs: Tabs, perimeter: float, cutter_diameter: float, thickness: float, material: Material) -> TabSize:
    """The tabs of a contour of ``perimeter`` mm; their width is ``cutter_diameter`` plus the material's neck.

    At least the material's least count, one per its spacing of contour (the material's ``tabs.source``).
    """
    rule = material.tabs
    count = tabs.count if tabs.count is not None else max(rule.least, math.ceil(perimeter / rule.spacing))
    width = tabs.width if tabs.width is not None else cutter_diameter + rule.neck
    height = tabs.height if tabs.height is not None else rule.height if thickness <= rule.thin else rule.height_thick
    return TabSize(count, width, min(height, thickness))


def spans_for_tabs(contour: Contour, cell: Rectangle) -> list[Span]:
    """The stretches of a contour in a ``cell`` of its division on which tabs may stand: off the lines that divide it.

    A side of the cell that is no line lies without end.
    """
    x0, y0, x1, y1 = cell
    off = PARTS_MEET_WITHIN
    if x1 - x0 <= 2 * off or y1 - y0 <= 2 * off:
        return []
    return spans_within(contour, (x0 + off, y0 + off, x1 - off, y1 - off))


def tabs_in_part(count: int, contour: Contour, part: Part) -> int:
    """How many of the ``count`` tabs of a contour that is cut in parts stand in this part of it.

    They are shared out by the length of wall on which they may stand, by the largest remainders. ``contour`` and
    ``part`` are in the same coordinates.
    """
    bounds = [sorted([-math.inf, math.inf, *(place for way, place in part.lines if way == axis)]) for axis in (0, 1)]
    across, up = (list(pairwise(places)) for places in bounds)
    cells = [(x0, y0, x1, y1) for (y0, y1), (x0, x1) in product(up, across)]
    lengths = [sum(last - first for first, last in spans_for_tabs(contour, cell)) for cell in cells]
    # to a hundredth of a mm: the same share in every setup, whose coordinates differ
    quotas = [round(count * length / max(sum(lengths), 1e-9), 4) for length in lengths]
    shares = [math.floor(quota) for quota in quotas]
    by_remainder = sorted(range(len(cells)), key=lambda k: (shares[k] - quotas[k], k))
    for k in by_remainder[: count - sum(shares)]:
        shares[k] += 1
    return next(share for share, cell in zip(shares, cells, strict=True) if _same(cell, part.cell))


def _same(one: Rectangle, two: Rectangle) -> bool:
    return all(a == b or abs(a - b) < 1e-6 for a, b in zip(one, two, strict=True))

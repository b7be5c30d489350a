"""How many holding tabs, how wide and how high: the job's own figures first, then the material's rule."""

from __future__ import annotations

import math
from dataclasses import dataclass

from toolpaths.layout.panel import Tabs
from toolpaths.tables.rows import Material


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

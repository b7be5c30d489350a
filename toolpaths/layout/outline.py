"""A machined outline: the stock that it is cut from, and the outline itself as a piece of work."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import inside, overlaps
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.job import Clamp
from toolpaths.layout.panel import Opening, Panel, Rectangle, Tabs
from toolpaths.units import plain

FEATURE: Final = "outline"
"""What findings, operations and papers call it."""

STOCK_MARGIN: Final = 15.0
"""mm; how far the stock reaches beyond the outline where nothing else is said (common practice)."""

CLAMP_HOLD: Final = 10.0
"""mm; so far a clamp that stands beside the outline reaches over the stock at least (common practice)."""


def stock_round(panel: Rectangle, clamps: Iterable[Clamp], margin: float | None) -> Rectangle:
    """The stock of a panel whose outline is machined: larger all round by ``margin``.

    By default by 15 mm, or by as much as clamps that stand beside the panel need to hold it by 10 mm.

    >>> stock_round((0.0, 0.0, 100.0, 40.0), [], None)
    (-15.0, -15.0, 115.0, 55.0)
    >>> stock_round((0.0, 0.0, 100.0, 40.0), [Clamp(-40.0, 10.0, 20.0, 20.0, 20.0)], None)
    (-30.0, -30.0, 130.0, 70.0)
    """
    if margin is None:
        margin = max([STOCK_MARGIN, *(margin_for(clamp_area(clamp), panel) for clamp in clamps)])
    x0, y0, x1, y1 = panel
    return x0 - margin, y0 - margin, x1 + margin, y1 + margin


def clamp_area(clamp: Clamp) -> Rectangle:
    """The ground that a clamp covers."""
    return clamp.x, clamp.y, clamp.x + clamp.width, clamp.y + clamp.length


def margin_for(clamp: Rectangle, panel: Rectangle) -> float:
    """The margin that a clamp beside a panel needs, mm; 0 where it stands on the panel."""
    aside = max(panel[0] - clamp[2], clamp[0] - panel[2])
    above = max(panel[1] - clamp[3], clamp[1] - panel[3])
    across, up = clamp[2] - clamp[0], clamp[3] - clamp[1]
    needs = [gap + min(CLAMP_HOLD, wide) for gap, wide in ((aside, across), (above, up)) if gap >= 0]
    return max(needs, default=0.0)


def lies_across(number: int, panel: Panel) -> bool:
    """Whether clamp ``number`` stands half on the panel and half beside it, on the line that is cut."""
    area = next(clamp.area for clamp in panel.clamps if clamp.number == number)
    x0, y0, x1, y1 = area
    box = rounded_rectangle(((x0 + x1) / 2, (y0 + y1) / 2), x1 - x0, y1 - y0)
    return overlaps(box, panel.outline) and not inside(box, panel.outline)


def away_from_outline(number: int, short: float, way: str, panel: Panel) -> str:
    """How to move a clamp that stands ``short`` mm (in words ``way``) too near to the outline's kerf."""
    area = next(clamp.area for clamp in panel.clamps if clamp.number == number)
    needed = margin_for(area, panel.outline.bounds)
    if needed == 0:
        return f"{way} away from the panel's edge"
    margin = math.ceil(max(needed + short, panel.margin) - 1e-6)
    return f'{way} outwards, with stock under it: stock_margin = "{margin:g} mm"'


def edge_of(outline: Contour, tabs: Tabs | None) -> Opening:
    """The outline as a piece of work: cut from outside, held by ``tabs``."""
    x0, y0, x1, y1 = outline.bounds
    return Opening(
        tag=FEATURE,
        feature=FEATURE,
        label="",
        centre=((x0 + x1) / 2, (y0 + y1) / 2),
        shape=outline,
        diameter=None,
        size_text=f"{plain(x1 - x0)} x {plain(y1 - y0)}",
        finish="machine",
        cut=outline,
        cut_diameter=None,
        marks=(),
        corner_limit=0.0,
        tolerance=0.0,
        tabs=tabs,
        cleared=False,
        outside=True,
        kind=FEATURE,
    )

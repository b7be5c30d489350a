"""The ground beside a panel that is cut out of its stock: what the cutter may take there, and what must stay."""

from __future__ import annotations

from typing import Any

import shapely

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.tolerance import LEAST_FRAME, PIECE
from toolpaths.verify import overlay
from toolpaths.verify.moves import Work


def sheet(work: Work) -> Any:
    """The stock as it lies, in program coordinates."""
    return shapely.box(*work.panel.area_to_program(work.panel.stock))


def beside_panel(work: Work, outline: Contour) -> tuple[Any, Any]:
    """All of the sheet that is not the panel; and that part of it which may be cut.

    What is cut there is waste, so a wide kerf or a way in does no harm. But a frame of LEAST_FRAME stays at the sheet's
    edge: it carries the panel by its tabs.
    """
    panel, whole = faceted(outline), sheet(work)
    inside_frame = shapely.buffer(whole, -LEAST_FRAME, join_style="mitre")
    area, limit = overlay.difference(whole, panel), overlay.difference(inside_frame, panel)
    shapely.prepare([area, limit])
    return area, limit


def bites_panel(work: Work, path: Any, radius: float) -> bool:
    """Whether a cutter along ``path`` cuts more than PIECE into the panel."""
    away = float(shapely.distance(path, faceted(work.panel.contour_to_program(work.panel.outline))))
    return away == 0 or away < radius - PIECE - 1e-9


def near_panel(work: Work, point: Any) -> bool:
    """Whether a point lies in the panel, or no more than PIECE beside it."""
    return bool(shapely.distance(point, faceted(work.panel.contour_to_program(work.panel.outline))) <= PIECE)


def frame_left(work: Work, path: Any, radius: float) -> float:
    """How much of the sheet stays between a cut and the sheet's edge, mm; below 0 where it reaches beyond."""
    whole = sheet(work)
    gap = float(shapely.distance(path, whole.exterior))
    return gap - radius if shapely.covers(whole, path) else -radius

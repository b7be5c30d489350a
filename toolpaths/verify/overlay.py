"""Areas laid over each other, whatever their sides: union, difference, intersection.

In floating point an overlay of areas with sides that nearly lie on each other can fail, or, rarely, find nothing in
common where there is. Both are noticed here, and the overlay is done once more on a grid (snap rounding), which is
slower and always right to within the grid.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

import shapely

from toolpaths.tolerance import OVERLAY_GRID

_ALL_OF_IT: Final = 1 - 1e-12
"""A difference this near to the whole took nothing away."""


def union(a: Any, b: Any) -> Any:
    """The area that either covers."""
    return _safely(shapely.union, a, b)


def union_all(areas: Sequence[Any] | Iterable[Any]) -> Any:
    """The area that any of them covers."""
    listed = list(areas)
    try:
        return shapely.union_all(listed)
    except shapely.errors.GEOSException:
        return shapely.union_all(_snapped(listed), grid_size=OVERLAY_GRID)


def difference(a: Any, b: Any) -> Any:
    """What ``a`` covers and ``b`` does not."""
    found = _safely(shapely.difference, a, b)
    untouched = 0 < a.area * _ALL_OF_IT <= found.area
    if untouched and shapely.intersects(a, b) and not shapely.touches(a, b):
        return _on_grid(shapely.difference, a, b)
    return found


def intersection(a: Any, b: Any) -> Any:
    """What both cover."""
    found = _safely(shapely.intersection, a, b)
    nothing = a.area > 0 and b.area > 0 and found.area == 0
    if nothing and shapely.intersects(a, b) and not shapely.touches(a, b):
        return _on_grid(shapely.intersection, a, b)
    return found


def _safely(overlay: Any, a: Any, b: Any) -> Any:
    try:
        return overlay(a, b)
    except shapely.errors.GEOSException:
        return _on_grid(overlay, a, b)


def _on_grid(overlay: Any, a: Any, b: Any) -> Any:
    first, second = _snapped([a, b])
    return overlay(first, second, grid_size=OVERLAY_GRID)


def _snapped(areas: list[Any]) -> list[Any]:
    """On the grid, and valid: what floating point has folded over itself is put right."""
    return [shapely.set_precision(shapely.make_valid(area), OVERLAY_GRID) for area in areas]

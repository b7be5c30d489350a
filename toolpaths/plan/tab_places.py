"""Where holding tabs go: evenly round the contour, on straight runs that a saw blade reaches, never on a corner."""

from __future__ import annotations

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Arc
from toolpaths.plan import practice
from toolpaths.tolerance import SAME_POINT

Span = tuple[float, float]

PHASES = 24
"""Starting places tried for the even spacing: the one that needs the least shifting is taken."""

ROUND_ENOUGH = 4.0
"""An arc serves as a straight run when its radius is this many tab widths: the blade still follows it."""


def places(contour: Contour, count: int, width: float, cutter_radius: float) -> list[float] | None:
    """Distances along ``contour`` of ``count`` tab middles; None where there is no room for them.

    Next to a sharp corner the cutter's centre turns ``cutter_radius`` (mm) before it, so the tab ends before that.
    Consecutive tabs keep at least their own width between them, and they lie as near to an even spacing as the
    straight runs allow, so that they never gather on one side.
    """
    runs = _runs(contour, width, cutter_radius)
    if not runs:
        return None
    total = contour.perimeter
    best: tuple[float, list[float]] | None = None
    for phase in range(PHASES):
        wanted = [(phase / PHASES + k) * total / count for k in range(count)]
        chosen = [_nearest(runs, s) for s in wanted]
        if not _apart(chosen, 2 * width, total):
            continue
        shift = sum(_ring_gap(a, b, total) for a, b in zip(wanted, chosen, strict=True))
        if best is None or shift < best[0] - 1e-9:
            best = (shift, sorted(chosen))
    return best[1] if best else None


def _runs(contour: Contour, width: float, cutter_radius: float) -> list[Span]:
    """Spans of the contour in which a tab's middle may lie."""
    total = contour.perimeter
    sharp = [distance for distance, _ in contour.corners()]

    def keep(end: float) -> float:
        beside = any(_ring_gap(end, corner, total) < SAME_POINT for corner in sharp)
        return width / 2 + practice.TAB_CORNER_CLEARANCE + (cutter_radius if beside else 0.0)

    runs: list[Span] = []
    done = 0.0
    for segment in contour.segments:
        end = done + segment.length
        first, last = done + keep(done), end - keep(end)
        if isinstance(segment, Arc) and segment.is_circle:
            runs.append((done, end))
        elif first <= last and (not isinstance(segment, Arc) or segment.radius >= ROUND_ENOUGH * width):
            runs.append((first, last))
        done = end
    return runs


def _nearest(runs: list[Span], s: float) -> float:
    held = [min(max(s, a), b) for a, b in runs]
    return min(held, key=lambda place: (abs(place - s), place))


def _ring_gap(a: float, b: float, total: float) -> float:
    gap = abs(a - b) % total
    return min(gap, total - gap)


def _apart(chosen: list[float], least: float, total: float) -> bool:
    return all(_ring_gap(a, b, total) >= least for k, a in enumerate(chosen) for b in chosen[k + 1 :])

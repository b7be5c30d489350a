"""Where holding tabs go: evenly round the contour, on straight runs that a saw blade reaches, never on a corner."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import distance
from toolpaths.geometry.segment import XY, Arc, Segment
from toolpaths.plan import practice
from toolpaths.plan.path import is_convex
from toolpaths.tolerance import CHIPS_ONLY_UP_TO, LEAST_CORNER, MOST_OF_A_CIRCLE, ROUNDING_MM, SAME_POINT

Span = tuple[float, float]

PHASES = 24
"""Starting places tried for the even spacing: the one that needs the least shifting is taken."""

SQUARE = math.pi / 2 + 1e-6
"""Radians; beside a corner that turns further the other wall's kerf runs under a tab."""

STEP = 0.5
"""mm; so far apart the slug behind a tab is looked for."""

ROUND_ENOUGH = 4.0
"""An arc serves as a straight run when its radius is this many tab widths: the blade still follows it."""


def places(
    contour: Contour, count: int, width: float, cutter_radius: float, only_on: Sequence[Span] = ()
) -> list[float] | None:
    """Distances along ``contour`` of ``count`` tab middles; None where there is no room for them.

    Next to a sharp corner the cutter's centre turns ``cutter_radius`` (mm) before it, and further before an acute one:
    the tab ends before that. Behind a tab, the kerf away, there must be a slug that it holds.
    Consecutive tabs keep at least their own width between them, and they lie as near to an even spacing as the
    straight runs allow, so that they never gather on one side. ``only_on``: they lie within these spans, spread over
    them; default: all round.
    """
    runs = _runs(contour, width, cutter_radius)
    total = contour.perimeter
    if only_on:
        runs = [left for run in runs for span in only_on for left in _shared(run, span, width / 2, total)]
    if not runs:
        return None
    spread = only_on or [(0.0, total)]
    length = sum(last - first for first, last in spread)
    best: tuple[float, list[float]] | None = None
    for phase in range(PHASES):
        wanted = [_along(spread, (phase / PHASES + k) * length / count) % total for k in range(count)]
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
    sharp = contour.corners()

    def keep(end: float) -> float:
        turns = [turn for corner, turn in sharp if _ring_gap(end, corner, total) < SAME_POINT]
        # the tangent length of the cutter in the corner, r tan(turn / 2), and no less than its radius
        beside = max((cutter_radius * max(1.0, math.tan(turn / 2)) for turn in turns), default=0.0)
        return width / 2 + practice.TAB_CORNER_CLEARANCE + beside

    runs = list(_along_curves(contour, width, keep))
    done = 0.0
    for segment in contour.segments:
        end = done + segment.length
        first, last = done + keep(done), end - keep(end)
        if isinstance(segment, Arc) and segment.is_circle:
            runs.append((done, end))
        elif first <= last and _sawn(segment, width):
            runs.append((first, last))
        done = end
    if is_convex(contour) and all(turn <= SQUARE for _, turn in sharp):
        return runs
    return [held for run in runs for held in _before_a_slug(contour, run, width / 2, 2 * cutter_radius)]


def _along_curves(contour: Contour, width: float, keep: Callable[[float], float]) -> Iterator[Span]:
    """Spans along curves that are followed by many arcs, none of which would hold a tab by itself.

    A saw blade follows them wherever they are no tighter than the smallest round opening that takes tabs. A curve that
    closes runs on over the contour's beginning.
    """
    ends = list(accumulate(segment.length for segment in contour.segments))
    sharp = {round(at, 6) for at, _ in contour.corners()}
    gentle = [_is_gentle(segment, width) for segment in contour.segments]
    joined = [
        gentle[index] and gentle[index - 1] and round(begin, 6) not in sharp
        for index, begin in enumerate((0.0, *ends[:-1]))
    ]
    if all(joined) and len(joined) > 1:
        yield 0.0, contour.perimeter
        return
    first = next((index for index, is_joined in enumerate(joined) if not is_joined), 0)
    count = len(joined)
    index = first
    while index < first + count:
        begin = ends[index % count] - contour.segments[index % count].length + contour.perimeter * (index // count)
        after = index + 1
        while after < first + count and joined[after % count]:
            after += 1
        end = ends[(after - 1) % count] + contour.perimeter * ((after - 1) // count)
        if after - index > 1 and end - keep(end % contour.perimeter) >= begin + keep(begin % contour.perimeter):
            yield from _within_one_turn(
                begin + keep(begin % contour.perimeter), end - keep(end % contour.perimeter), contour.perimeter
            )
        index = after


def _within_one_turn(first: float, last: float, total: float) -> Iterator[Span]:
    """A span as spans that do not run over the contour's beginning."""
    if last <= total:
        yield first, last
    elif first >= total:
        yield first - total, last - total
    else:
        yield first, total
        yield 0.0, last - total


def _is_gentle(segment: Segment, width: float) -> bool:
    """Whether a segment is a piece of a curve that a saw blade follows."""
    if not isinstance(segment, Arc) or segment.sweep >= LEAST_CORNER:
        return False
    return segment.radius >= min(ROUND_ENOUGH * width, CHIPS_ONLY_UP_TO / 2)


def _along(spans: Sequence[Span], far: float) -> float:
    """The distance along a contour that lies ``far`` into its spans, one after the other."""
    for first, last in spans:
        if far <= last - first:
            return first + far
        far -= last - first
    return spans[-1][1]


def _shared(run: Span, span: Span, half: float, total: float) -> Iterator[Span]:
    """What of a run is in a span (which may go round the end) for the middle of a tab that lies in it wholly."""
    for k in (-1, 0, 1):
        first, last = max(run[0], span[0] + k * total + half), min(run[1], span[1] + k * total - half)
        if first <= last:
            yield first, last


def _sawn(segment: Segment, width: float) -> bool:
    """Whether a saw blade follows a run: straight, a large arc, or most of a circle, which has no other place."""
    if not isinstance(segment, Arc):
        return True
    return segment.radius >= ROUND_ENOUGH * width or segment.sweep > MOST_OF_A_CIRCLE


def _before_a_slug(contour: Contour, run: Span, half: float, kerf: float) -> Iterator[Span]:
    """The parts of a run in which a tab has the slug behind it all along: no other wall within its kerf."""
    first, last = run
    count = max(1, math.ceil((last - first + 2 * half) / STEP))
    step = (last - first + 2 * half) / count
    begin: float | None = None
    for index in range(count + 2):
        s = first - half + index * step
        free = index <= count and distance(contour, _inwards(contour, s, kerf)) >= kerf - ROUNDING_MM
        if free and begin is None:
            begin = s
        if not free and begin is not None:
            if s - step - begin >= 2 * half - SAME_POINT:
                yield begin + half, max(begin + half, s - step - half)
            begin = None


def _inwards(contour: Contour, s: float, depth: float) -> XY:
    (x, y), (tx, ty) = contour.point_at(s), contour.tangent_at(s)
    return x - ty * depth, y + tx * depth


def _nearest(runs: list[Span], s: float) -> float:
    held = [min(max(s, a), b) for a, b in runs]
    return min(held, key=lambda place: (abs(place - s), place))


def _ring_gap(a: float, b: float, total: float) -> float:
    gap = abs(a - b) % total
    return min(gap, total - gap)


def _apart(chosen: list[float], least: float, total: float) -> bool:
    return all(_ring_gap(a, b, total) >= least for k, a in enumerate(chosen) for b in chosen[k + 1 :])

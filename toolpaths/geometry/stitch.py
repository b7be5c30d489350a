"""Join loose pieces of lines and arcs, all directed, into closed contours."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import NODE
from toolpaths.geometry.segment import XY, Arc, Line, Segment

_LOOK_AHEAD = 0.01
"""Millimetres along two pieces that leave one point in one direction, to see which of them bends further left."""


@dataclass(frozen=True, slots=True)
class _Edge:
    """A piece between two numbered meeting points; ``order`` is its place among all pieces."""

    order: int
    begin: int
    end: int
    segment: Segment


def stitched(pieces: Iterable[Segment]) -> list[Contour]:
    """Closed contours of the pieces, what they bound on their left.

    Ends within NODE of each other are one. Pieces that lie on one another in opposite directions cancel (nothing lies
    between them); pieces that lead nowhere are left out; where contours touch they are kept apart. Neighbours on one
    line or circle become one segment. Contours come in the order of their first pieces.
    """
    chains = _walk(_without_dead_ends(_without_pairs(_edges(list(pieces)))))
    contours = [Contour(tuple(chain)) for chain in map(merged, chains) if chain]
    return [contour for contour in contours if abs(contour.area) > 4 * NODE * contour.perimeter]


def _edges(pieces: list[Segment]) -> list[_Edge]:
    """The pieces between shared meeting points; those shorter than that are left out."""
    points = [point for piece in pieces for point in (piece.start, piece.end)]
    node = meeting_points(points)
    edges = []
    for order, piece in enumerate(pieces):
        begin, end = node[2 * order], node[2 * order + 1]
        if begin == end and piece.length <= 8 * NODE:
            continue
        edges.append(_Edge(order, begin, end, _ending_at(piece, points[begin], points[end])))
    return edges


def meeting_points(points: Sequence[XY], within: float = NODE) -> list[int]:
    """For each point the index of the first point that is one with it, directly or over others between.

    Points are one where they are ``within`` mm of each other.
    """
    parent = list(range(len(points)))

    def root(index: int) -> int:
        while parent[index] != index:
            index = parent[index]
        return index

    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    exactly: dict[XY, int] = {}
    for index, (x, y) in enumerate(points):
        first = exactly.setdefault((x, y), index)
        if first != index:  # thousands may meet in one point: it is compared with its neighbours once
            parent[index] = first
            continue
        column, row = math.floor(x / within), math.floor(y / within)
        for cell in ((column + i, row + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
            for other in cells.get(cell, ()):
                if math.dist(points[other], points[index]) <= within:
                    one, two = sorted((root(other), root(index)))
                    parent[two] = one
        cells[column, row].append(index)
    return [root(index) for index in range(len(points))]


def _ending_at(piece: Segment, start: XY, end: XY) -> Segment:
    return Line(start, end) if isinstance(piece, Line) else Arc(start, end, piece.centre, piece.ccw)


def _without_pairs(edges: list[_Edge]) -> list[_Edge]:
    """Of two pieces that lie on one another: neither where they run in opposite directions, one where in the same."""
    between: dict[tuple[int, int], list[_Edge]] = defaultdict(list)
    for edge in edges:
        opposite = next((e for e in between[edge.end, edge.begin] if _same_place(e, edge)), None)
        if opposite is not None and opposite is not edge:
            between[edge.end, edge.begin].remove(opposite)
        elif not any(_same_place(e, edge) for e in between[edge.begin, edge.end]):
            between[edge.begin, edge.end].append(edge)
    return sorted((edge for group in between.values() for edge in group), key=lambda edge: edge.order)


def _same_place(a: _Edge, b: _Edge) -> bool:
    first, second = a.segment, b.segment
    return math.dist(first.point_at(first.length / 2), second.point_at(second.length / 2)) <= 4 * NODE


def _without_dead_ends(edges: list[_Edge]) -> list[_Edge]:
    while True:
        begins, ends = {edge.begin for edge in edges}, {edge.end for edge in edges}
        kept = [edge for edge in edges if edge.begin in ends and edge.end in begins]
        if len(kept) == len(edges):
            return edges
        edges = kept


def _walk(edges: list[_Edge]) -> list[list[Segment]]:
    """Closed chains; at a point with several ways on, the leftmost, so that touching contours stay apart."""
    leaving: dict[int, list[_Edge]] = defaultdict(list)
    for edge in edges:
        leaving[edge.begin].append(edge)
    chains = []
    for first in edges:
        if first not in leaving[first.begin]:
            continue
        chain, passed = [first], {first.order}
        while chain[-1].end != first.begin:
            onward = [edge for edge in leaving[chain[-1].end] if edge.order not in passed]
            if not onward:
                break
            chain.append(onward[0] if len(onward) == 1 else max(onward, key=lambda edge: _left_turn(chain[-1], edge)))
            passed.add(chain[-1].order)
        for edge in chain:
            leaving[edge.begin].remove(edge)
        if chain[-1].end == first.begin:
            chains.append([edge.segment for edge in chain])
    return chains


def _left_turn(before: _Edge, after: _Edge) -> float:
    """Turn from one piece into the next, radians, positive to the left, seen a little way ahead."""
    ahead = min(_LOOK_AHEAD, after.segment.length / 2)
    ax, ay = before.segment.tangent_at(before.segment.length)
    (sx, sy), (px, py) = after.segment.start, after.segment.point_at(ahead)
    bx, by = px - sx, py - sy
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def merged(chain: Sequence[Segment]) -> list[Segment]:
    """The closed chain with neighbours on one line or circle made one, over its start too."""
    out: list[Segment] = []
    for segment in chain:
        whole = _whole(out[-1], segment) if out else None
        if whole is None:
            out.append(segment)
        else:
            out[-1] = whole
    if len(out) > 1 and (whole := _whole(out[-1], out[0])) is not None:
        out[0] = whole
        out.pop()
    return out


def _whole(a: Segment, b: Segment) -> Segment | None:
    """One segment in place of two neighbours, where they lie on one line or circle."""
    if isinstance(a, Line) and isinstance(b, Line):
        whole = Line(a.start, b.end)
        (tx, ty), (ax, ay), (bx, by) = whole.tangent_at(0.0), a.tangent_at(0.0), b.tangent_at(0.0)
        vx, vy = a.end[0] - a.start[0], a.end[1] - a.start[1]
        straight = ax * bx + ay * by > 0 and abs(vx * ty - vy * tx) <= NODE
        return whole if straight else None
    if isinstance(a, Arc) and isinstance(b, Arc) and a.ccw == b.ccw and not a.is_circle and not b.is_circle:
        same = math.dist(a.centre, b.centre) <= NODE and abs(a.radius - b.radius) <= NODE
        return Arc(a.start, b.end, a.centre, a.ccw) if same else None
    return None

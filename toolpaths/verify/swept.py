"""What moves sweep, as shapely geometry: centre lines and the areas that cutters clear along them.

Curves are faceted with at most FACET_SAGITTA between arc and chord, so that a measured distance is good to
a tenth of PIECE. Levels repeat the same path: each path and each area is made once.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely

from toolpaths.stroke import Stroke
from toolpaths.tolerance import FACET_SAGITTA, ROUNDING_MM
from toolpaths.verify.moves import Move, Span, radius_at, span_below

PathKey = tuple[float, ...]
SweepKey = tuple[PathKey, float]
WHOLE: Span = (0.0, 1.0)


def facet_angle(radius: float, sagitta: float = FACET_SAGITTA) -> float:
    """The largest angle of one facet on a circle of ``radius`` with at most ``sagitta`` between arc and chord, rad."""
    if radius <= 2 * sagitta:
        return math.pi / 4
    return min(math.pi / 4, 2 * math.acos(1 - sagitta / radius))


def ring(centre: tuple[float, float], radius: float, sagitta: float = FACET_SAGITTA) -> Any:
    """Points of a faceted circle, closed, as an (n, 2) array."""
    count = math.ceil(2 * math.pi / facet_angle(radius, sagitta))
    angles = np.linspace(0.0, 2 * math.pi, count + 1)
    points = np.column_stack((centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)))
    points[-1] = points[0]
    return points


def disc(centre: tuple[float, float], radius: float, sagitta: float = FACET_SAGITTA) -> Any:
    """A faceted disc."""
    return shapely.Polygon(ring(centre, radius, sagitta))


def path_key(stroke: Stroke, span: Span = WHOLE) -> PathKey:
    """What makes two paths in XY the same, to a millionth of a millimetre."""
    (sx, sy, _), (ex, ey, _) = stroke.start, stroke.end
    if stroke.centre is None:
        return tuple(round(value, 6) for value in (sx, sy, ex, ey, *span))
    if stroke.sweep > 2 * math.pi - 1e-9 and span == WHOLE:
        return tuple(round(value, 6) for value in (*stroke.centre, stroke.radius))
    turn = 1.0 if stroke.ccw else -1.0
    return tuple(round(value, 6) for value in (sx, sy, ex, ey, *stroke.centre, turn, *span))


def centre_line(stroke: Stroke, span: Span = WHOLE) -> Any:
    """The path of the cutter's centre in XY over a part of the stroke: a LineString, or a Point where it stands."""
    (sx, sy, _), (ex, ey, _) = stroke.start, stroke.end
    if stroke.centre is None:
        ends = [(sx + share * (ex - sx), sy + share * (ey - sy)) for share in span]
        if math.dist(*ends) < ROUNDING_MM / 10:
            return shapely.Point(ends[1])
        return shapely.LineString(ends)
    cx, cy = stroke.centre
    sweep = stroke.sweep * (1 if stroke.ccw else -1)
    first = math.atan2(sy - cy, sx - cx)
    # A text rounds start, end and centre apart: the radius goes evenly from the start's to the end's.
    radius, last_radius = stroke.radius, math.dist((ex, ey), (cx, cy))
    count = max(1, math.ceil(abs(sweep) * (span[1] - span[0]) / facet_angle(max(radius, last_radius))))
    shares = np.linspace(span[0], span[1], count + 1)
    angles = first + sweep * shares
    radii = radius + (last_radius - radius) * shares
    points = np.column_stack((cx + radii * np.cos(angles), cy + radii * np.sin(angles)))
    if abs(sweep) * (span[1] - span[0]) * radius < ROUNDING_MM / 10:
        return shapely.Point(points[-1])
    return shapely.LineString(points)


@dataclass(slots=True)
class Sweeps:
    """Paths and swept areas, each made once."""

    _keys: dict[tuple[int, Span], PathKey] = field(default_factory=dict)
    _paths: dict[PathKey, Any] = field(default_factory=dict)
    _areas: dict[SweepKey, Any] = field(default_factory=dict)
    _circles: dict[PathKey, tuple[tuple[float, float], float]] = field(default_factory=dict)

    def path(self, stroke: Stroke, span: Span = WHOLE) -> tuple[PathKey, Any]:
        """The key and the centre line of a part of a stroke; the strokes must outlive this object."""
        key = self._keys.get((id(stroke), span))
        if key is None:
            key = self._keys[id(stroke), span] = path_key(stroke, span)
        if key not in self._paths:
            self._paths[key] = centre_line(stroke, span)
            if stroke.centre is not None and len(key) == 3:
                self._circles[key] = (stroke.centre, stroke.radius)
        return key, self._paths[key]

    def areas(self, keys: Sequence[SweepKey]) -> list[Any]:
        """The areas that a disc of the given radius sweeps along each path."""
        missing: dict[float, list[SweepKey]] = {}
        for key in dict.fromkeys(keys):
            if key in self._areas:
                continue
            path, radius = key
            if path in self._circles:
                self._areas[key] = _annulus(*self._circles[path], radius)
            else:
                missing.setdefault(radius, []).append(key)
        for radius, wanted in missing.items():
            quarter = math.ceil(math.pi / 2 / facet_angle(radius))
            lines = [self._paths[path] for path, _ in wanted]
            for key, area in zip(wanted, shapely.buffer(lines, radius, quad_segs=quarter), strict=True):
                self._areas[key] = area
        return [self._areas[key] for key in keys]

    def coarse_area(self, key: SweepKey, sagitta: float) -> Any:
        """The area swept along one path on a coarse outline, off by up to twice ``sagitta``: quick to join."""
        path, radius = key
        if path in self._circles:
            return _annulus(*self._circles[path], radius, sagitta)
        line = shapely.simplify(self._paths[path], sagitta, preserve_topology=False)
        return shapely.buffer(line, radius, quad_segs=math.ceil(math.pi / 2 / facet_angle(radius, sagitta)))

    def cleared(self, cuts: Iterable[Move], level: float) -> list[SweepKey]:
        """What each of the cuts clears at Z ``level``, without repeats, in order of time.

        Flat cutters clear at every height above their tip; so what is gone here is gone above as well.
        """
        keys: dict[SweepKey, None] = {}
        for move in cuts:
            if move.cutter is None or move.low > level + ROUNDING_MM:
                continue
            span = span_below(move.stroke, level + ROUNDING_MM)
            if span is None:
                continue
            upright = move.upright
            radius = radius_at(move.cutter, move.low if upright else min(move.high, level), level + ROUNDING_MM)
            if radius <= 0:
                continue
            key, _ = self.path(move.stroke, WHOLE if upright else span)
            keys[key, radius] = None
        return list(keys)


def _annulus(centre: tuple[float, float], path: float, radius: float, sagitta: float = FACET_SAGITTA) -> Any:
    if path <= radius:
        return disc(centre, path + radius, sagitta)
    return shapely.Polygon(ring(centre, path + radius, sagitta), [ring(centre, path - radius, sagitta)])


def pieces(area: Any, kind: str = "Polygon") -> list[Any]:
    """The single parts of an area (or of lines) that are of ``kind``."""
    return [part for part in shapely.get_parts(area) if part.geom_type == kind and not part.is_empty]

"""The entities of a document as runs of lines and arcs in mm: blocks opened, planes flattened, curves followed.

A block is a map of the plane: mirrored, turned or stretched, one inside another, the maps are multiplied and each
entity goes through the product once, so that a circle stays a circle wherever it can.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any, Final

from toolpaths.drawing_file.contents import Faults, Place, Point, Run, Wanted, brief
from toolpaths.errors import GeometryError
from toolpaths.geometry.biarc import arc_or_line, arcs_along
from toolpaths.geometry.curve import Ellipse, beziers
from toolpaths.geometry.segment import TURN, XY, Arc, Line, Segment
from toolpaths.tolerance import DRAWN_CURVE

MOST_ENTITIES: Final = 100_000
"""With all that blocks bring; a panel has some hundreds."""

MOST_INSIDE: Final = 16
"""Blocks within blocks."""

MOST_CONTROL: Final = 5_000
"""Control points of one spline, and of so many entities no more than 25 degrees."""

FURTHEST: Final = 1e7
"""mm from 0, 0: further out a double has no digits left for a thousandth of a mm and all that is computed from it."""

LEAST_RADIUS: Final = 1e-3
"""mm; a circle under this is a mistake."""

LARGEST_RADIUS: Final = 1e4
"""mm; no side of a panel is longer, and what comes of a larger circle is searched without end."""

ROUND: Final = 1e-6
"""mm; an ellipse whose axes differ by less is a circle with float error."""

NO_LENGTH: Final = 1e-6
"""mm; a line or arc under this is a point."""

FRAME: Final = 16
"""Flag of a vertex of a polyline that only guides its curve (DXF reference, VERTEX 70)."""


class TooMany(Exception):
    """More entities than are read."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A plane laid on the drawing's: (x, y) goes to ``at`` + x ``u`` + y ``v``, mm."""

    at: XY
    u: XY
    v: XY

    def point(self, x: float, y: float) -> XY:
        """Where a point of the plane lies."""
        return self.at[0] + x * self.u[0] + y * self.v[0], self.at[1] + x * self.u[1] + y * self.v[1]

    def way(self, x: float, y: float) -> XY:
        """Where a direction of the plane leads, with its length."""
        return x * self.u[0] + y * self.v[0], x * self.u[1] + y * self.v[1]


@dataclass(frozen=True, slots=True)
class _Within:
    """Where an entity stands: the map to mm, the layer that layer 0 stands for, the blocks that it is in."""

    matrix: Any
    layer: str | None = None
    blocks: tuple[str, ...] = ()
    hidden: bool = False


def shown_name(name: object) -> str:
    r"""A name as whoever drew it sees it: old files write letters beyond their code page as ``\U+`` and four digits."""
    from ezdxf.lldxf.encoding import decode_dxf_unicode

    return str(decode_dxf_unicode(str(name)))


@cache
def _broken() -> tuple[type[Exception], ...]:
    """What the library, or arithmetic, raises of an entity that lacks what it must have, or has it wrong."""
    from ezdxf.lldxf.const import DXFError

    return DXFError, ValueError, TypeError, LookupError, ArithmeticError


def _own(entity: Any, key: str, default: object) -> object:
    """What an entity says of itself under a key; the default where it, or all of its type, says nothing."""
    return entity.dxf.get(key, default) if entity.dxf.is_supported(key) else default


class Walk:
    """Model space, entity by entity."""

    def __init__(self, document: Any, scale: float, wanted: Wanted, faults: Faults) -> None:
        self.document = document
        self.scale = scale
        self.faults = faults
        self.wants_points = wanted.points
        self.counted = frozenset(name.lower() for name in wanted.counted)
        self.layers = frozenset(name.lower() for name in wanted.layers)
        self.runs: list[Run] = []
        self.points: list[Point] = []
        self.left: Counter[tuple[str, str]] = Counter()
        self.unseen: Counter[str] = Counter()
        self.followed: Counter[str] = Counter()
        self.met: dict[str, str] = {}
        self.count = 0
        self._shown: dict[str, bool] = {}

    def all(self) -> None:
        """Everything in model space; a fault where there is too much."""
        from ezdxf.math import Matrix44

        root = _Within(Matrix44.scale(self.scale, self.scale, self.scale))
        try:
            for entity in self.document.modelspace():
                self.take(entity, root)
        except TooMany:
            said = f"has more than {MOST_ENTITIES} entities, with those that its blocks bring"
            self.faults.add(None, said, "keep to the layers that matter, or divide it")
            self.faults.raise_all()

    def take(self, entity: Any, within: _Within) -> None:
        self.count += 1
        if self.count > MOST_ENTITIES:
            raise TooMany
        kind = entity.dxftype()
        layer = shown_name(_own(entity, "layer", "0"))
        if layer == "0" and within.layer is not None:
            layer = within.layer
        hidden = within.hidden or bool(_own(entity, "invisible", 0)) or not self.is_shown(layer)
        place = Place(
            layer, kind, str(_own(entity, "handle", "") or "?"), within.blocks[-1] if within.blocks else "",
            self.somewhere(entity, within.matrix),
        )  # fmt: skip
        try:
            if kind == "INSERT":
                self.insert(entity, place, within, layer, hidden)
                return
            self.met.setdefault(layer.lower(), layer)
            if self.layers and layer.lower() not in self.layers:
                return
            if layer.lower() in self.counted and not self.layers:
                self.left[kind, layer] += 1
                return
            if hidden and not self.layers:
                self.unseen[layer] += 1
                return
            self.leaf(entity, kind, place, within.matrix)
        except TooMany:
            raise
        except GeometryError as error:
            self.faults.mend(place, str(error), "left out")
        except _broken() as error:
            self.faults.mend(place, f"cannot be read ({type(error).__name__}: {str(error)[:80]})", "left out")

    def is_shown(self, layer: str) -> bool:
        """Whether a layer is neither off nor frozen; one that stands in no table is shown."""
        if not self._shown:
            for entry in self.document.layers:
                self._shown[shown_name(entry.dxf.name).lower()] = not (entry.is_off() or entry.is_frozen())
        return self._shown.get(layer.lower(), True)

    def somewhere(self, entity: Any, matrix: Any) -> XY | None:
        """A point of an entity in the drawing's units; None where it has none that is a number."""
        for key in ("center", "start", "insert", "location"):
            if entity.dxf.hasattr(key):
                try:
                    at = entity.dxf.get(key)
                    if entity.dxftype() in ("CIRCLE", "ARC", "INSERT"):
                        at = entity.ocs().to_wcs(at)
                    x, y, _ = matrix.transform(at)
                except _broken():
                    return None
                place = x / self.scale, y / self.scale
                return place if all(map(math.isfinite, place)) else None
        return None

    # ---- blocks

    def insert(self, entity: Any, place: Place, within: _Within, layer: str, hidden: bool) -> None:
        name = str(entity.dxf.get("name", ""))
        block = entity.block()
        if block is None:
            raise GeometryError(f"there is no block '{brief(name)}'")
        if name.lower() in (one.lower() for one in within.blocks):
            raise GeometryError(f"block '{brief(name)}' holds itself")
        if len(within.blocks) >= MOST_INSIDE:
            raise GeometryError(f"blocks lie more than {MOST_INSIDE} deep in each other")
        copies = max(1, int(entity.dxf.get("row_count", 1))) * max(1, int(entity.dxf.get("column_count", 1)))
        if self.count + copies > MOST_ENTITIES:
            raise TooMany
        for one in entity.multi_insert() if copies > 1 else (entity,):
            matrix = one.matrix44() * within.matrix
            inner = _Within(matrix, layer, (*within.blocks, name), hidden)
            for child in block:
                self.take(child, inner)
        for attribute in entity.attribs:
            if not self.layers or str(attribute.dxf.get("layer", "0")).lower() in self.layers:
                self.left["ATTRIB", place.layer] += 1

    # ---- entities

    def leaf(self, entity: Any, kind: str, place: Place, matrix: Any) -> None:
        if kind == "POINT" and self.wants_points:
            at = _flat([matrix.transform(entity.dxf.location)])[0]
            self.points.append(Point(self.near(at), self.at(place, at)))
            return
        reader = _READERS.get(kind)
        if reader is None or (kind == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline)):
            self.left[kind, place.layer] += 1
            return
        for key in _NEEDED.get(kind, ()):
            if not entity.dxf.hasattr(key):  # the library would make one up
                raise GeometryError(f"says nothing of its {key.replace('_', ' ')}")
        for segments in reader(entity, matrix):
            if kind in ("ELLIPSE", "SPLINE") and any(isinstance(segment, Arc) for segment in segments[1:]):
                self.followed[kind] += 1
            for segment in segments:
                self.near(segment.start)
                self.near(segment.end)
                if isinstance(segment, Arc):
                    self.near((segment.radius, 0.0))
            if sum(segment.length for segment in segments) <= NO_LENGTH:
                self.left[f"{kind} without length", place.layer] += 1
            else:
                self.runs.append(Run(tuple(segments), self.at(place, segments[0].start)))

    def at(self, place: Place, point: XY) -> Place:
        """The place with a point of the entity where it has none yet."""
        if place.at is not None:
            return place
        own = point[0] / self.scale, point[1] / self.scale
        return Place(place.layer, place.kind, place.handle, place.block, own)

    def near(self, point: XY) -> XY:
        """The point, if it is one; GeometryError where it is no number or too far away."""
        if not all(map(math.isfinite, point)):
            raise GeometryError("a coordinate is no number")
        if max(map(abs, point)) > FURTHEST:
            raise GeometryError(f"reaches beyond {FURTHEST / 1e6:g} km: check its units")
        return point


# ---- one entity to its segments


def _line(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    start, end = _flat([matrix.transform(entity.dxf.start), matrix.transform(entity.dxf.end)])
    yield [Line(start, end)]


def _circle(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    x, y, z = entity.dxf.center
    frame = _frame(entity, matrix, z)
    radius = _radius(entity, frame)
    yield _conic(frame.point(x, y), frame.way(radius, 0.0), frame.way(0.0, radius), TURN)


def _arc(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    x, y, z = entity.dxf.center
    frame = _frame(entity, matrix, z)
    radius = _radius(entity, frame)
    begin, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    c, s = radius * math.cos(begin), radius * math.sin(begin)
    yield _conic(frame.point(x, y), frame.way(c, s), frame.way(-s, c), _sweep(begin, end))


def _ellipse(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    centre, major = entity.dxf.center, entity.dxf.major_axis
    upright = entity.ocs().uz
    ratio = float(entity.dxf.ratio)
    minor = upright.cross(major).normalize(major.magnitude * ratio)
    begin, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    (at,) = _flat([matrix.transform(centre)])
    (ux, uy), (vx, vy) = _ways(matrix.transform_direction(major), matrix.transform_direction(minor))
    if not min(math.hypot(ux, uy), math.hypot(vx, vy)) >= LEAST_RADIUS:
        raise GeometryError("an axis has no length")
    c, s = math.cos(begin), math.sin(begin)
    yield _conic(at, (ux * c + vx * s, uy * c + vy * s), (vx * c - ux * s, vy * c - uy * s), _sweep(begin, end))


def _lwpolyline(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    frame = _frame(entity, matrix, float(entity.dxf.get("elevation", 0.0)))
    yield _vertices([(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")], entity.closed, frame)


def _polyline(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    vertices = [vertex for vertex in entity.vertices if not int(vertex.dxf.get("flags", 0)) & FRAME]
    if entity.is_3d_polyline:
        points = _flat([matrix.transform(vertex.dxf.location) for vertex in vertices])
        yield _vertices([(x, y, 0.0) for x, y in points], entity.is_closed, Frame((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)))
        return
    elevation = entity.dxf.get("elevation", None)
    frame = _frame(entity, matrix, 0.0 if elevation is None else float(elevation[2]))
    corners = [(*vertex.dxf.location.vec2, float(vertex.dxf.get("bulge", 0.0))) for vertex in vertices]
    yield _vertices(corners, entity.is_closed, frame)


def _spline(entity: Any, matrix: Any) -> Iterator[list[Segment]]:
    if max(len(entity.control_points), len(entity.fit_points)) > MOST_CONTROL or entity.dxf.degree > 25:
        raise GeometryError(f"has more than {MOST_CONTROL} control points, or a degree over 25")
    curve = entity.construction_tool()
    points = _flat([matrix.transform(point) for point in curve.control_points])
    if not all(math.isfinite(value) for point in points for value in point):
        raise GeometryError("a coordinate is no number")
    weights, knots = ([float(one) for one in figures] for figures in (curve.weights(), curve.knots()))
    parts = beziers(points, weights, knots, curve.degree)
    segments: list[Segment] = []
    for part in parts:
        if len(part.points) == 2:
            segments.append(Line(*part.points))
        elif max(math.dist(part.points[0], point) for point in part.points) > NO_LENGTH:
            segments += arcs_along(part, DRAWN_CURVE)
    yield _chained(segments)


_READERS: Final = {
    "LINE": _line, "CIRCLE": _circle, "ARC": _arc, "ELLIPSE": _ellipse, "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline, "SPLINE": _spline,
}  # fmt: skip
"""What is geometry to cut, by its type."""

_NEEDED: Final = {
    "LINE": ("start", "end"), "CIRCLE": ("center", "radius"), "ARC": ("center", "radius", "start_angle", "end_angle"),
    "ELLIPSE": ("center", "major_axis", "ratio"),
}  # fmt: skip
"""What each of these must say of itself (DXF reference)."""


def _frame(entity: Any, matrix: Any, elevation: float) -> Frame:
    """The plane that an entity's own coordinates lie in; GeometryError where it does not lie flat."""
    plane = entity.ocs()
    (at,) = _flat([matrix.transform(plane.to_wcs((0.0, 0.0, elevation)))])
    u, v = _ways(matrix.transform_direction(plane.ux), matrix.transform_direction(plane.uy))
    if not abs(u[0] * v[1] - u[1] * v[0]) > 1e-12:
        raise GeometryError("is squeezed to nothing by the scale of its block")
    return Frame(at, u, v)


def _flat(points: Iterable[Any]) -> list[XY]:
    """Points of one height without it; GeometryError where their heights differ."""
    listed = [(float(x), float(y), float(z)) for x, y, z in points]
    heights = [z for _, _, z in listed]
    if heights and max(heights) - min(heights) > 1e-4:
        raise GeometryError(f"is not flat: its height goes from {min(heights):g} to {max(heights):g} mm")
    return [(x, y) for x, y, _ in listed]


def _ways(*ways: Any) -> list[XY]:
    for way in ways:
        if abs(way.z) > 1e-9 * way.magnitude:
            raise GeometryError("lies in a plane that is tilted against the drawing's")
    return [(float(way.x), float(way.y)) for way in ways]


def _radius(entity: Any, frame: Frame) -> float:
    radius = float(entity.dxf.radius)
    if radius * max(math.hypot(*frame.u), math.hypot(*frame.v)) > LARGEST_RADIUS:
        raise GeometryError(f"has a radius over {LARGEST_RADIUS / 1000:g} m, more than any panel: check its units")
    if not radius * max(math.hypot(*frame.u), math.hypot(*frame.v)) >= LEAST_RADIUS:
        raise GeometryError(f"its radius is {radius:g}")
    return radius


def _sweep(begin: float, end: float) -> float:
    """From one angle on to another, a full turn where they are one."""
    sweep = (end - begin) % TURN
    return TURN if min(sweep, TURN - sweep) < 1e-9 else sweep


def _conic(centre: XY, u: XY, v: XY, sweep: float, ends: tuple[XY, XY] | None = None) -> list[Segment]:
    """``centre`` + ``u`` cos t + ``v`` sin t for t from 0 to ``sweep``: a circle or an arc, else arcs along an ellipse.

    ``ends`` are its ends where they are known better than that.
    """
    if not all(map(math.isfinite, (*centre, *u, *v, sweep))):
        raise GeometryError("a coordinate is no number")
    long, wide = math.hypot(*u), math.hypot(*v)
    ccw = u[0] * v[1] - u[1] * v[0] > 0
    if abs(long - wide) <= ROUND and abs(u[0] * v[0] + u[1] * v[1]) <= ROUND * long:
        start = centre[0] + u[0], centre[1] + u[1]
        if sweep == TURN:
            return [Arc(start, start, centre, ccw)]
        c, s = math.cos(sweep), math.sin(sweep)
        side = (-u[1], u[0]) if ccw else (u[1], -u[0])
        end = centre[0] + u[0] * c + side[0] * s, centre[1] + u[1] * c + side[1] * s
        first, last = ends or (start, end)
        return [] if first == last else [arc_or_line(first, last, centre, ccw)]
    found = arcs_along(Ellipse(centre, u, v, (0.0, sweep)), DRAWN_CURVE)
    if sweep == TURN:
        found[-1] = _ending(found[-1], found[0].start)
    return found


def _ending(segment: Segment, end: XY) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.start, end)
    return Arc(segment.start, end, segment.centre, segment.ccw)


def _vertices(corners: list[tuple[float, float, float]], closed: bool, frame: Frame) -> list[Segment]:
    """A polyline's vertices, each with the bulge of the piece that it begins; vertices that are one are merged."""
    if len(corners) < 2:
        raise GeometryError("has fewer than two vertices")
    if not all(map(math.isfinite, (value for corner in corners for value in corner))):
        raise GeometryError("a coordinate is no number")
    points = [frame.point(x, y) for x, y, _ in corners]
    if closed:
        points.append(points[0])
        corners = [*corners, corners[0]]
    found: list[Segment] = []
    last = points[0]
    for (one, two), (start, end) in zip(pairwise(corners), pairwise(points), strict=True):
        if math.dist(start, end) <= NO_LENGTH and abs(one[2]) < 1e3:
            continue
        found += _bulged(one, two, last, end, frame)
        last = end
    if closed and len(found) > 1 and found[-1].end != found[0].start:
        found[-1] = _ending(found[-1], found[0].start)
    return found


def _bulged(
    one: tuple[float, float, float], two: tuple[float, float, float], start: XY, end: XY, frame: Frame
) -> list[Segment]:
    """From one vertex to the next: the bulge is the tangent of a quarter of the turn (DXF reference)."""
    bulge = one[2]
    chord = math.hypot(two[0] - one[0], two[1] - one[1])
    if abs(bulge) * math.dist(start, end) / 2 < 1e-9:
        return [Line(start, end)]
    if chord <= 0 or abs(bulge) > 1e3:
        raise GeometryError(f"has a bulge of {bulge:g}, more than any arc")
    off = (1 - bulge * bulge) / (4 * bulge)  # from the middle of the chord to the centre, in chords, to the left
    dx, dy = two[0] - one[0], two[1] - one[1]
    x, y = (one[0] + two[0]) / 2 - dy * off, (one[1] + two[1]) / 2 + dx * off
    ux, uy = one[0] - x, one[1] - y
    side = (-uy, ux) if bulge > 0 else (uy, -ux)
    return _conic(frame.point(x, y), frame.way(ux, uy), frame.way(*side), 4 * math.atan(abs(bulge)), (start, end))


def _chained(segments: list[Segment]) -> list[Segment]:
    """Segments of one curve with each beginning exactly where the one before it ends."""
    found: list[Segment] = []
    for segment in segments:
        if found and segment.start != found[-1].end and math.dist(segment.start, found[-1].end) < NO_LENGTH:
            start = found[-1].end
            segment = (
                Line(start, segment.end)
                if isinstance(segment, Line)
                else Arc(start, segment.end, segment.centre, segment.ccw)
            )
        found.append(segment)
    return found

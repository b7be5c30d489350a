"""What a job asks for, drawn from its resolved figures by a general-purpose geometry library, and by nothing of ours.

It shares no code with the layout room: shapes are made by plane geometry, corners rounded by buffers, drawings read by
the library that wrote them. Only the places of a row with equal gaps are taken from the layout.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import ezdxf
import ezdxf.path
import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from toolpaths import job as rows
from toolpaths.layout.spacing import spaced

FINE = 64
"""Segments to a quarter circle: 0.0075 mm off at 50 mm across."""


@dataclass(frozen=True)
class Drawn:
    """One opening as the job has it: ``feature`` as findings name it, ``shape`` as designed, in panel coordinates."""

    feature: str
    kind: str
    shape: Any
    centre: tuple[float, float]
    finish: str
    depth: float | None = None
    limit: float = 0.0
    tolerance: float = 0.0
    diameter: float | None = None
    cone: rows.Countersink | None = None
    tabs: bool = True
    part: int | None = None
    """Which component of the panel brings it; None: none does."""

    @property
    def mouth(self) -> Any:
        """The shape where it begins: with its countersink."""
        if self.cone is None or self.finish == "pilot":
            return self.shape
        return self.shape.union(Point(self.centre).buffer(self.cone.diameter / 2, FINE))

    @property
    def left_in_corners(self) -> Any:
        """What a cutter as large as is allowed leaves of the shape."""
        rolled = self.shape.buffer(-self.limit, 16).buffer(self.limit, 16)
        return self.shape.difference(rolled)


def outline_of(panel: rows.Panel) -> Any:
    """The panel's outline in its own coordinates, as measured."""
    wide, high = panel.measured.width, panel.measured.height
    left = 0.0 if "left" in panel.origin else wide if "right" in panel.origin else wide / 2
    low = 0.0 if "lower" in panel.origin else high if "upper" in panel.origin else high / 2
    radius = panel.corner_radius
    # the hull of four discs; of a panel with round ends the hull of their middles is a line
    corners = [(x, y) for x in (radius - left, wide - left - radius) for y in (radius - low, high - low - radius)]
    hull = shapely.MultiPoint(corners).convex_hull
    return hull.buffer(radius, FINE) if radius > 0 else hull


def rounded(shape: Any, radius: float) -> Any:
    """A polygon with every corner of this radius: those that point out, then those that point in."""
    if radius <= 0:
        return shape
    return shape.buffer(-radius, FINE, join_style="mitre").buffer(2 * radius, FINE).buffer(-radius, FINE)


def _circle(at: tuple[float, float], diameter: float) -> Any:
    return Point(at).buffer(diameter / 2, FINE)


def _turned(shape: Any, at: tuple[float, float], angle: float) -> Any:
    return affinity.translate(affinity.rotate(shape, angle, (0, 0), use_radians=True), *at)


def _moved(point: tuple[float, float], at: tuple[float, float], angle: float) -> tuple[float, float]:
    c, s = math.cos(angle), math.sin(angle)
    return at[0] + c * point[0] - s * point[1], at[1] + s * point[0] + c * point[1]


def shape_of(one: rows.Feature) -> Any:
    """The shape of a feature of one opening about 0, 0, unturned."""
    if isinstance(one, rows.Hole):
        return _circle((0, 0), one.diameter)
    if isinstance(one, rows.DHole):
        radius = one.diameter / 2
        return _circle((0, 0), one.diameter).intersection(box(-radius, -radius, one.across_flat - radius, radius))
    if isinstance(one, rows.DoubleDHole):
        half = one.across_flats / 2
        return _circle((0, 0), one.diameter).intersection(box(-half, -one.diameter, half, one.diameter))
    if isinstance(one, rows.KeyedHole):
        far, half = one.diameter / 2 + one.key_depth, one.key_width / 2
        return _circle((0, 0), one.diameter).union(box(0, -half, far, half))
    if isinstance(one, rows.Cutout):
        sharp = box(-one.width / 2, -one.height / 2, one.width / 2, one.height / 2)
        if one.corner_radius <= 0:
            return sharp
        return sharp.buffer(-one.corner_radius + 1e-9, join_style="mitre").buffer(one.corner_radius, FINE)
    if isinstance(one, rows.Slot):
        half = (one.length - one.width) / 2
        return shapely.LineString([(-half, 0), (half, 0)]).buffer(one.width / 2, FINE)
    assert isinstance(one, rows.Polygon)
    return rounded(Polygon(one.points), one.corner_radius)


def _of_grid(one: rows.Grid) -> Iterator[tuple[float, float]]:
    wide = (one.columns - 1) * one.across + (one.across / 2 if one.staggered and one.rows > 1 else 0)
    for row in range(one.rows):
        shift = one.across / 2 if one.staggered and row % 2 else 0.0
        for column in range(one.columns):
            yield column * one.across + shift - wide / 2, (row - (one.rows - 1) / 2) * one.up


def _read(data: bytes) -> list[Any]:
    """The closed shapes of a drawing, as the library that wrote it flattens them."""
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    shapes, loose = [], []
    for entity in document.modelspace():
        points = [(v.x, v.y) for v in ezdxf.path.make_path(entity).flattening(0.002)]
        if entity.dxftype() == "LINE":
            loose.append(shapely.LineString(points))
        else:
            shapes.append(Polygon(points))
    return shapes + list(shapely.get_parts(shapely.polygonize(loose)))


def _of_one(one: rows.Feature, name: str, files: Mapping[str, bytes], part: int | None) -> Iterator[Drawn]:
    """What one feature opens."""
    # only sharp corners may keep what a cutter leaves: those of a stated radius are cut with it
    limit = 0.0 if getattr(one, "corner_radius", 0.0) > 0 else getattr(one, "max_corner_radius", 0.0)
    tolerance = getattr(one, "tolerance", 0.0)
    cone = getattr(one, "countersink", None)
    kind = type(one).__name__
    common = {"finish": one.finish, "depth": one.depth, "limit": limit, "tolerance": tolerance, "cone": cone,
              "tabs": one.tabs is not None, "part": part}  # fmt: skip
    if isinstance(one, rows.Ring | rows.Grid | rows.HoleList):
        if isinstance(one, rows.Ring):
            angles = [one.start_angle + 2 * math.pi * k / one.count for k in range(one.count)]
            radius = one.circle_diameter / 2
            places = [(one.at[0] + radius * math.cos(a), one.at[1] + radius * math.sin(a)) for a in angles]
            holes = [(place, one.diameter) for place in places]
        elif isinstance(one, rows.Grid):
            holes = [((one.at[0] + x, one.at[1] + y), one.diameter) for x, y in _of_grid(one)]
        else:
            holes = [(_moved(hole.at, one.at, one.angle), hole.diameter) for hole in one.holes]
        for place, diameter in holes:
            yield Drawn(name, kind, _circle(place, diameter), place, diameter=diameter, **common)
        return
    if isinstance(one, rows.DrawnShapes):
        for shape in _read(files[one.file]):
            laid = _turned(shape, one.at, one.angle)
            yield Drawn(name, kind, laid, laid.centroid.coords[0], **common)
        return
    shape = _turned(shape_of(one), one.at, getattr(one, "angle", 0.0))
    yield Drawn(name, kind, shape, one.at, diameter=getattr(one, "diameter", None), **common)


NAMES = {
    rows.Hole: "hole", rows.DHole: "d_hole", rows.DoubleDHole: "double_d_hole", rows.Slot: "slot",
    rows.Cutout: "cutout", rows.Ring: "ring", rows.Grid: "grid", rows.KeyedHole: "keyed_hole", rows.Polygon: "polygon",
    rows.HoleList: "hole_list", rows.DrawnShapes: "drawing",
}  # fmt: skip


def components_on(panel: rows.Panel) -> Iterator[tuple[str, rows.Part, tuple[float, float]]]:
    """Every component with the feature that places it and its place."""
    for feature in panel.features:
        if isinstance(feature, rows.Part):
            yield f"part[{feature.number}]", feature, feature.at
        elif isinstance(feature, rows.Row):
            parts = [part for group in feature.groups for part in group]
            centres = list(spaced(feature).centres)
            if feature.spacing == "equal pitch" and feature.step is None and len(parts) > 1:
                (x0, y0), (x1, y1), n = feature.at, feature.to, len(parts) - 1
                centres = [(x0 + (x1 - x0) * k / n, y0 + (y1 - y0) * k / n) for k in range(n + 1)]
            for part, centre in zip(parts, centres, strict=True):
                yield f"row[{feature.number}]", part, centre


def drawn_on(panel: rows.Panel, files: Mapping[str, bytes]) -> list[Drawn]:
    """Every opening of a panel, those of its components among them."""
    found: list[Drawn] = []
    for feature in panel.features:
        if type(feature) in NAMES:
            found += _of_one(feature, f"{NAMES[type(feature)]}[{feature.number}]", files, None)
    for number, (name, part, at) in enumerate(components_on(panel)):
        for feature in part.features:
            for one in _of_one(feature, name, files, number):
                laid = _turned(one.shape, at, part.angle)
                centre = _moved(one.centre, at, part.angle)
                found.append(Drawn(
                    name, one.kind, laid, centre, one.finish, one.depth, one.limit, one.tolerance, one.diameter,
                    one.cone, one.tabs, number,
                ))  # fmt: skip
    return found


def nested(inner: Drawn, outer: Drawn) -> bool:
    """Whether one lies in the floor of another: wholly within a blind one, and deeper than it."""
    if outer.depth is None:
        return False
    deeper = inner.depth is None or inner.depth > outer.depth + 1e-6
    return deeper and outer.shape.buffer(0.005).covers(inner.mouth)


def across(drawn: Drawn) -> float:
    """The diameter of the smallest circle that holds an opening, mm."""
    return 2 * float(shapely.minimum_bounding_radius(drawn.shape))


def is_large(drawn: Drawn) -> bool:
    """Whether a through opening is so large that its slug is kept: over 25 mm across, and somewhere over 12 mm wide."""
    return across(drawn) > 25.1 and drawn.shape.buffer(-6.1).area > 0 and drawn.depth is None

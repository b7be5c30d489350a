"""Replays typed for these tests, by the page's contract: what the page is given, and what its cuts sweep."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import shapely
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

XY = tuple[float, float]


class Strokes:
    """Strokes as they are typed: each from where the last one ended, at one speed all along."""

    def __init__(self, start: tuple[float | None, float | None, float | None], speed: float = 10.0) -> None:
        self.at, self.speed, self.t = start, speed, 0.0
        self.lists: dict[str, list[Any]] = {key: [] for key in ("x", "y", "z", "cut", "t", "cx", "cy", "ccw")}

    def __len__(self) -> int:
        return len(self.lists["t"])

    def to(self, x: float | None, y: float | None, z: float, *, cut: bool = True) -> None:
        """A straight stroke."""
        known = [b - a for a, b in zip(self.at, (x, y, z), strict=True) if a is not None and b is not None]
        self._end(x, y, z, math.hypot(*known), cut, None, None)

    def arc(self, x: float, y: float, z: float, centre: XY, *, ccw: bool = True) -> None:
        """An arc or, where it ends at its start, one full turn."""
        ax, ay, _ = self.at
        assert ax is not None and ay is not None
        length = math.dist((ax, ay), centre) * sweep((ax, ay), (x, y), centre, ccw)
        self._end(x, y, z, length, True, centre, ccw)

    def wait(self, seconds: float) -> None:
        """The next stroke begins later."""
        self.t += seconds

    def _end(
        self, x: float | None, y: float | None, z: float, length: float, cut: bool, centre: XY | None, ccw: bool | None
    ) -> None:
        self.t += max(length / self.speed, 0.01)
        cx, cy = centre or (None, None)
        values = (x, y, z, int(cut), round(self.t, 6), cx, cy, None if ccw is None else int(ccw))
        for key, value in zip(self.lists, values, strict=True):
            self.lists[key].append(value)
        self.at = (x, y, z)


def sweep(start: XY, end: XY, centre: XY, ccw: bool) -> float:
    """The turn of an arc in radians, always positive; 2 pi where it ends where it began."""
    if math.dist(start, end) < 1e-9:
        return 2 * math.pi
    turn = math.atan2(end[1] - centre[1], end[0] - centre[0]) - math.atan2(start[1] - centre[1], start[0] - centre[0])
    return (turn if ccw else -turn) % (2 * math.pi)


def round_opening(tag: str, at: XY, diameter: float, **more: Any) -> dict[str, Any]:
    """An opening of the sample, drawn with 64 sides."""
    turns = [2 * math.pi * k / 64 for k in range(64)]
    shape = [[at[0] + diameter / 2 * math.cos(a), at[1] + diameter / 2 * math.sin(a)] for a in turns]
    opening = {"tag": tag, "label": "", "feature": "hole[1]", "size": f"Ø{diameter:g}", "shape": shape, "at": list(at)}
    return opening | {"machined": True} | more


def operation(
    number: int, kind: str, cutter: int, tag: str, first: int, strokes: Strokes, start: float, depth: float,
    reasons: Iterable[str] = (),
) -> dict[str, Any]:  # fmt: skip
    """An operation of all strokes from ``first`` to the last one typed."""
    return {
        "number": number, "kind": kind, "cutter": cutter, "tags": [tag], "rpm": 8000.0, "feed": 600.0, "depth": depth,
        "start": start, "seconds": strokes.t - start, "first": first, "last": len(strokes) - 1,
        "reasons": list(reasons), "program": "rear.nc",
    }  # fmt: skip


def finding(severity: str, code: str, message: str, at: list[float] | None) -> dict[str, Any]:
    """A finding about the first hole."""
    return {"severity": severity, "code": code, "message": message, "feature": "hole[1]", "at": at}


CUTTERS = {
    "230": {"name": "3 mm twist drill", "diameter": 3.0, "point_angle_deg": 118.0, "tip": 0.0},
    "112": {"name": "3 mm carbide end mill", "diameter": 3.0, "point_angle_deg": 180.0, "tip": 0.0},
    "110": {"name": "2 mm carbide end mill", "diameter": 2.0, "point_angle_deg": 180.0, "tip": 0.0},
}
"""The rest of a cutter's keys is the same for all."""


def replay(*setups: dict[str, Any], title: str = "Quillmere test chassis") -> dict[str, Any]:
    """A whole replay, as the page is told it."""
    return {
        "format": 1, "title": title, "size": None, "machine": "small router", "units": "mm", "program_units": "mm",
        "setups": list(map(by_kind, setups)),
    }  # fmt: skip


def by_kind(raw: dict[str, Any]) -> dict[str, Any]:
    """A typed setup by the page's contract: shapes as seen from their openings' places, equal reasons once."""
    shapes = [[[x - one["at"][0], y - one["at"][1]] for x, y in one["shape"]] for one in raw["openings"]]
    reasons = [list(said) for said in dict.fromkeys(tuple(one["reasons"]) for one in raw["operations"])]
    openings = [one | {"shape": place} for place, one in enumerate(raw["openings"])]
    operations = [one | {"reasons": reasons.index(one["reasons"])} for one in raw["operations"]]
    return raw | {"shapes": shapes, "openings": openings, "reasons": reasons, "operations": operations}


def setup(strokes: Strokes | None = None, **more: Any) -> dict[str, Any]:
    """A setup on a sheet of 120 by 80 mm; without strokes an empty one."""
    strokes = strokes or Strokes((None, None, None))
    cutters = {key: row | {"shank": 3.175, "flute_length": 12.0, "stick_out": 20.0} for key, row in CUTTERS.items()}
    return {
        "panel": "rear", "number": 1, "programs": ["rear.nc"], "seen_from": "outside", "material": "mild steel",
        "thickness": 1.2, "stock": [0, 0, 120, 80], "outline": [[0, 0], [120, 0], [120, 80], [0, 80]], "zero": [0, 0],
        "touch_off": [110, 40], "obstacles": [], "openings": [], "legends": [], "cutters": cutters, "operations": [],
        "start": [None, None, None], "strokes": strokes.lists, "halts": [], "loose": [], "findings": [],
        "seconds": strokes.t,
    } | more  # fmt: skip


def chassis(label: str = "earth") -> dict[str, Any]:
    """One drilled hole, a change of cutter, a bore smaller than twice its cutter, a ring with tabs, an open arc.

    Times: run-up 0 to 4 s, the change lasts 60 s, then the rest. The slug of G1 hangs from the end of its ring on.
    """
    strokes, halts, operations = Strokes((None, None, None)), [], []
    strokes.wait(4.0)
    halts.append({"t": 0.0, "seconds": 4.0, "text": "spindle runs up"})
    strokes.to(None, None, 25, cut=False)
    start, first = strokes.t, len(strokes)
    strokes.to(15, 15, 25, cut=False)
    strokes.to(15, 15, 1, cut=False)
    strokes.to(15, 15, -2.6)
    strokes.to(15, 15, 25, cut=False)
    reason = "drilled: its point is shorter than the sheet is thick"
    operations.append(operation(1, "drill", 230, "A1", first, strokes, start, -2.6, [reason]))

    halts.append({"t": strokes.t, "seconds": 60.0, "text": "change to T112, touch off Z0"})
    strokes.wait(60.0)
    start, first = strokes.t, len(strokes)
    strokes.to(30.5, 60, 25, cut=False)
    strokes.to(30.5, 60, 0.5, cut=False)
    for z in (0.0, -0.5, -1.0, -1.5):
        strokes.arc(30.5, 60, z, (30, 60))
    strokes.arc(30.5, 60, -1.5, (30, 60))
    strokes.to(30.5, 60, 25, cut=False)
    reason = "not drilled: too wide"
    operations.append(operation(2, "bore in a helix", 112, "B1", first, strokes, start, -1.5, [reason]))

    start, first = strokes.t, len(strokes)
    strokes.to(60, 40, 25, cut=False)
    strokes.to(60, 40, 0.5, cut=False)
    for z in (-0.6, -1.5):
        strokes.to(60, 40, z)
        for angle in (90, 180, 270, 360):
            here, there = math.radians(angle - 20), math.radians(angle)
            strokes.arc(45 + 15 * math.cos(here), 40 + 15 * math.sin(here), z, (45, 40))
            tab = z < -0.7 and angle in (90, 270)
            if tab:
                strokes.to(strokes.at[0], strokes.at[1], -0.7)
            x, y = (60.0, 40.0) if angle == 360 else (45 + 15 * math.cos(there), 40 + 15 * math.sin(there))
            strokes.arc(x, y, -0.7 if tab else z, (45, 40))
            if tab:
                strokes.to(x, y, z)
    loose = strokes.t
    strokes.to(60, 40, 25, cut=False)
    reason = "leaves a slug on two tabs"
    operations.append(operation(3, "cut round the contour", 112, "G1", first, strokes, start, -1.5, [reason]))

    start, first = strokes.t, len(strokes)
    strokes.to(80, 20, 25, cut=False)
    strokes.to(80, 20, 0.5, cut=False)
    strokes.to(80, 20, -1.5)
    strokes.to(100, 20, -1.5)
    strokes.arc(110, 30, -1.5, (100, 30))
    strokes.arc(90, 50, -0.4, (90, 30), ccw=True)
    strokes.to(90, 60, -0.4)
    strokes.to(90, 60, 25, cut=False)
    operations.append(operation(4, "clear to chips", 112, "H1", first, strokes, start, -1.5, [reason]))
    return setup(
        strokes,
        operations=operations,
        halts=halts,
        loose=[{"t": loose, "tag": "G1", "text": "the slug of G1 hangs on 2 tabs"}],
        openings=[
            round_opening("A1", (15, 15), 3.0, label=label),
            round_opening("B1", (30, 60), 4.0),
            round_opening("G1", (45, 40), 33.0),
            round_opening("H1", (90, 40), 3.0, machined=False),
        ],
        obstacles=[{"name": "clamp 1", "area": [100, 60, 125, 85], "height": 20.0}],
        findings=[
            finding("warning", "thin-web", "only 2 mm stays", [15, 15]),
            finding("note", "file-corner", "to be filed", None),
        ],
    )  # fmt: skip


def many(count: int, each: int = 50, seed: int = 1) -> dict[str, Any]:
    """A setup of ``count`` motions on a sheet of 400 by 250 mm: bores of four sizes, ``each`` motions an operation.

    It is faster than any machine: 100,000 motions last three quarters of an hour, so that play at 100× has much to
    paint.
    """
    draw = random.Random(seed)
    strokes, operations, openings = Strokes((0.0, 0.0, 25.0), speed=800.0), [], []
    while len(strokes) < count:
        start, first, number = strokes.t, len(strokes), len(operations) + 1
        x, y, radius = draw.uniform(25, 375), draw.uniform(25, 225), draw.choice((0.8, 2.0, 6.0, 15.0))
        strokes.to(x + radius, y, 25, cut=False)
        strokes.to(x + radius, y, 0.5, cut=False)
        turns = min(each, count - len(strokes) + 2) - 3
        for k in range(1, turns + 1):
            z = -1.5 * k / turns
            if k % 2:
                strokes.arc(x - radius, y, z, (x, y))
            else:
                strokes.arc(x + radius, y, z, (x, y))
        strokes.to(strokes.at[0], strokes.at[1], 25, cut=False)
        cutter = 112 if number < count / each / 2 else 110
        tag = f"A{number}"
        operations.append(operation(number, "bore in a helix", cutter, tag, first, strokes, start, -1.5, ["bored"]))
        openings.append(round_opening(tag, (x, y), 2 * radius + 3))
    sheet = {"stock": [0, 0, 400, 250], "outline": [[0, 0], [400, 0], [400, 250], [0, 250]], "start": [0.0, 0.0, 25.0]}
    return setup(strokes, operations=operations, openings=openings, **sheet)


def swept(raw: dict[str, Any], floor: float) -> BaseGeometry:
    """What the cuts of a setup remove of the plane Z = ``floor``, mm² exact to fine facets; a drill by its cone."""
    lists, parts = raw["strokes"], []
    points = [tuple(raw["start"]), *zip(lists["x"], lists["y"], lists["z"], strict=True)]
    for step in raw["operations"]:
        cutter = raw["cutters"][str(step["cutter"])]
        for i in range(step["first"], step["last"] + 1):
            if lists["cut"][i]:
                arc = (lists["cx"][i], lists["cy"][i], lists["ccw"][i])
                parts += list(_removed(points[i], points[i + 1], arc, cutter, floor))
    return shapely.union_all(parts)


def _removed(
    start: tuple[float, float, float], end: tuple[float, float, float], arc: tuple[Any, Any, Any],
    cutter: dict[str, Any], floor: float,
) -> Iterable[BaseGeometry]:  # fmt: skip
    path = list(_points(start, end, arc))
    if cutter["point_angle_deg"] >= 180:
        below = [(x, y) for x, y, z in path if z <= floor + 1e-6]
        if len(below) == 1 or (below and len(set(below)) == 1):
            yield Point(below[0]).buffer(cutter["diameter"] / 2, 64)
        elif below:
            yield LineString(below).buffer(cutter["diameter"] / 2, 64)
        return
    slope = math.tan(math.radians(cutter["point_angle_deg"] / 2))
    for (ax, ay, az), (bx, by, bz) in pairwise(path):
        radius = min(cutter["diameter"] / 2, (floor - min(az, bz)) * slope)
        if radius > 0:
            yield (Point(ax, ay) if (ax, ay) == (bx, by) else LineString([(ax, ay), (bx, by)])).buffer(radius, 64)


def _points(
    start: tuple[float, float, float], end: tuple[float, float, float], arc: tuple[Any, Any, Any]
) -> Iterable[tuple[float, float, float]]:
    """Points along a stroke, 720 a stroke where it is an arc or slopes."""
    (ax, ay, az), (bx, by, bz), (cx, cy, ccw) = start, end, arc
    if cx is None:
        steps = 1 if az == bz or (ax, ay) == (bx, by) else 720
        for share in (k / steps for k in range(steps + 1)):
            yield ax + (bx - ax) * share, ay + (by - ay) * share, az + (bz - az) * share
        return
    turn = sweep((ax, ay), (bx, by), (cx, cy), bool(ccw)) * (1 if ccw else -1)
    radius, first = math.dist((ax, ay), (cx, cy)), math.atan2(ay - cy, ax - cx)
    for k in range(721):
        angle = first + turn * k / 720
        yield cx + radius * math.cos(angle), cy + radius * math.sin(angle), az + (bz - az) * k / 720

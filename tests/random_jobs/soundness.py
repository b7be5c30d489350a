"""What a job's programs leave, point by point, against the job as drawn by ``own_shapes``: none of our code reads them.

The text is read by the fault harness' own reading, and how low the sheet is cut at a point is found in closed form
(``tests/faults/height.py``). Each setup is laid where the sheet was by the zero that the manifest states for it.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Point

from tests.faults.height import Heights
from tests.faults.own_reading import Move, said
from tests.random_jobs.own_shapes import Drawn, across, is_large, outline_of
from toolpaths import job as rows
from toolpaths.job import Job
from toolpaths.output import OutputFile

OFF = 0.03
"""mm; nearer to a wall a point is asked nothing: facets, rounding and the proof's own 0.01 mm."""
MARK = 1.02
"""mm; a centre mark is so wide at most, to each side."""
ALONG = 0.4
"""mm between points along a wall."""


def moves_of(job: Job, panel: rows.Panel, files: Iterable[OutputFile]) -> list[Move]:
    """All moves of a panel's programs, its setups one after the other, in panel coordinates."""
    by_setup: dict[int, list[OutputFile]] = {}
    for file in files:
        if file.facts.get("kind") == "program" and file.facts.get("panel") == panel.name:
            by_setup.setdefault(int(str(file.facts["setup"])), []).append(file)
    dialect, found = job.machine.program, []
    for _, programs in sorted(by_setup.items()):
        ordered = sorted(programs, key=lambda file: int(str(file.facts["order"])))
        texts = [file.content.decode("ascii").replace("\r\n", "\n").split("\n") for file in ordered]
        heard = said(texts, dialect.change != "automatic", dict(dialect.slots))
        assert not heard.refused, heard.refused
        zero, mirrored = ordered[0].facts["zero"], bool(ordered[0].facts["mirrored"])
        assert isinstance(zero, list)
        found += [_laid(move, zero, mirrored) for move in heard.moves if move.placed]
    return found


def _laid(move: Move, zero: Sequence[float], mirrored: bool) -> Move:
    def at(point: Sequence[float]) -> tuple[float, ...]:
        x = zero[0] - point[0] if mirrored else zero[0] + point[0]
        return (x, zero[1] + point[1], *point[2:])

    turned = {2: 3, 3: 2}.get(move.g, move.g) if mirrored else move.g
    centre = None if move.centre is None else at(move.centre)
    return replace(move, g=turned, start=at(move.start), end=at(move.end), centre=centre)  # type: ignore[arg-type]


def points_in(shape: Any, chance: random.Random, count: int) -> list[tuple[float, float]]:
    """Points of a shape as chance has them, and points along its rims."""
    if shape.is_empty:
        return []
    x0, y0, x1, y1 = shape.bounds
    tried = [(chance.uniform(x0, x1), chance.uniform(y0, y1)) for _ in range(4 * count)]
    inside = shapely.contains_xy(shape, [x for x, _ in tried], [y for _, y in tried])
    found = [point for point, here in zip(tried, inside, strict=True) if here][:count]
    for part in shapely.get_parts(shape):
        ring = part.exterior
        found += [ring.interpolate(k / 40, normalized=True).coords[0] for k in range(40)]
    return found


def faults_of(job: Job, panel: rows.Panel, drawn: Sequence[Drawn], moves: Sequence[Move], seed: int) -> list[str]:
    """What the sheet is cut to at single points, where that is not what the job asks for."""
    heights = Heights([move for move in moves if move.g or move.low < 0], job.cutters)
    chance = random.Random(seed)
    thickness = panel.measured.thickness
    found = [fault for one in drawn if one.finish == "machine" for fault in _opened(job, one, drawn, heights, chance,
                                                                                      thickness)]  # fmt: skip
    for one in drawn:
        if one.finish != "machine":
            found += _only_marked(job, one, drawn, heights, thickness)
    return [*found, *_untouched(job, panel, drawn, heights, chance)]


def _deeper_inside(one: Drawn, drawn: Sequence[Drawn]) -> Any:
    """What lies in the floor of a blind opening."""
    grown = one.shape.buffer(0.005)
    inner = [two for two in drawn if two is not one and two.shape.area < one.shape.area and grown.covers(two.shape)]
    made = [two.mouth if two.finish == "machine" else Point(two.centre).buffer(3) for two in inner]
    marked = [two for two in drawn if two.finish != "machine" and two is not one]
    marks = [Point(point).buffer(MARK + OFF) for two in marked for point in two.shape.exterior.coords]
    return shapely.union_all([*made, *marks])


def _opened(
    job: Job, one: Drawn, drawn: Sequence[Drawn], heights: Heights, chance: random.Random, thickness: float
) -> list[str]:
    """An opening that is gone down to its floor, as far as cutters reach into its corners, and no deeper."""
    sure = one.shape.buffer(-OFF, 32).difference(one.left_in_corners.buffer(OFF))
    if one.kind == "KeyedHole" and one.diameter is not None:  # whether a key is milled or filed is a matter of cutters
        sure = sure.intersection(Point(one.centre).buffer(one.diameter / 2 - OFF, 32))
    if one.depth is not None:
        sure = sure.difference(_deeper_inside(one, drawn).buffer(OFF))
        points = points_in(sure, chance, 40)
        low = heights.at(points) if points else np.array([])
        high = [at for at, z in zip(points, low, strict=True) if z > -one.depth + 0.012]
        deep = [at for at, z in zip(points, low, strict=True) if z < -one.depth - 0.012 and one.diameter is None]
        through = [at for at, z in zip(points, low, strict=True) if z <= -thickness + 0.4]
        return [f"{one.feature} ({one.kind}): {what} at {bad[0]}" for what, bad in (
            ("floor too high", high), ("floor too deep", deep), ("cut through", through if one.depth < thickness - 0.5
                                                                  else []),
        ) if bad]  # fmt: skip
    if not is_large(one):
        points = points_in(sure, chance, 40)
        if not points:
            return []
        low = heights.at(points)
        bad = [at for at, z in zip(points, low, strict=True) if z > -thickness + 0.001]
        if bad and across(one) <= 24.9:
            return [f"{one.feature} ({one.kind}): not cut through at {bad[0]}"]
        return []
    faults = []
    rings = shapely.get_parts(sure) if not sure.is_empty else []
    for part in rings[:1]:
        ring = part.exterior
        count = max(8, round(ring.length / ALONG))
        points = [ring.interpolate(k / count, normalized=True).coords[0] for k in range(count)]
        low = heights.at(points)
        holds = low > -thickness + 0.001
        runs = int((holds & ~np.roll(holds, 1)).sum())
        if holds.all() or (one.tabs and runs == 1) or (not one.tabs and runs):
            faults.append(f"{one.feature} ({one.kind}): {runs} stretches of its wall hold, tabs are {one.tabs}")
    return faults


def _only_marked(job: Job, one: Drawn, drawn: Sequence[Drawn], heights: Heights, thickness: float) -> list[str]:
    """A pilot is open or marked at its middle; a round hole's mark is a mark and no hole."""
    if one.kind not in ("Hole", "DHole", "DoubleDHole", "KeyedHole", "Ring", "Grid", "HoleList"):
        return []
    middle = one.centre
    top = max((two.depth for two in drawn if two.depth is not None and two.finish == "machine"
               and two.shape.buffer(0.005).covers(Point(middle))), default=0.0)  # fmt: skip
    z = float(heights.at([middle])[0])
    if z > -top - 0.02:
        return [f"{one.feature}: neither pilot nor mark at {middle}"]
    if one.finish == "mark" and z < -top - 0.52:
        return [f"{one.feature}: its mark is {-z:.3f} deep"]
    return []


def _untouched(
    job: Job, panel: rows.Panel, drawn: Sequence[Drawn], heights: Heights, chance: random.Random
) -> list[str]:
    """Whatever is no opening, pilot, mark or lettering keeps its full height."""
    taken = []
    for one in drawn:
        if one.finish == "machine":
            grown = max(OFF, one.tolerance / 2 + OFF)
            taken.append(one.mouth.buffer(grown))
        elif one.finish == "pilot":
            taken.append(Point(one.centre).buffer(max(job.pilot_diameter / 2, MARK) + OFF))
            taken.append(one.shape.buffer(OFF) if one.shape.area < 7 else Point(one.centre).buffer(MARK + OFF))
        else:
            taken.append(_marks(one))
    for feature in panel.features:
        if isinstance(feature, rows.Legend) and feature.depth is not None:
            size = 12 * feature.height if isinstance(feature, rows.Text) else (
                2 * getattr(feature, "radius", 0.0) + 8 * feature.height + 10)  # fmt: skip
            taken.append(Point(feature.at).buffer(size))
    stays = outline_of(panel).buffer(-OFF).difference(shapely.union_all(taken))
    if stays.is_empty:
        return []
    points = points_in(stays, chance, 150)
    for part in shapely.get_parts(stays):
        for ring in part.interiors:
            points += [ring.interpolate(k / 40, normalized=True).coords[0] for k in range(40)]
    low = heights.at(points)
    if (low < -0.005).any():
        worst = int(low.argmin())
        return [f"cut {-low[worst]:.3f} deep at {points[worst]}, where nothing is to be cut"]
    return []


def _marks(one: Drawn) -> Any:
    """Where marks of an opening may stand: its middle, and about the corners of what has corners."""
    middle = Point(one.centre).buffer(MARK + OFF)
    if one.kind in ("Hole", "Ring", "Grid", "HoleList", "DHole", "DoubleDHole", "KeyedHole"):
        return middle
    return shapely.union_all([middle, one.shape.buffer(MARK + OFF)])


def missed(panel: rows.Panel, drawn: Sequence[Drawn]) -> list[str]:
    """Openings that overlap or lie beyond the edge, of a job that was not refused for it."""
    sheet = outline_of(panel)
    found = [f"{one.feature} lies beyond the edge" for one in drawn
             if one.mouth.difference(sheet.buffer(0.02, join_style="mitre")).area > 1e-3]  # fmt: skip
    tree = shapely.STRtree([one.mouth for one in drawn])
    for index, one in enumerate(drawn):
        for other in tree.query(one.mouth, predicate="intersects"):
            two = drawn[other]
            if other <= index or _lies_in(one, two) or _lies_in(two, one):
                continue
            if one.mouth.intersection(two.mouth).area > 0.05:
                found.append(f"{one.feature} and {two.feature} overlap")
    return found


def _lies_in(inner: Drawn, outer: Drawn) -> bool:
    if outer.depth is None:
        return False
    deeper = inner.finish != "machine" or inner.depth is None or inner.depth > outer.depth
    return deeper and bool(outer.shape.buffer(0.02).covers(inner.mouth))


Files = Mapping[str, bytes]

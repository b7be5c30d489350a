"""How far the programs' cuts, as the strict reader has them, lie from the plan's: samples, machines, units.

Run it by hand: ``python tests/benchmarks/deviation.py``. It prints the table that stands in DEVELOPERS.md: the worst
distance in micrometres of any point of any cut from the planned path, arcs and all. Takes a few minutes.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import postprocessors  # noqa: E402
from postprocessors.base import ProgramPost  # noqa: E402
from toolpaths import pipeline  # noqa: E402
from toolpaths.finding import has_errors  # noqa: E402
from toolpaths.fit.parts import parts  # noqa: E402
from toolpaths.job import Job  # noqa: E402
from toolpaths.job.load import read_job, size_names  # noqa: E402
from toolpaths.reread import read  # noqa: E402
from toolpaths.stroke import Point, Stroke  # noqa: E402
from toolpaths.tables import load  # noqa: E402
from toolpaths.tolerance import PIECE  # noqa: E402
from toolpaths.verify.walk import walk  # noqa: E402

SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Where along each cut its distance from the plan is measured."""

NEAR, WINDOW = 3, 30
"""So many planned cuts ahead are asked which of them a read cut belongs to; the further ones where no near one is."""

COLUMNS = {
    "mm, 3 decimals": {"units": "mm", "decimals": 3},
    "in, 4 decimals": {"units": "in", "decimals": 4},
    "mm, no arcs": {"units": "mm", "decimals": 3, "arcs": False},
    "in, no arcs": {"units": "in", "decimals": 4, "arcs": False},
}


def at(stroke: Stroke, share: float) -> Point:
    """The point of a stroke after a share of its length."""
    (sx, sy, sz), (ex, ey, ez) = stroke.start, stroke.end
    z = sz + (ez - sz) * share
    if stroke.centre is None:
        return sx + (ex - sx) * share, sy + (ey - sy) * share, z
    cx, cy = stroke.centre
    turn = stroke.sweep * share * (1 if stroke.ccw else -1)
    angle = math.atan2(sy - cy, sx - cx) + turn
    radius = stroke.radius + (math.dist(stroke.end[:2], stroke.centre) - stroke.radius) * share
    return cx + radius * math.cos(angle), cy + radius * math.sin(angle), z


def gap(point: Point, stroke: Stroke) -> float:
    """Distance of a point from a stroke: from a line exactly, from a helix at the turn that the point stands at."""
    if stroke.centre is None:
        way = [b - a for a, b in zip(stroke.start, stroke.end, strict=True)]
        long = sum(w * w for w in way)
        along = sum(w * (p - a) for w, p, a in zip(way, point, stroke.start, strict=True)) / long if long else 0.0
        return math.dist(point, at(stroke, min(max(along, 0.0), 1.0)))
    (cx, cy), (sx, sy, _) = stroke.centre, stroke.start
    turn = math.atan2(point[1] - cy, point[0] - cx) - math.atan2(sy - cy, sx - cx)
    share = ((turn if stroke.ccw else -turn) % (2 * math.pi)) / stroke.sweep
    return min(math.dist(point, at(stroke, s)) for s in (min(share, 1.0), 0.0, 1.0))


def worst(planned: Sequence[Stroke], found: Sequence[Stroke]) -> float:
    """The furthest that any of the cuts found lies from the planned cut that it belongs to, mm."""
    here, most = 0, 0.0
    for stroke in found:
        points = [at(stroke, share) for share in SHARES]
        distances: dict[int, float] = {}
        for ahead in (NEAR, WINDOW):  # passes repeat, so that one further on may fit as well
            for k in range(max(0, here - 1), min(len(planned), here + ahead)):
                distances[k] = max(gap(point, planned[k]) for point in points)
            if min(distances.values()) <= PIECE:
                break
        here = min(distances, key=lambda k: (distances[k], k))
        most = max(most, distances[here])
    return most


def deviation(job: Job) -> float | None:
    """The worst deviation of a job's programs, mm; None where the machine refuses it."""
    planned, findings = pipeline.plan(job)
    if has_errors(findings):
        return None
    post = postprocessors.find("gcode")
    assert isinstance(post, ProgramPost)
    most = 0.0
    for one in planned:
        for part in parts(one.program, job.machine.program) if one.program else ():
            cuts = [row.stroke for row in walk(part, job.machine) if row.stroke.kind == "cut"]
            reading = read(pipeline.written(post, part, job))
            most = max(most, worst(cuts, [stroke for stroke in reading.strokes if stroke.kind == "cut"]))
    return most


def rows() -> Iterator[list[str]]:
    """One row for each sample and machine, the worst over all sizes; without arcs, of the base alone: it is slow."""
    for path in sorted((ROOT / "sample_jobs").glob("*.toml")):
        for machine in (row.name for row in load.machines().values() if row.cuts):
            figures = []
            for dialect in COLUMNS.values():
                sizes = (None, *size_names(path)) if dialect.get("arcs", True) else (None,)
                found = [deviation(on(read_job(path, size=size, machine=machine), dialect)) for size in sizes]
                built = [figure for figure in found if figure is not None]
                figures.append(f"{1000 * max(built):.2f}" if built else "refused")
            yield [path.stem, machine, *figures]


def on(job: Job, dialect: dict[str, object]) -> Job:
    """The job on its machine with another dialect."""
    machine = job.machine
    return replace(job, machine=replace(machine, program=replace(machine.program, **dialect)))  # type: ignore[arg-type]


def main() -> None:
    """Prints the table row by row."""
    head = ["sample", "machine", *COLUMNS]
    print(f"| {' | '.join(head)} |\n|{'---|' * len(head)}", flush=True)
    for row in rows():
        print(f"| {' | '.join(row)} |", flush=True)


if __name__ == "__main__":
    main()

"""How far the programs' cuts, as the strict reader has them, lie from the plan's: samples, machines, units.

Run it by hand: ``python tests/benchmarks/deviation.py``. It prints the table that stands in DEVELOPERS.md: the worst
distance in micrometres of any point of any cut from the planned path, arcs and all. Besides the samples, in every size
and with every setup of what is divided, it has jobs that were made so that rounding could add up. It exits with 1 where
anything lies further off than the decimals of its column allow. It takes ten minutes of two cores.
"""

from __future__ import annotations

import math
import multiprocessing
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import ezdxf

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
from toolpaths.units import INCH  # noqa: E402
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


CHORDS = 0.004
"""mm; ``chord_tolerance`` of the built-in machines."""


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
            found = [stroke for stroke in reading.strokes if stroke.kind == "cut"]
            most = max(most, worst(cuts, found))
            if job.name == CHAINED and job.machine.program.arcs:
                most = max(most, off_the_chain(found))
    return most


# jobs that were made so that rounding could add up -------------------------------------------------------------------

CHAINED = "chained_sevenths"
LINKS = 40
LINK = Fraction(254, 70)
"""mm; a seventh of an inch, which neither unit can write."""


def chained() -> str:
    """Forty holes in inches, each placed by the one before it."""
    links = [f'link_{n} = "link_{n - 1} + 1/7"' for n in range(2, LINKS + 1)]
    holes = [
        f'[[panel.hole]]\nat = ["link_{n}", "0.3 + {n % 2}*1/7*3"]\ndiameter = 0.125' for n in range(1, LINKS + 1)
    ]
    return "\n".join([
        'format = 1', 'units = "in"', 'machine = "bench mill"', "[parameters]", 'link_1 = "1/7"', *links,
        *panel("aluminium", 0.0625, 6.5, 1), *holes,
    ])  # fmt: skip


def off_the_chain(cuts: Sequence[Stroke]) -> float:
    """How far the holes, drilled or bored, stand from where whole fractions of an inch put them, mm."""
    places = {stroke.end[:2] for stroke in cuts if stroke.centre is None and stroke.start[:2] == stroke.end[:2]}
    places |= {stroke.centre for stroke in cuts if stroke.centre is not None}
    exact = [(float(n * LINK), float(Fraction(762, 100) + n % 2 * 3 * LINK)) for n in range(1, LINKS + 1)]
    return max(min(math.dist(place, hole) for place in places) for hole in exact)


def panel(material: str, thickness: float, width: float, height: float) -> list[str]:
    """The head of a panel's table."""
    return [
        "[[panel]]", 'name = "face"', f'material = "{material}"', f"thickness = {thickness}", f"width = {width}",
        f"height = {height}",
    ]  # fmt: skip


def curves(folder: Path) -> str:
    """Two openings out of a drawing: a ring of 200 small arcs, and a closed spline that becomes arcs."""
    drawn = ezdxf.new(units=4)
    count, space = 200, drawn.modelspace()
    ring = [(12 * math.cos(k * math.tau / count), 12 * math.sin(k * math.tau / count)) for k in range(count)]
    space.add_lwpolyline([(x, y, 0.06) for x, y in ring], format="xyb", close=True)
    turns = [k * math.tau / 24 for k in range(24)]
    leaf = [(95 + (35 + 4 * (k % 2)) * math.cos(t), (35 + 4 * (k % 2)) * math.sin(t)) for k, t in enumerate(turns)]
    space.add_spline().set_closed([(x, y, 0.0) for x, y in leaf], degree=3)
    drawn.saveas(folder / "curves.dxf")
    return "\n".join([
        'format = 1', 'units = "mm"', 'machine = "bench mill"', *panel("aluminium", 1.5, 200, 110),
        "[[panel.drawing]]", 'file = "curves.dxf"', "at = [55, 55]",
    ])  # fmt: skip


def nested() -> str:
    """A rebate in a rebate in a rebate, in two shapes, each cleared and finished: offsets of offsets."""
    steps = []
    for x, turn in ((60, 0), (170, 31)):
        for k, depth in enumerate((3, 7, 12)):
            steps += [
                "[[panel.cutout]]", f"at = [{x}, 60.123]", f"width = {80 - 16.37 * k}", f"height = {64 - 13.91 * k}",
                f"corner_radius = {9.7 - 1.3 * k}", f"angle = {turn}", f"depth = {depth}",
            ]
    return "\n".join([
        'format = 1', 'units = "mm"', 'machine = "sheet router"', *panel("plywood", 18, 230, 120), *steps,
    ])  # fmt: skip


def bored() -> str:
    """Holes that are bored in many turns, and large ones that are cut in many passes, through thick sheet."""
    holes = [
        line for k, (diameter, depth) in enumerate(((9.37, 0), (12.71, 5.3), (23.11, 0), (31.7, 5.6)))
        for line in (
            "[[panel.hole]]", f"at = [{25.017 + 39.03 * k}, 40.009]", f"diameter = {diameter}",
            *([f"depth = {depth}"] if depth else []),
        )
    ]  # fmt: skip
    return "\n".join([
        'format = 1', 'units = "mm"', 'machine = "small router"', *panel("aluminium", 6, 190, 80), *holes,
    ])  # fmt: skip


def approached() -> str:
    """A hundred holes on thirds of a millimetre, each approached from one side against the backlash."""
    return "\n".join([
        'format = 1', 'units = "mm"', 'machine = "bench mill"', *panel("mild steel", 1.2, 140, 100),
        "[[panel.grid]]", 'at = ["70 + 1/3", "50 + 1/3"]', "columns = 10", "rows = 10", "diameter = 3.2",
        'pitch = ["10 + 1/3", "6 + 2/3"]',
    ])  # fmt: skip


def made(folder: Path) -> None:
    """Writes them as files."""
    texts = {
        CHAINED: chained(), "small_arcs_and_spline": curves(folder), "rebates_in_rebates": nested(),
        "bored_in_many_turns": bored(), "against_backlash": approached(),
    }  # fmt: skip
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text + "\n", encoding="utf-8")


# the table -----------------------------------------------------------------------------------------------------------


def row(task: tuple[Path, str]) -> tuple[list[str], list[float | None]]:
    """Of one job and machine the worst over all sizes, mm; without arcs, of the base alone: it is slow."""
    path, machine = task
    figures: list[float | None] = []
    for dialect in COLUMNS.values():
        sizes = (None, *size_names(path)) if dialect.get("arcs", True) else (None,)
        found = [deviation(on(read_job(path, size=size, machine=machine), dialect)) for size in sizes]
        figures.append(max((figure for figure in found if figure is not None), default=None))
    return [path.stem, machine], figures


def rows(folder: Path, only: str) -> Iterator[tuple[list[str], list[float | None]]]:
    """One row for each job whose name holds ``only``, and each cutting machine."""
    made(folder)
    paths = [*sorted((ROOT / "sample_jobs").glob("*.toml")), *sorted(folder.glob("*.toml"))]
    machines = [one.name for one in load.machines().values() if one.cuts]
    tasks = [(path, machine) for path in paths if only in path.stem for machine in machines]
    with multiprocessing.Pool(2) as pool:
        yield from pool.imap(row, tasks)


def allowed(dialect: dict[str, object]) -> float:
    """How far off anything may lie, mm, by its decimals and, without arcs, its chords.

    The end of a line is off by half a last place in each of three axes. An arc's middle is off by twice what its centre
    is, half a last place in each of two axes; and by a little more where a neighbour of the nearest centre is printed:
    two and a half last places in all.
    """
    place = 10.0 ** -int(str(dialect["decimals"])) * (INCH if dialect["units"] == "in" else 1.0)
    return 2.5 * place if dialect.get("arcs", True) else CHORDS + math.sqrt(0.75) * place


def on(job: Job, dialect: dict[str, object]) -> Job:
    """The job on its machine with another dialect."""
    machine = job.machine
    return replace(job, machine=replace(machine, program=replace(machine.program, **dialect)))  # type: ignore[arg-type]


def main() -> int:
    """Prints the table row by row; 1 where a figure is more than is allowed."""
    only = sys.argv[1] if len(sys.argv) > 1 else ""
    head = ["job", "machine", *COLUMNS]
    most = [0.0] * len(COLUMNS)
    print(f"| {' | '.join(head)} |\n|{'---|' * len(head)}", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        for names, figures in rows(Path(folder), only):
            told = ["refused" if figure is None else f"{1000 * figure:.2f}" for figure in figures]
            print(f"| {' | '.join([*names, *told])} |", flush=True)
            most = [max(high, figure or 0.0) for high, figure in zip(most, figures, strict=True)]
    limits = [allowed(dialect) for dialect in COLUMNS.values()]
    for name, values in (("**worst**", most), ("allowed", limits)):
        print(f"| {name} | | {' | '.join(f'{1000 * value:.2f}' for value in values)} |", flush=True)
    return int(any(high > limit for high, limit in zip(most, limits, strict=True)))


if __name__ == "__main__":
    sys.exit(main())

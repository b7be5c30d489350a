"""Vent panels of 1,000, 10,000 and 50,000 holes, drilled and bored: time per stage, memory, and how both grow.

Run it by hand: ``python tests/benchmarks/bench_vent.py`` (some minutes; ``--most 10000`` leaves the largest out). Each
line comes from processes of its own: one that goes from stage to stage, one that is ``holewright build`` for the
programs alone (proved, with sheet, schedule and playback), one with every paper, and one that is ``holewright
verify``. Seconds are those of the processor, user and system; a growth exponent is that between two rows, with what
the imports alone take subtracted. It ends with 1 where 10,000 holes are not built and verified within the aims. It is
no test of the suite, since a busy machine would make it lie.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

COUNTS = (1_000, 10_000, 50_000)
COLUMNS = {1_000: 40, 10_000: 125, 50_000: 250}
KINDS = {"drilled": (3.0, 6.0), "bored": (8.25, 12.0)}
"""Diameter and pitch, mm: a size that a drill has, and one that none has."""

AIM_SECONDS, AIM_MB, AIM_EXPONENT, AIM_COUNT = 8.0, 500.0, 1.15, 10_000
EDGE = 30.0

MACHINE = """
format = 1
name = "sheet router"
travel = { x = 4000, y = 3000, z = 100 }
"""
"""A built-in machine that reaches farther: a file of its name needs only what differs."""

JOB = """
format = 1
title = "vent of {count} holes"
units = "mm"
machine = "wide.toml"
[[panel]]
name = "vent"
material = "aluminium"
thickness = 1.5
width = {width}
height = {height}
clamps = [{{ x = -12, y = -12, width = 20 }}, {{ x = {far_x}, y = {far_y}, width = 20 }}]
[[panel.grid]]
at = [{middle_x}, {middle_y}]
diameter = {diameter}
columns = {columns}
rows = {rows}
pitch = [{pitch}, {pitch}]
"""

Found = TypeVar("Found")


def written_job(folder: Path, count: int, kind: str) -> Path:
    """A panel with a grid of so many holes, on a machine that reaches over all of it."""
    diameter, pitch = KINDS[kind]
    columns = COLUMNS[count]
    rows = count // columns
    width, height = columns * pitch + 2 * EDGE, rows * pitch + 2 * EDGE
    (folder / "wide.toml").write_text(MACHINE, encoding="utf-8")
    text = JOB.format(
        count=count, width=width, height=height, far_x=width - 8, far_y=height - 8, middle_x=width / 2,
        middle_y=height / 2, diameter=diameter, columns=columns, rows=rows, pitch=pitch,
    )  # fmt: skip
    path = folder / "vent.toml"
    path.write_text(text, encoding="utf-8")
    return path


# in a process of its own ---------------------------------------------------------------------------------------------


def stages(path: Path) -> dict[str, float]:
    """Seconds of each stage on the way from the job file to the proof, in this process."""
    import gc

    import postprocessors
    from postprocessors.base import ProgramPost
    from toolpaths import cli, pipeline
    from toolpaths.job.load import read_job
    from toolpaths.plan.air_pass import air_pass
    from toolpaths.reread import read
    from toolpaths.simulation.replay import timed
    from toolpaths.verify.air import judge_air_pass
    from toolpaths.verify.compare import compare
    from toolpaths.verify.judge import judge

    gc.set_threshold(*cli.COLLECTED_AFTER)  # as the command does
    took: dict[str, float] = {}

    def stage(name: str, work: Callable[[], Found]) -> Found:
        begin = time.process_time()
        found = work()
        took[name] = took.get(name, 0.0) + time.process_time() - begin
        return found

    job = stage("load", lambda: read_job(path))
    (one,), _ = stage("plan", lambda: pipeline.plan(job))
    post = postprocessors.find("gcode")
    assert isinstance(post, ProgramPost) and one.program is not None
    program, panel, material = one.program, one.panel, job.materials[one.panel.material]
    text = stage("write", lambda: pipeline.written(post, program, job))
    reading = stage("read", lambda: read(text))
    faults = [*stage("compare", lambda: compare(reading, program, job.machine))]
    faults += stage("judge", lambda: judge([reading], panel, job.machine, job.cutters, material))
    stage("time", lambda: timed(panel, [program], ["vent.nc"], [reading], job.machine))
    dry = stage("air pass", lambda: air_pass(program, panel, job.machine))
    aired = stage("air pass", lambda: read(pipeline.written(post, dry, job)))
    faults += stage(
        "air pass", lambda: judge_air_pass([aired], panel, job.machine, job.cutters, material)
    )
    assert not [fault for fault in faults if fault.severity == "error"], faults[:3]
    return took


def child(path: Path) -> None:
    took = stages(path)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({"stages": took, "mb": peak}))


# the table -----------------------------------------------------------------------------------------------------------


def run(arguments: list[str], folder: Path) -> tuple[float, float, str]:
    """Processor seconds and peak MB of a process, and what it printed; raises where it fails."""
    output = folder / "output"
    with output.open("wb") as stream:
        process = subprocess.Popen(arguments, stdout=stream, stderr=subprocess.STDOUT, cwd=ROOT)
        _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    said = output.read_text(encoding="utf-8")
    if process.returncode != 0:
        raise RuntimeError(f"{' '.join(arguments)}: status {process.returncode}: {said[-500:]}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said


COMMAND = [sys.executable, "-c", "from toolpaths.cli import main; main()"]


def measured(count: int, kind: str) -> dict[str, float]:
    """One row: seconds of every stage and command, and the peaks."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        job, programs, papers = written_job(folder, count, kind), folder / "programs", folder / "papers"
        _, mb, said = run([sys.executable, __file__, "--child", str(job)], folder)
        row: dict[str, float] = json.loads(said)["stages"] | {"stages MB": mb}
        build = [*COMMAND, "build", str(job), "-o"]
        row["build"], row["build MB"], _ = run([*build, str(programs), "--post", "gcode"], folder)
        row["verify"], row["verify MB"], _ = run([*COMMAND, "verify", str(job), str(programs / "vent.nc")], folder)
        row["papers"], row["papers MB"], _ = run([*build, str(papers)], folder)
        return row


def bare_imports() -> float:
    """Seconds that the modules of a build take to load, whatever they then do."""
    with tempfile.TemporaryDirectory() as name:
        line = "import toolpaths.cli, toolpaths.pipeline, toolpaths.job.load"
        return min(run([sys.executable, "-c", line], Path(name))[0] for _ in range(3))


def exponent(before: float, after: float, n: int, m: int, imports: float = 0.0) -> float:
    """x of time ~ n**x between two measured times, both less what the imports take."""
    return math.log(max(after - imports, 1e-6) / max(before - imports, 1e-6)) / math.log(m / n)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--most", type=int, default=COUNTS[-1], help="the largest number of holes")
    parser.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.child is not None:
        child(asked.child)
        return 0
    imports = bare_imports()
    counts = [count for count in COUNTS if count <= asked.most]
    names = ["load", "plan", "write", "read", "compare", "judge", "time", "air pass"]
    heads = [*names, "build", "build MB", "verify", "verify MB", "papers", "papers MB", "exponent"]
    print(f"the imports alone take {imports:.2f} s; seconds of the processor", flush=True)
    print(f"| holes | {' | '.join(heads)} |\n|---|{'---:|' * len(heads)}", flush=True)
    good = True
    for kind in KINDS:
        before: tuple[int, dict[str, float]] | None = None
        for count in counts:
            row = measured(count, kind)
            grown = ""
            if before is not None:
                last, old = before
                x = exponent(old["build"] + old["verify"], row["build"] + row["verify"], last, count, 2 * imports)
                y = exponent(old["papers"], row["papers"], last, count, imports)
                grown = f"{x:.2f}, papers {y:.2f}"
                good = good and x <= AIM_EXPONENT
            if count == AIM_COUNT:
                good = good and row["build"] <= AIM_SECONDS and row["build MB"] <= AIM_MB
            figures = [f"{row[name]:.0f}" if name.endswith("MB") else f"{row[name]:.2f}" for name in heads[:-1]]
            print(f"| {count:,} {kind} | {' | '.join([*figures, grown])} |", flush=True)
            before = count, row
    print(
        f"aims: {AIM_COUNT:,} holes built, and so proved, within {AIM_SECONDS:g} s and {AIM_MB:g} MB, "
        f"exponent at most {AIM_EXPONENT}: {'met' if good else 'NOT met'}"
    )
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())

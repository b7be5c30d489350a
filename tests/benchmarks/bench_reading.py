"""How many lines a second of processor time the strict reader turns into strokes, beside pygcode in the same run.

Run it by hand: ``python tests/benchmarks/bench_reading.py``. The text is the headphone amplifier's top plate for a
controller without arcs: some ten thousand lines, most of them short cuts. pygcode (a general library, for tests alone)
reads the first thousand lines and moves its machine block by block. It is no test of the suite, since a busy machine
would make it lie.
"""

from __future__ import annotations

import dataclasses
import sys
import time
from pathlib import Path

import pygcode

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import postprocessors
from postprocessors.base import ProgramPost
from toolpaths import pipeline
from toolpaths.job.load import read_job
from toolpaths.reread import read

SAMPLE = Path(__file__).resolve().parents[2] / "sample_jobs" / "headphone_amplifier.toml"
FOR_PYGCODE = 1000
"""Lines that pygcode is given: it takes some milliseconds for each."""


def program() -> str:
    """The text of a long program, on a machine without arcs."""
    job = read_job(SAMPLE)
    job = dataclasses.replace(
        job, machine=dataclasses.replace(job.machine, program=dataclasses.replace(job.machine.program, arcs=False))
    )
    planned, _ = pipeline.plan(job)
    post = postprocessors.find("gcode")
    assert isinstance(post, ProgramPost)
    (top,) = [one.program for one in planned if one.panel.name == "top" and one.program is not None]
    return pipeline.written(post, top, job)


def main() -> int:
    text = program()
    lines = text.splitlines()
    best = min(_seconds(lambda: read(text)) for _ in range(3))
    ours = len(lines) / best
    head = lines[: min(FOR_PYGCODE, len(lines))]
    theirs = len(head) / _seconds(lambda: _by_pygcode(head))
    print(f"{len(lines)} lines: {ours:,.0f} lines/s; pygcode {theirs:,.0f} lines/s; {ours / theirs:.1f} times as many")
    return 0


def _seconds(work) -> float:  # type: ignore[no-untyped-def]
    begin = time.process_time()
    work()
    return time.process_time() - begin


def _by_pygcode(lines: list[str]) -> None:
    machine = pygcode.Machine()
    for line in lines:
        machine.process_block(pygcode.Line(line).block)


if __name__ == "__main__":
    sys.exit(main())

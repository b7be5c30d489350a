"""How many lines a second of processor time the strict reader turns into strokes, beside pygcode in the same run.

Run it by hand: ``python tests/benchmarks/bench_reading.py``. Three long programs: the headphone amplifier's top plate
for a controller without arcs, nearly all short straight cuts; a field of bored holes, nearly all arcs; a field drilled
by canned cycles, with a comment and some moves for each. pygcode (a general library, for tests alone) reads the first
thousand lines of each and moves its machine block by block. Memory is what the reader takes beside the text at most,
and what it leaves: the strokes. Each figure of time is the best of some runs. It is no test of the suite, since a busy
machine would make it lie; it exits with 1 where an aim is missed.
"""

from __future__ import annotations

import dataclasses
import os
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pygcode

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import postprocessors
from postprocessors.base import ProgramPost
from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.reread import read

SAMPLE = Path(__file__).resolve().parents[2] / "sample_jobs" / "headphone_amplifier.toml"
LINES, TIMES, MEGABYTES = 150_000, 5, 60
"""What is aimed at: lines a second, how many times pygcode's, and at most so many MB for 100,000 lines."""

FOR_PYGCODE = 1000
"""Lines that pygcode is given: it takes a tenth of a millisecond for each."""
RUNS = 5

FIELD = """
format = 1
units = "mm"
machine = "sheet router"
[[panel]]
name = "field"
material = "aluminium"
thickness = 2
width = 620
height = 420
[[panel.grid]]
at = [310, 210]
columns = 40
rows = 26
pitch = 15
diameter = {diameter}
"""


def short_cuts() -> str:
    """A program of short straight cuts, as chords of arcs."""
    return _text(read_job(SAMPLE), "top", arcs=False)


def bored_holes() -> str:
    """A program of 1,040 holes, each bored in helices."""
    return _text(_field(7.3), "field")


def canned_cycles() -> str:
    """A program of 1,040 holes, each spotted and drilled by a cycle."""
    return _text(_field(3.0), "field", canned_cycles=True)


def _field(diameter: float) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "field.toml"
        path.write_text(FIELD.format(diameter=diameter), encoding="utf-8")
        return read_job(path)


def _text(job: Job, panel: str, **dialect: bool) -> str:
    program = dataclasses.replace(job.machine.program, **dialect)  # type: ignore[arg-type]
    job = dataclasses.replace(job, machine=dataclasses.replace(job.machine, program=program))
    planned, _ = pipeline.plan(job)
    post = postprocessors.find("gcode")
    assert isinstance(post, ProgramPost)
    (one,) = [one.program for one in planned if one.panel.name == panel and one.program is not None]
    return pipeline.written(post, one, job)


def main() -> int:
    missed = False
    for write in (short_cuts, bored_holes, canned_cycles):
        text = write()
        lines = text.splitlines()
        strokes = len(read(text).strokes)
        seconds = min(_seconds(lambda text=text: read(text)) for _ in range(RUNS))
        ours = len(lines) / seconds
        head = lines[:FOR_PYGCODE]
        theirs = len(head) / min(_seconds(lambda head=head: _by_pygcode(head)) for _ in range(RUNS))
        kept, peak = (100_000 * one / len(lines) / 1e6 for one in _memory(text))
        missed |= ours < LINES or ours < TIMES * theirs or peak > MEGABYTES
        print(f"{write.__name__.replace('_', ' ')}: {len(lines)} lines, {strokes} strokes")
        print(f"  {ours:,.0f} lines/s (aim: {LINES:,})")
        print(f"  {ours / theirs:.1f} times pygcode's {theirs:,.0f} lines/s (aim: {TIMES})")
        print(f"  {peak:.0f} MB for 100,000 lines at most, {kept:.0f} MB left (aim: {MEGABYTES})")
    print(f"beside other work: {os.getloadavg()[0]:.1f} running, {os.cpu_count()} cores")
    return int(missed)


def _seconds(work: Callable[[], object]) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def _memory(text: str) -> tuple[int, int]:
    """Bytes that a reading keeps, and that making it takes at most."""
    tracemalloc.start()
    reading = read(text)
    found = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert reading.strokes
    return found


def _by_pygcode(lines: list[str]) -> None:
    machine = pygcode.Machine()
    for line in lines:
        machine.process_block(pygcode.Line(line).block)


if __name__ == "__main__":
    sys.exit(main())

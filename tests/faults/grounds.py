"""The good programs in which faults are planted: those of every sample on every cutting machine, found, not listed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from tests.faults.harm import Rule
from tests.faults.plant import Ground, Programs
from toolpaths import pipeline
from toolpaths.errors import RereadError, ToolpathError
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.reread import read
from toolpaths.tables.load import machines
from toolpaths.verify.judge import judge

SAMPLES = Path(__file__).parent.parent.parent / "sample_jobs"

LONGEST = 4000
"""Lines; a longer program takes the time of ten others."""

OTHER_CONTROLLERS: dict[str, tuple[str, dict[str, Any]]] = {
    "inches and cycles, a program a cutter": (
        "bench mill",
        {"units": "in", "decimals": 4, "canned_cycles": True, "change": "one program per cutter", "comments": ";"},
    ),
    "chords, milliseconds, numbers": (
        "sheet router",
        {
            "arcs": False, "helical_arcs": False, "dwell": "milliseconds", "percent_lines": True, "line_numbers": True,
            "comments": "none", "chord_tolerance": 0.004,
        },
    ),
}  # fmt: skip
"""Name -> a built-in machine and what its controller does otherwise: what no built-in machine's does."""


def cutting_machines() -> list[str]:
    """Names of the built-in machines that turn a spindle, and of those with another controller."""
    return [name for name, machine in machines().items() if machine.cuts] + list(OTHER_CONTROLLERS)


def grounds_of(path: Path, machine: str) -> list[Ground]:
    """One ground for every panel that this machine makes; a panel that it refuses has none."""
    built_in, otherwise = OTHER_CONTROLLERS.get(machine, (machine, {}))
    try:
        job = read_job(path, machine=built_in)
    except ToolpathError:
        return []
    job = replace(job, machine=replace(job.machine, program=replace(job.machine.program, **otherwise)))
    found = []
    for name in [panel.name for panel in job.panels]:
        try:
            made = pipeline.make(job, posts=["gcode"], panels=[name])
        except ToolpathError:
            continue
        found += _grounds(job, made, f"{path.stem}, {machine}")
    for ground in found:
        ground.strangers = [lines for other in found if other is not ground for lines in other.programs]
    return found


def _grounds(job: Job, made: pipeline.Made, where: str) -> Iterator[Ground]:
    for panel in made.layout.panels:
        setups: dict[int, list[tuple[int, list[str]]]] = {}
        for file in made.files:
            facts = file.facts
            if facts.get("kind") == "program" and facts.get("panel") == panel.name:
                lines = file.content.decode("ascii").replace("\r\n", "\n").split("\n")
                setups.setdefault(int(str(facts.get("setup", 1))), []).append((int(str(facts.get("order", 1))), lines))
        for number, programs in setups.items():
            ordered = [lines for _, lines in sorted(programs, key=lambda pair: pair[0])]
            if any(line for lines in ordered for line in lines):
                yield Ground(f"{where}, {panel.name} {number}", Rule(job, panel, ordered), ordered)


def all_grounds() -> Iterator[Ground]:
    """Of every sample's base on every cutting machine; the longest programs, all of chords, are left out."""
    for path in sorted(SAMPLES.glob("*.toml")):
        for machine in cutting_machines():
            for ground in grounds_of(path, machine):
                if sum(map(len, ground.programs)) <= LONGEST:
                    yield ground


def verified(ground: Ground, programs: Programs) -> tuple[Finding, ...]:
    """What ``holewright verify`` says of these programs; the panel is laid out only once."""
    rule, readings = ground.rule, []
    for lines in programs:
        try:
            readings.append(read("\n".join(lines)))
        except RereadError as error:
            return (Finding("error", "unreadable", rule.panel.name, "", str(error), error.line),)
    job = rule.job
    return judge(readings, rule.panel, job.machine, job.cutters, job.materials[rule.panel.material])

"""The good programs in which faults are planted: those of every sample on every cutting machine, found, not listed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

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


def cutting_machines() -> list[str]:
    """Names of the built-in machines that turn a spindle."""
    return [name for name, machine in machines().items() if machine.max_rpm > 0]


def grounds_of(path: Path, machine: str) -> list[Ground]:
    """One ground for every panel that this machine makes; a panel that it refuses has none."""
    try:
        job = read_job(path, machine=machine)
    except ToolpathError:
        return []
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
    """Of every sample's base on every cutting machine, in order of their names."""
    for path in sorted(SAMPLES.glob("*.toml")):
        for machine in cutting_machines():
            yield from grounds_of(path, machine)


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

"""The good programs in which faults are planted: those of every sample on every cutting machine, found, not listed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from tests.faults.harm import Rule, Together
from tests.faults.plant import Ground, Programs
from toolpaths import pipeline
from toolpaths.division.board import board_panels
from toolpaths.errors import RereadError, ToolpathError
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.layout.build import DIALLED
from toolpaths.layout.panel import Panel
from toolpaths.reread import read
from toolpaths.tables.load import machines
from toolpaths.verify.judge import judge

SAMPLES = Path(__file__).parent.parent.parent / "sample_jobs"

CONTRACT = SAMPLES.parent / "tests" / "contract_job.toml"

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


def grounds_of(path: Path, machine: str, size: str | None = None) -> list[Ground]:
    """One ground for every panel that this machine makes, one for each setup of a divided one and one for all of them
    together; a panel that it refuses has none."""
    built_in, otherwise = OTHER_CONTROLLERS.get(machine, (machine, {}))
    try:
        job = read_job(path, machine=built_in, size=size)
    except ToolpathError:
        return []
    job = replace(job, machine=replace(job.machine, program=replace(job.machine.program, **otherwise)))
    found: list[Ground] = []
    called = path.stem if size is None else f"{path.stem} {size}"
    for name in [panel.name for panel in job.panels]:
        try:
            made = pipeline.make(job, posts=["gcode"], panels=[name])
        except ToolpathError:
            continue
        found += _grounds(job, made, name, f"{called}, {machine}, {name}")
    for ground in found:
        ground.strangers = [lines for other in found if other is not ground for lines in other.programs]
    return found


def _grounds(job: Job, made: pipeline.Made, name: str, where: str) -> Iterator[Ground]:
    files = [file for file in made.files if file.facts.get("panel") == name]
    setups: dict[int, list[tuple[int, list[str]]]] = {}
    for file in files:
        if file.facts["kind"] in ("program", "pin holes"):
            lines = file.content.decode("ascii").replace("\r\n", "\n").split("\n")
            setup = int(str(file.facts.get("setup", 0)))
            setups.setdefault(setup, []).append((int(str(file.facts.get("order", 1))), lines))
    if not setups:
        return
    planned = [one for one in pipeline.plan(job, panels=[name])[0] if one.program is not None]
    panels: dict[int, Panel] = {one.panel.stage.number if one.panel.stage else 1: one.panel for one in planned}
    if planned[0].divided is not None:
        panels[0] = next(board_panels(planned[0].divided, job.machine, DIALLED[job.machine.program.units]))[1]
    rules: list[tuple[Rule, list[list[str]], int]] = []
    for number, programs in sorted(setups.items(), key=lambda pair: pair[0] or 99):
        ordered = [lines for _, lines in sorted(programs, key=lambda pair: pair[0])]
        rules.append((Rule(job, panels[number], ordered), ordered, number))
    for rule, ordered, number in rules:
        if number:
            yield Ground(f"{where} {number}", rule, ordered)
    if len(rules) < 2:
        return
    together = [lines for _, ordered, _ in rules for lines in ordered]
    parts, place = [], 0
    for rule, ordered, _ in rules:
        parts.append((rule, tuple(range(place, place + len(ordered)))))
        place += len(ordered)
    setups_of = tuple(number for _, ordered, number in rules for _ in ordered)
    rule = Together(job, planned[0].whole, together, parts=parts)
    yield Ground(f"{where} together", rule, together, setups=setups_of)


def all_grounds(only: str = "") -> Iterator[Ground]:
    """Of every sample on every cutting machine, in its base or, where that is refused, in the first size that is not;
    and of the job of the contract, whose rear is divided on the smallest. The longest programs, all of chords, are left
    out. ``only``: those whose name holds it; one that begins with a job and a machine makes no others."""
    found = []
    called, _, rest = only.partition(", ")
    for path in [*sorted(SAMPLES.glob("*.toml")), CONTRACT]:
        sizes = (None, *_sizes(path))
        if rest and not called.startswith(path.stem):
            continue
        for machine in cutting_machines():
            if rest and not rest.startswith(machine):
                continue
            found += next((made for size in sizes if (made := grounds_of(path, machine, size))), [])
    pins = {ground.name: lines for ground in found if 0 in ground.setups
            for lines in [ground.programs[ground.setups.index(0)]]}  # fmt: skip
    for ground in found:
        ground.other_pins = [lines for name, lines in pins.items() if name != ground.name]
        if sum(map(len, ground.programs)) <= LONGEST and only in ground.name:
            yield ground


def _sizes(path: Path) -> tuple[str, ...]:
    return read_job(path).sizes


def verified(ground: Ground, programs: Programs) -> tuple[Finding, ...]:
    """What ``holewright verify`` says of these programs; the panel is laid out only once."""
    rule, readings = ground.rule, []
    if ground.setups:
        all_given = zip(ground.setups, programs, strict=True)
        given = [(setup, f"setup{setup}.nc", "\n".join(lines)) for setup, lines in all_given if lines]
        return pipeline.verify_setups(rule.job, rule.panel.name, given)
    for lines in programs:
        try:
            readings.append(read("\n".join(lines)))
        except RereadError as error:
            return (Finding("error", "unreadable", rule.panel.name, "", str(error), error.line),)
    job = rule.job
    return judge(readings, rule.panel, job.machine, job.cutters, job.materials[rule.panel.material])

"""The five functions of ``toolpaths`` as a library: load, plan, emit, verify, simulate.

None of them prints, writes a file or touches logging. What is wrong with a job's sense comes back as findings; what
cannot be read is raised as ``errors.BadInput``, which holds every problem, an unknown name as ``errors.UnknownName``.

The job that ``holewright new`` writes, from its file to the page that plays it:

>>> from importlib.resources import files
>>> from toolpaths import load, plan, emit, verify, simulate
>>> job = load(files("toolpaths.job") / "starter.toml", settings={"margin": "14 mm"})
>>> [(panel.name, panel.material, panel.thickness) for panel in job.panels]
[('rear', 'aluminium', 2.0)]
>>> [operation.tags for operation in plan(job).programs["rear"].setup.operations][:3]
[('A1',), ('A3',), ('A5',)]
>>> made = emit(job, posts=["gcode"])
>>> [file.path for file in made.files if file.facts["kind"] == "program"]
['rear.nc']
>>> program = made.files[0].content.decode()
>>> [finding.code for finding in verify(job, {"rear.nc": program}) if finding.severity == "error"]
[]
>>> spoilt = program.replace("M3", "M5", 1)
>>> any(finding.severity == "error" for finding in verify(job, {"rear.nc": spoilt}))
True
>>> run = simulate(job)
>>> [setup.panel.name for setup in run.setups], run.seconds > 60, run.page()[:15]
(['rear'], True, '<!DOCTYPE html>')
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from toolpaths import pipeline
from toolpaths.errors import UnknownName
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.motion import Program
from toolpaths.output import panel_of
from toolpaths.pipeline import Made
from toolpaths.simulation.replay import Timed


@dataclass(frozen=True, slots=True)
class Plan:
    """Every panel's neutral program by the panel's name, as far as there is one, and what was found on the way."""

    programs: dict[str, Program]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Simulation:
    """The setups of a job in order, each with its time line; none where an error finding stands in the way."""

    made: Made

    @property
    def setups(self) -> tuple[Timed, ...]:
        """Each setup with its programs, their strokes as read from the text, and when each is made."""
        return self.made.timed

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those of layout, plan and proof."""
        return self.made.findings

    @property
    def seconds(self) -> float:
        """How long all setups take together, an estimate."""
        return sum(one.line.seconds for one in self.setups)

    def page(self) -> str:
        """The page that plays every setup: one HTML text, no network."""
        return pipeline.playback(self.made.job, self.made.layout, self.setups, self.findings)


def load(
    path: str | os.PathLike[str],
    *,
    size: str | None = None,
    settings: Mapping[str, str] | None = None,
    machine: str | None = None,
    cutters: str | Path | None = None,
    printer: str | None = None,
) -> Job:
    """The job of a file in one size (None: the base), with its machine and tables, in mm and rad.

    ``settings`` are parameter and text, as of ``--set``; ``machine`` and ``printer`` are a name or a file each,
    ``cutters`` is a file.

    Raises:
        BadInput: every problem of the job and its tables.
        UnknownName: ``machine`` or ``printer`` names none.
    """
    table = None if cutters is None else Path(cutters)
    given = tuple((settings or {}).items())
    return read_job(Path(path), size=size, settings=given, machine=machine, cutters=table, printer=printer)


def plan(job: Job, *, panels: Sequence[str] = ()) -> Plan:
    """The programs of all panels or of those named, and every finding of layout and plan; no text is made.

    Raises UnknownName for a panel that is not there.
    """
    planned, findings = pipeline.plan(job, panels=panels)
    return Plan({one.panel.name: one.program for one in planned if one.program is not None}, findings)


def emit(
    job: Job, *, posts: Sequence[str] = (), panels: Sequence[str] = (), paper: str = "", marks: bool = False
) -> Made:
    """All that a build leaves, as bytes, every program among it proved; nothing is written.

    ``files`` is empty where one of the ``findings`` is an error. ``posts`` are names of post-processors (none: those of
    a usual build), ``paper`` is what is printed and plotted on, ``marks`` asks for drawings of the marks alone.

    Raises:
        UnknownName: a panel, a post-processor or a paper that is not there.
        BrokenPost: a post-processor of another distribution fails.
    """
    return pipeline.make(job, posts=posts, panels=panels, paper=paper, marks=marks)


def verify(job: Job, programs: Mapping[str, str], *, panel: str = "") -> tuple[Finding, ...]:
    """What is wrong with the programs of one setup, text by file name, in the order in which they run.

    The panel is the one called ``panel``, else the one that the first name names, else the job's only one.

    Raises UnknownName where that says no panel, BadInput where the job's machine runs no such program.
    """
    names = [one.name for one in job.panels]
    known = (*names, *pipeline.panel_names(job))  # those of fit strips come last
    found = panel or next((named for name in programs if (named := panel_of(name, known))), "")
    if not found and len(names) > 1:
        raise UnknownName(f"{', '.join(programs)}: names no panel of the job; say which: {', '.join(names)}")
    return pipeline.verify_texts(job, found or names[0], tuple(programs.items()))


def simulate(job: Job, *, panels: Sequence[str] = ()) -> Simulation:
    """The order of work of all panels or of those named, with its times and its page; programs are proved as by emit.

    Raises UnknownName for a panel that is not there.
    """
    return Simulation(pipeline.make(job, posts=["gcode"], panels=panels))

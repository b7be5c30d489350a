"""What several rooms' tests share: a job read from text typed in the test; and where the tests' time goes."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NoReturn

import pytest

from toolpaths.job import Job
from toolpaths.job.load import read_job

BROWSER, PAGES = "HOLEWRIGHT_BROWSER", "HOLEWRIGHT_PDFTOPPM"
"""What says that the browser, and the tool that draws pages, are required."""


def do_without(gone: str, required_by: str = BROWSER) -> NoReturn:
    """Ends a test for want of a program: a failure where that is required, else a skip with its reason."""
    if os.environ.get("CI") or os.environ.get(required_by) == "required":
        pytest.fail(gone)
    pytest.skip(gone)


SAMPLES = Path(__file__).parent.parent / "sample_jobs"


@pytest.fixture
def job_of(tmp_path: Path) -> Callable[..., Job]:
    """Reads a job from text; options are those of ``read_job``."""

    def read(text: str, **options: object) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path, **options)

    return read


# where the time goes -------------------------------------------------------------------------------------------------

BEGUN = pytest.StashKey[float]()
TAKEN: dict[str, float] = {}
"""Seconds of the processor that each test took, by its name: its fixtures and the programs that it started are in it,
and what else the machine did is not."""

WORTH_TELLING = 60.0
"""s; of a few tests nobody asks where their time went."""


def processor_seconds() -> float:
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    item.stash[BEGUN] = processor_seconds()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """What a test took goes with its last report, and so to the process that prints, whichever has run the test."""
    report = yield
    if call.when == "teardown" and BEGUN in item.stash:
        report.processor_seconds = processor_seconds() - item.stash[BEGUN]
    return report


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    TAKEN[report.nodeid] = TAKEN.get(report.nodeid, 0.0) + getattr(report, "processor_seconds", 0.0)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Minutes by room, and the slowest tests."""
    total = sum(TAKEN.values())
    if total < WORTH_TELLING:
        return
    rooms: defaultdict[str, list[float]] = defaultdict(list)
    for name, seconds in TAKEN.items():
        file = name.partition("::")[0]
        rooms["/".join(file.split("/")[:2])].append(seconds)
    terminalreporter.section("minutes of the processor")
    for room, each in sorted(rooms.items(), key=lambda found: -sum(found[1])):
        if sum(each) >= total / 100:
            terminalreporter.write_line(f"{sum(each) / 60:6.2f}  {room} ({len(each)})")
    terminalreporter.write_line(f"{total / 60:6.2f}  in all ({len(TAKEN)}); the slowest, s:")
    for name, seconds in sorted(TAKEN.items(), key=lambda found: -found[1])[:15]:
        terminalreporter.write_line(f"{seconds:6.1f}  {name}")

"""What several rooms' tests share: a job read from text typed in the test."""

from __future__ import annotations

import os
from collections.abc import Callable
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

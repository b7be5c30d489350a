"""What several rooms' tests share: a job read from text typed in the test."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from toolpaths.job import Job
from toolpaths.job.load import read_job

SAMPLES = Path(__file__).parent.parent / "sample_jobs"


@pytest.fixture
def job_of(tmp_path: Path) -> Callable[..., Job]:
    """Reads a job from text; options are those of ``read_job``."""

    def read(text: str, **options: object) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path, **options)

    return read

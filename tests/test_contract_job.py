"""The job that the format's contract shows: it builds as it stands, in each of its sizes."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job.load import read_job

JOB = Path(__file__).parent / "contract_job.toml"
SIZES = (None, "small", "large")


@pytest.mark.parametrize("size", SIZES)
def test_it_builds_in_every_size(size: str | None) -> None:
    """On a machine that reaches over it every size is built without an error or a warning, its programs proved."""
    made = pipeline.make(read_job(JOB, size=size, machine="sheet router"))
    assert {finding.severity for finding in made.findings} <= {"note"}
    assert "rear.nc" in {file.path for file in made.files}


@pytest.mark.parametrize("size", SIZES)
def test_its_own_machine_is_refused_only_for_its_travel(size: str | None) -> None:
    """The small router, which the job names, reaches over 300 mm: the two wider panels are refused for that alone,
    the small one is built."""
    made = pipeline.make(read_job(JOB, size=size))
    errors = {finding.code for finding in made.findings if finding.severity == "error"}
    assert errors == (set() if size == "small" else {"beyond-travel"})
    assert bool(made.files) == (size == "small")

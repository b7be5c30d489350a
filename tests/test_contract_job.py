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


@pytest.mark.parametrize("size, setups", [(None, 2), ("small", 1), ("large", 3)])
def test_its_own_machine_divides_what_is_longer_than_it_travels(size: str | None, setups: int) -> None:
    """The small router, which the job names, reaches over 300 mm: the two wider panels are divided, every setup is
    proved, and verified again from the texts alone they are one piece."""
    job = read_job(JOB, size=size)
    made = pipeline.make(job)
    assert {finding.severity for finding in made.findings} <= {"note"}
    programs = [file for file in made.files if file.facts["kind"] == "program"]
    names = ["rear.nc"] if setups == 1 else [f"rear.setup{number}.nc" for number in range(1, setups + 1)]
    assert [file.path for file in programs] == names
    texts = [(number, file.path, file.content.decode("ascii")) for number, file in enumerate(programs, 1)]
    assert not pipeline.verify_setups(job, "rear", texts)

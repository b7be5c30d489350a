"""Every sample on every built-in machine that cuts: built with every program proved, or refused for what it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job.load import read_job
from toolpaths.tables import load

SAMPLES = sorted((Path(__file__).parent.parent / "sample_jobs").glob("*.toml"))
CUTTING = [machine.name for machine in load.machines().values() if machine.cuts]

REFUSALS = {"beyond-travel", "not-divisible", "no-index", "no-cutter"}
"""Why a machine may refuse a panel: it is too small for it and cannot divide it, or it turns or reaches too little for
every cutter."""

BUILT = {
    ("headphone_amplifier", "small router"),
    ("headphone_amplifier", "sheet router"),
    ("headphone_amplifier", "bench mill"),
    ("headphone_amplifier", "mill with tool changer"),
    ("practice_bass_amplifier", "sheet router"),
    ("practice_bass_amplifier", "mill with tool changer"),
    ("crowded_chassis", "bench mill"),
    ("tone_control", "small router"),
    ("tone_control", "sheet router"),
    ("tone_control", "bench mill"),
}
"""What builds in full; the two small machines divide the bass amplifier's rear (378 mm) and baffle (361 mm), or refuse
them; and only the bench mill has the room under its nut for a folded box."""


SIZES = {"crowded_chassis": "clear"}
"""The size that is meant to be built, where the base is there to be refused."""


@pytest.mark.parametrize("machine", CUTTING)
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_builds_or_is_refused_on_every_machine(sample, machine) -> None:
    """All or nothing is built; a refusal names a panel and its reason, and every other panel then builds alone."""
    job = read_job(sample, machine=machine, size=SIZES.get(sample.stem))
    made = pipeline.make(job, posts=["gcode"])
    errors = [finding for finding in made.findings if finding.severity == "error"]
    assert bool(made.files) != bool(errors)
    if (sample.stem, machine) in BUILT:
        assert not errors
    if not errors:
        assert {file.facts["units"] for file in made.files if file.facts["kind"] == "program"} == {
            job.machine.program.units
        }
        return
    assert {finding.code for finding in errors} <= REFUSALS, errors
    refused = {finding.panel for finding in errors}
    assert refused <= {panel.name for panel in job.panels}
    others = [panel.name for panel in job.panels if panel.name not in refused]
    assert not others or pipeline.make(job, posts=["gcode"], panels=others).files

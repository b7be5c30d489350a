"""The rack sample against the published rack, and what an inch job prints."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.finding import has_errors
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out

SAMPLE = Path(__file__).parent.parent / "sample_jobs" / "rack_cooling_panel.toml"

# EIA-310-D / IEC 60297, as summary pages print them (eia310d pages, dimensionsguide.com, audiorax.com), mm
WIDTH = 482.6
CENTRES = 465.1  # one page prints 465.12
RACK_UNIT = 44.45
RAIL_HOLES = (15.875, 15.875, 12.7)  # from hole to hole; the last step leads to the next unit's first
# IEC 60297-3-100, from memory, mm
HEIGHT_2U = 88.1
SLOT = (10.3, 6.8)


@pytest.mark.parametrize("size", [None, "large_fan"])
def test_the_rack_sample_has_the_dimensions_of_the_standard(size: str | None) -> None:
    """Panel, slots and their distances are those of a 19 inch rack: 2U between the outermost holes of its rails."""
    (panel,) = lay_out(read_job(SAMPLE, size=size)).panels
    x0, y0, x1, y1 = panel.outline.bounds
    assert x1 - x0 == pytest.approx(WIDTH, abs=1e-6)
    assert y1 - y0 == pytest.approx(HEIGHT_2U, abs=0.05)
    assert y1 - y0 == pytest.approx(2 * RACK_UNIT - 25.4 / 32, abs=1e-6)
    slots = [opening for opening in panel.openings if opening.label == "rack"]
    middle_to_middle = 2 * sum(RAIL_HOLES) - RAIL_HOLES[-1]
    assert sum(RAIL_HOLES) == RACK_UNIT
    assert sorted(slot.centre for slot in slots) == [
        (pytest.approx(x, abs=0.05), pytest.approx(y, abs=1e-6))
        for x in (-CENTRES / 2, CENTRES / 2)
        for y in (-middle_to_middle / 2, middle_to_middle / 2)
    ]
    for slot in slots:
        left, low, right, high = slot.shape.bounds
        assert (right - left, high - low) == (pytest.approx(SLOT[0]), pytest.approx(SLOT[1]))


@pytest.mark.parametrize("size", [None, "large_fan"])
def test_the_rack_sample_has_no_errors(size: str | None) -> None:
    """On its own machine nothing but the standard's narrow edges is remarked."""
    findings = pipeline.check(read_job(SAMPLE, size=size))
    assert not has_errors(findings)
    warned = [(finding.code, finding.feature) for finding in findings if finding.severity == "warning"]
    assert warned == [("thin-edge", f"slot[{number}]") for number in (1, 2, 3, 4)]


@pytest.mark.parametrize("machine", ["small router", "bench mill"])
def test_a_rack_panel_is_divided_on_a_small_machine(machine: str) -> None:
    """A panel of 19 in is made in two setups where the table travels less, with pins of the job's own unit."""
    findings = pipeline.check(read_job(SAMPLE, machine=machine))
    assert not has_errors(findings)
    divided = [finding.message for finding in findings if finding.code == "divided"]
    assert len(divided) == 2 and "2 setups" in divided[0]


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    made = pipeline.make(read_job(SAMPLE))
    return {file.path: file.content.decode() for file in made.files if not file.path.endswith(".pdf")}


def test_the_papers_of_an_inch_job_speak_inches(files: dict[str, str]) -> None:
    """Exact fractions, drill names and decimals in inches, mm where the job gave them; the machine's figures in mm."""
    rows = {row["tag"]: row for row in csv.DictReader(io.StringIO(files["drill_schedule.csv"]))}
    sizes = {row["label"]: row["final size"] for row in rows.values()}
    assert sizes["vent"] == "Ø3/16 in"
    assert sizes["fan"] == "Ø0.1495 in (#25)"
    assert sizes["earth stud"] == "Ø0.1772 in (4.5 mm)"
    assert sizes["fan speed"] == "Ø0.4016 in (10.2 mm)"
    assert sizes["mains"] == "1.0827 x 0.7874 in (27.5 x 20 mm) R0.0787"
    earth = next(row for row in rows.values() if row["label"] == "earth stud")
    assert (earth["x"], earth["y"], earth["units"]) == ("203.200", "-25.400", "mm")
    assert (earth["x in"], earth["y in"]) == ("8.000", "-1.000")
    assert earth["measured from"] == "centre, seen from the outside"
    sheet = " ".join(files["setup_sheet.html"].split())
    assert "aluminium, 19 × 3 15/32 in (482.6 × 88.106 mm), 12 ga (0.0808 in; 2.052 mm) thick" in sheet
    assert "in; at the machine mm, mm/min" in sheet

"""Random panels on machines of random travel: divided and proved as one piece, or refused with a reason that holds."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.random_jobs.features import tenths
from toolpaths import pipeline
from toolpaths.finding import CODES, has_errors
from toolpaths.job import Job
from toolpaths.job.load import read_job

CODES_OF_PROGRAMS = frozenset(list(CODES)[list(CODES).index("unreadable") :])
"""Findings about a program: of a program of our own making none may ever be said."""

REFUSALS = {"beyond-travel", "not-divisible", "no-index"}
SHEETS = {"aluminium": 2, "mild steel": 1.2, "plywood": 6}
ORIGINS = ("lower left", "centre", "upper right", "right centre")


@st.composite
def long_features(draw: st.DrawFn, wide: float, high: float) -> str:
    """One large feature in the middle of a panel: a cutout, a round opening, a slot or a polygon; or none."""
    kind = draw(st.sampled_from(["cutout", "cutout", "hole", "slot", "polygon", "none"]))
    angle = draw(st.sampled_from([0, 0, 90, 10, -7]))
    if kind == "cutout":
        width, height = draw(tenths(40, wide * 0.7)), draw(tenths(30, high * 0.6))
        radius = draw(st.sampled_from([0, 3, 8, 15]))
        return f"[[panel.cutout]]\nat = [0, 0]\nwidth = {width}\nheight = {height}\ncorner_radius = {radius}\n"
    if kind == "hole":
        return f"[[panel.hole]]\nat = [0, 0]\ndiameter = {draw(tenths(30, min(wide, high) * 0.8))}\n"
    if kind == "slot":
        return f"[[panel.slot]]\nat = [0, 0]\nlength = {draw(tenths(40, wide * 0.7))}\nwidth = 20\nangle = {angle}\n"
    if kind == "polygon":
        x, y = round(wide * 0.35, 1), round(high * 0.3, 1)
        notch = draw(tenths(2, y / 2))
        points = [[-x, -y], [x, -y], [x, y], [0, y - notch], [-x, y]]
        return f"[[panel.polygon]]\nat = [0, 0]\npoints = {points}\ncorner_radius = 4\n"
    return ""


@st.composite
def jobs(draw: st.DrawFn) -> tuple[str, float, float]:
    """A panel with a large feature in its middle and small ones along its sides, and the travel that it meets."""
    material = draw(st.sampled_from(sorted(SHEETS)))
    width, height = draw(tenths(150, 500)), draw(tenths(100, 320))
    travel = draw(tenths(100, 330)), draw(tenths(90, 330))
    side = draw(st.sampled_from(["outside", "outside", "inside"]))
    origin = draw(st.sampled_from(ORIGINS))
    outline = draw(st.sampled_from(["", "", "cut_outline = true\ncorner_radius = 6\n"]))
    left = 0.0 if "left" in origin else width if "right" in origin else width / 2
    low = 0.0 if "lower" in origin else height if "upper" in origin else height / 2
    texts = [
        f'format = 1\ntitle = "random"\nunits = "mm"\nmachine = "sheet router"\n[[panel]]\nname = "plate"\n'
        f'material = "{material}"\nthickness = {SHEETS[material]}\nwidth = {width}\nheight = {height}\n'
        f'origin = "{origin}"\nmachine_from = "{side}"\n{outline}'
    ]

    def at(x: float, y: float) -> str:
        return f"at = [{round(x - left, 2)}, {round(y - low, 2)}]"

    texts.append(draw(long_features(width, height)).replace("at = [0, 0]", at(width / 2, height / 2)))
    for row in (10, height - 10):
        count = draw(st.integers(0, 6))
        for k in range(count):
            x = 10 + (width - 20) * (k + 0.5) / count
            diameter = draw(st.sampled_from([3, 4.3, 6, 6, 8, 9.5]))
            texts.append(f"[[panel.hole]]\n{at(x, row)}\ndiameter = {diameter}\n")
    return "".join(texts), travel[0], travel[1]


def job_of(text: str, across: float, up: float) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "job.toml")
        path.write_text(text, encoding="utf-8")
        job = read_job(path)
    return replace(job, machine=replace(job.machine, travel=(across, up, job.machine.travel[2])))


@given(jobs())
@settings(
    max_examples=25, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_what_is_divided_is_proved(found: tuple[str, float, float]) -> None:
    """A random panel is built in as many setups as it takes, and verified from the texts alone as one piece, each setup
    within the travel; where it is not, an error says why and no file is left."""
    job = job_of(*found)
    made = pipeline.make(job, posts=["gcode"])
    assert not [finding for finding in made.findings if finding.code in CODES_OF_PROGRAMS]
    assert bool(made.files) != has_errors(made.findings)
    programs = [file for file in made.files if file.facts["kind"] == "program"]
    if not programs:
        return
    texts = [(file.facts["setup"], file.path, file.content.decode("ascii")) for file in programs]
    assert not pipeline.verify_setups(job, "plate", texts)  # type: ignore[arg-type]


@given(jobs())
@settings(
    max_examples=25, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_what_is_refused_is_refused_rightly(found: tuple[str, float, float]) -> None:
    """A panel that is refused for its size alone is longer than the travel, and a machine that is as large makes it."""
    job = job_of(*found)
    codes = {finding.code for finding in pipeline.check(job) if finding.severity == "error"}
    if codes and codes <= REFUSALS:
        larger = job_of(found[0], 1300, 900)
        assert not has_errors(pipeline.check(larger))
        (panel,) = job.panels
        assert panel.width > found[1] - 40 or panel.height > found[2] - 40

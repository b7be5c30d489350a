"""Random panels that a builder might draw: what can be planned is also proved, and what cannot leaves nothing."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.random_jobs.features import ORIGINS, deep_features, features, outlines
from toolpaths import pipeline
from toolpaths.finding import CODES, has_errors
from toolpaths.job import Job
from toolpaths.job.load import read_job

CODES_OF_PROGRAMS = frozenset(list(CODES)[list(CODES).index("unreadable") :])
"""Findings about a program: of a program of our own making none may ever be said."""

SHEETS = {"aluminium": (1, 1.5, 2, 3), "mild steel": (0.8, 1.2, 1.5), "plywood": (4, 6, 9, 12, 18)}


@st.composite
def jobs(draw: st.DrawFn) -> str:
    """One panel: features in cells of their own, clamps at corners, every material, machine, origin and side."""
    material = draw(st.sampled_from(sorted(SHEETS)))
    thickness = draw(st.sampled_from(SHEETS[material]))
    machine = draw(st.sampled_from(["small router", "bench mill", "sheet router"]))
    cell = draw(st.sampled_from([40, 55, 70]))
    columns, rows = draw(st.integers(1, 3)), draw(st.integers(1, 2))
    margin, room = 34, cell - 4 - (thickness if material == "plywood" else 3 * thickness)
    width, height = columns * cell + 2 * margin, rows * cell + 2 * margin
    clamps = draw(st.lists(st.sampled_from([(0, 0), (1, 0), (0, 1), (1, 1)]), unique=True, max_size=4))
    origin = draw(st.sampled_from(ORIGINS))
    zero_x = 0 if "left" in origin else width if "right" in origin else width / 2
    zero_y = 0 if "lower" in origin else height if "upper" in origin else height / 2
    corners = [(-8 + x * (width - 4) - zero_x, -8 + y * (height - 4) - zero_y) for x, y in clamps]
    outline = ""
    if draw(st.integers(0, 2)) == 0:
        outline = draw(outlines(min(width, height)))
        # 20 mm square: half over the edge (an error), wholly on the panel, or beside it
        stands = draw(st.sampled_from([-8, 2, 7, -26, -34, -45]))
        corners = [
            (stands + x * (width - 2 * stands - 20) - zero_x, stands + y * (height - 2 * stands - 20) - zero_y)
            for x, y in clamps
        ]
    clamps_text = ", ".join(f"{{ x = {x}, y = {y}, width = 20 }}" for x, y in corners)
    panel = (
        f'format = 1\ntitle = "random"\nunits = "mm"\nmachine = "{machine}"\n[[panel]]\nname = "plate"\n'
        f'material = "{material}"\nthickness = {thickness}\nwidth = {width}\nheight = {height}\norigin = "{origin}"\n'
        f'machine_from = "{draw(st.sampled_from(["outside", "inside"]))}"\nclamps = [{clamps_text}]\n'
        f"{outline}"
    )
    texts = []
    for column in range(columns):
        for row in range(rows):
            if texts and draw(st.integers(0, 3)) == 0:
                continue
            at = [margin + (column + 0.5) * cell - zero_x, margin + (row + 0.5) * cell - zero_y]
            deep = draw(st.integers(0, 2)) == 0
            one = draw(deep_features(room, thickness) if deep else features(room))
            texts.append(one.format(at=at))
    return panel + "".join(texts)


def job_of(text: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "job.toml")
        path.write_text(text, encoding="utf-8")
        return read_job(path)


@given(jobs())
@settings(
    max_examples=20, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_what_is_planned_is_proved(text: str) -> None:
    """A random panel builds and verifies; where it cannot be made, an error says so and no file is left."""
    job = job_of(text)
    made = pipeline.make(job, posts=["gcode"])
    assert not [finding for finding in made.findings if finding.code in CODES_OF_PROGRAMS]
    assert bool(made.files) != has_errors(made.findings)
    programs = [file for file in made.files if file.facts.get("kind") == "program"]
    if programs:
        texts = [(int(str(one.facts["setup"])), one.path, one.content.decode("ascii")) for one in programs]
        assert not pipeline.verify_setups(job, "plate", list(texts))

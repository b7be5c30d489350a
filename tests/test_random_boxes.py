"""Faces of random folded boxes, whole: what is planned among walls is proved among them, whichever way they point."""

from __future__ import annotations

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from toolpaths import pipeline
from toolpaths.finding import CODES
from toolpaths.job.load import read_job

BEFORE = (
    "outside-panel", "overlap", "bend-zone", "under-flange", "closed-in", "no-cutter", "beyond-travel", "no-touch-off",
)  # fmt: skip
"""What may be wrong with a random face before it is cut."""

HOLE = "[[panel.hole]]\nat = [{x}, {y}]\ndiameter = {size}\n"
CUTOUT = "[[panel.cutout]]\nat = [{x}, {y}]\nwidth = {size}\nheight = 18\ncorner_radius = 3\n"


@st.composite
def faces(draw: st.DrawFn) -> str:
    """A job of one face of a tray or a U, with one or two openings."""
    length, depth = draw(st.sampled_from([140, 220])), draw(st.sampled_from([90, 120]))
    height = draw(st.integers(10, 45))
    sheet, radius = draw(st.sampled_from([1, 1.5, 2])), draw(st.sampled_from([0, 1, 2.5]))
    tray = draw(st.booleans())
    face = draw(st.sampled_from(["top", "top", "rear"]))
    sides = 2 * sheet if tray else 0
    width, high = (length + sides, depth + 2 * sheet) if face == "top" else (length, height + sheet)
    features = ""
    for index in range(draw(st.integers(1, 2))):
        x = draw(st.integers(8, width // 2 - 8)) + index * width // 2
        y = draw(st.integers(4, int(high) - 4))
        form = draw(st.sampled_from([HOLE, CUTOUT]))
        features += form.format(x=x, y=y, size=draw(st.sampled_from([8, 20, 34] if form is CUTOUT else [4, 8, 20])))
    folds = "" if tray else 'folds = ["top front", "top rear"]\n'
    machine, side = draw(st.sampled_from(["bench mill", "sheet router"])), draw(st.sampled_from(["outside", "inside"]))
    return (
        f'format = 1\nunits = "mm"\nmachine = "{machine}"\n[[panel]]\nname = "face"\nmaterial = "aluminium"\n'
        f'thickness = {sheet}\nwidth = {width}\nheight = {high}\nmachine_from = "{side}"\n{features}'
        f"[chassis]\ninside = {{ length = {length}, depth = {depth}, height = {height} }}\nbend_radius = {radius}\n"
        f'faces = {{ {face} = "face" }}\n{folds}'
    )


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(job=faces())
def test_what_is_planned_among_walls_is_proved_among_them(job: str, tmp_path: Path) -> None:
    """A face is refused before it is cut, or its program hits nothing and leaves what was designed."""
    path = tmp_path / "box.toml"
    path.write_text(job, encoding="utf-8")
    made = pipeline.make(read_job(path))
    wrong = {finding.code for finding in made.findings if finding.severity == "error"}
    assert wrong <= set(BEFORE) <= CODES.keys(), made.findings
    assert bool(made.files) is not bool(wrong)

"""Faults planted in our own programs: each that does harm is caught, and no harmless edit is complained of."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

import pytest

from tests.faults.harm import Rule
from tests.faults.plant import ALWAYS, HARMLESS, KINDS, Ground
from toolpaths import pipeline
from toolpaths.finding import Finding, has_errors
from toolpaths.job.load import read_job

SAMPLE = Path(__file__).parent.parent.parent / "sample_jobs" / "headphone_amplifier.toml"

PLATE = """
format = 1
title = "plate"
units = "mm"
[[panel]]
name = "plate"
material = "{material}"
thickness = {thickness}
width = 120
height = 80
clamps = [{{ x = -8, y = 30, width = 20 }}, {{ x = 108, y = 30, width = 20 }}]
[[panel.hole]]
at = [25, 15]
diameter = 3.3
[[panel.hole]]
at = [25, 65]
diameter = 9.5
[[panel.cutout]]
at = [62, 40]
width = 44
height = 30
corner_radius = 3
[[panel.slot]]
at = [94, 12]
length = 14
width = 5
angle = 30
"""

STEEL = """
format = 1
title = "steel"
units = "mm"
[[panel]]
name = "plate"
material = "mild steel"
thickness = 1.2
width = 100
height = 70
machine_from = "inside"
clamps = [{ x = -8, y = 25, width = 20 }, { x = 88, y = 25, width = 20 }]
[[panel.hole]]
at = [22, 12]
diameter = 3.2
[[panel.d_hole]]
at = [50, 50]
diameter = 12.7
across_flat = 11.7
angle = 90
[[panel.hole]]
at = [78, 12]
diameter = 3
finish = "mark"
"""

OUTLINE = """
format = 1
title = "outline"
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 90
height = 60
corner_radius = 4
cut_outline = true
clamps = [{ x = -36, y = 20, width = 20 }, { x = 106, y = 20, width = 20 }]
[[panel.hole]]
at = [45, 30]
diameter = 6
"""

TEXTS = {
    "outline": OUTLINE,
    "aluminium": PLATE.format(material="aluminium", thickness=3),
    "plywood": PLATE.format(material="plywood", thickness=9),
    "steel": STEEL,
}

GROUNDS = {
    # job, machine, panel, how many edits of each kind
    "aluminium on a small router": ("aluminium", "small router", "plate", 5),
    "plywood on a bench mill": ("plywood", "bench mill", "plate", 4),
    "steel on a small router": ("steel", "small router", "plate", 5),
    "outline on a small router": ("outline", "small router", "plate", 2),
    "sample's top on a bench mill": ("sample", "bench mill", "top", 1),
    "sample's rear on a small router": ("sample", "small router", "rear", 1),
}

SAID = frozenset({
    "unreadable", "overcut", "undercut", "not-made", "stray-cut", "tabs-wrong", "loose-early", "rapid-in-stock",
    "hits-clamp", "out-of-travel", "too-hard", "too-deep", "bad-start",
})  # fmt: skip
"""What may be said of a cut that goes elsewhere than it should."""

FITTING = {
    "missing retract": {"rapid-in-stock", "hits-clamp", "bad-stop", "bad-start", "z-unknown"},
    "spindle never on": {"spindle-off"},
    "spindle stopped": {"spindle-off"},
    "far too deep": {"too-deep"},
    "shallow operation": {"undercut", "not-made", "rapid-in-stock", "tabs-wrong", "too-hard"},
    "half as deep": {"undercut", "not-made", "rapid-in-stock", "tabs-wrong", "too-hard"},
    "other units": {"unreadable", "out-of-travel", "overcut", "stray-cut"},
    "other cutter": {
        *("overcut", "undercut", "unknown-cutter", "not-made", "tabs-wrong", "too-fast", "too-hard"),
        *("below-flutes", "hits-stock"),  # a thinner drill in a pilot's place is shorter
    },
    "feed times ten": {"too-hard"},
    "speed times three": {"too-fast"},
    "missing end": {"unreadable"},
    "missing mode": {"unreadable"},
    "rapid for cut": {"rapid-in-stock", "not-made"},
    "clamp crossed by rapid": {"hits-clamp"},
    "clamp crossed by cut": {"hits-clamp", "unreadable"},
    "no touch-off": {"z-unknown"},
    "no dwell": {"no-spin-up"},
    "missing operation": {"undercut", "not-made", "rapid-in-stock", "tabs-wrong", "too-hard"},
    "swapped start": {"no-spin-up", "z-unknown"},
    "tab cut through": {"tabs-wrong"},
    "lower tab": {"tabs-wrong"},
}
"""Codes of which at least one must be said; of a kind that is not here, one of ``SAID``."""


@functools.cache
def ground(name: str) -> Ground:
    """The program that is tampered with; it must be without fault to begin with."""
    text, machine, panel_name, _ = GROUNDS[name]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "job.toml")
        path.write_text(SAMPLE.read_text(encoding="utf-8") if text == "sample" else TEXTS[text], encoding="utf-8")
        job = read_job(path, machine=machine)
    made = pipeline.make(job, posts=["gcode"], panels=[panel_name])
    assert made.files, made.findings
    (program,) = [file for file in made.files if file.path.endswith(".nc")]
    (panel,) = made.layout.panels
    return Ground(job, panel, program.content.decode("ascii").splitlines())


def verified(on: Ground, lines: list[str]) -> tuple[Finding, ...]:
    return pipeline.verify_texts(on.job, on.panel.name, [("edited.nc", "\n".join([*lines, ""]))])


def some(edits: list, count: int) -> list:
    """``count`` of them, evenly spread, always the same."""
    return [edits[(2 * k + 1) * len(edits) // (2 * count)] for k in range(min(count, len(edits)))]


def around(on: Ground, index: int, lines: list[str]) -> str:
    """The place of an edit, before and after."""
    return "\n".join([f"line {index + 1}:", *on.lines[index - 1 : index + 2], "became", *lines[index - 1 : index + 3]])


@pytest.mark.parametrize("name", GROUNDS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_harmful_edit_is_caught(name: str, kind: str) -> None:
    """Whatever is planted, verification objects with a fitting code wherever it does harm."""
    on = ground(name)
    rule = Rule(on.job, on.panel, on.lines)
    fitting = FITTING.get(kind, SAID)
    for index, lines in some(list(KINDS[kind](on)), GROUNDS[name][3]):
        findings = verified(on, lines)
        if has_errors(findings):
            assert fitting & {finding.code for finding in findings}, (around(on, index, lines), findings)
            continue
        harm = kind if kind in ALWAYS else rule.harmful(lines)
        assert not harm, f"survived ({harm}): {around(on, index, lines)}"


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_does_harm_somewhere(kind: str) -> None:
    """No kind of fault is tested on harmless edits alone: in one of the plates at least one edit of it is caught."""
    for name in ("aluminium on a small router", "steel on a small router"):
        edits = list(KINDS[kind](ground(name)))
        if any(has_errors(verified(ground(name), lines)) for _, lines in some(edits, 12)):
            return
    pytest.fail(f"nothing was caught of: {kind}")


@pytest.mark.parametrize("name", GROUNDS)
@pytest.mark.parametrize("kind", HARMLESS)
def test_a_harmless_edit_is_not_complained_of(name: str, kind: str) -> None:
    """A line twice that does nothing the second time, another comment, none, blank lines: nothing new is said."""
    on = ground(name)
    as_made = [(finding.severity, finding.code, finding.feature) for finding in verified(on, on.lines)]
    assert not has_errors(verified(on, on.lines))
    for index, lines in some(list(HARMLESS[kind](on)), 2 * GROUNDS[name][3]):
        said = verified(on, lines)
        assert [(f.severity, f.code, f.feature) for f in said] == as_made, (around(on, index, lines), said)

"""Faults planted in our own programs: each that does harm is caught, and no harmless edit is complained of.

The great sweep over every sample on every machine is a command (``tests/faults/sweep.py``); here are some hundreds.
"""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

import pytest

from tests.faults.grounds import SAMPLES, grounds_of, verified
from tests.faults.plant import KINDS, Ground
from tests.faults.sweep import Outcome, outcomes
from toolpaths import pipeline
from toolpaths.finding import has_errors

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

FLOORS = """
format = 1
title = "floors"
units = "mm"
[[panel]]
name = "plate"
material = "plywood"
thickness = 9
width = 110
height = 60
[[panel.cutout]]
at = [32, 30]
width = 28
height = 22
corner_radius = 4
depth = 4
[[panel.hole]]
at = [32, 30]
diameter = 8
[[panel.hole]]
at = [72, 30]
diameter = 12
depth = 3
[[panel.hole]]
at = [92, 30]
diameter = 4.5
countersink = { diameter = 8, angle = 90 }
"""

LETTERING = """
format = 1
title = "lettering"
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 90
height = 60
clamps = [{ x = -12, y = 20, width = 20, height = 12 }, { x = 82, y = 20, width = 20, height = 12 }]
[[panel.hole]]
at = [45, 28]
diameter = 10
[[panel.scale]]
at = [45, 28]
radius = 12
numbers = [0, 4]
divisions = 4
depth = 0.15
arc = true
[[panel.text]]
text = "Go"
at = [22, 50]
height = 5
depth = 0.3
"""

COMPONENTS = """
format = 1
title = "components"
units = "mm"
[[panel]]
name = "plate"
material = "mild steel"
thickness = 1.2
width = 130
height = 80
clamps = [{ x = -8, y = 30, width = 20 }, { x = 118, y = 30, width = 20 }]
[[panel.part]]
part = "noval socket"
at = [40, 40]
angle = 45
[[panel.part]]
part = "fuse holder"
at = [88, 58]
[[panel.row]]
from = [78, 18]
to = [100, 18]
parts = ["LED bezel", "LED bezel"]
"""

BOX = """
format = 1
title = "box"
units = "mm"
[[panel]]
name = "top"
material = "aluminium"
thickness = 1.5
width = 143
height = 93
machine_from = "{side}"
[[panel.hole]]
at = [30, 40]
diameter = 8
[[panel.cutout]]
at = [90, 46]
width = 40
height = 30
corner_radius = 3
[chassis]
inside = {{ length = 140, depth = 90, height = 25 }}
bend_radius = 1
faces = {{ top = "top" }}
"""

DIVIDED = """
format = 1
title = "divided"
units = "mm"
[[panel]]
name = "face"
material = "aluminium"
thickness = 2
width = 340
height = 90
[[panel.hole]]
at = [150, 12]
diameter = 6
[[panel.hole]]
at = [190, 78]
diameter = 6
[[panel.hole]]
at = [10, 45]
diameter = 4
[[panel.hole]]
at = [330, 45]
diameter = 4
[[panel.cutout]]
at = [170, 45]
width = 290
height = 40
corner_radius = 5
"""

GROUNDS = {
    # job, machine, how many edits of each kind
    "aluminium on a small router": (PLATE.format(material="aluminium", thickness=3), "small router", 1),
    "plywood on a bench mill": (PLATE.format(material="plywood", thickness=9), "bench mill", 1),
    "steel on a small router": (STEEL, "small router", 1),
    "outline on a small router": (OUTLINE, "small router", 1),
    "floors on a bench mill": (FLOORS, "bench mill", 1),
    "lettering on a small router": (LETTERING, "small router", 2),
    "components on a small router": (COMPONENTS, "small router", 1),
    "a box on its block": (BOX.format(side="outside"), "bench mill", 1),
    "a box with its walls up": (BOX.format(side="inside"), "bench mill", 1),
    "the second setup of a divided face": (DIVIDED, "small router", 1),
    "a divided face": (DIVIDED, "small router", 1),
}

OF_SETUPS = (
    "setup left out", "setups swapped", "one setup twice", "setup shifted", "hole for a pin moved",
    "pin holes of another panel", "tab dropped",
)  # fmt: skip

SHARE = {
    "components on a small router": tuple(KINDS)[::4],
    "a box on its block": (*tuple(KINDS)[1::3], "tab dropped"),
    "a box with its walls up": (*tuple(KINDS)[2::3], "lift dropped"),
    "the second setup of a divided face": (*tuple(KINDS)[::3], "tab dropped"),
    "a divided face": (*OF_SETUPS, "blank lines"),
}
"""The kinds that are planted there; on the other grounds all of them are."""

WHICH = {"the second setup of a divided face": 1, "a divided face": 2}
"""Which of the grounds of a job it is, where there are several."""

FITTING = {
    "refused": {"unreadable"},
    "hits clamp": {"hits-clamp"},
    "too deep": {"too-deep"},
    "deeper than the flutes": {"below-flutes", "hits-stock"},
    "spindle off": {"spindle-off"},
    "cuts before the spindle": {"no-spin-up"},
    "Z moves before": {"z-unknown"},
    "sideways while": {"z-unknown", "bad-start"},
    "the first motion": {"bad-start"},
    "length of another": {"z-unknown"},
    "no such cutter": {"unknown-cutter"},
    "a rapid": {"rapid-in-stock"},
    "out of travel": {"out-of-travel"},
    "a speed": {"too-fast"},
    "a cutter that": {"too-fast"},
    "too fast": {"too-fast"},
    "fed": {"too-hard"},
    "plunges": {"too-hard"},
    "rubs": {"rubbing-feed"},
    "stop with": {"bad-stop"},
    "change with": {"bad-stop"},
    "end with": {"bad-stop"},
    "hits a wall": {"hits-flange"},
    "a setup is left out": {"setup-missing"},
    "piece": {"overcut", "undercut", "not-made", "stray-cut", "tabs-wrong"},
}
"""How the rule's reason begins -> codes of which one must be said; a piece that comes loose fits any."""


@functools.cache
def ground(name: str) -> Ground:
    """A program that is tampered with."""
    text, machine, _ = GROUNDS[name]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "job.toml")
        path.write_text(text, encoding="utf-8")
        found = grounds_of(path, machine)
    assert len(found) == (3 if name in WHICH else 1)
    return found[WHICH.get(name, 0)]


@functools.cache
def planted(name: str) -> list[Outcome]:
    return list(outcomes(ground(name), range(GROUNDS[name][2]), 2, SHARE.get(name, tuple(KINDS))))


@pytest.mark.parametrize("name", GROUNDS)
def test_the_good_program_has_no_fault_by_either_rule(name: str) -> None:
    """A program is tampered with only if neither verification nor the tests' own rule finds anything in it."""
    rule = ground(name).rule
    assert not has_errors(verified(ground(name), ground(name).programs))
    assert (rule.good.refused, rule.danger(rule.good), rule.other_piece(rule.good)) == ("", "", "")
    assert rule.verdict(ground(name).programs) == ("harmless", "")


@pytest.mark.parametrize("name", GROUNDS)
def test_harm_is_caught_and_harmless_edits_are_not_complained_of(name: str) -> None:
    """Whatever is planted, verification objects wherever it does harm, and nowhere that the text says the same."""
    wrong = [one for one in planted(name) if one.wrong]
    assert not wrong, "\n\n".join(f"{one.kind}: {one.verdict} {one.why} {one.said}\n{one.edit}" for one in wrong)


@pytest.mark.parametrize("name", GROUNDS)
def test_the_finding_fits_the_fault(name: str) -> None:
    """What the tests' rule fears is among the codes of the findings, unless the text cannot be read at all."""
    for one in planted(name):
        fitting = next((codes for begin, codes in FITTING.items() if one.why.startswith(begin)), None)
        if one.verdict == "harmful" and fitting and "unreadable" not in one.said:
            assert fitting & set(one.said), (one.kind, one.why, one.said)


def test_kinds_do_harm() -> None:
    """At least twenty kinds of fault do harm somewhere in the plates, and edits that mean nothing never do."""
    found = [one for name in GROUNDS for one in planted(name)]
    harmful = {one.kind for one in found if one.verdict == "harmful"}
    assert len(harmful) >= 40, sorted(set(KINDS) - harmful)
    nothing = set(list(KINDS)[-6:])
    assert not nothing & harmful
    assert {one.verdict for one in found if one.kind in nothing} == {"harmless"}


def test_faults_of_setups_do_harm() -> None:
    """A setup that is left out, run twice or aside, a pin's hole moved, a tab cut through: each finds a place."""
    planted_here = {one.kind: one.verdict for one in planted("a divided face")}
    wanted = set(OF_SETUPS) - {"pin holes of another panel"}
    assert {kind for kind in wanted if planted_here.get(kind) == "harmful"} == wanted


def test_a_tab_is_missed_in_a_setup_alone() -> None:
    """One tab cut through in the second setup does harm, and its own program shows it."""
    (one,) = [one for one in planted("the second setup of a divided face") if one.kind == "tab dropped"]
    assert (one.verdict, one.said) == ("harmful", ("tabs-wrong",))


def test_verified_says_what_verify_says() -> None:
    """The short cut of these tests, which lays the panel out once, gives the findings of ``verify_texts``."""
    on = ground("steel on a small router")
    lines = on.programs[0]
    edited = [line for line in lines if "G4 P" not in line]
    texts = [("edited.nc", "\n".join(edited))]
    assert verified(on, [edited]) == pipeline.verify_texts(on.rule.job, on.rule.panel.name, texts)


def test_every_sample_is_found() -> None:
    """The sweep takes the samples from their folder: a new one joins by being there."""
    assert len(list(SAMPLES.glob("*.toml"))) >= 2

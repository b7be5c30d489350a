"""Findings about depth: floors, countersinks and threads; which overlaps are rebates."""

from __future__ import annotations

import pytest

from toolpaths.errors import BadInput
from toolpaths.layout.build import lay_out
from toolpaths.layout.checks import findings

HEAD = """
format = 1
units = "mm"
machine = "bench mill"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 4
width = 120
height = 80
"""
AT = "at = [60, 40]\n"


def said(job_of, features: str) -> list[tuple[str, str]]:
    """Severity and code of what is found."""
    job = job_of(HEAD + features)
    found = findings(lay_out(job), job.machine, job.cutters, job.materials)
    return [(finding.severity, finding.code) for finding in found]


@pytest.mark.parametrize(
    ("features", "wanted"),
    [
        (f"[[panel.hole]]\n{AT}diameter = 10\ndepth = 3.5\n", []),
        (f"[[panel.hole]]\n{AT}diameter = 10\ndepth = 3.6\n", [("warning", "thin-floor")]),
        (f"[[panel.hole]]\n{AT}diameter = 10\ndepth = 3.75\n", [("error", "thin-floor")]),
        # 4 mm of sheet and 90 degrees: a hole of 3 mm takes a cone of at most 3 + 2 * 4 = 11 mm
        (f"[[panel.hole]]\n{AT}diameter = 3\ncountersink = {{ diameter = 11, angle = 90 }}\n", []),
        (
            f"[[panel.hole]]\n{AT}diameter = 3\ncountersink = {{ diameter = 11.1, angle = 90 }}\n",
            [("error", "deep-countersink")],
        ),
        # the tip of a cone of 5 mm and 90 degrees is 2.5 mm deep
        (f"[[panel.hole]]\n{AT}diameter = 3\ndepth = 2.5\ncountersink = {{ diameter = 5, angle = 90 }}\n", []),
        (
            f"[[panel.hole]]\n{AT}diameter = 3\ndepth = 2.4\ncountersink = {{ diameter = 5, angle = 90 }}\n",
            [("error", "deep-countersink")],
        ),
        # 1.5 turns of M10 are 2.25 mm
        (f'[[panel.hole]]\n{AT}thread = "M10"\ndepth = 2.3\n', []),
        (f'[[panel.hole]]\n{AT}thread = "M10"\ndepth = 2.2\n', [("note", "short-thread")]),
    ],
)  # fmt: skip
def test_depth_is_judged_by_its_numbers(job_of, features: str, wanted: list[tuple[str, str]]) -> None:
    """A floor, a cone and a thread are told where they pass their limit, and not before (plane geometry)."""
    assert said(job_of, features) == wanted


OUTER = f"[[panel.hole]]\n{AT}diameter = 30\ndepth = 2\n"


@pytest.mark.parametrize(
    ("inner", "rebate"),
    [
        (f"[[panel.hole]]\n{AT}diameter = 10\n", True),
        (f"[[panel.cutout]]\n{AT}width = 12\nheight = 12\ndepth = 3\n", True),
        (f"[[panel.hole]]\n{AT}diameter = 10\ndepth = 2\n", False),
        (f"[[panel.hole]]\n{AT}diameter = 10\ndepth = 1\n", False),
        (f"[[panel.hole]]\n{AT}diameter = 30\n", False),
        ("[[panel.hole]]\nat = [72, 40]\ndiameter = 10\n", False),
        ("[[panel.hole]]\nat = [70, 40]\ndiameter = 8\ncountersink = { diameter = 11, angle = 90 }\n", False),
    ],
)
def test_only_what_lies_wholly_in_a_floor_and_deeper_is_a_rebate(job_of, inner: str, rebate: bool) -> None:
    """A smaller and deeper opening within a blind one begins at its floor; any other overlap is an error."""
    assert (("error", "overlap") not in said(job_of, OUTER + inner)) == rebate
    (panel,) = lay_out(job_of(HEAD + OUTER + inner)).panels
    assert [opening.top for opening in panel.openings] == [0.0, 2.0 if rebate else 0.0]


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ("diameter = 10\ndepth = 4", "depth: is 4 mm in 4 mm of sheet; leave depth out for a through hole"),
        ('diameter = 10\ndepth = 2\nfinish = "pilot"', "finish 'pilot' goes through the sheet"),
        ('thread = "M4"\ndiameter = 4', "diameter: is 4 mm, and the tap drill of M4 is 3.3 mm; leave diameter out"),
        ('thread = "M41"', "M41"),
        ('thread = "10-24 UNF"', "10-24 UNF"),
        ("diameter = 4\ncountersink = { diameter = 4, angle = 90 }", "wider than the hole, 4 mm"),
        ("diameter = 4\ncountersink = { diameter = 8, angle = 1 }", "is no countersink's angle"),
        ("label = 'x'", "diameter: is missing; add it"),
    ],
)
def test_what_cannot_be_is_bad_input(job_of, keys: str, message: str) -> None:
    """A depth that is none, a pilot of a blind hole, and what contradicts itself are told with the cure."""
    with pytest.raises(BadInput) as error:
        job_of(HEAD + f"[[panel.hole]]\n{AT}{keys}\n")
    assert message in str(error.value)


@pytest.mark.parametrize(("material", "diameter"), [("aluminium", 5.1054), ("mild steel", 5.55625)])
def test_a_threaded_hole_has_the_tap_drill_of_its_material(job_of, material: str, diameter: float) -> None:
    """1/4-20 UNC: #7 (0.201 in is 5.105 mm) in aluminium, 7/32 in in steel (manufacturinget.org chart, 2012)."""
    text = HEAD.replace("aluminium", material) + f'[[panel.hole]]\n{AT}thread = "1/4-20 UNC"\n'
    (panel,) = lay_out(job_of(text)).panels
    assert panel.openings[0].diameter == pytest.approx(diameter)
    assert panel.openings[0].size_text.endswith(", tap 1/4-20")

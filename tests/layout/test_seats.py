"""What sits on the sheet or goes through it: each finding is provoked once, and once just not."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from toolpaths import pipeline
from toolpaths.job import Job

HEAD = """
format = 1
units = "mm"
machine = "sheet router"
parts = "own.toml"
"""

PLATE = """
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 200
height = 100
"""

BAFFLE = """
[[panel]]
name = "baffle"
material = "plywood"
thickness = 12
width = 150
height = 120
"""

OWN = """
format = 1
[[part]]
name = "post"
fitted_from = "outside"
passes = true
source = "measured"
hole = [{ diameter = 10 }]
room = [
  { role = "nut", side = "outside", diameter = 20, reach = 4 },
  { role = "nut", side = "inside", diameter = 16, off = 5, reach = 9 },
  { role = "body", side = "inside", diameter = BODY, reach = 20 },
]
[[part]]
name = "inner post"
fitted_from = "inside"
passes = true
source = "measured"
hole = [{ diameter = 10 }]
room = [
  { role = "body", side = "outside", diameter = BODY, reach = 20 },
  { role = "body", side = "inside", diameter = 40, reach = 20 },
]
[[part]]
name = "driver"
fitted_from = "inside"
traits = ["loudspeaker"]
source = "measured"
hole = [{ diameter = 60 }]
room = [{ role = "flange", side = "inside", diameter = 80, reach = 8 }]
"""


@pytest.fixture
def told(tmp_path, job_of: Callable[..., Job]) -> Callable[..., dict[str, str]]:
    """Codes of what is told of a plate with these features, each with its message."""

    def find(features: str, body: float = 9.5, more: str = "", plate: str = PLATE) -> dict[str, str]:
        (tmp_path / "own.toml").write_text(OWN.replace("BODY", str(body)), encoding="utf-8")
        findings = pipeline.check(job_of(HEAD + plate + features + more))
        return {finding.code: finding.message for finding in findings if finding.code != "loose-slug"}

    return find


def post(x: float, y: float, name: str = "post") -> str:
    return f'[[panel.part]]\npart = "{name}"\nlabel = "P"\nat = [{x}, {y}]\n'


def test_a_nut_lies_wholly_on_the_panel(told: Callable[..., dict[str, str]]) -> None:
    """A nut of 20 mm over the edge by a tenth is told with the move that cures; one that ends at the edge is not."""
    assert not told(post(10, 50)) and not told(post(190, 90))
    found = told(post(9.9, 50))
    assert set(found) == {"seat-over-edge"}
    assert "reaches 0.1 mm beyond the edge of the panel: move it 0.1 mm to the right" in found["seat-over-edge"]


def test_a_rounded_corner_is_an_edge(told: Callable[..., dict[str, str]]) -> None:
    """A nut of 20 mm at a corner of radius 30 is over the edge where its middle is more than 20 mm from the corner's,
    and the move told cures."""
    corner = PLATE + "corner_radius = 30\n"
    assert not told(post(16, 16), plate=corner)  # 19.8 mm from (30, 30)
    found = told(post(15.8, 15.8), plate=corner)  # 20.08 mm
    assert set(found) == {"seat-over-edge"} and "0.1 mm to the right and 0.1 mm upwards" in found["seat-over-edge"]
    assert not told(post(15.9, 15.9), plate=corner)
    # a hundredth of a mm beyond is told with a move of more than none
    (slight,) = told(post(15.85, 15.85), plate=corner).values()
    assert "0.1 mm to the right and 0.1 mm upwards" in slight


BOX = """
[chassis]
inside = {{ length = 196, depth = 96, height = 58 }}
bend_radius = 2
faces = {{ {face} = "plate" }}
"""


@pytest.mark.parametrize("holes", ["after bending", "before bending"])
def test_only_a_bent_side_is_no_edge(told: Callable[..., dict[str, str]], holes: str) -> None:
    """The lower edge of a tray's front is free, and a nut over it is told; the upper one is bent and has a rule of its
    own."""
    box = BOX.format(face="front") + f'holes = "{holes}"\n'
    front = PLATE.replace("height = 100", "height = 60").replace("width = 200", "width = 196")
    assert "seat-over-edge" not in told(post(100, 10), plate=front, more=box)
    assert "0.5 mm beyond the edge" in told(post(100, 9.5), plate=front, more=box)["seat-over-edge"]
    over = told(post(100, 51), plate=front, more=box)
    assert "seat-over-edge" not in over and "bend-zone" in over


def test_a_seat_larger_than_the_panel(told: Callable[..., dict[str, str]]) -> None:
    """No move helps a nut of 20 mm on a strip of 19, and none is told."""
    strip = PLATE.replace("height = 100", "height = 19")
    assert "a larger panel, or a smaller part" in told(post(100, 9.5), plate=strip)["seat-over-edge"]


def test_a_nut_lies_on_no_foreign_opening(told: Callable[..., dict[str, str]]) -> None:
    """An opening under the nut is told; one that touches it, its own hole and one under a nut in the air are not."""
    hole = "[[panel.hole]]\nat = [{}, 50]\ndiameter = 6\nlabel = 'vent'\n"
    assert not told(post(100, 50) + hole.format(113.05))
    found = told(post(100, 50) + hole.format(112.9))
    assert set(found) == {"seat-over-opening"} and "(vent) (hole[1])" in found["seat-over-opening"]
    # the inside nut of 16 mm stands 5 mm off the sheet
    assert "seat-over-opening" not in told(post(100, 50, "inner post") + hole.format(113.05))


def test_a_component_goes_through_its_hole(told: Callable[..., dict[str, str]]) -> None:
    """A body of 10 mm goes through a hole of 10 mm, one of 10.1 does not, whichever side it comes from."""
    for name in ("post", "inner post"):
        assert not told(post(100, 50, name), 10.0)
        assert set(told(post(100, 50, name), 10.1)) == {"does-not-pass"}


def test_a_loudspeaker_does_not_sit_on_the_cloth(told: Callable[..., dict[str, str]]) -> None:
    """With cloth turned over 20 mm behind, a frame 20 mm from the edge is clear of it and one 19.9 mm is not; without
    cloth there is nothing to sit on."""
    cabinet = "[cabinet]\nwidth = 400\nheight = 400\nbaffle = 'baffle'\nbaffle_opening = [155, 125]\ncloth = {}\n"

    def driver(x: float) -> str:
        return f'[[panel.part]]\npart = "driver"\nlabel = "L"\nat = [{x}, 60]\n'

    assert "speaker-on-cloth" not in told(driver(60), more=cabinet.format(1), plate=BAFFLE)
    found = told(driver(59.9), more=cabinet.format(1), plate=BAFFLE)
    assert "move it 0.1 mm to the right, or take a smaller one" in found["speaker-on-cloth"]
    # 150 mm less 80 of frame leave 70; with 35 on each side no move helps
    wide = told(driver(75), more=cabinet.format(1) + "cloth_turned = 35.1\n", plate=BAFFLE)["speaker-on-cloth"]
    assert "move" not in wide and "take a smaller one, or turn less cloth over" in wide
    assert "speaker-on-cloth" not in told(driver(45), more=cabinet.format(0), plate=BAFFLE)

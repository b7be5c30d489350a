"""The tables about the box: what they come to, and every mistake with its line."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from toolpaths.errors import BadInput
from toolpaths.job import Job
from toolpaths.job.box import TRAY

PANELS = """
format = 1
units = "mm"
[parameters]
inner = 200
[[panel]]
name = "top plate"
material = "mild steel"
thickness = "18 ga"
width = "inner + 2.4"
height = 100
[[panel]]
name = "back"
material = "mild steel"
thickness = 1.2
width = "inner + 2.4"
height = 60
"""

CHASSIS = """
[chassis]
inside = { length = "inner", depth = "4 in", height = 60 }
bend_radius = "1.5 mm"
faces = { rear = "back", top = "top plate" }
"""


def test_a_chassis_is_resolved(job_of: Callable[..., Job]) -> None:
    """Lengths take units and parameters; by default the top is bent on four sides, of the first panel's sheet."""
    chassis = job_of(PANELS + CHASSIS).chassis
    assert chassis is not None
    assert (chassis.length, chassis.depth, chassis.height) == (200, pytest.approx(101.6), 60)
    assert chassis.faces == (("top", "top plate"), ("rear", "back"))
    assert chassis.folds == TRAY and chassis.holes == "after bending" and chassis.finder == 10
    assert chassis.thickness == pytest.approx(1.2141, abs=1e-3)  # 18 gauge steel by the Manufacturers' Standard
    assert chassis.face_of("back") == "rear" and chassis.face_of("lid") is None
    assert chassis.has("left") and not chassis.has("bottom")


def test_folds_holes_and_finder_are_as_written(job_of: Callable[..., Job]) -> None:
    """A fold is named by its two faces in either order; the other keys as they stand."""
    more = 'thickness = 1\nfolds = ["rear top", "top left"]\nholes = "before bending"\nfinder = "3/8 in"\n'
    chassis = job_of(PANELS + CHASSIS + more).chassis
    assert chassis is not None
    assert chassis.folds == {frozenset({"rear", "top"}), frozenset({"left", "top"})}
    assert (chassis.thickness, chassis.holes, chassis.finder) == (1, "before bending", pytest.approx(9.525))
    assert not chassis.has("front")


def test_obstacles_cabinet_and_distances(job_of: Callable[..., Job]) -> None:
    """Boxes and cylinders, on a panel or in the chassis; the cabinet; distances that replace the defaults."""
    text = PANELS + CHASSIS + (
        '[[obstacle]]\nlabel = "magnet"\non = "back"\nat = [100, 30]\ndiameter = 90\nlength = 40\ngap = 5\nair = 3\n'
        '[[obstacle]]\nlabel = "shelf"\nat = [100, 50, "-1 in"]\nsize = [200, 100, 18]\n'
        '[[obstacle]]\nlabel = "pipe"\nat = [0, 0, 0]\ndiameter = 15\nlength = 300\naxis = "depth"\n'
        '[cabinet]\nwidth = 210\nheight = 70\ncovering = 0.8\nbaffle = "back"\nbaffle_opening = [210, 70]\n'
        "[keep_apart]\nmains_from_signal = 80\nhot_from_can = 0\n"
    )  # fmt: skip
    job = job_of(text)
    magnet, shelf, pipe = job.obstacles
    assert (magnet.on, magnet.at, magnet.diameter, magnet.gap, magnet.air) == ("back", (100, 30), 90, 5, 3)
    assert (shelf.number, shelf.at, shelf.size) == (2, (100, 50, -25.4), (200, 100, 18))
    assert (pipe.axis, pipe.length) == ("depth", 300)
    assert job.cabinet is not None and (job.cabinet.play, job.cabinet.covering) == (1, 0.8)
    assert (job.keep_apart.mains_from_signal, job.keep_apart.hot_from_can, job.keep_apart.live_from_metal) == (80, 0, 6)


WRONG = (
    ('faces = { rear = "bakc" }', "chassis.faces.rear: no panel is called 'bakc'; did you mean 'back'?"),
    ('faces = { rear = "back", front = "back" }', "panel 'back' is the rear already"),
    ("faces = {}", "chassis.faces: names no panel"),
    ('faces = { back = "back" }', "chassis.faces"),
    ('folds = ["top bottom"]', "'top bottom' is no edge of a box"),
    ('folds = ["top"]', "'top' is no edge of a box"),
    ('holes = "while bending"', "chassis.holes"),
    ("bend_radius = -1", "chassis.bend_radius: is -1 mm; it must not be negative"),
    ("inside = { length = 200, depth = 100 }", "chassis.inside.height"),
    ("colour = 3", "chassis.colour: unknown key"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2]\nsize = [1, 2, 3]', "has 2 coordinates; write [x, y, z] in the chassis"),
    ('[[obstacle]]\nlabel = "x"\non = "back"\nat = [1, 2, 3]\nsize = [1, 2, 3]', "write [x, y] on the panel"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]', "is neither a box nor a cylinder"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\ndiameter = 3', "is half a cylinder"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\ndiameter = 3\nlength = 5', "which way the cylinder lies"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\nsize = [1, 2, 3]\naxis = "depth"', "is for a cylinder in the chassis"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\nsize = [1, 2, 3]\ngap = 2', "is for an obstacle on a panel"),
    ('[[obstacle]]\nlabel = "x"\nat = [1]\nsize = [1, 2, 3]', "write [x, y] on a panel, or [x, y, z]"),
    ('[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\nsize = [1, 2, 0]', "it must be at least 0.01 mm"),
    ('[[obstacle]]\nat = [1, 2, 3]\nsize = [1, 2, 3]', "obstacle[1].label"),
    ('[[obstacle]]\nlabel = "x"\non = "back"\nat = [1, 2]\nsize = [1, 2, 3]\ndiameter = 4', "is both a box and a"),
    ('[[cabinet]]\nwidth = 300\nheight = 90', "cabinet[1]: is written with double brackets; write [cabinet] with"),
    ('folds = []\nholes = "before bending"', "chassis.holes: has no meaning: nothing is bent, folds is empty"),
    ('obstacle = 3', "write [[obstacle]] with double brackets"),
    ('[cabinet]\nwidth = 300', "cabinet.height"),
    ('[cabinet]\nwidth = 300\nheight = 90\nbaffle = "back"', "has half a baffle"),
    ("[keep_apart]\nmains_from_signals = 3", "keep_apart.mains_from_signals: unknown key; did you mean"),
)  # fmt: skip


@pytest.mark.parametrize(("line", "told"), WRONG)
def test_mistakes_are_told_with_their_place(job_of: Callable[..., Job], line: str, told: str) -> None:
    """Each mistake is bad input, with its key and what would be right."""
    key = line.split(" ")[0]
    chassis = "\n".join(row for row in CHASSIS.splitlines() if not row.startswith(f"{key} "))
    text = f"{line}\n{PANELS}{chassis}" if line.startswith("obstacle") else f"{PANELS}{chassis}\n{line}\n"
    with pytest.raises(BadInput) as caught:
        job_of(text)
    assert any(told in str(problem) for problem in caught.value.problems), caught.value.problems
    assert all(problem.line for problem in caught.value.problems)


def test_a_cabinet_needs_something_to_hold(job_of: Callable[..., Job]) -> None:
    """Without a chassis the opening of a cabinet is held against nothing, which is an error but for a baffle alone."""
    cabinet = "[cabinet]\nwidth = 300\nheight = 90\n"
    with pytest.raises(BadInput, match=r"cabinet: has no \[chassis\] to hold against its width and height"):
        job_of(PANELS + cabinet)
    assert job_of(PANELS + cabinet + 'baffle = "back"\nbaffle_opening = [210, 70]\n').cabinet


def test_an_obstacle_needs_somewhere_to_stand(job_of: Callable[..., Job]) -> None:
    """Without a chassis an obstacle stands on a panel, or is an error."""
    with pytest.raises(BadInput, match=r"needs a \[chassis\] to stand in"):
        job_of(PANELS + '[[obstacle]]\nlabel = "x"\nat = [1, 2, 3]\nsize = [1, 2, 3]\n')
    assert job_of(PANELS + '[[obstacle]]\nlabel = "x"\non = "back"\nat = [1, 2]\nsize = [1, 2, 3]\n').obstacles

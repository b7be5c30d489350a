"""Panels in space: where a point of each panel is in the box, and how far things are apart round its corners."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.geometry.solid import box_distance, distance
from toolpaths.job.box import TRAY
from toolpaths.job.chassis import Chassis, Obstacle
from toolpaths.job.schema import FACES
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.box import assemble, extent, frame_of_panel, gap_between, gaps, nearest, neighbours
from toolpaths.layout.build import bounds_about_origin
from toolpaths.layout.panel import Panel

METAL = frozenset({"mild steel"})
FIVE = tuple((face, face) for face in FACES if face != "bottom")
BOX = Chassis(200, 100, 60, 1.2, 1.5, FIVE, TRAY, "after bending", 10)


def panel(face: str, *placements: Placement, origin: str = "lower left", chassis: Chassis = BOX) -> Panel:
    """A face of the box as a panel of the right size."""
    left, low, right, high = extent(face, chassis)
    bounds = bounds_about_origin(origin, right - left, high - low)
    middle = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
    outline = rounded_rectangle(middle, right - left, high - low, 0)
    return Panel(
        face, "mild steel", chassis.thickness, "", outline, bounds, (0, 0), False, False, (), (), (0, 0),
        placements=placements,
    )  # fmt: skip


def part(name: str, x: float, y: float, *bodies: Body, **more: object) -> Placement:
    """A component with its bodies about its centre."""
    return replace(Placement(name, f"{name}[1]", "", (x, y), 0.0, bodies, frozenset()), **more)


def pot(x: float, y: float, diameter: float, low: float, high: float) -> Body:
    return Body("body", circle((x, y), diameter), low, high)


CORNERS = {
    # the lower left and the upper right corner of each face's outside, walked round the box by hand
    "top": ((-1.2, -1.2, 61.2), (201.2, 101.2, 61.2)),
    "front": ((0, -1.2, 0), (200, -1.2, 61.2)),
    "rear": ((200, 101.2, 0), (0, 101.2, 61.2)),
    "left": ((-1.2, 100, 0), (-1.2, 0, 61.2)),
    "right": ((201.2, 0, 0), (201.2, 100, 61.2)),
}


@pytest.mark.parametrize("origin", ["lower left", "centre", "upper right", "left centre"])
@pytest.mark.parametrize("face", CORNERS)
def test_corners_of_the_faces_are_where_they_are(face: str, origin: str) -> None:
    """Whatever the origin, a panel's corners are those of its face, and its heights point out of the box."""
    made = panel(face, origin=origin)
    frame = frame_of_panel(made, face, BOX)
    x0, y0, x1, y1 = made.outline.bounds
    assert frame.point((x0, y0)) == pytest.approx(CORNERS[face][0])
    assert frame.point((x1, y1)) == pytest.approx(CORNERS[face][1])
    inner = frame.point(((x0 + x1) / 2, (y0 + y1) / 2), -10)
    assert all(0 < at < size for at, size in zip(inner, (200, 100, 60), strict=True))


def test_the_bottom_is_the_box_turned_over_left_to_right() -> None:
    """Seen from below the front edge is still the lower one, and the right side of the box is on the left."""
    frame = frame_of_panel(panel("bottom"), "bottom", BOX)
    assert frame.point((0, 0)) == pytest.approx((200, 0, -1.2))
    assert frame.point((10, 20), -1.2) == pytest.approx((190, 20, 0))


def test_neighbours_share_their_edge() -> None:
    """What a face has at a side has that face at one of its own, and the two meet along an edge of the box."""
    for face in FACES:
        for wall in neighbours(face).values():
            assert face in neighbours(wall).values()
            assert frame_of_panel(panel(face), face, BOX).normal != frame_of_panel(panel(wall), wall, BOX).normal


def test_distances_round_a_corner_are_those_worked_out_by_hand() -> None:
    """A pot that hangs from the top and one that sticks in from the rear: their boxes' gaps in x, y and z."""
    # from the top's lower left corner at (-1.2, -1.2): x 51.2 is 50 in the box, y 81.2 is 80
    hanging = part("can", 51.2, 81.2, Body("body", rounded_rectangle((51.2, 81.2), 20, 10, 0), -1.2 - 25, -1.2))
    # from the rear's lower left corner at x = 200: 120 is x = 80
    sticking = part("pot", 120, 20, Body("body", rounded_rectangle((120, 20), 16, 8, 0), -1.2 - 12, -1.2))
    things = assemble([panel("top", hanging), panel("rear", sticking)], BOX, (), METAL).components
    # can: x 40..60, y 75..85, z 35..60; pot: x 72..88, y 88..100, z 16..24
    assert gap_between(*things).distance == pytest.approx(math.sqrt(12**2 + 3**2 + 11**2))
    meeting = part("pot", 145, 40, pot(145, 40, 16, -1.2 - 30, -1.2))
    things = assemble([panel("top", hanging), panel("rear", meeting)], BOX, (), METAL).components
    assert gap_between(*things).distance == 0


def test_panels_that_are_no_faces_never_meet_the_box() -> None:
    """A baffle stands by itself: what is at the same place of two panels is not together."""
    one = part("a", 50, 30, pot(50, 30, 20, -20, 20))
    faces = replace(BOX, faces=(("top", "top"),))
    alone = replace(panel("front", one), name="baffle")
    things = assemble([panel("top", one), alone], faces, (), METAL).things
    assert {thing.world for thing in things} == {"chassis", "baffle"}
    assert not [gap for gap in gaps(things, 1000) if gap.first.world != gap.second.world]


def test_walls_are_the_panels_and_the_flanges() -> None:
    """Every face that is a panel or bent to one has sheet; an open bottom has none."""
    chassis = replace(BOX, faces=(("top", "top"),))
    walls = {thing.name: thing for thing in assemble([panel("top")], chassis, (), METAL).things}
    assert len(walls) == 5 and "the bottom of the chassis" not in walls
    left = walls["the left of the chassis"]
    assert left.metal and left.solids[0][1].bounds == pytest.approx((-1.2, 0, 0, 0, 100, 61.2))


def test_obstacles_stand_where_they_are_put() -> None:
    """On a panel by its coordinates, side and gap; in the chassis by its middle, lying as its axis says."""
    base = Obstacle(1, "o", (20, 30), "rear", "outside", 5, None, 10, 40, "height", 0)
    free = replace(base, on=None, at=(10, 20, 30), diameter=4, length=50, axis="depth")
    cases = {
        (190 - 5, 101.2 + 5, 25, 190 - 15, 146.2, 35): replace(base, at=(20, 30)),
        (175, 100 - 45, 25, 185, 95, 35): replace(base, side="inside"),
        (8, -5, 28, 12, 45, 32): free,
        (-40, 5, 28, 60, 35, 32): replace(free, size=(100, 30, 4), diameter=0, length=0),
    }
    for expected, obstacle in cases.items():
        *_, thing = assemble([panel("rear")], BOX, (obstacle,), METAL).things
        x0, y0, z0, x1, y1, z1 = expected
        if obstacle.on:
            x0, x1 = 175, 185
        assert thing.solids[0][1].bounds == pytest.approx((x0, y0, z0, x1, y1, z1))


def test_every_pair_within_reach_is_found_and_no_other() -> None:
    """The sweep gives the same pairs and distances as measuring every pair."""
    draw = random.Random(5)
    panels = []
    for face in CORNERS:
        made = panel(face)
        x0, y0, x1, y1 = made.outline.bounds
        parts = [
            part(f"{face}{n}", 0, 0, pot(draw.uniform(x0, x1), draw.uniform(y0, y1), 9, -20, -2), pot(5, 5, 3, 0, 9))
            for n in range(6)
        ]
        panels.append(replace(made, placements=tuple(parts)))
    things = assemble(panels, BOX, (), METAL).components
    expected = {}
    for i, one in enumerate(things):
        for two in things[i + 1 :]:
            apart = min(distance(a, b) for _, a in one.solids for _, b in two.solids)
            assert apart >= box_distance(one.bounds, two.bounds) - 1e-6
            if apart <= 30:
                expected[one.feature, two.feature] = apart
    found = {(gap.first.feature, gap.second.feature): gap.distance for gap in gaps(things, 30)}
    assert found.keys() == expected.keys() and 20 < len(found) < 435
    assert all(found[key] == pytest.approx(expected[key], abs=1e-6) for key in found)
    assert len(list(gaps(things))) == 435


def test_the_nearest_of_each_component() -> None:
    """Each is told with the nearest other thing: another component, a wall that is not its own sheet, an obstacle."""
    hanging = part("can", 51.2, 81.2, pot(51.2, 81.2, 20, -1.2 - 25, -1.2))  # x 40..60, y 70..90, 20 from the rear
    beside = part("choke", 83.2, 81.2, pot(83.2, 81.2, 10, -1.2 - 20, -1.2))
    empty = part("mark", 20, 20)
    shelf = Obstacle(1, "shelf", (84, 80, 30), None, "outside", 0, (20, 20, 10), 0, 0, "height", 0)
    things = assemble([panel("top", hanging, beside, empty), panel("rear")], BOX, (), METAL).things
    found = [(gap.first.name, gap.second.name, gap.distance) for gap in nearest(things)]
    assert found == [
        ("can", "the rear of the chassis", pytest.approx(10)),
        ("choke", "the rear of the chassis", pytest.approx(15)),
    ]
    things = assemble([panel("top", hanging, beside), panel("rear")], BOX, (shelf,), METAL).things
    assert [gap.second.name for gap in nearest(things)] == ["the rear of the chassis", "shelf"]

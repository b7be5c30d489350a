"""The box in space: where each panel stands, what stands on it, and how near any two things come.

Chassis coordinates, mm. The origin is the inside corner at the lower left of the front; x runs along the length to
the right, y along the depth to the rear, z upwards::

            z                          face    seen from   X of the face   Y of the face   outwards
            |      .--------------.    top     above       +x              +y              +z
            |    .'|    top     .'|    bottom  below       -x              +y              -z
            |  .'  |          .'  |    front   the front   +x              +z              -y
            | '--------------'    |    rear    behind      -x              +z              +y
     length |  left|.........|right     left   the left    -y              +z              -x
      height|   .' rear  y   |  .'     right   the right   +y              +z              +x
            | .'    .'       |.'
            |'____.'_________'____ x           (X right and Y up as seen from the outside; the bottom as the
                    front                       box is turned over about an axis from front to rear)

A panel's own coordinates are those of the job, from its ``origin``. Its outline stands in the middle of its face: of
the inside of the box, and of the sheet of the walls that are bent to it. Heights run along the outward normal from
the outside of its sheet, so the sheet lies between -thickness and 0 and the inside of the box begins at -thickness.
A face that is not bent may be of another sheet than the chassis, and then stands out by its own thickness.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from toolpaths.geometry.segment import Bounds
from toolpaths.geometry.shapes import circle
from toolpaths.geometry.solid import XYZ, Box, Frame, Prism, box_distance, box_of, distance
from toolpaths.job.chassis import Chassis, Obstacle
from toolpaths.job.component import Role
from toolpaths.job.schema import FACES, Face
from toolpaths.layout.bodies import Placement
from toolpaths.layout.panel import Panel, Rectangle

_VIEWS: Final[dict[Face, tuple[XYZ, XYZ, XYZ]]] = {
    "top": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "bottom": ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)),
    "front": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)),
    "rear": ((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
    "left": ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0)),
    "right": ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)),
}
"""X, Y and the outward normal of each face as it is seen from the outside."""

_NEIGHBOURS: Final[dict[Face, tuple[Face, Face, Face, Face]]] = {
    "top": ("left", "right", "front", "rear"),
    "bottom": ("right", "left", "front", "rear"),
    "front": ("left", "right", "bottom", "top"),
    "rear": ("right", "left", "bottom", "top"),
    "left": ("rear", "front", "bottom", "top"),
    "right": ("front", "rear", "bottom", "top"),
}
"""The faces that meet each face at its left, right, lower and upper side, as it is seen from the outside."""

Side = Literal["left", "right", "lower", "upper"]
SIDES: Final[tuple[Side, ...]] = ("left", "right", "lower", "upper")


def neighbours(face: Face) -> dict[Side, Face]:
    """The face at each side of a face.

    >>> neighbours("rear")["left"], neighbours("top")["lower"]
    ('right', 'front')
    """
    return dict(zip(SIDES, _NEIGHBOURS[face], strict=True))


def folded_sides(face: Face, chassis: Chassis) -> dict[Side, Face]:
    """The sides of a face at which a wall is bent to it, with that wall."""
    return {side: wall for side, wall in neighbours(face).items() if frozenset({face, wall}) in chassis.folds}


def inside_of(face: Face, chassis: Chassis) -> tuple[float, float, float]:
    """What the box measures inside along a face's X and Y, and away from it."""
    sizes = (chassis.length, chassis.depth, chassis.height)
    across, up, away = (
        next(size for size, part in zip(sizes, way, strict=True) if part) for way in _VIEWS[face]
    )
    return across, up, away


def extent(face: Face, chassis: Chassis) -> Rectangle:
    """A face from outside to outside of the walls that are bent to it, its inside beginning at 0, 0."""
    across, up, _ = inside_of(face, chassis)
    bent = folded_sides(face, chassis)
    by = {side: chassis.thickness if side in bent else 0.0 for side in SIDES}
    return 0.0 - by["left"], 0.0 - by["lower"], across + by["right"], up + by["upper"]


def frame_of(face: Face, chassis: Chassis, thickness: float) -> Frame:
    """The plane of a face's outside, its origin over the inside corner at the lower left as seen from the outside."""
    across, up, outwards = _VIEWS[face]
    sizes = (chassis.length, chassis.depth, chassis.height)
    # a coordinate runs backwards from the far end where the face's X or Y does, and the face itself may be there
    corner = tuple(
        size if across[axis] + up[axis] < 0 or outwards[axis] > 0 else 0.0 for axis, size in enumerate(sizes)
    )
    x, y, z = (at + thickness * way for at, way in zip(corner, outwards, strict=True))
    return Frame((x, y, z), across, up, outwards)


def frame_of_panel(panel: Panel, face: Face, chassis: Chassis) -> Frame:
    """The plane of a panel's outside in the panel's own coordinates."""
    x0, y0, x1, y1 = panel.outline.bounds
    left, low, right, high = extent(face, chassis)
    frame = frame_of(face, chassis, panel.thickness)
    shift = (left + right) / 2 - (x0 + x1) / 2, (low + high) / 2 - (y0 + y1) / 2
    return Frame(frame.point(shift), frame.x, frame.y, frame.normal)


# What stands there ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Thing:
    """A component, a wall or an obstacle with its solids. ``world`` parts what never comes together.

    ``frame`` is that of the panel which it stands on or which it is; None for an obstacle in the chassis.
    ``placement`` is the component's, None for others; ``outline`` is the box round its panel.
    """

    kind: Literal["component", "wall", "obstacle"]
    name: str
    panel: str
    feature: str
    world: str
    frame: Frame | None
    solids: tuple[tuple[Role, Prism], ...]
    placement: Placement | None = None
    outline: Bounds = (0.0, 0.0, 0.0, 0.0)
    air: float = 0.0
    metal: bool = False

    @property
    def bounds(self) -> Box:
        """The box round all its solids; turned inside out where it has none."""
        if not self.solids:
            return math.inf, math.inf, math.inf, -math.inf, -math.inf, -math.inf
        boxes = [solid.bounds for _, solid in self.solids]
        lows, highs = zip(*((box[:3], box[3:]) for box in boxes), strict=True)
        x0, y0, z0 = (min(axis) for axis in zip(*lows, strict=True))
        x1, y1, z1 = (max(axis) for axis in zip(*highs, strict=True))
        return x0, y0, z0, x1, y1, z1


@dataclass(frozen=True, slots=True)
class Assembly:
    """Everything in its place: components, walls and obstacles, in the order of the job."""

    things: tuple[Thing, ...]

    @property
    def components(self) -> tuple[Thing, ...]:
        """The components alone."""
        return tuple(thing for thing in self.things if thing.kind == "component")


def assemble(
    panels: Sequence[Panel], chassis: Chassis | None, obstacles: Sequence[Obstacle], metals: frozenset[str]
) -> Assembly:
    """The whole box; a panel that is no face of the chassis stands by itself. ``metals`` are materials of metal."""
    frames: dict[str, tuple[str, Frame]] = {}
    for panel in panels:
        face = chassis.face_of(panel.name) if chassis else None
        if chassis and face:
            frames[panel.name] = "chassis", frame_of_panel(panel, face, chassis)
        else:
            frames[panel.name] = panel.name, Frame((0.0, 0.0, 0.0), *_VIEWS["top"])
    things = [
        _component(placement, panel, *frames[panel.name]) for panel in panels for placement in panel.placements
    ]
    if chassis:
        things += _walls(panels, chassis, frames, metals)
    thicknesses = {panel.name: panel.thickness for panel in panels}
    things += [_obstacle(obstacle, frames, thicknesses) for obstacle in obstacles]
    return Assembly(tuple(things))


def _component(placement: Placement, panel: Panel, world: str, frame: Frame) -> Thing:
    solids = tuple((body.role, Prism(frame, body.footprint, body.low, body.high)) for body in placement.bodies)
    return Thing(
        "component", placement.name, panel.name, placement.feature, world, frame, solids, placement,
        panel.outline.bounds, placement.clearance,
    )  # fmt: skip


def _walls(
    panels: Sequence[Panel], chassis: Chassis, frames: dict[str, tuple[str, Frame]], metals: frozenset[str]
) -> Iterator[Thing]:
    """The sheet of every face that is a panel or is bent to one."""
    of_face = {chassis.face_of(panel.name): panel for panel in panels}
    # a flange without a panel is of the chassis' own sheet
    own = next((panel.material in metals for face, panel in of_face.items() if face), True)
    for face in FACES:
        panel = of_face.get(face)
        if panel is not None:
            frame, area, thickness = frames[panel.name][1], panel.outline.bounds, panel.thickness
        elif chassis.has(face):
            thickness = chassis.thickness
            frame, area = frame_of(face, chassis, thickness), extent(face, chassis)
        else:
            continue
        solid = box_of(area, -thickness, 0.0, frame)
        metal = own if panel is None else panel.material in metals
        yield Thing(
            "wall", f"the {face} of the chassis", panel.name if panel else "", "", "chassis", frame,
            (("body", solid),), metal=metal,
        )  # fmt: skip


def _obstacle(obstacle: Obstacle, frames: dict[str, tuple[str, Frame]], thicknesses: dict[str, float]) -> Thing:
    name = obstacle.label or f"obstacle {obstacle.number}"
    feature = f"obstacle[{obstacle.number}]"
    if obstacle.on is not None:
        world, frame = frames[obstacle.on]
        solid = _on_panel(obstacle, frame, thicknesses[obstacle.on])
        return Thing("obstacle", name, obstacle.on, feature, world, frame, (("body", solid),), air=obstacle.air)
    return Thing("obstacle", name, "", feature, "chassis", None, (("body", _free(obstacle)),), air=obstacle.air)


def _on_panel(obstacle: Obstacle, frame: Frame, thickness: float) -> Prism:
    x, y = obstacle.at[:2]
    away = obstacle.length if obstacle.size is None else obstacle.size[2]
    low = obstacle.gap if obstacle.side == "outside" else -thickness - obstacle.gap - away
    if obstacle.size is None:
        return Prism(frame, circle((x, y), obstacle.diameter), low, low + away)
    half_x, half_y = obstacle.size[0] / 2, obstacle.size[1] / 2
    return box_of((x - half_x, y - half_y, x + half_x, y + half_y), low, low + away, frame)


def _free(obstacle: Obstacle) -> Prism:
    middle: XYZ = (obstacle.at[0], obstacle.at[1], obstacle.at[2])
    if obstacle.size is not None:
        x, y, z = (side / 2 for side in obstacle.size)
        return box_of((-x, -y, x, y), -z, z, Frame(middle, *_VIEWS["top"]))
    face: dict[str, Face] = {"length": "right", "depth": "rear", "height": "top"}
    frame = Frame(middle, *_VIEWS[face[obstacle.axis]])
    return Prism(frame, circle((0.0, 0.0), obstacle.diameter), -obstacle.length / 2, obstacle.length / 2)


def without_spanners(thing: Thing) -> Thing:
    """A thing without the rooms that are needed only while its nuts are turned."""
    return replace(thing, solids=tuple(solid for solid in thing.solids if solid[0] != "spanner"))


# How near ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Gap:
    """The shortest distance of two things, mm, and the roles of the solids that it lies between; 0: they meet."""

    first: Thing
    second: Thing
    distance: float
    roles: tuple[Role, Role]


def gaps(things: Sequence[Thing], within: float = math.inf) -> Iterator[Gap]:
    """Every pair that comes nearer than ``within`` mm with its shortest distance, rooms for spanners left out.

    A sweep along the length: only things whose boxes are that near are measured.
    """
    for first, second in near_pairs(things, within):
        gap = gap_between(first, second, within)
        if gap is not None:
            yield gap


def nearest(things: Sequence[Thing]) -> Iterator[Gap]:
    """Each component with the thing of its world that is nearest to it, its own sheet left out; first of the pair."""
    boxes = [thing.bounds for thing in things]
    for index, thing in enumerate(things):
        if thing.kind != "component" or not thing.solids:
            continue
        others = sorted(
            (box_distance(boxes[index], boxes[other]), other)
            for other in range(len(things))
            if other != index and _may_meet(thing, things[other])
        )
        best: Gap | None = None
        for least, other in others:
            if best is not None and least >= best.distance:
                break
            gap = gap_between(thing, things[other], best.distance if best else math.inf)
            if gap is not None and (best is None or gap.distance < best.distance):
                best = gap
        if best is not None:
            yield best


def _may_meet(thing: Thing, other: Thing) -> bool:
    own_sheet = other.kind == "wall" and other.frame == thing.frame
    return bool(other.solids) and other.world == thing.world and not own_sheet


def near_pairs(things: Sequence[Thing], within: float) -> Iterator[tuple[Thing, Thing]]:
    """Pairs of one world whose boxes come nearer than ``within`` mm, in the order of the things."""
    boxes = [thing.bounds for thing in things]
    order = sorted(range(len(things)), key=lambda index: boxes[index][0])
    active: list[int] = []
    found: list[tuple[int, int]] = []
    for index in order:
        box, world = boxes[index], things[index].world
        active = [other for other in active if boxes[other][3] + within >= box[0]]
        found += [
            (min(index, other), max(index, other))
            for other in active
            if things[other].world == world and box_distance(boxes[other], box) <= within
        ]
        active.append(index)
    for one, two in sorted(found):
        yield things[one], things[two]


def gap_between(first: Thing, second: Thing, within: float = math.inf) -> Gap | None:
    """The shortest distance of two things, or None where they are further apart than ``within``."""
    pairs = sorted(
        (
            (box_distance(one.bounds, other.bounds), i, j)
            for i, (role, one) in enumerate(first.solids)
            if role != "spanner"
            for j, (other_role, other) in enumerate(second.solids)
            if other_role != "spanner"
        )
    )
    best: Gap | None = None
    for least, i, j in pairs:
        reach = min(within, best.distance if best else math.inf)
        if least > reach or reach == 0.0:
            break
        (role, one), (other_role, other) = first.solids[i], second.solids[j]
        apart = distance(one, other, enough=reach)
        if apart <= reach and (best is None or apart < best.distance):
            best = Gap(first, second, apart, (role, other_role))
    return best

"""What sheet a job takes: a piece for each loose panel, and one flat blank for faces that are bent from one piece."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.job.chassis import OPPOSITE, Chassis
from toolpaths.job.schema import FACES, Face
from toolpaths.layout.box import Side, extent, inside_of, neighbours
from toolpaths.layout.panel import BlankFace, Panel, Rectangle

OF_SHEET: Final = 0.64
OF_RADIUS: Final = 1.57
"""Length of sheet in a bend of 90 degrees: 0.64 T + 1.57 R for soft steel and aluminium (Machinery's Handbook, 31st
edition, page 1421; harder sheet takes up to 0.07 T more)."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One piece to begin with, ``width`` by ``height`` mm before anything is cut or bent. ``panels`` come from it."""

    name: str
    material: str
    thickness: float
    width: float
    height: float
    panels: tuple[str, ...]


def sheets(panels: Sequence[Panel], chassis: Chassis | None) -> tuple[Sheet, ...]:
    """The pieces, the bent ones first; faces bent from one piece by more than one face stand there one by one."""
    found: list[Sheet] = []
    bent: set[str] = set()
    if chassis is not None and (blank := _blank(panels, chassis)) is not None:
        found.append(blank)
        bent = set(blank.panels)
    for panel in panels:
        if panel.name not in bent:
            x0, y0, x1, y1 = panel.stock
            found.append(Sheet(panel.name, panel.material, panel.thickness, x1 - x0, y1 - y0, (panel.name,)))
    return tuple(found)


def bend_allowance(thickness: float, radius: float) -> float:
    """Length of sheet that goes into a bend of 90 degrees, mm.

    >>> round(2 * bend_allowance(0.125, 0.375), 4)  # the handbook's example of 180 degrees, in inches
    1.3375
    """
    return OF_SHEET * thickness + OF_RADIUS * radius


def blank_round(name: str, bounds: Rectangle, chassis: Chassis | None) -> Rectangle | None:
    """The flat blank about a face whose holes are made before bending, in the coordinates of its panel.

    ``bounds`` is the box round the panel's outline. The face lies on the blank so that its flat is where bending leaves
    it. None where the panel is machined by itself, or already bent.
    """
    face = chassis.face_of(name) if chassis else None
    if chassis is None or face is None or chassis.holes == "after bending":
        return None
    middle = _middle(chassis)
    if middle is None or (face != middle and frozenset({middle, face}) not in chassis.folds):
        return None
    beyond = _beyond_middle(chassis, middle) if face == middle else _beyond_wall(chassis, middle, face)
    across, up, _ = inside_of(face, chassis)
    left, low, right, high = extent(face, chassis)
    shift = (bounds[0] + bounds[2]) / 2 - (left + right) / 2, (bounds[1] + bounds[3]) / 2 - (low + high) / 2
    return (
        shift[0] - beyond["left"], shift[1] - beyond["lower"],
        shift[0] + across + beyond["right"], shift[1] + up + beyond["upper"],
    )  # fmt: skip


def faces_round(name: str, outline: Rectangle, stock: Rectangle, chassis: Chassis | None) -> tuple[BlankFace, ...]:
    """The other faces on the blank about a face, where its ``stock`` is that blank; about, for bends are left out.

    Beyond the edge at which a wall is bent lies the middle face, beyond that the wall opposite, and beside the middle
    its other two walls.
    """
    face = chassis.face_of(name) if chassis else None
    middle = _middle(chassis) if chassis else None
    if chassis is None or face is None or middle is None or blank_round(name, outline, chassis) is None:
        return ()
    if face == middle:
        return tuple(_walls(outline, stock, neighbours(face), middle, chassis))
    bent_at = next(side for side, wall in neighbours(face).items() if wall == middle)
    of_middle = _beyond_middle(chassis, middle)
    opposite = OPPOSITE[face]
    # the middle from the bend to where the wall opposite begins, as wide as the face itself
    far = of_middle[_ACROSS_FROM[next(side for side, wall in neighbours(middle).items() if wall == face)]]
    x0, y0, x1, y1 = outline
    area = {
        "upper": (x0, y1, x1, stock[3] - far), "lower": (x0, stock[1] + far, x1, y0),
        "right": (x1, y0, stock[2] - far, y1), "left": (stock[0] + far, y0, x0, y1),
    }[bent_at]  # fmt: skip
    # seen past the wall, the middle's own sides have the walls that the face has at its sides, and the opposite beyond
    around = {**neighbours(face), bent_at: opposite, _ACROSS_FROM[bent_at]: face}
    walls = [one for one in _walls(area, stock, around, middle, chassis) if one.face != face]
    return (BlankFace(middle, area, is_middle=True), *walls)


def _walls(
    middle_area: Rectangle, stock: Rectangle, around: Mapping[Side, Face], middle: Face, chassis: Chassis
) -> Iterator[BlankFace]:
    """The walls on the blank about its middle, by the side at which each lies."""
    x0, y0, x1, y1 = middle_area
    areas: dict[Side, Rectangle] = {
        "left": (stock[0], y0, x0, y1), "right": (x1, y0, stock[2], y1),
        "lower": (x0, stock[1], x1, y0), "upper": (x0, y1, x1, stock[3]),
    }
    for side, wall in around.items():
        if frozenset({middle, wall}) in chassis.folds:
            yield BlankFace(wall, areas[side])


def _beyond_middle(chassis: Chassis, middle: Face) -> dict[Side, float]:
    """How far the blank reaches beyond the inside of its middle face at each side."""
    away = inside_of(middle, chassis)[2]
    radius = chassis.bend_radius
    wall = bend_allowance(chassis.thickness, radius) + away - 2 * radius
    return {
        side: wall if frozenset({middle, face}) in chassis.folds else 0.0 for side, face in neighbours(middle).items()
    }


def _beyond_wall(chassis: Chassis, middle: Face, wall: Face) -> dict[Side, float]:
    """The same of a wall: its rim is the blank's edge, and beyond the bend lie the middle and the opposite wall."""
    of_middle = _beyond_middle(chassis, middle)
    side_of = {face: side for side, face in neighbours(middle).items()}
    bent_at = next(side for side, face in neighbours(wall).items() if face == middle)
    opposite = _ACROSS_FROM[side_of[wall]]
    across, up, _ = inside_of(middle, chassis)
    inside = across if side_of[wall] in _ACROSS else up
    radius = chassis.bend_radius
    beyond: dict[Side, float] = {}
    for side, face in neighbours(wall).items():
        if side == bent_at:
            beyond[side] = bend_allowance(chassis.thickness, radius) - 2 * radius + inside + of_middle[opposite]
        elif face in side_of:
            beyond[side] = of_middle[side_of[face]]
        else:
            beyond[side] = 0.0
    return beyond


def _middle(chassis: Chassis) -> Face | None:
    """The face that all others are bent to; None without folds, or where walls are bent to walls."""
    if not chassis.folds:
        return None
    return next((face for face in FACES if all(face in fold for fold in chassis.folds)), None)


def _blank(panels: Sequence[Panel], chassis: Chassis) -> Sheet | None:
    """The blank of a middle face with walls bent to it; None where there is none."""
    middle = _middle(chassis)
    if middle is None:
        return None
    walls = [wall for wall in neighbours(middle).values() if frozenset({middle, wall}) in chassis.folds]
    beyond = _beyond_middle(chassis, middle)
    across, up, _ = inside_of(middle, chassis)
    width, height = beyond["left"] + across + beyond["right"], beyond["lower"] + up + beyond["upper"]
    of_face = dict(chassis.faces)
    names = tuple(of_face[face] for face in (middle, *walls) if face in of_face)
    known = next((panel for panel in panels if panel.name in names), None)
    if known is None:
        return None
    return Sheet(f"{middle} with {_listed(walls)}", known.material, chassis.thickness, width, height, names)


_ACROSS_FROM: Final[dict[Side, Side]] = {"left": "right", "right": "left", "lower": "upper", "upper": "lower"}
_ACROSS: Final[tuple[Side, Side]] = ("left", "right")


def _listed(faces: Sequence[Face]) -> str:
    return ", ".join(faces[:-1]) + f" and {faces[-1]}" if len(faces) > 1 else faces[0]


def cut_length(panel: Panel) -> float:
    """Length of all contours that the machine cuts through or along, mm; marks have none."""
    return math.fsum(piece.cut.perimeter for piece in panel.work if piece.cut is not None)

"""Walls of a folded box against what moves: cutter, shank and nut beside walls that stand up, cuts into walls below.

A wall that stands up is its own sheet, and beside it the round inside of the bend, taken as steps that lie within it.
A wall that hangs down is met by a cut that goes through the sheet over it. The distances are those of faceted paths,
as for clamps, and no measure is taken from the plan.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely

from toolpaths.layout.panel import Flange, Rectangle
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import PIECE, ROUNDING_MM
from toolpaths.verify.moves import Move, Work, radius_at, span_below
from toolpaths.verify.piece import Scene

STEPS: Final = 6
"""Steps for the round of a bend."""


@dataclass(frozen=True, slots=True)
class _Wall:
    """What is solid from the sheet's top up to ``top``, seen from above, in program coordinates."""

    name: str
    area: Any
    top: float


def judge_flanges(work: Work, scene: Scene) -> None:
    """Every move that a wall is in the way of."""
    box = work.panel.folded
    if box is None:
        return
    if box.standing:
        walls = [wall for flange in box.flanges for wall in _standing(work, flange)]
        for move in _near(work, walls, work.machine.nut_diameter / 2):
            _judge_standing(work, move, walls, scene)
    else:
        walls = [_Wall(f"the {flange.wall}", _area(work, flange.area), 0.0) for flange in box.flanges]
        for move in _near(work, walls, 0.0):
            _judge_hanging(work, move, walls, scene)


def _near(work: Work, walls: list[_Wall], nut: float) -> list[Move]:
    """The moves that come near any of the walls, with a nut of radius ``nut``; all others are not in their way."""
    widths = np.array([_widest(move.cutter, nut) if move.cutter is not None else 0.0 for move in work.moves])
    near = np.zeros(len(work.moves), dtype=bool)
    for wall in walls:
        near |= work.table.comes_near(wall.area.bounds, wall.top, widths)
    return [move for move in (work.moves[index] for index in np.flatnonzero(near)) if move.cutter is not None]


def _widest(cutter: Cutter, nut: float) -> float:
    return max(cutter.radius, cutter.shank / 2, nut)


def _area(work: Work, area: Rectangle) -> Any:
    return shapely.box(*work.panel.area_to_program(area))


def _standing(work: Work, flange: Flange) -> Iterator[_Wall]:
    """The wall, and the steps within the round: at s from the wall it is R - sqrt(R² - (R - s)²) high."""
    name = f"the {flange.wall}"
    yield _Wall(name, _area(work, flange.area), flange.height)
    radius = flange.radius
    x0, y0, x1, y1 = flange.area
    for step in range(1, STEPS + 1):
        reach = radius * step / (STEPS + 1)
        top = radius - math.sqrt(radius**2 - (radius - reach) ** 2)
        if top < PIECE:
            continue
        grown = {
            "left": (x0, y0, x1 + reach, y1),
            "right": (x0 - reach, y0, x1, y1),
            "lower": (x0, y0, x1, y1 + reach),
            "upper": (x0, y0 - reach, x1, y1),
        }[flange.side]
        yield _Wall(f"the bend at {name}", _area(work, grown), top)


def _parts(cutter: Cutter, nut_diameter: float) -> tuple[tuple[str, float, float], ...]:
    """What turns, from the tip up: name, where it begins above the tip, and its radius."""
    return (
        ("cutter", 0.0, cutter.radius),
        ("shank", min(cutter.flute_length, cutter.stick_out), cutter.shank / 2),
        ("collet nut", cutter.stick_out, nut_diameter / 2),
    )


def _judge_standing(work: Work, move: Move, walls: list[_Wall], scene: Scene) -> None:
    assert move.cutter is not None
    tell = work.tell
    for wall in walls:
        if move.low >= wall.top:
            continue
        for name, above, radius in _parts(move.cutter, work.machine.nut_diameter):
            span = span_below(move.stroke, wall.top - above - ROUNDING_MM)
            if span is None:
                continue
            _, path = scene.sweeps.path(move.stroke, span)
            if shapely.distance(path, wall.area) >= radius - ROUNDING_MM:
                continue
            x, y = shapely.get_coordinates(shapely.shortest_line(path, wall.area))[0]
            how = "rapid" if move.stroke.kind == "rapid" else "cut"
            work.notes.add(
                "hits-flange",
                f"the {name} crosses {wall.name} of the folded box at {tell.z(move.low)} in a {how}, near "
                f"{tell.place(x, y)}; it stands {tell.length(wall.top)} high. Lift the way there, or keep away",
                move=move, feature=scene.feature(move),
            )
            return


def _judge_hanging(work: Work, move: Move, walls: list[_Wall], scene: Scene) -> None:
    """Below the sheet the walls begin: whatever is fed through the sheet over them cuts into them."""
    assert move.cutter is not None
    below = -work.panel.thickness
    span = span_below(move.stroke, below - ROUNDING_MM)
    if span is None:
        return
    radius = radius_at(move.cutter, move.low, below)
    _, path = scene.sweeps.path(move.stroke, (0.0, 1.0) if move.upright else span)
    for wall in walls:
        if shapely.distance(path, wall.area) < radius - PIECE:
            work.notes.add(
                "hits-flange",
                f"at {work.tell.z(move.low)} the cutter runs into {wall.name} of the folded box, which hangs down "
                "there: "
                "keep the cut away from the bend",
                move=move, feature=scene.feature(move),
            )
            return

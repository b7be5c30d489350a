"""The box as a job gives it, resolved to mm: chassis, obstacles, cabinet, and what is to be kept apart.

Chassis coordinates: the origin is the inside corner at the lower left of the front; x runs along the length to the
right, y along the depth to the rear, z upwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from toolpaths.job.schema import FACES, Face

Holes = Literal["before bending", "after bending"]
Fold = frozenset[Face]
"""The two faces that meet in a bend."""

OPPOSITE: Final[dict[Face, Face]] = {
    "top": "bottom", "bottom": "top", "front": "rear", "rear": "front", "left": "right", "right": "left",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chassis:
    """Inside ``length``, ``depth`` and ``height``; sheet ``thickness`` and inside ``bend_radius``.

    ``faces`` are the faces that are panels, with the panels' names. ``finder`` is the edge finder's diameter.
    """

    length: float
    depth: float
    height: float
    thickness: float
    bend_radius: float
    faces: tuple[tuple[Face, str], ...]
    folds: frozenset[Fold]
    holes: Holes
    finder: float

    @property
    def flat_from(self) -> float:
        """How far from the outer edge the sheet is flat beside a bend: thickness and inside radius."""
        return self.thickness + self.bend_radius

    def face_of(self, panel: str) -> Face | None:
        """The face that a panel is, or None where it is none of the chassis."""
        return next((face for face, name in self.faces if name == panel), None)

    def has(self, face: Face) -> bool:
        """Whether there is a wall: a panel, or a flange of one."""
        return any(face == one for one, _ in self.faces) or self.is_bent(face)

    def is_bent(self, face: Face) -> bool:
        """Whether a face is of one piece with another."""
        return any(face in fold for fold in self.folds)

    def of_one_piece(self, face: Face) -> frozenset[Face]:
        """The faces that are bent from one sheet with a face, and itself."""
        body = {face}
        for _ in FACES:
            for fold in self.folds:
                if fold & body:
                    body |= fold
        return frozenset(body)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A box of ``size``, or a cylinder of ``diameter`` and ``length``; its middle, or its foot on a panel, at ``at``.

    ``on`` is a panel's name: it stands ``gap`` off the sheet on the stated side. ``air`` is the least distance wanted.
    """

    number: int
    label: str
    at: tuple[float, ...]
    on: str | None
    side: Literal["outside", "inside"]
    gap: float
    size: tuple[float, float, float] | None
    diameter: float
    length: float
    axis: Literal["length", "depth", "height"]
    air: float


@dataclass(frozen=True, slots=True)
class Cabinet:
    """The opening for the chassis as the boards leave it, its ``covering`` and the ``play`` on each side.

    ``baffle`` is a panel's name, ``baffle_opening`` the width and height of the opening that it goes into.
    """

    width: float
    height: float
    covering: float
    play: float
    baffle: str | None
    baffle_opening: tuple[float, float] | None
    cloth: float
    cloth_turned: float = 20.0


@dataclass(frozen=True, slots=True)
class KeepApart:
    """Least distances, mm (common practice of builders, from memory; local codes and makers' data come first)."""

    mains_from_signal: float = 50.0
    parallel_transformers: float = 50.0
    hot_from_can: float = 25.0
    hot_from_bulb: float = 15.0
    live_from_metal: float = 6.0

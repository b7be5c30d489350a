"""The neutral Program: what a machine is to do, before any dialect.

Millimetres, mm/min; X right, Y up, Z0 the top of the stock, negative into it; absolute program coordinates (as the
panel lies on the machine). Each motion names only its end, like a pen; the one before it says where it starts. Arcs
are given by centre and direction, never by radius and never as chords.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

XY = tuple[float, float]
Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Rapid:
    """Straight traverse; ends at ``to``. Never touches material."""

    to: Point


@dataclass(frozen=True, slots=True)
class Line:
    """Straight cut at ``feed`` mm/min; ends at ``to``."""

    to: Point
    feed: float


@dataclass(frozen=True, slots=True)
class Arc:
    """Circular cut about ``centre`` at ``feed`` mm/min along the path; ends at ``to``.

    A change in Z makes it a helix; ``to`` equal to the start in X and Y makes it one full turn.
    """

    to: Point
    centre: XY
    ccw: bool
    feed: float


@dataclass(frozen=True, slots=True)
class Drill:
    """A drilled hole; begins at or above ``retract`` and ends over ``at`` at ``retract``.

    Rapid over ``at`` at the present Z, rapid down to ``retract``, feed to ``bottom`` (Z of the point), rapid back to
    ``retract``. With ``peck`` the drill comes up to ``retract`` after each such depth. From ``slow_from`` (Z) down to
    ``bottom`` it feeds at ``slow_feed``: the point is breaking through.
    """

    at: XY
    bottom: float
    retract: float
    feed: float
    peck: float | None = None
    slow_from: float | None = None
    slow_feed: float | None = None


@dataclass(frozen=True, slots=True)
class Pause:
    """The machine stands still until the operator presses start; ``why`` says what he is to look at."""

    why: str


Motion = Rapid | Line | Arc | Drill | Pause

OperationKind = Literal[
    "engrave", "mark", "spot", "pilot", "drill", "bore", "clear", "countersink", "contour", "finish", "air pass",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Operation:
    """One piece of work with one cutter at one speed, on one opening or on several alike.

    ``feature`` (``hole[3]``) and ``tags`` say what it makes; ``stepdown`` is the depth per pass (0: in one); ``depth``
    is the deepest Z of the tip, negative. ``reasons`` are phrases for the setup sheet. Motions begin and end at the
    setup's clear height, or at a retract height from which the next operation's first motion is safe. ``figures`` are
    those of the reasons that are about speed, feed and depth per pass, not about the way of making it.
    """

    kind: OperationKind
    cutter: int
    feature: str
    tags: tuple[str, ...]
    rpm: float
    feed: float
    plunge: float
    stepdown: float
    depth: float
    reasons: tuple[str, ...]
    motions: tuple[Motion, ...]
    figures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Setup:
    """One clamping of one panel. ``zero`` is the panel point at X0 Y0; ``mirrored``: machined from the inside.

    ``touch_off`` is in panel coordinates; ``stock`` is x0, y0, x1, y1 in panel coordinates. Operations stand in the
    order of work; neighbours with one cutter share its change.
    """

    panel: str
    number: int
    zero: XY
    mirrored: bool
    touch_off: XY
    clear_height: float
    thickness: float
    stock: tuple[float, float, float, float]
    operations: tuple[Operation, ...]
    count: int = 1
    """How many setups the panel has."""
    on_board: bool = False
    """The board below is worked on, the sheet off: it gets the holes for the pins of all setups."""
    to_draw: tuple[str, ...] = ()
    """The index holes whose pins stand where the cutter comes: they are drawn when the sheet is held, before start."""


@dataclass(frozen=True, slots=True)
class Program:
    """What one post-processor call writes: one setup of one job, with the job's title for its heading.

    Where the machine takes one cutter per program, ``setup`` holds the operations of one cutter, and this is number
    ``part`` of the ``parts`` that are run one after the other. ``dry``: the spindle stands still, and nothing is cut.
    """

    title: str
    setup: Setup
    part: int = 1
    parts: int = 1
    dry: bool = False

"""One job in one size, resolved: every length in mm, every angle in radians, every name looked up.

``toolpaths.job.load.read_job`` makes it from a file; ``toolpaths.layout.build.lay_out`` turns it into panels of shapes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from toolpaths.drawing_file.contents import Note, Shape
from toolpaths.job.chassis import Cabinet, Chassis, KeepApart, Obstacle
from toolpaths.job.component import Room, Side, Trait
from toolpaths.job.schema import Align, Finish, Origin, Spacing
from toolpaths.tables.hand_tools import HandTools, hand_tools
from toolpaths.tables.rows import Cutter, Machine, Material, Printer
from toolpaths.units import Units

__all__ = [
    "Clamp", "Countersink", "Cutout", "DHole", "DoubleDHole", "DrawnShapes", "Feature", "Grid", "HoldingTabs", "Hole",
    "HoleList", "Job", "KeyedHole", "Legend", "ListedHole", "Measured", "Panel", "Part", "Polygon", "Ring", "Round",
    "Row", "Scale", "Slot", "Text", "Thread",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class HoldingTabs:
    """Tabs as asked for; None: by the material's rule."""

    count: int | None = None
    width: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """What every feature has. ``number`` counts from 1 in file order within its kind; ``tabs`` is None for no tabs.

    ``depth`` counts at full diameter from the surface; None is through.
    """

    number: int
    at: tuple[float, float]
    label: str
    finish: Finish
    tabs: HoldingTabs | None
    depth: float | None = None


def hole_count(feature: Feature) -> int:
    """How many holes a feature has: one, unless its kind says otherwise."""
    return int(getattr(feature, "count", 1))


@dataclass(frozen=True, slots=True)
class Countersink:
    """A cone at the mouth of a hole: ``diameter`` at the surface, the whole ``angle`` in rad."""

    diameter: float
    angle: float


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread that is tapped by hand: its name, its pitch in mm, and where its tap drill comes from."""

    name: str
    pitch: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Round(Feature):
    """What round holes have; a threaded one has the diameter of its tap drill."""

    diameter: float
    tolerance: float
    countersink: Countersink | None = None
    thread: Thread | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole(Round):
    """A round hole."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DHole(Feature):
    """A circle with one flat on the side of ``angle`` (rad)."""

    diameter: float
    across_flat: float
    angle: float
    max_corner_radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubleDHole(Feature):
    """A circle with two flats ``across_flats`` apart, on the side of ``angle`` (rad) and opposite."""

    diameter: float
    across_flats: float
    angle: float
    max_corner_radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid(Round):
    """Round holes in ``columns`` and ``rows``, ``across`` and ``up`` apart, the middle of their box at ``at``.

    ``staggered``: the second, fourth, ... row from below is shifted to the right by half of ``across``.
    """

    columns: int
    rows: int
    across: float
    up: float
    staggered: bool

    @property
    def count(self) -> int:
        """How many holes it has."""
        return self.columns * self.rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutout(Feature):
    """A rounded rectangle turned by ``angle`` (rad)."""

    width: float
    height: float
    corner_radius: float
    angle: float
    max_corner_radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring(Round):
    """``count`` holes on a circle, counter-clockwise from ``start_angle`` (rad)."""

    circle_diameter: float
    count: int
    start_angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot(Feature):
    """``length`` over all, round ends of ``width``, long axis along ``angle`` (rad)."""

    length: float
    width: float
    angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyedHole(Feature):
    """A circle with a notch ``key_width`` wide that reaches ``key_depth`` beyond it on the side of ``angle`` (rad)."""

    diameter: float
    key_width: float
    key_depth: float
    angle: float
    max_corner_radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon(Feature):
    """Straight sides between ``points``, measured from ``at`` and turned by ``angle`` (rad) about it."""

    points: tuple[tuple[float, float], ...]
    corner_radius: float
    angle: float
    max_corner_radius: float


@dataclass(frozen=True, slots=True)
class ListedHole:
    """One hole of a list, its place not yet shifted or turned."""

    at: tuple[float, float]
    diameter: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleList(Feature):
    """Round holes of a file, turned by ``angle`` (rad) about ``at``, where their own 0, 0 lies."""

    holes: tuple[ListedHole, ...]
    angle: float
    tolerance: float

    @property
    def count(self) -> int:
        """How many holes it has."""
        return len(self.holes)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnShapes(Feature):
    """The closed contours of a drawing, turned by ``angle`` (rad) about ``at``, where its own 0, 0 lies.

    ``notes`` say what of ``file`` was left out, followed by arcs, or mended.
    """

    file: str
    shapes: tuple[Shape, ...]
    angle: float
    tolerance: float
    max_corner_radius: float
    notes: tuple[Note, ...]

    @property
    def count(self) -> int:
        """How many openings it has."""
        return len(self.shapes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Feature):
    """A component turned by ``angle`` (rad) about ``at``; its ``features`` and ``rooms`` are about its own centre.

    ``winding`` is the direction of a transformer's winding, rad from its own X; None where it has none, or where it
    stands along the panel's normal. ``clearance`` is the air that it wants round its room. ``passes``: what it has on
    the far side goes in through its own hole.
    """

    name: str
    angle: float
    clearance: float
    features: tuple[Feature, ...]
    rooms: tuple[Room, ...]
    traits: frozenset[Trait]
    winding: float | None
    fitted_from: Side
    passes: bool

    @property
    def count(self) -> int:
        """How many holes it has."""
        return sum(map(hole_count, self.features))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row(Feature):
    """Components along the line from ``at`` to ``to``, in ``groups``; where on it each stands the layout works out.

    ``step`` is the pitch or gap where it is given; None: the first and last centre are at the ends.
    """

    to: tuple[float, float]
    groups: tuple[tuple[Part, ...], ...]
    spacing: Spacing
    step: float | None
    group_space: float
    align: Align

    @property
    def count(self) -> int:
        """How many holes it has."""
        return sum(part.count for group in self.groups for part in group)


@dataclass(frozen=True, slots=True, kw_only=True)
class Legend(Feature):
    """Lettering or a scale; ``depth`` is how deep it is engraved, None: it is plotted alone. ``height`` of capitals."""

    height: float

    @property
    def count(self) -> int:
        """How many holes it has."""
        return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Text(Legend):
    """One line of lettering: ``at`` is the middle of the capitals' height at its ``align`` end, ``angle`` in rad."""

    text: str
    angle: float
    align: Literal["left", "centre", "right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale(Legend):
    """Ticks round a shaft at ``at``, from ``start_angle`` (rad) on over ``sweep`` rad clockwise.

    ``texts`` are those of the long ticks in their order, one for each, or none. A sweep of a whole turn has no last
    tick: it would be the first.
    """

    radius: float
    start_angle: float
    sweep: float
    divisions: int
    subdivisions: int
    major_tick: float
    minor_tick: float
    texts: tuple[str, ...]
    gap: float
    arc: bool


@dataclass(frozen=True, slots=True)
class Clamp:
    """Lower left corner in panel coordinates, extent along X and Y, ``height`` above the sheet.

    ``setup`` is the only setup of a divided panel in which it stands; 0: it stands wherever it can.
    """

    x: float
    y: float
    width: float
    length: float
    height: float
    setup: int = 0


@dataclass(frozen=True, slots=True)
class Measured:
    """What the real piece measures: the design's figure where the job gives none."""

    width: float
    height: float
    thickness: float


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel as designed. ``features`` are in file order within each kind, kinds in the order of the job format.

    ``stock_margin`` and ``outline_tabs`` are those of a machined outline; a margin of None: by the rule of the layout.
    """

    name: str
    material: str
    thickness: float
    thickness_text: str
    width: float
    height: float
    corner_radius: float
    origin: Origin
    mirrored: bool
    cut_outline: bool
    clamps: tuple[Clamp, ...]
    measured: Measured
    features: tuple[Feature, ...]
    stock_margin: float | None = None
    outline_tabs: HoldingTabs | None = None
    divide: bool = True
    """Whether a panel larger than the machine's travel is divided into setups; else it is refused."""


@dataclass(frozen=True, slots=True)
class Job:
    """One job in one size (None: the base), with its machine and tables.

    ``name`` is the file's name without suffix; ``parameters`` are name and value in words, in file order.
    """

    name: str
    title: str
    size: str | None
    sizes: tuple[str, ...]
    parameters: tuple[tuple[str, str], ...]
    units: Units
    pilot_diameter: float
    panels: tuple[Panel, ...]
    machine: Machine
    cutters: dict[int, Cutter]
    materials: dict[str, Material]
    chassis: Chassis | None = None
    obstacles: tuple[Obstacle, ...] = ()
    cabinet: Cabinet | None = None
    keep_apart: KeepApart = field(default_factory=KeepApart)
    hand_tools: HandTools = field(default_factory=lambda: hand_tools("mm"))
    printer: Printer | None = None
    """What prints templates, and drawings where the machine cuts; None: nothing is known of it."""

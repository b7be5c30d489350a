"""What the tables hold once loaded: frozen rows in millimetres, radians, m/min, each with its source.

The TOML files and the loader are beside this file; planner, judge and papers read only these rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

CutterKind = Literal["drill", "spot drill", "end mill", "countersink", "engraver", "pen"]
Twist = Literal["up", "down", "compression"]


@dataclass(frozen=True, slots=True)
class Cutter:
    """One row of the cutter table; ``number`` is its T number. Lengths mm; ``point_angle`` rad (pi: flat).

    ``material`` is ``HSS`` or ``carbide``. ``serves`` names the material families it is ground for (``metal``,
    ``board``); ``trade_name`` is the size as the trade says it (``1/8 in``, ``3 mm``, ``#7``). ``twist`` says where the
    flutes send the chips: ``up`` and out, ``down`` into the kerf, or ``compression``: up at the tip and down above it.
    ``tip`` is the width of an engraver's flat tip, from which its cone widens to ``diameter``.
    """

    number: int
    kind: CutterKind
    diameter: float
    material: str
    flutes: int
    flute_length: float
    stick_out: float
    shank: float
    point_angle: float
    serves: tuple[str, ...]
    trade_name: str
    source: str
    twist: Twist = "up"
    tip: float = 0.0

    @property
    def radius(self) -> float:
        """Half the diameter, mm."""
        return self.diameter / 2

    @property
    def name(self) -> str:
        """What the trade calls it: ``6 mm end mill``, ``6 mm down-cut end mill``, ``#7 drill``."""
        special = {"up": "", "down": "down-cut ", "compression": "compression "}[self.twist]
        return f"{self.trade_name} {special}{self.kind}"

    @property
    def point_length(self) -> float:
        """Height of the conical point, (d - tip)/2 / tan(point/2); 0 for a flat end."""
        return self.length_of_point(self.diameter)

    def length_of_point(self, diameter: float) -> float:
        """Height of the cone from the tip to where it is ``diameter`` wide, mm."""
        if self.point_angle >= math.pi - 1e-9:
            return 0.0
        return max(0.0, diameter - self.tip) / 2 / math.tan(self.point_angle / 2)

    def width_at(self, depth: float) -> float:
        """How wide it cuts ``depth`` mm above its tip: tip + 2 depth tan(point/2), at most its diameter.

        >>> from toolpaths.tables.load import cutters
        >>> round(cutters()[1860].width_at(0.15), 4)
        0.2732
        """
        if self.point_angle >= math.pi - 1e-9:
            return self.diameter
        return min(self.diameter, self.tip + 2 * max(0.0, depth) * math.tan(self.point_angle / 2))


@dataclass(frozen=True, slots=True)
class Rate:
    """A figure valid from a cutter's ``diameter`` (mm) on: ``low`` to ``high``, with its source."""

    diameter: float
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True)
class TabRule:
    """Holding tabs in mm: width at the edge is cutter + ``neck``.

    ``height`` in sheet up to ``thin``, else ``height_thick``. At least ``least`` of them, one per ``spacing`` of
    contour.
    """

    neck: float
    height: float
    thin: float
    height_thick: float
    spacing: float
    least: int
    source: str


@dataclass(frozen=True, slots=True)
class Material:
    """One row of the material table.

    ``speeds`` maps (cutter kind, cutter material) to (m/min, source). ``chip_loads`` (mm/tooth) and ``drill_feeds``
    (mm/rev) are ordered by diameter. ``cutting_force`` is the specific cutting force in N/mm² (= J/cm³).
    ``stepdown`` is in cutter diameters on a stiff mill. ``ramp`` rad. ``plunge`` is the share of the feed in straight
    plunges of an end mill. ``web`` is the least web or edge in sheet thicknesses, ``web_least`` in mm.
    ``finish_router`` and ``finish_mill`` are the finishing allowances in mm. ``gauge`` names the sheet gauge or is
    empty.
    """

    name: str
    family: Literal["metal", "board"]
    gauge: str
    speeds: dict[tuple[str, str], tuple[float, str]]
    chip_loads: tuple[Rate, ...]
    chip_floor: float
    drill_feeds: tuple[Rate, ...]
    cutting_force: float
    stepdown: float
    ramp: float
    plunge: float
    finish_router: float
    finish_mill: float
    web: float
    web_least: float
    tabs: TabRule
    source: str
    sources: dict[str, str]

    def speed(self, kind: str, cutter_material: str) -> float | None:
        """Cutting speed in m/min for a cutter kind and material, or None where the table has none."""
        row = self.speeds.get((kind, cutter_material))
        return row[0] if row else None

    def chip_load(self, diameter: float) -> tuple[float, float]:
        """Low and high feed per tooth, mm, for an end mill: straight-line between the rows, level outside them."""
        return between(self.chip_loads, diameter)

    def drill_feed(self, diameter: float) -> tuple[float, float]:
        """Low and high feed per revolution, mm, for a drill."""
        return between(self.drill_feeds, diameter)


def between(rows: tuple[Rate, ...], diameter: float) -> tuple[float, float]:
    """Low and high at ``diameter``, interpolated between the neighbouring rows and held level beyond the ends.

    >>> rows = (Rate(2, 1.0, 2.0, ""), Rate(4, 3.0, 6.0, ""))
    >>> between(rows, 1), between(rows, 3), between(rows, 9)
    ((1.0, 2.0), (2.0, 4.0), (3.0, 6.0))
    """
    if diameter <= rows[0].diameter:
        return rows[0].low, rows[0].high
    for below, above in pairwise(rows):
        if diameter <= above.diameter:
            share = (diameter - below.diameter) / (above.diameter - below.diameter)
            return below.low + share * (above.low - below.low), below.high + share * (above.high - below.high)
    return rows[-1].low, rows[-1].high


@dataclass(frozen=True, slots=True)
class Dialect:
    """What the controller can do: the ``[program]`` table of a machine file, never whose controller it is.

    ``chord_tolerance``, mm: where the controller lacks arcs, chords keep this near to them.
    """

    units: Literal["mm", "in"] = "mm"
    decimals: int = 3
    arcs: bool = True
    helical_arcs: bool = True
    canned_cycles: bool = False
    change: Literal["automatic", "pause", "one program per cutter"] = "pause"
    length: Literal["touch off", "length table"] = "touch off"
    dwell: Literal["seconds", "milliseconds"] = "seconds"
    comments: Literal["( )", ";", "none"] = "( )"
    line_numbers: bool = False
    percent_lines: bool = False
    line_ending: Literal["lf", "crlf"] = "lf"
    slots: tuple[tuple[int, int], ...] = ()
    chord_tolerance: float = 0.004

    @property
    def unit(self) -> float:
        """Millimetres in one unit of its programs."""
        return 25.4 if self.units == "in" else 1.0

    @property
    def step(self) -> float:
        """The last printed digit of a coordinate, mm."""
        return float(self.unit * 10.0**-self.decimals)


@dataclass(frozen=True, slots=True)
class PenHolder:
    """How a machine draws with a pen: ``feed`` mm/min, ``dwell`` s after the pen is lowered or lifted.

    By Z: ``up`` is the height of the tip above the paper between strokes, ``press`` how far below the paper's surface
    the spring-loaded tip is sent, both mm. By command: the words ``lower`` and ``lift``; then Z is never named.
    ``diameter`` is the widest of pen, holder and nut beside a clamp.
    """

    feed: float
    dwell: float
    up: float
    press: float
    lower: str
    lift: str
    diameter: float

    @property
    def by_command(self) -> bool:
        """Whether words lower the pen, and not Z."""
        return bool(self.lower)


@dataclass(frozen=True, slots=True)
class Printer:
    """What prints or plots: its name, and ``scale`` in x and y: stated length / measured length."""

    name: str
    scale: tuple[float, float]
    source: str


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine. Lengths mm, feeds mm/min, acceleration mm/s², times s, power W.

    ``travel`` is x, y, z. ``stiffness`` is the factor on depth per pass (a bench mill has 1). ``nut_diameter`` and
    ``nut_length`` are the collet nut's. ``daylight`` is table to collet nut with Z fully up.
    """

    name: str
    travel: tuple[float, float, float]
    daylight: float
    min_rpm: float
    max_rpm: float
    power: float
    spin_up: float
    speed_control: bool
    max_xy: float
    max_z: float
    rapid_xy: float
    rapid_z: float
    acceleration: float
    stiffness: float
    backlash: float
    nut_diameter: float
    nut_length: float
    spoilboard: float
    change_seconds: float
    program: Dialect
    source: str
    pen: PenHolder | None = None
    """How it draws; None for a machine that draws from SVG alone."""
    scale: tuple[float, float] = (1.0, 1.0)
    """True scale of what it draws, in x and y: stated length / measured length. Programs that cut never have it."""

    @property
    def cuts(self) -> bool:
        """Whether it has a spindle; a pen plotter has none, and its other figures beside X and Y travel are 0."""
        return self.max_rpm > 0

    @property
    def climbs(self) -> bool:
        """Whether it climb-mills: backlash at most 0.02 mm (common practice)."""
        return self.backlash <= 0.02

"""The shape of the table files: what keys a row has, in the units that the file states.

Strict pydantic models (no unknown key, no text for a number); ``load`` turns them into the frozen rows.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, field_validator, model_validator

from toolpaths.tables.lengths import Length, LengthOrZero
from toolpaths.tables.rows import CutterKind, Twist
from toolpaths.tables.toml_file import shown
from toolpaths.units import INCH

Text = Annotated[str, Field(min_length=1, max_length=200)]
Source = Annotated[str, Field(min_length=4, max_length=1000)]
Positive = Annotated[float, Field(gt=0)]


class Table(BaseModel):
    """What all tables of a file share: strict, closed, frozen, finite; built when it is first read."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False, defer_build=True)


class RowsFile(Table):
    """The head of a file of rows; its rows are judged one by one, after ours are laid under them."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    cutter: list[dict[str, Any]] = []
    material: list[dict[str, Any]] = []


class CutterRow(Table):
    """One ``[[cutter]]``."""

    number: int = Field(ge=1, le=9999)
    kind: CutterKind
    diameter: Length
    material: Literal["HSS", "carbide"]
    flutes: int = Field(ge=1, le=12)
    twist: Twist = "up"
    tip: LengthOrZero = 0.0
    flute_length: Length
    stick_out: Length
    shank: Length
    point_angle: float = Field(default=180.0, ge=20, le=180)
    serves: list[Literal["metal", "board"]] = Field(default=["metal", "board"], min_length=1)
    trade_name: Text
    source: Source

    @model_validator(mode="after")
    def _possible(self) -> CutterRow:
        if self.flute_length > self.stick_out:
            raise ValueError(
                f"flute_length {self.flute_length:g} mm is more than stick_out {self.stick_out:g} mm; "
                "a cutter is held by its shank, beyond the flutes"
            )
        if self.kind in ("drill", "spot drill") and self.point_angle >= 180:
            raise ValueError("a drill has a point_angle below 180, such as 118 or 135 (90 for a spot drill)")
        if self.kind == "engraver" and not 20 <= self.point_angle <= 120:
            raise ValueError("an engraver has a point_angle of 20 to 120, the whole angle of its cone")
        if self.tip and self.kind != "engraver":
            raise ValueError("tip is the width of an engraver's flat tip: leave it out")
        if self.tip >= self.diameter:
            raise ValueError(f"tip {self.tip:g} mm is no less than the diameter, {self.diameter:g} mm")
        if self.kind == "end mill" and self.point_angle < 180:
            raise ValueError("an end mill is flat: point_angle 180")
        return self


class CuttersFile(Table):
    """A file of cutters, as its schema states it; ``RowsFile`` reads it row by row."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    cutter: list[CutterRow] = []


CUTTER_LENGTHS = frozenset({"diameter", "flute_length", "stick_out", "shank", "tip"})


class Figure(Table):
    """One figure with its unit and source."""

    value: float
    unit: str
    source: Source


def _in(unit: str, low: float, high: float) -> AfterValidator:
    """Holds a figure to its one unit, and to bounds that catch a slipped decimal point."""

    def check(figure: Figure) -> Figure:
        if figure.unit != unit:
            raise ValueError(f"has the unit '{figure.unit}'; it is stated in '{unit}'")
        if not low < figure.value <= high:
            raise ValueError(f"is {figure.value:g} {unit}; it must be above {low:g} and at most {high:g}")
        return figure

    return AfterValidator(check)


class SpeedRow(Table):
    """Cutting speed of one cutter kind and cutter material."""

    cutter: CutterKind
    cutter_material: Literal["HSS", "carbide"]
    speed: Positive
    unit: Literal["ft/min", "m/min"]
    source: Source

    @property
    def metres_per_minute(self) -> float:
        """The speed in m/min."""
        return self.speed * (0.3048 if self.unit == "ft/min" else 1.0)


def _stated(value: Any) -> Any:
    if not isinstance(value, str):
        raise ValueError("needs its unit: write text such as '1/8 in' or '3 mm'")
    return value


class RateRow(Table):
    """A range of feed per tooth or per revolution, reached at ``diameter``."""

    diameter: Annotated[Length, BeforeValidator(_stated)]
    low: Positive
    high: Positive
    unit: Literal["mm/tooth", "in/tooth", "mm/rev", "in/rev"]
    source: Source

    @model_validator(mode="after")
    def _ordered(self) -> RateRow:
        if self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self

    @property
    def factor(self) -> float:
        """What turns the row's unit into mm."""
        return INCH if self.unit.startswith("in") else 1.0


def _all_per(rows: list[RateRow], what: str) -> list[RateRow]:
    for row in rows:
        if not row.unit.endswith(f"/{what}"):
            raise ValueError(f"the row at {row.diameter:g} mm is in {row.unit}, not in mm/{what} or in/{what}")
    return rows


class TabsRow(Table):
    """Holding tabs: see ``rows.TabRule``."""

    neck: Length
    height: Length
    thin: Length
    height_thick: Length
    spacing: Length
    least: int = Field(ge=2, le=50)
    source: Source


class MaterialRow(Table):
    """One ``[[material]]``: every figure carries its unit and source."""

    name: Text
    family: Literal["metal", "board"]
    gauge: Literal["", "steel sheet", "galvanised sheet", "aluminium sheet"]
    source: Source
    speeds: list[SpeedRow] = Field(min_length=1)
    chip_loads: list[RateRow] = Field(min_length=1)
    drill_feeds: list[RateRow] = Field(min_length=1)
    chip_floor: Annotated[Figure, _in("mm/tooth", 0, 0.5)]
    cutting_force: Annotated[Figure, _in("N/mm2", 0, 20000)]
    stepdown: Annotated[Figure, _in("x diameter", 0, 3)]
    ramp: Annotated[Figure, _in("deg", 0, 45)]
    plunge: Annotated[Figure, _in("x feed", 0, 1)]
    finish_router: Annotated[Figure, _in("mm", 0, 2)]
    finish_mill: Annotated[Figure, _in("mm", 0, 2)]
    web: Annotated[Figure, _in("x thickness", 0, 20)]
    web_least: Annotated[Figure, _in("mm", 0, 50)]
    tabs: TabsRow

    @field_validator("chip_loads", "drill_feeds")
    @classmethod
    def _by_diameter(cls, rows: list[RateRow]) -> list[RateRow]:
        sizes = [row.diameter for row in rows]
        if sizes != sorted(set(sizes)):
            raise ValueError("the rows must go from the smallest diameter up, each diameter once")
        return rows

    @field_validator("chip_loads")
    @classmethod
    def _by_the_tooth(cls, rows: list[RateRow]) -> list[RateRow]:
        return _all_per(rows, "tooth")

    @field_validator("drill_feeds")
    @classmethod
    def _by_the_turn(cls, rows: list[RateRow]) -> list[RateRow]:
        return _all_per(rows, "rev")

    @model_validator(mode="after")
    def _above_the_floor(self) -> MaterialRow:
        for row in self.chip_loads:
            if row.high * row.factor < self.chip_floor.value:
                raise ValueError(f"the chip load at {row.diameter:g} mm never reaches the chip floor: it would rub")
        return self


class MaterialsFile(Table):
    """A file of materials, as its schema states it; ``RowsFile`` reads it row by row."""

    format: Literal[1]
    units: Literal["mm", "in"] = "mm"
    material: list[MaterialRow] = []


class Travel(Table):
    """How far the axes go."""

    x: Length
    y: Length
    z: Length


class Sheet(Table):
    """How far a pen goes; ``z`` where it is lifted by an axis."""

    x: Length
    y: Length
    z: Length | None = None


class SpindleTable(Table):
    """What the spindle does."""

    min_rpm: float = Field(ge=0)
    max_rpm: Positive
    power_w: Positive
    spin_up_s: float = Field(ge=0, le=120)
    speed_control: bool

    @model_validator(mode="after")
    def _ordered(self) -> SpindleTable:
        if self.min_rpm > self.max_rpm:
            raise ValueError(f"min_rpm {self.min_rpm:g} is above max_rpm {self.max_rpm:g}")
        return self


class FeedTable(Table):
    """What the axes do: mm/min (in/min where the file is in inches), mm/s² (in/s²)."""

    max_xy: Length
    max_z: Length
    rapid_xy: Length
    rapid_z: Length
    acceleration: Length


class NutTable(Table):
    """The collet nut's room."""

    diameter: Length
    length: Length


class ProgramTable(Table):
    """What the controller can do."""

    units: Literal["mm", "in"] = "mm"
    decimals: int = Field(default=3, ge=3, le=6, description="Default 3, and 4 where the programs are in inches.")
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
    slots: dict[str, int] = {}
    chord_tolerance: Length = 0.004

    @field_validator("chord_tolerance")
    @classmethod
    def _within_the_proof(cls, tolerance: float) -> float:
        if not 0.0005 <= tolerance <= 0.006:
            raise ValueError(
                f"is {tolerance:g} mm; it must be 0.0005 to 0.006 mm: the piece is proved to 0.01 mm, rounding and all"
            )
        return tolerance

    @model_validator(mode="before")
    @classmethod
    def _four_in_inches(cls, table: Any) -> Any:
        if isinstance(table, dict) and table.get("units") == "in":
            return {"decimals": 4} | table
        return table

    @model_validator(mode="after")
    def _fine_enough(self) -> ProgramTable:
        if self.units == "in" and self.decimals == 3:
            raise ValueError("decimals: 4 or more in inches, since 0.001 in is coarser than the 0.01 mm that is proved")
        return self

    @field_validator("slots")
    @classmethod
    def _one_place_each(cls, slots: dict[str, int]) -> dict[str, int]:
        for slot in slots:
            if not slot.isascii() or not slot.isdigit() or int(slot) < 1:
                raise ValueError(f"'{slot}' is no slot; slots are numbered from 1")
        if len(set(slots.values())) < len(slots):
            raise ValueError("one cutter stands in two slots")
        return slots


class ScaleTable(Table):
    """True scale: stated length / measured length of a check bar, across (x) and upright (y)."""

    x: float = Field(default=1.0, ge=0.9, le=1.1)
    y: float = Field(default=1.0, ge=0.9, le=1.1)


PEN_WORDS = r"(M[34] ?S[0-9]{1,5}(\.[0-9]{1,3})?|M5)"
"""The words that may lower or lift a pen: a servo stands where the spindle's speed is set, or falls back at M5."""


class PenTable(Table):
    """A pen in the machine: by Z (``up``, ``press``), or by the words ``lower`` and ``lift``."""

    up: Length | None = Field(default=None, le=50)
    press: LengthOrZero | None = Field(default=None, le=5)
    lower: str | None = Field(default=None, pattern=rf"^{PEN_WORDS}$")
    lift: str | None = Field(default=None, pattern=rf"^{PEN_WORDS}$")
    feed: Length = Field(default=1200.0, le=20000)
    dwell: float = Field(default=0.0, ge=0, le=10)
    diameter: Length | None = Field(default=None, le=300)

    @field_validator("lower", "lift", mode="before")
    @classmethod
    def _a_word(cls, words: Any) -> Any:
        if isinstance(words, str) and not re.fullmatch(PEN_WORDS, words):
            raise ValueError(f"is {shown(words)}; write M3 or M4 with S, such as 'M3 S90', or M5")
        return words

    @field_validator("lower", "lift")
    @classmethod
    def _one_block(cls, words: str | None) -> str | None:
        return None if words is None else words.replace(" ", "").replace("S", " S")

    @model_validator(mode="after")
    def _one_way(self) -> PenTable:
        if (self.lower is None) != (self.lift is None):
            raise ValueError("lower and lift go together: give both, or up and press")
        if self.lower is not None and (self.up is not None or self.press is not None):
            raise ValueError("the pen is moved by Z (up, press) or by words (lower, lift), not by both")
        if self.lower == "M5":
            raise ValueError("lower is M3 or M4 with S: at M5, and at every program's end, the pen must come up")
        if self.lower is not None and self.lower == self.lift:
            raise ValueError("lower and lift are the same words")
        return self


class MachineFile(Table):
    """A machine's file."""

    format: Literal[1]
    name: Text
    units: Literal["mm", "in"] = "mm"
    travel: Travel
    daylight: Length
    spindle: SpindleTable
    feed: FeedTable
    stiffness: float = Field(gt=0, le=2)
    backlash: LengthOrZero
    collet_nut: NutTable
    spoilboard: LengthOrZero
    change_seconds: float = Field(ge=0)
    program: ProgramTable = ProgramTable()
    pen: PenTable = Field(default_factory=PenTable)
    scale: ScaleTable = ScaleTable()
    source: Source

    @field_validator("pen")
    @classmethod
    def _by_z(cls, pen: PenTable) -> PenTable:
        if pen.lower is not None:
            raise ValueError(
                "lower and lift would turn the spindle with the pen in it; say up and press, or describe what draws in "
                "a file of its own, without spindle"
            )
        return pen


class PlotterFile(Table):
    """The file of a machine that only draws: one without spindle and feeds."""

    format: Literal[1]
    name: Text
    units: Literal["mm", "in"] = "mm"
    travel: Sheet
    program: ProgramTable = ProgramTable()
    pen: PenTable | None = None
    scale: ScaleTable = ScaleTable()
    source: Source

    @model_validator(mode="after")
    def _reaches_up(self) -> PlotterFile:
        if self.pen is not None and self.pen.lower is None and self.travel.z is None:
            raise ValueError("pen is moved by Z, and travel has no z; say it, or the words lower and lift")
        return self


class PrinterFile(Table):
    """The file of what prints: its true scale alone."""

    format: Literal[1]
    name: Text
    units: Literal["mm", "in"] = "mm"
    scale: ScaleTable
    source: Source = "own file"


MACHINE_LENGTHS = frozenset(
    {"x", "y", "z", "daylight", "max_xy", "max_z", "rapid_xy", "rapid_z", "acceleration"}
    | {"backlash", "diameter", "length", "spoilboard", "chord_tolerance", "up", "press"}
)

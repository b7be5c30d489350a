"""The job file's tables as written, before any expression has a value: which keys there are and of what kind.

Tables are frozen and refuse unknown keys.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from typing import Annotated, Any, ClassVar, Final, Literal, get_args

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr, WithJsonSchema

from toolpaths.job.component import Trait
from toolpaths.job.expression import LONGEST_TEXT
from toolpaths.tables.toml_file import Place, shown

LONGEST_LABEL: Final = 200
LONGEST_NAME: Final = 64
_NAME = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 _-]*[A-Za-z0-9])?")
_DEVICES: Final = frozenset({"con", "prn", "aux", "nul"} | {f"{port}{n}" for port in ("com", "lpt") for n in range(10)})

Units = Literal["mm", "in"]
Spacing = Literal["equal pitch", "equal gap"]
Align = Literal["centred", "from", "to"]
Finish = Literal["machine", "pilot", "mark"]
Origin = Literal[
    "lower left", "lower centre", "lower right",
    "left centre", "centre", "right centre",
    "upper left", "upper centre", "upper right",
]  # fmt: skip


class _InError(float):
    """The type of ``IN_ERROR``."""


IN_ERROR: Final = _InError("nan")
"""Stands in for a value that has been reported as wrong, so that the rest of its table can be looked at."""


def number_or_text(value: Any) -> Any:
    """A number or a text, as TOML has them; ``ValueError`` for a boolean, which is no number, and for inf and nan."""
    if value is IN_ERROR:
        return value
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT:
            raise ValueError(f"a text of {len(value)} characters; at most {LONGEST_TEXT} are read")
        return value
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"is {shown(value)}; write a number or a text such as '3/8 in'")
    if isinstance(value, int) and abs(value) > 10**15:
        raise ValueError("is too large a number")
    if not math.isfinite(value):
        raise ValueError(f"is {shown(value)}; write a finite number")
    return float(value)


def one_line(value: str) -> str:
    """A label is one line of text: line ends, tabs and other controls become spaces."""
    if len(value) > LONGEST_LABEL:
        raise ValueError(f"has {len(value)} characters; at most {LONGEST_LABEL} are read")
    return " ".join("".join(sign if sign.isprintable() else " " for sign in value).split())


def proper_name(value: str) -> str:
    """A panel's or size's name: it becomes part of a file's name on any system.

    Raises ``ValueError`` where it is not made of ASCII letters, digits, space, ``-`` and ``_``, with a letter or digit
    at both ends, is over 64 characters, or is the name of a device.
    """
    if len(value) > LONGEST_NAME:
        raise ValueError(f"a name of {len(value)} characters; at most {LONGEST_NAME} are read")
    if not _NAME.fullmatch(value):
        raise ValueError(
            f"{shown(value)} is no name; use ASCII letters, digits, space, '-' and '_', "
            "beginning and ending in a letter or digit"
        )
    if value.lower() in _DEVICES:
        raise ValueError(f"{shown(value)} is a device's name on some systems; choose another")
    return value


def list_of_texts(value: Any) -> Any:
    """TOML's list as a tuple, where it holds texts alone."""
    if isinstance(value, (list, tuple)) and all(isinstance(item, str) for item in value):
        return tuple(value)
    raise ValueError(f"is {shown(value)}; write a list of texts in quotes, such as ['one', 'two']")


Expression = Annotated[
    float | str,
    BeforeValidator(number_or_text),
    Field(description="A number in the job's units, or text: a length with its unit, or an expression."),
]
"""A number, or a text that is an expression (``toolpaths.job.expression``)."""

Label = Annotated[str, AfterValidator(one_line)]
Name = Annotated[str, AfterValidator(proper_name)]


class Table(BaseModel):
    """One table of the file; ``place`` says where it stands, so that later errors can name it.

    What judges a kind of table is built when a job first has one: most jobs have few of them.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)
    _place: Place = PrivateAttr(default=())

    @property
    def place(self) -> Place:
        """Keys and indices (from 0) of this table in the file."""
        return self._place

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each expression that must be given, or was given ``wrong``."""
        required = {key: field.annotation for key, field in cls.model_fields.items() if field.is_required()}
        stand_ins: dict[str, Any] = {key: IN_ERROR for key, kind in required.items() if kind == float | str}
        optional = {key for key, field in cls.model_fields.items() if field.annotation == Expression | None}
        stand_ins |= dict.fromkeys(optional.intersection(wrong), IN_ERROR)
        return stand_ins | ({"at": (IN_ERROR, IN_ERROR)} if "at" in required else {})

    def standing_at(self, place: Place) -> None:
        """Notes the table's place, once, after it has been read."""
        self._place = place


class TabsTable(Table):
    """``tabs = { count, width, height }``: whatever is not given is the material's rule."""

    count: Expression | None = None
    width: Expression | None = None
    height: Expression | None = None


def _true_false_or_table(value: Any) -> Any:
    if isinstance(value, (bool, dict, TabsTable)):
        return value
    raise ValueError(f"is {shown(value)}; write true, false or {{ count, width, height }}")


Tabs = Annotated[bool | TabsTable, BeforeValidator(_true_false_or_table)]


def _pair(value: Any) -> Any:
    if isinstance(value, list) and len(value) == 2:
        return tuple(value)
    if isinstance(value, tuple):
        return value
    raise ValueError(f"is {shown(value)} and no pair; write [x, y]")


Point = Annotated[tuple[Expression, Expression], BeforeValidator(_pair)]


class PlacedTable(Table):
    """What everything on a panel has."""

    kind: ClassVar[str]
    label: Label = ""
    finish: Finish | None = None


class OpenedTable(PlacedTable):
    """What everything that opens the sheet has."""

    tabs: Tabs = True


class FeatureTable(OpenedTable):
    """What every opening has."""

    at: Point
    depth: Expression | None = None


class CountersinkTable(Table):
    """``countersink = { diameter, angle }``: the cone's width at the surface, and its whole angle in degrees."""

    diameter: Expression
    angle: Expression


class RoundTable(FeatureTable):
    """What round holes have; the diameter is given, or follows from the thread."""

    diameter: Expression | None = None
    tolerance: Expression = 0.0
    countersink: CountersinkTable | None = None
    thread: str | None = None


class HoleTable(RoundTable):
    """``[[panel.hole]]``: a round hole."""

    kind = "hole"


class DHoleTable(FeatureTable):
    """``[[panel.d_hole]]``: a circle with one flat, on the side to which ``angle`` points."""

    kind = "d_hole"
    diameter: Expression
    across_flat: Expression
    angle: Expression = 0.0
    max_corner_radius: Expression | None = None


class DoubleDHoleTable(FeatureTable):
    """``[[panel.double_d_hole]]``: a circle with two flats, one on the side to which ``angle`` points, one opposite."""

    kind = "double_d_hole"
    diameter: Expression
    across_flats: Expression
    angle: Expression = 0.0
    max_corner_radius: Expression | None = None


class CutoutTable(FeatureTable):
    """``[[panel.cutout]]``: a rounded rectangle."""

    kind = "cutout"
    width: Expression
    height: Expression
    corner_radius: Expression = 0.0
    angle: Expression = 0.0
    max_corner_radius: Expression | None = None


class RingTable(RoundTable):
    """``[[panel.ring]]``: holes evenly spaced on a circle, counter-clockwise from ``start_angle``."""

    kind = "ring"
    circle_diameter: Expression
    count: Expression
    start_angle: Expression = 0.0


class SlotTable(FeatureTable):
    """``[[panel.slot]]``: ``length`` over all, round ends, long axis along ``angle``."""

    kind = "slot"
    length: Expression
    width: Expression
    angle: Expression = 0.0


def _pitch(value: Any) -> Any:
    return _pair(value) if isinstance(value, (list, tuple)) else number_or_text(value)


class GridTable(RoundTable):
    """``[[panel.grid]]``: round holes in columns and rows; ``pitch`` is one length or ``[across, up]``."""

    kind = "grid"
    columns: Expression
    rows: Expression
    pitch: Annotated[float | str | tuple[Expression, Expression], BeforeValidator(_pitch)]
    staggered: bool = False

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given, or was given ``wrong``."""
        return super().stand_ins(wrong) | {"pitch": IN_ERROR}


class KeyedHoleTable(FeatureTable):
    """``[[panel.keyed_hole]]``: a circle with a rectangular notch that reaches beyond it on the side of ``angle``."""

    kind = "keyed_hole"
    diameter: Expression
    key_width: Expression
    key_depth: Expression
    angle: Expression = 0.0
    max_corner_radius: Expression | None = None


def _points(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return tuple(value)
    raise ValueError(f"is {shown(value)} and no list; write [[x, y], [x, y], [x, y]]")


class PolygonTable(FeatureTable):
    """``[[panel.polygon]]``: straight sides from point to point, measured from ``at``; every corner may be rounded."""

    kind = "polygon"
    at: Point = (0.0, 0.0)
    points: Annotated[tuple[Point, ...], BeforeValidator(_points)]
    corner_radius: Expression = 0.0
    angle: Expression = 0.0
    max_corner_radius: Expression | None = None

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given, or was given ``wrong``."""
        return super().stand_ins(wrong) | {"points": ((IN_ERROR, IN_ERROR),)}


class HoleListTable(FeatureTable):
    """``[[panel.hole_list]]``: the round holes of a CSV file, shifted by ``at`` and turned by ``angle`` about it."""

    kind = "hole_list"
    at: Point = (0.0, 0.0)
    file: str
    angle: Expression = 0.0
    tolerance: Expression = 0.0


def _texts(value: Any) -> Any:
    return (value,) if isinstance(value, str) else list_of_texts(value)


class DrawingTable(FeatureTable):
    """``[[panel.drawing]]``: the closed contours of a DXF file, shifted by ``at`` and turned by ``angle`` about it.

    Of ``layer``, or of all that are shown. ``units``: what a unit of it is, where it does not say so itself. ``gap``:
    the furthest that loose ends are apart which are joined.
    """

    kind = "drawing"
    at: Point = (0.0, 0.0)
    file: str
    layer: Annotated[tuple[str, ...], BeforeValidator(_texts), WithJsonSchema({
        "anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}],
    })] = ()
    units: Units | None = None
    gap: Expression | None = None
    angle: Expression = 0.0
    tolerance: Expression = 0.0
    max_corner_radius: Expression | None = None


class ComponentKeys(Table):
    """What is said of a component wherever it is placed: which it is, how it is turned, what the rules take it for.

    ``part`` is a component's name, or that of a series of them, whose size is then given as ``nominal``. ``traits``
    replace those of the component's row; ``clearance`` is the air that it wants round its room.
    """

    part: str
    nominal: Expression | None = None
    angle: Expression = 0.0
    clearance: Expression = 0.0
    traits: Annotated[tuple[Trait, ...], BeforeValidator(list_of_texts)] | None = None


class PartTable(ComponentKeys, OpenedTable):
    """``[[panel.part]]``: a component, which brings its holes and the room that it needs."""

    kind = "part"
    at: Point


class RowPartTable(ComponentKeys):
    """One component of a row."""

    label: Label = ""


def _groups(value: Any) -> Any:
    """The parts of a row as groups of tables: a name alone, or a list of parts without groups, is shorthand."""
    if value == ():  # stands in for a list that has been reported as wrong
        return value
    if isinstance(value, (list, tuple)):
        value = [item for item in value if item != ()]
    if not isinstance(value, (list, tuple)) or not value:
        said = "is empty" if value == [] else f"is {shown(value)}"
        raise ValueError(f"{said}; write a list of parts, or of groups of parts, each a list")
    if not any(isinstance(item, (list, tuple)) for item in value):
        value = [value]
    if not all(isinstance(item, (list, tuple)) and item for item in value):
        raise ValueError("mixes parts and groups; write a list of parts, or of groups of parts, each a list")
    return tuple(tuple({"part": part} if isinstance(part, str) else part for part in group) for group in value)


_PART_OR_NAME: Final[dict[str, Any]] = {"anyOf": [{"type": "string"}, {"type": "object"}]}

Groups = Annotated[
    tuple[tuple[RowPartTable, ...], ...],
    BeforeValidator(_groups),
    WithJsonSchema(
        {
            "type": "array",
            "items": {"anyOf": [*_PART_OR_NAME["anyOf"], {"type": "array", "items": _PART_OR_NAME}]},
            "description": "Parts by name, or tables { part, label, angle, clearance, traits }; or groups of these.",
        }
    ),
]


class RowTable(OpenedTable):
    """``[[panel.row]]``: components along the line between two points.

    ``equal pitch``: from centre to centre; ``equal gap``: the same air between their rooms along the line. The first
    centre is at ``from`` and the last at ``to``, unless ``pitch`` or ``gap`` is given: then ``align`` says where on
    the line the row is. Between groups there is ``group_space`` more. ``mirrored``: the parts given are the first half
    of the row, and its mirror image follows, as far as turning goes (``job.mirroring``). ``angle`` turns them all.
    """

    kind = "row"
    start: Point = Field(alias="from")
    to: Point
    parts: Groups
    spacing: Spacing = "equal pitch"
    pitch: Expression | None = None
    gap: Expression | None = None
    group_space: Expression | None = None
    align: Align | None = None
    mirrored: bool = False
    angle: Expression = 0.0

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given."""
        nowhere = (IN_ERROR, IN_ERROR)
        return super().stand_ins(wrong) | {"from": nowhere, "to": nowhere, "parts": ()}


class LegendTable(PlacedTable):
    """What lettering and scales have. They are plotted; with ``depth`` and finish ``machine`` they are engraved too."""

    at: Point
    depth: Expression | None = None


def _lettered(value: str) -> str:
    if not value:
        raise ValueError("is empty; write what is to be lettered")
    return value


class TextTable(LegendTable):
    """``[[panel.text]]``: one line of stroke lettering, its capitals ``height`` high.

    ``at`` is the middle of the capitals' height, at the text's middle or, by ``align``, its left or right end; the text
    is turned by ``angle`` about it.
    """

    kind = "text"
    text: Annotated[Label, AfterValidator(_lettered)]
    height: Expression = "3.5 mm"
    angle: Expression = 0.0
    align: Literal["left", "centre", "right"] = "centre"

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given, or was given ``wrong``."""
        return super().stand_ins(wrong) | {"text": "-"}


def _two(value: Any) -> Any:
    if isinstance(value, (list, tuple)) and len(value) == 2:
        return tuple(value)
    raise ValueError(f"is {shown(value)}; write two numbers, those of the first tick and of the last: [0, 10]")


class ScaleTable(LegendTable):
    """``[[panel.scale]]``: ticks round a knob whose shaft is at ``at``, and their numbers, clockwise as the knob turns.

    The first tick stands at ``start_angle`` (degrees counter-clockwise from +x, as everywhere), the last ``sweep``
    degrees clockwise from it; by default the gap is at the bottom. Each of the ``divisions`` has ``subdivisions``.
    Ticks begin ``radius`` from the shaft; ``numbers`` are those of the first and the last long one, ``texts`` stand in
    their place. ``gap`` is the air between tick and number, ``arc`` draws the line that joins the ticks.
    """

    kind = "scale"
    radius: Expression
    start_angle: Expression | None = None
    sweep: Expression = 300.0
    divisions: Expression = 10.0
    subdivisions: Expression = 1.0
    major_tick: Expression = "2.5 mm"
    minor_tick: Expression = "1.5 mm"
    numbers: Annotated[tuple[Expression, Expression], BeforeValidator(_two)] | None = None
    texts: Annotated[tuple[Label, ...], BeforeValidator(list_of_texts)] | None = None
    height: Expression = "2.5 mm"
    gap: Expression = "1 mm"
    arc: bool = False


FEATURES: Final[dict[str, type[PlacedTable]]] = {
    model.kind: model
    for model in (
        HoleTable, DHoleTable, CutoutTable, RingTable, SlotTable, DoubleDHoleTable, GridTable, KeyedHoleTable,
        PolygonTable, HoleListTable, DrawingTable, PartTable, RowTable, TextTable, ScaleTable,
    )
}
"""Every kind of feature, in the order in which a panel's openings are numbered."""


class ClampTable(Table):
    """One clamp: ``x``, ``y`` its lower left corner, ``width`` along X, ``length`` along Y (default: as wide as it is),
    ``height`` above the sheet. ``setup``: the only setup of a divided panel in which it stands."""

    x: Expression
    y: Expression
    width: Expression
    length: Expression | None = None
    height: Expression = "20 mm"
    setup: Annotated[int, Field(ge=1, le=99)] | None = None


class MeasuredTable(Table):
    """What the real piece measures, where it differs from the design."""

    width: Expression | None = None
    height: Expression | None = None
    thickness: Expression | None = None


class PanelTable(Table):
    """``[[panel]]``: one flat face to machine, seen from its outside."""

    name: Name
    material: str
    thickness: Expression
    width: Expression
    height: Expression
    corner_radius: Expression = 0.0
    cut_outline: bool = False
    stock_margin: Expression | None = None
    tabs: Tabs | None = None
    origin: Origin = "lower left"
    machine_from: Literal["outside", "inside"] = "outside"
    finish: Finish = "machine"
    max_corner_radius: Expression | None = None
    clamps: tuple[ClampTable, ...] = ()
    divide: bool = True
    measured: MeasuredTable | None = None
    hole: tuple[HoleTable, ...] = ()
    d_hole: tuple[DHoleTable, ...] = ()
    double_d_hole: tuple[DoubleDHoleTable, ...] = ()
    slot: tuple[SlotTable, ...] = ()
    cutout: tuple[CutoutTable, ...] = ()
    ring: tuple[RingTable, ...] = ()
    grid: tuple[GridTable, ...] = ()
    keyed_hole: tuple[KeyedHoleTable, ...] = ()
    polygon: tuple[PolygonTable, ...] = ()
    hole_list: tuple[HoleListTable, ...] = ()
    drawing: tuple[DrawingTable, ...] = ()
    part: tuple[PartTable, ...] = ()
    row: tuple[RowTable, ...] = ()
    text: tuple[TextTable, ...] = ()
    scale: tuple[ScaleTable, ...] = ()


class InsideTable(Table):
    """What a chassis measures inside: ``length`` from left to right, ``depth`` from front to rear, ``height``."""

    length: Expression
    depth: Expression
    height: Expression


Face = Literal["top", "bottom", "front", "rear", "left", "right"]
FACES: Final[tuple[Face, ...]] = get_args(Face)


class ChassisTable(Table):
    """``[chassis]``: the box that the panels make. ``faces`` says which panel is which face.

    ``folds`` names the edges that are bent, each by the two faces that meet there (``"top front"``); by default the
    top is bent down on all four sides and the bottom is open. ``thickness`` is by default that of the first panel
    named that is bent; ``finder`` is the diameter of the edge finder.
    """

    inside: InsideTable
    faces: dict[Face, str]
    thickness: Expression | None = None
    bend_radius: Expression = "1 mm"
    folds: Annotated[tuple[str, ...], BeforeValidator(list_of_texts)] | None = None
    holes: Literal["before bending", "after bending"] = "after bending"
    finder: Expression = "10 mm"

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given."""
        return super().stand_ins(wrong) | {"inside": dict.fromkeys(InsideTable.model_fields, IN_ERROR), "faces": {}}


def _two_or_three(value: Any) -> Any:
    if isinstance(value, list) and len(value) in (2, 3):
        return tuple(value)
    if isinstance(value, tuple):
        return value
    raise ValueError(f"is {shown(value)}; write [x, y] on a panel, or [x, y, z]")


def _three(value: Any) -> Any:
    if isinstance(value, (list, tuple)) and len(value) == 3:
        return tuple(value)
    raise ValueError(f"is {shown(value)}; write three lengths")


class ObstacleTable(Table):
    """``[[obstacle]]``: a thing that components must keep clear of: a box of ``size``, or a cylinder.

    With ``on`` it stands over a panel, ``gap`` off the sheet on the stated ``side``: ``at`` is its middle in the
    panel's coordinates, ``size`` its width and height there and how far it reaches away, and a cylinder's axis
    stands upright on the sheet. Without, ``at`` is its middle in the chassis' coordinates, ``size`` along length,
    depth and height, and ``axis`` says which way a cylinder lies.
    """

    label: Label
    at: Annotated[tuple[Expression, ...], BeforeValidator(_two_or_three)]
    on: str | None = None
    side: Literal["outside", "inside"] = "outside"
    gap: Expression = 0.0
    size: Annotated[tuple[Expression, Expression, Expression], BeforeValidator(_three)] | None = None
    diameter: Expression | None = None
    length: Expression | None = None
    axis: Literal["length", "depth", "height"] | None = None
    air: Expression = 0.0

    @classmethod
    def stand_ins(cls, wrong: Collection[object] = ()) -> dict[str, Any]:
        """A value in error for each key that must be given."""
        return super().stand_ins(wrong) | {"label": ""}


class CabinetTable(Table):
    """``[cabinet]``: the opening that the chassis slides into, as the boards leave it.

    ``covering`` is the thickness of what the boards are covered with in the opening, ``play`` the least air on each
    side. ``baffle`` is a panel that goes into ``baffle_opening`` (width and height) with ``cloth`` wrapped round it,
    ``cloth_turned`` over behind its edge.
    """

    width: Expression
    height: Expression
    covering: Expression = 0.0
    play: Expression = "1 mm"
    baffle: str | None = None
    baffle_opening: Point | None = None
    cloth: Expression = 0.0
    cloth_turned: Expression = "20 mm"


class KeepApartTable(Table):
    """``[keep_apart]``: least distances between things that disturb or endanger each other; 0: never told."""

    mains_from_signal: Expression = "50 mm"
    parallel_transformers: Expression = "50 mm"
    hot_from_can: Expression = "25 mm"
    hot_from_bulb: Expression = "15 mm"
    live_from_metal: Expression = "6 mm"


def _no_boolean(value: Any) -> Any:
    """``true`` is 1 in Python and would pass for a format of 1."""
    if isinstance(value, bool):
        raise ValueError(f"is {shown(value)}; write 1")
    return value


class JobTable(Table):
    """The whole file."""

    format: Annotated[Literal[1], BeforeValidator(_no_boolean)]
    title: Label = ""
    units: Units
    machine: str | None = None
    cutters: str | None = None
    materials: str | None = None
    parts: str | None = None
    hand_tools: str | None = None
    printer: str | None = None
    pilot_diameter: Expression | None = None
    parameters: dict[str, Expression] = Field(default_factory=dict)
    sizes: dict[str, dict[str, Expression]] = Field(default_factory=dict)
    chassis: ChassisTable | None = None
    obstacle: tuple[ObstacleTable, ...] = ()
    cabinet: CabinetTable | None = None
    keep_apart: KeepApartTable | None = None
    panel: tuple[PanelTable, ...]

"""A panel as it is to be made: exact shapes in panel coordinates, with everything that decides how they are cut.

Panel coordinates are those of the job: millimetres from ``origin``, seen from the panel's outside, X right, Y up.
Planner, drawings, papers and the judge all read this; none of them reads the job file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Segment
from toolpaths.layout.bodies import Placement
from toolpaths.tolerance import LEAST_FRAME, SAME_POINT

Finish = Literal["machine", "pilot", "mark"]
Rectangle = tuple[float, float, float, float]
"""x0, y0, x1, y1 with x0 < x1 and y0 < y1."""


@dataclass(frozen=True, slots=True)
class Tabs:
    """Holding tabs of one contour: ``width`` mm at the edge of what stays, ``height`` mm from the bottom.

    None means: the material's rule decides (``toolpaths.layout.tabs.resolve``) once the cutter is known.
    """

    count: int | None = None
    width: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Countersink:
    """A cone at the mouth of a hole: ``diameter`` where the hole begins, the whole ``angle`` in rad."""

    diameter: float
    angle: float

    @property
    def depth(self) -> float:
        """From its mouth down to the sharp tip of the cone, mm."""
        return self.diameter / 2 / math.tan(self.angle / 2)


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread tapped by hand: its name, its pitch in mm, and the source of its tap drill."""

    name: str
    pitch: float
    source: str


@dataclass(frozen=True, slots=True)
class Turned:
    """Which way an opening lies: ``angle`` of its ``what``, or of its long axis where that is empty.

    In rad, counter-clockwise from +X of the panel; flats, and a shape without any, come to themselves at a half turn.
    """

    what: Literal["", "flat", "flats", "key"]
    angle: float


@dataclass(frozen=True, slots=True)
class Part:
    """The part of a contour that one setup cuts: while the cutter's centre is in ``cell``, and an overlap beyond it.

    ``cell`` is in panel coordinates, without end where nothing divides it. ``lines`` are all the lines that divide the
    contour: 0 and where it stands along X, or 1 and where along Y.
    """

    cell: Rectangle
    lines: tuple[tuple[int, float], ...]
    last: bool = False
    """Whether it is the last of the parts: from then on tabs alone hold what is cut round."""


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening to cut, or one place to mark.

    ``tag`` is its name on drawings (``A1``), ``feature`` its place in the job (``hole[3]``). ``shape`` is the opening
    as designed, counter-clockwise; ``diameter`` is set where it is round. ``cut`` is what the machine is to open: the
    shape itself, the pilot's circle, or None for a mark. ``marks`` are the points to mark. ``corner_limit`` is the
    largest radius that may stay in a sharp inside corner. ``tolerance``: how much larger a round hole may come out.
    ``tabs`` is None where none are wanted or the opening is cleared to chips.
    """

    tag: str
    feature: str
    label: str
    centre: XY
    shape: Contour
    diameter: float | None
    size_text: str
    finish: Finish
    cut: Contour | None
    cut_diameter: float | None
    marks: tuple[XY, ...]
    corner_limit: float
    tolerance: float
    tabs: Tabs | None
    cleared: bool
    """Cleared to chips: at most 25 mm across or 12 mm wide, so that no slug comes loose; or blind."""
    outside: bool = False
    """The panel's own machined outline: ``shape`` is what stays, and it is cut from outside."""
    filed: str = ""
    """What of the shape the machine leaves to the file, in words; ``cut`` is then the rest."""
    depth: float | None = None
    """Of a blind opening: from the sheet's top to its floor, or to where a drill's point begins. None: through."""
    countersink: Countersink | None = None
    thread: Thread | None = None
    top: float = 0.0
    """How far below the sheet's top it begins: at the floor of the blind opening that it lies in."""
    kind: str = "hole"
    """Which kind of feature of the job format it is, by itself or in a component: ``d_hole``, ``ring``."""
    component: int | None = None
    """The place among the panel's components of the one that brings it; None where the job has it by itself."""
    drawn: str = ""
    """Where in a drawing it stands, by layer and place; empty where it comes from no drawing."""
    turned: Turned | None = None
    """Which way it lies, where that makes a difference that no ``corners`` say."""
    corners: tuple[XY, ...] = ()
    """Of a polygon: where its straight sides meet, before any rounding."""
    part: Part | None = None
    """Which part of it is made, where it is larger than the machine and cut in parts; None: all of it."""

    @property
    def blind(self) -> bool:
        """Whether the machine makes it, and not through the sheet."""
        return self.depth is not None and self.finish == "machine"


@dataclass(frozen=True, slots=True)
class Legend:
    """Lettering or a scale on the panel's outside: ``strokes`` are chains of exact lines and arcs, centre of line.

    ``feature`` is its place in the job (``text[1]``), ``words`` what findings call it, ``text`` all that it says.
    ``areas`` is the ground that it takes: a box for each line of lettering or number, a thin one for each tick.
    ``line`` is the width of line that goes with its ``height`` (mm), ``depth`` how deep it is engraved; None: it is
    plotted alone.
    """

    feature: str
    words: str
    text: str
    at: XY
    height: float
    line: float
    depth: float | None
    strokes: tuple[tuple[Segment, ...], ...]
    areas: tuple[Contour, ...]
    groove: tuple[float, float] | None = None
    """How wide it is engraved at the groove's floor and at the sheet's top, mm; None where no engraver makes it."""

    @property
    def name(self) -> str:
        """How findings call it beside its place in the job."""
        return f'"{self.words}"' if self.words else "it"

    @property
    def bounds(self) -> Rectangle:
        """The box round all of it, mm."""
        x0, y0, x1, y1 = zip(*(area.bounds for area in self.areas), strict=True)
        return min(x0), min(y0), max(x1), max(y1)


@dataclass(frozen=True, slots=True)
class Clamp:
    """A clamp: keep-out box from the table up to ``height`` above the sheet. ``number`` counts from 1 in file order.

    ``setup`` is the only setup of a divided panel in which it stands; 0: it stands wherever it can.
    """

    number: int
    area: Rectangle
    height: float
    setup: int = 0


@dataclass(frozen=True, slots=True)
class Flange:
    """A wall of the folded box at one ``side`` of a panel: ``wall`` names its face.

    ``area`` is its own sheet in panel coordinates, ``height`` how far it reaches from the inside surface of the panel.
    ``bent``: there is a bend of inside ``radius`` between the two; else they meet at a seam.
    """

    side: Literal["left", "right", "lower", "upper"]
    wall: str
    area: Rectangle
    height: float
    radius: float
    bent: bool


@dataclass(frozen=True, slots=True)
class Block:
    """The backing block under a folded face: ``width`` and ``length`` along X and Y, ``height``.

    ``under`` is the sheet of the opposite face that it stands on, mm; 0 where it stands on the table.
    """

    width: float
    length: float
    height: float
    under: float


@dataclass(frozen=True, slots=True)
class Folded:
    """The folded box about a panel that is its ``face``. ``standing``: its walls stand up round the cutter.

    ``block`` is what it stands on where they hang down. ``lid`` names the opposite face where it is of one piece with
    this one, else it is empty. ``radius`` is that of the bends, ``finder`` the edge finder's diameter.
    """

    face: str
    flanges: tuple[Flange, ...]
    standing: bool
    block: Block | None
    lid: str
    radius: float
    finder: float


@dataclass(frozen=True, slots=True)
class BlankFace:
    """Another face of the folded box on the flat blank: its name, and about where it lies, in panel coordinates.

    ``is_middle``: it is the one that all others are bent to.
    """

    face: str
    area: Rectangle
    is_middle: bool = False


@dataclass(frozen=True, slots=True)
class Pin:
    """A dowel pin that carries the position of a divided panel from one setup to the next; mm.

    It stands ``at`` this panel point, in an index hole called ``tag`` of diameter ``hole``. ``source`` says where that
    hole is: an opening of the panel, the waste of one, the margin round it, or the middle of an opening that is cut
    now. ``clearance`` is the most by which the hole is wider than the pin. ``shown`` is the pin's size in words. One
    that is ``drawn`` is pulled out when the sheet is clamped, before anything turns: others end below its top.
    """

    tag: str
    at: XY
    diameter: float
    hole: float
    clearance: float
    source: Literal["opening", "waste", "margin", "middle"]
    shown: str
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class Stage:
    """Which setup of a divided panel this is, and how the sheet comes to lie as it does.

    ``number`` counts from 1 to ``count``. ``reach`` is where the cutter's centre may be, in program coordinates: the
    X and Y zero of the machine stays where it is through all setups, so its travel does too. ``moved`` is how the sheet
    is shifted on the machine before this setup, to the right and away. ``pins`` then hold it. ``elsewhere`` are the
    openings that other setups make. ``slides`` is how far a folded box is moved over its backing block in all.
    """

    number: int
    count: int
    reach: Rectangle
    moved: XY
    pins: tuple[Pin, ...]
    elsewhere: tuple[Opening, ...] = ()
    slides: float = 0.0

    @property
    def drawn(self) -> tuple[Pin, ...]:
        """The pins that are drawn when the sheet is held, before anything turns."""
        return tuple(pin for pin in self.pins if pin.drawn)

    @property
    def staying(self) -> tuple[Pin, ...]:
        """The pins that stay in through the setup."""
        return tuple(pin for pin in self.pins if not pin.drawn)


@dataclass(frozen=True, slots=True)
class Panel:
    """One flat face to machine, on its machine. ``thickness`` is the measured one where the job gives it.

    ``zero`` is the panel point that is X0 Y0 of the program; ``mirrored`` when machined from the inside. ``stock`` is
    the sheet that lies on the table. ``outline`` is counter-clockwise; it is machined where ``cut_outline``.
    """

    name: str
    material: str
    thickness: float
    thickness_text: str
    outline: Contour
    stock: Rectangle
    zero: XY
    mirrored: bool
    cut_outline: bool
    clamps: tuple[Clamp, ...]
    openings: tuple[Opening, ...]
    touch_off: XY | None
    """A point on the stock for setting Z, 5 mm from features and clamps; None where there is none."""
    edge: Opening | None = None
    """The outline as a piece of work, where it is machined; it is none of the ``openings``."""
    placements: tuple[Placement, ...] = ()
    """The components that stand on it; their openings are among ``openings``."""
    folded: Folded | None = None
    """The folded box that it is a face of; None where it is machined as flat sheet."""
    blank: tuple[BlankFace, ...] = ()
    """The other faces on the flat blank that it is a part of, where its holes are made before bending."""
    fit_strip: bool = False
    """A piece of scrap to try the real parts in: no panel of the job, and nowhere in its box."""
    legends: tuple[Legend, ...] = ()
    """Lettering and scales on its outside."""
    engraver: int | None = None
    """The number of the engraver that makes them; None where none is to, or none serves."""
    stage: Stage | None = None
    """Which setup of a divided panel this is; None where the panel is made in one."""
    least_frame: float = LEAST_FRAME
    """How much of the stock's margin stays round a machined outline at least, mm."""
    on_table: bool = False
    """It is the spoilboard itself, in which pin holes are made: nothing is under it but the table."""

    @property
    def work(self) -> tuple[Opening, ...]:
        """All that the machine makes: the openings, and the outline last."""
        return self.openings if self.edge is None else (*self.openings, self.edge)

    @property
    def engraved(self) -> tuple[Legend, ...]:
        """The legends that a cutter makes: none from the inside, where they would come out mirrored."""
        return () if self.mirrored else tuple(legend for legend in self.legends if legend.depth is not None)

    def strokes_to_program(self, legend: Legend) -> tuple[tuple[Segment, ...], ...]:
        """The strokes of a legend in program coordinates."""
        return tuple(
            tuple(segment.mapped(self.to_program, self.mirrored) for segment in stroke) for stroke in legend.strokes
        )

    @property
    def on_blank(self) -> bool:
        """Whether it is a part of a larger sheet that is bent later: its outline is no edge yet."""
        same = all(abs(one - two) < SAME_POINT for one, two in zip(self.stock, self.outline.bounds, strict=True))
        return not same and not self.cut_outline

    @property
    def margin(self) -> float:
        """How far the stock reaches beyond the outline where it reaches least, mm."""
        (x0, y0, x1, y1), (left, low, right, high) = self.stock, self.outline.bounds
        return min(left - x0, low - y0, x1 - right, y1 - high)

    def to_program(self, point: XY) -> XY:
        """A panel point in program coordinates: x = zero_x - X when mirrored, else X - zero_x; y = Y - zero_y."""
        x, y = point
        zero_x, zero_y = self.zero
        return (zero_x - x if self.mirrored else x - zero_x), y - zero_y

    def from_program(self, point: XY) -> XY:
        """The panel point of a program point: the inverse of ``to_program``."""
        x, y = point
        zero_x, zero_y = self.zero
        return (zero_x - x if self.mirrored else x + zero_x), y + zero_y

    def contour_to_program(self, contour: Contour) -> Contour:
        """A contour in program coordinates, still counter-clockwise."""
        stays = self.zero == (0.0, 0.0) and not self.mirrored
        moved = contour if stays else contour.mapped(self.to_program, flips=self.mirrored)
        return moved if moved.area > 0 else moved.reversed()

    def area_to_program(self, area: Rectangle) -> Rectangle:
        """A rectangle of the panel in program coordinates, its lower left corner first."""
        (ax, ay), (bx, by) = self.to_program(area[:2]), self.to_program(area[2:])
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    def line_to_program(self, line: tuple[int, float]) -> tuple[int, float]:
        """A line at an X (axis 0) or a Y (axis 1) of the panel in program coordinates."""
        axis, place = line
        return axis, self.to_program((place, place))[axis]

    @property
    def clear_height(self) -> float:
        """Program Z that clears every clamp and standing flange by 5 mm; 5 mm above the sheet where there is none."""
        flanges = [flange.height for flange in self.flanges] if self.folded and self.folded.standing else []
        return 5.0 + max([clamp.height for clamp in self.clamps] + flanges, default=0.0)

    @property
    def flanges(self) -> tuple[Flange, ...]:
        """The walls of the folded box round it, hanging down or standing up."""
        return self.folded.flanges if self.folded else ()

    def place_of(self, opening: Opening) -> XY:
        """A panel point within the part of an opening that is made here: its centre where that is all of it."""
        if opening.part is None:
            return opening.centre
        (a0, b0, a1, b1), (c0, d0, c1, d1) = opening.part.cell, opening.shape.bounds
        return (max(a0, c0) + min(a1, c1)) / 2, (max(b0, d0) + min(b1, d1)) / 2

    def bed(self, spoilboard: float) -> float:
        """Height of what lies under the sheet, mm: its backing block, or the machine's spoilboard."""
        if self.on_table:
            return 0.0
        block = self.folded.block if self.folded else None
        return spoilboard if block is None else block.height + block.under

    @property
    def bed_name(self) -> str:
        """What lies under the sheet."""
        if self.on_table:
            return "board"
        return "backing block" if self.folded and self.folded.block else "spoilboard"


@dataclass(frozen=True, slots=True)
class Layout:
    """All panels of one job in one size, with what names the result."""

    job_name: str
    title: str
    size: str | None
    units: Literal["mm", "in"]
    panels: tuple[Panel, ...]

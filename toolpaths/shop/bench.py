"""How each opening is made at the bench: method, pilot, what is left to file; and the bits, each fitted once.

Rules of choice (common practice): in sheet a twist drill serves where its point is no longer than the sheet is thick,
up to 6.5 mm in metal under 3 mm; a larger hole is punched, opened with a step drill or cut with a hole saw. A tool of
the hole's own size wins over any other; else the one that leaves least for reamer or file. What no tool comes near is
sawn inside the line and filed; a large circle in board is routed on a pin.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Line
from toolpaths.hand_route import APART, SAW_OFF, is_routed, route
from toolpaths.layout.panel import Opening, Panel
from toolpaths.shop.words import tag_list
from toolpaths.tables.formulas import point_length, rpm
from toolpaths.tables.hand_tools import HandTool, HandToolKind, HandTools
from toolpaths.tables.load import drill_name
from toolpaths.tables.rows import Material
from toolpaths.units import Units, figure, inch_fraction, is_exact_in_inches, plain, said

Doing = Literal["mark", "drill", "punch", "ream", "countersink", "tap", "saw", "rout", "file", "none"]

AS_IS: Final = 0.05
"""mm at the wall that nobody files off: a hand-held hole is no nearer to its size than that (common practice)."""

MOST_TO_FILE: Final = 1.5
"""mm at the wall; a hole that would want more is sawn or routed instead (common practice)."""

MOST_TO_REAM: Final = 0.5
"""mm at the wall that a hand reamer takes out (common practice)."""

LARGEST_TWIST: Final = 6.5
THICK: Final = 3.0
"""The largest twist drill in metal sheet thinner than this, mm (common practice: it grabs, and leaves three lobes)."""

PILOTED_FROM: Final = 6.0
PILOT_SHARE: Final = 0.25
"""A twist drill over this, mm, gets a pilot of about a quarter of it: a college handout citing Walker, Modern
Metalworking."""

COUNTERSINK_SHARE: Final = 0.25
"""Of a twist drill's surface speed: Univ. of Florida MAE design lab, speeds and feeds."""

PILOT: Final = "pilot"
"""What a step that only leads the way is said to be."""

ROW_HOLE: Final = 4.0
"""Diameter of the holes of a row along a line that no saw follows, mm (common practice)."""

IN_A_ROW: Final = "a row of holes"
CORNERS: Final = "corner holes"
STARTS: Final = "start holes"

HOLES: Final = ("drill", "punch")
"""What makes a round hole."""

PUNCHED: Final = "centre punch"
BRADAWL: Final = "bradawl"
POINT: Final = math.radians(118)

RANK: Final[dict[HandToolKind, int]] = {
    "twist drill": 0, "punch": 1, "step drill": 2, "flat bit": 3, "hole saw": 4,
}  # fmt: skip
"""Which of two tools that come out alike is taken: the cleaner hole first."""

TURN_OF: Final[dict[Doing, int]] = {
    "mark": 0, "drill": 1, "punch": 2, "ream": 3, "countersink": 4, "tap": 5, "saw": 6, "rout": 7, "file": 8, "none": 9,
}  # fmt: skip
BITS: Final = ("twist drill", "step drill", "flat bit", "hole saw")
"""The kinds that the drill press turns, in the order of work: each pilot comes before what follows it."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do to an opening with one tool. ``size`` mm; ``rpm`` min⁻¹ at the drill press, 0: none.

    ``fast``: the press turns no slower, and that is faster than the table's surface speed allows.
    """

    doing: Doing
    tool: str
    kind: HandToolKind | Literal[""] = ""
    size: float = 0.0
    rpm: float = 0.0
    fast: bool = False
    said: str = ""
    """What to do, in words; empty where tool and size say all."""


@dataclass(frozen=True, slots=True)
class Bench:
    """How one opening is made by hand: ``steps`` in order; ``punched``: the places to punch, in panel coordinates;
    ``pilot``: the diameter of the pilot hole, 0: none; ``left``: the most that is left to file at the wall, mm."""

    tag: str
    steps: tuple[Step, ...]
    punched: tuple[XY, ...]
    pilot: float = 0.0
    left: float = 0.0
    backing: str = ""
    why: str = ""
    beside: bool = False
    """Whether its one hole is drilled beside its centre."""
    in_a_row: bool = False
    """Whether it is a slot, made of holes in a row or of one at each end."""


@dataclass(frozen=True, slots=True)
class Made:
    """What a bit makes of one size, mm: ``said`` is what it is there for; each opening as its panel and tag."""

    size: float
    said: str
    openings: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Round:
    """One bit fitted once, at its slowest speed here, and what it makes. ``number`` counts from 1."""

    number: int
    step: Step
    made: tuple[Made, ...]


class HandWork:
    """How all panels of a job are made at the bench, and the order of the bits over all of them.

    Fit strips have an order of their own that comes first: the parts are tried in them before the chassis is drilled.
    ``start``: the pilot hole for a router's pin, mm.
    """

    def __init__(
        self, panels: Sequence[Panel], materials: Mapping[str, Material], tools: HandTools, start: float
    ) -> None:
        self.tools = tools
        self.by_tag = {
            (panel.name, bench.tag): bench
            for panel in panels
            for bench in bench_work(panel, materials[panel.material], tools, start)
        }
        self.strips = {panel.name for panel in panels if panel.fit_strip}
        named = [(panel, bench) for (panel, _), bench in self.by_tag.items()]
        first = rounds(one for one in named if one[0] in self.strips)
        self.rounds = (*first, *rounds((one for one in named if one[0] not in self.strips), after=len(first)))
        self.turns = {(one.number <= len(first), _turn(one.step)): one.number for one in self.rounds}
        self.far = {
            key: far for panel in panels for key, far in beyond_reach(panel, self.by_tag, tools.press.reach).items()
        }

    def of(self, panel: str, tag: str) -> Bench:
        """The work of one opening."""
        return self.by_tag[panel, tag]

    def numbers(self, panel: str, bench: Bench) -> list[int]:
        """The numbers of the rounds that an opening takes part in, in order."""
        early = panel in self.strips
        return sorted({self.turns[early, _turn(step)] for step in bench.steps if step.doing != "none"})

    def pilots(self, panel: str, units: Units) -> dict[str, str]:
        """What a drawing says behind the size of each opening of a panel that has a pilot first, by its tag.

        A row of holes along a slot has a long label already, and its pilot in the schedule.
        """
        return {
            tag: f"pilot {figure(bench.pilot, units)}"
            for (name, tag), bench in self.by_tag.items()
            if name == panel and bench.pilot and not bench.in_a_row
        }

    def punched(self, panel: str) -> dict[str, tuple[XY, ...]]:
        """Where each opening of a panel is punched, by its tag, in panel coordinates."""
        return {tag: bench.punched for (name, tag), bench in self.by_tag.items() if name == panel and bench.punched}

    def first_holes(self, panel: str) -> list[tuple[XY, float]]:
        """The round holes that are drilled beside the centre of a hole with one flat: centre and diameter, mm."""
        found = []
        for (name, _), bench in self.by_tag.items():
            if name == panel and bench.beside:
                found.append((bench.punched[0], max(step.size for step in bench.steps if step.doing in HOLES)))
        return found

    def remark(self, panel: str, bench: Bench) -> str:
        """What is to be known of an opening's work beside its steps; lengths are in mm."""
        remarks = [bench.why] if bench.why else []
        if any(step.fast for step in bench.steps):
            remarks.append("the press turns no slower: short touches, with oil in metal")
        if (panel, bench.tag) in self.far:
            reach = plain(self.tools.press.reach)
            remarks.append(f"over {reach} mm from every edge, beyond the drill press: hand drill")
        return "; ".join(remarks)


def bench_work(panel: Panel, material: Material, tools: HandTools, start: float) -> tuple[Bench, ...]:
    """Every opening of a panel, in the job's order; ``start``: the pilot hole for a router's pin, mm."""
    chooser = _Chooser(panel, material, tools, start)
    return tuple(map(chooser.of, panel.openings))


def saw_hole(tools: HandTools, without: float) -> float:
    """The start hole that the bench's saw wants, mm; ``without`` where it has none."""
    return next((tool.sizes[0] for tool in tools.of("saw")), without)


def rounds(work: Iterable[tuple[str, Bench]], after: int = 0) -> tuple[Round, ...]:
    """The bits and tools in an order in which each is fitted once: pilots first, small before large.

    ``work``: each opening's panel and work; the numbers go on from ``after``. No order has fewer
    changes, since every bit in use is fitted at least once.
    """
    order: dict[tuple[object, ...], list[tuple[tuple[str, str], Step]]] = {}
    for panel, bench in work:
        for step in bench.steps:
            if step.doing != "none":
                order.setdefault(_turn(step), []).append(((panel, bench.tag), step))
    found = []
    for number, turn in enumerate(sorted(order), after + 1):
        made: dict[tuple[float, str], dict[tuple[str, str], None]] = {}
        for opening, step in order[turn]:
            made.setdefault((step.size, step.said), {}).setdefault(opening)
        slowest = min((step for _, step in order[turn]), key=lambda step: step.rpm)
        groups = tuple(Made(size, said, tuple(openings)) for (size, said), openings in sorted(made.items()))
        found.append(Round(number, slowest, groups))
    return tuple(found)


def _turn(step: Step) -> tuple[object, ...]:
    """Where a step stands in the order of work; steps that are alike here are made with one bit, fitted once."""
    bit = BITS.index(step.kind) if step.kind in BITS else len(BITS)
    has_own_bit = step.kind in ("twist drill", "flat bit", "hole saw", "punch") or step.doing == "file"
    return TURN_OF[step.doing], bit, step.size if has_own_bit else 0.0, step.tool


class _Chooser:
    """The choices for one panel."""

    def __init__(self, panel: Panel, material: Material, tools: HandTools, start: float) -> None:
        self.panel, self.material, self.tools, self.start = panel, material, tools, start
        self.family, self.thickness = material.family, panel.thickness
        self.speed = material.speed("drill", "HSS") or 0.0
        self.known: dict[tuple[float, float], tuple[HandTool | None, float]] = {}
        self.alike: dict[tuple[object, ...], Bench] = {}

    def of(self, opening: Opening) -> Bench:
        """The work of one opening; that of equal round holes which begin at their centre is chosen once."""
        kind = (
            opening.depth, opening.diameter, opening.tolerance, opening.finish, opening.cut_diameter,
            opening.countersink, opening.thread,
        )  # fmt: skip
        if (first := self.alike.get(kind)) is not None:
            return replace(first, tag=opening.tag, punched=(opening.centre,))
        found = self.chosen(opening)
        if opening.diameter is not None and found.punched == (opening.centre,):
            self.alike[kind] = found
        return found

    def chosen(self, opening: Opening) -> Bench:
        if opening.depth is not None:
            found = self.blind(opening)
        elif opening.diameter is not None:
            found = self.round(opening, opening.diameter)
        else:
            found = self.shaped(opening)
        return self.finished(opening, found)

    def finished(self, opening: Opening, bench: Bench) -> Bench:
        """With its pilot, without it where the machine has made it already, with countersink and thread."""
        steps = list(bench.steps)
        pilots = [step.size for step in steps if step.said == PILOT]
        pilots += [tool.pilot for tool in self.tools.of("hole saw") for step in steps if step.tool == tool.name]
        if opening.finish == "pilot" and opening.cut_diameter is not None:
            steps = [step for step in steps if step.said != PILOT or step.size > opening.cut_diameter]
        if (cone := opening.countersink) is not None:
            tool = next((one.name for one in self.tools.of("countersink")), "countersink")
            turning = self.turning(cone.diameter, COUNTERSINK_SHARE)
            said = f"{plain(math.degrees(cone.angle))}°, measured at the face"
            steps.append(Step("countersink", tool, "countersink", cone.diameter, *turning, said))
        if opening.thread is not None:
            steps.append(Step("tap", f"{opening.thread.name} tap"))
        return replace(bench, steps=tuple(steps), pilot=max(pilots, default=0.0))

    # ---- round holes

    def round(self, opening: Opening, diameter: float) -> Bench:
        """A round hole through the sheet."""
        if is_routed(diameter, None, self.family) and (router := self.range_of("router", diameter)):
            routed = Step("rout", router.name, "router", diameter, said="on its pin, in several depths")
            return self.bench(opening, [*self.rough(self.start), routed])
        tool, size = self.best(diameter, opening.tolerance)
        left = max(0.0, (diameter - size) / 2)
        if tool is None or left > MOST_TO_FILE:
            return self.sawn(opening)
        steps = [*self.made(tool, size)]
        why = "" if self.is_proper(tool, size) else "its point is longer than the sheet is thick: clamp it hard on wood"
        if is_as_is(left):
            left = 0.0
        elif left <= MOST_TO_REAM and (reamer := self.range_of("reamer", diameter)):
            steps.append(Step("ream", reamer.name, "reamer", diameter))
            left = 0.0
        else:
            steps.append(self.filing("round file", diameter))
        return self.bench(opening, steps, left=left, why=why)

    def best(self, diameter: float, tolerance: float = 0.0) -> tuple[HandTool | None, float]:
        """The tool and its size nearest to a round hole, from below but for ``tolerance``; of a grid's holes once."""
        if (diameter, tolerance) not in self.known:
            self.known[diameter, tolerance] = self.nearest(diameter, tolerance)
        return self.known[diameter, tolerance]

    def nearest(self, diameter: float, tolerance: float) -> tuple[HandTool | None, float]:
        found: list[tuple[tuple[float, ...], HandTool, float]] = []
        for tool in self.tools.of("twist drill", "punch", "step drill", "flat bit", "hole saw"):
            if not tool.works(self.family, self.thickness):
                continue
            for size in tool.sizes:
                if size > diameter + tolerance + AS_IS or not self.is_possible(tool, size):
                    continue
                left = max(0.0, (diameter - size) / 2)
                unguided = float(not self.is_proper(tool, size))
                order = (0.0, unguided, 0.0) if is_as_is(left) else (1.0, unguided, left)
                found.append(((*order, abs(size - diameter), RANK[tool.kind]), tool, size))
        if not found:
            return None, 0.0
        _, tool, size = min(found, key=lambda one: one[0])
        return tool, size

    def is_possible(self, tool: HandTool, size: float) -> bool:
        """Whether a bench can turn it through this sheet at all."""
        if tool.kind == "punch":
            return "stainless" not in self.material.name.lower()
        if tool.kind != "twist drill":
            return True
        most = LARGEST_TWIST if self.family == "metal" and self.thickness < THICK else math.inf
        return size <= min(most, self.tools.press.chuck)

    def is_proper(self, tool: HandTool, size: float) -> bool:
        """Whether a twist drill's point is guided by the sheet that it goes through."""
        return tool.kind != "twist drill" or self.family == "board" or point_length(size, POINT) <= self.thickness

    def made(self, tool: HandTool, size: float) -> tuple[Step, ...]:
        """The steps of one hole with its tool, pilot first."""
        doing: Doing = "punch" if tool.kind == "punch" else "drill"
        turning = (0.0, False) if doing == "punch" else self.turning(size)
        step = Step(doing, tool.name, tool.kind, size, *turning)
        wanted = tool.pilot
        if tool.kind == "hole saw":  # its arbor carries the pilot drill
            return (step,)
        if tool.kind == "twist drill" and self.family == "metal":
            wanted = PILOT_SHARE * size if size > PILOTED_FROM or not self.is_proper(tool, size) else 0.0
        if not wanted or wanted >= size:
            return (step,)
        return *self.rough(wanted, size), step

    def rough(self, wanted: float, below: float = math.inf) -> tuple[Step, ...]:
        """A pilot hole: the smallest that the bench has of at least the size, and its own pilot first."""
        sizes = [
            (size, RANK[tool.kind], tool)
            for tool in self.tools.of("twist drill", "step drill", "flat bit")
            if tool.works(self.family, self.thickness)
            for size in tool.sizes
            if wanted - AS_IS <= size < below and self.is_possible(tool, size)
        ]
        if not sizes:
            return ()
        size, _, tool = min(sizes, key=lambda one: one[:2])
        *before, last = self.made(tool, size)
        return *before, replace(last, said=PILOT)

    # ---- other shapes

    def shaped(self, opening: Opening) -> Bench:
        """A shape that is not round: the largest hole inside it where that comes near, else drilled, sawn and filed."""
        inner = inside_of(opening)
        if inner is None:
            return replace(self.slotted(opening), in_a_row=True) if opening.kind == "slot" else self.sawn(opening)
        centre, diameter = inner
        tool, size = self.best(diameter)
        if tool is None or (diameter - size) / 2 > MOST_TO_FILE:
            return self.sawn(opening)
        file = self.filing("square file" if opening.kind == "keyed_hole" else "flat file", _flat(opening))
        left = farthest(opening.shape, centre) - size / 2
        beside = math.dist(centre, opening.centre) > AS_IS
        why = f"the largest round hole inside it first{', beside its centre' if beside else ''}"
        return replace(self.bench(opening, [*self.made(tool, size), file], [centre], left, why), beside=beside)

    def slotted(self, opening: Opening) -> Bench:
        """A slot: a hole at each end, then sawn between, or a row of holes where no blade goes in."""
        one, other = (piece.centre for piece in opening.shape.segments if isinstance(piece, Arc))
        wide, apart = opening_width(opening), math.dist(one, other)
        tool, size = self.best(wide)
        if tool is None:
            return self.sawn(opening)
        steps = [*self.made(tool, size)]
        file = self.filing("flat file", wide)
        if (saw := self.saw()) is not None and size >= saw.sizes[0] and apart > 2 * size:
            sawing = Step("saw", saw.name, "saw", said=f"between the holes, {plain(SAW_OFF)} mm inside the line")
            return self.bench(opening, [*steps, sawing, file], [one, other], max(SAW_OFF, (wide - size) / 2))
        between = math.floor(apart / (size + APART))
        shares = [index / between for index in range(between + 1)] if between else [0.5]
        places = [_between(one, other, share) for share in shares]
        if not between:
            left = farthest(opening.shape, places[0]) - size / 2
            why = "one hole in its middle, then filed towards both ends"
            return self.bench(opening, [*steps, file], places, left, why)
        # the wall bulges in most in the middle between two holes
        left = math.hypot(wide / 2, apart / between / 2) - size / 2
        why = f"{between + 1} holes in a row, then the webs between them are filed out"
        return self.bench(opening, [*steps, file], places, left, why)

    def sawn(self, opening: Opening) -> Bench:
        """Holes in the corners, saw lines between them, and the file."""
        saw = self.saw()
        blade = saw.sizes[0] if saw else 2 * SAW_OFF
        way = route(opening.shape, blade)
        narrow = _narrowest(opening.shape)
        steps: list[Step] = []
        for radius in sorted({round(radius, 6) for _, radius in way.corners}):
            tool, size = self.best(2 * radius)
            made = self.made(tool, size) if tool else ()
            steps += [replace(step, said=step.said or CORNERS) for step in made]
        punched = [centre for centre, _ in way.corners] + list(way.starts)
        if saw is None or not way.saw or not punched:
            reason = "no saw of the bench goes through it" if saw is None else "it is too narrow for a blade"
            why = f"{reason}: a row of holes, edge by edge inside the line, broken out and filed"
            tool, size = self.best(min(ROW_HOLE, narrow / 2))
            row = [replace(step, said=step.said or IN_A_ROW) for step in self.made(tool, size)] if tool else []
            return self.bench(opening, [*steps, *row, self.filing("flat file", narrow)], punched, 2 * SAW_OFF, why)
        if way.starts:
            start = self.rough(blade)
            steps += [replace(step, said=STARTS) if step is start[-1] else step for step in start]
        line = f"{plain(SAW_OFF)} mm inside the line"
        sawing = f"from hole to hole, {line}" if len(punched) > 1 else f"all round, {line}"
        file = self.filing("round file" if opening.diameter else "flat file", narrow)
        return self.bench(opening, [*steps, Step("saw", saw.name, "saw", said=sawing), file], punched, SAW_OFF)

    def blind(self, opening: Opening) -> Bench:
        """A floor in the sheet: drilled to a stop where it is round and small, else routed; metal wants a mill."""
        deep = f"{plain(opening.depth or 0.0)} mm deep"
        if opening.diameter is not None:
            tool, size = self.best(opening.diameter)
            if tool is not None and tool.kind == "twist drill" and is_as_is((opening.diameter - size) / 2):
                return self.bench(opening, [replace(self.made(tool, size)[-1], said=f"{deep}, to a stop")])
            if self.family == "board" and (router := self.range_of("router", opening.diameter)):
                routed = Step("rout", router.name, "router", opening.diameter, said=f"on its pin, {deep}")
                return self.bench(opening, [*self.rough(self.start), routed])
        router = next((tool for tool in self.tools.of("router") if self.family in tool.serves), None)
        if router is not None:
            routed = Step("rout", router.name, "router", said=f"off its pin, {deep}, to the line")
            return Bench(opening.tag, (routed,), ())
        said = "not with the tools of the bench: a floor wants a mill or a router"
        return Bench(opening.tag, (Step("none", "", said=said),), ())

    # ---- what all have

    def bench(
        self, opening: Opening, steps: Sequence[Step], punched: Sequence[XY] = (), left: float = 0.0, why: str = ""
    ) -> Bench:
        """The whole work: its places marked first, at its centre where none is named."""
        places = tuple(punched) or (opening.centre,)
        return Bench(opening.tag, (self.mark(), *steps), places, 0.0, max(0.0, left), self.backing(), why)

    def saw(self) -> HandTool | None:
        return next((tool for tool in self.tools.of("saw") if tool.works(self.family, self.thickness)), None)

    def mark(self) -> Step:
        """A drill needs a place to begin at."""
        return Step("mark", BRADAWL if self.family == "board" else PUNCHED)

    def backing(self) -> str:
        if self.family == "board":
            return "clamped on scrap board, so that the far face does not tear"
        return "clamped over wood, against a stop"

    def turning(self, diameter: float, share: float = 1.0) -> tuple[float, bool]:
        """The drill press's speed for a bit: its fastest that the table allows; else its slowest, which is too fast.

        ``share``: of a twist drill's surface speed, for what runs slower.
        """
        if not self.speed:
            return 0.0, False
        most = rpm(share * self.speed, diameter)
        slow_enough = [speed for speed in self.tools.press.speeds if speed <= most]
        return (slow_enough[-1], False) if slow_enough else (self.tools.press.speeds[0], True)

    def range_of(self, kind: HandToolKind, diameter: float) -> HandTool | None:
        """A tool that makes every size of its range, where it makes this one."""
        return next(
            (
                tool
                for tool in self.tools.of(kind)
                if tool.sizes[0] <= diameter <= tool.sizes[-1] and tool.works(self.family, self.thickness)
            ),
            None,
        )

    def filing(self, kind: HandToolKind, room: float) -> Step:
        """With the largest file of the kind that goes into ``room``, mm; else with one of another kind that does."""
        fitting = [(size, tool) for tool in self.tools.of(kind) for size in tool.sizes if size < room]
        if fitting:
            size, tool = max(fitting, key=lambda one: one[0])
            return Step("file", tool.name, tool.kind, size)
        others = self.tools.of("square file", "flat file", "round file")
        narrow = [(size, tool) for tool in others for size in tool.sizes if size < room]
        if not narrow:
            return Step("file", "file", said=f"none of the bench goes in: narrower than {plain(room, 2)} mm")
        size, tool = max(narrow, key=lambda one: one[0])
        return Step("file", tool.name, tool.kind, size)


# ---- in words


def step_words(step: Step, units: Units) -> str:
    """A step as one says it in a shop of ``units``.

    >>> step_words(Step("drill", "twist drill", "twist drill", 3.175, said="pilot"), "in")
    '1/8 in twist drill (pilot)'
    >>> step_words(Step("drill", "step drill 4 to 20 mm", "step drill", 12.0), "mm")
    'step drill 4 to 20 mm, to 12 mm'
    """
    beside = f" ({step.said})" if step.said else ""
    size = size_name(step.size, units) if step.size else ""
    if step.doing == "drill" and step.kind == "step drill":
        return f"{step.tool}, to {size}{beside}"
    if step.doing == "ream":
        return f"{step.tool}, to {size}{beside}"
    if step.doing in ("drill", "punch"):
        return f"{size} {step.tool}{beside}"
    if step.doing in ("countersink", "rout") and size:
        return f"{step.tool}, to Ø{size}{beside}"
    if step.doing == "file" and size:
        return f"{size} {step.tool}{beside}"
    return f"{step.tool}{beside}" if step.tool else step.said


def order_lines(hand: HandWork, units: Units) -> list[str]:
    """The rounds in words, a line each: the bit, its speed, and what it makes on which panel."""
    several = len({panel for panel, _ in hand.by_tag}) > 1
    lines = []
    for one in hand.rounds:
        if one.step.doing == "mark":
            lines.append(f"{one.number}. {one.step.tool}: every place that the schedule names.")
            continue
        speed = f", {speed_words(one.step)} rev/min" if one.step.rpm else ""
        lines.append(f"{one.number}. {bit_words(one.step, units)}{speed}: {made_words(one, units, several)}.")
    return lines


def bit_words(step: Step, units: Units) -> str:
    """The bit or tool of a round, without what it makes."""
    if step.kind in ("step drill", "reamer", "countersink", "router", "saw") or not step.size:
        return step.tool
    return f"{size_name(step.size, units)} {step.tool}"


def made_words(one: Round, units: Units, several: bool) -> str:
    """What a round makes, size by size; ``several``: each panel is named."""
    own_size = one.step.kind in ("step drill", "reamer", "countersink", "router")
    told = []
    for made in one.made:
        panels: dict[str, list[str]] = {}
        for panel, tag in made.openings:
            panels.setdefault(panel, []).append(tag)
        where = ", ".join(f"{panel} {tag_list(tags)}" if several else tag_list(tags) for panel, tags in panels.items())
        size = f"to {size_name(made.size, units)} " if own_size and made.size else ""
        told.append(f"{size}{where}" + (f" ({made.said})" if made.said else ""))
    return "; ".join(told)


def speed_words(step: Step) -> str:
    """The drill press's speed for a step; empty where it does not turn."""
    return f"{step.rpm:.0f}" if step.rpm else ""


def size_name(size: float, units: Units) -> str:
    """A tool's size as its shank says it: in inches a fraction, a number or a letter, of a metric tool its mm.

    >>> size_name(3.2, "mm"), size_name(9.525, "in"), size_name(3.7973, "in")
    ('3.2 mm', '3/8 in', '#25')
    """
    if units == "in" and not inch_fraction(size):
        if name := drill_name(size):
            return name
        if not is_exact_in_inches(size) and abs(size - round(size, 2)) < 1e-6:
            return f"{plain(size)} mm"  # a metric tool, stamped in mm
    return said(size, units)


# ---- shapes


def inside_of(opening: Opening) -> tuple[XY, float] | None:
    """Centre and diameter of the largest circle inside a round hole with flats or a key; None for another shape.

    With one flat the circle touches the flat and the far side: it is as wide as the hole is across the flat, and its
    centre stands back from the flat. With two it is as wide as the hole is across them.
    """
    if opening.kind not in ("d_hole", "double_d_hole", "keyed_hole"):
        return None
    arcs = [piece for piece in opening.shape.segments if isinstance(piece, Arc)]
    lines = [piece for piece in opening.shape.segments if isinstance(piece, Line)]
    if not arcs or not lines:
        return None
    (cx, cy), radius = arcs[0].centre, arcs[0].radius
    if opening.kind == "keyed_hole":
        return (cx, cy), 2 * radius
    along, up = lines[0].tangent_at(0.0)
    # the shape lies on the left of its line: the flat's own side is to the right
    outward = up, -along
    off = (lines[0].start[0] - cx) * outward[0] + (lines[0].start[1] - cy) * outward[1]
    if opening.kind == "double_d_hole":
        return (cx, cy), 2 * off
    back = (radius - off) / 2
    return (cx - back * outward[0], cy - back * outward[1]), radius + off


def farthest(shape: Contour, centre: XY) -> float:
    """How far the farthest point of a contour lies from a point, mm."""
    reach = 0.0
    for piece in shape.segments:
        reach = max(reach, math.dist(piece.start, centre), math.dist(piece.end, centre))
        if isinstance(piece, Arc):
            apart = math.dist(piece.centre, centre)
            away = math.atan2(piece.centre[1] - centre[1], piece.centre[0] - centre[0])
            if apart < 1e-12 or piece.is_circle or piece.passes(away):
                reach = max(reach, apart + piece.radius)
    return reach


def is_as_is(left: float) -> bool:
    """Whether so much at the wall, mm, is left as it is."""
    return left < AS_IS + 1e-9


def opening_width(slot: Opening) -> float:
    """The width of a slot: twice the radius of its ends, mm."""
    return 2 * max(piece.radius for piece in slot.shape.segments if isinstance(piece, Arc))


def _flat(opening: Opening) -> float:
    """The length of the shortest straight piece, which a file must go onto, mm."""
    return min((piece.length for piece in opening.shape.segments if isinstance(piece, Line)), default=0.0)


def _narrowest(shape: Contour) -> float:
    x0, y0, x1, y1 = shape.bounds
    return min(x1 - x0, y1 - y0)


def _between(one: XY, other: XY, share: float) -> XY:
    return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])


def beyond_reach(
    panel: Panel, work: Mapping[tuple[str, str], Bench], reach: float
) -> dict[tuple[str, str], float]:
    """The openings with a drilled place farther from every edge than the press reaches, and how far, mm."""
    x0, y0, x1, y1 = panel.outline.bounds
    found = {}
    for opening in panel.openings:
        bench = work[panel.name, opening.tag]
        if any(step.rpm for step in bench.steps):
            far = max((min(x - x0, x1 - x, y - y0, y1 - y) for x, y in bench.punched), default=0.0)
            if far > reach:
                found[panel.name, opening.tag] = far
    return found

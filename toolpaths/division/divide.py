"""A panel larger than the machine's travel, divided into setups: what each of them makes, and where the sheet lies.

The sheet is laid in a few positions one after the other (``windows``); the machine's zero stays. Whatever one position
reaches as a whole is made there, in the first that does; a large contour that none reaches is cut in parts; two pins
carry the position from each setup to the next (``index``). It is the same for the planner and for the proof, which asks
the planner nothing: it depends on panel and machine alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise, product
from typing import Final, Literal

from toolpaths.division import index
from toolpaths.division.index import Pair
from toolpaths.division.lines import line_through
from toolpaths.division.windows import LEAST_SHARED, MOST_ALONG, SLACK, TooLong, Window, only_window, windows
from toolpaths.geometry.clip import spans_within
from toolpaths.geometry.offset import distance
from toolpaths.geometry.segment import XY, Arc
from toolpaths.geometry.shapes import circle
from toolpaths.layout.folded import bend_areas
from toolpaths.layout.nesting import in_floor
from toolpaths.layout.panel import Clamp, Folded, Legend, Opening, Panel, Part, Pin, Rectangle, Stage
from toolpaths.layout.tags import round_size
from toolpaths.layout.touch_off import touch_off
from toolpaths.tables.dowel_pins import dowel_pins
from toolpaths.tables.rows import Machine
from toolpaths.tolerance import LEAST_FRAME, PARTS_MEET_WITHIN, PIN_LEAST_IN_SHEET, SPOILBOARD_FLOOR
from toolpaths.units import told

APPROACH: Final = 1.0
"""mm; a cut may be come to from this far left of and below it, for the backlash."""

MOST_SETUPS: Final = 6
"""So many setups at most: each move adds the play of its pins, and one sheet takes an afternoon (common practice)."""

MOST_MORE: Final = 1
"""So many more positions along an axis than the fewest are tried, where they let pins carry better."""

LEAST_HOLD: Final = 4.0
"""mm; a pin stands at least this deep in the board below."""

DEEPEST_HOLD: Final = 12.0
"""mm; and no deeper than this: more holds no better."""

CLAMP_REACH: Final = 30.0
"""mm; a clamp that no setup names stands in those whose reach it comes this near to."""

Units = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class Divided:
    """A divided panel: ``whole`` with its index holes, as it is to be in the end, and each setup as a panel of its own.

    ``moves`` are the pairs of pins before each setup but the first; ``lines`` are where contours are parted: 0 and the
    panel X of the line, or 1 and its panel Y. ``hold`` is how deep the pins stand in the board.
    """

    whole: Panel
    setups: tuple[Panel, ...]
    moves: tuple[Pair, ...]
    lines: tuple[tuple[int, float], ...]
    hold: float

    @property
    def error(self) -> float:
        """The most that any pair of pins may displace its farthest feature by, mm."""
        return max((pair.error for pair in self.moves), default=0.0)


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a panel is not divided, and what would make it possible."""

    code: str
    feature: str
    why: str


def divide(
    panel: Panel, axes: Sequence[int], machine: Machine, units: Units, step: float
) -> Divided | Refused:
    """The setups of a panel that is divided along ``axes`` (0: X, 1: Y, as it lies on the machine).

    ``step`` is what the operator likes to dial in, mm: the sheet is moved by whole steps.
    """
    return _Division(panel, axes, machine, units, step).made()


def longer_than(panel: Panel, machine: Machine) -> bool:
    """Whether the cuts of a panel may be longer than the machine travels: surely not where their boxes fit."""
    if not panel.work and not panel.engraved:
        return False
    division = _Division(panel, (), machine, "mm", 1.0)
    spans = [division.extent(axis) for axis in (0, 1)]
    return any(high - low > machine.travel[axis] for axis, (low, high) in enumerate(spans))


def with_touch_off_in_reach(panel: Panel, machine: Machine, step: float) -> Panel:
    """A panel made in one setup, Z touched off where the machine comes without leaving the travel that its cuts need.

    It is the panel itself wherever its place for touching off is such a one already, or where there is none.
    """
    if panel.touch_off is None or not (panel.work or panel.engraved):
        return panel
    division = _Division(panel, (), machine, "mm", step)
    lows, highs = [], []
    for axis in (0, 1):
        low, high = division.extent(axis)
        # from the one end of the cuts it is no further than the travel, and not from the other either
        lows.append(high - machine.travel[axis])
        highs.append(low + machine.travel[axis])
    x, y = panel.to_program(panel.touch_off)
    if lows[0] <= x <= highs[0] and lows[1] <= y <= highs[1]:
        return panel
    (ax, ay), (bx, by) = panel.from_program((lows[0], lows[1])), panel.from_program((highs[0], highs[1]))
    room = Window(min(ax, bx), max(ax, bx)), Window(min(ay, by), max(ay, by))
    place = division.touch_off(_Position((0, 0), room, (0.0, 0.0)), panel.zero, panel.clamps, panel.openings)
    return panel if place is None else replace(panel, touch_off=place)


class _CannotBe(Exception):
    """Ends a division with its reason."""

    def __init__(self, code: str, feature: str, why: str) -> None:
        super().__init__(why)
        self.refused = Refused(code, feature, why)


@dataclass(frozen=True, slots=True)
class _Position:
    """One position of the sheet: its place along each axis, what it reaches, in panel coordinates, and how far the
    program's zero lies from that of the undivided panel, as it lies on the machine."""

    place: tuple[int, int]
    room: tuple[Window, Window]
    shift: XY

    def holds(self, box: Rectangle) -> bool:
        return self.room[0].holds(box[0], box[2]) and self.room[1].holds(box[1], box[3])


@dataclass(slots=True)
class _Share:
    """What one position makes."""

    position: _Position
    openings: list[Opening]
    edge: Opening | None = None
    legends: list[Legend] = field(default_factory=list)


class _Division:
    """One division in the making."""

    def __init__(self, panel: Panel, axes: Sequence[int], machine: Machine, units: Units, step: float) -> None:
        self.panel, self.axes, self.machine, self.units, self.step = panel, axes, machine, units, step
        self.more = (0, 0)
        self.found_zero = True
        """Whether the first position reaches the edges of the sheet from which its zero is found."""
        self.lines: dict[tuple[int, float], None] = {}
        self.together: dict[str, list[Opening]] = {}
        """By its tag, the openings that an opening is made with."""
        self.within: dict[str, str] = {}
        """By the tag of an index hole that is made, that of the opening in whose waste it lies."""

    def say(self, length: float) -> str:
        return told(round(length, 1), self.units)

    def made(self) -> Divided | Refused:
        """With the fewest positions; with one more along an axis where pins then carry well, or at all."""
        first: Refused | None = None
        best: Divided | None = None
        tries = [more for more in product(range(MOST_MORE + 1), repeat=2)
                 if all(more[axis] == 0 for axis in (0, 1) if axis not in self.axes)]
        for more in sorted(tries, key=sum):
            self.more, self.lines, self.within, self.found_zero = (more[0], more[1]), {}, {}, True
            try:
                found = self.divided()
            except _CannotBe as error:
                first = first or error.refused
                continue
            if found.error <= index.PLAIN and self.found_zero:
                return found
            best = found if best is None or found.error < best.error - 0.02 else best
        assert best is not None or first is not None
        return best or first  # type: ignore[return-value]

    def divided(self) -> Divided:
        self.refuse_boxes()
        hold = self.hold()
        shares = [_Share(position, []) for position in self.positions()]
        self.share_out(shares)
        shares = [share for share in shares if share.openings or share.edge or share.legends]
        moves, made, sources = self.index_holes(shares)
        setups = self.setups(shares, moves, made, sources)
        openings = (*made, *self.panel.openings)
        whole = replace(self.panel, openings=openings, least_frame=self.frame(sources, moves))
        return Divided(whole, setups, tuple(moves), tuple(self.lines), hold)

    # what cannot be --------------------------------------------------------------------------------------------------

    def refuse_boxes(self) -> None:
        if self.panel.folded is None:
            return
        long = 0 if self.panel.outline.bounds[2] - self.panel.outline.bounds[0] >= (
            self.panel.outline.bounds[3] - self.panel.outline.bounds[1]) else 1
        if tuple(self.axes) != (long,):
            name, other = "XY"[long], "YX"[long]
            raise _CannotBe(
                "not-divisible", "",
                f"a folded box is divided along its length alone, in {name}: in {other} its walls are in the way of a "
                'second position; make the holes before bending with holes = "before bending", or name a machine that '
                f"travels further in {other}",
            )  # fmt: skip
        if self.panel.folded.lid:
            lid = self.panel.folded.lid
            raise _CannotBe(
                "not-divisible", "",
                f"its backing block stands on the {lid} of the folded box and moves along with it: pins find no board "
                'that stays; make the holes before bending with holes = "before bending", or name a machine that '
                "travels further with --machine",
            )  # fmt: skip

    def hold(self) -> float:
        """How deep pins stand in the board below."""
        bed = self.panel.bed(self.machine.spoilboard)
        if bed < SPOILBOARD_FLOOR + LEAST_HOLD:
            least = self.say(SPOILBOARD_FLOOR + LEAST_HOLD)
            raise _CannotBe(
                "not-divisible", "",
                f"the pins that carry the position over stand in the {self.panel.bed_name}, which is {self.say(bed)} "
                f"thick: a spoilboard of {least} or more would do (spoilboard in the machine's file)",
            )  # fmt: skip
        return min(DEEPEST_HOLD, bed - SPOILBOARD_FLOOR)

    # positions -------------------------------------------------------------------------------------------------------

    def positions(self) -> list[_Position]:
        """Every position in the order of work: along X and back again, so that each move is along one axis."""
        along = [self.along(axis) for axis in (0, 1)]
        count = len(along[0][0]) * len(along[1][0])
        if count > MOST_SETUPS:
            raise _CannotBe(
                "not-divisible", "",
                f"it would take {count} setups ({len(along[0][0])} along X, {len(along[1][0])} along Y), and each move "
                f"of the sheet adds its error; {MOST_SETUPS} are the most: {self.longer_travel()}",
            )  # fmt: skip
        places = []
        for up in range(len(along[1][0])):
            across = range(len(along[0][0]))
            places += [(one, up) for one in (across if up % 2 == 0 else reversed(across))]
        return [self.position(place, along) for place in places]

    def position(self, place: tuple[int, int], along: Sequence[tuple[list[Window], float]]) -> _Position:
        reached = [found[one] for (found, _), one in zip(along, place, strict=True)]
        lows = self.panel.from_program((reached[0].low, reached[1].low))
        highs = self.panel.from_program((reached[0].high, reached[1].high))
        room = tuple(Window(min(a, b), max(a, b)) for a, b in zip(lows, highs, strict=True))
        moved = [
            zero + (found[one].low - found[0].low if len(found) > 1 else 0.0)
            for (found, zero), one in zip(along, place, strict=True)
        ]
        return _Position(place, (room[0], room[1]), (moved[0], moved[1]))

    def along(self, axis: int) -> tuple[list[Window], float]:
        """The windows along an axis as the panel lies on the machine, and where the first program's zero is there."""
        low, high = self.extent(axis)
        stock = self.panel.area_to_program(self.panel.stock)
        travel = self.machine.travel[axis]
        if axis not in self.axes:
            return [only_window(low, high, travel, (stock[axis] + stock[axis + 2]) / 2)], 0.0
        # the sheet's edge, and a finder beside a box: there the zero is found
        first = stock[axis] - (self.panel.folded.finder / 2 if self.panel.folded else 0.0)
        found = windows(low, high, travel, self.step, first, self.more[axis])
        if isinstance(found, TooLong):
            raise self.too_long(axis, found, high - low)
        self.found_zero = self.found_zero and found[0].low - SLACK <= first
        return found, 0.0 if found[0].low - SLACK <= 0.0 <= found[0].high + SLACK else stock[axis]

    def extent(self, axis: int) -> tuple[float, float]:
        """What the cutter's centre needs to reach along an axis, as the panel lies on the machine."""
        boxes = [self.box(opening) for opening in self.panel.work]
        boxes += [_legend_box(legend) for legend in self.panel.engraved]
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        needed = self.panel.area_to_program((min(x0), min(y0), max(x1), max(y1)))
        return needed[axis] - APPROACH, needed[axis + 2]

    def box(self, opening: Opening) -> Rectangle:
        """A box round everywhere that the cutter's centre may go for an opening, in panel coordinates."""
        if opening.outside:
            beyond = max(0.0, self.panel.margin - LEAST_FRAME) / 2 + APPROACH
            x0, y0, x1, y1 = opening.shape.bounds
            return x0 - beyond, y0 - beyond, x1 + beyond, y1 + beyond
        if opening.cut is None or not math.isfinite(opening.cut.perimeter):
            points = opening.marks or (opening.centre,)
            xs, ys = zip(*points, strict=True)
            return min(xs), min(ys), max(xs), max(ys)
        return opening.cut.bounds

    def reach_box(self, opening: Opening) -> Rectangle:
        """The box with the way by which a cut is come to: from the left and below, as the panel lies."""
        x0, y0, x1, y1 = self.box(opening)
        if self.panel.mirrored:
            return x0, y0 - APPROACH, x1 + APPROACH, y1
        return x0 - APPROACH, y0 - APPROACH, x1, y1

    def too_long(self, axis: int, found: TooLong, length: float) -> _CannotBe:
        name = "XY"[axis]
        how = f"{found.needed} positions of the sheet" if found.needed > 0 else "more positions than can be"
        return _CannotBe(
            "not-divisible", "",
            f"with the room for coming to a cut they need {self.say(length)} in {name}, which takes {how}, and "
            f"{MOST_ALONG} along one axis are the most; {self.longer_travel()}",
        )  # fmt: skip

    def longer_travel(self) -> str:
        """What travel would do: the least with which no more than MOST_SETUPS are needed, tried from today's on."""
        spans = [high - low for low, high in (self.extent(axis) for axis in (0, 1))]
        best: tuple[float, float] | None = None
        for across, up in product(range(1, MOST_ALONG + 1), repeat=2):
            if across * up > MOST_SETUPS:
                continue
            need = [self.least_travel(spans[axis], count, axis) for axis, count in ((0, across), (1, up))]
            if best is None or sum(need) < sum(best):
                best = need[0], need[1]
        assert best is not None
        return (
            f"a machine that travels {self.say(math.ceil(best[0]))} by {self.say(math.ceil(best[1]))} or more would do "
            "(--machine)"
        )

    def least_travel(self, span: float, count: int, axis: int) -> float:
        has = self.machine.travel[axis]
        if axis not in self.axes and count == 1:
            return has
        shared = (count - 1) * (LEAST_SHARED + self.step)
        return max(has, (span + shared) / count + 2 * SLACK)

    # what is made where ----------------------------------------------------------------------------------------------

    def share_out(self, shares: list[_Share]) -> None:
        """Every opening to the first position that reaches it; what belongs together stays together where it can."""
        for group in self.groups():
            self.together |= {opening.tag: group for opening in group}
            boxes = [self.reach_box(opening) for opening in group]
            share = _first(shares, boxes)
            if share is not None:
                share.openings += group
                continue
            nested = any(opening.blind and other is not opening and in_floor(other, opening)
                         for opening in group for other in group)
            for opening, box in zip(group, boxes, strict=True):
                share = None if nested else _first(shares, [box])
                if share is not None:
                    share.openings.append(opening)
                else:
                    self.part(opening, shares, nested)
        if self.panel.edge is not None:
            self.part(self.panel.edge, shares, False)
        for legend in self.panel.engraved:
            share = _first(shares, [_legend_box(legend)])
            if share is None:
                raise _CannotBe(
                    "not-divisible", legend.feature,
                    f"{legend.name}: no position of the sheet reaches all of it, and lettering is not parted: several "
                    f"shorter ones would do, or engraving it on another machine; {self.longer_travel()}",
                )  # fmt: skip
            share.legends.append(legend)

    def groups(self) -> Iterator[list[Opening]]:
        """Openings that belong together: those of a component, of a feature, and what lies in one floor."""
        found: dict[object, list[Opening]] = {}
        for opening in self.panel.openings:
            key = opening.feature if opening.component is None else opening.component
            found.setdefault(key, []).append(opening)
        groups = list(found.values())
        for outer in (opening for opening in self.panel.openings if opening.blind):
            inner = {opening.tag for opening in self.panel.openings if opening.top > 0 and in_floor(opening, outer)}
            if inner:
                joined = [group for group in groups if any(one.tag in inner or one is outer for one in group)]
                groups = [group for group in groups if group not in joined]
                groups.append([opening for group in joined for opening in group])
        yield from groups

    def part(self, opening: Opening, shares: list[_Share], nested: bool) -> None:
        """A contour that no position reaches as a whole: each position gets the part that it cuts."""
        who = "the outline" if opening.outside else f"{opening.tag} ({opening.size_text})"
        if opening.cut is None or opening.cleared or nested:
            wide = [self.reach_box(opening)[axis + 2] - self.reach_box(opening)[axis] for axis in (0, 1)]
            axis = next(one for one in (0, 1) if wide[one] > self.machine.travel[one] - 2 * SLACK or one == 1)
            kind = "a rebate with what lies in its floor" if nested else "an opening that is cleared to chips"
            raise _CannotBe(
                "not-divisible", opening.feature,
                f"{who}: no position of the sheet reaches all of it, and {kind} is not parted; several openings of "
                f"{self.say(self.machine.travel[axis] - 2 * SLACK - 2 * APPROACH)} or less in {'XY'[axis]}, or a "
                f"machine that travels {self.say(math.ceil(wide[axis] + 2 * SLACK))} there, would do",
            )  # fmt: skip
        box = self.reach_box(opening)
        cells = [self.cells(opening, who, axis, shares, box) for axis in (0, 1)]
        lines = [(axis, place) for axis in (0, 1) for _, low, _ in cells[axis] for place in [low] if math.isfinite(low)]
        self.keep_crossings_clear(opening, who, lines)
        self.lines |= dict.fromkeys(lines)
        found: list[tuple[int, Rectangle]] = []
        for (across, x0, x1), (up, y0, y1) in product(*cells):
            cell = (x0, y0, x1, y1)
            if spans_within(opening.shape, cell):
                place = next(at for at, one in enumerate(shares) if one.position.place == (across, up))
                found.append((place, cell))
        last = max(place for place, _ in found)
        for place, cell in found:
            share = shares[place]
            one = replace(opening, part=Part(cell, tuple(lines), last=place == last))
            if opening.outside:
                share.edge = one
            else:
                share.openings.append(one)

    def cells(
        self, opening: Opening, who: str, axis: int, shares: list[_Share], box: Rectangle
    ) -> list[tuple[int, float, float]]:
        """Along one axis: which places of the sheet cut the opening, and from where to where, in panel coordinates."""
        rooms = {share.position.place[axis]: share.position.room[axis] for share in shares}
        ordered = sorted(rooms, key=lambda place: rooms[place].low)
        low, high = box[axis], box[axis + 2]
        begins = [n for n, place in enumerate(ordered) if rooms[place].low <= low + 1e-9]
        if not begins:
            raise self.not_reached(opening, who, axis)
        first = max(begins)
        last = first
        while not rooms[ordered[last]].high >= high - 1e-9:
            last += 1
            if last == len(ordered):
                raise self.not_reached(opening, who, axis)
        limits = [-math.inf]
        for one, other in pairwise(ordered[first : last + 1]):
            room = rooms[one].shared(rooms[other])
            place = line_through(opening.shape, axis, room)
            if place is None or place <= limits[-1] + 2 * PARTS_MEET_WITHIN:
                raise _CannotBe(
                    "not-divisible", opening.feature,
                    f"{who}: it must be cut in parts that meet at an {'XY'[axis]} from {self.say(room.low)} to "
                    f"{self.say(room.high)}, and nowhere there does its wall run plainly across for "
                    f"{self.say(2 * PARTS_MEET_WITHIN)}; straight walls there, or a machine that travels "
                    f"{self.say(math.ceil(high - low + 2 * SLACK))} in {'XY'[axis]}, would do",
                )  # fmt: skip
            limits.append(place)
        limits.append(math.inf)
        return [(place, a, b) for place, (a, b) in zip(ordered[first : last + 1], pairwise(limits), strict=True)]

    def not_reached(self, opening: Opening, who: str, axis: int) -> _CannotBe:
        return _CannotBe(
            "not-divisible", opening.feature,
            f"{who}: no positions of the sheet reach all of it in {'XY'[axis]}; {self.longer_travel()}",
        )  # fmt: skip

    def keep_crossings_clear(self, opening: Opening, who: str, lines: Sequence[tuple[int, float]]) -> None:
        for (_, x), (_, y) in product([one for one in lines if one[0] == 0], [one for one in lines if one[0] == 1]):
            if distance(opening.shape, (x, y)) < 2 * PARTS_MEET_WITHIN:
                raise _CannotBe(
                    "not-divisible", opening.feature,
                    f"{who}: two lines along which it must be parted cross on its wall; move it by "
                    f"{self.say(2 * PARTS_MEET_WITHIN)}",
                )  # fmt: skip

    # pins ------------------------------------------------------------------------------------------------------------

    def index_holes(self, shares: list[_Share]) -> tuple[list[Pair], list[Opening], dict[str, index.Source]]:
        """The pins before each setup but the first, and the holes that are made for them."""
        moves: list[Pair] = []
        made: list[Opening] = []
        sources: dict[str, index.Source] = {}
        bored: list[XY] = []  # in the board, in program coordinates
        for number in range(1, len(shares)):
            before, after = shares[number - 1].position, shares[number].position
            room = tuple(one.shared(other) for one, other in zip(before.room, after.room, strict=True))
            pair = self.pins(shares, number, (room[0], room[1]), made, self.on_panel(bored, after), sources)
            ends = []
            for one in (pair.first, pair.second):
                tag = one.tag
                if one.source != "opening":
                    hole = self.index_hole(len(made) + 1, one)
                    made.append(hole)
                    self.within[hole.tag] = one.tag
                    shares[number - 1].openings.append(hole)
                    self.wait_for(one.waits, shares, number)
                    tag = hole.tag
                sources.setdefault(tag, one.source)
                ends.append(replace(one, tag=tag, source=sources[tag]))
                bored.append(self.in_program(one.at, after))
            moves.append(replace(pair, first=ends[0], second=ends[1]))
        return moves, made, sources

    def pins(
        self, shares: list[_Share], number: int, room: tuple[Window, Window], made: list[Opening], taken: list[XY],
        sources: dict[str, index.Source],
    ) -> Pair:  # fmt: skip
        later = [opening for share in shares[number:] for opening in share.openings]
        unfinished = {opening.tag for opening in later}
        done = [
            opening for share in shares[:number] for opening in share.openings
            if opening.part is None and self.is_firm(opening, unfinished)
        ]
        sizes = [pin for pin in dowel_pins() if pin.is_metric == (self.units == "mm") and pin.diameter <= 6.4]
        nut = self.machine.nut_diameter
        candidates = [*index.existing(done, room)]
        made_now = {opening.tag for opening in shares[number].openings}
        groups: dict[int, frozenset[str] | None] = {}
        for opening in self.panel.openings:
            if opening.cut is None or opening.blind:
                continue
            waits: frozenset[str] | None = frozenset()
            if opening.tag not in unfinished:
                group = self.together[opening.tag]
                if id(group) not in groups:
                    groups[id(group)] = self.may_wait(group, shares[number].position, unfinished, sources)
                waits = groups[id(group)]
            elif opening.cleared and opening.tag not in made_now:
                continue  # in a still later setup it is in the way of pins there
            if waits is None:
                continue
            if not opening.cleared:
                candidates += index.in_waste(opening, room, sizes, waits, self.panel.clamps, nut)
            elif shares[number].position.holds(self.reach_box(opening)):
                candidates += index.in_middle(opening, room, sizes, waits)
        candidates += index.in_margin(self.panel, room, sizes, nut)
        before, after = (
            [clamp for clamp in self.panel.clamps if self.stands(clamp, setup, shares[setup - 1].position)]
            for setup in (number, number + 1)
        )
        candidates = [
            one for one in candidates
            if not (self.is_drawn(one) and index.near_clamp(one.at, after, nut, one.hole))
            and not (one.source == "middle" and index.near_clamp(one.at, before, nut, one.hole))
        ]
        near_made = [one.centre for one in made]
        candidates = [
            one for one in candidates
            if one.source == "opening" or all(math.dist(one.at, at) > one.pin.diameter + 8 for at in near_made)
        ]
        farthest = [self.box_of(opening) for opening in later]
        farthest += [_legend_box(legend) for share in shares[number:] for legend in share.legends]
        farthest += [self.panel.outline.bounds] if any(share.edge for share in shares[number:]) else []
        pair = index.best_pair(candidates, farthest, taken)
        if pair is None or pair.error > index.WORST:
            raise self.no_pins(number, room, pair, farthest)
        return pair

    def is_drawn(self, one: index.Candidate) -> bool:
        """Whether a pin there is pulled out before anything turns: it would be cut, or ends too low to hold the sheet.
        """
        return one.source == "middle" or index.in_sheet(self.panel.thickness) < PIN_LEAST_IN_SHEET

    def is_firm(self, opening: Opening, unfinished: set[str]) -> bool:
        """Whether a hole is still there and in firm ground: an index hole goes or loosens with what it lies in."""
        around = self.within.get(opening.tag, "")
        return not around or around in unfinished

    def box_of(self, opening: Opening) -> Rectangle:
        """The box of what of an opening is made here."""
        box = self.box(opening)
        if opening.part is None:
            return box
        cell = opening.part.cell
        return max(box[0], cell[0]), max(box[1], cell[1]), min(box[2], cell[2]), min(box[3], cell[3])

    def may_wait(
        self, group: Sequence[Opening], position: _Position, unfinished: set[str], sources: dict[str, index.Source]
    ) -> frozenset[str] | None:
        """What must wait so that openings are cut only after the move, their waste still firm when pins stand in it:
        the tags of all that are made together; None where that cannot be."""
        tags = frozenset(one.tag for one in group)
        fits = all(position.holds(self.reach_box(one)) for one in group if one.tag not in unfinished)
        return tags if fits and not tags & sources.keys() else None

    def wait_for(self, tags: frozenset[str], shares: list[_Share], number: int) -> None:
        """What is made with an opening in whose waste pins stand is cut after the move that needs them."""
        for share in shares[:number]:
            waiting = [one for one in share.openings if one.tag in tags]
            share.openings = [one for one in share.openings if one.tag not in tags]
            shares[number].openings += waiting

    def index_hole(self, number: int, one: index.Candidate) -> Opening:
        shape = circle(one.at, one.hole)
        return Opening(
            tag=f"IX{number}", feature=f"index[{number}]", label="index", centre=one.at, shape=shape, diameter=one.hole,
            size_text=round_size(one.hole), finish="machine", cut=shape, cut_diameter=one.hole, marks=(),
            corner_limit=0.0, tolerance=0.0, tabs=None, cleared=True, kind="index_hole",
        )  # fmt: skip

    def no_pins(self, number: int, room: tuple[Window, Window], pair: Pair | None, far: list[Rectangle]) -> _CannotBe:
        stock = self.panel.stock
        x0, x1 = max(room[0].low, stock[0]), min(room[0].high, stock[2])
        y0, y1 = max(room[1].low, stock[1]), min(room[1].high, stock[3])
        found = "fewer than two"
        if pair is not None:
            found = (
                f"two that are {self.say(pair.apart)} apart, which may turn the panel by {1000 * pair.turn:.2f} mrad, "
                f"{pair.error:.2f} mm at its farthest feature"
            )
        middle = (x0 + x1) / 2, (y0 + y1) / 2
        apart = math.ceil(max(index.LEAST_APART, 0.02 * index.far_from(far, middle) / index.PLAIN))
        sizes = ", ".join(pin.name for pin in dowel_pins() if pin.is_metric == (self.units == "mm"))
        return _CannotBe(
            "no-index", "",
            f"no holes carry the position from setup {number} to setup {number + 1}: both reach X from {self.say(x0)} "
            f"to {self.say(x1)} and Y from {self.say(y0)} to {self.say(y1)}, and pins fit {found} there; add two round "
            f"holes through the sheet there, of one of {sizes}, at least {self.say(apart)} apart"
            + ("" if self.panel.cut_outline else ", or cut the outline out of larger stock with cut_outline = true"),
        )  # fmt: skip

    def in_program(self, at: XY, position: _Position) -> XY:
        x, y = self.panel.to_program(at)
        return x - position.shift[0], y - position.shift[1]

    def on_panel(self, bored: Sequence[XY], position: _Position) -> list[XY]:
        return [self.panel.from_program((x + position.shift[0], y + position.shift[1])) for x, y in bored]

    # the setups ------------------------------------------------------------------------------------------------------

    def frame(self, sources: dict[str, index.Source], moves: Sequence[Pair]) -> float:
        """How much of the margin must stay: pins stand in it where they found no other place."""
        in_margin = [one for pair in moves for one in (pair.first, pair.second) if sources.get(one.tag) == "margin"]
        return max([LEAST_FRAME, *(index.frame_for(one.pin) for one in in_margin)])

    def setups(
        self, shares: list[_Share], moves: Sequence[Pair], made: Sequence[Opening], sources: dict[str, index.Source]
    ) -> tuple[Panel, ...]:
        found = []
        frame = self.frame(sources, moves)
        everything = (*made, *self.panel.openings)
        slides = max(
            abs(share.position.shift[axis] - shares[0].position.shift[axis]) for share in shares for axis in (0, 1)
        )
        order = {opening.tag: at for at, opening in enumerate(everything)}
        for number, share in enumerate(shares, 1):
            shift = share.position.shift
            before = shares[number - 2].position.shift if number > 1 else shift
            zero = self.panel.from_program(shift)
            clamps = tuple(clamp for clamp in self.panel.clamps if self.stands(clamp, number, share.position))
            pair = moves[number - 2] if number > 1 else None
            own = {opening.tag for opening in share.openings}
            stage = Stage(
                number, len(shares), self.reach(share.position), (before[0] - shift[0], before[1] - shift[1]),
                () if pair is None else tuple(_pin(one, self.is_drawn(one)) for one in (pair.first, pair.second)),
                tuple(opening for opening in everything if opening.tag not in own), slides,
            )  # fmt: skip
            found.append(replace(
                self.panel, zero=zero, clamps=clamps, edge=share.edge, stage=stage,
                legends=tuple(share.legends),
                openings=tuple(sorted(share.openings, key=lambda opening: order[opening.tag])),
                least_frame=frame, folded=self.on_fixed_block(slides),
                touch_off=self.touch_off(share.position, zero, clamps, everything),
            ))  # fmt: skip
        return tuple(found)

    def on_fixed_block(self, slides: float) -> Folded | None:
        """The folded box with a backing block that stays on the table while the box is moved over it: as much shorter.

        It still carries everything that the machine reaches: the box is longer inside than the block by what it moves.
        """
        box = self.panel.folded
        if box is None or box.block is None:
            return box
        block = box.block
        if self.axes[0] == 0:
            return replace(box, block=replace(block, width=block.width - slides))
        return replace(box, block=replace(block, length=block.length - slides))

    def stands(self, clamp: Clamp, number: int, position: _Position) -> bool:
        if clamp.setup:
            return clamp.setup == number
        return all(
            window.low - CLAMP_REACH <= clamp.area[axis + 2] and clamp.area[axis] <= window.high + CLAMP_REACH
            for axis, window in enumerate(position.room)
        )

    def reach(self, position: _Position) -> Rectangle:
        """Where the cutter's centre may be, in program coordinates: the travel, the same in every setup."""
        lows = self.in_program((position.room[0].low, position.room[1].low), position)
        highs = self.in_program((position.room[0].high, position.room[1].high), position)
        x0, x1 = sorted((lows[0], highs[0]))
        y0, y1 = sorted((lows[1], highs[1]))
        return x0 - SLACK, y0 - SLACK, x1 + SLACK, y1 + SLACK

    def touch_off(
        self, position: _Position, zero: XY, clamps: tuple[Clamp, ...], everything: Sequence[Opening]
    ) -> XY | None:
        x0, y0, x1, y1 = self.panel.outline.bounds
        place = (
            max(x0, position.room[0].low), max(y0, position.room[1].low),
            min(x1, position.room[0].high), min(y1, position.room[1].high),
        )  # fmt: skip
        radius = max((one.radius for one in self.panel.outline.segments if isinstance(one, Arc)), default=0.0)
        no_place = (*clamps, *bend_areas(self.panel.folded, len(clamps) + 1))
        nut = self.machine.nut_diameter / 2
        return touch_off(place, radius, everything, no_place, zero, nut, self.panel.cut_outline, self.step)


def _legend_box(legend: Legend) -> Rectangle:
    """A box round a legend and the place by which it is found, as far as the cutter goes about it, mm."""
    (x0, y0, x1, y1), (x, y) = legend.bounds, legend.at
    return min(x0, x) - APPROACH, min(y0, y) - APPROACH, max(x1, x) + APPROACH, max(y1, y) + APPROACH


def _first(shares: Sequence[_Share], boxes: Sequence[Rectangle]) -> _Share | None:
    return next((share for share in shares if all(share.position.holds(box) for box in boxes)), None)


def _pin(one: index.Candidate, drawn: bool) -> Pin:
    return Pin(one.tag, one.at, one.pin.diameter, one.hole, one.clearance, one.source, one.pin.name, drawn)


"""Does the text say what the plan meant: the strokes that were read against the strokes that the plan walks.

Compared by shape and in order, not by count: a straight cut that the text makes in two pieces is the same cut. Each
side is used up piece by piece; where one piece ends before the other, the rest of the other is held against what
follows. Tolerances come from the decimals that the machine's text has, none is tuned.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from toolpaths.finding import Finding
from toolpaths.motion import Program
from toolpaths.stroke import Point, Reading, SpindleOn, Stroke
from toolpaths.tables.rows import Dialect, Machine
from toolpaths.tolerance import SAME_POINT
from toolpaths.verify.walk import Planned, near, same_point, strokes

LOOK_AHEAD = 60
"""How many strokes further the comparison looks for where text and plan agree again."""

MOST_FINDINGS = 40
"""After so many the text is plainly another program."""

FEED_STEP = {"mm": 0.1, "in": 0.254}
"""Last printed digit of a feed, mm/min: 0.1 mm/min, or 0.01 in/min."""

SPEED_STEP = 1.0
"""Last printed digit of a speed, rev/min."""


@dataclass(frozen=True, slots=True)
class _Slack:
    """What rounding to the text's last digit explains, mm."""

    end: float
    """Per coordinate of an end: half a step."""
    path: float
    """Between a read point and the other side's path: half a step in each of three coordinates, at both its ends."""
    centre: float
    """Per coordinate of an arc's centre: the rounding of I or J on top of that of the start, and the choice of a
    neighbouring digit that keeps the two radii equal enough (RS274/NGC 3.5.3.2)."""
    feed: float
    chord: float
    """Between an arc of the plan and a chord of the text, on a machine without arcs: its tolerance, and rounding."""
    chords: bool
    helix_chords: bool


def _slack(dialect: Dialect) -> _Slack:
    step = dialect.step
    return _Slack(
        end=step / 2 + SAME_POINT,
        path=math.sqrt(3) * step + SAME_POINT,
        centre=2 * step + SAME_POINT,
        feed=FEED_STEP[dialect.units],
        chord=dialect.chord_tolerance + math.sqrt(3) * step,
        chords=not dialect.arcs,
        helix_chords=not (dialect.arcs and dialect.helical_arcs),
    )


@dataclass(frozen=True, slots=True)
class _Match:
    """Two pieces agree in shape; what is left of each, if anything."""

    planned: Stroke | None
    read: Stroke | None


Item = TypeVar("Item")

_WHOLE = _Match(None, None)
"""Nothing is left of either."""


class _Ahead(Generic[Item]):
    """One side of the comparison from where it is used up: items are taken from their source as they are looked at."""

    def __init__(self, source: Iterable[Item]) -> None:
        self.source = iter(source)
        self.seen: deque[Item] = deque()

    @property
    def first(self) -> Item | None:
        """The next item; None at the end."""
        return self.seen[0] if self.seen or self.reaches(1) else None

    def drop(self) -> None:
        """Uses up the first item, which was looked at."""
        self.seen.popleft()

    def reaches(self, count: int) -> bool:
        """Whether there are ``count`` items or more."""
        while len(self.seen) < count:
            try:
                self.seen.append(next(self.source))
            except StopIteration:
                return False
        return True

    def ends_at(self, count: int) -> bool:
        """Whether there are ``count`` items and no more."""
        return self.reaches(count) and not self.reaches(count + 1)

    def __getitem__(self, index: int) -> Item:
        """The item ``index`` further on."""
        self.reaches(index + 1)
        return self.seen[index]

    def take(self, count: int) -> list[Item]:
        """Uses up the next ``count`` items."""
        self.reaches(count)
        return [self.seen.popleft() for _ in range(min(count, len(self.seen)))]

    def put(self, item: Item) -> None:
        """Another item in place of the first."""
        self.seen[0] = item

    def rest(self) -> Iterator[Item]:
        """All that are left, using them up."""
        while self.reaches(1):
            yield self.seen.popleft()


def compare(reading: Reading, program: Program, machine: Machine) -> tuple[Finding, ...]:
    """Every place where the text does not do what ``program`` plans, as findings of code ``differs``.

    Besides the planned strokes only this is allowed: a rapid of Z alone to the clear height where no word has given
    Z since it was set, as at the beginning and after each change of cutter.
    """
    return tuple(_Comparison(reading, program, machine).run())


class _Comparison:
    """Both sides of one comparison and how far each is used up."""

    def __init__(self, reading: Reading, program: Program, machine: Machine) -> None:
        self.panel = program.setup.panel
        self.slack = _slack(machine.program)
        self.planned = _Ahead(strokes(program, machine))
        clear = program.setup.clear_height
        self.read = _Ahead(stroke for stroke in reading.strokes if not self.sets_z(stroke, clear))
        self.backwards = _cut_backwards(reading)
        self.units_differ = reading.units != machine.program.units
        self.units = (machine.program.units, reading.units)
        self.last_line = max((event.line for event in reading.events), default=0)
        self.said: set[tuple[str, str]] = set()
        self.rest_is_planned = False
        self.uneven: tuple[Planned, Stroke] | None = None
        """The pair that agreed last, where one of the two goes on further than the other."""

    def sets_z(self, stroke: Stroke, clear: float) -> bool:
        """Z alone, by rapid, from where the operator or the table of lengths has set it, to the clear height."""
        x, y, z = stroke.start
        unset = stroke.kind == "rapid" and stroke.z_known and math.isnan(z)
        return unset and same_point((x, y, stroke.end[2]), stroke.end) and abs(stroke.end[2] - clear) <= self.slack.end

    def run(self) -> Iterator[Finding]:
        """The findings in text order."""
        if self.units_differ:
            yield self.finding(1, "", f"the machine's programs are in {self.units[0]}, this one is in {self.units[1]}")
        for line, feature, message in self.differences():
            if (feature, message) in self.said:
                continue
            self.said.add((feature, message))
            yield self.finding(line, feature, message)
            if len(self.said) == MOST_FINDINGS:
                yield self.finding(line, "", "too many differences: the rest of the text is not compared")
                return

    def finding(self, line: int, feature: str, message: str) -> Finding:
        return Finding("error", "differs", self.panel, feature, message, line)

    def differences(self) -> Iterator[tuple[int, str, str]]:
        """(line, feature, message) of each difference, until both sides are used up."""
        while (planned := self.planned.first) is not None and (read := self.read.first) is not None:
            if planned.drilled_to is not None and self.enter_pecked_hole(planned.drilled_to):
                continue
            match = _match(planned.stroke, read, self.slack)
            fields = tuple(self.fields(planned.stroke, read))
            if (match is None or fields) and self.skip_speck(planned.stroke, read):
                continue
            if match is None:
                yield from self.other_shape(planned, read)
                continue
            yield from ((read.line, planned.feature, field) for field in fields)
            self.advance(match, planned, read)
        yield from self.left_over()

    def advance(self, match: _Match, planned: Planned, read: Stroke) -> None:
        self.uneven = (planned, read) if match.planned or match.read else None
        self.rest_is_planned = match.planned is not None
        if match.planned is None:
            self.planned.drop()
        else:
            self.planned.put(replace(planned, stroke=match.planned))
        if match.read is None:
            self.read.drop()
        else:
            self.read.put(match.read)

    def skip_speck(self, planned: Stroke, read: Stroke) -> bool:
        """Pass over a stroke shorter than rounding: the text may have lost it, or shows only its rounding."""
        if planned.length <= self.slack.path:
            self.planned.drop()
            return True
        if read.length <= self.slack.path:
            self.read.drop()
            return True
        return False

    def enter_pecked_hole(self, drilled_to: float) -> bool:
        """Back down a pecked hole by rapid: the plan's feed then begins where the rapid ends."""
        planned, read = self.planned[0].stroke, self.read[0]
        if read.kind != "rapid" or not self.straight_down(planned, read):
            return False
        z = read.end[2]
        if not drilled_to - self.slack.end <= z <= planned.start[2]:
            return False
        self.read.drop()
        self.uneven = None
        while self.planned[0].drilled_to is not None and self.planned[0].stroke.end[2] >= z:
            self.planned.drop()
        rest = self.planned[0]
        if rest.drilled_to is not None:
            x, y, _ = rest.stroke.start
            self.planned.put(replace(rest, stroke=replace(rest.stroke, start=(x, y, z)), drilled_to=None))
        return True

    def straight_down(self, planned: Stroke, read: Stroke) -> bool:
        over = (planned.start[0], planned.start[1], read.end[2])
        return near(read.end, over, self.slack.end) and read.end[2] < read.start[2]

    def fields(self, planned: Stroke, read: Stroke) -> Iterator[str]:
        """What differs between two strokes besides their shape, in words with both values."""
        if planned.kind != read.kind:
            yield f"planned a {planned.kind}, program says a {read.kind}"
        if planned.cutter != read.cutter:
            yield f"planned cutter T{planned.cutter}, program has T{read.cutter}"
        if not read.z_known:
            yield "planned with Z set anew after the change of cutter, program moves before it is"
        if planned.kind == "rapid" or read.kind == "rapid":
            return
        if abs(planned.feed - read.feed) >= self.slack.feed - SAME_POINT:
            yield f"planned feed {planned.feed:.1f} mm/min, program says {read.feed:.1f}"
        if abs(planned.speed - read.speed) >= SPEED_STEP - SAME_POINT:
            yield f"planned speed {planned.speed:.0f} rev/min, program says {read.speed:.0f}"
        if read.line in self.backwards:
            yield "planned a spindle that turns clockwise (M3), program says M4"
        if planned.centre and read.centre and planned.ccw != read.ccw:
            yield f"planned {_turn(planned)}, program says {_turn(read)}"

    def other_shape(self, planned: Planned, read: Stroke) -> Iterator[tuple[int, str, str]]:
        """The two go different ways: say how, and find where they go the same way again."""
        if self.uneven is not None:
            yield self.stops_elsewhere(*self.uneven)
            return
        skip = self.meeting()
        if skip is None:
            yield read.line, planned.feature, f"{_ways(planned.stroke, read, self.slack)}; the rest is not compared"
            self.planned, self.read = _Ahead(()), _Ahead(())
            return
        in_plan, in_text = skip
        rows, made = self.planned.take(in_plan), self.read.take(in_text)
        if in_plan == in_text:
            for row, stroke in zip(rows, made, strict=True):
                yield stroke.line, row.feature, _ways(row.stroke, stroke, self.slack)
                yield from ((stroke.line, row.feature, field) for field in self.fields(row.stroke, stroke))
        else:
            for row in rows:
                yield read.line, row.feature, f"planned {_named(row.stroke)}, program leaves it out"
            for stroke in made:
                yield stroke.line, planned.feature, f"program makes {_named(stroke)}, which is not planned"

    def stops_elsewhere(self, planned: Planned, read: Stroke) -> tuple[int, str, str]:
        """The same way, but one of the two went further: its rest is told here and passed over."""
        self.uneven = None
        if self.rest_is_planned:
            self.planned.drop()
        else:
            self.read.drop()
        return read.line, planned.feature, _ways(planned.stroke, read, self.slack)

    def meeting(self) -> tuple[int, int] | None:
        """How many strokes to pass over in plan and text until both end at the same place, fewest first.

        Both sides used up counts as meeting, so that a difference in the very last stroke is an ordinary one.
        """
        if self.same_end(0, 0):
            return 1, 1
        for total in range(1, 2 * LOOK_AHEAD):
            for in_plan in range(max(0, total - LOOK_AHEAD), min(total, LOOK_AHEAD) + 1):
                in_text = total - in_plan
                in_both = self.planned.reaches(in_plan + 1) and self.read.reaches(in_text + 1)
                if in_both and self.same_end(in_plan, in_text):
                    return in_plan, in_text
                if self.planned.ends_at(in_plan) and self.read.ends_at(in_text):
                    return in_plan, in_text
        return None

    def same_end(self, in_plan: int, in_text: int) -> bool:
        planned, read = self.planned[in_plan].stroke, self.read[in_text]
        return planned.kind == read.kind and near(planned.end, read.end, self.slack.end)

    def left_over(self) -> Iterator[tuple[int, str, str]]:
        for row in self.planned.rest():
            if row.stroke.length > self.slack.path or math.isnan(row.stroke.length):
                yield self.last_line, row.feature, f"planned {_named(row.stroke)}, program ends before it"
        for stroke in self.read.rest():
            if stroke.length > self.slack.path or math.isnan(stroke.length):
                yield stroke.line, "", f"program makes {_named(stroke)} after all that is planned"


def _cut_backwards(reading: Reading) -> frozenset[int]:
    """Lines of the strokes that are made while the spindle turns counter-clockwise."""
    clockwise = True
    lines: set[int] = set()
    for event in reading.events:
        if isinstance(event, SpindleOn):
            clockwise = event.clockwise
        elif isinstance(event, Stroke) and not clockwise and event.speed > 0:
            lines.add(event.line)
    return frozenset(lines)


# ---- shapes


def _match(planned: Stroke, read: Stroke, slack: _Slack) -> _Match | None:
    """How two strokes that begin at the same place agree in shape, or None. Direction of turn is a field, no shape."""
    if planned.centre is None and read.centre is None:
        return _match_lines(planned, read, slack)
    if planned.centre is not None and read.centre is not None:
        return _match_arcs(planned, read, slack)
    helix = planned.start[2] != planned.end[2]
    if planned.centre is not None and (slack.chords or (helix and slack.helix_chords)):
        return _match_chord(planned, read, slack)
    return None


def _match_lines(planned: Stroke, read: Stroke, slack: _Slack) -> _Match | None:
    if near(planned.end, read.end, slack.end):
        return _WHOLE
    if math.dist(planned.end, read.end) <= slack.path:
        return None  # too near to be a piece of each other: one end is off by a step
    if _passes(read, planned.end, slack.path):
        return _Match(None, replace(read, start=planned.end))
    if _passes(planned, read.end, slack.path):
        return _Match(replace(planned, start=read.end), None)
    return None


def _passes(stroke: Stroke, point: Point, slack: float) -> bool:
    """Whether a straight stroke comes by ``point`` before its end. Nothing is known of one from an unknown start."""
    way = [b - a for a, b in zip(stroke.start, stroke.end, strict=True)]
    so_far = [p - a for a, p in zip(stroke.start, point, strict=True)]
    length = math.hypot(*way)
    if not length > slack:  # unknown, or too short to have a direction
        return False
    along = sum(w * s for w, s in zip(way, so_far, strict=True)) / length
    if not 0 <= along <= length:
        return False
    nearest = [a + along / length * w for a, w in zip(stroke.start, way, strict=True)]
    return math.dist(nearest, point) <= slack


def _match_arcs(planned: Stroke, read: Stroke, slack: _Slack) -> _Match | None:
    assert planned.centre is not None and read.centre is not None
    if not all(abs(p - q) <= slack.centre for p, q in zip(planned.centre, read.centre, strict=True)):
        return None
    if planned.ccw != read.ccw:
        return _WHOLE if near(planned.end, read.end, slack.end) else None
    # An arc's turn is read from three rounded points: start, end and centre.
    turn_slack = (2 * slack.path + 2 * slack.centre) / planned.radius if planned.radius else math.inf
    surplus = read.sweep - planned.sweep
    if abs(surplus) <= turn_slack:
        return _WHOLE if near(planned.end, read.end, slack.end) else None
    reach = slack.path + slack.centre
    if surplus > 0 and near(_at_turn(read, planned.sweep), planned.end, reach):
        return _Match(None, replace(read, start=planned.end))
    if surplus < 0 and near(_at_turn(planned, read.sweep), read.end, reach):
        return _Match(replace(planned, start=read.end), None)
    return None


def _match_chord(planned: Stroke, read: Stroke, slack: _Slack) -> _Match | None:
    """A chord of a planned arc, on a machine that has no such arcs: its end lies on the arc, its height is small."""
    assert planned.centre is not None
    cx, cy = planned.centre
    angle = math.atan2(read.end[1] - cy, read.end[0] - cx) - math.atan2(planned.start[1] - cy, planned.start[0] - cx)
    turn = (angle if planned.ccw else -angle) % (2 * math.pi)
    if planned.radius * (1 - math.cos(turn / 2)) > slack.chord:
        return None
    if near(planned.end, read.end, slack.end) and abs(turn - planned.sweep) * planned.radius <= slack.path:
        return _WHOLE
    if turn < planned.sweep and near(_at_turn(planned, turn), read.end, slack.path):
        return _Match(replace(planned, start=read.end), None)
    return None


def _at_turn(arc: Stroke, turn: float) -> Point:
    """The point of an arc after ``turn`` radians."""
    assert arc.centre is not None
    (cx, cy), (sx, sy, sz) = arc.centre, arc.start
    angle = math.atan2(sy - cy, sx - cx) + (turn if arc.ccw else -turn)
    z = sz + (arc.end[2] - sz) * turn / arc.sweep
    return cx + arc.radius * math.cos(angle), cy + arc.radius * math.sin(angle), z


# ---- words


def _turn(arc: Stroke) -> str:
    return "counter-clockwise" if arc.ccw else "clockwise"


def _named(stroke: Stroke) -> str:
    what = f"a {stroke.kind}" if stroke.centre is None else f"a {_turn(stroke)} arc"
    return f"{what} to {_place(stroke.end)}"


def _place(point: Point) -> str:
    known = [f"{axis}{value:.4g}" if abs(value) < 1 else f"{axis}{value:.3f}".rstrip("0").rstrip(".")
             for axis, value in zip("XYZ", point, strict=True) if not math.isnan(value)]  # fmt: skip
    return " ".join(known) or "an unknown place"


def _ways(planned: Stroke, read: Stroke, slack: _Slack) -> str:
    """How two strokes differ in shape: by the coordinates of their ends, by their centres, or by their kind."""
    ends = [
        (f"{axis}{p:.4f}", f"{axis}{q:.4f}")
        for axis, p, q in zip("XYZ", planned.end, read.end, strict=True)
        if not (abs(p - q) <= slack.end or (math.isnan(p) and math.isnan(q)))
    ]
    if ends:
        return f"planned {' '.join(p for p, _ in ends)}, program says {' '.join(q for _, q in ends)}"
    if planned.centre is not None and read.centre is not None:
        (px, py), (qx, qy) = planned.centre, read.centre
        return f"planned an arc about X{px:.4f} Y{py:.4f}, program says X{qx:.4f} Y{qy:.4f}"
    return f"planned {_named(planned)}, program says {_named(read)}"

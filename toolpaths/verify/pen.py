"""The proof of a program for a pen: it draws the strokes of its drawing, all of them in their order, and nothing else.

It shares nothing with what writes such programs: dashes are measured here along the drawing's marks once more, and the
words that move the pen are what the reader makes of the machine's own file.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely

from toolpaths.drawing import Chain, Drawing, Mark, Scale
from toolpaths.finding import Finding
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds, Line, Segment
from toolpaths.reread.interpret import interpret
from toolpaths.stroke import Dwell, End, Event, LengthOffset, Reading, SpindleOff, Stroke
from toolpaths.tables.rows import Machine, PenHolder
from toolpaths.tolerance import PEN_CHORD, ROUNDING_MM

Standing = tuple[Bounds, float]
"""A box that stands on the sheet, in program coordinates, and its height above it, mm."""

SAMPLES = 16
"""Points of an arc's sweep at which clamps are looked for, beside its ends."""


class _Fault(Exception):
    """The first thing that is wrong."""

    def __init__(self, code: str, said: str, line: int = 0) -> None:
        super().__init__(said)
        self.code, self.said, self.line = code, said, line


@dataclass(frozen=True, slots=True)
class _Run:
    """What is drawn from one lowering of the pen to the next lifting: its first place, and its strokes."""

    line: int
    start: XY
    strokes: tuple[Stroke, ...]


def judge_pen(
    reading: Reading, drawing: Drawing, machine: Machine, standing: Sequence[Standing] = ()
) -> list[Finding]:
    """What is wrong with a program for a pen; its first fault alone, since all others may follow from it.

    ``drawing`` has true lengths; its scale is what the program should have multiplied with.
    """
    pen = machine.pen
    if pen is None:
        return [Finding("error", "differs", drawing.panel, "", f"{machine.name} does not say how its pen is moved")]
    try:
        found = list(_runs(reading, drawing, machine, pen))
        _judge_strokes(found, drawing, machine)
        _judge_travel(reading, machine)
        _judge_standing(reading, drawing, pen, standing)
    except _Fault as fault:
        return [Finding("error", fault.code, drawing.panel, "", fault.said, fault.line)]
    return []


# --- the pen, up and down -------------------------------------------------------------------------------------


def _runs(reading: Reading, drawing: Drawing, machine: Machine, pen: PenHolder) -> Iterator[_Run]:
    """The runs of a program; a fault where the pen goes otherwise than up, over, down and along."""
    walk = _ByCommand(pen, machine) if pen.by_command else _ByZ(pen, machine, max(pen.up, drawing.clear_height))
    start: XY | None = None
    line = 0
    drawn: list[Stroke] = []
    for event in reading.events:
        was = walk.down
        move = walk.take(event)
        if walk.down and not was:
            start, line, drawn = walk.place, event.line, []
        elif was and not walk.down:
            assert start is not None
            yield _Run(line, start, tuple(drawn))
        elif move and walk.down:
            drawn.append(move)
    if walk.down:
        raise _Fault("differs", "the program ends with the pen down")


class _Walk(ABC):
    """Where the pen is; ``down`` says whether it draws. How it is lowered and lifted depends on the machine."""

    def __init__(self, pen: PenHolder, machine: Machine) -> None:
        self.pen = pen
        self.milliseconds = machine.program.dwell == "milliseconds"
        self.down = False
        self.known = False
        """Whether the text has lifted the pen."""
        self.place: XY = (math.nan, math.nan)
        self.owed = 0.0
        """Seconds that must pass before X or Y moves."""

    def take(self, event: Event) -> Stroke | None:
        """Follows an event; gives it where it moves X or Y."""
        if isinstance(event, Dwell):
            self.owed -= event.seconds / (1000 if self.milliseconds else 1)
            return None
        if isinstance(event, Stroke):
            return self.stroke(event)
        if isinstance(event, End) or (isinstance(event, LengthOffset) and event.number == 0):
            return None
        self.word(event)
        return None

    @abstractmethod
    def stroke(self, stroke: Stroke) -> Stroke | None:
        """Follows a move; gives it where it moves X or Y."""

    @abstractmethod
    def word(self, event: Event) -> None:
        """Follows a word for the spindle, or refuses it."""

    def over(self, stroke: Stroke) -> Stroke:
        """A move in X and Y."""
        if not self.known:
            raise _Fault("differs", "the pen moves before it is lifted", stroke.line)
        if self.owed > 1e-6:
            raise _Fault("differs", "the pen moves before it has had the time to be lowered or lifted", stroke.line)
        if self.down and (stroke.kind == "rapid" or stroke.feed > self.pen.feed * (1 + 1e-6)):
            raise _Fault("differs", f"the pen draws faster than {self.pen.feed:g} mm/min", stroke.line)
        if not self.down and stroke.kind != "rapid":
            raise _Fault("differs", "a feed with the pen lifted draws nothing", stroke.line)
        self.place = stroke.end[:2]
        return stroke


class _ByZ(_Walk):
    """A pen that Z moves: it draws at the depth that its spring gives, and travels at ``up``."""

    def __init__(self, pen: PenHolder, machine: Machine, up: float) -> None:
        super().__init__(pen, machine)
        self.up = up

    def stroke(self, stroke: Stroke) -> Stroke | None:
        (sx, sy, sz), (ex, ey, ez) = stroke.start, stroke.end
        level = abs(ez - sz) <= ROUNDING_MM / 10
        if stroke.speed > 0:
            raise _Fault("differs", "the spindle turns with the pen in it", stroke.line)
        if not level:
            self.lifted_or_lowered(stroke)
            return None
        if stroke.centre is None and _same((sx, sy), (ex, ey)):
            return None
        return self.over(stroke)

    def lifted_or_lowered(self, stroke: Stroke) -> None:
        """A move in Z alone, to one of the two heights."""
        (sx, sy, _), (ex, ey, ez) = stroke.start, stroke.end
        moved = not (_same((sx, sy), (ex, ey)) or (math.isnan(sx) and math.isnan(ex)))
        if moved or stroke.centre is not None:
            raise _Fault("differs", "the pen moves in Z and along the sheet at once", stroke.line)
        if abs(ez - self.up) <= ROUNDING_MM:
            self.down, self.known = False, True
        elif abs(ez + self.pen.press) <= ROUNDING_MM:
            if stroke.kind == "rapid":
                raise _Fault("differs", "a rapid sends the pen into the sheet", stroke.line)
            self.down, self.owed = True, self.pen.dwell
        else:
            said = f"the pen is sent to Z{ez:.3f} mm; it draws at {-self.pen.press:g} and travels at {self.up:g}"
            raise _Fault("differs", said, stroke.line)

    def word(self, event: Event) -> None:
        if not isinstance(event, SpindleOff):
            raise _Fault("differs", f"{type(event).__name__} has no place in a program for a pen", event.line)


class _ByCommand(_Walk):
    """A pen that the machine's own words move, as the reader understands them."""

    def __init__(self, pen: PenHolder, machine: Machine) -> None:
        super().__init__(pen, machine)
        self.lower, self.lift = (_meant(words) for words in (pen.lower, pen.lift))

    def stroke(self, stroke: Stroke) -> Stroke | None:
        if not all(map(math.isnan, (stroke.start[2], stroke.end[2]))):
            raise _Fault("differs", "Z moves, and the machine has none", stroke.line)
        return self.over(stroke)

    def word(self, event: Event) -> None:
        meant = replace(event, line=0)
        if meant == self.lower:
            self.down = True
        elif meant == self.lift:
            self.down, self.known = False, True
        else:
            said = f"words that neither lower the pen ({self.pen.lower}) nor lift it ({self.pen.lift})"
            raise _Fault("differs", said, event.line)
        self.owed = self.pen.dwell


def _meant(words: str) -> Event:
    """The one event that the words of a machine's file are to the reader."""
    (event,) = interpret(words).events
    return replace(event, line=0)


# --- the strokes ------------------------------------------------------------------------------------------------


def _judge_strokes(found: Sequence[_Run], drawing: Drawing, machine: Machine) -> None:
    """Run by run against the dashes of the drawing's marks."""
    step = machine.program.step
    rest = iter(found)
    for pen in drawing.pens:
        for mark in pen.marks:
            for begin, end in _dashes(_length(mark), pen.dash):
                run = next(rest, None)
                if run is None:
                    raise _Fault("differs", f"the program ends before all of {pen.name} is drawn")
                wanted = list(_piece(_as_broken(mark) if pen.dash else mark, begin, end))
                _judge_run(run, wanted, drawing, pen.name, step)
    more = next(rest, None)
    if more is not None:
        raise _Fault("differs", "a stroke that the drawing has not", more.line)


def _dashes(length: float, dash: Sequence[float]) -> Iterator[tuple[float, float]]:
    """Where the pen is down along a mark, mm from its beginning."""
    if not dash:
        yield 0.0, length
        return
    period = sum(dash)
    ends = [sum(dash[:count]) for count in range(len(dash) + 1)]
    for whole in range(math.ceil(length / period)):
        for begin, end in zip(ends[:-1:2], ends[1::2], strict=True):
            if whole * period + begin < length - 1e-7:
                yield whole * period + begin, min(whole * period + end, length)


def _as_broken(mark: Mark) -> Mark:
    """A mark as its dashes run: a full circle from its right and clockwise, as SVG has it (SVG 2, 9.3)."""
    if isinstance(mark, Chain) and len(mark.segments) == 1:
        (only,) = mark.segments
        if isinstance(only, Arc) and only.is_circle:
            (x, y), radius = only.centre, only.radius
            return Chain((Arc((x + radius, y), (x + radius, y), (x, y), False),), True)
    return mark


def _judge_run(run: _Run, wanted: Sequence[Segment], drawing: Drawing, name: str, step: float) -> None:
    """Strokes one after the other along the segments that they should draw."""
    scale = drawing.scale
    near = 1.5 * step

    def true(point: Sequence[float]) -> XY:
        return point[0] / scale.x, point[1] / scale.y

    def off(point: XY, line: int) -> _Fault:
        said = f"{name}: a stroke lies otherwise than drawn near X{point[0]:.3f} Y{point[1]:.3f}"
        return _Fault("differs", said, line)

    here = true(run.start)
    if math.dist(here, wanted[0].start) > near:
        raise off(here, run.line)
    left = list(run.strokes)
    for segment in wanted:
        full = isinstance(segment, Arc) and segment.is_circle
        along = 0.0
        while full or math.dist(here, segment.end) > near:
            if not left:
                raise off(segment.end, run.line)
            stroke = left.pop(0)
            end = true(stroke.end)
            reached = _judge_stroke(stroke, segment, along, here, end, scale, near)
            if reached is None:
                raise off(end, stroke.line)
            along, here = reached, end
            full = full and along < segment.length - near
    if left:
        raise off(true(left[0].end), left[0].line)
    if math.dist(here, wanted[-1].end) > near:
        raise off(here, run.line)


def _judge_stroke(
    stroke: Stroke, segment: Segment, along: float, here: XY, end: XY, scale: Scale, near: float
) -> float | None:
    """How far along the segment a stroke comes that lies on it; None for one that does not."""
    if stroke.centre is not None:
        if not isinstance(segment, Arc) or stroke.ccw != segment.ccw:
            return None
        alike = scale.x == scale.y and math.dist(stroke.centre, scale.of(segment.centre)) <= 3 * near
        sweep = abs(stroke.sweep - segment.sweep) * segment.radius <= 4 * near
        return segment.length if alike and sweep and math.dist(end, segment.end) <= near else None
    if isinstance(segment, Line):
        reached = _along_line(segment, end)
        aside = math.dist(end, segment.point_at(min(max(reached, 0.0), segment.length)))
        return reached if aside <= near and reached >= along - near else None
    return _along_arc(segment, along, here, end, near)


def _along_line(line: Line, point: XY) -> float:
    (tx, ty), (sx, sy) = line.tangent_at(0.0), line.start
    return (point[0] - sx) * tx + (point[1] - sy) * ty


def _along_arc(arc: Arc, along: float, here: XY, end: XY, near: float) -> float | None:
    """A chord from ``here``: both ends on the arc and its middle no farther from it than a chord may be."""
    middle = ((here[0] + end[0]) / 2, (here[1] + end[1]) / 2)
    rim = abs(math.dist(end, arc.centre) - arc.radius) <= near
    # of a chord over half a turn or more the middle lies at the centre: it never passes
    close = abs(math.dist(middle, arc.centre) - arc.radius) <= PEN_CHORD + near
    turn = math.atan2(end[1] - arc.centre[1], end[0] - arc.centre[0])
    turn -= math.atan2(arc.start[1] - arc.centre[1], arc.start[0] - arc.centre[0])
    reached = ((turn if arc.ccw else -turn) % TURN) * arc.radius
    if math.dist(end, arc.end) <= near and reached < along:
        reached = arc.length
    return reached if rim and close and along - near <= reached <= arc.length + near else None


def _length(mark: Mark) -> float:
    return sum(segment.length for segment in _of(mark))


def _of(mark: Mark) -> Sequence[Segment]:
    if isinstance(mark, Chain):
        return mark.segments
    points = mark.points if len(mark.points) > 1 else mark.points * 2
    return [Line(start, end) for start, end in pairwise(points)]


def _piece(mark: Mark, begin: float, end: float) -> Iterator[Segment]:
    """The segments of a mark from ``begin`` to ``end``, mm along it."""
    segments = _of(mark)
    if end - begin >= sum(segment.length for segment in segments) - 1e-9:
        yield from segments
        return
    for segment in segments:
        if begin < segment.length - 1e-7 and end > 1e-7:
            yield segment.cut(max(begin, 0.0), min(end, segment.length))
        begin, end = begin - segment.length, end - segment.length


# --- machine and clamps ------------------------------------------------------------------------------------------


def _judge_travel(reading: Reading, machine: Machine) -> None:
    """All that the pen is sent to lies within the travel of X, Y and Z."""
    ends = [stroke for stroke in reading.strokes if not math.isnan(stroke.end[0] + stroke.end[1])]
    for axis, name in enumerate("XY"):
        values = [value for stroke in ends for value in _reached(stroke, axis)]
        if values and max(values) - min(values) > machine.travel[axis] + ROUNDING_MM:
            said = f"{name} runs over {max(values) - min(values):.1f} mm; the machine travels {machine.travel[axis]:g}"
            raise _Fault("out-of-travel", said)
    heights = [stroke.end[2] for stroke in reading.strokes if not math.isnan(stroke.end[2])]
    if heights and max(heights) - min(heights) > machine.travel[2] + ROUNDING_MM:
        said = f"Z runs over {max(heights) - min(heights):.1f} mm; the machine travels {machine.travel[2]:g}"
        raise _Fault("out-of-travel", said)


def _reached(stroke: Stroke, axis: int) -> tuple[float, ...]:
    """Its least and greatest place on an axis, beside where it begins."""
    if stroke.centre is None:
        return (stroke.end[axis],)
    bounds = Arc(stroke.start[:2], stroke.end[:2], stroke.centre, stroke.ccw).bounds
    return bounds[axis], bounds[axis + 2]


def _judge_standing(reading: Reading, drawing: Drawing, pen: PenHolder, standing: Sequence[Standing]) -> None:
    """Neither pen nor holder meets what stands on the sheet, wherever they are lower than it."""
    for (x0, y0, x1, y1), height in standing:
        box = shapely.box(x0, y0, x1, y1)
        for stroke in reading.strokes:
            low = min(stroke.start[2], stroke.end[2])
            if math.isnan(stroke.end[0] + stroke.end[1]) or low >= height:
                continue
            points = [(x / drawing.scale.x, y / drawing.scale.y) for x, y in _way(stroke)]
            way = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
            if shapely.distance(way, box) < pen.diameter / 2 - ROUNDING_MM:
                x, y = points[-1]
                said = f"the pen's holder meets what stands on the sheet, {height:g} mm high, near X{x:.1f} Y{y:.1f}"
                raise _Fault("hits-clamp", said, stroke.line)


def _way(stroke: Stroke) -> list[XY]:
    (sx, sy, _), (ex, ey, _) = stroke.start, stroke.end
    if stroke.centre is None:
        return [(ex, ey)] if math.isnan(sx + sy) or _same((sx, sy), (ex, ey)) else [(sx, sy), (ex, ey)]
    (cx, cy), radius = stroke.centre, stroke.radius
    begin = math.atan2(sy - cy, sx - cx)
    turn = stroke.sweep if stroke.ccw else -stroke.sweep
    return [
        (cx + radius * math.cos(begin + turn * share / SAMPLES), cy + radius * math.sin(begin + turn * share / SAMPLES))
        for share in range(SAMPLES + 1)
    ]


def _same(one: XY, other: XY) -> bool:
    return math.dist(one, other) <= 1e-9

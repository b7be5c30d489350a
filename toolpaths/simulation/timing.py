"""How long programs take, from the strokes that a reader found in their text: an estimate.

Every stroke is run at its feed, or a rapid at the machine's rapid rates, as far as acceleration allows: speed rises and
falls evenly (a trapezoid over time, a triangle where the stroke is too short to reach its feed), an arc is no faster
than its centripetal acceleration lets it be, and at a corner the machine slows down to what it can turn at. Stops,
dwells and changes of cutter are added. A controller may look ahead less far than this, and then takes longer.

Formulas: uniformly accelerated motion and motion on a circle, v^2 = u^2 + 2 a s and a = v^2 / r (any textbook of
mechanics).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.stroke import Change, Dwell, Reading, SpindleOn, Stop, Stroke
from toolpaths.tables.rows import Machine

CORNER: Final = 0.01
"""mm; a corner is taken on the circle that leaves it by this much: controllers as they are delivered keep about so near
to the path (from memory)."""

MINUTE: Final = 60.0
XYZ = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Halt:
    """The machine stands still for ``seconds`` up to time ``end``: why, in words; ``line`` of the text.

    ``before`` is the place of the stroke that comes next.
    """

    end: float
    seconds: float
    why: str
    line: int
    before: int


@dataclass(frozen=True, slots=True)
class Timeline:
    """The strokes of all programs of a setup with the time in seconds at which each ends, from the first start.

    ``programs`` are the times at which each program ends; the seconds are an estimate.
    """

    strokes: tuple[Stroke, ...]
    ends: tuple[float, ...]
    halts: tuple[Halt, ...]
    programs: tuple[float, ...]

    @property
    def seconds(self) -> float:
        """All of it."""
        return self.programs[-1] if self.programs else 0.0


def timeline(readings: Sequence[Reading], machine: Machine) -> Timeline:
    """When every stroke of these programs, run one after the other, ends on a machine."""
    clock = _Clock(machine)
    programs = []
    for reading in readings:
        clock.run(reading)
        programs.append(clock.now)
    return Timeline(tuple(clock.strokes), tuple(clock.ends), tuple(clock.halts), tuple(programs))


class _Clock:
    """Time as it goes on from event to event; strokes between two halts are worked out together."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.now = 0.0
        self.strokes: list[Stroke] = []
        self.ends: list[float] = []
        self.halts: list[Halt] = []
        self.waiting: list[Stroke] = []

    def run(self, reading: Reading) -> None:
        changed = starting = False
        for event in reading.events:
            match event:
                case Stroke():
                    self.waiting.append(event)
                    changed = starting = False
                case SpindleOn():
                    starting = True
                case Change(cutter=cutter, line=line):
                    self.halt(self.machine.change_seconds, f"change to T{cutter}", line)
                    changed = True
                case Stop(line=line, optional=False):
                    # the stop after a change is that in which the cutter is fitted and touched off
                    self.halt(0.0 if changed else self.machine.change_seconds, "stop for the operator", line)
                    changed = False
                case Dwell(seconds=seconds, line=line):
                    # the reader gives P as it stands; what it counts is the controller's affair
                    counts = 1000 if self.machine.program.dwell == "milliseconds" else 1
                    self.halt(seconds / counts, "the spindle runs up" if starting else "dwell", line)
                case _:
                    pass
        self.catch_up()

    def halt(self, seconds: float, why: str, line: int) -> None:
        self.catch_up()
        self.now += seconds
        if seconds > 0:
            self.halts.append(Halt(self.now, seconds, why, line, len(self.strokes)))

    def catch_up(self) -> None:
        """The time of the strokes since the last halt, which begin and end at rest."""
        for stroke, seconds in zip(self.waiting, durations(self.waiting, self.machine), strict=True):
            self.now += seconds
            self.strokes.append(stroke)
            self.ends.append(self.now)
        self.waiting = []


def durations(strokes: Sequence[Stroke], machine: Machine) -> list[float]:
    """Seconds of each stroke of a run that begins and ends at rest.

    A coordinate that is not known yet counts as unchanged.
    """
    a = machine.acceleration
    lengths = [_length(stroke) for stroke in strokes]
    tops = [top_speed(stroke, machine) for stroke in strokes]
    at = list(_corner_speeds(strokes, lengths, tops, a))
    for index in range(len(strokes) - 1, -1, -1):
        at[index] = min(at[index], math.sqrt(at[index + 1] ** 2 + 2 * a * lengths[index]))
    for index in range(len(strokes)):
        at[index + 1] = min(at[index + 1], math.sqrt(at[index] ** 2 + 2 * a * lengths[index]))
    return [
        run_time(length, top, at[index], at[index + 1], a)
        for index, (length, top) in enumerate(zip(lengths, tops, strict=True))
    ]


def run_time(length: float, top: float, enters: float, leaves: float, acceleration: float) -> float:
    """Seconds for ``length`` mm, entered and left at two speeds, at most ``top``, mm/s, with even acceleration, mm/s².

    >>> run_time(100.0, 10.0, 0.0, 0.0, 5.0)  # 100/10 + 10/5
    12.0
    >>> run_time(5.0, 100.0, 0.0, 0.0, 5.0)  # too short for its speed: 2 sqrt(5/5)
    2.0
    """
    if length <= 0:
        return 0.0
    peak = min(top, math.sqrt((enters**2 + leaves**2) / 2 + acceleration * length))
    ramps = (2 * peak**2 - enters**2 - leaves**2) / (2 * acceleration)
    return (2 * peak - enters - leaves) / acceleration + max(length - ramps, 0.0) / peak


def top_speed(stroke: Stroke, machine: Machine) -> float:
    """How fast a stroke is run at most, mm/s: its feed or the rapid rate, the limits of the axes, its arc's radius."""
    length = _length(stroke)
    if length <= 0:
        return machine.rapid_xy / MINUTE
    up = abs(_change(stroke, 2)) / length
    across = math.sqrt(max(0.0, 1 - up**2))
    rapid = stroke.kind == "rapid"
    xy, z = (machine.rapid_xy, machine.rapid_z) if rapid else (machine.max_xy, machine.max_z)
    limits = [xy / across if across > 0 else math.inf, z / up if up > 0 else math.inf]
    if not rapid and stroke.feed > 0:
        limits.append(stroke.feed)
    speed = min(limits) / MINUTE
    if stroke.centre is not None and stroke.radius > 0 and across > 0:
        speed = min(speed, math.sqrt(machine.acceleration * stroke.radius) / across)
    return speed


def _corner_speeds(
    strokes: Sequence[Stroke], lengths: Sequence[float], tops: Sequence[float], acceleration: float
) -> Iterator[float]:
    """How fast each stroke may be entered at most, and 0 for the end: strokes without length are passed over."""
    yield 0.0
    ways = [_ways(stroke) if length > 0 else None for stroke, length in zip(strokes, lengths, strict=True)]
    for index in range(1, len(strokes)):
        before, after = ways[index - 1], ways[index]
        if before is None or after is None:
            yield 0.0
            continue
        corner = corner_speed(before[1], after[0], acceleration)
        yield min(corner, tops[index - 1], tops[index])
    if strokes:
        yield 0.0


def corner_speed(before: XYZ, after: XYZ, acceleration: float) -> float:
    """The speed on the circle that touches both ways and leaves their corner by ``CORNER``, mm/s; inf straight on.

    >>> corner_speed((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), 100.0)
    0.0
    """
    cosine = sum(one * other for one, other in zip(before, after, strict=True))
    half = math.sqrt(max(0.0, (1 + cosine) / 2))  # the cosine of half the turn
    if half >= 1 - 1e-12:
        return math.inf
    return math.sqrt(acceleration * CORNER * half / (1 - half))


def _ways(stroke: Stroke) -> tuple[XYZ, XYZ]:
    """The unit directions in which a stroke begins and ends."""
    dx, dy, dz = (_change(stroke, axis) for axis in range(3))
    if stroke.centre is None:
        length = math.hypot(dx, dy, dz)
        way = dx / length, dy / length, dz / length
        return way, way
    across = stroke.radius * stroke.sweep
    length = math.hypot(across, dz)
    flat, up = across / length, dz / length

    def tangent(x: float, y: float) -> XYZ:
        assert stroke.centre is not None
        out_x, out_y = x - stroke.centre[0], y - stroke.centre[1]
        radius = math.hypot(out_x, out_y) or 1.0
        turn = 1.0 if stroke.ccw else -1.0
        return -out_y / radius * turn * flat, out_x / radius * turn * flat, up

    return tangent(*stroke.start[:2]), tangent(*stroke.end[:2])


def _length(stroke: Stroke) -> float:
    if stroke.centre is not None:
        return stroke.length
    return math.hypot(*(_change(stroke, axis) for axis in range(3)))


def _change(stroke: Stroke, axis: int) -> float:
    by = stroke.end[axis] - stroke.start[axis]
    return 0.0 if math.isnan(by) else by

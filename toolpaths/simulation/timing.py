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
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

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
    if not strokes:
        return []
    a = machine.acceleration
    run = _Run.of(strokes)
    tops = run.top_speeds(machine)
    at = [0.0, *run.corner_speeds(tops, a).tolist(), 0.0]
    gained: list[float] = (2 * a * run.length).tolist()
    for index in range(len(strokes) - 1, -1, -1):
        at[index] = min(at[index], math.sqrt(at[index + 1] ** 2 + gained[index]))
    for index in range(len(strokes)):
        at[index + 1] = min(at[index + 1], math.sqrt(at[index] ** 2 + gained[index]))
    reached = np.array(at)
    seconds: list[float] = _run_times(run.length, tops, reached[:-1], reached[1:], a).tolist()
    return seconds


def run_time(length: float, top: float, enters: float, leaves: float, acceleration: float) -> float:
    """Seconds for ``length`` mm, entered and left at two speeds, at most ``top``, mm/s, with even acceleration, mm/s².

    >>> run_time(100.0, 10.0, 0.0, 0.0, 5.0)  # 100/10 + 10/5
    12.0
    >>> run_time(5.0, 100.0, 0.0, 0.0, 5.0)  # too short for its speed: 2 sqrt(5/5)
    2.0
    """
    one = _run_times(np.array([length]), np.array([top]), np.array([enters]), np.array([leaves]), acceleration)
    return float(one[0])


def top_speed(stroke: Stroke, machine: Machine) -> float:
    """How fast a stroke is run at most, mm/s: its feed or the rapid rate, the limits of the axes, its arc's radius."""
    return float(_Run.of([stroke]).top_speeds(machine)[0])


def corner_speed(before: XYZ, after: XYZ, acceleration: float) -> float:
    """The speed on the circle that touches both ways and leaves their corner by ``CORNER``, mm/s; inf straight on.

    >>> corner_speed((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), 100.0)
    0.0
    """
    return float(_corner_speeds(np.array([before]), np.array([after]), acceleration)[0])


Numbers = NDArray[np.float64]


def rows_of(tuples: Iterable[Sequence[float]], width: int) -> Numbers:
    """An array with a row for each tuple of so many numbers."""
    return np.fromiter(chain.from_iterable(tuples), float).reshape(-1, width)


@dataclass(frozen=True, slots=True)
class _Run:
    """Strokes one behind the other, a row for each: their lengths, and the unit directions in which they begin and end.

    ``flat`` is the way in the plane, ``radius`` that of an arc (0: straight), ``rise`` the change in Z; mm.
    """

    length: Numbers
    flat: Numbers
    radius: Numbers
    rise: Numbers
    begins: Numbers
    ends: Numbers
    feed: Numbers
    rapid: NDArray[np.bool_]

    @classmethod
    def of(cls, strokes: Sequence[Stroke]) -> _Run:
        start, end = (rows_of(map(attrgetter(name), strokes), 3) for name in ("start", "end"))
        change = np.nan_to_num(end - start, nan=0.0)
        arc = np.array([stroke.centre is not None for stroke in strokes])
        centre = rows_of((stroke.centre or (0.0, 0.0) for stroke in strokes), 2)
        radius = np.where(arc, np.hypot(*(start[:, :2] - centre).T), 0.0)
        sweep = np.array([stroke.sweep if stroke.centre else 0.0 for stroke in strokes])
        flat = np.where(arc, radius * sweep, np.hypot(change[:, 0], change[:, 1]))
        length = np.hypot(flat, change[:, 2])
        straight = change / np.where(length > 0, length, 1.0)[:, None]
        turn = np.array([1.0 if stroke.ccw else -1.0 for stroke in strokes])

        def directions(points: Numbers) -> Numbers:
            out = points[:, :2] - centre
            share = turn * flat / np.where(length > 0, length, 1.0) / (np.hypot(*out.T) + (radius == 0))
            round_it = np.column_stack((-out[:, 1] * share, out[:, 0] * share, straight[:, 2]))
            return np.where(arc[:, None], round_it, straight)

        return cls(
            length, flat, radius, np.abs(change[:, 2]), directions(start), directions(end),
            np.array([stroke.feed for stroke in strokes]), np.array([stroke.kind == "rapid" for stroke in strokes]),
        )  # fmt: skip

    def top_speeds(self, machine: Machine) -> Numbers:
        """How fast each stroke is run at most, mm/s; the rapid rate for one without length."""
        with np.errstate(divide="ignore", invalid="ignore"):
            xy = np.where(self.rapid, machine.rapid_xy, machine.max_xy) * self.length / self.flat
            z = np.where(self.rapid, machine.rapid_z, machine.max_z) * self.length / self.rise
            fed = np.where(self.rapid | (self.feed <= 0), np.inf, self.feed)
            round_it = np.sqrt(machine.acceleration * self.radius) * self.length / self.flat
        speed = np.minimum(np.minimum(xy, z), fed) / MINUTE
        speed = np.where((self.radius > 0) & (self.flat > 0), np.minimum(speed, round_it), speed)
        return np.where(self.length > 0, speed, machine.rapid_xy / MINUTE)

    def corner_speeds(self, tops: Numbers, acceleration: float) -> Numbers:
        """How fast each stroke but the first may be entered at most; at rest where one of the two has no length."""
        corners = _corner_speeds(self.ends[:-1], self.begins[1:], acceleration)
        moves = (self.length[:-1] > 0) & (self.length[1:] > 0)
        return np.where(moves, np.minimum(corners, np.minimum(tops[:-1], tops[1:])), 0.0)


def _run_times(length: Numbers, top: Numbers, enters: Numbers, leaves: Numbers, acceleration: float) -> Numbers:
    peak = np.minimum(top, np.sqrt((enters**2 + leaves**2) / 2 + acceleration * length))
    ramps = (2 * peak**2 - enters**2 - leaves**2) / (2 * acceleration)
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds = (2 * peak - enters - leaves) / acceleration + np.maximum(length - ramps, 0.0) / peak
    return np.where(length > 0, seconds, 0.0)


def _corner_speeds(before: Numbers, after: Numbers, acceleration: float) -> Numbers:
    half = np.sqrt(np.maximum(0.0, (1 + (before * after).sum(axis=1)) / 2))  # the cosine of half the turn
    straight_on = half >= 1 - 1e-12
    return np.where(straight_on, np.inf, np.sqrt(acceleration * CORNER * half / np.where(straight_on, 1.0, 1 - half)))

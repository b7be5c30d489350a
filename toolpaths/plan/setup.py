"""From one panel to its Program: choices, tasks, order, travel, and whether it all fits on the machine."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from toolpaths.finding import Finding, has_errors
from toolpaths.geometry.segment import XY
from toolpaths.layout.outline import away_from_outline, lies_across
from toolpaths.layout.panel import Panel
from toolpaths.motion import Arc, Drill, Motion, Operation, Pause, Point, Program, Setup
from toolpaths.plan.choice import choose
from toolpaths.plan.engraving import engraving
from toolpaths.plan.methods import Shop
from toolpaths.plan.order import ordered
from toolpaths.plan.path import turn_of
from toolpaths.plan.slots import at_hand, with_cures
from toolpaths.plan.tasks import Task, tasks
from toolpaths.plan.travel import Obstacle, Traveller, gap_to, obstacles, width_near
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import CLAMP_CLEARANCE

ARC_PARTS = 24
"""Chords per turn when an arc's distance to a clamp is asked."""

ARC_BULGE = 1.01
"""Their radius is that of the arc times this, for what the arc bows out beyond them."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A panel's program, or None where a finding of severity error stands in its way."""

    program: Program | None
    findings: tuple[Finding, ...]
    short: tuple[int, ...] = ()
    """The axes along which the cuts are longer than the machine's travel: 0 for X, 1 for Y."""


def plan_panel(
    title: str, panel: Panel, machine: Machine, cutters: dict[int, Cutter], material: Material,
    begun: Mapping[str, int] | None = None,
) -> Planned:
    """Plans one setup of one panel; every trouble is found before any metal is cut.

    ``begun`` names the cutters of contours that an earlier setup has cut in part, by their tags.
    """
    if panel.folded and panel.folded.standing and panel.folded.lid:
        return Planned(None, ())  # the layout's checks have said that no cutter gets in
    shop = Shop(panel, machine, at_hand(cutters, machine), material, begun or {})
    chosen, found = choose(shop)
    findings = with_cures(found, shop, cutters)
    engraved, about = engraving(shop)
    findings += about
    work = ordered([*engraved, *tasks(chosen, shop)])
    around = obstacles(panel)
    findings += _under_clamps(work, shop, around)
    operations = _operations(work, shop, around)
    too_far, short = _beyond_travel(operations, shop)
    findings += too_far
    # Without a place to touch off there is no setup either; the layout's checks have said so.
    if has_errors(findings) or panel.touch_off is None or not operations:
        return Planned(None, tuple(findings), short)
    setup = Setup(
        panel.name,
        panel.stage.number if panel.stage else 1,
        panel.zero,
        panel.mirrored,
        panel.touch_off,
        panel.clear_height,
        panel.thickness,
        panel.stock,
        operations,
        panel.stage.count if panel.stage else 1,
        panel.on_table,
        tuple(pin.tag for pin in panel.stage.drawn) if panel.stage else (),
    )
    return Planned(Program(title, setup), tuple(findings))


def _operations(work: list[Task], shop: Shop, around: tuple[Obstacle, ...]) -> tuple[Operation, ...]:
    made: list[Operation] = []
    one_side = not shop.machine.climbs
    traveller: Traveller | None = None
    for index, task in enumerate(work):
        if traveller is None:
            traveller = Traveller(shop.panel, task.cutter, shop.machine, around)
        motions = traveller.take(task.cut, one_side and task.kind not in ("finish", "engrave"))
        following = work[index + 1] if index + 1 < len(work) else None
        if following is None or following.cutter.number != task.cutter.number or following.data.rpm != task.data.rpm:
            motions = (*motions, *traveller.lift())
            traveller = None
        made.append(_operation(task, motions))
    return tuple(made)


def _operation(task: Task, motions: tuple[Motion, ...]) -> Operation:
    data = task.data
    return Operation(
        task.kind,
        task.cutter.number,
        task.opening.feature,
        (task.opening.tag,),
        data.rpm,
        data.feed,
        data.plunge,
        0.0 if task.kind == "finish" else data.stepdown,
        -task.depth,
        task.reasons,
        motions,
        tuple(reason for reason in task.reasons if reason in data.reasons),
    )


def _under_clamps(work: list[Task], shop: Shop, around: tuple[Obstacle, ...]) -> list[Finding]:
    worst: dict[tuple[str, str], tuple[float, Task, Obstacle]] = {}
    for task in work:
        for obstacle in _near(task, shop, around) if around else ():
            if task.opening.outside and lies_across(obstacle.number, shop.panel):
                continue  # the layout's checks have said so, with what to do
            short = max((_shortage(task, obstacle, shop, a, b) for a, b in _chords(task)), default=0.0)
            key = (task.opening.tag, obstacle.name)
            if short > worst.get(key, (0.0,))[0]:
                worst[key] = (short, task, obstacle)
    return [_meets_clamp(shop, *found) for found in worst.values()]


def _near(task: Task, shop: Shop, around: tuple[Obstacle, ...]) -> list[Obstacle]:
    """The obstacles that some part of the cutter could meet: a quick look before every piece of path is measured."""
    low, high = _room(task)
    reach = max(task.cutter.radius, task.cutter.shank / 2, shop.machine.nut_diameter / 2) + CLAMP_CLEARANCE
    return [
        obstacle
        for obstacle in around
        if low[0] - reach < obstacle.area[2]
        and obstacle.area[0] < high[0] + reach
        and low[1] - reach < obstacle.area[3]
        and obstacle.area[1] < high[1] + reach
    ]


def _room(task: Task) -> tuple[XY, XY]:
    """The lower left and the upper right corner of a box that holds the path of a task; of arcs the whole circle."""
    xs, ys = [task.cut.entry[0]], [task.cut.entry[1]]
    for motion in task.cut.motions:
        if isinstance(motion, Arc):
            (cx, cy), radius = motion.centre, math.dist(motion.to[:2], motion.centre) * ARC_BULGE
            xs += (cx - radius, cx + radius)
            ys += (cy - radius, cy + radius)
        elif isinstance(motion, Drill):
            xs.append(motion.at[0])
            ys.append(motion.at[1])
        elif not isinstance(motion, Pause):
            xs.append(motion.to[0])
            ys.append(motion.to[1])
    return (min(xs), min(ys)), (max(xs), max(ys))


def _meets_clamp(shop: Shop, short: float, task: Task, obstacle: Obstacle) -> Finding:
    if not obstacle.number:
        return _meets_flange(shop, short, task, obstacle)
    who = "" if task.opening.outside else f"{task.opening.tag}: "
    said = (
        f"{who}T{task.cutter.number}, its shank or the collet nut would come nearer than "
        f"{CLAMP_CLEARANCE:g} mm to clamp {obstacle.number} ({obstacle.height:g} mm high); move the clamp "
    )
    way = f"{math.ceil(10 * short - 1e-6) / 10:.1f} mm"
    said += away_from_outline(obstacle.number, short, way, shop.panel) if task.opening.outside else f"{way} away"
    return Finding("error", "under-clamp", shop.panel.name, task.opening.feature, said)


def _meets_flange(shop: Shop, short: float, task: Task, obstacle: Obstacle) -> Finding:
    said = (
        f"{task.opening.tag}: T{task.cutter.number}, its shank or the collet nut would come nearer than "
        f"{CLAMP_CLEARANCE:g} mm to {obstacle.name} ({obstacle.height:g} mm high); move the feature "
        f'{math.ceil(10 * short - 1e-6) / 10:.1f} mm away, or set machine_from = "outside"'
    )
    return Finding("error", "under-flange", shop.panel.name, task.opening.feature, said)


def _shortage(task: Task, obstacle: Obstacle, shop: Shop, a: Point, b: Point) -> float:
    radius = width_near(task.cutter, shop.machine, min(a[2], b[2]), obstacle.height)
    return radius + CLAMP_CLEARANCE - gap_to(obstacle.area, a[:2], b[:2]) if radius else 0.0


def _chords(task: Task) -> list[tuple[Point, Point]]:
    """The path of a task as straight pieces, arcs a little too wide rather than too narrow."""
    place: Point = (*task.cut.entry, 0.0)
    pieces: list[tuple[Point, Point]] = []
    for motion in task.cut.motions:
        if isinstance(motion, Drill):
            low = (*motion.at, motion.bottom)
            pieces.append((low, low))
            place = (*motion.at, motion.retract)
            continue
        if isinstance(motion, Pause):
            continue
        if isinstance(motion, Arc):
            pieces += _arc_chords(place, motion)
        else:
            pieces.append((place, motion.to))
        place = motion.to
    return pieces


def _arc_chords(start: Point, arc: Arc) -> list[tuple[Point, Point]]:
    cx, cy = arc.centre
    radius = math.dist(start[:2], arc.centre) * ARC_BULGE
    first = math.atan2(start[1] - cy, start[0] - cx)
    turn = turn_of(start[:2], arc)
    parts = max(2, math.ceil(ARC_PARTS * turn / (2 * math.pi)))
    low = min(start[2], arc.to[2])
    sign = 1 if arc.ccw else -1
    points = [
        (
            cx + radius * math.cos(first + sign * turn * k / parts),
            cy + radius * math.sin(first + sign * turn * k / parts),
            low,
        )
        for k in range(parts + 1)
    ]
    return list(pairwise(points))


@dataclass(slots=True)
class _Span:
    """How far motions reach along X, Y and Z."""

    low: list[float] = field(default_factory=lambda: [math.inf] * 3)
    high: list[float] = field(default_factory=lambda: [-math.inf] * 3)

    def take(self, motions: Iterable[Motion]) -> None:
        """The ends of the motions, and where an arc reaches farthest in X and in Y."""
        place: Point | None = None
        for motion in motions:
            if isinstance(motion, Drill):
                self._hold((*motion.at, motion.bottom))
                place = (*motion.at, motion.retract)
                continue
            if isinstance(motion, Pause):
                continue
            if isinstance(motion, Arc) and place is not None and not self._has_circle(motion):
                for point in _quadrants(place, motion):
                    self._hold(point)
            self._hold(motion.to)
            place = motion.to

    def _hold(self, point: Point) -> None:
        for axis, value in enumerate(point):
            if value < self.low[axis]:
                self.low[axis] = value
            if value > self.high[axis]:
                self.high[axis] = value

    def _has_circle(self, arc: Arc) -> bool:
        """Whether the whole circle of an arc reaches no farther than what is held."""
        (cx, cy), radius = arc.centre, math.dist(arc.to[:2], arc.centre)
        low, high = self.low, self.high
        return low[0] <= cx - radius and cx + radius <= high[0] and low[1] <= cy - radius and cy + radius <= high[1]


def _quadrants(start: Point, arc: Arc) -> Iterator[Point]:
    """The points of an arc straight right of its centre, above, left of and below it, as far as it passes them."""
    (cx, cy), radius, turn = arc.centre, math.dist(start[:2], arc.centre), turn_of(start[:2], arc)
    first = math.atan2(start[1] - cy, start[0] - cx)
    for across, up in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        angle = math.atan2(up, across) - first
        if (angle if arc.ccw else -angle) % (2 * math.pi) <= turn:
            yield cx + radius * across, cy + radius * up, arc.to[2]


def _beyond_travel(operations: tuple[Operation, ...], shop: Shop) -> tuple[list[Finding], tuple[int, ...]]:
    """What is longer than the machine's travel, and along which of X and Y."""
    span = _Span()
    for operation in operations:
        span.take(operation.motions)
    if not operations:
        return [], ()
    findings: list[Finding] = []
    short: list[int] = []
    for axis, name in enumerate("XYZ"):
        low, high = span.low[axis], span.high[axis]
        has = shop.machine.travel[axis]
        if high - low > has:
            cure = _shorter(axis, span, shop)
            said = f"the cuts need {high - low:.1f} mm in {name}; this machine travels {has:g} mm: {cure}"
            findings.append(Finding("error", "beyond-travel", shop.panel.name, "", said))
            short += [axis] if axis < 2 else []
    return findings, tuple(short)


def _shorter(axis: int, span: _Span, shop: Shop) -> str:
    """What helps where the cuts are longer than the travel of ``axis``."""
    if axis == 2:
        return "lower the clamps, or take a machine that travels further"
    spans = [span.high[way] - span.low[way] for way in (0, 1)]
    if spans[1] <= shop.machine.travel[0] and spans[0] <= shop.machine.travel[1]:
        return "with width and height exchanged, the panel turned by a quarter, it fits"
    return "name a machine that travels further with --machine"

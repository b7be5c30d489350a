"""Findings about the box: bodies that meet or come too near, and what cures each.

Two things are named once, under the later of them that stands on a panel. Rules about what kinds of things are
(mains, signals, heat) are in ``box_rules``, those of the sheet beside a bend in ``bends``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.segment import XY
from toolpaths.geometry.solid import FURTHEST, XYZ, Prism, box_distance, distance, moved, overlap, scaled, slide
from toolpaths.job.chassis import Cabinet, Chassis, KeepApart, Obstacle
from toolpaths.job.component import Role
from toolpaths.layout.bends import bend_findings
from toolpaths.layout.box import Assembly, Thing, assemble, near_pairs
from toolpaths.layout.box_rules import rule_findings
from toolpaths.layout.fit import fit_findings
from toolpaths.layout.folded import folded_findings
from toolpaths.layout.panel import Panel
from toolpaths.layout.seats import seat_findings
from toolpaths.layout.telling import WAYS, Telling, named, other, own
from toolpaths.units import Units

MEET: Final = 0.01
"""mm; things that touch do not meet: what overlaps less is rounding."""

CURED: Final = 40
"""So many meetings are told with what cures them; a box with more is wrong as a whole."""

MOST_MEETINGS: Final = 200
"""So many meetings are told at all: a heap of components would otherwise take minutes, and nobody reads on."""

MEETINGS: Final = {"component": "bodies-meet", "wall": "meets-wall", "obstacle": "meets-obstacle"}
"""The code of a meeting with each kind of thing."""


def findings(
    panels: Sequence[Panel],
    chassis: Chassis | None,
    obstacles: Sequence[Obstacle],
    keep_apart: KeepApart,
    metals: frozenset[str],
    units: Units,
    cabinet: Cabinet | None = None,
) -> list[Finding]:
    """Every finding about the box and what stands on its panels, ``metals`` being the materials of metal."""
    box = assemble(panels, chassis, obstacles, metals)
    telling = Telling(units)
    found = list(_contacts(box, telling))
    if sum(finding.code in MEETINGS.values() for finding in found) >= MOST_MEETINGS:
        said = f"over {MOST_MEETINGS} pairs are in each other's room: the rest is looked at when they are apart"
        return [*found, Finding("error", "bodies-meet", "", "", said)]
    found += rule_findings(box, panels, keep_apart, metals, telling)
    found += fit_findings(box, panels, chassis, cabinet, telling)
    found += folded_findings(panels)
    found += seat_findings(panels, chassis, telling)
    if chassis is not None:
        found += bend_findings(panels, chassis, telling)
    return found


# Bodies that meet ----------------------------------------------------------------------------------------------------


def _contacts(box: Assembly, telling: Telling) -> Iterator[Finding]:
    """Things that meet, or that have less air than one of them wants."""
    told = 0
    widest = max((thing.air for thing in box.things), default=0.0)
    for first, second in near_pairs(box.things, widest):
        if not _concerned(first, second):
            continue
        one, two = (first, second) if second.kind == "component" else (second, first)
        air = max(first.air, second.air)
        deep = _overlap(one, two, spanners=False)
        if deep > MEET:
            told += 1
            if told > MOST_MEETINGS:
                return
            yield _meeting(one, two, deep, air, telling, cured=told <= CURED)
        elif air > 0 and (near := _least(one, two)) < air - MEET:
            yield Finding(
                "warning", "too-near", two.panel, two.feature,
                f"{own(two)} and {other(one)} are {telling.say(near)} apart and want {telling.say(air)} of air: "
                f"{_cure(one, two, air, telling)}",
            )  # fmt: skip
        else:
            yield from _spanners(one, two, telling)


def _concerned(first: Thing, second: Thing) -> bool:
    """Whether two things may not meet: one is a component, and the other is not the sheet that it stands on."""
    kinds = {first.kind, second.kind}
    if "component" not in kinds:
        return False
    return not ("wall" in kinds and first.frame == second.frame)


def _pairs(first: Thing, second: Thing, spanners: bool) -> Iterator[tuple[Role, Prism, Prism]]:
    """Solids that must keep clear of each other; with ``spanners`` only those where one of the two is a spanner."""
    for role, one in first.solids:
        for other_role, two in second.solids:
            if {role, other_role} == {"spanner"} or ("spanner" in (role, other_role)) != spanners:
                continue
            yield (other_role if other_role == "spanner" else role), one, two


def _overlap(first: Thing, second: Thing, spanners: bool) -> float:
    """The deepest overlap of two things, mm; 0 where they are apart."""
    deepest = 0.0
    for _, one, two in _pairs(first, second, spanners):
        if box_distance(one.bounds, two.bounds) == 0.0 and distance(one, two, enough=MEET) == 0.0:
            deepest = max(deepest, overlap(one, two))
    return deepest


def _least(first: Thing, second: Thing) -> float:
    return min((distance(one, two) for _, one, two in _pairs(first, second, spanners=False)), default=math.inf)


def _meeting(one: Thing, two: Thing, deep: float, air: float, telling: Telling, cured: bool) -> Finding:
    code = MEETINGS[one.kind]
    cure = f": {_cure(one, two, air, telling)}" if cured else ""
    message = f"{own(two)} and {other(one)} are {telling.say(deep)} deep in each other{cure}"
    return Finding("error", code, two.panel, two.feature, message)


def _spanners(one: Thing, two: Thing, telling: Telling) -> Iterator[Finding]:
    """Nuts that nothing gets round to turn; a spanner comes before obstacles and may cross another's room.

    Where only one of two components is in the other's way, the order of fitting cures it: that is a note.
    """
    if one.kind == "obstacle":
        return
    blocked = [
        (spanner, blocker, deep)
        for holder, blocker in ((two, one), (one, two))
        if (spanner := _spanner_alone(holder)) and (deep := _overlap(blocker, spanner, spanners=True)) > MEET
    ]
    for spanner, blocker, deep in blocked:
        order = blocker.kind == "component" and len(blocked) == 1
        before = f"tighten it before {named(blocker, spanner)} is fitted, or " if order else ""
        yield Finding(
            "note" if order else "warning", "no-spanner-room", spanner.panel, spanner.feature,
            f"the spanner for the nut of {own(spanner)} has no room, {other(blocker)} is {telling.say(deep)} in its "
            f"way: {before}{_cure(blocker, spanner, 0.0, telling, turns=False)}",
        )  # fmt: skip


def _spanner_alone(thing: Thing) -> Thing | None:
    """A component with nothing of it but the room of its spanners; None where it has none."""
    rooms = tuple(solid for solid in thing.solids if solid[0] == "spanner")
    return replace(thing, solids=rooms) if thing.kind == "component" and rooms else None


# What cures it -------------------------------------------------------------------------------------------------------


def _cure(one: Thing, two: Thing, air: float, telling: Telling, turns: bool = True) -> str:
    """The shortest move of either on its panel, and a quarter turn of either where that helps.

    What stands in a row is moved with its row, and two of one row by spacing them further apart.
    """
    cures: list[str] = []
    if _in_one_row(one, two):
        by_row = _along_row(one, two, air)
        cures += [f"space the parts of their row {telling.cure(by_row)} further apart"] if by_row is not None else []
    elif (move := _shortest_move(one, two, air)) is not None:
        by, way, moving = move
        in_row = moving.placement is not None and moving.placement.number > 0
        name = "it" if moving is two else named(moving, two)
        if in_row:
            name = "its row" if moving is two else f"the row of {name}"
        cures.append(f"move {name} {telling.cure(by)} {way}")
    if turns:
        cures += [
            f"turn {'it' if moving is two else named(moving, two)} by 90 degrees"
            for moving, still in ((two, one), (one, two))
            if moving.placement is not None and _is_long(moving) and _clear(turned(moving), still, air)
        ]
    if cures:
        return ", or ".join(cures)
    deep = max(_overlap(one, two, spanners=False), air)
    return f"no move on its panel does: it needs {telling.cure(deep)} more room, or a smaller part"


def _in_one_row(one: Thing, two: Thing) -> bool:
    if one.placement is None or two.placement is None or one.placement.number == 0:
        return False
    return (one.panel, one.feature) == (two.panel, two.feature)


def _along_row(one: Thing, two: Thing, air: float) -> float | None:
    """How much further apart two of one row must stand to be clear, mm; None where that does not help."""
    assert two.frame is not None and one.placement is not None and two.placement is not None
    (x0, y0), (x1, y1) = one.placement.centre, two.placement.centre
    apart = math.dist((x0, y0), (x1, y1))
    if apart < MEET:
        return None
    return _way_out(two, one, two.frame.direction(((x1 - x0) / apart, (y1 - y0) / apart)), air)


def _shortest_move(one: Thing, two: Thing, air: float) -> tuple[float, str, Thing] | None:
    """How far, which way and which of two components to move along its panel until they are clear: the shortest.

    Of moves that are alike to a hundredth of a mm it is one of the second thing, and the first of its ways. None where
    every one leads off the panel.
    """
    best: tuple[float, str, Thing] | None = None
    for moving, still in ((two, one), (one, two)):
        if moving.kind != "component":
            continue
        assert moving.frame is not None and moving.placement is not None
        for way, (x, y) in WAYS.items():
            most = math.inf if best is None else best[0]
            by = _way_out(moving, still, moving.frame.direction((x, y)), air, most)
            if by is None or (best is not None and round(by, 2) >= round(best[0], 2)):
                continue
            if _stays_on(moving, (x * by, y * by)):
                best = by, way, moving
    return best


def _stays_on(thing: Thing, by: XY) -> bool:
    """Whether a component that is moved stays on its panel, with its centre and with all that is not outside."""
    assert thing.placement is not None
    x, y = thing.placement.centre
    boxes = [solid.footprint.bounds for _, solid in thing.solids if solid.low < 0] + [(x, y, x, y)]
    x0, y0, x1, y1 = thing.outline
    return all(
        x0 <= left + by[0] and right + by[0] <= x1 and y0 <= low + by[1] and high + by[1] <= y1
        for left, low, right, high in boxes
    )


def _way_out(moving: Thing, still: Thing, way: XYZ, air: float, most: float = math.inf) -> float | None:
    """The least move along a direction after which every solid of the one is clear of every one of the other.

    What only touches is clear, as where the saddle of a socket lies on the rim of the wall below it. None where there
    is no such move, or it is longer than ``most``.
    """
    by = 0.0
    spanners = any(all(role == "spanner" for role, _ in thing.solids) for thing in (moving, still))
    pairs = [(one, two) for _, one, two in _pairs(moving, still, spanners)]
    for _ in range(8):
        short = [
            (one, two) for one, two in pairs if not _apart(one, two, scaled(way, by), air)
        ]
        if not short:
            return by
        for one, two in short:
            out = slide(one, two, way, air, min(most, FURTHEST))
            if out is None:
                return None
            by = max(by, out)
    return None


def _apart(one: Prism, two: Prism, shift: XYZ, air: float) -> bool:
    """Whether the first, moved by ``shift``, has the air that is wanted, or does not meet the second where none is."""
    x, y, z = shift
    x0, y0, z0, x1, y1, z1 = one.bounds
    if box_distance((x0 + x, y0 + y, z0 + z, x1 + x, y1 + y, z1 + z), two.bounds) > max(air, MEET):
        return True
    apart = distance(one, two, shift=shift, enough=max(air, MEET))
    return apart >= air - MEET if air > 0 else apart > 0 or overlap(moved(one, shift), two) <= MEET


def turned(thing: Thing) -> Thing:
    """A component turned by 90 degrees, counter-clockwise as seen from the outside, about its centre."""
    assert thing.placement is not None
    cx, cy = thing.placement.centre

    def turn(point: XY) -> XY:
        return cx - (point[1] - cy), cy + (point[0] - cx)

    solids = tuple(
        (role, Prism(solid.frame, solid.footprint.mapped(turn), solid.low, solid.high)) for role, solid in thing.solids
    )
    axis = thing.placement.axis
    placement = replace(thing.placement, axis=None if axis is None else (-axis[1], axis[0]))
    return replace(thing, solids=solids, placement=placement)


def _is_long(thing: Thing) -> bool:
    """Whether a turn changes anything: some body is longer than wide, or stands off the centre."""
    assert thing.frame is not None
    for _, solid in thing.solids:
        x0, y0, x1, y1 = solid.footprint.bounds
        if abs((x1 - x0) - (y1 - y0)) > MEET:
            return True
    return False


def _clear(one: Thing, two: Thing, air: float) -> bool:
    if _overlap(one, two, spanners=False) > MEET:
        return False
    return air == 0 or _least(one, two) >= air - MEET


def shown(found: Iterable[Finding], panels: Sequence[str]) -> list[Finding]:
    """The findings about these panels, and those about none."""
    return [finding for finding in found if not finding.panel or finding.panel in panels]

"""Rules of builders about what things are: mains and signals, transformers, heat, live parts, earth, fuse, cables.

Every distance comes from the job's ``[keep_apart]``; its defaults are common practice, from memory. This is advice:
local electrical codes and makers' data come first.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.judge import holds
from toolpaths.geometry.solid import XYZ, box_distance, distance, dot
from toolpaths.job.chassis import KeepApart
from toolpaths.job.component import Trait
from toolpaths.layout.bodies import Placement
from toolpaths.layout.box import Assembly, Thing, gap_between
from toolpaths.layout.panel import Panel
from toolpaths.layout.telling import Telling, other, own
from toolpaths.tolerance import PIECE

PARALLEL: Final = math.radians(30)
"""Axes within this of each other still couple nearly as parallel ones: its cosine is 0.87 (from memory)."""

SAME_PLACE: Final = 5.0
"""mm; a grommet whose centre is this near to a cable's is the cable's."""


def rule_findings(
    box: Assembly, panels: Sequence[Panel], keep: KeepApart, metals: frozenset[str], telling: Telling
) -> Iterator[Finding]:
    """Every rule in turn."""
    parts = box.components
    yield from _mains_and_signals(parts, keep.mains_from_signal, telling)
    yield from _transformers(parts, keep.parallel_transformers, telling)
    yield from _heat(parts, keep, telling)
    yield from _live(box, keep.live_from_metal, telling)
    in_metal = {panel.name for panel in panels if panel.material in metals}
    yield from _inlets(parts, in_metal)
    yield from _cables(parts, in_metal)


def _has(thing: Thing, *traits: Trait) -> bool:
    return thing.placement is not None and thing.placement.traits.issuperset(traits)


def _placement(thing: Thing) -> Placement:
    assert thing.placement is not None
    return thing.placement


def _whole(thing: Thing) -> Thing:
    return thing


def _near(
    firsts: Sequence[Thing], seconds: Sequence[Thing], within: float, of: Callable[[Thing], Thing] = _whole
) -> Iterator[tuple[Thing, Thing, float]]:
    """Pairs nearer than ``within`` with their distance, each pair once; ``of`` says what of a thing is measured."""
    seen: set[tuple[int, int]] = set()
    if within <= 0:
        return
    measured = {id(thing): of(thing) for thing in (*firsts, *seconds)}
    boxes = {key: thing.bounds for key, thing in measured.items()}
    for first in firsts:
        for second in seconds:
            key = min(id(first), id(second)), max(id(first), id(second))
            if first is second or first.world != second.world or key in seen:
                continue
            seen.add(key)
            if box_distance(boxes[id(first)], boxes[id(second)]) >= within:
                continue
            gap = gap_between(measured[id(first)], measured[id(second)], within)
            if gap is not None and gap.distance < within - PIECE:
                yield first, second, gap.distance


def _mains_and_signals(parts: Sequence[Thing], least: float, telling: Telling) -> Iterator[Finding]:
    mains = [thing for thing in parts if _has(thing, "mains")]
    signals = [thing for thing in parts if _has(thing, "signal input")]
    for one, two, apart in _near(mains, signals, least):
        yield Finding(
            "warning", "mains-near-signal", two.panel, two.feature,
            f"{own(two)}, a signal input, is {telling.say(apart)} from {other(one)}, which carries mains, and hums: "
            f"keep them {telling.say(least)} apart, {telling.cure(least - apart)} more, or put a steel screen between",
        )  # fmt: skip


def _axis(thing: Thing) -> XYZ:
    """The direction of a transformer's winding in the box: along the normal of its panel where it has none in it."""
    assert thing.frame is not None
    axis = _placement(thing).axis
    return thing.frame.normal if axis is None else thing.frame.direction(axis)


def _transformers(parts: Sequence[Thing], least: float, telling: Telling) -> Iterator[Finding]:
    """Transformers whose axes are nearly parallel and that stand near: the one's field goes through the other."""
    cores = [thing for thing in parts if _has(thing, "transformer")]
    for one, two, apart in _near(cores, cores, least):
        if abs(dot(_axis(one), _axis(two))) < math.cos(PARALLEL):
            continue
        flat = _placement(two).axis is not None
        name = two.name if two.name != one.name else f"that of {two.feature}"
        turn = f"turn {name} by 90 degrees" if flat else f"lay the axis of {name} across"
        yield Finding(
            "warning", "transformers-parallel", two.panel, two.feature,
            f"the axes of {own(two)} and {other(one)} are parallel and they stand {telling.say(apart)} apart: {turn}, "
            f"or keep them {telling.say(least)} apart, {telling.cure(least - apart)} more",
        )  # fmt: skip


def _heat(parts: Sequence[Thing], keep: KeepApart, telling: Telling) -> Iterator[Finding]:
    hot = [thing for thing in parts if _has(thing, "hot")]
    cans = [thing for thing in parts if _has(thing, "capacitor can")]
    bulbs = [thing for thing in parts if _has(thing, "glass")]
    rules: tuple[tuple[list[Thing], float, str, str], ...] = (
        (cans, keep.hot_from_can, "hot-near-can", "dries it out"),
        (bulbs, keep.hot_from_bulb, "hot-near-bulb", "heats it"),
    )
    for others, least, code, harm in rules:
        for one, two, apart in _near(hot, others, least, _itself):
            yield Finding(
                "warning", code, two.panel, two.feature,
                f"{own(two)} is {telling.say(apart)} from {other(one)}, which is hot and {harm}: keep them "
                f"{telling.say(least)} apart, {telling.cure(least - apart)} more",
            )  # fmt: skip


def _itself(thing: Thing) -> Thing:
    """What is hot, or is harmed by heat, without the saddle and the screws that hold it.

    Of a bulb or a can that is what stands highest outside, with the bodies under its middle; of others all bodies.
    """
    bodies = [solid for role, solid in thing.solids if role == "body"]
    outside = [solid for solid in bodies if solid.low >= 0]
    if outside and (_has(thing, "glass") or _has(thing, "capacitor can")):
        x0, y0, x1, y1 = max(outside, key=lambda solid: solid.high).footprint.bounds
        bodies = [solid for solid in outside if holds(solid.footprint, ((x0 + x1) / 2, (y0 + y1) / 2))]
    return replace(thing, solids=tuple(("body", solid) for solid in bodies)) if bodies else thing


def _live(box: Assembly, least: float, telling: Telling) -> Iterator[Finding]:
    """Live terminals near to sheet other than their own, or to another part's metal."""
    if least <= 0:
        return
    live = [thing for thing in box.components if _has(thing, "live terminals")]
    metal = [thing for thing in box.things if _is_metal(thing)]
    for one in live:
        for two in metal:
            if two is one or two.world != one.world or (two.frame == one.frame and two.kind == "wall"):
                continue
            apart = min(
                (
                    distance(solid, against, enough=least)
                    for role, solid in one.solids
                    if role == "terminal"
                    for other_role, against in two.solids
                    if other_role != "spanner" and box_distance(solid.bounds, against.bounds) < least
                ),
                default=math.inf,
            )
            if apart < least - PIECE:
                yield Finding(
                    "warning", "live-near-metal", one.panel, one.feature,
                    f"the live terminals of {own(one)} are {telling.say(apart)} from {other(two)}: keep them "
                    f"{telling.say(least)} from metal, {telling.cure(least - apart)} more, or cover them; local codes "
                    "may ask for more",
                )  # fmt: skip


def _is_metal(thing: Thing) -> bool:
    if thing.kind == "wall":
        return thing.metal
    return any(_has(thing, trait) for trait in ("transformer", "capacitor can", "earth stud"))


def _inlets(parts: Sequence[Thing], in_metal: set[str]) -> Iterator[Finding]:
    """A mains inlet in metal wants an earth stud that serves it alone, and a fuse."""
    studs = [thing for thing in parts if _has(thing, "earth stud") and thing.panel in in_metal]
    fuses = [thing for thing in parts if _has(thing, "fuse")]
    inlets = [thing for thing in parts if _has(thing, "mains inlet") and thing.panel in in_metal]
    free: dict[str, int] = {}
    for stud in studs:
        free[stud.world] = free.get(stud.world, 0) + 1
    for inlet in inlets:
        if free.get(inlet.world, 0) < 1:
            yield Finding(
                "warning", "inlet-without-earth", inlet.panel, inlet.feature,
                f"{own(inlet)} stands in metal without an earth stud of its own: add one near it, on bare metal, that "
                "holds nothing else; local codes come first",
            )  # fmt: skip
        free[inlet.world] = free.get(inlet.world, 0) - 1
        if not _has(inlet, "fuse") and not any(fuse.world == inlet.world for fuse in fuses):
            yield Finding(
                "warning", "inlet-without-fuse", inlet.panel, inlet.feature,
                f"no fuse follows {own(inlet)}: add a fuse holder, or an inlet with a fuse; local codes come first",
            )  # fmt: skip


def _cables(parts: Sequence[Thing], in_metal: set[str]) -> Iterator[Finding]:
    """A cable through metal wants a grommet or a strain relief; a mains cable a strain relief."""
    for thing in parts:
        if not _has(thing, "cable") or thing.panel not in in_metal:
            continue
        here = [other_one for other_one in parts if _same_place(thing, other_one)]
        held = any(_has(one, "strain relief") for one in here)
        if held or (any(_has(one, "grommet") for one in here) and not _has(thing, "mains")):
            continue
        wanted = "a strain relief" if _has(thing, "mains") else "a grommet or a strain relief"
        yield Finding(
            "warning", "bare-cable", thing.panel, thing.feature,
            f"the cable {own(thing)} runs through the edge of metal, which cuts it: give it {wanted}",
        )  # fmt: skip


def _same_place(one: Thing, two: Thing) -> bool:
    return one.panel == two.panel and math.dist(_placement(one).centre, _placement(two).centre) <= SAME_PLACE



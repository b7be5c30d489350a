"""What to tick before start is pressed, and what to do when the last cut is made, before the clamps come off."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from toolpaths.layout.panel import Opening, Panel
from toolpaths.motion import Setup
from toolpaths.shop.accuracy import class_of, expected
from toolpaths.shop.words import Figures, by_hand, t_number, tag_list
from toolpaths.shop.zeroing import pins_of
from toolpaths.tables.rows import Cutter, Machine, Material

OPENS: tuple[str, ...] = ("drill", "bore", "clear", "finish", "contour")
"""Operations after which an opening can be measured."""


CALIPER = 150.0
"""mm, what the usual caliper opens (common practice)."""

EIGHTHS = tuple(eighth * math.pi / 4 for eighth in range(4))
"""Directions in which the outermost openings are looked for: the furthest pair is among them, or nearly so."""


def before(
    panel: Panel, setup: Setup, machine: Machine, cutters: Mapping[int, Cutter], material: Material, figures: Figures,
    programs: Sequence[str], air_pass: str,
) -> tuple[str, ...]:
    """Boxes to tick before start is pressed."""
    return tuple(_before(panel, setup, machine, cutters, material, figures, programs, air_pass))


def _before(
    panel: Panel, setup: Setup, machine: Machine, cutters: Mapping[int, Cutter], material: Material, figures: Figures,
    programs: Sequence[str], air_pass: str,
) -> Iterator[str]:
    side = "inside" if setup.mirrored else "outside"
    thickness = figures.measured(setup.thickness)
    yield f"The sheet is {panel.material}, measures {thickness} with a micrometer or caliper, {side} face up."
    if panel.clamps:
        numbers = tag_list(str(clamp.number) for clamp in panel.clamps)
        many = "Clamp" if len(panel.clamps) == 1 else "Clamps"
        yield f"{many} {numbers}: where the plan shows, tight, none higher than its figure."
    else:
        yield "The sheet is held flat all over, with nothing above its face."
    if panel.stage is not None and panel.stage.number > 1:
        set_ = "X0 Y0 is that of setup 1; Z0 is set as in the steps above."
        piece = "box" if panel.folded else "sheet"
        if panel.stage.drawn:
            pins, whose = pins_of(panel.stage.drawn)
            are = "are" if pins == "pins" else "is"
            yield f"The {pins} {are} drawn from {whose}, and the {piece} has not moved since."
        if panel.stage.staying:
            on = "the other pin" if panel.stage.drawn else "its pins"
            yield f"The {piece} sits on {on} without play; {set_}"
        else:
            yield set_
    else:
        yield "The edge was looked along once more after clamping; X0 Y0 and Z0 are set as in the steps above."
    names = ", ".join(f"T{t_number(machine, number)}" for number in dict.fromkeys(s.cutter for s in setup.operations))
    yield f"{names}: each is the one of the table, sharp, as far out of its collet as it says, collet and nut clean."
    if machine.program.slots:
        yield "Each cutter sits in the slot of its T number, with its length in the table."
    if not machine.speed_control:
        yield "The spindle's dial stands at the first speed of the table."
    yield (
        f"The controller shows {'inches' if figures.program == 'in' else 'millimetres'}, and {programs[0]} is loaded: "
        f"its first lines name this job and {panel.name}."
    )
    yield f"{air_pass} went round without touching anything, and stopped where it should."
    worn = "Eye protection on, no gloves, sleeves and hair tied back"
    if material.family == "board":
        worn += ", mask on, extraction running"
    yield f"{worn}; the cautions on this sheet are read; a hand at the stop."


def after(
    panel: Panel, setup: Setup, machine: Machine, figures: Figures, earlier: Sequence[Opening] = (), error: float = 0.0
) -> tuple[str, ...]:
    """What to do in order once it runs: the first hole, then the sheet in its clamps, then the bench.

    ``earlier`` are the openings that earlier setups of a divided panel made, ``error`` the most that pins displace.
    """
    return tuple(_after(panel, setup, machine, figures, earlier, error))


def _after(
    panel: Panel, setup: Setup, machine: Machine, figures: Figures, earlier: Sequence[Opening], error: float
) -> Iterator[str]:
    first = first_hole(panel, setup)
    if first is not None and first.cut_diameter is not None:
        yield (
            f"Hold the machine after {first.tag} and measure it: {figures.measured(first.cut_diameter)} as designed; "
            f"from this machine {expected(first.cut_diameter, machine, figures)}. Further out: stop, and look for a "
            "wrong cutter, run-out or a sheet that moved."
        )
    other = hole_across(first, earlier, panel) if first is not None else None
    if first is not None and other is not None:
        yield _across(first, other, machine, figures, error)
    pair = pair_to_measure(panel)
    if pair is not None:
        one, two, gap = pair
        apart = f"{figures.set_off(round(gap, 1) if figures.job == 'mm' else gap)} with a rule"
        if gap <= CALIPER:
            apart = f"{figures.measured(round(gap, 2))} with a caliper"
        yield f"Before the clamps come off: from the near edge of {one.tag} to that of {two.tag} it is {apart}."
    made = [opening for opening in panel.openings if opening.finish == "machine"]
    left = [opening for opening in panel.openings if opening.finish != "machine"]
    if panel.stage is not None and panel.stage.number < panel.stage.count:
        yield (
            f"Before the clamps come off: all {len(made)} openings are through or at their depth. If not, run the "
            "program again as it stands."
        )
        yield f"Saw no tabs, and leave X0 Y0 as it is: the sheet goes on to setup {panel.stage.number + 1}."
        return
    yield (
        f"Before the clamps come off, since zero is lost with them: all {len(made)} openings are through or at their "
        "depth, and the parts at hand go in. If not, run the program again as it stands."
    )
    if any(one.tabs is not None for one in panel.work):
        yield "Off the machine: saw the tabs, do not break them; file the stubs flush."
    if left:
        yield f"Left to the hand: {tag_list(one.tag for one in left)}."
    tapped = [one for one in made if one.thread is not None]
    for name in dict.fromkeys(one.thread.name for one in tapped if one.thread):
        tags = tag_list(one.tag for one in tapped if one.thread and one.thread.name == name)
        yield f"Tap {name}: {tags}."
    filed = [one for one in made if one.filed]
    for one in filed:
        yield f"{one.tag}, {by_hand(one).removeprefix('by hand: ')}."
    yield "Deburr both faces of every opening, and the outline."


def _across(first: Opening, other: Opening, machine: Machine, figures: Figures, error: float) -> str:
    """The measure that shows whether the piece lies where its pins should have it."""
    apart = math.dist(first.centre, other.centre)
    gap = apart - ((first.cut_diameter or 0.0) + (other.cut_diameter or 0.0)) / 2
    said = figures.measured if gap <= CALIPER else figures.set_off
    tool = "with a caliper" if gap <= CALIPER else "with a rule"
    most = class_of(machine).high + error
    return (
        f"Measure across, from {first.tag} to {other.tag} of an earlier setup: centre to centre "
        f"{said(round(apart, 2))}, from near edge to near edge {said(round(gap, 2))} {tool}. Out by more than "
        f"{figures.measured(round(most, 2))}: stop, the piece lies wrong or has moved."
    )


def hole_across(first: Opening, earlier: Sequence[Opening], panel: Panel) -> Opening | None:
    """Of the round holes that earlier setups made, the one to measure to: the furthest that a caliper spans, without a
    pin in it if there is one; else the furthest. None where there is none."""
    pins = {pin.tag for pin in panel.stage.pins} if panel.stage is not None else set()

    def rank(one: Opening) -> tuple[bool, bool, float, str]:
        gap = math.dist(one.centre, first.centre) - ((one.cut_diameter or 0.0) + (first.cut_diameter or 0.0)) / 2
        return gap <= CALIPER, one.tag not in pins, round(gap, 6), one.tag

    made = [
        one for one in earlier
        if one.finish == "machine" and one.cut_diameter is not None and one.kind != "index_hole" and one.part is None
        and math.dist(one.centre, first.centre) > (one.cut_diameter + (first.cut_diameter or 0.0)) / 2
    ]
    return max(made, key=rank, default=None)


def first_hole(panel: Panel, setup: Setup) -> Opening | None:
    """The round opening that is finished first in the order of work, of those that a caliper spans; None for none."""
    by_tag = {opening.tag: opening for opening in panel.openings}
    last = {tag: place for place, step in enumerate(setup.operations) for tag in step.tags if step.kind in OPENS}
    for tag, _ in sorted(last.items(), key=lambda one: one[1]):
        opening = by_tag.get(tag)
        if opening is not None and opening.diameter is not None and 0 < (opening.cut_diameter or 0) <= CALIPER:
            return opening
    return None


def pair_to_measure(panel: Panel) -> tuple[Opening, Opening, float] | None:
    """The two round openings of the machine that lie furthest apart, and the distance of their near edges, mm."""
    made = [one for one in panel.openings if one.finish == "machine" and one.diameter is not None]
    outer: dict[str, Opening] = {}
    for x, y in ((math.cos(turn), math.sin(turn)) for turn in EIGHTHS):
        along = sorted(made, key=lambda one: (round(x * one.centre[0] + y * one.centre[1], 6), one.tag))
        outer |= {one.tag: one for one in (*along[:1], *along[-1:])}
    pairs = [
        (math.dist(one.centre, other.centre) - (one.diameter + other.diameter) / 2, one, other)
        for one, other in combinations(outer.values(), 2)
        if one.diameter is not None and other.diameter is not None
    ]
    if not pairs:
        return None
    gap, one, other = max(pairs, key=lambda pair: pair[0])
    return (one, other, gap) if gap > 0 else None

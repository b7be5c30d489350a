"""How a sheet is laid, squared, clamped and zeroed: steps in order, for somebody who does it for the first time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Panel, Pin
from toolpaths.motion import Setup
from toolpaths.shop.accuracy import class_of
from toolpaths.shop.box_sheet import FROM_CORNER, SQUARE_WITHIN, BoxSheet
from toolpaths.shop.reach import extent
from toolpaths.shop.touching import finder_for
from toolpaths.shop.words import Figures, t_number
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.tolerance import SAME_POINT
from toolpaths.units import INCH, said

BY_RULE: Final = {"mm": 1.0, "in": INCH / 32}
"""mm that stock may lie off where the outline is machined too, by the job's units: its frame has more to spare (common
practice)."""

PAPER: Final = 0.1
"""mm, the thickness of the usual sheet of 80 g/m² (common practice)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do in a word or two, and how."""

    what: str
    how: str


@dataclass(frozen=True, slots=True)
class Words:
    """What the sheet has said already and the steps repeat: where X0 Y0 is, how the piece lies, what is under it."""

    zero: str
    facing: str
    bed: str


def steps(
    panel: Panel, setup: Setup, machine: Machine, cutters: Mapping[int, Cutter], figures: Figures, words: Words,
    box: BoxSheet | None, programs: Sequence[str], air_pass: str,
) -> tuple[Step, ...]:
    """From the bare table to the start of the first program."""
    return tuple(_steps(panel, setup, machine, cutters, figures, words, box, programs, air_pass))


def _steps(
    panel: Panel, setup: Setup, machine: Machine, cutters: Mapping[int, Cutter], figures: Figures, words: Words,
    box: BoxSheet | None, programs: Sequence[str], air_pass: str,
) -> Iterator[Step]:
    yield Step(
        "Clean", "Machine off. Brush the chips off table, board and sheet and wipe them; feel for burrs. What lies "
        "under the sheet lifts it, and every depth with it.",
    )  # fmt: skip
    if panel.stage is not None and panel.stage.number > 1:
        yield from _moved(panel, words)
        yield Step("Z0", _touched(panel, setup, machine, cutters, figures, programs, air_pass))
        yield Step("Air pass", _in_the_air(panel, figures, air_pass))
        yield _start(programs)
        return
    if box is None:
        yield Step("Board", words.bed)
        yield Step("Lay the sheet", f"{words.facing} {_laid(panel)}")
        yield Step("Square it", _squared(panel, machine, figures))
    else:
        yield Step("Lay the box", f"{words.facing} {box.steps[0]} {words.bed}")
        yield Step("Square it", box.steps[1])
    yield Step("Clamp", _clamped(panel, figures))
    yield Step("Home", "Switch the machine on. If it has limit switches, let it find them before anything else.")
    yield Step("X0 Y0", _zeroed(panel, machine, figures, words))
    yield Step("Limits", _reached(panel, setup, machine, figures))
    yield Step("Z0", _touched(panel, setup, machine, cutters, figures, programs, air_pass))
    yield Step("Air pass", _in_the_air(panel, figures, air_pass))
    yield _start(programs)


def _moved(panel: Panel, words: Words) -> Iterator[Step]:
    """A later setup of a divided panel: pins lay and square it, and X and Y have their zero."""
    yield Step("Lay it over its pins", f"{words.facing} As the steps above say: the pins square it, nothing else does.")
    held = "where the plan and the table show" if panel.clamps else "by tape, or by screws in waste"
    look = "look once more that it sits on its pins without play."
    drawn = panel.stage.drawn if panel.stage is not None else ()
    if not drawn:
        yield Step("Hold it", f"Flat all over, {held}; then {look}")
    else:
        yield Step("Hold it", f"While all pins are in: flat all over, {held}; {look}")
        pins, whose = pins_of(drawn)
        yield Step(
            f"Draw the {pins} from {whose}", "The cutter comes there: a pin that is left in breaks it. Pull straight "
            f"up, without moving what lies there, and see that nothing of the {pins} is left; from now on the clamping "
            "alone holds it.",
        )  # fmt: skip
    yield Step("X0 Y0", f"X0 Y0 is {words.zero} Do not set it, and do not home the machine.")


def pins_of(pins: Sequence[Pin]) -> tuple[str, str]:
    """``pin`` or ``pins``, and the index holes that they stand in."""
    return ("pins" if len(pins) > 1 else "pin"), " and ".join(pin.tag for pin in pins)


def _start(programs: Sequence[str]) -> Step:
    first = programs[0] if programs else ""
    more = f" Then {', '.join(programs[1:])}, in this order." if len(programs) > 1 else ""
    return Step("Start", f"Tick the list below; then start {first}.{more}")


def _laid(panel: Panel) -> str:
    if panel.cut_outline:
        return "Whichever edge is straightest goes along X."
    return "Push it against a straight stop, or against two pins as far apart as they go: then the next one lies alike."


def _squared(panel: Panel, machine: Machine, figures: Figures) -> str:
    x0, y0, x1, y1 = panel.area_to_program(panel.stock)
    if panel.cut_outline:
        return (
            "Holes and outline are cut in one clamping, so the panel comes out square however the sheet lies. Only its "
            f"frame suffers: let the sheet's edge along X lie within {figures.set_off(BY_RULE[figures.job])} over its "
            f"length of {figures.set_off(x1 - x0)}, by eye along the table's slots or with a rule."
        )
    if panel.fit_strip:
        return "Its lower edge along X by eye: it is a scrap to try parts in, and its holes lie true to each other."
    along_x = x1 - x0 >= y1 - y0
    low, high = (x0, x1) if along_x else (y0, y1)
    inset = min(FROM_CORNER, (high - low) / 4)
    low, high = low + inset, high - inset
    if panel.stage is not None:  # no further than the machine comes
        ends = panel.stage.reach
        low, high = max(low, ends[0 if along_x else 1]), min(high, ends[2 if along_x else 3])
    travels, reads = ("X", "Y") if along_x else ("Y", "X")
    edge = "lower edge (the one towards you)" if along_x else "left edge"
    allowed, (tag, place) = allowed_out(panel, machine), furthest(panel)
    away = math.hypot(*place)
    within = _floor(allowed * (high - low))
    told = (
        "Spindle stopped. Put an indicator on the spindle, or a pointed rod in the collet, and run it along the "
        f"{edge} from {travels}{figures.axis(low, 1)} to {travels}{figures.axis(high, 1)}{figures.at_machine} "
        f"(counted from where X0 Y0 will be), past the clamps. Tap the sheet round until {reads} differs by no more "
        f"than {figures.dial(within)} over these {figures.about(high - low)}."
    )
    if not away:
        return told
    moved = SQUARE_WITHIN / (high - low) * away
    return (
        f"{told} Why so little: {figures.dial(SQUARE_WITHIN)} out over that length moves {tag}, which is furthest from "
        f"X0 Y0 ({figures.about(away)}), by {figures.dial(moved)}; what is asked for here moves it by "
        f"{figures.dial(within / (high - low) * away)}, no more than the machine's own error."
    )


def furthest(panel: Panel) -> tuple[str, XY]:
    """The tag of the opening that has the place of work furthest from X0 Y0, and that place in program coordinates;
    no tag where there are no openings. It is the place over which the air pass stops."""
    places = [
        (panel.to_program(place), opening.tag)
        for opening in panel.openings
        for place in (opening.marks or (panel.place_of(opening),))
    ]
    at, tag = max(places, key=lambda one: (round(math.hypot(*one[0]), 6), one[0]), default=((0.0, 0.0), ""))
    return tag, at


def allowed_out(panel: Panel, machine: Machine) -> float:
    """How far out of square a sheet may lie, mm in a mm: the furthest opening moves by the best that the machine does.

    The sheet turns about X0 Y0, so an opening moves by its distance from there times the slope.
    """
    _, place = furthest(panel)
    return class_of(machine).low / max(math.hypot(*place), 1.0)


def _floor(length: float) -> float:
    """To the hundredth below, which is what an indicator shows; at least that."""
    return max(math.floor(length * 100) / 100, 0.01)


def _clamped(panel: Panel, figures: Figures) -> str:
    again = "Look along the edge once more: clamping moves a sheet."
    if not panel.clamps and panel.folded:
        return f"Hold it down where it lies on its bed, with nothing above its face: the job names no clamps. {again}"
    if not panel.clamps:
        held = "The job names no clamps: screws in waste, double-sided tape or vacuum, nothing above the sheet's face."
        return f"{held} {again}"
    count = len(panel.clamps)
    many = "The clamp" if count == 1 else f"All {count} clamps"
    tallest = figures.set_off(max(clamp.height for clamp in panel.clamps))
    return f"{many} where the plan and the table show, none higher than {tallest} above the sheet. {again}"


def _zeroed(panel: Panel, machine: Machine, figures: Figures, words: Words) -> str:
    place = f"X0 Y0 is {words.zero}"
    if panel.cut_outline:
        return (
            f"{place} Mark it on the sheet with rule and square, bring a pointed rod in the collet over the mark, and "
            f"set X0 and Y0. {figures.set_off(BY_RULE[figures.job])} is near enough: the outline is cut in the same "
            "clamping. The table below does it to the sheet's edges instead."
        )
    size = said(finder_for(panel, figures), figures.program)
    half = said(finder_for(panel, figures) / 2, figures.program)
    # beside a bend the sheet's edge is round
    tool, where = (f"an edge finder of {size}", "the flat of the walls") if panel.folded else (
        "an edge finder, or a straight pin of known diameter in the collet,", "the sheet's edge"
    )
    always = "" if machine.climbs else " Come to every touch from the same side: the screws have play."
    return (
        f"{place} Bring {tool} with the spindle stopped against {where}, until it just touches (a slip of paper just "
        f"drags). The middle of the spindle is then half the diameter outside: {half} for {size}. Type the figure of "
        "the table below, lift, and go on to the other axis. One side of each axis is enough; both sides halved are "
        f"better, since the diameter drops out.{always}"
    )


def _reached(panel: Panel, setup: Setup, machine: Machine, figures: Figures) -> str:
    (x0, y0, x1, y1), deepest = extent(setup.operations)
    say, unit = figures.axis, figures.at_machine
    wide, high, _ = machine.travel
    told = (
        f"The program goes from X{say(x0, 1)} to X{say(x1, 1)}, from Y{say(y0, 1)} to Y{say(y1, 1)}, and from "
        f"Z{say(setup.clear_height)} down to Z{say(deepest)}{unit}. Go to these corners by hand, up at "
        f"the clear height: the machine must reach them ({figures.about(wide)} by {figures.about(high)} of travel) "
        "before a switch or a stop."
    )
    if panel.stage is None:
        return told
    left, low, right, top = panel.stage.reach
    return (
        f"{told} All setups of this panel share the zero: together they stay within X{say(left, 1)} to "
        f"X{say(right, 1)} and Y{say(low, 1)} to Y{say(top, 1)}{unit}, so go to these corners too."
    )


def _touched(
    panel: Panel, setup: Setup, machine: Machine, cutters: Mapping[int, Cutter], figures: Figures,
    programs: Sequence[str], air_pass: str,
) -> str:
    x, y = panel.to_program(setup.touch_off)
    at = f"X{figures.axis(x)} Y{figures.axis(y)}{figures.at_machine}"
    paper = f"the paper's thickness ({figures.dial(PAPER)} as a rule: measure yours), or that of a feeler"
    down = "Lower the tip on to a slip of paper until that just drags"
    lower = f"{down}, and make Z read {paper}"
    first = setup.operations[0].cutter if setup.operations else 0
    cutter = cutters.get(first)
    name = "" if cutter is None else (
        f"T{t_number(machine, first)}, {cutter.name}, {figures.set_off(cutter.stick_out)} out of the collet"
    )
    if machine.program.length == "length table":
        return (
            "Fit the cutters of the table below, each as far out as it says. Take them one after the other over the "
            f"diamond of the plan, {at}. {down}, and enter in the table of lengths, under the cutter's T number, the "
            f"length with which Z reads {paper}. The programs do not stop to touch off, so do it for every one of them."
        )
    if machine.program.change == "one program per cutter":
        return (
            "Each program has one cutter, and stops at its start: fit the cutter that it names, go over the diamond of "
            f"the plan, {at}. {lower}; then start. {air_pass} stops for the first one, {name}. Wipe the place each "
            "time."
        )
    stops = "It stops again at each change: fit, wipe, touch off, start." if machine.program.change == "pause" else (
        "After each change it stops again: wipe, touch off, start."
    )
    return (
        f"Start {air_pass}: it stops at once. Fit {name}; go over the diamond of the plan, {at}. {lower}. Leave the "
        f"slip out, lift, and press start: the air pass begins. {programs[0] if programs else 'The program'} stops "
        f"there too. {stops}"
    )


def _in_the_air(panel: Panel, figures: Figures, air_pass: str) -> str:
    tag, (x, y) = furthest(panel)
    told = (
        f"{air_pass}, a hand at the stop: spindle still, everything at the clear height. It stops over the place "
        "where Z0 was touched: the tip must stand over the diamond."
    )
    ways = [
        f"{figures.set_off(abs(length))} {way[length < 0]}"
        for length, way in ((x, ("to the right", "to the left")), (y, ("away from you", "towards you")))
        if abs(length) > SAME_POINT
    ]
    if not ways:
        return told
    return (
        f"{told} It stops again over the place of work furthest from X0 Y0, of {tag}: from there that is "
        f"{' and '.join(ways)}. Measure it with a rule."
    )

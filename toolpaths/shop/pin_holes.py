"""The setup sheet's part about the pin holes of a divided panel: bored into the bare board, the piece off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from toolpaths.layout.panel import Panel
from toolpaths.motion import Setup
from toolpaths.shop.words import Figures, t_number
from toolpaths.tables.rows import Machine


@dataclass(frozen=True, slots=True)
class PinHoles:
    """The pin holes as a piece of work: ``board`` is what they are bored into, called ``bed``, and ``stands`` says by
    a hole's name which index hole stands on it in which setup. ``programs`` are its files as they are run."""

    setup: Setup
    board: Panel
    bed: str
    piece: str
    stands: dict[str, str]
    programs: tuple[str, ...]
    seconds: float


@dataclass(frozen=True, slots=True)
class PinRow:
    """A pin hole, in the order they are bored; its place as the machine's display shows it."""

    name: str
    x: str
    y: str
    size: str
    depth: str
    stands: str


def pin_rows(holes: PinHoles, figures: Figures) -> tuple[PinRow, ...]:
    """The holes in the order of work, each once."""
    by_tag = {opening.tag: opening for opening in holes.board.openings}
    order = dict.fromkeys(tag for step in holes.setup.operations for tag in step.tags)
    return tuple(
        PinRow(
            tag, figures.axis(x), figures.axis(y), opening.size_text, figures.axis(opening.depth or 0.0, 2),
            holes.stands[tag],
        )
        for tag in order
        for opening in [by_tag[tag]]
        for x, y in [holes.board.to_program(opening.centre)]
    )  # fmt: skip


def length_words(holes: PinHoles, machine: Machine, figures: Figures) -> str:
    """Where and how Z0 is set for them: on the bare board, never on the sheet."""
    x, y = holes.board.to_program(holes.setup.touch_off)
    at = f"the bare {holes.bed} at X{figures.axis(x)} Y{figures.axis(y)}{figures.at_machine}"
    if machine.program.length == "length table":
        return (
            f"Z0 is {at}. Enter the length of each cutter with Z0 there: a length that was measured on the "
            f"{holes.piece} is wrong by its thickness. For the next setup it is entered on the {holes.piece} again."
        )
    return f"Touch off Z0 on {at}, at each stop of the program. X and Y stay as they are."


def ticks(holes: PinHoles, machine: Machine, figures: Figures) -> tuple[str, ...]:
    """The boxes before they are bored, and after."""
    return tuple(_ticks(holes, machine, figures))


def _ticks(holes: PinHoles, machine: Machine, figures: Figures) -> Iterator[str]:
    clear = f"Z{figures.axis(holes.setup.clear_height)}{figures.at_machine}"
    yield (
        f"The {holes.piece} is off, and every clamp and screw that held it: the program goes straight over the "
        f"{holes.bed} at {clear}. The {holes.bed} is clean and has not moved."
    )
    yield "X0 Y0 is that of setup 1: nothing was homed or set anew."
    tools = ", ".join(f"T{t_number(machine, one)}" for one in dict.fromkeys(s.cutter for s in holes.setup.operations))
    yield f"{tools}: as the table says; Z0 is set on the bare {holes.bed}, not on the {holes.piece}."
    loaded = "is loaded: its" if len(holes.programs) == 1 else "are loaded one after the other, in this order: their"
    yield f"{', then '.join(holes.programs)} {loaded} first lines name the pin holes."
    yield "There is no air pass for it: eye protection on, a hand at the stop, from the first motion on."
    yield "Afterwards: a pin goes into each hole by hand, and stands square and firm. If it is tight, ream it."

"""How the papers say things: lengths, tags, kinds of work, cutters. Plain words of the trade, no markup."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.layout.panel import Opening
from toolpaths.motion import OperationKind
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.units import INCH, Units, figure, inches_beside, on_axis, plain, ruled, said, said_both

DIGITS: Final = "0123456789"

WORK: dict[OperationKind, str] = {
    "engrave": "engrave",
    "mark": "mark the centre",
    "spot": "spot",
    "pilot": "pilot hole",
    "drill": "drill",
    "bore": "bore in a helix",
    "clear": "clear to chips",
    "countersink": "countersink",
    "contour": "cut round the contour",
    "finish": "finishing pass",
    "air pass": "air pass",
}
"""What an operation does, as the sheet says it."""


@dataclass(frozen=True, slots=True)
class Figures:
    """How a sheet prints lengths: things that are measured in the job's units, what the machine shows in its own."""

    job: Units
    program: Units

    @property
    def mixed(self) -> bool:
        """Whether a figure needs its unit beside it."""
        return self.job != "mm" or self.program != "mm"

    def size(self, length: float) -> str:
        """A thing to be measured, with its unit; mm beside inches."""
        return said_both(length, self.job)

    def told(self, text: str) -> str:
        """A sentence of the planner with its lengths in the job's units; beside them in inches or mm where both occur.

        It holds lengths and depths, never an axis's place: that is in one unit alone.
        """
        return inches_beside(text, "in" if self.mixed else "mm", first=self.job)

    def bare(self, length: float) -> str:
        """A cutter's size in the job's units, for a column that names them."""
        return figure(length, self.job)

    def ruled(self, length: float) -> str:
        """What is set off with a rule in the job's units, for a column that names them: fractions as on the rule."""
        return ruled(length, self.job)

    def set_off(self, length: float) -> str:
        """What is set off with a rule, with its unit.

        >>> Figures("mm", "mm").set_off(15), Figures("in", "mm").set_off(38.1), Figures("in", "in").set_off(15)
        ('15 mm', '1 1/2 in', '19/32 in - 0.08 mm')
        """
        fraction, *missing = _parted(self.ruled(length))
        return " ".join((fraction, self.job, *missing))

    def dial(self, length: float, decimals: int = 3) -> str:
        """What the machine's display or an indicator on it shows, with its unit: that of the programs."""
        return f"{self.axis(length, decimals)} {self.program}"

    def about(self, length: float) -> str:
        """A length in the programs' units that need not be exact: tenths of a mm, hundredths of an inch."""
        return f"{plain(length / INCH, 2)} in" if self.program == "in" else f"{plain(length, 1)} mm"

    def measured(self, length: float) -> str:
        """What a caliper or micrometer reads: in inches to the ten-thousandth where it must be, with the mm beside.

        >>> Figures("in", "mm").measured(1.21412), Figures("mm", "mm").measured(1.21412)
        ('0.0478 in (1.214 mm)', '1.214 mm')
        """
        return said(length, self.job) if self.job == "mm" else f"{said(length, self.job)} ({plain(length)} mm)"

    @property
    def at_machine(self) -> str:
        """The programs' unit behind a place on an axis, where the sheet has others too."""
        return f" {self.program}" if self.mixed else ""

    def axis(self, length: float, decimals: int = 3) -> str:
        """What the machine's display shows, without its unit."""
        return on_axis(length, self.program, decimals)

    def feeds(self, values: Iterable[float]) -> str:
        """Feeds in the machine's units a minute: whole mm, tenths of an inch."""
        if self.program == "in":
            return span((value / INCH for value in values), 1)
        return span(values)


def _parted(text: str) -> list[str]:
    """A fraction, and the mm that are missing behind it.

    >>> _parted("1 1/2"), _parted("19/32 - 0.08 mm")
    (['1 1/2'], ['19/32', '- 0.08 mm'])
    """
    return re.split(r" (?=[+-] )", text)


def span(values: Iterable[float], decimals: int = 0) -> str:
    """Figures that differ from row to row as their range.

    >>> span([900, 900]), span([900, 1200.4])
    ('900', '900 to 1200')
    """
    listed = sorted(values)
    low, high = plain(listed[0], decimals), plain(listed[-1], decimals)
    return low if low == high else f"{low} to {high}"


def tag_list(tags: Iterable[str]) -> str:
    """Tags in the order given, each once, runs of one letter drawn together.

    >>> tag_list(["A1", "A2", "A3", "A5", "B1", "A1"])
    'A1 to A3, A5, B1'
    """
    runs: list[list[str]] = []
    expected = ""
    for tag in dict.fromkeys(tags):
        if tag and tag == expected:
            runs[-1].append(tag)
        else:
            runs.append([tag])
        expected = _next(tag)
    parts = (f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)
    return ", ".join(parts)


def by_tag(tag: str) -> tuple[str, int]:
    """Sorts tags as one reads them: A2 before A10.

    >>> sorted(["B1", "A10", "A2"], key=by_tag)
    ['A2', 'A10', 'B1']
    """
    stem = tag.rstrip(DIGITS)
    return stem, int(tag[len(stem) :] or 0)


def _next(tag: str) -> str:
    """The tag that follows in a run of one letter; empty for a tag without a number, or with figures before it.

    >>> _next("A9"), _next("V1a"), _next("2A1")
    ('A10', '', '')
    """
    stem, number = by_tag(tag)
    return "" if stem == tag or any(sign.isdigit() for sign in stem) else f"{stem}{number + 1}"


def t_number(machine: Machine, cutter: int) -> int:
    """The T of a cutter on this machine: its slot where the machine has a slot table, else the cutter's own number."""
    return next((slot for slot, number in machine.program.slots if number == cutter), cutter)


def describe(cutter: Cutter) -> str:
    """A cutter as one asks for it over the counter."""
    text = f"{cutter.name}, {cutter.material}"
    if cutter.kind in ("drill", "spot drill", "countersink", "engraver"):
        tip = f", tip {plain(cutter.tip)} mm wide" if cutter.tip else ""
        return f"{text}, {plain(math.degrees(cutter.point_angle), 0)}° point{tip}"
    return f"{text}, {cutter.flutes} {'flute' if cutter.flutes == 1 else 'flutes'}"


def how_made(kinds: Sequence[OperationKind]) -> str:
    """The steps of one opening in the order of work, each once.

    >>> how_made(["spot", "drill"]), how_made([])
    ('spot, then drill', 'not machined')
    """
    return ", then ".join(WORK[kind] for kind in dict.fromkeys(kinds)) or "not machined"


def by_hand(opening: Opening) -> str:
    """What is left to do at the bench where the machine only marks or pilots; empty where it makes the opening."""
    steps = [step for step in (_opened(opening), *_after(opening)) if step]
    return f"by hand: {', then '.join(steps)}" if steps else ""


def _after(opening: Opening) -> list[str]:
    """What follows when the opening has its size; a countersink is the machine's where that makes the hole."""
    cone, thread = opening.countersink, opening.thread
    steps = []
    if cone is not None and opening.finish != "machine":
        steps.append(f"countersink to {plain(cone.diameter)} mm at {plain(math.degrees(cone.angle))}°")
    return [*steps, f"tap {thread.name}"] if thread is not None else steps


def _opened(opening: Opening) -> str:
    if opening.finish == "machine":
        return f"file {opening.filed}" if opening.filed else ""
    if opening.depth is not None:
        return f"drill or rout it to size, {plain(opening.depth)} mm deep"
    if opening.kind == "keyed_hole":
        return "the round hole, then file the key"
    if opening.kind in ("d_hole", "double_d_hole"):
        return "the largest round hole inside it, then the file"
    if opening.diameter is None:
        return "drill the corners with their own radius, saw between them, file to the line"
    return "open to size with drill, step drill, punch or hole saw, clamped over wood"


def measured_from(bounds: tuple[float, float, float, float]) -> str:
    """Where a panel's x and y are measured from, as seen from its outside; ``bounds`` are its outline's.

    >>> measured_from((0, 0, 100, 40)), measured_from((-50, -20, 50, 20)), measured_from((-100, -20, 0, 20))
    ('lower left corner', 'centre', 'middle of the right side')
    """
    x0, y0, x1, y1 = bounds
    across = place_between(x0, x1, ("left", "middle", "right"))
    up = place_between(y0, y1, ("lower", "middle", "upper"))
    if across is None or up is None:
        return f"{plain(-x0)} mm from the left and {plain(-y0)} mm from the lower side"
    if across == up == "middle":
        return "centre"
    if "middle" in (across, up):
        return f"middle of the {up if across == 'middle' else across} side"
    return f"{up} {across} corner"


def place_between(low: float, high: float, names: tuple[str, str, str]) -> str | None:
    """Which of three places between ``low`` and ``high`` the zero is, or None for another."""
    places = (low, (low + high) / 2, high)
    return next((name for name, place in zip(names, places, strict=True) if abs(place) < 1e-6), None)

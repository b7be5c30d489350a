"""How the papers say things: lengths, tags, kinds of work, cutters. Plain words of the trade, no markup."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

from toolpaths.layout.panel import Opening
from toolpaths.motion import OperationKind
from toolpaths.tables.rows import Cutter, Machine

WORK: dict[OperationKind, str] = {
    "mark": "mark the centre",
    "spot": "spot",
    "pilot": "pilot hole",
    "drill": "drill",
    "bore": "bore in a helix",
    "clear": "clear to chips",
    "countersink": "countersink",
    "contour": "cut round the contour",
    "finish": "finishing pass",
}
"""What an operation does, as the sheet says it."""


def plain(value: float, decimals: int = 3) -> str:
    """A figure with at most ``decimals`` places, no trailing zeros and no ``-0``.

    >>> plain(2.50), plain(-0.0001), plain(1/3)
    ('2.5', '0', '0.333')
    """
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


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
    for tag in dict.fromkeys(tags):
        if runs and _follows(runs[-1][-1], tag):
            runs[-1].append(tag)
        else:
            runs.append([tag])
    parts = (f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)
    return ", ".join(parts)


def by_tag(tag: str) -> tuple[str, int]:
    """Sorts tags as one reads them: A2 before A10.

    >>> sorted(["B1", "A10", "A2"], key=by_tag)
    ['A2', 'A10', 'B1']
    """
    digits = re.search(r"\d*$", tag)
    number = digits.group() if digits else ""
    return tag.removesuffix(number), int(number or 0)


def _follows(first: str, second: str) -> bool:
    one, two = (re.fullmatch(r"(\D*)(\d+)", tag) for tag in (first, second))
    return bool(one and two) and one[1] == two[1] and int(two[2]) == int(one[2]) + 1  # type: ignore[index]


def t_number(machine: Machine, cutter: int) -> int:
    """The T of a cutter on this machine: its slot where the machine has a slot table, else the cutter's own number."""
    return next((slot for slot, number in machine.program.slots if number == cutter), cutter)


def describe(cutter: Cutter) -> str:
    """A cutter as one asks for it over the counter."""
    text = f"{cutter.name}, {cutter.material}"
    if cutter.kind in ("drill", "spot drill", "countersink", "engraver"):
        return f"{text}, {plain(math.degrees(cutter.point_angle), 0)}° point"
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
    if opening.feature.startswith("keyed_hole"):
        return "the round hole, then file the key"
    if opening.feature.startswith(("d_hole", "double_d_hole")):
        return "the largest round hole inside it, then the file"
    if opening.diameter is None:
        return "drill the corners with their own radius, saw between them, file to the line"
    return "open to size with drill, step drill, punch or hole saw, clamped over wood"

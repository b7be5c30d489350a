"""The faults: each kind is a function that yields every edit of its kind that a program's lines allow."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tests.faults.own_reading import Move, moves, words
from toolpaths.job import Job
from toolpaths.layout.panel import Panel

Edit = tuple[int, list[str]]
"""The line (from 0) where the edit begins, and the whole edited text."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A program without faults, and what it was made for."""

    job: Job
    panel: Panel
    lines: list[str]

    @property
    def thickness(self) -> float:
        return self.panel.thickness

    @property
    def cuts(self) -> list[Move]:
        """Cutting moves that go below the top of the sheet."""
        return [move for move in moves(self.lines) if move.g and move.low < -0.02]

    def replaced(self, index: int, *new: str) -> Edit:
        return index, [*self.lines[:index], *new, *self.lines[index + 1 :]]

    def where(self, test: Callable[[str], bool]) -> list[int]:
        return [index for index, line in enumerate(self.lines) if test(line)]

    def operations(self) -> list[tuple[int, int]]:
        """(first, end) of each operation's lines: from its comment to the next comment or the spindle's stop."""
        heads = self.where(lambda line: bool(re.match(r"\((mark|spot|pilot|drill|bore|clear|contour|finish) ", line)))
        stops = [*self.where(lambda line: line.startswith("(") or line == "M5"), len(self.lines)]
        return [(head, next(stop for stop in stops if stop > head)) for head in heads]


def with_word(line: str, letter: str, value: float) -> str:
    """``line`` with another value in one word."""
    return re.sub(rf"{letter}-?[\d.]+", f"{letter}{value:.3f}".rstrip("0").rstrip("."), line, count=1)


def _shifted(letters: str, by: float) -> Callable[[Ground], Iterator[Edit]]:
    def kind(ground: Ground) -> Iterator[Edit]:
        for move in ground.cuts:
            line = ground.lines[move.index]
            for letter in letters:
                if letter in words(line):
                    yield ground.replaced(move.index, with_word(line, letter, words(line)[letter] + by))

    return kind


def far_too_deep(ground: Ground) -> Iterator[Edit]:
    """Past the sheet, any drill's point and what is allowed into the spoilboard."""
    for move in ground.cuts:
        if "Z" in words(ground.lines[move.index]):
            yield ground.replaced(move.index, with_word(ground.lines[move.index], "Z", -ground.thickness - 8))


def swapped_turn(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        if move.g >= 2:
            line = ground.lines[move.index]
            yield ground.replaced(move.index, line.replace(f"G{move.g} ", f"G{5 - move.g} ", 1))


def missing_retract(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: bool(re.fullmatch(r"G0 Z\d+", line))):
        yield ground.replaced(index)


def spindle_never_on(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: " M3" in line):
        yield ground.replaced(index, ground.lines[index].replace(" M3", ""))


def spindle_stopped(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        yield ground.replaced(move.index, "M5", ground.lines[move.index])


def shallow_operation(ground: Ground) -> Iterator[Edit]:
    """The last level is left out: an operation ends at its deepest Z that is not yet through the sheet."""
    for first, end in ground.operations():
        depths = {words(line)["Z"] for line in ground.lines[first:end] if words(line).get("Z", 1) < 0}
        higher = min((depth for depth in depths if depth > -ground.thickness), default=-ground.thickness / 2)
        lines = [with_word(line, "Z", higher) if words(line).get("Z", 1) < higher else line
                 for line in ground.lines[first:end]]  # fmt: skip
        yield first, [*ground.lines[:first], *lines, *ground.lines[end:]]


def shallow_operation_by_half(ground: Ground) -> Iterator[Edit]:
    for first, end in ground.operations():
        lines = [with_word(line, "Z", words(line)["Z"] / 2) if words(line).get("Z", 1) < 0 else line
                 for line in ground.lines[first:end]]  # fmt: skip
        yield first, [*ground.lines[:first], *lines, *ground.lines[end:]]


def other_units(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line.startswith("G21")):
        yield ground.replaced(index, ground.lines[index].replace("G21", "G20"))


def other_cutter(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: bool(re.fullmatch(r"T\d+", line))):
        held = ground.job.cutters[int(ground.lines[index][1:])]
        for cutter in ground.job.cutters.values():
            if cutter.kind == held.kind and 0.1 < abs(cutter.diameter - held.diameter) < 2:
                yield ground.replaced(index, f"T{cutter.number}")
        yield ground.replaced(index, "T9999")


def feed_times_ten(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        line = ground.lines[move.index]
        if "F" in words(line):
            yield ground.replaced(move.index, with_word(line, "F", words(line)["F"] * 10))


def speed_times_three(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line.startswith("S")):
        yield ground.replaced(index, with_word(ground.lines[index], "S", words(ground.lines[index])["S"] * 3))


def missing_end(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line == "M2"):
        yield ground.replaced(index)


def missing_mode(ground: Ground) -> Iterator[Edit]:
    (index,) = ground.where(lambda line: line.startswith("G21"))
    modes = ground.lines[index].split()
    for mode in ("G21", "G17", "G90", "G94", "G40", "G49", "G80", "G54"):
        yield ground.replaced(index, " ".join(word for word in modes if word != mode))


def rapid_for_cut(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        if move.g == 1:
            yield ground.replaced(move.index, ground.lines[move.index].replace("G1 ", "G0 ", 1))


def clamp_crossed_by_rapid(ground: Ground) -> Iterator[Edit]:
    """On the way from one operation to the next the tool goes by way of a clamp, at retract height."""
    for x, y in _clamps(ground):
        for _, end in ground.operations():
            if ground.lines[end - 1].startswith("G0 Z"):
                yield ground.replaced(end - 1, "G0 Z2", f"G0 X{x} Y{y}", ground.lines[end - 1])


def clamp_crossed_by_cut(ground: Ground) -> Iterator[Edit]:
    for x, y in _clamps(ground):
        for move in ground.cuts:
            if move.g == 1 and not move.upright:
                yield ground.replaced(move.index, f"G1 X{x} Y{y}", ground.lines[move.index])


def _clamps(ground: Ground) -> Iterator[tuple[str, str]]:
    """The middle of each clamp, in program coordinates."""
    for clamp in ground.panel.clamps:
        x0, y0, x1, y1 = clamp.area
        x, y = ground.panel.to_program(((x0 + x1) / 2, (y0 + y1) / 2))
        yield f"{x:.3f}", f"{y:.3f}"


def no_touch_off(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line == "M0"):
        yield ground.replaced(index)


def no_dwell(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line.startswith("G4 ")):
        yield ground.replaced(index)


def missing_operation(ground: Ground) -> Iterator[Edit]:
    for first, end in ground.operations():
        yield first, [*ground.lines[:first], *ground.lines[end:]]


def missing_cut(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        yield ground.replaced(move.index)


def swapped_lines(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        first, second = ground.lines[move.index : move.index + 2]
        yield move.index, [*ground.lines[: move.index], second, first, *ground.lines[move.index + 2 :]]


def swapped_start(ground: Ground) -> Iterator[Edit]:
    """Speed and dwell change places (the spindle runs up while it feeds), or the stop and what follows it."""
    for index in ground.where(lambda line: " M3" in line or line == "M0"):
        first, second = ground.lines[index : index + 2]
        yield index, [*ground.lines[:index], second, first, *ground.lines[index + 2 :]]


def flipped_sign(ground: Ground) -> Iterator[Edit]:
    for move in ground.cuts:
        line = ground.lines[move.index]
        for letter in "XYZIJ":
            if words(line).get(letter):
                yield ground.replaced(move.index, with_word(line, letter, -words(line)[letter]))


def tab_cut_through(ground: Ground) -> Iterator[Edit]:
    """The lift over a tab goes: its Z becomes that of the cut before it."""
    for first, end in ground.operations():
        if ground.lines[first].startswith(("(contour", "(finish")):
            deep = min(words(line).get("Z", 0) for line in ground.lines[first:end])
            for index in range(first, end):
                line = ground.lines[index]
                if re.fullmatch(r"G[01] Z-[\d.]+", line) and words(line)["Z"] > deep:
                    yield ground.replaced(index, with_word(line, "Z", deep))


def lower_tab(ground: Ground) -> Iterator[Edit]:
    for index, lines in tab_cut_through(ground):
        lower = with_word(lines[index], "Z", words(ground.lines[index])["Z"] - 0.1)
        yield index, [*lines[:index], lower, *lines[index + 1 :]]


def twice(ground: Ground) -> Iterator[Edit]:
    """A line stands twice, where the second time does nothing: not an arc that ends elsewhere, not the end."""
    for index, line in enumerate(ground.lines):
        if not line.startswith(("G2", "G3", "M2")) or line.startswith("G21"):
            yield ground.replaced(index, line, line)


def comment(ground: Ground) -> Iterator[Edit]:
    for index in ground.where(lambda line: line.startswith("(")):
        yield ground.replaced(index, "(by hand: G0 X99 Z-9)")
        yield ground.replaced(index)


def blank(ground: Ground) -> Iterator[Edit]:
    for index, line in enumerate(ground.lines):
        yield ground.replaced(index, "", line, "")


HARMLESS = {"line twice": twice, "other comment": comment, "blank lines": blank}

KINDS: dict[str, Callable[[Ground], Iterator[Edit]]] = {
    "shifted X": _shifted("X", 0.1),
    "shifted Y": _shifted("Y", -0.1),
    "raised Z": _shifted("Z", 0.6),
    "lowered Z": _shifted("Z", -0.1),
    "far too deep": far_too_deep,
    "shifted I": _shifted("I", 0.1),
    "shifted J": _shifted("J", 0.1),
    "swapped turn": swapped_turn,
    "missing retract": missing_retract,
    "spindle never on": spindle_never_on,
    "spindle stopped": spindle_stopped,
    "shallow operation": shallow_operation,
    "half as deep": shallow_operation_by_half,
    "other units": other_units,
    "other cutter": other_cutter,
    "feed times ten": feed_times_ten,
    "speed times three": speed_times_three,
    "missing end": missing_end,
    "missing mode": missing_mode,
    "rapid for cut": rapid_for_cut,
    "clamp crossed by rapid": clamp_crossed_by_rapid,
    "clamp crossed by cut": clamp_crossed_by_cut,
    "no touch-off": no_touch_off,
    "no dwell": no_dwell,
    "missing operation": missing_operation,
    "missing cut": missing_cut,
    "swapped lines": swapped_lines,
    "swapped start": swapped_start,
    "flipped sign": flipped_sign,
    "tab cut through": tab_cut_through,
    "lower tab": lower_tab,
}

ALWAYS = frozenset({
    "far too deep", "spindle never on", "spindle stopped", "other units", "missing end", "missing mode", "no touch-off",
    "no dwell", "swapped start", "clamp crossed by rapid", "clamp crossed by cut", "tab cut through", "lower tab",
    "speed times three",
})  # fmt: skip
"""Kinds that do harm wherever they are planted; of the others the rule in ``harm`` says which do."""

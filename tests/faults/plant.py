"""The faults: each kind is a function that plants one edit of its kind, at a place that chance picks.

A kind gets the ground and a generator of chance and gives back the edited programs, or None where it finds no place.
Nothing here decides whether the edit does harm.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from tests.faults.harm import Rule
from tests.faults.own_reading import WORD, Move

Programs = list[list[str]]
Kind = Callable[["Ground", random.Random], "Programs | None"]

AXES = "XYZIJ"
LITTLE = (0.02, 0.05, 0.1, 0.3, 1.0)
"""mm; how far a place is moved: from just above what is allowed to what anybody sees."""


@dataclass
class Ground:
    """The programs of one setup without faults, what they were made for, and programs of other panels."""

    name: str
    rule: Rule
    programs: Programs
    strangers: list[list[str]] = field(default_factory=list)
    setups: tuple[int, ...] = ()
    """Of a divided panel judged as a whole: which setup each program is of, 0 for the pin holes; else empty."""
    other_pins: list[list[str]] = field(default_factory=list)
    """Programs of pin holes of other panels."""
    noted: frozenset[tuple[str, str]] | None = None
    """Codes and features of what verification notes of the good programs, once that was asked."""

    # --- where things stand

    @cached_property
    def moves(self) -> list[Move]:
        return self.rule.good.moves

    @cached_property
    def code(self) -> list[tuple[int, int]]:
        """Every (program, line) that holds a word outside comments."""
        return [
            (number, index) for number, lines in enumerate(self.programs) for index, line in enumerate(lines)
            if bare(line)
        ]  # fmt: skip

    @cached_property
    def cutting(self) -> list[tuple[int, int]]:
        """Lines that cut in the sheet."""
        return list(dict.fromkeys((move.program, move.index) for move in self.moves if move.g and move.low < -0.02))

    @cached_property
    def blocks(self) -> list[tuple[int, int, int]]:
        """(program, first, end): each operation's lines, from its rapid above the sheet to the next one's."""
        found = []
        for program, lines in enumerate(self.programs):
            mine = [move for move in self.moves if move.program == program]
            first: int | None = None
            cut = False
            for move in mine:
                high = move.low >= 0
                if high and cut:
                    cut, first = False, move.index + (1 if move.start[2] < 0 else 0)
                if first is None:
                    first = move.index
                if move.low < -0.02:
                    if not cut:
                        begin = first
                        last = move.index
                        cut = True
                    last = max(last, move.index)
                    if move.end[2] >= 0:
                        found.append((program, begin, min(last + 1, len(lines))))
        return [block for block in dict.fromkeys(found) if block[2] > block[1]]

    @cached_property
    def sections(self) -> list[tuple[int, int, int]]:
        """(program, first, end): the lines of each cutter, from its T to before the next."""
        found = []
        for program, lines in enumerate(self.programs):
            starts = [index for index, line in enumerate(lines) if "T" in letters(line)]
            ends = [*starts[1:], next((i for i in range(len(lines) - 1, 0, -1) if has(lines[i], "M", 5)), len(lines))]
            found += [(program, start, end) for start, end in zip(starts, ends, strict=True) if end > start]
        return found

    # --- edits

    def with_lines(self, program: int, first: int, end: int, new: Sequence[str]) -> Programs:
        lines = self.programs[program]
        edited = [*lines[:first], *new, *lines[end:]]
        return [edited if number == program else other for number, other in enumerate(self.programs)]

    def with_line(self, at: tuple[int, int], *new: str) -> Programs:
        return self.with_lines(at[0], at[1], at[1] + 1, new)

    def line(self, at: tuple[int, int]) -> str:
        return self.programs[at[0]][at[1]]

    def having(self, test: Callable[[str], bool]) -> list[tuple[int, int]]:
        return [at for at in self.code if test(self.line(at))]


def bare(line: str) -> str:
    """A line without its comments, upper case; the percent sign counts as none."""
    return re.sub(r"\([^()]*\)|;.*", "", line).strip().upper().replace("%", "")


def letters(line: str) -> list[str]:
    return [letter for letter, _ in WORD.findall(bare(line))]


def value(line: str, letter: str) -> float | None:
    return next((float(number) for name, number in WORD.findall(bare(line)) if name == letter), None)


def has(line: str, letter: str, number: float) -> bool:
    return any(name == letter and float(text) == number for name, text in WORD.findall(bare(line)))


def with_word(line: str, letter: str, new: str) -> str:
    """``line`` with the first word of ``letter`` replaced by ``new`` (outside comments: these stand alone or last)."""
    return re.sub(rf"{letter}[+-]?[\d.]+", new, line, count=1)


def number(of: float, decimals: int = 4) -> str:
    text = f"{of:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def pick(chance: random.Random, places: Sequence[tuple[int, int]]) -> tuple[int, int] | None:
    return chance.choice(places) if places else None


def unit(ground: Ground) -> float:
    """Millimetres per unit of the programs."""
    return 25.4 if any(has(line, "G", 20) for line in ground.programs[0][:40]) else 1.0


# --- lines ------------------------------------------------------------------------------------------------------


def line_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    return ground.with_line(chance.choice(ground.code))


def cut_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.cutting)
    return ground.with_line(at) if at else None


def line_doubled(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    return ground.with_line(at, ground.line(at), ground.line(at))


def lines_swapped(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    after = next((other for other in ground.code if other > at and other[0] == at[0]), None)
    if after is None:
        return None
    between = ground.programs[at[0]][at[1] + 1 : after[1]]
    return ground.with_lines(at[0], at[1], after[1] + 1, [ground.line(after), *between, ground.line(at)])


def line_moved(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    lines = [line for index, line in enumerate(ground.programs[at[0]]) if index != at[1]]
    place = max(0, min(len(lines), at[1] + chance.choice([-40, -10, -4, -2, 2, 4, 10, 40])))
    return ground.with_lines(at[0], 0, len(ground.programs[at[0]]), [*lines[:place], ground.line(at), *lines[place:]])


def line_of_another_panel(ground: Ground, chance: random.Random) -> Programs | None:
    lines = [line for stranger in ground.strangers for line in stranger if set("XYZ") & set(letters(line))]
    if not lines:
        return None
    at = chance.choice(ground.code)
    return ground.with_line(at, ground.line(at), chance.choice(lines))


# --- words ------------------------------------------------------------------------------------------------------


def word_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    words = list(WORD.finditer(bare(ground.line(at))))
    gone = chance.choice(words)
    text = bare(ground.line(at))
    return ground.with_line(at, (text[: gone.start()] + text[gone.end() :]).strip())


def word_given_twice(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: bool(set(AXES) & set(letters(line)))))
    if at is None:
        return None
    letter = chance.choice([name for name in letters(ground.line(at)) if name in AXES])
    return ground.with_line(at, f"{bare(ground.line(at))} {letter}{number(chance.uniform(-5, 5), 2)}")


def _with_other_word(
    ground: Ground, chance: random.Random, change: Callable[[str], str], among: str
) -> Programs | None:
    at = pick(chance, ground.having(lambda line: bool(set(among) & set(letters(line)))))
    if at is None:
        return None
    text = bare(ground.line(at))
    found = [match for match in WORD.finditer(text) if match[1] in among]
    match = chance.choice(found)
    new = change(match[2])
    return None if new == match[2] else ground.with_line(at, f"{text[:match.start(2)]}{new}{text[match.end(2):]}")


def digit_changed(ground: Ground, chance: random.Random) -> Programs | None:
    def change(text: str) -> str:
        places = [place for place, sign in enumerate(text) if sign.isdigit()]
        place = chance.choice(places)
        return text[:place] + str((int(text[place]) + chance.randint(1, 9)) % 10) + text[place + 1 :]

    return _with_other_word(ground, chance, change, chance.choice(["XYZIJ", "XYZIJ", "FSTPHMG"]))


def digits_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    def change(text: str) -> str:
        places = [p for p in range(len(text) - 1) if text[p].isdigit() and text[p + 1].isdigit()]
        if not places:
            return text
        p = chance.choice(places)
        return text[:p] + text[p + 1] + text[p] + text[p + 2 :]

    return _with_other_word(ground, chance, change, "XYZIJFS")


def sign_changed(ground: Ground, chance: random.Random) -> Programs | None:
    return _with_other_word(
        ground, chance, lambda text: text[1:] if text.startswith("-") else f"-{text}", "XYZIJ"
    )  # fmt: skip


def point_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: any("." in text for _, text in WORD.findall(bare(line)))))
    if at is None:
        return None
    text = bare(ground.line(at))
    match = chance.choice([found for found in WORD.finditer(text) if "." in found[2]])
    return ground.with_line(at, text[: match.start(2)] + match[2].replace(".", "") + text[match.end(2) :])


def _shifted(letter: str, ways: Sequence[float]) -> Kind:
    def kind(ground: Ground, chance: random.Random) -> Programs | None:
        places = [at for at in ground.cutting if letter in letters(ground.line(at))]
        at = pick(chance, places)
        if at is None:
            return None
        old = value(ground.line(at), letter)
        assert old is not None
        new = old + chance.choice(ways) / unit(ground)
        return ground.with_line(at, with_word(bare(ground.line(at)), letter, f"{letter}{number(new)}"))

    return kind


BOTH_WAYS = tuple(sign * by for by in LITTLE for sign in (-1, 1))


def axes_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: {"X", "Y"} <= set(letters(line))))
    if at is None:
        return None
    swap = str.maketrans("XY", "YX")
    return ground.with_line(at, bare(ground.line(at)).translate(swap))


def centre_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: bool({"I", "J"} & set(letters(line)))))
    return ground.with_line(at, bare(ground.line(at)).translate(str.maketrans("IJ", "JI"))) if at else None


def _other_motion(old: Sequence[int], new: int) -> Kind:
    def kind(ground: Ground, chance: random.Random) -> Programs | None:
        at = pick(chance, [at for at in ground.code if any(has(ground.line(at), "G", code) for code in old)
                           and set("XYZ") & set(letters(ground.line(at)))])  # fmt: skip
        return ground.with_line(at, with_word(bare(ground.line(at)), "G", f"G{new}")) if at else None

    return kind


def turn_reversed(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: has(line, "G", 2) or has(line, "G", 3)))
    if at is None:
        return None
    new = 3 if has(ground.line(at), "G", 2) else 2
    return ground.with_line(at, with_word(bare(ground.line(at)), "G", f"G{new}"))


def _scaled(letter: str, factors: Sequence[float], decimals: int) -> Kind:
    def kind(ground: Ground, chance: random.Random) -> Programs | None:
        at = pick(chance, ground.having(lambda line: letter in letters(line)))
        if at is None:
            return None
        old = value(ground.line(at), letter)
        assert old is not None
        new = f"{letter}{number(old * chance.choice(factors), decimals)}"
        return ground.with_line(at, with_word(bare(ground.line(at)), letter, new))

    return kind


def rubbing(ground: Ground, chance: random.Random) -> Programs | None:
    """All feeds of one cutter's work fall to a part, as if their decimal point had slipped."""
    program, first, end = chance.choice(ground.sections)
    slower = chance.choice((0.02, 0.05))
    lines = [
        with_word(bare(line), "F", f"F{number(old * slower, 3)}") if (old := value(line, "F")) is not None else line
        for line in ground.programs[program][first:end]
    ]
    return ground.with_lines(program, first, end, lines)


def _word_gone(letter: str, codes: Sequence[int] = ()) -> Kind:
    """Words of a letter (of these values, if any are given) vanish from one line, with what belongs to them."""

    def kind(ground: Ground, chance: random.Random) -> Programs | None:
        def test(line: str) -> bool:
            return any(has(line, letter, code) for code in codes) if codes else letter in letters(line)

        at = pick(chance, ground.having(test))
        if at is None:
            return None
        kept = [
            name + text for name, text in WORD.findall(bare(ground.line(at)))
            if name != letter or (codes and float(text) not in codes)
        ]  # fmt: skip
        if letter == "G" and 4 in codes:
            kept = [word for word in kept if word[0] != "P"]
        if letter == "G" and 43 in codes:
            kept = [word for word in kept if word[0] != "H"]
        return ground.with_line(at, " ".join(kept))

    return kind


def other_cutter(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: "T" in letters(line)))
    if at is None:
        return None
    slots = dict(ground.rule.job.machine.program.slots)
    known = [n for n in (list(slots) or list(ground.rule.job.cutters)) if n != value(ground.line(at), "T")]
    new = chance.choice([*known, 999]) if known else 999
    return ground.with_line(at, with_word(bare(ground.line(at)), "T", f"T{new}"))


def alike_cutter(ground: Ground, chance: random.Random) -> Programs | None:
    """A cutter of the same kind and nearly the same size."""
    at = pick(chance, ground.having(lambda line: "T" in letters(line)))
    if at is None:
        return None
    cutters, slots = ground.rule.job.cutters, dict(ground.rule.job.machine.program.slots)
    old = int(value(ground.line(at), "T") or 0)
    held = cutters.get(slots.get(old, old) if slots else old)
    number_of = {n: cutters.get(n if not slots else slots[n]) for n in (slots or cutters)}
    near = [n for n, cutter in number_of.items() if held and cutter and n != old and cutter.kind == held.kind
            and abs(cutter.diameter - held.diameter) < 1.1]  # fmt: skip
    return ground.with_line(at, with_word(bare(ground.line(at)), "T", f"T{chance.choice(near)}")) if near else None


def other_length(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: "H" in letters(line)))
    if at is None:
        return None
    old = int(value(ground.line(at), "H") or 0)
    return ground.with_line(at, with_word(bare(ground.line(at)), "H", f"H{old + chance.choice([1, 2, 10])}"))


# --- blocks of lines ------------------------------------------------------------------------------------------------


def _block(ground: Ground, chance: random.Random) -> tuple[int, int, int] | None:
    return chance.choice(ground.blocks) if ground.blocks else None


def operation_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    block = _block(ground, chance)
    return ground.with_lines(*block, []) if block else None


def operation_repeated(ground: Ground, chance: random.Random) -> Programs | None:
    block = _block(ground, chance)
    if block is None:
        return None
    lines = ground.programs[block[0]][block[1] : block[2]]
    return ground.with_lines(*block, [*lines, *lines])


def _exchanged(ground: Ground, chance: random.Random, blocks: list[tuple[int, int, int]]) -> Programs | None:
    pairs = [(a, b) for a in blocks for b in blocks if a[0] == b[0] and a[2] <= b[1]]
    if not pairs:
        return None
    (program, a, b), (_, c, d) = chance.choice(pairs)
    lines = ground.programs[program]
    return ground.with_lines(program, a, d, [*lines[c:d], *lines[b:c], *lines[a:b]])


def operations_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    some = chance.sample(ground.blocks, min(12, len(ground.blocks)))
    return _exchanged(ground, chance, sorted(some))


def cutters_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    return _exchanged(ground, chance, ground.sections)


def cutter_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    return ground.with_lines(*chance.choice(ground.sections), []) if len(ground.sections) > 1 else None


def stretch_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    program, first = chance.choice(ground.code)
    return ground.with_lines(program, first, first + chance.randint(2, 12), [])


def stretch_repeated(ground: Ground, chance: random.Random) -> Programs | None:
    program, first = chance.choice(ground.code)
    end = first + chance.randint(2, 12)
    lines = ground.programs[program][first:end]
    return ground.with_lines(program, first, end, [*lines, *lines])


def stretch_reversed(ground: Ground, chance: random.Random) -> Programs | None:
    program, first = chance.choice(ground.code)
    end = first + chance.randint(3, 8)
    return ground.with_lines(program, first, end, ground.programs[program][first:end][::-1])


def _operation_edited(ground: Ground, chance: random.Random, edit: Callable[[str], str]) -> Programs | None:
    block = _block(ground, chance)
    if block is None:
        return None
    lines = [edit(line) if bare(line) else line for line in ground.programs[block[0]][block[1] : block[2]]]
    return ground.with_lines(*block, lines)


def _plus(line: str, letter: str, by: float, where: Callable[[float], bool] = lambda _: True) -> str:
    old = value(line, letter)
    return line if old is None or not where(old) else with_word(line, letter, f"{letter}{number(old + by)}")


def operation_shifted(ground: Ground, chance: random.Random) -> Programs | None:
    letter, by = chance.choice("XY"), chance.choice(BOTH_WAYS) / unit(ground)
    return _operation_edited(ground, chance, lambda line: _plus(line, letter, by))


def operation_deeper(ground: Ground, chance: random.Random) -> Programs | None:
    by = -chance.choice([0.1, 0.5, 1.0, 3.0, 10.0]) / unit(ground)
    return _operation_edited(ground, chance, lambda line: _plus(line, "Z", by, lambda z: z < 0))


def operation_shallower(ground: Ground, chance: random.Random) -> Programs | None:
    by = chance.choice([0.1, 0.4, 0.6, 1.0, 2.0]) / unit(ground)
    return _operation_edited(ground, chance, lambda line: _plus(line, "Z", by, lambda z: z < 0))


def operation_half_as_deep(ground: Ground, chance: random.Random) -> Programs | None:
    def edit(line: str) -> str:
        z = value(line, "Z")
        return line if z is None or z >= 0 else with_word(line, "Z", f"Z{number(z / 2)}")

    return _operation_edited(ground, chance, edit)


def operation_mirrored(ground: Ground, chance: random.Random) -> Programs | None:
    def edit(line: str) -> str:
        for letter in "XI":
            old = value(line, letter)
            line = line if old is None else with_word(line, letter, f"{letter}{number(-old)}")
        return line

    return _operation_edited(ground, chance, edit)


def program_mirrored(ground: Ground, chance: random.Random) -> Programs | None:
    """X and I change their sign in the whole program, and arcs their turn: as if the sheet lay the other way up."""
    program = chance.randrange(len(ground.programs))
    lines = []
    for line in ground.programs[program]:
        text = bare(line)
        for letter in "XI":
            old = value(text, letter)
            text = text if old is None else with_word(text, letter, f"{letter}{number(-old)}")
        if has(text, "G", 2) or has(text, "G", 3):
            text = with_word(text, "G", "G3" if has(text, "G", 2) else "G2")
        lines.append(text if bare(line) else line)
    return ground.with_lines(program, 0, len(lines), lines)


def operation_turned(ground: Ground, chance: random.Random) -> Programs | None:
    """Every arc of an operation the other way round."""

    def edit(line: str) -> str:
        if has(line, "G", 2):
            return with_word(line, "G", "G3")
        return with_word(line, "G", "G2") if has(line, "G", 3) else line

    return _operation_edited(ground, chance, edit)


def lift_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    """A move straight up in the sheet or out of it goes: over a tab, or before a rapid."""
    lifts = [(move.program, move.index) for move in ground.moves
             if move.upright and move.placed and move.end[2] > move.start[2] and move.start[2] < 0]  # fmt: skip
    at = pick(chance, list(dict.fromkeys(lifts)))
    return ground.with_line(at) if at else None


def lift_lower(ground: Ground, chance: random.Random) -> Programs | None:
    """A lift within the sheet goes less high: the tab below it gets thinner, or goes."""
    thick = ground.rule.panel.thickness
    lifts = [(move.program, move.index) for move in ground.moves
             if move.upright and move.placed and move.start[2] < move.end[2]
             and -thick < move.end[2] < -0.02]  # fmt: skip
    at = pick(chance, [at for at in dict.fromkeys(lifts) if "Z" in letters(ground.line(at))])
    if at is None:
        return None
    return ground.with_line(at, _plus(bare(ground.line(at)), "Z", -chance.choice([0.05, 0.2, 2.0]) / unit(ground)))


def clamp_crossed(ground: Ground, chance: random.Random) -> Programs | None:
    """A way over a clamp, at the height at which an operation begins."""
    clamps, block = ground.rule.panel.clamps, _block(ground, chance)
    if not clamps or block is None:
        return None
    x0, y0, x1, y1 = chance.choice(clamps).area
    x, y = (along / unit(ground) for along in ground.rule.panel.to_program(((x0 + x1) / 2, (y0 + y1) / 2)))
    first = chance.randint(block[1] + 1, block[2] - 1) if block[2] - block[1] > 1 else block[1]
    word = chance.choice(["G0", "G1"])
    return ground.with_lines(block[0], first, first, [f"{word} X{number(x)} Y{number(y)}"])


# --- modes and whole files -----------------------------------------------------------------------------------------


def _mode(old: int, new: int | None) -> Kind:
    def kind(ground: Ground, chance: random.Random) -> Programs | None:
        at = pick(chance, ground.having(lambda line: has(line, "G", old)))
        if at is None:
            return None
        text = re.sub(rf"G0*{old}(?!\d)", "" if new is None else f"G{new}", bare(ground.line(at)), count=1)
        return ground.with_line(at, " ".join(text.split()))

    return kind


def units_changed(ground: Ground, chance: random.Random) -> Programs | None:
    return (_mode(20, 21) if unit(ground) > 1 else _mode(21, 20))(ground, chance)


def mode_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    return _mode(chance.choice([17, 20, 21, 40, 49, 54, 80, 90, 94, 98, 99]), None)(ground, chance)


def plane_changed(ground: Ground, chance: random.Random) -> Programs | None:
    return _mode(17, chance.choice([18, 19]))(ground, chance)


def zero_changed(ground: Ground, chance: random.Random) -> Programs | None:
    return _mode(54, chance.choice([55, 56, 59]))(ground, chance)


def mode_slipped_in(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    word = chance.choice(["G91", "G20", "G21", "G18", "G41 D1", "G49", "G43 H1", "G55", "G93", "G53", "G92 X0", "M5",
                          "M4", "M0", "G80", "G99", "M6", "M2"])  # fmt: skip
    return ground.with_line(at, word, ground.line(at))


def returns_changed(ground: Ground, chance: random.Random) -> Programs | None:
    return (_mode(98, 99) if chance.random() < 0.5 else _mode(99, 98))(ground, chance)


def cut_short(ground: Ground, chance: random.Random) -> Programs | None:
    program, first = chance.choice(ground.code)
    return ground.with_lines(program, first, len(ground.programs[program]), [])


def ended_early(ground: Ground, chance: random.Random) -> Programs | None:
    """The file is cut short where the cutter is up, and ends with all that an end needs."""
    block = _block(ground, chance)
    if block is None:
        return None
    program, first, _ = block
    tail = ground.programs[program]
    retract = f"G0 Z{number(ground.rule.clear / unit(ground))}"
    return ground.with_lines(program, first, len(tail), [retract, "M5", "M2"])


def comment_opened(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    text = bare(ground.line(at))
    place = chance.choice([0, len(text) // 2, len(text)])
    closed = chance.random() < 0.6
    return ground.with_line(at, f"{text[:place]}({text[place:]}{')' if closed else ''}")


def program_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    if len(ground.programs) < 2:
        return None
    gone = chance.randrange(len(ground.programs))
    if ground.setups:
        return None  # that is a setup left out
    return [lines for number_, lines in enumerate(ground.programs) if number_ != gone]


def programs_exchanged(ground: Ground, chance: random.Random) -> Programs | None:
    if len(ground.programs) < 2 or ground.setups:
        return None
    one, other = chance.sample(range(len(ground.programs)), 2)
    order = list(ground.programs)
    order[one], order[other] = order[other], order[one]
    return order


def program_of_another_panel(ground: Ground, chance: random.Random) -> Programs | None:
    if not ground.strangers or chance.random() < 0.8:
        return None
    stranger = list(chance.choice(ground.strangers))
    if not ground.setups:
        return [stranger]
    place = chance.randrange(len(ground.programs))
    return [stranger if n == place else lines for n, lines in enumerate(ground.programs)]


# --- setups of a divided panel --------------------------------------------------------------------------------------


def setup_left_out(ground: Ground, chance: random.Random) -> Programs | None:
    """The programs of one setup, or of the pin holes, are not given."""
    if not ground.setups:
        return None
    gone = chance.choice([number_ for number_ in ground.setups if number_])
    return [[] if setup == gone else lines for lines, setup in zip(ground.programs, ground.setups, strict=True)]


def setups_swapped(ground: Ground, chance: random.Random) -> Programs | None:
    """One setup's program is run in another's place."""
    places = [place for place, setup in enumerate(ground.setups) if setup]
    if len(places) < 2:
        return None
    one, other = chance.sample(places, 2)
    order = list(ground.programs)
    order[one], order[other] = order[other], order[one]
    return order


def setup_twice(ground: Ground, chance: random.Random) -> Programs | None:
    """One setup's program is run in place of another, which is not run."""
    places = [place for place, setup in enumerate(ground.setups) if setup]
    if len(places) < 2:
        return None
    one, other = chance.sample(places, 2)
    return [ground.programs[one] if place == other else lines for place, lines in enumerate(ground.programs)]


def setup_shifted(ground: Ground, chance: random.Random) -> Programs | None:
    """All of one setup lies a little aside, as if the sheet had been laid so."""
    if not ground.setups:
        return None
    program, letter = chance.randrange(len(ground.programs)), chance.choice("XY")
    by = chance.choice((-0.2, 0.2)) / unit(ground)
    lines = [_plus(line, letter, by) if bare(line) else line for line in ground.programs[program]]
    return ground.with_lines(program, 0, len(lines), lines)


def index_hole_moved(ground: Ground, chance: random.Random) -> Programs | None:
    """One hole for a pin, in the sheet or in the board, lies 0.1 to 0.5 mm aside."""
    parts = getattr(ground.rule, "parts", [])
    pins = [pin for rule, _ in parts if rule.panel.stage is not None for pin in rule.panel.stage.pins]
    holes = []  # each as the program that bores it and its place there
    for rule, places in parts:
        if rule.panel.on_table:
            holes += [(place, opening.centre) for place in places for opening in rule.panel.openings]
            continue
        bored = [opening.centre for opening in rule.panel.openings if opening.diameter is not None]
        at = [pin.at for pin in pins if any(_close(pin.at, centre, 0.001) for centre in bored)]
        holes += [(place, rule.panel.to_program(one)) for place in places for one in dict.fromkeys(at)]
    if not holes:
        return None
    program, hole = chance.choice(holes)
    letter, by = chance.choice("XY"), chance.choice((-0.5, -0.1, 0.1, 0.5)) / unit(ground)
    lines = list(ground.programs[program])
    for index in {move.index for move in ground.moves if move.program == program and _close(move.end, hole, 6)}:
        lines[index] = _plus(bare(lines[index]), letter, by)
    return ground.with_lines(program, 0, len(lines), lines)


def _close(one: Sequence[float], other: Sequence[float], by: float) -> bool:
    return abs(one[0] - other[0]) < by and abs(one[1] - other[1]) < by


def tab_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    """Every pass goes straight on through one tab, at the depth that it has beside it."""
    thick = ground.rule.panel.thickness
    lifts = [move for move in ground.moves if move.upright and move.placed and move.start[2] < move.end[2]
             and -thick < move.end[2] < -0.02]  # fmt: skip
    if not lifts:
        return None
    one = chance.choice(lifts)
    lowest = min(move.low for move in ground.moves if move.program == one.program)
    edited = [list(lines) for lines in ground.programs]
    tops = {round(move.end[2], 3) for move in lifts}
    scale = unit(ground)
    for move in ground.moves:
        level = round(move.end[2], 3) in tops
        if move.program != one.program or not level or not move.placed or move.low < -thick - 3:
            continue
        if _close(move.end, one.end, 14):
            line = edited[move.program][move.index]
            depth = move.start[2] if move.start[2] < move.end[2] else lowest
            edited[move.program][move.index] = _with_z(bare(line), (depth if move.upright else lowest) / scale)
    return edited


def _with_z(line: str, z: float) -> str:
    return with_word(line, "Z", f"Z{number(z)}") if value(line, "Z") is not None else line


def engraving_doubled(ground: Ground, chance: random.Random) -> Programs | None:
    """All lettering of one program is engraved twice as deep."""
    cutters = ground.rule.job.cutters
    engraved = {(move.program, move.index) for move in ground.moves
                if move.low < 0 and move.cutter in cutters and cutters[move.cutter].kind == "engraver"}  # fmt: skip
    if not engraved:
        return None
    edited = [list(lines) for lines in ground.programs]
    for program, index in engraved:
        z = value(edited[program][index], "Z")
        if z is not None and z < 0:
            edited[program][index] = with_word(bare(edited[program][index]), "Z", f"Z{number(2 * z)}")
    return edited


def engraving_dropped(ground: Ground, chance: random.Random) -> Programs | None:
    """One stroke of the lettering is not engraved: its moves stay above the sheet."""
    cutters = ground.rule.job.cutters
    blocks = [(program, first, end) for program, first, end in ground.blocks
              if any(move.program == program and first <= move.index < end and move.low < 0 and move.cutter in cutters
                     and cutters[move.cutter].kind == "engraver" for move in ground.moves)]  # fmt: skip
    return ground.with_lines(*chance.choice(blocks), []) if blocks else None


def other_pins(ground: Ground, chance: random.Random) -> Programs | None:
    """The pin holes of another panel."""
    if 0 not in ground.setups or not ground.other_pins:
        return None
    place = ground.setups.index(0)
    return [list(chance.choice(ground.other_pins)) if n == place else lines for n, lines in enumerate(ground.programs)]


# --- edits that mean nothing ---------------------------------------------------------------------------------------


def other_comment(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    text = bare(ground.line(at))
    style = ground.rule.job.machine.program.comments
    comment = "; by hand: G0 X99 Z-9" if style == ";" else "(by hand: G0 X99 Z-9)"
    return ground.with_line(at, *chance.choice([(comment, text), (f"{text} {comment}",), (text,)]))


def comments_gone(ground: Ground, chance: random.Random) -> Programs | None:
    program = chance.randrange(len(ground.programs))
    lines = [line for line in ground.programs[program] if bare(line) or line.strip() == "%"]
    return ground.with_lines(program, 0, len(ground.programs[program]), lines)


def blank_lines(ground: Ground, chance: random.Random) -> Programs | None:
    at = chance.choice(ground.code)
    return ground.with_line(at, "", ground.line(at), chance.choice(["", "   ", "\t"]))


def other_writing(ground: Ground, chance: random.Random) -> Programs | None:
    """Small letters, spaces, zeros before or behind, a plus sign, a line number: the same words."""
    at = chance.choice(ground.code)
    text = bare(ground.line(at))
    way = chance.randrange(6)
    if way == 0:
        new = text.lower()
    elif way == 1:
        new = WORD.sub(lambda m: f"{m[1]} {m[2]}  ", text)
    elif way == 2:
        new = WORD.sub(lambda m: m[1] + re.sub(r"^([+-]?)", r"\g<1>0", m[2], count=1), text)
    elif way == 3:
        new = WORD.sub(lambda m: m[0] + ("0" if "." in m[2] else ".0"), text)
    elif way == 4:
        new = WORD.sub(lambda m: m[1] + (m[2] if m[2][0] in "+-" else f"+{m[2]}"), text)
    else:
        new = text if text.startswith("N") else f"N{chance.randint(0, 99999)} {text}"
    return ground.with_line(at, new)


def words_in_other_order(ground: Ground, chance: random.Random) -> Programs | None:
    at = pick(chance, ground.having(lambda line: len(letters(line)) > 2 and not bare(line).startswith("N")))
    if at is None:
        return None
    words = [name + text for name, text in WORD.findall(bare(ground.line(at)))]
    chance.shuffle(words)
    return ground.with_line(at, " ".join(words))


def word_said_again(ground: Ground, chance: random.Random) -> Programs | None:
    """A feed or a place that is in force anyway is said once more."""
    at = pick(chance, ground.cutting)
    if at is None:
        return None
    text = bare(ground.line(at))
    move = next(m for m in ground.moves if (m.program, m.index) == at)
    if any(has(text, "G", code) for code in (81, 82, 83)):
        return None
    if "F" not in letters(text):
        return ground.with_line(at, f"{text} F{number(move.feed / unit(ground))}")
    return ground.with_line(at, f"G{move.g} X{number(move.start[0] / unit(ground))}", text) if move.g == 1 else None


KINDS: dict[str, Kind] = {
    "line dropped": line_dropped,
    "cut dropped": cut_dropped,
    "line doubled": line_doubled,
    "neighbouring lines swapped": lines_swapped,
    "line moved": line_moved,
    "line of another panel": line_of_another_panel,
    "word dropped": word_dropped,
    "word given twice": word_given_twice,
    "digit changed": digit_changed,
    "digits exchanged": digits_exchanged,
    "sign changed": sign_changed,
    "decimal point dropped": point_dropped,
    "X shifted": _shifted("X", BOTH_WAYS),
    "Y shifted": _shifted("Y", BOTH_WAYS),
    "Z higher": _shifted("Z", (0.05, 0.2, 0.6, 1.5)),
    "Z lower": _shifted("Z", (-0.05, -0.2, -1.0, -3.0, -10.0)),
    "I shifted": _shifted("I", BOTH_WAYS),
    "J shifted": _shifted("J", BOTH_WAYS),
    "X and Y exchanged": axes_exchanged,
    "I and J exchanged": centre_exchanged,
    "G1 to G0": _other_motion((1,), 0),
    "G0 to G1": _other_motion((0,), 1),
    "arc to line": _other_motion((2, 3), 1),
    "G2 and G3 exchanged": turn_reversed,
    "feed raised": _scaled("F", (2, 4, 10), 2),
    "feed lowered": _scaled("F", (0, 0.1, 0.5), 2),
    "cutter's feeds slipped": rubbing,
    "speed raised": _scaled("S", (1.2, 2, 10), 0),
    "speed lowered": _scaled("S", (0, 0.1, 0.5), 0),
    "F removed": _word_gone("F"),
    "M3 removed": _word_gone("M", (3,)),
    "M5 removed": _word_gone("M", (5,)),
    "M3 to M4": lambda ground, chance: (
        None if (at := pick(chance, ground.having(lambda line: has(line, "M", 3)))) is None
        else ground.with_line(at, with_word(bare(ground.line(at)), "M", "M4"))
    ),
    "dwell removed": _word_gone("G", (4,)),
    "dwell shortened": _scaled("P", (0, 0.1, 0.5), 2),
    "stop removed": _word_gone("M", (0,)),
    "change removed": _word_gone("M", (6,)),
    "T removed": _word_gone("T"),
    "length offset removed": _word_gone("G", (43,)),
    "other length offset": other_length,
    "other cutter": other_cutter,
    "cutter of nearly the size": alike_cutter,
    "end removed": _word_gone("M", (2, 30)),
    "operation dropped": operation_dropped,
    "operation repeated": operation_repeated,
    "operations exchanged": operations_exchanged,
    "operation shifted": operation_shifted,
    "operation deeper": operation_deeper,
    "operation shallower": operation_shallower,
    "operation half as deep": operation_half_as_deep,
    "operation mirrored": operation_mirrored,
    "operation turned round": operation_turned,
    "cutters exchanged": cutters_exchanged,
    "cutter's work dropped": cutter_dropped,
    "stretch dropped": stretch_dropped,
    "stretch repeated": stretch_repeated,
    "stretch reversed": stretch_reversed,
    "program mirrored": program_mirrored,
    "lift dropped": lift_dropped,
    "lift lower": lift_lower,
    "clamp crossed": clamp_crossed,
    "units changed": units_changed,
    "G90 to G91": _mode(90, 91),
    "plane changed": plane_changed,
    "zero changed": zero_changed,
    "mode dropped": mode_dropped,
    "mode slipped in": mode_slipped_in,
    "G98 and G99 exchanged": returns_changed,
    "file cut short": cut_short,
    "ended early": ended_early,
    "comment over code": comment_opened,
    "program missing": program_dropped,
    "programs exchanged": programs_exchanged,
    "program of another panel": program_of_another_panel,
    "setup left out": setup_left_out,
    "setups swapped": setups_swapped,
    "one setup twice": setup_twice,
    "setup shifted": setup_shifted,
    "hole for a pin moved": index_hole_moved,
    "pin holes of another panel": other_pins,
    "tab dropped": tab_dropped,
    "engraving twice as deep": engraving_doubled,
    "engraved stroke dropped": engraving_dropped,
    "other comment": other_comment,
    "comments gone": comments_gone,
    "blank lines": blank_lines,
    "other writing": other_writing,
    "words in other order": words_in_other_order,
    "word said again": word_said_again,
}
"""Name -> kind, in the order of the table. The last six mean nothing; what they do is judged like the others."""

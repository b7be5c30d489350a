"""A block of words -> a command: which G and M words it holds, by modal group, and its other letters once each.

Sections 3.3.5 (repeated items) and 3.4 (modal groups) of RS274/NGC.
"""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.errors import RereadError
from toolpaths.reread.tokens import Block

WHOLE = 0.0001
"""A value that must be whole may be this far from a whole number (3.3.2.1)."""

# G words are kept in tenths, so that G38.2 is 382. Group names are those of Table 4, in words.
G_GROUPS: dict[int, str] = {
    0: "motion", 10: "motion", 20: "motion", 30: "motion",
    800: "motion", 810: "motion", 820: "motion", 830: "motion",
    170: "plane",
    900: "distance", 910: "distance",
    940: "feed mode",
    200: "units", 210: "units",
    400: "cutter radius",
    430: "length offset", 490: "length offset",
    980: "return mode", 990: "return mode",
    540: "coordinate system",
    40: "dwell",
}  # fmt: skip
M_GROUPS: dict[int, str] = {
    0: "stop", 1: "stop", 2: "stop", 30: "stop",
    6: "change",
    3: "spindle", 4: "spindle", 5: "spindle",
    7: "coolant", 8: "coolant", 9: "coolant",
}  # fmt: skip

G_NOT_ACCEPTED = frozenset({
    100, 180, 190, 280, 300, 382, 410, 420, 530, 550, 560, 570, 580, 590, 591, 592, 593, 610, 611, 640,
    840, 850, 860, 870, 880, 890, 920, 921, 922, 923, 930,
})  # fmt: skip
"""Words of the language that this reader refuses by name; all others are no words of the language."""
M_NOT_ACCEPTED = frozenset((48, 49, 60))
LETTERS_NOT_ACCEPTED = frozenset("ABCD")
"""Rotary axes and the cutter radius number."""

MOST_M_WORDS = 4
CYCLES = frozenset((810, 820, 830))
ARCS = frozenset((20, 30))


@dataclass(frozen=True, slots=True)
class Command:
    """What one line orders: G words (in tenths) and M words by modal group, other letters with their numbers."""

    line: int
    g: dict[str, int]
    m: dict[str, int]
    letters: dict[str, float]

    @property
    def has_axes(self) -> bool:
        """Whether any of X, Y, Z is given."""
        return any(axis in self.letters for axis in "XYZ")


def g_name(tenths: int) -> str:
    """How a G word is written.

    >>> g_name(10), g_name(382)
    ('G1', 'G38.2')
    """
    return f"G{tenths // 10}" if tenths % 10 == 0 else f"G{tenths // 10}.{tenths % 10}"


def whole(line: int, letter: str, value: float) -> int:
    """A number that must be whole and not negative, as an int."""
    nearest = round(value)
    if abs(value - nearest) > WHOLE:
        raise RereadError(line, f"{letter} takes a whole number, not {value:g}")
    if nearest < 0:
        raise RereadError(line, f"{letter} must not be negative")
    return nearest


def command_of(block: Block) -> Command:
    """The command of one block; raises RereadError for unknown, unaccepted, repeated or conflicting words."""
    line = block.line
    if block.deleted:
        raise RereadError(line, "block delete (/): whether the line runs is set on the machine, not in the text")
    command = Command(line, {}, {}, {})
    m_words = 0
    for word in block.words:
        if word.letter == "G":
            _add_g(command, whole(line, "ten times G", 10 * word.value))
        elif word.letter == "M":
            m_words += 1
            if m_words > MOST_M_WORDS:
                raise RereadError(line, f"more than {MOST_M_WORDS} M words (3.3.5)")
            _add_m(command, whole(line, "M", word.value))
        else:
            if word.letter in LETTERS_NOT_ACCEPTED:
                raise RereadError(line, f"{word}: this reader does not accept {word.letter} words")
            if word.letter in command.letters:
                raise RereadError(line, f"{word.letter} is given twice (3.3.5)")
            command.letters[word.letter] = word.value
    return command


def _add_g(command: Command, code: int) -> None:
    group = G_GROUPS.get(code)
    if group is None:
        known = code in G_NOT_ACCEPTED
        why = "this reader does not accept it" if known else "the language has no such word"
        raise RereadError(command.line, f"{g_name(code)}: {why}")
    if group in command.g:
        pair = f"{g_name(command.g[group])} and {g_name(code)}"
        raise RereadError(command.line, f"{pair} both set the {group} (3.3.5)")
    command.g[group] = code


def _add_m(command: Command, code: int) -> None:
    group = M_GROUPS.get(code)
    if group is None:
        known = code in M_NOT_ACCEPTED
        why = "this reader does not accept it" if known else "the language has no such word"
        raise RereadError(command.line, f"M{code}: {why}")
    if group in command.m:
        raise RereadError(command.line, f"M{command.m[group]} and M{code} are of one group: {group} (3.3.5)")
    command.m[group] = code

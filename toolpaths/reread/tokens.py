"""Text of a program -> lines -> blocks of words, as RS274/NGC (NISTIR 6556) sections 3.1 to 3.3 allow them.

Whatever is not explicitly allowed is refused. Section numbers in this package are those of that report.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

from toolpaths.errors import RereadError

LONGEST_LINE = 256
LARGEST_NUMBER = 1e7
"""No machine travels 10 km: beyond this a number is a slip, and sums of such numbers would lose their decimals."""

LETTERS = frozenset("ABCDFGHIJKLMPQRSTXYZ")
"""The letters that may begin a word (3.3.2); N is read apart, since it may only stand in front."""

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_WORD = re.compile(f"([{''.join(sorted(LETTERS))}])({_NUMBER.pattern})")
_LINE_NUMBER = re.compile(r"N(\d{1,5})(?!\d)")
_COMMENT_MARK = "\x00"
"""Stands in a squeezed line where a comment stood, so that no word reaches across one."""


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and its number, as ``X`` and 12.5."""

    letter: str
    value: float

    def __str__(self) -> str:
        return f"{self.letter}{self.value:g}"


@dataclass(frozen=True, slots=True)
class Block:
    """One line of words; ``line`` counts from 1; ``deleted``: begins with the block delete character."""

    line: int
    words: tuple[Word, ...]
    deleted: bool = False


def blocks_of(lines: Iterable[tuple[int, str]]) -> Iterator[Block]:
    """The blocks of numbered lines that hold words, in order; raises RereadError where a line breaks its rules."""
    return (block for line, content in lines if (block := block_of(line, content)).words)


def lines_of(text: str) -> Iterator[tuple[int, str]]:
    """Numbered non-blank lines between the percent lines, if there are any (3.1).

    >>> list(lines_of("%\\nG0 X1\\n%\\n"))
    [(2, 'G0 X1')]

    The report ignores text after the second percent line; here it is refused: what is not read is not proved.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    after, before = _percents(lines) if "%" in text else (0, len(lines) + 1)
    for line, content in islice(enumerate(lines, 1), after, before - 1):
        if content.strip(" \t"):
            yield line, content


def _percents(lines: list[str]) -> tuple[int, int]:
    """The numbers of the two percent lines, or those before the first line and after the last if there are none."""
    percents = [line for line, content in enumerate(lines, 1) if "%" in content and content.strip(" \t") == "%"]
    if not percents:
        return 0, len(lines) + 1
    filled = [line for line, content in enumerate(lines, 1) if content.strip(" \t")]
    if percents[0] != filled[0]:
        raise RereadError(percents[0], "a % line that does not match one at the beginning (3.1)")
    if len(percents) == 1:
        raise RereadError(filled[-1], "the text begins with a % line but does not end with one (3.1)")
    if percents[1] != filled[-1]:
        raise RereadError(filled[filled.index(percents[1]) + 1], "text after the closing % line")
    return percents[0], percents[1]


def block_of(line: int, content: str) -> Block:
    """One line of text as a block.

    >>> block_of(1, "g0x +0. 12 34y 7").words     # the report's own example of spaces, 3.3
    (Word(letter='G', value=0.0), Word(letter='X', value=0.1234), Word(letter='Y', value=7.0))
    """
    if len(content) > LONGEST_LINE:
        raise RereadError(line, f"{len(content)} characters in a line; at most {LONGEST_LINE} are allowed (3.3)")
    if not (content.isascii() and content.isprintable()):
        for character in content:
            if character != "\t" and not " " <= character <= "~":
                raise RereadError(line, f"the character {character!a} is not allowed; only ASCII text is")
    rest = _squeezed(line, content)
    deleted = rest.startswith("/")
    rest = _without_line_number(line, rest[1:] if deleted else rest)
    return Block(line, _words(line, rest), deleted)


def _squeezed(line: int, content: str) -> str:
    """Upper case without spaces (3.3: they may stand anywhere, even inside numbers), comments replaced by a mark."""
    if "(" not in content and ";" not in content:  # most lines: a long program is read ten times as fast
        return content.replace(" ", "").replace("\t", "").upper()
    kept: list[str] = []
    place = 0
    while place < len(content):
        character = content[place]
        if character == ";":  # a later extension of the language: comment to the end of the line
            break
        if character == "(":
            end = content.find(")", place)
            if end < 0:
                raise RereadError(line, "a comment is not closed on its line (3.3.4)")
            if "(" in content[place + 1 : end]:
                raise RereadError(line, "a comment inside a comment (3.3.4)")
            kept.append(_COMMENT_MARK)
            place = end
        elif character not in " \t":
            kept.append(character.upper())
        place += 1
    return "".join(kept)


def _without_line_number(line: int, rest: str) -> str:
    if not rest.startswith("N"):
        return rest
    match = _LINE_NUMBER.match(rest)
    if match is None:
        raise RereadError(line, "N takes one to five digits, without sign (3.3.1)")
    rest = rest[match.end() :]
    if rest.startswith("."):
        raise RereadError(line, "N takes a whole number (3.3.1)")
    return rest


def _words(line: int, rest: str) -> tuple[Word, ...]:
    """The words of a squeezed line. A line that is nothing but words is taken whole; any other is read word by word, so
    that the first thing wrong with it is named."""
    found = _WORD.findall(rest)
    if sum(map(len, (part for pair in found for part in pair))) == len(rest):
        words = [Word(letter, float(number)) for letter, number in found]
        if all(-LARGEST_NUMBER <= word.value <= LARGEST_NUMBER for word in words):
            return tuple(words)
    return _words_one_by_one(line, rest)


def _words_one_by_one(line: int, rest: str) -> tuple[Word, ...]:
    words: list[Word] = []
    place = 0
    while place < len(rest):
        letter = rest[place]
        place += 1
        if letter == _COMMENT_MARK:
            continue
        if letter == "#":
            raise RereadError(line, "a parameter (#): this reader accepts plain numbers only")
        if letter not in LETTERS:
            raise RereadError(line, _why_no_word(letter))
        if rest[place : place + 1] in ("#", "["):
            what = "a parameter (#)" if rest[place] == "#" else "an expression ([ ])"
            raise RereadError(line, f"{letter} with {what}: this reader accepts plain numbers only")
        match = _NUMBER.match(rest, place)
        if match is None:
            raise RereadError(line, f"{letter} without a number (3.3.2)")
        value = float(match.group())
        if abs(value) > LARGEST_NUMBER:
            raise RereadError(line, f"{letter}{match.group()} is beyond any machine")
        words.append(Word(letter, value))
        place = match.end()
    return tuple(words)


def _why_no_word(letter: str) -> str:
    if letter == "N":
        return "N is allowed only at the beginning of a line (3.3.1)"
    if letter == "/":
        return "/ is allowed only at the beginning of a line (3.3)"
    if letter == "%":
        return "% must stand alone on its line (3.1)"
    if letter == ")":
        return "a ) that closes no comment (3.3.4)"
    return f"no word begins with {letter} (3.3.2)"

"""A stroke alphabet for pens: upright single-line lettering of our own drawing, in the manner of ISO 3098.

Glyphs are drawn on a grid in which a capital is 10 high, small letters 7, descenders reach to -3 and a line is 1 wide
(a tenth of the height). No font is needed, and a plotter draws exactly what the sheet shows.
"""

from __future__ import annotations

import math
import unicodedata
from functools import cache, lru_cache, partial
from typing import Final, Literal

from toolpaths.drawing import Polyline
from toolpaths.geometry.segment import XY, Arc, Line, Segment, turned

Align = Literal["left", "centre", "right"]

CAPITAL: Final = 10.0
"""Height of a capital in grid units."""

SMALL: Final = 7.0
"""Height of a small letter without ascender."""

DESCENDER: Final = 3.0
"""How far a glyph may reach below the baseline, grid units."""

SPACING: Final = 3.0
"""From one glyph to the next: two tenths of the height between lines one tenth wide (ISO 3098, from memory)."""

LINE: Final = 1.0
"""Width of a line: a tenth of the height (ISO 3098, lettering B, from memory)."""

ROUND_STEPS: Final = 4
"""Straight pieces of a rounded corner: at 3.5 mm height they leave the true arc by 0.02 mm at most."""

NO_LENGTH: Final = 1e-4
"""Grid units; what is shorter between two rounded corners is rounding: the corners meet."""

_BOWL_LEFT = "5,4.5 5,7~2.5 0,7~2.5 0,0~2.5 5,0~2.5 5,2.5"
_BOWL_RIGHT = "0,4.5 0,7~2.5 5,7~2.5 5,0~2.5 0,0~2.5 0,2.5"

# Width, then strokes parted by " / ". A point is x,y; ~s rounds the corner there, from s before it to s after it.
_DRAWN: Final[dict[str, tuple[float, str]]] = {
    " ": (3, ""),
    "!": (0, "0,3 0,10 / 0,0 0,0.6"),
    '"': (1.6, "0,7.4 0,10 / 1.6,7.4 1.6,10"),
    "#": (6, "1,0 2.5,10 / 3.8,0 5.3,10 / 0,3.3 5.5,3.3 / 0.5,6.7 6,6.7"),
    "$": (6, "6,7.4 6,8.8~1.4 0,8.8~1.7 0,5.2~1.7 6,5.2~2 6,1.2~2 0,1.2~1.4 0,2.6 / 3,0 3,10"),
    "%": (7, "0,0 7,10 / 1.5,7 0,7~1.5 0,10~1.5 3,10~1.5 3,7~1.5 1.5,7 / 5.5,0 4,0~1.5 4,3~1.5 7,3~1.5 7,0~1.5 5.5,0"),
    "&": (6.5, "6.5,0 0.9,7~1.2 0.9,10~1.5 4.5,10~1.7 4.5,6.6~1.5 0,4.2~1.8 0,0~2 5.4,0~2.4 6.5,4.5"),
    "'": (0, "0,7.4 0,10"),
    "(": (2, "2,10 0,8~2.5 0,1~2.5 2,-1"),
    ")": (2, "0,10 2,8~2.5 2,1~2.5 0,-1"),
    "*": (4, "2,5 2,10 / 0,6.25 4,8.75 / 0,8.75 4,6.25"),
    "+": (6, "0,5 6,5 / 3,2 3,8"),
    ",": (0.6, "0.6,0.6 0.6,0 0,-1.6"),
    "-": (4, "0,4.5 4,4.5"),
    ".": (0, "0,0 0,0.6"),
    "/": (4.5, "0,-1 4.5,10"),
    "0": (5, "2.5,0 0,0~2.5 0,10~2.5 5,10~2.5 5,0~2.5 2.5,0"),
    "1": (2.6, "0,7.4 2.6,10 2.6,0"),
    "2": (5, "0,7.6 0,10~2.4 5,10~2.5 5,5.5~2 0,0 5,0"),
    "3": (5, "0,8 0,10~2 5,10~2.25 5,5.5~2.25 2,5.5 / 2,5.5 5,5.5~2.5 5,0~2.5 0,0~2 0,2"),
    "4": (5.5, "3.4,10 0,3 5.5,3 / 4,5.6 4,0"),
    "5": (5, "4.6,10 0.5,10 0.2,6.2 5,6.2~2.8 5,0~2.8 0,0~1.6 0,1.6"),
    "6": (5, "4.6,10 0,10~4.6 0,0~2.5 5,0~2.5 5,6~2.5 0,6~2.5 0,3"),
    "7": (5, "0,10 5,10 1.4,0"),
    "8": (5, "2.5,5.6 0.3,5.6~2.2 0.3,10~2.2 4.7,10~2.2 4.7,5.6~2.2 2.5,5.6 "
             "0,5.6~2.5 0,0~2.5 5,0~2.5 5,5.6~2.5 2.5,5.6"),
    "9": (5, "0.4,0 5,0~4.6 5,10~2.5 0,10~2.5 0,4~2.5 5,4~2.5 5,7"),
    ":": (0, "0,0 0,0.6 / 0,5.4 0,6"),
    ";": (0.6, "0.6,0.6 0.6,0 0,-1.6 / 0.6,5.4 0.6,6"),
    "<": (5, "5,8 0,5 5,2"),
    "=": (6, "0,3.6 6,3.6 / 0,6.4 6,6.4"),
    ">": (5, "0,8 5,5 0,2"),
    "?": (4.6, "0,7.8 0,10~2.2 4.6,10~2.3 4.6,5.6~2.1 2.2,4.6~1 2.2,3 / 2.2,0 2.2,0.6"),
    "@": (8, "5.6,5.8 5.6,7~1.2 2.2,7~1.7 2.2,2.8~1.7 5.6,2.8~1.7 5.6,7 / "
             "5.6,4.5 5.6,2.6~1.2 8,2.6~1.2 8,10~4 0,10~4 0,0~4 6.5,0"),
    "A": (6, "0,0 3,10 6,0 / 1.05,3.5 4.95,3.5"),
    "B": (6, "0,0 0,10 5.4,10~2.25 5.4,5.5~2.25 0,5.5 / 3,5.5 6,5.5~2.5 6,0~2.5 0,0"),
    "C": (6, "6,7.6 6,10~2.4 0,10~3 0,0~3 6,0~2.4 6,2.4"),
    "D": (6, "0,0 0,10 6,10~4 6,0~4 0,0"),
    "E": (5.5, "5.5,10 0,10 0,0 5.5,0 / 0,5.5 4.4,5.5"),
    "F": (5.5, "5.5,10 0,10 0,0 / 0,5.5 4.4,5.5"),
    "G": (6, "6,7.6 6,10~2.4 0,10~3 0,0~3 6,0~3 6,4.6 3.4,4.6"),
    "H": (6, "0,0 0,10 / 6,0 6,10 / 0,5.5 6,5.5"),
    "I": (0, "0,0 0,10"),
    "J": (4.4, "4.4,10 4.4,0~2.2 0,0~2.2 0,2.4"),
    "K": (6, "0,0 0,10 / 6,10 0,4 / 2.2,6.2 6,0"),
    "L": (5.2, "0,10 0,0 5.2,0"),
    "M": (7.6, "0,0 0,10 3.8,3 7.6,10 7.6,0"),
    "N": (6, "0,0 0,10 6,0 6,10"),
    "O": (6, "3,0 0,0~3 0,10~3 6,10~3 6,0~3 3,0"),
    "P": (6, "0,0 0,10 6,10~2.75 6,4.5~2.75 0,4.5"),
    "Q": (6, "3,0 0,0~3 0,10~3 6,10~3 6,0~3 3,0 / 3.6,2.6 6,-0.6"),
    "R": (6, "0,0 0,10 6,10~2.75 6,4.5~2.75 0,4.5 / 3,4.5 6,0"),
    "S": (6, "6,8 6,10~2 0,10~2.35 0,5.3~2.35 6,5.3~2.6 6,0~2.6 0,0~2 0,2"),
    "T": (6, "0,10 6,10 / 3,10 3,0"),
    "U": (6, "0,10 0,0~3 6,0~3 6,10"),
    "V": (6, "0,10 3,0 6,10"),
    "W": (9, "0,10 2.25,0 4.5,8.5 6.75,0 9,10"),
    "X": (6, "0,0 6,10 / 0,10 6,0"),
    "Y": (6, "0,10 3,5 6,10 / 3,5 3,0"),
    "Z": (6, "0,10 6,10 0,0 6,0"),
    "[": (2, "2,10 0,10 0,-1 2,-1"),
    "\\": (4.5, "0,10 4.5,-1"),
    "]": (2, "0,10 2,10 2,-1 0,-1"),
    "^": (4, "0,7 2,10 4,7"),
    "_": (6, "0,-2 6,-2"),
    "`": (1.6, "0,10 1.6,8"),
    "a": (5, f"5,0 5,7 / {_BOWL_LEFT}"),
    "b": (5, f"0,10 0,0 / {_BOWL_RIGHT}"),
    "c": (4.5, "4.5,5.4 4.5,7~1.6 0,7~2.5 0,0~2.5 4.5,0~1.6 4.5,1.6"),
    "d": (5, f"5,10 5,0 / {_BOWL_LEFT}"),
    "e": (5, "0,3.8 5,3.8 5,7~2.5 0,7~2.5 0,0~2.5 5,0~1.6 5,1.6"),
    "f": (3.5, "3.5,10 1.2,10~1.8 1.2,0 / 0,7 3.2,7"),
    "g": (5, f"5,7 5,-3~2.5 0,-3~1.5 0,-1.5 / {_BOWL_LEFT}"),
    "h": (5, "0,10 0,0 / 0,4.5 0,7~2.5 5,7~2.5 5,0"),
    "i": (0, "0,0 0,7 / 0,9.4 0,10"),
    "j": (2, "2,7 2,-3~2 0,-3 / 2,9.4 2,10"),
    "k": (4.6, "0,10 0,0 / 4.5,7 0,2.5 / 1.5,4 4.6,0"),
    "l": (1.6, "0,10 0,0~1.6 1.6,0"),
    "m": (8, "0,0 0,7 / 0,5 0,7~2 4,7~2 4,0 / 4,5 4,7~2 8,7~2 8,0"),
    "n": (5, "0,0 0,7 / 0,4.5 0,7~2.5 5,7~2.5 5,0"),
    "o": (5, "2.5,0 0,0~2.5 0,7~2.5 5,7~2.5 5,0~2.5 2.5,0"),
    "p": (5, f"0,7 0,-3 / {_BOWL_RIGHT}"),
    "q": (5, f"5,7 5,-3 / {_BOWL_LEFT}"),
    "r": (3.4, "0,0 0,7 / 0,4.5 0,7~2.5 3.4,7"),
    "s": (4.5, "4.5,5.7 4.5,7~1.3 0,7~1.7 0,3.6~1.7 4.5,3.6~1.8 4.5,0~1.8 0,0~1.3 0,1.3"),
    "t": (3.5, "1.2,10 1.2,0~1.8 3.5,0 / 0,7 3.2,7"),
    "u": (5, "0,7 0,0~2.5 5,0~2.5 5,2.5 / 5,7 5,0"),
    "v": (5, "0,7 2.5,0 5,7"),
    "w": (7, "0,7 1.75,0 3.5,6 5.25,0 7,7"),
    "x": (4.5, "0,0 4.5,7 / 0,7 4.5,0"),
    "y": (5, "0,7 2.5,0 / 5,7 1.43,-3"),
    "z": (4.5, "0,7 4.5,7 0,0 4.5,0"),
    "{": (3, "3,10 1.4,10~1.4 1.4,4.5~1.2 0,4.5 1.4,4.5~1.2 1.4,-1~1.4 3,-1"),
    "|": (0, "0,-2 0,10"),
    "}": (3, "0,10 1.6,10~1.4 1.6,4.5~1.2 3,4.5 1.6,4.5~1.2 1.6,-1~1.4 0,-1"),
    "~": (5, "0,4 1.2,6~1.6 3.8,4~1.6 5,6"),
    "Ø": (7, "3.5,1.5 0,1.5~3.5 0,8.5~3.5 7,8.5~3.5 7,1.5~3.5 3.5,1.5 / 1,0 6,10"),
    "×": (5, "0,2 5,7 / 0,7 5,2"),
    "°": (3, "1.5,7 0,7~1.5 0,10~1.5 3,10~1.5 3,7~1.5 1.5,7"),
    "±": (6, "0,6 6,6 / 3,3.2 3,8.8 / 0,1.2 6,1.2"),
    "–": (6, "0,4.2 6,4.2"),
    "ß": (5, "0,0 0,10~2.2 4.4,10~2.2 4.4,5.6~2.2 2,5.6 / 2,5.6 5,5.6~2.5 5,0~2.6 2,0"),
    "ı": (0, "0,0 0,7"),
    "\u00b5": (5, "0,7 0,-3 / 0,2.5 0,0~2.5 5,0~2.5 5,2.5 / 5,7 5,0"),
    "\u03a9": (7, "0,0 2.4,0 2.4,1.6 0,3.2~1.5 0,10~3.4 7,10~3.4 7,3.2~1.5 4.6,1.6 4.6,0 7,0"),
}

_ACCENTS: Final[dict[str, str]] = {
    "\u0300": "-1.4,2.4 0.6,0.6",  # grave
    "\u0301": "1.4,2.4 -0.6,0.6",  # acute
    "\u0302": "-1.6,0.6 0,2.4 1.6,0.6",  # circumflex
    "\u0303": "-2,0.8 -0.8,2.2~0.8 0.8,0.8~0.8 2,2.2",  # tilde
    "\u0304": "-1.8,1.4 1.8,1.4",  # macron
    "\u0306": "-1.6,2.4 -1.6,0.6~1.2 1.6,0.6~1.2 1.6,2.4",  # breve
    "\u0307": "0,1 0,1.6",  # dot
    "\u0308": "-1.2,1 -1.2,1.6 / 1.2,1 1.2,1.6",  # diaeresis
    "\u030a": "0,0.4 -1.1,0.4~1.1 -1.1,2.6~1.1 1.1,2.6~1.1 1.1,0.4~1.1 0,0.4",  # ring
    "\u030b": "-0.4,2.4 -1.4,0.6 / 1.6,2.4 0.6,0.6",  # double acute
    "\u030c": "-1.6,2.4 0,0.6 1.6,2.4",  # caron
}
"""Strokes of an accent from the middle of its letter and the letter's top."""

_BELOW: Final[dict[str, str]] = {
    "\u0327": "0,0 0,-0.8 0.9,-1.6~0.9 0,-2.4~0.6 -0.8,-2.2",  # cedilla
    "\u0328": "0.6,0 -0.4,-1.8~1 1.2,-2.2",  # ogonek
}
"""The same for what hangs below, from the middle of the baseline."""

_OTHERWISE: Final[dict[str, str]] = {
    "Æ": "AE", "æ": "ae", "Œ": "OE", "œ": "oe", "ø": "o", "Ł": "L", "ł": "l", "Đ": "D", "đ": "d", "Þ": "Th", "þ": "th",
    "ð": "d", "\u03bc": "\u00b5", "\u2014": "\u2013", "\u2011": "-", "\u2212": "-",
    "\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u201e": '"', "\u2026": "...", "\u2044": "/",
    "\u2300": "Ø", "\u20ac": "EUR", "\u00a3": "GBP", "\u00a0": " ", "\u202f": " ",
}
"""What stands for characters that the alphabet lacks, in letters that it has."""

_BOX: Final = (6.0, "0,0 0,10 6,10 6,0 0,0 6,10")
"""Stands for a character that the alphabet lacks: a crossed box, so that nobody takes it for a letter."""

KNOWN: Final = frozenset(_DRAWN)
"""Every character that the alphabet holds."""


def written(text: str) -> str:
    """``text`` as these letters write it: what the alphabet lacks in letters that it has, else as a crossed box.

    >>> written("Größe"), written("1½ œuvre"), written("漢")
    ('Größe', '1 1/2 oeuvre', '漢')
    """
    return "".join(_written(character) for character in unicodedata.normalize("NFC", text))


def lacking(text: str) -> bool:
    """Whether some of ``text`` is written otherwise, or as a crossed box.

    >>> lacking("Größe"), lacking("œuvre"), lacking("漢")
    (False, True, True)
    """
    return bool(boxed(text)) or written(text) != unicodedata.normalize("NFC", text)


def boxed(text: str) -> str:
    """The characters of ``text`` that are drawn as crossed boxes, each once.

    >>> boxed("Größe 漢字")
    '漢字'
    """
    drawn = dict.fromkeys(written(text))
    return "".join(character for character in drawn if not (character in KNOWN or _accented(character)))


def _written(character: str) -> str:
    if character in KNOWN or _accented(character):
        return character
    if character in _OTHERWISE:
        return _OTHERWISE[character]
    apart = unicodedata.normalize("NFKD", character)
    if apart == character:
        return character
    spaced = f" {apart}" if unicodedata.category(character) == "No" and "\u2044" in apart else apart
    plain = "".join(_OTHERWISE.get(part, part) for part in spaced if not unicodedata.combining(part))
    return plain if plain and all(part in KNOWN for part in plain) else character


def glyph(character: str) -> tuple[float, tuple[tuple[XY, ...], ...]]:
    """Width and strokes of one character in grid units, from its left edge and baseline; a crossed box if unknown.

    >>> glyph("V")
    (6, (((0.0, 10.0), (3.0, 0.0), (6.0, 10.0)),))
    """
    return _glyph(character)


def width(text: str, height: float) -> float:
    """From the left end to the right end of ``text`` in mm, centre of line to centre of line.

    >>> width("HH", 2.5), width("", 2.5)
    (3.75, 0.0)
    """
    if not text:
        return 0.0
    return _wide(text) * height / CAPITAL


@lru_cache(maxsize=1024)
def _wide(text: str) -> float:
    """The width in grid units: a label that looks for its place is measured again and again."""
    drawn = written(text)
    return sum(glyph(character)[0] for character in drawn) + SPACING * (len(drawn) - 1)


def letter(text: str, at: XY, height: float, align: Align = "left", angle: float = 0.0) -> tuple[Polyline, ...]:
    """The strokes of one line of text, capitals ``height`` mm high, its baseline through ``at`` at ``angle`` rad."""
    scale = height / CAPITAL
    start = -width(text, height) * {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
    cos, sin = math.cos(angle), math.sin(angle)
    left, base = at
    lines = []
    for character in written(text):
        advance, strokes = glyph(character)
        for stroke in strokes:
            local = [(start + x * scale, y * scale) for x, y in stroke]
            if angle == 0.0:
                points = [(left + x, base + y) for x, y in local]
            else:
                points = [(left + x * cos - y * sin, base + x * sin + y * cos) for x, y in local]
            lines.append(Polyline(tuple(points)))
        start += (advance + SPACING) * scale
    return tuple(lines)


def strokes(
    text: str, at: XY, height: float, align: Align = "left", angle: float = 0.0
) -> tuple[tuple[Segment, ...], ...]:
    """The same lettering as chains of exact lines and arcs, one for each stroke: for whatever cuts or draws arcs."""
    scale = height / CAPITAL
    start = -width(text, height) * {"left": 0.0, "centre": 0.5, "right": 1.0}[align]
    found: list[tuple[Segment, ...]] = []

    def placed(left: float, point: XY) -> XY:
        return turned(at, (left + point[0] * scale, point[1] * scale), angle)

    for character in written(text):
        glyph_width, drawn = _drawn(character)
        for stroke in drawn:
            place = partial(placed, start)
            found.append(tuple(segment.mapped(place) for segment in _chain(stroke)))
        start += (glyph_width + SPACING) * scale
    return tuple(found)


def wrapped(text: str, height: float, room: float) -> list[str]:
    """``text`` in lines no longer than ``room`` mm; a word that is longer stands alone.

    >>> wrapped("two words", 2.5, 12.0)
    ['two', 'words']
    """
    lines: list[str] = []
    for word in text.split():
        if lines and width(f"{lines[-1]} {word}", height) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def cut_short(text: str, height: float, room: float) -> str:
    """``text``, or as much of it as goes into ``room`` mm, with three points behind.

    >>> cut_short("HHHHHH", 2.5, 12.0), cut_short("HH", 2.5, 12.0)
    ('HHHH...', 'HH')
    """
    if width(text, height) <= room:
        return text
    short = text
    while short and width(f"{short}...", height) > room:
        short = short[:-1]
    return f"{short.rstrip()}..."


@cache
def _glyph(character: str) -> tuple[float, tuple[tuple[XY, ...], ...]]:
    glyph_width, drawn = _drawn(character)
    return glyph_width, tuple(_points(stroke) for stroke in drawn)


@cache
def _drawn(character: str) -> tuple[float, tuple[_Stroke, ...]]:
    """Width and strokes of one character as they are described; a crossed box if unknown."""
    accented = _accented(character)
    if accented:
        return accented
    glyph_width, drawn = _DRAWN.get(character, _BOX)
    return glyph_width, tuple(_stroke(part) for part in drawn.split(" / ") if part)


def _accented(character: str) -> tuple[float, tuple[_Stroke, ...]] | None:
    """A letter of the alphabet with accents of ours, as it decomposes in Unicode; None for anything else."""
    apart = unicodedata.normalize("NFD", character)
    base, accents = apart[:1], apart[1:]
    if character in KNOWN or not accents or base not in KNOWN:
        return None
    if not all(accent in _ACCENTS or accent in _BELOW for accent in accents):
        return None
    bare = "ı" if base == "i" and any(accent in _ACCENTS for accent in accents) else base
    glyph_width, drawn = _DRAWN[bare]
    strokes = [_stroke(part) for part in drawn.split(" / ")]
    top = CAPITAL if base.isupper() or base in "bdfhklt" else SMALL
    for accent in accents:
        over = accent in _ACCENTS
        for part in (_ACCENTS if over else _BELOW)[accent].split(" / "):
            lift = top if over else 0.0
            strokes.append(tuple(((x + glyph_width / 2, y + lift), setback) for (x, y), setback in _stroke(part)))
    return glyph_width, tuple(strokes)


_Stroke = tuple[tuple[XY, float], ...]
"""The corners of one stroke, each with how far from it on either side it is rounded (0: sharp)."""


def _stroke(drawn: str) -> _Stroke:
    corners: list[tuple[XY, float]] = []
    for token in drawn.split():
        place, _, rounding = token.partition("~")
        x, y = place.split(",")
        corners.append(((float(x), float(y)), float(rounding or 0)))
    return tuple(corners)


def _chain(corners: _Stroke) -> tuple[Segment, ...]:
    """One stroke as lines and arcs: each rounded corner is the arc that touches both its sides."""
    chain: list[Segment] = []
    place = corners[0][0]
    for index, (corner, setback) in enumerate(corners):
        if not setback:
            start = end = corner
        else:
            start = _towards(corner, corners[index - 1][0], setback)
            end = _towards(corner, corners[index + 1][0], setback)
        if math.dist(place, start) > NO_LENGTH:
            chain.append(Line(place, start))
        else:
            start = place
        if setback:
            chain.append(_touching(start, corner, end))
        place = end if setback else start
    return tuple(chain)


def _touching(start: XY, corner: XY, end: XY) -> Arc:
    """The arc from ``start`` to ``end`` that touches the lines from both to ``corner``, which is as far from each."""
    (ax, ay), (bx, by) = (start[0] - corner[0], start[1] - corner[1]), (end[0] - corner[0], end[1] - corner[1])
    # its centre lies behind the middle of the chord, as seen from the corner: setback² / distance of that middle
    mx, my = (ax + bx) / 2, (ay + by) / 2
    share = (ax * ax + ay * ay) / (mx * mx + my * my)
    return Arc(start, end, (corner[0] + mx * share, corner[1] + my * share), ccw=bx * ay - by * ax > 0)


def _points(corners: _Stroke) -> tuple[XY, ...]:
    """The points of one stroke, its rounded corners in ``ROUND_STEPS`` straight pieces each."""
    points: list[XY] = []
    for index, (corner, setback) in enumerate(corners):
        if setback:
            points += _rounded(_towards(corner, corners[index - 1][0], setback), corner,
                               _towards(corner, corners[index + 1][0], setback))
        else:
            points.append(corner)
    return tuple(point for index, point in enumerate(points) if index == 0 or point != points[index - 1])


def _towards(start: XY, goal: XY, distance: float) -> XY:
    share = distance / math.dist(start, goal)
    return start[0] + share * (goal[0] - start[0]), start[1] + share * (goal[1] - start[1])


def _rounded(start: XY, corner: XY, end: XY) -> list[XY]:
    """The arc that touches both sides of a corner, as the rational curve of second degree that a circle is."""
    weight = math.dist(start, end) / 2 / math.dist(start, corner)  # cosine of half the turn
    points = []
    for step in range(ROUND_STEPS + 1):
        t = step / ROUND_STEPS
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t) * weight, t * t
        points.append((round((a * start[0] + b * corner[0] + c * end[0]) / (a + b + c), 4),
                       round((a * start[1] + b * corner[1] + c * end[1]) / (a + b + c), 4)))
    return points

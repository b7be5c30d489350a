"""The comments that a hand obeys at a stop, held against the words that the proof believes: the cutter and the speed.

A comment is no part of the language, and the reader drops it. But where cutters are changed and speeds are set by
hand, it is the comment that is done; so it must say what T and S say. Other comments may say anything.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from toolpaths.finding import Finding
from toolpaths.units import plain

_COMMENT: Final = re.compile(r"\(([^()]*)\)|;(.*)")
_FIT: Final = re.compile(r"\bfit T([0-9]+)")
_DIAL: Final = re.compile(r"\bset the spindle to ([0-9]+) rev/min")
_CUTTER: Final = re.compile(r"T[ \t]*([0-9]+)", re.IGNORECASE)
_SPEED: Final = re.compile(r"S[ \t]*([0-9]+(?:\.[0-9]*)?)", re.IGNORECASE)


def judge_comments(text: str, panel: str) -> tuple[Finding, ...]:
    """A finding for each comment that names another cutter than the T before it, or another speed than the S after."""
    return tuple(
        Finding("error", "comment-differs", panel, "", f"line {line}: {said}", line) for line, said in _wrong(text)
    )


def _wrong(text: str) -> Iterator[tuple[int, str]]:
    cutter: int | None = None
    dial: tuple[int, int] | None = None
    for number, line in enumerate(text.splitlines(), start=1):
        comment = " ".join(one or other for one, other in _COMMENT.findall(line))
        words = _COMMENT.sub(" ", line)
        if found := _CUTTER.search(words):
            cutter = int(found[1])
        if (found := _FIT.search(comment)) and cutter is not None and int(found[1]) != cutter:
            yield number, f"the comment says to fit T{found[1]}, the program goes on as with T{cutter}"
        if found := _DIAL.search(comment):
            dial = number, int(found[1])
        if dial is not None and (found := _SPEED.search(words)):
            if float(found[1]) != dial[1]:
                speed = plain(float(found[1]))
                yield dial[0], f"the comment says to set {dial[1]} rev/min, the program goes on as at {speed}"
            dial = None

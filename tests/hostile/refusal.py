"""What every refusal must keep to, whoever ran the command: in this process or in one of its own."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from tests.hostile.case import Case

LONGEST = 500
"""Characters of one line."""

MOST_LINES = 60

NEVER = ("Traceback", "pydantic", "Input should", " object at 0x", "NoneType", "<class '", "input_value",
         "RecursionError", "defect of ours")  # fmt: skip
"""What no line may hold: the program's inside."""

WHOLE = 1_000_000
"""Bytes; a file that is larger is compared by its size and time."""


def tree(folder: Path) -> dict[str, tuple[object, ...]]:
    """Everything in and below a folder: kinds, links, bytes."""
    found: dict[str, tuple[object, ...]] = {}
    for above, folders, files in os.walk(folder):
        for name in (*folders, *files):
            place = Path(above, name)
            state = place.lstat()
            content: object = ""
            if stat.S_ISLNK(state.st_mode):
                content = os.readlink(place)
            elif stat.S_ISREG(state.st_mode):
                content = place.read_bytes() if state.st_size <= WHOLE else (state.st_size, state.st_mtime_ns)
            found[str(place.relative_to(folder))] = state.st_mode, content
    return found


def assert_refused(case: Case, status: int, said: str) -> None:
    """The status, a line with place and key, and nothing that does not belong on a terminal."""
    assert status == case.status, said[:2000]
    lines = said.split("\n")
    assert any(all(words in line for words in case.told) for line in lines), said[:2000]
    assert [words for words in NEVER if words in said] == []
    assert [sign for sign in said if not (sign.isprintable() or sign == "\n")] == []
    assert max(map(len, lines)) <= LONGEST
    assert len(lines) <= MOST_LINES

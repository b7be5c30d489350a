"""One error family; each error carries where it happened.

The command line maps them to exit statuses: ``BadInput``, ``UnknownName`` and ``BrokenPost`` 2, ``CannotWrite`` 3, all
others are defects (70) unless they are caught on the way (a ``RereadError`` becomes a failed verification, status 1).
"""

from __future__ import annotations

from dataclasses import dataclass

NO_FILE = "is no file but a pipe or a device"
"""Whoever reads one may wait for ever, or never come to its end."""


class ToolpathError(Exception):
    """The base of everything that this project raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one place of an input file; prints as one line.

    ``line`` counts from 1 (0: not known); ``key`` is the dotted way in the file (``panel[2].hole[3].diameter``).
    """

    file: str
    line: int
    key: str
    message: str
    remedy: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        where = f"{place}: {self.key}" if self.key else place
        text = f"{where}: {self.message}"
        return f"{text}; {self.remedy}" if self.remedy else text


class BadInput(ToolpathError, ValueError):
    """Input that cannot be used; carries every problem that was found, in file order."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ExpressionError(ToolpathError, ValueError):
    """A length or expression that has no value; the message says what would be right."""


class GeometryError(ToolpathError, ValueError):
    """A shape that cannot exist (a flat outside its circle, a corner radius over half the side)."""


class UnknownName(ToolpathError, LookupError):
    """A name that stands in no table; the message lists the nearest or all known ones."""


class PostError(ToolpathError):
    """A post-processor that breaks its contract, or a motion that it cannot write."""


class BrokenPost(PostError):
    """A post-processor of another distribution that cannot be loaded, breaks its contract or fails while it writes."""


class RereadError(ToolpathError, ValueError):
    """Program text that a strict reader refuses; ``line`` counts from 1."""

    def __init__(self, line: int, message: str) -> None:
        self.line = line
        self.message = message
        super().__init__(f"line {line}: {message}")


class CannotWrite(ToolpathError):
    """The output folder cannot be written; nothing was left behind."""

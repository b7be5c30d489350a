"""What is wrong with one job file, as it is found: the list grows until the file has been read to its end."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from toolpaths.errors import BadInput, Problem
from toolpaths.tables.toml_file import Place, dotted, line_of, without_echoes

MOST_PROBLEMS: Final = 40
"""Reading stops here: a file so wrong is not the one that was meant."""


class Problems:
    """What is wrong with one file, as it is found."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text
        self.found: list[Problem] = []

    def beside(self, file: str, text: str) -> Problems:
        """Those of another file that belongs to the same job: what is found in it joins what was found in this."""
        other = Problems(file, text)
        other.found = self.found
        return other

    def add(self, place: Place, message: str, remedy: str = "") -> None:
        """One problem at a place of the file."""
        self.extend([Problem(self.file, line_of(self.text, place), dotted(place), message, remedy)])

    def extend(self, more: Iterable[Problem]) -> None:
        """Problems that were put into words elsewhere; ``BadInput`` once there are too many."""
        self.found.extend(more)
        if len(self.found) >= MOST_PROBLEMS:
            raise self.as_error()

    def as_error(self) -> BadInput:
        """All of them: those without a line first, then the job's in file order, then those of its lists."""

        def order(problem: Problem) -> tuple[bool, str, int]:
            other = problem.file != self.file and problem.line > 0
            return other, problem.file if other else "", problem.line

        return BadInput(sorted(without_echoes(self.found), key=order))

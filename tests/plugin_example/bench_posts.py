"""Post-processors of one's own, as a stranger writes them: one that works, and some that are broken in known ways."""

from __future__ import annotations

from postprocessors.base import DrawingPost, ProgramPost, number
from toolpaths.drawing import Drawing, Polyline
from toolpaths.motion import Program
from toolpaths.tables.rows import Cutter, Machine


class CentreTable(DrawingPost):
    """The ends of every centre mark as x,y in millimetres, one arm a line."""

    api_version = 1
    name = "centre table"
    suffix = ".centres.csv"
    summary = "the arms of all centre marks as a table, in millimetres"

    def write(self, drawing: Drawing) -> str:
        arms = [
            mark.points for pen in drawing.pens if pen.name == "centre marks"
            for mark in pen.marks if isinstance(mark, Polyline)
        ]  # fmt: skip
        rows = [",".join(number(value, 3) for point in (arm[0], arm[-1]) for value in point) for arm in arms]
        return "\n".join(["x,y,to x,to y", *rows, ""])


class NotAPost:
    """Has the names and is built on none of the bases."""

    name, suffix, kind, summary = "bad class", ".txt", "plot", "built on nothing"


class FailsAtWork(CentreTable):
    """Loads, and fails when it is to write."""

    name = "bad write"

    def write(self, drawing: Drawing) -> str:
        raise ZeroDivisionError("no pens\nat all")


class GivesBytes(CentreTable):
    """Gives something else than text."""

    name = "bad pages"

    def write(self, drawing: Drawing) -> str:
        return b"not text"  # type: ignore[return-value]


class ForeignWords(ProgramPost):
    """Writes a program that the strict reader does not know."""

    name, suffix, summary = "bad words", ".foreign", "words of no language"

    def write(self, program: Program, machine: Machine, cutters: dict[int, Cutter]) -> str:
        return "BEGIN PROGRAM\n"


class FromTheFuture(CentreTable):
    """Written for a later interface than this holewright has."""

    name = "too new"
    api_version = 99

"""One setup as several programs, where the machine takes one cutter per program."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from toolpaths.motion import Program
from toolpaths.tables.rows import Dialect


def parts(program: Program, dialect: Dialect) -> tuple[Program, ...]:
    """The programs of one setup in the order in which they are run; most often the one that is given.

    Every cutter's work begins and ends at the clear height, so a cut between two cutters is a clean one.
    """
    if dialect.change != "one program per cutter":
        return (program,)
    runs = [tuple(run) for _, run in groupby(program.setup.operations, key=lambda operation: operation.cutter)]
    return tuple(
        replace(program, setup=replace(program.setup, operations=run), part=number, parts=len(runs))
        for number, run in enumerate(runs, 1)
    )

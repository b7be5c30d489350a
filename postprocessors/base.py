"""What every post-processor is: a name, what it takes, and text or pages out of one neutral form.

A post-processor never sees the job, a file or the clock. Rounding happens here, in ``number``, and nowhere earlier.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import ClassVar, Final, Literal

from toolpaths.drawing import Drawing
from toolpaths.motion import Program
from toolpaths.sheets import Paper
from toolpaths.tables.rows import Cutter, Machine

API_VERSION: Final = 1
"""Grows when a post-processor written for an older one would no longer work; what is only added leaves it alone."""


def number(value: float, decimals: int) -> str:
    """A coordinate as text: at most ``decimals`` places, no trailing zeros, never ``-0``.

    >>> number(1.5, 3), number(-0.0001, 3), number(2.0, 3), number(-12.3456, 3)
    ('1.5', '0', '2', '-12.346')
    """
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Named(ABC):
    """What every post-processor is known by. A subclass must set these texts."""

    api_version: ClassVar[int] = 1
    """The ``API_VERSION`` that it was written for, as a figure of its own. One that says nothing was written for 1."""

    name: ClassVar[str]
    """What ``--post`` and the manifest call it."""
    suffix: ClassVar[str]
    """File ending with its point."""
    kind: ClassVar[str] = "plot"
    """The manifest's ``kind``."""
    summary: ClassVar[str]
    """One line for ``holewright posts``."""


class ProgramPost(Named):
    """Writes machine programs. A subclass must set the names and write ``write``."""

    takes: ClassVar[Literal["program"]] = "program"
    kind: ClassVar[str] = "program"

    @abstractmethod
    def write(self, program: Program, machine: Machine, cutters: dict[int, Cutter]) -> str:
        """The whole text of one program, in the dialect of ``machine``."""


class DrawingPost(Named):
    """Writes drawings for pens, printers and cutting services."""

    takes: ClassVar[Literal["drawing"]] = "drawing"
    flat: ClassVar[bool] = False
    """Takes the bare geometry by layer (``toolpaths.flat``), as seen from outside, and not the sheet for a pen."""
    sheets: ClassVar[bool] = False
    """Whether a drawing larger than what the pen reaches, or than the paper that was named, comes sheet by sheet: each
    is a drawing of its own then, cut at its window, with what every sheet has round it. False: always whole."""
    scales: ClassVar[bool] = False
    """Whether it multiplies with the drawing's ``scale``; one that does not gets none."""

    @abstractmethod
    def write(self, drawing: Drawing) -> str:
        """The whole text of one drawing, full size."""


class PenPost(Named):
    """Writes programs by which a machine draws with a pen; they are read back and proved stroke by stroke.

    Written where ``--post`` names it, and for a machine that says how its pen is moved (``Machine.pen``).
    """

    takes: ClassVar[Literal["drawing of one pen"]] = "drawing of one pen"

    @abstractmethod
    def write(self, drawing: Drawing, machine: Machine) -> str:
        """The whole text that draws ``drawing`` in its order, true to its ``scale``, in the dialect of ``machine``.

        Its pens have one width: a pen of another width has a program of its own. Broken lines (``Pen.dash``) are drawn
        as their dashes, which begin anew with each mark; those of a circle at its right, clockwise. Between strokes the
        pen is lifted to ``machine.pen.up`` or to the drawing's ``clear_height``, whichever is higher.
        """


class SheetsPost(Named):
    """Writes all drawings of a job as one file of pages, called by the post-processor's own name."""

    takes: ClassVar[Literal["drawings"]] = "drawings"
    scales: ClassVar[bool] = False
    """Whether it multiplies with the drawings' ``scale``, which all have; one that does not gets none."""

    @abstractmethod
    def write(self, drawings: Sequence[Drawing], paper: Paper) -> bytes:
        """The whole file: each drawing full size, over as many sheets of ``paper`` as it takes."""


Post = ProgramPost | DrawingPost | PenPost | SheetsPost

"""A list of holes as a spreadsheet writes it: comma or semicolon, headings in any order, one hole a row.

Cells take lengths as literals (``12.5 mm``, ``3/8 in``, ``1 1/2 in``, a bare number in the job's units) and, for a
diameter, drill sizes (``#7``, ``letter F``); no expressions. What is wrong is told with the row's line and its heading.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from toolpaths.errors import ExpressionError, Problem, UnknownName
from toolpaths.job.expression import DRILL_SIZE
from toolpaths.job.problems import Problems
from toolpaths.job.schema import one_line
from toolpaths.job.scope import Wanted, out_of_limits, quantity_of
from toolpaths.tables.toml_file import SIZE_LIMIT, nearest
from toolpaths.units import LITERAL, Units, finite, literal_value, millimetres, shortened

NEEDED: Final = ("x", "y", "diameter")
HEADINGS: Final = (*NEEDED, "label")
MOST_ROWS: Final = 200_000

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_DECIMAL_COMMA = re.compile(r"[-+]?[0-9]*,[0-9]+(?:[ \t]*(?:mm|in))?")
_BARE_FRACTION = re.compile(r"(?:[0-9]+[ \t]+)?[0-9]+/[0-9]+")
_WANTED: Final[dict[str, Wanted]] = {"x": "any", "y": "any", "diameter": "positive"}


@dataclass(frozen=True, slots=True)
class Row:
    """One hole of the list, mm, as it stands there: not yet shifted or turned. ``line`` counts from 1."""

    line: int
    x: float
    y: float
    diameter: float
    label: str


def read_rows(path: Path, name: str, units: Units, problems: Problems) -> tuple[Row, ...]:
    """The rows of a list; ``name`` is what messages call it. Whatever is wrong is noted, and its row left out."""
    text = _text_of(path, name, problems)
    return () if text is None else tuple(_List(text, name, units, problems).rows())


def _text_of(path: Path, name: str, problems: Problems) -> str | None:
    def wrong(message: str, remedy: str, line: int = 0) -> None:
        problems.extend([Problem(name, line, "", message, remedy)])

    try:
        with path.open("rb") as stream:
            raw = stream.read(SIZE_LIMIT + 1)
    except OSError as error:
        wrong(f"cannot be read: {error.strerror}", "a readable file")
        return None
    if len(raw) > SIZE_LIMIT:
        wrong("is larger than 5 MB", "a smaller file")
        return None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        wrong("is not UTF-8 text", "save it as UTF-8", raw.count(b"\n", 0, error.start) + 1)
        return None


class _List:
    """One list on its way to rows."""

    def __init__(self, text: str, name: str, units: Units, problems: Problems) -> None:
        self.text = text
        self.name = name
        self.units = units
        self.problems = problems
        first = next((line for line in text.splitlines() if line.strip(" \t,;")), "")
        self.separator = ";" if ";" in first else ","

    def wrong(self, line: int, column: str, message: str, remedy: str = "") -> None:
        self.problems.extend([Problem(self.name, line, column, message, remedy)])

    def rows(self) -> Iterator[Row]:
        headings: list[str] | None = None
        count, before = 0, len(self.problems.found)
        for line, cells in self.records():
            if headings is None:
                headings = self.headings(line, cells)
                if headings is None:
                    return
                continue
            count += 1
            if count > MOST_ROWS:
                self.wrong(line, "", f"has more than {MOST_ROWS} rows", f"at most {MOST_ROWS} holes in one job")
                return
            row = self.row(line, headings, cells)
            if row is not None:
                yield row
        if not count and len(self.problems.found) == before:
            remedy = f"a row of headings ({', '.join(HEADINGS)}), then one row for each hole"
            self.wrong(0, "", "holds no holes", remedy)

    def records(self) -> Iterator[tuple[int, list[str]]]:
        """Records that are not empty, each with the line on which it begins."""
        reader = csv.reader(io.StringIO(self.text, newline=""), delimiter=self.separator, strict=True)
        begin = 1
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    yield begin, [cell.strip() for cell in cells]
                begin = reader.line_num + 1
        except csv.Error as error:
            self.wrong(begin, "", f"cannot be split into cells: {error}", "look for a quote that is open or astray")

    def headings(self, line: int, cells: Sequence[str]) -> list[str] | None:
        """The headings in lower case; None where one is missing, unknown or there twice."""
        found = [" ".join(cell.split()).lower() for cell in cells]
        before = len(self.problems.found)
        for number, heading in enumerate(found, start=1):
            if not heading:
                self.wrong(line, "", f"column {number} has no heading", f"write one of {', '.join(HEADINGS)}")
            elif heading not in HEADINGS:
                self.wrong(line, shortened(heading), "unknown heading", nearest(heading[:64], HEADINGS))
            elif found.index(heading) != number - 1:
                self.wrong(line, heading, "this heading stands there twice", "keep one of the two columns")
        for heading in NEEDED:
            if heading not in found:
                self.wrong(line, heading, "this heading is missing", f"the first row names {', '.join(NEEDED)}")
        return found if len(self.problems.found) == before else None

    def row(self, line: int, headings: Sequence[str], cells: Sequence[str]) -> Row | None:
        if any(cells[len(headings) :]):
            remedy = "decimals are written with a point, and a text with the separator in it stands in quotes"
            self.wrong(line, "", f"has {len(cells)} cells under {len(headings)} headings", remedy)
            return None
        given = dict(zip(headings, [*cells, *[""] * len(headings)], strict=False))
        values = {heading: self.length(line, heading, given[heading]) for heading in NEEDED}
        label = self.label(line, given.get("label", ""))
        x, y, diameter = (values[heading] for heading in NEEDED)
        if x is None or y is None or diameter is None or label is None:
            return None
        return Row(line, x, y, diameter, label)

    def label(self, line: int, text: str) -> str | None:
        try:
            return one_line(text)
        except ValueError as error:
            self.wrong(line, "label", str(error))
            return None

    def length(self, line: int, heading: str, text: str) -> float | None:
        """The length in a cell, mm; None with the problem noted."""
        if not text:
            self.wrong(line, heading, "is empty", "write a length, as 12.5 mm or 3/8 in")
            return None
        try:
            value = length_in(text, self.units, drill_sizes=heading == "diameter")
        except (ExpressionError, UnknownName) as error:
            self.wrong(line, heading, str(error))
            return None
        refused = out_of_limits(value, _WANTED[heading], self.units)
        if refused is not None:
            self.wrong(line, heading, *refused)
            return None
        return value


def length_in(text: str, units: Units, *, drill_sizes: bool = False) -> float:
    """The length in mm of one cell: a literal with or without a sign, or a drill size where those may stand.

    Raises ExpressionError for anything else, UnknownName for a drill size that is in no table.

    >>> length_in("-3/8 in", "mm"), length_in("2", "in"), length_in("#7", "mm", drill_sizes=True)
    (-9.525, 50.8, 5.1054)
    """
    if drill_sizes and DRILL_SIZE.fullmatch(text):
        return quantity_of(text, {}, units).value
    if _DECIMAL_COMMA.fullmatch(text):
        raise ExpressionError(f"'{text}' has a decimal comma; decimals are written with a point")
    sign, bare = (-1.0, text[1:].lstrip()) if text[0] == "-" else (1.0, text.removeprefix("+").lstrip())
    if match := LITERAL.fullmatch(bare):
        return sign * literal_value(match)
    if _NUMBER.fullmatch(bare):
        return sign * finite(millimetres(float(bare), units), bare)
    if _BARE_FRACTION.fullmatch(bare):
        raise ExpressionError(f"'{shortened(text)}' is a fraction without its unit; write {shortened(text)} in")
    raise ExpressionError(f"'{shortened(text)}' is no length; write a number, or as 12.5 mm or 3/8 in")

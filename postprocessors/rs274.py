"""Lines of RS-274/NGC words (NISTIR 6556) for a controller described by what it can do: what its writers share.

Lengths and feeds come in millimetres and become inches where they are written (``mm``, ``feed_word``) and nowhere
earlier. Text that comes from the job appears only in comments, reduced by ``plain`` to characters that can never be
code.
"""

from __future__ import annotations

import math
import textwrap

from postprocessors.base import number
from toolpaths.errors import PostError
from toolpaths.motion import XY, Arc, Point
from toolpaths.tables.rows import Machine
from toolpaths.tolerance import ARC_CENTRE, ARC_CENTRE_INCH, SAME_POINT

UNITS = {"mm": "G21", "in": "G20"}

MODES = "G17 G90 G94 G40 G49 G80 G98 G54"
"""Every mode that a program relies on beside its units, which come first: XY plane, absolute, feed per minute, no
compensation, no length offset, no cycle, cycles end where they began, first zero."""

COMMENT_WIDTH = 72
"""Characters of comment on one line: what a small controller's display shows; the language allows 256 a line."""

FEED_DECIMALS = {"mm": 1, "in": 2}
"""Decimals of a feed: 0.1 mm/min, 0.01 in/min."""

HARMLESS = str.maketrans("();%!~", "[],?.-")
"""Signs that end or begin a comment or a program, or that a controller obeys at once, and what stands for them."""

LAST_LINE_NUMBER = 99990
"""N takes at most five digits (RS274/NGC 3.3.1); after this the count begins again, which the language allows."""


class Words:
    """The lines so far, and what the controller knows after them: place and feed.

    ``called`` is the post-processor that writes and ``panel`` the panel it writes for, as errors name them.
    """

    def __init__(self, called: str, panel: str, machine: Machine) -> None:
        self.called = called
        self.panel = panel
        self.machine = machine
        self.dialect = machine.program
        self.lines: list[str] = []
        self.numbered = 0
        self.exact: list[float | None] = [None, None, None]
        """Where the last motion ended, as planned; None: not known, after the operator has moved the machine."""
        self.feed = ""
        self.figures: dict[float, str] = {}
        """Lengths of the plan as they are printed: a few depths and places come again and again."""
        self.feed_words: dict[float, str] = {}

    def text(self) -> str:
        lines = ["%", *self.lines, "%"] if self.dialect.percent_lines else self.lines
        ending = "\r\n" if self.dialect.line_ending == "crlf" else "\n"
        return ending.join([*lines, ""])

    # ---- motions

    def straight(self, word: str, to: Point, feed: str) -> None:
        """G0 or G1 with the coordinates that change; nothing where the printed place stays the same."""
        axes = []
        for axis, start, end in zip("XYZ", self.exact, to, strict=True):
            if start != end:
                text = self.mm(end)
                if start is None or self.mm(start) != text:
                    axes.append(axis + text)
        if axes:
            self.code(" ".join([word, *axes, *self.new_feed(feed)]))
        self.exact = list(to)

    def arc(self, arc: Arc) -> None:
        start_x, start_y, start_z = self.start_of(arc)
        full = math.dist((start_x, start_y), arc.to[:2]) <= SAME_POINT
        start, end = (self.printed((start_x, start_y)), self.printed(arc.to[:2]))
        if start == end and not full and turn(arc, (start_x, start_y)) < math.pi:
            # shorter than the last printed digit: as an arc it would read as a full circle
            self.straight("G1", arc.to, self.feed_word(arc.feed))
            return
        helix = self.mm(arc.to[2]) != self.mm(start_z)
        if not self.dialect.arcs:
            raise PostError(f"{self.called}: machine {self.machine.name!r} has no arcs; give it chords")
        if helix and not self.dialect.helical_arcs:
            raise PostError(f"{self.called}: machine {self.machine.name!r} cannot cut the helix that is asked for")
        i, j = self.centre_offset(start, end, arc.centre)
        words = ["G3" if arc.ccw else "G2", f"X{self.mm(arc.to[0])}", f"Y{self.mm(arc.to[1])}"]
        if helix:
            words.append(f"Z{self.mm(arc.to[2])}")
        words += [f"I{self.text_of(i)}", f"J{self.text_of(j)}", *self.new_feed(self.feed_word(arc.feed))]
        self.code(" ".join(words))
        self.exact = list(arc.to)

    def centre_offset(self, start: XY, end: XY, centre: XY) -> XY:
        """I and J from the printed start: of the printable centres round the true one, one with equal enough radii.

        ``start``, ``end`` and the result are in the program's units, ``centre`` in mm. The nearest will not always do:
        three roundings can add up to more than the language's 0.002 mm or 0.0002 in.
        """
        decimals = self.dialect.decimals
        step = 10.0**-decimals
        tolerance = ARC_CENTRE_INCH if self.dialect.units == "in" else ARC_CENTRE
        x, y = centre[0] / self.dialect.unit - start[0], centre[1] / self.dialect.unit - start[1]

        def beside(a: int, b: int) -> XY:
            return round(x + a * step, decimals), round(y + b * step, decimals)

        def unequal(offset: XY) -> float:
            return abs(math.hypot(*offset) - math.dist(end, (start[0] + offset[0], start[1] + offset[1])))

        best = beside(0, 0)
        if unequal(best) > tolerance / 2:
            best = min((beside(a, b) for a in (0, 1, -1) for b in (0, 1, -1)), key=unequal)
        if unequal(best) >= tolerance or best == (0, 0):
            where = f"X{self.text_of(end[0])} Y{self.text_of(end[1])}"
            raise PostError(f"{self.called}: the arc to {where} has no centre with {decimals} decimals")
        return best

    # ---- words

    def mm(self, value: float) -> str:
        """A length of the plan, mm, as it is printed: in the program's units."""
        text = self.figures.get(value)
        if text is None:
            if not math.isfinite(value):
                raise PostError(f"{self.called}: a coordinate of panel {self.panel!r} is {value}")
            text = self.figures[value] = self.text_of(value / self.dialect.unit)
        return text

    def text_of(self, value: float) -> str:
        """A figure in the program's units as it is printed."""
        return number(value, self.dialect.decimals)

    def printed(self, point: XY) -> XY:
        """A point of the plan, mm, as its printed figures say it, in the program's units."""
        unit, decimals = self.dialect.unit, self.dialect.decimals
        return round(point[0] / unit, decimals), round(point[1] / unit, decimals)

    def length(self, value: float) -> str:
        """A length for a comment, with its unit; in an inch program in both."""
        metric = f"{number(value, 3)} mm"
        return f"{self.mm(value)} in = {metric}" if self.dialect.units == "in" else metric

    def feed_word(self, feed: float) -> str:
        """The F word of a feed in mm/min."""
        if feed not in self.feed_words:
            self.feed_words[feed] = feed_word(feed / self.dialect.unit, FEED_DECIMALS[self.dialect.units])
        return self.feed_words[feed]

    def new_feed(self, feed: str) -> list[str]:
        """The F word where it changes."""
        if not feed or feed == self.feed:
            return []
        self.feed = feed
        return [feed]

    def start_of(self, arc: Arc) -> Point:
        x, y, z = self.exact
        if x is None or y is None or z is None:
            where = f"X{self.mm(arc.centre[0])} Y{self.mm(arc.centre[1])}"
            raise PostError(f"{self.called}: the arc about {where} has no known start")
        return x, y, z

    def code(self, words: str) -> None:
        """One line of words."""
        if self.dialect.line_numbers:
            self.numbered = self.numbered % LAST_LINE_NUMBER + 10
            words = f"N{self.numbered} {words}"
        self.lines.append(words)

    def comment(self, text: str) -> None:
        """One comment, over as many lines as it needs; none where the controller takes none."""
        opening, closing = {"( )": ("(", ")"), ";": ("; ", ""), "none": ("", "")}[self.dialect.comments]
        if not opening:
            return
        # a line that begins with the job's own words could be one of the messages that some controllers act on
        said = plain(text)
        short = [said] if 0 < len(said) <= COMMENT_WIDTH else []
        for line in short or textwrap.wrap(said, COMMENT_WIDTH, subsequent_indent="... "):
            self.lines.append(f"{opening}{line}{closing}")


def plain(text: str) -> str:
    """Text from the job made harmless inside any comment: ASCII only, on one line, nothing that could end it.

    Signs that some controllers obey the moment they arrive, even inside a comment (``!`` and ``~``), go as well.

    >>> plain("Höhe (50 %)\\nG0 Z-50; M3!")
    'H?he [50 ?] G0 Z-50, M3.'
    """
    harmless = " ".join(text.split()).translate(HARMLESS)
    return "".join(sign if " " <= sign <= "~" else "?" for sign in harmless)


def feed_word(feed: float, decimals: int) -> str:
    """F in units per minute, rounded down.

    >>> feed_word(119.98, 1), feed_word(240, 1), feed_word(9.449, 2)
    ('F119.9', 'F240', 'F9.44')
    """
    steps = math.floor(feed * 10**decimals + 1e-6) if math.isfinite(feed) else 0
    if steps <= 0:
        raise PostError(f"a feed of {feed} a minute cannot be written")
    return f"F{number(steps / 10**decimals, decimals)}"


def turn(arc: Arc, start: XY) -> float:
    """How far the arc turns from ``start``, radians, 0 to 2 pi."""
    (cx, cy), (sx, sy), (ex, ey) = arc.centre, start, arc.to[:2]
    angle = math.atan2(ey - cy, ex - cx) - math.atan2(sy - cy, sx - cx)
    return (angle if arc.ccw else -angle) % (2 * math.pi)

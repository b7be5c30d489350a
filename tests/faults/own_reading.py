"""A plain reading of a setup's programs, made for these tests alone: no reader of the project is used.

It takes every word at its value, so that it can say what an edited text would make a machine do, and where a controller
would refuse it by the language's own rules (NISTIR 6556, sections 3.1 to 3.8). Millimetres, mm/min, seconds, radians.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")
COMMENT = re.compile(r"\([^()]*\)")
ARC_SLACK = {21: 0.002, 20: 0.0002 * 25.4}
"""Start and end radius of an arc may differ by this, by the unit word (RS274/NGC 3.5.3.2), mm."""

GROUPS = (
    {0, 1, 2, 3, 80, 81, 82, 83}, {17, 18, 19}, {90, 91}, {93, 94}, {20, 21}, {40, 41, 42}, {43, 49}, {98, 99},
    {54, 55, 56, 57, 58, 59}, {4},
)  # fmt: skip
"""Modal groups of G words (Table 4), as far as a program of ours may hold them; and the dwell."""
STATED_FIRST = ({20, 21}, {90, 91}, {17}, {94}, {40}, {43, 49}, {54}, {80})
"""A program states one of each before it moves: no start-up default is relied on."""
OURS = frozenset({0, 1, 2, 3, 4, 17, 20, 21, 40, 43, 49, 54, 80, 81, 82, 83, 90, 91, 94, 98, 99})
OUR_M = frozenset({0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 30})
PECK_BACK = 0.254
"""How far above its last bottom G83 stops its rapid, mm: the report gives no figure, so nothing hangs on it."""

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Move:
    """One motion: ``g`` is 0 to 3; ``speed`` is negative while the spindle turns backwards, 0 while it stands."""

    program: int
    index: int
    g: int
    start: Point
    end: Point
    centre: tuple[float, float] | None
    feed: float
    speed: float
    cutter: int
    z_known: bool

    @property
    def path(self) -> tuple[object, ...]:
        """What decides where the tip goes."""
        return self.g, self.start, self.end, self.centre, self.cutter

    @property
    def low(self) -> float:
        """The lowest known Z of the tip."""
        return min((z for z in (self.start[2], self.end[2]) if not math.isnan(z)), default=math.inf)

    @property
    def upright(self) -> bool:
        return self.centre is None and self.start[:2] == self.end[:2]

    @property
    def placed(self) -> bool:
        return not any(math.isnan(value) for value in (*self.start, *self.end))

    @property
    def length(self) -> float:
        if self.centre is None:
            return math.dist(self.start, self.end)
        return math.hypot(math.dist(self.start[:2], self.centre) * self.sweep, self.end[2] - self.start[2])

    @property
    def sweep(self) -> float:
        """Turn of an arc, above 0 and at most a full circle."""
        assert self.centre is not None
        (cx, cy), (sx, sy), (ex, ey) = self.centre, self.start[:2], self.end[:2]
        if math.dist((sx, sy), (ex, ey)) < 1e-6:
            return 2 * math.pi
        turn = math.atan2(ey - cy, ex - cx) - math.atan2(sy - cy, sx - cx)
        return (turn if self.g == 3 else -turn) % (2 * math.pi)

    def at(self, share: float) -> Point:
        """The tip after a share of the way."""
        (sx, sy, sz), (ex, ey, ez) = self.start, self.end
        z = sz + (ez - sz) * share
        if self.centre is None:
            return sx + (ex - sx) * share, sy + (ey - sy) * share, z
        cx, cy = self.centre
        angle = math.atan2(sy - cy, sx - cx) + (self.sweep if self.g == 3 else -self.sweep) * share
        radius = math.dist((sx, sy), self.centre)
        return cx + radius * math.cos(angle), cy + radius * math.sin(angle), z

    def stations(self, apart: float, most: int = 400) -> list[Point]:
        """Points along the way, both ends among them."""
        count = min(most, max(1, math.ceil(self.length / apart))) if self.length > 0 else 1
        return [self.at(k / count) for k in range(count + 1)]


@dataclass(frozen=True, slots=True)
class Happening:
    """What is not a motion: ``what`` is change, stop, optional stop, dwell, spindle, offset or end."""

    program: int
    index: int
    what: str
    value: float


@dataclass(slots=True)
class Said:
    """What a setup's programs say: events in order. ``refused``: why a controller would not run it; ``odd``: why one
    may not."""

    events: list[Move | Happening] = field(default_factory=list)
    refused: str = ""
    odd: str = ""

    @property
    def moves(self) -> list[Move]:
        return [event for event in self.events if isinstance(event, Move)]

    def meaning(self) -> list[tuple[object, ...]]:
        """The events without their lines: two texts with the same list say the same."""
        return [
            (*event.path, event.feed if event.g else 0.0, event.speed, event.z_known)
            if isinstance(event, Move) else (event.what, event.value)
            for event in self.events
        ]  # fmt: skip


class Refusal(Exception):
    """A controller would stop at this line."""


@dataclass(slots=True)
class _Controller:
    """Everything that a controller knows while it runs one program."""

    said: Said
    program: int
    by_t: bool
    slots: dict[int, int]
    modes: dict[int, int] = field(default_factory=dict)
    stated: set[int] = field(default_factory=set)
    place: Point = (math.nan, math.nan, math.nan)
    feed: float = 0.0
    stated_speed: float | None = None
    turns: int = 0
    selected: int | None = None
    cutter: int = 0
    offset: int = 0
    z_known: bool = True
    cycle: dict[str, float] = field(default_factory=dict)
    ended: bool = False
    index: int = 0

    @property
    def scale(self) -> float:
        if 4 not in self.modes:
            raise Refusal("length without a unit")
        return 25.4 if self.modes[4] == 20 else 1.0

    def happens(self, what: str, value: float = 0.0) -> None:
        self.said.events.append(Happening(self.program, self.index, what, value))

    def moved(self, g: int, end: Point, centre: tuple[float, float] | None = None) -> None:
        start, self.place = self.place, end
        still = all(a == b or (math.isnan(a) and math.isnan(b)) for a, b in zip(start, end, strict=True))
        if still and centre is None:
            return
        if g and self.feed <= 0:
            raise Refusal("feed motion without a feed")
        speed = (self.stated_speed or 0.0) * self.turns
        self.said.events.append(Move(
            self.program, self.index, g, start, end, centre, self.feed if g else 0.0, speed, self.cutter, self.z_known,
        ))  # fmt: skip

    # --- one line

    def line(self, text: str) -> None:
        g, m, letters = _sorted(text)
        if not (g or m or letters):
            return
        if self.ended:
            self.said.odd = "words after the end"
            return
        self._feed_and_speed(letters)
        self._cutter(m, letters)
        self._spindle(m)
        if 4 in g:
            if letters.get("P", -1.0) < 0:
                raise Refusal("dwell without a time")
            self.happens("dwell", letters["P"])
        self._modes(g, letters)
        self._motion(g, letters)
        for code in sorted(m & {0, 1, 2, 30}):
            self._stop(code)

    def _feed_and_speed(self, letters: dict[str, float]) -> None:
        if any(letters.get(letter, 0.0) < 0 for letter in "FST"):
            raise Refusal("negative F, S or T")
        if "F" in letters:
            self.feed = letters["F"] * self.scale
        if "S" in letters:
            self.stated_speed = letters["S"]

    def _cutter(self, m: set[int], letters: dict[str, float]) -> None:
        if "T" in letters:
            number = letters["T"]
            if number != int(number):
                raise Refusal("T is not whole")
            changes = self.by_t and (self.selected != number)
            self.selected = int(number)
            if changes:
                self._put_in()
        if 6 in m:
            if self.selected is None:
                raise Refusal("M6 without T")
            self._put_in()
            self.turns = 0

    def _put_in(self) -> None:
        self.cutter = self.selected or 0
        self.happens("change", self.cutter)
        self.z_known = False
        self.place = (*self.place[:2], math.nan)

    def _spindle(self, m: set[int]) -> None:
        for code in m & {3, 4, 5}:
            if code != 5 and self.stated_speed is None:
                raise Refusal("spindle without a speed")
            turns = {3: 1, 4: -1, 5: 0}[code]
            if turns != self.turns:
                self.turns = turns
                self.happens("spindle", turns)

    def _modes(self, g: set[int], letters: dict[str, float]) -> None:
        self.stated |= g
        for number, group in enumerate(GROUPS[1:], 1):
            for code in g & group:
                if number == 4 and self.modes.get(4, code) != code:
                    raise Refusal("units change")
                if number == 6:
                    self._length(code, letters)
                self.modes[number] = code

    def _length(self, code: int, letters: dict[str, float]) -> None:
        number = 0
        if code == 43:
            if "H" not in letters or letters["H"] != int(letters["H"]) or letters["H"] < 0:
                raise Refusal("G43 without H")
            number = int(letters["H"])
        if number != self.offset or not self.z_known:
            self.place = (*self.place[:2], math.nan)
            self.happens("offset", number)
        self.offset = number
        if number:
            self.z_known = True

    def _motion(self, g: set[int], letters: dict[str, float]) -> None:
        axes = set("XYZ") & set(letters)
        asked = g & GROUPS[0]
        motion = next(iter(asked)) if asked else self.modes.get(0)
        if asked == {80}:
            if axes:
                raise Refusal("axes with G80")
            self.modes[0] = 80
            self.cycle.clear()
            return
        if not asked and not axes:
            return
        if motion is None or motion == 80 or not axes:
            raise Refusal("axes without motion, or motion without axes")
        if not all(self.stated & group for group in STATED_FIRST):
            raise Refusal("a mode is not stated")
        if motion != self.modes.get(0):
            self.cycle.clear()
        self.modes[0] = motion
        if motion >= 81:
            self._cycle(motion, letters)
        elif motion >= 2:
            self._arc(motion, letters)
        else:
            self.moved(motion, self._end(letters))

    def _end(self, letters: dict[str, float]) -> Point:
        end = list(self.place)
        for axis, letter in enumerate("XYZ"):
            if letter in letters:
                value = letters[letter] * self.scale
                end[axis] = value if self.modes[2] == 90 else end[axis] + value
                if math.isnan(end[axis]):
                    raise Refusal("increment from an unknown place")
        return end[0], end[1], end[2]

    def _arc(self, motion: int, letters: dict[str, float]) -> None:
        if not {"X", "Y"} & set(letters) or not {"I", "J"} & set(letters) or "R" in letters:
            raise Refusal("arc without end or centre")
        if any(math.isnan(value) for value in self.place):
            raise Refusal("arc from an unknown place")
        i, j = (letters.get(letter, 0.0) * self.scale for letter in "IJ")
        centre, end = (self.place[0] + i, self.place[1] + j), self._end(letters)
        first, last = math.hypot(i, j), math.dist(end[:2], centre)
        if first < 1e-9 or abs(first - last) > ARC_SLACK[self.modes[4]] + 1e-9:
            raise Refusal("broken arc")
        self.moved(motion, end, centre)

    def _cycle(self, motion: int, letters: dict[str, float]) -> None:
        if 7 not in self.modes or math.isnan(self.place[2]):
            raise Refusal("cycle without G98 or G99, or from an unknown Z")
        for letter in "ZRQP":
            if letter in letters:
                self.cycle[letter] = letters[letter] * (1.0 if letter == "P" else self.scale)
        needed = {81: "ZR", 82: "ZRP", 83: "ZRQ"}[motion]
        if any(letter not in self.cycle for letter in needed) or (motion == 83 and self.cycle["Q"] <= 0):
            raise Refusal("cycle without a word that it needs")
        x, y, z = self._end({letter: value for letter, value in letters.items() if letter in "XY"})
        absolute = self.modes[2] == 90
        retract = self.cycle["R"] if absolute else z + self.cycle["R"]
        bottom = self.cycle["Z"] if absolute else retract + self.cycle["Z"]
        if bottom > retract or math.isnan(x) or math.isnan(y) or letters.get("L", 1.0) != 1.0:
            raise Refusal("cycle with R below Z, at no place, or repeated")
        clear = max(z, retract) if self.modes[7] == 98 else retract
        self._hole(motion, (x, y), max(z, retract), retract, bottom, clear)

    def _hole(
        self, motion: int, at: tuple[float, float], above: float, retract: float, bottom: float, clear: float
    ) -> None:
        self.moved(0, (*self.place[:2], above))
        self.moved(0, (*at, above))
        self.moved(0, (*at, retract))
        reached = retract
        while motion == 83 and reached - self.cycle["Q"] > bottom + 1e-9:
            reached -= self.cycle["Q"]
            if (retract - reached) / self.cycle["Q"] > 1000:
                raise Refusal("a thousand pecks")
            self.moved(1, (*at, reached))
            self.moved(0, (*at, clear))
            self.moved(0, (*at, min(clear, reached + PECK_BACK)))
        self.moved(1, (*at, bottom))
        if motion == 82:
            self.happens("dwell", self.cycle["P"])
        self.moved(0, (*at, clear))

    def _stop(self, code: int) -> None:
        if code in (2, 30):
            self.ended = True
            self.happens("end")
            return
        self.happens("optional stop" if code == 1 else "stop")
        if code == 0 and not self.turns:
            self.z_known = True


@lru_cache(maxsize=50_000)
def _sorted(text: str) -> tuple[set[int], set[int], dict[str, float]]:
    """The G words, the M words and the other letters of one line; nobody may change them."""
    if len(text) > 256 or not text.isascii():
        raise Refusal("line too long, or not ASCII")
    bare = COMMENT.sub(" ", text.split(";")[0] if "(" not in text else text).upper()
    bare = bare.split(";")[0].replace(" ", "").replace("\t", "")
    if bare.startswith("/"):
        raise Refusal("block delete")
    if bare.startswith("N"):
        bare = re.sub(r"^N\d{1,5}(?![\d.])", "", bare)
    g: set[int] = set()
    m: set[int] = set()
    letters: dict[str, float] = {}
    at = 0
    while at < len(bare):
        found = WORD.match(bare, at)
        if found is None:
            raise Refusal(f"no word: {bare[at:at + 8]}")
        at = found.end()
        letter, value = found[1], float(found[2])
        if letter in "GM":
            if value != int(value) or int(value) not in (OURS if letter == "G" else OUR_M):
                raise Refusal(f"{letter}{value:g} is no word of these programs")
            (g if letter == "G" else m).add(int(value))
        elif letter in letters or letter not in "FHIJKLPQRSTXYZ":
            raise Refusal(f"{letter} twice, or no such word")
        else:
            letters[letter] = value
    if any(len(g & group) > 1 for group in GROUPS) or any(
        len(m & group) > 1 for group in ({0, 1, 2, 30}, {3, 4, 5}, {7, 8, 9})
    ):
        raise Refusal("two words of one group")
    return g, m, letters


def said(programs: Sequence[Sequence[str]], by_t: bool, slots: dict[int, int]) -> Said:
    """What the programs of one setup say, run one after the other.

    ``by_t``: no changer, so that T itself means the change that the operator makes at the stop behind it. ``slots``:
    slot to cutter number, where T names a slot; the moves carry the cutter's number.
    """
    whole = Said()
    for number, lines in enumerate(programs):
        controller = _Controller(whole, number, by_t, slots)
        try:
            for controller.index, line in _between_percents(lines, whole):
                controller.line(line)
            if not controller.ended:
                raise Refusal("no end")
        except Refusal as refusal:
            whole.refused = f"{refusal}, line {controller.index + 1}"
            return whole
    if slots:
        whole.events = [_through(event, slots) for event in whole.events]
    return whole


def _through(event: Move | Happening, slots: dict[int, int]) -> Move | Happening:
    if isinstance(event, Happening):
        return event
    cutter = slots.get(event.cutter, -1)
    return Move(
        event.program, event.index, event.g, event.start, event.end, event.centre, event.feed, event.speed, cutter,
        event.z_known,
    )  # fmt: skip


def _between_percents(lines: Sequence[str], whole: Said) -> Iterator[tuple[int, str]]:
    filled = [(index, line) for index, line in enumerate(lines) if line.strip()]
    marks = [place for place, (_, line) in enumerate(filled) if line.strip() == "%"]
    if marks and marks[0] == 0:
        if len(marks) == 1:
            raise Refusal("a % that is never answered")
        if marks[1] != len(filled) - 1:
            whole.odd = "text after the second %"
        filled = filled[1 : marks[1]]
    elif marks:
        whole.odd = "a % in the middle"
        filled = [(index, line) for index, line in filled if line.strip() != "%"]
    yield from filled

"""Machine programs in the words of RS-274/NGC (NISTIR 6556), for a controller described by what it can do.

Millimetres or inches, X right, Y up, Z up, absolute; arcs by centre, I and J counted from the start.

Where the controller has drilling cycles, a hole that is drilled at one feed is written as one (G81, G83); a hole with
a slower feed for the point that breaks through is written out as rapids and feeds, since a cycle has only one.
"""

from __future__ import annotations

import math
from itertools import pairwise, zip_longest
from typing import assert_never

from postprocessors.base import ProgramPost, number
from postprocessors.rs274 import MODES, UNITS, Words
from toolpaths.errors import PostError
from toolpaths.motion import XY, Arc, Drill, Line, Motion, Operation, Pause, Program, Rapid
from toolpaths.tables.rows import Cutter, Machine
from toolpaths.tolerance import SAME_POINT

PECK_BACK_OFF = 0.2
"""The rapid back down a pecked hole ends this far above the last bottom, mm (common practice)."""

class GCode(ProgramPost):
    """Programs for a small CNC, one text per setup."""

    name = "gcode"
    suffix = ".nc"
    summary = "machine programs in plain RS-274/NGC words: lines, arcs, drilled holes, stops to change the cutter"

    def write(self, program: Program, machine: Machine, cutters: dict[int, Cutter]) -> str:
        """The whole text. PostError where the controller cannot do what the program asks for."""
        _refuse_what_is_not_written(program, machine)
        writer = _Writer(program, machine, cutters)
        writer.heading()
        for operation in program.setup.operations:
            writer.operation(operation)
        writer.end()
        return writer.text()


def _refuse_what_is_not_written(program: Program, machine: Machine) -> None:
    dialect = machine.program
    if dialect.change == "one program per cutter":
        used = sorted({operation.cutter for operation in program.setup.operations})
        if len(used) > 1:
            raise PostError(f"gcode: machine {machine.name!r} takes one cutter per program, this one uses {used}")


class _Writer(Words):
    """One program; what the controller knows beside place and feed: cutter, speed, and whether a cycle is in force."""

    def __init__(self, program: Program, machine: Machine, cutters: dict[int, Cutter]) -> None:
        super().__init__("gcode", program.setup.panel, machine)
        self.program = program
        self.setup = program.setup
        self.cutters = cutters
        self.cutter = 0
        self.speed = 0
        self.cycling = False
        """A drilling cycle is in force: G80 comes before anything else."""

    # ---- whole text

    def heading(self) -> None:
        setup = self.setup
        self.comment(f"title: {self.program.title}")
        if setup.on_board:
            thick = self.length(setup.thickness)
            self.comment(f"panel: {setup.panel}, the pin holes of its setups, board {thick} thick")
            self.comment("the sheet is off; X and Y keep the zero of setup 1")
        else:
            of = f" of {setup.count}" if setup.count > 1 else ""
            thick = self.length(setup.thickness)
            self.comment(f"panel: {setup.panel}, setup {setup.number}{of}, sheet {thick} thick")
        if setup.count > 1 and setup.number > 1:
            self.comment("X and Y keep the zero of setup 1: only the sheet was moved")
        if self.program.parts > 1:
            self.comment(f"program {self.program.part} of the {self.program.parts} of this setup, in this order")
        if self.program.dry:
            self.comment("air pass: the spindle stands still, nothing is cut; a hand near the stop button")
        if setup.on_board:
            pass  # a board has no sides
        elif setup.mirrored:
            self.comment("machined from the inside: turned over left to right, the inside up")
        else:
            self.comment("machined from the outside: the outside up")
        x0, y0, x1, y1 = self.stock()
        lies = "reach over the board" if setup.on_board else "stock as it lies"
        self.comment(f"{lies}: X{self.mm(x0)} to X{self.mm(x1)}, Y{self.mm(y0)} to Y{self.mm(y1)}")
        if not setup.on_board:
            self.comment(f"X0 Y0: {self.where_zero_lies()}")
        units = "inches" if self.dialect.units == "in" else "millimetres"
        self.comment(f"Z0: the top of the {self.ground()}, Z up, {units}")
        for used in dict.fromkeys(operation.cutter for operation in setup.operations):
            self.comment(f"T{self.slot(used)}: {self.described(used)}")
        self.code(f"{UNITS[self.dialect.units]} {MODES}")

    def ground(self) -> str:
        """What Z is touched off on."""
        return "board" if self.setup.on_board else "sheet"

    def operation(self, operation: Operation) -> None:
        if operation.cutter != self.cutter:
            self.change(operation)
        elif whole_speed(operation.rpm) != self.speed:
            self.change_speed(operation)
        self.comment(title_of(operation, self.mm(operation.depth)))
        for motion, following in zip_longest(operation.motions, operation.motions[1:]):
            if not self.is_left_to_cycle(motion, following):
                self.motion(motion)

    def end(self) -> None:
        self.retract()
        self.code("M5")
        if self.dialect.length == "length table":
            self.code("G49")
        self.code("M2")

    # ---- cutter and spindle

    def change(self, operation: Operation) -> None:
        """Take the next cutter; Z is set anew, by a stop to touch off or by the table of lengths, before any motion."""
        first = not self.cutter
        if not first:
            self.retract()
            self.code("M5")
        self.cutter = operation.cutter
        slot = self.slot(self.cutter)
        automatic = self.dialect.change == "automatic"
        self.code(f"T{slot} M6" if automatic else f"T{slot}")
        if automatic and self.dialect.length == "length table" and self.machine.speed_control:
            if first and self.setup.to_draw:
                self.comment(f"{self.pins_to_draw()}, then start")
                self.code("M0")
            self.code(f"G43 H{slot}")
        else:
            if not automatic:
                self.comment(f"fit T{slot}: {self.described(self.cutter)}")
            if first and self.setup.to_draw:
                self.comment(f"{self.pins_to_draw()} before you start")
            self.stop_to_set_z(operation.rpm)
        self.exact = [None, None, None]
        self.feed = ""
        self.retract()
        self.start_spindle(operation.rpm)

    def stop_to_set_z(self, rpm: float) -> None:
        x, y = self.place(self.setup.touch_off)
        if self.dialect.length == "length table":
            zero = ", taken with Z0 on the bare board" if self.setup.on_board else ""
            self.comment(f"check that the length of T{self.slot(self.cutter)} is in the table{zero}, then start")
        else:
            self.comment(f"touch off Z0 on the {self.ground()} at X{self.mm(x)} Y{self.mm(y)}, then start")
        self.comment_speed_by_hand(rpm)
        self.code("M0")
        if self.dialect.length == "length table":
            self.code(f"G43 H{self.slot(self.cutter)}")

    def pins_to_draw(self) -> str:
        """What is done at the first stop where pins stand in the cutter's way."""
        many = "pins" if len(self.setup.to_draw) > 1 else "pin"
        return f"the sheet is held: draw the {many} from {' and '.join(self.setup.to_draw)}"

    def change_speed(self, operation: Operation) -> None:
        if not self.machine.speed_control:
            self.retract()
            self.code("M5")
            self.comment_speed_by_hand(operation.rpm)
            self.code("M0")
        self.start_spindle(operation.rpm)

    def comment_speed_by_hand(self, rpm: float) -> None:
        if not self.machine.speed_control and rpm > 0:
            self.comment(f"set the spindle to {whole_speed(rpm)} rev/min by hand")

    def start_spindle(self, rpm: float) -> None:
        """At speed 0 it stands, and the program says so."""
        if rpm == 0:
            self.code("M5")
            return
        self.speed = whole_speed(rpm)
        self.code(f"S{self.speed} M3")
        seconds = self.machine.spin_up
        if seconds > 0:
            self.code(f"G4 P{number(seconds, 3) if self.dialect.dwell == 'seconds' else math.ceil(seconds * 1000)}")

    def retract(self) -> None:
        """Up to the clear height, unless it is known to be there; after a stop nothing is known."""
        if self.exact[2] == self.setup.clear_height:
            return
        self.code(f"G0 Z{self.mm(self.setup.clear_height)}")
        self.exact[2] = self.setup.clear_height

    # ---- motions

    def motion(self, motion: Motion) -> None:
        match motion:
            case Rapid(to):
                self.straight("G0", to, "")
            case Line(to, feed):
                self.straight("G1", to, self.feed_word(feed))
            case Arc():
                self.arc(motion)
            case Drill():
                self.drill(motion)
            case Pause(why):
                self.pause(why)
            case _:
                assert_never(motion)

    def pause(self, why: str) -> None:
        """A stop to look; after it nothing is taken as known, and Z is stated first."""
        self.comment(why)
        self.code("M0")
        self.exact = [None, None, None]
        self.feed = ""
        self.retract()

    def drill(self, hole: Drill) -> None:
        x, y = hole.at
        z = self.exact[2]
        if z is None or z < hole.retract - SAME_POINT:
            raise PostError(f"gcode: the drill at X{self.mm(x)} Y{self.mm(y)} does not begin above its retract height")
        if self.as_cycle(hole):
            self.cycle(hole)
            return
        self.straight("G0", (x, y, z), "")
        self.straight("G0", (x, y, hole.retract), "")
        for above, bottom in pairwise(peck_levels(hole)):
            self.straight("G0", (x, y, min(hole.retract, above + PECK_BACK_OFF)), "")
            self.feed_down(hole, bottom)
            self.straight("G0", (x, y, hole.retract), "")

    def as_cycle(self, hole: Drill) -> bool:
        """Whether the controller has a cycle for this hole; one with two feeds has none."""
        return self.dialect.canned_cycles and (hole.slow_from is None or hole.slow_feed in (None, hole.feed))

    def cycle(self, hole: Drill) -> None:
        """G81, or G83 with pecks, back up to R; every line states the whole cycle, so that work may begin at any."""
        word, peck = ("G81", []) if hole.peck is None else ("G83", [f"Q{self.mm(hole.peck)}"])
        axes = [f"X{self.mm(hole.at[0])}", f"Y{self.mm(hole.at[1])}", f"Z{self.mm(hole.bottom)}"]
        words = ["G99", word, *axes, f"R{self.mm(hole.retract)}", *peck, *self.new_feed(self.feed_word(hole.feed))]
        self.cycling = False  # no G80 between two holes
        self.code(" ".join(words))
        self.cycling = True
        self.exact = [*hole.at, hole.retract]

    def is_left_to_cycle(self, motion: Motion, following: Motion | None) -> bool:
        """Whether a level rapid from hole to hole is the one that the next line's cycle makes by itself."""
        if not (self.cycling and isinstance(motion, Rapid) and isinstance(following, Drill)):
            return False
        level = motion.to[2] == self.exact[2] == following.retract
        return level and motion.to[:2] == following.at and self.as_cycle(following)

    def feed_down(self, hole: Drill, bottom: float) -> None:
        """Down to ``bottom``, slower below the depth where the point begins to break through."""
        slow_from, slow_feed = hole.slow_from, hole.slow_feed
        if slow_from is None or slow_feed is None:
            slow_from, slow_feed = hole.bottom, hole.feed
        here = self.exact[2]
        if here is not None and here > slow_from:
            self.straight("G1", (*hole.at, max(bottom, slow_from)), self.feed_word(hole.feed))
        if bottom < slow_from:
            self.straight("G1", (*hole.at, bottom), self.feed_word(slow_feed))

    def code(self, words: str) -> None:
        if self.cycling:
            self.cycling = False
            super().code("G80")
        super().code(words)

    # ---- what the heading says

    def slot(self, cutter: int) -> int:
        """The T value: the cutter's number, or its slot where the machine has a slot table."""
        if not self.dialect.slots:
            return cutter
        for slot, held in self.dialect.slots:
            if held == cutter:
                return slot
        raise PostError(f"gcode: no slot of machine {self.machine.name!r} holds cutter {cutter}")

    def described(self, number_: int) -> str:
        if number_ not in self.cutters:
            raise PostError(f"gcode: the program uses cutter {number_}, which the cutter table does not hold")
        cutter = self.cutters[number_]
        return f"{cutter.name}, {cutter.material}, stick-out {self.length(cutter.stick_out)}"

    def place(self, point: XY) -> XY:
        """A panel point as it lies on the machine."""
        (x, y), (zero_x, zero_y) = point, self.setup.zero
        return (zero_x - x if self.setup.mirrored else x - zero_x), y - zero_y

    def stock(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = self.setup.stock
        (ax, ay), (bx, by) = self.place((x0, y0)), self.place((x1, y1))
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    def where_zero_lies(self) -> str:
        x0, y0, x1, y1 = self.stock()
        across = {self.mm(x0): "left", self.mm((x0 + x1) / 2): "centre", self.mm(x1): "right"}.get("0")
        up = {self.mm(y0): "lower", self.mm((y0 + y1) / 2): "centre", self.mm(y1): "upper"}.get("0")
        if across and up:
            return f"the {named_place(across, up)} of the stock"
        right, above = self.length(-x0), self.length(-y0)
        return f"{right} right of and {above} above the lower left corner of the stock"


def title_of(operation: Operation, depth: str) -> str:
    """What the next lines make: ``bore A1, A2: hole[1], hole[2], to Z-1.5``."""
    if operation.kind == "air pass":
        return f"air pass at Z{depth}, over every place of work"
    tags = ", ".join(operation.tags)
    what = tags if tags == operation.feature else f"{tags}: {operation.feature}"
    return f"{operation.kind} {what}, to Z{depth}"


def named_place(across: str, up: str) -> str:
    """The words for one of the nine places of a rectangle.

    >>> named_place("left", "lower"), named_place("left", "centre"), named_place("centre", "centre")
    ('lower left corner', 'left centre', 'centre')
    """
    if across == up:
        return "centre"
    if up == "centre":
        return f"{across} centre"
    return f"{up} centre" if across == "centre" else f"{up} {across} corner"


def whole_speed(rpm: float) -> int:
    """Revolutions per minute as a whole number, rounded down: never above the cutter's or the spindle's limit.

    >>> whole_speed(7999.99), whole_speed(8000)
    (7999, 8000)
    """
    speed = math.floor(rpm + 1e-6)
    if speed <= 0:
        raise PostError(f"gcode: a spindle speed of {rpm} rev/min cannot be written")
    return speed


def peck_levels(hole: Drill) -> list[float]:
    """Z from the retract height down to the bottom, one peck at a time.

    >>> peck_levels(Drill((0, 0), -5.0, 1.0, 100, peck=2.5))
    [1.0, -1.5, -4.0, -5.0]
    >>> peck_levels(Drill((0, 0), -5.0, 1.0, 100))
    [1.0, -5.0]
    """
    levels = [hole.retract]
    if hole.peck is not None and hole.peck > SAME_POINT:
        count = math.ceil((hole.retract - hole.bottom) / hole.peck - 1e-9)
        levels += [hole.retract - n * hole.peck for n in range(1, count)]
    return [*levels, hole.bottom]

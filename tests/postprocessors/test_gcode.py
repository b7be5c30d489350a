"""Machine programs, held against lines written out by hand, a general G-code library and the language's own limits."""

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pygcode import Line as GLine

from postprocessors.gcode import GCode
from toolpaths.errors import PostError
from toolpaths.motion import Arc, Drill, Line, Operation, Program, Rapid, Setup
from toolpaths.tables.rows import Cutter, Dialect, Machine

MILL = Cutter(112, "end mill", 3.0, "carbide", 2, 12.0, 20.0, 3.175, math.pi, ("metal",), "3 mm", "a test")
DRILL = Cutter(203, "drill", 3.2, "HSS", 2, 30.0, 40.0, 3.2, math.radians(118), ("metal",), "3.2 mm", "a test")
CUTTERS = {112: MILL, 203: DRILL}


def machine(speed_control: bool = True, **dialect) -> Machine:
    return Machine("trial router", (300, 180, 60), 70, 5000, 24000, 350, 4, speed_control, 2000, 800, 3000, 1500, 200,
                   0.3, 0.05, 20, 20, 12, 60, Dialect(**dialect), "a test")


def operation(*motions, cutter=112, rpm=8000.0, feature="hole[1]", tags=("A1",), kind="bore") -> Operation:
    return Operation(kind, cutter, feature, tags, rpm, 240, 80, 0.2, -1.5, (), motions)


def setup(*operations, **changes) -> Setup:
    whole = Setup("rear", 1, (0, 0), False, (50, 20), 25, 1.2, (0, 0, 260, 160), operations)
    return replace(whole, **changes)


def text_of(*operations, title="Fernhill", on=None, **changes) -> str:
    return GCode().write(Program(title, setup(*operations, **changes)), on or machine(), CUTTERS)


def is_comment(line: str) -> bool:
    return line.startswith((";", "("))


def code(text: str) -> list[str]:
    return [line for line in text.splitlines() if not is_comment(line)]


def motions_of(*motions, on=None) -> list[str]:
    """The code of some motions, begun from X10 Y5 Z2, without what stands before and after them."""
    lines = code(text_of(operation(Rapid((10, 5, 25)), Rapid((10, 5, 2)), *motions), on=on))
    return lines[lines.index("G0 Z2") + 1 : -3]


WHOLE = """\
(title: Fernhill)
(panel: rear, setup 1, sheet 1.2 mm thick)
(machined from the outside: the outside up)
(stock as it lies: X0 to X260, Y0 to Y160)
(X0 Y0: the lower left corner of the stock)
(Z0: the top of the sheet, Z up, millimetres)
(T112: 3 mm end mill, carbide, stick-out 20 mm)
(T203: 3.2 mm drill, HSS, stick-out 40 mm)
G21 G17 G90 G94 G40 G49 G80 G98 G54
T112
(fit T112: 3 mm end mill, carbide, stick-out 20 mm)
(touch off Z0 on the sheet at X50 Y20, then start)
M0
G0 Z25
S8000 M3
G4 P4
(bore A1: hole[1], to Z-1.5)
G0 X30 Y40
G0 Z1
G1 Z0 F80
G3 X30 Y40 Z-1.5 I-2 J0 F240
G3 X30 Y40 I-2 J0
G0 Z25
S9000 M3
G4 P4
(bore A2: hole[2], to Z-1.5)
G0 X60
M5
T203
(fit T203: 3.2 mm drill, HSS, stick-out 40 mm)
(touch off Z0 on the sheet at X50 Y20, then start)
M0
G0 Z25
S5000 M3
G4 P4
(drill A3: hole[3], to Z-1.5)
G0 X60 Y40
G0 Z2
G1 Z-1.5 F90
G0 Z2
G0 Z25
M5
M2
"""


def whole_operations() -> tuple[Operation, ...]:
    full = Arc((30, 40, -1.5), (28, 40), True, 240)
    return (
        operation(Rapid((30, 40, 25)), Rapid((30, 40, 1)), Line((30, 40, 0), 80), full, full, Rapid((30, 40, 25))),
        operation(Rapid((60, 40, 25)), rpm=9000, feature="hole[2]", tags=("A2",)),
        operation(Rapid((60, 40, 25)), Drill((60, 40), -1.5, 2, 90), cutter=203, rpm=5000.9, feature="hole[3]",
                  tags=("A3",), kind="drill"),
    )


def test_a_whole_program_reads_as_a_machinist_writes_it():
    """A bore, a change of speed, a change of cutter by pause and a drilled hole give the text written here by hand."""
    assert text_of(*whole_operations()) == WHOLE


ROWS = [
    (Rapid((12, 5, 2)), ["G0 X12"]),
    (Rapid((12, -7.25, 3)), ["G0 X12 Y-7.25 Z3"]),
    (Rapid((10.0001, 5, 2)), []),
    (Line((10, 5, -0.5), 80), ["G1 Z-0.5 F80"]),
    (Line((10, 5, -0.00049), 119.98), ["G1 Z0 F119.9"]),
    (Arc((10, 5, 2), (7, 5), True, 200), ["G3 X10 Y5 I-3 J0 F200"]),
    (Arc((10, 5, 0), (7, 5), False, 200), ["G2 X10 Y5 Z0 I-3 J0 F200"]),
    (Arc((7, 8, 2), (7, 5), True, 200), ["G3 X7 Y8 I-3 J0 F200"]),
    (Drill((20, 30), -3, 1, 100), ["G0 X20 Y30", "G0 Z1", "G1 Z-3 F100", "G0 Z1"]),
    (Drill((20, 30), -3, 1, 100, None, -1.2, 50), ["G0 X20 Y30", "G0 Z1", "G1 Z-1.2 F100", "G1 Z-3 F50", "G0 Z1"]),
    (Drill((10, 5), -5, 1, 100, 2.5, -4.5, 50),
     ["G0 Z1", "G1 Z-1.5 F100", "G0 Z1", "G0 Z-1.3", "G1 Z-4", "G0 Z1", "G0 Z-3.8", "G1 Z-4.5", "G1 Z-5 F50", "G0 Z1"]),
    (Drill((10, 5), -3, 1, 100, 2, -0.9, 50),
     ["G0 Z1", "G1 Z-0.9 F100", "G1 Z-1 F50", "G0 Z1", "G0 Z-0.8", "G1 Z-0.9 F100", "G1 Z-3 F50", "G0 Z1"]),
]


@pytest.mark.parametrize(("motion", "expected"), ROWS)
def test_each_motion_has_its_lines(motion, expected):
    """Every kind of motion becomes the lines that the trade would write for it."""
    assert motions_of(motion) == expected


REFUSED = [
    (Drill((20, 30), -3, 3, 100), "does not begin above its retract"),
    (Line((11, 5, 2), 0.01), "a feed of 0.01"),
    (Line((11, math.nan, 2), 100), "is nan"),
    (Arc((12, 5, 2), (7, 5), True, 200), "has no centre"),
]


@pytest.mark.parametrize(("motion", "message"), REFUSED)
def test_what_cannot_be_written_is_refused(motion, message):
    """A motion that no honest line can express is an error that says why, never a wrong line."""
    with pytest.raises(PostError, match=message):
        motions_of(motion)


DIALECTS = [
    ({"arcs": False}, "no arcs"),
    ({"helical_arcs": False}, "helix"),
    ({"change": "one program per cutter"}, "one cutter per program"),
    ({"slots": ((1, 112),)}, "no slot"),
]


@pytest.mark.parametrize(("dialect", "message"), DIALECTS)
def test_what_a_controller_lacks_is_said(dialect, message):
    """A program that needs what the controller lacks, or a dialect not written yet, is a clear error."""
    with pytest.raises(PostError, match=message):
        text_of(*whole_operations(), on=machine(**dialect))


def test_an_unknown_cutter_is_refused():
    """A program never calls a cutter that the table does not hold."""
    with pytest.raises(PostError, match="cutter 7"):
        text_of(operation(Rapid((0, 0, 25)), cutter=7))


CYCLES = [
    ([Drill((20, 30), -3, 1, 100)], ["G0 X20 Y30", "G0 Z2", "G99 G81 X20 Y30 Z-3 R1 F100", "G80"]),
    ([Drill((20, 30), -3, 2, 100), Rapid((40, 30, 2)), Drill((40, 30), -3, 2, 100), Rapid((40, 30, 9))],
     ["G99 G81 X20 Y30 Z-3 R2 F100", "G99 G81 X40 Y30 Z-3 R2", "G80", "G0 Z9", "G0 Z25"]),
    ([Drill((20, 30), -3, 2, 100), Rapid((40, 30, 2)), Drill((41, 30), -3, 2, 100)],
     ["G99 G81 X20 Y30 Z-3 R2 F100", "G80", "G0 X40", "G99 G81 X41 Y30 Z-3 R2"]),
    ([Drill((20, 30), -3, 2, 100), Rapid((40, 30, 2)), Drill((40, 30), -3, 1, 100)],
     ["G99 G81 X20 Y30 Z-3 R2 F100", "G80", "G0 X40", "G99 G81 X40 Y30 Z-3 R1"]),
    ([Drill((20, 30), -5, 0.5, 100, 2.5), Rapid((20, 30, 2)), Drill((20, 40), -5, 0.5, 90, 2.5)],
     ["G99 G83 X20 Y30 Z-5 R0.5 Q2.5 F100", "G80", "G0 Z2", "G99 G83 X20 Y40 Z-5 R0.5 Q2.5 F90"]),
    ([Drill((20, 30), -3, 2, 100, None, -1, 50)], ["G0 Z2", "G1 Z-1 F100", "G1 Z-3 F50", "G0 Z2"]),
]


@pytest.mark.parametrize(("motions", "expected"), CYCLES)
def test_drilling_cycles_where_one_feed_will_do(motions, expected):
    """Holes of one feed are G81 or G83 back to R, from hole to hole without a word between; G80 ends them at once."""
    drills = operation(Rapid((20, 30, 25)), Rapid((20, 30, 2)), *motions, cutter=203, kind="drill")
    text = "\n".join(code(text_of(drills, on=machine(canned_cycles=True))))
    assert "\n".join(expected) in text
    assert text.count("G80") == 1 + sum(line == "G80" for line in text.splitlines())


INCHES = [
    (Rapid((12.7, 5, 2)), ["G0 X0.5"]),
    (Line((35.4, 5, 2), 100), ["G1 X1.3937 F3.93"]),
    (Arc((10, 5, 2), (7, 5), True, 240), ["G3 X0.3937 Y0.1969 I-0.1181 J0 F9.44"]),
    (Arc((10, 5, -0.5), (7, 5), False, 240), ["G2 X0.3937 Y0.1969 Z-0.0197 I-0.1181 J0 F9.44"]),
]


@pytest.mark.parametrize(("motion", "expected"), INCHES)
def test_inches_appear_only_in_print(motion, expected):
    """A program in inches says G20 and has lengths to 0.0001 in and feeds to 0.01 in a minute, rounded down."""
    on = machine(units="in", decimals=4)
    lines = code(text_of(operation(Rapid((10, 5, 25)), Rapid((10, 5, 2)), motion), on=on))
    assert lines[0].startswith("G20 ")
    assert lines[lines.index("G0 Z0.0787") + 1 : -3] == expected


def test_an_inch_programs_comments_give_both():
    """Thickness and stick-out are in inches and millimetres, places in inches, so that nobody sets the wrong figure."""
    text = text_of(*whole_operations(), on=machine(units="in", decimals=4), stock=(-15, -15, 275, 175))
    for said in ("sheet 0.0472 in = 1.2 mm thick", "stick-out 0.7874 in = 20 mm", "Z up, inches",
                 "touch off Z0 on the sheet at X1.9685 Y0.7874", "0.5906 in = 15 mm right of"):
        assert said in " ".join(text.replace("(... ", "").replace(")\n", " ").split())


def test_a_part_of_a_setup_says_so():
    """Where each cutter has its program, the heading says which of how many it is."""
    alone = replace(Program("Fernhill", setup(whole_operations()[0])), part=2, parts=3)
    text = GCode().write(alone, machine(change="one program per cutter"), CUTTERS)
    assert "(program 2 of the 3 of this setup, in this order)" in text


def test_lengths_from_a_table():
    """A machine with a changer and a table of lengths gets M6 and G43 with its slot, no stop, and G49 at the end."""
    lines = code(text_of(*whole_operations(), on=machine(change="automatic", length="length table",
                                                         slots=((1, 112), (2, 203)))))
    assert lines[1:4] == ["T1 M6", "G43 H1", "G0 Z25"]
    change = lines.index("T2 M6")
    assert lines[change - 1 : change + 3] == ["M5", "T2 M6", "G43 H2", "G0 Z25"]
    assert "M0" not in lines
    assert lines[-3:] == ["M5", "G49", "M2"]


def test_changer_without_lengths_stops_to_touch_off():
    """A changer without a table of lengths still stops for Z0 before any motion in Z."""
    lines = code(text_of(*whole_operations(), on=machine(change="automatic")))
    assert lines[1:4] == ["T112 M6", "M0", "G0 Z25"]


def test_speed_set_by_hand():
    """Where the program cannot set the speed, every change of speed is a stop, spindle off, with the speed in words."""
    text = text_of(*whole_operations(), on=machine(speed_control=False))
    assert "G0 Z25\nM5\n(set the spindle to 9000 rev/min by hand)\nM0\nS9000 M3\nG4 P4" in text


def test_dialect_of_lines():
    """Percent lines, line numbers, line ending, dwell in milliseconds and the style of comments follow the machine."""
    on = machine(percent_lines=True, line_numbers=True, line_ending="crlf", dwell="milliseconds", comments=";")
    text = text_of(*whole_operations(), on=on)
    assert text.count("\r\n") == text.count("\n")
    lines = text.split("\r\n")
    assert (lines[0], lines[-2], lines[-1]) == ("%", "%", "")
    assert "; title: Fernhill" in lines
    assert "N10 G21 G17 G90 G94 G40 G49 G80 G98 G54" in lines
    assert any(re.fullmatch(r"N\d+ G4 P4000", line) for line in lines)
    assert not any("(" in line for line in lines)


def test_no_comments():
    """A controller without comments gets the same code and nothing else."""
    assert text_of(*whole_operations(), on=machine(comments="none")).splitlines() == code(text_of(*whole_operations()))


def test_line_numbers_keep_to_five_digits():
    """Line numbers begin again before the sixth digit, which the language forbids (RS274/NGC 3.3.1)."""
    many = operation(*(Rapid((x % 7, 0, 25)) for x in range(11000)))
    numbers = [int(re.match(r"N(\d+) ", line)[1]) for line in code(text_of(many, on=machine(line_numbers=True)))]
    assert max(numbers) == 99990
    assert numbers.count(10) == 2


def test_mirrored_panel_is_described_as_it_lies():
    """Heading and touch-off of a panel that is machined from the inside are in program coordinates."""
    text = text_of(*whole_operations(), zero=(260, 0), mirrored=True, stock=(-15, -15, 275, 175), touch_off=(250, 5))
    assert "(stock as it lies: X-15 to X275, Y-15 to Y175)" in text
    assert "turned over left to right, the inside up" in text
    where = "(X0 Y0: 15 mm right of and 15 mm above the lower left corner of the stock)"
    assert where in text
    assert "at X10 Y5, then start)" in text


HOSTILE = ["x)\nG0 Z-50", "x\rG0 Z-50 M3", "(a (b) c)", "; G1 Z-9", "%", "MSG,look", "Höhe ½ Ω", "!~?\x18", "y" * 300,
           "a\u2028G0 Z-5", "\x0bM3", "/G0 Z-5"]


@pytest.mark.parametrize("comments", ["( )", ";"])
@pytest.mark.parametrize("hostile", HOSTILE)
def test_text_from_the_job_is_never_code(hostile, comments):
    """Whatever the title, panel, feature, tag or cutter is called, the code is the same and comments stay comments."""
    on = machine(comments=comments)
    first, *rest = whole_operations()
    texts = GCode().write(
        Program(hostile, setup(replace(first, feature=hostile, tags=(hostile,)), *rest, panel=hostile)), on,
        {112: replace(MILL, trade_name=hostile), 203: DRILL})
    assert code(texts) == code(text_of(*whole_operations(), on=on))
    for line in texts.split("\n"):
        assert line.isascii()
        assert len(line) <= 80
        if is_comment(line):
            assert not set(line) & set("%!~\r\t\x18")
            assert comments == ";" or re.fullmatch(r"\([^();]*\)", line)
            assert not re.match(r"\W*MSG", line)


places = st.floats(-500, 500)


@settings(max_examples=150, deadline=None)
@given(places, places, st.floats(0.2, 200), st.floats(0, 6.28), st.floats(0.1, 6.2), st.booleans())
def test_printed_arcs_in_inches_obey_the_language(cx, cy, radius, begin, turn, ccw):
    """Rounded to 0.0001 in, the two radii agree within 0.0002 in (RS274/NGC 3.5.3.2), and the centre is true."""
    end_angle = begin + (turn if ccw else -turn)
    start, end = ((cx + radius * math.cos(a), cy + radius * math.sin(a)) for a in (begin, end_angle))
    whole = operation(Rapid((*start, 25)), Rapid((*start, 1)), Arc((*end, 1), (cx, cy), ccw, 100))
    lines = code(text_of(whole, on=machine(units="in", decimals=4)))
    at = {word[0]: float(word[1:]) for line in lines[:-3] if line.startswith("G0") for word in line.split()[1:]}
    words = {word[0]: float(word[1:]) for word in lines[-4].split()[1:]}
    centre = at["X"] + words["I"], at["Y"] + words["J"]
    radii = (math.dist(place, centre) for place in ((at["X"], at["Y"]), (words["X"], words["Y"])))
    assert abs(next(radii) - next(radii)) < 0.0002
    assert math.dist(centre, (cx / 25.4, cy / 25.4)) < 0.0003


@settings(max_examples=150, deadline=None)
@given(places, places, st.floats(0.05, 200), st.floats(0, 6.28), st.floats(0, 6.28), st.booleans())
def test_printed_arcs_obey_the_language(cx, cy, radius, begin, turn, ccw):
    """Rounded, the two radii agree within 0.002 mm (RS274/NGC 3.5.3.2), the centre is true and the turn is kept."""
    end_angle = begin + (turn if ccw else -turn)
    start, end = ((cx + radius * math.cos(a), cy + radius * math.sin(a)) for a in (begin, end_angle))
    lines = code(text_of(operation(Rapid((*start, 25)), Rapid((*start, 1)), Arc((*end, 1), (cx, cy), ccw, 100))))
    at = {word[0]: float(word[1:]) for line in lines[:-3] if line.startswith("G0") for word in line.split()[1:]}
    line = lines[-4]
    if not line.startswith(("G2", "G3")):
        assert math.dist(start, end) < 0.0015
        assert turn * radius < 0.003
        return
    assert line.startswith("G3" if ccw else "G2")
    words = {word[0]: float(word[1:]) for word in line.split()[1:]}
    centre = at["X"] + words["I"], at["Y"] + words["J"]
    begin_radius = math.dist((at["X"], at["Y"]), centre)
    assert abs(begin_radius - math.dist((words["X"], words["Y"]), centre)) < 0.002
    assert math.dist(centre, (cx, cy)) < 0.003
    printed = math.atan2(words["Y"] - centre[1], words["X"] - centre[0]) - math.atan2(
        at["Y"] - centre[1], at["X"] - centre[0])
    printed = (printed if ccw else -printed) % (2 * math.pi) or 2 * math.pi
    planned = turn if math.dist(start, end) > 1e-7 else 2 * math.pi  # an end that equals the start is a full circle
    assert abs(printed - planned) < 0.006 / radius + 1e-6


def test_a_general_library_reads_the_same_holes():
    """pygcode, a library of others, finds every hole of the program where the plan has it."""
    holes = [(30.0, 40.0), (60.125, 40.0), (200.5, -3.062)]
    drills = operation(*(Drill(hole, -1.9, 2, 90) for hole in holes), cutter=203, kind="drill")
    drills = replace(drills, motions=(Rapid((*holes[0], 25)), *drills.motions))
    found, place = [], {}
    for line in text_of(drills).splitlines():
        for gcode in GLine(line).block.gcodes:
            place.update(gcode.get_param_dict("XYZ"))
            if str(gcode.word) == "G01" and place["Z"] < 0:
                found.append((place["X"], place["Y"]))
    assert found == holes


def test_the_text_is_the_same_every_time():
    """The same program gives the same bytes."""
    assert text_of(*whole_operations()) == text_of(*whole_operations())

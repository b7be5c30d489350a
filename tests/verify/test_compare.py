"""Programs are typed by hand, the plan beside them; nothing here was written by a post-processor."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.errors import RereadError
from toolpaths.finding import Finding
from toolpaths.motion import Arc, Drill, Line, Motion, Operation, Program, Rapid, Setup
from toolpaths.reread import read
from toolpaths.stroke import Reading, SpindleOn
from toolpaths.tables.rows import Dialect, Machine
from toolpaths.verify.compare import compare
from toolpaths.verify.walk import walk

MACHINE = Machine(
    "by hand", (300, 180, 60), 70, 3000, 24000, 350, 4, True, 2000, 800, 3000, 1500, 200, 0.3, 0.05, 20, 20, 12, 60,
    Dialect(), "",
)  # fmt: skip
CLEAR = 25.0


def operation(feature: str, cutter: int, rpm: float, motions: tuple[Motion, ...]) -> Operation:
    return Operation("bore", cutter, feature, ("A1",), rpm, 240, 60, 0.5, -1.5, (), motions)


def program(*operations: Operation) -> Program:
    setup = Setup("rear", 1, (0, 0), False, (5, 5), CLEAR, 1.2, (0, 0, 200, 100), operations)
    return Program("typed by hand", setup)


PLAN = program(
    operation("hole[1]", 112, 8000, (
        Rapid((10, 20, CLEAR)), Rapid((10, 20, 2)),
        Line((10, 20, -1), 60.04),
        Arc((10, 20, -1.5), (7, 20), True, 240),
        Arc((10, 20, -1.5), (7, 20), True, 240),
        Rapid((10, 20, 2)),
    )),
    operation("hole[2]", 112, 9000.5, (
        Rapid((40, 20, 2)),
        Line((40, 20, -1.5), 60),
        Line((50, 20, -1.5), 300),
        Arc((55, 25, -1.5), (50, 25), True, 200),
        Line((55, 30.00049, -1.5), 300),
        Rapid((55, 30, CLEAR)),
    )),
    operation("hole[3]", 203, 3000, (
        Rapid((80, 20, CLEAR)),
        Drill((80, 20), -3, 1, 90, peck=1.5, slow_from=-2.2, slow_feed=45),
        Drill((90, 20), -3, 1, 90),
    )),
)  # fmt: skip

TEXT = """\
(by hand)
G17 G21 G40 G49 G54 G80 G90 G94 G98
T112
M0
G0 Z25
S8000 M3
G4 P4
G0 X10 Y20
Z2
G1 Z-1 F60
G3 X10 Y20 Z-1.5 I-3 J0 F240
X10 Y20 I-3 J0
G0 Z2
S9000
G0 X40
G1 Z-1.5 F60
X50 F300
G3 X55 Y25 I0 J5 F200
G1 Y30 F300
G0 Z25
M5
T203
M0
G0 Z25
S3000 M3
G4 P4
G0 X80 Y20
Z1
G1 Z-0.5 F90
G0 Z1
Z-0.3
G1 Z-2 F90
G0 Z1
Z-1.8
G1 Z-2.2 F90
Z-3 F45
G0 Z1
X90
G1 Z-3 F90
G0 Z25
M5
M30
"""


def differences(text: str, plan: Program = PLAN, machine: Machine = MACHINE) -> tuple[Finding, ...]:
    return compare(read(text), plan, machine)


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


def line_of(text: str, content: str) -> int:
    return text.splitlines().index(content) + 1


def test_a_faithful_text_has_no_differences() -> None:
    """A text that says what the plan means, rounded to its decimals, has no finding."""
    assert differences(TEXT) == ()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("X50 F300\n", "X43.333 F300\nX47\nX50\n"),  # a straight cut in three
        ("G3 X55 Y25 I0 J5 F200", "G3 X53 Y21 I0 J5 F200\nX55 Y25 I-3 J4"),  # an arc in two: 3, 4, 5
        ("X10 Y20 I-3 J0\n", "X4 Y20 I-3 J0\nX10 Y20 I3 J0\n"),  # a full circle in two halves
        ("Z-1.5 I-3 J0 F240\nX10 Y20 I-3 J0", "Z-1.5 I-3 J0 F240\nG3 Y20 I-3"),
        ("G0 Z2\nS9000", "G0 Z1\nZ2\nS9000"),  # a rapid in two
        ("Z-1.8\n", "Z-1.99\n"),  # deeper back down the pecked hole
        ("Z1\nZ-0.3\nG1 Z-2 F90", "Z1\nG1 Z-2 F90"),  # or all the way by feed
        ("Z1\nG1 Z-0.5 F90", "Z1\nX80 Y20\nG1 Z-0.2 F90\nZ-0.5"),
        ("S9000\n", "S9001\n"),  # 9000.5 rounded either way
    ],
)
def test_the_same_shape_said_otherwise_is_the_same(old: str, new: str) -> None:
    """Compared by shape, not by count: pieces, repeated words, another way down a pecked hole are the same."""
    assert differences(changed(old, new)) == ()


def test_two_planned_pieces_in_one_line_are_the_same() -> None:
    """Collinear planned moves at one feed may be one line of text."""
    first, second, third = PLAN.setup.operations
    motions = (*second.motions[:2], Line((44, 20, -1.5), 300), *second.motions[2:])
    plan = program(first, replace(second, motions=motions), third)
    assert differences(TEXT, plan) == ()


FAULTS = [
    ("a shifted coordinate", "G1 Y30 F300", "G1 Y31 F300", "G1 Y31 F300", "hole[2]", "planned Y30.0005", "Y31.0000"),
    ("a cut too short", "G1 Y30 F300", "G1 Y29 F300", "G1 Y29 F300", "hole[2]", "planned Y30.0005", "Y29.0000"),
    ("a slanted cut", "Y30 F300", "X56 Y30 F300", "G1 X56 Y30 F300", "hole[2]", "X55.0000", "X56.0000"),
    ("one step off", "G0 X40\n", "G0 X40.001\n", "G0 X40.001", "hole[2]", "X40.0000", "X40.0010"),
    ("swapped turn, full", "\nX10 Y20 I-3 J0\n", "\nG2 X10 Y20 I-3 J0\n", "G2 X10 Y20 I-3 J0", "hole[1]",
     "counter-clockwise", "says clockwise"),
    ("swapped turn", "G3 X55 Y25 I0 J5 F200", "G2 X55 Y25 I0 J5 F200", "G2 X55 Y25 I0 J5 F200", "hole[2]",
     "counter-clockwise", "says clockwise"),
    ("other centre", "G3 X55 Y25 I0 J5 F200", "G3 X55 Y25 I5 J0 F200", "G3 X55 Y25 I5 J0 F200", "hole[2]",
     "X50.0000 Y25.0000", "X55.0000 Y20.0000"),
    ("no helix", "Z-1.5 I-3", "I-3", "G3 X10 Y20 I-3 J0 F240", "hole[1]", "Z-1.5", "Z-1.0"),
    ("dropped line", "G1 Y30 F300\n", "", None, "hole[2]", "a cut to X55 Y30 Z-1.5", "leaves it out"),
    ("dropped corner", "G3 X55 Y25 I0 J5 F200\nG1 Y30 F300\n", "G1 Y30 F300\n", "G1 Y30 F300", "hole[2]",
     "a counter-clockwise arc to X55 Y25 Z-1.5", "leaves it out"),
    ("dropped approach", "G0 X40\n", "", None, "hole[2]", "X40 Y20 Z2", "leaves it out"),
    ("feed times ten", "X50 F300", "X50 F3000", "X50 F3000", "hole[2]", "300.0", "3000.0"),
    ("other feed in the breakthrough", "Z-3 F45", "Z-3", "Z-3", "hole[3]", "45.0", "90.0"),
    ("other cutter", "T203", "T204", "G0 X80 Y20", "hole[3]", "T203", "T204"),
    ("other speed", "S3000 M3", "S4500 M3", "G1 Z-0.5 F90", "hole[3]", "3000", "4500"),
    ("speed not changed", "S9000\n", "", "G1 Z-1.5 F60", "hole[2]", "9000", "8000"),
    ("spindle stopped", "S3000 M3", "S3000 M5", "G1 Z-0.5 F90", "hole[3]", "3000", "says 0"),
    ("spindle backwards", "S3000 M3", "S3000 M4", "G1 Z-0.5 F90", "hole[3]", "M3", "M4"),
    ("rapid for a cut", "X50 F300", "G0 X50 F300", "G0 X50 F300", "hole[2]", "a cut", "a rapid"),
    ("no last retract", "G0 Z25\nM5\nM30", "M5\nM30", "M30", "hole[3]", "X90 Y20 Z1", "ends before it"),
    ("extra cut at the end", "G0 Z25\nM5\nM30", "G0 Z25\nG1 X100 F90\nM5\nM30", "G1 X100 F90", "",
     "X100 Y20 Z25", "after"),
    ("parking", "G0 Z25\nM5\nM30", "G0 Z25\nX0 Y0\nM5\nM30", "X0 Y0", "", "X0 Y0 Z25", "after"),
    ("extra cut", "X50 F300", "Y21 F300\nY20\nX50", "Y21 F300", "hole[2]", "X40 Y21 Z-1.5", "not planned"),
    ("no retract after touching off", "T203\nM0\nG0 Z25\n", "T203\nM0\n", "G0 X80 Y20", "hole[3]", "Z25", "Znan"),
    ("no stop to touch off", "T203\nM0\n", "T203\n", None, "hole[3]", "Z set anew", "moves before it is"),
    ("a stop with the spindle turning", "M5\nT203", "T203", None, "hole[3]", "Z set anew", "moves before it is"),
    ("deeper peck", "G1 Z-0.5 F90", "G1 Z-1.5 F90", "G1 Z-1.5 F90", "hole[3]", "Z-0.5", "Z-1.5"),
    ("rapid below the last peck", "Z-1.8\n", "Z-2.1\n", "Z-2.1", "hole[3]", "", ""),
    ("other units", "G21", "G20", "(by hand)", "", "mm", "in"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "feature", "planned", "said"), [row[1:] for row in FAULTS],
                         ids=[row[0] for row in FAULTS])  # fmt: skip
def test_faults_are_found_where_they_are(
    old: str, new: str, at: str | None, feature: str, planned: str, said: str
) -> None:
    """A fault in the text is found at its line and feature, and the first finding gives both values."""
    text = changed(old, new)
    found = differences(text)
    assert found and {finding.code for finding in found} == {"differs"}
    first = found[0]
    assert (first.severity, first.panel, first.feature) == ("error", "rear", feature)
    assert at is None or first.line == line_of(text, at)
    assert planned in first.message and said in first.message


def test_a_fault_in_one_place_is_told_there_only() -> None:
    """After one wrong coordinate or one missing line the comparison finds its way back to the plan."""
    for old, new in [("G1 Y30", "G1 Y31"), ("G0 X40", "G0 X41"), ("Z-3 F45\n", ""), ("X50 F300", "X50 F301")]:
        found = differences(changed(old, new))
        assert 1 <= len(found) <= 3
        assert len({finding.feature for finding in found}) == 1


def test_every_dropped_line_that_moves_is_noticed() -> None:
    """Without any one line that changes the shape of the path, its feed or its speed, the text is not the plan's."""
    lines = TEXT.splitlines()
    harmless = {
        "(by hand)",
        "G4 P4",  # time, not shape: the judge asks for the run-up
        "M5",  # the judge asks for the spindle to stop
        "M30",
        "Z-0.3", "Z-1.8",  # how far a pecked hole is entered by rapid is free
    }  # fmt: skip
    missed = []
    for number, line in enumerate(lines):
        if line in harmless:
            continue
        text = "\n".join(lines[:number] + lines[number + 1 :])
        try:
            found = compare(read(text), PLAN, MACHINE)
        except RereadError:
            continue  # the reader itself refuses the rest
        if not found:
            missed.append((number + 1, line))
    assert missed == []


def test_slots_stand_for_cutters() -> None:
    """On a machine with a slot table the T word is the slot that holds the planned cutter."""
    machine = replace(MACHINE, program=replace(MACHINE.program, slots=((1, 112), (2, 203))))
    assert differences(TEXT.replace("T112", "T1").replace("T203", "T2"), machine=machine) == ()
    assert "planned cutter T2, program has T1" in differences(
        TEXT.replace("T112", "T2").replace("T203", "T1"), machine=machine
    )[-1].message


def test_chords_stand_for_arcs_only_where_the_machine_has_none() -> None:
    """Chords within 0.004 mm of a planned arc are its shape on a machine without arcs, and a difference on others."""
    plan = program(operation("ring[1]", 1, 8000, (
        Rapid((10, 0, CLEAR)), Rapid((10, 0, 1)), Line((10, 0, -1), 60),
        Arc((10, 0, -1), (0, 0), True, 240), Rapid((10, 0, CLEAR)),
    )))  # fmt: skip

    def text(count: int) -> str:
        turns = [2 * math.pi * n / count for n in range(1, count + 1)]
        chords = "".join(f"X{10 * math.cos(t):.3f} Y{10 * math.sin(t):.3f}\n" for t in turns)
        return (
            "G17 G21 G40 G49 G54 G80 G90 G94\nT1\nM0\nG0 Z25\nS8000 M3\nG0 X10 Y0\nZ1\nG1 Z-1 F60\nF240\n"
            f"{chords}G0 Z25\nM5\nM2\n"
        )

    without = replace(MACHINE, program=replace(MACHINE.program, arcs=False))
    assert differences(text(112), plan, without) == ()  # height of a chord: 10 (1 - cos(pi / 112)) = 0.0039 mm
    assert differences(text(80), plan, without)  # 0.0077 mm
    assert differences(text(112), plan)


def test_a_canned_cycle_is_the_drill_it_stands_for() -> None:
    """G81 with G99 makes a planned Drill; with G98 it returns to another height, which is a difference."""
    plan = program(operation("hole[1]", 5, 3000, (
        Rapid((10, 10, CLEAR)), Drill((10, 10), -2, 1, 90), Drill((20, 10), -2, 1, 90),
    )))  # fmt: skip
    text = (
        "G17 G21 G40 G49 G54 G80 G90 G94 G99\nT5\nM0\nG0 Z25\nS3000 M3\nG4 P4\nG0 X10 Y10\n"
        "G81 X10 Y10 Z-2 R1 F90\nX20\nG80\nG0 Z25\nM5\nM2\n"
    )
    assert differences(text, plan) == ()
    assert "planned Z1.0000, program says Z25.0000" in differences(text.replace("G99", "G98"), plan)[0].message


def test_a_program_without_strokes_lacks_everything() -> None:
    """A text that does nothing leaves out every planned stroke; the findings are bounded."""
    found = differences("G21\nM2")
    assert 10 < len(found) <= 41


def test_walk_spells_out_a_pecked_drill() -> None:
    """Drill: over the hole, down to retract, pecks counted from retract, slower where the point breaks through."""
    plan = program(operation("hole[1]", 5, 3000, (
        Rapid((10, 10, CLEAR)), Drill((12, 10), -3, 1, 90, peck=2, slow_from=-2, slow_feed=40),
    )))  # fmt: skip
    strokes = [row.stroke for row in walk(plan, MACHINE)]
    assert [(s.kind, s.end, s.feed) for s in strokes] == [
        ("rapid", (10, 10, CLEAR), 0), ("rapid", (12, 10, CLEAR), 0), ("rapid", (12, 10, 1), 0),
        ("cut", (12, 10, -1), 90), ("rapid", (12, 10, 1), 0),
        ("cut", (12, 10, -2), 90), ("cut", (12, 10, -3), 40), ("rapid", (12, 10, 1), 0),
        ("rapid", (12, 10, CLEAR), 0),
    ]  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.integers(0, len(TEXT) - 1), st.sampled_from("0123456789.-GXYZ\n"), st.integers(0, 2))
def test_any_edited_text_is_compared_to_its_end(place: int, character: str, length: int) -> None:
    """Any small edit either is refused by the reader, or changes no stroke, or is found."""
    text = TEXT[:place] + character + TEXT[place + length :]
    try:
        reading = read(text)
    except RereadError:
        return
    found = compare(reading, PLAN, MACHINE)
    if meaning(reading) == meaning(read(TEXT)):
        assert found == ()
    else:
        assert found or changes_only_what_is_free(text)


def meaning(reading: Reading) -> list[object]:
    """What the comparison is to hold: every stroke, but not its line, nor the spindle during a rapid."""
    strokes = [replace(s, line=0, speed=s.speed if s.kind == "cut" else 0) for s in reading.strokes]
    ends = reading.strokes[-1].line if strokes else 0
    return [*strokes, *(e.clockwise for e in reading.events if isinstance(e, SpindleOn) and e.line <= ends)]


def changes_only_what_is_free(text: str) -> bool:
    """Whether only the rapid back down the pecked hole, or the last digit of a speed, was edited."""
    lines = set(text.split()) ^ set(TEXT.split())
    return any(line in lines for line in ("Z-0.3", "Z-1.8", "S9000"))

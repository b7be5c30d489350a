"""RS274/NGC (NISTIR 6556), section numbers beside each row; all text is typed by hand."""

import math

import pytest

from toolpaths.errors import RereadError
from toolpaths.reread import interpret
from toolpaths.stroke import Change, Dwell, End, LengthOffset, SpindleOff, SpindleOn, Stop, Stroke

MODES = "G21 G17 G90 G94 G40 G49 G54 G80 G98\nF100 S1000\n"


def moves(text: str, start: tuple[float, float, float], modes: str = MODES) -> list[tuple[str, tuple[float, ...]]]:
    events = interpret(text, start, modes).events
    return [(e.kind, tuple(round(c, 6) for c in e.end)) for e in events if isinstance(e, Stroke)]


def only_stroke(text: str, start: tuple[float, float, float]) -> Stroke:
    (stroke,) = interpret(text, start, MODES).events
    assert isinstance(stroke, Stroke)
    return stroke


# ---- worked examples of the report


def test_g81_absolute_example() -> None:
    """G81 in absolute mode makes the four moves of 3.5.16.2, example 1."""
    assert moves("G90 G81 G98 X4 Y5 Z1.5 R2.8", (1, 2, 3)) == [
        ("rapid", (4, 5, 3)), ("rapid", (4, 5, 2.8)), ("cut", (4, 5, 1.5)), ("rapid", (4, 5, 3)),
    ]  # fmt: skip


def test_g81_incremental_example() -> None:
    """G81 in incremental mode with L3 makes the moves of 3.5.16.2, example 2."""
    expected = [("rapid", (1, 2, 4.8))]
    for x, y in [(5, 7), (9, 12), (13, 17)]:
        expected += [("rapid", (x, y, 4.8)), ("cut", (x, y, 4.2)), ("rapid", (x, y, 4.8))]
    assert moves("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", (1, 2, 3)) == expected


def test_g81_of_table_10() -> None:
    """Table 10, lines 16 to 23: the incremental G81 with L2 from (30, 1, -0.5)."""
    assert moves("G91 G81 X3 Y2 Z-0.8 R1.5 L2", (30, 1, -0.5)) == [
        ("rapid", (30, 1, 1)),
        ("rapid", (33, 3, 1)), ("cut", (33, 3, 0.2)), ("rapid", (33, 3, 1)),
        ("rapid", (36, 5, 1)), ("cut", (36, 5, 0.2)), ("rapid", (36, 5, 1)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "start", "centre", "end", "sweep", "ccw"),
    [
        ("G2 X10 Y16 I3 J4", (7, 7, 0), (10, 11), (10, 16), None, False),  # 3.5.3.2; radius 5
        ("G2 X0 R7.01 Z0.5", (3, 1, 0), (1.5, 7.8476), (0, 1), None, False),  # Table 10, line 6
        ("g3 x13.5 y0 i-2.5", (16, 2.5, 0), (13.5, 2.5), (13.5, 0), 1.5 * math.pi, True),  # C.1
        ("g2 x32.5 j2.5", (32.5, 0, 0), (32.5, 2.5), (32.5, 0), 2 * math.pi, False),  # C.1
        ("g2 x57.5 j2.5", (57.5, 0, 0), (57.5, 2.5), (57.5, 0), 2 * math.pi, False),  # C.1
        ("g2 x69 r4", (64, 4, 0), None, (69, 4), 2 * math.asin(2.5 / 4), False),  # C.1, sweep computed
        ("g2 j2.5 y5", (79.5, 0, 0), (79.5, 2.5), (79.5, 5), math.pi, False),  # C.1, computed
        ("G3 X69 R4", (64, 4, 0), None, (69, 4), 2 * math.asin(2.5 / 4), True),  # 3.5.3.1
        ("G3 X69 R-4", (64, 4, 0), None, (69, 4), 2 * math.pi - 2 * math.asin(2.5 / 4), True),  # 3.5.3.1
        ("G2 X69 R-4", (64, 4, 0), None, (69, 4), 2 * math.pi - 2 * math.asin(2.5 / 4), False),
        ("G91 G3 X-5 Y5 I-5", (7, 7, 0), (2, 7), (2, 12), math.pi / 2, True),  # 3.5.17: I, J always increments
    ],
)
def test_arcs(text, start, centre, end, sweep, ccw) -> None:  # type: ignore[no-untyped-def]
    """Arcs of the report, in centre and radius format, have the centre, end, turn and direction that it gives."""
    arc = only_stroke(text, start)
    assert arc.centre is not None
    if centre is not None:
        assert arc.centre == pytest.approx(centre, abs=5e-5)
    assert arc.end[:2] == pytest.approx(end)
    assert arc.ccw is ccw
    if sweep is not None:
        assert arc.sweep == pytest.approx(sweep)


def test_arc_radius_of_the_report() -> None:
    """3.5.3.2: G2 X10 Y16 I3 J4 from (7, 7) has radius 5."""
    assert only_stroke("G2 X10 Y16 I3 J4", (7, 7, 0)).radius == pytest.approx(5)


def test_spacing_example_as_a_move() -> None:
    """3.3: ``g0x +0. 12 34y 7`` is G0 X0.1234 Y7."""
    assert moves("g0x +0. 12 34y 7", (0, 0, 0)) == [("rapid", (0.1234, 7, 0))]


def test_length_offset_makes_the_z_reading_unknown() -> None:
    """Table 10, lines 10 and 14: G43 H2 changes the Z reading by a length that the text does not hold."""
    state = interpret("G43 H2", (0, 0, 0.5), MODES)
    assert math.isnan(state.position[2])
    assert state.events == [LengthOffset(1, 2)]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("X[1 + 2 * 3 - 4 / 5]", "expression"),  # C.2
        ("X[2.0 / 3 * 1.5 - 5.5 / 11.0]", "expression"),  # 3.3.2.3
        ("#3=6 G1 X#3", "parameter"),  # 3.3.3
        ("G92 X7", "G92"),  # 3.5.18
        ("G41 G1 X3 Y3", "G41"),  # App B.3
        ("G42 D1", "G42"), ("G18", "G18"), ("G19", "G19"), ("G10 L2 P1 X0", "G10"), ("G28", "G28"), ("G30", "G30"),
        ("G53 G0 X0", "G53"), ("G55", "G55"), ("G59.3", "G59.3"), ("G61.1", "G61.1"), ("G64", "G64"), ("G93", "G93"),
        ("G38.2 Z-1", "G38.2"), ("G84 X1", "G84"), ("G85 X1", "G85"), ("G86 X1", "G86"), ("G87 X1", "G87"),
        ("G88 X1", "G88"), ("G89 X1", "G89"), ("G92.1", "G92.1"), ("M48", "M48"), ("M60", "M60"), ("G0 A90", "A90"),
        ("G1 X1 D2", "D2"),
    ],
)  # fmt: skip
def test_what_the_language_has_and_we_do_not_is_refused_by_name(text: str, name: str) -> None:
    """A word outside our part of the language is never skipped or guessed: the error names it."""
    with pytest.raises(RereadError, match="accept") as caught:
        interpret(text, (0, 0, 0), MODES)
    assert name in caught.value.message


def test_block_delete_before_words_is_refused() -> None:
    """3.3: whether a line with / runs is set on the machine, so no reader can know; without words it is harmless."""
    with pytest.raises(RereadError, match="block delete"):
        interpret("/G0 X1", (0, 0, 0), MODES)
    assert interpret("/ (nothing)\n/N5", (0, 0, 0), MODES).events == []


# ---- errors of the language

ERRORS = [
    ("G5 X1", "no such word"),
    ("G1.05 X1", "whole number"),
    ("M3.5", "whole number"),
    ("M99", "no such word"),
    ("G0 G1 X1", "both set the motion"),  # 3.3.5
    ("G90 G91", "both set the distance"),
    ("M3 M5", "one group"),
    ("M0 M2", "one group"),
    ("M3 M7 M0 M6 M9", "more than 4"),  # 3.3.5
    ("G0 X1 X2", "given twice"),
    ("G1 F1 F2 X1", "given twice"),
    ("X1", "while G80 is in force"),  # 3.5.16.1
    ("G80 X1", "axis words with G80"),
    ("G0", "without X, Y or Z"),  # 3.5.1
    ("G1 F100", "without X, Y or Z"),  # 3.5.2
    ("F0\nG1 X1", "without a feed"),
    ("F-1", "negative"),
    ("S-1", "negative"),  # 3.7.2
    ("T-1", "negative"),  # 3.7.3
    ("T1.5", "whole number"),
    ("M6", "nothing is selected"),
    ("G4", "without P"),  # 3.5.4
    ("G4 P-1", "negative P"),
    ("G43", "without H"),  # 3.5.11
    ("G43 H-1", "negative"),
    ("G43 H1.5", "whole number"),
    ("H1", "nothing on the line uses it"),
    ("G0 X1 P5", "nothing on the line uses it"),
    ("G1 X1 I2", "nothing on the line uses it"),
    ("G2 X1 Y1 I1 K1", "K: nothing"),
    ("G81 X1 Z-1 R1 Q1", "Q: nothing"),
    ("L2", "L: nothing"),
    ("G2 X5", "without I, J or R"),  # 3.5.3.2
    ("G2 X5 Z1", "without I, J or R"),
    ("G2 I5", "without X or Y"),  # 3.5.3.2: no full circle without an end word
    ("G2 Z-1 I5", "without X or Y"),
    ("G2 X10 I4.9989", "begins at radius 4.9989"),  # 3.5.3.2: 0.0022 apart
    ("G2 X0 Y0 I0 J0", "radius 0"),
    ("G2 X0 R5", "ends where it began"),  # 3.5.3.1
    ("G2 X10 R4.9", "too small"),
    ("G2 X10 I5 R5", "with R and with I or J"),
    ("G81 R1", "without X, Y or Z"),  # 3.5.16
    ("G81 X1 R1", "without Z"),
    ("G81 X1 Z-1", "without R"),
    ("G81 X1 Z1 R0.5", "R below Z"),
    ("G81 X1 Z-1 R1 L0", "L0"),
    ("G81 X1 Z-1 R1 L-1", "negative"),
    ("G81 X1 Z-1 R1 L1.5", "whole number"),
    ("G82 X1 Z-1 R1", "G82 without P"),
    ("G82 X1 Z-1 R1 P-0.1", "negative P"),
    ("G83 X1 Z-1 R1", "G83 without Q"),
    ("G83 X1 Z-1 R1 Q0", "Q not above 0"),
    ("G83 X1 Z-1 R1 Q-1", "Q not above 0"),
    ("G83 X1 Z-1 R1 Q0.000001", "beyond any drilling"),
    ("G81 X1 Z-1 R1\nG82 X2 P1", "G82 without Z"),  # 3.5.16: in force only while the same cycle is
    ("G81 X1 Z-1 R1\nG0 X3\nG81 X2", "G81 without Z"),
    ("G4 P1 G82 X1 Z-1 R1", "both could claim P"),
    ("G20", "units change"),
    ("M2\nG0 X1", "after the end"),  # 3.6.1
    ("M30\nM2", "after the end"),
]


@pytest.mark.parametrize(("text", "says"), ERRORS)
def test_errors_of_the_language(text: str, says: str) -> None:
    """What the report calls an error (or leaves without use) is refused, in words that say what is wrong."""
    with pytest.raises(RereadError) as caught:
        interpret(text, (0, 0, 0), MODES)
    assert says in caught.value.message


def test_the_arc_tolerance_of_the_report() -> None:
    """3.5.3.2: radii 0.0019 mm apart are an arc; in inch text 0.00019 in are."""
    interpret("G2 X10 I4.99905", (0, 0, 0), MODES)
    interpret("G2 X10 I4.999905", (0, 0, 0), MODES.replace("G21", "G20"))
    with pytest.raises(RereadError):
        interpret("G2 X10 I4.99985", (0, 0, 0), MODES.replace("G21", "G20"))


# ---- order within a line, section 3.8, Table 8


def test_order_of_execution_within_a_line() -> None:
    """Table 8: whatever the order of words, T, M6, M3, G4, G43, the motion and M0 act in this order."""
    events = interpret("M0 Z5 G43 H3 G0 G4 P2 M3 M6 T3", (0, 0, 0), MODES).events
    assert [type(event) for event in events] == [Change, SpindleOn, Dwell, LengthOffset, Stroke, Stop]
    assert interpret("M5 M0", (0, 0, 0), MODES).events == [SpindleOff(1), Stop(1)]


def test_a_feed_is_read_in_the_units_before_the_line_changes_them() -> None:
    """Table 8, rows 3 and 12: F acts before G21 of the same line, so F with the first unit word has no unit."""
    with pytest.raises(RereadError, match="units are not stated"):
        interpret("G21 F100")


def test_g90_and_g98_of_the_same_line_act_before_the_motion() -> None:
    """Table 8, rows 17, 18 and 20."""
    assert moves("G0 X5 G91", (1, 0, 0)) == [("rapid", (6, 0, 0))]
    assert moves("G81 X0 Y0 Z-1 R1 G99", (0, 0, 5))[-1] == ("rapid", (0, 0, 1))


# ---- single words


def test_cycles_stay_in_force_and_g98_returns_to_the_start_height() -> None:
    """3.5.16: R and Z stay in force while the cycle does; G98 returns to the height before the cycle, G99 to R."""
    assert moves("G98 G81 X1 Y1 Z-2 R1\nX2\nG99 Y3", (0, 0, 5)) == [
        ("rapid", (1, 1, 5)), ("rapid", (1, 1, 1)), ("cut", (1, 1, -2)), ("rapid", (1, 1, 5)),
        ("rapid", (2, 1, 5)), ("rapid", (2, 1, 1)), ("cut", (2, 1, -2)), ("rapid", (2, 1, 5)),
        ("rapid", (2, 3, 5)), ("rapid", (2, 3, 1)), ("cut", (2, 3, -2)), ("rapid", (2, 3, 1)),
    ]  # fmt: skip


def test_absolute_repeats_make_the_same_hole() -> None:
    """3.5.16: in absolute mode L repeats the cycle at the same place."""
    cuts = [end for kind, end in moves("G99 G81 X1 Y1 Z-2 R1 L2", (0, 0, 5)) if kind == "cut"]
    assert cuts == [(1, 1, -2), (1, 1, -2)]


def test_g82_dwells_at_the_bottom() -> None:
    """3.5.16: G82 feeds to Z, dwells P seconds, and returns."""
    events = interpret("G99 G82 X0 Y0 Z-2 R1 P0.6", (0, 0, 1), MODES).events
    assert [type(event) for event in events] == [Stroke, Dwell, Stroke]
    assert events[1] == Dwell(1, 0.6)


def test_g83_pecks() -> None:
    """3.5.16: G83 feeds by Q, clears the hole, comes back to just above the last bottom (0.254 mm, from memory)."""
    assert moves("G99 G83 X0 Y0 Z-4 R1 Q2", (0, 0, 1)) == [
        ("cut", (0, 0, -1)), ("rapid", (0, 0, 1)), ("rapid", (0, 0, -0.746)),
        ("cut", (0, 0, -3)), ("rapid", (0, 0, 1)), ("rapid", (0, 0, -2.746)),
        ("cut", (0, 0, -4)), ("rapid", (0, 0, 1)),
    ]  # fmt: skip


def test_inches_become_millimetres() -> None:
    """3.5.7: lengths and feeds of an inch text arrive in mm and mm/min."""
    (stroke,) = interpret("G1 X1 F10", (0, 0, 0), MODES.replace("G21", "G20")).events
    assert isinstance(stroke, Stroke)
    assert (stroke.end, stroke.feed) == ((25.4, 0, 0), 254)


def test_speed_cutter_and_feed_travel_with_the_stroke() -> None:
    """A stroke carries the feed (0 for a rapid), the speed (0 when stopped) and the cutter that are in force."""
    text = "T2 M6\nG43 H2\nS900 M3\nG0 X1 Y0 Z0\nG1 X2 F50\nS800\nX3\nM5\nX4\n"
    strokes = [event for event in interpret(text, (0, 0, 0), MODES).events if isinstance(event, Stroke)]
    assert [(s.feed, s.speed, s.cutter, s.z_known) for s in strokes] == [
        (0, 900, 2, True), (50, 900, 2, True), (50, 800, 2, True), (50, 0, 2, True),
    ]  # fmt: skip


def test_m4_and_spindle_words() -> None:
    """3.6.2: M3 turns clockwise, M4 counter-clockwise, M5 stops; 3.6.3: M6 stops the spindle."""
    assert interpret("M4\nM5\nM3\nT1 M6", (0, 0, 0), MODES).events == [
        SpindleOn(1, 1000, clockwise=False), SpindleOff(2), SpindleOn(3, 1000), Change(4, 1), SpindleOff(4),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("between", "known"),
    [
        ("", False), ("M1", False), ("G49", False), ("G43 H0", False), ("S1 M3\nM0", False),
        ("M0", True), ("G43 H7", True), ("M5\nM0", True),
    ],
)  # fmt: skip
def test_z_after_a_change(between: str, known: bool) -> None:
    """Z is unknown after M6 until G43 with a length, or a stop with the spindle off at which Z0 is touched off."""
    strokes = [e for e in interpret(f"T7 M6\n{between}\nG0 Z5", (0, 0, 0), MODES).events if isinstance(e, Stroke)]
    assert [(stroke.z_known, stroke.cutter, math.isnan(stroke.start[2])) for stroke in strokes] == [(known, 7, True)]


def test_t_itself_changes_where_the_program_has_no_m6() -> None:
    """Without any M6, T puts the cutter in (the operator does it at the stop); the same T again changes nothing."""
    events = interpret("T112\nM0\nT112\nT203", (0, 0, 0), MODES).events
    assert events == [Change(1, 112, by_hand=True), Stop(2), Change(4, 203, by_hand=True)]
    for change in ("M6", "m06", "M 6"):
        assert interpret(f"T1\nT2 {change}\nT3", (0, 0, 0), MODES).events == [Change(2, 2)]


def test_a_move_to_where_it_is_makes_no_stroke() -> None:
    """A line that goes nowhere is no physical move."""
    assert moves("G0 X0 Y0\nG1 Z0", (0, 0, 0)) == []


@pytest.mark.parametrize("text", ["G91 G0 X1", "G2 X1 Y0 I0.5", "G81 X1 Y1 Z-1 R1", "G3 X1 Y0 R1"])
def test_no_motion_is_derived_from_an_unknown_position(text: str) -> None:
    """An increment, an arc or a cycle from a position that no word has given is refused."""
    with pytest.raises(RereadError, match="not known"):
        interpret(text, modes=MODES)


def test_coordinates_not_given_are_nan() -> None:
    """Before the text gives X and Y they are unknown, not 0."""
    (stroke,) = interpret("G0 Z25", modes=MODES).events
    assert isinstance(stroke, Stroke)
    assert [math.isnan(c) for c in (*stroke.start, *stroke.end)] == [True] * 5 + [False]


def test_the_end() -> None:
    """3.6.1: M2 and M30 end the program."""
    assert interpret("M2", modes=MODES).events == [End(1)]
    assert interpret("M30", modes=MODES).events == [End(1)]

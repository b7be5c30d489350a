import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from toolpaths.errors import RereadError
from toolpaths.reread import read
from toolpaths.stroke import Change, Dwell, End, LengthOffset, Reading, SpindleOff, SpindleOn, Stop, Stroke

HEADER = "G17 G21 G40 G49 G54 G80 G90 G94 G98"

BY_HAND = f"""\
%
(panel: typed by hand)
{HEADER}
T112
(fit T112, touch off Z0)
M0
G0 Z25
S8000 M3
G4 P4
G0 X10 Y20
Z2
G1 Z-1 F60
G3 X10 Y20 I-3 J0 F240
G0 Z25
M5
M30
%
"""


def test_a_whole_program_typed_by_hand() -> None:
    """A program for a machine that pauses for its cutter reads as the events that a machinist would expect."""
    reading = read(BY_HAND)
    assert reading.units == "mm"
    assert [(type(event), event.line) for event in reading.events] == [
        (LengthOffset, 3), (Change, 4), (Stop, 6), (Stroke, 7), (SpindleOn, 8), (Dwell, 9), (Stroke, 10), (Stroke, 11),
        (Stroke, 12), (Stroke, 13), (Stroke, 14), (SpindleOff, 15), (End, 16),
    ]  # fmt: skip
    first, *_, circle, last = reading.strokes
    assert first.z_known and first.end[2] == 25 and first.cutter == 112
    assert circle == Stroke(13, "cut", (10, 20, -1), (10, 20, -1), 240, 8000, 112, True, (7, 20), True)
    assert last.end == (10, 20, 25)


@pytest.mark.parametrize("word", HEADER.split()[:-1])
def test_every_mode_must_be_stated(word: str) -> None:
    """No default is relied on: a motion before any one of these is stated is refused, and the error names it."""
    text = BY_HAND.replace(f"{word} ", "", 1)
    with pytest.raises(RereadError) as caught:
        read(text)
    assert word in caught.value.message and caught.value.line == 7


def test_the_return_mode_must_be_stated_before_a_cycle() -> None:
    """G98 or G99 must be stated before a canned cycle; other motions do not need it."""
    text = BY_HAND.replace(" G98", "")
    read(text)
    with pytest.raises(RereadError, match="G98 or G99"):
        read(text.replace("G1 Z-1 F60", "F60\nG81 X10 Z-1 R1"))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("M30\n", "", "does not end"),
        ("M30\n", "M30\nM5\n", "after the end"),
        (HEADER, HEADER + " X1", "axis words"),
        (" F60", "", "without a feed"),
        ("S8000 ", "", "speed is not stated"),
        ("G0 Z25\nS8000", "Z25\nS8000", "G80 is in force"),
        ("T112", "T112 M6 M6", "one group"),
    ],
)
def test_faults_in_a_whole_program(old: str, new: str, says: str) -> None:
    """A missing end, words after it, a missing feed, speed or motion word are refused."""
    assert old in BY_HAND
    with pytest.raises(RereadError) as caught:
        read(BY_HAND.replace(old, new, 1))
    assert says in caught.value.message


@pytest.mark.parametrize("wrong", ["G1 E1", "G0 X1 X2"])
def test_an_error_of_language_comes_first(wrong: str) -> None:
    """A word that is none, or twice on its line, is told before a fault in what an earlier line does."""
    text = BY_HAND.replace(" F60", "", 1).replace("M5\n", f"{wrong}\n")
    with pytest.raises(RereadError) as caught:
        read(text)
    assert text.splitlines()[caught.value.line - 1] == wrong


def test_axis_words_before_any_motion_word() -> None:
    """The motion mode has no default either."""
    with pytest.raises(RereadError, match="motion mode is not stated"):
        read("G17 G21 G40 G49 G54 G90 G94\nX1\nM2")


@pytest.mark.parametrize("text", ["", "\n\n", "%\n%\n", "(nothing)\n", "M2"])
def test_a_text_without_program_is_refused(text: str) -> None:
    """A text that holds no end, or states no units, is no program."""
    with pytest.raises(RereadError):
        read(text)


def test_equal_texts_written_differently_read_alike() -> None:
    """3.3, 3.3.6: case, spaces, zeros, line numbers, line endings and the order of words have no meaning."""
    other = []
    for number, line in enumerate(BY_HAND.splitlines()):
        if line[0] not in "%(":
            line = f"n{number} " + "  ".join(reversed(line.lower().split()))
            line = line.replace("g0", "g00").replace("m5", "m05")
        other.append(line)
    assert read("\r\n".join(other)) == read(BY_HAND)


CODES = [0, 1, 2, 3, 4, 5, 6, 17, 21, 30, 43, 49, 54, 80, 81, 83, 90, 91, 98, 9999999]
NUMBERS = [*map(str, CODES), "-1.5", ".5", "-0", "1e3", "0.0001", ""]
WORDS = st.tuples(st.sampled_from("GGGGGMMXYZZIJRFSTHPQLNKDA#[(;/%"), st.sampled_from(NUMBERS)).map("".join)


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=200), st.lists(st.lists(WORDS, max_size=5).map(" ".join), max_size=8).map("\n".join)),
       st.booleans())  # fmt: skip
@example("G83 X1 Y1 Z-9999999 R1 Q0.0001 F1\nM2", True)
@example("G91 G81 X9999999 Y1 Z-1 R1 L9999999 F1\nM2", True)
def test_any_text_reads_or_is_refused(text: str, as_body: bool) -> None:
    """Whatever the text, the reader gives a Reading or a RereadError, never another exception."""
    if as_body:
        text = f"{HEADER}\nG0 X1 Y1 Z1\nF1 S1\n{text}"
    try:
        assert isinstance(read(text), Reading)
    except RereadError as error:
        assert error.line >= 1 and error.message

"""The short way of reading ordinary lines, held against the way of every line."""

import importlib
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import postprocessors
from postprocessors.base import ProgramPost
from toolpaths import pipeline
from toolpaths.errors import RereadError
from toolpaths.fit.parts import parts
from toolpaths.job.load import read_job
from toolpaths.reread import read
from toolpaths.reread.ordinary import ORDINARY
from toolpaths.tables import load

INTERPRET = importlib.import_module("toolpaths.reread.interpret")  # the room's own name for it is the function
NEVER = re.compile(r"(?!)")
SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
MACHINES = [row.name for row in load.machines().values() if row.cuts]


def found(text: str, *, flat: bool = False) -> str:
    """All that a text reads as, to the last bit and with what is unknown; or its error."""
    try:
        return repr(read(text, flat=flat))
    except RereadError as error:
        return f"line {error.line}: {error.message}"


def found_without(text: str, *, flat: bool = False) -> str:
    """The same where no line is taken for an ordinary one."""
    with patch.object(INTERPRET, "ORDINARY", NEVER):
        return found(text, flat=flat)


GOOD = "G21 G17 G90 G94 G40 G49 G54 G80 G98"
HEADERS = st.sampled_from([GOOD] * 16 + [GOOD.replace("G21", "G20")] * 6 + [GOOD.replace(" G80", ""), "G21", ""])
STARTS = st.sampled_from(["F100 S1000\nG0 X1 Y0 Z0"] * 16 + ["G0 X1 Y0 Z0", "F100\nG1 X1 Z0", ""])
ENDS = st.sampled_from(["M2"] * 8 + ["M2\n", "", "M2\nN5", "M2\nG1 X1"])

PLACES = [0.0, 1.0, 2.0, -1.0, 0.5, 12.25]
WAYS = [(1.0, 0.0), (0.0, -1.0), (3.0, 4.0), (0.5, 0.25), (-2.0, 0.0)]
SLIPS = [0.0] * 16 + [0.0019, 0.0021, 0.00019, 0.00021]
"""How far an arc's end lies beside its circle: either side of what the language allows, in millimetres and inches."""

OTHER = [
    "G21", "G90", "G91", "G80\nG1", "G99 G81 X1 Y1 Z-1 R1", "G98 G82 X2 Z-1 R1 P1\nX3", "G4 P1", "T7\nG0 Z9", "G49",
    "T7 M6\nG1 Z1", "M0", "S900 M3", "M5", "G43 H2", "", " \t", "(a note)", "N5", "; all", "g1 x1", "X1 G1", "F9",
    "G1 X1 (a note)", "G2 X2 R5", "G1\tX.5", "G0 Z5 M5", "G1 X 1 2", "N7 G1 Z+3.", "G0 X3", "Y3 F2", "Z-3", "G2 X1 I4",
    "G3 X1 Y0 J-5F8", "G2 Y1 I0.5 J0.5",
]  # fmt: skip
WRONG = [
    "X3 K0", "/G0 X1", "M6", "G55", "G1 X1 X2", "G0 G1 X1", "F-1", "F0", "G5", "A1", "é", "%", "G1 X1 I1", "G2 X1",
    "G3 I1", "G3 Z1 I1", "M2", "G20", "G1 X1e3", "G1 X1000000", "G1 X10000000", "G1 X10000000.1", "G1 X1.12345678901",
    "X", "+1", "G1 F100", "G1 X3 F-1", "G1 X3 F0", "G01 Y--1", "G1 Y٣", "N123456 G1 X1", "N1.5 G1 X1", "N5 1 G1 X1",
    "G010 X1", "G1.0 X5", "G00001 X5", "G4", "G2 X9 Y9 I0 J0", "G0 X#3", "G1 X1 (a", "M2\nM0", "M2\nX5", "M2\nN5",
    "G 1 X1", "G1 X1 2", "G81 Y2", "G1\nG1 E1", " " * 260, f"G1{' ' * 260}X1", f"G1 X{'0' * 254}1",
    f"G1 X0.{'0' * 254}1",
]  # fmt: skip
OTHER_LINES, WRONG_LINES = st.sampled_from(OTHER), st.sampled_from(WRONG)

BEFORE = {
    "": "G0 X1 Y0 Z0\nF100",
    "inches": "G0 X1 Y0 Z0\nF100",
    "feed": "F100\nG1 X1 Y0 Z0",
    "arc": "F100\nG0 X1 Y0 Z0\nG2 X1 I-1",
    "cycle": "G0 X1 Y0 Z9\nF100\nG81 X1 Z-1 R1",
    "increments": "G0 X1 Y0 Z0\nF100\nG91",
    "no motion": "G0 X1 Y0 Z0\nF100\nG80",
    "no feed": "G0 X1 Y0 Z0",
    "no place": "F100",
    "no height": "F100\nG1 X1 Y0",
    "no axis": "F100\nG1 X1 Y0",
    "no modes": "",
}


@pytest.mark.parametrize("before", BEFORE)
def test_both_ways_find_the_same_after(before: str) -> None:
    """Whatever the line, and whatever the controller knows before it, both ways give the very same."""
    modes = {"inches": GOOD.replace("G21", "G20"), "no modes": "G21 G90"}.get(before, GOOD)
    for line in [*OTHER, *WRONG]:
        for after in ("", "X7\n", "G0 X7\nG1 Y1 F1\n"):
            text = f"{modes}\n{BEFORE[before]}\n{line}\n{after}M2\n"
            flat = before == "no axis"
            assert found(text, flat=flat) == found_without(text, flat=flat), text


@st.composite
def programs(draw: Callable[..., Any]) -> str:
    """Programs of moves and arcs as posts write them, with other lines between; half of them with a fault or a slip of
    one character somewhere."""
    x, y = 1.0, 0.0
    lines = [draw(HEADERS), draw(STARTS)]
    for kind in draw(st.lists(st.sampled_from(["move", "move", "arc", "arc", "other"]), max_size=10)):
        if kind == "other":
            lines.append(draw(OTHER_LINES))
            continue
        words = [draw(st.sampled_from(["", "", "N7", "N00012"]))]
        axes = draw(st.sampled_from(["XY", "XY", "XYZ", "X", "YZ", "Z"])) if kind == "move" else "XYZ"
        centre: list[str] = []
        if kind == "move":
            words.append(draw(st.sampled_from(["G0", "G1", "G01", "G1", ""])))
            x = draw(st.sampled_from(PLACES)) if "X" in axes else x
            y = draw(st.sampled_from(PLACES)) if "Y" in axes else y
        else:
            words.append(draw(st.sampled_from(["G2", "G3", "G03"] * 3 + [""])))
            i, j = draw(st.sampled_from(WAYS))
            x, y = draw(st.sampled_from([(x, y), (x + 2 * i, y + 2 * j)]))
            x += draw(st.sampled_from(SLIPS))
            centre = [f"I{i:g}", f"J{j:g}"]
        places = {"X": f"X{x:.8g}", "Y": f"Y{y:.8g}", "Z": draw(st.sampled_from(["", "Z-1", "Z.5", "Z0"]))}
        words += [*(places[axis] for axis in axes), *centre, draw(st.sampled_from(["", "", "", "F50", "F.5"]))]
        lines.append(draw(st.sampled_from([" ", " ", ""])).join(word for word in words if word))
    lines.append(draw(ENDS))
    fault = draw(st.sampled_from(["none", "none", "none", "line", "two lines", "character"]))
    for _ in range({"line": 1, "two lines": 2}.get(fault, 0)):
        lines.insert(draw(st.integers(0, len(lines))), draw(WRONG_LINES))
    text = draw(st.sampled_from(["\n", "\n", "\r\n", "\r"])).join(lines)
    if fault != "character":
        return text
    place, gone = draw(st.integers(0, len(text))), draw(st.integers(0, 1))
    return text[:place] + draw(st.sampled_from(["", *" GXNIF0.5+-;(%/\t\r\n\x0b\x00e٣"])) + text[place + gone :]


@settings(max_examples=400, deadline=None)
@given(programs(), st.sampled_from([False] * 9 + [True]))
@example(f"{GOOD}\nF1\nT1\nG0 X1\nG0 X1\nG0 Z1\nG3 X1 Y1 I1\nM2", False)
@example(f"{GOOD}\nF1\nG0 X1 Y0 Z0\nG3 X1 I-1\nG2 X0 Y0 I0 J0\nG1 X1 X1\nG1 E1\nM2", False)
@example(f"{GOOD}\nF1\nG0 X0 Y0 Z9\nG81 X1 Z0 R1\nG0 X5\nG81 X2\nM2", False)
@example(f"{GOOD}\nF1\nG0 X0 Y0\nG2 X2 I1\nM2", True)
def test_both_ways_find_the_same(text: str, flat: bool) -> None:
    """Whatever the lines, right or wrong, the short way gives the same events to the last bit, or the same error of the
    same line word for word; so it does where there is no axis Z."""
    if flat:
        text = re.sub(r" ?Z[-.\d]+", "", text)
    assert found(text, flat=flat) == found_without(text, flat=flat)


@pytest.mark.parametrize("machine", MACHINES)
def test_both_ways_find_the_same_in_whole_programs(machine: str) -> None:
    """Every program of every sample reads alike both ways, and most lines of it are ordinary ones."""
    post = postprocessors.find("gcode")
    assert isinstance(post, ProgramPost)
    lines: list[str] = []
    for sample in SAMPLES:
        job = read_job(sample, machine=machine)
        for one in pipeline.plan(job)[0]:
            for part in parts(one.program, job.machine.program) if one.program else ():
                text = pipeline.written(post, part, job)
                assert found(text) == found_without(text)
                lines += text.splitlines()
    assert sum(ORDINARY.fullmatch(line) is not None for line in lines) > 0.7 * len(lines)

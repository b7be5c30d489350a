"""One small job on machines that never were: each dialect's programs are read again, judged and looked at."""

from __future__ import annotations

import functools
import itertools
import math
import re
from pathlib import Path

import pygcode
import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.job.load import read_job
from toolpaths.motion import Arc, Drill, Line, Motion, Rapid
from toolpaths.reread import read
from toolpaths.stroke import Reading

JOB = """
format = 1
title = "trial plate"
units = "mm"
machine = "machine.toml"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 4
width = 90
height = 60
[[panel.hole]]
at = [12, 12]
diameter = 4.3
[[panel.hole]]
at = [24, 12]
diameter = 4.3
[[panel.hole]]
at = [12, 26]
diameter = 1.1
[[panel.hole]]
at = [20, 44]
diameter = 16
[[panel.d_hole]]
at = [45, 45]
diameter = 9.5
across_flat = 8.6
[[panel.cutout]]
at = [65, 24]
width = 32
height = 26
corner_radius = 4
[[panel.hole]]
at = [80, 52]
diameter = 6
finish = "mark"
"""

DIALECTS = {
    "plain": "",
    "inch": 'units = "in"',
    "fine inch": 'units = "in"\ndecimals = 5',
    "no arcs": "arcs = false",
    "no arcs, inch": 'arcs = false\nunits = "in"',
    "coarse chords": "arcs = false\nchord_tolerance = 0.006",
    "no helices": "helical_arcs = false",
    "cycles": "canned_cycles = true",
    "no cycles": "canned_cycles = false",
    "cycles, inch, semicolons": 'canned_cycles = true\nunits = "in"\ncomments = ";"',
    "a cutter a program": 'change = "one program per cutter"',
    "changer": 'change = "automatic"\nlength = "length table"',
    "changer, touch off": 'change = "automatic"',
    "pause, length table": 'length = "length table"',
    "all at once": 'units = "in"\nhelical_arcs = false\ncanned_cycles = true\nchange = "one program per cutter"\n'
    'comments = ";"\nline_numbers = true\npercent_lines = true\nline_ending = "crlf"\ndwell = "milliseconds"',
    "bare": 'comments = "none"\nline_numbers = true\npercent_lines = true\nline_ending = "crlf"',
}


def job_on(folder: Path, dialect: str, spindle: str = "", job: str = JOB):
    """The job on a bench mill whose ``[program]`` table has these keys besides its own."""
    (folder / "machine.toml").write_text(f'format = 1\nname = "bench mill"\n{spindle}\n[program]\n{dialect}\n')
    (folder / "trial.toml").write_text(job)
    return read_job(folder / "trial.toml")


@pytest.fixture(scope="module")
def made_on(tmp_path_factory):
    """A dialect's job and its program texts by file name, built once for each."""

    @functools.cache
    def make(name: str):
        job = job_on(tmp_path_factory.mktemp("dialect"), DIALECTS[name])
        made = pipeline.make(job, posts=["gcode"])
        errors = [finding for finding in made.findings if finding.severity == "error"]
        assert not errors
        programs = sorted((file.facts["order"], file.path, file.content) for file in made.files
                          if file.facts["kind"] == "program")  # fmt: skip
        return job, {path: content.decode("ascii") for _, path, content in programs}

    return make


def code_of(text: str) -> list[str]:
    """Lines of code without line numbers."""
    lines = [re.sub(r"^N\d+ ", "", line) for line in text.splitlines()]
    return [line for line in lines if line and not line.startswith(("(", ";", "%"))]


@pytest.mark.parametrize("name", DIALECTS)
def test_every_dialect_leaves_the_piece(made_on, name) -> None:
    """The written texts, read from the file names' order and judged without the plan, leave the designed piece."""
    job, texts = made_on(name)
    assert pipeline.verify_texts(job, "plate", list(texts.items())) == ()


@pytest.mark.parametrize("name", DIALECTS)
def test_every_dialect_is_read_by_a_general_library(made_on, name) -> None:
    """pygcode takes every line, and each axis ends where our reader has it."""
    _, texts = made_on(name)
    for text in texts.values():
        last: dict[str, float] = {}
        for line in text.splitlines():
            parsed = pygcode.Line(line if line != "%" else "")
            assert not parsed.block.modal_params, line
            for word in parsed.block.words:
                if word.letter in "XY" or (word.letter == "Z" and "G99" not in line):  # a cycle ends at R
                    last[word.letter] = float(word.value)
        scale = 25.4 if "G20" in text else 1.0
        end = read(text).strokes[-1].end
        assert [last[axis] * scale for axis in "XYZ"] == pytest.approx(list(end), abs=1e-9)


def test_the_plain_words_of_each_dialect(made_on) -> None:
    """Units, arcs, cycles, changes, comments, numbers and line ends are those that the machine's file asks for."""

    def words(name: str) -> str:
        return "\n".join(code_of("\n".join(made_on(name)[1].values())))

    assert words("inch").startswith("G20 ") and "G21" not in words("inch")
    assert max(len(figure) for figure in re.findall(r"[XYZ]-?\d*\.(\d+)", words("fine inch"))) == 5
    assert not re.search(r"G[23] ", words("no arcs") + words("no arcs, inch"))
    assert not re.search(r"G[23] [^\n]*Z", words("no helices")) and re.search(r"G3 ", words("no helices"))
    assert len(words("coarse chords")) < len(words("no arcs"))
    assert re.search(r"G99 G81 X12 Y12 Z\S+ R2 F\d+\nG99 G81 X24 Y12 Z\S+ R2\n", words("cycles"))
    assert "G80\nG0 Z" in words("cycles")
    assert not re.search(r"G8[13]", words("no cycles"))
    assert re.search(r"T506 M6\nG43 H506\nG0 Z5\nS3000 M3", words("changer"))
    assert words("changer").endswith("M5\nG49\nM2")
    assert "M0" not in words("changer")
    assert "T506 M6\nM0\nG0 Z" in words("changer, touch off")
    assert "T506\nM0\nG43 H506\nG0 Z" in words("pause, length table")
    assert all("(" not in text and ";" not in text for text in made_on("bare")[1].values())
    for text in (*made_on("bare")[1].values(), *made_on("all at once")[1].values()):
        assert text.startswith("%\r\n") and text.endswith("M2\r\n%\r\n")
        assert text.count("\n") == text.count("\r\n")
        assert re.search(r"^N10 G2[01] ", text, re.MULTILINE)
    assert "G4 P3000" in words("all at once")


def test_a_pecked_hole_is_one_line_of_a_cycle(tmp_path) -> None:
    """G83 with R half a millimetre over the sheet and Q the peck; the reader's pecks are those of the plan."""
    start, _ = JOB.split("[[panel.hole]]", 1)
    steel = start.replace("aluminium", "mild steel") + "[[panel.hole]]\nat = [12, 26]\ndiameter = 1.2\n"
    (file,) = pipeline.make(job_on(tmp_path, "", job=steel), posts=["gcode"]).files[:1]
    lines = file.content.decode().splitlines()
    (at,) = [index for index, line in enumerate(lines) if "G83" in line]
    assert re.fullmatch(r"G99 G83 X12 Y26 Z-4\.749 R0\.5 Q1\.2 F\d+", lines[at])
    assert lines[at + 1 : at + 3] == ["G80", "G0 Z2"]
    bottoms = [stroke.end[2] for stroke in read("\n".join(lines)).strokes if stroke.kind == "cut"][-5:]
    assert bottoms == pytest.approx([-0.7, -1.9, -3.1, -4.3, -4.749])


def test_the_pecks_of_an_inch_cycle_add_up_their_rounding(tmp_path) -> None:
    """Q0.0787 is 1.99898 mm: after five pecks the drill stands 5 micrometres higher, and the text is still true."""
    start, _ = JOB.split("[[panel.hole]]", 1)
    thick = start.replace("aluminium", "mild steel").replace("thickness = 4", "thickness = 9")
    job = job_on(tmp_path, 'units = "in"', job=thick + "[[panel.hole]]\nat = [12, 26]\ndiameter = 2\n")
    made = pipeline.make(job, posts=["gcode"])
    assert not [finding for finding in made.findings if finding.severity == "error"]
    assert b"R0.0197 Q0.0787" in made.files[0].content


def test_one_program_per_cutter_is_several_whole_programs(made_on) -> None:
    """PANEL.tN.nc, each with one T, its own modes, stop and end; what they cut together is what one program cuts."""
    _, texts = made_on("a cutter a program")
    _, whole = made_on("plain")
    for name, text in texts.items():
        number = re.fullmatch(r"plate\.t(\d+)\.nc", name)[1]
        lines = code_of(text)
        assert lines[:4] == ["G21 G17 G90 G94 G40 G49 G80 G98 G54", f"T{number}", "M0", "G0 Z5"]
        assert lines[-2:] == ["M5", "M2"]
        assert [line for line in lines if line.startswith("T")] == [f"T{number}"]
        assert "touch off Z0" in text
    assert len(texts) > 3

    def cuts(*found: str) -> list[tuple[object, ...]]:
        return [(s.cutter, s.start, s.end, s.feed, s.speed, s.centre) for text in found for s in read(text).strokes
                if s.kind == "cut"]  # fmt: skip

    assert cuts(*texts.values()) == cuts(*whole.values())


def test_the_sheet_names_the_program_of_each_step(tmp_path) -> None:
    """A step's program holds its cutter alone; from step to step they follow one another in the order of cutting."""
    made = pipeline.make(job_on(tmp_path, DIALECTS["a cutter a program"]), posts=["gcode"])
    inside = {file.path: re.findall(r"^T(\d+)$", file.content.decode(), re.MULTILINE) for file in made.files}
    ordered = [file.path for file in sorted(made.files, key=lambda file: file.facts.get("order", 0))
               if file.facts["kind"] == "program"]  # fmt: skip
    rows = _steps_of(made)
    assert [next(group) for _, group in itertools.groupby(row[2] for row in rows)] == ordered
    assert all(inside[program] == [t] for _, t, program, *_ in rows)
    assert ordered != sorted(ordered), "names that happen to sort would prove nothing"
    plain = pipeline.make(job_on(tmp_path, DIALECTS["plain"]), posts=["gcode"])
    assert not any(".nc" in cell for row in _steps_of(plain) for cell in row)


def _steps_of(made) -> list[list[str]]:
    """The cells of the table of the order of work."""
    (sheet,) = [file.content.decode() for file in made.files if file.path == "setup_sheet.html"]
    table = sheet.split("Order of work")[1].split("</table>")[0].split("<tbody>")[1]
    return [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in table.splitlines() if row.startswith("<tr>")]


def test_programs_of_a_setup_are_judged_together(made_on) -> None:
    """Without one of its programs a setup is incomplete; in the wrong order spot holes come after their drills."""
    job, texts = made_on("a cutter a program")
    *most, _ = texts.items()
    assert "incomplete" in {finding.code for finding in pipeline.verify_texts(job, "plate", most)}


def test_inches_and_millimetres_say_the_same(made_on) -> None:
    """The same strokes in the same order, no coordinate further off than half of each one's last digit."""
    _, metric = made_on("plain")
    _, inch = made_on("inch")
    one, other = (read(next(iter(texts.values()))).strokes for texts in (metric, inch))
    assert len(one) == len(other)
    for a, b in zip(one, other, strict=True):
        assert (a.kind, a.cutter, a.speed) == (b.kind, b.cutter, b.speed)
        assert b.feed == pytest.approx(a.feed, abs=0.254 + 1e-6)
        for p, q in zip(a.end, b.end, strict=True):
            assert p == pytest.approx(q, abs=0.0005 + 0.00127 + 1e-6, nan_ok=True)


def test_a_spindle_without_speed_control_stops_for_its_dial(tmp_path) -> None:
    """Before each speed the program stops, spindle off, and says it in two figures, which a hand can set; S says the
    same, to be judged."""
    spindle = "spindle = { speed_control = false }"
    job = job_on(tmp_path, 'change = "automatic"\nlength = "length table"', spindle)
    made = pipeline.make(job, posts=["gcode"])
    (text,) = [file.content.decode() for file in made.files if file.path == "plate.nc"]
    lines = text.splitlines()
    starts = [index for index, line in enumerate(lines) if re.match(r"S\d+ M3", line)]
    assert starts
    for index in starts:
        speed = re.match(r"S(\d+)", lines[index])[1]
        before = lines[index - 6 : index]
        assert f"(set the spindle to {speed} rev/min by hand)" in before
        assert len(speed.rstrip("0")) <= 2
        assert "M0" in before
    slower = text.replace(f"to {speed} rev/min by hand", "to 9 rev/min by hand")
    found = pipeline.verify_texts(job, "plate", [("plate.nc", slower)])
    assert {one.code for one in found} == {"comment-differs"}


def test_the_comment_at_a_stop_names_the_cutter_that_t_calls(tmp_path) -> None:
    """Where cutters are changed by hand, ``fit T...`` says the T in force, and its size is that cutter's."""
    job = job_on(tmp_path, 'change = "pause"')
    made = pipeline.make(job, posts=["gcode"])
    (text,) = [file.content.decode() for file in made.files if file.path == "plate.nc"]
    called = re.findall(r"^T(\d+)\n\(fit T(\d+): ([^,)]*)", text, re.MULTILINE)
    assert len(called) == len(re.findall(r"^T\d+$", text, re.MULTILINE)) > 1
    for word, comment, what in called:
        assert word == comment
        assert job.cutters[int(word)].name in what


def test_what_the_proof_cannot_hold_is_refused(tmp_path) -> None:
    """Three decimals of an inch, two of a millimetre, or chords coarser than the proof are bad input."""
    for dialect, reason in (
        ('units = "in"\ndecimals = 3', "coarser"),
        ("decimals = 2", "decimals"),
        ("arcs = false\nchord_tolerance = 0.01", "0.006"),
    ):
        with pytest.raises(BadInput, match=reason):
            job_on(tmp_path, dialect)


def test_slots_limit_the_cutters_and_say_what_to_load(tmp_path) -> None:
    """T is the slot, other cutters are not used; where none serves, the finding names one and what slots hold."""
    changer = 'change = "automatic"\nlength = "length table"\n'
    few = job_on(tmp_path, changer + "slots = { 1 = 506, 2 = 113, 5 = 243, 6 = 110, 8 = 211 }")
    made = pipeline.make(few, posts=["gcode"])
    (text,) = [file.content.decode() for file in made.files if file.path == "plate.nc"]
    changes = re.findall(r"T(\d+) M6\nG43 H(\d+)", text)
    assert all(slot == length for slot, length in changes)
    assert {int(slot) for slot, _ in changes} <= {1, 2, 5, 6, 8}
    assert len(changes) >= 4
    found = pipeline.check(job_on(tmp_path, changer + "slots = { 1 = 506, 2 = 120 }"))
    errors = [finding for finding in found if finding.severity == "error"]
    assert {finding.code for finding in errors} == {"no-cutter"}
    assert any("243 (4.3 mm drill) would do: give it a slot" in finding.message for finding in errors)
    assert all("the slots hold 1: 506 (6 mm spot drill), 2: 120 (5 mm end mill)" in f.message for f in errors)
    with pytest.raises(BadInput, match=r"slot 3 .* holds cutter 4321"):
        job_on(tmp_path, changer + "slots = { 3 = 4321 }")


def test_a_pen_plotter_draws_and_cuts_nothing(tmp_path) -> None:
    """A plotter gets drawings and the schedule with a note, and sheets within its reach where that is smaller."""
    flat = JOB.replace("machine.toml", "pen plotter")
    (tmp_path / "trial.toml").write_text(flat)
    job = read_job(tmp_path / "trial.toml")
    made = pipeline.make(job)
    assert [file.path for file in made.files] == ["plate.svg", "plate.dxf", "template.pdf", "drill_schedule.csv"]
    assert [finding.code for finding in made.findings if finding.severity == "note"] == ["plots-only"]
    with pytest.raises(BadInput, match="no spindle"):
        pipeline.verify_texts(job, "plate", [("plate.nc", "M2")])
    (tmp_path / "trial.toml").write_text(flat.replace("width = 90", "width = 900"))
    wide = pipeline.make(read_job(tmp_path / "trial.toml"), posts=["plotter"])
    assert "beyond-travel" not in {finding.code for finding in wide.findings}
    assert [file.path for file in wide.files][:2] == ["plate.p1.svg", "plate.p2.svg"]


def test_tight_bores_are_entered_as_gently_as_they_are_cut(job_of) -> None:
    """On its half circles into and out of the wall a bore's edge takes no more per tooth than on the wall."""
    plate = JOB.split("[[panel.hole]]", 1)[0] + "[[panel.hole]]\nat = [45, 30]\ndiameter = 5\n"
    job = job_of(plate.replace("machine.toml", "mill with tool changer"))
    assert not [finding for finding in pipeline.make(job, posts=["gcode"]).findings if finding.severity == "error"]
    (planned,) = pipeline.plan(job)[0]
    assert planned.program is not None
    (bore,) = planned.program.setup.operations
    radius = job.cutters[bore.cutter].radius
    here, chips = (0.0, 0.0), set()
    for motion in bore.motions:
        if isinstance(motion, Arc):
            path = math.dist(here, motion.centre)
            chips.add(round(motion.feed * (path + radius) / path, 3))
        here = motion.at if isinstance(motion, Drill) else motion.to[:2]
    assert chips == {round(bore.feed, 3)}


TWIN = """
format = 1
title = "twin"
units = "{units}"
machine = "{machine}"
[[panel]]
name = "plate"
material = "mild steel"
thickness = {thickness}
width = {width}
height = {height}
{features}
"""


def twin(folder: Path, units: str, machine: str):
    """The same lengths, all of them whole sixteenths of an inch, in a job of either units."""

    def said(sixteenths: float) -> str:
        return repr(sixteenths / 16) if units == "in" else repr(sixteenths / 16 * 25.4)

    features = "".join(
        f"[[panel.hole]]\nat = [{said(x)}, {said(y)}]\ndiameter = {said(d)}\n"
        for x, y, d in ((8, 8, 2), (16, 8, 2), (8, 24, 3), (20, 24, 12))
    )
    features += f"[[panel.slot]]\nat = [{said(40)}, {said(10)}]\nlength = {said(14)}\nwidth = {said(4)}\nangle = 30\n"
    features += f"[[panel.cutout]]\nat = [{said(44)}, {said(32)}]\nwidth = {said(24)}\nheight = {said(20)}\n"
    features += f"corner_radius = {said(3)}\n"
    file = folder / f"{units}.toml"
    file.write_text(TWIN.format(units=units, machine=machine, thickness=said(1), width=said(64), height=said(48),
                                features=features))  # fmt: skip
    return read_job(file)


def points(motion: Motion) -> list[float]:
    match motion:
        case Rapid(to):
            return [*to]
        case Line(to, feed):
            return [*to, feed]
        case Arc(to, centre, ccw, feed):
            return [*to, *centre, float(ccw), feed]
        case Drill(at, bottom, retract, feed):
            return [*at, bottom, retract, feed]
    raise AssertionError(motion)


@pytest.mark.parametrize("machine", ["small router", "bench mill", "mill with tool changer"])
def test_inch_and_metric_twins_are_one_job(tmp_path, machine) -> None:
    """The same lengths in either units give the same operations to a nanometre, and the same text to a digit."""
    inch, metric = (twin(tmp_path, units, machine) for units in ("in", "mm"))
    (one,), (other,) = (pipeline.plan(job)[0] for job in (inch, metric))
    assert one.program is not None and other.program is not None
    for a, b in zip(one.program.setup.operations, other.program.setup.operations, strict=True):
        assert (a.kind, a.cutter, a.feature, a.tags, a.rpm) == (b.kind, b.cutter, b.feature, b.tags, b.rpm)
        for p, q in zip(a.motions, b.motions, strict=True):
            assert type(p) is type(q)
            assert points(p) == pytest.approx(points(q), abs=1e-6)

    def reading(job) -> Reading:
        (file,) = pipeline.make(job, posts=["gcode"], panels=["plate"]).files[:1]
        return read(file.content.decode())

    step = inch.machine.program.step
    first, second = reading(inch), reading(metric)
    for a, b in zip(first.strokes, second.strokes, strict=True):
        assert (a.kind, a.cutter, a.speed, a.feed) == (b.kind, b.cutter, b.speed, pytest.approx(b.feed, abs=0.26))
        for p, q in zip(a.end, b.end, strict=True):
            assert abs(p - q) <= step + 1e-9 or (math.isnan(p) and math.isnan(q))

"""Programs for a pen: the strokes of the SVG, read by hands of this test's own; and what the proof objects to."""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import pytest
import shapely
from shapely.ops import substring
from svgelements import SVG, Arc, Shape

from postprocessors.base import number
from postprocessors.pen import PenProgram
from toolpaths import cli, pipeline
from toolpaths.drafting import PENS, draw_panel
from toolpaths.drawing import Chain, Drawing, Pen, Polyline, Scale
from toolpaths.errors import BadInput
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.reread import read
from toolpaths.shop.bench import HandWork
from toolpaths.tables import load
from toolpaths.verify.pen import judge_pen

ROOT = Path(__file__).resolve().parents[2]
HEADPHONE = ROOT / "sample_jobs" / "headphone_amplifier.toml"

SERVO = """
format = 1
name = "servo table"
source = "test"
travel = { x = 900, y = 900 }
[pen]
lower = "M4 S1200"
lift = "M5"
dwell = 0.25
feed = 4000
[program]
decimals = 4
dwell = "milliseconds"
comments = ";"
"""
CHORDS = """
format = 1
name = "sheet router"
[program]
arcs = false
helical_arcs = false
[pen]
up = 2
press = 0.2
dwell = 0.1
feed = "30 in"
"""
EQUAL = SERVO + "[scale]\nx = 1.004\ny = 1.004\n"
UNEQUAL = SERVO + "[scale]\nx = 1.004\ny = 0.997\n"


def machine(text: str, folder: Path):
    """A built-in machine by its name, or the machine of a file's text."""
    if "\n" not in text:
        return load.machine(text, folder)
    (folder / "machine.toml").write_text(text)
    return load.machine("machine.toml", folder)


def made(folder: Path, text: str, posts: tuple[str, ...], job: Path = HEADPHONE, **more):
    """A build with the files of these post-processors."""
    read = replace(read_job(job), machine=machine(text, folder))
    return pipeline.make(read, posts=posts, **more)


# --- an own reading of both texts -------------------------------------------------------------------------------


@dataclass
class Ink:
    """Lines drawn, and the lifted ways between them; mm."""

    lines: list[list[tuple[float, float]]]
    lifted: list[list[tuple[float, float]]]


def ink_of_program(text: str, lower: str = "", lift: str = "") -> Ink:
    """The program word by word: what is drawn with the pen below 0, or between the two words."""
    found, place, z, down, unit = Ink([], []), [math.nan, math.nan], math.inf, False, 1.0
    for raw in text.splitlines():
        line = re.sub(r"\(.*?\)|;.*|^N\d+ |%", "", raw).strip()
        if lower and line in (lower, lift):
            if line == lower:
                found.lines.append([(place[0], place[1])])
            down = line == lower
            continue
        words = {letter: float(value) for letter, value in re.findall(r"([A-Z])([-+.\d]+)", line)}
        g = re.findall(r"G(\d+)\b", line)
        unit = 25.4 if "20" in g else 1.0 if "21" in g else unit
        if "Z" in words:
            assert not lower and not words.keys() & {"X", "Y"}
            z = words["Z"] * unit
            if z < 0 and not down:
                found.lines.append([(place[0], place[1])])
            down = z < 0
        if not words.keys() & {"X", "Y"}:
            continue
        start, end = tuple(place), [words.get(axis, place[k] / unit) * unit for k, axis in enumerate("XY")]
        way = [start, tuple(end)]
        if "I" in words:
            ccw = "3" in g
            cx, cy = start[0] + words["I"] * unit, start[1] + words["J"] * unit
            a0, a1 = (math.atan2(y - cy, x - cx) for x, y in way)
            turn = (a1 - a0 if ccw else a0 - a1) % math.tau
            turn = math.tau if turn < 1e-9 else turn
            radius = math.hypot(start[0] - cx, start[1] - cy)
            steps = max(8, math.ceil(turn * 40))
            way = [start]
            for k in range(1, steps + 1):
                angle = a0 + (turn if ccw else -turn) * k / steps
                way.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
        assert ("0" in g) != down, raw
        if down:
            found.lines[-1].extend(way[1:])
        else:
            found.lifted.append(way)
        place = end
    return found


def ink_of_svg(text: str, width: float, corner: tuple[float, float]) -> list[list[tuple[float, float]]]:
    """The lines of one width of an SVG, broken where it says so, from its own corner; Y upwards."""
    found = []
    svg = SVG.parse(io.StringIO(text), ppi=25.4)  # a user unit is a mm then
    for shape in svg.elements(lambda one: isinstance(one, Shape)):
        if abs(float(shape.stroke_width) - width) > 1e-6:
            continue
        dash = [float(one) for one in (shape.values.get("stroke-dasharray") or "").replace(",", " ").split()]
        way: list[tuple[float, float]] = []
        for segment in list(shape.segments()):
            steps = 200 if isinstance(segment, Arc) else 1
            points = [segment.point(k / steps) for k in range(steps + 1)] if segment.start is not None else []
            way += [(corner[0] + p.x, corner[1] + float(svg.height) - p.y) for p in points]
        line = shapely.LineString(way if len(way) > 1 else way * 2)
        if not dash:
            found.append(way)
            continue
        here, index = 0.0, 0
        while here < line.length - 1e-6:
            end = here + dash[index % len(dash)]
            if index % 2 == 0:
                found.append(list(substring(line, here, min(end, line.length)).coords))
            here, index = end, index + 1
    return found


def area(lines: list[list[tuple[float, float]]], radius: float):
    return shapely.union_all([shapely.LineString(way if len(way) > 1 else way * 2).buffer(radius) for way in lines])


def length(lines: list[list[tuple[float, float]]]) -> float:
    return sum(math.dist(a, b) for way in lines for a, b in pairwise(way))


@pytest.mark.parametrize(
    ("text", "lower", "lift"),
    [("sheet router", "", ""), ("mill with tool changer", "", ""), (CHORDS, "", ""),
     (SERVO, "M4 S1200", "M5"), (EQUAL, "M4 S1200", "M5"), ("pen plotter", "M3 S90", "M3 S20")],
    ids=["by Z", "inches", "no arcs", "by word", "scaled", "pen plotter"],
)  # fmt: skip
def test_svg_and_programs_carry_the_same_strokes(tmp_path: Path, text: str, lower: str, lift: str) -> None:
    """For every width of pen the program draws the SVG's lines, dashes and all, within 0.02 mm, and no others."""
    done = made(tmp_path, text, ("plotter", "pen"), panels=["rear"])
    assert not [one for one in done.findings if one.severity == "error"]
    (svg,) = [one for one in done.files if one.path == "rear.svg"]
    programs = {one.facts["pen_mm"]: one for one in done.files if one.facts.get("post") == "pen"}
    assert list(programs) == sorted(programs) == [0.18, 0.25, 0.35]
    assert [one.path for one in programs.values()] == [f"rear.pen-{width:g}.nc" for width in programs]
    scale = svg.facts.get("scale", [1.0, 1.0])
    corner = [scale[k] * svg.facts["lower_left"][k] for k in (0, 1)]
    for width, program in programs.items():
        drawn = ink_of_program(program.content.decode(), lower, lift)
        wanted = ink_of_svg(svg.content.decode(), width, (corner[0], corner[1]))
        assert len(drawn.lines) == len(wanted)
        assert length(drawn.lines) == pytest.approx(length(wanted), rel=1e-3)
        near = 0.02
        assert shapely.difference(area(drawn.lines, 0.05), area(wanted, 0.05 + near)).area < 1e-6
        assert shapely.difference(area(wanted, 0.05), area(drawn.lines, 0.05 + near)).area < 1e-6


def test_unequal_factors_draw_the_same_lines(tmp_path: Path) -> None:
    """Where x and y are out differently arcs become chords, and ellipses in the SVG, and lie on each other; only where
    the dashes of a slanted line begin may differ, by the difference of the factors."""
    done = made(tmp_path, UNEQUAL, ("plotter", "pen"), panels=["rear"])
    (svg,) = [one for one in done.files if one.path == "rear.svg"]
    corner = (1.004 * svg.facts["lower_left"][0], 0.997 * svg.facts["lower_left"][1])
    whole = re.sub(r' stroke-dasharray="[^"]*"', "", svg.content.decode())
    assert "<ellipse" in whole and "<circle" not in whole
    for program in (one for one in done.files if one.facts.get("post") == "pen"):
        drawn = ink_of_program(program.content.decode(), "M4 S1200", "M5").lines
        wanted = ink_of_svg(whole, program.facts["pen_mm"], corner)
        assert shapely.difference(area(drawn, 0.05), area(wanted, 0.07)).area < 1e-6
        if program.facts["pen_mm"] == 0.25:  # lettering is unbroken
            assert shapely.difference(area(wanted, 0.05), area(drawn, 0.07)).area < 1e-6


def test_widths_are_steps_of_the_standard() -> None:
    """Every pen has a width of the series 0.13 to 2 mm, each about the root of 2 wider than the last one (widths of
    ISO 9175-1, as code-knacker.de and de-academic.com list them with ISO 128-20)."""
    series = [0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0]
    assert all(b / a == pytest.approx(math.sqrt(2), rel=0.03) for a, b in pairwise(series))
    assert {width for _, width, _ in PENS} <= set(series)


# --- the proof ---------------------------------------------------------------------------------------------------


def small() -> Drawing:
    """A dashed rectangle and circle, a circle, two strokes and a dot."""
    pens = (
        Pen("by hand", 0.35, (4.2, 1.05), (Chain(rounded_rectangle((20.0, 10.0), 16.0, 8.0, 2.0).segments, True),
                                          Chain(circle((36.0, 10.0), 7.0).segments, True))),
        Pen("openings", 0.35, (), (Chain(circle((50.0, 10.0), 9.0).segments, True),
                                   Polyline(((0.0, 0.0), (5.0, 8.0), (10.0, 0.0))), Polyline(((2.0, 15.0),)))),
    )  # fmt: skip
    return Drawing("t", "plate", (-5.0, -5.0, 60.0, 20.0), pens)


def objections(text: str, own, drawing: Drawing | None = None, standing=()) -> list[str]:
    flat = own.pen.by_command
    return [one.code for one in judge_pen(read(text, flat=flat), drawing or small(), own, standing)]


@pytest.mark.parametrize("text", ["sheet router", "mill with tool changer", CHORDS, SERVO, UNEQUAL])
def test_what_is_written_is_proved(tmp_path: Path, text: str) -> None:
    """The proof accepts what the post-processor writes, for every way to move a pen."""
    own = machine(text, tmp_path)
    drawing = replace(small(), scale=Scale(*own.scale, own.name))
    assert objections(PenProgram().write(drawing, own), own, drawing) == []


FAULTS = {
    "deeper": (r"G1 Z-0\.5", "G1 Z-0.6", 1),
    "not lowered": (r"G1 Z-0\.5.*\n", "", 2),
    "not lifted": (r"G0 Z3\n", "", 3),
    "lifted too little": (r"G0 Z3\n", "G0 Z2\n", 3),
    "lowered by a rapid": (r"G1 Z-0\.5", "G0 Z-0.5", 2),
    "shifted": (r"X10 Y0", "X10.01 Y0", 1),
    "other way round": (r"G3 ", "G2 ", 1),
    "a corner left out": (r"G1 X5 Y8\n", "", 1),
    "a dash left out": (r"G1 Z-0\.5\n(G[123] .*\n)+G0 Z3\n", "G0 Z3\n", 1),
    "a dash joined": (r"G0 Z3\nG0 (X.*)\nG1 Z-0\.5\n", r"G1 \1\n", 1),
    "spindle": (r"M5\n", "S5000 M3\n", 1),
    "too fast": (r"F1200", "F1300", 1),
    "drawn by a rapid": (r"G1 X5 Y8", "G0 X5 Y8", 1),
    "a stroke more": (r"M5\nM2", "G0 X1 Y1\nG1 Z-0.5\nG1 X3\nG0 Z3\nM5\nM2", 1),
    "ends too soon": (r"G0 X2 Y15\n(.*\n)+M5\nM2", "M5\nM2", 1),
    "along and down": (r"G1 Z-0\.5\nG1 X5 Y8", "G1 X5 Y8 Z-0.5", 1),
    "a change": (r"M5\n", "M5\nT1 M6\n", 1),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_is_told(tmp_path: Path, fault: str) -> None:
    """A program that draws anything else, or moves the pen otherwise than the machine's file says, is refused."""
    own = machine("sheet router", tmp_path)
    text = PenProgram().write(small(), own)
    assert objections(text, own) == []
    pattern, other, which = FAULTS[fault]
    places = list(re.finditer(pattern, text))
    place = places[min(which, len(places)) - 1]
    spoilt = text[: place.start()] + place.expand(other) + text[place.end() :]
    assert spoilt != text
    assert objections(spoilt, own) == ["differs"]


@pytest.mark.parametrize(
    ("pattern", "other"), [("M4 S1200", "M4 S1100"), ("M4 S1200", "M3 S1200"), ("M5\n", ""), ("G4 P250\n", ""),
                           ("G4 P250", "G4 P200"), ("M5\n", "M5\nS9 M3\n"), ("M4 S1200\n", "M4 S1200\nM5\nM4\n")],
)  # fmt: skip
def test_the_words_of_a_servo_are_held_to(tmp_path: Path, pattern: str, other: str) -> None:
    """Only the very words of the machine's file lower and lift the pen, each with the time that it takes."""
    own = machine(SERVO, tmp_path)
    heading, modes, text = PenProgram().write(small(), own).partition("G54\n")
    spoilt = text.replace(pattern, other, 1)
    assert spoilt != text and objections(heading + modes + spoilt, own) == ["differs"]


def test_a_machine_without_z_is_sent_nowhere_in_z(tmp_path: Path) -> None:
    """For a plotter without an axis Z the reader refuses every Z word; for all others an arc still needs to know Z."""
    own = machine(SERVO, tmp_path)
    text = PenProgram().write(small(), own)
    assert " Z" not in re.sub(r";.*", "", text)
    with pytest.raises(Exception, match="Z: nothing on the line uses it"):
        read(text.replace("M5\n", "M5\nG0 Z1\n", 1), flat=True)
    with pytest.raises(Exception, match="an arc from a position that is not known"):
        read(text)


def test_clamps_are_kept_off(tmp_path: Path) -> None:
    """The holder keeps off what stands on the sheet while it is lower than that, lifted or not."""
    own = machine("sheet router", tmp_path)
    box = ((24.0, -30.0, 26.0, -20.0), 20.0)
    text = PenProgram().write(small(), own)
    assert objections(text, own, standing=[box]) == []
    reach = own.pen.diameter / 2
    near = ((20.0, -2.0, 30.0, 6.0 - reach + 3.0), 20.0)
    assert objections(text, own, standing=[near]) == ["hits-clamp"]
    # between the circle and the strokes: only the way over it passes
    over = ((30.0, 60.0, 31.0, 61.0), 20.0)
    two = Polyline(((0.0, 60.0), (1.0, 60.0))), Polyline(((60.0, 60.0), (61.0, 60.0)))
    far = Drawing("t", "plate", (0, 0, 99, 99), (Pen("a", 0.35, (), two),))
    low = PenProgram().write(far, own)
    assert objections(low, own, far, [over]) == ["hits-clamp"]
    high = replace(far, clear_height=25.0)
    assert objections(PenProgram().write(high, own), own, high, [over]) == []


# --- what is built -----------------------------------------------------------------------------------------------


def test_only_who_asks_gets_programs_for_a_pen(tmp_path: Path) -> None:
    """A usual build holds none; ``--post pen`` gives programs whose names no other program has."""
    usual = {one.path for one in made(tmp_path, "sheet router", ()).files}
    asked = {one.path for one in made(tmp_path, "sheet router", ("pen",)).files}
    assert not any("pen" in name for name in usual)
    assert not usual & {name for name in asked if name.endswith(".nc")}


def test_marks_come_where_the_machine_cuts(tmp_path: Path) -> None:
    """Marks are one pen's: a cross over every centre, in the program's own coordinates, mirrored like the panel; over
    the place that the bench punches where that of a hole with one flat is beside its centre."""
    done = made(tmp_path, "sheet router", ("plotter", "pen"), marks=True)
    assert {one.path for one in done.files if one.facts["kind"] == "plot"} == {
        "top.marks.svg", "rear.marks.svg", "top.marks.pen-0.35.nc", "rear.marks.pen-0.35.nc",
    }  # fmt: skip
    for panel in done.layout.panels:
        (program,) = [one for one in done.files if one.path == f"{panel.name}.marks.pen-0.35.nc"]
        lines = area(ink_of_program(program.content.decode()).lines, 0.01)
        left_out = {one.feature for one in done.findings if one.code == "mark-under-clamp" and one.panel == panel.name}
        hand = HandWork([panel], done.job.materials, done.job.hand_tools, 3.0).punched(panel.name)
        places = {one.tag: hand[one.tag][0] if one.kind == "d_hole" else one.centre for one in panel.openings}
        centres = [panel.to_program(places[one.tag]) for one in panel.openings if one.feature not in left_out]
        assert centres
        for x, y in centres:
            assert shapely.covers(lines, shapely.Point(x, y))
            assert shapely.covers(lines, shapely.LineString([(x - 1, y), (x + 1, y)]))
            assert shapely.covers(lines, shapely.LineString([(x, y - 1), (x, y + 1)]))
    assert any(panel.mirrored for panel in done.layout.panels)


def test_marks_under_clamps_are_left_out_and_told(tmp_path: Path) -> None:
    """Where a clamp is in the pen's way the mark is left out with a finding; the pen travels over it, and keeps off."""
    done = made(tmp_path, "sheet router", ("pen",), marks=True)
    told = [one for one in done.findings if one.code == "mark-under-clamp"]
    assert told and {one.severity for one in told} == {"warning"}
    radius = load.machine("sheet router", tmp_path).pen.diameter / 2
    for panel in done.layout.panels:
        (program,) = [one for one in done.files if one.path == f"{panel.name}.marks.pen-0.35.nc"]
        text = program.content.decode()
        lines = shapely.MultiLineString([way for way in ink_of_program(text).lines if len(way) > 1])
        assert panel.clamps
        for clamp in panel.clamps:
            assert shapely.distance(lines, shapely.box(*panel.area_to_program(clamp.area))) >= radius
        heights = [float(z) for z in re.findall(r"G0 Z([-\d.]+)", text)]
        assert set(heights) == {panel.clear_height}


def test_saw_lines_are_marked(tmp_path: Path) -> None:
    """A large cutout has its saw lines on the tape, and crosses where the corner holes are drilled."""
    job = tmp_path / "job.toml"
    job.write_text(
        'format = 1\nunits = "mm"\n[[panel]]\nname = "plate"\nmaterial = "aluminium"\nthickness = 2\nwidth = 150\n'
        "height = 100\n[[panel.cutout]]\nat = [75, 50]\nwidth = 60\nheight = 40\ncorner_radius = 5\n"
    )
    done = made(tmp_path, "sheet router", ("pen",), job, marks=True)
    (program,) = [one for one in done.files if one.facts["kind"] == "plot"]
    lines = area(ink_of_program(program.content.decode()).lines, 0.01)
    for x, y in ((75, 31), (75, 69), (46, 50), (104, 50)):  # 1 mm inside the line (common practice)
        assert shapely.covers(lines, shapely.Point(x, y))
    for x, y in ((50, 35), (100, 65)):
        assert shapely.covers(lines, shapely.Point(x, y))


def test_each_sheet_begins_at_its_corner(tmp_path: Path) -> None:
    """A drawing beyond the reach comes over sheets, each from X0 Y0 at its own lower left corner, all within travel."""
    done = made(tmp_path, SERVO.replace("x = 900, y = 900", "x = 300, y = 220"), ("pen",), panels=["rear"])
    assert not [one for one in done.findings if one.severity == "error"]
    plots = [one for one in done.files if one.facts["kind"] == "plot"]
    assert {one.facts["tile"] for one in plots} == set(range(1, plots[0].facts["tiles"] + 1))
    assert all(re.fullmatch(r"rear\.p\d+\.pen-0\.\d\d\.nc", one.path) for one in plots)
    for one in plots:
        wide, high = one.facts["sheet_mm"]
        points = [point for way in ink_of_program(one.content.decode(), "M4 S1200", "M5").lines for point in way]
        assert all(0 <= x <= wide and 0 <= y <= high for x, y in points)


def test_what_the_pen_does_not_reach_is_refused(tmp_path: Path) -> None:
    """A drawing larger than a small machine's travel is an error that names the way out; its marks alone fit."""
    refused = made(tmp_path, "small router", ("pen",))
    told = [one.message for one in refused.findings if one.code == "beyond-travel"]
    assert told and all("--marks draws the marks alone" in one for one in told) and not refused.files
    assert made(tmp_path, "small router", ("pen",), marks=True).files


def test_a_machine_that_moves_no_pen_is_told(tmp_path: Path) -> None:
    """A plotter's file without a table about its pen is refused by name where a program for a pen is asked for."""
    bare = SERVO[: SERVO.index("[pen]")]
    with pytest.raises(BadInput, match=r"'servo table' does not say how it moves a pen"):
        made(tmp_path, bare, ("pen",))


@pytest.mark.parametrize("name", ["rear.pen-0.25.nc", "rear.marks.pen-0.35.nc", "rear.p2.pen-0.18.nc"])
def test_verify_knows_them_by_name(tmp_path: Path, name: str) -> None:
    """``verify`` never takes a program for a pen for one that cuts."""
    (tmp_path / name).write_text("M2\n")
    with pytest.raises(SystemExit) as end:
        cli.main(["verify", str(HEADPHONE), str(tmp_path / name)])
    assert end.value.code == cli.BAD_INPUT


@pytest.mark.parametrize(
    ("pen", "said"),
    [
        ('lower = "G0 Z-1"\nlift = "M5"', "pen.lower"),
        ('lower = "M3 S90 X1"\nlift = "M5"', "pen.lower"),
        ('lower = "M3 S90\\nG0 X9"\nlift = "M5"', "pen.lower"),
        ('lower = "M3 S90"\nlift = "M3 S90"', "the same words"),
        ('lower = "M5"\nlift = "M3 S90"', "must come up"),
        ('lower = "M3 S90"', "go together"),
        ('lower = "M3 S90"\nlift = "M5"\nup = 3', "not by both"),
        ("up = 3", "travel has no z"),
        ('lower = "M3 S90"\nlift = "M5"\ndiameter = 0', "pen.diameter"),
        ("up = -3", "pen.up"),
    ],
)
def test_the_pen_of_a_machine_is_read_strictly(tmp_path: Path, pen: str, said: str) -> None:
    """One way to move the pen, in words that move nothing else; anything else is one clear error."""
    text = re.sub(r'lower = .*\nlift = "M5"', lambda _: pen, SERVO)
    with pytest.raises(BadInput, match=said):
        machine(text, tmp_path)


def test_no_word_turns_a_spindle_with_a_pen_in_it(tmp_path: Path) -> None:
    """A machine with a spindle moves its pen by Z alone."""
    text = 'format = 1\nname = "small router"\n[pen]\nlower = "M3 S90"\nlift = "M5"\n'
    with pytest.raises(BadInput, match="would turn the spindle with the pen in it"):
        machine(text, tmp_path)


def test_a_pen_in_inches(tmp_path: Path) -> None:
    """In an inch file heights and feed are inches, and factors of true scale are not."""
    text = 'format = 1\nname = "small router"\nunits = "in"\n[pen]\nup = 0.1\npress = 0.02\nfeed = 40\n'
    text += "[scale]\nx = 1.01\n"
    own = machine(text, tmp_path)
    assert (own.pen.up, own.pen.press, own.pen.feed) == pytest.approx((2.54, 0.508, 1016.0))
    assert own.scale == (1.01, 1.0)


def test_the_same_bytes_twice(tmp_path: Path) -> None:
    """The same job gives the same programs."""
    first, second = (made(tmp_path, "sheet router", ("pen",)).files for _ in range(2))
    assert [one.content for one in first] == [one.content for one in second]


def test_the_manifest_says_what_they_are(tmp_path: Path) -> None:
    """Kind, post, width, units and zero of each program stand in the manifest."""
    done = made(tmp_path, "mill with tool changer", ("pen",), panels=["rear"])
    facts = [one.facts for one in done.files if one.facts["kind"] == "plot"]
    assert [one["pen_mm"] for one in facts] == [0.18, 0.25, 0.35]
    (panel,) = done.layout.panels
    for one in facts:
        assert (one["post"], one["units"], one["zero"]) == ("pen", "in", list(panel.zero))
        assert json.dumps(one) and one["seconds"] > 10 and "marks" not in one


def test_a_drawing_for_one_pen_keeps_its_zero() -> None:
    """X0 Y0 of a whole drawing is the panel's."""
    layout = lay_out(read_job(HEADPHONE))
    drawing = draw_panel(layout.panels[1], layout.title, layout.units)
    own = load.machine("sheet router", Path())
    outline = replace(drawing, pens=tuple(pen for pen in drawing.pens if pen.name == "outline"))
    text = PenProgram().write(outline, own)
    x0, _, x1, _ = layout.panels[1].contour_to_program(layout.panels[1].outline).bounds
    xs = [float(x) for x in re.findall(r"^G[123].* X([-\d.]+)", text, re.MULTILINE)]
    assert number(min(xs), 3) == number(x0, 3) and number(max(xs), 3) == number(x1, 3)
    assert "as in the panel's programs" in text

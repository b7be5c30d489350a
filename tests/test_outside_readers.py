"""The sample's files, read by general libraries that know nothing of this project: pygcode and svgelements."""

from __future__ import annotations

import cmath
import functools
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pygcode
import pytest
import svgelements

from toolpaths import pipeline
from toolpaths.job import Feature, Hole, Panel, Part, Ring, Round, Row
from toolpaths.job.load import read_job

SAMPLE = Path(__file__).parent.parent / "sample_jobs" / "headphone_amplifier.toml"
MACHINES = ("small router", "bench mill")
PANELS = ("top", "rear")
LAST_DIGIT = 0.0005 + 1e-9
"""Half a step of the three decimals that are printed."""

DOT = svgelements.Length("1000mm").value(ppi=96) / 1000
"""CSS pixels in a millimetre as svgelements has it: 96 / 25.4 (CSS Values and Units, 6.2) to some seven digits."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A round hole of the job as it lies on the machine: from the lower left corner of the sheet, mm."""

    feature: str
    x: float
    y: float
    diameter: float
    finish: str


@functools.cache
def made(machine: str) -> pipeline.Made:
    """The sample, built for one machine."""
    result = pipeline.make(read_job(SAMPLE, machine=machine))
    assert result.files, [finding for finding in result.findings if finding.severity == "error"]
    return result


def text_of(machine: str, path: str) -> str:
    (file,) = [file for file in made(machine).files if file.path == path]
    return file.content.decode("utf-8")


def panel_of(machine: str, name: str) -> Panel:
    (panel,) = [panel for panel in made(machine).job.panels if panel.name == name]
    return panel


def spots(panel: Panel) -> list[Spot]:
    """Every round hole, from the job's own figures; a panel that lies on its outside has its right at the left."""
    found = [
        (name, *place, hole.diameter, hole.finish)
        for feature in panel.features
        for name, hole, places in round_holes(feature)
        for place in places
    ]
    left, low = {"centre": (panel.width / 2, panel.height / 2), "lower left": (0.0, 0.0)}[panel.origin]
    return [
        Spot(name, panel.width - x - left if panel.mirrored else x + left, y + low, diameter, finish)
        for name, x, y, diameter, finish in found
    ]


def round_holes(feature: Feature) -> Iterator[tuple[str, Round, list[tuple[float, float]]]]:
    """The round holes of a feature with their places; those of components turned by complex numbers, and those of a
    row, all at equal pitch in this sample, as shares of the way from its first to its last."""
    if isinstance(feature, Hole):
        yield f"hole[{feature.number}]", feature, [feature.at]
    elif isinstance(feature, Ring):
        radius = feature.circle_diameter / 2
        turns = [feature.start_angle + k * 2 * math.pi / feature.count for k in range(feature.count)]
        places = [(feature.at[0] + radius * math.cos(t), feature.at[1] + radius * math.sin(t)) for t in turns]
        yield f"ring[{feature.number}]", feature, places
    elif isinstance(feature, Part):
        yield from holes_of_a_part(f"part[{feature.number}]", feature, complex(*feature.at))
    elif isinstance(feature, Row):
        assert feature.spacing == "equal pitch" and feature.step is None and len(feature.groups) == 1
        (parts,) = feature.groups
        start, way = complex(*feature.at), complex(*feature.to) - complex(*feature.at)
        for k, part in enumerate(parts):
            yield from holes_of_a_part(f"row[{feature.number}]", part, start + way * k / (len(parts) - 1))


def holes_of_a_part(name: str, part: Part, at: complex) -> Iterator[tuple[str, Round, list[tuple[float, float]]]]:
    for hole in part.features:
        if isinstance(hole, Hole):
            place = at + complex(*hole.at) * cmath.exp(1j * part.angle)
            yield name, hole, [(place.real, place.imag)]


# --- the program, by pygcode --------------------------------------------------------------------------------------

Step = tuple[pygcode.Line, dict[str, float], dict[str, float]]


@functools.cache
def walked(machine: str, name: str) -> list[Step]:
    """Each line with pygcode's position before and after it; pygcode raises where it cannot read a line."""
    controller = pygcode.Machine()
    steps = []
    for text in text_of(machine, f"{name}.nc").splitlines():
        line = pygcode.Line(text)
        before = dict(controller.pos.values)
        controller.process_block(line.block)
        steps.append((line, before, dict(controller.pos.values)))
    return steps


@functools.cache
def holes_made(machine: str, name: str) -> list[tuple[str, float, float, float, float]]:
    """(feature, x, y, lowest z, diameter) of each plunge, drilling cycle and full circle below Z0, about its centre."""
    found = []
    feature, cutter = "", 0
    for line, before, after in walked(machine, name):
        if line.comment and (named := re.search(r": ((?:hole|ring|part|row)\[\d+\])", line.comment.text)):
            feature = named[1]
        elif line.comment:
            feature = ""
        for code in line.block.gcodes:
            if isinstance(code, pygcode.GCodeSelectTool):
                cutter = int(code.word_key.value if code.word_key else code.word.value)
            if feature and isinstance(code, pygcode.GCodeDrillingCycle | pygcode.GCodeDrillingCyclePeck):
                x, y, low = (code.params[letter].value for letter in "XYZ")
                found.append((feature, x, y, low, made(machine).job.cutters[cutter].diameter))
                continue
            low = min(before["Z"], after["Z"])
            if not feature or low >= 0 or (before["X"], before["Y"]) != (after["X"], after["Y"]):
                continue
            width = made(machine).job.cutters[cutter].diameter
            if isinstance(code, pygcode.GCodeLinearMove):
                found.append((feature, after["X"], after["Y"], low, width))
            elif isinstance(code, pygcode.GCodeArcMove):
                i, j = (code.params[letter].value for letter in "IJ")
                found.append((feature, before["X"] + i, before["Y"] + j, low, 2 * math.hypot(i, j) + width))
    return found


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("name", PANELS)
def test_a_general_library_reads_every_line(machine, name) -> None:
    """pygcode takes every line of every program, and no word of a line is left over as unknown to it."""
    for line, _, _ in walked(machine, name):
        assert not line.block.modal_params, line
        assert line.comment or line.block.gcodes, line


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("name", PANELS)
def test_holes_are_where_the_job_has_them(machine, name) -> None:
    """Every hole's deepest and widest cut, as pygcode places it, has the job's centre, and a bored one its diameter."""
    panel = panel_of(machine, name)
    zero = (panel.width / 2, panel.height / 2) if panel.origin == "centre" else (0.0, 0.0)
    for spot in spots(panel):
        x, y = spot.x - zero[0], spot.y - zero[1]
        near = [row for row in holes_made(machine, name)
                if row[0] == spot.feature and math.dist(row[1:3], (x, y)) < 0.5]  # fmt: skip
        assert near, spot
        deepest = min(row[3] for row in near)
        _, at_x, at_y, _, diameter = max((row for row in near if row[3] == deepest), key=lambda row: row[4])
        # a circle's centre is a printed start plus a printed I or J
        assert (at_x, at_y) == pytest.approx((x, y), abs=2 * LAST_DIGIT), spot
        if spot.finish == "mark":
            assert -0.5 <= deepest < 0
            continue
        assert deepest <= -panel.thickness
        wanted = made(machine).job.pilot_diameter if spot.finish == "pilot" else spot.diameter
        assert diameter == pytest.approx(wanted, abs=4 * LAST_DIGIT), spot


# --- the drawing, by svgelements ----------------------------------------------------------------------------------


@functools.cache
def drawing(name: str) -> svgelements.SVG:
    return svgelements.SVG.parse(io.StringIO(text_of("small router", f"{name}.svg")))


def group(name: str, pen: str) -> list[svgelements.Shape]:
    """What one pen draws; nothing where the sheet does without it."""
    found = [one for one in drawing(name) if isinstance(one, svgelements.Group) and one.id == pen]
    return [shape for one in found for shape in one]


@pytest.mark.parametrize("name", PANELS)
def test_the_drawing_is_full_size(name) -> None:
    """Its physical size in mm is that of its viewBox, and the outline on it is as large as the panel."""
    svg, panel = drawing(name), panel_of("small router", name)
    assert (svg.width / DOT, svg.height / DOT) == pytest.approx((svg.viewbox.width, svg.viewbox.height), abs=1e-6)
    (outline,) = group(name, "outline")
    x0, y0, x1, y1 = (value / DOT for value in outline.bbox())
    assert (x1 - x0, y1 - y0) == pytest.approx((panel.width, panel.height), abs=1e-3)


@pytest.mark.parametrize("name", PANELS)
def test_the_drawing_has_every_hole(name) -> None:
    """Every hole of the job is a circle at its place and of its size, and no other circle is among the openings."""
    (outline,) = group(name, "outline")
    left, _, _, bottom = (value / DOT for value in outline.bbox())
    drawn = sorted(
        (one.cx / DOT - left, bottom - one.cy / DOT, 2 * one.rx / DOT)
        for one in [*group(name, "openings"), *group(name, "by-hand")]
        if isinstance(one, svgelements.Circle)
    )
    wanted = sorted((spot.x, spot.y, spot.diameter) for spot in spots(panel_of("small router", name)))
    assert len(drawn) == len(wanted)
    for spot in wanted:
        assert min(math.dist(spot, circle) for circle in drawn) < 0.001, spot


@pytest.mark.parametrize("name", PANELS)
def test_the_check_bars_have_their_lengths(name) -> None:
    """The longest strokes of the check bars are 100 mm level, 4 in (101.6 mm) level and 100 mm upright."""
    boxes = [one.bbox() for one in group(name, "check-bars")]
    sizes = [((x1 - x0) / DOT, (y1 - y0) / DOT) for x0, y0, x1, y1 in boxes]
    long = sorted(size for size in sizes if max(size) > 50)
    assert long == [pytest.approx(size, abs=1e-3) for size in ((0, 100), (100, 0), (101.6, 0))]

"""Labels stand clear of what is drawn: on the full-size drawing and on the plan of the setup sheet by one way."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from tests.test_drafting import text_at
from toolpaths import drafting, pipeline, template
from toolpaths.drawing import LETTERING, Drawing, Mark, Polyline
from toolpaths.geometry.judge import faceted
from toolpaths.job.load import read_job, size_names
from toolpaths.labelling import leader_of
from toolpaths.layout.build import lay_out
from toolpaths.lettering import letter
from toolpaths.shop.bench import HandWork
from toolpaths.shop.picture import GLYPH, draw
from toolpaths.tables.hand_tools import hand_tools

SAMPLES = sorted((Path(__file__).parent.parent / "sample_jobs").glob("*.toml"))
HEADPHONE = next(sample for sample in SAMPLES if sample.stem == "headphone_amplifier")
CAPITAL = 0.7
"""Height of a capital letter in that of its typeface."""


@pytest.mark.parametrize("machine", ["sheet router", "bench mill"])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_tags_of_the_plan_stand_clear_of_holes_clamps_and_each_other(sample, machine) -> None:
    """On the plan of every panel of every sample no word lies over another, and no tag over an edge or a clamp."""
    for size in (None, *size_names(sample)):
        for panel in lay_out(read_job(sample, size=size, machine=machine)).panels:
            picture = draw(panel, panel.touch_off or (0.0, 0.0))
            letter = float(picture.letter)
            assert picture.tags
            areas = [name for _, name in (*picture.clamps, *picture.blank)]
            across, _ = picture.measure_names
            named = [*picture.axis_names, picture.zero_name, picture.touch_off_name, across, *areas]
            boxes = [
                (x, y, x + letter * GLYPH * len(word.text), y + letter * CAPITAL)
                for word in (*picture.tags, *named) for x, y in [(float(word.x), -float(word.y))]
            ]  # fmt: skip
            edges = [faceted(panel.contour_to_program(opening.shape)).exterior for opening in panel.openings]
            clamps = [panel.area_to_program(clamp.area) for clamp in panel.clamps]
            for index, box in enumerate(boxes):
                assert not any(_meet(box, other) for other in boxes[:index]), (panel.name, index)
            for box, tag in zip(boxes, picture.tags, strict=False):
                assert not any(_meet(box, clamp) for clamp in clamps), tag.text
                assert not any(edge.intersects(shapely.box(*box)) for edge in edges), tag.text


class Written:
    """What a drawing says and where: each line of lettering with the box round its strokes, pen and all."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.lines: list[tuple[str, float, tuple[float, float, float, float]]] = []
        for room in (drafting, template):
            monkeypatch.setattr(room, "letter", self.letter)

    def letter(self, text, at, height, align="left", angle=0.0):
        strokes = letter(text, at, height, align, angle)
        if points := [point for stroke in strokes for point in stroke.points]:
            (x0, y0), (x1, y1) = (tuple(f(axis) for axis in zip(*points, strict=True)) for f in (min, max))
            half = LETTERING / 2
            self.lines.append((text, height, (x0 - half, y0 - half, x1 + half, y1 + half)))
        return strokes

    def of(self, draw) -> tuple[Drawing, list[tuple[str, float, tuple[float, float, float, float]]]]:
        self.lines = []
        return draw(), self.lines


CENTRES = {"centre marks", "centre lines", "distances"}


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> Written:
    return Written(monkeypatch)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_no_word_stands_on_another_or_on_a_line_that_matters(sample, units, said) -> None:
    """In every size, drawing and template of every sample, in both units and with the pilots of the bench.

    No lettering is under 2.5 mm, or overlaps other lettering or any line but a component's thin outline and, where
    pilots make labels long, a centre line. (The axes' letters are drawn with them, as datum.)
    """
    for size in (None, *size_names(sample)):
        job = replace(read_job(sample, size=size), units=units)
        for panel in lay_out(job).panels:
            common = template.Common(job.title, units, 3.0, size or "", job.chassis)
            pilots = HandWork([panel], job.materials, hand_tools(units), 3.0).pilots(panel.name, units)
            thin = {"lettering", "datum", "parts", "parts behind"}
            for (drawing, lines), free in (
                (said.of(lambda p=panel: drafting.draw_panel(p, "Fernhill", units, "large")), thin),
                (said.of(lambda p=panel, c=common: template.draw_template(p, c)), thin),
                (said.of(lambda p=panel, c=common, b=pilots: template.draw_template(p, c, b)), thin | CENTRES),
            ):
                assert min(height for _, height, _ in lines) >= 2.5
                for (one, _, box), (other, _, second) in itertools.combinations(lines, 2):
                    assert not _meet(box, second), (panel.name, one, other)
                kept = [pen for pen in drawing.pens if pen.name not in free]
                strokes = shapely.STRtree([_line(mark) for pen in kept for mark in pen.marks])
                for text, _, box in lines:
                    assert not strokes.query(shapely.box(*box), predicate="intersects").size, (panel.name, text)


def _line(mark: Mark) -> shapely.LineString:
    if isinstance(mark, Polyline):
        return shapely.LineString(mark.points)
    return shapely.LineString([
        segment.point_at(segment.length * step / 60) for segment in mark.segments for step in range(61)
    ])  # fmt: skip


def test_what_is_said_beside_a_size_stands_in_the_label() -> None:
    """A pilot that is named for an opening follows its size; the others say what they said before."""
    (panel, *_) = lay_out(read_job(HEADPHONE)).panels
    common = template.Common("Fernhill", "mm", 3.0)
    plain, piloted = (template.draw_template(panel, common, beside) for beside in (None, {"D5": "pilot 3"}))
    assert text_at(piloted, "D5 Ø4.5, pilot 3", 2.5) and not text_at(plain, "pilot 3", 2.5)
    assert text_at(piloted, "D4 Ø4.5", 2.5) and not text_at(piloted, "D4 Ø4.5, pilot 3", 2.5)
    assert text_at(drafting.draw_panel(panel, "t", "mm", beside={"D5": "pilot 3"}), "D5 Ø4.5, pilot 3", 2.5)


HOLE = (-2.0, -2.0, 2.0, 2.0)


@pytest.mark.parametrize("text", [(9, 6, 20, 9), (-3, 12, 8, 15), (9, 0.3, 20, 3.5), (-25, -9, -12, -6)])
def test_a_leader_ends_on_its_circle_and_keeps_off_its_centre_lines(text) -> None:
    """A leader runs from beside the label to the circle itself, never along a centre line; a near label has none."""
    leader = leader_of(text, HOLE, rounded=True)
    assert leader
    start, end = leader
    assert math.hypot(*end) == pytest.approx(2.0)
    assert not (text[0] <= start[0] <= text[2] and text[1] <= start[1] <= text[3])
    assert min(abs(end[0]), abs(end[1])) > 0.4
    assert leader_of((2.5, 2.5, 12, 5.75), HOLE, rounded=True) is None
    assert leader_of((-1, -1, 1, 1), (-50.0, -50.0, 50.0, 50.0), rounded=True) is None


def _meet(one, other) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def test_every_opening_of_the_plan_is_tagged() -> None:
    """Each tag is named, by itself or in the row of its ring or grid; a row stands beside its first hole."""
    for panel in lay_out(read_job(HEADPHONE)).panels:
        texts = [tag.text for tag in draw(panel, panel.touch_off or (0.0, 0.0)).tags]
        ends = {end for text in texts for end in text.split(" to ")}
        rows = [text for text in texts if " to " in text]
        assert {opening.tag for opening in panel.openings if not opening.feature.startswith("ring[")} <= ends
        assert len(rows) == len({o.feature for o in panel.openings if o.feature.startswith("ring[")})


def test_the_plan_is_in_the_sheet() -> None:
    """The sheet of a sample holds the tags of its plan and the lines that lead to those that stand far off."""
    made = pipeline.make(read_job(HEADPHONE), posts=["gcode"])
    (sheet,) = [file.content.decode() for file in made.files if file.path == "setup_sheet.html"]
    assert ">A1 to A12</text>" in sheet

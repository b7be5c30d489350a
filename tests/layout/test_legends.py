"""Lettering and scales as strokes on the panel, and what is found wrong with where they stand."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths import pipeline
from toolpaths.geometry.judge import faceted
from toolpaths.geometry.segment import Arc, Line
from toolpaths.job import Job, Scale, Text
from toolpaths.layout.build import lay_out
from toolpaths.layout.legends import legend_of
from toolpaths.layout.panel import Legend
from toolpaths.lettering import KNOWN

HEAD = """
format = 1
units = "mm"
[[panel]]
name = "front"
material = "aluminium"
thickness = 2
width = 120
height = 80
"""
TEXT = '[[panel.text]]\ntext = "LEVEL"\nat = [60, 40]\n'
SCALE = "[[panel.scale]]\nat = [60, 40]\nradius = 15\nnumbers = [0, 10]\n"


def only(job: Job) -> Legend:
    (legend,) = lay_out(job).panels[0].legends
    return legend


def a_scale(**changes: object) -> Legend:
    given_ = {
        "number": 1, "at": (0.0, 0.0), "label": "", "finish": "machine", "tabs": None, "depth": None, "height": 2.5,
        "radius": 15.0, "start_angle": math.radians(240), "sweep": math.radians(300), "divisions": 10,
        "subdivisions": 2, "major_tick": 2.5, "minor_tick": 1.5, "texts": (), "gap": 1.0, "arc": False,
    }  # fmt: skip
    legend = legend_of(Scale(**(given_ | changes)))  # type: ignore[arg-type]
    assert legend is not None
    return legend


def ticks_of(legend: Legend) -> list[tuple[float, float]]:
    """Direction, degrees from +x, and length of every tick: strokes that point to the shaft."""
    found = []
    for stroke in legend.strokes:
        if len(stroke) == 1 and isinstance(stroke[0], Line):
            (x, y), length = stroke[0].start, stroke[0].length
            found.append((math.degrees(math.atan2(y, x)) % 360, length))
    return found


def test_a_scale_runs_clockwise_from_lower_left_to_lower_right() -> None:
    """300 degrees as a potentiometer turns: the first tick at 240 degrees, the middle one on top, the last at 300."""
    angles = [angle for angle, _ in ticks_of(a_scale())]
    assert len(angles) == 21
    assert angles[0] == pytest.approx(240) and angles[10] == pytest.approx(90) and angles[20] == pytest.approx(300)
    steps = [(before - after) % 360 for before, after in pairwise(angles)]
    assert steps == pytest.approx([15.0] * 20)


def test_long_ticks_part_the_divisions() -> None:
    """Every division begins and ends with a long tick, and between them are the short ones; all begin on the radius."""
    legend = a_scale(subdivisions=5, divisions=4)
    assert [round(length, 9) for _, length in ticks_of(legend)] == ([2.5] + 4 * [1.5]) * 4 + [2.5]
    assert all(math.hypot(*stroke[0].start) == pytest.approx(15) for stroke in legend.strokes)
    assert len(ticks_of(a_scale(sweep=2 * math.pi, subdivisions=1, divisions=12))) == 12


def test_numbers_are_those_of_first_and_last_tick(job_of: Callable[..., Job]) -> None:
    """Evenly from the first to the last, down too, with as many decimals as they need."""
    texts = [
        feature.texts
        for numbers in ("[0, 10]", "[5, -5]", "[0, 1]")
        for feature in job_of(HEAD + SCALE.replace("[0, 10]", numbers) + "divisions = 4\n").panels[0].features
        if isinstance(feature, Scale)
    ]
    assert texts == [("0", "2.5", "5", "7.5", "10"), ("5", "2.5", "0", "-2.5", "-5"), ("0", "0.25", "0.5", "0.75", "1")]


@settings(deadline=None, max_examples=60)
@given(
    text=st.text(sorted(KNOWN - {" "}), min_size=1, max_size=6), angle=st.floats(-3.2, 3.2),
    align=st.sampled_from(["left", "centre", "right"]), height=st.floats(1, 12),
)
def test_strokes_lie_on_the_ground_that_a_text_takes(text: str, angle: float, align: str, height: float) -> None:
    """Whatever is written, wherever it is turned: every stroke lies within its box by half its line's width."""
    legend = legend_of(
        Text(
            number=1, at=(30.0, 20.0), label="", finish="machine", tabs=None, depth=None, height=height, text=text,
            angle=angle, align=align,  # type: ignore[arg-type]
        )
    )  # fmt: skip
    assert legend is not None and legend.line == pytest.approx(height / 10)
    box = faceted(legend.areas[0]).buffer(1e-6)
    for stroke in legend.strokes:
        for before, after in pairwise(stroke):
            assert math.dist(before.end, after.start) < 1e-9
        for piece in stroke:
            if isinstance(piece, Arc):
                assert math.dist(piece.end, piece.centre) == pytest.approx(piece.radius, abs=2e-5 * height)
            for step in range(9):
                assert box.covers(shapely.Point(piece.point_at(piece.length * step / 8)).buffer(0.49 * legend.line))


def test_a_text_stands_about_the_middle_of_its_capitals(job_of: Callable[..., Job]) -> None:
    """``at`` is the middle of the capitals' height at the end that ``align`` names, and the text turns about it."""
    for align, ends in (("left", (60.0, None)), ("right", (None, 60.0))):
        legend = only(job_of(HEAD + TEXT + f'align = "{align}"\n'))
        xs = [x for stroke in legend.strokes for piece in stroke for x in (piece.start[0], piece.end[0])]
        assert min(xs) == pytest.approx(ends[0]) if ends[0] else max(xs) == pytest.approx(ends[1])
    legend = only(job_of(HEAD + TEXT + "angle = 90\nheight = 5\n"))
    boxes = [piece.bounds for stroke in legend.strokes for piece in stroke]
    assert (min(box[0] for box in boxes), max(box[2] for box in boxes)) == pytest.approx((57.5, 62.5))
    assert min(box[1] for box in boxes) + max(box[3] for box in boxes) == pytest.approx(80)


HOLE = "[[panel.hole]]\nat = [{x}, 40]\ndiameter = 4\n"
POT = '[[panel.part]]\npart = "potentiometer"\nat = [60, 40]\n'

FINDINGS = [
    (HOLE.format(x=60) + TEXT, [("warning", "legend-over-opening", "text[1]")]),
    (HOLE.format(x=60) + TEXT + "depth = 0.15\n", [("error", "legend-over-opening", "text[1]")]),
    (HOLE.format(x=72.5) + TEXT, []),
    (HOLE.format(x=69.4) + TEXT, [("warning", "legend-over-opening", "text[1]")]),
    (POT + SCALE.replace("15", "12"), [("warning", "legend-over-opening", "scale[1]"),
                                       ("warning", "legend-covered", "scale[1]")]),
    (POT + SCALE.replace("15", "15.5"), []),
    (TEXT.replace("[60, 40]", "[2, 40]"), [("error", "outside-panel", "text[1]")]),
    (TEXT.replace("[60, 40]", "[60, 2]"), [("warning", "legend-near-edge", "text[1]")]),
    (TEXT + TEXT.replace("[60, 40]", "[60, 44]"), [("warning", "legends-meet", "text[2]")]),
    (TEXT + "depth = 0.1\n" + TEXT.replace("[60, 40]", "[60, 42]") + "depth = 0.1\n",
     [("error", "legends-meet", "text[2]")]),
    (SCALE + "divisions = 60\n", [("warning", "legends-meet", "scale[1]")]),
    (TEXT + "depth = 0.9\nheight = 9\n", [("error", "legend-depth", "text[1]")]),
    (TEXT + "depth = 0.6\n", [("warning", "legend-line", "text[1]")]),
    (TEXT + "depth = 0.75\nheight = 1.5\n", [("error", "legend-line", "text[1]")]),
    (TEXT.replace("LEVEL", "漢") + "depth = 0.1\n", [("error", "lettering", "text[1]")]),
    (TEXT.replace("LEVEL", "10 kΩ, 4 µF"), []),
    (TEXT + "depth = 0.1\n[[panel.clamps]]\nx = 50\ny = 35\nwidth = 20\n", [("error", "under-clamp", "text[1]")]),
]


@pytest.mark.parametrize(("features", "expected"), FINDINGS)
def test_legends_are_kept_clear(
    features: str, expected: list[tuple[str, str, str]], job_of: Callable[..., Job]
) -> None:
    """Holes, knobs, edges, clamps and other lettering, lines too wide and too deep: each has its code and weight."""
    found = [(one.severity, one.code, one.feature) for one in pipeline.check(job_of(HEAD + features))]
    assert found == expected


def test_nothing_is_engraved_from_the_inside(job_of: Callable[..., Job]) -> None:
    """From the inside a depth is an error; without one the lettering is drawn mirrored, as it is seen through."""
    inside = HEAD + 'machine_from = "inside"\n'
    hole = HOLE.format(x=20)
    assert [one.code for one in pipeline.check(job_of(inside + hole + TEXT + "depth = 0.1\n"))] == ["legend-inside"]
    made = pipeline.make(job_of(inside + hole + TEXT), posts=["plotter"])
    assert not made.findings
    (drawn,) = [file.content.decode() for file in made.files if file.facts["kind"] == "plot"]
    assert 'id="legend-behind"' in drawn and "Dashed" not in drawn


def test_beside_a_bend_no_line_is_even(job_of: Callable[..., Job]) -> None:
    """Lettering keeps to the flat of a bent face: its thickness and the inside radius from the outer edge."""
    box = (
        '[chassis]\ninside = {{ length = 116, depth = 76, height = 40 }}\nfaces = {{ top = "front" }}\n'
        "bend_radius = 1.5\nthickness = 2\n"
    ).format()
    text = TEXT.replace("[60, 40]", "[60, 4.9]")
    near = [one.code for one in pipeline.check(job_of(HEAD + text + box)) if one.feature == "text[1]"]
    assert near == ["legend-near-edge"]
    clear = [one for one in pipeline.check(job_of(HEAD + TEXT + box)) if one.feature == "text[1]"]
    assert clear == []


def test_z_is_never_touched_off_on_lettering(job_of: Callable[..., Job]) -> None:
    """The place where Z is set keeps 5 mm from what is engraved, which lies lower when it is set again."""
    text = TEXT.replace("[60, 40]", "[12, 8]") + "height = 8\n"
    plain, cut = (lay_out(job_of(HEAD + text + more)).panels[0] for more in ("", "depth = 0.3\n"))
    assert plain.touch_off == (5.0, 5.0)
    assert cut.touch_off is not None
    box = shapely.box(*cut.legends[0].bounds)
    assert box.distance(shapely.Point(cut.touch_off)) >= 5

"""Labels stand clear of what is drawn: on the full-size drawing and on the plan of the setup sheet by one way."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from toolpaths import pipeline
from toolpaths.geometry.judge import faceted
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.shop.picture import GLYPH, draw

SAMPLES = sorted((Path(__file__).parent.parent / "sample_jobs").glob("*.toml"))
HEADPHONE = next(sample for sample in SAMPLES if sample.stem == "headphone_amplifier")
CAPITAL = 0.7
"""Height of a capital letter in that of its typeface."""


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_tags_of_the_plan_stand_clear_of_holes_clamps_and_each_other(sample) -> None:
    """On the plan of every panel of every sample no tag lies over an opening's edge, a clamp or another tag."""
    for panel in lay_out(read_job(sample)).panels:
        picture = draw(panel, panel.touch_off or (0.0, 0.0))
        letter = float(picture.letter)
        assert picture.tags
        boxes = [
            (x, y, x + letter * GLYPH * len(tag.text), y + letter * CAPITAL)
            for tag in picture.tags for x, y in [(float(tag.x), -float(tag.y))]
        ]  # fmt: skip
        edges = [faceted(panel.contour_to_program(opening.shape)).exterior for opening in panel.openings]
        clamps = [panel.area_to_program(clamp.area) for clamp in panel.clamps]
        for index, box in enumerate(boxes):
            assert not any(_meet(box, other) for other in [*clamps, *boxes[:index]]), picture.tags[index].text
            assert not any(edge.intersects(shapely.box(*box)) for edge in edges), picture.tags[index].text


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

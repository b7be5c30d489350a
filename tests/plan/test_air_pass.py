"""The air pass: where it goes, that it never comes near the sheet, and that its own proof bites."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job.load import read_job
from toolpaths.layout.panel import Panel
from toolpaths.reread import read
from toolpaths.stroke import SpindleOn, Stop, Stroke

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
CASES = [
    ("headphone_amplifier", None, "small router"), ("headphone_amplifier", None, "mill with tool changer"),
    ("crowded_chassis", "clear", "bench mill"), ("rack_cooling_panel", None, "sheet router"),
]  # fmt: skip


def built(sample: str, size: str | None, machine: str) -> tuple[pipeline.Made, dict[str, str]]:
    made = pipeline.make(read_job(SAMPLES / f"{sample}.toml", size=size, machine=machine))
    return made, {file.path: file.content.decode() for file in made.files if file.facts.get("kind") == "dry run"}


@pytest.mark.parametrize(("sample", "size", "machine"), CASES)
def test_it_goes_over_everything_and_touches_nothing(sample: str, size: str | None, machine: str) -> None:
    """By its text: the spindle never starts, Z is never under 5 mm above the tallest clamp, every centre ends a
    move, it stops over the touch-off point and over the place furthest from zero, and only its first moves are rapids.
    """
    made, texts = built(sample, size, machine)
    for panel in made.layout.panels:
        reading = read(texts[f"{panel.name}.dry.nc"])
        clear = 5.0 + max((clamp.height for clamp in panel.clamps), default=0.0)
        assert not any(isinstance(event, SpindleOn) for event in reading.events)
        assert all(stroke.end[2] >= clear - 0.003 for stroke in reading.strokes)
        ends = ends_of(reading.strokes)
        places = [place for opening in panel.openings for place in opening.marks or (opening.centre,)]
        centres = [panel.to_program(place) for place in places]
        assert all(min(math.dist(at, end) for end in ends) < 0.003 for at in centres)
        halts = places_of_stops(reading.events)
        assert math.dist(halts[-2], panel.to_program(touch_off(panel))) < 0.003
        assert math.hypot(*halts[-1]) == pytest.approx(max(math.hypot(*at) for at in centres), abs=0.003)
        level = [stroke for stroke in reading.strokes if stroke.end[:2] != stroke.start[:2]]
        assert [stroke.kind for stroke in level[1:]].count("rapid") == 0 and len(level) > len(centres) / 2


def ends_of(strokes: tuple[Stroke, ...]) -> list[tuple[float, float]]:
    return [stroke.end[:2] for stroke in strokes if not any(map(math.isnan, stroke.end[:2]))]


def touch_off(panel: Panel) -> tuple[float, float]:
    assert panel.touch_off is not None
    return panel.touch_off


def places_of_stops(events: tuple[object, ...]) -> list[tuple[float, float]]:
    places, at = [], (math.nan, math.nan)
    for event in events:
        if isinstance(event, Stroke):
            at = event.end[:2]
        elif isinstance(event, Stop):
            places.append(at)
    return places


def test_it_goes_round_the_outline_where_the_machine_reaches() -> None:
    """The corners of the headphone amplifier's top are gone to on the small router, those of a rack panel on the bench
    mill's travel are not: there it keeps to the centres."""
    made, texts = built("headphone_amplifier", None, "small router")
    top = made.layout.panels[0]
    x0, y0, x1, y1 = top.contour_to_program(top.outline).bounds
    ends = ends_of(read(texts["top.dry.nc"]).strokes)
    corners = [(x, y) for x in (x0, x1) for y in (y0, y1)]
    assert all(min(math.dist(corner, end) for end in ends) < 0.003 for corner in corners)
    job = made.job
    short = replace(job.machine, travel=(250.0, *job.machine.travel[1:]))
    made = pipeline.make(replace(job, machine=short))
    (text,) = [file.content.decode() for file in made.files if file.path == "top.dry.nc"]
    assert all(abs(stroke.end[0]) < x1 - 1 for stroke in read(text).strokes if not math.isnan(stroke.end[0]))


def without(text: str, words: str) -> str:
    return "".join(line for line in text.splitlines(keepends=True) if words not in line)


EDITS = {
    "the spindle started": (lambda text: text.replace("\nM5\n", "\nS500 M3\n", 1), "air-pass"),
    "too low": (lambda text: text.replace("Z25", "Z19"), "air-low"),
    "a centre left out": (lambda text: without(text, "X-65 Y20"), "air-pass"),
    "out of travel": (lambda text: text.replace("\nM5\nM2", "\nG1 X300\nM5\nM2"), "out-of-travel"),
    "unreadable": (lambda text: text.replace("G1", "G99.7", 1), "unreadable"),
}  # fmt: skip


@pytest.mark.parametrize("edit", EDITS)
def test_an_edited_air_pass_is_found_out(edit: str) -> None:
    """As it was written it is verified; each edit gets its finding, by the file's name alone."""
    made, texts = built("headphone_amplifier", None, "small router")
    change, code = EDITS[edit]
    text = texts["top.dry.nc"]
    assert change(text) != text
    assert pipeline.verify_texts(made.job, "top", [("top.dry.nc", text)]) == ()
    assert code in {found.code for found in pipeline.verify_texts(made.job, "top", [("top.dry.nc", change(text))])}

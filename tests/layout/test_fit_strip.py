"""Fit strips: each different opening of a job once on a scrap of the same sheet, what belongs together together."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import combinations
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.geometry.judge import across, gap, overlaps
from toolpaths.job import Job
from toolpaths.job.load import read_job, size_names
from toolpaths.layout.build import lay_out
from toolpaths.layout.fit_strip import LARGEST, fit_strips
from toolpaths.layout.nesting import mouth
from toolpaths.layout.panel import Opening, Panel
from toolpaths.layout.seats import seats

SAMPLES = sorted((Path(__file__).parent.parent.parent / "sample_jobs").glob("*.toml"))
JobOf = Callable[..., Job]

HEAD = 'format = 1\nunits = "mm"\nmachine = "small router"\n'


def panel_text(name: str, body: str, material: str = "aluminium", thickness: float = 2) -> str:
    sheet = f'name = "{name}"\nmaterial = "{material}"\nthickness = {thickness}\nwidth = 280\nheight = 160\n'
    return f"[[panel]]\n{sheet}{body}\n"


def strips_of(job: Job) -> tuple[Panel, ...]:
    return fit_strips(job, lay_out(job).panels)


def likeness(opening: Opening) -> tuple[object, ...]:
    """What makes two openings the same to a builder, from the shapes as laid out: areas and lengths do not turn."""
    shape = opening.shape
    return (
        opening.kind if opening.diameter is None else "round",
        *(round(value, 4) for value in (shape.area, shape.perimeter, opening.diameter or 0.0, opening.tolerance)),
        opening.finish, opening.depth, opening.countersink, opening.thread and opening.thread.name,
        round(opening.corner_limit, 4), opening.filed,
    )  # fmt: skip


def patterns(panel: Panel) -> Iterator[list[Opening]]:
    """The components and single openings of a panel that has no rebates."""
    yield from ([one] for one in panel.openings if one.component is None)
    for place in range(len(panel.placements)):
        yield [one for one in panel.openings if one.component == place]


def pattern_likeness(pattern: list[Opening]) -> tuple[object, ...]:
    """A pattern by its openings and all distances between them, which neither place nor angle changes."""
    apart = (
        (*sorted(map(repr, (likeness(one), likeness(two)))), round(math.dist(one.centre, two.centre), 4))
        for one, two in combinations(pattern, 2)
    )
    return tuple(sorted(map(repr, map(likeness, pattern)))), tuple(sorted(map(repr, apart)))


def widest(pattern: list[Opening]) -> float:
    """The longer side of the box round a pattern that lies along the panel's edges."""
    boxes = [mouth(one).bounds for one in pattern]
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return max(max(x1) - min(x0), max(y1) - min(y0))


def sample_jobs() -> list[tuple[Path, str | None]]:
    return [(path, size) for path in SAMPLES for size in (None, *size_names(path))]


@pytest.fixture(params=sample_jobs(), ids=lambda pair: f"{pair[0].stem}-{pair[1] or 'base'}")
def sample(request: pytest.FixtureRequest) -> Job:
    path, size = request.param
    return read_job(path, size=size)


def test_every_different_opening_of_a_sample_is_there_once(sample: Job) -> None:
    """On the strips of a sheet no pattern and no single opening is twice, each of the job is among them unless it is
    too large, and nothing is that the job does not have."""
    panels = lay_out(sample).panels
    strips = fit_strips(sample, panels)
    for sheet in {(panel.material, panel.thickness) for panel in panels}:
        own, ours = ([one for one in both if (one.material, one.thickness) == sheet] for both in (panels, strips))
        there = [pattern for strip in ours for pattern in patterns(strip)]
        counted = Counter(map(pattern_likeness, there))
        assert set(counted.values()) == {1}
        made = {likeness(one) for pattern in there for one in pattern}
        wanted = {likeness(one) for panel in own for one in panel.openings if one.finish != "mark"}
        large = {likeness(one) for panel in own for one in panel.openings if across(one.shape) > LARGEST}
        assert made == wanted - large
        several = [p for panel in own for p in patterns(panel) if len(p) > 1 and widest(p) <= LARGEST]
        kept = {pattern_likeness(pattern) for pattern in several if any(one.finish != "mark" for one in pattern)}
        assert kept == {pattern_likeness(pattern) for pattern in there if len(pattern) > 1}
        together = {likeness(one) for pattern in there if len(pattern) > 1 for one in pattern}
        assert not together & {likeness(one) for pattern in there if len(pattern) == 1 for one in pattern}


def test_webs_are_kept_and_parts_sit_flat(sample: Job) -> None:
    """Between two patterns, and to the edge, there is the web of the material's rule; a nut or flange lies on the
    strip and over no opening of another pattern; clamps clear all by half the collet nut; the strip is small."""
    for strip in strips_of(sample):
        material = sample.materials[strip.material]
        web = max(material.web * strip.thickness, material.web_least)
        x0, y0, x1, y1 = strip.outline.bounds
        assert x1 - x0 <= 280 and y1 - y0 <= 160 and (x0, y0) == (0, 0)
        for one, two in combinations(patterns(strip), 2):
            assert all(gap(mouth(a), mouth(b)) >= web for a in one for b in two)
        nut = sample.machine.nut_diameter / 2
        for opening in strip.openings:
            left, low, right, high = mouth(opening).bounds
            assert min(left - x0, low - y0, x1 - right, y1 - high) >= web
            assert all(right + nut < clamp.area[0] or clamp.area[2] + nut < left for clamp in strip.clamps)
        for place, placement in enumerate(strip.placements):
            for seat in seats(placement, strip.thickness):
                left, low, right, high = seat.footprint.bounds
                assert x0 <= left and y0 <= low and right <= x1 and high <= y1
                others = (one for one in strip.openings if one.component != place)
                assert not any(overlaps(seat.footprint, other.shape) for other in others)


def test_a_strip_is_told_of_with_notes_alone(sample: Job) -> None:
    """No rule about layout, clamps or the box finds anything wrong with a strip of a sample, and the findings about
    the panels are those without it."""
    found = pipeline.check(sample, fit_strip=True)
    about = [one for one in found if one.panel.startswith("fit strip") or one.code == "fit-strip"]
    assert {one.severity for one in about} == {"note"}
    assert tuple(one for one in found if one not in about) == pipeline.check(sample)


TURNED = """
[[panel.d_hole]]
at = [{x}, 20]
diameter = 12
across_flat = 11
angle = {a}
[[panel.double_d_hole]]
at = [{x}, 45]
diameter = 12
across_flats = 10
angle = {a}
[[panel.slot]]
at = [{x}, 70]
length = 20
width = 5
angle = {a}
[[panel.cutout]]
at = [{x}, 100]
width = 20
height = 12
corner_radius = 2
angle = {a}
[[panel.polygon]]
at = [{x}, 130]
points = [[0, 0], [14, 0], [14, 10], [7, 10], [7, 18], [0, 18]]
corner_radius = 1.5
angle = {a}
[[panel.keyed_hole]]
at = [{y}, 20]
diameter = 10
key_width = 2.4
key_depth = 1.2
angle = {a}
"""
HOLES = """
[[panel.hole]]
at = [150, 130]
diameter = 4
label = "lone"
[[panel.ring]]
at = [150, 100]
circle_diameter = 30
count = 5
diameter = 4
label = "ring"
[[panel.grid]]
at = [150, 50]
columns = 3
rows = 3
pitch = 10
diameter = 4
"""
OTHERS = [
    "diameter = 4\ntolerance = 0.2", "diameter = 4\ndepth = 1", 'diameter = 4\nfinish = "pilot"',
    "diameter = 4\ncountersink = { diameter = 8, angle = 90 }", 'thread = "M3"', "diameter = 4.1",
]  # fmt: skip


def test_place_angle_and_label_make_no_difference(job_of: JobOf) -> None:
    """Shapes of every kind at two places and angles, under two labels, on two panels, are on the strip once and lie
    unturned; holes of a ring or a grid are what the same hole by itself is."""
    one = panel_text("one", TURNED.format(x=30, y=80, a=0) + HOLES)
    two = panel_text("two", TURNED.format(x=40, y=90, a=33) + HOLES.replace("lone", "other"))
    (strip,) = strips_of(job_of(HEAD + one + two))
    kinds = Counter(one.kind for one in strip.openings)
    assert kinds == Counter(["d_hole", "double_d_hole", "slot", "cutout", "polygon", "keyed_hole", "hole"])
    assert all(one.turned is None or one.turned.angle == 0 for one in strip.openings)
    (polygon,) = (one for one in strip.openings if one.kind == "polygon")
    assert polygon.size_text == "polygon 14 x 18 R1.5"
    (hole,) = (one for one in strip.openings if one.kind == "hole")
    assert hole.label.startswith("lone, ring, other; one A1, A2, A3, A4, A5, A6 and 9 more; two A1, A2")


def test_what_decides_the_fit_makes_a_difference(job_of: JobOf) -> None:
    """Holes that differ in tolerance, depth, finish, countersink, thread or size are all there; a mark is not."""
    holes = ["diameter = 4", *OTHERS, "diameter = 4\nfinish = 'mark'"]
    body = "".join(f"[[panel.hole]]\nat = [{30 + 25 * place}, 50]\n{hole}\n" for place, hole in enumerate(holes))
    (strip,) = strips_of(job_of(HEAD + panel_text("one", body)))
    assert len({likeness(one) for one in strip.openings}) == len(strip.openings) == 7


def test_a_component_keeps_its_holes_together(job_of: JobOf) -> None:
    """Two sockets turned differently are one pattern with the table's own spacing, lying as the table has it; the
    label says which they are, what they are and where; a lone hole of the size of its screws is tried there."""
    body = (
        '[[panel.part]]\npart = "noval socket"\nlabel = "V1"\nat = [60, 60]\nangle = 20\n'
        '[[panel.part]]\npart = "noval socket"\nlabel = "V2"\nat = [140, 60]\nangle = 90\n'
        '[[panel.hole]]\nat = [200, 60]\ndiameter = 3.2\nlabel = "lid"\n'
    )
    (strip,) = strips_of(job_of(HEAD + panel_text("top", body)))
    assert [one.label for one in strip.openings] == [
        "V1, V2: noval socket; top B1, B2",
        "V1, V2: noval socket fixing / lid; top A2, A3, A4, A5, A1",
        "V1, V2: noval socket fixing / lid; top A2, A3, A4, A5, A1",
    ]
    socket, left, right = (one.centre for one in strip.openings)
    assert left == pytest.approx((socket[0] - 14.3, socket[1])) and right == pytest.approx((socket[0] + 14.3, left[1]))


def test_what_lies_in_a_rebate_stays_in_it(job_of: JobOf) -> None:
    """A rebate with its through hole is one pattern; the hole begins at its floor here too."""
    body = (
        "[[panel.cutout]]\nat = [{0}, 60]\nwidth = 40\nheight = 25\ncorner_radius = 3\ndepth = 3\n"
        "[[panel.hole]]\nat = [{0}, 60]\ndiameter = 12\n"
    )
    text = panel_text("one", body.format(50) + body.format(150) + "[[panel.hole]]\nat = [220, 60]\ndiameter = 12\n",
                      "plywood", 9)  # fmt: skip
    (strip,) = strips_of(job_of(HEAD + text))
    assert sorted((one.kind, one.top, one.depth) for one in strip.openings if one.top or one.depth) == [
        ("cutout", 0, 3), ("hole", 3, None),
    ]  # fmt: skip
    assert len(strip.openings) == 3, "the same hole through the whole sheet is another fit"


def test_what_is_too_large_is_named_and_its_screws_are_there(job_of: JobOf) -> None:
    """A loudspeaker's opening stays off the strip with a note that names it; its screw hole is on it once."""
    body = '[[panel.part]]\npart = "8 in loudspeaker"\nat = [140, 80]\n'
    text = panel_text("baffle", body, "plywood", 12).replace("160", "260").replace("[140, 80]", "[140, 130]")
    job = job_of(HEAD.replace("small router", "sheet router") + text)
    (strip,) = strips_of(job)
    (screw,) = strip.openings
    assert screw.diameter is not None and screw.diameter < 8
    (note,) = (one for one in pipeline.check(job, fit_strip=True) if one.code == "fit-strip" and one.panel == "baffle")
    assert (note.severity, note.feature) == ("note", "part[1]") and "stays off" in note.message


def test_every_sheet_has_its_own_strip_under_a_free_name(job_of: JobOf) -> None:
    """Two thicknesses of a material give two strips that say so; a name that a panel has, in any case, is not taken."""
    hole = "[[panel.hole]]\nat = [50, 50]\ndiameter = 6\n"
    text = panel_text("a", hole) + panel_text("b", hole, thickness=1.2) + panel_text("c", hole, "mild steel", 1.2)
    assert [strip.name for strip in strips_of(job_of(HEAD + text))] == [
        "fit strip aluminium 2 mm", "fit strip aluminium 1_2 mm", "fit strip mild steel",
    ]  # fmt: skip
    (strip,) = strips_of(job_of(HEAD + panel_text("Fit Strip Aluminium", hole)))
    assert strip.name == "fit strip aluminium 2"


def test_what_does_not_fit_on_one_strip_goes_on_several(job_of: JobOf) -> None:
    """Sixteen different large cutouts take several strips, each within the travel of the machine."""
    cutouts = [(60 + place, 40 + place) for place in range(16)]
    body = "".join(
        f"[[panel.cutout]]\nat = [140, 80]\nwidth = {w}\nheight = {h}\ncorner_radius = 3\n" for w, h in cutouts
    )
    strips = strips_of(job_of(HEAD + panel_text("one", body)))
    numbered = (f"fit strip aluminium {number}" for number in range(2, len(strips) + 1))
    assert [strip.name for strip in strips] == ["fit strip aluminium", *numbered]
    assert sum(len(strip.openings) for strip in strips) == 16 and len(strips) > 1
    assert all(strip.outline.bounds[2] <= 280 and strip.outline.bounds[3] <= 160 for strip in strips)


def test_a_strip_is_held_as_the_panels_are(job_of: JobOf) -> None:
    """Its clamps are no taller than the lowest on panels of its sheet; metal without any is clamped all the same, and
    board is screwed down, so that tall clamps take no daylight from a long cutter."""
    hole = "[[panel.hole]]\nat = [140, 80]\ndiameter = 8\n"
    low = "clamps = [{ x = -10, y = 60, width = 20, height = 20 }, { x = 270, y = 60, width = 20, height = 8 }]\n"
    cases = [(low + hole, "aluminium", [8, 8]), (hole, "aluminium", [20, 20]), (hole, "plywood", [])]
    for body, material, heights in cases:
        job = job_of(HEAD + panel_text("one", body, material, 18 if material == "plywood" else 2))
        (strip,) = strips_of(job)
        assert [clamp.height for clamp in strip.clamps] == heights
        assert not [one for one in pipeline.check(job, fit_strip=True) if one.severity == "error"]


def test_without_anything_to_try_there_is_none(job_of: JobOf) -> None:
    """A job of marks alone has no strip, and whoever asks for one is told."""
    job = job_of(HEAD + panel_text("one", "[[panel.hole]]\nat = [50, 50]\ndiameter = 6\nfinish = 'mark'\n"))
    assert strips_of(job) == ()
    assert [one.code for one in pipeline.check(job, fit_strip=True)] == ["fit-strip"]
    assert pipeline.check(job) == ()

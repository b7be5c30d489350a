"""Flat geometry as DXF: read by the bare tags of the published format (DXF reference), and audited by ezdxf."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest

from postprocessors.dxf import Dxf
from toolpaths import pipeline
from toolpaths.drawing import Chain, Drawing, Pen, Polyline, Text
from toolpaths.errors import PostError
from toolpaths.flat import Heading, draw_flat
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
Tags = list[tuple[int, str]]


def drawing(*marks, texts=()) -> Drawing:
    return Drawing("Fernhill", "rear", (-10.0, -5.0, 110.0, 75.0), (Pen("OPENINGS", 0.18, (), marks),), texts=texts)


class Later(datetime):
    """A clock of some years from now."""

    @classmethod
    def now(cls, tz=None):
        return datetime(2041, 5, 6, 7, 8, 9)


def tags_of(text: str) -> Tags:
    """Group codes and values, two lines each: the whole of the format."""
    lines = text.split("\n")
    return [(int(code), value) for code, value in zip(lines[0:-1:2], lines[1::2], strict=True)]


def header(text: str) -> dict[str, str]:
    found = tags_of(text)
    return {name: value for (code, name), (_, value) in pairwise(found) if code == 9}


def entities(text: str) -> Iterator[Tags]:
    """Each entity of the section of that name as its tags, its type first."""
    found = tags_of(text)
    begin = found.index((2, "ENTITIES")) + 1
    one: Tags = []
    for tag in found[begin:]:
        if tag[0] == 0:
            if one:
                yield one
            if tag[1] == "ENDSEC":
                return
            one = []
        one.append(tag)


def values(entity: Tags, *codes: int) -> list[float]:
    return [float(value) for code, value in entity if code in codes]


def test_a_circle_is_a_circle() -> None:
    """A round contour is one CIRCLE with its true centre and radius, on the layer of its pen."""
    (one,) = entities(Dxf().write(drawing(Chain(circle((30.5, 40.25), 12.7).segments, True))))
    assert one[0] == (0, "CIRCLE") and (8, "OPENINGS") in one
    assert values(one, 10, 20, 40) == pytest.approx([30.5, 40.25, 6.35], abs=1e-12)


def test_a_contour_is_one_closed_polyline_with_true_arcs() -> None:
    """Lines and arcs come out as one closed LWPOLYLINE: an arc is the bulge tan(turn / 4) of its first vertex."""
    hole = d_hole((50.0, 30.0), 12.7, 11.7)
    (one,) = entities(Dxf().write(drawing(Chain(hole.segments, True))))
    assert one[0] == (0, "LWPOLYLINE") and (70, "1") in one and (90, "2") in one
    points = list(zip(values(one, 10), values(one, 20), strict=True))
    assert points == [pytest.approx(segment.start, abs=1e-12) for segment in hole.segments]
    assert values(one, 42) == pytest.approx([math.tan(hole.segments[1].sweep / 4)])  # a flat has no bulge
    # the arc that the format's own formulas make of it: sagitta = bulge * half the chord
    flat, bulge = hole.segments[0], values(one, 42)[0]
    assert bulge * flat.length / 2 == pytest.approx(11.7)


@pytest.mark.parametrize(
    ("mark", "kind"),
    [
        (Polyline(((1.0, 2.0),)), "POINT"),
        (Polyline(((1.0, 2.0), (3.0, 4.0))), "LINE"),
        (Polyline(((0.0, 0.0), (3.0, 0.0), (3.0, 4.0), (0.0, 0.0))), "LWPOLYLINE"),
        (Chain((Line((0, 0), (5, 0)), Arc((5, 0), (0, -5), (0, 0), False)), False), "LWPOLYLINE"),
        (Chain((Line((0, 0), (5, 0)), Arc((5, 0), (5, 0), (3, 0), True)), False), "LWPOLYLINE"),
    ],
)
def test_each_mark_is_one_entity(mark, kind) -> None:
    """Points, lines and chains are one entity each, and open chains stay open."""
    (one,) = entities(Dxf().write(drawing(mark)))
    assert one[0] == (0, kind)
    if isinstance(mark, Chain):
        assert (70, "0") in one
        turns = [4 * math.atan(bulge) for bulge in values(one, 42)]
        assert sum(turns) == pytest.approx(sum(s.sweep if s.ccw else -s.sweep for s in mark.segments[1:]))


def test_units_version_and_extent_are_stated() -> None:
    """The header states the version of the year 2000, millimetres and the extent of the panel."""
    head = header(Dxf().write(drawing(Polyline(((1.0, 2.0),)))))
    assert (head["$ACADVER"], head["$INSUNITS"].strip(), head["$MEASUREMENT"].strip()) == ("AC1015", "4", "1")
    assert (float(head["$EXTMIN"]), float(head["$EXTMAX"])) == (-10.0, 110.0)


def test_lettering_is_text_in_ascii_on_a_layer_of_its_own() -> None:
    """Words are TEXT on the layer NOTES; the file is ASCII whatever they hold, and no label makes a control code."""
    text = Dxf().write(drawing(texts=(Text((1.0, -5.0), 3.5, "Ø6 é %%c\nx"),)))
    (one,) = entities(text)
    assert one[0] == (0, "TEXT") and (8, "NOTES") in one and (1, r"%%c6 \U+00E9 % %c x") in one
    text.encode("ascii")


def test_what_is_not_finite_is_refused() -> None:
    """A coordinate that is no number never reaches a file."""
    with pytest.raises(PostError, match="finite"):
        Dxf().write(drawing(Polyline(((math.nan, 2.0), (3.0, 4.0)))))


def test_the_librarys_setting_is_put_back() -> None:
    """Fixed dates are this post-processor's alone: whoever else writes with the library keeps its own."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    Dxf().write(drawing())
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_is_written_without_a_fault(sample, capfd, monkeypatch) -> None:
    """Every panel of every sample passes the library's audit, is the same twice at two times, and prints nothing."""
    job = read_job(sample)
    layout = lay_out(job)
    for panel in layout.panels:
        flat = draw_flat(panel, Heading(layout.title, layout.units, "", job.chassis))
        text = Dxf().write(flat)
        found = ezdxf.read(io.StringIO(text)).audit()
        assert not found.errors and not found.fixes
        with monkeypatch.context() as later:
            later.setattr("ezdxf.document.datetime", Later)
            assert Dxf().write(flat) == text
    assert capfd.readouterr() == ("", "")


def test_the_layers_say_what_becomes_of_an_opening(tmp_path) -> None:
    """Through, blind, countersunk, pilot and mark: each lies on its layer, seen from outside, and a note says what."""
    (tmp_path / "trial.toml").write_text("""
format = 1
title = "Trial"
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 3
width = 100
height = 60
machine_from = "inside"
  [[panel.hole]]
  at = [10, 10]
  diameter = 6
  [[panel.hole]]
  at = [30, 10]
  diameter = 8
  depth = 1.25
  [[panel.hole]]
  at = [50, 10]
  diameter = 5
  countersink = { diameter = 9, angle = 90 }
  [[panel.hole]]
  at = [70, 10]
  diameter = 10
  finish = "pilot"
  label = "lamp"
  [[panel.cutout]]
  at = [30, 40]
  width = 20
  height = 10
  corner_radius = 2
  finish = "mark"
""")
    made = pipeline.make(read_job(tmp_path / "trial.toml", machine="pen plotter"), posts=["dxf"])
    file = next(file for file in made.files if file.path == "plate.dxf")
    assert file.facts["kind"] == "dxf" and file.facts["mirrored"] is False and file.facts["zero"] == [0.0, 0.0]
    found: dict[str, list[tuple[str, list[float]]]] = {}
    words = []
    for entity in entities(file.content.decode("ascii")):
        layer = next(value for code, value in entity if code == 8)
        if layer == "NOTES":
            words += [value for code, value in entity if code == 1]
        else:
            found.setdefault(layer, []).append((entity[0][1], values(entity, 10, 20, 40)))
    assert found["OPENINGS"] == [("CIRCLE", [10, 10, 3]), ("CIRCLE", [50, 10, 2.5])]
    assert found["BLIND-1.25-MM"] == [("CIRCLE", [30, 10, 4])]
    assert found["CONES-90-DEG"] == [("CIRCLE", [50, 10, 4.5])]
    assert found["PILOTS"] == [("CIRCLE", [70, 10, 1.5])]
    assert found["BY-HAND"][0] == ("CIRCLE", [70, 10, 5]) and found["BY-HAND"][1][0] == "LWPOLYLINE"
    assert sorted(found["MARKS"]) == [("POINT", [x, y]) for x in (22, 38) for y in (37, 43)]
    assert [kind for kind, _ in found["OUTLINE"]] == ["LWPOLYLINE"]
    assert "BLIND-1.25-MM: do not cut through: pockets and blind holes, 1.25 mm deep" in words
    assert any("seen from the outside" in line for line in words) and any("(lamp)" in line for line in words)


def test_a_folded_face_has_its_bends_and_a_blank_its_rim() -> None:
    """A face of a folded box has a line beside each bend on a layer of its own, and a note that it is no flat blank."""
    job = read_job(next(path for path in SAMPLES if path.stem == "crowded_chassis"))
    layout = lay_out(job)
    top = next(panel for panel in layout.panels if panel.name == "top")
    flat = draw_flat(top, Heading(layout.title, layout.units, "", job.chassis))
    assert [len(pen.marks) for pen in flat.pens if pen.name == "BENDS"] == [4]
    assert any("not the flat blank" in text.words for text in flat.texts)


def test_the_outline_comes_last() -> None:
    """Layers stand inner before outer, so that whoever cuts in their order cuts the outline last."""
    (panel,) = lay_out(read_job(next(path for path in SAMPLES if path.stem == "two_driver_baffle"))).panels
    flat = draw_flat(panel, Heading("Trial", "mm"))
    assert flat.pens[-1].name == "OUTLINE"
    assert flat.pens[-1].marks[0].segments == panel.outline.segments  # type: ignore[union-attr]

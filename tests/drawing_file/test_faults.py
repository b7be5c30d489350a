"""Whatever is wrong with a drawing is named by its layer and place; and nothing hostile does harm."""

from __future__ import annotations

import logging
import random
from pathlib import Path

import ezdxf
import pytest

from toolpaths.drawing_file import entities
from toolpaths.drawing_file.contents import Wanted
from toolpaths.drawing_file.read import closed_contours, read_drawing
from toolpaths.errors import BadInput

FIXTURES = Path(__file__).parent / "fixtures"
BAD = float("nan")


def problems(error: pytest.ExceptionInfo[BadInput]) -> list[str]:
    return [str(problem) for problem in error.value.problems]


def line(space, *ends, layer="L"):
    return space.add_line(*ends, dxfattribs={"layer": layer})


FAULTS = [
    (lambda s: line(s, (0, 0), (10, 0)), r"layer 'L', LINE #\w+ at \(0, 0\): is open: .*\(0, 0\) and \(10, 0\)", False),
    (lambda s: [line(s, (0, 0), (9, 0)), line(s, (9, 0.5), (5, 9)), line(s, (5, 9), (0, 0))],
     r"LINE .* at \(9, 0\): is open: .* loose end is 0.5 mm away", False),
    (lambda s: [line(s, (0, 0), (9, 0)), line(s, (9, 0), (5, 9)), line(s, (5, 9), (0, 0)), line(s, (0, 0), (3, 3))],
     r"at \(0, 0\): 3 lines or arcs meet in one point", False),
    (lambda s: s.add_lwpolyline([(0, 0), (9, 9), (9, 0), (0, 9)], close=True),
     r"LWPOLYLINE #\w+ at \(0, 0\): crosses or touches itself at \(4.5, 4.5\)", False),
    (lambda s: s.add_lwpolyline([(0, 0), (9, 0), (4, 0)], close=True), "encloses no area|touches itself", False),
    (lambda s: [s.add_circle((5, 5), 2), s.add_circle((5, 5), 2)], r"CIRCLE #\w+ at \(5, 5\): is drawn twice", True),
    (lambda s: [s.add_lwpolyline([(0, 0), (9, 0), (5, 9)], close=True), line(s, (0, 0), (9, 0)),
                line(s, (9, 0), (5, 9)), line(s, (5, 9), (0, 0))], "is drawn twice", True),
    (lambda s: s.add_circle((5, 5), 0), r"CIRCLE #\w+ at \(5, 5\): its radius is 0", True),
    (lambda s: s.add_circle((5, 5), -3), r"its radius is -3", True),
    (lambda s: s.add_circle((BAD, 5), 2), r"layer '0', CIRCLE #\w+: a coordinate is no number", True),
    (lambda s: line(s, (0, BAD), (3, 3)), r"LINE #\w+: a coordinate is no number", True),
    (lambda s: s.add_lwpolyline([(0, 0, BAD), (3, 0, 0)], format="xyb", close=True), "no number", True),
    (lambda s: s.add_circle((5e9, 5), 2), r"reaches beyond 10 km", True),
    (lambda s: s.add_ellipse((5, 5), (1e-5, 0), 0.5), "an axis has no length", True),
    (lambda s: line(s, (0, 0, 0), (3, 3, 8)), "is not flat", True),
    (lambda s: s.add_circle((5, 5), 2, dxfattribs={"extrusion": (0, 1, 1)}), "tilted", True),
    (lambda s: s.add_blockref("NOWHERE", (7, 8)), r"INSERT #\w+ at \(7, 8\): there is no block 'NOWHERE'", True),
    (lambda s: s.add_lwpolyline([(4, 4)]), "fewer than two vertices", True),
]  # fmt: skip


@pytest.mark.parametrize(("draw", "said", "mended"), FAULTS, ids=[said[:40] for _, said, _ in FAULTS])
def test_every_fault_is_named_by_layer_and_place(draw, said, mended, read, sheet) -> None:
    """Each fault is one line with layer, type, handle and place; --recover leaves out what can be, and lists that."""
    document, space = sheet
    space.add_circle((500, 500), 7)
    draw(space)
    with pytest.raises(BadInput, match=said) as error:
        read(document)
    assert all("\n" not in text for text in problems(error))
    if not mended:
        with pytest.raises(BadInput, match=said):
            read(document, recover=True)
        return
    contents = read(document, recover=True)
    assert any(shape.circle == ((500, 500), 14) for shape in contents.shapes)
    assert [note.code for note in contents.notes if note.code == "drawing-repaired"]


def test_gaps_are_joined_only_as_far_as_is_said(read, sheet) -> None:
    """A triangle with gaps of 0.3 mm is open at the usual gap, and closed where the job says 0.5."""
    document, space = sheet
    for ends in (((0, 0), (30, 0)), ((30.3, 0), (15, 20)), ((15, 20.3), (0, 0.3))):
        space.add_line(*ends)
    with pytest.raises(BadInput, match="is open"):
        read(document)
    (shape,) = read(document, gap=0.5).shapes
    assert shape.contour.area == pytest.approx(300, rel=0.02) and len(shape.contour.segments) == 3


def test_layers_do_not_join_each_other(read, sheet) -> None:
    """Lines of two layers that meet are no contour: each layer is read by itself."""
    document, space = sheet
    for layer, *ends in (("A", (0, 0), (9, 0)), ("A", (9, 0), (5, 9)), ("B", (5, 9), (0, 0))):
        space.add_line(*ends, dxfattribs={"layer": layer})
    with pytest.raises(BadInput, match=r"layer 'A'.*is open") as error:
        read(document)
    assert len(problems(error)) == 2


def test_an_island_is_an_error_by_its_place(tmp_path, sheet) -> None:
    """A contour within another is named with both places; on a layer that is not read it is no matter."""
    document, space = sheet
    space.add_circle((50, 50), 30, dxfattribs={"layer": "BIG"})
    space.add_circle((55, 50), 4, dxfattribs={"layer": "SMALL"})
    document.saveas(tmp_path / "a.dxf")
    with pytest.raises(BadInput, match=r"'SMALL', CIRCLE #\w+ at \(55, 50\): lies within another .*'BIG'"):
        closed_contours(tmp_path / "a.dxf", "a.dxf", Wanted())
    assert len(closed_contours(tmp_path / "a.dxf", "a.dxf", Wanted(("BIG",))).shapes) == 1


def test_no_more_than_twenty_are_told_one_by_one(read, sheet) -> None:
    """Of a hundred open lines twenty are named, and the rest counted."""
    document, space = sheet
    for k in range(100):
        space.add_line((0, 10 * k), (50, 10 * k))
    with pytest.raises(BadInput) as error:
        read(document)
    assert len(problems(error)) == 21 and "and 80 faults more" in problems(error)[-1]


@pytest.mark.parametrize(
    ("layers", "said"),
    [(("HOLE",), "has no layer 'HOLE'; did you mean 'HOLES'"), (("SPARE",), "has nothing on layer 'SPARE'.*'HOLES'")],
)
def test_a_layer_that_gives_nothing_is_an_error(layers, said, read, sheet) -> None:
    """A layer that is not there is named with the nearest one, an empty one with those that are not."""
    document, space = sheet
    document.layers.add("SPARE")
    space.add_circle((5, 5), 2, dxfattribs={"layer": "HOLES"})
    with pytest.raises(BadInput, match=said):
        read(document, layers=layers)


def test_nothing_to_cut_is_an_error(read, sheet) -> None:
    """A drawing with nothing but words holds nothing that could be cut, and says what it holds."""
    document, space = sheet
    space.add_text("only words")
    with pytest.raises(BadInput, match="nothing that could be cut: 1 TEXT on layer '0'"):
        read(document)


UNITLESS = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n5\n20\n5\n40\n2\n0\nENDSEC\n0\nEOF\n"


@pytest.mark.parametrize("header", ["", "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n0\n0\nENDSEC\n"])
def test_units_are_asked_for_where_none_are_stated(header, read) -> None:
    """A file without units, or with those of number 0, is asked about, though the library would fill in metres."""
    with pytest.raises(BadInput, match="states no units; say what a unit of it is with units = 'mm'"):
        read((header + UNITLESS).encode(), units=None)
    assert read((header + UNITLESS).encode(), units="in").shapes[0].circle == ((127, 127), pytest.approx(101.6))


def test_units_that_are_no_length_of_a_workshop_are_asked_for(read) -> None:
    """Units of an unknown number are not believed."""
    header = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n99\n0\nENDSEC\n"
    with pytest.raises(BadInput, match=r"not known here .99."):
        read((header + UNITLESS).encode(), units=None)


BROKEN = {
    "missing_coordinate.dxf": "y coordinate",
    "empty_handles.dxf": "Invalid handle",
    "blocks_without_names.dxf": "BLOCK without name",
    "layer_without_name.dxf": "name",
}
"""Reader fixtures of the library that are broken, and what is said of each."""


@pytest.mark.parametrize(("name", "said"), BROKEN.items())
def test_broken_files_are_refused_until_repair_is_asked_for(name, said, capfd, caplog) -> None:
    """Strict reading refuses each with its reason and a way out; with --recover what is said is about its geometry."""
    with caplog.at_level(logging.DEBUG), pytest.raises(BadInput, match=f"is no sound DXF file: .*{said}.*--recover"):
        read_drawing(FIXTURES / name, name, Wanted(units="mm"))
    try:
        contents = read_drawing(FIXTURES / name, name, Wanted(units="mm", recover=True))
    except BadInput as error:
        assert all("sound" not in problem.message for problem in error.problems)
    else:
        assert "it was not sound" in " ".join(note.text for note in contents.notes if note.code == "drawing-repaired")
    assert capfd.readouterr() == ("", "") and not caplog.records


def test_sound_fixtures_are_read() -> None:
    """Fixtures that are sound are read strictly: what stands behind the end is ignored, splines are followed."""
    (shape,) = read_drawing(FIXTURES / "trash_behind_the_end.dxf", "a", Wanted(units="mm")).shapes
    assert shape.circle == ((0, 0), 3)
    contents = read_drawing(FIXTURES / "splines_no_layouts.dxf", "a", Wanted())
    assert len(contents.shapes) == 2 and all(shape.circle is None for shape in contents.shapes)


def test_a_file_cut_short_is_never_taken_for_whole(tmp_path, sheet) -> None:
    """Cut anywhere, a file is an error in strict reading; recovered it has a repair to be read, or is an error."""
    document, space = sheet
    for k in range(30):
        space.add_circle((10 * k, 5), 2)
    document.saveas(tmp_path / "whole.dxf")
    raw = (tmp_path / "whole.dxf").read_bytes()
    for share in (0.02, 0.3, 0.6, 0.9, 0.95, 0.99):
        cut = tmp_path / f"{share}.dxf"
        cut.write_bytes(raw[: int(share * len(raw))])
        with pytest.raises(BadInput):
            read_drawing(cut, "cut.dxf", Wanted(units="mm"))
        try:
            contents = read_drawing(cut, "cut.dxf", Wanted(units="mm", recover=True))
        except BadInput:
            continue
        assert any("it has no end" in note.text for note in contents.notes)


@pytest.mark.parametrize(
    "raw", [b"", b" \n\n", b"\x00" * 100, b"hello", b"0\nSECTION\n", bytes(range(256)), b"<svg></svg>", b"\xff\xfe0\n"]
)
@pytest.mark.parametrize("recover", [False, True])
def test_what_is_no_drawing_is_refused(raw, recover, read) -> None:
    """Empty files, noise and other formats are bad input with and without repair, in one line."""
    with pytest.raises(BadInput) as error:
        read(raw, recover=recover)
    assert len(problems(error)) == 1


def test_blocks_that_hold_themselves_or_too_much_end(read, sheet, monkeypatch) -> None:
    """A block that holds itself, blocks too deep, rows of millions and blocks that multiply all end with an error."""
    document, space = sheet
    loop = document.blocks.new("LOOP")
    loop.add_circle((0, 0), 1)
    loop.add_blockref("LOOP", (5, 5))
    space.add_blockref("LOOP", (0, 0))
    with pytest.raises(BadInput, match="block 'LOOP' holds itself"):
        read(document)
    deep = ezdxf.new("R2010", units=4)
    last = deep.blocks.new("B0")
    last.add_circle((0, 0), 1)
    for k in range(1, 20):
        deep.blocks.new(f"B{k}").add_blockref(f"B{k - 1}", (1, 1))
    deep.modelspace().add_blockref("B19", (0, 0))
    with pytest.raises(BadInput, match="more than 16 deep"):
        read(deep)
    many = ezdxf.new("R2010", units=4)
    many.blocks.new("ONE").add_circle((0, 0), 1)
    many.modelspace().add_blockref("ONE", (0, 0), dxfattribs={"row_count": 30000, "column_count": 30000})
    with pytest.raises(BadInput, match="more than 100000 entities"):
        read(many)
    monkeypatch.setattr(entities, "MOST_ENTITIES", 5000)
    bomb = ezdxf.new("R2010", units=4)
    bomb.blocks.new("X0")
    for k in range(1, 12):
        block = bomb.blocks.new(f"X{k}")
        for _ in range(10):
            block.add_blockref(f"X{k - 1}", (0, 0))
    bomb.modelspace().add_blockref("X11", (0, 0))
    with pytest.raises(BadInput, match="more than 5000 entities"):
        read(bomb)


def test_a_file_too_large_is_refused_unread(tmp_path, monkeypatch) -> None:
    """A file over the limit is refused before anything of it is understood."""
    monkeypatch.setattr("toolpaths.drawing_file.file.LARGEST", 1_000_000)
    (tmp_path / "a.dxf").write_bytes(b"0\n" * 600_000)
    with pytest.raises(BadInput, match="is larger than 1 MB"):
        read_drawing(tmp_path / "a.dxf", "a.dxf", Wanted())


@pytest.mark.parametrize("recover", [False, True])
def test_noise_in_a_drawing_never_breaks_the_reader(recover, tmp_path, sheet) -> None:
    """Edited at random, a drawing is read or refused as bad input; nothing else comes out of it."""
    document, space = sheet
    block = document.blocks.new("B")
    block.add_circle((0, 0), 2)
    space.add_blockref("B", (10, 10))
    space.add_spline([(100, 20), (120, 20), (125, 40), (100, 20)])
    space.add_ellipse((60, 40), (15, 0), 0.5)
    space.add_lwpolyline([(0, 60, 0), (20, 60, 1), (20, 70, 0), (0, 70, 1)], format="xyb", close=True)
    space.add_arc((50, 90), 4, 0, 180)
    space.add_line((46, 90), (54, 90))
    document.saveas(tmp_path / "good.dxf")
    lines = (tmp_path / "good.dxf").read_text().split("\n")
    begin = lines.index("ENTITIES")
    chance = random.Random(7 + recover)
    strange = ["", "nan", "inf", "-1", "0", "1e308", "LINE", "70", "\x00", "99999999999"]
    for trial in range(100):
        bad = list(lines)
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(begin, len(bad))
            match chance.randrange(5):
                case 0:
                    del bad[place]
                case 1:
                    bad[place] = chance.choice(strange)
                case 2:
                    bad.insert(place, chance.choice(lines))
                case 3:
                    bad[place], bad[place - 1] = bad[place - 1], bad[place]
                case 4:
                    bad[place] = bad[place][::-1]
        path = tmp_path / f"{trial}.dxf"
        path.write_text("\n".join(bad))
        try:
            contents = read_drawing(path, path.name, Wanted(units="mm", recover=recover))
        except BadInput as error:
            assert all(str(problem).startswith(path.name) and "\n" not in str(problem) for problem in error.problems)
        else:
            assert contents.shapes

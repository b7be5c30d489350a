"""The papers: a schedule that spreadsheets read safely, and a setup sheet that says everything and runs nothing."""

from __future__ import annotations

import csv
import dataclasses
import io
import math
import re
from html.parser import HTMLParser

import pytest

from toolpaths.finding import Finding
from toolpaths.geometry.shapes import circle, d_hole, rounded_rectangle
from toolpaths.layout.panel import Clamp, Layout, Opening, Panel
from toolpaths.motion import Line, Operation, Rapid, Setup
from toolpaths.shop import schedule, setup_sheet
from toolpaths.shop.cautions import EVERY, cautions
from toolpaths.shop.picture import draw
from toolpaths.tables.load import cutters, machine, materials

NASTY = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{ 7*7 }}"


def opening(tag: str, x: float, y: float, **changes: object) -> Opening:
    """A 3.2 mm hole to drill, but for the changes."""
    plain = Opening(
        tag=tag,
        feature=f"hole[{tag[1:]}]",
        label="",
        centre=(x, y),
        shape=circle((x, y), 3.2),
        diameter=3.2,
        size_text="3.2 mm",
        finish="machine",
        cut=circle((x, y), 3.2),
        cut_diameter=3.2,
        marks=(),
        corner_limit=1.6,
        tolerance=0.0,
        tabs=None,
        cleared=True,
    )
    return dataclasses.replace(plain, **changes)  # type: ignore[arg-type]


def panel(openings: tuple[Opening, ...], mirrored: bool = False) -> Panel:
    """A 100 x 60 mm face in a sheet with 15 mm all round, zero at the corner that lies lower left."""
    return Panel(
        name="rear",
        material="mild steel",
        thickness=1.2,
        thickness_text="18 ga (1.2 mm)",
        outline=rounded_rectangle((50, 30), 100, 60, 3),
        stock=(-15, -15, 115, 75),
        zero=(100, 0) if mirrored else (0, 0),
        mirrored=mirrored,
        cut_outline=True,
        clamps=(Clamp(1, (-15, -15, 5, 5), 20),),
        openings=openings,
        touch_off=(50, 5),
    )


def operation(kind: str, cutter: int, tags: tuple[str, ...], *reasons: str, **changes: object) -> Operation:
    feature = ", ".join(f"hole[{tag[1:]}]" for tag in tags)
    plain = Operation(kind, cutter, feature, tags, 5000.0, 120.0, 60.0, 0.0, -2.1, reasons, ())  # type: ignore[arg-type]
    return dataclasses.replace(plain, **changes)  # type: ignore[arg-type]


def setup(face: Panel, *operations: Operation) -> Setup:
    assert face.touch_off
    return Setup(
        face.name,
        1,
        face.zero,
        face.mirrored,
        face.touch_off,
        face.clear_height,
        face.thickness,
        face.stock,
        operations,
    )


def layout(face: Panel, title: str = "Amplifier") -> Layout:
    return Layout("amp", title, None, "mm", (face,))


DRILL = next(row.number for row in cutters().values() if row.kind == "drill")
MILL = next(row.number for row in cutters().values() if row.kind == "end mill")


def page(face: Panel, *operations: Operation, title: str = "Amplifier", findings: tuple[Finding, ...] = ()) -> str:
    from pathlib import Path

    router = machine("small router", Path())
    of_each = (90.0,) * len(operations)
    work = [setup_sheet.SetupFiles(setup(face, *operations), ("rear.nc",), 754.0, of_each, "rear.dry.nc")]
    return setup_sheet.write(layout(face, title), work, router, cutters(), materials(), findings)


def test_the_schedule_lists_every_opening_and_how_it_is_made() -> None:
    """Each opening is one row in the job's order: place in panel coordinates, size, pilot, steps and reasons."""
    face = panel(
        (
            opening("A1", -10, 12.34567, label="earth"),
            opening("B1", 30, 20, finish="pilot", cut_diameter=3.175, diameter=22.0, size_text="22 mm"),
            opening(
                "C1",
                60,
                20,
                finish="mark",
                cut=None,
                feature="d_hole[1]",
                kind="d_hole",
                diameter=None,
                shape=d_hole((60, 20), 12.7, 11.7),
            ),
        )
    )
    work = setup(
        face,
        operation("spot", DRILL, ("A1",), "no drill starts true on a smooth sheet", "30 m/min by table"),
        operation("drill", DRILL, ("A1",), "small enough"),
        operation("pilot", MILL, ("B1",)),
        operation("mark", DRILL, ("C1",)),
    )
    rows = list(csv.DictReader(io.StringIO(schedule.write(layout(face), [work]))))
    assert [row["tag"] for row in rows] == ["A1", "B1", "C1"]
    assert rows[0] == {
        "tag": "A1",
        "label": "earth",
        "panel": "rear",
        "x": "-10.000",
        "y": "12.346",
        "final size": "3.2 mm",
        "pilot": "",
        "how it is made": "spot, then drill",
        "why": "no drill starts true on a smooth sheet; small enough",
        "units": "mm",
        "measured from": "lower left corner, seen from the outside",
        "corners": "",
    }
    assert rows[1]["pilot"] == "3.175"
    assert rows[1]["how it is made"].startswith("pilot hole; by hand: open to size")
    assert "file" in rows[2]["how it is made"]


@pytest.mark.parametrize("label", ["=1+1", "+cmd", "-2+3", "@sum", " =1", "\t=1", '=HYPERLINK("x")\n,2'])
def test_no_cell_of_the_schedule_is_a_formula(label: str) -> None:
    """Job text that a spreadsheet would calculate gets an apostrophe; numbers stay numbers; a row is a line."""
    text = schedule.write(layout(panel((opening("A1", -1, -2, label=label),))), [])
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["label"].startswith("'")
    assert (float(row["x"]), float(row["y"])) == (-1, -2)
    assert text.count("\n") == 2 and "\r" not in text


class Elements(HTMLParser):
    """Names, attributes and text of a page as a browser would see them."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.names: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.append(tag)
        self.attributes.extend(attrs)

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_text_of_the_job_never_becomes_markup() -> None:
    """A title, reason or finding with markup in it is printed as it is, and adds no element and no attribute."""
    face = panel((opening("A1", 10, 10),))
    finding = Finding("warning", "thin-web", NASTY, NASTY, NASTY)
    harmless = page(
        face, operation("drill", DRILL, ("A1",), "reason"), findings=(Finding("warning", "x", "y", "z", "w"),)
    )
    hostile = page(face, operation("drill", DRILL, ("A1",), NASTY, feature=NASTY), title=NASTY, findings=(finding,))
    assert Elements(hostile).names == Elements(harmless).names
    assert Elements(hostile).attributes == Elements(harmless).attributes
    assert "".join(Elements(hostile).words).count(NASTY) >= 4


def test_the_page_needs_nothing_but_itself() -> None:
    """No network, no script, no other file: nothing in the page points anywhere."""
    elements = Elements(page(panel((opening("A1", 10, 10),)), operation("drill", DRILL, ("A1",))))
    assert not {"script", "link", "img", "iframe", "object"} & set(elements.names)
    assert not {"src", "href"} & {name for name, _ in elements.attributes}
    assert "url(" not in " ".join(elements.words)


def test_the_sheet_says_what_to_clamp_zero_load_and_check() -> None:
    """Sheet, face, clamps as they lie, zero, touch-off, cutters with their figures, order, reasons once, cautions."""
    face = panel(
        (opening("A1", 10, 10), opening("A2", 20, 10), opening("A3", 30, 10), opening("B1", 60, 30)), mirrored=True
    )
    text = page(
        face,
        operation("drill", DRILL, ("A1",), "Small enough for a drill."),
        operation("drill", DRILL, ("A2",), "Small enough for a drill."),
        operation("drill", DRILL, ("A3",), "Small enough for a drill."),
        operation("bore", MILL, ("B1",), "No drill of this size.", rpm=12000.0, feed=300.0, stepdown=0.15, depth=-1.5),
        operation("finish", MILL, ("B1",), "No drill of this size.", rpm=12000.0, feed=240.0, depth=-1.5),
    )
    seen = re.sub(r"\s+", " ", " ".join(Elements(text).words))
    for words in (
        "mild steel, 130 × 90 mm, 18 ga (1.2 mm) thick",
        "Inside face up",
        "X0 Y0 is the lower left corner of the finished panel, as it lies on the machine: 15 mm from the left",
        "At X50 Y5, the diamond of the plan: 65 mm from the left and 20 mm from the lower edge of the sheet.",
        "1 95 to 115 -15 to 5 20",  # clamp 1 lies at the other end once the sheet is turned over
        "240 to 300",
        "A1 to A3 hole[1], hole[2], hole[3]",
        "this one ▸ small router 0.1 to 0.2 mm",
        "protective earth",
        "deburr both faces",
        "Z25",
    ):
        assert words in seen
    assert seen.count("Small enough for a drill.") == 1
    assert "Use cutting wax" not in seen


def test_cautions_follow_the_material() -> None:
    """Steel brings its chips, aluminium its wax, board its dust; the electrical ones always stand there."""
    table = materials()
    for name, needed, foreign in (
        ("mild steel", "wood-dust extractor", "cutting wax"),
        ("aluminium", "cutting wax", "wood-dust extractor"),
        ("plywood", "Wear a mask", "deburr"),
        ("stainless steel", "hardens the sheet", "cutting wax"),
        ("mild steel", "wood-dust extractor", "hardens the sheet"),
        ("mdf", "smouldering", "holds glass"),
        ("fibreglass board", "holds glass", "smouldering"),
    ):
        text = " ".join(sentence for group in cautions([table[name]]) for sentence in group.sentences)
        assert needed in text and foreign not in text
        assert "lethal" in text and "eye protection" in text
    assert {*cautions(table.values()), *cautions(table.values(), by_machine=False)} == set(EVERY)


def test_cautions_of_what_is_made_by_hand_name_no_program() -> None:
    """Where no machine cuts, nothing is said of a program, of a machine left alone, or of tabs; the rest stays."""
    table = materials().values()
    first, *others = cautions(table, by_machine=False)
    said = " ".join(first.sentences)
    assert not re.search("program|alone|[Tt]abs", said) and "eye protection" in said and "Clamp the sheet" in said
    assert tuple(others) == cautions(table)[1:]


def test_the_picture_shows_shapes_as_they_lie() -> None:
    """The plan's circles are arcs with their own radius about the opening's place in program coordinates, Y down."""
    picture = draw(panel((opening("A1", 10, 20),), mirrored=True), (50, 5))
    numbers = [float(word) for word in re.findall(r"-?[0-9.]+", picture.openings)]
    start, arcs = numbers[:2], [numbers[i : i + 7] for i in range(2, len(numbers), 7)]
    assert math.dist(start, (90, -20)) == pytest.approx(1.6)
    assert len(arcs) == 2 and all(arc[0] == arc[1] == 1.6 for arc in arcs)
    assert all(math.dist(arc[5:], (90, -20)) == pytest.approx(1.6, abs=1e-3) for arc in arcs)
    assert arcs[-1][5:] == start


def test_the_plan_of_the_order_is_numbered_and_leads_from_place_to_place() -> None:
    """Each opening bears the lines of the order of work that make it; each cutter's way goes through its places in
    their order; a finishing pass of the same line of work has its own number."""

    def hole(kind: str, cutter: int, tag: str, x: float, y: float, **changes: object) -> Operation:
        down = (Rapid((x, y, 5.0)), Rapid((x, y, 2.0)), Line((x, y, -2.1), 60.0), Rapid((x, y, 2.0)))
        return operation(kind, cutter, (tag,), motions=down, **changes)

    face = panel((opening("A1", 10, 10), opening("A2", 30, 30), opening("B1", 60, 12)))
    work = (
        hole("drill", DRILL, "A1", 10, 10), hole("drill", DRILL, "A2", 30, 30),
        hole("contour", MILL, "B1", 58, 12), hole("finish", MILL, "B1", 61, 12, depth=-2.2),
    )  # fmt: skip
    sheet = page(face, *work)
    plan = sheet[sheet.index('aria-label="The order of work, numbered"') :]
    plan = plan[: plan.index("</svg>")]
    assert re.findall(r">([A-Z0-9, :]+)</text>", plan) == ["A1: 1", "A2: 1", "B1: 2, 3"]
    ways = re.findall(r'<path d="(M[^"]+)" style="stroke:#', plan)
    assert ways == ["M10 -10 L30 -30", "M58 -12 L61 -12"]
    assert "About 13 min with changes of cutter" in sheet


def test_the_papers_are_the_same_every_time() -> None:
    """No clock and no random order: two writings are equal."""
    face = panel((opening("A1", 10, 10), opening("A2", 30, 30)))
    work = operation("drill", DRILL, ("A1", "A2"), "reason")
    assert page(face, work) == page(face, work)

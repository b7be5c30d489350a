# ruff: noqa: E501 (a case is a line)
"""Hostile drawings: DXF that is broken, endless, or grows without end when its blocks are opened."""

from __future__ import annotations

import math
from collections.abc import Iterable

from tests.hostile.case import JOB, Case, Content, Folder, Holes, Link

DRAWN = JOB + '\n[[panel.drawing]]\nfile = "badge.dxf"\n'
CHECK = ("check", "job.toml")
Code = tuple[int, object]


def text_of(codes: Iterable[Code]) -> str:
    """Group codes and values, a line each."""
    return "".join(f"{code:3d}\n{value}\n" for code, value in codes)


def section(name: str, *codes: Code) -> list[Code]:
    return [(0, "SECTION"), (2, name), *codes, (0, "ENDSEC")]


HEADER = section("HEADER", (9, "$ACADVER"), (1, "AC1009"), (9, "$INSUNITS"), (70, 4))
MODERN = section("HEADER", (9, "$ACADVER"), (1, "AC1015"), (9, "$INSUNITS"), (70, 4))
BINARY = bytes.fromhex("4175746f4341442042696e617279204458460d0a1a00")
"""With which a drawing in binary form begins (DXF reference)."""

END: list[Code] = [(0, "EOF")]


def drawn(*entities: Code, blocks: Iterable[Code] = (), header: list[Code] = HEADER) -> str:
    """A drawing in millimetres of these entities, in the old and plain form."""
    return text_of([*header, *section("BLOCKS", *blocks), *section("ENTITIES", *entities), *END])


def line(x0: object, y0: object, x1: object, y1: object, layer: str = "CUT") -> list[Code]:
    return [(0, "LINE"), (8, layer), (10, x0), (20, y0), (11, x1), (21, y1)]


def circle(x: object, y: object, radius: object, layer: str = "CUT") -> list[Code]:
    return [(0, "CIRCLE"), (8, layer), (10, x), (20, y), (40, radius)]


def arc(x: object, y: object, radius: object, start: object, end: object) -> list[Code]:
    return [(0, "ARC"), (8, "CUT"), (10, x), (20, y), (40, radius), (50, start), (51, end)]


def insert(block: str, *more: Code) -> list[Code]:
    return [(0, "INSERT"), (8, "CUT"), (2, block), (10, 0), (20, 0), *more]


def block(name: str, *entities: Code) -> list[Code]:
    return [(0, "BLOCK"), (8, "0"), (2, name), (70, 0), (10, 0), (20, 0), (3, name), *entities, (0, "ENDBLK"), (8, "0")]


def polyline(points: Iterable[tuple[float, float]], bulge: object = 0) -> list[Code]:
    vertices = [code for x, y in points for code in ((0, "VERTEX"), (8, "CUT"), (10, x), (20, y), (42, bulge))]
    return [(0, "POLYLINE"), (8, "CUT"), (66, 1), (70, 1), *vertices, (0, "SEQEND"), (8, "CUT")]


def spline(degree: int, knots: Iterable[object], points: Iterable[tuple[object, object]]) -> list[Code]:
    knots, points = list(knots), list(points)
    return [
        (0, "SPLINE"), (5, "FF"), (100, "AcDbEntity"), (8, "CUT"), (100, "AcDbSpline"), (70, 8), (71, degree),
        (72, len(knots)), (73, len(points)), *((40, knot) for knot in knots),
        *(code for x, y in points for code in ((10, x), (20, y), (30, 0))),
    ]  # fmt: skip


def drawing(name: str, content: Content, *told: str, begins: bool = False) -> Case:
    """The job with this drawing; or a job that ``begins`` with it."""
    command = ("new", "begun", "--from", "badge.dxf") if begins else CHECK
    return Case(f"a drawing: {name}", command, ("badge.dxf", *told), {"job.toml": DRAWN, "badge.dxf": content})


SOUND = drawn(*circle(50, 30, 5))
LAUGHS = [code for n in range(1, 15) for code in block(f"B{n}", *insert(f"B{n - 1}") * 10)]
DEEP = [code for n in range(1, 40) for code in block(f"D{n}", *insert(f"D{n - 1}"))]
STAR = [(50 + 20 * math.cos(2.4 * n), 30 + 20 * math.sin(2.4 * n)) for n in range(300)]
CURL = [(math.cos(n / 50) * n / 2000, math.sin(n / 50) * n / 2000) for n in range(10_000)]

BYTES = [
    drawing("empty", "", "is empty"),
    drawing("blank lines", "\n\n\n", "is empty"),
    drawing("NUL", b"\0" * 1000, "no sound DXF"),
    drawing("text", "hello\nworld\n", "no sound DXF"),
    drawing("a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "no sound DXF"),
    drawing("UTF-16", SOUND.encode("utf-16"), "no sound DXF"),
    drawing("a header alone", text_of(HEADER), "no sound DXF"),
    drawing("cut short in a tag", SOUND[: len(SOUND) // 2], "no sound DXF"),
    drawing("cut short before its end", SOUND[: SOUND.index("EOF") - 4], ""),
    drawing("binary, cut short", BINARY + b"\0\0SECTION\0", "no sound DXF"),
    drawing("binary of noise", BINARY + bytes(range(256)) * 400, "no sound DXF"),
    drawing("31 MB", Holes(31_000_000), "is larger than"),
    drawing("a group code of letters", SOUND.replace(" 40\n", "abc\n"), "no sound DXF"),
    drawing("a group code of 5,000 digits", SOUND.replace(" 40\n", "4" * 5000 + "\n"), "no sound DXF"),
    drawing("a number of letters", SOUND.replace(" 40\n5", " 40\nfive"), ""),
    drawing("a number of 5,000 digits", SOUND.replace("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n" + "4" * 5000), ""),
    drawing("units that are none", SOUND.replace("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n99"), "units"),
    drawing("no units", SOUND.replace("$INSUNITS", "$OTHER"), "states no units"),
    drawing("a section in a section", text_of([*HEADER, (0, "SECTION"), (2, "ENTITIES"), (0, "SECTION"), (2, "ENTITIES"), *END]), ""),
    drawing("100,000 sections", text_of([*HEADER, *section("ENTITIES") * 100_000, *END]), ""),
    drawing("an escape sequence for a layer", drawn(*line(1, 1, 2, 2, "\x1b[2J\x1b[31m")), "is open"),
    drawing("a layer of 100,000 letters", drawn(*line(1, 1, 2, 2, "L" * 100_000)), "is open"),
    drawing("a layer of markup", drawn(*line(1, 1, 2, 2, "<b>&\"'")), "<b>", "is open"),
    drawing("a kind of 100,000 letters", drawn((0, "K" * 100_000), (8, "CUT")), ""),
    drawing("20,000 kinds", drawn(*(code for n in range(20_000) for code in ((0, f"KIND{n}"), (8, f"L{n}")))), ""),
    Case("a drawing: a folder", CHECK, ("job.toml:26: panel[1].drawing[1].file", "badge.dxf"), {"job.toml": DRAWN, "badge.dxf": Folder()}),
    Case("a drawing: a link to itself", CHECK, ("job.toml:26: panel[1].drawing[1].file", "badge.dxf"),
         {"job.toml": DRAWN, "badge.dxf": Link("badge.dxf")}),
]
ENTITIES = [
    drawing(name, drawn(*codes), "layer 'CUT'", said)
    for name, codes, said in (
        ("a circle at nan", circle("nan", 5, 5), ""),
        ("a circle at infinity", circle("inf", 5, 5), ""),
        ("a circle at 1e308", circle("1e308", 5, 5), ""),
        ("a circle of nan", circle(5, 5, "nan"), ""),
        ("a circle of 0", circle(5, 5, 0), "radius"),
        ("a circle of -5", circle(5, 5, -5), "radius"),
        ("a circle of 1e300", circle(5, 5, "1e300"), ""),
        ("an arc of 1e12", arc(0, "-1e12", "1e12", 89, 91), ""),
        ("an arc from nan", arc(5, 5, 5, "nan", 90), ""),
        ("an arc from 1e300 degrees", arc(5, 5, 5, "1e300", 90), ""),
        ("a line to nan", line(0, 0, "nan", 5), ""),
        ("a line to 1e300", line(0, 0, "1e300", 5), ""),
        ("a line alone", line(0, 0, 5, 5), "is open"),
        ("a polyline to nan", polyline([(0, 0), (5, float("nan")), (9, 0)]), ""),
        ("a polyline with a bulge of nan", polyline([(0, 0), (5, 5), (9, 0)], "nan"), ""),
        ("a polyline with a bulge of 1e300", polyline([(0, 0), (5, 5), (9, 0)], "1e300"), ""),
        ("a star that crosses itself 300 times", polyline(STAR), "crosses"),
        ("10,000 vertices in a curl", polyline(CURL), "CUT"),
        ("a block that is not there", insert("GONE"), "no block 'GONE'"),
        ("a block called by an escape sequence", insert("\x1b[2J"), "no block"),
        ("a block stretched to nothing", insert("GONE", (41, 0), (42, 0)), ""),
    )
] + [
    drawing("no radius", drawn((0, "CIRCLE"), (8, "CUT"), (10, 5), (20, 5)), "layer 'CUT', CIRCLE", "radius"),
    drawing("no centre", drawn((0, "CIRCLE"), (8, "CUT"), (40, 5)), "layer 'CUT', CIRCLE", "center"),
    drawing("a line without its end", drawn((0, "LINE"), (8, "CUT"), (10, 5), (20, 5)), "layer 'CUT', LINE", "end"),
    drawing("an entity without a layer", drawn((0, "LINE"), (10, 1), (20, 1), (11, 2), (21, 2)), "is open"),
    drawing("a spline of degree 0", drawn(*spline(0, [0, 1], [(0, 0), (5, 5)]), header=MODERN), ""),
    drawing("a spline of degree 1,000", drawn(*spline(1000, [0, 1], [(0, 0), (5, 5)]), header=MODERN), ""),
    drawing("a spline of nan", drawn(*spline(3, [0, 0, 0, 0, 1, 1, 1, 1], [("nan", 0), (5, 5), (6, 6), (0, 0)]), header=MODERN), ""),
    drawing("a spline of nan knots", drawn(*spline(3, ["nan"] * 8, [(0, 0), (5, 5), (9, 5), (0, 0)]), header=MODERN), ""),
    drawing("a spline of 100,000 knots", drawn(*spline(3, range(100_004), [(n % 7, n % 5) for n in range(100_000)]), header=MODERN), ""),
    drawing("a circle drawn twice", drawn(*circle(50, 30, 5), *circle(50, 30, 5)), "twice"),
    drawing("5,000 circles on one place", drawn(*circle(50, 30, 5) * 5_000), "twice"),
    drawing("20,000 lines from one point", drawn(*(c for n in range(20_000) for c in line(0, 0, 1 + n, n * n % 977))), "meet"),
    drawing("8,000 loose lines", drawn(*(c for n in range(8_000) for c in line(n, 0, n + 0.5, n % 50))), "is open"),
    drawing("121,000 circles", drawn(*circle(5, 5, 1) * 121_000), "more than 120000"),
    drawing("a circle in a circle, 500 times", drawn(*(c for n in range(500) for c in circle(50, 30, 1 + n / 10))), "within"),
    drawing("text alone", drawn((0, "TEXT"), (8, "CUT"), (10, 1), (20, 1), (40, 5), (1, "%%c^J\x1b[2J{\\H5;}")), "nothing that could be cut"),
    drawing("nothing", drawn(), "nothing that could be cut"),
]  # fmt: skip

BLOCKS = [
    drawing("a block that holds itself", drawn(*insert("A"), blocks=block("A", *insert("A"))), "holds itself"),
    drawing("two blocks that hold each other", drawn(*insert("A"), blocks=[*block("A", *insert("B")), *block("B", *insert("A"))]), "holds itself"),
    drawing("blocks 40 deep", drawn(*insert("D39"), blocks=[*block("D0", *circle(5, 5, 1)), *DEEP]), "deep"),
    drawing("10^14 circles by blocks in blocks", drawn(*insert("B14"), blocks=[*block("B0", *circle(5, 5, 1)), *LAUGHS]), "more than 100000"),
    drawing("10^14 empty blocks in blocks", drawn(*insert("B14"), blocks=[*block("B0"), *LAUGHS]), "more than 100000"),
    drawing("10^9 copies of a block", drawn(*insert("A", (70, 32000), (71, 32000), (44, 1), (45, 1)), blocks=block("A", *circle(5, 5, 1))), "more than 100000"),
    drawing("a block turned by nan", drawn(*insert("A", (50, "nan")), blocks=block("A", *circle(5, 5, 1))), "CUT"),
    drawing("a block 1e300 large", drawn(*insert("A", (41, "1e300"), (42, "1e300")), blocks=block("A", *circle(5, 5, 1))), ""),
    drawing("a block of no size", drawn(*insert("A", (41, 0), (42, 0)), blocks=block("A", *circle(5, 5, 1))), ""),
    drawing("-5 copies of a block", drawn(*insert("A", (70, -5), (71, -5)), blocks=block("A", *line(0, 0, 5, 5))), "is open"),
]  # fmt: skip

BEGUN = [
    drawing("a job begun from noise", b"\xff\xfe" * 500, "no sound DXF", begins=True),
    drawing("a job begun from nothing", drawn(), "nothing that could be cut", begins=True),
    drawing("a job begun from nan", drawn(*circle("nan", 5, 5)), "CUT", begins=True),
    drawing("a job begun from a folder", Folder(), "no such file", begins=True),
    drawing("a job begun 50 km across", drawn(*circle(0, 0, 5), *circle(5e7, 5e7, 5)), "CUT", "beyond", begins=True),
    drawing("a job begun from a panel of 1e-9", drawn(*circle(0, 0, 1e-9)), "", begins=True),
]  # fmt: skip

CASES = [*BYTES, *ENTITIES, *BLOCKS, *BEGUN]

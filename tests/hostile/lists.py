# ruff: noqa: E501 (a case is a line)
"""Hostile lists of holes, as a spreadsheet or somebody with a grudge writes them."""

from __future__ import annotations

from tests.hostile.case import JOB, Case, Content, Folder, Holes, Link

LISTED = JOB + '\n[[panel.hole_list]]\nfile = "holes.csv"\n'
HEAD = "x,y,diameter,label\n"
CHECK = ("check", "job.toml")


def rows(name: str, content: Content, *told: str) -> Case:
    """The job with this list."""
    return Case(f"a list: {name}", CHECK, ("holes.csv", *told), {"job.toml": LISTED, "holes.csv": content})


def cell(name: str, text: str, key: str, said: str = "") -> Case:
    """A list whose second row has a bad cell."""
    sound = {"x": "40", "y": "30", "diameter": "3", "label": "vent"} | {key: text}
    return rows(name, HEAD + "30,30,3,vent\n" + ",".join(sound.values()) + "\n", f"holes.csv:3: {key}", said)


def named(name: str, file: str, said: str, key: str = "hole_list") -> Case:
    """The job that names this file as its list."""
    job = JOB + f"\n[[panel.{key}]]\nfile = {file}\n"
    files: dict[str, Content] = {
        "job.toml": job, "out.csv": Link("../outside.csv"), "../outside.csv": HEAD + "30,30,3,\n", "loop.csv": Link("loop.csv"),
        "folder.csv": Folder(),
    }  # fmt: skip
    return Case(f"{key}: named as {name}", CHECK, (f"job.toml:26: panel[1].{key}[1].file", said), files)


WHOLE = [
    rows("empty", "", "holds no holes"),
    rows("a heading alone", HEAD, "holds no holes"),
    rows("commas alone", ",,,\n,,,\n", "holds no holes"),
    rows("UTF-16", (HEAD + "30,30,3,\n").encode("utf-16"), "holes.csv:1", "is not UTF-8"),
    rows("Latin-1", (HEAD + "30,30,3,Röhre\n").encode("latin-1"), "holes.csv:2", "is not UTF-8"),
    rows("NUL", HEAD + "30,30,3,a\0b\n\0", "holes.csv:3"),
    rows("a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "is not UTF-8"),
    rows("50 MB", Holes(50_000_000), "larger than 5 MB"),
    rows("a quote that stays open", HEAD + '30,30,3,"vent\n40,30,3,\n', "holes.csv:2", "quote"),
    rows("a quote that stays open for 4 MB", HEAD + '30,30,3,"' + "v" * 4_000_000, "holes.csv:2"),
    rows("a quote astray", HEAD + '30,30,3,"ve"nt\n', "holes.csv:2", "quote"),
    rows("a cell of 4 MB", HEAD + "30,30,3," + "v" * 4_000_000 + "\n", "holes.csv:2"),
    rows("a number of 100,000 digits", HEAD + "1" * 100_000 + ",30,3,\n", "holes.csv:2: x"),
    rows("a heading of 100,000 letters", "x,y,diameter," + "l" * 100_000 + "\n1,1,1,1\n", "holes.csv:1", "unknown heading"),
    rows("1,000,000 columns", HEAD + "1," * 1_000_000 + "\n", "holes.csv:2", "cells under 4 headings"),
    rows("1,000,000 headings", "x,y,diameter," + "q," * 1_000_000 + "\n", "holes.csv:1", "unknown heading"),
    rows("no headings", "30,30,3,vent\n", "holes.csv:1", "heading"),
    rows("a heading twice", "x,y,x,diameter\n1,1,1,1\n", "holes.csv:1: x", "twice"),
    rows("a heading that is missing", "x,y,label\n1,1,1\n", "holes.csv:1: diameter", "missing"),
    rows("a heading without a name", "x,y,diameter,,\n1,1,1,,\n", "holes.csv:1", "no heading"),
    rows("a heading that is a formula", '"=1+1",x,y,diameter\n1,1,1,1\n', "holes.csv:1: =1+1", "unknown heading"),
    rows("tabs between the cells", "x\ty\tdiameter\n1\t1\t1\n", "holes.csv:1", "unknown heading"),
    rows("semicolons under commas", HEAD + "30;30;3;vent\n", "holes.csv:2"),
    rows("cells too many", HEAD + "30,30,3,vent,more\n", "holes.csv:2", "5 cells under 4"),
    rows("decimal commas", HEAD + "30,5,30,5,3,0,vent\n", "holes.csv:2", "cells under 4"),
    rows("201,000 rows", HEAD + "30,30,3,\n" * 201_000, "holes.csv:200002", "200000"),
    rows("200,000 wrong rows", HEAD + "a,b,c,\n" * 200_000, "holes.csv:2: x"),
]

CELLS = [
    cell(f"{key} is {text[:12]}", text, key)
    for key in ("x", "diameter")
    for text in ("", "nan", "inf", "-inf", "1e308", "1e3", "9" * 400, "=1+1", "=cmd|'/C calc'!A0", "@SUM(A1)", "pitch",
                 "1/0 in", "3/8", "3 furlong", "0x10", "٣", "<b>3</b>", "\x1b[2J", "\u202e3", "1_000", "ten")
] + [
    cell("a diameter of 0", "0", "diameter"), cell("a diameter below nothing", "-3", "diameter"),
    cell("a diameter of no drill", "#999", "diameter"), cell("a diameter of 20 m", "20000", "diameter"),
    cell("a place 20 m off", "20000", "x"), cell("a label of 300 letters", "l" * 300, "label"),
]  # fmt: skip

NAMED = [
    case
    for key in ("hole_list", "drawing")
    for case in (
        named("a file above", '"../outside.csv"', "", key), named("a file of the system", '"/etc/passwd"', "", key),
        named("a drive", r"'C:\x.csv'", "", key), named("a server", r"'\\server\x.csv'", "", key),
        named("a home", '"~root/x.csv"', "", key), named("a link that leads out", '"out.csv"', "leads out", key),
        named("a link to itself", '"loop.csv"', "", key), named("300 letters", f'"{"n" * 300}"', "", key),
        named("nothing", '""', "", key), named("a folder", '"folder.csv"', "", key), named("NUL", '"a\\u0000b"', "", key),
        named("a number", "5", "", key), named("a name with a line end", '"a\\nb"', "", key),
        named("a path up and down", '"x/../../shop/holes.csv"', "", key),
    )
]  # fmt: skip

CASES = [*WHOLE, *CELLS, *NAMED]

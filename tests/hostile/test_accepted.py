# ruff: noqa: E501 (a case is a line)
"""What is accepted though it looks hostile stays text: in programs, pages, drawings, tables and on the terminal."""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ElementTree
from collections import Counter
from collections.abc import Sequence
from html.parser import HTMLParser
from pathlib import Path

import ezdxf
import pytest

from toolpaths import cli
from toolpaths.reread import read

JOB = """\
format = 1
title = {a}
units = "mm"
machine = "my.toml"
cutters = "cutters.toml"

[[panel]]
name = "top"
material = "aluminium"
thickness = 2
width = 100
height = 60

[[panel.hole]]
at = [20, 20]
diameter = 5
label = {b}

[[panel.cutout]]
at = [60, 30]
width = 30
height = 20
corner_radius = 3
label = {c}
"""
MACHINE = 'format = 1\nname = "small router"\nsource = {source}\n'
CUTTERS = "format = 1\n[[cutter]]\nnumber = 112\ntrade_name = {d}\nsource = {source}\n"

LABELS = [
    "M3 S24000 (", "G1 Z-50 F9999", ") G1 Z-50 (", "%", "; G1 Z-50", "a\nG1 Z-50\n%", "N10 M30", "#1=[2]", "/G0 X0", "!~?",
    "</title></script><svg onload=alert(1)>", "<img src=x onerror=alert(1)>", "\" onmouseover=\"alert(1)", "' x='",
    "]]><b>&amp;&#60;", "-->", "{{7*7}}{% raw %}", "</textarea><style>*{display:none}", "javascript:alert(1)", "&lt;b&gt;",
    '=HYPERLINK("http://x","y")', "@SUM(A1)", "+1+1", "-1+1", "\t=1+1", "\r=1+1", "＝1+1", "|calc", "\"quoted\", cell",
    "\u202edesrever", "\u2028line", "\x00nul"[:0] + "\x07bell", "\x1b[2J\x1b[31m", "\ufeffmark", "é ß Ω µ", "🙂" * 30, "%%c^J{\\H5;}",
    "../../../etc/passwd", "\\U+0041", "e\u0301" * 60,
]  # fmt: skip
PROSE = ("h3", "p", "b", "li", "span")
SIGNS = "=+-@\t\r＝＋－＠"


class Page(HTMLParser):
    """Elements with their attributes' names, counted."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: Counter[tuple[str, ...]] = Counter()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found[(tag, *sorted(name for name, _ in attrs))] += 1


def built(labels: Sequence[str], folder: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, bytes]:
    """Every file of the job with these labels wherever a text may stand."""
    folder.mkdir()
    monkeypatch.chdir(folder)
    said = [json.dumps(label, ensure_ascii=True).replace("\\ud83d\\ude42", "🙂") for label in labels]
    for name, text in (("job.toml", JOB), ("my.toml", MACHINE), ("cutters.toml", CUTTERS)):
        text = text.replace("{source}", said[0][:-1] + '    "')
        for place, one in zip(("{a}", "{b}", "{c}", "{d}"), said, strict=True):
            text = text.replace(place, one)
        (folder / name).write_text(text, "utf-8")
    with pytest.raises(SystemExit) as end:
        cli.main(["build", "job.toml", "-o", "made"])
    assert end.value.code == 0
    return {place.name: place.read_bytes() for place in (folder / "made").iterdir()}


def words(program: bytes) -> list[str]:
    """The lines of a program without their comments, by the rule that the first ) ends one."""
    lines = []
    for line in program.decode("ascii").split("\n"):
        bare, inside = "", False
        for sign in line:
            inside = (inside or sign == "(") and sign != ")"
            bare += "" if inside or sign == ")" else sign
        lines.append(bare.strip())
    return [line for line in lines if line]


def events(program: bytes) -> list[str]:
    """What the strict reader makes of a program, line numbers aside: a long comment takes more lines."""
    return [re.sub(r"line=[0-9]+", "", repr(event)) for event in read(program.decode("ascii")).events]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The same job with a label that nobody could take for anything else."""
    with pytest.MonkeyPatch.context() as patch:
        return built(["plain label"] * 4, tmp_path_factory.mktemp("plain") / "shop", patch)


FOURS = [[*LABELS, *LABELS[:3]][n : n + 4] for n in range(0, len(LABELS), 4)]


@pytest.mark.parametrize("labels", FOURS, ids=[ascii(labels[0])[1:24] for labels in FOURS])
def test_a_label_stays_text(
    labels: list[str], plain: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Code, markup and formulae in labels, titles, names and sources change no word, no element and no cell's kind."""
    made = built(labels, tmp_path / "shop", monkeypatch)
    assert made.keys() == plain.keys()
    printed = capsys.readouterr()
    assert all(sign.isprintable() or sign == "\n" for sign in printed.out + printed.err)
    for name, content in made.items():
        if name.endswith(".nc"):
            assert words(content) == words(plain[name])
            assert events(content) == events(plain[name])
        elif name.endswith(".html"):
            page, other_page = Page(content.decode()).found, Page(plain[name].decode()).found
            assert page.keys() <= other_page.keys()  # a finding about odd letters may add a paragraph like the others
            assert all(page[kind] == count for kind, count in other_page.items() if kind[0] not in PROSE)
        elif name.endswith(".svg"):
            root, other = ElementTree.fromstring(content), ElementTree.fromstring(plain[name])
            assert {one.tag for one in root.iter()} == {one.tag for one in other.iter()}
            assert {key for one in root.iter() for key in one.attrib} == {key for one in other.iter() for key in one.attrib}
        elif name.endswith(".csv"):
            rows = list(csv.reader(io.StringIO(content.decode(), newline="")))
            assert len(rows) == len(list(csv.reader(io.StringIO(plain[name].decode(), newline=""))))
            cells = [cell for row in rows for cell in row if cell[:1] in tuple(SIGNS)]
            assert all(cell.removeprefix("-").replace(".", "", 1).isdecimal() for cell in cells)
        elif name.endswith(".pdf"):
            assert content.startswith(b"%PDF-") and content.rstrip().endswith(b"%%EOF")
        elif name.endswith(".dxf"):
            drawn, other = (ezdxf.read(io.StringIO(text.decode())) for text in (content, plain[name]))
            assert not drawn.audit().has_errors
            assert Counter(one.dxftype() for one in drawn.modelspace()) == Counter(one.dxftype() for one in other.modelspace())
            assert {one.dxf.name for one in drawn.layers} == {one.dxf.name for one in other.layers}
        elif name == "manifest.json":
            assert json.loads(content).keys() == json.loads(plain[name]).keys()

"""Openings that are cut alike: one is judged for all, and what is said is what would be said of each by itself."""

from __future__ import annotations

import random
import re

import pytest

from tests.verify.test_judge import BORED, CHANGE, CUTTERS, DRILLED, FOOT, HEAD, MACHINE, SLOTTED, STEEL, hole, panel
from tests.verify.test_judge import opening as opened
from toolpaths.errors import RereadError
from toolpaths.finding import Finding
from toolpaths.geometry.shapes import slot
from toolpaths.layout.panel import Opening, Panel
from toolpaths.reread import read
from toolpaths.verify import piece
from toolpaths.verify.alike import settled
from toolpaths.verify.judge import judge

PLACES = [(column * 22.0003, row * 21.0) for row in range(3) for column in range(4)]
"""mm; how far each group of a drilled hole, a bored hole and a slot is moved. The text rounds it away."""


def moved(text: str, dx: float, dy: float) -> str:
    """A piece of program elsewhere, to three decimals."""
    by = {"X": dx, "Y": dy}
    return re.sub(r"([XY])(-?[\d.]+)", lambda word: f"{word[1]}{float(word[2]) + by[word[1]]:.3f}", text)


def vent(step: float = 0.0) -> tuple[Panel, str]:
    """A sheet with the same three openings at every place, and the program that makes them.

    ``step`` is added to every place and not written by the text: it is rounded away.
    """
    openings: list[Opening] = []
    drilled, milled = "", ""
    for number, (dx, dy) in enumerate(PLACES):
        dx, dy = dx + step, dy + step
        openings += [
            hole(f"hole[{2 * number + 1}]", (28 + dx, 32 + dy), 3.0),
            hole(f"hole[{2 * number + 2}]", (40 + dx, 32 + dy), 8.0),
            opened(f"slot[{number + 1}]", (33 + dx, 41 + dy), slot((33 + dx, 41 + dy), 12, 4)),
        ]
        drilled += moved(DRILLED, dx - 12, dy + 2)
        milled += moved(BORED, dx - 20, dy + 2) + moved(SLOTTED, dx - 47, dy + 1)
    text = HEAD + CHANGE.format(1, 2000) + drilled + "G0 Z25\nM5\n" + CHANGE.format(2, 6000) + milled + FOOT
    return panel(*openings), text


def said(sheet: Panel, text: str) -> tuple[Finding, ...]:
    """What the judge finds."""
    return judge([read(text)], sheet, MACHINE, CUTTERS, STEEL)


def edited(text: str, chance: random.Random) -> str:
    """The text with one opening made elsewhere, or at another depth or feed, or one straight move changed."""
    by = chance.choice((-1.0, -0.1, -0.03, -0.02, 0.02, 0.03, 0.1, 1.0))
    if chance.random() < 0.5:
        dx, dy = chance.choice(PLACES)
        block = chance.choice((moved(DRILLED, dx - 12, dy + 2), moved(BORED, dx - 20, dy + 2)))
        assert block in text
        change = chance.choice((
            lambda: moved(block, by, 0), lambda: moved(block, 0, by), lambda: block.replace("F100", "F700"),
            lambda: re.sub(r"Z-[\d.]+", lambda word: f"Z{float(word[0][1:]) + by:.3f}", block), lambda: "",
        ))  # fmt: skip
        return text.replace(block, change(), 1)
    lines = text.split("\n")
    at = chance.choice([index for index, line in enumerate(lines) if line[:2] in ("G0", "G1") and line != "G0 Z25"])
    word = chance.choice(re.findall(r"[XYZ]-?[\d.]+", lines[at]))
    lines[at] = lines[at].replace(word, f"{word[0]}{float(word[1:]) + by:.3f}", 1)
    return "\n".join(lines)


@pytest.mark.parametrize("step", [0.0, 0.00041])
def test_what_is_settled_is_silent(monkeypatch: pytest.MonkeyPatch, step: float) -> None:
    """Of a right program every opening is settled by one of its kind, and nothing is said."""
    kinds: list[int] = []

    def counted(*given: object) -> object:
        found = settled(*given)  # type: ignore[arg-type]
        kinds.append(sum(map(len, found)))
        return found

    monkeypatch.setattr(piece, "settled", counted)
    sheet, text = vent(step)
    assert said(sheet, text) == ()
    assert kinds == [len(sheet.openings)]


def test_nothing_said_depends_on_what_is_settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """With an edit of one stroke among all, the findings are word for word those of a judge that settles nothing."""
    sheet, text = vent()
    chance = random.Random(3)
    texts = [edited(text, chance) for _ in range(60)]
    quick: list[tuple[Finding, ...] | None] = []
    for one in texts:
        try:
            quick.append(said(sheet, one))
        except RereadError:  # an edit that the language does not allow is no matter of the judge
            quick.append(None)
    monkeypatch.setattr(piece, "settled", lambda *_: [])
    for one, found in zip(texts, quick, strict=True):
        if found is not None:
            assert said(sheet, one) == found
    assert sum(bool(found) for found in quick) > 20  # else it shows nothing


def test_the_same_fault_in_all_of_a_kind_is_told_of_each() -> None:
    """Where all bores are wrong alike, each is told."""
    sheet, text = vent()
    wide = re.sub(r"I-2\.5 J0 F110", "I-2.6 J0 F110", re.sub(r"G1 X(\S+) Y(\S+)\nG3 X\S+ Y\S+ I-2\.5", _wider, text))
    told = {finding.feature for finding in said(sheet, wide) if finding.code == "overcut"}
    assert told == {f"hole[{2 * number + 2}]" for number in range(len(PLACES))}


def _wider(found: re.Match[str]) -> str:
    x = f"{float(found[1]) + 0.1:.3f}"
    return f"G1 X{x} Y{found[2]}\nG3 X{x} Y{found[2]} I-2.5"


def test_what_is_near_another_is_judged_by_itself() -> None:
    """A hole that another hole's cut comes near does not stand alone: the cut that runs over into it is told."""
    sheet, text = vent()
    block = moved(BORED, PLACES[0][0] - 20, PLACES[0][1] + 2)
    assert block in text
    over = text.replace(block, block.replace("G0 Z2\n", "G1 X62 F110\nG0 Z2\n"), 1)
    told = [finding for finding in said(sheet, over) if finding.code == "overcut"]
    assert told and {finding.feature for finding in told} <= {"hole[2]", "hole[4]"}

"""Components from tables typed by hand: what a part and a row come to, a user's rows over ours, and every mistake."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from toolpaths.errors import BadInput, UnknownName
from toolpaths.geometry.shapes import circle
from toolpaths.job import DHole, Hole, Job, Part, Row, Slot
from toolpaths.job.alone import part_alone
from toolpaths.layout.build import lay_out

HEAD = """
format = 1
units = "mm"
parts = "own.toml"
[[panel]]
name = "front"
material = "mild steel"
thickness = 1.2
width = 200
height = 80
"""

OWN = """
format = 1
units = "in"
[[part]]
name = "lever"
summary = "a lever with a stop"
fitted_from = "outside"
passes = true
traits = ["mains"]
source = "measured"
  [[part.d_hole]]
  diameter = "3/8 in"
  across_flat = 0.33
  angle = 90
  [[part.slot]]
  label = "stop"
  at = [0.5, 0]
  length = 0.25
  width = 0.125
  [[part.room]]
  role = "knob"
  side = "outside"
  at = [0, 0.25]
  size = [0.5, 1]
  corner_radius = 0.1
  off = 0.1
  reach = "20 mm"
  [[part.room]]
  role = "body"
  side = "inside"
  diameter = 1
  reach = "thickness + 1"
"""


@pytest.fixture
def job_with(tmp_path: Path, job_of: Callable[..., Job]) -> Callable[..., Job]:
    """A job whose panel has the features of ``text``, with a user's component table beside it."""

    def read(text: str, own: str = OWN) -> Job:
        (tmp_path / "own.toml").write_text(own, encoding="utf-8")
        return job_of(HEAD + text)

    return read


LEVER = '[[panel.part]]\npart = "lever"\nat = [50, 40]\nangle = 90\nlabel = "S1"\nclearance = 2\n'


def test_a_part_brings_its_holes_and_its_room(job_with: Callable[..., Job]) -> None:
    """A row in inches, turned by 90 degrees: holes and bodies stand where they come to by hand."""
    job = job_with(LEVER)
    (part,) = job.panels[0].features
    assert isinstance(part, Part) and part.traits == {"mains"} and part.clearance == 2
    d_hole, slot = part.features
    assert isinstance(d_hole, DHole) and d_hole.diameter == 9.525 and d_hole.across_flat == pytest.approx(8.382)
    assert isinstance(slot, Slot) and slot.at == (12.7, 0)
    (panel,) = lay_out(job).panels
    flat, stop = panel.openings
    assert {flat.feature, stop.feature} == {"part[1]"}
    assert (flat.label, stop.label) == ("S1", "S1 stop")
    # the flat lay above the centre; turned it is to the left, 8.382 - 4.7625 away
    assert flat.shape.bounds == pytest.approx((50 - 3.6195, 40 - 4.7625, 50 + 4.7625, 40 + 4.7625))
    # the slot lay 12.7 to the right and level; turned it stands upright above the centre
    assert stop.shape.bounds == pytest.approx((50 - 1.5875, 52.7 - 3.175, 50 + 1.5875, 52.7 + 3.175))
    (placed,) = panel.placements
    knob, body = placed.bodies
    # the knob lay 12.7 wide and 25.4 high about (0, 6.35); turned it lies to the left of the centre
    assert knob.footprint.bounds == pytest.approx((50 - 6.35 - 12.7, 40 - 6.35, 50 - 6.35 + 12.7, 40 + 6.35))
    assert (knob.role, knob.low, knob.high) == ("knob", pytest.approx(2.54), 20)
    # thickness + 1 in behind a sheet of 1.2 mm
    assert (body.low, body.high) == (pytest.approx(-1.2 - (1.2 + 25.4)), -1.2)
    assert body.footprint.bounds == pytest.approx(circle((50, 40), 25.4).bounds)
    assert (placed.name, placed.feature, placed.angle) == ("S1 (lever)", "part[1]", pytest.approx(math.pi / 2))


def test_finish_reaches_the_holes_of_a_part(job_with: Callable[..., Job]) -> None:
    """A part left to the hand has pilots where a pilot fits, and marks where none does."""
    (panel,) = lay_out(job_with(LEVER + 'finish = "pilot"\n')).panels
    assert [opening.finish for opening in panel.openings] == ["pilot", "mark"]
    (panel,) = lay_out(job_with(LEVER.replace("\n", '\nfinish = "mark"\n', 1))).panels
    assert [opening.finish for opening in panel.openings] == ["mark", "mark"]


def test_a_users_row_is_laid_over_ours(job_with: Callable[..., Job]) -> None:
    """Its holes replace all of ours and what it leaves out stays; a file in inches changes no mm of ours."""
    noval = '[[panel.part]]\npart = "noval socket"\nat = [50, 40]\n'
    plain, own = 'format = 1\nunits = "in"\n', '[[part]]\nname = "noval socket"\n[[part.hole]]\ndiameter = 0.75\n'
    ours = job_with(noval, plain).panels[0].features[0]
    changed = job_with(noval, plain + own).panels[0].features[0]
    assert isinstance(ours, Part) and isinstance(changed, Part)
    (hole,) = changed.features
    assert isinstance(hole, Hole) and hole.diameter == pytest.approx(19.05)
    assert len(ours.features) == 3
    assert (changed.rooms, changed.traits) == (ours.rooms, ours.traits)


def test_a_row_holds_its_parts_in_order_and_mirrored(job_with: Callable[..., Job]) -> None:
    """Names, tables and groups; mirrored, the same come again in reverse, the two middle groups as one."""
    text = (
        '[[panel.row]]\nfrom = [20, 30]\nto = ["width - 20", 30]\nlabel = "in"\nmirrored = true\nangle = 10\n'
        'parts = [["lever"], ["noval socket", { part = "lever", label = "S2", angle = 90, traits = [] }]]\n'
    )
    (row,) = job_with(text).panels[0].features
    assert isinstance(row, Row) and (row.at, row.to) == ((20, 30), (180, 30))
    names = [[part.name for part in group] for group in row.groups]
    assert names == [["lever"], ["noval socket", "lever", "lever", "noval socket"], ["lever"]]
    second = row.groups[1][1]
    assert (second.label, second.traits) == ("S2", frozenset())
    assert second.angle == pytest.approx(math.radians(100))
    assert row.groups[0][0].angle == pytest.approx(math.radians(10))
    assert row.count == 2 * (2 + 3 + 2)
    (panel,) = lay_out(job_with(text)).panels
    assert [placed.label for placed in panel.placements] == ["in", "in", "S2", "S2", "in", "in"]


def test_a_size_of_a_series_may_be_an_expression(job_with: Callable[..., Job]) -> None:
    """A grommet by its nominal size; a size of the user's joins the series."""
    own = OWN + '[[part]]\nname = "small lead"\nseries = "grommet"\nnominal = "2 mm"\nfitted_from = "inside"\n'
    own += 'source = "mine"\nhole = [{ diameter = 0.2 }]\n'
    text = '[[panel.part]]\npart = "grommet"\nnominal = "3/4 in / 2"\nat = [50, 40]\n'
    (part,) = job_with(text).panels[0].features
    assert isinstance(part, Part) and part.name == "grommet 3/8 in"
    (part,) = job_with(text.replace("3/4 in / 2", "2 mm"), own).panels[0].features
    assert isinstance(part, Part) and part.name == "small lead"


ROW = '[[panel.row]]\nfrom = [20, 30]\nto = [180, 30]\nparts = ["lever", "lever"]\n'

MISTAKES = [
    (LEVER.replace("lever", "levre"), OWN, "job.toml:12: panel[1].part[1].part: unknown part 'levre'; did you mean"),
    (LEVER + "nominal = 3\n", OWN, "job.toml:17: panel[1].part[1].nominal: 'lever' is no series of parts; leave"),
    (LEVER.replace('"lever"', '"grommet"'), OWN, "job.toml:12: panel[1].part[1].part: unknown part 'grommet'; it is a "
     "series: add nominal, one of 3/16 in, 1/4 in, 3/8 in, 1/2 in"),
    (LEVER.replace('"lever"', '"grommet"\nnominal = 7'), OWN, "job.toml:13: panel[1].part[1].nominal: no grommet of 7 "
     "mm; there are 3/16 in"),
    (LEVER + "depth = 1\n", OWN, "job.toml:17: panel[1].part[1].depth: unknown key"),
    (LEVER + 'traits = ["loud"]\n', OWN, "job.toml:17: panel[1].part[1].traits[1]: is 'loud'; write 'mains'"),
    (LEVER + "clearance = -1\n".replace("clearance", "tabs"), OWN, "job.toml:17: panel[1].part[1].tabs: is -1"),
    (ROW.replace('["lever", "lever"]', '["lever", ["lever"]]'), OWN, "job.toml:14: panel[1].row[1].parts: mixes parts"),
    (ROW.replace('["lever", "lever"]', "[]"), OWN, "job.toml:14: panel[1].row[1].parts: is empty; write a list"),
    (ROW.replace('"lever"]', '"lever", { part = "lever", lable = "x" }]'), OWN,
     "job.toml:14: panel[1].row[1].parts[3].lable: unknown key; did you mean 'label'?"),
    (ROW.replace('"lever"]', '"levre"]'), OWN, "job.toml:14: panel[1].row[1].parts[2].part: unknown part 'levre'; did"),
    (ROW.replace('["lever", "lever"]', '[["lever"], ["lever", "levre"]]'), OWN,
     "job.toml:14: panel[1].row[1].parts[2][2].part: unknown part 'levre'; did"),
    (ROW.replace('"lever"]', '{ part = "lever", at = [1, 2] }]'), OWN,
     "job.toml:14: panel[1].row[1].parts[2].at: has no meaning: the row places its parts; leave it out"),
    (ROW.replace('"lever"]', "3]"), OWN, "job.toml:14: panel[1].row[1].parts[2]: is 3; write a part's name"),
    (ROW + 'align = "from"\n', OWN, "job.toml:15: panel[1].row[1].align: has no meaning without a stated pitch; write"),
    (ROW + "group_space = 3\n", OWN, "job.toml:15: panel[1].row[1].group_space: has no meaning without groups; write"),
    (LEVER.replace('"lever"', '"grommet"\nnominal = "3/8 inch"'), OWN,
     "job.toml:13: panel[1].part[1].nominal: '3/8 inch': units are mm and in; write 3/8 in"),
    (ROW + "gap = 3\n", OWN, "job.toml:15: panel[1].row[1].gap: has no meaning with spacing = 'equal pitch'; write"),
    (ROW + "pitch = 0\n", OWN, "job.toml:15: panel[1].row[1].pitch: is 0 mm"),
    (ROW.replace("[180, 30]", "[20, 30]"), OWN, "job.toml:13: panel[1].row[1].to: is where the row begins"),
    (ROW.replace("from = [20, 30]\n", ""), OWN, "job.toml:11: panel[1].row[1].from: is missing"),
    (LEVER, OWN.replace("across_flat = 0.33", "across_flat = 0.4"), "own.toml:13: part[1].d_hole[1].across_flat: is"),
    (LEVER, OWN.replace("diameter = 1\n", ""), "own.toml:28: part[1].room[2]: is neither round nor a rectangle"),
    (LEVER, OWN.replace("off = 0.1", "off = 2"), "own.toml:27: part[1].room[1].reach: is 0.7874 in; from the sheet to"),
    (LEVER, OWN.replace("radius = 0.1", "radius = 0.3"), "own.toml:25: part[1].room[1].corner_radius: is"),
    (LEVER, OWN.replace('"outside"\npasses', '"front"\npasses'), "own.toml:7: part[1].fitted_from: is 'front'; write"),
    (LEVER, OWN.replace("source", "grid = [{ columns = 2, rows = 2, pitch = 5, diameter = 2 }]\nsource"),
     "own.toml:10: part[1].grid[1]: a grid does not turn with a component; write its holes one by one"),
    (LEVER, OWN.replace("[[part.slot]]", "[[part.slit]]"), "own.toml:15: part[1].slit: unknown key; did you mean"),
    (LEVER, OWN.replace('source = "measured"\n', ""), "own.toml:4: part[1].source: is missing"),
    (LEVER, OWN.replace('role = "knob"', 'role = "dial"'), "own.toml:21: part[1].room[1].role: is 'dial'; write"),
    (LEVER, OWN + OWN.split("\n", 3)[3], "own.toml:34: part[2].name: 'lever' stands here twice; one row each"),
    (LEVER, OWN.replace("format = 1", "format = 2"), "own.toml:2: format: is 2; write 1"),
    (LEVER, OWN.replace("diameter = 1\n", "diameter = 1\nsize = [1, 1]\n"), "own.toml:28: part[1].room[2]: is both"),
    (LEVER, OWN.replace('source = "measured"', 'source = "m"'), "own.toml:10: part[1].source: is 'm'; write at"),
    (LEVER, OWN.replace('source', 'winding = "up"\nsource'), "own.toml:10: part[1].winding: is 'up'; write degrees "
     "from +x, or 'upright'"),
    (LEVER, OWN.replace("source", "winding = 90\nsource"), "own.toml:10: part[1].winding: is for a transformer; add"),
    (LEVER, OWN.replace("source", 'nominal = "3 mm"\nsource'), "own.toml:10: part[1].nominal: is a size of no series"),
    (LEVER, OWN.replace("source", 'series = "levers"\nsource'), "own.toml:10: part[1].series: has no size by which"),
    (LEVER, OWN.replace("source", 'series = "levers"\nnominal = "3 inches"\nsource'), "own.toml:11: part[1].nominal: "
     "'3 inches': units are mm and in; write 3 in"),
    (LEVER, OWN.partition("  [[part.d_hole]]")[0], "own.toml:4: part[1]: has neither a hole nor a room; say what"),
    (LEVER, OWN + '[[part]]\nsource = "mine"\n', "own.toml:33: part[2].name: is missing"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "own", "said"), MISTAKES)
def test_one_mistake_is_one_line(job_with: Callable[..., Job], text: str, own: str, said: str) -> None:
    """Each mistake, in the job or in the user's table, gives one line with its file, line and key, however often the
    component stands in the job."""
    again = text.replace("[50, 40]", "[150, 40]") if text == LEVER else ""
    with pytest.raises(BadInput) as caught:
        job_with(text + again, own)
    found = [str(problem) for problem in caught.value.problems]
    assert len(found) == 1, found
    assert found[0].startswith(said), found[0]


def test_a_missing_parts_file_is_one_mistake(job_of: Callable[..., Job]) -> None:
    """What the job asks of a file that is not there is no second mistake, by name or by a series' size."""
    for part in (LEVER, LEVER + "nominal = 3\n"):
        with pytest.raises(BadInput) as caught:
            job_of(HEAD + part)
        (problem,) = caught.value.problems
        assert "no file 'own.toml'" in str(problem)


def test_a_component_alone_is_a_job_of_its_own(tmp_path: Path) -> None:
    """It lies in the middle of a sheet; an unknown name is told."""
    own = tmp_path / "own.toml"
    own.write_text(OWN, encoding="utf-8")
    (panel,) = lay_out(part_alone("lever", own)).panels
    assert panel.placements[0].centre == (0, 0) and len(panel.openings) == 2
    with pytest.raises(UnknownName, match="holewright parts"):
        part_alone("gearbox", own)

"""Job files typed by hand: what they resolve to, and every line that is said about a wrong one."""

import math
import os
from pathlib import Path

import pytest

from toolpaths.errors import BadInput, UnknownName
from toolpaths.job import Hole, Job
from toolpaths.job.load import read_job

HEAD = 'format = 1\ntitle = "Test"\nunits = "mm"\n'
PANEL = '[[panel]]\nname = "rear"\nmaterial = "mild steel"\nthickness = 1.2\nwidth = 200\nheight = 100\n'

# The example of the job format.
EXAMPLE = (Path(__file__).parents[1] / "contract_job.toml").read_text(encoding="utf-8")


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    """Where a test writes its job."""
    return tmp_path / "job.toml"


def read(path: Path, text: str, **options: object) -> Job:
    path.write_text(text, encoding="utf-8")
    return read_job(path, **options)  # type: ignore[arg-type]


def lines(path: Path, text: str, **options: object) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read(path, text, **options)
    return str(caught.value).split("\n")


@pytest.mark.parametrize(("size", "width"), [(None, 379.0), ("small", 319.0), ("large", 479.0)])
def test_the_example_resolves_in_every_size(job_file: Path, size: str | None, width: float) -> None:
    """The format's own example has the widths that its expression says: cabinet less two boards and twice the play."""
    panel = read(job_file, EXAMPLE, size=size).panels[0]
    assert panel.width == pytest.approx(width)
    cutout = panel.features[2]
    assert cutout.at == (pytest.approx(width - 90), 110.0)
    # 18 gauge of Manufacturers' Standard Gauge for sheet steel: 0.0478 in
    assert panel.thickness == pytest.approx(0.0478 * 25.4)
    assert panel.thickness_text == "18 ga (1.214 mm)"


def test_a_setting_wins_over_a_size_over_the_job(job_file: Path) -> None:
    """--set is stronger than the size, the size stronger than the job."""
    job = read(job_file, EXAMPLE, size="small", settings=[("board", "1/2 in"), ("play", "2")])
    assert job.panels[0].width == pytest.approx(360 - 25.4 - 4)
    assert read(job_file, EXAMPLE, size="small", settings=[("cabinet_width", "300")]).panels[0].width == 259.0


def test_bare_numbers_of_an_inch_job_are_inches(job_file: Path) -> None:
    """Everything without a unit is in the job's units, and drill sizes have their own."""
    text = (HEAD + PANEL).replace('units = "mm"', 'units = "in"').replace("thickness = 1.2", 'thickness = "1.2 mm"')
    text = text.replace("width = 200", "width = 8").replace("height = 100", 'height = "4"')
    text += '[[panel.hole]]\nat = [1, "1/2 in"]\ndiameter = "#7"\n[[panel.hole]]\nat = ["width/2", 2]\n'
    job = read(job_file, text + 'diameter = "letter F"\n')
    first, second = job.panels[0].features
    assert (job.panels[0].width, job.panels[0].height, job.panels[0].thickness) == (203.2, 101.6, 1.2)
    assert job.pilot_diameter == pytest.approx(25.4 / 8)
    assert first.at == (25.4, 12.7)
    assert isinstance(first, Hole) and isinstance(second, Hole)
    # ASME B94.11M: number 7 is 0.2010 in, letter F 0.2570 in
    assert (first.diameter, second.diameter) == (pytest.approx(0.201 * 25.4), pytest.approx(0.257 * 25.4))


def test_every_problem_of_a_wrong_file_is_told_at_once(job_file: Path) -> None:
    """One reading names every mistake, each with its line, its key, what is wrong and what would be right."""
    text = """\
format = 1
titel  = "x"
units  = "mm"
chassis = "box"
cutters = "../c.toml"

[parameters]
a = "b + 1"
b = "a"
width = 3
c = true
d = "bord*2"

[sizes.small]
e = 3
[sizes.Small]
["sizes"."aux"]

[[panel]]
name      = "rear"
material  = "mild steal"
thickness = 1.2
width     = "heigth"
height    = -180
stock_margin = 15
clamps = [{ x = 0, y = 0, width = 20 }, { x = 1 }]

  [[panel.hole]]
  at = [30, true]
  diameter = "3/8 in"
  depth = 3

  [[panel.hole]]
  at = [30, 20, 3]
  diametre = 3

  [[panel.d_hole]]
  at = [60, 120]
  diameter = 12.7
  across_flat = 12.7
  angle = "90 mm"
  finish = "pilott"

  [[panel.ring]]
  at = [0, 0]
  circle_diameter = 30
  count = 2.5
  diameter = nan
"""
    assert lines(job_file, text, size="tiny", settings=[("bb", "1")]) == [
        "job.toml: sizes: unknown size 'tiny'; known here: Small, aux, small",
        "--set: bb: unknown parameter; did you mean 'b'?",
        "job.toml:2: titel: unknown key; did you mean 'title'?",
        "job.toml:4: chassis: is 'box'; write a table of keys and values",
        "job.toml:5: cutters: is '../c.toml'; name a file in the job's folder or below it",
        "job.toml:9: parameters.b: a cycle: a → b → a",
        "job.toml:10: parameters.width: is a reserved name; choose another",
        "job.toml:11: parameters.c: is true; write a number or a text such as '3/8 in'",
        "job.toml:12: parameters.d: unknown name 'bord'; known here: a, b, c, d, width",
        "job.toml:15: sizes.small.e: unknown parameter; known here: a, b, c, d, width",
        "job.toml:16: sizes.Small: 'Small' is the name of sizes.small too; no two may be alike but for case",
        "job.toml:17: sizes.aux: 'aux' is a device's name on some systems; choose another",
        "job.toml:21: panel[1].material: unknown material 'mild steal'; did you mean 'mild steel'?",
        "job.toml:23: panel[1].width: unknown name 'heigth'; known here: a, b, c, d, thickness, width",
        "job.toml:24: panel[1].height: is -180 mm; it must be at least 0.01 mm",
        "job.toml:25: panel[1].stock_margin: belongs to a machined outline; set cut_outline = true",
        "job.toml:26: panel[1].clamps[2].y: is missing; add it",
        "job.toml:26: panel[1].clamps[2].width: is missing; add it",
        "job.toml:29: panel[1].hole[1].at[2]: is true; write a number or a text such as '3/8 in'",
        "job.toml:31: panel[1].hole[1].depth: is 3 mm in 1.2 mm of sheet; leave depth out for a through hole",
        "job.toml:34: panel[1].hole[2].at: is a list and no pair; write [x, y]",
        "job.toml:35: panel[1].hole[2].diametre: unknown key; did you mean 'diameter'?",
        "job.toml:40: panel[1].d_hole[1].across_flat: is 12.7 mm; from the flat to the far side of the circle: "
        "less than the diameter, 12.7 mm",
        "job.toml:41: panel[1].d_hole[1].angle: is a length; it must come to a plain number",
        "job.toml:42: panel[1].d_hole[1].finish: is 'pilott'; write 'machine', 'pilot' or 'mark'",
        "job.toml:47: panel[1].ring[1].count: is 2.5; it must be a whole number, 1 or more",
        "job.toml:48: panel[1].ring[1].diameter: is nan; write a finite number",
    ]


HOLE = "[[panel.hole]]\nat = [1, 2]\ndiameter = 3\n"
CUTOUT = "[[panel.cutout]]\nat = [50, 50]\nwidth = 30\nheight = 20\n"

TEXT = "[[panel.text]]\ntext = 'IN'\nat = [1, 2]\n"
SCALE = "[[panel.scale]]\nat = [1, 2]\nradius = 9\n"

MISTAKES = [
    (PANEL, TEXT.replace("'IN'", "' '"), "job.toml:11: panel[1].text[1].text: is empty; write what is to be lettered"),
    (PANEL, TEXT + "depth = 1.2\n", "job.toml:13: panel[1].text[1].depth: is 1.2 mm in 1.2 mm of sheet; engrave 0.1 "
     "to 0.3 mm deep, or leave it out"),
    (PANEL, TEXT + "height = 0.5\n", "job.toml:13: panel[1].text[1].height: is 0.5 mm; it must be at least 1 mm"),
    (PANEL, TEXT + "finish = 'pilot'\n", "job.toml:13: panel[1].text[1].finish: finish 'pilot' does not suit a text; "
     "write finish = 'machine' or 'mark'"),
    (PANEL, SCALE + "sweep = 400\n", "job.toml:13: panel[1].scale[1].sweep: is 400; write degrees over 0 and up to "
     "360, clockwise"),
    (PANEL, SCALE + "numbers = 3\n", "job.toml:13: panel[1].scale[1].numbers: is 3; write two numbers, those of the "
     "first tick and of the last: [0, 10]"),
    (PANEL, SCALE + "texts = ['a']\n", "job.toml:13: panel[1].scale[1].texts: has 1 for 11 long ticks; give one for "
     "each, '' for none"),
    (PANEL, SCALE + "subdivisions = 200\n", "job.toml:13: panel[1].scale[1].subdivisions: makes 2000 ticks; "
     "at most 1000"),
    ("", "format = 1\nunits = 'mm'\n", "job.toml: panel: is missing; add it"),
    ("", "format = 1\nunits = 'mm'\npanel = []\n", "job.toml:3: panel: is empty; describe at least one [[panel]]"),
    ("", HEAD.replace("1", "2") + PANEL, "job.toml:1: format: is 2; write 1"),
    ("", HEAD.replace("1", "true") + PANEL, "job.toml:1: format: is true; write 1"),
    ("", HEAD.replace('"mm"', '"cm"') + PANEL, "job.toml:3: units: is 'cm'; write 'mm' or 'in'"),
    ("", HEAD + 'machine = "smal router"\n' + PANEL, "job.toml:4: machine: unknown machine 'smal router'; "
     "did you mean 'small router'?"),
    ("", HEAD + 'machine = "/m.toml"\n' + PANEL, "job.toml:4: machine: is '/m.toml'; name a file in the job's "
     "folder or below it"),
    ("", HEAD + 'materials = "none.toml"\n' + PANEL, "job.toml:4: materials: no file 'none.toml' in the job's folder; "
     "check the name"),
    ("", HEAD.replace("Test", "x" * 201) + PANEL, "job.toml:2: title: has 201 characters; at most 200 are read"),
    ("", HEAD + PANEL.replace("[[panel]]", "[panel]"), "job.toml:4: panel: is a table; write [[panel]] with double "
     "brackets"),
    ("", HEAD + PANEL.replace("rear", "rear."), "job.toml:5: panel[1].name: 'rear.' is no name; use ASCII letters, "
     "digits, space, '-' and '_', beginning and ending in a letter or digit"),
    ("", HEAD + PANEL.replace("rear", "Com1"), "job.toml:5: panel[1].name: 'Com1' is a device's name on some systems; "
     "choose another"),
    ("", HEAD + PANEL + PANEL.replace("rear", "REAR"), "job.toml:10: panel[2]: 'REAR' is the name of panel[1] too; "
     "no two may be alike but for case"),
    (PANEL, HOLE.replace("3", "0"), "job.toml:12: panel[1].hole[1].diameter: is 0 mm; it must be at least 0.01 mm"),
    (PANEL, HOLE.replace("[1,", "[20000,"), "job.toml:11: panel[1].hole[1].at[1]: is 20000 mm; nothing may be larger "
     "or further off than 10 m"),
    (PANEL, HOLE + "tabs = 3\n", "job.toml:13: panel[1].hole[1].tabs: is 3; write true, false or { count, width, "
     "height }"),
    (PANEL, HOLE + "tabs = { count = 1 }\n", "job.toml:13: panel[1].hole[1].tabs.count: is 1; it must be a whole "
     "number, 2 or more: two that face each other are the least that holds a slug, three are better; or write tabs = "
     "false"),
    (PANEL, HOLE + "angle = 3\n", "job.toml:13: panel[1].hole[1].angle: unknown key; known here: at, countersink, "
     "depth, diameter, finish, label, tabs, thread, tolerance"),
    (PANEL, HOLE + 'finish = "pilot"\n' + HOLE.replace("3", "2") + 'finish = "pilot"\n', "job.toml:17: panel[1].hole[2]"
     ".finish: the pilot of 3 mm is larger than this opening; set pilot_diameter to at most 2 mm, or another finish"),
    (PANEL + 'finish = "pilot"\n', CUTOUT, "job.toml:11: panel[1].cutout[1].finish: finish 'pilot' does not suit a "
     "cutout; write finish = 'machine' or 'mark'"),
    (PANEL, CUTOUT + "corner_radius = 10.5\n", "job.toml:14: panel[1].cutout[1].corner_radius: is 10.5 mm; at most "
     "half the shorter side, 10 mm"),
    (PANEL, "[[panel.slot]]\nat = [1, 2]\nlength = 3\nwidth = 4\n", "job.toml:12: panel[1].slot[1].length: is 3 mm; "
     "over all, round ends and all: at least the width, 4 mm"),
    (PANEL, "[[panel.ring]]\nat = [1, 2]\ncount = 200001\ncircle_diameter = 30\ndiameter = 3\n",
     "job.toml:12: panel[1].ring[1].count: is 200001; at most 200000 holes in one job"),
    (PANEL.replace("1.2", '"99 ga"'), HOLE, "job.toml:7: panel[1].thickness: no gauge 99 of mild steel; there are"),
    (PANEL, HOLE.replace("diameter = 3", 'diameter = "#81"'), "job.toml:12: panel[1].hole[1].diameter: no drill size "
     "'#81'; there are #80 to #1 and letter A to letter Z"),
    (PANEL, HOLE.replace("= 3", '= "3,5 mm"'), "job.toml:12: panel[1].hole[1].diameter: '3,5 mm' has a decimal comma; "
     "write 3.5 mm"),
    (PANEL, HOLE.replace("= 3", "= '7/8\"'"), "job.toml:12: panel[1].hole[1].diameter: '\"' is no unit here; inches "
     "are written as 7/8 in or 0.875 in"),
    (PANEL, HOLE.replace("diameter", "diamter"), "job.toml:12: panel[1].hole[1].diamter: unknown key; did you mean "
     "'diameter'?"),
    (PANEL.replace("thickness", "thicknes"), HOLE, "job.toml:7: panel[1].thicknes: unknown key; did you mean "
     "'thickness'?"),
    (PANEL, HOLE.replace("diameter = 3", 'thread = "m4"'), "job.toml:12: panel[1].hole[1].thread: no thread 'm4'; did "
     "you mean 'M4'?"),
    (PANEL, "[[slot]]\nat = [1, 2]\nlength = 5\nwidth = 2\n", "job.toml:10: slot[1]: belongs to a panel: write "
     "[[panel.slot]], below the [[panel]] that it is in"),
    (PANEL, "[[panel.polygon]]\npoints = [[0, 0], [9, 9], [9, 0], [0, 9]]\n", "job.toml:11: panel[1].polygon[1]."
     "points: the side from point 1 to point 2 meets the side from point 3 to point 4; give the points in order"),
]  # fmt: skip


@pytest.mark.parametrize(("panel", "text", "said"), MISTAKES)
def test_one_mistake_is_one_line(job_file: Path, panel: str, text: str, said: str) -> None:
    """Each mistake gives exactly one line, and nothing else is said on account of it."""
    found = lines(job_file, (HEAD + panel if panel else "") + text)
    assert len(found) == 1, found
    assert found[0].startswith(said)


def test_a_link_out_of_the_jobs_folder_is_refused(tmp_path: Path) -> None:
    """A file named in a job lies in its folder once links are resolved."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    (tmp_path / "mine.toml").write_text("format = 1\n", encoding="utf-8")
    os.symlink(tmp_path / "mine.toml", folder / "mine.toml")
    found = lines(folder / "job.toml", HEAD + 'cutters = "mine.toml"\n' + PANEL)
    assert found == ["job.toml:4: cutters: 'mine.toml' leads out of the job's folder; name a file in it or below it"]


def test_a_machine_of_the_command_line_that_nobody_knows_is_told(job_file: Path) -> None:
    """An unknown --machine is an unknown name with the known ones."""
    with pytest.raises((UnknownName, BadInput), match="small router"):
        read(job_file, HEAD + PANEL, machine="lathe")


def test_a_long_chain_of_parameters_is_no_trouble(job_file: Path) -> None:
    """Parameters may lean on each other thousands deep; a cycle of thousands is one message."""
    chain = "".join(f'p{n} = "p{n + 1} + 1"\n' for n in range(3000))
    text = HEAD + "[parameters]\n" + chain + "p3000 = 1\n" + PANEL.replace("200", '"p0"').replace("1.2", "1")
    assert read(job_file, text).panels[0].width == 3001.0
    found = lines(job_file, text.replace("p3000 = 1", 'p3000 = "p0"'))
    assert len(found) == 1
    assert "a cycle: p0 → p1 → p2" in found[0]


def test_holes_are_counted_before_a_ring_is_expanded(job_file: Path) -> None:
    """A job of more than 200,000 holes is refused, whatever the rings that they come from."""
    ring = "[[panel.ring]]\nat = [1, 2]\ncount = 150000\ncircle_diameter = 30\ndiameter = 3\n"
    found = lines(job_file, HEAD + PANEL + ring * 2)
    assert found == ["job.toml:4: panel: 300000 holes in all; at most 200000 in one job"]


def test_angles_are_degrees_in_the_file_and_radians_inside(job_file: Path) -> None:
    """Angles take expressions, and more than a turn is the same angle."""
    text = "[[panel.slot]]\nat = [50, 50]\nlength = 30\nwidth = 4\nangle = '360 + 180/4'\n"
    assert read(job_file, HEAD + PANEL + text).panels[0].features[0].angle == pytest.approx(math.pi / 4)  # type: ignore[attr-defined]


def test_a_label_is_one_line(job_file: Path) -> None:
    """Line ends and controls in a label become spaces, so that it can be no line of its own anywhere."""
    text = HEAD + PANEL + HOLE + 'label = "a\\nG0 Z-5\\u0000\\tb"\n'
    assert read(job_file, text).panels[0].features[0].label == "a G0 Z-5 b"

"""A user's own files: rows laid over ours, units, and errors that say everything at once."""

import math
from pathlib import Path

import pytest

from toolpaths.errors import BadInput
from toolpaths.tables import load


def written(folder: Path, text: str, name: str = "my.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_partial_row_changes_only_what_it_names(tmp_path: Path) -> None:
    """A row with our number overrides the named columns of ours, and its source says so."""
    mine = load.cutters(written(tmp_path, "format = 1\n[[cutter]]\nnumber = 112\nstick_out = 25\n"))
    ours = load.cutters()
    assert mine[112].stick_out == 25
    assert mine[112].diameter == 3 and mine[112].flute_length == 12
    assert mine[112].source.startswith(ours[112].source) and "stick_out by own file my.toml" in mine[112].source
    assert {number: row for number, row in mine.items() if number != 112} == {
        number: row for number, row in ours.items() if number != 112
    }


def test_a_new_row_in_inches_arrives_in_mm(tmp_path: Path) -> None:
    """Bare lengths follow the file's units, stated ones their own; angles are degrees there and radians here."""
    text = """format = 1
units = "in"
[[cutter]]
number = 901
kind = "drill"
diameter = 0.25
material = "HSS"
flutes = 2
flute_length = "30 mm"
stick_out = 1.5
shank = "1/4 in"
point_angle = 118
"""
    row = load.cutters(written(tmp_path, text))[901]
    assert (row.diameter, row.flute_length, row.stick_out, row.shank) == pytest.approx((6.35, 30, 38.1, 6.35))
    assert row.trade_name == "0.25 in"
    assert row.point_angle == pytest.approx(math.radians(118))
    assert row.source == "own file my.toml"


def test_an_inch_file_does_not_turn_our_columns_into_inches(tmp_path: Path) -> None:
    """Only the numbers in the user's file follow its units."""
    row = load.cutters(written(tmp_path, 'format = 1\nunits = "in"\n[[cutter]]\nnumber = 112\nstick_out = 1\n'))[112]
    assert (row.diameter, row.stick_out) == pytest.approx((3, 25.4))


def test_every_problem_of_a_cutter_file_is_told_with_its_line(tmp_path: Path) -> None:
    """Unknown keys with the nearest known one, wrong types, missing columns, doubled rows: all at once, in order."""
    text = """format = 1
[[cutter]]
number = 112
diametre = 3

[[cutter]]
number = 902
kind = "dril"
diameter = "3 furlongs"
material = "HSS"
flutes = "two"
flute_length = -1

[[cutter]]
number = 112
stick_out = 30
"""
    with pytest.raises(BadInput) as caught:
        load.cutters(written(tmp_path, text))
    lines = str(caught.value).splitlines()
    assert lines[0] == "my.toml:4: cutter[1].diametre: unknown key; did you mean 'diameter'?"
    assert "my.toml:6: cutter[2].stick_out: is missing; add it" in lines
    assert "my.toml:6: cutter[2].shank: is missing; add it" in lines
    assert any(line.startswith("my.toml:8: cutter[2].kind: is 'dril'; write 'drill', 'spot drill'") for line in lines)
    assert any(line.startswith("my.toml:9: cutter[2].diameter: '3 furlongs' is no length; write") for line in lines)
    assert "my.toml:11: cutter[2].flutes: is 'two'; write a whole number" in lines
    assert "my.toml:12: cutter[2].flute_length: is -1; must be greater than 0" in lines
    assert lines[-1] == "my.toml:14: cutter[3]: number 112 stands here twice; one row each"
    assert [problem.line for problem in caught.value.problems] == sorted(p.line for p in caught.value.problems)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("number = 112\nflute_length = 30", "more than stick_out"),
        ("number = 112\npoint_angle = 118", "an end mill is flat"),
        ("number = 230\npoint_angle = 180", "point_angle below 180"),
        ("number = 112\ndiameter = nan", "finite number"),
        ("number = 112\nflutes = true", "write a whole number"),
        ("stick_out = 30", "is missing"),
        ("number = 112\nsource = 3", "write text in quotes"),
        ("number = 112\nshank = 1" + "0" * 400, "shank: is a number of 401 digits; write a smaller"),
    ],
)
def test_a_cutter_that_cannot_be_is_refused(tmp_path: Path, row: str, says: str) -> None:
    """Rows are judged after they are laid over ours."""
    with pytest.raises(BadInput, match=says):
        load.cutters(written(tmp_path, f"format = 1\n[[cutter]]\n{row}\n"))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[cutter]]\nnumber = 112\n", r"my.toml: format: is missing"),
        ("format = 2\n", r"my.toml:1: format: is 2; write 1"),
        ("format = 1\nunit = 'in'\n", r"my.toml:2: unit: unknown key; did you mean 'units'"),
        ("format = 1\ncutter = 3\n", r"my.toml:2: cutter: is 3; write a list"),
        ("format = 1\n[[material]]\nname = 'x'\n", r"my.toml:2: material: does not belong here"),
        ("format = 1\nformat = 1\n", r"my.toml:2: not valid TOML"),
    ],
)
def test_a_file_with_a_wrong_head_is_refused(tmp_path: Path, text: str, says: str) -> None:
    """Format, units and kinds of rows are checked before the rows."""
    with pytest.raises(BadInput, match=says):
        load.cutters(written(tmp_path, text))


def test_a_material_keeps_what_its_file_does_not_name(tmp_path: Path) -> None:
    """One speed and one figure of steel change; the other speeds, feeds and rules stay ours."""
    text = """format = 1
[[material]]
name = "mild steel"
ramp = { value = 1, unit = "deg", source = "my own trials" }
speeds = [
  { cutter = "end mill", cutter_material = "carbide", speed = 70, unit = "m/min", source = "maker's sheet" },
]
"""
    mine, ours = load.materials(written(tmp_path, text))["mild steel"], load.materials()["mild steel"]
    assert mine.speed("end mill", "carbide") == 70
    assert mine.speed("drill", "HSS") == ours.speed("drill", "HSS") == pytest.approx(80 * 0.3048)
    assert math.degrees(mine.ramp) == pytest.approx(1)
    assert mine.sources["ramp"] == "my own trials" and mine.sources["web"] == ours.sources["web"]
    assert mine.chip_loads == ours.chip_loads and mine.tabs == ours.tabs


def test_problems_inside_a_material_point_at_the_line_of_the_item(tmp_path: Path) -> None:
    """In a list over many lines the message names the line of the item, and every figure needs its own unit."""
    text = """format = 1
[[material]]
name = "aluminium"
chip_loads = [
  { diameter = "1 mm", low = 0.013, high = 0.017, unit = "mm/tooth", source = "trials" },
  { diameter = 2, low = 0.014, high = 0.02, unit = "mm/tooth", source = "trials" },
  { diameter = "3 mm", low = 0.03, high = 0.02, unit = "mm/tooth", sauce = "trials", source = "trials" },
]
web = { value = 2, unit = "mm", source = "trials" }
"""
    with pytest.raises(BadInput) as caught:
        load.materials(written(tmp_path, text))
    assert [(problem.line, problem.key) for problem in caught.value.problems] == [
        (6, "material[1].chip_loads[2].diameter"),
        (7, "material[1].chip_loads[3].sauce"),
        (9, "material[1].web"),
    ]
    assert "needs its unit" in caught.value.problems[0].message
    assert caught.value.problems[1].remedy == "did you mean 'source'?"
    assert "it is stated in 'x thickness'" in caught.value.problems[2].message


def test_feeds_per_turn_are_no_feeds_per_tooth(tmp_path: Path) -> None:
    """A drill's figure among the chip loads is a slip that would break mills: it is refused."""
    row = '{ diameter = "1 mm", low = 0.02, high = 0.03, unit = "mm/rev", source = "trials" }'
    with pytest.raises(BadInput, match=r"my.toml:4: material\[1\].chip_loads: the row at 1 mm is in mm/rev"):
        load.materials(written(tmp_path, f'format = 1\n[[material]]\nname = "plywood"\nchip_loads = [{row}]\n'))


def test_chip_loads_below_the_floor_are_refused(tmp_path: Path) -> None:
    """A table that can only rub is no table."""
    text = """format = 1
[[material]]
name = "aluminium"
chip_floor = { value = 0.02, unit = "mm/tooth", source = "trials" }
"""
    with pytest.raises(BadInput, match="never reaches the chip floor"):
        load.materials(written(tmp_path, text))


MACHINE = """format = 1
name = "my router"
units = "in"
travel = { x = 12, y = 7, z = 2 }
daylight = 3
spindle = { min_rpm = 8000, max_rpm = 20000, power_w = 500, spin_up_s = 2, speed_control = false }
feed = { max_xy = 80, max_z = 30, rapid_xy = 120, rapid_z = 60, acceleration = 8 }
stiffness = 0.3
backlash = 0.002
collet_nut = { diameter = 0.75, length = "20 mm" }
spoilboard = 0
change_seconds = 60
[program]
units = "in"
decimals = 4
slots = { 2 = 230, 1 = 112 }
"""


def test_a_machine_file_in_inches(tmp_path: Path) -> None:
    """Lengths, feeds and acceleration are converted at the door; the program's own units are left as they are."""
    written(tmp_path, MACHINE)
    row = load.machine("my.toml", tmp_path)
    assert row.travel == pytest.approx((304.8, 177.8, 50.8))
    assert (row.daylight, row.backlash, row.nut_diameter, row.nut_length) == pytest.approx((76.2, 0.0508, 19.05, 20))
    assert (row.max_xy, row.max_z, row.rapid_xy, row.acceleration) == pytest.approx((2032, 762, 3048, 203.2))
    assert (row.spoilboard, row.program.units, row.program.decimals) == (0, "in", 4)
    assert row.program.slots == ((1, 112), (2, 230))
    assert not row.speed_control and row.source == "own file my.toml"


def test_a_machine_with_our_name_needs_only_what_differs(tmp_path: Path) -> None:
    """A file named like a built-in machine overrides single columns, in tables too."""
    written(tmp_path, 'format = 1\nname = "bench mill"\nbacklash = 0.15\ntravel = { x = 500 }\n')
    row = load.machine("my.toml", tmp_path)
    assert row.travel == (500, *load.machines()["bench mill"].travel[1:])
    assert row.backlash == 0.15 and not row.climbs
    assert "backlash, travel by own file my.toml" in row.source


def test_every_problem_of_a_machine_file_is_told(tmp_path: Path) -> None:
    """Problems deep in tables carry the line of the table or key, and what would be right."""
    bad = MACHINE.replace("spin_up_s", "spinup_s").replace("min_rpm = 8000", "min_rpm = -1")
    bad = bad.replace("decimals = 4", 'decimals = 9\ncomments = "//"').replace("2 = 230", "0 = 112")
    written(tmp_path, bad)
    with pytest.raises(BadInput) as caught:
        load.machine("my.toml", tmp_path)
    text = str(caught.value)
    assert "my.toml:6: spindle.spinup_s: unknown key; did you mean 'spin_up_s'?" in text
    assert "spin_up_s: is missing" not in text  # said already
    assert "my.toml:6: spindle.min_rpm: is -1; must be greater than or equal to 0" in text
    assert "my.toml:15: program.decimals: is 9; must be less than or equal to 6" in text
    assert "my.toml:16: program.comments: is '//'; write '( )', ';' or 'none'" in text
    assert "my.toml:17: program.slots: '0' is no slot" in text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('name = "bench mill"\n', "format: is missing"),
        ('format = 1\nname = "bench mill"\nunits = "cm"\n', "my.toml:3: units: is 'cm'; write 'mm' or 'in'"),
        ('format = 1\nname = "bench mill"\nunits = "in"\ndaylight = 1' + "0" * 400 + "\n", "my.toml:4: daylight: "),
        ('format = 1\nname = "bench mill"\ntravel = 3\n', "my.toml:3: travel: is 3; write a table"),
        (
            'format = 1\nname = "bench mill"\nspindle = { min_rpm = 4000 }\n',
            "my.toml:3: spindle: min_rpm 4000 is above",
        ),
        ('format = 1\nname = "quill mill"\n', "travel: is missing"),
    ],
)
def test_a_machine_that_cannot_be_is_refused(tmp_path: Path, text: str, says: str) -> None:
    """A file over a built-in machine is judged as a whole, at the user's lines."""
    written(tmp_path, text)
    with pytest.raises(BadInput, match=says):
        load.machine("my.toml", tmp_path)


def test_a_machine_file_that_is_not_there(tmp_path: Path) -> None:
    """A name that ends in .toml is a file, and its absence is said as such."""
    with pytest.raises(BadInput, match=r"nowhere.toml: no such file"):
        load.machine("nowhere.toml", tmp_path)

"""Lists of holes typed by hand: what they resolve to, and every line that is said about a wrong one."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.job import HoleList
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out

JOB = """\
format = 1
units = "{units}"
[[panel]]
name = "plate"
material = "aluminium"
thickness = "2 mm"
width = "200 mm"
height = "100 mm"
[[panel.hole_list]]
file = "holes.csv"
{keys}
"""


@pytest.fixture
def listed(tmp_path: Path):
    """The job with a list of the given bytes beside it."""

    def write(content: str | bytes, keys: str = "", units: str = "mm") -> Path:
        raw = content if isinstance(content, bytes) else content.encode("utf-8")
        (tmp_path / "holes.csv").write_bytes(raw)
        path = tmp_path / "job.toml"
        path.write_text(JOB.format(keys=keys, units=units), encoding="utf-8")
        return path

    return write


def holes(path: Path) -> list[tuple[float, float, float, str]]:
    (feature,) = read_job(path).panels[0].features
    assert isinstance(feature, HoleList)
    return [(*(round(value, 6) for value in (*hole.at, hole.diameter)), hole.label) for hole in feature.holes]


def said(path: Path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read_job(path)
    return str(caught.value).splitlines()


def test_lengths_are_those_of_a_job(listed) -> None:
    """Units, inch fractions, signs and drill sizes are read in any order of headings, whatever their case."""
    text = (
        " Y , Diameter,LABEL, x \n"
        "10,3.2,one,20\n"
        "3/8 in, 1/4 in ,\"two, three\",1 1/2 in\n"
        "\n"
        ",,,\n"
        "-12.5 mm,#7,,+.5\n"
        "1,letter F,,2\n"
    )
    # number and letter sizes as every drill chart has them: #7 is 0.201 in, F 0.257 in
    assert holes(listed(text)) == [
        (20, 10, 3.2, "one"),
        (38.1, 9.525, 6.35, "two, three"),
        (0.5, -12.5, 5.1054, ""),
        (2, 1, 6.5278, ""),
    ]


def test_bare_numbers_are_in_the_units_of_the_job(listed) -> None:
    """In an inch job a bare number is in inches, beside millimetres that say so."""
    assert holes(listed("x,y,diameter\n1,0.5,3 mm\n", units="in")) == [(25.4, 12.7, 3, "")]


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("separator", [",", ";"])
def test_what_spreadsheets_write_is_read(listed, separator, mark, ends) -> None:
    """Comma or semicolon, with or without a byte order mark, and every line end."""
    text = ends.join(["x,y,diameter", "1,2,3", "4,5,6", ""]).replace(",", separator)
    assert holes(listed(mark + text.encode())) == [(1, 2, 3, ""), (4, 5, 6, "")]


def test_places_are_shifted_and_turned(listed) -> None:
    """``angle`` turns the list about its own 0, 0, which ``at`` puts on the panel; each hole has its tag and label."""
    path = listed("x,y,diameter,label\n10,0,3,\n0,20,4,vent\n", 'at = [50, 40]\nangle = 90\nlabel = "grille"')
    openings = lay_out(read_job(path)).panels[0].openings
    assert [(opening.feature, opening.tag, opening.label, opening.diameter) for opening in openings] == [
        ("hole_list[1]", "A1", "grille", 3),
        ("hole_list[1]", "B1", "vent", 4),
    ]
    assert [tuple(round(value, 9) for value in opening.centre) for opening in openings] == [(50, 50), (30, 40)]


def test_a_list_is_built_and_proved(listed) -> None:
    """A list with a tolerance builds: all its holes are made."""
    path = listed("x;y;diameter\n30;30;3\n60;30;8\n90;30;30\n", "tolerance = 0.1")
    made = pipeline.make(read_job(path))
    assert made.files, made.findings
    assert {opening.tolerance for opening in made.layout.panels[0].openings} == {0.1}
    assert math.isclose(sum(opening.diameter or 0 for opening in made.layout.panels[0].openings), 41)


WRONG = [
    ("x,y\n1,2\n", ["holes.csv:1: diameter: this heading is missing; the first row names x, y, diameter"]),
    (
        "x,y,diametre,diameter,y,\n",
        [
            "holes.csv:1: diametre: unknown heading; did you mean 'diameter'?",
            "holes.csv:1: y: this heading stands there twice; keep one of the two columns",
            "holes.csv:1: column 6 has no heading; write one of x, y, diameter, label",
        ],
    ),
    (
        "\nx,y,diameter\n1,2,0\n\n1,,3\n99999,1,3\n1,2,-3\n",
        [
            "holes.csv:3: diameter: is 0 mm; it must be at least 0.01 mm",
            "holes.csv:5: y: is empty; write a length, as 12.5 mm or 3/8 in",
            "holes.csv:6: x: is 99999 mm; nothing may be larger or further off than 10 m",
            "holes.csv:7: diameter: is -3 mm; it must be at least 0.01 mm",
        ],
    ),
    (
        "x;y;diameter\n1,5;2;3\n1;2,5 mm;3\n",
        [
            "holes.csv:2: x: '1,5' has a decimal comma; decimals are written with a point",
            "holes.csv:3: y: '2,5 mm' has a decimal comma; decimals are written with a point",
        ],
    ),
    (
        "x,y,diameter\n1,5,2,3\n",
        ["holes.csv:2: has 4 cells under 3 headings; decimals are written with a point, and a text with the separator "
         "in it stands in quotes"],
    ),
    (
        "x,y,diameter\n#7,2,3\n1,3/8,3\n1,2,#999\n1,2*3,4\n1,2,1e3\nnan,2,3\n",
        [
            "holes.csv:2: x: '#7' is no length; write a number, or as 12.5 mm or 3/8 in",
            "holes.csv:3: y: '3/8' is a fraction without its unit; write 3/8 in",
            "holes.csv:4: diameter: no drill size '#999'; there are #80 to #1 and letter A to letter Z",
            "holes.csv:5: y: '2*3' is no length; write a number, or as 12.5 mm or 3/8 in",
            "holes.csv:6: diameter: '1e3' is no length; write a number, or as 12.5 mm or 3/8 in",
            "holes.csv:7: x: 'nan' is no length; write a number, or as 12.5 mm or 3/8 in",
        ],
    ),
    ('x,y,diameter,label\n1,2,3,"a\n', ["holes.csv:2: cannot be split into cells: unexpected end of data; look for a "
                                       "quote that is open or astray"]),
    (f"x,y,diameter,label\n1,2,3,{'a' * 201}\n", ["holes.csv:2: label: has 201 characters; at most 200 are read"]),
    ("", ["holes.csv: holds no holes; a row of headings (x, y, diameter, label), then one row for each hole"]),
    ("x,y,diameter\n", ["holes.csv: holds no holes; a row of headings (x, y, diameter, label), then one row for each "
                        "hole"]),
    (b"x,y,diameter\n1,2,\xff\n", ["holes.csv:2: is not UTF-8 text; save it as UTF-8"]),
    ("x,y,diameter\n" + "1,2,3\n" * 200_001, ["holes.csv:200002: has more than 200000 rows; at most 200000 holes in "
                                              "one job"]),
    (b" " * 5_000_001, ["holes.csv: is larger than 5 MB; a smaller file"]),
]  # fmt: skip


@pytest.mark.parametrize(("content", "lines"), WRONG, ids=range(len(WRONG)))
def test_what_is_wrong_is_told_with_file_line_and_heading(listed, content, lines) -> None:
    """Everything wrong with a list is told at once, where it stands and with what would be right."""
    assert said(listed(content)) == lines


def test_a_pilot_must_lie_in_every_hole(listed) -> None:
    """A hole smaller than the pilot is named by its row."""
    assert said(listed("x,y,diameter\n1,2,5\n1,2,2\n", 'finish = "pilot"')) == [
        "holes.csv:3: diameter: the pilot of 3 mm is larger than this hole of 2 mm; set pilot_diameter to at most 2 "
        "mm, or another finish"
    ]


@pytest.mark.parametrize("name", ["/etc/passwd", "../holes.csv", "a/../../b.csv", "C:\\holes.csv", "none.csv", "."])
def test_a_list_lies_in_the_jobs_folder(listed, name) -> None:
    """Absolute paths, ``..``, folders and files that are not there are refused."""
    path = listed("x,y,diameter\n1,2,3\n")
    path.write_text(path.read_text().replace('"holes.csv"', repr(name)), encoding="utf-8")
    (line,) = said(path)
    assert line.startswith("job.toml:10: panel[1].hole_list[1].file: ")


def test_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    """A link that leads out of the job's folder is not followed."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    (tmp_path / "holes.csv").write_text("x,y,diameter\n1,2,3\n", encoding="utf-8")
    (folder / "holes.csv").symlink_to(tmp_path / "holes.csv")
    (folder / "job.toml").write_text(JOB.format(keys="", units="mm"), encoding="utf-8")
    assert said(folder / "job.toml") == [
        "job.toml:10: panel[1].hole_list[1].file: 'holes.csv' leads out of the job's folder; name a file in it or "
        "below it"
    ]

"""TOML at the door: limits, lines and words."""

from pathlib import Path

import pytest
from pydantic import BaseModel, ConfigDict, ValidationError

from toolpaths.errors import BadInput
from toolpaths.tables import toml_file

TEXT = '''title = "a [[hole]] = in words"
"odd key" = 1

[parameters]
board = "19 mm"          # not [this]

[[panel]]
name = "rear"
note = """
width = 3
"""
clamps = [
  { x = 0 },
  # between
  { x = 1 },
]
  [[panel.hole]]
  at = [1, 2]
  [[panel.hole]]
  at = [3, 4]
  diameter = 5

[[panel]]
name = "top"
feed.max_xy = 3
  [[panel.hole]]
  at = [5, 6]
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("title",), 1),
        (("odd key",), 2),
        (("parameters",), 4),
        (("parameters", "board"), 5),
        (("panel", 0), 7),
        (("panel", 0, "name"), 8),
        (("panel", 0, "width"), 7),
        (("panel", 0, "clamps", 0, "x"), 13),
        (("panel", 0, "clamps", 1, "x"), 15),
        (("panel", 0, "hole", 0, "at"), 18),
        (("panel", 0, "hole", 1, "at", 1), 20),
        (("panel", 0, "hole", 1, "diameter"), 21),
        (("panel", 1, "name"), 24),
        (("panel", 1, "feed", "max_xy"), 25),
        (("panel", 1, "hole", 0), 26),
        (("panel", 1, "hole", 0, "depth"), 26),
        (("nowhere",), 0),
    ],
)
def test_the_line_of_a_place(place: toml_file.Place, line: int) -> None:
    """A key's own line, else that of the nearest table round it; words in strings and comments are no keys."""
    assert toml_file.line_of(TEXT, place) == line


def test_a_file_over_the_limit_is_refused_unread(tmp_path: Path) -> None:
    """5 MB is the limit."""
    path = tmp_path / "big.toml"
    path.write_bytes(b"#" * (toml_file.SIZE_LIMIT + 1))
    with pytest.raises(BadInput, match=r"big.toml: is larger than 5 MB"):
        toml_file.read_toml(path)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"a = 1\nb = \xff\n", r"x.toml:2: is not UTF-8 text"),
        (b"a = 1\nb = = 2\n", r"x.toml:2: not valid TOML at column 5"),
        (b"a = " + b"1" * 5000, r"x.toml:1: holds a number with thousands of digits"),
        (b"a = [1\n", r"x.toml:1: not valid TOML"),
        (b"a = " + b"[" * 100_000, r"x.toml:1: .*(nested too deeply|not valid TOML)"),
    ],
)
def test_what_is_no_toml_says_where(tmp_path: Path, raw: bytes, says: str) -> None:
    """Bad encoding, bad syntax, an open bracket and endless nesting are problems of the file, never a crash."""
    path = tmp_path / "x.toml"
    path.write_bytes(raw)
    with pytest.raises(BadInput, match=says):
        toml_file.read_toml(path)


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    """A folder given for a file is bad input."""
    with pytest.raises(BadInput, match="cannot be read"):
        toml_file.read_toml(tmp_path)


class Hole(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    diameter: float | str


class Panel(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    hole: list[Hole] | None = None


class Job(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    panel: list[Panel] = []


def test_problems_of_nested_models_in_unions() -> None:
    """One problem a key, though a union tries each branch; the nearest key is sought in the model at that place."""
    text = "[[panel]]\n  [[panel.hole]]\n  diameter = true\n  diametr = 2\n[[panel]]\nholes = 3\n"
    data, _ = toml_file.parse_toml(text.encode(), "job.toml")
    with pytest.raises(ValidationError) as caught:
        Job.model_validate(data)
    problems = toml_file.problems_from(caught.value, "job.toml", text, Job)
    assert [str(problem) for problem in problems] == [
        "job.toml:3: panel[1].hole[1].diameter: is true; write a number or text in quotes",
        "job.toml:4: panel[1].hole[1].diametr: unknown key; did you mean 'diameter'?",
        "job.toml:6: panel[2].holes: unknown key; did you mean 'hole'?",
    ]

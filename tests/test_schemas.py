"""The schemas: an independent validator accepts what the reader accepts, and refuses what is plainly wrong."""

from __future__ import annotations

import copy
import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from toolpaths import schemas
from toolpaths.job.schema import FEATURES

ROOT = Path(__file__).resolve().parent.parent
DATA = files("toolpaths.tables.data")
STARTER = tomllib.loads((files("toolpaths.job") / "starter.toml").read_text(encoding="utf-8"))


def errors(name: str, data: Any) -> list[str]:
    """What the validator says, by the path to each value."""
    found = Draft202012Validator(schemas.schema(name)).iter_errors(data)
    return [f"{'.'.join(map(str, error.absolute_path))}: {error.message}" for error in found]


@pytest.mark.parametrize("name", schemas.NAMES)
def test_a_schema_is_a_schema(name: str) -> None:
    """Each is valid JSON Schema, draft 2020-12, closed to unknown keys, and free of null, which TOML has not."""
    schema = json.loads(schemas.text(name))
    Draft202012Validator.check_schema(schema)
    assert schema["additionalProperties"] is False
    assert all(table["additionalProperties"] is False for table in schema["$defs"].values() if "properties" in table)
    assert "null" not in schemas.text(name)


@pytest.mark.parametrize("file", sorted(ROOT.glob("sample_jobs/*.toml")), ids=lambda file: file.name)
def test_the_samples_are_jobs_by_the_schema(file: Path) -> None:
    """What builds is valid."""
    assert not errors("job", tomllib.loads(file.read_text(encoding="utf-8")))


def test_every_feature_is_offered() -> None:
    """A panel's schema names every kind of feature, and the note says what expressions are."""
    schema = schemas.schema("job")
    assert set(FEATURES) <= set(schema["$defs"]["PanelTable"]["properties"])
    assert "expression over the job's parameters" in schema["description"]


def test_the_built_in_tables_are_valid() -> None:
    """Our own machines, cutters and materials satisfy the schemas that a user's files are held against."""
    endings = ("_mill.toml", "_router.toml", "_plotter.toml")
    machines = [file.name for file in DATA.iterdir() if file.name.endswith(endings)]
    assert len(machines) >= 5
    own = [("cutters", "cutters.toml"), ("materials", "materials.toml"), ("parts", "parts.toml")]
    own += [("hand-tools", "hand_tools_mm.toml"), ("hand-tools", "hand_tools_in.toml")]
    for name, file in [*(("machine", file) for file in machines), *own]:
        assert not errors(name, tomllib.loads((DATA / file).read_text(encoding="utf-8"))), file


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("machine", 'format = 1\nname = "small router"\nspindle = { max_rpm = 20000 }\n'),
        ("cutters", 'format = 1\nunits = "in"\n[[cutter]]\nnumber = 112\nstick_out = "1 1/4 in"\n'),
        ("parts", 'format = 1\n[[part]]\nname = "noval socket"\n[[part.hole]]\ndiameter = 19.5\n'),
        ("materials", 'format = 1\n[[material]]\nname = "mdf"\nramp = { value = 5, unit = "deg", source = "mine" }\n'),
    ],
)
def test_a_file_that_changes_a_few_figures_is_valid(name: str, text: str) -> None:
    """A row that is laid over ours needs only what names it and what it changes."""
    assert not errors(name, tomllib.loads(text))


def changed(place: tuple[str | int, ...], value: object) -> dict[str, Any]:
    """The starter job with one value set."""
    job: Any = copy.deepcopy(STARTER)
    part = job
    for step in place[:-1]:
        part = part[step]
    part[place[-1]] = value
    return job  # type: ignore[no-any-return]


def test_the_starter_is_valid_and_slips_are_not() -> None:
    """The starter is a job; an unknown key, a wrong word, a table for a number and a missing key are told."""
    assert not errors("job", STARTER)
    for place, value, said in (
        (("panel", 0, "hight"), 100, "hight"),
        (("units",), "cm", "'cm'"),
        (("panel", 0, "origin"), "middle", "'middle'"),
        (("panel", 0, "width"), [1, 2], "[1, 2]"),
        (("format",), 2, "1 was expected"),
        (("panel", 0, "hole", 0, "at"), [1, 2, 3], "[1, 2, 3]"),
    ):
        found = errors("job", changed(place, value))
        assert found and any(said in line for line in found), (place, found)
    assert errors("job", {key: value for key, value in STARTER.items() if key != "units"})
    assert errors("cutters", {"format": 1, "cutter": [{"kind": "drill"}]})

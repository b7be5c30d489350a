"""README and DEVELOPERS say what is there: every command, name, key, code and file is held against the source."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import tomllib
from glob import glob
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest

import postprocessors
from toolpaths import cli, pipeline
from toolpaths.drafting import draw_panel
from toolpaths.finding import CODES, has_errors
from toolpaths.job import schema
from toolpaths.job.chassis import KeepApart
from toolpaths.job.load import read_job
from toolpaths.job.parts import HOLES, PartRow, RoomTable
from toolpaths.layout.build import lay_out
from toolpaths.tables import load
from toolpaths.tables.hand_tools import hand_tools

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def section(text: str, heading: str) -> str:
    """What stands under a ``##`` heading, up to the next one."""
    match = re.search(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    assert match, heading
    return match[1]


def blocks(text: str, language: str) -> list[str]:
    """The fenced blocks of a language ('' for none), in order."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def rows(text: str) -> dict[str, str]:
    """A table's first column (in backticks or bare) with its second."""
    return dict(re.findall(r"^\| `?([^`|]+?)`? \| (.+?) \|$", text, re.MULTILINE))


def test_readme_begins_with_the_job() -> None:
    """The first paragraph says who does this, what they must get done, and what the tool does for it."""
    heading, paragraph, *_ = README.split("\n\n")
    assert heading == "# holewright"
    assert "You" in paragraph and "`holewright`" in paragraph and "\n#" not in paragraph


def test_every_code_of_a_finding_is_listed() -> None:
    """README lists each code with the meaning that the source gives, and no other."""
    listed = rows(section(README, "Findings"))
    listed.pop("code")
    assert {code: meaning for code, meaning in listed.items() if set(code) != {"-"}} == CODES


def test_every_exit_status_is_listed() -> None:
    """README's table of exit statuses is that of the command line."""
    statuses = {int(status) for status in rows(section(README, "Options, exit status, JSON")) if status.isdigit()}
    assert statuses == {cli.DONE, cli.FOUND, cli.BAD_INPUT, cli.CANNOT_WRITE, cli.DEFECT, cli.INTERRUPTED}


def test_the_two_commands_set_up_by_themselves() -> None:
    """Each of README's two commands makes its environment, installs, and names what exists."""
    build, tests = (block.strip() for block in blocks(section(README, "Two commands"), ""))
    for command in (build, tests):
        steps = command.split(" && ")
        assert steps[0] == "python3 -m venv .venv" and steps[1].startswith(".venv/bin/pip install ")
    *_, last = shlex.split(build)
    assert (ROOT / last).is_file()
    assert tests.endswith("-e '.[test]' && .venv/bin/pytest")


def test_the_gate_runs_readmes_test_command() -> None:
    """.ci/run finds README's test command, that one alone, and runs it."""
    gate = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pattern = re.search(r"^tests=\$\(grep -E '(.+)' README\.md\)$", gate, re.MULTILINE)
    assert pattern and gate.rstrip().endswith('eval "$tests"')
    found = [line for line in README.splitlines() if re.search(pattern[1], line)]
    assert found == [blocks(section(README, "Two commands"), "")[1].strip()]
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


def test_the_tour_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Every shell line of README's tour, in order, in an empty folder beside the samples, ends with status 0."""
    shutil.copytree(ROOT / "sample_jobs", tmp_path / "sample_jobs")
    lines = [line for block in blocks(section(README, "A short tour"), "sh") for line in block.splitlines()]
    assert {shlex.split(line)[1] for line in lines} == set(cli.holewright.commands)
    monkeypatch.chdir(tmp_path)
    for line in lines:
        name, *words = shlex.split(line)
        assert name == "holewright"
        arguments = [path for word in words for path in (sorted(glob(word)) or [word] if "*" in word else [word])]
        with pytest.raises(SystemExit) as end:
            cli.main(arguments)
        said = capsys.readouterr()
        assert end.value.code == 0, f"{line}\n{said.out}{said.err}"
    assert (tmp_path / "build" / "bench_amp" / "wide" / "manifest.json").is_file()


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_lead_somewhere(text: str) -> None:
    """Every file that a picture or link names is there."""
    for target in re.findall(r"\]\(([^)#:]+)\)", text):
        assert (ROOT / target).is_file(), target


def test_built_in_names_are_those_of_the_tables() -> None:
    """README's built-in machines, materials and post-processors are those that there are."""
    text = " ".join(section(README, "Machines, cutters, materials").split())
    for kind, names in (
        ("machines", list(load.machines())),
        ("materials", list(load.materials())),
        ("post-processors", list(postprocessors.BUILT_IN)),
    ):
        match = re.search(rf"Built-in {kind}: (.*?)\.(?: |$)", text)
        assert match, kind
        assert sorted(re.findall(r"`([^`]+)`", match[1])) == sorted(names)


def test_the_example_job_is_sound_and_shows_every_key(tmp_path: Path) -> None:
    """README's example job builds in each of its sizes, and every key of the format stands in it."""
    example, components, _, box = blocks(section(README, "The job file"), "toml")
    (tmp_path / "vents.csv").write_text(blocks(section(README, "The job file"), "csv")[0], encoding="utf-8")
    badge = ezdxf.new("R2000", units=4).modelspace()
    badge.add_circle((0, 2), 0.75, dxfattribs={"layer": "HOLES"})
    badge.add_lwpolyline([(-2, -3), (2, -3), (0, 0)], close=True, dxfattribs={"layer": "SHAPES"})
    assert badge.doc is not None
    badge.doc.saveas(tmp_path / "badge.dxf")
    (tmp_path / "job.toml").write_text(example, encoding="utf-8")
    for size in (None, "wide"):
        made = pipeline.make(read_job(tmp_path / "job.toml", size=size))
        assert not has_errors(made.findings), made.findings
    models = [schema.JobTable, schema.PanelTable, schema.ClampTable, schema.TabsTable, schema.CountersinkTable]
    models += schema.FEATURES.values()
    assert not _keys(models) - _shown(example) - _shown(components) - _shown(box)


def _keys(models: list[type[schema.Table]]) -> set[str]:
    """The keys of tables as a file has them."""
    return {field.alias or key for model in models for key, field in model.model_fields.items()}


def test_the_example_components_are_sound_and_show_every_key(tmp_path: Path) -> None:
    """README's panel of components is a job without findings, with its own part beside it, and shows every key."""
    _, panel, own, _ = blocks(section(README, "The job file"), "toml")
    more = '  [[panel.part]]\n  part = "lever switch"\n  at = [125, 60]\n'
    head = 'format = 1\nunits = "mm"\nmachine = "sheet router"\nparts = "my_parts.toml"\n'
    (tmp_path / "my_parts.toml").write_text(own, encoding="utf-8")
    (tmp_path / "job.toml").write_text(head + panel + more, encoding="utf-8")
    made = pipeline.make(read_job(tmp_path / "job.toml"))
    assert not [finding for finding in made.findings if finding.severity != "note"]
    assert len(made.layout.panels[0].placements) == 1 + 1 + 6 + 5 + 1
    assert not _keys([RoomTable, PartRow]) - _shown(own) - set(HOLES)
    rows = tomllib.loads(panel)["panel"][0]["row"]
    # a row has either a pitch or a gap
    assert _keys([schema.RowTable]) - {key for row in rows for key in row} == {"gap"} and "or `gap`" in panel
    parts = [part for row in rows for item in row["parts"] for part in (item if isinstance(item, list) else [item])]
    assert not _keys([schema.RowPartTable]) - {key for part in parts if isinstance(part, dict) for key in part}


def _shown(example: str) -> set[str]:
    """The keys and tables that stand in an example."""
    headings = re.findall(r"^ *\[+(?:panel\.|part\.)?(\w+)", example, re.MULTILINE)
    return set(re.findall(r"(\w+) *= ", example)) | set(headings)


def test_the_example_box_is_sound_and_shows_every_key(tmp_path: Path) -> None:
    """README's example of the tables about the box is read, and every key of them stands in it."""
    box = blocks(section(README, "The job file"), "toml")[-1]
    panels = "".join(
        f'[[panel]]\nname = "{name}"\nmaterial = "mild steel"\nthickness = 1.2\nwidth = 242.4\nheight = {height}\n'
        for name, height in (("top", 152.4), ("rear", 61.2), ("baffle", 193))
    )
    (tmp_path / "job.toml").write_text(f'format = 1\nunits = "mm"\n{panels}{box}', encoding="utf-8")
    job = read_job(tmp_path / "job.toml")
    assert not {finding.code for finding in pipeline.check(job)} - {"loose-slug"}
    assert job.keep_apart == KeepApart() and len(job.obstacles) == 3
    models = (schema.ChassisTable, schema.InsideTable, schema.ObstacleTable, schema.CabinetTable, schema.KeepApartTable)
    assert not {key for model in models for key in model.model_fields} - _shown(box)


def test_the_example_tables_load(tmp_path: Path) -> None:
    """README's machine file, pen, printer, cutter file and bench are read as they stand."""
    machine, pen, cutter, bench = blocks(section(README, "Machines, cutters, materials"), "toml")
    (tmp_path / "garage_router.toml").write_text(machine, encoding="utf-8")
    (tmp_path / "my_cutters.toml").write_text(cutter, encoding="utf-8")
    assert load.machine("garage_router.toml", tmp_path).power == 500
    assert load.cutters(tmp_path / "my_cutters.toml")[112].source == "measured"
    plotter = 'format = 1\nname = "my plotter"\ntravel = { x = 600, y = 420 }\nsource = "measured"\n'
    (tmp_path / "my_plotter.toml").write_text(plotter + pen, encoding="utf-8")
    assert load.machine("my_plotter.toml", tmp_path).pen == load.machine("pen plotter", tmp_path).pen
    (printer,) = blocks(section(README, "What a build leaves"), "toml")
    (tmp_path / "my_printer.toml").write_text(printer, encoding="utf-8")
    assert load.printer("my_printer.toml", tmp_path).scale == pytest.approx((100 / 99.6, 101.6 / 101.7), abs=5e-5)
    (tmp_path / "my_bench.toml").write_text(bench, encoding="utf-8")
    assert [tool.name for tool in hand_tools("mm", tmp_path / "my_bench.toml").tools] == ["my step drill"]


def test_what_is_not_built_yet_is_not_there() -> None:
    """No feature and no command that there is stands among what README calls not built yet."""
    later = section(README, "What is not built yet")
    said = set(re.findall(r"`([^`]+)`", later))
    assert not said & (set(schema.FEATURES) | set(cli.holewright.commands))


def test_the_changes_name_what_is_there() -> None:
    """README's list of changes names every command, every feature and every table about the box."""
    said = set(re.findall(r"`\[*([a-z_-]+)\]*`", section(README, "Changes")))
    box = {"chassis", "obstacle", "cabinet", "keep_apart"}
    assert not (set(cli.holewright.commands) | set(schema.FEATURES) | box) - said


def test_developers_names_every_module() -> None:
    """DEVELOPERS' map names every module, and no file that is not there."""
    named = set(re.findall(r"`([\w/.*]+\.(?:py|toml|j2))`", DEVELOPERS))
    files = {file for package in ("toolpaths", "postprocessors") for file in (ROOT / package).rglob("*.py")}
    for file in files:
        if file.name != "__init__.py":
            within = file.relative_to(ROOT)
            assert {within.as_posix(), Path(*within.parts[1:]).as_posix()} & named, f"{within} is not on the map"
    places = (ROOT, ROOT / "toolpaths", ROOT / "postprocessors")
    assert not {name for name in named - {"my_posts.py"} if not any(list(place.glob(name)) for place in places)}


def test_the_post_processor_that_is_walked_through_works() -> None:
    """DEVELOPERS' example is a post-processor that the registry accepts and that writes every stroke of a drawing."""
    (code,) = blocks(DEVELOPERS, "python")
    names: dict[str, object] = {"__name__": "my_posts"}
    exec(compile(code, "DEVELOPERS.md", "exec"), names)
    post = postprocessors.checked(names["Points"], "points")
    layout = lay_out(read_job(ROOT / "sample_jobs" / "headphone_amplifier.toml"))
    drawing = draw_panel(layout.panels[0], layout.title, layout.units)
    text = post.write(drawing)  # type: ignore[arg-type, call-arg]
    lines = text.splitlines()
    assert len(lines) == 1 + sum(len(pen.marks) for pen in drawing.pens)
    x0, y0, x1, y1 = drawing.bounds
    for line in lines[1:]:
        points = [tuple(map(float, place.split(","))) for place in line.split(" ")[1:]]
        assert len(points) > 1
        assert all(x0 - 1 <= x <= x1 + 1 and y0 - 1 <= y <= y1 + 1 for x, y in points)
        assert any(one != two for one, two in pairwise(points))

"""The command line: commands, exit statuses, what goes where, and nothing imported before it is needed."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

from toolpaths import cli, pipeline
from toolpaths.errors import BadInput, BrokenPost, CannotWrite, PostError, Problem, UnknownName
from toolpaths.finding import CODES, Finding

ROOT = Path(__file__).resolve().parent.parent
NOTE = Finding("note", "file-corner", "rear", "d_hole[1]", "0.2 mm for the file")
ERROR = Finding("error", "overlap", "rear", "hole[2]", "overlaps hole[1]: move it 2 mm")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run one command line in this process: exit status, standard output, standard error."""

    def command(*arguments: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            cli.main(list(arguments))
        printed = capsys.readouterr()
        assert isinstance(end.value.code, int)
        return end.value.code, printed.out, printed.err

    return command


@pytest.fixture
def starter(tmp_path: Path, run: Callable[..., tuple[int, str, str]], monkeypatch: pytest.MonkeyPatch) -> Path:
    """The job file that ``new`` writes, with the current folder beside it."""
    monkeypatch.chdir(tmp_path)
    assert run("new", "amp")[0] == 0
    return tmp_path / "amp/amp.toml"


Run = Callable[..., tuple[int, str, str]]


# the starter job, end to end -----------------------------------------------------------------------------------------


def test_the_starter_job_builds_as_it_stands(starter: Path, run: Run) -> None:
    """``new`` then ``build`` gives every file that the manifest lists, all in build/JOBNAME, without error findings."""
    status, out, err = run("build", str(starter))
    assert (status, err) == (0, "")
    folder = starter.parent.parent / "build/amp"
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    paths = {file["path"] for file in manifest["files"]}
    assert paths == {
        "rear.nc", "rear.dry.nc", "rear.svg", "rear.dxf", "template.pdf", "setup_sheet.html", "drill_schedule.csv",
        "simulation.html",
    }  # fmt: skip
    assert paths | {"manifest.json"} == set(os.listdir(folder))
    assert (manifest["job"], manifest["size"], manifest["machine"]) == ("amp", None, "small router")
    assert all(f"wrote build/amp/{path}" in out for path in paths)
    rows = list(csv.DictReader((folder / "drill_schedule.csv").read_text("utf-8").splitlines()))
    assert len(rows) == 10 and all(row["how it is made"] and row["why"] for row in rows)


def test_the_paper_is_chosen_by_name(starter: Path, run: Run) -> None:
    """``--paper`` prints on that paper, and an unknown one is bad input with the nearest or all names."""
    assert run("build", str(starter), "--post", "template", "--paper", "legal")[0] == 0
    manifest = json.loads((starter.parent.parent / "build/amp/manifest.json").read_text("utf-8"))
    (template,) = [file for file in manifest["files"] if file["kind"] == "template"]
    assert (template["path"], template["paper"], template["panels"]) == ("template.pdf", "Legal", ["rear"])
    status, _, error = run("build", str(starter), "--paper", "lettr")
    assert status == 2 and "did you mean Letter?" in error
    status, _, error = run("build", str(starter), "--paper", "vellum")
    assert status == 2 and "known are A4, A3, Letter, Legal" in error


def test_a_size_has_its_own_folder_and_a_rebuild_the_same_bytes(starter: Path, run: Run) -> None:
    """``--size`` builds to build/JOBNAME/SIZE; a second build changes not a byte."""
    folder = starter.parent.parent / "build/amp/wide"
    assert run("build", str(starter), "--size", "wide")[0] == 0
    first = {place.name: place.read_bytes() for place in folder.iterdir()}
    assert run("build", str(starter), "--size", "wide", "--quiet") == (0, "", "")
    assert {place.name: place.read_bytes() for place in folder.iterdir()} == first
    assert json.loads(first["manifest.json"])["size"] == "wide"
    assert str(starter.parent.parent).encode() not in b"".join(first.values())


PLATE = """\
format = 1
title = "t"
units = "mm"
machine = "small router"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 100
height = 60
  [[panel.hole]]
  at = [30, 30]
  diameter = 6
"""


def test_a_build_says_what_was_proved(starter: Path, run: Run) -> None:
    """The last line tells programs that cut from those for a pen, and a machine that only draws lacks the former."""
    ends = {"gcode": "every program verified", "pen": "every program for a pen proved"}
    for post, words in {**ends, "plotter": "no program among them"}.items():
        job = Path("drawn.toml")
        job.write_text(PLATE)
        status, out, _ = run("build", str(job), "--post", post, "-o", post)
        assert status == 0 and f", {words}; " in out.splitlines()[-1]
    out = run("check", str(starter), "--machine", "pen plotter")[1]
    assert "has no spindle: no program that cuts is written" in out


LONG = """\
format = 1
title = "long"
units = "mm"
machine = "small router"
[[panel]]
name = "long"
material = "aluminium"
thickness = 2
width = 420
height = 120
clamps = [{ x = 4, y = 50, width = 12, height = 12 }, { x = 404, y = 50, width = 12, height = 12 }]
  [[panel.hole]]
  at = [40, 30]
  diameter = 6
  [[panel.hole]]
  at = [220, 90]
  diameter = 6
  [[panel.hole]]
  at = [210, 30]
  diameter = 6
  [[panel.hole]]
  at = [385, 80]
  diameter = 9
"""


def test_all_programs_of_a_build_are_verified_at_once(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every program that a shell's ``*.nc`` names is held against the job, each setup and air pass by itself, a divided
    panel's setups together too, programs for a pen named; one that is wrong fails alone, and the status tells it."""
    monkeypatch.chdir(tmp_path)
    job = Path("long.toml")
    job.write_text(LONG)
    assert run("build", str(job), "--fit-strip", "--post", "gcode")[0] == 0
    Path("build/long/long.marks.pen-0.35.nc").write_text("not read")
    programs = sorted(map(str, Path("build/long").glob("*.nc")))
    kinds = ("long.pins.nc", "long.setup1.dry.nc", "long.setup2.nc", "fit strip aluminium.nc", "long.marks.pen-0.35.nc")
    assert {f"build/long/{name}" for name in kinds} <= set(programs)
    status, out, errors = run("verify", str(job), *programs)
    assert (status, errors) == (0, "")
    lines = out.splitlines()
    assert "build/long/long.setup1.dry.nc: air pass verified, no findings" in lines
    assert "build/long/long.setup1.nc, build/long/long.setup2.nc: verified together as one piece, no findings" in lines
    assert "build/long/long.marks.pen-0.35.nc: for a pen, proved when it was built, not read again" in lines
    pens = [name for name in programs if ".pen-" in name]
    assert lines[-1].startswith(f"{len(programs) - len(pens)} programs, all verified; ")
    dry = Path("build/long/long.setup1.dry.nc")
    dry.write_text(dry.read_text().replace("G0 X", "M3 S9000\nG0 X", 1))
    status, out, _ = run("verify", str(job), *programs, "--json")
    told = json.loads(out)
    assert (status, told["exit"]) == (1, 1)
    verdicts = {one["program"]: one["verified"] for one in told["programs"]}
    assert verdicts == {name: None if name in pens else name != str(dry) for name in programs}
    assert run("verify", str(job), *pens)[0] == 2


def test_a_built_program_verifies_and_a_broken_one_does_not(starter: Path, run: Run) -> None:
    """``verify`` finds the panel by the file's name, or the only one; a spindle that never starts is status 1."""
    assert run("build", str(starter))[0] == 0
    program = Path("build/amp/rear.nc")
    status, out, _ = run("verify", str(starter), str(program))
    assert status == 0 and "verified" in out
    edited = Path("edited.nc")
    edited.write_text(program.read_text().replace("M3", "M5"))
    status, out, _ = run("verify", str(starter), str(edited), "--json")
    told = json.loads(out)
    assert (status, told["exit"], told["command"]) == (1, 1, "verify")
    assert told["programs"] == [{"program": "edited.nc", "panel": "rear", "what": "programs", "verified": False}]
    assert any(found["severity"] == "error" and found["line"] > 0 for found in told["findings"])


def test_a_failed_build_leaves_the_folder_as_it_was(starter: Path, run: Run) -> None:
    """Findings of severity error end with status 1 and not one file changed."""
    assert run("build", str(starter))[0] == 0
    folder = Path("build/amp")
    before = {place.name: place.read_bytes() for place in folder.iterdir()}
    status, out, _ = run("build", str(starter), "--set", "margin=-30")
    assert status == 1 and "nothing written" in out
    assert {place.name: place.read_bytes() for place in folder.iterdir()} == before
    assert os.listdir("build") == ["amp"]


def test_an_edited_program_is_kept(starter: Path, run: Run) -> None:
    """A build over a program that the user has edited stops with status 3, names it and keeps it."""
    assert run("build", str(starter))[0] == 0
    Path("build/amp/rear.nc").write_text("mine\n")
    status, _, err = run("build", str(starter))
    assert status == 3 and "rear.nc" in err and err.count("\n") == 1
    assert Path("build/amp/rear.nc").read_text() == "mine\n"


def test_new_refuses_to_overwrite(starter: Path, run: Run) -> None:
    """A job that is there already stays as it is, with status 3."""
    starter.write_text("mine")
    status, _, err = run("new", str(starter.parent))
    assert status == 3 and "stays as it is" in err
    assert starter.read_text() == "mine"


def test_new_puts_the_jobs_schema_beside_it(starter: Path, run: Run) -> None:
    """The job's first line leads an editor to the schema: what ``schema job`` prints, and never overwritten."""
    first, beside = starter.read_text().splitlines()[0], starter.with_name("job.schema.json")
    assert first == f"#:schema ./{beside.name}"
    assert beside.read_text(encoding="utf-8") == run("schema")[1] == run("schema", "job")[1]
    assert json.loads(run("schema", "machine", "--json")[1])["schema"]["required"] == ["format", "name"]
    status, _, err = run("schema", "drill")
    assert status == 2 and "job, machine, cutters, materials" in err
    starter.unlink()
    beside.write_text("{}")
    assert run("new", str(starter.parent))[0] == 0
    assert beside.read_text() == "{}"


def test_an_unknown_panel_is_bad_input_that_names_the_known_ones(starter: Path, run: Run) -> None:
    """Each command with --panel says which panels there are."""
    for command in (["check", str(starter)], ["build", str(starter)], ["verify", str(starter), str(starter)]):
        status, out, err = run(*command, "--panel", "roof")
        assert (status, out) == (2, "") and "roof" in err and "rear" in err


# exit statuses and what is said --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (BadInput([Problem("a.toml", 3, "panel[1].width", "is missing", "say width = 100")]), 2),
        (UnknownName("no machine is called 'x'"), 2),
        (CannotWrite("out: is a file"), 3),
        (PostError("broken"), 70),
        (BrokenPost("post-processor 'x' failed"), 2),
        (ZeroDivisionError("division\nby zero"), 70),
        (RecursionError("deep"), 70),
        (KeyboardInterrupt(), 130),
    ],
)
def test_exit_status_of_each_error(
    error: BaseException, status: int, run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each kind of error has its status, one line on standard error, nothing on standard output but the JSON object."""

    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(pipeline, "check", fail)
    code, out, err = run("check", str(starter))
    assert (code, out) == (status, "")
    assert err.count("\n") == 1 and err.endswith("\n") and "Traceback" not in err
    code, out, _ = run("check", str(starter), "--json")
    told = json.loads(out)
    assert (code, told["exit"], told["format"], told["command"]) == (status, status, 1, "check")
    assert len(told["errors"]) == 1 and told["errors"][0]["message"] and told["findings"] == []


def test_ctrl_c_is_told_as_such_whatever_a_library_makes_of_it(
    run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One who presses Ctrl-C gets status 130 and one line, also while a library turns that into an error of its own;
    the next command of the same process is not taken to be interrupted."""

    def swallow(*_: object, **__: object) -> None:
        try:
            os.kill(os.getpid(), signal.SIGINT)
            time.sleep(5)
        except KeyboardInterrupt:
            raise ImportError("half of a library") from None

    with monkeypatch.context() as patch:
        patch.setattr(pipeline, "check", swallow)
        assert run("check", str(starter)) == (130, "", "interrupted\n")
    monkeypatch.setattr(pipeline, "check", lambda *_, **__: 1 / 0)
    assert run("check", str(starter))[0] == 70


def test_a_defect_shows_where_only_when_asked(run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """HOLEWRIGHT_DEBUG=1 adds the traceback of a defect."""
    monkeypatch.setattr(pipeline, "check", lambda *_, **__: 1 / 0)
    assert "Traceback" not in run("check", str(starter))[2]
    monkeypatch.setenv("HOLEWRIGHT_DEBUG", "1")
    assert "Traceback" in run("check", str(starter))[2]


def test_errors_are_told_up_to_twenty(run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty problems are told a line each and the others counted; the JSON object has them all."""

    def fail(*_: object, **__: object) -> None:
        raise BadInput([Problem("a.toml", n, "key", "is wrong\x1b[2J") for n in range(1, 26)])

    monkeypatch.setattr(pipeline, "check", fail)
    _, _, err = run("check", str(starter))
    lines = err.splitlines()
    assert len(lines) == 21 and lines[0] == "a.toml:1: key: is wrong [2J" and lines[-1] == "and 5 more"
    assert len(json.loads(run("check", str(starter), "--json")[1])["errors"]) == 25


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["check"],
        ["check", "a.toml", "--no-such-option"],
        ["check", "a.toml", "--set", "novalue"],
        ["check", "no such file.toml"],
        ["check", "."],
        ["build", "a.toml", "--post", "gcode", "--post", "gcode"],
        ["build", "a.toml", "--post", "nonsense"],
        ["machines", "nonsense"],
        ["cutters", "99999"],
        ["cutters", "--cutters", "no such file.toml"],
        ["materials", "cheese"],
        ["posts", "nonsense"],
    ],
)
def test_bad_input_is_status_2_with_and_without_json(
    arguments: list[str], run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wrong commands, options, files and names are one clear line and status 2; nothing is written."""
    monkeypatch.chdir(tmp_path)
    status, out, err = run(*arguments)
    assert (status, out) == (2, "") and err.count("\n") == 1
    status, out, _ = run(*arguments, "--json")
    told = json.loads(out)
    assert (status, told["exit"]) == (2, 2) and told["errors"][0]["message"]
    assert os.listdir(tmp_path) == []


def test_check_groups_findings_and_counts_them(run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Findings stand under their panel, the last line counts them; --quiet keeps errors, -v adds what codes mean."""
    monkeypatch.setattr(pipeline, "check", lambda *_, **__: (NOTE, ERROR))
    status, out, err = run("check", str(starter))
    lines = out.splitlines()
    assert (status, err) == (1, "")
    assert lines[0] == "rear" and "d_hole[1]: 0.2 mm" in lines[1] and lines[-1] == "1 error, 1 note"
    assert CODES["overlap"] in run("check", str(starter), "-v")[1]
    quiet = run("check", str(starter), "--quiet")[1]
    assert "overlaps" in quiet and "0.2 mm" not in quiet
    monkeypatch.setattr(pipeline, "check", lambda *_, **__: (NOTE,))
    assert run("check", str(starter), "--quiet") == (0, "", "")
    told = json.loads(run("check", str(starter), "--json")[1])
    assert told["findings"] == [
        {
            "severity": "note",
            "code": "file-corner",
            "panel": "rear",
            "feature": "d_hole[1]",
            "message": "0.2 mm for the file",
        }
    ]
    assert told["counts"] == {"errors": 0, "warnings": 0, "notes": 1}


def test_options_reach_the_job(run: Run, starter: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """--set, --size and --machine win over the job; the value of --set may itself hold an equals sign."""
    seen: list[Any] = []

    def check(job: Any, **_: object) -> tuple[Finding, ...]:
        seen.append((job.machine.name, job.size, job.panels[0].width))
        return ()

    monkeypatch.setattr(pipeline, "check", check)
    choices = ["--machine", "bench mill", "--size", "wide", "--set", "face_width=10 in"]
    assert run("check", str(starter), *choices)[0] == 0
    assert seen == [("bench mill", "wide", pytest.approx(254))]


@pytest.mark.parametrize("what", ["cutters", "materials", "machines", "posts"])
def test_listings_show_each_rows_source(what: str, run: Run) -> None:
    """A listing is a table for people and rows for scripts; every row of figures names its source."""
    status, out, _ = run(what)
    assert status == 0
    rows = json.loads(run(what, "--json")[1])[what]
    assert len(out.splitlines()) == len(rows) + 1
    for row in rows:
        assert what == "posts" or (row["source"] and row["source"] in out)
    one = str(rows[0].get("name", rows[0].get("number")))
    assert json.loads(run(what, one, "--json")[1])[what] == rows[:1]
    assert run(what, one)[1] in run(what, "-v")[1]


def test_a_series_of_components_lists_its_sizes(run: Run, tmp_path: Path) -> None:
    """A name of a series shows its components one below the other; one of them cannot be drawn without its size."""
    rows = json.loads(run("parts", "grommet", "--json")[1])["parts"]
    assert [(row["name"], row["nominal"]) for row in rows] == [
        (f"grommet {size}", size) for size in ("3/16 in", "1/4 in", "3/8 in", "1/2 in")
    ]
    assert len(run("parts", "grommet")[1].splitlines()) == 5
    status, _, error = run("parts", "grommet", "--svg", str(tmp_path / "a.svg"))
    assert status == 2 and "it is a series, whose sizes are grommet 3/16 in" in error


def test_keys_of_a_component_come_in_the_order_of_the_format() -> None:
    """Whatever order sets have in this run, what a hole or room measures is listed in one order."""
    seen = {
        process("-m", "toolpaths", "parts", "octal socket", env={"PYTHONHASHSEED": str(seed)}).stdout
        for seed in range(4)
    }
    (text,) = seen
    assert "role flange, side outside, size 50, 33, corner radius 4, reach 2" in text


def test_progress_is_for_terminals_only(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The bar goes to standard error of a terminal and away at the end; a pipe and --quiet see none of it."""
    with cli.Progress(False) as bar:
        bar("rear", 1, 2)
    assert capsys.readouterr() == ("", "")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with cli.Progress(True) as bar:
        bar("rear", 1, 2)
    assert capsys.readouterr() == ("", "")
    with cli.Progress(False) as bar:
        bar("rear", 1, 2)
    printed = capsys.readouterr()
    assert "1 of 2  rear" in printed.err and printed.err.endswith("\r\x1b[K") and printed.out == ""


# as a process of its own ---------------------------------------------------------------------------------------------


def process(*arguments: str, **changes: Any) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(ROOT)} | changes.pop("env", {})
    return subprocess.run(
        [sys.executable, *arguments],
        capture_output=True,
        text=True,
        env=environment,
        timeout=60,
        check=False,
        **changes,
    )


def test_a_job_begins_with_a_drawing(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """``new --from`` writes the job, what it reads and the schema, tells what was left out, and overwrites nothing."""
    monkeypatch.chdir(tmp_path)
    sample = Path(__file__).parents[1] / "sample_jobs" / "rear_plate.dxf"
    status, out, error = run("new", "plate", "--from", str(sample))
    assert (status, error) == (0, "") and "1 TEXT on layer 'WORDS' left out" in out
    assert sorted(os.listdir("plate")) == ["job.schema.json", "plate.toml", "plate_contours.dxf"]
    assert run("check", "plate/plate.toml")[0] == 0
    assert run("new", "plate", "--from", str(sample))[0] == 3
    status, out, _ = run("new", "other", "--from", str(sample), "--layer", "holes", "--json")
    facts = json.loads(out)
    assert status == 0 and facts["found"] == {"holes": 10, "contours": 0, "shapes": 0, "marks": 0}
    assert facts["files"] == ["other.toml", "job.schema.json"]


def test_a_bad_drawing_leaves_nothing(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Faults of a drawing are bad input, one line each, and no folder is made; options about a drawing need one."""
    monkeypatch.chdir(tmp_path)
    words = "0 SECTION 2 ENTITIES 0 CIRCLE 8 H 10 5 20 5 40 0 0 ENDSEC 0 EOF"
    (tmp_path / "bad.dxf").write_text(words.replace(" ", "\n") + "\n")
    for arguments, said in (
        (["--from", "bad.dxf"], "states no units"),
        (["--from", "bad.dxf", "--units", "mm"], "layer 'H', CIRCLE"),
        (["--from", "bad.dxf", "--units", "mm", "--recover"], "nothing that could be cut"),
        (["--from", "none.dxf"], "no such file"),
        (["--units", "mm"], "name it with --from"),
        (["--from", "bad.dxf", "--gap", "5"], "--gap"),
    ):
        status, out, error = run("new", "made", *arguments)
        assert (status, out) == (2, "") and said in error and error.count("\n") == 1, arguments
    assert os.listdir(tmp_path) == ["bad.dxf"]


def test_help_loads_nothing_that_it_does_not_need() -> None:
    """``--help`` imports no geometry, schema, template or drawing package, and no room but the command line."""
    heavy = (
        "shapely", "pydantic", "numpy", "jinja2", "svgwrite", "reportlab", "ezdxf", "postprocessors",
        "importlib.metadata", "json",
    )  # fmt: skip
    code = (
        "import sys\nfrom toolpaths.cli import main\ntry:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {heavy!r} if name in sys.modules], file=sys.stderr)\n"
        "print([name for name in sys.modules if name.startswith('toolpaths.')], file=sys.stderr)\n"
    )
    done = process("-c", code)
    assert done.stderr.splitlines() == ["[]", "['toolpaths.cli']"]
    for command in cli.holewright.commands:
        assert command in done.stdout


def test_help_and_version_work_anywhere(tmp_path: Path) -> None:
    """Every command explains itself with status 0, from any folder; no arguments are a question for help."""
    for arguments in ([], ["--help"], ["--version"], *([name, "--help"] for name in cli.holewright.commands)):
        done = process("-m", "toolpaths", *arguments, cwd=tmp_path)
        assert (done.returncode, done.stderr) == (0, "") and done.stdout


@pytest.mark.parametrize("arguments", [["cutters"], ["--help"], ["materials", "--json"]])
def test_a_closed_pipe_is_quiet(arguments: list[str]) -> None:
    """A reader that has seen enough costs no traceback and no wrong status."""
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(
        [sys.executable, "-m", "toolpaths", *arguments],
        stdout=write,
        stderr=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        timeout=60,
        check=False,
    )
    os.close(write)
    assert (done.returncode, done.stderr) == (0, b"")


def test_no_locale_spoils_the_output() -> None:
    """A terminal without a sign for ° gets an escape, not a failure; the JSON object is plain ASCII."""
    bare = {"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PYTHONUTF8": "0"}
    for arguments in (["materials", "-v"], ["materials", "--json"], ["cutters"]):
        done = process("-m", "toolpaths", *arguments, env=bare)
        assert (done.returncode, done.stderr) == (0, "") and done.stdout.isascii()


def test_help_of_click_is_the_only_interface() -> None:
    """Every command takes --json, --quiet and -v."""
    for command in cli.holewright.commands.values():
        given = {name for parameter in command.params for name in parameter.opts if isinstance(parameter, click.Option)}
        assert {"--json", "--quiet", "-v"} <= given


@pytest.mark.parametrize("asked", [("schema",), ("schema", "machine"), ("cutters", "112"), ("machines",)])
def test_quiet_keeps_what_was_asked_for(asked: tuple[str, ...], run: Run) -> None:
    """A schema or a table is the result, so that --quiet prints it like any other way."""
    assert run(*asked, "--quiet") == run(*asked)
    assert run(*asked)[1]


def test_verbose_tells_the_stages_of_a_build(starter: Path, run: Run, tmp_path: Path) -> None:
    """With -v each stage of a build is a line on standard error with its seconds, also in a pipe."""
    status, _, err = run("build", str(starter), "-o", str(tmp_path / "made"), "-v")
    assert status == 0
    stages = [line.split(" s  ")[1] for line in err.splitlines()]
    assert stages[0].startswith("planning ") and stages[-1] == "writing sheet and schedule"
    assert any(stage.startswith("proving ") for stage in stages)


# fit strips ----------------------------------------------------------------------------------------------------------


def test_a_fit_strip_is_built_listed_and_known_again(starter: Path, run: Run) -> None:
    """``--fit-strip`` adds its files, the manifest lists them, and ``verify`` knows its program by file name or by
    ``--panel``, which also makes it alone; ``check`` and ``simulate`` take the flag."""
    status, _, err = run("build", str(starter), "--fit-strip", "-o", "made")
    assert (status, err) == (0, "")
    manifest = json.loads(Path("made/manifest.json").read_text("utf-8"))
    (name,) = {file["panel"] for file in manifest["files"] if file.get("panel", "rear") != "rear"}
    assert name.startswith("fit strip ")
    assert "fit-strip" in {found["code"] for found in manifest["findings"]}
    assert {f"{name}.nc", f"{name}.dry.nc", f"{name}.svg"} <= set(os.listdir("made"))
    for program, what in ((f"{name}.nc", "programs"), (f"{name}.dry.nc", "air pass")):
        status, out, _ = run("verify", str(starter), f"made/{program}", "--json")
        facts = {"program": f"made/{program}", "panel": name, "what": what, "verified": True}
        assert status == 0 and json.loads(out)["programs"] == [facts]
    Path("made/copy.nc").write_bytes(Path(f"made/{name}.nc").read_bytes())
    assert run("verify", str(starter), "made/copy.nc", "--panel", name)[0] == 0
    assert run("verify", str(starter), "made/copy.nc")[0] == 1, "without a name it is held against the job's only panel"
    assert run("build", str(starter), "--panel", name, "-o", "alone")[0] == 0
    assert {file for file in os.listdir("alone") if file.endswith(".nc")} == {f"{name}.nc", f"{name}.dry.nc"}
    assert Path(f"alone/{name}.nc").read_bytes() == Path(f"made/{name}.nc").read_bytes()
    assert name in run("check", str(starter), "--fit-strip")[1] and name not in run("check", str(starter))[1]
    assert name in run("simulate", str(starter), "--fit-strip")[1]


def test_all_sizes_have_their_fit_strips(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With ``--all-sizes`` each size's folder holds the strips of that size, and an unknown one is refused."""
    monkeypatch.chdir(tmp_path)
    job = str(ROOT / "sample_jobs/two_driver_baffle.toml")
    assert run("build", job, "--all-sizes", "--fit-strip", "-o", "made")[0] == 0
    assert Path("made/fit strip plywood.nc").is_file() and Path("made/short/fit strip plywood.nc").is_file()
    status, _, error = run("build", job, "--panel", "fit strip mdf")
    assert status == 2 and "it has baffle, fit strip plywood" in error


@pytest.mark.parametrize("command", [("simulate", "amp/amp.toml", "-o"), ("parts", "noval socket", "--svg")])
def test_a_file_that_is_named_is_written_over_none_of_the_users(
    command: tuple[str, ...], starter: Path, run: Run
) -> None:
    """A page or drawing goes to a new place and over an earlier one of its kind; any other file stays, with one error
    and status 3."""
    assert [run(*command, "mine")[0] for _ in range(2)] == [0, 0]
    Path("mine").write_text("# a job of mine\n")
    status, _, error = run(*command, "mine")
    assert (status, error) == (3, "mine: is there already, is not of ours and stays as it is; name another file\n")
    assert Path("mine").read_text() == "# a job of mine\n"

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from toolpaths import pipeline, sizes
from toolpaths.cli import main
from toolpaths.errors import BadInput
from toolpaths.job.load import read_job, size_names

Ended = tuple[int, str, str]

JOB = """
format = 1
title = "cabinet"
units = "mm"
machine = "bench mill"
[parameters]
cabinet = 160
pitch = "20 mm"
[sizes.small]
cabinet = 140
[sizes.same]
[sizes.tight]
pitch = 3
[[panel]]
name = "front"
material = "aluminium"
thickness = 2
width = "cabinet"
height = 60
[[panel.hole]]
at = ["width/2", 30]
diameter = 4.3
[[panel.hole]]
at = [20, 30]
diameter = 6
[[panel]]
name = "inner"
material = "aluminium"
thickness = 2
width = 90
height = 60
[[panel.hole]]
at = [30, 30]
diameter = 4.3
[[panel.hole]]
at = ["30 + pitch", 30]
diameter = 4.3
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "cabinet.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Ended]:
    """Runs one command line in an empty folder: exit status, standard output, standard error."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")

    def command(*arguments: str) -> Ended:
        with pytest.raises(SystemExit) as end:
            main([*arguments])
        told = capsys.readouterr()
        return end.value.code, told.out, told.err  # type: ignore[return-value]

    return command


def compared(path: Path) -> list[sizes.Size]:
    return sizes.side_by_side(lambda name: read_job(path, size=name), size_names(path))


def without_tight(text: str = JOB) -> str:
    return text.replace("[sizes.tight]\npitch = 3\n", "")


def held(folder: Path) -> dict[str, bytes]:
    return {str(place.relative_to(folder)): place.read_bytes() for place in folder.rglob("*") if place.is_file()}


def test_sizes_stand_side_by_side_with_what_differs(path: Path) -> None:
    """Parameters in words, panel dimensions, openings and findings of the base and every size, in the job's order."""
    found = compared(path)
    assert [size.name for size in found] == [None, "small", "same", "tight"]
    table = {row[""]: list(row.values())[1:] for row in sizes.rows(found)}
    assert table["cabinet"] == ["160", "140", "160", "160"]
    assert table["pitch"] == ["20 mm", "20 mm", "20 mm", "3"]
    assert table["front"] == [f"{width} mm x 60 mm x 2 mm" for width in (160, 140, 160, 160)]
    assert table["  openings"] == ["2, 2 round"] * 4
    assert table["errors"] == ["0", "0", "0", "1 overlap"]
    assert table["check"] == ["passes", "passes", "passes", "errors"]


LENGTHS = ["76.2", '"3 in"', '"25.4 mm * 3"', "76.2000001", "76.21", "80"]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(LENGTHS), st.sampled_from(["20", '"0.2 * 100 mm"', "20.5"])), max_size=3))
def test_programs_are_called_the_same_exactly_where_their_bytes_are(path: Path, values: list[tuple[str, str]]) -> None:
    """``same_as`` names the first size whose built program for that panel has the same bytes; none where none has.

    Lengths that differ only in how they are written, or by less than the program's last decimal, are among the sizes.
    """
    tables = "".join(f"[sizes.s{n}]\ncabinet = {one}\npitch = {two}\n" for n, (one, two) in enumerate(values))
    text = without_tight().replace("[sizes.small]\ncabinet = 140\n[sizes.same]\n", tables)
    path.write_text(text.replace("cabinet = 160", "cabinet = 76.2"), encoding="utf-8")
    earlier: dict[str, dict[str, bytes]] = {}
    for size in compared(path):
        made = pipeline.make(read_job(path, size=size.name), posts=["gcode"])
        texts = {file.path: file.content for file in made.files}
        for panel in size.panels:
            program = f"{panel.name}.nc"
            alike = [name for name, others in earlier.items() if others[program] == texts[program]]
            assert panel.same_as == (alike[0] if alike else None)
        earlier[size.heading] = texts


def test_the_command_shows_them_and_says_with_its_status_whether_one_cannot_be_built(path: Path, run) -> None:
    """Status 1 where a size has findings of severity error, 0 where none has; the JSON holds every size."""
    status, text, _ = run("sizes", str(path))
    assert status == 1 and "1 overlap" in text and "as (base)" in text
    status, text, _ = run("sizes", str(path), "--json")
    told = json.loads(text)
    assert (status, told["exit"], told["command"], told["errors"]) == (1, 1, "sizes", [])
    assert [size["name"] for size in told["sizes"]] == [None, "small", "same", "tight"]
    assert told["sizes"][1]["panels"][1]["same_program_as"] == "(base)"
    assert [found["code"] for found in told["sizes"][3]["findings"]] == ["overlap"]
    path.write_text(without_tight(), encoding="utf-8")
    assert run("sizes", str(path))[0] == 0


def test_a_size_with_bad_input_is_shown_beside_the_others(path: Path, run) -> None:
    """Its column says so, its errors are told with its name, the others are compared all the same; the status is 2."""
    path.write_text(JOB.replace("cabinet = 140", "cabinet = -140"), encoding="utf-8")
    status, out, err = run("sizes", str(path))
    assert status == 2 and err.count("\n") == 1 and "panel[1].width" in err and "(in size small)" in err
    (verdicts,) = (line for line in out.splitlines() if line.startswith("check "))
    assert verdicts.split(maxsplit=1)[1].split("  ")[0] == "passes"
    assert "bad input" in verdicts and "1 overlap" in out
    assert out.splitlines()[-2] == "cannot be built:" and out.splitlines()[-1].startswith("  tight: inner: hole[2]: A2")
    told = json.loads(run("sizes", str(path), "--json")[1])
    assert (told["exit"], len(told["errors"])) == (2, 1)
    assert [size["check"] for size in told["sizes"]] == ["passes", "bad input", "passes", "errors"]
    assert told["sizes"][1]["panels"] == []


def test_a_base_with_bad_input_hides_no_size(path: Path) -> None:
    """Where only the sizes make sense, they are compared with one another."""
    path.write_text(JOB.replace("cabinet = 160", "cabinet = 0"), encoding="utf-8")
    found = compared(path)
    assert [size.verdict for size in found] == ["bad input", "passes", "bad input", "bad input"]
    assert {problem.message.partition("(")[2] for problem in sizes.problems_of(found)} == {
        "in the base)",
        "in size same)",
        "in size tight)",
    }


def test_what_is_wrong_with_the_whole_job_is_told_once(path: Path, run) -> None:
    """An unknown key fails every size: one error without a size's name, and no table."""
    path.write_text(JOB.replace("height = 60", "heigth = 60", 1), encoding="utf-8")
    for command in (["sizes"], ["check", "--all-sizes"], ["build", "--all-sizes"]):
        status, out, err = run(*command, str(path))
        assert (status, out) == (2, "") and "(in " not in err
        assert err.count("heigth") == 1


def test_a_value_that_is_no_length_is_told_with_its_place(path: Path) -> None:
    """A size whose value makes no length is bad input at the size's own key."""
    path.write_text(JOB.replace("cabinet = 140", 'cabinet = "140 furlong"'), encoding="utf-8")
    with pytest.raises(BadInput, match=r"sizes\.small\.cabinet"):
        sizes.read_all(lambda name: read_job(path, size=name), size_names(path))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--size", "huge"], "unknown size 'huge'; known here: same, small, tight"),
        (["--size", "smal"], "unknown size 'smal'; did you mean 'small'?"),
        (["--size", "small", "--all-sizes"], "do not go together"),
        (["--set", "colour=3"], "--set: colour: unknown parameter; known here: cabinet, pitch"),
        (["--set", "pitch=3 furlong"], "--set: pitch: "),
        (["--set", "pitch=cabinet * pitch"], "--set: pitch: a cycle"),
        (["--set", "pitch=21", "--set", " pitch =22"], "--set pitch is given twice"),
        (["--set", "pitch"], "say parameter=value"),
        (["--set", "=3"], "say parameter=value"),
    ],
)
def test_wrong_choices_are_one_clear_line(path: Path, run, arguments: list[str], said: str) -> None:
    """An unknown size or parameter is told with the known ones; a parameter set twice, or to nothing, is refused."""
    for command in ("check", "build"):
        status, out, err = run(command, str(path), *arguments)
        assert (status, out, err.count("\n")) == (2, "", 1) and said in err
    assert os.listdir() == []


def test_a_setting_wins_in_every_size(path: Path, run) -> None:
    """--set stands above what each size says, also with all sizes at once."""
    status, out, _ = run("sizes", str(path), "--set", "cabinet=150", "--set", "pitch=22", "--json")
    assert status == 0
    assert {size["parameters"]["cabinet"] for size in json.loads(out)["sizes"]} == {"150"}


def test_check_of_all_sizes_tells_them_one_after_the_other(path: Path, run) -> None:
    """Each size has its heading with its counts, errors of one size fail the check, and nothing is written."""
    status, out, err = run("check", str(path), "--all-sizes")
    assert (status, err) == (1, "")
    headings = [line for line in out.splitlines() if line.startswith("size ")]
    assert [line.split(":")[0] for line in headings] == ["size (base)", "size small", "size same", "size tight"]
    assert headings[0].endswith("no findings") and "1 error" in headings[3]
    told = json.loads(run("check", str(path), "--all-sizes", "--json")[1])
    assert [size["counts"]["errors"] for size in told["sizes"]] == [0, 0, 0, 1]
    assert os.listdir() == []


@pytest.mark.parametrize("option", [[], ["-o", "made"]], ids=["build/JOBNAME", "-o"])
def test_all_sizes_are_what_each_build_alone_leaves(path: Path, run, option: list[str]) -> None:
    """The base lies in the folder, each size in a folder of its name below; every byte is that of a build by itself."""
    path.write_text(without_tight(), encoding="utf-8")
    status, out, err = run("build", str(path), "--all-sizes", *option)
    assert (status, err) == (0, "")
    together = Path(option[-1] if option else "build/cabinet")
    assert f"wrote {together / 'small' / 'front.nc'}" in out
    for name in (None, "small", "same"):
        alone = Path("alone") / str(name)
        assert run("build", str(path), "-o", str(alone), *(["--size", name] if name else []))[0] == 0
        place = together / (name or "")
        assert {file: (place / file).read_bytes() for file in held(alone)} == held(alone)
        assert json.loads((place / "manifest.json").read_text())["size"] == name
        assert f"<div><small>Size</small>{name or 'base'}</div>" in (place / "setup_sheet.html").read_text()
    assert len(held(together)) == 3 * len(held(alone))
    told = json.loads(run("build", str(path), "--all-sizes", "--json", *option)[1])
    assert set(told["files"]) == set(held(together)) and [size["name"] for size in told["sizes"]][1:] == [
        "small",
        "same",
    ]


@pytest.mark.parametrize(("text", "status"), [(JOB, 1), (JOB.replace("pitch = 3", "pitch = 1/0"), 2)])
def test_where_one_size_fails_none_is_written(path: Path, run, text: str, status: int) -> None:
    """One size with error findings or bad input leaves the whole folder as it was, the good sizes too."""
    path.write_text(text, encoding="utf-8")
    assert run("build", str(path), "--all-sizes")[0] == status
    assert not list(Path().rglob("*"))
    path.write_text(without_tight(), encoding="utf-8")
    assert run("build", str(path), "--all-sizes")[0] == 0
    before = held(Path())
    path.write_text(text.replace("height = 60", "height = 62", 1), encoding="utf-8")
    assert run("build", str(path), "--all-sizes")[0] == status
    assert held(Path()) == before
    assert os.listdir("build") == ["cabinet"]


def test_one_edited_program_stops_all_sizes(path: Path, run) -> None:
    """A program that the user has edited in one size is named and kept, and no other size is replaced."""
    path.write_text(without_tight(), encoding="utf-8")
    assert run("build", str(path), "--all-sizes")[0] == 0
    Path("build/cabinet/small/front.nc").write_text("mine\n")
    before = held(Path())
    path.write_text(without_tight().replace("height = 60", "height = 62", 1), encoding="utf-8")
    status, _, err = run("build", str(path), "--all-sizes")
    assert status == 3 and "small/front.nc" in err and err.count("\n") == 1
    assert held(Path()) == before


def test_the_sample_with_three_cabinets_builds_in_each(run) -> None:
    """Every size of the bass amplifier comes out proved with nothing but notes; one control panel serves them all."""
    sample = Path(__file__).parent.parent / "sample_jobs" / "practice_bass_amplifier.toml"
    status, out, _ = run("build", str(sample), "--all-sizes", "-o", "made", "--json")
    told = json.loads(out)
    assert (status, told["counts"]["errors"], told["counts"]["warnings"]) == (0, 0, 0)
    assert [size["name"] for size in told["sizes"]] == [None, "small", "large"]
    programs = [[Path("made", size, f"{panel}.nc").read_bytes() for size in ("", "small", "large")]
                for panel in ("rear", "top", "front", "baffle")]  # fmt: skip
    assert [len(set(texts)) for texts in programs] == [3, 3, 1, 3]
    alike = {panel.name: panel.same_as for size in compared(sample) for panel in size.panels}
    assert alike == {"rear": None, "top": None, "front": sizes.BASE, "baffle": None}

"""The distribution as a user gets it: a wheel, installed where nothing else is, run from somewhere else."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from toolpaths import emit, load

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def run(*command: str | Path, cwd: Path) -> str:
    """Standard output of a command that must succeed, in an environment that knows nothing of this checkout."""
    return ended(*command, status=0, cwd=cwd)[0]


def ended(*command: str | Path, status: int, cwd: Path) -> tuple[str, str]:
    """Standard output and standard error of a command that must end with ``status``, in the same environment."""
    known = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=known, capture_output=True, text=True, check=False
    )
    assert done.returncode == status, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout, done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from a copy of the shipped files so that nothing left lying in the checkout gets in."""
    source = tmp_path_factory.mktemp("source")
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    for name in ("toolpaths", "postprocessors"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    run(sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", "dist", ".", cwd=source)
    (made,) = (source / "dist").glob("*.whl")
    return made


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scripts' folder of an empty environment into which the wheel was installed."""
    environment = tmp_path_factory.mktemp("environment")
    run(sys.executable, "-m", "venv", environment, cwd=environment)
    scripts = environment / ("Scripts" if os.name == "nt" else "bin")
    run(scripts / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check", wheel, cwd=environment)
    return scripts


def test_the_wheel_holds_all_that_is_shipped(wheel: Path) -> None:
    """Every module, data file, template and py.typed of both packages is in the wheel, and nothing else."""
    shipped = {
        file.relative_to(ROOT).as_posix()
        for package in ("toolpaths", "postprocessors")
        for file in (ROOT / package).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if not name.split("/")[0].endswith(".dist-info")}
    assert held == shipped
    assert {"toolpaths/py.typed", "postprocessors/py.typed"} <= held


def test_the_wheel_says_what_it_is(wheel: Path) -> None:
    """Name, version and licence (SPDX) stand in the metadata."""
    with zipfile.ZipFile(wheel) as archive:
        (metadata,) = (name for name in archive.namelist() if name.endswith(".dist-info/METADATA"))
        lines = archive.read(metadata).decode().splitlines()
    assert {"Name: holewright", f"Version: {PROJECT['version']}", "License-Expression: MIT"} <= set(lines)


def test_every_dependency_has_a_lower_bound() -> None:
    """No requirement is left to chance."""
    extras = PROJECT["optional-dependencies"].values()
    for requirement in [*PROJECT["dependencies"], *(one for extra in extras for one in extra)]:
        assert ">=" in requirement, requirement


def test_the_installed_command_builds_a_sample_elsewhere(installed: Path, tmp_path: Path) -> None:
    """Installed alone, the command says its version and builds a sample job elsewhere, to the byte as here."""
    command = installed / "holewright"
    assert run(command, "--version", cwd=tmp_path).split()[-1] == PROJECT["version"]
    job = shutil.copy(ROOT / "sample_jobs" / "headphone_amplifier.toml", tmp_path)
    made = json.loads(run(command, "build", Path(job).name, "--json", cwd=tmp_path))
    assert made["exit"] == 0
    manifest = json.loads((tmp_path / "build" / "headphone_amplifier" / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["made_by"] == {"name": "holewright", "version": PROJECT["version"]}
    assert {file["kind"] for file in manifest["files"]} == {
        "program", "dry run", "plot", "dxf", "template", "setup sheet", "drill schedule", "simulation",
    }  # fmt: skip
    for file in emit(load(job)).files:
        assert (tmp_path / "build" / "headphone_amplifier" / file.path).read_bytes() == file.content, file.path
    posts = run(command, "posts", cwd=tmp_path)
    assert "gcode" in posts and "plotter" in posts and "template" in posts and "dxf" in posts


@pytest.fixture(scope="module")
def with_plugin(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same environment with the package of strange post-processors installed beside holewright."""
    source = tmp_path_factory.mktemp("plugin") / "source"
    shutil.copytree(ROOT / "tests" / "plugin_example", source, ignore=shutil.ignore_patterns("__pycache__"))
    run(sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", "dist", ".", cwd=source)
    (wheel,) = (source / "dist").glob("*.whl")
    pip = installed / "python", "-m", "pip"
    run(*pip, "install", "--quiet", "--disable-pip-version-check", "--no-deps", wheel, cwd=source)
    yield installed
    run(*pip, "uninstall", "--quiet", "--disable-pip-version-check", "--yes", "bench-posts", cwd=source)


FAULTS = {
    "bad start": "bench_posts_broken:NeverRead cannot be loaded (RuntimeError: this module cannot be read)",
    "bad class": "NotAPost: must be a class built on ProgramPost, DrawingPost",
    "too new": "FromTheFuture: written for API_VERSION 99, and this holewright has 1; install a newer holewright",
}
"""What is wrong with those that cannot be loaded."""

AT_WORK = {
    "bad write": "post-processor 'bad write' failed (ZeroDivisionError: no pens at all): tell whoever wrote it",
    "bad pages": "post-processor 'bad pages' failed (TypeError: write gives bytes, not text): tell whoever wrote it",
}


def test_a_post_processor_of_ones_own(with_plugin: Path, tmp_path: Path) -> None:
    """A package of one's own is found once it is installed: listed, used by name, told as itself where it is broken,
    and in nobody's way: other commands, and builds without it, are as they were."""
    holewright = with_plugin / "holewright"
    listed = {row["name"]: row for row in json.loads(run(holewright, "posts", "--json", cwd=tmp_path))["posts"]}
    assert listed["centre table"]["suffix"] == ".centres.csv" and "fault" not in listed["centre table"]
    for name, fault in FAULTS.items():
        assert fault in listed[name]["fault"] and f"'{name}'" in listed[name]["fault"]
    assert {name for name, row in listed.items() if "fault" in row} == set(FAULTS)
    run(holewright, "new", "trial", cwd=tmp_path)
    job = Path("trial", "trial.toml")
    run(holewright, "check", job, cwd=tmp_path)
    run(holewright, "build", job, cwd=tmp_path)
    run(holewright, "build", job, "--post", "centre table", "-o", "own", cwd=tmp_path)
    manifest = json.loads((tmp_path / "own" / "manifest.json").read_text(encoding="utf-8"))
    own = [file for file in manifest["files"] if file.get("post") == "centre table"]
    assert own and all((tmp_path / "own" / file["path"]).read_text().startswith("x,y,to x") for file in own)
    for name, fault in (FAULTS | AT_WORK).items():
        answer, error = ended(holewright, "build", job, "--post", name, "-o", "none", status=2, cwd=tmp_path)
        assert answer == "" and fault in error and error.count("\n") == 1 and "Traceback" not in error
    answer, _ = ended(holewright, "build", job, "--post", "bad words", "-o", "none", status=1, cwd=tmp_path)
    assert "unreadable" in answer and "post-processor 'bad words'" in answer
    assert not (tmp_path / "none").exists()

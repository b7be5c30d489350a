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

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def run(*command: str | Path, cwd: Path) -> str:
    """Standard output of a command that must succeed, in an environment that knows nothing of this checkout."""
    known = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, env=known, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


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
    """Installed alone, the command says its version and builds a sample job from another folder."""
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
    posts = run(command, "posts", cwd=tmp_path)
    assert "gcode" in posts and "plotter" in posts and "template" in posts and "dxf" in posts

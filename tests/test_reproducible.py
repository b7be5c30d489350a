"""The same job gives the same bytes: in another process, folder, locale and time zone, and from a source tree."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

JOB = """
format  = 1
title   = "Prüfplatte, lang"
units   = "mm"
machine = "small router"
cutters = "mine.toml"

[parameters]
bore = 6

[sizes.wide]
bore = 6.5

[[panel]]
name      = "face"
material  = "aluminium"
thickness = 2
width     = 420
height    = 100

  [[panel.hole]]
  at       = [150, 20]
  diameter = "bore"
  label    = "Höhe"
  [[panel.hole]]
  at       = [270, 80]
  diameter = "bore"
  [[panel.hole]]
  at       = [20, 50]
  diameter = 9
  [[panel.hole]]
  at       = [400, 50]
  diameter = 9
  [[panel.part]]
  part = "noval socket"
  at   = [60, 50]
  [[panel.d_hole]]
  at = [350, 50]
  diameter = 12.7
  across_flat = 11.7
  [[panel.text]]
  text  = "BASS"
  at    = [60, 20]
  depth = 0.15
"""
"""Divided in setups, with a cutter of its own, an engraved word and signs beyond ASCII."""

CUTTERS = """
format = 1
[[cutter]]
number       = 312
kind         = "end mill"
diameter     = 3
material     = "carbide"
flutes       = 2
twist        = "up"
flute_length = 12
stick_out    = 20
shank        = 3.175
point_angle  = 180
serves       = ["metal"]
source       = "measured"
"""

WORK = """
import contextlib, io, locale, os, sys
os.umask(int(sys.argv[1], 8))
job, out, sample, sizes = sys.argv[2:6]
if sys.argv[6] == "set":
    locale.setlocale(locale.LC_ALL, "")   # as a program with windows does that uses holewright as a library
from toolpaths import cli
def run(*words):
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            cli.main(words)
    except SystemExit as end:
        assert end.code == 0, words
one = ["--size", "wide", "--fit-strip"]
if sizes == "all":
    run("build", job, "-o", out + "/all", "--fit-strip", "--all-sizes")
    run("build", job, "-o", out + "/again", *one)    # now everything is warm
else:
    run("build", job, "-o", out + "/all/wide", *one)
run("build", job, "-o", out + "/pens", "--post", "pen", "--machine", "pen plotter", "--size", "wide")
run("simulate", job, "-o", out + "/page.html", "--size", "wide")
run("parts", "octal socket", "--svg", out + "/socket.svg")
run("new", out + "/amp")
if sample:
    run("build", sample, "-o", out + "/sample")
"""

KINDS = {".nc", ".svg", ".dxf", ".pdf", ".html", ".csv", ".json", ".toml"}


def held(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {str(place.relative_to(folder)): place.read_bytes() for place in folder.rglob("*") if place.is_file()}


def made(
    job: Path | str, out: Path | str, *, cwd: Path, sizes: str = "all", umask: str = "022", own_locale: bool = False,
    sample: str = "tone_control", python: tuple[str, ...] = (sys.executable,), **env: str,
) -> None:  # fmt: skip
    """All commands that write, in one process of their own, whose environment holds nothing else."""
    usual = {key: value for key, value in os.environ.items() if key in ("PATH", "SYSTEMROOT", "COVERAGE_PROCESS_START")}
    other = ROOT / f"sample_jobs/{sample}.toml" if sample else ""
    words = (umask, job, out, other, sizes, "set" if own_locale else "leave")
    command = [*python, "-c", WORK, *(str(word) for word in words)]
    done = subprocess.run(command, cwd=cwd, env=usual | env, capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr


def decimal_comma(folder: Path) -> dict[str, str]:
    """The environment of a locale that writes 2,5: one that is installed, or made here; else that of none."""
    known = subprocess.run(["locale", "-a"], capture_output=True, text=True).stdout.split()
    if (name := next((one for one in known if one.lower().startswith("de_de.utf")), None)) is not None:
        return {"LC_ALL": name}
    if shutil.which("localedef") and Path("/usr/share/i18n/locales/de_DE").exists():
        command = ["localedef", "-i", "de_DE", "-f", "UTF-8", str(folder / "de_DE.UTF-8")]
        subprocess.run(command, check=True, capture_output=True)
        return {"LC_ALL": "de_DE.UTF-8", "LOCPATH": str(folder)}
    return {}


def source_tree(folder: Path) -> tuple[tuple[str, ...], dict[str, str]]:
    """An interpreter that knows the source alone, never installed, with what it depends on beside it."""
    tree, others = folder / "tree", folder / "others"
    tree.mkdir()
    others.mkdir()
    shutil.copy(ROOT / "pyproject.toml", tree)
    for name in ("toolpaths", "postprocessors"):
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
    for place in Path(sysconfig.get_path("purelib")).iterdir():
        if "holewright" not in place.name and place.suffix != ".pth":
            (others / place.name).symlink_to(place)
    return (sys.executable, "-S"), {"PYTHONPATH": f"{tree}{os.pathsep}{others}"}


@pytest.mark.skipif(sys.platform == "win32", reason="links, umask and time zones as POSIX has them")
def test_the_same_job_gives_the_same_bytes_whatever_is_round_it(tmp_path: Path) -> None:
    """Every file of every command that writes is the same to the byte on repeated runs, with other hash seeds, locales
    (one with a decimal comma), time zones, dates for archives, umasks, working and output folders, by a relative path,
    an absolute one or a link with blanks and umlauts, for one size alone, and from a source tree never installed."""
    home = tmp_path / "plain"
    home.mkdir()
    (home / "plate.toml").write_text(JOB, encoding="utf-8")
    (home / "mine.toml").write_text(CUTTERS, encoding="utf-8")
    strange = tmp_path / "Gehäuse Nr. 2"
    strange.symlink_to(home)
    python, path = source_tree(tmp_path)

    made("plate.toml", "first", cwd=home, LC_ALL="C", TZ="UTC", PYTHONHASHSEED="0", SOURCE_DATE_EPOCH="1")
    first = held(home / "first")
    again = {name.replace("again/", "all/wide/"): first.pop(name) for name in list(first) if name.startswith("again/")}
    assert {Path(name).suffix for name in first} == KINDS
    assert {"all/wide/face.setup2.nc", "all/fit strip aluminium.dry.nc", "pens/face.pen-0.25.nc"} <= first.keys()
    assert again.keys() == {name for name in first if name.startswith("all/wide/")}
    assert differing(first, again) == []
    for name, text in first.items():
        assert str(tmp_path).encode() not in text, f"{name} says where it was made"

    made(
        strange / "plate.toml", tmp_path / "Ausgabe für Änne" / "zweite", cwd=tmp_path, sizes="wide", umask="077",
        own_locale=True, TZ="Pacific/Kiritimati", PYTHONHASHSEED="1", **decimal_comma(tmp_path),
    )  # fmt: skip
    made(
        os.path.relpath(strange / "plate.toml", tmp_path / "tree"), tmp_path / "third", cwd=tmp_path / "tree",
        sizes="wide", sample="", python=python, TZ="America/St_Johns", PYTHONHASHSEED="random", PYTHONUTF8="1", **path,
    )  # fmt: skip
    for place in (tmp_path / "Ausgabe für Änne" / "zweite", tmp_path / "third"):
        other = held(place)
        wanted = {name for name in first if name.startswith(("all/wide/", "pens/", "amp/"))}
        assert wanted <= other.keys() <= first.keys()
        assert differing(first, other) == []


def differing(first: dict[str, bytes], other: dict[str, bytes]) -> list[str]:
    """Files of the other that are not as in the first."""
    return [name for name, text in other.items() if first[name] != text]

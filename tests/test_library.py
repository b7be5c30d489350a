"""The five functions that a program of one's own imports."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import toolpaths
from toolpaths.errors import BadInput, UnknownName

ROOT = Path(__file__).resolve().parent.parent
SAMPLE = ROOT / "sample_jobs" / "headphone_amplifier.toml"

WORK = f"""
from toolpaths import *
import logging, sys, warnings
before = logging.root.manager.loggerDict.copy()
job = load({str(SAMPLE)!r})
planned = plan(job, panels=["rear"])
made = emit(job, panels=["rear"])
texts = {{file.path: file.content.decode() for file in made.files if file.facts["kind"] == "program"}}
found = verify(job, texts)
run = simulate(job, panels=["rear"])
assert planned.programs and made.files and run.setups and run.page()
assert not [one for one in found if one.severity == "error"]
assert not logging.root.handlers and logging.root.level == logging.WARNING and not logging.root.disabled
ours = [name for name in logging.root.manager.loggerDict if name.split(".")[0] in ("toolpaths", "postprocessors")]
assert not ours, ours
assert not [name for name, one in logging.root.manager.loggerDict.items() if getattr(one, "handlers", None)]
"""


def ran(code: str) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter in another folder."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code], env=environment, cwd=ROOT.parent, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def test_it_works_in_silence() -> None:
    """All five functions print nothing, and leave logging as they found it."""
    done = ran(WORK)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_importing_it_costs_nothing() -> None:
    """The package alone imports nothing of its own and of no other distribution until a function is asked for."""
    done = ran(
        "import sys; before = set(sys.modules); import toolpaths; more = set(sys.modules) - before\n"
        "print(sorted(name for name in more if name.split('.')[0] not in sys.stdlib_module_names))"
    )
    assert done.stdout == "['toolpaths']\n", done.stderr


@pytest.mark.parametrize("before", ["", "import toolpaths.plan.setup, toolpaths.verify.judge", "import toolpaths.cli"])
def test_plan_and_verify_are_functions_and_rooms(before: str) -> None:
    """``plan`` and ``verify`` can be called whatever was imported before, and their rooms are there as ever."""
    done = ran(
        f"{before}\nfrom toolpaths import plan, verify\nimport toolpaths.verify.judge as judge\n"
        "from toolpaths.plan.setup import plan_panel\n"
        "assert callable(plan) and callable(verify) and callable(judge.judge) and callable(plan_panel)\n"
        f"from toolpaths import load\nassert plan(load({str(SAMPLE)!r})).programs\n"
    )
    assert done.returncode == 0, done.stderr


def test_the_surface_is_what_is_documented() -> None:
    """``__all__`` is the five names, each with a docstring that names its errors, and nothing else can be had."""
    from toolpaths import library

    assert toolpaths.__all__ == sorted(["load", "plan", "emit", "verify", "simulate"])
    for name in toolpaths.__all__:
        assert "Raises" in getattr(library, name).__doc__
        assert callable(getattr(toolpaths, name))
    with pytest.raises(AttributeError, match="no attribute 'draw'"):
        toolpaths.draw  # noqa: B018


def test_readmes_example_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    """README's example of the library runs on the job that ``holewright new`` writes."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```$", readme, re.MULTILINE | re.DOTALL)
    (tmp_path / "bench_amp").mkdir()
    shutil.copy(ROOT / "toolpaths" / "job" / "starter.toml", tmp_path / "bench_amp" / "bench_amp.toml")
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)
    assert capsys.readouterr().out.startswith("rear [('A1',)")
    assert names["faults"] == [] and names["programs"] and names["minutes"] > 1
    assert [file.name for file in tmp_path.iterdir()] == ["bench_amp"]


def test_errors_are_raised_and_faults_are_told(tmp_path: Path) -> None:
    """What cannot be read raises with all its problems, an unknown name raises, a bad program is a finding."""
    bad = tmp_path / "bad.toml"
    bad.write_text('format = 1\nunits = "mm"\nwrong = 1\nworse = 2\n')
    with pytest.raises(BadInput) as caught:
        toolpaths.load(bad)
    assert len(caught.value.problems) >= 2
    job = toolpaths.load(str(SAMPLE), size=None, settings={}, machine="bench mill")
    with pytest.raises(UnknownName, match="no panel is called 'lid'"):
        toolpaths.emit(job, panels=["lid"])
    with pytest.raises(UnknownName, match="names no panel of the job; say which: top, rear"):
        toolpaths.verify(job, {"trial.nc": "M2\n"})
    assert [one.code for one in toolpaths.verify(job, {"trial.nc": "G9\n"}, panel="rear")] == ["unreadable"]

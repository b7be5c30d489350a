# ruff: noqa: E501 (a case is a line)
"""The nastiest cases in processes of their own, whose time and memory the system measures."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from tests.hostile import drawings, jobs, lists, options, programs, tables
from tests.hostile.case import Case, Link, Pipe, lay
from tests.hostile.refusal import assert_refused, tree

MOST_MEGABYTES = 500
MOST_SECONDS = 10

LIMITED = f"""
import resource, runpy, signal, sys
resource.setrlimit(resource.RLIMIT_CPU, ({MOST_SECONDS}, {MOST_SECONDS}))
signal.alarm(300)  # whoever waits for a pipe takes no time of the processor
sys.argv[0] = "holewright"
runpy.run_module("toolpaths", run_name="__main__", alter_sys=True)
"""
"""The command as ``python -m toolpaths`` runs it, but ended by the system where it goes on too long."""

NASTY = (
    "50 MB", "100,000 arrays in each other", "a key of 1,000,000 names", "200,000 keys", "a text of 4,000,000 letters",
    "40 names among 19,000 parameters", "materials: is 50 MB", "hand_tools: named as a loop of links",
    "printer: a scale of 16^6000", "parts: 100,000 parts without names", "a list: 201,000 rows", "a drawing: 10^14 circles by blocks in blocks", "a drawing: 10^9 copies of a block",
    "a drawing: 20,000 lines from one point", "a program: 200 MB", "a program: 100,000 lines without an end",
    "an option: -o over a manifest 100,000 deep",
)  # fmt: skip
_BY_NAME = {case.name: case for kind in (jobs, tables, lists, drawings, programs, options) for case in kind.CASES}

ENDLESS = [
    Case("a job that is a pipe", ("check", "job.toml"), ("job.toml: is no file",), {"job.toml": Pipe()}),
    Case("a job that never ends", ("check", "job.toml"), ("job.toml: is no file",), {"job.toml": Link("/dev/zero")}),
    Case("a machine that is a pipe", ("check", "job.toml", "--machine", "m.toml"), ("m.toml: is no file",), {"m.toml": Pipe()}),
    Case("cutters that never end", ("check", "job.toml", "--cutters", "c.toml"), ("c.toml: is no file",),
         {"c.toml": Link("/dev/zero")}),
    Case("a drawing that is a pipe", ("new", "x", "--from", "d.dxf"), ("d.dxf: no such file",), {"d.dxf": Pipe()}),
    Case("a program that is a pipe", ("verify", "job.toml", "p.nc"), ("p.nc: is no file",), {"p.nc": Pipe()}),
    Case("a program that never ends", ("verify", "job.toml", "p.nc"), ("p.nc: is no file",), {"p.nc": Link("/dev/zero")}),
]  # fmt: skip
PROCESSES: list[Case] = [*(_BY_NAME[name] for name in NASTY), *ENDLESS]


@pytest.mark.parametrize("case", PROCESSES, ids=[case.name for case in PROCESSES])
def test_a_process_refuses_in_time_and_memory(case: Case, tmp_path: Path) -> None:
    """Refused as in this process, by a command of its own, within 10 s of the processor and 500 MB of memory."""
    shop, outside = tmp_path / "shop", tmp_path / "said"
    shop.mkdir()
    lay(case.everything, shop)
    before = tree(tmp_path)
    root = str(Path(__file__).resolve().parents[2])
    with outside.open("wb") as said:
        command = [sys.executable, "-c", LIMITED, *case.command]
        path = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
        child = os.posix_spawn(
            "/bin/sh", ["sh", "-c", 'cd "$0" && exec "$@"', str(shop), *command],
            {**os.environ, "PYTHONPATH": path, "PYTHONIOENCODING": "utf-8"},
            file_actions=[(os.POSIX_SPAWN_DUP2, said.fileno(), 1), (os.POSIX_SPAWN_DUP2, said.fileno(), 2)],
        )  # fmt: skip
        _, ended, used = os.wait4(child, 0)
    text = outside.read_text("utf-8")
    outside.unlink()
    assert_refused(case, os.waitstatus_to_exitcode(ended), text)
    assert tree(tmp_path) == before
    assert used.ru_maxrss / 1024 <= MOST_MEGABYTES
    assert used.ru_utime + used.ru_stime <= MOST_SECONDS

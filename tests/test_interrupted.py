"""Commands that are killed, hindered or crowded, as real processes: nothing is ever left half, nothing of ours is left
over, and nothing of the user's is touched."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals, forks and permissions as POSIX has them")


def told(part: str, folder: Path) -> dict[str, Any]:
    """What a part of ``tests/interrupted`` tells after its work in a folder."""
    command = [sys.executable, "-m", f"tests.interrupted.{part}", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, env=os.environ | {"LC_ALL": "C"})
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def test_killed_at_any_step_the_next_command_finds_the_earlier_output_or_the_new_one(tmp_path: Path) -> None:
    """After SIGKILL at steps all over a build, a new job, a page or a picture, the next command leaves the earlier
    state or the new one, whole, with what is the user's, and nothing else."""
    answer = told("killed", tmp_path)
    assert answer["faults"] == []
    assert sum(answer["kills"].values()) >= 70 and all(answer["kills"].values())


def test_a_command_that_cannot_write_says_so_in_one_line_and_changes_nothing(tmp_path: Path) -> None:
    """A full disk, a limit, a folder that may not be written and Ctrl-C give one line and their status; the folder is
    as it was; the next command is whole."""
    answer = told("hindered", tmp_path)
    assert answer["faults"] == []
    kinds = {"a rebuild", "a first build", "a page", "a new job", "Ctrl-C", "a limit", "read-only"}
    assert set(answer["cases"]) == kinds


def test_builds_at_the_same_time_do_not_mix(tmp_path: Path) -> None:
    """Of builds at once into one folder, or into it and one of its sizes, a whole one is left; whoever reads meanwhile
    sees a manifest only over what it lists; one that is stopped holds the folder, and others say so and leave it."""
    answer = told("crowded", tmp_path)
    assert answer["faults"] == []
    assert answer["builds"] >= 72 and answer["whole"] > 0

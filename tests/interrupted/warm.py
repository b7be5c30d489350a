"""Real processes that are cut short: forked from this one, which is warm and has made what a small job gives already.

A command runs in a process of its own, from its arguments to its exit status. At the step that is named (the opening of
a file to write, the wait for the disk, a move, a removal, a folder made or removed) something happens to it: it is
killed or stopped for real, interrupted as by Ctrl-C, or the disk is full or read-only from then on.
"""

from __future__ import annotations

import contextlib
import errno
import gc
import io
import json
import os
import signal
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from toolpaths import cli, holding, pipeline

JOB = """
format  = 1
title   = "Test plate"
units   = "mm"
machine = "small router"

[parameters]
bore = 5

[sizes.small]
bore = 4
[sizes.wide]
bore = 6

[[panel]]
name      = "plate"
material  = "aluminium"
thickness = 2
width     = 70
height    = 50

  [[panel.hole]]
  at       = [15, 20]
  diameter = "bore"

  [[panel.hole]]
  at       = [50, 30]
  diameter = 4.2
"""

CHANGES = frozenset({"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.truncate"})

Tree = dict[str, bytes | str]


def tree(root: Path) -> Tree:
    """Everything below a folder: files with their content, links with where they lead, folders."""
    found: Tree = {}
    for place in sorted(root.rglob("*")):
        name = str(place.relative_to(root))
        if place.is_symlink():
            found[name] = f"link to {os.readlink(place)}"
        else:
            found[name] = "folder" if place.is_dir() else place.read_bytes()
    return found


def plant(root: Path, content: Tree) -> None:
    """Make a folder hold what ``tree`` has found elsewhere."""
    root.mkdir(parents=True)
    for name, what in content.items():
        if isinstance(what, bytes):
            (root / name).write_bytes(what)
        elif what == "folder":
            (root / name).mkdir()
        else:
            (root / name).symlink_to(what.removeprefix("link to "))


def broken(root: Path) -> list[str]:
    """Files that a manifest below a folder lists and that do not lie there as it says."""
    wrong = []
    for place in root.rglob("manifest.json"):
        if in_a_work_folder(place, root):
            continue
        for file in json.loads(place.read_bytes())["files"]:
            path = place.parent / file["path"]
            if not path.is_file() or sha256(path.read_bytes()).hexdigest() != file["sha256"]:
                wrong.append(str(path.relative_to(root)))
    return wrong


def in_a_work_folder(place: Path, root: Path) -> bool:
    """Whether something lies in a work folder."""
    return any("holewright" in part for part in place.relative_to(root).parts)


@dataclass(frozen=True)
class Ended:
    """How a command ended: its status (negative: the signal that killed it), what it said, how many steps it took."""

    status: int
    out: str
    err: str
    steps: int


@dataclass
class Steps:
    """Counts the changes that this process makes on the disk; at one of them, ``how`` happens."""

    at: int = 0
    how: str = "nothing"
    count: int = 0
    report: int = -1

    def arm(self) -> None:
        """For the rest of the process."""

        def fsync(file: int) -> None:
            self.step("fsync", str(file))  # without waiting: what a killed process has written stays written

        os.fsync = fsync

        def hook(event: str, arguments: tuple[Any, ...]) -> None:
            if event in CHANGES:
                self.step(event, str(arguments[0]))
            elif event == "open" and isinstance(arguments[2], int):
                path, _, flags = arguments
                if flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT) and not str(path).startswith("/dev/"):
                    self.step("create", str(path))

        sys.addaudithook(hook)

    def step(self, event: str, path: str) -> None:
        self.count += 1
        if self.report >= 0:
            os.pwrite(self.report, str(self.count).encode(), 0)
        if self.how in ("full", "read-only"):
            takes_room = event in ("create", "fsync", "os.mkdir")
            if self.count >= self.at and (takes_room or self.how == "read-only"):
                number = errno.ENOSPC if self.how == "full" else errno.EROFS
                raise OSError(number, os.strerror(number), path)
        elif self.count == self.at:
            if self.how == "kill" and event == "fsync":  # what was written has come to the disk by half
                os.ftruncate(int(path), os.fstat(int(path)).st_size // 2)
            numbers = {"kill": signal.SIGKILL, "stop": signal.SIGSTOP, "interrupt": signal.SIGINT}
            os.kill(os.getpid(), numbers[self.how])


def ended(command: Sequence[str]) -> int:
    """Run a command in this process; its exit status."""
    try:
        cli.main(command)
    except SystemExit as end:
        return int(end.code or 0)
    raise AssertionError("a command ends with SystemExit")


class Warm:
    """The warm process, with a folder to work in."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()
        self.said = self.root / "said"
        self.said.mkdir()
        self.temporary = self.root / "tmp"
        self.temporary.mkdir()
        os.environ["TMPDIR"] = str(self.temporary)
        (self.root / "plate.toml").write_text(JOB)
        self.job = str(self.root / "plate.toml")
        self.number = 0
        made: dict[str, pipeline.Made] = {}
        make = pipeline.make

        def remembered(job: Any, *, report: object = None, **options: Any) -> pipeline.Made:
            key = repr((job.name, job.size, job.parameters, sorted(options.items())))
            if key not in made:
                made[key] = make(job, **options)
            return made[key]

        pipeline.make = remembered  # type: ignore[assignment]

    def here(self, *arguments: str) -> None:
        """Run a command in this process, so that it is warm."""
        with contextlib.redirect_stdout(io.StringIO()):
            assert ended(arguments) == 0

    def start(
        self,
        *arguments: str,
        at: int = 0,
        how: str = "nothing",
        before: Callable[[], None] | None = None,
        times: int = 1,
        counted: bool = True,
    ) -> int:
        """Start a command, or the same so many times, as long as it succeeds; gives its process."""
        self.number += 1
        files = [self.said / f"{self.number}.{kind}" for kind in ("out", "err", "steps")]
        gc.freeze()  # what is there stays shared with the new process
        process = os.fork()
        if process:
            return process
        gc.disable()
        try:
            signal.signal(signal.SIGINT, signal.default_int_handler)
            flags = os.O_RDWR | os.O_CREAT
            out, err, report = (os.open(file, flags) for file in files)
            os.dup2(out, 1)
            os.dup2(err, 2)
            sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
            if before is not None:
                before()
            Steps(at, how, report=report if counted else -1).arm()
            for command in [arguments] * times:
                status = ended(command)
                if status:
                    os._exit(status)
            os._exit(0)
        except BaseException:
            traceback.print_exc()
            sys.stderr.flush()
        os._exit(99)

    def wait(self, process: int, number: int = 0) -> Ended:
        """Wait for a command to end; ``number``: which one it was (0: the last that was started)."""
        _, status = os.waitpid(process, 0)
        files = (self.said / f"{number or self.number}.{kind}" for kind in ("out", "err", "steps"))
        out, err, steps = (file.read_text() for file in files)
        return Ended(os.waitstatus_to_exitcode(status), out, err, int(steps or 0))

    def run(self, *arguments: str, **options: Any) -> Ended:
        """Start a command and wait for it."""
        return self.wait(self.start(*arguments, **options))

    def fresh(self, content: Tree | None = None) -> Path:
        """A new folder, with that in it, in a folder of its own."""
        self.number += 1
        place = self.root / f"case {self.number}"
        place.mkdir()
        if content is not None:
            plant(place / "out", content)
        return place


def spread(total: int, most: int) -> Iterator[int]:
    """Steps from 1 to the last, all or so many of them, evenly."""
    many = min(total, most)
    yield from sorted({1 + round(n * (total - 1) / max(1, many - 1)) for n in range(many)})


def impatient() -> None:
    """Wait for nobody."""
    holding.PATIENCE = 0.0

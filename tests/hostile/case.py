"""What a hostile case is: files typed by hand, a command, and what its refusal must say."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

JOB = """\
format = 1
title = "bench amplifier"
units = "mm"
machine = "small router"

[parameters]
pitch = 10
edge = "2*pitch"

[sizes.wide]
pitch = 12

[[panel]]
name = "top"
material = "aluminium"
thickness = 2
width = 100
height = 60

[[panel.hole]]
at = [20, "edge"]
diameter = 5
label = "one"
"""
"""A job that has nothing wrong with it; each case spoils it in one place."""


@dataclass(frozen=True)
class Link:
    """A symbolic link to ``to``, as it is written there."""

    to: str


@dataclass(frozen=True)
class Holes:
    """A file of so many bytes that holds nothing, and takes no room on the disk."""

    size: int


class Folder:
    """An empty folder."""


class Pipe:
    """A pipe that nobody writes to: whoever opens it to read waits for ever."""


Content = str | bytes | Link | Holes | Folder | Pipe


@dataclass(frozen=True)
class Case:
    """``command`` is typed in the folder of ``files``; some one line of what it says must hold all of ``told``.

    ``job.toml`` is the job above where a case gives no other.
    """

    name: str
    command: tuple[str, ...]
    told: tuple[str, ...]
    files: Mapping[str, Content] = field(default_factory=dict)
    status: int = 2

    @property
    def everything(self) -> dict[str, Content]:
        return {"job.toml": JOB, **self.files}


def spoiled(old: str, new: str, job: str = JOB) -> str:
    """The job with one place spoiled; the place must be there once."""
    assert job.count(old) == 1, old
    return job.replace(old, new)


def line_spoiled(old: str, new: str, text: str) -> int:
    """The line, from 1, on which ``new`` begins to differ from ``old``, whose place it has taken in a text."""
    same = next((n for n, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new)))
    same += new.startswith("\n", same)
    return text.count("\n", 0, text.index(new) + same) + 1


def in_job(name: str, old: str, new: str, key: str, said: str = "") -> Case:
    """The job with ``old`` spoiled to ``new``: told with the line on which that stands, and with its ``key``."""
    text = spoiled(old, new)
    place = f"job.toml:{line_spoiled(old, new, text)}: " if new else "job.toml:"
    return Case(name, ("check", "job.toml"), (f"{place}{key}" if new else place, key, said), {"job.toml": text})


def below_job(name: str, more: str, key: str, said: str = "") -> Case:
    """The job with ``more`` tables at its end, the first line of which spoils it."""
    text = JOB + more
    return Case(name, ("check", "job.toml"), ("job.toml:", key, said), {"job.toml": text})


def lay(files: Mapping[str, Content], folder: Path) -> None:
    """Writes the files of a case into an empty folder."""
    for name, content in files.items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        match content:
            case str():
                place.write_bytes(content.encode("utf-8"))
            case bytes():
                place.write_bytes(content)
            case Link():
                place.symlink_to(content.to)
            case Holes():
                with place.open("wb") as stream:
                    stream.truncate(content.size)
            case Folder():
                place.mkdir()
            case Pipe():
                os.mkfifo(place)

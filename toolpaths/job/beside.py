"""Files that a job names: they lie in the job's folder or below it, links resolved."""

from __future__ import annotations

from pathlib import Path, PureWindowsPath

from toolpaths.job.problems import Problems
from toolpaths.tables.toml_file import Place, shown


def checked_file(problems: Problems, place: Place, folder: Path, name: str) -> Path | None:
    """A file in the job's ``folder`` or below it, links resolved; None with the problem noted."""
    parts = name.replace("\\", "/").split("/")
    if name.startswith(("/", "\\", "~")) or PureWindowsPath(name).drive or ".." in parts or "\0" in name:
        problems.add(place, f"is {shown(name)}", "name a file in the job's folder or below it")
        return None
    home = folder.resolve()
    try:
        found = (home / name).resolve()
        there = found.is_file()
    except (OSError, RuntimeError) as error:  # a name that is too long; links that lead in a circle
        why = (error.strerror if isinstance(error, OSError) else None) or "its links lead in a circle"
        problems.add(place, f"{shown(name)} cannot be found: {why}", "name a file in the job's folder or below it")
        return None
    if not found.is_relative_to(home):
        problems.add(place, f"{shown(name)} leads out of the job's folder", "name a file in it or below it")
        return None
    if not there:
        problems.add(place, f"no file {shown(name)} in the job's folder", "check the name")
        return None
    return found

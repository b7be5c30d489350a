"""One random job tried: read, built, its texts verified as the command does it, and judged by the tests' own rules."""

from __future__ import annotations

import contextlib
import io
import random
import tempfile
import traceback
from dataclasses import dataclass, field
from pathlib import Path

from tests.random_jobs.jobs import Whole
from tests.random_jobs.own_shapes import drawn_on
from tests.random_jobs.refusals import Case, wrong_refusals
from tests.random_jobs.soundness import faults_of, missed, moves_of
from toolpaths import cli, pipeline
from toolpaths.errors import BadInput
from toolpaths.finding import CODES, has_errors
from toolpaths.job.load import read_job

CODES_OF_PROGRAMS = frozenset(list(CODES)[list(CODES).index("unreadable") :])
"""Findings about a program: of a program of our own making none may ever be said."""


@dataclass
class Tried:
    """What became of a job: ``built``, ``refused`` with its codes, or ``unread``; and all that is wrong about that."""

    became: str
    codes: tuple[str, ...] = ()
    wrong: list[str] = field(default_factory=list)
    programs: int = 0


def tried(whole: Whole, by_command: bool = True) -> Tried:
    """Tries a job; ``by_command``: its programs go through the command ``verify`` too, as files."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "job.toml")
        place.write_text(whole.text, encoding="utf-8")
        for name, content in whole.files.items():
            Path(folder, name).write_bytes(content)
        try:
            return _tried(whole, place, by_command)
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{Path(last.filename).name}:{last.lineno}"
            return Tried("broken", wrong=[f"{type(error).__name__} in {where}: {str(error)[:200]}"])


def _tried(whole: Whole, place: Path, by_command: bool) -> Tried:
    try:
        job = read_job(place, size=whole.size)
    except BadInput as error:
        return Tried("unread", (str(error).split("\n")[0],))
    try:
        made = pipeline.make(
            job, posts=whole.posts, fit_strip=whole.fit_strip, marks=whole.marks, paper=whole.paper
        )
    except BadInput as error:
        ours = "pen" in whole.posts and job.machine.pen is None
        return Tried("refused", ("bad input",), [] if ours else [f"bad input of a build: {error}"])
    wrong = [f"{one.code}: {one.message}" for one in made.findings if one.code in CODES_OF_PROGRAMS]
    if bool(made.files) == has_errors(made.findings):
        wrong.append("files and errors, or neither")
    errors = tuple(dict.fromkeys(one.code for one in made.findings if one.severity == "error"))
    if errors:
        return Tried("refused", errors, wrong + wrong_refusals(Case(job, whole.files, made.findings, whole.fit_strip)))
    programs = [file for file in made.files if file.facts.get("kind") == "program"]
    for panel in job.panels:
        drawn = drawn_on(panel, whole.files)
        wrong += missed(panel, drawn)
        moves = moves_of(job, panel, made.files)
        if moves:
            seed = random.Random(whole.text).randrange(2**32)
            wrong += [f"{panel.name}: {fault}" for fault in faults_of(job, panel, drawn, moves, seed)]
    if by_command:
        wrong += _verified(place, whole.size, made)
    return Tried("built", wrong=wrong, programs=len(programs))


def _verified(place: Path, size: str | None, made: pipeline.Made) -> list[str]:
    """What the command says of the written programs, air passes and pin holes: each panel's programs together."""
    wrong = []
    together: dict[str, list[str]] = {}
    for file in made.files:
        kind = file.facts.get("kind")
        if kind not in ("program", "dry run", "pin holes") or ".pen-" in file.path:
            continue
        place.with_name(file.path).write_bytes(file.content)
        call = str(file.facts["panel"]) if kind == "program" else file.path
        together.setdefault(call, []).append(file.path)
    for names in together.values():
        files = [str(place.with_name(name)) for name in names]
        arguments = ["verify", str(place), *files, *(["--size", size] if size else []), "--quiet"]
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            try:
                cli.main(arguments)
                status: object = 0
            except SystemExit as end:
                status = end.code
        if status:
            wrong.append(f"verify {' '.join(names)} gives {status}: {said.getvalue()[:300]}")
    return wrong

"""What a build leaves in its folder, and how it gets there without ever leaving half of it.

New files are first written to a work folder in the output folder, so that they are on its file system and nothing is
asked of the folder above; a journal there then says what is to be moved out and in. From the journal on, an interrupted
swap can be completed (``recover``), and a failing one is undone. Old manifest out first, new manifest in last: where a
manifest stands, every file that it lists is in its place. Whoever swaps or recovers holds the work folder.

Several sizes of a job are one swap: the base lies in the folder, each size in a folder of that name below it, and one
journal speaks of all their files. So an interrupted build of all sizes is completed or undone as a whole, too. Whoever
builds all sizes first holds the folder, then waits for those who build one size below it; whoever builds one size first
holds its folder, then looks whether the one above is held, and if so lets go and waits. So they never both swap.

A file is *ours* while the manifest lists it and its hash still agrees. Everything else belongs to the user, an edited
program as well: it is never moved, changed or removed. Where a new file would need its place, the build refuses.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import re
import shutil
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any, Final, Literal

from toolpaths.errors import CannotWrite
from toolpaths.finding import Finding
from toolpaths.holding import Held, holding, is_held, tries

FORMAT = 1
MANIFEST = "manifest.json"
JOURNAL = "swap.json"
DRAFT = f"{JOURNAL}.draft"
MAKER = "holewright"
WORK = f".{MAKER}-swap"


@dataclass(frozen=True, slots=True)
class OutputFile:
    """One file to leave: ``path`` relative, with ``/``; ``facts`` are its manifest keys but for path and sha256."""

    path: str
    content: bytes
    facts: dict[str, object]


@dataclass(frozen=True, slots=True)
class Build:
    """What one size leaves: ``below`` is its folder within the output folder, '' the output folder itself.

    ``heading`` holds the manifest's ``job``, ``title``, ``size`` (None: the base) and ``machine``.
    """

    below: str
    files: tuple[OutputFile, ...]
    heading: dict[str, object]
    findings: tuple[Finding, ...]

    @property
    def everything(self) -> list[OutputFile]:
        """Its files and, last, their manifest."""
        listing = manifest(self.files, self.heading, self.findings)
        return [*self.files, OutputFile(MANIFEST, listing, {})]

    @property
    def paths(self) -> list[str]:
        """Where its files and its manifest come to lie within the output folder."""
        return [_joined(self.below, path) for path in (*(file.path for file in self.files), MANIFEST)]


def version() -> str:
    """The version of the installed distribution, or of the source tree; ``0`` where neither says one."""
    import tomllib
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed(MAKER)
    except PackageNotFoundError:
        pass
    try:
        project = tomllib.loads((Path(__file__).parent.parent / "pyproject.toml").read_text("utf-8"))["project"]
    except (OSError, ValueError, LookupError):
        return "0"
    return str(project["version"]) if project.get("name") == MAKER else "0"


# names of files ------------------------------------------------------------------------------------------------------


def file_name(panel_name: str) -> str:
    """A panel's name as the stem of its files. Names that a job may hold stay as they are.

    >>> file_name("rear panel-2"), file_name("a/b")
    ('rear panel-2', 'a_b')
    """
    return re.sub(r"[^A-Za-z0-9 _-]", "_", panel_name)


PEN: Final = ".pen-"
"""In the name of a program for a pen, before the width of its line."""

DRY: Final = ".dry"
"""Before the ending in the name of an air pass."""


def is_dry_run(program: str) -> bool:
    """Whether a file is by its name an air pass.

    >>> is_dry_run("made/rear.dry.nc"), is_dry_run("made/dry.nc")
    (True, False)
    """
    return PurePosixPath(program).stem.lower().endswith(DRY)


def is_for_a_pen(program: str) -> bool:
    """Whether a file is by its name a program for a pen.

    >>> is_for_a_pen("made/rear.p2.pen-0.25.nc"), is_for_a_pen("made/rear.nc")
    (True, False)
    """
    return re.search(r"\.pen-[\d.]+\.[^.]*$", PurePosixPath(program).name, re.IGNORECASE) is not None


def panel_of(program: str, names: Iterable[str]) -> str | None:
    """The panel that a program's file name names (``PANEL[.setupN][.tN].nc``, ``PANEL.pins.nc``), or None.

    >>> panel_of("rear.setup2.t3.nc", ["front", "rear"]), panel_of("old rear.nc", ["front", "rear"])
    ('rear', None)
    """
    ending = r"(\.setup\d+|\.pins)?(\.t\d+(-\d+)?|\.dry|(\.marks)?(\.p\d+)?\.pen-[\d.]*\d)?(\.[^.]*)?$"
    stem = re.sub(ending, "", PurePosixPath(program).name, count=1, flags=re.IGNORECASE)
    return next((name for name in names if file_name(name).lower() == stem.lower()), None)


def setup_of(program: str) -> int | None:
    """The setup that a program's file name names: from 1, 0 for the pin holes of all setups; None where it names none.

    >>> setup_of("made/rear.setup2.t3.nc"), setup_of("rear.pins.nc"), setup_of("rear.t3.nc")
    (2, 0, None)
    """
    found = re.search(r"\.(?:setup(\d+)|(pins))(?=\.)", PurePosixPath(program).name, flags=re.IGNORECASE)
    return None if found is None else int(found[1] or 0)


# the manifest --------------------------------------------------------------------------------------------------------


def finding_facts(finding: Finding) -> dict[str, object]:
    """A finding as manifest and ``--json`` hold it; ``line`` only where it is about a program's text."""
    facts: dict[str, object] = {
        "severity": finding.severity,
        "code": finding.code,
        "panel": finding.panel,
        "feature": finding.feature,
        "message": finding.message,
    }
    return facts | {"line": finding.line} if finding.line else facts


def manifest(files: Sequence[OutputFile], heading: dict[str, object], findings: Iterable[Finding]) -> bytes:
    """The text of ``manifest.json``: UTF-8, LF, files in the order given.

    ``heading`` holds ``job``, ``title``, ``size`` (None: the base) and ``machine``.
    """
    made_by = {"name": MAKER, "version": version()}
    rows = [{"path": file.path, "sha256": sha256(file.content), **file.facts} for file in files]
    content = {"format": FORMAT, "made_by": made_by, **heading, "files": rows}
    content["findings"] = [finding_facts(finding) for finding in findings]
    return (json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()


def sha256(content: bytes) -> str:
    """The hash as the manifest writes it: 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


# the swap ------------------------------------------------------------------------------------------------------------


def write_folder(
    folder: Path, files: Sequence[OutputFile], heading: dict[str, object], findings: Iterable[Finding]
) -> None:
    """Leave exactly ``files`` and their manifest in ``folder``, beside whatever the user keeps there.

    Files of an earlier build that are no longer made are removed while they are as we wrote them. Raises
    ``CannotWrite``, with the folder as it was, where it cannot be written or a file of the user's is in the way.
    """
    write_builds(folder, [Build("", tuple(files), heading, tuple(findings))])


def write_builds(folder: Path, builds: Sequence[Build]) -> None:
    """Leave each build in its place in ``folder``, all of them or none; else as ``write_folder``."""
    for build in builds:
        _refuse_bad_paths(build)
    files = [(build.below, file) for build in builds for file in build.everything]
    # All old manifests go first and all new ones come last: none ever stands over files that are not in their place.
    ordered = sorted(files, key=lambda pair: pair[1].path == MANIFEST)
    placed = [replace(file, path=_joined(below, file.path)) for below, file in ordered]
    swap = _Swap.within(folder)
    if swap.folder.exists() and not swap.folder.is_dir():
        raise CannotWrite(f"{swap.folder}: is a file; name a folder with -o")
    recover(folder)
    missing = _missing_parents(swap.folder)
    try:
        with swap.held():
            swap.settle()
            for size in swap.beneath():
                size.tidy(asked_from_above=True)
            for build in builds:
                _refuse_what_is_no_folder(folder, build.below)
            swap.run(placed, [build.below for build in builds], bool(missing))
    except OSError as error:
        _remove_empty(missing)
        raise CannotWrite(f"{folder}: {_reason(error)}; the folder is as it was") from error
    except BaseException:
        _remove_empty(missing)
        raise


def recover(folder: Path) -> None:
    """Complete or undo what an interrupted build left behind; does nothing where there is nothing.

    Looks into ``folder``, into those below it, and, for ``folder`` may be one size of a job whose sizes were built
    together, into the one above it. Waits for a build that moves files there now; raises ``CannotWrite`` where it takes
    too long, or where what was left cannot be tidied.
    """
    swap = _Swap.within(folder)
    above = swap.above
    if above is not None and (above.speaks_of(swap.folder.name) or above.is_waste()):
        above.tidy()
    swap.tidy()
    for size in swap.beneath():
        size.tidy()


def write_file(place: Path, content: bytes) -> None:
    """Leave one file, whole or not at all: it is written beside its place and moved there when it is on the disk.

    What is no plain file (a pipe) is simply written to. Raises ``CannotWrite`` where another command writes that file
    now, OSError where it cannot be written.
    """
    real = Path(os.path.realpath(place))
    if real.exists() and not real.is_file():
        real.write_bytes(content)
        return
    if not real.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(place))
    work = real.with_name(f".{real.name}.{MAKER}")
    draft = work / "new"
    try:
        with holding(work):
            try:
                _write_through(draft, content)
                if real.exists():
                    shutil.copymode(real, draft)
                os.replace(draft, real)
            finally:
                draft.unlink(missing_ok=True)
    except Held as error:
        raise CannotWrite(f"{place}: another command writes it now; wait for that, or name another file") from error


def write_new(folder: Path, files: dict[str, bytes], others: dict[str, bytes]) -> None:
    """Leave ``files`` in a folder, all or none, the first of them last: whoever sees it sees all that it reads.

    Beside it ``others``, unless files of their names are there. Raises ``CannotWrite`` where one of ``files`` is there
    already; but for the first, one that is the same to the byte is taken to be left by a killed command.
    """
    swap = _Swap.within(folder)
    missing = _missing_parents(swap.folder)
    made: list[Path] = []
    try:
        with swap.held():
            swap.settle()
            wanted = _not_yet(folder, files, others)
            try:
                for name, content in wanted.items():
                    _write_through(swap.work / "new" / name, content)
                for name in wanted:
                    os.replace(swap.work / "new" / name, folder / name)
                    made.append(folder / name)
            finally:
                swap.settle()
    except BaseException as error:
        for place in made:
            with suppress(OSError):
                place.unlink()
        _remove_empty(missing)
        if isinstance(error, OSError):
            raise CannotWrite(f"{folder}: {_reason(error)}") from error
        raise


def _not_yet(folder: Path, files: dict[str, bytes], others: dict[str, bytes]) -> dict[str, bytes]:
    """What is to be written, in its order: ``others`` first, and the first of ``files`` last."""
    first = next(iter(files))
    wanted = {name: content for name, content in others.items() if not os.path.lexists(folder / name)}
    for name, content in reversed(files.items()):
        place = folder / name
        if not os.path.lexists(place):
            wanted[name] = content
        elif name == first or _hash_of(place) != sha256(content):
            raise CannotWrite(f"{place}: is there already and stays as it is; name another folder")
    return wanted


def _joined(below: str, path: str) -> str:
    return f"{below}/{path}" if below else path


def _refuse_bad_paths(build: Build) -> None:
    """Paths are ours to choose, so a bad one is a defect and not the user's mistake."""
    seen = {MANIFEST}
    if build.below and not _is_safe(build.below):
        raise ValueError(f"output folder {build.below!r} is unsafe")
    for file in build.files:
        if not _is_safe(file.path) or file.path.lower() in seen:
            raise ValueError(f"output path {file.path!r} is unsafe or stands twice")
        seen.add(file.path.lower())


def _refuse_what_is_no_folder(folder: Path, below: str) -> None:
    """A size's folder is never a link: beside a link is not beside the folder, and a swap stays on one file system."""
    place = folder / below
    if below and os.path.lexists(place) and (place.is_symlink() or not place.is_dir()):
        raise CannotWrite(f"{place}: is not a plain folder; move it away, or name another folder with -o")


def _is_safe(path: str) -> bool:
    parts = PurePosixPath(path).parts
    return bool(parts) and not path.startswith("/") and ".." not in parts and "\\" not in path and ":" not in path


@dataclass(frozen=True, slots=True)
class _Journal:
    """What a swap moves: ``out`` and ``into`` map paths to hashes, in order.

    ``created`` are the folders that were not there before, within the output folder ('.': itself), deepest first.
    """

    state: Literal["forward", "undo"]
    out: dict[str, str]
    into: dict[str, str]
    created: tuple[str, ...]


class _InTheWay(Exception):
    """A file of the user's stands where one of ours is to go."""


@dataclass(frozen=True, slots=True)
class _Swap:
    """The output folder, and the work folder in it with ``new/``, ``old/`` and the journal."""

    folder: Path
    work: Path

    @staticmethod
    def within(folder: Path) -> _Swap:
        real = Path(os.path.realpath(folder))  # one folder has one work folder, whichever link leads there
        return _Swap(real, real / WORK)

    @property
    def above(self) -> _Swap | None:
        """That of the folder above, if there is one."""
        return None if self.folder.parent == self.folder else _Swap.within(self.folder.parent)

    def beneath(self) -> list[_Swap]:
        """Those of folders below where something lies to be tidied, or a build is at work."""
        if not self.folder.is_dir():
            return []
        found = sorted(place.parent for place in self.folder.glob(f"*/{WORK}") if place.is_dir())
        return [_Swap.within(place) for place in found if not place.is_symlink()]

    # -- the whole way

    @contextmanager
    def held(self) -> Iterator[None]:
        """Nobody else swaps or recovers here meanwhile, neither this folder alone nor it with others."""
        above = self.above
        try:
            for _ in tries():
                if above is not None and above.speaks_of(self.folder.name):
                    above.tidy()
                with holding(self.work):
                    if above is None or not (is_held(above.work) or above.speaks_of(self.folder.name)):
                        yield
                        return
        except Held as error:
            cure = "wait for it, or name another folder with -o"
            raise CannotWrite(f"{self.folder}: is held by another build; {cure}") from error

    def run(self, files: Sequence[OutputFile], places: Sequence[str], first: bool) -> None:
        """``first``: the folder was not there before it was held."""
        out = self._ours(places)
        into = {file.path: sha256(file.content) for file in files}
        self._refuse_what_is_in_the_way(out, into)
        try:
            self._stage(files)
            created = (*self._not_there(into), *(["."] if first else []))
            self._write_journal(_Journal("forward", out, into, created))
        except BaseException:
            self._discard()
            raise
        try:
            self._forward(self._read_journal())
        except BaseException as error:
            self._undo_or_say(error)
            if isinstance(error, _InTheWay):
                raise CannotWrite(
                    f"{self.folder}: {error} appeared there meanwhile; the folder is as it was"
                ) from error
            raise
        self._discard()

    def is_waste(self) -> bool:
        """Whether a build was killed here before it moved anything."""
        return self.work.is_dir() and not (self.work / JOURNAL).exists() and not is_held(self.work)

    def speaks_of(self, name: str) -> bool:
        """Whether a journal waits here that moves files of the folder ``name`` below."""
        try:
            journal = self._read_journal()
        except (OSError, ValueError):
            return False
        return any(path.startswith(f"{name}/") for path in (*journal.out, *journal.into))

    def tidy(self, asked_from_above: bool = False) -> None:
        """Complete or undo what lies here. ``asked_from_above``: by one who holds the folder above."""
        try:
            if self.work.is_symlink() or not self.work.is_dir():
                return
            with holding(self.work) if asked_from_above else self.held():
                was_made = self.settle()
        except Held as error:
            raise CannotWrite(f"{self.folder}: is held by another build; wait for it") from error
        except OSError as error:
            raise self._untidy(error) from error
        if was_made:
            _remove_empty([self.folder])

    def settle(self) -> bool:
        """Complete or undo what lies here, while it is held; whether the folder is to go too once it is let go."""
        try:
            if not (self.work / JOURNAL).exists():
                self._discard()
                return False
            journal = self._read_journal()
            if journal.state == "forward":
                with suppress(_InTheWay):
                    self._forward(journal)
                    self._discard()
                    return False
            self._undo(journal)
            return "." in journal.created
        except (OSError, ValueError) as error:
            raise self._untidy(error) from error

    def _untidy(self, error: Exception) -> CannotWrite:
        what = f"what an interrupted build left in {self.work} cannot be tidied"
        return CannotWrite(f"{self.folder}: {what}: {_reason(error)}")

    # -- its steps

    def _ours(self, places: Sequence[str]) -> dict[str, str]:
        """Files of the old manifests that are still as we wrote them, the manifests first."""
        manifests: dict[str, str] = {}
        listed: dict[str, str] = {}
        for place in places:
            path = _joined(place, MANIFEST)
            if not os.path.lexists(self.folder / path):
                continue
            old = _read_manifest(self.folder / path)
            if old is None:
                where, cure = self.folder / path, "move it away, or name another folder with -o"
                raise CannotWrite(f"{where}: is not a manifest of {MAKER}; {cure}")
            manifests[path] = _hash_of(self.folder / path) or ""
            within = {_joined(place, name): digest for name, digest in old.items()}
            listed |= {name: digest for name, digest in within.items() if _hash_of(self.folder / name) == digest}
        return manifests | listed

    def _not_there(self, paths: Iterable[str]) -> tuple[str, ...]:
        """Folders that the paths need and that do not exist, deepest first."""
        needed = {str(above) for path in paths for above in PurePosixPath(path).parents}
        missing = [name for name in needed if not (self.folder / name).exists()]
        return tuple(sorted(missing, key=lambda name: (-len(PurePosixPath(name).parts), name)))

    def _refuse_what_is_in_the_way(self, out: dict[str, str], into: dict[str, str]) -> None:
        kept = [path for path in into if path not in out and self._is_foreign(path, into[path])]
        if kept:
            names = ", ".join(kept)
            raise CannotWrite(
                f"{self.folder}: {names}: not written by {MAKER}, or edited since, and kept; "
                "move or rename it, or name another folder with -o"
            )

    def _is_foreign(self, path: str, digest: str) -> bool:
        """Whether the place of a new file is taken by something else than that very file."""
        place = self.folder / path
        return os.path.lexists(place) and _hash_of(place) != digest

    def _stage(self, files: Sequence[OutputFile]) -> None:
        for file in files:
            _write_through(self.work / "new" / file.path, file.content)

    def _forward(self, journal: _Journal) -> None:
        """Every step may have been done already: each looks before it acts."""
        self.folder.mkdir(parents=True, exist_ok=True)
        for path, digest in journal.out.items():
            if _hash_of(self.folder / path) == digest and not (self.work / "old" / path).exists():
                _move(self.folder / path, self.work / "old" / path)
        for path, digest in journal.into.items():
            if (self.work / "new" / path).exists():
                if self._is_foreign(path, digest):
                    raise _InTheWay(path)
                _move(self.work / "new" / path, self.folder / path)

    def _undo(self, journal: _Journal) -> None:
        # A full disk may refuse the note that this is being undone. Without it an interrupted undoing ends as a
        # completed swap, which is whole too.
        with suppress(OSError):
            self._write_journal(replace(journal, state="undo"))
        # The manifest comes out first and goes back last, as on the way forward.
        for path, digest in reversed(journal.into.items()):
            if not (self.work / "new" / path).exists() and _hash_of(self.folder / path) == digest:
                _move(self.folder / path, self.work / "new" / path)
        for path in reversed(journal.out):
            if (self.work / "old" / path).exists() and not os.path.lexists(self.folder / path):
                _move(self.work / "old" / path, self.folder / path)
        _remove_empty([self.folder / name for name in journal.created if name != "."])
        self._discard()

    def _undo_or_say(self, cause: BaseException) -> None:
        try:
            self._undo(self._read_journal())
        except OSError as error:
            raise CannotWrite(
                f"{self.folder}: {_reason(error)}; the next build into this folder puts it in order again"
            ) from cause

    def _discard(self) -> None:
        # The journal goes first: without it the rest is waste, whatever is left of it. What cannot be removed now
        # changes nothing in the output folder: the next command tries again.
        with suppress(OSError):
            (self.work / JOURNAL).unlink(missing_ok=True)
            (self.work / DRAFT).unlink(missing_ok=True)
            for name in ("new", "old"):
                if (self.work / name).is_dir():
                    shutil.rmtree(self.work / name, ignore_errors=True)

    def _write_journal(self, journal: _Journal) -> None:
        content = {"state": journal.state, "out": journal.out, "into": journal.into, "created": list(journal.created)}
        draft = self.work / DRAFT
        _write_through(draft, json.dumps(content).encode())
        os.replace(draft, self.work / JOURNAL)

    def _read_journal(self) -> _Journal:
        content: Any = json.loads((self.work / JOURNAL).read_bytes())
        try:
            journal = _Journal(content["state"], dict(content["out"]), dict(content["into"]), tuple(content["created"]))
            if all(_is_safe(path) for path in (*journal.out, *journal.into)):
                return journal
        except (LookupError, TypeError, AttributeError) as error:
            raise ValueError("its journal is not one of ours") from error
        raise ValueError("its journal names files elsewhere")


def _read_manifest(place: Path) -> dict[str, str] | None:
    """Paths and hashes of a manifest of ours; None for any other file of that name."""
    if place.is_symlink() or not place.is_file():
        return None
    try:
        content: Any = json.loads(place.read_bytes())
        if content["made_by"]["name"] != MAKER:
            return None
        listed = {str(file["path"]): str(file["sha256"]) for file in content["files"]}
    except (ValueError, LookupError, TypeError, RecursionError):
        return None
    return {path: digest for path, digest in listed.items() if _is_safe(path)}


def _hash_of(place: Path) -> str | None:
    """The hash of a plain file; None for anything else: a link or folder is never one of ours."""
    if place.is_symlink() or not place.is_file():
        return None
    return sha256(place.read_bytes())


def _write_through(place: Path, content: bytes) -> None:
    """Write and wait for the disk: a journal must not be there before the files that it speaks of."""
    place.parent.mkdir(parents=True, exist_ok=True)
    with place.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _move(here: Path, there: Path) -> None:
    there.parent.mkdir(parents=True, exist_ok=True)
    os.replace(here, there)


def _missing_parents(folder: Path) -> list[Path]:
    """The folder and those above it that do not exist yet, deepest first."""
    return [place for place in (folder, *folder.parents) if not os.path.exists(place)]


def _remove_empty(folders: Sequence[Path]) -> None:
    for place in folders:
        with suppress(OSError):
            place.rmdir()


def _reason(error: Exception) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)

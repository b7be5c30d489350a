"""The folder that a build leaves: the manifest's keys, the safe swap and what belongs to the user."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from toolpaths import output
from toolpaths.errors import CannotWrite
from toolpaths.finding import Finding
from toolpaths.output import WORK, Build, OutputFile, file_name, panel_of, recover, write_builds, write_folder

HEADING: dict[str, object] = {"job": "amp", "title": "Ämp", "size": None, "machine": "small router"}
FINDINGS = (Finding("note", "file-corner", "rear", "d_hole[1]", "leaves 0.2 mm for the file"),)
OLD = (OutputFile("rear.nc", b"old program\n", {"kind": "program"}), OutputFile("top.nc", b"old top\n", {}))
NEW = (OutputFile("rear.nc", b"new program\n", {"kind": "program"}), OutputFile("sub/x.svg", b"<svg/>", {}))


@pytest.fixture(autouse=True, scope="module")
def no_waiting_for_the_disk() -> Iterator[None]:
    """Spares thousands of waits for a disk that is never pulled out; each is counted as a step all the same."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "fsync", lambda file: None)
        yield


def held(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {str(place.relative_to(folder)): place.read_bytes() for place in folder.rglob("*") if place.is_file()}


def strays(root: Path) -> list[Path]:
    """What is there of work folders and locks."""
    return [place for place in root.rglob("*") if "holewright" in place.name or place.name == "lock"]


def build(folder: Path, files: tuple[OutputFile, ...]) -> None:
    write_folder(folder, files, HEADING, FINDINGS)


def test_manifest_lists_every_file_with_its_hash_and_the_fixed_keys(tmp_path: Path) -> None:
    """The manifest has the fixed keys, null for the base size, and the sha256 of each file as it lies there."""
    build(tmp_path / "out", NEW)
    manifest = json.loads((tmp_path / "out/manifest.json").read_text("utf-8"))
    assert list(manifest) == ["format", "made_by", "job", "title", "size", "machine", "files", "findings"]
    assert (manifest["format"], manifest["size"], manifest["title"]) == (1, None, "Ämp")
    assert set(manifest["made_by"]) == {"name", "version"}
    assert manifest["files"][0]["kind"] == "program"
    for file in manifest["files"]:
        assert hashlib.sha256((tmp_path / "out" / file["path"]).read_bytes()).hexdigest() == file["sha256"]
    assert manifest["findings"] == [
        {
            "severity": "note",
            "code": "file-corner",
            "panel": "rear",
            "feature": "d_hole[1]",
            "message": "leaves 0.2 mm for the file",
        }
    ]
    assert set(held(tmp_path)) == {"out/manifest.json", "out/rear.nc", "out/sub/x.svg"}


def test_two_builds_are_equal_to_the_byte(tmp_path: Path) -> None:
    """The same files give the same bytes, wherever the folder is and whatever lay there."""
    build(tmp_path / "a", NEW)
    build(tmp_path / "b", OLD)
    build(tmp_path / "b", NEW)
    assert held(tmp_path / "a") == held(tmp_path / "b")
    assert b"\r" not in (tmp_path / "a/manifest.json").read_bytes()


def test_the_users_own_files_stay(tmp_path: Path) -> None:
    """A rebuild removes what it no longer makes, and leaves the user's notes and an edited leftover alone."""
    build(tmp_path, (*OLD, OutputFile("gone.nc", b"gone", {})))
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "top.nc").write_text("edited by me")
    build(tmp_path, NEW)
    left = held(tmp_path)
    assert left.pop("manifest.json")
    assert left == {
        "notes.txt": b"mine",
        "top.nc": b"edited by me",
        "rear.nc": b"new program\n",
        "sub/x.svg": b"<svg/>",
    }


@pytest.mark.parametrize("first", [True, False], ids=["edited since the build", "never built here"])
def test_a_file_of_the_users_in_the_way_is_kept_and_named(tmp_path: Path, first: bool) -> None:
    """Where a new file would replace an edited or foreign one, the build refuses and changes nothing."""
    if first:
        build(tmp_path, OLD)
    (tmp_path / "rear.nc").write_text("feed lowered by hand")
    before = held(tmp_path)
    with pytest.raises(CannotWrite, match=r"rear\.nc"):
        build(tmp_path, NEW)
    assert held(tmp_path) == before


def test_a_foreign_manifest_is_not_replaced(tmp_path: Path) -> None:
    """A manifest.json of another program's making stays, and the build says why."""
    (tmp_path / "manifest.json").write_text('{"name": "a web page"}')
    with pytest.raises(CannotWrite, match="not a manifest"):
        build(tmp_path, NEW)
    assert held(tmp_path) == {"manifest.json": b'{"name": "a web page"}'}


def test_a_manifest_cannot_reach_out_of_its_folder(tmp_path: Path) -> None:
    """A doctored manifest that lists ../victim does not make a build remove it."""
    victim = tmp_path / "victim"
    victim.write_bytes(b"precious")
    build(tmp_path / "out", OLD)
    manifest = json.loads((tmp_path / "out/manifest.json").read_text())
    manifest["files"].append({"path": "../victim", "sha256": hashlib.sha256(b"precious").hexdigest()})
    (tmp_path / "out/manifest.json").write_text(json.dumps(manifest))
    build(tmp_path / "out", NEW)
    assert victim.read_bytes() == b"precious"


def test_a_link_in_the_place_of_a_file_is_the_users(tmp_path: Path) -> None:
    """A link is never followed to overwrite what it points to, even when its content is what we wrote."""
    build(tmp_path / "out", OLD)
    (tmp_path / "out/rear.nc").rename(tmp_path / "kept.nc")
    (tmp_path / "out/rear.nc").symlink_to(tmp_path / "kept.nc")
    with pytest.raises(CannotWrite, match=r"rear\.nc"):
        build(tmp_path / "out", NEW)
    assert (tmp_path / "kept.nc").read_bytes() == b"old program\n"


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    """Naming a file as the folder is an error that leaves the file alone."""
    (tmp_path / "out").write_text("a file")
    with pytest.raises(CannotWrite, match="is a file"):
        build(tmp_path / "out", NEW)
    assert held(tmp_path) == {"out": b"a file"}


@pytest.mark.parametrize("path", ["/etc/x", "../x", "a\\b", "c:x", "manifest.json", ""])
def test_unsafe_output_paths_are_defects(tmp_path: Path, path: str) -> None:
    """A path of our own that leaves the folder, or is the manifest's, is refused before anything is written."""
    with pytest.raises(ValueError, match="unsafe"):
        build(tmp_path / "out", (OutputFile(path, b"", {}),))
    assert not (tmp_path / "out").exists()


class PowerCut(BaseException):
    """Nothing works any more: not even undoing."""


@pytest.fixture
def after_step(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[int, type[BaseException], bool], list[int]]]:
    """Let every change to the disk fail from step n on (``for_good``), or step n alone."""
    steps = [0]

    def arm(n: int, failure: type[BaseException], for_good: bool) -> list[int]:
        steps[0] = 0

        def failing(real: Callable[..., object]) -> Callable[..., object]:
            def step(*args: object, **options: object) -> object:
                steps[0] += 1
                if steps[0] == n or (for_good and steps[0] > n):
                    raise failure("injected")
                return real(*args, **options)

            return step

        for owner, name in [(os, "replace"), (os, "fsync"), (Path, "mkdir"), (Path, "unlink"), (shutil, "rmtree")]:
            monkeypatch.setattr(owner, name, failing(getattr(owner, name)))
        return steps

    yield arm
    monkeypatch.undo()


def step_count(tmp_path: Path, arm: Callable[[int, type[BaseException], bool], list[int]]) -> int:
    """How many changes to the disk one rebuild makes."""
    build(tmp_path / "count", OLD)
    steps = arm(0, OSError, False)
    build(tmp_path / "count", NEW)
    return steps[0]


def test_cut_at_every_step_the_next_command_has_either_the_old_or_the_new(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a power cut at any step, recover leaves the old build or the new one, whole, with the user's files."""
    build(tmp_path / "new", NEW)
    build(tmp_path / "old", OLD)
    whole = [held(tmp_path / name) | {"notes.txt": b"mine"} for name in ("old", "new")]
    total = step_count(tmp_path, after_step)
    monkeypatch.undo()
    seen = set()
    for n in range(1, total + 1):
        root = tmp_path / f"cut {n}"
        build(root / "out", OLD)
        (root / "out/notes.txt").write_text("mine")
        after_step(n, PowerCut, True)
        with contextlib.suppress(PowerCut):
            build(root / "out", NEW)
        monkeypatch.undo()
        between = {path: text for path, text in held(root / "out").items() if not path.startswith(WORK)}
        assert "manifest.json" not in between or between in whole, f"step {n}: a manifest over half a build"
        recover(root / "out")
        assert held(root / "out") in whole, f"step {n}"
        assert not strays(root), f"step {n}"
        seen.add(whole.index(held(root / "out")))
    assert seen == {0, 1}, "cuts before the journal undo, cuts after it complete"


def test_cut_at_every_step_of_a_first_build(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A first build that is cut leaves nothing or everything once the next build has run there."""
    build(tmp_path / "new", NEW)
    for n in range(1, 25):
        root = tmp_path / f"cut {n}"
        root.mkdir()
        after_step(n, PowerCut, True)
        with contextlib.suppress(PowerCut):
            build(root / "out", NEW)
        monkeypatch.undo()
        build(root / "out", NEW)
        assert held(root) == {f"out/{path}": content for path, content in held(tmp_path / "new").items()}


def test_a_single_failure_at_any_step_is_undone_at_once(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk error at any step before the end raises CannotWrite and the folder is as it was at once."""
    total = step_count(tmp_path, after_step)
    monkeypatch.undo()
    for n in range(1, total + 1):
        root = tmp_path / f"fail {n}"
        build(root / "out", OLD)
        before = held(root / "out")
        after_step(n, OSError, False)
        try:
            build(root / "out", NEW)
        except CannotWrite:
            monkeypatch.undo()
            assert held(root / "out") == before, f"step {n}"
        else:
            monkeypatch.undo()
            assert held(root / "out")["rear.nc"] == b"new program\n", f"step {n}"
        recover(root / "out")
        assert not strays(root), f"step {n}"


def test_a_file_that_the_user_adds_to_a_cut_swap_is_kept(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever step a swap was cut at, a file that the user then puts in our place survives the recovery."""
    total = step_count(tmp_path, after_step)
    monkeypatch.undo()
    for n in range(1, total + 1):
        root = tmp_path / f"cut {n}"
        build(root / "out", OLD)
        after_step(n, PowerCut, True)
        with contextlib.suppress(PowerCut):
            build(root / "out", NEW)
        monkeypatch.undo()
        (root / "out/rear.nc").write_bytes(b"mine")
        recover(root / "out")
        assert (root / "out/rear.nc").read_bytes() == b"mine", f"step {n}"
        assert not strays(root), f"step {n}"


def test_a_failed_first_build_leaves_no_empty_folders(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folders made on the way to a build that then fails, at whatever step, are taken away again."""
    for n in range(1, 80):
        steps = after_step(n, OSError, False)
        try:
            build(tmp_path / "a/b/out", NEW)
        except CannotWrite:
            monkeypatch.undo()
            assert os.listdir(tmp_path) == [], f"step {n}"
        else:
            monkeypatch.undo()
            shutil.rmtree(tmp_path / "a")
        if steps[0] < n:
            return
    pytest.fail("the build has more steps than were failed")


def test_names_of_program_files_lead_back_to_their_panel() -> None:
    """A program's file name names its panel with or without setup and cutter, in any case; another name names none."""
    names = ["rear", "Top face", "rear-2"]
    for name in names:
        for ending in (".nc", ".setup1.nc", ".t112.nc", ".setup2.t3.nc", ".NC", ""):
            assert panel_of(f"some/where/{file_name(name).upper()}{ending}", names) == name
    assert panel_of("rear copy.nc", names) is None


def test_version_is_stated() -> None:
    """The manifest's maker states a version in any case."""
    assert output.version()


# several sizes as one swap -------------------------------------------------------------------------------------------


def build_all(folder: Path, files: tuple[OutputFile, ...]) -> None:
    """The base and two sizes, each with the files and a manifest of its own."""
    sizes = ("", "small", "wide")
    write_builds(folder, [Build(size, files, HEADING | {"size": size or None}, FINDINGS) for size in sizes])


@pytest.mark.parametrize("way_in", ["", "small"], ids=["all sizes", "one size"])
@pytest.mark.parametrize("first", [True, False], ids=["first build", "rebuild"])
def test_sizes_cut_at_every_step_are_all_old_or_all_new(
    tmp_path: Path,
    after_step: Callable[[int, type[BaseException], bool], list[int]],
    monkeypatch: pytest.MonkeyPatch,
    first: bool,
    way_in: str,
) -> None:
    """After a power cut at any step the next command, for all sizes or one, leaves every size old or every one new."""
    build_all(tmp_path / "new", NEW)
    build_all(tmp_path / "old", OLD)
    whole = [{} if first else held(tmp_path / "old"), held(tmp_path / "new")]
    seen = set()
    for n in range(1, 80):
        root = tmp_path / f"cut {n}"
        root.mkdir()
        if not first:
            build_all(root / "out", OLD)
        steps = after_step(n, PowerCut, True)
        with contextlib.suppress(PowerCut):
            build_all(root / "out", NEW)
        monkeypatch.undo()
        for size in ("", "small", "wide"):
            between = held(root / "out" / size) if (root / "out" / size / "manifest.json").exists() else {}
            listed = json.loads(between["manifest.json"])["files"] if between else []
            assert all(file["path"] in between for file in listed), f"step {n}: a manifest over half a build"
        recover(root / "out" / way_in)
        assert not strays(root), f"step {n}"
        assert held(root / "out") in whole, f"step {n}"
        seen.add(whole.index(held(root / "out")))
        if steps[0] < n:
            break
    else:
        pytest.fail("the build has more steps than were cut")
    assert seen == {0, 1}


def test_sizes_that_fail_are_undone_at_once(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk error while the sizes are moved in leaves the base as it was, and no empty folder of a new size."""
    for n in range(1, 80):
        root = tmp_path / f"fail {n}"
        build(root / "out", OLD)
        before = held(root / "out")
        steps = after_step(n, OSError, False)
        try:
            build_all(root / "out", NEW)
        except CannotWrite:
            monkeypatch.undo()
            assert held(root / "out") == before, f"step {n}"
            assert {place.name for place in (root / "out").iterdir()} == set(before), f"step {n}"
        monkeypatch.undo()
        if steps[0] < n:
            return
    pytest.fail("the build has more steps than were failed")


def test_one_sizes_interrupted_build_is_tidied_before_all_are_built(
    tmp_path: Path, after_step: Callable[[int, type[BaseException], bool], list[int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What an interrupted build of one size left beside its folder is gone once all sizes have been built."""
    build_all(tmp_path / "out", OLD)
    after_step(16, PowerCut, True)
    with pytest.raises(PowerCut):
        build(tmp_path / "out" / "wide", NEW)
    monkeypatch.undo()
    assert any((tmp_path / "out").rglob("swap.json"))
    build_all(tmp_path / "out", NEW)
    build_all(tmp_path / "fresh", NEW)
    assert held(tmp_path / "out") == held(tmp_path / "fresh")


def test_a_build_of_one_size_leaves_anothers_swap_alone(tmp_path: Path) -> None:
    """In the folder above only a journal that speaks of this size is acted on."""
    build_all(tmp_path / "out", OLD)
    work = tmp_path / "out" / WORK
    work.mkdir()
    journal = {"state": "forward", "out": {}, "into": {"wide/x.nc": "0"}, "created": []}
    (work / "swap.json").write_text(json.dumps(journal))
    recover(tmp_path / "out" / "small")
    assert work.exists()
    recover(tmp_path / "out" / "wide")
    assert not work.exists()


@pytest.mark.parametrize("what", ["file", "link"])
def test_a_sizes_folder_is_a_plain_folder(tmp_path: Path, what: str) -> None:
    """A file or a link in the place of a size's folder is refused by name, and no size is written."""
    build(tmp_path / "out", OLD)
    (tmp_path / "elsewhere").mkdir()
    place = tmp_path / "out/small"
    place.write_text("mine") if what == "file" else place.symlink_to(tmp_path / "elsewhere")
    before = held(tmp_path)
    with pytest.raises(CannotWrite, match=r"small: is not a plain folder"):
        build_all(tmp_path / "out", NEW)
    assert held(tmp_path) == before

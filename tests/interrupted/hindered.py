"""Commands that cannot write, or are told to stop: ``python -m tests.interrupted.hindered FOLDER``.

Prints one JSON object: ``faults``, and how many cases there were of what.
"""

from __future__ import annotations

import ctypes
import json
import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path

from tests.interrupted.killed import MINE, OLD, within
from tests.interrupted.warm import Ended, Tree, Warm, broken, in_a_work_folder, spread, tree


def main(root: Path) -> dict[str, object]:
    warm = Warm(root)
    faults: list[str] = []
    cases: dict[str, int] = {}

    def made(*arguments: str) -> Tree:
        place = warm.fresh() / "out"
        warm.here("build", warm.job, "-o", str(place), *arguments)
        return tree(place)

    old, new = made(*OLD) | MINE, made() | MINE

    def refused(case: str, end: Ended, status: int, word: str) -> None:
        cases[case.split(",")[0]] = cases.get(case.split(",")[0], 0) + 1
        if end.status != status or end.err.count("\n") != 1 or word not in end.err or end.out:
            faults.append(f"{case}: status {end.status}, said {end.err!r} {end.out!r}")

    def same(case: str, place: Path, wanted: Tree | list[Tree]) -> None:
        left, ends = tree(place), wanted if isinstance(wanted, list) else [wanted]
        if left not in ends:
            near = min(ends, key=lambda one: len(left.items() ^ one.items()))
            faults.append(f"{case}: differs in {sorted(dict(left.items() ^ near.items()))}")

    def at_every_step(
        what: str, how: str, most: int, begin: Tree | None, status: int, word: str, command: Callable[[Path], list[str]]
    ) -> None:
        """Whatever the step, all is as it was at once, but for a work folder where nothing can be removed."""
        before = tree(warm.fresh(begin))
        whole = warm.run(*command(place := warm.fresh(begin)))
        after = tree(place)
        for step in spread(whole.steps, most):
            place, case = warm.fresh(begin), f"{what}, {how} from step {step} of {whole.steps} on"
            end = warm.run(*command(place), at=step, how=how)
            faults.extend(f"{case}: {path} does not agree with its manifest" for path in broken(place))
            if end.status == 0:  # the last steps only tidy
                same(case, place, after) if how == "full" else None
            else:
                refused(case, end, status, word)
                if how == "full":
                    same(case, place, before)
            warm.run(*command(place))
            same(f"{case}, and again", place, after)

    def build(place: Path) -> list[str]:
        return ["build", warm.job, "-o", str(place / "out"), "--quiet"]

    def page(place: Path) -> list[str]:
        return ["simulate", warm.job, "-o", str(place / "page.html"), "--quiet"]

    def start(place: Path) -> list[str]:
        return ["new", str(place / "amp"), "--quiet"]

    at_every_step("a rebuild", "full", 14, old, 3, "No space left", build)
    at_every_step("a rebuild", "read-only", 10, old, 3, "Read-only", build)
    at_every_step("a first build", "full", 6, None, 3, "No space left", build)
    at_every_step("a page", "full", 4, None, 3, "No space left", page)
    at_every_step("a new job", "full", 6, None, 3, "No space left", start)

    # Ctrl-C: at once the earlier output or the new one is there; the next command takes away what lies in between.
    whole = warm.run(*build(warm.fresh(old)))
    for step in spread(whole.steps, 14):
        place, case = warm.fresh(old), f"Ctrl-C, at step {step} of {whole.steps}"
        refused(case, warm.run(*build(place), at=step, how="interrupt"), 130, "interrupted")
        left = {path: what for path, what in tree(place).items() if not in_a_work_folder(place / path, place)}
        if left not in (within(old), within(new)):
            faults.append(f"{case}: the output is neither the earlier one nor the new one")
        warm.run(*build(place))
        same(f"{case}, and again", place, within(new))

    # A limit of the system's, in place of a small disk: no file may grow beyond it.
    for limit in (200, 1000, 3000):  # what the command says is a file here, too
        place = warm.fresh(old)
        end = warm.run(*build(place), before=limit_files(limit))
        refused(f"a limit, {limit} bytes", end, 3, "File too large")
        same(f"a limit, {limit} bytes", place, within(old))

    # Folders that may not be written, for real.
    place = warm.fresh(old)
    with_mode(place / "out", 0o555, lambda: refused("read-only", plain(warm, build(place)), 3, "Permission denied"))
    same("read-only, the folder", place, within(old))
    place = warm.fresh(old)
    with_mode(place, 0o555, lambda: expect_done(faults, plain(warm, build(place))))
    same("read-only, only the one above", place, within(new))
    place = warm.fresh()
    with_mode(place, 0o555, lambda: refused("read-only, above", plain(warm, build(place)), 3, "Permission denied"))
    with_mode(place, 0o555, lambda: refused("read-only, page", plain(warm, page(place)), 3, "Permission denied"))
    with_mode(place, 0o555, lambda: refused("read-only, new", plain(warm, start(place)), 3, "Permission denied"))
    same("read-only, above", place, {})
    faults.extend(f"left: {path}" for path in warm.temporary.iterdir())
    return {"faults": faults, "cases": cases}


def limit_files(most: int) -> Callable[[], None]:
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))


def with_mode(folder: Path, mode: int, act: Callable[[], None]) -> None:
    folder.chmod(mode)
    act()
    folder.chmod(0o755)


def expect_done(faults: list[str], end: Ended) -> None:
    if end.status:
        faults.append(f"read-only, only the one above: {end.err}")


def plain(warm: Warm, command: list[str]) -> Ended:
    """A command run as by somebody whom permissions hold, the superuser too."""
    return warm.run(*command, before=give_up_powers)


def give_up_powers() -> None:
    """Root keeps its name and loses its power to pass over permissions (capset of capabilities(7); Linux alone)."""
    if os.getuid() == 0:
        header = (ctypes.c_uint32 * 2)(0x20080522, 0)
        nothing = (ctypes.c_uint32 * 6)()
        if ctypes.CDLL(None, use_errno=True).capset(header, nothing):
            raise OSError(ctypes.get_errno(), "capset")


if __name__ == "__main__":
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    print(json.dumps(main(Path(sys.argv[1]))))

"""Commands that are killed at many steps, each followed by another: ``python -m tests.interrupted.killed FOLDER``.

Prints one JSON object: ``faults``, and how many kills there were of what.
"""

from __future__ import annotations

import json
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.interrupted.warm import Ended, Tree, Warm, broken, in_a_work_folder, spread, tree

OLD = ("--set", "bore=5.5", "--fit-strip")
MINE: Tree = {
    "notes.txt": b"mine",
    "plate old.nc": b"G90\n(mine, and a program)\n",
    "mine": "folder",
    "mine/manifest.txt": b"mine too",
    "link.nc": "link to notes.txt",
}
"""What is the user's in the output folder."""


def killed_beyond(most: int) -> Callable[[], None]:
    """The system itself kills a process in the middle of writing, once a file would grow beyond that."""

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    return limit


def within(content: Tree) -> Tree:
    """What ``fresh`` makes of it."""
    return {"out": "folder", **{f"out/{path}": what for path, what in content.items()}}


def main(root: Path) -> dict[str, object]:
    warm = Warm(root)
    faults: list[str] = []
    kills: dict[str, int] = {}
    job = warm.job

    def made(*arguments: str) -> Tree:
        place = warm.fresh() / "out"
        warm.here("build", job, "-o", str(place), *arguments)
        return tree(place)

    def killed(
        what: str, begin: Tree | None, command: list[str], then: list[list[str]], ends: list[Tree], most: int
    ) -> None:
        """Kill it at steps all over its way; after the next command the folder must hold one of the ends, no more."""

        def run(words: list[str], place: Path, **options: Any) -> Ended:
            return warm.run(*(word.replace("HERE", str(place)) for word in words), **options)

        whole = run(command, warm.fresh(begin))
        if whole.status != 0:
            faults.append(f"{what}: not killed, it ends with {whole.status}: {whole.err}")
        seen, known = set(), [*ends, within(begin or {})]
        ways: list[tuple[str, dict[str, Any]]] = [
            (f"step {step} of {whole.steps}", {"at": step, "how": "kill"}) for step in spread(whole.steps, most)
        ]
        ways += [(f"{most} bytes of a file", {"before": killed_beyond(most)}) for most in (100, 3000)]
        for turn, (way, options) in enumerate(ways):
            place, case = warm.fresh(begin), f"{what}, killed at {way}"
            end = run(command, place, **options)
            if end.status not in (-signal.SIGKILL, -signal.SIGXFSZ):
                faults.append(f"{case}: it ended with {end.status}, {end.err}")
            faults.extend(f"{case}: {path} does not agree with its manifest" for path in broken(place))
            for path, content in tree(place).items():
                if not in_a_work_folder(place / path, place) and all(content != one.get(path) for one in known):
                    faults.append(f"{case}: {path} is neither as before nor as it was to be")
            follows = then[turn % len(then)]
            after = run(follows, place)
            if follows[0] == "build" and after.status != 0:
                faults.append(f"{case}, then {follows[0]}: status {after.status}, {after.err}")
            left = tree(place)
            if left in ends:
                seen.add(ends.index(left))
            else:
                near = min(ends, key=lambda one: len(left.items() ^ one.items()))
                faults.append(f"{case}, then {follows[0]}: differs in {sorted(dict(left.items() ^ near.items()))}")
            kills[what] = kills.get(what, 0) + 1
        if seen != set(range(len(ends))):
            faults.append(f"{what}: of {len(ends)} ways to end only {sorted(seen)} were seen")

    old, new = made(*OLD) | MINE, made() | MINE
    build = ["build", job, "-o", "HERE/out"]
    verify = ["verify", job, "HERE/out/plate.nc", "--set", "bore=5.5"]
    killed("a rebuild, then verify", old, build, [verify], [within(old), within(new)], 16)
    killed("a rebuild, then a build", old, build, [build, [*build, *OLD]], [within(old), within(new)], 12)
    killed("a first build", None, build, [build], [within(made())], 10)

    warm.here("build", job, "-o", str(warm.fresh() / "out"), "--all-sizes")
    before, after = made("--all-sizes", *OLD) | MINE, made("--all-sizes") | MINE
    everything = [*build, "--all-sizes"]
    one = ["verify", job, "HERE/out/wide/plate.nc", "--size", "wide"]
    killed("a rebuild of all sizes", before, everything, [one, verify], [within(before), within(after)], 16)

    starter = warm.fresh()
    warm.here("new", str(starter / "amp"))
    fresh = ["new", "HERE/amp"]
    there = tree(starter)
    killed("new", None, fresh, [fresh], [there], 10)
    page = ["simulate", job, "-o", "HERE/page.html", "--quiet"]
    picture = ["parts", "octal socket", "--svg", "HERE/socket.svg", "--quiet"]
    for what, command in (("a page", page), ("a picture", picture)):
        place = warm.fresh()
        warm.here(*(word.replace("HERE", str(place)) for word in command))
        killed(what, None, command, [command], [tree(place)], 6)
    stray = [str(path) for path in root.rglob("*") if in_a_work_folder(path, root)]
    faults.extend(f"left: {path}" for path in [*stray, *warm.temporary.iterdir()])
    return {"faults": faults, "kills": kills}


if __name__ == "__main__":
    print(json.dumps(main(Path(sys.argv[1]))))

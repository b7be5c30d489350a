"""Several builds at once into one folder: ``python -m tests.interrupted.crowded FOLDER``.

Prints one JSON object: ``faults``, how many builds there were, and how many times a reader saw a whole output.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path
from time import sleep

from tests.interrupted.killed import MINE, OLD, within
from tests.interrupted.warm import Tree, Warm, impatient, tree

ROUNDS, BUILDS = 6, 3


def main(root: Path) -> dict[str, object]:
    warm = Warm(root)
    faults: list[str] = []
    builds, whole = 0, 0

    def made(*arguments: str) -> Tree:
        place = warm.fresh() / "out"
        warm.here("build", warm.job, "-o", str(place), *arguments)
        return tree(place)

    def together(commands: list[list[str]], place: Path) -> None:
        """Each command several times, all at the same time, with a reader beside them."""
        nonlocal builds, whole
        reader, seen = reading(place)
        running = []
        for command in commands:
            process = warm.start(*command, times=BUILDS, counted=False)
            running.append((process, warm.number))
        for process, number in running:
            end = warm.wait(process, number)
            builds += BUILDS
            if end.status or end.err:
                faults.append(f"{place.name}: status {end.status}, {end.err}")
        os.kill(reader, signal.SIGTERM)
        os.waitpid(reader, 0)
        told = json.loads("[" + ",".join(seen.read_text().split("\n")[:-1]) + "]")
        faults.extend(f"{place.name}, while they run: {fault}" for fault in told if fault)
        whole += told.count("")

    old, new = made(*OLD), made()
    for turn in range(ROUNDS):
        place = warm.fresh(MINE if turn % 2 else old | MINE)
        build = ["build", warm.job, "-o", str(place / "out"), "--quiet"]
        together([[*build, *OLD], build], place)
        if tree(place) not in (within(old | MINE), within(new | MINE)):
            faults.append(f"{place.name}: after two builds there is neither the one nor the other")

    every, wide = made("--all-sizes"), made("--size", "wide", *OLD)
    others = {path: what for path, what in every.items() if not path.startswith("wide/")}
    alone = others | {f"wide/{path}": what for path, what in wide.items()}
    for _ in range(ROUNDS):
        place = warm.fresh({})
        build = ["build", warm.job, "--quiet", "-o"]
        sizes = [*build, str(place / "out"), "--all-sizes"]
        together([sizes, [*build, str(place / "out/wide"), "--size", "wide", *OLD]], place)
        if tree(place) not in (within(every), within(alone)):
            faults.append(f"{place.name}: after a build of all sizes and one of a size: {sorted(tree(place))}")

    # A build that is stopped holds the folder: others are refused, change nothing, and it goes on where it was.
    build = ["build", warm.job, "--quiet", "-o"]
    for first, second in (("every", "wide"), ("base", "base"), ("wide", "every")):
        ways = {"base": ["HERE/out"], "every": ["HERE/out", "--all-sizes"], "wide": ["HERE/out/wide", "--size", "wide"]}
        begin = made("--all-sizes", *OLD)
        count = warm.run(*placed([*build, *ways[first]], warm.fresh(begin))).steps
        for at, where in ((count // 4, "while it writes"), (2 * count // 3, "in its swap")):
            case, place = f"{first}, stopped {where}, then {second}", warm.fresh(begin)
            process, number = warm.start(*placed([*build, *ways[first]], place), at=at, how="stop"), warm.number
            os.waitpid(process, os.WUNTRACED)
            before = tree(place)
            end = warm.run(*placed([*build, *ways[second]], place), before=impatient)
            if end.status != 3 or "is held by another build" not in end.err or end.err.count("\n") != 1:
                faults.append(f"{case}: status {end.status}, {end.err}")
            if tree(place) != before:
                faults.append(f"{case}: something was changed")
            os.kill(process, signal.SIGCONT)
            if (ended := warm.wait(process, number)).status:
                faults.append(f"{case}: {ended.err}")
            if any("holewright" in path for path in tree(place)):
                faults.append(f"{case}: something is left")
    faults.extend(f"left: {path}" for path in warm.temporary.iterdir())
    return {"faults": faults, "builds": builds, "whole": whole}


def placed(words: list[str], place: Path) -> list[str]:
    return [word.replace("HERE", str(place)) for word in words]


def reading(place: Path) -> tuple[int, Path]:
    """A process that reads the manifests below a folder and what they list, over and over, and notes what it sees."""
    notes = place.with_name(f"{place.name} seen")
    process = os.fork()
    if process:
        return process, notes
    with notes.open("w") as file:
        while True:
            for manifest in (place / "out/manifest.json", place / "out/wide/manifest.json"):
                if (seen := read_once(manifest)) is not None:
                    file.write(json.dumps(seen) + "\n")
                    file.flush()
            sleep(0.002)


def read_once(manifest: Path) -> str | None:
    """'' where every listed file is whole; None where no manifest stands, or another one since we began to read."""
    from hashlib import sha256

    def standing() -> tuple[int, int] | None:
        try:
            facts = manifest.stat()
        except OSError:
            return None
        return facts.st_ino, facts.st_mtime_ns

    first = standing()
    wrong = ""
    try:
        for file in json.loads(manifest.read_bytes())["files"]:
            path = manifest.parent / file["path"]
            if not path.is_file() or sha256(path.read_bytes()).hexdigest() != file["sha256"]:
                wrong = f"{path.name} of {manifest.parent.name}"
                break
    except OSError as error:
        wrong = str(error)
    return wrong if first is not None and standing() == first else None


if __name__ == "__main__":
    print(json.dumps(main(Path(sys.argv[1]))))

"""How long a build of each sample takes beside the bare import of what it imports, and how much memory.

Run it by hand: ``python tests/benchmarks/bench_samples.py``. For each sample two processes are timed, the least of
several runs of each: ``holewright build SAMPLE -o FOLDER`` with all its papers, and a process that does nothing but
import, in the same order, those modules of the project's dependencies which that build has imported by its end. The
multiple is the one over the other; the aim is 2. Seconds are of the processor (user and system), memory is the most
that the process held. It is no test of the suite, since a busy machine would make it lie: such a one makes both of the
two slower, and not always alike.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import tomllib
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RUNS = 5
AIM = 2.0

BUILD = "import sys; from toolpaths.cli import main; main(['build', sys.argv[1], '-o', sys.argv[2], '--quiet'])"
"""What the command ``holewright`` does."""

LISTING = f"""
import atexit, sys
atexit.register(lambda: print(*sys.modules))
{BUILD}
"""


def dependencies() -> set[str]:
    """The names, as they are imported, of what the project depends on."""
    table = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = {line.split(">")[0].lower() for line in table["project"]["dependencies"]}
    return {name for name, by in metadata.packages_distributions().items() if wanted & {one.lower() for one in by}}


def run(code: str, *arguments: str) -> tuple[float, float, str]:
    """One process: its seconds of processor time, the most memory in MB, and what it printed. A build may find errors.
    """
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPATH"] = str(ROOT)
    process = subprocess.Popen(
        [sys.executable, "-c", code, *arguments], cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    said = process.stdout.read()
    process.stdout.close()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        sys.exit(f"a process ended with {process.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said


def main() -> int:
    """Prints one row for each sample; 1 where one takes more than the aim."""
    ours = dependencies()
    most = 0.0
    print(f"{'sample':26} {'build s':>8} {'bare s':>8} {'multiple':>9} {'MB':>6} {'bare MB':>8}")
    with tempfile.TemporaryDirectory() as folder:
        for path in sorted((ROOT / "sample_jobs").glob("*.toml")):
            asked = str(path), str(Path(folder) / path.stem)
            names = run(LISTING, *asked)[2].splitlines()[-1].split()     # what it compiles is there after this run
            bare = "; ".join(f"import {name}" for name in names if name.split(".")[0] in ours)
            build, alone = [], []
            for _ in range(RUNS):       # in turn, so that what else the machine does falls on both
                alone.append(run(bare)[:2])
                build.append(run(BUILD, *asked)[:2])
            (took, held), (least, lean) = (tuple(map(min, zip(*runs, strict=True))) for runs in (build, alone))
            most = max(most, took / least)
            print(f"{path.stem:26} {took:8.2f} {least:8.2f} {took / least:9.2f} {held:6.0f} {lean:8.0f}", flush=True)
    print(f"at most {most:.2f} times the bare import; the aim is {AIM:g}")
    return int(most > AIM)


if __name__ == "__main__":
    sys.exit(main())

"""How long ``holewright --help`` takes beside importing click alone: the least of several runs of each.

Run it by hand: ``python tests/benchmarks/bench_help.py``. It exits with 1 where help takes more than three times as
long. It is no test of the suite, since a busy machine would make it lie.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RUNS = 15
MOST = 3.0


def least_seconds(code: str) -> float:
    """The shortest of several runs of a fresh interpreter: what the machine takes when nothing disturbs it."""
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    times = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], env=environment, stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> int:
    bare = least_seconds("pass")
    click = least_seconds("import click")
    asked = least_seconds("from toolpaths.cli import main; main(['--help'])")
    ratio = asked / click
    print(f"interpreter {bare:.3f} s, click {click:.3f} s, --help {asked:.3f} s: {ratio:.2f} times click")
    return 0 if ratio <= MOST else 1


if __name__ == "__main__":
    sys.exit(main())

"""Every figure of speed, memory and deviation in one run: ``python -m tests.benchmarks [NAME ...]``.

It prints what each script beside it prints: all of them, or those named (``samples``, ``bench_page``, ``deviation``).
Each can be run by itself. It ends with 1 where one of them does. All of them take some twenty minutes of two cores,
half of that ``deviation``.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

HERE = Path(__file__).parent


def scripts() -> dict[str, Path]:
    """The scripts by name, those of speed first."""
    return {path.stem: path for path in [*sorted(HERE.glob("bench_*.py")), HERE / "deviation.py"]}


def main(asked: list[str]) -> int:
    """Each script in a process of its own, so that none is slowed down by what another left in memory."""
    known = scripts()
    names = [name if name in known else f"bench_{name}" for name in (one.removesuffix(".py") for one in asked)]
    if unknown := [name for name in names if name not in known]:
        print(f"no script is called {unknown[0].removeprefix('bench_')}; known are {', '.join(known)}", file=sys.stderr)
        return 2
    failed: list[str] = []
    for name in names or known:
        print(f"== {name}", flush=True)
        begun = time.monotonic()
        if subprocess.run([sys.executable, str(known[name])], check=False).returncode:
            failed.append(name)
        print(f"   {(time.monotonic() - begun) / 60:.1f} min\n", flush=True)
    if failed:
        print(f"beyond their limits: {', '.join(failed)}")
    return int(bool(failed))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""All proofs and figures in a row, each with its minutes: ``python -m tests.everything``.

The gate (style, types, tests), planted faults, random jobs, then every benchmark and the deviations. It ends with 1
where one of them does; the others are run all the same.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

STAGES = {
    "the gate": [str(ROOT / ".ci" / "run")],
    "planted faults": [sys.executable, "-m", "tests.faults.sweep", "--mutants", "5000", "--seed", "1"],
    "random jobs": [sys.executable, "-m", "tests.random_jobs", "--examples", "500", "--seed", "1"],
    "benchmarks": [sys.executable, "-m", "tests.benchmarks"],
}


def main() -> int:
    """Runs the stages and tells, at the end, how each went."""
    told = []
    for name, command in STAGES.items():
        print(f"==== {name}", flush=True)
        begun = time.monotonic()
        good = subprocess.run(command, cwd=ROOT, check=False).returncode == 0
        told.append((good, f"{(time.monotonic() - begun) / 60:6.1f} min  {name}: {'good' if good else 'NOT GOOD'}"))
    print("\n".join(["====", *(line for _, line in told)]))
    return int(not all(good for good, _ in told))


if __name__ == "__main__":
    sys.exit(main())

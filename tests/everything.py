"""All proofs and figures in a row, each with its minutes: ``python -m tests.everything``.

The gate (style, types, tests), planted faults, random jobs, then every benchmark and the deviations. It ends with 1
where one of them does; the others are run all the same. ``--quick`` takes a small share of each, in a quarter of an
hour.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
MODULE = [sys.executable, "-m"]


def stages(quick: bool) -> dict[str, list[str]]:
    """What is run, in order, by name."""
    mutants, jobs = ("150", "40") if quick else ("5000", "500")
    some = ["vent", "reading", "samples", "help"] if quick else []
    return {
        "the gate": [str(ROOT / ".ci" / "run")],
        "planted faults": [*MODULE, "tests.faults.sweep", "--mutants", mutants, "--seed", "1", "--every", "3"],
        "random jobs": [*MODULE, "tests.random_jobs", "--examples", jobs, "--seed", "1"],
        "benchmarks": [*MODULE, "tests.benchmarks", *some],
    }


def main() -> int:
    """Runs the stages and tells, at the end, how each went."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a small share of each")
    told = []
    for name, command in stages(parser.parse_args().quick).items():
        print(f"==== {name}", flush=True)
        begun = time.monotonic()
        good = subprocess.run(command, cwd=ROOT, check=False).returncode == 0
        told.append((good, f"{(time.monotonic() - begun) / 60:6.1f} min  {name}: {'good' if good else 'NOT GOOD'}"))
    print("\n".join(["====", *(line for _, line in told)]))
    return int(not all(good for good, _ in told))


if __name__ == "__main__":
    sys.exit(main())

"""Every figure of checking, cut order, reading and playing in one run: ``python -m tests.benchmarks``.

It takes a minute and prints what ``bench_check.py``, ``bench_tour.py``, ``bench_reading.py`` and ``bench_page.py``
print; each can be run by itself. It ends with 1 where one of them does.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

SCRIPTS = ("bench_check.py", "bench_tour.py", "bench_reading.py", "bench_page.py")


def main() -> int:
    """Each script in a process of its own, so that none is slowed down by what another left in memory."""
    status = 0
    for name in SCRIPTS:
        print(f"== {name}", flush=True)
        status |= subprocess.run([sys.executable, str(Path(__file__).with_name(name))], check=False).returncode
    return int(status != 0)


if __name__ == "__main__":
    sys.exit(main())

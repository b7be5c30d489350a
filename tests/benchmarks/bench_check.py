"""How long ``check`` takes, after start-up, for 40 and 400 components of the table on five faces of a folded box.

Run it by hand: ``python tests/benchmarks/bench_check.py``. It reads the job, lays it out, looks at everything in space
and plans every face; it exits with 1 where 40 components take over 1 s or 400 over 5 s. It is no test of the suite,
since a busy machine would make it lie.
"""

from __future__ import annotations

import math
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from toolpaths import pipeline
from toolpaths.job.load import read_job

LIMITS = {40: 1.0, 400: 5.0}
PARTS = (
    "octal socket", "noval socket", "6.35 mm jack", "potentiometer", "toggle switch", "pilot lamp", "fuse holder",
    "phono socket", "speaker terminal", "earth stud", "capacitor can 35 mm", "M4 screw",
)  # fmt: skip
PITCH = 75.0
"""mm; so far are neighbours apart, on faces as large as they need to be."""


def job_text(count: int) -> str:
    """A box of five faces with ``count`` components of many kinds in rows."""
    each = count // 5
    columns = math.ceil(math.sqrt(each))
    side = (columns + 1) * PITCH
    lines = ["format = 1", 'units = "mm"', 'machine = "sheet router"', "[chassis]"]
    lines += [f"inside = {{ length = {side}, depth = {side}, height = {side} }}", "folds = []"]
    lines += ['faces = { top = "top", front = "front", rear = "rear", left = "left", right = "right" }']
    for face in ("top", "front", "rear", "left", "right"):
        lines += ["[[panel]]", f'name = "{face}"', 'material = "aluminium"', "thickness = 1.5"]
        lines += [f"width = {side}", f"height = {side}"]
        for index in range(each):
            x, y = (index % columns + 1) * PITCH, (index // columns + 1) * PITCH
            lines += ["[[panel.part]]", f'part = "{PARTS[index % len(PARTS)]}"', f"at = [{x}, {y}]"]
    return "\n".join(lines) + "\n"


def main() -> int:
    slow = False
    with tempfile.TemporaryDirectory() as folder:
        for count, limit in LIMITS.items():
            path = Path(folder) / f"box{count}.toml"
            path.write_text(job_text(count), encoding="utf-8")
            begin = time.perf_counter()
            job = read_job(path)
            middle = time.perf_counter()
            findings = pipeline.check(job)
            took = time.perf_counter() - begin
            print(f"{count} components: read in {middle - begin:.2f} s, {len(findings)} findings, {took:.2f} s in all")
            slow = slow or took > limit
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())

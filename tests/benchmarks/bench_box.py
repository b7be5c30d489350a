"""How long it takes to find every distance, and every finding, among 40 and 400 components on five faces of a box.

Run it by hand: ``python tests/benchmarks/bench_box.py``. It exits with 1 where 40 components take over 1 s or 400 over
5 s. It is no test of the suite, since a busy machine would make it lie.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job.box import TRAY
from toolpaths.job.chassis import Chassis, KeepApart
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.box import assemble, gaps
from toolpaths.layout.box_checks import findings
from toolpaths.layout.panel import Panel

LIMITS = {40: 1.0, 400: 5.0}
SIDES = {"top": (3, 2), "front": (3, 1), "rear": (3, 1), "left": (2, 1), "right": (2, 1)}
"""Each face with its size, as shares of the box's height."""


def box(count: int) -> tuple[Chassis, list[Panel]]:
    """A box with room enough, and components of three kinds in rows on its five faces, a little out of line."""
    draw = random.Random(count)
    height = 22.0 * count**0.5
    chassis = Chassis(
        3 * height, 2 * height, height, 1.2, 1.2, tuple((face, face) for face in SIDES), TRAY, "after bending", 10.0
    )
    each = count // len(SIDES)
    return chassis, [panel(name, across * height, up * height, each, draw) for name, (across, up) in SIDES.items()]


def panel(name: str, width: float, height: float, count: int, draw: random.Random) -> Panel:
    columns = max(1, round((count * width / height) ** 0.5))
    rows = -(-count // columns)
    placements = []
    for index in range(count):
        x = (index % columns + 0.5) * width / columns + draw.uniform(-2, 2)
        y = (index // columns + 0.5) * height / rows + draw.uniform(-2, 2)
        placements.append(placement(index, x, y, draw))
    outline = rounded_rectangle((width / 2, height / 2), width, height, 0)
    return Panel(
        name, "mild steel", 1.2, "1.2 mm", outline, (0, 0, width, height), (0, 0), False, False, (), (), (5, 5),
        placements=tuple(placements),
    )


def placement(index: int, x: float, y: float, draw: random.Random) -> Placement:
    wide = draw.uniform(12, 24)
    inside = circle((x, y), wide) if index % 2 else rounded_rectangle((x, y), wide, wide * 0.8, 1.5, draw.uniform(0, 3))
    bodies = (
        Body("body", inside, -1.2 - draw.uniform(10, 30), -1.2),
        Body("nut", circle((x, y), 14), 0.0, 3.0),
        Body("knob", circle((x, y), 18), 3.0, 18.0),
        Body("spanner", circle((x, y), 20), 0.0, 15.0),
    )
    traits = ({"mains"}, {"signal input"}, {"hot", "glass"}, {"transformer"}, {"capacitor can"}, set())[index % 6]
    return Placement("part", f"part[{index + 1}]", "", (x, y), 0.0, bodies, frozenset(traits), clearance=1.0)


def main() -> int:
    slow = False
    for count, limit in LIMITS.items():
        chassis, panels = box(count)
        begin = time.perf_counter()
        things = assemble(panels, chassis, (), frozenset({"mild steel"}))
        near = sum(1 for _ in gaps(things.things, 60.0))
        middle = time.perf_counter()
        every = sum(1 for _ in gaps(things.components)) if count <= 40 else 0
        between = time.perf_counter()
        found = findings(panels, chassis, (), KeepApart(), frozenset({"mild steel"}), "mm")
        took = time.perf_counter() - begin
        print(
            f"{count} components: {near} pairs within 60 mm in {middle - begin:.2f} s, "
            f"all {every} pairs in {between - middle:.2f} s, "
            f"{len(found)} findings in {took - (between - begin):.2f} s; {took:.2f} s in all"
        )
        slow = slow or took > limit
    return int(slow)


if __name__ == "__main__":
    sys.exit(main())

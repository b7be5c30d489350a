"""Whether the key of a keyed hole is milled, or left for the file: what the tables say before anything is planned."""

from __future__ import annotations

from collections.abc import Mapping

from toolpaths.job import KeyedHole
from toolpaths.tables import formulas
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import BORE_RATIO, MILL_PAST, SAME_POINT, SLOT_AIR


def key_is_milled(
    hole: KeyedHole, thickness: float, material: Material, machine: Machine, cutters: Mapping[int, Cutter]
) -> bool:
    """Whether some end mill of the table goes into the key, leaves no larger radius in its corners than it may, reaches
    through the sheet, and turns no faster at the spindle's slowest than the material allows."""
    return any(
        cutter.kind == "end mill"
        and material.family in cutter.serves
        and cutter.diameter + SLOT_AIR <= hole.key_width + SAME_POINT
        and cutter.diameter / 2 <= hole.max_corner_radius + SAME_POINT
        and cutter.diameter * BORE_RATIO <= hole.diameter + SAME_POINT
        and cutter.flute_length >= thickness + MILL_PAST
        and _turns_slowly_enough(cutter, material, machine)
        for cutter in cutters.values()
    )


def _turns_slowly_enough(cutter: Cutter, material: Material, machine: Machine) -> bool:
    speed = material.speed(cutter.kind, cutter.material)
    return speed is not None and formulas.rpm(speed, cutter.diameter) >= machine.min_rpm

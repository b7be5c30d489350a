"""Which engraver makes the lettering of a panel: its line is the design's, so it is chosen with the shapes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from toolpaths.layout.panel import Legend
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import SAME_LINE


def engraver_for(
    legends: Sequence[Legend], material: Material, machine: Machine, cutters: Mapping[int, Cutter]
) -> Cutter | None:
    """One engraver for all: whose lines are too wide for the fewest and by least, and of those that with the widest.

    None where nothing is engraved, and where the machine has none at hand that serves the material and is long enough.
    """
    depths = [(legend, legend.depth) for legend in legends if legend.depth is not None]
    if not depths:
        return None

    def rank(cutter: Cutter) -> tuple[int, float, float, int]:
        widths = [cutter.width_at(depth) for _, depth in depths]
        over = [width - SAME_LINE * legend.line for width, (legend, _) in zip(widths, depths, strict=True)]
        beyond = sum(max(0.0, by) for by in over)
        return sum(by > 0 for by in over), round(beyond, 9), -round(sum(widths), 9), cutter.number

    deepest = max(depth for _, depth in depths)
    at_hand = [cutter for cutter in _serving(material, machine, cutters) if cutter.flute_length >= deepest]
    return min(at_hand, key=rank, default=None)


def _serving(material: Material, machine: Machine, cutters: Mapping[int, Cutter]) -> Iterator[Cutter]:
    held = {number for _, number in machine.program.slots}
    for cutter in cutters.values():
        if cutter.kind != "engraver" or material.family not in cutter.serves or (held and cutter.number not in held):
            continue
        if material.speed(cutter.kind, cutter.material) is not None:
            yield cutter


def with_groove(legend: Legend, cutter: Cutter | None) -> Legend:
    """The legend with the groove that an engraver leaves at its depth."""
    if cutter is None or legend.depth is None:
        return legend
    return replace(legend, groove=(cutter.width_at(0.0), cutter.width_at(legend.depth)))

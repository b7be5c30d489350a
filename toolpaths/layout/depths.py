"""Findings about depth in the sheet: floors, the cones of countersinks, and threads.

Each is `common practice`: how thin a floor may be, and how many turns a thread wants.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

from toolpaths.finding import Finding
from toolpaths.layout.panel import Opening, Panel
from toolpaths.units import plain

FLOOR_LEAST: Final = 0.3
"""mm; under this a floor is what sheet bows and touching off is out by: the cutter comes through."""

FLOOR_METAL: Final = 0.5
FLOOR_BOARD: Final = 1.5
"""mm; under these a floor dents in metal, and is little more than a veneer in board."""

TURNS: Final = 1.5
"""A thread of fewer turns strips before its screw is tight."""

Say = Callable[[float], str]
"""A length in words."""


def floors(panel: Panel, family: str, say: Say) -> Iterator[Finding]:
    """Blind openings whose floor is thin."""
    wanted = FLOOR_BOARD if family == "board" else FLOOR_METAL
    for opening in _one_of_each(panel):
        if opening.depth is None or not opening.blind:
            continue
        floor = panel.thickness - opening.depth
        if floor >= wanted - 1e-6:
            continue
        too_thin = floor < FLOOR_LEAST - 1e-6
        least = FLOOR_LEAST if too_thin else wanted
        said = (
            f"{opening.tag}: a floor of {say(floor)} stays under {say(opening.depth)} of depth in "
            f"{say(panel.thickness)}; make it at most {say(panel.thickness - least)} deep, or through"
        )
        yield Finding("error" if too_thin else "warning", "thin-floor", panel.name, opening.feature, said)


def countersinks(panel: Panel, say: Say) -> Iterator[Finding]:
    """Cones that come out below, or meet the floor of a blind hole."""
    for opening in _one_of_each(panel):
        cone, hole = opening.countersink, opening.diameter
        if cone is None or hole is None or opening.finish != "machine":
            continue
        wide = f"a countersink {say(cone.diameter)} wide of {plain(math.degrees(cone.angle))}°"
        slope = 2 * math.tan(cone.angle / 2)
        if opening.depth is None:
            room = panel.thickness - opening.top
            below = cone.diameter - room * slope
            if below > hole + 1e-6:
                said = (
                    f"{opening.tag}: {wide} is still {say(below)} wide at the underside of {say(room)}, wider than its "
                    f"hole of {say(hole)}: at most {say(hole + room * slope)} wide"
                )
                yield Finding("error", "deep-countersink", panel.name, opening.feature, said)
        elif cone.depth > opening.depth - opening.top + 1e-6:
            most = (opening.depth - opening.top) * slope
            said = (
                f"{opening.tag}: the tip of {wide} reaches {say(cone.depth)} deep, below its floor: "
                f"at most {say(most)} wide, or a deeper hole"
            )
            yield Finding("error", "deep-countersink", panel.name, opening.feature, said)


def threads(panel: Panel, say: Say) -> Iterator[Finding]:
    """Threads of which the sheet holds too few turns."""
    for opening in _one_of_each(panel):
        if opening.thread is None:
            continue
        long = (opening.depth or panel.thickness) - opening.top - (_threadless(opening) if opening.countersink else 0.0)
        turns = long / opening.thread.pitch
        if turns < TURNS - 1e-6:
            said = (
                f"{opening.tag}: {say(max(long, 0.0))} hold {max(turns, 0.0):.1f} turns of {opening.thread.name} "
                f"(pitch {say(opening.thread.pitch)}); under {TURNS:g} it strips: use a nut, a press-in nut or a finer "
                "thread"
            )
            yield Finding("note", "short-thread", panel.name, opening.feature, said)


def _one_of_each(panel: Panel) -> Iterator[Opening]:
    """Of a ring's or grid's holes that begin at one height only the first: what holds for it holds for all."""
    told: set[tuple[str, float]] = set()
    for opening in panel.openings:
        if (opening.feature, opening.top) not in told:
            told.add((opening.feature, opening.top))
            yield opening


def _threadless(opening: Opening) -> float:
    """How deep a countersink takes the thread away: to where its cone is as wide as the hole, mm."""
    cone, hole = opening.countersink, opening.diameter
    return 0.0 if cone is None or hole is None else (cone.diameter - hole) / 2 / math.tan(cone.angle / 2)

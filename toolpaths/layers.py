"""The layers of our flat drawings by name: what is to become of the geometry on each.

A drawing of ours that comes in again is known by them. Names are capitals, digits, hyphens and points: what readers of
every age take.
"""

from __future__ import annotations

import math
import re
from typing import Final

OUTLINE: Final = "OUTLINE"
OPENINGS: Final = "OPENINGS"
PILOTS: Final = "PILOTS"
MARKS: Final = "MARKS"
BY_HAND: Final = "BY-HAND"
BENDS: Final = "BENDS"
BLANK: Final = "BLANK"
NOTES: Final = "NOTES"

_DEPTH = re.compile(r"(?:BY-HAND-)?BLIND-([0-9]+(?:\.[0-9]+)?)-MM")
_CONE = re.compile(r"CONES-([0-9]+(?:\.[0-9]+)?)-DEG")

MEANINGS: Final[dict[str, str]] = {
    OPENINGS: "cut through",
    PILOTS: "cut through: small holes that are opened further by hand",
    MARKS: "do not cut: centres to be marked",
    BY_HAND: "do not cut: final shapes of openings that are made by hand",
    BENDS: "do not cut: a bend lies beyond, the sheet is flat from here inwards",
    BLANK: "do not cut as it is: the flat blank that this face is a part of, its corners not yet notched",
    OUTLINE: "cut last: the edge of the part",
}
"""What is to become of each layer of a fixed name, inner ones first."""


def by_hand_layer(depth: float | None) -> str:
    """The layer of final shapes that are left to the hand."""
    return BY_HAND if depth is None else f"{BY_HAND}-{blind_layer(depth)}"


def is_by_hand(layer: str) -> bool:
    """Whether a layer has final shapes that are left to the hand.

    >>> is_by_hand("by-hand"), is_by_hand("BY-HAND-BLIND-2-MM"), is_by_hand("HANDLES")
    (True, True, False)
    """
    return layer.upper() == BY_HAND or (layer.upper().startswith(f"{BY_HAND}-") and depth_of(layer) is not None)


def blind_layer(depth: float) -> str:
    """The layer of openings that are not through, by their depth in mm.

    >>> blind_layer(2.5), depth_of("BLIND-2.5-MM"), depth_of("BY-HAND-BLIND-2-MM"), depth_of("OPENINGS")
    ('BLIND-2.5-MM', 2.5, 2.0, None)
    """
    return f"BLIND-{_figure(depth)}-MM"


def depth_of(layer: str) -> float | None:
    """The depth that a layer's name states, mm; None where it states none."""
    found = _DEPTH.fullmatch(layer.upper())
    return float(found[1]) if found else None


def cone_layer(angle: float) -> str:
    """The layer of the mouths of countersinks with this whole angle, rad.

    >>> cone_layer(math.pi / 2), round(cone_angle_of("CONES-90-DEG") or 0, 9), cone_angle_of("NOTES")
    ('CONES-90-DEG', 1.570796327, None)
    """
    return f"CONES-{_figure(math.degrees(angle))}-DEG"


def cone_angle_of(layer: str) -> float | None:
    """The angle of countersinks that a layer's name states, rad; None where it states none."""
    found = _CONE.fullmatch(layer.upper())
    return math.radians(float(found[1])) if found else None


def meaning(layer: str) -> str:
    """What is to become of a layer, in words; empty for one that is not ours."""
    if layer in MEANINGS:
        return MEANINGS[layer]
    if cone_angle_of(layer) is not None:
        return "do not cut: mouths of countersinks, made by hand or on a mill"
    if is_by_hand(layer):
        return f"{MEANINGS[BY_HAND]}, {depth_of(layer):g} mm deep"
    depth = depth_of(layer)
    return "" if depth is None else f"do not cut through: pockets and blind holes, {depth:g} mm deep"


def _figure(value: float) -> str:
    """Six decimals at most: a millionth of a mm or of a degree."""
    return f"{value:.6f}".rstrip("0").rstrip(".")

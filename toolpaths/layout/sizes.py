"""The size of an opening in words, as a shop of the job's units says it: on drawing, setup sheet and schedule."""

from __future__ import annotations

import math

from toolpaths.job import Cutout, DHole, DoubleDHole, DrawnShapes, Feature, KeyedHole, Polygon, Slot
from toolpaths.layout.panel import Opening
from toolpaths.tables.load import drill_name
from toolpaths.units import Units, figure, inch_fraction, is_exact_in_inches, plain, said


def size_words(feature: Feature, opening: Opening, units: Units) -> str:
    """The size of an opening that ``feature`` makes; what it says is in mm, and stays so in a job in mm.

    A kind that has no words in inches keeps its figures in mm and says so.
    """
    if units == "mm":
        return opening.size_text
    if opening.diameter is not None:
        return round_inches(opening.diameter)
    match feature:
        case DHole():
            return _pair("D ", "/", feature.diameter, feature.across_flat)
        case DoubleDHole():
            return _pair("DD ", "/", feature.diameter, feature.across_flats)
        case Cutout():
            text = _pair("", "x", feature.width, feature.height)
            return f"{text} R{figure(feature.corner_radius, units)}" if feature.corner_radius else text
        case Slot():
            return _pair("slot ", "x", feature.length, feature.width)
        case KeyedHole():
            key = _pair("", "x", feature.key_width, feature.key_depth)
            return f"key {figure(feature.diameter, units)} / {key}"
        case Polygon():
            x0, y0, x1, y1 = opening.shape.bounds
            text = _pair("polygon ", "x", x1 - x0, y1 - y0)
            return f"{text} R{figure(feature.corner_radius, units)}" if feature.corner_radius else text
        case DrawnShapes():
            x0, y0, x1, y1 = opening.shape.bounds
            return _pair("contour ", "x", x1 - x0, y1 - y0)
    return f"{opening.size_text} mm"


def turn_words(opening: Opening, mirrored: bool = False) -> str:
    """Which way an opening lies, as words behind its size; empty for one that lies along the panel's edges.

    A flat or key is always told, since its side matters. ``mirrored``: as the panel lies turned over left to right.
    """
    turned = opening.turned
    if turned is None:
        return ""
    once = 360.0 if turned.what in ("flat", "key") else 180.0
    degrees = round(math.degrees(math.pi - turned.angle if mirrored else turned.angle), 3) % once
    if not turned.what and degrees == 0:
        return ""
    return f", {turned.what} at {plain(degrees)}°" if turned.what else f", at {plain(degrees)}°"


def _pair(before: str, between: str, one: float, other: float) -> str:
    """Two figures in inches; the mm beside them where those are round and the inches are not exact."""
    text = f"{before}{figure(one, 'in')} {between} {said(other, 'in')}"
    if (is_exact_in_inches(one) and is_exact_in_inches(other)) or not (_round_mm(one) and _round_mm(other)):
        return text
    return f"{text} ({plain(one, 2)} {between} {plain(other, 2)} mm)"


def _round_mm(length: float) -> bool:
    return abs(round(length, 2) - length) < 1e-6


def round_inches(diameter: float) -> str:
    """The size of a round hole in an inch job: a fraction where one is exact, else decimals.

    The number or letter drill of exactly this size stands beside it, or the mm that the job gave.

    >>> round_inches(9.525), round_inches(5.1054), round_inches(3.2), round_inches(9.652)
    ('Ø3/8 in', 'Ø0.201 in (#7)', 'Ø0.1260 in (3.2 mm)', 'Ø0.380 in')
    """
    text = f"Ø{said(diameter, 'in')}"
    if inch_fraction(diameter):
        return text
    beside = drill_name(diameter)
    if not beside and _round_mm(diameter) and not is_exact_in_inches(diameter):
        beside = f"{plain(diameter, 2)} mm"
    return f"{text} ({beside})" if beside else text

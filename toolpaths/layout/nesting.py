"""Openings that lie in the floor of a blind one: a rebate. Which overlaps are meant, and where such an opening begins.

A blind opening may hold through openings and deeper blind ones that lie wholly within it; everything else that
overlaps is a mistake.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import inside
from toolpaths.geometry.shapes import circle
from toolpaths.layout.panel import Opening
from toolpaths.tolerance import FACET_SAGITTA

SAME_SHAPE = 1e-4
"""Two shapes whose areas differ by less than this share, one inside the other, are one shape."""


def in_floor(inner: Opening, outer: Opening) -> bool:
    """Whether ``inner`` lies in the floor of the blind opening ``outer``: wholly within it, smaller, and deeper."""
    if outer.depth is None or (inner.depth is not None and inner.depth <= outer.depth):
        return False
    widest = mouth(inner)
    if widest.area > (1 - SAME_SHAPE) * outer.shape.area:
        return False
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = widest.bounds, outer.shape.bounds
    slack = 2 * FACET_SAGITTA
    if ax0 < bx0 - slack or ay0 < by0 - slack or ax1 > bx1 + slack or ay1 > by1 + slack:
        return False
    if inner.diameter is not None and outer.diameter is not None:
        return math.dist(inner.centre, outer.centre) + mouth_width(inner) / 2 <= outer.diameter / 2 + slack
    return inside(widest, outer.shape)


def mouth(opening: Opening) -> Contour:
    """The opening at its widest: its countersink where it has one, else its shape."""
    return circle(opening.centre, opening.countersink.diameter) if opening.countersink else opening.shape


def mouth_width(opening: Opening) -> float:
    """How wide a round opening is at its widest, mm."""
    return opening.countersink.diameter if opening.countersink else opening.diameter or 0.0


def with_tops(openings: Sequence[Opening]) -> tuple[Opening, ...]:
    """The openings with ``top`` set: how deep the floor lies that they are made in."""
    rebates = [opening for opening in openings if opening.blind]
    if not rebates:
        return tuple(openings)
    return tuple(
        replace(opening, top=max((rebate.depth or 0.0 for rebate in rebates if in_floor(opening, rebate)), default=0.0))
        for opening in openings
    )

"""Lengths, ways and things as findings about the box put them into words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from toolpaths.geometry.segment import XY
from toolpaths.layout.bodies import Placement
from toolpaths.layout.box import Side, Thing
from toolpaths.units import Units, told

WAYS: Final[dict[str, XY]] = {
    "to the right": (1.0, 0.0), "to the left": (-1.0, 0.0), "upwards": (0.0, 1.0), "downwards": (0.0, -1.0),
}  # fmt: skip
"""The ways in which a thing can be moved on its panel, as seen from the panel's outside."""

AWAY_FROM: Final[dict[Side, str]] = {
    "left": "to the right", "right": "to the left", "lower": "upwards", "upper": "downwards",
}  # fmt: skip
"""The way from each side of a panel."""


MICRON: Final = 0.001
"""mm; no hand moves a thing by less."""


@dataclass(frozen=True, slots=True)
class Telling:
    """Words for lengths in a job of these units."""

    units: Units

    def say(self, length: float) -> str:
        """A length: in mm, or in an inch job in inches with the mm beside them."""
        return told(length, self.units)

    def cure(self, length: float) -> str:
        """A length to move by, rounded up to a tenth of a mm, so that the rounded number cures to a micron."""
        return self.say(math.ceil(length * 10 - 0.01) / 10)

    def moves(self, across: float, up: float) -> str:
        """A move on a panel, mm to the right and upwards, in words; what is below a micron is left out."""
        steps = (("to the right", across), ("to the left", -across), ("upwards", up), ("downwards", -up))
        return " and ".join(f"{self.cure(by)} {way}" for way, by in steps if by > MICRON)


def it(placement: Placement) -> str:
    """What is to be moved where a component stands wrong: a row's stands where its row puts it."""
    return "its row" if placement.number else "it"


def own(thing: Thing) -> str:
    """The finding's own thing, whose panel and place in the job are told anyway."""
    return thing.name


def named(thing: Thing, beside: Thing) -> str:
    """A thing by its name, and by its place too where the thing beside it has the same name."""
    return other(thing) if thing.name == beside.name else thing.name


def other(thing: Thing) -> str:
    """Another thing with its panel and its place in the job."""
    known = [part for part in (thing.panel, thing.feature) if part]
    if thing.kind == "wall":
        return thing.name
    return f"{thing.name} ({', '.join(known)})" if known else thing.name

"""What a component is to the box it stands in: the room that it takes, and what the rules ask about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from toolpaths.geometry.contour import Contour

Role = Literal["body", "knob", "nut", "spanner", "flange", "terminal"]
"""What a piece of room is for: a spanner needs its room only while its own nut is turned."""

Side = Literal["outside", "inside"]
"""Of the panel that a component stands on."""

Trait = Literal[
    "mains",
    "signal input",
    "hot",
    "glass",
    "capacitor can",
    "transformer",
    "earth stud",
    "fuse",
    "mains inlet",
    "live terminals",
    "cable",
    "grommet",
    "strain relief",
    "loudspeaker",
]
"""What the rules of spacing and safety ask about a component."""


@dataclass(frozen=True, slots=True)
class Room:
    """One piece of the room that a component takes on one ``side`` of its panel.

    ``footprint`` is convex and counter-clockwise, about the component's own centre, as seen from the panel's outside;
    it begins ``off`` mm away from that surface of the sheet and ends ``reach`` mm away from it.
    """

    role: Role
    side: Side
    footprint: Contour
    off: float
    reach: float

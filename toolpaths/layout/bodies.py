"""The room that components take on a panel, outside and inside, as upright prisms over the sheet.

Heights run along the panel's outward normal from its outside surface: the sheet lies between -thickness and 0, what
stands outside is above 0, what hangs inside is below -thickness. Footprints are in panel coordinates, as seen from
the outside.
"""

from __future__ import annotations

from dataclasses import dataclass

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY
from toolpaths.job.component import Role, Side, Trait


@dataclass(frozen=True, slots=True)
class Body:
    """One prism: ``footprint`` counter-clockwise and convex, between ``low`` and ``high`` mm along the normal."""

    role: Role
    footprint: Contour
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Placement:
    """A component in its place: ``part`` names its row, ``feature`` its place in the job (``part[2]``).

    ``axis`` is the direction of a transformer's winding in the panel's plane (unit; None where it has none, or where
    it stands along the normal). ``clearance`` is the air that it wants round its bodies, mm.
    """

    part: str
    feature: str
    label: str
    centre: XY
    angle: float
    bodies: tuple[Body, ...]
    traits: frozenset[Trait]
    axis: XY | None = None
    clearance: float = 0.0
    number: int = 0
    """In its row, from 1; 0: it stands in none."""
    fitted_from: Side = "outside"
    passes: bool = False
    """Whether what it has on the far side of the sheet goes in through its own hole."""

    @property
    def name(self) -> str:
        """How findings call it: by its label, or by its part and its number in the row."""
        part = f"{self.part} no. {self.number}" if self.number else self.part
        return f"{self.label} ({part})" if self.label else part

"""The shop rules that planning follows, in millimetres and radians unless the name says otherwise.

Each is `common practice` unless its line names a source; figures that depend on the material stand in its table.
"""

from __future__ import annotations

from typing import Final

from toolpaths.tables.rows import Cutter

RETRACT: Final = 2.0
"""Traverse height above the bare sheet between neighbouring cuts: thin sheet bows up under a drill."""

DRILL_PAST: Final = 0.5
"""A through hole goes this far past the drill's full diameter."""

GRABS_ABOVE: Final = 6.5
"""A twist drill over this diameter grabs thin metal, lifts it and leaves a three-lobed hole."""

THIN_METAL: Final = 3.0
"""Metal under this counts as sheet: no drill over GRABS_ABOVE, no pecking."""

SPOT_SHARE: Final = 0.5
"""A spot is this share of the diameter of the drill that follows."""

SHALLOW_SHARE: Final = 0.4
"""Spots and centre marks go at most this share of the sheet deep."""

SPOT_DEEPEST: Final = 1.0
"""A spot is at most this deep."""

MARK_DEEPEST: Final = 0.5
"""A centre mark is at most this deep."""

MARK_WIDEST: Final = 2.0
"""A centre mark is at most this wide."""

PILOT_ABOVE: Final = 6.0
"""Drills over this get a pilot, in stock thicker than the drill's point."""

PILOT_SHARE: Final = 0.25
"""Pilot diameter as a share of the drill's (machining_practice: about 1/4, citing Walker, Modern Metalworking)."""

PECK_BEYOND: Final = 3.0
"""Peck beyond this many diameters (formulafactory.tools; metal drilling reference guide)."""

PECK_STEP: Final = 1.0
"""Each peck is this many diameters (from memory: 0.5 to 1)."""

PECK_RETRACT: Final = 0.5
"""Pecks are counted from this far above the sheet: stock that is pecked does not bow, and less air is fed through."""

BREAKTHROUGH_FEED: Final = 0.5
"""Share of the feed while the point breaks through (NAVEDTRA 14345: reduce it there; the half is common practice)."""

STEPOVER: Final = 0.4
"""Width of cut of a clearing pass, in cutter diameters."""

FULL_SLOT_BEYOND: Final = 0.6
"""Where a pass comes further than this from the ground cleared before it, in cutter diameters, it counts as a slot."""

LEFT_IN_CORNERS: Final = 5.0
"""Roughing keeps at most this many times its allowance from the finishing pass, as in a corner of 23 degrees; beyond
that it has left out a narrow part, which the finishing pass would have to slot at full depth."""

POWER_SHARE: Final = 0.7
"""Share of the spindle's rated power that a cut may ask for: input rating, losses and a dull edge."""

BOARD_FIRST_PASS: Final = 1.0
"""First pass in board is at most this deep, so that the veneer is cut and not torn."""

POINT_SKIN: Final = 0.5
"""A drill's point ends at least this far above the underside: else it dimples it, or comes through."""

ONE_SIDE_APPROACH: Final = 1.0
"""Where there is backlash, every hole is approached from this far left and below, so that the screws push one way."""

FRAGILE_UNDER: Final = 2.0
"""An end mill thinner than this snaps at the first hard spot: it is taken only where nothing thicker goes in."""

LEAST_SHIFT: Final = 0.05
"""Where the finishing allowance must shrink to fit a tight opening, below this a finishing pass is pointless."""

ONION_SKIN: Final = 0.2
"""Roughing of an opening without tabs leaves this much at the bottom: only the last pass frees the slug."""

TAB_CORNER_CLEARANCE: Final = 1.0
"""A tab keeps this far from the end of its straight run: a corner cannot be sawn or filed flush."""

NOTHING_TO_FILE: Final = 0.1
"""A corner that keeps less than this is not worth a file."""

NARROWEST_SLUG: Final = 3.0
"""A slug narrower than this between its kerfs is a sliver that bends into the cutter: clear it to chips."""


ENGRAVED_AT_ONCE: Final = {"metal": 0.2, "board": 1.0}
"""An engraver goes at most this deep in one pass, by family: deeper, its tip breaks off."""

ENGRAVED_SHARE: Final = 0.4
"""Lettering is at most this share of the sheet deep, as spots and marks are: a line is a notch that sheet bends at."""

ENGRAVER_ABOVE: Final = 0.5
"""From this far above the sheet an engraver is fed down at its plunge, mm."""


def usual(cutter: Cutter) -> bool:
    """Whether an end mill is taken wherever it serves; the others stand back until no usual one does.

    HSS runs at half of carbide's speed and dulls sooner. A down-cut bit packs its chips into the kerf; a compression
    bit needs a first pass deeper than its tip, and board begins with BOARD_FIRST_PASS.
    """
    return cutter.material == "carbide" and cutter.twist == "up"


def mark_depth(thickness: float) -> float:
    """How deep a centre mark goes in sheet of ``thickness``."""
    return min(MARK_DEEPEST, SHALLOW_SHARE * thickness)

"""Every tolerance of the project, in millimetres unless the name says otherwise, each with its reason."""

from typing import Final

SAME_POINT: Final = 1e-7
"""Two computed points closer than this are one: far above float error at 10 m, far below any output's last digit."""

FACET_SAGITTA: Final = 0.0005
"""Arc to chord distance of the faceted copies that judge set questions: a twentieth of PIECE."""

OVERLAY_GRID: Final = 1e-7
"""Areas are laid over each other on this grid: with sides that differ in the last bit alone, an overlay without one can
find nothing in common."""

PIECE: Final = 0.01
"""The most that the piece in hand may differ from the design: the contract of verification."""

ALIKE: Final = 1e-4
"""Strokes that differ in no coordinate by more than this, each seen from the centre of its opening, are one stroke made
at two places: a tenth of a text's last digit, and a fifth of what the faceted copies lose that judge them."""

ROUNDING_MM: Final = 0.00254
"""Two half-steps of the coarsest printed digit, 0.0001 in (in mm it is 0.001): what a text may differ from the plan in
each coordinate."""

ARC_CENTRE: Final = 0.002
"""Start and end radius of an arc may differ by this (RS274/NGC 3.5.3.2: 0.002 mm)."""

ARC_CENTRE_INCH: Final = 0.0002
"""The same in a program in inches (RS274/NGC 3.5.3.2: 0.0002 in, which is 0.00508 mm)."""

SPEED_MARGIN: Final = 1.1
"""Surface speed above this many times the table's figure is an error."""

CHIP_MARGIN: Final = 1.5
"""Feed per tooth above this many times the table's upper figure is an error."""

CHIP_FLOOR_MARGIN: Final = 0.9
"""A feed is too slow below this many times the floor's: floors are habits, and a printed feed is rounded."""

CLEAR_ABOVE: Final = 5.0
"""Clear height above the tallest clamp or flange, and the least clear height above the bare sheet."""

SPOILBOARD_DEPTH: Final = 2.0
"""A cut goes at most this far into the spoilboard, beyond what a drill's point needs."""

SPOILBOARD_FLOOR: Final = 3.0
"""Nothing comes nearer than this to the underside of the spoilboard."""

TOUCH_OFF_CLEARANCE: Final = 5.0
"""The touch-off point keeps at least this from features, clamps and bends."""

CLAMP_CLEARANCE: Final = 1.0
"""Cutter, shank and nut are planned to keep this from a clamp: clamps are set by eye."""

CHIPS_ONLY_UP_TO: Final = 25.0
"""An opening up to this across (smallest enclosing circle) is cleared to chips; a larger one leaves a slug."""

NO_SLUG_UNDER: Final = 12.0
"""An opening nowhere wider than this is cleared to chips however long it is: its slug would be a sliver, or nothing."""

BORE_RATIO: Final = 1.15
"""A bore needs a hole of at least this many times the cutter's diameter."""

LEAST_FRAME: Final = 5.0
"""The frame round a machined outline is nowhere narrower than this: it carries the panel by its tabs (common practice).
"""
SLOT_AIR: Final = 0.05
"""A narrow part is wider than the cutter that goes into it by this: one of the same width would rub on both sides."""

MILL_PAST: Final = 0.3
"""An end mill ends this far below the sheet, so that its corners, which wear first, cut no metal."""

WIDEST_LINE: Final = 0.2
"""An engraved line over this share of its lettering's height fills the letters' bowls and the gaps between them, which
are two tenths of the height (ISO 3098, from memory)."""

SAME_LINE: Final = 1.1
"""An engraved line this many times the width that goes with its lettering is not told from it by eye."""

MOST_OF_A_CIRCLE: Final = 3.5
"""Radians; an arc that turns further (a circle with a flat or a key) takes tabs as a circle does: it is no corner."""

LEAST_CORNER: Final = 0.5
"""Radians; an arc that turns by less (29 degrees) is a piece of a curve and no corner: nobody drills or marks it, and a
saw blade that follows its neighbours follows it too."""

LEAST_TAB_NECK: Final = 1.5
"""The narrowest neck of a tab (its width at the edge less the cutter) that still holds."""

SAME_GAUGE: Final = 0.0127
"""A sheet within half a thousandth of an inch of a gauge is that gauge: a micrometer in inches reads both alike."""

PEN_CHORD: Final = 0.01
"""A chord that a pen draws for an arc leaves it by no more: an eighteenth of the line of a 0.18 mm pen."""

CURVE: Final = 0.0005
"""A curve that stands for an arc on paper leaves it by no more: half a micrometre, far below any printer's dot."""

DRAWN_CURVE: Final = 0.0008
"""Ellipses and splines of a drawing are followed by arcs that leave them by no more: a twelfth of PIECE, and with what
is rounded on the way out still within a micrometre."""

JOIN_GAP: Final = 0.01
"""Loose ends of a drawing that are no further apart are joined unless the job says otherwise: PIECE, which nobody can
see on the piece."""

SAME_END: Final = 1e-5
"""Ends of a drawing that are no further apart are one: drawings are written with six decimals or more."""

STRAIGHT_TURN: Final = 2e-5
STRAIGHT_BOW: Final = 5e-5
"""An arc that turns by less, in rad, and bows by less, in mm, is taken for a line: its ends meet its neighbours at an
angle far below that of a corner, and its radius would have more digits than a program has."""

PARTS_OVERLAP: Final = 3.0
"""Where the parts of a contour meet, each is cut this far beyond the line, so that no pillar stays between them (common
practice)."""

PARTS_MEET_WITHIN: Final = 12.0
"""Within this of the line the wall runs plainly across: there each part's ways on and off the wall lie, and no tab."""

PIN_BELOW_TOP: Final = 0.5
"""A dowel pin that stays ends so far below the top of the sheet at least, so that nothing that turns meets it."""

PIN_LEAST_IN_SHEET: Final = 1.0
"""A dowel pin that stays stands at least so far in the sheet with its full diameter: in less, the rounded edge of the
hole and of the pin is most of what is left, and the sheet climbs over it (common practice). Where the sheet is too thin
for that below PIN_BELOW_TOP, the pins stand out of it, and all are drawn when it is clamped."""

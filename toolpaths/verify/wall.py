"""The wall of a large opening: free all round but for the holding tabs, which must be as declared.

A slug may remain in the middle; within half a kerf of the wall everything must be gone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import shapely

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Arc
from toolpaths.layout.panel import Opening, Part
from toolpaths.layout.tabs import TabSize, resolve, tabs_in_part
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import CHIPS_ONLY_UP_TO, LEAST_CORNER, LEAST_TAB_NECK, MOST_OF_A_CIRCLE, PARTS_OVERLAP, PIECE
from toolpaths.verify import overlay
from toolpaths.verify.corners import sharp_corner_remains
from toolpaths.verify.moves import Move, Work
from toolpaths.verify.swept import Sweeps, pieces

TAB_WIDTH = 0.1
"""A tab's width at the wall may differ by this, mm: it is measured on the scallops of the cutter's ends."""

TAB_HEIGHT = 0.02
"""A tab's height may differ by this, mm: twice PIECE, a fortieth of the lowest tab."""

CONTACT = 0.05
"""mm of wall; a shorter contact is no tab, and is judged as material left."""

SPECK = 1e-4
"""mm²; an area below this holds nothing: 0.01 mm by 0.01 mm."""

FAR = 1e5
"""mm; a line that parts a contour has its other side no further away than this."""

BEYOND_CELL = PARTS_OVERLAP + 10.0
"""mm; a cut of a part of a contour goes so far beyond it at most: the overlap, and the ways onto and off the wall."""

TIGHT = 2.0
"""An arc of the wall is a corner where its radius is under this many tab widths: no saw blade follows it."""


@dataclass(frozen=True, slots=True)
class _Contact:
    """One stretch of wall that still holds: its middle, and its length along the wall."""

    line: Any
    width: float

    @property
    def middle(self) -> tuple[float, float]:
        """X and Y of its middle."""
        x, y = shapely.get_coordinates(shapely.line_interpolate_point(self.line, 0.5, normalized=True))[0]
        return float(x), float(y)


def judge_wall(
    work: Work, opening: Opening, contour: Contour | None, cuts: list[Move], area: Any, inner: Any,
    allowed: list[Any], gone: Any, sweeps: Sweeps, name: str,
) -> None:
    """Holds the wall of one large opening against its design: freed, or held by exactly the declared tabs.

    ``area`` is the opening, ``inner`` the same shrunk by PIECE (of an outline, all of the sheet that lies PIECE or more
    beside it), ``allowed`` what may stay in its corners, ``gone`` what is cleared at the bottom of the sheet.
    """
    tell = work.tell
    if contour is None:
        return
    cutters = [move.cutter for move in cuts if move.cutter is not None and move.low <= -work.panel.thickness + PIECE]
    if not cutters:
        return
    last = max(cuts, key=lambda move: move.order)
    finisher = _finisher(cutters)
    # A tab may stand where a larger cutter would have left a corner: only what this one leaves is no tab.
    limit = 0.0 if opening.outside else min(opening.corner_limit, finisher.radius)
    ring = inner.interiors[0] if opening.outside else inner.exterior
    wall = _free_of(shapely.LineString(ring.coords), sharp_corner_remains(contour, area, limit))
    cell = None if opening.part is None else own_cell(work, opening.part)
    if cell is not None:
        wall = overlay.intersection(wall, cell)
        _judge_beyond(work, opening, cuts, ring, cell, sweeps, name)
    found = _contacts(wall, gone, finisher, contour, opening.outside)
    contacts = [one for one in found if not _covered(one, allowed)]
    held = sum(contact.width for contact in contacts)
    if held > (contour.perimeter if cell is None else wall.length) / 2:
        x, y = contacts[0].middle
        work.notes.add(
            "undercut",
            f"{name}: {tell.length(held)} of its wall is not reached by the cutter at the bottom of the sheet, from "
            f"{tell.place(x, y)} on",
            move=last, feature=opening.feature,
        )
        return
    if opening.tabs is None:
        declared = None
    else:
        declared = resolve(opening.tabs, contour.perimeter, finisher.diameter, work.panel.thickness, work.material)
    if declared is None:
        _judge_free(work, opening, contacts, last, name)
    elif cell is not None:
        if _judge_own_tabs(work, opening, contacts, _own_share(work, opening, contour, declared), last, name):
            _judge_heights(work, opening, contour, cuts, inner, wall, contacts, declared, finisher, sweeps, last, name)
    elif _judge_tabs(work, opening, contour, contacts, declared, finisher, _slug(inner, gone), last, name):
        _judge_heights(work, opening, contour, cuts, inner, wall, contacts, declared, finisher, sweeps, last, name)
    _judge_band(work, opening, inner, allowed, gone, contacts, min(c.radius for c in cutters), last, name, cell)


def own_cell(work: Work, part: Part) -> Any:
    """What one setup cuts of a contour in parts, in program coordinates; a side without end lies 100 m away."""
    x0, y0, x1, y1 = (min(max(value, -FAR), FAR) for value in work.panel.area_to_program(part.cell))
    return shapely.box(x0, y0, x1, y1)


def _finisher(cutters: list[Cutter]) -> Cutter:
    """The cutter that went round last at the bottom: it shaped the wall and the tabs' ends."""
    return cutters[-1]


def _free_of(line: Any, allowed: list[Any]) -> Any:
    return overlay.difference(line, overlay.union_all(allowed)) if allowed else line


def _covered(contact: _Contact, allowed: list[Any]) -> bool:
    """Whether a contact is only what may stay in a corner."""
    return bool(allowed) and bool(shapely.is_empty(overlay.difference(contact.line, overlay.union_all(allowed))))


def _contacts(wall: Any, gone: Any, cutter: Cutter, contour: Contour, outside: bool) -> list[_Contact]:
    """Stretches of the wall that still hold.

    They are measured PIECE inside the wall, where each end of the cutter's kerf has rounded off sqrt(2 r PIECE); in a
    round opening of radius R the two curves part more slowly, as if r were r R / (R - r); outside a round panel faster,
    as if r were r R / (R + r).
    """
    left = overlay.difference(wall, gone)
    if shapely.is_empty(left):
        return []
    merged = shapely.line_merge(shapely.multilinestrings(pieces(left, "LineString")))
    first, radius = contour.segments[0], cutter.radius
    if isinstance(first, Arc) and first.is_circle and outside:
        radius = radius * first.radius / (first.radius + radius)
    elif isinstance(first, Arc) and first.is_circle and first.radius > radius:
        radius = radius * first.radius / (first.radius - radius)
    rounding = 2 * math.sqrt(2 * radius * PIECE)
    return [
        _Contact(line, float(line.length) + rounding) for line in pieces(merged, "LineString") if line.length > CONTACT
    ]


def _judge_free(work: Work, opening: Opening, contacts: list[_Contact], last: Move, name: str) -> None:
    tell = work.tell
    for contact in contacts:
        work.notes.add(
            "undercut",
            f"{name} has no tabs, yet {tell.length(contact.width)} of its wall still holds at "
            f"{tell.place(*contact.middle)}",
            move=last, feature=opening.feature,
        )


def _own_share(work: Work, opening: Opening, contour: Contour, declared: TabSize) -> TabSize:
    """The tabs that stand in the part of a contour which this setup cuts; ``contour`` is in program coordinates."""
    part = opening.part
    if part is None:
        return declared
    cell = work.panel.area_to_program(part.cell)
    lines = tuple(work.panel.line_to_program(line) for line in part.lines)
    return replace(declared, count=tabs_in_part(declared.count, contour, Part(cell, lines)))


def _judge_own_tabs(
    work: Work, opening: Opening, contacts: list[_Contact], declared: TabSize, last: Move, name: str
) -> bool:
    """The part of a contour holds by its own share of the tabs, as wide as declared; what they join is seen when all
    parts are. True where nothing is wrong."""
    tell = work.tell
    places = ", ".join(tell.place(*contact.middle) for contact in contacts) or "nowhere"
    wide = [contact for contact in contacts if abs(contact.width - declared.width) > TAB_WIDTH]
    if len(contacts) == declared.count and not wide:
        return True
    work.notes.add(
        "tabs-wrong",
        f"{name}: in its part that is cut here it holds at {places}; {declared.count} of its tabs, "
        f"{tell.length(declared.width)} wide, stand in it",
        move=last, feature=opening.feature,
    )
    return False


def _judge_beyond(
    work: Work, opening: Opening, cuts: list[Move], ring: Any, cell: Any, sweeps: Sweeps, name: str
) -> None:
    """That no cut along the wall goes on into the part that another setup makes: there its tabs would be cut."""
    allowed = shapely.buffer(cell, BEYOND_CELL, join_style="mitre")
    wall = shapely.LineString(ring.coords)
    worst: tuple[float, Move] | None = None
    for move in cuts:
        if move.cutter is None:
            continue
        _, path = sweeps.path(move.stroke)
        out = overlay.difference(path, allowed)
        # what is made in the waste, as an index hole, lies further from the wall
        if shapely.is_empty(out) or shapely.distance(out, wall) > 2 * move.cutter.radius:
            continue
        points = shapely.points(shapely.get_coordinates(out))
        far = float(shapely.distance(points, cell).max())
        if worst is None or far > worst[0]:
            worst = far, move
    if worst is not None:
        work.notes.add(
            "overcut",
            f"{name}: the cut goes {work.tell.length(worst[0])} beyond the part that this setup makes of it, where "
            "another setup leaves tabs",
            move=worst[1], feature=opening.feature,
        )


def _judge_tabs(
    work: Work, opening: Opening, contour: Contour, contacts: list[_Contact], declared: TabSize, cutter: Cutter,
    slug: Any, last: Move, name: str,
) -> bool:
    """Number, width, place and hold of the tabs at the bottom of the sheet; True where all are as declared."""
    tell = work.tell
    right = True

    def wrong(text: str) -> None:
        nonlocal right
        right = False
        work.notes.add("tabs-wrong", f"{name}: {text}", move=last, feature=opening.feature)

    if len(contacts) != declared.count:
        places = ", ".join(tell.place(*contact.middle) for contact in contacts) or "nowhere"
        wrong(f"{len(contacts)} holding tabs are left instead of {declared.count} ({places})")
    for contact in contacts:
        at = tell.place(*contact.middle)
        if abs(contact.width - declared.width) > TAB_WIDTH:
            wrong(f"the tab at {at} is {tell.length(contact.width)} wide at the wall, not "
            f"{tell.length(declared.width)}")
        elif contact.width - cutter.diameter < LEAST_TAB_NECK - TAB_WIDTH:
            neck = contact.width - cutter.diameter
            wrong(f"the neck of the tab at {at} is {tell.length(neck)}; under {tell.length(LEAST_TAB_NECK)} it breaks")
        if not _joins(slug, contact):
            wrong(f"the tab at {at} is cut off from the slug that it should hold")
        if _on_corner(contour, contact, declared.width):
            wrong(f"the tab at {at} sits on a corner, where no saw reaches it")
    return right


def _on_corner(contour: Contour, contact: _Contact, width: float) -> bool:
    """Whether a sharp or tight corner of the wall lies within the contact."""
    reach = shapely.buffer(contact.line, 2 * PIECE, cap_style="flat")
    points = [contour.point_at(at) for at, _ in contour.corners()]
    tight = [
        segment.point_at(segment.length / 2)
        for segment in contour.segments
        if isinstance(segment, Arc) and segment.radius < _tight(segment, width) and segment.sweep <= MOST_OF_A_CIRCLE
    ]
    return any(shapely.intersects(reach, shapely.Point(point)) for point in points + tight)


def _tight(arc: Arc, width: float) -> float:
    """The radius under which an arc is a corner, mm; a piece of a curve may be as tight as the least round opening."""
    return min(TIGHT * width, CHIPS_ONLY_UP_TO / 2) if arc.sweep < LEAST_CORNER else TIGHT * width


def _judge_heights(
    work: Work, opening: Opening, contour: Contour, cuts: list[Move], inner: Any, wall: Any,
    contacts: list[_Contact], declared: TabSize, cutter: Cutter, sweeps: Sweeps, last: Move, name: str,
) -> None:
    """No contact just above the declared height, and every tab still there just below it."""
    tell = work.tell
    thickness = work.panel.thickness
    top = -(thickness - declared.height)
    if declared.height < thickness - TAB_HEIGHT:
        for contact in _contacts(wall, _gone(cuts, top + TAB_HEIGHT, sweeps), cutter, contour, opening.outside):
            work.notes.add(
                "tabs-wrong",
                f"{name}: the tab at {tell.place(*contact.middle)} is higher than the declared "
                f"{tell.length(declared.height)}",
                move=last, feature=opening.feature,
            )
    below = _gone(cuts, top - TAB_HEIGHT, sweeps)
    standing = _contacts(wall, below, cutter, contour, opening.outside)
    slug = _slug(inner, below)
    for contact in contacts:
        stands = any(shapely.distance(contact.line, other.line) < CONTACT for other in standing)
        if not stands or not _joins(slug, contact):
            work.notes.add(
                "tabs-wrong",
                f"{name}: the tab at {tell.place(*contact.middle)} is lower than the declared "
                f"{tell.length(declared.height)}",
                move=last, feature=opening.feature,
            )


def _slug(inner: Any, gone: Any) -> Any:
    """The largest piece that stays inside the opening, or None: with tabs it reaches to the wall."""
    return max(pieces(overlay.difference(inner, gone)), key=lambda part: part.area, default=None)


def _joins(slug: Any, contact: _Contact) -> bool:
    return slug is not None and bool(shapely.distance(slug, contact.line) <= PIECE / 10)


def _gone(cuts: list[Move], level: float, sweeps: Sweeps) -> Any:
    return overlay.union_all(sweeps.areas(sweeps.cleared(cuts, level)))


def _judge_band(
    work: Work, opening: Opening, inner: Any, allowed: list[Any], gone: Any, contacts: list[_Contact], width: float,
    last: Move, name: str, cell: Any,
) -> None:
    """Nothing but tabs within half a kerf of the wall; of a part, in its ``cell``."""
    tell = work.tell
    if opening.outside:
        band = overlay.intersection(inner, shapely.buffer(shapely.Polygon(inner.interiors[0]), width, quad_segs=16))
    else:
        band = overlay.difference(inner, shapely.buffer(inner, -width, quad_segs=16))
    left = _free_of(overlay.difference(band, gone), allowed)
    if cell is not None:
        left = overlay.intersection(left, cell)
    for part in pieces(left):
        if part.area <= SPECK or any(shapely.distance(part, contact.line) <= PIECE / 10 for contact in contacts):
            continue
        x, y = shapely.get_coordinates(shapely.point_on_surface(part))[0]
        work.notes.add(
            "undercut", f"{name} keeps {tell.area(part.area)} beside its wall at {tell.place(x, y)} on its underside",
            move=last, feature=opening.feature,
        )

"""Which ways there are to make one opening on one machine, and why the others are not taken."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import offset
from toolpaths.geometry.segment import Arc
from toolpaths.layout.panel import Opening, Panel
from toolpaths.layout.tabs import TabSize, resolve
from toolpaths.plan import practice, speeds
from toolpaths.plan.reach import inside_corners, largest_radius, reaches
from toolpaths.plan.speeds import CuttingData, Refusal
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import (
    BORE_RATIO,
    CHIPS_ONLY_UP_TO,
    CLEAR_ABOVE,
    LEAST_TAB_NECK,
    MILL_PAST,
    SAME_POINT,
    SLOT_AIR,
    SPOILBOARD_DEPTH,
    SPOILBOARD_FLOOR,
)
from toolpaths.units import metric

WayKind = Literal["mark", "drill", "bore", "clear", "contour", "countersink"]

SAME_ANGLE = 1e-4
"""rad; a countersink's angle is that of the cone to a hundredth of a degree."""


@dataclass(frozen=True, slots=True)
class Shop:
    """What there is to work with, for one panel."""

    panel: Panel
    machine: Machine
    cutters: tuple[Cutter, ...]
    material: Material
    begun: Mapping[str, int] = field(default_factory=dict)
    """The cutter, by number, that has begun a contour in an earlier setup, by its tag."""
    drilled: dict[tuple[float, float, Stock], Ways] = field(default_factory=dict, init=False, repr=False, compare=False)
    """What was found for a size, a tolerance and a stock: ten thousand holes of one kind are thought about once."""

    @property
    def mill_depth(self) -> float:
        """How deep an end mill goes to open the sheet."""
        return self.panel.thickness + MILL_PAST

    def depth_of(self, opening: Opening) -> float:
        """How deep an end mill goes for an opening: exactly to the floor of a blind one."""
        return opening.depth if opening.blind and opening.depth is not None else self.mill_depth

    @property
    def allowance(self) -> float:
        """What roughing leaves for the finishing pass: less on a machine that flexes, whose cuts are lighter."""
        return self.material.finish_mill if self.machine.stiffness >= 1 else self.material.finish_router


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make an opening: with ``cutter`` at ``data``; ``spot`` and ``pilot`` go before a drill."""

    kind: WayKind
    cutter: Cutter
    data: CuttingData
    reasons: tuple[str, ...]
    spot: tuple[Cutter, CuttingData] | None = None
    pilot: tuple[Cutter, CuttingData] | None = None
    tabs: TabSize | None = None


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways to make one opening, best first within drilling; ``refused`` says why others fail."""

    ways: tuple[Way, ...]
    refused: tuple[str, ...]


def cutter_reaches(cutter: Cutter, depth: float, shop: Shop) -> str | None:
    """Why a cutter cannot go ``depth`` below the sheet's top on this machine, or None."""
    machine, panel = shop.machine, shop.panel
    if depth > cutter.flute_length:
        return f"T{cutter.number}: {metric(depth)} mm deep is more than its flutes' {metric(cutter.flute_length)} mm"
    bed, under = panel.bed(machine.spoilboard), panel.bed_name
    room = bed + panel.thickness + panel.clear_height + cutter.stick_out
    if room > machine.daylight:
        return f"T{cutter.number}: {_no_daylight(shop)}"
    if depth - panel.thickness > bed - SPOILBOARD_FLOOR:
        return f"T{cutter.number}: its point would go too near to the underside of the {under}"
    return None


DAYLIGHT = "mm of the daylight of"
"""Words that every refusal for lack of room below the collet nut has."""


def _no_daylight(shop: Shop) -> str:
    """Why no cutter as long as this finds room below the collet nut; the same words for all of them."""
    machine, panel = shop.machine, shop.panel
    left = machine.daylight - panel.bed(machine.spoilboard) - panel.thickness - panel.clear_height
    tallest = max(panel.clamps, key=lambda clamp: clamp.height, default=None)
    if tallest and panel.clear_height - tallest.height > CLEAR_ABOVE + SAME_POINT:
        tallest = None  # walls of a folded box stand higher
    over = f", {metric(panel.clear_height - tallest.height)} mm over clamp {tallest.number}," if tallest else ""
    cure = "; lower clamps would do, or a machine with more" if tallest else "; a machine with more would do"
    return (
        f"its stick-out finds no room: {panel.bed_name}, sheet and the clear height of "
        f"{metric(panel.clear_height)} mm{over} leave {max(left, 0.0):.1f} {DAYLIGHT} {machine.daylight:g} mm{cure}"
    )


def only_daylight(refused: Sequence[str]) -> bool:
    """Whether nothing but the room below the collet nut keeps every cutter out that is long enough."""
    long_enough = [reason for reason in refused if "more than its flutes'" not in reason]
    return bool(long_enough) and all(DAYLIGHT in reason for reason in long_enough)


def drill_depth(drill: Cutter, thickness: float) -> float:
    """Depth of the point of a drill whose full diameter has passed the sheet: t + 0.5 + (d/2) / tan(point/2)."""
    return thickness + practice.DRILL_PAST + drill.point_length


@dataclass(frozen=True, slots=True)
class Stock:
    """What a drill goes into: from ``top`` below the sheet's top to ``floor`` (None: through ``thickness``)."""

    thickness: float
    top: float = 0.0
    floor: float | None = None

    @property
    def length(self) -> float:
        """Of the hole at full diameter."""
        return (self.thickness if self.floor is None else self.floor) - self.top

    @property
    def spotted(self) -> float:
        """The thickness of sheet whose spot this hole may have: a spot lies within the hole that follows it."""
        room = self.thickness - self.top
        return room if self.floor is None else min(room, self.length / practice.SHALLOW_SHARE)

    def tip(self, drill: Cutter) -> float:
        """How deep the point of a drill goes, from the sheet's top."""
        return drill_depth(drill, self.thickness) if self.floor is None else self.floor + drill.point_length


def stock_of(opening: Opening, panel: Panel) -> Stock:
    """What an opening's drill goes into."""
    return Stock(panel.thickness, opening.top, opening.depth if opening.blind else None)


def drill_refused(drill: Cutter, shop: Shop, stock: Stock | None = None) -> str | None:
    """Why this sheet is not drilled with this drill (common practice, practice.py), or None."""
    stock = stock or Stock(shop.panel.thickness)
    room = stock.thickness - stock.top
    if stock.floor is None and drill.point_length > room + SAME_POINT:
        return (
            f"T{drill.number} ({drill.trade_name}): its point is {metric(drill.point_length)} mm long and the sheet "
            f"{metric(room)} mm thick: it would grab before it is guided"
        )
    left = stock.thickness - stock.tip(drill)
    if stock.floor is not None and left < practice.POINT_SKIN - SAME_POINT:
        where = f"{metric(left)} mm above the underside" if left > 0 else "below the underside"
        return f"T{drill.number} ({drill.trade_name}): its point would end {where}; bored with a flat floor instead"
    return cutter_reaches(drill, stock.tip(drill), shop)


def _grabs(diameter: float, shop: Shop) -> bool:
    thin_metal = shop.material.family == "metal" and shop.panel.thickness < practice.THIN_METAL
    return thin_metal and diameter > practice.GRABS_ABOVE + SAME_POINT


def ways_to_drill(diameter: float, tolerance: float, shop: Shop, stock: Stock | None = None) -> Ways:
    """Drills of exactly the diameter, or up to ``tolerance`` over it; the nearest first."""
    kind = diameter, tolerance, stock or Stock(shop.panel.thickness)
    if kind not in shop.drilled:
        shop.drilled[kind] = _ways_to_drill(diameter, tolerance, shop, kind[2])
    return shop.drilled[kind]


def _ways_to_drill(diameter: float, tolerance: float, shop: Shop, stock: Stock) -> Ways:
    ways: list[Way] = []
    refused: list[str] = []
    fitting = [
        cutter
        for cutter in shop.cutters
        if cutter.kind == "drill" and -SAME_POINT <= cutter.diameter - diameter <= tolerance + SAME_POINT
    ]
    if _grabs(diameter, shop):
        refused.append(f"over {practice.GRABS_ABOVE:g} mm a twist drill grabs thin sheet and leaves a three-lobed hole")
        fitting = []
    elif not fitting:
        where = "no drill in a slot has" if shop.machine.program.slots else "no drill has"
        to = f" to {metric(diameter + tolerance)} mm" if tolerance else ""
        refused.append(f"{where} {metric(diameter)} mm{to}")
    for drill in sorted(fitting, key=lambda cutter: (cutter.diameter, cutter.number)):
        data = speeds.drilling(drill, drill.diameter, shop.material, shop.machine, stock.length)
        reason = drill_refused(drill, shop, stock) or (data.reason if isinstance(data, Refusal) else None)
        if reason or isinstance(data, Refusal):
            refused.append(reason or "")
            continue
        spot = _spot_for(drill, shop, stock)
        pilot = _pilot_for(drill, shop, stock)
        point = f"its point ({metric(drill.point_length)} mm)"
        if stock.floor is None:
            why = [f"a {drill.name} makes it: {point} is no longer than the sheet"]
        else:
            left = stock.thickness - stock.tip(drill)
            ends = f"lies below the depth and ends {metric(left)} mm above the underside"
            why = [f"a {drill.name} makes it: {point} {ends}"]
        if drill.diameter > diameter + SAME_POINT:
            why.append(f"{drill.diameter - diameter:.3f} mm over the nominal size is within the tolerance of the job")
        if spot:
            why.append("spotted first, so that it cannot wander")
        ways.append(Way("drill", drill, data, (*why, *data.reasons), spot, pilot))
    return Ways(tuple(ways), tuple(refused))


def spot_width(drill: Cutter, spot: Cutter, thickness: float) -> float:
    """Width of the spot that a drill follows: half its diameter, at most 40 % of the sheet and 1 mm deep."""
    deepest = min(practice.SPOT_DEEPEST, practice.SHALLOW_SHARE * thickness)
    return min(practice.SPOT_SHARE * drill.diameter, deepest / spot.length_of_point(1.0), spot.diameter)


def _spot_for(drill: Cutter, shop: Shop, stock: Stock) -> tuple[Cutter, CuttingData] | None:
    if shop.material.family != "metal":
        return None  # a drill bites into board where it is put down
    for spot in _spotters(shop):
        width = spot_width(drill, spot, stock.spotted)
        data = speeds.drilling(spot, width, shop.material, shop.machine)
        if isinstance(data, CuttingData):
            return spot, data
    return None


def _spotters(shop: Shop) -> list[Cutter]:
    found = [cutter for cutter in shop.cutters if cutter.kind == "spot drill"]
    return sorted(
        (cutter for cutter in found if cutter_reaches(cutter, min(1.0, shop.panel.thickness), shop) is None),
        key=lambda cutter: (-cutter.diameter, cutter.number),
    )


def _pilot_for(drill: Cutter, shop: Shop, stock: Stock) -> tuple[Cutter, CuttingData] | None:
    if drill.diameter <= practice.PILOT_ABOVE or stock.length <= drill.point_length:
        return None
    smaller = [
        cutter
        for cutter in shop.cutters
        if cutter.kind == "drill" and practice.PILOT_SHARE * drill.diameter <= cutter.diameter <= drill.diameter / 2
    ]
    for pilot in sorted(smaller, key=lambda cutter: (cutter.diameter, cutter.number)):
        data = speeds.drilling(pilot, pilot.diameter, shop.material, shop.machine, stock.length)
        if isinstance(data, CuttingData) and drill_refused(pilot, shop, stock) is None:
            return pilot, data
    return None


def pilot_floor(pilot: Cutter, drill: Cutter, floor: float) -> float:
    """How deep a pilot goes at its full diameter in a blind hole: its point stays within that of the drill.

    The drill's cone is as wide as the pilot (d - p)/2 / tan(point/2) below the floor; neither may its tip be passed.
    """
    within_cone = floor + drill.point_length - drill.length_of_point(pilot.diameter)
    return min(within_cone, floor + drill.point_length - pilot.point_length)


def way_to_countersink(opening: Opening, shop: Shop) -> Ways:
    """A countersink of exactly the cone's angle, at least as wide, at the speed for the width that it cuts."""
    cone = opening.countersink
    if cone is None:
        return Ways((), ())
    beyond = opening.top + cone.depth - shop.panel.thickness
    if beyond > SPOILBOARD_DEPTH + SAME_POINT:
        most = f"{metric(beyond)} mm into the {shop.panel.bed_name}, where {metric(SPOILBOARD_DEPTH)} mm are the most"
        return Ways((), (f"its tip would go {most}: a narrower cone, or a thicker sheet",))
    fitting = [
        cutter
        for cutter in shop.cutters
        if cutter.kind == "countersink"
        and abs(cutter.point_angle - cone.angle) < SAME_ANGLE
        and cutter.diameter >= cone.diameter - SAME_POINT
    ]
    refused: list[str] = []
    for cutter in sorted(fitting, key=lambda cutter: (cutter.diameter, cutter.number)):
        data = speeds.drilling(cutter, cone.diameter, shop.material, shop.machine)
        reason = cutter_reaches(cutter, opening.top + cone.depth, shop)
        if reason or isinstance(data, Refusal):
            refused.append(reason or (data.reason if isinstance(data, Refusal) else ""))
            continue
        why = (
            f"a {cutter.name}, its tip {metric(opening.top + cone.depth)} mm below the top of the sheet: "
            f"there its cone is {metric(cone.diameter)} mm wide at the mouth"
        )
        return Ways((Way("countersink", cutter, data, (why, *data.reasons)),), ())
    if not refused:
        held = [
            f"{cutter.name} of {math.degrees(cutter.point_angle):g} degrees"
            for cutter in shop.cutters
            if cutter.kind == "countersink"
        ]
        refused.append(f"none in the table has this angle and is wide enough; it holds {', '.join(held) or 'none'}")
    return Ways((), tuple(refused))


def way_to_mark(shop: Shop, top: float = 0.0) -> Ways:
    """A centre mark with a spot drill: at most 0.5 mm and 40 % of the sheet deep, at most 2 mm wide."""
    refused: list[str] = []
    for spot in _spotters(shop):
        width = mark_width(spot, shop.panel.thickness - top)
        data = speeds.drilling(spot, width, shop.material, shop.machine)
        if isinstance(data, Refusal):
            refused.append(data.reason)
            continue
        depth = spot.length_of_point(width)
        why = f"a centre mark {metric(depth)} mm deep, for the drill or punch that follows by hand"
        return Ways((Way("mark", spot, data, (why, *data.reasons)),), ())
    return Ways((), tuple(refused) or ("no spot drill in the table",))


def mark_width(spot: Cutter, thickness: float) -> float:
    """Width of a centre mark at the sheet's top."""
    return min(practice.mark_depth(thickness) / spot.length_of_point(1.0), practice.MARK_WIDEST, spot.diameter)


def ways_to_mill(opening: Opening, shape: Contour, shop: Shop) -> Ways:
    """End mills that open ``shape`` (program coordinates): bored, cleared to chips, or cut along the wall."""
    ways: list[Way] = []
    refused: list[str] = []
    for cutter in shop.cutters:
        if cutter.kind != "end mill" or shop.material.family not in cutter.serves:
            continue
        reason = _does_not_fit(cutter, opening, shape) or cutter_reaches(
            cutter, shop.depth_of(opening), shop
        )
        data = speeds.milling(cutter, shop.material, shop.machine)
        if reason or isinstance(data, Refusal):
            refused.append(reason or (data.reason if isinstance(data, Refusal) else ""))
            continue
        way = _milled(opening, shape, cutter, data, shop)
        if isinstance(way, str):
            refused.append(way)
        else:
            ways.append(way)
    if not ways and not refused:
        refused.append(f"no end mill for {shop.material.family} in the table")
    return Ways(tuple(ways), tuple(refused))


def _milled(opening: Opening, shape: Contour, cutter: Cutter, data: CuttingData, shop: Shop) -> Way | str:
    if opening.cleared:
        if opening.cut_diameter is not None and opening.cut_diameter <= CHIPS_ONLY_UP_TO + SAME_POINT:
            why = f"bored with a {cutter.name}: down a helix, then rings to the wall"
            return Way("bore", cutter, data, (why, *data.reasons))
        why = f"cleared to chips with a {cutter.name}, so that no slug comes loose"
        if opening.blind:
            why = f"cleared with a {cutter.name} over its whole floor, from the middle outwards"
        return Way("clear", cutter, data, (why, *data.reasons))
    if not offset(shape, -(cutter.diameter + practice.NARROWEST_SLUG / 2)):
        return f"T{cutter.number}: its kerfs would leave a slug under {practice.NARROWEST_SLUG:g} mm wide"
    # roughing cuts its kerf wider by the allowance, and a neck narrower than a tab's holds nothing
    slugs = len(offset(shape, -(cutter.diameter + shop.allowance + LEAST_TAB_NECK / 2)))
    if slugs != 1:
        return f"T{cutter.number}: its slug would fall into {slugs} pieces, and no more than one could be held"
    tabs = tabs_of(opening, shape, cutter, shop)
    if isinstance(tabs, str):
        return tabs
    if tabs is not None:
        why = (
            f"cut along the wall with a {cutter.name}; {tabs.count} tabs {metric(tabs.width)} mm wide and "
            f"{metric(tabs.height)} mm high hold the slug: saw them, do not break them"
        )
    else:
        why = f"cut along the wall with a {cutter.name}; no tabs: the last pass frees the slug"
    return Way("contour", cutter, data, (why, *data.reasons), tabs=tabs)


def tabs_of(opening: Opening, shape: Contour, cutter: Cutter, shop: Shop) -> TabSize | str | None:
    """The holding tabs that a cutter leaves; why they would not hold; None where none are wanted."""
    if opening.tabs is None:
        return None
    tabs = resolve(opening.tabs, shape.perimeter, cutter.diameter, shop.panel.thickness, shop.material)
    if tabs.width - cutter.diameter < LEAST_TAB_NECK - SAME_POINT:
        return (
            f"T{cutter.number}: tabs {metric(tabs.width)} mm wide leave a neck under {LEAST_TAB_NECK} mm; "
            f"{metric(cutter.diameter + LEAST_TAB_NECK)} mm would do"
        )
    floor = shop.panel.thickness - opening.top
    if opening.top and tabs.height > floor - SAME_POINT:
        above = f"would stand above the floor, {metric(floor)} mm of sheet: set their height"
        return f"tabs {metric(tabs.height)} mm high {above}"
    return tabs


def _does_not_fit(cutter: Cutter, opening: Opening, shape: Contour) -> str | None:
    who = f"T{cutter.number} ({cutter.trade_name})"
    if opening.cut_diameter is not None:
        if cutter.diameter * BORE_RATIO > opening.cut_diameter + SAME_POINT:
            largest = opening.cut_diameter / BORE_RATIO
            return f"{who}: a bore needs room for the chips; the largest that would do is {metric(largest)} mm"
        return None
    tightest = tightest_radius(shape)
    if cutter.radius > tightest + SAME_POINT:
        return (
            f"{who}: its corners have a radius of {metric(tightest)} mm; the largest that would do is "
            f"{metric(2 * tightest)} mm"
        )
    if has_sharp_corners(shape) and cutter.radius > opening.corner_limit + SAME_POINT:
        return (
            f"{who}: a sharp corner may keep {metric(opening.corner_limit)} mm; the largest that would do is "
            f"{metric(2 * opening.corner_limit)} mm"
        )
    if not offset(shape, -cutter.radius * BORE_RATIO):
        return f"{who}: too wide for the opening"
    # a corner of the cutter's own radius leaves no air, and needs none
    air = SLOT_AIR / 2 if cutter.radius + SLOT_AIR / 2 < tightest else 0.0
    if not reaches(shape, cutter.radius + air):
        largest = max(0.0, math.floor(200 * (largest_radius(shape, cutter.radius + air) - air)) / 100)
        return f"{who}: does not reach every part of it; the largest that would do is {metric(largest)} mm"
    return None


def tightest_radius(shape: Contour) -> float:
    """The smallest hollow radius of a counter-clockwise opening (inf where it has none)."""
    return min(
        (segment.radius for segment in shape.segments if isinstance(segment, Arc) and segment.ccw), default=math.inf
    )


def has_sharp_corners(shape: Contour) -> bool:
    """Whether the opening has inside corners that a round cutter cannot reach."""
    return bool(inside_corners(shape))

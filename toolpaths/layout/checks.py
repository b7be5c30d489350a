"""Findings before anything is planned: what the drawing alone shows to be wrong, each with the number that cures it.

Webs and edges are those of the finished piece, so a pilot or a mark is judged by the opening that it stands for.
What depends on a cutter in motion (a nut under a clamp, no cutter, beyond travel) is found by the planner.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import boxes_within, faceted, gap, overlaps
from toolpaths.geometry.segment import XY
from toolpaths.geometry.shapes import rounded_rectangle
from toolpaths.layout.bends import room_at
from toolpaths.layout.box import SIDES, Side
from toolpaths.layout.depths import countersinks, floors, threads
from toolpaths.layout.nesting import mouth
from toolpaths.layout.outline import lies_across
from toolpaths.layout.panel import Clamp, Layout, Opening, Panel, Part, Rectangle
from toolpaths.layout.telling import AWAY_FROM
from toolpaths.layout.webs import MOST_DRAWN, SLACK, thin_webs
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import CLAMP_CLEARANCE, PARTS_MEET_WITHIN, TOUCH_OFF_CLEARANCE
from toolpaths.units import Units, inches_beside, told, told_apart

WEB_OF_DRILL: Final = 0.18
"""A twist drill's web (its chisel edge) in diameters: 0.15 to 0.2 (general practice, from memory)."""

HOLD: Final = 5.0
"""A clamp that lies beside the sheet is told to come this far onto it (common practice)."""

CURED: Final = 40
"""So many overlaps are told with the move that cures them; a panel with more is wrong as a whole."""


def findings(
    layout: Layout, machine: Machine, cutters: dict[int, Cutter], materials: dict[str, Material],
    setups: Mapping[str, Sequence[Panel]] = MappingProxyType({}),
) -> list[Finding]:
    """Every finding that needs no plan, panel by panel; two features are named once, under the later of them.

    ``machine`` gives the collet nut that a clamp must clear, ``cutters`` the drills that a pilot may be made with.
    ``setups`` are those of divided panels, by name: clamps and touch-off places are those of each.
    """
    found: list[Finding] = []
    for panel in layout.panels:
        sheet = _Sheet(panel, materials[panel.material], machine, cutters, layout.units)
        for check in (_edges, _pairs, _depths, _slugs, _pilots, _keys):
            found += check(sheet)
        for one in setups.get(panel.name, (panel,)) if machine.cuts else ():
            laid = replace(sheet, panel=one)
            found += [*_clamps(laid), *_touch_off(laid)]
    return found


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One panel with all that its findings depend on."""

    panel: Panel
    material: Material
    machine: Machine
    cutters: dict[int, Cutter]
    units: Units

    @property
    def web(self) -> float:
        """The least web or edge, mm: so many thicknesses, never under the material's least."""
        return max(self.material.web * self.panel.thickness, self.material.web_least)

    @property
    def rule(self) -> str:
        """The web's rule in words."""
        return self._wants(self.say(self.web))

    def short(self, air: float) -> tuple[str, str]:
        """A web that is too thin, and the rule, so that their figures differ."""
        thin, web = told_apart(air, self.web, self.say, self.units)
        return thin, self._wants(web)

    def _wants(self, web: str) -> str:
        return f"{self.panel.material} of {self.say(self.panel.thickness)} wants {web}"

    def say(self, length: float) -> str:
        """A length for a message, in mm; in an inch job in inches, the mm beside them."""
        return told(length, self.units)

    def cure(self, length: float) -> str:
        """A length to move by, rounded up to a tenth of a mm, so that the rounded number cures."""
        return self.say(math.ceil(length * 10 - 1e-6) / 10)


# The panel's edge ----------------------------------------------------------------------------------------------------


def _edges(sheet: _Sheet) -> Iterator[Finding]:
    """Openings beyond the outline or too near to it; of a ring's holes only the worst is named."""
    worst: dict[str, tuple[float, Opening, int]] = {}
    for opening, edge in _edge_distances(sheet):
        if edge < sheet.web - SLACK and not (edge >= 0 and _near_bends_only(sheet, opening)):
            named = opening.drawn if edge < 0 and len(worst) < MOST_DRAWN else ""
            key = f"{opening.feature} {named}"  # what of a drawing lies beyond the edge is told one by one
            least, which, count = worst.get(key, (math.inf, opening, 0))
            worst[key] = (edge, opening, count + 1) if edge < least else (least, which, count + 1)
    for edge, opening, count in worst.values():
        message = _edge_message(sheet, opening, edge) + _and_more(count)
        if edge < 0:
            yield Finding("error", "outside-panel", sheet.panel.name, opening.feature, message)
        else:
            yield Finding("warning", "thin-edge", sheet.panel.name, opening.feature, message)


def _edge_distances(sheet: _Sheet) -> Iterator[tuple[Opening, float]]:
    """Openings that may be near the outline with their distance from it, mm; -1 where one is not inside.

    Most are not near: their box, grown by the rule, lies within the outline, and no facets are needed.
    """
    outline = faceted(sheet.panel.outline)
    bounds, web = [mouth(opening).bounds for opening in sheet.panel.openings], sheet.web
    boxes = [(x0 - web, y0 - web, x1 + web, y1 + web) for x0, y0, x1, y1 in bounds]
    for opening, far in zip(sheet.panel.openings, boxes_within(boxes, sheet.panel.outline), strict=True):
        if not far:
            shape = faceted(mouth(opening))
            yield opening, float(outline.exterior.distance(shape)) if outline.covers(shape) else -1.0


def _near_bends_only(sheet: _Sheet, opening: Opening) -> bool:
    """Whether the sheet goes on wherever an opening is near the outline: ``bends`` has its own rule for that."""
    panel, box = sheet.panel, mouth(opening).bounds
    edges = panel.outline.bounds
    if panel.on_blank:
        edges = panel.stock
    bent = {flange.side for flange in panel.flanges if flange.bent}
    rooms = {side: room_at(side, box, edges) for side in SIDES if side not in bent}
    return (bool(bent) or panel.on_blank) and all(room >= sheet.web - SLACK for room in rooms.values())


def _edge_message(sheet: _Sheet, opening: Opening, edge: float) -> str:
    widest = mouth(opening)
    x0, y0, x1, y1 = sheet.panel.outline.bounds
    air = {side: room_at(side, widest.bounds, sheet.panel.outline.bounds) for side in SIDES}
    short = {side: sheet.web - margin for side, margin in air.items() if margin < sheet.web - SLACK}
    if {"left", "right"} <= short.keys() or {"lower", "upper"} <= short.keys():
        way, least = ("height", y1 - y0) if {"lower", "upper"} <= short.keys() else ("width", x1 - x0)
        return (
            f"{_own(opening)} is too large for the panel: its {way} of {sheet.say(least)} leaves room for "
            f"{sheet.say(max(0.0, least - 2 * sheet.web))} between the edges ({sheet.rule} at each)"
        )
    beyond = {side: -margin for side, margin in air.items() if margin < -SLACK}
    if beyond:
        by = " and ".join(f"{sheet.say(amount)} beyond the {side} edge" for side, amount in beyond.items())
        what = f"{_own(opening)} reaches {by}"
    elif edge < 0:
        what = f"{_own(opening)} cuts through the panel's corner or edge"
    else:
        what = f"only {sheet.say(edge)} stays between {_own(opening)} and the edge"
    moves = [f"{sheet.cure(amount)} {AWAY_FROM[side]}" for side, amount in short.items()]
    if not moves or not _fits(sheet, _shifted(widest, _away(short))):
        moves = [f"{sheet.cure(_to_the_middle(sheet, widest))} towards the middle of the panel"]
    # what stands in a row stands where the row puts it
    mover = "its row" if opening.feature.startswith("row[") else "it"
    return f"{what}; {sheet.rule}: move {mover} {' and '.join(moves)}"


def _away(short: dict[Side, float]) -> XY:
    """The shift, mm, that takes a shape away from the edges which it is too near to."""
    return short.get("left", 0.0) - short.get("right", 0.0), short.get("lower", 0.0) - short.get("upper", 0.0)


def _fits(sheet: _Sheet, shape: Contour) -> bool:
    """Whether a shape lies inside the outline with the whole edge that the rule wants."""
    outline = faceted(sheet.panel.outline)
    moved = faceted(shape)
    return bool(outline.covers(moved)) and float(outline.exterior.distance(moved)) >= sheet.web - SLACK


def _to_the_middle(sheet: _Sheet, shape: Contour) -> float:
    """How far to move a shape straight to the panel's middle until it keeps its edge, mm."""
    x, y = _middle(shape.bounds)
    mx, my = _middle(sheet.panel.outline.bounds)
    return _least_move(shape, (mx - x, my - y), math.hypot(mx - x, my - y), lambda moved: _fits(sheet, moved))


# Two openings --------------------------------------------------------------------------------------------------------


def _pairs(sheet: _Sheet) -> Iterator[Finding]:
    """Openings that overlap or leave too thin a web; of two features' pairs only the worst is named."""
    webs, name, told = thin_webs(sheet.panel.openings, sheet.web), sheet.panel.name, 0
    for web in webs.told:
        first, second = web.first, web.second
        more = _and_more(web.count, "at least " if web.at_least else "")
        if web.air <= SLACK:
            told += 1
            message = _overlap_message(sheet, first, second, cured=told <= CURED)
            yield Finding("error", "overlap", name, second.feature, message + more)
            continue
        air, wanted = sheet.short(web.air)
        yield Finding(
            "warning", "thin-web", name, second.feature,
            f"the web between {_own(second)} and {_other(first)} is {air}; {wanted}: "
            f"move them {sheet.cure(sheet.web - web.air)} further apart{more}",
        )  # fmt: skip
    if webs.more_overlap:
        yield Finding("error", "overlap", name, "", f"at least {webs.more_overlap} pairs of openings more overlap")
    if webs.more_thin:
        said = f"{webs.more_thin} pairs of openings more stand too near to each other; {sheet.rule}"
        yield Finding("warning", "thin-web", name, "", said)


def _overlap_message(sheet: _Sheet, first: Opening, second: Opening, cured: bool) -> str:
    if not cured:
        return f"{_own(second)} overlaps {_other(first)}"
    one, two = mouth(first), mouth(second)
    (ax, ay), (bx, by) = _middle(one.bounds), _middle(two.bounds)
    way = (bx - ax, by - ay) if math.hypot(bx - ax, by - ay) > SLACK else (1.0, 0.0)
    enough = sum(math.hypot(x1 - x0, y1 - y0) for x0, y0, x1, y1 in (one.bounds, two.bounds))
    move = _least_move(
        two, way, enough + sheet.web, lambda moved: gap(one, moved) >= sheet.web - SLACK
    )
    return (
        f"{_own(second)} overlaps {_other(first)}: move them {sheet.cure(move)} further apart, "
        f"so that a web of {sheet.say(sheet.web)} stays"
    )


def _depths(sheet: _Sheet) -> Iterator[Finding]:
    """Thin floors, cones that come out below, and threads of too few turns."""
    yield from floors(sheet.panel, sheet.material.family, sheet.say)
    yield from countersinks(sheet.panel, sheet.say)
    yield from threads(sheet.panel, sheet.say)


# What one opening asks for -------------------------------------------------------------------------------------------


def _slugs(sheet: _Sheet) -> Iterator[Finding]:
    """Large openings whose slug nothing holds."""
    for opening in sheet.panel.openings:
        if opening.cut is not None and not opening.cleared and opening.tabs is None:
            yield Finding(
                "warning", "loose-slug", sheet.panel.name, opening.feature,
                f"nothing holds the slug of {_own(opening)} when it comes free, and it may jam the cutter: "
                f"set tabs = true ({sheet.material.tabs.least} tabs or more), or hold it down from below",
            )  # fmt: skip


def _pilots(sheet: _Sheet) -> Iterator[Finding]:
    """Pilots in which the chisel edge of the drill that follows by hand would find no room."""
    for opening in sheet.panel.openings:
        pilot, final = opening.cut_diameter, opening.diameter
        if opening.finish != "pilot" or pilot is None or final is None or pilot >= WEB_OF_DRILL * final:
            continue
        yield Finding(
            "warning", "thin-drill-web", sheet.panel.name, opening.feature,
            f"the pilot of {sheet.say(pilot)} for {_own(opening)} is thinner than the web of a {sheet.say(final)} "
            f"drill, about {sheet.say(WEB_OF_DRILL * final)}: open it with a step drill{_better_pilot(sheet, final)}",
        )  # fmt: skip


def _keys(sheet: _Sheet) -> Iterator[Finding]:
    """Keys that no cutter makes: what is left for the file."""
    for opening in sheet.panel.openings:
        if opening.filed:
            filed = inches_beside(opening.filed, sheet.units)
            yield Finding(
                "note", "file-key", sheet.panel.name, opening.feature,
                f"{_own(opening)} is opened round; {filed}, is left for the file: no end mill of the table "
                f"that may cut {sheet.panel.material} on this machine goes into it",
            )  # fmt: skip


def _better_pilot(sheet: _Sheet, final: float) -> str:
    drills = [
        (cutter.diameter, cutter.trade_name)
        for cutter in sheet.cutters.values()
        if cutter.kind == "drill" and WEB_OF_DRILL * final <= cutter.diameter < final
    ]
    return f", or set pilot_diameter to {min(drills)[1]}" if drills else ""


# Clamps and the place for touching off -------------------------------------------------------------------------------


def _clamps(sheet: _Sheet) -> Iterator[Finding]:
    """Clamps beside the sheet, and clamps that lie over what is to be cut or marked."""
    for clamp in sheet.panel.clamps:
        beside = _moves_between(clamp.area, sheet.panel.stock)
        if beside:
            moves = " and ".join(f"{sheet.cure(amount + HOLD)} {way}" for way, amount in beside)
            yield Finding(
                "warning", "clamp-off-stock", sheet.panel.name, f"clamp[{clamp.number}]",
                f"clamp {clamp.number} holds nothing, it lies beside the sheet: move it {moves}",
            )  # fmt: skip
        if sheet.panel.edge is not None and lies_across(clamp.number, sheet.panel):
            yield Finding(
                "error", "under-clamp", sheet.panel.name, sheet.panel.edge.feature,
                f"clamp {clamp.number} lies across the outline, which is machined: move it wholly onto the panel, "
                f"or beside it, with stock under it (stock_margin is now {sheet.say(sheet.panel.margin)})",
            )  # fmt: skip
        for opening in sheet.panel.openings:
            if _lies_over(clamp, opening):
                yield Finding(
                    "error", "under-clamp", sheet.panel.name, opening.feature,
                    f"clamp {clamp.number} lies over {_own(opening)}: {_clear_of(sheet, clamp, opening)}",
                )  # fmt: skip


def _moves_between(area: Rectangle, stock: Rectangle) -> list[tuple[str, float]]:
    """The ways, with mm, in which a rectangle beside the stock must come to touch it; empty where it lies on it."""
    steps = (
        ("to the right", stock[0] - area[2]),
        ("to the left", area[0] - stock[2]),
        ("upwards", stock[1] - area[3]),
        ("downwards", area[1] - stock[3]),
    )
    return [(way, amount) for way, amount in steps if amount >= 0]


def _lies_over(clamp: Clamp, opening: Opening) -> bool:
    area = clamp.area if opening.part is None else _within_cell(clamp.area, opening.part)
    if area is None:
        return False
    x0, y0, x1, y1 = area
    if any(x0 <= x <= x1 and y0 <= y <= y1 for x, y in opening.marks):
        return True
    if opening.cut is None:
        return False
    left, low, right, high = opening.cut.bounds
    if right <= x0 or x1 <= left or high <= y0 or y1 <= low:
        return False
    return overlaps(opening.cut, rounded_rectangle(_middle(area), x1 - x0, y1 - y0))


def _within_cell(area: Rectangle, part: Part) -> Rectangle | None:
    """What of a clamp's ground lies where this setup cuts its part of a contour; None where nothing does."""
    grow = PARTS_MEET_WITHIN
    (x0, y0, x1, y1), (a0, b0, a1, b1) = area, part.cell
    left, low, right, high = max(x0, a0 - grow), max(y0, b0 - grow), min(x1, a1 + grow), min(y1, b1 + grow)
    return (left, low, right, high) if left < right and low < high else None


def _clear_of(sheet: _Sheet, clamp: Clamp, opening: Opening) -> str:
    """The shortest way for a clamp to be clear of an opening by half the collet nut: the worst that passes there."""
    left, low, right, high = opening.cut.bounds if opening.cut else _bounds_of(opening.marks)
    x0, y0, x1, y1 = clamp.area
    margin = sheet.machine.nut_diameter / 2 + CLAMP_CLEARANCE
    ways = (("to the left", x1 - left), ("to the right", right - x0), ("downwards", y1 - low), ("upwards", high - y0))
    way, amount = min(ways, key=lambda step: step[1])
    return (
        f"move the clamp {sheet.cure(amount + margin)} {way}, "
        f"so that the collet nut ({sheet.say(sheet.machine.nut_diameter)}) passes it"
    )


def _touch_off(sheet: _Sheet) -> Iterable[Finding]:
    """A sheet on which Z can nowhere be set."""
    if sheet.panel.touch_off is not None:
        return []
    return [
        Finding(
            "error", "no-touch-off", sheet.panel.name, "",
            f"no place on the sheet keeps {sheet.say(TOUCH_OFF_CLEARANCE)} from every feature and clamp, so Z cannot "
            f"be touched off: free a round place of {sheet.say(2 * TOUCH_OFF_CLEARANCE)}, as by moving a clamp",
        )
    ]  # fmt: skip


# Shared --------------------------------------------------------------------------------------------------------------


def _own(opening: Opening) -> str:
    """The finding's own feature, whose place in the job is told anyway: ``A2 (earth)``."""
    known_by = ", ".join(filter(None, (opening.label, opening.drawn)))
    return f"{opening.tag} ({known_by})" if known_by else opening.tag


def _other(opening: Opening) -> str:
    """Another feature as job and drawing name it: ``hole[3] (A2, earth)``."""
    known_as = ", ".join(filter(None, (opening.tag, opening.label, opening.drawn)))
    return f"{opening.feature} ({known_as})"


def _and_more(count: int, about: str = "") -> str:
    return f" (and {about}{count - 1} more like this)" if count > 1 else ""


def _middle(box: Rectangle) -> XY:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def _bounds_of(points: tuple[XY, ...]) -> Rectangle:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _shifted(shape: Contour, by: XY) -> Contour:
    return shape.mapped(lambda point: (point[0] + by[0], point[1] + by[1]), False)


def _least_move(shape: Contour, way: XY, furthest: float, clear: Callable[[Contour], bool]) -> float:
    """The shortest shift along ``way`` after which ``clear`` holds, to 0.01 mm; ``furthest`` where none does."""
    length = math.hypot(*way)
    if length == 0:
        return furthest
    near, far = 0.0, furthest
    while far - near > 0.01:
        middle = (near + far) / 2
        if clear(_shifted(shape, (way[0] / length * middle, way[1] / length * middle))):
            far = middle
        else:
            near = middle
    return far

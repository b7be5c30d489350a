"""One way for every opening: drilled where a drill may, else milled with no more cutters than pay for their change."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace

from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Arc as ArcSegment
from toolpaths.layout.nesting import in_floor
from toolpaths.layout.panel import Countersink, Opening, Part
from toolpaths.motion import Arc, Drill, Line, Motion, Pause, Point, Rapid
from toolpaths.plan import practice
from toolpaths.plan.bore import bore
from toolpaths.plan.clearing import clear
from toolpaths.plan.contouring import MOST_ENTRIES, contour_cut
from toolpaths.plan.methods import (
    Shop,
    Way,
    has_sharp_corners,
    only_daylight,
    stock_of,
    way_to_countersink,
    way_to_mark,
    ways_to_drill,
    ways_to_mill,
)
from toolpaths.plan.outline import too_narrow, ways_to_cut_out
from toolpaths.plan.parting import part_cut
from toolpaths.plan.path import Cut, turn_of
from toolpaths.plan.reach import inside_corners
from toolpaths.units import metric

MOST_NAMED = 3
"""So many cutters are named in one refusal."""

MOST_TRIED = 5
"""So many cutters are planned in full for one opening before the best is taken."""


@dataclass(frozen=True, slots=True)
class Milling:
    """A way to mill an opening with its finished cuts (one, or roughing and finishing) and their time in seconds."""

    way: Way
    cuts: tuple[Cut, ...]
    seconds: float


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was decided for one opening; ``cuts`` holds the milled paths, a drilled or marked one has none.

    ``sink`` is the way to its countersink. ``elsewhere`` are the same paths begun at other places that are as good.
    """

    opening: Opening
    way: Way
    cuts: tuple[Cut, ...] = ()
    marks_only: bool = False
    sink: Way | None = None
    elsewhere: tuple[tuple[Cut, ...], ...] = ()


def choose(shop: Shop) -> tuple[list[Chosen], list[Finding]]:
    """A choice for every opening, in the panel's order, and what there is to say about them."""
    chosen: dict[int, Chosen] = {}
    kinds: dict[Hashable, Alike] = {}
    milled: dict[int, Alike] = {}
    findings: list[Finding] = []
    for index, opening in enumerate(shop.panel.work):
        done = _without_milling(opening, shop, findings)
        if done is not None:
            chosen[index] = done
        elif opening.cut is not None:
            kind = _kind(index, opening, shop)
            alike = kinds.get(kind) or kinds.setdefault(kind, Alike(opening, *_millings(opening, shop)))
            if alike.millings:
                alike.count += 1
                milled[index] = alike
            else:
                _nothing_fits(index, opening, shop, alike.refused, chosen, findings)
    _fewest_cutters([alike for alike in kinds.values() if alike.count], shop.machine.change_seconds)
    for index, alike in milled.items():
        opening = shop.panel.work[index]
        chosen[index] = _as_chosen(opening, alike, shop)
        findings += _remarks(opening, chosen[index].way, shop)
    sinks = _sinks(shop, findings)
    return [_completed(chosen[index], sinks) for index in sorted(chosen)], findings


@dataclass(slots=True, eq=False)
class Alike:
    """Openings that differ in nothing but their place: what is found for the ``first`` holds for all ``count``."""

    first: Opening
    millings: list[Milling]
    refused: tuple[str, ...]
    count: int = 0
    best: Milling | None = None
    elsewhere: tuple[tuple[Cut, ...], ...] | None = None


def _kind(index: int, opening: Opening, shop: Shop) -> Hashable:
    """What openings have in common that are milled alike; one for itself where its place makes a difference."""
    if opening.cut is None or opening.blind or opening.outside or opening.part or opening.tag in shop.begun:
        return index
    cx, cy = opening.centre
    form: list[Hashable] = []
    for segment in opening.cut.segments:
        corners = (segment.start, segment.end, segment.centre) if isinstance(segment, ArcSegment) else (segment.start,)
        form += [(round(x - cx, 9), round(y - cy, 9)) for x, y in corners]
        form.append(isinstance(segment, ArcSegment) and segment.ccw)
    return (
        tuple(form), opening.cut_diameter, opening.tolerance, opening.top, opening.finish, opening.corner_limit,
        opening.tabs, opening.cleared,
    )  # fmt: skip


def _as_chosen(opening: Opening, alike: Alike, shop: Shop) -> Chosen:
    """The cuts of the first of its kind, taken to where this opening is."""
    assert alike.best is not None
    if alike.elsewhere is None:
        alike.elsewhere = _elsewhere(alike.first, alike.best, shop)
    way, cuts, elsewhere = alike.best.way, alike.best.cuts, alike.elsewhere
    if opening is not alike.first:
        (x, y), (x0, y0) = shop.panel.to_program(opening.centre), shop.panel.to_program(alike.first.centre)
        cuts = tuple(cut.moved(x - x0, y - y0) for cut in cuts)
        elsewhere = tuple(tuple(cut.moved(x - x0, y - y0) for cut in others) for others in elsewhere)
    return Chosen(opening, way, cuts, elsewhere=elsewhere)


Cone = tuple[Countersink, float]
"""A countersink and how deep it begins: all holes of one cone are countersunk in one way."""


def _sinks(shop: Shop, findings: list[Finding]) -> dict[Cone, Way]:
    """A way for every kind of countersink; the first opening of a kind that cannot be made is told."""
    sinks: dict[Cone, Way] = {}
    told: set[Cone] = set()
    for opening in shop.panel.openings:
        if opening.countersink is None or opening.finish != "machine":
            continue
        cone = opening.countersink, opening.top
        if cone in sinks or cone in told:
            continue
        found = way_to_countersink(opening, shop)
        if found.ways:
            sinks[cone] = found.ways[0]
        else:
            told.add(cone)
            findings.append(_finding("error", "no-countersink", opening, shop, _no_sink(opening, found.refused)))
    return sinks


def _no_sink(opening: Opening, refused: tuple[str, ...]) -> str:
    cone = opening.countersink
    size = f"{metric(cone.diameter)} mm wide of {math.degrees(cone.angle):g} degrees" if cone else ""
    return (
        f"{opening.tag}: no countersink {size}: {'; '.join(_grouped(refused))}; leave countersink out and do it by "
        "hand, or choose a machine and a cutter that serve"
    )


def _completed(choice: Chosen, sinks: dict[Cone, Way]) -> Chosen:
    """The choice with its countersink, and with the tap's drill among its reasons."""
    opening = choice.opening
    if opening.finish != "machine":
        return choice
    if opening.countersink is not None:
        choice = replace(choice, sink=sinks.get((opening.countersink, opening.top)))
    if opening.thread is not None:
        why = f"the tap drill of {opening.thread.name}: tap it by hand ({opening.thread.source})"
        choice = replace(choice, way=replace(choice.way, reasons=(*choice.way.reasons, why)))
    return choice


def _without_milling(opening: Opening, shop: Shop, findings: list[Finding]) -> Chosen | None:
    if opening.cut is None:
        marked = way_to_mark(shop, opening.top)
        if marked.ways:
            return Chosen(opening, marked.ways[0], marks_only=True)
        findings.append(_finding("error", "no-cutter", opening, shop, f"no mark: {'; '.join(marked.refused)}"))
        return None
    if opening.cut_diameter is None:
        return None
    drilled = ways_to_drill(opening.cut_diameter, opening.tolerance, shop, stock_of(opening, shop.panel))
    return Chosen(opening, drilled.ways[0]) if drilled.ways else None


def _millings(opening: Opening, shop: Shop) -> tuple[list[Milling], tuple[str, ...]]:
    if opening.cut is None:
        return [], ()
    shape = shop.panel.contour_to_program(opening.cut)
    ways = ways_to_cut_out(opening, shape, shop) if opening.outside else ways_to_mill(opening, shape, shop)
    refused = list(ways.refused)
    found: list[Milling] = []
    # all parts of one contour are cut with the cutter that began it: its tabs are as wide as that asks for
    able = [way for way in ways.ways if shop.begun.get(opening.tag, way.cutter.number) == way.cutter.number]
    usual = [way for way in able if practice.usual(way.cutter)]
    for group in (usual, [way for way in able if way not in usual]):
        if not found:
            found = _milled(group, opening, shape, shop, refused)
    return found, tuple(refused)


def _milled(
    ways: Iterable[Way], opening: Opening, shape: Contour, shop: Shop, refused: list[str]
) -> list[Milling]:
    """The ways worth trying with their cuts; why the others do not do is added to ``refused``."""
    found: list[Milling] = []
    not_drilled = _not_drilled(opening, shop)
    for way in _worth_trying(ways):
        cuts = _mill(opening, shape, way, shop)
        if isinstance(cuts, str):
            refused.append(cuts)
            continue
        explained = Way(way.kind, way.cutter, way.data, (*not_drilled, *way.reasons), tabs=way.tabs)
        found.append(Milling(explained, cuts, sum(seconds(cut.motions) for cut in cuts)))
    return found


def _not_drilled(opening: Opening, shop: Shop) -> tuple[str, ...]:
    """Why a round opening is not drilled, for the first drill that would have its size."""
    if opening.cut_diameter is None:
        return ()
    refused = ways_to_drill(opening.cut_diameter, opening.tolerance, shop, stock_of(opening, shop.panel)).refused
    return tuple(f"not drilled: {reason}" for reason in refused[:1])


def _grouped(refused: Iterable[str]) -> list[str]:
    """Refusals with one reason for all the cutters that it holds for (``T162, T163: too wide for the opening``)."""
    cutters: dict[str, list[str]] = {}
    for refusal in refused:
        who, _, reason = refusal.partition(": ")
        cutters.setdefault(reason or who, []).extend([who] if reason else [])
    return [f"{_some(who)}: {reason}" if who else reason for reason, who in cutters.items()]


def _some(who: list[str]) -> str:
    """A few cutters by name, more of them by their number: nobody reads twenty."""
    if len(who) <= MOST_NAMED:
        return ", ".join(who)
    first = who[: MOST_NAMED - 1]
    return f"{', '.join(first)} and {len(who) - len(first)} more"


def _worth_trying(ways: Iterable[Way]) -> list[Way]:
    """The thickest few: thinner cutters are slower and snap sooner; fragile ones only where nothing else fits."""
    thickest = sorted(ways, key=lambda way: (-way.cutter.diameter, way.cutter.number))
    sturdy = [way for way in thickest if way.cutter.diameter >= practice.FRAGILE_UNDER]
    return (sturdy or thickest)[:MOST_TRIED]


def _elsewhere(opening: Opening, milling: Milling, shop: Shop) -> tuple[tuple[Cut, ...], ...]:
    """The cuts of a large opening begun at other places; of a small one it would save no way worth the name."""
    if milling.way.kind != "contour" or opening.cut is None or opening.part is not None:
        return ()
    cuts = _contoured(opening, shop.panel.contour_to_program(opening.cut), milling.way, shop, MOST_ENTRIES)
    return () if isinstance(cuts, str) else cuts[1:]


def _mill(opening: Opening, shape: Contour, way: Way, shop: Shop) -> tuple[Cut, ...] | str:
    cutter, data, material, machine = way.cutter, way.data, shop.material, shop.machine
    depth = shop.depth_of(opening)
    if way.kind == "bore" and opening.cut_diameter is not None:
        centre, diameter, top = shop.panel.to_program(opening.centre), opening.cut_diameter, opening.top
        return (bore(centre, diameter, depth, cutter, data, material, machine, shop.allowance, top),)
    if way.kind == "clear":
        spare = _slugs_in(opening, shop)
        cleared = clear(shape, depth, cutter, data, material, machine, shop.allowance, opening.top, spare)
        return (cleared,) if cleared else f"T{cutter.number} does not reach every part of it"
    cuts = _contoured(opening, shape, way, shop, 1)
    return cuts if isinstance(cuts, str) else cuts[0]


def _contoured(
    opening: Opening, shape: Contour, way: Way, shop: Shop, most: int
) -> tuple[tuple[Cut, Cut], ...] | str:
    if opening.part is not None:
        cell = shop.panel.area_to_program(opening.part.cell)
        one = part_cut(
            shape, Part(cell, tuple(shop.panel.line_to_program(line) for line in opening.part.lines)),
            shop.panel.thickness, shop.mill_depth, shop.panel.clear_height, way.tabs, way.cutter, way.data,
            shop.material, shop.machine, shop.allowance, opening.outside,
        )  # fmt: skip
        return one if isinstance(one, str) else (one,)
    return contour_cut(
        shape,
        shop.panel.thickness,
        shop.mill_depth,
        way.tabs,
        way.cutter,
        way.data,
        shop.material,
        shop.machine,
        shop.allowance,
        opening.outside,
        most,
    )


def _slugs_in(opening: Opening, shop: Shop) -> list[Contour]:
    """The large openings in the floor of a blind one: their slugs take what lies above them along."""
    if not opening.blind:
        return []
    return [
        shop.panel.contour_to_program(other.cut)
        for other in shop.panel.openings
        if other.cut is not None and not other.cleared and in_floor(other, opening)
    ]


def _nothing_fits(
    index: int,
    opening: Opening,
    shop: Shop,
    refused: tuple[str, ...],
    chosen: dict[int, Chosen],
    findings: list[Finding],
) -> None:
    if opening.finish == "pilot":
        marked = way_to_mark(shop, opening.top)
        if marked.ways:
            said = "; ".join(refused[:1])
            pilot = f"no pilot of {metric(opening.cut_diameter or 0.0)} mm can be made"
            message = f"{opening.tag}: {pilot} ({said}); a centre mark instead"
            chosen[index] = Chosen(opening, marked.ways[0], marks_only=True)
            findings.append(_finding("note", "pilot-method", opening, shop, message))
            return
    if opening.outside and (narrow := too_narrow(opening, shop)) is not None:
        findings.append(narrow)
        return
    no_room = next((reason for reason in refused if "tabs" in reason), None)
    code = "no-tabs" if no_room else "beyond-travel" if only_daylight(refused) else "no-cutter"
    said = no_room or "; ".join([*_not_drilled(opening, shop), *_grouped(refused)]) or "no end mill in the table"
    who = "" if opening.outside else f"{opening.tag} ({opening.size_text}): "
    findings.append(_finding("error", code, opening, shop, f"{who}{said}"))


def _remarks(opening: Opening, way: Way, shop: Shop) -> list[Finding]:
    if opening.finish == "pilot":
        said = f"{opening.tag}: the pilot is bored with T{way.cutter.number}; {way.reasons[0]}"
        return [_finding("note", "pilot-method", opening, shop, said)]
    if opening.outside or opening.cut is None or opening.cut_diameter is not None or not has_sharp_corners(opening.cut):
        return []
    left = [corner.left(way.cutter.radius) for corner in inside_corners(opening.cut)]
    what = _to_file([metric(one) for one in sorted(left) if one >= practice.NOTHING_TO_FILE])
    said = f"{opening.tag}: its sharp corners keep the cutter's radius of {metric(way.cutter.radius)} mm: {what}"
    return [_finding("note", "file-corner", opening, shop, said)]


def _to_file(left: list[str]) -> str:
    """What stays in the corners worth a file, mm in words, the least first."""
    if not left:
        return "nothing to file"
    amounts = left[0] if left[0] == left[-1] else f"{left[0]} to {left[-1]}"
    return f"{amounts} mm along the bisector is left for the file"


def _finding(severity: str, code: str, opening: Opening, shop: Shop, message: str) -> Finding:
    return Finding("error" if severity == "error" else "note", code, shop.panel.name, opening.feature, message)


def _fewest_cutters(kinds: list[Alike], change_seconds: float) -> None:
    """The quickest cutter for each kind becomes its ``best``, but none that is not worth its change.

    A cutter is dropped while the others in use make its openings in less extra time than the change takes.
    """
    for kind in kinds:
        kind.best = min(kind.millings, key=_rank)
    while moved := _cheapest_drop(kinds, change_seconds):
        for kind, milling in moved:
            kind.best = milling


def _rank(milling: Milling) -> tuple[float, float, int]:
    return milling.seconds, -milling.way.cutter.diameter, milling.way.cutter.number


def _cheapest_drop(kinds: list[Alike], change_seconds: float) -> list[tuple[Alike, Milling]]:
    """The kinds of one cutter with what makes them instead, where that takes less time than the change; else none."""
    used = sorted({kind.best.way.cutter.number for kind in kinds if kind.best is not None})
    options: list[tuple[float, int, list[tuple[Alike, Milling]]]] = []
    for number in used:
        moved: list[tuple[Alike, Milling]] = []
        extra = 0.0
        for kind in kinds:
            if kind.best is None or kind.best.way.cutter.number != number:
                continue
            others = [m for m in kind.millings if m.way.cutter.number != number and m.way.cutter.number in used]
            if not others:
                break
            moved.append((kind, min(others, key=_rank)))
            extra += kind.count * (moved[-1][1].seconds - kind.best.seconds)
        else:
            if extra < change_seconds:
                options.append((extra, number, moved))
    return min(options, key=lambda option: option[:2])[2] if options else []


def seconds(motions: Iterable[Motion]) -> float:
    """Cutting time of motions at their feeds, rapids and drilling left out: enough to compare ways."""
    total = 0.0
    place: Point | None = None
    for motion in motions:
        if isinstance(motion, Drill | Pause):
            continue
        if place is not None and not isinstance(motion, Rapid):
            if isinstance(motion, Line):
                total += math.dist(place, motion.to) / motion.feed
            else:
                total += _arc_length(place, motion) / motion.feed
        place = motion.to
    return 60 * total


def _arc_length(start: Point, arc: Arc) -> float:
    return math.hypot(math.dist(start[:2], arc.centre) * turn_of(start[:2], arc), arc.to[2] - start[2])

"""Fit strips: pieces of scrap that hold each different opening of a job once, to try the real parts in them.

One strip for each sheet (material and measured thickness), several where one would be too large. What belongs together
stays together: the holes of a component, whose spacing is what goes wrong, and what lies in the floor of a blind
opening. Everything lies unturned, for an angle makes no difference to the fit. A strip is a panel like any other, so
planner, proof, drawings and papers need to know nothing of it.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Final

from toolpaths.finding import Finding
from toolpaths.geometry.segment import XY, Bounds, turned
from toolpaths.job import Clamp, Feature, Job, Measured, Part, Polygon
from toolpaths.job import Panel as JobPanel
from toolpaths.layout.build import DIALLED, KINDS, features_on, lay_out_panel, openings_on, singles, taken_letters
from toolpaths.layout.components import Turning, placement_of, standing_on
from toolpaths.layout.nesting import in_floor, mouth
from toolpaths.layout.outline import CLAMP_HOLD
from toolpaths.layout.panel import Opening, Panel
from toolpaths.layout.seats import seats
from toolpaths.tables.rows import Machine
from toolpaths.tolerance import CLAMP_CLEARANCE, TOUCH_OFF_CLEARANCE
from toolpaths.units import INCH, said, told

NAME: Final = "fit strip"
"""What the name of every strip begins with; its material follows."""

LONGEST: Final = 280.0
TALLEST: Final = 160.0
"""mm; a strip larger than this is made as several: a common small router travels 300 x 180 mm (common practice)."""

LARGEST: Final = 120.0
"""mm; larger openings and patterns stay off the strip. Their scrap would cost more sheet than the strip saves, a paper
template tells as much, and at that size a rim has play for what a strip would show (common practice)."""

LEAST_GAP: Final = 6.0
"""mm; the least between what is tried, and from it to the edge: a tag finds room, and a thumb (common practice)."""

LEAST_HEIGHT: Final = 30.0
CLAMP: Final = 20.0
"""mm; a clamp at either end is so long and wide, half of it on the sheet, and so high where the job says nothing."""

ROW_COST: Final = 0.25
"""Each further row counts as so much more sheet: offcuts are long and narrow (common practice)."""

MOST_TAGS: Final = 6
MOST_NAMES: Final = 3
LONGEST_NAME: Final = 64
"""What a label and a panel's name hold at most."""

Key = tuple[object, ...]

_PLACE: Final = ("number", "at", "label", "tabs", "angle")
"""What of a feature makes no difference to whether a part fits."""


@dataclass(frozen=True, slots=True)
class _Member:
    """One opening of the job: the feature of that opening alone, what it is on its panel, and whose it is."""

    panel: str
    feature: Feature
    opening: Opening
    part: Part | None

    @property
    def own_label(self) -> str:
        """What it is for within its component, or its label where it is in none."""
        label = self.feature.label
        return label.removeprefix(self.part.label or self.part.name).strip() if self.part else label

    @property
    def essence(self) -> Key:
        """All that decides the fit: kind, sizes, finish, tolerance, countersink, thread, depth and corners."""
        return _essence(self.feature)


@dataclass(frozen=True, slots=True)
class _Cluster:
    """Openings that are tried together, about the middle of their own: one, or a component's, or a rebate's with what
    lies in it. ``members`` are in the order of the openings of ``features``."""

    members: tuple[_Member, ...]
    features: tuple[Feature, ...]

    @property
    def key(self) -> Key:
        """The same for clusters that a builder would try once."""
        if len(self.members) == 1:
            return self.members[0].essence
        return tuple(sorted((_entry(member) for member in self.members), key=repr))

    @property
    def in_order(self) -> list[_Member]:
        """Its members so that those of two like clusters stand side by side."""
        return sorted(self.members, key=lambda member: repr(_entry(member)))


@dataclass(frozen=True, slots=True)
class _Pattern:
    """A cluster that goes on the strip, the box of its openings, nuts and flanges, and the labels of its members."""

    cluster: _Cluster
    box: Bounds
    labels: tuple[str, ...]

    @property
    def width(self) -> float:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]


@dataclass(frozen=True, slots=True)
class _Strip:
    """A strip before it is laid out: its panel, and the labels of its openings in their order."""

    panel: JobPanel
    labels: tuple[str, ...]
    patterns: int


def fit_strips(job: Job, panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """The fit strips of a job, whose ``panels`` are those of ``lay_out``, in the order of their first panels.

    Empty where there is nothing to try: marks alone, or openings of more than ``LARGEST`` mm.
    """
    taken = taken_letters(job)
    return tuple(_laid_out(strip, job, taken) for strip in _planned(job, panels)[0])


def strip_findings(job: Job, panels: Sequence[Panel]) -> list[Finding]:
    """What the strips hold, and what is left off them: notes, the first of each under the strip's own name."""
    strips, left_out = _planned(job, panels)
    notes = []
    for strip in strips:
        panel = strip.panel
        size = f"{told(panel.width, job.units)} by {told(panel.height, job.units)}"
        count = f"{strip.patterns} different openings or patterns" if strip.patterns > 1 else "one opening or pattern"
        notes.append(
            Finding(
                "note", "fit-strip", panel.name, "",
                f"{count} of the job in a scrap of the same sheet, {size} or larger: cut it first, try the real parts "
                "in it, measure, and change the job before the panels are cut",
            )
        )  # fmt: skip
    if not strips:
        notes.append(Finding("note", "fit-strip", "", "", "no opening of the job is for a fit strip: none is made"))
    return notes + left_out


def _laid_out(strip: _Strip, job: Job, taken: set[str]) -> Panel:
    panel = lay_out_panel(strip.panel, job, taken)
    openings = tuple(
        replace(opening, label=label) for opening, label in zip(panel.openings, strip.labels, strict=True)
    )
    return replace(panel, openings=openings, fit_strip=True)


def _planned(job: Job, panels: Sequence[Panel]) -> tuple[list[_Strip], list[Finding]]:
    """All strips, and the notes about what they leave out."""
    strips: list[_Strip] = []
    notes: list[Finding] = []
    names = {panel.name.lower() for panel in job.panels}
    sheets: defaultdict[tuple[str, float], list[tuple[JobPanel, Panel]]] = defaultdict(list)
    for panel, laid in zip(job.panels, panels, strict=True):
        sheets[panel.material, round(laid.thickness, 6)].append((panel, laid))
    for (material, thickness), of_sheet in sheets.items():
        clusters = [cluster for panel, laid in of_sheet for cluster in _clusters(panel, laid)]
        alone = sum(material == other for other, _ in sheets) == 1
        room = _Room(job, [panel for panel, _ in of_sheet])
        patterns, left_out = _patterns(clusters, room)
        notes += left_out
        base = _base_name(material, "" if alone else said(thickness, job.units))
        for rows in room.packed(patterns):
            name = _free_name(base, names)
            names.add(name.lower())
            strips.append(room.strip(name, rows))
    return strips, notes


def _base_name(material: str, thickness: str) -> str:
    """A name by the rules of panels' names, with room for a number.

    >>> _base_name("mild steel", ""), _base_name("aluminium", "1.5 mm"), _base_name("(brass)", "")
    ('fit strip mild steel', 'fit strip aluminium 1_5 mm', 'fit strip brass')
    """
    text = re.sub(r"[^A-Za-z0-9 _-]", "_", f"{NAME} {material}"[: LONGEST_NAME - 16].strip())
    return re.sub(r"[ _-]{2,}", " ", f"{text} {thickness}".replace(".", "_")).strip(" _-")


def _free_name(base: str, names: set[str]) -> str:
    """The name itself, or the first with a number that is not taken, whatever its case.

    >>> _free_name("fit strip mdf", {"rear"}), _free_name("fit strip mdf", {"fit strip mdf", "fit strip mdf 2"})
    ('fit strip mdf', 'fit strip mdf 3')
    """
    number, name = 1, base
    while name.lower() in names:
        number += 1
        name = f"{base} {number}"
    return name


# What is tried together ----------------------------------------------------------------------------------------------


def _clusters(panel: JobPanel, laid: Panel) -> Iterator[_Cluster]:
    """The openings of a panel as they belong together, but for those that are only marked."""
    parts = [one.part for one in standing_on(panel)]
    alone = [single for _, feature, _ in features_on(panel) for single in singles(feature)]
    members = [
        _Member(panel.name, single, opening, None if opening.component is None else parts[opening.component])
        for single, opening in zip(alone, laid.openings, strict=True)
    ]
    for group in _together(laid.openings):
        if any(laid.openings[place].finish != "mark" for place in group):
            yield _cluster([members[place] for place in group])


def _together(openings: Sequence[Opening]) -> list[list[int]]:
    """Places of openings that are of one component, or of which one lies in the floor of the other."""
    group_of = list(range(len(openings)))

    def root(place: int) -> int:
        while group_of[place] != place:
            group_of[place] = group_of[group_of[place]]
            place = group_of[place]
        return place

    first_of: dict[int, int] = {}
    for place, opening in enumerate(openings):
        if opening.component is not None:
            group_of[root(place)] = root(first_of.setdefault(opening.component, place))
    for outer, rebate in enumerate(openings):
        if rebate.blind:
            for inner, opening in enumerate(openings):
                if inner != outer and in_floor(opening, rebate):
                    group_of[root(inner)] = root(outer)
    groups: defaultdict[int, list[int]] = defaultdict(list)
    for place in range(len(openings)):
        groups[root(place)].append(place)
    return list(groups.values())


def _cluster(members: Sequence[_Member]) -> _Cluster:
    """Members moved and turned so that their component, or the widest of them, lies unturned in the middle."""
    parts = list({id(member.part): member.part for member in members if member.part}.values())
    middle: Feature = parts[0] if parts else max(members, key=lambda member: mouth(member.opening).area).feature
    # a rebate's own angle may be that of a shape without corners: one of several keeps the panel's directions
    angle = middle.angle if isinstance(middle, Part) or (len(members) == 1 and isinstance(middle, Turning)) else 0.0
    moved = [replace(member, feature=_about(member.feature, middle.at, angle)) for member in members]
    loose = [member.feature for member in moved if member.part is None]
    return _Cluster(tuple(moved), (*loose, *(_about(part, middle.at, angle) for part in parts)))


def _alone(member: _Member) -> _Cluster:
    """A member of a pattern that is too large, by itself."""
    return _cluster([replace(member, part=None)])


def _about(feature: Feature, middle: XY, angle: float) -> Feature:
    """A feature as it lies about a middle that was turned by ``angle``; of a component only what sits on the sheet."""
    at = turned((0.0, 0.0), (feature.at[0] - middle[0], feature.at[1] - middle[1]), -angle)
    if isinstance(feature, Part):
        rooms = tuple(room for room in feature.rooms if room.role in ("nut", "flange"))
        return replace(feature, at=at, angle=feature.angle - angle, rooms=rooms)
    return replace(feature, at=at, angle=feature.angle - angle) if isinstance(feature, Turning) else replace(
        feature, at=at
    )  # fmt: skip


def _essence(feature: Feature) -> Key:
    left_out = {*_PLACE}
    if getattr(feature, "corner_radius", 0.0):
        left_out.add("max_corner_radius")  # a stated radius is cut as it is
    values = [getattr(feature, one.name) for one in fields(feature) if one.name not in left_out]
    if isinstance(feature, Polygon):
        x, y = feature.points[0]
        values.append(tuple((px - x, py - y) for px, py in feature.points))
        values.remove(feature.points)
    return type(feature).__name__, *map(_rounded, values)


def _rounded(value: object) -> object:
    """Lengths to a nanometre, so that two ways to reckon the same one agree."""
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, tuple):
        return tuple(map(_rounded, value))
    if is_dataclass(value):
        return tuple(_rounded(getattr(value, one.name)) for one in fields(value))
    return value


def _entry(member: _Member) -> Key:
    """A member with its place and angle in its pattern."""
    feature = member.feature
    angle = feature.angle if isinstance(feature, Turning) else 0.0
    return member.essence, _rounded(feature.at), _rounded((angle + 1e-9) % (2 * math.pi))


# What goes on the strip ----------------------------------------------------------------------------------------------


def _patterns(clusters: Sequence[_Cluster], room: _Room) -> tuple[list[_Pattern], list[Finding]]:
    """Each different cluster once, with labels that name all that it stands for; notes about what is too large."""
    notes: list[Finding] = []
    several: defaultdict[Key, list[_Cluster]] = defaultdict(list)
    ones: defaultdict[Key, list[_Cluster]] = defaultdict(list)
    for cluster in clusters:
        (several if len(cluster.members) > 1 else ones)[cluster.key].append(cluster)
    chosen: list[tuple[_Cluster, list[_Cluster]]] = []
    for alike in several.values():
        if room.takes(alike[0]):
            chosen.append((alike[0], alike))
            continue
        notes.append(room.left_out(alike[0]))
        for member in (member for cluster in alike for member in cluster.members if member.opening.finish != "mark"):
            ones[member.essence].append(_alone(member))
    held = {
        member.essence: place
        for place, (cluster, _) in reversed([*enumerate(chosen)])
        for member in cluster.members
        if member.opening.top == 0
    }
    served: defaultdict[int, list[_Member]] = defaultdict(list)
    for key, alike in ones.items():
        if key in held:
            served[held[key]] += [cluster.members[0] for cluster in alike]
            continue
        # a component says what sits on the sheet round the hole
        shown = next((cluster for cluster in alike if cluster.members[0].part), alike[0])
        if room.takes(shown):
            chosen.append((shown, alike))
        elif not any(note.feature == shown.members[0].opening.feature for note in notes):
            notes.append(room.left_out(shown))
    patterns = [
        _Pattern(shown, room.box(shown), _labels(shown, alike, served[place]))
        for place, (shown, alike) in enumerate(chosen)
    ]
    return patterns, notes


def _labels(shown: _Cluster, alike: Sequence[_Cluster], also: Iterable[_Member]) -> tuple[str, ...]:
    """What goes into each member of a pattern, and where on the panels it is."""
    uses: defaultdict[Key, list[_Member]] = defaultdict(list)
    for cluster in alike:
        for own, other in zip(shown.in_order, cluster.in_order, strict=True):
            uses[own.essence, own.own_label].append(other)
    for member in also:
        key = next(key for key in uses if key[0] == member.essence)
        uses[key].append(member)
    return tuple(_label(uses[member.essence, member.own_label]) for member in shown.members)


def _label(members: Sequence[_Member]) -> str:
    """``V1, V2: noval socket fixing / V3: octal socket fixing; top A1, A2; rear B1``."""
    whose: dict[str, dict[str, None]] = {}
    for member in members:
        what = f"{member.part.name} {member.own_label}".strip() if member.part else ""
        name = member.part.label if member.part else member.own_label
        whose.setdefault(what, {})
        if name:
            whose[what].setdefault(name)
    things = [": ".join(filter(None, (_listed([*names], MOST_NAMES), what))) for what, names in whose.items()]
    tags: dict[str, list[str]] = {}
    for member in members:
        tags.setdefault(member.panel, []).append(member.opening.tag)
    where = [f"{panel} {_listed(its, MOST_TAGS)}" for panel, its in tags.items()]
    more = f" and {len(things) - MOST_NAMES} more" if len(things) > MOST_NAMES else ""
    return "; ".join(filter(None, (" / ".join(filter(None, things[:MOST_NAMES])) + more, *where)))


def _listed(texts: Sequence[str], most: int) -> str:
    """The texts in a row, those beyond ``most`` as a number.

    >>> _listed(["V1", "V2"], 3), _listed(["V1", "V2", "V3"], 2)
    ('V1, V2', 'V1, V2 and 1 more')
    """
    more = f" and {len(texts) - most} more" if len(texts) > most else ""
    return ", ".join(texts[:most]) + more


# Where it lies -------------------------------------------------------------------------------------------------------


Row = list[_Pattern]


class _Room:
    """How much a strip of one sheet holds, and how it is held; ``panels`` are those of the job of the same sheet."""

    def __init__(self, job: Job, panels: Sequence[JobPanel]) -> None:
        self.job = job
        self.like = like = panels[0]
        machine, material = job.machine, job.materials[like.material]
        # tall clamps take daylight from long cutters: no taller ones than the job's, and a board is screwed down
        heights = [clamp.height for panel in panels for clamp in panel.clamps]
        self.clamp_height = min(heights, default=CLAMP if material.family == "metal" else 0.0)
        self.step = INCH / 16 if job.units == "in" else 1.0
        self.round_to = INCH / 4 if job.units == "in" else 5.0
        web = max(material.web * like.measured.thickness, material.web_least)
        self.gap = max(LEAST_GAP, web + 0.5)
        self.nut = machine.nut_diameter / 2 if machine.cuts else 0.0
        self.length = self._reached(LONGEST, machine, 0) - 2 * self.end(0.0)
        self.height = self._reached(TALLEST, machine, 1) - 2 * self.gap

    def end(self, height: float) -> float:
        """How far from the ends of a strip of ``height`` the openings begin, mm.

        The nut passes the clamps, and there is a place to touch off 5 mm from all and with room for the nut: in the
        corner where the strip is high enough, else between clamp and openings, on a step of the machine's display.
        """
        corner = (height - CLAMP) / 2 - TOUCH_OFF_CLEARANCE >= TOUCH_OFF_CLEARANCE + self.nut + 1e-3
        place = 0.0 if corner else self.nut + 2 * TOUCH_OFF_CLEARANCE + DIALLED["in"]
        return CLAMP_HOLD + max(self.nut + 2 * CLAMP_CLEARANCE, TOUCH_OFF_CLEARANCE, place)

    def _reached(self, most: float, machine: Machine, axis: int) -> float:
        """What the strip measures at most along one axis: in steps that a builder measures, within the travel."""
        return math.floor(min(most, machine.travel[axis]) / self.round_to) * self.round_to

    def box(self, cluster: _Cluster) -> Bounds:
        """Round its openings, and the nuts and flanges that lie on the sheet."""
        openings, on_sheet = self._shapes(cluster)
        return _round_all([*openings, *on_sheet])

    def _shapes(self, cluster: _Cluster) -> tuple[list[Bounds], list[Bounds]]:
        panel = replace(self.like, features=cluster.features)
        placed = [placement_of(one, panel.measured.thickness) for one in standing_on(panel)]
        bodies = [body for one in placed for body in seats(one, panel.measured.thickness)]
        openings = [mouth(opening).bounds for opening in openings_on(panel, self.job)]
        return openings, [body.footprint.bounds for body in bodies]

    def takes(self, cluster: _Cluster) -> bool:
        """Whether a strip has room for it, and it is small enough to be worth it."""
        x0, y0, x1, y1 = self._opened(cluster)
        if max(x1 - x0, y1 - y0) > LARGEST:
            return False
        x0, y0, x1, y1 = self.box(cluster)
        return x1 - x0 + self.step <= self.length and y1 - y0 + self.step <= self.height

    def _opened(self, cluster: _Cluster) -> Bounds:
        return _round_all(self._shapes(cluster)[0])

    def left_out(self, cluster: _Cluster) -> Finding:
        """The note about a cluster that is too large."""
        member, (x0, y0, x1, y1) = cluster.members[0], self._opened(cluster)
        size = told(round(max(x1 - x0, y1 - y0), 1), self.job.units)
        name = f"{member.opening.tag} ({member.opening.label})" if member.opening.label else member.opening.tag
        if len(cluster.members) > 1:
            what = f"the pattern of {name} stays off the fit strip, it is {size} across: its smaller holes are on it "
            what += "one by one"
        else:
            what = f"{name} stays off the fit strip, it is {size} across"
        return Finding(
            "note", "fit-strip", member.panel, member.opening.feature,
            f"{what}; lay the part on the full-size template",
        )  # fmt: skip

    def packed(self, patterns: Sequence[_Pattern]) -> list[list[Row]]:
        """Rows of like height, the tallest first, on as few strips as they need."""
        order = sorted(patterns, key=lambda pattern: (-round(pattern.height, 3), -round(pattern.width, 3)))
        strips: list[tuple[list[_Pattern], list[Row]]] = []
        for pattern in order:
            for held, rows in strips:
                if self._placed(pattern, rows):
                    held.append(pattern)
                    break
            else:
                strips.append(([pattern], [[pattern]]))
        return [self._least(held) for held, _ in strips]

    def _placed(self, pattern: _Pattern, rows: list[Row]) -> bool:
        """Whether it went into the first row of a strip that has room, or into a new one."""
        for row in rows:
            if self._row_length([*row, pattern]) <= self.length:
                row.append(pattern)
                return True
        if not self._fits([*rows, [pattern]]):
            return False
        rows.append([pattern])
        return True

    def _least(self, patterns: Sequence[_Pattern]) -> list[Row]:
        """The rows that take the least sheet, where each further row counts as more."""
        longest = max(pattern.width for pattern in patterns) + self.step
        lengths = [self.length]
        while lengths[-1] - self.round_to >= longest:
            lengths.append(lengths[-1] - self.round_to)
        ways = [rows for rows in (self._rows(patterns, length) for length in lengths) if self._fits(rows)]
        return min(ways, key=lambda rows: round(math.prod(self._size(rows)) * (1 + ROW_COST * len(rows)), 3))

    def _rows(self, patterns: Sequence[_Pattern], length: float) -> list[Row]:
        """Each pattern in the first row of up to ``length`` mm that has room; the tallest come first."""
        rows: list[Row] = []
        for pattern in patterns:
            for row in rows:
                if self._row_length([*row, pattern]) <= length:
                    row.append(pattern)
                    break
            else:
                rows.append([pattern])
        return rows

    def _row_length(self, row: Row) -> float:
        return sum(pattern.width + self.step for pattern in row) + (len(row) - 1) * self.gap

    def _row_height(self, row: Row) -> float:
        return max(pattern.height for pattern in row) + self.step

    def _inner(self, rows: Sequence[Row]) -> tuple[float, float]:
        length = max(self._row_length(row) for row in rows)
        return length, sum(map(self._row_height, rows)) + (len(rows) - 1) * self.gap

    def _fits(self, rows: Sequence[Row]) -> bool:
        length, height = self._inner(rows)
        return length <= self.length + 1e-6 and height <= self.height + 1e-6

    def _size(self, rows: Sequence[Row]) -> tuple[float, float]:
        """Length and height of the sheet, rounded up."""

        def up(value: float) -> float:
            return math.ceil(value / self.round_to - 1e-6) * self.round_to

        length, inner = self._inner(rows)
        height = up(max(inner + 2 * self.gap, LEAST_HEIGHT))
        return up(length + 2 * self.end(height)), height

    def strip(self, name: str, rows: Sequence[Row]) -> _Strip:
        """The strip as a panel of the job: rows from the top, the tallest first, centres on whole steps."""
        length, height = self._size(rows)
        _, inner = self._inner(rows)
        placed: list[tuple[_Pattern, XY]] = []
        y = (height + inner) / 2
        for row in rows:
            x, high = (length - self._row_length(row)) / 2, self._row_height(row)
            for pattern in row:
                left, low, _, _ = pattern.box
                up = y - (high + pattern.height) / 2 - low
                placed.append((pattern, (self._up_to_step(x - left), self._nearest_step(up))))
                x += pattern.width + self.step + self.gap
            y -= high + self.gap
        labels = [
            label
            for loose in (True, False)
            for pattern, _ in placed
            for member, label in zip(pattern.cluster.members, pattern.labels, strict=True)
            if (member.part is None) is loose
        ]
        return _Strip(self._panel(name, length, height, placed), tuple(labels), len(placed))

    def _up_to_step(self, value: float) -> float:
        return math.ceil(value / self.step - 1e-6) * self.step

    def _nearest_step(self, value: float) -> float:
        return round(value / self.step) * self.step

    def _panel(self, name: str, length: float, height: float, placed: Sequence[tuple[_Pattern, XY]]) -> JobPanel:
        moved = [
            replace(feature, at=(feature.at[0] + x, feature.at[1] + y))
            for pattern, (x, y) in placed
            for feature in pattern.cluster.features
        ]
        behind, low = CLAMP - CLAMP_HOLD, (height - CLAMP) / 2
        places = (-behind, length - CLAMP_HOLD) if self.clamp_height else ()
        return replace(
            self.like,
            name=name, width=length, height=height, corner_radius=0.0, origin="lower left", mirrored=False,
            cut_outline=False, stock_margin=None, outline_tabs=None,
            measured=Measured(length, height, self.like.measured.thickness),
            clamps=tuple(Clamp(x, low, CLAMP, CLAMP, self.clamp_height) for x in places),
            features=tuple(_numbered(moved)),
        )  # fmt: skip


def _numbered(features: Iterable[Feature]) -> Iterator[Feature]:
    """Features with numbers by kind; those that are openings themselves first, as on every panel."""
    counts: defaultdict[type[Feature], int] = defaultdict(int)
    for feature in sorted(features, key=lambda feature: type(feature) not in KINDS):
        counts[type(feature)] += 1
        yield replace(feature, number=counts[type(feature)])


def _round_all(boxes: Sequence[Bounds]) -> Bounds:
    lefts, lows, rights, highs = zip(*boxes, strict=True)
    return min(lefts), min(lows), max(rights), max(highs)

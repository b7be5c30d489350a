"""Whether a planted edit does harm, by a rule of these tests' own that knows the unedited program.

The rule shares nothing with the project's reader and judge: it reads the text itself (``own_reading``) and compares the
edited program with the unedited one, point by point, by how low each leaves the sheet (``height``). It never asks
whether the piece equals the design, only whether it is still the piece that the good program makes. What is dangerous
on the way it simulates in time.

- *harmless*: both texts say the same, event by event.
- *harmful*: a controller would refuse the text; or the piece differs by more than BAND where anybody would measure it;
  or one of the dangers below happens.
- *debatable*: everything else: the way differs, but neither the piece nor the safety do, as far as this rule can see.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely

from tests.faults.height import FLAT, Heights, around
from tests.faults.own_reading import Move, Said, said
from toolpaths.job import Job
from toolpaths.layout.panel import Opening, Panel

BAND = 0.015
"""mm; a difference of the piece that counts: half as much again as is allowed, so that rounding never decides."""
TAB_BAND = 0.12
"""mm; the end of a tab may stand a tenth elsewhere: that is not measured on a saw cut."""
DEEP = 0.02
"""mm; a difference in Z that counts, and how far below the top a tip must be to cut."""
RIM = 0.05
"""mm; a shank or nut that comes this far into a clamp hits it, and a rapid this deep in material ploughs."""
FRAME = 5
"""mm; so much at the stock's edge carries a panel that is cut out of it."""
MEET = 12
"""mm; so far on either side of the line where the parts of a contour meet, both setups may cut."""
MANY = 60
"""So many changed moves are looked at first; the others only where these show nothing."""
MOST_POINTS = 6000

Verdict = tuple[Literal["harmful", "harmless", "debatable"], str]


@dataclass
class Rule:
    """The unedited programs of one setup and what they do."""

    job: Job
    panel: Panel
    programs: list[list[str]]
    _islands: dict[str, bool] = field(default_factory=dict)
    """Tag -> whether the good program itself cuts into an island there."""

    def read(self, programs: Sequence[Sequence[str]]) -> Said:
        dialect = self.job.machine.program
        return said(programs, dialect.change != "automatic", dict(dialect.slots))

    @cached_property
    def good(self) -> Said:
        return self.read(self.programs)

    @cached_property
    def _good_heights(self) -> Heights:
        return Heights(self.good.moves, self.job.cutters)

    @cached_property
    def _good_paths(self) -> Counter[tuple[object, ...]]:
        return Counter(move.path for move in self.good.moves)

    def verdict(self, programs: Sequence[Sequence[str]]) -> Verdict:
        """What an edited text is, and why."""
        now = self.read(programs)
        if now.refused:
            return "harmful", f"refused: {now.refused}"
        if not now.odd and now.meaning() == self.good.meaning():
            return "harmless", ""
        harm = self.danger(now) or self.other_piece(now) or self._loose(now)
        return ("harmful", harm) if harm else ("debatable", now.odd)

    # --- dangers on the way

    def danger(self, now: Said) -> str:
        """The first thing that breaks cutter, clamp, machine or sheet; empty where nothing does."""
        return (
            self._order(now) or self._single(now) or self._travel(now) or self._clamps(now)
            or self._rapids(now) or self._plunges(now) or self._rubs(now)
        )  # fmt: skip

    @property
    def clear(self) -> float:
        """The height that clears every clamp, mm."""
        return 5.0 + max((height for _, _, height in self._standing), default=0.0)

    @cached_property
    def _standing(self) -> list[tuple[str, tuple[float, float, float, float], float]]:
        """What stands beside the cutter: clamps, and the walls of a folded box that lies with its inside up."""
        folded = self.panel.folded
        walls = folded.flanges if folded is not None and folded.standing else ()
        clamps = [(f"clamp {clamp.number}", self._box(clamp.area), clamp.height) for clamp in self.panel.clamps]
        return clamps + [("a wall", self._box(wall.area), wall.height) for wall in walls]

    def _order(self, now: Said) -> str:
        """Starts, stops, changes, the spindle's run-up and the setting of Z, event by event."""
        by_hand = self.job.machine.program.length == "touch off"
        programs = {event.program for event in now.events}
        for program in sorted(programs):
            z, turns, rested, cutter, moved = math.nan, 0.0, 0.0, 0, False
            for event in (one for one in now.events if one.program == program):
                where = f"line {event.index + 1}"
                if isinstance(event, Move):
                    word = self._move_in_order(event, rested, moved, by_hand)
                    if word:
                        return f"{word}, {where}"
                    z, moved = event.end[2], True
                elif event.what == "spindle":
                    turns, rested = event.value, 0.0
                elif event.what == "dwell":
                    milli = self.job.machine.program.dwell == "milliseconds"
                    rested += (event.value / 1000 if milli else event.value) if turns else 0.0
                elif event.what == "offset":
                    if event.value and cutter and event.value != cutter:
                        return f"length of another cutter, {where}"
                else:
                    if turns:
                        return f"{event.what} with the spindle turning, {where}"
                    if moved and z < 0:
                        return f"{event.what} with the cutter in the sheet, {where}"
                    if event.what == "change":
                        cutter, turns, z = int(event.value), 0.0, math.nan
        return ""

    def _move_in_order(self, move: Move, rested: float, moved: bool, by_hand: bool) -> str:
        sideways = move.start[:2] != move.end[:2] and not all(
            math.isnan(b) or a == b for a, b in zip(move.start[:2], move.end[:2], strict=True)
        )
        drops = not math.isnan(move.end[2]) and not abs(move.end[2] - move.start[2]) < 1e-4
        if not move.z_known and drops:
            return "Z moves before it is set"
        if by_hand and move.z_known and math.isnan(move.start[2]) and sideways:
            return "sideways while the cutter stands on the sheet"
        if any(math.isnan(value) for value in move.start[:2]) and move.low < self.clear - DEEP:
            return "below the clear height at no known place"
        if not moved and not (move.g == 0 and move.end[2] >= self.clear - DEEP and not sideways):
            return "the first motion is not a rapid of Z alone to the clear height"
        if move.g and move.low < -DEEP:
            if move.speed <= 0:
                return "spindle off in the cut"
            if rested < self.job.machine.spin_up - 0.05:
                return "cuts before the spindle is up to speed"
        return ""

    def _single(self, now: Said) -> str:
        """What one move alone does wrong: depth, flutes, speed, feed."""
        job, thick = self.job, self.panel.thickness
        material, machine = job.materials[self.panel.material], job.machine
        seen: set[tuple[object, ...]] = set()
        for move in now.moves:
            key = (move.g, move.low, move.feed, move.speed, move.cutter, move.upright)
            if move.low > -DEEP or key in seen:
                continue
            seen.add(key)
            where = f"line {move.index + 1}"
            cutter = job.cutters.get(move.cutter)
            if cutter is None:
                return f"no such cutter, {where}"
            point = 0.0
            if cutter.kind == "drill" and cutter.point_angle < FLAT:
                point = cutter.diameter / 2 / math.tan(cutter.point_angle / 2)
            if move.low < max(-thick - 2 - point, -thick - machine.spoilboard + 3) - DEEP:
                return f"too deep, {where}"
            if move.low + cutter.flute_length < -RIM and move.g:
                return f"deeper than the flutes, {where}"
            if move.g == 0:
                continue
            word = self._too_much(move, cutter, material, machine)
            if word:
                return f"{word}, {where}"
        return ""

    @staticmethod
    def _too_much(move: Move, cutter: Any, material: Any, machine: Any) -> str:
        if not machine.min_rpm - 1 <= move.speed <= machine.max_rpm + 1:
            return "a speed that the spindle does not have"
        table = material.speed(cutter.kind, cutter.material)
        if table is None:
            return "a cutter that the table has no speed for"
        wide = _wide(cutter, move)
        if math.pi * wide * move.speed / 1000 > 1.11 * table:
            return "too fast for the material"
        if cutter.kind == "end mill":
            most = material.chip_load(cutter.diameter)[1] * max(1, cutter.flutes)
        elif cutter.kind == "engraver":
            most = material.chip_load(wide)[1] * max(1, cutter.flutes)
        else:
            most = material.drill_feed(cutter.diameter)[1]
        if move.feed / move.speed > 1.51 * most:
            return "fed too hard"
        if move.upright and move.feed > machine.max_z + 2:
            return "fed faster than the machine can"
        return ""

    def _travel(self, now: Said) -> str:
        placed = [move for move in now.moves if move.placed]
        if not placed:
            return "nothing is done"
        points = np.array([point for move in placed for point in (
            [move.start, move.end] if move.centre is None else move.stations(0.5, 90)
        )])  # fmt: skip
        span = points.max(axis=0) - points.min(axis=0)
        for name, length, most in zip("XYZ", span, self.job.machine.travel, strict=True):
            if length > most + DEEP:
                return f"out of travel in {name}"
        return ""

    def _added(self, now: Said) -> list[tuple[int, Move]]:
        """Moves that the good program does not hold, with their place in the order."""
        spare = Counter(self._good_paths)
        added = []
        for order, move in enumerate(now.moves):
            if spare[move.path] > 0:
                spare[move.path] -= 1
            else:
                added.append((order, move))
        return added

    def _lost(self, now: Said) -> list[Move]:
        spare = Counter(move.path for move in now.moves)
        lost = []
        for move in self.good.moves:
            if spare[move.path] > 0:
                spare[move.path] -= 1
            else:
                lost.append(move)
        return lost

    def _clamps(self, now: Said) -> str:
        nut = self.job.machine.nut_diameter / 2
        for _, move in self._added(now):
            cutter = self.job.cutters.get(move.cutter)
            if cutter is None or not move.placed:
                continue
            points = np.array(move.stations(0.5, 600))
            parts = (
                (0.0, cutter.diameter / 2), (min(cutter.flute_length, cutter.stick_out), cutter.shank / 2),
                (cutter.stick_out, nut),
            )  # fmt: skip
            for what, (x0, y0, x1, y1), height in self._standing:
                beside = np.hypot(
                    np.maximum(np.maximum(x0 - points[:, 0], points[:, 0] - x1), 0.0),
                    np.maximum(np.maximum(y0 - points[:, 1], points[:, 1] - y1), 0.0),
                )
                for above, radius in parts:
                    if ((points[:, 2] + above < height - DEEP) & (beside < radius - RIM)).any():
                        return f"hits {what}, line {move.index + 1}"
        return ""

    def _box(self, area: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
        ends = self.panel.to_program(area[:2]), self.panel.to_program(area[2:])
        (ax, ay), (bx, by) = ends
        return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)

    def _on_stock(self, points: Any) -> Any:
        x0, y0, x1, y1 = self._box(self.panel.stock)
        edge = RIM
        return (
            (points[:, 0] > x0 + edge) & (points[:, 0] < x1 - edge)
            & (points[:, 1] > y0 + edge) & (points[:, 1] < y1 - edge)
        )  # fmt: skip

    def _rapids(self, now: Said) -> str:
        """A rapid into what stands there at that moment."""
        everything = Heights(now.moves, self.job.cutters)
        floor = -self.panel.thickness
        for order, move in enumerate(now.moves):
            cutter = self.job.cutters.get(move.cutter)
            if move.g or cutter is None or not move.placed or move.low > -DEEP:
                continue
            if move.upright and move.end[2] > move.start[2]:
                continue
            for x, y, z in move.stations(0.4, 60):
                if z > -DEEP:
                    continue
                rim = [(x, y)]
                if cutter.point_angle > FLAT:
                    rim += [
                        (x + s * math.cos(a), y + s * math.sin(a))
                        for a in np.arange(8) * math.pi / 4 for s in (cutter.diameter / 2 - RIM,) if s > 0
                    ]  # fmt: skip
                points = np.array(rim)
                stands = np.minimum(0.0, everything.at(points, before=order)) > max(z, floor) + RIM
                if (stands & self._on_stock(points)).any():
                    return f"a rapid through the sheet, line {move.index + 1}"
        return ""

    def _plunges(self, now: Said) -> str:
        """An end mill fed straight down into the full: only the table's share of its feed."""
        material = self.job.materials[self.panel.material]
        everything = None
        known = {(move.path, move.feed, move.speed) for move in self.good.moves}
        for order, move in enumerate(now.moves):
            cutter = self.job.cutters.get(move.cutter)
            if cutter is None or not move.g or not move.upright or cutter.kind != "end mill" or not move.placed:
                continue
            if move.end[2] >= move.start[2] or move.low > -DEEP or (move.path, move.feed, move.speed) in known:
                continue
            most = 1.5 * material.plunge * material.chip_load(cutter.diameter)[1] * max(1, cutter.flutes) * move.speed
            if move.feed <= 1.02 * most + 2:
                continue
            everything = everything or Heights(now.moves, self.job.cutters)
            points = around(move, cutter.diameter / 2, (0.1 * cutter.diameter, 0.3 * cutter.diameter), 1, 1)
            stands = everything.at(points, before=order) > max(move.low, -self.panel.thickness) + RIM
            if (stands & self._on_stock(points)).mean() > 0.5:
                return f"plunges too hard, line {move.index + 1}"
        return ""

    def _rubs(self, now: Said) -> str:
        """A cutter that takes under half the chip floor in all its work; a drill half of the half for its point."""
        material, fastest = self.job.materials[self.panel.material], dict[int, float]()
        for move in now.moves:
            cutter = self.job.cutters.get(move.cutter)
            if cutter is None or not move.g or move.low > -DEEP or move.speed <= 0:
                continue
            teeth = max(1, cutter.flutes) * move.speed
            chip, floor = move.feed / teeth, material.chip_floor
            if cutter.kind not in ("end mill", "engraver"):
                floor = min(floor, material.drill_feed(_wide(cutter, move))[0] / max(1, cutter.flutes)) / 2
            elif cutter.kind == "engraver":
                pass  # what it takes along its line is what it takes
            elif move.centre is not None:
                radius = math.dist(move.start[:2], move.centre)
                chip *= (radius + cutter.diameter / 2) / radius if radius else 1.0
            fastest[move.cutter] = max(fastest.get(move.cutter, 0.0), chip / floor)
        slow = next((cutter for cutter, share in fastest.items() if share < 0.5), None)
        return "" if slow is None else f"rubs in all its work, T{slow}"

    # --- a piece that comes loose

    def _loose(self, now: Said) -> str:
        """Follows the underside cell by cell where the order differs: no cut may meet an island that nothing holds."""
        for opening in self.panel.openings:
            if opening.cut is None:
                continue
            good, through = self._through(opening, self.good.moves), self._through(opening, now.moves)
            if [move.path for move in good] == [move.path for move in through]:
                continue
            if not self._island_is_cut(opening, through):
                continue
            if opening.tag not in self._islands:
                self._islands[opening.tag] = self._island_is_cut(opening, good)
            if not self._islands[opening.tag]:
                return f"{opening.tag} comes loose early"
        return ""

    def _through(self, opening: Opening, moves: Sequence[Move]) -> list[Move]:
        """The moves near an opening that go through the sheet."""
        assert opening.cut is not None
        x0, y0, x1, y1 = self._box(opening.cut.bounds)
        floor = -self.panel.thickness + 1e-6
        return [
            move for move in moves
            if move.low <= floor and move.placed and move.cutter in self.job.cutters
            and x0 - 9 < move.end[0] < x1 + 9 and y0 - 9 < move.end[1] < y1 + 9
        ]  # fmt: skip

    def _island_is_cut(self, opening: Opening, moves: Sequence[Move]) -> bool:
        """Cell by cell, when each is gone; and whether any goes out of an island half a millimetre in."""
        assert opening.cut is not None
        x0, y0, x1, y1 = self._box(opening.cut.bounds)
        cell = max(0.25, (x1 - x0) / 100, (y1 - y0) / 100)
        xs, ys = np.arange(x0 - cell, x1 + 1.5 * cell, cell), np.arange(y0 - cell, y1 + 1.5 * cell, cell)
        grid = np.column_stack([axis.ravel() for axis in np.meshgrid(xs, ys)])
        when = np.full(len(grid), np.inf)
        for order, move in enumerate(moves):
            left = np.flatnonzero(np.isinf(when))
            low = Heights([move], self.job.cutters).at(grid[left])
            when[left[low <= -self.panel.thickness + 1e-6]] = order
        gone = when.reshape(len(ys), len(xs))
        for moment in np.unique(gone[np.isfinite(gone)])[:-1]:
            islands = (gone > moment) & ~_joined(gone > moment)
            inner = _shrunk(islands, max(1, round(0.5 / cell)))
            if (inner & np.isfinite(gone)).sum() * cell * cell > 0.5:
                return True
        return False

    # --- the piece

    def other_piece(self, now: Said) -> str:
        """Where the sheet is cut to another height than the good program cuts it, if anybody would measure there."""
        added, lost = [move for _, move in self._added(now)], self._lost(now)
        changed = [
            move for move in (*added, *lost)
            if move.placed and move.low < -BAND and move.cutter in self.job.cutters
        ]  # fmt: skip
        if not changed:
            return ""
        after = Heights(now.moves, self.job.cutters)
        changed = list({move.path: move for move in changed}.values())
        step = max(1, len(changed) // MANY)
        for chosen in (changed[::step], changed if step > 1 else []):
            if chosen and (word := self._differs(chosen, after)):
                return word
        return ""

    def _differs(self, changed: Sequence[Move], after: Heights) -> str:
        sets = []
        for move in changed:
            cutter = self.job.cutters[move.cutter]
            radius = _wide(cutter, move) / 2 if cutter.kind == "engraver" else cutter.diameter / 2
            insets = [BAND, TAB_BAND, radius / 2]
            if cutter.point_angle < FLAT:  # a cone: what it clears lies anywhere between its rim and its tip
                insets += [share * radius for share in (0.1, 0.2, 0.3, 0.4, 0.7)]
            for inset in insets:
                points = around(move, radius, [inset], 1.0, 12)
                sets.append(np.column_stack((points, np.full(len(points), inset >= TAB_BAND))))
        points = np.vstack(sets)
        if len(points) > MOST_POINTS:
            points = points[:: math.ceil(len(points) / MOST_POINTS)]
        robust = points[:, 2] > 0.5
        points = points[:, :2]
        keep = self._on_stock(points)
        points, robust = points[keep], robust[keep]
        floor = -self.panel.thickness
        old = np.maximum(self._good_heights.at(points), floor)
        new = np.maximum(after.at(points), floor)
        other = np.flatnonzero(np.abs(new - old) > DEEP)
        for index in other:
            x, y = points[index]
            if self._matters((x, y), old[index], new[index], bool(robust[index])):
                return f"piece at X{x:.2f} Y{y:.2f}: Z{new[index]:.2f} instead of Z{old[index]:.2f}"
        return ""

    def _matters(self, at: tuple[float, float], old: float, new: float, robust: bool) -> bool:
        """Whether anybody would measure the difference at a point."""
        point = shapely.Point(at)
        deepest = -min(0.5, 0.4 * self.panel.thickness)
        for x, y in self._marks:
            away = math.dist(at, (x, y))
            if away <= 1.0:
                return new < deepest - DEEP or (away < 0.1 and new > -0.03 > old)
        if any(waste.covers(point) for waste in self._waste):
            return False
        if self._tab_ends.covers(point) and not (robust and self._at_a_wall(point)):
            return False
        for opening, shape, corners in self._shapes:
            if new < old and opening.tolerance > 0 and opening.cut_diameter is not None:
                away = math.dist(at, self.panel.to_program(opening.centre))
                if opening.cut_diameter / 2 - BAND < away < (opening.cut_diameter + opening.tolerance) / 2 + BAND:
                    return False
            if corners is not None and corners.covers(point) and (new > old or shape.covers(point)):
                return False
        return True

    @cached_property
    def _marks(self) -> list[tuple[float, float]]:
        """Centre marks, and pilots that the good program only marks."""
        places = [mark for opening in self.panel.openings if opening.cut is None for mark in opening.marks]
        places += [opening.centre for opening in self.panel.openings if opening.cut is None and not opening.marks]
        for opening in self.panel.openings:
            if opening.cut is not None and opening.finish == "pilot":
                depth = self._good_heights.at([self.panel.to_program(opening.centre)])[0]
                if depth > -0.6:
                    places.append(opening.centre)
        return [self.panel.to_program(place) for place in places]

    @cached_property
    def _shapes(self) -> list[tuple[Opening, Any, Any]]:
        """Each opening, its shape, and the ground round its sharp corners."""
        found = []
        for opening in self.panel.openings:
            if opening.cut is None:
                continue
            shape = self._polygon(opening.cut)
            corners = None
            if opening.corner_limit > 0:
                contour = self.panel.contour_to_program(opening.cut)
                sharp = [contour.point_at(place) for place, turn in contour.corners() if turn > 0.05]
                if sharp:
                    corners = shapely.union_all([shapely.Point(p).buffer(1.5 * opening.corner_limit) for p in sharp])
            found.append((opening, shape, corners))
        return found

    def _polygon(self, contour: Any) -> Any:
        moved = self.panel.contour_to_program(contour)
        ends: list[float] = [0.0]
        for segment in moved.segments:
            ends.append(ends[-1] + segment.length)
        places = sorted({*ends[:-1], *(moved.perimeter * k / 720 for k in range(720))})
        return shapely.Polygon([moved.point_at(place) for place in places])

    def _at_a_wall(self, point: Any) -> bool:
        """A tab is measured at the edge of what stays; how its other end is shaped matters to nobody."""
        return any(shape.exterior.distance(point) < 0.5 for _, shape, _ in self._shapes)

    @cached_property
    def _thinnest(self) -> float:
        used = {move.cutter for move in self.good.moves if move.low < 0}
        ends = [self.job.cutters[number].diameter for number in used if number in self.job.cutters
                and self.job.cutters[number].kind == "end mill"]  # fmt: skip
        return min(ends, default=1.0)

    @cached_property
    def _waste(self) -> list[Any]:
        """What falls away: the middle of each opening that is cut round, and what lies outside a machined outline."""
        cores = [
            shape.buffer(-self._thinnest + 0.4) for opening, shape, _ in self._shapes if not opening.cleared
        ]  # fmt: skip
        # where parts of a contour meet another setup cuts as well, and no tab stands
        cores += [
            shape.intersection(self._beside(line)) for opening, shape, _ in self._shapes if opening.part is not None
            for line in opening.part.lines
        ]  # fmt: skip
        if self.panel.cut_outline:
            piece = self._polygon(self.panel.outline).buffer(self._thinnest - 0.4)
            sheet = shapely.box(*self._box(self.panel.stock)).buffer(-FRAME, join_style="mitre")
            cores.append(sheet.difference(piece))
        return cores

    def _beside(self, line: tuple[int, float]) -> Any:
        """The ground beside a line at which a contour is parted, on either side of it."""
        axis, place = self.panel.line_to_program(line)
        box = [-1e4, -1e4, 1e4, 1e4]
        box[axis], box[axis + 2] = place - MEET, place + MEET
        return shapely.box(*box)

    @cached_property
    def _tab_ends(self) -> Any:
        """Ground under the cutter where it is lifted over a tab or let down behind it."""
        through = -self.panel.thickness
        discs = [
            shapely.Point(move.end[:2]).buffer(self.job.cutters[move.cutter].diameter / 2 + 0.3)
            for move in self.good.moves
            if move.placed and move.upright and move.cutter in self.job.cutters
            and self.job.cutters[move.cutter].kind != "engraver" and min(move.start[2], move.end[2]) < -DEEP
            and any(through < z < -DEEP for z in (move.start[2], move.end[2]))
        ]  # fmt: skip
        return shapely.union_all(discs)


@dataclass
class Together(Rule):
    """All setups of a divided panel, and the pin holes of its board: each by its own rule, and none may be missing.

    ``parts`` are the rules of the setups and of the board, each with the places of its programs among ``programs``; a
    program that is not given has no lines.
    """

    parts: list[tuple[Rule, tuple[int, ...]]] = field(default_factory=list)

    def verdict(self, programs: Sequence[Sequence[str]]) -> Verdict:
        """What edited texts are, and why: as bad as the worst of the setups."""
        worst: Verdict = ("harmless", "")
        for number, (rule, places) in enumerate(self.parts, start=1):
            own = [programs[place] for place in places]
            if not all(own):
                return "harmful", f"a setup is left out: program {number}"
            word, why = rule.verdict(own)
            if word == "harmful":
                return word, why
            worst = (word, why) if word == "debatable" else worst
        return worst

    def _each(self, now: Said, ask: str) -> str:
        return next((word for rule, _ in self.parts if (word := getattr(rule, ask)(rule.good))), "")

    def danger(self, now: Said) -> str:
        """What the unedited setups endanger: only these are asked for it."""
        return self._each(now, "danger")

    def other_piece(self, now: Said) -> str:
        """Where the unedited setups differ from themselves."""
        return self._each(now, "other_piece")


def _wide(cutter: Any, move: Move) -> float:
    """How wide a cutter cuts at the top of the sheet in a move, mm."""
    if cutter.point_angle >= FLAT:
        return float(cutter.diameter)
    return float(min(cutter.diameter, cutter.tip - 2 * move.low * math.tan(cutter.point_angle / 2)))


def _joined(stands: Any) -> Any:
    """The cells of ``stands`` that are joined to the rim of the grid."""
    reached = np.zeros_like(stands)
    reached[0], reached[-1], reached[:, 0], reached[:, -1] = stands[0], stands[-1], stands[:, 0], stands[:, -1]
    while True:
        grown = reached.copy()
        grown[1:] |= reached[:-1]
        grown[:-1] |= reached[1:]
        grown[:, 1:] |= reached[:, :-1]
        grown[:, :-1] |= reached[:, 1:]
        grown &= stands
        if (grown == reached).all():
            return reached
        reached = grown


def _shrunk(cells: Any, times: int) -> Any:
    for _ in range(times):
        inner = cells.copy()
        inner[1:] &= cells[:-1]
        inner[:-1] &= cells[1:]
        inner[:, 1:] &= cells[:, :-1]
        inner[:, :-1] &= cells[:, 1:]
        cells = inner
    return cells


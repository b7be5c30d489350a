"""Whether a planted edit does harm, by a rule of these tests' own: what is gone afterwards, and what was ploughed.

An edit that this rule calls harmful must be caught. One that it does not call harmful may be caught or not: a shift
within ground that is cleared anyway, the direction of a full circle, a spot that a drill hides.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from tests.faults.own_reading import Move, below, bounds, cleared, gone, moves
from toolpaths.job import Job
from toolpaths.layout.panel import Panel

BAND = 0.015
"""mm; a difference at least this wide all over a disc counts: half as much again as is allowed."""

TAB_BAND = 0.11
"""mm; a tab may be a tenth wider or narrower than declared: that is not measured on a saw cut."""


@dataclass(slots=True)
class Rule:
    """The unedited program of one panel and what it leaves."""

    job: Job
    panel: Panel
    lines: list[str]

    def levels(self) -> tuple[float, ...]:
        """Just under the top, half a centre mark down, either side of the tabs' top, just over the underside."""
        thick = self.panel.thickness
        rule = self.job.materials[self.panel.material].tabs
        tab = rule.height if thick <= rule.thin else rule.height_thick
        return tuple(sorted({-0.02, -0.2, tab - thick + 0.03, tab - thick - 0.03, 0.02 - thick}))

    def harmful(self, edited: list[str]) -> str:
        """What would go wrong, in a word; empty where nothing need."""
        before, after = moves(self.lines), moves(edited)
        old, new = {move.path for move in before}, {move.path for move in after}
        changed = [move for move in before if move.path not in new] + [move for move in after if move.path not in old]
        if any(move.broken for move in after):
            return "broken arc"
        if any(move.cutter not in self.job.cutters for move in changed):
            return "cutter"
        deepest = -self.panel.thickness - 2
        for move in after:
            cutter = self.job.cutters.get(move.cutter)
            if cutter and move.low < deepest - cutter.point_length - 0.01 and cutter.kind == "drill":
                return "depth"
            if cutter and move.low < deepest - 0.01 and cutter.kind != "drill":
                return "depth"
        return (
            self._feeds_too_hard(before, after)
            or self._ploughs(after, before)
            or self._leaves_another_piece(before, after, changed)
        )

    def _feeds_too_hard(self, before: list[Move], after: list[Move]) -> str:
        """A cut in the sheet fed faster than before, at over 1.5 times the table's upper figure per tooth or turn."""
        material = self.job.materials[self.panel.material]
        for old, new in zip(before, after, strict=False):
            if new.feed <= old.feed or new.g == 0 or new.low > -0.02 or not new.speed:
                continue
            cutter = self.job.cutters[new.cutter]
            if cutter.kind == "end mill":
                chip, most = new.feed / new.speed / cutter.flutes, material.chip_load(cutter.diameter)[1]
            else:
                chip, most = new.feed / new.speed, material.drill_feed(cutter.diameter)[1]
            if chip > 1.51 * most:
                return "feed"
        return ""

    def _ploughs(self, after: list[Move], before: list[Move]) -> str:
        """A rapid that was not there before, with material in its way."""
        known = {move.path for move in before if move.g == 0}
        for number, move in enumerate(after):
            if move.g or move.path in known or not move.placed or move.low > -0.02:
                continue
            if move.cutter not in self.job.cutters:
                continue
            if move.upright and (move.end[2] > move.start[2] or self._back_down(move, after[:number])):
                continue
            level = max(move.low, -self.panel.thickness) + 1e-6
            way = cleared(move, self.job.cutters[move.cutter], -0.02)
            if way is None or below(move, -0.02) is None:
                continue
            open_ground = gone(self._near(after[:number], way.bounds), self.job.cutters, level)
            if not way.buffer(-BAND).difference(open_ground).buffer(-BAND / 2).is_empty:
                return "rapid"
        return ""

    @staticmethod
    def _back_down(rapid: Move, earlier: list[Move]) -> bool:
        """Down a hole that the same cutter has drilled to that depth before."""
        return any(
            cut.g == 1 and cut.upright and cut.cutter == rapid.cutter and cut.end[:2] == rapid.end[:2]
            and cut.end[2] <= rapid.end[2]
            for cut in earlier
        )  # fmt: skip

    def _leaves_another_piece(self, before: list[Move], after: list[Move], changed: list[Move]) -> str:
        """Whether more or less is gone at some height, outside what falls away as a slug."""
        known = [move for move in changed if move.placed and move.cutter]
        if not known:
            return ""
        grow = max(self.job.cutters[move.cutter].radius for move in known) + 1
        boxes = [bounds(move) for move in known]
        region = (
            min(box[0] for box in boxes) - grow, min(box[1] for box in boxes) - grow,
            max(box[2] for box in boxes) + grow, max(box[3] for box in boxes) + grow,
        )  # fmt: skip
        for level in self.levels():
            old = gone(self._near(before, region), self.job.cutters, level)
            new = gone(self._near(after, region), self.job.cutters, level)
            other = shapely.union(new.difference(old), old.difference(new).difference(self._marks()))
            other = other.difference(self._slugs())
            ends = self._tab_ends(before)
            rest = shapely.union(
                other.difference(ends).buffer(-BAND / 2), other.intersection(ends).buffer(-TAB_BAND / 2)
            )
            if not rest.is_empty:
                x, y = rest.representative_point().coords[0]
                return f"piece at X{x:.2f} Y{y:.2f} Z{level:.2f}"
        return ""

    def _marks(self) -> shapely.Geometry:
        """Centre marks: a shallower one is a mark too."""
        marks = [mark for opening in self.panel.openings if opening.cut is None for mark in opening.marks]
        return shapely.union_all([shapely.Point(self.panel.to_program(mark)).buffer(2) for mark in marks])

    def _tab_ends(self, before: list[Move]) -> shapely.Geometry:
        """Ground under the cutter where it is lifted over a tab or let down behind it."""
        through = -self.panel.thickness
        discs = [
            shapely.Point(move.end[:2]).buffer(self.job.cutters[move.cutter].radius + 0.3)
            for move in before
            if move.g == 1 and move.upright and min(move.start[2], move.end[2]) < 0
            and any(through < z < 0 for z in (move.start[2], move.end[2])) and move.cutter in self.job.cutters
        ]  # fmt: skip
        return shapely.union_all(discs)

    def _slugs(self) -> shapely.Geometry:
        """The middle of each opening that is cut round and falls out, without the kerf: nobody measures it."""
        cores = []
        for opening in self.panel.openings:
            if opening.cut is None or opening.cleared:
                continue
            shape = self.panel.contour_to_program(opening.cut)
            ring = [shape.point_at(shape.perimeter * k / 400) for k in range(400)]
            cutter = min(self.job.cutters[move.cutter].diameter for move in moves(self.lines) if move.cutter)
            cores.append(shapely.Polygon(ring).buffer(-cutter + 0.4))
        return shapely.union_all([*cores, self._waste()])

    def _waste(self) -> shapely.Geometry:
        """What lies beside a panel that is cut out, without the kerf and the 5 mm of frame that carry it."""
        if not self.panel.cut_outline:
            return shapely.Polygon()
        outline = self.panel.contour_to_program(self.panel.outline)
        ring = [outline.point_at(outline.perimeter * k / 400) for k in range(400)]
        corners = [self.panel.to_program(corner) for corner in (self.panel.stock[:2], self.panel.stock[2:])]
        sheet = shapely.box(*shapely.MultiPoint(corners).bounds).buffer(-5, join_style="mitre")
        cutter = min(self.job.cutters[move.cutter].diameter for move in moves(self.lines) if move.cutter)
        return sheet.difference(shapely.Polygon(ring).buffer(cutter - 0.4))

    def _near(self, some: list[Move], region: tuple[float, float, float, float]) -> list[Move]:
        """The moves whose cutter, at most 14 mm wide, may reach into ``region`` (x0, y0, x1, y1)."""
        x0, y0, x1, y1 = region[0] - 7, region[1] - 7, region[2] + 7, region[3] + 7
        boxes = ((move, bounds(move)) for move in some if move.placed)
        return [move for move, box in boxes if box[0] <= x1 and box[2] >= x0 and box[1] <= y1 and box[3] >= y0]

"""The tables of lettering and scales to resolved legends: what each needs, and what cannot be."""

from __future__ import annotations

import math
from typing import Any, Final, cast

from toolpaths.job import Legend, Scale, Text, schema
from toolpaths.job.features import Sheet
from toolpaths.job.scope import LEAST_SIZE, Scope
from toolpaths.units import plain

LEAST_HEIGHT: Final = 1.0
"""mm; smaller capitals are neither cut nor read (the least of ISO 3098 is 1.8 mm, from memory)."""

MOST_TICKS: Final = 1000
"""Of one scale: on a circle of 300 mm they stand 1 mm apart."""

TURN: Final = 2 * math.pi


class LegendResolver:
    """The tables of lettering and scales on one sheet."""

    def __init__(self, scope: Scope, sheet: Sheet) -> None:
        self.scope = scope
        self.sheet = sheet

    def legend(self, table: schema.LegendTable) -> Legend:
        match table:
            case schema.TextTable():
                return self.text(table)
            case schema.ScaleTable():
                return self.scale(table)
        raise AssertionError(table.kind)

    def text(self, table: schema.TextTable) -> Text:
        angle = self.scope.angle(table.angle, (*table.place, "angle"))
        return Text(**self.common(table, table.height), text=table.text, angle=angle, align=table.align)

    def common(self, table: schema.LegendTable, height: float | str) -> dict[str, Any]:
        """What both have, resolved."""
        place = table.place
        if table.finish == "pilot":
            self.scope.problems.add(
                (*place, "finish"), f"finish 'pilot' does not suit a {table.kind}", "write finish = 'machine' or 'mark'"
            )
        depth = self.depth(table)
        by_machine = (table.finish or self.sheet.finish) == "machine"
        return {
            "number": cast(int, place[-1]) + 1, "at": self.scope.point(table.at, (*place, "at")), "label": table.label,
            "finish": "machine" if by_machine else "mark", "tabs": None, "depth": depth if by_machine else None,
            "height": self.scope.length(height, (*place, "height"), "positive", LEAST_HEIGHT),
        }  # fmt: skip

    def depth(self, table: schema.LegendTable) -> float | None:
        if table.depth is None:
            return None
        place = (*table.place, "depth")
        depth = self.scope.length(table.depth, place, "positive")
        if depth >= self.sheet.thickness - LEAST_SIZE:
            sheet = self.scope.said(self.sheet.thickness)
            self.scope.problems.add(
                place, f"is {self.scope.said(depth)} in {sheet} of sheet", "engrave 0.1 to 0.3 mm deep, or leave it out"
            )
        return depth

    def scale(self, table: schema.ScaleTable) -> Scale:
        place, scope = table.place, self.scope
        sweep = scope.number(table.sweep, (*place, "sweep"))
        if not math.isnan(sweep) and not 0 < sweep <= 360:
            scope.problems.add((*place, "sweep"), f"is {plain(sweep)}", "write degrees over 0 and up to 360, clockwise")
            sweep = math.nan
        start = 90 + sweep / 2
        if table.start_angle is not None:
            start = scope.number(table.start_angle, (*place, "start_angle"))
        divisions = scope.count(table.divisions, (*place, "divisions"))
        subdivisions = scope.count(table.subdivisions, (*place, "subdivisions"))
        ticks = divisions * subdivisions
        if ticks > MOST_TICKS:
            wrong = "divisions" if divisions > MOST_TICKS else "subdivisions"
            scope.problems.add((*place, wrong), f"makes {ticks} ticks", f"at most {MOST_TICKS}")
            divisions = subdivisions = 1
        return Scale(
            **self.common(table, table.height),
            radius=scope.length(table.radius, (*place, "radius"), "positive"),
            start_angle=math.radians(start),
            sweep=math.radians(sweep),
            divisions=divisions,
            subdivisions=subdivisions,
            major_tick=scope.length(table.major_tick, (*place, "major_tick"), "positive"),
            minor_tick=scope.length(table.minor_tick, (*place, "minor_tick"), "positive"),
            texts=self.texts(table, divisions, divisions if sweep == 360 else divisions + 1),
            gap=scope.length(table.gap, (*place, "gap"), "not negative"),
            arc=table.arc,
        )

    def texts(self, table: schema.ScaleTable, divisions: int, ticks: int) -> tuple[str, ...]:
        """What stands at each long tick, in their order; nothing where the job gives nothing."""
        place, problems = table.place, self.scope.problems
        if table.texts is not None:
            if table.numbers is not None:
                problems.add((*place, "numbers"), "stands beside texts", "give one of the two")
            if len(table.texts) != ticks:
                said = f"has {len(table.texts)} for {ticks} long ticks"
                problems.add((*place, "texts"), said, "give one for each, '' for none")
            return table.texts
        if table.numbers is None:
            return ()
        first, last = (
            self.scope.number(raw, (*place, "numbers", index)) for index, raw in enumerate(table.numbers)
        )
        if math.isnan(first) or math.isnan(last):
            return ()
        return tuple(plain(first + (last - first) * tick / divisions, 2) for tick in range(ticks))

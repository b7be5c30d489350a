"""The drilling schedule on the setup sheet: the bits in their order, and every opening with a place to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.crowd import CROWD, lattice
from toolpaths.labelling import together
from toolpaths.layout.panel import Layout, Opening, Panel
from toolpaths.layout.sizes import turn_words
from toolpaths.shop.bench import HandWork, bit_words, made_words, speed_words, step_words
from toolpaths.shop.schedule import edges, to_try, trade_name
from toolpaths.shop.words import Figures, measured_from, tag_list
from toolpaths.units import inch_decimal, plain

MOST_ROWS: Final = 8
"""Of one ring, grid or list; a paper of a thousand rows nobody reads."""


@dataclass(frozen=True, slots=True)
class RoundRow:
    """A bit, fitted once."""

    number: int
    bit: str
    speed: str
    makes: str


@dataclass(frozen=True, slots=True)
class HoleRow:
    """An opening, or all of a large ring or grid, whose first has its place here; ``edges`` by a rule."""

    tags: str
    size: str
    trade_name: str
    x: str
    y: str
    edges: tuple[str, str]
    steps: str
    punch: str
    left: str
    remark: str
    numbers: str
    to_try: str


@dataclass(frozen=True, slots=True)
class PanelRows:
    """A panel's openings, and where its x and y are measured from."""

    panel: str
    sheet: str
    measured_from: str
    rows: tuple[HoleRow, ...]


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """Everything that the sheet says of the work by hand."""

    rounds: tuple[RoundRow, ...]
    panels: tuple[PanelRows, ...]


def bench_sheet(layout: Layout, hand: HandWork, figures: Figures) -> BenchSheet:
    """The schedule of all panels that have openings, in the job's order."""
    several = len(layout.panels) > 1
    rounds = tuple(
        RoundRow(
            one.number,
            bit_words(one.step, layout.units),
            speed_words(one.step),
            "every place that is named below" if one.step.doing == "mark" else made_words(one, layout.units, several),
        )
        for one in hand.rounds
    )
    panels = tuple(
        PanelRows(
            panel.name,
            f"{panel.thickness_text} {panel.material}",
            figures.told(measured_from(panel.outline.bounds)),
            tuple(_rows(panel, hand, figures)),
        )
        for panel in layout.panels
        if panel.openings
    )
    return BenchSheet(rounds, panels)


def _rows(panel: Panel, hand: HandWork, figures: Figures) -> Iterator[HoleRow]:
    """Each opening; but many holes of one ring or grid, of a long list, or a crowd are one row: the CSV has each."""
    for places in together(panel.openings):
        alike = [panel.openings[place] for place in places]
        if len(alike) > MOST_ROWS:
            yield _row(panel, alike, hand, figures)
        else:
            yield from (_row(panel, [one], hand, figures) for one in alike)


def _row(panel: Panel, run: Sequence[Opening], hand: HandWork, figures: Figures) -> HoleRow:
    first = run[0]
    bench = hand.of(panel.name, first.tag)
    (side, far), (level, high) = edges(panel, first.centre)
    off_centre = len(bench.punched) > 1 or bench.punched not in ((), (first.centre,))
    name = trade_name(first, figures.job)
    others = f"place of {first.tag}; {_stand(run, figures)}the others are in drill_schedule.csv" if len(run) > 1 else ""
    remark = "; ".join(text for text in (figures.told(hand.remark(panel.name, bench)), others) if text)
    return HoleRow(
        tags=tag_list(one.tag for one in run),
        size=f"{first.size_text}{turn_words(first)}",
        trade_name="; ".join(part for part in name.split("; ") if part not in first.size_text),
        x=_decimal(first.centre[0], figures),
        y=_decimal(first.centre[1], figures),
        edges=(f"{figures.ruled(far)} {side}", f"{figures.ruled(high)} {level}"),
        steps="; ".join(step_words(step, figures.job) for step in bench.steps),
        punch="; ".join(" ".join(_decimal(axis, figures) for axis in at) for at in bench.punched) if off_centre else "",
        left=plain(bench.left, 2) if bench.left else "",
        remark=remark,
        numbers=", ".join(map(str, hand.numbers(panel.name, bench))),
        to_try=to_try(panel, first),
    )


def _stand(run: Sequence[Opening], figures: Figures) -> str:
    """Of a crowd how it stands, and where its last hole is."""
    if len(run) <= CROWD:
        return ""
    last, stand = run[-1], lattice([one.centre for one in run])
    place = f"{last.tag} at {_decimal(last.centre[0], figures)}, {_decimal(last.centre[1], figures)}; "
    return f"{stand.words(figures.job)}, {place}" if stand else place


def _decimal(place: float, figures: Figures) -> str:
    """A coordinate: two decimals in mm, thousandths in inches."""
    return inch_decimal(place) if figures.job == "in" else plain(place, 2)

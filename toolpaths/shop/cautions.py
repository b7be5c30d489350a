"""The usual cautions, short, where they matter: the setup sheet prints those of its materials, README all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from toolpaths.tables.rows import Material


@dataclass(frozen=True, slots=True)
class Cautions:
    """A heading and its sentences."""

    heading: str
    sentences: tuple[str, ...]


ALWAYS = Cautions(
    "At the machine",
    (
        "Wear eye protection. No gloves, loose sleeves or long hair near a turning spindle.",
        "Clamp the sheet on all sides. Never hold sheet by hand under a drill: clamp it against a stop, over wood.",
        "Run the program dry above the work first, with a hand at the stop.",
        "Never leave a cutting machine alone.",
        "Tabs are sawn, not broken; then file the stub flush.",
        "Speeds and feeds are starting points: the maker's data for cutter and machine come first.",
    ),
)
BY_HAND = Cautions("At the bench", (*ALWAYS.sentences[:2], ALWAYS.sentences[-1]))
"""What of those holds where no machine cuts: nothing runs dry, is left alone, or leaves tabs."""

METAL = Cautions("Sheet metal", ("Edges cut: deburr both faces of every hole, and the outline, before handling.",))
STEEL = Cautions(
    "Steel",
    ("Chips are hot and sharp. Brush them up when cold; never put a wood-dust extractor on steel chips: dust burns.",),
)
STAINLESS = Cautions(
    "Stainless steel",
    (
        "A cutter that rubs hardens the sheet: keep it cutting or lift it, and never linger. Use cutting oil, and a "
        "sharp cutter.",
    ),
)
ALUMINIUM = Cautions("Aluminium", ("Use cutting wax or a little fluid, or chips weld to the cutter.",))
BOARD = Cautions(
    "Wood and board",
    (
        "Wear a mask and run extraction: dust of plywood, MDF and fibreglass harms the lungs.",
        "No fluid over boards. Back the work fully, so that the lower face does not tear.",
    ),
)
MDF = Cautions(
    "MDF",
    (
        "Its dust is the finest of all boards and holds resin: mask and extraction also while sweeping up. "
        "Fine dust can catch fire: look for smouldering chips in kerf and bag before you leave.",
    ),
)
FIBREGLASS = Cautions(
    "Fibreglass board",
    (
        "Its dust holds glass: never blow it about with air; wipe up wet, and keep it off skin and eyes.",
        "It wears cutters out quickly: look at their edges between panels.",
    ),
)
ELECTRICAL = Cautions(
    "What the chassis is for",
    (
        "Mains and valve supplies are lethal, and capacitors stay charged after switching off.",
        "Bond protective earth to the metal with a stud of its own, that holds nothing else, on bare metal.",
        "Fuse and mains inlet follow the local electrical code; work for a licensed person where the law says so.",
    ),
)
EVERY = (ALWAYS, BY_HAND, METAL, STEEL, STAINLESS, ALUMINIUM, BOARD, MDF, FIBREGLASS, ELECTRICAL)
"""All of them, in the order of print."""


_BY_NAME = {"steel": STEEL, "stainless": STAINLESS, "alumin": ALUMINIUM, "mdf": MDF, "fibreglass": FIBREGLASS}
"""What a word in a material's name adds."""


def cautions(materials: Iterable[Material], by_machine: bool = True) -> tuple[Cautions, ...]:
    """Those that apply to these materials, in the order of print; an unknown metal gets the general ones.

    ``by_machine``: whether a machine cuts, or all is made by hand.
    """
    used = list(materials)
    wanted = {ALWAYS if by_machine else BY_HAND, ELECTRICAL}
    for material in used:
        wanted.add(BOARD if material.family == "board" else METAL)
        wanted.update(own for word, own in _BY_NAME.items() if word in material.name.lower())
    return tuple(group for group in EVERY if group in wanted)

"""What is said of a division: in ``check`` how and why, on paper how the sheet is moved and how well pins carry."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.division.board import pin_length, pins_by_place
from toolpaths.division.divide import Divided, Units
from toolpaths.division.index import Pair
from toolpaths.finding import Finding
from toolpaths.layout.panel import Opening, Panel, Pin
from toolpaths.tables.rows import Machine
from toolpaths.units import on_axis, told

MOST_TAGS = 12
"""So many openings are named; of more their number is told."""


def findings(divided: Divided, machine: Machine, units: Units, axes: Sequence[int], turned_fits: bool) -> list[Finding]:
    """The notes of a divided panel: how it is divided and why, and how well each pair of pins carries."""
    panel = divided.whole
    names = " and ".join("XY"[axis] for axis in axes)
    travel = " and ".join(told(machine.travel[axis], units) for axis in axes)
    made = "; ".join(f"setup {number} makes {work_of(one)}" for number, one in enumerate(divided.setups, 1))
    said = (
        f"its cuts are longer in {names} than this machine travels ({travel}), so it is divided into "
        f"{len(divided.setups)} setups, the sheet moved between them: {made}"
    )
    if turned_fits:
        said += "; with width and height exchanged, the panel turned by a quarter, it would be made in one"
    found = [Finding("note", "divided", panel.name, "", said)]
    for number, pair in enumerate(divided.moves, 2):
        found.append(Finding("note", "divided", panel.name, "", accuracy(number, pair, units)))
    return found


def work_of(panel: Panel) -> str:
    """What a setup makes: the tags of its openings, those of which it cuts a part, and its part of the outline."""
    whole = [opening.tag for opening in panel.openings if opening.part is None]
    parts = [f"a part of {opening.tag}" for opening in panel.openings if opening.part is not None]
    edge = [] if panel.edge is None else ["a part of the outline" if panel.edge.part else "the outline"]
    shown = whole if len(whole) <= MOST_TAGS else [*whole[: MOST_TAGS - 1], f"{len(whole) - MOST_TAGS + 1} more"]
    legends = [legend.name for legend in panel.engraved]
    return ", ".join([*shown, *parts, *edge, *(legends if len(legends) < MOST_TAGS else ["its legends"])])


def accuracy(number: int, pair: Pair, units: Units) -> str:
    """How well the pins before setup ``number`` carry the position: clearance over distance, as an angle and in mm."""
    return (
        f"pins in {pair.first.tag} and {pair.second.tag} carry the position into setup {number}: "
        f"{told(pair.clearance, units)} of play over {told(round(pair.apart, 1), units)} turns the panel by up to "
        f"{1000 * pair.turn:.2f} mrad, {told(round(pair.error, 3), units)} at the farthest feature, "
        f"{told(round(pair.far), units)} away"
    )


def steps(divided: Divided, panel: Panel, units: Units, machine: Machine, programs: str) -> list[str]:
    """What is done before one setup, in order, for whoever stands at the machine.

    ``programs`` are the files that bore the pin holes. What is set off with a rule is in ``units``, a place on an axis
    in those of the machine's programs.
    """
    stage = panel.stage
    assert stage is not None
    said = _first(divided, panel, units, machine) if stage.number == 1 else (
        _later(divided, panel, units, machine, programs)
    )
    if stage.number > 1 and any(opening.part for opening in panel.work):
        said.append(
            "Where the parts of a contour meet, each is cut a little beyond the other: feel the wall there, and file "
            "off what step there may be before you saw the tabs."
        )
    return said


def bed_of(panel: Panel) -> str:
    """What the pins stand in: the spoilboard, or the backing block of a folded box."""
    return "block" if panel.folded is not None and panel.folded.block is not None else "board"


def piece_of(panel: Panel) -> str:
    """What lies on it."""
    return "box" if panel.folded is not None else "sheet"


def place(at: tuple[float, float], units: Units, machine: Machine) -> str:
    """A place as the machine's display shows it; its unit behind it where the sheet has others too."""
    shown = machine.program.units
    unit = f" {shown}" if units != "mm" or shown != "mm" else ""
    return f"X{on_axis(at[0], shown)} Y{on_axis(at[1], shown)}{unit}"


def _first(divided: Divided, panel: Panel, units: Units, machine: Machine) -> list[str]:
    piece = piece_of(panel)
    bed = "the backing block" if bed_of(panel) == "block" else "a flat spoilboard"
    (first, _), *_ = pins_by_place(divided)
    said = [
        f"Fasten {bed} to the table: it stays there through all setups, and so does the zero in X and Y.",
        f"Lay the {piece} and set X0 Y0 as said below. {_overhang(panel, units)}".rstrip(),
        "Run this setup's program. Do not set X or Y anew afterwards, and do not switch the machine off before the "
        "last setup is done. Where the zero is lost all the same, find it again: before the pin holes are bored, on "
        f"the {piece}'s edges, as long as it has not been moved; afterwards on P1, whose middle is "
        f"{place(first, units, machine)}.",
    ]
    made = [opening for opening in panel.openings if opening.kind == "index_hole"]
    if made:
        said.append(f"It makes index holes for pins too, in what is waste or cut away later: {_named(made)}.")
    return said


def _later(divided: Divided, panel: Panel, units: Units, machine: Machine, programs: str) -> list[str]:
    stage = panel.stage
    assert stage is not None
    bed, piece, stay, drawn = bed_of(panel), piece_of(panel), stage.staying, stage.drawn
    pins = []
    if stay:
        long = told(pin_length(divided, False), units)
        ends = "they end" if len(stay) > 1 else "it ends"
        pins.append(f"{_pins(stay)} (for {_tags(stay)}), cut to {long}: {ends} below the top of the {piece}")
    if drawn:
        long = told(pin_length(divided, True), units)
        again = "they are drawn again" if len(drawn) > 1 else "it is drawn again"
        pins.append(f"{_pins(drawn)} (for {_tags(drawn)}), {long} or more long: {again}")
    said = [
        f"Have the pins ready, {_pins(stage.pins)}: ground rod, or dowel pins to h8. Not m6: those are oversize. "
        f"Try each in its index hole before the {piece} comes off ({_tags(stage.pins)}): it goes in by hand; ream the "
        "hole if it is tight.",
    ]
    if stage.number == 2:
        said += [
            f"Take the {piece} and its clamps off. Deburr the index holes on both faces, and clean the {bed}.",
            f"Bore the pin holes with {programs}, as the part \"Pin holes\" below says; X and Y stay as they are.",
        ]
    else:
        said.append(f"Take the {piece} and its clamps off, draw the pins and clean the {bed}.")
    over = [f"{pin.tag} over the pin at {place(panel.to_program(pin.at), units, machine)}" for pin in stage.pins]
    said += [
        f"Put pins into the {bed}'s {_holes_of(divided, stage.number)}, their square cut end up, no burr on it: "
        f"{'; '.join(pins)}.",
        f"Move the {piece} {_move(stage.moved, units)} and lay it over the pins: "
        f"{', '.join(over)}. It must lie flat; it goes on without force and without play that you feel. "
        f"{_overhang(panel, units)}",
        f"Clamp or tape the {piece} down while all pins are in.",
    ]
    if drawn:
        many = "pins" if len(drawn) > 1 else "pin"
        said.append(
            f"Draw the {many} from {_tags(drawn)}: {_why_drawn(drawn, divided, units)}. A pin left in breaks it. The "
            f"{piece} must not move from now on."
        )
    carried = accuracy(stage.number, divided.moves[stage.number - 2], units)
    return [
        *said,
        f"Touch off Z on the {piece} again, and run this setup's air pass and program.",
        f"{carried[0].upper()}{carried[1:]}. Play is that of a hole of exactly its size and the thinnest such pin; the "
        "machine's own error comes on top.",
    ]


def stands(divided: Divided) -> dict[str, str]:
    """By the name of a pin hole, which index holes stand on it, each in which setup."""
    return {
        f"P{number}": ", ".join(f"{pin.tag} in setup {setup}" for setup, pin in pins)
        for number, (_, pins) in enumerate(pins_by_place(divided), 1)
    }
def _why_drawn(drawn: Sequence[Pin], divided: Divided, units: Units) -> str:
    if all(pin.source == "middle" for pin in drawn):
        return "the cutter comes there"
    stand = "they stand" if len(drawn) > 1 else "it stands"
    return (
        f"a pin that ends below the top of {told(divided.whole.thickness, units)} of sheet holds nothing, so {stand} "
        "out of it, in the way of cutter and nut"
    )


def _named(openings: Sequence[Opening]) -> str:
    return ", ".join(f"{opening.tag} ({opening.size_text})" for opening in openings)


def _tags(pins: Sequence[Pin]) -> str:
    return " and ".join(pin.tag for pin in pins)


def _pins(pins: Sequence[Pin]) -> str:
    shown = dict.fromkeys(pin.shown for pin in pins)
    return " and ".join(f"{'one' if len(pins) == len(shown) else 'two'} of {name}" for name in shown)


def _holes_of(divided: Divided, setup: int) -> str:
    own = [
        f"P{number}" for number, (_, pins) in enumerate(pins_by_place(divided), 1)
        if any(one == setup for one, _ in pins)
    ]
    return " and ".join(own)


def _move(moved: tuple[float, float], units: Units) -> str:
    ways = []
    if abs(moved[0]) > 1e-6:
        ways.append(f"{told(abs(moved[0]), units)} to the {'right' if moved[0] > 0 else 'left'}")
    if abs(moved[1]) > 1e-6:
        ways.append(f"{told(abs(moved[1]), units)} {'away from you' if moved[1] > 0 else 'towards you'}")
    return " and ".join(ways)


def _overhang(panel: Panel, units: Units) -> str:
    """How far the sheet reaches beyond what the machine reaches, which must have support and room there."""
    stage = panel.stage
    assert stage is not None
    x0, y0, x1, y1 = panel.area_to_program(panel.stock)
    left, low, right, high = stage.reach
    across = (("on the left", left - x0), ("on the right", x1 - right))
    up = (("towards you", low - y0), ("away from you", y1 - high))
    beyond = [f"{told(round(by), units)} {way}" for way, by in (*across, *up) if by > 2]
    if not beyond:
        return ""
    support = "" if panel.folded else "support it there at the height of the spoilboard, and "
    return (
        f"It reaches {', '.join(beyond)} beyond the travel: {support}see that no part of the machine is in its way."
    )

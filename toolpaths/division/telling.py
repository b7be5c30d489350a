"""What is said of a division: in ``check`` how and why, on paper how the sheet is moved and how well pins carry."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.division.board import pin_length, pins_by_place
from toolpaths.division.divide import Divided, Units
from toolpaths.division.index import Pair
from toolpaths.finding import Finding
from toolpaths.layout.panel import Opening, Panel, Pin
from toolpaths.tables.rows import Machine
from toolpaths.units import told

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


def steps(divided: Divided, panel: Panel, units: Units, board: Panel, program: str) -> list[str]:
    """What is done before one setup, in order, for whoever stands at the machine.

    ``board`` is the board below with its pin holes, ``program`` says what bores them: the file and the cutter.
    """
    stage = panel.stage
    assert stage is not None
    on_block = panel.folded is not None and panel.folded.block is not None
    if stage.number == 1:
        bed = "the backing block" if on_block else "a flat spoilboard"
        said = [
            f"Fasten {bed} to the table: it stays there through all setups, and so does the zero in X and Y.",
            f"Lay the {'box' if on_block else 'sheet'} and set X0 Y0 as said below. {_overhang(panel, units)}",
            "Run this setup's program. Do not set X or Y anew afterwards, and do not switch the machine off before the "
            "last setup is done: where the zero is lost all the same, find it again on the pin holes.",
        ]
        made = [opening for opening in panel.openings if opening.kind == "index_hole"]
        if made:
            said.append(f"It makes index holes for pins too, in what is waste or cut away later: {_named(made)}.")
        return said
    stay, drawn = stage.staying, stage.drawn
    pins = []
    if stay:
        long = told(pin_length(divided, False), units)
        ends = "they end" if len(stay) > 1 else "it ends"
        pins.append(f"{_pins(stay)} (for {_tags(stay)}), cut to {long}: {ends} below the top of the sheet")
    if drawn:
        long = told(pin_length(divided, True), units)
        again = "they are drawn again" if len(drawn) > 1 else "it is drawn again"
        pins.append(f"{_pins(drawn)} (for {_tags(drawn)}), {long} or more long: {again}")
    said = []
    if stage.number == 2:
        said += [
            "Take the sheet off. Deburr the index holes on both faces, and clean the board.",
            f"Run {program}: it bores {_places(divided, units)}, {told(divided.hold, units)} deep. Touch off Z on the "
            f"bare {'block' if on_block else 'board'}{_touch(board, units)}; X and Y stay as they are.",
        ]
    else:
        said.append("Take the sheet off, draw the pins and clean the board.")
    said += [
        f"Put pins into the board's {_holes_of(divided, stage.number)}: {'; '.join(pins)}.",
        f"Move the sheet {_move(stage.moved, units)} and lay it over the pins: "
        + ", ".join(f"{pin.tag} over the pin at {_at(panel, pin, units)}" for pin in stage.pins)
        + f". It must lie flat; it goes on without force and without play that you feel. {_overhang(panel, units)}",
        "Clamp or tape the sheet down while all pins are in.",
    ]
    if drawn:
        many = "pins" if len(drawn) > 1 else "pin"
        said.append(
            f"Draw the {many} from {_tags(drawn)}: the cutter comes there, and a pin that is left in breaks it. The "
            "sheet must not move from now on."
        )
    said += [
        "Touch off Z on the sheet again, and run this setup's air pass and program.",
        f"{accuracy(stage.number, divided.moves[stage.number - 2], units)[0].upper()}"
        f"{accuracy(stage.number, divided.moves[stage.number - 2], units)[1:]}. Play is that of a hole of exactly its "
        "size and the thinnest such pin; the machine's own error comes on top.",
    ]
    if any(opening.part for opening in panel.work):
        said.append(
            "Where the parts of a contour meet, each is cut a little beyond the other: feel the wall there, and file "
            "off what step there may be before you saw the tabs."
        )
    return said


def _named(openings: Sequence[Opening]) -> str:
    return ", ".join(f"{opening.tag} ({opening.size_text})" for opening in openings)


def _tags(pins: Sequence[Pin]) -> str:
    return " and ".join(pin.tag for pin in pins)


def _pins(pins: Sequence[Pin]) -> str:
    shown = dict.fromkeys(pin.shown for pin in pins)
    return " and ".join(f"{'one' if len(pins) == len(shown) else 'two'} of {name}" for name in shown)


def _places(divided: Divided, units: Units) -> str:
    return ", ".join(
        f"P{number} at X{x:.3f} Y{y:.3f}" for number, ((x, y), _) in enumerate(pins_by_place(divided), 1)
    ) + (" (mm)" if units == "in" else "")


def _holes_of(divided: Divided, setup: int) -> str:
    own = [
        f"P{number}" for number, (_, pins) in enumerate(pins_by_place(divided), 1)
        if any(one == setup for one, _ in pins)
    ]
    return " and ".join(own)


def _at(panel: Panel, pin: Pin, units: Units) -> str:
    x, y = panel.to_program(pin.at)
    return f"X{x:.1f} Y{y:.1f}" + (" mm" if units == "in" else "")


def _touch(board: Panel, units: Units) -> str:
    if board.touch_off is None:
        return ""
    x, y = board.touch_off
    return f" at X{x:.0f} Y{y:.0f}" if units == "mm" else f" at X{x:.2f} Y{y:.2f} mm"


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

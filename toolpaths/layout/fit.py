"""Whether things fit: panels in their box, the chassis in its cabinet, the baffle in its opening."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from toolpaths.finding import Finding
from toolpaths.job.chassis import Cabinet, Chassis
from toolpaths.job.schema import Face
from toolpaths.layout.bends import room_at
from toolpaths.layout.box import SIDES, Assembly, Side, Thing, extent, folded_sides, inside_of, without_spanners
from toolpaths.layout.panel import Panel
from toolpaths.layout.seats import seats
from toolpaths.layout.telling import Telling, it, other, own
from toolpaths.tolerance import PIECE


def fit_findings(
    box: Assembly, panels: Sequence[Panel], chassis: Chassis | None, cabinet: Cabinet | None, telling: Telling
) -> Iterator[Finding]:
    """All of it."""
    if chassis is not None:
        yield from _panels_in_box(panels, chassis, telling)
        yield from _one_sheet(panels, chassis, telling)
    if cabinet is not None:
        if chassis is not None:
            yield from _box_in_cabinet(box, chassis, cabinet, telling)
        yield from _baffle(panels, cabinet, telling)
        yield from _speakers(panels, cabinet, telling)


def _panels_in_box(panels: Sequence[Panel], chassis: Chassis, telling: Telling) -> Iterator[Finding]:
    """A face that is bent must measure what the box does with the sheet of its walls; a loose one may be smaller."""
    for panel in panels:
        face = chassis.face_of(panel.name)
        if face is None:
            continue
        folded = folded_sides(face, chassis)
        x0, y0, x1, y1 = panel.outline.bounds
        left, low, right, high = extent(face, chassis)
        across, up, _ = inside_of(face, chassis)
        for what, is_, size, inside, sides in (
            ("width", x1 - x0, right - left, across, ("left", "right")),
            ("height", y1 - y0, high - low, up, ("lower", "upper")),
        ):
            bent = [wall for side, wall in folded.items() if side in sides]
            if bent and abs(is_ - size) > PIECE:
                with_ = f"{telling.say(inside)} inside and the sheet at the {' and the '.join(bent)}"
                yield Finding(
                    "error", "chassis-size", panel.name, "",
                    f"the {what} of the {face} is {telling.say(is_)}, the chassis has {telling.say(size)} there "
                    f"({with_}): make them agree",
                )  # fmt: skip


def _one_sheet(panels: Sequence[Panel], chassis: Chassis, telling: Telling) -> Iterator[Finding]:
    """Faces that are bent are as thick as the chassis, and those of one piece are of one material."""
    first_of: dict[frozenset[Face], tuple[Face, str]] = {}
    for panel in panels:
        face = chassis.face_of(panel.name)
        if face is None or not chassis.is_bent(face):
            continue
        if abs(panel.thickness - chassis.thickness) > PIECE:
            yield Finding(
                "error", "chassis-sheet", panel.name, "",
                f"the {face} is {telling.say(panel.thickness)} thick and the chassis that it is bent from "
                f"{telling.say(chassis.thickness)}: make them agree, or take its edges out of folds if it is a sheet "
                "of its own",
            )  # fmt: skip
        other, material = first_of.setdefault(chassis.of_one_piece(face), (face, panel.material))
        if panel.material != material:
            yield Finding(
                "error", "chassis-sheet", panel.name, "",
                f"the {face} is of {panel.material} and the {other}, which is bent from one sheet with it, of "
                f"{material}: make them agree, or take its edges out of folds if it is a sheet of its own",
            )  # fmt: skip


def _box_in_cabinet(box: Assembly, chassis: Chassis, cabinet: Cabinet, telling: Telling) -> Iterator[Finding]:
    """The chassis against the opening that it slides into, in width and in height: its walls with the play and the
    covering, and then with what stands out of the faces that pass the opening's sides."""
    walls = [thing.bounds for thing in box.things if thing.kind == "wall"]
    passing = [thing for thing in box.components if chassis.face_of(thing.panel) in ("left", "right", "top", "bottom")]
    for what, axis, inside, opening in (
        ("wide", 0, chassis.length, cabinet.width),
        ("high", 2, chassis.height, cabinet.height),
    ):
        low = min([0.0, *(bounds[axis] for bounds in walls)])
        high = max([inside, *(bounds[axis + 3] for bounds in walls)])
        yield from _no_play("the chassis", "", high - low, 0.0, opening, what, cabinet, telling)
        yield from _no_play_with(passing, axis, low, high, opening, what, cabinet, telling)


def _no_play_with(
    passing: Sequence[Thing], axis: int, low: float, high: float, opening: float, what: str, cabinet: Cabinet,
    telling: Telling,
) -> Iterator[Finding]:
    """The same of the components that stand out furthest at both ends of an axis, where any stands out there."""
    spans = [(thing, without_spanners(thing).bounds) for thing in passing]
    lowest = min(spans, key=lambda span: span[1][axis], default=None)
    highest = max(spans, key=lambda span: span[1][axis + 3], default=None)
    out: list[Thing] = []
    if lowest is not None and lowest[1][axis] < low - PIECE:
        low = lowest[1][axis]
        out.append(lowest[0])
    if highest is not None and highest[1][axis + 3] > high + PIECE:
        high = highest[1][axis + 3]
        out.append(highest[0])
    size = high - low
    free = (opening - size) / 2 - cabinet.covering
    if not out or free >= cabinet.play - PIECE:
        return
    first, *more = out
    names = " and ".join([own(first), *(other(thing) for thing in more if thing is not first)])
    yield Finding(
        "error" if free < 0 else "warning", "cabinet-play", first.panel, first.feature,
        f"with {names} the chassis is {telling.say(size)} {what} and its opening {telling.say(opening)}"
        f"{_lined(cabinet.covering, 0.0, telling)}: it {_left(free, telling)}, {telling.say(cabinet.play)} is wanted: "
        f"make the opening {telling.cure(2 * (cabinet.play - free))} larger, or move the part to the front or rear, or "
        "take one that stands out less",
    )  # fmt: skip


def _baffle(panels: Sequence[Panel], cabinet: Cabinet, telling: Telling) -> Iterator[Finding]:
    """The baffle with the cloth that is wrapped round its edges against its covered opening."""
    if cabinet.baffle_opening is None:
        return
    for panel in panels:
        if panel.name == cabinet.baffle:
            x0, y0, x1, y1 = panel.outline.bounds
            sizes = (("wide", x1 - x0, cabinet.baffle_opening[0]), ("high", y1 - y0, cabinet.baffle_opening[1]))
            for what, size, opening in sizes:
                yield from _no_play("the baffle", panel.name, size, cabinet.cloth, opening, what, cabinet, telling)


def _speakers(panels: Sequence[Panel], cabinet: Cabinet, telling: Telling) -> Iterator[Finding]:
    """Loudspeakers whose frame, behind the baffle, would sit on the cloth that is turned over there and stapled."""
    if cabinet.cloth <= 0:
        return
    for panel in panels:
        if panel.name != cabinet.baffle:
            continue
        for placement in panel.placements:
            if "loudspeaker" not in placement.traits:
                continue
            behind = [body for body in seats(placement, panel.thickness) if body.high < 0]
            rooms = {
                side: min(room_at(side, body.footprint.bounds, panel.outline.bounds) for body in behind)
                for side in SIDES
                if behind
            }
            least = min(rooms.values(), default=math.inf)
            if least < cabinet.cloth_turned - PIECE:
                move = _off_cloth(rooms, cabinet.cloth_turned, it(placement), telling)
                yield Finding(
                    "warning", "speaker-on-cloth", panel.name, placement.feature,
                    f"the frame of {placement.name} comes within {telling.say(max(0.0, least))} of the baffle's edge, "
                    f"where {telling.say(cabinet.cloth_turned)} of cloth is turned over behind: it would sit on the "
                    f"cloth; {move}take a smaller one, or turn less cloth over",
                )  # fmt: skip


def _off_cloth(rooms: dict[Side, float], turned: float, name: str, telling: Telling) -> str:
    """The move after which a frame is clear of the cloth on all sides; empty where it is too large for any."""
    if rooms["left"] + rooms["right"] < 2 * turned - PIECE or rooms["lower"] + rooms["upper"] < 2 * turned - PIECE:
        return ""
    short = {side: max(0.0, turned - room) for side, room in rooms.items()}
    return f"move {name} {telling.moves(short['left'] - short['right'], short['lower'] - short['upper'])}, or "


def _no_play(
    name: str, panel: str, size: float, cloth: float, opening: float, what: str, cabinet: Cabinet, telling: Telling
) -> Iterator[Finding]:
    free = (opening - size) / 2 - cabinet.covering - cloth
    if free >= cabinet.play - PIECE:
        return
    code = "cabinet-play" if name == "the chassis" else "baffle-play"
    yield Finding(
        "error" if free < 0 else "warning", code, panel, "",
        f"{name} is {telling.say(size)} {what} and its opening {telling.say(opening)}"
        f"{_lined(cabinet.covering, cloth, telling)}: it {_left(free, telling)}, "
        f"{telling.say(cabinet.play)} is wanted: make it {telling.cure(2 * (cabinet.play - free))} smaller, or the "
        "opening larger",
    )  # fmt: skip


def _lined(covering: float, cloth: float, telling: Telling) -> str:
    layers = [f"covering of {telling.say(covering)}"] if covering else []
    layers += [f"cloth of {telling.say(cloth)}"] if cloth else []
    return f" with {' and '.join(layers)} on each side" if layers else ""


def _left(free: float, telling: Telling) -> str:
    return f"leaves {telling.say(free)} of play" if free >= 0 else f"is {telling.say(-free)} too large on each side"

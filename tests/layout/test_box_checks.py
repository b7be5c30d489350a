"""Findings about the box: each is provoked once, and once just not."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from toolpaths import pipeline
from toolpaths.finding import CODES, Finding
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.job import Job
from toolpaths.job.box import TRAY
from toolpaths.job.chassis import Cabinet, Chassis, KeepApart, Obstacle
from toolpaths.job.component import Role
from toolpaths.job.schema import FACES
from toolpaths.layout.bodies import Body, Placement
from toolpaths.layout.box import assemble, extent
from toolpaths.layout.box_checks import MOST_MEETINGS, findings
from toolpaths.layout.panel import Opening, Panel

BOX = Chassis(
    300, 200, 80, 1.0, 1.5, tuple((face, face) for face in FACES if face != "bottom"), TRAY, "after bending", 10
)


def panel(face: str, *placements: Placement, material: str = "mild steel", openings: tuple[Opening, ...] = ()) -> Panel:
    """A face of the box; its coordinates begin at the inside corner at the lower left."""
    left, low, right, high = extent(face, BOX)
    outline = rounded_rectangle(((left + right) / 2, (low + high) / 2), right - left, high - low, 0)
    return Panel(
        face, material, 1.0, "", outline, (left, low, right, high), (0, 0), False, False, (), openings, (0, 0),
        placements=tuple(placements),
    )  # fmt: skip


def part(number: int, x: float, y: float, *bodies: Body, **more: object) -> Placement:
    base = Placement("part", f"part[{number}]", f"P{number}", (x, y), 0.0, bodies, frozenset())
    traits = frozenset(more.pop("traits", ()))
    return replace(base, traits=traits, **more)  # type: ignore[arg-type]


def block(x: float, y: float, width: float, height: float, low: float, high: float, role: Role = "body") -> Body:
    return Body(role, rounded_rectangle((x, y), width, height, 0), low, high)


def inside(number: int, x: float, y: float, size: float = 20, deep: float = 30, **more: object) -> Placement:
    """A square body inside."""
    return part(number, x, y, block(x, y, size, size, -1 - deep, -1), **more)


def found(
    *panels: Panel, chassis: Chassis | None = BOX, obstacles: tuple[Obstacle, ...] = (),
    keep: KeepApart | None = None, cabinet: Cabinet | None = None,
) -> list[Finding]:
    return findings(
        panels, chassis, obstacles, keep or KeepApart(), frozenset({"mild steel", "aluminium"}), "mm", cabinet
    )


def codes(*panels: Panel, **more: object) -> list[tuple[str, str, str]]:
    return [(one.severity, one.code, one.feature) for one in found(*panels, **more)]  # type: ignore[arg-type]


# Bodies that meet ----------------------------------------------------------------------------------------------------


def test_bodies_on_one_face() -> None:
    """Bodies that overlap by a fifth of a mm meet, those that touch do not, and the move told cures."""
    one = inside(1, 100, 100)
    (finding,) = found(panel("top", one, inside(2, 119.8, 100)))
    assert (finding.severity, finding.code) == ("error", "bodies-meet")
    assert (finding.panel, finding.feature) == ("top", "part[2]")
    assert "0.2 mm deep in each other" in finding.message and "P1 (part) (top, part[1])" in finding.message
    assert "move it 0.2 mm to the right" in finding.message
    assert not found(panel("top", one, inside(2, 120, 100)))
    assert not found(panel("top", one, part(2, 100, 100, block(100, 100, 30, 30, 0, 20))))


@pytest.mark.parametrize("seed", range(3))
def test_the_move_told_is_the_shortest_of_the_four(seed: int) -> None:
    """Of two blocks in each other the later is moved by their least overlap along the panel, in its direction."""
    draw = random.Random(seed)
    for _ in range(10):
        x, y = 150 + draw.uniform(-28, 28), 100 + draw.uniform(-28, 28)
        (finding,) = found(panel("top", inside(1, 150, 100, 40), inside(2, x, y, 20)))
        by = {"to the right": 180 - x, "to the left": x - 120, "upwards": 130 - y, "downwards": y - 70}
        least = min(by.values())
        told = re.search(r"move it ([0-9.]+) mm (to the right|to the left|upwards|downwards)", finding.message)
        assert told is not None
        assert least - 0.005 <= float(told[1]) <= least + 0.11
        assert by[told[2]] <= least + 0.01


def test_bodies_round_a_corner() -> None:
    """A can under the top meets a jack behind the rear; moved along the rear by what is told it does not."""
    can = part(1, 150, 180, Body("body", circle((150, 180), 30), -41, -1))  # y 165..195, z 40..80
    jack = part(1, 150, 55, block(150, 55, 20, 12, -31, -1))  # x 140..160, y 170..200, z 49..61
    (finding,) = found(panel("top", can), panel("rear", jack))
    assert (finding.code, finding.panel) == ("bodies-meet", "rear")
    way = re.search(r"move it ([\d.]+) mm (downwards|upwards)", finding.message)
    assert way and float(way[1]) == pytest.approx(21, abs=0.11) and way[2] == "downwards"
    lower = part(1, 150, 55 - 21.1, block(150, 55 - 21.1, 20, 12, -31, -1))
    assert not found(panel("top", can), panel("rear", lower))
    assert not found(panel("top", can), panel("rear", replace(jack, bodies=(block(150, 55, 20, 12, -5.9, -1),))))


def test_turning_a_transformer_cures() -> None:
    """Where a quarter turn parts two things it is told, and it does."""
    long = part(1, 100, 100, block(100, 100, 80, 40, -40, -1), traits=("transformer",), axis=(1.0, 0.0))
    valve = inside(2, 145, 100, 20)
    (finding,) = found(panel("top", long, valve))
    assert "turn P1 (part) by 90 degrees" in finding.message
    upright = replace(long, bodies=(block(100, 100, 40, 80, -40, -1),), axis=(0.0, 1.0))
    assert not found(panel("top", upright, valve))
    near = found(panel("top", long, inside(2, 115, 110, 20)))
    assert "turn" not in near[0].message


def test_cures_name_what_they_move() -> None:
    """Of two parts of one name the cure tells the other's place; what stands in a row is moved with its row, and two of
    one row are spaced further apart."""
    tall = Body("body", rounded_rectangle((100, 100), 20, 60, 0), -30, -1)
    one = replace(part(1, 100, 100, tall), label="")
    two = replace(part(2, 150, 100, block(150, 100, 85, 20, -30, -1)), label="")
    (finding,) = found(panel("top", one, two))
    assert "turn it by 90 degrees" in finding.message
    (finding,) = found(panel("top", replace(two, feature="part[1]"), replace(one, feature="part[2]")))
    assert "or turn part (top, part[1]) by 90 degrees" in finding.message

    first, second = replace(one, feature="row[1]", number=1), replace(two, feature="row[2]", number=1)
    (finding,) = found(panel("top", first, second))
    assert "move its row 2.5 mm to the right" in finding.message
    (finding,) = found(panel("top", first, replace(second, feature="row[1]", number=2)))
    assert "space the parts of their row 2.5 mm further apart" in finding.message and "move" not in finding.message


def test_a_wall_in_the_way() -> None:
    """A body that reaches into a wall meets it; one that touches the wall does not; its own sheet never counts."""
    (finding,) = found(panel("top", inside(1, 9.5, 100)))
    assert (finding.code, finding.feature) == ("meets-wall", "part[1]")
    assert "the left of the chassis" in finding.message and "move it 0.5 mm to the right" in finding.message
    assert not found(panel("top", inside(1, 10, 100)))
    front = inside(1, 150, 40, 20, deep=200.5)
    (finding,) = found(panel("front", front))
    assert finding.code == "meets-wall" and "0.5 mm more room, or a smaller part" in finding.message
    assert not found(panel("front", inside(1, 150, 40, 20, deep=200)))


def test_what_touches_is_clear_of_a_wall() -> None:
    """A saddle that lies on the rim of a wall, and so touches it, makes no move longer than the body asks for."""
    saddle = block(100, 9.85, 30, 33, 0, 2, "flange")
    (finding,) = [one for one in found(panel("top", replace(inside(1, 100, 9.85), bodies=(
        saddle, block(100, 9.85, 20, 20, -21, -1))))) if one.code == "meets-wall"]  # fmt: skip
    assert "0.15 mm deep" in finding.message and "move it 0.2 mm upwards" in finding.message


MAGNET = Obstacle(1, "magnet", (150, 40), "rear", "outside", 10, None, 90, 40, "height", 0)


def test_an_obstacle_in_the_way() -> None:
    """What sticks out behind the rear meets the magnet from its gap on; an obstacle may want air as well."""
    inlet = part(1, 150, 40, block(150, 40, 30, 20, -20, 10.5))
    (finding,) = found(panel("rear", inlet), obstacles=(MAGNET,))
    assert (finding.code, finding.feature) == ("meets-obstacle", "part[1]") and "magnet" in finding.message
    flush = replace(inlet, bodies=(block(150, 40, 30, 20, -20, 10),))
    assert not found(panel("rear", flush), obstacles=(MAGNET,))
    (finding,) = found(panel("rear", flush), obstacles=(replace(MAGNET, air=2),))
    assert (finding.severity, finding.code) == ("warning", "too-near") and "want 2 mm of air" in finding.message
    flat = replace(inlet, bodies=(block(150, 40, 30, 20, -20, 8),))
    assert not found(panel("rear", flat), obstacles=(replace(MAGNET, air=2),))


def test_air_that_a_part_wants() -> None:
    """The larger clearance of the two counts; at that distance nothing is told."""
    one = inside(1, 100, 100, clearance=3.0)
    (finding,) = found(panel("top", one, inside(2, 122.5, 100)))
    assert (finding.severity, finding.code) == ("warning", "too-near")
    assert "are 2.5 mm apart and want 3 mm" in finding.message and "move it 0.5 mm" in finding.message
    assert not found(panel("top", one, inside(2, 123, 100)))


def test_room_for_the_spanner() -> None:
    """A spanner needs room from bodies and walls, and from no other spanner; the move told cures.

    Fitting the other part later cures it too, which makes it a note, unless each is in the way of the other.
    """
    nut = part(1, 100, 100, Body("nut", circle((100, 100), 14), 0, 3), Body("spanner", circle((100, 100), 22), 0, 20))
    tall = part(2, 120.9, 100, block(120.9, 100, 20, 20, 0, 40))
    (finding,) = found(panel("top", nut, tall))
    assert (finding.severity, finding.code, finding.feature) == ("note", "no-spanner-room", "part[1]")
    assert "tighten it before P2 (part) is fitted, or move it 0.1 mm to the left" in finding.message
    both = replace(tall, bodies=(*tall.bodies, Body("spanner", circle((108, 100), 4), 0, 20)))
    wide = replace(nut, bodies=(*nut.bodies, block(104.5, 100, 9, 20, 1, 3)))
    severities = [(one.severity, one.feature) for one in found(panel("top", wide, both)) if "spanner" in one.message]
    assert severities == [("warning", "part[2]"), ("warning", "part[1]")]
    assert not found(panel("top", nut, part(2, 121, 100, block(121, 100, 20, 20, 0, 40))))
    room = Body("spanner", circle((116, 100), 10), 0, 20)
    other_nut = part(2, 116, 100, Body("nut", circle((116, 100), 8), 0, 3), room)
    assert not found(panel("top", nut, other_nut))


def test_a_heap_of_components_is_told_once_it_is_plain() -> None:
    """Of 30 parts in one place, 435 pairs, two hundred are told and that there are more; no rule goes on from there."""
    heap = found(panel("top", *(inside(number, 100 + number / 10, 100) for number in range(1, 31))))
    assert len(heap) == MOST_MEETINGS + 1 and {one.code for one in heap} == {"bodies-meet"}
    assert (heap[-1].panel, heap[-1].severity) == ("", "error") and "over 200 pairs" in heap[-1].message


def test_without_a_chassis_each_panel_is_looked_at_by_itself() -> None:
    """Two bodies at one place of two loose panels do not meet; on one panel they do."""
    one, two = inside(1, 100, 50), inside(2, 105, 50)
    assert codes(panel("top", one), panel("rear", two), chassis=None) == []
    assert codes(panel("top", one, two), chassis=None) == [("error", "bodies-meet", "part[2]")]


# The bend ------------------------------------------------------------------------------------------------------------


def hole(x: float, y: float, diameter: float) -> Opening:
    shape = circle((x, y), diameter)
    return Opening(
        "A1", "hole[1]", "", (x, y), shape, diameter, "", "machine", shape, diameter, (), 1.6, 0.0, None, True
    )


def test_holes_beside_a_bend() -> None:
    """After bending a hole keeps sheet and radius from the outer edge, before it 3t + R from the flange's inside."""
    # the outer edge is at -1, so the flat begins at -1 + 1 + 1.5 = 1.5
    assert codes(panel("top", openings=(hole(4.4, 100, 6),))) == [("warning", "bend-zone", "hole[1]")]
    assert not codes(panel("top", openings=(hole(4.5, 100, 6),)))
    before = replace(BOX, holes="before bending")
    (finding,) = found(panel("top", openings=(hole(7.4, 100, 6),)), chassis=before)
    assert finding.code == "bend-zone" and "0.1 mm to the right" in finding.message
    assert not codes(panel("top", openings=(hole(7.5, 100, 6),)), chassis=before)
    # the lower edge of a tray's front is not bent
    assert not codes(panel("front", openings=(hole(150, 3, 6),)))
    assert codes(panel("front", openings=(hole(150, 75.6, 6),))) == [("warning", "bend-zone", "hole[1]")]
    # over the sheet of the wall itself the cutter would run into it
    assert codes(panel("front", openings=(hole(150, 77.1, 6),))) == [("error", "bend-zone", "hole[1]")]


def test_the_hole_runs_into_the_wall_and_not_its_flange() -> None:
    """Where a flange comes nearest to the edge, and its hole over the wall, the cutter that is told is the hole's."""
    flange = part(1, 150, 77.1, Body("flange", circle((150, 77.1), 14), 0, 2))
    opening = replace(hole(150, 77.1, 6), feature="part[1]", label="P1")
    (finding,) = [one for one in found(panel("front", flange, openings=(opening,))) if one.code == "bend-zone"]
    assert finding.severity == "error"
    assert "the flange of P1" in finding.message
    assert "and the cutter of A1 (P1) would run into the top" in finding.message


def test_nuts_and_washers_sit_on_the_flat() -> None:
    """Nut and flange that lie on either side of the sheet keep to the flat; a knob above it may overhang."""
    for low, high in ((0, 3), (-4, -1)):
        nut = part(1, 8.4, 100, Body("nut", circle((8.4, 100), 14), low, high))
        assert codes(panel("top", nut)) == [("warning", "bend-zone", "part[1]")]
        assert not codes(panel("top", part(1, 8.5, 100, Body("nut", circle((8.5, 100), 14), low, high))))
    assert not codes(panel("top", part(1, 5, 100, Body("knob", circle((5, 100), 14), 4, 20))))


def test_a_bent_panel_has_the_size_of_its_face() -> None:
    """A face that is bent measures the inside and the sheet of its walls."""
    short = replace(panel("front"), outline=rounded_rectangle((150, 40), 300, 80, 0))
    (finding,) = found(short)
    assert (finding.code, finding.severity) == ("chassis-size", "error")
    assert "the height of the front is 80 mm, the chassis has 81 mm there" in finding.message
    assert not found(panel("front"))
    loose = replace(BOX, folds=frozenset())
    assert not found(short, chassis=loose)


def test_bent_faces_are_of_one_sheet() -> None:
    """Another thickness than the chassis' or another material than the rest of the piece is an error on a bent face;
    a face that is not bent may be of another sheet, and stands out by its own thickness."""
    (finding,) = found(panel("top"), replace(panel("front"), thickness=1.5))
    assert (finding.severity, finding.code, finding.panel) == ("error", "chassis-sheet", "front")
    assert "1.5 mm thick" in finding.message and "bent from 1 mm" in finding.message
    (finding,) = found(panel("top"), panel("front", material="aluminium"))
    assert (finding.severity, finding.code, finding.panel) == ("error", "chassis-sheet", "front")
    assert "of aluminium" in finding.message and "of mild steel" in finding.message
    loose = replace(BOX, folds=TRAY - {frozenset({"top", "front"})})
    other = replace(panel("front", material="aluminium"), thickness=2.5)
    assert not found(panel("rear"), other, chassis=loose)
    things = assemble([other], loose, (), frozenset()).things
    wall = next(thing for thing in things if thing.name == "the front of the chassis")
    assert wall.bounds[1] == pytest.approx(-2.5) and wall.bounds[4] == pytest.approx(0)


# What things are -----------------------------------------------------------------------------------------------------


def pair(apart: float, first: tuple[str, ...], second: tuple[str, ...], **more: object) -> Panel:
    """Two square bodies on the top, so far apart."""
    one = inside(1, 100, 100, traits=first, **more)
    return panel("top", one, inside(2, 120 + apart, 100, traits=second, **more))


RULES = (
    ("mains-near-signal", ("mains",), ("signal input",), 50.0, "mains_from_signal"),
    ("hot-near-can", ("hot",), ("capacitor can",), 25.0, "hot_from_can"),
    ("hot-near-bulb", ("hot",), ("glass",), 15.0, "hot_from_bulb"),
    ("transformers-parallel", ("transformer",), ("transformer",), 50.0, "parallel_transformers"),
)  # fmt: skip


@pytest.mark.parametrize(("code", "first", "second", "least", "key"), RULES)
def test_kept_apart(code: str, first: tuple[str, ...], second: tuple[str, ...], least: float, key: str) -> None:
    """Under the distance it is told, at the distance not, and the job's own distance replaces the default."""
    for one, two in ((first, second), (second, first)):
        (finding,) = found(pair(least - 0.1, one, two))
        assert (finding.severity, finding.code) == ("warning", code)
        assert f"{least - 0.1:g} mm" in finding.message and "0.1 mm more" in finding.message
        assert not found(pair(least, one, two))
        assert not found(pair(5, one, two), keep=KeepApart(**{key: 5.0}))
        assert not found(pair(1, one, two), keep=KeepApart(**{key: 0.0}))
        assert found(pair(5, one, two), keep=KeepApart(**{key: 5.2}))


def test_a_hot_valve_does_not_warm_itself() -> None:
    """A valve is hot and of glass: two of them are told once, one alone never."""
    assert not found(panel("top", inside(1, 100, 100, traits=("hot", "glass"))))
    assert [one.code for one in found(pair(10, ("hot", "glass"), ("hot", "glass")))] == ["hot-near-bulb"]


def test_heat_goes_from_bulb_to_bulb() -> None:
    """Heat is measured from glass to glass: saddles, screw heads and what hangs inside do not count."""

    def valve(number: int, x: float) -> Placement:
        saddle, socket = block(x, 100, 60, 40, 0, 2, "flange"), Body("body", circle((x, 100), 44), -20, -1)
        screw = Body("body", circle((x + 28, 100), 6), 2, 5)
        bulb = (Body("body", circle((x, 100), 40), 2, 20), Body("body", circle((x, 100), 36), 20, 110))
        return part(number, x, 100, saddle, socket, screw, *bulb, traits=("hot", "glass"))

    assert not [one for one in found(panel("top", valve(1, 100), valve(2, 155))) if one.code == "hot-near-bulb"]
    (finding,) = [one for one in found(panel("top", valve(1, 100), valve(2, 154.8))) if one.code == "hot-near-bulb"]
    assert "14.8 mm" in finding.message and "0.2 mm more" in finding.message


def test_octal_valves_side_by_side(job_of: Callable[..., Job]) -> None:
    """Two octal sockets at 59.3 mm have their bulbs of 40 mm 19.3 mm apart, and are told at 54.9 mm."""
    octal = '[[panel.part]]\npart = "octal socket"\nat = [{}, 60]\n'
    head = JOB.partition("  [[panel.hole]]")[0].format(height=120)

    def told(apart: float) -> set[str]:
        return {one.code for one in pipeline.check(job_of(head + octal.format(50) + octal.format(50 + apart)))}

    assert "hot-near-bulb" not in told(59.3) | told(55.1)
    assert "hot-near-bulb" in told(54.9)


def test_crossed_transformers_are_fine() -> None:
    """Axes at right angles on one face or on two are not told; parallel ones round a corner are."""
    one = inside(1, 150, 150, traits=("transformer",), axis=(1.0, 0.0))
    two = inside(2, 185, 150, traits=("transformer",), axis=(1.0, 0.0))
    (finding,) = found(panel("top", one, two))
    assert "turn P2 (part) by 90 degrees" in finding.message
    assert not found(panel("top", one, replace(two, axis=(0.0, 1.0))))
    rear = inside(2, 110, 30, deep=15, traits=("transformer",), axis=(1.0, 0.0))
    assert codes(panel("top", one), panel("rear", rear)) == [("warning", "transformers-parallel", "part[2]")]
    assert not codes(panel("top", one), panel("rear", replace(rear, axis=(0.0, 1.0))))
    assert not codes(panel("top", one), panel("rear", replace(rear, axis=None)))


def test_live_terminals_keep_from_metal() -> None:
    """Terminals of a part keep 6 mm from other walls and metal parts; boards do not count."""

    def fuse(x: float) -> Placement:
        return part(1, x, 40, block(x, 40, 10, 10, -25, -1, "terminal"), traits=("live terminals",))

    assert codes(panel("rear", fuse(10.9))) == [("warning", "live-near-metal", "part[1]")]
    assert not codes(panel("rear", fuse(11)))
    walls = [panel(face, material="plywood") for face in ("top", "front", "left", "right")]
    assert not codes(panel("rear", fuse(8), material="plywood"), *walls)
    can = inside(2, 61.9, 40, traits=("capacitor can",))
    assert codes(panel("rear", fuse(41), can)) == [("warning", "live-near-metal", "part[1]")]
    assert not codes(panel("rear", fuse(41), inside(2, 62, 40, traits=("capacitor can",))))


def test_a_mains_inlet_wants_earth_and_fuse() -> None:
    """In metal each inlet needs a stud that serves it alone, and a fuse; in wood neither is asked for."""
    inlet = inside(1, 50, 40, traits=("mains inlet",))
    stud = inside(2, 90, 40, traits=("earth stud",))
    fuse = inside(3, 130, 40, traits=("fuse",))
    assert [code for _, code, _ in codes(panel("rear", inlet))] == ["inlet-without-earth", "inlet-without-fuse"]
    assert [code for _, code, _ in codes(panel("rear", inlet, fuse))] == ["inlet-without-earth"]
    assert [code for _, code, _ in codes(panel("rear", inlet, stud))] == ["inlet-without-fuse"]
    assert not codes(panel("rear", inlet, stud, fuse))
    assert not codes(panel("rear", inlet), panel("top", stud, replace(fuse, centre=(130, 100))))
    assert not codes(panel("rear", replace(inlet, traits=frozenset({"mains inlet", "fuse"})), stud))
    second = inside(4, 170, 40, traits=("mains inlet",))
    assert codes(panel("rear", inlet, stud, fuse, second)) == [("warning", "inlet-without-earth", "part[4]")]
    assert not codes(panel("rear", inlet, material="plywood"))


def test_cables_through_metal() -> None:
    """A cable wants a grommet or a strain relief, a mains cable a strain relief; in wood nothing."""
    cable = part(1, 100, 40, block(100, 40, 6, 6, -5, 5), traits=("cable",))
    grommet = part(2, 100, 40, traits=("grommet",))
    assert codes(panel("rear", cable)) == [("warning", "bare-cable", "part[1]")]
    assert not codes(panel("rear", cable, material="plywood"))
    for own in (("cable", "grommet"), ("cable", "strain relief"), ("cable", "mains", "strain relief")):
        assert not codes(panel("rear", replace(cable, traits=frozenset(own))))
    mains = replace(cable, traits=frozenset({"cable", "mains", "grommet"}))
    assert codes(panel("rear", mains)) == [("warning", "bare-cable", "part[1]")]
    assert grommet.bodies == ()


# Cabinet -------------------------------------------------------------------------------------------------------------


def test_play_in_the_cabinet() -> None:
    """Outside of the chassis, covering and play against the opening; too large altogether is an error."""
    snug = Cabinet(302 + 2 * 1.8, 81 + 2 * 1.8, 0.8, 1.0, None, None, 0.0)
    assert not found(panel("top"), cabinet=snug)
    (finding,) = found(panel("top"), cabinet=replace(snug, width=snug.width - 0.2))
    assert (finding.severity, finding.code) == ("warning", "cabinet-play")
    assert "leaves 0.9 mm of play" in finding.message and "0.2 mm smaller" in finding.message
    (finding,) = found(panel("top"), cabinet=replace(snug, height=82))
    assert (finding.severity, finding.code) == ("error", "cabinet-play") and "too large" in finding.message


def test_what_stands_out_goes_into_the_cabinet() -> None:
    """What stands out of a face that passes the sides of the opening counts with the chassis, and is named; a spanner's
    room, and what stands on the front or the rear, does not."""
    box = replace(BOX, folds=TRAY | {frozenset({"front", "left"})})
    snug = Cabinet(302 + 20 + 2 * 1.8, 81 + 2 * 1.8, 0.8, 1.0, None, None, 0.0)

    def on(face: str, high: float, role: Role = "body") -> list[Finding]:
        outside = part(1, 60, 40, block(60, 40, 20, 20, 0, high, role))
        told = found(panel("top"), panel(face, outside), chassis=box, cabinet=snug)
        return [one for one in told if one.code == "cabinet-play"]

    assert not on("left", 20) and not on("left", 30, "spanner") and not on("front", 30)
    (finding,) = on("left", 20.2)
    assert (finding.severity, finding.panel, finding.feature) == ("warning", "left", "part[1]")
    assert "with P1 (part) the chassis is 322.2 mm wide" in finding.message
    assert "make the opening 0.2 mm larger" in finding.message
    (finding,) = on("right", 40)
    assert finding.severity == "error" and "too large on each side" in finding.message
    # out through the open bottom, 10 mm lower than the walls
    hanging = found(panel("top", inside(1, 150, 100, deep=90)), cabinet=snug)
    assert [one.code for one in hanging] == ["cabinet-play"] and "is 91 mm high" in hanging[0].message


def test_the_baffle_with_its_cloth() -> None:
    """Cloth is wrapped round the baffle's edges, so it counts on each side as the covering does."""
    baffle = replace(panel("front"), name="baffle")
    fits = Cabinet(500, 500, 0.8, 1.0, "baffle", (300 + 2 * 3.0, 90), 1.2)
    loose = replace(BOX, faces=(("top", "top"),))
    assert not found(baffle, chassis=loose, cabinet=fits)
    (finding,) = found(baffle, chassis=loose, cabinet=replace(fits, cloth=1.4))
    assert (finding.severity, finding.code, finding.panel) == ("warning", "baffle-play", "baffle")
    assert "covering of 0.8 mm and cloth of 1.4 mm" in finding.message


# All together --------------------------------------------------------------------------------------------------------


def test_every_code_is_known_and_cured() -> None:
    """What a crowded box is told has known codes, and every message says what to do."""
    traits = ("mains", "signal input", "transformer", "hot", "glass")
    crowd = [inside(n, 30 + 12 * n, 100, traits=traits) for n in range(9)]
    told = found(panel("top", *crowd))
    assert len(told) > 20 and {one.code for one in told} <= CODES.keys()
    assert all(re.search(r"move|turn|keep|lay|add|give|make|more room", one.message) for one in told)


JOB = """
format = 1
units = "mm"
[[panel]]
name = "top"
material = "mild steel"
thickness = 1.2
width = 202.4
height = {height}
  [[panel.hole]]
  at = [4, 50]
  diameter = 4
[chassis]
inside = {{ length = 200, depth = 100, height = 50 }}
bend_radius = 1.5
faces = {{ top = "top" }}
"""


def test_check_tells_it(job_of: Callable[..., Job]) -> None:
    """The whole way from the file: a hole on the bend and a wrong size are told, the right job is not."""
    told = {one.code for one in pipeline.check(job_of(JOB.format(height=102)))}
    assert {"bend-zone", "chassis-size"} <= told
    assert "chassis-size" not in {one.code for one in pipeline.check(job_of(JOB.format(height=102.4)))}

"""The judge on programs typed by hand: right ones pass without a word, and each fault is called by its name."""

from __future__ import annotations

import dataclasses
import math

import pytest

from toolpaths.finding import CODES, Finding
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.shapes import circle, d_hole, rounded_rectangle, slot
from toolpaths.layout.panel import Clamp, Finish, Opening, Panel, Tabs
from toolpaths.reread import read
from toolpaths.tables.rows import Cutter, CutterKind, Dialect, Machine, Material, Rate, TabRule
from toolpaths.verify.judge import judge


def cutter(
    number: int, kind: CutterKind, diameter: float, material: str, point: float = 180.0, **more: float
) -> Cutter:
    """A cutter of two flutes; lengths mm, ``point`` in degrees."""
    row = Cutter(
        number=number, kind=kind, diameter=diameter, material=material, flutes=2, flute_length=12.0, stick_out=20.0,
        shank=diameter, point_angle=math.radians(point), serves=("metal",), trade_name=f"{diameter} mm", source="test",
    )
    return dataclasses.replace(row, **more)  # type: ignore[arg-type]


CUTTERS = {
    1: cutter(1, "drill", 3.0, "HSS", 118.0),
    2: cutter(2, "end mill", 3.0, "carbide", shank=3.0),
    3: cutter(3, "end mill", 2.0, "carbide"),
    4: cutter(4, "spot drill", 6.0, "HSS", 90.0),
    5: cutter(5, "drill", 3.1, "HSS", 118.0),
    6: cutter(6, "drill", 4.0, "HSS", 118.0),
    7: cutter(7, "end mill", 3.0, "carbide", flute_length=1.4),
    8: cutter(8, "end mill", 3.0, "carbide", flute_length=1.0, shank=6.0),
    9: cutter(9, "end mill", 3.0, "carbide", stick_out=1.0, flute_length=1.0),
}

STEEL = Material(
    name="mild steel", family="metal", gauge="",
    speeds={("end mill", "carbide"): (60.0, ""), ("drill", "HSS"): (25.0, ""), ("spot drill", "HSS"): (25.0, "")},
    chip_loads=(Rate(1, 0.005, 0.01, ""), Rate(3, 0.01, 0.02, "")), chip_floor=0.008,
    drill_feeds=(Rate(1, 0.02, 0.04, ""), Rate(3, 0.04, 0.08, "")), cutting_force=2000.0, stepdown=0.4,
    ramp=math.radians(1.5), plunge=0.3, finish_router=0.1, finish_mill=0.2, web=1.0, web_least=1.0,
    tabs=TabRule(neck=2.5, height=0.5, thin=1.5, height_thick=0.7, spacing=130.0, least=3, source="test"),
    source="test", sources={},
)

MACHINE = Machine(
    name="test mill", travel=(300.0, 180.0, 60.0), daylight=70.0, min_rpm=500.0, max_rpm=24000.0, power=350.0,
    spin_up=4.0, speed_control=True, max_xy=2000.0, max_z=800.0, rapid_xy=3000.0, rapid_z=1500.0, acceleration=200.0,
    stiffness=1.0, backlash=0.05, nut_diameter=20.0, nut_length=20.0, spoilboard=12.0, change_seconds=60.0,
    program=Dialect(), source="test",
)

CLAMP = Clamp(1, (0.0, 0.0, 20.0, 15.0), 20.0)
"""Its top is 20 mm above the sheet, so the clear height is Z25."""


def opening(
    feature: str, centre: tuple[float, float], cut: Contour | None, *, diameter: float | None = None,
    finish: Finish = "machine", marks: tuple[tuple[float, float], ...] = (), corner_limit: float = 0.0,
    tolerance: float = 0.0, tabs: Tabs | None = None, cleared: bool = True,
) -> Opening:
    """One opening; a mark keeps the shape of the hole that follows it."""
    shape = cut or circle(centre, 10.0)
    return Opening(
        "A1", feature, "", centre, shape, diameter, "", finish, cut, diameter, marks, corner_limit, tolerance, tabs,
        cleared,
    )


def hole(feature: str, centre: tuple[float, float], diameter: float, *, tolerance: float = 0.0) -> Opening:
    """A round hole."""
    return opening(feature, centre, circle(centre, diameter), diameter=diameter, tolerance=tolerance)


def panel(*openings: Opening, clamps: tuple[Clamp, ...] = (CLAMP,)) -> Panel:
    """A sheet of 200 by 120 mm, 1.2 mm thick, machined from the outside with its lower left corner at X0 Y0."""
    return Panel(
        "rear", "mild steel", 1.2, "1.2 mm", rounded_rectangle((100, 60), 200, 120, 0), (0.0, 0.0, 200.0, 120.0),
        (0.0, 0.0), False, False, clamps, openings, (30.0, 100.0),
    )


HEAD = "G21 G90 G17 G94 G40 G49 G80 G54\nG0 Z25\n"
CHANGE = "T{} M6\nM0\nS{} M3\nG4 P4\nG0 Z25\n"
"""The change by pause: M6 stops the spindle, M0 lets Z0 be touched again, then run up and lift."""

FOOT = "G0 Z25\nM5\nM30\n"

DRILLED = "G0 X40 Y30\nG0 Z2\nG1 Z-1.1 F100\nG0 Z2\nG0 Z-1\nG1 Z-2.602 F50\nG0 Z2\n"
BORED = """\
G0 X61.25 Y30
G1 Z0 F180
G3 X61.25 Y30 Z-0.5 I-1.25 J0 F80
G3 X61.25 Y30 Z-1 I-1.25 J0
G3 X61.25 Y30 Z-1.5 I-1.25 J0
G3 X61.25 Y30 I-1.25 J0
G1 X62.5 Y30
G3 X62.5 Y30 I-2.5 J0 F110
G0 Z2
"""
SLOT_ROUND = "G3 X84 Y40.5 I0 J0.5 F45\nG1 X76 F180\nG3 X76 Y39.5 I0 J-0.5 F45\n"
SLOTTED = (
    "G0 X76 Y39.5\nG1 Z0 F180\n"
    + "".join(f"G1 X84 Z{z} F180\n{SLOT_ROUND}" for z in ("-0.5", "-1", "-1.5"))
    + "G1 X84 F180\n" + SLOT_ROUND + "G0 Z2\n"
)

HOLE, BORE, SLOT = (
    hole("hole[1]", (40, 30), 3.0),
    hole("hole[2]", (60, 30), 8.0),
    opening("slot[1]", (80, 40), slot((80, 40), 12, 4)),
)
SHEET = panel(HOLE, BORE, SLOT)
PROGRAM = HEAD + CHANGE.format(1, 2000) + DRILLED + "G0 Z25\nM5\n" + CHANGE.format(2, 6000) + BORED + SLOTTED + FOOT


def judged(
    text: str | list[str], sheet: Panel = SHEET, machine: Machine = MACHINE, material: Material = STEEL
) -> tuple[Finding, ...]:
    """What the judge says of one program, or of several in order."""
    texts = [text] if isinstance(text, str) else text
    return judge([read(one) for one in texts], sheet, machine, CUTTERS, material)


def codes(findings: tuple[Finding, ...]) -> set[str]:
    """The codes alone."""
    return {finding.code for finding in findings}


def edited(text: str, old: str, new: str) -> str:
    """The text with the first ``old`` replaced: it must be there."""
    assert old in text
    return text.replace(old, new, 1)


def test_right_program_passes() -> None:
    """A drilled hole, a bored hole and a slot, made as they should be, raise no finding."""
    assert judged(PROGRAM) == ()


def test_several_programs_are_judged_together() -> None:
    """One program per cutter, read in order, makes the same piece; one of them alone leaves openings unmade."""
    first = HEAD + CHANGE.format(1, 2000) + DRILLED + FOOT
    second = HEAD + CHANGE.format(2, 6000) + BORED + SLOTTED + FOOT
    assert judged([first, second]) == ()
    alone = judged([first])
    said = [(finding.code, finding.feature) for finding in alone]
    assert said == [("not-made", "hole[2]"), ("not-made", "slot[1]"), ("incomplete", "")]
    assert alone[-1].message.startswith("2 of 3 features")
    faulty = judged([first, edited(second, "G1 X62.5 Y30\nG3 X62.5 Y30 I-2.5", "G1 X62.55 Y30\nG3 X62.55 Y30 I-2.55")])
    assert "overcut" in codes(faulty) and any("program 2, line" in finding.message for finding in faulty)


def test_mirrored_panel() -> None:
    """Machined from the inside, the same program makes the mirrored panel, its zero being the other corner."""
    flipped = [
        hole("hole[1]", (160, 30), 3.0), hole("hole[2]", (140, 30), 8.0),
        opening("slot[1]", (120, 40), slot((120, 40), 12, 4)),
    ]
    clamp = Clamp(1, (180.0, 0.0, 200.0, 15.0), 20.0)
    sheet = dataclasses.replace(panel(*flipped, clamps=(clamp,)), zero=(200.0, 0.0), mirrored=True)
    assert judged(PROGRAM, sheet) == ()
    assert "stray-cut" in codes(judged(PROGRAM, dataclasses.replace(sheet, mirrored=False)))


def test_empty_program() -> None:
    """A program that does nothing leaves every opening unmade and is nothing worse."""
    assert [finding.code for finding in judged(HEAD + "M30\n")] == ["not-made"] * 3 + ["incomplete"]


RING = "G1 X62.5 Y30\nG3 X62.5 Y30 I-2.5"
"""Out to the wall of the bore, and once round it."""

FAULTS = {
    "word shifted by 0.05 mm": ("G0 X40 Y30", "G0 X40.05 Y30", "overcut", "hole[1]"),
    "bore too wide by 0.03": (RING, "G1 X62.53 Y30\nG3 X62.53 Y30 I-2.53", "overcut", "hole[2]"),
    "bore too tight by 0.03": (RING, "G1 X62.47 Y30\nG3 X62.47 Y30 I-2.47", "undercut", "hole[2]"),
    "arc the other way": (SLOTTED, SLOTTED.replace("G3 X84", "G2 X84"), "undercut", "slot[1]"),
    "drill short": ("G1 Z-2.602", "G1 Z-1.15", "undercut", "hole[1]"),
    "drill's point through, its corners not": ("G1 Z-2.602", "G1 Z-2", "undercut", "hole[1]"),
    "slot's last level short": ("X84 Z-1.5", "X84 Z-1.15", "undercut", "slot[1]"),
    "ring of the bore missing": ("G3 X62.5 Y30 I-2.5 J0 F110\n", "", "undercut", "hole[2]"),
    "hole missing": (DRILLED, "", "not-made", "hole[1]"),
    "everything after the drill missing": (BORED + SLOTTED, "", "not-made", "slot[1]"),
    "hole in the wrong place": ("G0 X40 Y30", "G0 X50 Y60", "stray-cut", ""),
    "hole made twice": ("G0 X61.25 Y30", "G0 X100 Y100\nG1 Z-2 F50\nG0 Z2\nG0 X61.25 Y30", "stray-cut", ""),
    "no retract between openings": ("F110\nG0 Z2\nG0 X76", "F110\nG0 X76", "rapid-in-stock", "slot[1]"),
    "rapid down into the sheet": ("G1 Z-1.1 F100", "G0 Z-1.1", "rapid-in-stock", "hole[1]"),
    "rapid past the depth drilled": ("G0 Z-1\n", "G0 Z-1.3\n", "rapid-in-stock", "hole[1]"),
    "spindle never started": ("S2000 M3\n", "", "spindle-off", "hole[1]"),
    "spindle backwards": ("S6000 M3", "S6000 M4", "spindle-off", "hole[2]"),
    "cutter crosses the clamp": ("G0 X40 Y30\nG0 Z2", "G0 Z2\nG0 X10 Y10\nG0 X40 Y30", "hits-clamp", ""),
    "too deep": ("G1 Z-2.602", "G1 Z-4.2", "too-deep", "hole[1]"),
    "into the spoilboard's floor": ("G1 Z-2.602", "G1 Z-10.3", "too-deep", "hole[1]"),
    "wrong drill": ("T1 M6", "T6 M6", "overcut", "hole[1]"),
    "thinner drill": ("T2 M6", "T3 M6", "undercut", "hole[2]"),
    "unknown cutter": ("T1 M6", "T77 M6", "unknown-cutter", ""),
    "flutes too short": ("T2 M6", "T7 M6", "below-flutes", "hole[2]"),
    "shank rubs": ("T2 M6", "T8 M6", "hits-stock", "hole[2]"),
    "nut below the sheet's top": ("T2 M6", "T9 M6", "hits-stock", "hole[2]"),
    "spindle above its range": ("S6000 M3", "S30000 M3", "too-fast", "hole[2]"),
    "spindle below its range": ("S2000 M3", "S300 M3", "too-fast", "hole[1]"),
    "drill too fast for steel": ("S2000 M3", "S3000 M3", "too-fast", "hole[1]"),
    "drill fed ten times too fast": ("G1 Z-1.1 F100", "G1 Z-1.1 F1000", "too-hard", "hole[1]"),
    "mill fed ten times too fast": ("G1 X84 Z-1 F180", "G1 X84 Z-1 F1800", "too-hard", "slot[1]"),
    "edge of an arc too fast": ("J0 F80", "J0 F180", "too-hard", "hole[2]"),
    "mill plunged at its full feed": ("G1 X84 Z-0.5 F180", "G1 Z-0.5 F180\nG1 X84", "too-hard", "slot[1]"),
    "drill fed so slowly that it rubs": ("G1 Z-1.1 F100", "G1 Z-1.1 F10", "rubbing-feed", "hole[1]"),
    "mill fed so slowly that it rubs": ("G1 X84 F180", "G1 X84 F20", "rubbing-feed", "slot[1]"),
    "Z faster than the machine": ("G1 Z0 F180", "G1 Z0 F900", "too-hard", ""),
    "Z after a change": ("T2 M6\nM0\n", "T2 M6\n", "z-unknown", ""),
    "no time to run up": ("S6000 M3\nG4 P4", "S6000 M3\nG4 P3", "no-spin-up", ""),
    "starts sideways": ("G0 Z25\n", "G0 X0 Y0\nG0 Z25\n", "bad-start", ""),
    "starts too low": ("G0 Z25\n", "G0 Z20\n", "bad-start", ""),
    "sideways from the touch-off": ("G4 P4\nG0 Z25\nG0 X61.25 Y30", "G4 P4\nG0 X61.25 Y30", "z-unknown", ""),
    "stop without retract": ("G0 Z25\nM5\nT2", "M5\nT2", "bad-stop", ""),
    "spindle turns at the end": ("M5\nM30", "M30", "bad-stop", ""),
    "end without retract": ("G0 Z2\nG0 Z25\nM5\nM30", "G0 Z2\nM5\nM30", "bad-stop", ""),
    "stop in the cut": ("G0 Z-1\n", "M0\nG0 Z-1\n", "bad-stop", ""),
    "sideways out of travel": ("G0 X76", "G0 X400\nG0 X76", "out-of-travel", ""),
    "up out of daylight": ("G0 X76", "G0 Z40\nG0 X76", "out-of-travel", ""),
}


@pytest.mark.parametrize("fault", list(FAULTS))
def test_fault_is_called_by_its_name(fault: str) -> None:
    """Each fault, put alone into the right program, gets its own code at its own feature, and says where."""
    old, new, code, feature = FAULTS[fault]
    findings = judged(edited(PROGRAM, old, new))
    met = [finding for finding in findings if finding.code == code]
    assert met, codes(findings)
    assert any(finding.feature == feature for finding in met)
    assert all(finding.severity == "error" and finding.code in CODES for finding in met)
    assert all(finding.line > 0 or finding.feature in finding.message for finding in met)


def test_only_the_faulty_line_is_blamed() -> None:
    """A shifted hole is an overcut with amount and line, and nothing is said about its neighbours."""
    findings = judged(edited(PROGRAM, "G0 X40 Y30", "G0 X40.05 Y30"))
    assert {finding.feature for finding in findings} == {"hole[1]"}
    over = next(finding for finding in findings if finding.code == "overcut")
    line = PROGRAM[: PROGRAM.index("G1 Z-1.1")].count("\n") + 1
    assert over.line == line and over.message.startswith(f"line {line}: ") and "0.05 mm" in over.message


def test_inches_for_millimetres() -> None:
    """The same numbers read as inches leave the travel, and nothing lies where it should."""
    met = codes(judged(edited(PROGRAM, "G21", "G20")))
    assert {"out-of-travel", "not-made", "stray-cut"} <= met


def test_many_faults_are_counted_not_repeated() -> None:
    """A fault on every line of an opening is told a few times, with the number of the others."""
    findings = judged(PROGRAM.replace("S6000 M3\n", ""))
    off = [finding for finding in findings if finding.code == "spindle-off" and finding.feature == "slot[1]"]
    assert len(off) == 2 and off[-1].message.endswith("(and 14 more)")


def test_tolerance_of_a_round_hole() -> None:
    """A round hole may come out larger by its tolerance, so that the next drill may serve, and no further."""
    bigger = edited(PROGRAM, "T1 M6", "T5 M6")
    for tolerance, right in ((0.0, False), (0.05, False), (0.1, True), (0.2, True)):
        sheet = panel(hole("hole[1]", (40, 30), 3.0, tolerance=tolerance), BORE, SLOT)
        assert (judged(bigger, sheet) == ()) is right


@pytest.mark.parametrize(("error", "right"), [(0.008, True), (0.013, False), (-0.008, True), (-0.013, False)])
def test_edge_of_the_tolerance(error: float, right: bool) -> None:
    """A wall within 0.01 mm of the design is accepted, one outside it is not, on either side."""
    radius = 2.5 + error
    x = f"G1 X{60 + radius:.3f} Y30\nG3 X{60 + radius:.3f} Y30 I-{radius:.3f}"
    assert (judged(edited(PROGRAM, "G1 X62.5 Y30\nG3 X62.5 Y30 I-2.5", x)) == ()) is right


# --- feeds so slow that the cutter rubs ---------------------------------------------------------------------------

# The least feed, by arithmetic: 0.008 mm at each of two teeth. The mill turns at 6000: 96 mm/min along a line; at the
# centre of an arc of 0.5 mm with a cutter of 3 mm, 0.5 / 2 of it; straight down the table's 0.3 of it. The drill turns
# at 2000 and may break through at half: 16 mm/min. A tenth below, and 1 mm/min of rounding, is let pass.
SLOWEST = {
    "line": ("G1 X84 Z-0.5 F180\nG3 X84 Y40.5 I0 J0.5 F45\nG1 X76 F180", "F180", "G1 X76 F{}", 96.0),
    "arc": ("G3 X84 Y40.5 I0 J0.5 F45", "F45", "I0 J0.5 F{}", 24.0),
    "ramp": ("G1 X84 Z-0.5 F180", "F180", "Z-0.5 F{}", 28.8),
    "drill": ("G1 Z-2.602 F50", "F50", "G1 Z-2.602 F{}", 16.0),
}


@pytest.mark.parametrize("kind", list(SLOWEST))
def test_the_slowest_feed_that_cuts(kind: str) -> None:
    """Just above the chip floor of each kind of move nothing is said, just below it the cutter rubs."""
    line, old, new, least = SLOWEST[kind]
    before, found, after = line.rpartition(new.split("F{}")[0] + old)
    assert found
    for feed, rubs in ((0.9 * least - 0.9, False), (0.9 * least - 1.1, True)):
        slow = before + new.format(f"{feed:.2f}") + after
        assert codes(judged(edited(PROGRAM, line, slow))) == ({"rubbing-feed"} if rubs else set())


def test_a_slow_feed_through_air_rubs_on_nothing() -> None:
    """Once round the slot again, where all is gone already, may be as slow as anybody likes; so may a lift."""
    again = "G1 X84 F10\n" + SLOT_ROUND.replace("F180", "F10").replace("F45", "F10") + "G1 Z2 F5\n"
    assert judged(edited(PROGRAM, SLOT_ROUND + "G0 Z2\n", SLOT_ROUND + again)) == ()


# --- the nut, power, slots ---------------------------------------------------------------------------------------


def test_nut_alone_reaches_the_clamp() -> None:
    """Beside a clamp the cutter and its shank pass, and the collet nut does not once the cutter is in the sheet."""
    near = hole("hole[1]", (28, 10), 3.0)
    text = HEAD + CHANGE.format(1, 2000) + DRILLED.replace("X40 Y30", "X28 Y10") + FOOT
    low = judged(text, panel(near))
    assert codes(low) == {"hits-clamp"} and "collet nut crosses clamp 1" in low[0].message
    flat = Clamp(1, CLAMP.area, 17.0)
    assert judged(text, panel(near, clamps=(flat,))) == ()


def test_power_of_the_spindle() -> None:
    """A full kerf at full depth asks more than a small spindle gives; a ring by cleared ground does not."""
    weak = dataclasses.replace(MACHINE, power=12.0)
    milled, sheet = HEAD + CHANGE.format(2, 6000) + BORED + SLOTTED + FOOT, panel(BORE, SLOT)
    assert judged(milled, sheet, weak) == ()
    once = edited(milled, "G1 X84 Z-0.5 F180\n", "G1 Z-1.5 F30\nG1 X84 F180\n")
    findings = judged(once, sheet, weak)
    assert codes(findings) == {"too-hard"} and "22 W" in findings[0].message  # 3 * 1.2 * 180 / 60 * 2000 / 1000


def test_slots_of_a_changer() -> None:
    """Where the machine has slots T is the slot, and the cutter in it is what cuts."""
    slots = dataclasses.replace(MACHINE, program=Dialect(change="automatic", slots=((1, 2), (2, 1))))
    swapped = PROGRAM.replace("T1 M6", "T9 M6").replace("T2 M6", "T1 M6").replace("T9 M6", "T2 M6")
    assert judged(swapped, machine=slots) == ()
    assert "overcut" not in codes(judged(PROGRAM, machine=MACHINE))
    assert judged(PROGRAM, machine=slots) != ()


def test_length_offset_of_another_cutter() -> None:
    """A length offset whose H is not the cutter in the spindle makes Z wrong."""
    table = PROGRAM.replace("T1 M6\nM0\n", "T1 M6\nG43 H1\n").replace("T2 M6\nM0\n", "T2 M6\nG43 H2\n")
    assert judged(table) == ()
    assert codes(judged(table.replace("G43 H2", "G43 H1"))) == {"z-unknown"}


# --- corners, marks, pilots ---------------------------------------------------------------------------------------


def squared(limit: float) -> Panel:
    """A sheet with a square cutout of 10 mm with sharp corners."""
    square = opening("cutout[1]", (100, 60), rounded_rectangle((100, 60), 10, 10, 0), corner_limit=limit)
    return panel(square)


def square_path(half: float) -> str:
    """Once round a square from its lower left corner, counter-clockwise, then to the middle."""
    x0, x1, y0, y1 = 100 - half, 100 + half, 60 - half, 60 + half
    return f"G1 X{x0} Y{y0}\nX{x1}\nY{y1}\nX{x0}\nY{y0}\n"


SQUARE = (
    HEAD + CHANGE.format(2, 6000) + "G0 X100 Y60\nG1 Z-1.5 F60\nF180\n" + square_path(1) + square_path(2.4)
    + square_path(3.5) + FOOT
)


def test_sharp_corner_keeps_the_cutters_radius() -> None:
    """A sharp inside corner may keep a radius up to its limit; beyond that it is undercut."""
    assert judged(SQUARE, squared(1.6)) == ()
    assert judged(SQUARE, squared(1.5)) == ()
    assert codes(judged(SQUARE, squared(1.2))) == {"undercut"}
    rounded = opening("cutout[1]", (100, 60), rounded_rectangle((100, 60), 10, 10, 1.0), corner_limit=1.6)
    assert codes(judged(SQUARE, panel(rounded))) == {"undercut"}


def test_core_that_stays() -> None:
    """An opening cleared to chips keeps no core: a missing inner ring is an undercut in its middle."""
    hollow = HEAD + CHANGE.format(2, 6000) + "G0 X96.5 Y56.5\nG1 Z-1.5 F60\nF180\n" + square_path(3.5) + FOOT
    assert codes(judged(hollow, squared(1.6))) == {"undercut"}


def test_flat_of_a_d_hole_is_missing() -> None:
    """A round hole in place of a D-hole cuts away the flat that keeps the part from turning."""
    part = opening("d_hole[1]", (60, 30), d_hole((60, 30), 8, 7), corner_limit=1.6)
    findings = judged(HEAD + CHANGE.format(2, 6000) + BORED + FOOT, panel(part))
    assert codes(findings) == {"overcut"} and "1 mm beyond the wall" in findings[0].message


MARK = HEAD + CHANGE.format(4, 1300) + "G0 X40 Y30\nG0 Z2\nG1 Z-0.4 F60\nG0 Z2\n" + FOOT


def test_centre_mark() -> None:
    """A mark in place, within depth and width, passes; too deep, beside its place, or missing it is an error."""
    sheet = panel(opening("hole[1]", (40, 30), None, finish="mark", marks=((40, 30),)))
    assert judged(MARK, sheet) == ()
    assert codes(judged(edited(MARK, "Z-0.4", "Z-0.6"), sheet)) == {"overcut"}
    assert codes(judged(edited(MARK, "X40 Y30", "X40.1 Y30"), sheet)) == {"overcut"}
    assert codes(judged(edited(MARK, "X40 Y30", "X60 Y30"), sheet)) == {"not-made", "stray-cut", "incomplete"}
    wide = edited(MARK, "G1 Z-0.4 F60\n", "G1 Z-0.4 F60\nG1 X40.8\nG1 X40\n")
    assert codes(judged(wide, sheet)) == {"overcut"}


def test_mark_in_place_of_a_pilot() -> None:
    """Where a centre mark stands for a pilot hole it is noted, not refused; a mark does not stand for a hole."""
    pilot = opening("hole[1]", (40, 30), circle((40, 30), 3.0), diameter=3.0, finish="pilot")
    findings = judged(MARK, panel(pilot))
    assert [(finding.severity, finding.code) for finding in findings] == [("note", "pilot-method")]
    assert codes(judged(MARK, panel(HOLE))) == {"undercut"}


# --- large openings and their tabs --------------------------------------------------------------------------------


def round_wall(z: str, over: str | None, *, half_tab: float = 2.75, tabs: str = "bottom right top") -> str:
    """Once round the wall path of a cutout 50 by 40 with corners of 5, at Z ``z``, and at ``over`` over the tabs."""
    lift = f"G1 Z{over} F60\n"
    down = f"G1 Z{z} F60\n"

    def side(name: str, before: str, after: str, end: str) -> str:
        if over is None or name not in tabs.split():
            return f"G1 {end} F180\n"
        return f"G1 {before} F180\n{lift}G1 {after} F180\n{down}G1 {end} F180\n"

    return (
        f"G1 Z{z} F60\n"
        + side("bottom", f"X{130 - half_tab}", f"X{130 + half_tab}", "X150")
        + "G3 X153.5 Y45 I0 J3.5 F120\n"
        + side("right", f"Y{60 - half_tab}", f"Y{60 + half_tab}", "Y75")
        + "G3 X150 Y78.5 I-3.5 J0 F120\n"
        + side("top", f"X{130 + half_tab}", f"X{130 - half_tab}", "X110")
        + "G3 X106.5 Y75 I0 J-3.5 F120\n"
        + side("left", f"Y{60 + half_tab}", f"Y{60 - half_tab}", "Y45")
        + "G3 X110 Y41.5 I3.5 J0 F120\n"
    )


def windowed(text: str) -> str:
    """A whole program that cuts the window."""
    return HEAD + CHANGE.format(2, 6000) + "G0 X110 Y41.5\nG0 Z2\nG1 Z0 F180\n" + text + FOOT


def window(tabs: Tabs | None = Tabs(), corner: float = 5.0) -> Panel:  # noqa: B008  a frozen value
    """A sheet with a cutout of 50 by 40, held by tabs: by rule three, 5.5 mm wide and 0.5 mm high."""
    shape = rounded_rectangle((130, 60), 50, 40, corner)
    return panel(opening("cutout[1]", (130, 60), shape, tabs=tabs, cleared=False, corner_limit=1.6))


UPPER = round_wall("-0.5", None) + round_wall("-1", "-0.7")
WINDOW = windowed(UPPER + round_wall("-1.5", "-0.7"))


def test_window_with_three_tabs() -> None:
    """A large opening held by its three declared tabs passes, by the material's rule or by its own figures."""
    assert judged(WINDOW, window()) == ()
    assert judged(WINDOW, window(Tabs(3, 5.5, 0.5))) == ()


@pytest.mark.parametrize(
    ("last", "tabs", "part"),
    [
        (round_wall("-1.5", "-0.7", tabs="bottom top"), Tabs(), "2 holding tabs are left instead of 3"),
        (round_wall("-1.5", "-0.7", tabs="bottom right top left"), Tabs(4), ""),
        (round_wall("-1.5", None), Tabs(), "0 holding tabs are left instead of 3"),
        (round_wall("-1.5", "-0.7"), Tabs(4), "3 holding tabs are left instead of 4"),
        (round_wall("-1.5", "-0.7"), Tabs(3, 6.0, 0.5), "mm wide at the wall, not 6 mm"),
        (round_wall("-1.5", "-0.7", half_tab=3.5), Tabs(), "mm wide at the wall, not 5.5 mm"),
        (round_wall("-1.5", "-0.7"), Tabs(3, 5.5, 0.4), "higher than the declared 0.4 mm"),
        (round_wall("-1.5", "-0.7"), Tabs(3, 5.5, 0.6), "lower than the declared 0.6 mm"),
        (round_wall("-1.5", "-0.7", half_tab=2.0), Tabs(3, 4.0, 0.5), "the neck of the tab"),
    ],
)
def test_tabs_as_declared(last: str, tabs: Tabs, part: str) -> None:
    """A tab missing, too many, too wide, too narrow in the neck, too high or too low is named as such."""
    findings = judged(windowed(round_wall("-0.5", None) + last), window(tabs))
    if not part:
        assert findings == ()
        return
    assert codes(findings) == {"tabs-wrong"}
    assert any(part in finding.message for finding in findings), findings


def test_width_of_a_tab_is_measured() -> None:
    """The width that is told is the one at the wall, from where the cutter lifts to where it comes down again."""
    findings = judged(windowed(round_wall("-0.5", None) + round_wall("-1.5", "-0.7", half_tab=3.5)), window())
    told = [float(finding.message.split(" mm wide")[0].rsplit(" ", 1)[1]) for finding in findings]
    assert told and all(abs(width - 7.0) < 0.03 for width in told)


def test_tab_on_a_corner() -> None:
    """A tab that lies over the corner of a window is refused: no saw reaches it."""
    corner = (
        "G1 Z-1.5 F60\nG1 X127.25 F180\nG1 Z-0.7 F60\nG1 X132.75 F180\nG1 Z-1.5 F60\nG1 X148 F180\nG1 Z-0.7 F60\n"
        "G1 X150 F180\nG3 X153.5 Y45 I0 J3.5 F120\nG1 Z-1.5 F60\nG1 Y75 F180\nG3 X150 Y78.5 I-3.5 J0 F120\n"
        "G1 X132.75 F180\nG1 Z-0.7 F60\nG1 X127.25 F180\nG1 Z-1.5 F60\nG1 X110 F180\nG3 X106.5 Y75 I0 J-3.5 F120\n"
        "G1 Y45 F180\nG3 X110 Y41.5 I3.5 J0 F120\n"
    )
    findings = judged(windowed(round_wall("-0.5", None) + corner), window())
    assert any("sits on a corner" in finding.message for finding in findings)


def test_tab_cut_off_from_its_slug() -> None:
    """A roughing pass that does not lift cuts the tabs off from the slug, though they still stand at the wall."""
    inside = WINDOW.replace("G0 Z25\nM5\nM30", "")
    ring = (
        "G0 Z2\nG0 X110 Y42\nG1 Z-1.5 F60\nG1 X150 F180\nG3 X153 Y45 I0 J3\nG1 Y75\nG3 X150 Y78 I-3 J0\nG1 X110\n"
        "G3 X107 Y75 I0 J-3\nG1 Y45\nG3 X110 Y42 I3 J0\n"
    )
    findings = judged(inside + ring + FOOT, window())
    assert codes(findings) == {"tabs-wrong"} and "cut off from the slug" in findings[0].message


def test_tab_thinned_beside_the_wall() -> None:
    """A roughing pass that goes lower over a tab than the finishing pass leaves a tab lower than declared."""
    ring = (
        "G0 Z2\nG0 X110 Y42\nG1 Z-0.9 F60\nG1 X150 F180\nG3 X153 Y45 I0 J3\nG1 Y75\nG3 X150 Y78 I-3 J0\nG1 X110\n"
        "G3 X107 Y75 I0 J-3\nG1 Y45\nG3 X110 Y42 I3 J0\n"
    )
    findings = judged(WINDOW.replace(FOOT, ring + FOOT), window())
    assert codes(findings) == {"tabs-wrong"} and "lower than the declared 0.5 mm" in findings[0].message


def test_wall_not_cut_through() -> None:
    """A window whose last level is missing is not cut through; one that stops half way keeps its wall."""
    assert codes(judged(windowed(UPPER), window())) == {"undercut"}
    half = UPPER + "G1 Z-1.5 F60\nG1 X150 F180\n"
    assert codes(judged(windowed(half), window())) == {"undercut"}


def test_slug_without_tabs() -> None:
    """A window without tabs is cut free all round; a stretch of wall that still holds is an undercut."""
    assert judged(windowed(UPPER + round_wall("-1.5", None)), window(None)) == ()
    held = codes(judged(WINDOW, window(None)))
    assert held == {"undercut"}


def test_piece_comes_loose_before_its_inside_is_cut() -> None:
    """Cutting on inside a slug that is already free is refused, and cutting there first is not."""
    inside = "G0 Z2\nG0 X120 Y60\nG1 Z-1.5 F60\nG1 X140 F180\nG0 Z2\n"
    free = UPPER + round_wall("-1.5", None)
    assert codes(judged(windowed(free + inside), window(None))) == {"loose-early"}
    first = inside + "G0 X110 Y41.5\nG1 Z0 F180\n" + free
    assert judged(windowed(first), window(None)) == ()


# --- rapids in cleared ground ---------------------------------------------------------------------------------------


def test_rapid_through_what_is_gone() -> None:
    """A sideways rapid inside an opening that is already cleared is fine; across what is left of it is not."""
    again = "G0 X100 Y60 Z2\nG0 Z-1.5\nG0 X102 Y61\n"
    assert judged(SQUARE.replace(FOOT, again + FOOT), squared(1.6)) == ()
    early = SQUARE.replace(square_path(3.5), "G0 X104.5 Y60\nG0 X100 Y60\n" + square_path(3.5))
    assert "rapid-in-stock" in codes(judged(early, squared(1.6)))
    deeper = SQUARE.replace(FOOT, "G0 X100 Y60 Z2\nG0 Z-2.5\n" + FOOT)
    assert codes(judged(deeper, squared(1.6))) == {"rapid-in-stock"}


def test_rapid_beside_the_sheet() -> None:
    """Beside the stock there is no sheet to plough through, but the spoilboard is there."""
    beside = "G0 X250 Y60\nG0 Z-1\nG0 Z2\n"
    assert judged(PROGRAM.replace(FOOT, beside + FOOT)) == ()
    assert codes(judged(PROGRAM.replace(FOOT, beside.replace("Z-1", "Z-1.4") + FOOT))) == {"rapid-in-stock"}


def test_spot_asks_only_for_what_it_cuts() -> None:
    """A wide spot drill that goes in a little takes the power and the surface speed of the little that it cuts."""
    sheet = panel(opening("hole[1]", (40, 30), None, finish="mark", marks=((40, 30),)))
    fast = MARK.replace("S1300", "S8000").replace("F60", "F205")
    assert judged(fast, sheet, dataclasses.replace(MACHINE, power=10.0)) == ()
    assert codes(judged(fast.replace("S8000", "S12000"), sheet)) == {"too-fast"}


def test_dwell_counts_in_the_controllers_unit() -> None:
    """Where a controller counts milliseconds, P4 is no time to run up and P4000 is."""
    counting = dataclasses.replace(MACHINE, program=dataclasses.replace(MACHINE.program, dwell="milliseconds"))
    assert "no-spin-up" in codes(judged(PROGRAM, machine=counting))
    assert judged(PROGRAM.replace("G4 P4", "G4 P4000"), machine=counting) == ()


def test_a_changer_waits_for_m6() -> None:
    """A text that names cutters by T alone changes none of them on a machine with a changer; by hand it does."""
    by_hand = PROGRAM.replace(" M6\n", "\n").replace("M0\n", "M5\nM0\n")
    changer = dataclasses.replace(MACHINE, program=dataclasses.replace(MACHINE.program, change="automatic"))
    assert judged(by_hand) == ()
    assert codes(judged(by_hand, machine=changer)) == {"no-change"}
    assert judged(PROGRAM, machine=changer) == ()

"""The shipped tables: every row with its source, figures as their sources have them, and all of it usable together."""

import math
import re
from pathlib import Path

import pytest

from toolpaths.errors import UnknownName
from toolpaths.tables import formulas, load
from toolpaths.tables.rows import Cutter, Material, Rate

MATERIALS, CUTTERS, MACHINES = load.materials(), load.cutters(), load.machines()
STEEL, ALUMINIUM, PLYWOOD = MATERIALS["mild steel"], MATERIALS["aluminium"], MATERIALS["plywood"]


def sources(material: Material) -> list[str]:
    rates = [rate.source for rate in material.chip_loads + material.drill_feeds]
    return [material.source, *material.sources.values(), *rates, *(text for _, text in material.speeds.values())]


def test_every_row_names_its_source() -> None:
    """No figure without a source: a text, common practice, or memory."""
    texts = [row.source for row in [*CUTTERS.values(), *MACHINES.values()]]
    for material in MATERIALS.values():
        texts += sources(material)
        assert set(material.sources) >= {"chip_floor", "cutting_force", "stepdown", "ramp", "plunge", "web", "tabs"}
    assert len(texts) > 150
    assert all(re.search(r"[a-z]{3}", text) for text in texts)


@pytest.mark.parametrize(
    ("material", "kind", "cutter", "low", "high", "source"),
    [
        ("mild steel", "drill", "HSS", 80, 110, "US Navy NAVEDTRA 14345: low carbon steel"),
        ("aluminium", "drill", "HSS", 200, 300, "US Navy NAVEDTRA 14345"),
        ("plywood", "drill", "HSS", 300, 400, "Metal drilling reference guide: wood"),
        ("mild steel", "end mill", "HSS", 70, 120, "university handout Machine Tool Speeds and Feeds"),
        ("aluminium", "end mill", "HSS", 250, 500, "university handout Machine Tool Speeds and Feeds"),
        ("mild steel", "end mill", "carbide", 140, 250, "2 x HSS 70-120 of the handout; 250 Univ. of Florida"),
        ("aluminium", "end mill", "carbide", 500, 625, "2 x HSS 250 of the handout; 625 Univ. of Florida"),
    ],
)
def test_cutting_speeds_lie_in_the_range_of_their_sources(
    material: str, kind: str, cutter: str, low: float, high: float, source: str
) -> None:
    """Read in m/min, a speed lies within the ft/min range that the named source prints, in its lower half."""
    speed = MATERIALS[material].speed(kind, cutter)
    assert speed is not None
    assert low <= speed / 0.3048 + 1e-9, source
    assert speed / 0.3048 <= (low + high) / 2 + 10, source


@pytest.mark.parametrize("material", [STEEL, ALUMINIUM], ids=lambda row: row.name)
@pytest.mark.parametrize(
    ("from_in", "to_in", "low", "high"), [(0.0135, 1 / 8, 0.001, 0.002), (1 / 8, 1 / 4, 0.002, 0.004)]
)
def test_drill_feeds_stay_within_the_navy_table(
    material: Material, from_in: float, to_in: float, low: float, high: float
) -> None:
    """US Navy NAVEDTRA 14345 in/rev by diameter: never above the bracket's figure, and at its top exactly it."""
    for step in range(11):
        inch = from_in + (to_in - from_in) * step / 10
        assert material.drill_feed(inch * 25.4)[1] <= high * 25.4 + 1e-12
    assert material.drill_feed(to_in * 25.4) == pytest.approx((low * 25.4, high * 25.4))


def test_plywood_chip_loads_are_the_router_bit_charts() -> None:
    """asttooling.com spiral router bit chart: plywood 1/8 in 0.003-0.005, 1/4 in 0.006-0.009 in/tooth."""
    assert PLYWOOD.chip_load(3.175) == pytest.approx((0.0762, 0.127))
    assert PLYWOOD.chip_load(6.35) == pytest.approx((0.1524, 0.2286))


def test_metal_chip_loads_do_not_exceed_the_lightest_source() -> None:
    """in/tooth: aluminium 1/8 in 0.001, 1/4 in 0.002 (torbidetooling.com); steel 1/4 in 0.001 (newsontool.com)."""
    assert ALUMINIUM.chip_load(3.175)[1] == pytest.approx(0.0254)
    assert ALUMINIUM.chip_load(6.35)[1] == pytest.approx(0.0508)
    assert STEEL.chip_load(6.35)[1] == pytest.approx(0.0254)


@pytest.mark.parametrize("material", MATERIALS.values(), ids=lambda row: row.name)
def test_feeds_grow_with_the_cutter_and_stay_above_the_floor(material: Material) -> None:
    """A larger cutter never has the lighter chip, and every chip load is above the floor."""
    for rates in (material.chip_loads, material.drill_feeds):
        assert [rate.low for rate in rates] == sorted(rate.low for rate in rates)
        assert [rate.high for rate in rates] == sorted(rate.high for rate in rates)
    assert all(material.chip_floor < rate.low <= rate.high for rate in material.chip_loads)
    assert all(rate.low < rate.high for rate in material.drill_feeds)


def test_shop_rules_of_the_materials() -> None:
    """Ramp, depth per pass, floor, tabs and webs are the practice that the design states."""
    assert math.degrees(STEEL.ramp) == pytest.approx(1.5)
    assert math.degrees(ALUMINIUM.ramp) == pytest.approx(3)
    assert math.degrees(PLYWOOD.ramp) == pytest.approx(6)
    assert (STEEL.stepdown, ALUMINIUM.stepdown, PLYWOOD.stepdown) == (0.15, 0.5, 1.5)
    assert (STEEL.chip_floor, ALUMINIUM.chip_floor) == (0.008, 0.012)
    assert (STEEL.tabs.neck, ALUMINIUM.tabs.neck, PLYWOOD.tabs.neck) == (2.5, 3, 5)
    assert {row.tabs.least for row in MATERIALS.values()} == {3}
    assert STEEL.web == ALUMINIUM.web == 2
    assert {row.plunge for row in MATERIALS.values()} == {0.25}


@pytest.mark.parametrize("diameter", [2, 2.5, 3, 3.175])
def test_small_carbide_can_be_run_on_a_router_in_steel(diameter: float) -> None:
    """The small router turns no slower than 5000 min⁻¹: mills up to 1/8 in must be allowed that in mild steel."""
    mill = next(row for row in CUTTERS.values() if row.diameter == diameter and "metal" in row.serves)
    speed = STEEL.speed(mill.kind, mill.material)
    assert speed is not None
    assert formulas.rpm(speed, mill.diameter) >= MACHINES["small router"].min_rpm


def of_kind(kind: str, serves: str, first: int, last: int) -> list[Cutter]:
    rows = (row for row in CUTTERS.values() if row.kind == kind and serves in row.serves)
    return [row for row in rows if first <= row.number <= last]


def test_numbers_follow_the_scheme_that_the_table_states() -> None:
    """T numbers are stable: end mills 100 + 4 d, drills 200 + 10 d, 400 + sixty-fourths or 1000 + number, and so on."""
    for row in CUTTERS.values():
        sixty_fourths = row.diameter / 25.4 * 64
        expected = {
            1: (150 if row.serves == ("board",) else 100) + round(4 * row.diameter),
            2: 200 + 10 * row.diameter,
            3: 200 + 10 * row.diameter,
            4: 400 + sixty_fourths,
            5: 500 + row.diameter,
            6: 600 + 10 * row.diameter,
            7: 700 + sixty_fourths,
            8: 800 + round(4 * row.diameter),
            10: 1000 + int(row.trade_name.removeprefix("#")) if row.number // 100 == 10 else 0,
            11: 1100 + ord(row.trade_name[-1]) - ord("A") + 1,
            13: 1300 + round(4 * row.diameter),
            14: 1400 + round(4 * row.diameter),
            15: 1500 + round(4 * row.diameter),
            16: 1600 + round(4 * row.diameter),
            17: 1700 + round(4 * row.diameter),
            18: 1800 + round(math.degrees(row.point_angle)),
        }[row.number // 100]
        assert row.number == pytest.approx(expected), row.trade_name


def test_the_sizes_that_the_trade_expects_are_there() -> None:
    """Stub drills 1.0 to 6.5 by 0.1 and 1/16 to 1/4 in by 1/64; mills 1 to 6 mm, 1/8 and 1/4 in; bits for board."""
    metric = [row.diameter for row in of_kind("drill", "metal", 200, 399)]
    assert metric[:56] == pytest.approx([1 + step / 10 for step in range(56)])
    assert metric[-1] == 10
    inches = [row.diameter for row in of_kind("drill", "metal", 400, 499)]
    assert inches == pytest.approx([sixty_fourths * 25.4 / 64 for sixty_fourths in range(4, 17)])
    assert [row.trade_name for row in of_kind("end mill", "metal", 100, 149)] == [
        *("1 mm", "1.5 mm", "2 mm", "2.5 mm", "3 mm", "1/8 in", "4 mm", "5 mm", "6 mm", "1/4 in")
    ]
    assert [row.trade_name for row in of_kind("end mill", "board", 150, 199)] == [
        *("3 mm", "1/8 in", "4 mm", "6 mm", "1/4 in")
    ]
    assert [row.diameter for row in of_kind("spot drill", "metal", 500, 599)] == [3, 6]


def test_number_and_letter_drills_have_the_standards_sizes() -> None:
    """#60 to #1 and A to Z are there, each as thick as the drill sizes say; the thinner ones are no cutters."""
    rows = of_kind("drill", "metal", 1000, 1199)
    names = {f"#{number}" for number in range(1, 61)} | {f"letter {chr(code)}" for code in range(65, 91)}
    assert {row.trade_name for row in rows} == names and len(rows) == len(names)
    assert all(row.diameter == pytest.approx(load.drill_size(row.trade_name), abs=1e-9) for row in rows)
    assert all(row.stick_out > row.flute_length > 5 * row.diameter / 2 for row in rows)


def test_special_cutters_are_there() -> None:
    """HSS end mills to 1/2 in, countersinks of 60, 82 and 90 degrees, down-cut and compression bits for board."""
    hss = [row for row in CUTTERS.values() if row.kind == "end mill" and row.material == "HSS"]
    assert {row.trade_name for row in hss} >= {"3 mm", "6 mm", "10 mm", "12 mm", "1/8 in", "1/4 in", "1/2 in"}
    assert {row.serves for row in hss} == {("metal",)}
    sinks = [row for row in CUTTERS.values() if row.kind == "countersink"]
    assert {round(math.degrees(row.point_angle)) for row in sinks} == {60, 82, 90}
    assert all(row.point_length <= row.flute_length < row.point_length + 0.1 + 1e-9 for row in sinks)
    assert all(row.diameter >= 6 for row in sinks)
    down = [row for row in CUTTERS.values() if row.twist == "down"]
    both = [row for row in CUTTERS.values() if row.twist == "compression"]
    assert len(down) == 5 and len(both) == 2 and {row.serves for row in down + both} == {("board",)}
    assert down[0].name == "3 mm down-cut end mill" and both[0].name == "6 mm compression end mill"


@pytest.mark.parametrize("material", MATERIALS.values(), ids=lambda row: row.name)
def test_a_countersink_turns_at_a_quarter_of_a_drills_speed(material: Material) -> None:
    """Univ. of Florida MAE design lab: 25 percent of the speed of a drill of the same size."""
    drill, sink = material.speed("drill", "HSS"), material.speed("countersink", "HSS")
    assert drill is not None and sink is not None
    assert sink == pytest.approx(drill / 4)


def test_long_bits_go_through_19_mm_board() -> None:
    """A bit of 4 mm and more has flutes for 19 mm plywood and the 0.3 mm below; a 3 mm one honestly has not."""
    for row in of_kind("end mill", "board", 150, 199):
        assert (row.flute_length >= 19.3) == (row.diameter >= 4)


def test_a_drill_for_every_size_is_long_enough_for_18_mm_board() -> None:
    """The usual screw sizes can be drilled through 18 mm: point and 0.5 mm included."""
    for size in (2, 2.5, 3, 3.175, 3.5, 4, 5, 6):
        drills = [row for row in CUTTERS.values() if row.kind == "drill" and abs(row.diameter - size) < 1e-9]
        assert any(row.flute_length >= 18 + 0.5 + row.point_length for row in drills), size


def test_sheet_drills_have_short_points() -> None:
    """A 135 degree point is 0.21 d, so a 5 mm stub drill serves in 1.2 mm sheet where a 118 degree one may not."""
    assert CUTTERS[250].point_length == pytest.approx(1.0355, abs=1e-4)
    assert formulas.point_length(5, math.radians(118)) > 1.2


@pytest.mark.parametrize("row", [row for row in MACHINES.values() if row.cuts], ids=lambda row: row.name)
def test_every_machine_reaches_the_sheet_and_over_its_clamps(row: object) -> None:
    """With its 3 mm mill the tip comes down into the spoilboard and up 25 mm over 1.2 mm sheet (20 mm clamps)."""
    machine = MACHINES[row.name]  # type: ignore[attr-defined]
    sheet_top, tip_up = machine.spoilboard + 1.2, machine.daylight - CUTTERS[112].stick_out
    assert tip_up - sheet_top >= 25
    assert tip_up - machine.travel[2] <= machine.spoilboard - 2


def test_machines_are_those_of_the_design() -> None:
    """small router 300 x 180 x 60 and 5000 to 24000 min⁻¹; sheet router 1300 x 900; bench mill 100 to 3000 min⁻¹."""
    small, sheet, mill = MACHINES["small router"], MACHINES["sheet router"], MACHINES["bench mill"]
    assert (small.travel, small.daylight, small.stiffness, small.backlash) == ((300, 180, 60), 70, 0.3, 0.05)
    assert (small.min_rpm, small.max_rpm, small.max_xy, small.power, small.spoilboard) == (5000, 24000, 2000, 350, 12)
    assert sheet.travel[:2] == (1300, 900)
    assert (mill.min_rpm, mill.max_rpm, mill.stiffness) == (100, 3000, 1)
    assert mill.climbs and not small.climbs


def test_the_changer_holds_twelve_known_cutters_and_the_plotter_cuts_nothing() -> None:
    """mill with tool changer: inch programs, a length table, twelve slots of our own cutters; pen plotter: X and Y."""
    changer, plotter = MACHINES["mill with tool changer"], MACHINES["pen plotter"]
    dialect = changer.program
    assert (dialect.units, dialect.decimals, dialect.change, dialect.length) == ("in", 4, "automatic", "length table")
    assert [slot for slot, _ in dialect.slots] == list(range(1, 13))
    assert {number for _, number in dialect.slots} <= set(CUTTERS)
    assert [row.name for row in MACHINES.values() if not row.cuts] == [plotter.name]
    assert plotter.travel[2] == 0


@pytest.mark.parametrize(
    ("name", "mm"),
    [
        ("#80", 0.3429),
        ("#60", 1.0160),
        ("#37", 2.6416),
        ("#30", 3.2639),
        ("#7", 5.1054),
        ("#1", 5.7912),
        ("letter A", 5.9436),
        ("letter E", 6.35),
        ("letter F", 6.5278),
        ("letter Z", 10.4902),
    ],
)
def test_drill_sizes_are_the_standards(name: str, mm: float) -> None:
    """ASME B94.11M twist drill sizes, as transcribed in a public table, in mm to four decimals."""
    assert load.drill_size(name) == pytest.approx(mm, abs=0.00006)


def test_all_drill_sizes_are_there_in_falling_numbers_and_rising_letters() -> None:
    """#80 to #1, then A to Z: each larger than the one before."""
    names = [f"#{number}" for number in range(80, 0, -1)] + [f"letter {chr(code)}" for code in range(65, 91)]
    sizes = [load.drill_size(name) for name in names]
    assert sizes == sorted(set(sizes))
    with pytest.raises(UnknownName, match="#81"):
        load.drill_size("#81")


@pytest.mark.parametrize(
    ("material", "number", "mm"),
    [
        ("mild steel", 18, 1.214),
        ("mild steel", 16, 1.519),
        ("mild steel", 20, 0.912),
        ("mild steel", 10, 3.416),
        ("aluminium", 18, 1.024),
        ("aluminium", 16, 1.290),
        ("aluminium", 10, 2.588),
        ("aluminium", 28, 0.320),
        ("stainless steel", 18, 1.214),
    ],
)
def test_a_gauge_is_that_of_its_material(material: str, number: int, mm: float) -> None:
    """Manufacturers' Standard Gauge for steels, Brown & Sharpe for aluminium (induspecs.com): 18 ga differs."""
    assert load.gauge(number, MATERIALS[material]) == pytest.approx(mm, abs=0.0006)


def test_the_aluminium_gauge_is_its_formula() -> None:
    """Brown & Sharpe: 0.005 x 92^((36-n)/39) in (cvrt.me), to the four decimals of the table."""
    for number in range(10, 29):
        assert load.gauge(number, ALUMINIUM) / 25.4 == pytest.approx(0.005 * 92 ** ((36 - number) / 39), abs=0.000055)


def test_what_has_no_gauge_says_what_to_write() -> None:
    """Plywood has no gauge, steel no gauge 5: both are errors that help."""
    with pytest.raises(UnknownName, match="write its thickness as a length"):
        load.gauge(18, PLYWOOD)
    with pytest.raises(UnknownName, match="there are 10 to 28"):
        load.gauge(5, STEEL)


@pytest.mark.parametrize("name", ["brass", "acrylic"])
def test_a_material_that_is_not_there_names_those_that_are(name: str) -> None:
    """Asking for a material that has no row is a clear error."""
    with pytest.raises(UnknownName, match=f"no material '{name}'; .*[Kk]nown are aluminium, mild steel, plywood"):
        load.named("material", name, MATERIALS)


def test_stainless_mdf_and_fibreglass_stand_as_their_sources_have_them() -> None:
    """NAVEDTRA 14345: stainless 30-40 ft/min; asttooling chart: MDF 0.004-0.007 in/tooth at 1/8 in and 0.012-0.015 at
    1/4 in, hard plastic from 0.002 and 0.005; plastics from 100 ft/min (metal drilling reference guide)."""
    stainless, mdf, board = (MATERIALS[name] for name in ("stainless steel", "mdf", "fibreglass board"))
    assert stainless.speed("drill", "HSS") == pytest.approx(30 * 0.3048)
    assert stainless.ramp == pytest.approx(math.radians(1))
    assert mdf.chip_load(3.175) == pytest.approx((0.004 * 25.4, 0.007 * 25.4))
    assert mdf.chip_load(6.35) == pytest.approx((0.012 * 25.4, 0.015 * 25.4))
    assert board.chip_load(3.175)[1] == pytest.approx(0.002 * 25.4)
    assert board.chip_load(6.35)[1] == pytest.approx(0.005 * 25.4)
    assert board.speed("drill", "HSS") == pytest.approx(100 * 0.3048)


def test_a_machine_that_is_not_there_names_those_that_are() -> None:
    """A misspelt machine gets a guess."""
    with pytest.raises(UnknownName, match="did you mean 'bench mill'"):
        load.machine("bench mil", Path())


def test_tables_are_not_shared() -> None:
    """What one caller does to his table does not reach the next."""
    load.cutters().clear()
    assert load.cutters() == CUTTERS
    assert isinstance(MATERIALS["plywood"].chip_loads[0], Rate)

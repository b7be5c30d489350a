from __future__ import annotations

import math
from dataclasses import replace

import pytest

from toolpaths.plan import speeds
from toolpaths.plan.speeds import CuttingData, Refusal
from toolpaths.tables.load import cutters, machines, materials

CUTTERS, MACHINES, MATERIALS = cutters(), machines(), materials()


@pytest.mark.parametrize("machine", [row for row in MACHINES.values() if row.cuts], ids=lambda machine: machine.name)
@pytest.mark.parametrize("material", MATERIALS.values(), ids=lambda material: material.name)
def test_every_cutter_runs_within_table_and_spindle_or_is_refused(machine, material) -> None:
    """No cutter exceeds the table's surface speed, the spindle's range, the machine's feed or the chip-load floor."""
    run = 0
    for cutter in CUTTERS.values():
        if cutter.kind == "end mill":
            data = speeds.milling(cutter, material, machine)
        else:
            data = speeds.drilling(cutter, cutter.diameter, material, machine)
        if isinstance(data, Refusal):
            continue
        run += 1
        surface = math.pi * cutter.diameter * data.rpm / 1000
        assert surface <= material.speed(cutter.kind, cutter.material) * 1.0001
        assert machine.min_rpm <= data.rpm <= machine.max_rpm
        assert 0 < data.feed <= (machine.max_xy if cutter.kind == "end mill" else machine.max_z)
        if cutter.kind == "end mill":
            per_tooth = data.feed / (data.rpm * cutter.flutes)
            # the feed is printed as a whole number, rounded down: one mm/min is the slack
            assert per_tooth >= material.chip_floor - 1 / (data.rpm * cutter.flutes)
            assert per_tooth <= material.chip_load(cutter.diameter)[1] + 1e-9
    assert run > 0


def test_a_cutter_that_the_spindle_cannot_run_slowly_enough_is_refused_with_the_size_that_would_do() -> None:
    """A 6.5 mm HSS drill in steel at 5000 rev/min at least is refused, and the largest possible diameter is named."""
    refusal = speeds.drilling(CUTTERS[265], 6.5, MATERIALS["mild steel"], MACHINES["small router"])
    assert isinstance(refusal, Refusal)
    largest = 1000 * MATERIALS["mild steel"].speed("drill", "HSS") / (math.pi * 5000)
    assert f"{largest:.2f} mm" in refusal.reason
    assert speeds.spindle_speed(24.384, largest * 0.999, MACHINES["small router"]) is not Refusal


def test_speed_is_lowered_to_the_spindles_maximum() -> None:
    """A 1 mm mill in aluminium would want more than 24000 rev/min and gets 24000, with the reason in words."""
    data = speeds.milling(CUTTERS[104], MATERIALS["aluminium"], MACHINES["small router"])
    assert isinstance(data, CuttingData)
    assert data.rpm == 24000
    assert "lowered to the spindle's 24000" in data.reasons[0]


@pytest.mark.parametrize("name", ["small router", "sheet router", "bench mill", "mill with tool changer"])
def test_a_dial_is_set_in_two_figures_and_keeps_every_limit(name) -> None:
    """Without speed control each cutter runs at two figures of rev/min, no faster than before, and its feed follows."""
    machine = MACHINES[name]
    dial = replace(machine, speed_control=False)
    for cutter in CUTTERS.values():
        for material in MATERIALS.values():
            free, set_by_hand = (
                speeds.milling(cutter, material, one) if cutter.kind == "end mill"
                else speeds.drilling(cutter, cutter.diameter, material, one) for one in (machine, dial)
            )  # fmt: skip
            assert isinstance(free, Refusal) == isinstance(set_by_hand, Refusal)
            if isinstance(free, Refusal) or isinstance(set_by_hand, Refusal):
                continue
            assert len(str(set_by_hand.rpm).rstrip("0")) <= 2
            assert machine.min_rpm <= set_by_hand.rpm <= free.rpm < 1.1 * set_by_hand.rpm
            least = material.chip_floor * cutter.flutes * set_by_hand.rpm
            assert cutter.kind != "end mill" or set_by_hand.feed >= least - 1


def test_a_rubbing_cutter_is_slowed_and_then_refused() -> None:
    """Where the machine feeds too slowly for the chip floor the spindle is slowed first; below its minimum: refused."""
    router, steel = MACHINES["small router"], MATERIALS["mild steel"]
    mill = CUTTERS[112]
    slow = replace(router, max_xy=90.0)
    data = speeds.milling(mill, steel, slow)
    assert isinstance(data, CuttingData)
    assert data.rpm < speeds.milling(mill, steel, router).rpm
    assert data.feed / (data.rpm * mill.flutes) >= steel.chip_floor
    refusal = speeds.milling(mill, steel, replace(router, max_xy=60.0))
    assert isinstance(refusal, Refusal)
    assert "rub" in refusal.reason


def test_depth_per_pass_follows_stiffness_and_then_power() -> None:
    """The table's depth times the stiffness, and less where a weak spindle could not turn a full slot."""
    router, steel = MACHINES["small router"], MATERIALS["mild steel"]
    mill = CUTTERS[112]
    data = speeds.milling(mill, steel, router)
    assert data.stepdown == pytest.approx(steel.stepdown * mill.diameter * router.stiffness)
    weak = speeds.milling(mill, steel, replace(router, power=2.0))
    removed = mill.diameter * weak.stepdown * weak.feed / 60
    assert steel.cutting_force * removed / 1000 == pytest.approx(0.7 * 2.0)
    assert "2 W" in weak.reasons[2]


def test_deep_holes_turn_more_slowly() -> None:
    """Beyond three diameters the drill loses 10 % of its speed (metal drilling reference guide, depth 3D)."""
    board, mill = MATERIALS["plywood"], MACHINES["bench mill"]
    drill = replace(CUTTERS[630], diameter=12.0)
    shallow = speeds.drilling(drill, 12.0, board, mill, 12.0)
    deep = speeds.drilling(drill, 12.0, board, mill, 40.0)
    assert deep.rpm == pytest.approx(0.9 * shallow.rpm, abs=2)

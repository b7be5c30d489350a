"""Speed, feed, plunge and depth per pass of a cutter in a material on a machine, with reasons; or a refusal."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from toolpaths.plan import practice
from toolpaths.tables import formulas
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.units import metric


@dataclass(frozen=True, slots=True)
class CuttingData:
    """rev/min, mm/min, mm (``stepdown`` 0: in one), with sentences for the setup sheet. ``chip`` mm/tooth or mm/rev."""

    rpm: float
    feed: float
    plunge: float
    stepdown: float
    chip: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a cutter is not run; a sentence with the number that would cure it."""

    reason: str


def spindle_speed(speed: float, diameter: float, machine: Machine) -> tuple[float, str] | Refusal:
    """rev/min for ``speed`` (m/min) at ``diameter`` (mm): lowered to the spindle's maximum, refused below its minimum.

    As ``settable``, so that the printed S never exceeds the table.
    """
    wanted = formulas.rpm(speed, diameter)
    if wanted < machine.min_rpm:
        largest = 1000 * speed / (math.pi * machine.min_rpm)
        return Refusal(
            f"at {speed:.0f} m/min a diameter of {metric(diameter)} mm wants {wanted:.0f} rev/min and this spindle "
            f"turns no slower than {machine.min_rpm:.0f}: the largest that would do is {metric(largest)} mm"
        )
    if wanted > machine.max_rpm:
        return settable(machine.max_rpm, machine), (
            f"{speed:.0f} m/min would be {wanted:.0f} rev/min; lowered to the spindle's {machine.max_rpm:.0f}"
        )
    return settable(wanted, machine), f"{speed:.0f} m/min by table at {metric(diameter)} mm"


def settable(rpm: float, machine: Machine) -> float:
    """The speed, rounded down, that the program or the operator sets: whole, or on a dial two figures.

    >>> from dataclasses import replace
    >>> from toolpaths.tables.load import machines
    >>> router = machines()["small router"]
    >>> settable(15279.9, router), settable(15279.9, replace(router, speed_control=False))
    (15279, 15000)
    """
    whole = math.floor(rpm)
    if machine.speed_control or whole < 100:
        return whole
    step = int(10 ** (len(str(whole)) - 2))
    return max(whole // step * step, math.ceil(machine.min_rpm))


def milling(cutter: Cutter, material: Material, machine: Machine) -> CuttingData | Refusal:
    """Cutting data of an end mill in a full slot (common practice; figures from the tables)."""
    speed = material.speed(cutter.kind, cutter.material)
    if speed is None or material.family not in cutter.serves:
        return Refusal(f"T{cutter.number} has no cutting speed in {material.name}")
    turned = spindle_speed(speed, cutter.diameter, machine)
    if isinstance(turned, Refusal):
        return Refusal(f"T{cutter.number}: {turned.reason}")
    rpm, why_speed = turned
    fed = _milling_feed(rpm, cutter, material, machine)
    if isinstance(fed, Refusal):
        return fed
    rpm, feed, why_feed = fed
    stepdown, why_step = _stepdown(cutter, material, machine, feed)
    plunge = min(material.plunge * feed, machine.max_z)
    chip = feed / (rpm * cutter.flutes)
    return CuttingData(rpm, feed, plunge, stepdown, chip, (why_speed, why_feed, why_step))


def engraving(cutter: Cutter, width: float, material: Material, machine: Machine) -> CuttingData | Refusal:
    """Cutting data of an engraver whose line is ``width`` mm wide at the sheet's top: there its edge is fastest.

    Feed per tooth is that of an end mill as wide as the line, depth per pass that of one as thick as the engraver's
    shank, but never deeper than its tip bears (common practice).
    """
    speed = material.speed(cutter.kind, cutter.material)
    if speed is None or material.family not in cutter.serves:
        return Refusal(f"T{cutter.number} has no cutting speed in {material.name}")
    turned = spindle_speed(speed, width, machine)
    if isinstance(turned, Refusal):
        return Refusal(f"T{cutter.number}: {turned.reason}")
    rpm, why_speed = turned
    fed = _milling_feed(rpm, replace(cutter, diameter=width), material, machine)
    if isinstance(fed, Refusal):
        return fed
    rpm, feed, why_feed = fed
    most = practice.ENGRAVED_AT_ONCE[material.family]
    step = min(material.stepdown * cutter.diameter * machine.stiffness, most)
    plunge = max(math.floor(min(material.plunge * feed, machine.max_z)), 1)
    return CuttingData(rpm, feed, plunge, step, feed / (rpm * cutter.flutes), (why_speed, why_feed))


def _milling_feed(
    rpm: float, cutter: Cutter, material: Material, machine: Machine
) -> tuple[float, float, str] | Refusal:
    low, high = material.chip_load(cutter.diameter)
    # A machine that flexes is fed at the light end of the table; a stiff one in the middle.
    chip = max((low + high) / 2 if machine.stiffness >= 1 else low, material.chip_floor)
    feed = formulas.feed(chip, cutter.flutes, rpm)
    if feed <= machine.max_xy:
        return rpm, math.floor(feed), f"{chip:.3f} mm per tooth by table"
    least = material.chip_floor * cutter.flutes
    if machine.max_xy >= least * rpm:
        chip = machine.max_xy / (cutter.flutes * rpm)
        return rpm, machine.max_xy, f"{chip:.3f} mm per tooth: the machine feeds at most {machine.max_xy:.0f} mm/min"
    most = machine.max_xy / least
    slower = settable(most, machine)
    if math.floor(most) < machine.min_rpm:
        return Refusal(
            f"T{cutter.number} would rub: at {machine.max_xy:.0f} mm/min a tooth takes less than "
            f"{material.chip_floor} mm even at the slowest {machine.min_rpm:.0f} rev/min"
        )
    return (
        slower,
        machine.max_xy,
        (
            f"slowed to {slower} rev/min so that each tooth takes its {material.chip_floor} mm at "
            f"{machine.max_xy:.0f} mm/min: a cutter that rubs burns"
        ),
    )


def _stepdown(cutter: Cutter, material: Material, machine: Machine, feed: float) -> tuple[float, str]:
    by_table = material.stepdown * cutter.diameter * machine.stiffness
    # P = kc * Q: N/mm² times mm³/s is mW; a slot takes the whole diameter (plane definition of removal rate).
    by_power = practice.POWER_SHARE * machine.power * 1000 / (material.cutting_force * cutter.diameter * feed / 60)
    step = min(by_table, by_power, cutter.flute_length)
    if step == by_power:
        return step, f"{metric(step)} mm per pass: the spindle's {machine.power:.0f} W set the limit"
    if step == cutter.flute_length:
        return step, f"{metric(step)} mm per pass: its flutes are no longer"
    return step, (
        f"{metric(step)} mm per pass: {material.stepdown:g} of the diameter in {material.name}, "
        f"times {machine.stiffness:g} for this machine's stiffness"
    )


def drilling(
    cutter: Cutter, diameter: float, material: Material, machine: Machine, depth: float = 0.0
) -> CuttingData | Refusal:
    """Cutting data of a drill or spot drill that cuts ``diameter`` mm wide (a spot cuts less than its cutter's own).

    ``depth`` mm of the hole: beyond three diameters the speed falls (metal drilling reference guide: 10, 20, 30, 35 %
    from 3, 4, 5, 6 diameters on).
    """
    speed = material.speed(cutter.kind, cutter.material)
    if speed is None or material.family not in cutter.serves:
        return Refusal(f"T{cutter.number} has no cutting speed in {material.name}")
    deep = depth / diameter
    speed *= next((share for beyond, share in ((6, 0.65), (5, 0.7), (4, 0.8), (3, 0.9)) if deep > beyond), 1.0)
    turned = spindle_speed(speed, diameter, machine)
    if isinstance(turned, Refusal):
        return Refusal(f"T{cutter.number}: {turned.reason}")
    rpm, why_speed = turned
    low, high = material.drill_feed(diameter)
    per_rev = low if machine.stiffness < 1 else (low + high) / 2
    feed = per_rev * rpm
    if feed > machine.max_z:
        per_rev = machine.max_z / rpm
        feed = machine.max_z
    # P = torque times angular speed; for a drill Q = pi d²/4 * feed (plane definition of removal rate).
    allowed = practice.POWER_SHARE * machine.power * 1000 / (material.cutting_force * math.pi * diameter**2 / 4 / 60)
    why_power = "" if feed <= allowed else f"; held back to the spindle's {machine.power:.0f} W"
    feed = max(math.floor(min(feed, allowed)), 1)
    return CuttingData(rpm, feed, feed, 0.0, feed / rpm, (why_speed, f"{feed / rpm:.3f} mm per turn{why_power}"))

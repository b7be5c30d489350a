"""Drills and gauges against a table that others keep: Debian's ``units``; where it is missing, against formulas."""

import dataclasses
import shutil
import subprocess

import pytest

from toolpaths.tables import load

STEEL, ALUMINIUM = load.materials()["mild steel"], load.materials()["aluminium"]
GALVANISED = dataclasses.replace(STEEL, gauge="galvanised sheet")
OUNCES = dict(
    zip(range(10, 29), (90, 80, 70, 60, 50, 45, 40, 36, 32, 28, 24, 22, 20, 18, 16, 14, 12, 11, 10), strict=True)
)
"""Ounces per square foot of the United States standard gauge of 1893, which the Manufacturers' Standard keeps."""

TO_A_TENTH_OF_A_MIL = 0.000051 * 25.4


def by_units(expressions: list[str]) -> list[float] | None:
    """The expressions in mm as ``units`` has them, or None where it is not installed (or too old to know them)."""
    program = shutil.which("units")
    if program is None:
        return None
    asked = "".join(f"{expression}\nmm\n" for expression in expressions)
    done = subprocess.run([program, "-q", "-t"], input=asked, capture_output=True, text=True, timeout=30, check=False)
    lines = done.stdout.split()
    assert len(lines) == len(expressions), done.stdout[:500] + done.stderr[:500]
    return [float(line) for line in lines]


def test_number_and_letter_drills_agree_with_units() -> None:
    """``drillgauge(n)`` and ``drillA`` of units; without it: inches of four decimals, in order."""
    names = [f"#{number}" for number in range(80, 0, -1)] + [f"letter {chr(code)}" for code in range(65, 91)]
    ours = [load.drill_size(name) for name in names]
    theirs = by_units([f"drillgauge({name[1:]})" if name[0] == "#" else f"drill{name[-1]}" for name in names])
    if theirs is None:
        theirs = [round(size / 25.4, 4) * 25.4 for size in ours]
        assert ours == sorted(set(ours)) and (ours[0], ours[-1]) == pytest.approx((0.3429, 10.4902))
    assert ours == pytest.approx(theirs, abs=1e-3 * 0.0254)


def test_steel_gauges_agree_with_units() -> None:
    """``stdgauge(n)`` of units, and in any case weight over 501.84 lb/ft3: to the tenth of a mil that the table has."""
    ours = [load.gauge(number, STEEL) for number in OUNCES]
    by_weight = [ounces / 16 / 501.84 * 12 * 25.4 for ounces in OUNCES.values()]
    theirs = by_units([f"stdgauge({number})" for number in OUNCES])
    assert ours == pytest.approx(by_weight, abs=TO_A_TENTH_OF_A_MIL)
    assert theirs is None or ours == pytest.approx(theirs, abs=TO_A_TENTH_OF_A_MIL)


def test_aluminium_gauges_agree_with_units() -> None:
    """``wiregauge(n)`` of units, and in any case 0.005 x 92^((36-n)/39) in."""
    ours = [load.gauge(number, ALUMINIUM) for number in OUNCES]
    theirs = by_units([f"wiregauge({number})" for number in OUNCES])
    assert ours == pytest.approx([0.005 * 92 ** ((36 - n) / 39) * 25.4 for n in OUNCES], abs=TO_A_TENTH_OF_A_MIL)
    assert theirs is None or ours == pytest.approx(theirs, abs=TO_A_TENTH_OF_A_MIL)


def test_galvanised_gauges_are_steel_with_its_zinc() -> None:
    """The galvanised gauge counts 2.5 ounces of zinc per square foot on top of the steel, at the steel's density."""
    ours = [load.gauge(number, GALVANISED) for number in OUNCES]
    by_weight = [(ounces + 2.5) / 16 / 501.84 * 12 * 25.4 for ounces in OUNCES.values()]
    assert ours == pytest.approx(by_weight, abs=TO_A_TENTH_OF_A_MIL)


@pytest.mark.parametrize(
    ("material", "asked"), [(STEEL, "stdgauge"), (ALUMINIUM, "wiregauge")], ids=["steel", "aluminium"]
)
def test_a_thickness_is_named_by_its_own_gauge(material, asked) -> None:
    """What units gives for a gauge is called by that gauge's number, bare; 0.02 mm off it is only near one."""
    theirs = by_units([f"{asked}({number})" for number in OUNCES])
    if theirs is None:
        theirs = [load.gauge(number, material) for number in OUNCES]
    for number, thickness in zip(OUNCES, theirs, strict=True):
        assert load.gauge_beside(thickness, material) == f"{number} ga"
    assert load.gauge_beside(theirs[8] + 0.02, material) == "near 18 ga"
    assert load.gauge_beside(theirs[0] * 1.5, material) == "" == load.gauge_beside(theirs[-1] / 2, material)


def test_a_gauge_number_is_that_of_the_materials_own_table() -> None:
    """1.29 mm is 16 gauge of aluminium and between 17 and 18 of steel; board has no gauge at all."""
    assert load.gauge_beside(0.0508 * 25.4, ALUMINIUM) == "16 ga"
    assert load.gauge_beside(0.0508 * 25.4, STEEL).startswith("near ")
    assert load.gauge_beside(12.0, load.materials()["plywood"]) == ""

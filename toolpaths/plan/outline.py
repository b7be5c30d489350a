"""The ways to cut a panel out of its stock: which end mills may go round it, and the margin that each of them needs."""

from __future__ import annotations

import math

from toolpaths.finding import Finding
from toolpaths.geometry.contour import Contour
from toolpaths.layout.panel import Opening
from toolpaths.plan import practice, speeds
from toolpaths.plan.methods import Shop, Way, Ways, cutter_reaches, tabs_of
from toolpaths.plan.speeds import CuttingData, Refusal
from toolpaths.tables.rows import Cutter
from toolpaths.tolerance import SAME_POINT
from toolpaths.units import metric


def margin_needed(cutter: Cutter, shop: Shop) -> float:
    """The least margin round the outline, mm: the kerf with what roughing leaves, and a frame that still carries."""
    return cutter.diameter + shop.allowance + shop.panel.least_frame


def ways_to_cut_out(edge: Opening, shape: Contour, shop: Shop) -> Ways:
    """End mills that cut round the outline ``shape`` (program coordinates), with the tabs that hold the panel."""
    ways: list[Way] = []
    refused: list[str] = []
    for cutter, data in _able(shop, refused):
        if margin_needed(cutter, shop) > shop.panel.margin + SAME_POINT:
            refused.append(f"T{cutter.number}: the stock's margin of {metric(shop.panel.margin)} mm is too narrow")
            continue
        tabs = tabs_of(edge, shape, cutter, shop)
        if isinstance(tabs, str):
            refused.append(tabs)
            continue
        held = "nothing holds the panel" if tabs is None else (
            f"{tabs.count} tabs {metric(tabs.width)} mm wide and {metric(tabs.height)} mm high hold the panel in "
            "its frame: saw them, do not break them"
        )
        why = f"cut round the outside with a {cutter.name}, after everything else; {held}"
        ways.append(Way("contour", cutter, data, (why, *data.reasons), tabs=tabs))
    return Ways(tuple(ways), tuple(refused))


def too_narrow(edge: Opening, shop: Shop) -> Finding | None:
    """What to say where only the margin keeps every cutter out: the least margin that would do."""
    able = [cutter for cutter, _ in _able(shop, [])]
    if not able or any(margin_needed(cutter, shop) <= shop.panel.margin + SAME_POINT for cutter in able):
        return None
    thinnest = min(able, key=lambda cutter: (cutter.diameter, cutter.number))
    least = math.ceil(10 * margin_needed(thinnest, shop) - 1e-6) / 10
    said = (
        f"the stock reaches {metric(shop.panel.margin)} mm beyond the outline; the kerf of T{thinnest.number} "
        f"({metric(thinnest.diameter)} mm) and a frame of {metric(shop.panel.least_frame)} mm need "
        f"stock_margin = \"{least:g} mm\" or more"
    )
    return Finding("error", "narrow-margin", shop.panel.name, edge.feature, said)


def _able(shop: Shop, refused: list[str]) -> list[tuple[Cutter, CuttingData]]:
    """The end mills that cut this sheet through on this machine; why others do not is added to ``refused``.

    Fragile ones stay out: a margin may be widened, so nothing asks for them.
    """
    found: list[tuple[Cutter, CuttingData]] = []
    for cutter in shop.cutters:
        if cutter.kind != "end mill" or shop.material.family not in cutter.serves:
            continue
        fragile = cutter.diameter < practice.FRAGILE_UNDER
        reason = cutter_reaches(cutter, shop.mill_depth, shop)
        if fragile and reason is None:
            reason = f"T{cutter.number}: under {practice.FRAGILE_UNDER:g} mm it snaps on so long a way"
        data = speeds.milling(cutter, shop.material, shop.machine)
        if reason:
            refused.append(reason)
        elif isinstance(data, Refusal):
            refused.append(data.reason)
        else:
            found.append((cutter, data))
    return found

"""The cutters that a tool changer holds, and what to put into a slot where none of them serves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from toolpaths.finding import Finding
from toolpaths.plan.choice import Chosen, choose
from toolpaths.plan.methods import Shop
from toolpaths.tables.rows import Cutter, Machine

CURABLE = ("no-cutter", "no-tabs", "no-countersink")
"""Codes of findings that another cutter could cure."""


def at_hand(cutters: dict[int, Cutter], machine: Machine) -> tuple[Cutter, ...]:
    """The cutters that a program may call, by number: those in slots where the machine has a slot table, else all."""
    held = {number for _, number in machine.program.slots}
    return tuple(cutters[number] for number in sorted(cutters) if not held or number in held)


def with_cures(findings: Iterable[Finding], shop: Shop, cutters: dict[int, Cutter]) -> list[Finding]:
    """The findings; where a cutter outside the slots would serve, they say which, and what the slots hold now."""
    listed = list(findings)
    slots = shop.machine.program.slots
    if not slots or not any(finding.code in CURABLE for finding in listed):
        return listed
    everything = tuple(cutters[number] for number in sorted(cutters))
    chosen, still = choose(replace(shop, cutters=everything))
    hopeless = {finding.feature for finding in still if finding.code in CURABLE}
    would_do = {choice.opening.feature: choice for choice in chosen if choice.opening.feature not in hopeless}
    held = ", ".join(f"{slot}: {_named(cutters[number])}" for slot, number in slots if number in cutters)
    cured: list[Finding] = []
    for finding in listed:
        choice = would_do.get(finding.feature) if finding.code in CURABLE else None
        names = _wanted(finding, choice, slots) if choice else ""
        cure = f"; {names} would do: give it a slot in the machine file; the slots hold {held}" if names else ""
        cured.append(replace(finding, message=f"{finding.message}{cure}"))
    return cured


def _wanted(finding: Finding, choice: Chosen, slots: tuple[tuple[int, int], ...]) -> str:
    """The cutters outside the slots that what the finding is about would take; empty where none would help."""
    held = {number for _, number in slots}
    if finding.code == "no-countersink":
        cutters = [choice.sink.cutter] if choice.sink is not None else []
    else:
        helpers = [pair[0] for pair in (choice.way.spot, choice.way.pilot) if pair is not None]
        cutters = [*helpers, choice.way.cutter]
    return " and ".join(_named(cutter) for cutter in dict.fromkeys(cutters) if cutter.number not in held)


def _named(cutter: Cutter) -> str:
    return f"{cutter.number} ({cutter.name})"

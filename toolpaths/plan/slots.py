"""The cutters that a tool changer holds, and what to put into a slot where none of them serves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from toolpaths.finding import Finding
from toolpaths.plan.choice import Chosen, choose
from toolpaths.plan.methods import Shop
from toolpaths.tables.rows import Cutter, Machine

CURABLE = ("no-cutter", "no-tabs")
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
    chosen, _ = choose(replace(shop, cutters=everything))
    would_do = {choice.opening.feature: choice for choice in chosen}
    held = ", ".join(f"{slot}: {_named(cutters[number])}" for slot, number in slots if number in cutters)
    return [
        replace(finding, message=f"{finding.message}; {_cure(would_do[finding.feature], slots)}; the slots hold {held}")
        if finding.code in CURABLE and finding.feature in would_do
        else finding
        for finding in listed
    ]


def _cure(choice: Chosen, slots: tuple[tuple[int, int], ...]) -> str:
    held = {number for _, number in slots}
    helpers = [pair[0] for pair in (choice.way.spot, choice.way.pilot) if pair is not None]
    wanted = [cutter for cutter in (*helpers, choice.way.cutter) if cutter.number not in held]
    names = " and ".join(_named(cutter) for cutter in dict.fromkeys(wanted))
    return f"{names} would do: give it a slot in the machine file"


def _named(cutter: Cutter) -> str:
    return f"{cutter.number} ({cutter.name})"

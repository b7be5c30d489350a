"""Findings told once: what holds for all holes of a ring or grid is one paragraph, not one for each hole."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from toolpaths.finding import Finding

_TAG = re.compile(r"^([A-Z]+[0-9]+)(?=[ :])")
"""The tag of an opening at the beginning of a message."""


def told_once(findings: Iterable[Finding]) -> list[Finding]:
    """Findings that differ in nothing but the tag of their opening as one, which says how many more there are."""
    tags: dict[Finding, list[str]] = {}
    for finding in findings:
        tag = _TAG.match(finding.message)
        alike = replace(finding, message=_TAG.sub("", finding.message)) if tag else finding
        tags.setdefault(alike, []).extend([tag[1]] if tag else [])
    return [replace(finding, message=f"{_all(own)}{finding.message}") for finding, own in tags.items()]


def _all(tags: list[str]) -> str:
    return f"{tags[0]} and {len(tags) - 1} more like it" if len(tags) > 1 else "".join(tags)

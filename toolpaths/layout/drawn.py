"""What is to be told of the drawings that a panel reads: what of them was left out, followed by arcs, or mended."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.finding import Finding, Severity
from toolpaths.job import DrawnShapes, Panel


def drawing_findings(panel: Panel) -> Iterator[Finding]:
    """Repairs as warnings, since somebody must look at them; the rest as notes."""
    for feature in panel.features:
        if isinstance(feature, DrawnShapes):
            for note in feature.notes:
                name = f"drawing[{feature.number}]"
                severity: Severity = "warning" if note.code == "drawing-repaired" else "note"
                yield Finding(severity, note.code, panel.name, name, f"{feature.file}: {note.text}")

"""A drawing read from end to end: opened, scaled, walked, joined; with every fault by its place, or none at all."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from toolpaths.drawing_file.contents import Contents, Faults, Note, Wanted, brief
from toolpaths.drawing_file.entities import Walk, shown_name
from toolpaths.drawing_file.file import MILLIMETRES, Opened, opened
from toolpaths.drawing_file.shapes import closed_shapes, islands
from toolpaths.tables.toml_file import nearest
from toolpaths.tolerance import DRAWN_CURVE
from toolpaths.units import INCH, plain

INCHES: Final = (INCH, 12 * INCH, 36 * INCH, INCH / 1000, INCH / 1e6)
"""Mm in the units of those who measure in inches."""

NEEDED: Final = "draw circles, arcs, lines, polylines, ellipses or splines in model space"

MOST_LEFT: Final = 20
"""Types and layers that are listed as left out one by one."""

MOST_NAMED: Final = 6
"""Layers that are named in one sentence."""

MOST_LETTERS: Final = 240
"""Of what was left out, in a sentence about something else."""


def read_drawing(path: Path, name: str, wanted: Wanted) -> Contents:
    """Everything of a drawing that is asked for; ``name`` is what messages call the file.

    Raises BadInput with every fault that was found: what is no DXF, has no units, or holds nothing; what is open,
    doubled, forked, crosses itself, or is no number.
    """
    state = path.stat()
    return _read(path, name, wanted, state.st_mtime_ns, state.st_size)


def closed_contours(path: Path, name: str, wanted: Wanted) -> Contents:
    """A drawing as openings of one panel: as ``read_drawing``, and no contour may lie within another."""
    contents = read_drawing(path, name, wanted)
    faults = Faults(name, wanted.recover)
    islands(contents.shapes, faults)
    faults.raise_all()
    return contents


@lru_cache(maxsize=8)
def _read(path: Path, name: str, wanted: Wanted, _changed: int, _size: int) -> Contents:
    """Kept while the file stays as it is: every size of a job reads it, and several features may."""
    faults = Faults(name, wanted.recover)
    document = opened(path, faults)
    scale, notes = _scale(document, wanted, faults)
    walk = Walk(document.document, scale, wanted, faults)
    walk.all()
    shapes = closed_shapes(walk.runs, wanted.gap, scale, faults)
    if not faults.count:
        _check_layers(walk, wanted, faults, bool(shapes or walk.points))
    faults.raise_all()
    notes += [Note("drawing-left-out", text) for text in _left_out(walk)]
    notes += [Note("drawing-curves", text) for text in _followed(walk)]
    notes += [Note("drawing-repaired", text) for text in faults.repairs]
    return Contents(tuple(shapes), tuple(walk.points), tuple(notes), "in" if scale in INCHES else "mm")


def _scale(document: Opened, wanted: Wanted, faults: Faults) -> tuple[float, list[Note]]:
    """Mm in a unit of the drawing: the job's word, else the file's own; and a note where those differ."""
    stated = None if document.stated is None else MILLIMETRES.get(document.stated)
    if wanted.units is not None:
        scale = INCH if wanted.units == "in" else 1.0
        if stated is not None and stated != scale:
            said = f"it states that a unit is {plain(stated)} mm, and is read as {wanted.units} as the job says"
            return scale, [Note("drawing-units", said)]
        return scale, []
    if stated is None:
        said = f"states units that are not known here ({document.stated})" if document.stated else "states no units"
        faults.add(None, said, "say what a unit of it is with units = 'mm' or units = 'in'")
        faults.raise_all()
    return stated or 1.0, []


def _check_layers(walk: Walk, wanted: Wanted, faults: Faults, anything: bool) -> None:
    """Layers that are asked for are there, and something was read."""
    names = [shown_name(entry.dxf.name) for entry in walk.document.layers]
    known = {name.lower(): name for name in names} | walk.met
    for layer in wanted.layers:
        if layer.lower() not in known:
            remark = nearest(layer, known.values()) if len(known) <= 60 else "look at its list of layers"
            faults.add(None, f"has no layer '{brief(layer)}'", remark)
        elif layer.lower() not in walk.met:
            faults.add(None, f"has nothing on layer '{brief(layer)}'", f"there is something on {_listed(walk)}")
    if not anything and not faults.count:
        left = "; ".join(_left_out(walk))
        left = left if len(left) <= MOST_LETTERS else f"{left[:MOST_LETTERS]}..."
        faults.add(None, "holds nothing that could be cut" + (f": {left}" if left else ""), NEEDED)


def _listed(walk: Walk) -> str:
    names = sorted(walk.met.values())
    return ", ".join(f"'{brief(name)}'" for name in names[:MOST_NAMED]) or "no layer"


def _left_out(walk: Walk) -> list[str]:
    """What is no geometry to cut, by type and layer; what is hidden; what lies on sheets of paper."""
    counted = sorted(walk.left.items())
    notes = [
        f"{count} {brief(kind)} on layer '{brief(layer)}' left out" for (kind, layer), count in counted[:MOST_LEFT]
    ]
    if len(counted) > MOST_LEFT:
        notes.append(f"{sum(count for _, count in counted[MOST_LEFT:])} more on other layers left out")
    notes += [
        f"{count} on layer '{brief(layer)}', which is off, frozen or hidden, left out: "
        "name it with layer to have it read"
        for layer, count in sorted(walk.unseen.items())[:MOST_LEFT]
    ]
    for layout in walk.document.layouts:
        count = 0 if layout.is_modelspace else sum(entity.dxftype() != "VIEWPORT" for entity in layout)
        if count:
            notes.append(f"{count} on the sheet of paper '{brief(layout.name)}' left out: only model space is read")
    return notes


def _followed(walk: Walk) -> list[str]:
    return [
        f"{count} {kind} followed by arcs, none further off than {plain(DRAWN_CURVE, 4)} mm"
        for kind, count in sorted(walk.followed.items())
    ]

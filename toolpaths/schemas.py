"""JSON Schemas of the files that a user writes, for editors that complete and check TOML by one.

They are those of the models that read the files, so they know the same keys. What a schema cannot say (expressions, one
value that depends on another) stays with ``holewright check``. Machines and the rows of cutters, materials, parts
and hand tools are laid over ours key by key, so their schemas ask only for what names them.
"""

from __future__ import annotations

import json
from typing import Any, Final

from pydantic import BaseModel

from toolpaths.job.parts import HOLES, PartsFile
from toolpaths.job.schema import JobTable
from toolpaths.tables.files import CuttersFile, MachineFile, MaterialsFile
from toolpaths.tables.hand_tools import HandToolsFile

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_FILES: Final[dict[str, type[BaseModel]]] = {
    "job": JobTable,
    "machine": MachineFile,
    "cutters": CuttersFile,
    "materials": MaterialsFile,
    "parts": PartsFile,
    "hand-tools": HandToolsFile,
}
_NAMED_BY: Final = {
    "cutters": ("CutterRow", "number"), "materials": ("MaterialRow", "name"), "parts": ("PartRow", "name"),
    "hand-tools": ("HandToolRow", "name"),
}  # fmt: skip
"""The model of each file's rows, and the one key that a row laid over ours must have."""

NAMES: Final = tuple(_FILES)
"""The files that have a schema."""

NOTE: Final = (
    "Text where a number may stand is a length with its unit ('12.5 mm', '3/8 in', '9 1/4 in'), a drill size ('#7', "
    "'letter F'), for a thickness a gauge ('18 ga'), or an expression over the job's parameters and, in a panel, "
    "width, height and thickness, with + - * / min() max() and brackets. This schema takes any text there; "
    "holewright check reads it."
)


def schema(name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of one of ``NAMES``.

    >>> schema("job")["required"], schema("cutters")["$defs"]["CutterRow"]["required"]
    (['format', 'units', 'panel'], ['number'])
    """
    found = _without_null(_FILES[name].model_json_schema(mode="validation"))
    if name == "machine":
        for table in found["$defs"].values():
            table.pop("required", None)
        found["required"] = ["format", "name"]
    elif name in _NAMED_BY:
        row, key = _NAMED_BY[name]
        found["$defs"][row]["required"] = [key]
        for kind in HOLES.values() if name == "parts" else ():
            table = found["$defs"][kind.__name__]
            table["required"] = [key for key in table.get("required", ()) if key != "at"]
    note = f"\n\n{NOTE}" if name in ("job", "parts") else ""
    about = f"{found.get('description', '')}{note}"
    return {"$schema": DIALECT, **found, "title": f"holewright {name} file, format 1", "description": about}


def text(name: str) -> str:
    """The schema as a file: two spaces of indent, a line end at its end."""
    return json.dumps(schema(name), indent=2, ensure_ascii=False) + "\n"


def _without_null(part: Any) -> Any:
    """TOML has no null: a key that may be left out is left out."""
    if isinstance(part, list):
        return [_without_null(item) for item in part if item != {"type": "null"}]
    if not isinstance(part, dict):
        return part
    kept = {key: _without_null(value) for key, value in part.items() if not (key == "default" and value is None)}
    if len(kept.get("anyOf", ())) == 1:
        (only,) = kept.pop("anyOf")
        return {**only, **kept}
    return kept

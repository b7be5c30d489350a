"""Drawings written by the general library's own functions, and what our reader makes of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from toolpaths.drawing_file.contents import Contents, Wanted
from toolpaths.drawing_file.read import read_drawing

Read = Callable[..., Contents]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Saves a document, or takes bytes, and reads that as a drawing in mm unless told otherwise."""

    def reading(document: Any, fmt: str = "asc", units: str | None = "mm", **wanted: Any) -> Contents:
        path = tmp_path / "trial.dxf"
        if isinstance(document, bytes):
            path.write_bytes(document)
        else:
            document.saveas(path, fmt=fmt)
        return read_drawing(path, path.name, Wanted(units=units, **wanted))  # type: ignore[arg-type]

    return reading


@pytest.fixture
def sheet() -> tuple[Any, Any]:
    """A new document in mm, and its model space."""
    document = ezdxf.new("R2010", units=4)
    return document, document.modelspace()

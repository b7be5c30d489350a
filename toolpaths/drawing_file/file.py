"""A DXF file opened: strictly, or with repairs that are all listed; and the units that its own text states.

The library fills in units where a file states none, so they are looked for in the raw text. What it logs on the way is
taken as what it had to put up with: an error in strict reading, a repair otherwise.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from toolpaths.drawing_file.contents import Faults

LARGEST: Final = 30_000_000
"""Bytes; some 200,000 entities, which take half a minute to read."""

MOST_RECORDS: Final = 120_000
"""Entities and old polylines' vertices; counted in the text, since the library takes seconds for so many."""

MILLIMETRES: Final[dict[int, float]] = {
    1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0,
}  # fmt: skip
"""Of one unit of a drawing, by its number (DXF reference, $INSUNITS); others are no lengths of a workshop."""

_UNITS = re.compile(rb"(?:^|\n)[ \t]*9[ \t]*\r?\n[ \t]*\$INSUNITS[ \t]*\r?\n[ \t]*70[ \t]*\r?\n[ \t]*(-?[0-9]{1,9})\b")
_RECORD = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*[A-Z]")
_END = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n[ \t]*EOF[ \t\r\n]*")

STRICT: Final = "read it with --recover, which lists every repair, or write it again from where it was drawn"


@dataclass(frozen=True, slots=True)
class Opened:
    """The library's document, and the number of its units as the text states it; None where it states none."""

    document: Any
    stated: int | None


def opened(path: Path, faults: Faults) -> Opened:
    """The file as a document. Repairs are noted in ``faults``; BadInput where it cannot be read."""
    raw = _bytes(path, faults)
    log: list[str] = []
    try:
        with _heard(log):
            document = _strictly(path)
        if not log:
            return Opened(document, _stated(raw, document))
        reason = f"{log[0]}" + (f" (and {len(log) - 1} more like this)" if len(log) > 1 else "")
    except Exception as error:  # a broken file makes the library raise anything
        document, reason = None, _said(error)
    if not faults.recover:
        faults.add(None, f"is no sound DXF file: {reason}", STRICT)
        faults.raise_all()
    return Opened(_mended(path, raw, document, log, reason, faults), _stated(raw, document))


def _bytes(path: Path, faults: Faults) -> bytes:
    raw = b""
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST + 1)
    except OSError as error:
        faults.add(None, f"cannot be read: {error.strerror}", "a readable file")
    else:
        if not raw.strip():
            faults.add(None, "is empty", "write it again from where it was drawn")
        elif len(raw) > LARGEST:
            remedy = "keep to the layers that matter, or divide it"
            faults.add(None, f"is larger than {LARGEST // 1_000_000} MB", remedy)
        elif sum(1 for _ in _RECORD.finditer(raw)) > MOST_RECORDS:
            faults.add(None, f"has more than {MOST_RECORDS} entities and vertices", "keep to the layers that matter")
    faults.raise_all()
    return raw


def _strictly(path: Path) -> Any:
    from ezdxf.filemanagement import readfile  # here, since it takes a quarter of a second

    return readfile(path)


def _mended(path: Path, raw: bytes, document: Any, log: list[str], reason: str, faults: Faults) -> Any:
    """The document with the library's repairs; one that could be read as it is has those that were logged."""
    if document is not None:
        faults.repairs += [f"the file: {line}" for line in dict.fromkeys(log)]
        return document
    from ezdxf import recover

    more: list[str] = []
    try:
        with _heard(more):
            document, audit = recover.readfile(path)
    except Exception as error:  # as above
        faults.add(None, f"is no DXF file that can be recovered: {_said(error)}", "write it again")
        faults.raise_all()
    faults.repairs.append(f"the file: it was not sound ({reason}), and what could be read of it was taken")
    said = [*(_line(entry.message) for entry in (*audit.errors, *audit.fixes)), *more]
    faults.repairs += [f"the file: {line}" for line in dict.fromkeys(said)]
    if not _END.search(raw):
        faults.repairs.append("the file: it has no end, so something may be lost that stood there: compare it")
    return document


def _stated(raw: bytes, document: Any) -> int | None:
    """The number of the units that the text states."""
    if found := _UNITS.search(raw):
        return int(found[1])
    # a binary file has the name of the value as it is, and only one that has it is believed
    if b"\x00" in raw[:100] and b"$INSUNITS\x00" in raw and document is not None:
        value = document.header.get("$INSUNITS")
        return value if isinstance(value, int) else None
    return None


def _said(error: Exception) -> str:
    text = _line(re.sub(r"^[A-Za-z]*Error: ", "", str(error))) or type(error).__name__
    return "it does not begin as one" if isinstance(error, OSError) else text


def _line(text: str) -> str:
    shown = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return shown[:160].rstrip(".")


@contextmanager
def _heard(into: list[str]) -> Iterator[None]:
    """What the library logs as a warning or worse goes into the list, and nowhere else."""

    class Ear(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            into.append(_line(record.getMessage()))

    logger, ear = logging.getLogger("ezdxf"), Ear(logging.WARNING)
    before = logger.propagate, logger.level, logger.disabled
    logger.propagate, logger.disabled = False, False
    logger.setLevel(logging.WARNING)
    logger.addHandler(ear)
    try:
        yield
    finally:
        logger.removeHandler(ear)
        logger.propagate, logger.disabled = before[0], before[2]
        logger.setLevel(before[1])

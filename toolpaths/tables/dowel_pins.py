"""The dowel pins that carry a divided panel's position from setup to setup, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from toolpaths.tables.files import Source, Table, Text
from toolpaths.tables.lengths import Length
from toolpaths.tables.toml_file import shipped_toml
from toolpaths.units import parse_length


@dataclass(frozen=True, slots=True)
class DowelPin:
    """A pin of nominal ``diameter`` mm, at most ``under`` mm thinner than that."""

    name: str
    diameter: float
    under: float
    source: str

    @property
    def is_metric(self) -> bool:
        """Whether its size is in millimetres."""
        return self.name.endswith("mm")


class _Row(Table):
    name: Text
    under: Length
    source: Source


class _File(Table):
    format: Literal[1]
    pin: list[_Row]


@cache
def dowel_pins() -> tuple[DowelPin, ...]:
    """Every pin, the thinnest first.

    >>> [pin.name for pin in dowel_pins() if pin.is_metric]
    ['3 mm', '4 mm', '5 mm', '6 mm', '8 mm', '10 mm']
    """
    table = _File.model_validate(shipped_toml("dowel_pins.toml")[0])
    return tuple(DowelPin(row.name, parse_length(row.name), row.under, row.source) for row in table.pin)

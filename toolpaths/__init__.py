"""From a job file to proved programs, also as a library: ``from toolpaths import load, plan, emit, verify, simulate``.

What these five take and give stands in ``toolpaths.library``; the rooms are drawn in DEVELOPERS.md. Nothing is imported
before one of them is asked for. ``plan`` and ``verify`` are also the names of rooms, and a package holds one thing of
each name: so those two modules can be called.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from toolpaths.library import emit, load, plan, simulate, verify

__all__ = ["emit", "load", "plan", "simulate", "verify"]

_ROOMS = ("plan", "verify")
"""Functions of the library that are called as the rooms of their names."""


class _Called(ModuleType):
    """A room that can be called as the function of the library that has its name."""

    def __call__(self, *given: Any, **named: Any) -> Any:
        return _function(self.__name__.rpartition(".")[2])(*given, **named)


class _Package(ModuleType):
    """This package: Python binds a room to it once it is imported, and from then on the room can be called."""

    def __setattr__(self, name: str, value: Any) -> None:
        if name in _ROOMS and isinstance(value, ModuleType):
            value.__class__ = _Called
        super().__setattr__(name, value)


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return import_module(f"{__name__}.{name}") if name in _ROOMS else _function(name)


def _function(name: str) -> Any:
    from toolpaths import library

    return getattr(library, name)


sys.modules[__name__].__class__ = _Package

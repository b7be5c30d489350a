"""Post-processors by name: ours and those that other distributions bring in the group ``holewright.postprocessors``.

``find`` is the strict door: what comes through it has every name and method that the pipeline relies on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from toolpaths.errors import BrokenPost, UnknownName

if TYPE_CHECKING:
    from postprocessors.base import Post

GROUP = "holewright.postprocessors"
"""The entry-point group: ``name = "module:Class"``."""

BUILT_IN = {
    "dxf": "postprocessors.dxf:Dxf",
    "gcode": "postprocessors.gcode:GCode",
    "pen": "postprocessors.pen:PenProgram",
    "plotter": "postprocessors.plotter:Plotter",
    "template": "postprocessors.template:Template",
}
"""Known also where the package runs from a plain checkout, which has no entry points."""


def names() -> list[str]:
    """The names of all post-processors, sorted; nothing is loaded."""
    return sorted(_offered())


def find(name: str) -> Post:
    """The post-processor called ``name``, loaded and checked.

    Raises UnknownName (with the nearest name, or all of them) and BrokenPost (two of one name, or a broken one).
    """
    offered = _offered()
    if name not in offered:
        raise UnknownName(_unknown(name, sorted(offered)))
    values = offered[name]
    if len(values) > 1:
        raise BrokenPost(f"post-processor {name!r} is offered more than once: {', '.join(values)}; keep one of them")
    return checked(_load(name, values[0]), name)


def checked(offer: object, name: str) -> Post:
    """An instance of the class ``offer``, held against the contract in ``postprocessors.base``.

    BrokenPost names the class and the fault.
    """
    from postprocessors.base import API_VERSION, DrawingPost, PenPost, ProgramPost, SheetsPost

    called = getattr(offer, "__qualname__", repr(offer))
    if not (isinstance(offer, type) and issubclass(offer, ProgramPost | DrawingPost | PenPost | SheetsPost)):
        bases = "ProgramPost, DrawingPost, PenPost or SheetsPost"
        raise BrokenPost(f"post-processor {name!r}, {called}: must be a class built on {bases}")
    if offer.api_version != API_VERSION:
        newer = isinstance(offer.api_version, int) and offer.api_version > API_VERSION
        cure = "a newer holewright" if newer else "a newer version of it"
        raise BrokenPost(
            f"post-processor {name!r}, {called}: written for API_VERSION {offer.api_version!r}, and this holewright "
            f"has {API_VERSION}; install {cure}"
        )
    for key in ("name", "suffix", "kind", "summary"):
        value = getattr(offer, key, None)
        if not isinstance(value, str) or not value.strip() or not value.isprintable():
            raise BrokenPost(f"post-processor {name!r}, {called}: {key} must be one line of text, not {value!r}")
    if offer.name != name:
        raise BrokenPost(f"post-processor {name!r}, {called}: its name is {offer.name!r}; it is offered as {name!r}")
    if not offer.suffix.startswith(".") or offer.suffix == "." or set(offer.suffix) & set("/\\"):
        said = f"suffix must be a point and a file ending, not {offer.suffix!r}"
        raise BrokenPost(f"post-processor {name!r}, {called}: {said}")
    if not callable(offer.write) or "write" in getattr(offer, "__abstractmethods__", ()):
        raise BrokenPost(f"post-processor {name!r}, {called}: has no write method of its own")
    try:
        return offer()
    except Exception as error:
        said = f"cannot be made without arguments ({_one_line(error)})"
        raise BrokenPost(f"post-processor {name!r}, {called}: {said}") from error


def text_of(post: Post, write: Callable[[], object], encoding: str) -> str:
    """What a post-processor writes; a fault of one that is not ours is told as its own.

    Raises BrokenPost where it fails, or gives anything else than text that ``encoding`` holds.
    """
    with _told_as_its_own(post):
        text = write()
        if not isinstance(text, str):
            raise TypeError(f"write gives {type(text).__name__}, not text")
        text.encode(encoding)
    return text


def pages_of(post: Post, write: Callable[[], object]) -> bytes:
    """The same of one that writes pages. Raises BrokenPost where it fails, or gives anything else than bytes."""
    with _told_as_its_own(post):
        pages = write()
        if not isinstance(pages, bytes):
            raise TypeError(f"write gives {type(pages).__name__}, not bytes")
    return pages


def is_ours(post: Post) -> bool:
    """Whether a post-processor is a built-in one."""
    return type(post).__module__.partition(".")[0] == __name__


@contextmanager
def _told_as_its_own(post: Post) -> Iterator[None]:
    """Turns what a post-processor of another distribution raises into BrokenPost; ours stay defects of ours."""
    try:
        yield
    except Exception as error:
        if is_ours(post):
            raise
        cause = f"{type(error).__name__}: {_one_line(error)}"
        raise BrokenPost(f"post-processor {post.name!r} failed ({cause}): tell whoever wrote it") from error


def _offered() -> dict[str, list[str]]:
    """Name to the different ``module:Class`` values that are offered under it."""
    from importlib.metadata import entry_points  # here, since --help has no need of it

    offered = {name: [value] for name, value in BUILT_IN.items()}
    for entry in sorted(entry_points(group=GROUP), key=lambda entry: (entry.name, entry.value)):
        values = offered.setdefault(entry.name, [])
        if entry.value not in values:  # an installed copy and a checkout side by side offer the same class twice
            values.append(entry.value)
    return offered


def _load(name: str, value: str) -> object:
    from importlib.metadata import EntryPoint

    try:
        return EntryPoint(name=name, value=value, group=GROUP).load()
    except (Exception, SystemExit) as error:  # whatever a stranger's module does while it is read
        if value in BUILT_IN.values():
            raise
        cause = f"{type(error).__name__}: {_one_line(error)}"
        raise BrokenPost(f"post-processor {name!r}: {value} cannot be loaded ({cause})") from error


def _one_line(error: BaseException) -> str:
    return " ".join(str(error).split())


def _unknown(name: str, known: list[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, known, n=1)
    remedy = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(known)}"
    return f"no post-processor is called {name!r}; {remedy}"

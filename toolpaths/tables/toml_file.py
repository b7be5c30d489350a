"""TOML at the door: read with a size limit, and every problem told with its file, line and dotted key.

Jobs, machines and tables all come in here, so that an error reads alike wherever it happens.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache, lru_cache
from importlib import resources
from pathlib import Path
from types import UnionType
from typing import Any, Final, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from toolpaths.errors import NO_FILE, BadInput, Problem

SIZE_LIMIT: Final = 5_000_000
"""Bytes; a hand-written file is a thousandth of it, and a mistaken one should not fill the memory."""

DEEPEST: Final = 32
"""Tables and arrays in each other; a job has nine."""

MOST_KEYS: Final = 20_000
"""Of one table: a generous number of parameters."""

MOST_DETAILS: Final = 100
"""So many problems of one table are put into words: more are never told, and a table may have a million."""

MOST_KNOWN: Final = 40
"""So many names are listed as known."""

MOST_COMPARED: Final = 1000
"""So many known names are compared with a wrong one: each takes a fiftieth of a millisecond."""

LONGEST_KEY: Final = 64
"""So much of one name of a key is shown."""

UNKNOWN: Final = "unknown key"
MISSING: Final = "is missing"
"""What is said of keys that should not be there, and of those that should."""

Place = tuple[str | int, ...]
"""The way to a value in a file: keys, and indices from 0."""


def read_toml(path: Path, name: str = "") -> tuple[dict[str, Any], str]:
    """The table and the text of a TOML file; ``name`` is what messages call it (default: the file's name).

    Raises:
        BadInput: missing, unreadable, over 5 MB, not UTF-8, or not TOML (with its line).
    """
    name = name or path.name or str(path)
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            raise BadInput([Problem(name, 0, "", NO_FILE, "name a plain file")])
        with path.open("rb") as stream:
            raw = stream.read(SIZE_LIMIT + 1)
    except FileNotFoundError:
        raise BadInput([Problem(name, 0, "", "no such file", "check the name and the folder")]) from None
    except OSError as error:
        raise BadInput([Problem(name, 0, "", f"cannot be read: {error.strerror}")]) from None
    return parse_toml(raw, name)


@cache
def shipped_toml(name: str) -> tuple[dict[str, Any], str]:
    """The table and the text of a file of ours among the tables' data; it keeps every limit, so none is looked for."""
    text = (resources.files("toolpaths.tables.data") / name).read_text("utf-8")
    return tomllib.loads(text), text


def parse_toml(raw: bytes, name: str) -> tuple[dict[str, Any], str]:
    """The table and the text of TOML bytes; same errors as ``read_toml``."""
    if len(raw) > SIZE_LIMIT:
        raise BadInput([Problem(name, 0, "", "is larger than 5 MB", "a smaller file")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BadInput([Problem(name, line, "", "is not UTF-8 text", "save it as UTF-8")]) from None
    if deep := _LONG_KEY.search(text):  # tomllib's time grows with the square of the names
        raise BadInput([_too_deep(name, text, deep.start())])
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput([_syntax_problem(name, str(error), text)]) from None
    except ValueError:
        # Python itself refuses to read a whole number of more than 4300 digits.
        long = _LONG_NUMBER.search(text)
        line = 0 if long is None else text.count("\n", 0, long.start()) + 1
        said = "holds a number with thousands of digits"
        raise BadInput([Problem(name, line, "", said, "a shorter number")]) from None
    except RecursionError:
        raise BadInput([_too_deep(name, text, _depth_begins(text))]) from None
    if problem := _beyond_limits(data, name, text):
        raise BadInput([problem])
    return data, text


_NAME_OF_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"\n]*"|'[^'\n]*')"""
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_.-])(?:{_NAME_OF_KEY}[ \t]*\.[ \t]*){{{DEEPEST}}}")
_LONG_NUMBER = re.compile(r"[0-9_]{4300}")


def _too_deep(name: str, text: str, place: int) -> Problem:
    line = text.count("\n", 0, place) + 1
    return Problem(name, line, "", f"is nested too deeply: at most {DEEPEST} in each other", "fewer brackets or dots")


def _depth_begins(text: str) -> int:
    """Where brackets first stand too many in each other, as far as can be told of a text that cannot be read."""
    depth = 0
    for sign in re.finditer(r"[\[\]{}]", text):
        depth += 1 if sign[0] in "[{" else -1
        if depth > DEEPEST:
            return sign.start()
    return 0


def _beyond_limits(data: Any, name: str, text: str) -> Problem | None:
    """What lies too deep, or holds too many keys; by a loop, since Python's own depth ends somewhere."""
    level: list[tuple[Place, Any]] = [((), data)]
    for _ in range(DEEPEST + 1):
        for place, table in level:
            if isinstance(table, dict) and len(table) > MOST_KEYS:
                said = f"has {len(table)} keys", f"at most {MOST_KEYS} are read"
                return Problem(name, line_of(text, place), dotted(place), *said)
        level = [
            ((*place, key), value)
            for place, table in level
            for key, value in (table.items() if isinstance(table, dict) else enumerate(table))
            if isinstance(value, (dict, list))
        ]
        if not level:
            return None
    place = level[0][0]
    return replace(_too_deep(name, text, 0), line=line_of(text, place), key=dotted(place[:2]))


def _syntax_problem(name: str, message: str, text: str) -> Problem:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    words = re.sub(r"\s*\(at .*\)$", "", message)
    words = words[:1].lower() + words[1:]
    if not found:
        last = text.rstrip().count("\n") + 1
        return Problem(name, last, "", f"not valid TOML at its end: {words}", "look for an open bracket or quote")
    return Problem(name, int(found[1]), "", f"not valid TOML at column {found[2]}: {words}", "correct this line")


def dotted(place: Place) -> str:
    """A place as people read it, counting from 1.

    >>> dotted(("panel", 0, "hole", 2, "diameter"))
    'panel[1].hole[3].diameter'
    """
    text = ""
    for part in place:
        name = part if isinstance(part, int) or len(part) <= LONGEST_KEY else f"{part[:LONGEST_KEY]}..."
        text += f"[{name + 1}]" if isinstance(name, int) else f".{name}" if text else name
    return text


def line_of(text: str, place: Place) -> int:
    """The line (from 1) of a place, or of the nearest enclosing one that has a line of its own; 0 where none has."""
    lines = _lines(text)
    for length in range(len(place), 0, -1):
        for found in (place[:length], (*place[:length], 0)):  # an array of tables has the line of its first
            if found in lines:
                return lines[found]
    return 0


_HEADER = re.compile(r"^\[(\[)?([^\[\]]+)\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^((?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+)(?:\s*\.\s*(?:"[^"]*"|'[^']*'|[A-Za-z0-9_-]+))*)\s*=""")
# Possessive: else a text of millions of letters is remembered letter by letter.
_QUOTED = re.compile(r'"(?:\\.|[^"\\])*+"|\'[^\']*+\'')


# Kept for the text in hand: a file with many errors asks for the same lines and values again and again.
_parsed = lru_cache(maxsize=1)(tomllib.loads)


@lru_cache(maxsize=1)
def _lines(text: str) -> dict[Place, int]:
    """Where each key, table header and item of a multi-line array stands; a plain scan, exact for the usual layout."""
    places: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    within: Place = ()
    depth = item = 0
    long_quote = ""
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        if long_quote:
            long_quote = "" if long_quote in line else long_quote
            continue
        if depth == 0 and (header := _HEADER.match(line)):
            table = _header_place(_names(header[2]), bool(header[1]), counts)
            places.setdefault(table, number)
            continue
        if depth == 0 and (key := _KEY.match(line)):
            within, item = (*table, *_names(key[1])), 0
            places.setdefault(within, number)
            line = line[key.end() :]
        elif depth == 1 and line[:1] not in ("", "#", "]"):
            places.setdefault((*within, item), number)
        long_quote = next((mark for mark in ('"""', "'''") if line.count(mark) % 2), "")
        bare = _QUOTED.sub("", line.replace('"""', "").replace("'''", "")).split("#")[0]
        depth, item = _past(bare, depth, item)
    return places


def _past(bare: str, depth: int, item: int) -> tuple[int, int]:
    """Bracket depth and item index of the outermost array after a piece of line without its strings."""
    for sign in bare:
        if sign in "[{":
            depth += 1
        elif sign in "]}":
            depth = max(0, depth - 1)
        elif sign == "," and depth == 1:
            item += 1
    return depth, item


def _names(text: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in re.findall(r'"[^"]*"|\'[^\']*\'|[^.\s]+', text))


def _header_place(names: tuple[str, ...], is_array: bool, counts: dict[Place, int]) -> Place:
    """The place of a header; names of arrays met before stand for their latest item."""
    place: Place = ()
    for index, name in enumerate(names):
        place = (*place, name)
        if is_array and index == len(names) - 1:
            counts[place] = counts.get(place, 0) + 1
        if place in counts:
            place = (*place, counts[place] - 1)
    return place


def nearest(name: str, known: Iterable[str]) -> str:
    """What to write instead of an unknown name: the nearest known one, else all of them.

    >>> nearest("diametre", ["diameter", "depth"])
    "did you mean 'diameter'?"
    >>> nearest("colour", ["depth", "at"]), nearest("m4", ["M3", "M4"])
    ('known here: at, depth', "did you mean 'M4'?")
    """
    names = sorted(known)
    small = {one.lower(): one for one in reversed(names[:MOST_COMPARED]) if len(one) <= LONGEST_KEY}
    close = difflib.get_close_matches(name[:LONGEST_KEY].lower(), small, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{small[close[0]]}'?"
    listed = [one[:LONGEST_KEY] for one in names[:MOST_KNOWN]]
    more = f" and {len(names) - MOST_KNOWN} more" if len(names) > MOST_KNOWN else ""
    return f"known here: {', '.join(listed)}{more}"


def without_echoes(problems: Iterable[Problem]) -> list[Problem]:
    """Problems without the keys that are missing only since another key of the same table is their misspelling."""
    listed = list(problems)
    meant = {
        f"{one.key.rpartition('.')[0]}.{found[1]}".removeprefix(".")
        for one in listed
        if one.message == UNKNOWN and (found := re.fullmatch(r"did you mean '(.*)'\?", one.remedy))
    }
    return [one for one in listed if one.message != MISSING or one.key not in meant]


def problems_from(
    error: ValidationError,
    file: str,
    text: str,
    known: type[BaseModel] | Iterable[str] = (),
    at: Place = (),
) -> list[Problem]:
    """Every problem of a pydantic error in plain words, in file order, one for each key.

    Args:
        error: what validation raised.
        file: what messages call the file.
        text: its text, for line numbers.
        known: the model that was validated, or the known keys, for "did you mean".
        at: where the validated table stands in the file (``("panel", 0)``).
    """
    data = _parsed(text)
    found: dict[Place, Problem] = {}
    for detail in error.errors(include_url=False)[:MOST_DETAILS]:
        place = _kept(data, (*at, *detail["loc"]), detail["type"])
        message, remedy = _words(detail, place[-1] if place else "", known, place[len(at) :])
        earlier = found.get(place)
        if earlier:
            message, remedy = _either(earlier.message, message, ", or "), _either(earlier.remedy, remedy, " or ")
        found[place] = Problem(file, line_of(text, place), dotted(place), message, remedy)
    return sorted(without_echoes(found.values()), key=lambda problem: problem.line)


def _either(first: str, second: str, between: str) -> str:
    """What two branches of a union say of one value: together, or once where both say the same."""
    if not first or not second or second in first:
        return first or second
    return f"{first}{between}{second.removeprefix('write ')}"


def _kept(data: Any, place: Place, kind: str) -> Place:
    """The place without pydantic's own steps (union branches, validator names) which the file does not have."""
    kept: Place = ()
    for index, part in enumerate(place):
        inside = isinstance(data, Mapping) and part in data
        if inside or (isinstance(data, list) and isinstance(part, int) and part < len(data)):
            data = data[part]
            kept = (*kept, part)
        elif kind == "missing" and index == len(place) - 1:
            kept = (*kept, part)
    return kept


_WANTED: Final = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "dict_type": "a table",
    "model_type": "a table of keys and values",
    "finite_number": "a finite number",
}


def _words(detail: Any, key: str | int, known: type[BaseModel] | Iterable[str], place: Place) -> tuple[str, str]:
    kind, given, context = detail["type"], detail["input"], detail.get("ctx", {})
    if kind == "extra_forbidden":
        return UNKNOWN, nearest(str(key), known_keys(known, place[:-1]))
    if kind == "missing":
        return MISSING, "add it"
    if kind in _WANTED:
        large = isinstance(given, int) and abs(given) >= 10**60 and kind in ("float_type", "int_type", "finite_number")
        return f"is {shown(given)}", "write a smaller number" if large else f"write {_WANTED[kind]}"
    if kind == "literal_error":
        return f"is {shown(given)}", f"write {context['expected']}"
    if kind == "value_error":
        return str(context["error"]), ""
    if kind.startswith(("greater_than", "less_than")):
        words = str(detail["msg"]).removeprefix("Input should be ")
        return f"is {shown(given)}", f"must be {words}"
    if kind == "string_too_short":
        return f"is {shown(given)}", f"write at least {context['min_length']} characters"
    if kind == "string_too_long":
        return f"has {len(given)} characters", f"at most {context['max_length']} are read"
    if kind in ("too_short", "too_long"):
        limit = f"at least {context['min_length']}" if kind == "too_short" else f"at most {context['max_length']}"
        return f"has {context['actual_length']} entries", f"{limit} are read"
    message = str(detail["msg"])
    return f"{message[:1].lower()}{message[1:]} (it is {shown(given)})", ""


def shown(value: Any) -> str:
    """A value as the file has it, shortened.

    >>> shown("a"), shown(True), shown({"x": 1}), shown(2.5)
    ("'a'", 'true', 'a table', '2.5')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, int) and abs(value) >= 10**60:
        return f"a number of {int(value.bit_length() * math.log10(2)) + 1} digits"
    text = repr(value[:80] if isinstance(value, str) else value)
    return text if len(text) <= 60 else f"{text[:57]}..."


def known_keys(known: type[BaseModel] | Iterable[str], place: Place) -> list[str]:
    """The keys that a model knows at a place below it (``("hole", 2)``: the keys of a hole)."""
    if not isinstance(known, type):
        return sorted(known)
    models: list[type[BaseModel]] = [known]
    for part in place:
        if isinstance(part, str):
            models = [inner for model in models for inner in _inner_models(model, part)]
    return sorted({field.alias or name for model in models for name, field in model.model_fields.items()})


def _inner_models(model: type[BaseModel], key: str) -> Iterator[type[BaseModel]]:
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            yield from _models_in(field.annotation)


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and get_origin(annotation) is None:
        if issubclass(annotation, BaseModel):
            yield annotation
        return
    if get_origin(annotation) in (Union, UnionType) or get_args(annotation):
        for inner in get_args(annotation):
            yield from _models_in(inner)

"""The names of openings on drawings, as in a hole table of ASME Y14.5: a letter for each size, a number within it."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from itertools import count

from toolpaths.units import inch_fraction, plain


def tags(sizes: Sequence[tuple[float, str]], taken: Collection[str] = ()) -> list[str]:
    """A tag for each opening, in the order given.

    Args:
        sizes: how far across each opening is (mm), and its size in words: two of the same words are of one size.
        taken: letters that no tag begins with, because the job's own labels do (``letters_of``).

    >>> tags([(6.0, "Ø6"), (3.2, "Ø3.2"), (6.0, "Ø6")])
    ['B1', 'A1', 'B2']
    >>> tags([(6.0, "Ø6"), (3.2, "Ø3.2")], taken={"B"})
    ['C1', 'A1']
    >>> tags([])
    []
    """
    free = (one for one in map(letter, count()) if one not in taken)
    letters: dict[str, str] = {}
    for _, text in sorted((round(across, 6), text) for across, text in set(sizes)):
        if text not in letters:
            letters[text] = next(free)
    counts: dict[str, int] = {}
    found = []
    for _, text in sizes:
        counts[text] = counts.get(text, 0) + 1
        found.append(f"{letters[text]}{counts[text]}")
    return found


def letters_of(labels: Iterable[str]) -> set[str]:
    """The letters of labels that read like a tag, so that C1 is the capacitor and never an opening beside it.

    >>> sorted(letters_of(["C1", "V2", "c12", "mains", "T1 stud", "EL84"]))
    ['C', 'EL', 'T', 'V']
    """
    found = (re.match(r"([A-Za-z]+)[0-9]", label) for label in labels)
    return {match[1].upper() for match in found if match}


def letter(index: int) -> str:
    """The letter of the size at ``index`` from 0: A to Z, then AA, AB, ...

    >>> [letter(index) for index in (0, 25, 26, 51, 52, 701, 702)]
    ['A', 'Z', 'AA', 'AZ', 'BA', 'ZZ', 'AAA']
    """
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def round_size(diameter: float) -> str:
    """The size of a round hole in mm, and in inches where it is a fraction of them.

    >>> round_size(3.2), round_size(9.525)
    ('Ø3.2', 'Ø9.525 (3/8 in)')
    """
    fraction = inch_fraction(diameter)
    return f"Ø{plain(diameter)}" + (f" ({fraction})" if fraction else "")

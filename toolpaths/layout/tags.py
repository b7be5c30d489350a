"""The names of openings on drawings, as in a hole table of ASME Y14.5: a letter for each size, a number within it."""

from __future__ import annotations

from collections.abc import Sequence

from toolpaths.units import inch_fraction, plain


def tags(sizes: Sequence[tuple[float, str]]) -> list[str]:
    """A tag for each opening, in the order given.

    Args:
        sizes: how far across each opening is (mm), and its size in words: two of the same words are of one size.

    >>> tags([(6.0, "Ø6"), (3.2, "Ø3.2"), (6.0, "Ø6")])
    ['B1', 'A1', 'B2']
    >>> tags([])
    []
    """
    letters: dict[str, str] = {}
    for _, text in sorted((round(across, 6), text) for across, text in set(sizes)):
        letters.setdefault(text, letter(len(letters)))
    counts: dict[str, int] = {}
    found = []
    for _, text in sizes:
        counts[text] = counts.get(text, 0) + 1
        found.append(f"{letters[text]}{counts[text]}")
    return found


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

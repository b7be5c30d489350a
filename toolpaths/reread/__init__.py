"""The strict, independent reader of RS274/NGC text: it shares no code with the planner or the post-processors.

It accepts plain words and numbers only, assumes no default, and refuses by name whatever it does not accept: a
verifier never guesses. The language is that of NIST's report NISTIR 6556 (17 August 2000), whose section numbers the
messages give.

- Block delete (``/``) before words is refused, since a switch on the machine decides about it.
- A cutter is put in by M6. In a program that holds no M6 at all, T itself does it: there the operator changes the
  cutter at the stop that follows. Then Z is unknown until a length offset (G43 with H above 0) or an M0 with the
  spindle stopped; the reading itself stays nan until a Z word gives it.
- Two of the report's silences: P and Q stay in force with their cycle, and G83 backs off 0.254 mm (from memory of the
  code that NIST published).
"""

from __future__ import annotations

from toolpaths.errors import RereadError
from toolpaths.reread.interpret import interpret
from toolpaths.stroke import Reading

__all__ = ["interpret", "read"]


def read(text: str, *, flat: bool = False) -> Reading:
    """Reads a whole program, which must state every mode that it relies on and must end with M2 or M30.

    ``flat``: for a machine without an axis Z, such as a plotter whose pen is lifted by a word: there Z is refused, and
    an arc need not know it.

    Raises RereadError, with the line, for whatever the language or this reader does not allow.

    >>> header = "G17 G21 G40 G49 G54 G80 G90 G94\\n"
    >>> read(header + "G0 Z5\\nX10 Y20\\nM2\\n").strokes[1].end
    (10.0, 20.0, 5.0)
    """
    state = interpret(text, flat=flat)
    if not state.ended:
        raise RereadError(_last_line(text), "the program does not end: M2 or M30 is missing")
    if state.units is None:
        raise RereadError(_last_line(text), "the units are not stated: G20 or G21")
    return Reading(tuple(state.events), state.units)


def _last_line(text: str) -> int:
    return max(1, len(text.splitlines()))

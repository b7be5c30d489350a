"""What the command line says: findings and errors as lines and as the ``--json`` object. Nothing is printed here."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from toolpaths.errors import BadInput, Problem, RereadError
from toolpaths.finding import CODES, Finding, Severity
from toolpaths.output import FORMAT, finding_facts

MOST_ERRORS = 20
"""So many errors are told one by one: more would push the first ones off the screen."""

COUNTED: tuple[tuple[Severity, str], ...] = (("error", "errors"), ("warning", "warnings"), ("note", "notes"))


@dataclass(frozen=True, slots=True)
class Answer:
    """How a command ended: ``lines`` for people, ``facts`` beside the fixed keys of the ``--json`` object.

    ``problems`` are what was wrong with a part of the input while the rest could still be answered.
    """

    exit: int
    lines: Sequence[str] = ()
    findings: tuple[Finding, ...] = ()
    facts: Mapping[str, object] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    wanted: bool = False
    """The lines are what was asked for, not how it went: they are printed whatever else is kept quiet."""


def one_line(text: str) -> str:
    """Text as one line of print: line ends and terminal controls, which a job may hold, become spaces.

    >>> one_line("a\\nb\\x1b[2J")
    'a b [2J'
    """
    return "".join(char if char.isprintable() else " " for char in text)


LONGEST_LINE = 480
"""Characters: six lines of a narrow terminal. Longer is only what echoes somebody's long name."""


def bounded(text: str) -> str:
    """A line of print with its middle left out where it is too long: place and remedy stand at its ends.

    >>> len(bounded("x" * 5000)), bounded("short")
    (480, 'short')
    """
    return text if len(text) <= LONGEST_LINE else f"{text[:290]} ... {text[-(LONGEST_LINE - 295):]}"


def finding_lines(findings: Iterable[Finding], meanings: bool = False) -> list[str]:
    """Findings under the panel that they are about, the whole job's first; with ``meanings`` of the codes below."""
    panels: dict[str, list[Finding]] = {}
    for finding in findings:
        panels.setdefault(finding.panel, []).append(finding)
    lines = []
    for panel in sorted(panels, key=bool):
        lines.append(one_line(panel or "the whole job"))
        lines.extend(_finding_line(finding) for finding in panels[panel])
    if meanings:
        codes = dict.fromkeys(finding.code for found in panels.values() for finding in found)
        lines.extend(f"{code}: {CODES[code]}" for code in codes if code in CODES)
    return lines


def _finding_line(finding: Finding) -> str:
    place = f"line {finding.line}: " if finding.line and not finding.message.startswith("line ") else ""
    named = not finding.feature or finding.message.startswith(f"{finding.feature}: ")
    feature = "" if named else f"{finding.feature}: "
    return one_line(f"  {finding.severity:<8}{finding.code:<16} {place}{feature}{finding.message}")


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many errors, warnings and notes."""
    listed = [finding.severity for finding in findings]
    return {many: listed.count(one) for one, many in COUNTED}


def counts_line(findings: Iterable[Finding]) -> str:
    """The counts in words, what is not there left out.

    >>> counts_line([]), counts_line([Finding("note", "measured", "", "", "")] * 2)
    ('no findings', '2 notes')
    """
    counted = counts(findings)
    parts = [f"{counted[many]} {one if counted[many] == 1 else many}" for one, many in COUNTED if counted[many]]
    return ", ".join(parts) or "no findings"


def error_facts(error: BaseException) -> list[dict[str, object]]:
    """Each problem that an error carries; every entry has ``message``, the others where they are known."""
    if isinstance(error, BadInput):
        return [
            {
                "file": problem.file,
                "line": problem.line,
                "key": problem.key,
                "message": problem.message,
                "remedy": problem.remedy,
                "text": one_line(str(problem)),
            }
            for problem in error.problems
        ]
    # A KeyError prints its text in quotes, as LookupError's do not: ours is a LookupError with its message in args.
    text = one_line(str(error.args[0]) if isinstance(error, LookupError) and error.args else str(error))
    return [{"message": text, "text": text}]


def error_lines(errors: Sequence[Mapping[str, object]]) -> list[str]:
    """One line each, and a last one that counts what is left out."""
    lines = [bounded(str(error["text"])) for error in errors[:MOST_ERRORS]]
    left = len(errors) - MOST_ERRORS
    return [*lines, f"and {left} more"] if left > 0 else lines


def as_json(command: str, answer: Answer, errors: Sequence[Mapping[str, object]]) -> str:
    """The one object on standard output; plain ASCII, so that no locale can spoil it."""
    told = [{key: value for key, value in error.items() if key != "text" and value not in ("", 0)} for error in errors]
    content: dict[str, object] = {"format": FORMAT, "command": command, "exit": answer.exit}
    content["findings"] = [finding_facts(finding) for finding in answer.findings]
    content["errors"] = told
    return json.dumps(content | dict(answer.facts), indent=2, allow_nan=False) + "\n"


def unreadable(panel: str, error: RereadError) -> Finding:
    """A program that breaks the language, as the finding that it is."""
    return Finding("error", "unreadable", panel, "", error.message, error.line)

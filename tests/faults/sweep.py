"""Plants thousands of faults and counts: ``python -m tests.faults.sweep --mutants 5000 --seed 1``.

Prints a Markdown table (kind, planted, harmful, harmless, debatable, caught, false alarms); on standard error, as it is
found, each harmful edit that was not caught and each harmless one that was complained of. Exit status 1 where there is
any.
"""

from __future__ import annotations

import argparse
import difflib
import hashlib
import multiprocessing
import random
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tests.faults.grounds import all_grounds, verified
from tests.faults.plant import KINDS, Ground, Programs


@dataclass(frozen=True, slots=True)
class Outcome:
    """One planted edit: what the rule says of it, and whether verification objects."""

    kind: str
    ground: str
    verdict: str
    why: str
    caught: bool
    said: tuple[str, ...]
    edit: str
    digest: str

    @property
    def wrong(self) -> bool:
        """A harmful edit that slipped through, or a harmless one that was complained of."""
        return (self.verdict == "harmful" and not self.caught) or (self.verdict == "harmless" and self.caught)


def edited(ground: Ground, programs: Programs) -> str:
    """The edit as the lines that differ."""
    old = [line for lines in ground.programs for line in lines]
    new = [line for lines in programs for line in lines]
    lines = [line for line in difflib.unified_diff(old, new, lineterm="", n=2) if line[:3] not in ("---", "+++")]
    return "\n".join(lines[:24])


def planted(ground: Ground, kind: str, seed: str) -> Programs | None:
    """One edit of a kind; None where the kind finds no place or leaves the text as it was."""
    chance = random.Random(f"{seed}/{ground.name}/{kind}")
    programs = KINDS[kind](ground, chance)
    return None if programs is None or programs == ground.programs else programs


def noted(ground: Ground) -> frozenset[tuple[str, str]]:
    """What verification notes of the good program."""
    if ground.noted is None:
        found = verified(ground, ground.programs)
        ground.noted = frozenset((one.code, one.feature) for one in found if one.severity == "note")
    return ground.noted


def outcome(ground: Ground, kind: str, programs: Programs) -> Outcome:
    """Judges one edit twice: by the rule of these tests and by verification."""
    verdict, why = ground.rule.verdict(programs)
    findings = verified(ground, programs)
    # that a setup is not given, or a pilot only marked, is told in a note: what is there is not wrong
    notes = {(one.code, one.feature) for one in findings if one.severity == "note"} - noted(ground)
    objects = [one for one in findings if one.severity == "error" or (one.code, one.feature) in notes]
    said = tuple(dict.fromkeys(finding.code for finding in objects))
    caught = bool(objects)
    digest = hashlib.sha256(repr(programs).encode()).hexdigest()
    return Outcome(kind, ground.name, verdict, why, caught, said, edited(ground, programs), digest)


def outcomes(ground: Ground, laps: Iterable[int], seed: int, kinds: Sequence[str] = tuple(KINDS)) -> Iterator[Outcome]:
    """In each lap one edit of every kind that finds a place; the same edit is judged once."""
    seen: set[str] = set()
    for lap in laps:
        for kind in kinds:
            programs = planted(ground, kind, f"{seed}/{lap}")
            text = "\n\n".join("\n".join(lines) for lines in programs) if programs else ""
            if programs and text not in seen:
                seen.add(text)
                yield outcome(ground, kind, programs)


def table(found: Sequence[Outcome]) -> str:
    """Counts by kind, in Markdown; the last row sums them up."""
    lines = [
        "| kind | planted | harmful | harmless | debatable | caught | false alarms |",
        "|---|---:|---:|---:|---:|---:|---:|",
    ]
    total: Counter[str] = Counter()
    for kind in KINDS:
        mine = [one for one in found if one.kind == kind]
        if mine:
            count = counted(mine)
            total += count
            lines.append(_row(kind, count))
    lines.append(_row("**all**", total))
    return "\n".join(lines)


def counted(found: Sequence[Outcome]) -> Counter[str]:
    """Planted, by verdict, and of the harmful ones those caught and of the harmless ones those complained of."""
    count: Counter[str] = Counter(one.verdict for one in found)
    count["planted"] = len(found)
    count["caught"] = sum(one.verdict == "harmful" and one.caught for one in found)
    count["alarms"] = sum(one.verdict == "harmless" and one.caught for one in found)
    return count


def _row(name: str, count: Counter[str]) -> str:
    keys = ("planted", "harmful", "harmless", "debatable", "caught", "alarms")
    return f"| {name} | {' | '.join(str(count[key]) for key in keys)} |"


def told(one: Outcome) -> str:
    """An edit that was judged wrongly, for whoever mends it."""
    said = ", ".join(one.said) or "nothing"
    return f"\n{one.verdict} ({one.why}), said: {said}: {one.kind}, {one.ground}\n{one.edit}"


_GROUNDS: list[Ground] = []
"""Made before the processes part, so that each has them."""


def _work(task: tuple[int, int, int, int, str]) -> list[Outcome]:
    index, lap, seed, every, kinds = task
    named = [kind for kind in KINDS if not kinds or any(word in kind for word in kinds.split(","))]
    # another share of the kinds on each ground and in each lap
    found = list(outcomes(_GROUNDS[index], [lap], seed, named[(index + lap) % every :: every]))
    for one in found:
        if one.wrong:
            print(told(one), file=sys.stderr, flush=True)
    return found


def sweep(
    mutants: int, seed: int, processes: int, only: str = "", minutes: float = 1e9, every: int = 1,
    kinds: str = "",
) -> list[Outcome]:
    """Different edits by laps, each lap over all grounds whose name holds ``only``, until there are ``mutants``.

    On each ground a lap plants every so-manieth kind, so that few edits are a fair share too. It ends sooner
    after ``minutes``, or where nothing new is planted any more.
    """
    begun = time.monotonic()
    chosen = list(all_grounds(only))
    _GROUNDS[:] = sorted(chosen, key=lambda ground: (sum(map(len, ground.programs)), ground.name))
    tasks = [(index, lap, seed, every, kinds) for lap in range(max(4, mutants // 20)) for index in range(len(_GROUNDS))]
    found: dict[tuple[str, str, str], Outcome] = {}
    with multiprocessing.get_context("fork").Pool(processes) as pool:
        for done in pool.imap(_work, tasks):
            for one in done:
                found.setdefault((one.ground, one.kind, one.digest), one)
            print(f"{len(found)} edits after {time.monotonic() - begun:.0f} s", file=sys.stderr, flush=True)
            if len(found) >= mutants or time.monotonic() - begun > 60 * minutes:
                break
        pool.terminate()
    return list(found.values())[:mutants]


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--mutants", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--only", default="", help="part of a ground's name: sample, machine, panel and setup")
    parser.add_argument("--every", type=int, default=1, help="plant every so-manieth kind on each setup in each lap")
    parser.add_argument("--kinds", default="", help="words of kinds, a comma between them: plant only such")
    parser.add_argument("--minutes", type=float, default=1e9, help="end after so long, with what there is by then")
    asked = parser.parse_args()
    begun = time.monotonic()
    found = sweep(asked.mutants, asked.seed, asked.processes, asked.only, asked.minutes, asked.every, asked.kinds)
    print(table(found))
    wrong = [one for one in found if one.wrong]
    took = time.monotonic() - begun
    print(f"{len(_GROUNDS)} setups, {len(found)} edits, {len(wrong)} judged wrongly, {took:.0f} s", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

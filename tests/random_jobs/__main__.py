"""Tries many random jobs and counts: ``python -m tests.random_jobs --examples 1500 --seed 1``.

Each job and what is wrong with it goes into the folder ``--keep``, if one is named; exit status 1 where anything is.
"""

from __future__ import annotations

import argparse
import contextlib
import re
import sys
import time
from collections import Counter
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests.random_jobs.jobs import Whole, whole_jobs
from tests.random_jobs.trial import Tried, tried


class Enough(BaseException):
    """Ends the trying; nothing that only catches errors may keep it."""


def kept(folder: Path, number: int, whole: Whole, wrong: list[str]) -> None:
    """Writes a job with its files and what is wrong with it."""
    place = folder / f"{number:05}"
    place.mkdir(parents=True, exist_ok=True)
    (place / "job.toml").write_text(whole.text, encoding="utf-8")
    for name, content in whole.files.items():
        (place / name).write_bytes(content)
    call = f"size {whole.size}, posts {whole.posts}, strip {whole.fit_strip}, marks {whole.marks}, {whole.paper}"
    (place / "wrong.txt").write_text("\n".join([call, *wrong, ""]), encoding="utf-8")


def table(count: Counter[str], codes: Counter[str], made: Counter[str]) -> str:
    """What became of the jobs, which codes refused them, and what stood in those that were built, in Markdown."""
    lines = ["| what | jobs |", "|---|---:|", *(f"| {what} | {many} |" for what, many in count.most_common())]
    lines += [f"| refused: `{code}` | {many} |" for code, many in codes.most_common()]
    return "\n".join([*lines, *(f"| built: {what} | {many} |" for what, many in made.most_common())])


def holds(whole: Whole) -> set[str]:
    """What a job is made of, in words: its features, machine, material, units."""
    text = whole.text
    found = {f"`{kind}`" for kind in re.findall(r"\[\[panel\.(\w+)\]\]", text)}
    found |= set(re.findall(r'(?:machine|material) = "(.*?)"', text))
    found |= {word for word in ("cut_outline", "countersink", "thread", "[chassis]", "[parameters]") if word in text}
    return found | {"inches" if 'units = "in"' in text else "mm"} | ({"fit strip"} if whole.fit_strip else set())


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--examples", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=1e9, help="begin no further job after so long")
    parser.add_argument("--keep", type=Path, help="folder for the jobs with which something is wrong")
    parser.add_argument("--command", type=int, default=4, help="of every so-manieth job the programs go through verify")
    asked = parser.parse_args()
    count: Counter[str] = Counter()
    codes: Counter[str] = Counter()
    made: Counter[str] = Counter()
    seen: list[Whole] = []
    begun, wrong = time.monotonic(), 0

    @seed(asked.seed)
    @settings(
        max_examples=2 * asked.examples, database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(whole_jobs())
    def each(whole: Whole) -> None:
        nonlocal wrong
        if sum(count.values()) >= asked.examples or time.monotonic() - begun > 60 * asked.minutes:
            raise Enough
        if whole in seen:
            return
        seen.append(whole)
        number = sum(count.values())
        started = time.process_time()
        one: Tried = tried(whole, number % asked.command == 0)
        took = time.process_time() - started
        count[one.became] += 1
        if one.became == "built":
            made.update(holds(whole) | ({"several setups or panels"} if one.programs > 1 else set()))
        if number % 50 == 49:
            print(f"{number + 1} jobs: {dict(count)}", file=sys.stderr, flush=True)
        codes.update(re.sub(r"[\d.]+", "#", code) if one.became == "unread" else code for code in one.codes)
        if one.wrong:
            wrong += 1
            print(f"{number}: {one.became}: {' / '.join(one.wrong)[:600]}", file=sys.stderr, flush=True)
        elif took > 30:
            print(f"{number}: slow, {took:.0f} s", file=sys.stderr, flush=True)
        if (one.wrong or took > 30) and asked.keep:
            kept(asked.keep, number, whole, [*one.wrong, f"{took:.1f} s"])

    with contextlib.suppress(Enough):
        each()
    print(table(count, codes, made))
    print(f"{sum(count.values())} jobs, {wrong} wrong, {time.monotonic() - begun:.0f} s", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

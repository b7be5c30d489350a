# ruff: noqa: E501 (a case is a line)
"""Bad and hostile input of every kind is refused with the right status and a clear line, and nothing is written."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.hostile import drawings, jobs, lists, options, programs, tables
from tests.hostile.case import Case, lay
from tests.hostile.refusal import assert_refused, tree
from tests.hostile.test_processes import PROCESSES
from toolpaths import cli

KINDS = {"jobs": jobs, "tables": tables, "lists": lists, "drawings": drawings, "programs": programs, "options": options}
CASES: list[Case] = [case for kind in KINDS.values() for case in kind.CASES]

MOST_SECONDS = 10.0
# ruff: noqa: E501 (a case is a line)
"""Of the processor, not of the clock, which a busy machine stretches."""


@pytest.mark.parametrize("case", CASES, ids=[ascii(case.name)[1:-1] for case in CASES])
def test_hostile_input_is_refused(
    case: Case, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Refused with its status, in lines that name place and key, within 10 s of the processor; nothing is written."""
    shop = tmp_path / "shop"
    shop.mkdir()
    lay(case.everything, shop)
    monkeypatch.chdir(shop)
    before = tree(tmp_path)
    began = time.process_time()
    with pytest.raises(SystemExit) as end:
        cli.main(list(case.command))
    took = time.process_time() - began
    printed = capsys.readouterr()
    assert isinstance(end.value.code, int)
    assert_refused(case, end.value.code, printed.out + printed.err)
    assert tree(tmp_path) == before
    assert took <= MOST_SECONDS


def test_the_cases_are_many() -> None:
    """There are 300 different cases or more, 20 of them or more in a process of their own."""
    different = {(case.command, tuple(sorted((name, repr(file)) for name, file in case.files.items()))) for case in CASES}
    assert len(different) == len({case.name for case in CASES}) == len(CASES) >= 300
    assert len({case.name for case in PROCESSES}) == len(PROCESSES) >= 20

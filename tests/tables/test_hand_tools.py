"""The table of hand tools: ours for two kinds of shop, and a user's file laid over them or put in their place."""

from pathlib import Path

import pytest

from toolpaths.errors import BadInput
from toolpaths.tables.hand_tools import hand_tools
from toolpaths.tables.load import drill_size


def written(folder: Path, text: str) -> Path:
    path = folder / "bench.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_row_of_ours_says_where_it_is_from(units):
    """Each tool and the press has a source, sizes from small to large, and the kinds that a chassis needs are there."""
    bench = hand_tools(units)
    for tool in bench.tools:
        assert tool.source.startswith(("common practice", "from memory"))
        assert list(tool.sizes) == sorted(set(tool.sizes))
    assert list(bench.press.speeds) == sorted(bench.press.speeds)
    kinds = {tool.kind for tool in bench.tools}
    assert {"twist drill", "step drill", "punch", "hole saw", "saw", "flat file", "round file", "reamer"} <= kinds


def test_number_drills_have_the_standards_sizes():
    """A size written as #25 is that of ASME B94.11M, 0.1495 in."""
    (numbers,) = [tool for tool in hand_tools("in").tools if tool.name == "number drill"]
    assert any(abs(size - 0.1495 * 25.4) < 1e-9 for size in numbers.sizes)


def test_a_row_of_the_users_changes_ours_or_adds_to_it(tmp_path):
    """A tool of our name keeps what the user does not say; a new name comes after ours; bare inches are inches."""
    text = """format = 1
units = "in"
[drill_press]
reach = 5
[[tool]]
name = "jigsaw"
thickest = 0.5
[[tool]]
name = "my punch"
kind = "punch"
sizes = [0.75, "22 mm", "letter F"]
serves = ["metal"]
"""
    bench = hand_tools("mm", written(tmp_path, text))
    named = {tool.name: tool for tool in bench.tools}
    assert len(bench.tools) == len(hand_tools("mm").tools) + 1
    assert named["jigsaw"].thickest == pytest.approx(12.7) and named["jigsaw"].sizes == (8.0,)
    assert named["my punch"].sizes == pytest.approx((drill_size("letter F"), 19.05, 22.0))
    assert "own file bench.toml" in named["jigsaw"].source and named["my punch"].source == "own file bench.toml"
    assert bench.press.reach == pytest.approx(127) and bench.press.speeds == hand_tools("mm").press.speeds


def test_a_bench_may_hold_only_the_users_tools(tmp_path):
    """With only_these nothing of ours is taken for his; a row still builds on ours of the same name."""
    text = 'format = 1\nonly_these = true\n[[tool]]\nname = "twist drill"\nsizes = [3, 2]\n'
    (tool,) = hand_tools("mm", written(tmp_path, text)).tools
    assert tool.sizes == (2.0, 3.0) and tool.kind == "twist drill"


@pytest.mark.parametrize(
    ("rows", "wanted"),
    [
        ('[[tool]]\nname = "a"\nkind = "wand"\nsizes = [1]', "tool[1].kind"),
        ('[[tool]]\nname = "a"\nkind = "punch"\nsizes = []', "tool[1].sizes"),
        ('[[tool]]\nname = "a"\nkind = "punch"\nsizes = ["#99"]', "#99"),
        ('[[tool]]\nname = "a"\nkind = "punch"\nsizes = [nan]', "tool[1].sizes"),
        ('[[tool]]\nname = "a"\nkind = "router"\nsizes = [60]', "two sizes"),
        ('[[tool]]\nname = "a"\nkind = "punch"\nsizes = [5, 5]', "a size twice"),
        ('[[tool]]\nname = "a"\nkind = "punch"\nsizes = [5]\nthick = 2', "thick"),
        ('[[tool]]\nname = "jigsaw"\n[[tool]]\nname = "jigsaw"', "twice"),
        ("[drill_press]\nspeeds = []", "drill_press.speeds"),
        ('tool = "jigsaw"', "tool"),
        ("only_these = 1", "only_these"),
    ],
)
def test_what_is_wrong_in_a_users_file_is_told_with_its_place(tmp_path, rows, wanted):
    """A wrong kind, size, count, key or type is named with its key."""
    with pytest.raises(BadInput) as raised:
        hand_tools("mm", written(tmp_path, f"format = 1\n{rows}\n"))
    told = " ".join(f"{problem.key} {problem.message} {problem.remedy}" for problem in raised.value.problems)
    assert wanted in told
    assert all(problem.line > 0 for problem in raised.value.problems)

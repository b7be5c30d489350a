"""What the comments at a stop tell a hand to do is what the words say that the proof believes."""

from __future__ import annotations

import pytest

from toolpaths.verify.comments import judge_comments

STOP = """\
T112
(fit T112: 3 mm end mill, carbide)
(touch off Z0 on the sheet at X10 Y10, then start)
(set the spindle to 12000 rev/min by hand)
M0
G0 Z5
S12000 M3 (S9 T9 said in passing)
"""

EDITS = {
    "nothing": ("", "", []),
    "another cutter called": ("T112\n", "T110\n", [2]),
    "another cutter named": ("fit T112", "fit T113", [2]),
    "another speed": ("S12000 M3", "S11000 M3", [4]),
    "another dial": ("to 12000", "to 1200", [4]),
    "the same in other writing": ("S12000 M3", "m3 s 12000.0", []),
    "both": ("T112\n", "T1\n(set the spindle to 5 rev/min by hand)\nS6\n", [2, 4]),
    "no comments": ("(fit T112: 3 mm end mill, carbide)\n", "", []),
}


@pytest.mark.parametrize("style", ["( )", ";"])
@pytest.mark.parametrize("name", EDITS)
def test_a_comment_that_a_hand_obeys_says_what_the_words_say(name, style) -> None:
    """Another T or S than the comment is told at the comment's line; any other comment may say what it likes."""
    old, new, lines = EDITS[name]
    text = STOP.replace(old, new, 1) if old else STOP
    if style == ";":
        text = text.replace("(", ";").replace(")", "")
    found = judge_comments(text, "plate")
    assert [one.line for one in found] == lines
    assert {one.code for one in found} <= {"comment-differs"}

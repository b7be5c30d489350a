"""What a shop that works in inches reads: every length in its units, and no figure that could be an axis's place."""

from __future__ import annotations

import csv
import html
import io
import re

import pytest

from toolpaths import pipeline

PLATE = """
format = 1
title = "Inch plate"
units = "in"
[[panel]]
name = "front"
material = "aluminium"
thickness = "1/4 in"
width = "7 in"
height = "5 in"
[[panel.hole]]
at = ["1 in", "1 in"]
diameter = "1/4 in"
COUNTERSINK
[[panel.hole]]
at = ["2.5 in", "1 in"]
diameter = "0.6 in"
depth = "0.1 in"
finish = "mark"
[[panel.cutout]]
at = ["4.5 in", "2.5 in"]
width = "3 in"
height = "2 in"
[[panel.keyed_hole]]
at = ["1 in", "3 in"]
diameter = "0.5 in"
key_width = "0.05 in"
key_depth = "0.04 in"
"""
SUNK = PLATE.replace("COUNTERSINK", 'countersink = { diameter = "0.4 in", angle = 90 }')
PLAIN = PLATE.replace("COUNTERSINK", "")

LENGTH_IN_MM = re.compile(r"[0-9.]+ mm\b(?!/| (?:spot drill|drill|end mill|countersink))")


def sheet_and_rows(job) -> tuple[str, list[dict[str, str]], tuple]:
    made = pipeline.make(job, posts=["gcode"])
    files = {file.path: file.content.decode() for file in made.files}
    page = files["setup_sheet.html"]
    figures = " ".join(re.findall(r"Why so: (.*?)</td>", page))
    reasons = page.split("Why it is made this way")[1].split("</table>")[0]
    told = html.unescape(re.sub(r"<[^>]+>", " ", f"{figures} {reasons}"))
    return told, list(csv.DictReader(io.StringIO(files["drill_schedule.csv"]))), made.findings


CHANGER = "mill with tool changer"  # its programs are in inches


@pytest.mark.parametrize(
    ("text", "machine"),
    [(SUNK, CHANGER), (PLAIN, "bench mill"), (SUNK.replace('units = "in"', 'units = "mm"'), CHANGER)],
    ids=["inches", "inch job", "inch machine"],
)
def test_reasons_hold_lengths_in_the_units_in_use_and_never_a_place_on_an_axis(job_of, text, machine) -> None:
    """No reason reads as a place in X, Y or Z; where inches are in use, in job or machine, each length has both."""
    told, rows, _ = sheet_and_rows(job_of(text, machine=machine))
    assert not re.search(r"\b[XYZ]-?[0-9]", told)
    lengths = list(LENGTH_IN_MM.finditer(told))
    assert lengths
    for length in lengths:
        around = told[max(0, length.start() - 20) : length.end() + 20]
        assert re.search(r" in \([0-9. to]+ mm\)| mm \([0-9./ to]+ in\)", around), around
    if 'units = "in"' in text:
        assert not LENGTH_IN_MM.search(re.sub(r" in \([^)]* mm\)", "", " ".join(row["why"] for row in rows)))


def test_a_countersink_is_told_by_its_depth(job_of) -> None:
    """A cone 0.4 in wide of 90 degrees has its tip 0.2 in below the sheet, by plane geometry: w / 2 / tan 45."""
    told, rows, _ = sheet_and_rows(job_of(SUNK, machine=CHANGER))
    assert "its tip 0.200 in (5.08 mm) below the top of the sheet" in told
    assert "its tip 0.200 in (5.08 mm) below the top of the sheet" in rows[0]["why"]


def test_a_shop_in_inches_reads_inches_first_and_its_charts_fractions(job_of) -> None:
    """1/16 and 1/4 in are told as such, small figures keep two digits, and nothing is told in mm alone or first."""
    told, rows, findings = sheet_and_rows(job_of(SUNK, machine=CHANGER))
    assert "1/8 in (3.175 mm) per pass" in told
    assert "0.00039 in (0.01 mm)" in told
    assert "0.000 in" not in told
    messages = [found.message for found in findings]
    assert any("radius of 1/8 in (3.175 mm)" in message for message in messages)
    by_hand = " ".join(row["how it is made"] for row in rows)
    for text in [*messages, by_hand]:
        assert not LENGTH_IN_MM.search(re.sub(r" in \([^)]* mm\)", "", text)), text


CLAMPED = PLAIN.replace('height = "5 in"', """height = "5 in"
clamps = [
  { x = "-1/2 in", y = "1 3/8 in", width = "3/4 in", height = "5/8 in" },
  { x = "150 mm", y = 0, width = "10 mm", height = "12 mm" },
]""")


def test_what_is_set_off_with_a_rule_is_told_in_fractions(job_of) -> None:
    """Clamps in fractions as on the rule, with the missing mm behind those that have none: 150 mm are 5 29/32 in, which
    are 150.019, 160 mm 6 19/64 in and 0.06; the sheet, the touch-off point and zero from the sheet's edges too."""
    made = pipeline.make(job_of(CLAMPED, machine="bench mill"), posts=["gcode"])
    (page,) = (file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    clamps = page.split("<h3>Clamps</h3>")[1].split("</table>")[0]
    cells = re.findall(r'<td class="figure">(.*?)</td>', clamps)
    assert cells[:3] == ["-1/2 to 1/4", "1 3/8 to 2 1/8", "5/8"]
    assert cells[3:] == ["5 29/32 - 0.02 mm to 6 19/64 + 0.06 mm", "0 to 25/64 + 0.08 mm", "15/32 + 0.09 mm"]
    assert "7 × 5 in (177.8 × 127 mm)" in page
    assert "the lower left corner of the sheet itself" in page
    # what the display shows stays decimal, in the units of the programs, which it names
    assert re.search(r"At X-?[0-9.]+ Y-?[0-9.]+ mm, the diamond of the plan: [0-9 /]+ in", page)


def test_the_gauge_stands_beside_the_thickness(job_of) -> None:
    """0.0808 in of aluminium is 12 gauge and 2 mm near it; 1/8 in is thicker than any of the table."""
    for thickness, words in (
        ("0.0808 in", "0.0808 in (12 ga; 2.052 mm) thick"), ("2 mm", "0.0787 in (near 12 ga; 2 mm) thick"),
        ("1/8 in", "1/8 in (3.175 mm) thick"),
    ):  # fmt: skip
        text = PLAIN.replace("1/4 in", thickness, 1).replace('depth = "0.1 in"\n', "")
        made = pipeline.make(job_of(text, machine="bench mill"), posts=["gcode"])
        (page,) = (file.content.decode() for file in made.files if file.path == "setup_sheet.html")
        assert words in page, re.findall(r"[^<]* thick", page)[:1]

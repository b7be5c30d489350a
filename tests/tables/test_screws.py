"""Clearance holes and tapping sizes: figures copied by hand from their sources, and what the loader says else."""

import re

import pytest

from toolpaths.errors import UnknownName
from toolpaths.tables import load, screws
from toolpaths.tables.screws import clearance_hole, tap_drill
from toolpaths.units import parse_length


@pytest.mark.parametrize(
    ("screw", "fine", "medium", "coarse"),
    [
        ("M2", 2.2, 2.4, 2.6),
        ("M2.5", 2.7, 2.9, 3.1),
        ("M3", 3.2, 3.4, 3.6),
        ("M3.5", 3.7, 3.9, 4.2),
        ("M4", 4.3, 4.5, 4.8),
        ("M5", 5.3, 5.5, 5.8),
        ("M6", 6.4, 6.6, 7.0),
        ("M7", 7.4, 7.6, 8.0),
        ("M8", 8.4, 9.0, 10.0),
        ("M10", 10.5, 11.0, 12.0),
        ("M12", 13.0, 13.5, 14.5),
    ],
)
def test_metric_clearance_is_iso_273(screw: str, fine: float, medium: float, coarse: float) -> None:
    """ISO 273 as tabulated at engineeringhardware.com, mm; M8 jumps to 9 and 10."""
    assert [clearance_hole(screw, fit).diameter for fit in ("fine", "medium", "coarse")] == [fine, medium, coarse]
    assert clearance_hole(screw).diameter == medium and clearance_hole(screw).standard == "ISO 273"


@pytest.mark.parametrize(
    ("screw", "close", "normal", "loose"),
    [
        ("#2", "3/32 in", "#38", "#32"),
        ("#4", "#31", "#30", "#27"),
        ("#5", "9/64 in", "5/32 in", "11/64 in"),
        ("#6", "#23", "#18", "#13"),
        ("#8", "#15", "#9", "#3"),
        ("#10", "#5", "#2", "letter B"),
        ("1/4", "17/64 in", "9/32 in", "19/64 in"),
        ("5/16", "21/64 in", "11/32 in", "23/64 in"),
        ("3/8", "25/64 in", "13/32 in", "27/64 in"),
    ],
)
def test_inch_clearance_is_asme_b18_2_8(screw: str, close: str, normal: str, loose: str) -> None:
    """ASME B18.2.8 in Machinery's Handbook 31st ed. p. 1741: normal seen there, close from memory."""
    found = [clearance_hole(screw, fit) for fit in ("close", "normal", "loose")]
    assert [hole.drill for hole in found] == [close, normal, loose]
    assert {hole.standard for hole in found} == {"ASME B18.2.8"}
    assert found[0].source.startswith("from memory") and not found[1].source.startswith("from memory")


@pytest.mark.parametrize(
    ("screw", "fit", "standard", "mm"),
    [
        ("M12", "medium", "BS 4186:1967", 14.0),
        ("#6", "normal", "ASME B18.2.8, metric drills", 4.3),
        ("3/8", "loose", "ASME B18.2.8, metric drills", 10.5),
        ("#4", "close", "US shop chart", 2.946),
        ("1/4", "free", "US shop chart", 6.756),
    ],
)
def test_other_charts_are_asked_for_by_name(screw: str, fit: str, standard: str, mm: float) -> None:
    """BS 4186 and Table 3a in Machinery's Handbook 31st ed., and the tighter chart of manufacturinget.org, mm."""
    assert clearance_hole(screw, fit, standard).diameter == pytest.approx(mm, abs=0.0006)


@pytest.mark.parametrize("row", screws.clearance_holes(), ids=lambda row: f"{row.standard} {row.screw} {row.fit}")
def test_a_hole_is_the_drill_that_it_names(row: screws.ClearanceHole) -> None:
    """The inch that a row prints, to four decimals, is the size of its drill; and every row has a source."""
    assert re.search(r"[a-z]{3}", row.source)
    if row.drill:
        named = row.drill.startswith(("#", "letter"))
        size = load.drill_size(row.drill) if named else parse_length(row.drill)
        assert row.diameter == pytest.approx(size, abs=0.00006 * 25.4)
    if row.screw.startswith("M"):
        assert float(row.screw[1:]) < row.diameter <= 1.3 * float(row.screw[1:])


def test_the_fits_of_a_screw_go_from_tight_to_wide() -> None:
    """Of one standard, each next fit of a screw is wider."""
    tight = {name: place for place, names in enumerate(screws.ALIKE) for name in names}
    groups: dict[tuple[str, str], list[screws.ClearanceHole]] = {}
    for row in screws.clearance_holes():
        groups.setdefault((row.standard, row.screw), []).append(row)
    assert len(groups) > 30
    for rows in groups.values():
        by_fit = sorted(rows, key=lambda row: tight[row.fit])
        sizes = [row.diameter for row in by_fit]
        assert sizes == sorted(set(sizes)) and len(sizes) >= 2


@pytest.mark.parametrize(
    ("thread", "mm"),
    [("M2", 1.6), ("M2.5", 2.05), ("M3", 2.5), ("M4", 3.3), ("M5", 4.2), ("M6", 5.0), ("M8", 6.8), ("M10", 8.5)],
)
def test_metric_tapping_is_the_diameter_less_the_pitch(thread: str, mm: float) -> None:
    """engineeringhardware.com (M3), the others from memory; D minus pitch (nano-motor.co.uk), to the nearest drill."""
    tap = tap_drill(thread)
    assert tap.diameter == mm == tap_drill(thread, "hard").diameter
    assert tap.diameter == pytest.approx(float(thread[1:]) - tap.pitch, abs=0.051)
    assert thread == "M3" or tap.source.startswith("from memory")


@pytest.mark.parametrize(
    ("thread", "soft", "hard", "per_inch"),
    [
        ("2-56", "#50", "#49", 56),
        ("4-40", "#43", "#41", 40),
        ("6-32", "#36", "#32", 32),
        ("8-32", "#29", "#27", 32),
        ("10-24", "#25", "#20", 24),
        ("10-32", "#21", "#18", 32),
        ("1/4-20", "#7", "7/32 in", 20),
        ("5/16-18", "letter F", "letter J", 18),
        ("3/8-16", "5/16 in", "letter Q", 16),
    ],
)
def test_inch_tapping_is_the_charts(thread: str, soft: str, hard: str, per_inch: int) -> None:
    """Tap chart of manufacturinget.org (2012): 75 % column for soft materials, 50 % for steels."""
    assert (tap_drill(thread).drill, tap_drill(thread, "hard").drill) == (soft, hard)
    assert tap_drill(thread).pitch == pytest.approx(25.4 / per_inch)


@pytest.mark.parametrize("tap", screws.tap_drills(), ids=lambda tap: f"{tap.thread} {tap.drill}")
def test_a_tapping_size_leaves_the_thread_that_its_row_states(tap: screws.TapDrill) -> None:
    """Depth of thread = (D - hole) / (1.299 pitch), of the 60 degree form, is the row's figure within 1.5 %."""
    size = tap.thread.split("-")[0]
    if size.startswith("M"):
        major = float(size[1:])
    elif "/" in size:
        major = parse_length(f"{size} in")
    else:
        major = (0.06 + 0.013 * int(size)) * 25.4  # machine screw numbers, ASME B1.1
    depth = 100 * (major - tap.diameter) / (1.299 * tap.pitch)
    low, _, high = tap.thread_depth.removesuffix(" %").partition("-")
    assert float(low) - 2 <= depth <= float(high or low) + 1.5, depth


def test_what_is_not_there_names_what_is() -> None:
    """A screw, fit, standard or thread that is not known is an error that helps."""
    with pytest.raises(UnknownName, match=r"did you mean 'M3'|known are M2, M2.5, M3"):
        clearance_hole("m3")
    with pytest.raises(UnknownName, match="no fit 'snug' for a screw M3; there are fine, medium, coarse"):
        clearance_hole("M3", "snug")
    with pytest.raises(UnknownName, match="no standard 'ISO 237'; did you mean 'ISO 273'"):
        clearance_hole("M3", "fine", "ISO 237")
    with pytest.raises(UnknownName, match="no thread '6-23'; did you mean '6-32'"):
        tap_drill("6-23")
    assert clearance_hole("1/4 in", "fine") == clearance_hole("1/4", "close")


def test_steels_are_tapped_as_hard() -> None:
    """The chart's groups: 50 % for steel and stainless, 75 % for aluminium and plastics."""
    hard = [row.name for row in load.materials().values() if screws.stuff_of(row.family, row.name) == "hard"]
    assert hard == ["mild steel", "stainless steel"]

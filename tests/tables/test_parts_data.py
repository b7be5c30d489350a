"""The shipped component table as a file: its words, its figures against their sources, and rooms that can be true."""

import math
import re
import tomllib
from importlib import resources
from itertools import combinations
from typing import Any, get_args

import pytest

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import across, gap, holds, inside
from toolpaths.geometry.shapes import circle, d_hole, double_d_hole, keyed_hole, rounded_rectangle
from toolpaths.job.component import Role, Trait
from toolpaths.units import parse_length

Row = dict[str, Any]
HOLES = ("hole", "d_hole", "double_d_hole", "keyed_hole", "cutout", "ring")
FILE = tomllib.loads(resources.files("toolpaths.tables.data").joinpath("parts.toml").read_text(encoding="utf-8"))
PARTS: dict[str, Row] = {row["name"]: row for row in FILE["part"]}


def mm(value: float | str) -> float:
    """A length of the file: a number in mm, or a text with its unit."""
    return parse_length(value) if isinstance(value, str) else float(value)


def centre(row: Row) -> tuple[float, float]:
    x, y = row.get("at", (0, 0))
    return mm(x), mm(y)


def holes(part: Row, label: str | None = None) -> list[Contour]:
    """The part's openings, all or those with a label, exactly as a panel would have them."""
    made: list[Contour] = []
    for kind in HOLES:
        for row in part.get(kind, []):
            at, turned = centre(row), math.radians(row.get("angle", 0))
            if label is not None and row.get("label", "") != label:
                continue
            if kind == "hole":
                made.append(circle(at, mm(row["diameter"])))
            elif kind == "d_hole":
                made.append(d_hole(at, row["diameter"], row["across_flat"], turned))
            elif kind == "double_d_hole":
                made.append(double_d_hole(at, row["diameter"], row["across_flats"], turned))
            elif kind == "keyed_hole":
                made.append(keyed_hole(at, row["diameter"], row["key_width"], row["key_depth"], turned))
            elif kind == "cutout":
                made.append(rounded_rectangle(at, row["width"], row["height"], row.get("corner_radius", 0.0), turned))
            else:
                made += [circle(point, row["diameter"]) for point in ring_points(row)]
    return made


def ring_points(row: Row) -> list[tuple[float, float]]:
    turns = [math.radians(row["start_angle"]) + math.tau * n / row["count"] for n in range(row["count"])]
    radius = row["circle_diameter"] / 2
    return [(radius * math.cos(turn), radius * math.sin(turn)) for turn in turns]


def footprint(room: Row) -> Contour:
    if "diameter" in room:
        return circle(centre(room), room["diameter"])
    return rounded_rectangle(centre(room), *room["size"], room.get("corner_radius", 0.0))


def rooms(part: Row, *roles: str, side: str | None = None) -> list[Row]:
    return [room for room in part["room"] if room["role"] in roles and side in (None, room["side"])]


def spans_meet(one: Row, other: Row) -> bool:
    return bool(one.get("off", 0) < other["reach"] and other.get("off", 0) < one["reach"])


def middle(hole: Contour) -> tuple[float, float]:
    x0, y0, x1, y1 = hole.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def apart(part: Row, label: str) -> float:
    """The distance between the first two holes of a label."""
    first, second, *_ = holes(part, label)
    return math.dist(middle(first), middle(second))


each_part = pytest.mark.parametrize("part", PARTS.values(), ids=PARTS)


# Words ---------------------------------------------------------------------------------------------------------------


def test_names_are_unique() -> None:
    """A job names a part by its name alone, so no two are alike but for case."""
    sizes = [(row["series"], mm(row["nominal"])) for row in PARTS.values() if "series" in row]
    assert len(set(sizes)) == len(sizes) == 16
    assert FILE["format"] == 1 and FILE["units"] == "mm"
    assert len({row["name"].lower() for row in FILE["part"]}) == len(FILE["part"]) >= 60


@each_part
def test_every_row_is_complete_and_names_its_source(part: Row) -> None:
    """A row has every key, known words only, and a source that names a standard, a page, or memory and practice."""
    kinds = {kind for kind in part if kind in HOLES}
    winding = {"winding"} if "transformer" in part["traits"] else set()
    keys = {"name", "group", "summary", "fitted_from", "passes", "traits", "source", "room"}
    series = {"series", "nominal"} if "series" in part else set()
    assert kinds and set(part) == keys | kinds | winding | series
    assert part["fitted_from"] in ("outside", "inside") and isinstance(part["passes"], bool)
    assert set(part["traits"]) <= set(get_args(Trait)) and len(set(part["traits"])) == len(part["traits"])
    assert part.get("winding", 90) in (90, "upright")
    said = r"from memory|common practice|ISO \d+|ASME B|IEC \d+|IFI-114|maker's|\w\.(com|net)"
    assert re.search(said, part["source"]) and len(part["source"]) > 30
    assert "\n" not in part["summary"] and len(part["summary"]) < 80


@each_part
def test_every_room_is_a_prism_of_its_own(part: Row) -> None:
    """A room has a role, a side, one kind of footprint and a far end beyond its near end."""
    for room in part["room"]:
        assert room["role"] in get_args(Role) and room["side"] in ("outside", "inside")
        assert ("diameter" in room) != ("size" in room)
        assert 0 <= room.get("off", 0) < room["reach"] < 200
        assert footprint(room).area > 0


# Figures -------------------------------------------------------------------------------------------------------------

MAKERS, TRADE = "typical maker drawings, from memory", "trade practice, from memory"
ISO_273 = "ISO 273 as tabulated at engineeringhardware.com, medium"
ASME = "ASME B18.2.8-1999 (R2017), normal, in Machinery's Handbook 31st ed p.1741 Table 1a"
T_NUTS = "maker catalogues (varies by maker), from memory"
GROMMETS = "AN931 / MS35489, from memory"
FRAMES = "a loudspeaker maker's page of frames"
SHEETS = "maker data sheets, typical, from memory"

SIZES = [
    ("7-pin socket", "hole.0.diameter", 16, 16, TRADE),
    ("noval socket", "hole.0.diameter", 19, 19, TRADE),
    ("noval socket", "hole.1.diameter", 3.2, 3.5, TRADE),
    ("noval power socket", "hole.0.diameter", 19, 19, TRADE),
    ("noval power socket", "hole.1.diameter", 3.2, 3.5, TRADE),
    ("shielded noval socket", "hole.0.diameter", 22, 22, "builders' notes (hobby pages)"),
    ("octal socket", "hole.0.diameter", 29, 29, "builders' notes (hobby pages)"),
    ("6.35 mm jack", "hole.0.diameter", 9.7, 9.7, TRADE),
    ("potentiometer", "hole.0.diameter", 10.2, 10.2, "mounting data of a maker of controls"),
    ("potentiometer", "hole.1.diameter", 3.2, 3.2, TRADE),
    ("rotary switch", "hole.0.diameter", 10.2, 10.2, "mounting data of a maker of controls"),
    ("small potentiometer", "hole.0.diameter", 7.2, 7.4, MAKERS),
    ("toggle switch", "keyed_hole.0.diameter", 12.2, 12.7, TRADE),
    ("toggle switch", "keyed_hole.0.key_width", 1.8, 2.4, "maker data sheets, from memory"),
    ("toggle switch", "keyed_hole.0.key_depth", 0.8, 0.8, "maker data sheets, from memory"),
    ("toggle switch with ring", "hole.0.diameter", 12.2, 12.7, TRADE),
    ("miniature toggle switch", "hole.0.diameter", 6.5, 6.5, "a switch maker's hardware sheet"),
    ("mains switch", "cutout.0.width", 21.08, 21.08, "a switch maker's switch type page"),
    ("mains switch", "cutout.0.height", 36.83, 36.83, "a switch maker's switch type page"),
    ("miniature rocker switch", "cutout.0.width", 12.19, 12.19, "a switch maker's switch type page"),
    ("miniature rocker switch", "cutout.0.height", 27.23, 27.23, "a switch maker's switch type page"),
    ("pilot lamp", "hole.0.diameter", 17.5, 17.5, TRADE),
    ("LED bezel", "hole.0.diameter", 8.0, 8.0, MAKERS),
    ("fuse holder", "d_hole.0.diameter", 12.7, 12.7, "maker data sheets, from memory"),
    ("fuse holder", "d_hole.0.across_flat", 11.7, 11.9, "maker data sheets, from memory"),
    ("mains inlet", "cutout.0.width", 27.5, 27.5, MAKERS),
    ("mains inlet", "cutout.0.height", 20.0, 20.5, MAKERS),
    ("mains inlet", "cutout.0.corner_radius", 0, 3, "maker data sheets, from memory"),
    ("mains inlet", "hole.0.diameter", 3.2, 3.5, MAKERS),
    ("fused mains inlet", "cutout.0.width", 28, 28, "builders' notes (hobby pages)"),
    ("fused mains inlet", "cutout.0.height", 35, 35, "builders' notes (hobby pages)"),
    ("XLR connector", "hole.0.diameter", 24.0, 24.0, "maker's drawings of the D-size panel connector"),
    ("XLR connector", "hole.1.diameter", 3.2, 3.2, "maker's drawings of the D-size panel connector"),
    ("XLR connector", "room.0.size.0", 26.0, 26.0, "maker's drawings of the D-size panel connector"),
    ("XLR connector", "room.0.size.1", 31.0, 31.0, "maker's drawings of the D-size panel connector"),
    ("XLR connector", "room.0.corner_radius", 3.5, 3.5, "maker's drawings of the D-size panel connector"),
    ("grommet 3/16 in", "hole.0.diameter", 7.94, 7.94, GROMMETS),
    ("grommet 1/4 in", "hole.0.diameter", 11.11, 11.11, GROMMETS),
    ("grommet 3/8 in", "hole.0.diameter", 15.88, 15.88, GROMMETS),
    ("grommet 1/2 in", "hole.0.diameter", 20.64, 20.64, GROMMETS),
    ("rivet 1/8 in", "hole.0.diameter", 3.28, 3.38, "IFI-114 quoted at vansairforce.net"),
    ("rivet 1/8 in", "hole.0.diameter", 3.30, 3.43, "toolsadvisers.com"),
    ("rivet 5/32 in", "hole.0.diameter", 4.09, 4.09, "IFI-114, from memory"),
    ("rivet 3/16 in", "hole.0.diameter", 4.85, 4.85, "engineerfix.com"),
    ("terminal strip", "hole.0.diameter", 3.2, 3.7, TRADE),
    ("M3 screw", "hole.0.diameter", 3.4, 3.4, ISO_273),
    ("M4 screw", "hole.0.diameter", 4.5, 4.5, ISO_273),
    ("earth stud", "hole.0.diameter", 4.5, 4.5, ISO_273),
    ("M5 screw", "hole.0.diameter", 5.5, 5.5, ISO_273),
    ("M6 screw", "hole.0.diameter", 6.6, 6.6, ISO_273),
    ("3.5 mm jack", "hole.0.diameter", 6.4, 6.4, "ISO 273 as tabulated at engineeringhardware.com, M6 fine"),
    ("toroidal transformer 80 VA", "hole.0.diameter", 6.6, 6.6, ISO_273),
    ("toroidal transformer 160 VA", "hole.0.diameter", 9.0, 9.0, ISO_273),
    ("6-32 screw", "hole.0.diameter", 4.305, 4.305, ASME),
    ("8-32 screw", "hole.0.diameter", 4.978, 4.978, ASME),
    ("10-32 screw", "hole.0.diameter", 5.613, 5.613, ASME),
    ("1/4-20 screw", "hole.0.diameter", 7.144, 7.144, ASME),
    ("M4 T-nut", "hole.0.diameter", 5.5, 5.5, T_NUTS),
    ("M5 T-nut", "hole.0.diameter", 6.5, 6.5, T_NUTS),
    ("M6 T-nut", "hole.0.diameter", 8.0, 8.0, T_NUTS),
    ("8-32 T-nut", "hole.0.diameter", 5.556, 5.6, T_NUTS + ": 7/32 in"),
    ("10-32 T-nut", "hole.0.diameter", 6.35, 6.4, T_NUTS + ": 1/4 in"),
    ("1/4-20 T-nut", "hole.0.diameter", 7.9, 7.938, T_NUTS + ": 5/16 in"),
    ("5/16-18 T-nut", "hole.0.diameter", 9.5, 9.525, T_NUTS + ": 3/8 in"),
    ("4 in loudspeaker", "ring.0.circle_diameter", 115, 115, FRAMES),
    ("5 in loudspeaker", "ring.0.circle_diameter", 135, 135, FRAMES),
    ("6.5 in loudspeaker", "ring.0.circle_diameter", 155, 155, FRAMES),
    ("4 in loudspeaker", "ring.0.diameter", 5.5, 5.5, T_NUTS + ": M4"),
    ("5 in loudspeaker", "ring.0.diameter", 5.5, 5.5, T_NUTS + ": M4"),
    ("6.5 in loudspeaker", "ring.0.diameter", 5.5, 5.5, T_NUTS + ": M4"),
    ("8 in loudspeaker", "ring.0.diameter", 5.5, 5.5, T_NUTS + ": M4"),
    ("10 in loudspeaker", "ring.0.diameter", 5.5, 5.5, ISO_273 + ": M5"),
    ("8 in loudspeaker", "hole.0.diameter", 183, 187, SHEETS),
    ("8 in loudspeaker", "ring.0.circle_diameter", 195, 198, SHEETS),
    ("10 in loudspeaker", "hole.0.diameter", 231, 231, "audiointensity.com"),
    ("10 in loudspeaker", "ring.0.circle_diameter", 244, 246, SHEETS),
    ("12 in loudspeaker", "hole.0.diameter", 282.7, 282.7, "a maker's specification sheet"),
    ("12 in loudspeaker", "ring.0.circle_diameter", 298.45, 298.45, "a maker's specification sheet"),
    ("12 in loudspeaker", "ring.0.diameter", 6.1, 6.1, "a maker's specification sheet"),
    ("12 in loudspeaker", "room.1.diameter", 309.1, 309.1, "a maker's specification sheet: overall"),
    ("12 in loudspeaker", "ring.0.count", 8, 8, SHEETS),
    ("15 in loudspeaker", "hole.0.diameter", 352, 356, "a reference article on 15 in cut-outs"),
    ("15 in loudspeaker", "room.1.diameter", 390.5, 390.5, "audioroundtable.com"),
    ("15 in loudspeaker", "ring.0.count", 8, 8, "audioroundtable.com"),
    ("15 in loudspeaker", "ring.0.circle_diameter", 370, 371, SHEETS),
]  # fmt: skip
"""Part, place in its row, least and greatest that the source allows, and the source."""


@pytest.mark.parametrize(("name", "place", "least", "most", "source"), SIZES)
def test_sizes_are_those_of_their_sources(name: str, place: str, least: float, most: float, source: str) -> None:
    """A figure that a source prints stands in the table, to the rounding of the print."""
    value: Any = PARTS[name]
    for key in place.split("."):
        value = value[int(key) if key.isdigit() else key]
    assert least - 0.006 <= mm(value) <= most + 0.006, source


DISTANCES = [
    ("7-pin socket", "fixing", 22.2, 22.2, TRADE),
    ("noval socket", "fixing", 28.6, 28.6, TRADE),
    ("noval power socket", "fixing", 28.6, 28.6, TRADE),
    ("shielded noval socket", "fixing", 28.6, 28.6, TRADE),
    ("octal socket", "fixing", 38.1, 38.1, TRADE),
    ("mains inlet", "fixing", 40.0, 40.0, MAKERS),
    ("4 in loudspeaker", "fixing", 80, 82, FRAMES),
    ("5 in loudspeaker", "fixing", 95, 96, FRAMES),
    ("6.5 in loudspeaker", "fixing", 109, 110, FRAMES),
]  # fmt: skip


@pytest.mark.parametrize(("name", "label", "least", "most", "source"), DISTANCES)
def test_distances_are_those_of_their_sources(name: str, label: str, least: float, most: float, source: str) -> None:
    """Two neighbouring fixing holes stand as far apart as the source prints."""
    assert least - 0.006 <= apart(PARTS[name], label) <= most + 0.006, source


def test_a_toggle_switch_is_kept_from_turning() -> None:
    """By a notch in its hole, for a bush with a key or a washer bent into it, or by a ring with a tab in a hole of its
    own, which the ring covers and the nut does not; each row says which."""
    notched, ringed = PARTS["toggle switch"], PARTS["toggle switch with ring"]
    assert "bush with a key" in notched["source"] and "'toggle switch with ring'" in notched["source"]
    bush, tab = holes(ringed)
    (ring,), (nut,) = rooms(ringed, "flange"), rooms(ringed, "nut")
    assert inside(tab, footprint(ring)) and gap(tab, footprint(nut)) > 0 and gap(tab, bush) > 2


def test_xlr_screws_stand_on_one_diagonal() -> None:
    """19.0 mm apart across and 24.0 mm up, about the middle of the hole (maker's drawings)."""
    (x, y), other = map(middle, holes(PARTS["XLR connector"], "fixing"))
    assert (abs(x), abs(y)) == pytest.approx((9.5, 12.0)) and other == pytest.approx((-x, -y))


@pytest.mark.parametrize("name", ["potentiometer", "rotary switch"])
def test_the_tab_of_a_control_stands_where_the_trade_has_it(name: str) -> None:
    """12.7 to 13.5 mm from the shaft (trade practice, from memory)."""
    assert 12.7 <= math.hypot(*middle(holes(PARTS[name], "tab")[0])) <= 13.5


@pytest.mark.parametrize(("width", "stud"), [(66, 4.5), (84, 4.5), (96, 5.5), (120, 6.6)])
def test_upright_transformers_follow_the_lamination(width: float, stud: float) -> None:
    """Without waste: E and I of 6a x 5a, holes at 5a x 4a, a window of 3a x a on both sides of a leg of 2a."""
    part, a = PARTS[f"upright transformer EI{width}"], width / 6
    corners = {(round(x, 6), round(y, 6)) for x, y in map(middle, holes(part, "stud"))}
    assert corners == {(sx * 2.5 * a, sy * 2 * a) for sx in (-1, 1) for sy in (-1, 1)}
    assert {row["diameter"] for row in part["hole"]} == {stud}
    lamination, coil = rooms(part, "body", side="outside")[0], rooms(part, "body", side="inside")[0]
    assert lamination["size"] == [6 * a, 5 * a] and coil["size"] == [2 * a + 2 * a, 3 * a]
    opening = holes(part, "")[0]
    assert opening.bounds == pytest.approx((-2 * a - 1.5, -1.5 * a - 1.5, 2 * a + 1.5, 1.5 * a + 1.5))
    assert inside(footprint(coil), opening) and part["winding"] == 90


# Rooms that can be true ----------------------------------------------------------------------------------------------


@each_part
def test_holes_of_a_part_leave_sheet_between_them(part: Row) -> None:
    """At least 1 mm, under which a web lifts off beneath the cutter."""
    assert all(gap(one, other) >= 1 for one, other in combinations(holes(part), 2))


@each_part
def test_what_passes_goes_through_the_holes(part: Row) -> None:
    """What passes has body and tags within its openings, as they stand; what stays inside is larger than they are."""
    within = rooms(part, "body", "terminal", side="inside")
    if part["passes"]:
        assert part["fitted_from"] == "outside" and within
        assert all(any(inside(footprint(room), hole) for hole in holes(part)) for room in within)
    elif part["fitted_from"] == "inside":
        stays = rooms(part, "body", "terminal", "flange", side="inside")
        assert max(across(footprint(room)) for room in stays) > max(across(hole) for hole in holes(part))


@each_part
def test_what_sits_on_the_sheet_covers_its_hole(part: Row) -> None:
    """A nut, washer, bezel, lug or frame lies over a hole, and over it all round."""
    for room in rooms(part, "flange", "nut"):
        below = [hole for hole in holes(part) if holds(footprint(room), middle(hole))]
        assert below and all(inside(hole, footprint(room)) for hole in below)


@each_part
def test_a_fixings_nut_stands_clear_of_its_own_part(part: Row) -> None:
    """A nut under the sheet does not stand in a body of its part, other than what comes through its own hole."""
    for nut in rooms(part, "nut", side="inside"):
        (own,) = [hole for hole in holes(part) if holds(hole, centre(nut))]
        level = [room for room in rooms(part, "body", side="inside") if spans_meet(room, nut)]
        bodies = [footprint(room) for room in level]
        assert all(gap(footprint(nut), body) > 0 or inside(body, own) for body in bodies)


@each_part
def test_every_nut_can_be_turned(part: Row) -> None:
    """Over each nut is the room of its socket spanner: 1.35 x across flats + 2 mm wide, and long enough to be held."""
    nuts, spanners = rooms(part, "nut"), rooms(part, "spanner")
    assert len(nuts) == len(spanners)
    for nut in nuts:
        (spanner,) = [one for one in spanners if centre(one) == centre(nut) and one["side"] == nut["side"]]
        assert nut["diameter"] < spanner["diameter"] <= 1.35 * nut["diameter"] + 2
        assert spanner["reach"] >= nut["reach"] + 25


def test_traits_stand_on_what_they_are_about() -> None:
    """Live terminals have their room inside; what is hot glows; a strain relief holds its cable."""
    for part in PARTS.values():
        if "live terminals" in part["traits"]:
            assert rooms(part, "terminal", side="inside")
        if "mains" in part["traits"] and rooms(part, "terminal"):
            assert "live terminals" in part["traits"]
        if "hot" in part["traits"]:
            assert "glass" in part["traits"]
        if "strain relief" in part["traits"]:
            assert "cable" in part["traits"] and "grommet" not in part["traits"]
    assert having("fuse") == {"fuse holder", "fused mains inlet"}
    assert having("mains inlet") == {"mains inlet", "fused mains inlet", "mains cable", "strain relief"}
    assert having("earth stud") == {"earth stud"}


def having(trait: str) -> set[str]:
    return {name for name, part in PARTS.items() if trait in part["traits"]}

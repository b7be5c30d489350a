"""Paper, and a drawing laid over several sheets of it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from toolpaths.errors import UnknownName
from toolpaths.sheets import OVERLAP, PAPERS, paper_called, room, tiled

SIDES = st.floats(1, 2500)


def test_sizes_of_paper_are_those_of_the_standards():
    """A3 is two A4 side by side, sides in the ratio of the root of 2 to a millimetre; Letter and Legal in inches."""
    size = {paper.name: (paper.width, paper.height) for paper in PAPERS}
    assert size["A3"] == (size["A4"][1], 2 * size["A4"][0])
    assert size["A4"][0] * math.sqrt(2) == pytest.approx(size["A4"][1], abs=0.5)
    assert size["A4"][0] * size["A4"][1] == pytest.approx(1e6 / 16, rel=0.003)
    assert [side / 25.4 for side in (*size["Letter"], *size["Legal"])] == pytest.approx([8.5, 11, 8.5, 14])


def test_the_jobs_units_choose_the_paper():
    """Without a name a job in mm goes on A4 and one in inches on Letter; names are known in any letters."""
    assert [paper_called("", units).name for units in ("mm", "in")] == ["A4", "Letter"]
    assert paper_called("LEGAL", "mm").name == "Legal"
    with pytest.raises(UnknownName, match="did you mean A4"):
        paper_called("A44", "mm")


@given(SIDES, SIDES, st.sampled_from(PAPERS))
def test_tiles_cover_the_drawing_and_share_the_overlap(wide, high, paper):
    """Every point is on a sheet; neighbours share 10 mm; crosses are on two or four sheets, in what these share."""
    tiling = tiled((-5.0, 7.0, wide - 5.0, high + 7.0), paper)
    areas = {(tile.column, tile.row): tile.area for tile in tiling.tiles}
    assert len(areas) == tiling.columns * tiling.rows
    x0, y0, x1, y1 = zip(*areas.values(), strict=True)
    assert min(x0) <= -5.0 + 1e-6 and max(x1) >= wide - 5.0 - 1e-6
    assert min(y0) <= 7.0 + 1e-6 and max(y1) >= high + 7.0 - 1e-6
    for (column, row), area in areas.items():
        if right := areas.get((column + 1, row)):
            assert (area[2] - right[0], right[1], right[3]) == pytest.approx((OVERLAP, area[1], area[3]))
        if below := areas.get((column, row + 1)):
            assert (below[3] - area[1], below[0], below[2]) == pytest.approx((OVERLAP, area[0], area[2]))
    places = [(round(x, 4), round(y, 4)) for tile in tiling.tiles for x, y in tiling.crosses(tile)]
    assert bool(places) == (len(areas) > 1)
    for x, y in set(places):
        on = sum(a[0] + 4.99 < x < a[2] - 4.99 and a[1] + 4.99 < y < a[3] - 4.99 for a in areas.values())
        assert places.count((x, y)) == on and on in (2, 4)


def test_sheets_lie_the_way_that_takes_fewer():
    """A wide panel lies on one sheet on its side; one as large as an upright window needs one upright sheet."""
    across = tiled((0, 0, 260, 150), PAPERS[0])
    assert (len(across.tiles), across.width) == (1, 297)
    wide, high = room(PAPERS[0])
    upright = tiled((0, 0, wide, high), PAPERS[0])
    assert (len(upright.tiles), upright.width) == (1, 210)
    assert len(tiled((0, 0, wide + 0.01, high), PAPERS[0]).tiles) == 2


def test_a_shape_is_kept_whole_where_the_sheets_have_room():
    """A hole in the middle of a panel of two sheets is cut apart by sheets in the middle, so they are moved aside."""
    wide = room(PAPERS[0])[0] * 1.6
    middle = (wide / 2 - 15, 100, wide / 2 + 15, 130)

    def whole(tiling):
        return any(tile.area[0] <= middle[0] and middle[2] <= tile.area[2] for tile in tiling.tiles)

    bounds = (0, 0, wide, 240)
    assert len(tiled(bounds, PAPERS[0]).tiles) == 2
    assert not whole(tiled(bounds, PAPERS[0]))
    assert whole(tiled(bounds, PAPERS[0], [middle]))

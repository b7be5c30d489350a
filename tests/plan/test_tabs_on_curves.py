"""Where holding tabs go on curves that many arcs follow."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from toolpaths.geometry import shapes
from toolpaths.geometry.biarc import arcs_along
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.curve import Ellipse
from toolpaths.geometry.join import closed_run
from toolpaths.geometry.segment import TURN
from toolpaths.plan.tab_places import places
from toolpaths.tolerance import DRAWN_CURVE


def oval(a: float, b: float, start: int = 0) -> Contour:
    segments = arcs_along(Ellipse((0.0, 0.0), (a, 0.0), (0.0, b), (0.0, TURN)), DRAWN_CURVE)
    closed = closed_run([tuple(segments)])
    return Contour((*closed[start:], *closed[:start]))


@pytest.mark.parametrize("start", [0, 5, 17])
def test_tabs_stand_evenly_round_an_oval(start) -> None:
    """On an oval without a straight run the tabs are spread all round, wherever its contour begins."""
    contour = oval(40.0, 30.0, start)
    found = places(contour, 4, 6.0, 1.5)
    assert found is not None and len(found) == 4
    gaps = [b - a for a, b in pairwise([*found, found[0] + contour.perimeter])]
    assert max(gaps) - min(gaps) < contour.perimeter / 12


def test_no_tab_stands_where_a_curve_is_tight() -> None:
    """On a slender oval tabs keep to its long sides, off the tips that no saw blade follows."""
    contour = oval(60.0, 20.0)
    found = places(contour, 3, 6.0, 1.5)
    assert found is not None
    for at in found:
        x, y = contour.point_at(at)
        # the radius of curvature of an ellipse (plane geometry)
        bend = (60**4 * y**2 + 20**4 * x**2) ** 1.5 / (60 * 20) ** 4
        assert bend >= 12.5
    assert places(oval(11.0, 10.0), 3, 6.0, 1.5) is None  # nowhere as gentle as the smallest round opening with tabs


def test_corners_of_rounded_shapes_stay_free() -> None:
    """A rounded rectangle has its tabs on its straight sides, as ever."""
    contour = shapes.rounded_rectangle((0.0, 0.0), 80.0, 50.0, 20.0)
    found = places(contour, 4, 6.0, 1.5)
    assert found is not None
    for at in found:
        tx, ty = contour.tangent_at(at)
        assert math.isclose(abs(tx) + abs(ty), 1.0, abs_tol=1e-9)

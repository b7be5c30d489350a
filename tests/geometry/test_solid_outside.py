"""Distances of solids against a general-purpose optimiser that shares nothing with ours, on solids turned at random."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy.optimize import lsq_linear, minimize

from toolpaths.geometry.shapes import circle
from toolpaths.geometry.solid import Frame, Prism, box_of, distance, overlap


def turned_frame(draw: random.Random, reach: float) -> tuple[Frame, np.ndarray]:
    """A frame in any direction (a random unit quaternion), its origin within ``reach``."""
    w, x, y, z = unit4([draw.gauss(0, 1) for _ in range(4)])
    matrix = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    origin = tuple(draw.uniform(-reach, reach) for _ in range(3))
    columns = [tuple(float(value) for value in matrix[:, axis]) for axis in range(3)]
    return Frame(origin, *columns), matrix


def unit4(values: list[float]) -> list[float]:
    return [value / math.hypot(*values) for value in values]


@pytest.mark.parametrize("seed", range(4))
def test_random_boxes_against_bounded_least_squares(seed: int) -> None:
    """Boxes in any direction: scipy's bounded least squares over the places in both boxes finds the same distance."""
    draw = random.Random(seed)
    met = 0
    for _ in range(60):
        solids, matrices, origins, halves = [], [], [], []
        for _ in range(2):
            frame, matrix = turned_frame(draw, 40)
            half = [draw.uniform(0.5, 30) for _ in range(3)]
            solids.append(box_of((-half[0], -half[1], half[0], half[1]), -half[2], half[2], frame))
            matrices.append(matrix)
            origins.append(np.array(frame.origin))
            halves += half
        both = np.hstack([matrices[0], -matrices[1]])
        found = lsq_linear(both, origins[1] - origins[0], (-np.array(halves), np.array(halves)), method="bvls")
        expected = float(np.linalg.norm(found.fun))
        assert distance(*solids) == pytest.approx(expected, abs=1e-7)
        assert distance(*reversed(solids)) == pytest.approx(expected, abs=1e-7)
        assert (overlap(*solids) > 1e-7) == (expected < 1e-9)
        met += expected < 1e-9
    assert 5 < met < 55


@pytest.mark.parametrize("seed", range(3))
def test_random_cylinders_against_a_general_minimiser(seed: int) -> None:
    """Cylinders in any direction: scipy's SLSQP over the places in both finds nothing nearer, and the same."""
    draw = random.Random(100 + seed)
    for _ in range(12):
        solids, parts = [], []
        for side in (-1, 1):
            frame, matrix = turned_frame(draw, 20)
            frame = Frame((frame.origin[0] + side * 45, *frame.origin[1:]), frame.x, frame.y, frame.normal)
            radius, half = draw.uniform(2, 20), draw.uniform(2, 20)
            solids.append(Prism(frame, circle((0, 0), 2 * radius), -half, half))
            parts.append((np.array(frame.origin), matrix, radius, half))

        def between(places: np.ndarray, parts: list = parts) -> np.ndarray:
            (o1, m1, _, _), (o2, m2, _, _) = parts
            return o1 + m1 @ places[:3] - o2 - m2 @ places[3:]

        limits = [
            {"type": "ineq", "fun": lambda p, i=i, r=parts[i][2]: r * r - p[3 * i] ** 2 - p[3 * i + 1] ** 2}
            for i in range(2)
        ]
        bounds = [(-p[2], p[2]) if axis < 2 else (-p[3], p[3]) for p in parts for axis in range(3)]
        best = min(
            float(np.linalg.norm(between(minimize(
                lambda p: float(between(p) @ between(p)), np.full(6, start), bounds=bounds, constraints=limits,
                method="SLSQP", options={"ftol": 1e-12, "maxiter": 500},
            ).x)))
            for start in (0.0, 0.5, -0.5)
        )  # fmt: skip
        assert distance(*solids) == pytest.approx(best, abs=2e-4)
        assert distance(*solids) <= best + 1e-6

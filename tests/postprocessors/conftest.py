"""Pages as ink: PDFs drawn by poppler's ``pdftoppm`` at 600 dots to the inch, and measured in mm.

Debian package: ``poppler-utils``. Where it is missing the tests skip, and say so; they fail instead where ``CI`` is
set, or ``HOLEWRIGHT_PDFTOPPM=required``.
"""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.conftest import PAGES, do_without

DPI = 600
DOT = 25.4 / DPI
"""One dot, mm."""

XY = tuple[float, float]


@dataclass(frozen=True)
class Ink:
    """A page: how dark each dot is, 0 to 1; the first row is the top. Places are mm from the lower left corner."""

    dark: NDArray[np.float64]

    @property
    def size(self) -> XY:
        """Width and height, mm."""
        return self.dark.shape[1] * DOT, self.dark.shape[0] * DOT

    def cut(self, x0: float, y0: float, x1: float, y1: float) -> tuple[NDArray[np.float64], float, float]:
        """The dots of a box, and the place of its left and top edge."""
        high = self.dark.shape[0]
        left, right = (round(x / DOT) for x in (x0, x1))
        top, foot = (round(high - y / DOT) for y in (y1, y0))
        return self.dark[top:foot, left:right], left * DOT, (high - top) * DOT

    def upright(self, x0: float, y0: float, x1: float, y1: float) -> float:
        """x of the middle of the upright line that is the darkest in the box."""
        dots, left, _ = self.cut(x0, y0, x1, y1)
        return left + _peak(dots.sum(axis=0))

    def level(self, x0: float, y0: float, x1: float, y1: float) -> float:
        """y of the middle of the level line that is the darkest in the box."""
        dots, _, top = self.cut(x0, y0, x1, y1)
        return top - _peak(dots.sum(axis=1))

    def circle(self, near: XY, radius: float, within: float = 0.6) -> tuple[XY, float]:
        """Centre and radius of the circle through the dots about ``radius`` from ``near``, fitted by least squares.

        What lies near its axes is left out: there centre lines cross it.
        """
        reach = radius + within
        dots, left, top = self.cut(near[0] - reach, near[1] - reach, near[0] + reach, near[1] + reach)
        rows, columns = np.nonzero(dots > 0.5)
        x, y = left + (columns + 0.5) * DOT, top - (rows + 0.5) * DOT
        away = np.hypot(x - near[0], y - near[1])
        clear = (np.abs(x - near[0]) > radius / 3) & (np.abs(y - near[1]) > radius / 3)
        keep = (np.abs(away - radius) < within) & clear
        assert keep.sum() > 100, f"no circle of {radius} mm about {near}"
        x, y = x[keep], y[keep]
        found, *_ = np.linalg.lstsq(np.column_stack((2 * x, 2 * y, np.ones_like(x))), x**2 + y**2, rcond=None)
        cx, cy, rest = map(float, found)
        return (cx, cy), math.sqrt(rest + cx**2 + cy**2)


def _peak(sums: NDArray[np.float64]) -> float:
    """The middle of the ink about the darkest line, in mm from the first."""
    best = int(np.argmax(sums))
    low = max(0, best - 6)
    near = sums[low : best + 7]
    near = np.where(near > near.max() / 2, near, 0)
    return (low + float((np.arange(len(near)) * near).sum() / near.sum()) + 0.5) * DOT


def poppler(tool: str, *arguments: str, pdf: bytes) -> bytes:
    """What one of poppler's tools says of a PDF; the test ends where it is missing."""
    if shutil.which(tool) is None:
        do_without(f"not on the path: {tool} (Debian package poppler-utils)", PAGES)
    return subprocess.run([tool, *arguments], input=pdf, capture_output=True, check=True).stdout


@pytest.fixture
def printed() -> Callable[[bytes, int], Ink]:
    """Draws a page, counted from 1, of a PDF."""

    def draw(pdf: bytes, number: int) -> Ink:
        page = str(number)
        picture = poppler("pdftoppm", "-r", str(DPI), "-gray", "-f", page, "-l", page, "-", pdf=pdf)
        kind, wide, high, most = picture.split(maxsplit=4)[:4]
        assert (kind, most) == (b"P5", b"255")
        dots = np.frombuffer(picture[-int(wide) * int(high) :], dtype=np.uint8).reshape(int(high), int(wide))
        return Ink(1 - dots / 255)

    return draw


@pytest.fixture
def plotted(tmp_path: Path, printed: Callable[[bytes, int], Ink]) -> Callable[[str], Ink]:
    """Draws a plotter's SVG as it fills its sheet: a browser lays it on a larger page, and poppler draws that."""
    if shutil.which("chromium") is None:
        do_without("not on the path: chromium (Debian package chromium)")

    def draw(svg: str) -> Ink:
        size = re.search(r'height="([0-9.]+)mm".* width="([0-9.]+)mm"', svg[: svg.index(">")])
        assert size
        page = "@page { size: 18in 18in; margin: 0 } body { margin: 0 } svg { display: block }"
        (tmp_path / "sheet.html").write_text(f"<style>{page}</style>{svg}", encoding="utf-8")
        subprocess.run(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}",
             "--no-pdf-header-footer", f"--print-to-pdf={tmp_path / 'sheet.pdf'}", (tmp_path / "sheet.html").as_uri()],
            capture_output=True, check=True,
        )  # fmt: skip
        ink = printed((tmp_path / "sheet.pdf").read_bytes(), 1)
        assert ink.size == pytest.approx((18 * 25.4, 18 * 25.4), abs=DOT)
        return Ink(ink.dark[: round(float(size[1]) / DOT), : round(float(size[2]) / DOT)])

    return draw


@pytest.fixture
def words() -> Callable[[bytes], list[str]]:
    """The words of each page of a PDF, as its text is found when one searches it."""

    def search(pdf: bytes) -> list[str]:
        return poppler("pdftotext", "-raw", "-", "-", pdf=pdf).decode().split("\f")[:-1]

    return search

"""The setup sheet as the browser prints it and shows it on a telephone: Debian's chromium, without a window.

Packages ``chromium`` and ``poppler-utils``. Where they are missing the tests skip, and say so; they fail instead where
``CI`` is set, or ``HOLEWRIGHT_BROWSER=required``.
"""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BROWSER, PAGES, do_without
from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.job.load import read_job

READ = Callable[..., Job]
SAMPLES = Path(__file__).parents[2] / "sample_jobs"
TITLE = 'Fernhill "</style>" & sons \\ amp'

JOB = """
format = 1
title = 'TITLE'
units = "UNITS"
machine = "bench mill"
[[panel]]
name = "top"
material = "mild steel"
thickness = "1.2 mm"
width = "240 mm"
height = "120 mm"
[[panel.hole]]
at = ["20 mm", "20 mm"]
diameter = "22 mm"
[[panel.cutout]]
at = ["150 mm", "60 mm"]
width = "60 mm"
height = "40 mm"
"""


def programs(*names: str) -> None:
    """Skips where one is missing, or fails where it is required."""
    for name in names:
        if shutil.which(name) is None:
            do_without(f"not on the path: {name}", BROWSER if name == "chromium" else PAGES)


def chromium(folder: Path, *arguments: str) -> str:
    flags = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}")
    done = subprocess.run(["chromium", *flags, *arguments], capture_output=True, text=True, timeout=120, check=False)
    return done.stdout


def sheet_of(job: Job) -> str:
    (page,) = (file.content.decode() for file in pipeline.make(job, posts=["gcode"]).files if "setup" in file.path)
    return page


@pytest.mark.parametrize(("units", "size"), [("mm", "595 x 842"), ("in", "612 x 792")])
def test_it_prints_on_the_shops_paper_with_its_title_on_every_page(
    job_of: READ, tmp_path: Path, units: str, size: str
) -> None:
    """A job in mm prints on A4, one in inches on Letter; each page bears the title, whatever letters it has, and its
    own number among all."""
    programs("chromium", "pdfinfo", "pdftotext")
    page, pdf = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    page.write_text(sheet_of(job_of(JOB.replace("TITLE", TITLE).replace("UNITS", units))), encoding="utf-8")
    chromium(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    facts = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    wide, high = (round(float(side)) for side in re.findall(r"Page size: +([0-9.]+) x ([0-9.]+)", facts)[0])
    assert f"{wide} x {high}" == size
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    pages = text.removesuffix("\f").split("\f")
    assert len(pages) > 2
    for number, words in enumerate(pages, 1):
        head = words.strip().splitlines()[0]
        assert TITLE in head and f"page {number} of {len(pages)}" in head


@pytest.mark.parametrize("sample", ["rack_cooling_panel", "headphone_amplifier", "two_driver_baffle"])
def test_it_does_not_overflow_a_telephone(tmp_path: Path, sample: str) -> None:
    """In 360 pixels nothing of the page is wider than the page; wide tables scroll by themselves."""
    programs("chromium")
    inner = html.escape(sheet_of(read_job(SAMPLES / f"{sample}.toml")))
    outer = tmp_path / "outer.html"
    outer.write_text(
        f'<!DOCTYPE html><title>-</title><iframe id=f style="width:360px;height:700px;border:0" srcdoc="{inner}">'
        "</iframe><script>f.onload = () => { const d = f.contentDocument.documentElement;"
        "document.title = `${d.scrollWidth} ${d.clientWidth}`; }</script>",
        encoding="utf-8",
    )
    shown = chromium(tmp_path, "--dump-dom", "--virtual-time-budget=5000", outer.as_uri())
    widths = re.search(r"<title>(\d+) (\d+)</title>", shown)
    assert widths is not None, shown[:200]
    assert 300 < int(widths[2]) <= 360 and int(widths[1]) <= int(widths[2])

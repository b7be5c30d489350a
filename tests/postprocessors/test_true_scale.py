"""True scale: what a printer or plotter needs so that what it draws is true; measured in the sheets that come of it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from toolpaths import cli, listing, pipeline
from toolpaths.errors import BadInput, UnknownName
from toolpaths.job.load import read_job
from toolpaths.tables import load

ROOT = Path(__file__).resolve().parents[2]
HEADPHONE = ROOT / "sample_jobs" / "headphone_amplifier.toml"
X, Y = 1.02, 0.985
SCALED = f'format = 1\nname = "small router"\n[scale]\nx = {X}\ny = {Y}\n'
PRINTER = f'format = 1\nname = "study printer"\nsource = "measured"\n[scale]\nx = {X}\ny = {Y}\n'
DOT = 25.4 / 600
MARGIN, SIDE, FOOT = 10.0, 9.0, 15.0
"""Of a sheet: bare paper, room of the upright bar, room of the other, mm."""


def built(**more):
    """The sample, as ``replace`` changes it, with all usual files and programs for a pen."""
    return pipeline.make(replace(read_job(HEADPHONE), **more), posts=("gcode", "plotter", "template"))


def files(made) -> dict[str, bytes]:
    return {one.path: one.content for one in made.files}


@pytest.fixture
def router(tmp_path: Path):
    """The built-in router with factors."""
    (tmp_path / "mine.toml").write_text(SCALED)
    return load.machine("mine.toml", tmp_path)


def test_a_printed_bar_is_longer_by_its_factor(router, printed, words) -> None:
    """In the printed page, drawn at 600 dots to the inch, either bar is its stated length times its factor, so that on
    the printer that was measured it comes out true; the page says the factors, and its paper stays A4."""
    pdf = files(built(machine=router))["template.pdf"]
    said = words(pdf)
    lying = upright = 0
    for number, text in enumerate(said, start=1):
        ink = printed(pdf, number)
        wide, high = ink.size
        assert sorted(ink.size) == pytest.approx([210.0, 297.0], abs=0.1)
        fx, fy = (X, Y) if wide < high else (Y, X)
        lying, upright = lying + (wide > high), upright + (wide < high)
        left, bar = MARGIN + SIDE, MARGIN + 8.0
        ends = [ink.upright((left + at - 2) * fx, (bar + 1) * fy, (left + at + 2) * fx, (bar + 1.9) * fy)
                for at in (0.0, 100.0)]  # fmt: skip
        assert ends[1] - ends[0] == pytest.approx(100 * fx, abs=2 * DOT)
        low, beside = MARGIN + FOOT, MARGIN + 5.0
        levels = [ink.level((beside - 1.9) * fx, (low + at - 2) * fy, (beside - 1) * fx, (low + at + 2) * fy)
                  for at in (0.0, 101.6)]  # fmt: skip
        assert levels[1] - levels[0] == pytest.approx(101.6 * fy, abs=2 * DOT)
        assert f"Scaled by {fx:.4f} across and {fy:.4f} up for small router." in " ".join(text.split())
        if (lying and upright) or number > 5:
            break
    assert upright


def test_plots_are_scaled_and_programs_never(router) -> None:
    """Plots and template are scaled; programs, schedule and simulation are as without factors, to the byte."""
    plain, scaled = files(built()), files(built(machine=router))
    assert plain.keys() == scaled.keys()
    for path in plain:
        same = plain[path] == scaled[path]
        assert same == (not path.endswith((".svg", ".pdf"))), path
    made = {one.path: one.facts for one in built(machine=router).files}
    assert made["top.svg"]["scale"] == made["template.pdf"]["scale"] == [X, Y]
    assert "scale" not in made["top.nc"]


def test_a_plotted_bar_is_longer_by_its_factor(tmp_path: Path) -> None:
    """In the SVG the check bars of 100 mm and 4 in have their stated lengths times the factor of their direction."""
    text = 'format = 1\nname = "pen plotter"\n[scale]\nx = 1.004\ny = 0.998\n'
    (tmp_path / "mine.toml").write_text(text)
    (svg,) = [one for one in built(machine=load.machine("mine.toml", tmp_path)).files if one.path == "rear.svg"]
    bars = re.search(r'id="check-bars".*?</g>', svg.content.decode())[0]
    points = [[tuple(map(float, p.split(","))) for p in re.findall(r"[ML]([-\d.]+,[-\d.]+)", d)]
              for d in re.findall(r' d="([^"]+)"', bars)]  # fmt: skip
    lengths = sorted((abs(b[0] - a[0]), abs(b[1] - a[1])) for way in points for a, b in pairwise(way))
    across = [x for x, y in lengths if y < 1e-3 and x > 50]
    up = [y for x, y in lengths if x < 1e-3 and y > 50]
    assert across == pytest.approx([100 * 1.004, 101.6 * 1.004], abs=2e-4)
    assert up == pytest.approx([100 * 0.998], abs=2e-4)
    assert "Scaled by 1.0040 across and 0.9980 up for pen plotter." in svg.content.decode()


def test_the_worked_example(tmp_path: Path) -> None:
    """A bar of 100 mm that measures 99.6 mm on a device out by that much measures 100 mm with 100 / 99.6."""
    device = 99.6 / 100
    factor = round(100 / 99.6, 4)
    assert device * 100 * factor == pytest.approx(100.0, abs=0.005)
    (row,) = listing.machines("pen plotter", tmp_path)
    assert f"{factor:.4f}" in row["scale"]["example"] and "100 / what it measures" in row["scale"]["across"]


def test_whose_factors_serve(tmp_path: Path, router) -> None:
    """The template has the printer's, and so has a plot where the machine cuts; a plotter's drawing has its own."""
    (tmp_path / "printer.toml").write_text(PRINTER)
    printer = load.printer("printer.toml", tmp_path)
    (tmp_path / "plotter.toml").write_text('format = 1\nname = "pen plotter"\n[scale]\nx = 1.01\n')
    plotter = load.machine("plotter.toml", tmp_path)

    def whose(**more):
        facts = {one.path: one.facts.get("scaled_for") for one in built(**more).files}
        return facts["top.svg"], facts["template.pdf"]

    assert whose(printer=printer) == ("study printer", "study printer")
    assert whose(machine=router) == ("small router", "small router")
    assert whose(machine=router, printer=printer) == ("study printer", "study printer")
    assert whose(machine=plotter, printer=printer) == ("pen plotter", "study printer")
    assert whose() == (None, None)


def test_a_job_names_its_printer(tmp_path: Path) -> None:
    """``printer`` in the job, or ``--printer``, names a printer's file; one that is not there, or odd, is one error."""
    job = tmp_path / "job.toml"
    text = HEADPHONE.read_text(encoding="utf-8").replace("format", 'printer = "printer.toml"\nformat', 1)
    job.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=r"printer.*printer\.toml"):
        read_job(job)
    (tmp_path / "printer.toml").write_text(PRINTER)
    assert read_job(job).printer.scale == (X, Y)
    with pytest.raises(UnknownName):
        read_job(HEADPHONE, printer="no such printer")
    with pytest.raises(SystemExit) as end:
        cli.main(["build", str(HEADPHONE), "-o", str(tmp_path / "out"), "--post", "template", "--panel", "rear",
                  "--printer", str(tmp_path / "printer.toml"), "--quiet"])  # fmt: skip
    assert end.value.code == cli.DONE
    for wrong, where in (("x = 1.2", "scale.x"), ("x = 0.85", "scale.x"), ("z = 1", "scale.z"), ('x = "1"', "scale.x")):
        (tmp_path / "printer.toml").write_text(PRINTER.replace(f"x = {X}", wrong))
        with pytest.raises(BadInput, match=re.escape(where)):
            read_job(job)

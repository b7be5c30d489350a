from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.errors import UnknownName
from toolpaths.job.load import read_job

SAMPLE = Path(__file__).parent.parent / "sample_jobs" / "headphone_amplifier.toml"

PLATE = """
format = 1
title = "plate"
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 100
height = 60
"""


@pytest.fixture(scope="module", params=["small router", "bench mill"])
def made(request):
    return pipeline.make(read_job(SAMPLE, machine=request.param))


def test_the_sample_builds_with_every_program_proved(made) -> None:
    """Both faces come out on both machines as programs, plots and papers, without any finding of severity error."""
    assert {file.path for file in made.files} == {
        "top.nc",
        "rear.nc",
        "top.dry.nc",
        "rear.dry.nc",
        "top.svg",
        "rear.svg",
        "top.dxf",
        "rear.dxf",
        "template.pdf",
        "setup_sheet.html",
        "drill_schedule.csv",
        "simulation.html",
    }
    assert not [finding for finding in made.findings if finding.severity != "note"]


def test_the_same_job_gives_the_same_bytes(made) -> None:
    """Two builds of one job differ in no byte."""
    again = pipeline.make(made.job)
    assert [(file.path, file.content) for file in again.files] == [(file.path, file.content) for file in made.files]


def test_no_operation_leaves_the_spindles_range_or_the_tables_limit(made) -> None:
    """Every S word of every program lies in the machine's range; each cutter's surface speed within the table's."""
    import math

    machine, steel = made.job.machine, made.job.materials["mild steel"]
    for file in made.files:
        if file.facts.get("kind") != "program":
            continue
        cutter = None
        for line in file.content.decode().splitlines():
            if line.startswith("T"):
                cutter = made.job.cutters[int(line[1:])]
            if line.startswith("S"):
                speed = float(line.split()[0][1:])
                assert machine.min_rpm <= speed <= machine.max_rpm
                width = cutter.diameter if cutter.kind != "spot drill" else 1.0
                assert math.pi * width * speed / 1000 <= steel.speed(cutter.kind, cutter.material) * 1.1


def test_machines_choose_their_own_methods() -> None:
    """The router bores the 3.2 mm screw holes in steel, since it turns too fast for the drill; the mill drills them."""
    router = pipeline.make(read_job(SAMPLE, machine="small router"), panels=["top"], posts=["gcode"])
    mill = pipeline.make(read_job(SAMPLE, machine="bench mill"), panels=["top"], posts=["gcode"])
    assert b"(bore B1" in router.files[0].content
    assert b"(drill B1" in mill.files[0].content


def test_a_finding_of_severity_error_leaves_no_files(job_of) -> None:
    """A hole that no cutter can make is named with its cure, and there is nothing to write."""
    job = job_of(PLATE + "[[panel.cutout]]\nat = [50, 30]\nwidth = 12\nheight = 12\ncorner_radius = 0.2\n")
    made = pipeline.make(job)
    assert not made.files
    (error,) = [finding for finding in made.findings if finding.severity == "error"]
    assert error.code == "no-cutter"
    assert "0.4 mm" in error.message


def test_cuts_beyond_the_travel_are_found_before_metal_is(job_of) -> None:
    """A panel wider than the machine's travel is an error that names both figures."""
    wide = PLATE.replace("width = 100", "width = 420\ndivide = false")
    holes = "".join(f"[[panel.hole]]\nat = [{x}, 30]\ndiameter = 3.2\n" for x in (20, 400))
    found = pipeline.check(job_of(wide + holes, machine="small router"))
    (error,) = [finding for finding in found if finding.severity == "error"]
    assert error.code == "beyond-travel"
    assert "300 mm" in error.message and "38" in error.message
    assert "leave out divide = false" in error.message


def test_a_hole_too_near_to_a_clamp_for_the_collet_nut_is_found(job_of) -> None:
    """A hole beside a clamp that cutter and shank clear but the nut does not is an error with the distance to move."""
    text = PLATE.replace("height = 60", "height = 60\nclamps = [{ x = 0, y = 20, width = 20, height = 20 }]")
    hole = "[[panel.hole]]\nat = [{}, 30]\ndiameter = 3.2\n"
    near = pipeline.check(job_of(text + hole.format(27)))
    (error,) = [finding for finding in near if finding.severity == "error"]
    assert error.code == "under-clamp"
    assert "4.0 mm away" in error.message  # the nut 3 mm over it, and 1 mm of air
    assert not [f for f in pipeline.check(job_of(text + hole.format(32))) if f.severity == "error"]


def test_text_of_the_job_never_becomes_code(job_of) -> None:
    """A title and labels made of code stay within comments, and the piece is the same."""
    evil = PLATE.replace('title = "plate"', 'title = "x)\\nG0 Z-50\\n(M3 S99999"')
    evil += '[[panel.hole]]\nat = [50, 30]\ndiameter = 3.2\nlabel = ")\\nG1 Z-9 F9 ("\n'
    made = pipeline.make(job_of(evil))
    text = made.files[0].content.decode()
    code = [line for line in text.splitlines() if not line.startswith("(")]
    assert not any("Z-50" in line or "99999" in line or "F9 " in line for line in code)
    assert made.files


def test_an_unknown_panel_is_bad_input(job_of) -> None:
    """A panel that is not there is said in one line with those that are."""
    with pytest.raises(UnknownName, match="known are plate"):
        pipeline.check(job_of(PLATE), panels=["plat"])


def test_verify_names_the_line_of_a_text_that_cannot_be_read(job_of) -> None:
    """An unreadable program is a finding with its line, not a traceback."""
    (finding,) = pipeline.verify_texts(job_of(PLATE), "plate", [("plate.nc", "G21\nG999\n")])
    assert (finding.code, finding.line) == ("unreadable", 2)


@pytest.mark.parametrize("made", ["small router"], indirect=True)
def test_the_picture_kept_with_the_samples_is_what_the_tool_draws(made) -> None:
    """The SVG that README shows is, byte for byte, the plot of the sample's top plate for the job's own machine."""
    assert read_job(SAMPLE).machine == made.job.machine
    (plot,) = [file for file in made.files if file.path == "top.svg"]
    kept = SAMPLE.with_name("headphone_amplifier_top.svg").read_bytes()
    assert plot.content == kept


SHEETS = {
    "aluminium": 2, "mild steel": 1.2, "stainless steel": 1, "plywood": 9, "mdf": 12, "fibreglass board": 2,
}  # fmt: skip


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize("material", SHEETS)
def test_every_material_builds_on_every_machine_or_is_refused(job_of, machine, material) -> None:
    """A plate of every material comes out proved, or with the finding that no cutter of the table can make a hole."""
    plate = PLATE.replace('"aluminium"', f'"{material}"').replace("thickness = 2", f"thickness = {SHEETS[material]}")
    plate += "[[panel.hole]]\nat = [25, 30]\ndiameter = 3.2\n"
    plate += "[[panel.slot]]\nat = [25, 48]\nlength = 16\nwidth = 6\n"
    plate += "[[panel.cutout]]\nat = [68, 30]\nwidth = 36\nheight = 28\ncorner_radius = 4\n"
    made = pipeline.make(job_of(plate, machine=machine))
    errors = [finding for finding in made.findings if finding.severity == "error"]
    assert bool(made.files) != bool(errors)
    if material == "fibreglass board" and machine != "bench mill":
        # a router turns too fast for the HSS drill, and the thinnest router bit is too wide to bore 3.2 mm
        (error,) = errors
        assert error.code == "no-cutter" and "rev/min" in error.message and "2.78 mm" in error.message
    else:
        assert not errors


def test_a_piece_that_differs_from_the_design_is_told_with_both_figures(job_of) -> None:
    """``measured`` gives a note that names each figure that differs, and none where it is as designed."""
    hole = "[[panel.hole]]\nat = [50, 30]\ndiameter = 3.2\n"
    real = PLATE.replace("height = 60", "height = 60\nmeasured = { width = 99.4, height = 60, thickness = 1.95 }")
    (note,) = [finding for finding in pipeline.check(job_of(real + hole)) if finding.code == "measured"]
    assert "width 99.4 mm instead of 100 mm, thickness 1.95 mm instead of 2 mm" in note.message
    assert "height" not in note.message
    assert not [finding for finding in pipeline.check(job_of(PLATE + hole)) if finding.code == "measured"]


SAMPLES = sorted(SAMPLE.parent.glob("*.toml"))


def with_strips(path: Path, **options: str) -> tuple[pipeline.Made, pipeline.Made]:
    """A sample built without and with its fit strips; the crowded one in the size that builds."""
    job = read_job(path, size="clear" if path.stem == "crowded_chassis" else None, **options)
    return pipeline.make(job), pipeline.make(job, fit_strip=True)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_fit_strips_are_built_and_proved_beside_the_panels(path: Path) -> None:
    """Each strip has its program, air pass and drawing, its rows and its page; ``verify`` finds no fault in its
    program by the strip's name; programs and drawings of the panels are what they are without it, to the byte."""
    without, made = with_strips(path)
    names = [panel.name for panel in made.layout.panels if panel.fit_strip]
    assert names
    files = {file.path: file for file in made.files}
    new = {f"{name}{end}" for name in names for end in (".nc", ".dry.nc", ".svg", ".dxf")}
    assert set(files) == new | {file.path for file in without.files}
    papers = {"template.pdf", "setup_sheet.html", "drill_schedule.csv", "simulation.html"}
    assert all(files[file.path].content == file.content for file in without.files if file.path not in papers)
    assert all(files[file.path].facts == file.facts for file in without.files if file.path not in papers)
    assert files["template.pdf"].facts["panels"] == [panel.name for panel in made.layout.panels]
    sheet = files["setup_sheet.html"].content.decode()
    rows = files["drill_schedule.csv"].content.decode()
    before, after = (
        [row | {"bench steps": ""} for row in csv.DictReader(io.StringIO(text))]  # the strips' own come first
        for text in (next(one for one in without.files if one.path == "drill_schedule.csv").content.decode(), rows)
    )
    assert after[: len(before)] == before
    for name in names:
        text = files[f"{name}.nc"].content.decode()
        assert files[f"{name}.nc"].facts["panel"] == name
        assert pipeline.verify_texts(made.job, name, [(f"{name}.nc", text)]) == ()
        dry = files[f"{name}.dry.nc"].content.decode()
        assert pipeline.verify_texts(made.job, name, [(f"{name}.dry.nc", dry)]) == ()
        half = "\n".join(text.splitlines()[: text.count("\n") // 2])
        assert pipeline.verify_texts(made.job, name, [(f"{name}.nc", half)]), "half a strip is no strip"
        assert f"<h2>{name}: setup 1" in sheet and f",{name}," in rows


@pytest.mark.parametrize("machine", ["bench mill", "mill with tool changer", "pen plotter"])
def test_fit_strips_are_for_every_machine(machine: str) -> None:
    """On a mill, on one in inches, and on a plotter, where it is drawn alone, a strip is made as a panel is."""
    without, made = with_strips(SAMPLE, machine=machine)
    new = {file.path for file in made.files} - {file.path for file in without.files}
    programs = set() if machine == "pen plotter" else {"fit strip mild steel.nc", "fit strip mild steel.dry.nc"}
    assert new == programs | {"fit strip mild steel.svg", "fit strip mild steel.dxf"}
    assert not [finding for finding in made.findings if finding.severity == "error"]


def test_a_fit_strip_is_made_alone_by_its_name() -> None:
    """Named, it is made without its flag, even where the panels have errors; with the flag all strips come to the
    panels that are named."""
    job = read_job(SAMPLE.parent / "crowded_chassis.toml")
    assert pipeline.make(job).files == ()
    made = pipeline.make(job, panels=["fit strip mild steel"], posts=["gcode"])
    assert [file.path for file in made.files if file.facts["kind"] == "program"] == ["fit strip mild steel.nc"]
    both = pipeline.make(read_job(SAMPLE), panels=["rear"], fit_strip=True, posts=["plotter"])
    assert [panel.name for panel in both.layout.panels] == ["rear", "fit strip mild steel"]
    with pytest.raises(UnknownName, match="fit strip mdf"):
        pipeline.make(read_job(SAMPLE), panels=["fit strip mdf"])

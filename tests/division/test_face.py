"""A chassis face longer than the machine, with a cutout across the division: two setups, one piece."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.cli import main
from toolpaths.division.board import pin_length
from toolpaths.division.telling import steps
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.motion import Rapid
from toolpaths.reread import read

FACE = """
format = 1
title = "long face"
units = "mm"
machine = "small router"
[[panel]]
name = "face"
material = "aluminium"
thickness = 2
width = 420
height = 180
{keys}
  [[panel.hole]]
  at = [150, 20]
  diameter = 6
  [[panel.hole]]
  at = [270, 160]
  diameter = 6
  [[panel.hole]]
  at = [20, 90]
  diameter = 9
  [[panel.hole]]
  at = [400, 90]
  diameter = 9
  [[panel.cutout]]
  at = [210, 90]
  width = 340
  height = 80
  corner_radius = 5
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    path = tmp_path_factory.mktemp("face") / "job.toml"
    path.write_text(FACE.format(keys=""), encoding="utf-8")
    return read_job(path)


@pytest.fixture(scope="module")
def made(job: Job) -> pipeline.Made:
    return pipeline.make(job)


def texts(made: pipeline.Made) -> list[tuple[int | None, str, str]]:
    """The programs of all setups, each with its number."""
    programs = [file for file in made.files if file.facts["kind"] == "program"]
    return [(number, file.path, file.content.decode("ascii")) for number, file in enumerate(programs, 1)]


def test_it_is_made_in_two_setups_and_proved_as_one_piece(job: Job, made: pipeline.Made) -> None:
    """420 x 180 mm on a travel of 300 x 180 mm: two programs and their air passes, and the holes for the pins."""
    assert {finding.severity for finding in made.findings} == {"note"}
    assert {"face.setup1.nc", "face.setup1.dry.nc", "face.setup2.nc", "face.setup2.dry.nc", "face.pins.nc"} <= {
        file.path for file in made.files
    }
    assert not pipeline.verify_setups(job, "face", texts(made))
    for one in texts(made):
        (alone,) = pipeline.verify_setups(job, "face", [one])
        assert (alone.severity, alone.code) == ("note", "setup-missing")
        assert f"setup {3 - (one[0] or 0)} is not given" in alone.message


def test_every_program_lies_within_one_and_the_same_travel(made: pipeline.Made) -> None:
    """The zero stays through all setups, so what they move over together is no longer than the machine travels."""
    strokes = [stroke for _, _, text in texts(made) for stroke in read(text).strokes]
    strokes += read(next(file.content.decode() for file in made.files if file.path == "face.pins.nc")).strokes
    for axis, travel in ((0, 300), (1, 180)):
        places = [stroke.end[axis] for stroke in strokes if not math.isnan(stroke.end[axis])]
        assert max(places) - min(places) <= travel


def test_pins_stand_where_the_sheet_comes_to_lie(made: pipeline.Made) -> None:
    """The holes in the board are those of the sheet moved by the difference of the zeros, to a thousandth."""
    facts = {file.path: file.facts for file in made.files}
    zero = facts["face.setup2.nc"]["zero"]
    assert facts["face.setup1.nc"]["zero"] == [0, 0] and zero[0] == int(zero[0]) and zero[1] == 0
    board = read(next(file.content.decode() for file in made.files if file.path == "face.pins.nc"))
    centres = {stroke.centre for stroke in board.strokes if stroke.centre and abs(stroke.sweep - 2 * math.pi) < 1e-6}
    for at in ((150, 20), (270, 160)):
        assert any(math.dist(centre, (at[0] - zero[0], at[1])) < 1e-6 for centre in centres if centre)


def test_how_well_the_pins_carry_is_told(made: pipeline.Made) -> None:
    """Clearance over pin distance, as an angle and at the farthest feature, from figures worked by hand here: two holes
    of 6 mm and pins h8 (18 um under), 120 and 140 mm apart; the far corner of the hole of 9 mm at X400."""
    apart = math.hypot(120, 140)
    far = math.hypot(400 + 4.5 - 150, 90 + 4.5 - 20)
    told = next(one.message for one in made.findings if "carry the position" in one.message)
    assert f"{apart:.1f} mm" in told and f"{1000 * 0.018 / apart:.2f} mrad" in told
    assert f"{0.018 / apart * far:.2f} mm at the farthest feature, {far:.0f} mm away" in told


def test_the_cutter_leaves_the_wall_on_the_side_of_the_slug(made: pipeline.Made) -> None:
    """Each part's finishing pass ends further from the wall than it cuts: no mark of a lift on the wall."""
    for one in made.timed:
        finish = next(step for step in one.programs[0].setup.operations if step.kind == "finish")
        cuts = [motion for motion in finish.motions if not isinstance(motion, Rapid)]
        dx, _ = one.panel.zero
        wall_low, wall_high = 50.0, 130.0
        (_, y, _) = cuts[-1].to  # type: ignore[union-attr]
        (_, before, _) = cuts[-2].to  # type: ignore[union-attr]
        assert min(abs(y - wall_low), abs(y - wall_high)) > min(abs(before - wall_low), abs(before - wall_high)) + 0.05
        assert dx in (0.0, one.panel.zero[0])


def test_a_setup_that_lacks_its_part_is_found(job: Job, made: pipeline.Made) -> None:
    """A program of one setup given for another, one cut aside, or one without its last pass: none is verified."""
    (first, second) = texts(made)
    exchanged = pipeline.verify_setups(job, "face", [(1, second[1], second[2])])
    assert {"incomplete", "not-made"} <= {finding.code for finding in exchanged}
    aside = re.sub(r"X(-?[\d.]+)", lambda word: f"X{float(word[1]) + 0.05:.3f}", second[2])
    assert pipeline.verify_setups(job, "face", [first, (2, second[1], aside)])
    start = second[2].index("(finish C1")
    unfinished = second[2][:start] + "G0 Z5\nM5\nM2\n"
    found = pipeline.verify_setups(job, "face", [first, (2, second[1], unfinished)])
    assert "undercut" in {finding.code for finding in found}


def test_divide_false_refuses(tmp_path: Path) -> None:
    """The panel is refused for its travel, with the word that would divide it."""
    (tmp_path / "job.toml").write_text(FACE.format(keys="divide = false"), encoding="utf-8")
    made = pipeline.make(read_job(tmp_path / "job.toml"))
    assert not made.files
    assert [(one.severity, one.code) for one in made.findings] == [("error", "beyond-travel")]
    assert "divide = false" in made.findings[0].message


def test_without_holes_for_pins_the_builder_is_told_what_to_add(tmp_path: Path) -> None:
    """No hole that a pin fits and no waste: which holes, where and how far apart; with these two it builds."""
    bare = FACE.format(keys="").split("  [[panel.hole]]")[0]
    far = "".join(f"[[panel.hole]]\nat = [{x}, 90]\ndiameter = 9.2\n" for x in (20, 400))
    (tmp_path / "job.toml").write_text(bare + far, encoding="utf-8")
    findings = pipeline.check(read_job(tmp_path / "job.toml"))
    (told,) = [one.message for one in findings if one.code == "no-index"]
    low, high = map(float, re.search(r"X from ([\d.]+) mm to ([\d.]+) mm", told).groups())  # type: ignore[union-attr]
    apart = float(re.search(r"at least ([\d.]+) mm apart", told)[1])  # type: ignore[index]
    added = "".join(f"[[panel.hole]]\nat = [{x}, 30]\ndiameter = 6\n" for x in (low + 5, low + 5 + apart))
    assert low + 5 + apart <= high
    (tmp_path / "job.toml").write_text(bare + far + added, encoding="utf-8")
    assert pipeline.make(read_job(tmp_path / "job.toml"), posts=["gcode"]).files


def test_the_command_knows_the_setup_by_name_or_option(
    tmp_path: Path, made: pipeline.Made, capsys: pytest.CaptureFixture[str]
) -> None:
    """verify takes the setup from the file's name, or from --setup; without either it asks."""
    (tmp_path / "job.toml").write_text(FACE.format(keys=""), encoding="utf-8")
    for _, name, text in texts(made):
        (tmp_path / name).write_text(text, encoding="ascii")
    (tmp_path / "mine.nc").write_text(texts(made)[1][2], encoding="ascii")
    pins = next(file.content for file in made.files if file.path == "face.pins.nc")
    (tmp_path / "face.pins.nc").write_bytes(pins)

    def status(*names: str) -> int:
        with pytest.raises(SystemExit) as ended:
            main(["verify", str(tmp_path / "job.toml"), *(n if n[:2] == "--" or "." not in n else str(tmp_path / n)
                                                         for n in names)])
        return int(ended.value.code or 0)

    assert status("face.setup1.nc", "face.setup2.nc", "face.pins.nc") == 0
    assert status("mine.nc", "--setup", "2") == 0
    assert status("mine.nc", "--setup", "1") == 1
    assert status("mine.nc") == 2 and "2 setups" in capsys.readouterr().err
    capsys.readouterr()
    assert status("mine.nc", "--setup", "3") == 2 and "there is no setup 3" in capsys.readouterr().err
    assert status("mine.nc", "--setup", "last") == 2 and "'last' is neither" in capsys.readouterr().err
    (tmp_path / "holes.nc").write_bytes(pins)
    assert status("holes.nc", "--setup", "pins") == 0 and status("mine.nc", "--setup", "pins") == 1


def test_the_manifest_says_where_each_setup_has_its_zero(made: pipeline.Made) -> None:
    """Programs carry their setup, order and zero; the pin holes are no program of the piece."""
    programs = [file.facts for file in made.files if file.facts["kind"] == "program"]
    assert [(one["setup"], one["order"]) for one in programs] == [(1, 1), (2, 1)]
    assert all(one["stock_mm"] == [0, 0, 420, 180] for one in programs)
    assert json.dumps([file.facts for file in made.files])
    assert [file.path for file in made.files if file.facts["kind"] == "pin holes"] == ["face.pins.nc"]


def test_a_pin_that_stays_holds_the_sheet_and_ends_below_its_top(tmp_path: Path) -> None:
    """In every thickness a pin stands 1 mm or more in the sheet and 0.5 mm or more below its top; where that cannot be
    it stands out to be gripped, and is drawn when the sheet is clamped."""
    for thickness in (0.5, 0.8, 1.2, 1.45, 1.5, 1.6, 3):
        drawn = thickness < 1.5
        text = FACE.format(keys="").replace("thickness = 2\n", f"thickness = {thickness}\n")
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        read = read_job(tmp_path / "job.toml")
        second = pipeline.plan(read)[0][1]
        assert second.divided is not None and second.panel.stage is not None
        assert [pin.drawn for pin in second.panel.stage.pins] == [drawn, drawn]
        engaged = pin_length(second.divided, drawn) - second.divided.hold
        if drawn:
            assert engaged >= thickness + 5
        else:
            assert max(1.0, thickness - 0.6) - 1e-9 <= engaged <= thickness - 0.5 + 1e-9
        said = steps(second.divided, second.panel, "mm", read.machine, "the pins' program")
        clamped = next(number for number, step in enumerate(said) if step.startswith("Clamp or tape the sheet down"))
        assert said[clamped + 1].startswith("Draw the pins from") is drawn
        said = " ".join(said)
        assert ("below the top of the sheet" in said) is not drawn


def test_a_setup_alone_is_held_to_its_tabs(job: Job, made: pipeline.Made) -> None:
    """Given alone, a setup whose tabs are cut through, or stand twice as high as declared, is not verified."""
    for number, name, text in texts(made):
        tops = set(re.findall(r"Z(-1\.3\d*)", text))
        assert tops, "the tabs of 0.7 mm in 2 mm of sheet have their tops at Z-1.3"
        deepest = min(float(z) for z in re.findall(r"Z(-[\d.]+)", text))
        cut = re.sub(r"Z-1\.3\d*", f"Z{deepest}", text)
        high = re.sub(r"Z-1\.3\d*", "Z-0.6", text)
        for wrong in (cut, high):
            found = pipeline.verify_setups(job, "face", [(number, name, wrong)])
            assert "tabs-wrong" in {finding.code for finding in found}


def test_one_tab_cut_through_is_found_in_its_setup_alone(job: Job, made: pipeline.Made) -> None:
    """Each setup has its own share of the tabs: where one of them is missing, that program alone is not verified."""
    counts = []
    for number, name, text in texts(made):
        lines, lifted, x, y = text.splitlines(), [], 0.0, 0.0
        deepest = min(float(z) for z in re.findall(r"Z(-[\d.]+)", text))
        for index, line in enumerate(lines):
            x = float(m[1]) if (m := re.search(r"X(-?[\d.]+)", line)) else x
            y = float(m[1]) if (m := re.search(r"Y(-?[\d.]+)", line)) else y
            if re.search(r"Z-1\.3\d*", line):
                lifted.append((index, x, y))
        tabs: list[list[tuple[int, float, float]]] = []
        for one in lifted:
            near = next((tab for tab in tabs if math.dist(tab[0][1:], one[1:]) < 20), None)
            tabs.append([one]) if near is None else near.append(one)
        counts.append(len(tabs))
        for tab in tabs:
            gone = list(lines)
            for index, _, _ in tab:
                gone[index] = re.sub(r"Z-1\.3\d*", f"Z{deepest}", gone[index])
            found = pipeline.verify_setups(job, "face", [(number, name, "\n".join(gone) + "\n")])
            assert [finding.code for finding in found if "tabs" in finding.code] == ["tabs-wrong"], tab
    # 831 mm of wall, a tab to each 130 mm of it: seven in all, more where there is more wall
    assert counts == [3, 4]


def test_a_setup_that_goes_on_into_the_next_ones_share_is_found(job: Job, made: pipeline.Made) -> None:
    """A cut run on along the wall by 80 mm, through where the other setup's tabs stand, is told alone too."""
    number, name, text = texts(made)[0]
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("(finish C1"))
    xs = [(float(m[1]), n) for n, line in enumerate(lines[start:], start) if (m := re.search(r"^G1 X([\d.]+)", line))]
    far, at = max(xs)
    lines.insert(at + 1, f"G1 X{far + 80:.3f}")
    lines.insert(at + 2, f"G1 X{far:.3f}")
    found = pipeline.verify_setups(job, "face", [(number, name, "\n".join(lines) + "\n")])
    assert any(one.code == "overcut" and "beyond the part that this setup makes" in one.message for one in found)


def test_a_clamp_of_a_setup_that_there_is_not_is_an_error(tmp_path: Path) -> None:
    """A clamp of setup 3 of two, or of setup 2 of a panel made in one, is no clamp in any proof: it is refused."""
    keys = "clamps = [{{ x = 0, y = 0, width = 10, height = 10, setup = {number} }}]"
    small = FACE.split("  [[panel.hole]]")[0].replace("420", "120").replace("180", "90")
    hole = "  [[panel.hole]]\n  at = [60, 45]\n  diameter = 6\n"
    for text, number, said in ((FACE, 3, "there are only 2 setups"), (small + hole, 2, "there is only one setup")):
        (tmp_path / "job.toml").write_text(text.format(keys=keys.format(number=number)), encoding="utf-8")
        (one,) = [f for f in pipeline.check(read_job(tmp_path / "job.toml")) if f.code == "no-such-setup"]
        assert one.severity == "error" and said in one.message

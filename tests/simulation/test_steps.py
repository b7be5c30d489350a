"""Strokes of a text by the operations of its plan, on every kind of controller."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.job.load import read_job
from toolpaths.simulation.replay import replay

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
MACHINES = ("small router", "bench mill", "mill with tool changer")


def dialect(tmp_path: Path, **words: object) -> str:
    """A small router whose controller differs in these words."""
    lines = [f"{key} = {'false' if value is False else repr(value)}" for key, value in words.items()]
    file = tmp_path / "router.toml"
    file.write_text('format = 1\nname = "small router"\n[program]\n' + "\n".join(lines) + "\n", encoding="utf-8")
    return str(file)


def held(job, made) -> None:
    """Every operation of the plan has its strokes, without a gap, and they are at its openings."""
    planned = {one.panel.name: one for one in pipeline.plan(job)[0]}
    for one in made.timed:
        program = planned[one.panel.name].program
        assert program is not None
        assert [step.operation for step in one.steps] == list(program.setup.operations)
        assert one.steps[0].first == 0 and one.steps[-1].last == len(one.line.strokes) - 1
        assert all(after.first == before.last + 1 for before, after in zip(one.steps, one.steps[1:], strict=False))
        panel = planned[one.panel.name].panel
        for step in one.steps:
            boxes = [
                panel.contour_to_program(opening.shape).bounds
                for opening in panel.work
                if opening.tag in step.operation.tags
            ]
            for stroke in one.line.strokes[step.first : step.last + 1]:
                if stroke.kind == "cut" and not any(map(math.isnan, stroke.end)):
                    x, y, _ = stroke.end
                    assert any(x0 - 9 <= x <= x1 + 9 and y0 - 9 <= y <= y1 + 9 for x0, y0, x1, y1 in boxes)


@pytest.mark.parametrize("machine", MACHINES)
def test_every_stroke_has_its_operation(machine: str) -> None:
    """A bored and a drilled sample, in mm and in inches, with drilling cycles and with arcs."""
    job = read_job(SAMPLES / "headphone_amplifier.toml", machine=machine)
    held(job, pipeline.make(job, posts=["gcode"]))


@pytest.mark.parametrize(
    "words",
    [{"arcs": False}, {"helical_arcs": False}, {"change": "one program per cutter"}, {"comments": "none"}],
    ids=lambda words: next(iter(words)),
)
def test_it_holds_on_every_dialect(tmp_path: Path, words: dict[str, object]) -> None:
    """Chords for arcs, a program for every cutter, no comments: the same operations."""
    job = read_job(SAMPLES / "headphone_amplifier.toml", machine=dialect(tmp_path, **words))
    held(job, pipeline.make(job, posts=["gcode"], panels=["rear"]))


@pytest.mark.parametrize("machine", MACHINES)
def test_the_manifest_and_the_replay_tell_the_same_time(machine: str) -> None:
    """Seconds of the program files and of the last stroke agree, and the operations with what stands still between them
    add up to them; the mains slug hangs on tabs when its contour is finished."""
    job = read_job(SAMPLES / "headphone_amplifier.toml", machine=machine)
    made = pipeline.make(job)
    data = replay("t", None, "mm", made.timed, job.machine, job.cutters, made.findings)
    for setup, one in zip(data["setups"], made.timed, strict=True):
        (seconds,) = [file.facts["seconds"] for file in made.files if file.path == one.files[0]]
        assert seconds == pytest.approx(setup["seconds"], abs=0.06)
        assert setup["strokes"]["t"][-1] == pytest.approx(setup["seconds"], abs=0.001)
        spans = [(row["start"], row["start"] + row["seconds"]) for row in setup["operations"]]
        halts = sum(halt["seconds"] for halt in setup["halts"])
        assert sum(end - start for start, end in spans) + halts == pytest.approx(setup["seconds"], abs=0.1)
        assert {halt["text"] for halt in setup["halts"]} == {"the spindle runs up"} | {
            f"change to T{number}" for number in setup["cutters"]
        }
        assert all(before[1] <= after[0] + 0.002 for before, after in itertools.pairwise(spans))
    (loose,) = data["setups"][0]["loose"]
    finish = data["setups"][0]["operations"][-1]
    assert loose["text"].endswith("hangs on its tabs") and finish["kind"] == "finishing pass"
    assert finish["start"] < loose["t"] <= finish["start"] + finish["seconds"]

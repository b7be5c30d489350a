"""The whole way in reading order: a job becomes files, and every program among them is proved before it is one.

job -> layout -> findings -> plan -> text -> read again -> compared with the plan and judged as the piece in hand.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import postprocessors
from postprocessors.base import DrawingPost, PenPost, Post, ProgramPost, SheetsPost
from toolpaths.division.board import board_panels
from toolpaths.division.divide import Divided, Refused, divide, longer_than, with_touch_off_in_reach
from toolpaths.division.telling import bed_of, piece_of, stands
from toolpaths.division.telling import findings as division_told
from toolpaths.division.telling import steps as division_steps
from toolpaths.drafting import bounds_of, draw_alone, draw_panel, meanings, unlettered
from toolpaths.drawing import TRUE, Drawing, Scale
from toolpaths.errors import BadInput, BrokenPost, Problem, RereadError, UnknownName
from toolpaths.finding import Finding, has_errors
from toolpaths.fit.chords import fitted
from toolpaths.fit.parts import parts
from toolpaths.flat import Heading, draw_flat
from toolpaths.geometry.segment import XY, Bounds
from toolpaths.hand_route import START_HOLE
from toolpaths.job import Job, Part, Row
from toolpaths.job import Panel as JobPanel
from toolpaths.job.alone import part_alone
from toolpaths.labelling import grown
from toolpaths.layout import box_checks, checks
from toolpaths.layout.box import assemble
from toolpaths.layout.box import nearest as nearest_of
from toolpaths.layout.build import DIALLED, lay_out
from toolpaths.layout.components import Centre, centres_on, round_components, row_findings
from toolpaths.layout.drawn import drawing_findings
from toolpaths.layout.fit_strip import fit_strips, strip_findings
from toolpaths.layout.legend_checks import legend_findings
from toolpaths.layout.panel import Layout, Panel
from toolpaths.layout.telling import Telling, other
from toolpaths.marks import draw_marks
from toolpaths.motion import Program, Setup
from toolpaths.output import DRY, PEN, OutputFile, file_name, is_dry_run, is_for_a_pen
from toolpaths.pen_order import short_way
from toolpaths.plan.air_pass import air_pass
from toolpaths.plan.setup import Planned as Plan
from toolpaths.plan.setup import plan_panel
from toolpaths.plan.told import told_once
from toolpaths.reread import read
from toolpaths.sheets import Paper, fits, holds_bars, paper_called, pen_sheet, room, true_size
from toolpaths.shop import schedule, setup_sheet
from toolpaths.shop.bench import HandWork, order_lines, saw_hole
from toolpaths.shop.cautions import cautions
from toolpaths.shop.pin_holes import PinHoles
from toolpaths.shop.tab_marks import TabMark, tab_marks
from toolpaths.shop.words import t_number
from toolpaths.simulation.page import page
from toolpaths.simulation.replay import Timed, replay, timed
from toolpaths.simulation.timing import timeline
from toolpaths.stroke import Reading
from toolpaths.tables.rows import Machine
from toolpaths.template import Common, draw_tables, draw_template, notes, setups_meant
from toolpaths.template import meanings as template_meanings
from toolpaths.tiles import moved, sheets_of
from toolpaths.tolerance import CLAMP_CLEARANCE, SAME_POINT
from toolpaths.units import inches_beside, plain, said, told
from toolpaths.verify.air import judge_air_pass
from toolpaths.verify.comments import judge_comments
from toolpaths.verify.compare import compare
from toolpaths.verify.judge import judge
from toolpaths.verify.pen import judge_pen
from toolpaths.verify.together import judge_together

if TYPE_CHECKING:  # only a job that begins with a drawing takes the time of importing these
    from toolpaths.drawing_file.contents import Wanted
    from toolpaths.from_drawing import Begun

STANDARD_POSTS = ("gcode", "plotter", "dxf", "template")
"""What a build writes where no ``--post`` asks for less or for more."""

MOST_IN_A_HEAP = 2_000
"""Openings of a panel; one with more, some of which overlap, is mended before it is worth planning."""

PART_MARGIN = 10.0
"""mm of sheet drawn round a component that is drawn alone."""

Report = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and how much there is."""


@dataclass(frozen=True, slots=True)
class Made:
    """What a build leaves; ``files`` is empty where a finding of severity error stands in the way."""

    files: tuple[OutputFile, ...]
    findings: tuple[Finding, ...]
    layout: Layout
    job: Job
    timed: tuple[Timed, ...] = ()
    """Every setup with its times, as the first post-processor for programs wrote it."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One panel with its program (None: nothing to machine, or an error stands in its way)."""

    panel: Panel
    """Of a divided panel: one setup of it."""
    program: Program | None
    divided: Divided | None = None
    """The division that this setup belongs to."""
    design: Panel | None = None
    """The whole panel that it is a setup of, as it was laid out."""

    @property
    def whole(self) -> Panel:
        """The panel as it was laid out."""
        return self.panel if self.design is None else self.design


@dataclass(frozen=True, slots=True)
class _Division:
    """Whether one panel is divided: the division, or why there is none (None: it needs none).

    ``axes`` are those along which it is longer than the machine travels, ``too_far`` what the planner says of that.
    """

    made: Divided | Refused | None
    axes: tuple[int, ...] = ()
    too_far: tuple[Finding, ...] = ()

    @property
    def turned_fits(self) -> bool:
        """Whether it would fit turned by a quarter."""
        return any("turned by a quarter" in finding.message for finding in self.too_far)


@dataclass(frozen=True, slots=True)
class Written:
    """One setup as one post-processor wrote it: its program files in order, their times, and what the proof found."""

    post: str
    setup: Setup
    files: tuple[OutputFile, ...]
    timed: Timed | None
    faults: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Held:
    """Programs that were held against the job together, by their names, and what was found.

    ``what`` they are: the ``programs`` of one setup in order, an ``air pass``, all setups of a divided panel as one
    ``piece``, or a program for a ``pen``, which is proved when it is built and not read here.
    """

    names: tuple[str, ...]
    what: str
    findings: tuple[Finding, ...] = ()


def check(job: Job, *, panels: Sequence[str] = (), fit_strip: bool = False) -> tuple[Finding, ...]:
    """Layout and machinability findings; nothing is written."""
    return _planned(job, _laid_out(job, panels, fit_strip), _silent, fit_strip)[1]


def plan(job: Job, *, panels: Sequence[str] = ()) -> tuple[list[Planned], tuple[Finding, ...]]:
    """Every panel with its program, and the findings of layout and planning; no text is written."""
    return _planned(job, _laid_out(job, panels), _silent)


def make(
    job: Job,
    *,
    posts: Sequence[str] = (),
    panels: Sequence[str] = (),
    paper: str = "",
    fit_strip: bool = False,
    marks: bool = False,
    report: Report | None = None,
) -> Made:
    """Everything that a build leaves, every program verified; ``paper`` names what is printed on, and plotted on.

    ``fit_strip`` adds the strips to try the parts in to the panels that are made. ``marks``: drawings for pens show
    only what is marked on masking tape stuck to the metal.

    Raises UnknownName for a panel, a post-processor or a paper that is not there, BadInput where programs for a pen are
    asked for and the machine does not say how it moves one.
    """
    tell = report or _silent
    printed = paper_called(paper, job.units)
    writers = [postprocessors.find(name) for name in posts or STANDARD_POSTS]
    if job.machine.pen is None and any(isinstance(post, PenPost) for post in writers):
        said = f"{job.machine.name!r} does not say how it moves a pen, so no program for a pen can be written"
        raise BadInput([Problem("machine", 0, "pen", said, "give its file a table [pen]")])
    layout = _laid_out(job, panels, fit_strip)
    planned, findings = _planned(job, layout, tell, fit_strip)
    if has_errors(findings):
        return Made((), findings, layout, job)
    programs = _programs(job, planned, writers, tell)
    findings += tuple(fault for one in programs for fault in one.faults)
    if has_errors(findings):
        return Made((), findings, layout, job)
    files = [file for one in programs for file in one.files]
    hand = HandWork(layout.panels, job.materials, job.hand_tools, job.pilot_diameter)
    drawn = Drawn(job, printed if paper else None, marks, hand)
    files += _plots(drawn, layout, planned, writers, tell)
    files += _pages(job, layout, planned, writers, printed, hand, tell)
    findings += tuple(dict.fromkeys(drawn.findings))
    if has_errors(findings):
        return Made((), findings, layout, job)
    tell("writing sheet and schedule", 0, 1)
    files += _papers(job, layout, planned, programs, findings, hand)
    on_sheet = [one for one in programs if not one.setup.on_board]
    setups = tuple(one.timed for one in on_sheet if one.timed is not None and one.post == on_sheet[0].post)
    if setups:
        shown = playback(job, layout, setups, findings)
        files.append(OutputFile("simulation.html", shown.encode("utf-8"), {"kind": "simulation"}))
    _refuse_two_of_one_name(files)
    return Made(tuple(files), findings, layout, job, setups)


def _refuse_two_of_one_name(files: Sequence[OutputFile]) -> None:
    """BrokenPost where two post-processors give their files the same name."""
    seen: dict[str, OutputFile] = {}
    for file in files:
        other = seen.setdefault(file.path.lower(), file)
        if other is not file:
            names = " and ".join(repr(one.facts.get("post", "a paper")) for one in (other, file))
            raise BrokenPost(f"post-processors {names} both write {file.path!r}: name one of them with --post")


def playback(job: Job, layout: Layout, setups: Sequence[Timed], findings: Sequence[Finding]) -> str:
    """The page that plays every setup, as one HTML text."""
    return page(replay(layout.title, job.size, job.units, setups, job.machine, job.cutters, findings))


def verify_setups(
    job: Job, panel_name: str, texts: Sequence[tuple[int | None, str, str]]
) -> tuple[Finding, ...]:
    """What is found where the texts of one panel's programs are held against the job, all of it in one."""
    return tuple(found for held in hold(job, panel_name, texts) for found in held.findings)


def hold(job: Job, panel_name: str, texts: Sequence[tuple[int | None, str, str]]) -> list[Held]:
    """Holds the texts of one panel's programs, (setup, name, text) in order, against the job.

    The setup is None where nothing says which it is, and 0 for the pin holes of a divided panel. Each setup is judged
    by itself, and so is each air pass; where there are programs of all setups, the piece that they leave together is
    judged too. Raises BadInput for a machine that does not cut, and for setups that the panel does not have.
    """
    if not job.machine.cuts:
        said = f"{job.machine.name!r} has no spindle, so no program is for it"
        raise BadInput([Problem("machine", 0, "", said, "name the machine that runs it with --machine")])
    (panel,) = _laid_out(job, [panel_name]).panels
    division = _divided(job, panel).made
    by_setup: dict[int | None, list[tuple[str, str]]] = {}
    held = [Held((name,), "pen") for _, name, _ in texts if is_for_a_pen(name)]
    for setup, name, text in texts:
        if not is_for_a_pen(name):
            by_setup.setdefault(setup, []).append((name, text))
    if not isinstance(division, Divided):
        for setup in by_setup:
            if setup not in (None, 1):
                said = f"{panel_name} is made in one setup on {job.machine.name}"
                raise BadInput([Problem(by_setup[setup][0][0], 0, "", said, "name setup 1, or another machine")])
        pairs = [pair for pairs in by_setup.values() for pair in pairs]
        return [*(_verified(job, _in_one(job, panel), pairs) if pairs else ()), *held]
    return [*_setups_held(job, panel_name, division, by_setup), *held]


def _setups_held(
    job: Job, panel_name: str, division: Divided, by_setup: dict[int | None, list[tuple[str, str]]]
) -> list[Held]:
    """The programs of a divided panel, setup by setup, and what they make together."""
    held: list[Held] = []
    cut: dict[int, Held] = {}
    count = len(division.setups)
    for setup, pairs in by_setup.items():
        if setup is None or setup > count:
            what = "nothing says which setup it is of" if setup is None else f"there is no setup {setup}"
            said = f"{what}: {panel_name} is divided into {count} setups on {job.machine.name}"
            cure = f"say which it is of with --setup 1 to {count}, or --setup pins for the pin holes"
            raise BadInput([Problem(pairs[0][0], 0, "", said, cure)])
        found = _verified(job, division.setups[setup - 1] if setup else _board(job, division)[1], pairs)
        held += found
        for one in found:
            if setup and one.what == "programs" and not has_errors(one.findings):
                cut[setup] = one
    if any(has_errors(one.findings) for one in held):
        return held
    if len(cut) == count:
        given = {name: text for pairs in by_setup.values() for name, text in pairs}
        readings = [[read(given[name]) for name in cut[number].names] for number in sorted(cut)]
        names = tuple(name for number in sorted(cut) for name in cut[number].names)
        held.append(Held(names, "piece", tuple(_judged_together(job, division, readings))))
    elif cut:
        missing = [str(number) for number in range(1, count + 1) if number not in cut]
        which = f"setup {missing[0]} is" if len(missing) == 1 else f"setups {' and '.join(missing)} are"
        said = f"{which} not given: the piece as a whole is not judged"
        last = held.index(list(cut.values())[-1])
        note = Finding("note", "setup-missing", panel_name, "", said)
        held[last] = replace(held[last], findings=(*held[last].findings, note))
    return held


def verify_texts(job: Job, panel_name: str, texts: Sequence[tuple[str, str]]) -> tuple[Finding, ...]:
    """Holds the texts of one setup's programs, (name, text) in order, against the job: of a panel made in one setup."""
    if not job.machine.cuts:
        return verify_setups(job, panel_name, [(None, name, text) for name, text in texts])
    (panel,) = _laid_out(job, [panel_name]).panels
    return tuple(found for held in _verified(job, _in_one(job, panel), texts) for found in held.findings)


def _verified(job: Job, panel: Panel, texts: Sequence[tuple[str, str]]) -> list[Held]:
    """The texts of one setup, which is all of ``panel``: its programs together, each air pass by itself."""
    cut = [(name, text) for name, text in texts if not is_dry_run(name)]
    held = [Held(tuple(name for name, _ in cut), "programs", _cuts_verified(job, panel, cut))] if cut else []
    for name, text in texts:
        if is_dry_run(name):
            try:
                found = _judged_dry(job, panel, [read(text)])
            except RereadError as error:
                found = (Finding("error", "unreadable", panel.name, "", str(error), error.line),)
            held.append(Held((name,), "air pass", found))
    return held


def _cuts_verified(job: Job, panel: Panel, texts: Sequence[tuple[str, str]]) -> tuple[Finding, ...]:
    """The findings about the programs of one setup that cut."""
    readings: list[Reading] = []
    faults: list[Finding] = []
    for name, text in texts:
        try:
            readings.append(read(text))
        except RereadError as error:
            where = f"{name}: {error}" if len(texts) > 1 else str(error)
            faults.append(Finding("error", "unreadable", panel.name, "", where, error.line))
    if faults:
        return tuple(faults)
    found = _judged(job, panel, readings)
    if has_errors(found):
        found = _other_units(job, panel, [text for _, text in texts], readings) or found
    return (*found, *(one for _, text in texts for one in judge_comments(text, panel.name)))


def _other_units(job: Job, panel: Panel, texts: Sequence[str], readings: Sequence[Reading]) -> tuple[Finding, ...]:
    """The one finding of programs whose figures are right but for the word that says in which units; else none.

    Looked for only where that word is not the one of the machine's own programs.
    """
    units = job.machine.program.units
    if all(reading.units == units for reading in readings):
        return ()
    wrong, right = ("G21", "G20") if units == "in" else ("G20", "G21")
    try:
        meant = [read(re.sub(rf"(?i)g\s*0*{wrong[1:]}(?![\d.])", right, text)) for text in texts]
    except RereadError:
        return ()
    if has_errors(_judged(job, panel, meant)):
        return ()
    said = (
        f"the program says {wrong} and its figures are for {right}, the units of programs on {job.machine.name}; "
        f"with {right} it makes the piece, and no move is wrong"
    )
    return (Finding("error", "other-units", panel.name, "", said),)


def _silent(what: str, done: int, total: int) -> None:
    """The report of whoever did not ask for one."""


def panel_names(job: Job) -> tuple[str, ...]:
    """The names of the job's panels, and those of its fit strips after them."""
    layout = lay_out(job)
    return tuple(panel.name for panel in (*layout.panels, *fit_strips(job, layout.panels)))


def _laid_out(job: Job, panels: Sequence[str], fit_strip: bool = False) -> Layout:
    """All panels or those named; a fit strip is among them where it is named, or where ``fit_strip`` asks for all."""
    layout = lay_out(job)
    own = {panel.name for panel in layout.panels}
    strips = fit_strips(job, layout.panels) if fit_strip or not own.issuperset(panels) else ()
    known = {panel.name: panel for panel in (*layout.panels, *strips)}
    for name in panels:
        if name not in known:
            raise UnknownName(f"no panel is called {name!r}; known are {', '.join(known)}")
    chosen = tuple(
        panel
        for panel in known.values()
        if panel.name in panels or (fit_strip if panel.fit_strip else not panels)
    )
    return replace(layout, panels=chosen)


def _measured(job: Job, layout: Layout) -> list[Finding]:
    """Where the real piece differs from the design: both figures, since positions and depths follow the piece."""
    shown = {panel.name for panel in layout.panels}
    notes: list[Finding] = []
    for panel in job.panels:
        figures = (
            ("width", panel.width, panel.measured.width),
            ("height", panel.height, panel.measured.height),
            ("thickness", panel.thickness, panel.measured.thickness),
        )
        differing = [
            f"{what} {said(real, job.units)} instead of {said(design, job.units)}"
            for what, design, real in figures
            if abs(real - design) > SAME_POINT
        ]
        if differing and panel.name in shown:
            message = f"the real piece measures {', '.join(differing)}: outline, origin and depths follow it"
            notes.append(Finding("note", "measured", panel.name, "", message))
    return notes


def nearest(job: Job) -> tuple[tuple[str, str, str, float], ...]:
    """Each component of the job as panel and feature, with what is nearest to it in the box and how near, mm."""
    box = assemble(lay_out(job).panels, job.chassis, job.obstacles, _metals(job))
    return tuple(
        (gap.first.panel, gap.first.feature, other(gap.second), gap.distance) for gap in nearest_of(box.things)
    )


def centres(job: Job, panels: Sequence[str] = ()) -> tuple[Centre, ...]:
    """The centres of all components of the job, or of these panels; UnknownName for one that is not there."""
    if not panels and not any(isinstance(feature, Part | Row) for panel in job.panels for feature in panel.features):
        return ()
    return tuple(centre for panel in _laid_out(job, panels).panels for centre in centres_on(panel))


def part_drawing(name: str, file: Path | None) -> str:
    """One component at full size as SVG, alone on a sheet: its holes, and round them the room that it takes.

    Raises UnknownName, and BadInput with every problem of the user's table ``file``.
    """
    (panel,) = lay_out(part_alone(name, file)).panels
    outline = round_components(panel, PART_MARGIN)
    sheet = replace(
        panel, outline=outline, stock=outline.bounds, thickness_text=f"drawn for {said(panel.thickness, 'mm')}",
        material="sheet",
    )  # fmt: skip
    drawing = short_way(draw_panel(sheet, name, "mm"))
    post = postprocessors.find("plotter")
    assert isinstance(post, DrawingPost)
    return postprocessors.text_of(post, lambda: post.write(drawing), "utf-8")


def begin(drawing: Path, name: str, wanted: Wanted) -> tuple[dict[str, bytes], Begun]:
    """The files of the job ``name`` that a drawing makes, by their names; and what was made of it.

    Raises BadInput with every fault of the drawing.
    """
    from toolpaths.drawing_file.read import read_drawing
    from toolpaths.from_drawing import NOT_CUT, begun

    file = drawing.name
    try:
        there = drawing.is_file()
    except OSError:  # a name that no file can have
        there = False
    if not there:
        raise BadInput([Problem(file, 0, "", "no such file", "check the name and the folder")])
    contents = read_drawing(drawing, file, replace(wanted, points=True, counted=NOT_CUT))
    made = begun(contents, name, file, contents.units)
    files = {f"{name}.toml": made.job.encode("utf-8")}
    if made.holes:
        files[f"{name}_holes.csv"] = made.holes.encode("utf-8")
    if made.contours is not None:
        post = postprocessors.find("dxf")
        assert isinstance(post, DrawingPost)
        text = postprocessors.text_of(post, partial(post.write, made.contours), "utf-8")
        files[f"{name}_contours{post.suffix}"] = text.encode("utf-8")
    return files, made


def _metals(job: Job) -> frozenset[str]:
    return frozenset(name for name, material in job.materials.items() if material.family == "metal")


def _about_rows(job: Job, layout: Layout) -> list[Finding]:
    """Rows without room for their components, on the panels in hand."""
    return [finding for panel in _shown_panels(job, layout) for finding in row_findings(panel, Telling(job.units))]


def _shown_panels(job: Job, layout: Layout) -> list[JobPanel]:
    """The panels in hand as the job has them."""
    shown = {panel.name for panel in layout.panels}
    return [panel for panel in job.panels if panel.name in shown]


def _about_strips(job: Job, layout: Layout, asked: bool) -> list[Finding]:
    """What the fit strips in hand hold, and what is left off them; that there is none, where one was asked for."""
    if not (asked or any(panel.fit_strip for panel in layout.panels)):
        return []
    strips = {panel.name for panel in layout.panels if panel.fit_strip}
    own = {panel.name for panel in job.panels}
    return [
        finding
        for finding in strip_findings(job, lay_out(job).panels)
        if finding.panel in strips or finding.panel in own or not finding.panel
    ]


def _about_the_box(job: Job, layout: Layout) -> list[Finding]:
    """What is wrong with the whole box, as far as the panels in hand are concerned: the others are in the way too."""
    own = tuple(panel for panel in layout.panels if not panel.fit_strip)
    if not own:
        return []
    whole = own if len(own) == len(job.panels) else lay_out(job).panels
    found = box_checks.findings(
        whole, job.chassis, job.obstacles, job.keep_apart, _metals(job), job.units, job.cabinet
    )
    return box_checks.shown(found, [panel.name for panel in own])


def _planned(
    job: Job, layout: Layout, report: Report, fit_strip: bool = False
) -> tuple[list[Planned], tuple[Finding, ...]]:
    divisions = {panel.name: _divided(job, panel) for panel in layout.panels}
    setups = {panel.name: _setups(job, divisions[panel.name], panel) for panel in layout.panels}
    findings = [*_measured(job, layout), *_about_strips(job, layout, fit_strip)]
    findings += checks.findings(layout, job.machine, job.cutters, job.materials, setups)
    findings += [one for panel in layout.panels for one in _clamps_of_no_setup(panel, divisions[panel.name].made)]
    findings += unlettered(layout)
    findings += _about_rows(job, layout)
    findings += [one for panel in _shown_panels(job, layout) for one in drawing_findings(panel)]
    findings += legend_findings(layout.panels, job.chassis, Telling(job.units))
    findings += _about_the_box(job, layout)
    if not job.machine.cuts:
        cure = "name a machine that has one with --machine"
        told_of = f"{job.machine.name} has no spindle: no program that cuts is written; {cure}"
        findings.append(Finding("note", "plots-only", "", "", told_of))
    planned: list[Planned] = []
    for done, panel in enumerate(layout.panels):
        report(f"planning {panel.name}", done, len(layout.panels))
        if len(panel.openings) > MOST_IN_A_HEAP and _overlapping(panel, findings):
            planned.append(Planned(panel, None))
            continue
        if not job.machine.cuts:
            planned.append(Planned(panel, None))
            findings += _beyond_the_pen(panel, layout, job.machine)
            continue
        division = divisions[panel.name]
        if isinstance(division.made, Refused):
            planned.append(Planned(panel, None))
            findings += _refused(job, panel, division, division.made)
            continue
        if division.made is not None:
            findings += division_told(
                division.made, job.machine, job.units, division.axes, division.turned_fits
            )
        begun: dict[str, int] = {}
        found: list[Finding] = []
        for one in setups[panel.name]:
            plan = plan_panel(job.title, one, job.machine, job.cutters, job.materials[panel.material], begun)
            planned.append(Planned(one, plan.program, division.made, panel))
            found += plan.findings
            begun |= _begun(one, plan.program)
        if division.made is None and division.axes and _may_be_divided(job, panel) is False:
            found = [_divide_would(one) for one in found]
        findings += (replace(one, message=inches_beside(one.message, job.units)) for one in told_once(found))
    return planned, tuple(dict.fromkeys(findings))


def _refused(job: Job, panel: Panel, division: _Division, refused: Refused) -> list[Finding]:
    """That a panel is longer than the travel, and why it cannot be divided: one error; what is too deep is another."""
    names = " and ".join("XY"[axis] for axis in division.axes)
    travel = " and ".join(told(job.machine.travel[axis], job.units) for axis in division.axes)
    said = (
        f"its cuts are longer in {names} than this machine travels ({travel}), and it cannot be divided into setups: "
        f"{refused.why}"
    )
    if division.turned_fits:
        said += "; with width and height exchanged, the panel turned by a quarter, it fits"
    told_of = [replace(one, message=inches_beside(one.message, job.units)) for one in division.too_far]
    deep = [one for one in told_of if " in Z; " in one.message]
    return [*deep, Finding("error", refused.code, panel.name, refused.feature, said)]


def _overlapping(panel: Panel, findings: Sequence[Finding]) -> bool:
    return any(finding.code == "overlap" and finding.panel == panel.name for finding in findings)


def _reach(machine: Machine) -> XY | None:
    """How far a plotter's pen reaches; None for a machine that cuts: nobody said what draws for it."""
    return None if machine.cuts else machine.travel[:2]


def _may_be_divided(job: Job, panel: Panel) -> bool | None:
    """Whether the job lets a panel be divided; None for a fit strip, which is none of its panels."""
    return next((one.divide for one in job.panels if one.name == panel.name), None)


def _divide_would(finding: Finding) -> Finding:
    """A refusal for want of travel, with the word that the job itself keeps the panel from being divided."""
    if finding.code != "beyond-travel" or "travels" not in finding.message:
        return finding
    return replace(finding, message=f"{finding.message}; or leave out divide = false, and it is divided into setups")


def _divided(job: Job, panel: Panel) -> _Division:
    """Whether a panel is longer than the machine travels, and how it is divided then.

    Only where its features leave that open is it planned as a whole, to see how far the cutters go.
    """
    if not job.machine.cuts or not longer_than(panel, job.machine):
        return _Division(None)
    plan = plan_panel(job.title, panel, job.machine, job.cutters, job.materials[panel.material])
    if not plan.short:
        return _Division(None)
    if not _may_be_divided(job, panel):
        return _Division(None, plan.short)
    made = divide(panel, plan.short, job.machine, job.units, DIALLED[job.machine.program.units])
    return _Division(made, plan.short, tuple(finding for finding in plan.findings if finding.code == "beyond-travel"))


def _setups(job: Job, division: _Division, panel: Panel) -> tuple[Panel, ...]:
    """The setups of a panel, each as a panel of its own."""
    return division.made.setups if isinstance(division.made, Divided) else (_in_one(job, panel),)


def _in_one(job: Job, panel: Panel) -> Panel:
    """A panel that is made in one setup: without the clamps of later ones, and touched off where the machine comes."""
    clamps = tuple(clamp for clamp in panel.clamps if clamp.setup in (0, 1))
    own = panel if clamps == panel.clamps else replace(panel, clamps=clamps)
    return with_touch_off_in_reach(own, job.machine, DIALLED[job.machine.program.units]) if job.machine.cuts else own


def _clamps_of_no_setup(panel: Panel, made: Divided | Refused | None) -> Iterator[Finding]:
    """Clamps that stand in a setup which there is not: they would be proved nowhere."""
    if isinstance(made, Refused):
        return
    count = 1 if made is None else len(made.setups)
    there = "there is only one setup" if count == 1 else f"there are only {count} setups"
    for clamp in panel.clamps:
        if clamp.setup > count:
            said = f"clamp {clamp.number} stands in setup {clamp.setup}, and {there}: name one of them, or none"
            yield Finding("error", "no-such-setup", panel.name, f"clamp[{clamp.number}]", said)


def _begun(panel: Panel, program: Program | None) -> dict[str, int]:
    """The cutters of the contours of which a setup cuts a part."""
    parts = {opening.tag for opening in panel.work if opening.part is not None}
    steps = program.setup.operations if program else ()
    return {tag: step.cutter for step in steps for tag in step.tags if tag in parts}


def _board(job: Job, division: Divided) -> tuple[Divided, Panel, Plan]:
    """The board with the pin holes of a division, and their program: as deep as the cutters make them."""
    first: tuple[Divided, Panel, Plan] | None = None
    for held, board in board_panels(division, job.machine, DIALLED[job.machine.program.units]):
        plan = plan_panel(job.title, board, job.machine, job.cutters, job.materials[board.material])
        first = first or (held, board, plan)
        if plan.program is not None:
            return held, board, plan
    assert first is not None
    return first


def _judged_together(
    job: Job, division: Divided, readings: Sequence[Sequence[Reading]]
) -> tuple[Finding, ...]:
    setups = list(zip(division.setups, readings, strict=True))
    material = job.materials[division.whole.material]
    return judge_together(setups, division.whole, job.machine, job.cutters, material)


def _beyond_the_pen(panel: Panel, layout: Layout, machine: Machine) -> list[Finding]:
    """That a plotter reaches neither all of a panel's drawing nor a sheet with its check bars, of which to join it."""
    bounds = draw_panel(panel, layout.title, layout.units).bounds
    reach = pen_sheet(None, _reach(machine))
    if reach is None or holds_bars(reach) or fits(bounds, reach):
        return []
    sides = bounds[2] - bounds[0], bounds[3] - bounds[1], *machine.travel[:2]
    across, up, reached, upwards = (told(round(side), layout.units) for side in sides)
    said = (
        f"its drawing is {across} by {up} and the pen reaches {reached} by {upwards}, "
        "too little for sheets with check bars: plot it on a larger machine, or print the template"
    )
    return [Finding("warning", "beyond-travel", panel.name, "", said)]


def _programs(
    job: Job, planned: Sequence[Planned], writers: Sequence[Post], report: Report
) -> list[Written]:
    """Every setup as every post-processor for programs writes it, proved."""
    found = []
    for post in writers:
        if not isinstance(post, ProgramPost):
            continue
        for done, one in enumerate(planned):
            if one.program is not None:
                report(f"proving {one.panel.name}", done, len(planned))
                setup = _written(job, post, one.panel, one.program)
                if not postprocessors.is_ours(post):
                    said = f"post-processor {post.name!r}: "
                    setup = replace(setup, faults=tuple(replace(f, message=said + f.message) for f in setup.faults))
                found.append(setup)
        for division in dict.fromkeys(one.divided for one in planned if one.divided is not None):
            report(f"proving all setups of {division.whole.name} together", len(planned), len(planned))
            found += _whole(job, post, division, found)
    return found


def _whole(job: Job, post: ProgramPost, division: Divided, found: Sequence[Written]) -> list[Written]:
    """What all setups of a divided panel share: its pin holes, and the proof of the one piece."""
    name = division.whole.name
    own = [one for one in found if one.post == post.name and one.setup.panel == name]
    faults = [fault for one in own for fault in one.faults]
    if has_errors(faults) or len(own) != len(division.setups):
        return []
    readings = [[read(file.content.decode("ascii")) for file in one.files if "order" in file.facts] for one in own]
    together = _judged_together(job, division, readings)
    _, board, plan = _board(job, division)
    if plan.program is None:
        said = [replace(one, code="no-index", message=f"pin holes: {one.message}") for one in plan.findings]
        said = said or [Finding("error", "no-index", name, "", "the board has no free place for touching off Z")]
        return [Written(post.name, own[0].setup, (), None, tuple(said))]
    holes = _written(job, post, board, plan.program)
    return [replace(holes, files=tuple(_pin_facts(file) for file in holes.files), faults=(*together, *holes.faults))]


def _pin_facts(file: OutputFile) -> OutputFile:
    """The program of the pin holes cuts no piece: it has a kind of its own, and belongs to no setup."""
    left_out = ("setup", "order", "stock_mm", "thickness_mm", "mirrored", "zero")
    facts = {key: value for key, value in file.facts.items() if key not in left_out}
    return replace(file, facts=facts | {"kind": "pin holes"})


def _written(job: Job, post: ProgramPost, panel: Panel, program: Program) -> Written:
    run = parts(program, job.machine.program)
    names = [f"{name}{post.suffix}" for name in _program_names(job, program)]
    texts = [written(post, part, job) for part in run]
    readings, proved = _proved(job, panel, run, texts)
    # what the proof only notes was told when it was planned
    faults = [fault for fault in proved if fault.severity != "note"]
    done = timed(panel, run, names, readings, job.machine) if readings else None
    files = tuple(
        OutputFile(name, text.encode("ascii"), _program_facts(job, post, part) | _seconds(done, number))
        for number, (name, text, part) in enumerate(zip(names, texts, run, strict=True))
    )
    if faults or program.setup.on_board:
        return Written(post.name, program.setup, files, done, tuple(faults))
    dry, faults = _air_pass(job, post, panel, program)
    return Written(post.name, program.setup, (*files, dry), done, tuple(faults))


def _air_pass(job: Job, post: ProgramPost, panel: Panel, program: Program) -> tuple[OutputFile, list[Finding]]:
    """The air pass of a setup as a file, and what the proof found in it."""
    dry = air_pass(program, panel, job.machine)
    name = f"{_stem(program.setup)}{DRY}{post.suffix}"
    text = written(post, dry, job)
    facts = _program_facts(job, post, dry) | {"kind": "dry run"}
    del facts["order"]
    try:
        reading = read(text)
    except RereadError as error:
        fault = Finding("error", "unreadable", panel.name, "", f"{name}: {error}", error.line)
        return OutputFile(name, text.encode("ascii"), facts), [fault]
    seconds = timeline([reading], job.machine).seconds
    file = OutputFile(name, text.encode("ascii"), facts | {"seconds": round(seconds, 1)})
    return file, [*compare(reading, dry, job.machine), *_judged_dry(job, panel, [reading])]


def _judged_dry(job: Job, panel: Panel, readings: Sequence[Reading]) -> tuple[Finding, ...]:
    return judge_air_pass(readings, panel, job.machine, job.cutters, job.materials[panel.material])


def _seconds(done: Timed | None, number: int) -> dict[str, object]:
    return {} if done is None else {"seconds": round(done.seconds_of(number), 1)}


def written(post: ProgramPost, part: Program, job: Job) -> str:
    """The text of one program, which holds only motions that the job's machine can make."""
    program = fitted(part, job.machine.program)
    return postprocessors.text_of(post, lambda: post.write(program, job.machine, job.cutters), "ascii")


def _program_names(job: Job, program: Program) -> list[str]:
    """``PANEL``, or ``PANEL.tN`` where each cutter has a program of its own; ``PANEL.tN-2`` where it comes again."""
    panel = _stem(program.setup)
    if job.machine.program.change != "one program per cutter":
        return [panel]
    names: list[str] = []
    seen: dict[int, int] = {}
    for part in parts(program, job.machine.program):
        number = t_number(job.machine, part.setup.operations[0].cutter)
        seen[number] = seen.get(number, 0) + 1
        names.append(f"{panel}.t{number}" + (f"-{seen[number]}" if seen[number] > 1 else ""))
    return names


def _stem(setup: Setup) -> str:
    """``PANEL``, or ``PANEL.setupN`` of a divided one, and ``PANEL.pins`` for the pin holes that its setups share."""
    name = file_name(setup.panel)
    if setup.on_board:
        return f"{name}.pins"
    return f"{name}.setup{setup.number}" if setup.count > 1 else name


def _proved(
    job: Job, panel: Panel, run: Sequence[Program], texts: Sequence[str]
) -> tuple[list[Reading], list[Finding]]:
    """The two questions: does the text say what the plan meant, and does it leave the piece that was designed?

    The plan that a text is held against has its arcs, whatever the machine has: chords are judged by their distance.
    With the findings come the programs as they were read; none, where one cannot be read.
    """
    faults: list[Finding] = []
    readings: list[Reading] = []
    for part, text in zip(run, texts, strict=True):
        try:
            readings.append(read(text))
        except RereadError as error:
            return [], [Finding("error", "unreadable", panel.name, "", str(error), error.line)]
        faults += compare(readings[-1], part, job.machine)
    return readings, [*faults, *_judged(job, panel, readings)]


def _judged(job: Job, panel: Panel, readings: Sequence[Reading]) -> tuple[Finding, ...]:
    return judge(readings, panel, job.machine, job.cutters, job.materials[panel.material])


def _program_facts(job: Job, post: Post, part: Program) -> dict[str, object]:
    setup = part.setup
    numbers = dict.fromkeys(operation.cutter for operation in setup.operations)
    return {
        "kind": post.kind,
        "post": post.name,
        "panel": setup.panel,
        "setup": setup.number,
        "order": part.part,
        "units": job.machine.program.units,
        "zero": _in_mm(setup.zero),
        "mirrored": setup.mirrored,
        "touch_off": _in_mm(setup.touch_off),
        "thickness_mm": round(setup.thickness, 6),
        "stock_mm": _in_mm(setup.stock),
        "cutters": [_cutter_facts(job, number) for number in numbers],
    }


def _in_mm(values: Sequence[float]) -> list[float]:
    """Coordinates for the manifest: to a nanometre, so that float noise does not show."""
    return [round(value, 6) + 0.0 for value in values]


def _cutter_facts(job: Job, number: int) -> dict[str, object]:
    cutter = job.cutters[number]
    facts: dict[str, object] = {
        "number": t_number(job.machine, number),
        "kind": cutter.kind,
        "diameter_mm": round(cutter.diameter, 6),
        "point_angle_deg": round(math.degrees(cutter.point_angle), 6),
    }
    return facts | ({"tip_mm": round(cutter.tip, 6)} if cutter.tip else {})


def _tabs(panel: Panel, planned: Sequence[Planned]) -> tuple[TabMark, ...]:
    """The holding tabs of a panel, of all its setups, in its own program coordinates."""
    found: list[TabMark] = []
    for one in planned:
        if one.panel.name != panel.name or one.program is None:
            continue
        dx, dy = panel.to_program(one.panel.zero)
        for mark in tab_marks(one.panel, one.program.setup):
            a, b, c, d = ((x + dx, y + dy) for x, y in mark)
            found.append((a, b, c, d))
    return tuple(found)


@dataclass(slots=True)
class Drawn:
    """What all drawings for pens have in common: the job, the paper that was named, whether only marks are drawn.

    ``findings`` are gathered on the way.
    """

    job: Job
    named: Paper | None
    marks: bool
    hand: HandWork
    findings: list[Finding] = field(default_factory=list)


def _plots(
    drawn: Drawn, layout: Layout, planned: Sequence[Planned], writers: Sequence[Post], report: Report
) -> list[OutputFile]:
    """Every panel's drawing as every post-processor for drawings and pens writes it.

    Where it is known what the pen draws on, and that is too small, it comes sheet by sheet from those that can.
    """
    files = []
    for post in writers:
        if isinstance(post, DrawingPost) and post.flat:
            report("drawing the flat geometry", 0, 1)
            files += _flats(drawn.job, layout, post)
        elif isinstance(post, DrawingPost | PenPost):
            for done, panel in enumerate(layout.panels):
                report(f"drawing {panel.name}", done, len(layout.panels))
                for stem, drawing, facts in _drawings(drawn, panel, _tabs(panel, planned), post):
                    if isinstance(post, PenPost):
                        files += _pen_programs(drawn, post, panel, drawing, stem, facts)
                    else:
                        files.append(_plot(post, panel, drawing, stem, facts))
    return files


def _flats(job: Job, layout: Layout, post: DrawingPost) -> list[OutputFile]:
    """The bare geometry of every panel, in panel coordinates and seen from the outside."""
    heading = Heading(job.title, job.units, _size(job), job.chassis)
    files = []
    for panel in layout.panels:
        text = postprocessors.text_of(post, partial(post.write, draw_flat(panel, heading)), "utf-8")
        facts: dict[str, object] = {"kind": post.kind, "post": post.name, "panel": panel.name, "units": "mm"}
        facts |= {"zero": [0.0, 0.0], "mirrored": False, "thickness_mm": round(panel.thickness, 6)}
        files.append(OutputFile(f"{file_name(panel.name)}{post.suffix}", text.encode("utf-8"), facts))
    return files


def _drawings(
    drawn: Drawn, panel: Panel, tabs: Sequence[TabMark], post: DrawingPost | PenPost
) -> Iterator[tuple[str, Drawing, dict[str, object]]]:
    """A panel's drawing, or its sheets, each with the stem of its file and facts of its own."""
    job, stem = drawn.job, file_name(panel.name)
    scale = _scale(job, post)
    if drawn.marks:
        standing = _standing(panel, job.machine)
        off = (job.machine.pen.diameter / 2 if job.machine.pen else 0.0) + CLAMP_CLEARANCE
        boxes = [grown(box, off) for box, _ in standing]
        drawing, found = draw_marks(panel, _common(job), boxes, scale, drawn.hand.punched(panel.name))
        drawn.findings += found
        high = panel.clear_height if standing else 0.0
        facts = {"marks": True, "lower_left": _in_mm(drawing.bounds[:2])}
        yield f"{stem}.marks", replace(drawing, clear_height=high), facts
        return
    drawing = draw_panel(panel, job.title, job.units, _size(job), tabs, scale=scale)
    paper = _drawn_on(drawn, post, scale)
    if not (paper and holds_bars(paper)) or _lies_on(drawing, paper, post, job.machine):
        yield stem, drawing, {"lower_left": _in_mm(drawing.bounds[:2])}
        return
    for number, sheet, facts in _sheets(job, panel, tabs, paper, scale):
        yield f"{stem}.p{number}", (_from_its_corner(sheet) if isinstance(post, PenPost) else sheet), facts


def _from_its_corner(sheet: Drawing) -> Drawing:
    """A sheet with its zero at its lower left corner: what is drawn sheet by sheet begins there for each."""
    x0, y0, x1, y1 = sheet.bounds
    pens = (replace(pen, marks=tuple(moved(mark, (-x0, -y0)) for mark in pen.marks)) for pen in sheet.pens)
    return replace(sheet, bounds=(0.0, 0.0, x1 - x0, y1 - y0), pens=tuple(pens))


def _drawn_on(drawn: Drawn, post: DrawingPost | PenPost, scale: Scale) -> Paper | None:
    """What drawings of a post-processor are laid over, as large as a true drawing on it may be; None: whole it stays.

    A machine that draws from a program draws within its own travel, either way round.
    """
    machine = drawn.job.machine
    if isinstance(post, PenPost):
        side = min(machine.travel[:2])
        paper = pen_sheet(drawn.named, (side, side))
    else:
        paper = pen_sheet(drawn.named, _reach(machine)) if post.sheets else None
    most = max(scale.x, scale.y)
    return paper and true_size(paper, most, most)


def _lies_on(drawing: Drawing, paper: Paper, post: DrawingPost | PenPost, machine: Machine) -> bool:
    """Whether a whole drawing needs no sheets: it lies on one, or within the travel of the machine that draws it."""
    if not isinstance(post, PenPost) or not paper.source.startswith("the reach"):
        return fits(drawing.bounds, paper)
    x0, y0, x1, y1 = drawing.bounds
    wide, high = drawing.scale.of((x1 - x0, y1 - y0))
    return wide <= machine.travel[0] and high <= machine.travel[1]


def _scale(job: Job, post: DrawingPost | PenPost | SheetsPost) -> Scale:
    """The true scale of what prints, or draws, what a post-processor writes.

    A program for a pen is drawn by the machine, and a drawing by a machine that only draws; all else comes from the
    printer, where one is named.
    """
    by_machine = isinstance(post, PenPost) or (isinstance(post, DrawingPost) and not job.machine.cuts)
    device = job.machine if by_machine or job.printer is None else job.printer
    scales = isinstance(post, PenPost) or post.scales
    return Scale(*device.scale, device.name) if scales and device.scale != (1.0, 1.0) else TRUE


def _standing(panel: Panel, machine: Machine) -> list[tuple[Bounds, float]]:
    """What stands on a sheet where it is machined, in program coordinates, with its height; nothing on a plotter."""
    if not machine.cuts:
        return []
    standing = [(panel.area_to_program(clamp.area), clamp.height) for clamp in panel.clamps]
    if panel.folded and panel.folded.standing:
        standing += [(panel.area_to_program(flange.area), flange.height) for flange in panel.flanges]
    return standing


def _sheets(
    job: Job, panel: Panel, tabs: Sequence[tuple[XY, XY, XY, XY]], paper: Paper, scale: Scale
) -> Iterator[tuple[int, Drawing, dict[str, object]]]:
    """A panel's drawing over sheets of paper, and its hole table on sheets behind them."""
    common = _common(job)
    drawing = draw_alone(panel, job.title, notes(panel, common), tabs)
    tables = draw_tables(panel, common, room(paper), list(meanings(panel, bool(tabs))))
    of_panel, *of_tables = sheets_of([replace(one, scale=scale) for one in (drawing, *tables)], paper)
    sheets = [*of_panel, *(sheet for of_table in of_tables for sheet in of_table)]
    for number, sheet in enumerate(sheets, start=1):
        x0, y0, x1, y1 = sheet.bounds
        facts: dict[str, object] = {
            "tile": number, "tiles": len(sheets), "paper": paper.name, "sheet_mm": _in_mm(scale.of((x1 - x0, y1 - y0)))
        }  # fmt: skip
        if number <= len(of_panel):
            facts["lower_left"] = _in_mm((x0, y0))
        yield number, sheet, facts


def _plot(post: DrawingPost, panel: Panel, drawing: Drawing, stem: str, more: dict[str, object]) -> OutputFile:
    """One drawing as a file, each pen's strokes in a short order, with ``more`` facts."""
    text = postprocessors.text_of(post, lambda: post.write(short_way(drawing)), "utf-8")
    facts = _plot_facts(post, panel, drawing) | more
    return OutputFile(f"{stem}{post.suffix}", text.encode("utf-8"), facts)


def _plot_facts(post: DrawingPost | PenPost, panel: Panel, drawing: Drawing) -> dict[str, object]:
    facts: dict[str, object] = {
        "kind": post.kind,
        "post": post.name,
        "panel": panel.name,
        "units": "mm",
        "zero": list(panel.zero),
        "mirrored": panel.mirrored,
    }
    return facts | _scale_facts(drawing.scale)


def _scale_facts(scale: Scale) -> dict[str, object]:
    return {} if scale == TRUE else {"scale": [scale.x, scale.y], "scaled_for": scale.device}


def _pen_programs(
    drawn: Drawn, post: PenPost, panel: Panel, drawing: Drawing, stem: str, more: dict[str, object]
) -> list[OutputFile]:
    """A drawing as one program for each width of pen, the finest first, each proved stroke by stroke."""
    job = drawn.job
    machine = job.machine
    if fault := _beyond_its_travel(panel, drawing, machine, drawn.marks):
        drawn.findings.append(fault)
        return []
    files = []
    standing = _standing(panel, machine) if drawn.marks else []
    for line in sorted({pen.width for pen in drawing.pens}):
        part = short_way(replace(drawing, pens=tuple(pen for pen in drawing.pens if pen.width == line)))
        text = postprocessors.text_of(post, partial(post.write, part, machine), "ascii")
        name = f"{stem}{PEN}{plain(line, 2)}{post.suffix}"
        facts = _plot_facts(post, panel, drawing) | {"units": machine.program.units, "pen_mm": line} | more
        try:
            reading = read(text, flat=machine.pen is not None and machine.pen.by_command)
            faults = judge_pen(reading, part, machine, standing)
        except RereadError as error:
            faults = [Finding("error", "unreadable", panel.name, "", str(error), error.line)]
        whose = "" if postprocessors.is_ours(post) else f"post-processor {post.name!r}: "
        drawn.findings += [replace(fault, message=f"{whose}{name}: {fault.message}") for fault in faults]
        if not faults and machine.cuts:
            facts["seconds"] = round(timeline([reading], machine).seconds, 1)
        files.append(OutputFile(name, text.encode("ascii"), facts))
    return files


def _beyond_its_travel(panel: Panel, drawing: Drawing, machine: Machine, marks: bool) -> Finding | None:
    """That a machine does not reach all that its pen is to draw."""
    x0, y0, x1, y1 = bounds_of(mark for pen in drawing.pens for mark in pen.marks)
    across, up = drawing.scale.of((x1 - x0, y1 - y0))
    if across <= machine.travel[0] and up <= machine.travel[1]:
        return None
    cure = "draw it on a larger machine"
    said = (
        f"what the pen is to draw is {across:.0f} by {up:.0f} mm, and {machine.name} travels {machine.travel[0]:g} by "
        f"{machine.travel[1]:g} mm: {cure if marks else f'--marks draws the marks alone, or {cure}'}"
    )
    return Finding("error", "beyond-travel", panel.name, "", said)


def _pages(
    job: Job, layout: Layout, planned: Sequence[Planned], writers: Sequence[Post], paper: Paper, hand: HandWork,
    report: Report,
) -> list[OutputFile]:
    """One file of full-size pages for all panels together, from each post-processor that writes pages."""
    chosen = [post for post in writers if isinstance(post, SheetsPost)]
    if not chosen:
        return []
    drawings: list[Drawing] = []
    common = _common(job)
    warned = cautions((job.materials[panel.material] for panel in layout.panels), by_machine=job.machine.cuts)
    at_the_end = [
        "At the bench, each bit fitted once:", *order_lines(hand, job.units), "",
        *(text for group in warned for text in group.sentences),
    ]  # fmt: skip
    scale = _scale(job, chosen[0])
    true = true_size(paper, scale.x, scale.y)
    for done, panel in enumerate(layout.panels):
        report(f"drawing the template of {panel.name}", done, len(layout.panels))
        setups = [one.panel for one in planned if one.panel.name == panel.name and one.divided is not None]
        below = [*template_meanings(panel, common), *setups_meant(setups), ""]
        below += at_the_end if panel is layout.panels[-1] else []
        pilots = hand.pilots(panel.name, job.units)
        first, punched = hand.first_holes(panel.name), hand.punched(panel.name)
        drawings.append(draw_template(panel, common, pilots, first, setups, punched))
        drawings += draw_tables(panel, common, room(true), below)
    facts: dict[str, object] = {"paper": paper.name, "panels": [panel.name for panel in layout.panels], "units": "mm"}
    files = []
    for post in chosen:
        scaled = [replace(drawing, scale=_scale(job, post)) for drawing in drawings]
        content = postprocessors.pages_of(post, partial(post.write, scaled, paper))
        own = {"kind": post.kind, "post": post.name} | facts | _scale_facts(_scale(job, post))
        files.append(OutputFile(f"{post.name}{post.suffix}", content, own))
    return files


def _common(job: Job) -> Common:
    return Common(
        job.title, job.units, job.pilot_diameter, _size(job), job.chassis, saw_hole(job.hand_tools, START_HOLE),
        frozenset(
            name for name, material in job.materials.items()
            if material.family == "board" and job.hand_tools.of("router")
        ),
    )  # fmt: skip


def _laid(
    setup: Setup, planned: Sequence[Planned], job: Job, holes: Sequence[Written]
) -> tuple[Panel, setup_sheet.Move | None]:
    """The panel as it lies in a setup, and, of a divided one, how it comes to lie so."""
    one = next(one for one in planned if one.program is not None and one.program.setup is setup)
    if one.divided is None:
        return one.panel, None
    held, board, _ = _board(job, one.divided)
    own = [written for written in holes if written.setup.panel == setup.panel]
    names = _in_order(own)
    steps = tuple(division_steps(held, one.panel, job.units, job.machine, " and ".join(names)))
    earlier = one.divided.setups[: setup.number - 1]
    made = tuple(opening for before in earlier for opening in before.openings)
    if setup.number == 1:
        return one.panel, setup_sheet.Move(steps)
    pins = next((written.timed for written in own if written.timed is not None), None)
    bored = None if pins is None or setup.number != 2 else PinHoles(
        own[0].setup, board, bed_of(one.panel), piece_of(one.panel), stands(held), names, pins.line.seconds
    )
    return one.panel, setup_sheet.Move(steps, made, one.divided.moves[setup.number - 2].error, bored)


def _in_order(programs: Sequence[Written]) -> tuple[str, ...]:
    """The files of one setup as they are run; those of different post-processors for the same work beside each other.
    """
    orders: dict[object, list[str]] = {}
    for one in programs:
        for number, file in enumerate(one.files):
            orders.setdefault(file.facts.get("order", number), []).append(file.path)
    return tuple(" or ".join(names) for names in orders.values())


def _size(job: Job) -> str:
    """The size for a heading; empty where the job has none."""
    return job.size or ("base" if job.sizes else "")


def _papers(
    job: Job,
    layout: Layout,
    planned: Sequence[Planned],
    programs: Sequence[Written],
    findings: Sequence[Finding],
    hand: HandWork,
) -> list[OutputFile]:
    holes = [one for one in programs if one.setup.on_board]
    programs = [one for one in programs if not one.setup.on_board]
    names: dict[int, dict[object, list[str]]] = {}
    setups = [one.program.setup for one in planned if one.program is not None]
    number_of = {(setup.panel, setup.number): number for number, setup in enumerate(setups)}
    at = [number_of[one.setup.panel, one.setup.number] for one in programs]
    for place, one in zip(at, programs, strict=True):
        for file in (file for file in one.files if "order" in file.facts):
            # another post-processor's program of the same work stands beside ours, not after it
            names.setdefault(place, {}).setdefault(file.facts["order"], []).append(file.path)
    times = {place: one.timed for place, one in zip(at, programs, strict=True) if one.timed is not None}
    dry = {
        place: file.path
        for place, one in zip(at, programs, strict=True)
        for file in one.files
        if file.facts["kind"] == "dry run"
    }
    named = [
        setup_sheet.SetupFiles(
            setups[place],
            tuple(map(" or ".join, orders.values())),
            times[place].line.seconds,
            times[place].of_each,
            dry[place],
            *_laid(setups[place], planned, job, holes),
        )
        for place, orders in names.items()
    ]
    table = schedule.write(layout, setups, job.cutters, hand)
    papers = [OutputFile("drill_schedule.csv", table.encode("utf-8"), {"kind": "drill schedule"})]
    if job.machine.cuts:
        sheet = setup_sheet.write(layout, named, job.machine, job.cutters, job.materials, findings, hand)
        papers.insert(0, OutputFile("setup_sheet.html", sheet.encode("utf-8"), {"kind": "setup sheet"}))
    return papers

"""The command line: the one place that prints, exits and opens files of the user's.

Everything beyond click is imported inside the command that needs it, so that ``--help`` answers at once. A command
returns an ``Answer``; ``main`` alone prints it and turns errors into exit statuses.
"""

from __future__ import annotations

import atexit
import gc
import os
import signal
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from time import perf_counter
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

if TYPE_CHECKING:
    from pathlib import Path
    from types import FrameType

    from toolpaths.finding import Finding
    from toolpaths.job import Job
    from toolpaths.pipeline import Held, Made
    from toolpaths.report import Answer
    from toolpaths.units import Units

NAME = "holewright"
DONE, FOUND, BAD_INPUT, CANNOT_WRITE, DEFECT, INTERRUPTED = 0, 1, 2, 3, 70, 130

COLLECTED_AFTER = 200_000, 20, 1000
"""When memory is searched for rings that nothing else holds: seldom, since what a command makes has hardly any, and
searching a program of 100,000 motions again and again took a third of its time."""

Command = TypeVar("Command", bound=Callable[..., Any])


# options -------------------------------------------------------------------------------------------------------------


def options(*chosen: Callable[[Command], Command]) -> Callable[[Command], Command]:
    """Several options as one decorator, in the order of their help."""

    def decorate(command: Command) -> Command:
        for option in reversed(chosen):
            command = option(command)
        return command

    return decorate


def setting(_context: object, _option: object, given: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """``--set`` in its two halves."""
    pairs = [text.partition("=") for text in given]
    for name, equals, _ in pairs:
        if not (equals and name.strip()):
            raise click.BadParameter("say parameter=value, as in --set cabinet_width=360")
    settings = tuple((name.strip(), value.strip()) for name, _, value in pairs)
    _once("--set", [name for name, _ in settings])
    return settings


spoken = options(
    click.option("--json", "as_json", is_flag=True, help="One JSON object on standard output, nothing else there."),
    click.option("--quiet", is_flag=True, help="Say only what is wrong; what was asked for is printed all the same."),
    click.option("-v", "--verbose", is_flag=True, help="Say more."),
)
mending = click.option("--recover", is_flag=True, help="Mend broken drawings that the job reads; each repair is told.")
job_options = options(
    click.option("--size", metavar="NAME", help="One of the job's sizes; without it, the base."),
    click.option("--set", "settings", multiple=True, metavar="PARAMETER=VALUE", callback=setting, help="Override one."),
    click.option("--panel", "panels", multiple=True, metavar="NAME", help="Only this panel (repeatable)."),
    click.option("--machine", metavar="NAME-or-FILE", help="Another machine than the job's."),
    click.option("--cutters", metavar="FILE", help="Your own cutter table, over ours row by row."),
    mending,
)
every_size = click.option("--all-sizes", is_flag=True, help="The base and every size of the job: all, or nothing.")
strips_too = click.option(
    "--fit-strip", is_flag=True, help="Also a scrap of each sheet with every different opening, to try the parts in."
)
sizes_options = options(
    click.option("--set", "settings", multiple=True, metavar="PARAMETER=VALUE", callback=setting, help="Override one."),
    click.option("--machine", metavar="NAME-or-FILE", help="Another machine than the job's."),
    click.option("--cutters", metavar="FILE", help="Your own cutter table, over ours row by row."),
    mending,
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--version", is_flag=True, is_eager=True, expose_value=False, callback=lambda c, o, given: _version(c, given)
)
def holewright() -> None:
    """From one job file to proved drilling and contour programs, full-size drawings and papers for the bench.

    Exit status: 0 done; 1 findings of severity error, or a program that fails verification; 2 bad input; 3 cannot
    write; 70 a defect of ours; 130 interrupted.
    """


def _version(context: click.Context, given: bool) -> None:
    if given:
        from toolpaths.output import version

        _say(sys.stdout, f"{NAME} {version()}\n")
        context.exit()


def _a_number(_context: click.Context, _option: click.Parameter, value: float | None) -> float | None:
    """Nothing that is no number: nan lies within every range."""
    if value is not None and value != value:
        raise click.BadParameter("nan is no length")
    return value


# commands ------------------------------------------------------------------------------------------------------------


@holewright.command(short_help="Write a starter job that builds as it stands, or one from a drawing.")
@click.argument("folder")
@click.option("--from", "drawing", metavar="FILE.dxf", help="Begin the job from this drawing.")
@click.option("--units", type=click.Choice(["mm", "in"]), help="What a unit of the drawing is, if not what it states.")
@click.option("--layer", "layers", multiple=True, metavar="NAME", help="Only this layer of the drawing (repeatable).")
@click.option(
    "--gap", metavar="MM", type=click.FloatRange(0.0, 2.0, min_open=True), callback=_a_number,
    help="Join its loose ends so far.",
)  # fmt: skip
@mending
@spoken
def new(
    folder: str, drawing: str | None, units: str | None, layers: tuple[str, ...], gap: float | None, recover: bool,
    quiet: bool, verbose: bool, **_: object,
) -> Answer:  # fmt: skip
    """Write a job into FOLDER, and its JSON Schema for editors beside it.

    Without --from it is a starter job that builds as it stands. With it, it is the panel that the drawing shows: its
    outline, round holes as holes, other closed contours as shapes or as contours that the job reads.
    """
    from pathlib import Path

    from toolpaths import output, schemas
    from toolpaths.report import Answer, finding_lines

    place = Path(folder)
    name = place.resolve().name or "job"
    if drawing is None and (units or layers or gap or recover):
        raise click.UsageError("--units, --layer, --gap and --recover are about a drawing: name it with --from")
    facts: dict[str, object] = {"folder": str(place)}
    findings: tuple[Finding, ...] = ()
    if drawing is None:
        files = {f"{name}.toml": _starter()}
    else:
        files, findings, facts["found"] = _from_drawing(drawing, name, units, layers, gap, recover)
    beside = "job.schema.json"
    output.write_new(place, files, {beside: schemas.text("job").encode()})
    target, *others = files
    wrote = f"wrote {place / target}; for editors, {beside} lies beside it"
    lines = finding_lines(_shown(list(findings), quiet), verbose)
    lines += [wrote, *(f"wrote {place / other}, which it reads" for other in others)]
    lines.append(f"now try: {NAME} {'check' if drawing else 'build'} {_quoted(str(place / target))}")
    return Answer(DONE, lines, findings, facts=facts | {"files": [*files, beside]})


def _starter() -> bytes:
    from importlib.resources import files

    return (files("toolpaths.job") / "starter.toml").read_bytes()


def _from_drawing(
    drawing: str, name: str, units: str | None, layers: tuple[str, ...], gap: float | None, recover: bool
) -> tuple[dict[str, bytes], tuple[Finding, ...], dict[str, int]]:
    """The files of a job that is begun from a drawing, what is to be told of it, and how much of what was found."""
    from pathlib import Path

    from toolpaths import pipeline
    from toolpaths.drawing_file.contents import Wanted
    from toolpaths.job.schema import proper_name
    from toolpaths.tolerance import JOIN_GAP

    try:
        proper_name(name)
    except ValueError as error:
        raise click.UsageError(f"the folder names the panel, and {error}") from error
    wanted = Wanted(layers, units, gap or JOIN_GAP, recover)  # type: ignore[arg-type]  # click has checked
    files, made = pipeline.begin(Path(drawing), name, wanted)
    return files, made.notes, made.counts


@holewright.command(short_help="Findings about the layout; writes nothing.")
@click.argument("job")
@job_options
@every_size
@strips_too
@spoken
def check(
    job: str,
    panels: tuple[str, ...],
    all_sizes: bool,
    fit_strip: bool,
    quiet: bool,
    verbose: bool,
    as_json: bool,
    **choices: Any,
) -> Answer:
    """Say what is wrong or worth knowing about JOB's layout, and where its components stand; write nothing.

    The centres are told from the panel's origin and from its left and lower edge, as seen from outside, to measure
    with a ruler. With -v it also says for each component what is nearest to it, and how near.
    """
    from toolpaths import listing, pipeline
    from toolpaths.report import Answer, counts

    jobs = _jobs(job, all_sizes, choices)
    _panels(jobs[0], panels)
    found = [(one, pipeline.check(one, panels=panels, fit_strip=fit_strip)) for one in jobs]
    findings = _together(found)
    lines = [line for one, its in found for line in _size_lines(one, its, all_sizes, quiet, verbose)]
    facts: dict[str, object] = {"counts": counts(findings)}
    if all_sizes:
        facts["sizes"] = [_size_facts(one, its) for one, its in found]
    else:
        tables: list[list[str]] = []
        if standing := pipeline.centres(jobs[0], panels):
            facts["components"] = [listing.centre_facts(one) for one in standing]
            tables.append(listing.centres(standing, jobs[0].units))
        if (verbose or as_json) and not panels and (near := _nearest(jobs[0])):
            facts["nearest"] = near
            tables += [listing.table(near, tuple(near[0]))] if verbose else []
        if not quiet:
            lines = [line for table in tables for line in (*table, "")] + lines
    return Answer(_status(findings), lines, findings, facts)


def _nearest(job: Job) -> list[dict[str, object]]:
    """Each component with what is nearest to it, mm."""
    from toolpaths import pipeline

    return [
        {"panel": panel, "feature": feature, "nearest": other, "mm": round(apart, 2)}
        for panel, feature, other, apart in pipeline.nearest(job)
    ]


@holewright.command(short_help="Everything, every program verified first.")
@click.argument("job")
@click.option("-o", "folder", metavar="FOLDER", help="Where to; without it, build/JOBNAME or build/JOBNAME/SIZE.")
@job_options
@every_size
@strips_too
@click.option("--post", "posts", multiple=True, metavar="NAME", help="Only this post-processor (repeatable).")
@click.option("--paper", metavar="NAME", help="To print on: A4, A3, Letter or Legal; by the job's units.")
@click.option("--printer", metavar="NAME-or-FILE", help="Whose true scale prints have; else the machine's.")
@click.option("--marks", is_flag=True, help="Of drawings only the marks: for masking tape stuck to the metal.")
@spoken
def build(
    job: str,
    folder: str | None,
    panels: tuple[str, ...],
    all_sizes: bool,
    fit_strip: bool,
    posts: tuple[str, ...],
    paper: str | None,
    marks: bool,
    quiet: bool,
    verbose: bool,
    as_json: bool,
    **choices: Any,
) -> Answer:
    """Make everything of JOB: every program is verified before a single file is written.

    With --panel or --post the folder then holds only what was asked for. With --all-sizes each size has a folder of its
    name below that of the base; where one cannot be built, none is written. Files there that are yours, or that you
    have edited, are kept. With --fit-strip there are also strips to try the real parts in before the panels are cut;
    --panel names one of them to make it alone.
    """
    from pathlib import Path

    import postprocessors
    from toolpaths import output, pipeline
    from toolpaths.report import Answer, counts, counts_line

    if paper is not None and not paper.strip():
        raise click.UsageError("--paper names no paper: A4, A3, Letter or Legal")
    _once("--post", posts)
    for post in posts:
        postprocessors.find(post)
    jobs = _jobs(job, all_sizes, choices)
    _panels(jobs[0], panels)
    own = jobs[0].size if folder is None else None
    place = Path(folder) if folder else Path("build", jobs[0].name, *([own] if own else []))
    below = [one.size or "" for one in jobs] if all_sizes else [""]
    output.recover(place)
    with Progress(quiet, verbose) as progress:
        made = [
            pipeline.make(
                one, posts=posts, panels=panels, paper=paper or "", fit_strip=fit_strip, marks=marks, report=progress
            )
            for one in jobs
        ]
    found = [(one.job, one.findings) for one in made]
    findings = _together(found)
    lines = [line for one, its in found for line in _size_lines(one, its, all_sizes, quiet, verbose, counted=False)]
    facts: dict[str, object] = {"counts": counts(findings), "folder": None, "files": []}
    if all_sizes:
        facts["sizes"] = [_size_facts(one, its) for one, its in found]
    status = _status(findings)
    if status != DONE:
        return Answer(status, [*lines, f"nothing written: {counts_line(findings)}"], findings, facts)
    builds = [output.Build(at, one.files, _heading(one), one.findings) for at, one in zip(below, made, strict=True)]
    output.write_builds(place, builds)
    names = [path for one in builds for path in one.paths]
    facts |= {"folder": str(place), "files": names}
    lines += [f"wrote {place / name}" for name in names]
    proved = _proved({(file.facts["kind"], "pen_mm" in file.facts) for one in made for file in one.files})
    lines.append(f"{len(names)} files in {place}, {proved}; {counts_line(findings)}")
    return Answer(status, lines, findings, facts)


@holewright.command(short_help="Every size side by side.")
@click.argument("job")
@sizes_options
@spoken
def sizes(job: str, quiet: bool, verbose: bool, as_json: bool, **choices: Any) -> Answer:
    """Show every size of JOB side by side: parameters, panels, findings, and which programs serve more than one.

    A size that cannot be read is shown as such, with its errors, and the status is 2.
    """
    from pathlib import Path

    from toolpaths import listing
    from toolpaths import sizes as comparison
    from toolpaths.job.load import size_names
    from toolpaths.output import finding_facts
    from toolpaths.report import Answer

    found = comparison.side_by_side(lambda name: _read(job, {**choices, "size": name}), size_names(Path(job)))
    facts = [
        comparison.facts(size) | {"findings": [finding_facts(finding) for finding in size.findings]} for size in found
    ]
    findings = tuple(dict.fromkeys(finding for size in found for finding in size.findings))
    problems = comparison.problems_of(found)
    lines = listing.table(comparison.rows(found), ["", *(size.heading for size in found)]) + comparison.refusals(found)
    return Answer(BAD_INPUT if problems else _status(findings), lines, findings, {"sizes": facts}, problems)


def _proved(kinds: set[tuple[object, bool]]) -> str:
    """What is said of the programs among the files of a build, by their kinds and whether they are for a pen."""
    if any(kind == "program" and not pen for kind, pen in kinds):
        return "every program verified"
    return "every program for a pen proved" if any(pen for _, pen in kinds) else "no program among them"


def _setup_number(context: click.Context, option: click.Parameter, value: str | None) -> int | None:
    """The setup that ``--setup`` names: from 1; 0 for ``pins``."""
    if value is None or value.lower() == "pins":
        return None if value is None else 0
    if not (value.isascii() and value.isdecimal() and len(value) <= 4) or int(value) < 1:
        raise click.BadParameter(f"{value[:40]!r} is neither a number from 1 on nor pins")
    return int(value)


@holewright.command(short_help="Re-read programs and hold them against the job.")
@click.argument("job")
@click.argument("programs", nargs=-1, required=True, metavar="PROGRAM...")
@click.option(
    "--setup", metavar="N", callback=_setup_number,
    help="Of a divided panel, the setup that they are for; pins: its pin holes.",
)  # fmt: skip
@job_options
@spoken
def verify(
    job: str,
    programs: tuple[str, ...],
    panels: tuple[str, ...],
    setup: int | None,
    quiet: bool,
    verbose: bool,
    as_json: bool,
    **choices: Any,
) -> Answer:
    """Re-read each PROGRAM, ours or edited, and hold it against JOB; all programs of a build at once, if you like.

    Each setup is judged by itself, and so is each air pass. Programs for a pen are named and not read: they are proved
    when they are built.

    The panel is the one named by --panel, else by the program's file name, else the job's only one. Programs of one
    setup are read in the order given. The setup of a divided panel is the one named by --setup, else by the file name;
    with the programs of all its setups the piece that they make together is judged too.
    """
    from pathlib import Path

    from toolpaths import pipeline
    from toolpaths.errors import BadInput, CannotWrite, Problem, RereadError
    from toolpaths.output import recover, setup_of
    from toolpaths.report import Answer, counts, counts_line, finding_lines, unreadable

    if len(panels) > 1:
        raise click.UsageError("verify takes one --panel at a time")
    read = _read(job, choices)
    _panels(read, panels)
    texts: dict[str, list[tuple[int | None, str, str]]] = {}
    for folder in {Path(program).parent: None for program in programs}:
        with suppress(CannotWrite):  # what a killed build left; where it cannot be tidied, they are read as they are
            recover(folder)
    for program in programs:
        text = _program_text(program)
        number = setup_of(program) if setup is None else setup
        texts.setdefault(_panel_of(read, panels, program), []).append((number, program, text))
    held: list[tuple[str, Held]] = []
    for panel, given in texts.items():
        try:
            held += [(panel, one) for one in pipeline.hold(read, panel, given)]
        except RereadError as error:  # what only shows where programs are read one after the other
            names = tuple(name for _, name, _ in given)
            held.append((panel, pipeline.Held(names, "programs", (unreadable(panel, error),))))
    if all(one.what == "pen" for _, one in held):
        said = "is a program for a pen, which cuts nothing: what it draws is proved when it is built"
        cure = "build it again where it was edited"
        raise BadInput([Problem(name, 0, "", said, cure) for _, one in held for name in one.names])
    findings = tuple(found for _, one in held for found in one.findings)
    status = _status(findings)
    lines: list[str] = []
    for _, one in held:
        if not quiet or _has_errors(one.findings):
            lines += [*finding_lines(_shown(one.findings, quiet), verbose), _verdict(one)]
    read_again = len({name for _, one in held if one.what != "pen" for name in one.names})
    if len(held) > 1:
        verdict = "all verified" if status == DONE else "not all verified"
        lines.append(f"{read_again} program{'s' * (read_again > 1)}, {verdict}; {counts_line(findings)}")
    facts = [
        {"program": name, "panel": panel, "what": one.what,
         "verified": None if one.what == "pen" else not _has_errors(one.findings)}
        for panel, one in held if one.what != "piece" for name in one.names
    ]  # fmt: skip
    return Answer(status, lines, findings, {"counts": counts(findings), "programs": facts})


def _verdict(held: Held) -> str:
    """The line about programs that were held against the job together."""
    from toolpaths.report import counts_line

    verdict = {
        "programs": "verified", "air pass": "air pass verified", "piece": "verified together as one piece",
    }.get(held.what)  # fmt: skip
    if verdict is None:
        return f"{', '.join(held.names)}: for a pen, proved when it was built, not read again"
    no = "not " if _has_errors(held.findings) else ""
    return f"{', '.join(held.names)}: {verdict.replace('verified', f'{no}verified')}, {counts_line(held.findings)}"


@holewright.command(short_help="The order of work with its times, and a page that plays it.")
@click.argument("job")
@click.option("-o", "page", metavar="PAGE.html", help="Write a page that plays every setup: one file, no network.")
@job_options
@strips_too
@spoken
def simulate(
    job: str, panels: tuple[str, ...], page: str | None, fit_strip: bool, quiet: bool, verbose: bool, **choices: Any
) -> Answer:
    """Show the order of work of JOB's programs, how long each piece takes, and when the cutter is changed.

    The programs are written and proved as by build, but not kept. Times are estimates: from the text, with the
    machine's feeds, rapid rates and acceleration.
    """
    from pathlib import Path

    from toolpaths import listing, pipeline
    from toolpaths.report import Answer, counts, counts_line, finding_lines
    from toolpaths.units import duration

    choices.pop("as_json")
    read = _read(job, choices)
    _panels(read, panels)
    made = pipeline.make(read, posts=["gcode"], panels=panels, fit_strip=fit_strip)
    lines: list[str] = []
    for one in made.timed:
        lines += [*listing.order(one, read.machine), ""]
    seconds = sum(one.line.seconds for one in made.timed)
    if made.timed:
        lines.append(f"about {duration(seconds)} in all, an estimate")
    if page is not None and not made.timed:
        lines.append("no page is written: there is no program to play")
    elif page is not None:
        _write(Path(page), pipeline.playback(read, made.layout, made.timed, made.findings), "<title>Playback: ")
        lines.append(f"wrote {page}")
    lines = ([] if quiet else lines) + finding_lines(_shown(made.findings, quiet), verbose)
    lines += [] if quiet else [counts_line(made.findings)]
    facts = {"seconds": round(seconds, 1), "setups": [listing.order_facts(one, read.machine) for one in made.timed]}
    return Answer(_status(made.findings), lines, made.findings, {"counts": counts(made.findings), **facts})


@holewright.command(short_help="The cutter table, with sources.")
@click.argument("name", required=False)
@click.option("--cutters", "file", metavar="FILE", help="Your own cutter table, over ours row by row.")
@spoken
def cutters(name: str | None, file: str | None, verbose: bool, **_: object) -> Answer:
    """List the cutters with their T numbers and sources, or the one with number NAME."""
    from pathlib import Path

    from toolpaths import listing

    rows = listing.cutters(name, Path(file) if file else None)
    columns = ("number", "kind", "size", "material", "flutes", "flute_length_mm", "stick_out_mm", "source")
    return _listed("cutters", rows, columns, name is not None or verbose)


@holewright.command("hand-tools", short_help="The hand tools of the bench, with sources.")
@click.argument("name", required=False)
@click.option("--units", type=click.Choice(["mm", "in"]), default="mm", help="Whose outfit: a shop in mm or in inches.")
@click.option("--hand-tools", "file", metavar="FILE", help="Your own table of hand tools, over ours row by row.")
@spoken
def hand_tools(name: str | None, units: Units, file: str | None, verbose: bool, **_: object) -> Answer:
    """List the drill press and the hand tools with their sources, or the one called NAME."""
    from pathlib import Path

    from toolpaths import listing

    rows = listing.hand_tools(name, units, Path(file) if file else None)
    return _listed("hand-tools", rows, ("name", "kind", "sizes", "source"), name is not None or verbose)


@holewright.command(short_help="The components, with sources.")
@click.argument("name", required=False)
@click.option("--parts", "file", metavar="FILE", help="Your own component table, over ours row by row.")
@click.option("--svg", "picture", metavar="FILE", help="Draw the component called NAME at full size.")
@spoken
def parts(name: str | None, file: str | None, picture: str | None, verbose: bool, **_: object) -> Answer:
    """List the components with what they are, or holes, room and source of the one called NAME, or a series' sizes."""
    from dataclasses import replace
    from pathlib import Path

    from toolpaths import listing

    if picture is not None and name is None:
        raise click.UsageError("--svg draws one component: name it")
    table = Path(file) if file else None
    rows = listing.parts(name, table)
    answer = _listed("parts", rows, ("name", "group", "summary"), verbose or (name is not None and len(rows) == 1))
    if picture is not None and name is not None:
        from toolpaths import pipeline

        _write(Path(picture), pipeline.part_drawing(name, table), 'id="check-bars"')
        answer = replace(answer, lines=[*answer.lines, "", f"drew {picture}"])
    return answer


@holewright.command(short_help="The materials, with sources.")
@click.argument("name", required=False)
@spoken
def materials(name: str | None, verbose: bool, **_: object) -> Answer:
    """List the materials with their sources, or all figures of the one called NAME."""
    from toolpaths import listing

    return _listed("materials", listing.materials(name), ("name", "family", "source"), name is not None or verbose)


@holewright.command(short_help="Clearance holes and tapping sizes, with sources.")
@click.argument("name", required=False)
@spoken
def screws(name: str | None, verbose: bool, **_: object) -> Answer:
    """List clearance holes and tapping sizes with their sources, or those of one screw or thread (M4, 6-32)."""
    from toolpaths import listing

    rows, columns = listing.screws(name), ("screw", "hole", "diameter_mm", "drill", "by", "source")
    return _listed("screws", rows, columns, verbose)


@holewright.command(short_help="The built-in machines, with sources.")
@click.argument("name", required=False)
@spoken
def machines(name: str | None, verbose: bool, **_: object) -> Answer:
    """List the built-in machines with their sources, or all figures of the one called NAME (or of a machine file)."""
    from pathlib import Path

    from toolpaths import listing

    columns = ("name", "travel", "min_rpm", "max_rpm", "stiffness", "source")
    return _listed("machines", listing.machines(name, Path()), columns, name is not None or verbose)


@holewright.command(short_help="The post-processors.")
@click.argument("name", required=False)
@spoken
def posts(name: str | None, verbose: bool, **_: object) -> Answer:
    """List the post-processors, or the one called NAME."""
    from toolpaths import listing

    return _listed("posts", listing.posts(name), ("name", "takes", "suffix", "summary"), name is not None or verbose)


@holewright.command(short_help="The JSON Schema of a file that you write.")
@click.argument("name", required=False, default="job", metavar="[job | machine | cutters | ...]")
@spoken
def schema(name: str, **_: object) -> Answer:
    """Print the JSON Schema of a file that you write, for an editor; without a name, that of a job."""
    from toolpaths import schemas
    from toolpaths.errors import UnknownName
    from toolpaths.report import Answer

    if name not in schemas.NAMES:
        raise UnknownName(f"no file is called {name!r}; there are schemas of {', '.join(schemas.NAMES)}")
    return Answer(DONE, schemas.text(name).splitlines(), facts={"schema": schemas.schema(name)}, wanted=True)


# what commands share -------------------------------------------------------------------------------------------------


def _read(job: str, choices: dict[str, Any]) -> Job:
    from pathlib import Path

    from toolpaths.job.load import read_job

    table = None if choices["cutters"] is None else Path(choices["cutters"])
    return read_job(
        Path(job), size=choices["size"], settings=choices["settings"], machine=choices["machine"], cutters=table,
        recover=choices["recover"], printer=choices.get("printer"),
    )  # fmt: skip


def _jobs(job: str, all_sizes: bool, choices: dict[str, Any]) -> list[Job]:
    """The job in the size that was asked for, or in the base and every size."""
    from pathlib import Path

    from toolpaths import sizes as every
    from toolpaths.job.load import size_names

    if not all_sizes:
        return [_read(job, choices)]
    if choices["size"] is not None:
        raise click.UsageError("--size and --all-sizes do not go together")
    return every.read_all(lambda name: _read(job, {**choices, "size": name}), size_names(Path(job)))


def _together(found: Sequence[tuple[Job, Sequence[Finding]]]) -> tuple[Finding, ...]:
    """The findings of all sizes, those that several have told once."""
    return tuple(dict.fromkeys(finding for _, findings in found for finding in findings))


def _size_lines(
    job: Job, findings: Sequence[Finding], all_sizes: bool, quiet: bool, verbose: bool, counted: bool = True
) -> list[str]:
    """A size's findings, below its name where there may be several."""
    from toolpaths.report import counts_line, finding_lines
    from toolpaths.sizes import BASE

    heading = [f"size {job.size or BASE}: {counts_line(findings)}"] if all_sizes else []
    last = [counts_line(findings)] if counted and not all_sizes else []
    return [*heading, *finding_lines(_shown(findings, quiet), verbose), *last]


def _size_facts(job: Job, findings: Sequence[Finding]) -> dict[str, object]:
    from toolpaths.output import finding_facts
    from toolpaths.report import counts

    return {"name": job.size, "counts": counts(findings), "findings": [finding_facts(found) for found in findings]}


def _heading(made: Made) -> dict[str, object]:
    """What the manifest says first."""
    layout = made.layout
    return {"job": layout.job_name, "title": layout.title, "size": layout.size, "machine": made.job.machine.name}


def _panels(job: Job, wanted: Sequence[str]) -> None:
    """Refuses a panel that the job does not have, with those that it has, and one that is given twice."""
    from toolpaths.errors import UnknownName

    known = _names(job, wanted)
    _once("--panel", wanted)
    for name in wanted:
        if name not in known:
            raise UnknownName(f"--panel {name}: the job has no such panel; it has {', '.join(known)}")


def _names(job: Job, wanted: Sequence[str]) -> Sequence[str]:
    """The names of the job's panels; those of its fit strips too, where one that is wanted is none of those."""
    own = [panel.name for panel in job.panels]
    if set(wanted) <= set(own):
        return own
    from toolpaths import pipeline

    return pipeline.panel_names(job)


def _panel_of(job: Job, wanted: Sequence[str], program: str) -> str:
    from toolpaths import pipeline
    from toolpaths.errors import UnknownName
    from toolpaths.output import panel_of

    known = [panel.name for panel in job.panels]
    found = wanted[0] if wanted else panel_of(program, known) or panel_of(program, pipeline.panel_names(job))
    if found is None and len(known) == 1:
        found = known[0]
    if found is None:
        raise UnknownName(f"{program}: names no panel of the job; say which with --panel: {', '.join(known)}")
    return found


LARGEST_PROGRAM = 24_000_000
"""Bytes of a program that is verified: some 900,000 lines, a fifth more than 50,000 bored holes take."""


def _program_text(program: str) -> str:
    """The text as it stands; bytes that are no UTF-8 become a sign that the strict reader judges."""
    from pathlib import Path

    from toolpaths.errors import NO_FILE, BadInput, Problem

    place = Path(program)
    try:
        if place.exists() and not (place.is_file() or place.is_dir()):
            raise BadInput([Problem(program, 0, "", NO_FILE, "name a plain file")])
        with place.open("rb") as stream:
            raw = stream.read(LARGEST_PROGRAM + 1)
    except OSError as error:
        raise BadInput([Problem(program, 0, "", f"cannot be read: {error.strerror or error}")]) from error
    if len(raw) > LARGEST_PROGRAM:
        said = f"is larger than {LARGEST_PROGRAM // 1_000_000} MB"
        raise BadInput([Problem(program, 0, "", said, "no program for one sheet is so long")])
    return raw.decode("utf-8", errors="replace")


def _once(option: str, given: Sequence[str]) -> None:
    for name in given:
        if given.count(name) > 1:
            raise click.UsageError(f"{option} {name} is given twice")


def _has_errors(findings: Sequence[Finding]) -> bool:
    from toolpaths.finding import has_errors

    return has_errors(list(findings))


def _status(findings: Sequence[Finding]) -> int:
    return FOUND if _has_errors(findings) else DONE


def _shown(findings: Sequence[Finding], quiet: bool) -> list[Finding]:
    return [found for found in findings if found.severity == "error" or not quiet]


def _listed(what: str, rows: list[dict[str, Any]], columns: Sequence[str], full: bool) -> Answer:
    from toolpaths.listing import block, table
    from toolpaths.report import Answer

    if not full:
        return Answer(DONE, table(rows, columns), facts={what: rows}, wanted=True)
    blocks = [[*block(row), ""] for row in rows]
    return Answer(DONE, [line for lines in blocks for line in lines][:-1], facts={what: rows}, wanted=True)


ENOUGH = 1_000_000
"""So many bytes of a file show whose it is."""


def _write(path: Path, text: str, sign: str) -> None:
    """A file that the user named, whole or not at all; over an earlier one of ours, which has the ``sign``, and never
    over another."""
    from toolpaths.errors import CannotWrite
    from toolpaths.output import write_file

    try:
        if path.is_file():
            with path.open("rb") as there:
                content = there.read(ENOUGH)
            if content and sign.encode() not in content:
                raise CannotWrite(f"{path}: is there already, is not of ours and stays as it is; name another file")
        write_file(path, text.encode("utf-8"))
    except OSError as error:
        raise CannotWrite(f"{path}: {error.strerror or error}") from error


def _quoted(text: str) -> str:
    from shlex import quote

    return quote(text)


class Progress:
    """A bar on a terminal, nothing in a pipe; it goes away when the work is done.

    With ``verbose`` a line for each stage instead, with the seconds that it took, on standard error.
    """

    WIDTH = 24

    def __init__(self, quiet: bool, verbose: bool = False) -> None:
        self.verbose = verbose and not quiet
        self.shown = sys.stderr.isatty() and not quiet and not verbose
        self.stage = ""
        self.since = 0.0

    def __enter__(self) -> Progress:
        return self

    def __call__(self, what: str, done: int, total: int) -> None:
        if self.verbose:
            self.told()
            self.stage, self.since = what, perf_counter()
        if self.shown:
            full = self.WIDTH * done // total if total else 0
            text = f"{'=' * full}{' ' * (self.WIDTH - full)}| {done} of {total}  {what}"
            _say(sys.stderr, f"\r{text[:78]}\x1b[K")

    def told(self) -> None:
        """Says how long the stage that ends now has taken."""
        if self.stage:
            _say(sys.stderr, f"{perf_counter() - self.since:7.2f} s  {self.stage}\n")
        self.stage = ""

    def __exit__(self, *_: object) -> None:
        self.told()
        if self.shown:
            _say(sys.stderr, "\r\x1b[K")


# the way out ---------------------------------------------------------------------------------------------------------


def main(arguments: Sequence[str] | None = None) -> None:
    """The entry point: runs one command and exits with its status."""
    given = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")  # a terminal that lacks a sign is no reason to fail
    gc.set_threshold(*COLLECTED_AFTER)
    atexit.register(gc.freeze)  # else Python goes through all that is left for rings before it ends, which takes 0.15 s
    sys.exit(_run(given or ["--help"]))


def _run(given: list[str]) -> int:
    wants_json = "--json" in given[: given.index("--")] if "--" in given else "--json" in given
    told: list[int] = []
    before = _listen(told)
    try:
        # Not click's own main: it prints an empty line when interrupted, and has its own idea of a closed pipe.
        with holewright.make_context(NAME, list(given)) as context:
            answer: Answer = holewright.invoke(context)
        return _print(given, answer, wants_json)
    except click.exceptions.Exit as end:  # --help and --version have spoken for themselves
        return end.exit_code
    except BrokenPipeError:
        _silence(sys.stdout)
        return DONE
    except (KeyboardInterrupt, click.Abort):
        return _fail(given, INTERRUPTED, KeyboardInterrupt("interrupted"), wants_json)
    except Exception as error:
        if told:  # some libraries say in their own way that they could not finish
            return _fail(given, INTERRUPTED, KeyboardInterrupt("interrupted"), wants_json)
        return _fail(given, _status_of(error), error, wants_json)
    finally:
        if before is not None:
            signal.signal(signal.SIGINT, before)


def _listen(told: list[int]) -> Callable[[int, FrameType | None], Any] | None:
    """Ctrl-C is noted in ``told`` and then raised as ever; gives what was done about it before.

    Where it is ignored, or is somebody else's, it stays so: None.
    """

    def interrupt(number: int, _frame: object) -> None:
        told.append(number)
        raise KeyboardInterrupt

    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        return None
    try:
        signal.signal(signal.SIGINT, interrupt)
    except ValueError:  # not the main thread: nobody interrupts it
        return None
    return signal.default_int_handler


def _status_of(error: Exception) -> int:
    from toolpaths.errors import BadInput, BrokenPost, CannotWrite, ExpressionError, UnknownName

    if isinstance(error, click.ClickException | BadInput | BrokenPost | UnknownName | ExpressionError):
        return BAD_INPUT
    return CANNOT_WRITE if isinstance(error, CannotWrite) else DEFECT


def _print(given: list[str], answer: Answer, wants_json: bool) -> int:
    from toolpaths.errors import BadInput
    from toolpaths.report import as_json, error_facts, error_lines, one_line

    errors = error_facts(BadInput(answer.problems)) if answer.problems else []
    _say(sys.stderr, "".join(f"{line}\n" for line in error_lines(errors)))
    if wants_json:
        _say(sys.stdout, as_json(_command(given), answer, errors))
    elif "--quiet" not in given or answer.exit or answer.wanted:
        _say(sys.stdout, "".join(f"{one_line(line)}\n" for line in answer.lines))
    return answer.exit


def _fail(given: list[str], status: int, error: BaseException, wants_json: bool) -> int:
    from toolpaths.report import Answer, as_json, error_facts, error_lines, one_line

    if isinstance(error, click.ClickException):
        said = error.format_message().rstrip(".").replace("No such command", "no such command")
        helped = f"{NAME} {_command(given)} --help".replace("  ", " ")
        text = f"{NAME}: {said} See {helped}" if said.endswith("?") else f"{NAME}: {said}; see {helped}"
        facts: list[dict[str, object]] = [{"message": one_line(text), "text": one_line(text)}]
    elif status == DEFECT:
        text = one_line(f"{type(error).__name__}: {error}")[:400]
        text = f"{NAME}: a defect of ours ({text}); please report it with the job and the command"
        facts = [{"message": text, "text": text}]
        if os.environ.get("HOLEWRIGHT_DEBUG") == "1":
            import traceback

            _say(sys.stderr, "".join(traceback.format_exception(error)))
    else:
        facts = error_facts(error)
    _say(sys.stderr, "".join(f"{line}\n" for line in error_lines(facts)))
    if wants_json:
        _say(sys.stdout, as_json(_command(given), Answer(status), facts))
    return status


def _command(given: Sequence[str]) -> str:
    """The command that was meant, or nothing."""
    return next((word for word in given if word in holewright.commands), "")


def _say(stream: TextIO, text: str) -> None:
    """Print, and let whoever closed the pipe have closed it: the work and its status stand."""
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        _silence(stream)


def _silence(stream: TextIO) -> None:
    """The interpreter flushes once more at its end; nothing must be left that could fail then."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


if __name__ == "__main__":
    main()

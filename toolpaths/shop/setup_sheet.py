"""setup_sheet.html: what to clamp, zero, load and check, in order, with reasons and cautions.

One self-contained page for screen and paper. Everything that comes from a job goes through the template's escaping.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from itertools import groupby

from toolpaths.finding import Finding
from toolpaths.layout.panel import Layout, Opening, Panel, Rectangle
from toolpaths.motion import Drill, Operation, Rapid, Setup
from toolpaths.shop.accuracy import Demand, accuracy_table, demands
from toolpaths.shop.bench import HandWork
from toolpaths.shop.bench_sheet import bench_sheet
from toolpaths.shop.box_sheet import bed_words, box_sheet
from toolpaths.shop.cautions import cautions
from toolpaths.shop.checklist import after, before
from toolpaths.shop.picture import OrderPicture, Picture, draw, draw_order
from toolpaths.shop.pin_holes import PinHoles, PinRow, length_words, pin_rows, ticks
from toolpaths.shop.reach import stick_out
from toolpaths.shop.tab_marks import tab_marks
from toolpaths.shop.touching import TouchRow, finder_for, touches
from toolpaths.shop.words import WORK, Figures, by_tag, describe, measured_from, span, t_number, tag_list
from toolpaths.shop.zeroing import Step, Words, steps
from toolpaths.tables.load import gauges, nearest_gauge
from toolpaths.tables.rows import Cutter, Machine, Material
from toolpaths.tolerance import SAME_GAUGE
from toolpaths.units import INCH, duration, plain, said

CLEAR_OF_SHEET = 4.0
"""mm; a rapid that ends lower than this has come down to cut: the clear height is 5 mm or more."""


MOST_FEATURES = 40
"""More in one line of the order of work nobody reads: a thousand would fill pages."""

Z_ERROR = 0.05
"""mm; what a touch-off with paper is wrong by (common practice): told of engraved lines."""


@dataclass(frozen=True, slots=True)
class Move:
    """How the piece of a divided panel comes to lie in a setup: step by step. ``earlier`` are the openings that are
    made by then, ``error`` the most by which the pins may displace a feature, mm; ``holes``: the pin holes, where they
    are bored before this setup."""

    steps: tuple[str, ...]
    earlier: tuple[Opening, ...] = ()
    error: float = 0.0
    holes: PinHoles | None = None


@dataclass(frozen=True, slots=True)
class SetupFiles:
    """A setup with the files of its programs as they are run, which are one, or one for each run of a cutter; the
    ``seconds`` that they take in all, those of each operation, and the file of its air pass."""

    setup: Setup
    programs: tuple[str, ...]
    seconds: float
    of_each: tuple[float, ...]
    air_pass: str
    panel: Panel | None = None
    """The panel as it lies in this setup; None: as the layout has it."""
    move: Move | None = None
    """Of a divided panel: how the sheet comes to lie so."""


@dataclass(frozen=True, slots=True)
class ClampRow:
    """A clamp as it lies: ranges in program coordinates, mm."""

    number: int
    x: str
    y: str
    height: str


@dataclass(frozen=True, slots=True)
class CutterRow:
    """A cutter in the order of use, with the range of figures that its operations run at."""

    t: int
    what: str
    diameter: str
    stick_out: str
    flute_length: str
    rpm: str
    feed: str
    plunge: str
    per_pass: str
    depth: str
    reach: str
    why: tuple[str, ...]
    """Why it runs so: the reasons for speed, feed and depth per pass."""


@dataclass(frozen=True, slots=True)
class StepRow:
    """One numbered line of the order of work."""

    number: int
    t: int
    work: str
    tags: str
    features: str
    playback: str
    """The numbers of its operations in the playback, which counts every hole."""
    time: str
    depth: str
    per_pass: str
    rpm: str
    feed: str
    program: str
    """The file that it is in; empty where all are in one."""


@dataclass(frozen=True, slots=True)
class ReasonRow:
    """Tags, and every reason that holds for exactly these."""

    tags: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OverviewRow:
    """A setup in a line: what it takes."""

    panel: str
    number: int
    program: str
    cutters: str
    changes: int
    time: str


@dataclass(frozen=True, slots=True)
class HolesView:
    """What the sheet says of the pin holes of a divided panel."""

    overview: OverviewRow
    bed: str
    rows: tuple[PinRow, ...]
    cutters: tuple[CutterRow, ...]
    length: str
    ticks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SetupView:
    """Everything that the sheet says of one setup."""

    overview: OverviewRow
    panel: str
    number: int
    count: int
    moves: tuple[str, ...]
    holes: HolesView | None
    """The pin holes that are bored before it."""
    program: str
    time: str
    air_pass: str
    engraving: str
    """What engraving asks for beside the rest; empty where nothing is engraved."""
    sheet: str
    gauge: str
    facing: str
    spoilboard: str
    outline: str
    zero: str
    touch_off: str
    length: str
    clear_height: str
    spin_up: str
    zeroing: tuple[Step, ...]
    finder: str
    touches: tuple[TouchRow, ...]
    before: tuple[str, ...]
    after: tuple[str, ...]
    demands: tuple[Demand, ...]
    clamps: tuple[ClampRow, ...]
    unclamped: str
    """How the piece is held where the job names no clamps."""
    cutters: tuple[CutterRow, ...]
    steps: tuple[StepRow, ...]
    reasons: tuple[ReasonRow, ...]
    picture: Picture
    order: OrderPicture


def write(
    layout: Layout,
    setups: Sequence[SetupFiles],
    machine: Machine,
    cutters: Mapping[int, Cutter],
    materials: Mapping[str, Material],
    findings: Iterable[Finding],
    hand: HandWork | None = None,
) -> str:
    """The whole page; findings are those of the job, ``hand`` is its work at the bench."""
    # Only this function needs the template engine: papers are not always asked for.
    from jinja2 import Environment, StrictUndefined

    figures = Figures(layout.units, machine.program.units)
    panels = {panel.name: panel for panel in layout.panels}
    used = dict.fromkeys(panels[one.setup.panel].material for one in setups)
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, optimized=False
    )  # a template that is filled once is not worth the time of making it quick
    text = (resources.files("toolpaths.shop") / "setup_sheet.html.j2").read_text("utf-8")
    shown = [
        view(one, panel, machine, cutters, materials[panel.material], figures)
        for one in setups
        for panel in [one.panel or panels[one.setup.panel]]
    ]
    holes = [one.move.holes for one in setups if one.move and one.move.holes]
    page = environment.from_string(text).render(
        layout=layout,
        machine=machine,
        figures=figures,
        setups=shown,
        total=duration(sum(one.seconds for one in setups) + sum(one.seconds for one in holes)),
        changes=sum(one.overview.changes for one in shown)
        + sum(one.holes.overview.changes for one in shown if one.holes),
        findings=list(findings),
        cautions=cautions(materials[name] for name in used if name in materials),
        accuracy=accuracy_table(machine, figures),
        program_error=figures.told("0.01 mm"),
        bench=bench_sheet(layout, hand, figures) if hand else None,
        page_size="A4" if layout.units == "mm" else "letter",
        running_title=css_string(f"{layout.title}, {_size_words(layout)}{machine.name}"),
    )
    return page if page.endswith("\n") else page + "\n"


def _size_words(layout: Layout) -> str:
    return f"size {layout.size}, " if layout.size is not None else ""


def css_string(text: str) -> str:
    r"""A text of the job as the inside of a string in a style sheet: what is no letter or figure goes by its code.

    >>> print(css_string('Amp"<'))
    Amp\000022\00003c
    """
    return "".join(sign if sign.isascii() and sign.isalnum() else f"\\{ord(sign):06x}" for sign in text)


def view(
    files: SetupFiles,
    panel: Panel,
    machine: Machine,
    cutters: Mapping[int, Cutter],
    material: Material,
    figures: Figures,
) -> SetupView:
    """One setup in words and figures."""
    setup, programs = files.setup, files.programs
    unit = figures.at_machine
    box = box_sheet(panel, setup.operations, figures)
    bed = bed_words(panel, figures) or _spoilboard(setup, machine, figures)
    words = Words(_zero(panel, figures), _facing(setup, panel.folded is not None), bed)
    finder = finder_for(panel, figures)
    return SetupView(
        overview=_overview(files, machine),
        panel=panel.name,
        number=setup.number,
        count=setup.count,
        moves=files.move.steps if files.move else (),
        holes=_holes(files.move.holes, machine, cutters, figures) if files.move and files.move.holes else None,
        program=", then ".join(programs),
        time=duration(files.seconds),
        air_pass=files.air_pass,
        engraving=_engraving(setup, cutters, figures),
        sheet=_sheet(panel, setup, figures),
        gauge=_gauge(panel, material, figures),
        facing=words.facing,
        spoilboard=words.bed,
        outline=_outline(panel, figures),
        zero=words.zero,
        touch_off=_touch_off(panel, setup, figures),
        length=_length(machine),
        clear_height=f"Z{figures.axis(setup.clear_height)}{unit}",
        spin_up=_speed(machine),
        zeroing=steps(panel, setup, machine, cutters, figures, words, box, programs, files.air_pass),
        finder=said(finder, figures.program),
        touches=touches(panel, finder, figures),
        before=before(panel, setup, machine, cutters, material, figures, programs, files.air_pass),
        after=after(panel, setup, machine, figures, *((files.move.earlier, files.move.error) if files.move else ())),
        demands=demands(panel, setup, machine, figures),
        clamps=tuple(_clamps(panel, figures)),
        unclamped="hold the box down where it lies on its bed" if panel.folded else (
            "hold the sheet by screws in waste, tape or vacuum, flat all over"
        ),
        cutters=tuple(_cutters(panel, setup.operations, machine, cutters, figures)),
        steps=tuple(_steps(files, machine, figures)),
        reasons=tuple(_reasons(setup.operations, figures)),
        picture=draw(panel, setup.touch_off, tab_marks(panel, setup), figures.set_off),
        order=_order(panel, setup.operations),
    )


def _holes(
    holes: PinHoles, machine: Machine, cutters: Mapping[int, Cutter], figures: Figures
) -> HolesView:
    return HolesView(
        _overview_row(holes.setup, holes.programs, holes.seconds, machine), holes.bed, pin_rows(holes, figures),
        tuple(_cutters(holes.board, holes.setup.operations, machine, cutters, figures)),
        length_words(holes, machine, figures), ticks(holes, machine, figures),
    )  # fmt: skip


def _overview(files: SetupFiles, machine: Machine) -> OverviewRow:
    return _overview_row(files.setup, files.programs, files.seconds, machine)


def _overview_row(setup: Setup, programs: Sequence[str], seconds: float, machine: Machine) -> OverviewRow:
    runs = [number for number, _ in groupby(step.cutter for step in setup.operations)]
    numbers = ", ".join(f"T{t_number(machine, number)}" for number in dict.fromkeys(runs))
    return OverviewRow(
        setup.panel, setup.number, ", then ".join(programs), numbers, max(len(runs) - 1, 0), duration(seconds),
    )  # fmt: skip


# sentences -----------------------------------------------------------------------------------------------------------


def _sheet(panel: Panel, setup: Setup, figures: Figures) -> str:
    x0, y0, x1, y1 = setup.stock
    across, up = x1 - x0, y1 - y0
    if figures.job == "mm":
        return f"{panel.material}, {plain(across)} × {plain(up)} mm, {panel.thickness_text} thick"
    wide, high = (figures.set_off(side) for side in (across, up))
    if " mm" not in wide + high:
        wide = wide.removesuffix(" in")
    size = f"{wide} × {high} ({plain(across)} × {plain(up)} mm)"
    return f"{panel.material}, {size}, {_with_mm(panel.thickness_text, f'{plain(setup.thickness)} mm')} thick"


def _with_mm(thickness: str, metric: str) -> str:
    """A thickness in inches with its mm beside it: behind the measured one where there are two.

    >>> _with_mm("18 ga (0.0478 in)", "1.214 mm"), _with_mm("0.061 in measured, nominal 1/16 in", "1.549 mm")
    ('18 ga (0.0478 in; 1.214 mm)', '0.061 in (1.549 mm) measured, nominal 1/16 in')
    """
    if " measured" in thickness:
        return thickness.replace(" measured", f" ({metric}) measured", 1)
    return f"{thickness[:-1]}; {metric})" if thickness.endswith(")") else f"{thickness} ({metric})"


def _gauge(panel: Panel, material: Material, figures: Figures) -> str:
    """What the gauge beside the thickness means; empty for a sheet that is not sold by gauge."""
    found, system = nearest_gauge(panel.thickness, material), gauges(material)
    if found is None or system is None:
        return ""
    number, own = found
    apart = panel.thickness - own
    told = f"{number} ga of the {system.system} is {figures.measured(own)}"
    if abs(apart) <= SAME_GAUGE:
        return f"{told}: that is this sheet."
    more = "thicker" if apart > 0 else "thinner"
    return f"{told}; this sheet is {figures.size(round(abs(apart), 3))} {more}. Measure yours."


def _touch_off(panel: Panel, setup: Setup, figures: Figures) -> str:
    """The touch-off point as the display shows it, and as a rule finds it from the sheet's edges."""
    x, y = panel.to_program(setup.touch_off)
    left, low, right, high = panel.area_to_program(panel.stock)
    across = (x - left, "left") if x - left <= right - x else (right - x, "right")
    up = (y - low, "lower") if y - low <= high - y else (high - y, "upper")
    rule = f"{figures.set_off(across[0])} from the {across[1]} and {figures.set_off(up[0])} from the {up[1]} edge"
    return f"X{figures.axis(x)} Y{figures.axis(y)}{figures.at_machine}, the diamond of the plan: {rule} of the sheet"


def _facing(setup: Setup, folded: bool) -> str:
    if setup.mirrored and folded:
        return "Inside face up: the box lies on this face, turned over left to right, and so is the program."
    if setup.mirrored:
        return "Inside face up: the sheet is turned over left to right, and so is the program."
    return "Outside face up, as the panel is drawn."


def _spoilboard(setup: Setup, machine: Machine, figures: Figures) -> str:
    below = max((-step.depth - setup.thickness for step in setup.operations), default=0.0)
    board = f"A flat, clean spoilboard of {figures.set_off(machine.spoilboard)} under the whole sheet"
    return f"{board}; the deepest cut goes {figures.size(round(below, 2))} into it." if below > 0 else f"{board}."


def _outline(panel: Panel, figures: Figures) -> str:
    if panel.cut_outline:
        margin = figures.set_off(round(panel.margin, 4))
        return (
            f"The outline is machined too, last of all, out of a sheet that reaches {margin} beyond the "
            "finished panel on every side. Clamps stand wholly in that margin or wholly on the panel, never across "
            "the outline; without clamps put screws near the sheet's edge and double-sided tape under the panel. Tabs "
            "hold the panel in its frame: take the sheet off the machine, then saw them and file flush."
        )
    if panel.fit_strip:
        return (
            "A scrap of the same sheet, of this size or larger, its lower left corner square; its ends are free of "
            "openings for clamps or screws, and tape holds what would lift between them. Try the real parts in it "
            "before the panels are cut."
        )
    if panel.folded:
        return "The box is folded already: deburr its edges, and check that its faces are flat and its corners square."
    if panel.on_blank:
        return (
            "The sheet is the flat blank of the whole box, cut to size and square, its corners notched out where walls "
            f"meet; it is bent afterwards. {_on_blank(panel)} Its size follows a rule for bends: bend a trial piece "
            "first, and move the zero by what yours differs."
        )
    return "The outline is not machined: the sheet must be cut to size and square, burrs off, before it is clamped."


def _on_blank(panel: Panel) -> str:
    """Which way the blank lies: what of it lies where, as it is seen on the machine."""
    own = panel.area_to_program(panel.outline.bounds)
    middle = next((panel.area_to_program(one.area) for one in panel.blank if one.is_middle), own)
    placed = [
        (one.face, _way_from(own if one.is_middle else middle, panel.area_to_program(one.area)))
        for one in panel.blank
    ]
    said = [f"the {face} {way}" for face, way in placed]
    if middle == own:
        return f"Lay it with {', '.join(said)}: see the plan."
    rim = "The edge towards you" if placed[0][1] == "away from you" else "The edge away from you"
    return f"Lay it with {said[0]}, and round that {', '.join(said[1:])}: see the plan. {rim} becomes the rim."


def _way_from(here: Rectangle, there: Rectangle) -> str:
    """In which way the one rectangle lies from the other, for whoever stands at the machine."""
    across = (there[0] + there[2] - here[0] - here[2]) / 2
    up = (there[1] + there[3] - here[1] - here[3]) / 2
    if abs(across) > abs(up):
        return "to the right" if across > 0 else "to the left"
    return "away from you" if up > 0 else "towards you"


def _engraving(setup: Setup, cutters: Mapping[int, Cutter], figures: Figures) -> str:
    """How flat the sheet must lie, and what an error in Z does to the line."""
    steps = [step for step in setup.operations if step.kind == "engrave"]
    if not steps:
        return ""
    shallow = min(-step.depth for step in steps)
    cutter = cutters[steps[0].cutter]
    width, deeper = cutter.width_at(shallow), cutter.width_at(shallow + Z_ERROR)
    line, widened, error = (figures.size(round(length, 2)) for length in (width, deeper, Z_ERROR))
    return (
        f"The lettering is {figures.size(shallow)} deep and its line {line} wide; with Z out by {error} "
        f"the line is {widened}, or faint. So the sheet must lie flat: mill the spoilboard over on this machine, and "
        "hold the sheet down under the lettering too, with tape. Touch off on bare sheet, by contact or with paper "
        "whose thickness is counted: it is often as thick as the line is deep. Go over the sheet the same way first: "
        "where it differs, the line will. Engrave a trial piece and measure its line."
    )


def _zero(panel: Panel, figures: Figures) -> str:
    if panel.stage is not None and panel.stage.number > 1:
        left, low, _, _ = panel.area_to_program(panel.stock)
        return (
            "where it was in setup 1: leave it. The sheet's lower left corner, as it lies on the machine, is now at "
            f"X{figures.axis(left, 1)} Y{figures.axis(low, 1)}{f' {figures.program}' if figures.mixed else ''}."
        )
    place = f"the {figures.told(measured_from(panel.contour_to_program(panel.outline).bounds))} of the finished panel"
    left, low, _, _ = panel.area_to_program(panel.stock)
    if abs(left) < 1e-6 and abs(low) < 1e-6:
        return f"{place}, as it lies on the machine: the lower left corner of the sheet itself."
    sides = [
        f"on the {name} edge" if abs(inward) < 1e-6 else f"{figures.set_off(inward)} from the {name} edge"
        for name, inward in (("left", -left), ("lower", -low))
    ]
    return f"{place}, as it lies on the machine: {' and '.join(sides)} of the sheet."


def _length(machine: Machine) -> str:
    if machine.program.length == "length table":
        return "Touch off every cutter there and enter it in the length table; the program calls it after each change."
    if machine.program.change == "one program per cutter":
        return "Each cutter has its program: fit it and touch off at the stop of that program. Wipe chips off first."
    return "Touch off there with the first cutter, and again at each stop for a change. Wipe chips off first."


def _speed(machine: Machine) -> str:
    if not machine.speed_control:
        return "This spindle's speed is set by hand: set it at each stop, before you press start."
    return f"The program sets the speed and waits {plain(machine.spin_up, 1)} s for the spindle to run up."


# rows ----------------------------------------------------------------------------------------------------------------


def _clamps(panel: Panel, figures: Figures) -> Iterable[ClampRow]:
    for clamp in panel.clamps:
        x0, y0, x1, y1 = panel.area_to_program(clamp.area)
        say = figures.ruled
        x, y = f"{say(x0)} to {say(x1)}", f"{say(y0)} to {say(y1)}"
        yield ClampRow(clamp.number, x, y, say(clamp.height))


def _cutters(
    panel: Panel, operations: Sequence[Operation], machine: Machine, cutters: Mapping[int, Cutter], figures: Figures
) -> Iterable[CutterRow]:
    for number, run in groupby(operations, key=lambda step: step.cutter):
        steps = list(run)
        cutter = cutters[number]
        passes = [step.stepdown for step in steps if step.stepdown > 0]
        yield CutterRow(
            t=t_number(machine, number),
            what=describe(cutter),
            diameter=figures.bare(cutter.diameter),
            stick_out=figures.ruled(cutter.stick_out),
            flute_length=figures.bare(cutter.flute_length),
            rpm=span(step.rpm for step in steps),
            feed=figures.feeds(step.feed for step in steps),
            plunge=figures.feeds(step.plunge for step in steps),
            per_pass=_passes(passes, figures) if passes else "in one",
            depth=figures.axis(-min(step.depth for step in steps), 2),
            reach=_reach(panel, steps, cutter, machine, figures),
            why=tuple(dict.fromkeys(figures.told(reason) for step in steps for reason in step.figures)),
        )


def _reach(
    panel: Panel, steps: Sequence[Operation], cutter: Cutter, machine: Machine, figures: Figures
) -> str:
    """How much of the stick-out its work needs, and why; and whether its flutes reach."""
    needed = stick_out(panel, steps, cutter, machine)
    deepest = max(-step.depth for step in steps)
    why = (
        f"since the collet nut passes over {needed.beside} at {tag_list(sorted(needed.tags, key=by_tag))}"
        if needed.beside
        else "its deepest cut, and air under the collet nut"
    )
    return (
        f"Stick-out: as the table, with which it is proved; needed is {figures.set_off(round(needed.least, 2))}, "
        f"{why}. "
        f"Flutes: {figures.size(cutter.flute_length)} for a cut of {figures.size(round(deepest, 2))}."
    )


def _passes(depths: Iterable[float], figures: Figures) -> str:
    return span((depth / INCH for depth in depths), 4) if figures.program == "in" else span(depths, 2)


def _alike(step: Operation) -> tuple[object, ...]:
    """What neighbours in one line of the order of work have in common."""
    return step.cutter, step.kind, step.depth, step.stepdown, step.rpm, step.feed


def _order(panel: Panel, operations: Sequence[Operation]) -> OrderPicture:
    """The plan of the order of work: its lines' numbers at what they make, and the way of each cutter in turn."""
    numbers: dict[str, list[int]] = {}
    for number, (_, run) in enumerate(groupby(operations, key=_alike), 1):
        for tag in dict.fromkeys(tag for step in run for tag in step.tags):
            numbers.setdefault(tag, []).append(number)
    ways = [
        [place for step in run for place in _places(step)]
        for _, run in groupby(operations, key=lambda step: step.cutter)
    ]
    return draw_order(panel, numbers, ways)


def _places(step: Operation) -> Iterable[tuple[float, float]]:
    """Where an operation goes down, in program coordinates: one place for each hole, or where a contour is entered."""
    drilled = [motion.at for motion in step.motions if isinstance(motion, Drill)]
    if drilled:
        return drilled
    down = [motion.to[:2] for motion in step.motions if isinstance(motion, Rapid) and motion.to[2] < CLEAR_OF_SHEET]
    return [(x, y) for x, y in down[:1]]


def _steps(files: SetupFiles, machine: Machine, figures: Figures) -> Iterable[StepRow]:
    """Neighbours that differ only in their place are one line: a row of thirty equal holes is one piece of work.

    Where each cutter has its program, a line names it: the files' names do not sort in the order of work.
    """
    operations, programs = files.setup.operations, files.programs
    done = 0
    cutter, changes = operations[0].cutter if operations else 0, 0
    for number, (_, run) in enumerate(groupby(operations, key=_alike), 1):
        steps = list(run)
        first = steps[0]
        changes += first.cutter != cutter
        cutter = first.cutter
        spent = sum(files.of_each[done : done + len(steps)])
        playback = f"{done + 1} to {done + len(steps)}" if len(steps) > 1 else str(done + 1)
        done += len(steps)
        by_place = sorted(steps, key=lambda step: by_tag(step.tags[0]) if step.tags else ("", 0))
        yield StepRow(
            number=number,
            t=t_number(machine, first.cutter),
            work=WORK[first.kind],
            tags=tag_list(sorted((tag for step in steps for tag in step.tags), key=by_tag)),
            features=_features(dict.fromkeys(step.feature for step in by_place if step.feature not in step.tags)),
            playback=playback,
            time=duration(spent),
            depth=figures.axis(-first.depth, 2),
            per_pass=figures.axis(first.stepdown, 2) if first.stepdown > 0 else "in one",
            rpm=plain(first.rpm, 0),
            feed=figures.feeds([first.feed]),
            program=programs[changes] if len(programs) > 1 else "",
        )


def _features(features: Iterable[str]) -> str:
    """The features of a line, or of very many the first and the last of them and how many they are.

    >>> _features(["hole[1]", "ring[1]"]), _features(f"hole[{number}]" for number in range(1, 301))
    ('hole[1], ring[1]', 'hole[1] to hole[300], 300 features')
    """
    listed = list(features)
    if len(listed) > MOST_FEATURES:
        return f"{listed[0]} to {listed[-1]}, {len(listed)} features"
    return ", ".join(listed)


def _reasons(operations: Sequence[Operation], figures: Figures) -> Iterable[ReasonRow]:
    """Each reason for a method once: first by reason, then those together that hold for the same tags.

    Those for speed, feed and pass stand with the cutters.
    """
    tags: dict[str, list[str]] = {}
    for step in operations:
        for reason in (one for one in step.reasons if one not in step.figures):
            tags.setdefault(figures.told(reason), []).extend(step.tags)
    reasons: dict[str, list[str]] = {}
    for reason, of in tags.items():
        reasons.setdefault(tag_list(sorted(of, key=by_tag)), []).append(reason)
    return (ReasonRow(of, tuple(listed)) for of, listed in reasons.items())

"""Strategies for whole jobs: all that a job file can say, on every machine, in every material, in mm and inches.

Most features stand in cells of their own, some are moved out of them, so that both good and wrong jobs come about. All
is drawn in mm; an inch job is the same text with its figures turned into inches, or with ``mm`` behind them.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field

import ezdxf
from hypothesis import strategies as st

from tests.random_jobs.features import ORIGINS, deep_features, features, outlines, tenths

SHEETS: dict[str, tuple[float | str, ...]] = {
    "aluminium": (1, 1.5, 2, 3, "16 ga"),
    "mild steel": (0.8, 1.2, 1.5, "18 ga", "20 ga"),
    "stainless steel": (0.8, 1, 1.5, "18 ga"),
    "plywood": (4, 6, 9, 12, 18, "1/4 in"),
    "mdf": (3, 6, 12, 19),
    "fibreglass board": (0.8, 1.6, 3.2, "1/16 in"),
}
THICK = {"16 ga": 1.29, "18 ga": 1.02, "20 ga": 0.81, "1/4 in": 6.35, "1/16 in": 1.5875}
"""About how thick a gauge or fraction is at least, mm: for the room that features want."""

PARTS = (
    "noval socket", "octal socket", "6.35 mm jack", "phono socket", "XLR connector", "potentiometer", "rotary switch",
    "toggle switch", "miniature rocker switch", "LED bezel", "fused mains inlet", "fuse holder", "grommet 3/8 in",
    "terminal strip", "earth stud", "capacitor can 35 mm", "M4 screw", "rivet 1/8 in", "speaker terminal",
)  # fmt: skip
SMALL_PARTS = ("6.35 mm jack", "potentiometer", "miniature toggle switch", "LED bezel", "M3 screw", "phono socket")
MACHINES = (
    "small router", "bench mill", "sheet router", "bench mill", "own.toml", "sheet router", "small router", "own.toml",
    "mill with tool changer", "pen plotter",
)  # fmt: skip
POSTS: tuple[tuple[str, ...], ...] = (
    (), (), ("gcode",), ("gcode", "plotter"), ("gcode", "pen"), ("pen",), ("dxf", "template"), ("template",),
)  # fmt: skip

OWN = 'format = 1\nname = "{name}"\n[program]\n{more}'
CONTROLLERS = (
    'units = "in"\ndecimals = 4\n', "arcs = false\nhelical_arcs = false\n", "helical_arcs = false\n",
    'canned_cycles = true\ncomments = ";"\n', 'change = "one program per cutter"\n',
    'units = "in"\ndecimals = 4\ncanned_cycles = true\nchange = "one program per cutter"\ncomments = "none"\n',
    'dwell = "milliseconds"\nline_numbers = true\npercent_lines = true\nline_ending = "crlf"\n',
)  # fmt: skip

LENGTHS = (
    "diameter|across_flats?|key_width|key_depth|width|height|corner_radius|length|circle_diameter|depth|tolerance|pitch|"
    "radius|stock_margin|x|y|case_width|thickness|gap|major_tick|minor_tick|bend_radius|clearance|play|covering|air|"
    "allowance|group_space"
)
PLACES = "at|from|to|points|size"


@dataclass(frozen=True)
class Whole:
    """A job file, the files beside it, and how it is called: ``size``, ``posts``, ``fit_strip``, ``marks``, ``paper``.
    """

    text: str
    files: dict[str, bytes] = field(default_factory=dict)
    size: str | None = None
    posts: tuple[str, ...] = ()
    fit_strip: bool = False
    marks: bool = False
    paper: str = ""


def in_inches(text: str, with_mm: bool) -> str:
    """A job's text in mm as one in inches: bare figures as inches, to four decimals, or as texts ``12.5 mm``."""

    def length(match: re.Match[str]) -> str:
        figure = f'"{match[2]} mm"' if with_mm else f"{round(float(match[2]) / 25.4, 4):g}"
        return f"{match[1]} = {figure}"

    def place(match: re.Match[str]) -> str:
        return re.sub(r"(?<![\w\"])-?\d+(\.\d+)?", lambda one: f"{float(one[0]) / 25.4:.4f}", match[0])

    text = re.sub(rf"(?m)^({PLACES}) = .*$", place, text)
    text = re.sub(rf"\b({LENGTHS}) = (-?\d+(?:\.\d+)?)(?![\w.])", length, text)
    return text.replace('units = "mm"', 'units = "in"')


@st.composite
def rows_and_rounds(draw: st.DrawFn, room: float) -> str:
    """Round holes as an inch shop writes them, grids, and holes with two flats."""
    kind = draw(st.sampled_from(["hole", "hole", "grid", "double_d_hole"]))
    head = f"[[panel.{kind}]]\nat = {{at}}\n"
    if kind == "hole":
        size = draw(st.sampled_from(['"3/8 in"', '"#7"', '"letter F"', '"1/8 in"', '"#30"', '"15/32 in"', '"4.5 mm"']))
        finish = draw(st.sampled_from(["", "", 'finish = "mark"\n', 'finish = "pilot"\n']))
        tolerance = draw(st.sampled_from(["", "tolerance = 0.1\n"]))
        return head + f"diameter = {size}\n{finish}{tolerance}"
    if kind == "grid":
        columns, rows, size = draw(st.integers(1, 4)), draw(st.integers(1, 4)), draw(tenths(1.6, 5))
        pitch = max(size * 1.4, min(room / (max(columns, rows) + 1), size * draw(st.sampled_from([1.6, 2, 3]))))
        staggered = "staggered = true\n" if draw(st.booleans()) else ""
        return head + f"columns = {columns}\nrows = {rows}\npitch = {round(pitch, 2)}\ndiameter = {size}\n{staggered}"
    across = draw(tenths(6, min(room, 40)))
    flats = round(across * draw(st.sampled_from([0.6, 0.8, 0.9])), 2)
    angle = draw(st.sampled_from([0, 90, 30, -45]))
    return head + f"diameter = {across}\nacross_flats = {flats}\nangle = {angle}\n"


@st.composite
def lettering(draw: st.DrawFn, room: float, thickness: float) -> str:
    """A text or a scale, plotted alone or engraved."""
    deepest = round(min(0.3, 0.4 * thickness), 2)
    depth = draw(st.sampled_from(["", f"depth = {deepest}\n", "depth = 0.15\n", "depth = 0.1\n", "depth = 0.6\n"]))
    if draw(st.booleans()):
        words = draw(st.sampled_from(["IN", "Gain", "50 Hz", "Ω", "V1", "mains 2,5 A"]))
        height = draw(st.sampled_from([2.5, 3.5, 5, 7]))
        angle, align = draw(st.sampled_from([0, 0, 90, 30])), draw(st.sampled_from(["centre", "left", "right"]))
        return (
            f'[[panel.text]]\ntext = "{words}"\nat = {{at}}\nheight = {height}\nangle = {angle}\nalign = "{align}"\n'
            f"{depth}"
        )
    radius = draw(tenths(6, max(6.5, room / 2 - 6)))
    shown = draw(st.sampled_from(["", "numbers = [0, 10]\n", "numbers = [1, 6]\n"]))
    extra = draw(st.sampled_from(["", "arc = true\n", "subdivisions = 2\n", "sweep = 180\n", "sweep = 360\n"]))
    divisions = 5 if "6" in shown else draw(st.sampled_from([5, 10]))
    return f"[[panel.scale]]\nat = {{at}}\nradius = {radius}\ndivisions = {divisions}\n{shown}{extra}{depth}"


def a_drawing(shape: str, size: float) -> bytes:
    """A DXF file about 0, 0 as the general-purpose library writes it."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    half = size / 2
    if shape == "circles":
        space.add_circle((-half / 2, 0), half / 4)
        space.add_circle((half / 2, 0), half / 3)
    elif shape == "bulged":
        corners = [(-half, -half / 2), (half, -half / 2, 0.4), (half, half / 2), (-half, half / 2)]
        space.add_lwpolyline(corners, format="xyb", close=True)
    elif shape == "ellipse":
        space.add_ellipse((0, 0), major_axis=(half, 0), ratio=0.6)
    else:
        ends = [(-half, -half), (half, -half), (0, half)]
        for one, two in zip(ends, [*ends[1:], ends[0]], strict=True):
            space.add_line(one, two)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


@st.composite
def beside(draw: st.DrawFn, room: float, number: int) -> tuple[str, dict[str, bytes]]:
    """A drawing or a list of holes, with its file."""
    angle = draw(st.sampled_from([0, 0, 90, 33]))
    if draw(st.booleans()):
        shape = draw(st.sampled_from(["circles", "bulged", "ellipse", "triangle"]))
        size = draw(tenths(16, max(17, room * 0.9)))
        name = f"drawn{number}.dxf"
        depth = draw(st.sampled_from(["", "", "depth = 0.5\n"]))
        text = f'[[panel.drawing]]\nfile = "{name}"\nat = {{at}}\nangle = {angle}\n{depth}'
        return text, {name: a_drawing(shape, size)}
    name, step = f"list{number}.csv", draw(tenths(6, max(6.5, room / 3)))
    sizes = [draw(st.sampled_from(["3 mm", "#30", "1/8 in", "4.5 mm", "5 mm"])) for _ in range(draw(st.integers(1, 3)))]
    lines = [f"{round(step * (k - 1), 2)} mm, {round(step * (k % 2) / 2, 2)} mm, {one}" for k, one in enumerate(sizes)]
    table = "\n".join(["x, y, diameter", *lines, ""])
    return f'[[panel.hole_list]]\nfile = "{name}"\nat = {{at}}\nangle = {angle}\n', {name: table.encode()}


@st.composite
def cells(draw: st.DrawFn, room: float, thickness: float, number: int, mirrored: bool) -> tuple[str, dict[str, bytes]]:
    """What stands in one cell ``room`` across, with its files; ``{at}`` is the middle of the cell."""
    kind = draw(st.sampled_from(["feature"] * 4 + ["deep", "deep", "round", "part", "part", "beside", "lettering"]))
    if kind == "beside":
        return draw(beside(room, number))
    if kind == "part":
        part = draw(st.sampled_from(PARTS))
        finish = draw(st.sampled_from(["", "", "", 'finish = "pilot"\n', 'finish = "mark"\n']))
        angle = draw(st.sampled_from([0, 90, 45, 180]))
        return f'[[panel.part]]\npart = "{part}"\nat = {{at}}\nangle = {angle}\nlabel = "P{number}"\n{finish}', {}
    if kind == "lettering":
        text = draw(lettering(room, thickness))
        return (re.sub("depth = .*\n", "", text) if mirrored and draw(st.booleans()) else text), {}
    if kind == "deep":
        return draw(deep_features(room, thickness)), {}
    return draw(rows_and_rounds(room) if kind == "round" else features(room)), {}


@st.composite
def panels(draw: st.DrawFn, name: str, widths: tuple[str, float], material: str) -> tuple[str, dict[str, bytes]]:
    """One flat panel: features in cells, a row below them, clamps at corners, a machined outline now and then.

    ``widths``: how the panel's width is written, and how wide it is.
    """
    sheet = draw(st.sampled_from(SHEETS[material]))
    thickness = THICK[sheet] if isinstance(sheet, str) else float(sheet)
    cell = draw(st.sampled_from([40, 55, 70]))
    margin = draw(st.sampled_from([34, 34, 34, 16]))
    width_text, width = widths
    columns, rows = max(1, int((width - 2 * margin) // cell)), draw(st.integers(1, 2))
    web = thickness if material in ("plywood", "mdf") else 3 * thickness
    room = max(12.0, cell - 4 - web)
    below = 30 if draw(st.integers(0, 3)) == 0 else 0
    height = rows * cell + 2 * margin + below
    origin = draw(st.sampled_from(ORIGINS))
    zero_x = 0 if "left" in origin else width if "right" in origin else width / 2
    zero_y = 0 if "lower" in origin else height if "upper" in origin else height / 2
    side = draw(st.sampled_from(["outside", "outside", "inside"]))
    corners = draw(st.lists(st.sampled_from([(0, 0), (1, 0), (0, 1), (1, 1)]), unique=True, max_size=4))
    outline, stands = "", -8.0
    if draw(st.integers(0, 3)) == 0:
        outline, stands = draw(outlines(min(width, height))), draw(st.sampled_from([-8, 2, 7, -26, -34, -45]))
    high = draw(st.sampled_from([8, 12, 20, 20, 8, 12, 20, 45]))
    clamps = ", ".join(
        f"{{ x = {stands + x * (width - 2 * stands - 20) - zero_x:g}, "
        f"y = {stands + y * (height - 2 * stands - 20) - zero_y:g}, width = 20, height = {high} }}"
        for x, y in corners
    )
    more = draw(st.sampled_from(["", "", "", "", 'finish = "mark"\n', "divide = false\n", "max_corner_radius = 0.6\n"]))
    written = f'"{sheet}"' if isinstance(sheet, str) else sheet
    text = (
        f'[[panel]]\nname = "{name}"\nmaterial = "{material}"\nthickness = {written}\nwidth = {width_text}\n'
        f'height = {height}\norigin = "{origin}"\nmachine_from = "{side}"\nclamps = [{clamps}]\n{outline}{more}'
    )
    files: dict[str, bytes] = {}
    number = 0
    for column in range(columns):
        for row in range(rows):
            if number and draw(st.integers(0, 3)) == 0:
                continue
            number += 1
            x = margin + (column + 0.5) * cell - zero_x
            y = margin + below + (row + 0.5) * cell - zero_y
            if draw(st.integers(0, 11)) == 0:
                x, y = x + draw(st.sampled_from([-45, -20, 0, 25])), y + draw(st.sampled_from([-40, 0, 18]))
            one, its = draw(cells(room, thickness, number, side == "inside"))
            if name != "plate":  # a name of a file of its own
                one, its = one.replace('file = "', f'file = "{name}_'), {f"{name}_{key}": its[key] for key in its}
            text += one.format(at=f"[{x:g}, {y:g}]")
            files |= its
    if below:
        text += draw(rows_of_parts(margin - zero_x, width - margin - zero_x, margin + 8 - zero_y))
    return text, files


@st.composite
def rows_of_parts(draw: st.DrawFn, first: float, last: float, y: float) -> str:
    """Components along the lower edge, by equal pitch or equal gap."""
    parts = draw(st.lists(st.sampled_from(SMALL_PARTS), min_size=1, max_size=4))
    spacing = draw(st.sampled_from(["equal pitch", "equal gap"]))
    mirrored = "mirrored = true\n" if draw(st.integers(0, 3)) == 0 else ""
    listed = ", ".join(f'"{part}"' for part in parts)
    return (
        f"[[panel.row]]\nfrom = [{first:g}, {y:g}]\nto = [{last:g}, {y:g}]\nparts = [{listed}]\n"
        f'spacing = "{spacing}"\n{mirrored}'
    )


@st.composite
def boxes(draw: st.DrawFn) -> tuple[str, dict[str, bytes]]:
    """A folded chassis in a cabinet: its top, rear and front with openings and components, an obstacle behind."""
    length, depth, high = draw(st.sampled_from([150, 220])), draw(st.sampled_from([90, 130])), draw(st.integers(30, 60))
    sheet, radius = draw(st.sampled_from([1, 1.2, 1.5])), draw(st.sampled_from([0.5, 1, 2]))
    material = draw(st.sampled_from(["aluminium", "mild steel"]))
    tray = draw(st.booleans())
    folds = "" if tray else 'folds = ["top front", "top rear"]\n'
    sides = 2 * sheet if tray else 0
    faces = draw(st.lists(st.sampled_from(["top", "front", "rear"]), unique=True, min_size=1, max_size=3))
    listed = ", ".join(f'{face} = "{face}"' for face in sorted(faces))
    when = draw(st.sampled_from(["", "", 'holes = "before bending"\n']))
    text = (
        f"[chassis]\ninside = {{ length = {length}, depth = {depth}, height = {high} }}\nbend_radius = {radius}\n"
        f"thickness = {sheet}\nfaces = {{ {listed} }}\n{folds}{when}"
    )
    if draw(st.booleans()):
        play = draw(st.sampled_from([0.5, 2, 4]))
        text += f"[cabinet]\nwidth = {length + 2 * sheet + 2 * play}\nheight = {high + 2 * sheet + 2 * play}\n"
    if "rear" in faces and draw(st.booleans()):
        text += (
            f'[[obstacle]]\nlabel = "magnet"\non = "rear"\nat = [{length / 2}, {high / 2}]\n'
            f"gap = {draw(st.sampled_from([2, 15, 40]))}\ndiameter = 40\nlength = 30\n"
        )
    files: dict[str, bytes] = {}
    for face in sorted(faces):
        wide = length + sides
        height = depth + 2 * sheet if face == "top" else high + sheet
        side = draw(st.sampled_from(["outside", "outside", "inside"])) if face == "top" else "outside"
        text += (
            f'[[panel]]\nname = "{face}"\nmaterial = "{material}"\nthickness = {sheet}\nwidth = {wide}\n'
            f'height = {height}\nmachine_from = "{side}"\n'
        )
        columns = 3 if face == "top" else 2
        for column in range(columns):
            if draw(st.integers(0, 2)) == 0:
                continue
            x = round(20 + (wide - 40) * (column + 0.5) / columns + draw(st.sampled_from([0, 0, -12, 9])), 2)
            y = round(height / 2 + draw(st.sampled_from([0, 0, -6, 10])), 2)
            room = min(40.0, height - 14)
            number = 10 * (1 + faces.index(face)) + column
            one, its = draw(cells(room, sheet, number, side == "inside"))
            text += one.format(at=f"[{x:g}, {y:g}]")
            files |= its
    return text, files


@st.composite
def whole_jobs(draw: st.DrawFn) -> Whole:
    """One whole job, and how it is built."""
    machine = draw(st.sampled_from(MACHINES))
    files: dict[str, bytes] = {}
    if machine == "own.toml":
        name = draw(st.sampled_from(["small router", "bench mill", "sheet router"]))
        files["own.toml"] = OWN.format(name=name, more=draw(st.sampled_from(CONTROLLERS))).encode()
    head, size = f'format = 1\ntitle = "random"\nunits = "mm"\nmachine = "{machine}"\n', None
    if draw(st.integers(0, 7)) == 0:
        head += f"pilot_diameter = {draw(st.sampled_from([2, 2.5, 3.2]))}\n"
    if draw(st.integers(0, 6)) == 0:
        text, more = draw(boxes())
        text, files = head + text, files | more
    else:
        count = draw(st.sampled_from([1, 1, 1, 2]))
        widths = [draw(st.sampled_from([100, 130, 175, 220, 330, 430])) for _ in range(count)]
        width_text = str(widths[0])
        if draw(st.integers(0, 2)) == 0:  # the first panel's width comes from a parameter that a size overrides
            size = draw(st.sampled_from(["other", None]))
            base, other = (widths[0] + 20, widths[0]) if size else (widths[0], widths[0] + 20)
            head += f'[parameters]\ncase_width = {base}\nrail = "10 mm"\n[sizes.other]\ncase_width = {other}\n'
            width_text = '"case_width - rail + 10 mm"'
        text = head
        # a router turns too fast for most holes in stainless steel
        kinds = [one for one in sorted(SHEETS) if machine == "bench mill" or one != "stainless steel"]
        material = draw(st.sampled_from([*kinds, *kinds, "stainless steel"]))
        for number, width in enumerate(widths):
            written = width_text if number == 0 else str(width)
            name = ("plate", "rear")[number]
            one, more = draw(panels(name, (written, width), material))
            text, files = text + one, files | more
    if draw(st.integers(0, 2)) == 0:
        text = in_inches(text, draw(st.booleans()))
    posts = draw(st.sampled_from(POSTS))
    return Whole(
        text, files, size, posts, draw(st.integers(0, 7)) == 0, draw(st.integers(0, 7)) == 0,
        draw(st.sampled_from(["", "", "", "A4", "Letter"])),
    )  # fmt: skip

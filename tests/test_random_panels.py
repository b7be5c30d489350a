"""Random panels that a builder might draw: what can be planned is also proved, and what cannot leaves nothing."""

from __future__ import annotations

import math
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from toolpaths import pipeline
from toolpaths.errors import GeometryError
from toolpaths.finding import CODES, has_errors
from toolpaths.geometry.polygon import polygon
from toolpaths.job import Job
from toolpaths.job.load import read_job

CODES_OF_PROGRAMS = frozenset(list(CODES)[list(CODES).index("unreadable") :])
"""Findings about a program: of a program of our own making none may ever be said."""

SHEETS = {"aluminium": (1, 1.5, 2, 3), "mild steel": (0.8, 1.2, 1.5), "plywood": (4, 6, 9, 12, 18)}
KINDS = ("hole", "hole", "d_hole", "keyed_hole", "cutout", "polygon", "slot", "ring")
ORIGINS = ("lower left", "centre", "left centre", "upper right", "lower centre", "upper left")


def tenths(least: float, most: float) -> st.SearchStrategy[float]:
    """Lengths to a tenth of a millimetre, as they stand on a drawing."""
    return st.integers(round(least * 10), round(most * 10)).map(lambda value: value / 10)


@st.composite
def points(draw: st.DrawFn, room: float) -> list[list[float]]:
    """A star-shaped polygon about its centre, so that no sides cross: any spikes, bays and angles, either way round."""
    count = draw(st.integers(3, 9))
    shares = [draw(st.integers(6, 10)) for _ in range(count)]
    radii = [draw(tenths(room * 0.12, room / 2)) for _ in range(count)]
    turned, found = 0.0, []
    for share, radius in zip(shares, radii, strict=True):
        turned += 2 * math.pi * share / sum(shares)
        found.append([round(radius * math.cos(turned), 2), round(radius * math.sin(turned), 2)])
    return found[::-1] if draw(st.booleans()) else found


def fitting(corners: list[list[float]], radius: float) -> float:
    """The radius, or 0 where the polygon's sides are too short for it."""
    try:
        polygon([(x, y) for x, y in corners], radius)
    except GeometryError:
        return 0
    return radius


@st.composite
def features(draw: st.DrawFn, room: float) -> str:
    """The text of one feature at ``{at}`` that fits into a circle ``room`` across."""
    kind = draw(st.sampled_from(KINDS))
    finish = draw(st.sampled_from(["", "", "", '\nfinish = "mark"', '\nfinish = "pilot"' if "hole" in kind else ""]))
    angle = draw(st.sampled_from([0, 90, 180, 30, 45, 17.5, -63]))
    head = f"[[panel.{kind}]]\nat = {{at}}\nlabel = \"{kind}\"{finish}\n"
    if kind == "hole":
        least = 5 if "pilot" in finish else 2
        return head + f"diameter = {draw(tenths(least, room))}\ntolerance = {draw(st.sampled_from([0, 0, 0.1, 0.2]))}\n"
    if kind == "d_hole":
        across = draw(tenths(6, min(room, 40)))
        flat = round(across * draw(st.sampled_from([0.75, 0.85, 0.92])), 2)
        return head + f"diameter = {across}\nacross_flat = {flat}\nangle = {angle}\n"
    if kind == "keyed_hole":
        across = draw(tenths(6, min(room * 0.7, 35)))
        wide, deep = draw(tenths(0.8, min(8, across * 0.8))), draw(tenths(0.3, min(5, room * 0.3)))
        return head + f"diameter = {across}\nkey_width = {wide}\nkey_depth = {deep}\nangle = {angle}\n"
    if kind == "polygon":
        corners = draw(points(room))
        radius = fitting(corners, draw(st.sampled_from([0, 0, 1, 1.5, 3])))
        return head + f"points = {corners}\ncorner_radius = {radius}\nangle = {angle}\n"
    if kind == "cutout":
        width = draw(tenths(6, room * 0.7))
        height = draw(tenths(6, room * 0.7))
        radius = draw(st.sampled_from([0, 1.6, 2, 3]))
        return head + f"width = {width}\nheight = {height}\ncorner_radius = {radius}\nangle = {angle}\n"
    if kind == "slot":
        width = draw(tenths(3, min(12, room / 3)))
        return head + f"length = {draw(tenths(width + 1, room))}\nwidth = {width}\nangle = {angle}\n"
    count, diameter = draw(st.integers(3, 8)), draw(tenths(2, 4.5))
    circle = draw(tenths(diameter * 3 * count / math.pi, max(room - diameter, diameter * 3 * count / math.pi)))
    return head + f"circle_diameter = {circle}\ncount = {count}\nstart_angle = {angle}\ndiameter = {diameter}\n"


@st.composite
def outlines(draw: st.DrawFn, least: float) -> str:
    """The keys of a machined outline; ``least`` is the panel's shorter side."""
    kinds = ["", "", "tabs = true\n", "tabs = { count = 4 }\n", "tabs = { count = 3, height = 1 }\n"]
    tabs = draw(st.sampled_from(kinds))
    radius = draw(st.sampled_from([0, 0, 0.5, 3, 12.5, least / 2]))
    margin = draw(st.sampled_from(["", "", "stock_margin = 15\n", "stock_margin = 9\n", "stock_margin = 30\n"]))
    return f"cut_outline = true\ncorner_radius = {radius}\n{tabs}{margin}"


@st.composite
def deep_features(draw: st.DrawFn, room: float, thickness: float) -> str:
    """A feature of depth: blind, a rebate with what lies in its floor, a countersunk or a threaded hole."""
    shallow = draw(tenths(0.2, thickness - 0.3)) if thickness > 0.5 else 0.3
    kind = draw(st.sampled_from(["blind", "blind", "rebate", "rebate", "countersink", "thread"]))
    if kind == "blind":
        text = draw(features(room).filter(lambda text: "pilot" not in text))
        return text + f"depth = {shallow}\n"
    if kind == "rebate":
        outer = draw(st.sampled_from(["hole", "cutout"]))
        wide = draw(tenths(room * 0.5, room * (1.0 if outer == "hole" else 0.7)))
        size = f"diameter = {wide}" if outer == "hole" else f"width = {wide}\nheight = {wide}\ncorner_radius = 4"
        inner = draw(features(max(9.0, round(wide * draw(st.sampled_from([0.4, 0.6, 0.85])), 1))))
        deeper = "" if draw(st.booleans()) or "pilot" in inner else f"depth = {round((shallow + thickness) / 2, 2)}\n"
        return f"[[panel.{outer}]]\nat = {{at}}\n{size}\ndepth = {shallow}\n{inner}{deeper}"
    head = "[[panel.hole]]\nat = {at}\n"
    depth = f"depth = {shallow}\n" if draw(st.booleans()) else ""
    cone = f"countersink = {{{{ diameter = {draw(tenths(4.2, 9))}, angle = 90 }}}}\n"
    if kind == "thread":
        return head + depth + f'thread = "{draw(st.sampled_from(["M3", "M4", "M6", "6-32 UNC"]))}"\n'
    return head + depth + cone + f"diameter = {draw(tenths(2, 4))}\n"


@st.composite
def jobs(draw: st.DrawFn) -> str:
    """One panel: features in cells of their own, clamps at corners, every material, machine, origin and side."""
    material = draw(st.sampled_from(sorted(SHEETS)))
    thickness = draw(st.sampled_from(SHEETS[material]))
    machine = draw(st.sampled_from(["small router", "bench mill", "sheet router"]))
    cell = draw(st.sampled_from([40, 55, 70]))
    columns, rows = draw(st.integers(1, 3)), draw(st.integers(1, 2))
    margin, room = 34, cell - 4 - (thickness if material == "plywood" else 3 * thickness)
    width, height = columns * cell + 2 * margin, rows * cell + 2 * margin
    clamps = draw(st.lists(st.sampled_from([(0, 0), (1, 0), (0, 1), (1, 1)]), unique=True, max_size=4))
    origin = draw(st.sampled_from(ORIGINS))
    zero_x = 0 if "left" in origin else width if "right" in origin else width / 2
    zero_y = 0 if "lower" in origin else height if "upper" in origin else height / 2
    corners = [(-8 + x * (width - 4) - zero_x, -8 + y * (height - 4) - zero_y) for x, y in clamps]
    outline = ""
    if draw(st.integers(0, 2)) == 0:
        outline = draw(outlines(min(width, height)))
        # 20 mm square: half over the edge (an error), wholly on the panel, or beside it
        stands = draw(st.sampled_from([-8, 2, 7, -26, -34, -45]))
        corners = [
            (stands + x * (width - 2 * stands - 20) - zero_x, stands + y * (height - 2 * stands - 20) - zero_y)
            for x, y in clamps
        ]
    clamps_text = ", ".join(f"{{ x = {x}, y = {y}, width = 20 }}" for x, y in corners)
    panel = (
        f'format = 1\ntitle = "random"\nunits = "mm"\nmachine = "{machine}"\n[[panel]]\nname = "plate"\n'
        f'material = "{material}"\nthickness = {thickness}\nwidth = {width}\nheight = {height}\norigin = "{origin}"\n'
        f'machine_from = "{draw(st.sampled_from(["outside", "inside"]))}"\nclamps = [{clamps_text}]\n'
        f"{outline}"
    )
    texts = []
    for column in range(columns):
        for row in range(rows):
            if texts and draw(st.integers(0, 3)) == 0:
                continue
            at = [margin + (column + 0.5) * cell - zero_x, margin + (row + 0.5) * cell - zero_y]
            deep = draw(st.integers(0, 2)) == 0
            one = draw(deep_features(room, thickness) if deep else features(room))
            texts.append(one.format(at=at))
    return panel + "".join(texts)


def job_of(text: str) -> Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "job.toml")
        path.write_text(text, encoding="utf-8")
        return read_job(path)


@given(jobs())
@settings(
    max_examples=20, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_what_is_planned_is_proved(text: str) -> None:
    """A random panel builds and verifies; where it cannot be made, an error says so and no file is left."""
    job = job_of(text)
    made = pipeline.make(job, posts=["gcode"])
    assert not [finding for finding in made.findings if finding.code in CODES_OF_PROGRAMS]
    assert bool(made.files) != has_errors(made.findings)
    programs = [file for file in made.files if file.facts.get("kind") == "program"]
    if programs:
        texts = [(int(str(one.facts["setup"])), one.path, one.content.decode("ascii")) for one in programs]
        assert not pipeline.verify_setups(job, "plate", list(texts))

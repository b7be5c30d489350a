"""Strategies for the text of single features and of outlines, as a builder might draw them; lengths in mm."""

from __future__ import annotations

import math

from hypothesis import strategies as st

from toolpaths.errors import GeometryError
from toolpaths.geometry.polygon import polygon

ORIGINS = ("lower left", "centre", "left centre", "upper right", "lower centre", "upper left")
KINDS = ("hole", "hole", "d_hole", "keyed_hole", "cutout", "polygon", "slot", "ring")


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

"""The arrows between the rooms: what may import what, held against the source itself."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

BASICS = frozenset({"errors", "finding", "tolerance", "units"})
SHAPES = frozenset({"geometry", "tolerance", "errors"})

MAY: dict[str, frozenset[str]] = {
    "toolpaths": frozenset({"library"}),  # the package's own __init__
    "toolpaths.errors": frozenset(),
    "toolpaths.finding": frozenset(),
    "toolpaths.tolerance": frozenset(),
    "toolpaths.stroke": frozenset(),
    "toolpaths.motion": frozenset(),
    "toolpaths.units": frozenset({"errors"}),
    "toolpaths.drawing": frozenset({"geometry.segment"}),
    "toolpaths.lettering": frozenset({"drawing", "geometry.segment", "errors"}),
    "toolpaths.geometry": SHAPES,
    "toolpaths.tables": BASICS | {"tables"},
    "toolpaths.tables.rows": frozenset(),
    "toolpaths.drawing_file": BASICS | {"drawing_file", "geometry", "tables.toml_file"},
    "toolpaths.drawing_file.contents": frozenset(
        {"errors", "geometry.contour", "geometry.segment", "tolerance", "units"}
    ),
    "toolpaths.job": BASICS | {"job", "tables", "geometry", "drawing_file"},
    "toolpaths.layout": BASICS | {"layout", "job", "geometry", "tables", "drawing_file.contents"},
    "toolpaths.layout.legends": frozenset({"lettering", "layout.panel", "job", "geometry"}),
    "toolpaths.layout.bodies": frozenset({"geometry.segment", "geometry.contour", "job.component"}),
    "toolpaths.layout.panel": frozenset({"geometry.segment", "geometry.contour", "layout.bodies", "tolerance"}),
    "toolpaths.job.chassis": frozenset({"job.schema"}),
    "toolpaths.job.component": frozenset({"geometry.contour"}),
    "toolpaths.division": BASICS | {"division", "layout", "geometry", "tables"},
    "toolpaths.plan": BASICS | {"plan", "motion", "layout", "geometry", "tables"},
    "toolpaths.crowd": frozenset({"drawing", "geometry.segment", "units"}),
    "toolpaths.labelling": frozenset({"crowd", "geometry.contour", "geometry.segment", "layout.panel"}),
    "toolpaths.drafting": BASICS | {"crowd", "drawing", "lettering", "labelling", "geometry", "layout"},
    "toolpaths.sheets": frozenset({"errors", "geometry.segment", "units"}),
    "toolpaths.clipping": frozenset({"drawing", "geometry", "tolerance"}),
    "toolpaths.framing": frozenset({"clipping", "drawing", "geometry.segment", "lettering", "sheets", "units"}),
    "toolpaths.tiles": frozenset({"clipping", "drawing", "framing", "geometry.segment", "sheets"}),
    "toolpaths.template": BASICS
    | {"drafting", "drawing", "lettering", "labelling", "geometry", "hand_route"}
    | {"job.chassis", "layout.box", "layout.panel"},
    "toolpaths.hand_route": frozenset({"geometry", "tolerance"}),
    "toolpaths.layers": frozenset(),
    "toolpaths.flat": frozenset(
        {"drafting", "drawing", "geometry", "job.chassis", "labelling", "layers", "layout", "template", "units"}
    ),
    "toolpaths.from_drawing": frozenset(
        {"drawing", "drawing_file.contents", "drawing_file.shapes", "errors", "finding", "geometry", "layers", "units"}
    ),
    "toolpaths.marks": frozenset({"clipping", "drafting", "drawing", "finding", "geometry.segment", "labelling"})
    | {"layout.panel", "template"},
    "toolpaths.pen_order": frozenset({"drawing", "geometry.segment", "plan.tour"}),
    "toolpaths.reread": frozenset({"reread", "stroke", "errors"}),
    "toolpaths.verify": BASICS | {"verify", "stroke", "reread", "geometry", "layout", "tables"},
    "toolpaths.verify.compare": frozenset({"verify.walk", "stroke", "motion", "finding", "tolerance", "tables.rows"}),
    "toolpaths.verify.walk": frozenset({"stroke", "motion", "tolerance", "tables.rows"}),
    "toolpaths.verify.pen": frozenset({"drawing", "finding", "geometry.segment", "reread", "stroke", "tables.rows"})
    | {"tolerance"},
    "toolpaths.fit": frozenset({"motion", "tolerance", "tables.rows"}),
    "toolpaths.simulation": BASICS
    | {"simulation", "stroke", "motion", "layout", "geometry", "shop.words", "tables", "verify.walk"},
    "toolpaths.simulation.timing": frozenset({"stroke", "tables.rows"}),
    "toolpaths.shop": BASICS | {"shop", "crowd", "hand_route", "labelling", "layout", "geometry", "tables", "motion"},
    "toolpaths.simulation.page": frozenset(),
    "toolpaths.holding": frozenset(),
    "toolpaths.output": frozenset({"errors", "finding", "holding"}),
    "toolpaths.pipeline": BASICS
    | {"division"}
    | {"job", "layout", "plan", "motion", "drafting", "pen_order", "fit", "output", "reread", "shop", "simulation"}
    | {"stroke", "verify", "tables", "sheets", "template", "hand_route", "flat", "drawing_file", "from_drawing"}
    | {"tiles", "drawing", "geometry.segment", "marks", "labelling"},
    "toolpaths.sizes": BASICS
    | {"layout.blank", "layout.panel", "pipeline", "job", "motion", "fit", "reread", "simulation"},
    "toolpaths.schemas": frozenset({"job.schema", "job.parts", "tables.files", "tables.hand_tools"}),
    "toolpaths.listing": BASICS | {"tables", "job", "layout.components", "simulation.replay"},
    "toolpaths.library": BASICS | {"pipeline", "job", "motion", "output", "simulation.replay"},
    "toolpaths.report": frozenset({"errors", "finding", "output"}),
    "toolpaths.cli": BASICS
    | {"pipeline", "sizes", "job", "output", "listing", "report", "schemas", "drawing_file.contents"},
    "toolpaths.__main__": frozenset({"cli"}),
}
"""What each room may import of ``toolpaths`` (dotted; a room includes what lies in it). The longest name decides."""

POSTS_MAY = frozenset(
    {"motion", "drawing", "lettering", "sheets", "framing", "tiles", "clipping"}
    | {"errors", "tolerance", "tables.rows", "geometry.segment"}
)
"""What a post-processor may import of ``toolpaths``: neutral forms, never the job, the layout or the plan."""

IMPORT_POSTS = ("toolpaths.pipeline", "toolpaths.sizes", "toolpaths.listing", "toolpaths.cli")

ONLY_IN: dict[str, tuple[str, ...]] = {
    "shapely": ("toolpaths.geometry.judge", "toolpaths.verify"),
    "numpy": (
        "toolpaths.geometry.judge", "toolpaths.geometry.offset", "toolpaths.layout.touch_off", "toolpaths.layout.webs",
        "toolpaths.plan.tour", "toolpaths.simulation.replay", "toolpaths.simulation.timing", "toolpaths.verify",
    ),
    "click": ("toolpaths.cli",),
    "ezdxf": ("postprocessors", "toolpaths.drawing_file"),
    "svgwrite": ("postprocessors",),
    "reportlab": ("postprocessors",),
    "jinja2": ("toolpaths.shop", "toolpaths.simulation.page"),
    "pydantic": ("toolpaths.job", "toolpaths.tables", "toolpaths.schemas"),
    "fast_tsp": (),
    "pygcode": (),
    "scipy": (),
    "selenium": (),
    "svgelements": (),
}
"""Rooms outside which a package is not imported; the last four are for tests alone."""


def modules() -> dict[str, Path]:
    """Every shipped module by its dotted name."""
    found = {}
    for package in ("toolpaths", "postprocessors"):
        for file in sorted((ROOT / package).rglob("*.py")):
            parts = file.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = file
    return found


MODULES = modules()


@cache
def imports(name: str) -> frozenset[str]:
    """The dotted names that a module imports, wherever in it; submodules resolved, relative imports refused."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(MODULES[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}: a relative import hides its arrow"
            assert node.module is not None
            whole = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= {dotted if dotted in MODULES else node.module for dotted in whole}
    return frozenset(found)


def within(name: str, rooms: frozenset[str] | tuple[str, ...]) -> bool:
    """Whether a dotted name is one of the rooms or lies in one."""
    return any(name == room or (room and name.startswith(f"{room}.")) for room in rooms)


@pytest.mark.parametrize("name", [name for name in MODULES if name.startswith("toolpaths")])
def test_toolpaths_keeps_to_its_arrows(name: str) -> None:
    """A room imports only the rooms before it."""
    room = max((room for room in MAY if within(name, (room,)) and (room != "toolpaths" or name == room)), key=len)
    own = {dotted for dotted in imports(name) if within(dotted, ("toolpaths",))}
    allowed = frozenset(f"toolpaths.{other}" for other in MAY[room])
    strays = {dotted for dotted in own if not within(dotted, allowed)}
    assert not strays, f"{name} ({room}) imports {sorted(strays)}"
    if name not in IMPORT_POSTS:
        assert not any(within(dotted, ("postprocessors",)) for dotted in imports(name))


@pytest.mark.parametrize("name", [name for name in MODULES if name.startswith("postprocessors")])
def test_posts_see_only_the_neutral_forms(name: str) -> None:
    """A post-processor knows motions, drawings and the machine's row, and nothing of job, layout, plan or reader."""
    allowed = frozenset(f"toolpaths.{room}" for room in POSTS_MAY) | {"postprocessors"}
    own = {dotted for dotted in imports(name) if within(dotted, ("toolpaths", "postprocessors"))}
    assert not {dotted for dotted in own if not within(dotted, allowed)}


@pytest.mark.parametrize("package", ONLY_IN)
def test_packages_stay_in_their_rooms(package: str) -> None:
    """Each outside package is imported in its rooms alone, and what is for tests is never shipped."""
    users = {name for name in MODULES if any(within(dotted, (package,)) for dotted in imports(name))}
    assert not {name for name in users if not within(name, ONLY_IN[package])}
    assert bool(users) == bool(ONLY_IN[package]), "the table names a package that nobody imports"


def test_writer_and_reader_are_strangers() -> None:
    """What writes programs and what reads them meet in nothing but errors and, for the reader, strokes."""

    def reached(start: str) -> set[str]:
        seen, todo = set(), [start]
        while todo:
            name = todo.pop()
            if name in MODULES and name not in seen:
                seen.add(name)
                todo += imports(name)
        return seen

    reader = set().union(*(reached(name) for name in MODULES if within(name, ("toolpaths.reread",))))
    writer = set().union(*(reached(name) for name in MODULES if within(name, ("postprocessors", "toolpaths.plan"))))
    assert reader & writer <= {"toolpaths", "toolpaths.errors"}

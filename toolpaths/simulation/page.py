"""simulation.html: one self-contained page that plays verified programs; no network, no server.

Style and script stand beside the template: ``page.css``, and the script in parts, ``page.js`` the last. What comes from
a job goes in as data and is shown by the script as text, never as markup.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

SCRIPT = (
    "words", "setup", "cutting", "sheet", "moving", "player", "telling", "time_line", "driving", "paper", "page",
)  # fmt: skip
"""The script's parts in reading order: one function holds them all, so that they share names and nobody else does."""


def page(data: dict[str, Any]) -> str:
    """The whole page for the replay ``data``: mm, seconds, program coordinates (X right, Y up, Z0 = top of sheet).

    Raises ValueError where a number is not finite: what is not known yet is None.
    """
    # Only this function needs the template engine: a page is not always asked for.
    from jinja2 import Environment, StrictUndefined

    room = files("toolpaths.simulation")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, optimized=False
    )  # a template that is filled once is not worth the time of making it quick
    text = environment.from_string((room / "page.html.j2").read_text("utf-8")).render(
        title=data["title"],
        paper="A4" if data["units"] == "mm" else "letter",
        style=(room / "page.css").read_text("utf-8"),
        script="\n".join((room / f"{part}.js").read_text("utf-8") for part in SCRIPT),
        data=in_script(data),
    )
    return text if text.endswith("\n") else text + "\n"


def in_script(data: dict[str, Any]) -> str:
    """JSON that may stand in a script element: ASCII alone, and no ``<``, so that no label closes the element."""
    return json.dumps(data, allow_nan=False, separators=(",", ":")).replace("<", "\\u003c")

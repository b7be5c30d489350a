# ruff: noqa: E501 (a case is a line)
"""Hostile command lines: names, paths and values of options; nothing may be written."""

from __future__ import annotations

from tests.hostile.case import JOB, Case, Content, Folder, Link
from tests.hostile.tables import CUTTERS, MACHINE, PARTS

BUILD = ("build", "job.toml")


def option(name: str, *given: str, told: tuple[str, ...], status: int = 2, files: dict[str, Content] | None = None) -> Case:
    """A build with these options."""
    return Case(f"an option: {name}", (*BUILD, *given), told, files or {}, status)


LONG = "n" * 5000
VALUES = [
    option(f"{kind} {what}", kind, text, told=(said or text[:4],))
    for kind, said in (("--panel", "--panel"), ("--size", "size"), ("--post", "post-processor"), ("--paper", "paper"))
    for what, text in (("unknown", "nowhere"), ("a path", "../../etc/passwd"), ("an escape sequence", "\x1b[2J\x1b[31mred"),
                       ("5,000 letters", LONG), ("nothing", ""), ("turned letters", "\u202eabc"))
] + [
    option(f"--set {what}", "--set", text, told=("--set", said))
    for what, text, said in (
        ("nothing", "", ""), ("no value", "pitch", "parameter=value"), ("no name", "=5", "parameter=value"),
        ("an empty value", "pitch=", "pitch"), ("an unknown name", "pitsh=5", "did you mean"),
        ("an unknown name of 5,000 letters", f"{LONG}=5", "unknown parameter"), ("5,000 letters", f"pitch={LONG}", "pitch"),
        ("code", "pitch=__import__('os')", "pitch"), ("nan", "pitch=nan", "pitch"), ("inf", "pitch=inf mm", "pitch"),
        ("400 digits", f"pitch={'9' * 400}", "pitch"), ("itself", "pitch=pitch", "a cycle"),
        ("a length", "pitch=5 mm*5 mm", "area"), ("an escape sequence", "pitch=\x1b[2J", "pitch"),
        ("a line end", "pitch=1\n2", "pitch"), ("200 brackets", f"pitch={'(' * 200}", "nested deeper"),
    )
] + [
    option("--set a circle", "--set", "pitch=edge", told=("job.toml:8: parameters.edge", "a cycle")),
    option("--set twice", "--set", "pitch=1", "--set", "pitch=2", told=("--set pitch", "twice")),
    option("--panel twice", "--panel", "top", "--panel", "top", told=("--panel top", "twice")),
    option("--size with --all-sizes", "--size", "wide", "--all-sizes", told=("--all-sizes",)),
    option("an unknown one", "--colour", "red", told=("--colour",)),
    option("an unknown one of 5,000 letters", f"--{LONG}", told=("--nnn",)),
    option("an argument too many", "more", told=("more",)),
]  # fmt: skip

FILES = [
    option(f"{kind} {what}", kind, named, told=(said,), files={
        "x.toml": content, "loop.toml": Link("loop.toml"), "folder.toml": Folder(), "../above.toml": "colour = 1\n",
    })
    for kind, sound in (("--machine", MACHINE), ("--cutters", CUTTERS), ("--printer", MACHINE))
    for what, named, content, said in (
        ("not there", "gone.toml", "", "gone.toml"),
        ("a folder", "folder.toml", "", "folder.toml"),
        ("a link to itself", "loop.toml", "", "loop.toml"),
        ("a name of 300 letters", "n" * 300 + ".toml", "", "nnn"),
        ("a name of 300 letters and no ending", "n" * 300, "", "nnn"),
        ("no TOML", "x.toml", "[[[", "x.toml:1"),
        ("not UTF-8", "x.toml", b"\xff\xfe", "x.toml:1"),
        ("of another kind", "x.toml", PARTS, "x.toml"),
        ("a bad one above", "../above.toml", "", "above.toml"),
        ("the system's", "/etc/passwd", "", "passwd"),
        ("a device", "/dev/null", "", ""),
        ("an escape sequence", "\x1b[2J", "", ""),
        ("nothing", "", "", ""),
    )
]  # fmt: skip

PLACES = [
    option("-o at a file", "-o", "job.toml", told=("job.toml", "is a file"), status=3),
    option("-o in a file", "-o", "job.toml/made", told=("job.toml",), status=3),
    option("-o at a link to itself", "-o", "loop", told=("loop",), status=3, files={"loop": Link("loop")}),
    option("-o at a device", "-o", "/dev/null", told=("/dev/null",), status=3),
    option("-o of 300 letters", "-o", "n" * 300, told=("nnn",), status=3),
    option("-o over a stranger's manifest", "-o", "made", told=("manifest.json", "not a manifest"), status=3,
           files={"made/manifest.json": '{"files": 5}'}),
    option("-o over a manifest 100,000 deep", "-o", "made", told=("manifest.json", "not a manifest"), status=3,
           files={"made/manifest.json": "[" * 100_000}),
    option("-o over a manifest that is a link", "-o", "made", told=("manifest.json", "not a manifest"), status=3,
           files={"made/manifest.json": Link("../job.toml")}),
    option("-o over a file of the user's", "-o", "made", told=("top.nc", "kept"), status=3, files={"made/top.nc": "mine"}),
    option("-o over a link of a program's name", "-o", "made", told=("top.nc", "kept"), status=3,
           files={"made/top.nc": Link("../../../precious"), "../precious": "keep me"}),
    Case("a page over the job", ("simulate", "job.toml", "-o", "job.toml"), ("job.toml", "not of ours"), status=3),
    Case("a page at a folder", ("simulate", "job.toml", "-o", "."), (".",), status=3),
    Case("a drawing over the job", ("parts", "noval socket", "--svg", "job.toml"), ("job.toml", "not of ours"), status=3),
    Case("a new job over a job", ("new", "old"), ("old/old.toml", "is there already"), {"old/old.toml": JOB}, 3),
    Case("a new job in a file", ("new", "job.toml"), ("job.toml",), status=3),
    Case("a new job of 300 letters", ("new", "n" * 300), ("nnn",), status=3),
    Case("a new job from nothing", ("new", "x", "--from", "gone.dxf"), ("gone.dxf", "no such file")),
    Case("a new job from a name of 300 letters", ("new", "x", "--from", "n" * 300), ("nnn",)),
    Case("a new job with a gap of nan", ("new", "x", "--from", "x.dxf", "--gap", "nan"), ("--gap",), {"x.dxf": ""}),
    Case("a new job with a gap of inf", ("new", "x", "--from", "x.dxf", "--gap", "inf"), ("--gap",), {"x.dxf": ""}),
    Case("a new job in cubits", ("new", "x", "--from", "x.dxf", "--units", "cubit"), ("--units",), {"x.dxf": ""}),
    Case("an unknown command", ("explode", "job.toml"), ("explode",)),
    Case("an unknown command of escape sequences", ("\x1b[2J",), ("[2J",)),
    Case("a schema of nothing", ("schema", "../x"), ("../x",)),
    Case("a cutter of 5,000 digits", ("cutters", "9" * 5000), ("no cutter",)),
    Case("a part of 5,000 letters", ("parts", LONG), ("no ",)),
    Case("a screw of an escape sequence", ("screws", "\x1b[2J"), ("[2J",)),
]  # fmt: skip

CASES = [*VALUES, *FILES, *PLACES]

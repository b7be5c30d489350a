"""The door that post-processors come through."""

import pytest

import postprocessors
from postprocessors import checked, find, names, pages_of, text_of
from postprocessors.base import API_VERSION, DrawingPost, PenPost, ProgramPost, SheetsPost
from toolpaths import listing
from toolpaths.errors import BrokenPost, PostError, UnknownName


class Good(ProgramPost):
    name, suffix, summary = "good", ".txt", "a trial"

    def write(self, program, machine, cutters):
        return ""


def test_built_in_posts_are_found_without_installation(monkeypatch):
    """The built-in post-processors are known by name even where no entry point is installed."""
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [])
    assert names() == ["dxf", "gcode", "pen", "plotter", "template"]
    assert isinstance(find("gcode"), ProgramPost)
    assert isinstance(find("plotter"), DrawingPost)
    assert isinstance(find("pen"), PenPost)
    assert isinstance(find("template"), SheetsPost)
    assert [find(name).name for name in names()] == names()


@pytest.mark.parametrize(
    ("asked", "answer"), [("gcod", "did you mean 'gcode'"), ("zzz", "known are dxf, gcode, pen, plotter, template")]
)
def test_unknown_names_are_helped(asked, answer):
    """An unknown name is an error that says the nearest name, or all of them."""
    with pytest.raises(UnknownName, match=answer):
        find(asked)


def bring(folder, monkeypatch, lines, source=""):
    """Make a distribution with post-processors in ``folder`` and put it on the path."""
    info = folder / "trial_posts-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: trial-posts\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(f"[{postprocessors.GROUP}]\n{lines}\n")
    (folder / f"{folder.name}_posts.py").write_text(source)
    monkeypatch.syspath_prepend(str(folder))


SOURCE = """
from postprocessors.base import DrawingPost
class Stamp(DrawingPost):
    name, suffix, summary = "stamp", ".stamp", "a trial"
    def write(self, drawing):
        return drawing.title
"""


def test_another_distribution_brings_its_own(tmp_path, monkeypatch):
    """A post-processor of another distribution is found through the entry-point group and listed with ours."""
    module = f"{tmp_path.name}_posts"
    bring(tmp_path, monkeypatch, f"stamp = {module}:Stamp", SOURCE)
    assert "stamp" in names()
    assert find("stamp").suffix == ".stamp"


def test_two_of_one_name_are_refused(tmp_path, monkeypatch):
    """A name that two different classes claim is refused with both named, a built-in one too."""
    module = f"{tmp_path.name}_posts"
    bring(tmp_path, monkeypatch, f"gcode = {module}:Stamp", SOURCE)
    with pytest.raises(PostError, match=rf"postprocessors\.gcode:GCode, {module}:Stamp"):
        find("gcode")
    assert names().count("gcode") == 1


@pytest.mark.parametrize("value", ["no_such_module_at_all:Post", "postprocessors.base:NoSuchClass"])
def test_what_cannot_be_loaded_is_said(tmp_path, monkeypatch, value):
    """An entry point that leads nowhere is an error with its name and place."""
    bring(tmp_path, monkeypatch, f"lost = {value}")
    with pytest.raises(PostError, match=f"'lost': {value}"):
        find("lost")


@pytest.mark.parametrize("line", ["raise RuntimeError('no\\nway')", "import sys; sys.exit(3)", "def"])
def test_a_module_that_fails_is_told_on_one_line(tmp_path, monkeypatch, line):
    """Whatever a strange module does while it is read is told as its own fault, and our own are found as before."""
    module = f"{tmp_path.name}_posts"
    bring(tmp_path, monkeypatch, f"lost = {module}:Post", line)
    with pytest.raises(BrokenPost, match=f"'lost': {module}:Post cannot be loaded") as caught:
        find("lost")
    assert "\n" not in str(caught.value)
    assert find("gcode").name == "gcode"
    (row,) = [row for row in listing.posts(None) if "fault" in row]
    assert row["name"] == "lost" and row["fault"] == str(caught.value)


def test_ours_are_written_for_this_version():
    """Every built-in post-processor states the version that the registry asks for."""
    assert {find(name).api_version for name in postprocessors.BUILT_IN} == {API_VERSION}


class NeedsArgument(Good):
    def __init__(self, size):
        self.size = size


class NoWrite(ProgramPost):
    name, suffix, summary = "good", ".txt", "a trial"


class Stranger:
    name, suffix, kind, summary = "good", ".txt", "program", "a trial"

    def write(self, program, machine, cutters):
        return ""


def changed(**changes):
    return type("Changed", (Good,), changes)


FAULTS = [
    (Stranger, "Stranger: must be a class built on"),
    (Good(), "must be a class built on"),
    (NoWrite, "NoWrite: has no write"),
    (NeedsArgument, "NeedsArgument: cannot be made"),
    (changed(name="other"), "Changed: its name is 'other'"),
    (changed(name=""), "Changed: name must be"),
    (changed(suffix="txt"), "Changed: suffix must be"),
    (changed(suffix="./x"), "Changed: suffix must be"),
    (changed(kind=None), "Changed: kind must be"),
    (changed(summary="two\nlines"), "Changed: summary must be"),
    (changed(write=None), "Changed: has no write"),
    (changed(api_version=2), "Changed: written for API_VERSION 2, .* has 1; install a newer holewright"),
    (changed(api_version=0), "Changed: written for API_VERSION 0, .* has 1; install a newer version of it"),
    (changed(__init__=lambda self: {}["key"]), "Changed: cannot be made"),
]


@pytest.mark.parametrize(("offer", "message"), FAULTS)
def test_a_broken_class_is_refused_with_its_fault(offer, message):
    """Every break of the contract is refused when loaded, naming the class and the fault."""
    with pytest.raises(PostError, match=message):
        checked(offer, "good")


def test_a_good_class_passes():
    """What keeps the contract comes through."""
    assert isinstance(checked(Good, "good"), Good)


def test_a_foreign_post_that_fails_is_told_as_its_own_fault():
    """What a post of another distribution raises, or gives instead of text, names it; ours stay defects of ours."""

    def fail():
        return {}["key"]

    with pytest.raises(BrokenPost, match=r"post-processor 'good' failed .KeyError: 'key'."):
        text_of(Good(), fail, "ascii")
    with pytest.raises(BrokenPost, match="gives bytes, not text"):
        text_of(Good(), lambda: b"G21", "ascii")
    with pytest.raises(BrokenPost, match="UnicodeEncodeError"):
        text_of(Good(), lambda: "Gr\u00f6\u00dfe", "ascii")
    assert text_of(Good(), lambda: "G21", "ascii") == "G21"
    with pytest.raises(KeyError):
        text_of(find("gcode"), fail, "ascii")
    with pytest.raises(BrokenPost, match="gives str, not bytes"):
        pages_of(Good(), lambda: "text")
    assert pages_of(Good(), lambda: b"%PDF") == b"%PDF"

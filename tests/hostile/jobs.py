# ruff: noqa: E501 (a case is a line)
"""Hostile job files: as bytes, as TOML, as a job, and as expressions."""

from __future__ import annotations

from tests.hostile.case import JOB, Case, Content, Folder, Holes, Link, below_job, in_job, spoiled

CHECK = ("check", "job.toml")


def whole(name: str, content: Content, *told: str) -> Case:
    """A file that is no job at all."""
    return Case(name, CHECK, ("job.toml", *told), {"job.toml": content})


NINES = "9" * 5000

NO_TEXT = [
    whole("an empty file", "", "format", "is missing"),
    whole("blank lines alone", "\n \n\t\n", "is missing"),
    whole("UTF-16", JOB.encode("utf-16"), "job.toml:1", "is not UTF-8"),
    whole("UTF-32", JOB.encode("utf-32"), "is not"),
    whole("Latin-1 in a label", JOB.replace('"one"', '"Röhre"').encode("latin-1"), "job.toml:23", "is not UTF-8"),
    whole("a lone continuation byte", b"format = 1\n\x80", "job.toml:2", "is not UTF-8"),
    whole("an encoded surrogate", b'format = 1\ntitle = "\xed\xa0\x80"', "job.toml:2", "is not UTF-8"),
    whole("an overlong slash", b'format = 1\nmachine = "\xc0\xaf"', "job.toml:2", "is not UTF-8"),
    whole("NUL bytes alone", b"\0" * 1000, "job.toml:1"),
    whole("NUL in a text", 'format = 1\ntitle = "a\0b"', "job.toml:2"),
    whole("an escape sequence in a text", 'format = 1\ntitle = "a\x1b[2Jb"', "job.toml:2"),
    whole("an escape sequence in a key", 'format = 1\n\x1b[31mtitle = "a"', "job.toml:2"),
    whole("line ends of one lone CR", JOB.replace("\n", "\r"), "job.toml:"),
    whole("a picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40, "job.toml:1", "is not UTF-8"),
    whole("a folder", Folder(), "cannot be read"),
    whole("a link that leads to itself", Link("job.toml"), "job.toml"),
    whole("a link to nothing", Link("gone.toml"), "no such file"),
    whole("50 MB", Holes(50_000_000), "larger than 5 MB"),
    whole("a byte over 5 MB", "#" * 5_000_001, "larger than 5 MB"),
    Case("no such job", ("check", "gone.toml"), ("gone.toml", "no such file")),
    Case("a name that no system takes", ("check", "n" * 300 + ".toml"), ("nnn",)),
    Case("a path through a file", ("check", "job.toml/job.toml"), ("job.toml",)),
    Case("an escape sequence in a name", ("check", "a\x1b[2J.toml"), ("a", ".toml", "no such file")),
]

NO_TOML = [
    whole("a bracket that stays open", "format = 1\n[panel", "job.toml:2", "TOML"),
    whole("a quote that stays open", 'format = 1\ntitle = "a\nb = 2', "job.toml:2", "TOML"),
    whole("a long quote that stays open", 'format = 1\ntitle = """a\nb = 2\n', "job.toml:3", "TOML"),
    whole("no value", "format =\n", "job.toml:1", "TOML"),
    whole("two values", "format = 1 2\n", "job.toml:1", "TOML"),
    whole("a key twice", "format = 1\nformat = 1\n", "job.toml:2", "TOML"),
    whole("a table twice", "format = 1\n[parameters]\n[parameters]\n", "job.toml:3", "TOML"),
    whole("a value that becomes a table", "format = 1\n[format.x]\n", "job.toml:2", "TOML"),
    whole("an array that becomes a table", "[[panel]]\n[panel.x]\n[panel]\n", "job.toml:3", "TOML"),
    whole("an unknown escape", 'title = "\\q"', "job.toml:1", "TOML"),
    whole("an escaped surrogate", 'title = "\\uD800"', "job.toml:1", "TOML"),
    whole("a code point beyond Unicode", 'title = "\\U00110000"', "job.toml:1", "TOML"),
    whole("JSON", '{"format": 1}', "job.toml:1", "TOML"),
    whole("markup", "<job><panel/></job>", "job.toml:1", "TOML"),
    whole("a program", "%\nG21 G90\nM30\n%\n", "job.toml:1", "TOML"),
    whole("5,000 digits", f"format = {NINES}", "job.toml", "number"),
    whole("5,000 digits far down", f"{JOB}\nx = {NINES}", "job.toml", "number"),
    whole("100,000 arrays in each other", "x = " + "[" * 100_000, "nested too deeply"),
    whole("100,000 tables in each other", "x = " + "{a=" * 100_000, "nested too deeply"),
    whole("300 closed arrays in each other", "x = " + "[" * 300 + "]" * 300, "nested too deeply"),
    whole("60 closed arrays in each other", f"{JOB}depth = {'[' * 60}{']' * 60}", "nested too deeply"),
    whole("60 tables in each other", f"{JOB}depth = {'{a=' * 60}1{'}' * 60}", "nested too deeply"),
    whole("a header of 1,000,000 names", f"[{'.'.join('a' * 1_000_000)}]\n", "nested too deeply"),
    whole("a key of 1,000,000 names", f"{'.'.join('a' * 1_000_000)} = 1\n", "nested too deeply"),
    whole("a key of 1,000,000 quoted names", ".".join(['""'] * 1_000_000) + " = 1\n", "nested too deeply"),
    whole("100,000 spaces in a header", f"[{' ' * 100_000}\"[\"]\nx = 1\n", "unknown key"),
    whole("a key of 4,000,000 letters", f"{'k' * 4_000_000} = 1\n", "unknown key"),
    whole("a text of 4,000,000 letters", f'format = 1\ntitle = "{"t" * 4_000_000}"\n', "job.toml:2: title", "at most 200"),
    whole("20,000 unknown keys", "".join(f"k{n}=1\n" for n in range(20_000)), "job.toml:1: k0", "unknown key"),
    whole("200,000 keys", "".join(f"k{n}=1\n" for n in range(200_000)), "has 200000 keys", "at most 20000"),
    whole("100,000 empty panels", "[[panel]]\n" * 100_000, "panel[1].name", "is missing"),
    whole("20,000 holes of the wrong kind", JOB + "[[panel.hole]]\nat=1\n" * 20_000, "panel[1].hole[2].at"),
]

def heap(name: str, more: str, feature: str) -> Case:
    """The job with openings that lie over each other: told as overlaps."""
    return Case(name, CHECK, ("error", "overlap", f"{feature}: "), {"job.toml": JOB + more}, 1)


WRONG_KIND = [
    in_job("no format", "format = 1\n", "", "format"),
    in_job("format of the future", "format = 1", "format = 2", "format"),
    in_job("format as text", "format = 1", 'format = "1"', "format"),
    in_job("format as true", "format = 1", "format = true", "format"),
    in_job("format as 1.0", "format = 1", "format = 1.5", "format"),
    in_job("units unknown", 'units = "mm"', 'units = "cubits"', "units"),
    in_job("units as a list", 'units = "mm"', 'units = ["mm"]', "units"),
    in_job("title as a number", 'title = "bench amplifier"', "title = 5", "title"),
    in_job("title as a date", 'title = "bench amplifier"', "title = 2020-02-02", "title"),
    in_job("machine as a number", 'machine = "small router"', "machine = 7", "machine"),
    in_job("machine unknown", 'machine = "small router"', 'machine = "smal router"', "machine", "did you mean"),
    in_job("machine as a table", 'machine = "small router"', "machine = { x = 1 }", "machine"),
    in_job("a name as a number", 'name = "top"', "name = 5", "panel[1].name"),
    in_job("a name as true", 'name = "top"', "name = true", "panel[1].name"),
    in_job("a material as a list", 'material = "aluminium"', 'material = ["aluminium"]', "panel[1].material"),
    in_job("a material unknown", 'material = "aluminium"', 'material = "adamant"', "panel[1].material"),
    in_job("thickness true", "thickness = 2", "thickness = true", "panel[1].thickness"),
    in_job("thickness none", "thickness = 2", 'thickness = ""', "panel[1].thickness"),
    in_job("thickness a time", "thickness = 2", "thickness = 07:32:00", "panel[1].thickness"),
    in_job("thickness a gauge that is not", "thickness = 2", 'thickness = "999 ga"', "panel[1].thickness"),
    in_job("width a list", "width = 100", "width = [100]", "panel[1].width"),
    in_job("width a table", "width = 100", "width = { x = 100 }", "panel[1].width"),
    in_job("height missing", "height = 60", "", "panel[1].height"),
    in_job("an unknown key", "height = 60", "height = 60\nheigth = 60", "panel[1].heigth", "did you mean"),
    in_job("a key of Python's", "height = 60", "height = 60\n__class__ = 1", "panel[1].__class__", "unknown key"),
    in_job("a point of one", 'at = [20, "edge"]', "at = [20]", "panel[1].hole[1].at"),
    in_job("a point of three", 'at = [20, "edge"]', "at = [20, 20, 20]", "panel[1].hole[1].at"),
    in_job("a point as text", 'at = [20, "edge"]', 'at = "20, 20"', "panel[1].hole[1].at"),
    in_job("a point of tables", 'at = [20, "edge"]', "at = [{}, {}]", "panel[1].hole[1].at"),
    in_job("a point of lists", 'at = [20, "edge"]', "at = [[], []]", "panel[1].hole[1].at"),
    in_job("a point of truths", 'at = [20, "edge"]', "at = [true, false]", "panel[1].hole[1].at"),
    in_job("a label as a number", 'label = "one"', "label = 1", "panel[1].hole[1].label"),
    in_job("a label of 10,000 letters", 'label = "one"', f'label = "{"x" * 10_000}"', "panel[1].hole[1].label"),
    in_job("a thread unknown", 'label = "one"', 'thread = "M999"', "panel[1].hole[1]"),
    in_job("a finish unknown", 'label = "one"', 'finish = "polish"', "panel[1].hole[1].finish"),
    in_job("tabs as text", 'label = "one"', 'tabs = "four"', "panel[1].hole[1].tabs"),
    in_job("tabs of nan", 'label = "one"', "tabs = { count = nan }", "panel[1].hole[1].tabs"),
    in_job("a countersink as a number", 'label = "one"', "countersink = 8", "panel[1].hole[1].countersink"),
    in_job("parameters as a list", "[parameters]\npitch = 10\nedge = \"2*pitch\"", "parameters = [1, 2]", "parameters"),
    Case("sizes as numbers", CHECK, ("job.toml:11: sizes.wide",), {"job.toml": spoiled("[sizes.wide]\npitch = 12", "[sizes]\nwide = 5")}),
    in_job("a parameter as a table", "pitch = 10", "pitch = { a = 1 }", "parameters.pitch"),
    in_job("a hole as a number", "[[panel.hole]]\nat = [20, \"edge\"]\ndiameter = 5\nlabel = \"one\"", "hole = 5",
           "panel[1].hole", "[[panel.hole]]"),
    below_job("clamps as a number", "[[panel]]\nname='b'\nclamps = 5\n", "panel[2].clamps"),
    below_job("clamps of numbers", "[[panel]]\nname='b'\nclamps = [5]\n", "panel[2].clamps"),
    below_job("clamps of nan", "[[panel]]\nname='b'\nclamps = [{ x = nan, y = 0, width = 5 }]\n", "panel[2].clamps[1].x"),
    below_job("a hole beside the panels", "[[hole]]\nat = [1, 2]\n", "hole[1]", "belongs to a panel"),
    below_job("a grid of negative columns", "[[panel.grid]]\nat=[5,5]\ncolumns=-3\nrows=2\npitch=5\ndiameter=1\n",
              "panel[1].grid[1].columns"),
    below_job("a grid of a billion", "[[panel.grid]]\nat=[5,5]\ncolumns=100000\nrows=10000\npitch=5\ndiameter=1\n",
              "panel[1].grid[1]", "200000"),
    below_job("a ring of 10^15", "[[panel.ring]]\nat=[5,5]\ncircle_diameter=5\ncount=1000000000000000\ndiameter=1\n",
              "panel[1].ring[1].count", "200000"),
    heap("a ring of 20,000 holes that overlap",
         "[[panel.ring]]\nat=[50,30]\ncircle_diameter=40\ncount=20000\ndiameter=3\n", "ring[1]"),
    heap("a grid of 50,000 holes that overlap",
         "[[panel.grid]]\nat=[70,30]\ncolumns=250\nrows=200\npitch=0.3\ndiameter=3\n", "grid[1]"),
    below_job("a scale of a billion ticks", "[[panel.scale]]\nat=[50,50]\nradius=5\ndivisions=1000000000\n",
              "panel[1].scale[1].divisions"),
    below_job("a scale of a billion small ticks", "[[panel.scale]]\nat=[50,50]\nradius=5\nsubdivisions=1000000000\n",
              "panel[1].scale[1].subdivisions"),
    below_job("a polygon of one point", "[[panel.polygon]]\npoints=[[1,1]]\n", "panel[1].polygon[1].points"),
    below_job("a polygon of one place", "[[panel.polygon]]\nat=[9,9]\npoints=[[1,1],[1,1],[1,1]]\n",
              "panel[1].polygon[1].points"),
    below_job("a polygon of 200,000 points", "[[panel.polygon]]\npoints=[" + "[1,1]," * 200_000 + "]\n",
              "panel[1].polygon[1].points"),
    below_job("a polygon that crosses itself", "[[panel.polygon]]\nat=[40,40]\npoints=[[0,0],[9,9],[9,0],[0,9]]\n",
              "panel[1].polygon[1]"),
    below_job("a polygon as a number", "[[panel.polygon]]\npoints=5\n", "panel[1].polygon[1].points"),
    below_job("a row of rows of rows", "[[panel.row]]\nfrom=[1,1]\nto=[9,9]\nparts=[[[['LED bezel']]]]\n",
              "panel[1].row[1].parts"),
    below_job("a row of numbers", "[[panel.row]]\nfrom=[1,1]\nto=[9,9]\nparts=[1, 2]\n", "panel[1].row[1].parts[1]"),
    below_job("a row of nothing", "[[panel.row]]\nfrom=[1,1]\nto=[9,9]\nparts=[]\n", "panel[1].row[1].parts"),
    below_job("a part unknown", "[[panel.part]]\nat=[1,1]\npart='flux valve'\n", "panel[1].part[1].part"),
    below_job("a part as a path", "[[panel.part]]\nat=[1,1]\npart='../../etc/passwd'\n", "panel[1].part[1].part"),
    below_job("a part with a size of nan", "[[panel.part]]\nat=[1,1]\npart='grommet'\nnominal=nan\n",
              "panel[1].part[1].nominal"),
    below_job("traits unknown", "[[panel.part]]\nat=[1,1]\npart='grommet'\ntraits=['evil']\n", "panel[1].part[1].traits"),
    below_job("a text without letters", "[[panel.text]]\nat=[1,1]\ntext=''\n", "panel[1].text[1].text"),
    below_job("a text of 10,000 letters", f"[[panel.text]]\nat=[1,1]\ntext='{'x' * 10_000}'\n", "panel[1].text[1].text"),
    below_job("a box of nan", "[chassis]\ninside={length=nan,depth=1,height=1}\nfaces={top='top'}\n",
              "chassis.inside"),
    below_job("a box of no such panel", "[chassis]\ninside={length=9,depth=9,height=9}\nfaces={top='lid'}\n",
              "chassis.faces"),
    below_job("a box in a list", "[[chassis]]\ninside={length=9,depth=9,height=9}\nfaces={top='top'}\n", "chassis"),
    below_job("an obstacle of infinite size", "[[obstacle]]\nlabel='x'\nat=[1,1]\non='top'\nsize=[inf,1,1]\n",
              "obstacle[1].size"),
    below_job("an obstacle over no panel", "[[obstacle]]\nlabel='x'\nat=[1,1]\non='lid'\nsize=[1,1,1]\n", "obstacle[1].on"),
    below_job("a cabinet of texts", "[cabinet]\nwidth='wide'\nheight='high'\n", "cabinet.width"),
    below_job("least distances of nan", "[keep_apart]\nhot_from_can=nan\n", "keep_apart.hot_from_can"),
]

WILD = {"nan": "nan", "-nan": "-nan", "inf": "inf", "-inf": "-inf", "1e400": "1e400", "-1e308": "-1e308",
        "5e-324": "5e-324", "0": "0", "-0.0": "-0.0", "a negative one": "-5", "4,000 digits": "9" * 4000,
        "400 digits after the point": "0." + "0" * 400 + "1", "16^6000": "0x" + "f" * 6000, "2^400": "0b" + "1" * 400}  # fmt: skip
NUMBERS = [in_job(f"a diameter of {name}", "diameter = 5", f"diameter = {text}", "panel[1].hole[1].diameter")
           for name, text in WILD.items()] + [
    in_job(f"a place at {name}", 'at = [20, "edge"]', f"at = [{text}, 20]", "panel[1].hole[1].at[1]")
    for name, text in WILD.items() if name not in ("5e-324", "0", "-0.0", "a negative one", "400 digits after the point")
] + [
    in_job(f"a {key} of {text[:8]}", f"{key} = {was}", f"{key} = {text}", f"panel[1].{key}")
    for key, was in (("thickness", 2), ("width", 100), ("height", 60))
    for text in ("nan", "inf", "0", "-1", "1e300", "0x" + "f" * 5000)
] + [
    in_job("a format of 16^6000", "format = 1", f"format = 0x{'f' * 6000}", "format"),
    in_job("a title of 16^6000", 'title = "bench amplifier"', f"title = 0x{'f' * 6000}", "title"),
    in_job("a label of 16^6000", 'label = "one"', f"label = 0x{'f' * 6000}", "panel[1].hole[1].label"),
    in_job("an unknown key with 16^6000", 'label = "one"', f"colour = 0x{'f' * 6000}", "panel[1].hole[1].colour"),
    below_job("a clamp in setup 16^6000", f"[[panel]]\nname='b'\nclamps=[{{x=1,y=1,width=1,setup=0x{'f' * 6000}}}]\n",
              "panel[2].clamps[1].setup"),
]  # fmt: skip


def expression(name: str, text: str, said: str = "") -> Case:
    """An expression in place of a hole's diameter."""
    return in_job(f"an expression: {name}", "diameter = 5", f'diameter = "{text}"', "panel[1].hole[1].diameter", said)


EXPRESSIONS = [
    expression("code", "__import__('os').system('touch hacked')"),
    expression("an attribute", "pitch.__class__"),
    expression("a call", "exec(1)"),
    expression("a power tower", "9**9**9**9"),
    expression("a power", "pitch^99"),
    expression("a product beyond all numbers", "*".join(["9999999999"] * 40), "too large"),
    expression("500 digits", "9" * 500),
    expression("501 characters", "1" * 501),
    expression("a million characters", "1+" * 500_000 + "1"),
    expression("brackets 200 deep", "(" * 200 + "1" + ")" * 200, "nested deeper"),
    expression("min 100 deep", "min(" * 90 + "1" + ")" * 90, "nested deeper"),
    expression("240 minus signs", "-" * 240 + "1"),
    expression("division by zero", "1/(pitch-10)", "zero"),
    expression("a fraction over zero", "1/0 in", "zero"),
    expression("an unknown name", "pitsh", "did you mean"),
    expression("itself", "diameter"),
    expression("nothing but spaces", "     "),
    expression("a tab and an operator", "\\t*"),
    expression("a line end", "1\\n2"),
    expression("NUL", "1\\u0000"),
    expression("turned letters", "\\u202e5"),
    expression("full-width digits", "５"),
    expression("Arabic digits", "٥ mm"),
    expression("a decimal comma", "2,5"),
    expression("an exponent", "1e5"),
    expression("nan", "nan"),
    expression("inf", "inf mm"),
    expression("a template", "{{7*7}}"),
    expression("a shell's variable", "$HOME"),
    expression("a drill that is not", "#999"),
    expression("an area", "2 mm * 3 mm", "area"),
    expression("an unknown unit", "3 furlong"),
]


def parameters(name: str, text: str, key: str, said: str = "") -> Case:
    job = JOB.replace('pitch = 10\nedge = "2*pitch"\n', text)
    return Case(f"parameters: {name}", CHECK, ("job.toml", f"parameters.{key}", said), {"job.toml": job})


PARAMETERS = [
    parameters("one that is itself", 'pitch = "pitch"\nedge = 1\n', "pitch", "a cycle"),
    parameters("two that are each other", 'pitch = "edge"\nedge = "pitch"\n', "edge", "a cycle"),
    parameters("a circle of 5,000", "pitch = 1\nedge = 'p0'\n"
               + "".join(f"p{n} = 'p{(n + 1) % 5000} + 1'\n" for n in range(5000)), "p", "a cycle"),
    parameters("a product that doubles 60 times", "pitch = 1\nedge = 'p60'\np0 = 9999999999\n"
               + "".join(f"p{n} = 'p{n - 1}*p{n - 1}'\n" for n in range(1, 61)), "p", "too large"),
    parameters("a reserved name", "pitch = 1\nedge = 1\nwidth = 5\n", "width", "reserved"),
    parameters("a name of no letters", "pitch = 1\nedge = 1\n'../x' = 5\n", "../x", "no name"),
    parameters("an empty name", "pitch = 1\nedge = 1\n'' = 5\n", "", "no name"),
    parameters("a name of Greek letters", "pitch = 1\nedge = 1\n'ρ' = 5\n", "ρ", "no name"),
    parameters("a name of 1,000 letters", f"pitch = 1\nedge = 1\n{'n' * 1000} = 5\n", "nnn", "no name"),
    parameters("a name with a line end", 'pitch = 1\nedge = 1\n"a\\nb" = 5\n', "a", "no name"),
    parameters("nan", "pitch = nan\nedge = 1\n", "pitch", "nan"),
    parameters("a text of a million letters", f"pitch = '{'1' * 1_000_000}'\nedge = 1\n", "pitch", "at most 500"),
    in_job("40 names among 19,000 parameters", "pitch = 10",
           "pitch = 10\n" + "".join(f"some_long_name_{n} = 'some_lone_name_{n}'\n" for n in range(19_000)),
           "parameters.some_long_name_0", "unknown name"),
    in_job("a size that sets what is not there", "pitch = 12", "pitsh = 12", "sizes.wide.pitsh", "did you mean"),
    in_job("a size of nan", "pitch = 12", "pitch = nan", "sizes.wide.pitch"),
    in_job("a size of a list", "pitch = 12", "pitch = [12]", "sizes.wide.pitch"),
    in_job("a size as a path", "[sizes.wide]", "[sizes.'../../x']", "sizes.../../x"),
    in_job("a size as a device", "[sizes.wide]", "[sizes.CON]", "sizes.CON", "device"),
    in_job("a size without a name", "[sizes.wide]", "[sizes.'']", "sizes."),
    Case("two sizes that differ in case", CHECK, ("job.toml:12: sizes.wide", "case"),
         {"job.toml": spoiled("[sizes.wide]", "[sizes.WIDE]\npitch = 11\n[sizes.wide]")}),
    in_job("a size in a size", "[sizes.wide]\npitch = 12", "[sizes.wide.more]\npitch = 12", "sizes.wide"),
]  # fmt: skip

NAMES = [
    in_job(f"a panel called {what}", 'name = "top"', f'name = "{text}"', "panel[1].name", said)
    for what, text, said in (
        ("nothing", "", "no name"), ("one dot", ".", "no name"), ("two dots", "..", "no name"),
        ("the folder above", "../top", "no name"), ("a path", "a/b", "no name"), ("a path of backslashes", "a\\\\b", "no name"),
        ("an absolute path", "/etc/top", "no name"), ("a drive", "C:top", "no name"), ("a stream", "top:x", "no name"),
        ("a hidden file", ".hidden", "no name"), ("a name with an ending", "top.nc", "no name"),
        ("a dot at its end", "top.", "no name"), ("a blank at its end", "top ", "no name"),
        ("a blank at its front", " top", "no name"), ("a dash at its front", "-o", "no name"),
        ("a device", "CON", "device"), ("a port", "lpt1", "device"), ("65 letters", "n" * 65, "65 characters"),
        ("300 letters", "n" * 300, "300 characters"), ("a line end", "to\\np", "no name"), ("NUL", "to\\u0000p", "no name"),
        ("an escape sequence", "\\u001b[2Jtop", "no name"), ("turned letters", "to\\u202ep", "no name"),
        ("letters that look like others", "tоp", "no name"), ("a joined accent", "tóp", "no name"),
        ("markup", "<b>top</b>", "no name"), ("a wildcard", "to*", "no name"), ("a quote", "to\\\"p", "no name"),
        ("a shell's command", "$(reboot)", "no name"), ("a smile", "🙂", "no name"),
    )
] + [
    below_job("a panel's name twice", "[[panel]]\nname='top'\nmaterial='aluminium'\nthickness=2\nwidth=9\nheight=9\n",
              "panel[2]", "'top'"),
    below_job("a panel's name in capitals", "[[panel]]\nname='TOP'\nmaterial='aluminium'\nthickness=2\nwidth=9\nheight=9\n",
              "panel[2]", "case"),
]  # fmt: skip

CASES = [*NO_TEXT, *NO_TOML, *WRONG_KIND, *NUMBERS, *EXPRESSIONS, *PARAMETERS, *NAMES]

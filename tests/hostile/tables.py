# ruff: noqa: E501 (a case is a line)
"""Hostile files of machines, cutters, materials, hand tools, printers and components."""

from __future__ import annotations

from dataclasses import dataclass

from tests.hostile.case import JOB, Case, Content, Folder, Holes, Link, line_spoiled, spoiled

MACHINE = """\
format = 1
name = "garage router"
units = "mm"
source = "measured"
travel = { x = 400, y = 300, z = 70 }
daylight = 80
spindle = { min_rpm = 8000, max_rpm = 24000, power_w = 500, spin_up_s = 4, speed_control = true }
feed = { max_xy = 2000, max_z = 800, rapid_xy = 3000, rapid_z = 1500, acceleration = 200 }
stiffness = 0.3
backlash = 0.05
collet_nut = { diameter = 20, length = 20 }
spoilboard = 12
change_seconds = 60
[program]
decimals = 3
slots = { 1 = 112 }
[pen]
up = 3
"""
CUTTERS = """\
format = 1
[[cutter]]
number = 9112
kind = "end mill"
diameter = 3
material = "carbide"
flutes = 2
flute_length = 12
stick_out = 20
shank = 3.175
source = "measured"
"""
MATERIALS = """\
format = 1
[[material]]
name = "mild steel"
web = { value = 2, unit = "x thickness", source = "own bench" }
"""
HAND_TOOLS = """\
format = 1
units = "mm"
[drill_press]
speeds = [500, 900]
reach = 104
chuck = 13
source = "my bench"
[[tool]]
name = "my step drill"
kind = "step drill"
sizes = [4, 6, 8]
thickest = 4
source = "my bench"
"""
PRINTER = """\
format = 1
name = "study printer"
[scale]
x = 1.004
y = 0.999
"""
PARTS = """\
format = 1
units = "mm"
[[part]]
name = "lever switch"
fitted_from = "inside"
source = "measured"
[[part.hole]]
diameter = 12
[[part.room]]
role = "nut"
side = "outside"
diameter = 18
reach = 4
"""


@dataclass(frozen=True)
class Kind:
    """A kind of file: the key under which a job names it, a sound one, and what the job needs besides."""

    key: str
    sound: str
    more: str = ""

    @property
    def file(self) -> str:
        return f"my_{self.key}.toml"

    def job(self, named: str) -> str:
        """The job that names a file under this kind's key."""
        key = f"{self.key} = {named}\n"
        text = JOB.replace('machine = "small router"\n', "") if self.key == "machine" else JOB
        return text.replace("[parameters]", f"{key}\n[parameters]") + self.more

    def case(self, name: str, content: Content, *told: str) -> Case:
        """The job with this file."""
        files = {"job.toml": self.job(f'"{self.file}"'), self.file: content}
        return Case(f"{self.key}: {name}", ("check", "job.toml"), told or (self.file,), files)

    def spoiled(self, name: str, old: str, new: str, key: str, said: str = "") -> Case:
        """The job with this file, spoiled in one place: told with the line and the key."""
        text = spoiled(old, new, self.sound)
        place = f"{self.file}:{line_spoiled(old, new, text)}: {key}" if new else self.file
        return self.case(name, text, place, key, said)


PART = "[[panel.part]]\npart = 'lever switch'\nat = [70, 30]\n"
MACHINES = Kind("machine", MACHINE)
CUTTER_FILES = Kind("cutters", CUTTERS)
MATERIAL_FILES = Kind("materials", MATERIALS)
HAND_TOOL_FILES = Kind("hand_tools", HAND_TOOLS)
PRINTERS = Kind("printer", PRINTER)
PART_FILES = Kind("parts", PARTS, PART)
KINDS = (MACHINES, CUTTER_FILES, MATERIAL_FILES, HAND_TOOL_FILES, PRINTERS, PART_FILES)

BROKEN: tuple[tuple[str, Content, str], ...] = (
    ("is empty", "", "is missing"),
    ("is UTF-16", MACHINE.encode("utf-16"), "is not UTF-8"),
    ("is nothing but NUL", b"\0" * 100, "TOML"),
    ("has a quote that stays open", 'format = 1\nname = "x\n', "TOML"),
    ("is nested too deeply", "format = 1\nname = " + "[" * 500 + "]" * 500, "nested too deeply"),
    ("has 5,000 digits", "format = " + "9" * 5000, "digits"),
    ("has 16^6000", "format = 0x" + "f" * 6000, "format"),
    ("is of another version", "format = 99\n", "format"),
    ("is a folder", Folder(), "no file"),
    ("is a link to itself", Link("."), "no file"),
    ("is 50 MB", Holes(50_000_000), "larger than 5 MB"),
    ("has an unknown key", "format = 1\ncolour = 1\n", "colour"),
)

WHOLE = [kind.case(name, content, kind.file, said) for kind in KINDS for name, content, said in BROKEN]

LEADING_OUT = [
    Case(f"{kind.key}: named as {what}", ("check", "job.toml"), ("job.toml:", kind.key, said),
         {"job.toml": kind.job(named), "../secret.toml": kind.sound, "out.toml": Link("../secret.toml"),
          "loop.toml": Link("pool.toml"), "pool.toml": Link("loop.toml")})
    for kind in KINDS
    for what, named, said in (
        ("a file above", '"../secret.toml"', ""),
        ("a file of the system", '"/etc/passwd.toml"', ""),
        ("a drive", r"'C:\x.toml'", ""),
        ("a server", '"//server/x.toml"', ""),
        ("somebody's home", '"~/x.toml"', ""),
        ("a link that leads out", '"out.toml"', "leads out"),
        ("a loop of links", '"loop.toml"', ""),
        ("300 letters", f'"{"n" * 300}.toml"', ""),
        ("a name with NUL", '"x\\u0000.toml"', ""),
    )
]  # fmt: skip

NUMBERS = [
    MACHINES.spoiled(f"{key} of {text[:6]}", old, new, key)
    for text in ("nan", "inf", "-1", "1e400", "0x" + "f" * 5000, '"wide"', "[]", "true")
    for key, old, new in (
        ("travel.x", "x = 400", f"x = {text}"),
        ("stiffness", "stiffness = 0.3", f"stiffness = {text}"),
        ("spindle.max_rpm", "max_rpm = 24000", f"max_rpm = {text}"),
    )
] + [
    CUTTER_FILES.spoiled(f"{key} of {text[:6]}", old, new, f"cutter[1].{key}")
    for text in ("nan", "inf", "-1", "0", "0x" + "f" * 5000)
    for key, old, new in (
        ("diameter", "diameter = 3", f"diameter = {text}"),
        ("number", "number = 9112", f"number = {text}"),
        ("flutes", "flutes = 2", f"flutes = {text}"),
    )
]  # fmt: skip

FIGURES = [
    MACHINES.spoiled("without travel", "travel = { x = 400, y = 300, z = 70 }\n", "", "travel"),
    MACHINES.spoiled("a spindle as a number", "spindle = { min_rpm = 8000, max_rpm = 24000, power_w = 500, spin_up_s = 4, speed_control = true }", "spindle = 5", "spindle"),
    MACHINES.spoiled("travel as a list", "travel = { x = 400, y = 300, z = 70 }", "travel = [1, 2, 3]", "travel"),
    MACHINES.spoiled("a spindle that is faster at least than at most", "min_rpm = 8000", "min_rpm = 99000", "spindle"),
    MACHINES.spoiled("100 decimals", "decimals = 3", "decimals = 100", "program.decimals"),
    MACHINES.spoiled("a slot that is no number", "1 = 112", "'../x' = 112", "program.slots"),
    MACHINES.spoiled("a slot of 5,000 digits", "1 = 112", f"'{'9' * 5000}' = 112", "program.slots"),
    MACHINES.spoiled("two slots with one cutter", "1 = 112", "1 = 112, 2 = 112", "program.slots"),
    MACHINES.spoiled("comments that are code", "decimals = 3", 'decimals = 3\ncomments = "\\nM3"', "program"),
    MACHINES.spoiled("line ends of its own", "decimals = 3", 'decimals = 3\nline_ending = "\\u001b"', "program"),
    MACHINES.spoiled("a pen that is lowered by a cut", "up = 3", 'lower = "M3 S90\\nG1 Z-50"\nlift = "M5"', "pen.lower"),
    MACHINES.spoiled("a pen 1e9 up", "up = 3", "up = 1e9", "pen.up"),
    MACHINES.spoiled("a name of 1,000 letters", 'name = "garage router"', f'name = "{"x" * 1000}"', "name"),
    MACHINES.spoiled("a name that is a number", 'name = "garage router"', "name = 1", "name"),
    CUTTER_FILES.spoiled("a kind that is not", 'kind = "end mill"', 'kind = "laser"', "cutter[1].kind"),
    CUTTER_FILES.case("flutes longer than the cutter", spoiled("flute_length = 12", "flute_length = 1200", CUTTERS),
                      "my_cutters.toml:2: cutter[1]: flute_length"),
    CUTTER_FILES.spoiled("a length without sense", "shank = 3.175", 'shank = "1/0 in"', "cutter[1].shank"),
    CUTTER_FILES.spoiled("a length of 100,000 letters", "shank = 3.175", f'shank = "{"1" * 100_000} mm"', "cutter[1].shank"),
    CUTTER_FILES.spoiled("a table in place of a number", "shank = 3.175", "shank = {}", "cutter[1].shank"),
    CUTTER_FILES.spoiled("an unknown column", "shank = 3.175", "shank = 3.175\nprice = 5", "cutter[1].price"),
    CUTTER_FILES.case("a cutter as a number", "format = 1\ncutter = 5\n", "my_cutters.toml:2: cutter"),
    CUTTER_FILES.case("cutters of numbers", "format = 1\ncutter = [5]\n", "my_cutters.toml:2: cutter"),
    CUTTER_FILES.case("a number twice", CUTTERS + CUTTERS.removeprefix("format = 1\n"), "my_cutters.toml:12: cutter[2]", "twice"),
    CUTTER_FILES.case("a material in it", CUTTERS + "[[material]]\nname = 'x'\n", "my_cutters.toml:12: material"),
    CUTTER_FILES.case("100,000 empty cutters", "format = 1\n" + "[[cutter]]\n" * 100_000, "cutter[1]"),
    MATERIAL_FILES.spoiled("a web of nan", "value = 2", "value = nan", "material[1].web"),
    MATERIAL_FILES.spoiled("a web of 16^6000", "value = 2", f"value = 0x{'f' * 6000}", "material[1].web"),
    MATERIAL_FILES.spoiled("a web in furlongs", "x thickness", "furlong", "material[1].web"),
    MATERIAL_FILES.spoiled("a web a thousand thick", "value = 2", "value = 2000", "material[1].web"),
    MATERIAL_FILES.case("a new one of a name alone", spoiled("mild steel", "unobtainium", MATERIALS),
                        "my_materials.toml:2: material[1].family", "is missing"),
    MATERIAL_FILES.spoiled("a name of a list", '"mild steel"', "[]", "material[1].name"),
    MATERIAL_FILES.spoiled("a figure as a number", 'web = { value = 2, unit = "x thickness", source = "own bench" }', "web = 2", "material[1].web"),
    MATERIAL_FILES.spoiled("speeds of numbers", 'web = { value = 2, unit = "x thickness", source = "own bench" }', "speeds = [1]", "material[1].speeds"),
    MATERIAL_FILES.case("a material as text", 'format = 1\nmaterial = "gold"\n', "my_materials.toml:2: material"),
    HAND_TOOL_FILES.spoiled("speeds of nan", "[500, 900]", "[nan]", "drill_press.speeds"),
    HAND_TOOL_FILES.spoiled("no speeds", "[500, 900]", "[]", "drill_press.speeds"),
    HAND_TOOL_FILES.spoiled("sizes of nan", "[4, 6, 8]", "[nan]", "tool[1].sizes"),
    HAND_TOOL_FILES.spoiled("sizes of 16^6000", "[4, 6, 8]", f"[0x{'f' * 6000}]", "tool[1].sizes"),
    HAND_TOOL_FILES.spoiled("10,000 sizes", "[4, 6, 8]", str(list(range(1, 10_001))), "tool[1].sizes"),
    HAND_TOOL_FILES.spoiled("sizes as text", "[4, 6, 8]", '"many"', "tool[1].sizes"),
    HAND_TOOL_FILES.spoiled("a size that is code", "[4, 6, 8]", '["__import__(1)"]', "tool[1].sizes"),
    HAND_TOOL_FILES.spoiled("a kind that is not", '"step drill"', '"laser"', "tool[1].kind"),
    HAND_TOOL_FILES.spoiled("only these, perhaps", 'units = "mm"', 'units = "mm"\nonly_these = "maybe"', "only_these"),
    HAND_TOOL_FILES.case("a tool as a number", "format = 1\ntool = 5\n", "my_hand_tools.toml:2: tool"),
    HAND_TOOL_FILES.case("tools of texts", "format = 1\ntool = ['drill']\n", "my_hand_tools.toml:2: tool"),
    HAND_TOOL_FILES.case("10,000 tools", "format = 1\n" + "[[tool]]\n" * 10_000, "my_hand_tools.toml:2: tool"),
    PRINTERS.spoiled("a scale of nan", "x = 1.004", "x = nan", "scale.x"),
    PRINTERS.spoiled("a scale of 2", "x = 1.004", "x = 2", "scale.x"),
    PRINTERS.spoiled("a scale of 0", "x = 1.004", "x = 0", "scale.x"),
    PRINTERS.spoiled("a scale as text", "x = 1.004", 'x = "1.004"', "scale.x"),
    PRINTERS.spoiled("a scale of 16^6000", "x = 1.004", f"x = 0x{'f' * 6000}", "scale.x"),
    PRINTERS.spoiled("an unknown axis", "x = 1.004", "q = 1.004", "scale.q"),
    PRINTERS.case("no scale", "format = 1\nname = 'x'\n", "my_printer.toml", "scale"),
    PRINTERS.case("a scale in a list", "format = 1\nname = 'x'\nscale = [1, 1]\n", "my_printer.toml:3: scale"),
    PART_FILES.spoiled("a room of nan", "reach = 4", "reach = nan", "part[1].room[1].reach"),
    PART_FILES.spoiled("a room of code", "reach = 4", 'reach = "open(1)"', "part[1].room[1].reach"),
    PART_FILES.spoiled("a hole of nan", "diameter = 12", "diameter = nan", "part[1].hole[1].diameter"),
    PART_FILES.spoiled("a hole of 16^6000", "diameter = 12", f"diameter = 0x{'f' * 6000}", "part[1].hole[1].diameter"),
    PART_FILES.spoiled("an unknown key", "diameter = 12", "diamter = 12", "part[1].hole[1].diamter", "did you mean"),
    PART_FILES.spoiled("fitted from nowhere", '"inside"', '"beyond"', "part[1].fitted_from"),
    PART_FILES.spoiled("a role that is not", '"nut"', '"soul"', "part[1].room[1].role"),
    PART_FILES.spoiled("a hole from a file", "[[part.hole]]\ndiameter = 12", "[[part.hole_list]]\nfile = '/etc/passwd'", "part[1].hole_list"),
    PART_FILES.spoiled("a grid in it", "[[part.hole]]\ndiameter = 12", "[[part.grid]]\ndiameter = 12", "part[1].grid"),
    PART_FILES.spoiled("a part in it", "[[part.hole]]\ndiameter = 12", "[[part.part]]\npart = 'lever switch'", "part[1].part"),
    PART_FILES.spoiled("a series without a size", 'fitted_from = "inside"', 'fitted_from = "inside"\nseries = "x"', "part[1].series"),
    PART_FILES.spoiled("a winding of code", 'fitted_from = "inside"', 'fitted_from = "inside"\nwinding = "eval(1)"', "part[1].winding"),
    PART_FILES.case("a part as a number", "format = 1\npart = 5\n", "my_parts.toml:2: part"),
    PART_FILES.case("a name twice", PARTS + "[[part]]\nname = 'lever switch'\n", "my_parts.toml", "part[2].name", "twice"),
    PART_FILES.case("100,000 parts without names", "format = 1\n" + "[[part]]\n" * 100_000, "my_parts.toml", "part[1].name"),
]  # fmt: skip

CASES = [*WHOLE, *LEADING_OUT, *NUMBERS, *FIGURES]

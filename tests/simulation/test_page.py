"""The playback page in a real browser: what it shows is what the strokes cut, and every way of driving it works."""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from tests.simulation.conftest import NARROW, WIDE, Player, do_without, missing
from tests.simulation.sample import chassis, finding, many, replay, round_opening, setup, swept
from toolpaths.simulation.page import page

Open = Callable[..., Player]

LOOKS = """
const canvas = document.getElementById("removed"), copy = document.createElement("canvas");
[copy.width, copy.height] = [canvas.width, canvas.height];
const context = copy.getContext("2d", { willReadFrequently: true });
context.drawImage(canvas, 0, 0);
const { data } = context.getImageData(0, 0, copy.width, copy.height), looks = [];
for (let k = 0; k < data.length; k += 4) looks.push(data[k + 3] < 128 ? "0" : data[k] > 0x5e ? "1" : "2");
return [copy.width, looks.join(""), replay.view];
"""
"""Each pixel of what is cut: 0 sheet, 1 part of the depth, 2 through (red half way between the two colours)."""

EDGE = 1.0
"""px: nearer than this to an edge a pixel may have either look: half a pixel is its size, the rest is smoothing."""


def looks(player: Player) -> tuple[NDArray[np.int8], NDArray[np.float64], float]:
    """The look of each pixel, its place in program coordinates (rows, columns, XY), and mm per pixel."""
    width, text, view = player.run(LOOKS)
    seen = np.frombuffer(text.encode(), dtype=np.int8).reshape(-1, width) - ord("0")
    rows, columns = np.indices(seen.shape)
    x = (columns + 0.5 - view["left"]) / view["scale"]
    y = (view["top"] - rows - 0.5) / view["scale"]
    return seen, np.stack([x, y], axis=-1), 1 / view["scale"]


def halt(raw: dict[str, Any], number: int) -> tuple[float, float]:
    """When a halt of a setup begins and ends, s."""
    begins, lasts = raw["halts"][number]["t"], raw["halts"][number]["seconds"]
    return begins, begins + lasts


# what is cut ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_the_picture_at_the_end_is_what_the_strokes_sweep(open_page: Open, size: tuple[int, int]) -> None:
    """At the end every pixel but those on an edge has the look that the swept shapes give it, and the areas agree."""
    raw = chassis()
    player = open_page(replay(raw), size)
    player.at(raw["seconds"])
    seen, at, pixel = looks(player)
    for least, floor in ((1, -0.002), (2, -raw["thickness"] + 0.002)):
        shape = swept(raw, floor)
        painted = seen >= least
        inside = shapely.contains_xy(shape.buffer(-EDGE * pixel), at[..., 0], at[..., 1])
        outside = ~shapely.contains_xy(shape.buffer(EDGE * pixel), at[..., 0], at[..., 1])
        assert inside.sum() > 300 and outside.sum() > 3000
        assert painted[inside].all()
        assert not painted[outside].any()
        assert painted.sum() * pixel**2 == pytest.approx(shape.area, abs=0.3 * pixel * shape.length)


def test_a_jump_shows_what_play_would_have_cut(open_page: Open) -> None:
    """After jumps back and forth the picture is that of a page that went straight there, but for pixels on an edge."""
    raw = many(3000)
    moments = [raw["seconds"] * share for share in (0.31, 0.655, 0.93)]
    straight = []
    for moment in moments:
        player = open_page(replay(raw))
        player.at(moment)
        straight.append(looks(player)[0])
    player.until("replay.stats.ready")
    assert player.run("return replay.stats.checkpoints") >= 10
    for k in (2, 0, 1, 0, 2):
        player.at(moments[k])
        seen = looks(player)[0]
        assert (seen > 0).sum() > 5000
        assert (seen != straight[k]).sum() < 0.002 * (seen > 0).sum()
        for row, column in np.argwhere(seen != straight[k]):
            assert seen[row, column] in straight[k][row - 1 : row + 2, column - 1 : column + 2]


def test_half_a_stroke_is_half_cut(open_page: Open) -> None:
    """In the middle of a stroke exactly its first half is cut: the cutter's far edge stands where the cut ends."""
    raw = chassis()
    straight = next(i for i, x in enumerate(raw["strokes"]["x"]) if (x, raw["strokes"]["y"][i]) == (100, 20))
    player = open_page(replay(raw))
    player.at((raw["strokes"]["t"][straight - 1] + raw["strokes"]["t"][straight]) / 2)
    seen, at, pixel = looks(player)
    cut = at[(seen == 2) & (abs(at[..., 1] - 20) < 1) & (at[..., 0] > 70)]
    assert cut[:, 0].min() == pytest.approx(78.5, abs=2 * pixel)
    assert cut[:, 0].max() == pytest.approx(91.5, abs=2 * pixel)
    assert player.text("dd.x") == "90.00" and player.text("dd.z") == "−1.50"


def test_looks_differ_in_lightness(open_page: Open) -> None:
    """Sheet, part depths and through differ in lightness alone: no kind of colour vision takes one for another."""
    player = open_page(replay(chassis()))
    colours = [player.run("return getComputedStyle(document.querySelector('.swatch.sheet')).backgroundColor")]
    bands = player.run("return getComputedStyle(document.querySelector('.swatch.part')).backgroundImage")
    through = player.run("return getComputedStyle(document.querySelector('.swatch.through')).backgroundColor")
    parts = list(dict.fromkeys(re.findall(r"rgb\(.*?\)", bands)))
    sheet, *depths, deepest = (luminance(colour) for colour in [*colours, *parts, through])
    assert len(depths) == 4 and depths == sorted(depths, reverse=True)
    assert contrast(sheet, depths[0]) > 1.4
    assert contrast(depths[-1], deepest) > 3


def luminance(colour: str) -> float:
    """Relative luminance of ``rgb(r, g, b)``, by WCAG 2 (sRGB)."""
    parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(light: float, dark: float) -> float:
    """Contrast ratio of two luminances, by WCAG 2."""
    return (light + 0.05) / (dark + 0.05)


# driving --------------------------------------------------------------------------------------------------------------


def test_play_runs_at_its_speed_and_hold_stops_it(open_page: Open) -> None:
    """Start runs the time at the chosen speed, by the browser's own clock; Hold stops it where it is."""
    raw = many(4000)
    player = open_page(replay(raw))
    player.run("document.getElementById('run').click()")
    assert player.text("#run") == "Hold"
    passed = player.driver.execute_async_script(
        "const done = arguments[0], from = [performance.now(), replay.time];"
        "setTimeout(() => done([performance.now() - from[0], replay.time - from[1]]), 1500);"
    )
    assert passed[1] / (passed[0] / 1000) == pytest.approx(10, rel=0.15)
    player.run("document.getElementById('run').click()")
    assert player.text("#run") == "Start"
    there = player.time
    player.run("return new Promise((done) => setTimeout(done, 200))")
    assert player.time == there


def test_play_does_not_wait_out_a_halt_and_stops_at_the_end(open_page: Open) -> None:
    """A halt of a minute takes two seconds of play; at the end play stops, and Start begins again."""
    raw = chassis()
    player = open_page(replay(raw))
    begins, ends = halt(raw, 1)
    player.run("replay.setTime(arguments[0]); replay.play()", begins + 1)
    player.until(f"replay.time > {ends}", 4)
    player.run("replay.setTime(arguments[0]); replay.play()", raw["seconds"] - 3)
    player.until("!replay.playing", 4)
    assert player.time == raw["seconds"]
    assert player.text("#notice").endswith("Finished.")
    player.run("replay.play()")
    assert player.time < 1


def test_the_rule_is_dragged(open_page: Open) -> None:
    """Pressing the time line jumps there, dragging follows the pointer and stays within its ends."""
    raw = chassis()
    player = open_page(replay(raw))
    rule = player.driver.find_element(By.ID, "rule")
    wide = player.run("return document.getElementById('rule').clientWidth")
    middle = ActionChains(player.driver).move_to_element(rule).click_and_hold()
    middle.perform()
    assert player.time == pytest.approx(raw["seconds"] / 2, abs=2 * raw["seconds"] / wide)
    ActionChains(player.driver).move_by_offset(int(wide / 4), 0).perform()
    assert player.time == pytest.approx(raw["seconds"] * 3 / 4, abs=2 * raw["seconds"] / wide)
    ActionChains(player.driver).move_by_offset(int(wide / 4) + 8, -30).release().perform()
    assert player.time == raw["seconds"]
    ActionChains(player.driver).move_by_offset(-100, 0).perform()
    assert player.time == raw["seconds"]


def test_steps_lead_from_operation_to_operation(open_page: Open) -> None:
    """Step on goes to the start of the next operation, Step back to that of this one, then of the one before."""
    raw = chassis()
    starts = [step["start"] for step in raw["operations"]]
    player = open_page(replay(raw))
    seen = []
    for _ in range(5):
        player.driver.find_element(By.ID, "on").click()
        seen.append(player.time)
    assert seen == pytest.approx([*starts, raw["seconds"]])
    seen = []
    for _ in range(5):
        player.driver.find_element(By.ID, "back").click()
        seen.append(player.time)
    assert seen == pytest.approx([*reversed(starts), 0])


def test_the_keyboard_drives_it(open_page: Open) -> None:
    """Space, arrows, Home, End, plus and minus work anywhere; a focused button or list keeps its own keys."""
    raw = chassis()
    starts = [step["start"] for step in raw["operations"]]
    player = open_page(replay(raw))

    def press(*keys: str) -> None:
        ActionChains(player.driver).send_keys(*keys).perform()

    press(Keys.END)
    assert player.time == raw["seconds"]
    press(Keys.ARROW_LEFT)
    assert player.time == pytest.approx(starts[-1])
    ActionChains(player.driver).key_down(Keys.SHIFT).send_keys(Keys.ARROW_RIGHT).key_up(Keys.SHIFT).perform()
    assert player.time == pytest.approx(starts[-1] + 1)
    press(Keys.HOME)
    assert player.time == 0
    press(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert player.time == pytest.approx(starts[1])
    press("+", "+", "-")
    assert player.run("return document.getElementById('speed').value") == "20"
    press(Keys.SPACE)
    assert player.run("return replay.playing")
    press(Keys.SPACE)
    assert not player.run("return replay.playing")
    player.run("document.getElementById('run').focus()")
    press(Keys.SPACE)
    assert player.run("return replay.playing"), "one press of a focused button is one press"
    assert player.run("return getComputedStyle(document.activeElement).outline").endswith("solid 3px")


def test_the_list_leads_and_follows(open_page: Open) -> None:
    """A row of the list jumps to its operation; the row of the one at hand is marked, and its figures are told."""
    raw = chassis()
    player = open_page(replay(raw))
    player.run("document.querySelectorAll('#list .work button')[2].click()")
    player.until("document.querySelector('#list [aria-current]')")
    assert player.time == pytest.approx(raw["operations"][2]["start"])
    marked = player.text("#list [aria-current]")
    for told in ("cut round the contour G1", "T112", "8000 min⁻¹", "600 mm/min", "Z −1.50", "leaves a slug"):
        assert told in marked
    assert player.text("dd.operation") == "3 of 4: cut round the contour G1"
    assert player.text("dd.cutter") == "T112 3 mm carbide end mill"
    player.run("replay.setTime(arguments[0])", raw["operations"][3]["start"])
    player.until("document.querySelector('#list [aria-current]').textContent.includes('clear to chips')")
    assert "reasons as 3" in player.text("#list [aria-current]")
    assert player.text("#list [aria-current] p") == "leaves a slug on two tabs"
    player.at(1)
    player.until("!document.querySelector('#list [aria-current]')")
    assert len(player.driver.find_elements(By.CSS_SELECTOR, "#list p")) == 3
    assert player.text("dd.x") == "not known yet"


def test_halts_slugs_and_findings_are_told(open_page: Open) -> None:
    """During a halt the page says what for; when a slug comes loose it says so, not before; findings are numbered."""
    raw = chassis()
    player = open_page(replay(raw))
    begins, ends = halt(raw, 1)
    loose = raw["loose"][0]["t"]
    for moment, told in (
        (begins - 0.1, ""), (begins + 0.1, "Halt, 1:00: change to T112, touch off Z0"), (ends + 0.1, ""),
        (loose - 0.05, ""), (loose + 0.1, "the slug of G1 hangs on 2 tabs"),
    ):  # fmt: skip
        player.at(moment)
        player.run("return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        assert player.text("#notice").endswith(told) and bool(player.text("#notice")) == bool(told), moment
    player.at((begins + ends) / 2)
    assert [player.text(f"dd.{axis}") for axis in "xyz"] == ["15.00", "15.00", "25.00"], "it stands still"
    assert len(player.driver.find_elements(By.CSS_SELECTOR, "#scale .change")) == 1
    assert len(player.driver.find_elements(By.CSS_SELECTOR, "#scale .slug")) == 1
    assert "1 warning hole[1]: only 2 mm stays" in player.text("#more")


def test_setups_are_chosen(open_page: Open) -> None:
    """Each of two setups is shown when chosen, from its start; an empty one and a job without any say so."""
    second = setup(panel="front", seen_from="inside", thickness=2.0)
    player = open_page(replay(chassis(), second))
    assert not player.run("return document.getElementById('choice').hidden")
    player.at(30)
    choice = player.driver.find_element(By.ID, "setup")
    choice.send_keys(Keys.ARROW_DOWN)
    player.until("document.querySelector('#block').textContent.includes('front: setup 1')")
    player.until("document.querySelector('#notice').textContent")
    assert player.time == 0 and player.text("#notice") == "This setup has no motions."
    assert "turned over" in player.text("#block") and not player.text("#list")
    assert (looks(player)[0] == 0).all()
    for press in (Keys.SPACE, Keys.END, Keys.ARROW_RIGHT, Keys.ARROW_LEFT):
        player.driver.find_element(By.ID, "rule").send_keys(press)
    assert player.time == 0 and not player.run("return replay.playing")
    player.run("replay.setup(0)")
    player.at(1000)
    assert (looks(player)[0] == 2).any()
    player = open_page(replay())
    assert player.text("#notice") == "There is nothing to machine."
    player.driver.find_element(By.ID, "rule").send_keys(Keys.SPACE, Keys.ARROW_RIGHT)


# text, paper, widths --------------------------------------------------------------------------------------------------

NASTY = "<mark>\"x\" & 'y'</mark></script><script>window.broken = 1</script><!-- \u2028 ${1} {{ 2 }} é"


def test_markup_stays_text(open_page: Open) -> None:
    """Whatever a job says is shown as it is written: no element, no script, no end of the data comes of it."""
    raw = chassis(NASTY)
    for step in raw["operations"]:
        step["reasons"], step["kind"] = [NASTY], NASTY
    raw["openings"].append(round_opening(NASTY, (70, 70), 5, label=NASTY))
    raw["operations"][0]["tags"] = [NASTY]
    raw["halts"][0]["text"] = raw["loose"][0]["text"] = raw["panel"] = raw["material"] = NASTY
    raw["obstacles"][0]["name"] = raw["programs"][0] = raw["cutters"]["230"]["name"] = NASTY
    raw["findings"] = [finding("error", "thin-web", NASTY, [70, 70]) | {"feature": NASTY}]
    player = open_page(replay(raw, setup(panel=NASTY), title=NASTY))
    player.at(raw["operations"][0]["start"])
    player.until("document.querySelector('#list [aria-current]')")
    assert NASTY in player.driver.title
    for place in ("h1", "#list .work p", "#list .what", "#list .what i", "#more", "#block", "dd.cutter", "#setup"):
        assert NASTY in player.text(place), place
    player.run("window.dispatchEvent(new Event('beforeprint'))")
    assert NASTY in player.text("#paper")
    player.run("window.dispatchEvent(new Event('afterprint'))")
    assert player.run("return window.broken ?? null") is None
    assert not player.driver.find_elements(By.CSS_SELECTOR, "mark")
    assert len(player.driver.find_elements(By.CSS_SELECTOR, "script")) == 2


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_nothing_hangs_over_the_edge(open_page: Open, size: tuple[int, int]) -> None:
    """At both widths the page is as wide as the window, and sheet, rule, buttons and figures lie within it."""
    raw = chassis("a label of many words that goes on and on " * 4)
    raw["panel"] = "a-panel-with-a-name-" * 3
    player = open_page(replay(raw, setup(), title="Quillmere" * 20), size)
    player.at(raw["seconds"])
    assert player.run("return [innerWidth, innerHeight]") == list(size)
    assert player.run("return document.scrollingElement.scrollWidth") <= size[0]
    for place in ("stage", "rule", "run", "clock", "setup", "spindle", "list", "block"):
        box = player.run("return document.getElementById(arguments[0]).getBoundingClientRect().toJSON()", place)
        assert 0 <= box["left"] < box["right"] <= size[0], place
        assert box["width"] > 40 and box["height"] > 15, place
        assert size is NARROW or box["bottom"] <= size[1], place


def test_a_new_size_draws_anew(open_page: Open, browser: Any) -> None:
    """When the window changes its size, sheet and cuts are drawn anew at the new scale, at the same moment."""
    raw = chassis()
    player = open_page(replay(raw))
    player.at(raw["seconds"])
    before = player.run("return replay.view.scale")
    metrics = {"width": 700, "height": 900, "deviceScaleFactor": 2, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    player.until(f"replay.view.scale !== {before} && replay.stats.behind === 0")
    seen, _, pixel = looks(player)
    shape = swept(raw, -0.002)
    assert (seen > 0).sum() * pixel**2 == pytest.approx(shape.area, abs=0.3 * pixel * shape.length)
    assert player.time == raw["seconds"]


def test_paper_shows_every_setup_finished(open_page: Open) -> None:
    """In print each setup has the sheet as it is at the end and its whole list, with halts, reasons and findings."""
    raw = chassis()
    player = open_page(replay(raw, many(500) | {"panel": "front"}))
    player.at(30)
    player.run("window.dispatchEvent(new Event('beforeprint'))")
    papers = player.driver.find_elements(By.CSS_SELECTOR, "#paper > section")
    assert len(papers) == 2
    rows = [row.get_attribute("textContent") for row in papers[0].find_elements(By.CSS_SELECTOR, "tbody tr")]
    for k, step in enumerate(raw["operations"]):
        assert rows[k].startswith(str(step["number"])) and f"{step['kind']} {step['tags'][0]}" in rows[k]
    for told in ("change to T112", "the slug of G1", "leaves a slug on two tabs", "only 2 mm stays"):
        assert told in player.text("#paper section")
    dark = player.run(
        "const canvas = document.querySelector('#paper canvas'), copy = document.createElement('canvas');"
        "[copy.width, copy.height] = [canvas.width, canvas.height];"
        "const context = copy.getContext('2d', { willReadFrequently: true });"
        "context.drawImage(canvas, 0, 0);"
        "const { data } = context.getImageData(0, 0, copy.width, copy.height);"
        "let count = 0; for (let k = 0; k < data.length; k += 4) count += data[k] === 0x22 && data[k + 2] === 0x3b;"
        "return count;"
    )
    assert dark > 50_000
    player.run("window.dispatchEvent(new Event('afterprint'))")
    assert not player.text("#paper")
    assert base64.b64decode(player.driver.print_page()).startswith(b"%PDF")


# without a browser ----------------------------------------------------------------------------------------------------


def test_the_page_needs_nothing_else() -> None:
    """The file names no address but that of the SVG language, loads nothing, and forbids itself to."""
    text = page(replay(chassis()))
    assert set(re.findall(r"\w+://[^\"'\s]+", text)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"\ssrc=|@import|url\(|fetch\(|XMLHttpRequest|import\(", text)
    assert "default-src 'none'" in text


def test_data_go_in_whole_and_ascii() -> None:
    """What stands in the data element is the replay itself; a figure that is none is refused."""
    data = replay(chassis(NASTY), title=NASTY)
    (inside,) = re.findall(r'<script id="data" type="application/json">(.*?)</script>', page(data), re.DOTALL)
    assert inside.isascii() and "<" not in inside
    assert json.loads(inside) == data
    with pytest.raises(ValueError, match="JSON compliant"):
        page(replay(setup(thickness=float("nan"))))


@pytest.fixture
def nowhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[pytest.MonkeyPatch]:
    """A machine without a browser, and without the settings that ask for one."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.delenv("HOLEWRIGHT_BROWSER", raising=False)
    yield monkeypatch


@pytest.mark.parametrize(
    ("name", "value", "end"),
    [
        ("CI", "true", pytest.fail.Exception), ("HOLEWRIGHT_BROWSER", "required", pytest.fail.Exception),
        ("CI", "", pytest.skip.Exception), ("HOLEWRIGHT_BROWSER", "no", pytest.skip.Exception),
    ],
)  # fmt: skip
def test_a_missing_browser_fails_where_it_is_required(
    nowhere: pytest.MonkeyPatch, name: str, value: str, end: type[BaseException]
) -> None:
    """Without chromium the tests fail in CI and where it is required, and skip with the reason elsewhere."""
    nowhere.setenv(name, value)
    with pytest.raises(end, match=r"chromium, chromedriver"):
        do_without(missing())

"""A real browser for the tests of the page: Debian's chromium, without a window, driven from Python.

Packages: ``chromium`` and ``chromium-driver``. Where they are missing the tests skip, and say so; they fail instead
where ``CI`` is set, or ``HOLEWRIGHT_BROWSER=required``.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.support.ui import WebDriverWait

from tests.conftest import do_without
from toolpaths.simulation.page import page

WIDE, NARROW = (1280, 800), (360, 740)


def missing() -> str:
    """What of the browser is not on the path, in words; empty where all is."""
    gone = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    return f"not on the path: {', '.join(gone)} (Debian packages chromium and chromium-driver)" if gone else ""


def start(profile: Path, size: tuple[int, int] = WIDE) -> webdriver.Chrome:
    """A browser whose page is exactly ``size`` pixels, with a profile of its own and no way to the network."""
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
        "--disable-sync", "--no-first-run", f"--user-data-dir={profile}",
    ):  # fmt: skip
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    resize(driver, size)
    return driver


def resize(driver: webdriver.Chrome, size: tuple[int, int]) -> None:
    """Makes the page ``size`` pixels, one pixel of the device to one of the style sheet."""
    metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    """One browser for all tests of the page."""
    if gone := missing():
        do_without(gone)
    driver = start(tmp_path_factory.mktemp("profile"))
    yield driver
    driver.quit()


class Player:
    """A page in the browser, by its hook ``window.replay``."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver

    def run(self, script: str, *values: Any) -> Any:
        """The value of a script in the page."""
        return self.driver.execute_script(script, *values)

    @property
    def time(self) -> float:
        """The moment shown, s."""
        return float(self.run("return replay.time"))

    def until(self, condition: str, seconds: float = 20) -> None:
        """Waits until an expression of the page holds."""
        WebDriverWait(self.driver, seconds, poll_frequency=0.05).until(lambda _: self.run(f"return {condition}"))

    def at(self, seconds: float) -> None:
        """Goes to a moment and waits until all that was cut by then is painted."""
        self.run("replay.setTime(arguments[0])", seconds)
        self.until("replay.stats.behind === 0")

    def text(self, selector: str) -> str:
        """What an element says."""
        return str(self.run("return document.querySelector(arguments[0]).textContent", selector))

    def errors(self) -> list[str]:
        """What the console has said since the last question that is worse than a hint."""
        return [entry["message"] for entry in self.driver.get_log("browser") if entry["level"] in ("SEVERE", "WARNING")]


@pytest.fixture
def open_page(browser: webdriver.Chrome, tmp_path: Path) -> Iterator[Callable[..., Player]]:
    """Opens the page of a replay at a size; when the test ends the console must have been silent."""

    def opened(data: dict[str, Any], size: tuple[int, int] = WIDE) -> Player:
        (tmp_path / "simulation.html").write_text(page(data), encoding="utf-8")
        resize(browser, size)
        browser.get((tmp_path / "simulation.html").as_uri())
        return Player(browser)

    yield opened
    assert Player(browser).errors() == []

"""The picture of the playback page that README shows, made anew from the sample.

Run it by hand after the page has changed: ``python -m tests.simulation.screenshot``. It builds the headphone amplifier
for the bench mill, opens its page in chromium, and takes the picture in the middle of the top plate.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.simulation.conftest import start
from toolpaths import pipeline
from toolpaths.job.load import read_job

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
PICTURE = SAMPLES / "headphone_amplifier_playback.png"
SHARE = 0.72
"""Of the way through the first setup: several cutters have been, and the large cutout is still to come."""


def main() -> None:
    made = pipeline.make(read_job(SAMPLES / "headphone_amplifier.toml", machine="bench mill"))
    (page,) = [file for file in made.files if file.path == "simulation.html"]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / page.path
        file.write_bytes(page.content)
        driver = start(Path(folder) / "profile")
        try:
            driver.get(file.as_uri())
            driver.execute_script("window.replay.setTime(arguments[0])", SHARE * made.timed[0].line.seconds)
            driver.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
            PICTURE.write_bytes(driver.get_screenshot_as_png())
        finally:
            driver.quit()


if __name__ == "__main__":
    main()

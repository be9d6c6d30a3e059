"""Makes the small pictures of the README from the demo class: ``python -m tests.browser.screenshots``.

They show what one gets: the class report, a feedback page, a transmission as solid bodies. Run it again where a page's look
has changed, look at what it made, and commit it.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from gearkit.cli.main import main as gearkit
from graders.cli.main import main as graders
from graders.demo import college
from tests.support import chromium

PICTURES = Path(__file__).parents[2] / "lessons" / "instructor" / "pictures"
SIZE = {"width": 900, "height": 620}
WIDTH, COLOURS = 600, 64


def main() -> int:
    """Play the demo in a folder of its own, and take the pictures."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        demo = Path(folder) / "demo"
        if graders(["demo", "-o", str(demo)]) or gearkit(
            ["draw", "Q36", "--what", "cutaway", "--range", "2", "-o", f"{folder}/cutaway.html"]
        ):
            return 1
        course = demo / college.COURSE
        report = next(course.glob("reports/*/class_report.html"))
        browser = play.chromium.launch(executable_path=chromium.path(), args=["--no-sandbox", "--enable-unsafe-swiftshader"])
        page = browser.new_page(viewport=SIZE, color_scheme="light")
        take(page, report, "class_report", "#again")
        take(page, next(course.glob("feedback/fe04/*/*.html")), "feedback")
        take(page, Path(folder) / "cutaway.html", "cutaway")
        browser.close()
    return 0


def take(page: Page, path: Path, name: str, place: str = "") -> None:
    """Take a picture of what stands at the top of a page, or from a place in it on, and keep it small."""
    page.goto(path.resolve().as_uri() + place)
    page.wait_for_timeout(1000)
    with Image.open(io.BytesIO(page.screenshot())) as shot:
        small = shot.convert("RGB").resize((WIDTH, WIDTH * shot.height // shot.width), Image.Resampling.LANCZOS)
        small.quantize(COLOURS).save(PICTURES / f"{name}.png", optimize=True)
    print(f"{name}.png: {(PICTURES / f'{name}.png').stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    sys.exit(main())

"""What a panel says on the screen is in the reader's language: no word and no decimal point goes round the catalogue there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.record import RECORD_VARIABLE
from gearkit.train import catalogue
from gearkit.words.say import speaking
from tests.browser import host
from tests.lesson.test_panels_in_another_language import PANELS, SAME, names, predict
from tests.support.amounts import SHORT
from tests.support.pseudo import Pseudo, escaped, seen_in

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SHOWN = {
    **PANELS,
    "layout Q24 put together": lambda lesson: lesson.build_layout("Q24"),
    "two modes": lambda lesson: lesson.explore_about("split", "compound_split_two_sets"),
}
SOME = ["explore assembly", "task freedoms", "layout Q24 put together"] if SHORT else list(SHOWN)
# Words that the makers of layouts chose stay, at the start of a sentence too.
LAYOUTS = {entry.layout.name for entry in catalogue.entries()}
GIVEN = {"Front", "Rear", *re.findall(r"[A-Za-z]+", catalogue.find("compound_split_two_sets").name), *["my", "layout", "toml"]}
# Pairs of letters that stand for teeth, and what a browser says by itself.
_SHORT = {"sin", "EV"}


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with host.blank_page() as opened:
        yield opened


@pytest.fixture(scope="module")
def language() -> Pseudo:
    return Pseudo()


@pytest.mark.parametrize("name", SOME)
def test_every_word_that_the_browser_shows_comes_from_the_catalogue(
    page: Page, language: Pseudo, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python had sent labels that no JavaScript read, and JavaScript put sentences together of English pieces."""
    monkeypatch.setenv(RECORD_VARIABLE, str(tmp_path / "record.json"))
    with speaking(language), host.show(page, SHOWN[name](open_lesson("06"))) as desk:
        desk.settle()
        assert desk.troubles == []
        texts = seen_in(page.locator("#place").inner_html())
        if predict(desk.panel):
            desk.settle()
            texts += seen_in(page.locator("#place").inner_html())
    assert len(texts) > 1
    assert escaped([text for text in texts if text not in LAYOUTS], SAME | _SHORT | GIVEN | names()) == []

"""The page for the projector: nothing is told before the class has guessed, and the right guess is the solver's."""

from __future__ import annotations

import json
import re
from base64 import b64decode
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from gearkit.cli.main import main
from gearkit.site.class_page import DIRECT, GUESSES, NOTHING, OVERDRIVE, REDUCTION, REVERSE, class_page, guess_of
from gearkit.solve.one_way import working
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import speaking_language
from tests.browser import lab
from tests.draw.pictures import chain


def data_in(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="gk-stored">(.*?)</script>', page, re.DOTALL)
    assert found
    held: dict[str, Any] = json.loads(found[1])
    return held


@pytest.mark.parametrize(
    ("ratio", "guess"),
    [("7/2", REDUCTION), ("1", DIRECT), ("13/19", OVERDRIVE), ("-1/3", REVERSE), ("-5", REVERSE), (None, NOTHING)],
)
def test_the_right_guess_follows_from_the_ratio(ratio: str | None, guess: str) -> None:
    assert guess_of(None if ratio is None else Fraction(ratio)) == guess


@pytest.mark.parametrize("name", ["Q24", "Q36", "pair_two_suns", "bench_set"])
def test_each_range_is_a_question_with_the_solvers_answer(name: str) -> None:
    layout = find(name)
    held = data_in(class_page(layout))
    assert [question["range"] for question in held["questions"]] == [row.name for row in layout.ranges]
    for question in held["questions"]:
        ratio = working(layout, layout.engaged_in(question["range"])).ratio
        assert question["right"] == guess_of(ratio)
        assert question["engaged"] == list(layout.engaged_in(question["range"]))
        assert question["picture"]["words"]
    assert set(held["guesses"]) == set(GUESSES)


def test_what_stands_on_the_wall_before_the_guess_holds_no_ratio() -> None:
    held = data_in(class_page(find("Q36")))
    assert "4.068" not in held["look"]["words"]
    assert "ratio" not in held["look"]["words"].lower()


def test_a_layout_without_questions_is_told_why() -> None:
    with pytest.raises(UsageError, match="it has machines or several outputs"):
        class_page(find("bevel_differential"))


def test_the_command_writes_one_file_that_asks_for_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["class", "Q24", "-o", str(tmp_path / "new" / "class.html")]) == 0
    assert "F11" in capsys.readouterr().out
    text = (tmp_path / "new" / "class.html").read_text(encoding="utf-8")
    assert not re.search(r'(?:src|href)="(?!data:)', text)
    assert main(["class", "Q24", "-o", str(tmp_path / "class.pdf")]) == 2
    assert "ends in .html" in capsys.readouterr().err


_LETTERS_ON_THE_WALL = """image => {
  const svg = new TextDecoder().decode(Uint8Array.from(atob(image.src.split(",")[1]), one => one.charCodeAt(0)));
  const [, width, height] = svg.match(/viewBox="0 0 ([0-9.]+) ([0-9.]+)"/).map(Number);
  const room = image.getBoundingClientRect(), scale = Math.min(room.width / width, room.height / height);
  return [...svg.matchAll(/font-size="([0-9.]+)"/g)].map(([, size]) => Number(size) * scale);
}"""
_SEEN_WHOLE = "all => all.every(one => { const box = one.getBoundingClientRect(); return box.height && box.top >= 0 && box.bottom <= innerHeight && box.right <= innerWidth; })"


@pytest.mark.browser
@pytest.mark.parametrize(("name", "language"), [("Q36", "en"), ("Q48", "en"), ("Q48", "de"), ("pair_two_suns", "en")])
@pytest.mark.parametrize(("width", "height"), [(1366, 768), (1920, 1080)])
def test_the_last_row_reads_the_picture_beside_the_question(
    name: str, language: str, width: int, height: int, tmp_path: Path
) -> None:
    with speaking_language(language):
        (tmp_path / "class.html").write_text(class_page(find(name)), encoding="utf-8")
    with lab.browser_page(width, height, dark=True) as page:
        page.goto((tmp_path / "class.html").as_uri())
        for step in range(3):
            page.get_by_role("group").get_by_role("button").nth(step).click()
            if step == 1:
                for box in page.get_by_role("spinbutton").all():
                    box.fill("5")
            picture = page.get_by_role("img")
            picture.evaluate("image => image.decode()")
            sizes = picture.evaluate(_LETTERS_ON_THE_WALL)
            assert len(sizes) >= 5
            assert min(sizes) >= 18 * height / 768, (step, min(sizes))
            assert page.evaluate("[document.documentElement.scrollHeight, document.documentElement.scrollWidth]") == [
                height,
                width,
            ]
            assert page.locator("main :is(img, button, input, .ask, .found, table)").evaluate_all(_SEEN_WHOLE), step
        # The page is white, so its pictures are: a reader's dark setting makes no black block of them.
        assert all('data-page="light"' in drawn for drawn in _drawings(find(name)))


def _drawings(layout: Layout) -> list[str]:
    held = data_in(class_page(layout))
    pictures = [held["look"], *(question["picture"] for question in held["questions"])]
    return [b64decode(picture["address"].partition(",")[2]).decode() for picture in pictures]


def test_a_train_of_six_sets_is_drawn_with_letters_as_large_on_the_wall() -> None:
    for svg in _drawings(chain(6)):
        frame = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
        assert frame
        scale = min(870 / float(frame[1]), 590 / float(frame[2]))
        assert min(float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)) * scale >= 18


@pytest.mark.browser
def test_a_class_looks_guesses_and_sees(tmp_path: Path) -> None:
    (tmp_path / "class.html").write_text(class_page(find("Q36")), encoding="utf-8")
    with lab.browser_page(1366, 768) as page:
        page.goto((tmp_path / "class.html").as_uri())
        expect(page.get_by_text("Range 1: B and C applied.")).to_be_visible()
        assert "4.068" not in page.locator("main").inner_text()
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Next step").press("Enter")
        for label, hands in ((REDUCTION, "12"), (REVERSE, "5"), (NOTHING, "3"), (DIRECT, "-4"), (OVERDRIVE, "x2")):
            box = page.get_by_label(label)
            box.press("Control+a")
            box.press_sequentially(hands)
        expect(page.get_by_role("status")).to_have_text("22 hands")
        assert "4.068" not in page.locator("main").inner_text()
        page.get_by_role("button", name="Next step").press("Enter")
        expect(page.get_by_role("status")).to_have_text(f"{REDUCTION}. Ratio 4.068. 12 of 22 said so.")
        expect(page.get_by_text(f"✓ {REDUCTION}: 55 %")).to_be_visible()
        assert page.get_by_role("img").get_attribute("alt")
        page.get_by_role("button", name="Next range").press("Enter")
        expect(page.get_by_text("Range 2: A and C applied.")).to_be_visible()
        page.get_by_role("button", name="2 Guess").click()
        expect(page.get_by_role("status")).to_have_text("0 hands")
        page.reload()
        page.get_by_role("button", name="2 Guess").click()
        expect(page.get_by_role("status")).to_have_text("22 hands")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        sizes = page.locator("main :is(label, p, button)").evaluate_all(
            "nodes => nodes.map(n => parseFloat(getComputedStyle(n).fontSize))"
        )
        assert min(sizes) >= 24

"""A unit's folder: what is in it, what its page says, what its handout holds."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pypdf
import pytest

from gearkit.answers.offers import offered
from gearkit.cli.command import DONE
from gearkit.draw.cutaway import solid_placement
from gearkit.draw.stick import stick_search
from gearkit.draw.stick.placement import Placement
from gearkit.draw.stick.stick_nets import Nets
from gearkit.print import engine
from gearkit.print.setting import source_of
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError
from graders.cli.main import main
from graders.sheets import sheets
from graders.unit import handout, keeping, overview, unit
from graders.unit.facts import Facts
from tests.unit import language
from tests.unit.test_lesson import ALL

Q24 = catalogue.find("Q24")


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.links: list[str] = []
        self._inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("style", "svg", "code"):
            self._inside.append(tag)
        self.links += [value for name, value in attrs if name == "href" and value and not value.startswith("#")]

    def handle_endtag(self, tag: str) -> None:
        if self._inside and self._inside[-1] == tag:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if not self._inside and data.strip():
            self.words.append(data.strip())


def read(page: str) -> _Words:
    parser = _Words()
    parser.feed(page)
    return parser


def test_a_unit_holds_everything_and_its_page_leads_to_all_of_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["unit", "Q24", "-o", str(tmp_path / "unit"), "--json"]) == DONE
    said = json.loads(capsys.readouterr().out)
    there = {path.name for path in (tmp_path / "unit").iterdir()}
    assert {Path(one["file"]).name for one in said["files"]} == there
    assert {unit.LAYOUT, unit.LESSON, unit.SHEET, unit.PRACTICE, unit.HANDOUT, unit.OVERVIEW, unit.GLOSSARY} == there
    page = (tmp_path / "unit" / unit.OVERVIEW).read_text("utf-8")
    assert set(read(page).links) == there - {unit.OVERVIEW}
    assert f"{said['minutes']}" in read(page).words


def test_practice_and_lesson_have_other_exercises_than_the_graded_sheet_and_no_key_is_stored(tmp_path: Path) -> None:
    unit.make(Q24, tmp_path)
    graded, practice = sheets.read(tmp_path / unit.SHEET), sheets.read(tmp_path / unit.PRACTICE)
    assert (graded.kind, practice.kind) == ("graded", "practice")
    assert len(graded.items) >= 10
    assert len(practice.items) >= 10
    assert len({entry.item.kind for entry in graded.items}) >= 6
    assert not set(graded.item_ids) & set(practice.item_ids)
    lesson = (tmp_path / unit.LESSON).read_text("utf-8")
    asked = set(re.findall(r'lesson\.exercise\(\\"([^"\\]+)', lesson))
    assert len(asked) >= 8
    assert not asked & set(graded.item_ids)
    assert asked <= {offer.id for offer in offered(Q24)}
    for name in (unit.SHEET, unit.PRACTICE):
        text = (tmp_path / name).read_text("utf-8").partition("[[item]]")[2]
        assert set(re.findall(r"^(\w+) =", text, re.MULTILINE)) == {"id", "marks"}


def test_sheets_of_a_small_layout_repeat_its_items_with_other_numbers(tmp_path: Path) -> None:
    unit.make(catalogue.find("bench_set"), tmp_path)
    practice = sheets.read(tmp_path / unit.PRACTICE)
    assert practice.items


def test_the_handout_holds_the_derivation_and_tables_to_fill_in_and_no_answers(tmp_path: Path) -> None:
    unit.make(Q24, tmp_path)
    pages = pypdf.PdfReader(tmp_path / unit.HANDOUT).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert 2 <= len(pages) <= 6
    for wanted in (
        "What is on which shaft",
        "By hand: range 1",
        "2.72",
        "predict, then reveal",
        "Torque, for 150",
        "Shifts",
        "When one element fails",
    ):
        assert wanted in text, wanted
    for answer in ("1.4526", "1.453", "0.7368", "0.737", "2.8"):
        assert answer not in text, answer


@pytest.mark.parametrize("layout", ALL[::3], ids=lambda layout: layout.name[:20])
def test_handout_and_page_of_any_layout_are_in_good_english(layout: catalogue.Layout) -> None:
    facts = Facts(layout, unit.LAYOUT)
    page = overview.html(facts, [overview.Part(unit.LESSON, "the lesson", 120)], [("ratios", 3, 12)])
    assert list(language.troubles(read(page).words)) == []
    assert '<body class="wide"' in page
    # A wide picture scrolls within the column, by the keyboard too, instead of making the page wide.
    scrolls = r'<figure class="picture scroll" tabindex="0" role="region" aria-label="[^"]+"><svg'
    assert len(re.findall("<figure", page)) == len(re.findall(scrolls, page)) == 2
    assert re.search(r"\.scroll \{[^}]*overflow-x: auto", page)
    source = source_of([handout.document(facts)])
    assert source.count("heading(") >= 3
    assert "None" not in source


def test_what_a_layout_lacks_is_told() -> None:
    lacks = list(overview.more(Facts(catalogue.find("bench_set"), unit.LAYOUT)))
    assert any(one.startswith("A range that drives backward") for one in lacks) != bool(
        Facts(catalogue.find("bench_set"), unit.LAYOUT).reverses
    )
    assert any(one.startswith("A second set") for one in lacks)
    assert not any("one-way" in one for one in overview.more(Facts(Q24, unit.LAYOUT)))


def test_without_the_print_engine_the_lesson_alone_can_still_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    with pytest.raises(GearkitError, match=f"gearkit.{engine.EXTRA}"):
        unit.make(Q24, tmp_path / "whole")
    assert not (tmp_path / "whole").exists()
    assert unit.make(Q24, tmp_path / "lesson", only_lesson=True).minutes > 0


def test_words_of_the_glossary_are_explained_in_a_units_lesson_and_lead_to_the_glossary_beside_it(tmp_path: Path) -> None:
    unit.make(catalogue.find("Q24"), tmp_path)
    lesson = "".join("".join(cell["source"]) for cell in json.loads((tmp_path / unit.LESSON).read_text("utf-8"))["cells"])
    led = re.findall(r'\]\(glossary\.ipynb#([^ )]+) "([^"]+)"\)', lesson)
    assert len(led) > 10
    held = "\n".join("".join(cell["source"]) for cell in json.loads((tmp_path / unit.GLOSSARY).read_text("utf-8"))["cells"])
    headings = {found.replace(" ", "-") for found in re.findall(r"^## (.+)$", held, re.MULTILINE)}
    assert {section for section, _ in led} <= headings
    assert not keeping.is_edited(tmp_path / unit.LESSON)
    assert not keeping.is_edited(tmp_path / unit.GLOSSARY)


def test_a_unit_searches_little_for_solid_bodies_never_in_vain_and_says_where_more_may_find_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, value in (("FOR_FEW", (1, 0, 0)), ("START_STEPS", 40)):
        monkeypatch.setattr(stick_search, name, value)
    monkeypatch.setattr(solid_placement, "FEW_TRIALS", 100)
    seeds: list[int] = []
    found = solid_placement._clear_or_refused

    def noted(layout: Layout, nets: Nets, seed: int, *, any_clear: bool) -> Placement:
        seeds.append(seed)
        return found(layout, nets, seed, any_clear=any_clear)

    monkeypatch.setattr(solid_placement, "_clear_or_refused", noted)
    four_sets, impossible = (tmp_path / f"{name}.toml" for name in ("Q48", "bench_set"))
    for path in (four_sets, impossible):
        catalogue.write(replace(catalogue.find(path.stem), placement=None, text=""), path)
    for path, searched, told in ((four_sets, [1, 2], True), (impossible, [], False)):
        assert main(["unit", str(path), "-o", str(tmp_path / path.stem), "--only", "lesson"]) == DONE
        assert seeds == searched
        assert ("gearkit place" in capsys.readouterr().out) is told
        seeds.clear()
    # Whoever asks for the places alone gets the whole search.
    with pytest.raises(solid_placement.NotSolidError, match="The best of 6 arrangements"):
        solid_placement.solid_placement(catalogue.read(four_sets))
    assert seeds == [*range(1, solid_placement.SEARCHES + 1)]

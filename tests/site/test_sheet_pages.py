"""Sheets as pages: nothing in them but what was handed out, nobody can find another's, and the same answers earn the same marks."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.cli.main import main
from gearkit.site import course_site, page, sheet_pages
from gearkit.words.errors import UsageError
from graders.mark import batch
from graders.take_in import take_in
from tests.graders.classroom import CLASS, NINE_OF_LESSON_3, Classroom, call, right, wrong
from tests.lesson import javascript
from tests.support.amounts import SHORT


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    return Classroom(tmp_path_factory.mktemp("class"), "L03-01, L03-02, L03-24")


@pytest.fixture
def site(room: Classroom, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setattr(course_site, "LESSONS", {})
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = tmp_path / "our_course"
    assert main(["site", "-o", str(folder), "--sheets", str(room.course.folder)]) == 0
    return folder


def test_a_sheets_page_lies_under_a_name_that_stands_in_no_file_of_the_site(site: Path) -> None:
    names = [path.name for path in (site / "sheets").glob("*.html") if path.name != "index.html"]
    assert len(names) == len(CLASS.learners)
    assert all(re.fullmatch(r"[\w-]{24}\.html", name) for name in names)
    for path in site.rglob("*"):
        if path.is_file():
            text = path.read_bytes().decode("utf-8", "replace")
            assert not any(name in text for name in names), path


def test_a_page_names_its_own_learner_alone_and_holds_no_secret_no_key_and_no_hint(room: Classroom, site: Path) -> None:
    secret = room.course.secret()
    listed = sheet_pages.Addresses((site.parent / "our_course_sheets.csv").read_text())
    for copy in sheet_pages.copies_in(room.course.folder):
        text = (site / listed.of(copy)).read_text(encoding="utf-8")
        others = [one for one in CLASS.learners if one.id != copy.learner]
        assert not [one for one in others if one.name in text or f"{one.id}_" in text or f'"{one.id}"' in text]
        for variant in room.variants(copy.learner).values():
            assert not any(hint in text for hint in variant.item.hints)
            assert not any(known.sentence and known.sentence in text for known in variant.item.all_named_mistakes)
    for path in site.rglob("*"):
        if path.is_file():
            assert secret not in path.read_bytes()
            assert path.suffix != ".html" or b"1 + R/S" not in path.read_bytes()


def test_addresses_stay_when_the_site_is_made_again(room: Classroom, site: Path) -> None:
    before = (site.parent / "our_course_sheets.csv").read_text()
    assert main(["site", "-o", str(site), "--sheets", str(room.course.folder)]) == 0
    assert (site.parent / "our_course_sheets.csv").read_text() == before
    assert (site.parent / "our_course_sheets.csv").stat().st_mode & 0o077 == 0
    # Without the course, its sheets leave the site.
    assert main(["site", "-o", str(site)]) == 0
    assert not list((site / "sheets").glob("*.html"))


def test_only_copies_as_they_were_handed_out_go_into_a_site(room: Classroom, tmp_path: Path) -> None:
    (tmp_path / "s1.ipynb").write_text(json.dumps(room.copy("s1", right)))
    with pytest.raises(UsageError, match="L03-01 is answered already"):
        sheet_pages.copies_in(tmp_path)
    (tmp_path / "s1.ipynb").write_text('{"cells": []}')
    with pytest.raises(UsageError, match="holds no sheet that was handed out"):
        sheet_pages.copies_in(tmp_path)


def test_each_part_of_an_answer_has_a_box_with_its_words_and_pictures_keep_theirs(room: Classroom) -> None:
    (copy,) = (copy for copy in sheet_pages.copies_in(room.course.folder) if copy.learner == "s1")
    html, _ = sheet_pages.page_of(copy)
    for variant in room.variants("s1").values():
        form = re.findall(rf'data-item="{variant.item.id}">(.*?)</fieldset>', html)[0]
        assert re.findall(r'name="(\w+)"', form) == [part.name for part in variant.parts]
    assert "Run the next cell" not in html
    assert re.findall(r'<label>sun in, ring held, carrier out <input type="text" name="S_R_C"', html)
    assert len(re.findall(r'<img alt="[^"]{20,}" src="data:image/svg\+xml;base64,', html)) >= 4
    # What a learner may be called, or a task say, is text and no part of the page.
    assert "<script" not in html


def saved_by_the_page(copy: sheet_pages.Copy, given: Mapping[str, Mapping[str, str]]) -> bytes:
    """What the page's button saves after these answers were written."""
    _, stored = sheet_pages.page_of(copy)
    body = "return module_sheet_page.answered(payload[0], payload[1]);"
    book: dict[str, Any] = javascript.run(["sheet_page"], body, [stored["notebook"], given], page.STATIC)
    return json.dumps(book, ensure_ascii=False).encode()


# What a browser makes of the name of a second download, or of a notebook that it takes for something else.
NAMES = ("{}.ipynb", "{} (1).ipynb", "{}.ipynb.json", "{}.ipynb.txt", "{}.json")


@pytest.mark.parametrize("name", NAMES[:3] if SHORT else NAMES)
def test_a_page_and_a_notebook_with_the_same_answers_earn_the_same_marks(name: str, tmp_path: Path) -> None:
    room = Classroom(tmp_path, NINE_OF_LESSON_3)
    odd = {"L03-02": {"answer": 'say "1 + R/S" \\ \n\u2028'}, "L03-05": {"answer": "½ ≈ 0,5 𝛼"}}
    incoming = tmp_path / "in"
    incoming.mkdir()
    for copy in sheet_pages.copies_in(room.course.folder):
        variants = room.variants(copy.learner)
        given = {item: marking.right_answer(variant) for item, variant in variants.items()}
        if copy.learner == "s2":
            given = {item: marking.wrong_texts(one, one.key.wrong_forms[0]) for item, one in variants.items()}
        if copy.learner == "s3":
            given = odd
        (incoming / name.format(copy.file_name.removesuffix(".ipynb"))).write_bytes(saved_by_the_page(copy, given))
    taken = take_in.take_in(room.course, "A1", incoming, CLASS)
    assert taken.taken == ("s1", "s2", "s3")
    paged = batch.mark_sheet(room.course, room.sheet, workers=1)

    def oddly(variant: Variant) -> str:
        return call(variant.item.id, odd.get(variant.item.id, {"answer": ""}))

    for learner, write in (("s1", right), ("s2", wrong), ("s3", oddly)):
        room.hand_in(learner, room.copy(learner, write))
    written = batch.mark_sheet(room.course, room.sheet, workers=1)
    for one, other in zip(paged.learners, written.learners, strict=True):
        assert [(item.item, item.score, item.verdict, item.mistakes) for item in one.items] == [
            (item.item, item.score, item.verdict, item.mistakes) for item in other.items
        ]
    assert paged.learners[0].score == paged.learners[0].max
    assert paged.learners[1].score < paged.learners[0].score
    assert all("ran" not in flag for learner in paged.learners for flag in learner.flags)

"""Names, titles, notes and what learners write are shown as words wherever a page is made of Markdown, never as its markup."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from nbconvert.filters.markdown import markdown2html

from gearkit.text.markdown import as_words, without_markup
from graders.book import gradebook
from graders.book.marks_in_gradebook import comment_for
from graders.book.record import ItemMark
from graders.cli.main import main
from graders.course.roster import Learner, Roster
from graders.hand_out import hand_out
from graders.hand_out.hand_out import never_told, odd_sheets
from graders.mark import batch
from graders.sheets import sheets
from tests.graders.classroom import Classroom, call, right

WICKED = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "[here](javascript:alert(1))",
    "**Ann** _Lee_ `x`",
    "# Ann",
    "![x](https://example.org/x.png)",
    "$\\href{javascript:alert(1)}{x}$",
    "<!-- gone",
    "a\n\n# b",
    "&lt;b&gt;",
)
_TAGS = ("<script", "<img", 'href="javascript', "<strong", "<em", "<code", "<!--", "<h2")
_HARMFUL = _TAGS[:3]


@pytest.mark.parametrize("text", WICKED)
def test_a_page_made_from_markdown_shows_the_words_themselves(text: str) -> None:
    page = markdown2html(f"**{as_words(text)}** (s1). More.").replace("<strong>", "", 1)
    assert not [tag for tag in _TAGS if tag in page]


@pytest.mark.parametrize("name", ["Ann Lee", "Ødegård, Kåre", "Siobhán O’Neil-Day", "Dr. J. (Jo) Öz", "O'Neil"])
def test_an_ordinary_name_stays_as_it_is(name: str) -> None:
    assert as_words(name) == name


@pytest.mark.parametrize("text", WICKED[:3])
def test_the_copy_and_the_marked_copy_show_name_title_and_note_as_words(tmp_path: Path, text: str) -> None:
    room = Classroom(tmp_path, "L03-02", roster=Roster((Learner("s1", text.replace(chr(10), " ")),)))
    sheet = replace(room.sheet, name="B1", title=text, note=text)
    hand_out.hand_out(room.course, sheet, Roster((Learner("s1", text),)))
    room.sheet = sheet
    room.hand_in("s1", room.copy("s1", right))
    batch.mark_sheet(room.course, sheet, workers=1)
    for path in (room.course.handed_out_file("s1", "B1"), room.course.autograded_file("s1", "B1")):
        head = json.loads(path.read_text(encoding="utf-8"))["cells"][0]["source"]
        page = markdown2html(head)
        assert "alert(1)" in page
        assert not [tag for tag in _HARMFUL if tag in page]
    assert never_told(room.course, sheet, Roster((Learner("s1", text),))) == ()


@pytest.mark.parametrize("text", WICKED[:3])
def test_a_comment_that_quotes_a_learner_is_no_markup_in_the_gradebook(tmp_path: Path, text: str) -> None:
    mark = ItemMark("L03-02", 0.0, 2.0, "unreadable", comment=f"“{text}” is not one of the choices.", read_as={"answer": text})
    page = markdown2html(comment_for(mark))
    assert not [tag for tag in _HARMFUL if tag in page]
    room = Classroom(tmp_path, "L03-04")
    room.hand_in("s1", room.copy("s1", lambda variant: call(variant.item.id, {part.name: text for part in variant.parts})))
    batch.mark_sheet(room.course, room.sheet, workers=1)
    with gradebook.opened(room.course) as book:
        said = [comment.auto_comment for one in book.find_submission("A1", "s1").notebooks for comment in one.comments]
    assert any(said)
    assert not [one for one in said if one and [tag for tag in _HARMFUL if tag in markdown2html(one)]]


def test_a_comment_without_markup_is_left_as_it_is() -> None:
    plain = "Not right: 3 < 4, and R/S > 1. (Read as: (R + S)/S)"
    assert without_markup(plain) == plain


def test_everything_odd_in_the_folder_of_sheets_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    room = Classroom(tmp_path, "L03-02")
    room.hand_in("s1", room.copy("s1", right))
    folder = room.course.folder / "sheets"
    assert odd_sheets(room.course) == ()
    (folder / "A2.toml").write_text("name = ", encoding="utf-8")
    (folder / "A3.toml").write_bytes(b"\xff\xfe")
    (folder / "A4.toml").mkdir()
    (folder / "week5.txt").write_text("x", encoding="utf-8")
    sheets.write(replace(room.sheet, name="A6"), folder / "copy of A6.toml")
    (folder / "A7.toml").write_text((folder / "A1.toml").read_text().replace("L03-02", "L99-99").replace('"A1"', '"A7"'))
    names = ("A2.toml", "A3.toml", "A4.toml", "A7.toml", "copy of A6.toml", "week5.txt")
    for command in (["mark", str(room.course.folder), "A1"], ["report", str(room.course.folder), "A1"]):
        assert main(command) == 0
        captured = capsys.readouterr()
        told = captured.out + captured.err
        assert [name for name in names if f"{name} is not taken as a sheet: " in told] == list(names)
        assert "A1.toml is not taken" not in told

"""A lesson as one file: small enough for a mail, complete in itself, and without anybody's numbers or a solution in it."""

from __future__ import annotations

import base64
import json
import re
import zlib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from gearkit.cli.main import main
from gearkit.lesson.panels.figures import figure_of
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.site import page, prose
from gearkit.site.notebook_cells import cells_of
from gearkit.site.single_page import MOST_BYTES, notebook_of, single_page
from gearkit.words.errors import UsageError
from tests.lesson import javascript
from tests.support.amounts import SHORT

NUMBERS = ["03", "06"] if SHORT else list(LESSONS)


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return {number: single_page(number) for number in NUMBERS}


def stored(text: str) -> dict[str, Any]:
    kind, inside = re.findall(r'<script type="application/([\w-]+)" id="gk-stored">(.*?)</script>', text)[0]
    return dict(json.loads(inside if kind == "json" else zlib.decompress(base64.b64decode(inside), wbits=-15)))


@pytest.mark.parametrize("number", NUMBERS)
def test_a_lesson_is_one_file_of_at_most_300_kb_that_names_no_other_address(number: str, pages: dict[str, str]) -> None:
    text = pages[number]
    assert len(text.encode()) <= MOST_BYTES == 300_000
    addresses = set(re.findall(r"\w+://[^\s\\\"'<>)]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xhtml"}
    assert not re.findall(r"<(?:link|script|img|iframe)[^>]*\b(?:src|href)=\"(?!data:)", text)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_panel_that_needs_no_python_is_in_the_file_and_no_exercise_is(number: str, pages: dict[str, str]) -> None:
    panels = stored(pages[number])["panels"]
    asked = {cell.name for cell in cells_of(notebook_of(number)) if re.search(r"\.(explore|predict|cutaway)\w*\(", cell.source)}
    tasks = {cell.name for cell in cells_of(notebook_of(number)) if "predict_about(" in cell.source}
    assert set(panels) == asked - tasks
    assert {held["module"] for held in panels.values()}.isdisjoint({"exercise_panel", "task_panel"})
    assert all(f'id="{name}"' in pages[number] for name in panels)


@pytest.mark.parametrize("number", NUMBERS)
def test_no_words_stand_above_an_exercise_that_is_left_out(number: str, pages: dict[str, str]) -> None:
    gone = [cell for cell in cells_of(notebook_of(number)) if "exercise" in cell.tags and not cell.is_code]
    assert gone or number == "00"  # the first lesson has no exercises
    shown = [cell.name for cell in gone if f">{cell.source.splitlines()[0].lstrip('# ')}</h" in pages[number]]
    assert shown == []
    assert "The last line is yours" not in pages[number]
    assert not re.findall(r"<h(\d)>[^<]*</h\1>\s*(?=<h\1>|</main>)", pages[number])


def test_words_of_the_glossary_take_the_focus_where_no_glossary_is(pages: dict[str, str]) -> None:
    assert len(re.findall(r'<abbr tabindex="0" class="gk-word" title="[^"]+">', pages["03"])) > 8


def test_a_page_without_python_shows_no_power_path_and_no_story_that_it_could_not_change(pages: dict[str, str]) -> None:
    states = [held["state"] for held in stored(pages["06"])["panels"].values() if held["module"] == "layout_panel"]
    assert any(state["engaged"] for state in states)
    assert all(not state["story"] and "applied" not in state["drawing"].partition("</desc>")[0] for state in states)


def test_prose_keeps_headings_code_blocks_and_only_the_links_that_lead_somewhere() -> None:
    text = "# One\nTwo **bold**\n```\na < b\n```\nSee [the list](../glossary/glossary.ipynb), [else](https://example.com)."
    html = prose.to_html(text, lambda target: "glossary.html" if "glossary" in target else None)
    assert html.split("\n") == [
        "",
        "<h1>One</h1>",
        "<p>Two <strong>bold</strong></p>",
        "<pre><code>a &lt; b</code></pre>",
        '<p>See <a href="glossary.html">the list</a>, else.</p>',
    ]


def test_working_is_folded_into_its_first_line_as_in_the_notebook(pages: dict[str, str]) -> None:
    folded = [cell for cell in cells_of(notebook_of("03")) if cell.folded and "open" not in cell.tags]
    shown = re.findall(r'<details class="gk-working"><summary>(.*?)</summary><pre class="gk-code">', pages["03"])
    assert shown == [cell.source.split("\n")[0].removeprefix("# ") for cell in folded]
    assert len(shown) > 3
    assert not re.findall(r'(?<!</summary>)<pre class="gk-code">', pages["03"])


def test_nothing_that_a_page_holds_can_close_its_script() -> None:
    assert page.data_of({"words": "</script><b>"}).count("</script>") == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--single", "99", "-o", "x.html"], "There is no lesson '99'. Lessons: 00, 01"),
        (["--single", "03", "-o", "lesson.txt"], "a page has a name that ends in .html, such as lesson_03.html"),
    ],
)
def test_what_cannot_be_made_is_refused_with_the_next_thing_to_try(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["site", *words]) == 2
    assert said in capsys.readouterr().err


TYPED = [
    "7/4", " 1.75 ", "1,75", "-2", "−2", "+3", "19/6", "3.2:1", "0", "0.5/2", "12", "1,5/3", "1200 r/min", "-300 r/min",
    "1,234", "1.234", "7/0", "1:0", "", "abc", "4.6 reverse", "1e3", "1.2.3", "--2", "2 3/4", "½", "1/3/4", "9" * 40,
]  # fmt: skip


def test_a_page_without_python_reads_numbers_as_python_does_or_not_at_all() -> None:
    body = "return payload.map(([text, unit]) => module_plain_number.plainNumber(text, unit));"
    asked = [(text, unit) for text in TYPED for unit in ("", "r/min")]
    read = 0
    for (text, unit), got in zip(asked, javascript.run(["plain_number"], body, asked, page.STATIC), strict=True):
        if "figure" in got:
            read += 1
            assert Fraction(got["figure"]) == figure_of(text, unit), text
        else:
            assert "Write it as 7/4, 1.75 or -2." in got["trouble"]
    assert read == 28
    with pytest.raises(UsageError, match="two"):
        figure_of("1,234")


RECORD = """
const shelf = { held: new Map(Object.entries(payload)), getItem(name) { return this.held.get(name) ?? null; }, setItem(name, text) { this.held.set(name, text); } };
const record = new module_kept_record.KeptRecord(shelf, () => new Date("2026-03-04T05:06:07.089Z"));
"""


def in_the_browser(held: str | None, body: str) -> Any:
    """Run statements on a record that the browser keeps, and return what they do together with all that is kept."""
    payload = {} if held is None else {"gearkit/my_record.json": held}
    return javascript.run(
        ["kept_record"], f"{RECORD}{body}; return [record.notice, Object.fromEntries(shelf.held)];", payload, page.STATIC
    )


def test_the_browsers_record_is_the_same_file_as_the_notebooks(tmp_path: Path) -> None:
    path = tmp_path / "my_record.json"
    Record(path).add("hint", {"item": "L03-02", "number": 1, "words": "äöü ≠ x"})
    seed = Record(path).seed
    notice, shelf = in_the_browser(path.read_text(encoding="utf-8"), 'record.add("prediction", { lesson: "03" })')
    path.write_text(shelf["gearkit/my_record.json"], encoding="utf-8")
    back = Record(path)
    assert notice == ""
    assert back.take_notices() == []
    assert back.seed == seed
    assert [event["kind"] for event in back.events] == ["hint", "prediction"]
    assert back.events[0]["words"] == "äöü ≠ x"
    assert back.events[1]["at"] == "2026-03-04T05:06:07.089+00:00"


def test_a_damaged_record_in_the_browser_is_set_aside_and_what_can_be_read_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "my_record.json"
    for number in range(3):
        Record(path).add("hint", {"item": "L03-02", "number": number})
    seed, broken = Record(path).seed, path.read_text(encoding="utf-8")[:-30]
    notice, shelf = in_the_browser(broken, "record.read()")
    assert "2 entries that could still be read" in notice
    assert broken in shelf.values()
    path.write_text(shelf["gearkit/my_record.json"], encoding="utf-8")
    assert Record(path).seed == seed
    assert len(Record(path).events) == 2


def test_two_records_become_one_without_an_event_lost_or_doubled(tmp_path: Path) -> None:
    path = tmp_path / "my_record.json"
    Record(path).add("hint", {"item": "L03-02", "number": 1})
    text = path.read_text(encoding="utf-8")
    body = f'record.add("hint", {{ item: "L05-01", number: 1 }}); const news = [record.join({json.dumps(text)}), record.join({json.dumps(text)}), record.join("no record")]; record.notice = String(news)'
    news, shelf = in_the_browser(None, body)
    assert news == "1,0,"
    path.write_text(shelf["gearkit/my_record.json"], encoding="utf-8")
    assert sorted(str(event["item"]) for event in Record(path).events) == ["L03-02", "L05-01"]


def test_predictions_are_told_in_the_browser_in_the_words_of_the_notebook(tmp_path: Path) -> None:
    record = Record(tmp_path / "my_record.json")
    keeper = Predictions(record, "03", "one set")
    keeper.keep("sun in", {}, {"kind": "reverse reduction", "figure": "-13/6", "typed": "-2.17"})
    keeper.reveal("sun in", {"kind": "tie-up", "figure": ""})
    keeper.keep("ring in", {}, {"kind": "direct", "figure": "", "typed": ""})
    # An element may be called C-1: that is no number, and keeps its hyphen.
    keeper.keep("both in", {}, {"kind": "C-1 stuck off", "figure": "-2", "typed": ""})
    assert keeper.history()[-1].endswith("you said C-1 stuck off, −2")
    told, _ = in_the_browser(
        record.path.read_text(encoding="utf-8"), 'record.notice = record.history("03", "one set").join("|")'
    )
    assert told.split("|") == keeper.history()

"""Picking items by number, marks and kinds: the wish is met exactly, the lessons share it, and the same wish gives the same."""

from __future__ import annotations

import itertools
import re
from collections import Counter

import pytest

from gearkit.answers import items as bank
from gearkit.answers.item import Item
from gearkit.words.errors import UsageError
from graders.sheets import sheets, sources
from graders.sheets.picking import Pick, pick, told_by

FOUR = [item for lesson in (1, 2, 3, 4) for item in bank.of_lesson(lesson)]


def lessons(found: tuple[Item, ...]) -> Counter[str]:
    return Counter(item.id[:3] for item in found)


def test_twelve_items_of_thirty_marks_and_three_kinds_come_three_from_each_of_four_lessons() -> None:
    found = pick(FOUR, Pick(12, 30, 3), {})
    assert (len(found), sum(item.marks for item in found)) == (12, 30)
    assert len({item.kind for item in found}) >= 3
    assert set(lessons(found).values()) == {3}
    assert pick(FOUR, Pick(12, 30, 3), {}) == found


@pytest.mark.parametrize(
    "wish", [Pick(5, 13, 5), Pick(7, 0, 6), Pick(0, 20, 4), Pick(10, 33, 0), Pick(1, 6, 1), Pick(0, 0, 9)], ids=str
)
def test_every_wish_that_is_met_is_met_exactly_and_in_the_order_of_the_lessons(wish: Pick) -> None:
    found = pick(FOUR, wish, {})
    assert not wish.items or len(found) == wish.items
    assert not wish.marks or sum(item.marks for item in found) == wish.marks
    assert len({item.kind for item in found}) >= wish.kinds
    assert list(found) == [item for item in FOUR if item in found]


@pytest.mark.parametrize(("count", "kinds"), list(itertools.product(range(1, 5), range(1, 5))))
def test_a_wish_is_refused_only_where_no_choice_at_all_fulfils_it(count: int, kinds: int) -> None:
    pool = list(bank.of_lesson(3))
    for marks in range(1, 30):
        possible = any(
            sum(one.marks for one in some) == marks and len({one.kind for one in some}) >= kinds
            for some in itertools.combinations(pool, count)
        )
        try:
            pick(pool, Pick(count, marks, kinds), {})
            met = True
        except UsageError:
            met = False
        assert met == possible, marks


def test_a_wish_that_cannot_be_met_says_what_comes_nearest() -> None:
    # The four items of lesson 3 with most marks carry 6 + 3 + 3 + 3.
    with pytest.raises(UsageError, match=r"nearest marks below that are 15 and 14"):
        pick(bank.of_lesson(3), Pick(4, 30), {})
    with pytest.raises(UsageError, match=r"40 items cannot be picked from these 13 items; expected 1 to 13"):
        pick(bank.of_lesson(3), Pick(40), {})
    with pytest.raises(UsageError, match=r"12 kinds of answer cannot be picked"):
        pick(bank.of_lesson(3), Pick(12, 0, 12), {})


def test_telling_items_show_more_misconceptions_often_than_the_earliest_ones() -> None:
    found = pick(FOUR, Pick(12, telling=True), {})
    assert len(found) == 12
    assert list(found) == [item for item in FOUR if item in found]
    assert told_by(found)[0] >= told_by(pick(FOUR, Pick(12), {}))[0] + 2
    assert pick(FOUR, Pick(12, telling=True), {}) == found


@pytest.mark.parametrize("wish", [Pick(telling=True), Pick(12, 30, telling=True), Pick(12, 0, 3, True)], ids=str)
def test_telling_items_are_chosen_by_their_number_alone(wish: Pick) -> None:
    with pytest.raises(UsageError, match="give --items with --telling"):
        pick(FOUR, wish, {})


def test_the_command_says_how_many_misconceptions_a_telling_sheet_shows(tmp_path, capsys) -> None:
    from graders.cli.main import main

    assert main(["compose", "lessons 1-4", "--items", "12", "--telling", "-o", str(tmp_path / "tell.toml")]) == 0
    assert re.search(
        r"Picked to tell misconceptions apart: \d+ of them show on three items or more, \d+ on one or two\.",
        capsys.readouterr().out,
    )


def test_other_marks_count_before_items_are_picked() -> None:
    sheet = sheets.compose("lesson 3", "A1", marks={"L03-02": 20}, pick=Pick(2, 22))
    assert {entry.item.id: entry.marks for entry in sheet.items}["L03-02"] == 20
    assert sheet.marks == 22


@pytest.mark.parametrize(
    ("source", "first", "last", "count"),
    [
        ("lessons 2-3", "L02-01", "L03-24", 26),
        ("lessons 2 to 4", "L02-01", "L04-23", 42),
        (["lesson", "3", "Q24"], "L03-01", "X06-RATIOS", 15),
        ("Q24, Q36", "X06-RATIO-KINDS", "Y06-RATIOS", 4),
        (["Q24", "L03-02", "Q36"], "X06-RATIO-KINDS", "Y06-RATIOS", 5),
    ],
)
def test_lessons_items_and_layouts_can_be_named_together(source: str | list[str], first: str, last: str, count: int) -> None:
    found = sources.read(source, [f"{letter}06-RATIO{name}" for letter in "XY" for name in ("S", "-KINDS")])
    assert (found.items[0].id, found.items[-1].id, len(found.items)) == (first, last, count)


def test_a_layout_or_a_range_of_lessons_that_cannot_be_meant_is_refused() -> None:
    with pytest.raises(UsageError, match="A layout is named twice"):
        sources.read("Q24, Q24", ("ratio",))
    with pytest.raises(UsageError, match="the second number has to be the larger one"):
        sources.read("lessons 4-2", ("ratio",))


def test_a_sheet_with_more_layouts_than_fit_or_with_something_else_for_one_says_so(tmp_path) -> None:
    path = tmp_path / "A1.toml"
    path.write_text('format = 1\nname = "A1"\nlayouts = [' + '"x", ' * 10 + '3]\n[[item]]\nid = "L03-02"\n')
    with pytest.raises(UsageError, match="at most 10 can stand on a sheet") as caught:
        sheets.read(path)
    assert "layouts, number 10: layout, line 1" in str(caught.value)


def test_each_of_several_layouts_is_told_and_drawn_with_the_learners_own_tooth_counts(tmp_path) -> None:
    from tests.graders.classroom import Classroom
    from tests.graders.test_sheets import pictures_in

    room = Classroom(tmp_path, source="Q24, Q36")
    book, drawn = room.copy("s1"), room.variants("s1")
    tasks = {
        cell["metadata"]["gearkit"]["task"]: cell["source"] for cell in book["cells"] if cell["metadata"]["gearkit"].get("task")
    }
    for letter, name in (("X", "Q24"), ("Y", "Q36")):
        mine = [text for item, text in tasks.items() if item.startswith(letter)]
        assert [f"**Quillbrook {name}:" in text for text in mine] == [True] + [False] * (len(mine) - 1)
        first = re.match(r"### (\d+)\.", mine[0]).group(1)
        assert all(f"*The transmission: see task {first}" in text for text in mine[1:])
    pictures = pictures_in(book)
    assert len(pictures) == 2
    for (_, picture), item in zip(pictures, "XY", strict=True):
        for symbol, value in next(one for name, one in drawn.items() if name.startswith(item)).values.items():
            assert symbol[0] not in "SR" or ("sun: " if symbol.startswith("S") else "ring: ") + str(value) in picture
    sheets.write(room.sheet, tmp_path / "A1.toml")
    assert sheets.read(tmp_path / "A1.toml") == room.sheet


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--items", "0", "--items 0: expected a whole number from 1"),
        ("--types", "0", "--types 0: expected a whole number from 1"),
        ("--total-marks", "-3", "--total-marks -3: expected a whole number from 1"),
        ("--attempts", "0", "--attempts 0: expected a whole number from 1"),
        ("--minutes", "0", "--minutes 0: expected a whole number from 1"),
        ("--ask", "moons", "--ask 'moons' chooses what is asked about a layout, and none of the sources is one"),
        ("--ask", "chart", "--ask 'chart' chooses what is asked about a layout, and none of the sources is one"),
    ],
)
def test_an_option_that_would_do_nothing_is_refused_and_no_sheet_is_written(tmp_path, capsys, option, value, words) -> None:
    from graders.cli.main import main

    assert main(["compose", "lesson 3", option, value, "-o", str(tmp_path / "a.toml")]) == 2
    assert words in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_number_that_is_none_is_refused_without_words_of_programming(tmp_path, capsys) -> None:
    from graders.cli.main import main

    with pytest.raises(SystemExit, match="2"):
        main(["compose", "lesson 3", "--items", "few", "-o", str(tmp_path / "a.toml")])
    assert "argument --items: found 'few', expected a whole number" in capsys.readouterr().err


def test_lessons_from_one_to_the_same_are_that_lesson() -> None:
    assert sources.read("lessons 3-3", ()).items == bank.of_lesson(3)

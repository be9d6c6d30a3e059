"""Choosing from the bank by subject, level, time and blueprint; picks spread over lessons and kinds of answer."""

from __future__ import annotations

import itertools
import json
from collections import Counter
from fractions import Fraction

import pytest

from gearkit.answers import items as bank
from gearkit.answers.listing import LEVELS, of_a_layout, of_the_bank
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.cli.main import main
from graders.report.figures import item_history
from graders.report.figures.item_history import History
from graders.sheets import blueprint, sheets
from graders.sheets.blueprint import Part
from graders.sheets.picking import Pick, pick
from tests.graders.classroom import NINE_OF_LESSON_3, Classroom, right

LISTED = {entry.id: entry for entry in of_the_bank()}
ALL = bank.all_items()


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (
            "2 easy, 3 middle, 1 hard of torque",
            [Part(2, "easy", "torque"), Part(3, "middle", "torque"), Part(1, "hard", "torque")],
        ),
        ("4 of faults; 2 hard and 1 easy", [Part(4, "", "faults"), Part(2, "hard"), Part(1, "easy")]),
        (
            "1 Easy item of Torque, 2 items about one planetary set",
            [Part(1, "easy", "Torque"), Part(2, "", "one planetary set")],
        ),
        ("3", [Part(3)]),
    ],
)
def test_a_blueprint_says_what_it_says(text: str, parts: list[Part]) -> None:
    assert list(blueprint.read(text)) == parts


@pytest.mark.parametrize("text", ["", ";", "two easy of torque", "0 easy", "2 simple of torque", "easy"])
def test_what_is_no_blueprint_is_told_with_a_form_that_is_one(text: str) -> None:
    with pytest.raises(UsageError, match="expected a form such as"):
        blueprint.read(text)


def test_a_blueprint_is_met_part_by_part() -> None:
    wish = Pick(blueprint=blueprint.read("2 easy, 3 middle, 1 hard of torque; 2 of faults"))
    found = pick(ALL, wish, {}, LISTED, "week8")
    assert Counter((LISTED[item.id].subject, LISTED[item.id].level) for item in found if item.lesson == 8) == {
        ("torque", "easy"): 2,
        ("torque", "middle"): 3,
        ("torque", "hard"): 1,
    }
    assert [LISTED[item.id].subject for item in found if item.lesson != 8] == ["faults", "faults"]


def test_a_blueprint_is_refused_only_where_no_choice_fulfils_it() -> None:
    pool = (*bank.of_lesson(8)[:6], *bank.of_lesson(12)[:5])
    subjects = ["torque", "faults", ""]
    for first, second in itertools.combinations(itertools.product([1, 3, 5], ["", *LEVELS], subjects), 2):
        parts = (Part(*first), Part(*second))
        slots = [part for part in parts for _ in range(part.count)]
        # Hall: every set of parts finds as many items as it asks for.
        possible = all(
            sum(any(part.fits(LISTED[item.id]) for part in some) for item in pool) >= sum(part.count for part in some)
            for some in [(parts[0],), (parts[1],), parts]
        )
        try:
            found = pick(pool, Pick(blueprint=parts), {}, LISTED)
            assert len(found) == len(slots)
            met = True
        except UsageError:
            met = False
        assert met == possible, parts


def test_a_subject_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(
        UsageError, match=r"--subject: nothing here is about 'torqu moons'.* There is: gear pairs, one planetary"
    ):
        pick(ALL, Pick(3, subjects=("torqu moons",)), {}, LISTED)
    with pytest.raises(UsageError, match="--level 'simple': expected easy, middle, hard"):
        pick(ALL, Pick(3, levels=("simple",)), {}, LISTED)
    with pytest.raises(UsageError, match="hard of torque: only 3 can be picked from here"):
        pick(ALL, Pick(blueprint=(Part(4, "hard", "torque"),)), {}, LISTED)
    with pytest.raises(UsageError, match="leave out --items"):
        pick(ALL, Pick(3, blueprint=(Part(4),)), {}, LISTED)


def test_a_subject_and_levels_are_kept_to() -> None:
    found = pick(ALL, Pick(6, subjects=("torques", "fault"), levels=("easy", "Hard")), {}, LISTED)
    assert len(found) == 6
    assert {LISTED[item.id].subject for item in found} == {"torque", "faults"}
    assert {LISTED[item.id].level for item in found} <= {"easy", "hard"}


@pytest.mark.parametrize("wish", [Pick(minutes=40), Pick(8, minutes=25), Pick(6, 15, minutes=30)], ids=str)
def test_the_time_is_enough_for_what_is_picked(wish: Pick) -> None:
    found = pick(ALL, wish, {}, LISTED)
    taken = sum(LISTED[item.id].minutes for item in found)
    assert 0 < taken <= wish.minutes
    assert len(found) == (wish.items or len(found))
    if wish == Pick(minutes=40):
        # Nothing else fits in the time that is left.
        assert min(LISTED[item.id].minutes for item in ALL if item not in found) > wish.minutes - taken


def test_too_little_time_is_told_with_the_time_it_takes() -> None:
    with pytest.raises(UsageError, match="--time 1: the shortest of these items takes about 2 minutes"):
        pick(ALL, Pick(minutes=1), {}, LISTED)
    with pytest.raises(UsageError, match=r"the items picked take about \d+ minutes"):
        pick(ALL, Pick(12, 40, minutes=20), {}, LISTED)


def test_picks_spread_over_lessons_and_kinds_instead_of_taking_the_earliest() -> None:
    four = [item for lesson in (1, 2, 3, 4) for item in bank.of_lesson(lesson)]
    earliest = {item.id for lesson in (1, 2, 3, 4) for item in bank.of_lesson(lesson)[:2]}
    seen = set()
    for name in ("week1", "week2", "week3"):
        found = pick(four, Pick(8), {}, LISTED, name)
        assert set(Counter(item.lesson for item in found).values()) == {2}
        assert len({item.kind for item in found}) >= 5, name
        assert {item.id for item in found} != earliest
        assert found == pick(four, Pick(8), {}, LISTED, name)
        seen.add(found)
    assert len(seen) == 3


def test_more_than_fits_on_a_sheet_becomes_a_balanced_hundred(tmp_path, capsys) -> None:
    assert main(["compose", "lessons 1-13", "-o", str(tmp_path / "all.toml")]) == 0
    out = capsys.readouterr().out
    assert "These are 164 items, and at most 100 fit on a sheet, so a balanced choice was picked." in out
    sheet = sheets.read(tmp_path / "all.toml")
    by_lesson = Counter(entry.item.lesson for entry in sheet.items)
    assert len(sheet.items) == 100
    assert set(by_lesson) == set(range(1, 14))
    # 100 over 13 lessons are 7 or 8 each.
    assert max(by_lesson.values()) - min(by_lesson.values()) <= 1
    assert sheet.title == "Lessons 1 to 13"


def test_compose_reads_a_blueprint_for_a_layout_too(tmp_path, capsys) -> None:
    words = ["compose", "Q24", "--blueprint", "1 easy, 1 hard of torque; 2 of ratio", "-o", str(tmp_path / "q.toml")]
    assert main(words) == 0
    assert "by the blueprint: 1 easy of torque, 1 hard of torque and 2 of ratio." in capsys.readouterr().out
    listed = {entry.id: entry for entry in of_a_layout(catalogue.find("Q24"))}
    found = [listed[entry.item.id] for entry in sheets.read(tmp_path / "q.toml").items]
    assert sorted((one.subject, one.level if one.subject == "torque" else "") for one in found) == [
        ("ratio", ""),
        ("ratio", ""),
        ("torque", "easy"),
        ("torque", "hard"),
    ]


def test_every_lesson_has_easy_middle_and_hard_ones_and_the_hard_ones_carry_no_fewer_marks() -> None:
    for lesson in range(1, 16):
        level = {name: [one.marks for one in LISTED.values() if one.lesson == lesson and one.level == name] for name in LEVELS}
        assert all(level.values()), lesson
        assert max(level["easy"]) <= min(level["middle"]), lesson
        assert max(level["middle"]) <= min(level["hard"]), lesson


def test_the_list_tells_lesson_minutes_layout_and_how_classes_did(tmp_path, capsys) -> None:
    room = Classroom(tmp_path)
    for learner, good in (("s1", True), ("s2", True), ("s3", False)):
        room.hand_in(learner, room.copy(learner, right if good else lambda variant: f"answer({variant.item.id!r}, '777')"))
    assert main(["mark", str(room.course.folder), "A1"]) == 0
    capsys.readouterr()
    assert main(["items", "--lesson", "3", "--course", str(room.course.folder), "--json"]) == 0
    found = {one["id"]: one for one in json.loads(capsys.readouterr().out)}
    assert found["L03-02"]["classes"] == {"learners": 3, "share": pytest.approx(2 / 3), "mistake": ""}
    assert found["L03-21"]["classes"] is None
    assert (found["L03-02"]["lesson"], found["L03-02"]["minutes"], found["L03-02"]["layout"]) == (3, 3, "")
    assert main(["items", "--course", str(room.course.folder)]) == 0
    lines = {line.split()[0]: line for line in capsys.readouterr().out.splitlines() if line.startswith("L")}
    # Below five learners marks are told, no percentages.
    assert lines["L03-02"].rstrip().endswith("4 of 6 marks, 3 learners")
    assert lines["L06-01"].split()[-2:] == ["Q36", "–"]


def test_from_five_learners_on_a_share_is_told() -> None:
    assert str(History(4, Fraction(5), Fraction(8))) == "5 of 8 marks, 4 learners"
    assert str(History(1, Fraction(1), Fraction(2))) == "1 of 2 marks, 1 learner"
    assert str(History(5, Fraction(5), Fraction(10))) == "50% of 5 learners"


def test_items_of_a_layout_are_told_apart_by_the_layouts_text(tmp_path) -> None:
    room = Classroom(tmp_path, source="Q24, Q36")
    room.hand_in("s1", room.copy("s1", right))
    assert main(["mark", str(room.course.folder), "A1"]) == 0
    of_q36 = item_history.of_courses([room.course], catalogue.dumps(catalogue.find("Q36")))
    second = {f"X{entry.item.id[1:]}" for entry in room.sheet.items if entry.item.id.startswith("Y")}
    assert set(of_q36) == second
    assert all(one.share == 1 for one in of_q36.values())
    assert item_history.of_courses([room.course]) == {}


def test_options_of_the_list_that_leave_nothing_are_told(capsys) -> None:
    assert main(["items", "--lesson", "3", "--subject", "faults"]) == 2
    assert "Nothing that can be asked has this subject, this lesson and this level together" in capsys.readouterr().err
    assert main(["items", "--lesson", "3", "--level", "easy"]) == 0
    assert NINE_OF_LESSON_3.split(", ")[1] in capsys.readouterr().out

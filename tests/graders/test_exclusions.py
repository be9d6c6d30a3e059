"""A sheet does not print the answer of one task with another one."""

from __future__ import annotations

from gearkit.answers import items
from graders.course.roster import Learner, Roster
from graders.demo import class_work
from graders.sheets import blueprint, exclusions, sheets, variant_check
from graders.sheets.picking import Pick


def clashes(names: tuple[str, ...]) -> list[tuple[str, str]]:
    found = [items.find(name) for name in names]
    return [(one.id, other) for one in found for other in exclusions.told_by(one, found)]


def test_a_lesson_is_composed_without_the_item_that_others_answer() -> None:
    sheet = sheets.compose("lesson 6", "s")
    assert "L06-01" not in sheet.item_ids
    assert sheet.left_out == ("L06-01",)
    assert len(sheet.items) == len(items.of_lesson(6)) - 1
    assert clashes(sheet.item_ids) == []


def test_whole_course_picks_hold_no_two_that_clash() -> None:
    for wish in (Pick(items=12), Pick(items=40), Pick(marks=90), Pick(items=30, kinds=12)):
        sheet = sheets.compose("lessons 1 to 13", "s", pick=wish)
        assert clashes(sheet.item_ids) == []


def test_a_pick_tells_only_what_its_own_items_would_have_answered() -> None:
    torque = sheets.compose("lessons 1 to 13", "s", pick=Pick(blueprint=blueprint.read("2 easy, 3 middle, 1 hard of torque")))
    assert torque.left_out == ()
    sheet = sheets.compose("lessons 1 to 13", "s", pick=Pick(items=100))
    assert sheet.left_out
    for left in sheet.left_out:
        assert exclusions.told_by(items.find(left), [items.find(name) for name in sheet.item_ids])


def test_an_item_named_by_its_id_stays_and_the_others_go() -> None:
    sheet = sheets.compose("lesson 11, L06-01", "s")
    assert "L06-01" in sheet.item_ids
    assert sheet.left_out == ("L11-01", "L11-05")


def test_two_that_were_both_named_stay_and_check_warns_of_them() -> None:
    sheet = sheets.compose("L06-01, L06-03, L02-01", "s")
    assert (sheet.item_ids, sheet.left_out) == (("L06-01", "L06-03", "L02-01"), ())
    found = variant_check.check(sheet, Roster((Learner("a", "A"), Learner("b", "B"))), b"secret")
    said = {one.item: [words for words in one.remarks if "is printed with" in words] for one in found}
    assert said["L06-01"] == ["its answer or a part of it is printed with L06-03, or the other way round: leave one out"]
    assert len(said["L06-03"]) == 1
    assert said["L02-01"] == []


def test_the_demo_prints_no_answer_with_another_task() -> None:
    assert clashes(class_work.ITEMS) == []

"""Ideas behind several answers: told to the learner and in the class report, and nowhere that counts or leaves."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from gearkit.answers.beliefs.known import all_beliefs
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.one_exercise import exercise
from gearkit.words.errors import UsageError
from graders.course.course import open_course
from graders.course.roster import Learner, Roster
from graders.hand_out import hand_out
from graders.mark import batch
from graders.report import exports
from graders.report.pages import class_report, feedback
from graders.sheets import sheets
from tests.graders.classroom import Classroom, call, right
from tests.report.test_class_report import Balance, text_of
from tests.support.learners import thought, with_idea

NAMES = ("Ann Lee", "Ben Ode", "Cy Ek", "Dora Fenn")
ROSTER = Roster(tuple(Learner(f"s{number}", name, "D") for number, name in enumerate(NAMES, start=1)))
SHEET = "L02-02,L02-03,L02-04,L03-01,L03-02,L03-03,L03-07,L03-08"
TWO = ("L03-03", "L03-08")
HEAD = "An idea that may be behind several of your answers"


def thinking(idea: str, only: tuple[str, ...] = ()) -> Callable[[Variant], str]:
    """The answer cells of somebody with an idea, in all items or in some."""

    def write(variant: Variant) -> str:
        contents = thought(idea, variant, 0.0) if not only or variant.item.id in only else None
        return call(variant.item.id, with_idea(variant, contents, random.Random(1))) if contents else right(variant)

    return write


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    """Two leave the carrier's own turn out, one may take R - S for the ring, one knows everything."""
    made = Classroom(tmp_path_factory.mktemp("ideas"), SHEET, roster=ROSTER)
    hands = {
        "s1": thinking("own turn left out"),
        "s2": thinking("own turn left out"),
        "s3": thinking("R - S for the ring", TWO),
        "s4": right,
    }
    for learner, write in hands.items():
        made.hand_in(learner, made.copy(learner, write))
    batch.mark_sheet(made.course, made.sheet, workers=1)
    return made


def page_of(room: Classroom, learner: str) -> str:
    feedback.write_pages(room.course, room.sheet)
    return (room.course.feedback_folder(learner, room.sheet.name) / f"{room.sheet.name}.html").read_text()


def set_ideas(room: Classroom, line: str) -> None:
    settings = room.course.folder / "course.toml"
    kept = [one for one in settings.read_text().splitlines() if not one.startswith(("ideas", "lessons"))]
    settings.write_text("\n".join([line, *kept] if line else kept) + "\n")


def test_the_page_names_items_one_thing_to_practise_a_lesson_and_a_new_exercise(room: Classroom) -> None:
    page = page_of(room, "s1")
    text = text_of(page)
    assert HEAD in text
    assert "Your answers to items 2 , 4 , 5 and 6 are what one gets when the carrier’s own turn is left out." in text
    assert '<a href="#i2">2</a>' in page
    assert "If you thought so, lesson 2, One planetary set: members and the speed equation, helps" in text
    assert "If it was only a careless mistake, ignore this." in text
    assert "One thing to practise. Ask first which member is held." in text
    assert "it changes no marks" in text
    assert "misconception" not in text.lower()
    balance = Balance()
    balance.feed(page)
    assert balance.faults == []
    assert len(balance.ids) == len(set(balance.ids))


@pytest.mark.parametrize(
    ("setting", "address"),
    [
        ("https://school.example/<lesson>.html?a=1&b=2", "https://school.example/02_one_planetary_set.html?a=1&amp;b=2"),
        ("http://hub.example/lab/tree/lessons/", "http://hub.example/lab/tree/lessons/02_one_planetary_set"),
    ],
)
def test_lessons_are_linked_where_the_course_says_where_they_are(room: Classroom, setting: str, address: str) -> None:
    assert '<a href="http' not in page_of(room, "s1")
    set_ideas(room, f'lessons = "{setting}"')
    try:
        where = replace(room.course, lessons=open_course(room.course.folder).lessons)
    finally:
        set_ideas(room, "")
    feedback.write_pages(where, room.sheet)
    page = (room.course.feedback_folder("s1", room.sheet.name) / f"{room.sheet.name}.html").read_text()
    link = f'<a href="{address}">'
    assert f"If you thought so, {link}lesson 2, One planetary set" in page
    assert f"<li>{link}Lesson 2, One planetary set" in page


@pytest.mark.parametrize("setting", ["javascript:alert(1)", "https://a b", "lessons", "file:///etc", "ftp://a"])
def test_what_is_no_address_of_the_web_is_refused(room: Classroom, setting: str) -> None:
    set_ideas(room, f'lessons = "{setting}"')
    try:
        with pytest.raises(UsageError, match=r"lessons: found .*, expected an address that begins with https://"):
            open_course(room.course.folder)
    finally:
        set_ideas(room, "")


def test_the_new_exercise_is_the_one_that_the_command_gives(room: Classroom) -> None:
    text = text_of(page_of(room, "s1"))
    item = text.split("A new exercise: ")[1].split()[0]
    assert f"gearkit exercise {item} --for s1 --answer" in text
    for number in exercise(item, learner="s1").variant.values.values():
        assert str(number) in text.split("A new exercise: ")[1]


def test_who_shows_no_idea_reads_nothing_of_one(room: Classroom) -> None:
    page = page_of(room, "s4")
    assert HEAD not in page
    assert "more exercises" not in page


def test_a_suspicion_gives_two_exercises_and_no_name(room: Classroom) -> None:
    text = text_of(page_of(room, "s3"))
    assert "Two more exercises, if you like" in text
    assert text.count("A new exercise") == 2
    assert not any(one.told in text or one.name in text for one in all_beliefs())


def test_no_page_tells_of_another_learners_idea(room: Classroom) -> None:
    for learner, others in (("s1", ("Ben Ode", "Cy Ek")), ("s4", ("Ann Lee", "Ben Ode"))):
        assert not any(name in page_of(room, learner) for name in others)


def test_the_class_report_names_who_may_share_an_idea_and_what_to_ask(room: Classroom) -> None:
    page = class_report.write(room.course, room.sheet).page.read_text()
    text = text_of(page)
    assert "Ideas that learners may share" in text
    assert "The carrier’s own turn left out: 2 learners" in text
    assert "A group for a small table: Ann Lee and Ben Ode." in text
    assert "Ask them L0" in text
    assert "R − S taken for the ring Cy Ek" in text
    assert "graders compose" in text
    assert "Dora Fenn" not in text.split("Ideas that learners may share")[1].split("Fewer than 5 learners")[0]
    assert '<a href="#ideas">' in page


def test_a_report_with_pseudonyms_tells_of_no_ideas(room: Classroom) -> None:
    assert "Ideas that learners may share" not in class_report.write(room.course, room.sheet, pseudonyms=True).page.read_text()


def test_ideas_stand_in_no_mark_table_export_or_gradebook(room: Classroom, tmp_path: Path) -> None:
    written = class_report.write(room.course, room.sheet)
    files = [written.table, written.data, room.course.marks_file(room.sheet.name), room.course.folder / "gradebook.db"]
    for kind in ("csv", "oneroster", "xapi", "ags"):
        exports.write(room.course, kind, tmp_path / kind)
        files.append(tmp_path / kind)
    for path in files:
        data = path.read_bytes()
        for one in all_beliefs():
            assert one.told.encode() not in data, path
            # Some misconceptions are called as the mistakes are; what is a word of its own must not be found.
            assert b"own turn left out" not in data, path


def test_a_course_can_turn_it_off(room: Classroom) -> None:
    marks = room.course.marks_file(room.sheet.name).read_bytes()
    set_ideas(room, "ideas = false")
    try:
        off = replace(room.course, ideas=open_course(room.course.folder).ideas)
        assert off.ideas is False
        assert "Ideas that learners may share" not in class_report.write(off, room.sheet).page.read_text()
        feedback.write_pages(off, room.sheet)
        for learner in ("s1", "s3"):
            page = (off.feedback_folder(learner, "A1") / "A1.html").read_text()
            assert HEAD not in page
            assert "more exercises" not in page
        batch.mark_sheet(off, room.sheet, workers=1)
        assert room.course.marks_file(room.sheet.name).read_bytes() == marks
    finally:
        set_ideas(room, "")
    assert open_course(room.course.folder).ideas is True


def test_another_word_than_true_or_false_is_refused(room: Classroom) -> None:
    set_ideas(room, 'ideas = "no"')
    try:
        with pytest.raises(UsageError, match="ideas: found 'no', expected true, or false"):
            open_course(room.course.folder)
    finally:
        set_ideas(room, "")


def test_follow_ups_on_a_practice_sheet_are_counted_too(tmp_path: Path) -> None:
    room = Classroom(tmp_path, SHEET, roster=Roster(ROSTER.learners[:1]))
    room.hand_in("s1", room.copy("s1", thinking("R - S for the ring", TWO)))
    batch.mark_sheet(room.course, room.sheet, workers=1)
    text = text_of(page_of(room, "s1"))
    assert HEAD not in text
    asked = [piece.split()[0] for piece in text.split("A new exercise: ")[1:]]
    assert len(asked) == 2
    more = Classroom.__new__(Classroom)
    more.course, more.sheet = room.course, sheets.compose(",".join(asked), "more", kind="practice")
    hand_out.hand_out(more.course, more.sheet, Roster(ROSTER.learners[:1]))
    more.hand_in("s1", more.copy("s1", thinking("R - S for the ring")))
    batch.mark_sheet(more.course, more.sheet, workers=1)
    text = text_of(page_of(room, "s1"))
    assert HEAD in text
    assert "Your answers to items 6 and 8 are what one gets when R − S is used" in text

"""A learner's page: their own data, what they wrote and how it was read, a hint, and no right answer unless given."""

from __future__ import annotations

import re
from dataclasses import replace

from gearkit.text.mathml import from_expression
from gearkit.words.say import speaking, speaking_language
from graders.report.pages.feedback_page import FeedbackWords, learner_page
from graders.report.pages.item_words import ItemWords
from tests.report.sheets import ROSTER, marked_sheet
from tests.report.test_class_report import Balance, text_of
from tests.support.pseudo import Pseudo, escaped, seen_in

HINTS = ("Stand on the carrier.", "Write $S(n_s-n_c)+R(n_r-n_c)=0$.", "Put in what you know.")
WORDS = FeedbackWords(
    course="AT-214",
    sheet="Sheet 1",
    items={name: ItemWords(name, 2, "One planetary set", "decimal", HINTS, True) for name in ("L02-02", "L02-03", "L02-08")},
    mistakes={"HELDMOVES": "a turning member taken as held", "SIGN": "direction"},
    labels={"L02-03": {"sun": "Sun, total", "planet": "Planet, total"}},
)


def page(number: int, words: FeedbackWords = WORDS) -> str:
    return learner_page(marked_sheet().learners[number - 1], words)


def test_the_page_gives_the_mark_and_counts_the_items_by_verdict():
    assert "7 of 10 marks 3 items: 2 right and 1 not right." in text_of(page(2))


def test_the_page_shows_the_learners_own_numbers():
    assert 'title="S = 32"' in page(2)
    assert 'title="S = 33"' in page(3)


def test_the_page_shows_the_answer_as_it_was_written_and_as_it_was_read():
    third = marked_sheet().learners[2]
    item = replace(third.items[0], given={"answer": "-(433+2) rpm"}, read_as={"answer": "-435 r/min"})
    text = text_of(learner_page(replace(third, items=(item, *third.items[1:])), WORDS))
    assert "You wrote -(433+2) rpm It was read as − 435 r/min" in text


def test_an_answer_that_was_read_just_as_it_stands_is_shown_once():
    text = text_of(page(2))
    assert "You wrote -435.5" in text
    assert text.count("It was read as") == 1  # the formula of another item, where it does say more


def test_two_slips_with_the_same_answer_are_told_as_either_or():
    third = marked_sheet().learners[2]
    item = replace(third.items[0], mistakes=("HELDMOVES", "SIGN"), comment="Either: one. Or: two.")
    text = text_of(learner_page(replace(third, items=(item, *third.items[1:])), WORDS))
    assert "This looks like: a turning member taken as held or direction . Either: one. Or: two." in text


def test_the_page_names_the_mistake_with_its_sentence():
    assert "This looks like: a turning member taken as held . You held the carrier still, but it is turning." in text_of(
        page(2)
    )


def test_the_hint_after_a_named_mistake_is_the_second_and_says_where_to_look():
    text = text_of(page(2))
    assert "Try this next. Write" in text
    assert "(lesson 2, One planetary set)" in text


def test_whoever_wrote_nothing_gets_the_first_hint():
    assert "No answer to this item was found in your sheet. Try this next. Stand on the carrier." in text_of(page(3))


def test_a_right_item_has_no_hint():
    assert "Try this next" not in page(1)
    assert "Every item is right." in text_of(page(1))


def test_each_part_of_a_table_shows_its_own_result():
    third = marked_sheet().learners[2]
    items = (third.items[0], replace(third.items[1], parts={"sun": "right", "planet": "wrong"}), third.items[2])
    text = text_of(learner_page(replace(third, items=items), WORDS))
    assert "Sun, total 1300 ✓ right" in text
    assert "Planet, total 7 ✗ not right" in text


def test_a_late_sheet_shows_what_was_earned_and_what_was_taken_off():
    text = text_of(page(3))
    assert "1.5 of 10 marks" in text
    assert "Your answers earned 2.5 of 10. 1 mark was taken off because the sheet came in late." in text


def test_a_flag_is_told_kindly():
    text = text_of(page(3))
    assert "Something about the file that you handed in was unusual. Whatever could be read was marked." in text
    assert "sheet (1).ipynb" in text


def test_no_page_holds_another_learners_data():
    for number, one in enumerate(marked_sheet().learners, start=1):
        text = page(number)
        others = [known for known in ROSTER if known.id != one.learner]
        assert not any(known.id in text or known.name in text for known in others)


def test_right_answers_are_shown_only_where_they_are_given():
    assert "Right answer" not in page(2)
    shown = replace(WORDS, answers={"L02-02": {"answer": "17"}, "L02-03": {"sun": "1", "planet": "2"}})
    text = text_of(page(2, shown))
    assert "Right answer 17" in text
    assert "Part You wrote Right answer" in text


def test_what_a_learner_wrote_never_becomes_markup():
    assert "<script>" not in page(4)
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page(4)


def test_items_that_the_bank_has_lost_still_have_a_whole_page():
    text = text_of(page(2, FeedbackWords("AT-214", "Sheet 1")))
    assert "You held the carrier still, but it is turning." in text


def test_every_page_is_well_formed_with_one_main_heading_and_unique_ids():
    for number in range(1, 5):
        html = page(number)
        parser = Balance()
        parser.feed(html)
        assert parser.faults == []
        assert parser.open == []
        assert len(parser.ids) == len(set(parser.ids))
        assert html.count("<h1") == 1
        assert '<html lang="en">' in html


def test_the_page_says_what_to_do_about_a_doubtful_mark():
    assert "If you think that a mark is wrong, tell your instructor the number of the item" in text_of(page(1))


def test_a_mark_given_by_hand_is_told_with_its_reason_and_a_withdrawn_item_as_such():
    second = marked_sheet().learners[1]
    items = (
        replace(second.items[0], score=2.0, automatic=0.0, decided="Marked by hand (R. Okonjo-Vale): right idea"),
        second.items[1],
        replace(second.items[2], score=0.0, max=0.0, decided="This item was withdrawn: misprint"),
    )
    text = text_of(learner_page(replace(second, items=items), WORDS))
    assert "Marked by hand (R. Okonjo-Vale): right idea" in text
    assert "withdrawn" in text
    assert "0 of 0" not in text
    assert "1 withdrawn" in text


def test_a_forged_card_is_told_without_the_other_learners_identity():
    third = replace(
        marked_sheet().learners[2],
        flags=(
            "The notebook says that it was made for 'fh001'; it was marked with the numbers of 'fh003'.",
            "The notebook says that it is attempt '7'; it was marked as attempt 1.",
            "Handed in late, 1 day started: 1 mark taken off.",
            "'x_fh003_file/fh001.ipynb' was handed in under the name of fh003 and names fh001 further in; it counts for fh003, "
            "and nothing of it for fh001. Ask who wrote it.",
        ),
    )
    text = text_of(learner_page(third, WORDS))
    assert "fh001" not in text
    assert text.count("The file counts for you and for nobody else.") == 1
    assert text.count("it was marked with your own numbers.") == 1
    assert "Handed in late" not in text
    assert "taken off because the sheet came in late, 1 day started." in text


def test_a_late_sheet_alone_is_nothing_unusual_about_the_file():
    second = replace(marked_sheet().learners[1], flags=("Handed in late, 1 day started: 1 mark taken off.",))
    assert "unusual" not in learner_page(second, WORDS)


def test_an_extension_is_told_with_its_reason():
    second = replace(marked_sheet().learners[1], flags=("Due time extended to 2026-10-07 17:00: ill, note seen",))
    text = text_of(learner_page(second, WORDS))
    assert "Due time extended to 2026-10-07 17:00: ill, note seen." in text
    assert "unusual" not in text


def test_the_note_for_everybody_is_told_also_to_those_who_have_everything_right():
    for number in (1, 2):
        assert "The retake is on Friday." in text_of(page(number, replace(WORDS, note="The retake is on Friday.")))


def test_the_hint_is_pointed_to_where_it_stands_on_the_page():
    second = marked_sheet().learners[1]
    comment = "Not right, and not one of the usual mistakes: have a look at hint 1."
    item = replace(second.items[0], mistakes=(), comment=comment)
    text = text_of(learner_page(replace(second, items=(item, *second.items[1:])), WORDS))
    assert "not one of the usual mistakes. The hint below may help. Try this next. Stand on the carrier." in text
    assert "hint 1" not in text


def test_a_sheet_made_from_a_layout_has_hints_and_formulas_on_its_pages_too(tmp_path):
    from graders.mark import batch
    from graders.report.pages import feedback
    from tests.graders.classroom import Classroom, call

    room = Classroom(tmp_path, source="Q24")
    room.hand_in("s1", room.copy("s1", lambda variant: call(variant.item.id, {variant.parts[0].name: "9/7"})))
    batch.mark_sheet(room.course, room.sheet)
    page = feedback.write_pages(room.course, room.sheet).pages[0].read_text(encoding="utf-8")
    for entry in room.sheet.items:
        assert any(hint in page for hint in entry.item.hints), entry.item.id
    assert from_expression("9/7") in page


def test_the_drawing_on_every_learners_page_has_the_letters_where_that_learners_sheet_has_them(tmp_path):
    """Each learner's elements have letters of their own; drawn in another learner's places they named the wrong ones."""
    from gearkit.answers.draw_numbers.pool import layout_named
    from graders.mark import batch
    from graders.report.pages import feedback
    from tests.graders.classroom import Classroom, wrong

    room = Classroom(tmp_path, source="L06-01")
    lettered = {}
    for learner in ("s1", "s2", "s3"):
        room.hand_in(learner, room.copy(learner, wrong))
        lettered[learner] = room.variants(learner)["L06-01"].drawn.layout_name
    assert len(set(lettered.values())) > 1
    batch.mark_sheet(room.course, room.sheet)
    places = set()
    for page in feedback.write_pages(room.course, room.sheet).pages:
        layout = layout_named(lettered[page.parts[-3]])
        chips = re.findall(r'<text[^>]* x="([\d.]+)" y="([\d.]+)"[^>]*>([A-Z])</text>', page.read_text(encoding="utf-8"))
        # Each letter stands in the drawing first, then in its legend.
        first = {letter: (float(x), float(y)) for x, y, letter in reversed(chips)}
        places.add(tuple(sorted((one.between, round(first[one.name][0] / 4), first[one.name][1]) for one in layout.elements)))
    assert len(places) == 1


def test_every_word_of_the_page_itself_can_be_said_in_another_language():
    given = f"{marked_sheet().learners} {WORDS}"
    of_the_learner = {*re.findall(r"[A-Za-z]{2,}", given), *re.findall(r"\d+\.\d+", given)}
    with speaking(Pseudo()):
        seen = [text for number in (1, 2, 3) for text in seen_in(page(number))]
    assert escaped(seen, of_the_learner) == []


def test_a_decimal_is_set_as_a_formula_with_the_mark_of_the_language():
    third = marked_sheet().learners[2]
    item = replace(third.items[0], given={"answer": "-435.50 r/min"}, read_as={"answer": "-435,50 1/min"})
    with speaking_language("de"):
        german = learner_page(replace(third, items=(item, *third.items[1:])), WORDS)
    assert '<math title="-435,50"' in german
    assert "<mn>435,50</mn>" in german
    assert 'lang="de"' in german

"""The class report: every figure on it follows from the marks, and nobody's words become markup."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser

import pytest

from gearkit.answers.beliefs.known import all_beliefs
from graders.book.record import LearnerMarks, MarkSheet
from graders.course.roster import Learner, Roster
from graders.report.figures.class_data import ReportData, score_table, taught_again
from graders.report.figures.ideas import ClassIdeas
from graders.report.figures.similarity import Similarity
from graders.report.pages import idea_sections
from graders.report.pages.class_report import report_page
from graders.report.pages.item_words import ItemWords
from tests.report.sheets import ROSTER, item, marked_sheet

MISTAKES = {
    "HELDMOVES": ("a turning member taken as held", "One member that you put at zero is not held here."),
    "SIGN": ("direction", "The size is right, the direction is not."),
}
WORDS = {name: ItemWords(name, 2, "One planetary set", "decimal") for name in ("L02-02", "L02-03", "L02-08")}


def data(**more: object) -> ReportData:
    fields = {"course": "AT-214", "sheet": "Sheet 1", "marks": marked_sheet(), "roster": ROSTER,
              "words": WORDS, "mistakes": MISTAKES, **more}  # fmt: skip
    return ReportData(**fields)


def of_five() -> MarkSheet:
    """The marks with one learner more, who is as the first."""
    marks = marked_sheet()
    return replace(marks, learners=(*marks.learners, replace(marks.learners[0], learner="fd99")))


def text_of(page: str) -> str:
    """What a reader sees, blanks folded."""
    body = page.split("</style>", 1)[1]
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)))


class Balance(HTMLParser):
    """Says whether every element that was opened is closed in its order."""

    EMPTY = frozenset({"meta", "br", "wbr", "line", "rect", "circle", "polygon", "path"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.faults: list[str] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.ids += [value for key, value in attrs if key == "id"]
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in self.EMPTY:
            return
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)


def test_the_exact_table_holds_marks_before_any_penalty():
    table = score_table(marked_sheet())
    assert table.totals == (10, 7, Fraction(5, 2), 2)
    assert table.maxima == (3, 5, 2)


def test_a_third_of_a_mark_is_exact_again():
    one = marked_sheet().learners[0]
    items = (replace(one.items[0], score=1 / 3), *one.items[1:])
    sheet = MarkSheet("s", 1, 1, (), (replace(one, items=items),))
    assert score_table(sheet).rows[0][0] == Fraction(1, 3)


def test_the_first_paragraph_says_who_handed_in_and_the_middle_mark():
    page = text_of(report_page(data()))
    # Finals 10, 7, 1.5 (late) and 2: of four learners their marks are told, of five the middle.
    assert "4 of 5 learners handed in, and earned 1.5, 2, 7 and 10 of 10 marks ." in page
    whole = text_of(report_page(data(marks=of_five())))
    assert "5 of 6 learners handed in. The middle mark is 7 of 10" in whole
    assert "3 learners have at least half of the marks" in whole
    assert "The most common mistake is a turning member taken as held : 2 learners, most often in L02-02" in page


def test_mistakes_are_counted_by_learner_with_their_items():
    first, second = taught_again(data())
    assert (first.code, first.learners, first.items) == ("HELDMOVES", 2, (("L02-02", 2),))
    assert (second.code, second.learners, second.items) == ("SIGN", 1, (("L02-03", 1),))


def test_a_mistake_is_told_with_its_sentence_and_where_it_is_taught():
    page = text_of(report_page(data()))
    assert "A turning member taken as held: 2 learners" in page
    assert "One member that you put at zero is not held here." in page
    assert "Seen in L02-02 (2). Taught in lesson 2." in page


def test_every_item_has_its_facility():
    # L02-02: 3 of 12 marks; L02-03: 12.5 of 20; L02-08: 6 of 8.
    page = report_page(data())
    found = dict(re.findall(r'<th scope="row">(L02-0\d)<br>.*?facility ([\d.]+ of \d+) marks', page))
    assert found == {"L02-02": "3 of 12", "L02-03": "12.5 of 20", "L02-08": "6 of 8"}
    # Of five learners shares are told: 6 of 15, 17.5 of 25 and 8 of 10.
    found = dict(re.findall(r'<th scope="row">(L02-0\d)<br>.*?facility (\d+)%', report_page(data(marks=of_five()))))
    assert found == {"L02-02": "40", "L02-03": "70", "L02-08": "80"}


def test_of_four_learners_no_share_is_told_not_even_each_ones_own():
    told = text_of(report_page(data()))
    assert "%" not in told
    assert "percent" not in told
    for figure in ("less lower", "against rest", "Reliability", "standard error", "bars show", "middle half"):
        assert figure not in told, figure
        assert figure in text_of(report_page(data(marks=of_five()))), figure
    assert "Share" not in told.split("Not handed in")[0].split("Learners")[-1]
    assert "Share" in text_of(report_page(data(marks=of_five())))


def test_upper_and_lower_groups_are_said_to_include_the_item():
    assert "so they include the item" in text_of(report_page(data(marks=of_five())))


def test_no_item_of_four_learners_is_called_hard_or_odd():
    remarks = [remark for figure in data().figures for remark in figure.remarks]
    assert remarks
    told = text_of(report_page(data()))
    assert [remark for remark in remarks if remark in told] == []


def test_the_time_told_says_what_took_it():
    def told(seconds: float) -> str:
        return text_of(report_page(data(marks=replace(marked_sheet(), seconds=seconds))))

    assert "Reading, running and comparing took 2.3 seconds." in told(2.34)
    assert "took less than 0.1 seconds." in told(0.04)
    assert "comparing took" not in told(0)


def test_who_has_not_handed_in_is_named_with_the_group():
    assert "AT-214-E: Quist Pernille" in text_of(report_page(data()))


def test_lists_of_names_sort_as_english_does():
    names = ["Zander", "Östberg", "Olders", "Łukas", "Lumen", "Ärlund", "Azimov"]
    absent = tuple(f"n{number}" for number in range(len(names)))
    roster = Roster(tuple(Learner(key, name, "G") for key, name in zip(absent, names, strict=True)))
    page = text_of(report_page(data(roster=roster, marks=replace(marked_sheet(), absent=absent))))
    assert "G: Ärlund; Azimov; Łukas; Lumen; Olders; Östberg; Zander" in page
    ideas = ClassIdeas(suspected={all_beliefs()[0]: (absent, ())})
    told = text_of("</style>" + idea_sections.for_class(data(roster=roster, ideas=ideas)))
    assert "Ärlund, Azimov, Łukas, Lumen, Olders, Östberg and Zander" in told


def test_a_flag_stands_as_a_sentence_and_marks_the_learner():
    page = text_of(report_page(data()))
    assert "The notebook was handed in as 'sheet (1).ipynb'; it was marked all the same." in page
    assert re.search(r"O'Reddick Tam ⚑", page)


def test_a_late_penalty_is_shown_beside_the_final_mark():
    assert "1.5 −1 late" in text_of(report_page(data()))


def test_a_small_class_is_warned_about():
    assert "Only 5 learners: below about 30 every figure here is shaky" in text_of(report_page(data(marks=of_five())))


def test_a_class_without_submissions_has_a_report_that_says_so():
    empty = MarkSheet("sheet1", 0, 0, (), (), absent=tuple(one.id for one in ROSTER))
    page = text_of(report_page(data(marks=empty)))
    assert "Nobody of 5 learners has handed in yet." in page
    assert "O'Reddick Tam" in page


def test_similarity_is_worded_with_care_and_has_its_chance():
    pair = Similarity("fh003", "fh001", ("L02-02", "L02-03"), "fits the other's numbers", 4.2, 12 * 0.008**2)
    page = text_of(report_page(data(similarity=(pair,))))
    assert "For you only, and not a finding" in page
    assert "answers of O'Reddick Tam are wrong for their own numbers and right for those of Achterberg, Ilse" in page
    assert "chance alone would bring such a pair to fewer than one sheet in a thousand" in page


def test_without_similarity_the_section_is_not_there():
    assert "Worth a conversation" not in report_page(data())


def test_progress_shows_each_group_on_every_sheet():
    page = report_page(data(earlier=(("Sheet 0", marked_sheet()),)))
    # Day: (10 + 7)/2 marks; evening: (1.5 + 2)/2. Of two learners no share is told.
    for group, mean in (("AT-214-D", "8.5"), ("AT-214-E", "1.75")):
        told = rf"{group}: Sheet 0: {mean} of 10 marks \(2 learners\); [^;]*?: {mean} of 10 marks \(2 learners\)"
        assert re.search(told, page), group
    assert "Percent of full marks" not in page


def test_nothing_a_learner_or_a_list_holds_becomes_markup():
    sheet = marked_sheet()
    nasty = replace(sheet.learners[0], name="<img src=x onerror=alert(1)>", flags=("<script>x</script>",))
    page = report_page(data(marks=replace(sheet, learners=(nasty, *sheet.learners[1:]))))
    assert "<img" not in page
    assert "<script" not in page


@pytest.mark.parametrize("earlier", [(), (("Sheet 0", marked_sheet()),)])
def test_the_page_is_well_formed_and_its_ids_are_unique(earlier):
    parser = Balance()
    parser.feed(report_page(data(earlier=earlier)))
    assert parser.faults == []
    assert parser.open == []
    assert len(parser.ids) == len(set(parser.ids))


def test_the_page_loads_nothing():
    page = report_page(data())
    assert not re.search(r'(?:src|href)="(?!#)', page)
    assert all(address.startswith("#") for address in re.findall(r"url\(([^)]*)", page))


def test_links_go_to_feedback_pages_when_they_are_given():
    assert 'href="../../feedback/fh001/sheet1/sheet1.html"' in report_page(data(), "../../feedback/{}/sheet1/sheet1.html")


def test_decisions_of_people_stand_in_the_report_with_who_and_why():
    sheet = marked_sheet()
    first, second = sheet.learners[:2]
    by_hand = replace(second.items[0], score=2.0, automatic=0.0, decided="Marked by hand (R. Okonjo-Vale): right idea")
    gone = [replace(one.items[2], score=0.0, max=0.0, decided="This item was withdrawn: misprint") for one in (first, second)]
    learners = (
        replace(first, items=(*first.items[:2], gone[0])),
        replace(second, items=(by_hand, second.items[1], gone[1])),
    )
    text = text_of(report_page(data(marks=replace(sheet, learners=learners))))
    assert "Núñez-Okafor Marisol fh002 L02-02 0 → 2 Marked by hand (R. Okonjo-Vale): right idea" in text
    assert text.count("L02-08: This item was withdrawn: misprint") == 1


def test_a_withdrawn_item_has_no_figures():
    sheet = marked_sheet()
    learners = tuple(replace(one, items=(*one.items[:2], replace(one.items[2], score=0.0, max=0.0))) for one in sheet.learners)
    assert score_table(replace(sheet, learners=learners)).items == ("L02-02", "L02-03")


def test_mistakes_in_a_withdrawn_item_are_not_taught_again():
    marks = marked_sheet()
    made = {code: mark.item for one in marks.learners for mark in one.items for code in mark.mistakes}
    code, item = next(iter(made.items()))

    def withdrawn(one):
        kept = (mark if mark.item != item else replace(mark, max=0.0, score=0.0) for mark in one.items)
        return replace(one, items=tuple(kept))

    page = text_of(report_page(data(marks=replace(marks, learners=tuple(map(withdrawn, marks.learners))))))
    assert "Seen in ." not in page
    assert f"{item} (" not in page.split("How far to trust")[0].split("Items")[0]
    assert code


def small_class(rows: list[tuple[int, ...]]) -> MarkSheet:
    """A sheet of exercises that bring one mark each, and a class that earned these."""
    marks = [
        LearnerMarks(
            f"fh{number:03}", f"Learner {number}", "D", sum(row), float(len(row)),
            tuple(item(name, score, 1, "right" if score else "wrong", {"answer": "1"}) for name, score in zip(WORDS, row, strict=False)),
            handed_in="2026-10-05T09:00:00+01:00",
        )
        for number, row in enumerate(rows, 1)
    ]  # fmt: skip
    return MarkSheet("s", len(rows), len(rows), (), tuple(marks))


# One alone; one point apart; a class whose figures and their bounds come out at zero, from above and below.
SMALL = [[(1,)], [(1, 0), (0, 1)], [(1, 1, 0), (1, 0, 0)], [(1, 0, 1), (0, 1, 0), (1, 1, 0), (0, 0, 1), (1, 0, 0), (0, 1, 1)]]


@pytest.mark.parametrize(
    "rows",
    [*SMALL, *[[tuple(number >> at & 1 for at in range(3)) for number in range(start, start + 7)] for start in range(4)]],
)
def test_no_report_says_1_of_several_or_minus_zero(rows: list[tuple[int, ...]]) -> None:
    sheet = small_class(rows)
    # In a plot the number at the end of a scale stands before the scale's name.
    told = text_of(re.sub(r"<svg.*?</svg>", " ", report_page(data(marks=sheet)), flags=re.DOTALL))
    several = "marks|learners|items|exercises|answers|places|submissions|pairs|hints|sheets|mistakes|attempts|groups"
    assert re.findall(rf"(?<![\d.,/–-])1 (?:{several})\b.{{0,30}}", told) == []
    assert re.findall(r".{0,30}[-−+]0(?:\.0+)?(?![\d.])", told) == []

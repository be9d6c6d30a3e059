"""A marked course in the book-keeping's grading pages: marks and comments are there, marks by hand stay."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from graders.book import record
from graders.cli.main import main
from graders.course.roster import Roster
from graders.mark.decide import retakes
from tests.browser import lab
from tests.graders.book import rows
from tests.graders.classroom import CLASS, Classroom, blank, right, wrong

pytestmark = [pytest.mark.browser, pytest.mark.slow]
ITEM, REASON = "L03-02", "Right idea, shown at the board."
PICTURES = os.environ.get("GEARKIT_PICTURES", "")


@dataclass
class Desk:
    """The instructor's desk: a course, and a browser that is logged in to the grading pages."""

    room: Classroom
    page: Page
    base: str
    strange: list[str] = field(default_factory=list)

    def opens(self, where: str) -> Page:
        """Open one of the grading pages."""
        self.page.goto(f"{self.base}/formgrader/{where}")
        return self.page

    def opens_work_of(self, learner: str) -> Page:
        """Open a learner's marked copy, by way of the list of everybody's."""
        page = self.opens("gradebook/A1/A1")
        page.get_by_text("Show All Names").click()
        page.locator("tr", has_text=NAMES[learner]).get_by_role("link").first.click()
        expect(page.locator("input.score")).to_have_count(9)
        # The marks come with a second request.
        expect(page.locator(f"input.score#{ITEM}")).to_have_attribute("placeholder", "0")
        return page

    def keeps(self, name: str) -> None:
        """Keep a picture of the page for whoever wants to look at it."""
        if PICTURES:
            self.page.screenshot(path=str(Path(PICTURES) / f"formgrader_{name}.png"), full_page=True)


# As it may stand in a class list that somebody else made; each part of it would leave a trace in the page if it were run.
WICKED = '<script>window.ran=1</script><img src=x onerror="window.ran=2"> [Cy](javascript:window.ran=3) **Ek** $\\pi$'
PEOPLE = Roster(tuple(replace(one, name=WICKED) if one.id == "s3" else one for one in CLASS))
NAMES = {one.id: one.name for one in PEOPLE}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    room = Classroom(tmp_path_factory.mktemp("desk"), roster=PEOPLE)
    for learner, write in (("s1", right), ("s2", wrong), ("s3", blank)):
        room.hand_in(learner, room.copy(learner, write))
    assert main(["mark", str(room.course.folder), "A1"]) == 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
        with lab.serve(room.course.folder) as server, lab.browser_page(1300, 1000) as page:
            found = Desk(room, page, server.base)
            page.route(lambda address: not address.startswith(server.base), lambda route: _refuse(found, route))
            # The grading pages don't take the token themselves; JupyterLab does, and leaves a cookie.
            page.goto(f"{server.base}/lab?token={server.token}")
            page.wait_for_selector("#jp-top-panel", state="attached")
            # The pages wait for a server that marks on the same machine; five seconds are too short for that.
            expect.set_options(timeout=lab.STEP_MILLISECONDS)
            yield found
            expect.set_options(timeout=5_000)


def _refuse(desk: Desk, route: Route) -> None:
    desk.strange.append(route.request.url)
    route.abort()


def test_the_sheet_is_listed_with_everybody_who_handed_in(desk: Desk) -> None:
    page = desk.opens("manage_assignments")
    sheet = page.locator("tr", has=page.get_by_role("link", name="A1", exact=True))
    expect(sheet).to_contain_text("3")
    expect(sheet).to_contain_text("released")
    expect(sheet).not_to_contain_text("draft")
    desk.keeps("assignments")
    sheet.locator(".collect a").click()
    expect(page.locator("#error-modal")).to_contain_text("graders take-in COURSE A1 WHERE")
    expect(page.locator("#error-modal .modal-dialog")).to_be_visible()
    desk.keeps("collect")
    page = desk.opens("manage_submissions/A1")
    for one in record.read(desk.room.course.marks_file("A1")).learners:
        line = page.locator("tr", has_text=one.name)
        expect(line).to_contain_text(f"{one.score:g} / {one.max:g}")
        expect(line).to_contain_text("graded")
    desk.keeps("submissions")


def test_our_marks_and_comments_stand_beside_the_learners_own_answers(desk: Desk) -> None:
    page = desk.opens_work_of("s2")
    marks = record.read(desk.room.course.marks_file("A1")).learners[1]
    for item in marks.items:
        expect(page.locator(f"input.score#{item.item}")).to_have_attribute("placeholder", f"{item.score:g}")
    # The page asks for comments apart from marks, so they may come later.
    comments = page.locator("textarea.comment")
    expect(comments).to_have_count(len(marks.items))
    for nth, item in enumerate(marks.items):
        expect(comments.nth(nth)).to_have_attribute("placeholder", re.compile("^" + re.escape(item.comment)))
    # The task has this learner's numbers, and the answer is what this learner wrote.
    prompt = desk.room.variants("s2")[ITEM].prompt
    numbers = prompt.split("$")[1]
    expect(page.get_by_text(numbers).first).to_be_visible()
    expect(page.locator(".nbgrader_cell", has=page.locator(f"input.score#{ITEM}"))).to_contain_text(f"answer('{ITEM}'")
    desk.keeps("work")


def test_a_name_with_markup_in_it_is_shown_as_words_on_every_page(desk: Desk) -> None:
    for number, where in enumerate(("manage_students", "manage_submissions/A1", "gradebook/A1/A1", "work")):
        page = desk.opens_work_of("s3") if where == "work" else desk.opens(where)
        if where == "gradebook/A1/A1":
            expect(page.get_by_text("Submission #3")).to_be_visible()
            page.get_by_text("Show All Names").click()
        # The copy names the learner at its head; formulas are set once the page stands.
        shown = page.get_by_text("<script>window.ran=1</script>", exact=False).first
        expect(shown).to_be_visible()
        expect(shown).to_contain_text("[Cy](javascript:window.ran=3) **Ek** $\\pi$")
        assert page.locator("img[onerror], a[href^='javascript:window']").count() == 0
        assert page.evaluate("window.ran") is None, where
        desk.keeps(f"wicked_name_{number}")


def test_a_mark_given_by_hand_is_in_the_gradebook_and_stays_when_marking_again(desk: Desk) -> None:
    page = desk.opens_work_of("s2")
    cell = page.locator(".nbgrader_cell", has=page.locator(f"input.score#{ITEM}"))
    with page.expect_response(lambda answer: "/api/grade/" in answer.url and answer.request.method == "PUT"):
        cell.locator("input.score").fill("1.5")
        cell.locator("input.score").blur()
    with page.expect_response(lambda answer: "/api/comment/" in answer.url and answer.request.method == "PUT"):
        cell.locator("textarea.comment").fill(REASON)
        cell.locator("textarea.comment").blur()
    assert ("s2", ITEM, 0.0, 1.5, 1.5) in [row[:5] for row in rows(desk.room.course)]
    assert main(["mark", str(desk.room.course.folder), "A1"]) == 0
    assert ("s2", ITEM, 0.0, 1.5, 1.5) in [row[:5] for row in rows(desk.room.course)]
    marks = record.read(desk.room.course.marks_file("A1")).learners[1]
    item = next(one for one in marks.items if one.item == ITEM)
    assert (item.score, item.automatic, REASON in item.decided) == (1.5, 0.0, True)
    page = desk.opens_work_of("s2")
    expect(page.locator(f"input.score#{ITEM}")).to_have_value("1.5")
    expect(page.locator(f"input.score#{ITEM}")).to_have_attribute("placeholder", "0")
    desk.keeps("by_hand")
    page = desk.opens("manage_submissions/A1")
    expect(page.locator("tr", has_text=NAMES["s2"])).to_contain_text(f"{marks.score:g} / {marks.max:g}")


def test_the_button_that_marks_one_submission_marks_as_the_kit_does(desk: Desk) -> None:
    before = rows(desk.room.course)
    page = desk.opens("manage_submissions/A1")
    page.locator("tr", has_text=NAMES["s1"]).locator(".autograde a").click()
    expect(page.get_by_text("Success", exact=False).first).to_be_visible()
    desk.keeps("button")
    assert rows(desk.room.course) == before


def test_the_grading_pages_ask_nothing_of_the_outside_but_the_typesetting_of_formulas(desk: Desk) -> None:
    desk.opens_work_of("s2")
    assert [address for address in desk.strange if "mathjax" not in address.lower()] == []


def test_the_sum_of_a_learners_marks_counts_a_retake_once(desk: Desk) -> None:
    room = desk.room
    marks = {one.learner: one for one in record.read(room.course.marks_file("A1")).learners}
    again, _ = retakes.offer(room.course, room.sheet, ["s3"], cap=50)
    sitting = Classroom.__new__(Classroom)
    sitting.course, sitting.sheet = room.course, again
    sitting.hand_in("s3", sitting.copy("s3", right))
    assert main(["mark", str(room.course.folder), again.name]) == 0
    page = desk.opens("manage_students")
    full = marks["s3"].max
    for learner, counts in (("s1", marks["s1"].score), ("s3", full / 2)):
        expect(page.locator("tr", has_text=NAMES[learner])).to_contain_text(f"{counts:g} / {full:g}")
    desk.keeps("retake")
    page = desk.opens("manage_assignments")
    expect(page.locator("tr", has=page.get_by_role("link", name=again.name, exact=True))).to_contain_text("released")
    desk.keeps("retake_listed")

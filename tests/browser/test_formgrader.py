"""The book-keeping's own grading page on a course of ours: it shows our marks, and a mark given there counts."""

from __future__ import annotations

import json
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from graders.mark import batch, decisions, record
from tests.browser.lab import Server, browser_page, serve
from tests.graders.classroom import Classroom, right, wrong

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Classroom:
    found = Classroom(tmp_path_factory.mktemp("grading"), source="L03-02,L03-03")
    found.hand_in("s1", found.copy("s1", right))
    found.hand_in("s2", found.copy("s2", wrong))
    batch.mark_sheet(found.course, found.sheet)
    return found


def asked(server: Server, path: str) -> list[dict[str, object]]:
    request = urllib.request.Request(server.base + path, headers={"Authorization": f"token {server.token}"})
    with urllib.request.urlopen(request, timeout=60) as reply:
        found: list[dict[str, object]] = json.loads(reply.read())
    return found


def logged_in(page: Page, server: Server) -> None:
    # The grading page's own address takes no token; the cookie comes from here.
    page.goto(f"{server.base}/tree?token={server.token}")
    page.wait_for_load_state("domcontentloaded")


def test_the_grading_page_shows_our_marks_and_a_mark_given_there_counts(room: Classroom) -> None:
    with serve(Path(room.course.folder)) as server, browser_page() as page:
        submissions = {one["student"]: one for one in asked(server, "/formgrader/api/submissions/A1")}
        assert [(submissions[name]["score"], submissions[name]["max_score"]) for name in ("s1", "s2")] == [(4, 4), (0, 4)]
        assert not any(submissions[name]["needs_manual_grade"] for name in ("s1", "s2"))
        notebooks = {one["student"]: one for one in asked(server, "/formgrader/api/submitted_notebooks/A1/A1")}
        logged_in(page, server)
        page.goto(f"{server.base}/formgrader/manage_submissions/A1")
        expect(page.get_by_text("Ødegård", exact=False).first).to_be_visible()
        page.goto(f"{server.base}/formgrader/submissions/{notebooks['s2']['id']}/")
        boxes = page.locator("input.score")
        expect(boxes).to_have_count(2)
        assert [boxes.nth(n).get_attribute("placeholder") for n in range(2)] == ["0", "0"]
        comments = page.locator("textarea.comment")
        shown = [comments.nth(n).get_attribute("placeholder") or "" for n in range(2)]
        marked = [item.comment for item in record.read(room.course.marks_file("A1")).learners[1].items]
        assert all(told.startswith(comment) for told, comment in zip(shown, marked, strict=True))
        boxes.first.fill("1.5")
        with page.expect_response(lambda reply: "/api/grade/" in reply.url and reply.request.method == "PUT"):
            boxes.first.press("Tab")
    marks = batch.mark_sheet(room.course, room.sheet).learners[1]
    assert [(item.score, item.automatic) for item in marks.items] == [(1.5, 0.0), (0.0, None)]
    (override,) = [one for one in decisions.read(room.course) if one.score is not None]
    assert (override.by, override.learner, override.item) == ("grading page", "s2", "L03-02")

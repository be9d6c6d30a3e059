"""What a learner sees first: the home page of the course, as the learner's own command opens it."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from playwright.sync_api import expect

from gearkit.lesson import lesson_copies
from gearkit.lesson.course.links import HOME
from tests.browser import lab
from tests.support.amounts import SHORT

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.skipif(SHORT, reason="one more JupyterLab; the files are read"),
]


def commands_in(folder: Path) -> list[str]:
    """The commands of all processes that work in a folder."""
    commands = []
    for process in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            if (process / "cwd").resolve() == folder.resolve():
                commands.append((process / "cmdline").read_text().replace("\0", " "))
    return commands


def test_home_opens_without_questions_or_grading_menus_and_leads_to_a_lesson_and_back(tmp_path: Path) -> None:
    folder, own = lesson_copies.hand_over(tmp_path / "lessons"), tmp_path / "own"
    command = lesson_copies.lab_command(folder)
    with lab.serve(folder, own_command=command, home=own) as server, lab.browser_page(1366, 768) as page:
        with pytest.raises(HTTPError, match="403"):
            urlopen(f"{server.base}/api/nbconvert", timeout=lab.START_SECONDS)
        # What a notebook can be exported as is found out once the first one is alive.
        with page.expect_response("**/api/nbconvert*", timeout=lab.STEP_MILLISECONDS):
            lab.open_notebook(page, server, HOME)
        expect(page.get_by_role("heading", name="Your course")).to_be_visible()
        expect(page.get_by_text("You have not begun yet.")).to_be_visible()
        assert page.get_by_text("news", exact=False).count() == 0
        for word in ("Nbgrader", "Create Assignment", "Validate"):
            assert page.get_by_text(word).count() == 0
        expect(page.locator("#jp-main-statusbar")).to_contain_text(lab.KERNEL_IDLE, timeout=lab.STEP_MILLISECONDS)
        if Path("/proc/self").exists():
            assert any("gearkit.lesson.course.kernel_in_waiting" in command for command in commands_in(folder))
        page.get_by_role("link", name="Start here").first.click()
        expect(page.get_by_role("heading", name="Start here: how a lesson works")).to_be_visible()
        expect(page.locator("#jp-main-statusbar")).to_contain_text(lab.KERNEL_IDLE, timeout=lab.STEP_MILLISECONDS)
        # The folded cell that opens the lesson, alone: whoever runs all is taken to the end.
        page.get_by_text("# Run this first").click()
        page.keyboard.press("Shift+Enter")
        ways = page.get_by_role("navigation", name="Course").first
        expect(ways.get_by_role("link", name="Lesson 1: Gear pairs →")).to_be_visible(timeout=30_000)
        ways.get_by_role("link", name="Home").click()
        expect(page.get_by_role("heading", name="Your course")).to_be_visible()
        page.wait_for_timeout(1000)
        page.get_by_role("menuitem", name="File", exact=True).click()
        page.get_by_text("Save and Export Notebook As").click()
        expect(page.get_by_text("HTML", exact=True)).to_be_visible()
    # Whoever started it reads this in the terminal.
    log = (own / "server.log").read_text(encoding="utf-8")
    assert "ServerApp" in log
    assert [word for word in ("not recognized", "AuthWarning", "Debugger warning", "Traceback") if word in log] == []


def test_on_a_phone_home_has_nearly_the_whole_width_and_a_list_of_files_opened_once_stays(tmp_path: Path) -> None:
    folder = lesson_copies.hand_over(tmp_path / "lessons")
    with lab.serve(folder, own_command=lesson_copies.lab_command(folder)) as server, lab.browser_page(390, 800) as page:
        # As the learner's own command opens it: nothing is reset.
        address = f"{server.base}/lab/tree/{HOME}?token={server.token}"
        page.goto(address)
        notebook = page.locator(".jp-NotebookPanel")
        expect(page.get_by_role("heading", name="Your course")).to_be_visible(timeout=lab.STEP_MILLISECONDS)
        assert (notebook.bounding_box() or {})["width"] >= 330
        page.get_by_role("tab", name="File Browser").click()
        expect(page.locator("#jp-left-stack")).to_be_visible()
        page.wait_for_timeout(2000)
        page.set_viewport_size({"width": 1366, "height": 768})
        page.goto(address)
        expect(page.get_by_role("heading", name="Your course")).to_be_visible(timeout=lab.STEP_MILLISECONDS)
        expect(page.locator("#jp-left-stack")).to_be_visible()

"""Ways from one page of the course to another, where the pages lie on the learner's shelf."""

from __future__ import annotations

import os
from html import escape
from pathlib import Path

from gearkit.lesson.record import FIRST_LESSON_FOLDER
from gearkit.lesson.syllabus import LESSONS, LessonPlan
from gearkit.words.say import say

HOME = "home.ipynb"


def shelf_of(start: Path) -> Path | None:
    """Return the folder in which the lessons lie; None where there is none.

    Args:
        start: the folder of the open notebook.
    """
    folder = start.resolve()
    return next((each for each in (folder, *list(folder.parents)[:2]) if (each / FIRST_LESSON_FOLDER).is_dir()), None)


def notebook_of(plan: LessonPlan) -> Path:
    """Return where a lesson's notebook lies on a shelf.

    Args:
        plan: the lesson.
    """
    return Path(plan.folder) / f"{plan.folder.partition('_')[2]}.ipynb"


def link(target: Path, words: str, start: Path) -> str:
    """Return a link as HTML; only its words where there is no such page.

    Args:
        target: the page, from the shelf.
        words: what it says.
        start: the folder of the open notebook.
    """
    shelf = shelf_of(start)
    if shelf is None or not (shelf / target).is_file():
        return escape(words)
    address = Path(os.path.relpath(shelf / target, start.resolve())).as_posix()
    return f'<a href="{escape(address, quote=True)}">{escape(words)}</a>'


def back_and_next(number: str, start: Path) -> str:
    """Return the way back, home and on from a lesson as HTML; "" where the lesson lies on no shelf.

    Args:
        number: the lesson's number.
        start: the folder of the open notebook.
    """
    if number not in LESSONS or shelf_of(start) is None:
        return ""
    order = list(LESSONS)
    place = order.index(number)
    ways = [link(Path(HOME), say("Home"), start)]
    if place > 0:
        ways.insert(0, link(notebook_of(LESSONS[order[place - 1]]), f"← {title_of(order[place - 1])}", start))
    if place + 1 < len(order):
        ways.append(link(notebook_of(LESSONS[order[place + 1]]), f"{title_of(order[place + 1])}\u00a0→", start))
    return f'<nav aria-label="Course"><p>{" · ".join(ways)}</p></nav>'


def title_of(number: str) -> str:
    """Return a lesson's number with its title, without what comes after a colon.

    Args:
        number: the lesson's number.
    """
    short = LESSONS[number].title.partition(":")[0]
    return short if number == "00" else say("Lesson {number}: {short}", number=int(number), short=short)

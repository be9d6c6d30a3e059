"""A lesson as one HTML file for a double click or a mail: panels and predictions live, without Python and without a server."""

from __future__ import annotations

from pathlib import Path

from gearkit.lesson.syllabus import LESSONS
from gearkit.site.lesson_parts import Parts, parts_of
from gearkit.site.page import data_of, framed, script_of, style
from gearkit.text import places
from gearkit.text.files import write_asked
from gearkit.words.errors import UsageError
from gearkit.words.say import say, say_n

MOST_BYTES = 300_000


def notebook_of(number: str) -> Path:
    """Return the notebook of a lesson.

    Args:
        number: such as "03" or "3".

    Raises:
        UsageError: there is no such lesson.
    """
    plan = LESSONS.get(number.strip().removeprefix("L").zfill(2))
    if plan is None or not number.strip():
        raise UsageError(f"There is no lesson {number!r}. Lessons: {', '.join(LESSONS)}.")
    (notebook,) = (places.lessons() / plan.folder).glob("*.ipynb")
    return notebook


def single_page(number: str) -> str:
    """Return a lesson as one page of HTML, its panels' states compressed only where it would be too large for a mail.

    Args:
        number: the lesson's number.

    Raises:
        UsageError: there is no such lesson.
        GearkitError: a cell of the lesson fails.
    """
    parts = parts_of(notebook_of(number), lambda _target: None, "")
    plan = LESSONS[number.strip().removeprefix("L").zfill(2)]
    entries = sorted({held["module"] for held in parts.panels.values()})
    script = script_of(entries, "lesson_page")
    title = say("Lesson {number}: {title}", number=int(plan.number), title=plan.title)
    main = f'<main><p class="gk-say" role="note">{_about(parts)}</p>\n{parts.html}</main>'
    for packed in (False, True):
        data = data_of({"panels": parts.panels}, packed=packed)
        text = framed(title, main, f"<style>{style()}</style>", f'{data}\n<script type="module">{script}</script>')
        if len(text.encode()) <= MOST_BYTES:
            break
    return text


def write(number: str, path: Path) -> int:
    """Write a lesson as one page to a file and return its size in bytes.

    Args:
        number: the lesson's number.
        path: the file, ending in .html; folders on the way to it are made where they are missing.

    Raises:
        UsageError: no such lesson, a name that is none of a page, or a file that cannot be written.
    """
    if path.suffix.lower() not in (".html", ".htm"):
        raise UsageError(f"{path}: a page has a name that ends in .html, such as lesson_{number.strip()}.html.")
    text = single_page(number)
    write_asked(path, text)
    return len(text.encode())


def _about(parts: Parts) -> str:
    return say_n(
        "In this file panels and predictions are live, and your predictions are kept in this browser; "
        "{count} exercise or task needs Python and is only in the whole course.",
        "In this file panels and predictions are live, and your predictions are kept in this browser; "
        "{count} exercises, tasks and the like need Python and are only in the whole course.",
        parts.waiting,
    )

"""Removes a learner from a course: class list, copies, submissions, marks, gradebook, feedback, reports, decisions.

What is about the learner alone is deleted. What is about others too is written anew without them: reports and mark
sheets. In the trail of decisions the learner's identity gives way to a word, so that the trail stays whole.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError
from graders.book import gradebook, record
from graders.course import accounts, course_lock, roster
from graders.course.course import Course, check_learner
from graders.course.out import WITHDRAWN
from graders.course.roster import Roster
from graders.hand_out import exchange
from graders.mark.decide import decisions, retakes
from graders.mark.workers.worker import part_file

REMOVED = "(removed)"
_FOLDERS = ("submitted", "handed_out", "drawn", "autograded", "feedback", "replaced")


@dataclass(frozen=True)
class Removal:
    """What was removed.

    Args:
        learner: identity.
        done: one line for each place where something was removed.
        left: files that still hold the identity and that the kit did not make; for a person to look at.
    """

    learner: str
    done: tuple[str, ...]
    left: tuple[Path, ...]


def remove(course: Course, learner: str) -> Removal:
    """Remove a learner from a course; doing it again removes what is left.

    Args:
        course: the course.
        learner: identity.

    Raises:
        UsageError: the identity cannot be one, or the course has nothing of it.
        GearkitError: something cannot be removed; doing it again goes on.
    """
    fault = check_learner(learner)
    if fault:
        raise UsageError(f"Nothing was removed: {fault}.")
    steps: tuple[tuple[str, Callable[[Course, str], int]], ...] = (
        ("exchange folder", exchange.forget), ("folders", _folders), ("results of marking", _parts),
        ("withdrawn sheets", _what_was_withdrawn), ("mark sheets", _mark_sheets), ("gradebook", _gradebook), ("retakes", _retakes), ("decisions", _decisions),
        ("accounts", accounts.forget), ("reports", _reports), ("class list", _class_list),
    )  # fmt: skip
    done: list[str] = []
    try:
        with course_lock.taken(course, "removing a learner"):
            for what, step in steps:
                # A report may hold the same letters by chance: somebody of whom nothing else is there is not known here.
                if step is _reports and not done and not _on_class_list(course, learner):
                    continue
                count = step(course, learner)
                done += [f"{what}: {count}"] if count else []
    except OSError as error:
        raise GearkitError(
            f"{learner} is not removed everywhere yet: {error.filename}: {error.strerror}. Correct this and do it again."
        ) from None
    if not done:
        raise UsageError(f"The course {course.folder} has nothing of {learner!r}. Is the identity right?")
    return Removal(learner, tuple(done), tuple(_still_naming(course, learner)))


def _folders(course: Course, learner: str) -> int:
    count = 0
    for folder in [base / step / learner for base in (course.folder, *_withdrawn(course)) for step in _FOLDERS]:
        if folder.is_symlink():
            folder.unlink()
            count += 1
        elif folder.exists():
            shutil.rmtree(folder)
            count += 1
    return count


def _withdrawn(course: Course) -> list[Path]:
    """The folders of sheets that were withdrawn; each is laid out as a course is."""
    return sorted((course.folder / WITHDRAWN).glob("*/"))


def _what_was_withdrawn(course: Course, learner: str) -> int:
    """Delete mark sheets and reports of withdrawn sheets that hold the learner: nobody will write them anew."""
    paths = [path for base in _withdrawn(course) for path in base.rglob("*") if path.is_file() and _names(path, learner)]
    for path in paths:
        path.unlink()
    return len(paths)


def _parts(course: Course, learner: str) -> int:
    count = 0
    for folder in (course.folder / "marks").glob("*/"):
        path = part_file(course, folder.name, learner)
        if path.exists():
            path.unlink()
            count += 1
    return count


def _mark_sheets(course: Course, learner: str) -> int:
    count = 0
    for path in sorted((course.folder / "marks").glob("*.json")):
        if len(path.suffixes) > 1:
            count += _by_hand(path, learner)
            continue
        marks = record.read(path)
        learners = tuple(marked for marked in marks.learners if marked.learner != learner)
        absent = tuple(who for who in marks.absent if who != learner)
        if (learners, absent) == (marks.learners, marks.absent):
            continue
        failed = tuple(failure for failure in marks.failed if failure.learner != learner)
        submissions = len(learners)
        record.write(
            replace(marks, learners=learners, absent=absent, failed=failed, submissions=submissions,
                    marked=submissions - len(failed)),
            path,
        )  # fmt: skip
        count += 1
    return count


def _by_hand(path: Path, learner: str) -> int:
    if not path.name.endswith(".by_hand.json"):
        return 0
    rows = json.loads(path.read_text(encoding="utf-8"))
    kept = [row for row in rows if row[0] != learner]
    if kept == rows:
        return 0
    write_atomically(path, json.dumps(kept, ensure_ascii=False) + "\n")
    return 1


def _gradebook(course: Course, learner: str) -> int:
    return int(gradebook.remove_learner(course, learner))


def _retakes(course: Course, learner: str) -> int:
    return retakes.forget(course, learner)


def _decisions(course: Course, learner: str) -> int:
    return decisions.forget(course, learner, REMOVED)


def _reports(course: Course, learner: str) -> int:
    """Delete reports that hold the learner, and all with pseudonyms; they can be written anew from the marks."""
    count = 0
    folder = course.folder / "reports"
    for path in sorted(folder.rglob("*")):
        if path.is_file() and (_names(path, learner) or "pseudonyms" in path.relative_to(folder).parts):
            path.unlink()
            count += 1
    return count


def _class_list(course: Course, learner: str) -> int:
    """Last, so that whoever is broken off can still be found and removed by doing it again."""
    if not _on_class_list(course, learner):
        return 0
    left = Roster(tuple(known for known in roster.read(course.roster_file) if known.id != learner))
    if len(left):
        roster.write(left, course.roster_file)
    else:
        os.unlink(course.roster_file)
    return 1


def _on_class_list(course: Course, learner: str) -> bool:
    return course.roster_file.exists() and roster.read(course.roster_file).find(learner) is not None


def _names(path: Path, learner: str) -> bool:
    """Say whether a file holds an identity as a word; letters that happen to follow one another in a picture are none."""
    data = re.sub(rb"base64,[A-Za-z0-9+/=]*", b"", path.read_bytes())
    word = rb"(?:(?<![A-Za-z0-9])|(?<=\\[nt]))" + re.escape(learner.encode()) + rb"(?![A-Za-z0-9])"
    return re.search(word, data) is not None


def _still_naming(course: Course, learner: str) -> list[Path]:
    """Find files of the course that still hold the identity, other learners' own work aside."""
    paths = []
    for path in sorted(course.folder.rglob("*")):
        inside = path.relative_to(course.folder).parts[0]
        if inside not in _FOLDERS and path.is_file() and not path.is_symlink() and _names(path, learner):
            paths.append(path)
    return paths

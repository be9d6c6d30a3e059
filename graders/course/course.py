"""The course folder: its settings, its secret, and where everything lies in it.

The folders are the class book-keeping's own (source, release, submitted, autograded, feedback);
ours beside them are `sheets`, `handed_out`, `marks` and `reports`. Settings stand in `course.toml`,
the secret that the learners' numbers are drawn from in `.secret`, which only its owner may read.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from gearkit.answers.read.commas import DECIMAL, EITHER, THOUSANDS
from gearkit.text.files import write_atomically
from gearkit.train.data_file import read_document
from gearkit.words.errors import UsageError
from gearkit.words.say import ENGLISH, catalogue_of, languages, speaking_language
from graders.course.language import comma_of
from graders.course.lateness import UNASKED, Late, Rules
from graders.course.out import why_settled
from graders.course.secret import SECRET_CHECK, fingerprint, new_secret, read_secret, refuse_another
from graders.course.settings_file import CELL_SECONDS, FORMAT, check_zone, settings_text

# What stands for a lesson's folder in the address of the lessons, and what may be an address: nothing that a page could run.
LESSON = "<lesson>"
_ADDRESS = re.compile(r"https?://[^\s\"'\\]+")
# The most seconds that a course may let a cell of a learner's run.
MOST_CELL_SECONDS = 60
LEARNER_NAME = re.compile(r"\w[\w.@-]{0,63}")
SHEET_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")


@dataclass(frozen=True)
class Course:
    """A course folder that has been opened.

    Args:
        folder: the folder.
        id: short identity, for example "AT-214"; part of the gradebook.
        title: the course's name for people.
        time_zone: name of the zone in which due times are meant, for example "Europe/London".
        rules: what the course does about lateness.
        gradebook: address of the gradebook's database, "" for the file gradebook.db in the folder.
        comma: what three digits after a comma are in answers: "decimal", "thousands", or "either", which hands them back; a
            sheet that says nothing of its own takes it when it is handed out. Where the course's language writes decimals with a
            comma, it is "decimal" unless the course says otherwise.
        ideas: True where pages may say which idea seems to be behind several of a learner's answers.
        lessons: address at which learners find the lessons, "" where there is none; `<lesson>` in it stands for a lesson's folder.
        cell_seconds: seconds that a cell of a learner's notebook may run when its code has to be run, 1 to 60.
        language: in which sheets, feedback and pages for learners come out, such as "de".
    """

    folder: Path
    id: str
    title: str
    time_zone: str = "UTC"
    rules: Rules = field(default_factory=Rules)
    gradebook: str = ""
    comma: str = EITHER
    ideas: bool = True
    lessons: str = ""
    cell_seconds: int = CELL_SECONDS
    language: str = ENGLISH

    def speaking(self) -> AbstractContextManager[None]:
        """Say everything inside a ``with`` block in the course's language."""
        return speaking_language(self.language)

    @property
    def zone(self) -> ZoneInfo:
        """The course's time zone."""
        return ZoneInfo(self.time_zone)

    @property
    def roster_file(self) -> Path:
        """The class list that was handed out to."""
        return self.folder / "roster.csv"

    @property
    def gradebook_url(self) -> str:
        """Where the gradebook is, as a database address."""
        return self.gradebook or f"sqlite:///{self.folder / 'gradebook.db'}"

    @property
    def submitted(self) -> Path:
        """The folder of everything handed in."""
        return self.folder / "submitted"

    def sheet_file(self, sheet: str) -> Path:
        """The description of a sheet."""
        return self.folder / "sheets" / f"{sheet}.toml"

    def source_file(self, sheet: str) -> Path:
        """The sheet's notebook from which the class's copies are made."""
        return self.folder / "source" / sheet / f"{sheet}.ipynb"

    def release_file(self, sheet: str) -> Path:
        """The sheet's notebook as released, without anybody's numbers."""
        return self.folder / "release" / sheet / f"{sheet}.ipynb"

    def handed_out_file(self, learner: str, sheet: str) -> Path:
        """The copy that was made for a learner.

        Args:
            learner: identity of the learner.
            sheet: name of the sheet.
        """
        return self.folder / "handed_out" / learner / sheet / f"{sheet}.ipynb"

    def submitted_folder(self, learner: str, sheet: str) -> Path:
        """Where a learner's submission lies.

        Args:
            learner: identity of the learner.
            sheet: name of the sheet.
        """
        return self.submitted / learner / sheet

    def autograded_file(self, learner: str, sheet: str) -> Path:
        """The marked copy that the gradebook shows.

        Args:
            learner: identity of the learner.
            sheet: name of the sheet.
        """
        return self.folder / "autograded" / learner / sheet / f"{sheet}.ipynb"

    def feedback_folder(self, learner: str, sheet: str) -> Path:
        """Where a learner's feedback page lies.

        Args:
            learner: identity of the learner.
            sheet: name of the sheet.
        """
        return self.folder / "feedback" / learner / sheet

    def marks_file(self, sheet: str) -> Path:
        """The mark sheet."""
        return self.folder / "marks" / f"{sheet}.json"

    def reports_folder(self, sheet: str) -> Path:
        """Where the reports about a sheet lie."""
        return self.folder / "reports" / sheet

    def lesson_address(self, folder: str) -> str:
        """Where learners find a lesson, or "" where the course does not say.

        Args:
            folder: the folder of its notebook, such as "03_what_one_set_can_do".
        """
        if not self.lessons or LESSON in self.lessons:
            return self.lessons.replace(LESSON, folder)
        return f"{self.lessons.rstrip('/')}/{folder}"

    def secret(self) -> bytes:
        """The secret that the learners' numbers are drawn from.

        Raises:
            UsageError: it is missing, damaged, not this course's own, or others than its owner may read it.
        """
        key = read_secret(self.folder / ".secret")
        refuse_another(self.folder, key)
        return key

    def remember_secret(self) -> None:
        """Write down the secret's fingerprint, if none stands there, so that another course's secret is noticed."""
        path = self.folder / SECRET_CHECK
        if not path.exists():
            write_atomically(path, fingerprint(read_secret(self.folder / ".secret")) + "\n", mode=0o600)


def create(
    folder: Path,
    *,
    course_id: str = "",
    title: str = "",
    time_zone: str = "",
    gradebook: str = "",
    comma: str = "",
    rules: Rules | None = None,
    cell_seconds: int = 0,
    language: str = "",
) -> Course:
    """Make a course folder with settings and a new secret, or open the one that is there.

    Until something was handed out, settings that are given take the place of those that are there; a sheet that was withdrawn
    before anybody handed in does not count.

    Args:
        folder: the folder; made if it is missing, and then closed to everybody but its owner; what is in it stays.
        course_id: short identity; the folder's name if empty.
        title: the course's name for people; the identity if empty.
        time_zone: zone in which due times are meant; UTC if empty.
        gradebook: address of the gradebook's database; a file in the folder if empty.
        comma: what three digits after a comma are in answers, "decimal" or "thousands"; either if empty.
        rules: what lateness costs; nothing where none are given.
        cell_seconds: seconds that a cell of a learner's notebook may run; 5 if 0.
        language: in which sheets, feedback and pages for learners come out; English if empty.

    Raises:
        UsageError: an unknown time zone, an identity that cannot name a folder, settings that are there and cannot be used,
            or others than those that a course has from which something was handed out.
    """
    folder = folder.absolute()
    settings = folder / "course.toml"
    given: dict[str, Any] = {"id": course_id, "title": title, "time_zone": time_zone, "gradebook": gradebook, "comma": comma}
    given |= {"rules": rules, "cell_seconds": cell_seconds, "language": language}
    if not settings.exists():
        course_id = course_id or re.sub(r"[^A-Za-z0-9_-]+", "-", folder.name).strip("-_")[:64] or "course"
        _make_settings(Course(folder, course_id, course_id, rules=UNASKED), settings, given)
    elif not (settled := why_settled(folder)):
        _make_settings(open_course(folder), settings, given)
    else:
        _same_settings(open_course(folder), settings, given, settled)
    secret_file = folder / ".secret"
    if not secret_file.is_symlink() and not secret_file.exists():
        if (folder / SECRET_CHECK).exists() or (folder / "handed_out").exists():
            read_secret(secret_file)  # A course that had one has lost it; a new one would give everybody other numbers.
        write_atomically(secret_file, new_secret() + "\n", mode=0o600)
        open_course(folder).remember_secret()
    return open_course(folder)


def _make_settings(course: Course, settings: Path, given: Mapping[str, Any]) -> None:
    """Write a course's settings, with those that are given in place of its own."""
    made = replace(course, **{key: value for key, value in given.items() if value})
    if not SHEET_NAME.fullmatch(made.id):
        raise UsageError(
            f"Course identity {made.id!r} cannot name a folder; "
            "use up to 64 letters, digits, '_' and '-', beginning with a letter or digit."
        )
    check_zone(made.time_zone, settings)
    catalogue_of(made.language)
    _make_folder(made.folder)
    if not settings.exists() or made != course:
        # The address of a gradebook may hold a password.
        write_atomically(settings, settings_text(made), mode=0o600 if made.gradebook else 0o644)


def _same_settings(course: Course, settings: Path, wanted: Mapping[str, Any], settled: str) -> None:
    """Refuse settings for a course that has others already: learners have read those, so these would do nothing."""
    if wanted["gradebook"] and wanted["gradebook"] != course.gradebook:
        raise UsageError(
            f"The course {course.folder} keeps its gradebook elsewhere. To move it, mark every sheet, change the "
            f"line gradebook in {settings}, and hand out and mark every sheet again."
        )
    for key, value in wanted.items():
        there = getattr(course, key)
        if value and value != there:
            late = key == "rules"
            shown = f"the late rule {there}, not {value}" if late else f"{key} = {there!r}, not {value!r}"
            line = "what stands under [rules]" if late else "the line"
            raise UsageError(
                f"The course {course.folder} is there already, with {shown}, and {settled}. "
                f"Leave the option out, or change {line} in {settings} and tell the class."
            )


def open_course(folder: Path) -> Course:
    """Open a course folder.

    Args:
        folder: the folder that holds course.toml.

    Raises:
        UsageError: there is no course there, or its settings cannot be used.
    """
    folder = folder.absolute()
    settings = folder / "course.toml"
    try:
        data = read_document(settings, "The course's settings")
    except FileNotFoundError:
        raise UsageError(
            f"{folder} is not a course folder: course.toml is missing. "
            "Make one with: graders course COURSE --title TITLE, or by handing out: graders hand-out COURSE SHEET --class ROSTER.csv"
        ) from None
    return _course_from(folder, settings, data)


def _course_from(folder: Path, settings: Path, data: Mapping[str, Any]) -> Course:
    known = {
        "format",
        "id",
        "title",
        "time_zone",
        "gradebook",
        "comma",
        "ideas",
        "lessons",
        "cell_seconds",
        "rules",
        "language",
    }
    faults = [f"{key}: unknown; known are {', '.join(sorted(known))}" for key in data if key not in known]
    if data.get("format") != FORMAT:
        faults.append(f"format: found {data.get('format')!r}, expected {FORMAT}")
    texts = {}
    for key, default in (("id", ""), ("title", ""), ("time_zone", "UTC")):
        texts[key] = data.get(key, default)
        if not isinstance(texts[key], str) or not texts[key].strip():
            faults.append(f"{key}: found {texts[key]!r}, expected a text in quotes")
    gradebook = data.get("gradebook", "")
    if not isinstance(gradebook, str):
        faults.append(f"gradebook: found {gradebook!r}, expected the address of a database in quotes")
    language = data.get("language", ENGLISH)
    if language not in languages():
        faults.append(f"language: found {language!r}, expected one of {', '.join(languages())}")
    comma = data.get("comma", comma_of(language))
    if comma not in (EITHER, DECIMAL, THOUSANDS):
        faults.append(f"comma: found {comma!r}, expected one of {EITHER}, {DECIMAL}, {THOUSANDS}")
    ideas = data.get("ideas", True)
    if not isinstance(ideas, bool):
        faults.append(f"ideas: found {ideas!r}, expected true, or false where pages shall not tell of ideas behind answers")
    lessons = data.get("lessons", "")
    if not isinstance(lessons, str) or (lessons and not _ADDRESS.fullmatch(lessons)):
        faults.append(
            f"lessons: found {lessons!r}, expected an address that begins with https:// or http://, such as "
            f'"https://school.example/lessons/{LESSON}.html" ({LESSON} stands for a lesson\'s folder, such as 03_what_one_set_can_do)'
        )
    seconds = data.get("cell_seconds", CELL_SECONDS)
    if isinstance(seconds, bool) or not isinstance(seconds, int) or not 1 <= seconds <= MOST_CELL_SECONDS:
        faults.append(f"cell_seconds: found {seconds!r}, expected a whole number of seconds from 1 to {MOST_CELL_SECONDS}")
    rules, more = _rules_from(data.get("rules", {}))
    faults += more
    if faults:
        raise UsageError(f"{settings}: " + "; ".join(faults))
    check_zone(texts["time_zone"], settings)
    return Course(
        folder, texts["id"], texts["title"], texts["time_zone"], rules, gradebook, comma, ideas, lessons, seconds, language
    )


def _rules_from(table: Any) -> tuple[Rules, list[str]]:
    if not isinstance(table, dict):
        return Rules(), [f"rules: found {table!r}, expected a table [rules]"]
    names = tuple(Rules.__dataclass_fields__)
    faults = [f"rules.{key}: unknown; known are {', '.join(names)}" for key in table if key not in names]
    usable: dict[str, Any] = {}
    for key in names:
        value = table.get(key)
        if value is None:
            continue
        if key == "late":
            if value in list(Late):
                usable[key] = Late(value)
            else:
                faults.append(f"rules.late: found {value!r}, expected one of {', '.join(Late)}")
        elif isinstance(value, bool) or not isinstance(value, int) or value < 0:
            faults.append(f"rules.{key}: found {value!r}, expected a whole number from 0")
        else:
            usable[key] = value
    return Rules(**usable), faults


def check_learner(learner: str) -> str | None:
    """Why a learner's identity cannot be used (it names a folder), or None where it can."""
    if unicodedata.normalize("NFC", learner) != learner:
        return f"identity {learner!r} is written with combined accents; save the list as ordinary UTF-8"
    if not LEARNER_NAME.fullmatch(learner):
        return (
            f"identity {learner!r} cannot name a folder; "
            "use up to 64 letters, digits, '.', '_', '-' and '@', beginning with a letter or digit"
        )
    return None


def check_sheet(sheet: str) -> str:
    """The name of a sheet, checked.

    Raises:
        UsageError: the name cannot name a folder.
    """
    if not SHEET_NAME.fullmatch(sheet):
        raise UsageError(
            f"Sheet name {sheet!r} cannot name a folder; "
            "use up to 64 letters, digits, '_' and '-', beginning with a letter or digit."
        )
    return sheet


def _make_folder(folder: Path) -> None:
    """Make the folder for its owner alone: on a shared machine learners could look into it otherwise."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError as fault:
        raise UsageError(f"The course folder {folder} cannot be made: {fault.strerror}.") from None

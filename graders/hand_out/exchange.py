"""Hands a sheet out, and feedback back, through a folder that a class shares on one machine, such as a JupyterHub's.

The layout is the class book-keeping's exchange, so that its buttons in JupyterLab work, with one folder more::

    EXCHANGE/COURSE/outbound/SHEET/   the sheet without numbers, for everybody; what can be fetched and handed in
    EXCHANGE/COURSE/own/LEARNER/SHEET/   each learner's own copy, and their feedback page; open to them alone
    EXCHANGE/COURSE/inbound/          what is handed in; everybody may put work there, only the instructor lists it
    EXCHANGE/COURSE/feedback/         feedback pages under names that only the one who handed in can know
"""

from __future__ import annotations

import os
import shutil
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError, UsageError
from graders.book import tables
from graders.course import access, accounts
from graders.course.course import Course
from graders.course.roster import Roster
from graders.take_in.inbound import INBOUND

OUTBOUND, OWN, FEEDBACK = "outbound", "own", "feedback"
# Enter and read; enter only; enter and write but not list, with the instructor's group on what is put there, and nobody may move
# or delete what somebody else put there.
_MODES = {OUTBOUND: 0o755, OWN: 0o711, INBOUND: 0o3733, FEEDBACK: 0o711}
_SECRET = "submission_secret.txt"
FEEDBACK_PAGE = "feedback.html"
_REMEMBERED = "exchange_folder.txt"


@dataclass(frozen=True)
class Released:
    """What was put into the exchange folder.

    Args:
        folder: the course's folder in it.
        opened: learners who have their own copy there now.
        without_account: learners who have no account on this machine, with the name that was looked for.
        pages: feedback pages that are there now.
        open_homes: home folders of learners into which others of the class can look.
    """

    folder: Path
    opened: tuple[str, ...]
    without_account: tuple[str, ...]
    pages: int
    open_homes: tuple[Path, ...]


def release(course: Course, sheet: str, exchange: Path, class_list: Roster) -> Released:
    """Put a sheet into the exchange folder, and feedback where it has been written.

    Doing it again puts there what is new and changes nothing else.

    Args:
        course: the course.
        sheet: name of the sheet, which must have been handed out.
        exchange: the exchange folder; it must exist.
        class_list: the class.

    Raises:
        UsageError: others can look into the course folder, the exchange folder cannot be used, or the sheet was not
            handed out.
        GearkitError: something cannot be written, or the file system cannot keep a copy for one learner alone.
    """
    course.secret()
    check_closed(course)
    if not course.release_file(sheet).exists():
        raise UsageError(f"Sheet {sheet} was not handed out. Do that first: graders hand-out {course.folder} {sheet}")
    try:
        folder = _folders(course, exchange)
        _published(folder / OUTBOUND / sheet / f"{sheet}.ipynb", course.release_file(sheet).read_bytes())
        known = accounts.read(course)
        opened: list[str] = []
        without: list[str] = []
        for learner in class_list:
            copy = course.handed_out_file(learner.id, sheet)
            account = accounts.of(learner.id, known)
            number = accounts.number_of(account)
            if not copy.exists():
                continue
            if number is None:
                without.append(learner.id if account == learner.id else f"{learner.id} ({account})")
                continue
            _own(folder, account, number, sheet, _for_learner(course, learner.id, sheet, copy))
            opened.append(learner.id)
        write_atomically(course.folder / _REMEMBERED, f"{folder.absolute()}\n")
        return Released(
            folder, tuple(opened), tuple(without), _feedback(course, sheet, folder), tuple(_open_homes(opened, known))
        )
    except OSError as fault:
        raise GearkitError(f"{fault.filename} cannot be written ({fault.strerror}). Correct this and do it again.") from None


def _open_homes(learners: Iterable[str], known: Mapping[str, str]) -> Iterator[Path]:
    names = [accounts.of(learner, known) for learner in learners]
    for name in names:
        home = accounts.open_home(name, names)
        if home is not None:
            yield home


def _remembered(course: Course) -> Path | None:
    """The course's folder in the exchange folder that was used last."""
    try:
        return Path((course.folder / _REMEMBERED).read_text(encoding="utf-8").strip())
    except FileNotFoundError:
        return None


def remembered(course: Course) -> Path | None:
    """Return the exchange folder into which the course put something last, None for none.

    Args:
        course: the course.
    """
    folder = _remembered(course)
    return None if folder is None else folder.parent


def learner_settings(course_id: str, exchange: Path) -> str:
    """What nbgrader_config.py of the learners' JupyterLab has to say, once for the whole server.

    Args:
        course_id: short identity of the course.
        exchange: the exchange folder.
    """
    return (
        f"c = get_config()\nc.Exchange.root = {str(exchange.absolute())!r}\nc.CourseDirectory.course_id = {course_id!r}\n"
        'c.ExchangeFactory.fetch_assignment = "graders.hand_out.fetch.OwnCopy"\n'
    )


def check_closed(course: Course) -> None:
    """Check that other accounts of the machine cannot look into the course folder.

    Args:
        course: the course.

    Raises:
        UsageError: they can.
    """
    mode = stat.S_IMODE(course.folder.stat().st_mode)
    if mode & 0o007:
        raise UsageError(
            f"Everybody on this machine can look into {course.folder} (mode {mode:03o}), at marks and at what "
            f"others handed in. Close it with: chmod o-rwx {course.folder}"
        )


def _folders(course: Course, exchange: Path) -> Path:
    if not exchange.is_dir():
        raise UsageError(
            f"The exchange folder {exchange} is missing. Make one in which all learners can write, but "
            f"not rename or delete what others put there: mkdir -m 1777 {exchange}"
        )
    state = exchange.stat()
    if state.st_mode & stat.S_IWOTH and not state.st_mode & stat.S_ISVTX:
        raise UsageError(
            f"Everybody may rename and delete what others put into {exchange}. Let everybody write there, but "
            f"not that: chmod 1777 {exchange}"
        )
    folder = exchange.absolute() / course.id
    if course.folder in (folder, *folder.parents) or folder in course.folder.parents:
        raise UsageError(
            f"The exchange folder {exchange} and the course folder {course.folder} lie in one another; keep them apart."
        )
    _kept(folder, 0o755)
    for name, mode in _MODES.items():
        _kept(folder / name, mode)
    return folder


def _kept(folder: Path, mode: int) -> None:
    """Make a folder with its rights, or check those of the one that is there."""
    if folder.is_symlink():
        raise UsageError(f"{folder} is a link to another place; remove it, then do it again.")
    if not folder.exists():
        folder.mkdir(mode=0o700)
        # Twice, because the rights of a new folder are cut by the account's own habit.
        folder.chmod(mode)
        return
    state = folder.stat()
    if not stat.S_ISDIR(state.st_mode) or state.st_uid != os.getuid():
        raise UsageError(f"{folder} is not a folder of yours, but of {accounts.name_of(state.st_uid)}; nothing was put there.")
    if stat.S_IMODE(state.st_mode) & 0o777 != mode & 0o777:
        raise UsageError(
            f"{folder} has the rights {stat.S_IMODE(state.st_mode):03o}, expected {mode & 0o777:03o}; somebody "
            f"changed them. If nothing there was seen by the wrong people: chmod {mode:03o} {folder}"
        )
    if stat.S_IMODE(state.st_mode) != mode:
        # An earlier version left out that nobody may move what somebody else put there.
        folder.chmod(mode)


def _published(path: Path, data: bytes) -> None:
    """Write a file that everybody may read, in a folder that everybody may enter."""
    path.parent.mkdir(exist_ok=True)
    path.parent.chmod(0o755)
    if not path.exists() or path.read_bytes() != data:
        write_atomically(path, data, mode=0o644)


def _for_learner(course: Course, learner: str, sheet: str, copy: Path) -> Iterator[tuple[str, bytes]]:
    yield copy.name, copy.read_bytes()
    page = course.feedback_folder(learner, sheet) / f"{sheet}.html"
    if page.exists():
        yield FEEDBACK_PAGE, page.read_bytes()


def _own(folder: Path, account: str, number: int, sheet: str, contents: Iterator[tuple[str, bytes]]) -> None:
    """Put files where one account can read them. All is closed until its access list is there."""
    place = folder / OWN / account
    for inside in (place, place / sheet):
        if not inside.is_dir():
            inside.mkdir(mode=0o700)
        access.open_to(inside, number)
    for name, data in contents:
        path = place / sheet / name
        if not path.exists() or path.read_bytes() != data:
            write_atomically(path, data, mode=0o600)
        access.open_to(path, number)


def _feedback(course: Course, sheet: str, folder: Path) -> int:
    """Put feedback pages where the book-keeping's own button looks for them; return how many there are."""
    count = 0
    for page in sorted(course.folder.glob(f"{FEEDBACK}/*/{sheet}/{sheet}.html")):
        for path in _secret_places(course.submitted_folder(page.parent.parent.name, sheet), folder):
            if not path.exists() or path.read_bytes() != page.read_bytes():
                write_atomically(path, page.read_bytes(), mode=0o644)
            count += 1
    return count


def _secret_places(handed_in: Path, folder: Path) -> Iterator[Path]:
    """Where whoever handed in looks for feedback: the name follows from a secret that came with the work."""
    tables.load()
    from nbgrader.utils import notebook_hash

    try:
        secret = (handed_in / _SECRET).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return
    if secret:
        for notebook in sorted(handed_in.glob("*.ipynb")):
            yield folder / FEEDBACK / f"{notebook_hash(secret=secret, notebook_id=notebook.stem)}.html"


def forget(course: Course, learner: str) -> int:
    """Remove what the exchange folder holds of a learner; return how many files and folders that were.

    Args:
        course: the course.
        learner: identity.
    """
    folder = _remembered(course)
    if folder is None:
        return 0
    account = accounts.of(learner, accounts.read(course))
    pages = [page for handed_in in course.submitted.glob(f"{learner}/*") for page in _secret_places(handed_in, folder)]
    inbound = folder / INBOUND
    handed_in = (
        [path for path in inbound.iterdir() if path.name.split("+")[0] in (learner, account)] if inbound.is_dir() else []
    )
    paths = [path for path in (folder / OWN / account, *handed_in, *pages) if path.is_symlink() or path.exists()]
    for path in paths:
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink()
    return len(paths)

"""A class on a shared server, played by four accounts of this machine: who can read, write and forge what."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
import os
import pwd
import re
import shlex
import shutil
import stat
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import pytest
from nbgrader.auth import Authenticator
from nbgrader.coursedir import CourseDirectory
from nbgrader.exchange import ExchangeFactory
from traitlets.config import Config, PyFileConfigLoader

from gearkit.words.errors import UsageError
from graders.book import record
from graders.cli.main import main
from graders.course import accounts, roster
from graders.course import course as courses
from graders.course.course import Course
from graders.course.roster import Learner, Roster
from graders.hand_out import exchange, hand_out
from graders.mark import batch
from graders.sheets import drawn, sheets
from tests.graders.classroom import Classroom, right
from tests.support.people import ANN, BOB, CY, INSTRUCTOR, OtherPersonError, as_account

pytestmark = pytest.mark.root

CLASS = Roster((Learner(ANN, "Ann Lee", "D"), Learner("fd02", "Bob Ek", "D"), Learner("fd03", "Cy Vane", "E")))
# Bob's account bears another name than his identity; Cy has no account.
ACCOUNTS = f"id,account\nfd02,{BOB}\n"


@dataclass(frozen=True)
class Hub:
    """A shared server.

    Args:
        folder: everything of it.
        course: the instructor's course.
    """

    folder: Path
    course: Course

    @property
    def exchange(self) -> Path:
        """The folder that the class shares."""
        return self.folder / "exchange"

    @property
    def shared(self) -> Path:
        """The course's folder in it."""
        return self.exchange / self.course.id

    def home(self, account: str) -> Path:
        """An account's own folder."""
        return self.folder / "home" / account

    def instructor(self, *words: str) -> str:
        """Have the instructor type a command; return what it told on either stream."""
        return str(as_account(INSTRUCTOR, partial(typed, words), self.home(INSTRUCTOR)))

    def releases(self) -> str:
        """Have the instructor put the sheet into the exchange folder."""
        return self.instructor("exchange", str(self.course.folder), "A1", str(self.exchange))

    def takes_in(self, *more: str) -> str:
        """Have the instructor take in what was handed in."""
        return self.instructor("take-in", str(self.course.folder), "A1", str(self.exchange), *more)

    def book_keeping(self, account: str, action: str) -> None:
        """Have a learner press one of the book-keeping's buttons: FetchAssignment, Submit, FetchFeedback."""
        as_account(account, partial(pressed, self.exchange, self.course.id, self.home(account), action), self.home(account))

    def own(self, account: str) -> Path:
        """A learner's own copy in the exchange folder."""
        return self.shared / "own" / account / "A1" / "A1.ipynb"


def typed(words: tuple[str, ...]) -> str:
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        code = main(list(words))
    return f"exit {code}\n{told.getvalue()}"


def pressed(root: Path, course: str, home: Path, action: str) -> None:
    settings = Config()
    exec(exchange.learner_settings(course, root), {"get_config": lambda: settings})
    settings.Exchange.cache = str(home / ".cache")
    settings.Exchange.assignment_dir = str(home)
    folder = CourseDirectory(config=settings)
    folder.assignment_id = "A1"
    factory = ExchangeFactory(config=settings)
    done = getattr(factory, action)(coursedir=folder, authenticator=Authenticator(config=settings), config=settings)
    done.start()


def prepared(folder: Path) -> None:
    """What the instructor does before the first lesson."""
    course = courses.create(folder / "home" / INSTRUCTOR / "at214", course_id="AT-214", title="Automatic transmissions")
    (course.folder / "accounts.csv").write_text(ACCOUNTS)
    hand_out.hand_out(course, sheets.compose("L03-02,L03-03", "A1"), CLASS)


@pytest.fixture(scope="module")
def warmed_up() -> None:
    folder = Path(tempfile.mkdtemp(prefix="gearkit-hub-", dir="/tmp"))
    try:
        _load_everything(folder)
    finally:
        shutil.rmtree(folder)


@pytest.fixture
def hub(warmed_up: None) -> Iterator[Hub]:
    # All accounts have to get there, so not in pytest's own folder.
    folder = Path(tempfile.mkdtemp(prefix="gearkit-hub-", dir="/tmp"))
    try:
        folder.chmod(0o755)
        for account in (INSTRUCTOR, ANN, BOB, CY):
            home = folder / "home" / account
            home.mkdir(parents=True)
            # The instructor's home can be looked into; the course folder has to look after itself.
            home.chmod(0o755 if account == INSTRUCTOR else 0o700)
            os.chown(home, pwd.getpwnam(account).pw_uid, pwd.getpwnam(account).pw_gid)
        (folder / "exchange").mkdir()
        (folder / "exchange").chmod(0o1777)
        as_account(INSTRUCTOR, partial(prepared, folder), folder / "home" / INSTRUCTOR)
        yield Hub(folder, courses.open_course(folder / "home" / INSTRUCTOR / "at214"))
    finally:
        shutil.rmtree(folder)


def _load_everything(folder: Path) -> None:
    """Play it once as root, so that everything is imported: other accounts may not see where the kit is installed."""
    room = Classroom(folder / "warm_up", source="L03-02", roster=Roster((Learner("root", "Root"),)))
    room.hand_in("root", room.copy("root", right))
    batch.mark_sheet(room.course, room.sheet)
    assert typed(("hand-back", str(room.course.folder), "A1")).startswith("exit 0")
    assert typed(("report", str(room.course.folder), "A1")).startswith("exit 0")
    assert typed(("compose", "L03-02", "-o", str(folder / "B1.toml"))).startswith("exit 0")
    assert typed(("check", str(folder / "B1.toml"), "--class", str(room.course.roster_file))).startswith("exit 0")
    (folder / "warmed_up").mkdir(mode=0o700)
    assert typed(("exchange", str(room.course.folder), "A1", str(folder / "warmed_up"))).startswith("exit 0")
    for action in ("FetchAssignment", "Submit", "FetchFeedback"):
        pressed(folder / "warmed_up", room.course.id, folder / "warm_up", action)
    typed(("take-in", str(room.course.folder), "A1", str(folder / "warmed_up"), "--replace"))
    assert typed(("remove", str(room.course.folder), "root", "--yes")).startswith("exit 0")


def answered(hub: Hub, account: str, learner: str) -> None:
    """A learner answers everything right in what they fetched."""
    path = hub.home(account) / "A1" / "A1.ipynb"
    variants = {one.item.id: one for one in drawn.variants_for(hub.course, hand_out.sheet_of(hub.course, "A1"), learner)}
    book = json.loads(path.read_text(encoding="utf-8"))
    for cell in book["cells"]:
        item = cell["metadata"].get("gearkit", {}).get("item")
        if item:
            cell["source"] = right(variants[item])
    path.write_text(json.dumps(book))


def refused(account: str, work: object) -> None:
    with pytest.raises(OtherPersonError, match=r"^PermissionError"):
        as_account(account, work)


def test_everybody_reads_their_own_copy_and_nobody_anybody_elses(hub):
    told = hub.releases()
    assert told.startswith("exit 1")
    assert "Own copies: 2, each open to its learner alone" in told
    assert "No account on this machine: fd03. Name their accounts in" in told
    for mine, learner, other in ((ANN, ANN, BOB), (BOB, "fd02", ANN)):
        assert as_account(mine, hub.own(mine).read_bytes) == hub.course.handed_out_file(learner, "A1").read_bytes()
        refused(other, hub.own(mine).read_bytes)
        refused(other, partial(os.listdir, hub.own(mine).parent))
        refused(CY, hub.own(mine).read_bytes)
    refused(ANN, partial(os.listdir, hub.shared / "own"))
    refused(ANN, partial(hub.own(ANN).write_text, "mine"))
    assert "numbers" in as_account(CY, (hub.shared / "outbound" / "A1" / "A1.ipynb").read_text)


def test_home_folders_into_which_others_can_look_are_told_with_what_closes_them(hub, monkeypatch):
    # A notebook's kernel writes all that was typed into a history that everybody may read who gets there.
    monkeypatch.setattr(accounts, "home_of", hub.home)
    history = hub.home(ANN) / "history.sqlite"
    as_account(ANN, partial(history.write_text, "128/39"))
    refused(BOB, history.read_bytes)
    assert "Home folders" not in hub.releases()
    hub.home(ANN).chmod(0o755)
    assert as_account(BOB, history.read_text) == "128/39"
    told = hub.releases()
    assert told.startswith("exit 1")
    assert "Home folders into which others can look: 1. JupyterLab keeps there what was typed into sheets. " in told
    assert f"closes them: chmod 700 {hub.home(ANN)}\n" in told
    # A group is no matter where nobody else of the class is in it.
    hub.home(ANN).chmod(0o750)
    assert "Home folders" not in hub.releases()
    os.chown(hub.home(ANN), -1, pwd.getpwnam(BOB).pw_gid)
    assert f"closes them: chmod 700 {hub.home(ANN)}\n" in hub.releases()


def test_the_settings_for_the_learners_button_can_be_pasted_as_they_are_printed(hub):
    told = hub.releases()
    start = told.index("c = get_config()")
    settings = Config()
    exec(told[told.rindex("\n", 0, start) + 1 : told.index("Then:", start)], {"get_config": lambda: settings})
    assert settings.Exchange.root == str(hub.exchange)
    assert settings.ExchangeFactory.fetch_assignment == "graders.hand_out.fetch.OwnCopy"


def test_no_learner_can_look_into_the_course_folder(hub):
    hub.releases()
    for inside in (".secret", "course.toml", "roster.csv", "gradebook.db", "handed_out/fd02/A1/A1.ipynb"):
        assert (hub.course.folder / inside).exists()
        refused(ANN, (hub.course.folder / inside).read_bytes)
    refused(ANN, partial(os.listdir, hub.course.folder))


def test_a_learner_fetches_their_own_numbers_with_the_book_keepings_button(hub):
    hub.releases()
    for account, learner in ((ANN, ANN), (BOB, "fd02")):
        hub.book_keeping(account, "FetchAssignment")
        fetched = hub.home(account) / "A1" / "A1.ipynb"
        assert fetched.read_bytes() == hub.course.handed_out_file(learner, "A1").read_bytes()
        as_account(account, partial(fetched.write_text, "answered"))
    with pytest.raises(OtherPersonError, match=f"There is no copy of A1 for the account {CY}. Ask your instructor"):
        hub.book_keeping(CY, "FetchAssignment")


def test_what_is_handed_in_cannot_be_found_by_others_and_is_taken_in_and_marked(hub):
    hub.releases()
    for account, learner in ((ANN, ANN), (BOB, "fd02")):
        hub.book_keeping(account, "FetchAssignment")
        answered(hub, account, learner)
        hub.book_keeping(account, "Submit")
    refused(BOB, partial(os.listdir, hub.shared / "inbound"))
    # Bob's name for the book-keeping is his account's, and the class list knows him by another.
    told = hub.takes_in()
    assert "Taken in: 2. There already: 0." in told
    assert "Nothing yet from 1 of 3:\n  fd03" in told
    told = hub.instructor("mark", str(hub.course.folder), "A1")
    assert told.startswith("exit 0")
    marks = record.read(hub.course.marks_file("A1"))
    assert [(one.learner, one.score, one.max) for one in marks.learners] == [("fd02", 4.0, 4.0), (ANN, 4.0, 4.0)]
    assert all(one.handed_in for one in marks.learners)
    # The button lays a file of its own beside the work, which is nothing to look at.
    assert [flag for one in marks.learners for flag in one.flags] == []


def test_feedback_goes_to_its_own_learner_and_to_nobody_else(hub):
    hub.releases()
    hub.book_keeping(ANN, "FetchAssignment")
    answered(hub, ANN, ANN)
    hub.book_keeping(ANN, "Submit")
    hub.takes_in()
    hub.instructor("mark", str(hub.course.folder), "A1")
    hub.instructor("hand-back", str(hub.course.folder), "A1")
    assert "Feedback:   1 page to fetch" in hub.releases()
    page = hub.course.feedback_folder(ANN, "A1") / "A1.html"
    there = hub.own(ANN).with_name("feedback.html")
    assert as_account(ANN, there.read_bytes) == page.read_bytes()
    refused(BOB, there.read_bytes)
    refused(BOB, partial(os.listdir, hub.shared / "feedback"))
    hub.book_keeping(ANN, "FetchFeedback")
    (fetched,) = (hub.home(ANN) / "A1" / "feedback").rglob("*.html")
    assert fetched.read_bytes() == page.read_bytes()


def put(hub: Hub, name: str, files: dict[str, str]) -> Path:
    """What a learner with a terminal can put into the folder of hand-ins."""
    folder = hub.shared / "inbound" / name
    folder.mkdir()
    for inside, text in files.items():
        (folder / inside).write_text(text)
    folder.chmod(0o777)
    return folder


def now(**ago: int) -> str:
    return f"{dt.datetime.now(dt.UTC) - dt.timedelta(**ago):%Y-%m-%d %H:%M:%S.%f} UTC"


def test_nobody_can_hand_in_in_another_learners_name(hub):
    hub.releases()
    as_account(ANN, partial(put, hub, f"{ANN}+A1+{now(hours=0)}+x", {"A1.ipynb": "ann's own"}))
    forged = f"{ANN}+A1+{now(hours=-2)}+y"
    as_account(BOB, partial(put, hub, forged, {"A1.ipynb": "bob's joke"}))
    told = hub.takes_in()
    assert "Taken in: 1." in told
    assert f"'{forged}' belongs to the account {BOB}, not to {ANN}, and was not taken; talk with both" in told
    assert (hub.course.submitted_folder(ANN, "A1") / "A1.ipynb").read_text() == "ann's own"


def test_a_time_that_was_put_back_is_told_and_the_servers_counts(hub):
    hub.releases()
    earlier = now(days=3)
    as_account(BOB, partial(put, hub, f"fd02+A1+{earlier}+x", {"A1.ipynb": "late", "timestamp.txt": earlier}))
    told = hub.takes_in()
    assert f"fd02 says {earlier[:16]} UTC, but it was last changed at {now()[:13]}" in told
    assert "the later time counts" in told
    stamp = (hub.course.submitted_folder("fd02", "A1") / "timestamp.txt").read_text()
    assert abs(
        dt.datetime.fromisoformat(stamp.removesuffix(" UTC\n")) - dt.datetime.now(dt.UTC).replace(tzinfo=None)
    ) < dt.timedelta(minutes=5)


def test_links_pipes_and_closed_files_are_left_out_and_take_nobody_along(hub):
    hub.releases()

    def traps() -> None:
        folder = put(hub, f"fd02+A1+{now()}+x", {"A1.ipynb": "mine", "closed.ipynb": "x"})
        (folder / "closed.ipynb").chmod(0o000)
        (folder / "key.ipynb").symlink_to(hub.course.folder / ".secret")
        (folder / "all").symlink_to(hub.course.folder)
        os.mkfifo(folder / "pipe.ipynb")
        (hub.shared / "inbound" / f"fd02+A1+{now(hours=-1)}+z").symlink_to(hub.course.folder / "handed_out" / ANN)
        (hub.shared / "inbound" / "junk").mkdir()

    as_account(BOB, traps)
    as_account(ANN, partial(put, hub, f"{ANN}+A1+{now()}+x", {"A1.ipynb": "ann's own"}))
    told = hub.takes_in()
    assert "Taken in: 2." in told
    assert "'closed.ipynb' cannot be read (Permission denied)." in told
    assert "'junk' is no folder that was handed in, and was left out." in told
    taken = {path.name: path.read_text() for path in hub.course.submitted_folder("fd02", "A1").iterdir()}
    assert sorted(taken) == ["A1.ipynb", "timestamp.txt"]
    assert taken["A1.ipynb"] == "mine"


def test_the_last_hand_in_of_a_sheet_counts_and_other_sheets_are_left_alone(hub):
    hub.releases()
    as_account(ANN, partial(put, hub, f"{ANN}+A1+{now(minutes=1)}+x", {"A1.ipynb": "first"}))
    as_account(BOB, partial(put, hub, f"fd02+A2+{now()}+x", {"A2.ipynb": "another sheet"}))
    assert "Taken in: 1." in hub.takes_in()
    as_account(ANN, partial(put, hub, f"{ANN}+A1+{now()}+y", {"A1.ipynb": "second"}))
    told = hub.takes_in()
    assert f"{ANN}: other work is there already; to take the newer one instead, add --replace." in told
    assert re.search(rf"{ANN} handed in 2 times; hand-in 2 of .* UTC was not taken; what is there already stays\.", told)
    assert " UTC counts." not in told
    for more in ("--replace",), ():
        told = hub.takes_in(*more)
        assert f"Taken in: {len(more)}." in told
        assert re.search(rf"{ANN} handed in 2 times; hand-in 2 of .* UTC counts\.", told)
    assert (hub.course.submitted_folder(ANN, "A1") / "A1.ipynb").read_text() == "second"
    assert not hub.course.submitted_folder("fd02", "A1").exists()


def test_a_hand_in_for_a_sheet_that_the_course_does_not_have_is_told(hub):
    hub.releases()
    for name in (f"fd02+a1+{now()}+x", f"fd02+..+{now()}+x"):
        as_account(BOB, partial(put, hub, name, {"A1.ipynb": "odd"}))
    told = hub.takes_in()
    assert (
        "names the sheet 'a1', which this course does not have, and was left out. If A1 is meant: put A1 in its place" in told
    )
    assert "names the sheet '..', which this course does not have" in told


def test_nobody_can_move_or_delete_what_somebody_else_handed_in(hub):
    hub.releases()
    inbound = hub.shared / "inbound"
    assert inbound.stat().st_mode & stat.S_ISVTX
    name = f"{ANN}+A1+{now()}+x"
    as_account(ANN, partial(put, hub, name, {"A1.ipynb": "ann's own"}))
    assert as_account(BOB, partial(_moved, inbound / name)) == "refused"
    assert (inbound / name).is_dir()


def test_the_folder_of_hand_ins_of_an_earlier_version_is_mended(hub):
    hub.releases()
    (hub.shared / "inbound").chmod(0o2733)
    assert "Own copies: 2" in hub.releases()
    assert stat.S_IMODE((hub.shared / "inbound").stat().st_mode) == 0o3733


def _moved(path: Path) -> str:
    try:
        path.rename(path.with_name("gone"))
    except OSError:
        return "refused"
    return "moved"


def test_a_course_folder_that_all_can_look_into_is_refused(hub):
    hub.course.folder.chmod(0o755)
    told = hub.releases()
    assert told.startswith("exit 2")
    assert f"Everybody on this machine can look into {hub.course.folder} (mode 755)" in told
    assert f"chmod o-rwx {hub.course.folder}" in told
    assert not hub.shared.exists()


def test_a_folder_that_a_learner_made_in_the_courses_place_is_refused(hub):
    as_account(BOB, hub.shared.mkdir)
    told = hub.releases()
    assert told.startswith("exit 2")
    assert f"{hub.shared} is not a folder of yours, but of {BOB}; nothing was put there." in told


def test_an_exchange_folder_in_which_all_may_rename_what_others_put_there_is_refused(hub):
    hub.exchange.chmod(0o777)
    assert f"chmod 1777 {hub.exchange}" in hub.releases()
    assert not hub.shared.exists()


def test_rights_that_somebody_widened_are_refused_with_what_to_do(hub):
    hub.releases()
    (hub.shared / "inbound").chmod(0o2777)
    told = hub.releases()
    assert told.startswith("exit 2")
    assert "has the rights 2777, expected 733; somebody changed them" in told


def test_an_exchange_folder_inside_the_course_folder_is_refused(hub):
    inside = hub.course.folder / "exchange"
    as_account(INSTRUCTOR, partial(inside.mkdir, 0o700))
    with pytest.raises(UsageError, match="lie in one another; keep them apart"):
        exchange.release(hub.course, "A1", inside, roster.read(hub.course.roster_file))


def test_releasing_again_changes_nothing_and_gives_a_late_joiner_their_copy(hub):
    hub.releases()
    before = {path: path.stat().st_mtime_ns for path in hub.shared.rglob("*") if path.is_file()}

    def joins() -> None:
        course = courses.open_course(hub.course.folder)
        hand_out.hand_out(course, hand_out.sheet_of(course, "A1"), Roster((Learner(CY, "Cy Two"),)))

    as_account(INSTRUCTOR, joins)
    assert "Own copies: 3" in hub.releases()
    assert {path: path.stat().st_mtime_ns for path in before} == before
    assert as_account(CY, hub.own(CY).read_bytes) == hub.course.handed_out_file(CY, "A1").read_bytes()


def test_whoever_is_removed_is_gone_from_the_exchange_folder_too(hub):
    hub.releases()
    for account, learner in ((ANN, ANN), (BOB, "fd02")):
        hub.book_keeping(account, "FetchAssignment")
        answered(hub, account, learner)
        hub.book_keeping(account, "Submit")
    hub.takes_in()
    for command in ("mark", "hand-back"):
        hub.instructor(command, str(hub.course.folder), "A1")
    hub.releases()
    before = {path.relative_to(hub.shared).parts[:2] for path in hub.shared.rglob("*")}
    assert hub.instructor("remove", str(hub.course.folder), "fd02", "--yes").startswith("exit 0")
    gone = before - {path.relative_to(hub.shared).parts[:2] for path in hub.shared.rglob("*")}
    # Bob's own copies, what he handed in, and his feedback page; nothing of Ann's.
    assert sorted(first for first, *_ in gone) == ["feedback", "inbound", "own"]
    assert ("own", BOB) in gone
    assert as_account(ANN, hub.own(ANN).read_bytes)


RECIPE = Path(__file__).parents[2] / "lessons" / "instructor" / "shared_server.md"


def test_the_recipe_for_a_shared_server_leads_from_an_empty_folder_to_feedback(hub):
    # A course and a sheet beside the prepared ones, with nothing but the commands that the recipe prints.
    home, course = hub.home(INSTRUCTOR), hub.home(INSTRUCTOR) / "recipe"
    rows = "".join(f"{one.id},{one.name},{one.group}\n" for one in CLASS)
    as_account(INSTRUCTOR, partial((home / "r.csv").write_text, f"id,name,group\n{rows}"))
    places = {"COURSE": str(course), "ROSTER.csv": str(home / "r.csv"), "EXCHANGE": str(hub.exchange)}
    places |= {"week3.toml": str(home / "A1.toml"), "week3": "A1"}
    commands = [
        [places.get(word, word) for word in shlex.split(line)[1:]]
        for block in re.findall(r"```sh\n(.*?)```", RECIPE.read_text(encoding="utf-8"), re.DOTALL)
        for line in block.splitlines()
    ]
    names = [words[0] for words in commands]
    assert names == [
        *("course", "compose", "check", "hand-out", "doctor", "exchange"),
        *("take-in", "mark", "report", "hand-back", "exchange"),
    ]
    hub = replace(hub, course=replace(hub.course, folder=course, id="recipe"))
    told = {}
    for place, words in enumerate(commands):
        if words[0] == "doctor":
            continue  # test_protection plays it; it takes long and says nothing of the class.
        if words[0] == "take-in":
            hub.book_keeping(ANN, "FetchAssignment")
            answered(hub, ANN, ANN)
            hub.book_keeping(ANN, "Submit")
        told[place] = hub.instructor(*words)
        # Learners without an account are a finding, told in words; nothing is unusable.
        assert told[place].startswith(("exit 0", "exit 1")), told[place]
        if words[0] == "hand-out":
            as_account(INSTRUCTOR, partial((course / "accounts.csv").write_text, ACCOUNTS))
    assert "Taken in: 1." in told[names.index("take-in")]
    hub.book_keeping(ANN, "FetchFeedback")
    (fetched,) = (hub.home(ANN) / "A1" / "feedback").rglob("*.html")
    assert fetched.read_bytes() == (course / "feedback" / ANN / "A1" / "A1.html").read_bytes()
    refused(BOB, hub.own(ANN).read_bytes)


def test_the_recipes_settings_show_the_course_in_the_grading_page_of_a_server_that_starts_elsewhere(hub, tmp_path):
    (lines,) = re.findall(r"nbgrader_config.py <<END\n(.*?)END\n", RECIPE.read_text(encoding="utf-8"), re.DOTALL)
    (tmp_path / "nbgrader_config.py").write_text(lines.replace("/home/YOU/COURSE", str(hub.course.folder)))
    settings = PyFileConfigLoader("nbgrader_config.py", path=str(tmp_path)).load_config()
    assert settings.CourseDirectory == {"root": str(hub.course.folder), "course_id": hub.course.id}
    assert settings.ExchangeFactory.list == "graders.mark.in_grading_page.HandedOut"

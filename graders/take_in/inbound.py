"""Reads what learners handed in through the book-keeping's exchange folder on a shared server.

Each hand-in is a folder LEARNER+SHEET+TIME+RANDOM in a folder that everybody may write to and nobody but its owner may
list. Its name and the time in it are the learner's own words: whose it is says the account that owns it, and when it
came says the time at which the server last changed it, which no learner can set.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from gearkit.words.errors import UsageError
from graders.course import accounts
from graders.course.course import SHEET_NAME, Course
from graders.course.roster import Roster
from graders.take_in import incoming
from graders.take_in.incoming import Incoming, Intake
from graders.take_in.notes import Notes, Weight

# Copying a large hand-in takes a while after its time was written.
TOLERANCE = dt.timedelta(minutes=2)
MOST_FILES_EACH = 300
INBOUND = "inbound"
_STAMP = "timestamp.txt"


@dataclass(frozen=True)
class HandIn:
    """One hand-in.

    Args:
        learner: identity.
        folder: its folder.
        at: when it was handed in.
    """

    learner: str
    folder: Path
    at: dt.datetime


def inbound_of(source: Path, course: Course) -> Path | None:
    """The folder of hand-ins that a source is or has, or None where it is something else.

    Args:
        source: EXCHANGE, EXCHANGE/COURSE, the folder "inbound" in it, or a copy of that under another name.
        course: the course.

    Raises:
        UsageError: the folder may not be listed.
    """
    for folder in (source / course.id / INBOUND, source / INBOUND):
        if folder.is_dir():
            return folder
    if not source.is_dir():
        return None
    try:
        # One such name is enough: whoever puts something else there must not change how the others' work is read.
        told = any(_told(entry.name) is not None for entry in os.scandir(source))
    except OSError as fault:
        raise UsageError(f"{source} cannot be listed ({fault.strerror}). Only its owner may do that.") from None
    return source if told or source.name == INBOUND else None


def _told(name: str) -> tuple[str, str, dt.datetime] | None:
    """Learner, sheet and time as the name of a hand-in tells them."""
    pieces = name.split("+")
    if len(pieces) not in (3, 4):
        return None
    text = pieces[2].removesuffix(" UTC").strip()
    try:
        at = dt.datetime.fromisoformat(text)
    except ValueError:
        return None
    return pieces[0], pieces[1], at if at.tzinfo else at.replace(tzinfo=dt.UTC)


def in_order(source: Path, course: Course, sheet: str, class_list: Roster, notes: Notes) -> dict[str, list[HandIn]]:
    """Every learner's hand-ins for a sheet, the last one last; those that are not their own are noted and left out.

    Args:
        source: the folder of hand-ins.
        course: the course.
        sheet: name of the sheet.
        class_list: the class.
        notes: sentences about hand-ins that were left out, or whose time is not believed, are added here.
    """
    known = accounts.read(course)
    by_account = {account: learner for learner, account in known.items()}
    hand_ins: dict[str, list[HandIn]] = {}
    for entry in sorted(os.scandir(source), key=lambda entry: entry.name):
        told = _told(entry.name)
        if told is None or not entry.is_dir(follow_symlinks=False):
            notes.add(f"{entry.name!r} is no folder that was handed in, and was left out.", Weight.REST)
            continue
        if told[1] != sheet:
            if not (SHEET_NAME.fullmatch(told[1]) and course.sheet_file(told[1]).exists()):
                notes.add(
                    f"{entry.name!r} names the sheet {told[1]!r}, which this course does not have, and was left out. If "
                    f"{sheet} is meant: put {sheet} in its place in the folder's name and take in again.",
                    of=_sender(entry),
                )
            continue
        # The book-keeping names a hand-in after the account.
        learner = class_list.find(by_account.get(told[0], told[0]))
        if learner is None:
            notes.add(f"{entry.name!r} names nobody on the class list.", of=_sender(entry))
            continue
        doubt = _doubt(entry.stat(follow_symlinks=False), learner.id, known)
        if doubt:
            notes.add(f"{entry.name!r} {doubt}", Weight.WHOSE, _sender(entry))
            continue
        hand_in = HandIn(learner.id, Path(entry.path), _time(Path(entry.path), told[2], learner.id, known, notes))
        hand_ins.setdefault(learner.id, []).append(hand_in)
    return {learner: sorted(some, key=lambda handed: handed.at) for learner, some in hand_ins.items()}


def _sender(entry: os.DirEntry[str]) -> str:
    """Who sent a folder, as far as the server knows: nobody's thousand folders hide what is said of others' work."""
    owner = entry.stat(follow_symlinks=False).st_uid
    return entry.name if owner in (0, os.getuid()) else accounts.name_of(owner)


def _doubt(state: os.stat_result, learner: str, known: Mapping[str, str]) -> str:
    """Why a hand-in is not its learner's own, or ""."""
    account = accounts.of(learner, known)
    # What the system's or the instructor's own account owns was put there by those who collect, not by a learner.
    if state.st_uid in (0, os.getuid()) or accounts.name_of(state.st_uid) == account:
        return ""
    return (
        f"belongs to the account {accounts.name_of(state.st_uid)}, not to {account}, and was not taken; talk with "
        f"both, or name {learner}'s account in {accounts.FILE}."
    )


def _time(folder: Path, told: dt.datetime, learner: str, known: Mapping[str, str], notes: Notes) -> dt.datetime:
    account = accounts.number_of(accounts.of(learner, known))
    changed = []
    for path in (folder, *islice(folder.rglob("*"), MOST_FILES_EACH)):
        with suppress(OSError):
            state = path.lstat()
            if state.st_uid == account and account not in (0, os.getuid()):
                changed.append(state.st_ctime)
    if not changed:
        return told
    came = dt.datetime.fromtimestamp(max(changed), tz=dt.UTC).replace(microsecond=0)
    if came - told <= TOLERANCE:
        return told
    notes.add(
        f"{learner} says {told:%Y-%m-%d %H:%M} UTC, but it was last changed at {came:%Y-%m-%d %H:%M} UTC; the later "
        "time counts.",
        Weight.WHOSE,
        learner,
    )
    return came


def files(hand_in: HandIn, intake: Intake) -> Iterator[Incoming]:
    """Read the files of a hand-in; the times that the learner's own computer gave them do not count.

    Args:
        hand_in: the hand-in.
        intake: counts and notes.
    """
    count, owner = 0, hand_in.folder.lstat().st_uid
    for folder, inside, names, handle in incoming.walk(hand_in.folder, intake):
        inside.sort()
        for name in sorted(names):
            path = (Path(folder) / name).relative_to(hand_in.folder).as_posix()
            if name == _STAMP:
                continue
            if not incoming.is_wanted(path):
                intake.notes.leave(f"{hand_in.folder.name}/{path}")
                continue
            count += 1
            if count > MOST_FILES_EACH:
                intake.tell(f"{hand_in.learner} handed in more than {MOST_FILES_EACH} files; the others were left out.")
                return
            name = name if handle is not None else os.path.join(folder, name)
            file = incoming.read_at(name, handle, path, intake, owner)
            if file is not None:
                yield Incoming(file.path, file.data, hand_in.at)

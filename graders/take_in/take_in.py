"""Takes in what learners handed in elsewhere: a folder or a zip from a course system, a stick, or the exchange folder.

Whose a file is follows from the class list alone: from an identity or a full name in the file's path, or in the exchange
folder from the account that owns it. What a notebook says about itself is never believed. Nothing that was taken in
before is overwritten unless that is asked for, and then the earlier work is kept.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from gearkit.text.files import write_atomically
from gearkit.words.errors import GearkitError
from graders.course import course_lock
from graders.course.course import Course
from graders.course.roster import Roster
from graders.sheets import sheets
from graders.sheets.sheets import Sheet
from graders.take_in import hand_ins, inbound, incoming
from graders.take_in.incoming import Incoming, Intake

_STAMP = "timestamp.txt"
_TAKEN_IN, _THERE = "taken in", "there already"
_CARD = re.compile(rb'"learner": ?"([A-Za-z0-9._@-]{1,64})"')
_STAMP_TIME = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)(?:\.\d+)? UTC\s*")


@dataclass(frozen=True)
class TakenIn:
    """What taking in did.

    Args:
        taken: learners whose work was taken in now.
        there: learners whose work was there already, the same to the byte.
        refused: one sentence for each learner whose other work was there already, or who handed in more often than counts.
        unknown: one sentence for each file that belongs to nobody for certain, or could not be read.
        missing: learners of the class list of whom nothing is there now.
        chosen: one sentence for each learner of whose several notebooks one was taken.
    """

    taken: tuple[str, ...]
    there: tuple[str, ...]
    refused: tuple[str, ...]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]
    chosen: tuple[str, ...] = ()


def take_in(course: Course, sheet: str, source: Path, class_list: Roster, *, replace: bool = False) -> TakenIn:
    """Take in what learners handed in for a sheet.

    Args:
        course: the course.
        sheet: name of the sheet.
        source: a folder, a zip, or the exchange folder.
        class_list: the class.
        replace: take newer work in the place of what is there; the earlier is kept in the course's folder "replaced".

    Raises:
        UsageError: the source is neither a folder nor a zip that can be read, or holds far too much.
        GearkitError: something cannot be written, or somebody else is at work in the course.
    """
    notes: list[str] = []
    chosen: list[str] = []
    done: dict[str, list[str]] = {_TAKEN_IN: [], _THERE: [], "refused": []}
    exchange = inbound.inbound_of(source, course)
    of = sheets.read(course.sheet_file(sheet))
    late: dict[str, list[list[Incoming]]] = {}
    if exchange is not None:
        by_learner = _handed_in(exchange, course, of, class_list, notes, late)
    else:
        by_learner = _found(source, course, sheet, class_list, notes)
    items = [item.encode() for item in of.item_ids]
    try:
        with course_lock.taken(course, f"taking in sheet {sheet}"):
            for learner, files in sorted(by_learner.items()):
                kept = _one_notebook(learner, files, f"{sheet}.ipynb", items, chosen)
                result = _put(course, of, learner, kept, replace)
                done.get(result, done["refused"]).append(learner if result in done else result)
                for beyond in late.get(learner, ()):
                    one = _one_notebook(learner, beyond, f"{sheet}.ipynb", items, [])
                    done["refused"].append(_put_aside(course, of, learner, _contents(one)))
    except OSError as fault:
        raise GearkitError(f"Taking in stopped at {fault.filename}: {fault.strerror}. Mend this and do it again.") from None
    missing = tuple(one.id for one in class_list if not course.submitted_folder(one.id, sheet).is_dir())
    return TakenIn(tuple(done[_TAKEN_IN]), tuple(done[_THERE]), tuple(done["refused"]), tuple(notes), missing, tuple(chosen))


def _handed_in(source: Path, course: Course, sheet: Sheet, class_list: Roster, notes: list[str],
               late: dict[str, list[list[Incoming]]]) -> dict[str, list[Incoming]]:
    """What the exchange folder has, by learner: the last hand-in that counts; those after it go into `late`."""
    by_learner: dict[str, list[Incoming]] = {}
    for learner, hand_ins_ in inbound.in_order(source, course, sheet.name, class_list, notes).items():
        counting = len(hand_ins_) if not sheet.rules.attempts else min(sheet.rules.attempts, len(hand_ins_))
        # Every hand-in is measured by itself: nobody can fill the folder so that the others' work is not taken.
        files, *after = [list(inbound.files(one, Intake(one.folder, notes))) for one in hand_ins_[counting - 1:]]
        if files:
            by_learner[learner] = files
            late[learner] = [one for one in after if one]
    return by_learner


def _found(source: Path, course: Course, sheet: str, class_list: Roster, notes: list[str]) -> dict[str, list[Incoming]]:
    """What a folder or zip has, by learner; files of nobody are noted."""
    by_learner: dict[str, list[Incoming]] = {}
    names = _Names(class_list)
    intake = Intake(source, notes)

    def sort_in(files: Iterator[Incoming], depth: int) -> None:
        for file in files:
            owners = names.owners(file.path)
            if len(owners) == 1:
                by_learner.setdefault(owners[0], []).append(file)
            elif not owners and file.path.lower().endswith(".zip") and depth < incoming.DEEPEST:
                # A zip of a whole group names its learners inside.
                sort_in(incoming.unpacked(file, course, intake), depth + 1)
            elif file.path.lower().endswith((".ipynb", ".zip")):
                whose = f"may belong to {' or '.join(owners)}" if owners else "names nobody on the class list"
                notes.append(f"{file.path!r} {whose}{_card(file, class_list)}; put it by hand into "
                             f"{course.submitted}/LEARNER/{sheet}.")

    sort_in(incoming.read(source, course, notes), 0)
    return {learner: latest for learner, files in by_learner.items() if (latest := _latest(files, sheet))}


def _card(file: Incoming, class_list: Roster) -> str:
    """What a notebook says about its owner, for a person to look into; it is never believed."""
    said = _CARD.search(file.data)
    known = class_list.find(said[1].decode()) if said else None
    return f" (it says of itself that it is {known.id}'s, which anybody can write)" if known else ""


class _Names:
    """Finds whose a path is: by identity, or else by full name, accents and order of names aside."""

    def __init__(self, class_list: Roster) -> None:
        self._identities = {one.id.casefold(): one.id for one in class_list}
        self._people = [(one, _words(one.name)) for one in class_list]

    def owners(self, path: str) -> list[str]:
        """Return the learners that a path may belong to; one where it is certain."""
        place = PurePosixPath(path)
        parts = [*place.parts[:-1], place.stem]
        for part in parts:
            if part.casefold() in self._identities:
                return [self._identities[part.casefold()]]
        pieces = {piece.casefold() for part in parts for piece in re.split(r"[^\w.@-]+|_", part)}
        found = [self._identities[piece] for piece in sorted(pieces & self._identities.keys())]
        if found:
            return found
        words = _words(path)
        return sorted(one.id for one, name in self._people if len(name) > 1 and name <= words)


def _words(text: str) -> frozenset[str]:
    plain = unicodedata.normalize("NFKD", text)
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()
    return frozenset(re.findall(r"[^\W\d_]+", bare))


def _latest(files: Sequence[Incoming], sheet: str) -> list[Incoming]:
    """Of several hand-ins of the exchange folder (LEARNER+SHEET+TIME+...) in a copy of it only the last counts."""
    turns: dict[str, list[Incoming]] = {}
    for file in files:
        pieces = next((part.split("+") for part in PurePosixPath(file.path).parts if part.count("+") >= 2), ["", sheet, ""])
        if pieces[1] == sheet:
            turns.setdefault(pieces[2], []).append(file)
    return turns[max(turns)] if turns else []


def _one_notebook(learner: str, files: Sequence[Incoming], expected: str, items: Sequence[bytes],
                  chosen: list[str]) -> list[Incoming]:
    """Leave one notebook: of those that name most of the sheet's items the newest; a file of the right name before others."""
    notebooks = [file for file in files if file.path.lower().endswith(".ipynb")]
    if len(notebooks) < 2:
        return list(files)

    def rank(file: Incoming) -> tuple[int, dt.datetime, bool, list[object]]:
        name = PurePosixPath(file.path).name
        return sum(item in file.data for item in items), file.at, name == expected, _in_order(file.path)

    best = max(notebooks, key=rank)
    chosen.append(f"{learner} handed in {len(notebooks)} notebooks; taken was {best.path!r} of {best.at:%Y-%m-%d %H:%M}, "
                  "the newest of those that hold most of the sheet's items.")
    return [file for file in files if file is best or file not in notebooks]


def _in_order(path: str) -> list[object]:
    """A key that puts "A1 (10)" after "A1 (9)"."""
    return [(0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in re.split(r"(\d+)", path)]


def _contents(files: Sequence[Incoming]) -> dict[str, bytes]:
    """Files by plain names, with the time of handing in."""
    contents = {_plain_name(file.path): file.data for file in files}
    if _STAMP not in contents:
        at = max(file.at for file in files).astimezone(dt.UTC)
        contents[_STAMP] = f"{at:%Y-%m-%d %H:%M:%S} UTC\n".encode()
    return contents


def _put_aside(course: Course, sheet: Sheet, learner: str, contents: Mapping[str, bytes]) -> str:
    """Keep a hand-in that came after the last one that counts; say so in a sentence."""
    hand_ins.keep_beyond(course, sheet.name, learner, contents)
    times = "once" if sheet.rules.attempts == 1 else f"{sheet.rules.attempts} times"
    return (f"{learner}: handing in counts {times}; the work of {_stamped(contents)} UTC came after that, was put aside in "
            f"{hand_ins.kept_folder(course, sheet.name, learner)} and is not marked.")


def _put(course: Course, sheet: Sheet, learner: str, files: Sequence[Incoming], replace: bool) -> str:
    """Put one learner's files in their place; return what was done, or why not in a sentence."""
    contents = _contents(files)
    folder = course.submitted_folder(learner, sheet.name)
    if folder.is_symlink():
        return f"{learner}: {folder} is a link to another place; nothing was taken in."
    if folder.is_dir() and any(folder.iterdir()):
        before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}
        if _work(before) == _work(contents):
            return _THERE
        there, now = _stamped(before), _stamped(contents)
        older = there and now and now < there
        if sheet.rules.attempts and 1 + hand_ins.replaced(course, sheet.name, learner) >= sheet.rules.attempts and not older:
            return _put_aside(course, sheet, learner, contents)
        if not replace:
            return f"{learner}: other work is there already; to take the newer one instead, add --replace."
        if older:
            return f"{learner}: the work there is of {there} UTC and newer than this of {now} UTC; it stays."
        _set_aside(course, sheet.name, learner, folder)
    _place(folder, contents)
    return _TAKEN_IN


def _place(folder: Path, contents: Mapping[str, bytes]) -> None:
    """Make a folder with all its files in one step, so that a half one is never taken for what was handed in."""
    draft = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(draft, ignore_errors=True)
    for name, data in sorted(contents.items()):
        write_atomically(draft / name, data)
    os.replace(draft, folder)


def _stamped(contents: Mapping[str, bytes]) -> str:
    match = _STAMP_TIME.match(contents.get(_STAMP, b"").decode("ascii", "replace"))
    return match.group(1) if match else ""


def _work(contents: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in contents.items() if name != _STAMP}


def _set_aside(course: Course, sheet: str, learner: str, folder: Path) -> None:
    kept = hand_ins.kept_folder(course, sheet, learner)
    kept.mkdir(parents=True, exist_ok=True)
    number = 1 + hand_ins.replaced(course, sheet, learner)
    os.replace(folder, kept / str(number))


def _plain_name(path: str) -> str:
    """The last part of a path, as a name that no system stumbles over."""
    name = PurePosixPath(path).name.lstrip(".") or "file"
    return "".join(letter if letter.isprintable() and letter not in '\\/:*?"<>|' else "_" for letter in name)[-120:]

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
from graders.run.read.finding import find
from graders.sheets import sheets
from graders.sheets.sheets import Sheet
from graders.take_in import hand_ins, inbound, incoming, remarks
from graders.take_in.incoming import Incoming, Intake

_STAMP = "timestamp.txt"
_TAKEN_IN, _THERE = "taken in", "there already"
MOST_NOTES, MOST_EACH, MOST_LETTERS, MOST_NAME = 40, 8, 600, 120
_CARD = re.compile(rb'"learner": ?"([A-Za-z0-9._@-]{1,64})"')
# What a course system writes behind the learner's name in a name that it makes; all after it is the learner's own.
_SYSTEM_MADE = re.compile(r"_\d+_assignsubmission_")
# No file system has longer names; in a zip they may be any length, and a learner writes them.
LONGEST_PART = 255
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
        remarks: what was odd about work that was taken in now, or is damaged in it; told again when it is marked.
    """

    taken: tuple[str, ...]
    there: tuple[str, ...]
    refused: tuple[str, ...]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]
    chosen: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


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
    odd: dict[str, list[str]] = {}
    if exchange is not None:
        by_learner = _handed_in(exchange, course, of, class_list, notes, late)
    else:
        by_learner = _found(source, course, sheet, class_list, notes, odd)
    told: list[str] = []
    items = [item.encode() for item in of.item_ids]
    try:
        with course_lock.taken(course, f"taking in sheet {sheet}"):
            for learner, files in sorted(by_learner.items()):
                kept = _one_notebook(learner, files, f"{sheet}.ipynb", items, chosen)
                result = _put(course, of, learner, kept, replace, odd.setdefault(learner, []))
                if result == _TAKEN_IN:
                    told += [f"{learner}: {remark}" for remark in _remarked(course, of, learner, odd[learner])]
                done.get(result, done["refused"]).append(learner if result in done else result)
                for beyond in late.get(learner, ()):
                    one = _one_notebook(learner, beyond, f"{sheet}.ipynb", items, [])
                    done["refused"].append(_put_aside(course, of, learner, _contents(one, [])))
    except OSError as fault:
        raise GearkitError(f"Taking in stopped at {fault.filename}: {fault.strerror}. Mend this and do it again.") from None
    missing = tuple(one.id for one in class_list if not course.submitted_folder(one.id, sheet).is_dir())
    return TakenIn(tuple(done[_TAKEN_IN]), tuple(done[_THERE]), tuple(done["refused"]), _in_all(notes, MOST_NOTES), missing, tuple(chosen),
                   tuple(told))


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


def _remarked(course: Course, sheet: Sheet, learner: str, odd: Sequence[str]) -> Sequence[str]:
    """Keep and return what is odd about work that was taken in; what cannot be read of it is found as marking finds it."""
    remarks.keep(course, sheet.name, learner, _in_all(odd, MOST_EACH))
    found = find(course.submitted_folder(learner, sheet.name), sheet.name, sheet.item_ids)
    unreadable = [found.reason] if found.reason else [*found.notebook.flags] if found.notebook else []
    return [*_in_all(odd, MOST_EACH), *unreadable]


def _found(source: Path, course: Course, sheet: str, class_list: Roster, notes: list[str],
           odd: dict[str, list[str]]) -> dict[str, list[Incoming]]:
    """What a folder or zip has, by learner; files of nobody are noted, and whose names contradict each other is odd."""
    by_learner: dict[str, list[Incoming]] = {}
    names = _Names(class_list)
    idle: list[str] = []
    intake = Intake(source, notes)

    def sort_in(files: Iterator[Incoming], depth: int) -> None:
        for file in files:
            owners, inside = names.owners(file.path)
            if len(owners) == 1:
                by_learner.setdefault(owners[0], []).append(file)
                if inside:
                    odd.setdefault(owners[0], []).append(
                        f"{file.path!r} was handed in under the name of {owners[0]} and names {' and '.join(inside)} further "
                        f"in; it counts for {owners[0]}, and nothing of it for {' or '.join(inside)}. Ask who wrote it.")
            elif (not owners and file.path.lower().endswith(".zip") and depth < incoming.DEEPEST
                  and not _SYSTEM_MADE.search(file.path)):
                # A zip of a whole group names its learners inside; one that somebody handed in names whom they like.
                sort_in(incoming.unpacked(file, course, intake), depth + 1)
            elif file.path.lower().endswith((".ipynb", ".zip")):
                whose = f"may belong to {' or '.join(owners)}" if owners else "names nobody on the class list"
                notes.append(f"{file.path!r} {whose}{_card(file, class_list)}; put it by hand into "
                             f"{course.submitted}/LEARNER/{sheet}.")
            else:
                idle.append(file.path)

    sort_in(incoming.read(source, course, notes), 0)
    if idle:
        shown = ", ".join(repr(path[:MOST_NAME]) for path in idle[:5])
        notes.append(f"Left out, since they are no notebooks and stand under nobody's name: {shown}"
                     + (f" and {len(idle) - 5} more files." if len(idle) > 5 else "."))
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

    def owners(self, path: str) -> tuple[list[str], list[str]]:
        """Return the learners that a path may belong to (one where it is certain), and others whom it names further in.

        The course system names the outermost folder, or the beginning of a file's name; what stands further in was
        named by the learner, who can write there what they like. Where the course system names somebody who is not on the
        class list, the file is nobody's.
        """
        place = PurePosixPath(path)
        parts = [*place.parts[:-1], place.stem]
        for part in parts:
            part = part[:LONGEST_PART]
            made = _SYSTEM_MADE.search(part)
            found = self._outermost(part[:made.start()] if made else part)
            if made and not found:
                return [], []
            if found:
                named = set().union(*(self._named(part[:LONGEST_PART]) for part in parts))
                return found, sorted(named - set(found)) if len(found) == 1 else []
        found = sorted(self._people_in(path))
        return found, []

    def _outermost(self, part: str) -> list[str]:
        """Whom a folder or file names first, from its beginning on to the first underscore behind a name."""
        if part.casefold() in self._identities:
            return [self._identities[part.casefold()]]
        ends = [match.start() for match in re.finditer("_", part)]
        return next((sorted(found) for end in (*ends, len(part)) if (found := self._named(part[:end]))), [])

    def _named(self, text: str) -> set[str]:
        pieces = {text.casefold(), *(piece.casefold() for piece in re.split(r"[^\w.@-]+|_", text))}
        return {self._identities[piece] for piece in pieces & self._identities.keys()} or self._people_in(text)

    def _people_in(self, text: str) -> set[str]:
        words = _words(text)
        return {one.id for one, name in self._people if len(name) > 1 and name <= words}


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


def _contents(files: Sequence[Incoming], odd: list[str]) -> dict[str, bytes]:
    """Files by plain names, with the time of handing in: a time that came among the learner's files only ever adds lateness."""
    contents: dict[str, bytes] = {}
    own: list[bytes] = []
    for file in files:
        name = _plain_name(file.path)
        if name.casefold() == _STAMP:
            own.append(file.data)
        else:
            contents[_free(name, contents)] = file.data
    at = max(file.at for file in files if _plain_name(file.path).casefold() != _STAMP or len(own) == len(files))
    changed = f"{at.astimezone(dt.UTC):%Y-%m-%d %H:%M:%S}"
    said = max((_stamped({_STAMP: data}) for data in own), default="")
    if own and said != changed:
        odd.append(f"{_STAMP} came with the work and says {said + ' UTC' if said else 'no time that can be read'}; the files were "
                   f"last changed at {changed} UTC. Anybody can write such a file, so the later time counts.")
    contents[_STAMP] = f"{max(said, changed)} UTC\n".encode()
    return contents


def _free(name: str, taken: Mapping[str, bytes]) -> str:
    """A name that no other file has yet, so that two of one name in different folders are both kept."""
    place, number = PurePosixPath(name), 2
    while name in taken:
        name, number = f"{place.stem} ({number}){place.suffix}", number + 1
    return name


def _in_all(sentences: Sequence[str], most: int) -> tuple[str, ...]:
    """Sentences once each, cut where they have no end, and no more of them than somebody reads."""
    once = list(dict.fromkeys(one if len(one) <= MOST_LETTERS else f"{one[:MOST_LETTERS]} …" for one in sentences))
    return (*once[:most], *([f"And {len(once) - most} more such remarks."] if len(once) > most else []))


def _put_aside(course: Course, sheet: Sheet, learner: str, contents: Mapping[str, bytes]) -> str:
    """Keep a hand-in that came after the last one that counts; say so in a sentence."""
    hand_ins.keep_beyond(course, sheet.name, learner, contents)
    times = "once" if sheet.rules.attempts == 1 else f"{sheet.rules.attempts} times"
    return (f"{learner}: handing in counts {times}; the work of {_stamped(contents)} UTC came after that, was put aside in "
            f"{hand_ins.kept_folder(course, sheet.name, learner)} and is not marked.")


def _put(course: Course, sheet: Sheet, learner: str, files: Sequence[Incoming], replace: bool,
         odd: list[str]) -> str:
    """Put one learner's files in their place; return what was done, or why not in a sentence."""
    contents = _contents(files, odd)
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

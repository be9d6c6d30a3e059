"""Sorts what a folder or a zip holds by learner; what belongs to nobody for certain is told and left to a person."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath

from graders.course.course import Course
from graders.course.roster import Roster
from graders.sheets.sheets import Sheet
from graders.take_in import incoming
from graders.take_in.incoming import Incoming, Intake
from graders.take_in.names import SYSTEM_MADE, Names
from graders.take_in.notes import Notes, Weight, short

_CARD = re.compile(rb'"learner": ?"([A-Za-z0-9._@-]{1,64})"')


@dataclass
class Sorted:
    """What came in, by learner.

    Args:
        files: each learner's files.
        odd: what is odd about them, for the instructor, what may mean that the work is somebody else's first.
    """

    files: dict[str, list[Incoming]] = field(default_factory=dict)
    odd: dict[str, list[str]] = field(default_factory=dict)


def sort(source: Path, course: Course, sheet: Sheet, class_list: Roster, notes: Notes) -> Sorted:
    """Sort what a folder or a zip holds.

    Args:
        source: the folder or zip.
        course: the course.
        sheet: the sheet.
        class_list: the class.
        notes: what belongs to nobody or cannot be read is added here.

    Raises:
        UsageError: the source is neither, cannot be read, or holds far too much.
    """
    return _Sorting(source, course, sheet, class_list, notes).sorted_out()


class _Sorting:
    """One source while it is being sorted."""

    def __init__(self, source: Path, course: Course, sheet: Sheet, class_list: Roster, notes: Notes) -> None:
        self._source, self._course, self._sheet, self._class_list, self._notes = source, course, sheet, class_list, notes
        self._intake = Intake(source, notes)
        self._names = Names(class_list)
        self._by_learner: dict[str, list[Incoming]] = {}
        # Whom else a learner's files name, with the first such file and their number.
        self._inside: dict[str, dict[tuple[str, ...], list[str]]] = {}
        self._idle: list[str] = []

    def sorted_out(self) -> Sorted:
        self._take(incoming.read(self._source, self._course, self._notes), 0)
        if self._idle:
            more = f" and {len(self._idle) - 5} more files." if len(self._idle) > 5 else "."
            self._notes.add(
                "Left out, since they are no notebooks and stand under nobody's name: "
                f"{', '.join(map(short, self._idle[:5]))}{more}",
                Weight.REST,
            )
        sorted_files = Sorted()
        for learner, files in self._by_learner.items():
            odd = [_names_others(learner, others, paths) for others, paths in self._inside.get(learner, {}).items()]
            own = [file for file in files if not file.packed_in]
            odd += _in_nobodys_zip(learner, [file for file in files if file.packed_in], bool(own))
            if latest := self._latest(own or files):
                sorted_files.files[learner] = latest
            sorted_files.odd[learner] = odd
        self._tell_of_whom_only_leftovers_came()
        return sorted_files

    def _take(self, files: Iterator[Incoming], depth: int) -> None:
        for file in files:
            owners, inside = self._names.owners(file.path)
            if len(owners) == 1:
                self._by_learner.setdefault(owners[0], []).append(file)
                if inside:
                    self._inside.setdefault(owners[0], {}).setdefault(tuple(inside), []).append(file.path)
            elif (
                not owners
                and file.path.lower().endswith(".zip")
                and depth < incoming.DEEPEST
                and not SYSTEM_MADE.search(file.path)
            ):
                # A zip of a whole group names its learners inside; one that somebody handed in names whom they like.
                self._take(self._unpacked(file), depth + 1)
            elif file.path.lower().endswith((".ipynb", ".zip")):
                whose = f"may belong to {' or '.join(owners)}" if owners else "names nobody on the class list"
                card = _card(file, self._class_list)
                self._notes.add(
                    f"{short(file.path)} {whose}{card}; put it by hand into {self._course.submitted}/LEARNER/"
                    f"{self._sheet.name}.",
                    Weight.WHOSE if owners or card else Weight.LOST,
                    outermost(file.path),
                )
            else:
                self._idle.append(file.path)

    def _unpacked(self, packed: Incoming) -> Iterator[Incoming]:
        """The files of a zip that names nobody: whose times they are depends on where it lies.

        What lies loose in the source was put there by the course system or the instructor. A zip further in may be any
        learner's, who names in it whom they like and gives its files the times that they like.
        """
        loose = "/" not in packed.path and not packed.packed_in
        if loose and self._sheet.due is not None and packed.at > self._sheet.due.replace(tzinfo=self._course.zone):
            self._notes.add_aside(
                f"{short(packed.path)} was last changed at {packed.at.astimezone(dt.UTC):%Y-%m-%d %H:%M} UTC, after "
                "the sheet was due; the times that stand in it count. If a learner packed it, look at them."
            )
        for file in incoming.unpacked(packed, self._course, self._intake):
            # Inside a loose zip lies what the source's own folders could hold: nothing there is loose any more.
            yield file if loose else replace(file, at=max(file.at, packed.at), packed_in=packed.packed_in or packed.path)

    def _latest(self, files: Sequence[Incoming]) -> list[Incoming]:
        """Of several hand-ins of the exchange folder (LEARNER+SHEET+TIME+...) in a copy of it only the last counts."""
        turns: dict[str, list[Incoming]] = {}
        for file in files:
            pieces = next(
                (part.split("+") for part in PurePosixPath(file.path).parts if part.count("+") >= 2), ["", self._sheet.name, ""]
            )
            if pieces[1] == self._sheet.name:
                turns.setdefault(pieces[2], []).append(file)
        latest = turns[max(turns)] if turns else []
        if len(latest) < len(files):
            first = next(file for file in files if file not in latest)
            self._notes.add_aside(
                f"1 file of another sheet or of an earlier hand-in was left alone: {short(first.path)}."
                if len(files) - len(latest) == 1
                else f"{len(files) - len(latest)} files of other sheets or of earlier hand-ins were left alone, such "
                f"as {short(first.path)}."
            )
        return latest

    def _tell_of_whom_only_leftovers_came(self) -> None:
        for path in self._notes.leftovers:
            owners, _ = self._names.owners(path)
            if len(owners) == 1 and owners[0] not in self._by_learner:
                self._notes.add(
                    f"Of {owners[0]} nothing came but leftovers, such as {short(path)}; ask for the notebook.",
                    Weight.LOST,
                    owners[0],
                )
                self._by_learner[owners[0]] = []


def outermost(path: str) -> str:
    """The part of a path that the course system or the instructor named; all that one learner sends shares it.

    Args:
        path: the path.
    """
    return path.split("/", 1)[0]


def _names_others(learner: str, others: Sequence[str], paths: Sequence[str]) -> str:
    more = f" (and {len(paths) - 1} more like it)" if len(paths) > 1 else ""
    return (
        f"{short(paths[0])}{more} was handed in under the name of {learner} and names {' and '.join(others)} further in; it "
        f"counts for {learner}, and nothing of it for {' or '.join(others)}. Ask who wrote it."
    )


def _in_nobodys_zip(learner: str, files: Sequence[Incoming], own: bool) -> list[str]:
    if not files:
        return []
    first, more = files[0], f" (and {len(files) - 1} more like it)" if len(files) > 1 else ""
    if own:
        return [
            f"{short(first.path)}{more} names {learner} and came in a zip under nobody's name; it was left out, since what came "
            "under the own name counts. Ask who packed it."
        ]
    return [
        f"{short(first.path)}{more} came in {short(first.packed_in)}, which stands under nobody's name: whoever packed it wrote the "
        "names and times in it. The zip's own time counts where it is later. Ask who packed it."
    ]


def _card(file: Incoming, class_list: Roster) -> str:
    """What a notebook says about its owner, for a person to look into; it is never believed."""
    said = _CARD.search(file.data)
    known = class_list.find(said[1].decode()) if said else None
    return f" (it says of itself that it is {known.id}'s, which anybody can write)" if known else ""

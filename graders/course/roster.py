"""The class list: a CSV file with the columns id, name, group and, if wanted, extra_time, the percent of working time that a
learner has more. Other columns are not used, and `unused_words` says so.

A list is taken whole or not at all: every row that cannot be used is reported with its line, together.
Commas, semicolons or tabs may separate the columns; the file is UTF-8, with or without a byte-order mark.
"""

from __future__ import annotations

import csv
import difflib
import io
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from graders.course.course import Course, check_learner

NEEDED = ("id", "name", "group")
OPTIONAL = ("extra_time",)
SEPARATORS = (",", ";", "\t")
LONGEST_TEXT = 200
MOST_FAULTS = 20


@dataclass(frozen=True)
class Learner:
    """One line of the class list.

    Args:
        id: identity, which names the learner's folder.
        name: the learner's name for people.
        group: the group they belong to, or "".
        extra_time: extra working time in percent, from 0.
    """

    id: str
    name: str
    group: str = ""
    extra_time: int = 0


@dataclass(frozen=True)
class Roster:
    """A class list.

    Args:
        learners: the learners in the order of the list.
        unused: columns of the file that mean nothing to the kit.
    """

    learners: tuple[Learner, ...]
    unused: tuple[str, ...] = field(default=(), compare=False)

    def __iter__(self) -> Iterator[Learner]:
        return iter(self.learners)

    def __len__(self) -> int:
        return len(self.learners)

    def find(self, learner: str) -> Learner | None:
        """The learner with an identity, or None where the list does not know it."""
        return self._by_id.get(learner)

    @cached_property
    def _by_id(self) -> dict[str, Learner]:
        return {learner.id: learner for learner in self.learners}

    def joined_with(self, later: Roster) -> Roster:
        """Both lists as one: a later entry replaces an earlier one, newcomers come last, nobody is dropped."""
        merged = self._by_id | later._by_id
        return Roster(tuple(merged.values()))


def read(path: Path) -> Roster:
    """Read a class list.

    Args:
        path: the CSV file.

    Raises:
        UsageError: the file cannot be read, a column is missing, or rows cannot be used; all of them are named.
    """
    rows = _rows(path)
    if not rows:
        raise UsageError(f"The class list {path} is empty; expected a first line with {', '.join(NEEDED)}.")
    columns = _columns(path, rows[0])
    learners: list[Learner] = []
    faults: list[str] = []
    seen: dict[str, tuple[str, int]] = {}
    for line, cells in rows[1:]:
        learner, wrong = _learner(columns, cells)
        if not wrong:
            before = seen.setdefault(learner.id.casefold(), (learner.id, line))
            if before[1] != line:
                wrong = [
                    f"identity {learner.id!r} is already in line {before[1]}"
                    + ("" if before[0] == learner.id else f" as {before[0]!r}; folders need more difference")
                ]
        faults += [f"line {line}: {words}" for words in wrong]
        learners.append(learner)
    if not faults and not learners:
        faults = ["no learner follows the first line"]
    if faults:
        more = f"\n  and {len(faults) - MOST_FAULTS} more" if len(faults) > MOST_FAULTS else ""
        raise UsageError(
            f"The class list {path} cannot be used; nothing was taken from it:\n  " + "\n  ".join(faults[:MOST_FAULTS]) + more
        )
    unused = tuple(cell for cell, name in zip(rows[0][1], columns, strict=True) if not name and cell)
    return Roster(tuple(learners), unused)


def unused_words(roster: Roster) -> list[str]:
    """Say which columns of a class list mean nothing to the kit, and which do; nothing where all are used.

    Args:
        roster: the class list.
    """
    if not roster.unused:
        return []
    return [
        f"Columns of the class list that are not used: {', '.join(roster.unused)}. Used are id, name, group and extra_time "
        "(percent more working time, such as 25)."
    ]


def changes(before: Roster, now: Roster) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return who stands on an earlier class list alone, and what changed about the others, a few words each.

    Args:
        before: the earlier list.
        now: the list of today.
    """
    vanished = tuple(f"{learner.id} {learner.name}" for learner in before if now.find(learner.id) is None)
    changed = []
    for learner in now:
        old = before.find(learner.id)
        if old is None:
            continue
        differences = [
            f"{what} {was or 'none'} → {is_now or 'none'}"
            for what, was, is_now in (
                ("group", old.group, learner.group),
                ("name", old.name, learner.name),
                ("extra time", f"{old.extra_time}%", f"{learner.extra_time}%"),
            )
            if was != is_now
        ]
        changed += [f"{learner.id}: {', '.join(differences)}"] if differences else []
    return vanished, tuple(changed)


# Letters that are no other letter with a mark on it; an English class list has them beside those that they come from.
_BESIDE = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ß": "ss", "æ": "ae", "œ": "oe", "ı": "i", "’": "'"}
)


def by_name(name: str) -> tuple[str, str]:
    """Return what names are sorted by: marks on letters count only between names that are alike without them.

    Args:
        name: the learner's name.
    """
    plain = unicodedata.normalize("NFKD", name.casefold().translate(_BESIDE))
    return "".join(letter for letter in plain if not unicodedata.combining(letter)), name


def read_class_list(course: Course) -> Roster:
    """The course's class list, empty where nothing was handed out."""
    return read(course.roster_file) if course.roster_file.exists() else Roster(())


def write(roster: Roster, path: Path) -> None:
    """Write a class list in the form that `read` reads.

    Args:
        roster: the class list.
        path: the CSV file.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(NEEDED + OPTIONAL)
    for learner in roster:
        writer.writerow((learner.id, learner.name, learner.group, learner.extra_time or ""))
    write_atomically(path, out.getvalue())


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    """Every row that is not blank, with the line on which it begins."""
    text = _text(path)
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    start = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((start, [cell.replace("\u00a0", " ").strip() for cell in cells]))
            start = reader.line_num + 1
    except csv.Error as fault:
        raise UsageError(f"The class list {path}, line {start}: {fault}. Is a quotation mark left open or doubled?") from None
    return rows


def _text(path: Path) -> str:
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise UsageError(f"There is no class list {path}.") from None
    except OSError as fault:
        raise UsageError(f"The class list {path} cannot be read: {fault.strerror}.") from None
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return data.decode("utf-16")
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise UsageError(
            f'The class list {path}, line {line}: a letter is not in UTF-8. Save the list again as "CSV UTF-8".'
        ) from None


def _columns(path: Path, head: tuple[int, list[str]]) -> list[str]:
    """The names of the columns in the file's order; a column that we don't use is named ""."""
    known = NEEDED + OPTIONAL
    names = [cell.casefold().replace(" ", "_").replace("-", "_") for cell in head[1]]
    faults = [f"column {name!r} is missing" for name in NEEDED if name not in names]
    faults += [f"column {name!r} is there twice" for name in known if names.count(name) > 1]
    for cell, name in zip(head[1], names, strict=True):
        near = difflib.get_close_matches(name, known, n=1, cutoff=0.8)
        if name not in known and near:
            faults.append(f"column {cell!r} is not known; is {near[0]!r} meant?")
    if faults:
        raise UsageError(
            f"The class list {path}, line {head[0]}: {'; '.join(faults)}. "
            f"Found: {', '.join(head[1])}; expected: {', '.join(NEEDED)}."
        )
    return [name if name in known else "" for name in names]


def _learner(columns: list[str], cells: list[str]) -> tuple[Learner, list[str]]:
    """The learner of a row, and what is wrong with the row."""
    if len(cells) != len(columns):
        return Learner("", ""), [
            f"{len(cells)} cells, expected {len(columns)}: a name with a comma in it needs quotation marks"
        ]
    values = {name: cell for name, cell in zip(columns, cells, strict=True) if name}
    faults = list(_text_faults(values.items()))
    identity_fault = check_learner(values["id"]) if values["id"] else "the identity is empty"
    if identity_fault:
        faults.append(identity_fault)
    if not values["name"]:
        faults.append("the name is empty")
    extra = values.get("extra_time", "").removesuffix("%").strip() or "0"
    if not (extra.isascii() and extra.isdigit() and int(extra) <= 400):
        faults.append(f"extra_time {values['extra_time']!r}: expected percent from 0 to 400, such as 25")
        extra = "0"
    return Learner(values["id"], values["name"], values["group"], int(extra)), faults


def _text_faults(values: Iterable[tuple[str, str]]) -> Iterator[str]:
    for name, value in values:
        if len(value) > LONGEST_TEXT:
            yield f"{name} is {len(value)} characters long; at most {LONGEST_TEXT} are taken"
        elif not value.isprintable():
            yield f"{name} {value!r} holds a character that cannot be printed"

"""What marking a sheet leaves behind: plain, frozen records that go to JSON and back unchanged.

A score is in marks, never in percent. `LearnerMarks.score` is the sum of its items; a late penalty
is kept apart in `penalty`, and an item's hints in `hint_cost`, so that all can be shown. The file on disk holds no time
taken, so that marking twice gives the same bytes; times are in the file beside it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError

FORMAT = 1


# How the comment on an item begins where nothing of the whole submission could be read.
NOTHING_READ = "No answer could be looked for"


@dataclass(frozen=True, slots=True)
class ItemMark:
    """One answer of one learner, marked.

    Args:
        item: item name, for example "L03-02".
        score: marks that count for the item, 0 to `max`.
        max: marks that the item carries on this sheet.
        verdict: "right", "wrong", "unreadable" or "missing".
        mistakes: codes of the named mistakes that were recognised.
        comment: the sentence for the learner; never holds the right answer.
        given: the text that the learner wrote, by part ("answer" for a single answer).
        read_as: how the kit read that text, by part.
        way: "read" from the source, "run" in the sandbox, or "none" where nothing was found.
        prompt: the task with this learner's numbers (Markdown).
        parts: verdict of each part by its name; empty where the item has one part.
        automatic: marks that the marker gave, where a person gave others by hand; None where nobody did.
        decided: what was decided and why, for the learner too; "" where nothing was.
        hints: hints that the learner was given.
        hint_cost: marks that these hints took off; `score` is what is left.
    """

    item: str
    score: float
    max: float
    verdict: str
    mistakes: tuple[str, ...] = ()
    comment: str = ""
    given: Mapping[str, str] = field(default_factory=dict)
    read_as: Mapping[str, str] = field(default_factory=dict)
    way: str = "none"
    prompt: str = ""
    parts: Mapping[str, str] = field(default_factory=dict)
    automatic: float | None = None
    decided: str = ""
    hints: int = 0
    hint_cost: float = 0.0

    @property
    def earned(self) -> float:
        """Marks that the answer earned, before hints took any off."""
        return round(self.score + self.hint_cost, 6)

    def to_json(self) -> dict[str, Any]:
        """The item as the command prints it."""
        return {
            "item": self.item,
            "score": self.score,
            "max": self.max,
            "verdict": self.verdict,
            "mistakes": list(self.mistakes),
            "comment": self.comment,
        }

    def to_file(self) -> dict[str, Any]:
        """The item with everything that is kept about it."""
        return {
            **self.to_json(),
            "given": dict(self.given),
            "read_as": dict(self.read_as),
            "way": self.way,
            "prompt": self.prompt,
            "parts": dict(self.parts),
            "automatic": self.automatic,
            "decided": self.decided,
            "hints": self.hints,
            "hint_cost": self.hint_cost,
        }

    @classmethod
    def from_file(cls, data: Mapping[str, Any]) -> ItemMark:
        """The item that `to_file` wrote."""
        return cls(**{**data, "mistakes": tuple(data["mistakes"])})


@dataclass(frozen=True)
class LearnerMarks:
    """All marks of one learner on one sheet.

    Args:
        learner: identity, the name of the learner's folder.
        name: the learner's name from the class list ("" where the list does not know them).
        group: the learner's group from the class list.
        score: sum of the items' scores, before any late penalty.
        max: sum of the items' maxima.
        items: the items in the order of the sheet.
        flags: what the marker noticed, one sentence each, in an instructor's words.
        attempt: which variant was marked, counted from 1.
        handed_in: time of handing in, ISO 8601 with offset, or "" where it is not known.
        penalty: marks taken off for lateness.
    """

    learner: str
    name: str
    group: str
    score: float
    max: float
    items: tuple[ItemMark, ...]
    flags: tuple[str, ...] = ()
    attempt: int = 1
    handed_in: str = ""
    penalty: float = 0.0

    @property
    def final(self) -> float:
        """Marks that count: the score less the late penalty, never below 0."""
        return max(0.0, round(self.score - self.penalty, 6))

    def to_json(self) -> dict[str, Any]:
        """The learner's marks as the command prints them."""
        return {
            "learner": self.learner,
            "score": self.score,
            "max": self.max,
            "items": [item.to_json() for item in self.items],
            "flags": list(self.flags),
        }

    def to_file(self) -> dict[str, Any]:
        """The learner's marks with everything that is kept about them."""
        return {
            **self.to_json(),
            "name": self.name,
            "group": self.group,
            "attempt": self.attempt,
            "handed_in": self.handed_in,
            "penalty": self.penalty,
            "final": self.final,
            "items": [item.to_file() for item in self.items],
        }

    @classmethod
    def from_file(cls, data: Mapping[str, Any]) -> LearnerMarks:
        """The learner's marks that `to_file` wrote."""
        kept = {key: value for key, value in data.items() if key != "final"}
        kept["items"] = tuple(ItemMark.from_file(item) for item in data["items"])
        kept["flags"] = tuple(data["flags"])
        return cls(**kept)


@dataclass(frozen=True)
class Failure:
    """A submission of which nothing could be read.

    Args:
        learner: identity of the learner.
        reason: one sentence in an instructor's words.
    """

    learner: str
    reason: str

    def to_json(self) -> dict[str, str]:
        """The failure as plain JSON data."""
        return {"learner": self.learner, "reason": self.reason}


@dataclass(frozen=True)
class MarkSheet:
    """The result of marking one sheet of one course.

    Args:
        sheet: name of the sheet.
        submissions: number of submissions found; `marked` plus the number that failed.
        marked: number of submissions of which something could be read.
        failed: the others, each with its reason; they are in `learners` too, with what they earned.
        learners: every learner who handed in, in the order of their identities.
        seconds: time that marking took, in seconds (0 when read from disk without its times).
        sandbox: the protection under which learner code ran, or "nothing was run".
        absent: learners on the class list who handed in nothing.
    """

    sheet: str
    submissions: int
    marked: int
    failed: tuple[Failure, ...]
    learners: Sequence[LearnerMarks]
    seconds: float = 0.0
    sandbox: str = ""
    absent: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The sheet as the command prints it: what a program outside may rely on."""
        return {
            "sheet": self.sheet,
            "submissions": self.submissions,
            "marked": self.marked,
            "failed": [failure.to_json() for failure in self.failed],
            "learners": [learner.to_json() for learner in self.learners],
            "seconds": round(self.seconds, 3),
        }

    def to_file(self) -> dict[str, Any]:
        """The sheet with everything that is kept about it, but without the time taken."""
        kept = self.to_json()
        del kept["seconds"]
        return {
            **kept,
            "learners": [learner.to_file() for learner in self.learners],
            "sandbox": self.sandbox,
            "absent": list(self.absent),
        }

    @classmethod
    def from_file(cls, data: Mapping[str, Any]) -> MarkSheet:
        """The sheet that `to_file` wrote."""
        kept = {key: value for key, value in data.items() if key != "format"}
        kept["failed"] = tuple(Failure(**failure) for failure in data["failed"])
        kept["learners"] = tuple(LearnerMarks.from_file(entry) for entry in data["learners"])
        kept["absent"] = tuple(data["absent"])
        return cls(**kept)


def line_of(marked: LearnerMarks) -> str:
    """A learner's marks as they stand in a file, on one line."""
    return json.dumps(marked.to_file(), ensure_ascii=False)


def write(sheet: MarkSheet, path: Path, lines: Iterable[str] | None = None) -> None:
    """Write a mark sheet atomically, and the time it took into the file beside it.

    Args:
        sheet: the mark sheet.
        path: the file, usually COURSE/marks/SHEET.json.
        lines: the learners' lines, where they stand in files already; made anew when left out.
    """
    write_atomically(path, _lines(sheet, map(line_of, sheet.learners) if lines is None else lines))
    times = json.dumps({"seconds": round(sheet.seconds, 3)})
    write_atomically(path.with_suffix(".times.json"), times + "\n")


def _lines(sheet: MarkSheet, learners: Iterable[str]) -> Iterator[str]:
    """The file's lines, one for each learner, so that a large class is never in memory twice."""
    head = {"format": FORMAT, **replace(sheet, learners=()).to_file()}
    del head["learners"]
    yield "{" + ",\n".join(f"{json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}" for key, value in head.items())
    yield ',\n"learners": ['
    for place, line in enumerate(learners):
        yield (",\n" if place else "\n") + line
    yield "\n]}\n"


def read(path: Path) -> MarkSheet:
    """Read a mark sheet back.

    Args:
        path: the file that `write` made.

    Raises:
        UsageError: there is no such file, or it is not a mark sheet of this format.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise UsageError(f"There is no mark sheet {path}. Mark the sheet first: graders mark") from None
    except (OSError, ValueError, RecursionError) as fault:
        raise UsageError(f"The mark sheet {path} cannot be read: {fault}. Mark the sheet again.") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        form = data.get("format") if isinstance(data, dict) else type(data).__name__
        raise UsageError(f"The mark sheet {path} has format {form!r}; expected {FORMAT}. Mark the sheet again.")
    times = path.with_suffix(".times.json")
    if times.exists():
        data.update(json.loads(times.read_text(encoding="utf-8")))
    try:
        return MarkSheet.from_file(data)
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        raise UsageError(
            f"The mark sheet {path} cannot be read: it lacks or has too much ({fault}). Mark the sheet again."
        ) from None

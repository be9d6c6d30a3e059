"""What a new mark sheet changes against the one before: item by item, in sentences for people and the trail."""

from __future__ import annotations

import hashlib
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from graders.book.record import LearnerMarks, MarkSheet
from graders.mark import marks_on_disk

Mark = tuple[float, float]
_Scores = tuple[tuple[str, ...], "array[float]"]


@dataclass(frozen=True)
class Change:
    """What changed for one learner; a mark is (earned, full), None where there is none.

    Args:
        learner: identity.
        items: (item, mark before, mark now) for every item whose mark changed.
        before: the mark that counted before, None for a learner who was not marked.
        now: the mark that counts now, None for a learner who is not marked any more.
    """

    learner: str
    items: tuple[tuple[str, Mark | None, Mark | None], ...]
    before: Mark | None
    now: Mark | None

    def __str__(self) -> str:
        if self.before is None:
            return f"{self.learner}: new, {_shown(self.now)}"
        told = [f"{item} {_shown(before)} → {_shown(now)}" for item, before, now in self.items]
        whole = f"{_shown(self.before)} → {_shown(self.now)}" if self.before != self.now else f"still {_shown(self.now)}"
        return f"{self.learner}: {', '.join([*told, f'together {whole}'])}"


def _shown(mark: Mark | None) -> str:
    if mark is None:
        return "none"
    return f"{mark[0]:.4g} of {mark[1]:.4g}" if mark[1] else "withdrawn"


def compare(before: MarkSheet | None, now: MarkSheet) -> tuple[Change, ...]:
    """Return what changed, learner by learner; nothing for a first mark sheet.

    Args:
        before: the mark sheet as it was, None where there was none.
        now: the mark sheet as it is.
    """
    if before is None:
        return ()
    same = _fingerprints(before.learners) & _fingerprints(now.learners)
    names: dict[tuple[str, ...], tuple[str, ...]] = {}
    old, new = ({other.learner: _scores(other, names) for other in _others(sheet.learners, same)} for sheet in (before, now))
    changes = [
        _change(learner, old.get(learner), new.get(learner))
        for learner in sorted(old.keys() | new.keys())
        if old.get(learner) != new.get(learner)
    ]
    return tuple(change for change in changes if change.items or change.before != change.now)


def _fingerprints(learners: Sequence[LearnerMarks]) -> set[bytes]:
    """What tells lines apart, in a few bytes: most learners' marks stay as they are, and need not be looked into."""
    return {_fingerprint(line) for line in marks_on_disk.texts(learners)}


def _fingerprint(line: str) -> bytes:
    return hashlib.sha256(line.encode("utf-8")).digest()


def _others(learners: Sequence[LearnerMarks], same: set[bytes]) -> Iterator[LearnerMarks]:
    """The learners whose lines are not among those that are the same."""
    for place, line in enumerate(marks_on_disk.texts(learners)):
        if _fingerprint(line) not in same:
            yield learners[place]


def _scores(learner: LearnerMarks, names: dict[tuple[str, ...], tuple[str, ...]]) -> _Scores:
    """What is compared of a learner, in a few bytes: the marks of a large class do not fit in memory twice."""
    items = tuple(item.item for item in learner.items)
    numbers = [number for item in learner.items for number in (item.score, item.max)]
    return names.setdefault(items, items), array("d", [*numbers, learner.final, learner.max])


def _by_item(scores: _Scores | None) -> dict[str, Mark]:
    if scores is None:
        return {}
    items, numbers = scores
    return {item: (numbers[2 * place], numbers[2 * place + 1]) for place, item in enumerate(items)}


def _change(learner: str, old: _Scores | None, new: _Scores | None) -> Change:
    before, now = _by_item(old), _by_item(new)
    items = tuple(
        (item, before.get(item), now.get(item)) for item in dict.fromkeys((*before, *now)) if before.get(item) != now.get(item)
    )
    whole = [(scores[1][-2], scores[1][-1]) if scores else None for scores in (old, new)]
    return Change(learner, items, whole[0], whole[1])

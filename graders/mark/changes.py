"""What a new mark sheet changes against the one before: item by item, in sentences for people and the trail."""

from __future__ import annotations

from dataclasses import dataclass

from graders.mark.record import LearnerMarks, MarkSheet

Mark = tuple[float, float]


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
    old = {one.learner: one for one in before.learners}
    new = {one.learner: one for one in now.learners}
    found = []
    for learner in sorted(old.keys() | new.keys()):
        change = _change(learner, old.get(learner), new.get(learner))
        if change.items or change.before != change.now:
            found.append(change)
    return tuple(found)


def _change(learner: str, old: LearnerMarks | None, new: LearnerMarks | None) -> Change:
    before = {item.item: (item.score, item.max) for item in old.items} if old else {}
    now = {item.item: (item.score, item.max) for item in new.items} if new else {}
    items = tuple(
        (item, before.get(item), now.get(item))
        for item in dict.fromkeys((*before, *now))
        if before.get(item) != now.get(item)
    )
    whole = [(one.final, one.max) if one else None for one in (old, new)]
    return Change(learner, items, whole[0], whole[1])

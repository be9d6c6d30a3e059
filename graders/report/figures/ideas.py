"""Ideas that may be behind several of a learner's answers, and which learners of a class may share one.

Worked out anew from the marks on disk whenever a page is written: nothing of it is kept, marked or exported. A course
that does not want it says ``ideas = false`` in its settings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.beliefs.diagnosis import Idea, diagnose
from gearkit.answers.beliefs.evidence import Evidence, evidence
from gearkit.answers.beliefs.telling import follow_ups, separating
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import Item
from gearkit.answers.items import all_items
from gearkit.words.errors import UsageError
from graders.book import record
from graders.book.record import LearnerMarks, MarkSheet
from graders.course.course import Course
from graders.mark.decide import decisions
from graders.sheets import sheets
from graders.sheets.drawn import variants_for
from graders.sheets.sheets import Sheet

Practised = Sequence[tuple[Sheet, Mapping[str, LearnerMarks]]]


@dataclass(frozen=True)
class LearnerIdea:
    """One idea as a learner's page tells it.

    Args:
        beliefs: the misconceptions that would give these answers; several where the sheet cannot tell them apart.
        items: the items of the sheet that show it.
        exercise: a new exercise on it with new numbers; where there are several, one that tells them apart.
    """

    beliefs: tuple[Belief, ...]
    items: tuple[str, ...]
    exercise: Variant | None


@dataclass(frozen=True)
class LearnerIdeas:
    """What a learner's page says about ideas behind several answers.

    Args:
        learner: identity of the learner, which gives the new numbers.
        ideas: what is named.
        more: where nothing is named but something suspected, exercises that would show it, with new numbers.
    """

    learner: str = ""
    ideas: tuple[LearnerIdea, ...] = ()
    more: tuple[Variant, ...] = ()


@dataclass(frozen=True)
class SharedIdea:
    """A misconception that some learners of a class may have.

    Args:
        belief: the misconception.
        learners: identities of those whose answers show it.
        items: the items that show it, each with the number of learners.
        instead: other misconceptions that would have given some of these answers.
        ask: an item to ask about it next.
        separates: the item that tells it from the first of `instead`, if there is one.
    """

    belief: Belief
    learners: tuple[str, ...]
    items: tuple[tuple[str, int], ...]
    instead: tuple[Belief, ...] = ()
    ask: str = ""
    separates: str = ""


@dataclass(frozen=True)
class ClassIdeas:
    """What the class report says about ideas behind several answers.

    Args:
        shared: the misconceptions that were seen, the commonest first.
        suspected: misconception -> learners, where two more exercises would settle it, and these exercises.
    """

    shared: tuple[SharedIdea, ...] = ()
    suspected: Mapping[Belief, tuple[tuple[str, ...], tuple[str, ...]]] = field(default_factory=dict)


def of_learner(
    course: Course, sheet: Sheet, marked: LearnerMarks, drawn: Sequence[Variant], practised: Practised
) -> LearnerIdeas:
    """Return what a learner's page says.

    Args:
        course: the course.
        sheet: the sheet.
        marked: the learner's marks on it.
        drawn: the learner's variants of its items.
        practised: the course's practice sheets from `practice_sheets`.
    """
    if not course.ideas:
        return LearnerIdeas(marked.learner)
    seen = _evidence(sheet, marked, drawn)
    diagnosis = diagnose(seen + _on_practice_sheets(course, sheet, marked.learner, practised))
    answered, pool = [variant.item.id for variant in drawn], _pool(sheet)
    ideas = []
    for idea in diagnosis.ideas:
        items = _on_this_sheet(seen, idea)
        if items:
            ideas.append(LearnerIdea(idea.beliefs, items, _exercise(idea.beliefs, answered, pool, marked.learner)))
    more = () if ideas else follow_ups(diagnosis.suspected, answered, pool)
    return LearnerIdeas(marked.learner, tuple(ideas), tuple(practice(item, marked.learner) for item in more))


def _evidence(sheet: Sheet, learner: LearnerMarks, drawn: Sequence[Variant]) -> list[Evidence]:
    given = {mark.item: mark.given for mark in learner.items if any(mark.given.values())}
    return [
        told
        for variant in drawn
        if variant.item.id in given and (told := evidence(variant, given[variant.item.id], sheet.rules.comma)) is not None
    ]


def _on_this_sheet(seen: Sequence[Evidence], idea: Idea) -> tuple[str, ...]:
    """The items of the sheet that show an idea; a practice sheet may have asked the same ones again."""
    return tuple(entry.item for entry in seen if idea.beliefs[0] in entry.shows)


def _exercise(beliefs: Sequence[Belief], answered: Sequence[str], pool: Sequence[Item], learner: str) -> Variant | None:
    item = separating(beliefs, answered, pool) or next(iter(follow_ups(beliefs, answered, pool, 1)), None)
    return practice(item, learner) if item else None


def _pool(sheet: Sheet) -> list[Item]:
    """The exercises of the sheet's lessons and those before: what comes later has not been taught."""
    lessons = [entry.item.lesson for entry in sheet.items if entry.item.id.startswith("L")]
    return [item for item in all_items() if item.lesson <= max(lessons, default=0) and not item.constraints]


def _on_practice_sheets(course: Course, sheet: Sheet, learner: str, practised: Practised) -> list[Evidence]:
    """What a learner answered there to items of the same lessons: follow-ups are evidence too."""
    lessons = {entry.item.lesson for entry in sheet.items}
    seen = []
    for other, by_learner in practised:
        if learner in by_learner:
            marks = by_learner[learner]
            drawn = variants_for(course, other, learner, marks.attempt, decisions.withdrawn(course, other.name))
            seen += _evidence(other, marks, [variant for variant in drawn if variant.item.lesson in lessons])
    return seen


def practice_sheets(course: Course, sheet: Sheet) -> Practised:
    """Return the course's other sheets for practice that were marked, each with its marks by learner.

    Args:
        course: the course; one that does not want ideas told has none to read.
        sheet: the sheet that is reported on.
    """
    practised: list[tuple[Sheet, Mapping[str, LearnerMarks]]] = []
    if not course.ideas:
        return practised
    for path in sorted((course.folder / "sheets").glob("*.toml")):
        if path.stem == sheet.name or not course.marks_file(path.stem).exists():
            continue
        try:
            other = sheets.read(path)
        except UsageError:
            # A sheet that cannot be read is told where sheets are listed; here it only tells nothing.
            continue
        if other.kind == "practice":
            practised.append(
                (other, {learner.learner: learner for learner in record.read(course.marks_file(other.name)).learners})
            )
    return practised


def of_class(course: Course, sheet: Sheet, marks: MarkSheet) -> ClassIdeas:
    """Return what the class report says.

    Args:
        course: the course.
        sheet: the sheet.
        marks: its mark sheet.
    """
    if not course.ideas:
        return ClassIdeas()
    answered, pool = [entry.item.id for entry in sheet.items], _pool(sheet)
    who: dict[Belief, list[str]] = {}
    where: dict[Belief, Counter[str]] = {}
    instead: dict[Belief, Counter[Belief]] = {}
    suspected: dict[Belief, list[str]] = {}
    withdrawn, practised = decisions.withdrawn(course, sheet.name), practice_sheets(course, sheet)
    for learner in marks.learners:
        drawn = variants_for(course, sheet, learner.learner, learner.attempt, withdrawn)
        seen = _evidence(sheet, learner, drawn)
        diagnosis = diagnose(seen + _on_practice_sheets(course, sheet, learner.learner, practised))
        for idea in diagnosis.ideas:
            first, *others = idea.beliefs
            who.setdefault(first, []).append(learner.learner)
            where.setdefault(first, Counter()).update(_on_this_sheet(seen, idea))
            instead.setdefault(first, Counter()).update(others)
        if diagnosis.suspected:
            suspected.setdefault(diagnosis.suspected[0], []).append(learner.learner)
    shared = [_shared(belief, learners, where[belief], instead[belief], answered, pool) for belief, learners in who.items()]
    more = {
        belief: (tuple(learners), tuple(item.id for item in follow_ups([belief], answered, pool)))
        for belief, learners in suspected.items()
    }
    return ClassIdeas(
        tuple(sorted(shared, key=lambda entry: (-len(entry.learners), entry.belief.name))),
        dict(sorted(more.items(), key=lambda entry: (-len(entry[1][0]), entry[0].name))),
    )


def _shared(
    belief: Belief,
    learners: Sequence[str],
    where: Counter[str],
    instead: Counter[Belief],
    answered: Sequence[str],
    pool: Sequence[Item],
) -> SharedIdea:
    others = tuple(other for other, _ in instead.most_common())
    ask = next(iter(follow_ups([belief, *others], answered, pool, 1)), None)
    apart = separating((belief, *others), answered, pool)
    return SharedIdea(
        belief, tuple(learners), tuple(where.most_common()), others, ask.id if ask else "", apart.id if apart else ""
    )

"""What the class report is made of, and the figures drawn from it; no markup here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from graders.book.record import LearnerMarks, MarkSheet
from graders.course.roster import Roster, by_name
from graders.report.figures import statistics as stats
from graders.report.figures.fairness import ItemFairness
from graders.report.figures.ideas import ClassIdeas
from graders.report.figures.predictions import Gathered
from graders.report.figures.score_table import ScoreTable, upper_and_lower
from graders.report.figures.similarity import Similarity
from graders.report.mark_files import item_names
from graders.report.pages.item_words import ItemWords


@dataclass(frozen=True)
class ReportData:
    """Everything that a class report shows.

    Args:
        course: title of the course.
        sheet: title of the sheet.
        marks: the mark sheet.
        roster: the class list.
        words: words of each item, by item id.
        mistakes: name and general sentence of each mistake, by code.
        similarity: pairs of submissions worth a conversation.
        earlier: earlier sheets of the course as (title, mark sheet), in order.
        marked_on: when the sheet was marked, as text for people, or "".
        predictions: predictions in the records that were handed in.
        fairness: how marks went with the numbers that learners drew, for items that have such.
        ideas: misconceptions that may be behind several answers of learners.
    """

    course: str
    sheet: str
    marks: MarkSheet
    roster: Roster
    words: Mapping[str, ItemWords] = field(default_factory=dict)
    mistakes: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    similarity: tuple[Similarity, ...] = ()
    earlier: tuple[tuple[str, MarkSheet], ...] = ()
    marked_on: str = ""
    predictions: Gathered = field(default_factory=Gathered)
    fairness: tuple[ItemFairness, ...] = ()
    ideas: ClassIdeas = field(default_factory=ClassIdeas)

    @cached_property
    def table(self) -> ScoreTable:
        """The marks as an exact table; who handed in nothing is not in it."""
        return score_table(self.marks)

    @cached_property
    def figures(self) -> tuple[stats.ItemFigures, ...]:
        """The figures of every item."""
        return stats.item_figures(self.table)

    @cached_property
    def shares(self) -> tuple[stats.MistakeShare, ...]:
        """How common each named mistake was on each item."""
        made = {(learner.learner, mark.item): mark.mistakes for learner in self.marks.learners for mark in learner.items}
        return stats.mistake_shares(self.table, made)

    @cached_property
    def groups(self) -> dict[str, list[LearnerMarks]]:
        """Learners by group, groups and names in order."""
        by_group: dict[str, list[LearnerMarks]] = {}
        for marked in sorted(
            self.marks.learners, key=lambda learner: (learner.group, by_name(learner.name or learner.learner))
        ):
            by_group.setdefault(marked.group or "no group", []).append(marked)
        return by_group

    @cached_property
    def full(self) -> float:
        """Full marks of the sheet."""
        return max([learner.max for learner in self.marks.learners], default=0.0)

    def name_of(self, learner: str) -> str:
        """Return a learner's name, or the identity where the class list has none."""
        known = self.roster.find(learner)
        return known.name if known else learner


def score_table(marks: MarkSheet) -> ScoreTable:
    """Return a mark sheet as an exact table: marks earned, before hints or lateness took any off; no withdrawn items."""
    full = {mark.item: _exact(mark.max) for learner in marks.learners for mark in learner.items}
    # A withdrawn item carries no marks and so has no figures.
    items = tuple(item for item in item_names(marks) if full[item] > 0)
    rows = []
    for marked in marks.learners:
        earned = {mark.item: _exact(mark.earned) for mark in marked.items}
        rows.append(tuple(min(earned.get(item, Fraction(0)), full[item]) for item in items))
    return ScoreTable(
        tuple(learner.learner for learner in marks.learners), items, tuple(full[item] for item in items), tuple(rows)
    )


def _exact(mark: float) -> Fraction:
    # The file keeps floats; marks are small fractions such as 5/3, and this finds them again.
    return Fraction(mark).limit_denominator(1000)


@dataclass(frozen=True)
class TaughtAgain:
    """One mistake over the whole sheet.

    Args:
        code: the mistake's code.
        learners: how many learners made it.
        items: the items that it was seen in, the commonest first.
        upper: share of the upper group that made it, on the item where it is commonest.
        lower: the same share of the lower group.
    """

    code: str
    learners: int
    items: tuple[tuple[str, int], ...]
    upper: Fraction
    lower: Fraction


def taught_again(data: ReportData) -> tuple[TaughtAgain, ...]:
    """Return the mistakes of a sheet, those that most learners made first."""
    who: dict[str, set[str]] = {}
    for learner in data.marks.learners:
        for mark in learner.items:
            # A withdrawn item carries no marks, and what was answered to it teaches nothing.
            for code in mark.mistakes if mark.max else ():
                who.setdefault(code, set()).add(learner.learner)
    upper, lower = upper_and_lower(data.table)
    taught = []
    for code, learners in who.items():
        items = tuple((share.item, share.learners) for share in data.shares if share.mistake == code)
        above, below = (
            sum((w for w, name in zip(side, data.table.learners, strict=True) if name in learners), Fraction(0)) / sum(side)
            for side in (upper, lower)
        )
        taught.append(TaughtAgain(code, len(learners), items, above, below))
    return tuple(sorted(taught, key=lambda row: (-row.learners, -sum(n for _, n in row.items), row.code)))

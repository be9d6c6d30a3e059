"""Figures about a marked sheet: how hard the items were, how well they told learners apart, how far to trust a mark.

Scores are exact fractions of marks. Every variance has divisor n (any one divisor, used everywhere, gives the same
alpha). Where a figure cannot exist (one item, everybody with the same total) it is None, never 0.

Sources. KR-20: G. F. Kuder and M. W. Richardson, "The theory of the estimation of test reliability", Psychometrika
2(3), 1937, 151-160, twentieth formula (citation seen in secondary pages, the paper itself not read). Alpha:
L. J. Cronbach, "Coefficient alpha and the internal structure of tests", Psychometrika 16, 1951, 297-334 (from memory).
Length of a test: C. Spearman and W. Brown, each in British Journal of Psychology 3, 1910 (seen in an encyclopaedia).
Item-rest correlation, upper-lower discrimination, standard error of measurement, kappa: classical test theory as
textbooks give it (from memory). The reading bands beside each figure are rough and from memory.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.words.errors import UsageError
from graders.report.figures.score_table import ScoreTable, correlation, mean, upper_and_lower, variance

SMALL_CLASS = 30
# Below this a percentage would be one learner's good or bad day: the count is told.
FEWEST_FOR_PERCENT = 5
_RESAMPLES = 500
_FEWEST_RESAMPLES = 100
_MOST_MARKS_DRAWN = 2_000_000


@dataclass(frozen=True)
class ItemFigures:
    """What one item's marks say about the item; None where a figure cannot exist."""

    item: str
    full_marks: Fraction
    facility: Fraction | None
    discrimination: Fraction | None
    item_rest: float | None
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class Reliability:
    """How far the total of a sheet would come out the same again; None where it cannot be told."""

    learners: int
    items: int
    alpha: Fraction | None
    kind: str
    low: float | None
    high: float | None
    standard_error: float | None
    doubled: Fraction | None
    warning: str


def facility(table: ScoreTable, item: str) -> Fraction | None:
    """Return the mean mark on an item as a share of its full marks; None for an empty table.

    Args:
        table: the marks.
        item: an item of the table.
    """
    if not table.rows:
        return None
    return mean(table.column(item)) / table.maxima[table.items.index(item)]


def discrimination(table: ScoreTable, item: str) -> Fraction | None:
    """Return facility in the upper group less facility in the lower group; None below two learners.

    Args:
        table: the marks.
        item: an item of the table.
    """
    if len(table.rows) < 2:
        return None
    full = table.maxima[table.items.index(item)]
    marks = table.column(item)
    upper, lower = upper_and_lower(table)
    difference = Fraction(0)
    for weights, sense in ((upper, 1), (lower, -1)):
        earned = sum((w * mark for w, mark in zip(weights, marks, strict=True) if w), Fraction(0))
        difference += sense * earned / sum(weights)
    return difference / full


def item_rest(table: ScoreTable, item: str) -> float | None:
    """Return the correlation of an item's marks with the rest of the sheet, the item itself left out.

    Args:
        table: the marks.
        item: an item of the table.
    """
    marks = table.column(item)
    rest = [total - mark for total, mark in zip(table.totals, marks, strict=True)]
    return correlation(marks, rest)


def cronbach_alpha(table: ScoreTable) -> Fraction | None:
    """Return k/(k-1) (1 - sum var(x_j) / var(X)), exactly; None for one item or totals that do not vary."""
    k = len(table.items)
    if k < 2 or len(table.rows) < 2:
        return None
    whole = variance(table.totals)
    if whole == 0:
        return None
    parts = sum((variance(table.column(item)) for item in table.items), Fraction(0))
    return Fraction(k, k - 1) * (1 - parts / whole)


def kr20(table: ScoreTable) -> Fraction | None:
    """Return k/(k-1) (1 - sum p q / var(X)) for items marked all or nothing, counted 1 or 0.

    Raises:
        UsageError: where an item has partial marks; Cronbach's alpha is the figure for those.
    """
    if not all_or_nothing(table):
        raise UsageError("KR-20 needs items marked all or nothing; this sheet has partial marks. Use Cronbach's alpha.")
    k = len(table.items)
    if k < 2 or len(table.rows) < 2:
        return None
    ones = [[Fraction(int(mark > 0)) for mark in row] for row in table.rows]
    whole = variance([sum(row, Fraction(0)) for row in ones])
    if whole == 0:
        return None
    shares = [mean([row[j] for row in ones]) for j in range(k)]
    return Fraction(k, k - 1) * (1 - sum((p * (1 - p) for p in shares), Fraction(0)) / whole)


def all_or_nothing(table: ScoreTable) -> bool:
    """Say whether every mark is either 0 or the item's full marks, and all items count the same."""
    same = len(set(table.maxima)) <= 1
    return same and all(mark in (0, full) for row in table.rows for mark, full in zip(row, table.maxima, strict=True))


def standard_error(table: ScoreTable, alpha: Fraction | None) -> float | None:
    """Return the standard error of a learner's total, sd(X) sqrt(1 - alpha), in marks.

    Args:
        table: the marks.
        alpha: the reliability of the same table; None gives None. A negative one counts as 0.
    """
    if alpha is None:
        return None
    return math.sqrt(variance(table.totals) * (1 - max(alpha, Fraction(0))))


def lengthened(reliability: Fraction, times: Fraction) -> Fraction:
    """Return the reliability of a sheet made longer by items of the same kind, L r / (1 + (L - 1) r).

    Args:
        reliability: of the sheet as it is, at most 1.
        times: how many times as long, above 0.
    """
    if times <= 0:
        raise UsageError(f"Length of a sheet: {times} times is not possible; give a number above 0.")
    return times * reliability / (1 + (times - 1) * reliability)


def reliability(table: ScoreTable, seed: str = "resample") -> Reliability:
    """Return the reliability of a sheet with the band that resampling the learners gives (nine times in ten).

    Args:
        table: the marks.
        seed: fixes the resampling, so that the same marks give the same band.
    """
    zero_or_one = all_or_nothing(table)
    alpha = kr20(table) if zero_or_one else cronbach_alpha(table)
    band = alpha_band(table, seed) if alpha is not None else None
    n = len(table.rows)
    return Reliability(
        learners=n,
        items=len(table.items),
        alpha=alpha,
        kind="KR-20" if zero_or_one else "Cronbach's alpha",
        low=band[0] if band else None,
        high=band[1] if band else None,
        standard_error=standard_error(table, alpha),
        doubled=lengthened(alpha, Fraction(2)) if alpha is not None and alpha > 0 else None,
        warning=small_class_warning(n),
    )


def small_class_warning(learners: int) -> str:
    """Return the warning to print beside the figures of a class below 30, or an empty text."""
    if learners >= SMALL_CLASS:
        return ""
    people = "1 learner" if learners == 1 else f"{learners} learners"
    return (
        f"Only {people}: below about {SMALL_CLASS} every figure here is shaky. Read them as a reason to look at an "
        "item, pool the years before you decide, and never drop an item because of a figure alone."
    )


def alpha_band(table: ScoreTable, seed: str = "resample") -> tuple[float, float] | None:
    """Return the 5th and 95th percentile of alpha over classes drawn from this one with replacement.

    Args:
        table: the marks.
        seed: fixes the draws.
    """
    n, k = len(table.rows), len(table.items)
    if n < 3 or k < 2:
        return None
    rows = [[float(mark) for mark in row] for row in table.rows]
    drawn = random.Random(seed)
    # A large class needs fewer draws for a steady band, and would take long with all of them.
    draws = max(_FEWEST_RESAMPLES, min(_RESAMPLES, _MOST_MARKS_DRAWN // (n * k)))
    alphas = sorted(
        alpha
        for alpha in (_float_alpha([rows[drawn.randrange(n)] for _ in range(n)], k) for _ in range(draws))
        if alpha is not None
    )
    if not alphas:
        return None
    edge = len(alphas) // 20
    return alphas[edge], alphas[-1 - edge]


def _float_alpha(rows: Sequence[Sequence[float]], k: int) -> float | None:
    n = len(rows)
    totals = [sum(row) for row in rows]
    whole = sum(t * t for t in totals) / n - (sum(totals) / n) ** 2
    if whole <= 1e-12:
        return None
    parts = 0.0
    for column in zip(*rows, strict=True):
        parts += sum(x * x for x in column) / n - (sum(column) / n) ** 2
    return k / (k - 1) * (1 - parts / whole)


def item_figures(table: ScoreTable) -> tuple[ItemFigures, ...]:
    """Return the figures of every item, with a remark where one should be looked at."""
    figures = []
    for item, full in zip(table.items, table.maxima, strict=True):
        p, d, r = facility(table, item), discrimination(table, item), item_rest(table, item)
        figures.append(ItemFigures(item, full, p, d, r, _remarks(p, d, r)))
    return tuple(figures)


def _remarks(p: Fraction | None, d: Fraction | None, r: float | None) -> tuple[str, ...]:
    if p == 1:
        # So it is where everybody was right, and where full marks were given to all.
        return ("everybody has full marks, so it tells nothing about who knows more",)
    remarks = []
    if p is not None and p < Fraction(3, 10):
        remarks.append("hard: few marks were earned, look at the wording and the teaching")
    if p is not None and p > Fraction(85, 100):
        remarks.append("easy: nearly everybody has it, so it tells little about who knows more")
    if d is not None and d < 0:
        remarks.append("the weaker group did better: check the key and the wording")
    elif d is not None and d < Fraction(1, 10):
        remarks.append("tells the stronger from the weaker group hardly at all")
    if r is not None and r < 0.2 and (d is None or d >= Fraction(1, 10)):
        remarks.append("goes its own way from the rest of the sheet")
    return tuple(remarks)


@dataclass(frozen=True)
class MistakeShare:
    """How common one named mistake was on one item."""

    item: str
    mistake: str
    learners: int
    share: Fraction
    upper: Fraction
    lower: Fraction


def mistake_shares(table: ScoreTable, made: Mapping[tuple[str, str], Iterable[str]]) -> tuple[MistakeShare, ...]:
    """Return the share of learners, of the upper and of the lower group that made each named mistake.

    Args:
        table: the marks.
        made: for (learner, item) the names of the mistakes seen there.
    """
    upper, lower = upper_and_lower(table)
    who: dict[tuple[str, str], set[int]] = {}
    for row, learner in enumerate(table.learners):
        for item in table.items:
            for mistake in made.get((learner, item), ()):
                who.setdefault((item, mistake), set()).add(row)
    shares = []
    for (item, mistake), rows in who.items():
        above, below = (sum((weights[row] for row in rows), Fraction(0)) / sum(weights) for weights in (upper, lower))
        shares.append(MistakeShare(item, mistake, len(rows), Fraction(len(rows), len(table.rows)), above, below))
    return tuple(sorted(shares, key=lambda share: (-share.learners, table.items.index(share.item), share.mistake)))


def awkwardness(value: Fraction) -> Fraction:
    """Return how unhandy a number is to reckon with: the digits of its numerator and denominator together."""
    return Fraction(len(str(abs(value.numerator))) + len(str(value.denominator)))


def variant_fairness(marks: Sequence[Fraction], drawn: Sequence[Fraction]) -> dict[str, float | None]:
    """Return how marks on an item go with the numbers each learner drew; near 0 is fair.

    Args:
        marks: marks on the item, one per learner.
        drawn: the learner's drawn right value, one per learner.
    """
    return {
        "size": correlation(marks, [abs(value) for value in drawn]),
        "awkwardness": correlation(marks, [awkwardness(value) for value in drawn]),
    }


def kappa(first: Sequence[str], second: Sequence[str]) -> Fraction | None:
    """Return two markers' agreement beyond chance, (po - pe)/(1 - pe); None where chance alone agrees always.

    Args:
        first: the first marker's marks or words, one per script.
        second: the second marker's, in the same order.
    """
    if len(first) != len(second) or not first:
        counts = f"{len(first)} marks against {len(second)}"
        raise UsageError(f"Agreement: {counts}; give the same scripts from both markers.")
    n = len(first)
    agreed = Fraction(sum(a == b for a, b in zip(first, second, strict=True)), n)
    words = set(first)
    chance = Fraction(sum(list(first).count(word) * list(second).count(word) for word in words), n * n)
    return None if chance == 1 else (agreed - chance) / (1 - chance)

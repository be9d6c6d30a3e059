"""Ring-to-sun ratios from a published chart: which ranges apply what, and which ratio the source prints for each.

A printed ratio stands for all values that round to it. The quotients R/S that give every printed ratio are searched as
boxes, as in `boxes`: on a box a ratio takes its extremes at the corners, so a box on which some ratio cannot round to
what is printed is dropped. No box left: the data contradict each other, and leaving ranges out shows which. Boxes that
shrink to a point: the quotient is found. Boxes that stay wide: the data do not fix it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations
from math import ceil, floor
from typing import Any

from gearkit.solve.one_way import in_range
from gearkit.solve.ratios import Ratio, ratio
from gearkit.solve.teeth.boxes import Field, extremes
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import PinionKind

# A ring 1.1 to 10 times as large as the sun: wider than what is built (common practice, no source).
LEAST, MOST = 1.1, 10.0
_FINE = 2e-5
_MOST_BOXES = 40_000
_NARROW = 0.02
_MOST_DIGITS = 7
# For a thin band of quotients: halvings, boxes kept at each, points looked at, digits.
_MOST_HALVINGS, _KEPT, _LOOKED_AT, _MOST_DIGITS_IN_A_BAND = 60, 256, 4, 12


@dataclass(frozen=True)
class QuotientsOfChart:
    """What printed ratios say of the sets that were asked about.

    Args:
        layout: the layout with a quotient for every set that the ratios fix.
        spans: set -> least and largest R/S that the ratios allow; no set where the data contradict each other.
        open: sets that the ratios do not fix, with the ranges that depend on each.
        against: ranges, one group or several, without which the others agree; empty where all agree.
        without: range of `against` that stands alone -> least and largest ratio that the others leave it.
    """

    layout: Layout
    spans: Mapping[str, tuple[float, float]]
    open: Mapping[str, tuple[str, ...]]
    against: tuple[tuple[str, ...], ...]
    without: Mapping[str, tuple[float, float]]


def rounded_span(printed: str) -> tuple[Fraction, Fraction]:
    """Return the least and the largest value that round to a printed number.

    Args:
        printed: digits with a point, such as "2.846".
    """
    half = Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))
    return Fraction(printed) - half, Fraction(printed) + half


def quotients_from_chart(layout: Layout, asked: Collection[str]) -> QuotientsOfChart:
    """Return the ring-to-sun ratios that the printed ratios of a layout's ranges fix.

    Args:
        layout: ranges with printed ratios among them; what it has for R/S of the sets asked about does not matter.
        asked: names of single or double sets.

    Raises:
        UsageError: no set asked about, one that is stepped or bevel, no printed ratio, or a range with one that has no ratio.
    """
    for name in asked:
        if layout.set_named(name).pinions not in (PinionKind.SINGLE, PinionKind.DOUBLE):
            raise UsageError(f"{name}: R/S is found for single and double sets; give the tooth counts of this one.")
    printed = {item.name: rounded_span(item.published_ratio) for item in layout.ranges if item.published_ratio}
    if not printed or not asked:
        raise UsageError("Ring-to-sun ratios are found from ratios: give at least one range with its printed ratio.")
    chart = _Chart(layout, [pset.name for pset in layout.sets if pset.name in asked], printed)
    boxes = chart.boxes(printed)
    if boxes is None:
        return _contradiction(chart)
    spans = _spans(chart, boxes)
    fixed = {name: span for name, span in spans.items() if span[1] / span[0] - 1 < _NARROW}
    depends = {
        name: tuple(r for r, formula in chart.formulas.items() if name in formula.sets) for name in spans if name not in fixed
    }
    return QuotientsOfChart(_with_quotients(chart, fixed, boxes), spans, depends, (), {})


class _Chart:
    """The ratios of the ranges as formulas in the quotients that are asked about."""

    def __init__(self, layout: Layout, asked: Sequence[str], printed: Mapping[str, tuple[Fraction, Fraction]]) -> None:
        self.layout, self.asked, self.printed = layout, asked, printed
        self.formulas = {name: _formula(layout, name) for name in printed}
        self.field = Field([[name] for name in asked], [], self._weights, {}, {}, (), lambda point: True)

    def _weights(self, quotients: Sequence[Any]) -> dict[str, tuple[Any, Any]]:
        known: dict[str, tuple[Any, Any]] = {pset.name: pset.weights for pset in self.layout.sets}
        for name, quotient in zip(self.asked, quotients, strict=True):
            known[name] = (1 if self.layout.set_named(name).weights[0] > 0 else -1, quotient)
        return known

    def boxes(self, kept: Collection[str]) -> Any:
        """Boxes of quotients (least and most, set by set) on which every kept ratio may round as printed; None for none."""
        import numpy as np

        boxes = np.array([[[LEAST, MOST]] * len(self.asked)])
        while True:
            boxes = boxes[self.may_round(boxes, kept)]
            if not len(boxes):
                return None
            width = boxes[:, :, 1] / boxes[:, :, 0] - 1
            wide = width.max(axis=1) > _FINE
            if not wide.any() or len(boxes) > _MOST_BOXES:
                return boxes
            boxes = np.concatenate([boxes[~wide], _halved(boxes[wide], width[wide].argmax(axis=1))])

    def may_round(self, boxes: Any, kept: Collection[str]) -> Any:
        """Whether every kept ratio may round as printed somewhere on a box."""
        import numpy as np

        possible = np.full(len(boxes), True)
        for name in kept:
            least, most, steady = self.extremes(boxes, name)
            low, high = map(float, self.printed[name])
            possible &= ~steady | ((most >= low) & (least <= high))
        return possible

    def missed_by(self, boxes: Any) -> Any:
        """By how much the middle of each box misses the printed ratios, in halves of their last digits, the worst of them."""
        import numpy as np

        middle = boxes.mean(axis=2)
        points = np.stack([middle, middle], axis=2)
        worst = np.zeros(len(boxes))
        for name, (low, high) in self.printed.items():
            value = self.extremes(points, name)[0]
            worst = np.maximum(worst, abs(value - float(low + high) / 2) * 2 / float(high - low))
        return np.nan_to_num(worst, nan=np.inf)

    def extremes(self, boxes: Any, name: str) -> tuple[Any, Any, Any]:
        """Least and largest ratio of a range on each box, and where that is certain."""
        import numpy as np

        count = len(boxes)
        ends = np.stack([np.arange(count), np.arange(count) + count], axis=1)
        places = np.repeat(ends[:, None, :], len(self.asked), axis=1)
        axes = [np.concatenate([boxes[:, place, 0], boxes[:, place, 1]]) for place in range(len(self.asked))]
        return extremes(self.field, axes, places, self.formulas[name])

    def value(self, name: str, quotients: Mapping[str, Fraction]) -> Fraction | None:
        """The exact ratio of a range at given quotients."""
        top, bottom = self.formulas[name].at(self._weights([quotients[n] for n in self.asked]))
        return Fraction(top) / Fraction(bottom) if bottom else None


def _formula(layout: Layout, range_name: str) -> Ratio:
    formula = ratio(layout, in_range(layout, range_name).engaged)
    if formula is None:
        engaged = ", ".join(layout.engaged_in(range_name)) or "nothing"
        printed = layout.range_named(range_name).published_ratio
        raise UsageError(
            f"Range {range_name}: a ratio of {printed} is printed, but with {engaged} applied this layout has no ratio. "
            "Check the elements of the range, what they act on, and the joins."
        )
    return formula


def _halved(boxes: Any, side: Any) -> Any:
    import numpy as np

    rows = np.arange(len(boxes))
    middle = np.sqrt(boxes[rows, side, 0] * boxes[rows, side, 1])
    low, high = boxes.copy(), boxes.copy()
    low[rows, side, 1] = middle
    high[rows, side, 0] = middle
    return np.concatenate([low, high])


def _spans(chart: _Chart, boxes: Any) -> dict[str, tuple[float, float]]:
    return {name: (float(boxes[:, place, 0].min()), float(boxes[:, place, 1].max())) for place, name in enumerate(chart.asked)}


def _contradiction(chart: _Chart) -> QuotientsOfChart:
    """Which ranges stand against the others: the fewest that have to be left out."""
    names = list(chart.printed)
    for size in range(1, len(names)):
        against, without = [], {}
        for left_out in combinations(names, size):
            boxes = chart.boxes([name for name in names if name not in left_out])
            if boxes is None:
                continue
            against.append(left_out)
            if size == 1:
                least, most, steady = chart.extremes(boxes, left_out[0])
                if steady.all():
                    without[left_out[0]] = (float(least.min()), float(most.max()))
        if against:
            return QuotientsOfChart(chart.layout, {}, {}, tuple(against), without)
    return QuotientsOfChart(chart.layout, {}, {}, tuple((name,) for name in names), {})


def _with_quotients(chart: _Chart, fixed: Mapping[str, tuple[float, float]], boxes: Any) -> Layout:
    """The layout with the plainest quotients that give every printed ratio; where none are found, its warnings say which differ."""
    middle = boxes[len(boxes) // 2].mean(axis=1)
    spans = _spans(chart, boxes)
    tried = [{name: _plainest(span, more) for name, span in spans.items()} for more in range(_MOST_DIGITS)]
    best = next((quotients for quotients in tried if _all_round(chart, quotients)), None)
    if best is None and len(fixed) == len(spans):
        # One ratio printed to many digits leaves a thin, bent band of quotients, in whose middle nothing need lie.
        best = _in_the_band(chart, boxes)
    best = best or _rounded(chart, middle, _MOST_DIGITS)
    sets = tuple(
        replace(
            pset, sun_teeth=None, ring_teeth=None, sun_pinion_teeth=None, ring_pinion_teeth=None, ring_to_sun=best[pset.name]
        )
        if pset.name in fixed
        else pset
        for pset in chart.layout.sets
    )
    return replace(chart.layout, sets=sets, text="", file="")


def _in_the_band(chart: _Chart, boxes: Any) -> dict[str, Fraction] | None:
    """Quotients with few digits that give every printed ratio, from ever smaller boxes round the points that miss least."""
    for _ in range(_MOST_HALVINGS):
        boxes = boxes[chart.missed_by(boxes).argsort()[:_KEPT]]
        for centre in boxes[:_LOOKED_AT].mean(axis=2):
            for digits in range(1, _MOST_DIGITS_IN_A_BAND + 1):
                quotients = _rounded(chart, centre, digits)
                if _all_round(chart, quotients):
                    return quotients
        width = boxes[:, :, 1] / boxes[:, :, 0] - 1
        boxes = _halved(boxes, width.argmax(axis=1))
        boxes = boxes[chart.may_round(boxes, chart.printed)]
        if not len(boxes):
            return None
    return None


def _rounded(chart: _Chart, quotients: Sequence[float], digits: int) -> dict[str, Fraction]:
    scale = 10**digits
    return {
        name: Fraction(round(float(quotient) * scale), scale) for name, quotient in zip(chart.asked, quotients, strict=True)
    }


def _plainest(span: tuple[float, float], more: int) -> Fraction:
    """The shortest decimal in a span that lies nearest to its middle, with some digits more where the shortest will not do."""
    for digits in range(1, _MOST_DIGITS + 1):
        scale = 10**digits
        if ceil(span[0] * scale) <= floor(span[1] * scale):
            break
    scale = 10 ** min(digits + more, _MOST_DIGITS)
    return Fraction(round((span[0] + span[1]) / 2 * scale), scale)


def _all_round(chart: _Chart, quotients: Mapping[str, Fraction]) -> bool:
    return all(_rounds(chart.value(name, quotients), span) for name, span in chart.printed.items())


def _rounds(value: Fraction | None, span: tuple[Fraction, Fraction]) -> bool:
    return value is not None and span[0] <= value <= span[1]


def printed_ratios_that_differ(layout: Layout) -> Iterator[tuple[str, str, Fraction]]:
    """Yield range, printed ratio and exact ratio wherever the exact one does not round to what is printed.

    Args:
        layout: any layout.
    """
    for item in layout.ranges:
        if item.published_ratio:
            exact = in_range(layout, item.name).ratio
            if exact is not None and not _rounds(exact, rounded_span(item.published_ratio)):
                yield item.name, item.published_ratio, exact

"""What the rules ask of a layout, worked out once per layout of the catalogue where tooth counts play no part."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from gearkit.answers.comparison.compare import shown
from gearkit.answers.draw_numbers.pool import Teeth, layout_named, weights
from gearkit.answers.rules.built_item import DrawnValues
from gearkit.solve import mobility, ratios
from gearkit.text.phrases import MINUS, localized
from gearkit.words.say import kept_for_each_language, say
from gearkit.words.terms import Verdict


@dataclass(frozen=True)
class Row:
    """One row of an application chart.

    Args:
        name: the range.
        engaged: the applied elements.
        ratio: its ratio with the drawn tooth counts.
    """

    name: str
    engaged: frozenset[str]
    ratio: Fraction


def signed(ratio: Fraction) -> str:
    """Return a ratio to four figures with a proper minus sign, for a prompt.

    Args:
        ratio: the ratio.
    """
    return localized(shown(ratio)).replace("-", MINUS)


@lru_cache(maxsize=128)
def _range_tables(name: str) -> tuple[tuple[str, frozenset[str], ratios.Ratio], ...]:
    layout = layout_named(name)
    rows = []
    for named_range in layout.ranges:
        ratio = ratios.ratio(layout, named_range.engaged)
        if ratio is not None:
            rows.append((named_range.name, frozenset(named_range.engaged), ratio))
    return tuple(rows)


def driving_ranges(name: str, teeth: tuple[Teeth, ...] = ()) -> tuple[Row, ...]:
    """Return every range that drives, in the layout's order.

    Args:
        name: the catalogue layout; its joins and elements settle the formulas.
        teeth: drawn tooth counts; none for the layout's own.
    """
    given = weights(name, teeth) if teeth else {pset.name: pset.weights for pset in layout_named(name).sets}
    rows = []
    for range_name, engaged, table in _range_tables(name):
        over, under = table.at(given)
        if under:
            rows.append(Row(range_name, engaged, Fraction(over, under)))
    return tuple(rows)


def chart_of(drawn: DrawnValues, with_ratios: bool = False) -> str:
    """Return the application chart of a drawn layout as a Markdown table, one row per range that drives.

    Args:
        drawn: what was drawn.
        with_ratios: True adds each range's ratio to four figures.
    """
    # Without ratios the chart is the same for all tooth counts.
    return _chart(drawn.layout_name, drawn.teeth, True) if with_ratios else _plain_chart(drawn.layout_name)


@kept_for_each_language(128)
def _plain_chart(name: str) -> str:
    return _chart(name, (), False)


def _chart(name: str, teeth: tuple[Teeth, ...], with_ratios: bool) -> str:
    names = elements(name)
    head = [say("range"), *names, *([say("ratio")] if with_ratios else [])]
    lines = [head, ["---"] * len(head)]
    for row in driving_ranges(name, teeth):
        marks = ["●" if element in row.engaged else "·" for element in names]
        lines.append([row.name, *marks] + ([signed(row.ratio)] if with_ratios else []))
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


@lru_cache(maxsize=128)
def verdicts(name: str) -> tuple[tuple[frozenset[str], Verdict], ...]:
    """Return the verdict on every combination of one to three elements of a catalogue layout.

    Args:
        name: the layout.
    """
    layout = layout_named(name)
    names = [element.name for element in layout.elements]
    return tuple(
        (frozenset(pair), mobility.assess(layout, pair).generic_verdict)
        for size in (1, 2, 3)
        for pair in combinations(names, size)
    )


@lru_cache(maxsize=128)
def elements(name: str) -> tuple[str, ...]:
    """Return the names of a layout's elements.

    Args:
        name: the catalogue layout.
    """
    return tuple(element.name for element in layout_named(name).elements)

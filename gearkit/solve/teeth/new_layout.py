"""A layout from typed lines: what is missing in them is searched, what contradicts is told.

What is known decides what is searched: sets without teeth and ranges with printed ratios give ring-to-sun ratios; a ratio
for a range that no line gives elements for gives the chart, and with it the teeth of sets that have none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from typing import TypeVar

from gearkit.solve.teeth.boxes import Report
from gearkit.solve.teeth.chart_search import Proposal, propose
from gearkit.solve.teeth.from_chart import QuotientsOfChart, quotients_from_chart
from gearkit.text.numbers import exact
from gearkit.text.phrases import decimal, listed
from gearkit.train.elements import Range
from gearkit.train.layout import Layout, Source
from gearkit.train.typed_in import read_element, read_join, read_range, read_ratio, read_set
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.terms import ElementKind, SourceKind

TYPED_IN = Source(SourceKind.OWN, "typed in")
_Part = TypeVar("_Part")


@dataclass(frozen=True)
class Typed:
    """What somebody typed, line by line, as `typed_in` reads it.

    Args:
        title: the layout's title.
        sets: one line a set.
        joins: one line a shaft.
        elements: one line an element, with its kind in it.
        ranges: one line a range.
        ratios: one line a ratio, wanted or printed.
        source: where the figures come from.
    """

    title: str
    sets: tuple[str, ...]
    joins: tuple[str, ...] = ()
    elements: tuple[str, ...] = ()
    ranges: tuple[str, ...] = ()
    ratios: tuple[str, ...] = ()
    source: Source = TYPED_IN


@dataclass(frozen=True)
class NewLayout:
    """What became of it.

    Args:
        layout: the layout, whole.
        proposal: chart and tooth counts, where they were searched.
        ring_to_sun: ring-to-sun ratios, where they were.
    """

    layout: Layout
    proposal: Proposal | None = None
    ring_to_sun: QuotientsOfChart | None = None


def new_layout(typed: Typed, nearest: bool = False, report: Report | None = None) -> NewLayout:
    """Return the layout that typed lines describe.

    Args:
        typed: the lines.
        nearest: give sets without teeth the counts that come nearest to the ratios, instead of asking that every ratio
            rounds to what is printed.
        report: called now and then during a long search, as in `tooth_counts.search`.

    Raises:
        GearkitError: every line that cannot be read; parts that do not fit together; ratios that contradict each other or do
            not fix what is missing.
    """
    faults: list[str] = []
    sets = [_read(partial(read_set, place=place), line, faults) for place, line in enumerate(typed.sets)]
    joins = [_read(read_join, line, faults) for line in typed.joins]
    elements = [_read(read_element, line, faults) for line in typed.elements]
    ranges = [_read(read_range, line, faults) for line in typed.ranges]
    ratios = [_read(read_ratio, line, faults) for line in typed.ratios]
    if faults:
        raise UsageError("\n".join(faults))
    known = [each for each in sets if each is not None]
    parts = tuple(pset for pset, _ in known)
    unknown = [pset.name for pset, asked in known if asked]
    given = {each.name: each for each in ranges if each is not None}
    wanted = dict(each for each in ratios if each is not None)
    to_find = [name for name in wanted if name not in given]
    printed = [replace(item, published_ratio=_printed(wanted.get(name, ""))) for name, item in given.items()]
    layout = Layout(
        typed.title, parts, tuple(j for j in joins if j), tuple(e for e in elements if e), tuple(printed), typed.source
    )
    if to_find or (unknown and nearest and wanted):
        return _with_a_chart(layout, wanted, given, unknown, report)
    if unknown:
        return _with_quotients(layout, unknown)
    return NewLayout(layout)


def _read(reader: Callable[[str], _Part], line: str, faults: list[str]) -> _Part | None:
    try:
        return reader(line)
    except GearkitError as fault:
        faults.append(str(fault))
        return None


def _printed(ratio: str) -> str:
    # The layout file takes a plain number with a point; a leading plus says nothing.
    return ratio.lstrip("+")


def _with_a_chart(
    layout: Layout, wanted: dict[str, str], given: dict[str, Range], unknown: Sequence[str], report: Report | None
) -> NewLayout:
    bare = replace(layout, ranges=tuple(replace(item, published_ratio="") for item in layout.ranges))
    goals = {name: _exact(text) for name, text in wanted.items()}
    fixed = [pset.name for pset in layout.sets if pset.name not in unknown]
    proposal = propose(bare, goals, {name: item.engaged for name, item in given.items()}, fixed=fixed, report=report)
    left = [name for name in unknown if name in proposal.search.free]
    if left:
        raise UsageError(
            f"No ratio that is wanted depends on {listed(left)}: give the teeth of {'this set' if len(left) == 1 else 'these sets'}, "
            f'such as --set "{left[0]} single 30/66", or take it out.'
        )
    return NewLayout(proposal.layout, proposal=proposal)


def _exact(text: str) -> Fraction:
    value = exact(text)
    assert value is not None, "read_ratio lets nothing else through"
    return value


def _with_quotients(layout: Layout, unknown: Sequence[str]) -> NewLayout:
    printed = {item.name: item.published_ratio for item in layout.ranges if item.published_ratio}
    if not printed:
        names = listed(unknown)
        raise UsageError(
            f"{names}: no teeth and no ratios to find them from. Give the teeth (such as {unknown[0]} single 30/66), or "
            "ratios of ranges (such as 1 = 2.846)."
        )
    result = quotients_from_chart(layout, unknown)
    if result.against:
        raise UsageError(_contradiction(result, printed))
    if result.open:
        raise UsageError(_missing(result))
    return NewLayout(result.layout, ring_to_sun=result)


def _contradiction(quotients: QuotientsOfChart, printed: dict[str, str]) -> str:
    lines = [
        f"The ratios contradict each other: no ring-to-sun ratios give all of {listed(f'{n} = {v}' for n, v in printed.items())}."
    ]
    for group in quotients.against:
        if len(group) == 1 and group[0] in quotients.without:
            low, high = quotients.without[group[0]]
            lines.append(f"Without range {group[0]} the others agree; it would then be {_span(low, high)}.")
        elif len(group) < len(printed):
            lines.append(f"Without {'range' if len(group) == 1 else 'ranges'} {listed(group)} the others agree.")
    lines.append("Check those ratios and the elements of those ranges; or take the nearest tooth counts with --nearest.")
    return "\n".join(lines)


def _missing(quotients: QuotientsOfChart) -> str:
    lines = []
    for name, ranges in quotients.open.items():
        low, high = quotients.spans[name]
        if ranges:
            lines.append(
                f"{name}: the ratios of {listed(ranges)} depend on it and leave R/S open from {low:.2f} to {high:.2f}."
            )
        else:
            lines.append(f"{name}: none of the ranges with a ratio depends on it.")
    lines.append("Give the teeth of one of these sets, or the ratio of one more range that depends on them.")
    return "\n".join(lines)


def _span(low: float, high: float) -> str:
    first, last = decimal(min(low, high, key=abs), 3), decimal(max(low, high, key=abs), 3)
    return first if first == last else f"{first} to {last}"


def element_line(kind: ElementKind, line: str) -> str:
    """Return an element's line with its kind in it, from an option that says the kind.

    Args:
        kind: brake, clutch or one-way clutch.
        line: a name and what the element acts on, such as "A P1.ring".
    """
    name, _, rest = line.strip().partition(" ")
    return f"{name} {kind} {rest}"

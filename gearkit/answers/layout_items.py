"""The three items that sheets made from a layout had before there were families; handed-out courses are marked by them.

Every learner gets the layout's joins and elements with tooth counts of their own. A set whose counts are not given
as teeth (a ratio only, bevel gears, stepped planets) keeps what the layout says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from gearkit.answers.families.in_lessons import first_sheets
from gearkit.answers.item import AnswerKind, Draw, Field, Item, NamedMistake
from gearkit.solve import mobility, ratios
from gearkit.solve.ratios import Ratio
from gearkit.text.markdown import as_words
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from gearkit.words.terms import ElementKind, FreeDirection, PinionKind

MARKS_PER_RANGE = 2
START = "X00-"
HINTS = (
    later("Which members stand still in this range, and which turn together?"),
    later("Write the speed equation of each set and put in what you found."),
    later("Set the input to one turn and work towards the output, set by set."),
)
STATE_HINTS = (
    later("Count the free motions first: each element that says something new takes one away."),
    later("Then ask of each combination: can the input turn, and does the output have to follow it?"),
    later("Elements that say the same twice take away one motion, not two."),
)
CHART_HINTS = (
    later("From one range to the next one element usually stays: try the combinations that hold one of those you have."),
    later("Direct drive is a combination without a brake."),
    later("A brake alone drives nothing: look which clutch, or which shaft, brings the input in."),
)
_Range = tuple[str, tuple[str, ...], Ratio]


def from_layout(layout: Layout, place: int = 0) -> tuple[Item, ...]:
    """The items that a layout gives: the ratios of its ranges, states of combinations, and its application chart.

    Args:
        layout: any layout with at least one range that has a ratio.
        place: which of a sheet's layouts it is, counted from 0; items of the first are X00-01 to X00-03, of the second
            X00-11 to X00-13.

    Raises:
        UsageError: no range of the layout has a ratio.
    """
    ranges = list(_ranges(layout))
    if not ranges:
        raise UsageError(
            f"Layout {layout.name}: no range has a ratio, so there is nothing to ask. See: gearkit ratios LAYOUT --all"
        )
    text = catalogue.dumps(layout)
    made = (_ratios(layout, ranges), _states(layout, text), _chart(layout, text, len(ranges)))
    return tuple(replace(item, id=f"{START}{place}{number}") for number, item in enumerate(made, start=1))


def _ratios(layout: Layout, ranges: Sequence[_Range]) -> Item:
    names = _part_names([name for name, _, _ in ranges])
    prompt = say(
        "{layout}\n\nWork out the exact ratio of each range, input speed over output speed, as a fraction; negative means reverse.",
        layout=_described(layout),
    )
    formulas = {names[name]: ratio.formula for name, _, ratio in ranges}
    fields = {
        names[name]: Field(
            say("range {name} ({join} applied)", name=name, join=", ".join(engaged) or say("no element")),
            AnswerKind.EXACT_RATIO,
            str(MARKS_PER_RANGE),
        )
        for name, engaged, _ in ranges
    }
    return Item(
        id="X00-01",
        kind=AnswerKind.RATIO_TABLE,
        marks=MARKS_PER_RANGE * len(ranges),
        prompt=prompt,
        hints=HINTS,
        answer=formulas,
        named_mistakes=_named_mistakes(formulas),
        fields=fields,
        draw=_draw(layout, ranges),
    )


def _states(layout: Layout, text: str) -> Item:
    prompt = say(
        "{layout}\n\nSay of each combination of applied elements what it does: neutral, a range, input locked, output locked, or tie-up.",
        layout=_with_own_counts(layout),
    )
    marks = first_sheets.rows_of_states(text)
    return Item(
        id="X00-02",
        kind=AnswerKind.CLASSIFICATION_GRID,
        marks=marks,
        prompt=prompt,
        hints=STATE_HINTS,
        rule="layout_states",
        option=text,
    )


def _chart(layout: Layout, text: str, rows: int) -> Item:
    prompt = say(
        "{layout}\n\nFill in the application chart: which elements are applied to give each of these ratios?",
        layout=_with_own_counts(layout),
    )
    return Item(
        id="X00-03", kind=AnswerKind.CHART_GRID, marks=rows, prompt=prompt, hints=CHART_HINTS, rule="layout_chart", option=text
    )


def _with_own_counts(layout: Layout) -> str:
    """The layout in words with the tooth counts that it says itself."""
    text, suffixes = _described(layout), ratios.symbol_suffixes(layout)
    for pset in layout.sets:
        for name, count in _counts(pset, suffixes[pset.name]).items():
            text = text.replace(f"<{name}>", str(count))
    return text


def _ranges(layout: Layout) -> Iterator[_Range]:
    """Ranges that have a ratio; of several with the same elements the first."""
    seen: set[frozenset[str]] = set()
    for named_range in layout.ranges:
        ratio = ratios.ratio(layout, named_range.engaged)
        if ratio is not None and frozenset(named_range.engaged) not in seen:
            seen.add(frozenset(named_range.engaged))
            yield named_range.name, tuple(named_range.engaged), ratio


def _part_names(ranges: Sequence[str]) -> dict[str, str]:
    """A word for each range that can stand before "=" in the answer."""
    words: dict[str, str] = {}
    for place, name in enumerate(ranges, start=1):
        plain = "r_" + "".join(c for c in name if c.isascii() and c.isalnum())
        words[name] = plain if plain not in words.values() and plain != "r_" else f"range_{place}"
    return words


def _named_mistakes(formulas: Mapping[str, str]) -> tuple[NamedMistake, ...]:
    """Upside down in every range, and the wrong direction in every range."""
    turned = {name: f"1/({text})" for name, text in formulas.items() if text != "1"}
    reversed_ = {name: f"-({text})" for name, text in formulas.items()}
    return tuple(NamedMistake(code, wrong) for code, wrong in (("RECIP", turned), ("SIGN", reversed_)) if wrong)


def _draw(layout: Layout, ranges: Sequence[_Range]) -> Draw:
    """Own tooth counts where every formula holds for any counts; the layout's where one holds for these alone."""
    verdicts = [mobility.assess(layout, engaged) for _, engaged, _ in ranges]
    free = all(verdict.verdict is verdict.generic_verdict for verdict in verdicts)
    suffixes = ratios.symbol_suffixes(layout)
    drawn = tuple(suffixes[pset.name] for pset in layout.sets if free and _can_be_drawn(pset))
    fixed = {
        name: (str(count), str(count), "1")
        for pset in layout.sets
        if suffixes[pset.name] not in drawn
        for name, count in _counts(pset, suffixes[pset.name]).items()
    }
    return Draw(sets=drawn, numbers=fixed, keep=tuple(f"{ratio.formula}!=0" for _, _, ratio in ranges))


def _counts(pset: PlanetarySet, suffix: str) -> dict[str, int]:
    """The counts that a set brings into a formula, by symbol."""
    if pset.pinions is PinionKind.BEVEL:
        return {}
    sun, ring = pset.teeth
    counts = {f"S{suffix}": sun, f"R{suffix}": ring}
    if pset.sun_pinion_teeth is not None and pset.ring_pinion_teeth is not None:
        counts |= {f"P{suffix}": pset.sun_pinion_teeth, f"Q{suffix}": pset.ring_pinion_teeth}
    return counts


def _can_be_drawn(pset: PlanetarySet) -> bool:
    return pset.pinions in (PinionKind.SINGLE, PinionKind.DOUBLE) and pset.sun_teeth is not None


def _described(layout: Layout) -> str:
    """The layout in words, with blanks for the learner's tooth counts."""
    suffixes = ratios.symbol_suffixes(layout)
    lines = [f"**{as_words(layout.said_name)}**", ""]
    for pset in layout.sets:
        lines.append(
            say(
                "- set {pset} ({pinions} pinions): {pset2}",
                pset=pset.name,
                pinions=pset.pinions,
                pset2=_teeth(pset, suffixes[pset.name]),
            )
        )
    lines += [say("- always joined: {joins}", joins="; ".join(map(_joined, layout.joins)))] if layout.joins else []
    for element in layout.elements:
        first, second = map(_named, element.between)
        free = ""
        if element.kind is ElementKind.ONE_WAY_CLUTCH:
            way = say("forward") if element.free_direction is FreeDirection.FORWARD else say("in reverse")
            free = say("; {first} turns freely {way}, seen from {second}", first=first, way=way, second=second)
        lines.append(
            say(
                "- {kind} {element}: between {first} and {second}{free}",
                kind=element.kind,
                element=element.name,
                first=first,
                second=second,
                free=free,
            )
        )
    if any(element.kind is ElementKind.ONE_WAY_CLUTCH for element in layout.elements):
        lines += ["", say("A one-way clutch counts as applied while it holds.")]
    return "\n".join(lines)


def _teeth(pset: PlanetarySet, suffix: str) -> str:
    if pset.pinions is PinionKind.BEVEL:
        return say("equal side gears")
    if pset.ring_to_sun is not None:
        return say(
            "ring to sun {numerator} : {denominator}",
            numerator=pset.ring_to_sun.numerator,
            denominator=pset.ring_to_sun.denominator,
        )
    text = say("sun <S{suffix}> teeth, ring <R{suffix}> teeth", suffix=suffix)
    if pset.pinions is PinionKind.STEPPED:
        text += say("; stepped planets, <P{suffix}> teeth at the sun and <Q{suffix}> teeth at the ring", suffix=suffix)
    return text


def _named(member: str) -> str:
    """A member as the layout file names it, its part in the reader's language."""
    set_name, point, part = member.rpartition(".")
    return f"{set_name}{point}{say(part)}"


def _joined(members: Sequence[str]) -> str:
    words = _named(members[0])
    for member in members[1:]:
        words = say("{member} with {mate}", member=words, mate=_named(member))
    return words

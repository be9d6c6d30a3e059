"""How a drawn layout is told to a learner: its sets, what is joined, its elements, its application chart."""

from __future__ import annotations

from functools import lru_cache

from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.layouts.own_teeth import AS_GIVEN, layout_in, with_teeth
from gearkit.answers.layouts.train import Drive, Train, train_of
from gearkit.solve import ratios
from gearkit.text import phrases
from gearkit.text.markdown import as_words
from gearkit.text.phrases import capital, decimal, listed, member_label
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import kept_for_each_language, later, say
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, RESERVED_SHAFTS, ElementKind, FreeDirection, PinionKind

_KINDS = {
    PinionKind.SINGLE: "",
    PinionKind.DOUBLE: later(", pinions in meshing pairs"),
    PinionKind.STEPPED: later(", stepped planets"),
    PinionKind.BEVEL: later(", a bevel set"),
}
_NOT_DRAWN = later(" (as the layout gives it)")
TRAIN, CHART = later("the transmission"), later("the application chart")
CHART_APPLIED = later("the application chart without one-way clutches")
CHART_WITH_RATIOS, PLAIN = later("the application chart with ratios"), later("the transmission without kinds")


def member(layout: Layout, name: str) -> str:
    """Return a member as learners say it, and as the drawing has it: "sun 1", "rear carrier", "the input".

    Args:
        layout: the layout.
        name: such as "P1.sun", "input" or "housing".
    """
    return say("the {name}", name=name) if name in RESERVED_SHAFTS else member_label(name)


def earlier_words(layout: Layout, text: str) -> str:
    """Return a text with sets and members as copies have them that were handed out before a set with a name kept it.

    Args:
        layout: the layout.
        text: such as an option, "rear sun".
    """
    for name, number in _suffixes(layout).items():
        for part in MEMBERS:
            text = text.replace(member_label(f"{name}.{part}"), member_label(f"{number}.{part}"))
        text = text.replace(phrases.set_words(name), phrases.set_words(number))
    return text


def set_words(layout: Layout, name: str) -> str:
    """Return a set as learners say it, and as the drawing has it: "set 2", "rear set".

    Args:
        layout: the layout.
        name: its name, such as "P2".
    """
    return phrases.set_words(layout.set_named(name).name)


def set_number(layout: Layout, name: str) -> str:
    """Return what stands for a set behind the word "set", such as "2".

    Args:
        layout: the layout.
        name: its name, such as "P2".
    """
    return _suffixes(layout)[name]


def letter(layout: Layout, which: str, set_name: str) -> str:
    """Return the letter of a tooth count in a formula's type.

    Args:
        layout: the layout.
        which: "S", "R", "P" or "Q".
        set_name: the set.
    """
    suffix = _suffixes(layout)[set_name]
    return f"{which}_{suffix}" if len(suffix) == 1 else f"{which}_{{{suffix}}}"


def element_words(layout: Layout, element: Element, kinds: bool = True) -> str:
    """Return what an element lies between.

    Args:
        layout: the layout.
        element: the element.
        kinds: False leaves out what it is.
    """
    first, second = (member(layout, part) for part in element.between)
    if not kinds:
        arrow = say(", with an arrow") if element.kind is ElementKind.ONE_WAY_CLUTCH else ""
        return say(
            "{element} between {first} and {second}{arrow}", element=element.name, first=first, second=second, arrow=arrow
        )
    if element.kind is ElementKind.ONE_WAY_CLUTCH:
        way = say("forward") if element.free_direction is FreeDirection.FORWARD else say("backward")
        seen = "" if element.between[1] == HOUSING else say(", seen from {second}", second=second)
        return say(
            "{element} (one-way clutch between {first} and {second}; lets {first} turn {way} only{seen})",
            element=element.name,
            first=first,
            second=second,
            way=way,
            seen=seen,
        )
    if HOUSING in element.between:
        held = first if element.between[1] == HOUSING else second
        return say("{element} (brake on {held})", element=element.name, held=held)
    return say(
        "{element} ({kind} between {first} and {second})", element=element.name, kind=element.kind, first=first, second=second
    )


def range_words(layout: Layout, row: Drive) -> str:
    """Return a range with what is applied in it: "range 3 (C and D applied)".

    Args:
        layout: the layout.
        row: the range.
    """
    applied = [name for name in row.engaged if layout.element_named(name).kind is not ElementKind.ONE_WAY_CLUTCH]
    holding = [name for name in row.engaged if name not in applied]
    parts = [say("{applied} applied", applied=listed(applied))] if applied else []
    parts += [say("{holding} holding", holding=listed(holding))] if holding else []
    return say("range {row} ({applied})", row=row.name, applied=", ".join(parts) or say("nothing applied"))


def blocks(text: str, teeth: tuple[Teeth, ...], shows: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Return what a question about a layout shows beside it, each block with its name.

    Args:
        text: text of the layout file.
        teeth: drawn tooth counts.
        shows: what it shows besides sets, joins and elements.
    """
    plain = PLAIN in shows
    blocks_ = [(PLAIN if plain else TRAIN, _train(text, teeth, plain))]
    if CHART in shows:
        blocks_.append((CHART, say("Application chart:\n\n{chart}", chart=_chart(train_of(text, teeth), False))))
    if CHART_APPLIED in shows:
        blocks_.append(
            (
                CHART_APPLIED,
                say(
                    "Application chart, without the one-way clutches:\n\n{chart}",
                    chart=_chart(train_of(text, teeth), False, one_ways=False),
                ),
            )
        )
    if CHART_WITH_RATIOS in shows:
        blocks_.append(
            (CHART_WITH_RATIOS, say("Application chart with the ratios:\n\n{chart}", chart=_chart(train_of(text, teeth), True)))
        )
    return tuple(blocks_)


@kept_for_each_language(128)
def _train(text: str, teeth: tuple[Teeth, ...], plain: bool) -> str:
    layout, own = with_teeth(text, teeth), layout_in(text)
    lines = [f"**{as_words(layout.said_name)}**", ""]
    some_drawn = any(tooth != AS_GIVEN for tooth in teeth)
    for pset, given, counts in zip(layout.sets, own.sets, teeth, strict=True):
        kept = some_drawn and counts == AS_GIVEN and pset.pinions is not PinionKind.BEVEL
        lines.append(
            f"- {capital(set_words(layout, pset.name))}{_KINDS[pset.pinions]}: "
            f"{_teeth(layout, pset)}{_NOT_DRAWN if kept or (given.ring_to_sun and counts == AS_GIVEN) else ''}."
        )
    shafts = [shaft for shaft in layout.shafts if len(shaft) > 1]
    if shafts:
        lines.append(
            (say("- Always joined:") + " ")
            + "; ".join(
                listed(member(layout, part) for part in sorted(shaft, key=lambda part: (part == HOUSING, "." in part)))
                for shaft in shafts
            )
            + "."
        )
    if layout.elements:
        told = "; ".join(element_words(layout, element, not plain) for element in layout.elements)
        lines.append(say("- Elements: {told}.", told=told))
    return "\n".join(lines)


def _teeth(layout: Layout, pset: PlanetarySet) -> str:
    if pset.pinions is PinionKind.BEVEL:
        return say("equal side gears, called sun and ring here")
    if pset.ring_to_sun is not None:
        return say(
            "only the ratio of its teeth is known, ${letter} : {letter2} = {numerator} : {denominator}$",
            letter=letter(layout, "R", pset.name),
            letter2=letter(layout, "S", pset.name),
            numerator=pset.ring_to_sun.numerator,
            denominator=pset.ring_to_sun.denominator,
        )
    text = f"${letter(layout, 'S', pset.name)} = {pset.sun_teeth}$, ${letter(layout, 'R', pset.name)} = {pset.ring_teeth}$"
    if pset.pinions is PinionKind.STEPPED:
        text += say(
            ", pinions ${letter} = {sun_pinion_teeth}$ at the sun and ${letter2} = {ring_pinion_teeth}$ at the ring",
            letter=letter(layout, "P", pset.name),
            sun_pinion_teeth=pset.sun_pinion_teeth,
            letter2=letter(layout, "Q", pset.name),
            ring_pinion_teeth=pset.ring_pinion_teeth,
        )
    return text


@kept_for_each_language(128)
def _chart(train: Train, with_ratios: bool, one_ways: bool = True) -> str:
    names = [element.name for element in train.layout.elements if one_ways or element.name not in train.one_ways]
    head = [say("range"), *names, *([say("ratio")] if with_ratios else [])]
    lines = [head, ["---"] * len(head)]
    for row in train.drives:
        marks = ["●" if name in row.engaged else "·" for name in names]
        lines.append([row.name, *marks] + ([decimal(row.ratio)] if with_ratios else []))
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def of_the_input(layout: Layout, name: str) -> bool:
    """Return whether a member is on the input's shaft for good.

    Args:
        layout: the layout.
        name: the member.
    """
    return layout.groups.name_of(name) == layout.groups.name_of(INPUT)


@lru_cache(maxsize=256)
def _suffixes_of(names: tuple[str, ...], layout: Layout) -> dict[str, str]:
    return ratios.symbol_suffixes(layout)


def _suffixes(layout: Layout) -> dict[str, str]:
    return _suffixes_of(tuple(pset.name for pset in layout.sets), layout)

"""What the commands on given speeds and torques share: reading MEMBER=N, and words for what is missing or contradicts."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from gearkit.cli.command import UsageError, number
from gearkit.solve.one_way import in_range
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout

Pair = tuple[str, Fraction]
_COUNTS = {1: "one more", 2: "two more", 3: "three more"}


def pair(text: str) -> Pair:
    """Return a name and a number from the command line.

    Args:
        text: such as "M1=1500" or "P1.sun=-16/5".
    """
    name, equals, value = text.rpartition("=")
    if not equals or not name.strip():
        raise argparse.ArgumentTypeError(f"{text[:40]!r}: write MEMBER=NUMBER, such as input=1500 or P1.sun=-200")
    return name.strip(), number(value)


def gathered(pairs: Sequence[Pair], others: Mapping[str, Fraction | None], what: str) -> dict[str, Fraction]:
    """Return everything that was given under its name.

    Args:
        pairs: what was given as MEMBER=N.
        others: what was given by options of their own, None where it was not.
        what: what is given, such as "speed".

    Raises:
        UsageError: one name was given twice.
    """
    amounts = {name: value for name, value in others.items() if value is not None}
    for name, value in pairs:
        if name in amounts:
            raise UsageError(f"The {what} of {name} is given twice; give it once.")
        amounts[name] = value
    return amounts


def engaged_of(layout: Layout, range_name: str) -> tuple[tuple[str, ...], str | None]:
    """Return the elements that join or hold in a range, and what one-way clutches make of it.

    Args:
        layout: any layout.
        range_name: one of its ranges.

    Raises:
        UsageError: the layout has no such range.
    """
    if layout.plain:
        state = in_range(layout, range_name)
        return state.engaged, state.note
    return layout.engaged_in(range_name), None


def the_one_output(layout: Layout, option: str) -> str:
    """Return the name of the output that an option without a name means.

    Args:
        layout: any layout.
        option: the option.

    Raises:
        UsageError: the layout has several outputs.
    """
    names = layout.output_names
    if len(names) > 1:
        raise UsageError(f"{option}: {layout.name} has the outputs {listed(names)}; name one, such as --speed {names[0]}=900.")
    return names[0]


def lacking(what: str, given: Iterable[str], conflict: Sequence[str], missing: int, would_do: Sequence[Sequence[str]]) -> str:
    """Return a sentence on what is missing or contradicts; "" where all is well.

    Args:
        what: "speed" or "torque".
        given: the names of what was given.
        conflict: names that cannot all be as given.
        missing: how many more are needed.
        would_do: choices of names that would be enough.
    """
    if len(conflict) == 1:
        why = "it cannot turn" if what == "speed" else "nothing can take it up"
        return f"The {what} given for {conflict[0]} cannot be: {why}. Leave it out, or give 0."
    if conflict:
        return f"The {what}s given for {listed(conflict)} contradict each other: each of them follows from the others. Leave one out."
    if not missing:
        return ""
    so_far = listed(given)
    start = f"Not enough: beside the {what} given for {so_far}, " if so_far else "Not enough: "
    start += f"{_COUNTS.get(missing, f'{missing} more')} {'is' if missing == 1 else 'are'} needed"
    choices = listed([" with ".join(names) for names in would_do[:6]], "or")
    return f"{start}: that of {choices}." if choices else f"{start}, and no terminal's own would do."

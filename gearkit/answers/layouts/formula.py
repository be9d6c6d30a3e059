"""What a family asks about a range as one formula in tooth counts, for exercises of the lessons that are instances of it.

Every formula is the ratio of a changed train, which the solver writes. A speed is one over the ratio of the same train with
its output on that member. A torque follows from virtual speeds: with the output held and the element let go, the power at
the input and the power in the element add up to zero.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from gearkit.answers.comparison.formulas import pairs_of, work
from gearkit.answers.draw_numbers.pool import Teeth, layout_named, lettered
from gearkit.solve import ratios
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import HOUSING, INPUT, OUTPUT

Joins = tuple[tuple[str, ...], ...]


def of_family(family: str, layout_name: str, about: Sequence[str]) -> str:
    """Return what a family's question has for an answer, in the letters S1, R1, S2 and so on; torque and power for 1 at the input.

    Args:
        family: the family's name.
        layout_name: a catalogue layout of sets with single pinions.
        about: what the question is about, as in the family's cases.

    Raises:
        UsageError: the family's questions have no formula.
    """
    if family not in _WRITERS:
        raise UsageError(f"No formula is known for questions of the family {family!r}.")
    return _WRITERS[family](layout_named(layout_name), *about)


def _ratio(layout: Layout, range_name: str) -> str:
    return _of(layout, layout.engaged_in(range_name))


def _of(layout: Layout, engaged: Sequence[str]) -> str:
    """Input speed over output speed; "" where the output stands or nothing fixes it."""
    ratio = ratios.ratio(layout, engaged)
    return ratio.formula if ratio is not None else ""


def _with_output_on(layout: Layout, member: str, *, held: bool = False) -> Layout:
    """The same train with its output on another member; the old output turns freely, or is held."""
    before = [name for group in layout.joins if OUTPUT in group for name in group if name != OUTPUT]
    joins: list[tuple[str, ...]] = [tuple(name for name in group if name != OUTPUT) for group in layout.joins]
    joins += [(OUTPUT, member), *([(HOUSING, before[0])] if held else [])]
    return replace(layout, joins=_clean(joins), ranges=(), placement=None, text="")


def _clean(joins: Sequence[tuple[str, ...]]) -> Joins:
    return tuple(group for group in joins if len(group) > 1)


def _turns(layout: Layout, engaged: Sequence[str], part: str, *, held: bool = False) -> str:
    """The speed of a part at an input speed of 1."""
    if part in (INPUT, HOUSING):
        return "1" if part == INPUT else "0"
    on_it = [name for group in layout.joins if OUTPUT in group for name in group if name != OUTPUT]
    if part in on_it and held:
        return "0"
    formula = _of(layout if part in on_it else _with_output_on(layout, part, held=held), engaged)
    return f"1/({formula})" if formula else "0"


def _speed(layout: Layout, range_name: str, member: str) -> str:
    return _turns(layout, layout.engaged_in(range_name), member)


def _neutral_speed(layout: Layout, range_name: str, member: str) -> str:
    return _turns(layout, layout.engaged_in(range_name), member, held=True)


def _slip_of(layout: Layout, engaged: Sequence[str], element: str, *, held: bool = False) -> str:
    first, second = (f"({_turns(layout, engaged, part, held=held)})" for part in layout.element_named(element).between)
    return f"{first} - {second}"


def _slip(layout: Layout, range_name: str, element: str) -> str:
    return _positive(layout, _slip_of(layout, layout.engaged_in(range_name), element))


def _torque(layout: Layout, range_name: str, element: str) -> str:
    rest = [name for name in layout.engaged_in(range_name) if name != element]
    return _positive(layout, f"1/({_slip_of(layout, rest, element, held=True)})")


def _power(layout: Layout, range_name: str, member: str) -> str:
    engaged = layout.engaged_in(range_name)
    shaft = next(group for group in layout.joins if member in group)
    left = tuple(name for name in shaft if name != member)
    # The member is cut from its shaft: what the two ends would do to each other is its torque.
    cut = replace(
        layout, joins=_clean([left, *(group for group in layout.joins if group != shaft)]), ranges=(), placement=None, text=""
    )
    apart = f"1/(({_turns(cut, engaged, member, held=True)}) - ({_turns(cut, engaged, left[0], held=True)}))"
    return _positive(layout, f"({_turns(layout, engaged, member)})*{apart}")


def _spread(layout: Layout) -> str:
    forward = [name for name in (named_range.name for named_range in layout.ranges) if name.isdigit()]
    return f"({_ratio(layout, forward[0])})/({_ratio(layout, forward[-1])})"


def _alone(layout: Layout, driver: str, driven: str, set_name: str) -> str:
    """The ratio of one set with its third member held: what it is taken for where a member that turns is overlooked."""
    number = ratios.symbol_suffixes(layout)[set_name]
    weights = {"sun": f"S{number}", "ring": f"R{number}", "carrier": f"-(S{number} + R{number})"}
    return f"-({weights[driven]})/({weights[driver]})"


def _positive(layout: Layout, text: str) -> str:
    """The formula of a size: with a minus in front where it is below nothing at the layout's own tooth counts."""
    values: dict[str, Fraction] = {}
    for number, pset in enumerate(layout.sets, start=1):
        sun, ring = pset.teeth
        values.update(lettered(Teeth(sun, (ring - sun) // 2, ring, 3), str(number))[0])
    above, below = work(text)(pairs_of(values))
    return text if above * below >= 0 else f"-({text})"


_WRITERS: dict[str, Callable[..., str]] = {
    "ratio": _ratio,
    "speed": _speed,
    "neutral-speed": _neutral_speed,
    "slip": _slip,
    "holding": _torque,
    "clutch-torque": _torque,
    "power": _power,
    "spread": _spread,
    "alone": _alone,
}

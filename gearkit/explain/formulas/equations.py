"""The speed equation of a set, as formulas: in tooth symbols, with its numbers, and what comes out."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gearkit.explain.chain import Closing, SetMove
from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import Maths, equation, linear, number, over, product, result, speed, symbol, total
from gearkit.solve.ratios import tooth_symbols
from gearkit.train.layout import Layout
from gearkit.words.terms import PinionKind


def symbolic(layout: Layout, set_name: str) -> Maths:
    """Return a set's speed equation in tooth symbols.

    Args:
        layout: the layout.
        set_name: the set.

    >>> from gearkit.train.catalogue import find
    >>> symbolic(find("Q36"), "P1").text
    'S1·n(sun 1) + R1·n(ring 1) = (S1 + R1)·n(carrier 1)'
    """
    sun, ring = (_weight(layout, set_name, place) for place in (0, 1))
    speeds = {member: speed(f"{set_name}.{member}") for member in ("sun", "carrier", "ring")}
    return _balanced(layout, set_name, (sun, ring), speeds)


def in_numbers(layout: Layout, set_name: str, speeds: Mapping[str, Form | None]) -> Maths:
    """Return a set's speed equation with its tooth counts and the speeds that are known.

    Args:
        layout: the layout.
        set_name: the set.
        speeds: sun, carrier and ring -> speed; None for one that is still looked for.
    """
    sun, ring = (abs(weight) for weight in layout.set_named(set_name).weights)
    shown = {
        member: speed(f"{set_name}.{member}") if form is None else linear(form.constant, form.parts)
        for member, form in speeds.items()
    }
    return _balanced(layout, set_name, (number(sun), number(ring)), shown)


def shares(layout: Layout, set_name: str) -> dict[str, tuple[int, Maths]]:
    """Return as what the torques on a set's members stand to each other: sign and size, such as S1, R1 and -(S1 + R1).

    Args:
        layout: the layout.
        set_name: the set.
    """
    sun, ring = (_weight(layout, set_name, place) for place in (0, 1))
    match layout.set_named(set_name).pinions:
        case PinionKind.BEVEL:
            return {"sun": (1, number(1)), "carrier": (-1, number(2)), "ring": (1, number(1))}
        case PinionKind.DOUBLE:
            return {"sun": (-1, sun), "carrier": (-1, total([(1, ring), (-1, sun)])), "ring": (1, ring)}
        case _:
            return {"sun": (1, sun), "carrier": (-1, total([(1, sun), (1, ring)])), "ring": (1, ring)}


def _weight(layout: Layout, set_name: str, place: int) -> Maths:
    _, names = tooth_symbols(layout)[set_name][place]
    return product(*(symbol(name) for name in names)) if names else number(1)


def _balanced(layout: Layout, set_name: str, weights: tuple[Maths, Maths], speeds: Mapping[str, Maths]) -> Maths:
    """Sun and ring on the left, carrier on the right; the sun of a double set counts against the ring."""
    sun, ring = weights
    double = layout.set_named(set_name).pinions is PinionKind.DOUBLE
    # A bevel set has no tooth counts in its equation: both side gears count once.
    sun_term, ring_term = (
        speeds[member] if layout.set_named(set_name).pinions is PinionKind.BEVEL else product(weight, speeds[member])
        for member, weight in (("sun", sun), ("ring", ring))
    )
    if double:
        left = total([(1, ring_term), (-1, sun_term)])
        factor = total([(1, ring), (-1, sun)])
    else:
        left = total([(1, sun_term), (1, ring_term)])
        factor = total([(1, sun), (1, ring)])
    if sun.text.isdigit():
        a, b = (int(weight.text) for weight in weights)
        factor = number(b - a if double else a + b)
    return equation(left, product(factor, speeds["carrier"]))


def move_formulas(layout: Layout, move: SetMove, told: bool = False) -> tuple[Maths, ...]:
    """Return the equation of a set, its numbers, and the speed that follows.

    Args:
        layout: the layout.
        move: the set with the member that is found.
        told: its equation in tooth symbols has been shown already.
    """
    open_one: dict[str, Form | None] = {m: None if m == move.member else form for m, form in move.speeds.items()}
    unknown = speed(f"{move.set_name}.{move.member}")
    value = move.value
    shown = result(value.constant) if value.known else [linear(value.constant, value.parts)]
    numbers = in_numbers(layout, move.set_name, open_one)
    head = [] if told else unlike(symbolic(layout, move.set_name), numbers)
    return (*head, numbers, equation(unknown, *shown))


def unlike(general: Maths, numbers: Maths) -> list[Maths]:
    """Return a general equation unless the one with numbers says the same: a bevel set has no tooth counts in it.

    Args:
        general: in tooth symbols.
        numbers: with numbers.
    """
    return [general] if general.text != numbers.text else []


def closing_formulas(layout: Layout, closing: Closing) -> tuple[Maths, ...]:
    """Return the equation of a set whose speeds are all expressed, in numbers and gathered.

    Args:
        layout: the layout.
        closing: the set.
    """
    return (
        in_numbers(layout, closing.set_name, dict(closing.speeds)),
        gathered(closing.condition),
    )


def gathered(condition: Form) -> Maths:
    """Return a condition "form = 0" with the unknowns on the left and the number on the right."""
    turned = -1 if condition.parts and condition.parts[0][1] < 0 else 1
    left = linear(Fraction(0), [(letter, factor * turned) for letter, factor in condition.parts])
    return equation(left, linear(-condition.constant * turned, ()))


def letter_result(letter: str, value: Fraction) -> Maths:
    """Return the value of an unknown as an equation.

    Args:
        letter: the unknown.
        value: its value.
    """
    return equation(symbol(letter), *result(value))


def ratio_formula(value: Fraction, output_speed: Fraction) -> Maths:
    """Return ratio = input speed / output speed with its numbers.

    Args:
        value: the ratio.
        output_speed: speed of the output as a multiple of the input's.
    """
    quotient = over(number(1), number(output_speed))
    head = over(speed("input"), speed("output"))
    return (
        equation(Maths("i", "i"), head, quotient, *result(value))
        if output_speed != 1
        else equation(Maths("i", "i"), head, number(1))
    )

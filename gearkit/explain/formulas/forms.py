"""Speeds that still hold an unknown: a number plus multiples of unknowns, and the speed equation of a set on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.train.planetary_set import PlanetarySet


@dataclass(frozen=True)
class Form:
    """A speed as a number plus multiples of unknowns.

    Args:
        constant: the number.
        parts: letter of an unknown and its coefficient, none of them 0, in the order of the letters.
    """

    constant: Fraction
    parts: tuple[tuple[str, Fraction], ...] = ()

    @property
    def known(self) -> bool:
        """It holds no unknown."""
        return not self.parts

    def coefficient(self, letter: str) -> Fraction:
        """Return the coefficient of an unknown."""
        return dict(self.parts).get(letter, Fraction(0))

    def at(self, values: Mapping[str, Fraction]) -> Fraction:
        """Return the number that it becomes once the unknowns are known.

        Args:
            values: letter -> value.
        """
        return self.constant + sum((factor * values[letter] for letter, factor in self.parts), Fraction(0))


def combined(terms: Iterable[tuple[Fraction | int, Form]]) -> Form:
    """Return a sum of multiples of forms.

    Args:
        terms: factor and form.
    """
    constant, parts = Fraction(0), dict[str, Fraction]()
    for factor, form in terms:
        constant += factor * form.constant
        for letter, coefficient in form.parts:
            parts[letter] = parts.get(letter, Fraction(0)) + factor * coefficient
    return Form(constant, tuple((letter, parts[letter]) for letter in sorted(parts) if parts[letter]))


def member_weights(pset: PlanetarySet) -> dict[str, int]:
    """Return the factor of each member in the set's speed equation, which adds to zero: a, -(a + b), b."""
    sun, ring = pset.weights
    return {"sun": sun, "carrier": -(sun + ring), "ring": ring}


def solved_for(pset: PlanetarySet, member: str, others: Mapping[str, Form]) -> Form:
    """Return the speed of one member of a set from the speeds of the other two.

    Args:
        pset: the set.
        member: sun, carrier or ring.
        others: the other two members -> speed.
    """
    weights = member_weights(pset)
    return combined((Fraction(-weights[other], weights[member]), form) for other, form in others.items())


def imbalance(pset: PlanetarySet, speeds: Mapping[str, Form]) -> Form:
    """Return what a set's speed equation, brought to one side, comes to; it has to be zero.

    Args:
        pset: the set.
        speeds: sun, carrier and ring -> speed.
    """
    return combined((weight, speeds[member]) for member, weight in member_weights(pset).items())

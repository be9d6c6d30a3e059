"""Polynomials with whole-number coefficients as dictionaries: term -> coefficient, a term as ((symbol, power), ...).

Only multiplication and comparison are needed to confirm that two formulas are the same; a budget of steps keeps a
hostile answer from growing without end.
"""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.words.errors import AnswerError

Term = tuple[tuple[str, int], ...]
Polynomial = dict[Term, int]

# The longest honest rewriting tried here took 4,144 steps; 20,000 end within a fiftieth of a second.
MOST_STEPS = 20_000


@dataclass
class Budget:
    """How many more single multiplications one comparison may make."""

    left: int = MOST_STEPS

    def spend(self, steps: int) -> None:
        """Take steps from the budget.

        Raises:
            AnswerError: the budget is used up.
        """
        self.left -= steps
        if self.left < 0:
            raise AnswerError(
                "too large", "The formula is too long to be compared exactly.", "Simplify it, then hand it in again."
            )


def product(first: Polynomial, second: Polynomial, budget: Budget) -> Polynomial:
    """Return the product of two polynomials.

    Args:
        first: a polynomial.
        second: another.
        budget: steps left for this comparison.
    """
    budget.spend(len(first) * len(second))
    if first == {(): 1}:
        return second
    if second == {(): 1}:
        return first
    result: Polynomial = {}
    for term, factor in first.items():
        for term2, factor2 in second.items():
            joined = _joined(term, term2)
            result[joined] = result.get(joined, 0) + factor * factor2
    return {term: factor for term, factor in result.items() if factor}


def same_product(first: Polynomial, by_first: Polynomial, second: Polynomial, by_second: Polynomial, budget: Budget) -> bool:
    """Return whether first*by_first equals second*by_second.

    Args:
        first: a polynomial.
        by_first: what it is multiplied by.
        second: another polynomial.
        by_second: what that is multiplied by.
        budget: steps left for this comparison.
    """
    return product(first, by_first, budget) == product(second, by_second, budget)


def _joined(first: Term, second: Term) -> Term:
    if not first:
        return second
    if not second:
        return first
    powers = dict(first)
    for symbol, power in second:
        powers[symbol] = powers.get(symbol, 0) + power
    return tuple(sorted(powers.items()))

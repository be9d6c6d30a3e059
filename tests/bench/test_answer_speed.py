"""How fast one answer is compared, beside SymPy doing the same in the same run. Shows figures; never fails on time."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Any

import pytest
import sympy
from sympy.core.cache import clear_cache

from gearkit.answers.comparison.compare import same_expression
from gearkit.answers.read.reader import read
from gearkit.answers.read.tokens import MAX_CHARS
from gearkit.solve.ratios import chart
from gearkit.train.catalogue import find

LAYOUTS = ("bench_set", "Q24", "Q36", "Q48")
ROUNDS = 3


def pairs() -> list[tuple[str, str, bool]]:
    """(a formula, the same as another learner writes it or a usual slip, whether they are equal), for every range."""
    found = []
    for name in LAYOUTS:
        for row in chart(find(name)).rows:
            if row.ratio is None or not row.ratio.sets:
                continue
            formula = row.ratio.formula
            expression = sympy.sympify(formula, locals=symbols(formula))
            for other in (sympy.together(expression), sympy.expand(expression), 1 / sympy.expand(1 / expression)):
                found.append((formula, str(other), True))
            swapped = formula.translate(str.maketrans("SR", "RS"))
            found += [(formula, swapped, False), (formula, f"({formula}) - 1", False)]
    # Longer texts are refused by the reader, so no learner's answer is as long.
    return [pair for pair in found if len(pair[1]) <= MAX_CHARS]


def symbols(*texts: str) -> dict[str, sympy.Symbol]:
    names = {f"{letter}{number}" for letter in "SR" for number in "1234"}
    return {name: sympy.Symbol(name, positive=True) for name in names if any(name in text for text in texts)}


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    verdict = work()
    return time.perf_counter() - start, verdict


def table_row(what: str, ours: list[float], theirs: list[float]) -> str:
    factors = [other / own for own, other in zip(ours, theirs, strict=True)]
    return (
        f"{what}: kit median {statistics.median(ours) * 1e6:.0f} us, SymPy median {statistics.median(theirs) * 1e6:.0f} us; "
        f"all {sum(theirs) / sum(ours):.0f} times, median pair {statistics.median(factors):.0f} times, "
        f"least {min(factors):.0f} times"
    )


@pytest.mark.bench
def test_one_comparison_beside_simplifying_the_difference(capsys: pytest.CaptureFixture[str]) -> None:
    names = [f"{letter}{number}" for letter in "SR" for number in "1234"]
    read_times: dict[str, list[float]] = {"kit": [], "sympy": []}
    compare_times: dict[str, list[float]] = {"kit": [], "sympy": []}
    for right, text, equal in pairs():
        table = symbols(text, right)
        key, sympy_key = read(right, names), sympy.sympify(right, locals=table)
        rounds: dict[str, list[float]] = {"kit": [], "sympy": [], "kit read": [], "sympy read": []}
        for _ in range(ROUNDS):
            seconds, given = timed(lambda text=text: read(text, names))
            rounds["kit read"].append(seconds)
            seconds, verdict = timed(lambda given=given, key=key: same_expression(given, key))
            rounds["kit"].append(seconds)
            assert verdict == equal
            # Another learner's answer is another text: what SymPy remembers of this very one would not help there.
            clear_cache()
            seconds, expression = timed(lambda text=text, table=table: sympy.sympify(text, locals=table))
            rounds["sympy read"].append(seconds)
            seconds, verdict = timed(lambda a=expression, b=sympy_key: sympy.simplify(a - b) == 0)
            rounds["sympy"].append(seconds)
            assert verdict == equal
        for name in ("kit", "sympy"):
            compare_times[name].append(statistics.median(rounds[name]))
            read_times[name].append(statistics.median(rounds[f"{name} read"]))
    with capsys.disabled():
        print(f"\n{len(read_times['kit'])} answers to the ranges of the Q-series, goal of the comparison 30 times")
        print(table_row("  reading  ", read_times["kit"], read_times["sympy"]))
        print(table_row("  comparing", compare_times["kit"], compare_times["sympy"]))

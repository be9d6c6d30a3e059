"""How long reading, comparing, drawing and marking take, side by side with SymPy; prints a table, asserts verdicts only."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pytest

from gearkit.answers import items
from gearkit.answers.comparison.compare import same_expression
from gearkit.answers.comparison.formulas import formula
from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge import marking
from gearkit.answers.read.reader import read

pytestmark = pytest.mark.bench

LETTERS = ["S", "R", "S1", "R1", "S2", "R2", "S3", "R3", "S4", "R4"]
REWRITES = ("{0}", "({0})*(R1 + 1)/(R1 + 1)", "-(-({0}))", "({0}) + S1 - S1", "({0}) + 1")


def pairs() -> list[tuple[str, str, bool]]:
    """Right formulas of the bank against rewritten ones; the last rewriting is wrong."""
    texts = [str(item.answer) for item in items.all_items() if item.lesson in (3, 5, 6) and isinstance(item.answer, str)]
    rational = [text for text in texts if text and formula(text).symbols <= set(LETTERS)]
    return [(text, form.format(text), form != REWRITES[-1]) for text in rational for form in REWRITES]


def timed(work: Callable[[], object]) -> tuple[float, object]:
    """Return (microseconds, what the work gave)."""
    start = time.perf_counter()
    found = work()
    return (time.perf_counter() - start) * 1e6, found


def test_exact_comparison_beside_sympy(capsys: pytest.CaptureFixture[str]) -> None:
    import sympy
    from sympy.core.cache import clear_cache

    names = {name: sympy.Symbol(name, positive=True) for name in LETTERS}
    ours, theirs = [], []
    for right, given, equal in pairs():
        took, verdict = timed(lambda g=given, r=right: same_expression(read(g, LETTERS), read(r, LETTERS)))
        assert verdict is equal
        ours.append(took)
        # The texts are our own formulas; a learner's text is never handed to SymPy.
        text = f"({given}) - ({right})"
        clear_cache()
        took, rest = timed(lambda t=text: sympy.simplify(sympy.sympify(t, locals=names)))
        assert (rest == 0) is equal
        theirs.append(took)
    with capsys.disabled():
        print(
            f"\n{len(ours)} pairs, median microseconds: read and compare {statistics.median(ours):.0f}, "
            f"SymPy sympify and simplify {statistics.median(theirs):.0f}"
        )


def test_drawing_and_marking_of_every_item(capsys: pytest.CaptureFixture[str]) -> None:
    drawn, marked = [], []
    for item in items.all_items():
        variants.practice(item)
        for number in range(10):
            drawn.append(timed(lambda i=item, n=number: variants.practice(i, str(n)))[0])
            variant = variants.practice(item, str(number))
            given = marking.right_answer(variant)
            marked.append(timed(lambda v=variant, g=given: marking.mark(v, g))[0])
            assert marking.mark(variant, given).verdict == "right"
    with capsys.disabled():
        print(
            f"\n{len(drawn)} variants, microseconds: draw median {statistics.median(drawn):.0f} mean "
            f"{statistics.mean(drawn):.0f}, mark median {statistics.median(marked):.0f} mean {statistics.mean(marked):.0f}"
        )

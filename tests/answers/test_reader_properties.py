"""Nothing but AnswerError comes out of the reader, and what it reads means what Python's arithmetic means."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import TypeVar

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gearkit.answers.comparison.compare import fingerprint, same_expression
from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.items import find
from gearkit.answers.judge import marking
from gearkit.answers.read.reader import at_a_glance, read
from gearkit.answers.symbols import Written, symbols
from gearkit.words.errors import AnswerError

VALUES = {"R": Fraction(66), "S": Fraction(30), "P": Fraction(18)}
PIECES = [
    "R",
    "S",
    "P",
    "2",
    "3.5",
    "0",
    "+",
    "-",
    "*",
    "/",
    "^",
    "**",
    "(",
    ")",
    " ",
    "{",
    "}",
    "\\frac",
    "=",
    ":1",
    "i",
    "²",
    "⁻¹",
    "₁",
    "·",
    "−",
    ",",
    ".",
    "_",
    "e5",
    "$",
    "%",
    "N.m",
    " x ",
    "about ",
    " to 1",
    "½",
    "1,300",
    " 3/7",
    "the ratio is ",
    "≈",
    "->",
]

PLAIN = re.compile(r"-?([0-9]{1,20}(/[0-9]{1,20})?|[0-9]{1,10}\.[0-9]{1,10})")
TOO_MUCH = ("too large", "too long", "too deep")
T = TypeVar("T")


def leaves() -> st.SearchStrategy[tuple[object, ...]]:
    numbers = st.integers(0, 99).map(lambda n: ("leaf", str(n), Fraction(n)))
    decimals = st.integers(1, 999).map(lambda n: ("leaf", f"{n / 10:.1f}", Fraction(n, 10)))
    letters = st.sampled_from(sorted(VALUES)).map(lambda name: ("leaf", name, VALUES[name]))
    return st.one_of(numbers, decimals, letters)


def trees() -> st.SearchStrategy[tuple[object, ...]]:
    def grow(inner: st.SearchStrategy[tuple[object, ...]]) -> st.SearchStrategy[tuple[object, ...]]:
        pairs = st.tuples(st.sampled_from("+-*/"), inner, inner)
        return st.one_of(pairs, st.tuples(st.just("neg"), inner), st.tuples(st.just("^"), inner, st.integers(-2, 3)))

    return st.recursive(leaves(), grow, max_leaves=8)


def worked_out(tree: tuple[object, ...]) -> Fraction:
    kind = tree[0]
    if kind == "leaf":
        return tree[2]
    left = worked_out(tree[1])
    if kind == "neg":
        return -left
    if kind == "^":
        return Fraction(left ** tree[2])
    right = worked_out(tree[2])
    return {"+": left + right, "-": left - right, "*": left * right}[str(kind)] if kind != "/" else left / right


def spelled(tree: tuple[object, ...]) -> str:
    """Write a tree with a bracket around everything that is not a leaf, and products as people write them."""
    kind = tree[0]
    if kind == "leaf":
        return str(tree[1])
    inner = [f"({spelled(part)})" if part[0] != "leaf" else spelled(part) for part in tree[1:] if isinstance(part, tuple)]
    if kind == "neg":
        return f"-{inner[0]}"
    if kind == "^":
        return f"{inner[0]}^{tree[2]}" if str(tree[2])[0] != "-" else f"{inner[0]}^({tree[2]})"
    if kind == "*" and not inner[1][0].isdigit():
        return " ".join(inner)
    return f" {kind} ".join(inner)


def with_symbols(tree: tuple[object, ...], names: dict[str, Written]) -> object:
    """Work a tree out with lesson symbols, as a notebook cell would."""
    kind = tree[0]
    if kind == "leaf":
        name = str(tree[1])
        return names[name] if name in names else tree[2]
    left = with_symbols(tree[1], names)
    if kind == "neg":
        return -left
    if kind == "^":
        return left ** tree[2]
    right = with_symbols(tree[2], names)
    if kind == "+":
        return left + right
    if kind == "-":
        return left - right
    return left * right if kind == "*" else left / right


def tried(work: Callable[[], T]) -> tuple[T | None, str]:
    """Return what comes out, or the code of the answer error; any other exception is a failure."""
    try:
        return work(), ""
    except AnswerError as fault:
        return None, f"{fault.code}|{fault}"


@settings(max_examples=400, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(st.sampled_from(PIECES), max_size=25).map("".join)))
def test_any_text_is_read_or_refused_with_an_answer_error(text: str) -> None:
    def work() -> Fraction:
        expression = read(text, VALUES.keys())
        fingerprint(expression)
        return expression.value(VALUES)

    value, refusal = tried(work)
    code, _, words = refusal.partition("|")
    assert value is not None or (code and words.endswith((".", ")")))


@settings(max_examples=400, deadline=None)
@given(trees())
def test_what_is_read_has_the_value_of_exact_arithmetic(tree: tuple[object, ...]) -> None:
    expected: Fraction | None
    try:
        expected = worked_out(tree)
    except ZeroDivisionError:
        expected = None
    found, refusal = tried(lambda: read(spelled(tree), VALUES.keys()).value(VALUES))
    code = refusal.partition("|")[0]
    if code in TOO_MUCH:
        return
    assert found == expected
    assert (code == "division by zero") is (expected is None)


@settings(max_examples=200, deadline=None)
@given(trees())
def test_what_is_shown_reads_back_as_the_same_expression(tree: tuple[object, ...]) -> None:
    def work() -> bool:
        expression = read(spelled(tree), VALUES.keys())
        return same_expression(read(str(expression), VALUES.keys()), expression)

    same, refusal = tried(work)
    assert same is True or refusal.partition("|")[0] in (*TOO_MUCH, "division by zero")


@settings(max_examples=200, deadline=None)
@given(trees())
def test_lesson_symbols_build_a_text_with_the_same_value(tree: tuple[object, ...]) -> None:
    names = dict(zip(VALUES, symbols(" ".join(VALUES)), strict=True))
    try:
        expected = worked_out(tree)
        built = with_symbols(tree, names)
    except ZeroDivisionError:
        return
    found, refusal = tried(lambda: read(str(built), VALUES.keys()).value(VALUES))
    assert found == expected or refusal.partition("|")[0] in TOO_MUCH


@given(st.from_regex(r"-?[0-9]{1,22}(\.[0-9]{0,12})?(/[0-9]{1,22})?", fullmatch=True))
@example("-3.20")
@example("16/5")
@example("-007/00")
def test_a_number_read_at_a_glance_is_what_the_parser_makes_of_it(text: str) -> None:
    def in_full() -> tuple[object, str]:
        expression = read(text)
        return (expression.value(), expression.digits), str(expression)

    found, refusal = tried(lambda: at_a_glance(text))
    if found is None and not refusal:
        assert not PLAIN.fullmatch(text)
        return
    expected, refused = tried(in_full)
    assert refusal == refused
    assert refusal or expected == (found, text)


@pytest.mark.parametrize(
    "text",
    [
        " " * 390 + "x",
        "the " * 100,
        "reverse " * 50,
        ", " * 200,
        "( " * 200,
        "it is " * 66,
        "1 " * 200,
        "=" * 400,
        "-> " * 130,
        "x" * 400,
        " x " * 130,
        "1," * 200,
        "the answer is " * 28,
        "to 1 " * 80,
        "- to - " * 57,
        "approx " * 57,
        "gear" + " " * 1900 + "x",
        "turning in the " * 25,
        "a b c d e f g is " * 23,
        " " * 39_000 + "a; b",
        "a;" * 20_000,
        "S = 1, " * 6_000,
        "1e3" * 130,
    ],
)
def test_texts_made_to_take_long_are_marked_as_all_others(text: str) -> None:
    # A pattern that goes back over its text would keep this running for minutes; see DEVELOPERS.
    for name in ("L03-01", "L03-02", "L08-02", "L11-01", "L12-05", "L13-02"):
        variant = practice(find(name))
        for texts in ({"answer": text}, {part.name: text for part in variant.parts}):
            assert marking.mark(variant, texts).verdict != "right"

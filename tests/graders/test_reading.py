"""Plain answers are read from their source exactly as running the cell would give them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.answers.symbols import Written, symbol
from graders.run.read import reading
from graders.run.read.harvest import LONGEST_PARSED, SheetCells, harvest
from graders.run.read.notebooks import Cell, Notebook

SYMBOLS = {name: symbol(name) for name in ("R", "S", "P")}


def ran(source: str) -> dict[str, dict[str, str]]:
    """What running the cell leaves, in this process: the sources here are our own."""
    from gearkit.lesson import answering

    answering.clear()
    namespace: dict[str, object] = {"answer": answering.answer, **{name: symbol(name) for name in SYMBOLS}}
    exec(source, namespace)
    return answering.collected()


PLAIN = [
    'answer("L03-02", "19/6")',
    'answer("L03-02", 19/6)',
    'answer("L03-02", 3.25)',
    'answer("L03-02", -4)',
    'answer("L03-02", 1 + R/S)',
    'answer("L03-02", -(R + S)/(2*S)**2)',
    'answer("L03-02", R - -S)',
    'answer("L03-02", 2/3*R)',
    'answer("L03-02", R/3 - 1e-3)',
    'answer("L03-02", "  two\\n lines ")',
    'answer("L03-01", S_R_C="3/2", C_R_S=2)',
    'answer("L06-02", {"1": "A C", "2": ["A", "B"], 3: 7})',
    'answer("L03-09", ["a", "b", 3])',
    'answer("L03-09", ("a", "b"))',
    'answer("L03-02", None)',
    'answer("L03-02")',
    'answer("L03-02", )',
    'answer(" L03-02 ", 1)',
    'answer("L03-02", 1, 2)',
    'answer("L03-02",\n       "19/6",  # my answer\n)',
    '# nothing\nanswer("L03-02", 1)\n"a note"\npass',
    'answer("L03-02", "a" "b")',
    'answer("L03-02", 1); answer("L03-02", 2)',
    '30 + 84\nanswer("L03-02", 1)',
    'answer("L03-02", "")',
    "",
    "# only a comment",
    'answer("L03-02", 1 + 2*R**3)',
    'answer("L03-02", +R)',
    'answer("L03-02", 10**9 / 7)',
    'answer("L03-02", "𝑅/𝑆 ÷ ２")',
    'answer("L03-02", "2"); answer("L03-02", "")',
    'answer("L03-02", ""); answer("L03-02", None); answer("L03-02", 3)',
    'answer("L03-02", 1_000)',
    'answer("L03-02", 0x10)',
    'answer("L03-02", x=1, answer=2)',
]


@pytest.mark.parametrize("source", PLAIN)
def test_reading_gives_what_running_gives(source: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gearkit.lesson.answering.how_it_reads", lambda item, given: "")
    assert reading.read_cell(source, SYMBOLS) == ran(source)


NOT_PLAIN = [
    'answer("L03-02", True)',
    "R = 7",
    'answer = print\nanswer("L03-02", 1)',
    'answer("L03-02", x)',
    'answer("L03-02", print(1))',
    'answer("L03-02", R == S)',
    'answer("L03-02", 1/0)',
    'answer("L03-02", f"{1}")',
    'answer("L03-02", "a" * 3)',
    'answer(*["L03-02", 1])',
    'answer("L03-02", **{"a": 1})',
    'answer("L03-02", 2**R)',
    'answer("L03-02", 9**99)',
    'answer("L03-02", 9**-1)',
    'answer("L03-02", R.x)',
    'answer("L03-02", [i for i in (1,)])',
    "import os",
    'if True:\n    answer("L03-02", 1)',
    "def answer(*a): pass",
    'answer("L" + "03-02", 1)',
    "%time 1",
    "!ls",
    "1 +",
    'x = answer("L03-02", 1)',
    "print(1)",
    'answer("L03-02", item="x")',
    'answer(item="L03-02")',
    "answer()",
    'answer("L03-02", b"1")',
    'answer("L03-02", 1j)',
    'answer("L03-02", ...)',
    'answer("L03-02", R // S)',
    'answer("L03-02", lambda: 1)',
    'await answer("L03-02", 1)',
    'answer("L03-02", (yield))',
    "del answer",
    'answer("L03-02", ~1)',
    'answer("L03-02", not 1)',
    'answer("L03-02", True + 1)',
    'answer("L03-02", {**{}})',
    'answer("L03-02", (a := 1))',
    "1/0",
    'In [1]: answer("L03-02", 1)',
    "global answer",
    "raise SystemExit",
    '"x".y',
    "@answer\nclass R: pass",
    "for R in (1,): pass",
    "with R: pass",
    "from os import *",
    'answer("L03-02", ' + "(" * 150 + "1" + ")" * 150 + "+ x)",
    'answer("L03-02", ' + "-" * 5000 + "1)",
    "answer('L03-02', '\x00')",
    "answer('L03-02', 1)" + "\n#" * 20_000,
]


@pytest.mark.parametrize("source", NOT_PLAIN)
def test_anything_else_has_to_be_run(source: str) -> None:
    assert reading.read_cell(source, SYMBOLS) is None


def test_an_unknown_letter_is_not_read_as_a_symbol() -> None:
    assert reading.read_cell('answer("L03-02", R/S)', {"R": Written("R")}) is None


def test_a_huge_chain_of_symbols_is_refused_quickly() -> None:
    assert reading.read_cell(f'answer("L03-02", {"+".join(["R"] * 500)})', SYMBOLS) is None


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ('answer("L03-02", 2 34/59)', ("L03-02", "2 34/59")),
        ('answer("L03-02", 19/6', ("L03-02", "19/6")),
        ('answer("L03-02", "19/6)', ("L03-02", "19/6")),
        ('answer("L03-02", “19/6”)', ("L03-02", "19/6")),
        ('# here\nanswer("L03-02", 3.2:1)  # why', ("L03-02", "3.2:1")),
        ("answer('L03-02', )x", ("L03-02", ")x")),
        ('answer("L03-02", 1\nx', None),
        ("x = (", None),
        ('answer("L03-02" 5)', None),
    ],
)
def test_the_text_in_a_mistyped_call_is_found(source: str, expected: tuple[str, str] | None) -> None:
    assert reading.broken_call(source) == expected


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("19/6", "19/6"),
        ('"19/6"', "19/6"),
        ("2 34/59", "2 34/59"),
        ("# a\n 1 + R/S \n", "1 + R/S"),
        ("x = 3", ""),
        ("a\nb", ""),
        ("", ""),
        ("answer(", ""),
        ("!rm", ""),
        ("%pip", ""),
        ("import os", ""),
    ],
)
def test_a_bare_line_can_be_an_answer(source: str, expected: str) -> None:
    assert reading.bare_text(source) == expected


@pytest.mark.parametrize(
    ("source", "text"),
    [
        ('answer("L03-02", 2 3) # or 4', "2 3"),
        ('answer("L03-02", (2 3)))', "(2 3)"),
        ('answer("L03-02", 2 3 ) )', "2 3"),
        ('answer("L03-02", “19/6”', "19/6"),
        ("answer('L03-02' ,2 3", "2 3"),
        ('answer("L03-02",) 2)', ") 2"),
    ],
)
def test_what_belongs_to_a_mistyped_call_is_told_from_its_end(source: str, text: str) -> None:
    assert reading.broken_call(source) == ("L03-02", text)


def test_the_search_in_a_mistyped_call_stays_quick() -> None:
    assert reading.broken_call('answer("L03-02", ' + ") " * 400 + "!" * 100) is not None
    assert reading.broken_call('answer("L03-02", ' + ") " * 40_000) is None
    # With a search that goes back each of these took seconds, and a notebook can hold two thousand.
    for _ in range(2000):
        assert reading.broken_call('answer("L03-02", x' + " " * 900 + "y (") == ("L03-02", "x" + " " * 900 + "y (")
        assert reading.bare_text(")" * 99_000) == ""


PIECES = [
    '"',
    "'",
    "L03-02",
    " ",
    "19/6",
    ",",
    ", ",
    "=",
    "a",
    "item",
    "if",
    "answer",
    "x=",
    "(",
    ")",
    "\\",
    "\\n",
    "\n",
    "{",
    "é",
    "\u2028",
    "#",
    "f",
    "1",
    "ｘ=",
]


def calls() -> st.SearchStrategy[str]:
    quoted = st.builds(
        lambda mark, inside: mark + "".join(inside) + mark,
        st.sampled_from("\"'"),
        st.lists(st.sampled_from(PIECES), max_size=4),
    )
    named = st.builds(
        lambda name, text: f"{name}={text}", st.sampled_from(["a", "b", "S_R_C", "item", "if", "1a", "é"]), quoted
    )
    arguments = st.lists(st.one_of(quoted, named, st.sampled_from(PIECES)), max_size=4)
    return arguments.map(lambda given: f"answer({', '.join(given)})")


@settings(max_examples=600)
@given(calls())
def test_a_cell_read_at_a_glance_is_what_its_syntax_tree_gives(source: str) -> None:
    # A note in front changes nothing but the way by which it is read.
    assert reading.read_cell(source, SYMBOLS) == reading.read_cell(f"# a note\n{source}", SYMBOLS)


def test_the_cell_of_a_sheet_is_read_at_a_glance() -> None:
    for source in (
        'answer("L03-02", "19/6")',
        "answer('L03-02', '')",
        'answer("L03-01",\n       S_R_C="3/2",\n       C_R_S="2")',
    ):
        assert reading.at_a_glance(source) is not None


@pytest.mark.parametrize(
    "source",
    [
        "answer（'L03-02'， '19/6'）",
        "```python\nanswer('L03-02', '19/6')\n```",
        "\u200banswer('L03-02', '19/6')",
        "answer\u00a0('L03-02', '19/6')",
        "answer(＂L03-02＂, ＂19/6＂)",
    ],
)
def test_a_call_with_signs_that_are_no_python_is_still_understood(source: str) -> None:
    assert reading.syntax_fault(source)
    assert reading.broken_call(source) == ("L03-02", "19/6")


def test_no_more_than_so_much_text_is_parsed_and_plain_answers_behind_it_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    parsed: list[int] = []
    tree = reading._tree
    monkeypatch.setattr(reading, "_tree", lambda source: parsed.append(len(source)) or tree(source))
    slow = Cell("code", "x\n" + "a," * 9_980 + "=", "L03-05")
    cells = [*[slow] * 200, Cell("code", 'answer("L03-03", "19/6")'), Cell("code", 'answer("L03-02", wide="1", tall="2")')]
    found = harvest(Notebook(tuple(cells)), SheetCells(("L03-02", "L03-03", "L03-05"), ("x = 1",)), None)
    assert 2 * 400_000 < sum(parsed) <= 2 * LONGEST_PARSED
    assert found.answers == {"L03-03": {"answer": "19/6"}, "L03-02": {"wide": "1", "tall": "2"}}

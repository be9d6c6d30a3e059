"""Reads plain answers from the source of a cell, without running it, exactly as running it would give them.

Plain is: calls of `answer` with literals and lesson symbols, joined by + - * / and **; comments; bare literals.
Anything else, be it ever so harmless, is not read but run: the rules are kept so narrow that both ways must give
the same text, which is made by the same function that a learner's notebook uses.
"""

from __future__ import annotations

import ast
import operator
import re
import warnings
from collections.abc import Callable, Mapping
from keyword import iskeyword
from typing import Any

from gearkit.answers.symbols import Written
from gearkit.lesson.answering import texts_of
from graders.run.engines.reply_protocol import bounded, clean

LONGEST_SOURCE = 20_000
LONGEST_LINE = 1_000
MOST_STEPS = 300
LARGEST_BITS = 256
_SIGNS: Mapping[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}
Answers = dict[str, dict[str, str]]


# A call of answer with nothing but texts between plain quotation marks, as a sheet's own answer cells are filled in.
_QUOTED = r"""(?:"[^"\\\x00-\x1f\x7f]*"|'[^'\\\x00-\x1f\x7f]*')"""
_GLANCE = re.compile(
    rf"""answer\(("[\w:. -]{{1,80}}"|'[\w:. -]{{1,80}}'),[ \n]*(?:({_QUOTED})|((?:[A-Za-z_]\w*={_QUOTED},[ \n]*)*[A-Za-z_]\w*={_QUOTED}))\)\n?""",
    re.ASCII,
)
_NAMED = re.compile(rf"([A-Za-z_]\w*)=({_QUOTED})", re.ASCII)


class NotPlainError(Exception):
    """The cell has to be run to know what it answers."""


def read_cell(source: str, symbols: Mapping[str, Written]) -> Answers | None:
    """What the calls of `answer` in a cell leave, or None where the cell has to be run.

    Args:
        source: the cell's text.
        symbols: the lesson symbols that the sheet defines, by name.
    """
    glance = at_a_glance(source)
    if glance is not None:
        return glance
    tree = parsed(source)
    if tree is None:
        return None
    answers: Answers = {}
    try:
        for statement in tree.body:
            if isinstance(statement, ast.Pass):
                continue
            if not isinstance(statement, ast.Expr):
                return None
            if isinstance(statement.value, ast.Call):
                item, parts = _call(statement.value, symbols)
                # As the sheet itself keeps them: an empty call takes nothing back.
                if item not in answers or any(parts.values()):
                    answers[item] = parts
            elif not isinstance(statement.value, ast.Constant):
                # A calculation on the side: it changes nothing, but where it fails the rest of the cell is not reached.
                _value(statement.value, symbols, [MOST_STEPS])
    except Exception:
        # Whatever goes wrong here (a comparison of symbols, a division by zero) also happens when the cell is
        # run, and there it decides which calls were reached.
        return None
    return bounded(answers)


def plain_statements(source: str, symbols: Mapping[str, Written]) -> Answers:
    """What the plain statements of a cell answer, each by itself; all others are passed over.

    Args:
        source: the cell's text.
        symbols: the lesson symbols that the sheet defines, by name.
    """
    tree, answers = parsed(source), Answers()
    for statement in tree.body if tree is not None else ():
        answers.update(read_cell(ast.get_source_segment(source, statement) or "", symbols) or {})
    return bounded(answers)


def at_a_glance(source: str) -> Answers | None:
    """What the commonest cell answers, a call with texts alone; None for every other, and where a name is none.

    Args:
        source: the cell's text.
    """
    match = _GLANCE.fullmatch(source) if len(source) <= LONGEST_SOURCE else None
    if match is None:
        return None
    item, only, named = match.groups()
    if only is not None:
        return bounded({item[1:-1].strip(): texts_of(only[1:-1], {})})
    pairs = _NAMED.findall(named)
    parts: dict[str, object] = {name: text[1:-1] for name, text in pairs}
    if len(parts) < len(pairs) or "item" in parts or any(map(iskeyword, parts)):
        return None
    return bounded({item[1:-1].strip(): texts_of(None, parts)})


def parsed(source: str) -> ast.Module | None:
    """The syntax tree of a cell, or None where it is not plain Python."""
    if len(source) > LONGEST_SOURCE:
        return None
    try:
        return _tree(source)
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return None


def _tree(source: str) -> ast.Module:
    """Parse, without the parser's remarks on a learner's style appearing on the marker's screen."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return ast.parse(source)


def syntax_fault(source: str) -> str:
    """Why a cell is not Python, in a few words, or "" where it is."""
    try:
        _tree(source)
    except SyntaxError as fault:
        return f"{fault.msg} (line {fault.lineno})"
    except (ValueError, RecursionError, MemoryError):
        return "it cannot be read"
    return ""


def _call(call: ast.Call, symbols: Mapping[str, Written]) -> tuple[str, dict[str, str]]:
    if not (isinstance(call.func, ast.Name) and call.func.id == "answer"):
        raise NotPlainError
    if not call.args or isinstance(call.args[0], ast.Starred):
        raise NotPlainError
    name = call.args[0]
    if not (isinstance(name, ast.Constant) and isinstance(name.value, str)):
        raise NotPlainError
    budget = [MOST_STEPS]
    only = [_value(argument, symbols, budget) for argument in call.args[1:]]
    parts: dict[str, object] = {}
    for keyword in call.keywords:
        if keyword.arg is None or keyword.arg == "item":
            raise NotPlainError
        parts[keyword.arg] = _value(keyword.value, symbols, budget)
    return name.value.strip(), texts_of(only[0] if only else None, parts)


def _value(node: ast.expr, symbols: Mapping[str, Written], budget: list[int]) -> object:
    """The value of an argument: a literal, a symbol, arithmetic on them, or a list or table of such."""
    budget[0] -= 1
    if budget[0] < 0:
        raise NotPlainError
    match node:
        case ast.Constant(value=str() | None):
            return node.value
        case ast.List() | ast.Tuple():
            entries = [_value(entry, symbols, budget) for entry in node.elts]
            return entries if isinstance(node, ast.List) else tuple(entries)
        case ast.Dict():
            return {_key(key): _value(value, symbols, budget) for key, value in zip(node.keys, node.values, strict=True)}
        case _:
            return _number(node, symbols, budget)


def _key(node: ast.expr | None) -> object:
    if isinstance(node, ast.Constant) and isinstance(node.value, str | int) and not isinstance(node.value, bool):
        return node.value
    raise NotPlainError


def _number(node: ast.expr, symbols: Mapping[str, Written], budget: list[int]) -> Any:
    budget[0] -= 1
    if budget[0] < 0:
        raise NotPlainError
    match node:
        case ast.Constant(value=int() | float()) if not isinstance(node.value, bool):
            return _bounded_number(node.value)
        case ast.Name() if node.id in symbols:
            return symbols[node.id]
        case ast.UnaryOp(op=ast.USub()):
            return -_number(node.operand, symbols, budget)
        case ast.UnaryOp(op=ast.UAdd()):
            return +_number(node.operand, symbols, budget)
        case ast.BinOp(op=ast.Pow()):
            base, power = _number(node.left, symbols, budget), node.right
            if isinstance(power, ast.Constant) and isinstance(power.value, int) and 0 <= power.value <= 9:
                return _bounded_number(base**power.value)
            raise NotPlainError
        case ast.BinOp() if type(node.op) in _SIGNS:
            left, right = _number(node.left, symbols, budget), _number(node.right, symbols, budget)
            return _bounded_number(_SIGNS[type(node.op)](left, right))
        case _:
            raise NotPlainError


def _bounded_number(value: Any) -> Any:
    if isinstance(value, int) and value.bit_length() > LARGEST_BITS:
        raise NotPlainError
    return value


_QUOTES = "\"'“”„’‘"
# Comments, and the fence round code that was taken from a page.
_ASIDE = ("#", "```")
# What a keyboard for wide letters writes in place of Python's own signs, and signs without width that come with copied text.
_MISTYPED = {**str.maketrans("（），＂＇＝", "(),\"'="), **dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff"))}
_BROKEN_CALL = re.compile(r"""\s*answer\s*\(\s*["'“”„’‘]([A-Za-z0-9:_. -]{1,80})["'“”„’‘]\s*,""")


def broken_call(source: str) -> tuple[str, str] | None:
    """Item and text of an answer in a cell that is not Python, where the call stands on one line of its own."""
    lines = [line for line in source.translate(_MISTYPED).splitlines() if line.strip() and not line.lstrip().startswith(_ASIDE)]
    if len(lines) != 1 or len(lines[0]) > LONGEST_LINE:
        return None
    match = _BROKEN_CALL.match(lines[0])
    if match is None:
        return None
    written = lines[0][match.end() :].partition("#")[0].strip().removesuffix(")")
    text = clean(_unwrapped(written))
    return (match.group(1).strip(), text) if text else None


def bare_text(source: str) -> str:
    """The text of a cell that holds one line and no call of `answer`: what a learner may have meant as the answer."""
    lines = [line.strip() for line in source.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    if len(lines) != 1 or "answer" in lines[0] or lines[0][0] in "%!?":
        return ""
    tree = parsed(lines[0])
    if tree is None:
        return clean(_unwrapped(lines[0][:LONGEST_LINE]))
    if len(tree.body) != 1 or not isinstance(tree.body[0], ast.Expr):
        return ""
    value = tree.body[0].value
    if isinstance(value, ast.Constant) and isinstance(value.value, str):
        return clean(" ".join(value.value.split()))
    return clean(lines[0])


def _unwrapped(text: str) -> str:
    """A text of one line without the quotation marks round it and without closing brackets that nothing opens."""
    text = text.strip()
    for _ in range(text.count(")") - text.count("(")):
        if not text.endswith(")"):
            break
        text = text[:-1].rstrip()
    return text.strip(_QUOTES).strip()

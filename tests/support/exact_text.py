"""The exact value of a formula's text, so that whole numbers in it are not divided as floats."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from fractions import Fraction


def exact_value(text: str, values: Mapping[str, Fraction | int]) -> Fraction:
    """Return the value of a formula in Python's notation.

    Args:
        text: sums, products, quotients and names only.
        values: symbol -> value.
    """
    return _value(ast.parse(text, mode="eval").body, values)


def _value(node: ast.expr, values: Mapping[str, Fraction | int]) -> Fraction:
    match node:
        case ast.Constant(value=int(number)):
            return Fraction(number)
        case ast.Name(id=name):
            return Fraction(values[name])
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, values)
        case ast.UnaryOp(op=ast.UAdd(), operand=operand):
            return _value(operand, values)
        case ast.BinOp(left=left, op=op, right=right):
            first, second = _value(left, values), _value(right, values)
            match op:
                case ast.Add():
                    return first + second
                case ast.Sub():
                    return first - second
                case ast.Mult():
                    return first * second
                case ast.Div():
                    return first / second
    raise AssertionError(f"not a formula in tooth symbols: {ast.unparse(node)}")

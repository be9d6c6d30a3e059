"""Reading of the published check tables, and what it means that a printed figure comes out.

A source rounds or cuts off. A figure comes out when the exact value, rounded half up or cut off at the digits printed,
is the figure printed; and one of the two rules must fit every figure of a source.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from fractions import Fraction
from math import floor
from typing import Any

from gearkit.text.places import datasets
from gearkit.train.layout import Layout
from gearkit.train.layout_file import LineIndex, read_tables

RULES = frozenset({"rounded", "cut off"})


def check_table(name: str) -> list[dict[str, Any]]:
    """Return the cases of one table of published figures.

    Args:
        name: the file's name without ending.
    """
    path = datasets() / "published" / "checks" / f"{name}.toml"
    cases: list[dict[str, Any]] = tomllib.loads(path.read_text("utf-8"))["case"]
    return cases


def layout_of(case: Mapping[str, Any], **more: Any) -> Layout:
    """Return the train of a case as a layout, read as a layout file is read.

    Args:
        case: with its sets, and joins and elements where it has any.
        more: joins to add to the case's own.
    """
    document = {
        "format": 1,
        "name": case["title"],
        "source": case["source"],
        "joins": [*case.get("joins", []), *more.get("joins", [])],
        "set": case["set"],
        "element": case.get("element", []),
    }
    return read_tables(document, LineIndex(""), "", "")


def rules_that_fit(exact: Fraction, printed: str) -> frozenset[str]:
    """Return the ways of shortening that turn an exact value into the printed one.

    Args:
        exact: the value worked out.
        printed: the figure with the digits of its source.
    """
    shown = Fraction(printed)
    places = len(printed.partition(".")[2])
    if exact and shown and (exact < 0) != (shown < 0):
        return frozenset()
    whole, wanted = abs(exact) * 10**places, abs(shown) * 10**places
    found = {"rounded": floor(whole + Fraction(1, 2)), "cut off": floor(whole)}
    return frozenset(rule for rule, value in found.items() if value == wanted)


def root_fits(power: Fraction, degree: int, printed: str) -> bool:
    """Tell whether a root, correctly rounded, is the printed figure; exact, without working the root out.

    Args:
        power: the positive number under the root.
        degree: 2 for a square root and so on.
        printed: the figure with the digits of its source.
    """
    half = Fraction(1, 2 * 10 ** len(printed.partition(".")[2]))
    return (Fraction(printed) - half) ** degree <= power < (Fraction(printed) + half) ** degree

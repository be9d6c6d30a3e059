"""Formulas in one line of plain page elements: many players of items do not show MathML, and a fraction without its bar is a product."""

from __future__ import annotations

from html import escape
from itertools import pairwise
from xml.etree import ElementTree as ET

_SIGNS = {"+", "−", "=", "±"}
_TIMES = {"·", "×"}


def in_one_line(formula: ET.Element) -> ET.Element:
    """Return a formula as a span: letters in italics, indices below, a fraction with a slash and the brackets that it then needs.

    Args:
        formula: a `math` element as `gearkit.text.mathml` writes it.
    """
    line = ET.fromstring(f"<span>{_row(formula)}</span>")
    line.tail = formula.tail
    return line


def _row(parent: ET.Element) -> str:
    written = ""
    for part in parent:
        # A sign between two terms stands apart; one in front of a term does not.
        apart = part.tag == "mo" and part.text in _SIGNS and written and not written.endswith(("(", " "))
        written += f" {escape(part.text or '')} " if apart else _part(part)
    return written


def _part(part: ET.Element) -> str:
    match part.tag:
        case "mrow":
            return _row(part)
        case "mi":
            text = escape(part.text or "")
            return f"<i>{text}</i>" if len(part.text or "") == 1 else text
        case "mfrac":
            over, under = part
            return f"{_bracketed(over, _SIGNS)}/{_bracketed(under, _SIGNS | _TIMES)}"
        case "msub" | "msup":
            base, index = part
            place = part.tag.removeprefix("m")
            return f"{_part(base)}<{place}>{_part(index)}</{place}>"
        case "mspace":
            return " "
    return escape("".join(part.itertext()))


def _bracketed(row: ET.Element, loose: set[str]) -> str:
    """Return one side of a fraction, in brackets where it would fall apart without."""
    depth, falls_apart = 0, False
    for part in row:
        text = part.text if part.tag == "mo" else ""
        depth += (text == "(") - (text == ")")
        falls_apart |= depth == 0 and (text in loose or part.tag == "mfrac")
    # Two letters side by side are a product without a sign.
    side_by_side = any(sign.tag != "mo" and other.tag != "mo" for sign, other in pairwise(row))
    falls_apart |= side_by_side and loose >= _TIMES
    return f"({_row(row)})" if falls_apart else _row(row)

"""The frame of every page: one file, no script, nothing from a network, readable in light, dark and print."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from html import escape
from importlib.resources import files

from gearkit.text.phrases import MINUS, fixed, localized
from gearkit.words.say import later, say

# Nothing on a page may load or run, whatever a learner wrote into an answer.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"

SIGNS = {"right": "✓", "part": "◐", "wrong": "✗", "unreadable": "?", "missing": "–"}
SIGN_WORDS = {
    "right": later("right"),
    "part": later("partly right"),
    "wrong": later("not right"),
    "unreadable": later("could not be read"),
    "missing": later("no answer"),
}


def page(title: str, header: str, body: str, *, footer: str = "", wide: bool = False, language: str = "en") -> str:
    """Return a whole HTML page.

    Args:
        title: the window's title, as plain text.
        header: HTML for the top of the page, with its one h1.
        body: HTML of the page itself.
        footer: HTML at the foot.
        wide: whether tables need more than the width of a text.
        language: language of the page, as in "en".
    """
    skip = say("Go to the text")
    foot = f"<footer>{footer}</footer>" if footer else ""
    width = ' class="wide"' if wide else ""
    return (
        f'<!doctype html>\n<html lang="{escape(language, quote=True)}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        f'<meta name="robots" content="noindex">\n<title>{escape(title)}</title>\n<style>\n{_style()}</style>\n</head>\n'
        f'<body{width}>\n<a class="skip" href="#main">{skip}</a>\n'
        f'<header>{header}</header>\n<main id="main">\n{body}\n</main>\n{foot}\n</body>\n</html>\n'
    )


@cache
def _style() -> str:
    return files("graders.report").joinpath("style.css").read_text(encoding="utf-8")


def verdict_of(verdict: str, score: float, full: float) -> str:
    """Return the page's word for a mark: the verdict, but "part" for some marks of several.

    Args:
        verdict: "right", "wrong", "unreadable" or "missing".
        score: marks earned.
        full: full marks.
    """
    return "part" if verdict == "wrong" and 0 < score < full else verdict


def sign(kind: str, with_words: bool = False) -> str:
    """Return the sign of a verdict, with its words for those who cannot see it.

    Args:
        kind: "right", "part", "wrong", "unreadable" or "missing".
        with_words: whether the words stand beside the sign or only in its label.
    """
    tone = "unreadable" if kind == "part" else kind
    if with_words:
        return f'<span class="{tone}"><span class="sign" aria-hidden="true">{SIGNS[kind]}</span> {say(SIGN_WORDS[kind])}</span>'
    return f'<span class="sign {tone}" role="img" aria-label="{say(SIGN_WORDS[kind])}">{SIGNS[kind]}</span>'


def number(value: float) -> str:
    """Return a mark as people write it: 7, 7.5, 7.25."""
    return localized(f"{round(value, 2):g}")


def marks_of(score: float, full: float) -> str:
    """Return "7.5 of 10".

    Args:
        score: marks earned.
        full: full marks.
    """
    return say("{score} of {full}", score=number(score), full=number(full))


def of_marks(score: float, full: float) -> str:
    """Return "7.5 of 10 marks", or "0 of 1 mark".

    Args:
        score: marks earned.
        full: full marks.
    """
    return f"{marks_of(score, full)} {'mark' if number(full) == '1' else 'marks'}"


def signed(value: Fraction | float | None, unknown: str = "–") -> str:
    """Return a figure with its sign and two places; zero has none.

    Args:
        value: the figure, or None.
        unknown: what stands for None.
    """
    if value is None:
        return unknown
    text = fixed(value, 2)
    return text if text.startswith(MINUS) or not text.strip("0.") else f"+{text}"


def counted(count: int, one: str, many: str = "") -> str:
    """Return "1 learner" or "3 learners".

    Args:
        count: how many there are.
        one: the word for one of them.
        many: the word for several; one with an s where it is empty.
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def linked(html: str, address: str) -> str:
    """Return words as a link, or as they are where there is no address.

    Args:
        html: the words, escaped.
        address: the address, or "".
    """
    return f'<a href="{escape(address)}">{html}</a>' if address else html

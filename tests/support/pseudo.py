"""A language made for tests: every message in letters of its own, so that words that no catalogue could translate stand out.

A letter of a message becomes the same letter with a mark above or below it; names, values, formulas and mark-up in it stay.
A word in plain letters on a page has then gone round the catalogue, and so has a number with a decimal point.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from html import unescape
from html.parser import HTMLParser

from gearkit.text.phrases import own_name
from gearkit.train.layout import Layout
from tests.support.messages import all_messages

_PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_OWN = "ȧƀƈđėƒġħīĵķŀṁṅȯṗɋřṡŧŭṽẇẋẏżȦɃƇĐĖƑĠĦĪĴĶĿṀṄȮṖɊŘṠŦŬṼẆẊẎŻ"
_LETTERS = str.maketrans(_PLAIN, _OWN)
# What stays as it is in a message: values, formulas, code, entities, tags and where links lead.
_KEPT = re.compile(r"(```[\s\S]*?```|\{[^{}]*\}|\$\$?[^$]+\$\$?|`[^`]+`|&#?\w+;|<[^<>]+>|\]\([^)]*\))")
_WORD = re.compile(r"[A-Za-z]{2,}")
_POINT = re.compile(r"(?<![\d.\w])\d+\.\d+(?![\d.])")


def marked(message: str) -> str:
    """Return a message in letters of its own.

    >>> marked("The {name} turns.")
    'Ŧħė {name} ŧŭřṅṡ.'
    """
    pieces = _KEPT.split(message)
    pieces[::2] = [re.sub(r"(?<=\d)\.(?=\d)", ",", piece).translate(_LETTERS) for piece in pieces[::2]]
    return "".join(pieces)


class Pseudo:
    """The catalogue of the language: it holds what Babel finds in the code, and nothing else.

    Args:
        without: messages that are left out, to show that a missing one is found.
    """

    def __init__(self, without: Iterable[str] = ()) -> None:
        left_out = set(without)
        self._known = {pair for pair in all_messages() if pair[1] not in left_out}

    def gettext(self, message: str, /) -> str:
        """Return a message, marked where the code declares it."""
        return self.pgettext("", message)

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        """Return the form of a message that goes with a number, marked where the code declares it."""
        return self.gettext(one if count == 1 else many)

    def pgettext(self, context: str, message: str, /) -> str:
        """Return a message in one meaning, marked where the code declares it; the decimal mark is a comma."""
        if context == "decimal mark":
            return ","
        return marked(message) if (context, message) in self._known else message


def given_name(layout: Layout) -> str:
    """Return what stays of a layout's name in any language: its short name of its own; all of it where the kit does not ship it.

    Args:
        layout: the layout.
    """
    return own_name(layout.name) if ("", layout.name) in all_messages() else layout.name


_UNSEEN = ("script", "style")
_SAID = ("aria-label", "alt", "title", "placeholder", "aria-description")


class _Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._hidden = self._in_formula = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in _UNSEEN
        self._in_formula += tag in ("math", "mtext")
        if tag != "math":
            self.texts += [value or "" for name, value in attrs if name in _SAID]

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in _UNSEEN
        self._in_formula -= tag in ("math", "mtext")

    def handle_data(self, data: str) -> None:
        # Of a formula the words in it are read, not its symbols.
        if not self._hidden and self._in_formula != 1:
            self.texts.append(data)


def seen_in(html: str) -> list[str]:
    """Return the texts that a reader of HTML or SVG sees or hears, without formulas.

    Args:
        html: the page or a piece of it.
    """
    reader = _Seen()
    reader.feed(html)
    reader.close()
    return [unescape(text) for text in reader.texts if text.strip()]


def escaped(texts: Iterable[str], names: Iterable[str] = ()) -> list[str]:
    """Return the words, and the numbers with a point, that did not go through the catalogue, each with its text.

    Args:
        texts: what a reader sees.
        names: words that are names and so stay in every language.
    """
    return list(dict.fromkeys(_escaped(texts, set(names))))


def _escaped(texts: Iterable[str], names: set[str]) -> Iterator[str]:
    for text in texts:
        plain = re.sub(r"\$\$?[^$]+\$\$?|`[^`]+`", " ", text)
        for pattern in (_WORD, _POINT):
            found = [word for word in pattern.findall(plain) if word not in names]
            if found:
                yield f"{found}: {text[:200]}"

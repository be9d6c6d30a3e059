"""The messages of one language, read from text files that a translator edits: nothing is compiled and nothing can lag behind.

Each language has a folder in `catalogues`, and in it some files in gettext's form (.po), one for each part of the kit. Read
here is what such files hold as Babel writes them; `tests/words/test_catalogues.py` compares with Babel's own reader.
"""

from __future__ import annotations

import gettext
import json
import re
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

FOLDER = Path(__file__).resolve().parent / "catalogues"
_FIELD = re.compile(r'^(msgctxt|msgid_plural|msgid|msgstr(?:\[\d+\])?) (".*")$', re.MULTILINE)
# What a form for each number is chosen by, in the head of a file.
_PLURAL = re.compile(r"^Plural-Forms:.*plural=([^;\n]+)", re.MULTILINE)


class Catalogue:
    """What holds the messages of one language.

    Args:
        texts: the content of its files.
        code: the language, such as "de".
    """

    def __init__(self, *texts: str, code: str = "") -> None:
        self.code = code
        self._forms: dict[tuple[str, str], tuple[str, ...]] = {}
        for text in texts:
            self._forms |= _read(text)
        head = _PLURAL.search(self._forms.pop(("", ""), ("",))[0])
        self._which: Callable[[int], int] = gettext.c2py(head[1]) if head else lambda count: int(count != 1)

    def gettext(self, message: str, /) -> str:
        """Return a message in the language, or as it is where the language lacks it."""
        return self._forms.get(("", message), (message,))[0]

    def ngettext(self, singular: str, plural: str, count: int, /) -> str:
        """Return the form of a message that goes with a number.

        Args:
            singular: the English message for one.
            plural: the English message for any other number.
            count: the number.
        """
        forms = self._forms.get(("", singular))
        if forms is None or len(forms) == 1:
            # Forms that stand as data are marked each by itself.
            return self.gettext(singular if count == 1 else plural)
        return forms[self._which(count)]

    def pgettext(self, context: str, message: str, /) -> str:
        """Return a message in one of its meanings.

        Args:
            context: which meaning.
            message: the English message.
        """
        return self._forms.get((context, message), (message,))[0]


def _read(text: str) -> dict[tuple[str, str], tuple[str, ...]]:
    """The translated messages of a file: what is empty, doubtful ("fuzzy") or gone ("#~") counts as not there."""
    messages = {}
    # A text that goes over several lines stands in quotes on each of them.
    for block in text.replace('"\n"', "").split("\n\n"):
        if re.search(r"^#,.*\bfuzzy", block, re.MULTILINE):
            continue
        fields = _FIELD.findall(block)
        forms = tuple(json.loads(words) for name, words in fields if name.startswith("msgstr"))
        if forms and all(forms):
            names = dict(fields)
            messages[json.loads(names.get("msgctxt", '""')), json.loads(names["msgid"])] = forms
    return messages


def codes() -> tuple[str, ...]:
    """Return the codes of the languages that have messages, such as "de"."""
    return tuple(sorted({path.parent.name for path in FOLDER.glob("*/*.po")}))


@lru_cache(maxsize=8)
def of_language(code: str) -> Catalogue:
    """Return the messages of a language, read once.

    Args:
        code: one of `codes`.
    """
    return Catalogue(*[path.read_text(encoding="utf-8") for path in sorted((FOLDER / code).glob("*.po"))], code=code)

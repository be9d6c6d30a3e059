"""What a reader reads, in the reader's language: the English sentence stands in the code, a catalogue may hold another.

A sentence goes through `say` where it is made, with its changing parts by name; `say_n` chooses by a number between one
and many; `say_in` tells two meanings of the same English words apart. What stands as data, outside any function, is
marked by `later` and said where it is shown. English needs no catalogue. `catalogue.py` reads the others, which are made
with Babel (DEVELOPERS.md says how).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from contextvars import ContextVar
from enum import StrEnum
from functools import lru_cache, wraps
from gettext import NullTranslations
from typing import ParamSpec, Protocol, TypeVar

from gearkit.words import catalogue as catalogues
from gearkit.words.errors import UsageError
from gearkit.words.terms import ENGINE, MEMBERS, RESERVED_SHAFTS

ENGLISH = "en"
P = ParamSpec("P")
T = TypeVar("T")


class Catalogue(Protocol):
    """What holds the messages of one language; gettext's catalogues do."""

    def gettext(self, message: str, /) -> str:
        """Return a message in the language, or as it is where the language lacks it."""

    def ngettext(self, one: str, many: str, count: int, /) -> str:
        """Return the form of a message that goes with a number.

        Args:
            one: the English message for one.
            many: the English message for any other number.
            count: the number.
        """

    def pgettext(self, context: str, message: str, /) -> str:
        """Return a message in one of its meanings.

        Args:
            context: which meaning.
            message: the English message.
        """


_PARTS = frozenset({*MEMBERS, *RESERVED_SHAFTS, ENGINE})
_stretch: ContextVar[Catalogue | None] = ContextVar("gearkit_language", default=None)
# Stands for English in a stretch of code inside a notebook that speaks another language.
_ENGLISH = NullTranslations()
# A notebook belongs to one learner, and its cells and its panels' replies run in contexts of their own.
_notebook: list[Catalogue | None] = [None]


def _catalogue() -> Catalogue | None:
    chosen = _stretch.get()
    return _notebook[0] if chosen is None else None if chosen is _ENGLISH else chosen


def say(message: str, /, **values: object) -> str:
    """Return a message in the reader's language, its values filled in.

    Args:
        message: the English sentence; ``{name}`` stands for a value. Without values braces mean themselves.
        values: what stands in it, by name.

    >>> say("The sun makes {turns} turns.", turns=3)
    'The sun makes 3 turns.'
    """
    catalogue = _catalogue()
    if catalogue is not None and message:
        message, values = catalogue.gettext(message), _said(catalogue, values)
    return message.format_map(values) if values else message


def _said(catalogue: Catalogue, values: dict[str, object]) -> dict[str, object]:
    """Values of which the words of a closed vocabulary, and of members and shafts, are said in the language as well."""
    return {
        name: catalogue.gettext(value) if isinstance(value, StrEnum) or (isinstance(value, str) and value in _PARTS) else value
        for name, value in values.items()
    }


def said(word: str, /) -> str:
    """Return a word of a closed vocabulary, or the name of a member or a shaft, in the reader's language; any other as it is.

    Args:
        word: such as a verdict, or what a table of a lesson holds.
    """
    catalogue = _catalogue()
    return word if catalogue is None else str(_said(catalogue, {"word": word})["word"])


def say_n(one: str, many: str, count: int, /, **values: object) -> str:
    """Return the form of a message that goes with a number, its values filled in.

    Args:
        one: the English sentence for one.
        many: the English sentence for any other number.
        count: the number; ``{count}`` stands for it in the sentence.
        values: what else stands in it, by name.

    >>> say_n("{count} set turns.", "{count} sets turn.", 2)
    '2 sets turn.'
    """
    catalogue = _catalogue()
    if catalogue is None:
        message = one if count == 1 else many
    else:
        message, values = catalogue.ngettext(one, many, count), _said(catalogue, values)
    return message.format_map({"count": count, **values})


def say_in(context: str, message: str, /, **values: object) -> str:
    """Return a message of which the English words have several meanings.

    Args:
        context: which meaning, in a few words for whoever translates.
        message: see `say`.
        values: see `say`.
    """
    catalogue = _catalogue()
    if catalogue is not None:
        message, values = catalogue.pgettext(context, message), _said(catalogue, values)
    return message.format_map(values) if values else message


def later(message: str, /) -> str:
    """Return a message as it is and mark it for whoever translates: it is data now, and goes through `say` when shown.

    Args:
        message: the English words.
    """
    return message


def language_key() -> int:
    """Return what tells apart in which language something was made that is kept: 0 for English."""
    catalogue = _catalogue()
    return 0 if catalogue is None else id(catalogue)


def language_code() -> str:
    """Return the code of the reader's language, such as "de"; "?" where a catalogue made by hand has none."""
    catalogue = _catalogue()
    return ENGLISH if catalogue is None else str(getattr(catalogue, "code", "?"))


def page_language() -> str:
    """Return the code of the reader's language as a page or a print engine names it: that of English for a catalogue without one."""
    code = language_code()
    return code if code.isalpha() else ENGLISH


def kept_for_each_language(maxsize: int) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Return a decorator that keeps what a function returned, apart for each language: for texts that are made once.

    Args:
        maxsize: how many results are kept at most.
    """

    def decorator(function: Callable[P, T]) -> Callable[P, T]:
        @lru_cache(maxsize=maxsize)
        def kept(_: int, *args: P.args, **kwargs: P.kwargs) -> T:
            return function(*args, **kwargs)

        @wraps(function)
        def call(*args: P.args, **kwargs: P.kwargs) -> T:
            return kept(language_key(), *args, **kwargs)  # type: ignore[arg-type]  # what is kept is hashable, as lru_cache asks

        return call

    return decorator


@contextmanager
def speaking(catalogue: Catalogue | None) -> Iterator[None]:
    """Say everything inside a ``with`` block in a language.

    Args:
        catalogue: the language's messages; None for that of the notebook, or English.
    """
    token = _stretch.set(catalogue)
    try:
        yield
    finally:
        _stretch.reset(token)


def speaking_language(code: str) -> AbstractContextManager[None]:
    """Say everything inside a ``with`` block in the language of a code, in English too where the notebook has another.

    Args:
        code: such as "en".

    Raises:
        UsageError: no such language is offered.
    """
    return speaking(catalogue_of(code) or _ENGLISH)


@contextmanager
def in_english() -> Iterator[None]:
    """Say everything inside a ``with`` block in English: the names under which a record keeps things in every language."""
    with speaking(_ENGLISH):
        yield


def in_notebook(catalogue: Catalogue | None) -> None:
    """Say everything in a language from now on, in this process: a notebook's.

    Args:
        catalogue: the language's messages; None for English.
    """
    _notebook[0] = catalogue


def languages() -> tuple[str, ...]:
    """Return the codes of the languages that can be chosen, English first."""
    return (ENGLISH, *catalogues.codes())


def catalogue_of(code: str) -> Catalogue | None:
    """Return the messages of a language; None for English, which needs none.

    Args:
        code: such as "en".

    Raises:
        UsageError: no such language is offered.
    """
    if code not in languages():
        raise UsageError(f"There is no language {code!r}. Choose one of: {', '.join(languages())}.")
    return None if code == ENGLISH else catalogues.of_language(code)

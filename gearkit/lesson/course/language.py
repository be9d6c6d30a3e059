"""The learner's language: chosen once, remembered in the record, and then the language of every lesson on the shelf."""

from __future__ import annotations

import json
from typing import Any

from gearkit.lesson.record import Record
from gearkit.words.say import ENGLISH, catalogue_of, in_notebook, languages, say_in, speaking_language


def language_of(record: Record) -> str:
    """Return the code of the language that a learner's lessons are in; English where none was chosen or it is not offered.

    Args:
        record: the learner's record.
    """
    return record.language if record.language in languages() else ENGLISH


def name_of(code: str) -> str:
    """Return what a language is called by those who speak it, such as "Deutsch".

    Args:
        code: one of `languages`.
    """
    with speaking_language(code):
        return say_in("name of the language that this catalogue is in", "English")


def speak_as(record: Record, language: str | None = None) -> None:
    """Say everything in this notebook in the learner's language.

    Args:
        record: the learner's record.
        language: the code of another language, for this notebook alone.

    Raises:
        UsageError: there is no such language.
    """
    in_notebook(catalogue_of(language or language_of(record)))


def changed_over(theirs: bytes, before: bytes, now: bytes) -> bytes:
    """Return a learner's notebook in another language: cells that are as they were handed over change, all others stay.

    Args:
        theirs: the learner's notebook; anything that is none stays as it is.
        before: the notebook as it was handed over.
        now: the same notebook in the other language.
    """
    try:
        held = json.loads(theirs)
        old, new = _sources(json.loads(before)), _sources(json.loads(now))
        for cell in held["cells"]:
            name = str(cell.get("id", ""))
            if name in new and "".join(cell["source"]) == old.get(name):
                cell["source"] = new[name].splitlines(keepends=True)
        return (json.dumps(held, ensure_ascii=False, indent=1) + "\n").encode()
    except (ValueError, KeyError, TypeError, AttributeError):
        return theirs


def _sources(notebook: dict[str, Any]) -> dict[str, str]:
    return {str(cell["id"]): "".join(cell["source"]) for cell in notebook["cells"]}

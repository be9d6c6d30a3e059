"""The messages of the kit: what Babel finds in the code, and what its own extractors cannot see, vocabularies and data.

``python -m tests.support.messages de`` brings the files of a language up to date: messages that are new stand in them empty,
those that are gone are dropped, one that changed a little is kept as "fuzzy" until somebody read it. Each part of the kit has a
file of its own, so that two people translate without meeting; a message belongs to the part where it stands first.
"""

from __future__ import annotations

import ast
import io
import json
import re
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import redirect_stderr
from functools import lru_cache
from pathlib import Path
from typing import Any, BinaryIO

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

from gearkit.answers import items
from gearkit.lesson.course import prose
from gearkit.lesson.panels.bundle import said_in
from gearkit.train.catalogue import entries
from gearkit.words.catalogue import FOLDER

ROOT = Path(__file__).resolve().parents[2]
KEYWORDS: dict[str, Any] = {"say": None, "say_n": (1, 2), "say_in": ((1, "c"), 2), "later": None}
PART = "A part of a sentence: see the place in the code."
Message = tuple[int, str, Any, list[str]]
# The files of a language, and the folder whose messages each holds; "kit" holds all others.
PARTS = {"answers": "gearkit/answers/", "graders": "graders/", "lessons": "lessons/"}
# What a file begins with: without dates and names of programs, which would change it for nothing.
HEAD = """msgid ""
msgstr ""
"Language: {language}\\n"
"Plural-Forms: {plural}\\n"
"Content-Type: text/plain; charset=utf-8\\n"
"Content-Transfer-Encoding: 8bit\\n"

"""


def vocabulary(file: BinaryIO, keywords: object, comment_tags: object, options: object) -> Iterator[Message]:
    """Yield the words of closed vocabularies: what the members of each `StrEnum` and the constants of a module say."""
    for node in ast.walk(ast.parse(file.read())):
        if isinstance(node, ast.Assign):
            for constant in ast.walk(node.value):
                if isinstance(constant, ast.Constant) and isinstance(constant.value, str):
                    yield constant.lineno, "later", constant.value, []


def sentences(file: BinaryIO, keywords: object, comment_tags: object, options: object) -> Iterator[Message]:
    """Yield every text of a module of data that holds a word, its documentation left out."""
    tree = ast.parse(file.read())
    documents = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body and isinstance(node.body[0], ast.Expr)
    }
    # What something is kept under is no text that anybody reads.
    keys = {id(key) for node in ast.walk(tree) if isinstance(node, ast.Dict) for key in node.keys}
    texts = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    for node in texts:
        if id(node) not in documents | keys and re.search(r"[a-z]{3}", str(node.value)):
            yield node.lineno, "later", str(node.value), []


def items_of_the_bank(file: BinaryIO, keywords: object, comment_tags: object, options: object) -> Iterator[Message]:
    """Yield what the items of the bank say, as they say it, each with the item that says it."""
    for item in items.all_items():
        for question in item.questions:
            mistakes = [each.sentence for each in question.named_mistakes]
            fields = [each.label for each in question.fields.values()]
            demands = [text for each in question.constraints for text in (each.label, each.advice)]
            words = [word for each in question.words.values() for word in each]
            for text in (question.prompt, *question.hints, *mistakes, *fields, *demands, *words, question.title, question.unit):
                if re.search(r"[A-Za-z]{2}", text):
                    yield 1, "later", text, [f"Item {item.id}"]


# Which files hold messages of another form than calls of `say` and its kin.
METHODS = {
    "gearkit/words/terms.py": vocabulary,
    "gearkit/answers/bank/__init__.py": items_of_the_bank,
    "gearkit/answers/kinds/kind.py": sentences,
    "gearkit/answers/mistakes.py": sentences,
    "gearkit/answers/titles.py": sentences,
    "gearkit/answers/rules/workshop.py": sentences,
    "gearkit/answers/beliefs/of_one_set.py": sentences,
    "gearkit/answers/beliefs/of_trains.py": sentences,
    "gearkit/answers/beliefs/of_use.py": sentences,
}


def template() -> Catalog:
    """Return every message with the files where it stands."""
    catalog = Catalog(project="gearkit", fuzzy=False)
    for path in sorted((ROOT / "gearkit").rglob("static/*.js")):
        name, content = path.relative_to(ROOT).as_posix(), path.read_bytes()
        if b'"./words.js"' in content:
            for one, many in said_in(content.decode()):
                catalog.add((one, many) if many else one, None, [(name, None)], auto_comments=_notes(one))
    for package in ("gearkit", "graders"):
        for path in sorted((ROOT / package).rglob("*.py")):
            name, content = path.relative_to(ROOT).as_posix(), path.read_bytes()
            if name not in METHODS and b"words.say import" not in content:
                continue
            method = METHODS.get(name, "python")
            # Babel warns of every f-string inside a call; those that stand in for a message a test of ours finds.
            with redirect_stderr(io.StringIO()):
                found = list(extract(method, io.BytesIO(content), KEYWORDS, ("Translators:",)))
            for _, message, comments, context in found:
                catalog.add(message, None, [(name, None)], auto_comments=[*comments, *_notes(message)], context=context)
    for entry in entries(several=True):
        catalog.add(entry.layout.name, None, [(f"datasets/{entry.layout.file}", None)])
    for path in sorted((ROOT / "lessons").glob("*/*.ipynb")):
        for cell, message in prose.messages(json.loads(path.read_text(encoding="utf-8"))):
            catalog.add(message, None, [(path.relative_to(ROOT).as_posix(), None)], context=cell or None)
    return catalog


def _notes(message: str | tuple[str, ...]) -> list[str]:
    text = message if isinstance(message, str) else message[0]
    return [] if re.match(r"[A-Z{$*<].*[.:?!]$", text, re.DOTALL) or len(text.split()) < 3 else [PART]


def forms(message: Any) -> tuple[str, ...]:
    """Return the translations of a message, one for each form."""
    return (message.string,) if isinstance(message.string, str) else tuple(message.string or ("",))


@lru_cache(maxsize=1)
def all_messages() -> frozenset[tuple[str, str]]:
    """Return the context ("" for none) and the text of every message; both forms of those that go with a number."""
    found = set()
    for message in template():
        forms = (message.id,) if isinstance(message.id, str) else message.id
        found |= {(message.context or "", form) for form in forms if form}
    return frozenset(found)


def part_of(message: Any) -> str:
    """Return the name of the file of a language, without its ending, that holds a message.

    Args:
        message: a message of the template, with the places where it stands.
    """
    first = min(name for name, _ in message.locations)
    return next((part for part, folder in PARTS.items() if first.startswith(folder)), "kit")


def bring_up_to_date(language: str) -> list[Any]:
    """Return the messages of a language, after writing its files with the messages of the code.

    Args:
        language: its code, such as "de".
    """
    folder = FOLDER / language
    folder.mkdir(parents=True, exist_ok=True)
    held = Catalog(locale=language, fuzzy=False)
    for path in sorted(folder.glob("*.po")):
        for message in read_po(io.BytesIO(path.read_bytes()), locale=language):
            if message.id:
                held[message.id] = message
    held.update(template(), update_creation_date=False)
    parts: dict[str, Catalog] = {}
    for message in held:
        if message.id:
            part = parts.setdefault(part_of(message), Catalog(locale=language, fuzzy=False))
            part[message.id] = message
    for name, part in parts.items():
        with (folder / f"{name}.po").open("wb") as file:
            file.write(HEAD.format(language=language, plural=part.plural_forms.rstrip(";") + ";").encode())
            write_po(file, part, width=120, omit_header=True, sort_by_file=True, include_lineno=False)
    return [message for part in parts.values() for message in part if message.id]


if __name__ == "__main__":
    for code in sys.argv[1:]:
        made = bring_up_to_date(code)
        empty = Counter(part_of(message) for message in made if not all(forms(message)) or message.fuzzy)
        told = ", ".join(f"{count} in {part}" for part, count in empty.items()) or "none"
        print(f"{code}: {len(made)} messages; still to translate: {told}")

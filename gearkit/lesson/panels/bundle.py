"""Put the panels' JavaScript modules together into the one text that a notebook front end can load.

The modules in ``static`` are plain ES modules, which Node and a browser load as they are; a widget must come as a
single text without relative imports. Each module becomes a function of its own, so that two may use the same name
inside. Only the forms of import and export that the panels use are read; anything else is an error, not a guess.
The module ``verdicts`` is made here from `gearkit.words.terms.Verdict`, so that no panel says a verdict in words of its own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from gearkit.text.phrases import MEMBER_NAMED, MEMBER_NUMBERED, decimal_mark
from gearkit.words.errors import GearkitError
from gearkit.words.say import kept_for_each_language, language_key, said, say, say_in, say_n
from gearkit.words.terms import (
    ENGINE,
    MEMBERS,
    RESERVED_SHAFTS,
    ElementKind,
    FaultEffect,
    FaultMode,
    ShiftKind,
    TrainVerdict,
    Verdict,
)

_VOCABULARIES = (Verdict, TrainVerdict, ElementKind, FaultMode, FaultEffect, ShiftKind)

STATIC = Path(__file__).resolve().parent / "static"
_IMPORT = re.compile(r'^import \{ ([\w, ]+) \} from "\./(\w+)\.js";$', re.MULTILINE)
_EXPORT = re.compile(r"^export (?:function|class|const) (\w+)", re.MULTILINE)
_EXPORTED = re.compile(r"^export (?=function|class|const)", re.MULTILINE)
_DARK = re.compile(r'body\[data-jp-theme-light="false"\] \.gk-panel \{(.*?)\}', re.DOTALL)
_TEXT = r'"(?:[^"\\]|\\.)*"'
_MESSAGE = re.compile(rf"\b(?:say|later)\(({_TEXT})|\bsayN\(({_TEXT}), ({_TEXT})")
# Forms of a message are chosen by its number up to here; larger ones go like those of the last hundred.
_COUNTED = 200
_DEFAULT = "export default "
_LEFT_OVER = re.compile(r"^(?:import|export)\b.*$", re.MULTILINE)


@cache
def script(entry: str) -> str:
    """Return the text of a panel with all that it imports.

    Args:
        entry: name of the panel's module, without ``.js``; it has a default export.
    """
    parts = [_wrapped(name) for name in _in_order(entry) if name != entry]
    own = _own_text(entry)
    body, _, default = own.partition(_DEFAULT)
    # What the panel's module shares with others is no business of a notebook, which asks for the default alone.
    body = _EXPORTED.sub("", body)
    _refuse_left_over(entry, body)
    return "\n".join([*parts, body, _DEFAULT + default])


def together(entries: Sequence[str], more: Path | None = None) -> str:
    """Return one script for a page of our own: several modules with all that they import, each there as ``module_NAME``.

    What a module exports by default is its member ``panel``.

    Args:
        entries: names of modules, without ``.js``.
        more: a second folder of modules, which may import those of the panels.
    """
    folders = (STATIC,) if more is None else (STATIC, more)
    order: dict[str, None] = {}
    for entry in entries:
        order |= dict.fromkeys(_in_order(entry, folders))
    return "\n".join(_wrapped(name, folders) for name in order)


@cache
def entries() -> dict[str, str]:
    """Return the name of each panel's module by the panel's script."""
    names = [path.stem for path in sorted(STATIC.glob("*.js")) if _DEFAULT in _source(path.stem)]
    return {script(name): name for name in names}


@cache
def style() -> str:
    """Return the panels' stylesheet."""
    return (STATIC / "panel.css").read_text(encoding="utf-8")


def dark_colours() -> str:
    """Return what the panels' stylesheet changes on a dark page, for pages that are no notebook."""
    rule = _DARK.search(style())
    assert rule is not None, "panel.css says how panels look in a dark notebook"
    return rule[1].strip()


def said_in(text: str) -> list[tuple[str, str]]:
    """Return the messages that JavaScript says: each with "", or where a number chooses the form, that for one and for many.

    Args:
        text: of a module or of a whole script.
    """
    return [(json.loads(message or single), json.loads(many or '""')) for message, single, many in _MESSAGE.findall(text)]


@kept_for_each_language(64)
def messages(text: str) -> dict[str, Any]:
    """Return what the JavaScript of a panel says, in the reader's language; nothing where that is English.

    Args:
        text: the panel's script.

    Returns:
        By the English message the same in the language; of one with forms for numbers, by the message for many, its forms
        and for each number up to 200 which. Words of closed vocabularies are there, and the decimal mark.
    """
    if not language_key():
        return {}
    table: dict[str, Any] = {word: said(word) for vocabulary in _VOCABULARIES for word in vocabulary}
    table |= {part: said(part) for part in (*MEMBERS, *RESERVED_SHAFTS, ENGINE)} | {"decimal mark": decimal_mark()}
    table |= {verdict.means: say(verdict.means) for verdict in Verdict}
    for message, many in said_in(text):
        table[many or message] = _forms(message, many) if many else say(message)
    # Python says these in a context, which JavaScript has not.
    for context, message in (MEMBER_NUMBERED, MEMBER_NAMED):
        table[message] = say_in(context, message)
    return table


def _forms(single: str, many: str) -> dict[str, Any]:
    # Braces stand for values that the browser puts in.
    kept = {name: f"{{{name}}}" for name in re.findall(r"\{(\w+)\}", single + many)} | {"count": "{count}"}
    told = [say_n(single, many, number, **{**kept, "count": "{count}"}) for number in range(_COUNTED)]
    forms = list(dict.fromkeys(told))
    return {"forms": forms, "which": [forms.index(form) for form in told]}


def verdicts() -> str:
    """Return the module ``verdicts.js``: the verdicts by name, what each means, and with which of them an end stands."""
    names = [f"export const {verdict.name} = {json.dumps(verdict)};" for verdict in Verdict]
    sets = {
        "MEANS": {verdict: verdict.means for verdict in Verdict},
        "INPUT_STANDS": [verdict for verdict in Verdict if not verdict.input_turns],
        "OUTPUT_STANDS": [verdict for verdict in Verdict if not verdict.output_turns],
        "LOCKED": [verdict for verdict in Verdict if verdict.locked],
    }
    return "\n".join([*names, *(f"export const {name} = {json.dumps(names_in)};" for name, names_in in sets.items())])


def _source(name: str, folders: Sequence[Path] = ()) -> str:
    if name == "verdicts":
        return verdicts()
    own = [path for folder in folders if (path := folder / f"{name}.js").is_file()]
    return (own[0] if own else STATIC / f"{name}.js").read_text(encoding="utf-8")


def _in_order(entry: str, folders: Sequence[Path] = ()) -> list[str]:
    """Return the modules so that each stands after all that it imports."""
    order: list[str] = []
    under_way: list[str] = []

    def visit(name: str) -> None:
        if name in order:
            return
        if name in under_way:
            raise GearkitError(f"The panel modules {' -> '.join([*under_way, name])} import each other in a ring.")
        under_way.append(name)
        for _, imported in _IMPORT.findall(_source(name, folders)):
            visit(imported)
        under_way.pop()
        order.append(name)

    visit(entry)
    return order


def _own_text(name: str, folders: Sequence[Path] = ()) -> str:
    return _IMPORT.sub(lambda match: f"const {{ {match[1]} }} = module_{match[2]};", _source(name, folders))


def _wrapped(name: str, folders: Sequence[Path] = ()) -> str:
    text = _own_text(name, folders)
    exported = _EXPORT.findall(text) + (["panel"] if _DEFAULT in text else [])
    text = _EXPORTED.sub("", text).replace(_DEFAULT, "const panel = ")
    _refuse_left_over(name, text)
    return f"const module_{name} = (() => {{\n{text}\nreturn {{ {', '.join(exported)} }};\n}})();"


def _refuse_left_over(name: str, text: str) -> None:
    left_over = _LEFT_OVER.search(text)
    if left_over:
        raise GearkitError(f"Panel module {name}.js: this form is not bundled: {left_over[0]!r}.")

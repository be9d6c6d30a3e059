"""Words explained where they first stand in a lesson, and pictures beside the glossary's words.

The glossary's notebook is the one source of words and meanings. On a learner's shelf the first place in each lesson where
a word stands becomes a link to it that carries the meaning, so it is told on hover and, with the lesson's style, on focus,
whether or not anything runs. The kit's own notebooks stay as they are.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gearkit.lesson.course import prose
from gearkit.text import places
from gearkit.words.say import ENGLISH, kept_for_each_language, language_code, language_key, later, say, say_in

FILE = Path("glossary") / "glossary.ipynb"
# Where a link to a word has the focus, its meaning stands below it; a browser shows it by itself on hover only.
STYLE = (
    "<style>.jp-RenderedMarkdown a[title]{text-decoration:underline dotted;color:inherit}"
    ".jp-RenderedMarkdown a[title]:focus{position:relative;outline:2px solid}"
    ".jp-RenderedMarkdown a[title]:focus::after{content:attr(title);position:absolute;left:0;bottom:1.7em;z-index:9;width:max-content;"
    "max-width:22em;padding:.3em .6em;border:1px solid;border-radius:4px;background:var(--jp-layout-color0,#fff);"
    "color:var(--jp-ui-font-color1,#1b1f24);font-weight:normal;font-size:.9em;line-height:1.3}"
    ".jp-MarkdownCell :has(a[title]:focus){overflow:visible}</style>"
)
# Words of everyday English, which mostly mean nothing special where they stand.
_EVERYDAY = frozenset(
    [
        "open",
        "applied",
        "drive",
        "coast",
        "step",
        "series",
        "tip",
        "root",
        "mode",
        "locked",
        "direct",
        "grade",
        "module",
        "simple",
        "transfer",
        "machine",
        "symptom",
        "suspect",
        "train",
        "range",
        "range",
        "stall",
        "freedom",
        "redundant",
        "slip",
        "speed",
        "ratio",
        "member",
    ]
)
# In these cells no word is explained.
_PLAIN = frozenset({"title", "sources", "outcomes", "caution"})
_ENTRY = re.compile(r"^- (.*(?:\n  .*)*)", re.MULTILINE)
_BOLD = re.compile(r"\*\*([^*]+)\*\*")
_HEAD = re.compile(r"(?:^|(?<=\. ))((?:\*\*[^*]+\*\*[^*:.]*?)+): ")
_HEADING = re.compile(r"^## (.+)$", re.MULTILINE)
# Pieces of Markdown that no link may be put into.
_CLOSED = re.compile(
    r"```.*?```|`[^`]*`|\$\$.*?\$\$|\$[^$\n]*\$|!?\[[^\]]*\]\([^)]*\)|<[^>\n]*>|^#[^\n]*$|^\|[^\n]*$", re.DOTALL | re.MULTILINE
)
# Section of the glossary -> pictures beside it: layout, what is drawn, range, set, and what to look at.
_PICTURES: Mapping[str, tuple[tuple[str, str, str, str, str], ...]] = {
    "gl-set": (("bench_set", "front", "", "", later("A planetary set from the front")),),
    "gl-kinds": (("pair_two_suns", "front", "", "P2", later("A double-pinion set from the front")),),
    "gl-pairs": (
        ("pair_series", "stick", "", "", later("In series")),
        ("pair_common_sun", "stick", "", "", later("Simpson-type pair")),
        ("pair_two_suns", "stick", "", "", later("Ravigneaux-type set")),
    ),
    "gl-elements": (("Q24", "chart", "", "", later("An application chart")),),
    "gl-drivers": (("power_split_one_set", "stick", "", "", later("A power split")),),
    "gl-converter": (("bevel_differential", "stick", "", "", later("A differential that can be locked")),),
    "gl-torque": (("Q36", "power", "2", "", later("Power through the sets: the wider the band, the more")),),
    "gl-pictures": (
        ("Q24", "stick", "", "", later("Stick diagram")),
        ("Q24", "levers", "2", "", later("Lever diagram")),
        ("Q24", "speeds", "", "", later("Speed plot")),
    ),
}


@dataclass(frozen=True)
class Term:
    """One word of the glossary.

    Args:
        word: the word as it is written in the middle of a sentence.
        meaning: what it means.
        section: the heading under which it stands.
        entry: all words that are explained together, in the order of what is said of them.
    """

    word: str
    meaning: str
    section: str
    entry: str


@kept_for_each_language(8)
def terms() -> Mapping[str, Term]:
    """Return the words of the glossary in the reader's language, by themselves in small letters."""
    return {term.word.lower(): term for term in reversed(_every_term(prose.said(_shipped())))}


def _shipped() -> dict[str, Any]:
    held: dict[str, Any] = json.loads((places.lessons() / FILE).read_text(encoding="utf-8"))
    return held


def _every_term(notebook: Mapping[str, Any]) -> list[Term]:
    """All words as they stand in a glossary, in order; one that is explained twice stands twice."""
    explained: list[Term] = []
    section = ""
    for source in _prose(notebook):
        heading = _HEADING.search(source)
        # A long section goes on in a second cell.
        section = heading[1] if heading else section
        for entry in _ENTRY.findall(source):
            explained += [Term(word, meaning, section, beside) for word, meaning, beside in _meanings(" ".join(entry.split()))]
    return explained


@kept_for_each_language(8)
def _everyday() -> frozenset[str]:
    """Words of everyday speech: those that stand, in the reader's glossary, where the English ones stand in the English one."""
    english, own = _every_term(_shipped()), _every_term(prose.said(_shipped()))
    pairs = zip(english, own, strict=False) if len(english) == len(own) else ()
    return frozenset(term.word.lower() for original, term in pairs if original.word.lower() in _EVERYDAY)


def own_copy(content: bytes, name: Path, *, pictures: bool = True) -> bytes:
    """Return a notebook as it goes to a learner, in the learner's language: a lesson with its words explained, the glossary
    with its pictures.

    Args:
        content: the notebook as it is shipped; anything that is none stays as it is.
        name: where it lies under the lessons.
        pictures: whether the glossary's pictures are drawn, which takes half a second.
    """
    is_lesson = name.parts[0][:2].isdigit()
    change = with_pictures if name == FILE and pictures else marked if is_lesson else None
    if change is None and not language_key():
        return content
    try:
        notebook = prose.said(json.loads(content))
        return (json.dumps(change(notebook) if change else notebook, ensure_ascii=False, indent=1) + "\n").encode()
    except (ValueError, KeyError, TypeError):
        return content


def _prose(notebook: Mapping[str, Any]) -> Iterator[str]:
    for cell in notebook["cells"]:
        if cell["cell_type"] == "markdown":
            yield "".join(cell["source"])


def _meanings(entry: str) -> Iterator[tuple[str, str, str]]:
    heads = list(_HEAD.finditer(entry))
    # Of another language the nouns may keep their capitals; of a word in capitals nothing is changed.
    in_lower_case = language_code() == ENGLISH
    # At the end of an entry: where the term is at home.
    trade, other = say("Trade"), say("Also")
    source = re.compile(rf"\s*\((?:SAE|ISO|{trade}|H\.|{other})[^()]*\)\.?$")
    for head, after in zip(heads, [*heads[1:], None], strict=True):
        text = entry[head.end() : after.start() if after else len(entry)].strip()
        meaning = source.sub("", text).replace("**", "").replace("*", "").replace(r"$2\pi$", "2π")
        words = [
            word[0].lower() + word[1:] if in_lower_case and word[1:].islower() else word for word in _BOLD.findall(head[1])
        ]
        for word in words:
            yield word, meaning, ", ".join(words)


def marked(notebook: dict[str, Any]) -> dict[str, Any]:
    """Return a lesson's notebook with each word of the glossary explained where it first stands.

    Args:
        notebook: as it is shipped; it is changed.
    """
    marks = Marks()
    for cell in notebook["cells"]:
        if cell["cell_type"] == "markdown":
            tags = cell.get("metadata", {}).get("tags", [])
            cell["source"] = marks.put("".join(cell["source"]), tags).splitlines(keepends=True)
    return notebook


class Marks:
    """Puts links to the glossary into the prose cells of one lesson, each word once.

    Args:
        target: where the links lead, up to the section's name.
    """

    def __init__(self, target: str = f"../{FILE.as_posix()}#") -> None:
        self._target = target
        self._waiting = dict(terms())

    def put(self, source: str, tags: Iterable[str]) -> str:
        """Return a prose cell with its words explained.

        Args:
            source: its Markdown.
            tags: its roles; some cells stay as they are.
        """
        return source if _PLAIN & set(tags) else _marked(source, self._waiting, self._target)


def _marked(source: str, waiting: dict[str, Term], target: str) -> str:
    pieces, place = [], 0
    for closed in _CLOSED.finditer(source):
        pieces += [_explained(source[place : closed.start()], waiting, target), closed[0]]
        place = closed.end()
    return "".join([*pieces, _explained(source[place:], waiting, target)])


@kept_for_each_language(8)
def _words() -> re.Pattern[str]:
    """All words that are explained; the longest one wins where two begin at one place."""
    words = "|".join(re.escape(word) for word in sorted(terms(), key=len, reverse=True) if word not in _everyday())
    endings = "|".join(map(re.escape, say_in("endings that a noun takes, with a | between", "s|es").split("|")))
    return re.compile(rf"(?<![\w-])({words})(?:{endings})?(?![\w-])", re.IGNORECASE)


def _explained(text: str, waiting: dict[str, Term], target: str) -> str:
    """The text with links at the words that have not stood before."""

    def link(match: re.Match[str]) -> str:
        term = waiting.pop(match[1].lower(), None)
        return f'[{match[0]}]({target}{_anchor(term)} "{_title(term)}")' if term else match[0]

    return _words().sub(link, text) if waiting else text


def _anchor(term: Term) -> str:
    return term.section.replace(" ", "-")


def _title(term: Term) -> str:
    return f"{term.entry}: {term.meaning}".replace('"', "”").replace("[", "(").replace("]", ")")


def with_pictures(notebook: dict[str, Any]) -> dict[str, Any]:
    """Return the glossary's notebook with pictures behind the sections that speak of what can be drawn.

    Args:
        notebook: as it is shipped; it is changed.
    """
    cells: list[dict[str, Any]] = []
    for cell in notebook["cells"]:
        cells.append(cell)
        for number, picture in enumerate(_PICTURES.get(str(cell.get("id")), ())):
            source = _drawn(*picture).splitlines(keepends=True)
            cells.append(
                {"cell_type": "markdown", "id": f"{cell['id']}-{number}", "metadata": {"tags": ["picture"]}, "source": source}
            )
    notebook["cells"] = cells
    return notebook


def _drawn(layout: str, what: str, range_name: str, set_name: str, caption: str) -> str:
    from gearkit.draw.core.embed import address_of
    from gearkit.draw.registry import picture_of
    from gearkit.train.catalogue import find

    picture = picture_of(find(layout), what, range_name or None, set_name or None)
    words = f"{picture.title}. {picture.description}".replace("[", "(").replace("]", ")").replace("\n", " ")
    head = say(caption)
    return f"**{head}**\n\n![{words}]({address_of(picture.svg())})"

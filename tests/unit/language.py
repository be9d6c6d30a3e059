"""What a made text must not have: blanks left open, words twice, articles and plurals that nobody would write, repeated sentences."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

MOST_TIMES = 2
_SIGNS = (
    ("an unfilled phrase", r"\{|\}|\bNone\b|Fraction\(|<[a-z]|\bTrue\b|\bFalse\b"),
    ("two blanks", r"[^\s|] {2,}\S"),
    ("a blank before a mark", r"\s[.,;:?!](?:\s|$)"),
    ("two marks", r"[.,;:?!] ?[,;:]|\.\.(?!\.)"),
    ("a word twice", r"\b(a|an|the|is|in|of|to|and|are|that|it) \1\b"),
    ("two articles", r"\b(?:[Aa]n?|[Tt]he) (?:an?|the|this|that|these|its|your)\b"),
    ("a before a vowel", r"\ba (?!one-way|one\b|un[ie]|us)[aeiou]\w"),
    ("an before a consonant", r"\ban [^aeioux\W0-9]"),
    ("nothing where a name belongs", r"\branges? [.,;:]|\(\)|\[\]|\band [.,;]|  of "),
    ("one of several", r"\b(?:one|1) (?:ranges|sets|shafts|elements|clutches|brakes|steps|speeds|exercises)\b"),
    ("several of one", r"\b(?:two|three|four|five|six|seven|eight|nine|ten) (?:range|set|shaft|element|clutch|brake|speed|exercise)\b(?!-)"),
    ("a sentence without a capital", r"(?<=[a-z0-9)][.?!]) [a-z](?!\.)"),
)  # fmt: skip


def prose_of(notebook: dict[str, Any]) -> list[str]:
    """Return the words of a notebook's cells, without formulas and tables' rules."""
    return [plain("".join(cell["source"])) for cell in notebook["cells"] if cell["cell_type"] == "markdown"]


def plain(text: str) -> str:
    """Return Markdown as words: a formula is one word, formulas on lines of their own are left out."""
    text = re.sub(r"\$\$.*?\$\$", "", text, flags=re.DOTALL)
    text = re.sub(r"\$[^$]*\$", "X", text)
    return "\n".join(line.rstrip() for line in text.split("\n") if not line.startswith("|"))


def troubles(texts: Iterable[str]) -> Iterator[str]:
    """Yield what nobody would have written, each with the words around it."""
    for text in texts:
        for line in text.split("\n"):
            for name, sign in _SIGNS:
                for found in re.finditer(sign, line):
                    yield f"{name}: ...{line[max(0, found.start() - 30) : found.end() + 30]}..."


def repeated(texts: Iterable[str]) -> list[str]:
    """Return the sentences that stand more often than twice."""
    counted: Counter[str] = Counter()
    for text in texts:
        for sentence in re.split(r"(?<=[.?!])\s+|\n+", text):
            words = sentence.strip(" -*#>")
            if len(words.split()) >= 3:
                counted[words] += 1
    return [f"{count} times: {sentence}" for sentence, count in counted.items() if count > MOST_TIMES]

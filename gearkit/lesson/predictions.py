"""Predictions in the learner's record: made before the reveal, with both times, and shown again, never marked."""

from __future__ import annotations

import base64
import re
import secrets
from collections.abc import Mapping
from datetime import datetime

from gearkit.lesson.record import Event, Record
from gearkit.lesson.working.afterwords import as_html, headed
from gearkit.text.phrases import MINUS, as_now_said, day_words, localized
from gearkit.words.say import said as said_word
from gearkit.words.say import say
from gearkit.words.terms import MEMBERS

# Words that must not be read before the reveal stand in a cell as letters that nobody reads by the way.
_SHUT = "shut:"


def shut(text: str) -> str:
    """Return words for after a reveal in a form in which a cell may hold them.

    Args:
        text: the words.
    """
    return _SHUT + base64.b64encode(text.encode()).decode()


def opened(text: str) -> str:
    """Return the words of a text that was shut; any other text as it is.

    Args:
        text: as it stands in a cell.
    """
    if not text.startswith(_SHUT):
        return text
    try:
        return base64.b64decode(text.removeprefix(_SHUT), validate=True).decode()
    except ValueError:
        # Somebody changed it: nothing is said, and the prediction works.
        return ""


class Predictions:
    """The predictions that one panel has asked for.

    Args:
        record: the learner's record.
        lesson: the lesson's number, such as "03".
        panel: what was asked, such as "one set" or "Q36".
        compare: what is said after the reveal, shut or open; the kit's own words when empty.
    """

    def __init__(self, record: Record, lesson: str, panel: str, compare: str = "") -> None:
        self._record = record
        self.lesson = lesson
        self.panel = panel
        self._compare = opened(compare)
        self._last: dict[str, str] = {}

    def keep(self, case: str, facts: Mapping[str, object], said: Mapping[str, str], words: str = "") -> None:
        """Write a prediction down, before anything is revealed.

        Args:
            case: the case in English words, by which it is known.
            facts: what it was made for: tooth counts, speeds, applied elements.
            said: "kind" and, where a number was asked, "figure".
            words: the case as the learner read it, where that was not English.
        """
        name = secrets.token_hex(4)
        self._last[case] = name
        self._record.add("prediction", {
            "prediction": name, "lesson": self.lesson, "panel": self.panel, "case": case, "facts": dict(facts),
            "said": dict(said), **({"words": words} if words not in ("", case) else {}),
        })  # fmt: skip

    def reveal(self, case: str, result: Mapping[str, str]) -> None:
        """Write down that the result was shown, and what it was.

        Args:
            case: the case in words, as in ``keep``.
            result: "kind" and "figure" as they are.
        """
        self._record.add("reveal", {"prediction": self._last.get(case, ""), "case": case, "found": dict(result)})

    def explain(self, case: str, text: str) -> None:
        """Keep what the learner says about the prediction after the reveal.

        Args:
            case: the case in words.
            text: the learner's own words.
        """
        self._record.add("explanation", {"prediction": self._last.get(case, ""), "case": case, "text": text[:2000]})

    def afterword(self, case: str) -> str:
        """Return what is said after the reveal, as HTML; "" where nothing is said.

        Args:
            case: the case in words, as in ``keep``.
        """
        return headed(self._compare) if self._compare else as_html(self.lesson, self.panel, case)

    def history(self) -> list[str]:
        """Return this panel's predictions in words, oldest first."""
        reveals = {str(event.get("prediction")): event for event in self._record.of_kind("reveal")}
        kept = [
            event
            for event in self._record.of_kind("prediction")
            if event.get("lesson") == self.lesson and event.get("panel") == self.panel
        ]
        return [_in_words(event, reveals.get(str(event.get("prediction")))) for event in kept]


def _in_words(event: Event, reveal: Event | None) -> str:
    said = event.get("said")
    text = say(
        "{day}: {get}: you said {said}",
        day=_day(str(event.get("at", ""))),
        get=event.get("words") or event.get("case"),
        said=_pair(said),
    )
    return say("{text}; found {pair}", text=text, pair=_pair(reveal.get("found"))) if reveal else text


def _pair(entry: object) -> str:
    if not isinstance(entry, Mapping):
        return "?"
    figure = str(entry.get("typed") or entry.get("figure") or "")
    # A number gets a true minus; a word such as tie-up and an element's name such as C-1 keep their hyphen.
    return re.sub(
        r"(?<!\w)-(?=\d)", MINUS, as_now_said(_kind(str(entry.get("kind", "?"))) + (f", {localized(figure)}" if figure else ""))
    )


def _day(stamp: str) -> str:
    try:
        moment = datetime.fromisoformat(stamp).astimezone()
    except ValueError:
        return say("once")
    return f"{day_words(moment)}, {moment:%H:%M}"


def _kind(kind: str) -> str:
    """What was predicted, or found: a word of the kit, a member's name with one, or groups of bodies, each after a word."""
    member, blank, word = kind.partition(" ")
    if blank and member in MEMBERS:
        return f"{said_word(member)} {say(word)}"
    groups = [group.partition(": ") for group in kind.split("; ")]
    return "; ".join(f"{say(head)}{colon}{names}" for head, colon, names in groups)

"""Wishes about what an item is: its subject, its level, and a blueprint such as "2 easy, 3 middle, 1 hard of torque"."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gearkit.answers.item import Item
from gearkit.answers.listing import LEVELS, Entry
from gearkit.text.phrases import listed
from gearkit.words.errors import UsageError
from graders.sheets.from_layout import OTHER_WORDS

_PART = re.compile(r"(\d{1,3})\s*(easy|middle|hard)?(?:\s*(?:items?|exercises?))?(?:\s*(?:of|on|about)\s+(.+))?", re.IGNORECASE)
FORM = '"2 easy, 3 middle, 1 hard of torque; 4 of faults"'


@dataclass(frozen=True)
class Part:
    """One part of a blueprint.

    Args:
        count: number of items.
        level: easy, middle or hard; "" for any.
        subject: what they are about; "" for anything.
    """

    count: int
    level: str = ""
    subject: str = ""

    def __str__(self) -> str:
        about = f" of {self.subject}" if self.subject else ""
        return f"{self.count}{f' {self.level}' if self.level else ''}{about}"

    def fits(self, entry: Entry) -> bool:
        """Whether an item is one of those that the part asks for.

        Args:
            entry: the item as it is listed.
        """
        return self.level in ("", entry.level) and self.subject in ("", entry.subject)


def read(text: str) -> tuple[Part, ...]:
    """Read a blueprint; "of SUBJECT" goes for all parts before it that have none, back to the last semicolon.

    Args:
        text: such as "2 easy, 3 middle, 1 hard of torque; 4 of faults".

    Raises:
        UsageError: it is no blueprint.
    """
    parts: list[Part] = []
    for group in text.split(";"):
        waiting: list[Part] = []
        for piece in (piece.strip() for piece in re.split(r",|\band\b", group)):
            if not piece:
                continue
            match = _PART.fullmatch(piece)
            if match is None or not int(match[1]):
                raise UsageError(f"--blueprint: {piece!r} cannot be read; expected a form such as {FORM}.")
            waiting.append(Part(int(match[1]), (match[2] or "").lower()))
            if match[3]:
                parts += [Part(part.count, part.level, match[3].strip()) for part in waiting]
                waiting = []
        parts += waiting
    if not parts:
        raise UsageError(f"--blueprint {text!r} asks for nothing; expected a form such as {FORM}.")
    return tuple(parts)


def subject_in(word: str, known: Sequence[str], option: str) -> str:
    """Return the subject that a word means.

    Args:
        word: as it was typed.
        known: the subjects that can be picked from.
        option: the option that it was typed for.

    Raises:
        UsageError: there is no such subject.
    """
    plain = " ".join(word.casefold().replace("-", " ").split())
    meant = OTHER_WORDS.get(plain, plain)
    if meant in known:
        return meant
    begins = [subject for subject in known if subject.startswith(plain)] if plain else []
    if len(begins) == 1:
        return begins[0]
    near = begins or difflib.get_close_matches(meant, known, n=2, cutoff=0.6)
    hint = f" Is {listed(near)} meant?" if near else ""
    raise UsageError(f"{option}: nothing here is about {word!r}.{hint} There is: {', '.join(known)}.")


def level_in(word: str) -> str:
    """Return the level that a word means.

    Raises:
        UsageError: there is no such level.
    """
    plain = word.strip().casefold()
    if plain not in LEVELS:
        raise UsageError(f"--level {word!r}: expected {', '.join(LEVELS)}, or several of these with commas between.")
    return plain


def fulfil(parts: Sequence[Part], pool: Sequence[Item], about: Mapping[str, Entry], turns: Sequence[int]) -> tuple[int, ...]:
    """Return places in the pool that fulfil a blueprint, kinds of answer and lessons spread.

    An item that two parts could use is given to either, so that a blueprint is refused only where it cannot be fulfilled.

    Args:
        parts: the blueprint, its subjects those of the pool.
        pool: the items to pick from.
        about: each item as it is listed, by id.
        turns: when each item's turn comes.

    Raises:
        UsageError: a part asks for more than there is.
    """
    # What can be met in fewest ways is placed first.
    slots = sorted((part for part in parts for _ in range(part.count)), key=lambda part: -bool(part.subject) - bool(part.level))
    taken: dict[int, int] = {}
    for slot, part in enumerate(slots):
        if not _placed(slot, slots, pool, about, turns, taken, set()):
            there = sum(part.fits(about[item.id]) for item in pool)
            more = "" if there < sum(other.count for other in parts if other == part) else ", and other parts need them"
            raise UsageError(
                f"--blueprint: {part.level or 'of any level'}{f' of {part.subject}' if part.subject else ''}: only {there} "
                f"can be picked from here{more}. Ask for fewer, or name more lessons."
            )
    return tuple(sorted(taken))


def _placed(
    slot: int,
    slots: Sequence[Part],
    pool: Sequence[Item],
    about: Mapping[str, Entry],
    turns: Sequence[int],
    taken: dict[int, int],
    seen: set[int],
) -> bool:
    """Give a slot an item, moving another slot to another item where that must be."""
    kinds = [pool[place].kind for place in taken]
    lessons = [pool[place].lesson for place in taken]
    fitting = [place for place, item in enumerate(pool) if place not in seen and slots[slot].fits(about[item.id])]
    fitting.sort(
        key=lambda place: (place in taken, kinds.count(pool[place].kind), lessons.count(pool[place].lesson), turns[place])
    )
    for place in fitting:
        if place in seen:
            continue
        seen.add(place)
        if place not in taken or _placed(taken[place], slots, pool, about, turns, taken, seen):
            taken[place] = slot
            return True
    return False

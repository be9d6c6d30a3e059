"""What a sheet is made of, as it is named on the command line: lessons, items, layouts, and mixtures of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.answers import items as bank
from gearkit.answers.item import Item
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.sheets import from_layout

_CHOICE = re.compile(
    r"[,;\s]*(?:([LX]\d{2}-\d{2,3})|(?:(?:and\s+)?lessons?[ _-]*|and\s+)?(\d{1,2})(?:\s*(?:-|to)\s*(\d{1,2}))?)"
    r"(?=[,;\s]|$)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ItemsOfSource:
    """What a source gives.

    Args:
        items: the items in order.
        title: a title for people.
        layouts: texts of the layouts that items were made from, in order.
        named: ids of the items that were named one by one.
        of_lessons: True where whole lessons alone were named.
    """

    items: tuple[Item, ...]
    title: str
    layouts: tuple[str, ...] = ()
    named: frozenset[str] = frozenset()
    of_lessons: bool = False


def read(source: str | Sequence[str], ask: Sequence[str], *, everything: bool = False) -> ItemsOfSource:
    """Return the items that a source names.

    Args:
        source: lessons and items such as "lessons 1 to 4" or "lesson 2, L03-01", a layout's file, or its name in the
            catalogue; or several of these, with commas between or as a list.
        ask: what is asked about a layout, in the words of `families.SUBJECTS`; none for a balanced sheet.
        everything: True gives all that can be asked about a layout, to pick from.

    Raises:
        UsageError: the source is none of these, or an item or a layout is named twice.
        LayoutError: a layout's file has faults.
    """
    whole = (source if isinstance(source, str) else " ".join(source)).strip()
    choices = _choices(whole)
    if choices:
        named = _named(choices)
        return _once(ItemsOfSource(_items(choices), _title(choices), named=named, of_lessons=not named))
    pieces = [whole]
    if not _is_layout(whole):
        words = [source] if isinstance(source, str) else _joined(list(source))
        pieces = [piece for word in words for piece in ([word] if _is_layout(word) else re.split("[,;]", word))]
        pieces = [piece.strip() for piece in pieces if piece.strip()] or [whole]
    return _once(_together(pieces, ask, everything))


def _joined(words: list[str]) -> list[str]:
    """Words of a command line, those that list lessons and items together ("lesson", "3") made one."""
    pieces: list[str] = []
    while words:
        count = next((n for n in range(len(words), 0, -1) if _choices(" ".join(words[:n]))), 1)
        pieces.append(" ".join(words[:count]))
        words = words[count:]
    return pieces


def _is_layout(name: str) -> bool:
    try:
        catalogue.find(name.strip())
    except UsageError:
        return False
    return True


def _together(pieces: Sequence[str], ask: Sequence[str], everything: bool) -> ItemsOfSource:
    items: list[Item] = []
    titles: list[str] = []
    layouts: list[str] = []
    named: frozenset[str] = frozenset()
    for piece in pieces:
        choices = _choices(piece)
        if choices:
            items += _items(choices)
            named |= _named(choices)
            titles.append(_title(choices))
            continue
        try:
            layout = catalogue.find(piece)
        except UsageError as fault:
            raise UsageError(
                f'{piece!r} is no source of a sheet: expected a lesson ("lesson 3"), items (L03-01,L02-02) or a layout. {fault}'
            ) from None
        items += from_layout.items(layout, ask, len(layouts), everything=everything)
        titles.append(layout.said_name if len(pieces) == 1 else layout.said_short)
        layouts.append(catalogue.dumps(layout))
    return ItemsOfSource(tuple(items), listed(list(dict.fromkeys(titles))), tuple(layouts), named)


def _once(sources: ItemsOfSource) -> ItemsOfSource:
    names = [item.id for item in sources.items]
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        raise UsageError(f"Named twice: {', '.join(doubled)}. An item can stand on a sheet once.")
    if len(set(sources.layouts)) < len(sources.layouts):
        raise UsageError(f"A layout is named twice: {sources.title}. It can stand on a sheet once.")
    return sources


def _items(choices: Sequence[int | str]) -> tuple[Item, ...]:
    return tuple(
        item for choice in choices for item in (bank.of_lesson(choice) if isinstance(choice, int) else (bank.find(choice),))
    )


def _named(choices: Sequence[int | str]) -> frozenset[str]:
    return frozenset(choice for choice in choices if isinstance(choice, str))


def _choices(source: str) -> list[int | str]:
    """The lessons (numbers) and items (names) that a source lists, in its order; none if it is something else."""
    choices: list[int | str] = []
    place = 0
    while place < len(source):
        match = _CHOICE.match(source, place)
        if not match:
            return []
        if match[1]:
            choices.append(match[1].upper())
        elif match[3] and int(match[3]) < int(match[2]):
            raise UsageError(
                f"Lessons {match[2]} to {match[3]}: the second number has to be the larger one. "
                f"Try: lessons {match[3]}-{match[2]}"
            )
        else:
            choices += range(int(match[2]), int(match[3] or match[2]) + 1)
        place = match.end()
    return choices


def _title(choices: Sequence[int | str]) -> str:
    lessons = [choice for choice in choices if isinstance(choice, int)]
    return "Exercises" if len(lessons) < len(choices) else title_of(lessons)


def title_of(lessons: Sequence[int]) -> str:
    """Return a title for a sheet with the exercises of some lessons, such as "Lessons 1 to 4 and 7".

    Args:
        lessons: their numbers in order.
    """
    runs: list[list[int]] = []
    for lesson in lessons:
        if runs and lesson == runs[-1][-1] + 1:
            runs[-1].append(lesson)
        else:
            runs.append([lesson])
    told = [word for run in runs for word in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]
    return f"{'Lesson' if len(lessons) == 1 else 'Lessons'} {listed(told)}"

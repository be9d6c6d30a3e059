"""What a hostile or unlucky submission is: how it is made, and what it has to earn."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from gearkit.answers.draw_numbers.variants import Variant
from tests.graders.classroom import Classroom, right

A, B, C, D = ITEMS = ("L03-02", "L03-03", "L03-05", "L03-06")
SHEET = "H1"
LEAK = "LEAKED"
STRAY = "gearkit_stray_9f2c"
ALL, NOTHING = frozenset(ITEMS), frozenset[str]()


@dataclass(frozen=True)
class Place:
    """Where a case is built: the class, the learner, and what a wicked learner may know of the machine."""

    room: Classroom
    learner: str
    neighbour: str
    port: int

    @property
    def variants(self) -> dict[str, Variant]:
        """The learner's variants by item."""
        return self.room.variants(self.learner)

    def book(self, *items: str) -> dict[str, Any]:
        """The learner's copy with right answers to some items, all if none are named."""
        return self.room.copy(self.learner, lambda v: right(v) if not items or v.item.id in items else v.answer_cell())

    def cell_of(self, book: dict[str, Any], item: str) -> dict[str, Any]:
        """The answer cell of an item."""
        found: dict[str, Any] = next(cell for cell in book["cells"] if cell["metadata"]["gearkit"].get("item") == item)
        return found

    def hand_in(self, book: Any, name: str = "", time: str = "") -> None:
        """Hand a notebook, or bytes, in."""
        self.room.hand_in(self.learner, book, name, time or "2026-02-03 10:00:00 UTC")


@dataclass(frozen=True)
class Case:
    """One idea.

    Args:
        name: the idea in words.
        make: hands it in.
        earns: items that have to be right; every other item must earn nothing.
        flag: words that the instructor has to find in the flags or the reason.
        failed: whether nothing at all can be read.
    """

    name: str
    make: Callable[[Place], None]
    earns: frozenset[str] = ALL
    flag: str = ""
    failed: bool = False


def code_cell(source: str) -> dict[str, Any]:
    """A code cell without any card."""
    return {
        "cell_type": "code",
        "id": "x" + str(abs(hash(source)))[:12],
        "metadata": {},
        "execution_count": None,
        "outputs": [],
        "source": source,
    }


def with_code(source: str | Callable[[Place], str]) -> Callable[[Place], None]:
    """Hand in right answers, with a wicked cell between the second and the third."""

    def make(place: Place) -> None:
        book = place.book()
        at = book["cells"].index(place.cell_of(book, B)) + 1
        book["cells"].insert(at, code_cell(source(place) if callable(source) else source))
        place.hand_in(book)

    return make


def only_code(source: str | Callable[[Place], str]) -> Callable[[Place], None]:
    """Hand in no answers but what a wicked cell gives."""

    def make(place: Place) -> None:
        book = place.book("none")
        book["cells"].append(code_cell(source(place) if callable(source) else source))
        place.hand_in(book)

    return make


def changed(change: Callable[[dict[str, Any], Place], Any]) -> Callable[[Place], None]:
    """Hand in right answers in a notebook that was changed; the change gives the new one or None."""

    def make(place: Place) -> None:
        book = copy.deepcopy(place.book())
        result = change(book, place)
        place.hand_in(book if result is None else result)

    return make


def as_bytes(book: Any) -> bytes:
    """A notebook as the bytes of its file."""
    return json.dumps(book).encode()


def checked(cases: Iterable[Case]) -> tuple[Case, ...]:
    """Cases whose names are all different."""
    found = tuple(cases)
    assert len({case.name for case in found}) == len(found)
    return found

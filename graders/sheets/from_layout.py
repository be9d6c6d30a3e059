"""Which of a layout's items stand on a sheet: those about wished subjects, all to pick from, or a balanced choice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gearkit.answers.families import PLACES, SUBJECTS, Offer, known
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.offers import offered
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

BALANCED = 14
# More of one lesson make picking slow and no sheet better.
MOST_OF_A_LESSON = 14
OTHER_WORDS = {
    "ratios": "ratio",
    "directions": "direction",
    "speed": "speeds",
    "states": "power path",
    "power": "power path",
    "torques": "torque",
    "step": "steps",
    "shifts": "shifting",
    "one way": "one-way clutches",
    "one way clutches": "one-way clutches",
    "fault": "faults",
}


def items(layout: Layout, ask: Sequence[str], place: int, *, everything: bool = False) -> tuple[Item, ...]:
    """Return items about a layout, none of which prints what another asks for.

    Args:
        layout: the layout.
        ask: the subjects that are wished, or items by their ids; none for a balanced sheet.
        place: which of a sheet's layouts it is, counted from 0.
        everything: True gives as much of everything as can be picked from.

    Raises:
        UsageError: an unknown subject, or nothing can be asked about what is wished.
    """
    offers = offered(layout, place)
    if not offers:
        raise UsageError(f"Layout {layout.name}: no range drives, so there is nothing to ask. See: gearkit ratios LAYOUT --all")
    named = {offer.id for offer in offers} & {word.upper() for word in ask}
    # An item of another layout on the sheet begins with that one's letter.
    of_others = tuple(letter for letter in PLACES if letter != PLACES[place])
    ask = [
        word for word in ask if word.upper() not in named and not (word[1:3].isdigit() and word.upper().startswith(of_others))
    ]
    wished = [OTHER_WORDS.get(plain, plain) for plain in (word.casefold().replace("-", " ") for word in ask)]
    few = listed(sorted({offer.id for offer in known(layout, place)} & {word.upper() for word in ask}))
    if few:
        raise UsageError(
            f"Layout {layout.name} cannot be asked for {few}: with most tooth counts near its own a usual mistake would give the "
            "right answer too. Ask for another item that this lists: graders items --layout LAYOUT"
        )
    unknown = [word for word, subject in zip(ask, wished, strict=True) if subject not in SUBJECTS]
    if unknown:
        raise UsageError(
            f"A sheet from a layout cannot ask about {listed(unknown)}; known are {', '.join(SUBJECTS)}, and the "
            "items that this lists: graders items --layout LAYOUT"
        )
    there = {offer.subject for offer in offers}
    empty = [subject for subject in wished if subject not in there]
    if empty:
        raise UsageError(
            f"Layout {layout.name} gives nothing to ask about {listed(empty)}. It can be asked about: "
            f"{', '.join(subject for subject in SUBJECTS if subject in there)}."
        )
    by_name = [offer for offer in offers if offer.id in named]
    if not wished and not everything:
        chosen = by_name or _balanced(offers)
    else:
        rest = [offer for offer in _turn_by_turn(offers) if offer not in by_name and (offer.subject in wished or not ask)]
        chosen = _compatible([*by_name, *rest])
        chosen = _cut(chosen) if everything else chosen
    names = {offer.id for offer in chosen}
    return tuple(offer.item for offer in offers if offer.id in names)


def _compatible(offers: Iterable[Offer]) -> list[Offer]:
    """Offers of which none tells another's answer; of two the earlier stays."""
    kept: list[Offer] = []
    gone: set[str] = set()
    for offer in offers:
        if offer.id not in gone and not set(offer.item.excludes) & {item.id for item in kept}:
            kept.append(offer)
            gone |= set(offer.item.excludes)
    return kept


def _turn_by_turn(offers: Sequence[Offer]) -> list[Offer]:
    """The first of every family, then the second of every family, and so on."""
    seen: dict[str, int] = {}
    turns = []
    for at, offer in enumerate(offers):
        seen[offer.family] = seen.get(offer.family, 0) + 1
        turns.append((seen[offer.family], at))
    return [offers[at] for _, at in sorted(turns)]


def _cut(offers: Sequence[Offer]) -> list[Offer]:
    count: dict[int, int] = {}
    kept = []
    for offer in offers:
        count[offer.lesson] = count.get(offer.lesson, 0) + 1
        if count[offer.lesson] <= MOST_OF_A_LESSON:
            kept.append(offer)
    return kept


def _balanced(offers: Sequence[Offer]) -> list[Offer]:
    """Subjects take turns; each gives the item whose family, kind and level were had least."""
    chosen: list[Offer] = []
    while len(chosen) < BALANCED:
        before = len(chosen)
        for subject in SUBJECTS:
            families = [offer.family for offer in chosen]
            kinds: list[AnswerKind] = [offer.kind for offer in chosen]
            levels = [offer.level for offer in chosen]
            free = [
                offer
                for offer in offers
                if offer.subject == subject
                and offer.family not in families
                and len(_compatible([*chosen, offer])) > len(chosen)
            ]
            if free and len(chosen) < BALANCED:
                chosen.append(
                    min(free, key=lambda offer: (kinds.count(offer.kind), levels.count(offer.level), offers.index(offer)))
                )
        if len(chosen) == before:
            break
    return chosen

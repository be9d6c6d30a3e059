"""Where the largest torque is: the range that loads an element most, and the element that carries most of all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from gearkit.answers.families.loads.torques import SUBJECT, carried, loaded_elements, settled
from gearkit.answers.item import AnswerKind
from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, Family, choice
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.words.say import say

# Two torques nearer than this are not asked to be told apart.
_APART = Fraction(105, 100)
_FEWEST = 3


def _loads(train: Train) -> dict[str, dict[str, Fraction]]:
    """Element -> range -> size of its torque at an input torque of 1, where it carries any."""
    loads: dict[str, dict[str, Fraction]] = {}
    for row in settled(train):
        for name in loaded_elements(train, row, True) + loaded_elements(train, row, False):
            torque = carried(name, row.name)(train)
            if torque is not None:
                loads.setdefault(name, {})[row.name] = torque
    return loads


def _clearly_largest(sizes: Mapping[str, Fraction]) -> str | None:
    """The name of the largest; None where another is about as large."""
    first, second = sorted(sizes, key=sizes.__getitem__, reverse=True)[:2]
    return first if sizes[first] >= _APART * sizes[second] else None


def _all_settled(train: Train) -> bool:
    """Whether no range is left out, so that "of all ranges" holds."""
    return len(list(settled(train))) == len(train.distinct) >= _FEWEST


def _ranges(train: Train) -> Iterator[Case]:
    if not _all_settled(train):
        return
    for name, sizes in _loads(train).items():
        if len(sizes) < 2 or _clearly_largest(sizes) is None:
            continue
        yield Case(
            (name,),
            say("range in which {name} carries most torque", name=name),
            say(
                "The same input torque in every range, no losses. In which range does {name} hold or carry the largest torque, so that its size is decided there?",
                name=name,
            ),
            3,
            3,
            (
                say("Leave out the ranges in which {name} is not applied.", name=name),
                say("What does the housing take up in each of the others, and who shares it?"),
                say("Follow the input torque through the sets where you cannot tell."),
            ),
            asks=frozenset({f"largest torque of {name}"}),
            tells=frozenset(f"chart {row.name}" for row in train.distinct),
            shows=(words.CHART,),
        )


def _range(ask: Ask) -> BuiltItem | None:
    name = ask.about[0]
    rows = [ask.train.row(row.name) for row in ask.own.distinct]
    sizes = _loads(ask.train).get(name, {})
    right = _clearly_largest(sizes) if len(sizes) > 1 else None
    if right is None:
        return None
    tallest, of_its_own = _most(rows), _most([row for row in rows if row.name in sizes])
    wrong = [
        (
            "REACT",
            tallest,
            say("There the torque at the output is largest. How much of the rest does {name} take up?", name=name)
            if tallest in sizes
            else say("There the torque at the output is largest, but has {name} anything to carry there?", name=name),
        ),
        (
            "REACT",
            of_its_own,
            say("Of the ranges with {name} it has the largest ratio. Which other parts carry torque there?", name=name),
        ),
        ("TURNED", min(sizes, key=sizes.__getitem__), say("There {name} has least to carry.", name=name)),
    ]
    return choice(ask, tuple(row.name for row in rows), right, _first_of_each(wrong), label=say("range"))


def _first_of_each(wrong: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    """One mistake for each option: the first that leads to it."""
    by_option: dict[str, tuple[str, str, str]] = {}
    for mistake in wrong:
        by_option.setdefault(mistake[1], mistake)
    return list(by_option.values())


def _most(rows: list[Drive]) -> str:
    """The range with the largest torque at the output."""
    return max(rows, key=lambda row: abs(row.ratio)).name


def _elements(train: Train) -> Iterator[Case]:
    largest = {name: max(sizes.values()) for name, sizes in _loads(train).items()}
    if not _all_settled(train) or len(largest) < _FEWEST or _clearly_largest(largest) is None:
        return
    yield Case(
        (),
        say("element that carries most torque"),
        say(
            "The same input torque in every range, no losses. Over all ranges, which element has to hold or carry the largest torque?"
        ),
        3,
        3,
        (
            say("Look at the ranges with the largest ratios first, forward and reverse."),
            say("In reverse the housing takes up the sum of input and output torque, otherwise their difference."),
            say("Work out the torques of those elements that you cannot tell apart."),
        ),
        asks=frozenset({"element with the largest torque"}),
        tells=frozenset(f"chart {row.name}" for row in train.distinct),
        shows=(words.CHART,),
    )


def _element(ask: Ask) -> BuiltItem | None:
    loads = _loads(ask.train)
    largest = {name: max(sizes.values()) for name, sizes in loads.items()}
    right = _clearly_largest(largest)
    if right is None:
        return None
    often = max(loads, key=lambda name: len(loads[name]))
    ahead = {row.name for row in ask.train.forward}
    forward = {
        name: max((size for row, size in sizes.items() if row in ahead), default=Fraction(0)) for name, sizes in loads.items()
    }
    wrong = [
        ("REACT", max(forward, key=forward.__getitem__), say("It carries most in the forward ranges. Look at all of them.")),
        ("COUNT", often, say("It is applied often, which says nothing of how much it carries.")),
        ("TURNED", min(largest, key=largest.__getitem__), say("That is the one that has least to carry.")),
    ]
    return choice(
        ask, tuple(sorted(largest)), right, _first_of_each(wrong[0 if any(forward.values()) else 1 :]), label=say("element")
    )


FAMILIES = (
    Family("most-loaded-in", SUBJECT, 8, AnswerKind.CHOICE, _ranges, _range),
    Family("most-loaded", SUBJECT, 8, AnswerKind.CHOICE, _elements, _element),
)

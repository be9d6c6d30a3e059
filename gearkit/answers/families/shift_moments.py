"""What happens in the moment of a shift: a gap, or an overlap; and what changes over in it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise

from gearkit.answers.layouts import words
from gearkit.answers.layouts.family import Ask, Case, choice
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import one_way
from gearkit.text.phrases import listed
from gearkit.words.say import later, say
from gearkit.words.terms import Verdict

_BINDS, _RUNS_UP, _OTHER = (
    later("the train binds"),
    later("the engine runs up, nothing drives"),
    later("it drives in another ratio"),
)


_STATES = (_BINDS, _RUNS_UP, later("it drives in the old or the new ratio"), _OTHER)


def applied(train: Train, name: str) -> frozenset[str]:
    """Return the elements that are applied in a range, without one-way clutches.

    Args:
        train: the train.
        name: the range.
    """
    return frozenset(element for element in train.layout.engaged_in(name) if element not in train.one_ways)


def upshifts(train: Train) -> list[tuple[Drive, Drive]]:
    """Return the neighbouring forward ranges, the lower one first."""
    return list(pairwise(train.forward))


def exchange(train: Train, low: str, high: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what lets go and what takes hold, of the elements that are applied.

    Args:
        train: the train.
        low: the range before.
        high: the range after.
    """
    before, after = applied(train, low), applied(train, high)
    order = train.applicable
    return tuple(element for element in order if element in before - after), tuple(
        element for element in order if element in after - before
    )


def _between(train: Train, low: str, high: str, overlap: bool) -> tuple[str, Fraction | None]:
    """What the train does while old and new elements all hold, or while neither do."""
    before, after = applied(train, low), applied(train, high)
    state = one_way.working(train.layout, before | after if overlap else before & after)
    if state.verdict is Verdict.RANGE:
        known = state.ratio in (train.row(low).ratio, train.row(high).ratio)
        return (_STATES[2] if known else _OTHER), state.ratio
    return (_RUNS_UP if state.verdict is Verdict.NEUTRAL else _BINDS), None


def moments(overlap: bool) -> Callable[[Train], Iterator[Case]]:
    """Return what yields the shifts that are asked about: with an overlap, or with a gap."""

    def cases(train: Train) -> Iterator[Case]:
        for low, high in upshifts(train):
            off, on = exchange(train, low.name, high.name)
            if not off or not on:
                continue
            both = (
                (
                    say("{value} all hold", value=listed((*off, *on)))
                    if len(off) + len(on) > 2
                    else say("both {off} and {on} hold", off=off[0], on=on[0])
                )
                if overlap
                else (
                    say("none of {value} holds", value=listed((*off, *on)))
                    if len(off) + len(on) > 2
                    else say("neither {off} nor {on} holds", off=off[0], on=on[0])
                )
            )
            told = say("overlap") if overlap else say("gap")
            yield Case(
                (low.name, high.name),
                say("{told} in the shift {low} to {high}", told=told, low=low.name, high=high.name),
                say(
                    "In the shift from range {low} to range {high}, {both} for a moment while the engine drives. What happens in that moment?",
                    low=low.name,
                    high=high.name,
                    both=both,
                ),
                2,
                2,
                (
                    say("Write down everything that holds at that moment."),
                    say("Do these elements agree about the speeds, and do they fix them?"),
                    say("If they disagree nothing can turn; if they say too little, input and output are independent."),
                ),
                asks=frozenset({f"{told} {low.name} {high.name}"}),
                shows=(words.CHART,),
            )

    return cases


def moment(overlap: bool) -> Callable[[Ask], BuiltItem | None]:
    """Return what builds the question about a shift with an overlap, or with a gap."""

    def build(ask: Ask) -> BuiltItem | None:
        low, high = ask.about
        right, _ = _between(ask.train, low, high, overlap)
        wrong = [
            (
                "SLIPTIE",
                _RUNS_UP if right == _BINDS else _BINDS,
                say("Elements that disagree bind the train; where too few hold, the engine runs free. Which is it here?"),
            ),
            ("COUNT", _STATES[2], say("Do the elements that hold at that moment really make one of the two ranges?")),
        ]
        return choice(
            ask,
            _STATES,
            right,
            wrong,
            aliases={"binds": _BINDS, Verdict.TIE_UP: _BINDS, "flare": _RUNS_UP, "runs up": _RUNS_UP},
        )

    return build

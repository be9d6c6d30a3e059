"""An order in which the torques of a range follow one from the other, without losses.

Two things are known at once: the torque on the input, and that on the output, because the power that comes in goes out
again. From then on a shaft on which one torque is still unknown gives it, since all torques on a shaft add to zero; and a
set of which one member's torque is known gives the other two, since they stand as a : b : -(a + b). Where no shaft has
just one unknown, one torque is called x, and a shaft whose torques are all known but for x gives it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.explain.formulas.forms import Form, combined, member_weights
from gearkit.solve.loads.balance import Statics, sides_of
from gearkit.solve.mobility import shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT

LETTER = "x"

Terms = tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class Balance:
    """A torque that follows from those on its shaft, which add to zero.

    Args:
        shaft: everything that is always on the shaft.
        name: whose torque is found: a member, or an element.
        terms: sign and name of what it is the sum of; empty where nothing else acts.
        value: the torque.
        rest: the other members of its set and their torques; empty for an element.
    """

    shaft: tuple[str, ...]
    name: str
    terms: Terms
    value: Form
    rest: Mapping[str, Form]


@dataclass(frozen=True)
class Called:
    """A torque that is called x, because no shaft has just one unknown.

    Args:
        name: the member.
        rest: the other members of its set and their torques.
    """

    name: str
    rest: Mapping[str, Form]


@dataclass(frozen=True)
class Closing:
    """A shaft whose torques are all told by x, so that it gives x.

    Args:
        shaft: everything that is always on the shaft.
        terms: sign and name of every torque on it.
        condition: their sum, which is zero.
        value: x.
    """

    shaft: tuple[str, ...]
    terms: Terms
    condition: Form
    value: Fraction


Move = Balance | Called | Closing


def torque_moves(layout: Layout, engaged: Sequence[str], statics: Statics, loaded: Sequence[str]) -> tuple[Move, ...] | None:
    """Return the moves that lead to the torque of every loaded set and every applied element, or None.

    None comes where balance does not fix every torque, where two members of one set are always on one shaft, or where one
    unknown is not enough.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        statics: the torques, for a torque of 1 on the input.
        loaded: names of the sets that carry torque.
    """
    if not statics.complete:
        return None
    search = _Search(layout, engaged, statics, loaded)
    return search.moves() if search.plain else None


class _Search:
    def __init__(self, layout: Layout, engaged: Sequence[str], statics: Statics, loaded: Sequence[str]) -> None:
        assert statics.output is not None
        self._layout, self._loaded = layout, set(loaded)
        self._columns = shaft_columns(layout)
        self._engaged = {name: sides_of(layout.element_named(name), self._columns) for name in engaged}
        self._known = {INPUT: Form(Fraction(1)), OUTPUT: Form(statics.output)}
        self._used = set[tuple[str, ...]]()
        shafts = [shaft for shaft in layout.shafts if HOUSING not in shaft]
        self._terms = {
            shaft: tuple(self._terms_of(shaft)) for shaft in sorted(shafts, key=lambda s: (INPUT not in s, OUTPUT not in s))
        }

    @property
    def plain(self) -> bool:
        """No shaft holds two members of one loaded set."""
        sets = ([name.partition(".")[0] for _, name in terms if "." in name] for terms in self._terms.values())
        return all(len(set(names)) == len(names) for names in sets)

    def _terms_of(self, shaft: tuple[str, ...]) -> Iterator[tuple[int, str]]:
        """What acts on a shaft from outside counts +1, what its members pass on to their sets -1."""
        for name in shaft:
            if name in (INPUT, OUTPUT):
                yield 1, name
        for name, (turning, other) in self._engaged.items():
            if turning in shaft or other in shaft:
                yield (1 if turning in shaft else -1), name
        for name in shaft:
            if name.partition(".")[0] in self._loaded and "." in name:
                yield -1, name

    def moves(self) -> tuple[Move, ...] | None:
        moves: list[Move] = []
        last, called = "", False
        while True:
            move = self._next(last)
            if move is None and not called and (name := self._first_open()):
                called = True
                move = Called(name, self._take(name, Form(Fraction(0), ((LETTER, Fraction(1)),))))
            if move is None:
                break
            moves.append(move)
            last = move.name.partition(".")[0] if isinstance(move, (Balance, Called)) else ""
            if isinstance(move, Closing):
                self._put_in(move.value)
        wanted = {f"{name}.{member}" for name in self._loaded for member in MEMBERS} | self._engaged.keys()
        complete = wanted <= self._known.keys() and all(form.known for form in self._known.values())
        return tuple(moves) if complete else None

    def _next(self, last: str) -> Move | None:
        ready: list[tuple[tuple[bool, bool], tuple[str, ...], str]] = []
        for shaft, terms in self._terms.items():
            open_ones = [name for _, name in terms if name not in self._known]
            if not open_ones and shaft not in self._used:
                condition = combined((sign, self._known[name]) for sign, name in terms)
                if condition.parts:
                    self._used.add(shaft)
                    return Closing(shaft, terms, condition, -condition.constant / condition.parts[0][1])
            if len(open_ones) == 1:
                name = open_ones[0]
                # Sets first, and on from the one that was told last; an element is told where nothing else goes on.
                ready.append((("." not in name, not any(other.partition(".")[0] == last for _, other in terms)), shaft, name))
        if not ready:
            return None
        _, shaft, name = min(ready, key=lambda entry: entry[0])
        return self._balance(shaft, name)

    def _balance(self, shaft: tuple[str, ...], name: str) -> Balance:
        self._used.add(shaft)
        own = {torque: sign for sign, torque in self._terms[shaft]}[name]
        terms = tuple((-sign * own, torque) for sign, torque in self._terms[shaft] if torque != name)
        value = combined((sign, self._known[torque]) for sign, torque in terms)
        if "." in name:
            return Balance(shaft, name, terms, value, self._take(name, value))
        self._known[name] = value
        return Balance(shaft, name, terms, value, {})

    def _take(self, name: str, value: Form) -> dict[str, Form]:
        set_name, _, own = name.partition(".")
        weights = member_weights(self._layout.set_named(set_name))
        self._known[name] = value
        rest = {
            f"{set_name}.{member}": combined([(Fraction(weights[member], weights[own]), value)])
            for member in MEMBERS
            if member != own
        }
        self._known |= rest
        return rest

    def _first_open(self) -> str | None:
        return next(
            (name for terms in self._terms.values() for _, name in terms if "." in name and name not in self._known), None
        )

    def _put_in(self, value: Fraction) -> None:
        self._known = {name: Form(form.at({LETTER: value})) for name, form in self._known.items()}

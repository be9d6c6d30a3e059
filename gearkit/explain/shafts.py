"""Which members turn together while some elements are applied, and through what.

Joins, applied elements and locked sets all merge shafts. A set with two members on one shaft is *locked*: it turns as a
block, so its third member joins them, and that may lock the next set. Each lock is kept with its reason, in the order in
which one follows from the other.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT


@dataclass(frozen=True)
class Lock:
    """A set that turns as a block, with the reason.

    Args:
        set_name: the set.
        pair: its two members that are on one shaft.
        third: the member that has to go with them.
        through: elements and locked sets that bring the pair together; empty where the joins do.
    """

    set_name: str
    pair: tuple[str, str]
    third: str
    through: tuple[str, ...]


class Merged:
    """The shafts of a layout while some elements are applied.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
    """

    def __init__(self, layout: Layout, engaged: Sequence[str]) -> None:
        self.layout = layout
        self.engaged = tuple(engaged)
        self._groups = layout.groups.copy()
        self._links: dict[str, list[tuple[str, str]]] = {}
        for join in layout.joins:
            for member in join[1:]:
                self._link(join[0], member, "")
        for name in self.engaged:
            first, second = layout.element_named(name).between
            self._groups.join(first, second)
            self._link(first, second, name)
        self.locks = self._locks()
        # From here on no shafts merge any more.
        self._roots = {member: self._groups.name_of(member) for member in (*layout.members, *layout.further_shafts, HOUSING)}
        self._roots_of = {
            pset.name: {member: self._roots[f"{pset.name}.{member}"] for member in MEMBERS} for pset in layout.sets
        }
        self._members: dict[str, list[str]] = {}
        for member, root in self._roots.items():
            self._members.setdefault(root, []).append(member)

    def root(self, member: str) -> str:
        """Return the name that stands for a member's shaft."""
        return self._roots[member]

    def members(self, root: str) -> tuple[str, ...]:
        """Return what sits on a shaft: members in the layout's order, then input, output, housing."""
        return tuple(self._members.get(root, ()))

    def roots(self, set_name: str) -> Mapping[str, str]:
        """Return the shaft of each member of a set: sun, carrier, ring."""
        return self._roots_of[set_name]

    @property
    def input(self) -> str:
        """The input's shaft."""
        return self.root(INPUT)

    @property
    def output(self) -> str:
        """The output's shaft."""
        return self.root(OUTPUT)

    @property
    def ground(self) -> str:
        """The housing, with all that is held."""
        return self.root(HOUSING)

    @property
    def locked(self) -> tuple[str, ...]:
        """Names of the sets that turn as a block or stand, in the order in which they lock."""
        return tuple(lock.set_name for lock in self.locks)

    def through(self, first: str, second: str) -> tuple[str, ...]:
        """Return the elements and locked sets on the shortest way from one member to another on the same shaft.

        Args:
            first: a member.
            second: another one on its shaft.
        """
        # An element is a plainer reason than a locked set.
        costs = {pset.name: 3 for pset in self.layout.sets}

        def cost(way: tuple[str, ...]) -> int:
            return sum(costs.get(label, 2) for label in way)

        best: dict[str, tuple[str, ...]] = {first: ()}
        pending = deque([first])
        while pending:
            here = pending.popleft()
            for there, label in self._links.get(here, ()):
                way = best[here] + ((label,) if label else ())
                if there not in best or cost(way) < cost(best[there]):
                    best[there] = way
                    pending.append(there)
        return best.get(second, ())

    def _link(self, first: str, second: str, label: str) -> None:
        self._links.setdefault(first, []).append((second, label))
        self._links.setdefault(second, []).append((first, label))

    def _locks(self) -> tuple[Lock, ...]:
        locks: list[Lock] = []
        pending = [pset.name for pset in self.layout.sets]
        while True:
            lock = next((lock for name in pending if (lock := self._lock_of(name))), None)
            if lock is None:
                return tuple(locks)
            locks.append(lock)
            pending.remove(lock.set_name)
            self._groups.join(lock.pair[0], lock.third)
            self._link(lock.pair[0], lock.third, lock.set_name)
            self._link(lock.pair[1], lock.third, lock.set_name)

    def _lock_of(self, name: str) -> Lock | None:
        own = [f"{name}.{member}" for member in MEMBERS]
        pairs = [pair for pair in combinations(own, 2) if self._groups.name_of(pair[0]) == self._groups.name_of(pair[1])]
        if not pairs:
            return None
        pair = min(pairs, key=lambda pair: len(self.through(*pair)))
        (third,) = [member for member in own if member not in pair]
        return Lock(name, pair, third, self.through(*pair))

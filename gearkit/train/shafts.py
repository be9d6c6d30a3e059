"""Which members turn together: shafts as groups of joined members.

A join is permanent; an applied clutch or brake joins as well. Both are the same merging of groups, so the layout and
the solver share this one piece.
"""

from __future__ import annotations

from collections.abc import Iterable

from gearkit.words.terms import HOUSING


class ShaftGroups:
    """Members grouped into shafts; groups merge and never part.

    Args:
        members: every name that may be joined.
    """

    def __init__(self, members: Iterable[str]) -> None:
        self._parent = {member: member for member in members}

    def copy(self) -> ShaftGroups:
        """Return groups that can be merged further without touching these."""
        other = ShaftGroups(())
        other._parent = dict(self._parent)
        return other

    def name_of(self, member: str) -> str:
        """Return the name that stands for the member's shaft; the housing stands for its own."""
        parent = self._parent
        while parent[member] != member:
            parent[member] = parent[parent[member]]
            member = parent[member]
        return member

    def join(self, first: str, second: str) -> bool:
        """Merge the shafts of two members; False where they were one already.

        Args:
            first: a member; its name is kept for the merged shaft unless the other is the housing.
            second: the member to join to it.
        """
        kept, dropped = self.name_of(first), self.name_of(second)
        if kept == dropped:
            return False
        if dropped == HOUSING:
            kept, dropped = dropped, kept
        self._parent[dropped] = kept
        return True

    def groups(self) -> list[tuple[str, ...]]:
        """Return the shafts as tuples of members, each in the order in which the members were given."""
        by_shaft: dict[str, list[str]] = {}
        for member in self._parent:
            by_shaft.setdefault(self.name_of(member), []).append(member)
        return [tuple(group) for group in by_shaft.values()]

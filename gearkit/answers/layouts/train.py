"""The facts of one drawn layout that questions are made of, each worked out once: its ranges, speeds, torques."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache

from gearkit.answers.draw_numbers.pool import Teeth
from gearkit.answers.layouts.own_teeth import with_teeth
from gearkit.explain.chain import Move, derive
from gearkit.explain.loads import carries_torque
from gearkit.explain.shafts import Merged
from gearkit.solve import mobility, one_way, ratios
from gearkit.solve.loads.balance import Statics, balance
from gearkit.solve.loads.torques import Torques, torques
from gearkit.solve.one_way import Working
from gearkit.solve.speeds import Speeds, speeds
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, LoadState, Verdict


@dataclass(frozen=True)
class Drive:
    """A range that drives.

    Args:
        name: its name.
        engaged: the elements that are applied, and the one-way clutches that hold, in the layout's order; one that the
            layout lists for the range and that has nothing to hold in it is not among them.
        ratio: input speed / output speed.
        redundant: the elements are more than is needed, so that balance does not fix their torques.
    """

    name: str
    engaged: tuple[str, ...]
    ratio: Fraction
    redundant: bool


class Train:
    """A layout with a learner's tooth counts, and what is asked of it.

    Args:
        layout: the layout.
    """

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self._working: dict[str, Working] = {}
        self._driving: dict[str, Drive | None] = {}
        self._speeds: dict[tuple[str, ...], Speeds] = {}
        self._torques: dict[tuple[tuple[str, ...], Fraction], Torques] = {}
        self._statics: dict[tuple[str, ...], Statics | None] = {}
        self._merged: dict[tuple[str, ...], Merged] = {}
        self._moves: dict[tuple[tuple[str, ...], str], Sequence[Move]] = {}
        # Mistakes make the same of a train whatever is asked of it: `wrong.turning` keeps here what it solved.
        self.turned: dict[Hashable, list[Fraction | None] | None] = {}

    def working(self, name: str) -> Working:
        """Return what a range does, with the one-way clutches holding or letting go by themselves, in drive.

        Args:
            name: the range's name.
        """
        if name not in self._working:
            self._working[name] = one_way.in_range(self.layout, name)
        return self._working[name]

    @cached_property
    def drives(self) -> tuple[Drive, ...]:
        """The ranges that drive as they are listed, in the layout's order; of two that list the same elements the first."""
        return tuple(drive for name in self._first_of_alike.values() if (drive := self._drive(name)) is not None)

    @cached_property
    def _first_of_alike(self) -> dict[frozenset[str], str]:
        """The elements that ranges list, each with the first range that does."""
        first_of_alike: dict[frozenset[str], str] = {}
        for named_range in self.layout.ranges:
            first_of_alike.setdefault(frozenset(named_range.engaged), named_range.name)
        return first_of_alike

    def _drive(self, name: str) -> Drive | None:
        if name not in self._driving:
            listed, state = self.layout.engaged_in(name), self.working(name)
            asked = state.mobility if {*state.engaged} == {*listed} else mobility.assess(self.layout, listed)
            ratio = state.ratio if state.verdict is Verdict.RANGE and asked.ratio == state.ratio else None
            self._driving[name] = None if ratio is None else Drive(name, state.engaged, ratio, state.mobility.redundant)
        return self._driving[name]

    @cached_property
    def distinct(self) -> tuple[Drive, ...]:
        """The ranges that drive, of several with the same ratio the first."""
        by_ratio: dict[Fraction, Drive] = {}
        for row in self.drives:
            by_ratio.setdefault(row.ratio, row)
        return tuple(by_ratio.values())

    @cached_property
    def forward(self) -> tuple[Drive, ...]:
        """The forward ranges, largest ratio first."""
        return tuple(sorted((row for row in self.distinct if row.ratio > 0), key=lambda row: -row.ratio))

    @cached_property
    def reverse(self) -> tuple[Drive, ...]:
        """The ranges with a negative ratio."""
        return tuple(row for row in self.distinct if row.ratio < 0)

    def as_ratio(self, value: Fraction) -> frozenset[str]:
        """Return the facts that tell a number because a range's ratio is that number, or one over it, whatever its sign.

        Args:
            value: a number that is asked for, such as a step; 1 stands anywhere, so nothing tells it.
        """
        sizes = {abs(value), 1 / abs(value)} - {1} if value else set()
        return frozenset(f"ratio {row.name}" for row in self.drives if abs(row.ratio) in sizes)

    def row(self, name: str) -> Drive:
        """Return a range that drives; KeyError where it does not.

        Args:
            name: its name.
        """
        # Most questions are about one range, and each takes long to solve.
        drive = self._drive(name) if name in self._first_of_alike.values() else None
        if drive is None:
            raise KeyError(name)
        return drive

    @cached_property
    def one_ways(self) -> tuple[str, ...]:
        """Names of the one-way clutches."""
        return tuple(element.name for element in self.layout.elements if element.kind is ElementKind.ONE_WAY_CLUTCH)

    @cached_property
    def applicable(self) -> tuple[str, ...]:
        """Names of the elements that can be applied."""
        return tuple(element.name for element in self.layout.elements if element.kind is not ElementKind.ONE_WAY_CLUTCH)

    def speeds(self, engaged: tuple[str, ...]) -> Speeds:
        """Return the speeds of a combination, as multiples of the input's.

        Args:
            engaged: what is applied or holds.
        """
        if engaged not in self._speeds:
            self._speeds[engaged] = speeds(self.layout, engaged)
        return self._speeds[engaged]

    def speed(self, row: Drive, name: str) -> Fraction | None:
        """Return a member's speed in a range, as a multiple of the input's; None where nothing fixes it.

        Args:
            row: the range.
            name: the member.
        """
        return self.speeds(row.engaged).of(name)

    def torques(self, row: Drive, basic_efficiency: Fraction = Fraction(1)) -> Torques | None:
        """Return torques and power in a range at an input torque of 1, or None where balance does not fix them.

        Args:
            row: the range.
            basic_efficiency: of every set.
        """
        key = row.engaged, basic_efficiency
        if key not in self._torques:
            self._torques[key] = torques(self.layout, row.engaged, 1, basic_efficiency)
        torque = self._torques[key]
        return torque if torque.state is LoadState.SETTLED else None

    def statics(self, row: Drive) -> Statics | None:
        """Return the torques of a range without losses.

        Args:
            row: the range.
        """
        if row.engaged not in self._statics:
            self._statics[row.engaged] = balance(self.layout, row.engaged, Fraction(1), {})
        return self._statics[row.engaged]

    def carries(self, row: Drive) -> dict[str, bool | None]:
        """Return for each set whether it carries torque in a range; None where balance does not tell.

        Args:
            row: the range.
        """
        return carries_torque(self.layout, self.statics(row))

    def merged(self, engaged: tuple[str, ...]) -> Merged:
        """Return what turns together while some elements are applied.

        Args:
            engaged: what is applied or holds.
        """
        if engaged not in self._merged:
            self._merged[engaged] = Merged(self.layout, engaged)
        return self._merged[engaged]

    def moves(self, row: Drive, goal: str = "") -> Sequence[Move]:
        """Return the moves of the story that lead to the output, or to another member.

        Args:
            row: the range.
            goal: the member; "" for the output.
        """
        key = row.engaged, goal
        if key not in self._moves:
            self._moves[key] = self._derived(row, goal)
        return self._moves[key]

    def _derived(self, row: Drive, goal: str) -> Sequence[Move]:
        merged = self.merged(row.engaged)
        known = {root: self.speeds(row.engaged).of(end) for root, end in ((merged.input, INPUT), (merged.ground, HOUSING))}
        wanted = merged.root(goal) if goal else merged.output
        start = {root: speed for root, speed in known.items() if speed is not None}
        moves, speeds = derive(merged, start, self.loaded(row), [wanted])
        if wanted not in speeds:
            moves, _ = derive(merged, start, [pset.name for pset in self.layout.sets], [wanted])
        return moves

    def loaded(self, row: Drive) -> tuple[str, ...]:
        """Return the sets that carry torque in a range and do not turn as a block.

        Args:
            row: the range.
        """
        locked = self.merged(row.engaged).locked
        return tuple(name for name, carries in self.carries(row).items() if carries is not False and name not in locked)

    @cached_property
    def shafts(self) -> tuple[str, ...]:
        """One member for each permanent shaft that has members and is not held for good; its name stands for all on it."""
        groups = self.layout.groups
        by_root: dict[str, str] = {}
        for name in self.layout.members:
            root = groups.name_of(name)
            if root != groups.name_of(HOUSING):
                by_root.setdefault(root, name)
        return tuple(by_root.values())

    def is_end(self, name: str) -> bool:
        """Return whether a member is on the input's or the output's shaft for good.

        Args:
            name: the member.
        """
        groups = self.layout.groups
        return groups.name_of(name) in (groups.name_of(INPUT), groups.name_of(OUTPUT))

    def on_shaft(self, name: str) -> tuple[str, ...]:
        """Return all members on a member's permanent shaft.

        Args:
            name: the member.
        """
        groups = self.layout.groups
        return tuple(member for member in self.layout.members if groups.name_of(member) == groups.name_of(name))

    def formula(self, row: Drive) -> ratios.Ratio | None:
        """Return a range's ratio with its formula.

        Args:
            row: the range.
        """
        ratio = ratios.ratio(self.layout, row.engaged)
        return ratio if ratio is not None and ratio.sets else None


@lru_cache(maxsize=128)
def train_of(text: str, teeth: tuple[Teeth, ...]) -> Train:
    """Return a layout with drawn tooth counts, the same one each time.

    Args:
        text: text of a layout file.
        teeth: an entry for each set.
    """
    return Train(with_teeth(text, teeth))

"""What a lesson needs to know of a layout, worked out once: its ranges by difficulty, states, elements, shifts, faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from gearkit.draw.cutaway.solid_placement import stored_placement
from gearkit.explain.clauses import by_rank
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.solve.loads.torques import Torques, torques_of
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import Working, braking, in_range, working
from gearkit.solve.ratios import symbol_suffixes
from gearkit.solve.service.faults import FaultTable, fault_table
from gearkit.solve.service.shifts import Shift, shift_chart
from gearkit.text.markdown import as_words
from gearkit.text.phrases import decimal, listed, own_name
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Drive, ElementKind, LoadState, Verdict

SHIFT_SPEED = 3000
TORQUE = 150


@dataclass(frozen=True)
class RangeFact:
    """One named range that drives.

    Args:
        name: its name.
        engaged: its elements as the layout lists them.
        state: what they do in drive.
        story: its derivation.
    """

    name: str
    engaged: tuple[str, ...]
    state: Working
    story: Story

    @property
    def ratio(self) -> Fraction:
        """Input speed / output speed."""
        assert self.state.ratio is not None
        return self.state.ratio

    @property
    def shown(self) -> str:
        """The ratio as it stands in a sentence."""
        return decimal(self.ratio)

    @property
    def applied(self) -> str:
        """The elements, in a list."""
        return listed(self.engaged) or say("no element")

    @cached_property
    def chain(self) -> tuple[Step, ...]:
        """The steps from input to output."""
        return self.part(StoryPart.CHAIN)

    def part(self, part: StoryPart) -> tuple[Step, ...]:
        """Return the steps of one part of the story."""
        return tuple(step for step in self.story.steps if step.part is part)

    @property
    def together(self) -> bool:
        """Some sets have to be solved together."""
        return any(len(step.sets) > 1 for step in self.chain)

    @property
    def together_at_once(self) -> bool:
        """Not even one set has two known speeds to begin with."""
        return len(next((step.sets for step in self.chain if step.formulas), ())) > 1

    @property
    def effort(self) -> tuple[int, int, int, int]:
        """How hard it is to derive by hand: the less the better to begin with."""
        steps = sum(bool(step.formulas) for step in self.chain)
        return (self.ratio == 1 or not steps, self.together, self.ratio < 0, steps)


class Facts:
    """A layout, seen by somebody who is to teach it.

    Args:
        layout: the layout; one input, one output, at least one range that drives.
        file: the name of its file beside the notebook.

    Raises:
        UsageError: there is nothing to teach: no range drives.
    """

    def __init__(self, layout: Layout, file: str) -> None:
        self.layout = layout
        self.file = file
        states = {named_range.name: in_range(layout, named_range.name) for named_range in layout.ranges}
        drives = [named_range for named_range in layout.ranges if states[named_range.name].verdict is Verdict.RANGE]
        if not drives:
            raise UsageError(f"{layout.name}: no range drives, so there is nothing to teach. See: gearkit ratios LAYOUT --all")
        self.drives = tuple(
            RangeFact(drive.name, drive.engaged, states[drive.name], tell(layout, drive.name)) for drive in drives
        )
        self.others = tuple(
            (named_range.name, named_range.engaged, states[named_range.name])
            for named_range in layout.ranges
            if named_range not in drives
        )

    @property
    def short(self) -> str:
        """The layout's name without what it explains, safe in Markdown."""
        return as_words(self.layout.said_short)

    @cached_property
    def called(self) -> str:
        """What the train is called in a sentence: a short name of its own with an article, or else "this train"."""
        name = own_name(self.layout.name)
        return say("the {train}", train=as_words(name)) if name else say("this train")

    @property
    def held(self) -> tuple[str, ...]:
        """The members that are always joined to the housing, as a layout names them."""
        return tuple(member for shaft in self.layout.shafts if HOUSING in shaft for member in shaft if member != HOUSING)

    @cached_property
    def shafts(self) -> tuple[tuple[str, ...], ...]:
        """Shafts that can turn, their members in reading order, the input's first and the output's last."""
        turning = [by_rank(shaft) for shaft in self.layout.shafts if HOUSING not in shaft]
        return tuple(sorted(turning, key=lambda shaft: (INPUT not in shaft, OUTPUT in shaft)))

    @cached_property
    def solid(self) -> bool:
        """Whether the layout's file says where its parts go as solid bodies; a unit writes it there wherever there is a way."""
        return stored_placement(self.layout) is not None

    @cached_property
    def free(self) -> int:
        """Speeds that may be chosen while nothing is applied."""
        return assess(self.layout, ()).freedom

    @cached_property
    def by_effort(self) -> tuple[RangeFact, ...]:
        """Driving ranges with a ratio of their own, the simplest to derive first."""
        first, *rest = sorted(self.drives, key=lambda fact: fact.effort)
        # The easiest is shown, and direct drive has nothing to show; after it, direct is a rest between two derivations.
        by_ratio = {first.ratio: first}
        for fact in sorted(rest, key=lambda fact: fact.effort[1:]):
            by_ratio.setdefault(fact.ratio, fact)
        return tuple(by_ratio.values())

    @property
    def simplest(self) -> RangeFact:
        """The range to begin with."""
        return self.by_effort[0]

    @cached_property
    def forward(self) -> tuple[RangeFact, ...]:
        """Forward ranges, lowest (largest ratio) first, each ratio once."""
        by_ratio = {drive.ratio: drive for drive in reversed(self.drives) if drive.ratio > 0}
        return tuple(by_ratio[ratio] for ratio in sorted(by_ratio, reverse=True))

    @cached_property
    def reverses(self) -> tuple[RangeFact, ...]:
        """Ranges that drive backward."""
        return tuple(drive for drive in self.drives if drive.ratio < 0)

    def kinds(self, kind: ElementKind) -> tuple[Element, ...]:
        """Return the elements of one kind."""
        return tuple(element for element in self.layout.elements if element.kind is kind)

    @cached_property
    def suffixes(self) -> dict[str, str]:
        """Set -> the number behind its letters."""
        return symbol_suffixes(self.layout)

    @cached_property
    def shifts(self) -> tuple[Shift, ...]:
        """Upshifts between neighbouring forward ranges."""
        return shift_chart(self.layout, SHIFT_SPEED).up

    @cached_property
    def faults(self) -> FaultTable:
        """What every single fault makes of every range."""
        return fault_table(self.layout)

    def torques(self, fact: RangeFact) -> Torques | None:
        """Return the torques of a range without losses, or None where balance does not fix them all."""
        loads = torques_of(fact.state, TORQUE, 1)
        return loads if loads.state is LoadState.SETTLED else None

    @cached_property
    def tie_up(self) -> tuple[RangeFact, str, Working] | None:
        """A range, an element applied beside it, and the locked state that they make; None where no such element is."""
        order = sorted(self.drives, key=lambda fact: (fact.ratio == 1, fact.effort))
        for whole in (True, False):
            for fact in order:
                for element in self._applicable:
                    state = working(self.layout, (*fact.engaged, element.name))
                    if element.name not in fact.engaged and state.verdict.locked and (state.verdict is Verdict.TIE_UP) is whole:
                        return fact, element.name, state
        return None

    @property
    def _applicable(self) -> Sequence[Element]:
        return [element for element in self.layout.elements if element.kind is not ElementKind.ONE_WAY_CLUTCH]

    @cached_property
    def coasting(self) -> tuple[str, ...]:
        """Ranges that cannot brake the engine, because a one-way clutch lets go when the vehicle pushes."""
        return tuple(drive.name for drive in self.drives if not braking(self.layout, drive.name).engine_braking)

    def straight(self, fact: RangeFact) -> bool:
        """Whether applied elements join input and output to each other, so that no set is needed for direct drive."""
        groups = [{shaft} for shaft in range(len(self.layout.shafts))]
        for name in fact.state.engaged:
            ends = {self.layout.shaft_of(end) for end in self.layout.element_named(name).between}
            touched = [group for group in groups if group & ends]
            groups = [group for group in groups if group not in touched] + [set().union(*touched)]
        return any({self.layout.shaft_of(INPUT), self.layout.shaft_of(OUTPUT)} <= group for group in groups)

    def direct(self, ranges: Sequence[RangeFact]) -> RangeFact | None:
        """The first of some ranges that is direct for a reason that needs no equation; None where there is none."""
        return next(
            (
                named_range
                for named_range in ranges
                if named_range.ratio == 1
                and (self.straight(named_range) or not any(step.formulas for step in named_range.chain))
            ),
            None,
        )

    def idle_and_why(self) -> tuple[RangeFact, tuple[str, ...]] | None:
        """A range and those of its sets that carry nothing in it but work in another; None where there is none."""
        works = {name for drive in self.drives for name in drive.story.working}
        for fact in self.drives:
            names = tuple(name for name in fact.story.idle if name in works)
            if names:
                return fact, names
        return None

    def coast(self, name: str) -> Working:
        """Return what a range does when the vehicle pushes."""
        return in_range(self.layout, name, Drive.COAST)

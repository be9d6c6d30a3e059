"""What a picture shows of a layout while some elements are applied: which shafts are held, loaded, idle or free.

A shaft carries load when torque goes through it. The pictures look at the balance without losses: losses change how large
a torque is, hardly ever whether there is one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.draw.core.wording import applied_words, ratio_text
from gearkit.solve.loads.balance import balance
from gearkit.solve.mobility import Mobility, assess, checked
from gearkit.solve.one_way import in_range, one_way_clutches
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.speeds_given import speeds_with_motions
from gearkit.solve.several.statics import Question
from gearkit.solve.speeds import Speeds, speeds_with
from gearkit.text.phrases import listed
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, Verdict


@dataclass(frozen=True)
class DriveState:
    """A layout with some elements applied, seen shaft by shaft; shafts are numbered as in ``layout.shafts``.

    Args:
        layout: the layout.
        engaged: names of the engaged elements and of the one-way clutches that hold, in the layout's order.
        mobility: the verdict on them.
        speeds: of every member, with the input at 1 (at 0 where it cannot turn).
        held: shafts joined to the housing, permanently or by an applied element.
        loaded: shafts with torque in them.
        working: sets, elements, machines and outputs with torque in them, by name.
        given: the speeds are as somebody gave them, not multiples of the input's.
    """

    layout: Layout
    engaged: tuple[str, ...]
    mobility: Mobility | Motions
    speeds: Speeds
    held: frozenset[int]
    loaded: frozenset[int]
    working: frozenset[str]
    given: bool = False

    def speed(self, shaft: int) -> Fraction | None:
        """Return the speed of a shaft as a multiple of the input's; None where nothing fixes it."""
        return self.speeds.of(self.layout.shafts[shaft][0])

    def idle(self, shaft: int) -> bool:
        """Tell whether a shaft is neither held nor loaded while the layout is in a range."""
        return self.mobility.verdict == Verdict.RANGE and shaft not in self.held and shaft not in self.loaded

    def still(self, shaft: int) -> bool:
        """Tell whether a shaft is held, or stands still under load."""
        return shaft in self.held or (shaft in self.loaded and self.speed(shaft) == 0)

    def at_input_speed(self, shaft: int) -> bool:
        """Tell whether a shaft turns exactly as the input does."""
        return self.mobility.verdict == Verdict.RANGE and self.speed(shaft) == 1

    def power(self, shaft: int) -> bool:
        """Tell whether power goes through a shaft: it is loaded and turns."""
        return shaft in self.loaded and self.speed(shaft) != 0

    @property
    def range_name(self) -> str:
        """Name of the range with exactly these elements, listed or once its one-way clutches act, or empty."""
        wanted = set(self.engaged)
        named = next((item.name for item in self.layout.ranges if set(item.engaged) == wanted), "")
        if named or not self.layout.plain or not one_way_clutches(self.layout):
            return named
        return next((r.name for r in self.layout.ranges if set(in_range(self.layout, r.name).engaged) == wanted), "")

    @property
    def heading(self) -> str:
        """Return the state in a few words: "range 2: D and E applied, ratio 2.838"."""
        start = (say("range {range}:", range=self.range_name) + " ") if self.range_name else ""
        text = start + applied_words(self.engaged)
        if self.mobility.ratio is not None:
            return say("{text}, ratio {ratio}", text=text, ratio=ratio_text(self.mobility.ratio))
        return say("{text}, {verdict}", text=text, verdict=self.mobility.verdict)


def state_of(layout: Layout, engaged: Iterable[str], given: Mapping[str, Fraction | int] | None = None) -> DriveState:
    """Return what a layout does while some elements are applied.

    Args:
        layout: the layout.
        engaged: names of the engaged elements.
        given: member or terminal -> speed, for a layout with several drivers or outputs; the input at 1 when left out.

    Raises:
        UsageError: the layout has no such element, or speeds are given that contradict each other.
    """
    names = checked(layout, engaged)
    if not layout.plain or given:
        return _several(layout, names, given or {})
    mobility = assess(layout, names)
    can_turn = mobility.verdict.input_turns
    loaded, working = _loaded(layout, names, mobility)
    return DriveState(
        layout, names, mobility, speeds_with(layout, names, mobility, 1 if can_turn else 0),
        frozenset(_held(layout, names)), frozenset(loaded), frozenset(working),
    )  # fmt: skip


def _several(layout: Layout, names: tuple[str, ...], given: Mapping[str, Fraction | int]) -> DriveState:
    left_free = motions(layout, names)
    wanted = given or ({INPUT: 1} if INPUT not in left_free.standing else {})
    turning = speeds_with_motions(left_free, wanted)
    if turning.conflict:
        raise UsageError(
            f"{layout.name}: the speeds given for {listed(turning.conflict)} contradict each other; leave one out."
        )
    shafts = {name: turning.of[name] for name in layout.further_shafts} | {HOUSING: Fraction(0)}
    speeds = Speeds(layout, names, left_free, Fraction(1), shafts, turning.members, turning.planets, {}, turning.slip)
    loaded, working = _may_be_loaded(layout, left_free)
    return DriveState(
        layout, names, left_free, speeds, frozenset(_held(layout, names)), frozenset(loaded), frozenset(working), bool(given)
    )


def _may_be_loaded(layout: Layout, left_free: Motions) -> tuple[list[int], list[str]]:
    """Shafts, then sets, elements, machines and outputs, on which balance does not say that torque is always 0."""
    question = Question(left_free.terminals, left_free.engaged, {}, {})
    by = question.lossless_shares.by
    first = question.first_terminal
    sets = [pset.name for pset, parts in zip(layout.sets, by, strict=False) if parts != {}]
    elements = [name for name, parts in zip(left_free.engaged, by[question.sets : first], strict=True) if parts != {}]
    ends = [name for name, parts in zip(left_free.terminals.names, by[first:], strict=True) if parts != {}]
    between = [name for element in elements for name in layout.element_named(element).between]
    members = [member for member in layout.members if member.partition(".")[0] in sets]
    busy = {layout.shaft_of(name) for name in (*members, *between, *(left_free.terminals.shaft_of[end] for end in ends))}
    return sorted(busy), [*sets, *elements, *ends]


def member_list(layout: Layout, shaft: int) -> tuple[str, ...]:
    """Return what sits on a shaft, members first, then "input" and "output".

    Args:
        layout: the layout.
        shaft: its number.
    """
    if not 0 <= shaft < len(layout.shafts):
        raise UsageError(f"Layout {layout.name}: no shaft {shaft}; it has {len(layout.shafts)}.")
    names = layout.shafts[shaft]
    ends = [name for name in (*layout.further_shafts, HOUSING) if name in names]
    return (*(name for name in names if name not in ends), *ends)


def _held(layout: Layout, engaged: tuple[str, ...]) -> list[int]:
    groups = layout.groups.copy()
    for name in engaged:
        groups.join(*layout.element_named(name).between)
    return [number for number, shaft in enumerate(layout.shafts) if groups.name_of(shaft[0]) == groups.name_of(HOUSING)]


def _loaded(layout: Layout, engaged: tuple[str, ...], mobility: Mobility) -> tuple[list[int], list[str]]:
    """Shafts, then sets and elements, with torque in them when there are no losses."""
    balanced = balance(layout, engaged, Fraction(1), {}) if mobility.verdict is Verdict.RANGE else None
    if balanced is None:
        return [], []
    # A torque that nothing fixes (redundant elements) may be anything: count it as load.
    members = [name for name, torque in balanced.members.items() if torque != 0]
    elements = [name for name, torque in balanced.elements.items() if torque != 0]
    ends = [INPUT] if balanced.output == 0 else [INPUT, OUTPUT]
    between = [name for element in elements for name in layout.element_named(element).between]
    busy = {layout.shaft_of(name) for name in (*members, *between, *ends)}
    return sorted(busy), [*dict.fromkeys(name.partition(".")[0] for name in members), *elements]

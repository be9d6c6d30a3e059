"""The story of a range with several drivers or outputs: one driver at a time, then all together, then the torques.

Speeds add: what happens while several drivers turn is the sum of what happens while each turns alone and the others stand.
So every factor of a relation has a derivation of its own, the same as with one input. Torques follow because no motion
loses power.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from gearkit.explain.applied import applied_steps, lock_steps
from gearkit.explain.chain import derive
from gearkit.explain.derivation import Derivation
from gearkit.explain.formulas.maths import Maths, equation, number, product, speed, total
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.whole_story import Story
from gearkit.solve.exact.formula import Quotient
from gearkit.solve.several.motions import Motions, motions
from gearkit.solve.several.ranges import driving_choice
from gearkit.solve.several.relation import Relation, relation
from gearkit.solve.several.speeds_given import speeds_with_motions, straight_ahead
from gearkit.text.phrases import MINUS, capital, count_words, decimal, exact_words, listed, member_label, member_words
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, RESERVED_SHAFTS, TrainVerdict

_LONGEST_FORMULA = 160


def tell_several(layout: Layout, range_name: str | None = None, engaged: Iterable[str] | None = None) -> Story:
    """Return the story of a range, or of any combination of applied elements, of any layout.

    Args:
        layout: the layout.
        range_name: a range of the layout.
        engaged: names of the engaged elements, instead of a range.

    Raises:
        UsageError: neither or both are given, or the layout has no such range or element.

    >>> from gearkit.train.catalogue import find
    >>> tell_several(find("bevel_differential"), "open").title
    'Bevel differential with a clutch that locks it. Range open: nothing applied. Verdict: splits torque'
    """
    if (range_name is None) == (engaged is None):
        raise UsageError("Give either the name of a range or the applied elements, and not both.")
    left_free = motions(layout, layout.engaged_in(range_name) if range_name is not None else engaged or ())
    merged = Merged(layout, left_free.engaged)
    applied = say("{engaged} applied", engaged=listed(left_free.engaged)) if left_free.engaged else say("nothing applied")
    start = (
        say("Range {range}: {applied}", range=range_name, applied=applied) if range_name else applied[:1].upper() + applied[1:]
    )
    title = say("{layout}. {start}. Verdict: {verdict}", layout=layout.said_name, start=start, verdict=left_free.verdict)
    teller = _Teller(left_free, merged)
    steps = [
        *applied_steps(merged, None), teller.terminals(), *lock_steps(merged, StoryPart.SETS), *teller.standing(),
        *teller.alone(), *teller.together(), teller.verdict(), *teller.torques(),
    ]  # fmt: skip
    preface = say(
        "Speeds n and torques T are positive in the direction of the input. S and R are the tooth counts of sun and ring, P and Q those of a stepped pinion at the sun and at the ring. Decimals are rounded, the working is exact."
    )
    return Story(layout, range_name or "", left_free.engaged, left_free, None, title, preface, tuple(steps))


class _Teller:
    def __init__(self, left_free: Motions, merged: Merged) -> None:
        self.motions, self.merged, self.layout = left_free, merged, merged.layout
        self.ends = {**left_free.terminals.shaft_of, **dict.fromkeys(left_free.terminals.inputs, INPUT)}
        self.driving = driving_choice(left_free)
        self.turning = tuple(name for name in self.driving if name not in left_free.standing)

    def words(self, name: str) -> str:
        """A terminal in a sentence: a machine by its name, a shaft with its article."""
        return name if name in self.motions.terminals.machines else member_words(name)

    def terminals(self) -> Step:
        """Where torque may come from outside."""
        terminals, layout = self.motions.terminals, self.layout
        if tuple(terminals.outputs) == (OUTPUT,):
            words = say("Torque may come from outside at the input and at the output")
        else:
            words = say_n(
                "Torque may come from outside at the input and at the output {outputs}",
                "Torque may come from outside at the input and at the outputs {outputs}",
                len(terminals.outputs),
                outputs=listed(map(member_label, terminals.outputs)),
            )
        if terminals.machines:
            machines = [
                say("{name} (a machine on {shaft})", name=machine.name, shaft=member_words(machine.shaft))
                for machine in layout.machines
            ]
            words = say("{from_outside}, and from {machines}", from_outside=words, machines=listed(machines))
        return Step(StoryPart.APPLIED, words + ".")

    def standing(self) -> list[Step]:
        """What cannot turn at all."""
        still = [name for name in self.motions.standing if self.merged.root(self.ends[name]) == self.merged.ground]
        locked = [name for name in self.motions.standing if name not in still]
        steps = []
        if still:
            members = capital(listed(map(self.words, still)))
            words = say_n(
                "{members} is held to the housing.", "{members} are held to the housing.", len(still), members=members
            )
            steps.append(Step(StoryPart.SETS, words))
        if locked:
            words = say("The equations of the sets leave only standstill for {locked}.", locked=listed(map(self.words, locked)))
            steps.append(Step(StoryPart.SETS, words))
        return steps

    def alone(self) -> list[Step]:
        """One driver turns, the other chosen ones stand: every other speed, one derivation each."""
        steps: list[Step] = []
        every = [pset.name for pset in self.layout.sets]
        for driver in self.turning:
            others = [name for name in self.turning if name != driver]
            given = {self.ends[driver]: Fraction(1), **{self.ends[name]: Fraction(0) for name in others}, HOUSING: Fraction(0)}
            told = Derivation(self.merged, given, StoryPart.ALONE, driver)
            steps.append(told.start(self._one_turn(driver, others) + "."))
            goals = {
                self.merged.root(self.ends[name]) for name in self.motions.terminals.names if name not in self.motions.standing
            }
            moves, _ = derive(self.merged, told.speeds, every, goals)
            steps += told.steps(moves)
        return steps

    def _one_turn(self, driver: str, others: Sequence[str]) -> str:
        told = {"driver": self.words(driver), "others": listed(map(self.words, others))}
        if not others:
            return say("Let {driver} make one turn", **told)
        return say_n(
            "Let {driver} make one turn while {others} stands still",
            "Let {driver} make one turn while {others} stand still",
            len(others),
            **told,
        )

    def together(self) -> list[Step]:
        """The relations, in numbers and in tooth counts."""
        known = speeds_with_motions(self.motions, dict.fromkeys(self.driving, Fraction(1)))
        steps, told = [], {self.merged.root(self.ends[name]) for name in self.driving}
        for name in self.motions.terminals.names:
            root = self.merged.root(self.ends[name])
            if root in told or name in self.motions.standing or name not in known.fixed_by:
                continue
            told.add(root)
            factors = {driver: known.fixed_by[name].get(driver, Fraction(0)) for driver in self.driving}
            steps.append(self._relation(name, factors))
        alike = [name for name in self.motions.terminals.names if name not in self.driving and name not in self.motions.standing
                 and any(self._same(name, driver) for driver in self.driving)]  # fmt: skip
        if alike:
            pairs = [
                say(
                    "{words} with {next}",
                    words=self.words(name),
                    next=next(self.words(driver) for driver in self.driving if self._same(name, driver)),
                )
                for name in alike
            ]
            steps.append(Step(StoryPart.TOGETHER, say("On one shaft turn {pairs}.", pairs=listed(pairs))))
        return steps

    def _same(self, first: str, second: str) -> bool:
        return self.merged.root(self.ends[first]) == self.merged.root(self.ends[second])

    def _relation(self, name: str, factors: dict[str, Fraction]) -> Step:
        own = speed(self.ends[name])
        formulas = [
            equation(own, _sum([(factor, number(abs(factor)), self.ends[driver]) for driver, factor in factors.items()]))
        ]
        made = relation(self.motions.terminals, self.motions.engaged, name, factors)
        if made is not None and _has_teeth(made) and len(made.text()) <= _LONGEST_FORMULA:
            formulas.append(
                equation(
                    own,
                    _sum(
                        [
                            (Fraction(1), written(made.factors[factor]), self.ends[factor])
                            for factor in factors
                            if factors[factor]
                        ]
                    ),
                )
            )
        told = {"member": self.words(name), "drivers": listed(map(self.words, self.driving))}
        if len([factor for factor in factors.values() if factor]) > 1:
            words = say_n(
                "Speeds add, so the speed of {member} is this, however fast {drivers} turns.",
                "Speeds add, so the speed of {member} is this, however fast {drivers} turn.",
                len(self.driving),
                **told,
            )
        else:
            words = say_n(
                "So the speed of {member} is this, however fast {drivers} turns.",
                "So the speed of {member} is this, however fast {drivers} turn.",
                len(self.driving),
                **told,
            )
        return Step(StoryPart.TOGETHER, words, tuple(formulas))

    def verdict(self) -> Step:
        """What all of this is called, and why."""
        left_free, outputs = self.motions, listed(map(self.words, self.motions.terminals.outputs))
        chosen = listed(map(self.words, self.driving))
        free = (
            say("{number} of the speeds at the ends can be chosen", number=capital(_count(left_free.speeds_to_give)))
            if left_free.speeds_to_give != 1
            else say("One speed at the ends can be chosen")
        )
        match left_free.verdict:
            case TrainVerdict.RANGE:
                words = say("The input alone fixes {outputs}: a range", outputs=outputs)
                words += say(", ratio {ratio}.", ratio=decimal(left_free.ratio, 4)) if left_free.ratio is not None else "."
                if not left_free.shares_fixed:
                    words += " " + say(
                        "But torque may enter or leave at more places than balance can decide: grip or control decides the shares."
                    )
            case TrainVerdict.POWER_SPLIT:
                words = say(
                    "{free}, such as those of {chosen}; the input alone fixes nothing, input and machines together fix {outputs}: a power split.",
                    free=free,
                    chosen=chosen,
                    outputs=outputs,
                )
            case TrainVerdict.SPLITS_TORQUE:
                words = say(
                    "{free}, such as those of {chosen}: the outputs may turn at different speeds while the input drives both. The torque of the input is shared among them: it splits torque.",
                    free=free,
                    chosen=chosen,
                )
            case TrainVerdict.BOTH:
                words = say(
                    "{free}, such as those of {chosen}: machines and input drive together, and the outputs may turn at different speeds. It is a power split and splits torque.",
                    free=free,
                    chosen=chosen,
                )
            case TrainVerdict.NEUTRAL:
                words = say(
                    "{free}; nothing ties the input to {outputs}: {verdict}.",
                    free=free,
                    outputs=outputs,
                    verdict=left_free.verdict,
                )
            case TrainVerdict.INPUT_LOCKED:
                words = say("The input cannot turn: {verdict}.", verdict=left_free.verdict)
                if left_free.speeds_to_give and left_free.terminals.machines:
                    words += " " + say("{chosen} still can, so a machine may drive by itself.", chosen=capital(chosen))
            case TrainVerdict.OUTPUT_LOCKED:
                words = say("{outputs} cannot turn: {verdict}.", outputs=capital(outputs), verdict=left_free.verdict)
            case _:
                words = say("Nothing at the ends can turn: {verdict}.", verdict=left_free.verdict)
        alike = straight_ahead(left_free)
        if alike is not None and left_free.ratio is None:
            words += " " + say("Straight ahead, with all outputs at one speed, the ratio is {ratio}.", ratio=exact_words(alike))
        return Step(StoryPart.VERDICT, words)

    def torques(self) -> list[Step]:
        """Each torque that follows, from a motion in which only its own terminal is free to be chosen."""
        basis = self._torque_basis()
        rest = [name for name in self.motions.terminals.names if name not in basis and name not in self.motions.standing]
        if not basis or not rest:
            return []
        known = speeds_with_motions(self.motions, dict.fromkeys(basis, Fraction(1)))
        steps = []
        for terminal in basis:
            shares = {name: -known.fixed_by[name].get(terminal, Fraction(0)) for name in rest}
            pushing = {name: share for name, share in shares.items() if share}
            others = [name for name in basis if name != terminal]
            words = self._one_turn(terminal, others)
            if not pushing:
                steps.append(
                    Step(
                        StoryPart.TORQUE,
                        say(
                            "{words}: nothing else at the ends turns, so {driver} bears no torque.",
                            words=words,
                            driver=self.words(terminal),
                        ),
                    )
                )
                continue
            turns = [
                say("{shaft} makes {turns}", shaft=self.words(name), turns=decimal(-share, 4))
                for name, share in pushing.items()
            ]
            words += say(": {turns}. The gears keep no power, so torque times speed adds to zero.", turns=listed(turns))
            steps.append(Step(StoryPart.TORQUE, words, tuple(self._torque_formulas(terminal, pushing, basis))))
        return steps

    def _torque_basis(self) -> tuple[str, ...]:
        """Terminals whose torques follow: where possible none of them the input, whose torque is then one of those given."""
        choices = [choice for choice in self.motions.choices if not set(choice) & set(self.motions.terminals.inputs)]
        order = [*self.motions.terminals.machines, *self.motions.terminals.outputs, *self.motions.terminals.inputs]
        best = min(choices or self.motions.choices, key=lambda choice: [order.index(name) for name in choice], default=())
        return tuple(sorted(best, key=order.index))

    def _torque_formulas(self, terminal: str, shares: dict[str, Fraction], basis: tuple[str, ...]) -> list[Maths]:
        own = _torque(terminal)
        formulas = [equation(own, _sum([(share, number(abs(share)), name) for name, share in shares.items()], _torque))]
        terms = []
        for name in shares:
            by = speeds_with_motions(self.motions, dict.fromkeys(basis, Fraction(1))).fixed_by[name]
            made = relation(
                self.motions.terminals, self.motions.engaged, name, {other: by.get(other, Fraction(0)) for other in basis}
            )
            if made is None:
                return formulas
            terms.append((Fraction(-1), written(made.factors[terminal]), name))
        line = equation(own, _sum(terms, _torque))
        if any(letter in line.text for letter in "SR") and len(line.text) <= _LONGEST_FORMULA:
            formulas.append(line)
        return formulas


def written(quotient: Quotient) -> Maths:
    """Return a formula in tooth symbols as it is printed in a story.

    Args:
        quotient: the formula.
    """
    text = quotient.text().replace("*", "·").replace("-", MINUS)
    return Maths(text, quotient.latex(), " " in text and not text.startswith("("), "/" in text)


def _torque(name: str) -> Maths:
    shown = say(name) if name in RESERVED_SHAFTS else member_label(name)
    return Maths(f"T({shown})", rf"T_{{\text{{{shown}}}}}")


def _sum(terms: list[tuple[Fraction, Maths, str]], of: object = None) -> Maths:
    quantity = speed if of is None else _torque
    parts = []
    for sign, size, name in terms:
        if size.text == "0":
            continue
        if size.text.startswith(MINUS) and not size.is_sum:
            # A minus of its own goes to the sign between the terms.
            sign, size = -sign, Maths(size.text[1:], size.latex.removeprefix("-"), False, size.is_quotient)
        factors = [] if size.text == "1" else [size]
        parts.append((1 if sign > 0 else -1, product(*factors, quantity(name))))
    return total(parts) if parts else number(0)


def _has_teeth(made: Relation) -> bool:
    return any(product_ for factor in made.factors.values() for product_, _ in (*factor.numerator, *factor.denominator))


def _count(value: int) -> str:
    return say("none") if value == 0 else count_words(value)

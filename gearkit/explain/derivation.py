"""From moves to steps: each speed with its reason, its equation and its numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from gearkit.explain.chain import Closing, Move, SetMove, Together
from gearkit.explain.clauses import (
    by_rank,
    form_words,
    knows,
    others_on,
    speed_words,
    with_others,
)
from gearkit.explain.formulas.equations import (
    closing_formulas,
    gathered,
    in_numbers,
    letter_result,
    move_formulas,
    symbolic,
    unlike,
)
from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import Maths, equation, result, speed
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.text.phrases import capital, count_words, listed, member_words, sentence, set_words, sets_words
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT


class Derivation:
    """Tells moves one after the other and remembers where each speed came from.

    Args:
        merged: the shafts.
        known: an end (input, output or housing) -> its speed at the start.
        part: the part of the story that the steps belong to.
        unit: the end that makes one turn.
    """

    def __init__(self, merged: Merged, known: Mapping[str, Fraction], part: StoryPart, unit: str = INPUT) -> None:
        self.merged = merged
        self.part = part
        self.unit = unit
        self._moved = False
        self._open_letters: tuple[str, ...] = ()
        self._origins: dict[str, str] = {}
        for end in known:
            self._origins.setdefault(merged.root(end), end)
        if merged.ground in self._origins:
            self._origins[merged.ground] = HOUSING
        self._assumed = {end: value for end, value in known.items() if end != HOUSING}
        self.speeds = {merged.root(end): value for end, value in known.items()}

    def start(self, words: str) -> Step:
        """Return the step that says what is known at the start.

        Args:
            words: what is put in, such as "The input makes one turn".
        """
        sentences = [words]
        for root, value in self.speeds.items():
            origin = self._origins[root]
            rest = others_on(self.merged.members(root), [origin])
            if not rest:
                continue
            sentences.append(sentence(_goes_along(rest, value, origin)))
        given = {member: value for root, value in self.speeds.items() for member in self.merged.members(root)}
        words = " ".join(sentences)
        return Step(self.part, words, gives=given, assumes=self._assumed, engaged=self.merged.engaged)

    def steps(self, moves: Iterable[Move]) -> list[Step]:
        """Return the steps of moves, each of which uses only what is known before it."""
        steps: list[Step] = []
        for move in moves:
            steps += [self._set_step(move)] if isinstance(move, SetMove) else self._together(move)
            self._moved = True
        return steps

    def _set_step(self, move: SetMove) -> Step:
        merged, name = self.merged, move.set_name
        member = f"{name}.{move.member}"
        others = [member for member in MEMBERS if member != move.member]
        clauses = [self._clause(f"{name}.{member}", move.speeds[member]) for member in others]
        value = move.value
        outcome = speed_words(value.constant, self.unit) if value.known else say("turns at {form}", form=form_words(value))
        mates = others_on(merged.members(move.root), [member])
        goes = say(", and {mates} with it", mates=listed(mates)) if mates else ""
        # A clause that ends in "which ..." is closed by a comma before the next one.
        first, second = clauses
        standing = move.speeds[others[0]].known and self._origins[merged.root(f"{name}.{others[0]}")] == OUTPUT
        if standing and not move.speeds[others[0]].constant:
            both = say("{first}, and {second}", first=first, second=second)
        else:
            both = say("{first} and {second}", first=first, second=second)
        words = sentence(
            say(
                "{name}: {both}, so the {member} {outcome}{goes}",
                name=set_words(name),
                both=both,
                member=say(move.member),
                outcome=outcome,
                goes=goes,
            )
        )
        self._origins[move.root] = member
        on_shaft = merged.members(move.root)
        uses = tuple(f"{name}.{member}" for member in others)
        # Inside sets that are solved together the equation stands in the step that names them.
        formulas = move_formulas(merged.layout, move, told=bool(self._open_letters))
        if value.known and not self._open_letters:
            self.speeds[move.root] = value.constant
            return Step(self.part, words, formulas, uses, dict.fromkeys(on_shaft, value.constant), sets=(name,))
        return Step(self.part, words, formulas, uses, forms=dict.fromkeys(on_shaft, value), sets=(name,))

    def _clause(self, member: str, form: Form) -> str:
        return knows(self.merged, member, form, self._origins[self.merged.root(member)], self.unit)

    def _together(self, move: Together) -> list[Step]:
        steps = [self._why_together(move)]
        for letter, root in move.letters.items():
            steps.append(self._call(letter, root))
            self._origins[root] = by_rank(self.merged.members(root))[-1]
        if move.letters:
            self._open_letters = tuple(move.letters)
            steps += self._by_letters(move)
            self._open_letters = ()
        outcome = self._outcome(move)
        for root, value in move.values.items():
            self.speeds[root] = value
            self._origins[root] = self._first_of(root, move.sets)
        return [*steps, outcome]

    def _first_of(self, root: str, sets: Sequence[str]) -> str:
        members = self.merged.members(root)
        return next((member for member in members if member.split(".")[0] in sets), members[0])

    def _why_together(self, move: Together) -> Step:
        merged, count = self.merged, len(move.sets)
        unknown = [with_others(self._first_of(root, move.sets), merged.members(root)) for root in move.unknown]
        words = (
            say(
                "No further set has two members whose speeds are known. {sets} have to be solved together: {equations} equations for {speeds} unknown speeds, those of {unknown}.",
                sets=capital(sets_words(move.sets)),
                equations=count_words(count),
                speeds=count_words(len(unknown)),
                unknown=listed(unknown),
            )
            if self._moved
            else say(
                "No single set has two members whose speeds are known. {sets} have to be solved together: {equations} equations for {speeds} unknown speeds, those of {unknown}.",
                sets=capital(sets_words(move.sets)),
                equations=count_words(count),
                speeds=count_words(len(unknown)),
                unknown=listed(unknown),
            )
        )
        forms = {root: Form(value) for root, value in self.speeds.items()}
        formulas: list[Maths] = []
        used: list[str] = []
        for name in move.sets:
            own = merged.roots(name)
            used += [f"{name}.{member}" for member, root in own.items() if root in forms]
            numbers = in_numbers(merged.layout, name, {member: forms.get(root) for member, root in own.items()})
            formulas += [*unlike(symbolic(merged.layout, name), numbers), numbers]
        return Step(self.part, words, tuple(formulas), tuple(used), sets=move.sets)

    def _call(self, letter: str, root: str) -> Step:
        members = by_rank(self.merged.members(root))
        name = members[-1]
        rest = others_on(members, [name])
        goes = say_n("{members} turns with it", "{members} turn with it", len(rest), members=listed(rest))
        also = " " + sentence(goes) if rest else ""
        form = Form(Fraction(0), ((letter, Fraction(1)),))
        words = say("Call the speed of {name} {letter}.{also}", name=member_words(name), letter=letter, also=also)
        return Step(self.part, words, forms=dict.fromkeys(members, form), letters={letter: name})

    def _by_letters(self, move: Together) -> list[Step]:
        steps = [self._set_step(inner) for inner in move.moves]
        steps += [self._closing(closing, len(move.closings) == 1) for closing in move.closings]
        values = {letter: move.values[root] for letter, root in move.letters.items()}
        formulas = [letter_result(letter, value) for letter, value in values.items()]
        if len(values) == 1:
            last = steps[-1]
            steps[-1] = Step(last.part, last.words, (*last.formulas, *formulas), last.uses, sets=last.sets)
        else:
            both = tuple(gathered(closing.condition) for closing in move.closings)
            words = say("Two equations for {values} are left; together they give {values}.", values=listed(values))
            steps.append(Step(self.part, words, (*both, *formulas)))
        return steps

    def _closing(self, closing: Closing, only: bool) -> Step:
        name = closing.set_name
        clauses = [self._clause(f"{name}.{member}", closing.speeds[member]) for member in MEMBERS]
        letters = listed(letter for letter, _ in closing.condition.parts)
        gives = (
            say("its equation gives {letters}", letters=letters)
            if only
            else say("its equation holds only {letters}", letters=letters)
        )
        words = sentence(
            say(
                "{name} comes last: {first} and {last}; {gives}",
                name=set_words(name),
                first=", ".join(clauses[:-1]),
                last=clauses[-1],
                gives=gives,
            )
        )
        uses = tuple(f"{name}.{member}" for member in MEMBERS)
        return Step(self.part, words, closing_formulas(self.merged.layout, closing), uses, sets=(name,))

    def _outcome(self, move: Together) -> Step:
        merged = self.merged
        given: dict[str, Fraction] = {}
        words, formulas = [], []
        for root, value in move.values.items():
            name = self._first_of(root, move.sets)
            words.append(f"{with_others(name, merged.members(root))} {speed_words(value, self.unit)}")
            formulas.append(equation(speed(name), *result(value)))
            given |= dict.fromkeys(merged.members(root), value)
        start = say("So") if move.letters else say("Solved together they give:")
        missing = [root for root in move.unknown if root not in move.values]
        more = (" " + say("The speed of {missing} stays open.", missing=listed(map(member_words, missing)))) if missing else ""
        return Step(self.part, sentence(f"{start} {'; '.join(words)}") + more, tuple(formulas), gives=given, sets=move.sets)


def _goes_along(members: Sequence[str], speed: Fraction, origin: str) -> str:
    """What members do that are on the shaft of something whose speed is given."""
    told = {"members": listed(members), "origin": member_words(origin)}
    if origin == HOUSING:
        return say_n("{members} stands still", "{members} stand still", len(members), **told)
    if speed:
        return say_n("{members} turns with {origin}", "{members} turn with {origin}", len(members), **told)
    return say_n("{members} stands with {origin}", "{members} stand with {origin}", len(members), **told)

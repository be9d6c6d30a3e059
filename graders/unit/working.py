"""The steps of a derivation as lines of Python that a learner could have written: one line a set, then the ratio.

Sets that have to be solved together get the letters of the story as symbols, and their closing equation is solved. So a
worked cell repeats the derivation above it and takes no result from the solver; the solver only checks the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step
from gearkit.solve.ratios import tooth_symbols
from gearkit.text.phrases import member_words
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import say
from gearkit.words.terms import MEMBERS, PinionKind
from graders.unit.facts import Facts, RangeFact

TURN, STILL = "n_in", "still"


@dataclass(frozen=True)
class Line:
    """One line of a worked example.

    Args:
        left: what it finds, such as "carrier_1".
        right: how.
        remark: what stands behind it, or "".
    """

    left: str
    right: str
    remark: str = ""

    def __str__(self) -> str:
        return f"{self.left} = {self.right}" + (f"  # {self.remark}" if self.remark else "")

    def open(self, wish: str) -> str:
        """Return the line as one to fill in.

        Args:
            wish: what a learner should write there.
        """
        return f"{self.left.strip('[]')} = ...  # {wish}"


@dataclass(frozen=True)
class Working:
    """A derivation in Python.

    Args:
        teeth: lines with tooth counts and what is known.
        lines: one for each thing that is found.
        last: the line that gives the ratio.
        name: the variable of the ratio.
        symbols: whether letters stand for unknown speeds.
    """

    teeth: tuple[str, ...]
    lines: tuple[Line, ...]
    last: Line
    name: str
    symbols: bool


def working(facts: Facts, fact: RangeFact) -> Working:
    """Return the derivation of a range as Python.

    Args:
        facts: the layout.
        fact: the range.
    """
    return _Writer(facts, fact).whole()


def exact(value: Fraction) -> str:
    """Return a number as Python writes it exactly."""
    return str(value.numerator) if value.denominator == 1 else f"Fraction({value.numerator}, {value.denominator})"


class _Writer:
    def __init__(self, facts: Facts, fact: RangeFact) -> None:
        self._facts, self._fact = facts, fact
        self._merged = Merged(facts.layout, fact.story.engaged)
        self._names = {self._merged.input: TURN, self._merged.ground: STILL}
        self._letters: dict[str, str] = {}
        self._in_letters: list[str] = []
        self._lines: list[Line] = []
        self._closings: list[str] = []
        self._any_letters = False

    def whole(self) -> Working:
        sets: list[str] = []
        for step in self._fact.chain:
            sets += [name for name in step.sets if name not in sets]
            self._take(step)
        name = "i_" + ("".join(c for c in self._fact.name if c.isascii() and c.isalnum()) or "range")
        output = self._names.get(self._merged.output, TURN)
        last = Line(name, f"{TURN} / {output}" if output != TURN else TURN)
        teeth = [line for line in map(self._teeth, sets) if line]
        return Working(
            (*teeth, f"{TURN}, {STILL} = Fraction(1), Fraction(0)"), tuple(self._lines), last, name, self._any_letters
        )

    def _teeth(self, name: str) -> str:
        """The tooth counts that a set brings into its equation."""
        pset, suffix = self._facts.layout.set_named(name), self._facts.suffixes[name]
        if pset.pinions is PinionKind.BEVEL:
            return ""
        sun, ring = pset.teeth
        letters, counts = [f"S{suffix}", f"R{suffix}"], [sun, ring]
        if pset.pinions is PinionKind.STEPPED:
            letters += [f"P{suffix}", f"Q{suffix}"]
            counts += [pset.sun_pinion_teeth or 0, pset.ring_pinion_teeth or 0]
        return f"{', '.join(letters)} = {', '.join(map(str, counts))}"

    def _take(self, step: Step) -> None:
        if step.letters:
            self._any_letters = True
            for letter, member in step.letters.items():
                self._letters[letter] = self._merged.root(member)
                self._names[self._merged.root(member)] = letter
                self._lines.append(Line(letter, f'Symbol("{letter}")', say("speed of {member}", member=member_words(member))))
        elif len(step.sets) == 1 and len(step.uses) == 2:
            self._one_set_solved(step)
        elif len(step.sets) == 1 and len(step.uses) == 3:
            self._closings.append(self._equation(step.sets[0]))
            if len(self._closings) == len(self._letters):
                self._solve()
        elif len(step.sets) > 1 and step.gives and not self._closings:
            self._all_at_once(step)
        elif len(step.sets) > 1 and step.gives:
            self._put_in(step)

    def _one_set_solved(self, step: Step) -> None:
        name = step.sets[0]
        [member] = [member for member in MEMBERS if f"{name}.{member}" not in step.uses]
        root = self._merged.root(f"{name}.{member}")
        line = Line(self._name(root, f"{name}.{member}"), self._solved_for(name, member))
        self._lines.append(line)
        if step.forms:
            self._in_letters.append(root)

    def _name(self, root: str, member: str) -> str:
        if root not in self._names:
            pset, part = member.split(".")
            self._names[root] = "output" if root == self._merged.output else f"{part}_{self._facts.suffixes[pset]}"
        return self._names[root]

    def _solve(self) -> None:
        letters = list(self._letters)
        if len(letters) == 1:
            self._lines.append(Line(f"[{letters[0]}_found]", f"solve({self._closings[0]}, {letters[0]})"))
            return
        self._lines.append(Line("found", f"solve([{', '.join(self._closings)}], [{', '.join(letters)}])"))
        self._lines += [Line(f"{letter}_found", f"found[{letter}]") for letter in letters]

    def _put_in(self, step: Step) -> None:
        """After solving: the numbers for whatever is needed further on."""
        letters = list(self._letters)
        given = ", ".join(f"({letter}, {letter}_found)" for letter in letters)
        wanted = [root for root in self._in_letters if root in {self._merged.root(member) for member in step.gives}]
        for letter, root in self._letters.items():
            self._names[root] = f"{letter}_found"
        for root in wanted:
            name = self._names[root]
            if root == self._merged.output or self._used_later(root, step):
                self._lines.append(Line(name, f"{name}.subs([{given}])"))
        self._letters, self._in_letters, self._closings = {}, [], []

    def _used_later(self, root: str, step: Step) -> bool:
        chain = self._fact.chain
        later = chain[chain.index(step) + 1 :]
        return any(self._merged.root(member) == root for later_step in later for member in later_step.uses)

    def _all_at_once(self, step: Step) -> None:
        """Sets without an order of their own: every unknown speed is a symbol."""
        self._any_letters = True
        roots = list(dict.fromkeys(self._merged.root(member) for member in step.gives))
        names = [self._name(root, next(m for m in self._merged.members(root) if m.count(".") == 1)) for root in roots]
        self._lines.append(Line(", ".join(names), f'symbols("{" ".join(names)}")'))
        closings = ", ".join(self._equation(name) for name in step.sets)
        self._lines.append(Line("found", f"solve([{closings}], [{', '.join(names)}])"))
        self._lines += [Line(name, f"found[{name}]") for name in names]

    def _equation(self, name: str) -> str:
        """A set's equation as a difference that has to be nothing."""
        sun, ring = self._weights(name)
        speeds = {member: self._names[self._merged.root(f"{name}.{member}")] for member in MEMBERS}
        carrier = f"{self._sum(name)}*{speeds['carrier']}"
        return f"{self._left(name, sun, ring, speeds)} - {carrier}"

    def _left(self, name: str, sun: str, ring: str, speeds: dict[str, str]) -> str:
        sun_term, ring_term = (
            f"{weight}*{speeds[member]}" if weight else speeds[member] for weight, member in ((sun, "sun"), (ring, "ring"))
        )
        return f"{ring_term} - {sun_term}" if self._double(name) else f"{sun_term} + {ring_term}"

    def _solved_for(self, name: str, member: str) -> str:
        sun, ring = self._weights(name)
        speeds = {part: self._names.get(self._merged.root(f"{name}.{part}"), "") for part in MEMBERS}
        if member == "carrier":
            return f"({self._left(name, sun, ring, speeds)}) / {self._sum(name)}"
        own, other, rest = (sun, ring, "ring") if member == "sun" else (ring, sun, "sun")
        term = f"{other}*{speeds[rest]}" if other else speeds[rest]
        carrier = f"{self._sum(name)}*{speeds['carrier']}"
        if not self._double(name):
            top = f"{carrier} - {term}"
        else:
            top = f"{term} - {carrier}" if member == "sun" else f"{carrier} + {term}"
        return f"({top}) / {self._bracketed(own)}" if own else top

    def _weights(self, name: str) -> tuple[str, str]:
        sun, ring = ("*".join(names) for _, names in tooth_symbols(self._facts.layout)[name])
        return sun, ring

    def _sum(self, name: str) -> str:
        sun, ring = self._weights(name)
        if not sun:
            return "2"
        return f"({ring} - {sun})" if self._double(name) else f"({sun} + {ring})"

    def _double(self, name: str) -> bool:
        pset: PlanetarySet = self._facts.layout.set_named(name)
        return pset.pinions is PinionKind.DOUBLE

    @staticmethod
    def _bracketed(weight: str) -> str:
        return f"({weight})" if "*" in weight else weight

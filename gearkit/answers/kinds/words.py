"""Answers in words: one of several options, some of them, or all of them in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gearkit.answers.judge.checkers import RIGHT, WRONG, Judgement, Pattern, Reading
from gearkit.answers.judge.claims import Relation
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.read.names import plain
from gearkit.words.errors import AnswerError
from gearkit.words.say import say

# No word for nothing is longer, and no long text is taken apart to see whether it is one.
_LONGEST_NOTHING = 40
_NOTHING = frozenset({"none", "nothing", "0", "noneofthem", "noneofthese"})


class _Chosen:
    """What checkers of one choice and of several have in common: content is compared as it is, and no pattern is known."""

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong choice.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return bool(reading.content == wrong)

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Nothing general can be said about a wrong choice."""
        return ()


@dataclass(frozen=True)
class ChoiceChecker(_Chosen):
    """One option is asked for.

    Args:
        choices: what can be chosen from.
        right: the right option.
    """

    choices: Choices
    right: str

    def read(self, text: str) -> Reading:
        """Read one option; AnswerError where it fits none."""
        option = self.choices.find(text)
        return Reading(say(option), option)

    def judge(self, reading: Reading) -> Judgement:
        """Say whether it is the right option."""
        return RIGHT if reading.content == self.right else WRONG

    def right_text(self) -> str:
        """Return the right option."""
        return self.choices.label(self.right)

    def wrong_text(self, wrong: Any) -> str:
        """Return a wrong option."""
        return self.choices.label(wrong)


@dataclass(frozen=True)
class SeveralChecker(_Chosen):
    """Some of the options are asked for.

    Args:
        choices: what can be chosen from.
        accepted: right selections, the designer's or preferred one first.
        scoring: "ticks" gives each right tick a share and takes one for each wrong tick, a larger one where few options
            are wrong: whoever ticks everything knows nothing; "all" is all or nothing.
        clean: share of the marks that only a faultless selection gets.
        other_remark: what is said to a selection that is right but not the preferred one.
    """

    choices: Choices
    accepted: tuple[frozenset[str], ...]
    scoring: str = "ticks"
    clean: Fraction = Fraction(0)
    other_remark: str = ""

    def read(self, text: str) -> Reading:
        """Read a selection; AnswerError where a word fits no option."""
        if (
            len(text) < _LONGEST_NOTHING
            and plain(text) in (*_NOTHING, plain(say("none")))
            and not any(plain(option) in _NOTHING for option in self.choices.options)
        ):
            return Reading(say("none"), frozenset())
        chosen = frozenset(self.choices.several(text))
        if not chosen:
            raise AnswerError(
                "option", say("Nothing is chosen."), say("Choose from: {shown}; or write none.", shown=self.choices.shown())
            )
        ordered = [option for option in self.choices.options if option in chosen]
        return Reading(", ".join(map(say, ordered)), chosen)

    def judge(self, reading: Reading) -> Judgement:
        """Say how much of the selection is right."""
        if reading.content in self.accepted:
            other = reading.content != self.accepted[0]
            return Judgement(
                Fraction(1),
                self.other_remark if other else "",
                says=(Relation.ALSO_RIGHT,) if other and self.other_remark else (),
            )
        shares = self.tick_shares()
        return Judgement(max(Fraction(0), sum((shares[tick] for tick in reading.content), Fraction(0)))) if shares else WRONG

    def tick_shares(self) -> dict[str, Fraction]:
        """Return the share of the marks that each tick of a faulty selection earns or costs; nothing where it is all or none."""
        options, wanted = self.choices.options, self.accepted[0]
        if self.scoring == "all" or not wanted:
            return {}
        # All wrong ticks together cost at least what all right ones earn.
        earns = (1 - self.clean) / len(wanted)
        costs = (1 - self.clean) / max(1, min(len(wanted), len(options) - len(wanted)))
        return {option: earns if option in wanted else -costs for option in options}

    def right_text(self) -> str:
        """Return the right selection."""
        return self.wrong_text(self.accepted[0])

    def wrong_text(self, wrong: Any) -> str:
        """Return a selection as text."""
        return ", ".join(self.choices.label(option) for option in self.choices.options if option in wrong) or say("none")


@dataclass(frozen=True)
class OrderChecker:
    """All options in order are asked for.

    Args:
        choices: what is to be put in order.
        order: the right order.
        marks: marks of the part; one is lost for each neighbour swap that is still needed.
    """

    choices: Choices
    order: tuple[str, ...]
    marks: int

    def read(self, text: str) -> Reading:
        """Read an order; AnswerError unless each option is named once."""
        order = self.choices.several(text)
        missing = [self.choices.label(option) for option in self.choices.options if option not in order]
        if missing or len(order) != len(self.order):
            problem = say("{options} is missing", options=", ".join(missing)) if missing else say("one is named twice")
            raise AnswerError(
                "option",
                say("In the order, {problem}.", problem=problem),
                say("Name each one once, first to last, with commas between."),
            )
        return Reading(", ".join(self.choices.label(option) for option in order), order)

    def judge(self, reading: Reading) -> Judgement:
        """Say how many neighbour swaps are still needed."""
        swaps = self._swaps(reading.content)
        if not swaps:
            return RIGHT
        remark = say("Two neighbours have to change places.") if swaps == 1 else ""
        return Judgement(self.share(reading.content), remark, says=(Relation.ONE_SWAP,) if remark else ())

    def share(self, order: Sequence[str]) -> Fraction:
        """Return the share of the marks that an order earns.

        Args:
            order: all options, first to last.
        """
        return max(Fraction(0), Fraction(self.marks - self._swaps(order), self.marks))

    def _swaps(self, order: Sequence[str]) -> int:
        places = [self.order.index(option) for option in order]
        return sum(first > second for number, first in enumerate(places) for second in places[number + 1 :])

    def agrees(self, reading: Reading, wrong: Any) -> bool:
        """Return whether it is the given wrong order.

        Args:
            reading: what was read.
            wrong: the wrong content.
        """
        return tuple(reading.content) == tuple(wrong)

    def patterns(self, reading: Reading) -> tuple[Pattern, ...]:
        """Return that the whole order is reversed, where it is."""
        if tuple(reading.content) == self.order[::-1]:
            return (Pattern("RECIP", say("The whole order is reversed."), Relation.REVERSED),)
        return ()

    def right_text(self) -> str:
        """Return the right order."""
        return self.wrong_text(self.order)

    def wrong_text(self, wrong: Any) -> str:
        """Return an order as text."""
        return ", ".join(self.choices.label(option) for option in wrong)

"""What every prediction task is made of; pure Python, so that a task is tested and used without a browser.

A task has *settings* that a learner may change, *asks* that must be answered before anything is revealed, a scene that
is shown before and a scene that is shown after. Settings that belong to the *case* close the result when they change;
the others may be moved while it is open. A task may let the learner do a few *steps* before predicting, such as trying
a range and reading two speeds.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.lesson.panels.figures import figure_of
from gearkit.text.phrases import fixed, localized, named_in_a_sentence, shown_word
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.say import say

Value = str | Fraction | tuple[str, ...]


@dataclass(frozen=True)
class Choice:
    """A setting that is one of several words.

    Args:
        name: by which the task knows it.
        label: what the learner reads.
        options: the words.
        start: the word to begin with.
    """

    name: str
    label: str
    options: tuple[str, ...]
    start: str

    def taken(self, raw: object) -> Value:
        """Return a value from the browser or from Python, checked.

        Raises:
            UsageError: it is none of the options.
        """
        if str(raw) not in self.options:
            raise UsageError(f"{self.label}: {raw!r}; choose from: {', '.join(self.options)}.")
        return str(raw)


@dataclass(frozen=True)
class Ticks:
    """A setting that is any number of several things.

    Args:
        name: by which the task knows it.
        label: what the learner reads.
        options: short name -> words beside it.
        start: short names that are ticked to begin with.
    """

    name: str
    label: str
    options: Mapping[str, str]
    start: tuple[str, ...] = ()

    def taken(self, raw: object) -> Value:
        """Return the ticked names in their order.

        Raises:
            UsageError: a name that is not there.
        """
        given = [str(name) for name in raw] if isinstance(raw, list | tuple | set | frozenset) else str(raw).split()
        for name in given:
            if name not in self.options:
                raise UsageError(f"{self.label}: {name!r}; choose from: {', '.join(self.options)}.")
        return tuple(name for name in self.options if name in given)


@dataclass(frozen=True)
class Number:
    """A setting that is a number, moved in steps.

    Args:
        name: by which the task knows it.
        label: what the learner reads.
        unit: unit, or empty.
        low: smallest value.
        high: largest value.
        step: how far one press of an arrow key moves it.
        start: value to begin with.
    """

    name: str
    label: str
    unit: str
    low: Fraction
    high: Fraction
    step: Fraction
    start: Fraction

    def taken(self, raw: object) -> Value:
        """Return the nearest value on the scale.

        Raises:
            UsageError: no number, or one outside the scale.
        """
        try:
            wanted = Fraction(str(raw))
        except (ValueError, ZeroDivisionError):
            raise UsageError(f"{self.label}: {raw!r} is not read as a number.") from None
        if not self.low <= wanted <= self.high:
            limits = say(
                "{low} to {high} {unit}", low=f"{float(self.low):g}", high=f"{float(self.high):g}", unit=self.unit
            ).strip()
            raise UsageError(f"{self.label}: {raw}; choose from {limits}.")
        return self.low + round((wanted - self.low) / self.step) * self.step


Setting = Choice | Ticks | Number


@dataclass(frozen=True)
class Ask:
    """One thing to predict.

    Args:
        name: by which the task knows it.
        label: what the learner reads.
        options: the words to choose from; empty where a figure is asked.
        several: any number of the options, not one.
        unit: unit of a figure.
        example: how a figure may be written.
        near: how far off a figure counts as near, as a share.
        near_by: the same, in the figure's own unit; used where it is not 0.
    """

    name: str
    label: str
    options: tuple[str, ...] = ()
    several: bool = False
    unit: str = ""
    example: str = ""
    near: Fraction = Fraction(5, 100)
    near_by: Fraction = Fraction(0)

    def taken(self, text: str) -> str:
        """Return what was predicted, tidied.

        Raises:
            UsageError: nothing, no option, or no number.
        """
        plain = text.strip()
        if not plain:
            first = (
                say("{label}: choose first; a guess will do.", label=self.label)
                if self.options
                else say("{label}: write a number first; a guess will do.", label=self.label)
            )
            raise UsageError(first)
        if not self.options:
            figure_of(plain, self.unit)
            return plain
        chosen = [word.strip() for word in plain.split(",")] if self.several else [plain]
        for word in chosen:
            if word not in self.options:
                raise UsageError(f"{self.label}: {word!r}; choose from: {', '.join(self.options)}.")
        return ", ".join(word for word in self.options if word in chosen)

    def agrees(self, said: str, right: Fraction | str) -> str:
        """Return in a word or two how a prediction stands to what was right; `SIGNS` of the panel has them all.

        Args:
            said: the prediction, as ``taken`` returns it.
            right: a number for a figure, else the words.
        """
        if isinstance(right, str):
            return "agrees" if said == right else "differs"
        off = figure_of(said, self.unit) - right
        if abs(off) <= (self.near_by or self.near * abs(right)):
            return "agrees" if not off else "near"
        return "too high" if off > 0 else "too low"


@dataclass(frozen=True)
class Table:
    """A small table.

    Args:
        caption: what it shows.
        head: headings of the columns.
        rows: texts; the first of each row names it.
        marked: numbers of the rows that stand out.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    marked: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Scene:
    """What is shown.

    Args:
        words: a sentence or two that say all that matters.
        tables: tables.
        pictures: SVG texts, each with its own text alternative.
    """

    words: str
    tables: tuple[Table, ...] = ()
    pictures: tuple[str, ...] = ()


@dataclass(frozen=True)
class Setup:
    """The settings as they stand.

    Args:
        values: name of a setting -> its value.
        steps: what was tried before predicting, each the settings of that moment.
        opened: cases that were predicted so far; of others nothing is shown.
    """

    values: Mapping[str, Value]
    steps: tuple[Mapping[str, Value], ...] = ()
    opened: tuple[str, ...] = ()

    def word(self, name: str) -> str:
        """Return a choice."""
        value = self.values[name]
        assert isinstance(value, str)
        return value

    def number(self, name: str) -> Fraction:
        """Return a number."""
        value = self.values[name]
        assert isinstance(value, Fraction)
        return value

    def names(self, name: str) -> tuple[str, ...]:
        """Return what is ticked."""
        value = self.values[name]
        assert isinstance(value, tuple)
        return value


def short_name(layout: Layout) -> str:
    """Return the name of a layout up to its colon, as the record names what was predicted."""
    return layout.said_short


def called(layout: Layout) -> str:
    """Return what a layout is called in a sentence: its short name, or "this train" where its name is a description."""
    return named_in_a_sentence(layout.name)


def begun(layout: Layout) -> str:
    """Return the same for the beginning of a sentence."""
    return named_in_a_sentence(layout.name, say("This train"))


class PredictionTask(ABC):
    """One prediction task.

    Args:
        title: what it is about, such as "torques of Q36"; the record keeps predictions under it.
        invitation: what to do before the reveal.
        settings: what can be set.
        layout: the layout that it is about, if any.
    """

    action = ""
    budget = 0

    def __init__(self, title: str, invitation: str, settings: tuple[Setting, ...], layout: Layout | None = None) -> None:
        self.title = title
        self.heading = title if layout is None else title.replace(short_name(layout), called(layout))
        self.invitation = invitation
        self.settings = settings

    def start(self) -> Setup:
        """Return the settings to begin with."""
        return Setup({setting.name: setting.start for setting in self.settings})

    def setting(self, name: str) -> Setting:
        """Return a setting by its name.

        Raises:
            UsageError: there is no such setting.
        """
        for setting in self.settings:
            if setting.name == name:
                return setting
        raise UsageError(f"No setting {name!r}; there are: {', '.join(each.name for each in self.settings)}.")

    @abstractmethod
    def case(self, setup: Setup) -> str:
        """Return the case in words; a prediction is made for it and opens it."""

    @abstractmethod
    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return what has to be predicted."""

    @abstractmethod
    def given(self, setup: Setup) -> Scene:
        """Return what is shown before the reveal."""

    @abstractmethod
    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return what is found for each ask: a number for a figure, else one of its options."""

    @abstractmethod
    def found(self, setup: Setup) -> Scene:
        """Return what is shown after the reveal."""

    def shown(self, ask: Ask, value: Fraction | str) -> str:
        """Return a finding as text.

        Args:
            ask: what was asked.
            value: what was found.
        """
        if isinstance(value, str):
            return shown_word(value)
        digits = 3 if abs(value) < 10 else 1 if abs(value) < 10_000 else 0
        text = f"{float(value):.{digits}f}".rstrip("0").rstrip(".") if digits else fixed(float(value), 0)
        return f"{localized(text)} {say(ask.unit)}".strip().replace("-", "−")

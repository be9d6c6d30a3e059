"""How an item, or one part of it, is answered: each kind with all that other folders have to know of it, said here alone.

Whoever shows, picks, draws or reports an exercise asks a kind for its traits; `tests/house/test_registries.py` finds lists
of kinds anywhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum


class Form(StrEnum):
    """How an answer is put in."""

    TEXT = "text"
    ONE = "one"
    SEVERAL = "several"
    ORDER = "order"


class Effort(Enum):
    """What an answer takes, as minutes a mark: the kit's estimate (common practice, no source).

    A choice is read and made, a number is worked out, a table or a formula is worked out and written down. What a class
    really needs, only the class can show.
    """

    CHOSEN = 1.0
    WORKED_OUT = 1.5
    WRITTEN_DOWN = 2.0


class Drawing(Enum):
    """What the layout's drawing does for a question: nothing, it helps, or it would tell the answer."""

    NONE = "none"
    HELPS = "helps"
    TELLS = "tells"


@dataclass(frozen=True)
class Traits:
    """What one kind of answer looks like and is like.

    Args:
        form: how it is put in; a text where there is nothing to choose from.
        write: what a box for it says, such as "a number".
        effort: what it takes.
        signs: True where it is in digits and letters, False where it is in words.
        formula: True where it reads better set as a formula.
        read_as_formula: True where the form sets what it read as a formula.
        size: True where it is one number whose size can be compared among draws.
        decimal: True where it is worked out with decimals.
        telling: True where it is one of so many numbers that somebody else's same one means something.
        whole: True where it is a whole number of things, which has no sign.
        ratios: True where it is an exact ratio, or a table of them.
        wide: True where its box on paper needs a whole line.
        drawing: what the layout's drawing does for it.
        rows: the word of the kind that its parts have where it is a grid of a kind of its own.
    """

    form: Form = Form.ONE
    write: str = ""
    effort: Effort = Effort.WRITTEN_DOWN
    signs: bool = False
    formula: bool = False
    read_as_formula: bool = False
    size: bool = False
    decimal: bool = False
    telling: bool = False
    whole: bool = False
    ratios: bool = False
    wide: bool = False
    drawing: Drawing = Drawing.NONE
    rows: str = ""


_CHOICE = Traits(effort=Effort.CHOSEN)


class AnswerKind(StrEnum):
    """How an item, or one part of it, is answered; its word stands in files, its traits beside it."""

    traits: Traits

    def __new__(cls, word: str, traits: Traits) -> AnswerKind:
        """Keep the traits with the word."""
        kind = str.__new__(cls, word)
        kind._value_ = word
        kind.traits = traits
        return kind

    EXPRESSION = (
        "symbolic expression",
        Traits(Form.TEXT, "a formula", signs=True, formula=True, read_as_formula=True, wide=True),
    )
    EXACT_RATIO = (
        "exact ratio",
        Traits(
            Form.TEXT,
            "such as 7/4",
            Effort.WORKED_OUT,
            signs=True,
            formula=True,
            read_as_formula=True,
            size=True,
            telling=True,
            ratios=True,
            drawing=Drawing.HELPS,
        ),
    )
    DECIMAL = (
        "decimal",
        Traits(
            Form.TEXT,
            "a number",
            Effort.WORKED_OUT,
            signs=True,
            formula=True,
            size=True,
            decimal=True,
            telling=True,
            drawing=Drawing.HELPS,
        ),
    )
    INTEGER = (
        "integer",
        Traits(Form.TEXT, "a whole number", Effort.WORKED_OUT, signs=True, formula=True, size=True, whole=True),
    )
    TORQUE = (
        "torque",
        Traits(
            Form.TEXT,
            "such as 120 N·m",
            Effort.WORKED_OUT,
            signs=True,
            formula=True,
            size=True,
            decimal=True,
            telling=True,
            drawing=Drawing.HELPS,
        ),
    )
    DIRECTION = "direction", _CHOICE
    DIRECTION_GRID = "direction grid", Traits(rows="direction")
    MEMBER_CHOICE = "member choice", _CHOICE
    RATIO_TABLE = "ratio table", Traits(Form.TEXT, formula=True, ratios=True, drawing=Drawing.HELPS)
    DIMENSION_TABLE = "dimension table", Traits(Form.TEXT, formula=True)
    SPEED_TABLE = "speed table", Traits(Form.TEXT, formula=True, decimal=True, drawing=Drawing.HELPS)
    CHART_GRID = "clutch-chart grid", Traits(Form.SEVERAL, drawing=Drawing.HELPS)
    CLASSIFICATION_GRID = "classification grid", Traits(drawing=Drawing.TELLS)
    CHOICE_GRID = "choice grid", Traits(drawing=Drawing.TELLS)
    ORDERING = "ordering", Traits(Form.ORDER, wide=True)
    DESIGN = "tooth-count design", Traits(Form.TEXT, "a whole number")
    DIAGNOSIS = "diagnosis", Traits(drawing=Drawing.TELLS, wide=True)
    CHOICE = "choice", _CHOICE
    MULTIPLE_CHOICE = "multiple choice", Traits(Form.SEVERAL, effort=Effort.CHOSEN, wide=True)
    WRONG_LINE = "wrong line", _CHOICE
    STEPS = "steps in order", Traits(Form.ORDER)
    # Which line is asked differs among draws, so that their sizes say nothing.
    NEXT_LINE = "next line", Traits(Form.TEXT, "a number", Effort.CHOSEN, formula=True, decimal=True)
    REASON = "reason", _CHOICE
    PICTURE = "picture choice", _CHOICE

    @property
    def of_each_part(self) -> AnswerKind:
        """The kind of one choice, or of one row of a grid: itself where one option is chosen, else a plain choice."""
        if self.traits.rows:
            return next(kind for kind in AnswerKind if kind == self.traits.rows)
        chosen = self.traits.form is Form.ONE and self.traits.effort is Effort.CHOSEN
        return self if chosen else AnswerKind.CHOICE

"""What each kind of answer looks like wherever it is asked, drawn up or reported: said once, here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from gearkit.answers.items import AnswerKind


class Form(StrEnum):
    """How an answer is put in."""

    TEXT = "text"
    ONE = "one"
    SEVERAL = "several"
    ORDER = "order"


@dataclass(frozen=True)
class AnswerForm:
    """What one kind of answer looks like.

    Args:
        form: how it is put in; a text where there is nothing to choose from.
        write: what a box for it says, such as "a number".
        formula: True where it reads better set as a formula.
        read_as_formula: True where the form sets what it read as a formula.
        size: True where it is one number whose size can be compared among draws.
        decimal: True where it is worked out with decimals.
    """

    form: Form = Form.ONE
    write: str = ""
    formula: bool = False
    read_as_formula: bool = False
    size: bool = False
    decimal: bool = False


_NUMBER = AnswerForm(Form.TEXT, "a number", formula=True, size=True, decimal=True)
_CHOICE = AnswerForm()
FORMS: Mapping[AnswerKind, AnswerForm] = MappingProxyType(
    {
        AnswerKind.EXPRESSION: AnswerForm(Form.TEXT, "a formula", formula=True, read_as_formula=True),
        AnswerKind.EXACT_RATIO: AnswerForm(Form.TEXT, "such as 7/4", formula=True, read_as_formula=True, size=True),
        AnswerKind.DECIMAL: _NUMBER,
        # Which line is asked differs among draws, so that their sizes say nothing.
        AnswerKind.NEXT_LINE: AnswerForm(Form.TEXT, "a number", formula=True, decimal=True),
        AnswerKind.INTEGER: AnswerForm(Form.TEXT, "a whole number", formula=True, size=True),
        AnswerKind.TORQUE: AnswerForm(Form.TEXT, "such as 120 N·m", formula=True, size=True, decimal=True),
        AnswerKind.RATIO_TABLE: AnswerForm(Form.TEXT, formula=True),
        AnswerKind.DIMENSION_TABLE: AnswerForm(Form.TEXT, formula=True),
        AnswerKind.SPEED_TABLE: AnswerForm(Form.TEXT, formula=True, decimal=True),
        AnswerKind.DESIGN: AnswerForm(Form.TEXT, "a whole number"),
        AnswerKind.ORDERING: AnswerForm(Form.ORDER),
        AnswerKind.STEPS: AnswerForm(Form.ORDER),
        AnswerKind.MULTIPLE_CHOICE: AnswerForm(Form.SEVERAL),
        AnswerKind.CHART_GRID: AnswerForm(Form.SEVERAL),
        **dict.fromkeys(
            (
                AnswerKind.DIRECTION,
                AnswerKind.DIRECTION_GRID,
                AnswerKind.MEMBER_CHOICE,
                AnswerKind.CLASSIFICATION_GRID,
                AnswerKind.CHOICE_GRID,
                AnswerKind.DIAGNOSIS,
                AnswerKind.CHOICE,
                AnswerKind.WRONG_LINE,
                AnswerKind.REASON,
                AnswerKind.PICTURE,
            ),
            _CHOICE,
        ),
    }
)


def form_of_kind(kind: AnswerKind) -> AnswerForm:
    """Return what a kind of answer looks like.

    Args:
        kind: the kind.
    """
    return FORMS[kind]

"""The language of a course: what comma it writes, and that all that goes to learners comes out in it."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec, TypeVar

from gearkit.answers.read.commas import DECIMAL, EITHER
from gearkit.text.phrases import decimal_mark
from gearkit.words.say import languages, speaking_language

if TYPE_CHECKING:
    from graders.course.course import Course

P = ParamSpec("P")
T = TypeVar("T")


def comma_of(language: str) -> str:
    """Return what a comma with three digits after it is for readers of a language.

    Args:
        language: its code; either meaning where there is no such language.
    """
    if language not in languages():
        return EITHER
    with speaking_language(language):
        return DECIMAL if decimal_mark() == "," else EITHER


def in_its_language(function: Callable[Concatenate[Course, P], T]) -> Callable[Concatenate[Course, P], T]:
    """Return a function of a course that says everything in the course's language.

    Args:
        function: its first argument is the course.
    """

    @wraps(function)
    def speaks(course: Course, /, *args: P.args, **kwargs: P.kwargs) -> T:
        with course.speaking():
            return function(course, *args, **kwargs)

    return speaks

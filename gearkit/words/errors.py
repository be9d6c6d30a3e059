"""The one family of errors that a user of the kit can see.

Policy: a message says which part it is about, the fact with its numbers or words, and the next thing to try.
It is ready to be shown as it stands; a command prints it without a traceback.
"""

from __future__ import annotations

from dataclasses import dataclass


class GearkitError(Exception):
    """Any error whose message is meant for the user."""


class UsageError(GearkitError):
    """A call or a command got something it cannot use: an unknown range, element, item, file or option."""


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong in a layout file.

    Args:
        file: the file's name, or "" for a layout built in Python.
        line: line in the file, counted from 1; None where it is not known.
        key: the key with its table, such as ``set "P1".sun``.
        found: the value found, as text.
        expected: what was expected there, with the next thing to try.
    """

    file: str
    line: int | None
    key: str
    found: str
    expected: str

    def __str__(self) -> str:
        place = self.file or "layout"
        if self.line is not None:
            place += f", line {self.line}"
        return f"{place}: {self.key}: found {self.found}; expected {self.expected}"


class LayoutError(GearkitError):
    """A layout that cannot stand; all its faults are reported together.

    Args:
        faults: at least one fault, in the order of the file.
    """

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class AnswerError(GearkitError):
    """An answer that cannot be read.

    Args:
        code: a short fixed word for the kind of trouble, such as "decimal comma".
        message: a sentence about the form of the answer, never about its rightness.
        hint: what to write instead; may be empty.
    """

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        self.code = code
        self.hint = hint
        super().__init__(f"{message} {hint}".strip())

"""What the kit's smaller data files (vehicles, targets) have in common: TOML, format 1, a source, faults told together."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gearkit.train.layout import Source
from gearkit.words.errors import UsageError
from gearkit.words.terms import SourceKind

FORMAT = 1
LARGEST_FILE = 1_000_000
_SOURCE_KEYS = ("kind", "citation", "notes")


def read_text(file: Path, what: str) -> str:
    """Return the text of a data file.

    Args:
        file: the file.
        what: what it is called in messages, such as "vehicle file".

    Raises:
        UsageError: it cannot be read, is too large, or is no text in UTF-8.
    """
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise UsageError(f"{file}: more than {LARGEST_FILE} bytes; is it another kind of file?")
        return file.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise UsageError(f"{file}: cannot be read ({error.strerror}). Give the path of a {what}.") from None
    except UnicodeDecodeError:
        raise UsageError(f"{file}: is no text in UTF-8; save the file with that encoding.") from None


def document_of(text: str, file: str) -> dict[str, Any]:
    """Return the tables of a data file's text.

    Args:
        text: TOML.
        file: name to put into messages, or "".

    Raises:
        UsageError: no valid TOML.
    """
    place = f"{file}: " if file else ""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UsageError(f"{place}no valid TOML: {error}.") from None
    except ValueError:
        # Python reads no whole number of more than 4,300 digits.
        raise UsageError(f"{place}a number of thousands of digits; write it shorter.") from None
    except RecursionError:
        raise UsageError(f"{place}brackets nested very deep; expected a file of format {FORMAT}.") from None


def read_document(file: Path, what: str) -> dict[str, Any]:
    """Return the tables of a file of TOML.

    Args:
        file: the file.
        what: what it is called in messages, such as "The sheet".

    Raises:
        FileNotFoundError: there is none.
        UsageError: it cannot be read, is no text in UTF-8, or no valid TOML.
    """
    try:
        return document_of(file.read_text(encoding="utf-8-sig"), "")
    except FileNotFoundError:
        raise
    except OSError as error:
        reason = str(error.strerror)
    except UnicodeDecodeError:
        reason = "it is no text in UTF-8; save the file with that encoding."
    except UsageError as fault:
        reason = str(fault)
    raise UsageError(f"{what} {file} cannot be read: {reason}") from None


class Reading:
    """Takes values out of a document and notes what is wrong.

    Args:
        document: the tables of the file.
    """

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document
        self.faults: list[str] = []

    def head(self, known: Sequence[str]) -> None:
        """Check what every file has: the format, and known keys only.

        Args:
            known: the keys that may stand at the top.
        """
        self.unknown_keys("", self.document, known)
        form = self.document.get("format")
        if form != FORMAT or isinstance(form, bool):
            self.faults.append(f"format: found {shown(form)}; expected {FORMAT}.")

    def unknown_keys(self, where: str, table: Mapping[str, Any], known: Sequence[str]) -> None:
        """Note the keys of a table that mean nothing.

        Args:
            where: the table with a point behind it, or "".
            table: the table.
            known: its keys.
        """
        self.faults += [f"{where}{key}: no such key; known: {', '.join(known)}." for key in table if key not in known]

    def text(self, table: Mapping[str, Any], key: str, where: str = "") -> str:
        """Return words, "" if there are none.

        Args:
            table: the table.
            key: its key.
            where: the table with a point behind it, or "".
        """
        value = table.get(key)
        if not isinstance(value, str) or not value.strip():
            self.faults.append(f"{where}{key}: found {shown(value)}; expected words.")
            return ""
        return value

    def source(self) -> Source | None:
        """Return where the file's figures come from."""
        table = self.document.get("source")
        if not isinstance(table, dict):
            self.faults.append(f"[source]: found {shown(table)}; expected a table with kind and citation.")
            return None
        self.unknown_keys("[source].", table, _SOURCE_KEYS)
        kinds = [kind.value for kind in SourceKind]
        kind = table.get("kind")
        if kind not in kinds:
            self.faults.append(f"[source].kind: found {shown(kind)}; expected one of {', '.join(kinds)}.")
        citation = self.text(table, "citation", "[source].")
        notes = self.text(table, "notes", "[source].") if "notes" in table else ""
        return Source(SourceKind(kind), citation, notes) if kind in kinds else None


def shown(value: object) -> str:
    """Return a value as a message shows it, at most 60 characters long."""
    return "nothing" if value is None else repr(value)[:60]

"""The one print engine: documents in, PDF out, without a browser and without a network.

A well-kept library (typst) sets the type; its own fonts and those that come with matplotlib are used and none of the
machine's, so that a document looks alike everywhere. The PDF is tagged (PDF/UA-1): headings, lists, tables, pictures and
formulas can be read aloud.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from gearkit.print.document import Document, PaperSize
from gearkit.print.setting import source_of
from gearkit.text.files import write_asked
from gearkit.words.errors import GearkitError, UsageError

EXTRA = "print"
_STANDARD = "ua-1"
_NO_GLYPH = "could not be displayed"


def pdf(documents: Sequence[Document], size: PaperSize = PaperSize.A4) -> bytes:
    """Return documents as one PDF.

    Args:
        documents: at least one; each begins a new page and counts its own pages.
        size: the paper.

    Raises:
        UsageError: there is no document.
        GearkitError: the library is not installed, or it cannot set the documents.
    """
    if not documents:
        raise UsageError("Nothing to print: no document was given.")
    engine = _engine()
    source = source_of(documents, size).encode()
    try:
        return _set(engine, source, ignore_system_fonts=True, pdf_standards=[_STANDARD])
    except engine.TypstError as fault:
        if _NO_GLYPH not in str(fault):
            raise _reported(documents, fault) from None
    try:
        # A name in letters that our fonts lack: the machine's own fonts may have them.
        return _set(engine, source)
    except engine.TypstError as fault:
        raise _reported(documents, fault) from None


def _set(engine: Any, source: bytes, **options: Any) -> bytes:
    pages: bytes = engine.compile(source, font_paths=_fonts(), **options)
    return pages


def _reported(documents: Sequence[Document], fault: Exception) -> GearkitError:
    return GearkitError(f"{documents[0].title}: cannot be set as PDF ({fault}). Please report this with the layout.")


def save(documents: Sequence[Document], path: Path, size: PaperSize = PaperSize.A4) -> None:
    """Write documents to a PDF file.

    Args:
        documents: at least one.
        path: the file; folders on the way to it are made where they are missing.
        size: the paper.

    Raises:
        UsageError: the file cannot be written, or there is no document.
        GearkitError: as in `pdf`.
    """
    content = pdf(documents, size)
    write_asked(path, content)


def _engine() -> Any:
    try:
        import typst
    except ImportError:
        raise GearkitError(
            f'Printing needs the library typst, which is not installed. Install it with: pip install "gearkit[{EXTRA}]"'
        ) from None
    return typst


@cache
def _fonts() -> list[str]:
    """The folder of the fonts that pictures are measured for; they come with matplotlib."""
    spec = importlib.util.find_spec("matplotlib")
    places = spec.submodule_search_locations if spec else None
    return [str(Path(places[0]) / "mpl-data" / "fonts" / "ttf")] if places else []

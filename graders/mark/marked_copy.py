"""The marked copy that the class book-keeping shows: the sheet's own cells, with the learner's text in the answers.

The tasks are written anew with the learner's numbers, so that nothing a learner did to them is shown to the
instructor as the sheet's; outputs are left out. The handed-in file itself is never touched.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from gearkit.text.files import write_atomically
from graders.course.course import Course
from graders.course.roster import Learner
from graders.mark.marking import Marked
from graders.sheets import notebook
from graders.sheets.notebook import Owner
from graders.sheets.sheets import Sheet

LONGEST_SOURCE = 20_000
# What no text of a sheet holds.
_OWN = "\0"
_written = json.JSONEncoder(ensure_ascii=False).encode


@dataclass(frozen=True)
class _Form:
    """What the copies of a sheet have in common.

    Args:
        pieces: the file's text between the texts that are each learner's own.
        cells: of each cell its name, what goes into its fingerprint beside the source, and whether it is answered in.
    """

    pieces: Sequence[str]
    cells: Sequence[tuple[str, str, bool]]


class MarkedCopies:
    """Writes the marked copies of one sheet; what all of them have in common is made once.

    Args:
        course: the course.
        sheet: the sheet.
    """

    def __init__(self, course: Course, sheet: Sheet) -> None:
        self._course, self._sheet = course, sheet
        self._form: _Form | None = None

    def write(self, learner: Learner, marked: Marked) -> None:
        """Write the marked copy of one submission.

        Args:
            learner: the learner.
            marked: what marking gave.
        """
        owner = Owner(learner, marked.marks.attempt)
        self._form = form = self._form or self._made(owner, marked)
        own: list[str] = []
        sources = notebook.texts(self._course, self._sheet, owner, marked.variants)
        for source, (name, tail, answered) in zip(sources, form.cells, strict=True):
            given = marked.sources.get(name, source)[:LONGEST_SOURCE] if answered else source
            own += [_written(given), _written(notebook.checksum_of(source, tail))]
        own += [_written(learner.id), str(owner.attempt), ""]
        text = "".join(part for both in zip(form.pieces, own, strict=True) for part in both)
        write_atomically(self._course.autograded_file(learner.id, self._sheet.name), text, durable=False)

    def _made(self, owner: Owner, marked: Marked) -> _Form:
        """The form, made from anybody's copy with everything taken out that is their own."""
        copy = notebook.from_variants(self._course, self._sheet, owner, marked.variants, pictures=False)
        cards = [cell["metadata"]["nbgrader"] for cell in copy["cells"]]
        cells = [
            (card["grade_id"], notebook.checksum_tail(cell), card["solution"])
            for cell, card in zip(copy["cells"], cards, strict=True)
        ]
        for cell, card in zip(copy["cells"], cards, strict=True):
            cell["source"] = card["checksum"] = _OWN
        copy["metadata"]["gearkit"] |= {"learner": _OWN, "attempt": _OWN}
        return _Form(notebook.as_text(copy, compact=True).split(_written(_OWN)), cells)

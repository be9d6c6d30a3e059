"""The marked copy that the class book-keeping shows: the sheet's own cells, with the learner's text in the answers.

The tasks are written anew with the learner's numbers, so that nothing a learner did to them is shown to the
instructor as the sheet's; outputs are left out. The handed-in file itself is never touched.
"""

from __future__ import annotations

from gearkit.words.files import write_atomically
from graders.mark.marking import Marked
from graders.prepare import notebook
from graders.prepare.course import Course
from graders.prepare.notebook import Owner
from graders.prepare.roster import Learner
from graders.prepare.sheets import Sheet

LONGEST_SOURCE = 20_000


def write(course: Course, sheet: Sheet, learner: Learner, marked: Marked) -> None:
    """Write the marked copy of one submission.

    Args:
        course: the course.
        sheet: the sheet.
        learner: the learner.
        marked: what marking gave.
    """
    owner = Owner(learner, marked.marks.attempt)
    copy = notebook.from_variants(course, sheet, owner, marked.variants, pictures=False)
    for cell in copy["cells"]:
        card = cell["metadata"]["nbgrader"]
        card["checksum"] = notebook.checksum(cell)
        if card["grade_id"] in marked.sources and card["solution"]:
            cell["source"] = marked.sources[card["grade_id"]][:LONGEST_SOURCE]
    write_atomically(course.autograded_file(learner.id, sheet.name), notebook.as_text(copy, compact=True),
                     durable=False)

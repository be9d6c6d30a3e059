"""How classes did on items so far: over all marked sheets of one course or of several."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gearkit.train import catalogue
from gearkit.words.errors import UsageError
from graders.book import record
from graders.course.course import Course
from graders.report.figures.statistics import FEWEST_FOR_PERCENT
from graders.sheets import sheets


@dataclass(frozen=True)
class History:
    """What learners earned on one item, hints and lateness left out.

    Args:
        learners: how many handed it in; who handed in twice counts twice.
        earned: marks that they earned together.
        full: marks that they could have earned.
        mistake: code of the mistake that most of them made, "" where none was named.
    """

    learners: int
    earned: Fraction
    full: Fraction
    mistake: str = ""

    @property
    def share(self) -> float:
        """Share of the marks that was earned."""
        return float(self.earned / self.full)

    def __str__(self) -> str:
        if self.learners >= FEWEST_FOR_PERCENT:
            return f"{self.share:.0%} of {self.learners} learners"
        who = "1 learner" if self.learners == 1 else f"{self.learners} learners"
        return f"{float(self.earned):.3g} of {float(self.full):.3g} mark{'' if self.full == 1 else 's'}, {who}"


def of_courses(courses: Sequence[Course], layout: str = "") -> dict[str, History]:
    """Return how classes did on every item that was marked, by item id.

    Args:
        courses: the courses.
        layout: text of the layout whose items are looked for; "" for the exercises of the lessons.

    Raises:
        UsageError: a course's sheet or mark sheet cannot be read.
    """
    tables: dict[str, tuple[int, Fraction, Fraction]] = {}
    mistakes: dict[str, Counter[str]] = {}
    for item, earned, full, codes in _marks(courses, layout):
        count, before, most = tables.get(item, (0, Fraction(0), Fraction(0)))
        tables[item] = (count + 1, before + earned, most + full)
        mistakes.setdefault(item, Counter()).update(codes)
    return {item: History(*figures, mistake=_commonest(mistakes[item])) for item, figures in tables.items()}


def _commonest(codes: Counter[str]) -> str:
    # Of two made as often the first by name, so that the same marks always tell the same.
    return min(codes, key=lambda code: (-codes[code], code), default="")


def _marks(courses: Sequence[Course], layout: str) -> Iterator[tuple[str, Fraction, Fraction, tuple[str, ...]]]:
    for course in courses:
        for path in sorted((course.folder / "sheets").glob("*.toml")):
            if not course.marks_file(path.stem).exists():
                continue
            sheet = sheets.read(path)
            wanted = {
                entry.item.id: _plain_id(entry.item.id, bool(layout))
                for entry in sheet.items
                if _same(sheet.layout_of(entry.item.id), layout)
            }
            for learner in record.read(course.marks_file(sheet.name)).learners:
                for mark in learner.items:
                    if mark.item in wanted and mark.max:
                        # The file keeps floats; marks are small fractions, and this finds them again.
                        earned = Fraction(mark.earned).limit_denominator(1000)
                        full = Fraction(mark.max).limit_denominator(1000)
                        yield wanted[mark.item], earned, full, mark.mistakes


def _same(text: str, layout: str) -> bool:
    """Whether two layouts' texts say the same; "" is no layout."""
    if not (text and layout):
        return text == layout
    try:
        return catalogue.dumps(catalogue.parse(text, "layout")) == layout
    except UsageError:
        return False


def _plain_id(item: str, of_layout: bool) -> str:
    # On a sheet with several layouts the second one's items begin with Y; they are listed as those of the first, with X.
    return f"X{item[1:]}" if of_layout else item

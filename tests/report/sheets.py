"""A small marked sheet for the tests of pages and files; the figures are made by hand."""

from __future__ import annotations

from graders.book.record import ItemMark, LearnerMarks, MarkSheet
from graders.course.roster import Learner, Roster

ROSTER = Roster(
    (
        Learner("fh001", "Achterberg, Ilse", "AT-214-D"),
        Learner("fh002", "Núñez-Okafor Marisol", "AT-214-D"),
        Learner("fh003", "O'Reddick Tam", "AT-214-E"),
        Learner("fh004", "=cmd|' /C calc'!A1", "AT-214-E"),
        Learner("fh005", "Quist Pernille", "AT-214-E"),
    )
)

PROMPTS = {
    "L02-02": "Set $S = {s}$, $R = 72$. Sun at 1300 r/min, carrier at 400 r/min. Ring speed?",
    "L02-03": "Ring held, carrier turning at {s} r/min. Enter the totals for **sun** and **planet**.",
    "L02-08": "Write the carrier-held (basic) ratio of a simple set.",
}


def item(name: str, score: float, full: float, verdict: str, given: dict[str, str], **more: object) -> ItemMark:
    """One marked item; ``s`` is the number that this learner drew."""
    drawn = more.pop("s", 32)
    read = {} if verdict in ("unreadable", "missing") else dict(given)
    fields = {"given": given, "read_as": read, "way": "read" if given else "none", **more}
    return ItemMark(item=name, score=score, max=full, verdict=verdict, prompt=PROMPTS[name].format(s=drawn), **fields)


def learner(number: int, items: tuple[ItemMark, ...], **more: object) -> LearnerMarks:
    known = ROSTER.learners[number - 1]
    score = sum(mark.score for mark in items)
    return LearnerMarks(known.id, known.name, known.group, score, 10.0, items, **more)


def marked_sheet() -> MarkSheet:
    """Four of five learners handed in: all right, one mistake, half right and late, unreadable."""
    first = learner(
        1,
        (
            item("L02-02", 3, 3, "right", {"answer": "1"}, s=31, comment="Right."),
            item("L02-03", 5, 5, "right", {"sun": "1300", "planet": "-3"}, s=401),
            item("L02-08", 2, 2, "right", {"answer": "-R/S"}),
        ),
        handed_in="2026-10-05T09:00:00+01:00",
    )
    second = learner(
        2,
        (
            item("L02-02", 0, 3, "wrong", {"answer": "-435.5"}, s=32, mistakes=("HELDMOVES",),
                 comment="You held the carrier still, but it is turning."),
            item("L02-03", 5, 5, "right", {"sun": "1300", "planet": "-3"}, s=402),
            item("L02-08", 2, 2, "right", {"answer": "-R/S"}),
        ),
        handed_in="2026-10-05T09:30:00+01:00",
    )  # fmt: skip
    third = learner(
        3,
        (
            item("L02-02", 0, 3, "wrong", {"answer": "-433"}, s=33, mistakes=("HELDMOVES",),
                 comment="You held the carrier still, but it is turning."),
            item("L02-03", 2.5, 5, "wrong", {"sun": "1300", "planet": "7"}, s=403, mistakes=("SIGN",),
                 comment="In the second row sun and ring turn opposite ways."),
            item("L02-08", 0, 2, "missing", {}),
        ),
        flags=("The notebook was handed in as 'sheet (1).ipynb'; it was marked all the same.",),
        handed_in="2026-10-06T18:00:00+01:00",
        penalty=1.0,
    )  # fmt: skip
    fourth = learner(
        4,
        (
            item("L02-02", 0, 3, "unreadable", {"answer": "<script>alert(1)</script>"}, s=34,
                 comment="The answer could not be read."),
            item("L02-03", 0, 5, "missing", {}, s=404),
            item("L02-08", 2, 2, "right", {"answer": "-R/S"}),
        ),
    )  # fmt: skip
    return MarkSheet("sheet1", 4, 4, (), (first, second, third, fourth), 1.5, "nothing was run", ("fh005",))

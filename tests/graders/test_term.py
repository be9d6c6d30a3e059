"""A term, played through as an instructor would: two groups, four sheets, late work, extra time, hints, hand-ins that do
not count, an extension, a retake, a corrected item, an appeal and an override. Every number of the final sheet is derived
by hand here:

=====  ==============================  ==============================  =====================  ======================
       week 1 (of 7), 60 minutes       week 2 (of 5), a hint costs     week 3 (of 5, then 3)  week 4 (of 6),
                                       half of its item                                       one hand-in counts
=====  ==============================  ==============================  =====================  ======================
ann    7, all right                    5 - 2 x 1/2 for a hint = 4      0 of 3, first wrong    0, then 2 by override
bob    5, mistake of 2 marks           5, ten minutes late: in grace   3, all right           6, all right
cy     7 - 2 days x 10 % x 7 = 5.6     2, mistake of 3 marks; a hint   3, all right           4 + 2 x 1/2 = 5; all
                                       to it takes nothing from 0                             right later: not marked
di     nothing; retake 7, cap 70 %:    3, a day late (-0.5), then      3, all right but the   3, half of the parts
       4.9                             extended: 3                     withdrawn item
=====  ==============================  ==============================  =====================  ======================

Bob has a quarter more time, 15 minutes of 60: handed in at 17:29, with 15 minutes of grace, his week 1 is in time. Below
80 percent, he takes it again and gets 3: his 5 stays, because the best counts.
Sums of 7 + 5 + 3 + 6 = 21: ann 13, bob 19, cy 15.6, di 13.9.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from graders.book import record
from graders.cli.main import main
from graders.course import course as courses
from graders.course.course import Course
from graders.hand_out import hand_out
from graders.sheets import drawn
from tests.graders.classroom import call

# The term lies on fixed days, whenever the test is run.
BEFORE = ("--at", "2020-09-20 11:00")
LATE = ("--late", "10 percent a day, 3 days", "--grace", "15")
ROSTER = (
    'id,name,group,extra time\nann,"Achterberg, Ann",AT-214-D,\nbob,Bob O\'Neill-Vance,AT-214-D,25%\n'
    "cy,Cÿ Ek,AT-214-E,\ndi,Di,AT-214-E,\n"
)
SHEETS = {
    "week1": ("L02-08,L03-02,L02-02", "2026-09-14 17:00", "--minutes", "60"),
    "week2": ("L03-03,L03-08", "2026-09-21 17:00", "--hint-cost", "50"),
    "week3": ("L06-03,L06-04", "2026-09-28 17:00"),
    "week4": ("L03-01", "2026-10-05 17:00", "--attempts", "1"),
}
Answer = Callable[[Variant], Mapping[str, str]]


def right(variant: Variant) -> Mapping[str, str]:
    return marking.right_answer(variant)


def mistaken(*codes: str) -> Answer:
    """The first of the named mistakes that the learner's version of the item has."""

    def answer(variant: Variant) -> Mapping[str, str]:
        found = next((wrong for code in codes if (wrong := marking.wrong_answer(variant, code)) is not None), None)
        assert found is not None
        return found

    return answer


def first_half(variant: Variant) -> Mapping[str, str]:
    kept = {part.name for part in variant.parts[: len(variant.parts) // 2]}
    return {name: text if name in kept else "" for name, text in marking.right_answer(variant).items()}


class Term:
    """The instructor's desk: a folder, and commands as they are typed."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self._capsys = folder, capsys
        self.where = folder / "at214"

    def types(self, *words: object, code: int = 0) -> str:
        found = main([str(word) for word in words])
        told = self._capsys.readouterr()
        assert found == code, told.err
        return told.out

    @property
    def course(self) -> Course:
        return courses.open_course(self.where)

    def hands_in(self, learner: str, sheet: str, when: str, to: Path | None = None, **others: Answer) -> None:
        """Fill in a learner's copy, everything right but what ``others`` says (L03_02=...), and hand it in.

        Into the course's own folder, or ``to`` another from which it is taken in.
        """
        path = self.course.handed_out_file(learner, sheet)
        book = json.loads(path.read_text(encoding="utf-8"))
        theirs = drawn.variants_for(self.course, hand_out.sheet_of(self.course, sheet), learner)
        variants = {variant.item.id: variant for variant in theirs}
        for cell in book["cells"]:
            item = cell["metadata"]["gearkit"].get("item")
            if item:
                answer = others.get(item.replace("-", "_"), right)
                cell["source"] = call(item, answer(variants[item]))
        folder = self.course.submitted_folder(learner, sheet) if to is None else to / learner
        folder.mkdir(parents=True)
        (folder / f"{sheet}.ipynb").write_text(json.dumps(book), encoding="utf-8")
        # London is one hour ahead of UTC until the end of October.
        if to is None:
            (folder / "timestamp.txt").write_text(f"{when} +0100")
        else:
            at = dt.datetime.fromisoformat(f"{when}+01:00").timestamp()
            os.utime(folder / f"{sheet}.ipynb", (at, at))

    def finals(self, sheet: str) -> dict[str, tuple[float, float]]:
        marks = record.read(self.course.marks_file(sheet))
        return {one.learner: (one.final, one.max) for one in marks.learners}


@pytest.fixture
def term(tmp_path, capsys) -> Term:
    found = Term(tmp_path, capsys)
    (tmp_path / "class.csv").write_text(ROSTER, encoding="utf-8")
    for name, (items, due, *rules) in SHEETS.items():
        found.types("compose", items, "-o", tmp_path / f"{name}.toml", "--due", due, "--title", f"Sheet of {name}", *rules)
        found.types("hand-out", found.where, tmp_path / f"{name}.toml", "--class", tmp_path / "class.csv", *LATE,
                    "--id", "AT-214", "--time-zone", "Europe/London")  # fmt: skip
    return found


def play_week_1(term: Term) -> None:
    term.hands_in("ann", "week1", "2026-09-14 12:00")
    term.hands_in("bob", "week1", "2026-09-14 17:29", L02_08=mistaken("SWAP", "NOONE"))
    term.hands_in("cy", "week1", "2026-09-15 18:00")
    term.types("mark", term.where, "week1")
    assert term.finals("week1") == {"ann": (7, 7), "bob": (5, 7), "cy": (5.6, 7)}
    assert record.read(term.course.marks_file("week1")).absent == ("di",)
    assert "2 copies made" in term.types("retake", term.where, "week1", "--below", "80", "--cap", "70",
                                         "--due", "2026-10-12 17:00")  # fmt: skip


def play_week_2(term: Term) -> None:
    term.hands_in("ann", "week2", "2026-09-20 12:00")
    term.hands_in("bob", "week2", "2026-09-21 17:10")
    term.hands_in("cy", "week2", "2026-09-21 09:00", L03_08=mistaken("HELDMOVES"))
    term.hands_in("di", "week2", "2026-09-22 10:00", L03_03=mistaken("RECIP"))
    term.types("hint", term.where, "week2", "ann", "L03-03", "--by", "R. Okonjo-Vale", *BEFORE)
    term.types("mark", term.where, "week2")
    assert term.finals("week2") == {"ann": (4, 5), "bob": (5, 5), "cy": (2, 5), "di": (2.5, 5)}
    assert "No mark changed." in term.types("hint", term.where, "week2", "cy", "L03-08", "--by", "R. Okonjo-Vale")
    told = term.types("extend", term.where, "week2", "di", "--until", "2026-09-23 17:00", "--reason", "ill, note seen",
                      "--by", "R. Okonjo-Vale")  # fmt: skip
    assert "di: together 2.5 of 5 → 3 of 5" in told


def play_week_3(term: Term) -> None:
    term.hands_in("ann", "week3", "2026-09-28 12:00", L06_03=mistaken("NOONE"))
    term.hands_in("bob", "week3", "2026-09-28 12:00")
    term.hands_in("cy", "week3", "2026-09-28 12:00")
    term.hands_in("di", "week3", "2026-09-28 12:00", L06_04=mistaken("SIGN"))
    term.types("mark", term.where, "week3")
    # A ratio of the right size in the wrong direction earns half of its two marks.
    assert term.finals("week3") == {"ann": (2, 5), "bob": (5, 5), "cy": (5, 5), "di": (4, 5)}
    told = term.types("correct", term.where, "week3", "L06-04", "--withdraw", "--reason", "misprint in the handout")
    assert "Marks changed for 4 learners." in told
    assert term.finals("week3") == {"ann": (0, 3), "bob": (3, 3), "cy": (3, 3), "di": (3, 3)}


def play_week_4(term: Term) -> None:
    term.hands_in("ann", "week4", "2026-10-05 12:00", L03_01=mistaken("RECIP"))
    term.hands_in("bob", "week4", "2026-10-05 12:00")
    term.hands_in("cy", "week4", "2026-10-05 12:00", term.folder / "first", L03_01=mistaken("SIGN"))
    term.types("take-in", term.where, "week4", term.folder / "first")
    term.hands_in("cy", "week4", "2026-10-05 13:00", term.folder / "second")
    told = term.types("take-in", term.where, "week4", term.folder / "second", "--replace", code=1)
    assert "cy: handing in counts once" in told
    term.hands_in("di", "week4", "2026-10-05 12:00", L03_01=first_half)
    term.types("mark", term.where, "week4")
    assert term.finals("week4") == {"ann": (0, 6), "bob": (6, 6), "cy": (5, 6), "di": (3, 6)}
    shown = term.types("show", term.where, "week4", "ann", "L03-01")
    assert "Named mistake: RECIP (ratio upside down)" in shown
    assert "Verdict: not right; read from the notebook." in shown
    told = term.types("override", term.where, "week4", "ann", "L03-01", "2", "--reason", "working shown in the interview")
    assert "ann: L03-01 0 of 6 → 2 of 6, together 0 of 6 → 2 of 6" in told


def play_the_retake(term: Term) -> None:
    term.hands_in("di", "week1-retake", "2026-10-10 12:00")
    term.hands_in("bob", "week1-retake", "2026-10-10 12:00", L02_08=mistaken("SWAP", "NOONE"), L03_02=mistaken("NOONE"))
    term.types("mark", term.where, "week1-retake")
    assert term.finals("week1-retake") == {"bob": (3, 7), "di": (7, 7)}


def course_marks(term: Term) -> dict[str, dict[str, str]]:
    term.types("totals", term.where)
    text = (term.where / "reports" / "course_marks.csv").read_text(encoding="utf-8-sig")
    return {row["learner"]: row for row in csv.DictReader(io.StringIO(text))}


@pytest.mark.slow
def test_every_number_of_a_term_comes_out_as_reckoned_by_hand(term):
    for play in (play_week_1, play_week_2, play_week_3, play_week_4, play_the_retake):
        play(term)
    rows = course_marks(term)
    counted = {name: [float(row[week]) for week in SHEETS] for name, row in rows.items()}
    assert counted == {
        "ann": [7, 4, 0, 2], "bob": [5, 5, 3, 6], "cy": [5.6, 2, 3, 5], "di": [4.9, 3, 3, 3],
    }  # fmt: skip
    assert {name: float(row["total"]) for name, row in rows.items()} == {"ann": 13, "bob": 19, "cy": 15.6, "di": 13.9}
    assert {float(row["max"]) for row in rows.values()} == {21}
    assert [rows["bob"][f"week1 {word}"] for word in ("first", "retake")] == ["5.0", "3.0"]
    assert [rows["di"][f"week1 {word}"] for word in ("first", "retake")] == ["", "7.0"]
    trail = [(one["kind"], one["sheet"]) for one in json.loads(term.types("trail", term.where, "--json"))]
    assert [entry for entry in trail if entry[0] != "marked again"] == [
        ("hint", "week2"), ("hint", "week2"), ("extend", "week2"), ("withdraw item", "week3"), ("override", "week4"),
    ]  # fmt: skip
    # Marking every sheet again from what was handed in changes nothing of it.
    for sheet in (*SHEETS, "week1-retake"):
        assert "changed" not in term.types("mark", term.where, sheet)
    assert course_marks(term) == rows
    for sheet in SHEETS:
        term.types("report", term.where, sheet)
        term.types("hand-back", term.where, sheet)
    page = (term.where / "reports" / "week4" / "class_report.html").read_text(encoding="utf-8")
    assert "Progress over the sheets" in page
    assert "Marked by hand" in page
    term.types("export", term.where, "--to", "csv", "-o", term.folder / "all.csv")
    exported = csv.DictReader(io.StringIO((term.folder / "all.csv").read_text(encoding="utf-8-sig")))
    assert {row["learner"]: float(row["final"]) for row in exported} == {"ann": 13, "bob": 19, "cy": 15.6, "di": 13.9}

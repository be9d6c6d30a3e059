"""A sheet on paper and back: every page says whose it is, and what is typed in is marked as if it had been handed in."""

from __future__ import annotations

import csv
import io
import json
import re
import string
from collections.abc import Iterable
from pathlib import Path

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge import marking
from gearkit.cli.command import DONE, FINDING, UNUSABLE
from gearkit.print.document import Block, Figure, Together
from gearkit.words.errors import UsageError
from graders.cli.main import main
from graders.course import course as courses
from graders.course import roster
from graders.hand_out import hand_out
from graders.paper import copies, copy_mark, type_in
from graders.paper.copy_mark import CopyMark, check_sign
from graders.sheets import drawn, sheets

ROSTER = 'id,name,group\nfd06,"Bell, Ann",D\nfd07,*Bo* `Cray` $x$,D\nfd08,Cÿ =Dent,E\n'
NAME = "week3"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Path:
    """A course with a sheet of several kinds handed out and printed."""
    monkeypatch.chdir(tmp_path)
    Path("ROSTER.csv").write_text(ROSTER, encoding="utf-8")
    for words in (
        ["compose", "L03-01,L03-02,L04-02,L06-03,L08-01", "-o", f"{NAME}.toml"],
        ["hand-out", "COURSE", f"{NAME}.toml", "--class", "ROSTER.csv"],
        ["paper", "COURSE", NAME, "-o", "PAPER"],
    ):
        assert main(words) == DONE
    capsys.readouterr()
    return tmp_path


def pages(path: str) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(path).pages]


def course_of(folder: Path) -> courses.Course:
    return courses.open_course(folder / "COURSE")


def rights(folder: Path, owner: str) -> dict[str, str]:
    """The right answers of a copy, by column."""
    course = course_of(folder)
    found = {}
    for variant in drawn.variants_for(course, hand_out.sheet_of(course, NAME), owner):
        for part, text in marking.right_answer(variant).items():
            found[variant.item.id if len(variant.parts) == 1 else f"{variant.item.id}.{part}"] = text
    return found


def write(folder: Path, rows: list[dict[str, str]], delimiter: str = ",") -> Path:
    text = io.StringIO()
    heads = list(dict.fromkeys(name for row in rows for name in row))
    writer = csv.DictWriter(text, heads, delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    path = folder / "typed.csv"
    path.write_text(text.getvalue(), encoding="utf-8-sig")
    return path


def marks(folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, tuple[float, float]]:
    capsys.readouterr()
    assert main(["mark", "COURSE", NAME, "--json"]) == DONE
    return {one["learner"]: (one["score"], one["max"]) for one in json.loads(capsys.readouterr().out)["learners"]}


def test_every_page_says_whose_copy_it_is_and_the_key_lies_apart(folder: Path) -> None:
    printed = pages(f"PAPER/{NAME}-copies.pdf")
    for owner in ("fd06", "fd07", "fd08"):
        own = [text for text in printed if str(CopyMark(NAME, owner)) in text]
        assert own
        assert "page 1 of" in own[0]
        task = next(
            one
            for one in drawn.variants_for(course_of(folder), hand_out.sheet_of(course_of(folder), NAME), owner)
            if one.item.id == "L03-02"
        )
        for value in task.values.values():
            assert str(value) in " ".join(own)
    assert sum(CopyMark(NAME, owner).owner in text for owner in ("fd06", "fd07", "fd08") for text in printed) >= len(printed)
    assert any("*Bo* `Cray` $x$" in text for text in printed)
    assert not any("KEY" in text for text in printed)
    key = " ".join(pages(f"PAPER/{NAME}-key.pdf"))
    assert all(rights(folder, owner)["L03-02"] in key for owner in ("fd06", "fd07", "fd08", "spare-1", "spare-2"))
    spare = pages(f"PAPER/{NAME}-spare.pdf")
    assert any(str(CopyMark(NAME, "spare-2")) in text for text in spare)
    assert not any("Bell" in text for text in spare)


def test_what_is_typed_into_the_form_is_marked_like_any_other(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = list(csv.DictReader(Path(f"PAPER/{NAME}-answers.csv").read_text("utf-8").splitlines()))
    assert [row["learner"] for row in form] == ["fd06", "fd07", "fd08", "", ""]
    assert {text for row in form for name, text in row.items() if name[0] == "L"} <= {"", type_in.NOT_ASKED}
    form[0] |= rights(folder, "fd06")
    form[1] |= {
        name: text for name, text in rights(folder, "fd08").items() if form[1][name] != type_in.NOT_ASKED
    }  # somebody else's answers
    assert main(["type-in", "COURSE", NAME, str(write(folder, form, ";"))]) == DONE
    said = capsys.readouterr().out
    assert "2 learners" in said
    assert "Blank rows: fd08" in said
    found = marks(folder, capsys)
    assert set(found) == {"fd06", "fd07"}
    assert found["fd06"][0] == found["fd06"][1]
    assert found["fd07"][0] < found["fd07"][1] / 2
    # The same again changes nothing; other answers are not taken without being asked.
    assert main(["type-in", "COURSE", NAME, str(write(folder, form))]) == DONE
    form[1] |= rights(folder, "fd07")
    assert main(["type-in", "COURSE", NAME, str(write(folder, form))]) == FINDING
    assert main(["type-in", "COURSE", NAME, str(write(folder, form)), "--replace"]) == DONE
    assert marks(folder, capsys)["fd07"] == found["fd06"]


def test_whoever_wrote_on_a_spare_copy_is_marked_by_its_numbers(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mark = str(CopyMark(NAME, "spare-1"))
    assert rights(folder, "spare-1") != rights(folder, "fd08")
    row = {"mark": mark.upper(), "learner": "FD08", **rights(folder, "spare-1")}
    assert main(["type-in", "COURSE", NAME, str(write(folder, [row]))]) == DONE
    assert "fd08 wrote on spare-1" in capsys.readouterr().out
    score, full = marks(folder, capsys)["fd08"]
    assert score == full
    # Typed again it is the same; another learner cannot have used the same copy.
    assert main(["type-in", "COURSE", NAME, str(write(folder, [row]))]) == DONE
    assert main(["type-in", "COURSE", NAME, str(write(folder, [{**row, "learner": "fd06"}]))]) == UNUSABLE
    assert "spare-1 was used by fd08" in capsys.readouterr().err


def test_the_time_of_the_sitting_counts_and_not_that_of_typing(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    typed = write(folder, [{"learner": "fd06", "L03-02": "3"}])
    assert main(["type-in", "COURSE", NAME, str(typed), "--time", "2026-03-02 17:00"]) == DONE
    assert "2026-03-02 17:00" in capsys.readouterr().out
    stamp = (folder / "COURSE" / "submitted" / "fd06" / NAME / "timestamp.txt").read_text()
    assert stamp.startswith("2026-03-02 17:00:00")
    assert main(["type-in", "COURSE", NAME, str(typed), "--time", "yesterday"]) == UNUSABLE


GOOD = str(CopyMark(NAME, "fd06"))
FAULTS = {
    "a mark typed wrong": ([{"mark": GOOD.replace("fd06", "fd60"), "L03-02": "3"}], "its check sign does not fit"),
    "no mark at all": ([{"mark": "fd06", "L03-02": "3"}], "expected sheet/learner/number-check"),
    "another sheet": ([{"mark": str(CopyMark("week4", "fd06")), "L03-02": "3"}], "is of sheet week4"),
    "another variant": ([{"mark": str(CopyMark(NAME, "fd06", 2)), "L03-02": "3"}], "there is no variant 2"),
    "a stranger": ([{"learner": "fd99", "L03-02": "3"}], "'fd99' is not on the class list"),
    "a stranger's mark": ([{"mark": str(CopyMark(NAME, "fd99")), "L03-02": "3"}], "names fd99"),
    "two who contradict each other": ([{"mark": GOOD, "learner": "fd07", "L03-02": "3"}], "is of fd06, and the column learner says fd07"),
    "a spare copy of nobody": ([{"mark": str(CopyMark(NAME, "spare-1")), "learner": "", "L03-02": "3"}], "who wrote on it"),
    "a spare copy never printed": ([{"mark": str(CopyMark(NAME, "spare-7")), "learner": "fd06", "L03-02": "3"}], "never printed"),
    "a part that the copy does not ask": ([{"learner": "fd06", "L08-01.sun": "1", "L08-01.ring": "1", "L08-01.carrier": "1"}], "is not asked on this copy"),
    "two rows of one": ([{"learner": "fd06", "L03-02": "3"}, {"learner": "FD06", "L03-02": "4"}], "answers in two rows"),
    "an unknown column": ([{"learner": "fd06", "L09-99": "3"}], "unknown columns: L09-99"),
    "no answers": ([{"learner": "fd06"}], "no column for answers"),
    "nobody named": ([{"L03-02": "3"}], "neither a column mark nor a column learner"),
    "an empty name": ([{"learner": "", "L03-02": "3"}], "neither mark nor learner is given"),
}  # fmt: skip


@pytest.mark.parametrize("case", FAULTS)
def test_a_table_with_a_fault_takes_nothing_in_and_says_what_and_where(
    folder: Path, case: str, capsys: pytest.CaptureFixture[str]
) -> None:
    rows, told = FAULTS[case]
    before = {path: path.read_bytes() for path in (folder / "COURSE").rglob("*.json")}
    good = {"learner": "fd08", "L03-02": "1"} if "learner" in rows[0] and len(rows[0]) > 1 else {}
    assert main(["type-in", "COURSE", NAME, str(write(folder, [*rows, *([good] if good else [])]))]) == UNUSABLE
    assert told in capsys.readouterr().err
    assert not list((folder / "COURSE" / "submitted").iterdir())
    assert {path: path.read_bytes() for path in (folder / "COURSE").rglob("*.json")} == before


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b'mark,L03-02\n"week3', b"\x00\x00"])
def test_what_is_no_table_is_told(folder: Path, content: bytes, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "typed.csv").write_bytes(content)
    assert main(["type-in", "COURSE", NAME, "typed.csv"]) == UNUSABLE
    assert "Traceback" not in capsys.readouterr().err


def test_answers_that_were_typed_are_text_and_never_code(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    evil = '3"); import os; os.system("touch here") #'
    assert (
        main(["type-in", "COURSE", NAME, str(write(folder, [{"learner": "fd06", "L03-02": evil, "L08-01.sun": "'''\\\n"}]))])
        == DONE
    )
    marks(folder, capsys)
    assert not (folder / "here").exists()


def test_what_was_typed_and_cannot_be_read_is_told_before_it_is_marked(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    unread = [{"learner": "fd06", "L03-02": "quark"}, {"learner": "fd08", "L03-02": "2,727"}]
    assert main(["type-in", "COURSE", NAME, str(write(folder, unread))]) == DONE
    told = capsys.readouterr().out
    assert "Cannot be read and earns nothing as it stands" in told
    assert "fd06, L03-02: 'quark'. quark is not one of the letters of this question." in told
    assert "fd08, L03-02: '2,727'. 2,727 has a comma in a number and can be read in two ways." in told
    assert "then the same command with --replace" in told
    read = [{"learner": "fd06", "L03-02": "3.5"}, {"learner": "fd08", "L03-02": "2.727"}]
    assert main(["type-in", "COURSE", NAME, str(write(folder, read)), "--replace"]) == DONE
    assert "Cannot be read" not in capsys.readouterr().out


def test_a_form_with_answers_in_it_is_not_written_over(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = Path(f"PAPER/{NAME}-answers.csv")
    form.write_text(form.read_text("utf-8").replace("fd06,", "fd06,x", 1), encoding="utf-8")
    assert main(["paper", "COURSE", NAME, "-o", "PAPER"]) == UNUSABLE
    assert "holds something else, perhaps answers" in capsys.readouterr().err


def test_who_was_given_no_copy_and_too_many_spare_ones_are_told(folder: Path) -> None:
    course = course_of(folder)
    sheet, class_list = hand_out.sheet_of(course, NAME), roster.read(course.roster_file)
    with pytest.raises(UsageError, match="expected 0 to 99"):
        copies.spare(course, sheet, 100, class_list)
    course.handed_out_file("fd07", NAME).unlink()
    with pytest.raises(UsageError, match="was not handed out to fd07"):
        copies.of_class(course, sheet, class_list)


def test_a_form_holds_nothing_that_a_spreadsheet_would_run(folder: Path) -> None:
    course = course_of(folder)
    made = copies.of_class(course, hand_out.sheet_of(course, NAME), roster.Roster((roster.Learner("fd06", '=HYPERLINK("x")'),)))
    assert "'=HYPERLINK" in type_in.form(made)


NAMES = st.text(string.ascii_letters + string.digits + "._-", min_size=1, max_size=12)


@given(NAMES, NAMES, st.integers(1, 30), st.data())
def test_the_check_sign_shows_every_wrong_sign_and_every_exchange_of_neighbours(
    sheet: str, owner: str, variant: int, data: st.DataObject
) -> None:
    plain = f"{sheet}/{owner}/{variant}".upper()
    places = [at for at, sign in enumerate(plain) if sign.isalnum()]
    at = data.draw(st.sampled_from(places))
    other = data.draw(st.sampled_from([sign for sign in string.ascii_uppercase + string.digits if sign != plain[at]]))
    assert check_sign(plain[:at] + other + plain[at + 1 :]) != check_sign(plain)
    signs = [plain[place] for place in places]
    pairs = [place for place in range(len(signs) - 1) if signs[place] != signs[place + 1]]
    if pairs:
        place = data.draw(st.sampled_from(pairs))
        changed = [*signs[:place], signs[place + 1], signs[place], *signs[place + 2 :]]
        assert check_sign("".join(changed)) != check_sign("".join(signs))
    assert copy_mark.read(str(CopyMark(sheet, owner, variant)).lower()) == CopyMark(sheet.lower(), owner.lower(), variant)


def test_choices_among_pictures_are_pictures_on_paper(folder: Path) -> None:
    def flat(blocks: Iterable[Block]) -> list[Block]:
        return [inner for block in blocks for inner in (flat(block.blocks) if isinstance(block, Together) else [block])]

    with_pictures = [
        item.id for item in items.all_items() if any(part.pictures for part in variants.practice(item, "paper").parts)
    ]
    assert len(with_pictures) >= 4
    sheet = sheets.compose(",".join(with_pictures), "pictures")
    found = flat(copies.document(course_of(folder), sheet, copies.spare_copy(course_of(folder), sheet, "spare-1")).blocks)
    figures = [block for block in found if isinstance(block, Figure)]
    assert [block.picture.title for block in figures] == ["4 pictures to choose from"] * len(with_pictures)
    said = " ".join(str(block) for block in found if not isinstance(block, Figure))
    assert "data:" not in said
    assert "to the right;" not in said, "the words of a picture would answer the question"


def test_parts_are_named_once_by_their_boxes_and_so_in_the_key(folder: Path) -> None:
    sheet = sheets.compose("L03-01, L03-04", "parts")
    copy = copies.spare_copy(course_of(folder), sheet, "spare-1")
    said = str(copies.document(course_of(folder), sheet, copy).blocks)
    key = str(copies.key(course_of(folder), sheet, [copy]).blocks)
    for variant in copy.variants:
        for part in variant.parts:
            label = copies.field(part, len(variant.parts)).label
            assert said.count(label) == 1, label
            assert f"{label}: {marking.right_answer(variant)[part.name]}" in key
            # Whoever types the answers in looks for this word in the form.
            assert said.count(f"`{part.name}`") == 1
    # What can be chosen is still told.
    assert "For each: one of `sun`, `carrier`, `ring`." in said


def test_copies_share_the_pages_of_the_key(folder: Path) -> None:
    assert main(["compose", "lesson 3", "-o", "long.toml"]) == DONE
    assert main(["hand-out", "COURSE", "long.toml", "--class", "ROSTER.csv"]) == DONE
    assert main(["paper", "COURSE", "long", "-o", "PAPER"]) == DONE
    key = pages("PAPER/long-key.pdf")
    assert len(key) < 5, "three learners and two spare copies"
    for owner in ("fd06", "fd07", "fd08", "spare-1", "spare-2"):
        (own,) = [text for text in key if str(CopyMark("long", owner)) in text]
        assert own


def test_a_retake_is_printed_for_those_who_take_it(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = [{"mark": str(CopyMark(NAME, owner)), **rights(folder, owner)} for owner in ("fd06", "fd07")]
    assert main(["type-in", "COURSE", NAME, str(write(folder, form))]) == DONE
    marks(folder, capsys)
    assert main(["retake", "COURSE", NAME, "--learner", "fd07"]) == DONE
    assert main(["paper", "COURSE", f"{NAME}-retake", "-o", "AGAIN", "--spare", "0"]) == DONE
    printed = pages(f"AGAIN/{NAME}-retake-copies.pdf")
    assert all(str(CopyMark(f"{NAME}-retake", "fd07")) in text for text in printed)
    rows = list(csv.DictReader(Path(f"AGAIN/{NAME}-retake-answers.csv").read_text("utf-8").splitlines()))
    assert [row["learner"] for row in rows] == ["fd07"]


def ask(monkeypatch: pytest.MonkeyPatch, lines: list[str], *more: str) -> int:
    """Type lines, one answer each, into the form that asks; what is typed ends with them."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main(["type-in", "COURSE", NAME, "asked.csv", "--ask", *more])


def test_answers_asked_for_paper_by_paper_are_marked_like_a_form_that_was_filled_in(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    own, spare = list(rights(folder, "fd06").values()), list(rights(folder, "spare-1").values())
    slip = GOOD.replace("fd06", "fd60")
    # A slip in the mark; an answer that cannot be read and one that is wrong, both put right by going back.
    lines = [slip, GOOD.lower(), "3 $ 4", "<", own[0], "99", "<", *own[1:]]
    # Of a mark the learner and the check sign are enough, and a slip in them is seen as well.
    lines += [
        "spare-2-" + str(CopyMark(NAME, "spare-1"))[-1],
        "spare-1-" + str(CopyMark(NAME, "spare-1"))[-1],
        "nobody",
        "FD08",
        *spare,
        "",
    ]
    assert ask(monkeypatch, lines) == DONE
    said = capsys.readouterr().out
    assert said.count("its check sign does not fit") == 2
    for words in ("it is enough to type fd06-", "2. Sun in, ring held, carrier out", "Bell, Ann (fd06)", "but it cannot be read", "'nobody' is not on the class list",
                  "fd08 wrote on spare-1", "Typed in: 2 learners", "Papers typed: 0.", "Papers typed: 1.", "Papers typed: 2."):  # fmt: skip
        assert words in said, words
    found = marks(folder, capsys)
    assert found["fd06"][0] == found["fd06"][1]
    assert found["fd08"][0] == found["fd08"][1]
    # The form that was filled in by asking says the same once more.
    assert main(["type-in", "COURSE", NAME, "asked.csv"]) == DONE
    assert "There already, the same: fd06, fd08" in capsys.readouterr().out


def test_an_interrupted_paper_keeps_every_answer_takes_nothing_in_and_goes_on(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    own = rights(folder, "fd07")
    heads, texts = list(own), list(own.values())
    mark = str(CopyMark(NAME, "fd07"))
    assert ask(monkeypatch, [mark, *texts[:2]]) == FINDING
    assert "the same command goes on, and nothing is taken in yet" in capsys.readouterr().out
    assert not list((folder / "COURSE" / "submitted").iterdir())
    rows = {row["learner"]: row for row in csv.DictReader(Path("asked.csv").read_text("utf-8").splitlines())}
    assert [rows["fd07"][name] for name in heads] == [*texts[:2], *[""] * (len(texts) - 2)]
    # Enter keeps what stands there, "-" takes it out.
    assert ask(monkeypatch, [mark, "", "-", *texts[2:], ""]) == DONE
    said = capsys.readouterr().out
    assert f"there already, answers: 2 of {len(texts)}" in said
    assert f"[{texts[0]}]" in said
    score, full = marks(folder, capsys)["fd07"]
    assert 0 < score < full
    assert main(["type-in", "COURSE", NAME, "asked.csv", "--ask", "--json"]) == UNUSABLE
    Path("asked.csv").write_text("mark,learner\nx,y\n", encoding="utf-8")
    assert ask(monkeypatch, [mark]) == UNUSABLE
    assert "is not this sheet's form" in capsys.readouterr().err


def test_the_time_of_handing_in_is_told_in_the_course_s_own_time(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings = folder / "COURSE" / "course.toml"
    text = re.sub(r'time_zone = ".*"', 'time_zone = "Asia/Kolkata"', settings.read_text("utf-8"))
    settings.write_text(text, encoding="utf-8")
    assert main(["type-in", "COURSE", NAME, str(write(folder, [{"learner": "fd06", "L03-02": "3"}]))]) == DONE
    assert re.search(r"handed in \d{4}-\d\d-\d\d \d\d:\d\d IST", capsys.readouterr().out)
